//! Permit year total.

use crate::rules::window::statistics::{Fold, Shape, Statistic};
use crate::rules::window::windows::WindowKind;

/// `permit year total`.
pub const PERMIT_YEAR_TOTAL: Statistic = Statistic::plain(
    "permit year total",
    WindowKind::PermitYear,
    Shape::Window(Fold::Total),
    "The sum over each permit year; missing days are not zero, and a year cut short is not scaled up.",
)
.also(&["annual total", "year total", "yearly total"])
.by_day()
.substitutes();
