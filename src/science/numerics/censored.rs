//! Looks at data with results below a reporting limit. None of these is a permit's figure unless its text says so; the
//! rules room keeps such results as intervals.

use crate::science::numerics::normal;

/// A result, or the limit it lies below.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LabResult {
    /// The result, or the reporting limit.
    pub value: f64,
    /// Whether it lies below `value`.
    pub below: bool,
}

/// Mean, median and standard deviation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Summary {
    /// Mean.
    pub mean: f64,
    /// Median.
    pub median: f64,
    /// Standard deviation of the sample.
    pub standard_deviation: f64,
}

/// Mean with a share of the limit for results below it. Record: [`crate::science::numerics::statistics::SUBSTITUTION`].
pub fn mean_with_substitution(results: &[LabResult], share_of_limit: f64) -> Option<f64> {
    let total: f64 = results.iter().map(|r| if r.below { share_of_limit * r.value } else { r.value }).sum();
    (!results.is_empty()).then(|| total / results.len() as f64)
}

/// Two different detected results at least, and nothing that has no logarithm.
fn fit_for_logs(results: &[LabResult]) -> bool {
    let mut detected = results.iter().filter(|r| !r.below).map(|r| r.value);
    let first = detected.next();
    results.iter().all(|r| r.value.is_finite() && r.value > 0.0)
        && first.is_some_and(|first| detected.any(|value| value != first))
}

/// Regression on order statistics. Record: [`crate::science::numerics::statistics::ORDER_STATISTICS`].
pub fn order_statistics(results: &[LabResult]) -> Option<Summary> {
    if !fit_for_logs(results) {
        return None;
    }
    let mut detected: Vec<f64> = results.iter().filter(|r| !r.below).map(|r| r.value).collect();
    detected.sort_by(f64::total_cmp);
    let mut limits: Vec<f64> = results.iter().filter(|r| r.below).map(|r| r.value).collect();
    limits.sort_by(f64::total_cmp);
    limits.dedup();
    if limits.first().is_none_or(|lowest| detected.first().is_some_and(|least| least < lowest)) {
        limits.insert(0, 0.0);
    }
    // From the highest limit down: share of all results above each.
    let mut positions: Vec<(f64, f64)> = Vec::new();
    let mut undetected: Vec<f64> = Vec::new();
    let mut above_next = 0.0;
    let mut next_limit = f64::INFINITY;
    for &limit in limits.iter().rev() {
        let between: Vec<f64> = detected.iter().copied().filter(|x| *x >= limit && *x < next_limit).collect();
        let a = between.len() as f64;
        let b = results.iter().filter(|r| if r.below { r.value <= limit } else { r.value < limit }).count() as f64;
        let above = if a + b > 0.0 { above_next + a / (a + b) * (1.0 - above_next) } else { above_next };
        for (rank, value) in between.iter().enumerate() {
            let position = (1.0 - above) + (rank + 1) as f64 / (a + 1.0) * (above - above_next);
            positions.push((position, *value));
        }
        let c = results.iter().filter(|r| r.below && r.value == limit).count();
        undetected.extend((1..=c).map(|rank| rank as f64 / (c + 1) as f64 * (1.0 - above)));
        above_next = above;
        next_limit = limit;
    }
    let line = line_through(&positions.iter().map(|(p, x)| (normal::value_at_share(*p), x.ln())).collect::<Vec<_>>())?;
    let modelled = undetected.iter().map(|p| (line.0 + line.1 * normal::value_at_share(*p)).exp());
    summary(detected.iter().copied().chain(modelled).collect())
}

fn line_through(points: &[(f64, f64)]) -> Option<(f64, f64)> {
    let n = points.len() as f64;
    let (mx, my) = (points.iter().map(|p| p.0).sum::<f64>() / n, points.iter().map(|p| p.1).sum::<f64>() / n);
    let spread: f64 = points.iter().map(|p| (p.0 - mx) * (p.0 - mx)).sum();
    let slope = points.iter().map(|p| (p.0 - mx) * (p.1 - my)).sum::<f64>() / spread;
    slope.is_finite().then_some((my - slope * mx, slope))
}

