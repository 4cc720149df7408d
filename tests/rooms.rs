//! The rooms of the library use one another one way only: a room may name rooms above it in `src/lib.rs`.

#![cfg(test)]

use std::fs;
use std::path::{Path, PathBuf};

/// The rooms in the order of `src/lib.rs`.
fn rooms() -> Vec<String> {
    let text = fs::read_to_string("src/lib.rs").unwrap();
    text.lines().filter_map(|line| line.strip_prefix("pub mod ")?.strip_suffix(';')).map(str::to_owned).collect()
}

fn rust_files(dir: &Path, out: &mut Vec<PathBuf>) {
    let mut entries: Vec<_> = fs::read_dir(dir).unwrap().map(|entry| entry.unwrap().path()).collect();
    entries.sort();
    for path in entries {
        if path.is_dir() {
            rust_files(&path, out);
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            out.push(path);
        }
    }
}

fn code_of(line: &str) -> &str {
    line.split("//").next().unwrap_or("")
}

/// Every room named by `crate::ROOM` in a line of code, comments left out.
fn rooms_named(line: &str) -> Vec<String> {
    code_of(line)
        .split("crate::")
        .skip(1)
        .map(|rest| rest.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect::<String>())
        .filter(|word| !word.is_empty())
        .collect()
}

#[test]
fn a_room_uses_only_rooms_above_it() {
    let rooms = rooms();
    assert!(rooms.len() > 12, "src/lib.rs lists the rooms");
    let mut wrong = Vec::new();
    for (rank, room) in rooms.iter().enumerate() {
        let mut files = Vec::new();
        rust_files(&Path::new("src").join(room), &mut files);
        assert!(!files.is_empty(), "room {room} has a file");
        for file in files {
            for (number, line) in fs::read_to_string(&file).unwrap().lines().enumerate() {
                for named in rooms_named(line) {
                    match rooms.iter().position(|other| *other == named) {
                        Some(other) if other <= rank => {}
                        Some(_) => wrong.push(format!(
                            "{}:{}: `{room}` stands above `{named}` and may not use it",
                            file.display(),
                            number + 1
                        )),
                        None => wrong.push(format!("{}:{}: `crate::{named}` is no room", file.display(), number + 1)),
                    }
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn only_the_files_room_touches_the_disk() {
    let mut files = Vec::new();
    rust_files(Path::new("src"), &mut files);
    let mut wrong = Vec::new();
    for file in files {
        // Tests write the small sites that they read.
        let is_test = file.ends_with("tests.rs") || file.iter().any(|part| part == "tests");
        if file.starts_with("src/files") || is_test {
            continue;
        }
        for (number, line) in fs::read_to_string(&file).unwrap().lines().enumerate() {
            if line.starts_with("mod tests {") {
                break;
            }
            let code = code_of(line);
            if ["std::fs", "File::open", "File::create"].iter().any(|word| code.contains(word)) {
                wrong.push(format!("{}:{}: {}", file.display(), number + 1, line.trim()));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn no_source_file_is_longer_than_six_hundred_lines() {
    let mut files = Vec::new();
    rust_files(Path::new("src"), &mut files);
    let long: Vec<_> = files
        .iter()
        .map(|file| (file, fs::read_to_string(file).unwrap().lines().count()))
        .filter(|(_, lines)| *lines > 600)
        .collect();
    assert!(long.is_empty(), "{long:?}");
}

/// Rooms named in code by `bywash::ROOM` or in the braces of `use bywash::{…}`; `*` for all of them.
fn borrowed(text: &str) -> Vec<String> {
    let code: String = text.lines().flat_map(|line| [code_of(line), " "]).collect();
    let mut named = Vec::new();
    for rest in code.split("bywash::").skip(1) {
        let rest = rest.trim_start();
        let end = if rest.starts_with('{') {
            rest.find(';').unwrap_or(rest.len())
        } else if rest.starts_with('*') {
            named.push("*".to_owned());
            continue;
        } else {
            rest.find(|c: char| !c.is_alphanumeric() && c != '_').unwrap_or(rest.len())
        };
        named.extend(
            rest[..end]
                .split(|c: char| !c.is_alphanumeric() && c != '_' && c != '*')
                .filter(|word| !word.is_empty())
                .map(str::to_owned),
        );
    }
    named
}

/// Every kind of filter named by its variant in a line of code: `FilterKind::Bag`.
fn kinds_named(line: &str) -> Vec<String> {
    let words = code_of(line).split("FilterKind::").skip(1);
    words
        .map(|rest| rest.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect::<String>())
        .filter(|word| {
            word.starts_with(|c: char| c.is_ascii_uppercase()) && word.contains(|c: char| c.is_ascii_lowercase())
        })
        .collect()
}

#[test]
fn rooms_ask_a_kind_of_filter_for_its_answers_and_never_which_it_is() {
    let mut files = Vec::new();
    rust_files(Path::new("src"), &mut files);
    let mut wrong = Vec::new();
    for file in files {
        // Tests make the filters that they need.
        let is_test = file.ends_with("tests.rs") || file.iter().any(|part| part == "tests");
        if file.starts_with("src/facility/kinds") || is_test {
            continue;
        }
        for (number, line) in fs::read_to_string(&file).unwrap().lines().enumerate() {
            for kind in kinds_named(line) {
                wrong.push(format!("{}:{}: `FilterKind::{kind}`", file.display(), number + 1));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert_eq!(kinds_named("    FilterKind::Bag(_) | FilterKind::DeepMediaBed(bed) => 1,"), ["Bag", "DeepMediaBed"]);
    assert!(kinds_named("let all = FilterKind::ALL.len(); // FilterKind::Bag").is_empty());
}

/// A figure that both engines take from one function is compared with itself.
#[test]
fn the_second_engine_borrows_no_physics() {
    let physics = ["science", "filters", "*"];
    let mut files = vec![PathBuf::from("tests/engines_agree.rs")];
    rust_files(Path::new("tests/second_engine"), &mut files);
    assert!(files.len() > 20, "the second engine has files");
    let mut wrong = Vec::new();
    for file in files {
        let text = fs::read_to_string(&file).unwrap();
        for named in borrowed(&text) {
            if physics.contains(&named.as_str()) {
                wrong.push(format!("{}: `bywash::{named}`", file.display()));
            }
        }
        // How a kind of filter behaves is the first engine's reading of it.
        for asked in [".sheds()", ".through()", ".sprayed()", ".decks()", ".rinse()", ".media_bed()"] {
            if text.contains(&format!("kind{asked}")) {
                wrong.push(format!("{}: `kind{asked}`", file.display()));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn a_borrowed_room_is_seen_however_it_is_named() {
    for (text, expected) in [
        ("use bywash::science::ponds::Prismoid;", "science"),
        ("let v = bywash::science::water::density(t);", "science"),
        ("use bywash::{\n    balance::Node,\n    science::hydrology::CurveNumber,\n};", "science"),
        ("use bywash::*;", "*"),
    ] {
        assert!(borrowed(text).iter().any(|word| word == expected), "{text}");
    }
    assert_eq!(borrowed("use bywash::files::Given; // bywash::science::ponds\nuse super::filters;"), ["files"]);
}
