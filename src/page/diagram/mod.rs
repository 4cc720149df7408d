//! The diagram of the facility: laid out left to right on a grid, ways square, crossings gapped.

mod draw;
mod labels;
mod layout;
mod route;
mod tracks;

pub use draw::draw;
pub use layout::{Sheet, sheets};
