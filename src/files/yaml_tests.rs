//! What reaches us from a YAML file, and what is told of its traps.

use super::yaml::{Node, What, tree};
use super::{Fields, Source};
use crate::quantity::kind;
use crate::told::{Problem, Problems};

fn read(text: &str) -> (Option<Node>, Vec<Problem>) {
    let source = Source::new("facility.yaml", text);
    let problems = Problems::new();
    let node = tree(&source, &problems);
    (node, problems.in_order())
}

fn text_of(text: &str, key: &str) -> String {
    let (node, told) = read(text);
    assert!(told.is_empty(), "{text}: {told:?}");
    let Some(Node { what: What::Map(entries), .. }) = node else { panic!("{text} is a map") };
    match &entries.iter().find(|entry| entry.key == key).unwrap().value.what {
        What::Text(text) => text.clone(),
        other => panic!("{other:?}"),
    }
}

#[test]
fn scalars_that_yaml_would_change_arrive_as_typed() {
    for typed in [
        "no",
        "on",
        "yes",
        "22:00",
        "1_000",
        "017",
        "1.10",
        "1e3",
        "0x1F",
        "true",
        ".nan",
        "-.inf",
        "~",
        "null",
        "2024-05-03",
        "1/16 in/day",
        "7 am",
        "12345678901234567890123456789",
        "0o17",
        "\u{b5}m",
        "884 210",
        "16\u{2009}000 gal",
    ] {
        assert_eq!(text_of(&format!("a: {typed}   # remark\nb: x\n"), "a"), typed);
        assert_eq!(
            text_of(&format!("\u{feff}\u{b5}: x\r\na: {typed}\r\n"), "a"),
            typed,
            "behind a byte-order mark and Windows line ends"
        );
        assert_eq!(text_of(&format!("{{\u{b5}: x, a: {typed}}}\n"), "a"), typed, "inside braces");
    }
    assert_eq!(text_of("no: x\n", "no"), "x");
    assert_eq!(text_of("takes from: x\n", "takes from"), "x");
    assert_eq!(text_of("a: \"Pond #1\"\n", "a"), "Pond #1");
    assert_eq!(text_of("a: >5 %\n".replace('>', "\">").replace("%\n", "%\"\n").as_str(), "a"), ">5 %");
}

#[test]
fn a_place_points_at_the_value_behind_letters_of_many_bytes() {
    let (node, _) = read("\u{feff}\u{b5}\u{b5}: {x: \u{fc}\u{fc}, area: 9.5 acre}\r\n");
    let Some(Node { what: What::Map(entries), .. }) = node else { panic!("a map") };
    let What::Map(inner) = &entries[0].value.what else { panic!("a map") };
    let place = &inner[1].value.place;
    assert_eq!((place.line, place.column, place.length), (1, 19, 8));
}

#[test]
fn equal_keys_are_told_with_both_lines() {
    let (_, told) = read("a: 1\nb: 2\na: 3\n");
    assert_eq!(told.len(), 1);
    assert_eq!(told[0].message, "`a` is written twice, on lines 1 and 3");
    assert_eq!((told[0].place.line, told[0].related[0].0.line), (3, 1));
}

#[test]
fn each_trap_of_yaml_is_told_at_its_line() {
    for (text, line, part) in [
        ("x: 1\na: Pond #1\n", 2, "taken as a remark"),
        ("a: {most: 16,000 gal}\n", 1, "a comma inside { }"),
        ("a: [16,000 gal]\n", 1, "a comma inside [ ]"),
        ("x: 1\na: >5\nb: 2\n", 2, "begins with `>`"),
        ("x: 1\na: %5\n", 2, "begins with `%`"),
        ("x: 1\na: @x\n", 2, "begins with `@`"),
        ("x: 1\na: *x\n", 2, "begins with `*`"),
        ("x: 1\na: &x y\n", 2, "`&x` has a meaning of its own"),
        ("x: 1\na: !x y\n", 2, "`!x` has a meaning of its own"),
        ("x: 1\n\ta: 2\n", 2, "a tab"),
        ("x: 1\na: b: c\n", 2, "a second `:`"),
        ("x: 1\na: {b: 2\nc: 3\n", 2, "not closed"),
        ("x: 1\na: \"b\nc: 3\n", 2, "quote is not closed"),
        ("a: 1\n---\nb: 2\n", 3, "second document"),
        ("a: 1\n  b: 2\n", 2, "begins behind 2 spaces"),
        ("a:\n  b: 1\n   c: 2\n  d: 3\n", 3, "begins behind 3 spaces"),
        ("a:\n  b: 1\n c: 2\n  d: 3\n", 3, "begins behind 1 space"),
        ("a:\n   b: 1\n  c: 2\n  d: 3\n", 2, "begins behind 3 spaces"),
        ("a:\n  b: {x: 1,\n y: 2}\n  c: 2\n    d: 3\n", 5, "begins behind 4 spaces"),
        ("a: {from: Pond #1, up to: 8 ft}\nb: 2\n", 1, "closing bracket with it"),
        ("a: [Well, Pond #1]\nb: 2\n", 1, "closing bracket with it"),
    ] {
        let (_, told) = read(text);
        assert!(!told.is_empty(), "{text:?} is told");
        assert_eq!(told[0].place.line, line, "{text:?}: {}", told[0].message);
        assert!(told[0].message.contains(part), "{text:?}: {}", told[0].message);
    }
}

