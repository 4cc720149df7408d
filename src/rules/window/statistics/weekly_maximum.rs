//! Weekly maximum.

use crate::rules::window::statistics::{Fold, Shape, Statistic};
use crate::rules::window::windows::WindowKind;

/// `weekly maximum`.
pub const WEEKLY_MAXIMUM: Statistic = Statistic::plain(
    "weekly maximum",
    WindowKind::Week,
    Shape::Window(Fold::Highest),
    "The highest daily value of each of the permit's weeks.",
)
.also(&["week maximum"])
.by_day();
