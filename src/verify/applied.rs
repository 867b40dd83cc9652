//! The recorded applications of findings, held against those that the checker finds: none missing, none too many, and each
//! premise met as recorded.

use super::apply::{FailedPremise, Judged, Met, judge};
use super::closure;
use super::facts::{Facts, same_units};
use super::problem::Problems;
use super::shapes::{AskedPremise, FindingShape, Slot};
use super::terms::{Term, Terms};
use crate::engine::Cell;
use crate::language::{Premise, RelationId, Type, Value};
use crate::quantity::Quantity;
use crate::record::{
    Application, Exceeded, Record, RecordBudget, RecordedAbsence, RecordedCell, RecordedMet, RecordedTruth,
};

/// A recorded application and what the checker makes of it.
pub(super) struct Applied<'a> {
    /// The finding, by its place in the rulebook.
    pub finding: usize,
    pub givens: Vec<usize>,
    pub recorded: &'a Application,
    /// `None` where it does not hold.
    pub judged: Option<Judged>,
}

/// The cells of a conclusion.
pub(super) type Conclusion = (RelationId, Vec<Option<Term>>);

/// How many premises were checked, by kind.
#[derive(Clone, Copy, Default, Debug, PartialEq, Eq, serde::Serialize)]
pub struct Premises {
    /// Facts that must hold.
    pub given: usize,
    /// Facts that must not.
    pub unless: usize,
    /// Values.
    #[serde(rename = "let")]
    pub values: usize,
    /// Numbers over many facts.
    pub aggregates: usize,
    /// Conditions.
    #[serde(rename = "where")]
    pub conditions: usize,
}

/// The recorded applications beside those that the checker finds.
pub(super) struct RecordComparison<'a, 'c, 'r> {
    pub facts: &'c Facts<'r>,
    pub terms: &'c mut Terms,
    pub texts: &'c [String],
    pub shapes: &'c [FindingShape<'r>],
    pub problems: &'c mut Problems,
    pub premises: Premises,
    pub applied: Vec<Applied<'a>>,
}

impl<'a> RecordComparison<'a, '_, '_> {
    /// Reads the recorded applications; whether each belongs to a finding, so that their numbers can be used.
    pub fn read(&mut self, record: &'a Record) -> bool {
        let mut last = None;
        let mut known = true;
        for recorded in &record.findings {
            let about = format!("the finding {}", recorded.finding);
            let found =
                self.shapes.binary_search_by(|shape| shape.finding.id.as_str().cmp(&recorded.finding));
            let Ok(finding) = found else {
                self.problems.report(about, "a finding of the recorded rulebook", "none of that name");
                known = false;
                continue;
            };
            if last.is_some_and(|last| last >= finding) {
                self.problems.report(about, "each finding once, in order", "out of order");
            }
            last = Some(finding);
            if recorded.first != self.applied.len() {
                let about = format!("the number of the first application of {}", recorded.finding);
                self.problems.report(about, self.applied.len().to_string(), recorded.first.to_string());
            }
            for application in &recorded.applied {
                self.read_one(finding, application);
            }
        }
        known
    }

    fn read_one(&mut self, finding: usize, recorded: &'a Application) {
        let premises = &self.shapes[finding].premises;
        if recorded.met.len() != premises.len() {
            let expected = format!("{} premises", premises.len());
            let about = self.named(finding, self.applied.len());
            self.problems.report_at(self.place(finding), about, expected, recorded.met.len().to_string());
        }
        let givens: Vec<usize> = premises
            .iter()
            .zip(&recorded.met)
            .filter_map(|pair| match pair {
                (AskedPremise::Given(_), RecordedMet::Given(fact)) if *fact < self.facts.all.len() => {
                    Some(*fact)
                }
                _ => None,
            })
            .collect();
        let before = self.applied.last().filter(|before| before.finding == finding);
        if before.is_some_and(|before| before.givens >= givens) {
            let about = self.named(finding, self.applied.len());
            let expected = "each application once, in the order of its facts";
            self.problems.report_at(self.place(finding), about, expected, "out of order");
        }
        self.applied.push(Applied { finding, givens, recorded, judged: None });
    }

