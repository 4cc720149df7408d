//! Writes into each file every mutant that its list names, each behind a question whether it is the one that is asked for, and leaves out
//! those that do not compile.

use crate::Outcome;
use crate::place::{self, Form, Place};
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::ops::Range;
use std::path::Path;
use std::process::Command;

/// A mutant of the list.
struct Mutant {
    id: usize,
    file: String,
    name: String,
    genre: String,
    replacement: String,
    line: usize,
    column: usize,
}

/// A file, and which mutants stand at which of its places.
struct File {
    path: String,
    text: String,
    places: Vec<(Place, Vec<usize>)>,
    woven: String,
}

/// What the program asks; the number is the environment's `MUTANT`. With `MUTANTS_SEEN`, those that were asked for are written there.
const QUESTION: &str = r#"
use std::sync::atomic::{AtomicU32, AtomicU8, Ordering::Relaxed};
static ASKED: AtomicU32 = AtomicU32::new(u32::MAX);
static SEEN: [AtomicU8; 65536] = [const { AtomicU8::new(0) }; 65536];
unsafe extern "C" { safe fn atexit(last: extern "C" fn()) -> i32; }
extern "C" fn last() {
    let Ok(folder) = std::env::var("MUTANTS_SEEN") else { return };
    let seen: Vec<String> = SEEN.iter().enumerate().filter(|(_, s)| s.load(Relaxed) > 0).map(|(i, _)| i.to_string()).collect();
    drop(std::fs::write(format!("{folder}/{}", std::process::id()), seen.join(" ")));
}
#[cold]
fn first() -> u32 {
    let asked = if std::env::var_os("MUTANTS_SEEN").is_some() { u32::MAX - 1 } else { std::env::var("MUTANT").ok().and_then(|m| m.parse().ok()).unwrap_or(u32::MAX - 2) };
    if ASKED.swap(asked, Relaxed) == u32::MAX && asked == u32::MAX - 1 { atexit(last); }
    asked
}
#[inline]
pub fn is(id: u32) -> bool {
    let mut asked = ASKED.load(Relaxed);
    if asked == u32::MAX { asked = first(); }
    if asked == u32::MAX - 1 { SEEN[id as usize].store(1, Relaxed); }
    asked == id
}
"#;

pub fn weave(list: &Path, tree: &Path) -> Outcome<()> {
    let mutants = read(list)?;
    let mut unplaced = BTreeSet::new();
    let mut files = Vec::new();
    let mut of_files: BTreeMap<&str, Vec<&Mutant>> = BTreeMap::new();
    for mutant in &mutants {
        of_files.entry(&mutant.file).or_default().push(mutant);
    }
    for (path, of) in of_files {
        files.push(file(tree, path, &of, &mut unplaced)?);
    }
    write(tree, "src/mutated.rs", QUESTION)?;
    let root = text(tree, "src/lib.rs")?;
    write(tree, "src/lib.rs", &format!("{root}\n#[doc(hidden)]\npub mod mutated;\n"))?;

    // What a function of `impl Iterator` gives has one type, so that a mutant of it can stand nowhere beside the whole.
    let mut dropped: BTreeSet<usize> =
        mutants.iter().filter(|m| m.replacement.starts_with("::std::iter::")).map(|m| m.id).collect();
    let kept = list.with_file_name("left-out");
    let known = std::fs::read_to_string(&kept).unwrap_or_default();
    let known: BTreeSet<&str> = known.lines().collect();
    dropped.extend(mutants.iter().filter(|m| known.contains(m.name.as_str())).map(|m| m.id));
    for round in 1.. {
        for file in &mut files {
            let order: Vec<usize> = (0..file.places.len()).collect();
            let weaver = Weaver { file, mutants: &mutants, dropped: &dropped };
            let woven = weaver.range(0..file.text.len(), &order);
            if woven != file.woven {
                write(tree, &file.path, &woven)?;
                file.woven = woven;
            }
        }
        let errors = check(tree)?;
        if errors.is_empty() {
            break;
        }
        let before = dropped.len();
        let mut strange = Vec::new();
        for error in &errors {
            let mut hit = false;
            for (path, offset) in &error.spans {
                let Some(file) = files.iter().find(|f| f.path == *path) else { continue };
                let mut more = blamed(file, *offset);
                more.retain(|id| !dropped.contains(id));
                hit |= !more.is_empty();
                dropped.extend(more);
                if hit {
                    break;
                }
            }
            if !hit {
                eprintln!("{}", error.text);
                strange.push(error.text.clone());
            }
        }
        eprintln!("round {round}: {} errors, {} mutants left out so far", errors.len(), dropped.len());
        if dropped.len() == before {
            return Err(strange.join("\n"));
        }
        let names: Vec<&str> = dropped.iter().map(|&id| mutants[id].name.as_str()).collect();
        std::fs::write(&kept, names.join("\n")).map_err(|e| e.to_string())?;
    }
    let mut table = String::new();
    for mutant in &mutants {
        let what = if unplaced.contains(&mutant.id) {
            "unplaced"
        } else if dropped.contains(&mutant.id) {
            "unbuilt"
        } else {
            "built"
        };
        table += &format!("{}\t{what}\t{}\t{}\n", mutant.id, mutant.genre, mutant.name.replace(['\t', '\n'], " "));
    }
    let beside = list.with_file_name("mutants.tsv");
    std::fs::write(&beside, table).map_err(|e| format!("{}: {e}", beside.display()))?;
    eprintln!("{} mutants: {} not placed, {} do not compile", mutants.len(), unplaced.len(), dropped.len());
    Ok(())
}

