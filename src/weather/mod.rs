//! Daily series, readings that span days, gaps.
//!
//! [`read`] makes the weather of a stretch of facility days from the files that the facility names: rain (daily or
//! within the day), evaporation from open water (months, a pan, or temperatures), temperature of the water. A day that
//! no reading covers is a gap and never zero; a reading that covers several days, or a gauge whose day differs from the
//! facility's, leaves each day between a least and a most.

mod climate;
mod daily;
mod order;
mod rain;
mod series;
mod spread;
mod told;

#[cfg(test)]
mod tests;

pub use daily::{DailyWeather, RainDay, RainReading};
pub(crate) use order::tell_order;
pub use rain::LoggedRain;
pub(crate) use rain::{Depth, depth, is_known_code};
pub use spread::{DayBounds, NEAR_MINUTES, Stretch, snapped, spread};
pub use told::{Repair, SourceSummary, gaps, read_back};

use chrono::{Days, NaiveDate};

use crate::facility::model::Facility;
use crate::files::Sources;
use crate::quantity::days_of;
use crate::told::Problems;

/// Days before a run whose rain matters in it: those that say how wet the ground is.
const DAYS_BEFORE: usize = 5;

/// The first and last facility day that the rain gauge's readings cover; none without any. For years of weather beyond the
/// period of the records.
pub fn extent(
    facility: &Facility,
    logged: &[LoggedRain],
    sources: &mut Sources,
    problems: &Problems,
) -> Option<(NaiveDate, NaiveDate)> {
    let rain = rain::rain(facility, (NaiveDate::MIN, 0), logged, sources, problems);
    let starts = facility.day().offset();
    let began = rain.readings.first()?.from - starts;
    let ended = rain.readings.last()?.to - starts;
    // A day counts where it is covered from its start to its end.
    let first = if began.time() == chrono::NaiveTime::MIN { began.date() } else { began.date().succ_opt()? };
    let last = ended.date().pred_opt()?;
    (first <= last).then_some((first, last))
}

/// Reads the weather of the days from `period.0` to `period.1`, both included. `logged` is rain that stands among the
/// records (the timeline's `rain`). What is wrong in the files is told, all of it.
pub fn read(
    facility: &Facility,
    period: (NaiveDate, NaiveDate),
    logged: &[LoggedRain],
    sources: &mut Sources,
    problems: &Problems,
) -> DailyWeather {
    let days = days_of(period);
    let span = (period.0, days);
    let rain = rain::rain(facility, span, logged, sources, problems);
    // The same file is told of once.
    let untold = Problems::new();
    let rain_before = match period.0.checked_sub_days(Days::new(DAYS_BEFORE as u64)) {
        Some(first) => rain::rain(facility, (first, DAYS_BEFORE), logged, sources, &untold).days,
        None => Vec::new(),
    };
    let evaporation = climate::evaporation(facility, span, sources, problems);
    let water = climate::water_temperature(facility, span, sources, problems);
    let mut repairs = rain.repairs;
    repairs.extend(evaporation.repairs);
    repairs.extend(water.repairs);
    let summaries = rain.source.into_iter().chain(evaporation.sources).chain(water.sources).collect();
    DailyWeather {
        first_day: period.0,
        rain: rain.days,
        rain_before,
        readings: rain.readings,
        evaporation_m: evaporation.values,
        evaporation_method: evaporation.method,
        water_temperature_c: water.values,
        repairs,
        sources: summaries,
    }
}
