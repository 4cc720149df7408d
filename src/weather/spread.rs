//! What readings that span days allow for each day: at least, as spread evenly, at most.

use chrono::{Duration, NaiveDate, NaiveDateTime, NaiveTime};

use crate::quantity::DayStart;

/// A reading taken this near the day's start counts as taken at it; how many did is told. Common practice, no source.
pub const NEAR_MINUTES: i64 = 30;

/// The moment, moved to a day's start that lies within [`NEAR_MINUTES`], and whether it now stands at one.
pub fn snapped(at: NaiveDateTime, day_starts: NaiveTime) -> (NaiveDateTime, bool) {
    let candidates = [at.date().pred_opt(), Some(at.date()), at.date().succ_opt()];
    for date in candidates.into_iter().flatten() {
        let start = date.and_time(day_starts);
        if (at - start).num_seconds().abs() <= NEAR_MINUTES * 60 {
            return (start, true);
        }
    }
    (at, false)
}

/// An amount between two moments.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    /// When it began.
    pub from: NaiveDateTime,
    /// When it ended.
    pub to: NaiveDateTime,
    /// The amount.
    pub amount: f64,
}

/// What the readings allow for one day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DayBounds {
    /// The least.
    pub low: f64,
    /// Spread evenly over each stretch; none where a part of the day lies in no stretch.
    pub middle: Option<f64>,
    /// The most; infinite where a part of the day lies in no stretch.
    pub high: f64,
    /// Whether the day was measured by itself: stretches within it cover it whole.
    pub measured: bool,
}

/// The bounds of `days` days from `first`, which start as `day` says. Stretches in order of time; they may not
/// overlap. An amount lies wholly in one day or anywhere in its stretch: nothing is known inside it.
pub fn spread(stretches: &[Stretch], first: NaiveDate, days: usize, day: DayStart) -> Vec<DayBounds> {
    let mut bounds = Vec::with_capacity(days);
    let mut from_index = 0;
    let mut start = day.start_of(first);
    for _ in 0..days {
        let end = start + Duration::days(1);
        while stretches.get(from_index).is_some_and(|stretch| stretch.to <= start) {
            from_index += 1;
        }
        bounds.push(one_day(stretches.get(from_index..).unwrap_or_default(), start, end));
        start = end;
    }
    bounds
}

fn one_day(stretches: &[Stretch], start: NaiveDateTime, end: NaiveDateTime) -> DayBounds {
    let (mut low, mut middle, mut high) = (0.0, 0.0, 0.0);
    let mut covered = 0;
    let mut all_inside = true;
    for stretch in stretches.iter().take_while(|stretch| stretch.from < end) {
        let inside = start <= stretch.from && stretch.to <= end;
        let shared = (stretch.to.min(end) - stretch.from.max(start)).num_seconds();
        let whole = (stretch.to - stretch.from).num_seconds();
        if shared <= 0 || whole <= 0 {
            continue;
        }
        covered += shared;
        high += stretch.amount;
        if inside {
            low += stretch.amount;
            middle += stretch.amount;
        } else {
            all_inside = false;
            middle += stretch.amount * shared as f64 / whole as f64;
        }
    }
    let whole_day = covered >= (end - start).num_seconds();
    DayBounds {
        low,
        middle: whole_day.then_some(middle),
        high: if whole_day { high } else { f64::INFINITY },
        measured: whole_day && all_inside,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(day: u32, hour: u32) -> NaiveDateTime {
        NaiveDate::from_ymd_opt(2025, 7, day).unwrap().and_hms_opt(hour, 0, 0).unwrap()
    }

    fn seven() -> NaiveTime {
        NaiveTime::from_hms_opt(7, 0, 0).unwrap()
    }

    #[test]
    fn three_days_in_one_reading_are_not_three_daily_readings() {
        let stretch = Stretch { from: at(11, 7), to: at(14, 7), amount: 15040.0 };
        let days = spread(&[stretch], at(11, 0).date(), 4, seven().into());
        for day in &days[..3] {
            assert_eq!((day.low, day.high, day.measured), (0.0, 15040.0, false));
            assert!((day.middle.unwrap() - 15040.0 / 3.0).abs() < 1e-9);
        }
        assert_eq!(days[3].middle, None);
        assert_eq!(days[3].high, f64::INFINITY);
    }

    #[test]
    fn two_readings_that_meet_inside_a_day_bound_it_from_both_sides() {
        // Day 12 runs from the 12th 07:00 to the 13th 07:00 and is met by stretches read at noon.
        let stretches = [
            Stretch { from: at(11, 12), to: at(12, 12), amount: 24.0 },
            Stretch { from: at(12, 12), to: at(13, 12), amount: 48.0 },
        ];
        let day = spread(&stretches, at(12, 0).date(), 1, seven().into())[0];
        assert_eq!((day.low, day.high), (0.0, 72.0));
        // 5 h of 24 from the first, 19 h of 48 from the second: 5 + 38 = 43.
        assert_eq!(day.middle, Some(43.0));
    }

    #[test]
    fn several_readings_within_a_day_measure_it() {
        let stretches = [
            Stretch { from: at(11, 7), to: at(11, 15), amount: 3.0 },
            Stretch { from: at(11, 15), to: at(12, 7), amount: 4.0 },
        ];
        let day = spread(&stretches, at(11, 0).date(), 1, seven().into())[0];
        assert_eq!((day.low, day.middle, day.high, day.measured), (7.0, Some(7.0), 7.0, true));
    }
}
