//! Earth moved for a pond in level ground: what is cut below the ground, and what is filled in the banks above it.
//!
//! The banks go all round with mitred corners: their outer sides are planes, so that at every level the ground they take is
//! a rectangle, and volumes between two levels are prismatoids.

use crate::science::numerics::root_between;

use super::{Basin, Figure};
use crate::told::Place;

/// What a ground level is said from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Datum {
    /// The bank top.
    BankTop,
    /// The spill level.
    SpillLevel,
}

/// The ground about the pond, as typed.
#[derive(Debug, Clone, PartialEq)]
pub struct Ground {
    /// So far below the datum, m; less than nothing above it.
    pub below_m: f64,
    /// What it is said from.
    pub from: Datum,
    /// As typed: `2 ft below the bank top`.
    pub text: String,
    /// The banks' outer sides, run over rise.
    pub outer: Figure,
    /// What is lost of cut earth where it is compacted in a bank, as a share; nothing when it was not typed.
    pub shrinks: Option<Figure>,
    /// What cut earth gains where it lies loose on a truck, as a share; nothing when it was not typed.
    pub swells: Option<Figure>,
    /// Where it was typed.
    pub place: Place,
}

impl Ground {
    /// How it lies about a pond of a freeboard.
    pub fn lie(&self, freeboard_m: f64) -> Lie {
        let below_top_m = match self.from {
            Datum::BankTop => self.below_m,
            Datum::SpillLevel => freeboard_m + self.below_m,
        };
        Lie { below_top_m: below_top_m.max(0.0), outer_slope: self.outer.si }
    }

    /// How far it would lie over the bank top of a pond of a freeboard, m; less than nothing under it.
    pub(super) fn over_top_m(&self, freeboard_m: f64) -> f64 {
        match self.from {
            Datum::BankTop => -self.below_m,
            Datum::SpillLevel => -self.below_m - freeboard_m,
        }
    }

    /// Fill that a cubic metre of cut makes.
    pub(super) fn fill_of_cut(&self) -> f64 {
        1.0 - self.shrinks.as_ref().map_or(0.0, |figure| figure.si)
    }

    /// The earth of a cut and a fill.
    pub fn earth(&self, cut_m3: f64, fill_m3: f64) -> Earth {
        let takes_m3 = fill_m3 / self.fill_of_cut();
        let loose = 1.0 + self.swells.as_ref().map_or(0.0, |figure| figure.si);
        Earth {
            cut_m3,
            fill_m3,
            takes_m3,
            hauled_m3: (cut_m3 - takes_m3).max(0.0) * loose,
            brought_m3: (takes_m3 - cut_m3).max(0.0) * loose,
        }
    }

    /// How far below the bank top the ground would have to lie for the cut to make the banks, m, with the floor no higher
    /// than the ground; none where no such level does.
    pub fn balanced_below_top_m(&self, basin: &Basin) -> Option<f64> {
        let at = |below_top_m: f64| Basin { lie: Some(Lie { below_top_m, outer_slope: self.outer.si }), ..*basin };
        let left = |below_top_m: f64| {
            let basin = at(below_top_m);
            basin.cut_m3() - basin.fill_m3() / self.fill_of_cut()
        };
        root_between(&left, 0.0, basin.top_m())
    }
}

/// How level ground lies about a pond.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lie {
    /// Bank top over the ground, m.
    pub below_top_m: f64,
    /// The banks' outer sides, run over rise.
    pub outer_slope: f64,
}

impl Lie {
    /// How far the banks' outer sides reach out, m.
    pub fn reach_m(self) -> f64 {
        self.below_top_m * self.outer_slope
    }
}

/// The earth of a pond.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Earth {
    /// Cut below the ground, m³ as it lies there.
    pub cut_m3: f64,
    /// Filled in the banks, m³ as it stands there.
    pub fill_m3: f64,
    /// Cut that the fill takes, m³ as it lay in the ground.
    pub takes_m3: f64,
    /// Left over and hauled away, m³ as it lies on the truck.
    pub hauled_m3: f64,
    /// Lacking and brought, m³ as it lies on the truck.
    pub brought_m3: f64,
}

