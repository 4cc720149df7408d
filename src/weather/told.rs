//! What reading weather and records leaves to tell: repairs, and how complete each source is.

use chrono::{Days, Duration, NaiveDate};
use uom::si::f64::Length;
use uom::si::length::millimeter;

use crate::facility::model::{Facility, ReadingBelongs};
use crate::quantity::{kind, show};
use crate::told::Place;
use crate::weather::{DailyWeather, RainReading};

/// A repair made, or a thing taken for granted, while reading: printed in the report, each one.
#[derive(Debug, Clone, PartialEq)]
pub struct Repair {
    /// Where.
    pub place: Place,
    /// What was found and what was done, in one sentence.
    pub sentence: String,
}

/// One source: a meter, a wash log, a parameter at a place, a gauge.
#[derive(Debug, Clone, PartialEq)]
pub struct SourceSummary {
    /// Its name: `M3 wash, reading`.
    pub name: String,
    /// The first day.
    pub first: NaiveDate,
    /// The last day.
    pub last: NaiveDate,
    /// How many observations.
    pub count: usize,
    /// Longest stretches without one: first day and days.
    pub gaps: Vec<(NaiveDate, u32)>,
    /// How many repairs.
    pub repairs: usize,
}

/// Gaps listed of one source.
const MOST_GAPS: usize = 5;

/// The longest stretches without an observation, longest first, at most five. Usual is the median interval; a stretch
/// of more than twice that and a day is a gap.
pub fn gaps(days: &[NaiveDate]) -> Vec<(NaiveDate, u32)> {
    let mut days: Vec<NaiveDate> = days.to_vec();
    days.sort_unstable();
    days.dedup();
    let intervals: Vec<i64> =
        days.windows(2).filter_map(|pair| Some((*pair.last()? - *pair.first()?).num_days())).collect();
    let mut sorted = intervals.clone();
    sorted.sort_unstable();
    let Some(usual) = sorted.get(sorted.len() / 2) else {
        return Vec::new();
    };
    let mut gaps: Vec<(NaiveDate, u32)> = days
        .iter()
        .zip(&intervals)
        .filter(|(_, interval)| **interval > 2 * usual + 1)
        .filter_map(|(day, interval)| Some((day.succ_opt()?, u32::try_from(interval - 1).ok()?)))
        .collect();
    gaps.sort_by(|a, b| b.1.cmp(&a.1).then(a.0.cmp(&b.0)));
    gaps.truncate(MOST_GAPS);
    gaps
}

/// Readings listed one by one, of those over several days.
const MOST_LISTED: usize = 40;

/// The gauge's readings in one sentence, for a second person to hold against the rain sheets; none without readings.
pub fn read_back(facility: &Facility, weather: &DailyWeather) -> Option<String> {
    let system = facility.system;
    let known = weather.rain.iter().filter(|day| day.depth_mm.is_some()).count();
    let days = weather.days();
    let wettest = weather
        .rain
        .iter()
        .enumerate()
        .filter_map(|(at, day)| Some((day.depth_mm?, weather.first_day.checked_add_days(Days::new(at as u64))?)))
        .fold(None, |held: Option<(f64, NaiveDate)>, day| held.filter(|held| held.0 >= day.0).or(Some(day)));
    let gauge = match &facility.weather.rain {
        Some(file) => format!(
            "rain gauge ({}, read at {}, each reading for {})",
            file.file,
            file.read_at.format("%H:%M"),
            match file.belongs {
                ReadingBelongs::DayThatEnded => "the day that had ended",
                ReadingBelongs::ThatDay => "the day that then began",
            }
        ),
        None => "rain gauge (among the records)".to_owned(),
    };
    let readings = &weather.readings;
    let (first, last) = readings.first().zip(readings.last())?;
    let depth = |mm: f64| show::<kind::RainDepth>(Length::new::<millimeter>(mm), system);
    let mut largest: Vec<&RainReading> = readings.iter().collect();
    largest.sort_by(|a, b| b.depth_mm.total_cmp(&a.depth_mm).then(a.to.cmp(&b.to)));
    let largest: Vec<String> =
        largest.iter().take(3).map(|reading| format!("{} on {}", depth(reading.depth_mm), reading.to.date())).collect();
    let several: Vec<String> = readings
        .iter()
        .filter(|reading| reading.to - reading.from > Duration::hours(36))
        .map(|reading| {
            let days = ((reading.to - reading.from).num_hours() + 12) / 24;
            format!("{} ({days})", reading.to.date())
        })
        .collect();
    let several = match several.len() {
        0 => String::new(),
        count if count <= MOST_LISTED => {
            format!("; over several days those of {}", several.join(", "))
        }
        count => format!("; over several days {count} of them"),
    };
    let holes: Vec<String> = readings
        .windows(2)
        .filter_map(|pair| pair.first().zip(pair.last()))
        .filter(|(before, after)| after.from > before.to)
        .map(|(before, after)| format!("{} to {}", before.to.date(), after.from.date()))
        .collect();
    let holes = match holes.len() {
        0 => String::new(),
        count if count <= MOST_LISTED => format!("; not read {}", holes.join(", ")),
        count => format!("; not read in {count} stretches"),
    };
    let wettest = wettest.map_or_else(String::new, |(mm, date)| format!(", the wettest {date} with {}", depth(mm)));
    Some(format!(
        "{gauge}: {known} of {days} days known{wettest}; readings {} to {}, the largest {}{several}{holes}",
        first.to.date(),
        last.to.date(),
        largest.join(", ")
    ))
}

#[cfg(test)]
mod tests {
    use super::gaps;
    use chrono::NaiveDate;

    #[test]
    fn a_week_without_a_daily_reading_is_a_gap_and_a_weekend_is_not() {
        let day = |day| NaiveDate::from_ymd_opt(2025, 7, day).unwrap();
        let read = [1, 2, 3, 4, 7, 8, 9, 10, 11, 21, 22, 23].map(day);
        assert_eq!(gaps(&read), [(day(12), 9)]);
    }
}
