//! Pumps: what they lift, how high, how well, as the user types them in the prices file or in a proposal.

use chrono::NaiveDate;
use uom::si::f64::{Length, Ratio};

use super::keys::{Lift, Pump as Keys, Told};
use crate::files::{Field, Fields, Given, Said};

/// Density of water that is pumped, kg/m³: heads are not known so well that its temperature matters.
const DENSITY: f64 = 1000.0;

/// Standard acceleration of free fall, m/s² (NIST SP 811).
const GRAVITY: f64 = 9.806_65;

/// Joules of a kilowatt-hour.
const JOULES: f64 = 3.6e6;

/// What a pump lifts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lifts {
    /// All water that is brought to a place.
    WaterTo,
    /// Water that washes a filter, brought from elsewhere.
    WashesOf,
}

impl Lifts {
    /// The key of the file.
    pub fn words(self) -> &'static str {
        match self {
            Self::WaterTo => Keys::WATER_TO.word,
            Self::WashesOf => Keys::WASHES_OF.word,
        }
    }
}

/// A pump as typed.
#[derive(Debug, Clone)]
pub struct Pump {
    /// Its name.
    pub name: String,
    /// What it lifts.
    pub lifts: Lifts,
    /// The places, each a name of the facility or of a proposal.
    pub places: Vec<Said<String>>,
    /// Total head: lift, friction, pressure at the far end and what the filter loses.
    pub head: Given<Length>,
    /// Of pump and motor together.
    pub efficiency: Given<Ratio>,
    /// Who told it.
    pub by: Option<String>,
    /// When.
    pub on: Option<NaiveDate>,
}

impl Pump {
    /// Whether it lifts water of a place by this name.
    pub fn names(&self, place: &str) -> bool {
        self.places.iter().any(|said| said.value == place)
    }
}

/// Energy to lift a volume of water, kWh: `ρ g V H / η` (method `pump-energy`). Nothing for an efficiency that is none.
pub fn kwh(volume_m3: f64, head_m: f64, efficiency: f64) -> f64 {
    if efficiency > 0.0 { DENSITY * GRAVITY * volume_m3 * head_m / efficiency / JOULES } else { 0.0 }
}

/// Reads `pumps:`: by name, what is lifted, head and efficiency. What is wrong is told.
pub fn read(field: &Field<'_>) -> Vec<Pump> {
    let mut out = Vec::new();
    for (name, field) in field.named() {
        out.extend(one(name.value, &field));
    }
    out
}

fn one(name: String, field: &Field<'_>) -> Option<Pump> {
    let mut fields = field.map::<Keys>()?;
    let (water, washes) = (fields.get(&Keys::WATER_TO), fields.get(&Keys::WASHES_OF));
    let (lifts, which) = match (water.is_there(), washes.is_there()) {
        (true, false) => (Some(Lifts::WaterTo), water),
        (false, true) => (Some(Lifts::WashesOf), washes),
        // `to` alone is told as a key that is not known.
        (false, false) if fields.has("to") => (None, water),
        (both, _) => {
            field.refuse(
                if both {
                    "a pump with both `water to` and `washes of` lifts two things at two heads"
                } else {
                    "a pump needs to say what it lifts"
                },
                "write `water to: Sand beds`, or `washes of: Sand beds` for a wash pump, one of them in a line",
            );
            (None, water)
        }
    };
    let places: Vec<Said<String>> = which.one_or_more().iter().filter_map(|field| field.name()).collect();
    let lift = lift_of(&mut fields);
    fields.finish();
    let Lifted { head, efficiency, by, on } = lift?;
    Some(Pump { name, lifts: lifts?, places, head, efficiency, by, on })
}

/// How high something is lifted, how well, and who told it.
#[derive(Debug, Clone)]
pub(super) struct Lifted {
    pub(super) head: Given<Length>,
    pub(super) efficiency: Given<Ratio>,
    pub(super) by: Option<String>,
    pub(super) on: Option<NaiveDate>,
}

/// Reads head and efficiency from a map that has them; what is wrong is told.
pub(super) fn lift_of(fields: &mut Fields<'_>) -> Option<Lifted> {
    let field_of_head = fields.get(&Lift::HEAD);
    let head = match field_of_head.text() {
        Some(said) if said.value.ends_with("psi") => {
            field_of_head.refuse(
                "a head is a height of water, and a pressure stands here",
                "1 psi is 2.31 ft (0.70 m): write the height, with the lift and what is lost on the way added",
            );
            None
        }
        _ => field_of_head.read(),
    };
    let efficiency = fields.get(&Lift::EFFICIENCY);
    let share = efficiency.read();
    let nothing = share.as_ref().and_then(|share| share.ends()).is_some_and(|(low, _)| low.value <= 0.0);
    if nothing {
        efficiency.refuse(
            "a pump of no efficiency lifts nothing",
            "pump and motor together mostly come to 30 % to 70 % (common practice)",
        );
    }
    let by = fields.read(&Told::BY).map(|said| said.value);
    let on = fields.read(&Told::ON).map(|said| said.value);
    let (head, efficiency) = (head?, share?);
    (!nothing).then_some(Lifted { head, efficiency, by, on })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Energy of 1,000 gal by a foot of head at an efficiency of 1: 0.00314 kWh, the rule of pumping handbooks (746 W/hp over
    /// 3,960 gpm·ft/hp and 60 min/h; from memory, not checked against a text).
    #[test]
    fn lifting_a_thousand_gallons_a_foot_takes_what_pumping_handbooks_say() {
        let of = kwh(3.785_411_784, 0.3048, 1.0);
        assert!((of - 0.00314).abs() < 5e-6, "{of}");
        // A cubic metre by 367 m is a kilowatt-hour (the other rule of thumb), twice that at half the efficiency.
        assert!((kwh(1.0, 367.1, 1.0) - 1.0).abs() < 1e-4);
        assert!((kwh(1.0, 367.1, 0.5) - 2.0).abs() < 2e-4);
        assert_eq!(kwh(1.0, 10.0, 0.0), 0.0);
    }
}
