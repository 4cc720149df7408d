//! Leaching fraction of containers.

use crate::science::Ranged;
use crate::science::hydrology::records;
use uom::si::f64::{Ratio, Time, Volume};
use uom::si::ratio::ratio;

/// The most that is advised for container crops (UF/IFAS EDIS ENH1268 and University of Maryland Extension, seen):
/// printed beside a user's figure, never a default.
pub const GREATEST_TARGET_LEACHING_FRACTION: f64 = 0.15;

/// Leaching fraction: leachate over the water that entered the container. Record: [`records::LEACHING`]. It is not the
/// runoff fraction of the bed: water that fell between the containers never entered one.
pub fn leaching_fraction(leachate: Volume, entered: Volume) -> Ranged<Ratio> {
    let fraction = leachate / entered;
    Ranged::new(fraction, &records::LEACHING, (0.0..=1.0).contains(&fraction.get::<ratio>()))
}

/// Water to apply so that `retained` stays and the fraction drains. Record: [`records::LEACHING`].
pub fn irrigation_for_leaching_fraction(retained: Volume, fraction: Ratio) -> Ranged<Volume> {
    Ranged::new(
        retained / (Ratio::new::<ratio>(1.0) - fraction),
        &records::LEACHING,
        (0.0..1.0).contains(&fraction.get::<ratio>()),
    )
}

/// Run time that brings the leaching fraction to a target, retained water unchanged. Record: [`records::LEACHING`].
pub fn run_time_for_leaching_fraction(run_time: Time, now: Ratio, target: Ratio) -> Ranged<Time> {
    let one = Ratio::new::<ratio>(1.0);
    Ranged::new(
        run_time * ((one - now) / (one - target)),
        &records::LEACHING,
        (0.0..1.0).contains(&now.get::<ratio>()) && (0.0..1.0).contains(&target.get::<ratio>()),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use uom::si::volume::liter;

    #[test]
    fn more_drained_than_entered_is_marked() {
        let odd = leaching_fraction(Volume::new::<liter>(3.0), Volume::new::<liter>(2.0));
        assert!(odd.outside().is_some());
        assert!(leaching_fraction(Volume::new::<liter>(0.0), Volume::new::<liter>(0.0)).outside().is_some());
    }
}
