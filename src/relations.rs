//! Every relation that the program knows by its name, with the roles that it fills or reads: what a job states, by what verdicts are
//! read, what steers the search for changes, what is computed and what a pool shows. Rulebooks declare them; what they
//! mean there is the rulebook's business.

use crate::language::{RelationId, Rulebook, Value};

/// A relation that the program knows, with the roles that it uses, by name.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct KnownRelation<const N: usize> {
    /// Its name.
    pub name: &'static str,
    /// The roles.
    pub roles: [&'static str; N],
}

/// A relation in a rulebook, and the places of the roles that were asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Placed<const N: usize> {
    /// The relation.
    pub relation: RelationId,
    /// For each role asked for, its index.
    pub roles: [usize; N],
}

/// What becomes of a job where a rulebook does not declare a relation.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Without {
    /// No job can be decided.
    Nothing,
    /// This is left out, and all else is done.
    Lost(&'static str),
}

/// A relation as it is listed for the check of a rulebook.
#[derive(Clone, Copy, Debug)]
pub struct Listed {
    /// Its name.
    pub name: &'static str,
    /// The roles that the program uses.
    pub roles: &'static [&'static str],
    /// What is lost without it.
    pub without: Without,
}

impl<const N: usize> KnownRelation<N> {
    const fn new(name: &'static str, roles: [&'static str; N]) -> Self {
        KnownRelation { name, roles }
    }

    /// Where it stands in a rulebook; `None` where the rulebook declares none such, or one without a role.
    pub fn find(&self, rulebook: &Rulebook) -> Option<Placed<N>> {
        let relation = rulebook.relation(self.name)?;
        let declared = &rulebook.relations[relation.index()].roles;
        let mut roles = [0; N];
        for (place, name) in roles.iter_mut().zip(self.roles) {
            *place = declared.iter().position(|role| role.name == name)?;
        }
        Some(Placed { relation, roles })
    }

    /// What the tables of a rulebook have in one of its roles, in their order.
    pub fn column<'r>(&self, rulebook: &'r Rulebook, role: usize) -> impl Iterator<Item = &'r Value> {
        let placed = self.find(rulebook);
        let facts = rulebook.facts.iter();
        facts.filter_map(move |fact| {
            let Placed { relation, roles } = placed?;
            (fact.relation == relation).then(|| &fact.cells[roles[role]])
        })
    }

    /// The name with its roles, as a rulebook declares them: `usable(joint, filler)`.
    pub fn declared(&self) -> String {
        format!("{}({})", self.name, self.roles.join(", "))
    }

    const fn needed(&'static self) -> Listed {
        Listed { name: self.name, roles: &self.roles, without: Without::Nothing }
    }

    const fn lost(&'static self, what: &'static str) -> Listed {
        Listed { name: self.name, roles: &self.roles, without: Without::Lost(what) }
    }
}

// What a job states.
/// A joint.
pub static JOINT: KnownRelation<1> = KnownRelation::new("joint", ["joint"]);
/// A part and its alloy.
pub static PART: KnownRelation<2> = KnownRelation::new("part", ["part", "alloy"]);
/// The two parts that a joint lies between.
pub static BETWEEN: KnownRelation<3> = KnownRelation::new("between", ["joint", "first", "second"]);
/// The dilution that a job gives.
pub static GIVEN_DILUTION: KnownRelation<2> = KnownRelation::new("given-dilution", ["joint", "range"]);
/// The load that a joint carries.
pub static LOAD: KnownRelation<3> = KnownRelation::new("load", ["joint", "shear", "length"]);
/// A filler that a job lists.
pub static STOCKED: KnownRelation<1> = KnownRelation::new("stocked", ["filler"]);
/// The order of criteria that a job asks for.
pub static RANKED: KnownRelation<2> = KnownRelation::new("ranked", ["criterion", "rank"]);
/// The base alloys.
pub static BASE_ALLOY: KnownRelation<1> = KnownRelation::new("base-alloy", ["alloy"]);
/// Other spellings of a base alloy.
pub static ALSO_WRITTEN: KnownRelation<2> = KnownRelation::new("also-written", ["alloy", "written"]);
/// The fillers.
pub static FILLER: KnownRelation<1> = KnownRelation::new("filler", ["filler"]);
/// Other spellings of a filler.
pub static FILLER_ALSO_WRITTEN: KnownRelation<2> =
    KnownRelation::new("filler-also-written", ["filler", "written"]);
/// Answers that cannot be true together.
pub static IMPOSSIBLE: KnownRelation<2> = KnownRelation::new("impossible", ["joint", "at"]);

