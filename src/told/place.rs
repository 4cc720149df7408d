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
