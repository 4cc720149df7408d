//! The units a basin is spoken of in.

use crate::facility::model::UnitSystem;
use crate::page::document::figures::{number, with_unit};
use crate::report::basin::round;
use crate::report::units::{FOOT_M, GALLON_M3, POUND_KG};

/// The units a basin is spoken of in.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Units {
    /// Their system.
    pub system: UnitSystem,
    /// Lengths and levels: name, from m, digits.
    pub length: (&'static str, f64, u8),
    /// Water and ground: name, from m².
    pub area: (&'static str, f64),
    /// Water: name, from m³.
    pub volume: (&'static str, f64),
    /// What is dug: name, from m³.
    pub earth: (&'static str, f64),
    /// Flow: name, from m³/s.
    pub flow: (&'static str, f64),
    /// Dry mass: name, from kg.
    pub mass: (&'static str, f64),
    /// Drained ground: name, from m².
    pub ground: (&'static str, f64),
    /// Depth of rain: name, from m, digits.
    pub rain: (&'static str, f64, u8),
    /// Temperature: name, from °C, and what is added.
    pub warmth: (&'static str, f64, f64),
}

// NIST Handbook 44, appendix C: all exact.
const CUBIC_YARD_M3: f64 = 0.764_554_857_984;
const ACRE_M2: f64 = 4_046.856_422_4;
const INCH_M: f64 = 0.0254;

impl Units {
    pub fn of(system: UnitSystem) -> Self {
        match system {
            UnitSystem::Us => Self {
                system,
                length: ("ft", 1.0 / FOOT_M, 2),
                area: ("ft²", 1.0 / (FOOT_M * FOOT_M)),
                volume: ("gal", 1.0 / GALLON_M3),
                earth: ("yd³", 1.0 / CUBIC_YARD_M3),
                flow: ("gpm", 60.0 / GALLON_M3),
                mass: ("lb", 1.0 / POUND_KG),
                ground: ("acre", 1.0 / ACRE_M2),
                rain: ("in", 1.0 / INCH_M, 2),
                warmth: ("°F", 1.8, 32.0),
            },
            UnitSystem::Metric => Self {
                system,
                length: ("m", 1.0, 2),
                area: ("m²", 1.0),
                volume: ("m³", 1.0),
                earth: ("m³", 1.0),
                flow: ("m³/h", 3600.0),
                mass: ("kg", 1.0),
                ground: ("ha", 1e-4),
                rain: ("mm", 1000.0, 1),
                warmth: ("°C", 1.0, 0.0),
            },
        }
    }

    pub fn m(self, si: f64) -> String {
        // Depths and levels are dug to the second digit: 4.25 ft is not 4.2.
        let (name, per, digits) = self.length;
        with_unit(si * per, digits, name)
    }

    /// The first of two levels that share their unit.
    pub fn m_bare(self, si: f64) -> String {
        number(si * self.length.1, self.length.2)
    }

    /// A level rounded down: no higher than it is.
    pub fn m_below(self, si: f64) -> String {
        let (name, per, digits) = self.length;
        let tens = 10f64.powi(i32::from(digits));
        with_unit((si * per * tens + 1e-6).floor() / tens, digits, name)
    }

    /// A length rounded up: no less than it is.
    pub fn m_above(self, si: f64) -> String {
        let (name, per, digits) = self.length;
        let tens = 10f64.powi(i32::from(digits));
        with_unit((si * per * tens - 1e-6).ceil() / tens, digits, name)
    }

    /// Digits of a pond's sides: a tenth of a foot, or a centimetre.
    pub fn side_digits(self) -> u8 {
        match self.system {
            UnitSystem::Us => 1,
            UnitSystem::Metric => 2,
        }
    }

    /// A length that a tape shows, over ground: to a tenth.
    pub fn tape(self, si: f64) -> String {
        typed(si * self.length.1, 1, self.length.0)
    }

    /// What a length over ground leaves of another that was typed, of both as they are printed; nothing below nothing.
    pub fn tape_left(self, typed_si: f64, si: f64) -> String {
        let (name, per, _) = self.length;
        let to = |si: f64, tens: f64| (si * per * tens).round() / tens;
        typed((to(typed_si, 100.0) - to(si, 10.0)).max(0.0), 2, name)
    }

    pub fn m3(self, si: f64) -> String {
        with_unit(round(si * self.volume.1), 0, self.volume.0)
    }

    pub fn m2(self, si: f64) -> String {
        with_unit(round(si * self.area.1), 0, self.area.0)
    }

    /// What is dug.
    pub fn earth(self, si: f64) -> String {
        with_unit(round(si * self.earth.1), 0, self.earth.0)
    }

    /// A length as somebody would type it: without noughts that say nothing.
    pub fn typed_m(self, si: f64) -> String {
        typed(si * self.length.1, 2, self.length.0)
    }

    /// A depth of rain as somebody would type it.
    pub fn rain(self, si: f64) -> String {
        typed(si * self.rain.1, self.rain.2, self.rain.0)
    }

    /// A temperature given in K.
    pub fn warmth(self, kelvin: f64) -> String {
        typed((kelvin - 273.15) * self.warmth.1 + self.warmth.2, 1, self.warmth.0)
    }

    /// A difference of temperature given in K.
    pub fn warmer(self, kelvin: f64) -> String {
        typed(kelvin * self.warmth.1, 1, self.warmth.0)
    }

    pub fn flow(self, si: f64) -> String {
        let value = si * self.flow.1;
        with_unit(value, u8::from(value < 20.0), self.flow.0)
    }

    /// A flow that is to be typed or bought: printed no lower than it is.
    pub fn flow_up(self, si: f64) -> String {
        let value = si * self.flow.1;
        // Four figures, so that what is printed makes the hours that are printed beside it.
        let digits = match value {
            value if value < 10.0 => 3,
            value if value < 100.0 => 2,
            value if value < 1000.0 => 1,
            _ => 0,
        };
        let per_step = 10f64.powi(i32::from(digits));
        typed((value * per_step - 1e-6).ceil() / per_step, digits, self.flow.0)
    }
}

/// A figure with its unit and no noughts at its end.
fn typed(value: f64, digits: u8, unit: &str) -> String {
    let whole = number(value, digits);
    let least = (0..digits)
        .find(|few| whole.trim_end_matches('0').trim_end_matches('.') == number(value, *few).as_str())
        .unwrap_or(digits);
    with_unit(value, least, unit)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_typed_figure_has_no_noughts_that_say_nothing() {
        let us = Units::of(UnitSystem::Us);
        assert_eq!(us.typed_m(360.0 * 0.3048), "360\u{a0}ft");
        assert_eq!(us.typed_m(2.2 * 0.3048), "2.2\u{a0}ft");
        assert_eq!(us.rain(0.0254 * 2.9), "2.9\u{a0}in");
        assert_eq!(us.warmth(273.15 + 5.0), "41\u{a0}°F");
        let metric = Units::of(UnitSystem::Metric);
        assert_eq!(metric.typed_m(360.0 * 0.3048), "109.73\u{a0}m");
        assert_eq!(metric.rain(0.1), "100\u{a0}mm");
    }
}
