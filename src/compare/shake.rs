//! What an edit could change and nobody would notice: each finding is left out, and each figure of a finding is moved, one at a
//! time, and where every expectation still holds, that is reported.

use crate::engine::{Derivation, EngineError, Memory, Recording};
use crate::language::{Condition, Expression, Finding, Origin, Premise, RelationId, Rulebook, Span, ValueId};
use crate::processors::for_each;
use crate::quantity::Quantity;
use crate::verdict::{DecisionError, ExpectationRun};
use serde::Serialize;
use std::collections::BTreeMap;
use std::sync::atomic::{AtomicUsize, Ordering};

/// What came of shaking a rulebook.
#[derive(Clone, Debug, Serialize)]
pub struct Shaken {
    /// By which part of itself each figure was moved, up and down.
    pub share: f64,
    /// How many findings were left out, one at a time.
    pub findings: usize,
    /// Those of which no expectation noticed it.
    pub unnoticed_findings: Vec<Unnoticed>,
    /// How many figures were moved, each up and down.
    pub figures: usize,
    /// The moves that no expectation noticed.
    pub unnoticed_moves: Vec<Unnoticed>,
}

/// An edit that no expectation notices.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct Unnoticed {
    /// The file.
    pub file: String,
    /// The line there, from one.
    pub line: usize,
    /// The finding that was left out, or the figure and how it was moved.
    pub what: String,
}

/// Shakes a rulebook whose expectations hold. `report` is called with how many of how many edits are done.
///
/// # Errors
///
/// Where the rulebook cannot be run at all.
pub fn shake(
    rulebook: &Rulebook,
    share: f64,
    report: &(impl Fn(usize, usize) + Sync),
) -> Result<Shaken, DecisionError> {
    let memory = Memory::default();
    let run = ExpectationRun::new(rulebook, memory.clone(), Recording::Everything)?;
    let seen: Vec<Seen> = for_each(&rulebook.expectations, |expectation| {
        run.derive(expectation).map(|derivation| Seen::of(rulebook, &derivation))
    })
    .into_iter()
    .collect::<Result<_, EngineError>>()?;
    let mut edits: Vec<Edit> = (0..rulebook.findings.len()).map(Edit::LeaveOut).collect();
    let figures = figures(rulebook);
    for places in &figures {
        edits.push(Edit::Move(places, 1.0 + share));
        edits.push(Edit::Move(places, 1.0 - share));
    }
    let done = AtomicUsize::new(0);
    let noticed = for_each(&edits, |edit| {
        let noticed = edit.is_noticed(rulebook, &seen, &memory);
        report(done.fetch_add(1, Ordering::Relaxed) + 1, edits.len());
        noticed
    });
    let mut shaken = Shaken {
        share,
        findings: rulebook.findings.len(),
        unnoticed_findings: Vec::new(),
        figures: figures.len(),
        unnoticed_moves: Vec::new(),
    };
    for (edit, noticed) in edits.iter().zip(noticed) {
        if noticed? {
            continue;
        }
        match edit {
            Edit::LeaveOut(finding) => {
                let finding = &rulebook.findings[*finding];
                shaken.unnoticed_findings.push(unnoticed(rulebook, finding.span, finding.id.clone()));
            }
            Edit::Move(figure, factor) => {
                let moved = moved(figure.quantity, *factor);
                let what = format!("{}: {} in the place of {}", figure.name, moved, figure.quantity);
                shaken.unnoticed_moves.push(unnoticed(rulebook, figure.span, what));
            }
        }
    }
    shaken.unnoticed_findings.sort();
    shaken.unnoticed_moves.sort();
    Ok(shaken)
}

fn unnoticed(rulebook: &Rulebook, span: Span, what: String) -> Unnoticed {
    let sources = &rulebook.sources;
    Unnoticed { file: sources.file(span).name.clone(), line: sources.position(span).0, what }
}

/// What an expectation's derivation says of each finding.
struct Seen {
    /// Whether it yields a fact, established or open.
    has_instance: Vec<bool>,
    /// Whether there are facts of all relations that it is given, so that another figure could make it apply.
    could_apply: Vec<bool>,
}

impl Seen {
    fn of(rulebook: &Rulebook, derivation: &Derivation<'_>) -> Self {
        let some: Vec<bool> = (0..rulebook.relations.len())
            .map(|index| derivation.facts(RelationId::new(index)).next().is_some())
            .collect();
        let given = |finding: &Finding| {
            finding.premises.iter().all(|premise| match premise {
                Premise::Given(pattern) => {
                    // A question is asked as the derivation goes on.
                    let asked =
                        matches!(rulebook.relations[pattern.relation.index()].origin, Origin::Question(_));
                    asked || some[pattern.relation.index()]
                }
                _ => true,
            })
        };
        let could_apply = rulebook.findings.iter().map(given).collect();
        Seen { has_instance: derivation.has_instance(), could_apply }
    }
}

enum Edit<'f> {
    LeaveOut(usize),
    Move(&'f Figure, f64),
}

