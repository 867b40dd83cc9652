//! Sets of changes as they are found, before they are put in order and worded.

use super::border::Stretch;
use super::setting::Setting;
use crate::verdict::Verdict;

/// Several changes together are looked for only where fewer single ones than this were found.
pub(super) const ENOUGH: usize = 3;

/// A set of changes that brings a verdict, before it is ranked.
#[derive(Clone, Debug)]
pub(super) struct Found {
    pub steps: Vec<Step>,
    pub goal: Verdict,
}

/// One change of a set.
#[derive(Clone, Debug)]
pub(super) struct Step {
    /// Which adjustable fact, by its place.
    pub adjustable: usize,
    /// Which scale of it, where it moves a number.
    pub scale: Option<usize>,
    pub setting: Setting,
    /// The numbers that will do.
    pub stretches: Vec<Stretch>,
    /// How far it goes, for ranking.
    pub movement: f64,
}

impl Found {
    /// The settings of the set.
    pub fn settings(&self) -> Vec<Setting> {
        settings(&self.steps)
    }
}

/// The settings of some steps.
pub(super) fn settings(steps: &[Step]) -> Vec<Setting> {
    steps.iter().map(|step| step.setting.clone()).collect()
}