/// Volume between two levels of a solid whose plan is a rectangle with plane sides, m³.
fn prismatoid((long, wide): (f64, f64), (longer, wider): (f64, f64), high: f64) -> f64 {
    let middle = 0.25 * (long + longer) * (wide + wider);
    high / 6.0 * (long * wide + 4.0 * middle + longer * wider)
}

impl Basin {
    /// Bank top above the floor, m.
    pub fn top_m(&self) -> f64 {
        self.depth_m + self.freeboard_m
    }

    /// The ground above the floor, m; below nothing where the floor stands over the ground. None where nothing is said of it.
    pub fn ground_m(&self) -> Option<f64> {
        Some(self.top_m() - self.lie?.below_top_m)
    }

    /// Length and width at the banks' foot, m: where the outer sides meet the ground.
    pub fn foot_m(&self) -> (f64, f64) {
        let (length, width) = self.crest_m();
        let more = 2.0 * (self.bank_m + self.lie.map_or(0.0, Lie::reach_m));
        (length + more, width + more)
    }

    /// Earth cut below the ground, m³; up to the bank top where nothing is said of the ground.
    pub fn cut_m3(&self) -> f64 {
        match self.ground_m() {
            Some(ground) if ground < self.top_m() => self.volume_m3(ground.max(0.0)),
            _ => self.dug_m3(),
        }
    }

    /// Earth filled in the banks and, where the floor stands over the ground, under the floor, m³.
    pub fn fill_m3(&self) -> f64 {
        self.fill_over_m3(f64::NEG_INFINITY)
    }

