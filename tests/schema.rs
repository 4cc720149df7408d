//! The JSON Schemas that `bywash schema` prints, held against the program: a validator of its own refuses what is in
//! the table of mistakes, and nothing that the program takes.

#![cfg(test)]

#[path = "schema/mistakes.rs"]
mod mistakes;

use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use bywash::cli::new;
use bywash::cli::schema::Of as File;
use bywash::compare::{prices, proposal, search};
use bywash::facility::{self, model::Facility};
use bywash::files::{Source, yaml};
use bywash::told::Problems;
use bywash::{rules, sizing};
use clap::ValueEnum;
use jsonschema::Validator;
use serde_json::{Value as Json, json};

use mistakes::MISTAKES;

fn validator(file: File) -> &'static Validator {
    static ALL: [OnceLock<Validator>; 7] = [const { OnceLock::new() }; 7];
    ALL[file as usize].get_or_init(|| jsonschema::draft202012::new(&file.schema()).unwrap())
}

/// The demonstration's file.
fn of_the_demonstration(file: File) -> &'static str {
    match file {
        File::Facility => "demo-facility/facility.yaml",
        File::Rules => "rules/sallowfen.yaml",
        File::Prices => "demo-facility/prices.yaml",
        File::Proposal => "demo-facility/proposals/bags.yaml",
        File::Basin => "demo-facility/basin.yaml",
        File::Stages => "demo-facility/stages.yaml",
        File::Answers => "templates/answers.yaml",
    }
}

/// A site's facility, as a tree and as a model.
struct Site {
    tree: yaml::Node,
    facility: Facility,
}

impl Site {
    fn of(folder: &str) -> Self {
        let problems = Problems::new();
        let source = Source::new("facility.yaml", &read(&format!("{folder}/facility.yaml")));
        let tree = yaml::tree(&source, &problems).unwrap();
        let facility = facility::from_tree(&tree, Path::new(folder), &problems).unwrap();
        Self { tree, facility }
    }

    /// Whether the program takes a file of this site; else what it says.
    fn takes(&self, file: File, text: &str) -> Result<(), String> {
        let problems = Problems::new();
        if let Some(tree) = yaml::tree(&Source::new("file.yaml", text), &problems) {
            match file {
                File::Facility => drop(facility::from_tree(&tree, &self.facility.directory, &problems)),
                File::Rules => drop(rules::from_tree(&tree, &self.facility, &problems)),
                File::Prices => drop(prices::read(&tree, &problems)),
                File::Basin => drop(sizing::read(&tree, &problems)),
                File::Stages => drop(search::read(&tree, &problems)),
                File::Answers => new::tell(&Source::new("file.yaml", text), &problems),
                File::Proposal => {
                    if let Some(proposal) = proposal::read(&tree, &problems) {
                        let (patched, _) = proposal::apply(&self.tree, &proposal, &problems);
                        facility::from_tree(&patched, &self.facility.directory, &problems);
                    }
                }
            }
        }
        let told: Vec<String> = problems.in_order().iter().map(|problem| problem.to_string_line()).collect();
        if problems.errors() == 0 { Ok(()) } else { Err(told.join("\n")) }
    }
}

fn read(path: &str) -> String {
    std::fs::read_to_string(path).unwrap_or_else(|wrong| panic!("{path}: {wrong}"))
}

/// A file as an editor sees it: by YAML 1.2, where `22:00`, `no` and dates are texts and `4` is a number. None where
/// it is no YAML.
fn as_an_editor_sees(text: &str) -> Option<Json> {
    let options = serde_yaml::options! { strict_booleans: true, with_snippet: false };
    serde_yaml::from_str_with_options(text, options).ok()
}

/// What the schema says against a file.
fn refusals(file: File, text: &str) -> Vec<String> {
    match as_an_editor_sees(text) {
        Some(seen) => {
            validator(file).iter_errors(&seen).map(|wrong| format!("{}: {wrong}", wrong.instance_path())).collect()
        }
        None => vec!["no YAML".to_owned()],
    }
}

