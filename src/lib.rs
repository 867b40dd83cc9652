//! Which filler rod for an aluminium joint, and why.
//!
//! Data flows one way: a [`job`] becomes facts, the [`engine`] derives what a rulebook ([`language`]) says of them, with
//! relations [`computed`] by the [`metallurgy`]; [`verdict`] collects what was concluded, [`change`] finds what other facts
//! would bring, [`explain`] says why, and [`show`] puts it on a page. [`ask`] puts open questions to the user, and a [`record`]
//! files a decision with all that it rests on, and [`verify`] checks one by itself.
//! [`command`] is the thin face over all of it.
//!
//! ```
//! use whyrod::engine::Recording;
//! use whyrod::explain::{Extent, why};
//! use whyrod::{built_in, job, verdict};
//!
//! let rulebook = built_in()?;
//! let job = r#"
//!     title = "Lamp bracket"
//!     [parts.arm]
//!     alloy = "6061-T6"
//!     thickness = "3 mm"
//!     [[joints]]
//!     name = "elbow"
//!     between = ["arm", "arm"]
//!     weld = "fillet"
//!     process = "GTAW"
//!     [service]
//!     sustained-temperature = "20 °C"
//!     lowest-temperature = "5 °C"
//!     exposure = "dry"
//!     finish = "none"
//!     forming = "none"
//!     heat-treatment = "none"
//! "#;
//! let job = job::read_job("lamp.toml", job.as_bytes(), &rulebook)?;
//! let decision = verdict::decide(&rulebook, job, Recording::Everything)?;
//! let report = decision.report();
//! assert_eq!(report.joints[0].recommended, ["4043"]);
//!
//! // The reason, in a sentence, and the derivation behind it as a graph of plain data.
//! let answer = why(&decision, &report, "elbow", "4043", Extent::First)?;
//! println!("{}", answer.derivation.nodes[answer.derivation.roots[0]].text);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

pub mod ask;
mod built_in;
pub mod change;
pub mod command;
pub mod compare;
pub mod computed;
pub mod engine;
pub mod explain;
mod files;
pub mod job;
pub mod language;
pub mod metallurgy;
pub mod mixture;
mod processors;
pub mod quantity;
pub mod record;
pub mod relations;
pub mod show;
pub mod verdict;
pub mod verify;
pub mod visible;

pub use built_in::{built_in, built_in_files};
