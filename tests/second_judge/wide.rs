//! Limits whose window is of several days: averages, totals, highest values, geometric means, percentiles, removals.

use super::days::{Day, first_of_month, last_of_month, month_of};
use super::exact::{End, Known, Rat};
use super::given::{Carry, Divisor, Parameter, Spot, Statistic, Weighting, Window};
use super::outcome::{Grounds, Judged, Outcome, decide};
use super::seen::{Seen, nominal};
use super::singly::{DayLoad, day_load};
use super::water::State;
use super::weighted::{mean as weighted_mean, removal};
use super::windows::{Stretch, listed};

/// Every window listed, at every place where places are held one by one.
pub fn judged(seen: &Seen) -> Vec<Judged> {
    let windows = listed(seen.site, seen.limit, &seen.said);
    let mut all = Vec::new();
    for window in &windows {
        let mut out = Vec::new();
        if !window.evaluable {
            out.push(Judged::new(&window.days, Outcome::NotEvaluable, None));
        } else {
            match seen.limit.parameter {
                Parameter::Water => out.push(water(seen, window)),
                Parameter::Load => match seen.limit.by_month {
                    Some(carry) => out.push(load_by_months(seen, window, carry)),
                    None => out.extend(load(seen, window)),
                },
                _ if seen.said.weighting == Weighting::Flow
                    && matches!(seen.limit.statistic, Statistic::Average(_)) =>
                {
                    out.extend(flow_weighted(seen, window));
                }
                _ => {
                    let places = 0..seen.waters.len();
                    out.extend(places.filter_map(|place| concentration(seen, window, place)));
                }
            }
        }
        // A window is named by its days in force and season, weekdays aside.
        all.extend(out.into_iter().map(|judged| Judged { from: window.first, to: window.last, ..judged }));
    }
    let mut out = all;
    // A place of which nothing is on file, though its windows are too short for the duty to be due in each.
    let summed = matches!(seen.limit.parameter, Parameter::Water | Parameter::Load);
    let weighed = seen.said.weighting == Weighting::Flow && matches!(seen.limit.statistic, Statistic::Average(_));
    if !summed && !weighed && seen.least_duty().is_some() && seen.duty_is_longer(nominal(seen)) {
        let evaluable: Vec<&Stretch> = windows.iter().filter(|w| w.evaluable).collect();
        for place in 0..seen.waters.len() {
            let listed = evaluable.iter().any(|window| concentration(seen, window, place).is_some());
            if let (false, Some(first), Some(last)) = (listed, evaluable.first(), evaluable.last()) {
                out.push(Judged::aside(first.first, last.last, Outcome::NotShown));
            }
        }
    }
    // A duty with a longer stretch: what its closed stretches lack.
    if let Some(duty) = seen.least_duty()
        && seen.duty_is_longer(nominal(seen))
        && !matches!(seen.limit.parameter, Parameter::Water)
    {
        for place in 0..seen.waters.len() {
            let missing = seen.without_sample(duty, Some(place), seen.spot(place));
            out.extend(missing.into_iter().map(|(a, b)| Judged::aside(a, b, Outcome::NotShown)));
        }
    }
    out
}

fn open(seen: &Seen, window: &Stretch) -> bool {
    window.last > seen.site.as_of
}

fn dry(seen: &Seen, place: usize, days: &[Day]) -> bool {
    days.iter().all(|d| seen.waters[place].state(*d) == State::Dry)
}

fn not_shown(window: &Stretch) -> Judged {
    Judged::new(&window.days, Outcome::NotShown, None)
}

/// A mean over days of which some have a value, some are sure to belong without one, and some only may belong.
fn mean_with(values: &[Known], sure: usize, possible: usize) -> Option<Known> {
    if values.is_empty() && sure == 0 {
        return None;
    }
    let sum = Known::sum(values);
    let all = (values.len() + sure + possible) as i128;
    if sure + possible == 0 {
        return Some(sum.scaled(Rat::new(1, all)));
    }
    Some(Known::between(sum.lo.scaled(Rat::new(1, all)), End::Above))
}

