//! When a day starts, and which of the two dates that it touches it bears.

use chrono::{Duration, NaiveDate, NaiveDateTime, NaiveTime};

/// A day that starts at an hour of the clock. It bears the date on which it starts or, where permits say so, the date on
/// which it ends: the 24 hours up to 7 am on the 5th are the 4th or the 5th.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DayStart {
    /// The hour at which it starts.
    pub time: NaiveTime,
    /// Whether it bears the date on which it ends.
    pub bears_its_end: bool,
}

impl From<NaiveTime> for DayStart {
    fn from(time: NaiveTime) -> Self {
        Self { time, bears_its_end: false }
    }
}

impl DayStart {
    /// From the midnight at which a date begins to the start of the day that bears it.
    pub fn offset(self) -> Duration {
        let from_midnight = self.time.signed_duration_since(NaiveTime::MIN);
        if self.bears_its_end { from_midnight - Duration::days(1) } else { from_midnight }
    }

    /// When the day that bears a date starts.
    pub fn start_of(self, day: NaiveDate) -> NaiveDateTime {
        day.and_time(NaiveTime::MIN) + self.offset()
    }

    /// The date on the calendar of an hour in the day that bears a date.
    pub fn date_of(self, day: NaiveDate, hour: NaiveTime) -> NaiveDate {
        let starts = self.start_of(day);
        let same = starts.date().and_time(hour);
        let is_before = same < starts || (self.bears_its_end && same == starts);
        if is_before { starts.date() + Duration::days(1) } else { starts.date() }
    }

    /// The day in which water flows at a moment: its start belongs to it, and its end to the next.
    pub fn day_of(self, at: NaiveDateTime) -> NaiveDate {
        (at - self.offset()).date()
    }

    /// The day of what is seen at a moment. What is seen as a day ends is seen of it where the day bears that date.
    pub fn day_seen(self, at: NaiveDateTime) -> NaiveDate {
        if self.bears_its_end { self.day_of(at - Duration::seconds(1)) } else { self.day_of(at) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_day_up_to_seven_on_the_fifth_is_the_fourth_or_the_fifth() {
        let at = |text: &str| NaiveDateTime::parse_from_str(text, "%Y-%m-%d %H:%M").unwrap();
        let day = |text: &str| text.parse::<NaiveDate>().unwrap();
        let time = NaiveTime::from_hms_opt(7, 0, 0).unwrap();
        let by_start = DayStart::from(time);
        let by_end = DayStart { time, bears_its_end: true };
        assert_eq!(by_start.start_of(day("2025-03-04")), at("2025-03-04 07:00"));
        assert_eq!(by_end.start_of(day("2025-03-05")), at("2025-03-04 07:00"));
        for moment in ["2025-03-04 07:00", "2025-03-04 23:00", "2025-03-05 06:59"] {
            assert_eq!(
                (by_start.day_of(at(moment)), by_end.day_of(at(moment))),
                (day("2025-03-04"), day("2025-03-05"))
            );
        }
        // Read at the end of the day whose date it bears.
        let end = at("2025-03-05 07:00");
        assert_eq!((by_start.day_seen(end), by_end.day_seen(end)), (day("2025-03-05"), day("2025-03-05")));
    }
}
