//! The recorded facts, read into the checker's own numbering and found by their cells. Whether they are rightly there is
//! decided elsewhere.

use super::effort::Effort;
use super::problem::Problems;
use super::shapes::{Shape, Slot};
use super::terms::{Term, Terms};
use crate::engine::Cell;
use crate::language::{RelationId, Rulebook, Type, Value, compare_cells};
use crate::quantity::Quantity;
use crate::record::{Record, RecordedFact, RecordedRelation};
use crate::verdict::row_sentence;
use std::cmp::Ordering;
use std::collections::HashMap;

/// A fact. `None` is a cell that is not known.
pub(super) struct Fact {
    pub relation: RelationId,
    pub cells: Vec<Option<Term>>,
    pub open: bool,
}

/// Where the facts of a relation with some value in some column are.
#[derive(Default, Clone)]
struct Column {
    by_term: HashMap<Term, Vec<usize>>,
    unknown: Vec<usize>,
}

/// Every recorded fact, by number.
pub(super) struct Facts<'r> {
    pub rulebook: &'r Rulebook,
    pub all: Vec<Fact>,
    /// For each relation, its facts and its columns.
    of: Vec<(std::ops::Range<usize>, Vec<Column>)>,
    whole: Vec<HashMap<Vec<Option<Term>>, usize>>,
    /// What the search among them has cost.
    pub effort: Effort,
}

impl<'r> Facts<'r> {
    /// Reads the facts. What does not fit the rulebook is found, and then nothing further can be checked.
    pub fn read(rulebook: &'r Rulebook, record: &Record, terms: &mut Terms, problems: &mut Problems) -> Self {
        let of =
            rulebook.relations.iter().map(|relation| (0..0, vec![Column::default(); relation.roles.len()]));
        let whole = vec![HashMap::new(); rulebook.relations.len()];
        let mut facts =
            Facts { rulebook, all: Vec::new(), of: of.collect(), whole, effort: Effort::default() };
        let mut texts = HashMap::new();
        for (number, text) in record.texts.iter().enumerate() {
            if let Some(earlier) = texts.insert(text, number) {
                problems.report(format!("text {number}"), "each text once", format!("text {earlier} again"));
            }
        }
        let mut last = None;
        for recorded in &record.facts {
            let Some(relation) = rulebook.relation(&recorded.relation) else {
                problems.report(
                    format!("the facts of \"{}\"", recorded.relation),
                    "a relation of the recorded rulebook",
                    "none of that name",
                );
                continue;
            };
            if last.is_some_and(|last| last >= relation) {
                let about = format!("the facts of {}", recorded.relation);
                problems.report(about, "each relation once, in the order of the rulebook", "out of order");
            }
            last = Some(relation);
            facts.relation(relation, recorded, &record.texts, terms, problems);
        }
        facts
    }

    fn relation(
        &mut self,
        relation: RelationId,
        recorded: &RecordedRelation,
        texts: &[String],
        terms: &mut Terms,
        problems: &mut Problems,
    ) {
        let first = self.all.len();
        if recorded.first != first {
            let about = format!("the number of the first fact of {}", recorded.relation);
            problems.report(about, first.to_string(), recorded.first.to_string());
        }
        let known = recorded.known.iter().map(|fact| (fact, false));
        let open = recorded.open.iter().map(|fact| (fact, true));
        for (fact, open) in known.chain(open) {
            let number = self.all.len();
            let cells = self.cells(relation, (number, fact), texts, terms, problems);
            for (column, cell) in self.of[relation.index()].1.iter_mut().zip(&cells) {
                match cell {
                    Some(term) => column.by_term.entry(*term).or_default().push(number),
                    None => column.unknown.push(number),
                }
            }
            self.all.push(Fact { relation, cells: cells.clone(), open });
            if !open && cells.contains(&None) {
                problems.report(self.named(number, terms), "every cell of a known fact", "an unknown one");
            }
            if let Some(earlier) = self.whole[relation.index()].insert(cells, number) {
                problems.report(self.named(number, terms), "each fact once", format!("fact {earlier} again"));
            }
        }
        self.of[relation.index()].0 = first..self.all.len();
    }

    fn cells(
        &self,
        relation: RelationId,
        (number, fact): (usize, &RecordedFact),
        texts: &[String],
        terms: &mut Terms,
        problems: &mut Problems,
    ) -> Vec<Option<Term>> {
        let declared = &self.rulebook.relations[relation.index()];
        let about = || format!("fact {number} of {}", declared.name);
        if fact.cells.len() != declared.roles.len() {
            let found = format!("{} cells", fact.cells.len());
            problems.report(about(), format!("{} cells", declared.roles.len()), found);
        }
        declared
            .roles
            .iter()
            .zip(&fact.cells)
            .map(|(role, cell)| match cell.read(role.ty, texts) {
                Some(Cell::Unknown) => None,
                Some(Cell::Value(value)) => {
                    let term = terms.term(&value);
                    if !same_units(terms.value(term), &value) {
                        let expected = format!("{}, in the units of the job", terms.value(term));
                        problems.report(format!("{}, {}", about(), role.name), expected, value.to_string());
                    }
                    Some(term)
                }
                None => {
                    let found = serde_json::to_string(cell).unwrap_or_default();
                    problems.report(format!("{}, {}", about(), role.name), self.described(role.ty), found);
                    None
                }
            })
            .collect()
    }

