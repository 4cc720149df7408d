//! Monthly geometric mean.

use crate::rules::window::statistics::{Fold, Shape, Statistic};
use crate::rules::window::windows::WindowKind;

/// `monthly geometric mean`.
pub const MONTHLY_GEOMETRIC_MEAN: Statistic = Statistic::plain(
    "monthly geometric mean",
    WindowKind::Month,
    Shape::Window(Fold::Geometric),
    "The nth root of the product of the n daily values of a month; zero is impossible, so results below detection count as the permit says.",
)
.also(&["month geometric mean", "geometric mean"])
.by_day()
.substitutes()
.geometric();
