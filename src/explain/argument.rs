//! The argument for a class: of a whole explanation the part that decides, opened down to numbers, thresholds and sources,
//! about a screen of it. Steps that only pass something on are shown in one line with what they pass.

use super::graph::{EdgeRole, Explanation, Kind, Node};
use crate::engine::FactId;
use crate::language::RelationId;
use crate::verdict::{Decision, Level, Standing};
use std::collections::{HashMap, VecDeque};

/// What decides, opened, and the rest in a line each.
#[derive(Clone, Debug, Default)]
pub struct Argument {
    /// The part of the derivation that decides.
    pub opened: Explanation,
    /// What the lines below it are.
    pub title: &'static str,
    /// What stands beside it.
    pub beside: Vec<Beside>,
}

/// Something beside what decides, in one line.
#[derive(Clone, Debug)]
pub struct Beside {
    /// What it is about, and how it stands: "corrosion: ample".
    pub about: String,
    /// What was found.
    pub says: Option<String>,
    /// Whether it waits on an answer.
    pub open: bool,
    /// Whether it is as good as can be, so that a glance at it will do.
    pub best: bool,
}

impl Beside {
    /// A standing in one line.
    pub(super) fn of(standing: &Standing) -> Self {
        Beside {
            about: format!("{}: {}", standing.criterion, standing.standing),
            says: standing.says.clone(),
            open: standing.standing == Level::Open,
            best: standing.standing == Level::Ample,
        }
    }
}

/// Conclusions are opened while the argument takes about this many lines of a page; with the lead and the other criteria
/// that makes a screen.
const MOST_LINES: usize = 36;

/// About so many letters stand on a line, behind the rails.
const LETTERS: usize = 56;

/// Of an aggregate this many members are shown, those that decide.
const MEMBERS_TOLD: usize = 3;

/// The part of an explanation that argues for its roots.
pub(super) fn argued(decision: &Decision<'_>, whole: &Explanation) -> Explanation {
    let mut below = vec![Vec::new(); whole.nodes.len()];
    for (from, to, role) in &whole.edges {
        if *role != EdgeRole::Source {
            below[*from].push((*to, *role));
        }
    }
    let mut selection = Selection {
        whole,
        below,
        left_out: decision.vocabulary.candidate.relation,
        kept_whole: decision.vocabulary.graded.relation,
        excerpt: Explanation::default(),
        lines: 0,
        placed: HashMap::new(),
        waiting: VecDeque::new(),
    };
    for root in &whole.roots {
        let shown = selection.root(*root);
        selection.excerpt.roots.push(shown);
    }
    while let Some((shown, whole)) = selection.waiting.pop_front() {
        selection.open(shown, whole);
    }
    selection.excerpt
}

/// About how many lines of a page a node takes.
fn lines(node: &Node) -> usize {
    let text = node.short.as_ref().unwrap_or(&node.text).chars().count();
    let letters = |text: &Option<String>| text.as_ref().map_or(0, |text| text.chars().count() + 12);
    let note = letters(&node.finding) + letters(&node.cite);
    text.div_ceil(LETTERS) + note.div_ceil(LETTERS)
}

struct Selection<'e> {
    whole: &'e Explanation,
    /// Children with the role in which each stands.
    below: Vec<Vec<(usize, EdgeRole)>>,
    /// Who is looked at where goes without saying.
    left_out: RelationId,
    /// A sentence that grades a filler is the argument itself and is never passed over.
    kept_whole: RelationId,
    excerpt: Explanation,
    /// How many lines that is, about.
    lines: usize,
    placed: HashMap<usize, usize>,
    /// Conclusions that may be opened: here and in the whole.
    waiting: VecDeque<(usize, usize)>,
}

