//! The job again with changed facts: a rulebook made ready once, a fact changed in the text of the job file, and what the
//! change brings. How it is worded is decided in `show`.

mod adjustable;
mod border;
mod borders;
mod combine;
mod effort;
mod found;
mod listed;
mod margins;
mod open_questions;
mod session;
mod setting;
mod single;
mod smallest;
mod suppose;
mod text;
mod tied;
mod trial;
mod worked_out;

pub use adjustable::End;
pub use border::{Border, Stretch};
pub use listed::with_listed;
pub use margins::{Fall, Limit, Margin, Toppled, margins};
pub use open_questions::{
    Accepts, Alternative, DecidingQuestion, JointOutcome, JointState, OpenQuestions, Reason, Remaining,
    made_firm, open_questions, reasons,
};
pub use session::{Assessment, Candidacy, ChangeError, Obstacle, Session};
pub use setting::{Path, Setting, SettingError, Written};
pub use smallest::{Change, Changes, smallest_changes};
pub use suppose::{FillerMoved, JointMoved, JudgingFinding, Moved, StandingMoved, Supposed, suppose};
pub use text::{JobText, PlaceError};
