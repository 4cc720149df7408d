//! Percent removal.

use crate::rules::window::statistics::{Fold, Shape, Statistic};
use crate::rules::window::windows::WindowKind;

/// `percent removal`.
pub const PERCENT_REMOVAL: Statistic = Statistic::plain(
    "percent removal",
    WindowKind::Month,
    Shape::Window(Fold::Removal),
    "100 x (in - out) / in from the averages of one month at both points, never the average of daily removals (40 CFR 133.101(j)).",
)
.also(&["monthly percent removal"])
.by_day()
.substitutes();
