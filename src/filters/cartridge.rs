//! Cartridge filter: elements changed together; a change drains the housing.

use uom::si::f64::{Mass, Time, Volume};

use crate::filters::{Behaviour, Events};

/// Cartridges in their housing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cartridge {
    /// Solids held at a change, where typed.
    pub load: Option<Mass>,
    /// Water drained at a change.
    pub drained: Volume,
    /// How long a change takes.
    pub lasts: Time,
}

impl Cartridge {
    /// What it does in a day. A change takes away all that was held.
    pub fn behaviour(&self) -> Behaviour {
        Behaviour::Events(Events {
            load: self.load,
            keeps: 0.0,
            own_water: self.drained,
            clean_water: Volume::default(),
            lasts: self.lasts,
        })
    }
}
