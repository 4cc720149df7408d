//! Pressure screen: holds what it stops until a body is flushed, by itself or by hand.

use uom::si::f64::Mass;

use crate::filters::{Behaviour, OneWash};

/// A pressure screen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PressureScreen {
    /// One flush of all bodies.
    pub wash: OneWash,
    /// Solids held at a flush, where typed.
    pub load: Option<Mass>,
}

impl PressureScreen {
    /// What it does in a day.
    pub fn behaviour(&self) -> Behaviour {
        Behaviour::Events(self.wash.events(self.load))
    }
}
