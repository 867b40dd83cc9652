//! One run from start facts to the last layer: what is evaluated when, and where new rows and records go. How premises
//! are joined is in `join.rs`.

use super::computed::compute;
use super::error::EngineError;
use super::finished::Finished;
use super::index::NONE;
use super::plan::Hence;
use super::program::{CompiledProgram, Program, fits, refuse_computed};
use super::records::{LEAD, Recording, Records};
use super::restriction::Restriction;
use super::rows::Rows;
use super::terms::{TermPool, UNKNOWN};
use crate::language::{Layer, Origin, Question, RelationId, Value};
use crate::quantity::PageUnits;
use rustc_hash::FxHashSet;

/// A fact that the caller gives.
#[derive(Clone, Debug)]
pub struct GivenFact {
    /// The relation it belongs to.
    pub relation: RelationId,
    /// A value for every role.
    pub cells: Vec<Value>,
}

/// Which conclusions a layer is drawing.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum RunPhase {
    /// Those from known rows alone.
    Known,
    /// Those that hang on an open row.
    Open,
}

/// The state of a run.
pub(super) struct Run<'p, 'r> {
    pub(super) compiled: &'p CompiledProgram<'r>,
    pub(super) pool: TermPool,
    pub(super) rows: Vec<Rows>,
    pub(super) records: Records,
    pub(super) recording: Recording,
    /// The terms of the plans' constants.
    pub(super) constants: Vec<u32>,
    pub(super) phase: RunPhase,
    /// For each relation, the first row of the last round and the end of it.
    pub(super) newest: Vec<u32>,
    pub(super) end: Vec<u32>,
    pub(super) registers: Vec<u32>,
    /// The record of the instance at work: behind its lead, the rows chosen for the `given` premises in the order of
    /// the text.
    pub(super) draft: Vec<u32>,
    /// How many premises chosen so far leave the instance open, and how many met an unknown cell.
    pub(super) open: u32,
    pub(super) maybe: u32,
    /// Open conclusions met while drawing known ones: finding, conclusion, terms, premise rows.
    pub(super) aside: Vec<u32>,
    pub(super) bound: Vec<u32>,
    /// Registers that gave way to a known term, with what they held.
    pub(super) refined: Vec<(usize, u32)>,
    /// The conclusions of the finding at work that belong to the layer at work.
    pub(super) wanted: Vec<(usize, &'p Hence)>,
    /// Rows looked at, facts added and instances recorded so far.
    /// The units that the caller's facts are written in.
    units: PageUnits,
    pub(super) steps: u64,
    pub(super) facts: u64,
    pub(super) instances: u64,
    /// The budget that ran out, and the finding at work then.
    pub(super) spent: Option<Spent>,
    /// The one relation of which only some rows are wanted, if there is one.
    pub(super) restricted: Option<Restricted>,
}

/// What ran out.
#[derive(Clone, Copy, Debug)]
pub(super) struct Spent {
    what: &'static str,
    limit: u64,
    finding: Option<u32>,
}

/// Rows of a relation that are wanted: those with one of these terms in a column.
#[derive(Debug)]
pub(super) struct Restricted {
    relation: usize,
    column: usize,
    terms: Vec<u32>,
}

/// Runs a program on the caller's facts.
pub(super) fn run(
    program: &Program<'_>,
    given: &[GivenFact],
    recording: Recording,
) -> Result<Finished, EngineError> {
    let mut run = Run::new(program, recording);
    run.give(given)?;
    run.tables();
    for layer in &program.compiled.layers {
        run.layer(layer)?;
    }
    Ok(run.finished().shrink())
}

impl<'p, 'r> Run<'p, 'r> {
    /// A run that has no facts yet.
    pub(super) fn new(program: &'p Program<'r>, recording: Recording) -> Self {
        let compiled = &*program.compiled;
        let relations = &compiled.rulebook.relations;
        let rows = relations
            .iter()
            .zip(&compiled.tables.indexes)
            .map(|(relation, indexes)| Rows::new(relation.roles.len(), indexes))
            .collect();
        let nothing =
            Finished { pool: TermPool::default(), rows, records: Records::default(), constants: Vec::new() };
        Run::from(program, nothing, recording)
    }

    /// A run that goes on from what another left behind.
    pub(super) fn from(program: &'p Program<'r>, finished: Finished, recording: Recording) -> Self {
        let Finished { pool, rows, records, constants } = finished;
        Run {
            compiled: &program.compiled,
            pool,
            records,
            recording,
            constants,
            phase: RunPhase::Known,
            newest: vec![0; rows.len()],
            end: vec![0; rows.len()],
            rows,
            registers: Vec::new(),
            draft: Vec::new(),
            open: 0,
            maybe: 0,
            aside: Vec::new(),
            bound: Vec::new(),
            refined: Vec::new(),
            wanted: Vec::new(),
            units: PageUnits::default(),
            steps: 0,
            facts: 0,
            instances: 0,
            spent: None,
            restricted: None,
        }
    }

