//! The user's letterhead and free paragraphs: words that stand in the report and change no figure.

use crate::files::{Fields, Sources, yaml};
use crate::told::Problems;

/// The file's name in the facility's folder.
pub const LETTERHEAD_FILE: &str = "letterhead.yaml";

/// Where a paragraph stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stands {
    /// After the first page.
    AfterTheFirstPage,
    /// At the end, before the cautions.
    AtTheEnd,
}

/// A paragraph of the user's own.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Paragraph {
    /// Its heading.
    pub heading: String,
    /// Where it stands.
    pub stands: Stands,
    /// Its words.
    pub text: String,
}

/// Letterhead and paragraphs; empty where there is no such file.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Letterhead {
    /// Up to five lines, top first.
    pub lines: Vec<String>,
    /// Paragraphs in order.
    pub paragraphs: Vec<Paragraph>,
}

impl Letterhead {
    /// Whether a line still says what the starter file says.
    pub fn has_placeholders(&self) -> bool {
        const STARTER: &str = include_str!(concat!(env!("CARGO_MANIFEST_DIR"), "/templates/letterhead.yaml"));
        let of_starter = |line: &str| {
            STARTER
                .lines()
                .filter_map(|row| row.trim().strip_prefix("- "))
                .any(|row| row.split('#').next().unwrap_or_default().trim() == line)
        };
        self.lines.iter().any(|line| of_starter(line.trim()))
    }
}

/// Reads the letterhead of a facility's folder, if there is one; what is wrong is told.
pub fn read(sources: &mut Sources, problems: &Problems) -> Letterhead {
    if !sources.exists(LETTERHEAD_FILE) {
        return Letterhead::default();
    }
    let Some(tree) = sources.text(LETTERHEAD_FILE, None, problems).and_then(|source| yaml::tree(&source, problems))
    else {
        return Letterhead::default();
    };
    let Some(mut file) = Fields::of_file(&tree, problems) else {
        return Letterhead::default();
    };
    let field = file.may("letterhead");
    let lines: Vec<String> = field.list().iter().filter_map(|line| line.text().map(|said| said.value)).collect();
    if lines.len() > 5 {
        field.refuse("a letterhead has up to five lines", "shorten it");
    }
    let mut paragraphs = Vec::new();
    for field in file.may("paragraphs").list() {
        let Some(mut fields) = field.fields() else {
            continue;
        };
        let heading = fields.must("heading", "About this site").text();
        let stands = fields
            .must("stands", "after the first page")
            .one_of(&[("after the first page", Stands::AfterTheFirstPage), ("at the end", Stands::AtTheEnd)]);
        let text = fields.must("text", "\"We recycle the water of our floors.\"").text();
        fields.finish();
        if let (Some(heading), Some(stands), Some(text)) = (heading, stands, text) {
            paragraphs.push(Paragraph { heading: heading.value, stands: stands.value, text: text.value });
        }
    }
    file.finish();
    Letterhead { lines, paragraphs }
}
