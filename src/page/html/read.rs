//! Reads back from a page what this room wrote: how it was made, and its words.

use crate::page::document::Made;

const MADE: &str = "<meta name=\"made\" content=\"";

/// How a page says it was made.
pub fn made(html: &str) -> Option<Made> {
    let from = html.find(MADE)? + MADE.len();
    let rest = html.get(from..)?;
    let text = rest.get(..rest.find('"')?)?;
    let plain = text.replace("&quot;", "\"").replace("&lt;", "<").replace("&gt;", ">").replace("&amp;", "&");
    serde_json::from_str(&plain).ok()
}

/// The words of a page, one after another, and what its scripts and styles hold.
pub fn words(html: &str) -> Vec<String> {
    let words = html.split('<').filter_map(|part| part.split_once('>')).map(|(_, words)| words.trim().to_owned());
    words.filter(|words| !words.is_empty()).collect()
}
