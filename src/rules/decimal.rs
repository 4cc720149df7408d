//! Exact numbers: what was measured is kept as typed, and rounded once, last, in whole numbers.
//!
//! A typed `30.5` is 305/10 and stays so through sums, means and unit factors, so that a tie is a tie and equality is
//! equality. What was computed is floating point; before it is rounded or held against a limit it is taken to 15
//! significant digits, so that the last bits of a computation never decide an outcome.

use std::cmp::Ordering;

use crate::rules::Rounding;

/// A number: an exact quotient of whole numbers, or a computed one; what does not fit 128 bits becomes computed.
#[derive(Debug, Clone, Copy)]
pub enum Number {
    /// `top / bottom`, in lowest terms, `bottom` above zero.
    Exact {
        /// Above the line; carries the sign.
        top: i128,
        /// Below the line.
        bottom: i128,
    },
    /// Computed, or infinite. Never NaN.
    Float(f64),
}

/// How a tie is broken, or that digits are cut off.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Tie {
    /// 30.5 becomes 31, -30.5 becomes -31.
    HalfUp,
    /// 30.5 becomes 30, 31.5 becomes 32: the rounding of ASTM E29 and NIST SP 811 B.7.1.
    HalfEven,
    /// Digits are cut off.
    Truncate,
}

impl Number {
    /// Nothing.
    pub const ZERO: Self = Self::Exact { top: 0, bottom: 1 };
    /// No upper end.
    pub const INFINITE: Self = Self::Float(f64::INFINITY);

    /// A whole number.
    pub const fn whole(value: i128) -> Self {
        Self::Exact { top: value, bottom: 1 }
    }

    /// A count.
    pub fn count(value: usize) -> Self {
        Self::whole(i128::try_from(value).unwrap_or(i128::MAX))
    }

    /// `top / bottom`; infinite where `bottom` is zero and `top` is above zero.
    pub fn quotient(top: i128, bottom: i128) -> Self {
        if bottom == 0 {
            return if top == 0 { Self::ZERO } else { Self::Float(f64::INFINITY) };
        }
        let divisor = common_divisor(top.unsigned_abs(), bottom.unsigned_abs());
        let (Ok(divisor), false) = (i128::try_from(divisor), top == i128::MIN || bottom == i128::MIN) else {
            return Self::Float(top as f64 / bottom as f64);
        };
        let sign = if bottom < 0 { -1 } else { 1 };
        Self::Exact { top: sign * (top / divisor), bottom: sign * (bottom / divisor) }
    }

    /// A computed number; a NaN is taken as no upper end, so that it can never pass for a small value.
    pub fn computed(value: f64) -> Self {
        Self::Float(if value.is_nan() { f64::INFINITY } else { value })
    }

    /// A decimal text such as `-12.50`; `None` where it is not one (no exponent, no grouping, at most 30 digits).
    pub fn parse(text: &str) -> Option<Self> {
        let text = text.trim();
        let (sign, digits) = match text.strip_prefix(['-', '\u{2212}']) {
            Some(rest) => (-1, rest),
            None => (1, text.strip_prefix('+').unwrap_or(text)),
        };
        let (whole, part) = digits.split_once('.').unwrap_or((digits, ""));
        let all_digits = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
        if whole.len() + part.len() == 0 || whole.len() + part.len() > 30 || !all_digits(whole) || !all_digits(part) {
            return None;
        }
        let top: i128 = format!("{whole}{part}").parse().ok()?;
        Some(Self::quotient(sign * top, ten_to(part.len() as u32)?))
    }

    /// The nearest floating-point number.
    pub fn to_f64(self) -> f64 {
        match self {
            Self::Exact { top, bottom } => top as f64 / bottom as f64,
            Self::Float(value) => value,
        }
    }

    /// Whether it is neither infinite in one direction nor the other.
    pub fn is_finite(self) -> bool {
        match self {
            Self::Exact { .. } => true,
            Self::Float(value) => value.is_finite(),
        }
    }

    /// Whether it is zero.
    pub fn is_zero(self) -> bool {
        match self {
            Self::Exact { top, .. } => top == 0,
            Self::Float(value) => value == 0.0,
        }
    }

