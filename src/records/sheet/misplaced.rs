//! Columns of which a mapping says a place that the facility has not, or one of which no such thing is told.

use crate::facility::model::Facility;
use crate::records::gather::subject_named;
use crate::records::sheet::grid::letters;
use crate::records::sheet::mapping::{Column, Mapping};
use crate::records::words::What;

/// What is wrong with each, and what would be right: once, however many tabs or rows have it.
pub(crate) fn misplaced(facility: &Facility, mapping: &Mapping) -> Vec<String> {
    let mut told: Vec<String> = Vec::new();
    let mut seen: Vec<&Column> = Vec::new();
    for (at, column) in mapping.tables.iter().flat_map(|table| &table.columns) {
        let Column::Values { place, what, .. } = column else { continue };
        // Without a place it is of the row's.
        let Some(what) = What::named(what).filter(|_| !place.trim().is_empty() && !seen.contains(&column)) else {
            continue;
        };
        seen.push(column);
        if let Err((message, hint)) = subject_named(facility, what, place.trim()) {
            told.push(format!("column {} `{}`: {message}; {hint}", letters(*at), column.text()));
        }
    }
    told
}
