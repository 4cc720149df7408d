//! The starter files carry the trade's usual figures as visible lines, each marked as what it is: common practice, no source.

#![cfg(test)]

use std::path::Path;

fn template(name: &str) -> String {
    std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("templates").join(name)).unwrap()
}

/// The lines of one filter in `filters-to-copy.yaml`, its heading first.
fn block(name: &str) -> String {
    let text = template("filters-to-copy.yaml");
    let start = text.find(&format!("\n  {name}:")).expect(name);
    let rest = &text[start + 1..];
    let end = rest.find("\n\n").unwrap_or(rest.len());
    rest[..end].to_string()
}

/// Common practice of the trade, no source: the filter, and words that its lines must hold.
const FACTS: &[(&str, &[&str])] = &[
    ("Trash screen", &["300 um and coarser", "no power"]),
    (
        "Shaker screen",
        &[
            "opening: 300 um",
            "opening: 100 um",
            "100 or 50 um",
            "limit is 30 to 50 um",
            "no wash water",
            "drop to a bin",
        ],
    ),
    (
        "Pressure screen",
        &[
            "finer than 30 um are dear",
            "in line: 2",
            "one works while the other washes",
            "smaller canister washes sooner",
        ],
    ),
    ("Cloth roll", &["100 down to 7 um", "45 % to 60 %", "no wash water", "landfill"]),
    ("Drum", &["part of the time: always", "rinses continuously", "needs a place to go"]),
    (
        "Floor bags",
        &[
            "down to 5 um",
            "5 and 20 um swapped by stage of crop",
            "1 to 2 min",
            "closures 30",
            "housings: 2",
            "500 to 600 gpm through 5 um",
        ],
    ),
    ("Media bed", &["30 to 50 um at best", "no more than a day", "much wash water"]),
    (
        "Deep beds",
        &[
            "2 or 2.5 um",
            "finer than 70 um",
            "a day to several days",
            "more wash water",
            "diameter: 80 in",
            "80 in high",
        ],
    ),
    (
        "Glass beds",
        &["finer", "about a quarter less wash water, sellers say: try it", "wash flow: 0.75 times to 0.80 times"],
    ),
    ("Drip cartridge", &["20 down to 5 um", "no wash", "complete shutdown", "clogs fast in turbid water", "slime"]),
    (
        "Membrane",
        &[
            "bags or cartridges stand before it",
            "rejects all the time",
            "reject needs a place to go",
            // Pore sizes: University of Guelph, Controlled Environment Systems, Membrane filtration (seen).
            "microfiltration 1 to 0.1 um",
            "ultrafiltration 0.1 to 0.01 um",
            "reverse osmosis has no opening",
            "75 % to 85 %",
        ],
    ),
];

#[test]
fn every_kind_of_filter_has_its_usual_figures_to_copy() {
    for (name, words) in FACTS {
        let lines = block(name);
        for word in *words {
            assert!(lines.contains(word), "{name} lacks `{word}` in\n{lines}");
        }
    }
}

#[test]
fn the_stages_of_a_train_and_the_ponds_are_told() {
    for name in ["filters-to-copy.yaml", "facility.yaml"] {
        let text = template(name);
        for word in ["50 or 20 um", "10 um or less", "washes and clogs too often"] {
            assert!(text.contains(word), "{name} lacks `{word}`");
        }
    }
    assert!(template("facility.yaml").contains("drowning hazard"));
}

#[test]
fn a_typical_figure_never_stands_without_saying_that_it_has_no_source() {
    for name in ["facility.yaml", "filters-to-copy.yaml"] {
        for (at, line) in template(name).lines().enumerate() {
            let comment_only = line.starts_with('#');
            if !comment_only && line.contains("typical, change me") {
                assert!(line.contains("common practice, no source"), "{name}:{}: {line}", at + 1);
            }
        }
    }
}

#[test]
fn every_share_stopped_is_marked_typical() {
    for name in ["facility.yaml", "filters-to-copy.yaml"] {
        let text = template(name);
        let lines: Vec<&str> = text.lines().collect();
        for (at, line) in lines.iter().enumerate() {
            let shares = line.trim_start().starts_with("stops:") || line.contains("decks: [");
            if shares && !line.contains("typical, change me") {
                let next = lines.get(at + 1).copied().unwrap_or("");
                assert!(next.trim_start().starts_with("# typical, change me"), "{name}:{}: {line}", at + 1);
            }
        }
    }
}
