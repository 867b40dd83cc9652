//! What must yield each fact, and whether that is what the record says: rows of tables, the job, questions, findings and
//! computations; and that nothing rests on itself.

use super::applied::{Applied, Conclusion, RecordComparison};
use super::apply::Judged;
use super::facts::Facts;
use super::problem::Problems;
use super::terms::{Term, Terms};
use crate::job::Job;
use crate::language::{Origin, RelationId, Sources, Span};
use crate::record::{Record, RecordedFact, RecordedGround, Texts};
use std::cmp::Ordering;

/// What yields a fact.
pub(super) struct Yields {
    /// As the record should have it; `None` for an application that it lacks altogether.
    pub ground: Option<RecordedGround>,
    pub known: bool,
    /// The facts that it rests on.
    pub from: Vec<usize>,
}

/// What yields each fact, by the fact's number.
pub(super) struct Grounds {
    pub of: Vec<Vec<Yields>>,
    /// The texts of the record, and behind them those that it lacks.
    pub texts: Texts,
}

impl Grounds {
    pub fn new(facts: &Facts<'_>, texts: &[String]) -> Self {
        Grounds { of: facts.all.iter().map(|_| Vec::new()).collect(), texts: Texts::of(texts) }
    }

    /// Rows of tables and what the job says.
    pub fn stated(
        &mut self,
        facts: &Facts<'_>,
        job: &Job,
        terms: &mut Terms,
        problems: &mut Problems,
    ) -> [usize; 2] {
        let place = |sources: &Sources, span: Span| {
            format!("{}:{}", sources.file(span).name, sources.position(span).0)
        };
        let rulebook = facts.rulebook;
        let tables = rulebook.facts.iter().map(|row| {
            let place = place(&rulebook.sources, row.span);
            (row.relation, &row.cells, RecordedGround::Table(place.clone()), place)
        });
        let given = job.facts.iter().map(|fact| {
            let place = place(&job.sources, fact.span);
            (fact.relation, &fact.cells, RecordedGround::Job(place.clone()), place)
        });
        for (relation, cells, ground, place) in given.chain(tables) {
            let row: Vec<Option<Term>> = cells.iter().map(|value| Some(terms.term(value))).collect();
            match facts.with(relation, &row) {
                Some(fact) => {
                    self.of[fact].push(Yields { ground: Some(ground), known: true, from: Vec::new() })
                }
                None => {
                    let about = facts.written(relation, &row, terms);
                    problems.report_at(Some(place), about, "a recorded fact", "none");
                }
            }
        }
        [job.facts.len(), rulebook.facts.len()]
    }

    /// Questions that nobody answered.
    pub fn unanswered(&mut self, facts: &Facts<'_>, terms: &Terms, problems: &mut Problems) -> usize {
        let mut count = 0;
        for (index, relation) in facts.rulebook.relations.iter().enumerate() {
            let Origin::Question(question) = &relation.origin else { continue };
            if question.left_out.is_some() {
                continue;
            }
            let id = RelationId::new(index);
            let mut asked: Vec<Vec<Option<Term>>> = facts
                .of(question.subject)
                .map(|subject| {
                    question.filled_by.iter().map(|role| facts.all[subject].cells[*role]).collect()
                })
                .collect();
            asked.sort_unstable();
            asked.dedup();
            for mut cells in asked {
                let known = |fact: usize| !facts.all[fact].open && facts.all[fact].cells.starts_with(&cells);
                let answered = match cells.first() {
                    Some(Some(term)) => facts.with_cell(id, 0, *term).iter().any(|fact| known(*fact)),
                    _ => facts.of(id).any(known),
                };
                if answered {
                    continue;
                }
                count += 1;
                let about: Vec<String> = cells
                    .iter()
                    .map(|cell| cell.map_or("not known".to_owned(), |term| terms.value(term).to_string()))
                    .collect();
                cells.push(None);
                match facts.with(id, &cells) {
                    Some(fact) => {
                        let ground = Some(RecordedGround::Unanswered);
                        self.of[fact].push(Yields { ground, known: false, from: Vec::new() });
                    }
                    None => {
                        let about = format!("the question {} about {}", relation.name, about.join(", "));
                        problems.report(about, "an answer, or an open fact", "neither");
                    }
                }
            }
        }
        count
    }

