//! Answers that move a joint which is settled as far as the rules go: some findings take what is usual where an answer is
//! missing, and something else once it is there. Such answers are found by filling in what is missing, in several ways.

use super::alternatives::worth_trying;
use super::place::QuestionPlace;
use super::with_answers::JobWithAnswers;
use crate::change::session::ChangeError;
use crate::change::text::JobText;
use crate::engine::GivenFact;
use crate::language::{Type, Value};
use std::cell::Cell;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// Numbers are filled in from these places between the least and the greatest that are tried, in sixths: each of them with
/// every word of the question that has most.
const SIXTHS: [usize; 3] = [1, 3, 5];

/// So many times more all is filled in with numbers of unlike size.
const MIXED: usize = 4;

/// For each question of which the answer moves a settled joint, the fillers that come or go; empty where none does.
pub(super) fn sampled_influence(
    answered: JobWithAnswers<'_, '_>,
    text: &JobText,
    joint: &str,
    places: &[QuestionPlace],
    recommended_so_far: &[Arc<str>],
) -> Result<BTreeMap<QuestionPlace, BTreeSet<Arc<str>>>, ChangeError> {
    let answers: Vec<(&QuestionPlace, Vec<Value>)> = places
        .iter()
        .map(|place| {
            let values = place.values(answered.session, answered.job, text);
            (place, worth_trying(values.as_ref(), place.key(answered.session).answer))
        })
        .filter(|(_, values)| !values.is_empty())
        .collect();
    if answers.is_empty() {
        return Ok(BTreeMap::new());
    }
    let quick = Cell::new(true);
    let moved = |filled: &[Option<usize>]| -> Result<BTreeSet<Arc<str>>, ChangeError> {
        let facts: Vec<GivenFact> = answers
            .iter()
            .zip(filled)
            .filter_map(|((place, values), chosen)| Some((place, &values[(*chosen)?])))
            .flat_map(|(place, value)| place.facts(answered.session, value))
            .collect();
        let now = answered.outcome(joint, &facts, None, &quick)?;
        let possible = now.possible();
        let gone = recommended_so_far.iter().filter(|filler| !now.recommended.contains(filler));
        let come = possible.iter().filter(|filler| !recommended_so_far.contains(filler));
        Ok(gone.chain(come).cloned().collect())
    };
    let is_word = |place: &QuestionPlace| matches!(place.key(answered.session).answer, Type::Word(_));
    let words = answers.iter().filter(|(place, _)| is_word(place)).map(|(_, values)| values.len());
    let alike = SIXTHS.len() * words.max().unwrap_or(1);
    for way in 0..alike + MIXED {
        let (turn, sixths) = (way / SIXTHS.len(), SIXTHS[way % SIXTHS.len()]);
        let choose = |(number, (place, values)): (usize, &(&QuestionPlace, Vec<Value>))| {
            Some(match (is_word(place), way < alike) {
                (true, _) => (turn + number) % values.len(),
                (false, true) => (values.len() - 1) * sixths / 6,
                // Any step that shares no factor with the lengths mixes well enough.
                (false, false) => (way * 11 + number * 5) % values.len(),
            })
        };
        let mut filled: Vec<Option<usize>> = answers.iter().enumerate().map(choose).collect();
        let fillers = moved(&filled)?;
        if fillers.is_empty() {
            continue;
        }
        // What can be taken back without losing the move has no part in it.
        for number in 0..filled.len() {
            let chosen = filled[number].take();
            if moved(&filled)?.is_empty() {
                filled[number] = chosen;
            }
        }
        let part = answers.iter().zip(filled).filter(|(_, chosen)| chosen.is_some());
        return Ok(part.map(|((place, _), _)| ((*place).clone(), fillers.clone())).collect());
    }
    Ok(BTreeMap::new())
}
