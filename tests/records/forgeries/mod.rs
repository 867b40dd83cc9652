//! Forgeries: each changes one thing in a record, as somebody might who wants another answer to pass, and says by which names
//! it should be told. No tests live here.

mod applications;
mod facts;
mod texts;

use crate::support::job_sample::Seeded;
use whyrod::record::*;

/// Changes a record and gives names of which the check must tell one; `None` where the record has nothing of the kind.
pub type Change = fn(&mut Record, &mut Seeded) -> Option<Vec<String>>;

/// Every kind of forgery.
pub const CHANGES: &[(&str, Change)] = &[
    ("a number in a fact", facts::number_in_a_fact),
    ("a number in a fact, by the last bit", facts::last_bit_in_a_fact),
    ("a name in a fact", facts::name_in_a_fact),
    ("two facts with each other's cells", facts::cells_swapped),
    ("a ground left out", facts::ground_left_out),
    ("grounds in another order", facts::grounds_turned),
    ("a cell of a row of a table", facts::row_of_a_table),
    ("a cell of a statement of the job", facts::statement_of_the_job),
    ("a value that was computed", facts::computed_value),
    ("the place of a row of a table", facts::place_of_a_row),
    ("an absence in another relation", applications::absence_elsewhere),
    ("a text told twice", texts::text_twice),
    ("a text that facts refer to", texts::text_changed),
    ("a ground told twice", facts::ground_twice),
    ("a ground made up", facts::ground_made_up),
    ("another application as ground", facts::ground_swapped),
    ("a fact left out", facts::fact_left_out),
    ("a fact left out and the numbers closed up", facts::fact_closed_up),
    ("a forged fact", facts::forged_fact),
    ("a relation left out", facts::relation_left_out),
    ("a known fact called open", facts::known_called_open),
    ("an open fact called known", facts::open_called_known),
    ("an application called open, or known", applications::application_turned),
    ("another finding's name", applications::finding_renamed),
    ("an application left out", applications::application_left_out),
    ("an application told twice", applications::application_twice),
    ("two premises swapped", applications::premises_swapped),
    ("a premise left out", applications::premise_left_out),
    ("a premise replaced", applications::premise_replaced),
    ("the value of a let", applications::let_value),
    ("the value of an aggregate", applications::aggregate_value),
    ("a member of an aggregate left out", applications::member_left_out),
    ("a condition turned", applications::condition_turned),
    ("an absence of something else", applications::absence_changed),
    ("an absence of less", applications::absence_narrowed),
    ("an absence left open by another fact", applications::absence_opened),
    ("what went into a computation", applications::computation_premises),
    ("a step of a working", applications::working_step),
    ("the method of a working", applications::working_method),
    ("a verdict", texts::verdict_forged),
    ("a standing", texts::standing_forged),
    ("anything in the report", texts::report_leaf),
    ("something left out of the report", texts::report_left_out),
    ("a recommendation", texts::recommendation),
    ("a figure of the rules", texts::rule_figure),
    ("a figure of the rules, with its fingerprint", texts::rule_figure_sealed),
    ("a figure of the job", texts::job_figure),
    ("a figure of the job, with its fingerprint", texts::job_figure_sealed),
    ("a fingerprint", texts::fingerprint_changed),
    ("the thermodynamic data, with their fingerprint", texts::data_sealed),
    ("a rule file left out, with the fingerprint", texts::rule_file_left_out),
    ("the program's name", texts::program_name),
    ("a unit", texts::unit_changed),
];

/// The number of a text that nothing refers to yet.
fn other_text(record: &mut Record) -> usize {
    record.texts.push("something else".to_owned());
    record.texts.len() - 1
}

fn count(record: &Record) -> usize {
    record.facts.iter().map(|relation| relation.known.len() + relation.open.len()).sum()
}

/// A fact by its number, with the name of its relation.
fn fact(record: &mut Record, number: usize) -> (&mut RecordedFact, String) {
    let mut left = number;
    for relation in &mut record.facts {
        let name = relation.relation.clone();
        let here = relation.known.len() + relation.open.len();
        if left < here {
            let mut facts = relation.known.iter_mut().chain(&mut relation.open);
            return (facts.nth(left).expect("a fact"), name);
        }
        left -= here;
    }
    panic!("no fact {number}")
}

/// A random fact that `keep` likes, by number.
fn some_fact(
    record: &mut Record,
    random: &mut Seeded,
    keep: impl Fn(&RecordedFact) -> bool,
) -> Option<usize> {
    let all = record.facts.iter().flat_map(|relation| relation.known.iter().chain(&relation.open));
    let liked: Vec<usize> =
        all.enumerate().filter(|(_, fact)| keep(fact)).map(|(number, _)| number).collect();
    (!liked.is_empty()).then(|| *random.one_of(&liked))
}

/// Calls `change` with every number of a fact.
fn each_number(record: &mut Record, mut change: impl FnMut(&mut usize)) {
    for relation in &mut record.facts {
        change(&mut relation.first);
        for ground in relation.known.iter_mut().chain(&mut relation.open).flat_map(|fact| &mut fact.by) {
            if let RecordedGround::Computed(computation) = ground {
                computation.from.iter_mut().for_each(&mut change);
            }
        }
    }
    for met in applications(record).flat_map(|application| &mut application.met) {
        match met {
            RecordedMet::Given(number) => change(number),
            RecordedMet::Unless(absence) => absence.open.iter_mut().for_each(&mut change),
            RecordedMet::Aggregate(aggregate) => aggregate.over.iter_mut().for_each(&mut change),
            RecordedMet::Where(_) | RecordedMet::Let(_) => {}
        }
    }
}

fn applications(record: &mut Record) -> impl Iterator<Item = &mut Application> {
    record.findings.iter_mut().flat_map(|finding| &mut finding.applied)
}

/// A random application that `keep` likes: its number and the name of its finding.
fn some_application(
    record: &Record,
    random: &mut Seeded,
    keep: impl Fn(&Application) -> bool,
) -> Option<(usize, String)> {
    let all =
        record.findings.iter().flat_map(|finding| finding.applied.iter().map(|one| (one, &finding.finding)));
    let liked: Vec<(usize, String)> = all
        .enumerate()
        .filter(|(_, (application, _))| keep(application))
        .map(|(number, (_, name))| (number, name.clone()))
        .collect();
    (!liked.is_empty()).then(|| random.one_of(&liked).clone())
}

fn application(record: &mut Record, number: usize) -> &mut Application {
    applications(record).nth(number).expect("an application")
}

fn is_number(cell: &RecordedCell) -> bool {
    matches!(cell, RecordedCell::Number(_))
}

fn nudge(cell: &mut RecordedCell, by: impl Fn(f64) -> f64) {
    if let RecordedCell::Number(RecordedNumber::Plain(base) | RecordedNumber::Shown(base, _)) = cell {
        *base = by(*base);
    }
}
