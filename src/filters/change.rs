//! A change of pieces (bags, cartridges): takes away all that was held and drains the housing.

use uom::si::f64::{Mass, Time, Volume};

use crate::filters::Events;

/// One change.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OneChange {
    /// Water drained at a change.
    pub drained: Volume,
    /// How long a change takes.
    pub lasts: Time,
}

impl OneChange {
    /// The events that such changes make, due at a load held, where one is typed.
    pub fn events(&self, load: Option<Mass>) -> Events {
        Events { load, keeps: 0.0, own_water: self.drained, clean_water: Volume::default(), lasts: self.lasts }
    }
}
