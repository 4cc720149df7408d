//! The shapes that are tried: depth × length × width at the steepest side allowed.

use crate::told::{Problem, Problems};

use super::{Basin, Duties};

/// Sizes of one kind that the program's own steps give at most.
const USUAL_SIZES: f64 = 24.0;
/// Sizes of one kind at most, whatever steps are typed.
const MOST_SIZES: usize = 150;
/// Sizes compare equal within this, m.
const SAME_M: f64 = 1e-9;

/// A grid of shapes. Sizes are whole steps, and the largest the plot allows.
#[derive(Debug, Clone, PartialEq)]
pub struct Grid {
    /// Depths, rising, m.
    pub depths_m: Vec<f64>,
    /// Lengths at the spill level, rising, m.
    pub lengths_m: Vec<f64>,
    /// Widths at the spill level, rising, m.
    pub widths_m: Vec<f64>,
    /// Steps of depth, length, width, m.
    pub steps_m: [f64; 3],
    /// The largest depth, length and width, m.
    pub most_m: [f64; 3],
    /// Length over width, at least.
    pub length_to_width: f64,
    /// What every shape shares; its sizes mean nothing.
    pub common: Basin,
}

impl Grid {
    /// The grid of a duties file, the same whatever units are reported in. None when the freeboard and the banks leave no water on the plot, or the steps typed
    /// are too fine, which is told.
    pub fn of(duties: &Duties, problems: &Problems) -> Option<Self> {
        let plot = &duties.plot;
        let bank_m = plot.bank.as_ref().map_or(0.0, |figure| figure.si);
        let common = Basin {
            length_m: 0.0,
            width_m: 0.0,
            depth_m: 0.0,
            slope: plot.steepest.si,
            freeboard_m: duties.freeboard.si,
            bank_m,
        };
        let beside = 2.0 * (common.slope * common.freeboard_m + bank_m);
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
        let mut steps_m = [0.0; 3];
        let mut sizes = [Vec::new(), Vec::new(), Vec::new()];
        for (axis, ((step, most), typed)) in steps_m.iter_mut().zip(most_m).zip(typed).enumerate() {
            *step = typed.as_ref().map_or_else(|| usual_step(most, axis == 0), |figure| figure.si);
            let count = most / *step;
            if count > MOST_SIZES as f64 {
                if let Some(figure) = typed {
                    problems.add(
                        Problem::error(
                            &figure.place,
                            format!("a step of {} makes more than {MOST_SIZES} sizes", figure.text),
                        )
                        .hint("write a larger step; the least pond is refined around the best shape anyway"),
                    );
                }
                return None;
            }
            if let Some(list) = sizes.get_mut(axis) {
                *list = multiples(*step, *step, most);
            }
        }
        let [depths_m, lengths_m, widths_m] = sizes;
        Some(Self {
            depths_m,
            lengths_m,
            widths_m,
            steps_m,
            most_m,
            length_to_width: plot.length_to_width.as_ref().map_or(1.0, |figure| figure.si.max(1.0)),
            common,
        })
    }

    /// A finer grid around a shape: a quarter of each step, one step either way.
    #[must_use]
    pub fn around(&self, basin: &Basin) -> Self {
        let fine = |step: f64, at: f64, most: f64| {
            let step = step / 4.0;
            let from = (-4..=4).map(|k| at + f64::from(k) * step).find(|size| *size > SAME_M).unwrap_or(at);
            multiples(from, step, most.min(at + 4.0 * step + SAME_M))
        };
        let [depth, length, width] = self.steps_m;
        let [most_depth, most_length, most_width] = self.most_m;
        Self {
            depths_m: fine(depth, basin.depth_m, most_depth),
            lengths_m: fine(length, basin.length_m, most_length),
            widths_m: fine(width, basin.width_m, most_width),
            steps_m: self.steps_m.map(|step| step / 4.0),
            ..self.clone()
        }
    }

    /// A shape of these sizes, if there can be one: long enough for its width, with sides that do not meet.
    pub fn shape(&self, depth_m: f64, length_m: f64, width_m: f64) -> Option<Basin> {
        let [most_depth, most_length, most_width] = self.most_m;
        let on_plot = depth_m > SAME_M
            && width_m > SAME_M
            && depth_m <= most_depth + SAME_M
            && length_m <= most_length + SAME_M
            && width_m <= most_width + SAME_M
            && length_m + SAME_M >= self.length_to_width * width_m;
        let basin = Basin { depth_m, length_m, width_m, ..self.common };
        (on_plot && basin.shape().is_some()).then_some(basin)
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
}

/// Whole steps from `from` up to `most`, and `most` itself.
fn multiples(from: f64, step: f64, most: f64) -> Vec<f64> {
    let mut sizes: Vec<f64> =
        (0..=MOST_SIZES).map(|k| from + k as f64 * step).take_while(|size| *size <= most + SAME_M).collect();
    if sizes.last().is_none_or(|last| most - last > 1e-3 * step) {
        sizes.push(most);
    }
    sizes
}

/// A step, round in metres, that gives a handful of sizes. It hangs on the plot alone: steps round in the user's units
/// would make the least pond another one for each of them.
fn usual_step(most_m: f64, depth: bool) -> f64 {
    let mut step = if depth { 0.1 } else { 1.0 };
    for factor in [2.0, 2.5, 2.0].into_iter().cycle().take(40) {
        if most_m / step <= USUAL_SIZES {
            break;
        }
        step *= factor;
    }
    step
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn usual_steps_are_round_and_few_sizes_are_tried() {
        assert_relative_eq!(usual_step(2.4, true), 0.1);
        assert_relative_eq!(usual_step(3.6, true), 0.2);
        assert_relative_eq!(usual_step(60.0, false), 5.0);
        assert_relative_eq!(usual_step(20.0, false), 1.0);
    }

    #[test]
    fn the_largest_size_the_plot_allows_is_always_tried() {
        assert_eq!(multiples(2.0, 2.0, 7.0), [2.0, 4.0, 6.0, 7.0]);
        assert_eq!(multiples(2.0, 2.0, 6.0), [2.0, 4.0, 6.0]);
        assert_eq!(multiples(2.0, 2.0, 1.0), [1.0]);
    }
}
