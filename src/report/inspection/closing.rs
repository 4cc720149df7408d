//! The closing chapters: facility findings, assumptions, worklist, methods, files, glossary, cautions, space to sign.

use crate::facility::model::{Evaporation, PlaceKind, PondShape, RunoffRule, StationEquation};
use crate::files::FileRead;
use crate::page::document::{Cell, Column, Document, Table, Text, figures};
use crate::page::terminal;
use crate::report::inspection::about::{Case, day, trace};
use crate::report::inspection::places::together;
use crate::report::inspection::water_year::rain_is_not_known;
use crate::report::{cautions, glossary};
use crate::rules::{FindingKind, Outcome};
use crate::science;
use crate::told::path_in_words;

/// What the computation found about the facility itself.
pub fn facility(case: &Case, doc: &mut Document) {
    let rows: Vec<_> = case.findings.iter().filter(|finding| finding.kind == FindingKind::Facility).collect();
    if rows.is_empty() {
        return;
    }
    doc.heading(2, "Findings about the facility");
    if rain_is_not_known(case) {
        doc.paragraph("Left out: they are computed, and no rain is on file for this period.");
        return;
    }
    doc.paragraph("Not limits of the permit: things in the files or the computation that an engineer would ask about.");
    let mut table = Table::new(vec![Column::words("Place"), Column::words("What was found")]);
    for finding in rows {
        let mut words = finding.sentences.join(" ");
        if !finding.how_many.is_empty() {
            words.push_str(&format!(" ({})", finding.how_many));
        }
        table.traced(
            vec![Cell::words(finding.at.clone()), Cell::words(words)],
            finding.place.as_ref().map(trace).unwrap_or_default(),
        );
    }
    doc.table(table);
}

/// Every assumed value.
pub fn assumptions(case: &Case, doc: &mut Document) {
    doc.heading(2, "Assumptions");
    if case.assumptions.is_empty() {
        doc.paragraph("Nothing was assumed beyond what the files say.");
        return;
    }
    doc.paragraph(
        "Values taken without a record. A range is one draw for the whole run; the single run uses its middle. Whoever \
         signs this report stands for them.",
    );
    let mut table =
        Table::new(vec![Column::words("No."), Column::words("What"), Column::words("Value"), Column::words("Source")])
            .caption("Assumptions")
            .wide();
    for (i, assumption) in case.assumptions.iter().enumerate() {
        table.traced(
            vec![
                Cell::words(format!("{}", i + 1)),
                Cell::words(path_in_words(&assumption.what)),
                Cell::words(grouped(&assumption.value)),
                Cell::words(assumption.source.clone()),
            ],
            assumption.place.clone(),
        );
    }
    doc.table(table);
}

/// A value as typed, its thousands as the report sets them.
fn grouped(value: &str) -> String {
    value
        .split(' ')
        .map(|word| match word.parse::<u64>() {
            Ok(number) if number >= 1000 && !word.starts_with('0') => figures::number(number as f64, 0),
            _ => word.to_owned(),
        })
        .collect::<Vec<_>>()
        .join(" ")
}

/// Most lines of what to find out first.
const MOST_TO_FIND_OUT: usize = 14;
/// Most typed values in a report without records; the annex has them all.
const MOST_TYPED: usize = 40;

/// What to find out first, where nothing is on file: the most useful first.
pub fn worklist(case: &Case, doc: &mut Document) {
    doc.heading(2, "What to find out first");
    doc.paragraph(
        "Nothing is on file for this period: every figure is computed from what was typed, and none was ever checked \
         against this site. The most useful first:",
    );
    // What one record would settle for several stands once.
    let groups = together(case.worklist.iter().map(|(what, effect)| (path_in_words(what), effect.clone())));
    let rain = rain_is_not_known(case).then(|| {
        let words =
            "What a gauge showed on each day, at the site or near it: runoff, ponds and discharges wait for it.";
        ("Rain".to_owned(), Text::from(words))
    });
    let lines = groups.iter().take(MOST_TO_FIND_OUT).map(|(effect, what)| (what.join("; "), Text::from(effect)));
    doc.definitions(rain.into_iter().chain(lines));
    if groups.len() > MOST_TO_FIND_OUT {
        doc.paragraph(format!("And {} more, which “bywash check” lists.", groups.len() - MOST_TO_FIND_OUT));
    }
}

