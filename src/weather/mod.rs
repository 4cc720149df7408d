//! Daily series, readings that span days, gaps.

mod daily;
mod spread;
mod told;

pub use daily::{DailyWeather, RainDay, RainReading};
pub use spread::{DayBounds, Stretch, spread};
pub use told::{Repair, SourceSummary, gaps};