    /// What it leaves behind.
    pub(super) fn finished(self) -> Finished {
        let Run { mut pool, rows, records, constants, units, .. } = self;
        pool.convert_to(units);
        Finished { pool, rows, records, constants }
    }
}

impl Run<'_, '_> {
    /// Takes in the caller's facts.
    pub(super) fn give(&mut self, given: &[GivenFact]) -> Result<(), EngineError> {
        let rulebook = self.compiled.rulebook;
        for (index, fact) in given.iter().enumerate() {
            if !fits(rulebook, fact.relation, &fact.cells) {
                return Err(EngineError::MisshapenFact { list: "job", index });
            }
            refuse_computed(rulebook, fact.relation)?;
            self.start_fact(fact.relation, &fact.cells, |records, latest| records.given(latest, index));
        }
        let written = given.iter().flat_map(|fact| &fact.cells).flat_map(Value::quantities);
        self.units = PageUnits::written(written);
        Ok(())
    }

    /// Takes in the facts of tables and the constants of plans.
    pub(super) fn tables(&mut self) {
        let rulebook = self.compiled.rulebook;
        for (index, fact) in rulebook.facts.iter().enumerate() {
            self.start_fact(fact.relation, &fact.cells, |records, latest| records.table(latest, index));
        }
        let constants = &self.compiled.tables.constants;
        self.constants = constants.iter().map(|value| self.pool.intern(value)).collect();
    }

    /// Draws rows of a relation only where they come through the restriction.
    pub(super) fn restrict(&mut self, restriction: Option<&Restriction>) {
        self.restricted = restriction.map(|restriction| Restricted {
            relation: restriction.relation.index(),
            column: restriction.role,
            terms: restriction.names.iter().map(|name| self.pool.intern(name)).collect(),
        });
    }

    fn start_fact(
        &mut self,
        relation: RelationId,
        values: &[Value],
        write: impl FnOnce(&mut Records, &mut u32),
    ) {
        let cells: Vec<u32> = values.iter().map(|value| self.pool.intern(value)).collect();
        if let Some(row) = self.add(relation.index(), &cells, true) {
            let latest = &mut self.rows[relation.index()].latest[row as usize];
            write(&mut self.records, latest);
        }
    }

    /// Adds a row and gives its number where a record of it is to be written.
    #[inline]
    pub(super) fn add(&mut self, relation: usize, cells: impl AsRef<[u32]>, known: bool) -> Option<u32> {
        if let Some(restricted) = &self.restricted
            && restricted.relation == relation
            && !restricted.terms.contains(&cells.as_ref()[restricted.column])
        {
            return None;
        }
        let limit = self.compiled.rulebook.budget.facts.min(u64::from(NONE - 1));
        if self.facts >= limit {
            self.spend("facts", limit);
            return None;
        }
        let rows = &mut self.rows[relation];
        let (row, new) = rows.insert(cells, known);
        self.facts += u64::from(new);
        if !known && rows.is_known(row) {
            return None;
        }
        if self.recording == Recording::Nothing {
            return None;
        }
        if new {
            rows.latest.push(NONE);
        }
        (new || self.recording == Recording::Everything).then_some(row)
    }

    /// Evaluates a layer: known conclusions to the end, then open ones; or, where it proceeds in turns, both turn by turn.
    pub(super) fn layer(&mut self, layer: &Layer) -> Result<(), EngineError> {
        if let Some(turns) = &layer.turns {
            return self.in_turns(layer, turns);
        }
        for relation in &layer.relations {
            if let Origin::Computed { from } = &self.compiled.rulebook.relations[*relation].origin {
                self.computed(*relation, from)?;
            }
        }
        self.phase = RunPhase::Known;
        for relation in layer.reads.iter().copied() {
            let rows = &self.rows[relation];
            self.newest[relation] = 0;
            // Known rows behind open ones cannot be visited without these: what they leave open is put aside.
            self.end[relation] = if rows.is_mixed() { rows.count() } else { rows.known() };
        }
        for finding in &layer.findings {
            self.pass(&layer.relations, finding.index(), None);
        }
        self.rounds(layer)?;
        self.phase = RunPhase::Open;
        for relation in &layer.relations {
            if let Origin::Question(question) = &self.compiled.rulebook.relations[*relation].origin
                && question.left_out.is_none()
            {
                self.unanswered(*relation, question);
            }
        }
        self.take_aside();
        let mut any_open = false;
        for relation in layer.reads.iter().copied() {
            let rows = &self.rows[relation];
            self.newest[relation] = if rows.is_mixed() { rows.count() } else { rows.known() };
            self.end[relation] = rows.count();
            any_open |= self.newest[relation] < self.end[relation];
        }
        if any_open {
            for finding in &layer.findings {
                for lead in 0..self.compiled.findings[finding.index()].givens.len() {
                    self.pass(&layer.relations, finding.index(), Some(lead));
                }
            }
            self.rounds(layer)?;
        }
        self.check()
    }

