//! The basin as a page: the same document, and a slider over the sizes that were run.

use crate::page::html::Page;
use crate::report::basin::{self, BasinCase};

/// The page of a basin.
pub fn page(case: &BasinCase<'_>) -> Page {
    Page {
        document: Some(basin::document(case)),
        annex: Some(basin::annex(case)),
        sizes: basin::of_sizes(case),
        ..Page::default()
    }
}
