//! The forebay: the inlet end of the settling pool, parted off by a berm across it, where coarse solids stay and are cleaned
//! out oftener than the pond.
//!
//! It relieves no other duty: the sludge store and the settling pool are as large as without it, so that a forebay which
//! nobody cleans does the pond no harm. What settles in it goes by one stirred tank of its water surface, at each day's mean
//! flow.

use crate::science::numerics::root_between;

use super::demands::{Check, Demands, Duty, Measure};
use super::needs::share_settled;
use super::{Basin, Corners, Figure};
use crate::told::Place;

/// A forebay takes so much of the pool at the most where nothing was typed: beyond half it would be the pond.
pub const MOST_SHARE: f64 = 0.5;
/// It is cleaned out when so much of it is full, where nothing was typed: half, as UFC 3-220-10 has it for sediment ponds
/// (seen). Of its size the Connecticut stormwater quality manual has 10 % to 25 % of the water quality volume (seen).
pub const FULL_AT: f64 = 0.5;

/// A berm, which takes room where its sizes are typed.
#[derive(Debug, Clone, PartialEq)]
pub struct Berm {
    /// Its top above the floor, m.
    pub high: Figure,
    /// Width of its top, m.
    pub top: Figure,
    /// Its sides, run over rise.
    pub side: Figure,
}

/// A forebay, as typed.
#[derive(Debug, Clone, PartialEq)]
pub struct ForebayDuty {
    /// Share of all that lies under the top of the settling pool, at least.
    pub share: Option<Figure>,
    /// Depth of runoff off all ground that drains to the pond which it is to hold, m.
    pub runoff: Option<Figure>,
    /// Share at most.
    pub most: Option<Figure>,
    /// Cleaned out every so many years at the soonest, with the words typed.
    pub every: Option<(f64, String)>,
    /// Share of its volume at which it is cleaned out.
    pub full_at: Option<Figure>,
    /// Its berm, where it is to take room.
    pub berm: Option<Berm>,
    /// Where it was typed.
    pub place: Place,
}

impl ForebayDuty {
    /// Share of the pool at the most.
    pub fn most_share(&self) -> f64 {
        self.most.as_ref().map_or(MOST_SHARE, |figure| figure.si)
    }

    /// Share of its volume at which it is cleaned out.
    pub fn full_share(&self) -> f64 {
        self.full_at.as_ref().map_or(FULL_AT, |figure| figure.si)
    }

    /// Earth of the berm in a shape, m³: it stands across the floor between the two long sides.
    pub fn berm_m3(&self, basin: &Basin) -> f64 {
        let Some(berm) = &self.berm else { return 0.0 };
        let high = berm.high.si;
        let (top, side, slope) = (berm.top.si, berm.side.si, basin.slope);
        let floor = (basin.width_m - 2.0 * slope * basin.depth_m).max(0.0);
        // ∫ (top + 2 side (high − z)) (floor + 2 slope z) dz from floor to top.
        let h2 = high * high;
        floor * (top * high + side * h2) + slope * (top * h2 + 2.0 / 3.0 * side * h2 * high)
    }
}

/// A forebay in one shape.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Forebay {
    /// From the water's edge at the inlet to the berm, along the top of the settling pool, m.
    pub length_m: f64,
    /// Width of the water there, m.
    pub width_m: f64,
    /// The top of the settling pool above the floor, m.
    pub top_m: f64,
    /// What it holds under that, m³.
    pub volume_m3: f64,
    /// Of all that lies under the top of the settling pool.
    pub share: f64,
    /// Wet sludge that settles in it in a year, m³.
    pub sludge_m3_a_year: f64,
    /// Of the dry solids that come to the pond, what settles in it.
    pub kept: Option<f64>,
    /// Of the particle named, what settles in it at the design flow.
    pub settled: Option<f64>,
    /// Years until it is to be cleaned out; none where nothing settles.
    pub years: Option<f64>,
}

impl Forebay {
    /// Its water surface at the top of the settling pool, m².
    pub fn area_m2(&self) -> f64 {
        self.length_m * self.width_m
    }
}

