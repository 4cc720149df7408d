//! Rolling N days total.

use crate::rules::window::statistics::{Fold, Shape, Statistic};
use crate::rules::window::windows::WindowKind;

/// `rolling N days total`.
pub const ROLLING_TOTAL: Statistic = Statistic::plain(
    "rolling N days total",
    WindowKind::Rolling,
    Shape::Window(Fold::Total),
    "The sum of the days up to each day, over a full window.",
)
.also(&["N days rolling total", "total of N days", "N days total"])
.by_day()
.substitutes();