    /// What the applications yield: the recorded ones, and those that are missing.
    pub fn concluded(
        &mut self,
        comparison: &mut RecordComparison<'_, '_, '_>,
        missing: &[(usize, Vec<usize>, Judged)],
    ) {
        let facts = comparison.facts;
        for number in 0..comparison.applied.len() {
            let Applied { finding, givens, judged, .. } = &comparison.applied[number];
            let Some(judged) = judged else { continue };
            let (about, place) = (comparison.named(*finding, number), comparison.place(*finding));
            let conclusions = comparison.conclusions(*finding, judged);
            let drawn = self.draw(facts, &conclusions, givens, judged.open, Some(number));
            let lacking =
                conclusions.into_iter().filter(|(relation, cells)| facts.with(*relation, cells).is_none());
            let lacking: Vec<String> =
                lacking.map(|(relation, cells)| facts.written(relation, &cells, comparison.terms)).collect();
            if !drawn && lacking.is_empty() {
                let expected = "a recorded fact that it yields";
                comparison.problems.report_at(place.clone(), &about, expected, "none");
            }
            for fact in lacking {
                comparison.problems.report_at(
                    place.clone(),
                    &about,
                    format!("it yields {fact}"),
                    "no such fact",
                );
            }
        }
        for (finding, givens, judged) in missing {
            let conclusions = comparison.conclusions(*finding, judged);
            let lacking = conclusions.iter().any(|(relation, cells)| facts.with(*relation, cells).is_none());
            if self.draw(facts, &conclusions, givens, judged.open, None) || lacking {
                let names: Vec<String> =
                    givens.iter().map(|fact| facts.named(*fact, comparison.terms)).collect();
                let id = &comparison.shapes[*finding].finding.id;
                let about = match &names[..] {
                    [] => format!("the finding {id}"),
                    names => format!("the finding {id}, which applies to {}", names.join(" and ")),
                };
                let place = comparison.place(*finding);
                comparison.problems.report_at(place, about, "that it is recorded", "it is missing");
            }
        }
    }

    /// Notes the recorded facts that an application yields; whether there are any.
    fn draw(
        &mut self,
        facts: &Facts<'_>,
        conclusions: &[Conclusion],
        givens: &[usize],
        open: bool,
        number: Option<usize>,
    ) -> bool {
        let ground = number.map(RecordedGround::Finding);
        let mut any = false;
        for (relation, cells) in conclusions {
            // What is known anyway is not shown again by what is open.
            let Some(fact) = facts.with(*relation, cells).filter(|fact| !open || facts.all[*fact].open)
            else {
                continue;
            };
            any = true;
            // Two conclusions of one application may be the same fact.
            let twice = ground.is_some() && self.of[fact].iter().any(|other| other.ground == ground);
            if !twice {
                self.of[fact].push(Yields { ground: ground.clone(), known: !open, from: givens.to_vec() });
            }
        }
        any
    }

