//! Counts that reach over a hole in their log: rows between may be lost, and what they counted with them.

use crate::quantity::Cell;
use crate::records::row::Entry;
use crate::told::{Problem, Problems};

/// A count of more days is asked about where it is also so many times as long as usual. Common practice, no source.
const DAYS: u32 = 7;
const TIMES_USUAL: u32 = 3;

/// Whether a row says that what was counted until then is lost: a later count "since the last" goes back no further.
pub(crate) fn says_lost(entry: &Entry) -> bool {
    match &entry.cell {
        Cell::Missing(word) | Cell::Word(word) => {
            matches!(word.as_str(), "lost" | "void" | "not known" | "unknown" | "sheet lost" | "lost sheet")
        }
        _ => false,
    }
}

/// How many days are more than one count usually covers; none where nothing is unusual.
pub(crate) fn unusual(mut days: Vec<u32>) -> u32 {
    days.sort_unstable();
    let usual = days.get(days.len() / 2).copied().unwrap_or(0);
    DAYS.max(usual.saturating_mul(TIMES_USUAL))
}

/// Asks about each count since the last, given with its days, that covers far more of them than the others do.
pub(crate) fn tell(counts: &[(&Entry, u32)], problems: &Problems) {
    let most = unusual(counts.iter().map(|(_, days)| *days).collect());
    for (entry, days) in counts.iter().filter(|(_, days)| *days > most) {
        let looked = entry.row.note.as_deref().is_some_and(|note| note.to_lowercase().contains("checked"));
        if looked || entry.row.gap_is_meant {
            continue;
        }
        let (name, what) = (entry.row.name.text.trim(), entry.what.words());
        problems.add(
            Problem::warning(
                &entry.place(),
                format!("{name}, {what}: this one is taken for the {days} days since the one before it"),
            )
            .hint(format!(
                "if rows between are lost, say so: a row of the last day without one, with `{name}, {what}, lost`; for a \
                 sheet `bywash sheet FILE --lost \"Feb 2025\"`; if it is right, write `checked` in its note"
            )),
        );
    }
}
