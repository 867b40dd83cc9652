//! What a relation rests on, in one form whatever the layout, the order of files and the names of variables: so that two
//! rulebooks can be held against each other. Nothing here is meant for a reader.

use super::rulebook::*;
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// For each relation its declaration, the rows of tables, and the findings that conclude it, each in one form.
pub fn contents(rulebook: &Rulebook) -> BTreeMap<&str, BTreeSet<String>> {
    let mut contents: BTreeMap<&str, BTreeSet<String>> = BTreeMap::new();
    let form = Form { rulebook };
    for relation in &rulebook.relations {
        contents.entry(&relation.name).or_default().insert(form.declaration(relation));
    }
    for fact in &rulebook.facts {
        let row = format!("row {:?} {:?}", fact.cells, fact.cites);
        contents.entry(&rulebook.relations[fact.relation.index()].name).or_default().insert(row);
    }
    for finding in &rulebook.findings {
        let text = form.finding(finding);
        for hence in &finding.hence {
            let name = rulebook.relations[hence.relation.index()].name.as_str();
            contents.entry(name).or_default().insert(text.clone());
        }
    }
    contents
}

struct Form<'r> {
    rulebook: &'r Rulebook,
}

/// A finding's variables: fixed figures by what they are, the others by the order in which they first stand in its premises.
#[derive(Default)]
struct Numbers {
    fixed: HashMap<VariableId, String>,
    seen: Vec<VariableId>,
}

impl Numbers {
    fn of(&mut self, id: VariableId) -> String {
        if let Some(figure) = self.fixed.get(&id) {
            return figure.clone();
        }
        let place = self.seen.iter().position(|known| *known == id).unwrap_or_else(|| {
            self.seen.push(id);
            self.seen.len() - 1
        });
        format!("${place}")
    }
}

