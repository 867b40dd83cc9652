//! A weld pool without a job: what it holds, how it freezes, and how it stands in the two measures of cracking. The rulebook
//! says what metals hold and reads the composition curves; the freezing is `metallurgy::freezing`.

mod answer;
mod ask;
mod composition;
mod facts;
mod reader;

pub use answer::{
    ContentRange, Cracking, CurveReading, FreezingReport, Mixture, PhaseReport, Sample, Silicide, Sweep,
    SweepPoint,
};
pub use ask::{MixtureError, PoolQuestion, mixture, sweep};
pub use composition::parse_composition;

pub use crate::metallurgy::freezing::Database as FreezingData;
