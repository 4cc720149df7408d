//! Pure mathematics of permit limits: lognormal multipliers, means, loads, intervals. Nothing here is a permit's rule;
//! the rules file says which is used.

use crate::science::numerics::normal;
use uom::si::f64::{MassConcentration, MassRate, VolumeRate};
use uom::si::mass_concentration::kilogram_per_cubic_meter;
use uom::si::mass_rate::kilogram_per_second;
use uom::si::volume_rate::cubic_meter_per_second;

/// One US gallon in m³, exact (231 in³).
const GALLON_M3: f64 = 3.785_411_784e-3;
/// One pound in kg, exact.
const POUND_KG: f64 = 0.453_592_37;
const SECONDS_PER_DAY: f64 = 86_400.0;

/// σ of the logarithm of the mean of `samples` lognormal values.
fn log_sigma(variation: f64, samples: u32) -> Option<f64> {
    (variation.is_finite() && variation > 0.0 && samples > 0)
        .then(|| (variation * variation / f64::from(samples)).ln_1p().sqrt())
}

fn percentile(share: f64) -> Option<f64> {
    (share > 0.0 && share < 1.0).then(|| normal::value_at_share(share))
}

/// Percentile of the mean of `samples` values over the long-term average. Record:
/// [`crate::science::numerics::statistics::LOGNORMAL_MULTIPLIERS`].
fn over_average(variation: f64, share: f64, samples: u32) -> Option<f64> {
    let sigma = log_sigma(variation, samples)?;
    Some((percentile(share)? * sigma - 0.5 * sigma * sigma).exp())
}

/// Long-term average allowed over an acute waste load allocation. Record:
/// [`crate::science::numerics::statistics::LOGNORMAL_MULTIPLIERS`].
pub fn acute_allocation_multiplier(variation: f64, share: f64) -> Option<f64> {
    over_average(variation, share, 1).map(f64::recip)
}

/// Long-term average allowed over a chronic (four-day) waste load allocation. Record:
/// [`crate::science::numerics::statistics::LOGNORMAL_MULTIPLIERS`].
pub fn chronic_allocation_multiplier(variation: f64, share: f64) -> Option<f64> {
    over_average(variation, share, 4).map(f64::recip)
}

/// Daily maximum limit over the long-term average. Record: [`crate::science::numerics::statistics::LOGNORMAL_MULTIPLIERS`].
pub fn daily_maximum_multiplier(variation: f64, share: f64) -> Option<f64> {
    over_average(variation, share, 1)
}

/// Monthly average limit over the long-term average, for a number of samples a month. Record:
/// [`crate::science::numerics::statistics::LOGNORMAL_MULTIPLIERS`]. The source takes 4 samples at least where the chronic
/// allocation governs; that is the caller's to say.
pub fn monthly_average_multiplier(variation: f64, share: f64, samples: u32) -> Option<f64> {
    over_average(variation, share, samples)
}

/// Factor on the highest of `samples` to project an upper percentile with a confidence. Record:
/// [`crate::science::numerics::statistics::REASONABLE_POTENTIAL`].
pub fn reasonable_potential_multiplier(samples: u32, variation: f64, confidence: f64, upper: f64) -> Option<f64> {
    let sigma = log_sigma(variation, 1)?;
    percentile(confidence)?;
    let of_highest = (1.0 - confidence).powf(1.0 / f64::from(samples.max(1)));
    (samples > 0).then_some(())?;
    Some(((percentile(upper)? - percentile(of_highest)?) * sigma).exp())
}

/// Weekly limit over a monthly one. Record: [`crate::science::numerics::statistics::WEEKLY_FROM_MONTHLY`].
pub fn weekly_from_monthly_multiplier(variation: f64, samples: u32) -> Option<f64> {
    Some(over_average(variation, 0.99, 1)? / over_average(variation, 0.99, samples)?)
}

/// Load of one day, exact. Record: [`crate::science::numerics::statistics::LOAD`].
pub fn load(concentration: MassConcentration, flow: VolumeRate) -> MassRate {
    MassRate::new::<kilogram_per_second>(
        concentration.get::<kilogram_per_cubic_meter>() * flow.get::<cubic_meter_per_second>(),
    )
}

/// Load of one day by the operators' factor 8.34, for a permit that prints it. Record:
/// [`crate::science::numerics::statistics::LOAD`].
pub fn load_by_834(concentration: MassConcentration, flow: VolumeRate) -> MassRate {
    let milligrams_per_litre = concentration.get::<kilogram_per_cubic_meter>() * 1e3;
    let million_gallons_per_day = flow.get::<cubic_meter_per_second>() * SECONDS_PER_DAY / (1e6 * GALLON_M3);
    let pounds_per_day = milligrams_per_litre * million_gallons_per_day * 8.34;
    MassRate::new::<kilogram_per_second>(pounds_per_day * POUND_KG / SECONDS_PER_DAY)
}

/// Percent removal from averages over one window. Record: [`crate::science::numerics::statistics::PERCENT_REMOVAL`]. Nothing if
/// nothing came in.
pub fn percent_removal(mean_in: f64, mean_out: f64) -> Option<f64> {
    // Subtracting first keeps 200 → 30 at exactly 85.
    (mean_in > 0.0).then(|| 100.0 * (mean_in - mean_out) / mean_in)
}

