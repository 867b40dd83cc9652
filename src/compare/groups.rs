//! Differences gathered: the same move by the same findings is one group, with its count and its plainest example.

use super::differences::{Cause, FillerDifference, Outcome};
use super::jobs::{JobToCompare, Tried};
use super::reach::Reach;
use crate::verdict::{Level, RulebookStamp, Standing, Verdict};
use serde::Serialize;
use serde_json::Value as Json;
use std::collections::BTreeMap;

/// Two rulebooks held against each other.
#[derive(Clone, Debug, Serialize)]
pub struct Comparison {
    /// The rulebook before the edit.
    pub old: RulebookStamp,
    /// And after it.
    pub new: RulebookStamp,
    /// How far the edit reaches.
    pub reach: Reach,
    /// How much was compared.
    pub tried: Tried,
    /// Verdicts that differ.
    pub verdicts_moved: usize,
    /// How they moved, and how many did.
    pub moves: Vec<Moved>,
    /// Joints at which other fillers are recommended.
    pub recommendations_moved: usize,
    /// The commonest of these.
    pub recommendations: Vec<Moved>,
    /// What moved standings and verdicts, the largest group first.
    pub groups: Vec<Group>,
    /// Standings that are as before and told otherwise.
    pub sentences: Vec<SentenceGroup>,
    /// Jobs that one of the two refuses.
    pub refused: Vec<Refusal>,
}

impl Comparison {
    /// Whether both decide every job alike, whatever sentences they use.
    pub fn same_verdicts(&self) -> bool {
        self.groups.is_empty() && self.moves.is_empty() && self.refused.is_empty()
    }
}

/// Something that was and is, and how often that occurred.
#[derive(Clone, Debug, Serialize)]
pub struct Moved {
    /// Before the edit.
    pub before: String,
    /// After it.
    pub after: String,
    /// How often.
    pub count: usize,
}

/// The same move by the same findings.
#[derive(Clone, Debug, Serialize)]
pub struct Group {
    /// The criterion on which it moved.
    pub criterion: String,
    /// The standing before the edit, or what stood there instead.
    pub before: String,
    /// And after it.
    pub after: String,
    /// The finding that set the old standing.
    pub finding_before: Option<String>,
    /// The finding that sets the new one.
    pub finding_after: Option<String>,
    /// How many fillers at joints.
    pub count: usize,
    /// For how many of them the verdict moved too.
    pub verdicts: usize,
    /// The plainest of them.
    pub example: Example,
}

/// The same standing by the same findings, told otherwise.
#[derive(Clone, Debug, Serialize)]
pub struct SentenceGroup {
    /// The finding that was quoted before the edit.
    pub finding_before: Option<String>,
    /// And after it.
    pub finding_after: Option<String>,
    /// How many fillers at joints.
    pub count: usize,
    /// The plainest of them.
    pub example: Example,
}

/// A filler at a joint of a job.
#[derive(Clone, Debug, Serialize)]
pub struct Example {
    /// The job.
    pub job: String,
    /// The joint.
    pub joint: String,
    /// The filler.
    pub filler: String,
    /// What was said.
    pub says_before: Option<String>,
    /// And is now.
    pub says_after: Option<String>,
    /// The job file with this joint alone, where the job is one of the systematic set.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub file: Option<Json>,
    /// Which of the jobs it is.
    #[serde(skip)]
    pub(super) number: usize,
}

/// A job that one of the two rulebooks refuses and the other does not.
#[derive(Clone, Debug, Serialize)]
pub struct Refusal {
    /// The job.
    pub job: String,
    /// `old` or `new`.
    pub by: &'static str,
    /// Why.
    pub because: String,
}

/// How many of the commonest changes of a recommendation are kept.
const COMMONEST: usize = 20;

type GroupKey = (String, String, String, Option<String>, Option<String>);

#[derive(Default)]
pub(super) struct Collection {
    number: usize,
    tried: Tried,
    moves: BTreeMap<(String, String), usize>,
    recommendations: BTreeMap<(String, String), usize>,
    groups: BTreeMap<GroupKey, Group>,
    sentences: BTreeMap<(Option<String>, Option<String>), SentenceGroup>,
    refused: Vec<Refusal>,
}

fn word(standing: Option<&Standing>) -> String {
    standing.map_or("not judged", |standing| Level::word(standing.standing)).to_owned()
}

fn verdict_word(verdict: Option<Verdict>) -> String {
    verdict.map_or("no candidate", Verdict::word).to_owned()
}

fn list(fillers: &[String]) -> String {
    if fillers.is_empty() { "none".to_owned() } else { fillers.join(", ") }
}

fn counted(moves: BTreeMap<(String, String), usize>) -> Vec<Moved> {
    let moved = |((before, after), count)| Moved { before, after, count };
    let mut moves: Vec<Moved> = moves.into_iter().map(moved).collect();
    moves.sort_by_key(|moved| std::cmp::Reverse(moved.count));
    moves
}

