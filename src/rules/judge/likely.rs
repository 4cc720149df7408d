//! How likely the next month is over a monthly average, if it is like the samples on file: a likelihood, never a finding.

use crate::rules::judge::text;
use crate::rules::measure::Sampled;
use crate::rules::window::statistics::Shape;
use crate::rules::window::windows::WindowKind;
use crate::rules::{Limit, Subject};
use crate::science::numerics::{normal, permit_statistics};

/// Variation taken where there are fewer samples than [`ENOUGH`], as the source does.
const VARIATION: f64 = 0.6;
/// Samples from which their own variation is used.
const ENOUGH: usize = 10;

/// Share of months of `samples` whose mean is over a limit, for lognormal samples of a mean and a coefficient of variation:
/// σ² = ln(1 + CV²/n), share above z = (ln(limit/mean) + σ²/2)/σ.
pub(crate) fn share_over(limit: f64, mean: f64, variation: f64, samples: u32) -> Option<f64> {
    if !(limit > 0.0 && mean > 0.0 && variation > 0.0 && samples > 0) {
        return None;
    }
    let square = (variation * variation / f64::from(samples)).ln_1p();
    let sigma = square.sqrt();
    let z = ((limit / mean).ln() + 0.5 * square) / sigma;
    Some(1.0 - normal::share_below(z))
}

/// The words for a limit on a monthly average of a sampled parameter; none where it does not apply.
pub(crate) fn next_month(limit: &Limit, readings: &[Sampled], months: usize) -> Option<String> {
    let monthly = limit.statistic.window == WindowKind::Month
        && limit.statistic.divides
        && matches!(limit.statistic.shape, Shape::Window(_))
        && matches!(limit.subject, Subject::Parameter(_));
    let upper = limit.bound.upper().map(|(bound, _)| bound.to_f64())?;
    if !monthly || months == 0 {
        return None;
    }
    // A result below detection counts half for this.
    let values: Vec<f64> = readings
        .iter()
        .map(|r| 0.5 * (r.value.low.to_f64() + r.value.high.to_f64()))
        .filter(|v| v.is_finite() && *v >= 0.0)
        .collect();
    let n = values.len();
    if n < 4 {
        return None;
    }
    let count = n as f64;
    let mean = values.iter().sum::<f64>() / count;
    let spread = values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (count - 1.0);
    let own = spread.sqrt() / mean;
    let (variation, whose) = if n >= ENOUGH {
        (own, format!("variation {own:.2}"))
    } else {
        let words = format!("variation {VARIATION} taken, as fewer than {ENOUGH} tell none");
        (VARIATION, words)
    };
    // At least one a month; the counts are small.
    let a_month = (count / months as f64).round().max(1.0) as u32;
    let share = share_over(upper, mean, variation, a_month)?;
    let stays = mean * permit_statistics::monthly_average_multiplier(variation, 0.95, a_month)?;
    let percent = 100.0 * share;
    let chance = if percent < 1.0 {
        "in fewer than 1 of 100 months".to_owned()
    } else {
        format!("in about {percent:.0} of 100 months")
    };
    let figure = |v: f64| text::computed(Some(v), v, v, &limit.bound).text;
    Some(format!(
        "If the months to come are like the {n} samples on file (mean {}, {whose}), a month with {a_month} is over the limit {chance}; \
         95 of 100 stay within {} (lognormal, EPA/505/2-90-001, its tables from memory). A likelihood decides nothing.",
        figure(mean),
        figure(stays),
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: CV 0.6, n = 4: σ² = ln 1.09 = 0.0861777, σ = 0.2935604; z = (ln 1.5 + 0.0430889)/0.2935604 = 1.52798;
    /// 1 − Φ(1.52798) = 0.06326.
    #[test]
    fn a_limit_half_above_the_mean_is_passed_in_six_of_a_hundred_months() {
        let share = share_over(30.0, 20.0, 0.6, 4).unwrap();
        assert!((share - 0.063_26).abs() < 1e-5, "{share}");
        assert_eq!(share_over(30.0, 0.0, 0.6, 4), None);
        // One sample a month: σ = 0.554513, z = (0.405465 + 0.153742)/0.554513 = 1.00847; 0.15661.
        let share = share_over(30.0, 20.0, 0.6, 1).unwrap();
        assert!((share - 0.156_61).abs() < 2e-5, "{share}");
    }
}
