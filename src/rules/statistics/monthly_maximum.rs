//! Monthly maximum.

use super::{Fold, Shape, Statistic};
use crate::rules::windows::WindowKind;

/// `monthly maximum`.
pub const MONTHLY_MAXIMUM: Statistic = Statistic::plain(
    "monthly maximum",
    WindowKind::Month,
    Shape::Window(Fold::Highest),
    "The highest daily value of each calendar month.",
)
.also(&["month maximum"])
.by_day();