/// What was typed, in place of what would be on file.
pub fn what_was_typed(case: &Case, doc: &mut Document) {
    doc.heading(2, "What was typed");
    let mut table = Table::new(vec![Column::words("What"), Column::words("Value")]);
    for assumption in case.assumptions.iter().take(MOST_TYPED) {
        let cells = vec![Cell::words(path_in_words(&assumption.what)), Cell::words(grouped(&assumption.value))];
        table.traced(cells, assumption.place.clone());
    }
    if case.assumptions.len() > MOST_TYPED {
        table.note(format!("{} more stand in the annex.", case.assumptions.len() - MOST_TYPED));
    }
    doc.table(table);
}

/// The assumptions that an outcome turns on, and how many others the annex lists; the fingerprint of what was read.
pub fn what_was_assumed(case: &Case, doc: &mut Document) {
    doc.heading(2, "What was assumed, and what was read");
    let moves: Vec<&(String, String)> = case
        .worklist
        .iter()
        .filter(|(what, _)| case.assumptions.iter().any(|assumption| assumption.what == *what))
        .collect();
    let count = case.assumptions.len();
    let whose = format!(
        "The annex lists {count} values that were taken without a record, each with its line in the files. Whoever signs stands \
         for them."
    );
    if moves.is_empty() {
        doc.paragraph(format!("{} {whose}", what_turns(case)));
    } else {
        let of = if moves.len() == 1 { "this value" } else { "each of these values" };
        doc.paragraph(format!("What {of} could change stands beside it. {whose}"));
        // Values of which the same is said stand together.
        let mut by_effect: Vec<(&str, Vec<&str>)> = Vec::new();
        for (what, effect) in moves {
            match by_effect.iter_mut().find(|(other, _)| other == effect) {
                Some((_, all)) => all.push(what),
                None => by_effect.push((effect, vec![what])),
            }
        }
        doc.definitions(by_effect.into_iter().map(|(effect, all)| match all.as_slice() {
            [what] => (path_in_words(what), Text::from(effect)),
            many => {
                let words: Vec<String> = many.iter().map(|what| path_in_words(what)).collect();
                (format!("{} values", many.len()), Text::from(format!("{effect} They are {}.", words.join("; "))))
            }
        }));
    }
    let methods = methods_used(case);
    doc.paragraph(format!(
        "{} files were read; the computed figures rest on {} methods. The annex lists them all, with their sources.",
        case.files.len(),
        methods.len(),
    ));
    // By itself: a fingerprint is not parted between two sheets.
    doc.paragraph(format!(
        "Fingerprint of the files (SHA-256): {}. Program: bywash {}.",
        split_digest(case.digest),
        env!("CARGO_PKG_VERSION")
    ));
}

/// Methods and their sources: those that this report's figures rest on.
pub fn methods(case: &Case, doc: &mut Document) {
    doc.heading(2, "Methods and sources");
    doc.paragraph(
        "The methods behind this report's computed figures: each with its equation, the range it is good for, what happens \
         outside it, and where it comes from. “Seen where it is cited” and “from memory” mean that the source's own \
         text was not at hand when the method was written down.",
    );
    doc.heading(3, "The ledger");
    doc.paragraph(
        "Each day, for every place: in − out = change of what it holds, for water and for each size class of each kind of \
         solids. Demands are met in order of turn from what stores held at the day's opening; washes are whole events, \
         counted from what a filter holds, and what is left is carried to the next day; a pond's water moves through its \
         cells in series while solids settle at their own velocity over its surface (stirred cells, solved exactly for the \
         day). A record replaces a computed figure; the difference is unaccounted.",
    );
    let simple = simple_rules(case);
    if !simple.is_empty() {
        doc.list(simple.into_iter().map(Text::from).collect());
    }
    for method in methods_used(case) {
        method_record(method, doc);
    }
}

