//! Reading a map by its keys: typed, all problems at once, nothing left unread.

use chrono::{NaiveDate, NaiveTime};

use super::yaml::{Entry, Node, What};
use super::{Given, Said};
use crate::diagnostic::{Place, Problem, Problems, nearest};
use crate::quantity as q;
use crate::quantity::{ByMonth, DateRange, Exact, HowOften, Kind, Misread, Stated, Weekdays};

/// A map being read: ask for its keys with [`Fields::may`] and [`Fields::must`], then call [`Fields::finish`].
#[derive(Debug)]
pub struct Fields<'a> {
    entries: &'a [Entry],
    taken: Vec<bool>,
    asked: Vec<String>,
    missing: Vec<(String, String)>,
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
        let found = self
            .entries
            .iter()
            .position(|entry| same_word(&entry.key, key));
        match found.and_then(|at| self.entries.get(at).map(|entry| (at, entry))) {
            Some((at, entry)) => {
                if let Some(taken) = self.taken.get_mut(at) {
                    *taken = true;
                }
                Field::new(&entry.value, path, entry.key_place.clone(), self.problems)
            }
            None => Field {
                node: None,
                key: path,
                key_place: self.place.clone(),
                problems: self.problems,
            },
        }
    }

    /// A key that must be there; when it is missing, [`Fields::finish`] tells so with `example`, what would be right
    /// (`9.5 acre`), unless a key that is not known was probably meant for it.
    pub fn must(&mut self, key: &str, example: &str) -> Field<'a> {
        let field = self.may(key);
        if field.node.is_none() && !self.missing.iter().any(|(missing, _)| missing == key) {
            self.missing.push((key.to_string(), example.to_string()));
        }
        field
    }

    /// How the map is called in a message: its own key, or "this file".
    pub fn name(&self) -> String {
        match self.path.rsplit(" / ").next() {
            Some(last) if !last.is_empty() => format!("`{last}`"),
            _ => "this file".to_string(),
        }
    }

    /// Whether a key stands in the map; it is not taken as read.
    pub fn has(&self, key: &str) -> bool {
        self.entries.iter().any(|entry| same_word(&entry.key, key))
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
                    Problem::error(&entry.key_place, "a name is expected here")
                        .hint("write a name before the colon"),
                );
                continue;
            }
            out.push((
                name,
                Field::new(&entry.value, key, entry.key_place.clone(), self.problems),
            ));
        }
        out
    }

    /// Where problems are told.
    pub fn problems(&self) -> &'a Problems {
        self.problems
    }

    fn untaken(&self) -> impl Iterator<Item = &'a Entry> {
        self.entries
            .iter()
            .zip(&self.taken)
            .filter(|(_, taken)| !**taken)
            .map(|(entry, _)| entry)
    }

    /// Tells of every key that nobody asked for, with the one that was probably meant.
    pub fn finish(mut self) {
        const MOST_TOLD: usize = 50;
        let whose = self.name();
        let known = self
            .asked
            .iter()
            .map(|asked| format!("`{asked}`"))
            .collect::<Vec<_>>()
            .join(", ");
        let mut meant: Vec<&str> = Vec::new();
        for (number, entry) in self.untaken().enumerate() {
            if number == MOST_TOLD {
                self.problems.add(Problem::error(
                    &entry.key_place,
                    format!("more than {MOST_TOLD} keys that are not known in {whose}"),
                ));
                break;
            }
            let open = self
                .asked
                .iter()
                .filter(|asked| !self.has(asked))
                .map(String::as_str);
            let near = nearest(&entry.key, open)
                .or_else(|| nearest(&entry.key, self.asked.iter().map(String::as_str)));
            let hint = match near {
                Some(near) => format!("did you mean `{near}`?"),
                None if known.is_empty() => "take it out".to_string(),
                None => format!("known here: {known}"),
            };
            meant.extend(near);
            self.problems.add(
                Problem::error(
                    &entry.key_place,
                    format!("`{}` is not known in {whose}", short(&entry.key)),
                )
                .hint(hint),
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
        for (key, example) in std::mem::take(&mut self.missing) {
            self.problems.add(
                Problem::error(&self.place, format!("{whose} has no `{key}`"))
                    .hint(format!("write it like `{key}: {example}`")),
            );
        }
    }
}

fn join(path: &str, key: &str) -> String {
    if path.is_empty() {
        key.to_string()
    } else {
        format!("{path} / {key}")
    }
}

/// Keys of ours are read in any case and with any spaces between words.
fn same_word(typed: &str, key: &str) -> bool {
    let mut ours = key.split_whitespace();
    let mut theirs = typed.split_whitespace();
    loop {
        match (ours.next(), theirs.next()) {
            (None, None) => return true,
            (Some(a), Some(b))
                if a.eq_ignore_ascii_case(b) || a.to_lowercase() == b.to_lowercase() => {}
            _ => return false,
        }
    }
}

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
        Self {
            node: Some(node),
            key,
            key_place,
            problems,
        }
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
        self.problems
            .add(Problem::error(&self.place(), message).hint(hint));
    }

    fn last_key(&self) -> &str {
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
        self.node?;
        let Some(text) = self.plain_text() else {
            self.expected(what, example);
            return None;
        };
        match parser(text) {
            Ok(value) => Some(Said {
                value,
                text: text.to_string(),
                place: self.place(),
                key: self.key.clone(),
            }),
            Err(misread) => {
                self.problems.add(Problem::misread(&self.place(), misread));
                None
            }
        }
    }

    /// An amount, a range or `not known`, in a unit that the kind `K` allows.
    pub fn quantity<K: Kind>(&self) -> Option<Given<K::Value>> {
        self.parse(K::WHAT, K::EXAMPLE, q::stated::<K>)
            .map(|said| Given {
                stated: said.value,
                text: said.text,
                place: said.place,
                key: said.key,
            })
    }

    /// An amount or a range that must be known.
    pub fn known<K: Kind>(&self) -> Option<Given<K::Value>> {
        let given = self.quantity::<K>()?;
        if given.is_not_known() {
            self.refuse(
                format!("`{}` must be known", self.last_key()),
                format!("write {}, such as {}", K::WHAT, K::EXAMPLE),
            );
            return None;
        }
        Some(given)
    }

    /// Free text, trimmed and not empty.
    pub fn text(&self) -> Option<Said<String>> {
        self.parse("a text", "a few words", |text| {
            let text = text.trim();
            if text.is_empty() {
                Err(Misread::new("nothing is written here"))
            } else {
                Ok(text.to_string())
            }
        })
    }

    /// A name of the user's own, matched exactly after trimming.
    pub fn name(&self) -> Option<Said<String>> {
        self.parse("a name", "Storage pond", |text| {
            let text = text.trim();
            if text.is_empty() {
                Err(Misread::new("nothing is written here").hint("write a name"))
            } else {
                Ok(text.to_string())
            }
        })
    }

    /// A whole number without a unit, at least `least` and at most `most`.
    pub fn count(&self, least: u64, most: u64) -> Option<Said<u64>> {
        self.parse("a count", "4", |text| {
            let value = q::count(text)?;
            if value < least || value > most {
                return Err(
                    Misread::new(format!("{value} is not from {least} to {most}"))
                        .hint("look at it again"),
                );
            }
            Ok(value)
        })
    }

    /// A number without a unit, exactly.
    pub fn number(&self) -> Option<Said<Exact>> {
        self.parse("a plain number", "1.05", q::number)
    }

    /// A number or a range of numbers without a unit, not below zero: as a quantity without dimension.
    pub fn factor(&self) -> Option<Given<uom::si::f64::Ratio>> {
        let ratio =
            |exact: Exact| uom::si::f64::Ratio::new::<uom::si::ratio::ratio>(exact.to_f64());
        let said = self.parse("a plain number", "1.05", |text| {
            if q::says_not_known(text) {
                return Ok(Stated::NotKnown);
            }
            let parts = crate::quantity::ends_of_numbers(text)?;
            if parts.0.is_negative() || parts.1.is_negative() {
                return Err(Misread::new("a number below zero can't be meant here"));
            }
            Ok(Stated::Known(q::Range {
                low: ratio(parts.0),
                high: ratio(parts.1),
            }))
        })?;
        Some(Given {
            stated: said.value,
            text: said.text,
            place: said.place,
            key: said.key,
        })
    }

    /// `3 to 1`, as the first over the second.
    pub fn ratio(&self) -> Option<Given<uom::si::f64::Ratio>> {
        let said = self.parse("a ratio", "3 to 1", |text| {
            if q::says_not_known(text) {
                Ok(None)
            } else {
                q::ratio(text).map(Some)
            }
        })?;
        let stated = match said.value {
            None => Stated::NotKnown,
            Some(exact) => Stated::Known(q::Range::exactly(uom::si::f64::Ratio::new::<
                uom::si::ratio::ratio,
            >(exact.to_f64()))),
        };
        Some(Given {
            stated,
            text: said.text,
            place: said.place,
            key: said.key,
        })
    }

    /// A date.
    pub fn date(&self) -> Option<Said<NaiveDate>> {
        self.parse("a date", "2024-05-03", q::date)
    }

    /// A stretch of days, of given years or of every year.
    pub fn date_range(&self) -> Option<Said<DateRange>> {
        self.parse("a stretch of days", "15 Apr to 15 Oct", q::date_range)
    }

    /// A time of day.
    pub fn clock(&self) -> Option<Said<NaiveTime>> {
        self.parse("a time of day", "7 am", q::clock)
    }

    /// Weekdays: a text, or a list of texts.
    pub fn weekdays(&self) -> Option<Said<Weekdays>> {
        if !self.is_list() {
            return self.parse("days of the week", "Mon to Sat", q::weekdays);
        }
        let mut set = Weekdays([false; 7]);
        let mut texts = Vec::new();
        for item in self.list() {
            let said = item.parse("days of the week", "Mon to Sat", q::weekdays)?;
            for (slot, has) in set.0.iter_mut().zip(said.value.0) {
                *slot |= has;
            }
            texts.push(said.text);
        }
        Some(Said {
            value: set,
            text: texts.join(", "),
            place: self.place(),
            key: self.key.clone(),
        })
    }

    /// A span of time.
    pub fn span(&self) -> Option<Said<q::Span>> {
        self.parse("a length of time", "24 h", q::span)
    }

    /// A deadline.
    pub fn deadline(&self) -> Option<Said<q::Deadline>> {
        self.parse("a deadline", "24 h of knowing", q::deadline)
    }

    /// How often something is done.
    pub fn how_often(&self) -> Option<Said<HowOften>> {
        self.parse("how often", "once a week", q::how_often)
    }

    /// `yes` or `no`.
    pub fn yes_or_no(&self) -> Option<Said<bool>> {
        self.parse("yes or no", "yes", q::yes_or_no)
    }

    /// One of a list of words, in any case.
    pub fn one_of<T: Clone>(&self, words: &[(&str, T)]) -> Option<Said<T>> {
        let known = words
            .iter()
            .map(|(word, _)| format!("`{word}`"))
            .collect::<Vec<_>>()
            .join(", ");
        let example = words.first().map_or("", |(word, _)| word);
        self.parse(&format!("one of {known}"), example, |text| {
            if let Some((_, value)) = words.iter().find(|(word, _)| same_word(text, word)) {
                return Ok(value.clone());
            }
            let near = nearest(text, words.iter().map(|(word, _)| *word));
            Err(
                Misread::new(format!("`{}` is not known here", short(text))).hint(match near {
                    Some(near) => format!("did you mean `{near}`? known here: {known}"),
                    None => format!("known here: {known}"),
                }),
            )
        })
    }

    /// The items of a list.
    pub fn list(&self) -> Vec<Field<'a>> {
        match self.node.map(|node| &node.what) {
            Some(What::List(items)) => items
                .iter()
                .enumerate()
                .map(|(at, item)| self.item(item, at))
                .collect(),
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
        Field::new(
            node,
            format!("{} / {}", self.key, at + 1),
            node.place.clone(),
            self.problems,
        )
    }

    /// The map that the value is.
    pub fn fields(&self) -> Option<Fields<'a>> {
        match self.node.map(|node| &node.what) {
            Some(What::Map(entries)) => Some(Fields {
                entries,
                taken: vec![false; entries.len()],
                asked: Vec::new(),
                missing: Vec::new(),
                path: self.key.clone(),
                place: self.key_place.clone(),
                problems: self.problems,
            }),
            Some(_) => {
                self.expected(
                    "keys with values",
                    "{key: value}, or one `key: value` on each line below, further in",
                );
                None
            }
            None => None,
        }
    }

    /// The map that the value is, if it is one and has this key; nothing is told otherwise.
    pub fn fields_with(&self, key: &str) -> Option<Fields<'a>> {
        if !self.is_map() {
            return None;
        }
        self.fields().filter(|map| map.has(key))
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
                format!(
                    "`{}` has {} entries, and at most {most} are read",
                    self.last_key(),
                    named.len()
                ),
                "describe a smaller site, or only the part that matters",
            );
            return Vec::new();
        }
        named
    }

    /// A map of months (`Nov to Feb: …, rest: …`) with each month exactly once, or one value for all; `read` reads each
    /// value.
    pub fn by_month<T: Clone>(&self, read: impl Fn(&Field<'a>) -> Option<T>) -> Option<ByMonth<T>> {
        self.node?;
        if !self.is_map() {
            let one = read(self)?;
            return Some(ByMonth(std::array::from_fn(|_| one.clone())));
        }
        let mut slots: [Option<T>; 12] = std::array::from_fn(|_| None);
        let mut said: [bool; 12] = [false; 12];
        let mut rest = None;
        let mut whole = true;
        for (name, field) in self.named_at_most(13) {
            let value = read(&field);
            whole &= value.is_some();
            if same_word(&name.value, "rest") || same_word(&name.value, "the rest") {
                rest = Some((value, name));
                continue;
            }
            match q::months(&name.value) {
                Ok(months) => {
                    for (at, _) in months.has.iter().enumerate().filter(|(_, has)| **has) {
                        if said.get(at).copied().unwrap_or(false) {
                            let month = MONTHS.get(at).copied().unwrap_or_default();
                            self.problems.add(
                                Problem::error(&name.place, format!("{month} is given twice"))
                                    .hint("give each month once"),
                            );
                            whole = false;
                        }
                        if let (Some(flag), Some(slot)) = (said.get_mut(at), slots.get_mut(at)) {
                            *flag = true;
                            slot.clone_from(&value);
                        }
                    }
                }
                Err(misread) => {
                    self.problems.add(Problem::misread(&name.place, misread));
                    whole = false;
                }
            }
        }
        if let Some((value, name)) = rest {
            if said.iter().all(|given| *given) {
                self.problems.add(
                    Problem::error(&name.place, "no month is left for `rest`").hint("take it out"),
                );
                whole = false;
            }
            for (flag, slot) in said
                .iter_mut()
                .zip(slots.iter_mut())
                .filter(|(flag, _)| !**flag)
            {
                *flag = true;
                slot.clone_from(&value);
            }
        }
        let lacking: Vec<&str> = MONTHS
            .iter()
            .zip(said)
            .filter(|(_, given)| !given)
            .map(|(month, _)| *month)
            .collect();
        if whole && !lacking.is_empty() {
            self.problems.add(
                Problem::error(
                    &self.key_place,
                    format!(
                        "`{}` says nothing of {}",
                        self.last_key(),
                        lacking.join(", ")
                    ),
                )
                .hint("give each month once; `rest` stands for the others"),
            );
            return None;
        }
        let values: Vec<T> = slots.into_iter().flatten().collect();
        if whole {
            values.try_into().ok().map(ByMonth)
        } else {
            None
        }
    }
}

/// A text short enough for a message.
fn short(text: &str) -> String {
    let text = text.trim();
    if text.chars().count() <= 60 {
        return text.to_string();
    }
    format!("{}…", text.chars().take(57).collect::<String>())
}

const MONTHS: [&str; 12] = [
    "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec",
];
