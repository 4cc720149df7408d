//! Discharge points that are looked at after so much rain within a day: due by the gauge's days, of which one that was not read
//! leaves it not known.

use std::collections::BTreeSet;

use chrono::{NaiveDate, NaiveTime};

use crate::facility::model::Facility;
use crate::quantity::{DayStart, HowOften};
use crate::rules::duty::DueStretch;
use crate::rules::duty::duties::{fill, seen, started};
use crate::rules::judge::case::Case;
use crate::rules::window::windows::{Window, after, day_label, each_day, later};
use crate::rules::{AfterRain, Finding, Missing, Outcome, TOO_LATE};
use crate::weather::{RainReading, Stretch, snapped, spread};

/// By how much a depth in floating point may miss the one typed, mm.
const EQUAL_MM: f64 = 1e-9;

/// Findings on every such duty, in file order; one that runs on the day of judgement is a finding of its own.
pub(super) fn findings(case: &Case<'_>) -> Vec<Finding> {
    case.rules.notices.after_rain.iter().flat_map(|duty| of_duty(duty, case)).collect()
}

/// The gauge's own day: from one reading to the next, by the date on which most of it lies. Of a gauge among the records, the
/// facility's.
fn gauge_day(facility: &Facility) -> DayStart {
    let noon = NaiveTime::from_hms_opt(12, 0, 0).unwrap_or_default();
    match &facility.weather.rain {
        Some(file) => DayStart { time: file.read_at, bears_its_end: file.read_at > noon },
        None => facility.day(),
    }
}

/// Whether so much fell on each of the gauge's days: `None` where its readings do not tell.
fn fell(case: &Case<'_>, (first, days): (NaiveDate, usize), at_least_mm: f64) -> Vec<Option<bool>> {
    let day = gauge_day(case.facility);
    let readings = case.weather.map_or(&[][..], |weather| &weather.readings);
    let bounds = |amount: fn(&RainReading) -> f64| {
        let stretch = |reading: &RainReading| Stretch {
            from: snapped(reading.from, day.time).0,
            to: snapped(reading.to, day.time).0,
            amount: amount(reading),
        };
        spread(&readings.iter().map(stretch).collect::<Vec<_>>(), first, days, day)
    };
    let least = bounds(|reading| reading.depth_mm);
    let is_so_much = |mm: f64| mm >= at_least_mm - EQUAL_MM;
    least
        .iter()
        .zip(bounds(RainReading::most_mm))
        .map(|(least, most)| match (is_so_much(least.low), is_so_much(most.high)) {
            (true, _) => Some(true),
            (false, true) => None,
            (false, false) => Some(false),
        })
        .collect()
}

fn of_duty(duty: &AfterRain, case: &Case<'_>) -> Vec<Finding> {
    let (from, to) = case.period;
    let in_force = case.rules.in_force.unwrap_or(case.period);
    let span = (from.max(in_force.0), to.min(in_force.1).min(case.as_of));
    let at_least_mm = duty.at_least_m.to_f64() * 1000.0;
    let looks = || case.timeline.looks.iter().filter(|look| look.at == duty.at && look.day <= case.as_of);
    // By the calendar, as whoever reads the gauge and looks has it.
    let starts = case.facility.day();
    let looked: BTreeSet<NaiveDate> =
        looks().map(|look| look.time.map_or(look.day, |hour| starts.date_of(look.day, hour))).collect();
    let days = usize::try_from((span.1 - span.0).num_days() + 1).unwrap_or(0);
    let rain = fell(case, (span.0, days), at_least_mm);
    let mut stretches: Vec<DueStretch> = Vec::new();
    for (day, fell) in each_day(span.0, span.1).zip(rain) {
        if fell == Some(false) {
            continue;
        }
        let last = later(day, duty.within_days);
        // One on the day of the rain alone may have been before it.
        let have = u32::from(looked.range(after(day)..=last).next().is_some());
        let because = (have == 0 && fell == Some(true) && looked.contains(&day)).then_some(day);
        let (not_known, ended) = (fell.is_none() || because.is_some(), last < case.as_of);
        // Days that follow one another and leave the same open are one line.
        match stretches.last_mut() {
            Some(run)
                if not_known
                    && run.not_known
                    && (run.have, run.ended, run.because, because) == (have, ended, None, None)
                    && after(run.window.to) == day =>
            {
                run.window = Window::new(run.window.from, day);
            }
            _ => {
                stretches.push(DueStretch { window: Window::new(day, day), times: 1, have, because, not_known, ended })
            }
        }
    }
    let title = format!("Look at {} after {} of rain", duty.name, duty.text);
    let start = |id: &str| {
        let mut finding = started(format!("{id} / {title}"), title.clone(), &duty.name, Some(duty.place.clone()));
        finding.about = Some((title.clone(), duty.name.clone()));
        finding
    };
    let after_it = duty.days_after();
    let until = format!("that day or {after_it}");
    let mut finding = start("duty");
    fill(&mut finding, &stretches, HowOften::Every { days: 1 }, |due| Missing {
        of: None,
        paper: None,
        sentence: if due.because.is_some() {
            format!(
                "{}: {} of rain or more; the look at {} that day may have been before it, and none is on file for {after_it}.",
                due.window.label, duty.text, duty.name
            )
        } else if due.not_known {
            format!("{}: whether {} fell within a day is not on file, nor is a look then.", due.window.label, duty.text)
        } else {
            format!("{}: {} of rain or more, and no look at {} on {until}.", due.window.label, duty.text, duty.name)
        },
        would_show: Some(
            match (due.because, due.not_known) {
                (Some(_), _) => "A record of the hours of the rain and of the look.",
                (None, true) => "A reading of the gauge for each day.",
                (None, false) => TOO_LATE,
            }
            .to_owned(),
        ),
    });
    finding.evidence = looks().map(seen).collect();
    let open = stretches.iter().find(|due| !due.ended && !due.not_known && due.have == 0);
    let mut out = vec![finding];
    out.extend(open.map(|due| {
        let mut finding = start("duty due");
        let by = later(due.window.to, duty.within_days);
        finding.outcome = Outcome::Due;
        finding.due = Some(by);
        finding.how_many.clone_from(&duty.within);
        finding.sentences.push(format!("After the rain of {}: by {}.", due.window.label, day_label(by)));
        finding
    }));
    out
}
