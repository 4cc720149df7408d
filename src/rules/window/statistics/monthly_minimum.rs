//! Monthly minimum.

use crate::rules::window::statistics::{Fold, Shape, Statistic};
use crate::rules::window::windows::WindowKind;

/// `monthly minimum`.
pub const MONTHLY_MINIMUM: Statistic = Statistic::plain(
    "monthly minimum",
    WindowKind::Month,
    Shape::Window(Fold::Lowest),
    "The lowest daily value of each calendar month.",
)
.also(&["month minimum"])
.by_day();
