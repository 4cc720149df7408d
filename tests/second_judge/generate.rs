//! Small made sites, from a seed: gaps, edges and ties are common, not rare.

use super::days::{DAY, Day, day};
use super::exact::Rat;
use super::given::{Level, Look, Mark, Outfall, Parameter, Rain, Sample, Site, Spot, Way, When};
use super::random::Rng;

/// How far a site's records and windows reach.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Reach {
    Weeks,
    Months,
    Year,
}

pub fn site(seed: u64) -> Site {
    let mut rng = Rng::new(seed);
    let reach = rng.pick(&[Reach::Weeks, Reach::Weeks, Reach::Weeks, Reach::Months, Reach::Months, Reach::Year]);
    let anchors = [
        day(2024, 2, 20),
        day(2024, 12, 20),
        day(2025, 2, 25),
        day(2025, 5, 25),
        day(2025, 9, 25),
        day(2023, 10, 28),
        day(2024, 3, 1),
        day(2025, 1, 1),
    ];
    let from = rng.pick(&anchors) + rng.whole(0, 14) as i64 - if rng.chance(0.3) { 0 } else { 3 };
    let length = match reach {
        Reach::Weeks => rng.whole(5, 25),
        Reach::Months => rng.whole(28, 75),
        Reach::Year => rng.whole(20, 120),
    } as i64;
    let to = from + length;
    let as_of = match rng.whole(0, 5) {
        0 => to - rng.whole(1, 5) as i64,
        1 => to + rng.whole(1, 20) as i64,
        _ => to,
    };
    let lead = match reach {
        Reach::Weeks => rng.whole(0, 12),
        Reach::Months => rng.whole(0, 40),
        Reach::Year => rng.whole(300, 400),
    } as i64;
    let first = from - lead;
    let last = as_of + 3;
    let outfalls = outfalls(&mut rng, first, last);
    let mut site = Site {
        day_start: rng.pick(&[0, 7 * 60, 7 * 60]),
        year_starts: rng.pick(&[(1, 1), (11, 1), (3, 1)]),
        in_force: None,
        outfalls,
        samples: Vec::new(),
        looks: Vec::new(),
        levels: Vec::new(),
        rain: Vec::new(),
        limits: Vec::new(),
        period: (from, to),
        as_of,
    };
    if rng.chance(0.12) {
        let starts = from + rng.whole(0, 12) as i64 - 4;
        site.in_force = Some((starts, starts + 1000));
    }
    for outfall in 0..site.outfalls.len() {
        readings(&mut rng, &mut site, outfall, first, last);
        looks(&mut rng, &mut site, outfall, first, last);
        samples(&mut rng, &mut site, Spot::Outfall(outfall), first, last);
    }
    samples(&mut rng, &mut site, Spot::Upstream, first, last);
    levels(&mut rng, &mut site, first, last);
    if reach == Reach::Weeks && rng.chance(0.5) {
        rain(&mut rng, &mut site, first.max(from - 8), last);
    }
    super::limits::add(&mut rng, &mut site);
    // Drawn apart, so that all else of a seed's site stays as it was.
    let mut rng = Rng::new(seed ^ 0x616d_6f75);
    for outfall in 0..site.outfalls.len() {
        amounts(&mut rng, &mut site, outfall, first, last);
    }
    site
}

fn outfalls(rng: &mut Rng, _first: Day, _last: Day) -> Vec<Outfall> {
    let way = |name: &str| Way {
        meter: format!("M{name}"),
        tank: format!("Tank {name}"),
        readings: Vec::new(),
        amounts: Vec::new(),
        new_from: None,
    };
    let mut out = vec![Outfall { name: "Outfall 1".into(), ways: vec![way("A")] }];
    if rng.chance(0.35) {
        out[0].ways.push(way("B"));
    }
    if rng.chance(0.4) {
        out.push(Outfall { name: "Outfall 2".into(), ways: vec![way("C")] });
    }
    out
}

fn readings(rng: &mut Rng, site: &mut Site, outfall: usize, first: Day, last: Day) {
    for way in 0..site.outfalls[outfall].ways.len() {
        if rng.chance(if way == 0 { 0.2 } else { 0.4 }) {
            continue;
        }
        let dense = rng.chance(0.7);
        let with_dates = rng.chance(0.15);
        let gaps = rng.chance(0.3);
        let often_zero = rng.pick(&[0.1, 0.5, 0.9]);
        let mut dial = rng.whole(0, 500) as i64;
        let mut at = first + if rng.chance(0.4) { rng.whole(0, 6) as i64 } else { 0 };
        let mut read = Vec::new();
        // Read at two hours of each day.
        if rng.chance(0.2) {
            for day in at..=last {
                for hour in rng.pick(&[[6, 22], [8, 18], [7, 12]]) {
                    if rng.chance(0.95) {
                        read.push((When::At(day * DAY + hour * 60), dial));
                        dial += rng.pick(&[0, 0, 0, 10, 20, 50]);
                    }
                }
            }
            site.outfalls[outfall].ways[way].readings = read;
            continue;
        }
        let start_late = rng.chance(0.2);
        while at <= last {
            let mut minute = at * DAY + site.day_start;
            if read.is_empty() && start_late {
                minute += 5 * 60;
            } else if rng.chance(0.06) {
                minute += rng.pick(&[-40, -30, -10, 20, 30, 31, 45, 300, 720]);
            }
            let when = if with_dates && rng.chance(0.3) { When::Date(at) } else { When::At(minute) };
            read.push((when, dial));
            dial += if rng.chance(often_zero) { 0 } else { rng.pick(&[10, 20, 30, 50, 90, 100, 100, 200]) };
            at += if dense && !(gaps && rng.chance(0.1)) { 1 } else { rng.pick(&[2, 3, 7]) };
        }
        site.outfalls[outfall].ways[way].readings = read;
    }
}