    fn described(&self, ty: Type) -> String {
        match ty {
            Type::Name | Type::Text => "a text".to_owned(),
            Type::Word(kind) => format!("a word of {}", self.rulebook.kinds[kind.index()].name),
            Type::Number(dimension) => format!("a number, a {dimension}"),
            Type::Range(dimension) => format!("a range, of {dimension}"),
        }
    }

    /// The facts of a relation.
    pub fn of(&self, relation: RelationId) -> std::ops::Range<usize> {
        self.of[relation.index()].0.clone()
    }

    /// The facts of a relation with a value in a column, ascending.
    pub fn with_cell(&self, relation: RelationId, column: usize, term: Term) -> &[usize] {
        let column = self.of[relation.index()].1.get(column);
        column.and_then(|column| column.by_term.get(&term)).map_or(&[], Vec::as_slice)
    }

    /// The fact with exactly these cells.
    pub fn with(&self, relation: RelationId, cells: &[Option<Term>]) -> Option<usize> {
        self.whole[relation.index()].get(cells).copied()
    }

    /// Which of two facts of a relation comes first, by their cells.
    pub fn compare(&self, one: usize, other: usize, terms: &Terms) -> Ordering {
        let value = |cell: &Option<Term>| cell.map(|term| terms.value(term));
        let pairs = self.all[one].cells.iter().zip(&self.all[other].cells);
        let mut orders = pairs.map(|(one, other)| compare_cells(value(one), value(other)));
        orders.find(|order| order.is_ne()).unwrap_or(Ordering::Equal)
    }

    /// Cells as a fact of a relation would be written.
    pub fn written(&self, relation: RelationId, cells: &[Option<Term>], terms: &Terms) -> String {
        let cell =
            |cell: &Option<Term>| cell.map_or("not known".to_owned(), |term| terms.value(term).to_string());
        let cells: Vec<String> = cells.iter().map(cell).collect();
        format!("{}({})", self.rulebook.relations[relation.index()].name, cells.join(", "))
    }

    /// Facts among which are all that can match a shape, ascending: those that agree in one column.
    pub fn candidates(&self, shape: &Shape, bindings: &[Option<Term>]) -> Vec<usize> {
        let (all, columns) = &self.of[shape.relation.index()];
        let narrow = shape.slots.iter().zip(columns).filter_map(|(slot, column)| {
            let term = match slot {
                Slot::Constant(term) => *term,
                Slot::Variable(variable) => bindings[*variable]?,
                Slot::Any | Slot::Same(_) => return None,
            };
            Some((column.by_term.get(&term).map_or(&[][..], Vec::as_slice), &column.unknown[..]))
        });
        let narrowest = narrow.min_by_key(|(exact, unknown)| exact.len() + unknown.len());
        let many = narrowest.map_or(all.len(), |(exact, unknown)| exact.len() + unknown.len());
        if !self.effort.spend(many) {
            return Vec::new();
        }
        match narrowest {
            None => all.clone().collect(),
            Some((exact, [])) => exact.to_vec(),
            Some((exact, unknown)) => {
                let mut both = [exact, unknown].concat();
                both.sort_unstable();
                both
            }
        }
    }

    /// The facts that match a shape, ascending, each with whether it does for sure. A value that is not known, on either
    /// side, matches perhaps; so does an open fact.
    pub fn matching(&self, shape: &Shape, bindings: &[Option<Term>]) -> Vec<(usize, bool)> {
        let candidates = self.candidates(shape, bindings).into_iter();
        candidates
            .filter_map(|number| {
                let fact = &self.all[number];
                let mut sure = !fact.open;
                for (slot, cell) in shape.slots.iter().zip(&fact.cells) {
                    let wanted = match slot {
                        Slot::Any => continue,
                        Slot::Constant(term) => Some(*term),
                        Slot::Variable(variable) => bindings[*variable],
                        Slot::Same(column) => fact.cells[*column],
                    };
                    match (wanted, cell) {
                        (Some(wanted), Some(cell)) if wanted != *cell => return None,
                        (Some(_), Some(_)) => {}
                        _ => sure = false,
                    }
                }
                Some((number, sure))
            })
            .collect()
    }

    /// A fact's cells as the engine and sentences have them.
    pub fn shown(&self, number: usize, terms: &Terms) -> Vec<Cell> {
        let cells = self.all[number].cells.iter();
        cells.map(|cell| cell.map_or(Cell::Unknown, |term| Cell::Value(terms.value(term).clone()))).collect()
    }