/// The water under the top of the settling pool: length and width there, depth, slope of the sides.
#[derive(Debug, Clone, Copy)]
struct Pool {
    long_m: f64,
    wide_m: f64,
    deep_m: f64,
    slope: f64,
    /// The berm's face, run over rise, and how far under the top of the pool its crest lies, m.
    face: f64,
    crest_m: f64,
}

impl Pool {
    fn of(basin: &Basin, top_m: f64, berm: Option<&Berm>) -> Self {
        let deep_m = top_m.min(basin.depth_m);
        let in_m = 2.0 * basin.slope * (basin.depth_m - deep_m);
        Self {
            long_m: basin.length_m - in_m,
            wide_m: basin.width_m - in_m,
            deep_m,
            slope: basin.slope,
            face: berm.map_or(0.0, |berm| berm.side.si),
            crest_m: berm.map_or(deep_m, |berm| (deep_m - berm.high.si).max(0.0)),
        }
    }

    /// What lies within a distance of the inlet's edge, m³, up to half of the pool: ∫ (wide − 2 s u)(x − s u − f (u − c)) du
    /// from the top down to the floor or to where the inlet's slope and the berm's face meet; the face begins at the berm's
    /// crest, c under the top.
    fn within_m3(&self, x: f64) -> f64 {
        let (s, f) = (self.slope, self.face);
        let long = |u: f64| x - s * u - f * (u - self.crest_m).max(0.0);
        // A prismatoid from one depth to another, ended where no length is left.
        let between = |from: f64, to: f64| {
            let (at, end) = (long(from), long(to));
            let to = if end >= 0.0 {
                to
            } else if at > 0.0 {
                from + (to - from) * at / (at - end)
            } else {
                from
            };
            let section = |u: f64| (self.wide_m - 2.0 * s * u) * long(u).max(0.0);
            (to - from) / 6.0 * (section(from) + 4.0 * section(0.5 * (from + to)) + section(to))
        };
        let crest = self.crest_m.min(self.deep_m);
        between(0.0, crest) + between(crest, self.deep_m)
    }

    /// All of it, m³: with the berm.
    fn all_m3(&self) -> f64 {
        2.0 * Self { face: 0.0, ..*self }.within_m3(0.5 * self.long_m)
    }

    /// The distance within which so much lies, m.
    fn length_for(&self, m3: f64) -> f64 {
        let most = 0.5 * self.long_m;
        if m3 >= self.within_m3(most) {
            return most;
        }
        root_between(&|x| self.within_m3(x) - m3, 0.0, most).unwrap_or(0.0)
    }
}

impl Demands {
    /// Volume that the forebay is to hold by the depth of runoff that was typed, m³.
    fn forebay_runoff_m3(&self, duty: &ForebayDuty) -> f64 {
        duty.runoff.as_ref().map_or(0.0, |depth| depth.si * self.needs.drained_m2)
    }

    /// Years in which a forebay of a volume and a water surface fills as far as it may; none where nothing settles.
    fn forebay_years(&self, duty: &ForebayDuty, volume_m3: f64, area_m2: f64) -> Option<f64> {
        let rate = self.needs.sludge.wet_m3_a_year(area_m2, 1);
        (rate > 0.0).then(|| duty.full_share() * volume_m3 / rate)
    }

    /// The least forebay of a shape that is as large as asked and is cleaned out no oftener than asked, else the largest
    /// that there may be; none where none is asked for.
    pub fn forebay(&self, basin: &Basin) -> Option<Forebay> {
        let duty = self.duties.forebay.as_ref()?;
        let top_m = self.stack(basin).pool_top_m.min(basin.depth_m);
        let pool = Pool::of(basin, top_m, duty.berm.as_ref());
        let all_m3 = pool.all_m3();
        if all_m3 <= 0.0 {
            return None;
        }
        let most = pool.length_for(duty.most_share() * all_m3);
        let share = duty.share.as_ref().map_or(0.0, |figure| figure.si);
        let asked = (share * all_m3).max(self.forebay_runoff_m3(duty));
        let mut length_m = pool.length_for(asked).min(most);
        if let Some((asked, _)) = &duty.every {
            // More of it is deeper on the whole and settles less for its size: it fills more slowly.
            let over = |x: f64| {
                let years = self.forebay_years(duty, pool.within_m3(x), pool.wide_m * x);
                years.map_or(f64::INFINITY, |years| years - asked)
            };
            if over(length_m) < 0.0 {
                length_m = root_between(&over, length_m, most).unwrap_or(most);
            }
        }
        let (volume_m3, area_m2) = (pool.within_m3(length_m), length_m * pool.wide_m);
        let needs = &self.needs;
        let dry_kg = needs.sludge.dry_kg_a_year();
        Some(Forebay {
            length_m,
            width_m: pool.wide_m,
            top_m,
            volume_m3,
            share: volume_m3 / all_m3,
            sludge_m3_a_year: needs.sludge.wet_m3_a_year(area_m2, 1),
            kept: (dry_kg > 0.0).then(|| needs.sludge.settled_kg_a_year(area_m2, 1) / dry_kg),
            settled: self
                .duties
                .settle
                .is_some()
                .then(|| share_settled(area_m2, self.peak_m3_s(basin), needs.settling_m_s, 1)),
            years: self.forebay_years(duty, volume_m3, area_m2),
        })
    }

