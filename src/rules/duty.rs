//! Duties to sample or read: in which stretches of the calendar one is due, and whether it is on file.

use chrono::{Datelike, NaiveDate, Weekday};

use crate::quantity::{HowOften, Stretch};
use crate::rules::discharge::{DischargeDays, Flow};
use crate::rules::windows::{Calendar, Window, each_day, later, stretches};

/// One stretch in which something may be due.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DueStretch {
    /// The stretch.
    pub window: Window,
    /// How many are due in it.
    pub times: u32,
    /// How many are on file.
    pub have: u32,
    /// What made it due, where a discharge did: the first such day, and whether it was only computed.
    pub because: Option<(NaiveDate, bool)>,
    /// Whether the stretch has ended as of the day of judgement.
    pub ended: bool,
}

impl DueStretch {
    /// Whether something is lacking for good.
    pub fn lacks(&self) -> bool {
        self.ended && self.have < self.times
    }
}

/// What a duty is judged by.
pub(crate) struct DutyInputs<'a> {
    /// How often.
    pub how_often: HowOften,
    /// The days looked at: stretches that end in it count.
    pub span: (NaiveDate, NaiveDate),
    /// Days on which one is on file, in order, a day as often as it has results.
    pub on_file: &'a [NaiveDate],
    /// What flowed when; none for what has no discharge (a level).
    pub days: Option<&'a DischargeDays>,
    /// Whether the limit holds on a day.
    pub holds: &'a dyn Fn(NaiveDate) -> bool,
    /// The day of judgement.
    pub as_of: NaiveDate,
    /// Weeks and years.
    pub calendar: Calendar,
}

/// The stretches in which the duty is due.
pub(crate) fn due(inputs: &DutyInputs<'_>) -> Vec<DueStretch> {
    let (windows, times, only_with_discharge) = match inputs.how_often {
        HowOften::Times {
            times,
            each,
            with_a_discharge,
        } => {
            let mut windows = stretches(inputs.span, each, &inputs.calendar);
            // A stretch is owned by the span it ends in; the last may still be running.
            windows.retain(|window| window.to <= inputs.span.1 || window.to > inputs.as_of);
            (windows, times, with_a_discharge)
        }
        HowOften::Every { days } => (every(inputs.span, days.max(1)), 1, false),
        HowOften::EveryWorkingDay => {
            let mut windows = stretches(inputs.span, Stretch::Day, &inputs.calendar);
            windows.retain(|window| !matches!(window.from.weekday(), Weekday::Sat | Weekday::Sun));
            (windows, 1, false)
        }
        HowOften::EveryDischarge => (
            stretches(inputs.span, Stretch::Day, &inputs.calendar),
            1,
            true,
        ),
    };
    windows
        .into_iter()
        .filter_map(|window| {
            let held: Vec<NaiveDate> = each_day(window.from, window.to)
                .filter(|day| (inputs.holds)(*day))
                .collect();
            if held.is_empty() {
                return None;
            }
            let because = inputs.days.and_then(|days| {
                let shown = held
                    .iter()
                    .find(|day| days.on(**day) == Flow::Flowing)
                    .map(|day| (*day, false));
                shown.or_else(|| {
                    held.iter()
                        .find(|day| days.on(**day) == Flow::Computed)
                        .map(|day| (*day, true))
                })
            });
            if let Some(days) = inputs.days {
                let nothing_to_sample = held.iter().all(|day| days.on(*day) == Flow::Dry);
                if (only_with_discharge && because.is_none()) || nothing_to_sample {
                    return None;
                }
            }
            let have = inputs
                .on_file
                .iter()
                .filter(|day| window.contains(**day))
                .count();
            Some(DueStretch {
                ended: window.to <= inputs.as_of,
                window,
                times,
                have: u32::try_from(have).unwrap_or(u32::MAX),
                because: because.filter(|_| only_with_discharge),
            })
        })
        .collect()
}

