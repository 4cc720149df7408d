//! What is judged: a facility's records over a period, as of a day, with its computed run beside them.

use chrono::NaiveDate;

use crate::balance::Ledger;
use crate::facility::model::Facility;
use crate::records::Timeline;
use crate::rules::discharge::DischargeDays;
use crate::rules::metered::volumes;
use crate::rules::plan::span_of;
use crate::rules::points::{MetersOn, meters_on};
use crate::rules::readings::Reading;
use crate::rules::{Counted, Drawn, Limit, LimitPlan, RulesFile};
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
    pub predict: &'a dyn Fn(&LimitPlan) -> Vec<Drawn>,
}

/// What a limit's judgement needs under one way to count, worked out once.
pub(crate) struct Prepared {
    /// The days judged: the period, where the limit is in force, not beyond the day of judgement.
    pub span: (NaiveDate, NaiveDate),
    /// The last day on which something can be missing.
    pub judged_to: NaiveDate,
    /// The first day that a window reaching back may begin on.
    pub earliest: NaiveDate,
    /// Meters on the limit's ways.
    pub meters: MetersOn,
    /// Their volumes, m³.
    pub volumes: Vec<Reading>,
    /// On which days something flowed.
    pub days: DischargeDays,
}

impl Prepared {
    /// Works it out; none where the limit was not in force on any day judged.
    pub fn new(limit: &Limit, counted: &Counted, case: &Case<'_>) -> Option<Self> {
        let (from, to) = span_of(case.rules, limit, case.period)?;
        let span = (from, to.min(case.as_of));
        if span.0 > span.1 {
            return None;
        }
        let meters = meters_on(&limit.at, case.facility, case.ledger);
        let volumes = volumes(&meters, case.facility, case.timeline);
        let first_record = case.timeline.observations.first().map(|row| row.day);
        let first_day = [
            first_record,
            case.ledger.map(Ledger::first_day),
            Some(case.period.0),
        ]
        .into_iter()
        .flatten()
        .min()
        .unwrap_or(case.period.0);
        let in_force = case.rules.in_force.map_or(first_day, |(first, _)| first);
        let version = limit
            .holds
            .dates
            .and_then(|(first, _)| first)
            .unwrap_or(first_day);
        let earliest = first_day.max(in_force).max(version);
        let reach = (
            crate::rules::windows::earlier(span.0, 7),
            crate::rules::windows::later(span.1, 7),
        );
        let days = DischargeDays::of(
            &limit.at,
            reach,
            counted.dry_look,
            case.facility,
            case.timeline,
            case.ledger,
        );
        Some(Self {
            span,
            judged_to: span.1,
            earliest,
            meters,
            volumes,
            days,
        })
    }
}
