//! Settling velocity of single particles in still water, by named method.

use crate::science::Ranged;
use crate::science::particles::DragLaw;
use crate::science::particles::records;
use crate::science::water::{Water, standard_gravity};
use uom::si::acceleration::meter_per_second_squared;
use uom::si::dynamic_viscosity::pascal_second;
use uom::si::f64::{Acceleration, KinematicViscosity, Length, MassDensity, Ratio, ThermodynamicTemperature, Velocity};
use uom::si::kinematic_viscosity::square_meter_per_second;
use uom::si::length::meter;
use uom::si::mass_density::kilogram_per_cubic_meter;
use uom::si::ratio::ratio;
use uom::si::velocity::meter_per_second;

/// Particles above this size are outside the range of Ferguson and Church.
const GREATEST_SIZE_M: f64 = 0.005;

/// A particle: size and density.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Grain {
    /// Diameter.
    pub diameter: Length,
    /// Density of the particle itself.
    pub density: MassDensity,
}

/// A grain of filter media with a shape factor (1 for a sphere).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ShapedGrain {
    /// Size and density.
    pub grain: Grain,
    /// Shape factor φ, above 0 and at most 1.
    pub shape: Ratio,
}

/// The two constants of Ferguson and Church.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FergusonChurch {
    /// C1, of the laminar limit.
    pub viscous: f64,
    /// C2, of the turbulent limit.
    pub drag: f64,
}

/// Smooth spheres.
pub const FERGUSON_CHURCH_SPHERES: FergusonChurch = FergusonChurch { viscous: 18.0, drag: 0.4 };
/// Natural grains measured by sieve.
pub const FERGUSON_CHURCH_NATURAL: FergusonChurch = FergusonChurch { viscous: 18.0, drag: 1.0 };
/// Natural grains measured by nominal diameter.
pub const FERGUSON_CHURCH_NOMINAL: FergusonChurch = FergusonChurch { viscous: 20.0, drag: 1.1 };

/// The settling velocity that the ledger uses. Record: [`records::SETTLING_DEFAULT`].
///
/// Ferguson and Church for natural grains: one closed form from clay to coarse sand, exact in Stokes' limit, with no
/// iteration to fail. For coarse grains it is slower than a sphere's drag law, as real grains are, so a pond is not
/// credited with more than they give. A particle no denser than water has velocity zero: it is never credited with
/// settling, and its rise is not computed.
pub fn settling_velocity(
    diameter: Length,
    particle_density: MassDensity,
    temperature: ThermodynamicTemperature,
) -> Ranged<Velocity> {
    let water = Water::at(temperature);
    let excess = particle_density / water.value.density - Ratio::new::<ratio>(1.0);
    let sized = (0.0..=GREATEST_SIZE_M).contains(&diameter.get::<meter>());
    if excess.get::<ratio>() <= 0.0 && diameter.get::<meter>() >= 0.0 {
        return Ranged::new(Velocity::new::<meter_per_second>(0.0), &records::SETTLING_DEFAULT, water.within && sized);
    }
    let velocity = ferguson_church(
        diameter,
        excess,
        water.value.kinematic_viscosity(),
        standard_gravity(),
        FERGUSON_CHURCH_NATURAL,
    );
    Ranged::new(velocity.value, &records::SETTLING_DEFAULT, water.within && velocity.within)
}

/// Ferguson and Church. Record: [`records::FERGUSON_CHURCH`]. `submerged` is ρp/ρ − 1; a diameter of zero gives zero.
pub fn ferguson_church(
    diameter: Length,
    submerged: Ratio,
    viscosity: KinematicViscosity,
    gravity: Acceleration,
    constants: FergusonChurch,
) -> Ranged<Velocity> {
    let d = diameter.get::<meter>();
    let pull = submerged.get::<ratio>() * gravity.get::<meter_per_second_squared>();
    let nu = viscosity.get::<square_meter_per_second>();
    let value = if d < 0.0 {
        f64::NAN
    } else {
        pull * d * d / (constants.viscous * nu + (0.75 * constants.drag * pull * d.powi(3)).sqrt())
    };
    Ranged::new(
        Velocity::new::<meter_per_second>(value),
        &records::FERGUSON_CHURCH,
        pull > 0.0 && (0.0..=GREATEST_SIZE_M).contains(&d) && value.is_finite(),
    )
}