fn concentration(seen: &Seen, window: &Stretch, place: usize) -> Option<Judged> {
    let (spot, water, days) = (seen.spot(place), &seen.waters[place], &window.days);
    let open = open(seen, window);
    if !open && dry(seen, place, days) {
        return Some(Judged::new(days, Outcome::NoDischarge, None));
    }
    // A percentile's table is for samples; everything else has one value a day.
    let of_day = |d: &Day| match &seen.limit.statistic {
        Statistic::Percentile(_) => seen.values(spot, *d),
        _ => seen.day_value(spot, *d).into_iter().collect(),
    };
    let values: Vec<Known> = days.iter().flat_map(of_day).collect();
    if let Statistic::Removal = seen.limit.statistic {
        return Some(removal_of(seen, window, place));
    }
    if values.is_empty() && seen.least_duty().is_some() && seen.duty_is_longer(nominal(seen)) {
        return None;
    }
    let enough = seen.enough(place, days, &|d| seen.sampled(spot, d));
    let grounds = Grounds {
        open,
        stays: matches!(seen.limit.statistic, Statistic::Maximum(_)),
        enough,
        counts: !matches!(seen.limit.statistic, Statistic::Maximum(_) | Statistic::Percentile(_)),
    };
    let unsampled = |state: State| {
        let those = days.iter().filter(|d| !seen.sampled(spot, **d));
        those.filter(|d| water.state(**d) == state).count()
    };
    let known = match &seen.limit.statistic {
        _ if values.is_empty() => None,
        Statistic::GeometricMean(_) => {
            return Some(super::many::geometric(seen, window, &values, place, grounds));
        }
        Statistic::Percentile(table) => {
            return Some(super::many::percentile(seen, window, &values, table, grounds));
        }
        Statistic::Maximum(_) => Some(Known::highest(&values)),
        _ => match seen.said.divisor {
            Divisor::Sampled => Some(Known::mean(&values)),
            Divisor::Discharge => mean_with(&values, unsampled(State::Flow), unsampled(State::Unknown)),
            Divisor::Calendar => {
                let mut all = values.clone();
                all.extend(vec![Known::zero(); unsampled(State::Dry)]);
                let rest = unsampled(State::Flow) + unsampled(State::Unknown);
                mean_with(&all, rest, 0)
            }
        },
    };
    Some(match known {
        None => not_shown(window),
        Some(known) => Judged::new(days, decide(seen.limit, &known, grounds), Some(known)),
    })
}

fn removal_of(seen: &Seen, window: &Stretch, place: usize) -> Judged {
    let (spot, days) = (seen.spot(place), &window.days);
    let both = |d: &Day| seen.day_value(Spot::Upstream, *d).zip(seen.day_value(spot, *d));
    let pairs: Vec<(Known, Known)> = days.iter().filter_map(both).collect();
    if pairs.is_empty() || open(seen, window) {
        return not_shown(window);
    }
    let known = removal(&pairs);
    let has = |d: Day| seen.sampled(spot, d) && seen.sampled(Spot::Upstream, d);
    let grounds = Grounds { open: false, stays: false, enough: seen.enough(place, days, &has), counts: true };
    Judged::new(days, decide(seen.limit, &known, grounds), Some(known))
}

