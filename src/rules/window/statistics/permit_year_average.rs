//! Permit year average.

use crate::rules::window::statistics::{Fold, Shape, Statistic};
use crate::rules::window::windows::WindowKind;

/// `permit year average`.
pub const PERMIT_YEAR_AVERAGE: Statistic = Statistic::plain(
    "permit year average",
    WindowKind::PermitYear,
    Shape::Window(Fold::Average),
    "The average over each permit year.",
)
.also(&["annual average", "year average", "yearly average"])
.by_day()
.substitutes()
.divides();
