//! Reading a map by its keys: typed, all problems at once, nothing left unread.

use super::field::short;
use super::yaml::{Entry, Node};
use super::{Field, Said};
use crate::told::{Place, Problem, Problems, nearest};

/// A map being read: ask for its keys with [`Fields::may`] and [`Fields::must`], then call [`Fields::finish`].
#[derive(Debug)]
pub struct Fields<'a> {
    entries: &'a [Entry],
    taken: Vec<bool>,
    asked: Vec<String>,
    /// Each with what to do.
    missing: Vec<(String, String)>,
    /// The keys it may have, where they are declared.
    pub(super) declared: Option<&'static super::Map>,
    /// The keys that lead to the map, joined with ` / `; empty for a whole file.
    pub path: String,
    /// Where the map is named: its own key, or where it starts.
    pub place: Place,
    problems: &'a Problems,
}

impl<'a> Fields<'a> {
    /// The map that a whole file is; told when it is something else.
    pub fn of_file(node: &'a Node, problems: &'a Problems) -> Option<Self> {
        Field::new(node, String::new(), node.place.clone(), problems).fields()
    }

    fn at(&self, key: &str) -> String {
        join(&self.path, key)
    }

    /// A key that may be missing.
    pub fn may(&mut self, key: &str) -> Field<'a> {
        if !self.asked.iter().any(|asked| asked == key) {
            self.asked.push(key.to_string());
        }
        let path = self.at(key);
        let found = self.entries.iter().position(|entry| same_word(&entry.key, key));
        match found.and_then(|at| self.entries.get(at).map(|entry| (at, entry))) {
            Some((at, entry)) => {
                if let Some(taken) = self.taken.get_mut(at) {
                    *taken = true;
                }
                Field::new(&entry.value, path, entry.key_place.clone(), self.problems)
            }
            None => Field::missing(path, self.place.clone(), self.problems),
        }
    }

    /// A key that must be there; when it is missing, [`Fields::finish`] tells so with `example`, what would be right
    /// (`9.5 acre`), unless a key that is not known was probably meant for it.
    pub fn must(&mut self, key: &str, example: &str) -> Field<'a> {
        let field = self.may(key);
        if !field.is_there() && !self.missing.iter().any(|(missing, _)| missing == key) {
            self.missing.push((key.to_string(), format!("write it like `{key}: {example}`")));
        }
        field
    }

    /// What would be right where this key is missing, in place of its example.
    pub fn if_missing(&mut self, key: &str, hint: &str) {
        for (_, held) in self.missing.iter_mut().filter(|(missing, _)| missing == key) {
            hint.clone_into(held);
        }
    }

    /// How the map is called in a message: its own key, or "this file".
    pub fn name(&self) -> String {
        match self.path.rsplit(" / ").next() {
            Some(last) if !last.is_empty() => format!("`{last}`"),
            _ => "this file".to_string(),
        }
    }

    /// Whether a key stands in the map; it is not taken as read.
    pub fn has(&self, key: impl AsRef<str>) -> bool {
        let key = key.as_ref();
        self.entries.iter().any(|entry| same_word(&entry.key, key))
    }

    /// A key that stands in the map, whoever reads it.
    pub fn typed(&self, key: impl AsRef<str>) -> Option<Field<'a>> {
        let key = key.as_ref();
        let entry = self.entries.iter().find(|entry| same_word(&entry.key, key))?;
        Some(Field::new(&entry.value, self.at(key), entry.key_place.clone(), self.problems))
    }

    /// All keys not yet asked for, as named by the user, each taken as read: for maps of the user's own names.
    pub fn rest(&mut self) -> Vec<(Said<String>, Field<'a>)> {
        let mut out = Vec::new();
        for (entry, taken) in self.entries.iter().zip(self.taken.iter_mut()) {
            if *taken {
                continue;
            }
            *taken = true;
            let key = join(&self.path, &entry.key);
            let name = Said {
                value: entry.key.clone(),
                text: entry.key.clone(),
                place: entry.key_place.clone(),
                key: key.clone(),
            };
            if entry.key.is_empty() {
                self.problems.add(
                    Problem::error(&entry.key_place, "a name is expected here").hint("write a name before the colon"),
                );
                continue;
            }
            out.push((name, Field::new(&entry.value, key, entry.key_place.clone(), self.problems)));
        }
        out
    }

    /// The map of these entries, none of them asked for yet.
    pub(super) fn new(entries: &'a [Entry], path: String, place: Place, problems: &'a Problems) -> Self {
        Self {
            entries,
            taken: vec![false; entries.len()],
            asked: Vec::new(),
            missing: Vec::new(),
            declared: None,
            path,
            place,
            problems,
        }
    }

    /// Where problems are told.
    pub fn problems(&self) -> &'a Problems {
        self.problems
    }

    fn untaken(&self) -> impl Iterator<Item = &'a Entry> {
        self.entries.iter().zip(&self.taken).filter(|(_, taken)| !**taken).map(|(entry, _)| entry)
    }

    /// Tells of every key that nobody asked for, with the one that was probably meant.
    pub fn finish(mut self) {
        const MOST_TOLD: usize = 50;
        let whose = self.name();
        let known = self.asked.iter().map(|asked| format!("`{asked}`")).collect::<Vec<_>>().join(", ");
        let mut meant: Vec<&str> = Vec::new();
        for (number, entry) in self.untaken().enumerate() {
            if number == MOST_TOLD {
                self.problems.add(Problem::error(
                    &entry.key_place,
                    format!("more than {MOST_TOLD} keys that are not known in {whose}"),
                ));
                break;
            }
            let open = self.asked.iter().filter(|asked| !self.has(asked)).map(String::as_str);
            let near = nearest(&entry.key, open.clone())
                .or_else(|| shortest_that_ends_in(&entry.key, open))
                .or_else(|| nearest(&entry.key, self.asked.iter().map(String::as_str)));
            let hint = match near {
                Some(near) => format!("did you mean `{near}`?"),
                None if known.is_empty() => "take it out".to_string(),
                None => format!("known here: {known}"),
            };
            meant.extend(near);
            self.problems.add(
                Problem::error(&entry.key_place, format!("`{}` is not known in {whose}", short(&entry.key))).hint(hint),
            );
        }
        let told: Vec<String> = meant.into_iter().map(str::to_string).collect();
        self.missing.retain(|(key, _)| !told.contains(key));
        // What is still missing is told on drop.
    }
}