/// Every file of a kind in the tree, with the folder of its site.
fn files() -> Vec<(File, PathBuf, &'static str)> {
    let mut out = vec![
        (File::Rules, "rules/sallowfen.yaml".into(), "demo-facility"),
        (File::Rules, "templates/rules.yaml".into(), "templates"),
        (File::Rules, "tests/typos/sites/quillmere/rules.yaml".into(), "tests/facilities/quillmere"),
        (File::Rules, "tests/typos/sites/harrowmead/rules.yaml".into(), "tests/facilities/harrowmead"),
        (File::Basin, "templates/basin.yaml".into(), "templates"),
        (File::Basin, "tests/basin_site/cells-and-earth.yaml".into(), "templates"),
        (File::Stages, "templates/stages.yaml".into(), "templates"),
        (File::Stages, "demo-facility/stages.yaml".into(), "demo-facility"),
        (File::Stages, "tests/trains_site/stages.yaml".into(), "tests/trains_site"),
        (File::Answers, "templates/answers.yaml".into(), "templates"),
        (File::Basin, "demo-facility/basin.yaml".into(), "demo-facility"),
    ];
    for folder in ["tests/facilities/quillmere", "tests/facilities/harrowmead"] {
        out.push((File::Facility, format!("{folder}/facility.yaml").into(), folder));
    }
    for folder in ["demo-facility", "templates", "tests/compare_site"] {
        out.push((File::Facility, format!("{folder}/facility.yaml").into(), folder));
        out.push((File::Prices, format!("{folder}/prices.yaml").into(), folder));
        let mut proposals: Vec<PathBuf> =
            std::fs::read_dir(format!("{folder}/proposals")).unwrap().map(|entry| entry.unwrap().path()).collect();
        proposals.retain(|path| path.extension().is_some_and(|extension| extension == "yaml"));
        proposals.sort();
        out.extend(proposals.into_iter().map(|path| (File::Proposal, path, folder)));
    }
    out
}

#[test]
fn each_schema_is_one_of_its_draft() {
    for file in File::value_variants() {
        let schema = file.schema();
        let wrong: Vec<String> =
            jsonschema::draft202012::meta::validate(&schema).err().iter().map(ToString::to_string).collect();
        assert!(wrong.is_empty(), "{file:?}: {wrong:#?}");
    }
}

#[test]
fn every_file_here_is_taken_by_the_program_and_by_the_schema() {
    for (file, path, folder) in files() {
        let text = read(path.to_str().unwrap());
        let taken = Site::of(folder).takes(file, &text);
        assert_eq!(taken, Ok(()), "{}", path.display());
        assert_eq!(refusals(file, &text), Vec::<String>::new(), "{}", path.display());
    }
}

/// The facilities of `tests/mistakes` are wrong in ways that a schema often cannot see; those that are only warned of are
/// right to it.
#[test]
fn a_facility_that_is_only_warned_of_is_taken() {
    let mut taken = 0;
    for entry in std::fs::read_dir("tests/mistakes").unwrap() {
        let path = entry.unwrap().path().join("facility.yaml");
        if !path.exists() {
            // Mistakes in files of stages.
            continue;
        }
        let text = read(path.to_str().unwrap());
        let problems = Problems::new();
        let tree = yaml::tree(&Source::new("facility.yaml", &text), &problems);
        let facility = tree.and_then(|tree| facility::from_tree(&tree, Path::new("tests/mistakes"), &problems));
        if facility.is_some() && problems.errors() == 0 {
            taken += 1;
            assert_eq!(refusals(File::Facility, &text), Vec::<String>::new(), "{}", path.display());
        }
    }
    assert!(taken >= 2, "{taken}");
}

