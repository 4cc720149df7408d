//! Head loss through a clean bed of media.

use crate::science::hydraulics::records;
use crate::science::water::Water;
use crate::science::{Method, Ranged};
use uom::si::acceleration::meter_per_second_squared;
use uom::si::dynamic_viscosity::pascal_second;
use uom::si::f64::{Acceleration, Length, Pressure, Ratio, ReciprocalLength, Velocity};
use uom::si::length::meter;
use uom::si::mass_density::kilogram_per_cubic_meter;
use uom::si::pressure::pascal;
use uom::si::ratio::ratio;
use uom::si::reciprocal_length::reciprocal_meter;
use uom::si::velocity::meter_per_second;

/// A layer of media as packed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BedLayer {
    /// Grain size.
    pub grain: Length,
    /// Porosity.
    pub porosity: Ratio,
    /// Depth.
    pub depth: Length,
}

struct Flow {
    d: f64,
    eps: f64,
    depth: f64,
    v: f64,
    rho: f64,
    mu: f64,
}

impl Flow {
    fn new(bed: BedLayer, rate: Velocity, water: Water) -> Self {
        Self {
            d: bed.grain.get::<meter>(),
            eps: bed.porosity.get::<ratio>(),
            depth: bed.depth.get::<meter>(),
            v: rate.get::<meter_per_second>(),
            rho: water.density.get::<kilogram_per_cubic_meter>(),
            mu: water.viscosity.get::<pascal_second>(),
        }
    }

    fn real(&self) -> bool {
        packed(self.eps) && self.d > 0.0 && self.depth >= 0.0 && self.v >= 0.0 && self.mu > 0.0
    }

    fn answer(&self, pascals: f64, method: &'static Method) -> Ranged<Pressure> {
        Ranged::new(Pressure::new::<pascal>(pascals), method, self.real() && pascals.is_finite())
    }
}

pub(crate) fn packed(porosity: f64) -> bool {
    (0.25..=0.6).contains(&porosity)
}

/// Ergun. Record: [`records::ERGUN`].
pub fn ergun(bed: BedLayer, rate: Velocity, water: Water) -> Ranged<Pressure> {
    let f = Flow::new(bed, rate, water);
    let solid = 1.0 - f.eps;
    let laminar = 150.0 * f.mu * f.v * solid * solid / (f.d * f.d * f.eps.powi(3));
    let turbulent = 1.75 * f.rho * f.v * f.v * solid / (f.d * f.eps.powi(3));
    f.answer(f.depth * (laminar + turbulent), &records::ERGUN)
}

/// Carman. Record: [`records::CARMAN`]. No flow loses no head.
pub fn carman(bed: BedLayer, rate: Velocity, water: Water) -> Ranged<Pressure> {
    let f = Flow::new(bed, rate, water);
    if f.v == 0.0 {
        return f.answer(0.0, &records::CARMAN);
    }
    let solid = 1.0 - f.eps;
    let re = f.d * f.v * f.rho / (f.mu * solid);
    let friction = 180.0 / re + 2.871 / re.powf(0.1);
    let loss = friction * f.rho * f.v * f.v * f.depth * solid / (f.d * f.eps.powi(3));
    f.answer(loss, &records::CARMAN).and_within(re <= 600.0)
}

/// Kozeny-Carman with its constant said. Record: [`records::KOZENY_CARMAN`].
pub fn kozeny_carman(bed: BedLayer, shape: Ratio, rate: Velocity, water: Water, constant: f64) -> Ranged<Pressure> {
    let f = Flow::new(bed, rate, water);
    let size = shape.get::<ratio>() * f.d;
    let solid = 1.0 - f.eps;
    let loss = constant * f.mu * f.v * solid * solid * f.depth / (size * size * f.eps.powi(3));
    f.answer(loss, &records::KOZENY_CARMAN).and_within((120.0..=200.0).contains(&constant) && size > 0.0)
}

/// Rose, as head of water: `drag_sum` is Σ(Cd·share/size) over the sieve fractions. Record: [`records::ROSE`]. The
/// grain size of `bed` is not used: the fractions say it.
pub fn rose(
    depth: Length,
    porosity: Ratio,
    shape: Ratio,
    rate: Velocity,
    drag_sum: ReciprocalLength,
    gravity: Acceleration,
) -> Ranged<Length> {
    let eps = porosity.get::<ratio>();
    let v = rate.get::<meter_per_second>();
    let head = 1.067 * v * v * depth.get::<meter>()
        / (shape.get::<ratio>() * gravity.get::<meter_per_second_squared>() * eps.powi(4))
        * drag_sum.get::<reciprocal_meter>();
    Ranged::new(Length::new::<meter>(head), &records::ROSE, packed(eps) && v >= 0.0 && head >= 0.0 && head.is_finite())
}

#[cfg(test)]
mod tests {
    use super::*;
    use uom::si::f64::ThermodynamicTemperature;
    use uom::si::length::millimeter;
    use uom::si::thermodynamic_temperature::degree_celsius;

    fn sand(porosity: f64) -> BedLayer {
        BedLayer {
            grain: Length::new::<millimeter>(0.8),
            porosity: Ratio::new::<ratio>(porosity),
            depth: Length::new::<meter>(0.5),
        }
    }

    fn water(celsius: f64) -> Water {
        Water::at(ThermodynamicTemperature::new::<degree_celsius>(celsius)).value
    }

    #[test]
    fn cold_water_loses_more_head_than_warm() {
        let rate = Velocity::new::<meter_per_second>(0.008);
        let cold = ergun(sand(0.42), rate, water(5.0)).value;
        let warm = ergun(sand(0.42), rate, water(25.0)).value;
        assert!(cold > warm * 1.3);
    }

    #[test]
    fn an_impossible_porosity_is_marked_and_nothing_divides_by_zero_unseen() {
        let rate = Velocity::new::<meter_per_second>(0.008);
        for porosity in [0.0, 1.0, f64::NAN] {
            assert!(ergun(sand(porosity), rate, water(15.0)).outside().is_some());
            assert!(carman(sand(porosity), rate, water(15.0)).outside().is_some());
        }
        let still = Velocity::new::<meter_per_second>(0.0);
        assert_eq!(carman(sand(0.4), still, water(15.0)).value.get::<pascal>(), 0.0);
    }
}
