//! Whatever is answered, the folder that is made passes `check`.

use std::path::Path;

use proptest::prelude::*;
use proptest::test_runner::RngSeed;

use super::answers::Answers;
use super::*;

fn written(answers: &Answers, folder: &Path) {
    let files = of_answers(answers);
    let files: Vec<(&str, &[u8])> = files.iter().map(|(name, text)| (name.as_str(), text.as_bytes())).collect();
    make_new_folder(folder, &files).unwrap();
}

/// What `check` says of a folder: every error and every warning.
fn told(folder: &Path) -> Vec<String> {
    let site = match load::read(folder, &load::Asked::default(), &|_, _, _| ()) {
        Ok(site) => site,
        Err(unread) => {
            return unread
                .problems
                .in_order()
                .iter()
                .map(|problem| format!("{}: {}", problem.place, problem.message))
                .collect();
        }
    };
    // The day step runs, and closes.
    assert!(load::run(&site).is_ok());
    let problems = site.problems.in_order();
    problems
        .iter()
        .filter(|problem| problem.severity != crate::told::Severity::Note)
        .map(|problem| format!("{}: {}", problem.place, problem.message))
        .collect()
}

fn read(text: &str) -> Answers {
    let problems = Problems::new();
    let answers = Answers::read(&Source::new("answers.yaml", text), &problems);
    answers.unwrap_or_else(|| panic!("{text}\n{:#?}", problems.in_order()))
}

fn names(of: &'static [&'static str]) -> impl Strategy<Value = Vec<String>> {
    prop::sample::subsequence(of, 0..=of.len()).prop_map(|names| names.into_iter().map(str::to_owned).collect())
}

fn pairs(names: &'static [&'static str], kinds: Vec<&'static str>) -> impl Strategy<Value = Vec<(String, String)>> {
    let of = prop::collection::vec(prop::sample::select(kinds), names.len());
    (prop::sample::subsequence(names, 0..=names.len()), of)
        .prop_map(|(names, kinds)| names.iter().zip(kinds).map(|(a, b)| ((*a).to_owned(), b.to_owned())).collect())
}

fn any_answers() -> impl Strategy<Value = Answers> {
    let area = || prop::option::of(prop::sample::select(vec!["5 acre", "2 ha", "not known", "300 ft2", "1 to 2 acre"]));
    let kinds: Vec<&str> = crate::facility::kinds::FilterKind::ALL.iter().map(|kind| kind.words).collect();
    let uses = vec!["overhead", "flood floor", "bench", "drip", "mist", "washdown"];
    (
        (any::<bool>(), area(), area()),
        names(&["Well", "Town main", "Creek #2", "yes"]),
        pairs(&["Pots: east", "Floor 1", "Yard"], uses),
        pairs(&["Shaker", "Beds, old", "Screens", "Fine"], kinds),
        (names(&["Sump", "Skip"]), names(&["North pond", "Pond #1", "South pond"])),
        (names(&["Outfall 001", "Outfall 002"]), prop::option::of(Just("Sewer".to_owned()))),
        any::<prop::sample::Index>(),
    )
        .prop_map(|((metric, yard, roofs), supplies, uses, filters, (tanks, ponds), (outfalls, sewer), at)| {
            let mut answers = Answers {
                name: "Test: nursery".into(),
                metric,
                day_starts: "07:00".into(),
                yard: yard.map(str::to_owned),
                roofs: roofs.map(str::to_owned),
                supplies,
                uses,
                filters,
                tanks,
                ponds,
                outfalls,
                sewer,
                meters: Vec::new(),
            };
            let filters = answers.filters.iter().map(|(name, _)| name);
            let things: Vec<String> = answers
                .supplies
                .iter()
                .chain(filters)
                .chain(&answers.outfalls)
                .chain(&answers.sewer)
                .cloned()
                .collect();
            if !things.is_empty() {
                let first = at.index(things.len());
                answers.meters =
                    things[first..].iter().enumerate().map(|(n, of)| (format!("M{n}"), of.clone())).collect();
            }
            answers
        })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, rng_seed: RngSeed::Fixed(40), ..ProptestConfig::default() })]

    #[test]
    fn whatever_is_answered_the_folder_passes_and_the_answers_can_be_given_again(answers in any_answers()) {
        let none = Answers::read(&Source::new("answers.yaml", &answers.to_yaml()), &Problems::new()).is_none();
        // Of nothing at all no site is made.
        let places = [&answers.supplies, &answers.tanks, &answers.ponds, &answers.outfalls].map(Vec::len).iter().sum::<usize>();
        let ground = answers.yard.is_some() || answers.roofs.is_some() || answers.sewer.is_some();
        let is_empty = !ground && places + answers.uses.len() + answers.filters.len() == 0;
        prop_assert_eq!(none, is_empty);
        prop_assume!(!is_empty);
        prop_assert_eq!(&read(&answers.to_yaml()), &answers);
        let parent = tempfile::tempdir().unwrap();
        let folder = parent.path().join("site");
        written(&answers, &folder);
        let mut told = told(&folder);
        // Where nothing brings water or nothing takes it, that a place stands alone is rightly told.
        let is_whole = !answers.supplies.is_empty() && !answers.uses.is_empty();
        let stands_alone = |line: &String| line.contains("nothing flows to") || line.contains("nothing draws from");
        told.retain(|line| is_whole || !stands_alone(line));
        let yaml = std::fs::read_to_string(folder.join("facility.yaml")).unwrap();
        prop_assert!(told.is_empty(), "{:#?}\n{}", told, yaml);
        // Nothing that was not answered is in it.
        for (absent, word) in [(answers.ponds.is_empty(), "ponds:"), (answers.tanks.is_empty(), "tanks:")] {
            prop_assert!(!absent || !yaml.contains(&format!("\n{word}")), "{}", yaml);
        }
    }
}

