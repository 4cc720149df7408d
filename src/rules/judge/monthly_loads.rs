//! Loads by months: the mean of a month's results times the month's water, added up, as many permits state it.

use chrono::{Datelike, NaiveDate};

use crate::rules::judge::evaluate::{Figured, Held, Judged, decided, lacking_stretches};
use crate::rules::judge::lacking::{Least, least, places_due, places_lack, uncounted};
use crate::rules::judge::loads::{Loads, joined};
use crate::rules::judge::scene::Scene;
use crate::rules::judge::text;
use crate::rules::measure::{Sampled, is_off_a_weir, stretches_of};
use crate::rules::window::interval;
use crate::rules::window::statistics::Fold;
use crate::rules::window::windows::{Listed, day_label, month_label, month_start};
use crate::rules::{Carried, Counted, HEAD_FIGURES, Interval, Missing, MonthlyLoad, Number};

/// What the months of each window add up to.
pub(crate) fn windows(scene: &Scene<'_>, counted: &Counted, of: MonthlyLoad) -> Judged {
    let mut out = Judged::default();
    let Some(loads) = Loads::of(scene, counted) else {
        return out;
    };
    let limit = scene.limit;
    let figures = is_off_a_weir(&limit.at, scene.case.facility).then_some(HEAD_FIGURES);
    let (can_be, can_not): (Vec<Listed>, Vec<Listed>) =
        scene.windows(counted).into_iter().partition(|window| window.evaluable);
    out.not_evaluable = can_not.len();
    let period = scene.days();
    out.readings = loads.samples.iter().flatten().filter(|sample| period.binary_search(&sample.day).is_ok()).count();
    out.count(&loads.duty(counted));
    let duties = places_due(scene, counted, &can_be, &loads.samples);
    let duty = joined(duties.iter().cloned());
    for listed in &can_be {
        let days = scene.days_of(listed);
        if days.is_empty() {
            continue;
        }
        // Where the permit says what stands for a month's results, none that is missing leaves it open.
        let missing = match of.without_result {
            Some(_) => Vec::new(),
            None => places_lack(scene, listed, &loads.samples, &duties),
        };
        let closed = listed.window.to <= scene.case.as_of;
        out.windows.push(decided(
            limit,
            figure(scene, &loads, (of, figures), &days),
            Held {
                closed,
                fold: Some(Fold::Total),
                substitutes: true,
                missing,
                ..Held::of(listed.window.clone(), counted)
            },
        ));
    }
    if least(limit) == Least::Duty {
        out.windows.extend(lacking_stretches(scene, &duty, Some(&can_be), None));
    }
    loads.note(&mut out);
    out
}

/// Days parted by their months.
fn by_month(days: &[NaiveDate]) -> impl Iterator<Item = &[NaiveDate]> {
    days.chunk_by(|one, next| (one.year(), one.month()) == (next.year(), next.month()))
}

/// The concentration that a month without a result takes, and from when; none where the permit does not say, or nothing
/// is on file before it.
fn carried(of: MonthlyLoad, month: NaiveDate, samples: &[Sampled]) -> Option<(Interval, String)> {
    let last = samples.iter().filter(|sample| sample.day < month).max_by_key(|sample| sample.day)?;
    match of.without_result? {
        Carried::LastResult => Some((last.value, day_label(last.day))),
        Carried::LastMean => {
            let start = month_start(last.day);
            let values: Vec<Interval> =
                samples.iter().filter(|sample| month_start(sample.day) == start).map(|sample| sample.value).collect();
            Some((interval::mean(&values)?, month_label(start)))
        }
    }
}

fn figure(
    scene: &Scene<'_>,
    loads: &Loads<'_>,
    (of, figures): (MonthlyLoad, Option<u32>),
    days: &[NaiveDate],
) -> Figured {
    let mut out = Figured::of(Interval::exactly(Number::ZERO));
    let starts = scene.case.facility.day();
    let mut terms: Vec<Interval> = Vec::new();
    for (place, samples) in scene.flows.of.iter().zip(&loads.samples) {
        for month in by_month(days) {
            let Some(start) = month.first().map(|first| month_start(*first)) else { continue };
            let label = month_label(start);
            let water = place.water.over(&stretches_of(month.iter().copied(), None, starts));
            let here: Vec<&Sampled> =
                samples.iter().filter(|sample| month.binary_search(&sample.day).is_ok()).collect();
            for (piece, _) in water.parts.iter().filter(|(_, part)| !part.high.is_zero()) {
                out.evidence.extend(piece.evidence.iter().cloned());
                out.known_on = out.known_on.max(Some(piece.known_on));
            }
            out.known_on = out.known_on.max(here.iter().map(|sample| sample.known_on).max());
            out.evidence.extend(here.iter().flat_map(|sample| sample.evidence.clone()));
            out.n += here.len();
            let values: Vec<Interval> = here.iter().map(|sample| sample.value).collect();
            let (mean, how) = match interval::mean(&values) {
                Some(mean) if values.len() == 1 => (Some(mean), String::new()),
                Some(mean) => (Some(mean), format!(" (mean of {})", values.len())),
                None => match carried(of, start, samples) {
                    Some((value, from)) => (Some(value), format!(" (of {from})")),
                    None => (None, String::new()),
                },
            };
            if water.value.high.is_zero() {
                continue;
            }
            let Some(mean) = mean else {
                out.missing.push(Missing { of: None, paper: None,
                    sentence: match of.without_result {
                        None => format!(
                            "{label}: water, or not known whether, and no result; the permit does not say what stands for it."
                        ),
                        Some(_) => format!("{label}: water, or not known whether, and no result of it or before it."),
                    },
                    would_show: Some("A slip of that month, or looks that show it dry.".to_owned()),
                });
                out.arithmetic.push(format!("{label}: no result"));
                terms.push(Interval::missing());
                continue;
            };
            // Water that is not metered to the month has no counted value; what was sampled counts as the permit says.
            let water_as = Interval { counted: water.value.counted.filter(|_| water.value.is_exact()), ..water.value };
            let load = if mean.high.is_zero() {
                Interval::exactly(Number::ZERO)
            } else {
                out.missing.extend(uncounted(&water.missing, scene.case.as_of));
                mean.times(water_as).times(loads.to_unit)
            };
            out.arithmetic.push(format!(
                "{label}: {}{how} × {} = {}",
                text::in_milligrams(&mean),
                text::water(&water.value, scene.case.facility.system, figures),
                text::with_counted(&load, scene.limit)
            ));
            terms.push(load);
        }
    }
    out.value = interval::total(&terms);
    out.arithmetic.push(format!(
        "{} = {}",
        if terms.is_empty() {
            "no water".to_owned()
        } else {
            format!("the sum of {}", crate::told::many(terms.len(), "month"))
        },
        text::with_counted(&out.value, scene.limit)
    ));
    out
}
