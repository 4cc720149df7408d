//! Reads back from a PDF what this room wrote: how it was made, and the words of its pages.

use crate::page::document::Made;

/// The key of the document information in which a PDF carries how it was made.
pub const MADE: &[u8] = b"Made";

/// A PDF as read back.
#[derive(Debug)]
pub struct ReadBack {
    /// How it says it was made. None where it says nothing.
    pub made: Option<Made>,
    /// The words of each page, a line each, but for the line at its foot that carries the fingerprint.
    pub pages: Vec<Vec<String>>,
}

/// Reads a PDF back.
///
/// # Errors
/// When it is no PDF that can be read.
pub fn read(bytes: &[u8]) -> Result<ReadBack, lopdf::Error> {
    let file = lopdf::Document::load_mem(bytes)?;
    let pages = file.get_pages().keys().map(|page| words(&file, *page)).collect();
    Ok(ReadBack { made: made(&file), pages })
}

fn made(file: &lopdf::Document) -> Option<Made> {
    let (_, info) = file.dereference(file.trailer.get(b"Info").ok()?).ok()?;
    let text = lopdf::decode_text_string(info.as_dict().ok()?.get(MADE).ok()?).ok()?;
    serde_json::from_str(&text).ok()
}

fn words(file: &lopdf::Document, page: u32) -> Vec<String> {
    let text = file.extract_text(&[page]).unwrap_or_default();
    let is_foot = |line: &str| line.starts_with("page ") && line.contains(" of ");
    text.lines().map(|line| line.trim().to_owned()).filter(|line| !line.is_empty() && !is_foot(line)).collect()
}