    /// The sum.
    #[must_use]
    pub fn plus(self, other: Self) -> Self {
        if let (Self::Exact { top: a, bottom: b }, Self::Exact { top: c, bottom: d }) = (self, other) {
            let exact = || {
                if b == d {
                    return Some(Self::quotient(a.checked_add(c)?, b));
                }
                let top = a.checked_mul(d)?.checked_add(c.checked_mul(b)?)?;
                Some(Self::quotient(top, b.checked_mul(d)?))
            };
            if let Some(sum) = exact() {
                return sum;
            }
        }
        Self::computed(self.to_f64() + other.to_f64())
    }

    /// The difference.
    #[must_use]
    pub fn minus(self, other: Self) -> Self {
        self.plus(other.negative())
    }

    /// With the other sign.
    #[must_use]
    pub fn negative(self) -> Self {
        match self {
            Self::Exact { top, bottom } => Self::quotient(top.saturating_neg(), bottom),
            Self::Float(value) => Self::Float(-value),
        }
    }

    /// The product; nothing times no upper end is nothing.
    #[must_use]
    pub fn times(self, other: Self) -> Self {
        if self.is_zero() || other.is_zero() {
            return Self::ZERO;
        }
        if let (Self::Exact { top: a, bottom: b }, Self::Exact { top: c, bottom: d }) = (self, other) {
            let cross = |x: i128, y: i128| -> (i128, i128) {
                match Self::quotient(x, y) {
                    Self::Exact { top, bottom } => (top, bottom),
                    Self::Float(_) => (x, y),
                }
            };
            let (a, d) = cross(a, d);
            let (c, b) = cross(c, b);
            if let (Some(top), Some(bottom)) = (a.checked_mul(c), b.checked_mul(d)) {
                return Self::quotient(top, bottom);
            }
        }
        Self::computed(self.to_f64() * other.to_f64())
    }

    /// The quotient; `None` where the divisor is zero.
    pub fn over(self, other: Self) -> Option<Self> {
        if other.is_zero() {
            return None;
        }
        if !other.is_finite() {
            return Some(if self.is_finite() { Self::ZERO } else { Self::INFINITE });
        }
        Some(match other {
            Self::Exact { top, bottom } => self.times(Self::quotient(bottom, top)),
            Self::Float(value) => Self::computed(self.to_f64() / value),
        })
    }

    /// The greater of two.
    #[must_use]
    pub fn or_more(self, other: Self) -> Self {
        if self.compare(other) == Ordering::Less { other } else { self }
    }

    /// The lesser of two.
    #[must_use]
    pub fn or_less(self, other: Self) -> Self {
        if self.compare(other) == Ordering::Greater { other } else { self }
    }

    /// The same, a computed number taken to 15 significant digits and exact from then on.
    #[must_use]
    pub fn settled(self) -> Self {
        match self {
            Self::Exact { .. } => self,
            Self::Float(value) => from_15_digits(value).unwrap_or(self),
        }
    }

    /// Order. Two computed numbers are compared as they are; anything else after [`Number::settled`], in whole numbers.
    pub fn compare(self, other: Self) -> Ordering {
        match (self, other) {
            (Self::Float(a), Self::Float(b)) => a.total_cmp(&b),
            (Self::Float(_), Self::Exact { .. }) | (Self::Exact { .. }, Self::Float(_))
                if self.is_far_from(other, 0.0) =>
            {
                self.to_f64().total_cmp(&other.to_f64())
            }
            _ => match (self.settled(), other.settled()) {
                (Self::Exact { top: a, bottom: b }, Self::Exact { top: c, bottom: d }) => {
                    if b == d {
                        a.cmp(&c)
                    } else {
                        match (a.checked_mul(d), c.checked_mul(b)) {
                            (Some(left), Some(right)) => left.cmp(&right),
                            _ => compare_wide(a, b, c, d),
                        }
                    }
                }
                (a, b) => a.to_f64().total_cmp(&b.to_f64()),
            },
        }
    }

