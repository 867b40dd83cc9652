//! The job again with changed facts: a rulebook made ready once, a fact changed in the text of the job file, and what the
//! change brings. Which words tell it is decided in `show`.

mod border;
mod borders;
mod combine;
mod lever;
mod listed;
mod margins;
mod outlook;
mod session;
mod setting;
mod smallest;
mod suppose;
mod text;
mod tied;
mod trial;
mod worked_out;

pub use border::{Border, Stretch};
pub use lever::End;
pub use listed::with_listed;
pub use margins::{Fall, Limit, Margin, Toppled, margins};
pub use outlook::{
    Accepts, Alternative, DecidingQuestion, JointOutcome, JointOutlook, Outlook, Reason, Remaining, look_out,
    made_firm, reasons,
};
pub use session::{ChangeError, Look, Obstacle, Question, Session};
pub use setting::{NotationError, Path, Setting, Written};
pub use smallest::{Change, Changes, smallest_changes};
pub use suppose::{FillerMoved, FindingTold, JointMoved, Moved, StandingMoved, Supposed, suppose};
pub use text::{JobText, PlaceError};
