//! Laws of the least pond, on duties that need no weather, and every shape of a fine grid as their judge.

use super::*;
use crate::files::{Source, yaml};
use crate::told::Problems;
use proptest::prelude::*;
use std::convert::Infallible;

/// A small question: plot and duties.
#[derive(Debug, Clone)]
struct Question {
    longest_m: f64,
    widest_m: f64,
    deepest_m: f64,
    slope: f64,
    freeboard_m: f64,
    settled: f64,
    storm_m: f64,
    runoff_m3: f64,
    held_m3: f64,
    /// Hours that 10 m³/h are to stay, where that is asked.
    detained_h: Option<f64>,
    /// Whether something draws it down to the settling pool, and rain at the peak on the pond, mm/h.
    drawn: bool,
    rain_mm_h: f64,
    least: &'static str,
    steps: &'static str,
    from: &'static str,
    ground: Option<Lies>,
    forebay: Option<Asked>,
}

/// What a forebay is asked for.
#[derive(Debug, Clone, Copy)]
struct Asked {
    share: f64,
    runoff_mm: f64,
    years: f64,
    berm_m: f64,
    kg_a_year: f64,
}

/// How the ground lies, and what moving its earth costs.
#[derive(Debug, Clone)]
struct Lies {
    /// Of the depth at most and freeboard, so much lies over the ground.
    over: f64,
    outer: f64,
    shrinks: f64,
    swells: f64,
    prices: [f64; 4],
}

impl Question {
    fn demands(&self) -> Demands {
        let ground = self.ground.as_ref().map_or_else(String::new, |lies| {
            format!(
                "ground: {{level: {:.6} m below the bank top, outer side: {} to 1, shrinks: {:.4} %, swells: {:.4} %}}\n",
                lies.over * (self.deepest_m + self.freeboard_m),
                lies.outer,
                lies.shrinks,
                lies.swells
            )
        });
        let cost = self.ground.as_ref().map_or_else(
            || "dug: 8 EUR per m3".to_owned(),
            |lies| {
                let [dug, banked, hauled, brought] = lies.prices;
                format!("dug: {dug:.3} EUR per m3, banked: {banked:.3} EUR per m3, hauled: {hauled:.3} EUR per m3, brought: {brought:.3} EUR per m3")
            },
        );
        let forebay = self.forebay.map_or_else(String::new, |of| {
            format!(
                "forebay: {{share of the pool at least: {:.6} %, runoff at least: {:.6} mm, clean out no oftener than every: {} days, berm: {{high: {:.6} m, top: 0.5 m, side: 1 to 1}}}}\nclean out: {{no oftener than every: 3 years}}\n",
                of.share,
                of.runoff_mm,
                (365.25 * of.years).ceil(),
                of.berm_m
            )
        });
        let detention = self
            .detained_h
            .map_or_else(String::new, |hours| format!("detention: {{at least: {hours:.6} h, flow: 10 m3/h}}\noverflow rate: {{at most: 0.3 mm/s, flow: 30 m3/h}}\n"));
        let text = format!(
            "{detention}{forebay}{ground}plot: {{longest: {:.6} m, widest: {:.6} m, deepest: {:.6} m, steepest side: {} to 1, bank all round: 0.5 m}}\n\
             freeboard: {:.6} m\nsettling pool: 0.2 m\n\
             settle: {{particle: 20 um, density: 2.65 times water, water temperature: 10 C, at least: {:.6} %, flow: 30 m3/h, flow from: pump}}\n\
             hold: {{return water: 1 day}}\n\
             storm: {{every: 10 years, lasting: 24 h, from: {}}}\n\
             storm depths: {{source: table, depths: [{{every: 10 years, lasting: 24 h, depth: 60 mm}}]}}\n\
             least: {}\ncost: {{{cost}, lined: 2 EUR per m2}}\n{}",
            self.longest_m,
            self.widest_m,
            self.deepest_m,
            self.slope,
            self.freeboard_m,
            self.settled,
            self.from,
            self.least,
            self.steps
        );
        let problems = Problems::new();
        let tree = yaml::tree(&Source::new("basin.yaml", &text), &problems).unwrap();
        let duties = read(&tree, &problems).unwrap_or_else(|| panic!("{:?}", problems.in_order()));
        let needs = Needs {
            return_m3: self.held_m3,
            storm_m: self.storm_m,
            storm_runoff_m3: self.runoff_m3,
            peak_m3_s: 30.0 / 3600.0,
            detained_m3_s: 10.0 / 3600.0,
            peak_rain_m_s: self.rain_mm_h / 3.6e6,
            overflow_rain_m_s: self.rain_mm_h / 3.6e6,
            detained_rain_m_s: self.rain_mm_h / 3.6e6,
            overflow_m3_s: 30.0 / 3600.0,
            is_drawn: self.drawn,
            settling_m_s: 2.7e-4,
            drained_m2: 5_000.0,
            sludge: self.forebay.map_or_else(SludgeInflow::default, |of| SludgeInflow {
                bins: vec![
                    SludgeBin { flow_m3_s: 0.002, kg_a_year: vec![0.5 * of.kg_a_year, 0.1 * of.kg_a_year] },
                    SludgeBin { flow_m3_s: 0.02, kg_a_year: vec![0.3 * of.kg_a_year, 0.1 * of.kg_a_year] },
                ],
                settling_m_s: vec![2e-4, 2e-6],
                wet_m3_per_kg: vec![0.008, 0.012],
                ..SludgeInflow::default()
            }),
            ..Needs::default()
        };
        Demands { duties, needs, pool_m: 0.2, cells: 2, terms: Terms::default(), rate_m3_s: None }
    }

