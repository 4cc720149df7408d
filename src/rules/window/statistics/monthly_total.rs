//! Monthly total.

use crate::rules::window::statistics::{Fold, Shape, Statistic};
use crate::rules::window::windows::WindowKind;

/// `monthly total`.
pub const MONTHLY_TOTAL: Statistic = Statistic::plain(
    "monthly total",
    WindowKind::Month,
    Shape::Window(Fold::Total),
    "The sum over each calendar month; missing days are not zero.",
)
.also(&["month total"])
.by_day()
.substitutes();
