//! Rows of tables and curves: bare words cut into cells by the types of their columns.

use super::super::diagnostic::{Diagnostic, nearest};
use super::super::rulebook::*;
use super::super::source::Span;
use super::super::tree::*;
use super::checker::*;
use super::declarations::no_authority;
use crate::quantity::Unit;
use std::collections::HashMap;
use std::collections::hash_map::Entry;
use std::sync::Arc;

/// The word that stands for an empty cell.
const EMPTY: &str = ".";

impl Checker<'_> {
    /// Cells grouped by the line they stand on.
    pub(super) fn rows(&self, cells: &[Written]) -> Vec<Vec<Written>> {
        let mut rows: Vec<Vec<Written>> = Vec::new();
        let mut last: Option<Span> = None;
        for cell in cells {
            let same_line = last.is_some_and(|last| {
                let text = &self.sources.file(cell.span).text;
                !text[last.end as usize..cell.span.start as usize].contains('\n')
            });
            match rows.last_mut() {
                Some(row) if same_line => row.push(cell.clone()),
                _ => rows.push(vec![cell.clone()]),
            }
            last = Some(cell.span);
        }
        rows
    }

    /// A row for each word of a list, where a row has one: words of one column, joined by commas.
    fn written_out(&mut self, row: Vec<Written>) -> Vec<Vec<Written>> {
        let comma = |word: &Written| !word.quoted && word.text.ends_with(',');
        let Some(first) = row.iter().position(&comma) else { return vec![row] };
        let (mut list, mut at): (Vec<Written>, usize) = (Vec::new(), first);
        // A comma behind a text stands by itself.
        let begin = if row[first].text == "," && first > 0 { first - 1 } else { first };
        let mut more = true;
        at = begin.min(at);
        while let Some(word) = row.get(at).filter(|_| more) {
            let mut word = word.clone();
            more = comma(&word);
            if more {
                word.text.pop();
                word.span.end -= 1;
            }
            at += 1;
            if !more && row.get(at).is_some_and(|next| !next.quoted && next.text == ",") {
                at += 1;
                more = true;
            }
            if !word.text.is_empty() || word.quoted {
                list.push(word);
            }
        }
        if more {
            let last = &row[at - 1];
            self.report(Diagnostic::new(
                last.span,
                "a comma, and no further word on this line",
                "the list ends here",
            ));
        }
        if let Some(second) = row[at..].iter().find(|word| comma(word)) {
            let diagnostic = Diagnostic::new(
                second.span,
                "two lists in one row: which belongs to which?",
                "the second list",
            );
            self.report(diagnostic.help("write a row for each of the one"));
        }
        for (place, word) in list.iter().enumerate() {
            if list[..place].iter().any(|known| known.text == word.text) {
                let message = format!("\"{}\" stands twice in this list", word.text);
                self.report(Diagnostic::new(word.span, message, "again here"));
            }
        }
        let put = |word: Written| {
            let mut written = row[..begin].to_vec();
            written.push(word);
            written.extend_from_slice(&row[at..]);
            written
        };
        list.into_iter().map(put).collect()
    }

    /// One value a column; `None` in it stands for an empty cell. Reports what does not fit.
    pub(super) fn row_values(
        &mut self,
        row: &[Written],
        types: &[Type],
        units: &[Option<String>],
    ) -> Option<Vec<Option<Value>>> {
        let mut words = row.iter().peekable();
        let mut values = Vec::with_capacity(types.len());
        let mut sound = true;
        for (ty, unit) in types.iter().zip(units) {
            let Some(word) = words.next() else {
                self.report(Diagnostic::new(
                    row_span(row),
                    format!("this row ends early: {} of {} columns", values.len(), types.len()),
                    "too short",
                ));
                return None;
            };
            if !word.quoted && word.text == EMPTY {
                values.push(None);
                continue;
            }
            let mut cell = word.clone();
            if let Type::Number(dimension) | Type::Range(dimension) = ty {
                // The next word belongs to this cell where it is a unit: of the column's dimension, or, in a column
                // that must have a unit, of any, so that a wrong one is called wrong.
                let next = words.peek().filter(|next| {
                    let fits = Unit::for_dimension(&next.text, *dimension).is_some();
                    !next.quoted && (fits || (unit.is_none() && Unit::lookup(&next.text).is_some()))
                });
                let bare = cell.text.ends_with(|c: char| c.is_ascii_digit() || c == '.');
                if let (Some(next), true) = (next, bare) {
                    cell.text = format!("{} {}", cell.text, next.text);
                    cell.span.end = next.span.end;
                    words.next();
                } else if let (Some(unit), true) = (unit, bare) {
                    cell.text = format!("{} {unit}", cell.text);
                }
            }
            match self.constant(&cell, *ty) {
                Ok(value) => values.push(Some(value)),
                Err(diagnostic) => {
                    self.report(*diagnostic);
                    sound = false;
                }
            }
        }
        if let Some(extra) = words.next() {
            self.report(Diagnostic::new(
                extra.span,
                format!("this row is too long: the table has {} columns", types.len()),
                "one cell too many",
            ));
            return None;
        }
        sound.then_some(values)
    }

    pub(super) fn fill_table(&mut self, item: &TableItem) {
        let Some(relation) = self.known_relation(&item.name) else { return };
        let declared = self.relations[relation.index()].clone();
        if !matches!(declared.origin, Origin::Plain) {
            self.report(Diagnostic::new(
                item.name.span,
                format!("\"{}\" is not filled by a table", declared.name),
                if matches!(declared.origin, Origin::Question(_)) {
                    "the user answers it"
                } else {
                    "the program computes it"
                },
            ));
            return;
        }
        // A list is written out where its line is whole, so that cites find their rows by line.
        let lines = self.rows(&item.cells);
        let mut rows = Vec::with_capacity(lines.len());
        for line in lines {
            rows.extend(self.written_out(line));
        }
        // A cite on a row's own line is that row's; the others are the table's.
        let mut row_cites: Vec<Vec<Cite>> = vec![Vec::new(); rows.len()];
        let mut general = Vec::new();
        for cite in &item.cites {
            let text = &self.sources.file(cite.span).text;
            // There is nothing between them where the cite stands amid its row.
            let own = |row: &[Written]| {
                let start = row.iter().map(|word| word.span.start).min().unwrap_or(0);
                let between = text.get(row_span(row).end as usize..cite.span.start as usize);
                start < cite.span.start && between.is_none_or(|between| !between.contains('\n'))
            };
            let end = rows.partition_point(|row| row[0].span.start < cite.span.start);
            // All rows of a list are one line.
            let begin = rows[..end].iter().rposition(|row| !own(row)).map_or(0, |before| before + 1);
            if begin == end {
                general.push(cite.cite.clone());
            }
            row_cites[begin..end].iter_mut().for_each(|cites| cites.push(cite.cite.clone()));
        }
        let general: Arc<[Cite]> = general.into();
        if general.is_empty() && row_cites.iter().any(Vec::is_empty) {
            self.report(no_authority("table", &item.name));
        }

        let Some(columns) = self.columns(item, &declared) else { return };
        let (types, units): (Vec<Type>, Vec<Option<String>>) = columns
            .fixed
            .iter()
            .map(|(role, unit)| (declared.roles[*role].ty, unit.clone()))
            .chain(columns.spread.iter().flat_map(|spread| {
                spread.words.iter().map(|_| (declared.roles[spread.value].ty, spread.unit.clone()))
            }))
            .unzip();
        for (row, cites) in rows.iter().zip(row_cites) {
            let Some(values) = self.row_values(row, &types, &units) else { continue };
            let cites: Arc<[Cite]> = if cites.is_empty() { general.clone() } else { cites.into() };
            let span = row_span(row);
            let mut base: Vec<Option<Value>> = vec![None; declared.roles.len()];
            for (role, value) in &columns.throughout {
                base[*role] = Some(value.clone());
            }
            for ((role, _), value) in columns.fixed.iter().zip(&values) {
                base[*role] = value.clone();
            }
            let add = |checker: &mut Self, cells: Vec<Option<Value>>| {
                if let Some(cells) = cells.into_iter().collect::<Option<Vec<Value>>>() {
                    checker.facts.push(TableFact { relation, cells, cites: cites.clone(), span });
                } else if columns.spread.is_none() {
                    checker.report(Diagnostic::new(
                        span,
                        "an empty cell can stand only under \"across\"",
                        "a value is missing in this row",
                    ));
                }
            };
            match &columns.spread {
                None => add(self, base),
                Some(spread) => {
                    for (word, value) in spread.words.iter().zip(&values[columns.fixed.len()..]) {
                        if value.is_some() {
                            let mut cells = base.clone();
                            cells[spread.role] = Some(word.clone());
                            cells[spread.value] = value.clone();
                            add(self, cells);
                        }
                    }
                }
            }
        }
    }

    /// Rows of one relation that repeat each other, or contradict each other where the relation has a key.
    pub(super) fn repeated_rows(&mut self) {
        let mut first: HashMap<(RelationId, usize, Vec<String>), usize> = HashMap::new();
        let mut found: Vec<(usize, usize, Option<Vec<usize>>)> = Vec::new();
        for (index, fact) in self.facts.iter().enumerate() {
            let keys = &self.relations[fact.relation.index()].once;
            let all: Vec<usize> = (0..fact.cells.len()).collect();
            for (number, key) in std::iter::once(&all).chain(keys).enumerate() {
                let cells = key.iter().map(|role| fact.cells[*role].to_string()).collect();
                match first.entry((fact.relation, number, cells)) {
                    Entry::Vacant(vacant) => drop(vacant.insert(index)),
                    Entry::Occupied(occupied) => {
                        found.push((*occupied.get(), index, (number > 0).then(|| key.clone())));
                        break;
                    }
                }
            }
        }
        for (first, again, key) in found {
            let (first, again) = (&self.facts[first], &self.facts[again]);
            let relation = &self.relations[again.relation.index()];
            let (message, label) = match key {
                None => (format!("this row of \"{}\" is there already", relation.name), "again here"),
                Some(key) => {
                    let roles: Vec<&str> =
                        key.iter().map(|role| relation.roles[*role].name.as_str()).collect();
                    let roles = roles.join(" and ");
                    let message =
                        format!("\"{}\" holds one row for each {roles}, and here are two", relation.name);
                    (message, "the second one")
                }
            };
            let diagnostic = Diagnostic::new(again.span, message, label)
                .also(first.span, "first here")
                .help("leave one of them out");
            self.report(diagnostic);
        }
    }

    /// Which columns a table has: the fixed ones, and where a role is laid out across, the spread ones.
    fn columns(&mut self, item: &TableItem, declared: &Relation) -> Option<Columns> {
        let mut units = vec![None; declared.roles.len()];
        for (role, unit) in &item.units {
            match declared.roles.iter().position(|known| known.name == role.text) {
                Some(index) => units[index] = Some(unit.text.clone()),
                None => self.unknown_role(role, declared),
            }
        }
        let mut throughout = Vec::new();
        for (role, word) in &item.throughout {
            let Some(index) = declared.roles.iter().position(|known| known.name == role.text) else {
                self.unknown_role(role, declared);
                continue;
            };
            match self.constant(word, declared.roles[index].ty) {
                Ok(value) => throughout.push((index, value)),
                Err(diagnostic) => self.report(*diagnostic),
            }
        }
        let same = |role: usize| throughout.iter().any(|(known, _)| *known == role);
        let Some((role, words)) = &item.across else {
            let fixed = units.into_iter().enumerate().filter(|(role, _)| !same(*role)).collect();
            return Some(Columns { fixed, throughout, spread: None });
        };
        let Some(spread_role) = declared.roles.iter().position(|known| known.name == role.text) else {
            self.unknown_role(role, declared);
            return None;
        };
        let value = declared.roles.len() - 1;
        if value == spread_role || declared.roles.len() < 2 {
            self.report(Diagnostic::new(
                role.span,
                "the last role holds the cells; another one is laid out across",
                "not this one",
            ));
            return None;
        }
        let mut spread_words = Vec::new();
        for word in words {
            match self.constant(word, declared.roles[spread_role].ty) {
                Ok(word) => spread_words.push(word),
                Err(diagnostic) => self.report(*diagnostic),
            }
        }
        let unit = units[value].take();
        let fixed = units
            .into_iter()
            .enumerate()
            .filter(|(index, _)| *index != spread_role && *index != value && !same(*index))
            .collect();
        Some(Columns {
            fixed,
            throughout,
            spread: Some(SpreadTable { role: spread_role, words: spread_words, value, unit }),
        })
    }

    pub(super) fn unknown_role(&mut self, role: &Written, relation: &Relation) {
        let roles = || relation.roles.iter().map(|known| known.name.as_str());
        let mut diagnostic = Diagnostic::new(
            role.span,
            format!("\"{}\" has no role \"{}\"", relation.name, role.text),
            format!("its roles are: {}", roles().collect::<Vec<_>>().join(", ")),
        );
        if let Some(near) = nearest(&role.text, roles()) {
            diagnostic = diagnostic.help(format!("did you mean \"{near}\"?"));
        }
        self.report(diagnostic);
    }
}

struct Columns {
    /// Role index and the unit of bare numbers.
    fixed: Vec<(usize, Option<String>)>,
    /// Roles that hold the same in every row.
    throughout: Vec<(usize, Value)>,
    spread: Option<SpreadTable>,
}

struct SpreadTable {
    role: usize,
    words: Vec<Value>,
    value: usize,
    unit: Option<String>,
}

fn row_span(row: &[Written]) -> Span {
    Span { end: row[row.len() - 1].span.end, ..row[0].span }
}
