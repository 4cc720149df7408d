//! One candidate: a rectangular pond with plane sides, a freeboard and a bank.

use uom::si::area::square_meter;
use uom::si::f64::{Length, Ratio, Volume};
use uom::si::length::meter;
use uom::si::ratio::ratio;
use uom::si::volume::cubic_meter;

use crate::facility::model::UnitSystem;
use crate::science::ponds::{Prismoid, Shape};

use super::Lie;

/// A foot, m.
const FOOT_M: f64 = 0.3048;
/// A size that is so little over a whole step is that step: feet and metres are turned into one another by it, m.
const HAIR_M: f64 = 1e-7;

/// Steps in which sides and levels are printed, m: what a tape and a level are read to (common practice, no source).
fn printed_steps_m(system: UnitSystem) -> (f64, f64) {
    match system {
        UnitSystem::Us => (0.1 * FOOT_M, 0.01 * FOOT_M),
        UnitSystem::Metric => (0.01, 0.01),
    }
}

/// A size at the step next above, so that what is printed holds no less.
fn up(m: f64, step_m: f64) -> f64 {
    ((m - HAIR_M) / step_m).ceil() * step_m
}

/// A size at the step next below.
fn down(m: f64, step_m: f64) -> f64 {
    ((m + HAIR_M) / step_m).floor() * step_m
}

/// A level as it is printed, m: the nearest step.
pub(super) fn printed_level_m(system: UnitSystem, m: f64) -> f64 {
    let (_, step_m) = printed_steps_m(system);
    (m / step_m).round() * step_m
}

/// A pond that could be dug: length and width of the water at the spill level, depth from floor to spill level.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Basin {
    /// Length at the spill level, m.
    pub length_m: f64,
    /// Width at the spill level, m.
    pub width_m: f64,
    /// Floor to spill level, m.
    pub depth_m: f64,
    /// Run over rise of the sides.
    pub slope: f64,
    /// Bank top over the spill level, m.
    pub freeboard_m: f64,
    /// Width of the bank's top all round, m.
    pub bank_m: f64,
    /// How the ground lies about it, where that is known.
    pub lie: Option<Lie>,
}

impl Basin {
    /// The same as it is printed: sides and depth at the step next above.
    #[must_use]
    pub fn printed(&self, system: UnitSystem) -> Self {
        self.rounded(system, up)
    }

    /// The same with sides and depth at the step next below.
    #[must_use]
    pub(super) fn rounded_down(&self, system: UnitSystem) -> Self {
        self.rounded(system, down)
    }

    fn rounded(&self, system: UnitSystem, to: fn(f64, f64) -> f64) -> Self {
        let (side_m, level_m) = printed_steps_m(system);
        Self {
            length_m: to(self.length_m, side_m),
            width_m: to(self.width_m, side_m),
            depth_m: to(self.depth_m, level_m),
            ..*self
        }
    }

    /// The narrower of the floor's two sides, m.
    pub fn floor_m(&self) -> f64 {
        self.length_m.min(self.width_m) - 2.0 * self.slope * self.depth_m
    }

    /// Its shape up to the spill level; none where the sides meet before they reach the floor.
    pub fn shape(&self) -> Option<Shape> {
        let m = Length::new::<meter>;
        Prismoid::new(m(self.length_m), m(self.width_m), m(self.depth_m), Ratio::new::<ratio>(self.slope))
            .ok()
            .map(Shape::Prismoid)
    }

    /// Water area at a level above the floor, m²; the sides are carried on above the spill level.
    pub fn area_m2(&self, level_m: f64) -> f64 {
        self.shape().map_or(0.0, |shape| shape.area_at(Length::new::<meter>(level_m)).value.get::<square_meter>())
    }

    /// Volume under a level above the floor, m³; the sides are carried on above the spill level.
    pub fn volume_m3(&self, level_m: f64) -> f64 {
        self.shape().map_or(0.0, |shape| shape.volume_at(Length::new::<meter>(level_m)).value.get::<cubic_meter>())
    }

    /// Level above the floor at which it holds a volume, m; the sides are carried on above the spill level.
    pub fn level_m(&self, volume_m3: f64) -> f64 {
        self.shape().map_or(0.0, |shape| shape.level_at(Volume::new::<cubic_meter>(volume_m3)).value.get::<meter>())
    }

    /// Volume at the spill level, m³.
    pub fn capacity_m3(&self) -> f64 {
        self.volume_m3(self.depth_m)
    }

    /// Length and width at the bank top's inner edge, m.
    pub fn crest_m(&self) -> (f64, f64) {
        let more = 2.0 * self.slope * self.freeboard_m;
        (self.length_m + more, self.width_m + more)
    }

    /// Area within the bank top's inner edge, m²: what rain falls on.
    pub fn crest_area_m2(&self) -> f64 {
        let (length, width) = self.crest_m();
        length * width
    }

    /// Length and width over the banks, m; as far as their outer sides reach, where something is said of the ground.
    pub fn over_banks_m(&self) -> (f64, f64) {
        self.foot_m()
    }

    /// Ground over the banks, m².
    pub fn footprint_m2(&self) -> f64 {
        let (length, width) = self.over_banks_m();
        length * width
    }

    /// Volume up to the bank top, m³: what is dug where the ground is level with it.
    pub fn dug_m3(&self) -> f64 {
        self.volume_m3(self.depth_m + self.freeboard_m)
    }

    /// Floor and sides up to the bank top, m²: what a lining covers, without overlaps and anchor trenches.
    pub fn lined_m2(&self) -> f64 {
        let height = self.depth_m + self.freeboard_m;
        let (length, width) = self.crest_m();
        let floor = self.area_m2(0.0);
        if self.slope > 0.0 {
            floor + (length * width - floor) * (1.0 + self.slope * self.slope).sqrt() / self.slope
        } else {
            floor + 2.0 * (length + width) * height
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn what_is_dug_and_lined_agrees_with_geometry_by_hand() {
        // Floor 8 × 4 m, 2 to 1, 2 m to the spill level and 1 m of freeboard: crest 20 × 16 m at 3 m.
        let basin =
            Basin { length_m: 16.0, width_m: 12.0, depth_m: 2.0, slope: 2.0, freeboard_m: 1.0, bank_m: 3.0, lie: None };
        assert_eq!(basin.crest_m(), (20.0, 16.0));
        assert_eq!(basin.over_banks_m(), (26.0, 22.0));
        // Prismatoid: 3/6 × (32 + 4 × 14 × 10 + 320) = 456 m³.
        assert_relative_eq!(basin.dug_m3(), 456.0, max_relative = 1e-12);
        // Two sides ½(20 + 8)·√45, two ends ½(16 + 4)·√45, floor 32 m².
        assert_relative_eq!(basin.lined_m2(), 32.0 + 48.0 * 45f64.sqrt(), max_relative = 1e-12);
        let upright = Basin { slope: 0.0, ..basin };
        assert_relative_eq!(upright.lined_m2(), 16.0 * 12.0 + 2.0 * 28.0 * 3.0);
    }

    #[test]
    fn a_pond_whose_sides_meet_is_no_candidate() {
        let basin =
            Basin { length_m: 30.0, width_m: 10.0, depth_m: 3.0, slope: 3.0, freeboard_m: 0.3, bank_m: 0.0, lie: None };
        assert_eq!(basin.shape(), None);
        assert_eq!(basin.capacity_m3(), 0.0);
    }
}
