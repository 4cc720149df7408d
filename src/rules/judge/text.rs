//! Figures and margins as printed, in the limit's own unit.

use std::cmp::Ordering;

use crate::quantity::System;
use crate::rules::measure::Sampled;
use crate::rules::window::decide::margin;
use crate::rules::{Bound, Figure, Interval, Limit, Number, Provenance};

/// The unit after a number: a space and the unit as typed, or nothing.
fn unit(bound: &Bound) -> String {
    if bound.unit_text.is_empty() { String::new() } else { format!(" {}", bound.unit_text) }
}

fn beside(value: Number, bound: &Bound) -> String {
    let limit = bound.upper().or(bound.lower()).map_or(Number::ZERO, |(limit, _)| limit);
    // No more figures than it bears, unless that would hide the side of the limit.
    let fewer = to_figures(value, bound.figures);
    let value = if fewer.against(limit) == value.against(limit) { fewer } else { value };
    // Gallons are whole, unless that would hide the side of the limit.
    let whole = value.to_places(0, crate::rules::Tie::HalfUp);
    if matches!(bound.unit_text.as_str(), "gal" | "gallons" | "gallon")
        && value.magnitude().is_some_and(|magnitude| magnitude >= 1)
        && whole.against(limit) == value.against(limit)
    {
        return whole.text(0);
    }
    // A number that is written in full keeps at least the limit's decimals: 6.0 beside 6.0 to 9.0.
    let text = value.beside(limit);
    let decimals = text.split_once('.').map_or(0, |(_, part)| part.len());
    if matches!(value, Number::Exact { .. }) && decimals < bound.places as usize && bound.places <= 4 {
        value.text(bound.places)
    } else {
        text
    }
}

/// A figure as printed: `38 mg/L`, `below 0.1 mL/L`, `4 to 7.33 mg/L`, `at least 12 gal`.
pub(crate) fn figure(value: &Interval, bound: &Bound, censored: bool) -> String {
    let unit = unit(bound);
    if value.is_exact() {
        return format!("{}{unit}", beside(value.low, bound));
    }
    if !value.high.is_finite() {
        return match value.counted {
            Some(_) if censored => format!("above {}{unit}", beside(value.low, bound)),
            _ => format!("at least {}{unit}", beside(value.low, bound)),
        };
    }
    if value.low.is_zero() {
        let word = if censored { "below" } else { "up to" };
        return format!("{word} {}{unit}", beside(value.high, bound));
    }
    if !value.low.is_finite() {
        return "not defined".to_owned();
    }
    format!("{} to {}{unit}", beside(value.low, bound), beside(value.high, bound))
}

/// A measured figure.
pub(crate) fn figure_of(value: &Interval, bound: &Bound, censored: bool) -> Figure {
    Figure {
        low: value.low.to_f64(),
        high: value.high.to_f64(),
        value: value.counted.map(Number::to_f64),
        unit: bound.unit_text.clone(),
        text: figure(value, bound, censored),
        provenance: Provenance::Measured,
    }
}

/// A value for a sum or a product, without a unit: `38`, `[0 to 7.33]`, `[12 or more]`.
pub(crate) fn plain(value: &Interval) -> String {
    match value.counted {
        Some(counted) => counted.in_full(6),
        None if value.is_exact() => value.low.in_full(6),
        None if !value.high.is_finite() => format!("[{} or more]", value.low.in_full(6)),
        None => format!("[{} to {}]", value.low.in_full(6), value.high.in_full(6)),
    }
}

fn to_figures(value: Number, figures: Option<u32>) -> Number {
    figures.map_or(value, |figures| value.to_significant(figures, crate::rules::Tie::HalfUp))
}

/// A term of what bears so many figures: it has one more.
pub(crate) fn term(of: &Interval, figures: Option<u32>) -> Interval {
    let fewer = |value| to_figures(value, figures.map(|figures| figures + 1));
    Interval { low: fewer(of.low), high: fewer(of.high), counted: of.counted.map(fewer) }
}

/// Most terms of a sum or a product that are printed.
const MOST_TERMS: usize = 8;

/// Results as terms: one below what could be measured keeps its sign, and what the permit counts stands beside it, `3 for <6`.
pub(crate) fn results(of: &[&Sampled], sign: &str) -> String {
    let values: Vec<Interval> = of.iter().map(|of| of.value).collect();
    if of.len() > MOST_TERMS {
        return terms(&values, sign);
    }
    let term = |of: &&Sampled| {
        let (value, high) = (plain(&of.value), of.value.high.in_full(6));
        match of.is_below() && of.value.high.is_finite() {
            false => value,
            true if value == high || of.value.counted.is_none() => format!("<{high}"),
            true => format!("{value} for <{high}"),
        }
    };
    of.iter().map(term).collect::<Vec<_>>().join(sign)
}

