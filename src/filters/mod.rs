//! What filters do in a day, by the way in which they let go of what they stop: each kind of filter takes one of these ways.
//!
//! Given what flows in and what solids come with it: what sets off a wash or change, how much water that takes, and what
//! carries the solids away, in plain quantities; the day step counts whole events from it and keeps the books.

mod bed;
mod change;
mod cloth;
mod media;
mod reject;
mod rinse;
mod screenings;
mod wash;

use uom::si::f64::{Length, Mass, Time, Volume};

pub use bed::Bed;
pub use change::OneChange;
pub use cloth::Cloth;
pub use media::{load_against_sand, wash_against_sand};
pub use reject::Rejecting;
pub use rinse::{Rinse, RinseTime};
pub use screenings::{in_series, screenings};
pub use wash::{OneWash, least_load};

/// Whole washes or changes. Triggers are typed by the user and stand beside this.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Events {
    /// Solids held at which the event is due, by the filter's own size; none where only other triggers count.
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
#[derive(Debug, Clone, Copy, Default, PartialEq)]
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
pub struct Winding {
    /// Length for each kg caught, m/kg.
    pub m_per_kg: f64,
    /// Least length on a day on which water flows.
    pub least: Length,
    /// Length of a new roll.
    pub length: Length,
    /// Water that leaves with each metre, m³/m.
    pub water_m3_per_m: f64,
}
