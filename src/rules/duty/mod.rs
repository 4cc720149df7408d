//! Duties to sample, read or look: in which stretches of the calendar one is due, and whether it is on file.

pub(crate) mod acts;
mod after_rain;
mod checks;
pub(crate) mod duties;
pub(crate) mod notices;

use chrono::{Datelike, NaiveDate, Weekday};

use crate::quantity::{HowOften, Stretch};
use crate::rules::measure::Flow;
use crate::rules::window::windows::{Calendar, Window, after, each_day, earlier, later, stretches};

/// One stretch in which something may be due.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DueStretch {
    /// The stretch.
    pub window: Window,
    /// How many are due in it.
    pub times: u32,
    /// How many are on file.
    pub have: u32,
    /// The first day with a discharge, where that made it due.
    pub because: Option<NaiveDate>,
    /// Whether it is not known if one was due: some day's discharge is not known.
    pub not_known: bool,
    /// Whether the stretch has ended as of the day of judgement.
    pub ended: bool,
}

impl DueStretch {
    /// Whether something is lacking for good, or may be.
    pub fn lacks(&self) -> bool {
        self.ended && self.have < self.times
    }

    /// Whether something that was surely due is lacking for good.
    pub fn surely_lacks(&self) -> bool {
        self.lacks() && !self.not_known
    }
}

/// What a duty is judged by.
pub(crate) struct DutyInputs<'a> {
    /// How often.
    pub how_often: HowOften,
    /// The days looked at: stretches that share a day with it count.
    pub span: (NaiveDate, NaiveDate),
    /// Days on which one is on file, in order, a day as often as it has results.
    pub on_file: &'a [NaiveDate],
    /// What flowed when; none for what has no discharge (a level).
    pub flow: Option<&'a dyn Fn(NaiveDate) -> Flow>,
    /// Whether the permit and the limit are in force on a day.
    pub in_force: &'a dyn Fn(NaiveDate) -> bool,
    /// Whether a day lies in the limit's seasons and months.
    pub in_season: &'a dyn Fn(NaiveDate) -> bool,
    /// Whether the limit holds on a day.
    pub holds: &'a dyn Fn(NaiveDate) -> bool,
    /// The day of judgement.
    pub as_of: NaiveDate,
    /// The first day of any record.
    pub first_record: Option<NaiveDate>,
    /// Weeks and years.
    pub calendar: Calendar,
}

impl DutyInputs<'_> {
    fn have(&self, window: &Window) -> u32 {
        let from = self.on_file.partition_point(|day| *day < window.from);
        let to = self.on_file.partition_point(|day| *day <= window.to);
        u32::try_from(to.saturating_sub(from)).unwrap_or(u32::MAX)
    }
}

/// The stretches in which the duty is due, or may be.
pub(crate) fn due(inputs: &DutyInputs<'_>) -> Vec<DueStretch> {
    let span = (inputs.span.0, inputs.span.1.min(inputs.as_of));
    let (windows, times, only_with_discharge) = match inputs.how_often {
        HowOften::Times { times, each, with_a_discharge } => {
            (stretches(span, each, &inputs.calendar), times, with_a_discharge)
        }
        HowOften::Every { days } => return every(inputs, days.max(1)),
        HowOften::EveryWorkingDay => {
            let mut windows = stretches(span, Stretch::Day, &inputs.calendar);
            windows.retain(|window| !matches!(window.from.weekday(), Weekday::Sat | Weekday::Sun));
            (windows, 1, false)
        }
        HowOften::EveryDischarge => (stretches(span, Stretch::Day, &inputs.calendar), 1, true),
    };
    windows
        .into_iter()
        .filter_map(|window| {
            // A whole stretch that lies in force; of its days those on which the limit holds.
            let days = || each_day(window.from, window.to);
            if !days().all(|day| (inputs.in_force)(day)) {
                return None;
            }
            if !days().any(|day| (inputs.holds)(day)) {
                return None;
            }
            // What flowed on any of its days in season makes it due.
            let held: Vec<NaiveDate> = days().filter(|day| (inputs.in_season)(*day)).collect();
            let have = inputs.have(&window);
            let mut because = None;
            let mut not_known = false;
            if let Some(flow) = inputs.flow {
                because =
                    held.iter().copied().filter(|day| *day <= inputs.as_of).find(|day| flow(*day) == Flow::Flowing);
                if have < times && held.iter().all(|day| flow(*day) == Flow::Dry) {
                    return None;
                }
                not_known = only_with_discharge && because.is_none();
            }
            Some(DueStretch {
                ended: window.to <= inputs.as_of,
                window,
                times,
                have,
                because: because.filter(|_| only_with_discharge),
                not_known,
            })
        })
        .collect()
}

/// Runs of so many days, each of which needs one: those in force and in season that have ended and begin on or after the
/// span or the first record. Runs that follow one another and came out alike are told as one.
fn every(inputs: &DutyInputs<'_>, days: u32) -> Vec<DueStretch> {
    let from = inputs.first_record.map_or(inputs.span.0, |first| first.min(inputs.span.0));
    let mut out: Vec<DueStretch> = Vec::new();
    let mut begin = from.max(earlier(inputs.span.0, days - 1));
    while begin <= inputs.span.1 && later(begin, days - 1) <= inputs.as_of {
        let run = Window::new(begin, later(begin, days - 1));
        let next = after(begin);
        let all = || each_day(run.from, run.to);
        let counts = all().all(|day| (inputs.in_force)(day) && (inputs.in_season)(day))
            && !inputs.flow.is_some_and(|flow| all().all(|day| flow(day) == Flow::Dry));
        if counts {
            let have = inputs.have(&run).min(1);
            match out.last_mut() {
                Some(last) if last.have == have && last.window.to >= run.from => {
                    last.window = Window::new(last.window.from, run.to);
                }
                _ => out.push(DueStretch { window: run, times: 1, have, because: None, not_known: false, ended: true }),
            }
        }
        if next <= begin {
            break;
        }
        begin = next;
    }
    out
}