/// Terms of a sum or a product, shortened where they are many.
pub(crate) fn terms(values: &[Interval], sign: &str) -> String {
    if values.len() <= MOST_TERMS {
        return values.iter().map(plain).collect::<Vec<_>>().join(sign);
    }
    let zeros = values.iter().filter(|value| value.high.is_zero()).count();
    let rest = if zeros > 0 { format!(" ({zeros} of them 0)") } else { String::new() };
    let what = if sign.contains('×') { "product" } else { "sum" };
    format!("{what} of {} values{rest}", values.len())
}

/// A count, or the two that it lies between.
pub(crate) fn count(value: &Interval) -> String {
    if value.is_exact() { value.low.text(0) } else { format!("{} to {}", value.low.text(0), value.high.text(0)) }
}

/// A figure of several values: one number where the permit says what a result below detection counts as, else its ends.
pub(crate) fn of_several(value: &Interval, limit: &Limit) -> Interval {
    let is_said = limit.counting.below_detection.is().is_some() || limit.counting.below_detection_geometric.is_some();
    match value.counted.filter(|_| is_said && value.high.is_finite()) {
        Some(counted) => Interval::exactly(counted),
        None => *value,
    }
}

/// The same as printed, with what it counts as where its ends differ and the permit does not say so.
pub(crate) fn with_counted(value: &Interval, limit: &Limit) -> String {
    let (value, bound) = (of_several(value, limit), &limit.bound);
    let shown = figure(&value, bound, false);
    match value.counted {
        Some(counted) if !value.is_exact() => {
            format!("{shown} (counted as {}{})", beside(counted, bound), unit(bound))
        }
        _ => shown,
    }
}

/// A mean in kg/m³ as slips write it: mg/L.
pub(crate) fn in_milligrams(value: &Interval) -> String {
    let mg = value.scaled(Number::whole(1000));
    format!("{} mg/L", plain(&mg))
}

/// An amount of water in the units that the report is in: `802,454 gal`, `3,038 m³`.
pub(crate) fn water(m3: &Interval, system: System, figures: Option<u32>) -> String {
    let m3 = &term(m3, figures);
    match system {
        // A gallon is 231 cubic inches (NIST Handbook 44, appendix C): 0.003785411784 m³, exactly.
        System::Us => {
            let gallons = m3.scaled(Number::quotient(1_000_000_000_000, 3_785_411_784));
            let whole = |of: Number| if of.is_finite() { of.to_places(0, crate::rules::Tie::HalfUp) } else { of };
            let rounded =
                Interval { low: whole(gallons.low), high: whole(gallons.high), counted: gallons.counted.map(whole) };
            format!("{} gal", plain(&rounded))
        }
        System::Metric => {
            let tenth = |of: Number| match of.magnitude() {
                Some(0..) => of.to_places(1, crate::rules::Tie::HalfUp),
                _ => of,
            };
            let rounded = Interval { low: tenth(m3.low), high: tenth(m3.high), counted: m3.counted.map(tenth) };
            format!("{} m³", plain(&rounded))
        }
    }
}

/// A percentile's figure: `3 of 4 samples`.
pub(crate) fn over_text(value: &Interval, n: usize) -> String {
    let s = if n == 1 { "" } else { "s" };
    format!("{} of {n} sample{s}", count(value))
}

/// A computed figure with its range over the draws.
pub(crate) fn computed(value: Option<f64>, low: f64, high: f64, bound: &Bound) -> Figure {
    let show = |value: f64| Number::computed(value).settled().to_significant(3, crate::rules::Tie::HalfUp).honest(4);
    let unit = unit(bound);
    let range = if (high - low).abs() <= 1e-9 * high.abs() {
        String::new()
    } else {
        format!(" ({} to {})", show(low), show(high))
    };
    Figure {
        low,
        high,
        value,
        unit: bound.unit_text.clone(),
        text: format!("{}{unit}{range}", show(value.unwrap_or(f64::midpoint(low, high)))),
        provenance: Provenance::Computed,
    }
}

