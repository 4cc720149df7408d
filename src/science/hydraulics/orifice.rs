//! Flow through an orifice.

use crate::science::Ranged;
use crate::science::hydraulics::records;
use std::f64::consts::PI;
use uom::si::acceleration::meter_per_second_squared;
use uom::si::f64::{Acceleration, Length, Ratio, VolumeRate};
use uom::si::length::meter;
use uom::si::ratio::ratio;
use uom::si::volume_rate::cubic_meter_per_second;

/// Flow through a round orifice under a head to its centre. Record: [`records::ORIFICE`]. No head, no flow.
pub fn orifice(diameter: Length, coefficient: Ratio, head: Length, gravity: Acceleration) -> Ranged<VolumeRate> {
    let (d, h) = (diameter.get::<meter>(), head.get::<meter>());
    let speed = if h <= 0.0 { 0.0 } else { (2.0 * gravity.get::<meter_per_second_squared>() * h).sqrt() };
    let flow = coefficient.get::<ratio>() * PI / 4.0 * d * d * speed;
    Ranged::new(
        VolumeRate::new::<cubic_meter_per_second>(flow),
        &records::ORIFICE,
        (h <= 0.0 || h >= 0.5 * d) && flow.is_finite() && d >= 0.0,
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_holds_from_half_a_diameter_of_head_and_where_nothing_flows() {
        let of = |d: f64, h: f64| {
            let g = Acceleration::new::<meter_per_second_squared>(9.80665);
            orifice(Length::new::<meter>(d), Ratio::new::<ratio>(0.6), Length::new::<meter>(h), g)
        };
        // 0.6 · π/4 · 0.2² · √(2 · 9.80665 · 1) = 0.083 479 m³/s.
        assert!((of(0.2, 1.0).value.get::<cubic_meter_per_second>() - 0.083_479).abs() < 5e-7);
        assert_eq!(of(0.2, 1.0).outside(), None);
        // Its rim must be covered: at half the diameter it just is.
        assert_eq!(of(0.2, 0.1).outside(), None);
        assert!(of(0.2, 0.099).outside().is_some());
        for none in [0.0, -0.3] {
            assert_eq!(of(0.2, none).value.get::<cubic_meter_per_second>(), 0.0);
            assert_eq!(of(0.2, none).outside(), None);
        }
        assert!(of(-0.2, 1.0).outside().is_some());
        assert!(of(0.2, f64::INFINITY).outside().is_some());
    }
}