    /// Against a limit: both settled first, so that 30.000000000000004 computed equals 30.
    pub fn against(self, limit: Self) -> Ordering {
        if self.is_far_from(limit, 0.0) {
            return self.to_f64().total_cmp(&limit.to_f64());
        }
        self.settled().compare(limit.settled())
    }

    /// Rounded as a rule says, against a limit.
    pub fn rounded_against(self, rule: Rounding, limit: Self) -> Ordering {
        // The most that rounding can move it.
        let step = match rule {
            Rounding::Not => 0.0,
            Rounding::Decimals { places, .. } => 10_f64.powi(places.saturating_neg()),
            Rounding::Significant { digits, .. } => {
                let digits = i32::try_from(digits.clamp(1, 30)).unwrap_or(30);
                self.to_f64().abs() * 10_f64.powi(1 - digits)
            }
        };
        if self.is_far_from(limit, step) {
            return self.to_f64().total_cmp(&limit.to_f64());
        }
        self.rounded(rule).against(limit)
    }

    /// Whether one of two is computed and neither the last bits nor a rounding that moves it by `step` at most can change
    /// their order: what nearly every computed value is, and settles without decimals.
    fn is_far_from(self, other: Self, step: f64) -> bool {
        let (a, b) = (self.to_f64(), other.to_f64());
        let either = matches!(self, Self::Float(_)) || matches!(other, Self::Float(_));
        either && (a - b).abs() > step * 1.001 + 1e-12 * a.abs().max(b.abs())
    }

    /// Rounded as a rule says. A computed number is settled first; what is infinite stays so.
    #[must_use]
    pub fn rounded(self, rule: Rounding) -> Self {
        match rule {
            Rounding::Not => self,
            Rounding::Decimals { places, tie } => self.to_places(i64::from(places), tie),
            Rounding::Significant { digits, tie } => self.to_significant(digits, tie),
        }
    }

    /// Rounded to a number of decimals (below zero: tens, hundreds).
    #[must_use]
    pub fn to_places(self, places: i64, tie: Tie) -> Self {
        let Self::Exact { top, bottom } = self.settled() else {
            return self;
        };
        let Ok(size) = u32::try_from(places.unsigned_abs()) else {
            return self;
        };
        let Some(power) = ten_to(size) else {
            return self;
        };
        let scaled = if places >= 0 {
            top.checked_mul(power).map(|top| (top, bottom))
        } else {
            bottom.checked_mul(power).map(|bottom| (top, bottom))
        };
        let Some((top, bottom)) = scaled else {
            return self;
        };
        let negative = top < 0;
        let (size, rest) = (top.unsigned_abs() / bottom.unsigned_abs(), top.unsigned_abs() % bottom.unsigned_abs());
        let twice = rest.saturating_mul(2).cmp(&bottom.unsigned_abs());
        let up = match (tie, twice) {
            (Tie::Truncate, _) | (_, Ordering::Less) => false,
            (_, Ordering::Greater) | (Tie::HalfUp, Ordering::Equal) => true,
            (Tie::HalfEven, Ordering::Equal) => size % 2 == 1,
        };
        let Ok(size) = i128::try_from(size + u128::from(up)) else {
            return self;
        };
        let size = if negative { -size } else { size };
        if places >= 0 { Self::quotient(size, power) } else { Self::whole(size).times(Self::whole(power)) }
    }

    /// Rounded to a number of significant digits (at least 1).
    #[must_use]
    pub fn to_significant(self, digits: u32, tie: Tie) -> Self {
        match self.settled().magnitude() {
            Some(magnitude) => self.to_places(i64::from(digits.max(1)) - 1 - magnitude, tie),
            None => self,
        }
    }

    /// The power of ten of its first digit: 2 for 123, -1 for 0.5; none for zero and what is infinite.
    pub fn magnitude(self) -> Option<i64> {
        if self.is_zero() || !self.is_finite() {
            return None;
        }
        let guess = self.to_f64().abs().log10().floor() as i64;
        let size = if self.to_f64() < 0.0 { self.negative() } else { self };
        let at_least = |power: i64| {
            let power_of_ten = ten_to(u32::try_from(power.unsigned_abs()).unwrap_or(u32::MAX))
                .map(|ten| if power >= 0 { Self::whole(ten) } else { Self::quotient(1, ten) });
            power_of_ten.is_some_and(|ten| size.compare(ten) != Ordering::Less)
        };
        Some(if at_least(guess + 1) {
            guess + 1
        } else if at_least(guess) || guess.abs() > 30 {
            guess
        } else {
            guess - 1
        })
    }
}

