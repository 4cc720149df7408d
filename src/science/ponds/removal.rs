//! Share of particles of one settling velocity that a basin removes, in closed form.

use crate::science::ponds::records;
use crate::science::{Method, Ranged};
use uom::si::area::square_meter;
use uom::si::f64::{Area, Length, Ratio, Time, Velocity, VolumeRate};
use uom::si::length::meter;
use uom::si::ratio::ratio;
use uom::si::time::second;
use uom::si::velocity::meter_per_second;
use uom::si::volume_rate::cubic_meter_per_second;

/// A basin in steady flow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Basin {
    /// Water area.
    pub area: Area,
    /// Flow through it.
    pub flow: VolumeRate,
}

impl Basin {
    /// w·A/Q, and whether all three can be.
    fn number(&self, settling: Velocity) -> (f64, bool) {
        let (w, a, q) = (
            settling.get::<meter_per_second>(),
            self.area.get::<square_meter>(),
            self.flow.get::<cubic_meter_per_second>(),
        );
        let real = w >= 0.0 && a >= 0.0 && q > 0.0;
        (if real { w * a / q } else { f64::NAN }, real)
    }
}

fn share(value: f64, method: &'static Method, within: bool) -> Ranged<Ratio> {
    Ranged::new(Ratio::new::<ratio>(value), method, within)
}

/// Overflow rate. Record: [`records::OVERFLOW_RATE`].
pub fn overflow_rate(basin: Basin) -> Ranged<Velocity> {
    let area = basin.area.get::<square_meter>();
    let rate = basin.flow.get::<cubic_meter_per_second>() / area;
    let real = area > 0.0;
    Ranged::new(Velocity::new::<meter_per_second>(if real { rate } else { f64::NAN }), &records::OVERFLOW_RATE, real)
}

/// Ideal basin by Hazen and Camp. Record: [`records::HAZEN`]: an upper bound for a real pond.
pub fn hazen(basin: Basin, settling: Velocity) -> Ranged<Ratio> {
    let (number, real) = basin.number(settling);
    // `min` would turn a value of no number into one.
    share(if number > 1.0 { 1.0 } else { number }, &records::HAZEN, real)
}

/// Stirred tanks in series. Record: [`records::TANKS_IN_SERIES`].
pub fn tanks_in_series(basin: Basin, settling: Velocity, tanks: u32) -> Ranged<Ratio> {
    let (number, real) = basin.number(settling);
    let n = f64::from(tanks);
    share(1.0 - (1.0 + number / n).powf(-n), &records::TANKS_IN_SERIES, real && (1..=1000).contains(&tanks))
}

/// Basin stirred over its depth. Record: [`records::EXPONENTIAL`].
pub fn exponential(basin: Basin, settling: Velocity) -> Ranged<Ratio> {
    let (number, real) = basin.number(settling);
    share(-(-number).exp_m1(), &records::EXPONENTIAL, real)
}

/// Still water of a depth, after a time. Record: [`records::QUIESCENT`].
pub fn quiescent(settling: Velocity, time: Time, depth: Length) -> Ranged<Ratio> {
    let (w, t, h) = (settling.get::<meter_per_second>(), time.get::<second>(), depth.get::<meter>());
    let real = w >= 0.0 && t >= 0.0 && h > 0.0;
    let fallen = if real { w * t / h } else { f64::NAN };
    share(if fallen > 1.0 { 1.0 } else { fallen }, &records::QUIESCENT, real)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn basin(flow: f64) -> Basin {
        Basin { area: Area::new::<square_meter>(500.0), flow: VolumeRate::new::<cubic_meter_per_second>(flow) }
    }

    #[test]
    fn more_tanks_remove_more_and_none_beats_the_ideal_basin() {
        let w = Velocity::new::<meter_per_second>(2e-4);
        let mut before = Ratio::new::<ratio>(0.0);
        for tanks in [1, 2, 3, 5, 50] {
            let removed = tanks_in_series(basin(0.1), w, tanks).value;
            assert!(removed > before && removed < hazen(basin(0.1), w).value);
            before = removed;
        }
        assert!(before < exponential(basin(0.1), w).value);
    }

    #[test]
    fn a_basin_without_flow_has_no_steady_share() {
        let w = Velocity::new::<meter_per_second>(2e-4);
        for removed in [hazen(basin(0.0), w), tanks_in_series(basin(0.0), w, 3), exponential(basin(0.0), w)] {
            assert!(removed.outside().is_some() && removed.value.get::<ratio>().is_nan());
        }
        assert!(overflow_rate(Basin { area: Area::new::<square_meter>(0.0), ..basin(1.0) }).outside().is_some());
    }
}
