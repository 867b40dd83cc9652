//! What is taken in place of a fact that a job leaves out, such as the dilution of a pool, where the rulebook's table
//! `worked-out` says which relation holds it. Moving it is left to `margins.rs`.

use super::adjustable::{Scale, scales};
use super::setting::Path;
use super::text::JobText;
use crate::engine::Status;
use crate::language::{Rulebook, Value};
use crate::quantity::{Interval, Quantity};
use crate::relations::{Placed, WORKED_OUT};
use crate::verdict::Decision;

/// A fact that the job leaves out and a derivation works out.
#[derive(Clone, Debug)]
pub(super) struct WorkedOut {
    /// Where it would stand in the job file.
    pub path: Path,
    /// What is taken in its place.
    pub range: Interval,
    /// Its numbers, on scales that begin where the derivation puts them.
    pub scales: Vec<Scale>,
}

/// A row of the table `worked-out(path, relation, least, most)`.
#[derive(Clone, Debug)]
struct WorkedOutRow {
    key: String,
    relation: String,
    ends: [String; 2],
}

fn rows(rulebook: &Rulebook) -> Vec<WorkedOutRow> {
    let Some(Placed { relation, roles }) = WORKED_OUT.find(rulebook) else { return Vec::new() };
    let rows = rulebook.facts.iter().filter(|fact| fact.relation == relation);
    rows.filter_map(|fact| {
        let [path, relation, least, most] = roles.map(|role| fact.cells[role].to_string());
        Some(WorkedOutRow { key: path.strip_prefix("joints.")?.to_owned(), relation, ends: [least, most] })
    })
    .collect()
}

/// Facts about a joint that the job leaves out, as they are worked out for a filler there. Where a relation holds them for several
/// passes, the range that holds all of them.
pub(super) fn worked_out(
    decision: &Decision<'_>,
    text: &JobText,
    joint: &str,
    filler: &str,
) -> Vec<WorkedOut> {
    let derivation = &decision.derivation;
    let found = rows(decision.rulebook).into_iter().filter_map(|row| {
        let path = Path::new(["joints", joint, &row.key]);
        if text.value(&path).is_some() {
            return None;
        }
        let relation = decision.rulebook.relation(&row.relation)?;
        let roles = &decision.rulebook.relations[relation.index()].roles;
        let place = |name: &str| roles.iter().position(|role| role.name == name);
        let ends = [place(&row.ends[0])?, place(&row.ends[1])?];
        let about = [("joint", joint), ("filler", filler)];
        let here = |fact| {
            about.iter().all(|(role, name)| {
                let cell = place(role).and_then(|place| derivation.cell(fact, place));
                !matches!(cell, Some(Value::Symbol(text)) if **text != **name)
            })
        };
        let known = derivation.facts(relation).filter(|fact| derivation.status(*fact) == Status::Known);
        let (mut lowest, mut highest): (Option<Quantity>, Option<Quantity>) = (None, None);
        for fact in known.filter(|fact| here(*fact)) {
            let [Some(Value::Number(least)), Some(Value::Number(most))] =
                ends.map(|place| derivation.cell(fact, place))
            else {
                return None;
            };
            lowest = Some(lowest.filter(|known| known.base <= least.base).unwrap_or(*least));
            highest = Some(highest.filter(|known| known.base >= most.base).unwrap_or(*most));
        }
        let range = Interval { lowest, highest };
        let dimension = lowest?.dimension;
        let scales = scales(&path, Some(range), dimension, text.units())?;
        Some(WorkedOut { path, range, scales })
    });
    found.collect()
}
