//! Rolling N days geometric mean.

use crate::rules::window::statistics::{Fold, Shape, Statistic};
use crate::rules::window::windows::WindowKind;

/// `rolling N days geometric mean`.
pub const ROLLING_GEOMETRIC_MEAN: Statistic = Statistic::plain(
    "rolling N days geometric mean",
    WindowKind::Rolling,
    Shape::Window(Fold::Geometric),
    "The nth root of the product of the n daily values of the days up to each day.",
)
.also(&["N days rolling geometric mean", "N days geometric mean"])
.by_day()
.substitutes()
.geometric();
