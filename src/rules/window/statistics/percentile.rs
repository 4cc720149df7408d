//! Percentile.

use crate::rules::window::statistics::{Fold, Shape, Statistic};
use crate::rules::window::windows::WindowKind;

/// `percentile`.
pub const PERCENTILE: Statistic = Statistic::plain(
    "percentile",
    WindowKind::PermitYear,
    Shape::Window(Fold::Allowance),
    "How many of the samples of a permit year may be over the limit, by the permit's own table of allowances for the number of samples.",
)
.also(&["percentile with allowance"]);
