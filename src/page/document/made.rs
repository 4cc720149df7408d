//! How a document was made: carried in it, so that it can be made again and held against itself.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

/// The program, what was asked of it, and what it read.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Made {
    /// The program's version.
    pub bywash: String,
    /// The command and its flags, without the site's folder and without where outputs go.
    pub asked: Vec<String>,
    /// Which of the command's documents it is.
    pub part: Part,
    /// Each file that was read and its SHA-256 in hexadecimal, by its name in the site's folder.
    pub files: BTreeMap<String, String>,
}

/// Which of a command's documents.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Part {
    /// What is handed over.
    Main,
    /// What stands behind it.
    Annex,
    /// What was found, as JSON.
    Findings,
    /// The page for a screen.
    Page,
}