    /// Repeats the layer's findings on what the last round brought until a round brings nothing.
    fn rounds(&mut self, layer: &Layer) -> Result<(), EngineError> {
        let reads = &layer.reads;
        loop {
            self.check()?;
            let mut any_new = false;
            for relation in reads {
                self.newest[*relation] = self.end[*relation];
            }
            for relation in reads.iter().filter(|relation| layer.relations.contains(relation)) {
                self.end[*relation] = self.rows[*relation].count();
                any_new |= self.newest[*relation] < self.end[*relation];
            }
            if !any_new {
                return Ok(());
            }
            for finding in &layer.findings {
                let givens = &self.compiled.findings[finding.index()].givens;
                for (lead, given) in givens.iter().enumerate() {
                    if layer.relations.contains(&given.relation) {
                        self.pass(&layer.relations, finding.index(), Some(lead));
                    }
                }
            }
        }
    }

    /// Evaluates a finding once, for its conclusions of some relations: on all rows, or with one `given` on the newest.
    pub(super) fn pass(&mut self, concluded: &[usize], finding: usize, lead: Option<usize>) {
        let compiled = self.compiled;
        let plan = &compiled.findings[finding];
        if let Some(lead) = lead {
            let relation = plan.givens[lead].relation;
            if self.newest[relation] >= self.end[relation] {
                return;
            }
        }
        let steps = lead.map_or(&plan.full, |lead| &plan.led[lead]);
        for (relation, index) in &steps.indexes {
            self.rows[*relation].catch_up(*index);
        }
        self.registers.clear();
        self.registers.resize(plan.registers, UNKNOWN);
        for (register, at) in &plan.constants {
            self.registers[*register] = self.constants[*at];
        }
        self.draft.clear();
        self.draft.resize(LEAD + plan.givens.len(), NONE);
        self.draft[LEAD - 1] = finding as u32;
        (self.open, self.maybe) = (0, 0);
        self.wanted.clear();
        let here = |(_, hence): &(usize, &Hence)| concluded.contains(&hence.relation);
        self.wanted.extend(plan.hence.iter().enumerate().filter(here));
        self.steps(finding, &steps.steps);
    }

    /// Makes a row for every question that nobody answered.
    fn unanswered(&mut self, relation: usize, question: &Question) {
        let subject = question.subject.index();
        let answered: FxHashSet<Vec<u32>> = (0..self.rows[relation].known())
            .map(|row| self.rows[relation].row(row)[..question.filled_by.len()].to_vec())
            .collect();
        for row in 0..self.rows[subject].count() {
            let mut cells: Vec<u32> =
                question.filled_by.iter().map(|role| self.rows[subject].cell(row, *role)).collect();
            if answered.contains(&cells) {
                continue;
            }
            cells.push(UNKNOWN);
            if self.rows[relation].find(cells.iter().copied()).is_none()
                && let Some(row) = self.add(relation, &cells, false)
            {
                self.records.unanswered(&mut self.rows[relation].latest[row as usize]);
            }
        }
    }

    /// Adds the open conclusions that were met while known ones were drawn.
    pub(super) fn take_aside(&mut self) {
        let aside = std::mem::take(&mut self.aside);
        let mut rest = &aside[..];
        while let [finding, hence, more @ ..] = rest {
            let plan = &self.compiled.findings[*finding as usize];
            let hence = &plan.hence[*hence as usize];
            let (cells, more) = more.split_at(hence.registers.len());
            let (premises, more) = more.split_at(plan.givens.len());
            if let Some(row) = self.add(hence.relation, cells, false) {
                let latest = &mut self.rows[hence.relation].latest[row as usize];
                let lead = [NONE, *finding];
                let mut draft: Vec<u32> = lead.iter().chain(premises).copied().collect();
                self.records.finding(latest, &mut draft);
            }
            rest = more;
        }
    }

    fn computed(&mut self, relation: usize, from: &[RelationId]) -> Result<(), EngineError> {
        let declared = &self.compiled.rulebook.relations[relation];
        let misshapen = || EngineError::MisshapenOutput { relation: declared.name.clone() };
        let computation = self.compiled.computations[relation].ok_or_else(misshapen)?;
        let outputs =
            compute(&computation, declared.roles.len(), from, &self.pool, &self.rows, &self.compiled.memory);
        let outputs = outputs.ok_or_else(misshapen)?;
        for known in [true, false] {
            for output in outputs.iter().filter(|output| output.known == known) {
                let cells = output.intern(&mut self.pool);
                if let Some(row) = self.add(relation, &cells, known) {
                    let latest = &mut self.rows[relation].latest[row as usize];
                    self.records.computed(latest, &output.premises);
                }
            }
        }
        Ok(())
    }

    /// Notes that a budget ran out, and stops the rest of the work: every join looks at this first.
    #[cold]
    pub(super) fn spend(&mut self, what: &'static str, limit: u64) {
        let finding = self.draft.get(LEAD - 1).copied();
        self.spent.get_or_insert(Spent { what, limit, finding });
        self.steps = u64::MAX / 2;
    }

    pub(super) fn check(&self) -> Result<(), EngineError> {
        match self.spent {
            None => Ok(()),
            Some(Spent { what, limit, finding }) => Err(EngineError::TooMuch {
                finding: finding.map(|finding| self.compiled.rulebook.findings[finding as usize].id.clone()),
                what,
                limit,
            }),
        }
    }
}
