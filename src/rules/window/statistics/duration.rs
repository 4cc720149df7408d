//! Duration.

use crate::rules::window::statistics::{Shape, Statistic};
use crate::rules::window::windows::WindowKind;

/// `duration`.
pub const DURATION: Statistic = Statistic::plain(
    "duration",
    WindowKind::Reading,
    Shape::Each,
    "Hours in which something flowed on each day: times at once are counted once.",
)
.also(&["hours of discharge", "daily duration"]);
