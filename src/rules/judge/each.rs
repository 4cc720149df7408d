//! Rates and hours of flow held against a limit, each reading on its own.

use chrono::NaiveDate;

use crate::rules::judge::evaluate::{
    Figured, Held, Judged, decided, lacking_stretches, not_on_file, runs, without_water,
};
use crate::rules::judge::lacking::stretches_of;
use crate::rules::judge::scene::Scene;
use crate::rules::judge::text;
use crate::rules::measure::readings::Reading;
use crate::rules::measure::{day_number, hours};
use crate::rules::window::windows::{Window, each_day};
use crate::rules::{Counted, Limit, Missing, Outcome, Subject};

/// Each reading of a rate, or of each day's hours, and the days of which nothing is on file.
pub(crate) fn readings(scene: &Scene<'_>, counted: &Counted) -> Judged {
    let limit = scene.limit;
    let days = scene.days();
    let is_listed = |day: NaiveDate| days.binary_search(&day).is_ok();
    let found: Vec<Reading> = if limit.subject == Subject::Hours {
        hours(limit, &scene.flows, scene.case.timeline, days.iter().copied())
    } else {
        scene.rates.clone()
    };
    let water = scene.flows.water();
    let is_zero = |day: NaiveDate| water.on(day_number(day)).value.high.is_zero();
    let mut out = Judged::default();
    let mut covered: Vec<NaiveDate> = Vec::new();
    for reading in &found {
        let on: Vec<NaiveDate> = each_day(reading.first, reading.last).collect();
        // Of a span that touches only listed days known to be dry, nothing was on them.
        let open = |day: &NaiveDate| is_listed(*day) && (on.len() == 1 || !is_zero(*day));
        if !on.iter().any(open) {
            continue;
        }
        covered.extend(on.iter().copied().filter(|day| is_listed(*day)));
        out.readings += 1;
        out.long += usize::from(on.len() > 1);
        let figured = Figured {
            n: 1,
            arithmetic: if reading.text.is_empty() { Vec::new() } else { vec![reading.text.clone()] },
            evidence: reading.evidence.clone(),
            known_on: Some(reading.known_on),
            over_on: Some(reading.known_on),
            ..Figured::of(reading.value)
        };
        let mut judgement = decided(
            limit,
            figured,
            Held { substitutes: reading.is_mean, ..Held::of(Window::new(reading.first, reading.last), counted) },
        );
        // What is sure of a run of which some day is not under the limit is not shown.
        if judgement.finding.outcome.is_exceeded() && !on.iter().all(|day| is_listed(*day)) {
            judgement.finding.outcome = Outcome::NotShown;
        }
        if let Some(figure) = &mut judgement.finding.figure {
            *figure = text::figure_of(&reading.value, &limit.bound, reading.censored);
        }
        judgement.known_on = Some(reading.known_on);
        if judgement.finding.outcome == Outcome::NotShown {
            judgement.finding.missing.push(undecided(limit, reading));
        }
        out.windows.push(judgement);
    }
    covered.sort_unstable();
    if let Some(duty) = &limit.sample {
        let on_file: Vec<NaiveDate> = found.iter().map(|reading| reading.last).collect();
        let period = scene.case.period;
        let due = stretches_of(scene, &scene.flows, &on_file, duty.how_often, counted, period);
        out.count(&due);
        out.windows.extend(lacking_stretches(scene, &due, None, None));
    }
    let bare: Vec<NaiveDate> = days
        .iter()
        .copied()
        .filter(|_| limit.sample.is_none())
        .filter(|day| covered.binary_search(day).is_err() && !is_zero(*day))
        .collect();
    let what = if limit.subject == Subject::Hours { "no record of its hours" } else { "no reading of the rate" };
    for (from, to) in runs(&bare) {
        let window = Window::new(from, to);
        let sentence = format!("{}: {what} on file.", window.label);
        out.windows.push(not_on_file(
            window,
            Missing {
                of: None,
                paper: None,
                sentence,
                would_show: Some("A reading of those days, or a look that shows them dry.".to_owned()),
            },
        ));
    }
    let dry: Vec<NaiveDate> =
        days.iter().copied().filter(|day| covered.binary_search(day).is_err() && is_zero(*day)).collect();
    out.windows.extend(without_water(limit, counted, &dry));
    out
}

/// Why a reading does not tell on which side of the limit it is.
fn undecided(limit: &Limit, reading: &Reading) -> Missing {
    if limit.subject == Subject::Rate {
        return Missing {
            of: None,
            paper: None,
            sentence: "A meter's total over a time shows only its mean rate, and some moment had more.".to_owned(),
            would_show: Some(
                "A reading of the rate itself, or a record of minutes and volume of each event.".to_owned(),
            ),
        };
    }
    Missing {
        of: None,
        paper: None,
        sentence: format!(
            "{}: {} does not tell on which side of the limit it is.",
            Window::new(reading.first, reading.last).label,
            text::figure(&reading.value, &limit.bound, reading.censored)
        ),
        would_show: Some("Readings of the meter when the flow begins and ends.".to_owned()),
    }
}
