//! The volumes of a pond, stacked from the floor.

use super::{Basin, Needs, Over};

/// What a layer is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LayerKind {
    /// Sludge between two clean-outs.
    Sludge,
    /// The same with the earth of the forebay's berm.
    SludgeAndBerm,
    /// Water that stays: it keeps settled solids down, and no pump draws from it.
    Pool,
    /// Wash water, evened out.
    Wash,
    /// Return water and first rain, held for use.
    Reuse,
    /// Water over the settling pool that nobody ordered out: to be used, or to stay long enough.
    Stays,
    /// The storm.
    Storm,
    /// Room over the storm, where its level was set lower than it need be.
    Spare,
    /// Spill level to the crest of the emergency spillway.
    BelowCrest,
    /// Water on the emergency spillway.
    OverCrest,
    /// Spill level, or the water on the emergency spillway, to bank top.
    Freeboard,
}

impl LayerKind {
    /// Its name in print.
    pub fn words(self) -> &'static str {
        match self {
            Self::Sludge => "Sludge store",
            Self::SludgeAndBerm => "Sludge store and berm",
            Self::Pool => "Settling pool",
            Self::Wash => "Wash water",
            Self::Reuse => "Return water and first rain",
            Self::Storm => "Storm",
            Self::Stays => "Water to use, or to stay",
            Self::Spare => "Room over the storm",
            Self::BelowCrest => "Up to the emergency spillway",
            Self::OverCrest => "On the emergency spillway",
            Self::Freeboard => "Freeboard",
        }
    }

    /// Whether it lies over the spill level.
    pub fn is_over_spill(self) -> bool {
        matches!(self, Self::BelowCrest | Self::OverCrest | Self::Freeboard)
    }
}

/// A layer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Layer {
    /// What it is for.
    pub kind: LayerKind,
    /// Where it starts, m above the floor.
    pub from_m: f64,
    /// Where it ends, m above the floor.
    pub to_m: f64,
    /// Its volume, m³.
    pub volume_m3: f64,
    /// Whether all of it fits under the spill level; else this is the part that does.
    pub fits: bool,
}

/// The layers' volumes in one shape.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stack {
    /// Sludge store, m³.
    pub sludge_m3: f64,
    /// Earth of the forebay's berm, m³: counted under the sludge, where it asks for the most room.
    pub berm_m3: f64,
    /// Top of the sludge, m above the floor.
    pub sludge_top_m: f64,
    /// Top of the settling pool, m above the floor.
    pub pool_top_m: f64,
    /// Volume under the top of the pool, m³.
    pub pool_top_m3: f64,
    /// Wash water, m³.
    pub wash_m3: f64,
    /// Return water and first rain, m³.
    pub reuse_m3: f64,
    /// Volume under the top of what is held, m³.
    pub held_top_m3: f64,
    /// The storm with the rain on the pond itself, m³.
    pub storm_m3: f64,
}

impl Stack {
    /// Stacks what the site sends into a shape: sludge store and depth of the pool are given.
    pub fn of(basin: &Basin, needs: &Needs, sludge_m3: f64, berm_m3: f64, pool_m: f64) -> Self {
        let crest = basin.crest_area_m2();
        let sludge_top_m = basin.level_m(sludge_m3 + berm_m3);
        let pool_top_m = sludge_top_m + pool_m;
        let pool_top_m3 = basin.volume_m3(pool_top_m);
        let reuse_m3 = needs.return_m3 + needs.first_rain_runoff_m3 + needs.first_rain_m * crest;
        Self {
            sludge_m3,
            berm_m3,
            sludge_top_m,
            pool_top_m,
            pool_top_m3,
            wash_m3: needs.wash_m3,
            reuse_m3,
            held_top_m3: pool_top_m3 + needs.wash_m3 + reuse_m3,
            storm_m3: needs.storm_runoff_m3 + needs.storm_m * crest,
        }
    }

    /// What holds no water: sludge store and berm, m³.
    pub fn lost_m3(&self) -> f64 {
        self.sludge_m3 + self.berm_m3
    }