/// What is reckoned without an equation of its own.
fn simple_rules(case: &Case) -> Vec<String> {
    let mut rules = Vec::new();
    if case.facility.places.iter().any(|place| matches!(place.kind, PlaceKind::Use(_))) {
        rules.push(
            "Taken up by crops and dried off beds: what reaches a use, less the share of it that comes back as typed."
                .to_owned(),
        );
    }
    if matches!(case.facility.weather.evaporation, Some(Evaporation::Months(_))) {
        rules.push(
            "Evaporated from ponds: the depth a day typed for the month, on the water's own surface of that day."
                .to_owned(),
        );
    }
    if case.draws > 0 {
        rules.push(format!(
            "Draws: the same period computed {} times more; in each, every value typed as a range is one figure drawn evenly \
             from it, the same draws on every run. A share of draws is how many of them came out so.",
            case.draws
        ));
    }
    rules
}

/// One method's record.
pub fn method_record(method: &science::Method, doc: &mut Document) {
    doc.heading(3, method.name);
    doc.traced(method.equation, method.id);
    let symbols: Vec<String> =
        method.symbols.iter().map(|(symbol, meaning, unit)| format!("{symbol} {meaning}, {unit}")).collect();
    doc.paragraph(format!("{}.", symbols.join("; ")));
    doc.paragraph(format!(
        "Valid: {}. Outside: {}. Source ({}): {}.",
        method.valid_range.trim_end_matches('.'),
        method.outside.trim_end_matches('.'),
        method.standing.words(),
        method.source.trim_end_matches('.')
    ));
}

/// The method records behind the figures of a case, in the order of the list.
fn methods_used(case: &Case) -> Vec<&'static science::Method> {
    let mut ids: Vec<&str> = Vec::new();
    if !case.facility.solids.is_empty() {
        ids.extend([
            "water-density",
            "water-viscosity",
            "size-spread-lognormal",
            "size-class-split",
            "settling-velocity",
            "settling-ferguson-church",
        ]);
    }
    for place in &case.facility.places {
        match &place.kind {
            PlaceKind::Catchment(catchment) => {
                for part in &catchment.parts {
                    match part.runoff {
                        RunoffRule::Share { .. } => ids.push("runoff-coefficient"),
                        RunoffRule::CurveNumber(_) => {
                            ids.extend(["runoff-curve-number", "runoff-curve-number-composite"]);
                        }
                    }
                }
            }
            PlaceKind::Filter(filter) => {
                ids.push("capture-by-size");
                if filter.wash.is_some() {
                    ids.push("backwash-volume");
                }
                if filter.kind.reject().is_some() {
                    ids.push("membrane-recovery");
                }
                if filter.kind.media_bed().is_some() {
                    ids.push("fluidisation-wen-yu");
                }
            }
            PlaceKind::Pond(pond) => {
                ids.push(match pond.shape {
                    PondShape::Prismoid { .. } => "pond-prismoid",
                    PondShape::Table { .. } => "pond-level-area-table",
                });
                ids.extend(["pond-area-by-volume", "settling-tanks-in-series"]);
                if pond.sludge.is_some() {
                    ids.push("sludge-volume");
                }
            }
            _ => {}
        }
    }
    match case.facility.weather.evaporation {
        Some(Evaporation::Pan { .. }) => ids.push("pan-evaporation"),
        Some(Evaporation::FromTemperatures { .. }) => ids.extend([
            "extraterrestrial-radiation",
            "reference-evapotranspiration-hargreaves",
            "open-water-coefficient",
        ]),
        Some(Evaporation::FromStation { by, .. }) => ids.extend(match by {
            StationEquation::PenmanOpenWater => ["open-water-penman", "net-radiation"],
            StationEquation::PenmanMonteith => {
                ["reference-evapotranspiration-penman-monteith", "open-water-coefficient"]
            }
        }),
        Some(Evaporation::Months(_)) | None => {}
    }
    let spoken: Vec<String> = case
        .findings
        .iter()
        .flat_map(|finding| finding.sentences.iter().chain(finding.missing.iter().map(|m| &m.sentence)))
        .map(|sentence| sentence.to_lowercase())
        .collect();
    if spoken.iter().any(|sentence| sentence.contains("24 h") || sentence.contains("storm")) {
        ids.push("storm-in-sliding-window");
    }
    // What was worked out by hand beside the ledger, as its sentence names it.
    for (word, by) in BY_HAND {
        if spoken.iter().any(|sentence| sentence.contains(word)) {
            ids.extend(*by);
        }
    }
    science::all().into_iter().filter(|method| ids.contains(&method.id)).collect()
}

