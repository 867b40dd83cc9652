//! Joining premises: the steps of a plan run over the rows, and what comes out at the end of each way through. The
//! order of passes is in `run.rs`.

use super::bind::{among_registers, bind, term_of, values};
use super::evaluate::{Outcome, Truth, decide, evaluate};
use super::lookup::{Access, Bound, Fold, Probe, agree};
use super::plan::{Hence, Join, PlanStep, Window};
use super::records::{LEAD, Recording};
use super::run::{Run, RunPhase};
use super::terms::UNKNOWN;

impl<'p, 'r> Run<'p, 'r> {
    /// Runs the remaining steps of a plan from the registers as they are.
    pub(super) fn steps(&mut self, finding: usize, mut steps: &'p [PlanStep<'r>]) {
        while let Some((step, rest)) = steps.split_first() {
            let truth = match step {
                PlanStep::Join(join) => return self.join(finding, join, rest),
                PlanStep::Unless(lookup) => {
                    if self.meets_unknown(&lookup.key) {
                        return self.perhaps(finding, rest);
                    }
                    match lookup.probe_known(&self.rows[lookup.relation], &self.registers) {
                        Probe::Known => Truth::Fails,
                        Probe::Nothing => Truth::Holds,
                        Probe::Open => return self.left_open(finding, rest),
                    }
                }
                PlanStep::Let { register, formula, bound_before } => {
                    let curves = &self.compiled.rulebook.curves;
                    let outcome = evaluate(formula, curves, &values(&self.registers, &self.pool));
                    self.take(outcome, *register, *bound_before)
                }
                PlanStep::Fold { register, fold, bound_before } => {
                    let outcome = self.fold(fold);
                    self.take(outcome, *register, *bound_before)
                }
                PlanStep::Compare(condition) => {
                    let curves = &self.compiled.rulebook.curves;
                    decide(condition, curves, &values(&self.registers, &self.pool))
                }
                PlanStep::Among { left, among, wanted } => {
                    match among_registers(&self.registers, *left, among) {
                        Truth::Open => Truth::Open,
                        truth if truth == *wanted => Truth::Holds,
                        _ => Truth::Fails,
                    }
                }
            };
            match truth {
                Truth::Holds => steps = rest,
                Truth::Fails => return,
                Truth::Open => return self.perhaps(finding, rest),
            }
        }
        self.conclude(finding);
    }

    /// Whether a register of a key is unknown, which none is unless an unknown term was met on the way.
    #[inline]
    fn meets_unknown(&self, key: &[Bound]) -> bool {
        self.maybe > 0 && key.iter().any(|key| self.registers[key.register] == UNKNOWN)
    }

    fn fold(&self, fold: &Fold) -> Outcome {
        if self.meets_unknown(&fold.members.key) {
            return Outcome::Unknown;
        }
        fold.value(&self.rows[fold.members.relation], &self.registers, &self.pool)
    }

    /// Goes on, to be judged as a whole at the end: an unknown term was met that a later premise may still make known.
    fn perhaps(&mut self, finding: usize, rest: &'p [PlanStep<'r>]) {
        self.maybe += 1;
        self.steps(finding, rest);
        self.maybe -= 1;
    }

    fn left_open(&mut self, finding: usize, rest: &'p [PlanStep<'r>]) {
        self.open += 1;
        self.steps(finding, rest);
        self.open -= 1;
    }

    /// Takes a computed value into a register, or compares it with what a premise has put there.
    fn take(&mut self, outcome: Outcome, register: usize, bound_before: bool) -> Truth {
        let Some(term) = term_of(outcome, &mut self.pool) else { return Truth::Fails };
        if !bound_before {
            self.registers[register] = term;
        }
        match agree(term, self.registers[register]) {
            None => Truth::Fails,
            Some(true) => Truth::Holds,
            Some(false) => Truth::Open,
        }
    }

    fn join(&mut self, finding: usize, join: &'p Join, rest: &'p [PlanStep<'r>]) {
        let relation = join.relation;
        let (from, to) = match join.window {
            Window::Old => (0, self.newest[relation]),
            Window::Newest => (self.newest[relation], self.end[relation]),
            Window::All => (0, self.end[relation]),
        };
        if from >= to {
            return;
        }
        let limit = self.compiled.rulebook.budget.steps;
        if self.steps > limit {
            return self.spend("steps", limit);
        }
        if self.meets_unknown(&join.key) {
            return (from..to).for_each(|row| self.visit_loosely(finding, join, row, rest));
        }
        match join.access {
            Access::Scan => {
                for row in from..to {
                    if self.spent.is_some() {
                        return;
                    }
                    if join.key.is_empty() {
                        self.visit(finding, join, row, rest);
                    } else {
                        self.visit_loosely(finding, join, row, rest);
                    }
                }
            }
            Access::Whole => {
                let cells = join.key.iter().map(|key| self.registers[key.register]);
                if let Some(row) = self.rows[relation].find(cells)
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
                if rest.is_empty() && join.same.is_empty() && self.maybe == 0 {
                    while row < to {
                        self.finish(finding, join, row);
                        row = self.rows[relation].indexes[index].next(row);
                    }
                } else {
                    while row < to {
                        self.visit(finding, join, row, rest);
                        row = self.rows[relation].indexes[index].next(row);
                    }
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
    fn visit(&mut self, finding: usize, join: &'p Join, row: u32, rest: &'p [PlanStep<'r>]) {
        self.steps += 1;
        self.draft[LEAD + join.slot] = row;
        let rows = &self.rows[join.relation];
        let open = !rows.is_known(row);
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

    /// Takes a row whose key is known to agree, with nothing left to do but conclude: the innermost loop of most plans.
    #[inline]
    fn finish(&mut self, finding: usize, join: &'p Join, row: u32) {
        let rows = &self.rows[join.relation];
        if !rows.is_known(row) {
            return self.visit(finding, join, row, &[]);
        }
        self.steps += 1;
        self.draft[LEAD + join.slot] = row;
        let cells = rows.row(row);
        for bind in &join.binds {
            self.registers[bind.register] = cells[bind.column];
        }
        self.draw(self.open > 0);
    }

    /// Takes a row if its key agrees, where either side may be unknown.
    fn visit_loosely(&mut self, finding: usize, join: &'p Join, row: u32, rest: &'p [PlanStep<'r>]) {
        self.steps += 1;
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
    #[inline]
    fn conclude(&mut self, finding: usize) {
        let mut open = self.open > 0;
        if self.maybe > 0 {
            let plan = &self.compiled.findings[finding];
            let judged = bind(
                self.compiled,
                plan,
                &self.rows,
                &self.draft[LEAD..],
                &self.constants,
                &mut self.pool,
                &mut self.bound,
            );
            let Some(left_open) = judged else { return };
            open |= left_open;
            std::mem::swap(&mut self.registers, &mut self.bound);
            self.draw(open);
            std::mem::swap(&mut self.registers, &mut self.bound);
        } else {
            self.draw(open);
        }
    }

    #[inline]
    fn draw(&mut self, open: bool) {
        for at in 0..self.wanted.len() {
            let (number, hence) = self.wanted[at];
            if at > 0 && self.repeats(at) {
                continue;
            }
            // Rows of a length known here are hashed and compared without loops.
            let term = |register: usize| self.registers[register];
            match hence.registers[..] {
                [a] => self.put([term(a)], number, hence, open),
                [a, b] => self.put([term(a), term(b)], number, hence, open),
                [a, b, c] => self.put([term(a), term(b), term(c)], number, hence, open),
                [a, b, c, d] => self.put([term(a), term(b), term(c), term(d)], number, hence, open),
                ref registers => {
                    let cells: Vec<u32> = registers.iter().map(|register| term(*register)).collect();
                    self.put(cells, number, hence, open);
                }
            }
        }
    }

    #[inline]
    fn put(&mut self, cells: impl AsRef<[u32]>, number: usize, hence: &Hence, open: bool) {
        if open && self.phase == RunPhase::Known {
            self.instances += 1;
            let limit = self.compiled.rulebook.budget.instances;
            if self.instances > limit {
                return self.spend("recorded instances", limit);
            }
            self.aside.extend([self.draft[LEAD - 1], number as u32]);
            self.aside.extend_from_slice(cells.as_ref());
            self.aside.extend_from_slice(&self.draft[LEAD..]);
        } else if let Some(row) = self.add(hence.relation, cells, self.phase == RunPhase::Known) {
            let latest = &mut self.rows[hence.relation].latest[row as usize];
            self.records.finding(latest, &mut self.draft);
            self.instances += 1;
            let limit = self.compiled.rulebook.budget.instances;
            if self.instances > limit || self.records.is_full() {
                self.spend("recorded instances", limit);
                self.recording = Recording::Nothing;
            }
        }
    }

    /// Whether an earlier conclusion of the same instance made the same row.
    fn repeats(&self, at: usize) -> bool {
        let (_, this) = self.wanted[at];
        self.wanted[..at].iter().any(|(_, earlier)| {
            earlier.relation == this.relation
                && earlier
                    .registers
                    .iter()
                    .zip(&this.registers)
                    .all(|(one, other)| self.registers[*one] == self.registers[*other])
        })
    }
}