fn water(seen: &Seen, window: &Stretch) -> Judged {
    let days = &window.days;
    let sum = |of: &[Day]| {
        let places: Vec<Known> = seen.waters.iter().map(|water| water.total(of)).collect();
        Known::sum(&places)
    };
    let whole = sum(days);
    let covered = whole.hi != End::Above;
    let total = matches!(seen.limit.statistic, Statistic::Total(_));
    let grounds = Grounds { open: open(seen, window), stays: total, enough: total || covered, counts: false };
    let known = if total {
        whole
    } else {
        let state = |d: &Day| {
            let states: Vec<State> = seen.waters.iter().map(|water| water.state(*d)).collect();
            if states.contains(&State::Flow) {
                State::Flow
            } else if states.contains(&State::Unknown) {
                State::Unknown
            } else {
                State::Dry
            }
        };
        match seen.said.divisor {
            Divisor::Calendar => whole.scaled(Rat::new(1, days.len() as i128)),
            Divisor::Sampled => {
                let metered: Vec<Day> =
                    days.iter().copied().filter(|d| seen.waters.iter().all(|water| water.metered(*d))).collect();
                if metered.is_empty() {
                    return if whole.hi == End::ZERO && !grounds.open {
                        Judged::new(days, decide(seen.limit, &whole, grounds), Some(whole))
                    } else {
                        not_shown(window)
                    };
                }
                sum(&metered).scaled(Rat::new(1, metered.len() as i128))
            }
            Divisor::Discharge => {
                let sure = days.iter().filter(|d| state(d) == State::Flow).count();
                let possible = days.iter().filter(|d| state(d) == State::Unknown).count();
                if sure + possible == 0 {
                    whole
                } else {
                    let lo = whole.lo.scaled(Rat::new(1, (sure + possible) as i128));
                    let hi = whole.hi.scaled(Rat::new(1, sure.max(1) as i128));
                    Known::between(lo, hi)
                }
            }
        }
    };
    Judged::new(days, decide(seen.limit, &known, grounds), Some(known))
}

fn load(seen: &Seen, window: &Stretch) -> Option<Judged> {
    let days = &window.days;
    let (mut values, mut dry, mut unsampled) = (Vec::new(), 0, Vec::new());
    for day in days.iter().filter(|d| **d <= seen.site.as_of) {
        match day_load(seen, *day) {
            DayLoad::Dry => dry += 1,
            DayLoad::Sampled(known) => values.push(known),
            DayLoad::Unsampled => unsampled.push(*day),
        }
    }
    let places = 0..seen.waters.len();
    let has = |place: usize| move |d: Day| seen.sampled(seen.spot(place), d);
    let enough = places.clone().all(|place| self::dry(seen, place, days) || seen.enough(place, days, &has(place)));
    let total = matches!(seen.limit.statistic, Statistic::Total(_));
    let highest = matches!(seen.limit.statistic, Statistic::Maximum(_));
    let open = open(seen, window);
    let grounds = Grounds { open, stays: total || highest, enough, counts: !highest };
    if !open && dry == days.len() {
        let zero = Known::zero();
        let grounds = Grounds { enough: true, ..grounds };
        return Some(Judged::new(days, decide(seen.limit, &zero, grounds), Some(zero)));
    }
    if values.is_empty() && seen.least_duty().is_some() && seen.duty_is_longer(nominal(seen)) {
        return None;
    }
    let known = if total {
        let mut sum = Known::sum(&values);
        if !unsampled.is_empty() {
            sum = sum.plus(Known::up_from_zero());
        }
        Some(sum)
    } else if values.is_empty() {
        None
    } else if highest {
        Some(Known::highest(&values))
    } else {
        let state = |d: &&Day| seen.waters.iter().any(|water| water.state(**d) == State::Flow);
        let sure = unsampled.iter().filter(state).count();
        match seen.said.divisor {
            Divisor::Sampled => Some(Known::mean(&values)),
            Divisor::Discharge => mean_with(&values, sure, unsampled.len() - sure),
            Divisor::Calendar => {
                let mut all = values.clone();
                all.extend(vec![Known::zero(); dry]);
                mean_with(&all, unsampled.len(), 0)
            }
        }
    };
    Some(match known {
        None => not_shown(window),
        Some(known) => Judged::new(days, decide(seen.limit, &known, grounds), Some(known)),
    })
}

