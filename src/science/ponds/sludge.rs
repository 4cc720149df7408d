//! Sludge: its volume, what it leaves of the detention time, when it is to be cleaned out.

use crate::science::Ranged;
use crate::science::ponds::records;
use uom::si::f64::{Mass, MassDensity, Ratio, Time, Volume, VolumeRate};
use uom::si::mass::kilogram;
use uom::si::mass_density::kilogram_per_cubic_meter;
use uom::si::ratio::ratio;
use uom::si::time::second;
use uom::si::volume::cubic_meter;
use uom::si::volume_rate::cubic_meter_per_second;

/// What the sludge of a pond is made of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sludge {
    /// Dry solids over wet mass.
    pub solids_share: Ratio,
    /// Density of the solids.
    pub solids_density: MassDensity,
    /// Density of the water in its pores.
    pub water_density: MassDensity,
}

impl Sludge {
    /// Density of the wet sludge. Record: [`records::SLUDGE`].
    pub fn density(&self) -> Ranged<MassDensity> {
        let s = self.solids_share.get::<ratio>();
        let value = 1.0
            / (s / self.solids_density.get::<kilogram_per_cubic_meter>()
                + (1.0 - s) / self.water_density.get::<kilogram_per_cubic_meter>());
        let real = s > 0.0 && s <= 1.0 && value > 0.0;
        Ranged::new(
            MassDensity::new::<kilogram_per_cubic_meter>(if real { value } else { f64::NAN }),
            &records::SLUDGE,
            real,
        )
    }

    /// Volume of the wet sludge that holds a dry mass. Record: [`records::SLUDGE`].
    pub fn volume(&self, dry: Mass) -> Ranged<Volume> {
        let density = self.density();
        let wet = dry.get::<kilogram>() / self.solids_share.get::<ratio>();
        Ranged::new(
            Volume::new::<cubic_meter>(wet / density.value.get::<kilogram_per_cubic_meter>()),
            &records::SLUDGE,
            density.within && dry.get::<kilogram>() >= 0.0,
        )
    }
}

/// Time until the sludge reaches its clean-out volume at a steady rate; zero if it has; none if it never will. Record:
/// [`records::SLUDGE`].
pub fn time_to_clean_out(now: Volume, at_clean_out: Volume, rate: VolumeRate) -> Option<Time> {
    let left = (at_clean_out - now).get::<cubic_meter>();
    let rate = rate.get::<cubic_meter_per_second>();
    if left <= 0.0 {
        Some(Time::new::<second>(0.0))
    } else if rate > 0.0 && left.is_finite() {
        Some(Time::new::<second>(left / rate))
    } else {
        None
    }
}

/// Detention time of what the sludge leaves. Record: [`records::DETENTION`].
pub fn detention_time(pond: Volume, sludge: Volume, flow: VolumeRate) -> Ranged<Time> {
    let free = (pond - sludge).get::<cubic_meter>();
    let q = flow.get::<cubic_meter_per_second>();
    let real = q > 0.0 && free >= 0.0;
    Ranged::new(Time::new::<second>(if real { free / q } else { f64::NAN }), &records::DETENTION, real)
}

#[cfg(test)]
mod tests {
    use super::*;
    use uom::si::time::day;

    fn m3(value: f64) -> Volume {
        Volume::new::<cubic_meter>(value)
    }

    #[test]
    fn sludge_must_be_taken_off_the_detention_time() {
        // 300 m³ with 100 m³ of sludge at 100 m³/d: 2.0 days, not 3.0.
        let flow = m3(100.0) / Time::new::<day>(1.0);
        let time = detention_time(m3(300.0), m3(100.0), flow);
        assert!((time.value.get::<day>() - 2.0).abs() < 1e-12);
        assert!(detention_time(m3(300.0), m3(400.0), flow).outside().is_some());
    }

    #[test]
    fn dry_mass_hauled_as_if_it_were_wet_would_be_fifty_times_too_little() {
        // 16.2 kg dry at 2 % is 810 kg wet.
        let sludge = Sludge {
            solids_share: Ratio::new::<ratio>(0.02),
            solids_density: MassDensity::new::<kilogram_per_cubic_meter>(1000.0),
            water_density: MassDensity::new::<kilogram_per_cubic_meter>(1000.0),
        };
        let volume = sludge.volume(Mass::new::<kilogram>(16.2));
        assert!((volume.value.get::<cubic_meter>() - 0.810).abs() < 1e-12);
    }

    #[test]
    fn a_pond_that_gains_no_sludge_has_no_clean_out_date() {
        let none = m3(0.0) / Time::new::<day>(1.0);
        assert_eq!(time_to_clean_out(m3(10.0), m3(50.0), none), None);
        let gain = m3(0.5) / Time::new::<day>(1.0);
        let wait = time_to_clean_out(m3(10.0), m3(50.0), gain).expect("it gains");
        assert!((wait.get::<day>() - 80.0).abs() < 1e-9);
        assert_eq!(time_to_clean_out(m3(60.0), m3(50.0), none).map(|t| t.get::<day>()), Some(0.0));
    }
}
