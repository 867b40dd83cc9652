//! The relations by which a rulebook states its verdicts, found by name. What they mean is the rulebook's business.

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
#[error("this rulebook cannot decide a job: it declares no relation {declared}")]
pub struct VocabularyError {
    declared: String,
}

fn placed<const N: usize>(
    rulebook: &Rulebook,
    known: &KnownRelation<N>,
) -> Result<Placed<N>, VocabularyError> {
    known.find(rulebook).ok_or_else(|| VocabularyError { declared: known.declared() })
}

impl Vocabulary {
    /// How bad a level is: the place of its word in the rulebook's list of levels, which runs from best to worst. A word that
    /// is not in it, such as none at all, is worse than any.
    pub fn severity(&self, rulebook: &Rulebook, level: &str) -> usize {
        let Type::Word(levels) =
            rulebook.relations[self.graded.relation.index()].roles[self.graded.roles[3]].ty
        else {
            return 0;
        };
        let words = &rulebook.kinds[levels.index()].words;
        words.iter().position(|word| **word == *level).unwrap_or(words.len())
    }

    /// Finds every relation, or says which one is missing.
    pub fn of(rulebook: &Rulebook) -> Result<Vocabulary, VocabularyError> {
        Ok(Vocabulary {
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
        })
    }
}
