//! Permit year maximum.

use super::{Shape, Statistic, fold};
use crate::rules::windows::WindowKind;

/// `permit year maximum`.
pub const PERMIT_YEAR_MAXIMUM: Statistic = Statistic::plain(
    "permit year maximum",
    WindowKind::PermitYear,
    Shape::Window(fold::highest),
    "The highest daily value of each permit year.",
)
.also(&["annual maximum", "year maximum", "yearly maximum"])
.by_day();
