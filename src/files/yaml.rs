//! One tree for all YAML files: every scalar as the text that was typed, every node with its place.

use std::collections::HashMap;
use std::fmt;

use serde::de::{Deserialize, Deserializer, MapAccess, SeqAccess, Visitor};
use serde_yaml::options::{DuplicateKeyPolicy, MergeKeyPolicy, NonFiniteFloatPolicy};
use serde_yaml::{Location, Spanned};

use super::Source;
use super::traps;
use crate::told::{Place, Problem, Problems};

/// The largest YAML file that is read, in bytes.
pub const MOST_YAML_BYTES: usize = 8 * 1024 * 1024;

/// The longest line that is read, in bytes.
const LONGEST_LINE: usize = 10_000;

/// A node of a file.
#[derive(Debug, Clone, PartialEq)]
pub struct Node {
    /// What it is.
    pub what: What,
    /// Where it starts; a text's place is as long as its first line.
    pub place: Place,
}

/// What a node is.
#[derive(Debug, Clone, PartialEq)]
pub enum What {
    /// A text, exactly as typed (`1_000`, `no`, `22:00` stay what they are).
    Text(String),
    /// A list.
    List(Vec<Node>),
    /// A map, in file order; equal keys have been told and only the first is kept.
    Map(Vec<Entry>),
    /// Nothing at all: a key with no value.
    Nothing,
}

/// A key and its value.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// The key as typed.
    pub key: String,
    /// Where it was typed.
    pub key_place: Place,
    /// Its value.
    pub value: Node,
}

impl Node {
    /// What it is, for a message: `a text`, `a list`, `a map`, `nothing`.
    pub fn said(&self) -> &'static str {
        match self.what {
            What::Text(_) => "a plain value",
            What::List(_) => "a list",
            What::Map(_) => "a map",
            What::Nothing => "nothing",
        }
    }
}

/// Reads a YAML file into its tree. What is wrong with its writing is told; `None` when no tree can be had.
pub fn tree(source: &Source, problems: &Problems) -> Option<Node> {
    if source.text.len() > MOST_YAML_BYTES {
        let most = MOST_YAML_BYTES / 1024 / 1024;
        problems.add(
            Problem::error(&Place::file(&source.name), format!("this file is larger than {most} MB")).hint("split it"),
        );
        return None;
    }
    if let Some(line) = source.text.lines().position(|line| line.len() > LONGEST_LINE) {
        let line = u32::try_from(line + 1).unwrap_or(u32::MAX);
        problems.add(
            Problem::error(
                &Place::line(&source.name, line),
                format!("this line is longer than {LONGEST_LINE} letters"),
            )
            .hint("a file that people write and read has short lines; break it"),
        );
        return None;
    }
    if let Some(at) = source.text.find(|c: char| c.is_control() && !matches!(c, '\n' | '\t')) {
        let shown = source.text.get(at..).and_then(|rest| rest.chars().next()).map_or(0, u32::from);
        problems.add(
            Problem::error(&source.place(at, at + 1), format!("a character that can't be seen (number {shown})"))
                .hint("delete it; it may have come in with a copy from another program"),
        );
        return None;
    }
    traps::block_heads(source, problems);
    match serde_yaml::from_str_with_options::<Spanned<Raw>>(&source.text, options()) {
        Ok(raw) => {
            let node = convert(raw, source, problems);
            Some(node)
        }
        Err(wrong) => {
            problems.add(traps::syntax(source, &wrong));
            None
        }
    }
}

fn options() -> serde_yaml::Options {
    serde_yaml::options! {
        budget: serde_yaml::budget! {
            max_events: 20_000_000,
            max_nodes: 5_000_000,
            // Ours need eight; each level costs stack.
            max_depth: 20,
            flow_nesting_limit: 20,
            max_aliases: 0,
        },
        duplicate_keys: DuplicateKeyPolicy::PassThrough,
        merge_keys: MergeKeyPolicy::AsOrdinary,
        non_finite_float_policy: NonFiniteFloatPolicy::AsString,
        strict_booleans: true,
        underscored_numbers_as_strings: true,
        leading_zero_numbers_as_strings: true,
        with_snippet: false,
    }
}

/// The tree as the YAML crate hands it over.
#[derive(Debug)]
enum Raw {
    Text(String),
    /// A scalar that YAML gives a type; its text is taken from the file.
    Typed,
    List(Vec<Spanned<Raw>>),
    Map(Vec<(Spanned<Raw>, Spanned<Raw>)>),
}

