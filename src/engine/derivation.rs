//! What a run leaves behind: every fact with its status, its cells and its grounds. How an instance of a finding came
//! about, premise by premise, is worked out in `explanation.rs`.

use super::computed::Working;
use super::finished::Finished;
use super::memory::Memory;
use super::program::Program;
use super::records::{GroundRecord, Recording};
use super::rows::Rows;
use super::terms::{Cell, TermId, Terms};
use crate::language::{FindingId, Origin, Pattern, RelationId, Rulebook, Term, Value, compare_cells};
use crate::quantity::PageUnits;
use std::cmp::Ordering;

/// A fact: its relation and its number there. Known facts of a relation are numbered before open ones.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct FactId {
    /// The relation.
    pub relation: RelationId,
    /// The number.
    pub row: u32,
}

/// Whether a fact is established.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Status {
    /// It holds whatever the unanswered questions turn out to be.
    Known,
    /// It hangs on an unanswered question.
    Open,
}

/// A finding applied to facts.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct Instance {
    /// The finding.
    pub finding: FindingId,
    /// The facts of its `given` premises, in the order of the text.
    pub premises: Vec<FactId>,
}

/// Where a fact comes from.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Ground {
    /// A row of a table: its position in [`Rulebook::facts`].
    Table(usize),
    /// A fact of the caller: its position among those given.
    Given(usize),
    /// A question that nobody answered.
    Unanswered,
    /// A finding.
    Finding(Instance),
    /// The program, from these facts.
    Computed {
        /// The facts that went into the computation.
        premises: Vec<FactId>,
    },
}

/// Everything derived from a rulebook and the facts of a job.
///
/// Only what cannot be worked out otherwise is recorded: for each fact the findings that yield it and the facts of their
/// `given` premises. The values of `let`, the members of aggregates, and what was looked for under `unless` follow from
/// these and are worked out again when asked for.
pub struct Derivation<'r> {
    pub(super) program: Program<'r>,
    pub(super) recording: Recording,
    pub(super) finished: Finished,
}

