//! Limits for a made site: any statistic, any switch, and bounds that often meet a figure exactly.

use super::days::{Day, date};
use super::exact::Rat;
use super::given::{
    Belongs, Below, Bound, Carry, Counting, Divisor, Duty, Except, Least, Limit, Parameter, Several, Site, Statistic,
    Stretch, Weighting, Window,
};
use super::judge::judge;
use super::random::Rng;
use std::mem::discriminant;

pub fn add(rng: &mut Rng, site: &mut Site) {
    let wanted = rng.whole(4, 8);
    while site.limits.len() < wanted {
        let mut limit = one(rng, site, site.limits.len());
        // Levels and freeboards are not mixed: one can be worked out from the other.
        let levels = site.levels.iter().any(|level| !level.freeboard);
        if limit.parameter == Parameter::Freeboard && levels {
            continue;
        }
        // Two limits that claim the same thing with different bounds are refused.
        let claims = |other: &Limit| {
            other.parameter == limit.parameter
                && discriminant(&other.statistic) == discriminant(&limit.statistic)
                && other.statistic.window() == limit.statistic.window()
                && other.at == limit.at
        };
        if site.limits.iter().any(claims) {
            continue;
        }
        // What is said of weeks is said once for all limits.
        if let Some(first) = site.limits.first() {
            limit.counting.week_starts = first.counting.week_starts;
            limit.counting.belongs = first.counting.belongs;
        }
        meet(rng, site, &mut limit);
        site.limits.push(limit);
    }
}

fn window(rng: &mut Rng) -> Window {
    rng.pick(&[
        Window::Week,
        Window::Week,
        Window::Month,
        Window::Month,
        Window::Month,
        Window::Season,
        Window::Year,
        Window::Rolling(7),
        Window::Rolling(30),
        Window::Rolling(10),
        Window::TwelveMonths,
    ])
}

fn what(rng: &mut Rng) -> (Parameter, Statistic) {
    match rng.whole(0, 16) {
        0 => (Parameter::Solids, Statistic::EveryReading),
        1 => (Parameter::Ph, Statistic::EveryReading),
        2 => (Parameter::Solids, Statistic::DailyMaximum),
        3 => (Parameter::Solids, Statistic::DailyMinimum),
        4 => (Parameter::Freeboard, Statistic::EveryReading),
        5 => (Parameter::Water, Statistic::Total(Window::Day)),
        6 => (Parameter::Water, Statistic::Total(window(rng))),
        7 => (Parameter::Water, Statistic::Average(window(rng))),
        8 => (Parameter::Solids, Statistic::Average(window(rng))),
        9 => {
            let statistic = if rng.chance(0.5) {
                Statistic::Maximum(rng.pick(&[Window::Week, Window::Month]))
            } else {
                Statistic::GeometricMean(rng.pick(&[Window::Week, Window::Month]))
            };
            (Parameter::Solids, statistic)
        }
        10 => (Parameter::Load, Statistic::Total(Window::Day)),
        11 => {
            let window = window(rng);
            let statistic = if rng.chance(0.5) { Statistic::Total(window) } else { Statistic::Average(window) };
            (Parameter::Load, statistic)
        }
        15 => {
            let (from, to) = rng.pick(&[(22, 6), (8, 18), (6, 22)]);
            (Parameter::Water, Statistic::TimeOfDay(from * 60, to * 60))
        }
        16 => (Parameter::Water, Statistic::Rate),
        12 | 14 => (Parameter::Solids, Statistic::NoDischarge),
        _ => {
            if rng.chance(0.5) {
                let table = vec![(1, 3, 0), (4, 7, 1), (8, 40, rng.whole(1, 4))];
                (Parameter::Solids, Statistic::Percentile(table))
            } else {
                (Parameter::Solids, Statistic::Removal)
            }
        }
    }
}

fn said<T: Clone>(rng: &mut Rng, from: &[T]) -> Option<T> {
    (!rng.chance(0.08)).then(|| rng.pick(from))
}

