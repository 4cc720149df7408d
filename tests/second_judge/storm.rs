//! Storms that excuse a discharge: which are sure, which are possible, and what the pond's level was before them.

use super::days::{Day, Minute};
use super::exact::{End, Known, Rat};
use super::given::{Except, Rain, When};
use super::seen::Seen;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Excuse {
    Yes,
    No,
    Unknown,
}

/// A storm: its first moment of rain, its last, and whether it is sure to be over the mark.
#[derive(Clone, Debug)]
struct Storm {
    begins: Minute,
    ends: Minute,
    /// Moments at which a storm that is only possible may have begun.
    may_begin: Vec<Minute>,
}

/// Every storm that matters to a limit.
pub struct Storms<'a> {
    seen: &'a Seen<'a>,
    sure: Vec<Storm>,
    possible: Vec<Storm>,
}

impl<'a> Storms<'a> {
    pub fn of(seen: &'a Seen<'a>) -> Self {
        let end = seen.site.start_of(seen.site.as_of + 1);
        let rain: Vec<&Rain> = seen.site.rain.iter().filter(|r| r.to <= end).collect();
        let (sure, possible) = match &seen.limit.except {
            None => (Vec::new(), Vec::new()),
            Some(except) => (sure(except, &rain), possible(except, &rain, seen)),
        };
        Self { seen, sure, possible }
    }

    pub fn excuse(&self, place: usize, day: Day) -> Excuse {
        let Some(except) = &self.seen.limit.except else {
            return Excuse::No;
        };
        let site = self.seen.site;
        let after = except.after_days.unwrap_or(0);
        let touches = |storm: &&Storm| site.day_at(storm.begins) <= day && day <= site.day_at(storm.ends - 1) + after;
        let mut answer = Excuse::No;
        for storm in self.sure.iter().filter(touches) {
            let asked = [self.was_below(except, storm.begins), self.first_day(place, day, storm.begins)];
            let found = match asked {
                [Excuse::Yes, Excuse::Yes] => Excuse::Yes,
                asked if asked.contains(&Excuse::No) => Excuse::No,
                _ => Excuse::Unknown,
            };
            match found {
                Excuse::Yes => return Excuse::Yes,
                Excuse::Unknown => answer = Excuse::Unknown,
                Excuse::No => {}
            }
        }
        for storm in self.possible.iter().filter(touches) {
            // One that is sure has begun by its own first rain.
            let latest = self
                .sure
                .iter()
                .filter(|sure| storm.begins <= sure.begins && sure.ends <= storm.ends)
                .map(|sure| sure.begins)
                .filter(|begins| site.day_at(*begins) <= day)
                .max();
            let excusing = storm
                .may_begin
                .iter()
                .filter(|begins| latest.is_none_or(|latest| **begins <= latest))
                .filter(|begins| site.day_at(**begins) <= day)
                .any(|begins| {
                    self.was_below(except, *begins) != Excuse::No && self.first_day(place, day, *begins) != Excuse::No
                });
            if excusing {
                answer = Excuse::Unknown;
            }
        }
        answer
    }

    /// Whether the pond stood below its mark before this moment.
    fn was_below(&self, except: &Except, begins: Minute) -> Excuse {
        let Some(mark) = except.below_m else {
            return Excuse::Yes;
        };
        let site = self.seen.site;
        let first_day = site.day_at(begins);
        // The last reading for sure before it, and one of the same day that may have been.
        let mut last: Option<(Minute, Day, Rat)> = None;
        let mut perhaps: Vec<Rat> = Vec::new();
        for level in site.levels.iter().filter(|level| !level.freeboard) {
            let day = site.day_of(level.when);
            let at = match level.when {
                When::At(minute) if minute <= begins => minute,
                When::Date(day) if day < first_day => site.start_of(day + 1) - 1,
                When::Date(day) if day == first_day => {
                    perhaps.push(level.value);
                    continue;
                }
                _ => continue,
            };
            if last.is_none_or(|(best, _, _)| best <= at) {
                last = Some((at, day, level.value));
            }
        }
        let last = last.filter(|(_, day, _)| day + except.holds_days >= first_day).map(|(_, _, value)| value < mark);
        let mut answers: Vec<Option<bool>> = perhaps.iter().map(|v| Some(*v < mark)).collect();
        answers.push(last);
        match answers.as_slice() {
            all if all.iter().all(|a| *a == Some(true)) => Excuse::Yes,
            all if all.iter().all(|a| *a == Some(false)) => Excuse::No,
            _ => Excuse::Unknown,
        }
    }