/// Stokes' law. Record: [`records::STOKES`]. Negative for what rises; marked outside above Reynolds number 0.5.
pub fn stokes(grain: Grain, water: Water, gravity: Acceleration) -> Ranged<Velocity> {
    let d = grain.diameter.get::<meter>();
    let mu = water.viscosity.get::<pascal_second>();
    let rho = water.density.get::<kilogram_per_cubic_meter>();
    let excess = grain.density.get::<kilogram_per_cubic_meter>() - rho;
    let value = gravity.get::<meter_per_second_squared>() * d * d * excess / (18.0 * mu);
    let reynolds = value.abs() * d * rho / mu;
    Ranged::new(Velocity::new::<meter_per_second>(value), &records::STOKES, d >= 0.0 && reynolds <= 0.5)
}

/// Settling velocity of a sphere by a drag law. Record: [`records::TERMINAL_VELOCITY`]. Negative for what rises.
///
/// Cd·Re² rises with Re for every law here up to the fall of drag near Re 200,000, so the root is bracketed on a log
/// scale and halved eighty times: no start value, no divergence. What falls faster than Re 10⁷ is answered as not a
/// number.
pub fn by_drag_law(law: DragLaw, grain: Grain, water: Water, gravity: Acceleration) -> Ranged<Velocity> {
    let d = grain.diameter.get::<meter>();
    let mu = water.viscosity.get::<pascal_second>();
    let rho = water.density.get::<kilogram_per_cubic_meter>();
    let excess = grain.density.get::<kilogram_per_cubic_meter>() - rho;
    let target = 4.0 / 3.0 * gravity.get::<meter_per_second_squared>() * d.powi(3) * rho * excess.abs() / (mu * mu);
    let answer = |speed: f64, within: bool| {
        Ranged::new(Velocity::new::<meter_per_second>(speed), &records::TERMINAL_VELOCITY, within)
    };
    if target == 0.0 && d >= 0.0 {
        return answer(0.0, true);
    }
    let drag = |log_re: f64| {
        let re = log_re.exp();
        law.plain(re) * re * re
    };
    let (mut low, mut high) = (-60f64, 1e7f64.ln());
    if !(target > drag(low) && target < drag(high)) {
        return answer(f64::NAN, false);
    }
    for _ in 0..80 {
        let middle = 0.5 * (low + high);
        if drag(middle) < target {
            low = middle;
        } else {
            high = middle;
        }
    }
    let re = (0.5 * (low + high)).exp();
    answer((re * mu / (rho * d)).copysign(excess), re <= law.greatest_reynolds())
}

/// Reynolds number of a shaped grain, φ v d/ν.
pub fn grain_reynolds(grain: ShapedGrain, velocity: Velocity, viscosity: KinematicViscosity) -> Ratio {
    let product = velocity.get::<meter_per_second>() * grain.grain.diameter.get::<meter>();
    grain.shape * product / viscosity.get::<square_meter_per_second>()
}

