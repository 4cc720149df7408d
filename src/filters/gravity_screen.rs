//! Gravity screen: what it stops slides to a bin with its liquor; it is hosed down by hand.

use uom::si::f64::Volume;
use uom::si::volume::cubic_meter;

use crate::filters::{Behaviour, Continuous, liquor_m3_per_kg};

/// A gravity screen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GravityScreen {
    /// Share of the wet screenings that is dry solids; 0 where nothing says.
    pub dry_share: f64,
}

impl GravityScreen {
    /// What it does in a day.
    pub fn behaviour(&self) -> Behaviour {
        Behaviour::Continuous(Continuous {
            water_m3_per_kg: liquor_m3_per_kg(self.dry_share),
            least: Volume::new::<cubic_meter>(0.0),
            greatest: Volume::new::<cubic_meter>(f64::INFINITY),
        })
    }
}
