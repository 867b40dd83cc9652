//! The relation `unjudged`: fillers that no finding grades on a criterion that counts, not even under a condition that is
//! still open. What nobody judged is neither good nor bad, and is never left to win by default.

use super::ComputedShape;
use crate::engine::{Cell, Computation, Inputs, Memory, OutputCell, Outputs, TermId, Working};
use std::collections::HashSet;

pub(super) const COMPUTATION: Computation = Computation { relation: "unjudged", run, working };

pub(super) const SHAPE: ComputedShape = ComputedShape {
    relation: "unjudged",
    roles: &["joint", "filler", "criterion"],
    from: &[
        ("candidate", &["joint", "filler"]),
        ("place", &["criterion", "value"]),
        ("graded", &["joint", "filler", "criterion", "level"]),
    ],
};

const CANDIDATE: usize = 0;
const PLACE: usize = 1;
const GRADED: usize = 2;

fn run(inputs: &Inputs<'_>, outputs: &mut Outputs<'_>) {
    let graded: HashSet<[TermId; 3]> =
        (0..inputs.rows(GRADED)).map(|row| [0, 1, 2].map(|role| inputs.term(GRADED, row, role))).collect();
    for candidate in 0..inputs.rows(CANDIDATE) {
        let [joint, filler] = [0, 1].map(|role| inputs.term(CANDIDATE, candidate, role));
        let mut seen = HashSet::new();
        for place in 0..inputs.rows(PLACE) {
            let criterion = inputs.term(PLACE, place, 0);
            if !graded.contains(&[joint, filler, criterion]) && seen.insert(criterion) {
                let cells = [joint, filler, criterion].map(OutputCell::Term);
                outputs.push(&cells, &[(CANDIDATE, candidate), (PLACE, place)]);
            }
        }
    }
}

fn working(_: &[(usize, Vec<Cell>)], cells: &[Cell], _: &Memory) -> Working {
    let named = |role: usize| match cells.get(role) {
        Some(Cell::Value(value)) => value.to_string(),
        _ => String::new(),
    };
    Working {
        method: "every grade of this filler at this joint looked through".to_owned(),
        cites: Vec::new(),
        steps: vec![format!(
            "no finding grades {} at {} on {}, nor could one do so with another answer",
            named(1),
            named(0),
            named(2)
        )],
    }
}
