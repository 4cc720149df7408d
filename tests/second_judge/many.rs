//! Geometric means, compared without taking a root, and percentiles by counting.

use super::exact::{End, Known, Rat, compare_product};
use super::given::{Below, Bound, Mark};
use super::outcome::{Figure, Grounds, Judged, Outcome, over, under};
use super::seen::Seen;
use super::windows::Stretch;
use std::cmp::Ordering;

/// One side of a geometric mean held against the bounds: above, below.
fn outside(of: &[Rat], upper: Bound, lower: Bound) -> (bool, bool) {
    let over = upper.is_some_and(|(u, strict)| match compare_product(of, u) {
        Ordering::Greater => true,
        Ordering::Equal => strict,
        Ordering::Less => false,
    });
    let under = lower.is_some_and(|(l, strict)| match compare_product(of, l) {
        Ordering::Less => true,
        Ordering::Equal => strict,
        Ordering::Greater => false,
    });
    (over, under)
}

fn root(of: &[Rat]) -> f64 {
    let logs: f64 = of.iter().map(|x| x.to_f64().ln()).sum();
    (logs / of.len() as f64).exp()
}

/// The values counted for a geometric mean: a zero is none, except one that was measured.
fn counted(seen: &Seen, window: &Stretch, place: usize) -> Option<Vec<Rat>> {
    let spot = seen.spot(place);
    let mut out = Vec::new();
    for day in &window.days {
        let samples = seen.samples(spot, *day);
        let Some(first) = samples.first() else {
            continue;
        };
        if samples.len() > 1 {
            let whole = samples.iter().all(|sample| sample.mark == Mark::Is);
            whole.then_some(())?;
            out.push(seen.day_value(spot, *day)?.counted?);
            continue;
        }
        out.push(match first.mark {
            Mark::Is => first.value,
            Mark::Less => match (seen.limit.counting.below_geometric, seen.said.below) {
                (Some(own), _) => own,
                (None, Below::Half) => first.value * Rat::new(1, 2),
                (None, Below::Limit) => first.value,
                (None, Below::Number(number)) if number > Rat::ZERO => number,
                _ => return None,
            },
            _ => return None,
        });
    }
    Some(out)
}

pub fn geometric(seen: &Seen, window: &Stretch, values: &[Known], place: usize, grounds: Grounds) -> Judged {
    let limit = seen.limit;
    let ends = |of: fn(&Known) -> End| -> Option<Vec<Rat>> { values.iter().map(|known| of(known).rat()).collect() };
    let los = ends(|known| known.lo).expect("low ends are finite");
    let his = ends(|known| known.hi);
    let counted = counted(seen, window, place);
    let figure = Figure {
        lo: root(&los),
        hi: his.as_deref().map_or(f64::INFINITY, root),
        counted: counted.as_deref().map(root),
    };
    let low = outside(&los, limit.upper, limit.lower);
    let high = match &his {
        Some(his) => outside(his, limit.upper, limit.lower),
        None => (limit.upper.is_some(), false),
    };
    let outcome = if grounds.open {
        Outcome::NotShown
    } else if low.0 || high.1 {
        Outcome::Exceeded
    } else if !grounds.enough {
        Outcome::NotShown
    } else if !high.0 && !low.1 {
        Outcome::Met
    } else {
        match counted {
            None => Outcome::NotShown,
            Some(counted) => match outside(&counted, limit.upper, limit.lower) {
                (false, false) => Outcome::Met,
                _ => Outcome::Exceeded,
            },
        }
    };
    Judged { figure: Some(figure), ..Judged::new(&window.days, outcome, None) }
}

pub fn percentile(
    seen: &Seen,
    window: &Stretch,
    values: &[Known],
    table: &[(usize, usize, usize)],
    grounds: Grounds,
) -> Judged {
    let limit = seen.limit;
    let breaks = |x: End| over(x, limit.upper) || under(x, limit.lower);
    let surely = |known: &Known| over(known.lo, limit.upper) || under(known.hi, limit.lower);
    let maybe = |known: &Known| breaks(known.lo) || breaks(known.hi);
    let sure = values.iter().filter(|known| surely(known)).count();
    let most = values.iter().filter(|known| maybe(known)).count();
    let allowed = table.iter().find(|(from, to, _)| (*from..=*to).contains(&values.len())).map(|row| row.2);
    let counted: Option<usize> = values
        .iter()
        .map(|known| {
            if surely(known) || !maybe(known) {
                Some(usize::from(surely(known)))
            } else {
                known.counted.map(|x| usize::from(breaks(End::At(x))))
            }
        })
        .sum();
    let outcome = match allowed {
        _ if grounds.open => Outcome::NotShown,
        None => Outcome::NotShown,
        Some(allowed) if sure > allowed => Outcome::Exceeded,
        Some(_) if !grounds.enough => Outcome::NotShown,
        Some(allowed) if most <= allowed => Outcome::Met,
        Some(allowed) => match counted.filter(|_| grounds.counts) {
            None => Outcome::NotShown,
            Some(k) if k > allowed => Outcome::Exceeded,
            Some(_) => Outcome::Met,
        },
    };
    Judged::new(&window.days, outcome, None)
}
