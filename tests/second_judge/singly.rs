//! Limits whose window is a reading or a day.

use super::days::Day;
use super::duty::closed;
use super::exact::{End, Known, Rat};
use super::given::{Several, Spot, Statistic};
use super::outcome::{Grounds, Judged, Outcome, decide, over};
use super::seen::Seen;
use super::water::State;
use super::windows::listed;

/// The days of the period that are judged.
pub fn days(seen: &Seen) -> Vec<Day> {
    listed(seen.site, seen.limit, &seen.said).into_iter().map(|window| window.days[0]).collect()
}

const SURE: Grounds = Grounds { open: false, stays: false, enough: true, counts: true };

/// Whether a value decided by the counted figure may be: not a reading, nor a day's highest or lowest.
fn counts(seen: &Seen, values: usize) -> bool {
    seen.limit.statistic != Statistic::EveryReading && seen.said.several == Several::Average && values > 1
}

/// Every reading, or each day's value, of what is sampled at outfalls.
pub fn sampled(seen: &Seen) -> Vec<Judged> {
    let days = days(seen);
    let mut out = Vec::new();
    for place in 0..seen.waters.len() {
        let spot = seen.spot(place);
        for day in &days {
            let values = seen.values(spot, *day);
            let grounds = Grounds { counts: counts(seen, values.len()), ..SURE };
            let judged: Vec<Known> = if seen.limit.statistic == Statistic::EveryReading {
                values
            } else {
                seen.day_value(spot, *day).into_iter().collect()
            };
            for known in judged {
                let outcome = decide(seen.limit, &known, grounds);
                out.push(Judged::new(&[*day], outcome, Some(known)));
            }
        }
        out.extend(lacking(seen, Some(place), spot, &days));
    }
    out
}

/// Windows for what was due and is not on file.
fn lacking(seen: &Seen, place: Option<usize>, spot: Spot, days: &[Day]) -> Vec<Judged> {
    let at = |day: &Day, outcome| Judged::new(&[*day], outcome, None);
    if let Some(duty) = seen.least_duty() {
        let missing = seen.without_sample(duty, place, spot);
        let mut out: Vec<Judged> = missing.into_iter().map(|(a, b)| Judged::aside(a, b, Outcome::NotShown)).collect();
        // Days without a sample are not listed under a longer duty, but where all are dry there was no discharge.
        let dry = dry_days(seen, place, spot, days);
        let none = !days.iter().any(|day| seen.sampled(spot, *day));
        if !seen.duty_is_longer(1) || dry.len() == days.len() {
            out.extend(dry);
        } else if none && out.is_empty() && !days.is_empty() {
            // Nothing is due yet, and nothing is known of this place.
            out.push(Judged::aside(days[0], days[days.len() - 1], Outcome::NotShown));
        }
        return out;
    }
    let unsampled = days.iter().filter(|day| !seen.sampled(spot, **day));
    unsampled
        .map(|day| match place.map(|place| seen.waters[place].state(*day)) {
            Some(State::Dry) => at(day, Outcome::NoDischarge),
            _ => at(day, Outcome::NotShown),
        })
        .collect()
}

fn dry_days(seen: &Seen, place: Option<usize>, spot: Spot, days: &[Day]) -> Vec<Judged> {
    let Some(place) = place else {
        return Vec::new();
    };
    days.iter()
        .filter(|day| !seen.sampled(spot, **day) && seen.waters[place].state(**day) == State::Dry)
        .map(|day| Judged::new(&[*day], Outcome::NoDischarge, None))
        .collect()
}

