//! A whole wash of a screen or of a bed's vessels.

use uom::si::f64::{Mass, Time, Volume};

use crate::filters::Events;

/// One wash as typed: rate for each vessel and time, vessel after vessel; or a measured volume for the whole event.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OneWash {
    /// Water of the wash itself, all vessels.
    pub wash_water: Volume,
    /// Rinse to waste, all vessels: always the filter's own water.
    pub rinse_water: Volume,
    /// Drained at an event, whole filter: always its own water.
    pub drained: Volume,
    /// Whether the wash water is the filter's own.
    pub own: bool,
    /// How long an event takes, all vessels, with standing still.
    pub lasts: Time,
    /// Share of what is held that it removes.
    pub removes: f64,
}

impl OneWash {
    /// With air scour of each vessel first: it takes time, not water.
    pub fn after_scour(mut self, of_one: Time, vessels: u32) -> Self {
        self.lasts += of_one * f64::from(vessels);
        self
    }

    /// The events that such a wash makes, due at a load held.
    pub fn events(&self, load: Option<Mass>) -> Events {
        let nothing = Volume::default();
        let (own, clean) = if self.own { (self.wash_water, nothing) } else { (nothing, self.wash_water) };
        Events {
            load,
            keeps: (1.0 - self.removes).clamp(0.0, 1.0),
            own_water: own + self.rinse_water + self.drained,
            clean_water: clean,
            lasts: self.lasts,
        }
    }
}

/// The lesser of two loads that may both be typed: it governs.
pub fn least_load(a: Option<Mass>, b: Option<Mass>) -> Option<Mass> {
    match (a, b) {
        (Some(a), Some(b)) => Some(if a < b { a } else { b }),
        (a, b) => a.or(b),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use uom::si::mass::kilogram;
    use uom::si::time::minute;
    use uom::si::volume::cubic_meter;

    fn m3(value: f64) -> Volume {
        Volume::new::<cubic_meter>(value)
    }

    #[test]
    fn a_wash_takes_what_is_typed_of_whose_water_it_is() {
        let own = OneWash {
            wash_water: m3(4.0),
            rinse_water: m3(1.0),
            drained: m3(0.5),
            own: true,
            lasts: Time::new::<minute>(9.0),
            removes: 0.9,
        };
        let load = Some(Mass::new::<kilogram>(7.0));
        let events = own.events(load);
        assert_eq!((events.load, events.lasts), (load, own.lasts));
        assert_eq!((events.own_water, events.clean_water), (m3(5.5), m3(0.0)));
        assert!((events.keeps - 0.1).abs() < 1e-15);
        // With water from elsewhere rinse and drained are still its own.
        let events = OneWash { own: false, ..own }.events(load);
        assert_eq!((events.own_water, events.clean_water), (m3(1.5), m3(4.0)));
        // Three vessels, two minutes of air each.
        assert_eq!(own.after_scour(Time::new::<minute>(2.0), 3).lasts, Time::new::<minute>(15.0));
    }

    #[test]
    fn the_lesser_of_two_loads_governs_and_one_alone_stands() {
        let kg = |value| Some(Mass::new::<kilogram>(value));
        assert_eq!(least_load(kg(2.0), kg(3.0)), kg(2.0));
        assert_eq!(least_load(kg(3.0), kg(2.0)), kg(2.0));
        assert_eq!(least_load(None, kg(2.0)), kg(2.0));
        assert_eq!(least_load(kg(2.0), None), kg(2.0));
        assert_eq!(least_load(None, None), None);
    }
}
