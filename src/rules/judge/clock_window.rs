//! Discharge only within clock hours: a span of a meter lies inside, outside, or over the edge.

use chrono::NaiveDate;

use crate::rules::judge::evaluate::{Judged, runs_text, without_figure};
use crate::rules::judge::scene::Scene;
use crate::rules::measure::{DAY, Stretch, day_of_number, is_inside, meets, start_of, stretches_of, without};
use crate::rules::window::windows::{Window, after, before, each_day};
use crate::rules::{Evidence, Missing, Outcome};

/// Judges every meter span, look and sample against the hours.
pub(crate) fn evaluate(scene: &Scene<'_>) -> Judged {
    let mut out = Judged::default();
    let Some(hours) = scene.limit.only_between else {
        return out;
    };
    let starts = scene.case.facility.day();
    let days = scene.days();
    let (Some(first), Some(last)) = (days.first().copied(), days.last().copied()) else {
        return out;
    };
    let listed = stretches_of(days.iter().copied(), None, starts);
    // The allowed hours of every date that can reach into the days judged, listed or not.
    let around = || each_day(before(first), after(last));
    let allowed = stretches_of(around(), Some(hours), starts);
    let outside = |time: Stretch| without(time, &allowed);
    let mut push = |time: Stretch, outcome: Outcome, shown: Vec<Evidence>, text: String, missing| {
        let (from, to) = crate::rules::measure::days_touched(time);
        let window = Window::new(day_of_number(from), day_of_number(to));
        out.readings += 1;
        out.long += usize::from(from != to);
        let mut judgement = without_figure(window, outcome, missing);
        judgement.finding.n = 1;
        judgement.known_on = Some(judgement.finding.to);
        judgement.finding.arithmetic.push(text);
        judgement.finding.evidence = shown;
        out.windows.push(judgement);
    };
    let water = scene.flows.water();
    let pieces = water.channels.iter().flat_map(|way| way.pieces.iter().map(move |piece| (way, piece)));
    for (way, piece) in pieces {
        // None of a span was on days that are known to be dry.
        let can_be = way.support(piece);
        if piece.amount.is_zero() || !can_be.iter().any(|part| meets(*part, &listed)) {
            continue;
        }
        let wrong = outside(piece.outer);
        let wrong_and_listed = wrong.iter().any(|time| meets(*time, &listed));
        let (outcome, missing) = if !wrong_and_listed {
            (Outcome::Met, Vec::new())
        } else if wrong == [piece.outer] && is_inside(piece.outer, &listed) {
            (Outcome::Exceeded, Vec::new())
        } else {
            let (from, to) = piece.days();
            let label = Window::new(day_of_number(from), day_of_number(to)).label;
            (
                Outcome::NotShown,
                vec![Missing {
                    of: None,
                    paper: None,
                    sentence: format!(
                        "{label}: a reading covers hours inside and outside those allowed, or of days that are not under the limit."
                    ),
                    would_show: Some(format!(
                        "Readings at {} and {}.",
                        hours.0.format("%H:%M"),
                        hours.1.format("%H:%M")
                    )),
                }],
            )
        };
        push(piece.outer, outcome, piece.evidence.clone(), format!("a meter moved: {}", piece.text), missing);
    }
    for (day, seen) in scene.flows.looks_and_samples() {
        let date = day_of_number(day);
        if days.binary_search(&date).is_err() {
            continue;
        }
        let text = seen.evidence.first().map_or_else(String::new, |shown| shown.text.clone());
        let whole = (day * DAY, (day + 1) * DAY);
        let (outcome, missing) = match seen.when {
            Some((moment, _)) if is_inside((moment, moment), &allowed) => (Outcome::Met, Vec::new()),
            Some(_) => (Outcome::Exceeded, Vec::new()),
            None => (
                Outcome::NotShown,
                vec![Missing {
                    of: None,
                    paper: None,
                    sentence: format!(
                        "{}: water was seen, and its hour is not on file.",
                        Window::new(date, date).label
                    ),
                    would_show: Some("The hour of the look.".to_owned()),
                }],
            ),
        };
        push(whole, outcome, seen.evidence, text, missing);
    }
    let open = not_covered(scene, &days, &outside);
    if !open.is_empty() {
        out.missing.push(Missing {
            of: None,
            paper: None,
            sentence: format!("{}: no record of whether water flowed outside the allowed hours.", runs_text(&open, 3)),
            would_show: Some("Meter readings at the ends of the allowed hours.".to_owned()),
        });
    }
    if out.windows.is_empty() && out.missing.is_empty() {
        out.windows.push(without_figure(Window::new(first, last), Outcome::Met, Vec::new()));
    }
    out
}

/// Days with time outside the allowed hours that nothing counted and no look saw dry.
fn not_covered(scene: &Scene<'_>, days: &[NaiveDate], outside: &dyn Fn(Stretch) -> Vec<Stretch>) -> Vec<NaiveDate> {
    let water = scene.flows.water();
    days.iter()
        .copied()
        .filter(|day| {
            let whole = (start_of(*day), start_of(*day) + DAY);
            !water.over(&outside(whole)).missing.is_empty()
        })
        .collect()
}
