//! Figures of findings in the units that the facility's reader thinks in.

use crate::facility::model::UnitSystem;
use crate::quantity::{decimals, significant};
use crate::science::hydraulics::gallons_per_minute_per_square_foot;

// NIST Handbook 44, appendix C: the foot, the gallon of 231 cubic inches and the acre, all exact.
const FOOT_M: f64 = 0.3048;
const GALLON_M3: f64 = 0.003_785_411_784;
const ACRE_M2: f64 = 4_046.856_422_4;

/// Says figures in one system of units.
#[derive(Debug, Clone, Copy)]
pub(super) struct Said(pub UnitSystem);

/// Groups of three with the narrow space of the report.
fn grouped(text: String) -> String {
    text.replace(',', "\u{202f}")
}

/// One digit after the decimal mark below a hundred, none from there on.
fn about(value: f64) -> String {
    grouped(decimals(value, u32::from(value < 100.0)))
}

/// Three digits: no more is known of it.
fn three(value: f64) -> String {
    grouped(significant(value, 3))
}

impl Said {
    pub fn volume(self, m3: f64) -> String {
        match self.0 {
            UnitSystem::Us => format!("{} gal", three(m3 / GALLON_M3)),
            UnitSystem::Metric => format!("{} m³", about(m3)),
        }
    }

    pub fn flow(self, m3_h: f64) -> String {
        match self.0 {
            UnitSystem::Us => format!("{} gpm", three(m3_h / GALLON_M3 / 60.0)),
            UnitSystem::Metric => format!("{} m³/h", about(m3_h)),
        }
    }

    pub fn area(self, m2: f64) -> String {
        match self.0 {
            UnitSystem::Us if m2 >= 0.1 * ACRE_M2 => format!("{} acre", three(m2 / ACRE_M2)),
            UnitSystem::Us => format!("{} ft²", three(m2 / (FOOT_M * FOOT_M))),
            UnitSystem::Metric => format!("{} m²", about(m2)),
        }
    }

    /// A rate over an area, from m/s; metric readers get what American tables print as well.
    pub fn flux(self, m_s: f64) -> String {
        let gpm_ft2 = m_s / gallons_per_minute_per_square_foot(1.0).value;
        match self.0 {
            UnitSystem::Us => format!("{gpm_ft2:.1} gpm/ft2"),
            UnitSystem::Metric => format!("{:.1} m/h ({gpm_ft2:.1} gpm/ft2)", m_s * 3600.0),
        }
    }

    /// From one length to another, m.
    pub fn lengths(self, from: f64, to: f64) -> String {
        let (per, name) = match self.0 {
            UnitSystem::Us => (1.0 / FOOT_M, "ft"),
            UnitSystem::Metric => (1.0, "m"),
        };
        format!("{:.2} to {:.2} {name}", from * per, to * per)
    }

    pub fn temperature(self, celsius: f64) -> String {
        match self.0 {
            UnitSystem::Us => format!("{:.0} F", celsius * 1.8 + 32.0),
            UnitSystem::Metric => format!("{celsius:.0} °C"),
        }
    }
}
