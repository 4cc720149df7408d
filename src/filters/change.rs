//! A change of pieces (bags, cartridges): takes away all that was held and drains the housing.

use uom::si::f64::{Mass, Time, Volume};

use crate::filters::Events;

/// One change.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OneChange {
    /// Water drained at a change.
    pub drained: Volume,
    /// How long a change takes.
    pub lasts: Time,
}

impl OneChange {
    /// The events that such changes make, due at a load held, where one is typed.
    pub fn events(&self, load: Option<Mass>) -> Events {
        Events { load, keeps: 0.0, own_water: self.drained, clean_water: Volume::default(), lasts: self.lasts }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use uom::si::mass::kilogram;
    use uom::si::time::minute;
    use uom::si::volume::liter;

    #[test]
    fn a_change_takes_all_that_was_held_and_no_clean_water() {
        let bags = OneChange { drained: Volume::new::<liter>(40.0), lasts: Time::new::<minute>(20.0) };
        let events = bags.events(Some(Mass::new::<kilogram>(5.0)));
        assert_eq!((events.load, events.keeps), (Some(Mass::new::<kilogram>(5.0)), 0.0));
        assert_eq!((events.own_water, events.clean_water), (bags.drained, Volume::default()));
        assert_eq!(events.lasts, bags.lasts);
    }
}
