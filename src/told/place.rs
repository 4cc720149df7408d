//! Where something stands in a file of the user's.

use std::fmt;
use std::sync::Arc;

/// A stretch of one line of a file.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Place {
    /// The file as the user knows it: its path from the facility's directory, with `/`.
    pub file: Arc<str>,
    /// Line, counted from 1; 0 when the whole file is meant.
    pub line: u32,
    /// Column in characters, counted from 1.
    pub column: u32,
    /// Length in characters, at least 1.
    pub length: u32,
}

impl Place {
    /// A place that means the whole file.
    pub fn file(file: &str) -> Self {
        Self { file: Arc::from(file), line: 0, column: 1, length: 1 }
    }

    /// The first column of a line.
    pub fn line(file: &Arc<str>, line: u32) -> Self {
        Self { file: Arc::clone(file), line, column: 1, length: 1 }
    }
}

impl fmt::Display for Place {
    /// `facility.yaml:41`, or the file alone when the whole file is meant.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.line == 0 { f.write_str(&self.file) } else { write!(f, "{}:{}", self.file, self.line) }
    }
}

/// Where a value stands in the facility file, in words: `Shaker screen: deck 1, stops, bigger than the opening`. The heading that it
/// stands under tells nothing that the name of its place does not.
pub fn path_in_words(path: &str) -> String {
    let mut parts: Vec<String> = Vec::new();
    for part in path.split(" / ") {
        match parts.last_mut().filter(|_| part.chars().all(|c| c.is_ascii_digit()) && !part.is_empty()) {
            Some(of) => *of = format!("{} {part}", of.strip_suffix('s').unwrap_or(of)),
            None => parts.push(part.to_owned()),
        }
    }
    let named = usize::from(parts.len() > 2);
    match parts.get(named..) {
        Some([place, rest @ ..]) if !rest.is_empty() => format!("{place}: {}", rest.join(", ")),
        _ => path.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::path_in_words;

    #[test]
    fn where_a_value_stands_is_told_in_words() {
        let told = path_in_words("filters / Shaker screen / decks / 1 / stops / bigger than the opening");
        assert_eq!(told, "Shaker screen: deck 1, stops, bigger than the opening");
        assert_eq!(path_in_words("ponds / Settling pond / seepage"), "Settling pond: seepage");
        assert_eq!(path_in_words("weather / snow"), "weather: snow");
        assert_eq!(path_in_words("Well"), "Well");
    }
}
