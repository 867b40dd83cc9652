//! A job before and after a change: which verdicts, standings and questions moved, and which findings moved them.

use super::session::{ChangeError, Session};
use super::setting::Setting;
use super::text::{JobText, known_joint};
use crate::engine::{FactId, Ground, Recording, Status};
use crate::job::Job;
use crate::verdict::{
    Beaten, Decision, FewestFillers, FillerVerdict, JointReport, Level, Standing, Verdict, finding_sentence,
};
use serde::Serialize;
use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// Something before and after.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Moved<T> {
    /// Before the change.
    pub before: T,
    /// After it.
    pub after: T,
}

/// What a change of facts brings.
#[derive(Clone, Debug, Serialize)]
pub struct Supposed {
    /// Paths of the job file and their new values.
    pub set: BTreeMap<String, String>,
    /// What stands at these paths in the job file; `null` where nothing does.
    pub was: BTreeMap<String, Option<String>>,
    /// Whether any verdict, standing, open question or caution moved.
    pub moved: bool,
    /// The joints at which something moved, in the order of the job file.
    pub joints: Vec<JointMoved>,
    /// Joints at which nothing moved.
    pub unmoved: Vec<String>,
    /// The fewest fillers, where others serve now.
    pub fewest_fillers: Option<Moved<FewestFillers>>,
    /// Cautions that are no longer shown.
    pub cautions_gone: Vec<String>,
    /// Cautions that are shown now.
    pub cautions_new: Vec<String>,
}

/// What moved at a joint.
#[derive(Clone, Debug, Serialize)]
pub struct JointMoved {
    /// The joint.
    pub joint: String,
    /// Recommended fillers.
    pub recommended: Moved<Vec<String>>,
    /// Fillers of which a verdict or standing moved, those with another verdict first.
    pub fillers: Vec<FillerMoved>,
    /// Questions that some verdict waited on, and no longer does.
    pub settled: Vec<String>,
    /// Questions that some verdict waits on now.
    pub opened: Vec<String>,
}

/// What moved about one filler at a joint.
#[derive(Clone, Debug, Serialize)]
pub struct FillerMoved {
    /// The filler.
    pub filler: String,
    /// Its verdict; `null` where it is not looked at.
    pub verdict: Moved<Option<Verdict>>,
    /// Criteria on which its standing, or the number behind it, is another one.
    pub standings: Vec<StandingMoved>,
    /// What beats it.
    pub beaten_by: Moved<Vec<Beaten>>,
    /// Findings that held of it before and do not now; those that decided come first.
    pub no_longer: Vec<JudgingFinding>,
    /// Findings that hold of it now and did not before; those that decide come first.
    pub newly: Vec<JudgingFinding>,
}

/// A standing before and after.
#[derive(Clone, Debug, Serialize)]
pub struct StandingMoved {
    /// The criterion.
    pub criterion: String,
    /// The standing before; `null` where there was none.
    pub before: Option<Standing>,
    /// The standing after; `null` where there is none.
    pub after: Option<Standing>,
}

/// A finding that judged a filler.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug, Serialize)]
pub struct JudgingFinding {
    /// The worst grades first; not written out.
    #[serde(skip)]
    rank: Reverse<usize>,
    /// The criterion that it judged on.
    pub criterion: String,
    /// The level that it gave.
    pub level: String,
    /// Whether it waits on an answer.
    pub open: bool,
    /// The finding.
    pub finding: String,
    /// What it says.
    pub says: String,
    /// The rule file.
    pub file: String,
    /// The line there.
    pub line: usize,
}

impl StandingMoved {
    /// Whether the standing itself moved, and not only the number behind it.
    pub fn level_moved(&self) -> bool {
        let level = |standing: &Option<Standing>| standing.as_ref().map(|standing| standing.standing);
        level(&self.before) != level(&self.after)
    }
}

impl FillerMoved {
    /// Whether the verdict moved.
    pub fn verdict_moved(&self) -> bool {
        self.verdict.before != self.verdict.after
    }

    /// Whether the verdict or a standing moved, and not only numbers.
    pub fn judged_otherwise(&self) -> bool {
        self.verdict_moved() || self.standings.iter().any(StandingMoved::level_moved)
    }
}

