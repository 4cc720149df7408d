//! Windows of time, intervals, the statistics, and a value held against a bound.

pub(crate) mod decide;
pub mod interval;
pub mod statistics;
pub mod windows;