    /// Holds the grounds of every fact against the recorded ones.
    pub fn compare(
        &self,
        facts: &Facts<'_>,
        applied: &[Applied<'_>],
        record: &Record,
        terms: &Terms,
        problems: &mut Problems,
    ) {
        let recorded = record.facts.iter().flat_map(|relation| relation.known.iter().chain(&relation.open));
        for (number, recorded) in recorded.enumerate().take(self.of.len()) {
            let before = problems.all.len();
            self.compare_one(number, recorded, facts, terms, problems);
            if problems.all.len() == before {
                self.compare_order(number, recorded, facts, applied, terms, problems);
            }
        }
    }

    /// Holds the order of a fact's grounds against the one that decides which reason is stated: the job, tables, the lack of
    /// an answer, findings in the order of the rulebook and of the cells of their facts, computations.
    fn compare_order(
        &self,
        number: usize,
        recorded: &RecordedFact,
        facts: &Facts<'_>,
        applied: &[Applied<'_>],
        terms: &Terms,
        problems: &mut Problems,
    ) {
        let rank = |ground: &RecordedGround| match ground {
            RecordedGround::Job(_) => 0,
            RecordedGround::Table(_) => 1,
            RecordedGround::Unanswered => 2,
            RecordedGround::Finding(_) => 3,
            RecordedGround::Computed(_) => 4,
        };
        let by_cells = |one: &[usize], other: &[usize]| {
            let pairs = one.iter().zip(other);
            let mut orders = pairs.map(|(one, other)| facts.compare(*one, *other, terms));
            orders.find(|order| order.is_ne()).unwrap_or(Ordering::Equal)
        };
        let mut expected: Vec<&RecordedGround> =
            self.of[number].iter().filter_map(|yields| yields.ground.as_ref()).collect();
        // What stands in texts comes in their order already.
        expected.sort_by(|one, other| match (one, other) {
            (RecordedGround::Finding(one), RecordedGround::Finding(other)) => {
                let (one, other) = (&applied[*one], &applied[*other]);
                one.finding.cmp(&other.finding).then_with(|| by_cells(&one.givens, &other.givens))
            }
            (RecordedGround::Computed(one), RecordedGround::Computed(other)) => {
                by_cells(&one.from, &other.from)
            }
            (one, other) => rank(one).cmp(&rank(other)),
        });
        if !expected.iter().copied().eq(&recorded.by) {
            let all = |grounds: &[&RecordedGround]| {
                grounds
                    .iter()
                    .map(|ground| described(ground, &self.texts))
                    .collect::<Vec<_>>()
                    .join(", then ")
            };
            let about = format!("the order of what yields {}", facts.named(number, terms));
            problems.report(about, all(&expected), all(&recorded.by.iter().collect::<Vec<_>>()));
        }
    }

    fn compare_one(
        &self,
        number: usize,
        recorded: &RecordedFact,
        facts: &Facts<'_>,
        terms: &Terms,
        problems: &mut Problems,
    ) {
        let yields = &self.of[number];
        let known = yields.iter().any(|yields| yields.known);
        if yields.is_empty() {
            problems.report(facts.named(number, terms), "something that yields it", "nothing");
        } else if known == facts.all[number].open {
            let word = |known: bool| if known { "known" } else { "open" };
            problems.report(facts.named(number, terms), word(known), word(!known));
        }
        let mut left: Vec<&RecordedGround> =
            yields.iter().filter_map(|yields| yields.ground.as_ref()).collect();
        let mut false_ones = Vec::new();
        for ground in &recorded.by {
            match left.iter().position(|expected| *expected == ground) {
                Some(at) => drop(left.remove(at)),
                None => false_ones.push(ground),
            }
        }
        let about = || format!("what yields {}", facts.named(number, terms));
        for ground in false_ones {
            // Of what is expected and missing, one of the same kind was meant.
            let same_kind =
                |other: &&RecordedGround| std::mem::discriminant(*other) == std::mem::discriminant(ground);
            let meant = left.iter().position(same_kind).or((!left.is_empty()).then_some(0));
            let expected =
                meant.map_or("no such ground".to_owned(), |at| described(left.remove(at), &self.texts));
            problems.report(about(), expected, described(ground, &self.texts));
        }
        left.into_iter()
            .for_each(|ground| problems.report(about(), described(ground, &self.texts), "not told"));
    }

    /// Facts that rest on themselves: nothing yields them that does not rest on them in turn.
    pub fn circles(&self, facts: &Facts<'_>, terms: &Terms, problems: &mut Problems) {
        let mut founded = vec![false; self.of.len()];
        let mut resting: Vec<Vec<usize>> = vec![Vec::new(); self.of.len()];
        for (fact, yields) in self.of.iter().enumerate() {
            for from in yields.iter().flat_map(|yields| &yields.from) {
                resting[*from].push(fact);
            }
        }
        let mut waiting: Vec<usize> = (0..self.of.len()).collect();
        while let Some(fact) = waiting.pop() {
            let holds = |yields: &Yields| yields.from.iter().all(|from| founded[*from]);
            if !founded[fact] && self.of[fact].iter().any(holds) {
                founded[fact] = true;
                waiting.extend(resting[fact].iter().filter(|other| !founded[**other]));
            }
        }
        for (fact, _) in founded.iter().enumerate().filter(|(_, founded)| !**founded) {
            if !self.of[fact].is_empty() {
                let found = "it rests on itself, or on what nothing yields";
                problems.report(facts.named(fact, terms), "grounds that do not rest on it", found);
            }
        }
    }
}

fn described(ground: &RecordedGround, texts: &Texts) -> String {
    match ground {
        RecordedGround::Table(place) => format!("the table row at {place}"),
        RecordedGround::Job(place) => format!("the job at {place}"),
        RecordedGround::Unanswered => "a question without an answer".to_owned(),
        RecordedGround::Finding(number) => format!("application {number}"),
        RecordedGround::Computed(computation) => format!(
            "computed from the facts {:?} by method {}: {}",
            computation.from,
            computation.method,
            computation
                .steps
                .iter()
                .map(|step| texts.all.get(*step).map_or("a text that is not there", String::as_str))
                .collect::<Vec<_>>()
                .join("; ")
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::super::applied::RecordComparison;
    use super::super::shapes::shapes;
    use super::super::small_record::{record, rules, symbol};
    use super::*;
    use crate::record::{Application, RecordBudget, RecordedFinding, RecordedMet};
    use crate::verify::Premises;

    const RULES: &str = "relation a(x: name)\nrelation b(x: name)\n\
        table a\n    cite common practice\n    rock\n\
        finding t.there\n    says \"{X}\"\n    cite common practice\n    given a(X)\n    hence b(X)\n\
        finding t.back\n    says \"{X}\"\n    cite common practice\n    given b(X)\n    hence a(X)\n";

    /// Facts `a` and `b` of each name, each yielded by the other; and what the checker finds wrong with that.
    fn problems(names: &[&str]) -> Vec<String> {
        let rulebook = rules(RULES);
        let many = names.len();
        let facts = |of: usize| -> Vec<RecordedFact> {
            let fact = |(at, name): (usize, &&str)| {
                let mut by = vec![RecordedGround::Finding(of * many + at)];
                if of == 0 && *name == "rock" {
                    by.insert(0, RecordedGround::Table("t.why:5".to_owned()));
                }
                RecordedFact { cells: vec![symbol(name)], by }
            };
            names.iter().enumerate().map(fact).collect()
        };
        // `t.back` comes first, and takes `b`, whose numbers follow those of `a`.
        let applied = |of: usize| -> Vec<Application> {
            let met = |at| vec![RecordedMet::Given((1 - of) * many + at)];
            (0..many).map(|at| Application { open: false, met: met(at) }).collect()
        };
        let record = Record {
            findings: [("t.back", 0), ("t.there", 1)]
                .map(|(name, of)| RecordedFinding {
                    finding: name.to_owned(),
                    first: of * many,
                    applied: applied(of),
                })
                .into(),
            ..record([("a", facts(0), Vec::new()), ("b", facts(1), Vec::new())])
        };
        let (mut terms, mut problems) = (Terms::default(), Problems::default());
        let facts = Facts::read(&rulebook, &record, &mut terms, &mut problems);
        let shapes = shapes(&rulebook, &mut terms);
        let mut grounds = Grounds::new(&facts, &record.texts);
        for row in &rulebook.facts {
            let cells: Vec<Option<Term>> = row.cells.iter().map(|cell| Some(terms.term(cell))).collect();
            let fact = facts.with(row.relation, &cells).expect("the row");
            let ground = Some(RecordedGround::Table("t.why:5".to_owned()));
            grounds.of[fact].push(Yields { ground, known: true, from: Vec::new() });
        }
        let mut comparison = RecordComparison {
            facts: &facts,
            terms: &mut terms,
            texts: &record.texts,
            shapes: &shapes,
            problems: &mut problems,
            premises: Premises::default(),
            applied: Vec::new(),
        };
        assert!(comparison.read(&record));
        let missing = comparison.judge(&RecordBudget::default()).expect("a small record");
        grounds.concluded(&mut comparison, &missing);
        let applied = comparison.applied;
        grounds.compare(&facts, &applied, &record, &terms, &mut problems);
        assert!(problems.all.is_empty(), "each step by itself holds: {:?}", problems.all);
        grounds.circles(&facts, &terms, &mut problems);
        problems.all.into_iter().map(|problem| problem.about).collect()
    }

    #[test]
    fn what_rests_on_itself_alone_is_reported() {
        assert_eq!(problems(&["rock"]), [""; 0]);
        assert_eq!(problems(&["rock", "air"]), ["fact 1, \"a(x: air)\"", "fact 3, \"b(x: air)\""]);
    }
}
