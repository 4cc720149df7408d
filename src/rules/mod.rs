//! What may leave, when, and how it is shown: windows, decision, evidence, duties, notices.

mod counting;
mod decimal;
mod finding;
pub mod interval;
pub mod windows;

pub use counting::{
    BetweenLevels, Counted, Counting, Divisor, DryLook, LeastData, LoadFactor, Matters, Rounding,
    RoundingRule, Several, Straddling, Substitute, Switch, Weighting,
};
pub use decimal::{Number, Tie};
pub use finding::{
    Evidence, Figure, Finding, FindingKind, Judged, Missing, Outcome, Provenance, StripData,
    WindowFinding,
};
pub use interval::Interval;