/// The job again with some facts changed: what moves, and which findings moved it. Nothing is written to the job file.
pub fn suppose(
    session: &Session<'_>,
    job: Job,
    settings: &[Setting],
    joint: Option<&str>,
) -> Result<Supposed, ChangeError> {
    if let Some(joint) = joint {
        known_joint(&job, joint)?;
    }
    let text = JobText::of(&job)?;
    let changed = session.changed(&text, settings)?;
    let before = session.decide(job, Recording::Everything)?;
    let after = session.decide(changed, Recording::Everything)?;
    let was = settings
        .iter()
        .map(|one| (one.path.to_string(), text.value(&one.path).map(|value| value.plain())))
        .collect();
    let set = settings.iter().map(|one| (one.path.to_string(), one.value.plain())).collect();
    Ok(Supposed { set, was, ..compared(&before, &after, joint) })
}

/// What differs between two decisions, without what was set.
fn compared(before: &Decision<'_>, after: &Decision<'_>, only: Option<&str>) -> Supposed {
    let (old, new) = (before.report(), after.report());
    let (grades_before, grades_after) = (Grades::of(before), Grades::of(after));
    let mut joints = Vec::new();
    let mut unmoved = Vec::new();
    for after in &new.joints {
        if only.is_some_and(|only| only != after.joint) {
            continue;
        }
        let Some(before) = old.joints.iter().find(|before| before.joint == after.joint) else { continue };
        let moved = joint_moved(before, after, &grades_before, &grades_after);
        let judged = moved.fillers.iter().any(FillerMoved::judged_otherwise);
        if judged || !moved.settled.is_empty() || !moved.opened.is_empty() {
            joints.push(moved);
        } else {
            unmoved.push(after.joint.clone());
        }
    }
    let whole = only.is_none();
    let fewest = (whole && old.fewest_fillers != new.fewest_fillers)
        .then(|| Moved { before: old.fewest_fillers.clone(), after: new.fewest_fillers.clone() });
    let (cautions_gone, cautions_new) = if whole {
        (without(&old.cautions, &new.cautions), without(&new.cautions, &old.cautions))
    } else {
        (Vec::new(), Vec::new())
    };
    Supposed {
        set: BTreeMap::new(),
        was: BTreeMap::new(),
        moved: !joints.is_empty()
            || fewest.is_some()
            || !cautions_gone.is_empty()
            || !cautions_new.is_empty(),
        joints,
        unmoved,
        fewest_fillers: fewest,
        cautions_gone,
        cautions_new,
    }
}

fn without<T: Clone + PartialEq>(all: &[T], others: &[T]) -> Vec<T> {
    all.iter().filter(|one| !others.contains(one)).cloned().collect()
}

fn joint_moved(
    before: &JointReport,
    after: &JointReport,
    grades_before: &Grades,
    grades_after: &Grades,
) -> JointMoved {
    let questions = |joint: &JointReport| -> Vec<String> {
        joint.open.iter().map(|open| open.question.clone()).collect()
    };
    let (asked, asks) = (questions(before), questions(after));
    let mut fillers: Vec<FillerMoved> = Vec::new();
    let gone =
        before.verdicts.iter().filter(|old| !after.verdicts.iter().any(|new| new.filler == old.filler));
    for verdict in after.verdicts.iter().chain(gone) {
        let of =
            |joint: &'_ JointReport| joint.verdicts.iter().find(|one| one.filler == verdict.filler).cloned();
        let key = (after.joint.clone(), verdict.filler.clone());
        let moved = filler_moved(
            &verdict.filler,
            of(before).as_ref(),
            of(after).as_ref(),
            grades_before.of_filler(&key),
            grades_after.of_filler(&key),
        );
        fillers.extend(moved);
    }
    fillers.sort_by_key(|filler| (!filler.verdict_moved(), !filler.judged_otherwise()));
    JointMoved {
        joint: after.joint.clone(),
        recommended: Moved { before: before.recommended.clone(), after: after.recommended.clone() },
        fillers,
        settled: without(&asked, &asks),
        opened: without(&asks, &asked),
    }
}

