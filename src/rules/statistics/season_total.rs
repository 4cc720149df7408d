//! Season total.

use super::{Shape, Statistic, fold};
use crate::rules::windows::WindowKind;

/// `season total`.
pub const SEASON_TOTAL: Statistic = Statistic::plain(
    "season total",
    WindowKind::Season,
    Shape::Window(fold::total),
    "The sum over the limit's season of each year; missing days are not zero.",
)
.also(&["seasonal total"])
.by_day()
.substitutes();