fn text(tree: &Path, path: &str) -> Outcome<String> {
    std::fs::read_to_string(tree.join(path)).map_err(|e| format!("{path}: {e}"))
}

fn write(tree: &Path, path: &str, text: &str) -> Outcome<()> {
    std::fs::write(tree.join(path), text).map_err(|e| format!("{path}: {e}"))
}

fn read(list: &Path) -> Outcome<Vec<Mutant>> {
    let bytes = std::fs::read(list).map_err(|e| format!("{}: {e}", list.display()))?;
    let value: serde_json::Value = serde_json::from_slice(&bytes).map_err(|e| e.to_string())?;
    let list = value.as_array().ok_or("the list of mutants is no list")?;
    let word = |of: &serde_json::Value| of.as_str().unwrap_or_default().to_owned();
    let number = |of: &serde_json::Value| of.as_u64().unwrap_or_default() as usize;
    Ok(list
        .iter()
        .enumerate()
        .map(|(id, of)| Mutant {
            id,
            file: word(&of["file"]),
            name: word(&of["name"]),
            genre: word(&of["genre"]),
            replacement: word(&of["replacement"]),
            line: number(&of["span"]["start"]["line"]),
            column: number(&of["span"]["start"]["column"]),
        })
        .collect())
}

/// Puts the mutants of a file at its places.
fn file(tree: &Path, path: &str, mutants: &[&Mutant], unplaced: &mut BTreeSet<usize>) -> Outcome<File> {
    let text = text(tree, path)?;
    let mut places: Vec<(Place, Vec<usize>)> =
        place::places(&text).map_err(|e| format!("{path}: {e}"))?.into_iter().map(|p| (p, Vec::new())).collect();
    let mut lines = vec![0];
    lines.extend(text.match_indices('\n').map(|(at, _)| at + 1));
    let mut bodies = HashMap::new();
    for mutant in mutants {
        let line = lines.get(mutant.line.saturating_sub(1)).copied().unwrap_or_default();
        let column: usize = text[line..].chars().take(mutant.column.saturating_sub(1)).map(char::len_utf8).sum();
        let at = line + column;
        if mutant.genre == "FnValue" {
            let index = *bodies.entry(at).or_insert_with(|| {
                places.push((Place { key: at, span: at..at, sign: String::new(), form: Form::Body }, Vec::new()));
                places.len() - 1
            });
            places[index].1.push(mutant.id);
            continue;
        }
        let found = places.iter_mut().find(|(place, _)| match (&place.form, mutant.genre.as_str()) {
            (Form::Sum { .. } | Form::Order { .. } | Form::Both { .. } | Form::Assign { .. }, "BinaryOperator")
            | (Form::Unary { .. }, "UnaryOperator")
            | (Form::Arm { spare: true, .. }, "MatchArm")
            | (Form::Field { .. }, "StructField") => place.key == at,
            (Form::Arm { guard: Some(guard), .. }, "MatchArmGuard") => guard.start == at,
            _ => false,
        });
        match found {
            Some((_, ids)) => ids.push(mutant.id),
            None => drop(unplaced.insert(mutant.id)),
        }
    }
    places.retain(|(_, ids)| !ids.is_empty());
    places.sort_by_key(|(place, _)| (place.span.start, !place.span.is_empty(), usize::MAX - place.span.end));
    Ok(File { path: path.to_owned(), text, places, woven: String::new() })
}

