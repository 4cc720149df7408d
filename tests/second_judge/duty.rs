//! Whether what was to be sampled or read was: stretch by stretch.

use super::days::Day;
use super::given::{Duty, Site, Stretch, When};
use super::seen::Seen;
use super::water::State;
use super::windows::{chosen, in_force, in_season};

/// In order of rank: the last outranks all others.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kept {
    NothingDue,
    Done,
    NotShown,
    Missed,
}

/// The first day on which anything is on file.
fn first_record(site: &Site) -> Option<Day> {
    let readings = site.outfalls.iter().flat_map(|outfall| outfall.ways.iter()).flat_map(|way| {
        let amounts = way.amounts.iter().map(|(day, _)| When::Date(*day));
        way.readings.iter().map(|(when, _)| *when).chain(amounts)
    });
    readings
        .chain(site.samples.iter().map(|sample| sample.when))
        .chain(site.looks.iter().map(|look| look.when))
        .chain(site.levels.iter().map(|level| level.when))
        .map(|when| site.day_of(when))
        .min()
}

/// The stretches of a duty that are over, each of which is to have its sample.
pub fn closed(seen: &Seen, duty: Duty) -> Vec<(Day, Day)> {
    let (site, limit) = (seen.site, seen.limit);
    let (from, to) = site.period;
    let Stretch::Days(n) = duty.stretch else {
        return seen
            .stretches(duty, from, to)
            .into_iter()
            .filter(|(a, b)| *b <= site.as_of && seen.lies_in(*a, *b))
            .filter(|(a, b)| (*a..=*b).any(|d| chosen(limit, d)))
            .collect();
    };
    let earliest = first_record(site).map_or(from, |first| first.min(from));
    ((from - n + 1)..=to)
        .map(|first| (first, first + n - 1))
        .filter(|(a, b)| *a >= earliest && *b <= site.as_of)
        .filter(|(a, b)| (*a..=*b).all(|d| in_force(site, limit, d) && in_season(limit, d)))
        .collect()
}

/// What became of a duty at one place of the limit; none is the pond.
pub fn kept(seen: &Seen, duty: Duty, place: Option<usize>) -> Kept {
    let has = |a: Day, b: Day| match place {
        Some(place) => (a..=b).any(|d| seen.sampled(seen.spot(place), d)),
        None => seen.site.levels.iter().any(|level| {
            let day = seen.site.day_of(level.when);
            level.freeboard && seen.site.is_evidence(level.when) && a <= day && day <= b
        }),
    };
    let of = |(a, b): (Day, Day)| {
        if has(a, b) {
            return Kept::Done;
        }
        let Some(place) = place else {
            return Kept::Missed;
        };
        let state = |d: Day| seen.waters[place].state(d);
        let days = (a..=b).filter(|d| in_season(seen.limit, *d));
        let states: Vec<State> = days.map(state).collect();
        if states.contains(&State::Flow) {
            Kept::Missed
        } else if !states.contains(&State::Unknown) {
            Kept::NothingDue
        } else if duty.with_a_discharge {
            Kept::NotShown
        } else {
            Kept::Missed
        }
    };
    closed(seen, duty).into_iter().map(of).max().unwrap_or(Kept::NothingDue)
}
