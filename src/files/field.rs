//! The value of a key: what it is, and its parts.

use super::fields::same_word;
use super::yaml::{Node, What};
use super::{Fields, Said};
use crate::quantity::Misread;
use crate::told::{Place, Problem, Problems};

/// The value of a key, perhaps missing. Every reader gives `None` when it is missing (which [`Fields::must`] has told)
/// or can't be read (which the reader tells).
#[derive(Debug, Clone)]
pub struct Field<'a> {
    node: Option<&'a Node>,
    /// The keys that lead here, joined with ` / `.
    pub key: String,
    /// Where the key was typed, or the map that lacks it.
    pub key_place: Place,
    problems: &'a Problems,
}

impl<'a> Field<'a> {
    /// A field of a node that stands for itself, such as a list's item.
    pub fn new(node: &'a Node, key: String, key_place: Place, problems: &'a Problems) -> Self {
        Self { node: Some(node), key, key_place, problems }
    }

    /// The field of a key that was not written, in the map at `place`.
    pub(super) fn missing(key: String, place: Place, problems: &'a Problems) -> Self {
        Self { node: None, key, key_place: place, problems }
    }

    /// Whether the key was written.
    pub fn is_there(&self) -> bool {
        self.node.is_some()
    }

    /// The node, if the key was written.
    pub fn node(&self) -> Option<&'a Node> {
        self.node
    }

    /// Where the value was typed; where its key was, when it is empty.
    pub fn place(&self) -> Place {
        match self.node {
            Some(node) if node.what != What::Nothing => node.place.clone(),
            _ => self.key_place.clone(),
        }
    }

    /// Where problems are told.
    pub fn problems(&self) -> &'a Problems {
        self.problems
    }

    /// Tells something wrong at this value.
    pub fn refuse(&self, message: impl Into<String>, hint: impl Into<String>) {
        self.problems.add(Problem::error(&self.place(), message).hint(hint));
    }

    /// The key itself, without those that lead to it.
    pub fn last_key(&self) -> &str {
        self.key.rsplit(" / ").next().unwrap_or_default()
    }

    fn expected(&self, what: &str, example: &str) {
        let Some(node) = self.node else { return };
        let whole_file = self.key.is_empty();
        let message = match node.what {
            What::Nothing if whole_file => "this file is empty".to_string(),
            _ if whole_file => format!("this file is {}; expected {what}", node.said()),
            What::Nothing => format!("`{}` has no value; expected {what}", self.last_key()),
            _ => format!("{} stands here; expected {what}", node.said()),
        };
        self.refuse(message, format!("write it like {example}"));
    }

    /// The text as typed, if the value is one.
    pub fn plain_text(&self) -> Option<&'a str> {
        match self.node.map(|node| &node.what) {
            Some(What::Text(text)) => Some(text),
            _ => None,
        }
    }

    /// Whether the value is a map or a list, without complaint.
    pub fn is_map(&self) -> bool {
        matches!(self.node.map(|node| &node.what), Some(What::Map(_)))
    }

    /// Whether the value is a list, without complaint.
    pub fn is_list(&self) -> bool {
        matches!(self.node.map(|node| &node.what), Some(What::List(_)))
    }

    /// Whether the text is this word or words, in any case.
    pub fn says(&self, words: &str) -> bool {
        self.plain_text().is_some_and(|text| same_word(text, words))
    }

    /// Whether the value is `not known` (facility).
    pub fn says_not_known(&self) -> bool {
        self.says("not known")
    }

    /// Whether the value is `not said` (rules).
    pub fn says_not_said(&self) -> bool {
        self.says("not said")
    }

    /// Reads the text with a parser of values; `what` and `example` say what is expected when there is no text.
    pub fn parse<T>(
        &self,
        what: &str,
        example: &str,
        parser: impl FnOnce(&str) -> Result<T, Misread>,
    ) -> Option<Said<T>> {
        let text = self.text_to_read(what, example)?;
        match parser(text) {
            Ok(value) => Some(self.said(value, text)),
            Err(misread) => self.misread(misread),
        }
    }

    fn text_to_read(&self, what: &str, example: &str) -> Option<&'a str> {
        self.node?;
        let text = self.plain_text();
        if text.is_none() {
            self.expected(what, example);
        }
        text
    }

    fn said<T>(&self, value: T, text: &str) -> Said<T> {
        Said { value, text: text.to_owned(), place: self.place(), key: self.key.clone() }
    }

    fn misread<T>(&self, misread: Misread) -> Option<T> {
        self.problems.add(Problem::misread(&self.place(), misread));
        None
    }

    /// The items of a list.
    pub fn list(&self) -> Vec<Field<'a>> {
        match self.node.map(|node| &node.what) {
            Some(What::List(items)) => items.iter().enumerate().map(|(at, item)| self.item(item, at)).collect(),
            Some(_) => {
                self.expected("a list", "[one, two], or one on each line behind a dash");
                Vec::new()
            }
            None => Vec::new(),
        }
    }

    /// The items of a list, or the one value that stands in its place.
    pub fn one_or_more(&self) -> Vec<Field<'a>> {
        match self.node.map(|node| &node.what) {
            Some(What::List(_)) => self.list(),
            Some(What::Nothing) => {
                self.expected("a value or a list", "one, or [one, two]");
                Vec::new()
            }
            Some(_) => vec![self.clone()],
            None => Vec::new(),
        }
    }

    fn item(&self, node: &'a Node, at: usize) -> Field<'a> {
        Field::new(node, format!("{} / {}", self.key, at + 1), node.place.clone(), self.problems)
    }

    /// The map that the value is.
    pub fn fields(&self) -> Option<Fields<'a>> {
        match self.node.map(|node| &node.what) {
            Some(What::Map(entries)) => {
                Some(Fields::new(entries, self.key.clone(), self.key_place.clone(), self.problems))
            }
            Some(_) => {
                self.expected("keys with values", "{key: value}, or one `key: value` on each line below, further in");
                None
            }
            None => None,
        }
    }

    /// A map of the user's own names to values, in file order.
    pub fn named(&self) -> Vec<(Said<String>, Field<'a>)> {
        match self.fields() {
            Some(mut fields) => fields.rest(),
            None => Vec::new(),
        }
    }

    /// A map of the user's own names of which there may be at most `most`: more is told, and none are given.
    pub fn named_at_most(&self, most: usize) -> Vec<(Said<String>, Field<'a>)> {
        let named = self.named();
        if named.len() > most {
            self.refuse(
                format!("`{}` has {} entries, and at most {most} are read", self.last_key(), named.len()),
                "describe a smaller site, or only the part that matters",
            );
            return Vec::new();
        }
        named
    }
}

/// A text short enough for a message.
pub(super) fn short(text: &str) -> String {
    let text = text.trim();
    if text.chars().count() <= 60 {
        return text.to_string();
    }
    format!("{}…", text.chars().take(57).collect::<String>())
}
