//! Money over years: present value, annuities, capital that is bought again when its life is over.
//!
//! The equations are those of any text on engineering economy; the factors are checked against printed interest tables.

/// Present value of one payment `years` from now at a discount rate (0.05 for 5 %): `1 / (1 + i)^n`.
///
/// Valid for rates above −1; below that the result is not a number.
pub fn present_worth_factor(rate: f64, years: f64) -> f64 {
    (1.0 + rate).powf(-years)
}

/// Present value of one paid at the end of each of `years` whole years: `(1 − (1 + i)^−n) / i`; `n` at a rate of 0.
pub fn annuity_factor(rate: f64, years: u32) -> f64 {
    let n = f64::from(years);
    if rate.abs() < 1e-12 {
        n
    } else {
        (1.0 - (1.0 + rate).powf(-n)) / rate
    }
}

/// What is paid each year for `years` to repay one borrowed now: the inverse of [`annuity_factor`]. None for no years.
pub fn capital_recovery_factor(rate: f64, years: u32) -> Option<f64> {
    (years > 0).then(|| 1.0 / annuity_factor(rate, years))
}

/// Present value of something bought now and again each time its life is over, within `years`, less what is left of
/// the last one's life at the end (its price in proportion to the years left).
pub fn capital(price: f64, life_years: f64, rate: f64, years: u32) -> f64 {
    let horizon = f64::from(years);
    if !(life_years > 0.0) || horizon <= 0.0 {
        return price;
    }
    let mut value = 0.0;
    let mut bought = 0.0;
    while bought < horizon - 1e-9 {
        value += price * present_worth_factor(rate, bought);
        bought += life_years;
    }
    let left = (bought - horizon).max(0.0) / life_years;
    value - price * left * present_worth_factor(rate, horizon)
}

/// Exact two-sided interval for the yearly rate behind `count` events in `years`, at a confidence such as 0.95
/// (Garwood 1936, Biometrika 28: quantiles of chi-square, from memory): `χ²(α/2; 2k)/2` to `χ²(1 − α/2; 2k + 2)/2`.
///
/// None where `years` is not positive or the confidence is not between 0 and 1.
pub fn poisson_interval(count: u32, years: f64, confidence: f64) -> Option<(f64, f64)> {
    if !(years > 0.0) || !(confidence > 0.0 && confidence < 1.0) {
        return None;
    }
    let tail = 0.5 * (1.0 - confidence);
    let k = f64::from(count);
    // P(X ≥ k | m) = P(k, m), the regularised lower incomplete gamma function.
    let low = if count == 0 {
        0.0
    } else {
        invert(|m| lower_gamma(k, m), tail)
    };
    let high = invert(|m| lower_gamma(k + 1.0, m), 1.0 - tail);
    Some((low / years, high / years))
}

/// The `m` at which a rising function of `m` reaches `target`.
fn invert(rising: impl Fn(f64) -> f64, target: f64) -> f64 {
    let mut high = 1.0;
    while rising(high) < target && high < 1e9 {
        high *= 2.0;
    }
    let mut low = 0.0;
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if rising(middle) < target {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

/// Regularised lower incomplete gamma function P(a, x) for whole a ≥ 1: one less the Poisson sum below a.
fn lower_gamma(a: f64, x: f64) -> f64 {
    if x <= 0.0 {
        return 0.0;
    }
    let terms = a as u32;
    let mut log_term = -x;
    let mut sum = log_term.exp();
    for k in 1..terms {
        log_term += x.ln() - f64::from(k).ln();
        sum += log_term.exp();
    }
    (1.0 - sum).clamp(0.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// Compound interest factors for 5 % and 10 years as printed in tables of engineering economy (from memory): P/F
    /// 0.6139, P/A 7.7217, A/P 0.1295.
    #[test]
    fn factors_agree_with_printed_interest_tables_at_five_per_cent_and_ten_years() {
        assert_relative_eq!(present_worth_factor(0.05, 10.0), 0.6139, epsilon = 5e-5);
        assert_relative_eq!(annuity_factor(0.05, 10), 7.7217, epsilon = 5e-5);
        assert_relative_eq!(
            capital_recovery_factor(0.05, 10).unwrap(),
            0.1295,
            epsilon = 5e-5
        );
    }

    /// numpy-financial 1.0: `-npf.pv(0.07, 15, 1)` = 9.107914004951… and `-npf.pv(0, 15, 1)` = 15.
    #[test]
    fn an_annuity_agrees_with_a_library_of_financial_functions() {
        assert_relative_eq!(annuity_factor(0.07, 15), 9.107_914_005, epsilon = 1e-8);
        assert_relative_eq!(annuity_factor(0.0, 15), 15.0);
    }

    #[test]
    fn something_that_lasts_the_whole_time_is_paid_once_and_half_a_life_left_is_worth_half() {
        assert_relative_eq!(capital(1000.0, 10.0, 0.05, 10), 1000.0, epsilon = 1e-9);
        // Bought in year 0 and 10; at year 15 half of the second is left: 1000 + 613.91 − 500 × 0.48102.
        assert_relative_eq!(
            capital(1000.0, 10.0, 0.05, 15),
            1000.0 + 613.913_254 - 240.508_549,
            epsilon = 1e-4
        );
    }

    /// scipy.stats.chi2.ppf, 95 %: 3 events in 20 years give 0.030933 to 0.438364 a year; 0 events in 10 years give
    /// an upper end of 3.688879/10.
    #[test]
    fn three_spills_in_twenty_years_have_the_exact_poisson_interval() {
        let (low, high) = poisson_interval(3, 20.0, 0.95).unwrap();
        assert_relative_eq!(low, 0.030_933_6, epsilon = 1e-6);
        assert_relative_eq!(high, 0.438_363_7, epsilon = 1e-6);
        let (low, high) = poisson_interval(0, 10.0, 0.95).unwrap();
        assert_eq!(low, 0.0);
        assert_relative_eq!(high, 0.368_887_9, epsilon = 1e-6);
        assert_eq!(poisson_interval(3, 0.0, 0.95), None);
    }
}
