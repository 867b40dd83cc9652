//! Where the answer to a question that is a number can make a difference, read off the rules: the numbers that findings compare
//! it with. Between two neighbours of these every answer brings the same, so that a few answers stand for all.

use crate::language::{
    Condition, Expression, Finding, Origin, Pattern, Premise, RelationId, Rulebook, Term, Type, VariableId,
    operands_of, relation_graph,
};
use crate::quantity::{Dimension, Quantity};
use petgraph::graph::NodeIndex;
use petgraph::visit::{Dfs, Reversed};

/// Answers that stand for all answers to a question: each border, one between each two neighbours, and one beyond each end, within
/// what the question takes. `None` where the rules do more with the answer than compare it with fixed numbers, so that
/// no such list is complete.
///
/// Only findings count on which facts of `decided` may rest: a caution, or what makes a job impossible, decides nothing.
pub(super) fn standing_for_all(
    rulebook: &Rulebook,
    question: RelationId,
    decided: RelationId,
) -> Option<Vec<Quantity>> {
    let Origin::Question(asked) = &rulebook.relations[question.index()].origin else { return None };
    let answer = rulebook.relations[question.index()].roles.len() - 1;
    let Type::Number(dimension) = rulebook.relations[question.index()].roles[answer].ty else { return None };
    let mut borders = Vec::new();
    let bears = bearing_on(rulebook, decided);
    for finding in &rulebook.findings {
        if !finding.hence.iter().any(|hence| bears[hence.relation.index()]) {
            continue;
        }
        for pattern in restricted(finding) {
            if pattern.relation != question {
                continue;
            }
            match &pattern.terms[answer] {
                Term::Any => {}
                Term::Constant(_) => return None,
                Term::Variable(variable) => borders.extend(compared_with(finding, *variable)?),
            }
        }
    }
    if rulebook
        .relations
        .iter()
        .any(|relation| matches!(&relation.origin, Origin::Computed { from } if from.contains(&question)))
    {
        return None;
    }
    let takes = asked.takes.as_ref().map(|takes| takes.range);
    let inside = |base: &f64| takes.is_none_or(|range| range.holds(&Quantity::from_base(*base, dimension)));
    let mut bases: Vec<f64> = borders.into_iter().filter(|base| inside(base)).collect();
    bases.sort_by(f64::total_cmp);
    bases.dedup();
    let ends = takes.map(|range| (range.lowest, range.highest));
    let (low, high) = ends.unwrap_or_default();
    let below = low.map(|end| end.base).or(bases.first().map(|first| first - step(*first)));
    let above = high.map(|end| end.base).or(bases.last().map(|last| last + step(*last)));
    let mut marks: Vec<f64> = below.into_iter().chain(bases.iter().copied()).chain(above).collect();
    marks.dedup();
    let mut answers = Vec::new();
    for pair in marks.windows(2) {
        answers.push((pair[0] + pair[1]) / 2.0);
    }
    answers.extend(marks);
    answers.sort_by(f64::total_cmp);
    answers.dedup();
    let unit = ends.and_then(|(low, high)| low.or(high)).and_then(|end| end.unit);
    Some(answers.into_iter().map(|base| Quantity::from_base(base, dimension).shown_in(unit)).collect())
}

/// For each relation, whether facts of `decided` may rest on its facts.
pub(super) fn bearing_on(rulebook: &Rulebook, decided: RelationId) -> Vec<bool> {
    let graph = relation_graph(&rulebook.relations, &rulebook.findings);
    let backwards = Reversed(&graph);
    let mut found = vec![false; rulebook.relations.len()];
    let mut search = Dfs::new(backwards, NodeIndex::new(decided.index()));
    while let Some(node) = search.next(backwards) {
        found[node.index()] = true;
    }
    found
}

fn step(base: f64) -> f64 {
    base.abs().max(1.0)
}

