//! Rate.

use crate::rules::window::statistics::{Shape, Statistic};
use crate::rules::window::windows::WindowKind;

/// `rate`.
pub const RATE: Statistic = Statistic::plain(
    "rate",
    WindowKind::Reading,
    Shape::Each,
    "Flow at any moment; a meter's total over a time shows only its mean, which some moment reached.",
)
.also(&["instantaneous flow", "flow rate"])
.instant();
