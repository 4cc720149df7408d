//! Percentile.

use super::{Shape, Statistic, fold};
use crate::rules::windows::WindowKind;

/// `percentile`.
pub const PERCENTILE: Statistic = Statistic::plain(
    "percentile",
    WindowKind::PermitYear,
    Shape::Window(fold::over_allowance),
    "How many of the samples of a permit year may be over the limit, by the permit's own table of allowances for the number of samples.",
)
.also(&["percentile with allowance"]);