    /// The duties of the forebay at the best corners of a box of shapes.
    pub(super) fn forebay_checks(&self, corners: &Corners) -> Vec<Check> {
        let Some(duty) = &self.duties.forebay else { return Vec::new() };
        let share = duty.share.as_ref().map_or(0.0, |figure| figure.si);
        let runoff_m3 = self.forebay_runoff_m3(duty);
        let most = duty.most_share();
        let mut checks = Vec::new();
        let single = (corners.needs == corners.room && corners.room == corners.surface).then_some(corners.room);
        let (all_m3, has, years) = match single {
            Some(basin) => {
                let top_m = self.stack(&basin).pool_top_m.min(basin.depth_m);
                let held = self.forebay(&basin);
                let has = held.map_or(0.0, |held| held.share);
                (
                    Pool::of(&basin, top_m, None).all_m3(),
                    has,
                    held.map_or(0.0, |held| held.years.unwrap_or(f64::INFINITY)),
                )
            }
            None => {
                let most_there_is = self.most_pool(corners);
                let volume = most * most_there_is.m3;
                // It has at least the surface of one as deep as the pool's floor all over.
                let area = volume / most_there_is.deep_m;
                (most_there_is.m3, most, self.forebay_years(duty, volume, area).unwrap_or(f64::INFINITY))
            }
        };
        let asked = if all_m3 > 0.0 { share.max(runoff_m3 / all_m3) } else { f64::INFINITY };
        // The forebay's length is found to a hair.
        let has = if (has - asked).abs() < 1e-9 { asked } else { has };
        checks.push(Check::new(Duty::Forebay, Measure::Share, asked, has));
        if let Some((asked, _)) = &duty.every {
            let years = if (years / asked - 1.0).abs() < 1e-9 { *asked } else { years };
            checks.push(Check::new(Duty::ForebayCleanOut, Measure::YearsAtLeast, *asked, years));
        }
        checks
    }

    /// What no shape of a box has more of under the top of its settling pool. The most sludge is that of the largest
    /// surface; it stands highest under the spill level in the smallest, shallowest shape, and highest over the floor in the
    /// smallest, deepest one.
    fn most_pool(&self, corners: &Corners) -> MostPool {
        let large = &corners.surface;
        let solid_m3 = {
            let stack = self.stack(large);
            stack.sludge_m3 + self.duties.forebay.as_ref().map_or(0.0, |duty| duty.berm_m3(large))
        };
        let small = Basin { depth_m: corners.surface.depth_m.min(corners.needs.depth_m), ..corners.needs };
        let pool_m = self.pool_over_m(small.level_m(solid_m3));
        let down_m = small.depth_m - small.level_m(solid_m3) - pool_m;
        let wide = |metres: f64| (metres - 2.0 * large.slope * down_m.max(0.0)).max(0.0);
        MostPool {
            m3: solid_m3 + pool_m * wide(large.length_m) * wide(large.width_m),
            deep_m: corners.needs.level_m(solid_m3) + pool_m,
        }
    }
}

