//! The authorities that a rulebook names, each with what rests on it, as plain data: read from the `cite` lines alone.

use super::authority::Known;
use crate::language::{Cite, Origin, Rulebook, Span};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// Every authority of a rulebook.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct SourceList {
    /// Works that were seen, in the order of their names.
    pub seen: Vec<Work>,
    /// Works that were recalled and not seen.
    pub from_memory: Vec<Work>,
    /// What rests on common practice.
    pub common_practice: Vec<Use>,
}

/// A work: a book, a standard, a paper.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Work {
    /// Its name, as it is cited.
    pub name: String,
    /// The places in it, in the order of their texts.
    pub clauses: Vec<CitedClause>,
}

/// A place in a work, or what is taken from it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct CitedClause {
    /// What is cited behind the work's name; empty where the work is cited as a whole.
    pub text: String,
    /// What rests on it, a file at a time.
    pub uses: Vec<Use>,
}

/// What in one file of the rulebook rests on an authority. Names stand in the order of the alphabet.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Use {
    /// The file.
    pub file: String,
    /// Findings.
    pub findings: BTreeSet<String>,
    /// Tables, each with how many of its rows.
    pub tables: BTreeMap<String, usize>,
    /// Numbers with names.
    #[serde(skip_serializing_if = "BTreeSet::is_empty")]
    pub values: BTreeSet<String>,
    /// Curves.
    pub curves: BTreeSet<String>,
    /// Relations that the program computes.
    pub computed: BTreeSet<String>,
    /// Expectations that hold on its word; how many.
    #[serde(skip_serializing_if = "is_none")]
    pub expectations: usize,
}

#[allow(clippy::trivially_copy_pass_by_ref)]
fn is_none(count: &usize) -> bool {
    *count == 0
}

/// The places where the name of a work may end: before a comma or colon that a blank follows, or with the text.
fn ends(text: &str) -> impl Iterator<Item = usize> + '_ {
    let marks = text.match_indices([',', ':']).map(|(at, _)| at);
    marks.filter(|at| text[at + 1..].starts_with(' ')).chain([text.len()])
}

/// What citations of one work begin with: a name with a figure in it, as years and the numbers of standards are; before a
/// comma without one stand authors.
fn beginning(text: &str) -> &str {
    let figured = |end: &usize| text[..*end].contains(|c: char| c.is_ascii_digit());
    &text[..ends(text).find(figured).unwrap_or(text.len())]
}

/// The name of the work that some citations of one beginning are of: as far as all agree, or, where there is only one, up
/// to the colon behind which it says what is taken from the work.
fn name<'t>(citations: &[&'t str]) -> &'t str {
    match citations {
        [] => "",
        [only] => &only[..only.find(": ").unwrap_or(only.len())],
        [first, others @ ..] => {
            let agrees = |end: &usize| {
                let all =
                    |other: &&str| other.starts_with(&first[..*end]) && ends(other).any(|at| at == *end);
                others.iter().all(all)
            };
            &first[..ends(first).filter(agrees).last().unwrap_or(0)]
        }
    }
}

/// What rests on each citation, by file.
type Cited<'r> = BTreeMap<(Known, &'r str), BTreeMap<&'r str, Use>>;

/// Citations of one work, each with what rests on it.
type OfOneWork<'r> = Vec<(&'r str, Vec<Use>)>;

struct CitationReader<'r> {
    rulebook: &'r Rulebook,
    cited: Cited<'r>,
}

impl<'r> CitationReader<'r> {
    fn take(&mut self, cites: &'r [Cite], span: Span, note: impl Fn(&mut Use)) {
        let file = self.rulebook.sources.file(span).name.as_str();
        for cite in cites {
            let text = match cite {
                Cite::Source(text) | Cite::Memory(Some(text)) => text,
                Cite::CommonPractice | Cite::Memory(None) => "",
            };
            let uses = self.cited.entry((Known::of(cite), text)).or_default();
            note(uses.entry(file).or_insert_with(|| Use { file: file.to_owned(), ..Use::default() }));
        }
    }
}