fn every(span: (NaiveDate, NaiveDate), days: u32) -> Vec<Window> {
    let mut out = Vec::new();
    let mut from = span.0;
    while from <= span.1 {
        let to = later(from, days - 1);
        if to <= span.1 {
            out.push(Window::new(from, to));
        }
        let next = later(from, days);
        if next <= from {
            break;
        }
        from = next;
    }
    out
}

/// The word for a stretch, one and many: `month`, `months`.
pub(crate) fn stretch_words(how_often: HowOften) -> (&'static str, &'static str) {
    match how_often {
        HowOften::Times {
            each: Stretch::Week,
            ..
        } => ("week", "weeks"),
        HowOften::Times {
            each: Stretch::Month,
            ..
        } => ("month", "months"),
        HowOften::Times {
            each: Stretch::Quarter,
            ..
        } => ("quarter", "quarters"),
        HowOften::Times {
            each: Stretch::Year,
            ..
        } => ("permit year", "permit years"),
        HowOften::Every { days: 1 } => ("day", "days"),
        HowOften::Every { .. } => ("stretch", "stretches"),
        HowOften::Times {
            each: Stretch::Day, ..
        }
        | HowOften::EveryWorkingDay
        | HowOften::EveryDischarge => ("day", "days"),
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

    fn lacking(
        how_often: HowOften,
        on_file: &[&str],
        days: Option<&DischargeDays>,
    ) -> Vec<NaiveDate> {
        let on_file: Vec<NaiveDate> = on_file.iter().map(|day| d(day)).collect();
        let inputs = DutyInputs {
            how_often,
            span: (d("2025-03-01"), d("2025-04-30")),
            on_file: &on_file,
            days,
            holds: &|_| true,
            as_of: d("2025-04-30"),
            calendar: Calendar {
                week_starts: Weekday::Sun,
                straddling: Straddling::WhereItStarts,
                year_starts: DayOfYear { month: 11, day: 1 },
            },
        };
        due(&inputs)
            .into_iter()
            .filter(DueStretch::lacks)
            .map(|due| due.window.from)
            .collect()
    }

    #[test]
    fn two_samples_in_one_month_do_not_make_up_for_the_next() {
        let monthly = HowOften::Times {
            times: 1,
            each: Stretch::Month,
            with_a_discharge: false,
        };
        assert_eq!(
            lacking(monthly, &["2025-03-03", "2025-03-20"], None),
            [d("2025-04-01")]
        );
        let twice = HowOften::Times {
            times: 2,
            each: Stretch::Month,
            with_a_discharge: false,
        };
        assert_eq!(
            lacking(twice, &["2025-03-03", "2025-04-20", "2025-04-21"], None),
            [d("2025-03-01")]
        );
    }

    #[test]
    fn a_week_without_a_reading_is_lacking_and_no_other() {
        let weekly = HowOften::Times {
            times: 1,
            each: Stretch::Week,
            with_a_discharge: false,
        };
        let all = [
            "2025-03-01",
            "2025-03-08",
            "2025-03-09",
            "2025-03-22",
            "2025-03-29",
            "2025-04-05",
            "2025-04-12",
            "2025-04-13",
        ];
        assert_eq!(lacking(weekly, &all, None), [d("2025-04-20")]);
    }

    #[test]
    fn with_a_discharge_means_only_stretches_that_had_one() {
        let monthly = HowOften::Times {
            times: 1,
            each: Stretch::Month,
            with_a_discharge: true,
        };
        let nothing = DischargeDays::not_known((d("2025-03-01"), d("2025-04-30")));
        assert!(lacking(monthly, &[], Some(&nothing)).is_empty());
        assert_eq!(
            lacking(
                HowOften::Every { days: 10 },
                &["2025-03-05", "2025-03-15", "2025-03-25", "2025-04-01"],
                None
            )
            .len(),
            2
        );
    }
}