/// Arithmetic mean; nothing of nothing.
pub fn arithmetic_mean(values: &[f64]) -> Option<f64> {
    (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64)
}

/// Geometric mean. Record: [`crate::science::numerics::statistics::GEOMETRIC_MEAN`]. Zero if any value is zero.
pub fn geometric_mean(values: &[f64]) -> Option<f64> {
    if values.is_empty() || !values.iter().all(|value| *value >= 0.0) {
        return None;
    }
    let logs: Vec<f64> = values.iter().map(|value| value.ln()).collect();
    arithmetic_mean(&logs).map(f64::exp)
}

/// Share of chi-square with `degrees` above a value: how often chance alone gives more. Nothing without degrees.
pub fn chi_square_above(value: f64, degrees: usize) -> Option<f64> {
    if degrees == 0 || !value.is_finite() || value < 0.0 {
        return None;
    }
    let half = 0.5 * value;
    // Even degrees: a Poisson sum from j = 0. Odd: twice the normal tail, then the same sum from j = ½. The terms are
    // carried as logarithms, so that a large value does not lose them all to underflow.
    let even = degrees.is_multiple_of(2);
    let (mut total, mut log_term, mut step) = if even {
        (0.0, -half, 0.0)
    } else {
        // The term at j = ½ is e^(−half) √half/Γ(3/2), and Γ(3/2) = √π/2.
        let first = -half + 0.5 * half.ln() - (0.5 * std::f64::consts::PI.sqrt()).ln();
        (2.0 * normal::share_below(-value.sqrt()), first, 0.5)
    };
    for _ in 0..degrees / 2 {
        total += log_term.exp();
        step += 1.0;
        log_term += (half / step).ln();
    }
    Some(total.clamp(0.0, 1.0))
}

/// Exact interval of the number of events expected, from a count seen. Record:
/// [`crate::science::numerics::statistics::POISSON_INTERVAL`]. Divide by the years for a yearly rate. Nothing above 100,000 events:
/// the exact sum is not made for such counts.
pub fn poisson_interval(count: u32, confidence: f64) -> Option<(f64, f64)> {
    if !(confidence > 0.0 && confidence < 1.0) || count > 100_000 {
        return None;
    }
    let tail = 0.5 * (1.0 - confidence);
    // P(at most k) at rate m is the share of chi-square with 2k + 2 degrees above 2m.
    let at_most = |k: u32, rate: f64| chi_square_above(2.0 * rate, 2 * k as usize + 2).unwrap_or(0.0);
    let most = f64::from(count) + 10.0 * f64::from(count + 1).sqrt() + 40.0;
    let solve = |k: u32, share: f64| {
        let (mut low, mut high) = (0.0, most);
        for _ in 0..200 {
            let middle = 0.5 * (low + high);
            if at_most(k, middle) > share {
                low = middle;
            } else {
                high = middle;
            }
        }
        0.5 * (low + high)
    };
    let low = count.checked_sub(1).map_or(0.0, |fewer| solve(fewer, 1.0 - tail));
    Some((low, solve(count, tail)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn three_spills_in_twenty_years_could_be_one_in_thirty_or_nine_in_twenty() {
        // Exact 95 % interval of a count of 3: 0.619 to 8.77 (printed Poisson tables, from memory).
        let (low, high) = poisson_interval(3, 0.95).expect("confidence in range");
        assert!((low - 0.618_7).abs() < 1e-4 && (high - 8.767).abs() < 1e-3, "{low} {high}");
        let (none, upper) = poisson_interval(0, 0.95).expect("confidence in range");
        assert!(none == 0.0 && (upper - 3.689).abs() < 1e-3);
    }

    #[test]
    fn chi_square_tails_match_the_printed_five_percent_points() {
        // Printed table of chi-square, 5 %: 1: 3.841, 2: 5.991, 3: 7.815, 4: 9.488, 5: 11.070, 10: 18.307.
        for (degrees, point) in [(1, 3.841), (2, 5.991), (3, 7.815), (4, 9.488), (5, 11.070), (10, 18.307)] {
            let share = chi_square_above(point, degrees).expect("degrees above zero");
            assert!((share - 0.05).abs() < 2e-5, "{degrees}: {share}");
        }
        assert_eq!(chi_square_above(1.0, 0), None);
        assert_eq!(chi_square_above(0.0, 3), Some(1.0));
        // Chance alone exceeds the middle of a wide chi-square about half the time (49.6 % at 2,000 degrees).
        let middle = chi_square_above(2000.0, 2000).expect("degrees above zero");
        assert!((middle - 0.496).abs() < 1e-3, "{middle}");
    }

    #[test]
    fn inputs_that_cannot_be_give_no_multiplier() {
        assert_eq!(daily_maximum_multiplier(0.0, 0.99), None);
        assert_eq!(daily_maximum_multiplier(0.6, 1.0), None);
        assert_eq!(monthly_average_multiplier(0.6, 0.95, 0), None);
        assert_eq!(reasonable_potential_multiplier(0, 0.6, 0.95, 0.95), None);
        assert_eq!(percent_removal(0.0, 3.0), None);
        assert_eq!(geometric_mean(&[]), None);
        assert_eq!(geometric_mean(&[4.0, -1.0]), None);
        assert_eq!(geometric_mean(&[4.0, 0.0]), Some(0.0));
    }
}
