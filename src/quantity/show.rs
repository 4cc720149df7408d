//! Quantities as they are printed for a reader.

use super::unit::Unit;
use super::{Kind, Range, Stated};

/// The system of units that a reader thinks in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum System {
    /// Gallons, feet, acres, pounds.
    #[default]
    Us,
    /// Litres, metres, hectares, kilograms.
    Metric,
}

/// Significant digits printed when nothing else is said: what meters and samples of the trade can honour.
pub const USUAL_DIGITS: u32 = 3;

/// The unit that a value of kind `K` is printed in.
pub fn unit_for<K: Kind>(value: K::Value, system: System) -> Option<Unit> {
    let si = K::to_si(value);
    let choices = match system {
        System::Us => K::US,
        System::Metric => K::METRIC,
    };
    choices.iter().find(|(unit, from)| unit.from_si(si).abs() >= *from).or(choices.last()).map(|(unit, _)| *unit)
}

/// A value with the unit of the reader's system, to [`USUAL_DIGITS`]: `15,000 gal`.
pub fn show<K: Kind>(value: K::Value, system: System) -> String {
    match unit_for::<K>(value, system) {
        Some(unit) => show_in::<K>(value, unit, USUAL_DIGITS),
        None => significant(K::to_si(value), USUAL_DIGITS),
    }
}

/// A value in a unit, to a number of significant digits.
pub fn show_in<K: Kind>(value: K::Value, unit: Unit, digits: u32) -> String {
    format!("{} {}", significant(unit.from_si(K::to_si(value)), digits), unit.name)
}

/// A range with the unit said once: `50 to 70 %`.
pub fn show_range<K: Kind>(range: Range<K::Value>, system: System) -> String {
    let (low, high) = (show::<K>(range.low, system), show::<K>(range.high, system));
    if low == high {
        return low;
    }
    match unit_for::<K>(range.high, system) {
        Some(unit) => {
            let low = significant(unit.from_si(K::to_si(range.low)), USUAL_DIGITS);
            format!("{low} to {}", show_in::<K>(range.high, unit, USUAL_DIGITS))
        }
        None => format!("{low} to {high}"),
    }
}

/// A stated value: a range, or `not known`.
pub fn show_stated<K: Kind>(stated: &Stated<K::Value>, system: System) -> String {
    match stated.known() {
        Some(range) => show_range::<K>(range, system),
        None => "not known".into(),
    }
}

/// A number to so many significant digits, grouped in threes by commas, with a true minus sign and no exponent.
pub fn significant(value: f64, digits: u32) -> String {
    if !value.is_finite() {
        return "-".into();
    }
    if value == 0.0 {
        return "0".into();
    }
    let digits = digits.clamp(1, 15) as i32;
    // The exponent as printed, so that 9.996 to three digits is 10.0.
    let scientific = format!("{:.*e}", digits as usize - 1, value.abs());
    let Some((mantissa, exponent)) = scientific.split_once('e') else {
        return scientific;
    };
    let exponent: i32 = exponent.parse().unwrap_or(0);
    let decimals = (digits - 1 - exponent).max(0) as usize;
    let figures: String = mantissa.chars().filter(char::is_ascii_digit).collect();
    let text = if exponent >= digits - 1 {
        let zeros = (exponent - digits + 1) as usize;
        format!("{figures}{}", "0".repeat(zeros.min(400)))
    } else if exponent >= 0 {
        let (whole, part) = figures.split_at_checked(exponent as usize + 1).unwrap_or((&figures, ""));
        format!("{whole}.{part}")
    } else {
        format!("0.{}{figures}", "0".repeat(decimals.saturating_sub(figures.len())))
    };
    sign_and_group(value < 0.0, &text)
}

/// A number to so many decimals, grouped in threes by commas, with a true minus sign; `−0` is 0.
pub fn decimals(value: f64, places: u32) -> String {
    if !value.is_finite() {
        return "-".into();
    }
    let text = format!("{:.*}", places.min(15) as usize, value.abs());
    let zero = text.chars().all(|c| matches!(c, '0' | '.'));
    sign_and_group(value < 0.0 && !zero, &text)
}

fn sign_and_group(negative: bool, text: &str) -> String {
    let (whole, part) = text.split_once('.').map_or((text, None), |(whole, part)| (whole, Some(part)));
    let mut out = String::new();
    if negative {
        out.push('\u{2212}');
    }
    let length = whole.len();
    for (at, c) in whole.chars().enumerate() {
        if at > 0 && (length - at).is_multiple_of(3) {
            out.push(',');
        }
        out.push(c);
    }
    if let Some(part) = part {
        out.push('.');
        out.push_str(part);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::kind::*;
    use crate::quantity::{range, stated};

    #[test]
    fn figures_carry_no_more_digits_than_asked() {
        for (value, digits, text) in [
            (15_040.0, 3, "15,000"),
            (412_880.0, 6, "412,880"),
            (9.996, 3, "10.0"),
            (0.062_34, 3, "0.0623"),
            (-3.0, 2, "\u{2212}3.0"),
            (0.0, 3, "0"),
            (999.6, 3, "1,000"),
            (1_234_567.0, 4, "1,235,000"),
            (45.0, 3, "45.0"),
            (f64::NAN, 3, "-"),
            (1e-9, 1, "0.000000001"),
        ] {
            assert_eq!(significant(value, digits), text);
        }
        assert_eq!(decimals(-0.04, 1), "0.0");
        assert_eq!(decimals(-12_345.678, 2), "\u{2212}12,345.68");
    }

    #[test]
    fn a_reader_sees_the_units_of_the_system_asked_for() {
        let flow = range::<Flow>("38 gpm").unwrap().low;
        assert_eq!(show::<Flow>(flow, System::Us), "38.0 gpm");
        assert_eq!(show::<Flow>(flow, System::Metric), "8.63 m3/h");
        assert_eq!(show_range::<Share>(range::<Share>("50 % to 70 %").unwrap(), System::Us), "50.0 to 70.0 %");
        assert_eq!(show_stated::<Share>(&stated::<Share>("not known").unwrap(), System::Us), "not known");
        assert_eq!(show::<Temperature>(range::<Temperature>("-3 C").unwrap().low, System::Metric), "\u{2212}3.00 C");
    }
}
