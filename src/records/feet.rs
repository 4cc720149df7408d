//! Feet and inches as a clipboard has them (`4'1"`, `4 ft 1 in`), and more in a cell than one number.

use crate::quantity::units::named;
use crate::quantity::{Cell, Decimal, Misread, letter_among_figures};

/// The inches of `4'1"`, `4 ft 1 in`, `4' 1.5`; none of anything else. Twelve inches or more are not read.
pub(crate) fn inches(text: &str) -> Option<Decimal> {
    let text =
        text.trim().to_lowercase().replace(['\u{2019}', '\u{2032}'], "'").replace(['\u{201d}', '\u{2033}'], "\"");
    let (feet, rest) = text.split_once('\'').or_else(|| text.split_once("feet")).or_else(|| text.split_once("ft"))?;
    let rest = rest.trim_start_matches(['.', '-', ' ']).trim();
    let inches = ["\"", "''", "inches", "inch", "in.", "in"]
        .into_iter()
        .find_map(|mark| rest.strip_suffix(mark))
        .unwrap_or(rest)
        .trim();
    if !digits(feet.trim()) {
        return None;
    }
    let inches = with_fraction(inches)?;
    if inches >= Decimal::whole(12) {
        return None;
    }
    Decimal::parse(feet.trim())?.times(Decimal::whole(12))?.plus(inches)
}

fn digits(text: &str) -> bool {
    !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit())
}

/// `10`, `2.75`, `10 1/4`, `1/4`: inches of a rule, whose parts are halves down to sixteenths.
fn with_fraction(text: &str) -> Option<Decimal> {
    let text = text.trim();
    let Some((above, below)) = text.split_once('/') else {
        let plain = text.split_once('.').map_or(digits(text), |(a, b)| digits(a) && digits(b));
        return plain.then(|| Decimal::parse(text)).flatten();
    };
    let (whole, above) = above.trim().rsplit_once(' ').unwrap_or(("0", above));
    let (above, below): (i64, i64) = (above.trim().parse().ok()?, below.trim().parse().ok()?);
    let one = Decimal::parse(match below {
        2 => "0.5",
        4 => "0.25",
        8 => "0.125",
        16 => "0.0625",
        _ => return None,
    })?;
    if !digits(whole.trim()) || above < 1 || above >= below {
        return None;
    }
    Decimal::parse(whole.trim())?.plus(one.times(Decimal::whole(above))?)
}

/// Whether a column says that it holds centimetres or metres as the mood took its keeper.
pub(crate) fn says_cm_or_m(unit: Option<&str>) -> bool {
    unit.is_some_and(|unit| {
        matches!(
            unit.split_whitespace().collect::<Vec<_>>().join(" ").as_str(),
            "cm or m" | "m or cm" | "cm/m" | "m/cm"
        )
    })
}

/// Whether a column says that it holds feet and inches, whatever stands between them.
pub(crate) fn says_feet_and_inches(unit: Option<&str>) -> bool {
    unit.is_some_and(|unit| {
        let letters: String = unit.to_lowercase().chars().filter(|c| c.is_alphanumeric()).collect();
        matches!(letters.as_str(), "ftin" | "feetinches" | "feetandinches" | "ftandin")
    })
}

/// The inches of a cell in a column of feet and inches: `10-6`, `10.6` and `10 6` are 10 ft 6 in, `10` is 10 ft, `16"`
/// 16 in, `11-7 3/4` and `12-1/2` have a fraction. `1.1` is refused: a spreadsheet makes it of 1.10 as well.
///
/// # Errors
/// For what is no feet and inches, or may be two depths.
pub(crate) fn in_column_of_feet_and_inches(text: &str) -> Result<Decimal, Misread> {
    let text = without_remark(text.trim());
    if let Some(read) = inches(text) {
        return Ok(read);
    }
    let digits = |part: &str| {
        let part = part.trim();
        (!part.is_empty() && part.len() <= 3 && part.bytes().all(|byte| byte.is_ascii_digit()))
            .then(|| Decimal::parse(part))
            .flatten()
    };
    let lower = text.to_lowercase();
    let bare =
        ["inches", "in.", "in", "\"", "\u{2033}", "\u{201d}"].into_iter().find_map(|mark| lower.strip_suffix(mark));
    let twelve = Decimal::whole(12);
    let feet = ["feet", "ft.", "ft", "'"].into_iter().find_map(|mark| lower.strip_suffix(mark)).and_then(digits);
    let joint = text.chars().find(|c| ['-', '.', ' '].contains(c));
    let read = match (bare.and_then(with_fraction), feet, text.split_once(['-', '.', ' '])) {
        (Some(inches), ..) => Some(inches),
        (None, Some(feet), _) => feet.times(twelve),
        (None, None, Some((feet, inches))) => {
            if text.contains('.') && inches.trim() == "1" {
                return Err(Misread::new(format!("`{text}` may be {feet} ft 1 in or {feet} ft 10 in"))
                    .hint("write it like 1-10 or 1'10\""));
            }
            // `12 1/2` may be half a foot.
            let inches = match joint {
                Some('-') => with_fraction(inches),
                Some(' ') if inches.trim().contains(' ') || !inches.contains('/') => with_fraction(inches),
                Some('.') => digits(inches),
                _ => None,
            };
            let inches = inches.filter(|inches| *inches < twelve);
            inches.and_then(|inches| digits(feet)?.times(twelve)?.plus(inches))
        }
        (None, None, None) => digits(text).and_then(|feet| feet.times(twelve)),
    };
    read.ok_or_else(|| {
        Misread::new(format!("`{text}` is not feet and inches")).hint("write it like 10-6, 10'6\" or 16\"")
    })
}

