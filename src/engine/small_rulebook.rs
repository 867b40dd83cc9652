//! Rulebooks for tests and benchmarks, built from a few words a line without the language's reader. Not part of the
//! library: the tests and the benchmark outside include this file by its path.

use super::GivenFact;
use super::language::*;
use super::quantity::{Dimension, Quantity, Unit};

/// A rulebook in the making.
pub struct SmallRulebook {
    /// The rulebook so far.
    pub rulebook: Rulebook,
}

impl SmallRulebook {
    /// Relations from lines such as `edge name name`; the types are `name`, `ratio`, `temperature` and `turn`, a ratio that counts the
    /// relation's turns. A question is
    /// `? name-of-question types… : subject 0 1`, one that may be left out begins with `??`, a computed relation `= name types… : input input`.
    pub fn new(relations: &[&str]) -> Self {
        let mut small = SmallRulebook { rulebook: Rulebook::default() };
        relations.iter().for_each(|line| small.relation(line));
        small
    }

    fn relation(&mut self, line: &str) {
        let (declared, rest) = line.split_once(':').unwrap_or((line, ""));
        let mut words = declared.split_whitespace().peekable();
        let mark = words.next_if(|word| ["?", "??", "="].contains(word));
        let name = words.next().expect("a relation has a name").to_owned();
        let roles = words.map(|word| {
            let ty = match word {
                "ratio" | "turn" => Type::Number(Dimension::RATIO),
                "temperature" => Type::Number(Dimension::TEMPERATURE),
                _ => Type::Name,
            };
            Role { name: word.to_owned(), ty, listed: None }
        });
        let roles: Vec<Role> = roles.collect();
        let mut others = rest.split_whitespace();
        let origin = match mark {
            None => Origin::Plain,
            Some("?" | "??") => Origin::Question(Question {
                asks: Template::default(),
                subject: self.id(others.next().expect("a question has a subject")),
                filled_by: others.map(|role| role.parse().expect("a role's number")).collect(),
                path: name.clone(),
                left_out: (mark == Some("??")).then(|| "nothing is taken instead".to_owned()),
                takes: None,
            }),
            Some(_) => Origin::Computed { from: others.map(|input| self.id(input)).collect() },
        };
        let (turn, once) = (roles.iter().position(|role: &Role| role.name == "turn"), Vec::new());
        let (span, reads) = (Span::default(), None);
        self.rulebook.relations.push(Relation {
            name,
            roles,
            origin,
            reads,
            cites: vec![],
            once,
            turn,
            span,
        });
    }

    /// The relation of that name.
    pub fn id(&self, name: &str) -> RelationId {
        self.rulebook.relation(name).unwrap_or_else(|| panic!("no relation {name}"))
    }

    /// A fact such as `edge a b`, as the caller would give it.
    pub fn given(&self, line: &str) -> GivenFact {
        let mut words = line.split_whitespace();
        let relation = self.id(words.next().expect("a fact has a relation"));
        GivenFact { relation, cells: words.map(value).collect() }
    }

    /// Adds a fact to the tables.
    pub fn fact(&mut self, line: &str) {
        let GivenFact { relation, cells } = self.given(line);
        let span = Span::default();
        self.rulebook.facts.push(TableFact { relation, cells, cites: [].into(), span });
    }

    /// A pattern of constants and `_`.
    pub fn pattern(&self, line: &str) -> Pattern {
        self.terms(line.split_whitespace(), &mut Vec::new())
    }

    /// Adds a finding from lines such as `given edge X Y`, `unless edge Y X`, `where X > 3`, `where X is a b`,
    /// `where X not a b`, `let N = X + Y`, `let N = least X of p _ X` and `hence path X Y`. Variables begin with a capital letter.
    pub fn finding(&mut self, id: &str, lines: &[&str]) {
        let mut variables = Vec::new();
        let (mut premises, mut hence) = (Vec::new(), Vec::new());
        for line in lines {
            let (kind, rest) = line.split_once(' ').expect("a line has a first word");
            let words: Vec<&str> = rest.split_whitespace().collect();
            match kind {
                "hence" => hence.push(self.terms(words.into_iter(), &mut variables)),
                "given" => premises.push(Premise::Given(self.terms(words.into_iter(), &mut variables))),
                "unless" => premises.push(Premise::Unless(self.terms(words.into_iter(), &mut variables))),
                "where" => premises.push(condition(&words, &mut variables)),
                _ => premises.push(self.computation(&words, &mut variables)),
            }
        }
        let variables = variables.into_iter().map(|name| Variable { name, ty: Type::Name }).collect();
        self.rulebook.findings.push(Finding {
            id: id.to_owned(),
            says: None,
            cites: vec![],
            variables,
            premises,
            hence,
            meaning: false,
            span: Span::default(),
        });
    }

