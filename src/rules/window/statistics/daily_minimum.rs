//! Daily minimum.

use crate::rules::window::statistics::{Shape, Statistic};
use crate::rules::window::windows::WindowKind;

/// `daily minimum`.
pub const DAILY_MINIMUM: Statistic = Statistic::plain(
    "daily minimum",
    WindowKind::Reading,
    Shape::Each,
    "The least allowable value of a day.",
)
.also(&["daily min"])
.by_day();
