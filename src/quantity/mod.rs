//! Typed quantities with exact US units: parse `38 gpm`, print with honest digits, named bounds.

mod calendar;
mod range;

pub use calendar::{ByMonth, DayOfYear, DaySpan, HowOften, Stretch, Weekdays};
pub use range::{Range, Stated};
