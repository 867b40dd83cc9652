//! The relations by which a rulebook states its verdicts, found by name. What they mean is the rulebook's business.

use super::level::Level;
use crate::language::{Rulebook, Type};
use crate::relations::{self, KnownRelation, Placed};

/// Where the relations that carry verdicts stand in a rulebook.
#[derive(Clone, Debug)]
pub struct Vocabulary {
    /// `candidate(joint, filler)`
    pub candidate: Placed<2>,
    /// `barred(joint, filler, criterion)`
    pub barred: Placed<3>,
    /// `unjudged(joint, filler, criterion)`: computed, so that no rulebook can leave it out.
    pub unjudged: Placed<3>,
    /// `usable(joint, filler)`
    pub usable: Placed<2>,
    /// `recommended(joint, filler)`
    pub recommended: Placed<2>,
    /// `beats(joint, winner, loser, criterion)`
    pub beats: Placed<4>,
    /// `graded(joint, filler, criterion, level)`: what single findings say.
    pub graded: Placed<4>,
    /// `standing(joint, filler, criterion, level)`: what holds in the end.
    pub standing: Placed<4>,
    /// `place(criterion, value)`: the criteria's order.
    pub place: Placed<2>,
    /// `caution(joint, about)`
    pub caution: Placed<2>,
    /// `stock-level(filler, level)`, where the rulebook says how easy fillers are to get.
    pub stock_level: Option<Placed<2>>,
    /// `plainly(criterion, reason)`, where the rulebook has it.
    pub plainly: Option<Placed<2>>,
}

/// A rulebook that lacks a relation or role that verdicts are read from.
#[derive(Clone, Debug, thiserror::Error)]
pub enum VocabularyError {
    /// A relation, or a role of it.
    #[error("this rulebook cannot decide a job: it declares no relation {declared}")]
    Relation {
        /// The relation with its roles.
        declared: String,
    },
    /// The levels that findings give.
    #[error(
        "this rulebook cannot decide a job: the levels of `{relation}` are words of their own, and must be {}",
        Level::GIVEN.map(Level::word).join(", ")
    )]
    Levels {
        /// The relation that gives levels.
        relation: &'static str,
    },
}

fn placed<const N: usize>(
    rulebook: &Rulebook,
    known: &KnownRelation<N>,
) -> Result<Placed<N>, VocabularyError> {
    known.find(rulebook).ok_or_else(|| VocabularyError::Relation { declared: known.declared() })
}

impl Vocabulary {
    /// Finds every relation, or says which one is missing.
    pub fn of(rulebook: &Rulebook) -> Result<Vocabulary, VocabularyError> {
        let found = Vocabulary {
            candidate: placed(rulebook, &relations::CANDIDATE)?,
            barred: placed(rulebook, &relations::BARRED)?,
            unjudged: placed(rulebook, &relations::UNJUDGED)?,
            usable: placed(rulebook, &relations::USABLE)?,
            recommended: placed(rulebook, &relations::RECOMMENDED)?,
            beats: placed(rulebook, &relations::BEATS)?,
            graded: placed(rulebook, &relations::GRADED)?,
            standing: placed(rulebook, &relations::STANDING)?,
            place: placed(rulebook, &relations::PLACE)?,
            caution: placed(rulebook, &relations::CAUTION)?,
            stock_level: relations::STOCK_LEVEL.find(rulebook),
            plainly: relations::PLAINLY.find(rulebook),
        };
        let graded = &rulebook.relations[found.graded.relation.index()].roles[found.graded.roles[3]];
        let has_levels = match graded.ty {
            Type::Word(kind) => {
                let words = rulebook.kinds[kind.index()].words.iter().map(|word| &**word);
                words.eq(Level::GIVEN.map(Level::word))
            }
            _ => false,
        };
        if !has_levels {
            return Err(VocabularyError::Levels { relation: relations::GRADED.name });
        }
        Ok(found)
    }
}
