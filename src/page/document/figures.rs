//! Figures as text: groups of three, a true minus, digits as asked for.

/// The space inside a figure: narrow, and no line breaks at it.
pub const THIN: char = '\u{202f}';
/// The space between a figure and its unit: no line breaks at it.
pub const TIE: char = '\u{a0}';
/// The sign of a negative figure.
pub const MINUS: char = '−';

/// `value` with `digits` digits after the decimal mark, in groups of three, with a true minus. Rounds half to even in
/// binary, as the language's formatter does: figures that are judged are rounded before they come here.
pub fn number(value: f64, digits: u8) -> String {
    if !value.is_finite() {
        return "–".to_owned();
    }
    if value.abs() >= 1e15 {
        return powers(value);
    }
    let plain = format!("{:.*}", usize::from(digits.min(12)), value.abs());
    let (whole, rest) = match plain.split_once('.') {
        Some((whole, rest)) => (whole, Some(rest)),
        None => (plain.as_str(), None),
    };
    let mut text = String::new();
    let is_zero = plain.chars().all(|c| c == '0' || c == '.');
    if value < 0.0 && !is_zero {
        text.push(MINUS);
    }
    let count = whole.chars().count();
    for (i, c) in whole.chars().enumerate() {
        if i > 0 && (count - i) % 3 == 0 {
            text.push(THIN);
        }
        text.push(c);
    }
    if let Some(rest) = rest {
        text.push('.');
        text.push_str(rest);
    }
    text
}

/// `value` as three figures times a power of ten: for what no column would hold.
pub fn powers(value: f64) -> String {
    if !value.is_finite() {
        return "–".to_owned();
    }
    let text = format!("{:.2e}", value.abs());
    let (mantissa, exponent) = text.split_once('e').unwrap_or((&text, "0"));
    let raised: String = exponent
        .chars()
        .map(|c| match c {
            '0' => '⁰',
            '1' => '¹',
            '2' => '²',
            '3' => '³',
            '4' => '⁴',
            '5' => '⁵',
            '6' => '⁶',
            '7' => '⁷',
            '8' => '⁸',
            '9' => '⁹',
            _ => '⁻',
        })
        .collect();
    let sign = if value < 0.0 { MINUS.to_string() } else { String::new() };
    format!("{sign}{mantissa}{TIE}×{TIE}10{raised}")
}

/// A figure tied to its unit, so that no line ends between them.
pub fn with_unit(value: f64, digits: u8, unit: &str) -> String {
    if unit.is_empty() {
        return number(value, digits);
    }
    let unit: String = unit.chars().map(|c| if c == ' ' { TIE } else { c }).collect();
    format!("{}{TIE}{unit}", number(value, digits))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_group_by_threes_and_carry_a_true_minus() {
        assert_eq!(number(1234567.0, 0), "1\u{202f}234\u{202f}567");
        assert_eq!(number(-1208.25, 2), "−1\u{202f}208.25");
        assert_eq!(number(999.0, 0), "999");
        assert_eq!(with_unit(16000.0, 0, "gal"), "16\u{202f}000\u{a0}gal");
    }

    #[test]
    fn a_figure_that_rounds_to_nothing_has_no_sign() {
        assert_eq!(number(-0.04, 1), "0.0");
        assert_eq!(number(f64::NAN, 1), "–");
        assert_eq!(number(-1.234e21, 0), "−1.23\u{a0}×\u{a0}10²¹");
    }
}