    /// None where the freeboard takes up the whole plot.
    fn grid(&self, demands: &Demands) -> Option<Grid> {
        Grid::of(&demands.duties, false, &Problems::new())
    }

    fn least(&self) -> Option<(f64, Basin)> {
        self.least_of(self.demands())
    }

    fn least_of(&self, demands: Demands) -> Option<(f64, Basin)> {
        let fixed = |corners: &Corners| demands.fixed_between(corners).iter().all(Check::is_met);
        let objective = |basin: &Basin| demands.objective(basin);
        let at_least = |smallest: &Basin, corners: &Corners| demands.objective_at_least(smallest, corners);
        let aim = Aim { of: &objective, at_least: Some(&at_least) };
        let found = least::<Infallible>(&self.grid(&demands)?, aim, &fixed, None).unwrap();
        found.map(|found| (demands.objective(&found.basin), found.basin))
    }
}

prop_compose! {
    fn question()(
        longest_m in 8.0f64..45.0,
        shape in 0.3f64..1.0,
        deepest_m in 0.8f64..3.0,
        slope in prop::sample::select(vec![0.5, 1.0, 2.0, 3.0]),
        freeboard_m in 0.0f64..0.6,
        settled in 20.0f64..80.0,
        storm_m in 0.02f64..0.12,
        runoff_m3 in 0.0f64..150.0,
        held_m3 in 0.0f64..60.0,
        detained_h in prop::option::of(0.5f64..30.0),
        drawn in any::<bool>(),
        rain_mm_h in prop::sample::select(vec![0.0, 5.0, 40.0, 90.0]),
        least in prop::sample::select(vec!["volume", "footprint", "cost"]),
        from in prop::sample::select(vec!["the normal level", "0.4 m below the spill level"]),
    ) -> Question {
        let widest_m = longest_m * shape;
        Question { longest_m, widest_m, deepest_m, slope, freeboard_m, settled, storm_m, runoff_m3, held_m3, detained_h, drawn, rain_mm_h, least, steps: "", from, ground: None, forebay: None }
    }
}

prop_compose! {
    fn on_the_ground()(
        question in question(),
        over in 0.0f64..1.2,
        outer in prop::sample::select(vec![1.0, 2.0, 3.0]),
        shrinks in 0.0f64..30.0,
        swells in 0.0f64..30.0,
        prices in [0.5f64..8.0, 0.0f64..8.0, 0.0f64..10.0, 0.0f64..40.0],
    ) -> Question {
        // A lower ground takes plot for the banks' outer sides.
        let longest_m = question.longest_m + 2.0 * over * outer;
        let widest_m = question.widest_m + 2.0 * over * outer;
        Question { longest_m, widest_m, least: "cost", ground: Some(Lies { over, outer, shrinks, swells, prices }), ..question }
    }
}