impl Collection {
    pub(super) fn add(&mut self, job: &JobToCompare, outcome: Outcome) {
        let number = self.number;
        self.number += 1;
        let found = match outcome {
            Outcome::RefusedByBoth => return,
            Outcome::Refused { by_new, because } => {
                let by = if by_new { "new" } else { "old" };
                return self.refused.push(Refusal { job: job.name.clone(), by, because });
            }
            Outcome::Decided(found) => found,
        };
        self.tried.jobs += 1;
        self.tried.joints += found.joints;
        self.tried.verdicts += found.verdicts;
        if job.freezing {
            self.tried.frozen += found.joints;
        }
        for moved in &found.recommendations {
            let key = (list(&moved.before), list(&moved.after));
            *self.recommendations.entry(key).or_default() += 1;
        }
        for difference in found.fillers {
            self.filler(job, number, difference);
        }
    }

    fn filler(&mut self, job: &JobToCompare, number: usize, difference: FillerDifference) {
        let [before, after] = difference.verdict;
        let moved = before != after;
        if moved {
            *self.moves.entry((verdict_word(before), verdict_word(after))).or_default() += 1;
        }
        let example = |says: [Option<String>; 2]| {
            let [says_before, says_after] = says;
            let (joint, filler) = (difference.joint.clone(), difference.filler.clone());
            Example { job: job.name.clone(), joint, filler, says_before, says_after, file: None, number }
        };
        // Where a standing moved, that is why the verdict did; what it is beaten on only follows.
        let standing = difference.causes.iter().any(|cause| matches!(cause, Cause::Standing { .. }));
        for cause in &difference.causes {
            let (key, says) = match cause {
                Cause::Sentence { sides } => {
                    let says = sides.each_ref().map(|side| side.says.clone());
                    let [finding_before, finding_after] = sides.each_ref().map(|side| side.finding.clone());
                    let key = (finding_before.clone(), finding_after.clone());
                    let group = self.sentences.entry(key).or_insert_with(|| SentenceGroup {
                        finding_before,
                        finding_after,
                        count: 0,
                        example: example(says),
                    });
                    group.count += 1;
                    continue;
                }
                Cause::Standing { criterion, sides } => {
                    let [was, is] = sides.each_ref().map(Option::as_ref);
                    let finding = |side: Option<&Standing>| side.and_then(|side| side.finding.clone());
                    let key = (criterion.clone(), word(was), word(is), finding(was), finding(is));
                    (key, [was, is].map(|side| side.and_then(|side| side.says.clone())))
                }
                Cause::Beaten { .. } if standing => continue,
                Cause::Beaten { sides } => {
                    let on = |side: &Option<String>| {
                        side.as_ref()
                            .map_or("not beaten".to_owned(), |criterion| format!("beaten on {criterion}"))
                    };
                    (("the choice".to_owned(), on(&sides[0]), on(&sides[1]), None, None), [None, None])
                }
            };
            let (criterion, before, after, finding_before, finding_after) = key.clone();
            let group = self.groups.entry(key).or_insert_with(|| Group {
                criterion,
                before,
                after,
                finding_before,
                finding_after,
                count: 0,
                verdicts: 0,
                example: example(says),
            });
            group.count += 1;
            group.verdicts += usize::from(moved);
        }
    }

    pub(super) fn finished(
        self,
        jobs: &[JobToCompare],
        [old, new]: [RulebookStamp; 2],
        reach: Reach,
    ) -> Comparison {
        let mut groups: Vec<Group> = self.groups.into_values().collect();
        groups.sort_by_key(|group| (std::cmp::Reverse(group.verdicts), std::cmp::Reverse(group.count)));
        let mut sentences: Vec<SentenceGroup> = self.sentences.into_values().collect();
        sentences.sort_by_key(|group| std::cmp::Reverse(group.count));
        let examples = groups.iter_mut().map(|group| &mut group.example);
        for example in examples.chain(sentences.iter_mut().map(|group| &mut group.example)) {
            let job = &jobs[example.number];
            example.file = (!job.given).then(|| with_joint(&job.text, &example.joint)).flatten();
        }
        let recommendations_moved = self.recommendations.values().sum();
        let mut recommendations = counted(self.recommendations);
        recommendations.truncate(COMMONEST);
        Comparison {
            old,
            new,
            reach,
            tried: self.tried,
            verdicts_moved: self.moves.values().sum(),
            moves: counted(self.moves),
            recommendations_moved,
            recommendations,
            groups,
            sentences,
            refused: self.refused,
        }
    }
}

/// A systematic job with one of its joints alone, and the parts that meet there.
fn with_joint(text: &[u8], joint: &str) -> Option<Json> {
    let mut job: Json = serde_json::from_slice(text).ok()?;
    let joints = job.get_mut("joints")?.as_array_mut()?;
    joints.retain(|known| known.get("name").and_then(Json::as_str) == Some(joint));
    let between = joints.first()?.get("between")?.clone();
    let parts = job.get_mut("parts")?.as_object_mut()?;
    let meets = |part: &str| between.as_array().is_some_and(|both| both.iter().any(|known| known == part));
    parts.retain(|part, _| meets(part));
    Some(job)
}
