//! Daily series, readings that span days, gaps.

mod daily;

pub use daily::{DailyWeather, RainDay, RainReading};