impl PartialEq for Number {
    fn eq(&self, other: &Self) -> bool {
        self.compare(*other) == Ordering::Equal
    }
}

/// 10 to a power, where it fits.
pub(crate) fn ten_to(power: u32) -> Option<i128> {
    10i128.checked_pow(power)
}

fn common_divisor(mut a: u128, mut b: u128) -> u128 {
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a.max(1)
}

/// a/b against c/d (b, d above zero) where the products do not fit: whole parts first, then what is left, turned over.
fn compare_wide(a: i128, b: i128, c: i128, d: i128) -> Ordering {
    let (mut a, mut b, mut c, mut d) = (a, b, c, d);
    let mut turned = false;
    loop {
        let (left, right) = (a.div_euclid(b), c.div_euclid(d));
        let order = left.cmp(&right);
        let order = if order != Ordering::Equal {
            order
        } else {
            match (a.rem_euclid(b), c.rem_euclid(d)) {
                (0, 0) => return Ordering::Equal,
                (0, _) => Ordering::Less,
                (_, 0) => Ordering::Greater,
                (rest_left, rest_right) => {
                    (a, b, c, d) = (b, rest_left, d, rest_right);
                    turned = !turned;
                    continue;
                }
            }
        };
        return if turned { order.reverse() } else { order };
    }
}

