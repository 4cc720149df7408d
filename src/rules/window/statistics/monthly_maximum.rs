//! Monthly maximum.

use crate::rules::window::statistics::{Fold, Shape, Statistic};
use crate::rules::window::windows::WindowKind;

/// `monthly maximum`.
pub const MONTHLY_MAXIMUM: Statistic = Statistic::plain(
    "monthly maximum",
    WindowKind::Month,
    Shape::Window(Fold::Highest),
    "The highest daily value of each calendar month.",
)
.also(&["month maximum"])
.by_day();
