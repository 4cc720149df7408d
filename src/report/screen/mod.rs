//! The inspection report as a page on a screen: the same document, and behind it the ledger day by day, each window of each
//! limit, and what the lines of the year's water are made of.

pub mod basin;
pub mod case;
mod days;
mod jumps;
mod on_file;
mod water;
mod workings;

use crate::page::html::Page;
use crate::report::inspection;
use crate::report::inspection::about::Case;

/// The page of a case.
pub fn page(case: &Case) -> Page {
    Page {
        document: Some(inspection::inspection(case)),
        annex: Some(inspection::annex(case)),
        days: Some(days::days(case)),
        workings: workings::workings(case),
        breakdowns: water::breakdowns(case),
        ..Page::default()
    }
}
