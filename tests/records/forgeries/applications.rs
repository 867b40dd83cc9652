//! Forged applications of findings, and forged computations. No tests live here.

use super::*;

pub fn application_turned(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    let (number, _) = some_application(record, random, |_| true)?;
    let application = application(record, number);
    application.open = !application.open;
    Some(vec![format!("application {number} ")])
}

pub fn finding_renamed(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    let names: Vec<String> = record.findings.iter().map(|finding| finding.finding.clone()).collect();
    let at = random.below(names.len());
    let other = random.one_of(&names).clone();
    if names[at] == other {
        return None;
    }
    record.findings[at].finding = other.clone();
    Some(vec![names[at].clone(), other])
}

pub fn application_left_out(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    let (number, name) = some_application(record, random, |_| true)?;
    for finding in &mut record.findings {
        let within = number.checked_sub(finding.first).filter(|at| *at < finding.applied.len());
        if let Some(at) = within {
            finding.applied.remove(at);
        }
        finding.first -= usize::from(finding.first > number);
    }
    for relation in &mut record.facts {
        for fact in relation.known.iter_mut().chain(&mut relation.open) {
            fact.by.retain(|ground| *ground != RecordedGround::Finding(number));
            for ground in &mut fact.by {
                if let RecordedGround::Finding(other) = ground {
                    *other -= usize::from(*other > number);
                }
            }
        }
    }
    Some(vec![name])
}

pub fn application_twice(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    let finding = record.findings.last_mut()?;
    let again = random.one_of(&finding.applied).clone();
    finding.applied.push(again);
    Some(vec![finding.finding.clone()])
}

pub fn premises_swapped(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    let (number, name) = some_application(record, random, |application| application.met.len() > 1)?;
    let met = &mut application(record, number).met;
    let at = random.below(met.len() - 1);
    if met[at] == met[at + 1] {
        return None;
    }
    met.swap(at, at + 1);
    Some(vec![format!("application {number} "), name])
}

pub fn premise_left_out(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    let (number, _) = some_application(record, random, |application| !application.met.is_empty())?;
    let met = &mut application(record, number).met;
    met.remove(random.below(met.len()));
    Some(vec![format!("application {number} ")])
}

pub fn premise_replaced(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    let facts = count(record);
    let (number, name) = some_application(record, random, |application| {
        application.met.iter().any(|met| matches!(met, RecordedMet::Given(_)))
    })?;
    let other = random.below(facts + 2);
    let mut givens = application(record, number).met.iter_mut();
    let given = givens.find(|met| matches!(met, RecordedMet::Given(_)))?;
    if *given == RecordedMet::Given(other) {
        return None;
    }
    *given = RecordedMet::Given(other);
    Some(vec![format!("application {number} "), name])
}

/// Changes the first premise of some application that `change` can change.
fn met_changed(
    record: &mut Record,
    random: &mut Seeded,
    change: impl Fn(&mut RecordedMet) -> bool,
) -> Option<Vec<String>> {
    let can = |application: &Application| application.met.iter().any(|met| change(&mut met.clone()));
    let (number, _) = some_application(record, random, can)?;
    let mut met = application(record, number).met.iter_mut();
    met.any(&change).then(|| vec![format!("application {number} ")])
}

pub fn let_value(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    let one_bit = random.chance(50);
    met_changed(record, random, |met| match met {
        RecordedMet::Let(RecordedValue { value }) if is_number(value) => {
            nudge(value, |base| if one_bit { base.next_up() } else { base + 1.0 });
            true
        }
        _ => false,
    })
}

pub fn aggregate_value(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    met_changed(record, random, |met| match met {
        RecordedMet::Aggregate(aggregate) => {
            match is_number(&aggregate.value) {
                true => nudge(&mut aggregate.value, |base| base + 1.0),
                false => aggregate.value = RecordedCell::Number(RecordedNumber::Plain(1.0)),
            }
            true
        }
        _ => false,
    })
}

pub fn member_left_out(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    met_changed(record, random, |met| match met {
        RecordedMet::Aggregate(aggregate) => aggregate.over.pop().is_some(),
        _ => false,
    })
}

pub fn condition_turned(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    met_changed(record, random, |met| match met {
        RecordedMet::Where(truth) => {
            let open = *truth == RecordedTruth::Open;
            *truth = if open { RecordedTruth::Holds } else { RecordedTruth::Open };
            true
        }
        _ => false,
    })
}

pub fn absence_changed(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    let other = other_text(record);
    met_changed(record, random, |met| match met {
        RecordedMet::Unless(absence) => match absence.with.first_mut() {
            Some((_, RecordedCell::Symbol(name))) => {
                *name = other;
                true
            }
            _ => false,
        },
        _ => false,
    })
}

pub fn absence_narrowed(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    met_changed(record, random, |met| match met {
        RecordedMet::Unless(absence) => absence.with.pop().is_some(),
        _ => false,
    })
}

pub fn absence_opened(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    met_changed(record, random, |met| match met {
        RecordedMet::Unless(absence) => {
            match absence.open.pop() {
                Some(_) => {}
                None => absence.open.push(0),
            }
            true
        }
        _ => false,
    })
}

fn computation_changed(
    record: &mut Record,
    random: &mut Seeded,
    change: impl Fn(&mut RecordedComputation, &mut Seeded) -> bool,
) -> Option<Vec<String>> {
    let number = some_fact(record, random, |fact| matches!(fact.by[..], [RecordedGround::Computed(_)]))?;
    let RecordedGround::Computed(computation) = &mut fact(record, number).0.by[0] else { return None };
    change(computation, random).then(|| vec![format!("fact {number}")])
}

pub fn computation_premises(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    computation_changed(record, random, |computation, random| {
        let at = random.below(computation.from.len());
        match random.below(3) {
            0 => drop(computation.from.remove(at)),
            1 => computation.from[at] += 1,
            _ if computation.from.len() < 2 => return false,
            _ => computation.from.rotate_left(1),
        }
        true
    })
}

pub fn absence_elsewhere(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    let other = other_text(record);
    met_changed(record, random, |met| match met {
        RecordedMet::Unless(absence) => {
            absence.no = other;
            true
        }
        _ => false,
    })
}

pub fn working_step(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    let other = other_text(record);
    computation_changed(record, random, |computation, random| {
        if computation.steps.is_empty() {
            return false;
        }
        let at = random.below(computation.steps.len());
        computation.steps[at] = other;
        true
    })
}

pub fn working_method(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    if random.chance(30) {
        record.methods[0].push_str(", roughly");
        return Some(vec!["the methods".to_owned()]);
    }
    computation_changed(record, random, |computation, _| {
        computation.method += 1;
        true
    })
}
