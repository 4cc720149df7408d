//! Deep media bed, of any diameter: washed for minutes, often rinsed to waste, sometimes with clean water.

use uom::si::f64::{ArealMassDensity, Mass, Time};

use crate::filters::shallow_media_bed::least_load;
use crate::filters::{Bed, Behaviour, OneWash};

/// A deep media bed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DeepMediaBed {
    /// Its vessels.
    pub bed: Bed,
    /// One wash of all vessels.
    pub wash: OneWash,
    /// Air scour before the wash of each vessel: it takes time, not water.
    pub air_scour: Option<Time>,
    /// Solids held before a wash, on the beds' area.
    pub holds_before: Option<ArealMassDensity>,
    /// Solids held before a wash, whole filter.
    pub load: Option<Mass>,
}

impl DeepMediaBed {
    /// What it does in a day. The lesser load governs where both are typed.
    pub fn behaviour(&self) -> Behaviour {
        let mut wash = self.wash;
        if let Some(scour) = self.air_scour {
            wash.lasts += scour * f64::from(self.bed.vessels);
        }
        Behaviour::Events(wash.events(least_load(self.holds_before.map(|load| load * self.bed.area()), self.load)))
    }
}
