//! Daily average.

use crate::rules::window::statistics::{Shape, Statistic};
use crate::rules::window::windows::WindowKind;

/// `daily average`.
pub const DAILY_AVERAGE: Statistic = Statistic::plain(
    "daily average",
    WindowKind::Reading,
    Shape::Each,
    "The average over each day.",
)
.also(&["day average"])
.by_day();
