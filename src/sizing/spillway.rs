//! What a crest that was typed leaves of the freeboard at a flow that was typed. Nothing is sized here: a licensed engineer
//! designs a spillway.

use uom::si::f64::{Length, VolumeRate};
use uom::si::length::meter;
use uom::si::volume_rate::cubic_meter_per_second;

use super::{Basin, Figure};
use crate::science::hydraulics::broad_crested_head_us;
use crate::told::Place;

/// Weir coefficient where none was typed, US units: the low end for earth (common practice, no source).
pub const USUAL_WEIR_US: f64 = 2.6;

/// A weir coefficient in US units, ft^0.5/s, for one of m^0.5/s.
pub fn us_for_metric(coefficient: f64) -> f64 {
    coefficient / 0.3048_f64.sqrt()
}

/// An emergency spillway, as typed.
#[derive(Debug, Clone, PartialEq)]
pub struct SpillwayDuty {
    /// Its crest over the spill level, m.
    pub crest: Figure,
    /// Length of the crest across the flow, m.
    pub wide: Figure,
    /// Weir coefficient, ft^0.5/s, with the words typed; the usual one where none was.
    pub coefficient: (f64, Option<String>),
    /// The flow over it, m³/s.
    pub flow: Figure,
    /// Who says so.
    pub flow_source: String,
    /// Freeboard left over the water, m, at least.
    pub least: Figure,
    /// Where it was typed.
    pub place: Place,
}

/// The water over a spillway.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Over {
    /// The crest above the floor, m.
    pub crest_m: f64,
    /// Head over the crest, m.
    pub head_m: f64,
    /// Bank top over the water, m; less than nothing where it runs over the bank.
    pub left_m: f64,
}

impl Over {
    /// The water above the floor, m.
    pub fn water_m(&self) -> f64 {
        self.crest_m + self.head_m
    }
}

impl SpillwayDuty {
    /// The water of a shape at the flow, all of which is taken to go over the crest.
    pub fn over(&self, basin: &Basin) -> Over {
        let head = broad_crested_head_us(
            self.coefficient.0,
            Length::new::<meter>(self.wide.si),
            VolumeRate::new::<cubic_meter_per_second>(self.flow.si),
        );
        let head_m = head.value.get::<meter>();
        Over { crest_m: basin.depth_m + self.crest.si, head_m, left_m: basin.freeboard_m - self.crest.si - head_m }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    fn duty(crest_m: f64, wide_m: f64, us: f64, flow_m3_s: f64) -> SpillwayDuty {
        let place = Place::file("basin.yaml");
        let figure = |si: f64| Figure { si, text: String::new(), place: place.clone() };
        SpillwayDuty {
            crest: figure(crest_m),
            wide: figure(wide_m),
            coefficient: (us, None),
            flow: figure(flow_m3_s),
            flow_source: String::new(),
            least: figure(0.0),
            place: place.clone(),
        }
    }

    const FOOT_M: f64 = 0.3048;
    const CFS: f64 = 0.028_316_846_592;

    fn basin() -> Basin {
        Basin {
            length_m: 40.0,
            width_m: 20.0,
            depth_m: 2.0,
            slope: 2.0,
            freeboard_m: 3.0 * FOOT_M,
            bank_m: 3.0,
            lie: None,
        }
    }

    /// A published exercise of a university's course on channels (San Diego State, CIVE 530): 44.22 ft³/s over 20 ft of
    /// crest with 3.09 stand 0.8 ft deep.
    #[test]
    fn a_published_weir_stands_as_deep_as_its_exercise_says() {
        let over = duty(1.0 * FOOT_M, 20.0 * FOOT_M, 3.09, 44.22 * CFS).over(&basin());
        assert_relative_eq!(over.head_m, 0.8 * FOOT_M, max_relative = 2e-4);
        assert_relative_eq!(over.water_m(), 2.0 + 1.8 * FOOT_M, max_relative = 2e-4);
        // 3 ft of freeboard, the crest 1 ft up: 1.2 ft are left.
        assert_relative_eq!(over.left_m, 1.2 * FOOT_M, max_relative = 2e-4);
    }

    #[test]
    fn a_coefficient_in_metres_is_the_same_weir() {
        // The ideal of critical depth: (2/3)^1.5 √9.80665 = 1.7046 in metres, 3.087 in feet.
        assert_relative_eq!(us_for_metric((2.0_f64 / 3.0).powf(1.5) * 9.80665_f64.sqrt()), 3.087, max_relative = 1e-3);
    }

    proptest! {
        #[test]
        fn a_higher_crest_a_narrower_one_or_more_flow_never_leaves_more_freeboard(
            crest in 0.0f64..1.0, wide in 1.0f64..20.0, us in 2.3f64..3.1, flow in 0.001f64..5.0, more in 1.0f64..2.0,
        ) {
            let left = |duty: SpillwayDuty| duty.over(&basin()).left_m;
            let now = left(duty(crest, wide, us, flow));
            for worse in [
                duty(crest * more, wide, us, flow), duty(crest, wide / more, us, flow),
                duty(crest, wide, us, flow * more), duty(crest, wide, us / more, flow),
            ] {
                prop_assert!(left(worse) <= now + 1e-12);
            }
        }
    }
}
