//! Mass of a day: that day's concentration times that day's water, place by place, then added up.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use super::clock::day_number;
use super::flows::{Flow, Flows};
use super::samples::Sampled;
use crate::rules::{Evidence, Interval, Number};

/// One day's load.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct LoadDay {
    /// The day.
    pub day: NaiveDate,
    /// Least, most and what it counts as, in the unit asked for.
    pub value: Interval,
    /// Whether each place that can have had water was sampled, and one was at least.
    pub sampled: bool,
    /// Whether some place was sampled.
    pub partly: bool,
    /// Whether no place had water.
    pub dry: bool,
    /// As printed.
    pub text: String,
    /// Records behind it.
    pub evidence: Vec<Evidence>,
    /// The day on which it was known.
    pub known_on: NaiveDate,
    /// Ways without a count on that day.
    pub unmetered: Vec<String>,
}

/// The loads of days. `concentrations` are one a day and place, in kg/m³; `to_unit` turns kg into the unit asked for.
pub(crate) fn load_days(
    days: impl Iterator<Item = NaiveDate>,
    flows: &Flows,
    concentrations: &[Sampled],
    to_unit: Interval,
) -> Vec<LoadDay> {
    let by_place: BTreeMap<(usize, i64), &Sampled> =
        concentrations.iter().map(|of| ((of.place.0, day_number(of.day)), of)).collect();
    days.map(|day| {
        let number = day_number(day);
        let mut out = LoadDay {
            day,
            value: Interval::exactly(Number::ZERO),
            sampled: true,
            partly: false,
            dry: true,
            text: String::new(),
            evidence: Vec::new(),
            known_on: day,
            unmetered: Vec::new(),
        };
        let mut texts: Vec<String> = Vec::new();
        for place in &flows.of {
            let water = place.water.on(number);
            let sample = by_place.get(&(place.place.0, number));
            // Water that was seen is water, whatever a meter counted.
            let none = water.value.high.is_zero() && (sample.is_some() || place.on(day) != Flow::Flowing);
            out.dry &= none;
            for (piece, part) in &water.parts {
                if !part.high.is_zero() {
                    out.evidence.extend(piece.evidence.iter().cloned());
                    out.known_on = out.known_on.max(piece.known_on);
                }
            }
            let Some(sample) = sample else {
                if !none {
                    out.sampled = false;
                    out.value = out.value.plus(Interval::missing());
                }
                continue;
            };
            out.partly = true;
            // Water that is not metered to the day has no counted value; what was sampled counts as the permit says.
            let water_as = Interval { counted: water.value.counted.filter(|_| water.value.is_exact()), ..water.value };
            // Measured zero is zero in whatever water.
            let is_zero = sample.value.high.is_zero();
            out.value = out.value.plus(if is_zero {
                Interval::exactly(Number::ZERO)
            } else {
                sample.value.times(water_as).times(to_unit)
            });
            let lacking = water.missing.iter().filter(|_| !is_zero);
            out.unmetered.extend(lacking.map(|(name, _, _)| (*name).to_owned()));
            let of_water: Vec<&str> = water.parts.iter().map(|(piece, _)| piece.text.as_str()).collect();
            texts.push(if of_water.is_empty() {
                format!("{} × water that no meter counted", sample.text)
            } else {
                format!("{} × {}", sample.text, of_water.join(" + "))
            });
            out.evidence.splice(0..0, sample.evidence.iter().cloned());
            out.known_on = out.known_on.max(sample.known_on);
        }
        out.sampled &= out.partly;
        out.text = texts.join(" + ");
        out
    })
    .collect()
}
