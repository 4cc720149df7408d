//! A membrane: part of what comes to it passes, the rest flows off all the time with what was held back.

use uom::si::f64::Ratio;
use uom::si::ratio::ratio;

/// What a membrane lets pass and what it turns back.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rejecting {
    /// Share of what comes that leaves as reject.
    pub of_the_feed: Ratio,
    /// Share of what is dissolved that it keeps out of the permeate.
    pub dissolved_held_back: Ratio,
}

impl Rejecting {
    /// At a recovery: what does not pass is rejected.
    pub fn at_recovery(recovery: Ratio, dissolved_held_back: Ratio) -> Self {
        Self { of_the_feed: Ratio::new::<ratio>(1.0) - recovery, dissolved_held_back }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_recovered_is_rejected() {
        let membrane = Rejecting::at_recovery(Ratio::new::<ratio>(0.75), Ratio::new::<ratio>(0.98));
        assert_eq!(membrane.of_the_feed.get::<ratio>(), 0.25);
        assert_eq!(membrane.dissolved_held_back.get::<ratio>(), 0.98);
    }
}
