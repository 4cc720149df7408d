//! Problems told to people: the place, the line as typed, a sentence, what to do.

mod place;
mod print;
mod problem;

pub use crate::quantity::nearest;
pub use place::{Place, path_in_words};
pub use print::{Lines, WIDTH, is_unprintable, print, print_one, print_short, shape};
pub use problem::{Problem, Problems, Severity};

/// `1 record`, `3 records`.
pub fn many(count: usize, word: &str) -> String {
    match count {
        1 => format!("1 {word}"),
        _ => format!("{count} {word}s"),
    }
}

/// The first few of many names: `A; B; C and 4 more`.
pub fn named(names: &[&str]) -> String {
    const MOST: usize = 3;
    // A fourth takes no more room than the words that count it.
    let most = if names.len() == MOST + 1 { MOST + 1 } else { MOST };
    let few = names.iter().take(most).copied().collect::<Vec<_>>().join("; ");
    match names.len().saturating_sub(most) {
        0 => few,
        more => format!("{few} and {more} more"),
    }
}
