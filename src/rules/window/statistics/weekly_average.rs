//! Weekly average.

use crate::rules::window::statistics::{Fold, Shape, Statistic};
use crate::rules::window::windows::WindowKind;

/// `weekly average`.
pub const WEEKLY_AVERAGE: Statistic = Statistic::plain(
    "weekly average",
    WindowKind::Week,
    Shape::Window(Fold::Average),
    "The sum of the daily values of one of the permit's weeks over the number of days that the permit divides by (40 CFR 122.2).",
)
.also(&["week average", "average weekly"])
.by_day()
.substitutes()
.divides();