impl<'r> Derivation<'r> {
    /// The rulebook.
    pub fn rulebook(&self) -> &'r Rulebook {
        self.program.compiled.rulebook
    }

    /// The units in which quantities are shown: those that the caller's facts are written in.
    pub fn units(&self) -> &PageUnits {
        self.finished.pool.units()
    }

    /// How much was recorded.
    pub fn recording(&self) -> Recording {
        self.recording
    }

    /// The facts of a relation, known ones first.
    pub fn facts(&self, relation: RelationId) -> impl ExactSizeIterator<Item = FactId> + use<> {
        let rows = self.finished.rows.get(relation.index());
        let facts: Vec<FactId> =
            rows.into_iter().flat_map(Rows::in_order).map(|row| FactId { relation, row }).collect();
        facts.into_iter()
    }

    /// The place of a fact among those of its relation, as [`Derivation::facts`] gives them.
    pub fn position(&self, fact: FactId) -> usize {
        self.finished.rows[fact.relation.index()].position(fact.row)
    }

    /// Whether a fact is known or open.
    pub fn status(&self, fact: FactId) -> Status {
        self.status_of(fact.relation.index(), fact.row)
    }

    pub(super) fn status_of(&self, relation: usize, row: u32) -> Status {
        if self.finished.rows[relation].is_known(row) { Status::Known } else { Status::Open }
    }

    /// The cells of a fact, one a role.
    pub fn cells(&self, fact: FactId) -> Vec<Cell> {
        let row = self.finished.rows[fact.relation.index()].row(fact.row);
        row.iter()
            .map(|term| self.value(TermId(*term)).map_or(Cell::Unknown, |v| Cell::Value(v.clone())))
            .collect()
    }

    /// The value in a role of a fact; `None` where it is unknown.
    pub fn cell(&self, fact: FactId, role: usize) -> Option<&Value> {
        self.value(self.term(fact, role))
    }

    /// The term in a role of a fact, for comparing cells without looking at their values.
    pub fn term(&self, fact: FactId, role: usize) -> TermId {
        TermId(self.finished.rows[fact.relation.index()].cell(fact.row, role))
    }

    /// The value of a term; `None` where it is unknown.
    pub fn value(&self, term: TermId) -> Option<&Value> {
        self.finished.pool.value(term.0)
    }

    /// The facts that have exactly the pattern's constants in their roles; variables stand for anything.
    pub fn matching(&self, pattern: &Pattern) -> Vec<FactId> {
        let Some(rows) = self.finished.rows.get(pattern.relation.index()) else { return Vec::new() };
        let roles = self.rulebook().relations[pattern.relation.index()].roles.len();
        let mut wanted = Vec::new();
        for (column, term) in pattern.terms.iter().enumerate() {
            let Term::Constant(value) = term else { continue };
            match self.finished.pool.find(value) {
                Some(term) if column < roles => wanted.push((column, term)),
                _ => return Vec::new(),
            }
        }
        let fact = |row| FactId { relation: pattern.relation, row };
        if wanted.len() == roles {
            return rows.find(wanted.iter().map(|(_, term)| *term)).map(fact).into_iter().collect();
        }
        let agrees = |row: &u32| wanted.iter().all(|(column, term)| rows.cell(*row, *column) == *term);
        (0..rows.count()).filter(agrees).map(fact).collect()
    }

    /// Where a fact comes from: the caller, tables, the lack of an answer, findings in the order of the rulebook and of the
    /// cells of their facts, computations. What a report states first hangs on nothing but facts and rules in this way, and
    /// not on the order in which they were met. Where the first ground alone was recorded, it is the one met first. Empty
    /// where nothing was recorded.
    pub fn grounds(&self, fact: FactId) -> Vec<Ground> {
        let rows = &self.finished.rows[fact.relation.index()];
        let Some(latest) = rows.latest.get(fact.row as usize) else { return Vec::new() };
        let records = self.finished.records.of(*latest).into_iter();
        let mut grounds: Vec<Ground> = records.map(|record| self.ground(fact, record)).collect();
        grounds.sort_by(|one, other| self.compare_grounds(one, other));
        grounds
    }

    /// Which of two facts of a relation comes first, by their cells.
    pub fn compare_facts(&self, one: FactId, other: FactId) -> Ordering {
        let roles = self.rulebook().relations[one.relation.index()].roles.len();
        let cells = (0..roles).map(|role| compare_cells(self.cell(one, role), self.cell(other, role)));
        one.relation.index().cmp(&other.relation.index()).then(first_difference(cells))
    }

    fn compare_grounds(&self, one: &Ground, other: &Ground) -> Ordering {
        let rank = |ground: &Ground| match ground {
            Ground::Given(_) => 0,
            Ground::Table(_) => 1,
            Ground::Unanswered => 2,
            Ground::Finding(_) => 3,
            Ground::Computed { .. } => 4,
        };
        let premises = |one: &[FactId], other: &[FactId]| {
            let pairs = one.iter().zip(other);
            first_difference(pairs.map(|(one, other)| self.compare_facts(*one, *other)))
                .then(one.len().cmp(&other.len()))
        };
        match (one, other) {
            (Ground::Given(one), Ground::Given(other)) | (Ground::Table(one), Ground::Table(other)) => {
                one.cmp(other)
            }
            (Ground::Finding(one), Ground::Finding(other)) => {
                one.finding.cmp(&other.finding).then_with(|| premises(&one.premises, &other.premises))
            }
            (Ground::Computed { premises: one }, Ground::Computed { premises: other }) => {
                premises(one, other)
            }
            (one, other) => rank(one).cmp(&rank(other)),
        }
    }

    fn ground(&self, fact: FactId, record: GroundRecord<'_>) -> Ground {
        match record {
            GroundRecord::Table(index) => Ground::Table(index),
            GroundRecord::Given(index) => Ground::Given(index),
            GroundRecord::Unanswered => Ground::Unanswered,
            GroundRecord::Computed(pairs) => {
                let premises = self.inputs_of(fact, pairs).map(|(_, fact)| fact).collect();
                Ground::Computed { premises }
            }
            GroundRecord::Finding(finding, rows) => {
                let givens = &self.program.compiled.findings[finding as usize].givens;
                let premises = givens
                    .iter()
                    .zip(rows)
                    .map(|(given, row)| FactId { relation: RelationId::new(given.relation), row: *row });
                Ground::Finding(Instance { finding: FindingId(finding), premises: premises.collect() })
            }
        }
    }

    /// The input number and the fact of each pair of a computed row's record.
    fn inputs_of<'a>(&'a self, fact: FactId, pairs: &'a [u32]) -> impl Iterator<Item = (usize, FactId)> + 'a {
        let from: &[RelationId] = match &self.rulebook().relations[fact.relation.index()].origin {
            Origin::Computed { from } => from,
            Origin::Plain | Origin::Question(_) => &[],
        };
        pairs.chunks_exact(2).filter_map(|pair| {
            let input = pair[0] as usize;
            from.get(input).map(|relation| (input, FactId { relation: *relation, row: pair[1] }))
        })
    }

    /// For each finding, whether it yields an established fact. All of them are known only where everything was recorded.
    pub fn applied(&self) -> Vec<bool> {
        let mut applied = vec![false; self.rulebook().findings.len()];
        for rows in &self.finished.rows {
            let known = rows.latest.iter().enumerate().filter(|(row, _)| rows.is_known(*row as u32));
            for (_, latest) in known {
                self.finished.records.findings_of(*latest, |finding| applied[finding as usize] = true);
            }
        }
        applied
    }

    /// For each finding, whether it yields a fact, established or open: without it nothing of this derivation is otherwise where
    /// it yields none. All of them are known only where everything was recorded.
    pub fn has_instance(&self) -> Vec<bool> {
        let mut has = vec![false; self.rulebook().findings.len()];
        for latest in self.finished.rows.iter().flat_map(|rows| &rows.latest) {
            self.finished.records.findings_of(*latest, |finding| has[finding as usize] = true);
        }
        has
    }

    /// What the computations of this derivation kept, for others to share.
    pub fn memory(&self) -> Memory {
        self.program.compiled.memory.clone()
    }

    /// How a computed fact came about; `None` for other facts, and where nothing was recorded.
    pub fn working(&self, fact: FactId) -> Option<Working> {
        let computation = self.program.compiled.computations[fact.relation.index()]?;
        let latest = *self.finished.rows[fact.relation.index()].latest.get(fact.row as usize)?;
        let records = self.finished.records.of(latest);
        let pairs = records.iter().find_map(|record| match record {
            GroundRecord::Computed(pairs) => Some(*pairs),
            _ => None,
        })?;
        let premises: Vec<(usize, Vec<Cell>)> =
            self.inputs_of(fact, pairs).map(|(input, fact)| (input, self.cells(fact))).collect();
        Some((computation.working)(&premises, &self.cells(fact), &self.program.compiled.memory))
    }

    /// How much was derived and what it takes to hold it.
    pub fn counts(&self) -> Counts {
        let rows = &self.finished.rows;
        Counts {
            facts: rows.iter().map(|rows| rows.count() as usize).sum(),
            open: rows.iter().map(|rows| rows.count() as usize - rows.known_count()).sum(),
            records: self.finished.records.count(),
            row_bytes: rows.iter().map(|rows| rows.bytes()).sum(),
            record_bytes: self.finished.records.bytes(),
            term_bytes: self.finished.pool.bytes(),
        }
    }
}

fn first_difference(mut orders: impl Iterator<Item = Ordering>) -> Ordering {
    orders.find(|order| order.is_ne()).unwrap_or(Ordering::Equal)
}

/// Sizes of a derivation.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Counts {
    /// Facts, known and open.
    pub facts: usize,
    /// Open facts among them.
    pub open: usize,
    /// Recorded grounds.
    pub records: usize,
    /// Bytes of rows and indexes.
    pub row_bytes: usize,
    /// Bytes of records.
    pub record_bytes: usize,
    /// Bytes of terms.
    pub term_bytes: usize,
}

impl Counts {
    /// All bytes.
    pub fn bytes(&self) -> usize {
        self.row_bytes + self.record_bytes + self.term_bytes
    }
}
