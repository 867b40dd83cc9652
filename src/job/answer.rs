//! One value of a job file, read as its role in the rulebook demands: a word, a quantity, a range, a name, a text.
//! Which key it stands at is decided elsewhere.

use super::tree::{Content, JobEntry, JobNode};
use super::walk::Walk;
use super::{catalogue, designation, shorten};
use crate::language::{Diagnostic, KindId, Origin, RelationId, Rulebook, Span, Takes, Type, Value};
use crate::quantity::{
    Dimension, Interval, NotationError, Quantity, Unit, parse_interval, parse_number, parse_quantity,
};
use std::sync::Arc;

/// The answer to a question.
#[derive(Clone, Debug)]
pub(super) struct GivenAnswer {
    /// Index into the questions of [`super::keys::Keys`].
    pub question: usize,
    pub value: Value,
    pub span: Span,
}

/// A quantity is never written longer than this.
const LONGEST_QUANTITY: usize = 200;

/// This many words are listed where an unknown one stands; of a longer list only the nearest is named.
const MOST_LISTED: usize = 8;

/// Below this there is no temperature, in degrees Celsius.
const ABSOLUTE_ZERO: f64 = -273.15;

impl Walk<'_> {
    /// A section of answers that hold for every joint, or for one where it stands inside a joint.
    pub fn section(&mut self, entry: &JobEntry, section: &str) -> Vec<GivenAnswer> {
        let Some(entries) = self.table(&entry.node, &format!("`{section}`"), None) else { return Vec::new() };
        let mut answers = Vec::new();
        for inner in entries {
            if !self.answer(inner, section, &mut answers) {
                let keys = self.keys.of_section(section, &[]);
                let known: Vec<String> = keys.into_iter().map(str::to_owned).collect();
                self.unknown_key(inner, &format!("`{section}`"), &known);
            }
        }
        answers
    }

    /// Reads the answer at a key of a section; false where no question stands there.
    pub fn answer(&mut self, entry: &JobEntry, section: &str, answers: &mut Vec<GivenAnswer>) -> bool {
        let questions = self.keys.at(section, &entry.key);
        for question in &questions {
            let (ty, path) =
                (self.keys.questions[*question].answer, self.keys.questions[*question].path.clone());
            // Two relations may ask at one key; a mistake in the answer is reported once.
            let Some(value) = self.value(&entry.node, ty, &path) else { break };
            let relation = self.keys.questions[*question].relation;
            if !self.is_taken(relation, &value, entry.node.span, &path) {
                break;
            }
            let value = match value {
                Value::Symbol(text) if path == "parts.temper" && designation::is_temper(&text) => {
                    Value::Symbol(text.to_uppercase().into())
                }
                other => other,
            };
            answers.push(GivenAnswer { question: *question, value, span: entry.node.span });
        }
        !questions.is_empty()
    }

    /// Whether an answer is in the range that its question takes; reports one that is not.
    fn is_taken(&mut self, question: RelationId, value: &Value, span: Span, path: &str) -> bool {
        let Some(Takes { range, because }) = takes(self.rulebook, question) else { return true };
        let ends = match value {
            Value::Number(number) => [Some(*number), Some(*number)],
            Value::Range(range) => [range.lowest, range.highest],
            Value::Symbol(_) => return true,
        };
        let outside = ends.into_iter().flatten().any(|end| !range.holds(&end));
        if outside {
            // A range is shown in the unit of the answer.
            let unit = value.quantities().next().and_then(|answer| answer.unit);
            let shown = |end: Option<Quantity>| end.map(|end| end.shown_in(unit));
            let range = Interval { lowest: shown(range.lowest), highest: shown(range.highest) };
            let message = format!("`{path}` takes {range}, and this is {value}");
            self.report(Diagnostic::new(span, message, "out of range").help(because.clone()));
        }
        !outside
    }

    /// Reads a value of a type.
    pub fn value(&mut self, node: &JobNode, ty: Type, path: &str) -> Option<Value> {
        match ty {
            Type::Name => self.line(node, &format!("`{path}`")).map(|text| Value::Symbol(text.into())),
            Type::Word(kind) => self.word(node, kind, path).map(Value::Symbol),
            Type::Text => match &node.value {
                Content::Text(text) => Some(Value::Symbol(text.as_str().into())),
                other => {
                    self.mismatch(node.span, &format!("`{path}`"), "a text", other, None);
                    None
                }
            },
            Type::Number(dimension) => self
                .notation(node, dimension, path, |text| parse_quantity(text, Some(dimension)))
                .filter(|quantity| self.sensible(&[*quantity], node.span, path))
                .map(Value::Number),
            Type::Range(dimension) => self
                .notation(node, dimension, path, |text| parse_interval(text, Some(dimension)))
                .filter(|range| {
                    let ends: Vec<Quantity> = range.lowest.into_iter().chain(range.highest).collect();
                    self.sensible(&ends, node.span, path)
                })
                .map(Value::Range),
        }
    }

    /// A word of a closed list: case does not matter, nor whether its parts are joined by spaces, hyphens or
    /// underscores. The relation `KIND-also-written(word, written)`, where the rulebook has it, gives other spellings,
    /// such as the numbers of ISO 4063 for processes.
    pub fn word(&mut self, node: &JobNode, kind: KindId, path: &str) -> Option<Arc<str>> {
        let (Content::Text(written) | Content::Number(written)) = &node.value else {
            self.mismatch(node.span, &format!("`{path}`"), "a word", &node.value, None);
            return None;
        };
        let kind = self.rulebook.kinds.get(kind.index())?;
        let wanted = even(written);
        let found = kind.words.iter().find(|word| even(word) == wanted).cloned();
        if let Some(word) = found.or_else(|| self.other_spelling(&kind.name, &kind.words, &wanted)) {
            return Some(word);
        }
        let words = kind.words.iter().map(|word| &**word);
        let near = self.near(&wanted, words.clone()).map(str::to_owned);
        let help = match near {
            Some(near) if kind.words.len() > MOST_LISTED => format!("did you mean \"{near}\"?"),
            near => {
                let mut listed: Vec<&str> = words.collect();
                listed.sort_by_key(|word| near.as_deref() != Some(*word));
                let more = listed.len().saturating_sub(MOST_LISTED);
                listed.truncate(MOST_LISTED);
                let more = if more > 0 { format!(" and {more} more") } else { String::new() };
                match near {
                    Some(near) => format!("did you mean \"{near}\"? Known words are {}", listed.join(", ")),
                    None => format!("known words are {}{more}", listed.join(", ")),
                }
            }
        };
        let message = format!("unknown word \"{}\" for `{path}`", shorten(written));
        self.report(Diagnostic::new(node.span, message, "not a known word").help(help));
        None
    }

    fn other_spelling(&self, kind: &str, words: &[Arc<str>], wanted: &str) -> Option<Arc<str>> {
        let relation = self.rulebook.relation(&format!("{kind}-also-written"))?;
        let roles = &self.rulebook.relations[relation.index()].roles;
        let written = roles.iter().position(|role| role.name == "written")?;
        let canonical = (0..roles.len()).find(|place| *place != written)?;
        catalogue::facts(self.rulebook, relation).find_map(|cells| {
            match (cells.get(canonical), cells.get(written)) {
                (Some(Value::Symbol(word)), Some(Value::Symbol(spelling))) if even(spelling) == wanted => {
                    words.iter().find(|known| even(known) == even(word)).cloned()
                }
                _ => None,
            }
        })
    }

    fn notation<T: OfNumber>(
        &mut self,
        node: &JobNode,
        dimension: Dimension,
        path: &str,
        parse: impl Fn(&str) -> Result<T, NotationError>,
    ) -> Option<T> {
        let result = match &node.value {
            Content::Text(text) if text.len() > LONGEST_QUANTITY || text.chars().any(char::is_control) => {
                Err(NotationError::NotANumber(shorten(text)))
            }
            Content::Text(text) => parse(text),
            // TOML allows underscores between digits.
            Content::Number(number) if number.len() <= LONGEST_QUANTITY => {
                parse_number(&number.replace('_', "")).and_then(|value| match dimension {
                    Dimension::RATIO | Dimension::SHARE => {
                        Ok(T::of_number(Quantity::from_base(value, dimension)))
                    }
                    _ => Err(NotationError::MissingUnit(dimension)),
                })
            }
            Content::Number(number) => Err(NotationError::NotANumber(shorten(number))),
            other => {
                let example = example(dimension);
                let help = format!("write \"{example}\"");
                self.mismatch(node.span, &format!("`{path}`"), "a quantity", other, Some(&help));
                return None;
            }
        };
        result.map_err(|error| self.report(explained(&error, node, dimension, path))).ok()
    }

    /// Whether quantities are such as can be: finite, no temperature below absolute zero, no size below nothing.
    fn sensible(&mut self, quantities: &[Quantity], span: Span, path: &str) -> bool {
        let sizes = [Dimension::LENGTH, Dimension::AREA, Dimension::ANGLE, Dimension::MASS];
        for quantity in quantities {
            let wrong = if !quantity.base.is_finite() {
                "is too large a number"
            } else if quantity.dimension == Dimension::TEMPERATURE && quantity.base < ABSOLUTE_ZERO - 1e-9 {
                "is below absolute zero"
            } else if sizes.contains(&quantity.dimension) && quantity.base < 0.0 {
                "is less than nothing"
            } else {
                continue;
            };
            self.report(Diagnostic::new(span, format!("`{path}` {wrong}"), "not possible"));
            return false;
        }
        true
    }
}

