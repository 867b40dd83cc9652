//! The smallest sets of changes that make a filler usable or recommended, in the order in which they are offered. Single changes
//! are found in `single.rs`, several together in `combine.rs`.

use super::adjustable::{Adjustable, adjustables};
use super::border::Stretch;
use super::combine::{together_recommended, together_usable};
use super::found::{ENOUGH, Found, Step};
use super::session::{ChangeError, Session};
use super::setting::Path;
use super::single::singles;
use super::text::known_path;
use super::trial::Trial;
use crate::job::Joint;
use crate::processors::for_each;
use crate::verdict::{Decision, Verdict};
use serde::Serialize;
use std::collections::BTreeMap;
use std::sync::Arc;

/// A change of facts and the verdict that it brings.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Change {
    /// Paths of the job file and their new values.
    pub set: BTreeMap<String, String>,
    /// The verdict then.
    pub verdict: Verdict,
    /// What stands at these paths now; `null` where nothing does.
    pub was: BTreeMap<String, Option<String>>,
    /// For each number that is changed, which will do, in words: "65 °C or less".
    pub will_do: BTreeMap<String, String>,
    /// The same as numbers: one stretch, or a list where there are gaps between several.
    #[serde(serialize_with = "one_or_list")]
    pub borders: BTreeMap<String, Vec<Stretch>>,
    /// What the hardest of the changes takes, in the rulebook's words.
    pub effort: Option<String>,
    /// Whether it needs something that is changed only where nothing else helps, such as another base alloy.
    pub last_resort: bool,
    /// Whether it changes what the joint has to stand, which nobody chooses: it helps only if the job was described wrongly.
    pub described_wrongly: bool,
}

fn one_or_list<S: serde::Serializer>(
    borders: &BTreeMap<String, Vec<Stretch>>,
    serializer: S,
) -> Result<S::Ok, S::Error> {
    #[derive(Serialize)]
    #[serde(untagged)]
    enum OneOrList<'s> {
        One(&'s Stretch),
        List(&'s [Stretch]),
    }
    serializer.collect_map(borders.iter().map(|(path, stretches)| match stretches.as_slice() {
        [one] => (path, OneOrList::One(one)),
        several => (path, OneOrList::List(several)),
    }))
}

/// What was found about changes for a filler at a joint.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Changes {
    /// Sets of changes, the smallest first. None of their proper subsets brings the same verdict.
    pub offered: Vec<Change>,
    /// The verdicts that were looked for.
    pub wanted: Vec<Verdict>,
}

/// The smallest changes of a job's facts by which a filler becomes usable at a joint, where it is not, and recommended. Facts at
/// `kept` paths stay as they are. `progress` is given how many jobs have been decided.
pub fn smallest_changes(
    session: &Session<'_>,
    decision: &Decision<'_>,
    joint: &str,
    filler: &str,
    kept: &[Path],
    progress: &(dyn Fn(usize) + Sync),
) -> Result<Changes, ChangeError> {
    let report = decision.report();
    let rivals = report
        .joints
        .iter()
        .filter(|known| known.joint == joint)
        .flat_map(|known| known.recommended.iter())
        .map(|name| Arc::from(name.as_str()));
    let trial = Trial::new(session, &decision.job, (joint, filler), rivals, progress)?;
    let wanted = match trial.verdict(&[]) {
        Some(Verdict::Recommended) | None => Vec::new(),
        Some(Verdict::Usable) => vec![Verdict::Recommended],
        Some(Verdict::Open | Verdict::Unjudged | Verdict::Barred) => {
            vec![Verdict::Usable, Verdict::Recommended]
        }
    };
    if wanted.is_empty() {
        return Ok(Changes::default());
    }
    if !kept.is_empty() {
        let at_joint = |joint: &Joint| adjustables(session, decision, &trial.text, &joint.name, &[]);
        let all = decision.job.joints.iter().flat_map(at_joint);
        let changeable: Vec<Path> = all.map(|adjustable| adjustable.path).collect();
        kept.iter().try_for_each(|path| known_path(path, &changeable))?;
    }
    let mut adjustables = adjustables(session, decision, &trial.text, joint, kept);
    adjustables.retain(|adjustable| !adjustable.never_offered);
    let mut found: Vec<Found> = Vec::new();
    let places: Vec<usize> = (0..adjustables.len()).collect();
    for single in for_each(&places, |place| singles(&trial, &adjustables, *place, &wanted)) {
        found.extend(single);
    }
    let enough = |found: &[Found], goal: Verdict| {
        let serves = |one: &&Found| {
            one.goal == goal && !one.steps.iter().any(|step| adjustables[step.adjustable].last_resort)
        };
        found.iter().filter(serves).count() >= ENOUGH
    };
    if wanted.contains(&Verdict::Usable) && !enough(&found, Verdict::Usable) {
        found.extend(together_usable(&trial, &adjustables, &found));
    }
    if !enough(&found, Verdict::Recommended) {
        found.extend(together_recommended(&trial, &adjustables, &found, &wanted));
    }
    Ok(Changes { offered: ranked(&trial, &adjustables, found), wanted })
}

