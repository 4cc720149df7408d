//! Vessels of a media bed.

use uom::si::f64::{Area, Length};

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
