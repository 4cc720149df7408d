//! Published hand rules for the size of a basin, and checks of velocity.

use crate::science::Ranged;
use crate::science::ponds::records;
use uom::si::acceleration::meter_per_second_squared;
use uom::si::area::square_meter;
use uom::si::f64::{Acceleration, Area, Length, Mass, MassDensity, Ratio, Velocity, Volume, VolumeRate};
use uom::si::length::{foot, meter};
use uom::si::mass::kilogram;
use uom::si::mass_density::kilogram_per_cubic_meter;
use uom::si::ratio::ratio;
use uom::si::velocity::meter_per_second;
use uom::si::volume::cubic_meter;
use uom::si::volume_rate::cubic_meter_per_second;

/// Basin volume per drained acre, ft³ (USDA NRCS practice standard 350; EPA construction general permit; from memory).
pub const BASIN_RULE_FT3_PER_ACRE: f64 = 3600.0;
/// Sediment storage per disturbed acre, ft³ (USDA NRCS practice standard 350; from memory).
pub const SEDIMENT_RULE_FT3_PER_ACRE: f64 = 900.0;
/// Design trap efficiency of a sediment basin (NRCS form IN-ENG-38, seen).
pub const DESIGN_TRAP_EFFICIENCY: f64 = 0.9;
/// Factor on sediment storage because trapping falls as a basin fills (NRCS form IN-ENG-38, seen).
pub const STORAGE_MULTIPLIER: f64 = 1.5;

/// One acre is 43,560 ft²: a rule in cubic feet per acre is a depth in feet over this.
const SQUARE_FEET_PER_ACRE: f64 = 43_560.0;

/// Basin area by flow and settling velocity. Record: [`records::AREA_SIZING`].
pub fn area_by_rule(flow: VolumeRate, settling: Velocity, factor: Ratio) -> Ranged<Area> {
    let w = settling.get::<meter_per_second>();
    let area = factor.get::<ratio>() * flow.get::<cubic_meter_per_second>() / w;
    Ranged::new(
        Area::new::<square_meter>(if w > 0.0 { area } else { f64::NAN }),
        &records::AREA_SIZING,
        w > 0.0 && factor.get::<ratio>() >= 1.0 && area >= 0.0,
    )
}

/// Volume by a rule of cubic feet per acre drained. Record: [`records::VOLUME_RULE`].
pub fn volume_by_rule(drained: Area, cubic_feet_per_acre: f64) -> Ranged<Volume> {
    let depth = Length::new::<foot>(cubic_feet_per_acre / SQUARE_FEET_PER_ACRE);
    Ranged::new(depth * drained, &records::VOLUME_RULE, drained.get::<square_meter>() >= 0.0)
}

/// Volume that a dry mass of sediment takes at a unit weight (dry mass per volume of deposit). Record:
/// [`records::SEDIMENT_VOLUME`].
pub fn sediment_volume(mass: Mass, unit_weight: MassDensity) -> Ranged<Volume> {
    let weight = unit_weight.get::<kilogram_per_cubic_meter>();
    let volume = mass.get::<kilogram>() / weight;
    Ranged::new(
        Volume::new::<cubic_meter>(if weight > 0.0 { volume } else { f64::NAN }),
        &records::SEDIMENT_VOLUME,
        weight > 0.0 && volume >= 0.0,
    )
}

/// Mean velocity across a basin. Record: [`records::HORIZONTAL_VELOCITY`]. Depth does not enter removal; it enters here.
pub fn horizontal_velocity(flow: VolumeRate, width: Length, water_depth: Length) -> Ranged<Velocity> {
    let section = width.get::<meter>() * water_depth.get::<meter>();
    let real = width.get::<meter>() > 0.0 && water_depth.get::<meter>() > 0.0;
    let velocity = flow.get::<cubic_meter_per_second>() / section;
    Ranged::new(
        Velocity::new::<meter_per_second>(if real { velocity } else { f64::NAN }),
        &records::HORIZONTAL_VELOCITY,
        real,
    )
}

/// What Camp's scour velocity needs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ScourTerms {
    /// Particle size.
    pub diameter: Length,
    /// Density of the particle.
    pub particle_density: MassDensity,
    /// Density of water.
    pub water_density: MassDensity,
    /// β: 0.04 for granular, 0.06 for sticky deposits.
    pub stickiness: f64,
    /// Darcy-Weisbach friction factor, 0.02 to 0.03.
    pub friction: f64,
    /// Acceleration of free fall.
    pub gravity: Acceleration,
}

/// Horizontal velocity that lifts settled particles again, by Camp. Record: [`records::SCOUR`].
pub fn scour_velocity(terms: &ScourTerms) -> Ranged<Velocity> {
    let excess = (terms.particle_density / terms.water_density).get::<ratio>() - 1.0;
    let square = 8.0
        * terms.stickiness
        * excess
        * terms.gravity.get::<meter_per_second_squared>()
        * terms.diameter.get::<meter>()
        / terms.friction;
    Ranged::new(
        Velocity::new::<meter_per_second>(square.sqrt()),
        &records::SCOUR,
        (0.02..=0.08).contains(&terms.stickiness)
            && (0.01..=0.05).contains(&terms.friction)
            && excess > 0.0
            && square >= 0.0,
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::science::water::standard_gravity;
    use uom::si::length::micrometer;

    #[test]
    fn peat_is_scoured_by_a_slower_current_than_silt_of_its_size() {
        let terms = |density: f64| ScourTerms {
            diameter: Length::new::<micrometer>(50.0),
            particle_density: MassDensity::new::<kilogram_per_cubic_meter>(density),
            water_density: MassDensity::new::<kilogram_per_cubic_meter>(999.0),
            stickiness: 0.04,
            friction: 0.025,
            gravity: standard_gravity(),
        };
        let silt = scour_velocity(&terms(2650.0));
        let peat = scour_velocity(&terms(1050.0));
        // By hand: √(8·0.04·1.6527·9.80665·50e-6/0.025) = 0.1018 m/s.
        assert!((silt.value.get::<meter_per_second>() - 0.1018).abs() < 1e-4);
        assert!(peat.value < silt.value * 0.2);
        assert!(scour_velocity(&terms(900.0)).outside().is_some());
    }

    #[test]
    fn a_basin_without_depth_has_no_velocity() {
        let flow = VolumeRate::new::<cubic_meter_per_second>(0.01);
        let dry = horizontal_velocity(flow, Length::new::<meter>(5.0), Length::new::<meter>(0.0));
        assert!(dry.outside().is_some() && dry.value.get::<meter_per_second>().is_nan());
    }
}
