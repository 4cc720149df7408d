//! What stands in the site's folders and was not read: one note each, so that no record is passed over unseen.

use std::collections::BTreeMap;

use crate::facility::model::Facility;
use crate::files::{Entry, EntryKind, Sources};
use crate::page::fonts;
use crate::told::{Place, Problem, Problems, Severity};

/// Names that programs leave beside a user's files.
fn is_litter(name: &str) -> bool {
    name.starts_with("~$")
        || name.starts_with('.')
        || ["thumbs.db", "desktop.ini"].contains(&name.to_lowercase().as_str())
}

fn ending(name: &str) -> String {
    name.rsplit_once('.').map(|(_, end)| end.to_lowercase()).unwrap_or_default()
}

/// Tells what stands in the folder of records, in the folder of proposals and beside facility.yaml, and was not read.
pub fn tell(facility: &Facility, sources: &Sources, problems: &Problems) {
    let records = facility.records.as_ref().map(|(folder, _)| Sources::name_of(folder));
    if let Some(folder) = &records {
        in_records(folder, sources, problems);
    }
    // A table beside facility.yaml is easily taken for one that is read.
    let beside = sources.entries("").unwrap_or_else(|cause| {
        let what = format!("the facility's folder can't be listed: {cause}");
        problems.add(Problem::error(&Place::file("."), what).hint("look at who may read what is in it"));
        Vec::new()
    });
    for entry in beside {
        let is_table = ["csv", "xlsx", "xls", "ods", "tsv"].contains(&ending(&entry.name).as_str());
        if is_table && !is_litter(&entry.name) && !sources.has_read(&sources.directory().join(&entry.name)) {
            let hint = match &records {
                Some(folder) => format!("records are read from the folder `{folder}`"),
                None => "records are read from the folder that `records:` names".to_owned(),
            };
            note(&entry.name, "this file is not read", hint, problems);
        }
    }
}

fn in_records(folder: &str, sources: &Sources, problems: &Problems) {
    let entries = match sources.entries(folder) {
        Ok(entries) => entries,
        // Told when the records were read.
        Err(_) if problems.has_errors() => return,
        Err(cause) => {
            let what = format!("the folder `{folder}` can't be listed: {cause}");
            problems.add(Problem::error(&Place::file(folder), what).hint("look at who may read what is in it"));
            return;
        }
    };
    let entries: Vec<&Entry> = entries.iter().filter(|entry| !is_litter(&entry.name)).collect();
    if entries.is_empty() {
        note(folder, "the folder of records is empty", "put tables (CSV or XLSX) into it", problems);
    }
    let mut by_ending: BTreeMap<String, Vec<&str>> = BTreeMap::new();
    for entry in &entries {
        let name = &entry.name;
        let whole = format!("{folder}/{name}");
        let (what, hint) = match entry.kind {
            EntryKind::Folder => {
                ("a folder among the records is not read", "move its tables up into the folder of records")
            }
            EntryKind::LeadsNowhere => ("this link leads nowhere, so nothing is read", "put the file itself here"),
            EntryKind::NoFile => ("this is no ordinary file, so it is not read", "put a file here"),
            EntryKind::NameIsNoText => ("the name of this file is no text (UTF-8), so it is not read", "rename it"),
            // Tables that could not be read have been told as errors.
            EntryKind::File if ["csv", "xlsx"].contains(&ending(name).as_str()) => continue,
            EntryKind::File => match name.strip_suffix(".map.yaml") {
                Some(sheet) if entries.iter().any(|other| other.name == sheet) => continue,
                Some(_) => ("the sheet that this file is for is gone", "put the sheet back, or take this file away"),
                None => {
                    by_ending.entry(ending(name)).or_default().push(name);
                    continue;
                }
            },
        };
        note(&whole, what, hint, problems);
    }
    for (ending, names) in by_ending {
        let first = names.first().copied().unwrap_or_default();
        let what = match names.len() {
            1 => "this file is not read".to_owned(),
            many => format!("this file and {} more of its kind are not read", many - 1),
        };
        let hint = match ending.as_str() {
            "xls" | "ods" | "xlsm" | "xlsb" | "numbers" => "save it as .xlsx or .csv",
            "txt" => {
                "a table: save it as .csv; a book of letters: `bywash sheet` with its name says how its lines are kept"
            }
            "tsv" | "dat" => "save it as .csv",
            _ => "tables are read from .csv and .xlsx",
        };
        note(&format!("{folder}/{first}"), &what, hint, problems);
    }
}

/// Tells letters that the report's fonts lack, once for each file: where one is printed, a box stands in its place.
pub fn tell_letters(sources: &Sources, problems: &Problems) {
    for source in sources.texts() {
        let mut first = None;
        let mut lacking: Vec<char> = Vec::new();
        let lines = source.text.lines().enumerate().filter(|(_, line)| !line.is_ascii());
        for (at, line) in lines.filter(|(_, line)| !line.trim_start().starts_with('#')) {
            let said = line.split(" #").next().unwrap_or_default();
            for (column, c) in said.chars().enumerate().filter(|(_, c)| fonts::lacks(*c)) {
                first.get_or_insert_with(|| Place {
                    line: u32::try_from(at + 1).unwrap_or(u32::MAX),
                    column: u32::try_from(column + 1).unwrap_or(u32::MAX),
                    ..Place::file(&source.name)
                });
                if !lacking.contains(&c) {
                    lacking.push(c);
                }
            }
        }
        if let Some(place) = first {
            let some: String = lacking.iter().take(MOST_LETTERS).collect();
            let more = if lacking.len() > MOST_LETTERS { " and others" } else { "" };
            let what = format!("the report's fonts have no `{some}`{more}");
            problems.add(
                Problem::new(Severity::Note, &place, what).hint(
                    "where it is printed a box stands in its place; write it in Latin, Greek or Cyrillic letters",
                ),
            );
        }
    }
}

/// The most letters that a note names.
const MOST_LETTERS: usize = 12;

fn note(name: &str, what: &str, hint: impl Into<String>, problems: &Problems) {
    problems.add(Problem::new(Severity::Note, &Place::file(name), what).hint(hint));
}