fn counting(rng: &mut Rng) -> Counting {
    Counting {
        week_starts: said(rng, &[0, 2, 6]),
        belongs: said(rng, &[Belongs::Starts, Belongs::Ends, Belongs::Most]),
        several: said(rng, &[Several::Average, Several::Average, Several::Highest, Several::Lowest]),
        below: said(rng, &[Below::Zero, Below::Half, Below::Limit, Below::Number(Rat::whole(1))]),
        below_geometric: rng.chance(0.3).then(|| Rat::whole(1)),
        divisor: said(rng, &[Divisor::Sampled, Divisor::Sampled, Divisor::Discharge, Divisor::Calendar]),
        weighting: Some(if rng.chance(0.15) { Weighting::Flow } else { Weighting::Arithmetic }),
        least: match rng.whole(0, 9) {
            0 | 1 => Some(Least::Count(rng.whole(1, 3))),
            2 => Some(Least::TheDuty),
            3 => Some(Least::EveryDischarge),
            _ => None,
        },
        look_since_the_last: rng.chance(0.25),
    }
}

fn duty(rng: &mut Rng, statistic: &Statistic, parameter: Parameter) -> Option<Duty> {
    let window = statistic.window();
    let stretch = match window {
        Window::Day => rng.pick(&[
            Stretch::Day,
            Stretch::Week,
            Stretch::Month,
            Stretch::Quarter,
            Stretch::Days(10),
            Stretch::Days(3),
        ]),
        Window::Week => rng.pick(&[Stretch::Week, Stretch::Month]),
        Window::Rolling(_) => return None,
        _ => rng.pick(&[Stretch::Month, Stretch::Month, Stretch::Week]),
    };
    let wanted = match parameter {
        Parameter::Water => false,
        _ => *statistic != Statistic::NoDischarge && rng.chance(0.5),
    };
    wanted.then(|| Duty {
        stretch,
        with_a_discharge: !matches!(stretch, Stretch::Days(_)) && parameter != Parameter::Freeboard && rng.chance(0.7),
    })
}

fn one(rng: &mut Rng, site: &Site, number: usize) -> Limit {
    let (parameter, statistic) = what(rng);
    let at = if parameter == Parameter::Freeboard {
        Vec::new()
    } else if site.outfalls.len() > 1 && statistic != Statistic::Removal && rng.chance(0.5) {
        vec![0, 1]
    } else {
        vec![0]
    };
    let mut counting = counting(rng);
    if counting.weighting == Some(Weighting::Flow)
        && !(parameter == Parameter::Solids && matches!(statistic, Statistic::Average(_)))
    {
        counting.weighting = Some(Weighting::Arithmetic);
    }
    let duty = duty(rng, &statistic, parameter);
    let (upper, lower) = bounds(rng, parameter, &statistic);
    let mut limit = Limit {
        name: format!("L{number}"),
        at,
        parameter,
        statistic,
        upper,
        lower,
        season: None,
        months: None,
        weekdays: None,
        in_force: (None, None),
        duty,
        except: None,
        counting,
        by_month: None,
    };
    let whole = matches!(limit.statistic, Statistic::Total(Window::Month | Window::Year | Window::TwelveMonths));
    if limit.parameter == Parameter::Load && whole && rng.chance(0.6) {
        limit.by_month = Some(rng.pick(&[Carry::NotSaid, Carry::LastResult, Carry::LastMean]));
    }
    seasons(rng, site, &mut limit);
    if limit.statistic == Statistic::NoDischarge && rng.chance(0.8) {
        limit.except = Some(Except {
            over_mm: Rat::whole(rng.pick(&[20, 50, 50, 60])),
            in_hours: rng.pick(&[6, 24, 24, 48]),
            below_m: (site.levels.iter().any(|level| !level.freeboard) && rng.chance(0.6))
                .then(|| Rat::tenths(rng.pick(&[6, 7]))),
            after_days: rng.chance(0.6).then(|| rng.whole(0, 2) as i64),
            holds_days: rng.pick(&[1, 3, 7]),
        });
    }
    limit
}

