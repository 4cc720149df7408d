//! No discharge: each day is dry, a discharge, or not known; a storm may excuse it.

use super::days::Day;
use super::outcome::{Judged, Outcome};
use super::seen::Seen;
use super::singly::days;
use super::storm::{Excuse, Storms};
use super::water::State;

pub fn judged(seen: &Seen) -> Vec<Judged> {
    let days = days(seen);
    let storms = Storms::of(seen);
    let mut out = Vec::new();
    for (place, water) in seen.waters.iter().enumerate() {
        let excused = |day: Day| storms.excuse(place, day);
        for day in &days {
            let outcome = match water.state(*day) {
                State::Dry => Outcome::NoDischarge,
                State::Unknown => Outcome::NotShown,
                State::Flow => match excused(*day) {
                    Excuse::Yes => Outcome::Met,
                    Excuse::No => Outcome::Exceeded,
                    Excuse::Unknown => Outcome::NotShown,
                },
            };
            out.push(Judged::new(&[*day], outcome, None));
        }
        for (from, to) in water.runs() {
            // On days shown dry nothing can have flowed: one of the others had it.
            let open: Vec<Day> = (from..=to).filter(|day| water.state(*day) != State::Dry).collect();
            let certain = open.iter().all(|day| days.contains(day) && excused(*day) == Excuse::No);
            if let (true, true, Some(first), Some(last)) = (certain, from < to, open.first(), open.last()) {
                out.push(Judged::aside(*first, *last, Outcome::Exceeded));
            }
        }
    }
    out
}
