//! Density and viscosity of water by temperature.
//!
//! Everything that settles, drains through a bed or washes one depends on temperature: between 5 °C and 25 °C the
//! viscosity falls by two fifths. Fresh water at one atmosphere; salt at the strength of a nutrient solution
//! (1 to 3 g/L) raises density by up to 0.3 %, which is left out.

pub mod records;
mod viscosity_iapws;

pub use viscosity_iapws::viscosity_iapws;

use crate::science::Ranged;
use uom::si::acceleration::meter_per_second_squared;
use uom::si::dynamic_viscosity::pascal_second;
use uom::si::f64::{Acceleration, DynamicViscosity, KinematicViscosity, MassDensity, ThermodynamicTemperature};
use uom::si::kinematic_viscosity::square_meter_per_second;
use uom::si::mass_density::kilogram_per_cubic_meter;
use uom::si::thermodynamic_temperature::{degree_celsius, kelvin};

/// Standard acceleration of free fall, 9.80665 m/s² (exact by definition).
pub fn standard_gravity() -> Acceleration {
    Acceleration::new::<meter_per_second_squared>(9.806_65)
}

/// Water as the other physics rooms need it: what a grain falls through or a bed is washed with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Water {
    /// Density.
    pub density: MassDensity,
    /// Dynamic viscosity.
    pub viscosity: DynamicViscosity,
}

impl Water {
    /// Water at a temperature, by [`density`] and [`dynamic_viscosity`]; outside 0 to 40 °C is marked.
    pub fn at(temperature: ThermodynamicTemperature) -> Ranged<Self> {
        let viscosity = dynamic_viscosity(temperature);
        viscosity.map(|viscosity| Self { density: density(temperature).value, viscosity })
    }

    /// Dynamic viscosity over density.
    pub fn kinematic_viscosity(&self) -> KinematicViscosity {
        (self.viscosity / self.density).into()
    }
}

fn ordinary(celsius: f64) -> bool {
    (0.0..=40.0).contains(&celsius)
}

/// Density of water. Record: [`records::DENSITY`]; within 2e-6 of IAPWS-95 from 0 to 40 °C.
pub fn density(temperature: ThermodynamicTemperature) -> Ranged<MassDensity> {
    let t = temperature.get::<degree_celsius>();
    let from_greatest = t - 3.983_035;
    let lost = from_greatest * from_greatest * (t + 301.797) / (522_528.9 * (t + 69.348_81));
    let value = MassDensity::new::<kilogram_per_cubic_meter>(999.974_95 * (1.0 - lost));
    Ranged::new(value, &records::DENSITY, ordinary(t))
}

/// Dynamic viscosity of water. Record: [`records::DYNAMIC_VISCOSITY`]; within 0.1 % of IAPWS R12-08 from 0 to 40 °C.
pub fn dynamic_viscosity(temperature: ThermodynamicTemperature) -> Ranged<DynamicViscosity> {
    let theta = temperature.get::<kelvin>() / 300.0;
    let micro = 280.68 * theta.powf(-1.9)
        + 511.45 * theta.powf(-7.7)
        + 61.131 * theta.powf(-19.6)
        + 0.459_03 * theta.powf(-40.0);
    Ranged::new(
        DynamicViscosity::new::<pascal_second>(micro * 1e-6),
        &records::DYNAMIC_VISCOSITY,
        ordinary(temperature.get::<degree_celsius>()),
    )
}

/// Kinematic viscosity of water: [`dynamic_viscosity`] over [`density`].
pub fn kinematic_viscosity(temperature: ThermodynamicTemperature) -> Ranged<KinematicViscosity> {
    let density = density(temperature);
    dynamic_viscosity(temperature).and_within(density.within).map(|viscosity| {
        KinematicViscosity::new::<square_meter_per_second>(
            viscosity.get::<pascal_second>() / density.value.get::<kilogram_per_cubic_meter>(),
        )
    })
}

/// Viscosity by a short fit found in handbooks. Record: [`records::VISCOSITY_VOGEL`].
pub fn viscosity_vogel(temperature: ThermodynamicTemperature) -> Ranged<DynamicViscosity> {
    let kelvins = temperature.get::<kelvin>();
    let value = 2.414e-5 * 10f64.powf(247.8 / (kelvins - 140.0));
    Ranged::new(
        DynamicViscosity::new::<pascal_second>(value),
        &records::VISCOSITY_VOGEL,
        (273.15..=373.15).contains(&kelvins),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn celsius(t: f64) -> ThermodynamicTemperature {
        ThermodynamicTemperature::new::<degree_celsius>(t)
    }

    #[test]
    fn the_short_equation_departs_from_the_full_formulation_by_a_thousandth_at_most() {
        for t in 0..=40 {
            let short = dynamic_viscosity(celsius(f64::from(t)));
            let full = viscosity_iapws(density(celsius(f64::from(t))).value, celsius(f64::from(t)));
            let ratio = short.value.get::<pascal_second>() / full.value.get::<pascal_second>();
            assert!((ratio - 1.0).abs() < 1e-3, "{t} °C: {ratio}");
            assert!(short.within && full.within);
        }
    }

    #[test]
    fn warm_wash_water_outside_the_checked_range_is_marked_and_still_answered() {
        let hot = density(celsius(60.0));
        assert!(hot.outside().is_some());
        // 983.2 kg/m³ at 60 °C: common steam-table figure, from memory.
        assert!((hot.value.get::<kilogram_per_cubic_meter>() - 983.2).abs() < 0.5);
        let nothing = dynamic_viscosity(celsius(f64::NAN));
        assert!(nothing.outside().is_some() && nothing.value.get::<pascal_second>().is_nan());
    }
}
