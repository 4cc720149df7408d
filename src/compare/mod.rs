//! A facility as it stands against proposals: ranges and money.

pub mod money;
pub mod prices;
pub mod proposal;
