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

mod decimal;
mod duty;
pub(crate) mod file;
mod judge;
mod measure;
pub(crate) mod predict;
mod printed;
pub mod window;

pub use crate::rules::file::counting::{
    BetweenLevels, Counted, Counting, Divisor, DryLook, LeastData, LoadFactor, Matters, Rounding, RoundingRule,
    Several, Straddling, Substitute, Switch, Weighting,
};
pub use crate::rules::file::model::{
    AfterRain, BeforeIt, Bound, Carried, Condition, ConditionOf, CountRule, Except, Holds, Limit, MonthlyLoad, Notices,
    Point, RulesFile, SampleDuty, Subject, Tier,
};
pub use crate::rules::file::read::{from_tree, read, schema};
pub use crate::rules::file::sentences::{counting_of_all, sentence, sentences};
pub use crate::rules::judge::case::Case;
pub use crate::rules::judge::finding::{
    Evidence, Figure, Finding, FindingKind, Judged, Missing, Outcome, Provenance, StripData, TOO_LATE, WindowFinding,
};
pub use crate::rules::measure::weirs::HEAD_FIGURES;
pub use crate::rules::predict::plan::{Drawn, LimitPlan, plans, watched};
pub use crate::rules::window::decide::{Side, side};
pub use crate::rules::window::interval::Interval;
pub use crate::rules::window::statistics::Statistic;
pub(crate) use crate::rules::window::windows::days_label;
pub use decimal::{Number, Tie};
pub use duty::DueStretch;
pub use judge::{Limits, judge, judge_limits};
