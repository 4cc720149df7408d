//! The least shape of each of some depths, and the shapes next below one.

use super::grid::below;
use super::search::{Passes, compare, key};
use super::{Basin, Grid};

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
                if passed.all() {
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
pub(super) fn spread<T>(all: Vec<T>, most: usize) -> Vec<T> {
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
    /// The step, m.
    pub step_m: f64,
    /// The shape; none where the plot's rules or geometry do not allow it.
    pub basin: Option<Basin>,
}

/// The three shapes one size smaller.
pub fn neighbours(grid: &Grid, basin: &Basin) -> [Neighbour; 3] {
    let (depth, length, width) = (basin.depth_m, basin.length_m, basin.width_m);
    let one = |word, sizes: &[f64], size: f64, shape: &dyn Fn(f64) -> Option<Basin>| {
        let less = below(sizes, size);
        Neighbour { word, step_m: size - less.unwrap_or(0.0), basin: less.and_then(shape) }
    };
    [
        one("shallower", &grid.depths_m, depth, &|less| grid.shape(less, length, width)),
        one("shorter", &grid.lengths_m, length, &|less| grid.shape(depth, less, width)),
        one("narrower", &grid.widths_m, width, &|less| grid.shape(depth, length, less)),
    ]
}
