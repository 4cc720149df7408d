//! What may leave, when, and how it is shown: windows, decision, evidence, duties, notices.
//!
//! [`read`] reads the user's rules file; [`judge`] holds a period's records against it and gives findings, worst first;
//! [`sentences`] reads each limit back. What has no record is only ever predicted, from draws that the caller makes:
//! [`watched`] names the daily series they need, [`plans`] gives what evaluates them ([`LimitPlan::drawn`]).
//!
//! The order of a judgement: the version of a limit in force; qualified data, results below detection and readings over
//! several days kept as intervals; daily value; the window's statistic at both ends and as the permit counts; rounded
//! once, last, in decimal, only if the permit says so; compared, equality meeting "at most"; outcome. Exceeded outranks
//! not shown outranks met; a computed figure never yields met; too little data never yields met.

mod acts;
mod amount_means;
mod amounts;
mod case;
mod clock_window;
mod conditions;
mod convert;
mod counting;
mod decide;
mod decimal;
mod duties;
mod duty;
mod each;
mod evaluate;
mod figures;
mod finding;
pub mod interval;
mod judge;
mod lacking;
mod likely;
mod loads;
mod measure;
mod model;
mod no_discharge;
mod notices;
mod plan;
mod points;
mod predicted;
mod printed;
mod read;
mod readings;
mod scene;
mod sentences;
pub mod statistics;
mod storm;
mod text;
mod tiers;
mod typed_rate;
mod values;
mod weirs;
pub mod windows;

pub use case::Case;
pub use counting::{
    BetweenLevels, Counted, Counting, Divisor, DryLook, LeastData, LoadFactor, Matters, Rounding, RoundingRule,
    Several, Straddling, Substitute, Switch, Weighting,
};
pub use decide::{Side, side};
pub use decimal::{Number, Tie};
pub use duty::DueStretch;
pub use finding::{
    Evidence, Figure, Finding, FindingKind, Judged, Missing, Outcome, Provenance, StripData, WindowFinding,
};
pub use interval::Interval;
pub use judge::judge;
pub use model::{
    BeforeIt, Bound, Condition, ConditionOf, CountRule, Except, Holds, Limit, Notices, Point, RulesFile, SampleDuty,
    Subject, Tier,
};
pub use plan::{Drawn, LimitPlan, plans, watched};
pub use read::{from_tree, read};
pub use sentences::{sentence, sentences};
pub use statistics::Statistic;
