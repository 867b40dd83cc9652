//! Relations that the program computes: what a computation is given, what it gives back, and how it explains a row.
//! When it runs is decided in `run.rs`.

use super::memory::Memory;
use super::rows::Rows;
use super::terms::{Cell, TermId, TermPool, Terms, UNKNOWN};
use crate::language::{Cite, RelationId, Value};
use crate::quantity::{Interval, Quantity};

/// What computes a relation.
#[derive(Clone, Copy, Debug)]
pub struct Computation {
    /// The relation's name.
    pub relation: &'static str,
    /// Makes its rows, once all inputs are complete.
    pub run: fn(&Inputs<'_>, &mut Outputs<'_>),
    /// Explains one row, from the input rows it was computed from and its own cells.
    pub working: fn(&[InputRow], &[Cell], &Memory) -> Working,
}

/// A row that went into a computation: the number of its input, and its cells.
pub type InputRow = (usize, Vec<Cell>);

/// How a value was computed.
#[derive(Clone, Debug, PartialEq)]
pub struct Working {
    /// The method, in a few words.
    pub method: String,
    /// Its authorities.
    pub cites: Vec<Cite>,
    /// The steps, values put in.
    pub steps: Vec<String>,
}

/// The rows of the relations that a relation is computed from, numbered in declared order.
pub struct Inputs<'a> {
    pub(super) pool: &'a TermPool,
    pub(super) relations: Vec<&'a Rows>,
    pub(super) memory: &'a Memory,
}

impl Inputs<'_> {
    /// What computations keep between runs.
    pub fn memory(&self) -> &Memory {
        self.memory
    }

    /// How many inputs.
    pub fn len(&self) -> usize {
        self.relations.len()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.relations.is_empty()
    }

    /// How many rows an input has.
    pub fn rows(&self, input: usize) -> usize {
        self.relations[input].count() as usize
    }

    /// The term in a role of a row.
    pub fn term(&self, input: usize, row: usize, role: usize) -> TermId {
        TermId(self.relations[input].cell(row as u32, role))
    }

    /// The value of a term; `None` where it is unknown.
    pub fn value(&self, term: TermId) -> Option<&Value> {
        self.pool.value(term.0)
    }

    /// Whether a row is open.
    pub fn is_open(&self, input: usize, row: usize) -> bool {
        !self.relations[input].is_known(row as u32)
    }
}

/// A cell of a computed row.
#[derive(Clone, Copy, Debug)]
pub enum OutputCell<'t> {
    /// A term of an input.
    Term(TermId),
    /// A quantity.
    Quantity(Quantity),
    /// A range.
    Interval(Interval),
    /// A name or word.
    Symbol(&'t str),
    /// A value that hangs on an unanswered question.
    Unknown,
}

/// Where a computation puts its rows.
pub struct Outputs<'a> {
    pub(super) inputs: &'a [&'a Rows],
    pub(super) arity: usize,
    pub(super) rows: Vec<OutputRow>,
    pub(super) misshapen: bool,
}

/// A computed row before its values are interned.
pub(super) struct OutputRow {
    cells: Vec<Result<u32, Value>>,
    pub(super) premises: Vec<u32>,
    pub(super) known: bool,
}

impl Outputs<'_> {
    /// Adds a row with the rows it was computed from, as pairs of input and row. The row is open where one of them is,
    /// or where a cell is unknown. A row with a number that is not finite has no value and is left out.
    pub fn push(&mut self, cells: &[OutputCell<'_>], premises: &[(usize, usize)]) {
        let exists = |(input, row): &(usize, usize)| {
            self.inputs.get(*input).is_some_and(|rows| *row < rows.count() as usize)
        };
        if cells.len() != self.arity || !premises.iter().all(exists) {
            self.misshapen = true;
            return;
        }
        let finite = |quantity: &Quantity| quantity.base.is_finite();
        let has_value = cells.iter().all(|cell| match cell {
            OutputCell::Quantity(quantity) => finite(quantity),
            OutputCell::Interval(range) => [&range.lowest, &range.highest].into_iter().flatten().all(finite),
            OutputCell::Term(_) | OutputCell::Symbol(_) | OutputCell::Unknown => true,
        });
        if !has_value {
            return;
        }
        let mut known = premises.iter().all(|(input, row)| self.inputs[*input].is_known(*row as u32));
        let mut row = Vec::with_capacity(cells.len());
        for cell in cells {
            row.push(match cell {
                OutputCell::Term(term) => Ok(term.0),
                OutputCell::Quantity(quantity) => Err(Value::Number(*quantity)),
                OutputCell::Interval(range) => Err(Value::Range(*range)),
                OutputCell::Symbol(text) => Err(Value::Symbol((*text).into())),
                OutputCell::Unknown => Ok(UNKNOWN),
            });
            known &= !matches!(row.last(), Some(Ok(UNKNOWN)));
        }
        let premises = premises.iter().flat_map(|(input, row)| [*input as u32, *row as u32]).collect();
        self.rows.push(OutputRow { cells: row, premises, known });
    }
}

