//! The shapes that are tried: depth × length × width at the steepest side allowed.
//!
//! The sizes are the same for every plot, and the plot only cuts them off: a shape that does its duties on a small plot
//! is there on each larger one too, so that a larger plot never comes to a larger pond.

use crate::told::{Problem, Problems};

use super::{Basin, Duties, Lie};

/// Sizes of one kind at most where steps are typed.
const MOST_SIZES: usize = 2_000;
/// Sizes compare equal within this, m.
const SAME_M: f64 = 1e-9;
/// Steps of length and width: up to a size (m), in thousandths of a metre. Each is about a hundredth of its size or less.
const PLAN_STEPS: [(f64, u32); 7] =
    [(10.0, 50), (25.0, 100), (50.0, 200), (100.0, 500), (250.0, 1_000), (500.0, 2_500), (f64::INFINITY, 5_000)];
/// The same of depth.
const DEPTH_STEPS: [(f64, u32); 3] = [(1.0, 5), (5.0, 10), (f64::INFINITY, 25)];
/// The steps that are taken before it is said that no pond fits are so many times finer.
const FINER: u32 = 5;

/// A grid of shapes.
#[derive(Debug, Clone, PartialEq)]
pub struct Grid {
    /// Depths, rising, m.
    pub depths_m: Vec<f64>,
    /// Lengths at the spill level, rising, m.
    pub lengths_m: Vec<f64>,
    /// Widths at the spill level, rising, m.
    pub widths_m: Vec<f64>,
    /// The largest depth, length and width, m.
    pub most_m: [f64; 3],
    /// Length over width, at least.
    pub length_to_width: f64,
    /// Length and width of the floor, at least, m.
    pub floor_m: f64,
    /// What every shape shares; its sizes mean nothing.
    pub common: Basin,
}

impl Grid {
    /// The grid of a duties file, the same whatever units are reported in; `finer` for the one that is searched before
    /// it is said that no pond fits. None when the freeboard and the banks leave no water on the plot, or the steps
    /// typed are too fine, which is told.
    pub fn of(duties: &Duties, finer: bool, problems: &Problems) -> Option<Self> {
        let plot = &duties.plot;
        let bank_m = plot.bank.as_ref().map_or(0.0, |figure| figure.si);
        let common = Basin {
            length_m: 0.0,
            width_m: 0.0,
            depth_m: 0.0,
            slope: plot.steepest.si,
            freeboard_m: duties.freeboard.si,
            bank_m,
            lie: duties.ground.as_ref().map(|ground| ground.lie(duties.freeboard.si)),
        };
        let outside = common.lie.map_or(0.0, Lie::reach_m);
        let beside = 2.0 * (common.slope * common.freeboard_m + bank_m + outside);
        let most_m = [plot.deepest.si, plot.longest.si - beside, plot.widest.si - beside];
        for (most, typed) in [(most_m[1], &plot.longest), (most_m[2], &plot.widest)] {
            if most <= SAME_M {
                problems.add(
                    Problem::error(&typed.place, "freeboard and banks take up the whole plot: no water is left between them")
                        .hint("the plot is measured over the banks; look at `freeboard`, `bank all round` and `steepest side`"),
                );
                return None;
            }
        }
        let typed = [&duties.steps.depth, &duties.steps.length, &duties.steps.width];
        let mut sizes = [Vec::new(), Vec::new(), Vec::new()];
        for (axis, (most, typed)) in most_m.into_iter().zip(typed).enumerate() {
            let list = match typed {
                Some(figure) if most / figure.si > MOST_SIZES as f64 => {
                    problems.add(
                        Problem::error(
                            &figure.place,
                            format!("a step of {} makes more than {MOST_SIZES} sizes", figure.text),
                        )
                        .hint("write a larger step, or none"),
                    );
                    return None;
                }
                Some(figure) => whole_steps(figure.si / f64::from(if finer { FINER } else { 1 }), most),
                None => usual_sizes(if axis == 0 { &DEPTH_STEPS } else { &PLAN_STEPS }, finer, most),
            };
            if let Some(held) = sizes.get_mut(axis) {
                *held = list;
            }
        }
        let [depths_m, lengths_m, widths_m] = sizes;
        Some(Self {
            depths_m,
            lengths_m,
            widths_m,
            most_m,
            length_to_width: plot.length_to_width.as_ref().map_or(1.0, |figure| figure.si.max(1.0)),
            floor_m: plot.floor.as_ref().map_or(0.0, |figure| figure.si),
            common,
        })
    }

