//! Fluidisation and expansion of a bed in a wash; the wash's water.

use crate::science::Ranged;
use crate::science::hydraulics::bed::packed;
use crate::science::hydraulics::records;
use crate::science::particles::{DragLaw, Grain, by_drag_law};
use crate::science::water::{Water, standard_gravity};
use uom::si::acceleration::meter_per_second_squared;
use uom::si::area::square_meter;
use uom::si::dynamic_viscosity::pascal_second;
use uom::si::f64::{Acceleration, Area, Length, Ratio, Time, Velocity, Volume, VolumeRate};
use uom::si::length::meter;
use uom::si::mass_density::kilogram_per_cubic_meter;
use uom::si::ratio::ratio;
use uom::si::time::second;
use uom::si::velocity::meter_per_second;

/// Least fluidising wash rate by Wen and Yu, for the d90 of the media. Record: [`records::WEN_YU`].
pub fn least_fluidising_rate(grain: Grain, water: Water, gravity: Acceleration) -> Ranged<Velocity> {
    let d = grain.diameter.get::<meter>();
    let rho = water.density.get::<kilogram_per_cubic_meter>();
    let mu = water.viscosity.get::<pascal_second>();
    let excess = grain.density.get::<kilogram_per_cubic_meter>() - rho;
    let galileo = d.powi(3) * rho * excess * gravity.get::<meter_per_second_squared>() / (mu * mu);
    let reynolds = (33.7 * 33.7 + 0.0408 * galileo).sqrt() - 33.7;
    let sinks = excess > 0.0 && d > 0.0;
    let rate = if sinks { reynolds * mu / (rho * d) } else { f64::NAN };
    Ranged::new(Velocity::new::<meter_per_second>(rate), &records::WEN_YU, sinks && reynolds <= 4_000.0)
}

/// Index of Richardson and Zaki by the Reynolds number of one grain falling. Record:
/// [`records::RICHARDSON_ZAKI_INDEX`].
pub fn expansion_index(reynolds: Ratio) -> Ranged<f64> {
    let re = reynolds.get::<ratio>();
    let index = if re < 0.2 {
        4.65
    } else if re < 1.0 {
        4.35 * re.powf(-0.03)
    } else if re < 500.0 {
        4.45 * re.powf(-0.1)
    } else {
        2.39
    };
    let real = re > 0.0;
    Ranged::new(if real { index } else { f64::NAN }, &records::RICHARDSON_ZAKI_INDEX, real)
}

/// Porosity of the expanded bed by Richardson and Zaki. Record: [`records::RICHARDSON_ZAKI`].
pub fn expanded_porosity_richardson_zaki(wash: Velocity, settling: Velocity, index: f64) -> Ranged<Ratio> {
    let share = (wash / settling).get::<ratio>();
    Ranged::new(
        Ratio::new::<ratio>(share.powf(1.0 / index)),
        &records::RICHARDSON_ZAKI,
        share > 0.0 && share < 1.0 && index > 0.0,
    )
}

/// Porosity of an expanded sieve fraction by Fair and Geyer. Record: [`records::FAIR_GEYER_EXPANSION`].
pub fn expanded_porosity_fair_geyer(wash: Velocity, settling: Velocity, reynolds: Ratio) -> Ranged<Ratio> {
    let share = (wash / settling).get::<ratio>();
    let power = 0.2247 * reynolds.get::<ratio>().powf(0.1);
    Ranged::new(
        Ratio::new::<ratio>(share.powf(power)),
        &records::FAIR_GEYER_EXPANSION,
        share > 0.0 && share < 1.0 && power > 0.0,
    )
}

/// Depth of the expanded stratified bed; `sum` is Σ f/(1 − εe). Record: [`records::FAIR_GEYER_DEPTH`].
pub fn expanded_depth(packed_depth: Length, porosity: Ratio, sum: f64) -> Ranged<Length> {
    let eps = porosity.get::<ratio>();
    Ranged::new(packed_depth * ((1.0 - eps) * sum), &records::FAIR_GEYER_DEPTH, packed(eps) && sum >= 1.0)
}

/// Bed expansion from packed and expanded porosity; negative where the bed does not lift. Record:
/// [`records::BED_EXPANSION`].
pub fn bed_expansion(packed_porosity: Ratio, expanded_porosity: Ratio) -> Ranged<Ratio> {
    let (before, after) = (packed_porosity.get::<ratio>(), expanded_porosity.get::<ratio>());
    Ranged::new(
        Ratio::new::<ratio>((1.0 - before) / (1.0 - after) - 1.0),
        &records::BED_EXPANSION,
        before > 0.0 && before <= after && after < 1.0,
    )
}

/// A bed to be washed: its grains and its packed porosity.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WashedBed {
    /// Grain: the median size for expansion.
    pub grain: Grain,
    /// Packed porosity.
    pub porosity: Ratio,
}

