//! Season average.

use crate::rules::window::statistics::{Fold, Shape, Statistic};
use crate::rules::window::windows::WindowKind;

/// `season average`.
pub const SEASON_AVERAGE: Statistic = Statistic::plain(
    "season average",
    WindowKind::Season,
    Shape::Window(Fold::Average),
    "The average over the limit's season of each year.",
)
.also(&["seasonal average"])
.by_day()
.substitutes()
.divides();
