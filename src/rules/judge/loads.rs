//! Loads held against a limit: same-day concentration times same-day water, place by place.

use chrono::NaiveDate;

use crate::quantity::units;
use crate::rules::duty::DueStretch;
use crate::rules::judge::evaluate::{
    Figured, Held, Judged, decided, is_within_a_stretch, lacking_stretches, not_on_file, nothing_in, open_days,
    without_figure, without_water,
};
use crate::rules::judge::lacking::{Least, lacking_days, least, places_due, places_lack, stretches_due};
use crate::rules::judge::monthly_loads;
use crate::rules::judge::scene::Scene;
use crate::rules::judge::text;
use crate::rules::measure::convert::{amount_factor, load_factor};
use crate::rules::measure::readings::area;
use crate::rules::measure::{Flow, LoadDay, Sampled, by_day, load_days};
use crate::rules::window::interval;
use crate::rules::window::statistics::Fold;
use crate::rules::window::windows::{Listed, Window};
use crate::rules::{Counted, Divisor, Interval, LoadFactor, Missing, Number, Outcome};

/// The loads of a limit under one way to count.
pub(super) struct Loads<'a> {
    scene: &'a Scene<'a>,
    /// One a day and place, kg/m³.
    pub(super) samples: Vec<Vec<Sampled>>,
    pub(super) to_unit: Interval,
}

impl<'a> Loads<'a> {
    pub(super) fn of(scene: &'a Scene<'a>, counted: &Counted) -> Option<Self> {
        let limit = scene.limit;
        let to_unit = amount_factor(&limit.bound, area(&limit.at, scene.case.facility))?
            .times(Interval::exactly(load_factor(limit.counting.load_factor)));
        let samples =
            scene.values.iter().map(|raw| by_day(raw, true, limit.statistic, counted, Some(&units::KG_M3))).collect();
        Some(Self { scene, samples, to_unit })
    }

    fn days(&self, days: &[NaiveDate]) -> Vec<LoadDay> {
        let all: Vec<Sampled> = self.samples.iter().flatten().cloned().collect();
        load_days(days.iter().copied(), &self.scene.flows, &all, self.to_unit)
    }

    /// The duty of all places together over the period.
    pub(super) fn duty(&self, counted: &Counted) -> Option<Vec<DueStretch>> {
        let scene = self.scene;
        let of_place = |(at, samples): (usize, &Vec<Sampled>)| {
            let flows = scene.flows.at(at);
            stretches_due(scene, &flows, samples, counted, scene.case.period)
        };
        joined(self.samples.iter().enumerate().map(of_place))
    }

    pub(super) fn note(&self, out: &mut Judged) {
        if out.readings > 0 {
            out.notes.push(match self.scene.limit.counting.load_factor {
                LoadFactor::Exact => "Loads are worked out with the exact factors of the units.".to_owned(),
                LoadFactor::Rule834 => {
                    "Loads are worked out with the permit's 8.34 (0.065 % below the exact factor).".to_owned()
                }
            });
        }
    }
}

/// The duties of several places as one; none where there is none.
pub(super) fn joined(duties: impl Iterator<Item = Option<Vec<DueStretch>>>) -> Option<Vec<DueStretch>> {
    duties.flatten().reduce(|mut all, more| {
        all.extend(more);
        all
    })
}

/// What is missing of a day: a meter for its sample.
fn no_water(day: &LoadDay) -> Missing {
    Missing {
        of: None,
        paper: None,
        sentence: format!(
            "{}: a concentration, and no metered water of that day to go with it ({}).",
            crate::rules::window::windows::day_label(day.day),
            day.unmetered.join(", ")
        ),
        would_show: Some("A meter's reading of that very day.".to_owned()),
    }
}