impl Drop for Fields<'_> {
    /// A map that is given up half read still tells what it lacks.
    fn drop(&mut self) {
        let whose = self.name();
        for (key, hint) in std::mem::take(&mut self.missing) {
            self.problems.add(Problem::error(&self.place, format!("{whose} has no `{key}`")).hint(hint));
        }
    }
}

/// `goes to` for `to`: the shortest key whose last word was typed alone.
fn shortest_that_ends_in<'k>(typed: &str, keys: impl Iterator<Item = &'k str>) -> Option<&'k str> {
    let ends = |key: &&str| key.rsplit_once(' ').is_some_and(|(_, last)| last.eq_ignore_ascii_case(typed.trim()));
    keys.filter(ends).min_by_key(|key| key.len())
}

fn join(path: &str, key: &str) -> String {
    if path.is_empty() { key.to_string() } else { format!("{path} / {key}") }
}

/// Keys of ours are read in any case and with any spaces between words.
pub(super) fn same_word(typed: &str, key: &str) -> bool {
    let mut ours = key.split_whitespace();
    let mut theirs = typed.split_whitespace();
    loop {
        match (ours.next(), theirs.next()) {
            (None, None) => return true,
            (Some(a), Some(b)) if a.eq_ignore_ascii_case(b) || a.to_lowercase() == b.to_lowercase() => {}
            _ => return false,
        }
    }
}
