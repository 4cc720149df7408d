//! What one kind of filter does in a day: one file per kind, one shared question.
//!
//! Given what flows in and what solids come with it, every kind answers what sets off a wash or change, how much water
//! that takes, and what carries the solids away. The answer is a [`Behaviour`] of plain quantities; the day step counts
//! whole events from it and keeps the books.

mod bag;
mod cartridge;
mod deep_media_bed;
mod gravity_screen;
mod media;
mod microscreen_drum;
mod moving_media;
mod pressure_screen;
mod shallow_media_bed;
mod vibrating_screen;

use uom::si::f64::{Length, Mass, Time, Volume};

pub use bag::Bag;
pub use cartridge::Cartridge;
pub use deep_media_bed::DeepMediaBed;
pub use gravity_screen::GravityScreen;
pub use media::{load_against_sand, wash_against_sand};
pub use microscreen_drum::{DrumWater, MicroscreenDrum};
pub use moving_media::MovingMedia;
pub use pressure_screen::PressureScreen;
pub use shallow_media_bed::{Bed, ShallowMediaBed};
pub use vibrating_screen::VibratingScreen;

/// What a kind does in a day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Behaviour {
    /// Holds solids until a whole wash or change.
    Events(Events),
    /// Sheds what it catches as it goes, with some water.
    Continuous(Continuous),
    /// Winds on a roll of media that carries the solids away.
    Roll(RollBehaviour),
}

/// Whole washes or changes. Triggers are typed by the user and stand beside this.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Events {
    /// Solids held at which the event is due, by the kind's own size; none where only other triggers count.
    pub load: Option<Mass>,
    /// Share of what is held that an event leaves behind, 0 to 1.
    pub keeps: f64,
    /// The filter's own water that an event takes.
    pub own_water: Volume,
    /// Water from elsewhere that an event takes.
    pub clean_water: Volume,
    /// How long an event keeps the filter busy.
    pub lasts: Time,
}

/// Continuous removal: water that goes with the solids is `clamp(water_per_kg · caught, least, greatest)` in a day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Continuous {
    /// Water for each kg caught, m³/kg.
    pub water_m3_per_kg: f64,
    /// Least water on a day on which water flows.
    pub least: Volume,
    /// Most water in a day.
    pub greatest: Volume,
}

/// A roll: length wound on is `max(metres_per_kg · caught, least)` in a day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RollBehaviour {
    /// Length for each kg caught, m/kg.
    pub m_per_kg: f64,
    /// Least length on a day on which water flows.
    pub least: Length,
    /// Length of a new roll.
    pub length: Length,
    /// Water that leaves with each metre, m³/m.
    pub water_m3_per_m: f64,
}

/// One wash as typed: rate for each vessel and time, vessel after vessel; or a measured volume for the whole event.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OneWash {
    /// Water of the wash itself, all vessels.
    pub wash_water: Volume,
    /// Rinse to waste, all vessels: always the filter's own water.
    pub rinse_water: Volume,
    /// Drained at an event, whole filter: always its own water.
    pub drained: Volume,
    /// Whether the wash water is the filter's own.
    pub own: bool,
    /// How long an event takes, all vessels, with standing still.
    pub lasts: Time,
    /// Share of what is held that it removes.
    pub removes: f64,
}

impl OneWash {
    /// The events that such a wash makes, due at a load held.
    pub fn events(&self, load: Option<Mass>) -> Events {
        let nothing = Volume::default();
        let (own, clean) = if self.own { (self.wash_water, nothing) } else { (nothing, self.wash_water) };
        Events {
            load,
            keeps: (1.0 - self.removes).clamp(0.0, 1.0),
            own_water: own + self.rinse_water + self.drained,
            clean_water: clean,
            lasts: self.lasts,
        }
    }
}

/// Water that leaves with drained screenings, m³ for each kg of dry solids: wet mass over dry mass, less the solids,
/// over the density of water. A dry share of 0 (not known) gives no water.
pub fn liquor_m3_per_kg(dry_share: f64) -> f64 {
    if dry_share > 0.0 && dry_share < 1.0 { (1.0 / dry_share - 1.0) / 1000.0 } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_kilogram_at_two_per_cent_is_fifty_kilograms_wet() {
        assert!((liquor_m3_per_kg(0.02) - 0.049).abs() < 1e-15);
        assert!((liquor_m3_per_kg(0.05) - 0.019).abs() < 1e-15);
        assert_eq!(liquor_m3_per_kg(0.0), 0.0);
    }
}
