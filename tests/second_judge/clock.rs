//! Limits on the hours of a day and on the rate of flow.

use super::days::{DAY, Day, Minute};
use super::exact::{End, Known, Rat};
use super::given::When;
use super::outcome::{Judged, Outcome, over};
use super::seen::Seen;
use super::singly::days;
use super::water::Span;

/// The hours of a permit's day in which nothing may flow, as times.
fn outside(seen: &Seen, day: Day, hours: (Minute, Minute)) -> Vec<(Minute, Minute)> {
    let (from, to) = (seen.site.start_of(day), seen.site.start_of(day + 1));
    // From each date's last hour allowed to the next first one.
    let length = (hours.0 - hours.1).rem_euclid(DAY);
    let mut out = Vec::new();
    for date in (day - 1)..=(day + 1) {
        let begins = date * DAY + hours.1;
        let part = (begins.max(from), (begins + length).min(to));
        if part.0 < part.1 {
            out.push(part);
        }
    }
    out
}

fn within(span: &Span, of: (Minute, Minute)) -> bool {
    of.0 <= span.from.0 && span.to.1 <= of.1
}

fn touches(span: &Span, of: (Minute, Minute)) -> bool {
    span.from.0 < of.1 && span.to.1 > of.0
}

/// Whether no span tells of some of that time: one was left out, since it stood while water was seen.
fn has_gap(way: &[Span], of: (Minute, Minute)) -> bool {
    let pairs = way.iter().zip(way.iter().skip(1));
    pairs
        .filter(|(before, after)| before.to != after.from)
        .any(|(before, after)| before.to.0 < of.1 && after.from.1 > of.0)
}

/// Water may flow only between two hours: each day's volume outside them is zero, above it, or not known.
pub fn hours(seen: &Seen, hours: (Minute, Minute)) -> Vec<Judged> {
    let days = days(seen);
    let mut out = Vec::new();
    for day in &days {
        let mut flowed = false;
        let mut most = Known::zero();
        for water in seen.waters {
            let dry = water.is_dry(*day);
            for part in outside(seen, *day, hours) {
                flowed |= water.seen_flowing(part);
                for way in water.ways() {
                    for span in way {
                        if span.volume > 0 && within(span, part) {
                            flowed = true;
                        } else if span.volume > 0 && touches(span, part) && !dry {
                            most = most.plus(Known::up_from_zero());
                        }
                    }
                    let covered = way.first().is_some_and(|first| first.from.1 <= part.0)
                        && way.last().is_some_and(|last| last.to.0 >= part.1)
                        && !has_gap(way, part);
                    if !covered && !dry {
                        most = most.plus(Known::up_from_zero());
                    }
                }
            }
            // Water was seen on this day, at an hour that is not known.
            if water.seen_by_date(*day) {
                most = most.plus(Known::up_from_zero());
            }
        }
        let outcome = if flowed {
            Outcome::Exceeded
        } else if most.hi == End::ZERO {
            Outcome::Met
        } else {
            Outcome::NotShown
        };
        out.push(Judged::new(&[*day], outcome, None));
    }
    // A span outside the hours that is of no day for certain is of one of two.
    for water in seen.waters {
        for span in water.ways().iter().flatten().filter(|s| s.volume > 0) {
            let (a, b) = (seen.site.day_at(span.from.0), seen.site.day_at(span.to.1 - 1));
            let parts: Vec<_> = (a..=b).flat_map(|d| outside(seen, d, hours)).collect();
            let outside: Minute = parts.iter().map(|p| (p.1.min(span.to.1) - p.0.max(span.from.0)).max(0)).sum();
            let all_outside = outside == span.to.1 - span.from.0;
            if a < b && all_outside && (a..=b).all(|d| days.contains(&d)) {
                out.push(Judged::aside(a, b, Outcome::Exceeded));
            }
        }
    }
    out
}

/// The rate at some moment: at least what spans between two readings come to, and no more is known unless nothing flowed.
pub fn rate(seen: &Seen) -> Vec<Judged> {
    let days = days(seen);
    let mut out = Vec::new();
    // The very minutes between readings, not the day's start that some stand for.
    let spans: Vec<Span> = seen.waters.iter().flat_map(|water| water.raw_spans()).collect();
    // Of one meter no run is faster than the fastest span in it; of several, runs of spans are tried.
    let meters: usize = seen.waters.iter().map(|water| water.ways().len()).sum();
    let longest = if meters > 1 { 10 * DAY } else { 0 };
    let mut least: Vec<(Day, Day, End)> = Vec::new();
    for (i, first) in spans.iter().enumerate() {
        for (j, last) in spans.iter().enumerate() {
            let (from, to) = (first.from.0, last.to.1);
            if to <= from || (i != j && to - from > longest) {
                continue;
            }
            let inside = spans.iter().filter(|span| within(span, (from, to)));
            let volume: i64 = inside.map(|span| span.volume).sum();
            // m³ in an hour.
            let mean = Rat::new(i128::from(volume) * 60, i128::from(to - from));
            // The days are those of readings that count as taken at the day's start.
            let near = |minute| seen.site.reading_time(When::At(minute)).0;
            let ends = (seen.site.day_at(near(from)), seen.site.day_at(near(to) - 1));
            least.push((ends.0, ends.1, End::At(mean)));
        }
    }
    for day in &days {
        let of_day = least.iter().filter(|(a, b, _)| a == day && b == day);
        let lo = of_day.map(|(_, _, mean)| *mean).max().unwrap_or(End::ZERO);
        let total = Known::sum(&seen.waters.iter().map(|water| water.total(&[*day])).collect::<Vec<_>>());
        let outcome = if over(lo, seen.limit.upper) {
            Outcome::Exceeded
        } else if total.hi == End::ZERO {
            Outcome::Met
        } else {
            Outcome::NotShown
        };
        out.push(Judged::new(&[*day], outcome, None));
    }
    for (a, b, mean) in least {
        let listed = (a..=b).all(|d| days.contains(&d));
        if a < b && listed && over(mean, seen.limit.upper) {
            out.push(Judged::aside(a, b, Outcome::Exceeded));
        }
    }
    out
}