    /// Judges each application, and gives those that are missing: finding, facts and what is made of them.
    pub fn judge(&mut self, budget: &RecordBudget) -> Result<Vec<(usize, Vec<usize>, Judged)>, Exceeded> {
        let mut numbers = vec![Vec::new(); self.shapes.len()];
        for (number, applied) in self.applied.iter().enumerate() {
            numbers[applied.finding].push(number);
        }
        let mut missing = Vec::new();
        for (finding, numbers) in numbers.into_iter().enumerate() {
            let most = numbers.len().saturating_add(budget.untold);
            let mut found = closure::applications(self.facts, self.terms, &self.shapes[finding], most);
            if found.len() > most {
                let finding = self.shapes[finding].finding.id.clone();
                return Err(Exceeded::Applications { finding, most: budget.untold });
            }
            for number in numbers {
                let held = found.remove(&self.applied[number].givens);
                self.one(number, held);
            }
            if self.facts.effort.is_spent() {
                let at = format!("the finding {}", self.shapes[finding].finding.id);
                return Err(Exceeded::Steps { at, most: budget.steps });
            }
            missing.extend(found.into_iter().map(|(givens, judged)| (finding, givens, judged)));
        }
        Ok(missing)
    }

    fn one(&mut self, number: usize, held: Option<Judged>) {
        let Applied { finding, givens, recorded, .. } = &self.applied[number];
        let (finding, givens, recorded) = (*finding, givens.clone(), *recorded);
        let shape = &self.shapes[finding];
        let judged = match held {
            Some(judged) => judged,
            None => match judge(self.facts, self.terms, shape, &givens) {
                Ok(judged) => judged,
                Err((at, against)) => return self.refused(number, at, against),
            },
        };
        if judged.open != recorded.open {
            let word = |open: bool| if open { "open" } else { "known" };
            let about = self.named(finding, number);
            self.problems.report_at(self.place(finding), about, word(judged.open), word(recorded.open));
        }
        for (at, (met, recorded)) in judged.met.iter().zip(&recorded.met).enumerate() {
            self.premise(number, at, met, recorded);
        }
        self.applied[number].judged = Some(judged);
    }

    fn refused(&mut self, number: usize, at: usize, against: FailedPremise) {
        let finding = self.applied[number].finding;
        let recorded = self.applied[number].recorded.met.get(at);
        let found = match (against, recorded) {
            (FailedPremise::Mismatch, Some(RecordedMet::Given(fact))) => {
                format!("{}, which does not fit there", self.facts.named(*fact, self.terms))
            }
            (FailedPremise::Mismatch, _) => "no recorded fact".to_owned(),
            (FailedPremise::Present(fact), _) => {
                format!("{} stands against it", self.facts.named(fact, self.terms))
            }
            (FailedPremise::NoValue, _) => "it has no value".to_owned(),
            (FailedPremise::OtherValue, _) => "it has another value".to_owned(),
            (FailedPremise::Fails, _) => "it fails".to_owned(),
        };
        let about = format!("{}, {}", self.named(finding, number), self.premise_text(finding, at));
        self.problems.report_at(self.place(finding), about, "that it holds", found);
    }

    /// Compares what a premise meets with what the record says that it met.
    fn premise(&mut self, number: usize, at: usize, met: &Met, recorded: &RecordedMet) {
        let finding = self.applied[number].finding;
        let shape = &self.shapes[finding];
        let (expected, agrees) = match (met, &shape.premises[at]) {
            (Met::Given(fact), _) => {
                self.premises.given += 1;
                (format!("fact {fact}"), *recorded == RecordedMet::Given(*fact))
            }
            (Met::Where { open }, _) => {
                self.premises.conditions += 1;
                let truth = if *open { RecordedTruth::Open } else { RecordedTruth::Holds };
                let word = if *open { "open" } else { "holds" };
                (word.to_owned(), *recorded == RecordedMet::Where(truth))
            }
            (Met::Unless { sought, open }, AskedPremise::Unless(unless)) => {
                self.premises.unless += 1;
                let relation = &self.facts.rulebook.relations[unless.relation.index()];
                let agrees = match recorded {
                    RecordedMet::Unless(RecordedAbsence { no, with, open: recorded }) => {
                        self.texts.get(*no) == Some(&relation.name)
                            && recorded == open
                            && with.len() == sought.len()
                            && sought.iter().zip(with).all(|((role, term), (recorded, cell))| {
                                role == recorded && self.same(cell, relation.roles[*role].ty, *term)
                            })
                    }
                    _ => false,
                };
                let cells: Vec<String> = sought
                    .iter()
                    .map(|(role, term)| format!("{}: {}", relation.roles[*role].name, self.shown(*term)))
                    .collect();
                let open = match &open[..] {
                    [] => String::new(),
                    open => format!(", open by the facts {open:?}"),
                };
                (format!("no {} with {}{open}", relation.name, cells.join(", ")), agrees)
            }
            (Met::Let(value), AskedPremise::Let { variable, .. }) => {
                self.premises.values += 1;
                let ty = shape.finding.variables[*variable].ty;
                let agrees = match recorded {
                    RecordedMet::Let(recorded) => self.same_value(&recorded.value, ty, *value),
                    _ => false,
                };
                (self.shown_value(*value), agrees)
            }
            (Met::Aggregate(value, over), AskedPremise::Aggregate { variable, .. }) => {
                self.premises.aggregates += 1;
                let ty = shape.finding.variables[*variable].ty;
                let agrees = match recorded {
                    RecordedMet::Aggregate(recorded) => {
                        recorded.over == *over && self.same_value(&recorded.value, ty, *value)
                    }
                    _ => false,
                };
                (format!("{}, over the facts {over:?}", self.shown_value(*value)), agrees)
            }
            _ => (String::new(), false),
        };
        if !agrees {
            let about = format!("{}, {}", self.named(finding, number), self.premise_text(finding, at));
            let found = serde_json::to_string(recorded).unwrap_or_default();
            self.problems.report_at(self.place(finding), about, expected, found);
        }
    }