impl OutputRow {
    /// The row's terms.
    pub(super) fn intern(&self, pool: &mut TermPool) -> Vec<u32> {
        self.cells
            .iter()
            .map(|cell| cell.as_ref().copied().unwrap_or_else(|value| pool.intern(value)))
            .collect()
    }
}

/// The rows of an input, for a computation that is run by itself: the known ones, and behind them the open ones.
#[derive(Clone, Debug, Default)]
pub struct InputRows {
    /// Every row, each once.
    pub rows: Vec<Vec<Cell>>,
    /// How many of them are known.
    pub known: usize,
}

/// A row that a computation gives.
#[derive(Clone, Debug, PartialEq)]
pub struct ComputedRow {
    /// Its cells.
    pub cells: Vec<Cell>,
    /// What it was computed from, as pairs of input and row.
    pub premises: Vec<(usize, usize)>,
    /// Whether it is known.
    pub known: bool,
}

impl Computation {
    /// Runs the computation by itself, for a caller that holds the rows of its inputs: every row it gives, of so many
    /// roles, or `None` where one does not fit.
    pub fn rows(&self, roles: usize, inputs: &[InputRows], memory: &Memory) -> Option<Vec<ComputedRow>> {
        let mut pool = TermPool::default();
        let mut relations = Vec::new();
        for input in inputs {
            let mut rows = Rows::new(input.rows.first().map_or(0, Vec::len), &[]);
            for (at, row) in input.rows.iter().enumerate() {
                let term = |cell: &Cell| cell.value().map_or(UNKNOWN, |value| pool.intern(value));
                let cells: Vec<u32> = row.iter().map(term).collect();
                rows.insert(cells, at < input.known);
            }
            relations.push(rows);
        }
        let inputs = Inputs { pool: &pool, relations: relations.iter().collect(), memory };
        let mut outputs =
            Outputs { inputs: &inputs.relations, arity: roles, rows: Vec::new(), misshapen: false };
        (self.run)(&inputs, &mut outputs);
        let cell = |cell: &Result<u32, Value>| match cell {
            Ok(term) => pool.value(*term).map_or(Cell::Unknown, |value| Cell::Value(value.clone())),
            Err(value) => Cell::Value(value.clone()),
        };
        let computed = |row: &OutputRow| ComputedRow {
            cells: row.cells.iter().map(cell).collect(),
            premises: row.premises.chunks_exact(2).map(|pair| (pair[0] as usize, pair[1] as usize)).collect(),
            known: row.known,
        };
        (!outputs.misshapen).then(|| outputs.rows.iter().map(computed).collect())
    }
}

/// Runs a computation and gives its rows, or `None` where one did not fit.
pub(super) fn compute(
    computation: &Computation,
    arity: usize,
    from: &[RelationId],
    pool: &TermPool,
    rows: &[Rows],
    memory: &Memory,
) -> Option<Vec<OutputRow>> {
    let relations = from.iter().map(|relation| &rows[relation.index()]).collect();
    let inputs = Inputs { pool, relations, memory };
    let mut outputs = Outputs { inputs: &inputs.relations, arity, rows: Vec::new(), misshapen: false };
    (computation.run)(&inputs, &mut outputs);
    (!outputs.misshapen).then_some(outputs.rows)
}