/// The most that there may be under the top of a settling pool, and how deep at the most.
struct MostPool {
    m3: f64,
    deep_m: f64,
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::{Source, yaml};
    use crate::sizing::Terms;
    use crate::sizing::{Needs, SludgeBin, SludgeInflow, read};
    use crate::told::Problems;
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    fn demands(forebay: &str) -> Demands {
        let text = format!(
            "plot: {{longest: 60 m, widest: 30 m, deepest: 4 m, steepest side: 2 to 1}}\nfreeboard: 0.5 m\n\
             settling pool: 1.5 m\nforebay: {forebay}\nleast: volume\n"
        );
        let problems = Problems::new();
        let tree = yaml::tree(&Source::new("basin.yaml", &text), &problems).unwrap();
        let duties = read(&tree, &problems).unwrap_or_else(|| panic!("{:?}", problems.in_order()));
        let sludge = SludgeInflow {
            bins: vec![SludgeBin { flow_m3_s: 0.01, kg_a_year: vec![1000.0] }],
            settling_m_s: vec![1e-4],
            wet_m3_per_kg: vec![0.01],
            ..SludgeInflow::default()
        };
        Demands {
            duties,
            needs: Needs { drained_m2: 20_000.0, sludge, ..Needs::default() },
            pool_m: 1.5,
            cells: 1,
            terms: Terms::default(),
            rate_m3_s: None,
        }
    }

    fn upright() -> Basin {
        Basin { length_m: 20.0, width_m: 10.0, depth_m: 3.0, slope: 0.0, freeboard_m: 0.5, bank_m: 0.0, lie: None }
    }

    /// Between upright walls: 20 × 10 m, 1.5 m of pool.
    #[test]
    fn a_forebay_between_upright_walls_is_as_reckoned_by_hand() {
        // A fifth: 4 m, 40 m², 60 m³. w A/Q = 1e-4 × 40 / 0.01 = 0.4, of 1 000 kg 0.4/1.4 stay: 2.857 m³ of wet sludge a
        // year; half of 60 m³ is full in 10.5 years.
        let held = demands("{share of the pool at least: 20 %}").forebay(&upright()).unwrap();
        assert_relative_eq!(held.length_m, 4.0, max_relative = 1e-9);
        assert_relative_eq!(held.area_m2(), 40.0, max_relative = 1e-9);
        assert_relative_eq!(held.kept.unwrap(), 0.4 / 1.4, max_relative = 1e-9);
        assert_relative_eq!(held.years.unwrap(), 10.5, max_relative = 1e-9);
        // 5 mm off 2 ha are 100 m³: a third of the pool.
        let held = demands("{share of the pool at least: 20 %, runoff at least: 5 mm}").forebay(&upright()).unwrap();
        assert_relative_eq!(held.share, 1.0 / 3.0, max_relative = 1e-9);
        // Every 12 years: half of 1.5 A over 10 × (A/100)/(1 + A/100) are 7.5 + 0.075 A years, so 60 m² and 6 m.
        let asked = "{share of the pool at least: 20 %, clean out no oftener than every: 12 years}";
        assert_relative_eq!(demands(asked).forebay(&upright()).unwrap().length_m, 6.0, max_relative = 1e-9);
        // No half of this pool does 16 years: 15 are in it.
        let asked = "{share of the pool at least: 20 %, clean out no oftener than every: 16 years}";
        let checks = demands(asked).forebay_checks(&Corners::of(upright()));
        assert!(checks[0].is_met() && !checks[1].is_met());
        assert_relative_eq!(checks[1].has, 15.0, max_relative = 1e-9);
    }

    #[test]
    fn a_berm_takes_room_only_where_its_sizes_are_typed() {
        let plain = demands("{share of the pool at least: 20 %}");
        assert_eq!(plain.stack(&upright()).berm_m3, 0.0);
        // 1 m high, 1 m at the top, 2 to 1: 3 m² of section across 10 m. It lifts the pool by 30 / 200 m.
        let with = demands("{share of the pool at least: 20 %, berm: {high: 1 m, top: 1 m, side: 2 to 1}}");
        assert_relative_eq!(with.stack(&upright()).berm_m3, 30.0, max_relative = 1e-12);
        assert_relative_eq!(with.stack(&upright()).pool_top_m, 1.65, max_relative = 1e-9);
        // Between sides of 2 to 1 from a floor 4 m wide it is 4, 6 and 8 m wide at floor, middle and top, 5, 3 and 1 m thick:
        // Simpson, exact for a cubic: 1/6 × (20 + 4 × 18 + 8).
        let basin = Basin { width_m: 16.0, length_m: 40.0, slope: 2.0, ..upright() };
        assert_relative_eq!(with.duties.forebay.as_ref().unwrap().berm_m3(&basin), 100.0 / 6.0, max_relative = 1e-12);
    }

