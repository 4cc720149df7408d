//! Instantaneous minimum.

use crate::rules::window::statistics::{Shape, Statistic};
use crate::rules::window::windows::WindowKind;

/// `instantaneous minimum`.
pub const INSTANTANEOUS_MINIMUM: Statistic = Statistic::plain(
    "instantaneous minimum",
    WindowKind::Reading,
    Shape::Each,
    "Every single reading is held against the least value.",
)
.also(&["instantaneous min"])
.instant();