/// What moved about a filler; `None` where nothing did.
fn filler_moved(
    filler: &str,
    before: Option<&FillerVerdict>,
    after: Option<&FillerVerdict>,
    grades_before: &[JudgingFinding],
    grades_after: &[JudgingFinding],
) -> Option<FillerMoved> {
    let empty = Vec::new();
    let standings = |verdict: Option<&FillerVerdict>| -> Vec<Standing> {
        verdict.map(|verdict| verdict.standings.clone()).unwrap_or_default()
    };
    let (old, new) = (standings(before), standings(after));
    let criteria: Vec<&String> = new
        .iter()
        .map(|standing| &standing.criterion)
        .chain(
            old.iter()
                .map(|standing| &standing.criterion)
                .filter(|criterion| !new.iter().any(|standing| standing.criterion == **criterion)),
        )
        .collect();
    let moved: Vec<StandingMoved> = criteria
        .into_iter()
        .filter_map(|criterion| {
            let find = |all: &[Standing]| all.iter().find(|one| one.criterion == *criterion).cloned();
            let (before, after) = (find(&old), find(&new));
            (before != after).then(|| StandingMoved { criterion: criterion.clone(), before, after })
        })
        .collect();
    let beaten = Moved {
        before: before.map_or(&empty, |verdict| &verdict.beaten_by).clone(),
        after: after.map_or(&empty, |verdict| &verdict.beaten_by).clone(),
    };
    let verdict =
        Moved { before: before.map(|verdict| verdict.verdict), after: after.map(|verdict| verdict.verdict) };
    if moved.is_empty() && beaten.before == beaten.after && verdict.before == verdict.after {
        return None;
    }
    // The same finding with other numbers has not moved; one that no longer waits on an answer has.
    let same = |a: &JudgingFinding, b: &JudgingFinding| {
        (&a.finding, &a.level, a.open) == (&b.finding, &b.level, b.open)
    };
    let only_in = |these: &[JudgingFinding], those: &[JudgingFinding]| -> Vec<JudgingFinding> {
        let mut seen = BTreeSet::new();
        let mut only: Vec<JudgingFinding> = these
            .iter()
            .filter(|this| !those.iter().any(|that| same(this, that)))
            .filter(|this| seen.insert((this.finding.clone(), this.level.clone())))
            .cloned()
            .collect();
        only.sort_by_key(|finding| (finding.open, finding.rank));
        only
    };
    Some(FillerMoved {
        filler: filler.to_owned(),
        verdict,
        standings: moved,
        beaten_by: beaten,
        no_longer: only_in(grades_before, grades_after),
        newly: only_in(grades_after, grades_before),
    })
}

/// Findings that graded a filler, by joint and filler, in the order of the criteria.
struct Grades(HashMap<(String, String), Vec<JudgingFinding>>);

impl Grades {
    fn of(decision: &Decision<'_>) -> Self {
        let derivation = &decision.derivation;
        let graded = &decision.vocabulary.graded;
        let [joint, filler, criterion, level] = graded.roles;
        let text = |fact: FactId, role: usize| {
            derivation.cell(fact, role).map(ToString::to_string).unwrap_or_default()
        };
        let mut grades: HashMap<(String, String), Vec<JudgingFinding>> = HashMap::new();
        for fact in derivation.facts(graded.relation) {
            let given = grades.entry((text(fact, joint), text(fact, filler))).or_default();
            let open = derivation.status(fact) == Status::Open;
            for ground in derivation.grounds(fact) {
                let Ground::Finding(instance) = ground else { continue };
                let finding = &decision.rulebook.findings[instance.finding.index()];
                let (line, _) = decision.rulebook.sources.position(finding.span);
                given.push(JudgingFinding {
                    rank: Reverse(Level::severity(&text(fact, level))),
                    criterion: text(fact, criterion),
                    level: text(fact, level),
                    open,
                    finding: finding.id.clone(),
                    says: finding_sentence(finding, &derivation.bindings(&instance)),
                    file: decision.rulebook.sources.file(finding.span).name.clone(),
                    line,
                });
            }
        }
        let order: Vec<String> = decision.criteria().into_iter().map(|(_, name)| name).collect();
        for given in grades.values_mut() {
            given.sort_by_key(|one| order.iter().position(|criterion| *criterion == one.criterion));
        }
        Grades(grades)
    }

    fn of_filler(&self, key: &(String, String)) -> &[JudgingFinding] {
        self.0.get(key).map_or(&[], Vec::as_slice)
    }
}
