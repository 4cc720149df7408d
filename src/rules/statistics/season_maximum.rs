//! Season maximum.

use super::{Shape, Statistic, fold};
use crate::rules::windows::WindowKind;

/// `season maximum`.
pub const SEASON_MAXIMUM: Statistic = Statistic::plain(
    "season maximum",
    WindowKind::Season,
    Shape::Window(fold::highest),
    "The highest daily value of the limit's season of each year.",
)
.also(&["seasonal maximum"])
.by_day();
