//! The most rain in any N hours, as bounds, from readings that span time.

use crate::quantity::Range;
use thiserror::Error;
use uom::si::f64::{Length, Time};
use uom::si::length::meter;
use uom::si::time::hour;

/// Rain between two times, as read: hourly, daily at the hour of the look, or over several days.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RainReading {
    /// Start, counted from any one moment for all readings.
    pub from: Time,
    /// End: when the gauge was read.
    pub to: Time,
    /// Depth: equal ends if read, a range for a trace, nothing if it is missing. A blank is not zero.
    pub depth: Option<Range<Length>>,
}

/// The most rain in any window: both bounds, and where each arises.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StormDepth {
    /// Least and most that the heaviest window can have held. The upper end is infinite if a reading is missing.
    pub depth: Range<Length>,
    /// Start of the first and end of the last reading behind the lower bound.
    pub low_span: (Time, Time),
    /// Start of the first and end of the last reading behind the upper bound.
    pub high_span: (Time, Time),
}

/// Why no bounds can be given.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum StormError {
    /// There is no reading.
    #[error("there is no rain reading")]
    NoReading,
    /// A reading ends before it starts, overlaps the one before it, or is negative or not a number.
    #[error("rain readings must follow one another in time and hold depths from zero up")]
    OutOfOrder,
    /// The window is not longer than nothing.
    #[error("the window must be longer than zero hours")]
    NoWindow,
}

/// Bounds on the largest depth in any `window`. Record: [`crate::science::hydrology::records::STORM_BOUNDS`].
///
/// How rain fell inside a reading is not known. The upper bound is reached if it fell where one window touches it:
/// two daily readings of 1.4 in and 1.5 in allow up to 2.9 in within 24 hours. The lower bound holds however it fell:
/// readings wholly inside a window count whole, and readings that together are longer than the window are shared by
/// the fewest windows that cover them; there it is 1.5 in. A gap in time between readings is a missing reading. Windows
/// that reach beyond the first or last reading are not considered: to judge one day, pass the readings from one window
/// before the day's start to its end.
pub fn largest_depth(readings: &[RainReading], window: Time) -> Result<StormDepth, StormError> {
    let span = window.get::<hour>();
    if span.is_nan() || span <= 0.0 {
        return Err(StormError::NoWindow);
    }
    let rows = checked(readings)?;
    let Some(first) = rows.first() else {
        return Err(StormError::NoReading);
    };
    let here = (hours(first.from), hours(first.to));
    let (mut low, mut low_span) = (0.0f64, here);
    let (mut high, mut high_span) = (0.0f64, here);
    for (start, row) in rows.iter().enumerate() {
        let (mut known, mut most) = (0.0, 0.0);
        for other in rows.iter().skip(start) {
            // Lower bound: all readings from `row` to `other`, shared by the fewest windows that cover them.
            known += other.low;
            let cover = ((other.to - row.from) / span - 1e-9).ceil().max(1.0);
            if known / cover > low {
                low = known / cover;
                low_span = (hours(row.from), hours(other.to));
            }
            // Upper bound: a window that starts at the very end of `row` touches all that starts before it closes.
            let touched = other.from < row.to + span - 1e-9;
            if touched {
                most += other.high;
                if most > high {
                    high = most;
                    high_span = (hours(row.from), hours(other.to));
                }
            }
            if !touched && cover > LONGEST_RUN {
                break;
            }
        }
    }
    Ok(StormDepth {
        depth: Range { low: Length::new::<meter>(low), high: Length::new::<meter>(high.max(low)) },
        low_span,
        high_span,
    })
}

/// Runs of readings longer than this many windows are not tried for the lower bound: a shorter run inside does as well,
/// but for odd lengths of reading, where the bound is then a little lower than it could be.
const LONGEST_RUN: f64 = 24.0;

struct Row {
    from: f64,
    to: f64,
    low: f64,
    high: f64,
}

fn hours(value: f64) -> Time {
    Time::new::<hour>(value)
}

fn checked(readings: &[RainReading]) -> Result<Vec<Row>, StormError> {
    let mut rows: Vec<Row> = Vec::with_capacity(readings.len());
    for reading in readings {
        let (low, high) =
            reading.depth.map_or((0.0, f64::INFINITY), |depth| (depth.low.get::<meter>(), depth.high.get::<meter>()));
        let row = Row { from: reading.from.get::<hour>(), to: reading.to.get::<hour>(), low, high };
        let after = rows.last().is_none_or(|before| row.from >= before.to - 1e-9);
        if !(after && row.to > row.from && row.from.is_finite() && row.to.is_finite() && low >= 0.0 && high >= low) {
            return Err(StormError::OutOfOrder);
        }
        if let Some(end) = rows.last().map(|before| before.to)
            && row.from > end + 1e-9
        {
            rows.push(Row { from: end, to: row.from, low: 0.0, high: f64::INFINITY });
        }
        rows.push(row);
    }
    Ok(rows)
}

