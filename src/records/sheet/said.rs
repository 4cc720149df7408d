//! What a mapping says of flags and of rows that are lost; which rows sum others up.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use crate::quantity::{DateRange, Misread, date_range};
use crate::records::sheet::grid::GridRow;
use crate::records::sheet::layout::look;

/// What a flag of rain may mean, in the words of the mapping file.
pub(super) const FLAG_WORDS: [(&str, &str); 5] = [
    ("trace", "trace"),
    ("out", "out"),
    ("in a later total", "in a later total"),
    ("total", "total"),
    ("as written", "as written"),
];

/// What a flag means, where it is one of the usual letters of daily station files (from memory, not checked): T a trace, M
/// missing, S in a total that follows, A the total of several days, E estimated.
pub(crate) fn flag_meant<'a>(flag: &str, names: &'a BTreeMap<String, String>) -> Option<&'a str> {
    if let Some(said) = names.get(flag) {
        return Some(said);
    }
    Some(match flag.to_uppercase().as_str() {
        "T" | "TRACE" => "trace",
        "M" | "MISSING" => "out",
        "S" => "in a later total",
        "A" => "total",
        "E" => "as written",
        _ => return None,
    })
}

/// The days whose rows are lost, as typed after `--lost`: `Feb 2025`, `8 Mar 2025 to 1 Apr 2025`, or `nothing`.
///
/// # Errors
/// When it is neither.
pub(crate) fn lost_days(text: &str) -> Result<Option<(NaiveDate, NaiveDate)>, Misread> {
    if text.trim().eq_ignore_ascii_case("nothing") {
        return Ok(None);
    }
    match date_range(text)? {
        DateRange::Dates { first, last } => Ok(Some((first, last))),
        DateRange::Yearly(_) => {
            Err(Misread::new(format!("`{}` has no year", text.trim())).hint("write it like 1 Feb 2025 to 28 Feb 2025"))
        }
    }
}

/// Words that begin a row of totals.
const TOTALS: [&str; 25] = [
    "total",
    "totals",
    "tot",
    "tots",
    "ttl",
    "wk",
    "week",
    "weekly",
    "ytd",
    "mtd",
    "ave",
    "carried",
    "sum",
    "average",
    "averages",
    "avg",
    "mean",
    "max",
    "maximum",
    "min",
    "minimum",
    "subtotal",
    "sub-total",
    "month",
    "monthly",
];

/// Whether a row sums others up: a word of its first two cells says so, and it does not begin with a date.
pub(crate) fn is_total(row: &GridRow) -> bool {
    let mut written = row.cells.iter().filter(|cell| !cell.is_empty()).take(2).peekable();
    if written.peek().is_some_and(|cell| look(cell).is_some()) {
        return false;
    }
    written.any(|cell| {
        let lower = cell.to_lowercase();
        let words: Vec<&str> =
            lower.split(|c: char| !(c.is_alphabetic() || c == '-')).filter(|word| !word.is_empty()).collect();
        words.len() <= 5 && words.iter().any(|word| TOTALS.contains(word))
    })
}
