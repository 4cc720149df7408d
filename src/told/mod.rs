//! Problems told to people: the place, the line as typed, a sentence, what to do.

mod place;
mod print;
mod problem;

pub use crate::quantity::nearest;
pub use place::Place;
pub use print::{Lines, WIDTH, is_unprintable, print, print_one, print_short, shape};
pub use problem::{Problem, Problems, Severity};

/// `1 record`, `3 records`.
pub fn many(count: usize, word: &str) -> String {
    match count {
        1 => format!("1 {word}"),
        _ => format!("{count} {word}s"),
    }
}
