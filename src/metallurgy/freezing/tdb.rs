//! Reader for the part of the open TDB syntax that freezing needs. Formulas are in `formula`, splitting in `statement`.

use super::database::{Database, DatabaseError, Element, Parameter, Phase};
use super::expression::{Basis, CompiledExpression};
use super::functions::{Functions, Ranges};
use super::statement::{Statement, Statements};
use std::collections::{HashMap, HashSet};

/// The data file built into the program; its own comments give the source of every figure.
pub const ALUMINIUM: &str = include_str!("../../../rules/freezing/aluminium.tdb");

impl Database {
    /// Reads the text of a file in the open TDB syntax.
    ///
    /// Understood are ELEMENT, FUNCTION, PHASE, CONSTITUENT and PARAMETER with `G` or `L`; see [`Database::notes`]
    /// for what was passed over.
    ///
    /// # Errors
    /// The first statement that cannot be read, with its line and what was expected there.
    pub fn read(text: &str) -> Result<Self, DatabaseError> {
        read(text)
    }

    /// The built-in data for Al with Si, Mg, Cu, Zn, Mn and Fe: COST 507, Round II (1999).
    ///
    /// # Errors
    /// None in a released program; the reader's own error otherwise.
    pub fn aluminium() -> Result<Self, DatabaseError> {
        Self::read(ALUMINIUM)
    }
}

/// Beyond this many notes a file is so foreign that more of them help nobody.
const MOST_NOTES: usize = 200;

/// Statements that carry no energies; passing over them changes no result.
const WITHOUT_ENERGY: [&str; 15] = [
    "SPECIES",
    "TEMPERATURE_LIMITS",
    "TEMP_LIM",
    "DATABASE_INFORMATION",
    "DATABASE_INFO",
    "ASSESSED_SYSTEMS",
    "DEFINE_SYSTEM_DEFAULT",
    "DEFAULT_COMMAND",
    "VERSION_DATE",
    "REFERENCE_FILE",
    "ADD_REFERENCES",
    "LIST_OF_REFERENCES",
    "FTP_FILE",
    "TABLE",
    "DIFFUSION",
];

#[derive(Default)]
struct TdbReader {
    elements: Vec<Element>,
    phases: Vec<Phase>,
    index: HashMap<String, usize>,
    /// Lines of PHASE statements, to point at a phase without CONSTITUENT.
    phase_lines: Vec<usize>,
    functions: Functions,
    parameters: Vec<(usize, Statement, RawParameter)>,
    unsupported: HashMap<String, String>,
    notes: Vec<String>,
}

struct RawParameter {
    constituents: Vec<Vec<String>>,
    order: usize,
    ranges: Ranges,
}

/// Reads a whole file; see [`Database::read`].
pub(crate) fn read(text: &str) -> Result<Database, DatabaseError> {
    let mut reader = TdbReader::default();
    for statement in Statements::new(text) {
        reader.statement(statement?)?;
    }
    reader.finish()
}

/// A word of a statement and its byte offset.
fn word(text: &str, from: usize) -> (usize, &str) {
    let rest = &text[from..];
    let start = from + (rest.len() - rest.trim_start().len());
    let length = text[start..].find(char::is_whitespace).unwrap_or(text.len() - start);
    (start, &text[start..start + length])
}

impl TdbReader {
    fn note(&mut self, sentence: String) {
        if self.notes.len() < MOST_NOTES && !self.notes.contains(&sentence) {
            self.notes.push(sentence);
        }
    }

    fn statement(&mut self, statement: Statement) -> Result<(), DatabaseError> {
        let (start, keyword) = word(&statement.text, 0);
        let body = start + keyword.len();
        let upper = keyword.to_ascii_uppercase();
        // The syntax allows keywords to be cut short, e.g. PARA or TYPE_DEF.
        let is = |full: &str| upper.len() >= 3 && full.starts_with(&upper);
        if is("ELEMENT") {
            self.element(&statement, body)
        } else if is("FUNCTION") {
            self.functions.declare(&statement, body)
        } else if is("PHASE") {
            self.phase(&statement, body)
        } else if is("CONSTITUENT") {
            self.constituent(&statement, body)
        } else if is("PARAMETER") {
            self.parameter(statement, body)
        } else if is("TYPE_DEFINITION") {
            self.type_definition(&statement.text[body..]);
            Ok(())
        } else if WITHOUT_ENERGY.iter().any(|full| is(full)) {
            Ok(())
        } else {
            Err(statement.error(0, "a keyword of the TDB syntax, such as PHASE or PARAMETER"))
        }
    }

