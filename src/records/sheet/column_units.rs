//! The units that a column's values may be in, by what it holds and by the values themselves.

use crate::quantity::{Cell, Decimal, cell, units};
use crate::records::feet::inches;
use crate::records::sheet::meaning::Seen;
use crate::records::words::What;

pub(super) fn needs_unit(what: What, parameter: Option<&str>) -> bool {
    match what {
        What::Amount | What::Head | What::Level | What::Freeboard | What::SludgeDepth | What::Holding | What::Rain => {
            true
        }
        What::Sample => parameter != Some("pH"),
        _ => false,
    }
}

pub(super) fn units_for(what: What) -> &'static [&'static str] {
    match what {
        What::Amount | What::Holding => &["gal", "m3", "L"],
        What::Rain => &["in", "mm", "tenths of mm", "hundredths of in"],
        What::Sample => &["mg/L", "ug/L", "mL/L", "NTU"],
        What::Head => &["in", "ft", "cm", "mm", "m", "ft-in"],
        What::Level | What::Freeboard | What::SludgeDepth => &["ft", "in", "m", "cm", "ft-in", "cm or m"],
        _ => &[],
    }
}

/// The same, the likeliest first as the values are written.
pub(super) fn units_seen(what: What, seen: &Seen) -> Vec<&'static str> {
    let mut units = units_for(what).to_vec();
    let likely = if !is_depth(what) {
        None
    } else if seen.values.iter().any(|value| feet_and_inches(value)) {
        Some("ft-in")
    } else if both_cm_and_m(seen) {
        Some("cm or m")
    } else {
        None
    };
    if let Some(likely) = likely {
        units.retain(|unit| *unit != likely);
        units.insert(0, likely);
    }
    units
}

fn is_depth(what: What) -> bool {
    matches!(what, What::Head | What::Level | What::Freeboard | What::SludgeDepth)
}

/// `10 ft 3`, `11-7 3/4`, `134 1/2"`.
fn feet_and_inches(value: &str) -> bool {
    const SIGNS: [char; 6] = ['\'', '"', '\u{2032}', '\u{2033}', '\u{2019}', '\u{201d}'];
    let text = value.trim();
    let begins = text.starts_with(|c: char| c.is_ascii_digit());
    let parts = text.split_once('-').is_some_and(|(feet, inches)| {
        feet.len() <= 2
            && feet.bytes().all(|byte| byte.is_ascii_digit())
            && inches.starts_with(|c: char| c.is_ascii_digit())
    });
    begins && (parts || text.contains(SIGNS) || text.to_lowercase().contains(" ft"))
}

/// Whole numbers of ten and more beside such as 0.58: a pole read in centimetres by one and in metres by another.
fn both_cm_and_m(seen: &Seen) -> bool {
    let bare: Vec<Decimal> = seen
        .values
        .iter()
        .filter_map(|value| match cell(value, seen.mark) {
            Ok(Cell::Number { value, behind, .. }) if behind.is_empty() => Some(value),
            _ => None,
        })
        .collect();
    let ten = Decimal::whole(10);
    let with_unit = |unit: &str| {
        seen.values.iter().any(|value| {
            matches!(cell(value, seen.mark), Ok(Cell::Number { behind, .. }) if behind.eq_ignore_ascii_case(unit))
        })
    };
    let small = bare.iter().any(|value| *value < ten && value.as_whole().is_none());
    small && bare.iter().any(|value| *value >= ten) || with_unit("cm") && with_unit("m")
}

/// Whether each value names its unit behind it, so that the column needs none.
pub(super) fn values_have_units(what: What, seen: &Seen) -> bool {
    let mut any = false;
    for value in &seen.values {
        let Ok(Cell::Number { behind, .. }) = cell(value, seen.mark) else { continue };
        let has = if is_depth(what) && inches(value).is_some() {
            true
        } else {
            !behind.is_empty() && (!is_depth(what) || units::named(&behind).is_some())
        };
        if !has {
            return false;
        }
        any = true;
    }
    any
}
