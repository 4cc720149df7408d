//! 12-month rolling average.

use crate::rules::window::statistics::{Fold, Shape, Statistic};
use crate::rules::window::windows::WindowKind;

/// `12-month rolling average`.
pub const TWELVE_MONTH_AVERAGE: Statistic = Statistic::plain(
    "12-month rolling average",
    WindowKind::TwelveMonths,
    Shape::Window(Fold::Average),
    "The average of twelve whole months up to each month: not evaluable before the twelfth, and worked out anew when a month is corrected.",
)
.also(&["rolling 12 months average", "rolling 12 month average"])
.by_day()
.substitutes()
.divides();