/// The range of answers that a question takes, where it says so.
fn takes(rulebook: &Rulebook, question: RelationId) -> Option<&Takes> {
    match &rulebook.relations[question.index()].origin {
        Origin::Question(question) => question.takes.as_ref(),
        Origin::Plain | Origin::Computed { .. } => None,
    }
}

/// A plain ratio as the type that is read.
trait OfNumber {
    fn of_number(quantity: Quantity) -> Self;
}

impl OfNumber for Quantity {
    fn of_number(quantity: Quantity) -> Self {
        quantity
    }
}

impl OfNumber for Interval {
    fn of_number(quantity: Quantity) -> Self {
        Interval::single(quantity)
    }
}

fn explained(error: &NotationError, node: &JobNode, dimension: Dimension, path: &str) -> Diagnostic {
    let (Content::Text(written) | Content::Number(written)) = &node.value else {
        return Diagnostic::new(node.span, format!("`{path}`: {error}"), "not a quantity");
    };
    let (label, help) = match error {
        NotationError::MissingUnit(_) => {
            ("no unit", format!("write \"{}\", unit included", with_unit(dimension, &shorten(written))))
        }
        NotationError::WrongDimension { .. } => {
            ("wrong unit", format!("write it as in \"{}\"", example(dimension)))
        }
        NotationError::UnknownUnit(..) => {
            ("unknown unit", format!("write it as in \"{}\"", example(dimension)))
        }
        NotationError::NotANumber(_) if written.contains("..") => {
            ("not one quantity", format!("one value is expected, such as \"{}\"", example(dimension)))
        }
        NotationError::NotANumber(_) => {
            ("not a quantity", format!("write a number and its unit, such as \"{}\"", example(dimension)))
        }
        NotationError::EndsSwapped => ("ends swapped", "write the smaller end first".to_owned()),
        NotationError::NoMeasure(_) => {
            ("not a figure", format!("write it as it was measured, such as \"{}\"", example(dimension)))
        }
    };
    Diagnostic::new(node.span, format!("`{path}`: {error}"), label).help(help)
}

/// A quantity of a dimension as one would write it in a job file.
pub fn example(dimension: Dimension) -> String {
    with_unit(dimension, "")
}

/// A quantity of that dimension as one would write it, with this number where there is one.
fn with_unit(dimension: Dimension, number: &str) -> String {
    let number = if number.trim().is_empty() { "5" } else { number.trim() };
    format!("{number} {}", Unit::usual(dimension).map_or("", Unit::symbol)).trim_end().to_owned()
}

/// A word with case and joints between its parts evened out.
fn even(word: &str) -> String {
    let parts =
        word.split(|c: char| c.is_whitespace() || matches!(c, '-' | '_')).filter(|part| !part.is_empty());
    parts.map(str::to_lowercase).collect::<Vec<_>>().join(" ")
}
