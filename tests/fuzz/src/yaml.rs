//! Any text as each of the files that a user writes in YAML. Of the first byte the low bits say which file; the rest is the text.

use std::path::Path;

use bywash::cli::new;
use bywash::compare::{Alternative, prices, proposal};
use bywash::facility::{self, model::Facility};
use bywash::files::yaml::Node;
use bywash::files::{Source, yaml as read_yaml};
use bywash::told::{Problems, print};
use bywash::{rules, sizing};

/// What other files are held against: the demonstration.
struct Demonstration {
    tree: Node,
    facility: Facility,
    rules: Node,
}

fn demonstration() -> &'static Demonstration {
    thread_local! {
        // Kept for good: a run reads it once.
        static HELD: &'static Demonstration = Box::leak(Box::new(made()));
    }
    HELD.with(|held| *held)
}

fn made() -> Demonstration {
    let problems = Problems::new();
    let tree_of = |name: &str| read_yaml::tree(&Source::new(name, &super::kept(name)), &problems).expect("it is read");
    let tree = tree_of("demo-facility/facility.yaml");
    let facility = facility::from_tree(&tree, Path::new("."), &problems).expect("it is read");
    Demonstration { tree, facility, rules: tree_of("rules/sallowfen.yaml") }
}

/// Reads a text as the file that the low three bits of `choice` say, and tells what was read as words.
fn read(choice: u8, source: &Source, problems: &Problems) -> Option<Vec<String>> {
    if choice & 7 == 5 {
        new::tell(source, problems);
        return (!problems.has_errors()).then(Vec::new);
    }
    let tree = read_yaml::tree(source, problems)?;
    match choice & 7 {
        0 | 6 => {
            let facility = facility::from_tree(&tree, Path::new("."), problems)?;
            facility::Graph::of(&facility);
            Some(facility::sentences(&facility).into_iter().map(|(_, sentence)| sentence).collect())
        }
        1 | 7 => {
            let rules = rules::from_tree(&tree, &demonstration().facility, problems)?;
            Some(rules::sentences(&rules).into_iter().map(|(_, sentence)| sentence).collect())
        }
        2 => {
            prices::read(&tree, problems).map(|prices| prices.prices.iter().map(|price| format!("{price:?}")).collect())
        }
        3 => {
            let proposal = proposal::read(&tree, problems)?;
            let of = demonstration();
            let option = Alternative::proposed(&of.tree, &of.facility, &proposal, Some(&of.rules), problems)?;
            Some(facility::sentences(&option.facility).into_iter().map(|(_, sentence)| sentence).collect())
        }
        _ => sizing::read(&tree, problems).map(|_| Vec::new()),
    }
}

/// Reads a text as one of the files.
pub fn yaml(bytes: &[u8]) -> bool {
    let Some((choice, rest)) = super::chosen(bytes) else {
        return false;
    };
    let text = String::from_utf8_lossy(rest);
    let source = Source::new("file.yaml", &text);
    let problems = Problems::new();
    let words = read(choice, &source, &problems);
    // What was not read has a reason. A file with an error is no file, but for rules and duties, whose readers give what
    // they could make of it to find more that is wrong.
    if words.is_none() {
        assert!(problems.has_errors(), "nothing was read, and nothing is told");
    }
    if matches!(choice & 7, 0 | 6) {
        assert_eq!(words.is_none(), problems.has_errors());
    }
    if choice & 0x80 != 0 {
        super::fits(&print(&problems, &super::One(&source), false));
    }
    assert!(problems.in_order().iter().all(|problem| !problem.message.contains("no reason was found")));
    // Line ends of another kind and a mark of the byte order say nothing.
    if choice & 0x40 != 0 && !text.contains('\r') {
        let other = Source::new("file.yaml", &format!("\u{feff}{}", text.replace('\n', "\r\n")));
        let again = Problems::new();
        assert_eq!(read(choice, &other, &again), words);
        let lines = |problems: &Problems| -> Vec<String> {
            problems.in_order().iter().map(|problem| problem.to_string_line()).collect()
        };
        assert_eq!(lines(&again), lines(&problems));
    }
    words.is_some() && !problems.has_errors()
}