/// Words behind a depth that say nothing of how it was measured, as `below` would.
const REMARKS: [&str; 6] = ["low", "high", "ok", "full", "rising", "falling"];

/// A depth whose inches have their mark, without such a word behind it: `1'5"  LOW`.
fn without_remark(text: &str) -> &str {
    let end =
        text.rfind(['"', '\u{2033}', '\u{201d}']).and_then(|at| Some(at + text.get(at..)?.chars().next()?.len_utf8()));
    let parts = end.and_then(|end| text.split_at_checked(end));
    match parts {
        Some((depth, word)) if REMARKS.iter().any(|remark| word.trim().eq_ignore_ascii_case(remark)) => depth,
        _ => text,
    }
}

/// Whether a depth with this unit in its column may be written in feet and inches.
pub(crate) fn may_be_feet(unit: Option<&str>) -> bool {
    unit.is_none_or(|unit| matches!(unit.trim().to_lowercase().as_str(), "" | "ft" | "ft." | "feet" | "foot" | "'"))
}

/// Refuses a cell with more in it than one number, which would be dropped: `4 + 1`, `4-5`, `72 m3` where its column
/// counts in something else. `is_depth` is for what may be feet and inches.
pub(crate) fn one_number(text: &str, cell: &Cell, unit: Option<&str>, is_depth: bool) -> Result<(), Misread> {
    let Cell::Number { value, behind, .. } = cell else {
        return Ok(());
    };
    if is_depth && says_feet_and_inches(unit) {
        return in_column_of_feet_and_inches(text).map(|_| ());
    }
    if behind.is_empty() || (is_depth && may_be_feet(unit) && inches(text).is_some()) {
        return Ok(());
    }
    let text = text.trim();
    let begins_number = |text: &str| text.trim().starts_with(|c: char| c.is_ascii_digit());
    let second = ["+", "-", "&", ";", "=", "\u{2212}", "\u{2013}", "to ", "and ", ""]
        .into_iter()
        .any(|joint| behind.strip_prefix(joint).is_some_and(begins_number));
    if second {
        let hint = if is_depth && behind.starts_with('-') {
            "a column of feet and inches says so: `unit: ft-in`; else write the one number that is meant"
        } else {
            "write the one number that is meant: no sum is worked out, and no part is dropped"
        };
        return Err(Misread::new(format!("`{text}` is more than one number")).hint(hint));
    }
    let is_quote = |c: char| "'\"\u{2032}\u{2033}\u{2019}\u{201d}".contains(c);
    let is_feet = is_depth && may_be_feet(unit) && behind.chars().count() == 1 && !behind.contains('"');
    let in_column =
        unit.is_some_and(|unit| behind.trim_end_matches('.').eq_ignore_ascii_case(unit.trim_end_matches('.')));
    if let (Some(own), Some(column)) = (named(behind), unit.and_then(named))
        && (own.dimension, own.factor(), own.offset_hundredths)
            != (column.dimension, column.factor(), column.offset_hundredths)
        // One letter more often stands for a remark than for another measure.
        && (own.dimension == column.dimension || behind.chars().count() > 1)
    {
        let (own, column) = (behind.as_str(), unit.unwrap_or(""));
        return Err(Misread::new(format!("`{text}` is in {own}, and its column in {column}"))
            .hint(format!("write the value in {column}, or give the row its own unit")));
    }
    let has_more = behind.contains(is_quote) || (unit.is_some() && behind.contains(|c: char| c.is_ascii_digit()));
    if let Some(meant) = letter_among_figures(&value.to_string(), behind) {
        return Err(
            Misread::new(format!("`{text}` has a letter among its figures")).hint(format!("was {meant} meant?"))
        );
    }
    if has_more && !in_column && !(is_feet && behind.contains(is_quote)) {
        let hint = if is_depth {
            format!("write {value} alone, or feet and inches like 4'1\" with no unit or with ft")
        } else {
            format!("write one number, such as {value}, and its unit in its own column")
        };
        return Err(
            Misread::new(format!("`{text}` has `{behind}` behind its number, which would be dropped")).hint(hint)
        );
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{DecimalMark, cell};

    #[test]
    fn the_inch_of_a_clipboard_is_not_dropped() {
        // 4 ft 1 in = 4 × 12 + 1 = 49 in.
        for text in [
            "4'1\"",
            "4' 1\"",
            "4'-1\"",
            "4 ft 1 in",
            "4ft. 1 inch",
            "4\u{2032}1\u{2033}",
            "4\u{2019} 1\u{201d}",
            "4'1",
        ] {
            assert_eq!(inches(text), Some(Decimal::whole(49)), "{text}");
        }
        assert_eq!(inches("4' 1.5\""), Decimal::parse("49.5"));
        assert_eq!(inches("4' 1 1/2\""), Decimal::parse("49.5"));
        assert_eq!(inches("4' 1/4\""), Decimal::parse("48.25"));
        for text in ["4'", "4", "4 ft", "4'13\"", "4' 1 1/3\"", "4' 1 4/4\"", "-4'1\"", "ft 1"] {
            assert_eq!(inches(text), None, "{text}");
        }
    }

    #[test]
    fn a_second_number_in_a_cell_is_asked_about_and_not_dropped() {
        let told = |text: &str, unit| one_number(text, &cell(text, DecimalMark::Point).unwrap(), unit, true).is_err();
        for text in ["4 + 1", "4+1", "4-5", "4 to 5", "4 & 1", "4 and 1"] {
            assert!(told(text, None), "{text}");
        }
        assert!(told("4' 1 1/3\"", Some("ft")));
        assert!(told("4'13\"", Some("ft")));
        assert!(told("7 m3", Some("gal")));
        assert!(told("4'1\"", Some("m")));
        for text in ["4", "4 washes", "7.2 - field", "4.1 e", "4'", "4 ft", "4'1\"", "-5"] {
            assert!(!told(text, Some("ft")), "{text}");
        }
    }

    #[test]
    fn a_column_of_feet_and_inches_is_read_whatever_stands_between_them() {
        for (text, inches) in [
            ("10-6", 126),
            ("10.6", 126),
            ("10 6", 126),
            ("1.11", 23),
            ("1-10", 22),
            ("16\"", 16),
            ("16 in", 16),
            ("4'1\"", 49),
            ("3", 36),
            ("3 ft", 36),
            ("1'5\"  LOW", 17),
        ] {
            assert_eq!(in_column_of_feet_and_inches(text), Ok(Decimal::whole(inches)), "{text}");
        }
        for (text, inches) in [
            ("11-7 3/4", "139.75"),
            ("12-1/2", "144.5"),
            ("28 3/4 in", "28.75"),
            ("10' 10 1/4\"", "130.25"),
            ("11 ft 2.75", "134.75"),
        ] {
            assert_eq!(in_column_of_feet_and_inches(text).ok(), Decimal::parse(inches), "{text}");
        }
        for text in ["1.1", "3-12", "2.5.1", "0.75 ft", "a-b", "", "12 1/2", "3-4/4", "28 3/4", "10\" below"] {
            assert!(in_column_of_feet_and_inches(text).is_err(), "{text}");
        }
        assert!(says_feet_and_inches(Some("ft-in")) && says_feet_and_inches(Some("Feet & inches")));
        assert!(!says_feet_and_inches(Some("ft")) && !says_feet_and_inches(None));
    }

    #[test]
    fn a_cell_in_another_unit_than_its_column_is_asked_about_and_not_taken_for_it() {
        let told =
            |text: &str, unit| one_number(text, &cell(text, DecimalMark::Point).unwrap(), Some(unit), false).is_err();
        for (text, column) in
            [("4.5 in", "ft"), ("12 kgal", "gal"), ("<5 ug/L", "mg/L"), ("3 mm", "in"), ("7 gal", "ft")]
        {
            assert!(told(text, column), "{text} under {column}");
        }
        for (text, column) in [("4.5 feet", "ft"), ("12 gallons", "gal"), ("<5 mg/l", "mg/L"), ("5 U", "mg/L")] {
            assert!(!told(text, column), "{text} under {column}");
        }
    }
}
