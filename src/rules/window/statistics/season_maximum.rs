//! Season maximum.

use crate::rules::window::statistics::{Fold, Shape, Statistic};
use crate::rules::window::windows::WindowKind;

/// `season maximum`.
pub const SEASON_MAXIMUM: Statistic = Statistic::plain(
    "season maximum",
    WindowKind::Season,
    Shape::Window(Fold::Highest),
    "The highest daily value of the limit's season of each year.",
)
.also(&["seasonal maximum"])
.by_day();
