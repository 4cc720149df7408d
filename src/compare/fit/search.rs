//! The search of a fit: on shares of the ranges typed, 0 to 1, without slopes, as counts of washes are steps.

/// The first step about the best of the coarse grid, and the last, as shares of a range.
const STEPS: (f64, f64) = (0.1, 0.003);

/// The step with which others are fitted anew at a held value, first and last.
const STEPS_HELD: (f64, f64) = (0.06, 0.01);

/// A misfit of the values at shares of their ranges.
type Misfit<'a> = &'a dyn Fn(&[f64]) -> Result<f64, String>;

/// A grid of eleven along each value in turn, twice.
pub(super) fn coarse(start: &[f64], misfit: Misfit<'_>) -> Result<(Vec<f64>, f64), String> {
    let mut best = start.to_vec();
    let mut least = misfit(&best)?;
    for _ in 0..2 {
        for i in 0..best.len() {
            for step in 0..=10 {
                let trial = with(&best, i, f64::from(step) / 10.0);
                let now = misfit(&trial)?;
                if now < least {
                    (best, least) = (trial, now);
                }
            }
        }
    }
    Ok((best, least))
}

/// Steps along `free` values, and on in a direction that did well, halved until they are small (pattern search of Hooke and
/// Jeeves, 1961; from memory).
pub(super) fn fine(
    start: &[f64],
    misfit_there: f64,
    free: &[usize],
    misfit: Misfit<'_>,
) -> Result<(Vec<f64>, f64), String> {
    descend(start, misfit_there, free, STEPS, misfit)
}

fn descend(
    start: &[f64],
    misfit_there: f64,
    free: &[usize],
    (first, last): (f64, f64),
    misfit: Misfit<'_>,
) -> Result<(Vec<f64>, f64), String> {
    let (mut best, mut least) = (start.to_vec(), misfit_there);
    let mut step = first;
    while step >= last {
        let (mut at, mut now) = explore(&best, least, free, step, misfit)?;
        if now >= least {
            step /= 2.0;
            continue;
        }
        // On in the same direction while that helps.
        loop {
            let ahead: Vec<f64> = at.iter().zip(&best).map(|(new, old)| (2.0 * new - old).clamp(0.0, 1.0)).collect();
            (best, least) = (at, now);
            let there = misfit(&ahead)?;
            let (further, better) = explore(&ahead, there, free, step, misfit)?;
            if better >= least {
                break;
            }
            (at, now) = (further, better);
        }
    }
    Ok((best, least))
}

fn explore(
    from: &[f64],
    misfit_there: f64,
    free: &[usize],
    step: f64,
    misfit: Misfit<'_>,
) -> Result<(Vec<f64>, f64), String> {
    let (mut best, mut least) = (from.to_vec(), misfit_there);
    for &i in free {
        for side in [1.0, -1.0] {
            let here = best.get(i).copied().unwrap_or(0.5);
            let trial = with(&best, i, (here + side * step).clamp(0.0, 1.0));
            let now = misfit(&trial)?;
            if now < least {
                (best, least) = (trial, now);
                break;
            }
        }
    }
    Ok((best, least))
}

/// How far a value may go.
pub(super) struct Ends {
    pub low: f64,
    pub high: f64,
    /// Something better than the best that was met on the way.
    pub better: Option<(Vec<f64>, f64)>,
}

/// How far value `i` may go either way before the misfit, the others fitted anew, is worse by more than `allowed`.
pub(super) fn ends(best: &[f64], least: f64, i: usize, allowed: f64, misfit: Misfit<'_>) -> Result<Ends, String> {
    let others: Vec<usize> = (0..best.len()).filter(|of| *of != i).collect();
    let here = best.get(i).copied().unwrap_or(0.5);
    let mut better: Option<(Vec<f64>, f64)> = None;
    let mut found = [here, here];
    for (end, side) in found.iter_mut().zip([-1.0, 1.0]) {
        let most = if side < 0.0 { here } else { 1.0 - here };
        let (mut inside, mut outside) = (0.0, None);
        let mut from = best.to_vec();
        let mut reach = 0.01_f64;
        // Outward in ever wider steps, then halved between the last inside and the first outside.
        for _ in 0..16 {
            let away = match outside {
                None => reach.min(most),
                Some(outside) if outside - inside < 0.005 => break,
                Some(outside) => 0.5 * (inside + outside),
            };
            let trial = with(&from, i, here + side * away);
            let there = misfit(&trial)?;
            let (at, now) = descend(&trial, there, &others, STEPS_HELD, misfit)?;
            if now < least - 1e-9 && better.as_ref().is_none_or(|(_, m)| now < *m) {
                better = Some((at.clone(), now));
            }
            if now <= least + allowed {
                (inside, from) = (away, at);
                if away >= most {
                    break;
                }
                reach *= 2.0;
            } else {
                outside = Some(away);
            }
        }
        // The first value outside: a step inside it may be the last that was tried.
        *end = here + side * outside.unwrap_or(inside);
    }
    let [low, high] = found;
    Ok(Ends { low, high, better })
}

