//! Mathematics that several rooms share: normal, least squares, statistics, money over years, roots.

pub mod censored;
pub mod economy;
pub mod least_squares;
pub mod normal;
pub mod permit_statistics;
mod root;
pub mod statistics;

pub use root::root_between;