/// The word for a stretch, one and many: `month`, `months`.
pub(crate) fn stretch_words(how_often: HowOften) -> (&'static str, &'static str) {
    match how_often {
        HowOften::Times { each: Stretch::Week, .. } => ("week", "weeks"),
        HowOften::Times { each: Stretch::Month, .. } => ("month", "months"),
        HowOften::Times { each: Stretch::Quarter, .. } => ("quarter", "quarters"),
        HowOften::Times { each: Stretch::Year, .. } => ("permit year", "permit years"),
        HowOften::Every { days: 1 } => ("day", "days"),
        HowOften::Every { .. } => ("stretch", "stretches"),
        HowOften::Times { each: Stretch::Day, .. } | HowOften::EveryWorkingDay | HowOften::EveryDischarge => {
            ("day", "days")
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::DayOfYear;
    use crate::rules::Straddling;

    fn d(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    fn all_due(
        how_often: HowOften,
        on_file: &[&str],
        flow: Option<&dyn Fn(NaiveDate) -> Flow>,
        span: (&str, &str),
    ) -> Vec<DueStretch> {
        let on_file: Vec<NaiveDate> = on_file.iter().map(|day| d(day)).collect();
        due(&DutyInputs {
            how_often,
            span: (d(span.0), d(span.1)),
            on_file: &on_file,
            flow,
            in_force: &|day| day >= d("2025-03-01"),
            in_season: &|_| true,
            holds: &|_| true,
            as_of: d(span.1),
            first_record: on_file.first().copied(),
            calendar: Calendar {
                week_starts: Weekday::Sun,
                straddling: Straddling::WhereItStarts,
                year_starts: DayOfYear { month: 11, day: 1 },
            },
        })
    }

    fn lacking(how_often: HowOften, on_file: &[&str], flow: Option<&dyn Fn(NaiveDate) -> Flow>) -> Vec<NaiveDate> {
        all_due(how_often, on_file, flow, ("2025-03-01", "2025-04-30"))
            .into_iter()
            .filter(DueStretch::lacks)
            .map(|due| due.window.from)
            .collect()
    }

    fn times(times: u32, each: Stretch, with_a_discharge: bool) -> HowOften {
        HowOften::Times { times, each, with_a_discharge }
    }

    #[test]
    fn two_samples_in_one_month_do_not_make_up_for_the_next() {
        let monthly = times(1, Stretch::Month, false);
        assert_eq!(lacking(monthly, &["2025-03-03", "2025-03-20"], None), [d("2025-04-01")]);
        assert_eq!(
            lacking(times(2, Stretch::Month, false), &["2025-03-03", "2025-04-20", "2025-04-21"], None),
            [d("2025-03-01")]
        );
    }

    /// Weeks from Sunday: that of 23 February does not lie in force whole, that of 27 April has not ended.
    #[test]
    fn a_week_without_a_reading_is_lacking_and_no_other() {
        let all = ["2025-03-08", "2025-03-09", "2025-03-22", "2025-03-29", "2025-04-05", "2025-04-12", "2025-04-13"];
        assert_eq!(lacking(times(1, Stretch::Week, false), &all, None), [d("2025-04-20")]);
    }

    #[test]
    fn with_a_discharge_means_only_stretches_that_had_one_and_not_known_is_told() {
        let monthly = times(1, Stretch::Month, true);
        let dry = |_: NaiveDate| Flow::Dry;
        assert!(lacking(monthly, &[], Some(&dry)).is_empty());
        let march = |day: NaiveDate| {
            if day == d("2025-03-09") { Flow::Flowing } else { Flow::NotKnown }
        };
        let due = all_due(monthly, &[], Some(&march), ("2025-03-01", "2025-04-30"));
        assert_eq!(due.iter().map(|due| due.not_known).collect::<Vec<_>>(), [false, true]);
    }

    /// In force from 1 March, as of 20 March: samples on 1, 11 and 20 March leave no ten days without one; on 1 and
    /// 20 March the runs from 2 to 11 up to 10 to 19 March have none (J11).
    #[test]
    fn every_ten_days_is_a_longest_distance() {
        let ten = HowOften::Every { days: 10 };
        let span = ("2025-03-01", "2025-03-20");
        let lacking = |on_file: &[&str]| -> Vec<(NaiveDate, NaiveDate)> {
            all_due(ten, on_file, None, span)
                .into_iter()
                .filter(DueStretch::lacks)
                .map(|due| (due.window.from, due.window.to))
                .collect()
        };
        assert!(lacking(&["2025-03-01", "2025-03-11", "2025-03-20"]).is_empty());
        assert_eq!(lacking(&["2025-03-01", "2025-03-20"]), [(d("2025-03-02"), d("2025-03-19"))]);
    }
}