fn summary(mut values: Vec<f64>) -> Option<Summary> {
    values.sort_by(f64::total_cmp);
    let n = values.len();
    let mean = values.iter().sum::<f64>() / n as f64;
    let squares: f64 = values.iter().map(|x| (x - mean) * (x - mean)).sum();
    let upper = values.get(n / 2)?;
    let lower = values.get(n.checked_sub(1)? / 2)?;
    Some(Summary { mean, median: 0.5 * (lower + upper), standard_deviation: (squares / (n as f64 - 1.0)).sqrt() })
}

/// Kaplan-Meier mean. Record: [`crate::science::numerics::statistics::KAPLAN_MEIER`].
pub fn kaplan_meier_mean(results: &[LabResult]) -> Option<f64> {
    let mut detected: Vec<f64> = results.iter().filter(|r| !r.below).map(|r| r.value).collect();
    if detected.is_empty() || results.iter().any(|r| r.value.is_nan()) {
        return None;
    }
    detected.sort_by(f64::total_cmp);
    detected.dedup();
    let mut share_below = 1.0;
    let mut mean = 0.0;
    for &x in detected.iter().rev() {
        let at_or_below = results.iter().filter(|r| r.value <= x).count() as f64;
        let equal = results.iter().filter(|r| !r.below && r.value == x).count() as f64;
        let left = share_below * (at_or_below - equal) / at_or_below;
        mean += (share_below - left) * x;
        share_below = left;
    }
    let lowest = results.iter().map(|r| r.value).fold(f64::INFINITY, f64::min);
    Some(mean + share_below * lowest)
}

/// Mean of the lognormal spread of greatest likelihood. Record:
/// [`crate::science::numerics::statistics::CENSORED_LIKELIHOOD`].
///
/// Expectation and maximisation in turn: each turn raises the likelihood, so it cannot run away; it stops when nothing
/// moves, or gives no answer after 100,000 turns.
pub fn lognormal_likelihood_mean(results: &[LabResult]) -> Option<f64> {
    if !fit_for_logs(results) {
        return None;
    }
    let logs: Vec<(f64, bool)> = results.iter().map(|r| (r.value.ln(), r.below)).collect();
    let n = logs.len() as f64;
    let mut mu = logs.iter().map(|l| l.0).sum::<f64>() / n;
    let mut sigma = (logs.iter().map(|l| (l.0 - mu) * (l.0 - mu)).sum::<f64>() / n).sqrt().max(1e-3);
    for _ in 0..100_000 {
        let (mut first, mut second) = (0.0, 0.0);
        for &(limit, below) in &logs {
            let (mean, variance) = if below {
                let z = (limit - mu) / sigma;
                // Far below the spread the ratio tends to −z.
                let ratio = if z < -30.0 { -z } else { normal::density(z) / normal::share_below(z) };
                (mu - sigma * ratio, sigma * sigma * (1.0 - z * ratio - ratio * ratio))
            } else {
                (limit, 0.0)
            };
            first += mean;
            second += mean * mean + variance;
        }
        let next_mu = first / n;
        let next_sigma = (second / n - next_mu * next_mu).max(0.0).sqrt();
        let moved = (next_mu - mu).abs() + (next_sigma - sigma).abs();
        (mu, sigma) = (next_mu, next_sigma);
        if moved.is_nan() || sigma == 0.0 {
            return None;
        }
        if moved < 1e-12 {
            return Some((mu + 0.5 * sigma * sigma).exp());
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn data_without_detected_results_has_no_estimate() {
        let below = |value: f64| LabResult { value, below: true };
        let all = [below(5.0), below(10.0)];
        assert_eq!(order_statistics(&all), None);
        assert_eq!(kaplan_meier_mean(&all), None);
        assert_eq!(lognormal_likelihood_mean(&all), None);
        assert_eq!(mean_with_substitution(&[], 0.5), None);
        let same = [below(5.0), LabResult { value: 7.0, below: false }, LabResult { value: 7.0, below: false }];
        assert_eq!(order_statistics(&same), None);
    }

    #[test]
    fn with_everything_detected_all_three_give_the_plain_mean_or_close() {
        let results: Vec<LabResult> =
            [3.0, 5.0, 9.0, 4.0].iter().map(|&value| LabResult { value, below: false }).collect();
        assert!((kaplan_meier_mean(&results).expect("detected") - 5.25).abs() < 1e-12);
        assert!((order_statistics(&results).expect("detected").mean - 5.25).abs() < 1e-12);
        assert!((lognormal_likelihood_mean(&results).expect("detected") - 5.25).abs() < 0.1);
    }
}