#[cfg(test)]
mod tests {
    use super::*;
    use uom::si::length::inch;

    fn days(depths: &[Option<f64>]) -> Vec<RainReading> {
        depths
            .iter()
            .enumerate()
            .map(|(day, depth)| RainReading {
                from: hours(day as f64 * 24.0 + 7.0),
                to: hours(day as f64 * 24.0 + 31.0),
                depth: depth.map(|d| Range::exactly(Length::new::<inch>(d))),
            })
            .collect()
    }

    fn bounds(readings: &[RainReading], window_h: f64) -> (f64, f64) {
        let storm = largest_depth(readings, hours(window_h)).expect("readings in order");
        (storm.depth.low.get::<inch>(), storm.depth.high.get::<inch>())
    }

    fn close(got: (f64, f64), low: f64, high: f64) {
        assert!((got.0 - low).abs() < 1e-9, "low {} for {low}", got.0);
        assert!((got.1 - high).abs() < 1e-9 || got.1 == high, "high {} for {high}", got.1);
    }

    #[test]
    fn two_daily_readings_do_not_say_how_much_fell_in_any_24_hours() {
        close(bounds(&days(&[Some(1.4), Some(1.5)]), 24.0), 1.5, 2.9);
        close(bounds(&days(&[Some(0.0), Some(1.4), Some(1.5), Some(0.2)]), 24.0), 1.5, 2.9);
    }

    #[test]
    fn three_days_are_shared_by_at_least_three_windows_of_a_day() {
        close(bounds(&days(&[Some(1.0), Some(1.0), Some(1.0)]), 24.0), 1.0, 2.0);
        close(bounds(&days(&[Some(1.0), Some(1.0), Some(1.0)]), 36.0), 1.5, 3.0);
        close(bounds(&days(&[Some(1.0), Some(1.0), Some(1.0)]), 48.0), 2.0, 3.0);
    }

    #[test]
    fn a_reading_that_spans_three_days_settles_only_a_third_of_it() {
        let weekend =
            [RainReading { from: hours(0.0), to: hours(72.0), depth: Some(Range::exactly(Length::new::<inch>(3.0))) }];
        close(bounds(&weekend, 24.0), 1.0, 3.0);
        close(bounds(&weekend, 72.0), 3.0, 3.0);
    }

    #[test]
    fn hourly_readings_leave_only_the_edge_hours_open() {
        let hourly: Vec<RainReading> = (0..48)
            .map(|h| RainReading {
                from: hours(f64::from(h)),
                to: hours(f64::from(h + 1)),
                depth: Some(Range::exactly(Length::new::<inch>(0.1))),
            })
            .collect();
        close(bounds(&hourly, 24.0), 2.4, 2.5);
    }

    #[test]
    fn a_missing_reading_or_a_gap_is_not_a_dry_day() {
        assert_eq!(bounds(&days(&[Some(1.0), None]), 24.0).1, f64::INFINITY);
        let mut gap = days(&[Some(1.0), Some(0.0), Some(1.0)]);
        gap.remove(1);
        assert_eq!(bounds(&gap, 24.0), (1.0, f64::INFINITY));
    }

    #[test]
    fn readings_out_of_order_are_refused() {
        let mut rows = days(&[Some(1.0), Some(2.0)]);
        rows.reverse();
        assert_eq!(largest_depth(&rows, hours(24.0)), Err(StormError::OutOfOrder));
        assert_eq!(largest_depth(&[], hours(24.0)), Err(StormError::NoReading));
        assert_eq!(largest_depth(&days(&[Some(-1.0)]), hours(24.0)), Err(StormError::OutOfOrder));
        assert_eq!(largest_depth(&days(&[Some(1.0)]), hours(0.0)), Err(StormError::NoWindow));
    }

    proptest::proptest! {
        /// However the rain fell inside the readings, the heaviest window lies between the bounds.
        #[test]
        fn no_hyetograph_behind_the_readings_escapes_the_bounds(
            hourly in proptest::collection::vec(0u32..40, 12..120),
            spans in proptest::collection::vec(1usize..60, 1..12),
            window in 1usize..50,
        ) {
            let mut readings = Vec::new();
            let mut start = 0;
            for span in spans {
                let end = (start + span).min(hourly.len());
                if end > start {
                    let depth: u32 = hourly[start..end].iter().sum();
                    readings.push(RainReading {
                        from: hours(start as f64),
                        to: hours(end as f64),
                        depth: Some(Range::exactly(Length::new::<inch>(f64::from(depth)))),
                    });
                }
                start = end;
            }
            let hourly = &hourly[..start];
            let window = window.min(hourly.len());
            let heaviest: u32 = hourly.windows(window).map(|w| w.iter().sum()).max().unwrap_or(0);
            let (low, high) = bounds(&readings, window as f64);
            let truth = f64::from(heaviest);
            proptest::prop_assert!(low <= truth + 1e-9 && truth <= high + 1e-9, "{low} {truth} {high}");
        }
    }
}