    /// On the day on which it begins, only what flowed after it began is excused.
    fn first_day(&self, place: usize, day: Day, begins: Minute) -> Excuse {
        let site = self.seen.site;
        if site.day_at(begins) < day || begins == site.start_of(day) {
            return Excuse::Yes;
        }
        let mut answer = Excuse::Yes;
        let flows = self.seen.waters[place].flows(day);
        if flows.is_empty() {
            return Excuse::Unknown;
        }
        for (from, to) in flows {
            if to < begins {
                return Excuse::No;
            }
            if from < begins {
                answer = Excuse::Unknown;
            }
        }
        answer
    }
}

/// Intervals that overlap, put together; touching is not overlapping.
fn together(mut of: Vec<(Minute, Minute)>) -> Vec<(Minute, Minute)> {
    of.sort_unstable();
    let mut out: Vec<(Minute, Minute)> = Vec::new();
    for (from, to) in of {
        match out.last_mut() {
            Some(last) if from < last.1 => last.1 = last.1.max(to),
            _ => out.push((from, to)),
        }
    }
    out
}

/// Every window of the file's hours that is sure to be over the mark, as storms.
fn sure(except: &Except, rain: &[&Rain]) -> Vec<Storm> {
    let hours = except.in_hours * 60;
    // What windows cover, and the rain inside them.
    let mut windows: Vec<(Minute, Minute)> = Vec::new();
    let mut wet: Vec<(Minute, Minute)> = Vec::new();
    for (i, first) in rain.iter().enumerate() {
        let mut sum = Rat::ZERO;
        for last in &rain[i..] {
            if last.to - first.from > hours {
                break;
            }
            sum = sum + last.depth;
            if sum > except.over_mm {
                windows.push((last.to - hours, first.from + hours));
                let rains = rain[i..].iter().filter(|r| r.to <= last.to);
                wet.extend(rains.filter(|r| r.depth > Rat::ZERO).map(|r| (r.from, r.to)));
            }
        }
        let length = first.to - first.from;
        if length > hours {
            let parts = (length + hours - 1) / hours;
            if first.depth / Rat::whole(parts) > except.over_mm {
                windows.push((first.from, first.to));
                wet.push((first.from, first.to));
            }
        }
    }
    together(windows)
        .into_iter()
        .filter_map(|(from, to)| {
            let inside = wet.iter().filter(|(a, b)| from <= *a && *b <= to);
            let begins = inside.clone().map(|w| w.0).min()?;
            let ends = inside.map(|w| w.1).max()?;
            Some(Storm { begins, ends, may_begin: vec![begins] })
        })
        .collect()
}

/// Storms that can't be ruled out: windows that may be over the mark by what touches them.
fn possible(except: &Except, rain: &[&Rain], seen: &Seen) -> Vec<Storm> {
    let site = seen.site;
    let hours = except.in_hours * 60;
    let after = except.after_days.unwrap_or(0);
    let first = site.start_of(site.period.0 - after - 20);
    let last = site.start_of(site.period.1 + 2);
    // Half hours: rain is read on whole ones, and a window between two touches both.
    let mut windows: Vec<(Minute, Minute)> = Vec::new();
    let mut from = first;
    while from < last {
        let to = from + hours;
        let touching = rain.iter().filter(|r| r.from < to && r.to > from);
        let sum = touching.clone().fold(Known::zero(), |sum, r| sum.plus(Known::point(r.depth)));
        let covered: Minute = touching.map(|r| r.to.min(to) - r.from.max(from)).sum();
        let most = if covered < hours { End::Above } else { sum.hi };
        if most > End::At(except.over_mm) {
            // Between two whole hours every window touches the same.
            let more = if (from - site.day_start).rem_euclid(60) == 30 { 29 } else { 0 };
            windows.push((from - more, to + more));
        }
        from += 30;
    }
    together(windows)
        .into_iter()
        .filter_map(|(from, to)| {
            let mut may_begin: Vec<Minute> =
                rain.iter().filter(|r| r.from < to && r.to > from && r.depth > Rat::ZERO).map(|r| r.from).collect();
            let mut ends: Vec<Minute> =
                rain.iter().filter(|r| r.from < to && r.to > from && r.depth > Rat::ZERO).map(|r| r.to).collect();
            let mut at = from;
            while at < to {
                if !rain.iter().any(|r| r.from <= at && at < r.to) {
                    may_begin.push(at);
                    ends.push(at + 30);
                }
                at += 30;
            }
            Some(Storm { begins: may_begin.iter().copied().min()?, ends: ends.into_iter().max()?, may_begin })
        })
        .collect()
}