impl<'e> Selection<'e> {
    fn node(&self, id: usize) -> &'e Node {
        &self.whole.nodes[id]
    }

    fn relation(&self, id: usize) -> Option<RelationId> {
        self.node(id).fact.map(|fact: FactId| fact.relation)
    }

    fn add(&mut self, node: Node) -> usize {
        let id = self.excerpt.nodes.len();
        self.lines += lines(&node);
        self.excerpt.nodes.push(Node { id, ..node });
        id
    }

    /// The findings and computations behind a conclusion.
    fn grounds(&self, id: usize) -> Vec<(usize, EdgeRole)> {
        self.below[id]
            .iter()
            .filter(|(_, role)| matches!(*role, EdgeRole::Finding | EdgeRole::Computed))
            .copied()
            .collect()
    }

    /// What a finding or computation rests on, without what goes without saying.
    fn premises(&self, ground: usize) -> Vec<(usize, EdgeRole)> {
        let said = |(id, _): &&(usize, EdgeRole)| {
            !self.node(*id).detail && self.relation(*id) != Some(self.left_out)
        };
        let mut premises: Vec<(usize, EdgeRole)> = self.below[ground].iter().filter(said).copied().collect();
        let all = premises.clone();
        let mut at = 0..;
        premises.retain(|premise| at.next().is_some_and(|at| !all[..at].contains(premise)));
        premises
    }

    /// The one finding behind a conclusion, past findings that only pass something on.
    fn finding_behind(&self, conclusion: usize) -> Option<usize> {
        let mut conclusion = conclusion;
        // Derivations are finite and every step goes down, but for circles, which only `--all` can show.
        for _ in 0..self.whole.nodes.len() {
            let [(ground, EdgeRole::Finding)] = self.grounds(conclusion)[..] else { return None };
            match self.premises(ground)[..] {
                [(next, EdgeRole::Given)]
                    if self.relation(conclusion) != Some(self.kept_whole)
                        && matches!(self.grounds(next)[..], [(_, EdgeRole::Finding)]) =>
                {
                    conclusion = next;
                }
                _ => return Some(ground),
            }
        }
        None
    }

    /// Something absent is shown with all that could have given it; conclusions in its way are opened where there is room.
    fn absence(&mut self, id: usize) -> usize {
        if let Some(shown) = self.placed.get(&id) {
            return *shown;
        }
        let node = self.node(id);
        let shown = self.add(Node { file: None, line: None, ..node.clone() });
        self.placed.insert(id, shown);
        for (below, role) in self.below[id].clone() {
            let below = match self.node(below).kind {
                Kind::Absence | Kind::Finding => self.absence(below),
                _ => self.premise(below),
            };
            self.excerpt.edges.push((shown, below, role));
        }
        shown
    }

    /// A conclusion that was asked about stands in its own words, with what it rests on below.
    fn root(&mut self, id: usize) -> usize {
        let node = self.node(id);
        if node.kind == Kind::Absence {
            return self.absence(id);
        }
        let shown = self.add(Node { file: None, line: None, ..node.clone() });
        self.placed.insert(id, shown);
        let grounds = match self.finding_behind(id) {
            Some(finding) => vec![(finding, EdgeRole::Finding)],
            None => self.grounds(id),
        };
        for (ground, role) in grounds {
            let below = self.add(Node { file: None, line: None, ..self.node(ground).clone() });
            self.excerpt.edges.push((shown, below, role));
            self.rest(below, ground);
        }
        shown
    }

    /// Shows what a finding or computation rests on.
    fn rest(&mut self, shown: usize, ground: usize) {
        for (id, role) in self.premises(ground) {
            let below = self.premise(id);
            self.excerpt.edges.push((shown, below, role));
        }
    }

    fn premise(&mut self, id: usize) -> usize {
        if let Some(shown) = self.placed.get(&id) {
            self.lines += 1;
            return *shown;
        }
        let node = self.node(id);
        let short = Node { text: node.short.clone().unwrap_or_else(|| node.text.clone()), ..node.clone() };
        match node.kind {
            Kind::Conclusion => self.conclusion(id),
            Kind::Aggregate | Kind::Absence => {
                let shown = self.add(short);
                let members = self.below[id].clone();
                for (member, role) in members.iter().take(MEMBERS_TOLD) {
                    let member = self.premise(*member);
                    self.excerpt.edges.push((shown, member, *role));
                }
                if let Some(more @ 1..) = members.len().checked_sub(MEMBERS_TOLD) {
                    let rest =
                        self.add(Node { text: format!("and {more} more"), ..Node::of(Kind::Aggregate) });
                    self.excerpt.edges.push((shown, rest, EdgeRole::Member));
                }
                shown
            }
            Kind::Fact => {
                // A row of a table has its authority, a line of the job its place.
                let place = if node.cite.is_some() { (None, None) } else { (node.file.clone(), node.line) };
                self.add(Node { file: place.0, line: place.1, ..node.clone() })
            }
            _ => self.add(short),
        }
    }

    /// A conclusion in one line, which is opened later where there is room.
    fn conclusion(&mut self, id: usize) -> usize {
        let node = self.node(id);
        let bare = Node { file: None, line: None, ..node.clone() };
        let shown = match self.finding_behind(id) {
            Some(finding) if self.is_plain(finding) => self.add(self.in_one_line(node, finding)),
            _ if self.grounds(id).is_empty() => self.add(bare),
            _ => {
                let shown = self.add(Node { closed: true, ..bare });
                self.waiting.push_back((shown, id));
                shown
            }
        };
        self.placed.insert(id, shown);
        shown
    }

    /// Whether a finding rests on facts of the job or of tables alone.
    fn is_plain(&self, finding: usize) -> bool {
        let figures = |id: usize| self.node(id).kind == Kind::Working && self.node(id).short.is_some();
        let premises = self.premises(finding);
        let facts = premises.iter().filter(|(id, _)| self.node(*id).kind == Kind::Fact).count();
        let sums = premises.iter().filter(|(id, role)| *role == EdgeRole::Let && figures(*id)).count();
        facts + sums == premises.len()
    }

    /// A finding that rests on facts alone, in one line with their authorities.
    fn in_one_line(&self, conclusion: &Node, finding: usize) -> Node {
        let said = self.node(finding);
        let facts: Vec<&Node> = self.premises(finding).iter().map(|(id, _)| self.node(*id)).collect();
        let mut cites: Vec<&str> = facts.iter().filter_map(|fact| fact.cite.as_deref()).collect();
        cites.dedup();
        let cite = if cites.is_empty() { said.cite.clone() } else { Some(cites.join("; ")) };
        Node {
            text: said.text.clone(),
            finding: said.finding.clone(),
            cite,
            file: None,
            line: None,
            ..conclusion.clone()
        }
    }

    /// Opens a conclusion where there is room for all that it rests on.
    fn open(&mut self, shown: usize, id: usize) {
        let behind = self.finding_behind(id);
        let grounds = match behind {
            Some(finding) => vec![(finding, EdgeRole::Finding)],
            None => self.grounds(id),
        };
        let premises = grounds.iter().flat_map(|(ground, _)| self.premises(*ground));
        let more: usize = premises.map(|(id, _)| lines(self.node(id))).sum();
        if self.lines + more > MOST_LINES {
            return;
        }
        self.excerpt.nodes[shown].closed = false;
        if let [(ground, role)] = grounds[..] {
            // One ground stands on the conclusion's own line: a finding in its own words, a computation behind the result.
            let ground_node = self.node(ground);
            let node = &mut self.excerpt.nodes[shown];
            node.finding.clone_from(&ground_node.finding);
            node.cite.clone_from(&ground_node.cite);
            if role == EdgeRole::Finding {
                node.text.clone_from(&ground_node.text);
            }
            self.rest(shown, ground);
            return;
        }
        for (ground, role) in grounds {
            let below = self.add(Node { file: None, line: None, ..self.node(ground).clone() });
            self.excerpt.edges.push((shown, below, role));
            self.rest(below, ground);
        }
    }
}
