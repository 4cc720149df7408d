//! What is to be checked once in each permit year, such as a meter: answered by a row `calibration` of its name.

use chrono::{Datelike, NaiveDate};

use crate::quantity::DayOfYear;
use crate::rules::duty::notices::started;
use crate::rules::judge::case::Case;
use crate::rules::measure::readings::evidence;
use crate::rules::window::windows::{day_label, days_label, earlier};
use crate::rules::{Finding, Outcome};

/// The day on which the permit year of a calendar year begins; the 29 February on the 28th in other years.
fn start_in(year: i32, starts: DayOfYear) -> Option<NaiveDate> {
    NaiveDate::from_ymd_opt(year, starts.month, starts.day).or_else(|| NaiveDate::from_ymd_opt(year, starts.month, 28))
}

/// The permit years that a period touches, first and last day of each.
fn years(period: (NaiveDate, NaiveDate), starts: DayOfYear) -> Vec<(NaiveDate, NaiveDate)> {
    (period.0.year() - 1..=period.1.year())
        .filter_map(|year| Some((start_in(year, starts)?, earlier(start_in(year + 1, starts)?, 1))))
        .filter(|(first, last)| *first <= period.1 && *last >= period.0)
        .collect()
}

/// Findings on every check due in a permit year that the period touches.
pub(crate) fn findings(case: &Case<'_>) -> Vec<Finding> {
    let mut out = Vec::new();
    for (first, last) in years(case.period, case.rules.permit_year_starts) {
        for (checked, place) in &case.rules.notices.checked_yearly {
            let label = days_label(first, last);
            let act = case.timeline.acts.iter().find(|act| {
                act.what == "calibration"
                    && act.name.trim().eq_ignore_ascii_case(checked)
                    && (first..=last.min(case.as_of)).contains(&act.day)
            });
            let outcome = match act {
                Some(_) => Outcome::Done,
                None if last < case.as_of => Outcome::Overdue,
                None => Outcome::Due,
            };
            let name = format!("Check of {checked}, {label}");
            let mut finding = started(format!("check / {name}"), name, checked.clone(), outcome);
            finding.about = Some((format!("Check of {checked}"), label));
            finding.place = Some(place.clone());
            finding.due = Some(last);
            finding.dates.push(last);
            finding.sentences.push(match act {
                Some(act) => format!("Checked on {}.", day_label(act.day)),
                None if outcome == Outcome::Overdue => format!(
                    "Due by {}, and no calibration of {checked} is on file: its day, with the certificate.",
                    day_label(last)
                ),
                None => format!("Due by {}.", day_label(last)),
            });
            finding.evidence.extend(act.map(|act| evidence(act.day, "calibration".to_owned(), &act.source)));
            out.push(finding);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_permit_years_of_a_period_are_those_that_it_touches() {
        let d = |text: &str| text.parse::<NaiveDate>().unwrap();
        let starts = DayOfYear { month: 11, day: 1 };
        assert_eq!(years((d("2024-11-01"), d("2025-10-31")), starts), [(d("2024-11-01"), d("2025-10-31"))]);
        assert_eq!(years((d("2025-10-31"), d("2025-11-01")), starts).len(), 2);
        let leap = years((d("2025-03-01"), d("2025-03-02")), DayOfYear { month: 2, day: 29 });
        assert_eq!(leap, [(d("2025-02-28"), d("2026-02-27"))]);
    }
}