/// Seasons and months with an edge in or near the period.
fn seasons(rng: &mut Rng, site: &Site, limit: &mut Limit) {
    let (from, to) = site.period;
    let some_day = |rng: &mut Rng| -> Day { from + rng.whole(0, (to - from) as usize) as i64 };
    let of_year = |day: Day| {
        let (_, month, of_month) = date(day);
        (month, of_month)
    };
    let season = limit.statistic.window() == Window::Season;
    if season || rng.chance(0.12) {
        let edge = some_day(rng);
        let length = rng.whole(4, 100) as i64;
        let (a, b) = if rng.chance(0.5) { (edge, edge + length) } else { (edge - length, edge) };
        limit.season = Some((of_year(a), of_year(b)));
    } else if rng.chance(0.12) {
        let (_, month, _) = date(some_day(rng));
        let on = (month - 1 + rng.whole(0, 2) as i64) % 12 + 1;
        limit.months = Some((month, on));
    }
    if !season && rng.chance(0.06) {
        limit.weekdays = Some((0, rng.pick(&[4, 5])));
    }
    if rng.chance(0.12) {
        let at = some_day(rng);
        limit.in_force = match rng.whole(0, 2) {
            0 => (Some(at), None),
            1 => (None, Some(at)),
            _ => (Some(at), Some(at + 40)),
        };
    }
}

fn bounds(rng: &mut Rng, parameter: Parameter, statistic: &Statistic) -> (Bound, Bound) {
    let strict = rng.chance(0.2);
    let of = |rng: &mut Rng, from: &[i64]| Some((Rat::whole(rng.pick(from)), strict));
    match (parameter, statistic) {
        (_, Statistic::NoDischarge | Statistic::TimeOfDay(..)) => (None, None),
        (_, Statistic::Rate) => (of(rng, &[1, 2, 3, 5, 10]), None),
        (Parameter::Freeboard, _) => (None, Some((Rat::tenths(6), strict))),
        (Parameter::Ph, _) => (Some((Rat::whole(9), false)), Some((Rat::whole(6), false))),
        (_, Statistic::Removal) => (None, of(rng, &[0, 50, 85])),
        (_, Statistic::DailyMinimum) => (None, of(rng, &[4, 5, 10])),
        (Parameter::Solids, _) if rng.chance(0.1) => (Some((Rat::whole(50), false)), Some((Rat::whole(4), false))),
        (Parameter::Solids, _) => (of(rng, &[10, 20, 24, 30, 60]), None),
        (Parameter::Load, _) => (of(rng, &[1, 2, 5, 10]), None),
        _ => (of(rng, &[5, 50, 100, 200, 600, 1000]), None),
    }
}

/// Often moves a bound onto a figure, so that the two are equal.
fn meet(rng: &mut Rng, site: &Site, limit: &mut Limit) {
    if !rng.chance(0.6) || limit.statistic == Statistic::NoDischarge {
        return;
    }
    let verdict = judge(site, limit);
    let figures: Vec<f64> = verdict
        .windows
        .iter()
        .filter_map(|window| window.figure)
        .flat_map(|figure| [figure.lo, figure.hi, figure.counted.unwrap_or(figure.lo)])
        .filter(|x| x.is_finite() && *x >= 0.0 && (x * 1000.0).round() == x * 1000.0)
        .collect();
    if figures.is_empty() {
        return;
    }
    let x = rng.pick(&figures);
    let x = Rat::new((x * 1000.0).round() as i128, 1000);
    let past = rng.pick(&[0, 0, 0, -1, 1]);
    let x = x + Rat::new(past, 100);
    let strict = |bound: Bound| bound.is_some_and(|(_, strict)| strict);
    if x < Rat::ZERO || (x == Rat::ZERO && strict(limit.upper)) {
        return;
    }
    if let Some((upper, _)) = &mut limit.upper
        && limit.lower.is_none_or(|(lower, _)| lower < x)
    {
        *upper = x;
    } else if let Some((lower, _)) = &mut limit.lower
        && limit.upper.is_none_or(|(upper, _)| x < upper)
    {
        *lower = x;
    }
}
