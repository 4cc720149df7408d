//! What runs of one facility over the years have shown already, so that no search runs the same pond twice.

use std::collections::{HashMap, HashSet};
use std::sync::{Mutex, MutexGuard, PoisonError};

use super::paced::AtRate;
use super::*;

/// All that a run of one facility turns on, bit by bit.
type Key = Vec<u64>;
/// Sizes and sides of a shape.
type Sizes = [u64; 4];

/// Runs of a pond in one facility, over the same years and held against the same duties.
#[derive(Debug, Default)]
pub(super) struct Known {
    runs: Mutex<HashMap<Key, Simulated>>,
    /// Shapes that ran short on too many days. Where the site then sends more to be kept or stored in it, that leaves less
    /// to draw from: these run short for the rest of the search.
    short: Mutex<HashSet<Sizes>>,
}

fn held<T>(of: &Mutex<T>) -> MutexGuard<'_, T> {
    of.lock().unwrap_or_else(PoisonError::into_inner)
}

fn sizes(basin: &Basin) -> Sizes {
    [basin.depth_m, basin.length_m, basin.width_m, basin.slope].map(f64::to_bits)
}

/// The shape, and each level and volume that the run or what is counted in it goes by.
fn key(demands: &Demands, basin: &Basin, rate_m3_s: Option<f64>) -> Key {
    let stack = demands.stack(basin);
    let set = |value: Option<f64>| value.map_or(u64::MAX, f64::to_bits);
    let levels = [
        basin.freeboard_m,
        stack.sludge_m3,
        stack.berm_m3,
        stack.storm_m3,
        demands.pool_m,
        demands.normal_m(basin),
        demands.drawn_down_to_m(basin),
        demands.hold_foot_m(basin),
        demands.most_before_storm_m3(basin),
    ];
    let mut key: Key = sizes(basin).to_vec();
    key.extend(levels.map(f64::to_bits));
    key.extend([set(demands.storm_from_m(basin)), set(rate_m3_s)]);
    key.extend([u64::from(demands.cells), u64::from(demands.terms.stands)]);
    key
}

impl Known {
    /// The run of a shape at a rate, if there was one.
    pub fn run(&self, demands: &Demands, (basin, rate_m3_s): &AtRate) -> Option<Simulated> {
        held(&self.runs).get(&key(demands, basin, *rate_m3_s)).copied()
    }

    /// A site that sends less leaves more to draw: what ran short may not any longer.
    pub fn is_sent_less(&self) {
        held(&self.short).clear();
    }

    /// Keeps runs.
    pub fn learn(&self, demands: &Demands, at: &[AtRate], runs: &[Simulated]) {
        let mut known = held(&self.runs);
        known.extend(at.iter().zip(runs).map(|((basin, rate), run)| (key(demands, basin, *rate), *run)));
        let ran_short = |run: &Simulated| {
            let checks = demands.over_years(run);
            checks.iter().any(|check| check.duty == Duty::Shortage && !check.is_met())
        };
        // A faster drawdown leaves still less to use.
        let slowest = |(basin, rate): &AtRate| demands.rate_m3_s.is_none() && *rate == demands.drawdown_m3_s(basin);
        let short = at.iter().zip(runs).filter(|(at, run)| slowest(at) && ran_short(run));
        held(&self.short).extend(short.map(|((basin, _), _)| sizes(basin)));
    }

    /// What is known of a shape without running it.
    pub fn passed(&self, demands: &Demands, basin: &Basin) -> Option<Passed> {
        if held(&self.short).contains(&sizes(basin)) {
            return Some(Passed { larger_is_better: true, other: false });
        }
        let run = self.run(demands, &(*basin, demands.drawdown_m3_s(basin)))?;
        let other = demands.passes(&run);
        // At another rate it may.
        (other || demands.rate_steps(basin).is_none()).then_some(Passed { larger_is_better: true, other })
    }
}
