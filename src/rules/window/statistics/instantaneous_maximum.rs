//! Instantaneous maximum.

use crate::rules::window::statistics::{Shape, Statistic};
use crate::rules::window::windows::WindowKind;

/// `instantaneous maximum`.
pub const INSTANTANEOUS_MAXIMUM: Statistic = Statistic::plain(
    "instantaneous maximum",
    WindowKind::Reading,
    Shape::Each,
    "Every single reading is held against the limit; a daily composite or an hourly mean can't show compliance with it.",
)
.also(&["instantaneous max"])
.instant();
