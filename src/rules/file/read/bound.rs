//! The bound of a limit: number and unit, exactly as typed.

use super::keys::{BoundTyped, Limit};
use crate::files::{Fields, Keyed};
use crate::quantity::{Expected, Misread, amount, not_thousands, number, parameter_name, units};
use crate::rules::{Bound, Number};

/// Parameters that carry no unit.
const WITHOUT_UNIT: [&str; 6] = ["pH", "washes", "changes", "sodium adsorption ratio", "sar", "toxic units"];

/// Whether a number of this parameter carries no unit.
pub(crate) fn without_unit(parameter: Option<&str>) -> bool {
    parameter.is_some_and(|parameter| WITHOUT_UNIT.contains(&parameter_name(parameter).as_str()))
}

/// A number with its unit, as typed.
#[derive(Debug, Clone)]
pub(crate) struct Typed {
    /// The number.
    pub number: Number,
    /// The unit.
    pub unit: Option<crate::quantity::Unit>,
    /// The unit as typed.
    pub unit_text: String,
    /// The number's text.
    pub number_text: String,
    /// Decimals typed.
    pub places: u32,
}

const ANY: Expected = Expected { what: "a limit", example: "30 mg/L", units: units::ALL };

/// Reads `60 mg/L`, `250000 gal`, `6.0`.
pub(crate) fn typed(text: &str) -> Result<Typed, Misread> {
    // The number ends where its unit begins: at a letter or sign, or at a `/` after a space as in `126 /100 mL`.
    let at = text
        .find(|c: char| !(c.is_ascii_digit() || c.is_whitespace() || ".,/-+\u{2212}".contains(c)))
        .unwrap_or(text.len());
    let (head, _) = text.split_at(at);
    let at = head.find(" /").unwrap_or(at);
    let (head, unit_text) = text.split_at(at);
    let unit_text = unit_text.trim_start().to_owned();
    let number_text = head.trim().to_owned();
    let places = number_text.split_once('.').map_or(0, |(_, part)| part.chars().filter(char::is_ascii_digit).count());
    let places = u32::try_from(places).unwrap_or(0);
    // `s.u.` is how the trade writes that a pH has no unit.
    let unitless = ["su", "s.u.", "s.u", "standard units", "standard unit", "std. units", "ph units"];
    let says_none = unitless.iter().any(|none| none.eq_ignore_ascii_case(unit_text.trim()));
    if unit_text.trim().is_empty() || says_none {
        let exact = number(if says_none { &number_text } else { text })?;
        return Ok(Typed { number: exact.into(), unit: None, unit_text: String::new(), number_text, places });
    }
    not_thousands(text)?;
    let typed = amount(text, &ANY)?;
    let exact: Number = typed.number.into();
    // `6 ft 3 in` is 75 in, by which its figures are told too.
    let (number_text, unit_text) = match unit_text.find(|c: char| c.is_ascii_digit()) {
        Some(_) if typed.unit == units::IN => (exact.text(places), typed.unit.name.to_owned()),
        _ => (number_text, unit_text),
    };
    // Printed as all figures are, thousands by commas.
    let is_plain = number_text.chars().all(|c| c.is_ascii_digit() || c == '.');
    let number_text = if is_plain { exact.text(places) } else { number_text };
    Ok(Typed { number: exact, unit: Some(typed.unit), unit_text: unit_text.trim().to_owned(), number_text, places })
}

fn read_one(field: &Keyed<'_, BoundTyped>, unitless: bool) -> Option<Typed> {
    let said = field.read()?;
    if said.value.unit.is_none() && !unitless {
        field.refuse(
            format!("`{}` has no unit", said.text),
            "write its unit: 60 mg/L, 250000 gal, 2 ft; only a pH, a ratio and a count carry none",
        );
        return None;
    }
    Some(said.value)
}

