//! Runs of an option: the single one with its ledger, and many members that give watched series only.

use std::ops::Range;

use chrono::NaiveDate;

use crate::balance;
use crate::balance::{DailySeries, Draw, Run, Watch};
use crate::facility::model::Facility;
use crate::records::Timeline;
use crate::told::Problems;
use crate::weather::{DailyWeather, RainDay};

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

/// What is not known, in one sentence for all that rests on it: rain first, else the values that the user left open.
pub(super) fn not_known(run: &Run, weather: &DailyWeather) -> Option<String> {
    let not_known = |day: &RainDay| day.depth_mm.is_none();
    let days = weather.rain.iter().filter(|day| not_known(day)).count();
    if let Some(first) = weather.rain.iter().position(not_known) {
        let first = weather.first_day + chrono::Days::new(first as u64);
        return Some(format!(
            "the rain of {days} of {} days is not known ({} {}), and much rests on it",
            weather.rain.len(),
            if days == 1 { "that of" } else { "the first" },
            first.format("%-d %b %Y"),
        ));
    }
    let open: Vec<&str> = run.assumptions.iter().filter(|one| one.is_unknown).map(|one| one.key.as_str()).collect();
    (!open.is_empty()).then(|| format!("it rests on what is not known: {}", open.join("; ")))
}
