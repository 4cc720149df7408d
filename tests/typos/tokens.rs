//! The tokens of a site's files: each with its place, and what sort of thing it is.

use std::collections::BTreeSet;
use std::fmt;

/// What a token is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Sort {
    Key,
    Name,
    Word,
    Number,
    Unit,
    Date,
    Time,
    Heading,
    What,
    Parameter,
    /// A paper's number, a note, who wrote it.
    Remark,
    /// A whole line.
    Line,
}

impl fmt::Display for Sort {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let word = format!("{self:?}").to_lowercase();
        f.pad(&word)
    }
}

/// A token of a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Token {
    pub sort: Sort,
    /// Line, from 0.
    pub line: usize,
    /// Bytes of the line.
    pub from: usize,
    pub to: usize,
    pub text: String,
}

/// The tokens of a file by its name.
pub fn tokens(name: &str, text: &str, names: &BTreeSet<String>) -> Vec<Token> {
    if name.ends_with(".csv") { of_csv(text) } else { of_yaml(text, names) }
}

/// Names that a file defines: the keys of its second level.
pub fn names_in(text: &str) -> BTreeSet<String> {
    let second = text.lines().filter_map(|line| {
        let inner = line.strip_prefix("  ")?;
        let begins = inner.starts_with(char::is_alphanumeric);
        let (key, _) = inner.split_once(':')?;
        (begins && !key.contains(['{', '"'])).then(|| key.trim().to_owned())
    });
    second.collect()
}

fn token(sort: Sort, line: usize, from: usize, text: &str) -> Token {
    Token { sort, line, from, to: from + text.len(), text: text.to_owned() }
}

fn of_csv(text: &str) -> Vec<Token> {
    let mut out = Vec::new();
    let mut headings: Vec<&str> = Vec::new();
    for (at, line) in text.lines().enumerate() {
        if line.starts_with('#') || line.is_empty() {
            continue;
        }
        let mut from = 0;
        let heads = headings.is_empty();
        for (column, cell) in line.split(',').enumerate() {
            if heads {
                headings.push(cell);
                out.push(token(Sort::Heading, at, from, cell));
            } else if !cell.is_empty() {
                cell_tokens(&mut out, headings.get(column).copied(), at, from, cell);
            }
            from += cell.len() + 1;
        }
        if !heads {
            out.push(token(Sort::Line, at, 0, line));
        }
    }
    out
}

fn cell_tokens(out: &mut Vec<Token>, heading: Option<&str>, at: usize, from: usize, cell: &str) {
    match heading {
        Some("date" | "received") => match cell.split_once(' ') {
            Some((date, time)) => {
                out.push(token(Sort::Date, at, from, date));
                out.push(token(Sort::Time, at, from + date.len() + 1, time));
            }
            None => out.push(token(Sort::Date, at, from, cell)),
        },
        Some("place") => out.push(token(Sort::Name, at, from, cell)),
        Some("what") => out.push(token(Sort::What, at, from, cell)),
        Some("parameter") => out.push(token(Sort::Parameter, at, from, cell)),
        Some("unit") => out.push(token(Sort::Unit, at, from, cell)),
        Some("qualifier") => out.push(token(Sort::Word, at, from, cell)),
        Some("paper" | "who" | "note") => out.push(token(Sort::Remark, at, from, cell)),
        _ if cell.starts_with(|c: char| c.is_ascii_digit()) => {
            out.push(token(Sort::Number, at, from, cell));
        }
        _ => out.push(token(Sort::Word, at, from, cell)),
    }
}

fn of_yaml(text: &str, names: &BTreeSet<String>) -> Vec<Token> {
    let mut out = Vec::new();
    let mut quoted = false;
    for (at, line) in text.lines().enumerate() {
        let began_quoted = quoted;
        let mut segments: Vec<(usize, String, bool)> = Vec::new();
        let mut from = 0;
        let bytes = line.as_bytes();
        let mut here = 0;
        while here < bytes.len() {
            let byte = bytes[here];
            if byte == b'"' {
                quoted = !quoted;
            } else if !quoted && byte == b'#' && (here == 0 || bytes[here - 1] == b' ') {
                break;
            } else if !quoted {
                let ends_key = byte == b':' && bytes.get(here + 1).is_none_or(|next| *next == b' ');
                let comma = byte == b',' && bytes.get(here + 1).is_none_or(|next| *next == b' ');
                if ends_key || comma || matches!(byte, b'{' | b'}' | b'[' | b']') {
                    segments.push((from, line[from..here].to_owned(), ends_key));
                    from = here + 1;
                }
            }
            here += 1;
        }
        segments.push((from, line[from..here].to_owned(), false));
        let mut any = false;
        for (start, segment, is_key) in segments {
            let indent = segment.len() - segment.trim_start().len();
            let bare = segment.trim();
            let dash = if bare.starts_with("- ") { 2 } else { 0 };
            let bare = &bare[dash..];
            if bare.is_empty() {
                continue;
            }
            any = true;
            let start = start + indent + dash;
            if bare.contains('"') || began_quoted {
                out.push(token(Sort::Remark, at, start, bare));
            } else if bare.starts_with(|c: char| c.is_ascii_digit() || c == '-') {
                amounts(&mut out, at, start, bare);
            } else if names.contains(bare) {
                out.push(token(Sort::Name, at, start, bare));
            } else {
                let sort = if is_key { Sort::Key } else { Sort::Word };
                out.push(token(sort, at, start, bare));
            }
        }
        if any && !began_quoted {
            out.push(token(Sort::Line, at, 0, line));
        }
    }
    out
}

const MONTHS: [&str; 12] = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];

fn is_month(word: &str) -> bool {
    MONTHS.iter().any(|month| word.starts_with(month))
}

/// Numbers, units, dates and times of a value such as `50 % to 70 %` or `1 Nov 2024 to 31 Oct 2025`.
fn amounts(out: &mut Vec<Token>, at: usize, start: usize, text: &str) {
    let mut words: Vec<(usize, &str)> = Vec::new();
    let mut from = 0;
    for word in text.split(' ') {
        if !word.is_empty() {
            words.push((from, word));
        }
        from += word.len() + 1;
    }
    let digit = |word: &str| word.starts_with(|c: char| c.is_ascii_digit() || c == '-');
    let mut index = 0;
    while let Some((offset, word)) = words.get(index).copied() {
        let next = words.get(index + 1).map_or("", |(_, word)| word);
        let mut sort = Sort::Unit;
        let mut last = index;
        if word == "to" || word == "or" {
            index += 1;
            continue;
        }
        if digit(word) {
            let is_iso = word.len() >= 8 && word.matches('-').count() == 2;
            if is_iso {
                sort = Sort::Date;
            } else if is_month(next) {
                sort = Sort::Date;
                last = index + 1;
                if words.get(index + 2).is_some_and(|(_, year)| year.len() == 4 && digit(year)) {
                    last = index + 2;
                }
            } else if word.contains(':') {
                sort = Sort::Time;
            } else if matches!(next, "am" | "pm") {
                sort = Sort::Time;
                last = index + 1;
            } else {
                sort = Sort::Number;
            }
        } else {
            while words.get(last + 1).is_some_and(|(_, word)| !digit(word) && !matches!(*word, "to" | "or")) {
                last += 1;
            }
        }
        let end = words.get(last).map_or(text.len(), |(at, word)| at + word.len());
        out.push(token(sort, at, start + offset, &text[offset..end]));
        index = last + 1;
    }
}
