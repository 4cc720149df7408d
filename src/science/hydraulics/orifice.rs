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