#[test]
fn lists_of_numbers_without_commas_inside_are_left_alone() {
    for text in ["a: [16, 000]\n", "a: [22:00, 5:00]\n", "a: [100 um, 200 um]\n", "a: {b: 16, c: 200}\n"] {
        assert!(read(text).1.is_empty(), "{text}");
    }
}

#[test]
fn files_made_to_harm_are_refused_without_harm() {
    let deep = format!("a: {}{}\n", "[".repeat(100_000), "]".repeat(100_000));
    let deep_lines = (0..200).map(|at| format!("{}a:\n", "  ".repeat(at))).collect::<String>();
    let bomb = "a: &a [x,x]\nb: &b [*a,*a]\nc: &c [*b,*b]\nd: [*c,*c]\n".to_string();
    let long_line = format!("a: {}\n", "x".repeat(20_000));
    let merge = "a: &a {b: 1}\nc:\n  <<: *a\n".to_string();
    for text in [
        deep,
        deep_lines,
        bomb,
        long_line,
        merge,
        "a: \0\n".into(),
        "\u{1b}[2J: 1\n".into(),
        "a: [".into(),
        "}{".into(),
        "? a\n".into(),
        "? [a]\n: b\n".into(),
    ] {
        let (_, told) = read(&text);
        assert!(!told.is_empty() || text.len() < 10, "{:?}", text.chars().take(40).collect::<String>());
    }
}

#[test]
fn a_wide_map_of_a_hundred_thousand_keys_is_read_in_reasonable_time() {
    let text: String = (0..100_000).map(|at| format!("key {at}: value\n")).collect();
    let begun = std::time::Instant::now();
    let source = Source::new("a.yaml", &text);
    let problems = Problems::new();
    let node = tree(&source, &problems).unwrap();
    let fields = Fields::of_file(&node, &problems).unwrap();
    fields.finish();
    assert_eq!(problems.len(), 51);
    assert!(begun.elapsed().as_secs() < 30);
}

#[test]
fn keys_are_read_in_any_case_and_nothing_is_left_unread() {
    let source = Source::new("a.yaml", "Goes  To: x\nareaa: 1 ft2\n");
    let problems = Problems::new();
    let node = tree(&source, &problems).unwrap();
    let mut fields = Fields::of_file(&node, &problems).unwrap();
    assert_eq!(fields.may("goes to").name().unwrap().value, "x");
    assert!(fields.must("area", "1 ft2").quantity::<kind::Area>().is_none());
    fields.finish();
    let told = problems.in_order();
    assert_eq!(told.len(), 1, "the misspelt key is told once, not as missing as well: {told:?}");
    assert_eq!(told[0].hint.as_deref(), Some("did you mean `area`?"));
}

#[test]
fn months_are_given_each_once_or_told() {
    let read = |text: &str| {
        let source = Source::new("a.yaml", text);
        let problems = Problems::new();
        let node = tree(&source, &problems).unwrap();
        let mut fields = Fields::of_file(&node, &problems).unwrap();
        let months = fields.may("t").by_month(|field| field.quantity::<kind::Temperature>());
        (
            months.map(|months| months.0.map(|given| given.text)),
            problems.in_order().into_iter().map(|problem| problem.message).collect::<Vec<_>>(),
        )
    };
    let (months, told) = read("t: {Nov to Feb: 42 F, rest: 60 F}\n");
    assert!(told.is_empty());
    let months = months.unwrap();
    assert_eq!((months[0].as_str(), months[5].as_str(), months[11].as_str()), ("42 F", "60 F", "42 F"));
    assert_eq!(read("t: 50 F\n").0.unwrap()[3], "50 F");
    assert_eq!(read("t: {Nov to Feb: 42 F, Jan: 1 F, rest: 3 F}\n").1, ["Jan is given twice"]);
    assert_eq!(read("t: {Nov to Sep: 42 F}\n").1, ["`t` says nothing of Oct"]);
    assert_eq!(read("t: {Jan to Dec: 42 F, rest: 3 F}\n").1, ["no month is left for `rest`"]);
}

/// Every line of a well-made file, moved one space in or out, is the line that is told, where the file is then no YAML.
#[test]
fn a_line_that_is_moved_is_the_line_that_is_told() {
    let text = "name: x\nponds:\n  North:\n    depth: 6 ft\n    start: {level: 5 ft}\n    spills to: Brook\n  South:\n    depth: 4 ft\n    spills to: Brook\npoints:\n  Brook: {kind: sewer}\n  Sewer: {kind: sewer}\n";
    let lines: Vec<&str> = text.lines().collect();
    let mut told_of = 0;
    for at in 1..lines.len() {
        for shift in [-1_i32, 1] {
            let mut moved: Vec<String> = lines.iter().map(|line| (*line).to_string()).collect();
            moved[at] = match shift {
                1 => format!(" {}", lines[at]),
                _ if lines[at].starts_with(' ') => lines[at][1..].to_string(),
                _ => continue,
            };
            let (node, told) = read(&(moved.join("\n") + "\n"));
            if node.is_none() {
                told_of += 1;
                assert_eq!(told[0].place.line as usize, at + 1, "{}\n{told:#?}", moved.join("\n"));
            }
        }
    }
    assert!(told_of >= 12, "{told_of}");
}
