//! The demonstration facility and the starter files are read without a problem, and the demonstration's story comes out.

use std::path::{Path, PathBuf};

use bywash::diagnostic::Problems;
use bywash::files::{Sources, yaml};

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn told(problems: &Problems) -> String {
    problems
        .in_order()
        .iter()
        .map(|problem| format!("{}\n", problem.to_string_line()))
        .collect()
}

fn is_yaml(folder: &Path, name: &str) {
    let problems = Problems::new();
    let mut sources = Sources::new(folder);
    let source = sources.text(name, None, &problems).expect(name);
    let tree = yaml::tree(&source, &problems);
    assert!(tree.is_some(), "{name}: {}", told(&problems));
    assert_eq!(told(&problems), "", "{name}");
}

#[test]
fn every_yaml_file_we_hand_out_is_one_that_our_reader_takes() {
    for name in [
        "facility.yaml",
        "prices.yaml",
        "letterhead.yaml",
        "proposals/tuned.yaml",
        "proposals/bags.yaml",
        "proposals/moving-media.yaml",
    ] {
        is_yaml(&root().join("demo-facility"), name);
    }
    is_yaml(&root().join("rules"), "sallowfen.yaml");
    for name in [
        "facility.yaml",
        "filters-to-copy.yaml",
        "letterhead.yaml",
        "rules.yaml",
    ] {
        is_yaml(&root().join("templates"), name);
    }
}
