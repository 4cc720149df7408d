//! Amounts that were worked out from the head over a weir, printed with the digits that a head bears; what is held against the
//! limit keeps them all.

use std::collections::BTreeSet;

use crate::records::Timeline;
use crate::rules::{Finding, Number, Tie};
use crate::told::Place;

/// Figures of an amount from a head: it is read to a part of an inch or some millimetres, and a weir's equation holds within some
/// percent. Common practice, no source.
pub const FIGURES: i32 = 3;

/// Units of volume as limits and reports write them.
const VOLUMES: [&str; 8] = ["gal", "gallons", "million gallons", "m3", "m³", "ft3", "ft³", "acre-feet"];

/// What may stand between a number and its unit: `[72,644 or more] gal`.
const BETWEEN: [&str; 3] = [" or more]", " or more", "]"];

/// Takes from the texts of a finding the digits that no head over a weir bears.
pub(crate) fn fewer_digits(finding: &mut Finding, timeline: &Timeline) {
    let heads = timeline.meter_spans.iter().filter(|span| span.head.is_some());
    let places: BTreeSet<&Place> = heads.map(|span| &span.after.place).collect();
    if places.is_empty() {
        return;
    }
    let limit = finding.limit.as_ref().and_then(|limit| limit.at_most.or(limit.at_least).zip(Some(limit.unit.clone())));
    let limit = limit.map(|(limit, unit)| (Number::computed(limit), unit));
    let fewer = |text: &mut String| *text = rounded(text, limit.as_ref());
    let mut any = false;
    for window in &mut finding.windows {
        if !window.evidence.iter().any(|one| one.place.as_ref().is_some_and(|place| places.contains(place))) {
            continue;
        }
        any = true;
        window.figure.iter_mut().for_each(|figure| fewer(&mut figure.text));
        window.arithmetic.iter_mut().for_each(fewer);
        window.evidence.iter_mut().for_each(|one| fewer(&mut one.text));
    }
    if any {
        finding.figure.iter_mut().for_each(|figure| fewer(&mut figure.text));
        finding.margin.iter_mut().for_each(|text| *text = rounded(text, None));
        finding.evidence.iter_mut().for_each(|one| fewer(&mut one.text));
        finding.sentences.iter_mut().for_each(fewer);
    }
}

/// The volumes of a text to so many figures, unless that would hide the side of the limit, in its unit.
fn rounded(text: &str, limit: Option<&(Number, String)>) -> String {
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(at) = rest.find(|c: char| c.is_ascii_digit()) {
        let (before, from) = rest.split_at(at);
        out.push_str(before);
        let end = from.find(|c: char| !c.is_ascii_digit() && c != ',' && c != '.').unwrap_or(from.len());
        let number = from.get(..end).unwrap_or(from).trim_end_matches(['.', ',']);
        let after = from.get(number.len()..).unwrap_or_default();
        // A figure of a name (`B23`) or of a date is none of a volume.
        let alone = !out.chars().next_back().is_some_and(|c| c.is_alphanumeric() || c == '-' || c == '.');
        let unit = unit_of(after).filter(|_| alone);
        let fewer =
            unit.and_then(|unit| to_figures(number, limit.filter(|(_, of)| is_same(of, unit)).map(|(of, _)| *of)));
        out.push_str(fewer.as_deref().unwrap_or(number));
        rest = after;
    }
    out.push_str(rest);
    out
}

/// The unit of volume that a number has after it, alone, as the first of a range or in brackets.
fn unit_of(after: &str) -> Option<&'static str> {
    let after = BETWEEN.iter().find_map(|words| after.strip_prefix(words)).unwrap_or(after);
    let after = match after.strip_prefix(" to ") {
        Some(range) => range.trim_start_matches(|c: char| c.is_ascii_digit() || c == ',' || c == '.'),
        None => after,
    };
    let after = after.strip_prefix(']').unwrap_or(after).strip_prefix(' ')?;
    VOLUMES.into_iter().find(|unit| {
        after
            .strip_prefix(unit)
            .is_some_and(|more| !more.starts_with(|c: char| c.is_alphanumeric() || matches!(c, '/' | '³')))
    })
}

fn is_same(a: &str, b: &str) -> bool {
    let plain = |unit: &str| match unit {
        "gallons" | "gallon" => "gal".to_owned(),
        other => other.replace('³', "3"),
    };
    plain(a) == plain(b)
}

/// A number to so many figures; none where it has no more, or where that would hide the side of the limit.
fn to_figures(text: &str, limit: Option<Number>) -> Option<String> {
    let value = Number::parse(&text.replace(',', ""))?;
    let magnitude = value.magnitude()?;
    let places = i64::from(FIGURES) - 1 - magnitude;
    let has = text.split_once('.').map_or(0, |(_, part)| part.len());
    if i64::try_from(has).is_ok_and(|has| has <= places) {
        return None;
    }
    let fewer = value.to_significant(FIGURES.unsigned_abs(), Tie::HalfUp);
    if limit.is_some_and(|limit| fewer.against(limit) != value.against(limit)) {
        return None;
    }
    Some(fewer.text(u32::try_from(places.max(0)).unwrap_or(0)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_volume_from_a_head_has_three_figures_unless_they_hide_the_side_of_its_limit() {
        let limit = (Number::parse("350000").unwrap(), "gal".to_owned());
        for (written, printed) in [
            ("458,435 gal", "458,000 gal"),
            ("349,612 gal", "349,612 gal"),
            (
                "001 weir: 348,912 gal over 28 Dec 2023 from 6.5 in over the weir",
                "001 weir: 349,000 gal over 28 Dec 2023 from 6.5 in over the weir",
            ),
            (
                "0.26 mg/L × [72,644 or more] gal = at least 0.158 lb",
                "0.26 mg/L × [72,600 or more] gal = at least 0.158 lb",
            ),
            ("9,637 to 28,910 gal", "9,640 to 28,900 gal"),
            ("101 gal", "101 gal"),
            (
                "sum of 365 values = 4.03 million gallons, 3 of 1234 cells",
                "sum of 365 values = 4.03 million gallons, 3 of 1234 cells",
            ),
            ("slip B23-12345 gal", "slip B23-12345 gal"),
            ("685.3 m³ and 0.57 m3", "685 m³ and 0.57 m3"),
            ("1234 gal/min", "1234 gal/min"),
        ] {
            assert_eq!(rounded(written, Some(&limit)), printed);
        }
    }
}
