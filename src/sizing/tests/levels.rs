//! Levels that are kept, and what a change of a standing pond costs: by hand, between upright walls.

use super::*;
use crate::files::{Source, yaml};
use crate::told::Problems;
use approx::assert_relative_eq;

const PLAIN: &str = "\
plot: {longest: 60 m, widest: 30 m, deepest: 4 m, steepest side: 2 to 1, bank all round: 2 m}
freeboard: 0.5 m
ground: {level: 0.5 m below the bank top, outer side: 2 to 1, shrinks: 20 %}
settling pool: 0.5 m
hold: {return water: 1 day}
detention: {at least: 4 h, flow: 36 m3/h}
storm: {every: 10 years, lasting: 24 h, from: the normal level, drawdown: {by: pump, within: 48 h, to: Ditch}}
storm depths: {source: county, depths: [{every: 10 years, lasting: 24 h, depth: 60 mm}]}
least: volume
cost: {dug: 6 EUR per m3, banked: 4 EUR per m3, hauled: 9 EUR per m3, lined: 10 EUR per m2}
";

fn demands(text: &str) -> Demands {
    let problems = Problems::new();
    let tree = yaml::tree(&Source::new("basin.yaml", text), &problems).unwrap();
    let duties = read(&tree, &problems).unwrap_or_else(|| panic!("{:?}", problems.in_order()));
    let asked = |is_asked: bool, m3: f64| if is_asked { m3 } else { 0.0 };
    let needs = Needs {
        return_m3: asked(duties.hold.is_some(), 80.0),
        storm_runoff_m3: asked(duties.storm.is_some(), 200.0),
        detained_m3_s: 0.01,
        ..Needs::default()
    };
    Demands { duties, needs, pool_m: 0.5, cells: 1, terms: Terms::default(), rate_m3_s: None }
}

/// 20 × 10 m and 3 m deep: 600 m³, of which the storm takes 200 m³, the upper metre, and what is held 80 m³ under it.
fn upright() -> Basin {
    Basin { length_m: 20.0, width_m: 10.0, depth_m: 3.0, slope: 0.0, freeboard_m: 0.5, bank_m: 2.0, lie: None }
}

#[test]
fn a_level_that_the_drawdown_keeps_is_not_too_high_for_the_storm() {
    let with = demands(PLAIN);
    assert_relative_eq!(with.normal_m(&upright()), 2.0, max_relative = 1e-9);
    // It starts a millimetre higher: 0.2 m³.
    assert_relative_eq!(with.most_before_storm_m3(&upright()), 400.2, max_relative = 1e-9);
    let without = demands(&PLAIN.replace(", drawdown: {by: pump, within: 48 h, to: Ditch}", ""));
    assert_relative_eq!(without.most_before_storm_m3(&upright()), 400.0, max_relative = 1e-9);
}

#[test]
fn only_water_under_the_rooms_that_stand_empty_is_counted_as_staying() {
    let detained = |text: &str| {
        let with = demands(text);
        let (sure, full) = with.stays_h(&upright());
        assert_relative_eq!(full, 600.0 / 36.0, max_relative = 1e-9);
        let check = with.fixed(&upright()).into_iter().find(|check| check.duty == Duty::Detention).unwrap();
        assert_relative_eq!(check.has, sure, max_relative = 1e-12);
        sure
    };
    // 36 m³/h: of 600 m³ the storm takes 200 m³ and what is held 80 m³; 320 m³ stay.
    assert_relative_eq!(detained(PLAIN), 320.0 / 36.0, max_relative = 1e-9);
    // Where the storm meets the run's own levels its room stands empty as well.
    let own = PLAIN
        .replace("from: the normal level, drawdown: {by: pump, within: 48 h, to: Ditch}", "from: the run's own levels");
    assert_relative_eq!(detained(&own), 320.0 / 36.0, max_relative = 1e-9);
    // From 1.5 m below the spill level: 300 m³ lie under that, less the 80 m³.
    let set = PLAIN.replace("from: the normal level", "from: 1.5 m below the spill level");
    assert_relative_eq!(detained(&set), 220.0 / 36.0, max_relative = 1e-9);
    let storm = PLAIN.lines().find(|line| line.starts_with("storm:")).unwrap();
    // Without a storm what is held lies right under the spill level: 600 m³ less 80 m³.
    assert_relative_eq!(detained(&PLAIN.replace(storm, "")), 520.0 / 36.0, max_relative = 1e-9);
    let nothing_held = PLAIN.replace(storm, "").replace("hold: {return water: 1 day}\n", "");
    assert_relative_eq!(detained(&nothing_held), 600.0 / 36.0, max_relative = 1e-9);
}

#[test]
fn what_is_held_lies_right_under_the_storm_and_a_drawdown_may_empty_it() {
    let with = demands(PLAIN);
    assert_relative_eq!(with.hold_foot_m(&upright()), 1.6, max_relative = 1e-9);
    assert_relative_eq!(with.drawn_down_to_m(&upright()), 2.0, max_relative = 1e-9);
    let layers: Vec<_> = with.layers(&upright()).iter().map(|one| (one.kind, one.from_m, one.to_m)).collect();
    let expected = [
        (LayerKind::Pool, 0.0, 0.5),
        (LayerKind::Stays, 0.5, 1.6),
        (LayerKind::Reuse, 1.6, 2.0),
        (LayerKind::Storm, 2.0, 3.0),
        (LayerKind::Freeboard, 3.0, 3.5),
    ];
    assert_eq!(layers.len(), expected.len());
    for (one, other) in layers.iter().zip(expected) {
        assert_eq!(one.0, other.0);
        assert_relative_eq!(one.1, other.1, epsilon = 1e-9);
        assert_relative_eq!(one.2, other.2, epsilon = 1e-9);
    }
    let goes_on = demands(&PLAIN.replace("to: Ditch}", "to: Ditch, down to: the foot of what is held}"));
    assert_relative_eq!(goes_on.drawn_down_to_m(&upright()), 1.6, max_relative = 1e-9);
}

