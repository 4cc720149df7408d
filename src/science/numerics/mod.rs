//! Mathematics that several rooms share: normal, least squares, statistics, money over years.

pub mod censored;
pub mod economy;
pub mod least_squares;
pub mod normal;
pub mod permit_statistics;
pub mod statistics;
