//! How complete each source of records is.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use crate::quantity::{Cell, parameter_name};
use crate::records::row::Entry;
use crate::told::Place;
use crate::weather::{Repair, SourceSummary, gaps};

/// One line for each thing that is observed, in order of its name.
pub(crate) fn sources(entries: &[Entry], repairs: &[Repair]) -> Vec<SourceSummary> {
    let mut groups: BTreeMap<String, Vec<&Entry>> = BTreeMap::new();
    for entry in entries {
        groups.entry(name_of(entry)).or_default().push(entry);
    }
    let mut repaired: BTreeMap<Place, usize> = BTreeMap::new();
    for repair in repairs {
        *repaired.entry(repair.place.clone()).or_default() += 1;
    }
    groups
        .into_iter()
        .filter_map(|(name, entries)| {
            let observed: Vec<NaiveDate> = entries
                .iter()
                .filter(|entry| entry.what.is_act() || !matches!(entry.cell, Cell::Blank | Cell::Missing(_)))
                .map(|entry| entry.row.stamp.date)
                .collect();
            let repairs = entries.iter().map(|entry| repaired.get(&entry.place()).copied().unwrap_or(0)).sum();
            let is_act = entries.iter().any(|entry| entry.what.is_act());
            Some(SourceSummary {
                name,
                first: *observed.iter().min()?,
                last: *observed.iter().max()?,
                count: observed.len(),
                gaps: if is_act { Vec::new() } else { gaps(&observed) },
                repairs,
            })
        })
        .collect()
}

fn name_of(entry: &Entry) -> String {
    let name = entry.row.name.text.trim();
    match &entry.row.parameter {
        Some(parameter) if !parameter.is_blank() => {
            format!("{name}, {}", parameter_name(&parameter.text))
        }
        _ if name.is_empty() => entry.what.words().to_string(),
        _ => format!("{name}, {}", entry.what.words()),
    }
}