struct Weaver<'a> {
    file: &'a File,
    mutants: &'a [Mutant],
    dropped: &'a BTreeSet<usize>,
}

impl Weaver<'_> {
    /// The text of a range with the places that stand in it.
    fn range(&self, range: Range<usize>, places: &[usize]) -> String {
        let mut out = String::new();
        let mut from = range.start;
        let mut rest = places;
        while let Some((&first, others)) = rest.split_first() {
            let (place, _) = &self.file.places[first];
            let inner = others.iter().take_while(|&&p| self.file.places[p].0.span.start < place.span.end).count();
            let inner = if place.span.is_empty() { 0 } else { inner };
            if place.span.start >= range.start && place.span.end <= range.end && place.span.start >= from {
                out += &self.file.text[from..place.span.start];
                out += &self.place(first, &others[..inner]);
                from = place.span.end;
            }
            rest = &others[inner..];
        }
        out + &self.file.text[from..range.end]
    }

    fn place(&self, number: usize, inner: &[usize]) -> String {
        let (place, ids) = &self.file.places[number];
        let ids: Vec<usize> = ids.iter().copied().filter(|id| !self.dropped.contains(id)).collect();
        let within = |range: &Range<usize>| {
            let of: Vec<usize> = inner
                .iter()
                .copied()
                .filter(|&p| {
                    self.file.places[p].0.span.start >= range.start && self.file.places[p].0.span.end <= range.end
                })
                .collect();
            self.range(range.clone(), &of)
        };
        if ids.is_empty() {
            return if place.span.is_empty() { String::new() } else { self.range(place.span.clone(), inner) };
        }
        let word = |id: usize| self.mutants[id].replacement.as_str();
        let chosen = |of: &dyn Fn(&str) -> String, own: &str| {
            let mut all = String::new();
            for &id in &ids {
                all += &format!("if crate::mutated::is({id}) {{ /*<{id}*/{}/*{id}>*/ }} else ", of(word(id)));
            }
            format!("{all}{{ {} }}", of(own))
        };
        let text = match &place.form {
            Form::Sum { left, right } => {
                let own = self.between(left, right);
                format!(
                    "(match ({}, {}) {{ (l_, r_) => {} }})",
                    within(left),
                    within(right),
                    chosen(&|op| format!("l_ {op} r_"), &own)
                )
            }
            Form::Order { left, right } => {
                let own = self.between(left, right);
                format!(
                    "(match (&({}), &({})) {{ (l_, r_) => {} }})",
                    within(left),
                    within(right),
                    chosen(&|op| format!("*l_ {op} *r_"), &own)
                )
            }
            Form::Assign { left, right } => {
                let own = self.between(left, right);
                let target = &self.file.text[left.clone()];
                format!("{{ let r_ = {}; {} }}", within(right), chosen(&|op| format!("{target} {op} r_"), &own))
            }
            Form::Both { left, right, or } => {
                let is = format!("crate::mutated::is({})", ids[0]);
                if *or {
                    format!("(if ({}) == {is} {{ {} }} else {{ !{is} }})", within(left), within(right))
                } else {
                    format!("(if ({}) != {is} {{ {} }} else {{ {is} }})", within(left), within(right))
                }
            }
            Form::Unary { of } => {
                let sign = &place.sign;
                format!(
                    "(match {} {{ x => if crate::mutated::is({}) {{ x }} else {{ {sign}x }} }})",
                    within(of),
                    ids[0]
                )
            }
            Form::Arm { guard, .. } => {
                let all = |genre: &str, with: &str| {
                    let of = ids
                        .iter()
                        .find(|&&id| self.mutants[id].genre == genre && (with.is_empty() || word(id) == with));
                    of.map_or("false".to_owned(), |id| format!("crate::mutated::is({id})"))
                };
                let own = guard.as_ref().map_or("true".to_owned(), &within);
                format!(
                    " if !{} && ({} || (!{} && ({own}))) ",
                    all("MatchArm", ""),
                    all("MatchArmGuard", "true"),
                    all("MatchArmGuard", "false")
                )
            }
            Form::Field { name, value, base } => {
                let base = &self.file.text[base.clone()];
                format!("{name}: if crate::mutated::is({}) {{ ({base}).{name} }} else {{ {} }}", ids[0], within(value))
            }
            Form::Body => ids
                .iter()
                .map(|&id| format!("if crate::mutated::is({id}) {{ return /*<{id}*/{}/*{id}>*/; }} ", word(id)))
                .collect(),
        };
        format!("/*[{number}*/{text}/*{number}]*/")
    }

    /// The operator between two sides.
    fn between(&self, left: &Range<usize>, right: &Range<usize>) -> String {
        let text = &self.file.text[left.end..right.start];
        let mut bare = String::new();
        for line in text.lines() {
            bare += line.split("//").next().unwrap_or_default();
        }
        bare.chars().filter(|c| !c.is_whitespace() && *c != '(' && *c != ')').collect()
    }
}

