//! Rain as it was read, and the windows of so many hours that were over a depth, surely or possibly.

use chrono::{NaiveDate, NaiveDateTime, NaiveTime, TimeDelta};

use super::clock::{DAY, Moment, Stretch, day_of_number, moment_of, start_of};
use crate::facility::model::Facility;
use crate::rules::{Except, Interval, Number};
use crate::weather::{DailyWeather, NEAR_MINUTES};

/// Rain between two moments; no upper end where nothing was read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Rain {
    /// When.
    pub time: Stretch,
    /// At least.
    pub low_mm: f64,
    /// At most.
    pub high_mm: f64,
}

/// Long before and after anything.
pub(crate) const FAR: Moment = 4_000_000 * DAY;

/// A gauge's reading within half an hour of its hour counts as at it.
fn near(at: NaiveDateTime, hour: NaiveTime) -> NaiveDateTime {
    let date = at.date();
    [date.pred_opt(), Some(date), date.succ_opt()]
        .into_iter()
        .flatten()
        .map(|date| date.and_time(hour))
        .find(|exact| (at - *exact).abs() <= TimeDelta::minutes(NEAR_MINUTES))
        .unwrap_or(at)
}

/// Rain by the end of a day, with the time of which nothing was read between.
pub(crate) fn rain_of(facility: &Facility, weather: &DailyWeather, as_of: NaiveDate) -> Vec<Rain> {
    let hour = facility.weather.rain.as_ref().map_or(facility.day_starts, |file| file.read_at);
    let until = start_of(as_of.min(day_of_number(FAR / DAY))) + DAY;
    let gap = |from: Moment, to: Moment| Rain { time: (from, to), low_mm: 0.0, high_mm: f64::INFINITY };
    let mut out: Vec<Rain> = Vec::new();
    let mut covered = -FAR;
    for reading in &weather.readings {
        let from = moment_of(near(reading.from, hour), facility.day()).max(covered);
        let to = moment_of(near(reading.to, hour), facility.day());
        if to <= from || to > until {
            continue;
        }
        if from > covered {
            out.push(gap(covered, from));
        }
        out.push(Rain {
            time: (from, to),
            low_mm: if reading.trace { 0.0 } else { reading.depth_mm },
            high_mm: reading.most_mm(),
        });
        covered = to;
    }
    out.push(gap(covered, FAR));
    out
}

/// The rain of a day, m: at least what was read inside it, at most what was read over its edges too.
pub(crate) fn rain_on(day: NaiveDate, facility: &Facility, weather: &DailyWeather) -> Interval {
    let (start, end) = (start_of(day), start_of(day) + DAY);
    let (mut low, mut high) = (0.0, 0.0);
    for span in rain_of(facility, weather, NaiveDate::MAX) {
        if span.time.1 > start && span.time.0 < end {
            high += span.high_mm;
            if span.time.0 >= start && span.time.1 <= end {
                low += span.low_mm;
            }
        }
    }
    let metres = |mm: f64| Number::computed(mm / 1000.0);
    Interval::between(metres(low), metres(high))
}

fn is_over(mm: f64, except: &Except) -> bool {
    Number::computed(mm).against(except.rain_over_mm).is_gt()
}

/// The time of deciding windows: from the first moment one can begin to the last one can end.
pub(crate) fn sure_windows(rain: &[Rain], except: &Except) -> Vec<Stretch> {
    let length = i64::from(except.in_any_h) * 3600;
    let mut out: Vec<Stretch> = Vec::new();
    for (index, first) in rain.iter().enumerate() {
        let span = first.time.1 - first.time.0;
        if span > length {
            let windows = span.div_euclid(length) + i64::from(span.rem_euclid(length) > 0);
            if is_over(first.low_mm / windows as f64, except) {
                out.push(first.time);
            }
            continue;
        }
        if first.low_mm <= 0.0 {
            continue;
        }
        let mut sum = 0.0;
        for last in rain.iter().skip(index) {
            if last.time.1 - first.time.0 > length {
                break;
            }
            sum += last.low_mm;
            if is_over(sum, except) {
                out.push((last.time.1 - length, first.time.0 + length));
                break;
            }
        }
    }
    joined(out)
}

/// The time of windows that may have been over: those that touch spans which together may have had more.
pub(crate) fn possible_windows(rain: &[Rain], except: &Except) -> Vec<Stretch> {
    let length = i64::from(except.in_any_h) * 3600;
    let mut out: Vec<Stretch> = Vec::new();
    for (index, first) in rain.iter().enumerate() {
        if first.high_mm <= 0.0 {
            continue;
        }
        let mut sum = 0.0;
        for last in rain.iter().skip(index) {
            if last.time.0 - first.time.1 >= length {
                break;
            }
            sum += last.high_mm;
            if is_over(sum, except) {
                out.push((last.time.0 - length, first.time.1 + length));
                break;
            }
        }
    }
    joined(out)
}

fn joined(mut windows: Vec<Stretch>) -> Vec<Stretch> {
    windows.sort_unstable();
    let mut out: Vec<Stretch> = Vec::new();
    for window in windows {
        match out.last_mut() {
            Some(last) if window.0 < last.1 => last.1 = last.1.max(window.1),
            _ => out.push(window),
        }
    }
    out
}
