//! Problems told to people: the place, the line as typed, a sentence, what to do.

mod place;

pub use place::Place;
