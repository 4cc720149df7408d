//! Makes a site smaller as long as something holds of it, so that what is printed can be read.

use super::given::{Site, Spot, Window};

/// A way to make a site smaller.
type Change = Box<dyn Fn(&mut Site)>;

/// Each list of a site from which lines can be taken: how long it is, and how to take a stretch of it out.
fn lengths(site: &Site) -> Vec<usize> {
    let mut out = vec![site.samples.len(), site.looks.len(), site.levels.len(), site.rain.len()];
    for outfall in &site.outfalls {
        out.extend(outfall.ways.iter().map(|way| way.readings.len()));
    }
    out
}

fn without(site: &Site, list: usize, from: usize, to: usize) -> Site {
    let mut site = site.clone();
    match list {
        0 => drop(site.samples.drain(from..to)),
        1 => drop(site.looks.drain(from..to)),
        2 => drop(site.levels.drain(from..to)),
        3 => drop(site.rain.drain(from..to)),
        _ => {
            let ways = site.outfalls.iter_mut().flat_map(|o| o.ways.iter_mut());
            if let Some(way) = ways.into_iter().nth(list - 4) {
                drop(way.readings.drain(from..to));
            }
        }
    }
    site
}

/// The smallest site found, with one limit of it, of which `still` holds.
pub fn shrink(site: &Site, number: usize, still: &dyn Fn(&Site) -> bool) -> Site {
    let mut best = site.clone();
    best.limits = vec![site.limits[number].clone()];
    if !still(&best) {
        return site.clone();
    }
    let mut tries: Vec<Change> = vec![
        Box::new(|site| {
            if site.limits[0].statistic.window() != Window::Season {
                site.limits[0].season = None;
            }
        }),
        Box::new(|site| site.limits[0].months = None),
        Box::new(|site| site.limits[0].weekdays = None),
        Box::new(|site| site.limits[0].in_force = (None, None)),
        Box::new(|site| site.in_force = None),
        Box::new(|site| site.limits[0].duty = None),
        Box::new(|site| site.limits[0].counting.least = None),
        Box::new(|site| site.limits[0].counting.look_since_the_last = false),
        Box::new(|site| site.limits[0].at.truncate(1)),
        Box::new(|site| site.as_of = site.period.1),
        Box::new(|site| {
            if site.limits[0].at.len() < 2 {
                site.outfalls.truncate(1);
                site.looks.retain(|look| look.outfall == 0);
                site.samples.retain(|sample| matches!(sample.spot, Spot::Outfall(0) | Spot::Upstream));
            }
        }),
        Box::new(|site| {
            site.outfalls[0].ways.truncate(1);
        }),
        Box::new(|site| site.outfalls.iter_mut().flat_map(|of| &mut of.ways).for_each(|way| way.new_from = None)),
        Box::new(|site| site.outfalls.iter_mut().flat_map(|of| &mut of.ways).for_each(|way| way.amounts.clear())),
        Box::new(|site| {
            for way in site.outfalls.iter_mut().flat_map(|of| &mut of.ways) {
                way.amounts.pop();
            }
        }),
    ];
    for by in [20, 5, 1] {
        tries.push(Box::new(move |site| site.period.0 += by));
        tries.push(Box::new(move |site| {
            let end = site.as_of == site.period.1;
            site.period.1 -= by;
            if end {
                site.as_of = site.period.1;
            }
        }));
    }
    loop {
        let before = format!("{best:?}").len();
        for change in &tries {
            loop {
                let mut smaller = best.clone();
                change(&mut smaller);
                let changed = format!("{smaller:?}") != format!("{best:?}");
                let valid = smaller.period.0 <= smaller.period.1.min(smaller.as_of);
                if changed && valid && still(&smaller) {
                    best = smaller;
                } else {
                    break;
                }
            }
        }
        for list in 0..lengths(&best).len() {
            let mut step = lengths(&best)[list];
            while step > 0 {
                let mut from = 0;
                while from < lengths(&best)[list] {
                    let to = (from + step).min(lengths(&best)[list]);
                    let smaller = without(&best, list, from, to);
                    if still(&smaller) {
                        best = smaller;
                    } else {
                        from = to;
                    }
                }
                step /= 2;
            }
        }
        if format!("{best:?}").len() >= before {
            return best;
        }
    }
}
