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
mod keep;
mod ops;
mod outcomes;
mod read;
mod record;
mod save;
mod structure;
mod table;
mod water;
mod write;

pub use compose::WHO_DECIDES;
pub use read::{ReadBack, read as read_back};

use crate::page::document::{Block, Definition, Document, Drawing, Heading, Text};

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
    write::write(doc, compose(doc))
}

/// Words that stick out of the block of their page, or are set too small. None, whatever the document: tests hold to it.
pub fn layout_faults(doc: &Document) -> Vec<String> {
    compose(doc).overflows
}

/// How close the lines of page 1 may stand: the first of these with which it is one page.
const SQUEEZES: [f32; 4] = [1.0, 0.94, 0.88, 0.84];

fn compose(doc: &Document) -> record::Record {
    let first = first_page(doc);
    let page_one = |squeeze| first_sheets(doc, squeeze, first);
    let fits = SQUEEZES.into_iter().map(page_one).find(|composer| composer.record.sheets.len() == 1);
    if fits.is_none() {
        let is_one = |doc: &Document| {
            SQUEEZES.into_iter().any(|squeeze| first_sheets(doc, squeeze, first_page(doc)).record.sheets.len() == 1)
        };
        let shorter = [in_fewer_words(doc, first), without_account(doc, first)];
        if let Some(shorter) = shorter.into_iter().flatten().find(is_one) {
            return compose(&shorter);
        }
    }
    let mut composer = fits.unwrap_or_else(|| page_one(1.0));
    // A first page that ran over is followed on at once: the rest of its second sheet would be blank.
    let ran_over = composer.record.sheets.len() > 1 && matches!(doc.blocks.get(first), Some(Block::PageBreak));
    set(&mut composer, doc, first + usize::from(ran_over)..doc.blocks.len());
    // No empty sheet at the end.
    if composer.at_top() && composer.record.sheets.len() > 1 {
        composer.record.sheets.pop();
    }
    composer.heads_and_feet();
    composer.record
}

/// How many blocks stand on page 1.
fn first_page(doc: &Document) -> usize {
    doc.blocks.iter().position(|block| matches!(block, Block::PageBreak)).unwrap_or(0)
}

/// Title and blocks of page 1.
fn first_sheets(doc: &Document, squeeze: f32, first: usize) -> compose::Composer<'_> {
    let mut composer = compose::Composer::new(doc, squeeze);
    composer.title();
    set(&mut composer, doc, 0..first);
    composer
}

/// The same document with rows of page 1 in fewer words; none where no row has any.
fn in_fewer_words(doc: &Document, first: usize) -> Option<Document> {
    let mut shorter = doc.clone();
    let mut any = false;
    for block in shorter.blocks.iter_mut().take(first) {
        let Block::Margin(rows) = block else { continue };
        for row in rows.iter_mut() {
            if let Some(text) = row.shorter.take() {
                any = true;
                row.text = text;
            }
        }
        rows.retain(|row| !row.text.words().is_empty());
    }
    any.then_some(shorter)
}

/// The same document with the account of water on a sheet after page 1, which points to it and keeps its last note: page 1 is one
/// page, and what is not met, due and not shown is more to it than the year's water.
fn without_account(doc: &Document, first: usize) -> Option<Document> {
    let at = doc.blocks.get(..first)?.iter().position(|block| matches!(block, Block::Water(_)))?;
    let mut shorter = doc.clone();
    let Block::Water(mut account) = shorter.blocks.remove(at) else { return None };
    let last = account.notes.pop()?;
    let name = account.caption.take().unwrap_or_default();
    let here = Definition {
        term: name.clone(),
        text: Text::from(format!("{} The account stands at the top of page 2.", account.brief).trim_start().to_owned()),
        folio: None,
        shorter: None,
    };
    let last = Definition { term: String::new(), text: last, folio: None, shorter: None };
    shorter.blocks.insert(at, Block::Margin(vec![here, last]));
    // After the break: what follows goes on below it.
    let after = first_page(&shorter) + 1;
    shorter.blocks.insert(after, Block::Water(account));
    let anchor = name.to_lowercase();
    shorter.blocks.insert(after, Block::Heading(Heading { level: 2, text: name, anchor, also: Vec::new() }));
    picture_behind_words(&mut shorter.blocks, after + 2);
    Some(shorter)
}

/// Most sections that a picture stands behind where the sheet before it would else stay blank.
const MOST_BEFORE: usize = 2;

/// Sections of words and tables go before the picture that would follow on the account: it takes nearly a sheet, and they fill what
/// the account leaves of its own.
fn picture_behind_words(blocks: &mut [Block], at: usize) {
    let begins = |block: &Block| matches!(block, Block::Heading(heading) if heading.level == 2);
    let Some([heading, Block::Figure(figure), rest @ ..]) = blocks.get(at..) else { return };
    if !begins(heading) || !matches!(figure.drawing, Drawing::Diagram(_)) {
        return;
    }
    let mut end = 0;
    for _ in 0..MOST_BEFORE {
        let Some([first, more @ ..]) = rest.get(end..) else { break };
        let section = 1 + more.iter().position(begins).unwrap_or(more.len());
        let flows = |block: &Block| !matches!(block, Block::Figure(_) | Block::PageBreak);
        if !begins(first) || !rest.iter().skip(end).take(section).all(flows) {
            break;
        }
        end += section;
    }
    if let Some(both) = blocks.get_mut(at..at + 2 + end) {
        both.rotate_left(2);
    }
}

/// Sets some of the blocks.
fn set<'a>(composer: &mut compose::Composer<'a>, doc: &'a Document, blocks: std::ops::Range<usize>) {
    // The blocks before this one begin on one sheet.
    let mut together = blocks.start;
    for i in blocks {
        let Some([block, rest @ ..]) = doc.blocks.get(i..) else { return };
        composer.follows = i < together;
        if !composer.follows {
            together = i + composer.keep_together(doc.blocks.get(i..).unwrap_or_default());
        }
        let leads = matches!(block, Block::Paragraph(_)) && !std::mem::take(&mut composer.unled);
        composer.led = if leads { composer.led_height(rest) } else { 0.0 };
        composer.block(block);
    }
}
