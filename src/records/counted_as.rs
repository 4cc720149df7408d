//! Results that count another substance than their parameter does, turned into it by molar masses; told once for each.

use std::collections::BTreeMap;

use crate::quantity::{counted_unit, molar_masses};
use crate::records::Repair;
use crate::records::row::Entry;
use crate::told::many;

/// What was turned, by place, parameter and what it was counted as.
#[derive(Default)]
pub(super) struct CountedAs<'a> {
    turned: BTreeMap<Key, Turned<'a>>,
}

type Key = (String, String, &'static str);

/// The results, and the molar masses of element and substance.
type Turned<'a> = (Vec<&'a Entry>, f64, f64);

/// Digits kept beyond those written: the factor is exact to more.
const MORE_DIGITS: usize = 2;

impl<'a> CountedAs<'a> {
    /// A result and its unit as its parameter counts it; as they are where its unit says nothing of another substance.
    pub fn turned(
        &mut self,
        entry: &'a Entry,
        parameter: &str,
        value: Option<String>,
    ) -> (Option<String>, Option<String>) {
        let unit = entry.unit().map(|(unit, _)| unit);
        let Some(counted) = unit.as_deref().and_then(counted_unit) else { return (value, unit) };
        let Some((element, whole)) = molar_masses(parameter, counted.substance) else { return (value, unit) };
        if element == whole {
            return (value, Some(counted.unit));
        }
        let value = value.map(|value| times(&value, element / whole));
        let key = (entry.row.name.text.trim().to_owned(), parameter.to_owned(), counted.substance);
        self.turned.entry(key).or_insert_with(|| (Vec::new(), element, whole)).0.push(entry);
        (value, Some(counted.unit))
    }

    /// Tells what was turned.
    pub fn tell(&self, repairs: &mut Vec<Repair>) {
        for ((name, parameter, substance), (entries, element, whole)) in &self.turned {
            let Some(first) = entries.first() else { continue };
            repairs.push(Repair {
                place: first.place(),
                sentence: format!(
                    "{name}, {parameter}: {} counted as {substance}, the first of {}: times {element}/{whole} (molar masses)",
                    many(entries.len(), "result"),
                    first.row.stamp.date
                ),
            });
        }
    }
}

/// A decimal times a factor, with some digits more than it has.
fn times(value: &str, factor: f64) -> String {
    let Ok(number) = value.parse::<f64>() else { return value.to_owned() };
    let digits = value.chars().filter(char::is_ascii_digit).count().max(1) + MORE_DIGITS;
    let turned = number * factor;
    let before = if turned.abs() < 1.0 { 0 } else { format!("{:.0}", turned.abs().floor()).len() };
    format!("{turned:.*}", digits.saturating_sub(before))
}

#[cfg(test)]
mod tests {
    use super::times;

    /// 52 × 14.0067 / 62.0049 = 11.74658.
    #[test]
    fn a_result_counted_as_nitrate_is_told_as_nitrogen() {
        assert_eq!(times("52", 14.0067 / 62.0049), "11.75");
        assert_eq!(times("0.50", 14.0067 / 62.0049), "0.11295");
    }
}
