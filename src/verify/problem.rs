//! What is wrong with a record, named: about what, what was expected and what was found.

use serde::Serialize;

/// Something that does not hold.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct Problem {
    /// Which fact, finding, file or verdict it is about.
    pub about: String,
    /// Where in the recorded rulebook or job it stands, where it stands there.
    pub place: Option<String>,
    /// What follows from the rest of the record.
    pub expected: String,
    /// What the record says.
    pub found: String,
}

/// Every problem so far.
#[derive(Default)]
pub(super) struct Problems {
    pub all: Vec<Problem>,
}

impl Problems {
    /// One more.
    pub fn report(
        &mut self,
        about: impl Into<String>,
        expected: impl Into<String>,
        found: impl Into<String>,
    ) {
        self.report_at(None, about, expected, found);
    }

    /// One more, about something that stands at a place.
    pub fn report_at(
        &mut self,
        place: Option<String>,
        about: impl Into<String>,
        expected: impl Into<String>,
        found: impl Into<String>,
    ) {
        self.all.push(Problem { about: about.into(), place, expected: expected.into(), found: found.into() });
    }
}
