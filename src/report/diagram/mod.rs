//! The diagram of the facility: laid out left to right on a grid, ways square, crossings gapped.

mod draw;
mod layout;
mod route;

pub use draw::draw;
pub use layout::{Sheet, sheets};