/// Expansion of a bed at a wash rate in water of its temperature: settling by Clift's drag, index and porosity by
/// Richardson and Zaki. Records: [`records::RICHARDSON_ZAKI`], [`records::BED_EXPANSION`]. A wash too weak to lift the
/// bed gives zero expansion; that is the finding, not an error. Media carried off is marked.
pub fn expansion_of_bed(bed: WashedBed, wash: Velocity, water: Water) -> Ranged<Ratio> {
    let settling = by_drag_law(DragLaw::Clift, bed.grain, water, standard_gravity());
    let reynolds = settling.value.get::<meter_per_second>()
        * bed.grain.diameter.get::<meter>()
        * water.density.get::<kilogram_per_cubic_meter>()
        / water.viscosity.get::<pascal_second>();
    let index = expansion_index(Ratio::new::<ratio>(reynolds));
    let porosity = expanded_porosity_richardson_zaki(wash, settling.value, index.value);
    if porosity.value <= bed.porosity && wash.get::<meter_per_second>() >= 0.0 {
        return Ranged::new(Ratio::new::<ratio>(0.0), &records::BED_EXPANSION, settling.within);
    }
    let expansion = bed_expansion(bed.porosity, porosity.value);
    Ranged::new(expansion.value, &records::RICHARDSON_ZAKI, expansion.within && porosity.within && settling.within)
}

/// Flow of a wash while it runs: what the wash pump, the drain and a sewer's rate limit see. Record:
/// [`records::BACKWASH_VOLUME`].
pub fn backwash_flow(rate: Velocity, area: Area) -> Ranged<VolumeRate> {
    Ranged::new(
        rate * area,
        &records::BACKWASH_VOLUME,
        rate.get::<meter_per_second>() >= 0.0 && area.get::<square_meter>() >= 0.0,
    )
}

/// Water of a wash of one bed. Record: [`records::BACKWASH_VOLUME`].
pub fn backwash_volume(rate: Velocity, area: Area, duration: Time) -> Ranged<Volume> {
    backwash_flow(rate, area).map(|flow| flow * duration).and_within(duration.get::<second>() >= 0.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use uom::si::f64::{DynamicViscosity, MassDensity, ThermodynamicTemperature};
    use uom::si::length::millimeter;
    use uom::si::thermodynamic_temperature::degree_celsius;

    fn bed() -> WashedBed {
        WashedBed {
            grain: Grain {
                diameter: Length::new::<millimeter>(0.6),
                density: MassDensity::new::<kilogram_per_cubic_meter>(2650.0),
            },
            porosity: Ratio::new::<ratio>(0.42),
        }
    }

    fn water(celsius: f64) -> Water {
        Water::at(ThermodynamicTemperature::new::<degree_celsius>(celsius)).value
    }

    #[test]
    fn wen_and_yu_by_hand_and_where_it_holds() {
        let twenty = Water {
            density: MassDensity::new::<kilogram_per_cubic_meter>(998.2),
            viscosity: DynamicViscosity::new::<pascal_second>(1.002e-3),
        };
        let of = |mm: f64, kg_m3: f64| {
            let diameter = Length::new::<millimeter>(mm);
            let grain = Grain { diameter, density: MassDensity::new::<kilogram_per_cubic_meter>(kg_m3) };
            least_fluidising_rate(grain, twenty, Acceleration::new::<meter_per_second_squared>(9.80665))
        };
        // Galileo 3478.7; Reynolds √(33.7² + 0.0408 · 3478.7) − 33.7 = 2.0438; · 1.002e-3 ÷ (998.2 · 0.0006) = 3.419 mm/s.
        let sand = of(0.6, 2650.0);
        assert!((sand.value.get::<meter_per_second>() - 3.419e-3).abs() < 5e-7, "{sand:?}");
        assert_eq!(sand.outside(), None);
        // What is no denser than water is not fluidised, and cobbles are beyond what was tried.
        for (mm, kg_m3) in [(0.6, 998.2), (0.6, 900.0), (0.0, 2650.0)] {
            let none = of(mm, kg_m3);
            assert!(none.value.get::<meter_per_second>().is_nan() && none.outside().is_some(), "{mm} mm, {kg_m3}");
        }
        assert!(of(200.0, 2650.0).outside().is_some());
    }

    #[test]
    fn cold_water_needs_less_wash_for_the_same_lift() {
        let wash = Velocity::new::<meter_per_second>(0.010);
        let cold = expansion_of_bed(bed(), wash, water(5.0)).value;
        let warm = expansion_of_bed(bed(), wash, water(25.0)).value;
        assert!(cold > warm && warm.get::<ratio>() > 0.0);
        let gravity = standard_gravity();
        let least = |celsius| least_fluidising_rate(bed().grain, water(celsius), gravity).value;
        assert!(least(5.0) < least(25.0));
    }

    #[test]
    fn a_wash_too_weak_to_lift_the_bed_expands_nothing() {
        let trickle = Velocity::new::<meter_per_second>(0.0005);
        assert_eq!(expansion_of_bed(bed(), trickle, water(15.0)).value.get::<ratio>(), 0.0);
        let still = Velocity::new::<meter_per_second>(0.0);
        assert_eq!(expansion_of_bed(bed(), still, water(15.0)).value.get::<ratio>(), 0.0);
    }

    #[test]
    fn media_carried_off_or_floating_is_marked() {
        let torrent = Velocity::new::<meter_per_second>(0.5);
        assert!(expansion_of_bed(bed(), torrent, water(15.0)).outside().is_some());
        let mut light = bed();
        light.grain.density = MassDensity::new::<kilogram_per_cubic_meter>(900.0);
        assert!(least_fluidising_rate(light.grain, water(15.0), standard_gravity()).outside().is_some());
    }
}
