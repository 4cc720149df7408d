//! Monthly maximum.

use super::{Shape, Statistic, fold};
use crate::rules::windows::WindowKind;

/// `monthly maximum`.
pub const MONTHLY_MAXIMUM: Statistic = Statistic::plain(
    "monthly maximum",
    WindowKind::Month,
    Shape::Window(fold::highest),
    "The highest daily value of each calendar month.",
)
.also(&["month maximum"])
.by_day();