/// A computed number to 15 significant digits, exactly; none where it is infinite or outside 1e-30 to 1e30.
fn from_15_digits(value: f64) -> Option<Number> {
    if value == 0.0 {
        return Some(Number::ZERO);
    }
    if !value.is_finite() || value.abs() >= 1e30 {
        return None;
    }
    if value.abs() < 1e-30 {
        return Some(Number::ZERO);
    }
    // `{:e}` of std is exact decimal conversion with correct rounding: the same on every machine.
    let text = format!("{value:.14e}");
    let (digits, power) = text.split_once('e')?;
    let power: i32 = power.parse().ok()?;
    let digits: i128 = digits.replace('.', "").parse().ok()?;
    let shift = power - 14;
    let ten = ten_to(shift.unsigned_abs())?;
    if shift >= 0 { Some(Number::whole(digits.checked_mul(ten)?)) } else { Some(Number::quotient(digits, ten)) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn n(text: &str) -> Number {
        Number::parse(text).unwrap()
    }

    fn places(text: &str, places: i64, tie: Tie) -> String {
        n(text).to_places(places, tie).in_full(12)
    }

    fn digits(text: &str, digits: u32, tie: Tie) -> String {
        n(text).to_significant(digits, tie).in_full(12)
    }

    /// P081, P082, P084: NIST SP 811 (2008) B.7.1 (from memory, not checked against the text).
    #[test]
    fn rounding_to_significant_digits_works_on_the_decimal_as_typed() {
        assert_eq!(digits("6.9749515", 3, Tie::HalfEven), "6.97");
        assert_eq!(digits("6.9749515", 5, Tie::HalfEven), "6.975");
        assert_eq!(digits("6.9749505", 7, Tie::HalfEven), "6.97495");
    }

    /// P085, P087, P088, P090, P091: the rounding rule of ASTM E29, ties to even (computed, decimal arithmetic).
    #[test]
    fn a_tie_rounds_to_the_even_digit_under_the_rounding_method_of_astm_e29() {
        assert_eq!(places("2.5", 0, Tie::HalfEven), "2");
        assert_eq!(places("0.125", 2, Tie::HalfEven), "0.12");
        assert_eq!(places("0.135", 2, Tie::HalfEven), "0.14");
        assert_eq!(places("29.5", 0, Tie::HalfEven), "30");
        assert_eq!(places("30.5", 0, Tie::HalfEven), "30");
    }

    #[test]
    fn a_tie_rounds_up_away_from_zero_and_truncation_cuts() {
        assert_eq!(places("30.5", 0, Tie::HalfUp), "31");
        assert_eq!(places("-30.5", 0, Tie::HalfUp), "-31");
        assert_eq!(places("30.99", 0, Tie::Truncate), "30");
        assert_eq!(places("1250", -2, Tie::HalfEven), "1,200");
        assert_eq!(places("1250", -2, Tie::HalfUp), "1,300");
    }

    #[test]
    fn the_mean_of_30_4_and_30_5_is_a_tie_and_not_a_little_less() {
        let mean = n("30.4").plus(n("30.5")).over(Number::whole(2)).unwrap();
        assert_eq!(mean.honest(4), "30.45");
        assert_eq!(mean.to_places(1, Tie::HalfUp).honest(4), "30.5");
        assert_eq!(mean.to_places(1, Tie::HalfEven).honest(4), "30.4");
    }

    #[test]
    fn ten_tenths_are_one_and_a_third_times_three_is_one() {
        let tenth = n("0.1");
        let sum = (0..10).fold(Number::ZERO, |sum, _| sum.plus(tenth));
        assert_eq!(sum.compare(Number::whole(1)), Ordering::Equal);
        let third = Number::whole(1).over(Number::whole(3)).unwrap();
        assert_eq!(third.times(Number::whole(3)).compare(Number::whole(1)), Ordering::Equal);
    }

    #[test]
    fn the_last_bits_of_a_computation_do_not_decide() {
        let computed = Number::computed(0.1 + 0.2);
        assert_eq!(computed.against(n("0.3")), Ordering::Equal);
        assert_eq!(Number::computed(0.3001).against(n("0.3")), Ordering::Greater);
    }

    #[test]
    fn quotients_too_wide_to_multiply_are_still_compared_exactly() {
        let wide = 10i128.pow(37);
        let a = Number::quotient(wide + 1, wide);
        let b = Number::quotient(wide + 2, wide - 1);
        assert_eq!(a.compare(b), Ordering::Less);
        assert_eq!(b.compare(a), Ordering::Greater);
        assert_eq!(a.compare(a), Ordering::Equal);
    }

    #[test]
    fn what_is_not_a_decimal_is_not_read_as_one() {
        for text in ["", ".", "-", "1e3", "0x1F", "1,5", "12 mg/L", "NaN", "inf"] {
            assert!(Number::parse(text).is_none(), "{text}");
        }
    }

    #[test]
    fn digits_shown_beside_a_limit_never_hide_that_it_was_passed() {
        assert_eq!(n("30.00001").beside(n("30")), "30.00001");
        let third = Number::quotient(30_000_001, 1_000_000).plus(Number::quotient(1, 3_000_000_000));
        assert_eq!(third.beside(n("30")), "30.000001");
        assert_eq!(n("15040").beside(n("16000")), "15,040");
    }

    #[test]
    fn nothing_times_no_upper_end_is_nothing_and_what_overflows_becomes_computed() {
        assert!(Number::ZERO.times(Number::INFINITE).is_zero());
        assert!(!Number::whole(1).plus(Number::INFINITE).is_finite());
        let huge = Number::whole(i128::MAX).times(Number::whole(10));
        assert!(matches!(huge, Number::Float(value) if value > 1e39));
        assert!(Number::whole(1).over(Number::ZERO).is_none());
    }

    proptest::proptest! {
        #[test]
        fn rounding_moves_a_number_by_at_most_half_a_step(top in -1_000_000_000i64..1_000_000_000, bottom in 1i64..100_000, step in 0i64..6) {
            let number = Number::quotient(i128::from(top), i128::from(bottom));
            let half = Number::quotient(1, 2 * ten_to(step as u32).unwrap());
            for tie in [Tie::HalfUp, Tie::HalfEven] {
                let moved = number.to_places(step, tie).minus(number);
                let size = moved.or_more(moved.negative());
                proptest::prop_assert!(size.compare(half) != Ordering::Greater);
            }
        }
    }
}
