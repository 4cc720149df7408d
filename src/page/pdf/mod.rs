//! The report as PDF: set on the grid, tagged, with bookmarks; the same document always gives the same bytes.
//!
//! Text is selectable, the structure is written to the rules of tagged PDF (headings, tables, figures with their words), and
//! nothing in the file depends on the clock.

mod blocks;
mod colour;
mod columns;
mod compose;
mod contents;
mod figure;
mod ops;
mod outcomes;
mod read;
mod record;
mod structure;
mod table;
mod water;
mod write;

pub use compose::WHO_DECIDES;
pub use read::{ReadBack, read as read_back};

use crate::page::document::Document;

/// Why a document could not be made into PDF.
#[derive(Debug, thiserror::Error)]
pub enum RenderError {
    /// A font that is part of the program could not be read.
    #[error("the report's own font {0} could not be read; this is a fault of the program")]
    Font(&'static str),
    /// The file could not be put together.
    #[error("the PDF could not be put together: {0}")]
    Write(String),
}

/// Renders a document.
///
/// # Errors
/// When the fonts of the program cannot be read or the file cannot be put together; neither depends on what the document
/// says.
pub fn render(doc: &Document) -> Result<Vec<u8>, RenderError> {
    write::write(doc, &compose(doc))
}

/// Words that stick out of the block of their page, or are set too small. None, whatever the document: tests hold to it.
pub fn layout_faults(doc: &Document) -> Vec<String> {
    compose(doc).overflows
}

fn compose(doc: &Document) -> record::Record {
    let mut composer = compose::Composer::new(doc);
    composer.title();
    for (i, block) in doc.blocks.iter().enumerate() {
        if matches!(block, crate::page::document::Block::Heading(_)) {
            composer.keep_heading(doc.blocks.get(i..).unwrap_or(&[]));
        }
        composer.block(block);
    }
    // No empty sheet at the end.
    if composer.at_top() && composer.record.sheets.len() > 1 {
        composer.record.sheets.pop();
    }
    composer.heads_and_feet();
    composer.record
}
