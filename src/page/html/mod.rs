//! A document as one HTML file: no server, no network, nothing beside it. The same blocks as on paper, the site's picture by
//! the day, and behind figures what they come from.
//!
//! What stands in the file: `style.css` and the scripts it needs as they are, the report's typeface, the blocks, and the days
//! as JSON that no browser runs. Its policy lets nothing else in: no address, and no script or style but these, known by
//! their digests.

mod anchors;
mod answer;
mod blocks;
mod days;
mod drawing;
mod figures;
mod frame;
mod read;
mod sizes;
mod tables;

use std::collections::BTreeMap;

use crate::page::document::{Document, Table};

pub use answer::{Answer, AnswerOption, Bought, MadeUp, MovedLife, MovedPrice};
pub use days::{DayFilter, DayRecord, DaySpan, DayStore, DayWay, Days, Jump, Number, Paper, Scale, Series};
pub use frame::{MARK, render};
pub use read::{made, words};
pub use sizes::{SizeMark, SizeStop, Sizes};

/// What becomes a page.
#[derive(Debug, Default)]
pub struct Page {
    /// The document, first to last.
    pub document: Option<Document>,
    /// What stands behind it.
    pub annex: Option<Document>,
    /// The days of the site's picture.
    pub days: Option<Days>,
    /// What judged figures come from.
    pub workings: Vec<Working>,
    /// What lines of the account of water are made of, by the line's words.
    pub breakdowns: BTreeMap<String, Table>,
    /// A comparison that answers anew when a price is moved.
    pub answer: Option<Answer>,
    /// Sizes of a pond to choose among.
    pub sizes: Option<Sizes>,
    /// Problems of the files, first of all on the page.
    pub problems: Option<Problems>,
    /// Whether the page is made anew while it is open: it then takes itself anew when one comes back to it.
    pub watched: bool,
}

/// Problems of the files the page is made from.
#[derive(Debug, Default, Clone, PartialEq, Eq)]
pub struct Problems {
    /// What they mean for the page: `the page is as it was before`.
    pub head: String,
    /// Each with its place, in order.
    pub lines: Vec<String>,
}

/// What a judged figure comes from: window by window, down to the record and its paper.
#[derive(Debug, Default, Clone)]
pub struct Working {
    /// The anchor of the heading it stands behind, and of its row in the table of limits.
    pub anchor: String,
    /// Its title.
    pub title: String,
    /// The permit's own words, and where they were typed.
    pub words: String,
    /// Its windows.
    pub windows: Vec<WorkedWindow>,
}

/// One window of a judged figure.
#[derive(Debug, Default, Clone)]
pub struct WorkedWindow {
    /// When: `Mar 2025`.
    pub label: String,
    /// How it came out.
    pub outcome: String,
    /// The figure as printed.
    pub figure: String,
    /// How the figure is known.
    pub basis: String,
    /// The arithmetic, line by line.
    pub arithmetic: Vec<String>,
    /// What it rests on: day, words, file and line, paper.
    pub evidence: Vec<[String; 4]>,
    /// What is missing.
    pub missing: Vec<String>,
}
