//! Whose rules a record was made by: the items that differ from the usual rulebook, each by its name and its lines, and the
//! verdicts that rest on them. Items are compared as texts, so that nothing escapes that a reader of rules passes over.

use super::applied::Applied;
use super::apply::Met;
use super::facts::Facts;
use super::grounds::Grounds;
use super::shapes::{AskedPremise, FindingShape};
use crate::language::{Rulebook, SourceFile, Type, ValueId};
use crate::record::RecordedGround;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// How the rules of a record compare with the usual ones.
#[derive(Clone, Default, Debug, Serialize)]
pub struct Rules {
    /// The fingerprint of the recorded rules.
    pub recorded: String,
    /// The fingerprint of the usual ones.
    pub usual: String,
    /// What the usual ones are called.
    pub called: String,
    /// Files that differ, by name.
    pub files: Vec<DifferentFile>,
    /// Items that differ, by name.
    pub items: Vec<DifferentItem>,
    /// How many verdicts rest on such an item.
    pub verdicts: usize,
    /// How many others rest on the absence of something that such an item could yield.
    pub verdicts_by_absence: usize,
}

impl Rules {
    /// Whether these are the usual rules, to the letter.
    pub fn are_usual(&self) -> bool {
        self.recorded == self.usual
    }
}

/// A file that differs.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct DifferentFile {
    /// Its name.
    pub file: String,
    /// How it differs.
    pub how: HowDifferent,
}

/// How something differs from the usual rules.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum HowDifferent {
    /// The usual rules do not have it.
    Added,
    /// The record does not have it.
    Missing,
    /// It says something else.
    Changed,
}

/// An item that differs: a finding, a table, a declaration.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct DifferentItem {
    /// What kind of item it is and its name, as the rules write it.
    pub item: String,
    /// How it differs.
    pub how: HowDifferent,
    /// Where it stands in the recorded rules; in the usual ones where it is missing.
    pub place: String,
    /// Lines of the usual rules that the record does not have there.
    pub usual: Vec<String>,
    /// Lines of the record that the usual rules do not have there.
    pub recorded: Vec<String>,
}

/// A line of an item: its text without comments and superfluous blanks, and its place.
struct ItemLine {
    text: String,
    place: String,
}

/// The lines of every item, by its name. A table goes on wherever one of its name stands.
fn items(files: &[SourceFile]) -> BTreeMap<String, Vec<ItemLine>> {
    let mut items: BTreeMap<String, Vec<ItemLine>> = BTreeMap::new();
    for file in files {
        let mut name = String::new();
        for (number, line) in file.text.lines().enumerate() {
            let text = without_comment(line).split_whitespace().collect::<Vec<_>>().join(" ");
            if text.is_empty() {
                continue;
            }
            if !line.starts_with([' ', '\t']) {
                name = named(&text);
            }
            let place = format!("{}:{}", file.name, number + 1);
            items.entry(name.clone()).or_default().push(ItemLine { text, place });
        }
    }
    items
}

fn without_comment(line: &str) -> &str {
    let mut quoted = false;
    let mut before = ' ';
    for (at, c) in line.char_indices() {
        match c {
            '"' if before != '\\' => quoted = !quoted,
            '-' if before == '-' && !quoted => return &line[..at - 1],
            _ => {}
        }
        before = c;
    }
    line
}

/// The kind and name of an item: what stands before the first bracket or colon.
fn named(text: &str) -> String {
    let quoted = text.find('"').unwrap_or(text.len());
    let end = text.find(['(', ':']).filter(|end| *end < quoted).unwrap_or(text.len());
    text[..end].trim_end().to_owned()
}

/// Which files and items differ.
pub(super) fn compared(
    recorded: &[SourceFile],
    usual: &[SourceFile],
) -> (Vec<DifferentFile>, Vec<DifferentItem>) {
    let by_name = |files: &[SourceFile]| -> BTreeMap<String, String> {
        files.iter().map(|file| (file.name.clone(), file.text.clone())).collect()
    };
    let differing = |file: &String, one: Option<&String>, other: Option<&String>| match (one, other) {
        (Some(one), Some(other)) if one == other => None,
        (one, other) => Some(DifferentFile { file: file.clone(), how: how(one.is_some(), other.is_some()) }),
    };
    let (files, others) = (by_name(recorded), by_name(usual));
    let names: BTreeSet<&String> = files.keys().chain(others.keys()).collect();
    let files =
        names.into_iter().filter_map(|name| differing(name, files.get(name), others.get(name))).collect();
    let (here, there) = (items(recorded), items(usual));
    let names: BTreeSet<&String> = here.keys().chain(there.keys()).collect();
    let none = Vec::new();
    let items = names.into_iter().filter_map(|name| {
        let (one, other) = (here.get(name), there.get(name));
        let (lines, usual) = (one.unwrap_or(&none), other.unwrap_or(&none));
        let text = |line: &ItemLine| line.text.clone();
        if lines.iter().map(text).eq(usual.iter().map(text)) {
            return None;
        }
        let mut item = DifferentItem {
            item: name.clone(),
            how: how(one.is_some(), other.is_some()),
            place: lines.first().or(usual.first()).map_or(String::new(), |line| line.place.clone()),
            usual: beyond(usual, lines),
            recorded: beyond(lines, usual),
        };
        if item.usual.is_empty() && item.recorded.is_empty() {
            // The same lines in another order: from the first that stands elsewhere.
            let same = lines.iter().zip(usual).take_while(|(one, other)| one.text == other.text).count();
            item.usual.extend(usual.get(same).map(text));
            item.recorded.extend(lines.get(same).map(text));
        }
        Some(item)
    });
    (files, items.collect())
}