/// Names that sentences worked out by hand give, with the methods behind them.
const BY_HAND: &[(&str, &[&str])] = &[
    (
        "brune",
        &[
            "overflow-rate",
            "settling-ideal-basin",
            "settling-tanks-in-series",
            "settling-exponential",
            "settling-quiescent",
            "detention-time",
            "trap-efficiency-brune-gill",
            "trap-efficiency-brune-dendy",
            "trap-efficiency-heinemann",
        ],
    ),
    ("water moves at", &["horizontal-velocity", "scour-velocity"]),
    ("ergun", &["bed-head-loss-ergun", "bed-head-loss-carman", "bed-head-loss-kozeny-carman"]),
    ("wen and yu", &["fluidisation-wen-yu"]),
    ("richardson and zaki", &["expansion-index-richardson-zaki", "expansion-richardson-zaki"]),
];

/// The files read, with their fingerprints.
pub fn files(case: &Case, doc: &mut Document) {
    files_table(case.files, case.digest, doc);
}

/// Files with their fingerprints, and the digest of them all.
pub fn files_table(files: &[FileRead], digest: &str, doc: &mut Document) {
    doc.heading(2, "Files read and their fingerprints");
    doc.paragraph(
        "A fingerprint (SHA-256) changes when a single letter of the file changes. The same files and the same program give \
         the same report, byte for byte.",
    );
    let mut table = Table::new(vec![Column::words("File"), Column::figures("Bytes", ""), Column::words("SHA-256")])
        .caption("Files read")
        .wide();
    for file in files {
        table.row(vec![
            Cell::words(file.name.as_ref()),
            Cell::number(file.bytes as f64, 0),
            Cell::words(split_digest(&file.sha256)),
        ]);
    }
    table.note(format!(
        "All of them together: {}. Program: bywash {}.",
        split_digest(digest),
        env!("CARGO_PKG_VERSION")
    ));
    doc.table(table);
}

fn split_digest(digest: &str) -> String {
    let mut words = String::new();
    for (i, c) in digest.chars().enumerate() {
        if i > 0 && i % 16 == 0 {
            words.push(' ');
        }
        words.push(c);
    }
    words
}

/// Whether outcomes turn on values without a record, where no single one of them is known to decide.
fn what_turns(case: &Case) -> &'static str {
    let came_out = |wanted: &[Outcome]| case.findings.iter().any(|finding| wanted.contains(&finding.outcome));
    if !came_out(&[Outcome::PredictedWithin, Outcome::PredictedOutside, Outcome::Undecided]) {
        "No outcome turns on a value that was taken without a record."
    } else if case.draws > 0 && !came_out(&[Outcome::Undecided]) {
        "Predicted outcomes rest on values that were taken without a record; they came out alike in every draw from the \
         ranges typed."
    } else {
        "Predicted and undecided outcomes rest on values that were taken without a record."
    }
}

/// Words of the trade that this report uses.
pub fn glossary(_case: &Case, doc: &mut Document) {
    let said = terminal::render_blocks(doc, &doc.blocks).to_lowercase();
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
    let used: Vec<(String, Text)> = glossary::TERMS
        .iter()
        .filter(|(term, _)| stands_in(&said, term))
        .map(|(term, meaning)| ((*term).to_owned(), Text::from(format!("{meaning}."))))
        .collect();
    if !used.is_empty() {
        doc.heading(2, "Words used");
        doc.margin(used);
    }
}