    fn element(&mut self, statement: &Statement, body: usize) -> Result<(), DatabaseError> {
        let (at, symbol) = word(&statement.text, body);
        let (_, structure) = word(&statement.text, at + symbol.len());
        let symbol = symbol.to_ascii_uppercase();
        if symbol.is_empty() {
            return Err(statement.error(body, "the symbol of the element"));
        }
        if symbol == "/-" || symbol == "VA" {
            return Ok(());
        }
        let after = statement.text[at + symbol.len()..]
            .find(structure)
            .map_or(at, |k| at + symbol.len() + k + structure.len());
        let (mass_at, mass) = word(&statement.text, after);
        match mass.parse::<f64>() {
            Ok(mass) if mass > 0.0 && mass.is_finite() => {
                if !self.elements.iter().any(|e| e.symbol == symbol) {
                    self.elements.push(Element { symbol, mass });
                }
                Ok(())
            }
            _ => Err(statement.error(mass_at, "the atomic mass in g/mol, a positive number")),
        }
    }

    fn phase(&mut self, statement: &Statement, body: usize) -> Result<(), DatabaseError> {
        let (at, name) = word(&statement.text, body);
        if name.is_empty() {
            return Err(statement.error(body, "the name of the phase"));
        }
        let (codes_at, codes) = word(&statement.text, at + name.len());
        let (count_at, count) = word(&statement.text, codes_at + codes.len());
        let Some(count_of) = count.parse::<usize>().ok().filter(|n| (1..=10).contains(n)) else {
            return Err(statement.error(count_at, "the number of sublattices, 1 to 10"));
        };
        let mut sites = Vec::new();
        let mut next = count_at + count.len();
        for _ in 0..count_of {
            let (site_at, site) = word(&statement.text, next);
            match site.parse::<f64>() {
                Ok(value) if value > 0.0 && value.is_finite() => sites.push(value),
                _ => return Err(statement.error(site_at, "the sites of a sublattice, a positive number")),
            }
            next = site_at + site.len();
        }
        let name = plain_name(name);
        if self.index.contains_key(&name) {
            return Err(statement.error(at, "a phase name that has not been used before"));
        }
        self.index.insert(name.clone(), self.phases.len());
        self.phase_lines.push(statement.line);
        self.phases.push(Phase { name, sites, constituents: Vec::new(), parameters: Vec::new() });
        Ok(())
    }

    fn constituent(&mut self, statement: &Statement, body: usize) -> Result<(), DatabaseError> {
        let (at, name) = word(&statement.text, body);
        let Some(&index) = self.index.get(&plain_name(name)) else {
            return Err(statement.error(at, "the name of a phase declared before"));
        };
        let list = at + name.len();
        let mut parts = statement.text[list..].split(':');
        if !parts.next().is_some_and(|lead| lead.trim().is_empty()) {
            return Err(statement.error(list, "':' and the constituents of the first sublattice"));
        }
        let mut sublattices: Vec<Vec<String>> = parts
            .map(|part| {
                let names = part.split([',', ' ', '\n']);
                let names = names.map(|n| n.trim().trim_end_matches('%').to_ascii_uppercase());
                let mut names: Vec<String> = names.filter(|n| !n.is_empty()).collect();
                names.sort();
                names.dedup();
                names
            })
            .collect();
        while sublattices.last().is_some_and(Vec::is_empty) {
            sublattices.pop();
        }
        let phase = &mut self.phases[index];
        if sublattices.len() != phase.sites.len() || sublattices.iter().any(Vec::is_empty) {
            let count = phase.sites.len();
            return Err(statement.error(list, format!("constituents of {count} sublattices, none empty")));
        }
        phase.constituents = sublattices;
        Ok(())
    }

    fn parameter(&mut self, statement: Statement, body: usize) -> Result<(), DatabaseError> {
        let text = &statement.text;
        let Some(open) = text[body..].find('(').map(|k| body + k) else {
            return Err(statement.error(body, "'(' after the kind of parameter"));
        };
        let Some(close) = text[open..].find(')').map(|k| open + k) else {
            return Err(statement.error(open, "')' after the constituents"));
        };
        let kind = text[body..open].trim().to_ascii_uppercase();
        let inside = &text[open + 1..close];
        let Some((phase, constituents)) = inside.split_once(',') else {
            return Err(statement.error(open + 1, "a phase name, ',' and the constituents"));
        };
        let phase = plain_name(phase.trim());
        match kind.as_str() {
            "G" | "L" => {}
            "TC" | "BMAGN" | "BM" => {
                self.note(format!("The magnetic energy of {phase} is left out."));
                return Ok(());
            }
            _ => {
                self.note(format!("Parameters of kind {kind} are left out."));
                return Ok(());
            }
        }
        let (names, order) = match constituents.split_once(';') {
            Some((names, order)) => (names, order.trim()),
            None => (constituents, "0"),
        };
        let Some(order) = order.parse::<usize>().ok().filter(|k| *k <= 9) else {
            return Err(statement.error(open, "the order of the parameter, 0 to 9, after ';'"));
        };
        let split = |sublattice: &str| {
            let names = sublattice.split(',').map(|n| n.trim().to_ascii_uppercase());
            let mut names: Vec<String> = names.collect();
            names.sort();
            names
        };
        let constituents: Vec<Vec<String>> = names.split(':').map(split).collect();
        let Some(&index) = self.index.get(&phase) else {
            self.note(format!("Parameters of {phase} are left out: no such phase is declared."));
            return Ok(());
        };
        if constituents.len() != self.phases[index].sites.len() {
            let count = self.phases[index].sites.len();
            return Err(statement.error(open + 1, format!("constituents of {count} sublattices")));
        }
        if constituents.iter().flatten().any(String::is_empty) {
            return Err(statement.error(open + 1, "a constituent between the separators"));
        }
        if let Some(reason) = beyond_model(&constituents, order) {
            self.unsupported.insert(phase, reason.into());
            return Ok(());
        }
        let ranges = Ranges::read(&statement, close + 1)?;
        let raw = RawParameter { constituents, order, ranges };
        self.parameters.push((index, statement, raw));
        Ok(())
    }