/// The margin of a figure: its number (positive inside), its words, and how much it is without them; no size at the limit.
pub(crate) fn margin_of(value: Number, bound: &Bound) -> Option<(f64, String, Option<String>)> {
    let margin = margin(value, bound)?;
    if !margin.is_finite() {
        return None;
    }
    let size = to_figures(margin.settled().or_more(margin.settled().negative()), bound.figures);
    let shown = match size {
        Number::Exact { .. } if matches!(value, Number::Exact { .. }) => size.honest(4),
        _ => size.to_significant(3, crate::rules::Tie::HalfUp).honest(4),
    };
    let inside = margin.settled().compare(Number::ZERO) != Ordering::Less;
    let word = match (bound.upper().is_some(), bound.lower().is_some(), inside) {
        (true, true, true) | (false, _, true) => "inside",
        (true, true, false) => "outside",
        (true, false, true) => "under",
        (true, false, false) => "over",
        (false, _, false) => "below",
    };
    let size = (!margin.is_zero()).then(|| format!("{shown}{}", unit(bound)));
    let text = size.as_ref().map_or_else(|| "none: at the limit".to_owned(), |size| format!("{size} {word}"));
    Some((margin.to_f64(), text, size))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn n(text: &str) -> Number {
        Number::parse(text).unwrap()
    }

    #[test]
    fn water_is_written_in_the_units_of_the_report() {
        // 1 m³ is 264.172 gallons (NIST Handbook 44, appendix C).
        assert_eq!(water(&Interval::exactly(n("3038")), System::Us, None), "802,555 gal");
        assert_eq!(water(&Interval::exactly(n("3038")), System::Metric, None), "3,038 m³");
    }

    #[test]
    fn gallons_are_whole_and_cubic_metres_have_one_decimal() {
        let day = Bound { unit_text: "gal".to_owned(), ..Bound::plain(Some(n("12000")), None) };
        let span = Interval::between(n("9163.75"), n("73310"));
        assert_eq!(figure(&span, &day, false), "9,164 to 73,310 gal");
        assert_eq!(
            figure(&Interval::exactly(n("12000.4")), &day, false),
            "12,000.4 gal",
            "the side of the limit shows"
        );
        assert_eq!(water(&Interval::exactly(n("626.348")), System::Metric, None), "626.3 m³");
        let slip = Bound { unit_text: "mg/L".to_owned(), places: 1, ..Bound::plain(Some(n("11.3")), None) };
        assert_eq!(figure(&Interval::exactly(n("7.003")), &slip, false), "7.00 mg/L");
    }

    #[test]
    fn what_a_head_tells_has_three_figures_unless_they_hide_the_side_of_its_limit() {
        let most = |figures| Bound { unit_text: "gal".to_owned(), figures, ..Bound::plain(Some(n("350000")), None) };
        let off_a_weir = most(Some(3));
        let printed = |value: &str, bound: &Bound| figure(&Interval::exactly(n(value)), bound, false);
        assert_eq!(printed("458435", &most(None)), "458,435 gal");
        assert_eq!(printed("458435", &off_a_weir), "458,000 gal");
        assert_eq!(printed("349612", &off_a_weir), "349,612 gal", "350,000 would be the limit");
        assert_eq!(printed("101", &off_a_weir), "101 gal");
        assert_eq!(margin_of(n("458435"), &off_a_weir).unwrap().1, "108,000 gal over");
        let range = Interval::between(n("9637"), n("28910"));
        assert_eq!(figure(&range, &off_a_weir, false), "9,640 to 28,900 gal");
        // A term of a sum or a product has one more.
        assert_eq!(plain(&term(&Interval::exactly(n("348912")), Some(3))), "348,900");
    }

    #[test]
    fn figures_and_margins_read_as_on_page_1() {
        let bound = Bound { unit_text: "mg/L".to_owned(), ..Bound::plain(Some(n("30")), None) };
        assert_eq!(figure(&Interval::exactly(n("38")), &bound, false), "38 mg/L");
        assert_eq!(margin_of(n("38"), &bound).unwrap().1, "8 mg/L over");
        assert_eq!(margin_of(n("30"), &bound).unwrap().1, "none: at the limit");
        let settleable = Bound { unit_text: "mL/L".to_owned(), places: 1, ..Bound::plain(Some(n("0.2")), None) };
        let below = Interval { low: Number::ZERO, high: n("0.1"), counted: Some(Number::ZERO) };
        assert_eq!(figure(&below, &settleable, true), "below 0.1 mL/L");
        let freeboard = Bound { unit_text: "ft".to_owned(), ..Bound::plain(None, Some(n("2"))) };
        assert_eq!(margin_of(n("2.1"), &freeboard).unwrap().1, "0.1 ft inside");
        assert_eq!(margin_of(n("1.8"), &freeboard).unwrap().1, "0.2 ft below");
        let ph = Bound { places: 1, ..Bound::plain(Some(n("9.0")), Some(n("6.0"))) };
        assert_eq!(figure(&Interval::exactly(n("6")), &ph, false), "6.0");
        assert_eq!(margin_of(n("8.4"), &ph).unwrap().1, "0.6 inside");
        let part = Interval::between(n("12"), Number::INFINITE);
        assert_eq!(figure(&part, &bound, false), "at least 12 mg/L");
    }
}