    /// The layers from the floor up, those without depth left out; what does not fit under the spill level ends there. `storm_from_m` is the level at which the storm finds
    /// the pond; the top of what is held where it is not given. `over` is the water on the emergency spillway.
    pub fn layers(&self, basin: &Basin, storm_from_m: Option<f64>, over: Option<&Over>) -> Vec<Layer> {
        // What is held has its room right under the storm's, so that all water below can stay.
        let least_top = basin.level_m(self.held_top_m3);
        let held_top = storm_from_m.unwrap_or(basin.depth_m).max(least_top);
        let held_top_m3 = basin.volume_m3(held_top);
        let foot = basin.level_m((held_top_m3 - self.wash_m3 - self.reuse_m3).max(0.0)).max(self.pool_top_m);
        let wash_top = basin.level_m(basin.volume_m3(foot) + self.wash_m3);
        let storm_from = held_top;
        let storm_top = basin.level_m(basin.volume_m3(storm_from) + self.storm_m3);
        let bank_m = basin.top_m();
        let crest_m = over.map_or(basin.depth_m, |over| over.crest_m.min(bank_m));
        let water_m = over.map_or(basin.depth_m, |over| over.water_m().min(bank_m));
        let sludge = if self.berm_m3 > 0.0 { LayerKind::SludgeAndBerm } else { LayerKind::Sludge };
        let tops = [
            (sludge, 0.0, self.sludge_top_m),
            (LayerKind::Pool, self.sludge_top_m, self.pool_top_m),
            (LayerKind::Stays, self.pool_top_m, foot),
            (LayerKind::Wash, foot, wash_top),
            (LayerKind::Reuse, wash_top, held_top),
            (LayerKind::Storm, storm_from, storm_top),
            (LayerKind::Spare, storm_top, basin.depth_m),
            (LayerKind::BelowCrest, basin.depth_m, crest_m),
            (LayerKind::OverCrest, crest_m, water_m),
            (LayerKind::Freeboard, water_m, bank_m),
        ];
        let most = |kind: LayerKind| if kind.is_over_spill() { bank_m } else { basin.depth_m };
        tops.into_iter()
            .map(|(kind, from_m, to_m)| (kind, from_m, to_m.min(most(kind)), to_m <= most(kind) + 1e-6))
            .filter(|(_, from, to, _)| to - from > 1e-6)
            .map(|(kind, from_m, to_m, fits)| Layer {
                kind,
                from_m,
                to_m,
                volume_m3: basin.volume_m3(to_m) - basin.volume_m3(from_m),
                fits,
            })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn layers_stand_on_one_another_and_add_up_to_the_whole_pond() {
        let basin =
            Basin { length_m: 50.0, width_m: 20.0, depth_m: 3.0, slope: 2.0, freeboard_m: 0.5, bank_m: 0.0, lie: None };
        let needs = Needs {
            wash_m3: 60.0,
            return_m3: 200.0,
            first_rain_m: 0.01,
            first_rain_runoff_m3: 80.0,
            storm_m: 0.08,
            storm_runoff_m3: 600.0,
            ..Needs::default()
        };
        let stack = Stack::of(&basin, &needs, 100.0, 50.0, 0.5);
        // Crest: 52 × 22 m; first rain on it 11.44 m³, storm 91.52 m³.
        assert_relative_eq!(stack.reuse_m3, 291.44, max_relative = 1e-12);
        assert_relative_eq!(stack.storm_m3, 691.52, max_relative = 1e-12);
        let from = basin.level_m(basin.capacity_m3() - stack.storm_m3);
        let over = Over { crest_m: 3.1, head_m: 0.15, left_m: 0.25 };
        let layers = stack.layers(&basin, Some(from), Some(&over));
        let above: Vec<(LayerKind, f64)> =
            layers.iter().filter(|one| one.kind.is_over_spill()).map(|one| (one.kind, one.to_m - one.from_m)).collect();
        assert_eq!(
            above.iter().map(|one| one.0).collect::<Vec<_>>(),
            [LayerKind::BelowCrest, LayerKind::OverCrest, LayerKind::Freeboard]
        );
        for (one, high) in above.iter().zip([0.1, 0.15, 0.25]) {
            assert_relative_eq!(one.1, high, epsilon = 1e-12);
        }
        assert_eq!(layers[0].kind, LayerKind::SludgeAndBerm);
        assert_relative_eq!(layers[0].volume_m3, 150.0, max_relative = 1e-9);
        for pair in layers.windows(2) {
            assert_relative_eq!(pair[0].to_m, pair[1].from_m, max_relative = 1e-12);
        }
        let sum: f64 = layers.iter().map(|layer| layer.volume_m3).sum();
        assert_relative_eq!(sum, basin.dug_m3(), max_relative = 1e-9);
        let storm = layers.iter().find(|layer| layer.kind == LayerKind::Storm).unwrap();
        assert_relative_eq!(storm.volume_m3, 691.52, max_relative = 1e-6);
        assert!(layers.iter().all(|one| one.fits));
    }

    #[test]
    fn a_storm_that_does_not_fit_is_stacked_as_far_as_the_spill_level() {
        // Upright, 20 × 10 m and 2 m deep: 400 m³, of which 100 m³ of pool and 200 m³ held leave 100 m³ for a storm of 300 m³.
        let basin =
            Basin { length_m: 20.0, width_m: 10.0, depth_m: 2.0, slope: 0.0, freeboard_m: 0.5, bank_m: 0.0, lie: None };
        let needs = Needs { return_m3: 200.0, storm_runoff_m3: 300.0, ..Needs::default() };
        let stack = Stack::of(&basin, &needs, 0.0, 0.0, 0.5);
        let layers = stack.layers(&basin, Some(0.5), None);
        let storm = layers.iter().find(|one| one.kind == LayerKind::Storm).unwrap();
        assert!(!storm.fits);
        assert_relative_eq!(storm.from_m, 1.5, epsilon = 1e-9);
        assert_relative_eq!(storm.to_m, 2.0, epsilon = 1e-9);
        assert_relative_eq!(storm.volume_m3, 100.0, max_relative = 1e-9);
        let under: f64 = layers.iter().filter(|one| !one.kind.is_over_spill()).map(|one| one.volume_m3).sum();
        assert_relative_eq!(under, 400.0, max_relative = 1e-9);
        // A pool that stands over the spill level ends there too, and nothing stands on it.
        let deep = Stack::of(&basin, &needs, 0.0, 0.0, 3.0).layers(&basin, None, None);
        assert_eq!(
            deep.iter().map(|one| (one.kind, one.fits)).collect::<Vec<_>>(),
            [(LayerKind::Pool, false), (LayerKind::Freeboard, true)]
        );
    }
}
