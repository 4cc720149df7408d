//! JSON Schema (draft 2020-12) for editors, printed from the declarations that the readers read through.
//!
//! A schema may let a mistake through, which the program then tells; it never refuses what a reader takes. So every
//! pattern knows that our words are read in any case and with any spaces, and keys in other case are let in beside
//! those that an editor offers.

use std::collections::BTreeMap;

use serde_json::{Map as Object, Value as Json, json};

use super::declared::{AnyKey, Declares, Map};
use crate::quantity::Unit;

/// A number as people type it, as part of a pattern.
pub const NUMBER: &str = concat!("[-\u{2212}]", r"?\s*\d[\d,\s]*(?:\.\d+)?(?:/\d+)?");

/// The parts that a schema refers to by name.
#[derive(Debug, Default)]
pub struct Defs {
    parts: BTreeMap<String, Json>,
    #[cfg(test)]
    maps: Vec<&'static Map>,
}

impl Defs {
    /// A part told once: a reference to it. Another part of the same name gets a number behind it.
    pub fn part(&mut self, name: &str, schema: Json) -> Json {
        let base: String = name.chars().map(|c| if c.is_alphanumeric() { c } else { '-' }).collect();
        let mut name = base.clone();
        let mut number = 1;
        while self.parts.get(&name).is_some_and(|known| *known != schema) {
            number += 1;
            name = format!("{base}-{number}");
        }
        let reference = json!({"$ref": format!("#/$defs/{name}")});
        self.parts.insert(name, schema);
        reference
    }

    /// A map by its declaration.
    pub fn map(&mut self, map: &'static Map) -> Json {
        #[cfg(test)]
        self.maps.push(map);
        let schema = self.object(map);
        self.part(map.name, schema)
    }

    /// The maps that were told.
    #[cfg(test)]
    pub(crate) fn maps(&self) -> &[&'static Map] {
        &self.maps
    }

    fn object(&mut self, map: &'static Map) -> Json {
        let mut properties = Object::new();
        let mut in_any_case = Object::new();
        let mut all_of = Vec::new();
        for key in map.all() {
            let value = self.value(key);
            let is_map = self.resolved(&value).get("type").is_some_and(|kind| kind == "object");
            properties.insert(key.word().to_owned(), described(value.clone(), key, is_map));
            let pattern = any_case(key.word());
            if key.must() {
                all_of.push(needs(key.word(), &pattern));
            }
            in_any_case.insert(pattern, value);
        }
        if let Some(also) = map.also {
            all_of.push(also(self));
        }
        let mut out = json!({
            "type": "object",
            "description": map.help.trim(),
            "properties": properties,
            "patternProperties": in_any_case,
            "additionalProperties": false,
        });
        if let Some(out) = out.as_object_mut().filter(|_| !all_of.is_empty()) {
            out.insert("allOf".to_owned(), Json::Array(all_of));
        }
        out
    }

    /// What a reference refers to.
    fn resolved<'a>(&'a self, value: &'a Json) -> &'a Json {
        let name = value.get("$ref").and_then(Json::as_str).and_then(|reference| reference.strip_prefix("#/$defs/"));
        name.and_then(|name| self.parts.get(name)).unwrap_or(value)
    }

    /// The schema of a key's value; what is long stands among the parts, since a key is listed twice.
    fn value(&mut self, key: &dyn AnyKey) -> Json {
        const LONG: usize = 60;
        let value = key.schema(self);
        if value.to_string().len() > LONG { self.part(key.word(), value) } else { value }
    }
}

/// That a key stands in the map, in any case; an editor tells it as a missing key.
pub fn needs(word: &str, pattern: &str) -> Json {
    json!({"anyOf": [{"required": [word]}, {"not": {"patternProperties": {pattern: false}}}]})
}

/// A key's value with its help, and with an example where it is written in a word or two.
fn described(mut value: Json, key: &dyn AnyKey, is_map: bool) -> Json {
    if let Some(value) = value.as_object_mut() {
        let example = key.example();
        let mut help = key.help().to_owned();
        if example.starts_with(['{', '[']) {
            help = format!("{help}. Like: {example}");
        } else if !example.is_empty() && !is_map {
            value.insert("examples".to_owned(), json!([example_value(example)]));
        }
        value.insert("description".to_owned(), Json::String(help));
    }
    value
}

/// An example as an editor reads it: without the quotes of YAML, a plain number as a number.
fn example_value(example: &str) -> Json {
    let bare = example.strip_prefix('"').and_then(|rest| rest.strip_suffix('"'));
    match bare {
        Some(bare) => Json::String(bare.to_owned()),
        None => as_yaml(example),
    }
}

/// A word as YAML reads it where no quotes stand about it: a number where it is one.
fn as_yaml(word: &str) -> Json {
    let whole = word.parse::<i64>().ok().map(Json::from);
    whole.or_else(|| word.parse::<f64>().ok().map(Json::from)).unwrap_or_else(|| Json::String(word.to_owned()))
}

