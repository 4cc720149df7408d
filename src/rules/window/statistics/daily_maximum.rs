//! Daily maximum.

use crate::rules::window::statistics::{Shape, Statistic};
use crate::rules::window::windows::WindowKind;

/// `daily maximum`.
pub const DAILY_MAXIMUM: Statistic = Statistic::plain(
    "daily maximum",
    WindowKind::Reading,
    Shape::Each,
    "The highest allowable daily discharge: of a mass or a volume the total of the day, of anything else the average over the day (40 CFR 122.2), unless the permit counts several samples of a day otherwise.",
)
.also(&["daily max", "any day"])
.by_day();
