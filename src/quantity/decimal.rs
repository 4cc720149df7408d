//! Decimals as an instrument or a laboratory gives them: exact, with the places that were written.

use std::cmp::Ordering;
use std::fmt;

/// A decimal exactly as written: `units` / 10^`places`. Equal values compare equal whatever their places (`4.70` is
/// `4.7`), but each prints with its own.
#[derive(Debug, Clone, Copy, Default)]
pub struct Decimal {
    units: i128,
    places: u32,
}

/// Digits a decimal may have in all, so that sums and products of two stay within an `i128`.
const MOST_DIGITS: u32 = 18;

impl Decimal {
    /// Nothing, without places.
    pub const ZERO: Self = Self { units: 0, places: 0 };

    /// A whole number.
    pub const fn whole(value: i64) -> Self {
        Self { units: value as i128, places: 0 }
    }

    /// Reads plain digits with at most one point and a leading minus: `0.15`, `.5`, `000130`, `-3`. None for anything
    /// else, or for more than 18 digits. Grouping marks are not known here.
    pub fn parse(text: &str) -> Option<Self> {
        let (negative, digits) = match text.strip_prefix(['-', '\u{2212}']) {
            Some(rest) => (true, rest),
            None => (false, text),
        };
        let (whole, part) = match digits.split_once('.') {
            Some((whole, part)) => (whole, part),
            None => (digits, ""),
        };
        let all_digits = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
        if (whole.is_empty() && part.is_empty()) || !all_digits(whole) || !all_digits(part) {
            return None;
        }
        let significant = whole.trim_start_matches('0').len() + part.len();
        let places = u32::try_from(part.len()).ok()?;
        if significant > MOST_DIGITS as usize {
            return None;
        }
        let mut units: i128 = 0;
        for digit in whole.bytes().chain(part.bytes()) {
            units = units.checked_mul(10)?.checked_add(i128::from(digit - b'0'))?;
        }
        Some(Self { units: if negative { -units } else { units }, places })
    }

    /// Ten to a power of at most 18.
    pub fn ten_to(power: u32) -> Option<Self> {
        (power <= MOST_DIGITS).then(|| Self { units: 10_i128.pow(power.min(MOST_DIGITS)), places: 0 })
    }

    /// Places behind the point, as written.
    pub const fn places(self) -> u32 {
        self.places
    }

    /// The digits without their point: the value times 10^places.
    pub const fn units(self) -> i128 {
        self.units
    }

    /// Whether it is below zero.
    pub const fn is_negative(self) -> bool {
        self.units < 0
    }

    /// Whether it is zero.
    pub const fn is_zero(self) -> bool {
        self.units == 0
    }

    /// The sum, or none where it does not fit.
    pub fn plus(self, other: Self) -> Option<Self> {
        let (a, b, places) = self.aligned(other)?;
        Some(Self { units: a.checked_add(b)?, places })
    }

    /// The difference, or none where it does not fit.
    pub fn minus(self, other: Self) -> Option<Self> {
        let (a, b, places) = self.aligned(other)?;
        Some(Self { units: a.checked_sub(b)?, places })
    }

    /// The product, or none where it does not fit.
    pub fn times(self, other: Self) -> Option<Self> {
        Some(Self { units: self.units.checked_mul(other.units)?, places: self.places.checked_add(other.places)? })
    }

    /// The nearest floating-point number.
    pub fn to_f64(self) -> f64 {
        // The text is read by the standard library, which rounds once; a quotient of two floats would round twice.
        self.to_string().parse().unwrap_or(f64::NAN)
    }

    /// The whole number it is, if it is one.
    pub fn as_whole(self) -> Option<i128> {
        let ten = 10_i128.checked_pow(self.places)?;
        (self.units % ten == 0).then(|| self.units / ten)
    }

    /// The whole number below it, without its places.
    pub fn floor(self) -> Option<Self> {
        let ten = 10_i128.checked_pow(self.places)?;
        Some(Self { units: self.units.div_euclid(ten), places: 0 })
    }

    fn aligned(self, other: Self) -> Option<(i128, i128, u32)> {
        let places = self.places.max(other.places);
        let lift = |value: Self| value.units.checked_mul(10_i128.checked_pow(places - value.places)?);
        Some((lift(self)?, lift(other)?, places))
    }

    fn stripped(self) -> (i128, u32) {
        let (mut units, mut places) = (self.units, self.places);
        while places > 0 && units % 10 == 0 {
            units /= 10;
            places -= 1;
        }
        (units, places)
    }
}

impl PartialEq for Decimal {
    fn eq(&self, other: &Self) -> bool {
        self.stripped() == other.stripped()
    }
}

impl Eq for Decimal {}

impl PartialOrd for Decimal {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Decimal {
    fn cmp(&self, other: &Self) -> Ordering {
        match self.aligned(*other) {
            Some((a, b, _)) => a.cmp(&b),
            // Only beyond 38 digits, where the sign and the size of the float decide.
            None => self.to_f64().total_cmp(&other.to_f64()),
        }
    }
}

impl fmt::Display for Decimal {
    /// Plain digits with a point, the places as written: `0.15`, `412880`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = if self.units < 0 { "-" } else { "" };
        let digits = self.units.unsigned_abs().to_string();
        let places = self.places as usize;
        if places == 0 {
            return write!(f, "{sign}{digits}");
        }
        let padded = format!("{digits:0>width$}", width = places + 1);
        let (whole, part) = padded.split_at(padded.len() - places);
        write!(f, "{sign}{whole}.{part}")
    }
}

#[cfg(test)]
mod tests {
    use super::Decimal;

    fn of(text: &str) -> Decimal {
        Decimal::parse(text).unwrap()
    }

    #[test]
    fn a_tenth_and_two_tenths_make_three_tenths_exactly() {
        assert_eq!(of("0.1").plus(of("0.2")), Some(of("0.3")));
        assert_eq!(of("427920").minus(of("412880")), Some(of("15040")));
    }

    #[test]
    fn a_decimal_prints_as_it_was_written_and_compares_by_value() {
        assert_eq!(of("4.70").to_string(), "4.70");
        assert_eq!(of("4.70"), of("4.7"));
        assert_eq!(of("-0.05").to_string(), "-0.05");
        assert_eq!(of("000130").to_string(), "130");
        assert!(of("0.19") < of("0.2"));
    }

    #[test]
    fn what_is_not_plain_digits_is_not_a_decimal() {
        for text in ["", ".", "1,204", "1e3", "NaN", "--3", "1.2.3", "1234567890123456789"] {
            assert!(Decimal::parse(text).is_none(), "{text}");
        }
    }
}
