//! Quotes in a line of a table: where its cells begin and end, and which of them are a ditto mark.
//!
//! A table's row is one line. A quote that is opened and not closed on its line would swallow the rows after it, so that
//! they are told and never lost (RFC 4180 allows a quoted cell to run over lines; a sheet of records has no use for it).

use std::ops::Range;

/// A cell of a line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct CellSpan {
    /// Its bytes in the line, quotes and blanks around it included.
    pub bytes: Range<usize>,
    /// Whether it is one quote mark and nothing else: "the same as above".
    pub is_ditto: bool,
}

/// A quote that does not pair.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Unpaired {
    /// The byte of the line where it stands.
    pub at: usize,
    pub message: &'static str,
    pub hint: &'static str,
}

/// The cells of one line.
///
/// # Errors
/// Where a quote is not closed on the line, or more stands behind the quote that closes a cell.
pub(super) fn cells(line: &str, delimiter: u8) -> Result<Vec<CellSpan>, Unpaired> {
    let bytes = line.as_bytes();
    let end_of = |from: usize| {
        bytes
            .get(from..)
            .and_then(|rest| rest.iter().position(|byte| *byte == delimiter))
            .map_or(bytes.len(), |at| from + at)
    };
    let mut cells = Vec::new();
    let mut from = 0;
    loop {
        let bare_end = end_of(from);
        let bare = line.get(from..bare_end).unwrap_or_default();
        let is_ditto = bare.trim_matches(' ') == "\"";
        let to =
            if bytes.get(from) == Some(&b'"') && !is_ditto { quoted_end(bytes, from, delimiter)? } else { bare_end };
        cells.push(CellSpan { bytes: from..to, is_ditto });
        if to >= bytes.len() {
            break;
        }
        from = to + 1;
    }
    // A ditto mark and a quote that ends a later cell may as well be the two ends of one quoted text.
    let ditto = cells.iter().position(|cell| cell.is_ditto);
    let tail = |cell: &CellSpan| {
        let text = line.get(cell.bytes.clone()).unwrap_or_default().trim();
        // `5'3"` and `6"` are feet and inches.
        text.ends_with('"') && !text.starts_with(|first: char| first == '"' || first.is_ascii_digit())
    };
    if let Some(first) = ditto
        && cells.iter().skip(first).any(tail)
    {
        return Err(Unpaired {
            at: cells.get(first).map_or(0, |cell| cell.bytes.start),
            message: "this quote may be a ditto mark or begin a text",
            hint: "for \"the same as above\" write the value itself or `same`; quotes go directly around a text",
        });
    }
    Ok(cells)
}

/// Where the quoted cell that begins at `from` ends.
fn quoted_end(bytes: &[u8], from: usize, delimiter: u8) -> Result<usize, Unpaired> {
    let mut at = from + 1;
    loop {
        match (bytes.get(at), bytes.get(at + 1)) {
            (None, _) => {
                return Err(Unpaired {
                    at: from,
                    message: "this quote is not closed on its line",
                    hint: "close it, or take it out; a row is one line",
                });
            }
            (Some(b'"'), Some(b'"')) => at += 2,
            (Some(b'"'), next) if next.is_none_or(|next| *next == delimiter) => return Ok(at + 1),
            (Some(b'"'), Some(b' ' | b'\t')) => {
                let blanks =
                    bytes.iter().skip(at + 1).take_while(|byte| matches!(byte, b' ' | b'\t') && **byte != delimiter);
                let end = at + 1 + blanks.count();
                if bytes.get(end).is_none_or(|next| *next == delimiter) {
                    return Ok(end);
                }
                return Err(behind(at));
            }
            (Some(b'"'), _) => return Err(behind(at)),
            _ => at += 1,
        }
    }
}

fn behind(at: usize) -> Unpaired {
    Unpaired {
        at,
        message: "more stands behind the quote that closes this cell",
        hint: "write a quote inside a quoted text twice",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn texts(line: &str) -> Vec<&str> {
        cells(line, b',').unwrap().into_iter().map(|cell| &line[cell.bytes]).collect()
    }

    #[test]
    fn cells_end_at_commas_outside_quotes() {
        assert_eq!(texts("a,\"b, c\",d"), ["a", "\"b, c\"", "d"]);
        assert_eq!(texts("a,\"6\"\" pipe\" ,"), ["a", "\"6\"\" pipe\" ", ""]);
        assert_eq!(texts("6\" pipe,5'3\""), ["6\" pipe", "5'3\""]);
        assert_eq!(texts(""), [""]);
    }

    #[test]
    fn a_lone_mark_is_a_ditto_at_any_place_of_a_line() {
        for line in ["\",b,c", "a,\",c", "a,b,\"", "a, \" ,c"] {
            let dittos = cells(line, b',').unwrap().iter().filter(|cell| cell.is_ditto).count();
            assert_eq!((cells(line, b',').unwrap().len(), dittos), (3, 1), "{line}");
        }
        assert_eq!(cells("a,\",\",d", b',').unwrap().len(), 4);
        assert!(!cells("a,\"\",d", b',').unwrap()[1].is_ditto);
    }

    #[test]
    fn what_does_not_pair_is_told_where_it_stands() {
        assert_eq!(cells("a,\"b,c", b',').unwrap_err().at, 2);
        assert_eq!(cells("a,\"b\"x,c", b',').unwrap_err().at, 4);
        // Either a ditto mark and a text with a quote behind it, or one quoted text that begins with a comma.
        assert_eq!(cells("a,\", Outfall 1\",c", b',').unwrap_err().at, 2);
        assert!(cells("a,\",5'3\"", b',').is_ok());
    }
}