/// The whole schema of a file that `M` declares.
pub fn document<M: Declares>(title: &str) -> Json {
    let mut defs = Defs::default();
    let root = defs.map(M::MAP);
    let mut out = json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": title,
    });
    if let (Some(out), Some(root)) = (out.as_object_mut(), root.as_object()) {
        out.extend(root.clone());
        out.insert("$defs".to_owned(), json!(defs.parts));
    }
    out
}

/// The schema of a value that is text of this form, of any case; `template` as for [`any_case`].
pub fn text_like(template: &str) -> Json {
    json!({"type": "string", "pattern": any_case(template)})
}

/// The same, where a plain number may stand as well, which editors do not take for text.
pub fn text_or_number_like(template: &str) -> Json {
    json!({"type": ["string", "number"], "pattern": any_case(template)})
}

/// One of these words, offered as they are and taken in any case.
pub fn one_of_words<'a>(words: impl Iterator<Item = &'a str>) -> Json {
    one_of(&words.collect::<Vec<_>>())
}

fn one_of(words: &[&str]) -> Json {
    let mut offered: Vec<Json> = Vec::new();
    for word in words {
        offered.push(Json::String((*word).to_owned()));
        offered.extend(Some(as_yaml(word)).filter(Json::is_number));
    }
    let all: Vec<String> = words.iter().map(|word| escaped(word)).collect();
    json!({"anyOf": [{"enum": offered}, {"type": "string", "pattern": any_case(&all.join("|"))}]})
}

/// Letters that mean something in a pattern, taken as themselves.
fn escaped(word: &str) -> String {
    let mut out = String::new();
    for c in word.chars() {
        if "\\^$.|?*+()[]{}".contains(c) {
            out.push('\\');
        }
        out.push(c);
    }
    out
}

/// A pattern of a whole text from a template: letters stand for both cases, a space for any spaces; what is in
/// brackets or behind a backslash stands for itself.
pub fn any_case(template: &str) -> String {
    format!(r"^\s*(?:{})\s*$", both_cases(template))
}

fn both_cases(template: &str) -> String {
    let mut out = String::new();
    let mut letters = template.chars();
    let mut in_class = false;
    while let Some(c) = letters.next() {
        match c {
            '\\' => {
                out.push(c);
                out.extend(letters.next());
            }
            '[' | ']' => {
                in_class = c == '[';
                out.push(c);
            }
            c if in_class => out.push(c),
            ' ' => out.push_str(r"\s+"),
            c if c.is_alphabetic() => {
                out.push('[');
                out.extend(c.to_uppercase());
                out.extend(c.to_lowercase());
                out.push(']');
            }
            c => out.push(c),
        }
    }
    out
}

/// A template for every writing of these units that is read.
pub fn units(units: &[Unit]) -> String {
    let names = units.iter().flat_map(|unit| {
        let names = std::iter::once(&unit.name).chain(unit.also);
        names.flat_map(|name| writings(name)).map(|name| unit_template(&name, unit.case_matters)).collect::<Vec<_>>()
    });
    let mut out: Vec<String> = Vec::new();
    for name in names {
        if !out.contains(&name) {
            out.push(name);
        }
    }
    out.join("|")
}

/// A unit's name as units are compared, and with the words that stand for its square or cube.
fn writings(name: &str) -> Vec<String> {
    let plain = crate::quantity::normal(name);
    let mut out = vec![plain.clone()];
    for (word, short) in [("sqft", "ft2"), ("cuft", "ft3"), ("sqm", "m2"), ("cum", "m3")] {
        out.extend(plain.strip_prefix(short).map(|rest| format!("{word}{rest}")));
    }
    out
}

fn unit_template(name: &str, case_matters: bool) -> String {
    /// What may stand between any two letters of a unit.
    const BETWEEN: &str = "[\\s.^\u{b0}]*";
    let mut out = String::from(BETWEEN);
    for c in name.chars() {
        match c {
            'l' | 'L' => out.push_str("[lL]"),
            'u' | 'U' if case_matters => out.push_str(&format!("[{c}\u{b5}\u{3bc}]")),
            'u' | 'U' => out.push_str("[uU\u{b5}\u{3bc}]"),
            '2' => out.push_str("[2\u{b2}]"),
            '3' => out.push_str("[3\u{b3}]"),
            '/' => out.push_str("(?:/|per|a)"),
            c if c.is_alphabetic() && case_matters => out.push_str(&format!("[{c}]")),
            c => out.push_str(&escaped(&c.to_string())),
        }
        out.push_str(BETWEEN);
    }
    out
}

/// A schema of either.
pub fn any_of(schemas: impl IntoIterator<Item = Json>) -> Json {
    json!({"anyOf": schemas.into_iter().collect::<Vec<_>>()})
}

/// A list of these.
pub fn list_of(items: Json) -> Json {
    json!({"type": "array", "items": items})
}

/// A map of the user's own names to these.
pub fn named(values: Json) -> Json {
    json!({"type": "object", "additionalProperties": values, "propertyNames": {"pattern": r"\S"}})
}
