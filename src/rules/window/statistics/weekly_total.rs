//! Weekly total.

use crate::rules::window::statistics::{Fold, Shape, Statistic};
use crate::rules::window::windows::WindowKind;

/// `weekly total`.
pub const WEEKLY_TOTAL: Statistic = Statistic::plain(
    "weekly total",
    WindowKind::Week,
    Shape::Window(Fold::Total),
    "The sum over each of the permit's weeks.",
)
.also(&["week total"])
.by_day()
.substitutes();