    /// The same plot with so many sizes of each kind at most, evenly spread, the largest among them.
    #[must_use]
    pub fn thin(&self, most: usize) -> Self {
        let spread = |sizes: &[f64]| {
            let kept = most.min(sizes.len());
            (1..=kept).filter_map(|k| sizes.get(k * sizes.len() / kept - 1).copied()).collect()
        };
        Self {
            depths_m: spread(&self.depths_m),
            lengths_m: spread(&self.lengths_m),
            widths_m: spread(&self.widths_m),
            ..self.clone()
        }
    }

    /// The same plot with those sizes alone that are no further from a shape's than a share of them.
    #[must_use]
    pub fn about(&self, basin: &Basin, share: f64) -> Self {
        let near = |sizes: &[f64], size: f64| {
            let is_near = |one: &f64| (*one - size).abs() <= share * size + SAME_M;
            sizes.iter().copied().filter(is_near).collect()
        };
        Self {
            depths_m: near(&self.depths_m, basin.depth_m),
            lengths_m: near(&self.lengths_m, basin.length_m),
            widths_m: near(&self.widths_m, basin.width_m),
            ..self.clone()
        }
    }

    /// A shape of these sizes, if there can be one: long enough for its width, with sides that do not meet.
    pub fn shape(&self, depth_m: f64, length_m: f64, width_m: f64) -> Option<Basin> {
        let basin = Basin { depth_m, length_m, width_m, ..self.common };
        (self.fits(&basin) && basin.shape().is_some()).then_some(basin)
    }

    /// Whether a shape keeps the plot's rules.
    pub fn fits(&self, basin: &Basin) -> bool {
        let [most_depth, most_length, most_width] = self.most_m;
        basin.depth_m > SAME_M
            && basin.width_m > SAME_M
            && basin.depth_m <= most_depth + SAME_M
            && basin.length_m <= most_length + SAME_M
            && basin.width_m <= most_width + SAME_M
            && self.is_long_enough(basin.length_m, basin.width_m)
            && self.is_wide_enough(basin.depth_m, basin.length_m, basin.width_m)
    }

    pub(super) fn is_long_enough(&self, length_m: f64, width_m: f64) -> bool {
        length_m + SAME_M >= self.length_to_width * width_m
    }

    /// Whether a plan has floor enough at a depth.
    pub(super) fn is_wide_enough(&self, depth_m: f64, length_m: f64, width_m: f64) -> bool {
        self.floor_m <= 0.0 || length_m.min(width_m) - 2.0 * self.common.slope * depth_m + SAME_M >= self.floor_m
    }

    /// The deepest that a plan can be dug before its sides meet, m.
    pub(super) fn deepest_m(&self, length_m: f64, width_m: f64) -> f64 {
        if self.common.slope <= 0.0 {
            return f64::INFINITY;
        }
        length_m.min(width_m) / (2.0 * self.common.slope) * (1.0 + 1e-12)
    }

    /// All shapes of one floor plan (length and width), shallow ones first; plans in order of length, then width.
    pub fn plans(&self) -> Vec<Vec<Basin>> {
        let mut plans = Vec::new();
        for &length in &self.lengths_m {
            for &width in &self.widths_m {
                let plan: Vec<Basin> =
                    self.depths_m.iter().filter_map(|&depth| self.shape(depth, length, width)).collect();
                if !plan.is_empty() {
                    plans.push(plan);
                }
            }
        }
        plans
    }

