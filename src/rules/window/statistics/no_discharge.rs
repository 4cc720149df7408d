//! No discharge.

use crate::rules::window::statistics::{Shape, Statistic};
use crate::rules::window::windows::WindowKind;

/// `no discharge`.
pub const NO_DISCHARGE: Statistic = Statistic::plain(
    "no discharge",
    WindowKind::Reading,
    Shape::ByItself,
    "Nothing leaves, except in a storm over the depth that the permit states and with storage available before it.",
)
.also(&["no flow"]);
