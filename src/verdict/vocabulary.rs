//! The relations by which a rulebook states its verdicts, found by name. What they mean is the rulebook's business.

use crate::language::{RelationId, Rulebook, Type};

/// A relation and the places of its roles.
#[derive(Clone, Debug)]
pub struct Placed<const N: usize> {
    /// The relation.
    pub relation: RelationId,
    /// For each role asked for, its index.
    pub roles: [usize; N],
}

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
#[error("this rulebook cannot decide a job: it declares no relation {relation}({})", roles.join(", "))]
pub struct VocabularyError {
    relation: &'static str,
    roles: Vec<&'static str>,
}

fn placed<const N: usize>(
    rulebook: &Rulebook,
    relation: &'static str,
    roles: [&'static str; N],
) -> Result<Placed<N>, VocabularyError> {
    let missing = || VocabularyError { relation, roles: roles.to_vec() };
    let id = rulebook.relation(relation).ok_or_else(missing)?;
    let declared = &rulebook.relations[id.index()].roles;
    let mut places = [0; N];
    for (place, name) in places.iter_mut().zip(roles) {
        *place = declared.iter().position(|role| role.name == name).ok_or_else(missing)?;
    }
    Ok(Placed { relation: id, roles: places })
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
            candidate: placed(rulebook, "candidate", ["joint", "filler"])?,
            barred: placed(rulebook, "barred", ["joint", "filler", "criterion"])?,
            unjudged: placed(rulebook, "unjudged", ["joint", "filler", "criterion"])?,
            usable: placed(rulebook, "usable", ["joint", "filler"])?,
            recommended: placed(rulebook, "recommended", ["joint", "filler"])?,
            beats: placed(rulebook, "beats", ["joint", "winner", "loser", "criterion"])?,
            graded: placed(rulebook, "graded", ["joint", "filler", "criterion", "level"])?,
            standing: placed(rulebook, "standing", ["joint", "filler", "criterion", "level"])?,
            place: placed(rulebook, "place", ["criterion", "value"])?,
            caution: placed(rulebook, "caution", ["joint", "about"])?,
            stock_level: placed(rulebook, "stock-level", ["filler", "level"]).ok(),
            plainly: placed(rulebook, "plainly", ["criterion", "reason"]).ok(),
        })
    }
}
