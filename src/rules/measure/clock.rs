//! Moments as seconds, counted so that each of the permit's days starts at a multiple of a day's seconds.

use chrono::{Datelike, NaiveDate, NaiveDateTime, NaiveTime, Timelike};

use crate::quantity::DayStart;
use crate::weather::snapped;

/// Seconds; a day of number n runs from n × [`DAY`] to (n + 1) × [`DAY`].
pub(crate) type Moment = i64;

/// From, and up to but not with.
pub(crate) type Stretch = (Moment, Moment);

/// Seconds of a day.
pub(crate) const DAY: Moment = 86_400;

/// A day's number.
pub(crate) fn day_number(day: NaiveDate) -> i64 {
    i64::from(day.num_days_from_ce())
}

/// The day of a number.
pub(crate) fn day_of_number(number: i64) -> NaiveDate {
    i32::try_from(number).ok().and_then(NaiveDate::from_num_days_from_ce_opt).unwrap_or(NaiveDate::MAX)
}

/// When a day starts.
pub(crate) fn start_of(day: NaiveDate) -> Moment {
    day_number(day) * DAY
}

/// A clock's time on a date.
pub(crate) fn moment_of(at: NaiveDateTime, day: DayStart) -> Moment {
    day_number(at.date()) * DAY + i64::from(at.num_seconds_from_midnight()) - day.offset().num_seconds()
}

/// The same, where within half an hour of a day's start counts as at it.
pub(crate) fn snapped_moment(at: NaiveDateTime, day: DayStart) -> Moment {
    moment_of(snapped(at, day.time).0, day)
}

/// The day in which a moment lies.
pub(crate) fn day_at(moment: Moment) -> i64 {
    moment.div_euclid(DAY)
}

/// First and last day that a stretch of more than nothing touches.
pub(crate) fn days_touched(stretch: Stretch) -> (i64, i64) {
    (day_at(stretch.0), day_at((stretch.1 - 1).max(stretch.0)))
}

/// The time of days in order, whole or of clock hours (over midnight they belong to the date on which they start), days
/// that meet joined.
pub(crate) fn stretches_of(
    days: impl Iterator<Item = NaiveDate>,
    hours: Option<(NaiveTime, NaiveTime)>,
    starts: DayStart,
) -> Vec<Stretch> {
    let mut out: Vec<Stretch> = Vec::new();
    for day in days {
        let (from, to) = match hours {
            None => (start_of(day), start_of(day) + DAY),
            Some((from, to)) => {
                // Hours are those of the date on which the day starts.
                let day = starts.start_of(day).date();
                let start = moment_of(day.and_time(from), starts);
                let end = moment_of(day.and_time(to), starts);
                (start, if end > start { end } else { end + DAY })
            }
        };
        match out.last_mut() {
            Some(last) if last.1 >= from => last.1 = last.1.max(to),
            _ => out.push((from, to)),
        }
    }
    out
}

/// What of `stretch` lies outside `others` (in order, apart).
pub(crate) fn without(stretch: Stretch, others: &[Stretch]) -> Vec<Stretch> {
    let mut out = Vec::new();
    let mut from = stretch.0;
    let start = others.partition_point(|other| other.1 <= stretch.0);
    for other in others.iter().skip(start) {
        if other.0 >= stretch.1 {
            break;
        }
        if other.0 > from {
            out.push((from, other.0));
        }
        from = from.max(other.1);
    }
    if from < stretch.1 {
        out.push((from, stretch.1));
    }
    out
}

/// Whether a stretch lies whole in one of others (in order, apart).
pub(crate) fn is_inside(stretch: Stretch, others: &[Stretch]) -> bool {
    let at = others.partition_point(|other| other.1 < stretch.1);
    others.get(at).is_some_and(|other| other.0 <= stretch.0 && stretch.1 <= other.1)
}

/// Whether a stretch shares time with one of others (in order, apart).
pub(crate) fn meets(stretch: Stretch, others: &[Stretch]) -> bool {
    let at = others.partition_point(|other| other.1 <= stretch.0);
    others.get(at).is_some_and(|other| other.0 < stretch.1)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn d(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    fn t(hour: u32) -> NaiveTime {
        NaiveTime::from_hms_opt(hour, 0, 0).unwrap()
    }

    #[test]
    fn days_that_meet_are_one_stretch_and_night_hours_belong_to_the_date_they_start_on() {
        let days = [d("2025-03-01"), d("2025-03-02"), d("2025-03-04")];
        let whole = stretches_of(days.into_iter(), None, t(7).into());
        assert_eq!(whole.len(), 2);
        assert_eq!(whole[0].1 - whole[0].0, 2 * DAY);
        let night = stretches_of([d("2025-03-01")].into_iter(), Some((t(22), t(6))), t(0).into());
        assert_eq!(night[0].1 - night[0].0, 8 * 3600);
        assert_eq!(day_at(night[0].0), day_number(d("2025-03-01")));
    }

    #[test]
    fn what_is_left_of_a_stretch_lies_between_the_others() {
        assert_eq!(without((0, 10), &[(2, 4), (6, 12)]), [(0, 2), (4, 6)]);
        assert!(without((2, 4), &[(0, 9)]).is_empty());
        assert!(is_inside((2, 4), &[(0, 1), (2, 5)]) && !is_inside((1, 4), &[(0, 1), (2, 5)]));
        assert!(meets((0, 3), &[(2, 5)]) && !meets((0, 2), &[(2, 5)]));
    }
}
