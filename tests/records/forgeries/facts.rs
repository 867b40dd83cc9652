//! Forged facts, and forged grounds of facts. No tests live here.

use super::*;

fn cell_changed(
    record: &mut Record,
    random: &mut Seeded,
    like: fn(&RecordedCell) -> bool,
    change: impl Fn(&mut RecordedCell),
) -> Option<Vec<String>> {
    let number = some_fact(record, random, |fact| fact.cells.iter().any(like))?;
    let (fact, _) = fact(record, number);
    let mut cells: Vec<&mut RecordedCell> = fact.cells.iter_mut().filter(|cell| like(cell)).collect();
    let at = random.below(cells.len());
    change(cells[at]);
    Some(vec![format!("fact {number}")])
}

pub fn number_in_a_fact(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    cell_changed(record, random, is_number, |cell| nudge(cell, |base| base * 1.25 + 0.125))
}

pub fn last_bit_in_a_fact(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    cell_changed(record, random, is_number, |cell| nudge(cell, f64::next_up))
}

pub fn name_in_a_fact(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    let is_name = |cell: &RecordedCell| matches!(cell, RecordedCell::Symbol(_));
    let other = other_text(record);
    cell_changed(record, random, is_name, |cell| *cell = RecordedCell::Symbol(other))
}

pub fn cells_swapped(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    let liked: Vec<usize> =
        (0..record.facts.len()).filter(|relation| record.facts[*relation].known.len() > 1).collect();
    let relation = &mut record.facts[*random.one_of(&liked)];
    // Facts of one row of a table stand on the same line, and which is which shows only in what rests on them.
    let apart: Vec<usize> = (0..relation.known.len() - 1)
        .filter(|at| relation.known[*at].by != relation.known[at + 1].by)
        .collect();
    if apart.is_empty() {
        return None;
    }
    let at = *random.one_of(&apart);
    let cells = relation.known[at].cells.clone();
    relation.known[at].cells = std::mem::replace(&mut relation.known[at + 1].cells, cells);
    Some(vec![format!("fact {}", relation.first + at), format!("fact {}", relation.first + at + 1)])
}

pub fn ground_left_out(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    let number = some_fact(record, random, |_| true)?;
    let (fact, _) = fact(record, number);
    fact.by.remove(random.below(fact.by.len()));
    Some(vec![format!("fact {number}")])
}

/// Rotates what yields a fact: another reason comes to stand first.
pub fn grounds_turned(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    let number = some_fact(record, random, |fact| fact.by.len() > 1)?;
    let (fact, _) = fact(record, number);
    fact.by.rotate_left(1);
    Some(vec![format!("the order of what yields fact {number}")])
}

/// Changes a cell of a fact that a table, the job or a computation yields.
fn cell_of(
    record: &mut Record,
    random: &mut Seeded,
    from: fn(&RecordedGround) -> bool,
) -> Option<Vec<String>> {
    let other = other_text(record);
    let liked = |cell: &RecordedCell| matches!(cell, RecordedCell::Symbol(_) | RecordedCell::Number(_));
    let number = some_fact(record, random, |fact| fact.by.iter().any(from) && fact.cells.iter().any(liked))?;
    let (fact, _) = fact(record, number);
    let mut cells: Vec<&mut RecordedCell> = fact.cells.iter_mut().filter(|cell| liked(cell)).collect();
    let at = random.below(cells.len());
    match &mut *cells[at] {
        RecordedCell::Symbol(name) => *name = other,
        cell => nudge(cell, |base| base * 1.5 + 0.25),
    }
    Some(vec![format!("fact {number}")])
}

pub fn row_of_a_table(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    cell_of(record, random, |ground| matches!(ground, RecordedGround::Table(_)))
}

pub fn statement_of_the_job(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    cell_of(record, random, |ground| matches!(ground, RecordedGround::Job(_)))
}

pub fn computed_value(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    cell_of(record, random, |ground| matches!(ground, RecordedGround::Computed(_)))
}

/// Says that a row stands on another line.
pub fn place_of_a_row(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    let is_row = |ground: &RecordedGround| matches!(ground, RecordedGround::Table(_));
    let number = some_fact(record, random, |fact| fact.by.iter().any(is_row))?;
    let (fact, _) = fact(record, number);
    for ground in &mut fact.by {
        if let RecordedGround::Table(place) = ground {
            place.push('1');
        }
    }
    Some(vec![format!("fact {number}")])
}