/// Sets in the order in which they are offered, in full, each once and with the verdict that it brings.
fn ranked(trial: &Trial<'_, '_>, adjustables: &[Adjustable], found: Vec<Found>) -> Vec<Change> {
    let mut found: Vec<(Rank, Found)> =
        found.into_iter().map(|found| (Rank::of(adjustables, &found), found)).collect();
    found.sort_by(|a, b| a.0.compare(&b.0));
    let mut offered: Vec<Change> = Vec::new();
    let verdicts = for_each(&found, |(_, found)| trial.verdict(&found.settings()));
    for ((rank, found), verdict) in found.iter().zip(verdicts) {
        let Some(verdict) = verdict.filter(|verdict| *verdict <= found.goal) else { continue };
        let change = worded(trial, found, verdict, rank);
        if !offered.iter().any(|known| known.set == change.set) {
            offered.push(change);
        }
    }
    offered
}

/// By what sets of changes are put in order.
struct Rank {
    described_wrongly: bool,
    last_resort: bool,
    count: usize,
    efforts: Vec<usize>,
    movement: f64,
    text: String,
}

impl Rank {
    fn of(adjustables: &[Adjustable], found: &Found) -> Self {
        let mut efforts: Vec<usize> =
            found.steps.iter().map(|step| adjustables[step.adjustable].effort).collect();
        efforts.sort_unstable_by(|a, b| b.cmp(a));
        let texts: Vec<String> = found.steps.iter().map(|step| step.setting.to_string()).collect();
        Rank {
            described_wrongly: found.steps.iter().any(|step| adjustables[step.adjustable].given_by_service),
            last_resort: found.steps.iter().any(|step| adjustables[step.adjustable].last_resort),
            count: found.steps.len(),
            efforts,
            movement: found.steps.iter().map(|step| step.movement).sum(),
            text: texts.join(", "),
        }
    }

    fn compare(&self, other: &Rank) -> std::cmp::Ordering {
        let plain =
            |rank: &Rank| (rank.described_wrongly, rank.last_resort, rank.count, rank.efforts.clone());
        plain(self)
            .cmp(&plain(other))
            .then(self.movement.total_cmp(&other.movement))
            .then_with(|| self.text.cmp(&other.text))
    }
}

fn worded(trial: &Trial<'_, '_>, found: &Found, verdict: Verdict, rank: &Rank) -> Change {
    let by_path = |step: &Step| step.setting.path.to_string();
    let stretches = || {
        let moved = found.steps.iter().filter(|step| !step.stretches.is_empty());
        moved.map(|step| (by_path(step), step.stretches.clone()))
    };
    let in_words = |stretches: &[Stretch]| {
        let each: Option<Vec<String>> = stretches.iter().map(Stretch::in_words).collect();
        each.map(|each| each.join(", or "))
    };
    Change {
        set: found.steps.iter().map(|step| (by_path(step), step.setting.value.plain())).collect(),
        verdict,
        was: found
            .steps
            .iter()
            .map(|step| (by_path(step), trial.text.value(&step.setting.path).map(|now| now.plain())))
            .collect(),
        will_do: stretches().filter_map(|(path, stretches)| Some((path, in_words(&stretches)?))).collect(),
        borders: stretches().collect(),
        effort: rank
            .efforts
            .first()
            .and_then(|effort| trial.session.efforts.word(*effort))
            .map(str::to_owned),
        last_resort: rank.last_resort,
        described_wrongly: rank.described_wrongly,
    }
}