    /// Ordered phases split into an ordered and a disordered part need a model of their own.
    fn type_definition(&mut self, text: &str) {
        let words: Vec<String> = text.split([' ', ',', '\n']).map(str::to_ascii_uppercase).collect();
        let split = words.iter().position(|w| w.starts_with("DIS_PART") || w.starts_with("DISORDERED"));
        if let Some(name) = split.and_then(|k| k.checked_sub(1)).map(|k| &words[k]) {
            let reason = "its order-disorder energy is not described here";
            self.unsupported.insert(plain_name(name), reason.into());
        }
    }

    fn finish(mut self) -> Result<Database, DatabaseError> {
        if let Some(k) = self.phases.iter().position(|p| p.constituents.is_empty()) {
            return Err(DatabaseError {
                line: self.phase_lines[k],
                expected: format!("a CONSTITUENT statement for phase {}", self.phases[k].name),
                found: String::new(),
            });
        }
        let mut known: HashSet<&str> = self.elements.iter().map(|e| e.symbol.as_str()).collect();
        known.insert("VA");
        for phase in &self.phases {
            let foreign = phase.constituents.iter().flatten().find(|c| !known.contains(c.as_str()));
            if let Some(name) = foreign {
                let reason = format!("its constituent {name} is not an element of the file");
                self.unsupported.entry(phase.name.clone()).or_insert(reason);
            }
        }
        let mut basis = Basis::default();
        for (index, statement, raw) in std::mem::take(&mut self.parameters) {
            if self.unsupported.contains_key(&self.phases[index].name) {
                continue;
            }
            let phase = &self.phases[index];
            let sublattices = raw.constituents.iter().zip(&phase.constituents);
            if !sublattices.into_iter().all(|(named, allowed)| named.iter().all(|n| allowed.contains(n))) {
                let sentence = format!(
                    "A parameter of {} names a constituent the phase does not have (line {}).",
                    phase.name, statement.line
                );
                self.note(sentence);
                continue;
            }
            let energy = self.functions.evaluate(&statement, &raw.ranges)?;
            let parameter = Parameter {
                energy: CompiledExpression::new(&energy, &mut basis),
                constituents: raw.constituents,
                order: raw.order,
            };
            let list = &mut self.phases[index].parameters;
            let same = list
                .iter_mut()
                .find(|p| p.order == parameter.order && p.constituents == parameter.constituents);
            match same {
                Some(earlier) => {
                    *earlier = parameter;
                    let sentence = format!(
                        "Phase {} gives a parameter twice; the later one holds (line {}).",
                        self.phases[index].name, statement.line
                    );
                    self.note(sentence);
                }
                None => list.push(parameter),
            }
        }
        let mut left_out: Vec<_> = self.unsupported.drain().collect();
        left_out.sort();
        for (name, reason) in left_out {
            if self.index.contains_key(&name) {
                self.phases.retain(|p| p.name != name);
                self.note(format!("Phase {name} is left out: {reason}."));
            }
        }
        Ok(Database { elements: self.elements, phases: self.phases, notes: self.notes, basis })
    }
}

/// Upper case, without the suffix such as `:L` that marks the liquid.
fn plain_name(name: &str) -> String {
    name.split(':').next().unwrap_or_default().trim().to_ascii_uppercase()
}

/// Why a parameter lies outside the models of `gibbs`, if it does.
fn beyond_model(constituents: &[Vec<String>], order: usize) -> Option<&'static str> {
    if constituents.iter().flatten().any(|c| c == "*") {
        return Some("it uses wild cards for constituents");
    }
    let mixing: Vec<usize> = constituents.iter().map(Vec::len).filter(|&n| n > 1).collect();
    match (mixing.as_slice(), order) {
        (_, 0) | ([2], _) | ([3], 0..=2) => None,
        ([], _) => Some("an end member has an order other than 0"),
        _ => Some("a higher-order term mixes on several sublattices or more than three constituents"),
    }
}