    /// A fact by its number and in words.
    pub fn named(&self, number: usize, terms: &Terms) -> String {
        let Some(fact) = self.all.get(number) else { return format!("fact {number}") };
        let relation = &self.rulebook.relations[fact.relation.index()];
        let cells: Vec<Option<Cell>> = self.shown(number, terms).into_iter().map(Some).collect();
        if cells.len() != relation.roles.len() {
            return format!("fact {number} of {}", relation.name);
        }
        format!("fact {number}, \"{}\"", row_sentence(relation, &cells))
    }
}

/// Whether two equal values are shown in the same units.
pub(super) fn same_units(left: &Value, right: &Value) -> bool {
    let same = |left: &Quantity, right: &Quantity| left.shown_unit() == right.shown_unit();
    match (left, right) {
        (Value::Number(left), Value::Number(right)) => same(left, right),
        (Value::Range(left), Value::Range(right)) => {
            [(left.lowest, right.lowest), (left.highest, right.highest)].iter().all(|pair| match pair {
                (Some(left), Some(right)) => same(left, right),
                _ => true,
            })
        }
        _ => true,
    }
}

#[cfg(test)]
mod tests {
    use super::super::small_record::{record, rules, symbol};
    use super::*;
    use crate::record::{RecordedCell, RecordedNumber};

    const RULES: &str = "relation p(x: name, y: name, n: length)\n";

    fn fact(x: &str, y: Option<&str>, n: RecordedNumber) -> RecordedFact {
        let y = y.map_or(RecordedCell::Unknown, symbol);
        let cells = vec![symbol(x), y, RecordedCell::Number(n)];
        RecordedFact { cells, by: Vec::new() }
    }

    fn metres(base: f64) -> RecordedNumber {
        RecordedNumber::Plain(base)
    }

    #[test]
    fn open_facts_and_unknown_cells_match_perhaps() {
        let rulebook = rules(RULES);
        let known = vec![fact("a", Some("a"), metres(1.0)), fact("a", Some("b"), metres(1.0))];
        let open = vec![fact("a", None, metres(2.0)), fact("b", Some("b"), metres(1.0))];
        let (mut terms, mut problems) = (Terms::default(), Problems::default());
        let facts = Facts::read(&rulebook, &record([("p", known, open)]), &mut terms, &mut problems);
        assert_eq!(problems.all, []);
        let [a, b] = ["a", "b"].map(|name| terms.term(&Value::Symbol(name.into())));
        let matching = |slots: [Slot; 3], bindings: &[Option<Term>]| {
            facts.matching(&Shape { relation: RelationId(0), slots: slots.to_vec() }, bindings)
        };
        let any = Slot::Any;
        assert_eq!(matching([any, Slot::Constant(b), any], &[]), [(1, true), (2, false), (3, false)]);
        assert_eq!(matching([Slot::Variable(0), any, any], &[Some(a)]), [(0, true), (1, true), (2, false)]);
        let unknown = matching([any, Slot::Variable(0), any], &[None]);
        assert_eq!(unknown, [(0, false), (1, false), (2, false), (3, false)]);
        assert_eq!(matching([any, Slot::Same(0), any], &[]), [(0, true), (2, false), (3, false)]);
        let length = terms.term(&Value::Number(Quantity::from_base(1.0, crate::quantity::Dimension::LENGTH)));
        assert_eq!(
            facts.matching(
                &Shape { relation: RelationId(0), slots: vec![any, any, Slot::Constant(length)] },
                &[]
            ),
            [(0, true), (1, true), (3, false)]
        );
        assert_eq!(facts.with(RelationId(0), &[Some(a), Some(b), Some(length)]), Some(1));
    }

    #[test]
    fn what_does_not_fit_its_relation_is_reported() {
        let rulebook = rules(RULES);
        let found = |known: Vec<RecordedFact>| {
            let mut problems = Problems::default();
            Facts::read(&rulebook, &record([("p", known, Vec::new())]), &mut Terms::default(), &mut problems);
            problems.all.into_iter().map(|problem| problem.found).collect::<Vec<_>>()
        };
        let shown = |unit: &str| RecordedNumber::Shown(1.0, unit.to_owned());
        assert_eq!(found(vec![fact("a", Some("b"), shown("mm"))]), [""; 0]);
        assert_eq!(found(vec![fact("a", Some("b"), shown("in"))]), ["39.37 in"], "the job writes no inches");
        assert_eq!(found(vec![fact("a", Some("b"), shown("kg"))])[0], "[1.0,\"kg\"]");
        assert_eq!(found(vec![fact("a", Some("b"), shown("inch"))])[0], "[1.0,\"inch\"]");
        assert_eq!(found(vec![fact("a", None, metres(1.0))]), ["an unknown one"]);
        let twice = || fact("a", Some("b"), metres(1.0));
        assert_eq!(found(vec![twice(), twice()]), ["fact 0 again"]);
    }
}
