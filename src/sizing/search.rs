//! The least shape of a grid.
//!
//! Duties that need no weather are checked on every shape. Simulations cost more, and one rule spares most of them: of two
//! ponds with the same water surface, sides and banks, the deeper one has the same rain, evaporation and inflow at every
//! distance below the spill level, and more room under it. So it spills on no more days and no more water, and runs short
//! on no more days, and within one floor plan the shapes that pass are those from some depth up. (How *often* it spills
//! could rise where a long spill falls apart into two; a duty on spills bounds their length as well, which keeps ponds
//! that spill as a matter of course from passing.) No such rule is used between floor plans: for each of them, either its
//! least shape is found or its deepest shape that would still beat the best one found is shown to fail.

use std::cmp::Ordering;

use super::{Basin, Grid};

/// Simulates several shapes and says of each whether it does the duties that need weather.
pub type Passes<'a, E> = &'a mut dyn FnMut(&[Basin]) -> Result<Vec<bool>, E>;

/// Shapes simulated side by side.
pub const BATCH: usize = 16;

/// The least shape, and how much was looked at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Found {
    /// The least shape.
    pub basin: Basin,
    /// Shapes of the grid.
    pub shapes: usize,
    /// Shapes that do the duties without weather.
    pub fixed_met: usize,
    /// Shapes simulated.
    pub simulated: usize,
}

/// What orders shapes: what is to be least, then volume, ground, depth and length, so that no two are equal.
fn key(basin: &Basin, objective: &dyn Fn(&Basin) -> f64) -> [f64; 5] {
    [objective(basin), basin.capacity_m3(), basin.footprint_m2(), basin.depth_m, basin.length_m]
}

fn compare(a: &[f64; 5], b: &[f64; 5]) -> Ordering {
    a.iter().zip(b).map(|(a, b)| a.total_cmp(b)).find(|order| order.is_ne()).unwrap_or(Ordering::Equal)
}

/// A floor plan: its shapes that do the duties without weather, least first. Those before `low` fail; `high` and after
/// pass.
struct Plan {
    shapes: Vec<([f64; 5], Basin)>,
    low: usize,
    high: usize,
    tests: u32,
}

impl Plan {
    /// How many shapes are still worth a look: those below the best found, and below those known to pass.
    fn end(&self, best: Option<&[f64; 5]>) -> usize {
        let cap =
            best.map_or(self.shapes.len(), |best| self.shapes.partition_point(|(key, _)| compare(key, best).is_lt()));
        cap.min(self.high)
    }

    /// The shape to simulate next: the least, then the last that could still win, then halves.
    fn next(&self, end: usize) -> usize {
        match self.tests {
            0 => self.low,
            1 => end - 1,
            _ => self.low + (end - 1 - self.low) / 2,
        }
    }
}

/// The least shape of a grid that does its duties; none when no shape does.
///
/// `fixed` says whether a shape does the duties that need no weather; `passes` simulates several shapes and says of each
/// whether it does the others.
///
/// # Errors
/// When a simulation fails.
pub fn least<E>(
    grid: &Grid,
    objective: &dyn Fn(&Basin) -> f64,
    fixed: &dyn Fn(&Basin) -> bool,
    passes: Passes<'_, E>,
) -> Result<Option<Found>, E> {
    let all = grid.plans();
    let shapes = all.iter().map(Vec::len).sum();
    let mut plans: Vec<Plan> = all
        .into_iter()
        .map(|plan| {
            let mut shapes: Vec<([f64; 5], Basin)> =
                plan.into_iter().filter(fixed).map(|basin| (key(&basin, objective), basin)).collect();
            shapes.sort_by(|a, b| compare(&a.0, &b.0));
            Plan { low: 0, high: shapes.len(), tests: 0, shapes }
        })
        .filter(|plan| !plan.shapes.is_empty())
        .collect();
    let fixed_met = plans.iter().map(|plan| plan.shapes.len()).sum();
    let mut simulated = 0;
    let mut best: Option<([f64; 5], Basin)> = None;
    loop {
        let mut open: Vec<(usize, usize)> = plans
            .iter()
            .enumerate()
            .map(|(at, plan)| (at, plan.end(best.as_ref().map(|(key, _)| key))))
            .filter(|(at, end)| plans.get(*at).is_some_and(|plan| plan.low < *end))
            .collect();
        if open.is_empty() {
            break;
        }
        let first = |at: usize| plans.get(at).and_then(|plan| plan.shapes.get(plan.low)).map(|(key, _)| *key);
        open.sort_by(|a, b| match (first(a.0), first(b.0)) {
            (Some(x), Some(y)) => compare(&x, &y),
            _ => Ordering::Equal,
        });
        open.truncate(BATCH);
        let asked: Vec<(usize, usize, [f64; 5], Basin)> = open
            .iter()
            .filter_map(|&(at, end)| {
                let plan = plans.get(at)?;
                let index = plan.next(end);
                let (key, basin) = plan.shapes.get(index)?;
                Some((at, index, *key, *basin))
            })
            .collect();
        let basins: Vec<Basin> = asked.iter().map(|(.., basin)| *basin).collect();
        simulated += basins.len();
        for ((at, index, key, basin), passed) in asked.into_iter().zip(passes(&basins)?) {
            let Some(plan) = plans.get_mut(at) else {
                continue;
            };
            plan.tests += 1;
            if passed {
                plan.high = plan.high.min(index);
                if best.as_ref().is_none_or(|(held, _)| compare(&key, held).is_lt()) {
                    best = Some((key, basin));
                }
            } else {
                plan.low = plan.low.max(index + 1);
            }
        }
    }
    Ok(best.map(|(_, basin)| Found { basin, shapes, fixed_met, simulated }))
}

