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
    if rate.abs() < 1e-12 { n } else { (1.0 - (1.0 + rate).powf(-n)) / rate }
}

/// What is paid each year for `years` to repay one borrowed now: the inverse of [`annuity_factor`]. None for no years.
pub fn capital_recovery_factor(rate: f64, years: u32) -> Option<f64> {
    (years > 0).then(|| 1.0 / annuity_factor(rate, years))
}

/// Present value of something bought first after `first` years and again each time its life is over, within `years`, less
/// what is left of the last one's life at the end (its price in proportion to the years left).
pub fn capital(price: f64, first: f64, life_years: f64, rate: f64, years: u32) -> f64 {
    let horizon = f64::from(years);
    if first >= horizon - 1e-9 && first > 0.0 {
        return 0.0;
    }
    if life_years.is_nan() || life_years <= 0.0 || horizon <= 0.0 {
        return price;
    }
    let mut value = 0.0;
    let mut bought = first;
    while bought < horizon - 1e-9 {
        value += price * present_worth_factor(rate, bought);
        bought += life_years;
    }
    value - price * left(first, life_years, years) * present_worth_factor(rate, horizon)
}

/// The share of a life that is left at the end of something bought first after `first` years and again each time its life is over.
pub fn left(first: f64, life_years: f64, years: u32) -> f64 {
    let horizon = f64::from(years);
    let is_never = first >= horizon - 1e-9 && first > 0.0;
    if is_never || life_years.is_nan() || life_years <= 0.0 || horizon <= 0.0 {
        return 0.0;
    }
    let lives = ((horizon - 1e-9 - first) / life_years).ceil().max(0.0);
    (first + lives * life_years - horizon).max(0.0) / life_years
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
        assert_relative_eq!(capital_recovery_factor(0.05, 10).unwrap(), 0.1295, epsilon = 5e-5);
    }

    /// numpy-financial 1.0: `-npf.pv(0.07, 15, 1)` = 9.107914004951… and `-npf.pv(0, 15, 1)` = 15.
    #[test]
    fn an_annuity_agrees_with_a_library_of_financial_functions() {
        assert_relative_eq!(annuity_factor(0.07, 15), 9.107_914_005, epsilon = 1e-8);
        assert_relative_eq!(annuity_factor(0.0, 15), 15.0);
    }

    #[test]
    fn something_that_lasts_the_whole_time_is_paid_once_and_half_a_life_left_is_worth_half() {
        assert_relative_eq!(capital(1000.0, 0.0, 10.0, 0.05, 10), 1000.0, epsilon = 1e-9);
        // Bought in year 0 and 10; at year 15 half of the second is left: 1000 + 613.91 − 500 × 0.48102.
        assert_relative_eq!(capital(1000.0, 0.0, 10.0, 0.05, 15), 1000.0 + 613.913_254 - 240.508_549, epsilon = 1e-4);
    }
}
