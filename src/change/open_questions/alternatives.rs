//! The answers that a question may get, with what each brings: every word of a word question; for a number stretches of
//! numbers that bring the same, found by trying some and halving between those that differ.

use super::with_answers::RecommendedThen;
use crate::change::adjustable::{Scale, Values};
use crate::change::border::Border;
use crate::change::session::ChangeError;
use crate::language::{Type, Value};
use crate::quantity::{Interval, Quantity, format_number};
use std::sync::Arc;

/// Halving between two numbers of different outcome goes on until they are this close, relative to their size.
const CLOSE: f64 = 0.005;

/// After this many borders the others are shown between the numbers that were tried.
const MOST_BORDERS: usize = 6;

/// An answer, or a stretch of answers, and what it brings at each joint.
#[derive(Clone, Debug)]
pub(super) struct Tried {
    pub answer: String,
    /// The value that was put in, where the answer stands for more than one.
    pub stands_for: Option<String>,
    pub outcomes: Vec<RecommendedThen>,
}

/// What an answer brings, joint by joint.
pub(super) type Brings<'f> = &'f dyn Fn(&Value) -> Result<Vec<RecommendedThen>, ChangeError>;

/// Tries the answers of a question.
pub(super) fn tried(
    values: Option<&Values>,
    ty: Type,
    brings: Brings<'_>,
) -> Result<Vec<Tried>, ChangeError> {
    match values {
        Some(Values::Words(words)) => words
            .iter()
            .map(|word| {
                let outcomes = brings(&Value::Symbol(Arc::from(word.as_str())))?;
                Ok(Tried { answer: word.clone(), stands_for: None, outcomes })
            })
            .collect(),
        Some(Values::Numbers(scales)) => match scales.first() {
            Some(scale) => stretches(scale, ty, brings),
            None => Ok(Vec::new()),
        },
        _ => Ok(Vec::new()),
    }
}

/// Neighbouring numbers that bring the same, ascending.
struct AnswerStretch {
    numbers: Vec<f64>,
    outcomes: Vec<RecommendedThen>,
}

impl AnswerStretch {
    fn lowest(&self) -> f64 {
        self.numbers.first().copied().unwrap_or_default()
    }

    fn highest(&self) -> f64 {
        self.numbers.last().copied().unwrap_or_default()
    }
}

/// The answers of a question that are tried: every word, some numbers from least to greatest.
pub(super) fn worth_trying(values: Option<&Values>, ty: Type) -> Vec<Value> {
    match values {
        Some(Values::Words(words)) => {
            words.iter().map(|word| Value::Symbol(Arc::from(word.as_str()))).collect()
        }
        Some(Values::Numbers(scales)) => match scales.first() {
            Some(scale) => some_of(scale).into_iter().map(|number| measured(number, scale, ty)).collect(),
            None => Vec::new(),
        },
        _ => Vec::new(),
    }
}

fn measured(number: f64, scale: &Scale, ty: Type) -> Value {
    let quantity = Quantity::new(number, scale.unit);
    match ty {
        Type::Range(_) => Value::Range(Interval::single(quantity)),
        _ => Value::Number(quantity),
    }
}

/// Every second number of a scale, and the last: they show as much as all of them, in half the time.
fn some_of(scale: &Scale) -> Vec<f64> {
    let tries = scale.tries();
    let last = tries.len().saturating_sub(1);
    tries
        .into_iter()
        .enumerate()
        .filter(|(index, _)| index % 2 == 0 || *index == last)
        .map(|(_, number)| number)
        .collect()
}

fn stretches(scale: &Scale, ty: Type, brings: Brings<'_>) -> Result<Vec<Tried>, ChangeError> {
    let bring = |number: f64| brings(&measured(number, scale, ty));
    let mut found: Vec<AnswerStretch> = Vec::new();
    for number in some_of(scale) {
        let outcomes = bring(number)?;
        match found.last_mut() {
            Some(last) if last.outcomes == outcomes => last.numbers.push(number),
            _ => found.push(AnswerStretch { numbers: vec![number], outcomes }),
        }
    }
    // The borders are narrowed from the lowest; what is met in between and brings something else again is a stretch too.
    let mut at = 0;
    while at + 1 < found.len() && at < MOST_BORDERS {
        loop {
            let (below, above) = (found[at].highest(), found[at + 1].lowest());
            if above - below <= CLOSE * below.abs().max(above.abs()) {
                break;
            }
            let middle = round_middle(below, above);
            let outcomes = bring(middle)?;
            if outcomes == found[at].outcomes {
                found[at].numbers.push(middle);
            } else if outcomes == found[at + 1].outcomes {
                found[at + 1].numbers.insert(0, middle);
            } else {
                found.insert(at + 1, AnswerStretch { numbers: vec![middle], outcomes });
            }
        }
        at += 1;
    }
    let unit = scale.unit.symbol();
    let with_unit = |number: f64| format!("{} {unit}", format_number(number)).trim_end().to_owned();
    let tried = |(index, stretch): (usize, &AnswerStretch)| {
        // Of a border that was not narrowed only the numbers beside it are known.
        let upper = |index: usize| {
            let (holds, fails) = (found[index].highest(), found.get(index + 1)?.lowest());
            let border = Border { holds, fails, unit: scale.unit };
            Some(if index < at { border.in_words() } else { format!("{} or less", with_unit(holds)) })
        };
        let lower = || {
            let below = upper(index.checked_sub(1)?)?;
            Some(match (below.strip_suffix(" or less"), below.strip_prefix("less than ")) {
                _ if index > at => format!("{} or more", with_unit(stretch.lowest())),
                (Some(border), _) => format!("more than {border}"),
                (_, Some(border)) => format!("{border} or more"),
                _ => below,
            })
        };
        let answer = match (lower(), upper(index)) {
            (None, None) => {
                format!("any from {} to {}", with_unit(stretch.lowest()), with_unit(stretch.highest()))
            }
            _ if stretch.numbers.len() == 1 && index > at => with_unit(stretch.lowest()),
            (Some(from), Some(to)) => format!("{from} and {to}"),
            (from, to) => from.or(to).unwrap_or_default(),
        };
        let stands_for = stretch.numbers.get(stretch.numbers.len() / 2).map(|number| with_unit(*number));
        Tried { answer, stands_for, outcomes: stretch.outcomes.clone() }
    };
    Ok(found.iter().enumerate().map(tried).collect())
}

/// The roundest number in the middle third of a stretch, so that a border that is a round number is met.
fn round_middle(below: f64, above: f64) -> f64 {
    let third = (above - below) / 3.0;
    let (low, high) = (below + third, above - third);
    let middle = below / 2.0 + above / 2.0;
    for step in (-3..=3).rev().flat_map(|tens| [5.0, 1.0].map(|digit| digit * 10f64.powi(tens))) {
        let round = (middle / step).round() * step;
        if (low..=high).contains(&round) {
            // Decimal text keeps 0.1 what it is.
            return format!("{round:.4}").parse().unwrap_or(round);
        }
    }
    middle
}
