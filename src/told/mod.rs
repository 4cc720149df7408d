//! Problems told to people: the place, the line as typed, a sentence, what to do.

mod place;
mod print;
mod problem;

pub use crate::quantity::nearest;
pub use place::Place;
pub use print::{Lines, WIDTH, print, print_one};
pub use problem::{Problem, Problems, Severity};