/// For some depths of a grid, evenly spread and `most` at the most, the least shape found, shallow ones first; depths
/// without one are left out.
///
/// Along one depth shapes are taken to pass from some size up, which is nearly but not strictly so (a wider pond of the
/// same volume catches more rain): a list to choose from, not a proof of the least.
///
/// # Errors
/// When a simulation fails.
pub fn least_by_depth<E>(
    grid: &Grid,
    most: usize,
    objective: &dyn Fn(&Basin) -> f64,
    fixed: &dyn Fn(&Basin) -> bool,
    passes: Passes<'_, E>,
) -> Result<Vec<Basin>, E> {
    struct Column {
        shapes: Vec<([f64; 5], Basin)>,
        low: usize,
        high: usize,
    }
    let mut columns: Vec<Column> = Vec::new();
    for &depth in &grid.depths_m {
        let mut shapes: Vec<([f64; 5], Basin)> = grid
            .lengths_m
            .iter()
            .flat_map(|&length| grid.widths_m.iter().filter_map(move |&width| grid.shape(depth, length, width)))
            .filter(fixed)
            .map(|basin| (key(&basin, objective), basin))
            .collect();
        shapes.sort_by(|a, b| compare(&a.0, &b.0));
        if !shapes.is_empty() {
            columns.push(Column { low: 0, high: shapes.len(), shapes });
        }
    }
    let mut columns = spread(columns, most);
    loop {
        // Two shapes of each column at once: those at a third and two thirds of what is open.
        let asked: Vec<(usize, usize, Basin)> = columns
            .iter()
            .enumerate()
            .flat_map(|(at, column)| {
                let open = column.high - column.low;
                let mut thirds = vec![column.low + open / 3, column.low + 2 * open / 3];
                thirds.dedup();
                thirds
                    .into_iter()
                    .filter(move |_| open > 0)
                    .filter_map(move |index| column.shapes.get(index).map(|(_, basin)| (at, index, *basin)))
            })
            .collect();
        if asked.is_empty() {
            break;
        }
        let basins: Vec<Basin> = asked.iter().map(|(.., basin)| *basin).collect();
        for ((at, index, _), passed) in asked.into_iter().zip(passes(&basins)?) {
            if let Some(column) = columns.get_mut(at) {
                if passed {
                    column.high = column.high.min(index);
                } else {
                    column.low = column.low.max(index + 1).min(column.high);
                }
            }
        }
    }
    Ok(columns.iter().filter_map(|column| column.shapes.get(column.high).map(|(_, basin)| *basin)).collect())
}

/// At most so many of a list, evenly spread, first and last among them.
fn spread<T>(all: Vec<T>, most: usize) -> Vec<T> {
    let count = all.len();
    if count <= most || most < 2 {
        return all;
    }
    let kept: Vec<usize> = (0..most).map(|k| (k * (count - 1) + (most - 1) / 2) / (most - 1)).collect();
    all.into_iter().enumerate().filter(|(at, _)| kept.contains(at)).map(|(_, one)| one).collect()
}

/// A shape one step smaller one way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Neighbour {
    /// `shallower`, `shorter` or `narrower`.
    pub word: &'static str,
    /// The shape; none where the plot's rules or geometry do not allow it.
    pub basin: Option<Basin>,
}

/// The three shapes one step smaller.
pub fn neighbours(grid: &Grid, basin: &Basin) -> [Neighbour; 3] {
    let [depth, length, width] = grid.steps_m;
    [
        Neighbour { word: "shallower", basin: grid.shape(basin.depth_m - depth, basin.length_m, basin.width_m) },
        Neighbour { word: "shorter", basin: grid.shape(basin.depth_m, basin.length_m - length, basin.width_m) },
        Neighbour { word: "narrower", basin: grid.shape(basin.depth_m, basin.length_m, basin.width_m - width) },
    ]
}

#[cfg(test)]
#[path = "tests/search.rs"]
mod tests;
