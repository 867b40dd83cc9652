//! In which ways a rung of a ladder is reached, and between which borders it lies.

use super::super::rulebook::Comparison;
use super::super::tree::*;

/// A condition, and whether it is denied.
#[derive(Clone)]
pub(super) struct Literal {
    pub test: Test,
    pub denied: bool,
    /// Conditions that say the same have the same key, whatever the place they stand in.
    pub key: String,
}

/// A test with the ladder's subject put in.
pub(super) fn literal(test: &Test, on: Option<&Written>) -> Literal {
    let mut test = test.clone();
    let key = match &mut test.kind {
        TestKind::Given(pattern) => format!("given {}", pattern_key(pattern)),
        TestKind::Unless(pattern) => format!("unless {}", pattern_key(pattern)),
        TestKind::Border { of, holds, border } => {
            if of.is_none() {
                *of = on.cloned();
            }
            let of = of.as_ref().map_or("", |of| of.text.as_str());
            format!("{of} {holds:?} {}", formula_key(border))
        }
        TestKind::Is { left, among } => {
            let among: Vec<&str> = among.iter().map(|word| word.text.as_str()).collect();
            format!("{} is {}", left.text, among.join(" or "))
        }
    };
    Literal { test, denied: false, key }
}

pub(super) fn pattern_key(pattern: &PatternItem) -> String {
    let argument = |(role, written): &(Option<Written>, Written)| {
        format!("{}: {}", role.as_ref().map_or("", |role| role.text.as_str()), written.text)
    };
    let arguments: Vec<String> = pattern.arguments.iter().map(argument).collect();
    let choices: Vec<&str> =
        pattern.choices.iter().flat_map(|choice| &choice.others).map(|word| word.text.as_str()).collect();
    format!("{}({}) {}", pattern.name.text, arguments.join(", "), choices.join(" or "))
}

pub(super) fn formula_key(formula: &ExpressionItem) -> String {
    match formula {
        ExpressionItem::Number { number, unit, .. } => format!("{number} {}", unit.as_deref().unwrap_or("")),
        ExpressionItem::Variable(name) | ExpressionItem::Value(name) => name.text.clone(),
        ExpressionItem::Negated(inner) => format!("-({})", formula_key(inner)),
        ExpressionItem::Binary { operator, left, right } => {
            format!("({} {operator:?} {})", formula_key(left), formula_key(right))
        }
        ExpressionItem::Call { name, arguments, .. } => {
            let arguments: Vec<String> = arguments.iter().map(formula_key).collect();
            format!("{}({})", name.text, arguments.join(", "))
        }
    }
}

pub(super) fn opposite(comparison: Comparison) -> Comparison {
    match comparison {
        Comparison::Less => Comparison::AtLeast,
        Comparison::AtMost => Comparison::More,
        Comparison::More => Comparison::AtMost,
        Comparison::AtLeast => Comparison::Less,
        Comparison::Equal => Comparison::Unequal,
        Comparison::Unequal => Comparison::Equal,
    }
}

/// In which ways a rung is reached: its own conditions, and of each rung above it one condition that does not hold, with those in
/// front of it that do.
pub(super) fn ways(tests: &[Literal], passed: &[Vec<Literal>]) -> Vec<Vec<Literal>> {
    let mut ways: Vec<Vec<Literal>> = vec![Vec::new()];
    for (place, earlier) in passed.iter().enumerate() {
        if is_implied(earlier, &passed[place + 1..]) {
            continue;
        }
        let mut further = Vec::new();
        for way in &ways {
            for failing in 0..earlier.len() {
                let mut way = way.clone();
                way.extend(earlier[..failing].iter().cloned());
                way.push(Literal { denied: true, ..earlier[failing].clone() });
                further.push(way);
            }
        }
        ways = further;
    }
    ways.into_iter().filter_map(|way| consistent(way.into_iter().chain(tests.iter().cloned()))).collect()
}

/// Whether a rung with one border is denied by the denial of a later one on the same side: the last border counts.
pub(super) fn is_implied(earlier: &[Literal], later: &[Vec<Literal>]) -> bool {
    let [Literal { test: Test { kind: TestKind::Border { of, holds, .. }, .. }, .. }] = earlier else {
        return false;
    };
    later.iter().any(|rung| match rung.as_slice() {
        [Literal { test: Test { kind: TestKind::Border { of: other, holds: way, .. }, .. }, .. }] => {
            let name = |of: &Option<Written>| of.as_ref().map(|of| of.text.clone());
            name(of) == name(other) && holds == way
        }
        _ => false,
    })
}

/// The conditions, each once; `None` where one of them is also denied.
pub(super) fn consistent(literals: impl Iterator<Item = Literal>) -> Option<Vec<Literal>> {
    let mut kept: Vec<Literal> = Vec::new();
    for literal in literals {
        match kept.iter().find(|known| known.key == literal.key) {
            Some(known) if known.denied != literal.denied => return None,
            Some(_) => {}
            None => kept.push(literal),
        }
    }
    Some(kept)
}

/// The borders between which a rung lies: its own, and that of the rung above it.
pub(super) fn borders(
    tests: &[Literal],
    passed: &[Vec<Literal>],
) -> (Option<ExpressionItem>, Option<ExpressionItem>) {
    let border = |literals: &[Literal]| {
        literals.iter().find_map(|literal| match &literal.test.kind {
            TestKind::Border { holds, border, .. } => Some((*holds, border.clone())),
            _ => None,
        })
    };
    let own = border(tests);
    let before = passed.iter().rev().find_map(|rung| border(rung));
    let way = own.as_ref().or(before.as_ref()).map(|(holds, _)| *holds);
    let (own, before) = (own.map(|(_, border)| border), before.map(|(_, border)| border));
    match way {
        Some(Comparison::AtLeast | Comparison::More) => (own, before),
        _ => (before, own),
    }
}