fn with(at: &[f64], i: usize, value: f64) -> Vec<f64> {
    let mut out = at.to_vec();
    if let Some(slot) = out.get_mut(i) {
        *slot = value;
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A bowl askew, f = (x − 0.6)² + (y − 0.3)² + 1.8 (x − 0.6)(y − 0.3): its least is at (0.6, 0.3). With y fitted anew f is
    /// (1 − 0.9²) (x − 0.6)², so it is worse by 0.0019 at x = 0.6 ± 0.1; with y held it would be at ± 0.0436.
    #[test]
    fn ends_of_a_value_let_the_others_give_way() {
        let bowl = |at: &[f64]| -> Result<f64, String> {
            let (x, y) = (at[0] - 0.6, at[1] - 0.3);
            Ok(x * x + y * y + 1.8 * x * y)
        };
        let (best, least) = coarse(&[0.5, 0.5], &bowl).unwrap();
        let (best, least) = fine(&best, least, &[0, 1], &bowl).unwrap();
        assert!((best[0] - 0.6).abs() < 0.02 && (best[1] - 0.3).abs() < 0.02, "{best:?}");
        let ends = ends(&best, least, 0, 0.0019, &bowl).unwrap();
        assert!((ends.low - 0.5).abs() < 0.03, "{}", ends.low);
        assert!((ends.high - 0.7).abs() < 0.03, "{}", ends.high);
    }

    /// Each value by itself, (x − 0.6)² + (y − 0.3)²: the grid of tenths holds its least.
    #[test]
    fn the_coarse_grid_finds_what_stands_on_it() {
        let bowl = |at: &[f64]| Ok((at[0] - 0.6).powi(2) + (at[1] - 0.3).powi(2));
        let (best, least) = coarse(&[0.0, 1.0], &bowl).unwrap();
        assert!((best[0] - 0.6).abs() < 1e-12 && (best[1] - 0.3).abs() < 1e-12, "{best:?}");
        assert!(least < 1e-12);
    }

    /// (x − 0.96)² is worse by 0.01 at 0.86 and nowhere up to 1, where the range ends.
    #[test]
    fn a_value_goes_no_further_than_its_range() {
        let near_the_top = |at: &[f64]| Ok((at[0] - 0.96).powi(2));
        let of = ends(&[0.96], 0.0, 0, 0.01, &near_the_top).unwrap();
        assert!((of.low - 0.86).abs() < 0.006, "{}", of.low);
        assert!((of.high - 1.0).abs() < 1e-12, "{}", of.high);
        // The same the other way round.
        let near_the_floor = |at: &[f64]| Ok((at[0] - 0.04).powi(2));
        let of = ends(&[0.04], 0.0, 0, 0.01, &near_the_floor).unwrap();
        assert!((of.low - 0.0).abs() < 1e-12 && (of.high - 0.14).abs() < 0.006, "{} {}", of.low, of.high);
        // Where nothing changes it goes all the way, and nothing is better than what is as good.
        let of = ends(&[0.5, 0.5], 1.0, 0, 0.01, &|_: &[f64]| Ok(1.0)).unwrap();
        assert_eq!((of.low, of.high), (0.0, 1.0));
        assert!(of.better.is_none());
    }

    #[test]
    fn something_better_on_the_way_is_told() {
        let bowl = |at: &[f64]| Ok((at[0] - 0.6).powi(2));
        let of = ends(&[0.5], 0.01, 0, 0.001, &bowl).unwrap();
        let (at, misfit) = of.better.unwrap();
        assert!(misfit < 0.01 && (at[0] - 0.6).abs() < 0.1, "{at:?} {misfit}");
        assert!(ends(&[0.6], 0.0, 0, 0.001, &bowl).unwrap().better.is_none());
    }
}
