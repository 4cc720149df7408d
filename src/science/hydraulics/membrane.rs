//! How a membrane parts what it is fed into permeate and reject.

use crate::science::Ranged;
use crate::science::hydraulics::records;
use uom::si::f64::{Ratio, Volume};
use uom::si::ratio::ratio;
use uom::si::volume::cubic_meter;

/// Feed and reject for so much permeate at a recovery. Record: [`records::MEMBRANE_RECOVERY`].
pub fn feed_and_reject(permeate: Volume, recovery: Ratio) -> Ranged<(Volume, Volume)> {
    let passes = recovery.get::<ratio>();
    let feed = permeate / recovery;
    let holds = passes > 0.0 && passes <= 1.0 && permeate.get::<cubic_meter>() >= 0.0;
    Ranged::new((feed, feed - permeate), &records::MEMBRANE_RECOVERY, holds)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn three_of_four_parts_pass_and_no_recovery_is_above_all() {
        let of = |recovery: f64, permeate: f64| {
            feed_and_reject(Volume::new::<cubic_meter>(permeate), Ratio::new::<ratio>(recovery))
        };
        let (feed, reject) = of(0.75, 30.0).value;
        assert!((feed.get::<cubic_meter>() - 40.0).abs() < 1e-12 && (reject.get::<cubic_meter>() - 10.0).abs() < 1e-12);
        for (recovery, permeate) in [(0.75, 30.0), (1.0, 30.0), (0.5, 0.0)] {
            assert_eq!(of(recovery, permeate).outside(), None, "{recovery} of {permeate}");
        }
        for (recovery, permeate) in [(0.0, 30.0), (1.01, 30.0), (-0.5, 30.0), (0.5, -1.0)] {
            assert!(of(recovery, permeate).outside().is_some(), "{recovery} of {permeate}");
        }
    }
}
