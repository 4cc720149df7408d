//! A rinse while water flows, all the time, a fixed part of it, or by level: it carries away what is stopped.

use uom::si::f64::{MassRate, Time, Volume, VolumeRate};
use uom::si::mass::kilogram;
use uom::si::volume::cubic_meter;

use crate::filters::Continuous;

/// When it is rinsed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum RinseTime {
    /// While water flows.
    Always,
    /// A fixed part of the time in which water flows.
    PartOfTheTime(f64),
    /// By level: all the time at this rate of solids, and less in proportion.
    ByLevel(MassRate),
}

/// A rinse.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rinse {
    /// Flow of all nozzles.
    pub flow: VolumeRate,
    /// When.
    pub when: RinseTime,
    /// How long water flows in a day.
    pub running: Time,
}

impl Rinse {
    /// The water it takes in a day.
    pub fn in_a_day(&self) -> Continuous {
        let all_the_time = self.flow * self.running;
        match self.when {
            RinseTime::Always => Continuous { water_m3_per_kg: 0.0, least: all_the_time, greatest: all_the_time },
            RinseTime::PartOfTheTime(part) => Continuous {
                water_m3_per_kg: 0.0,
                least: all_the_time * part.clamp(0.0, 1.0),
                greatest: all_the_time * part.clamp(0.0, 1.0),
            },
            RinseTime::ByLevel(cake) => {
                let caught = cake * self.running;
                let full = caught.get::<kilogram>();
                Continuous {
                    water_m3_per_kg: if full > 0.0 { all_the_time.get::<cubic_meter>() / full } else { 0.0 },
                    least: Volume::default(),
                    greatest: all_the_time,
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use uom::si::mass_rate::kilogram_per_hour;
    use uom::si::time::hour;
    use uom::si::volume_rate::cubic_meter_per_hour;

    #[test]
    fn a_drum_by_level_rinses_in_proportion_to_what_it_catches() {
        let drum = Rinse {
            flow: VolumeRate::new::<cubic_meter_per_hour>(2.0),
            when: RinseTime::ByLevel(MassRate::new::<kilogram_per_hour>(3.0)),
            running: Time::new::<hour>(4.0),
        };
        let c = drum.in_a_day();
        // 12 kg in 4 h keep it on all the time: 8 m³, so 2/3 m³ for each kg.
        assert!((c.water_m3_per_kg - 2.0 / 3.0).abs() < 1e-12);
        assert!((c.greatest.get::<cubic_meter>() - 8.0).abs() < 1e-12);
    }

    #[test]
    fn a_drum_takes_its_part_of_the_time_whatever_it_catches() {
        let of = |when| {
            Rinse { flow: VolumeRate::new::<cubic_meter_per_hour>(2.0), when, running: Time::new::<hour>(4.0) }
                .in_a_day()
        };
        // A quarter of 2 m³/h in 4 h.
        let quarter = of(RinseTime::PartOfTheTime(0.25));
        assert!((quarter.least.get::<cubic_meter>() - 2.0).abs() < 1e-12);
        assert_eq!((quarter.greatest, quarter.water_m3_per_kg), (quarter.least, 0.0));
        let always = of(RinseTime::Always);
        assert!((always.least.get::<cubic_meter>() - 8.0).abs() < 1e-12);
        assert_eq!(always.greatest, always.least);
        // By level, where it never fills up: no water for each kilogram.
        assert_eq!(of(RinseTime::ByLevel(MassRate::default())).water_m3_per_kg, 0.0);
    }
}
