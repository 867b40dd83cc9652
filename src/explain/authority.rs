//! On whose word a rulebook stands: how many of its findings, table facts, curves and computed relations rest on what.

use crate::language::{Cite, Origin, Rulebook};
use serde::Serialize;

/// How an authority is known, the strongest first.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Known {
    /// A source that was seen.
    Seen,
    /// A source that was recalled and not seen.
    FromMemory,
    /// Known throughout the trade, without one source.
    CommonPractice,
    /// No authority is named.
    Nobody,
}

impl Known {
    /// Every way, the strongest first.
    pub const ALL: [Known; 4] = [Known::Seen, Known::FromMemory, Known::CommonPractice, Known::Nobody];

    /// How one authority is known.
    pub fn of(cite: &Cite) -> Self {
        match cite {
            Cite::Source(_) => Known::Seen,
            Cite::Memory(_) => Known::FromMemory,
            Cite::CommonPractice => Known::CommonPractice,
        }
    }

    /// How the strongest of several is known.
    pub fn strongest(cites: &[Cite]) -> Self {
        cites.iter().map(Known::of).min().unwrap_or(Known::Nobody)
    }
}

/// How much of a rulebook rests on authorities of one kind. What names several counts once, by the strongest.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize)]
pub struct Authority {
    /// How they are known.
    pub known: Known,
    /// Findings.
    pub findings: usize,
    /// Facts in tables.
    pub table_facts: usize,
    /// Curves.
    pub curves: usize,
    /// Relations that the program computes.
    pub computed: usize,
}

/// How a rulebook's authority is split, the strongest kind first. What only says what a word means is left out.
pub fn authority(rulebook: &Rulebook) -> [Authority; 4] {
    let computed = |origin: &Origin| matches!(origin, Origin::Computed { .. });
    Known::ALL.map(|known| {
        let count = |cites: &[Cite]| usize::from(Known::strongest(cites) == known);
        let relations = rulebook.relations.iter().filter(|relation| computed(&relation.origin));
        Authority {
            known,
            findings: rulebook
                .findings
                .iter()
                .filter(|finding| !finding.meaning)
                .map(|finding| count(&finding.cites))
                .sum(),
            table_facts: rulebook.facts.iter().map(|fact| count(&fact.cites)).sum(),
            curves: rulebook.curves.iter().map(|curve| count(&curve.cites)).sum(),
            computed: relations.map(|relation| count(&relation.cites)).sum(),
        }
    })
}
