//! An evaluation that joins everything with everything: slow, plain, and written without the engine. It shares formulas
//! and conditions with the engine, and nothing else.

use super::sample::{NAMES, NUMBERS, Sample};
use std::collections::{BTreeMap, BTreeSet};
use whyrod::engine::{Outcome, Status, Truth, decide, evaluate};
use whyrod::language::{
    Aggregate, Finding, Origin, Pattern, Premise, Question, Rulebook, Term, Value, VariableId,
};
use whyrod::quantity::Quantity;

/// A row of the naive evaluation; `None` is unknown.
pub type Row = Vec<Option<String>>;

/// The naive evaluation: for each relation its known and its open rows.
pub struct Naive<'a> {
    rulebook: &'a Rulebook,
    pub known: Vec<BTreeSet<Row>>,
    pub open: Vec<BTreeSet<Row>>,
    values: BTreeMap<String, Value>,
    /// How many grounds of facts there are.
    pub instances: usize,
}

pub fn key(value: &Value) -> String {
    match value {
        Value::Number(quantity) => format!("#{:?}", quantity.base + 0.0),
        other => other.to_string(),
    }
}

impl<'a> Naive<'a> {
    pub fn new(sample: &'a Sample) -> Self {
        let rulebook = &sample.small.rulebook;
        let empty = vec![BTreeSet::new(); rulebook.relations.len()];
        let mut naive =
            Naive { rulebook, known: empty.clone(), open: empty, values: BTreeMap::new(), instances: 0 };
        for name in NAMES {
            naive.keep(&Value::Symbol(name.into()));
        }
        for number in NUMBERS.iter().filter_map(|number| number.parse().ok()) {
            naive.keep(&Value::Number(Quantity::number(number)));
        }
        let tables = rulebook.facts.iter().map(|fact| (fact.relation, &fact.cells));
        let given = sample.given.iter().map(|fact| (fact.relation, &fact.cells));
        for (relation, cells) in tables.chain(given) {
            naive.instances += 1;
            let row = cells.iter().map(|value| Some(naive.keep(value))).collect();
            naive.known[relation.index()].insert(row);
        }
        for level in 0..=3 {
            naive.fixpoint(sample, level, false);
            for (at, relation) in rulebook.relations.iter().enumerate() {
                if let (Origin::Question(question), true) = (&relation.origin, sample.levels[at] == level) {
                    naive.unanswered(at, question);
                }
            }
            naive.fixpoint(sample, level, true);
        }
        naive
    }

    fn keep(&mut self, value: &Value) -> String {
        let key = key(value);
        self.values.entry(key.clone()).or_insert_with(|| value.clone());
        key
    }

    fn unanswered(&mut self, relation: usize, question: &Question) {
        let subject = question.subject.index();
        let subjects: Vec<Row> = self.known[subject].union(&self.open[subject]).cloned().collect();
        for row in subjects {
            let mut asked: Row = question.filled_by.iter().map(|role| row[*role].clone()).collect();
            if !self.known[relation].iter().any(|answer| answer[..asked.len()] == asked[..]) {
                asked.push(None);
                self.instances += usize::from(self.open[relation].insert(asked));
            }
        }
    }

    /// Draws the conclusions of a level until none is new, and then counts the instances that yield them.
    fn fixpoint(&mut self, sample: &Sample, level: usize, open: bool) {
        loop {
            let (mut new, mut instances) = (false, 0);
            for finding in &self.rulebook.findings {
                if sample.levels[finding.hence[0].relation.index()] != level {
                    continue;
                }
                let mut all = Vec::new();
                self.join(finding, 0, &mut Vec::new(), open, &mut all);
                for premises in all {
                    let Some((status, bindings)) = self.judge(finding, &premises) else { continue };
                    if (status == Status::Open) != open {
                        continue;
                    }
                    let rows: BTreeSet<(usize, Row)> =
                        finding.hence.iter().map(|hence| self.conclusion(hence, &bindings)).collect();
                    for (relation, row) in rows {
                        if open && self.known[relation].contains(&row) {
                            continue;
                        }
                        instances += 1;
                        let into = if open { &mut self.open } else { &mut self.known };
                        new |= into[relation].insert(row);
                    }
                }
            }
            if !new {
                self.instances += instances;
                return;
            }
        }
    }

