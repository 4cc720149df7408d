//! Time of day.

use crate::rules::window::statistics::{Shape, Statistic};
use crate::rules::window::windows::WindowKind;

/// `time of day`.
pub const TIME_OF_DAY: Statistic = Statistic::plain(
    "time of day",
    WindowKind::Reading,
    Shape::ByItself,
    "Discharge only within the clock hours that the permit allows; hours over midnight belong to the day they start on.",
)
.also(&["only between clock hours"]);
