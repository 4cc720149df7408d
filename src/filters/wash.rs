//! A whole wash of a screen or of a bed's vessels.

use uom::si::f64::{Mass, Time, Volume};

use crate::filters::Events;

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
    /// With air scour of each vessel first: it takes time, not water.
    pub fn after_scour(mut self, of_one: Time, vessels: u32) -> Self {
        self.lasts += of_one * f64::from(vessels);
        self
    }

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

/// The lesser of two loads that may both be typed: it governs.
pub fn least_load(a: Option<Mass>, b: Option<Mass>) -> Option<Mass> {
    match (a, b) {
        (Some(a), Some(b)) => Some(if a < b { a } else { b }),
        (a, b) => a.or(b),
    }
}