/// Reads `at most`, `at least`, `below`, `above` of a limit; none where none can be read (which is told).
pub(crate) fn read(fields: &mut Fields<'_>, parameter: Option<&str>, needed: bool) -> Option<Bound> {
    let unitless = without_unit(parameter);
    let mut bound = Bound::plain(None, None);
    let mut parts: Vec<String> = Vec::new();
    let mut unit: Option<(Option<crate::quantity::Unit>, String)> = None;
    let mut found = false;
    for key in [Limit::AT_LEAST, Limit::ABOVE, Limit::AT_MOST, Limit::BELOW] {
        let field = fields.get(&key);
        if !field.is_there() {
            continue;
        }
        found = true;
        let Some(typed) = read_one(&field, unitless) else {
            continue;
        };
        if let Some((first, _)) = &unit
            && *first != typed.unit
        {
            field.refuse("the two ends of this limit have different units", "write both in one unit");
        }
        match key.word {
            "at least" => bound.at_least = Some(typed.number),
            "above" => bound.above = Some(typed.number),
            "at most" => bound.at_most = Some(typed.number),
            _ => bound.below = Some(typed.number),
        }
        bound.places = bound.places.max(typed.places);
        parts.push(format!("{} {}", key.word, typed.number_text));
        unit = Some((typed.unit, typed.unit_text));
    }
    if !found {
        if needed {
            let name = fields.name();
            fields.problems().add(
                crate::told::Problem::error(&fields.place, format!("{name} has no bound"))
                    .hint("write one of: at most, at least, below, above"),
            );
            return None;
        }
        "none".clone_into(&mut bound.text);
        return Some(bound);
    }
    let (unit, unit_text) = unit?;
    let upper = bound.upper().map(|(value, _)| value);
    let lower = bound.lower().map(|(value, _)| value);
    if let (Some(upper), Some(lower)) = (upper, lower)
        && upper.compare(lower).is_lt()
    {
        fields.get(&Limit::AT_MOST).refuse("the upper bound is below the lower", "write the lower one at `at least`");
    }
    bound.unit = unit;
    bound.unit_text = unit_text;
    bound.text = match parts.as_slice() {
        [low, high] if low.starts_with("at least") && high.starts_with("at most") => {
            format!("{} to {}", low.trim_start_matches("at least "), high.trim_start_matches("at most "))
        }
        parts => parts.join(" and "),
    };
    if !bound.unit_text.is_empty() {
        bound.text = format!("{} {}", bound.text, bound.unit_text);
    }
    Some(bound)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bound_keeps_its_number_its_unit_and_its_decimals_as_typed() {
        let acidity = typed("6.0").unwrap();
        assert_eq!((acidity.places, acidity.unit.is_none()), (1, true));
        let flow = typed("250000 gal").unwrap();
        assert_eq!((flow.number, flow.unit_text.as_str()), (Number::whole(250_000), "gal"));
        let thin = typed("1/16 in/day").unwrap();
        assert_eq!((thin.number, thin.unit_text.as_str()), (Number::quotient(1, 16), "in/day"));
        let coliform = typed("126 /100 mL").unwrap();
        assert_eq!((coliform.number, coliform.unit_text.as_str()), (Number::whole(126), "/100 mL"));
        let warm = typed("25 °C").unwrap();
        assert_eq!((warm.number_text.as_str(), warm.unit_text.as_str()), ("25", "°C"));
        let share = typed("85 %").unwrap();
        assert_eq!((share.number, share.unit_text.as_str()), (Number::whole(85), "%"));
        assert!(typed("30 parsecs").is_err());
        let acidity = typed("9.0 s.u.").unwrap();
        assert_eq!((acidity.unit.is_none(), acidity.unit_text.as_str(), acidity.places), (true, "", 1));
        let board = typed("2 ft 6 in").unwrap();
        assert_eq!(
            (board.number, board.unit_text.as_str(), board.number_text.as_str()),
            (Number::whole(30), "in", "30")
        );
    }
}
