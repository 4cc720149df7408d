//! Rolling N days average.

use crate::rules::window::statistics::{Fold, Shape, Statistic};
use crate::rules::window::windows::WindowKind;

/// `rolling N days average`.
pub const ROLLING_AVERAGE: Statistic = Statistic::plain(
    "rolling N days average",
    WindowKind::Rolling,
    Shape::Window(Fold::Average),
    "The average of the days up to each day, over a full window: not a calendar month, and not evaluable on the first days (40 CFR 133.101 speaks of 7 and 30 consecutive days).",
)
.also(&["N days rolling average", "average of N days", "N days average"])
.by_day()
.substitutes()
.divides();