/// One step of the textbook hand method from an estimate of velocity. Record: [`records::NEWTON_ONE_STEP`].
pub fn newton_one_step(
    grain: ShapedGrain,
    estimate: Velocity,
    water: Water,
    gravity: Acceleration,
) -> Ranged<Velocity> {
    let drag = DragLaw::FairGeyer.coefficient(grain_reynolds(grain, estimate, water.kinematic_viscosity()));
    let rho = water.density.get::<kilogram_per_cubic_meter>();
    let excess = grain.grain.density.get::<kilogram_per_cubic_meter>() - rho;
    let square = 4.0 * gravity.get::<meter_per_second_squared>() * excess * grain.grain.diameter.get::<meter>()
        / (3.0 * drag.value.get::<ratio>() * rho);
    Ranged::new(
        Velocity::new::<meter_per_second>(square.sqrt()),
        &records::NEWTON_ONE_STEP,
        drag.within && square >= 0.0,
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use uom::si::length::micrometer;
    use uom::si::thermodynamic_temperature::degree_celsius;

    fn fall(um: f64, density: f64, celsius: f64) -> Ranged<Velocity> {
        settling_velocity(
            Length::new::<micrometer>(um),
            MassDensity::new::<kilogram_per_cubic_meter>(density),
            ThermodynamicTemperature::new::<degree_celsius>(celsius),
        )
    }

    #[test]
    fn peat_must_not_be_credited_with_the_settling_of_quartz() {
        // Stokes by hand at 15 °C: 10 µm quartz 0.079 mm/s, 10 µm wet peat (1,050 kg/m³) 0.0024 mm/s.
        let quartz = fall(10.0, 2650.0, 15.0).value.get::<meter_per_second>();
        let peat = fall(10.0, 1050.0, 15.0).value.get::<meter_per_second>();
        assert!((quartz - 7.9e-5).abs() < 0.1e-5, "{quartz}");
        assert!((peat - 2.4e-6).abs() < 0.1e-6, "{peat}");
    }

    #[test]
    fn floating_and_neutral_particles_never_settle() {
        assert_eq!(fall(500.0, 300.0, 20.0).value.get::<meter_per_second>(), 0.0);
        assert_eq!(fall(0.0, 2650.0, 20.0).value.get::<meter_per_second>(), 0.0);
    }

    #[test]
    fn odd_input_is_answered_and_marked_not_a_panic_or_a_hang() {
        let water = Water::at(ThermodynamicTemperature::new::<degree_celsius>(20.0)).value;
        for um in [f64::NAN, -5.0, 0.0, 1e-9, 1e9, f64::INFINITY] {
            for density in [f64::NAN, 0.0, 998.0, 1e9, -1.0] {
                let _ = fall(um, density, 20.0);
                let grain = Grain {
                    diameter: Length::new::<micrometer>(um),
                    density: MassDensity::new::<kilogram_per_cubic_meter>(density),
                };
                for law in DragLaw::ALL {
                    let velocity = by_drag_law(law, grain, water, standard_gravity());
                    assert!(velocity.value.get::<meter_per_second>().is_finite() || !velocity.within);
                }
            }
        }
    }

    #[test]
    fn drag_laws_agree_where_all_hold() {
        let water = Water::at(ThermodynamicTemperature::new::<degree_celsius>(20.0)).value;
        let grain = Grain {
            diameter: Length::new::<micrometer>(150.0),
            density: MassDensity::new::<kilogram_per_cubic_meter>(2650.0),
        };
        let speeds: Vec<f64> =
            [DragLaw::SchillerNaumann, DragLaw::Clift, DragLaw::CliftGauvin, DragLaw::HaiderLevenspiel]
                .into_iter()
                .map(|law| by_drag_law(law, grain, water, standard_gravity()).value.get::<meter_per_second>())
                .collect();
        for speed in &speeds {
            assert!((speed / speeds[0] - 1.0).abs() < 0.05, "{speeds:?}");
        }
    }

    #[test]
    fn stokes_used_on_sand_says_so() {
        let water = Water::at(ThermodynamicTemperature::new::<degree_celsius>(20.0)).value;
        let sand = Grain {
            diameter: Length::new::<micrometer>(500.0),
            density: MassDensity::new::<kilogram_per_cubic_meter>(2650.0),
        };
        assert!(stokes(sand, water, standard_gravity()).outside().is_some());
    }
}
