//! Monthly average.

use crate::rules::window::statistics::{Fold, Shape, Statistic};
use crate::rules::window::windows::WindowKind;

/// `monthly average`.
pub const MONTHLY_AVERAGE: Statistic = Statistic::plain(
    "monthly average",
    WindowKind::Month,
    Shape::Window(Fold::Average),
    "The sum of all daily discharges measured in a calendar month over the number of daily discharges measured (40 CFR 122.2), unless the permit divides otherwise.",
)
.also(&["month average", "average monthly"])
.by_day()
.substitutes()
.divides();