/// Every pattern that a finding looks at.
fn restricted(finding: &Finding) -> impl Iterator<Item = &Pattern> {
    finding.premises.iter().filter_map(|premise| match premise {
        Premise::Given(pattern) | Premise::Unless(pattern) => Some(pattern),
        Premise::Aggregate { members, .. } => Some(members),
        Premise::Let { .. } | Premise::Where { .. } => None,
    })
}

/// The fixed numbers, in base units, that a finding compares a variable with; `None` where it does anything else with it
/// than to say it in its sentence.
fn compared_with(finding: &Finding, variable: VariableId) -> Option<Vec<f64>> {
    let is =
        |expression: &Expression| matches!(expression, Expression::Variable(other) if *other == variable);
    let mentions = |expression: &Expression| {
        let mut operands = Vec::new();
        operands_of(expression, &mut operands);
        operands.contains(&variable)
    };
    if finding.hence.iter().any(|hence| hence.terms.contains(&Term::Variable(variable))) {
        return None;
    }
    if restricted(finding).filter(|pattern| pattern.terms.contains(&Term::Variable(variable))).count() > 1 {
        return None;
    }
    let mut borders = Vec::new();
    for premise in &finding.premises {
        match premise {
            Premise::Let { formula, .. } if mentions(formula) => return None,
            Premise::Where { condition: Condition::Compare { left, right, .. }, .. } => {
                let other = match (is(left), is(right)) {
                    (true, false) if !mentions(right) => right,
                    (false, true) if !mentions(left) => left,
                    _ if mentions(left) || mentions(right) => return None,
                    _ => continue,
                };
                borders.push(fixed(finding, other, 0)?.base);
            }
            Premise::Where { condition: Condition::Among { left, among, .. }, .. }
                if *left == Term::Variable(variable) || among.contains(&Term::Variable(variable)) =>
            {
                return None;
            }
            _ => {}
        }
    }
    Some(borders)
}

/// The value of a formula that holds no variables but those that the finding sets to fixed numbers.
fn fixed(finding: &Finding, expression: &Expression, depth: usize) -> Option<Quantity> {
    if depth > 16 {
        return None;
    }
    match expression {
        Expression::Constant(number) => Some(*number),
        Expression::Variable(variable) => finding.premises.iter().find_map(|premise| match premise {
            Premise::Let { variable: bound, formula, .. } if bound == variable => {
                fixed(finding, formula, depth + 1)
            }
            _ => None,
        }),
        Expression::Binary(operator, left, right) => {
            use crate::language::Operator;
            let (left, right) = (fixed(finding, left, depth + 1)?, fixed(finding, right, depth + 1)?);
            let sum = match operator {
                Operator::Plus => left.base + right.base,
                Operator::Minus => left.base - right.base,
                Operator::Times | Operator::Over => return None,
            };
            let point = [left, right].into_iter().find(|side| side.dimension == Dimension::TEMPERATURE);
            Some(Quantity::from_base(sum, point.unwrap_or(left).dimension))
        }
        Expression::Negated(_) | Expression::Call(..) | Expression::Curve(..) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn temperatures_stand_for_all_at_and_between_the_borders_of_the_rules() {
        let folder = std::path::Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/rules"));
        let rulebook = crate::language::read_rulebook(folder).expect("the built-in rulebook");
        let id = |name: &str| rulebook.relation(name).expect("a relation");
        let answers = standing_for_all(&rulebook, id("sustained-temperature"), id("recommended"));
        let bases: Vec<f64> = answers.expect("a list").iter().map(|answer| answer.base).collect();
        assert!(bases.contains(&65.0) && bases.windows(2).all(|pair| pair[0] < pair[1]), "{bases:?}");
        assert!(bases.iter().any(|base| *base < 65.0) && bases.iter().any(|base| *base > 65.0));
        let answers = standing_for_all(&rulebook, id("lowest-temperature"), id("recommended"));
        assert!(answers.expect("a list").iter().any(|answer| (answer.base + 50.0).abs() < 1e-9));
        assert!(
            standing_for_all(&rulebook, id("thickness"), id("recommended")).is_none(),
            "it enters formulas"
        );
    }
}
