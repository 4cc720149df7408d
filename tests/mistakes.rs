//! One broken facility file for each mistake a grower would make, with the words the program answers with.
//!
//! Each folder of `tests/mistakes` holds a `facility.yaml` and the `expected.txt` it is answered with. The texts are
//! read by a person when they change; `BYWASH_WRITE_EXPECTED=1 cargo test --test mistakes` writes them anew.

#![cfg(test)]

use std::path::Path;

use bywash::facility;
use bywash::files::Sources;
use bywash::told::{Problems, WIDTH, print};

#[test]
fn each_mistake_is_answered_with_its_line_a_sentence_and_what_to_do() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/mistakes");
    let mut folders: Vec<_> = std::fs::read_dir(&root).unwrap().map(|entry| entry.unwrap().path()).collect();
    folders.sort();
    assert!(folders.len() >= 30, "the mistakes are there");
    let mut wrong = Vec::new();
    for folder in folders {
        let mut sources = Sources::new(&folder);
        let mut problems = Problems::new();
        let facility = facility::read(&folder, &mut sources, &mut problems);
        let told = print(&problems, &sources, false);
        assert_eq!(facility.is_none(), problems.has_errors(), "{}", folder.display());
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