    /// The same, what lies under a level above the floor left out.
    pub(super) fn fill_over_m3(&self, level_m: f64) -> f64 {
        let (Some(lie), Some(ground)) = (self.lie, self.ground_m()) else { return 0.0 };
        let foot = ground.max(level_m);
        let high = self.top_m() - foot;
        if high <= 0.0 {
            return 0.0;
        }
        let (length, width) = self.crest_m();
        let top = (length + 2.0 * self.bank_m, width + 2.0 * self.bank_m);
        let out = 2.0 * high * lie.outer_slope;
        let water = self.dug_m3() - self.volume_m3(foot.max(0.0));
        prismatoid(top, (top.0 + out, top.1 + out), high) - water
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    fn ground(outer: f64, shrinks: f64) -> Ground {
        let place = Place::file("basin.yaml");
        let figure = |si: f64| Figure { si, text: String::new(), place: place.clone() };
        Ground {
            below_m: 0.0,
            from: Datum::BankTop,
            text: String::new(),
            outer: figure(outer),
            shrinks: Some(figure(shrinks)),
            swells: None,
            place: place.clone(),
        }
    }

    /// A bank's fill by another way: cross-section times the length of its middle, by Pappus and Guldin's second theorem
    /// for straight runs with mitred corners: each thin upright slice of the section at a distance x from the crest's inner
    /// edge is as long as the rectangle through it.
    fn by_slices(basin: &Basin, slices: u32) -> f64 {
        let lie = basin.lie.unwrap();
        let (length, width) = basin.crest_m();
        let (inner, outer) = (basin.slope * lie.below_top_m, lie.reach_m());
        let (from, to) = (-inner, basin.bank_m + outer);
        let step = (to - from) / f64::from(slices);
        (0..slices)
            .map(|k| {
                let x = from + (f64::from(k) + 0.5) * step;
                let high = if x < 0.0 {
                    (inner + x) / basin.slope
                } else if x <= basin.bank_m {
                    lie.below_top_m
                } else {
                    (basin.bank_m + outer - x) / lie.outer_slope
                };
                high * step * (2.0 * (length + 2.0 * x) + 2.0 * (width + 2.0 * x))
            })
            .sum()
    }

    #[test]
    fn cut_and_fill_agree_with_geometry_by_hand() {
        // Floor 8 × 4 m, 2 to 1, bank top 20 × 16 m at 3 m. Ground 1 m below the bank top: cut is the pond up to 2 m,
        // 16 × 12 m: 2/6 × (32 + 4 × 12 × 8 + 192) = 202.667 m³.
        let basin = Basin {
            length_m: 16.0,
            width_m: 12.0,
            depth_m: 2.0,
            slope: 2.0,
            freeboard_m: 1.0,
            bank_m: 3.0,
            lie: Some(Lie { below_top_m: 1.0, outer_slope: 1.5 }),
        };
        assert_relative_eq!(basin.cut_m3(), 2.0 / 6.0 * (32.0 + 384.0 + 192.0), max_relative = 1e-12);
        // Outer solid: 26 × 22 at the top, 29 × 25 at the ground: 1/6 × (572 + 4 × 27.5 × 23.5 + 725) = 647 m³ less the
        // pond within it, 1/6 × (192 + 4 × 18 × 14 + 320) = 253.333 m³.
        assert_relative_eq!(basin.fill_m3(), 647.0 - 760.0 / 3.0, max_relative = 1e-3);
        assert_relative_eq!(
            basin.fill_m3(),
            (572.0 + 4.0 * 27.5 * 23.5 + 725.0) / 6.0 - 1520.0 / 6.0,
            max_relative = 1e-12
        );
        assert_eq!(basin.foot_m(), (29.0, 25.0));
        // Level with the bank top, all of it is cut; nothing said of the ground means that too.
        let level = Basin { lie: Some(Lie { below_top_m: 0.0, outer_slope: 1.5 }), ..basin };
        assert_relative_eq!(level.cut_m3(), 456.0, max_relative = 1e-12);
        assert_eq!((level.fill_m3(), Basin { lie: None, ..basin }.fill_m3()), (0.0, 0.0));
        // The floor half a metre over the ground: nothing is cut, and what is under the floor is filled too.
        let over = Basin { lie: Some(Lie { below_top_m: 3.5, outer_slope: 1.0 }), ..basin };
        let outer = 3.5 / 6.0 * (26.0 * 22.0 + 4.0 * 29.5 * 25.5 + 33.0 * 29.0);
        assert_relative_eq!(over.fill_m3(), outer - 456.0, max_relative = 1e-12);
        assert_eq!(over.cut_m3(), 0.0);
    }

    #[test]
    fn earth_shrinks_in_the_bank_and_swells_on_the_truck() {
        let place = Place::file("basin.yaml");
        let figure = |si: f64| Some(Figure { si, text: String::new(), place: place.clone() });
        let ground = Ground { shrinks: figure(0.2), swells: figure(0.25), ..ground(2.0, 0.0) };
        // 80 m³ of bank take 100 m³ of cut; 60 m³ of 160 are left, 75 m³ on the truck.
        let left = ground.earth(160.0, 80.0);
        assert_relative_eq!(left.takes_m3, 100.0, max_relative = 1e-12);
        assert_relative_eq!(left.hauled_m3, 75.0, max_relative = 1e-12);
        assert_eq!(left.brought_m3, 0.0);
        assert_relative_eq!(ground.earth(60.0, 80.0).brought_m3, 50.0, max_relative = 1e-12);
    }

    proptest! {
        #[test]
        fn banks_by_many_upright_slices_come_to_the_closed_form(
            long in 10.0f64..80.0, shape in 0.4f64..1.0, part in 0.1f64..0.9, slope in 0.5f64..4.0, outer in 0.5f64..4.0,
            freeboard_m in 0.0f64..1.0, bank_m in 0.0f64..4.0, below in 0.05f64..1.0, shrinks in 0.0f64..0.3,
        ) {
            let width_m = long * shape;
            let depth_m = part * width_m / (2.0 * slope);
            let lie = Some(Lie { below_top_m: below * (depth_m + freeboard_m), outer_slope: outer });
            let basin = Basin { length_m: long, width_m, depth_m, slope, freeboard_m, bank_m, lie };
            let slices = by_slices(&basin, 20_000);
            prop_assert!((basin.fill_m3() - slices).abs() <= 1e-5 * slices, "{} {}", basin.fill_m3(), slices);
            // A lower ground is never less fill or more cut, and at the level of balance the one makes the other.
            let lower = Basin { lie: lie.map(|lie| Lie { below_top_m: 1.1 * lie.below_top_m, ..lie }), ..basin };
            prop_assert!(lower.fill_m3() >= basin.fill_m3() && lower.cut_m3() <= basin.cut_m3());
            let ground = ground(outer, shrinks);
            let level = ground.balanced_below_top_m(&basin).unwrap();
            let at = Basin { lie: Some(Lie { below_top_m: level, outer_slope: outer }), ..basin };
            prop_assert!((at.cut_m3() * (1.0 - shrinks) - at.fill_m3()).abs() <= 1e-6 * basin.dug_m3());
        }
    }
}