// By what verdicts are read.
/// A filler that is a candidate at a joint.
pub static CANDIDATE: KnownRelation<2> = KnownRelation::new("candidate", ["joint", "filler"]);
/// A filler that a criterion rules out.
pub static BARRED: KnownRelation<3> = KnownRelation::new("barred", ["joint", "filler", "criterion"]);
/// A filler that nothing judges on a criterion; computed, so that no rulebook can leave it out.
pub static UNJUDGED: KnownRelation<3> = KnownRelation::new("unjudged", ["joint", "filler", "criterion"]);
/// A filler that may be used.
pub static USABLE: KnownRelation<2> = KnownRelation::new("usable", ["joint", "filler"]);
/// A filler that is recommended.
pub static RECOMMENDED: KnownRelation<2> = KnownRelation::new("recommended", ["joint", "filler"]);
/// A filler that beats another on a criterion.
pub static BEATS: KnownRelation<4> = KnownRelation::new("beats", ["joint", "winner", "loser", "criterion"]);
/// What single findings say of a filler on a criterion.
pub static GRADED: KnownRelation<4> = KnownRelation::new("graded", ["joint", "filler", "criterion", "level"]);
/// What holds of a filler on a criterion in the end.
pub static STANDING: KnownRelation<4> =
    KnownRelation::new("standing", ["joint", "filler", "criterion", "level"]);
/// The place of a criterion in the order in which they count.
pub static PLACE: KnownRelation<2> = KnownRelation::new("place", ["criterion", "value"]);
/// A caution.
pub static CAUTION: KnownRelation<2> = KnownRelation::new("caution", ["joint", "about"]);
/// How easy a filler is to get.
pub static STOCK_LEVEL: KnownRelation<2> = KnownRelation::new("stock-level", ["filler", "level"]);
/// Why one is better on a criterion, in plain words.
pub static PLAINLY: KnownRelation<2> = KnownRelation::new("plainly", ["criterion", "reason"]);
/// A row that a rulebook misses.
pub static INCOMPLETE: KnownRelation<2> = KnownRelation::new("incomplete", ["about", "lacks"]);

// What steers the search for changes.
/// How hard a kind of fact is to change.
pub static HARD_TO_CHANGE: KnownRelation<2> = KnownRelation::new("hard-to-change", ["path", "effort"]);
/// Facts that the service demands.
pub static GIVEN_BY_SERVICE: KnownRelation<1> = KnownRelation::new("given-by-service", ["path"]);
/// Facts that nobody sets.
pub static NEVER_OFFERED: KnownRelation<1> = KnownRelation::new("never-offered", ["path"]);
/// Alloys that are not sold as plate or section.
pub static NEVER_PLATE: KnownRelation<1> = KnownRelation::new("never-plate", ["alloy"]);
/// What is taken in place of a fact that a job leaves out.
pub static WORKED_OUT: KnownRelation<4> =
    KnownRelation::new("worked-out", ["path", "relation", "least", "most"]);

/// Every relation that the program knows beside those that it computes, which are checked with what they are computed from.
pub static ALL: [Listed; 30] = [
    JOINT.needed(),
    PART.needed(),
    BETWEEN.needed(),
    CANDIDATE.needed(),
    BARRED.needed(),
    UNJUDGED.needed(),
    USABLE.needed(),
    RECOMMENDED.needed(),
    BEATS.needed(),
    GRADED.needed(),
    STANDING.needed(),
    PLACE.needed(),
    CAUTION.needed(),
    GIVEN_DILUTION.lost("use of a dilution that a job gives"),
    LOAD.lost("check of a load that a job gives"),
    STOCKED.lost("list of fillers in a job"),
    RANKED.lost("order of criteria in a job"),
    BASE_ALLOY.lost("base alloy, and so no part that can be read"),
    ALSO_WRITTEN.lost("other spelling of a base alloy"),
    FILLER.lost("filler to choose from"),
    FILLER_ALSO_WRITTEN.lost("other spelling of a filler"),
    IMPOSSIBLE.lost("refusal of answers that cannot be true together"),
    STOCK_LEVEL.lost("preference of the assembly answer for fillers that are kept"),
    PLAINLY.lost("reason in plain words for why a filler is better"),
    INCOMPLETE.lost("check of its own for rows that are missing"),
    HARD_TO_CHANGE.lost("order among what could be changed"),
    GIVEN_BY_SERVICE.lost("line between what can be chosen and what the service demands"),
    NEVER_OFFERED.lost("list of what nobody sets by hand"),
    NEVER_PLATE.lost("list of metals that are not sold as plate"),
    WORKED_OUT.lost("margin of a dilution or a size that the job leaves out"),
];