/// Amounts typed for days, beside readings or without; and a meter that another took the place of.
fn amounts(rng: &mut Rng, site: &mut Site, outfall: usize, first: Day, last: Day) {
    for way in &mut site.outfalls[outfall].ways {
        if rng.chance(0.3) {
            let often = rng.pick(&[0.1, 0.4, 0.9]);
            for day in first..=last {
                if rng.chance(often) {
                    way.amounts.push((day, rng.pick(&[10, 20, 50, 90, 100, 110])));
                }
            }
        }
        if way.readings.len() > 1 && rng.chance(0.2) {
            way.new_from = Some(rng.whole(1, way.readings.len() - 1));
        }
    }
}

fn a_time(rng: &mut Rng, site: &Site, day: Day) -> When {
    if rng.chance(0.2) {
        return When::Date(day);
    }
    let hour = rng.pick(&[0, 30, 2 * 60, 9 * 60, 12 * 60, 20 * 60, 23 * 60 + 59]);
    When::At(day * DAY + site.day_start + hour)
}

fn looks(rng: &mut Rng, site: &mut Site, outfall: usize, first: Day, last: Day) {
    if rng.chance(0.35) {
        return;
    }
    let often = rng.pick(&[0.15, 0.5, 0.95]);
    let flowing = rng.pick(&[0.0, 0.1, 0.5]);
    for day in first..=last {
        if rng.chance(often) {
            site.looks.push(Look { outfall, when: a_time(rng, site, day), flowing: rng.chance(flowing) });
        }
    }
}

fn samples(rng: &mut Rng, site: &mut Site, spot: Spot, first: Day, last: Day) {
    let often = rng.pick(&[0.0, 0.03, 0.1, 0.3, 0.9]);
    let marked = rng.pick(&[0.0, 0.0, 0.3]);
    let over = rng.pick(&[0.0, 0.0, 0.08]);
    let void = rng.pick(&[0.0, 0.0, 0.1]);
    for day in first..=last {
        let times = if rng.chance(often) { if rng.chance(0.12) { 2 } else { 1 } } else { 0 };
        for _ in 0..times {
            let mark = if rng.chance(marked) {
                Mark::Less
            } else if rng.chance(over) {
                Mark::More
            } else if rng.chance(void) {
                Mark::Void
            } else {
                Mark::Is
            };
            let value = match mark {
                Mark::Less => rng.pick(&[2, 5, 10, 40]),
                _ => rng.pick(&[0, 1, 4, 8, 10, 10, 20, 20, 24, 30, 50, 60, 100]),
            };
            let sample = Sample {
                spot,
                when: a_time(rng, site, day),
                parameter: Parameter::Solids,
                mark,
                value: Rat::whole(value),
            };
            // Two values of one time are refused, and a date alone may be taken for the day's start.
            let at = |of: When| match of {
                When::Date(day) => site.start_of(day),
                When::At(minute) => minute,
            };
            let same = |other: &Sample| {
                other.spot == spot && other.parameter == Parameter::Solids && at(other.when) == at(sample.when)
            };
            if !site.samples.iter().any(same) {
                site.samples.push(sample);
            }
        }
        if spot != Spot::Upstream && rng.chance(often * 0.5) {
            let value = rng.pick(&[55, 59, 60, 61, 70, 75, 90, 91]);
            site.samples.push(Sample {
                spot,
                when: a_time(rng, site, day),
                parameter: Parameter::Ph,
                mark: Mark::Is,
                value: Rat::tenths(value),
            });
        }
    }
}

/// A gauge read every hour or every day, now and then a day or an hour late or not at all.
fn rain(rng: &mut Rng, site: &mut Site, first: Day, last: Day) {
    let hourly = rng.chance(0.5);
    let step = if hourly { 60 } else { DAY };
    let skips = rng.pick(&[0.0, 0.0, 0.02]);
    let wet = rng.pick(&[0.0, 0.3]);
    let starts = rng.whole(0, 3) as i64;
    let mut to = site.start_of(first + starts);
    let mut from = to - step;
    let mut burst = 0;
    while to <= site.start_of(last) {
        if rng.chance(if hourly { 0.02 } else { 0.15 }) {
            burst = rng.whole(1, if hourly { 14 } else { 2 });
        }
        if !rng.chance(skips) {
            let depth = if burst > 0 {
                rng.pick(&[5, 5, 5, 10, 20, 30, 50, 60])
            } else if rng.chance(wet) {
                rng.pick(&[1, 2, 10])
            } else {
                0
            };
            site.rain.push(Rain { from, to, depth: Rat::whole(if hourly { depth.min(20) } else { depth }) });
            from = to;
        } else if hourly {
            from = to;
        }
        burst = burst.saturating_sub(1);
        to += step;
        if hourly {
            from = to - step;
        }
    }
}

fn levels(rng: &mut Rng, site: &mut Site, first: Day, last: Day) {
    let freeboard = rng.chance(0.6);
    let often = rng.pick(&[0.05, 0.14, 0.3, 0.97]);
    for day in first..=last {
        if rng.chance(often) {
            let level =
                Level { when: a_time(rng, site, day), freeboard, value: Rat::tenths(rng.pick(&[4, 6, 6, 7, 8, 10])) };
            site.levels.push(level);
        }
    }
}
