//! Microscreen drum: rinsed all the time, a fixed part of it, or by level; the rinse carries away what it stops.

use uom::si::f64::{MassRate, Time, Volume, VolumeRate};
use uom::si::mass::kilogram;
use uom::si::volume::cubic_meter;

use crate::filters::{Behaviour, Continuous};

/// How a drum is rinsed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum DrumWater {
    /// While water flows.
    Always,
    /// A fixed part of the time in which water flows.
    PartOfTheTime(f64),
    /// By level: all the time at this rate of solids, and less in proportion.
    ByLevel(MassRate),
}

/// A microscreen drum.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MicroscreenDrum {
    /// Flow of all nozzles.
    pub flow: VolumeRate,
    /// How it is rinsed.
    pub rinse: DrumWater,
    /// How long water flows in a day.
    pub running: Time,
}

impl MicroscreenDrum {
    /// What it does in a day.
    pub fn behaviour(&self) -> Behaviour {
        let all_the_time = self.flow * self.running;
        Behaviour::Continuous(match self.rinse {
            DrumWater::Always => Continuous { water_m3_per_kg: 0.0, least: all_the_time, greatest: all_the_time },
            DrumWater::PartOfTheTime(part) => Continuous {
                water_m3_per_kg: 0.0,
                least: all_the_time * part.clamp(0.0, 1.0),
                greatest: all_the_time * part.clamp(0.0, 1.0),
            },
            DrumWater::ByLevel(cake) => {
                let caught = cake * self.running;
                let full = caught.get::<kilogram>();
                Continuous {
                    water_m3_per_kg: if full > 0.0 { all_the_time.get::<cubic_meter>() / full } else { 0.0 },
                    least: Volume::default(),
                    greatest: all_the_time,
                }
            }
        })
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
        let drum = MicroscreenDrum {
            flow: VolumeRate::new::<cubic_meter_per_hour>(2.0),
            rinse: DrumWater::ByLevel(MassRate::new::<kilogram_per_hour>(3.0)),
            running: Time::new::<hour>(4.0),
        };
        let Behaviour::Continuous(c) = drum.behaviour() else {
            panic!("a drum sheds as it goes");
        };
        // 12 kg in 4 h keep it on all the time: 8 m³, so 2/3 m³ for each kg.
        assert!((c.water_m3_per_kg - 2.0 / 3.0).abs() < 1e-12);
        assert!((c.greatest.get::<cubic_meter>() - 8.0).abs() < 1e-12);
    }
}
