//! Shallow media bed: vessels washed one after another.

use uom::si::f64::{Area, ArealMassDensity, Length, Mass};

use crate::filters::{Behaviour, OneWash};

/// Vessels of a media bed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bed {
    /// Vessels.
    pub vessels: u32,
    /// Inner diameter of one.
    pub diameter: Length,
}

impl Bed {
    /// Area of one vessel: π/4·d².
    pub fn area_of_one(&self) -> Area {
        self.diameter * self.diameter * std::f64::consts::FRAC_PI_4
    }

    /// Area of all vessels.
    pub fn area(&self) -> Area {
        self.area_of_one() * f64::from(self.vessels)
    }
}

/// A shallow media bed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ShallowMediaBed {
    /// Its vessels.
    pub bed: Bed,
    /// One wash of all vessels.
    pub wash: OneWash,
    /// Solids held before a wash, on the beds' area.
    pub holds_before: Option<ArealMassDensity>,
    /// Solids held before a wash, whole filter.
    pub load: Option<Mass>,
}

impl ShallowMediaBed {
    /// What it does in a day. The lesser load governs where both are typed.
    pub fn behaviour(&self) -> Behaviour {
        Behaviour::Events(self.wash.events(least_load(self.holds_before.map(|load| load * self.bed.area()), self.load)))
    }
}

/// The lesser of two loads that may both be typed.
pub(super) fn least_load(a: Option<Mass>, b: Option<Mass>) -> Option<Mass> {
    match (a, b) {
        (Some(a), Some(b)) => Some(if a < b { a } else { b }),
        (a, b) => a.or(b),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use uom::si::area::square_meter;
    use uom::si::length::meter;

    #[test]
    fn three_vessels_of_1_2_m_have_3_393_square_metres() {
        // Worked by hand: 3·π/4·1.2² = 3.3929.
        let bed = Bed { vessels: 3, diameter: Length::new::<meter>(1.2) };
        assert!((bed.area().get::<square_meter>() - 3.3929).abs() < 5e-5);
    }
}