prop_compose! {
    fn with_a_forebay()(
        question in question(),
        asked in [1.0f64..50.0, 0.1f64..8.0, 0.2f64..6.0, 0.1f64..0.8],
        kg_a_year in 100.0f64..4000.0,
    ) -> Question {
        let [share, runoff_mm, years, berm_m] = asked;
        Question { forebay: Some(Asked { share, runoff_mm, years, berm_m, kg_a_year }), ..question }
    }
}

/// How much larger a least pond is than another: nothing where there is none to compare.
fn no_larger(less: Option<(f64, Basin)>, more: Option<(f64, Basin)>) -> bool {
    match (less, more) {
        (Some((less, _)), Some((more, _))) => less <= more,
        (_, None) => true,
        (None, Some(_)) => false,
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    /// Every shape of a grid, held against every duty by itself.
    #[test]
    fn no_shape_of_the_grid_is_less_and_does_every_duty(question in question()) {
        let question = Question { steps: "steps: {depth: 0.1 m, length: 1 m, width: 1 m}\n", ..question };
        let demands = question.demands();
        let best = question.grid(&demands).into_iter().flat_map(|grid| grid.plans()).flatten()
            .filter(|basin| demands.fixed(basin).iter().all(Check::is_met))
            .map(|basin| demands.objective(&basin))
            .fold(f64::INFINITY, f64::min);
        prop_assert_eq!(question.least().map_or(f64::INFINITY, |(objective, _)| objective), best);
        // By hand: what lies over the floor and under the rooms of the storm and of what is held stays, of which uses leave the
        // pool of 0.2 m; 10 m³ leave an hour, and the rain on the pond.
        if let (Some(hours), Some((_, basin))) = (question.detained_h, question.least()) {
            let storm_m3 = question.runoff_m3 + question.storm_m * basin.crest_area_m2();
            let under_storm_m3 = match question.from {
                "the normal level" => basin.capacity_m3() - storm_m3,
                _ => basin.volume_m3(basin.depth_m - 0.4),
            };
            let stays_m3 = under_storm_m3 - question.held_m3;
            let stays_m3 = if question.drawn { stays_m3.min(basin.volume_m3(0.2)) } else { stays_m3 };
            let flow_m3_h = 10.0 + question.rain_mm_h / 1000.0 * basin.crest_area_m2();
            prop_assert!(stays_m3 / flow_m3_h >= hours - 1e-6);
        }
    }

    /// Earth that is brought makes a larger pond cheaper than a smaller one: still none is left out.
    #[test]
    fn no_shape_of_the_grid_costs_less_where_banks_stand_on_the_ground(question in on_the_ground()) {
        let question = Question { steps: "steps: {depth: 0.1 m, length: 1 m, width: 1 m}\n", ..question };
        let demands = question.demands();
        let best = question.grid(&demands).into_iter().flat_map(|grid| grid.plans()).flatten()
            .filter(|basin| demands.fixed(basin).iter().all(Check::is_met))
            .map(|basin| demands.objective(&basin))
            .fold(f64::INFINITY, f64::min);
        prop_assert_eq!(question.least().map_or(f64::INFINITY, |(objective, _)| objective), best);
    }

    #[test]
    fn no_shape_of_the_grid_is_less_and_has_its_forebay_too(question in with_a_forebay()) {
        let question = Question { steps: "steps: {depth: 0.1 m, length: 1 m, width: 1 m}\n", ..question };
        let demands = question.demands();
        let best = question.grid(&demands).into_iter().flat_map(|grid| grid.plans()).flatten()
            .filter(|basin| demands.fixed(basin).iter().all(Check::is_met))
            .map(|basin| demands.objective(&basin))
            .fold(f64::INFINITY, f64::min);
        prop_assert_eq!(question.least().map_or(f64::INFINITY, |(objective, _)| objective), best);
    }

    #[test]
    fn more_asked_of_a_forebay_never_gives_a_smaller_pond(question in with_a_forebay(), more in 1.0f64..2.0) {
        let Some(asked) = question.forebay else { return Ok(()) };
        let question = Question { steps: "steps: {depth: 0.05 m, length: 0.5 m, width: 0.5 m}\n", ..question };
        let least = question.least();
        for (what, harder) in [
            ("a larger share", Asked { share: (asked.share * more).min(50.0), ..asked }),
            ("more runoff", Asked { runoff_mm: asked.runoff_mm * more, ..asked }),
            ("longer between clean-outs", Asked { years: asked.years * more, ..asked }),
        ] {
            let harder = Question { forebay: Some(harder), ..question.clone() };
            prop_assert!(no_larger(least, harder.least()), "{}: {:?} {:?}", what, least, harder.least());
        }
    }

    /// What is said of a box holds of every shape in it.
    #[test]
    fn no_shape_of_a_box_comes_under_what_is_said_of_the_box(
        question in on_the_ground(),
        low in [0.05f64..1.5, 1.0f64..30.0, 1.0f64..30.0],
        more in [1.0f64..3.0, 1.0f64..2.0, 1.0f64..2.0],
        part in prop::collection::vec([0.0f64..1.0, 0.0f64..1.0, 0.0f64..1.0], 12),
    ) {
        let demands = question.demands();
        let Some(grid) = question.grid(&demands) else { return Ok(()) };
        let shape = |sizes: [f64; 3]| {
            let [depth, length_m, width_m] = sizes;
            let depth_m = depth.min(grid.deepest_m(length_m, width_m));
            Basin { depth_m, length_m, width_m, ..grid.common }
        };
        let high = [low[0] * more[0], low[1] * more[1], low[2] * more[2]];
        let corners = Corners {
            needs: shape([high[0], low[1], low[2]]),
            room: shape(high),
            surface: shape([low[0], high[1], high[2]]),
        };
        let bound = demands.objective_at_least(&shape(low), &corners);
        let between = |part: f64, low: f64, high: f64| low + part * (high - low);
        let corner = [[0.0, 0.0, 0.0], [1.0, 1.0, 1.0], [1.0, 0.0, 0.0], [0.0, 1.0, 1.0]];
        for part in part.into_iter().chain(corner) {
            let sizes = [0, 1, 2].map(|axis| between(part[axis], low[axis], high[axis]));
            if sizes[0] <= grid.deepest_m(sizes[1], sizes[2]) && low[0] <= grid.deepest_m(low[1], low[2]) {
                let cost = demands.objective(&shape(sizes));
                prop_assert!(bound <= cost * (1.0 + 1e-9), "{bound} {cost} {sizes:?}");
            }
        }
    }

    /// No shape makes up for a bank that is too low.
    #[test]
    fn a_higher_crest_never_leaves_more_freeboard_nor_a_smaller_pond(question in question(), crest in 0.0f64..0.3, more in 1.0f64..2.0) {
        let asked = |crest: f64| {
            let mut demands = question.demands();
            let text = format!("plot: {{longest: 9 m, widest: 9 m, deepest: 2 m, steepest side: 1 to 1}}\nfreeboard: 5 m\nleast: volume\nemergency spillway: {{crest above the spill level: {crest:.9} m, wide: 3 m, flow: 40 m3/h, flow from: sheet, freeboard left at least: 0.1 m}}");
            let problems = Problems::new();
            let tree = yaml::tree(&Source::new("basin.yaml", &text), &problems).unwrap();
            demands.duties.spillway = read(&tree, &problems).unwrap().spillway;
            let left = demands.duties.spillway.as_ref().unwrap().over(&Basin { freeboard_m: question.freeboard_m, depth_m: 1.0, length_m: 9.0, width_m: 9.0, slope: 1.0, bank_m: 0.0, lie: None }).left_m;
            (left, question.least_of(demands))
        };
        let (low, high) = (asked(crest), asked(crest * more));
        prop_assert!(high.0 <= low.0);
        prop_assert!(no_larger(low.1, high.1));
        // It is the least pond of the same question without a spillway, or none.
        prop_assert!(low.1.is_none() || low.1 == question.least());
        prop_assert_eq!(low.1.is_some(), low.0 >= 0.1 && question.least().is_some());
    }

    #[test]
    fn a_larger_plot_an_easier_duty_or_less_freeboard_never_gives_a_larger_pond(
        question in question(),
        more in 1.0f64..1.3,
        less in 0.5f64..1.0,
    ) {
        let least = question.least();
        let q = || question.clone();
        for (what, easier) in [
            ("a longer plot", Question { longest_m: question.longest_m * more, ..q() }),
            ("a wider plot", Question { widest_m: question.widest_m * more, ..q() }),
            ("a deeper plot", Question { deepest_m: question.deepest_m * more, ..q() }),
            ("less to settle", Question { settled: question.settled * less, ..q() }),
            ("a lesser storm", Question { storm_m: question.storm_m * less, ..q() }),
            ("less runoff", Question { runoff_m3: question.runoff_m3 * less, ..q() }),
            ("a shorter stay", Question { detained_h: question.detained_h.map(|hours| hours * less), ..q() }),
            ("less rain at the peak", Question { rain_mm_h: question.rain_mm_h * less, ..q() }),
            ("less to hold", Question { held_m3: question.held_m3 * less, ..q() }),
            ("less freeboard", Question { freeboard_m: question.freeboard_m * less, ..q() }),
        ] {
            prop_assert!(no_larger(easier.least(), least), "{}: {:?} {:?}", what, easier.least(), least);
        }
        // What was found on the larger plot and fits the smaller one is found there.
        let larger = Question { longest_m: question.longest_m * more, widest_m: question.widest_m * more, ..q() };
        if let Some((objective, basin)) = larger.least()
            && question.grid(&question.demands()).is_some_and(|grid| grid.fits(&basin))
        {
            prop_assert_eq!(least.map(|(least, _)| least), Some(objective));
        }
    }

    #[test]
    fn one_per_cent_smaller_any_way_breaks_a_duty_or_the_plots_own_rules(question in question()) {
        let demands = question.demands();
        if let Some((_, basin)) = question.least() {
            // Sizes under these are more than a hundredth apart.
            prop_assume!(basin.depth_m > 0.5 && basin.width_m > 5.0);
            for smaller in [
                Basin { length_m: 0.989 * basin.length_m, ..basin },
                Basin { width_m: 0.989 * basin.width_m, ..basin },
                Basin { depth_m: 0.989 * basin.depth_m, ..basin },
            ] {
                let breaks = demands.fixed(&smaller).iter().any(|check| !check.is_met())
                    || smaller.length_m < smaller.width_m
                    || smaller.shape().is_none();
                prop_assert!(breaks, "{:?} does as well as {:?}", smaller, basin);
            }
        }
    }
}

/// Where earth must be brought, the smallest shape is not the cheapest: a search that trusted its corner would leave out the
/// least.
#[test]
fn a_deeper_pond_may_cost_less_where_earth_is_dear() {
    let lies = Lies { over: 0.5, outer: 2.0, shrinks: 0.0, swells: 0.0, prices: [2.0, 1.0, 1.0, 30.0] };
    let question = Question {
        longest_m: 40.0,
        widest_m: 30.0,
        deepest_m: 3.0,
        slope: 1.0,
        freeboard_m: 0.3,
        settled: 20.0,
        storm_m: 0.02,
        runoff_m3: 0.0,
        held_m3: 0.0,
        detained_h: None,
        drawn: false,
        rain_mm_h: 0.0,
        least: "cost",
        steps: "",
        from: "the normal level",
        ground: Some(lies),
        forebay: None,
    };
    let demands = question.demands();
    let common = question.grid(&demands).unwrap().common;
    let shallow = Basin { length_m: 16.0, width_m: 10.0, depth_m: 1.5, ..common };
    let deep = Basin { depth_m: 2.5, ..shallow };
    assert!(demands.objective(&deep) < demands.objective(&shallow));
    let corners = Corners { needs: deep, room: deep, surface: shallow };
    assert!(demands.objective_at_least(&shallow, &corners) <= demands.objective(&deep));
}
