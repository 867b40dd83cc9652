//! What an edit can reach: relations that differ between two rulebooks, and what rests on them.

use crate::computed::FROZEN;
use crate::language::{Rulebook, contents, relation_graph};
use crate::relations;
use petgraph::visit::Dfs;
use serde::Serialize;
use std::collections::BTreeSet;

/// How far an edit reaches.
#[derive(Clone, Debug, Serialize)]
pub struct Reach {
    /// Relations whose declaration, rows or findings differ.
    pub changed: BTreeSet<String>,
    /// Relations that rest on one of these, themselves included.
    pub reached: BTreeSet<String>,
    /// Whether verdicts are among them.
    pub verdicts: bool,
    /// Whether what is changed rests on how pools freeze, or decides which pools are followed.
    pub freezing: bool,
}

impl Reach {
    pub(super) fn of(old: &Rulebook, new: &Rulebook) -> Self {
        let (before, after) = (contents(old), contents(new));
        let names: BTreeSet<&str> = before.keys().chain(after.keys()).copied().collect();
        let changed: BTreeSet<String> =
            names.into_iter().filter(|name| before.get(name) != after.get(name)).map(str::to_owned).collect();
        let mut reached = changed.clone();
        let mut freezing = false;
        for rulebook in [old, new] {
            reached.extend(resting_on(rulebook, &changed));
            freezing |= touches_freezing(rulebook, &before, &after, &changed);
        }
        let decides = [
            relations::GRADED.name,
            relations::STANDING.name,
            relations::BARRED.name,
            relations::USABLE.name,
            relations::RECOMMENDED.name,
            relations::BEATS.name,
        ];
        let verdicts = decides.iter().any(|name| reached.contains(*name));
        Reach { changed, reached, verdicts, freezing }
    }
}

/// Everything that rests on these relations.
fn resting_on(rulebook: &Rulebook, relations: &BTreeSet<String>) -> BTreeSet<String> {
    let graph = relation_graph(&rulebook.relations, &rulebook.findings);
    let mut found = BTreeSet::new();
    for start in graph.node_indices() {
        if !relations.contains(&rulebook.relations[start.index()].name) {
            continue;
        }
        let mut search = Dfs::new(&graph, start);
        while let Some(node) = search.next(&graph) {
            found.insert(rulebook.relations[node.index()].name.clone());
        }
    }
    found
}

type Contents<'r> = std::collections::BTreeMap<&'r str, BTreeSet<String>>;

/// Whether a changed finding reads what rests on freezing, or a changed relation feeds it.
fn touches_freezing(
    rulebook: &Rulebook,
    before: &Contents<'_>,
    after: &Contents<'_>,
    changed: &BTreeSet<String>,
) -> bool {
    let frozen: BTreeSet<String> = FROZEN.iter().map(|name| (*name).to_owned()).collect();
    let behind = resting_on(rulebook, &frozen);
    if !resting_on(rulebook, changed).is_disjoint(&frozen) {
        return true;
    }
    let empty = BTreeSet::new();
    changed.iter().any(|name| {
        let (was, is) =
            (before.get(name.as_str()).unwrap_or(&empty), after.get(name.as_str()).unwrap_or(&empty));
        was.symmetric_difference(is)
            .any(|text| behind.iter().any(|relation| text.contains(&format!(" {relation}("))))
    })
}