/// Whether a term stands among words by itself, once or as several: `draws`, and not `drawing`.
fn stands_in(said: &str, term: &str) -> bool {
    let ends = |c: Option<char>| !c.is_some_and(char::is_alphanumeric);
    said.match_indices(term).any(|(at, _)| {
        let before = said.get(..at).and_then(|words| words.chars().next_back());
        let after = said.get(at + term.len()..).unwrap_or_default();
        ends(before) && ends(after.strip_prefix('s').unwrap_or(after).chars().next())
    })
}

/// What concerns whoever handles the site, a sentence each; the annex has them in full.
pub fn cautions_in_short(case: &Case, doc: &mut Document) {
    let dangers: Vec<String> = cautions::DANGERS
        .iter()
        .filter(|danger| cautions::concerns(danger, cautions::Has::of(case.facility)))
        .filter_map(|danger| danger.text.first().map(|text| (danger.head, text)))
        .map(|(head, text)| format!("{head}: {}", first_sentence(text)))
        .collect();
    let mut text = vec![Text::from(dangers.join(" "))];
    text.push(Text::from(
        "This record is an estimate from the holder's own files. It is not a monitoring report, engineering design, legal \
         advice or a permit decision; the authority's reading, approved methods and forms, local codes, and licensed \
         practice where the law asks for it, prevail. A computed figure never shows that a limit was met, and missing data \
         never do.",
    ));
    if case.draws > 0 {
        text.push(draws(case));
    }
    doc.caution("Before anybody works on the site, and before anybody relies on this record", text);
}

fn first_sentence(text: &str) -> String {
    text.split_inclusive(". ").next().unwrap_or(text).trim_end().to_owned()
}

fn draws(case: &Case) -> Text {
    let came_out = |wanted: Outcome| case.findings.iter().any(|finding| finding.outcome == wanted);
    // The words that stand in this report, and no others.
    let meanings: Vec<&str> = [
        (Outcome::PredictedOutside, "“predicted outside” means that all of them were outside"),
        (Outcome::Undecided, "“undecided” means that some were outside and some within"),
        (Outcome::PredictedWithin, "“predicted within” means that all of them were within"),
    ]
    .into_iter()
    .filter(|(outcome, _)| came_out(*outcome))
    .map(|(_, meaning)| meaning)
    .collect();
    let meanings = if meanings.is_empty() { String::new() } else { format!("; {}", meanings.join("; ")) };
    Text::from(format!(
        "Predicted outcomes of the ledger rest on {} draws from the ranges typed{meanings}.",
        figures::number(case.draws as f64, 0)
    ))
}

/// The cautions in full.
pub fn cautions(case: &Case, doc: &mut Document) {
    doc.heading(2, "Cautions");
    let mut text: Vec<Text> = cautions::STANDING.text.iter().map(|t| Text::from(*t)).collect();
    if case.draws > 0 {
        text.push(draws(case));
    }
    doc.caution(cautions::STANDING.head, text);
    for danger in cautions::DANGERS {
        doc.caution(danger.head, danger.text.iter().map(|t| Text::from(*t)).collect());
    }
}

/// Space to sign; never signed in advance.
pub fn signature(case: &Case, doc: &mut Document) {
    doc.heading(2, "Signatures");
    doc.paragraph(format!(
        "Left blank by the program. The official certification text is the authority's own; it is not repeated here. Figures as of {}.",
        day(case.as_of)
    ));
    doc.signature(vec![
        "Prepared by, and date".to_owned(),
        "Checked against the papers by, and date".to_owned(),
        "Signed for the permit holder, and date".to_owned(),
    ]);
}

#[cfg(test)]
mod tests {
    use super::stands_in;

    #[test]
    fn a_term_is_explained_where_it_stands_as_a_word() {
        assert!(stands_in("200 draws of it", "draw") && stands_in("a spill.", "spill"));
        assert!(!stands_in("the drawing withdrawn", "draw") && !stands_in("a lifespan", "span"));
    }
}