    fn terms<'w>(&self, mut words: impl Iterator<Item = &'w str>, variables: &mut Vec<String>) -> Pattern {
        let relation = self.id(words.next().expect("a pattern has a relation"));
        Pattern { relation, terms: words.map(|word| term(word, variables)).collect(), span: Span::default() }
    }

    fn computation(&self, words: &[&str], variables: &mut Vec<String>) -> Premise {
        let span = Span::default();
        match words {
            [name, "=", how @ ("least" | "greatest" | "sum"), over, "of", members @ ..] => {
                Premise::Aggregate {
                    variable: variable(name, variables),
                    how: match *how {
                        "least" => Aggregate::Least,
                        "greatest" => Aggregate::Greatest,
                        _ => Aggregate::Sum,
                    },
                    over: Some(variable(over, variables)),
                    members: self.terms(members.iter().copied(), variables),
                    span,
                }
            }
            [name, "=", "count", "of", members @ ..] => Premise::Aggregate {
                variable: variable(name, variables),
                how: Aggregate::Count,
                over: None,
                members: self.terms(members.iter().copied(), variables),
                span,
            },
            [name, "=", left, operator, right] => Premise::Let {
                formula: Expression::Binary(
                    match *operator {
                        "+" => Operator::Plus,
                        "-" => Operator::Minus,
                        "*" => Operator::Times,
                        _ => Operator::Over,
                    },
                    Box::new(operand(left, variables)),
                    Box::new(operand(right, variables)),
                ),
                value: None,
                variable: variable(name, variables),
                span,
            },
            _ => panic!("not a computation: {words:?}"),
        }
    }
}

fn condition(words: &[&str], variables: &mut Vec<String>) -> Premise {
    let span = Span::default();
    let [left, comparison, right @ ..] = words else { panic!("not a condition: {words:?}") };
    if ["is", "not"].contains(comparison) {
        let left = term(left, variables);
        let among = right.iter().map(|word| term(word, variables)).collect();
        return Premise::Where {
            condition: Condition::Among { left, among, negated: *comparison == "not" },
            span,
        };
    }
    let comparison = match *comparison {
        "<" => Comparison::Less,
        "<=" => Comparison::AtMost,
        ">" => Comparison::More,
        ">=" => Comparison::AtLeast,
        "=" => Comparison::Equal,
        _ => Comparison::Unequal,
    };
    let (left, right) = (operand(left, variables), operand(right[0], variables));
    Premise::Where { condition: Condition::Compare { left, comparison, right }, span }
}

fn variable(word: &str, variables: &mut Vec<String>) -> VariableId {
    let at = variables.iter().position(|known| known == word).unwrap_or_else(|| {
        variables.push(word.to_owned());
        variables.len() - 1
    });
    VariableId::new(at)
}

fn term(word: &str, variables: &mut Vec<String>) -> Term {
    match word {
        "_" => Term::Any,
        _ if word.starts_with(|c: char| c.is_ascii_uppercase()) => Term::Variable(variable(word, variables)),
        _ => Term::Constant(value(word)),
    }
}

fn operand(word: &str, variables: &mut Vec<String>) -> Expression {
    match term(word, variables) {
        Term::Variable(variable) => Expression::Variable(variable),
        Term::Constant(Value::Number(quantity)) => Expression::Constant(quantity),
        _ => panic!("not an operand: {word}"),
    }
}

fn value(word: &str) -> Value {
    let in_unit = |suffix: &str, unit: Unit| {
        let number: f64 = word.strip_suffix(suffix)?.parse().ok()?;
        Some(Quantity::new(number, unit))
    };
    in_unit("°C", Unit::CELSIUS)
        .or_else(|| in_unit("°F", Unit::FAHRENHEIT))
        .or_else(|| word.parse().ok().map(Quantity::number))
        .map_or_else(|| Value::Symbol(word.into()), Value::Number)
}
