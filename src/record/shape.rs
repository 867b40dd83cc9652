//! The shape of a record. Relations, roles and findings go by their names in the recorded rulebook; facts and applied
//! findings are numbered through, so that each is stored once. What it is filled with is in `write.rs`.

use super::texts::Texts;
use crate::engine::Cell;
use crate::language::{Type, Value};
use crate::quantity::{Dimension, Interval, Quantity, Unit};
use serde::{Deserialize, Serialize};

/// A decided job with everything that the decision rests on.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Record {
    /// The form of the record; `FORM`. It comes first, so that another form is refused before anything else is read.
    #[serde(deserialize_with = "super::form::form")]
    pub record: u32,
    /// The program that decided.
    pub program: RecordedProgram,
    /// What was asked.
    pub job: RecordedText,
    /// By which rules.
    pub rulebook: RecordedRulebook,
    /// Files that computations read.
    pub data: Vec<RecordedText>,
    /// Names, words and sentences of facts and computations, each once; what follows refers to them by number.
    pub texts: Vec<String>,
    /// The methods of computations, each once.
    pub methods: Vec<String>,
    /// Every fact, relation by relation in the order of the rulebook. A relation without facts is left out.
    pub facts: Vec<RecordedRelation>,
    /// Every finding that applied, in the order of the rulebook.
    pub findings: Vec<RecordedFinding>,
    /// The verdicts, as `choose --json` writes them.
    #[serde(deserialize_with = "super::unique::value")]
    pub report: serde_json::Value,
}

/// Name and version.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RecordedProgram {
    /// Its name.
    pub name: String,
    /// Its version.
    pub version: String,
}

/// A file.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RecordedText {
    /// Its name.
    pub file: String,
    /// SHA-256 of its text, in hexadecimal.
    pub fingerprint: String,
    /// The whole text.
    pub text: String,
}

/// The rules.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RecordedRulebook {
    /// SHA-256 over names and texts, in hexadecimal.
    pub fingerprint: String,
    /// The files in the order in which they were read.
    pub files: Vec<RecordedRules>,
}

/// A file of rules.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RecordedRules {
    /// Its name.
    pub file: String,
    /// The whole text.
    pub text: String,
}

/// The facts of a relation.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RecordedRelation {
    /// Its name.
    pub relation: String,
    /// The number of its first fact; the others follow, the open ones behind the known ones.
    pub first: usize,
    /// Facts that hold whatever the unanswered questions turn out to be.
    pub known: Vec<RecordedFact>,
    /// Facts that hang on an unanswered question.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub open: Vec<RecordedFact>,
}

/// A fact.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RecordedFact {
    /// A cell for every role.
    pub cells: Vec<RecordedCell>,
    /// All that yields it, in the order that decides which reason is stated: the job, tables, the lack of an answer,
    /// findings in the order of the rulebook and of the cells of their facts, computations.
    pub by: Vec<RecordedGround>,
}

/// What yields a fact.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "lowercase", deny_unknown_fields)]
pub enum RecordedGround {
    /// A row of a table, by file and line.
    Table(String),
    /// The job, by file and line.
    Job(String),
    /// A question that nobody answered.
    Unanswered,
    /// A finding that applied, by number.
    Finding(usize),
    /// The program.
    Computed(RecordedComputation),
}

/// A computation.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RecordedComputation {
    /// The facts that went into it, ascending.
    pub from: Vec<usize>,
    /// Its method, by its place among the methods.
    pub method: usize,
    /// Its steps, values put in, by number among the texts.
    pub steps: Vec<usize>,
}

/// A finding and all that it was applied to.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RecordedFinding {
    /// Its name.
    pub finding: String,
    /// The number of its first application; the others follow.
    pub first: usize,
    /// Its applications, ordered by the facts that they are applied to.
    pub applied: Vec<Application>,
}

/// A finding applied to facts.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Application {
    /// Whether it hangs on an unanswered question.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub open: bool,
    /// What each premise met, in the order of the finding.
    pub met: Vec<RecordedMet>,
}

/// What a premise met. How it is read is in `notation.rs`.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[serde(untagged)]
pub enum RecordedMet {
    /// A `given`: the fact.
    Given(usize),
    /// A `where`.
    Where(RecordedTruth),
    /// An `unless`.
    Unless(RecordedAbsence),
    /// An aggregate.
    Aggregate(RecordedAggregate),
    /// A `let`.
    Let(RecordedValue),
}

/// Whether a `where` holds.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum RecordedTruth {
    /// It holds.
    Holds,
    /// It hangs on an unanswered question.
    Open,
}

/// What was looked for and not found known.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RecordedAbsence {
    /// The relation in which it was looked for, by number among the texts.
    pub no: usize,
    /// What was looked for, by the place of the role, ascending; a role that is left out may hold anything.
    pub with: Vec<(usize, RecordedCell)>,
    /// Open facts that could still match, ascending.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub open: Vec<usize>,
}

/// What an aggregate ran over and its value.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RecordedAggregate {
    /// Its value.
    pub value: RecordedCell,
    /// The facts that match, known or open, ascending.
    pub over: Vec<usize>,
}

/// The value of a `let`.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RecordedValue {
    /// Its value.
    pub value: RecordedCell,
}

/// A cell: `null` where it is not known, a whole number for a name or word, a number with a point, or a range. How it is
/// read is in `notation.rs`.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[serde(untagged)]
pub enum RecordedCell {
    /// A value that hangs on an unanswered question.
    Unknown,
    /// A name, word or text, by number among the texts.
    Symbol(usize),
    /// A number.
    Number(RecordedNumber),
    /// A range.
    Range(RecordedRange),
}

