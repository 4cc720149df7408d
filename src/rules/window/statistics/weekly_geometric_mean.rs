//! Weekly geometric mean.

use crate::rules::window::statistics::{Fold, Shape, Statistic};
use crate::rules::window::windows::WindowKind;

/// `weekly geometric mean`.
pub const WEEKLY_GEOMETRIC_MEAN: Statistic = Statistic::plain(
    "weekly geometric mean",
    WindowKind::Week,
    Shape::Window(Fold::Geometric),
    "The nth root of the product of the n daily values of a week; zero is impossible, so results below detection count as the permit says.",
)
.also(&["week geometric mean"])
.by_day()
.substitutes()
.geometric();