/// What rests on each citation of a rulebook.
fn cited(rulebook: &Rulebook) -> Cited<'_> {
    let mut reader = CitationReader { rulebook, cited: Cited::new() };
    for finding in &rulebook.findings {
        reader.take(&finding.cites, finding.span, |usage| {
            usage.findings.insert(finding.id.clone());
        });
    }
    let mut rows = BTreeSet::new();
    for fact in &rulebook.facts {
        // A row laid out over several columns makes several facts.
        if rows.insert((fact.relation, fact.span)) {
            let table = &rulebook.relations[fact.relation.index()].name;
            reader.take(&fact.cites, fact.span, |usage| {
                *usage.tables.entry(table.clone()).or_default() += 1;
            });
        }
    }
    for value in &rulebook.values {
        reader.take(&value.cites, value.span, |usage| {
            usage.values.insert(value.name.clone());
        });
    }
    let mut places = BTreeSet::new();
    for expectation in rulebook.expectations.iter().filter(|one| places.insert(one.span)) {
        reader.take(&expectation.cites, expectation.span, |usage| usage.expectations += 1);
    }
    for curve in &rulebook.curves {
        reader.take(&curve.cites, curve.span, |usage| {
            usage.curves.insert(curve.name.clone());
        });
    }
    for relation in &rulebook.relations {
        if let Origin::Computed { .. } = relation.origin {
            reader.take(&relation.cites, relation.span, |usage| {
                usage.computed.insert(relation.name.clone());
            });
        }
    }
    reader.cited
}

/// The work that citations of one beginning are of.
fn work(citations: OfOneWork<'_>) -> Work {
    let texts: Vec<&str> = citations.iter().map(|(text, _)| *text).collect();
    let name = name(&texts);
    let clause = |(text, uses): (&str, Vec<Use>)| {
        let behind = text[name.len()..].trim_start_matches([',', ':', ' ']);
        CitedClause { text: behind.to_owned(), uses }
    };
    Work { name: name.to_owned(), clauses: citations.into_iter().map(clause).collect() }
}

/// Lists the authorities of a rulebook.
pub fn sources(rulebook: &Rulebook) -> SourceList {
    let mut list = SourceList::default();
    let mut works: BTreeMap<(Known, &str), OfOneWork<'_>> = BTreeMap::new();
    for ((known, text), uses) in cited(rulebook) {
        let uses = uses.into_values().collect();
        match known {
            Known::Seen | Known::FromMemory => {
                works.entry((known, beginning(text))).or_default().push((text, uses));
            }
            Known::CommonPractice | Known::Nobody => list.common_practice = uses,
        }
    }
    for ((known, _), citations) in works {
        let works = if known == Known::Seen { &mut list.seen } else { &mut list.from_memory };
        works.push(work(citations));
    }
    for works in [&mut list.seen, &mut list.from_memory] {
        works.sort_by_cached_key(|work| (work.name.to_lowercase(), work.name.clone()));
    }
    list
}

#[cfg(test)]
mod tests {
    use super::{beginning, name};

    #[test]
    fn citations_of_one_work_are_told_by_how_they_begin() {
        for (text, begins) in [
            ("Holm 1962, table 3.1: cracks", "Holm 1962"),
            ("EN 1234-1:2007, table 8", "EN 1234-1:2007"),
            ("Holm and Vik, Journal 15(2), May 1959: cracks", "Holm and Vik, Journal 15(2)"),
            ("Holm and Vik, on paint", "Holm and Vik, on paint"),
            ("", ""),
        ] {
            assert_eq!(beginning(text), begins);
        }
    }

    #[test]
    fn the_name_of_a_work_is_what_its_citations_share() {
        assert_eq!(name(&["Holm 1962, p. 4", "Holm 1962, p. 49: cracks"]), "Holm 1962");
        assert_eq!(name(&["Vik, Journal 15, May", "Vik, Journal 15, May: cracks"]), "Vik, Journal 15, May");
        assert_eq!(name(&["Vik, Journal 15, May: cracks"]), "Vik, Journal 15, May");
        assert_eq!(name(&["Vik 1962, May"]), "Vik 1962, May");
        assert_eq!(name(&[""]), "");
    }
}