impl<'de> Deserialize<'de> for Raw {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(RawVisitor)
    }
}

struct RawVisitor;

macro_rules! typed {
    ($($visit:ident: $type:ty),*) => {
        $(fn $visit<E>(self, _: $type) -> Result<Raw, E> { Ok(Raw::Typed) })*
    };
}

impl<'de> Visitor<'de> for RawVisitor {
    type Value = Raw;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a value, a list or a map")
    }

    typed!(visit_bool: bool, visit_i64: i64, visit_u64: u64, visit_i128: i128, visit_u128: u128, visit_f64: f64);

    fn visit_unit<E>(self) -> Result<Raw, E> {
        Ok(Raw::Typed)
    }

    fn visit_none<E>(self) -> Result<Raw, E> {
        Ok(Raw::Typed)
    }

    fn visit_str<E>(self, text: &str) -> Result<Raw, E> {
        Ok(Raw::Text(text.to_string()))
    }

    fn visit_string<E>(self, text: String) -> Result<Raw, E> {
        Ok(Raw::Text(text))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut items: A) -> Result<Raw, A::Error> {
        let mut list = Vec::new();
        while let Some(item) = items.next_element()? {
            list.push(item);
        }
        Ok(Raw::List(list))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut entries: A) -> Result<Raw, A::Error> {
        let mut map = Vec::new();
        while let Some(entry) = entries.next_entry()? {
            map.push(entry);
        }
        Ok(Raw::Map(map))
    }
}

/// The bytes of the file that a location spans.
pub(super) fn bytes_of(location: &Location, source: &Source) -> (usize, usize) {
    let span = location.span();
    let whole = source.text.len();
    match (span.byte_offset(), span.byte_len()) {
        (Some(from), Some(length)) => {
            let from = usize::try_from(from).unwrap_or(whole).min(whole);
            let to = usize::try_from(length).map_or(whole, |length| from.saturating_add(length)).min(whole);
            (from, to)
        }
        _ => {
            let line = u32::try_from(location.line()).unwrap_or(u32::MAX);
            let column = usize::try_from(location.column()).unwrap_or(1).max(1) - 1;
            let start = source.line_start(line).unwrap_or(whole);
            let from = source
                .text
                .get(start..)
                .and_then(|rest| rest.char_indices().nth(column))
                .map_or(whole, |(at, _)| start + at);
            (from, from)
        }
    }
}

fn convert(raw: Spanned<Raw>, source: &Source, problems: &Problems) -> Node {
    let (from, to) = bytes_of(&raw.referenced, source);
    let place = source.place(from, to);
    let typed = source.text.get(from..to).unwrap_or_default();
    let what = match raw.value {
        Raw::Text(text) => What::Text(traps::after_scalar(source, from, to, problems).unwrap_or(text)),
        Raw::Typed => {
            let text = traps::after_scalar(source, from, to, problems).unwrap_or_else(|| typed.trim().to_string());
            if text.is_empty() { What::Nothing } else { What::Text(text) }
        }
        Raw::List(items) => {
            traps::before_node(source, from, problems);
            let list: Vec<Node> = items.into_iter().map(|item| convert(item, source, problems)).collect();
            What::List(traps::comma_in_list(source, list, problems))
        }
        Raw::Map(entries) => {
            traps::before_node(source, from, problems);
            let mut map: Vec<Entry> = Vec::new();
            let mut index: HashMap<String, usize> = HashMap::new();
            for (key, value) in entries {
                let key = convert(key, source, problems);
                let value = convert(value, source, problems);
                let name = match key.what {
                    What::Text(name) => name.trim().to_string(),
                    What::Nothing => String::new(),
                    What::List(_) | What::Map(_) => {
                        problems.add(
                            Problem::error(&key.place, "a list or map stands where a name is expected")
                                .hint("put the name in quotes, if it really has brackets"),
                        );
                        continue;
                    }
                };
                if traps::comma_in_map(&name, &key.place, &value, map.last_mut(), problems) {
                    continue;
                }
                if let Some(first) = index.get(&name).and_then(|at| map.get(*at)) {
                    let message =
                        format!("`{name}` is written twice, on lines {} and {}", first.key_place.line, key.place.line);
                    problems.add(
                        Problem::error(&key.place, message)
                            .hint("keep one of them")
                            .related(&first.key_place, "the first one"),
                    );
                    continue;
                }
                index.insert(name.clone(), map.len());
                map.push(Entry { key: name, key_place: key.place, value });
            }
            What::Map(map)
        }
    };
    Node { what, place }
}