    /// Every choice of rows for the `given` premises, whether it fits or not.
    fn join(
        &self,
        finding: &Finding,
        from: usize,
        chosen: &mut Vec<Row>,
        open: bool,
        all: &mut Vec<Vec<Row>>,
    ) {
        let Some(Premise::Given(pattern)) =
            finding.premises.iter().filter(|premise| matches!(premise, Premise::Given(_))).nth(from)
        else {
            return all.push(chosen.clone());
        };
        let relation = pattern.relation.index();
        let open_rows = self.open[relation].iter().filter(|_| open);
        for row in self.known[relation].iter().chain(open_rows) {
            chosen.push(row.clone());
            if self.unify(finding, chosen).is_some() {
                self.join(finding, from + 1, chosen, open, all);
            }
            chosen.pop();
        }
    }

    /// Values of the variables that these rows bind; `None` where they contradict each other.
    fn unify(&self, finding: &Finding, rows: &[Row]) -> Option<Vec<Option<String>>> {
        let mut bindings = vec![None; finding.variables.len()];
        let givens = finding.premises.iter().filter_map(|premise| match premise {
            Premise::Given(pattern) => Some(pattern),
            _ => None,
        });
        for (pattern, row) in givens.zip(rows) {
            for (term, cell) in pattern.terms.iter().zip(row) {
                let Some(cell) = cell else { continue };
                match term {
                    Term::Any => {}
                    Term::Constant(value) if key(value) != *cell => return None,
                    Term::Constant(_) => {}
                    Term::Variable(variable) => match &mut bindings[variable.index()] {
                        Some(bound) if bound != cell => return None,
                        bound => *bound = Some(cell.clone()),
                    },
                }
            }
        }
        Some(bindings)
    }

