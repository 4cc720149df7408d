//! Permit year average.

use super::{Shape, Statistic, fold};
use crate::rules::windows::WindowKind;

/// `permit year average`.
pub const PERMIT_YEAR_AVERAGE: Statistic = Statistic::plain(
    "permit year average",
    WindowKind::PermitYear,
    Shape::Window(fold::average),
    "The average over each permit year.",
)
.also(&["annual average", "year average", "yearly average"])
.by_day()
.substitutes()
.divides();
