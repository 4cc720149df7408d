//! Daily total.

use crate::rules::window::statistics::{Shape, Statistic};
use crate::rules::window::windows::WindowKind;

/// `daily total`.
pub const DAILY_TOTAL: Statistic = Statistic::plain(
    "daily total",
    WindowKind::Reading,
    Shape::Each,
    "The sum over each of the permit's days; a reading that spans days is held against it at the least and the most that one day of it can have been.",
)
.also(&["day total"])
.by_day();
