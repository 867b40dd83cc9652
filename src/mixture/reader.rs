//! Reading what a rulebook concluded of a pool: relations and roles are found by name.

use super::answer::{ContentRange, CurveReading, Silicide};
use crate::engine::{Derivation, FactId, Ground, Status};
use crate::language::{Rulebook, Value};
use crate::metallurgy::freezing::SteepnessSettings;
use crate::quantity::Quantity;
use crate::verdict::{finding_sentence, rounded};
use std::collections::BTreeMap;

/// Reads known facts of a relation by the names of its roles.
pub(super) struct PoolReader<'d, 'r> {
    pub rulebook: &'r Rulebook,
    pub derivation: &'d Derivation<'r>,
}

impl PoolReader<'_, '_> {
    pub fn facts(&self, relation: &str) -> Vec<FactId> {
        let Some(id) = self.rulebook.relation(relation) else { return Vec::new() };
        self.derivation.facts(id).filter(|fact| self.derivation.status(*fact) == Status::Known).collect()
    }

    pub fn value(&self, fact: FactId, role: &str) -> Option<Value> {
        let roles = &self.rulebook.relations[fact.relation.index()].roles;
        let place = roles.iter().position(|known| known.name == role)?;
        self.derivation.cell(fact, place).cloned()
    }

    pub fn text(&self, fact: FactId, role: &str) -> String {
        self.value(fact, role).map(|value| value.to_string()).unwrap_or_default()
    }

    pub fn number(&self, fact: FactId, role: &str) -> Option<Quantity> {
        match self.value(fact, role)? {
            Value::Number(quantity) => Some(quantity),
            _ => None,
        }
    }

    pub fn of_filler(&self, relation: &str, filler: &str) -> Vec<FactId> {
        self.facts(relation).into_iter().filter(|fact| self.text(*fact, "filler") == filler).collect()
    }

    pub fn composition(&self, filler: &str) -> BTreeMap<String, ContentRange> {
        self.of_filler("pool", filler)
            .into_iter()
            .filter_map(|fact| {
                let contents = ContentRange {
                    lowest: self.number(fact, "lowest")?,
                    nominal: self.number(fact, "nominal")?,
                    highest: self.number(fact, "highest")?,
                };
                Some((self.text(fact, "element"), contents))
            })
            .collect()
    }

    /// What a metal is meant to hold, with its limits: `meant(metal, element, share)` within `limits(metal, element,
    /// lowest, …, highest)`.
    pub fn alloying(
        &self,
        meant: &str,
        limits: &str,
        role: &str,
        metal: &str,
    ) -> BTreeMap<String, ContentRange> {
        let of = |relation: &str| {
            self.facts(relation)
                .into_iter()
                .filter(|fact| self.text(*fact, role) == metal)
                .collect::<Vec<_>>()
        };
        let limits: BTreeMap<String, (Quantity, Quantity)> = of(limits)
            .into_iter()
            .filter_map(|fact| {
                let ends = (self.number(fact, "lowest")?, self.number(fact, "highest")?);
                Some((self.text(fact, "element"), ends))
            })
            .collect();
        of(meant)
            .into_iter()
            .filter_map(|fact| {
                let (element, nominal) = (self.text(fact, "element"), self.number(fact, "share")?);
                let (lowest, highest) = limits.get(&element).copied().unwrap_or((nominal, nominal));
                Some((element, ContentRange { lowest, nominal, highest }))
            })
            .collect()
    }

    pub fn curve(&self, filler: &str) -> Option<CurveReading> {
        self.of_filler("sensitivity", filler).into_iter().find_map(|fact| {
            Some(CurveReading {
                name: self.text(fact, "system"),
                value: rounded(self.number(fact, "typical")?.base),
                worst: rounded(self.number(fact, "worst")?.base),
            })
        })
    }

    pub fn silicide(&self, filler: &str) -> Option<Silicide> {
        self.of_filler("makeup", filler).into_iter().find_map(|fact| {
            Some(Silicide {
                mg2si: self.number(fact, "silicide")?,
                free_silicon: self.number(fact, "free-silicon")?,
                spare_magnesium: self.number(fact, "spare-magnesium")?,
            })
        })
    }

    /// What the rulebook says of which measure governs, where it says so.
    pub fn governs(&self, filler: &str) -> Vec<String> {
        let mut sentences: Vec<String> = self
            .of_filler("cracking-measure", filler)
            .into_iter()
            .flat_map(|fact| self.derivation.grounds(fact))
            .filter_map(|ground| match ground {
                Ground::Finding(instance) => {
                    let finding = &self.rulebook.findings[instance.finding.index()];
                    Some(finding_sentence(finding, &self.derivation.bindings(&instance)))
                }
                _ => None,
            })
            .collect();
        sentences.dedup();
        sentences
    }

    /// Cut-off and window of the steepness index, by the rulebook or as usual.
    pub fn steepness(&self) -> SteepnessSettings {
        let of = |fact: FactId| {
            Some(SteepnessSettings {
                cut_off: self.number(fact, "cut-off")?.base,
                window: self.number(fact, "window")?.base,
            })
        };
        self.facts("steepness-setting").into_iter().find_map(of).unwrap_or_default()
    }
}