pub fn ground_twice(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    let number = some_fact(record, random, |_| true)?;
    let (fact, _) = fact(record, number);
    fact.by.push(random.one_of(&fact.by).clone());
    Some(vec![format!("fact {number}")])
}

pub fn ground_made_up(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    let place = format!("{}:1", random.one_of(&record.rulebook.files).file);
    let number = some_fact(record, random, |_| true)?;
    let (fact, _) = fact(record, number);
    let made_up = match random.below(3) {
        0 => RecordedGround::Table(place),
        1 => RecordedGround::Job("job.toml:1".to_owned()),
        _ if fact.by.contains(&RecordedGround::Unanswered) => return None,
        _ => RecordedGround::Unanswered,
    };
    let at = random.below(fact.by.len());
    match random.chance(50) {
        true => fact.by[at] = made_up,
        false => fact.by.push(made_up),
    }
    Some(vec![format!("fact {number}")])
}

pub fn ground_swapped(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    let most = applications(record).count();
    let concluded = |fact: &RecordedFact| matches!(fact.by[..], [RecordedGround::Finding(_)]);
    let number = some_fact(record, random, concluded)?;
    let (fact, _) = fact(record, number);
    let other = RecordedGround::Finding(random.below(most + 3));
    (fact.by[0] != other).then(|| fact.by[0] = other)?;
    Some(vec![format!("fact {number}")])
}

fn remove(record: &mut Record, number: usize) -> (RecordedFact, String) {
    let mut left = number;
    for relation in &mut record.facts {
        for facts in [&mut relation.known, &mut relation.open] {
            if left < facts.len() {
                return (facts.remove(left), relation.relation.clone());
            }
            left -= facts.len();
        }
    }
    panic!("no fact {number}")
}

pub fn fact_left_out(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    let number = random.below(count(record));
    let (_, relation) = remove(record, number);
    // What comes behind has other numbers now.
    Some(vec![relation, "number of the first fact".to_owned(), "fact ".to_owned()])
}

pub fn fact_closed_up(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    let number = random.below(count(record));
    let (fact, relation) = remove(record, number);
    each_number(record, |other| *other -= usize::from(*other > number));
    let mut names = vec![format!("{relation}("), format!("question {relation} ")];
    for ground in fact.by {
        names.extend(match ground {
            RecordedGround::Finding(number) => Some(format!("application {number} ")),
            RecordedGround::Table(place) | RecordedGround::Job(place) => Some(place),
            RecordedGround::Unanswered | RecordedGround::Computed(_) => None,
        });
    }
    Some(names)
}

pub fn forged_fact(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    let other = other_text(record);
    let at = random.below(record.facts.len());
    let relation = &mut record.facts[at];
    let facts = if relation.known.is_empty() { &mut relation.open } else { &mut relation.known };
    let mut forged = random.one_of(facts).clone();
    match &mut forged.cells[0] {
        RecordedCell::Symbol(name) => *name = other,
        cell => nudge(cell, |base| base + 1.0),
    }
    facts.push(forged);
    let number = relation.first + facts.len() - 1;
    each_number(record, |other| *other += usize::from(*other >= number && *other > 0));
    record.facts[at].first -= usize::from(record.facts[at].first > number);
    Some(vec![format!("fact {number}")])
}

pub fn relation_left_out(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    let left_out = record.facts.remove(random.below(record.facts.len()));
    let (from, many) = (left_out.first, left_out.known.len() + left_out.open.len());
    each_number(record, |other| *other -= if *other > from { many.min(*other - from) } else { 0 });
    Some(vec![left_out.relation.clone(), "premise".to_owned(), "given ".to_owned(), "application".to_owned()])
}

pub fn known_called_open(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    let at = random.below(record.facts.len());
    let relation = &mut record.facts[at];
    let fact = relation.known.pop()?;
    relation.open.insert(0, fact);
    Some(vec![format!("fact {}", relation.first + relation.known.len())])
}

pub fn open_called_known(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    let liked: Vec<usize> = (0..record.facts.len()).filter(|at| !record.facts[*at].open.is_empty()).collect();
    if liked.is_empty() {
        return None;
    }
    let relation = &mut record.facts[*random.one_of(&liked)];
    let fact = relation.open.remove(0);
    relation.known.push(fact);
    Some(vec![format!("fact {}", relation.first + relation.known.len() - 1)])
}