/// Each sampled day on its own, and what was due and is not on file.
pub(crate) fn days(scene: &Scene<'_>, counted: &Counted) -> Judged {
    let mut out = Judged::default();
    let Some(loads) = Loads::of(scene, counted) else {
        return out;
    };
    let limit = scene.limit;
    let all = loads.days(&scene.days());
    for day in all.iter().filter(|day| day.partly) {
        out.readings += 1;
        let mut missing = Vec::new();
        if !day.unmetered.is_empty() {
            missing.push(no_water(day));
        }
        if !day.sampled {
            missing.push(Missing {
                of: None,
                paper: None,
                sentence: format!(
                    "{}: not every place with water was sampled.",
                    crate::rules::window::windows::day_label(day.day)
                ),
                would_show: Some("The slips of the other places.".to_owned()),
            });
        }
        let figured = Figured {
            n: 1,
            arithmetic: vec![format!("{} = {}", day.text, text::with_counted(&day.value, limit))],
            evidence: day.evidence.clone(),
            known_on: Some(day.known_on),
            over_on: Some(day.known_on),
            ..Figured::of(day.value)
        };
        let mut judgement =
            decided(limit, figured, Held { substitutes: true, ..Held::of(Window::new(day.day, day.day), counted) });
        if judgement.finding.outcome == Outcome::NotShown {
            judgement.finding.missing = missing;
        }
        out.windows.push(judgement);
    }
    let dry: Vec<NaiveDate> = all
        .iter()
        .filter(|day| day.dry && !day.partly && scene.flows.on(day.day) == Flow::Dry)
        .map(|day| day.day)
        .collect();
    out.windows.extend(without_water(limit, counted, &dry));
    let duty = loads.duty(counted);
    out.count(&duty);
    match least(limit) {
        Least::Duty => out.windows.extend(lacking_stretches(scene, &duty, None, None)),
        _ => {
            let sampled: Vec<&Sampled> = loads.samples.iter().flatten().collect();
            for (days, missing) in lacking_days(scene, &scene.flows, &scene.days(), &sampled) {
                out.windows.extend(open_days(&days, &missing, None));
            }
        }
    }
    nothing_at_all(scene, &mut out);
    loads.note(&mut out);
    out
}

fn nothing_at_all(scene: &Scene<'_>, out: &mut Judged) {
    let days = scene.days();
    if let (true, Some(first), Some(last)) = (out.windows.is_empty(), days.first(), days.last()) {
        out.windows.push(not_on_file(
            Window::new(*first, *last),
            Missing {
                of: None,
                paper: None,
                sentence: "No result is on file with metered water of its day.".to_owned(),
                would_show: None,
            },
        ));
    }
}

/// What each window's days add up to, or make in the mean.
pub(crate) fn windows(scene: &Scene<'_>, counted: &Counted, fold: Fold) -> Judged {
    if let Some(of) = scene.limit.monthly_load {
        return monthly_loads::windows(scene, counted, of);
    }
    let mut out = Judged::default();
    let Some(loads) = Loads::of(scene, counted) else {
        return out;
    };
    let limit = scene.limit;
    let (can_be, can_not): (Vec<Listed>, Vec<Listed>) =
        scene.windows(counted).into_iter().partition(|window| window.evaluable);
    out.not_evaluable = can_not.len();
    out.readings = loads.days(&scene.days()).iter().filter(|day| day.partly).count();
    out.count(&loads.duty(counted));
    let duties = places_due(scene, counted, &can_be, &loads.samples);
    let duty = joined(duties.iter().cloned());
    for listed in &can_be {
        let days = scene.days_of(listed);
        if days.is_empty() {
            continue;
        }
        let closed = listed.window.to <= scene.case.as_of;
        let all = loads.days(&days);
        let missing = places_lack(scene, listed, &loads.samples, &duties);
        let has_any = all.iter().any(|day| day.partly);
        let all_dry = all.iter().all(|day| day.dry && !day.partly);
        let unlisted = fold != Fold::Total || is_within_a_stretch(limit, listed);
        if !has_any && !all_dry && unlisted {
            if !missing.is_empty() {
                out.windows.push(without_figure(listed.window.clone(), Outcome::NotShown, missing));
            } else if !is_within_a_stretch(limit, listed) {
                out.windows.push(nothing_in(listed.window.clone(), closed));
            }
            continue;
        }
        let missing = if all_dry { Vec::new() } else { missing };
        out.windows.push(decided(
            limit,
            figure(&loads, counted, fold, &all),
            Held { closed, fold: Some(fold), substitutes: true, missing, ..Held::of(listed.window.clone(), counted) },
        ));
    }
    if least(limit) == Least::Duty {
        out.windows.extend(lacking_stretches(scene, &duty, Some(&can_be), None));
    }
    if !(can_be.is_empty() && out.not_evaluable > 0) {
        nothing_at_all(scene, &mut out);
    }
    loads.note(&mut out);
    out
}

