//! How long water stays, and rain on the pond in a flow, by hand between upright walls.

#![cfg(test)]

use super::*;
use crate::files::{Source, yaml};
use crate::sizing::{Duty, Needs, Terms, read};
use crate::told::Problems;
use approx::assert_relative_eq;

const DUTIES: &str = "\
plot: {longest: 60 m, widest: 30 m, deepest: 4 m, steepest side: 2 to 1, bank all round: 2 m}
freeboard: 0.5 m
settling pool: 0.5 m
overflow rate: {at most: 0.14 mm/s, flow: 36 m3/h}
detention: {at least: 4 h, flow: 36 m3/h}
hold: {return water: 1 day}
least: volume
";

/// 36 m³/h, with rain of 10 mm/h on the pond where that is asked; 80 m³ to be held.
fn demands(rain: bool) -> Demands {
    let problems = Problems::new();
    let tree = yaml::tree(&Source::new("basin.yaml", DUTIES), &problems).unwrap();
    let duties = read(&tree, &problems).unwrap_or_else(|| panic!("{:?}", problems.in_order()));
    let rain_m_s = if rain { 0.010 / 3600.0 } else { 0.0 };
    let needs = Needs {
        return_m3: 80.0,
        overflow_m3_s: 0.01,
        overflow_rain_m_s: rain_m_s,
        detained_m3_s: 0.01,
        detained_rain_m_s: rain_m_s,
        ..Needs::default()
    };
    Demands { duties, needs, pool_m: 0.5, cells: 1, terms: Terms::default(), rate_m3_s: None }
}

/// 20 × 10 m and 3 m deep: 600 m³, of which 80 m³ are for what is held.
fn upright() -> Basin {
    Basin { length_m: 20.0, width_m: 10.0, depth_m: 3.0, slope: 0.0, freeboard_m: 0.5, bank_m: 2.0, lie: None }
}

fn has(demands: &Demands, duty: Duty) -> f64 {
    demands.fixed(&upright()).into_iter().find(|check| check.duty == duty).unwrap().has
}

#[test]
fn rain_on_the_pond_runs_through_it_too() {
    // 10 mm/h on 200 m² are 2 m³/h beside 36 m³/h.
    let (dry, wet) = (demands(false), demands(true));
    assert_relative_eq!(has(&dry, Duty::OverflowRate) * 3600.0, 36.0 / 200.0, max_relative = 1e-9);
    assert_relative_eq!(has(&wet, Duty::OverflowRate) * 3600.0, 38.0 / 200.0, max_relative = 1e-9);
    assert_relative_eq!(has(&wet, Duty::Detention), 520.0 / 38.0, max_relative = 1e-9);
    // With sides 2 to 1 and half a metre of freeboard it falls on 22 × 12 m.
    let sloped = Basin { slope: 2.0, depth_m: 2.0, ..upright() };
    assert_relative_eq!(wet.detained_m3_s(&sloped) * 3600.0, 36.0 + 0.010 * 264.0, max_relative = 1e-9);
}

/// A pond that stands, with pumps that draw from no lower than 1.2 m above its floor: 240 m³ stay, whatever pool is asked.
#[test]
fn water_under_the_pumps_of_a_pond_that_stands_stays_too() {
    let mut demands = demands(false);
    demands.needs.is_drawn = true;
    demands.needs.lowest_pump_m = 1.2;
    // The levels of a pond to be found go by what is asked: 0.5 m.
    assert_relative_eq!(has(&demands, Duty::Detention), 100.0 / 36.0, max_relative = 1e-9);
    demands.terms.stands = true;
    assert_relative_eq!(has(&demands, Duty::Detention), 240.0 / 36.0, max_relative = 1e-9);
    assert_relative_eq!(demands.stack(&upright()).pool_top_m, 1.2);
    // Pumps that reach lower than the pool that is asked, and none: it stays as asked.
    for lower in [0.3, 0.0] {
        demands.needs.lowest_pump_m = lower;
        assert_relative_eq!(has(&demands, Duty::Detention), 100.0 / 36.0, max_relative = 1e-9);
    }
}

#[test]
fn water_that_something_draws_is_not_counted_as_staying() {
    let mut with = demands(false);
    assert_relative_eq!(has(&with, Duty::Detention), 520.0 / 36.0, max_relative = 1e-9);
    assert_eq!(with.stays_between_m(&upright()).2, StaysUnder::Rooms);
    // A pump that stops 1.2 m below the spill level leaves 1.8 m: 360 m³.
    with.needs.pump_stops = Some(PumpStops { below_spill_m: 1.2, above_floor_m: 0.9 });
    assert_relative_eq!(has(&with, Duty::Detention), 360.0 / 36.0, max_relative = 1e-9);
    let (from_m, to_m, under) = with.stays_between_m(&upright());
    assert_eq!((from_m, under), (0.0, StaysUnder::PumpStops));
    assert_relative_eq!(to_m, 1.8, max_relative = 1e-9);
    // In a pond that stands it stops at the level typed, 0.9 m above the floor.
    let stands = Demands { terms: Terms { stands: true, keeps: false }, ..with.clone() };
    assert_relative_eq!(has(&stands, Duty::Detention), 180.0 / 36.0, max_relative = 1e-9);
    // Never lower than the settling pool, and what uses draw leaves that alone: 100 m³.
    with.needs.pump_stops = Some(PumpStops { below_spill_m: 2.9, above_floor_m: 0.1 });
    assert_relative_eq!(has(&with, Duty::Detention), 100.0 / 36.0, max_relative = 1e-9);
    with.needs.is_drawn = true;
    assert_relative_eq!(has(&with, Duty::Detention), 100.0 / 36.0, max_relative = 1e-9);
    assert_eq!(with.stays_between_m(&upright()).2, StaysUnder::LowestPumpLevel);
}