#[test]
fn a_storm_that_fits_nowhere_leaves_the_level_at_the_settling_pool() {
    let mut with = demands(PLAIN);
    with.needs.storm_runoff_m3 = 900.0;
    assert_relative_eq!(with.normal_m(&upright()), 0.5, max_relative = 1e-9);
    let under = with.layers(&upright()).into_iter().filter(|one| !one.kind.is_over_spill());
    assert_relative_eq!(under.map(|one| one.volume_m3).sum::<f64>(), 600.0, max_relative = 1e-9);
}

#[test]
fn room_that_was_taken_when_something_to_hold_came_keeps_the_duty_from_being_done() {
    let with = demands(PLAIN);
    let hold = |lacking: usize| {
        let run = Simulated { hold: HoldRun { wanted: 12, lacking, ..HoldRun::default() }, ..Simulated::default() };
        let checks = with.checks(&upright(), &run);
        checks.into_iter().find(|check| check.duty == Duty::Hold).unwrap().comes
    };
    assert_eq!(hold(0), Comes::Done);
    assert_eq!(hold(1), Comes::NotKept);
}

#[test]
fn room_that_a_supply_fills_is_not_free_though_it_is_let_out_by_the_days_close() {
    let with = demands(PLAIN);
    let comes = |with: &Demands, run: &Simulated, duty: Duty| {
        with.checks(&upright(), run).into_iter().find(|check| check.duty == duty).unwrap().comes
    };
    let into_hold = Simulated {
        hold: HoldRun { wanted: 12, ..HoldRun::default() },
        filled_into_hold: true,
        ..Simulated::default()
    };
    assert_eq!(comes(&with, &into_hold, Duty::Hold), Comes::NotKept);
    assert_eq!(comes(&with, &into_hold, Duty::Storm), Comes::Done);
    let into_storm = Simulated { filled_into_storm: true, ..into_hold };
    assert_eq!(comes(&with, &into_storm, Duty::StormRoom), Comes::NotKept);
    assert_eq!(comes(&with, &into_storm, Duty::Storm), Comes::NotKept);
    // Where shapes are refused for it, so are these.
    let keeping = Demands { terms: Terms { keeps: true, ..with.terms }, ..with };
    assert_eq!(comes(&keeping, &into_storm, Duty::StormRoom), Comes::NotDone);
    assert!(!keeping.passes(&into_hold));
}

#[test]
fn raising_a_bank_is_never_paid_for_by_earth_that_is_no_longer_hauled() {
    let with = demands(PLAIN);
    // 20 × 10 m, ground 0.5 m under the bank top; 1 m higher the ground lies 1.5 m under it.
    let was = Basin { lie: Some(Lie { below_top_m: 0.5, outer_slope: 2.0 }), ..upright() };
    let now = Basin { freeboard_m: 1.5, lie: Some(Lie { below_top_m: 1.5, outer_slope: 2.0 }), ..was };
    // Bank top 24 × 14 m outside, 20 × 10 m inside: 0.5 m high it stands on 26 × 16 m, 1.5 m high on 30 × 20 m.
    let bank = |high: f64, foot: f64| {
        high / 6.0 * (336.0 + 4.0 * (24.0 + foot) * (14.0 + foot) + (24.0 + 2.0 * foot) * (14.0 + 2.0 * foot))
            - 200.0 * high
    };
    let fill = bank(1.5, 3.0) - bank(0.5, 1.0);
    assert_relative_eq!(with.moved_between_m3(&was, &now).1, fill, max_relative = 1e-9);
    assert_eq!(with.moved_between_m3(&was, &now).0, 0.0);
    // Banked at 4, and brought at the price of digging, 1.25 of it for what shrinks; 60 m² more are lined.
    let cost = fill * 4.0 + 6.0 * fill / 0.8 + 10.0 * 60.0;
    assert_relative_eq!(with.cost_between(&was, &now).unwrap(), cost, max_relative = 1e-9);
    assert!(with.cost_between(&now, &was).unwrap() >= 0.0);
}

#[test]
fn the_earth_of_a_berm_is_filled_too() {
    let with = demands(&PLAIN.replace(
        "hold:",
        "forebay: {share of the pool at least: 20 %, berm: {high: 1 m, top: 1 m, side: 2 to 1}}\nhold:",
    ));
    let basin = Basin { lie: Some(Lie { below_top_m: 0.5, outer_slope: 2.0 }), ..upright() };
    // 3 m² of section across 10 m.
    let banks = demands(PLAIN).earth(&basin).unwrap().fill_m3;
    assert_relative_eq!(with.earth(&basin).unwrap().fill_m3, banks + 30.0, max_relative = 1e-9);
}