fn how(recorded: bool, usual: bool) -> HowDifferent {
    match (recorded, usual) {
        (true, false) => HowDifferent::Added,
        (false, _) => HowDifferent::Missing,
        (true, true) => HowDifferent::Changed,
    }
}

/// The lines of one list that another lacks, each as often as it lacks it.
fn beyond(lines: &[ItemLine], others: &[ItemLine]) -> Vec<String> {
    let mut count: BTreeMap<&str, usize> = BTreeMap::new();
    others.iter().for_each(|line| *count.entry(&line.text).or_default() += 1);
    let new = lines.iter().filter(|line| match count.get_mut(line.text.as_str()) {
        Some(left @ 1..) => {
            *left -= 1;
            false
        }
        _ => true,
    });
    new.map(|line| line.text.clone()).collect()
}

/// What of the recorded rules differs.
pub(super) struct Touched {
    findings: BTreeSet<usize>,
    /// Relations that are declared otherwise, or whose tables differ.
    relations: BTreeSet<usize>,
    /// Relations in which something may be missing, or may be there, because of it.
    doubtful: BTreeSet<usize>,
}

impl Touched {
    /// Finds the items in the recorded rulebook; what is missing there, in the usual one.
    pub fn of(differences: &[DifferentItem], recorded: &Rulebook, usual: Option<&Rulebook>) -> Self {
        let mut touched =
            Touched { findings: BTreeSet::new(), relations: BTreeSet::new(), doubtful: BTreeSet::new() };
        let relation = |name: &str| recorded.relation(name).map(|id| id.index());
        let texts = items(&recorded.sources.files);
        for difference in differences {
            let (kind, name) = difference.item.split_once(' ').unwrap_or((difference.item.as_str(), ""));
            if kind == "values" {
                touched.findings.extend(using(recorded, difference));
                continue;
            }
            if ["finding", "ladder", "meaning"].contains(&kind) {
                // A ladder has a finding for each of its rungs, and a relation may have several meanings.
                let of = |id: &str| {
                    id == name
                        || kind != "finding"
                            && id.strip_prefix(name).is_some_and(|rest| rest.starts_with('.'))
                };
                let places = recorded.findings.iter().enumerate().filter(|(_, finding)| of(&finding.id));
                touched.findings.extend(places.map(|(place, _)| place));
                touched.relations.extend(relation(name).filter(|_| kind == "meaning"));
                let usual = usual.into_iter().flat_map(|usual| {
                    let concluded = usual.findings.iter().filter(|finding| of(&finding.id));
                    concluded
                        .flat_map(|finding| &finding.hence)
                        .map(|hence| usual.relations[hence.relation.index()].name.as_str())
                });
                touched.doubtful.extend(usual.filter_map(relation));
                continue;
            }
            touched.relations.extend(relation(name));
            let list = name.split(',').next().unwrap_or(name);
            for (id, declared) in recorded.relations.iter().enumerate() {
                let holds = |ty: &Type| match ty {
                    Type::Word(word) => recorded.kinds[word.index()].name == list,
                    _ => false,
                };
                if ["words", "more"].contains(&kind) && declared.roles.iter().any(|role| holds(&role.ty)) {
                    touched.relations.insert(id);
                }
            }
            if kind == "curve" {
                let named = |finding: usize| {
                    let id = &recorded.findings[finding].id;
                    let lines = texts.get(&format!("finding {id}"));
                    lines.is_some_and(|lines| lines.iter().any(|line| line.text.contains(name)))
                };
                touched.findings.extend((0..recorded.findings.len()).filter(|finding| named(*finding)));
            }
        }
        let concluded = |finding: usize| recorded.findings[finding].hence.iter();
        let own = touched.findings.iter().flat_map(|finding| concluded(*finding));
        let own: Vec<usize> = own.map(|hence| hence.relation.index()).collect();
        touched.doubtful.extend(own);
        touched.doubtful.extend(touched.relations.iter().copied());
        touched
    }

