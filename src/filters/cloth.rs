//! A roll of cloth that winds on as it loads up, or by its least advance, and carries the solids away wet.

use uom::si::areal_mass_density::kilogram_per_square_meter;
use uom::si::f64::{ArealMassDensity, Length};
use uom::si::length::meter;

use crate::filters::Winding;

/// A roll of cloth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cloth {
    /// Length of a new roll.
    pub length: Length,
    /// Width.
    pub width: Length,
    /// Dry weight of the cloth.
    pub dry_weight: ArealMassDensity,
    /// Solids it holds when it winds on.
    pub holds: ArealMassDensity,
    /// Least advance on a day on which water flows.
    pub least: Length,
    /// Wet weight of spent media over dry; 1 where nothing says.
    pub wet_over_dry: f64,
}

impl Cloth {
    /// How it winds on in a day.
    pub fn in_a_day(&self) -> Winding {
        let width_m = self.width.get::<meter>();
        let holds = self.holds.get::<kilogram_per_square_meter>() * width_m;
        let dry = self.dry_weight.get::<kilogram_per_square_meter>() * width_m;
        Winding {
            m_per_kg: if holds > 0.0 { 1.0 / holds } else { 0.0 },
            least: self.least,
            length: self.length,
            water_m3_per_m: (self.wet_over_dry - 1.0).max(0.0) * dry / 1000.0,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_roll_winds_on_by_what_it_holds() {
        let roll = Cloth {
            length: Length::new::<meter>(300.0),
            width: Length::new::<meter>(2.0),
            dry_weight: ArealMassDensity::new::<kilogram_per_square_meter>(0.03),
            holds: ArealMassDensity::new::<kilogram_per_square_meter>(0.08),
            least: Length::new::<meter>(1.0),
            wet_over_dry: 5.0,
        };
        let r = roll.in_a_day();
        // 80 g/m² on 2 m of width: 160 g a metre, 6.25 m for each kg; 4 × 60 g of water for each metre.
        assert!((r.m_per_kg - 6.25).abs() < 1e-12);
        assert!((r.water_m3_per_m - 0.000_24).abs() < 1e-15);
        // What nobody knows to hold anything winds on by its least advance alone.
        let unknown = Cloth { holds: ArealMassDensity::default(), ..roll };
        assert_eq!(unknown.in_a_day().m_per_kg, 0.0);
    }
}