fn figure(loads: &Loads<'_>, counted: &Counted, fold: Fold, all: &[LoadDay]) -> Figured {
    let with_value: Vec<&LoadDay> = all.iter().filter(|day| day.partly).collect();
    let bare: Vec<NaiveDate> = all.iter().filter(|day| !day.partly && !day.dry).map(|day| day.day).collect();
    let values: Vec<Interval> = with_value.iter().map(|day| day.value).collect();
    let mut out = Figured {
        n: values.len(),
        evidence: with_value.iter().flat_map(|day| day.evidence.clone()).collect(),
        known_on: with_value.iter().map(|day| day.known_on).max(),
        ..Figured::of(Interval::exactly(Number::ZERO))
    };
    let unmetered: Vec<&&LoadDay> = with_value.iter().filter(|day| !day.unmetered.is_empty()).collect();
    out.missing.extend(unmetered.iter().take(3).map(|day| no_water(day)));
    let sum = interval::total(&values);
    let open = |sum: Interval| {
        if bare.is_empty() { sum } else { sum.plus(Interval::missing()) }
    };
    let rest = if bare.is_empty() { "" } else { " + what is missing" };
    match fold {
        Fold::Average if values.is_empty() => {
            out.arithmetic.push("no water on any day".to_owned());
        }
        Fold::Average => {
            let (value, divisor) = match counted.divisor {
                Divisor::DaysSampled => (sum, Interval::exactly(Number::count(values.len()))),
                Divisor::DaysWithDischarge => {
                    let on =
                        |flow| all.iter().filter(|day| !day.partly && loads.scene.flows.on(day.day) == flow).count();
                    let sure = values.len() + on(Flow::Flowing);
                    (open(sum), Interval::between(Number::count(sure), Number::count(sure + on(Flow::NotKnown))))
                }
                Divisor::CalendarDays => (open(sum), Interval::exactly(Number::count(all.len()))),
            };
            out.value = value.over(divisor).unwrap_or_else(Interval::missing);
            out.arithmetic.push(format!(
                "({}) ÷ {} = {}",
                text::terms(&values, " + "),
                text::count(&divisor),
                text::with_counted(&out.value, loads.scene.limit)
            ));
        }
        Fold::Highest | Fold::Lowest => {
            let join = if fold == Fold::Highest { Interval::or_more } else { Interval::or_less };
            out.value = values.iter().copied().reduce(join).unwrap_or(Interval::exactly(Number::ZERO));
            out.arithmetic.push(format!(
                "of {} days: {}",
                values.len(),
                text::with_counted(&out.value, loads.scene.limit)
            ));
        }
        _ => {
            out.value = open(sum);
            if !bare.is_empty() {
                out.missing.push(Missing { of: None, paper: None,
                    sentence: format!(
                        "{}: water, or not known whether, and no sample; the permit does not say how such days are filled.",
                        crate::rules::judge::evaluate::runs_text(&bare, 3)
                    ),
                    would_show: Some("Slips of those days, or looks that show them dry.".to_owned()),
                });
            }
            out.arithmetic.push(format!(
                "{}{rest} = {}",
                if values.is_empty() && bare.is_empty() {
                    "no water".to_owned()
                } else if values.is_empty() {
                    "nothing sampled".to_owned()
                } else {
                    text::terms(&values, " + ")
                },
                text::with_counted(&out.value, loads.scene.limit)
            ));
        }
    }
    out
}