/// Each month's mean times its water, at each place, added up.
fn load_by_months(seen: &Seen, window: &Stretch, carry: Carry) -> Judged {
    let days = &window.days;
    let earliest = seen.site.samples.iter().map(|sample| seen.site.day_of(sample.when)).min().unwrap_or(days[0]);
    let mut sum = Known::zero();
    for (place, water) in seen.waters.iter().enumerate() {
        let spot = seen.spot(place);
        let of_month = |month: (i64, i64)| -> Vec<Known> {
            (first_of_month(month)..=last_of_month(month)).filter_map(|d| seen.day_value(spot, d)).collect()
        };
        let mut left = days.as_slice();
        while let Some(first) = left.first() {
            let month = month_of(*first);
            let (here, rest) = left.split_at(left.iter().take_while(|d| month_of(**d) == month).count());
            left = rest;
            let water = water.total(here);
            if water.hi == End::ZERO {
                continue;
            }
            let values: Vec<Known> = here.iter().filter_map(|d| seen.day_value(spot, *d)).collect();
            let before = (earliest..first_of_month(month)).rev().find(|d| seen.day_value(spot, *d).is_some());
            let mean = match (values.is_empty(), carry, before) {
                (false, ..) => Some(Known::mean(&values)),
                (true, Carry::LastResult, Some(last)) => seen.day_value(spot, last),
                (true, Carry::LastMean, Some(last)) => Some(Known::mean(&of_month(month_of(last)))),
                _ => None,
            };
            sum = sum.plus(match mean {
                None => Known::up_from_zero(),
                Some(mean) => {
                    let mut load = mean.times(water).scaled(Rat::new(1, 1000));
                    if mean.counted.is_none() {
                        load.counted = None;
                    }
                    load
                }
            });
        }
    }
    let has = |place: usize| move |d: Day| seen.sampled(seen.spot(place), d);
    let mut places = 0..seen.waters.len();
    let enough =
        carry != Carry::NotSaid || places.all(|place| dry(seen, place, days) || seen.enough(place, days, &has(place)));
    let grounds = Grounds { open: open(seen, window), stays: true, enough, counts: true };
    Judged::new(days, decide(seen.limit, &sum, grounds), Some(sum))
}

fn flow_weighted(seen: &Seen, window: &Stretch) -> Option<Judged> {
    let days = &window.days;
    let places = 0..seen.waters.len();
    let open = open(seen, window);
    if !open && places.clone().all(|place| dry(seen, place, days)) {
        return Some(Judged::new(days, Outcome::NoDischarge, None));
    }
    let mut terms = Vec::new();
    for day in days {
        let sampled = places.clone().any(|p| seen.sampled(seen.spot(p), *day));
        if !sampled {
            continue;
        }
        for place in places.clone() {
            let water = &seen.waters[place];
            let flow = water.total(&[*day]);
            match seen.day_value(seen.spot(place), *day) {
                Some(value) => terms.push((value, flow)),
                None if water.state(*day) == State::Dry => {}
                None => terms.push((Known::up_from_zero(), flow)),
            }
        }
    }
    if terms.is_empty() {
        return (!seen.duty_is_longer(nominal(seen))).then(|| not_shown(window));
    }
    let has = |place: usize| move |d: Day| seen.sampled(seen.spot(place), d);
    let grounds = Grounds {
        open,
        stays: false,
        // Water that nothing metered has no weight.
        enough: terms.iter().all(|(_, flow)| flow.hi != End::Above)
            && places.clone().all(|place| dry(seen, place, days) || seen.enough(place, days, &has(place))),
        counts: true,
    };
    Some(match weighted_mean(&terms) {
        None => not_shown(window),
        Some(known) => Judged::new(days, decide(seen.limit, &known, grounds), Some(known)),
    })
}

/// Whether the statistic's window is of several days.
pub fn is_wide(statistic: &Statistic) -> bool {
    statistic.window() != Window::Day
}
