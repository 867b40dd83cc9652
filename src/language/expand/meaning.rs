//! A meaning: a relation and the one finding that fills it, whose sentence is the relation's. It needs no authority, because it
//! claims nothing about the world, and so it may hold no figure of its own.

use super::super::diagnostic::Diagnostic;
use super::super::tree::*;
use super::Expander;

impl Expander<'_> {
    pub(super) fn meaning(&mut self, item: MeaningItem) {
        for clause in &item.clauses {
            self.refuse_figures(clause);
        }
        let argument = |head: &Head| (Some(head.role.clone()), head.variable.clone());
        let arguments = item.heads.iter().map(argument).collect();
        let hence =
            PatternItem { name: item.name.clone(), arguments, choices: Vec::new(), span: item.name.span };
        if let Some(mut reads) = item.reads {
            // The sentence is written with the variables of the meaning, and told with the roles of its relation.
            for head in &item.heads {
                let (variable, role) = (&head.variable.text, &head.role.text);
                reads.text = reads.text.replace(&format!("{{{variable}}}"), &format!("{{{role}}}"));
            }
            let role = |head: Head| RoleItem { name: head.role, range: head.range, kind: head.kind };
            // A carried word that the sentence tells is a role too, and filled as the premises are.
            let told = |list: &&Written| {
                reads.text.contains(&format!("{{{}}}", list.text))
                    && !item.heads.iter().any(|head| head.role.text == list.text)
            };
            let carried: Vec<RoleItem> = self
                .carried
                .iter()
                .filter(told)
                .map(|list| {
                    let name = Written { span: reads.span, ..list.clone() };
                    RoleItem { name, range: false, kind: None }
                })
                .collect();
            self.plain.push(Item::Relation(RelationItem {
                flavour: Flavour::Plain,
                name: item.name.clone(),
                roles: item.heads.into_iter().map(role).chain(carried).collect(),
                clauses: vec![RelationClause::Reads(reads)],
            }));
        } else if let Some(kind) = item.heads.iter().find_map(|head| head.kind.as_ref()) {
            self.report(
                Diagnostic::new(
                    kind.span,
                    "what a role holds is said where its relation is declared",
                    "said again here",
                )
                .help("leave out \"as …\", or give this meaning a `reads` line, which declares the relation"),
            );
        }
        let count = self.meanings.entry(item.name.text.clone()).or_default();
        *count += 1;
        let mut id = item.name;
        if *count > 1 {
            id.text = format!("{}.{count}", id.text);
        }
        let mut clauses = item.clauses;
        clauses.push(Clause::Hence(hence));
        self.finding(FindingItem { id, says: None, cites: item.cites, clauses, form: Form::Meaning });
    }

    fn refuse_figures(&mut self, clause: &Clause) {
        let mut figures = Vec::new();
        match clause {
            Clause::Let { value: LetValue::Formula(formula), .. } => self::figures(formula, &mut figures),
            Clause::Let { value: LetValue::Either(first, second), .. } => {
                self::figures(first, &mut figures);
                self::figures(second, &mut figures);
            }
            Clause::Where { condition: ConditionItem::Compare { left, right, .. }, .. } => {
                self::figures(left, &mut figures);
                self::figures(right, &mut figures);
            }
            _ => {}
        }
        for formula in figures {
            let ExpressionItem::Number { number, unit, span } = formula else { continue };
            let harmless = matches!((number.as_str(), unit.as_deref()), ("0" | "1", _) | ("100", Some("%")));
            if !harmless {
                let written = unit.as_ref().map_or(number.clone(), |unit| format!("{number} {unit}"));
                self.report(
                    Diagnostic::new(*span, format!("{written} in a meaning has no authority"), "a figure")
                        .help("give it a name under `values`, or make this a finding"),
                );
            }
        }
    }
}

fn figures<'t>(formula: &'t ExpressionItem, into: &mut Vec<&'t ExpressionItem>) {
    match formula {
        ExpressionItem::Number { .. } => into.push(formula),
        ExpressionItem::Variable(_) | ExpressionItem::Value(_) => {}
        ExpressionItem::Negated(inner) => figures(inner, into),
        ExpressionItem::Binary { left, right, .. } => {
            figures(left, into);
            figures(right, into);
        }
        ExpressionItem::Call { arguments, .. } => {
            arguments.iter().for_each(|argument| figures(argument, into));
        }
    }
}
