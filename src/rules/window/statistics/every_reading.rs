//! Every reading.

use crate::rules::window::statistics::{Shape, Statistic};
use crate::rules::window::windows::WindowKind;

/// `every reading`.
pub const EVERY_READING: Statistic = Statistic::plain(
    "every reading",
    WindowKind::Reading,
    Shape::Each,
    "Every single reading is held against the limit; a sample of several moments can show that the limit was passed, never that it was kept.",
)
.also(&["any reading", "each reading", "every sample", "each sample", "any sample", "at all times"])
.instant();