/// An error of the compiler, and where it points, the place it means first.
struct Wrong {
    spans: Vec<(String, usize)>,
    text: String,
}

fn check(tree: &Path) -> Outcome<Vec<Wrong>> {
    let done = Command::new("cargo")
        .args(["build", "--release", "--lib", "--message-format=json"])
        .current_dir(tree)
        .output()
        .map_err(|e| e.to_string())?;
    let mut errors = Vec::new();
    for line in String::from_utf8_lossy(&done.stdout).lines() {
        let Ok(value) = serde_json::from_str::<serde_json::Value>(line) else { continue };
        let message = &value["message"];
        if value["reason"] != "compiler-message" || message["level"] != "error" {
            continue;
        }
        let mut spans: Vec<(bool, String, usize)> = Vec::new();
        for span in message["spans"].as_array().into_iter().flatten() {
            let mut span = span;
            loop {
                let path = span["file_name"].as_str().unwrap_or_default().to_owned();
                spans.push((
                    span["is_primary"] != true,
                    path,
                    span["byte_start"].as_u64().unwrap_or_default() as usize,
                ));
                match span.pointer("/expansion/span") {
                    Some(outer) => span = outer,
                    None => break,
                }
            }
        }
        spans.sort_by_key(|(second, ..)| *second);
        if !spans.is_empty() {
            let text = message["rendered"].as_str().unwrap_or_default().to_owned();
            errors.push(Wrong { spans: spans.into_iter().map(|(_, path, at)| (path, at)).collect(), text });
        }
    }
    if errors.is_empty() && !done.status.success() {
        return Err(String::from_utf8_lossy(&done.stderr).into_owned());
    }
    Ok(errors)
}

/// The mutants that an error in the woven text is of: the one it stands in, else all of the place round it.
fn blamed(file: &File, offset: usize) -> Vec<usize> {
    let mut open: Vec<(bool, usize)> = Vec::new();
    let text = &file.woven;
    let mut at = 0;
    while let Some(next) = text[at..].find("/*") {
        let start = at + next;
        let end = text[start..].find("*/").map_or(text.len(), |e| start + e + 2);
        if start > offset {
            break;
        }
        let mark = &text[start + 2..end - 2];
        let number = |of: &str| of.parse::<usize>().ok();
        if let Some(id) = mark.strip_prefix('<').and_then(number) {
            open.push((true, id));
        } else if let Some(place) = mark.strip_prefix('[').and_then(number) {
            open.push((false, place));
        } else if mark.strip_suffix(['>', ']']).and_then(number).is_some() {
            open.pop();
        }
        at = end;
    }
    match open.last() {
        Some((true, id)) => vec![*id],
        Some((false, place)) => file.places[*place].1.clone(),
        None => Vec::new(),
    }
}
