//! 12-month rolling total.

use crate::rules::window::statistics::{Fold, Shape, Statistic};
use crate::rules::window::windows::WindowKind;

/// `12-month rolling total`.
pub const TWELVE_MONTH_TOTAL: Statistic = Statistic::plain(
    "12-month rolling total",
    WindowKind::TwelveMonths,
    Shape::Window(Fold::Total),
    "The sum of twelve whole months up to each month: not evaluable before the twelfth, and worked out anew when a month is corrected.",
)
.also(&["rolling 12 months total", "rolling 12 month total"])
.by_day()
.substitutes();
