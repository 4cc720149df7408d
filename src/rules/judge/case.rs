//! What is judged: a facility's records over a period, as of a day, with its computed run beside them.

use chrono::NaiveDate;

use crate::balance::Ledger;
use crate::facility::model::Facility;
use crate::records::Timeline;
use crate::rules::{Drawn, LimitPlan, RulesFile};
use crate::weather::DailyWeather;

/// Everything a judgement rests on.
pub struct Case<'a> {
    /// The facility.
    pub facility: &'a Facility,
    /// Its rules file.
    pub rules: &'a RulesFile,
    /// Its records.
    pub timeline: &'a Timeline,
    /// Its weather.
    pub weather: Option<&'a DailyWeather>,
    /// The single run in the middle of every range.
    pub ledger: Option<&'a Ledger>,
    /// First and last day judged.
    pub period: (NaiveDate, NaiveDate),
    /// The day of judgement: what comes after it is not missing yet.
    pub as_of: NaiveDate,
    /// Evaluates a plan in every draw ([`LimitPlan::drawn`] on each member's series). An empty answer means that
    /// nothing was drawn: the middle run then stands alone and its outcome is undecided at most.
    pub predict: &'a (dyn Fn(&LimitPlan) -> Vec<Drawn> + Sync),
}
