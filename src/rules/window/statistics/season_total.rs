//! Season total.

use crate::rules::window::statistics::{Fold, Shape, Statistic};
use crate::rules::window::windows::WindowKind;

/// `season total`.
pub const SEASON_TOTAL: Statistic = Statistic::plain(
    "season total",
    WindowKind::Season,
    Shape::Window(Fold::Total),
    "The sum over the limit's season of each year; missing days are not zero.",
)
.also(&["seasonal total"])
.by_day()
.substitutes();
