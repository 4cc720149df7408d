//! Typed quantities with exact US units: parse `38 gpm`, print with honest digits, named bounds.

mod range;

pub use range::{Range, Stated};
