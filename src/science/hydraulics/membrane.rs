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