/// A number in the base units of its dimension (see [`Quantity`]), by itself or beside the unit in which it is shown.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(untagged)]
pub enum RecordedNumber {
    /// Shown in the usual unit of its dimension.
    Plain(f64),
    /// Shown in this unit.
    Shown(f64, String),
}

/// A range; an end that it does not have is left out.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RecordedRange {
    /// Lower end.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lowest: Option<RecordedNumber>,
    /// Upper end.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub highest: Option<RecordedNumber>,
}

impl RecordedNumber {
    fn of(quantity: &Quantity) -> Self {
        match quantity.unit {
            None => RecordedNumber::Plain(quantity.base),
            Some(unit) => RecordedNumber::Shown(quantity.base, unit.symbol().to_owned()),
        }
    }

    /// The quantity; `None` where the unit is unknown or measures something else.
    fn quantity(&self, dimension: Dimension) -> Option<Quantity> {
        match self {
            RecordedNumber::Plain(base) => Some(Quantity::from_base(*base, dimension)),
            RecordedNumber::Shown(base, symbol) => {
                let unit = Unit::for_dimension(symbol, dimension)?;
                // A unit has other spellings; a record knows one.
                (unit.symbol() == symbol).then(|| Quantity::from_base(*base, dimension).shown_in(Some(unit)))
            }
        }
    }
}

impl RecordedCell {
    /// Of a cell as the engine has it.
    pub fn of(cell: &Cell, texts: &mut Texts) -> Self {
        match cell {
            Cell::Unknown => RecordedCell::Unknown,
            Cell::Value(Value::Symbol(text)) => RecordedCell::Symbol(texts.number(text)),
            Cell::Value(Value::Number(quantity)) => RecordedCell::Number(RecordedNumber::of(quantity)),
            Cell::Value(Value::Range(range)) => RecordedCell::Range(RecordedRange {
                lowest: range.lowest.as_ref().map(RecordedNumber::of),
                highest: range.highest.as_ref().map(RecordedNumber::of),
            }),
        }
    }

    /// The cell that stands in a role of this type; `None` where it does not fit there.
    pub fn read(&self, ty: Type, texts: &[String]) -> Option<Cell> {
        let value = match (self, ty) {
            (RecordedCell::Unknown, _) => return Some(Cell::Unknown),
            (RecordedCell::Symbol(text), Type::Name | Type::Word(_) | Type::Text) => {
                Value::Symbol(texts.get(*text)?.as_str().into())
            }
            (RecordedCell::Number(number), Type::Number(dimension)) => {
                Value::Number(number.quantity(dimension)?)
            }
            (RecordedCell::Range(range), Type::Range(dimension)) => {
                let end = |end: &Option<RecordedNumber>| match end {
                    None => Some(None),
                    Some(number) => number.quantity(dimension).map(Some),
                };
                Value::Range(Interval { lowest: end(&range.lowest)?, highest: end(&range.highest)? })
            }
            _ => return None,
        };
        Some(Cell::Value(value))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_come_back_to_the_last_bit() {
        // Neighbours of round numbers, the smallest and largest, and many in between.
        let mut numbers = vec![0.1 + 0.2, 1.0 / 3.0, f64::MIN_POSITIVE, 5e-324, f64::MAX, 1e23, 0.0];
        let mut bits = 0x3ff0_0000_0000_0000_u64;
        for _ in 0..20_000 {
            bits = bits.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            numbers.push(f64::from_bits(bits));
        }
        for number in numbers.into_iter().filter(|number| number.is_finite()) {
            for cell in [
                RecordedCell::Number(RecordedNumber::Plain(number)),
                RecordedCell::Number(RecordedNumber::Shown(number, "mm".to_owned())),
            ] {
                let text = serde_json::to_string(&cell).expect("JSON");
                let back: RecordedCell = serde_json::from_str(&text).expect("a cell");
                let RecordedCell::Number(RecordedNumber::Plain(back) | RecordedNumber::Shown(back, _)) = back
                else {
                    panic!("{text} is no number")
                };
                assert_eq!(back.to_bits(), number.to_bits(), "{text}");
            }
        }
    }

    #[test]
    fn cells_come_back_as_what_they_were() {
        let third = Quantity::new(1.0 / 3.0, Unit::PERCENT);
        for (cell, ty, text) in [
            (Cell::Unknown, Type::Name, "null"),
            (Cell::Value(Value::Symbol("a b".into())), Type::Name, "0"),
            (Cell::Value(Value::Number(Quantity::number(2.0))), Type::Number(Dimension::RATIO), "2.0"),
            (
                Cell::Value(Value::Number(third)),
                Type::Number(Dimension::SHARE),
                "[0.003333333333333333,\"%\"]",
            ),
            (
                Cell::Value(Value::Range(Interval { lowest: Some(third), highest: None })),
                Type::Range(Dimension::SHARE),
                "{\"lowest\":[0.003333333333333333,\"%\"]}",
            ),
        ] {
            let mut texts = Texts::default();
            let recorded = RecordedCell::of(&cell, &mut texts);
            assert_eq!(serde_json::to_string(&recorded).expect("JSON"), text);
            let back: RecordedCell = serde_json::from_str(text).expect("a cell");
            assert_eq!(back.read(ty, &texts.all), Some(cell));
        }
        let length = RecordedCell::Number(RecordedNumber::Shown(1.0, "%".to_owned()));
        assert_eq!(length.read(Type::Number(Dimension::LENGTH), &[]), None);
        assert_eq!(length.read(Type::Name, &[]), None);
        assert_eq!(RecordedCell::Symbol(1).read(Type::Name, &["a".to_owned()]), None);
    }
}
