//! The units a report speaks in: the user's system, one unit for each kind of figure in a table.

use crate::facility::model::UnitSystem;

/// One unit: its name and how many of it make one SI unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unit {
    /// As printed.
    pub name: &'static str,
    /// Multiply an SI figure by this.
    pub per_si: f64,
    /// Digits after the decimal mark in a table.
    pub digits: u8,
}

impl Unit {
    /// An SI figure in this unit.
    pub fn of(self, si: f64) -> f64 {
        si * self.per_si
    }
}

/// Whether a volume was counted or computed by itself, or from the head over a weir.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Figured {
    /// With the digits of its unit.
    Counted,
    /// With no more figures than the head bears.
    OffAWeir,
}

impl Figured {
    /// An SI figure in a unit, as it is printed, and its digits after the decimal mark.
    pub fn of(self, unit: Unit, si: f64) -> (f64, u8) {
        let value = unit.of(si);
        if self == Self::Counted || value == 0.0 || !value.is_finite() {
            return (value, unit.digits);
        }
        let places = crate::rules::HEAD_FIGURES.cast_signed() - 1 - value.abs().log10().floor() as i32;
        let places = places.min(i32::from(unit.digits));
        let rounded = if places < 0 {
            let step = 10_f64.powi(-places);
            (value / step).round() * step
        } else {
            value
        };
        (rounded, u8::try_from(places.max(0)).unwrap_or(0))
    }
}

// NIST Handbook 44, appendix C: the gallon is 231 cubic inches, the inch 25.4 mm, the pound 0.453 592 37 kg, all exact.
pub(crate) const GALLON_M3: f64 = 0.003_785_411_784;
pub(crate) const FOOT_M: f64 = 0.3048;
pub(crate) const POUND_KG: f64 = 0.453_592_37;

/// Volume of a day or an event, from m³.
pub fn volume(system: UnitSystem) -> Unit {
    match system {
        UnitSystem::Us => Unit { name: "gal", per_si: 1.0 / GALLON_M3, digits: 0 },
        UnitSystem::Metric => Unit { name: "m³", per_si: 1.0, digits: 1 },
    }
}

/// Volume of a season or a year, from m³.
pub fn large_volume(system: UnitSystem) -> Unit {
    match system {
        UnitSystem::Us => Unit { name: "million gal", per_si: 1e-6 / GALLON_M3, digits: 3 },
        UnitSystem::Metric => Unit { name: "m³", per_si: 1.0, digits: 0 },
    }
}

/// Flow, from m³/s.
pub fn flow(system: UnitSystem) -> Unit {
    match system {
        UnitSystem::Us => Unit { name: "gpm", per_si: 60.0 / GALLON_M3, digits: 0 },
        UnitSystem::Metric => Unit { name: "m³/h", per_si: 3600.0, digits: 1 },
    }
}

/// Mass of solids, from kg.
pub fn mass(system: UnitSystem) -> Unit {
    match system {
        UnitSystem::Us => Unit { name: "lb", per_si: 1.0 / POUND_KG, digits: 0 },
        UnitSystem::Metric => Unit { name: "kg", per_si: 1.0, digits: 0 },
    }
}

/// Level of a pond, from m.
pub fn level(system: UnitSystem) -> Unit {
    match system {
        UnitSystem::Us => Unit { name: "ft", per_si: 1.0 / FOOT_M, digits: 1 },
        UnitSystem::Metric => Unit { name: "m", per_si: 1.0, digits: 2 },
    }
}

/// Depth of rain, from mm.
pub fn rain(system: UnitSystem) -> Unit {
    match system {
        UnitSystem::Us => Unit { name: "in", per_si: 1.0 / 25.4, digits: 2 },
        UnitSystem::Metric => Unit { name: "mm", per_si: 1.0, digits: 1 },
    }
}

/// Area, from m².
pub fn area(system: UnitSystem) -> Unit {
    match system {
        UnitSystem::Us => Unit { name: "acre", per_si: 1.0 / 4_046.856_422_4, digits: 2 },
        UnitSystem::Metric => Unit { name: "ha", per_si: 1e-4, digits: 2 },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_volume_off_a_weir_has_three_figures_and_no_more_digits_than_its_unit() {
        let gallons = volume(UnitSystem::Us);
        let of = |value: f64| Figured::OffAWeir.of(gallons, value * GALLON_M3);
        for (value, printed) in [(458_435.0, 458_000.0), (4_032_946.0, 4_030_000.0), (101.0, 101.0), (0.0, 0.0)] {
            assert!((of(value).0 - printed).abs() < 1e-6 && of(value).1 == 0, "{value}: {:?}", of(value));
        }
        let cubic = volume(UnitSystem::Metric);
        assert_eq!([685.34, 41.27, 9.876].map(|value| Figured::OffAWeir.of(cubic, value).1), [0, 1, 1]);
        assert_eq!(Figured::Counted.of(cubic, 685.34), (685.34, 1));
    }
}
