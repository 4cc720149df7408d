//! Permit year maximum.

use crate::rules::window::statistics::{Fold, Shape, Statistic};
use crate::rules::window::windows::WindowKind;

/// `permit year maximum`.
pub const PERMIT_YEAR_MAXIMUM: Statistic = Statistic::plain(
    "permit year maximum",
    WindowKind::PermitYear,
    Shape::Window(Fold::Highest),
    "The highest daily value of each permit year.",
)
.also(&["annual maximum", "year maximum", "yearly maximum"])
.by_day();
