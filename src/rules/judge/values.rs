//! Results and levels held against a limit: each on its own, or what a window makes of its days.

use std::collections::BTreeSet;

use chrono::NaiveDate;

use crate::rules::duty::DueStretch;
use crate::rules::judge::evaluate::{
    Figured, Held, Judged, Judgement, all_dry, decided, duty_over, is_within_a_stretch, labelled, lacking_stretches,
    not_on_file, nothing_in, open_days, without_figure,
};
use crate::rules::judge::figures::Of;
use crate::rules::judge::lacking::{Least, lacking_days, least, places_due, places_lack, stretches_due, window_lacks};
use crate::rules::judge::scene::Scene;
use crate::rules::judge::text;
use crate::rules::measure::{Flow, Flows, Sampled, by_day};
use crate::rules::window::statistics::{Fold, Shape};
use crate::rules::window::windows::{Listed, Window};
use crate::rules::{Counted, Limit, Missing, Outcome, Subject};

/// Holds the values of one place, or of several that are weighed together, against a limit.
pub(crate) fn judged(
    scene: &Scene<'_>,
    counted: &Counted,
    shape: Shape,
    flows: &Flows,
    values: &[Sampled],
    place: Option<&str>,
) -> Judged {
    match shape {
        Shape::Window(fold) => windows(scene, counted, fold, flows, values, place),
        _ => each(scene, counted, flows, values, place),
    }
}

fn each(scene: &Scene<'_>, counted: &Counted, flows: &Flows, values: &[Sampled], place: Option<&str>) -> Judged {
    let limit = scene.limit;
    let mut out = Judged::default();
    let days = scene.days();
    let listed: BTreeSet<NaiveDate> = days.iter().copied().collect();
    let held: Vec<&Sampled> = values.iter().filter(|value| listed.contains(&value.day)).collect();
    out.readings = held.len();
    for value in &held {
        let window = labelled(&Window::new(value.day, value.day), place);
        let averages = limit.statistic.words == "daily average";
        out.windows.push(one(limit, counted, value, window, value.is_mean || averages));
    }
    let duty = stretches_due(scene, flows, values, counted, scene.case.period);
    out.count(&duty);
    match least(limit) {
        Least::Duty => out.windows.extend(lacking_stretches(scene, &duty, None, place)),
        Least::EveryDischarge | Least::EveryDay => {
            for (days, missing) in lacking_days(scene, flows, &days, &held) {
                out.windows.extend(open_days(&days, &missing, place));
            }
        }
        Least::Count(_) => {}
    }
    nothing_at_all(scene, flows, &days, &duty, place, &mut out);
    out
}

/// One value on its own.
fn one(limit: &Limit, counted: &Counted, value: &Sampled, window: Window, substitutes: bool) -> Judgement {
    let figured = Figured {
        n: 1,
        arithmetic: vec![value.text.clone()],
        evidence: value.evidence.clone(),
        known_on: Some(value.known_on),
        over_on: Some(value.known_on),
        ..Figured::of(value.value)
    };
    let mut judgement = decided(limit, figured, Held { substitutes, ..Held::of(window, counted) });
    if let Some(figure) = &mut judgement.finding.figure {
        *figure = text::figure_of(&value.value, &limit.bound, value.censored);
    }
    judgement.known_on = Some(value.known_on);
    if judgement.finding.outcome == Outcome::NotShown {
        let shown = text::figure(&value.value, &limit.bound, value.censored);
        let composite = value.composite && !value.value.is_exact();
        judgement.finding.missing.push(Missing {
            of: None,
            paper: None,
            sentence: format!(
                "{}: {shown} does not tell on which side of the limit it is{}.",
                judgement.finding.label,
                if composite { ", being the mean of a composite" } else { "" }
            ),
            would_show: Some(if composite {
                "Single samples.".to_owned()
            } else if value.value.high.is_finite() {
                "A method with a detection limit below the limit.".to_owned()
            } else {
                "A method that measures as high as the limit.".to_owned()
            }),
        });
    }
    judgement
}