#[test]
fn replies_to_the_questions_are_the_answers_and_what_can_t_be_read_is_asked_again() {
    let mut asked = 0;
    let mut replies = [
        "Test",
        "metric",
        "five acres",
        "2 ha",
        "don't know",
        "Well, Town main",
        "flood floor, Sheds: washdown",
        "Shaker: vibrating screen",
        "none",
        "North pond",
        "Outfall 001",
        "",
        "M1: Well",
    ]
    .into_iter();
    let answers = ask::ask(&mut |_| {
        asked += 1;
        replies.next().map(str::to_owned)
    })
    .unwrap();
    assert_eq!(asked, 13, "twelve questions and one asked again");
    assert!(answers.metric);
    assert_eq!((answers.yard.as_deref(), answers.roofs.as_deref()), (Some("2 ha"), Some("not known")));
    assert_eq!(
        answers.uses,
        [("Flood floor".to_owned(), "flood floor".to_owned()), ("Sheds".to_owned(), "washdown".to_owned())]
    );
    assert_eq!((answers.tanks.len(), answers.sewer.as_deref()), (0, None));
    let parent = tempfile::tempdir().unwrap();
    written(&answers, &parent.path().join("a"));
    assert_eq!(told(&parent.path().join("a")), [0; 0].map(|_: i32| String::new()));
    // Whoever stops writes nothing.
    assert!(ask::ask(&mut |_| None).is_none());
}

#[test]
fn the_answers_of_the_starter_make_a_site_that_passes() {
    let parent = tempfile::tempdir().unwrap();
    let folder = parent.path().join("site");
    let text = STARTERS.iter().find(|(name, _)| *name == "answers.yaml").unwrap().1;
    written(&read(text), &folder);
    assert_eq!(told(&folder), [0; 0].map(|_: i32| String::new()));
}

#[test]
fn a_name_that_is_given_twice_or_metered_and_not_there_is_told_at_its_line() {
    for (text, part) in [
        ("ponds: [Pond, pond]\n", "named twice"),
        ("supplies: Well\nmeters: {M1: Wel}\n", "there is no `Wel`"),
        ("uses: {Floor: flod floor}\n", "flod floor"),
    ] {
        let problems = Problems::new();
        assert!(Answers::read(&Source::new("answers.yaml", text), &problems).is_none());
        assert!(problems.in_order()[0].message.contains(part), "{:#?}", problems.in_order());
    }
}

/// A meter without one of them is refused: whoever adds one reads it first.
#[test]
fn a_starter_says_what_a_meter_must_have() {
    const MUST: &str = "# `from`, `to`, `counts in` and `digits` (how many the dial has) must all be there.\n";
    let folder = tempfile::tempdir().unwrap();
    written(&read(include_str!("../../../templates/answers.yaml")), folder.path());
    let made = std::fs::read_to_string(folder.path().join("facility.yaml")).unwrap();
    for text in [made.as_str(), include_str!("../../../templates/facility.yaml")] {
        let comment = text.find(MUST).expect(text);
        assert!(comment < text.find("\nmeters:\n").unwrap(), "{text}");
    }
}

#[test]
fn every_file_of_the_templates_folder_is_a_starter() {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("templates");
    let mut found: Vec<String> = Vec::new();
    for folder in ["", "proposals", "records"] {
        for entry in std::fs::read_dir(root.join(folder)).unwrap().flatten() {
            if entry.path().is_file() {
                let name = entry.file_name().to_string_lossy().into_owned();
                found.push(if folder.is_empty() { name } else { format!("{folder}/{name}") });
            }
        }
    }
    found.push("empty-rules.yaml".to_string());
    found.sort();
    let mut listed: Vec<&str> = STARTERS.iter().map(|(name, _)| *name).collect();
    listed.sort_unstable();
    assert_eq!(found, listed);
}

#[test]
fn a_starter_that_names_a_schema_names_one_that_is_written_beside_it() {
    let written: Vec<String> = schemas().into_iter().map(|(name, _)| name).collect();
    let mut named: Vec<String> = Vec::new();
    for (name, text) in STARTERS {
        let Some(path) = text.lines().next().and_then(|line| line.strip_prefix("# yaml-language-server: $schema="))
        else {
            continue;
        };
        let depth = name.matches('/').count();
        let path = path.strip_prefix(&"../".repeat(depth)).unwrap_or_else(|| panic!("{name}: {path}"));
        assert!(written.iter().any(|written| written == path), "{name}: {path}");
        named.push(path.to_owned());
    }
    named.sort_unstable();
    named.dedup();
    assert_eq!(named.len(), written.len(), "each schema is named by a starter: {named:?}");
}