    /// Takes in every relation that is concluded from one that is in doubt.
    fn follow(&mut self, shapes: &[FindingShape<'_>]) {
        loop {
            let before = self.doubtful.len();
            for shape in shapes {
                let asks = shape.premises.iter().any(|premise| match premise {
                    AskedPremise::Given(shape)
                    | AskedPremise::Unless(shape)
                    | AskedPremise::Aggregate { members: shape, .. } => {
                        self.doubtful.contains(&shape.relation.index())
                    }
                    AskedPremise::Let { .. } | AskedPremise::Where(_) => false,
                });
                if asks {
                    self.doubtful.extend(shape.hence.iter().map(|hence| hence.relation.index()));
                }
            }
            if self.doubtful.len() == before {
                return;
            }
        }
    }
}

/// The findings that use a named value whose row differs; all that use one, where something else of the values does.
fn using(recorded: &Rulebook, difference: &DifferentItem) -> Vec<usize> {
    let lines: Vec<&String> = difference.usual.iter().chain(&difference.recorded).collect();
    let names: Option<Vec<&str>> =
        lines.iter().map(|line| line.split_once(" = ").map(|(name, _)| name.trim())).collect();
    let differs = |value: ValueId| {
        names.as_ref().is_none_or(|names| names.contains(&recorded.values[value.index()].name.as_str()))
    };
    let findings = recorded.findings.iter().enumerate();
    findings.filter(|(_, finding)| finding.named_values().any(differs)).map(|(place, _)| place).collect()
}

/// For each fact whether it rests on what differs; and whether it does where absences count as well.
pub(super) fn resting(
    mut touched: Touched,
    facts: &Facts<'_>,
    shapes: &[FindingShape<'_>],
    applied: &[Applied<'_>],
    grounds: &Grounds,
) -> [Vec<bool>; 2] {
    touched.follow(shapes);
    let mut followed: Vec<Vec<usize>> = vec![Vec::new(); facts.all.len()];
    let mut first = [Vec::new(), Vec::new()];
    for (number, yields) in grounds.of.iter().enumerate() {
        let mut direct = touched.relations.contains(&facts.all[number].relation.index());
        let mut absent = false;
        for ground in yields.iter().filter_map(|yields| yields.ground.as_ref()) {
            match ground {
                RecordedGround::Computed(computation) => {
                    computation.from.iter().for_each(|from| followed[*from].push(number));
                }
                RecordedGround::Finding(application) => {
                    let applied = &applied[*application];
                    direct |= touched.findings.contains(&applied.finding);
                    let shape = &shapes[applied.finding];
                    absent |= shape.premises.iter().any(|premise| match premise {
                        AskedPremise::Unless(shape) | AskedPremise::Aggregate { members: shape, .. } => {
                            touched.doubtful.contains(&shape.relation.index())
                        }
                        _ => false,
                    });
                    for met in applied.judged.iter().flat_map(|judged| &judged.met) {
                        match met {
                            Met::Given(fact) => followed[*fact].push(number),
                            Met::Unless { open: facts, .. } | Met::Aggregate(_, facts) => {
                                facts.iter().for_each(|fact| followed[*fact].push(number));
                            }
                            Met::Let(_) | Met::Where { .. } => {}
                        }
                    }
                }
                RecordedGround::Table(_) | RecordedGround::Job(_) | RecordedGround::Unanswered => {}
            }
        }
        if direct {
            first[0].push(number);
        }
        if direct || absent {
            first[1].push(number);
        }
    }
    first.map(|mut waiting| {
        let mut reached = vec![false; facts.all.len()];
        while let Some(fact) = waiting.pop() {
            if !std::mem::replace(&mut reached[fact], true) {
                waiting.extend(&followed[fact]);
            }
        }
        reached
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn file(name: &str, text: &str) -> SourceFile {
        SourceFile { name: name.to_owned(), text: text.to_owned() }
    }

    const TEXT: &str = "-- a comment\nfinding heat.much\n    cite memory \"X -- Y\"\n    let Limit = 65 °C  -- why\n\
                        table limits\n    cite common practice\n    6061  0.4\n";

    #[test]
    fn a_changed_figure_and_a_lost_mark_are_named() {
        let changed = TEXT.replace("65 °C", "650 °C").replace("memory ", "").replace("  0.4", " 0.5");
        let (files, items) = compared(&[file("a.why", &changed)], &[file("a.why", TEXT)]);
        assert_eq!(files, [DifferentFile { file: "a.why".into(), how: HowDifferent::Changed }]);
        let listed: Vec<(&str, &str, String, String)> = items
            .iter()
            .map(|item| (&item.item[..], &item.place[..], item.usual.join("; "), item.recorded.join("; ")))
            .collect();
        assert_eq!(
            listed,
            [
                (
                    "finding heat.much",
                    "a.why:2",
                    "cite memory \"X -- Y\"; let Limit = 65 °C".to_owned(),
                    "cite \"X -- Y\"; let Limit = 650 °C".to_owned()
                ),
                ("table limits", "a.why:5", "6061 0.4".to_owned(), "6061 0.5".to_owned()),
            ]
        );
    }

    #[test]
    fn what_is_moved_or_laid_out_otherwise_says_the_same() {
        let spaced = TEXT.replace("6061  0.4", "6061 0.4 -- so");
        assert_eq!(compared(&[file("b.why", &spaced)], &[file("a.why", TEXT)]).1, []);
        let (_, items) = compared(&[file("a.why", "")], &[file("a.why", TEXT)]);
        assert!(items.len() == 2 && items.iter().all(|item| item.how == HowDifferent::Missing), "{items:?}");
    }
}