/// Every reading of the pond's freeboard.
pub fn freeboard(seen: &Seen) -> Vec<Judged> {
    let days = days(seen);
    let site = seen.site;
    let read: Vec<(Day, Rat)> = site
        .levels
        .iter()
        .filter(|level| level.freeboard && site.is_evidence(level.when))
        .map(|level| (site.day_of(level.when), level.value))
        .collect();
    let mut out: Vec<Judged> = read
        .iter()
        .filter(|(day, _)| days.contains(day))
        .map(|(day, value)| {
            let known = Known::point(*value);
            Judged::new(&[*day], decide(seen.limit, &known, SURE), Some(known))
        })
        .collect();
    let has = |from: Day, to: Day| read.iter().any(|(day, _)| from <= *day && *day <= to);
    match seen.limit.duty {
        Some(duty) => {
            out.extend(
                closed(seen, duty)
                    .into_iter()
                    .filter(|(a, b)| !has(*a, *b))
                    .map(|(a, b)| Judged::aside(a, b, Outcome::NotShown)),
            );
        }
        None => out.extend(
            days.iter().filter(|day| !has(**day, **day)).map(|day| Judged::new(&[*day], Outcome::NotShown, None)),
        ),
    }
    out
}

/// Each day's water.
pub fn water(seen: &Seen) -> Vec<Judged> {
    let days = days(seen);
    let total = |of: &[Day]| {
        let places: Vec<Known> = seen.waters.iter().map(|water| water.total(of)).collect();
        Known::sum(&places)
    };
    let mut out: Vec<Judged> = days
        .iter()
        .map(|day| {
            let known = total(&[*day]);
            Judged::new(&[*day], decide(seen.limit, &known, SURE), Some(known))
        })
        .collect();
    for run in runs(&days) {
        let sure: i64 = seen.waters.iter().map(|water| water.sure(&run)).sum();
        let mean = End::At(Rat::new(i128::from(sure), run.len() as i128));
        if over(mean, seen.limit.upper) {
            out.push(Judged::aside(run[0], run[run.len() - 1], Outcome::Exceeded));
        }
    }
    out
}

/// Every run of two whole days or more within these days.
fn runs(days: &[Day]) -> Vec<Vec<Day>> {
    let mut out = Vec::new();
    for from in 0..days.len() {
        for to in from + 1..days.len().min(from + 45) {
            if days[to] - days[from] == (to - from) as i64 {
                out.push(days[from..=to].to_vec());
            }
        }
    }
    out
}

/// What one day's load is at all places together.
pub enum DayLoad {
    /// No place had water.
    Dry,
    Sampled(Known),
    Unsampled,
}

pub fn day_load(seen: &Seen, day: Day) -> DayLoad {
    let mut sum = Known::zero();
    let (mut any, mut some_lack) = (false, false);
    for (place, water) in seen.waters.iter().enumerate() {
        match seen.day_value(seen.spot(place), day) {
            Some(value) => {
                any = true;
                // mg/L times m³ is g; in kg.
                let mut load = value.times(water.total(&[day])).scaled(Rat::new(1, 1000));
                // What is beyond a measure has no counted value, in whatever water.
                if value.counted.is_none() {
                    load.counted = None;
                }
                sum = sum.plus(load);
            }
            None if water.state(day) == State::Dry => {}
            None => some_lack = true,
        }
    }
    match (any, some_lack) {
        (false, false) => DayLoad::Dry,
        (false, true) => DayLoad::Unsampled,
        (true, false) => DayLoad::Sampled(sum),
        (true, true) => DayLoad::Sampled(sum.plus(Known::up_from_zero())),
    }
}

/// Each day's load.
pub fn load(seen: &Seen) -> Vec<Judged> {
    let days = days(seen);
    let mut out = Vec::new();
    let duty = seen.least_duty();
    for day in &days {
        match day_load(seen, *day) {
            DayLoad::Dry => {
                let zero = Known::zero();
                out.push(Judged::new(&[*day], decide(seen.limit, &zero, SURE), Some(zero)));
            }
            DayLoad::Sampled(known) => {
                let outcome = decide(seen.limit, &known, SURE);
                out.push(Judged::new(&[*day], outcome, Some(known)));
            }
            DayLoad::Unsampled if duty.is_none() => {
                out.push(Judged::new(&[*day], Outcome::NotShown, None));
            }
            DayLoad::Unsampled => {}
        }
    }
    if let Some(duty) = duty {
        for place in 0..seen.waters.len() {
            let missing = seen.without_sample(duty, Some(place), seen.spot(place));
            out.extend(missing.into_iter().map(|(a, b)| Judged::aside(a, b, Outcome::NotShown)));
        }
    }
    out
}
