//! The full IAPWS viscosity formulation in density and temperature, without the critical enhancement.

use crate::science::Ranged;
use crate::science::water::records;
use uom::si::dynamic_viscosity::pascal_second;
use uom::si::f64::{DynamicViscosity, MassDensity, ThermodynamicTemperature};
use uom::si::mass_density::kilogram_per_cubic_meter;
use uom::si::thermodynamic_temperature::kelvin;

/// Table 1 of the release.
const DILUTE: [f64; 4] = [1.677_52, 2.204_62, 0.636_656_4, -0.241_605];

/// Table 2 of the release: (power of 1/θ − 1, power of δ − 1, coefficient).
const DENSE: [(i32, i32, f64); 21] = [
    (0, 0, 5.200_94e-1),
    (1, 0, 8.508_95e-2),
    (2, 0, -1.083_74),
    (3, 0, -2.895_55e-1),
    (0, 1, 2.225_31e-1),
    (1, 1, 9.991_15e-1),
    (2, 1, 1.887_97),
    (3, 1, 1.266_13),
    (5, 1, 1.205_73e-1),
    (0, 2, -2.813_78e-1),
    (1, 2, -9.068_51e-1),
    (2, 2, -7.724_79e-1),
    (3, 2, -4.898_37e-1),
    (4, 2, -2.570_40e-1),
    (0, 3, 1.619_13e-1),
    (1, 3, 2.573_99e-1),
    (0, 4, -3.253_72e-2),
    (3, 4, 6.984_52e-2),
    (4, 5, 8.721_02e-3),
    (3, 6, -4.356_73e-3),
    (5, 6, -5.932_64e-4),
];

/// Viscosity of water of a given density and temperature. Record: [`records::VISCOSITY_R12_08`].
pub fn viscosity_iapws(density: MassDensity, temperature: ThermodynamicTemperature) -> Ranged<DynamicViscosity> {
    let kelvins = temperature.get::<kelvin>();
    let rho = density.get::<kilogram_per_cubic_meter>();
    let theta = kelvins / 647.096;
    let delta = rho / 322.0;
    let dilute: f64 = DILUTE.iter().zip(0i32..).map(|(h, i)| h / theta.powi(i)).sum();
    let dense: f64 = DENSE.iter().map(|&(i, j, h)| h * (1.0 / theta - 1.0).powi(i) * (delta - 1.0).powi(j)).sum();
    let value = 1e-6 * 100.0 * theta.sqrt() / dilute * (delta * dense).exp();
    Ranged::new(
        DynamicViscosity::new::<pascal_second>(value),
        &records::VISCOSITY_R12_08,
        (273.15..=373.15).contains(&kelvins) && (900.0..=1200.0).contains(&rho),
    )
}
