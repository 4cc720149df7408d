//! One broken facility file for each mistake a grower would make, with the words the program answers with.
//!
//! Each folder of `tests/mistakes` holds a `facility.yaml` and the `expected.txt` it is answered with. The texts are
//! read by a person when they change; `BYWASH_WRITE_EXPECTED=1 cargo test --test mistakes` writes them anew. Those of
//! `tests/mistakes/stages` are broken files of stages for the site of `tests/trains_site`, those of `tests/mistakes/ponds`
//! broken files of what a pond must do.

#![cfg(test)]

use std::path::Path;

use bywash::compare::prices;
use bywash::compare::search::{self, Ground, Search};
use bywash::facility;
use bywash::files::{Sources, yaml};
use bywash::sizing;
use bywash::told::{Problems, WIDTH, print};

/// Holds what is told in each folder against its `expected.txt`; `tell` tells the problems of a folder.
fn answered(root: &Path, least: usize, tell: impl Fn(&Path, &mut Sources, &mut Problems)) {
    let mut folders: Vec<_> = std::fs::read_dir(root).unwrap().map(|entry| entry.unwrap().path()).collect();
    folders.retain(|folder| !folder.ends_with("stages") && !folder.ends_with("ponds"));
    folders.sort();
    assert!(folders.len() >= least, "the mistakes are there");
    let mut wrong = Vec::new();
    for folder in folders {
        let mut sources = Sources::new(&folder);
        let mut problems = Problems::new();
        tell(&folder, &mut sources, &mut problems);
        let told = print(&problems, &sources, false);
        assert!(!problems.is_empty(), "{} is told", folder.display());
        for line in told.lines() {
            assert!(line.chars().count() <= WIDTH, "too wide: {line}");
        }
        let path = folder.join("expected.txt");
        if std::env::var_os("BYWASH_WRITE_EXPECTED").is_some() {
            std::fs::write(&path, &told).unwrap();
        }
        let expected = std::fs::read_to_string(&path).unwrap_or_default();
        if told != expected {
            wrong.push(format!("{}\n--- expected\n{expected}--- told\n{told}", folder.display()));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn each_mistake_is_answered_with_its_line_a_sentence_and_what_to_do() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/mistakes");
    answered(&root, 30, |folder, sources, problems| {
        let facility = facility::read(folder, sources, problems);
        assert_eq!(facility.is_none(), problems.has_errors(), "{}", folder.display());
    });
}

#[test]
fn each_mistake_in_a_file_of_stages_is_answered_so_too() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let quiet = Problems::new();
    let site = root.join("tests/trains_site");
    let mut of_site = Sources::new(&site);
    let tree = facility::tree(&site, &mut of_site, &quiet).unwrap();
    let facility = facility::from_tree(&tree, &site, &quiet).unwrap();
    let prices = of_site.text("prices.yaml", None, &quiet).and_then(|source| yaml::tree(&source, &quiet)).unwrap();
    let prices = prices::read(&prices, &quiet).unwrap();
    answered(&root.join("tests/mistakes/stages"), 10, |folder, sources, problems| {
        let source = sources.text("stages.yaml", None, problems).unwrap();
        let stages = yaml::tree(&source, problems).and_then(|tree| search::read(&tree, problems));
        let ground = Ground { tree: &tree, facility: &facility, rules: None, prices: &prices };
        let search = stages.and_then(|stages| Search::new(stages, ground, problems));
        assert!(search.is_none() && problems.has_errors(), "{}", folder.display());
    });
}

#[test]
fn each_mistake_in_what_a_pond_must_do_is_answered_so_too() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/mistakes/ponds");
    answered(&root, 9, |folder, sources, problems| {
        let source = sources.text("basin.yaml", None, problems).unwrap();
        let duties = yaml::tree(&source, problems).and_then(|tree| sizing::read(&tree, problems));
        assert!(duties.is_none() && problems.has_errors(), "{}", folder.display());
    });
}