    /// Rows that match a pattern, each with whether it is known and matches beyond doubt. A variable outside `bindable`
    /// may take any value, but the same in both places.
    fn matches(
        &self,
        pattern: &Pattern,
        bindings: &[Option<String>],
        bindable: &BTreeSet<usize>,
    ) -> Vec<(Row, bool)> {
        let relation = pattern.relation.index();
        let known = self.known[relation].iter().map(|row| (row, true));
        let open = self.open[relation].iter().map(|row| (row, false));
        let mut found = Vec::new();
        'rows: for (row, mut certain) in known.chain(open) {
            let mut free: BTreeMap<usize, &Option<String>> = BTreeMap::new();
            for (term, cell) in pattern.terms.iter().zip(row) {
                let wanted = match term {
                    Term::Any => continue,
                    Term::Constant(value) => Some(key(value)),
                    Term::Variable(variable) if bindable.contains(&variable.index()) => {
                        bindings[variable.index()].clone()
                    }
                    Term::Variable(variable) => match free.insert(variable.index(), cell) {
                        None => continue,
                        Some(earlier) => earlier.clone(),
                    },
                };
                match (&wanted, cell) {
                    (Some(wanted), Some(cell)) if wanted != cell => continue 'rows,
                    (Some(_), Some(_)) => {}
                    _ => certain = false,
                }
            }
            found.push((row.clone(), certain));
        }
        found
    }

    /// Whether a finding applies to these rows, how, and with which values.
    pub fn judge(&mut self, finding: &Finding, rows: &[Row]) -> Option<(Status, Vec<Option<String>>)> {
        let mut bindings = self.unify(finding, rows)?;
        let mut bindable = BTreeSet::new();
        let mut open = false;
        let mut at = 0;
        for premise in &finding.premises {
            match premise {
                Premise::Given(pattern) => {
                    open |= self.open[pattern.relation.index()].contains(&rows[at]);
                    at += 1;
                    bindable.extend(pattern.terms.iter().filter_map(|term| match term {
                        Term::Variable(variable) => Some(variable.index()),
                        _ => None,
                    }));
                }
                Premise::Let { variable, .. } | Premise::Aggregate { variable, .. } => {
                    bindable.insert(variable.index());
                }
                _ => {}
            }
        }
        for premise in &finding.premises {
            match premise {
                Premise::Given(_) => {}
                Premise::Unless(pattern) => {
                    let found = self.matches(pattern, &bindings, &bindable);
                    if found.iter().any(|(_, certain)| *certain) {
                        return None;
                    }
                    open |= !found.is_empty();
                }
                Premise::Where { condition, .. } => {
                    match decide(condition, &self.rulebook.curves, &|variable| {
                        self.value(&bindings, variable)
                    }) {
                        Truth::Holds => {}
                        Truth::Fails => return None,
                        Truth::Open => open = true,
                    }
                }
                Premise::Let { variable, formula, .. } => {
                    let outcome =
                        evaluate(formula, &self.rulebook.curves, &|variable| self.value(&bindings, variable));
                    self.bind(&mut bindings, *variable, outcome)?;
                }
                Premise::Aggregate { variable, how, over, members, .. } => {
                    let found = self.matches(members, &bindings, &bindable);
                    let column =
                        over.map(|over| members.terms.iter().position(|term| *term == Term::Variable(over)));
                    let outcome = self.aggregate(*how, column.flatten(), &found);
                    open |= outcome == Outcome::Unknown;
                    self.bind(&mut bindings, *variable, outcome)?;
                }
            }
        }
        Some((if open { Status::Open } else { Status::Known }, bindings))
    }

    fn value<'v>(&'v self, bindings: &[Option<String>], variable: VariableId) -> Option<&'v Value> {
        bindings[variable.index()].as_ref().map(|key| &self.values[key])
    }

    fn bind(
        &mut self,
        bindings: &mut [Option<String>],
        variable: VariableId,
        outcome: Outcome,
    ) -> Option<()> {
        let value = match outcome {
            Outcome::Nothing => return None,
            Outcome::Unknown => return Some(()),
            Outcome::Value(quantity) => self.keep(&Value::Number(quantity)),
        };
        match &mut bindings[variable.index()] {
            Some(bound) => (*bound == value).then_some(()),
            bound => {
                *bound = Some(value);
                Some(())
            }
        }
    }

    fn aggregate(&self, how: Aggregate, column: Option<usize>, found: &[(Row, bool)]) -> Outcome {
        let plain = |value: f64| Outcome::Value(Quantity::number(value));
        let number = |row: &Row| -> Option<f64> {
            match row[column?].as_ref().map(|key| &self.values[key]) {
                Some(Value::Number(quantity)) => Some(quantity.base),
                _ => None,
            }
        };
        let doubtful = found.iter().any(|(_, certain)| !certain);
        let known: Vec<f64> =
            found.iter().filter(|(_, certain)| *certain).filter_map(|(row, _)| number(row)).collect();
        match how {
            Aggregate::Count if doubtful => Outcome::Unknown,
            Aggregate::Count => plain(found.len() as f64),
            Aggregate::Sum if doubtful => Outcome::Unknown,
            Aggregate::Sum => plain(known.iter().sum()),
            Aggregate::Least | Aggregate::Greatest => {
                let sign = if how == Aggregate::Least { 1.0 } else { -1.0 };
                let best = known.iter().map(|value| value * sign).fold(f64::INFINITY, f64::min);
                let harmless = |row: &Row| number(row).is_some_and(|value| value * sign >= best);
                if found.is_empty() {
                    Outcome::Nothing
                } else if found.iter().all(|(row, certain)| *certain || harmless(row)) {
                    plain(best * sign)
                } else {
                    Outcome::Unknown
                }
            }
        }
    }

    pub fn conclusion(&self, hence: &Pattern, bindings: &[Option<String>]) -> (usize, Row) {
        let cells = hence.terms.iter().map(|term| match term {
            Term::Any => panic!("a conclusion has no open role"),
            Term::Constant(value) => Some(key(value)),
            Term::Variable(variable) => bindings[variable.index()].clone(),
        });
        (hence.relation.index(), cells.collect())
    }
}