#[test]
fn fifty_mistakes_are_refused_by_the_schema_and_by_the_program() {
    let site = Site::of("demo-facility");
    let mut wrong = Vec::new();
    assert!(MISTAKES.len() >= 50);
    for (file, was, now) in MISTAKES {
        let text = read(of_the_demonstration(*file));
        assert!(text.contains(was), "{file:?} has `{was}`");
        let text = text.replacen(was, now, 1);
        if site.takes(*file, &text).is_ok() {
            wrong.push(format!("{file:?}: the program takes `{now}` for `{was}`"));
        }
        if refusals(*file, &text).is_empty() {
            wrong.push(format!("{file:?}: the schema takes `{now}` for `{was}`"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// A file with one thing changed at a time: words in capitals and in quotes, more spaces, other values of the same
/// file, lines taken out. Most are mistakes; what is none must be none to the schema.
fn changed(text: &str) -> Vec<String> {
    let lines: Vec<&str> = text.lines().collect();
    let with = |at: usize, line: String| {
        let mut lines: Vec<String> = lines.iter().map(|line| (*line).to_owned()).collect();
        lines[at] = line;
        lines.join("\n") + "\n"
    };
    let values: Vec<&str> = lines
        .iter()
        .filter_map(|line| line.split(" #").next()?.split_once(": "))
        .map(|(_, value)| value.trim())
        .filter(|value| !value.is_empty() && !value.starts_with(['{', '[', '"']))
        .collect();
    let mut out = Vec::new();
    for (at, line) in lines.iter().enumerate() {
        let bare = line.split(" #").next().unwrap_or_default().trim_end();
        if bare.trim().is_empty() || bare.trim_start().starts_with('#') {
            continue;
        }
        out.push(with(at, String::new()));
        out.push(with(at, bare.to_uppercase()));
        let indent = bare.len() - bare.trim_start().len();
        out.push(with(at, format!("{}{}", &bare[..indent], bare[indent..].replace(' ', "  "))));
        let Some((key, value)) = bare.split_once(": ") else { continue };
        out.push(with(at, format!("{}: {value}", key.to_uppercase())));
        if value.starts_with(['{', '[', '"', '\'']) {
            for (from, to) in
                [(", ", ",  "), ("to", "TO"), ("in", "inches"), ("gal", "gallons"), (" %", "%"), ("um", "\u{b5}m")]
            {
                if value.contains(from) {
                    out.push(with(at, format!("{key}: {}", value.replace(from, to))));
                }
            }
            continue;
        }
        out.push(with(at, format!("{key}: {}", value.to_uppercase())));
        out.push(with(at, format!("{key}: \" {value} \"")));
        out.push(with(at, format!("{key}: [{value}]")));
        // Other values of the file, always the same few.
        for step in 1..4 {
            let other = values[(at * 7 + step * 13) % values.len()];
            out.push(with(at, format!("{key}: {other}")));
        }
    }
    out
}

#[test]
fn what_the_program_takes_the_schema_takes() {
    // A debug build takes some of the changes, always the same.
    let step = if cfg!(debug_assertions) { 11 } else { 1 };
    let mut taken = 0;
    let mut wrong = Vec::new();
    for (file, path, folder) in files() {
        let site = Site::of(folder);
        for text in changed(&read(path.to_str().unwrap())).into_iter().step_by(step) {
            if site.takes(file, &text).is_err() {
                continue;
            }
            taken += 1;
            let told = refusals(file, &text);
            if !told.is_empty() {
                let before = read(path.to_str().unwrap());
                let line = text.lines().zip(before.lines()).find(|(now, was)| now != was).map_or("", |(now, _)| now);
                wrong.push(format!("{}: `{line}`: {}", path.display(), told.join("; ")));
            }
        }
    }
    assert!(wrong.is_empty(), "{} of {taken}:\n{}", wrong.len(), wrong.join("\n"));
    assert!(taken > 500 / step, "only {taken} changes are no mistake");
}

/// What an editor offers for a key must be right there.
#[test]
fn every_example_in_a_schema_is_valid_where_it_stands() {
    fn walk(at: &Json, found: &mut Vec<Json>) {
        match at {
            Json::Object(object) => {
                if object.get("examples").is_some_and(Json::is_array) {
                    found.push(at.clone());
                }
                object.values().for_each(|value| walk(value, found));
            }
            Json::Array(items) => items.iter().for_each(|item| walk(item, found)),
            _ => {}
        }
    }
    for file in File::value_variants() {
        let schema = file.schema();
        let mut found = Vec::new();
        walk(&schema, &mut found);
        assert!(found.len() > 5, "{file:?}");
        for part in found {
            let mut whole = part.clone();
            whole["$defs"] = schema["$defs"].clone();
            let validator = jsonschema::draft202012::new(&whole).unwrap();
            for example in part["examples"].as_array().unwrap() {
                assert!(validator.is_valid(example), "{file:?}: {example} of {}", json!(part));
            }
        }
    }
}

/// A key that is read by its bare word is one that the schema does not know. Filters are held to theirs by a test beside
/// their readers.
#[test]
fn keys_are_read_through_their_declarations() {
    fn walk(folder: &Path, wrong: &mut Vec<String>) {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            let undeclared = ["src/facility/read/filters.rs", "src/facility/read/washes.rs"];
            if path.is_dir() {
                walk(&path, wrong);
            } else if !undeclared.iter().any(|other| path == Path::new(other)) {
                let text = read(path.to_str().unwrap());
                let bare = text.lines().filter(|line| line.contains(".may(\"") || line.contains(".must(\""));
                wrong.extend(bare.map(|line| format!("{}: {}", path.display(), line.trim())));
            }
        }
    }
    let mut wrong = Vec::new();
    for room in ["facility", "rules", "compare", "sizing"] {
        walk(&Path::new("src").join(room), &mut wrong);
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_command_prints_the_schema_and_knows_its_files() {
    let run = |args: &[&str]| assert_cmd::Command::cargo_bin("bywash").unwrap().args(args).output().unwrap();
    for file in File::value_variants() {
        let out = run(&["schema", file.name()]);
        assert_eq!(out.status.code(), Some(0));
        let printed: Json = serde_json::from_slice(&out.stdout).unwrap();
        assert_eq!(printed, file.schema());
    }
    assert_eq!(run(&["schema", "weather"]).status.code(), Some(2));
}