impl Edit<'_> {
    /// The findings that it changes.
    fn findings(&self) -> impl Iterator<Item = usize> + '_ {
        let (one, places) = match self {
            Edit::LeaveOut(finding) => (Some(*finding), &[][..]),
            Edit::Move(figure, _) => (None, figure.places.as_slice()),
        };
        one.into_iter().chain(places.iter().map(|place| place.finding))
    }

    /// Whether it can change what an expectation comes to: a finding that yields nothing may be left out, and with another figure one
    /// may apply that does not now.
    fn can_reach(&self, seen: &Seen) -> bool {
        let told = match self {
            Edit::LeaveOut(_) => &seen.has_instance,
            Edit::Move(..) => &seen.could_apply,
        };
        self.findings().any(|finding| told[finding])
    }

    /// Whether some expectation fails after this edit. Only those that it can reach are run, the likeliest first.
    fn is_noticed(&self, rulebook: &Rulebook, seen: &[Seen], memory: &Memory) -> Result<bool, DecisionError> {
        let mut order: Vec<usize> = (0..seen.len()).filter(|index| self.can_reach(&seen[*index])).collect();
        if order.is_empty() {
            return Ok(false);
        }
        order.sort_by_key(|index| !self.findings().any(|finding| seen[*index].has_instance[finding]));
        let edited = match self {
            Edit::LeaveOut(finding) => {
                let mut edited = rulebook.clone();
                edited.findings.remove(*finding);
                edited
            }
            Edit::Move(figure, factor) => with_moved(rulebook, figure, *factor),
        };
        let run = ExpectationRun::new(&edited, memory.clone(), Recording::Nothing)?;
        for index in order {
            if !run.holds(&edited.expectations[index])? {
                return Ok(true);
            }
        }
        Ok(false)
    }
}

/// A figure of the rules, with every place that it stands in.
struct Figure {
    name: String,
    quantity: Quantity,
    span: Span,
    value: Option<ValueId>,
    places: Vec<Place>,
}

/// Where a figure stands: in a premise of a finding, as one of its constants.
struct Place {
    finding: usize,
    premise: usize,
    constant: usize,
}

/// Every figure of findings: a named value once for all of its places, and one that is written in a finding, once for all findings
/// that the same line makes. Structure is left alone: nothing, one, the whole.
fn figures(rulebook: &Rulebook) -> Vec<Figure> {
    let mut found: BTreeMap<(u32, u32, u32, usize), Figure> = BTreeMap::new();
    for (index, finding) in rulebook.findings.iter().enumerate() {
        for (number, premise) in finding.premises.iter().enumerate() {
            let (span, value) = match premise {
                // The borders of a ladder, told in its sentences, stand in its conditions as well.
                Premise::Let { variable, value: None, .. }
                    if finding.variables[variable.index()].name.starts_with(|c: char| c.is_lowercase()) =>
                {
                    continue;
                }
                Premise::Let { span, value, .. } => (*span, *value),
                Premise::Where { span, .. } => (*span, None),
                _ => continue,
            };
            let mut constants = Vec::new();
            visit(&mut premise.clone(), &mut |quantity| constants.push(*quantity));
            for (constant, quantity) in constants.into_iter().enumerate() {
                let base = quantity.base;
                if base == 0.0 || base == 1.0 || base == 100.0 && value.is_none() {
                    continue;
                }
                let name = match value {
                    Some(value) => rulebook.values[value.index()].name.clone(),
                    None => finding.id.clone(),
                };
                let key = (span.file, span.start, span.end, constant);
                let figure =
                    found.entry(key).or_insert(Figure { name, quantity, span, value, places: Vec::new() });
                figure.places.push(Place { finding: index, premise: number, constant });
            }
        }
    }
    found.into_values().collect()
}

fn moved(quantity: Quantity, factor: f64) -> Quantity {
    Quantity { base: quantity.base * factor, ..quantity }
}

fn with_moved(rulebook: &Rulebook, figure: &Figure, factor: f64) -> Rulebook {
    let mut edited = rulebook.clone();
    if let Some(value) = figure.value {
        edited.values[value.index()].quantity = moved(figure.quantity, factor);
    }
    for place in &figure.places {
        let mut at = 0;
        visit(&mut edited.findings[place.finding].premises[place.premise], &mut |quantity| {
            if at == place.constant {
                *quantity = moved(*quantity, factor);
            }
            at += 1;
        });
    }
    edited
}

/// Visits the constants of a premise, in their order.
fn visit(premise: &mut Premise, each: &mut impl FnMut(&mut Quantity)) {
    match premise {
        Premise::Let { formula, .. } => constants(formula, each),
        Premise::Where { condition: Condition::Compare { left, right, .. }, .. } => {
            constants(left, each);
            constants(right, each);
        }
        _ => {}
    }
}

fn constants(formula: &mut Expression, each: &mut impl FnMut(&mut Quantity)) {
    match formula {
        Expression::Constant(quantity) => each(quantity),
        Expression::Variable(_) => {}
        Expression::Negated(inner) | Expression::Curve(_, inner) => constants(inner, each),
        Expression::Binary(_, left, right) => {
            constants(left, each);
            constants(right, each);
        }
        Expression::Call(_, arguments) => arguments.iter_mut().for_each(|argument| constants(argument, each)),
    }
}