impl Form<'_> {
    fn ty(&self, ty: Type) -> String {
        match ty {
            Type::Word(kind) => {
                let list = &self.rulebook.kinds[kind.index()];
                format!("{} {:?}", list.name, list.words)
            }
            other => format!("{other:?}"),
        }
    }

    fn relation(&self, id: RelationId) -> &str {
        &self.rulebook.relations[id.index()].name
    }

    fn declaration(&self, relation: &Relation) -> String {
        let roles: Vec<String> =
            relation.roles.iter().map(|role| format!("{}: {}", role.name, self.ty(role.ty))).collect();
        let origin = match &relation.origin {
            Origin::Plain => "plain".to_owned(),
            Origin::Computed { from } => {
                let from: Vec<&str> = from.iter().map(|id| self.relation(*id)).collect();
                format!("computed from {}", from.join(", "))
            }
            Origin::Question(question) => format!(
                "asked {:?} about {} {:?} at {} {:?} {:?}",
                question.asks,
                self.relation(question.subject),
                question.filled_by,
                question.path,
                question.left_out,
                question.takes
            ),
        };
        format!(
            "({}) {origin} {:?} {:?} {:?}",
            roles.join(", "),
            relation.reads,
            relation.once,
            relation.turn
        )
    }

    /// A finding without its id: what it says and on what it rests. A figure stands in the place of its name, and conditions
    /// in no order of their own.
    fn finding(&self, finding: &Finding) -> String {
        let mut numbers = Numbers::default();
        for premise in &finding.premises {
            if let Premise::Let { variable, formula: Expression::Constant(quantity), .. } = premise {
                numbers.fixed.insert(*variable, format!("{quantity:?}"));
            }
        }
        let (given, others): (Vec<&Premise>, Vec<&Premise>) = finding.premises.iter().partition(|premise| {
            matches!(premise, Premise::Given(_) | Premise::Let { .. } | Premise::Aggregate { .. })
        });
        let named = |premise: &Premise| match premise {
            Premise::Let { variable, .. } => !numbers.fixed.contains_key(variable),
            _ => true,
        };
        let given: Vec<&Premise> = given.into_iter().filter(|premise| named(premise)).collect();
        let mut premises: Vec<String> =
            given.into_iter().map(|premise| self.premise(premise, &mut numbers)).collect();
        let mut conditions: Vec<String> =
            others.into_iter().map(|premise| self.premise(premise, &mut numbers)).collect();
        conditions.sort();
        premises.append(&mut conditions);
        let mut text = format!("finding {};", premises.join("; "));
        for hence in &finding.hence {
            text.push_str(&format!(" hence {};", self.pattern(hence, &mut numbers)));
        }
        let pieces = finding.says.iter().flat_map(|says| &says.pieces);
        for piece in pieces {
            match piece {
                Piece::Text(piece) => text.push_str(piece),
                Piece::Slot(slot) => text.push_str(&numbers.of(VariableId::new(*slot))),
            }
        }
        text.push_str(&format!(" {:?}", finding.cites));
        text
    }

    fn premise(&self, premise: &Premise, numbers: &mut Numbers) -> String {
        match premise {
            Premise::Given(pattern) => format!("given {}", self.pattern(pattern, numbers)),
            Premise::Unless(pattern) => format!("unless {}", self.pattern(pattern, numbers)),
            Premise::Let { variable, formula, .. } => {
                let formula = self.formula(formula, numbers);
                format!("let {} = {formula}", numbers.of(*variable))
            }
            Premise::Aggregate { variable, how, over, members, .. } => {
                let over = over.map(|over| numbers.of(over));
                let members = self.pattern(members, numbers);
                format!("let {} = {how:?} {over:?} of {members}", numbers.of(*variable))
            }
            Premise::Where { condition: Condition::Compare { left, comparison, right }, .. } => {
                let left = self.formula(left, numbers);
                format!("where {left} {comparison:?} {}", self.formula(right, numbers))
            }
            Premise::Where { condition: Condition::Among { left, among, negated }, .. } => {
                let left = self.term(left, numbers);
                let among: Vec<String> = among.iter().map(|term| self.term(term, numbers)).collect();
                format!("where {left} among {among:?} {negated}")
            }
        }
    }

    fn pattern(&self, pattern: &Pattern, numbers: &mut Numbers) -> String {
        let terms: Vec<String> = pattern.terms.iter().map(|term| self.term(term, numbers)).collect();
        format!("{}({})", self.relation(pattern.relation), terms.join(", "))
    }

    fn term(&self, term: &Term, numbers: &mut Numbers) -> String {
        match term {
            Term::Any => "_".to_owned(),
            Term::Variable(id) => numbers.of(*id),
            Term::Constant(value) => format!("{value:?}"),
        }
    }

    fn formula(&self, formula: &Expression, numbers: &mut Numbers) -> String {
        match formula {
            Expression::Constant(quantity) => format!("{quantity:?}"),
            Expression::Variable(id) => numbers.of(*id),
            Expression::Binary(operator, left, right) => {
                let left = self.formula(left, numbers);
                format!("({left} {operator:?} {})", self.formula(right, numbers))
            }
            Expression::Negated(inner) => format!("-({})", self.formula(inner, numbers)),
            Expression::Call(function, arguments) => {
                let arguments: Vec<String> =
                    arguments.iter().map(|argument| self.formula(argument, numbers)).collect();
                format!("{function:?}({})", arguments.join(", "))
            }
            Expression::Curve(curve, inner) => {
                let curve = &self.rulebook.curves[curve.index()];
                let inner = self.formula(inner, numbers);
                format!("{} {:?} {:?}({inner})", curve.name, curve.points, curve.outside)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::read_rulebook_texts;
    use super::contents;

    #[test]
    fn layout_order_and_names_do_not_count_and_numbers_do() {
        let read = |texts: &[(&str, &str)]| read_rulebook_texts(texts.iter().copied()).expect("it reads");
        let finding = "finding a.b\n says \"{X} is heavy\"\n cite common practice\n given weighs(X, value: M)\n where M > 3 kg\n hence heavy(X)\n";
        let tables = "relation heavy(thing: name)\ntable weighs(thing: name, value: mass)\n cite common practice\n anvil 90 kg\n";
        let one = read(&[("one", &format!("{tables}{finding}"))]);
        let renamed = finding.replace("(X", "(Thing").replace("{X}", "{Thing}").replace("a.b", "c");
        let other = read(&[("a", &renamed), ("b", tables)]);
        assert_eq!(contents(&one), contents(&other));
        let moved = read(&[("one", &format!("{tables}{finding}").replace("3 kg", "4 kg"))]);
        let (before, after) = (contents(&one), contents(&moved));
        assert_eq!(before["weighs"], after["weighs"]);
        assert_ne!(before["heavy"], after["heavy"]);
    }
}