    /// Between upright walls, 20 × 10 m and 1.65 m of pool: faces of 2 to 1 from 1 m up, under 0.65 m of open water.
    #[test]
    fn the_face_of_a_berm_is_taken_off_the_forebay() {
        let duty = "{share of the pool at least: 20 %, berm: {high: 1 m, top: 1 m, side: 2 to 1}}";
        let with = demands(duty);
        // A fifth of 330 m³ = 10 (1.65 x − 1): the face's wedge is 1 m high and 2 m long at the floor.
        let held = with.forebay(&upright()).unwrap();
        assert_relative_eq!(held.volume_m3, 66.0, max_relative = 1e-9);
        assert_relative_eq!(held.length_m, 7.6 / 1.65, max_relative = 1e-9);
        // A berm that stands over the pool's top has its face all the way down: 10 (t x − t²/2), t the pool’s depth.
        let high = demands("{share of the pool at least: 20 %, berm: {high: 2 m, top: 0.2 m, side: 1 to 1}}");
        let top = 1.5 + 10.0 * (0.2 * 2.0 + 4.0) / 200.0;
        let held = high.forebay(&upright()).unwrap();
        assert_relative_eq!(held.top_m, top, max_relative = 1e-9);
        let (all, wedge) = (200.0 * top, 5.0 * top * top);
        assert_relative_eq!(held.length_m, (0.2 * all + wedge) / (10.0 * top), max_relative = 1e-9);
    }

    proptest! {
        /// The other way round: upright slices along the pond, each with the section of its own place.
        #[test]
        fn what_lies_within_a_distance_is_what_many_slices_across_the_pond_come_to(
            wide in 4.0f64..30.0, longer in 1.0f64..4.0, part in 0.05f64..1.0, slope in 0.0f64..4.0, at in 0.02f64..0.5,
            face in 0.0f64..3.0, crest in 0.0f64..1.0,
        ) {
            let deep = if slope > 0.0 { part * wide / (2.0 * slope) } else { 3.0 * part };
            let pool = Pool { long_m: wide * longer, wide_m: wide, deep_m: deep, slope, face, crest_m: crest * deep };
            let x = at * pool.long_m;
            let slices = 4_000;
            let sum: f64 = (0..slices).map(|k| {
                let here = (f64::from(k) + 0.5) / f64::from(slices) * x;
                // From the top down to the floor, the inlet's slope or the berm's face, whichever comes first.
                let floor = if slope > 0.0 { deep.min(here / slope) } else { deep };
                let down = if face > 0.0 { floor.min(crest * deep + (x - here) / (face + 1e-300)) } else { floor };
                (wide * down - slope * down * down) * x / f64::from(slices)
            }).sum();
            prop_assert!((pool.within_m3(x) - sum).abs() <= 1e-4 * sum, "{} {}", pool.within_m3(x), sum);
            // And all of it, berm and all, is the prismoid.
            let all = deep / 6.0 * (wide * pool.long_m
                + 4.0 * (wide - slope * deep) * (pool.long_m - slope * deep)
                + (wide - 2.0 * slope * deep) * (pool.long_m - 2.0 * slope * deep));
            prop_assert!((pool.all_m3() - all).abs() <= 1e-9 * all);
            prop_assert!((pool.length_for(pool.within_m3(x)) - x).abs() <= 1e-6 * x);
        }

        /// More of a pool never fills sooner, which the least forebay is found by.
        #[test]
        fn a_larger_forebay_never_fills_sooner(slope in 0.0f64..3.0, share in 5.0f64..25.0, more in 1.0f64..2.0) {
            let basin = Basin { length_m: 40.0, width_m: 20.0, slope, ..upright() };
            let years = |share: f64| {
                let held = demands(&format!("{{share of the pool at least: {share:.9} %}}")).forebay(&basin).unwrap();
                held.years.unwrap()
            };
            prop_assert!(years(share * more) >= years(share) * (1.0 - 1e-9));
        }
    }
}