    /// How many sizes of depth, length and width there are, multiplied.
    pub fn combinations(&self) -> f64 {
        self.depths_m.len() as f64 * self.lengths_m.len() as f64 * self.widths_m.len() as f64
    }

    /// The shape with the most room.
    pub fn largest(&self) -> Option<Basin> {
        let length = *self.lengths_m.last()?;
        let width = self.widths_m.iter().rev().copied().find(|width| self.is_long_enough(length, *width))?;
        self.depths_m
            .iter()
            .filter_map(|depth| self.shape(*depth, length, width))
            .max_by(|a, b| a.capacity_m3().total_cmp(&b.capacity_m3()))
    }
}

/// The size next below one.
pub(super) fn below(sizes: &[f64], size: f64) -> Option<f64> {
    let at = sizes.partition_point(|one| *one < size - SAME_M);
    sizes.get(at.checked_sub(1)?).copied()
}

/// Whole steps up to `most`.
fn whole_steps(step: f64, most: f64) -> Vec<f64> {
    (1..).map(|k| f64::from(k) * step).take_while(|size| *size <= most + SAME_M).collect()
}

/// Sizes that are round in metres, up to `most`. They hang on nothing else: steps round in the user's units or chosen to
/// suit the plot would make the least pond another one for each of them.
fn usual_sizes(steps: &[(f64, u32)], finer: bool, most: f64) -> Vec<f64> {
    // Counted in whole parts of a thousandth of a metre, so that a size is one number however it was reached.
    let parts = if finer { FINER } else { 1 };
    let per_metre = f64::from(1000 * FINER);
    let mut sizes = Vec::new();
    let mut at: u32 = 0;
    for (up_to, step) in steps {
        let step = step * FINER / parts;
        while f64::from(at + step) / per_metre <= up_to.min(most) + SAME_M {
            at += step;
            sizes.push(f64::from(at) / per_metre);
        }
    }
    sizes
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes_are_round_close_together_and_the_same_for_every_plot() {
        for (steps, least) in [(&PLAN_STEPS[..], 5.0), (&DEPTH_STEPS[..], 0.5)] {
            for finer in [false, true] {
                let large = usual_sizes(steps, finer, 777.77);
                let small = usual_sizes(steps, finer, 33.33);
                assert_eq!(large[..small.len()], small[..]);
                assert!(large[small.len()] > 33.33 && *large.last().unwrap() > 770.0);
                for pair in large.windows(2).filter(|pair| pair[0] >= least) {
                    assert!(pair[1] / pair[0] <= 1.0101, "{pair:?}");
                }
            }
            // Every size of the usual grid is in the finer one, to the last bit.
            let finer = usual_sizes(steps, true, 300.0);
            assert!(usual_sizes(steps, false, 300.0).iter().all(|size| finer.contains(size)));
        }
        assert_eq!(whole_steps(2.0, 7.0), [2.0, 4.0, 6.0]);
        assert_eq!(below(&[2.0, 4.0, 6.0], 4.0), Some(2.0));
        assert_eq!(below(&[2.0, 4.0, 6.0], 2.0), None);
    }

    #[test]
    fn a_thinned_grid_keeps_the_largest_and_spreads_the_rest() {
        let common =
            Basin { length_m: 0.0, width_m: 0.0, depth_m: 0.0, slope: 1.0, freeboard_m: 0.0, bank_m: 0.0, lie: None };
        let sizes = whole_steps(1.0, 10.0);
        let grid = Grid {
            depths_m: sizes.clone(),
            lengths_m: sizes.clone(),
            widths_m: sizes,
            most_m: [10.0; 3],
            length_to_width: 1.0,
            floor_m: 0.0,
            common,
        };
        assert_eq!(grid.thin(5).depths_m, [2.0, 4.0, 6.0, 8.0, 10.0]);
        assert_eq!(grid.thin(50).depths_m.len(), 10);
        // 10 × 10 m with sides 1 to 1: they meet at five metres, and that still is the most room.
        assert_eq!(grid.largest().unwrap().depth_m, 5.0);
    }
}
