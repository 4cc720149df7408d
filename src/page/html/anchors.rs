//! Names of parts of the page that a link, a mail or a bookmark can hold: each once, and the same every time.

use std::collections::{BTreeMap, BTreeSet};

use crate::page::document::{Block, Document};

/// Names that the page has for its own parts.
const OWN: &[&str] = &[
    "along",
    "annex",
    "answer",
    "answer-evens",
    "answer-head",
    "answer-rows",
    "answer-words",
    "as-typed",
    "content",
    "contents",
    "data",
    "day",
    "day-words",
    "found",
    "found-count",
    "jump",
    "opened",
    "play",
    "search",
    "search-help",
    "site",
    "size-at",
    "size-itself",
    "size-less",
    "size-more",
    "size-words",
    "sizes",
    "size-marks",
    "sizes-head",
    "sizes-of",
    "sizes-table",
    "whole",
];

/// The names given so far.
#[derive(Debug)]
pub struct Anchors {
    taken: BTreeSet<String>,
    of: BTreeMap<(usize, String), String>,
}

impl Anchors {
    /// Names for the headings of documents, in order; each document has anchors of its own.
    pub fn of(documents: &[&Document]) -> Self {
        let taken = OWN.iter().map(|name| (*name).to_owned()).collect();
        let mut anchors = Self { taken, of: BTreeMap::new() };
        for (part, document) in documents.iter().enumerate() {
            for block in &document.blocks {
                let Block::Heading(heading) = block else { continue };
                for anchor in std::iter::once(&heading.anchor).chain(&heading.also) {
                    if !anchors.of.contains_key(&(part, anchor.clone())) {
                        let name = anchors.new_name(if part == 0 { "" } else { "annex-" }, anchor);
                        anchors.of.insert((part, anchor.clone()), name);
                    }
                }
            }
        }
        anchors
    }

    /// The name of an anchor of a document, or else of another.
    pub fn find(&self, part: usize, anchor: &str) -> Option<&str> {
        let own = self.of.get(&(part, anchor.to_owned()));
        own.or_else(|| self.of.iter().find(|((_, other), _)| other == anchor).map(|(_, name)| name)).map(String::as_str)
    }

    /// A new name from words.
    pub fn new_name(&mut self, before: &str, words: &str) -> String {
        let plain = format!("{before}{}", slug(words));
        let mut name = plain.clone();
        let mut number = 2;
        while !self.taken.insert(name.clone()) {
            name = format!("{plain}-{number}");
            number += 1;
        }
        name
    }
}

/// Words as part of an address: letters and figures, hyphens between.
fn slug(words: &str) -> String {
    let mut slug = String::new();
    for c in words.chars().flat_map(char::to_lowercase) {
        if c.is_alphanumeric() {
            slug.push(c);
        } else if !slug.is_empty() && !slug.ends_with('-') {
            slug.push('-');
        }
    }
    let slug = slug.trim_end_matches('-');
    if slug.is_empty() { "part".to_owned() } else { slug.to_owned() }
}