    fn shown(&self, term: Option<Term>) -> String {
        term.map_or("not known".to_owned(), |term| self.terms.value(term).to_string())
    }

    fn shown_value(&self, value: Option<Quantity>) -> String {
        value.map_or("not known".to_owned(), |value| {
            // Where a number is shown alike, its last digits may still differ.
            format!("{value} ({} in base units)", value.base)
        })
    }

    /// Whether a recorded cell holds a term, shown as on this page.
    fn same(&mut self, cell: &RecordedCell, ty: Type, term: Option<Term>) -> bool {
        let value = match (cell.read(ty, self.texts), term) {
            (Some(Cell::Unknown), None) => return true,
            (Some(Cell::Value(value)), Some(_)) => value,
            _ => return false,
        };
        let recorded = self.terms.term(&value);
        term == Some(recorded) && same_units(self.terms.value(recorded), &value)
    }

    fn same_value(&mut self, cell: &RecordedCell, ty: Type, value: Option<Quantity>) -> bool {
        let term = value.map(|value| self.terms.term(&Value::Number(value)));
        self.same(cell, ty, term)
    }

    /// An application by its number and finding.
    pub fn named(&self, finding: usize, number: usize) -> String {
        format!("application {number} of {}", self.shapes[finding].finding.id)
    }

    /// Where a finding stands.
    pub fn place(&self, finding: usize) -> Option<String> {
        let (sources, span) = (&self.facts.rulebook.sources, self.shapes[finding].finding.span);
        Some(format!("{}:{}", sources.file(span).name, sources.position(span).0))
    }

    fn premise_text(&self, finding: usize, at: usize) -> String {
        let rulebook = self.facts.rulebook;
        let text = |span| rulebook.sources.text(span).split_whitespace().collect::<Vec<_>>().join(" ");
        match &self.shapes[finding].finding.premises[at] {
            Premise::Given(pattern) => format!("given {}", text(pattern.span)),
            Premise::Unless(pattern) => format!("unless {}", text(pattern.span)),
            Premise::Where { span, .. } => format!("where {}", text(*span)),
            Premise::Let { span, .. } | Premise::Aggregate { span, .. } => text(*span),
        }
    }

    /// The conclusions of an application.
    pub fn conclusions(&self, finding: usize, judged: &Judged) -> Vec<Conclusion> {
        let hence = self.shapes[finding].hence.iter();
        hence
            .map(|shape| {
                let cells = shape.slots.iter().map(|slot| match slot {
                    Slot::Constant(term) => Some(*term),
                    Slot::Variable(variable) => judged.bindings[*variable],
                    Slot::Any | Slot::Same(_) => None,
                });
                (shape.relation, cells.collect())
            })
            .collect()
    }
}

/// The values of an application's variables, for its sentence.
pub(super) fn sentence_cells(applied: &Applied<'_>, terms: &Terms) -> Vec<Option<Cell>> {
    let Some(judged) = &applied.judged else { return Vec::new() };
    let cell = |term: Term| Cell::Value(terms.value(term).clone());
    judged.bindings.iter().map(|term| Some(term.map_or(Cell::Unknown, cell))).collect()
}