/// Where there is no window at all: no discharge if every day that is over is shown dry, else what would be needed.
fn nothing_at_all(
    scene: &Scene<'_>,
    flows: &Flows,
    days: &[NaiveDate],
    duty: &Option<Vec<DueStretch>>,
    place: Option<&str>,
    out: &mut Judged,
) {
    let (Some(first), Some(last)) = (days.first(), days.last()) else {
        return;
    };
    if !out.windows.is_empty() {
        return;
    }
    let window = labelled(&Window::new(*first, *last), place);
    let is_level = matches!(scene.limit.subject, Subject::Stage(_));
    let by_day = !matches!(scene.limit.statistic.shape, Shape::Window(_));
    if by_day && !is_level && all_dry(flows, days.iter().copied()) {
        out.windows.push(without_figure(window, Outcome::NoDischarge, Vec::new()));
        return;
    }
    let open = days.iter().filter(|day| flows.on(**day) == Flow::NotKnown).count();
    let running = duty.iter().flatten().any(|due| !due.ended);
    let sentence = if is_level {
        "No reading is on file.".to_owned()
    } else if duty.as_ref().is_some_and(|duty| duty.iter().any(|due| due.ended) && !duty.iter().any(DueStretch::lacks))
    {
        "No result is of these days; what was due is on file, of other days.".to_owned()
    } else if running {
        "No result is on file, and none is due yet.".to_owned()
    } else {
        format!("No result is on file, and {open} of {} days are not shown dry.", days.len())
    };
    out.windows.push(not_on_file(window, Missing { of: None, paper: None, sentence, would_show: None }));
}

/// Values parted by the places that they are of.
fn by_place(flows: &Flows, values: &[Sampled]) -> Vec<Vec<Sampled>> {
    flows
        .of
        .iter()
        .map(|of| {
            let here = values.iter().filter(|value| value.place == of.place);
            here.cloned().collect()
        })
        .collect()
}

fn windows(
    scene: &Scene<'_>,
    counted: &Counted,
    fold: Fold,
    flows: &Flows,
    values: &[Sampled],
    place: Option<&str>,
) -> Judged {
    let limit = scene.limit;
    let mut out = Judged::default();
    let (can_be, can_not): (Vec<Listed>, Vec<Listed>) =
        scene.windows(counted).into_iter().partition(|window| window.evaluable);
    out.not_evaluable = can_not.len();
    let entering = by_day(&scene.entering, true, limit.statistic, counted, Some(&crate::quantity::units::KG_M3));
    // Of a removal what is due is a day sampled at both points.
    let both: Vec<Sampled>;
    let due_values = if fold == Fold::Removal {
        both = values.iter().filter(|value| entering.iter().any(|other| other.day == value.day)).cloned().collect();
        both.as_slice()
    } else {
        values
    };
    let duty = duty_over(scene, flows, due_values, counted, &can_be);
    // Of places weighed together each has its own samples, and its own duty.
    let together = place.is_none() && flows.of.len() > 1;
    let each: Vec<Vec<Sampled>> = if together { by_place(flows, values) } else { Vec::new() };
    let duties = places_due(scene, counted, &can_be, &each);
    let period = scene.case.period;
    out.readings =
        values.iter().filter(|value| period.0 <= value.day && value.day <= period.1 && scene.holds(value.day)).count();
    out.count(&stretches_due(scene, flows, values, counted, period));
    for listed in &can_be {
        let days = scene.days_of(listed);
        if days.is_empty() {
            continue;
        }
        let inside: Vec<&Sampled> = values.iter().filter(|value| days.binary_search(&value.day).is_ok()).collect();
        let closed = listed.window.to <= scene.case.as_of;
        let window = labelled(&listed.window, place);
        let entered: Vec<&Sampled> = entering.iter().filter(|value| days.binary_search(&value.day).is_ok()).collect();
        // Of a removal a day counts that was sampled at both points.
        let counting: Vec<&Sampled> = inside
            .iter()
            .copied()
            .filter(|value| fold != Fold::Removal || entered.iter().any(|other| other.day == value.day))
            .collect();
        let missing = if together {
            places_lack(scene, listed, &each, &duties)
        } else {
            window_lacks(scene, flows, listed, &counting, &duty)
        };
        let is_level = matches!(limit.subject, Subject::Stage(_));
        let dry = inside.is_empty() && !is_level && all_dry(flows, days.iter().copied());
        if closed && dry {
            out.windows.push(without_figure(window, Outcome::NoDischarge, Vec::new()));
            continue;
        }
        let only_entered = fold == Fold::Removal && !entered.is_empty();
        if inside.is_empty() && !only_entered {
            if !missing.is_empty() {
                out.windows.push(without_figure(window, Outcome::NotShown, missing));
            } else if !is_within_a_stretch(limit, listed) {
                out.windows.push(nothing_in(window, closed));
            }
            continue;
        }
        let of = Of { scene, counted, flows, days: &days };
        let figured = of.figure(fold, &inside, &entered);
        let substitutes = limit.statistic.substitutes;
        out.windows.push(decided(
            limit,
            figured,
            Held { closed, fold: Some(fold), substitutes, missing, ..Held::of(window, counted) },
        ));
    }
    if least(limit) == Least::Duty {
        out.windows.extend(lacking_stretches(scene, &duty, Some(&can_be), place));
    }
    if can_be.is_empty() && out.not_evaluable > 0 {
        return out;
    }
    nothing_at_all(scene, flows, &scene.days(), &duty, place, &mut out);
    out
}
