//! Runs of an option: the single one with its ledger, and many members that give watched series only.

use std::ops::Range;

use chrono::NaiveDate;

use crate::balance;
use crate::balance::{DailySeries, Draw, Run, Watch};
use crate::facility::model::Facility;
use crate::records::Timeline;
use crate::told::Problems;
use crate::weather::DailyWeather;

/// What every option shares: weather, days, and records that drive none of them.
#[derive(Debug, Clone, Copy)]
pub struct Shared<'a> {
    /// The weather.
    pub weather: &'a DailyWeather,
    /// Records without any that would drive an option.
    pub timeline: &'a Timeline,
    /// First and last day.
    pub period: (NaiveDate, NaiveDate),
    /// Seed of the members.
    pub seed: u64,
}

/// The single run: the middle of every range.
///
/// # Errors
/// What makes a balance impossible, with its place in the file.
pub fn single(facility: &Facility, shared: &Shared<'_>) -> Result<Run, Problems> {
    balance::run(facility, shared.weather, shared.timeline, shared.period, &Draw::MIDDLE)
}

/// Members by number: what `each` makes of a member's watched series, in order of number.
///
/// # Errors
/// As for [`single`].
pub fn members<T: Send>(
    facility: &Facility,
    shared: &Shared<'_>,
    numbers: Range<u64>,
    watches: &[Watch],
    each: impl Fn(u64, &[DailySeries]) -> T + Sync,
) -> Result<Vec<T>, Problems> {
    if numbers.is_empty() {
        return Ok(Vec::new());
    }
    let ensemble = balance::ensemble(
        facility,
        shared.weather,
        shared.timeline,
        shared.period,
        shared.seed,
        numbers,
        watches,
        each,
    )?;
    Ok(ensemble.members)
}
