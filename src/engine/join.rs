//! Joining premises: the steps of a plan run over the rows, and what comes out at the end of each way through. The
//! order of passes is in `run.rs`.

use super::evaluate::{Outcome, Truth, decide, evaluate};
use super::lookup::{Access, Bound, Probe, agree};
use super::plan::{Join, Step, Window};
use super::records::Recording;
use super::run::{Phase, Run};
use super::settle::{among_registers, settle, term_of, values};
use super::terms::UNKNOWN;

impl<'p, 'r> Run<'p, 'r> {
    /// Runs the remaining steps of a plan from the registers as they are.
    pub(super) fn steps(&mut self, finding: usize, steps: &'p [Step<'r>]) {
        let Some((step, rest)) = steps.split_first() else { return self.conclude(finding) };
        match step {
            Step::Join(join) => self.join(finding, join, rest),
            Step::Unless(lookup) => {
                if lookup.key.iter().any(|key| self.registers[key.register] == UNKNOWN) {
                    return self.perhaps(finding, rest);
                }
                let rows = &self.rows[lookup.relation];
                match lookup.probe_known(rows, &self.registers, &mut self.cells) {
                    Probe::Known => {}
                    Probe::Nothing => self.steps(finding, rest),
                    Probe::Open => self.left_open(finding, rest),
                }
            }
            Step::Let { register, formula, bound_before } => {
                let curves = &self.compiled.rulebook.curves;
                let outcome = evaluate(formula, curves, &values(&self.registers, &self.pool));
                self.take(finding, outcome, *register, *bound_before, rest);
            }
            Step::Fold { register, fold, bound_before } => {
                let unknown_key = fold.members.key.iter().any(|key| self.registers[key.register] == UNKNOWN);
                let outcome = if unknown_key {
                    Outcome::Unknown
                } else {
                    fold.value(&self.rows[fold.members.relation], &self.registers, &self.pool)
                };
                self.take(finding, outcome, *register, *bound_before, rest);
            }
            Step::Compare(condition) => {
                let curves = &self.compiled.rulebook.curves;
                let truth = decide(condition, curves, &values(&self.registers, &self.pool));
                match truth {
                    Truth::Holds => self.steps(finding, rest),
                    Truth::Fails => {}
                    Truth::Open => self.perhaps(finding, rest),
                }
            }
            Step::Among { left, among, wanted } => match among_registers(&self.registers, *left, among) {
                Truth::Open => self.perhaps(finding, rest),
                truth if truth == *wanted => self.steps(finding, rest),
                _ => {}
            },
        }
    }

    /// Goes on, to be judged as a whole at the end: an unknown term was met that a later premise may still make known.
    fn perhaps(&mut self, finding: usize, rest: &'p [Step<'r>]) {
        self.maybe += 1;
        self.steps(finding, rest);
        self.maybe -= 1;
    }

    fn left_open(&mut self, finding: usize, rest: &'p [Step<'r>]) {
        self.open += 1;
        self.steps(finding, rest);
        self.open -= 1;
    }

    /// Takes a computed value into a register, or compares it with what a premise has put there.
    fn take(
        &mut self,
        finding: usize,
        outcome: Outcome,
        register: usize,
        bound_before: bool,
        rest: &'p [Step<'r>],
    ) {
        let Some(term) = term_of(outcome, &mut self.pool) else { return };
        if !bound_before {
            self.registers[register] = term;
        } else if agree(term, self.registers[register]).is_none() {
            return;
        }
        if term == UNKNOWN || self.registers[register] == UNKNOWN {
            self.perhaps(finding, rest);
        } else {
            self.steps(finding, rest);
        }
    }

    fn join(&mut self, finding: usize, join: &'p Join, rest: &'p [Step<'r>]) {
        let relation = join.relation;
        let (from, to) = match join.window {
            Window::Old => (0, self.newest[relation]),
            Window::Newest => (self.newest[relation], self.end[relation]),
            Window::All => (0, self.end[relation]),
        };
        if from >= to {
            return;
        }
        if join.key.iter().any(|key| self.registers[key.register] == UNKNOWN) {
            return (from..to).for_each(|row| self.visit_loosely(finding, join, row, rest));
        }
        match join.access {
            Access::Scan => {
                for row in from..to {
                    if join.key.is_empty() {
                        self.visit(finding, join, row, rest);
                    } else {
                        self.visit_loosely(finding, join, row, rest);
                    }
                }
            }
            Access::Whole => {
                self.cells.clear();
                self.cells.extend(join.key.iter().map(|key| self.registers[key.register]));
                if let Some(row) = self.rows[relation].find(&self.cells)
                    && (from..to).contains(&row)
                {
                    self.visit(finding, join, row, rest);
                }
                for at in 0..self.rows[relation].loose().len() {
                    let row = self.rows[relation].loose()[at];
                    if row >= to {
                        break;
                    }
                    if row >= from {
                        self.visit_loosely(finding, join, row, rest);
                    }
                }
            }
            Access::Index(index) => {
                let mut row =
                    self.rows[relation].first(index, |place| self.registers[join.key[place].register]);
                // Chains ascend, and their end is numbered behind every row.
                while row < to {
                    self.visit(finding, join, row, rest);
                    row = self.rows[relation].indexes[index].next(row);
                }
                for at in 0..self.rows[relation].indexes[index].loose().len() {
                    let row = self.rows[relation].indexes[index].loose()[at];
                    if row >= to {
                        break;
                    }
                    self.visit_loosely(finding, join, row, rest);
                }
            }
        }
    }

    /// Takes a row whose key is known to agree.
    #[inline]
    fn visit(&mut self, finding: usize, join: &'p Join, row: u32, rest: &'p [Step<'r>]) {
        self.premises[join.slot] = row;
        let rows = &self.rows[join.relation];
        let open = row >= rows.known();
        let cells = rows.row(row);
        let mut unknown = false;
        for bind in &join.binds {
            let term = cells[bind.column];
            self.registers[bind.register] = term;
            unknown |= term == UNKNOWN;
        }
        if !open && join.same.is_empty() {
            return self.steps(finding, rest);
        }
        let refined = self.refined.len();
        let agrees = self.refine(join.relation, row, &join.same, &mut unknown);
        if agrees {
            self.open += u32::from(open);
            self.maybe += u32::from(unknown);
            self.steps(finding, rest);
            self.open -= u32::from(open);
            self.maybe -= u32::from(unknown);
        }
        self.restore(refined);
    }

    /// Takes a row if its key agrees, where either side may be unknown.
    fn visit_loosely(&mut self, finding: usize, join: &'p Join, row: u32, rest: &'p [Step<'r>]) {
        let refined = self.refined.len();
        let mut unknown = false;
        if self.refine(join.relation, row, &join.key, &mut unknown) {
            self.maybe += u32::from(unknown);
            self.visit(finding, join, row, rest);
            self.maybe -= u32::from(unknown);
        }
        self.restore(refined);
    }

    /// Whether a row agrees with registers; those that are unknown give way to the row's terms until restored.
    fn refine(&mut self, relation: usize, row: u32, columns: &[Bound], unknown: &mut bool) -> bool {
        for bound in columns {
            let term = self.rows[relation].cell(row, bound.column);
            let held = self.registers[bound.register];
            match agree(term, held) {
                None => return false,
                Some(true) => {}
                Some(false) => {
                    *unknown = true;
                    if held == UNKNOWN {
                        self.refined.push((bound.register, held));
                        self.registers[bound.register] = term;
                    }
                }
            }
        }
        true
    }

    fn restore(&mut self, refined: usize) {
        while self.refined.len() > refined {
            if let Some((register, held)) = self.refined.pop() {
                self.registers[register] = held;
            }
        }
    }

    /// Draws the conclusions of an instance whose premises are all chosen.
    fn conclude(&mut self, finding: usize) {
        let mut open = self.open > 0;
        if self.maybe > 0 {
            let plan = &self.compiled.findings[finding];
            let judged = settle(
                self.compiled,
                plan,
                &self.rows,
                &self.premises,
                &self.constants,
                &mut self.pool,
                &mut self.settled,
            );
            let Some(left_open) = judged else { return };
            open |= left_open;
            std::mem::swap(&mut self.registers, &mut self.settled);
            self.draw(finding, open);
            std::mem::swap(&mut self.registers, &mut self.settled);
        } else {
            self.draw(finding, open);
        }
    }

    fn draw(&mut self, finding: usize, open: bool) {
        let plan = &self.compiled.findings[finding];
        for at in 0..self.wanted.len() {
            let number = self.wanted[at];
            let hence = &plan.hence[number];
            if self.repeats(finding, at) {
                continue;
            }
            let mut cells = std::mem::take(&mut self.cells);
            cells.clear();
            cells.extend(hence.registers.iter().map(|register| self.registers[*register]));
            if open && self.phase == Phase::Known {
                self.aside.extend([finding as u32, number as u32]);
                self.aside.extend_from_slice(&cells);
                self.aside.extend_from_slice(&self.premises);
            } else if let Some(row) = self.add(hence.relation, &cells, self.phase == Phase::Known) {
                let latest = &mut self.rows[hence.relation].latest[row as usize];
                self.records.finding(latest, finding as u32, &self.premises);
                if self.records.is_full() {
                    self.overflow.get_or_insert(hence.relation);
                    self.recording = Recording::Nothing;
                }
            }
            self.cells = cells;
        }
    }

    /// Whether an earlier conclusion of the same instance made the same row.
    fn repeats(&self, finding: usize, at: usize) -> bool {
        let hence = &self.compiled.findings[finding].hence;
        let this = &hence[self.wanted[at]];
        self.wanted[..at].iter().map(|earlier| &hence[*earlier]).any(|earlier| {
            earlier.relation == this.relation
                && earlier
                    .registers
                    .iter()
                    .zip(&this.registers)
                    .all(|(one, other)| self.registers[*one] == self.registers[*other])
        })
    }
}
