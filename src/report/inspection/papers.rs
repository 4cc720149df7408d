//! Page 2: the papers to have on the table, in an inspector's order.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use crate::facility::model::{DischargeKind, PlaceKind};
use crate::page::document::{Cell, Column, Document, Table, Text};
use crate::records::{Observation, Timeline};
use crate::report::inspection::about::{Case, day};
use crate::rules::WindowFinding;

/// What a paper is about, in the order an inspector asks.
const ORDER: [(&str, &[&str]); 9] = [
    ("Discharge looked at", &["look"]),
    (METERS, &["reading", "amount"]),
    ("Laboratory slips", &["sample"]),
    ("Calls, letters and reports", &["call", "letter", "report sent"]),
    (CALIBRATIONS, &["calibration"]),
    (WASHES, &["washes", "wash minutes", "changed"]),
    (PONDS, &["level", "freeboard", "sludge depth", "holding", "clean-out"]),
    (RAIN, &["rain"]),
    (WASTE, &["hauled"]),
];

const METERS: &str = "Meters read";
const CALIBRATIONS: &str = "Calibrations";
const PONDS: &str = "Pond marks and sludge";
const WASTE: &str = "Waste tickets";
const RAIN: &str = "Rain gauge";

const WASHES: &str = "Filter washes and changes";

/// Whether a site can have such papers: one without meters has none to read and none to calibrate.
fn may_have(case: &Case, name: &str) -> bool {
    let any = |wanted: fn(&PlaceKind) -> bool| case.facility.places.iter().any(|place| wanted(&place.kind));
    match name {
        METERS | CALIBRATIONS => !case.facility.meters.is_empty(),
        WASHES => any(|kind| matches!(kind, PlaceKind::Filter(_))),
        PONDS => any(|kind| matches!(kind, PlaceKind::Pond(_))),
        WASTE => {
            any(|kind| matches!(kind, PlaceKind::DischargePoint(point) if point.kind == DischargeKind::HauledAway))
        }
        _ => true,
    }
}

/// Whether a meter that follows a filter was read: a counter of washes, or of their water.
fn wash_meter(case: &Case) -> bool {
    case.timeline.meter_spans.iter().filter_map(|span| case.facility.meters.get(span.meter)).any(|meter| {
        let of_a_filter = matches!(case.facility.get(meter.from).map(|place| &place.kind), Some(PlaceKind::Filter(_)));
        let washes = |what: &str| ["wash water", "rinse water"].contains(&what.trim().to_lowercase().as_str());
        of_a_filter && meter.what.as_deref().is_some_and(washes)
    })
}

struct Pile {
    first: NaiveDate,
    last: NaiveDate,
    count: usize,
    files: Vec<String>,
    /// The papers in it.
    papers: Vec<String>,
}

/// Most papers behind one window for each of them to be asked for by itself.
const FEW_PAPERS: usize = 3;

/// The papers behind what is not met: an inspector asks for them first.
fn of_what_is_not_met<'a>(case: &Case<'a>) -> Vec<&'a str> {
    let windows = case.findings.iter().flat_map(|finding| &finding.windows);
    let of = |window: &'a WindowFinding| -> Vec<&'a str> {
        let mut papers: Vec<&str> = window.evidence.iter().filter_map(|one| one.paper.as_deref()).collect();
        papers.sort_unstable();
        papers.dedup();
        papers
    };
    // A year of readings is no one paper to lay on the table.
    let few = windows.filter(|window| window.outcome.is_exceeded()).map(of).filter(|papers| papers.len() <= FEW_PAPERS);
    few.flatten().collect()
}

/// Which lines of many stand in the list: those that are asked for first, and of the others the first ones up to `most`.
fn kept(lines: Vec<(String, Pile)>, most: usize, first: &[&str]) -> Vec<(String, Pile)> {
    let is_first = |pile: &Pile| pile.papers.iter().any(|paper| first.contains(&paper.as_str()));
    let mut room = most.saturating_sub(lines.iter().filter(|(_, pile)| is_first(pile)).count());
    let mut keep = |(_, pile): &(String, Pile)| {
        let stands = is_first(pile) || room > 0;
        room -= usize::from(stands && !is_first(pile));
        stands
    };
    lines.into_iter().filter(|line| keep(line)).collect()
}

/// Writes page 2.
pub fn write(case: &Case, doc: &mut Document) {
    doc.heading(2, "Papers to have on the table");
    doc.paragraph(
        "In the order an inspector usually asks. A line in a file is a copy: the paper itself is the record. An inspector \
         will pick one reported figure and ask to follow it back to the paper.",
    );
    let mut first = vec![
        Text::from(match case.permit {
            Some(permit) => format!(
                "Permit {} with every modification, and the typed rules ({}) beside it.",
                permit.permit, permit.file
            ),
            None => "The permit with every modification.".to_owned(),
        }),
        Text::from(
            "Site drainage map with every outfall, pond and drain (the diagram in this report is not a survey).",
        ),
        Text::from("Who signs for the permit, and who is delegated."),
    ];
    first.push(Text::from(
        "At the outfall: the sampling point, bypass valves, and the meter if there is one (what it reads now against the last entry).",
    ));
    doc.numbered(first);
    let mut table = Table::new(vec![
        Column::words("Papers"),
        Column::words("Number on the paper"),
        Column::words("From"),
        Column::words("To"),
        Column::figures("Lines", ""),
        Column::words("Copied to"),
    ])
    .caption("Papers named by the records")
    .wide();
    let lines: usize = ORDER.iter().map(|(_, kinds)| shorten(piles(case.timeline, kinds)).len()).sum();
    // As many as there is room for before the picture's own sheet are all named.
    let most = if lines <= MOST_IN_ALL { lines } else { MOST };
    for (name, kinds) in ORDER {
        let piles = piles(case.timeline, kinds);
        if name == RAIN && !case.weather.sources.is_empty() {
            gauge(case, &mut table);
            // The gauge's own file is no second paper.
            let own = case.facility.weather.rain.as_ref().map(|rain| rain.file.as_str());
            if piles.values().all(|pile| pile.files.iter().all(|file| Some(file.as_str()) == own)) {
                continue;
            }
        }
        if piles.is_empty() {
            if !may_have(case, name) {
                continue;
            }
            table.row(vec![
                Cell::words(name),
                Cell::words(if name == WASHES && wash_meter(case) { "a meter’s, above" } else { "none on file" }),
                Cell::nothing(),
                Cell::nothing(),
                Cell::number(0.0, 0),
                Cell::nothing(),
            ]);
            continue;
        }
        let lines = shorten(piles);
        let many = lines.len();
        let lines = kept(lines, most, &of_what_is_not_met(case));
        let stand = lines.len();
        for (i, (paper, pile)) in lines.into_iter().enumerate() {
            table.row(vec![
                Cell::words(if i == 0 { name } else { "" }),
                Cell::words(paper.replace(" ,", ",")),
                Cell::words(day(pile.first)),
                Cell::words(day(pile.last)),
                Cell::number(pile.count as f64, 0),
                Cell::words(few(&pile.files)),
            ]);
        }
        if many > stand {
            table.note(format!("{name}: {} more; they are in the record files.", many - stand));
        }
    }
    doc.table(table);
}

/// The gauge's book, or the station's, from the file of the weather.
fn gauge(case: &Case, table: &mut Table) {
    for source in &case.weather.sources {
        table.row(vec![
            Cell::words(RAIN),
            Cell::words(format!("the book or file behind “{}”", source.name)),
            Cell::words(day(source.first)),
            Cell::words(day(source.last)),
            Cell::number(source.count as f64, 0),
            Cell::words(case.facility.weather.rain.as_ref().map_or_else(String::new, |rain| rain.file.clone())),
        ]);
    }
}

/// Most papers named one by one for each pile, where all together are more than the rest of two sheets holds.
const MOST: usize = 6;
const MOST_IN_ALL: usize = 52;

/// Series of numbered papers (`wash sheet 1` … `wash sheet 52`) become one line.
fn shorten(piles: BTreeMap<String, Pile>) -> Vec<(String, Pile)> {
    let mut series: Vec<(String, Vec<(String, Pile)>)> = Vec::new();
    for (paper, pile) in piles {
        // The number is what the last word has from its first figure on: `sheet 24-11`, `W1290`, `C-2207`.
        let word = paper.rfind(' ').map_or(0, |at| at + 1);
        let digit = paper.get(word..).and_then(|word| word.find(|c: char| c.is_ascii_digit()));
        let stem = digit.and_then(|at| paper.get(..word + at)).unwrap_or(&paper).to_owned();
        match series.iter_mut().find(|(known, _)| *known == stem) {
            Some((_, list)) => list.push((paper, pile)),
            None => series.push((stem, vec![(paper, pile)])),
        }
    }
    let mut lines = Vec::new();
    for (stem, mut list) in series {
        let tail = |paper: &str| paper.get(stem.len()..).unwrap_or("").trim().to_owned();
        // By their numbers: papers are not always used in their order.
        list.sort_by_key(|(paper, _)| in_order(&tail(paper)));
        if list.len() == 1 {
            lines.append(&mut list);
            continue;
        }
        // The last keeps what the number has before its figures: `B23-0150 to B23-1260`.
        let prefix = stem.rsplit(' ').next().unwrap_or_default().to_owned();
        let words = match (list.first(), list.last()) {
            (Some((a, _)), Some((b, _))) if !stem.is_empty() => {
                format!("{stem}{} to {prefix}{}", a.get(stem.len()..).unwrap_or(""), tail(b))
            }
            _ => format!("{} papers", list.len()),
        };
        let merged = list.into_iter().map(|(_, pile)| pile).reduce(together);
        lines.extend(merged.map(|pile| (words, pile)));
    }
    let mut lines = of_workbooks(lines);
    lines.sort_by_key(|(_, pile)| pile.first);
    lines
}

/// The workbook that lies in a paper's name where its rows are the paper, and the tab: `clipboard.xlsx, Feb, row 4 to 17`.
fn workbook<'a>(paper: &'a str, files: &[String]) -> Option<(&'a str, &'a str)> {
    let (book, rest) = paper.split_once(", ")?;
    let tab = rest.rsplit_once(", row ").map_or(rest, |(tab, _)| tab).trim();
    let is_itself =
        |file: &String| file.rsplit('/').next().is_some_and(|file| file.starts_with(&format!("{book}, tab ")));
    (book.contains('.') && files.iter().all(is_itself)).then_some((book, tab))
}

/// A workbook of which several tabs were copied is one line: `clipboard.xlsx, 12 tabs: JAN 23 to dec 23`.
fn of_workbooks(lines: Vec<(String, Pile)>) -> Vec<(String, Pile)> {
    let mut books: Vec<(String, Vec<(String, Pile)>)> = Vec::new();
    let mut out = Vec::new();
    for (paper, pile) in lines {
        match workbook(&paper, &pile.files).map(|(book, tab)| (book.to_owned(), tab.to_owned())) {
            Some((book, tab)) => match books.iter_mut().find(|(known, _)| *known == book) {
                Some((_, tabs)) => tabs.push((tab, pile)),
                None => books.push((book, vec![(tab, pile)])),
            },
            None => out.push((paper, pile)),
        }
    }
    for (book, mut tabs) in books {
        tabs.sort_by_key(|(_, pile)| pile.first);
        let names: Vec<&str> = tabs.iter().map(|(tab, _)| tab.as_str()).collect();
        let words = match names.as_slice() {
            [only] => format!("{book}, {only}"),
            [first, .., last] => format!("{book}, {} tabs: {first} to {last}", names.len()),
            [] => continue,
        };
        let merged = tabs.into_iter().map(|(_, pile)| pile).reduce(together);
        out.extend(merged.map(|mut pile| {
            let whole = |file: &String| file.split_once(", tab ").map_or(file.as_str(), |(book, _)| book).to_owned();
            pile.files = pile.files.iter().map(whole).collect();
            pile.files.dedup();
            (words, pile)
        }));
    }
    out
}

/// Two piles as one.
fn together(mut all: Pile, pile: Pile) -> Pile {
    all.first = all.first.min(pile.first);
    all.last = all.last.max(pile.last);
    all.count += pile.count;
    all.papers.extend(pile.papers);
    for file in pile.files {
        if !all.files.contains(&file) {
            all.files.push(file);
        }
    }
    all
}

/// Numbers of papers sort by their runs of figures: `9-2` before `10-1`.
fn in_order(tail: &str) -> Vec<u64> {
    tail.split(|c: char| !c.is_ascii_digit()).filter_map(|figures| figures.parse().ok()).collect()
}

fn piles(timeline: &Timeline, kinds: &[&str]) -> BTreeMap<String, Pile> {
    let mut piles: BTreeMap<String, Pile> = BTreeMap::new();
    let wanted = |o: &&Observation| kinds.contains(&o.what.trim().to_lowercase().as_str());
    for observation in timeline.observations.iter().filter(wanted) {
        let paper = observation.source.paper.clone().unwrap_or_else(|| "no number on file".to_owned());
        let file = file_or_tab(&observation.source.place.file);
        let pile = piles.entry(paper.clone()).or_insert_with(|| Pile {
            papers: vec![paper],
            first: observation.date,
            last: observation.date,
            count: 0,
            files: Vec::new(),
        });
        pile.first = pile.first.min(observation.date);
        pile.last = pile.last.max(observation.date);
        pile.count += 1;
        if !pile.files.contains(&file) {
            pile.files.push(file);
        }
    }
    piles
}

/// The file that a place lies in; of a workbook its tab, and not each of its cells.
fn file_or_tab(file: &str) -> String {
    file.rsplit_once(", cell ").map_or(file, |(tab, _)| tab).to_owned()
}

/// Most files named for one pile.
const MOST_FILES: usize = 2;

fn few(files: &[String]) -> String {
    let named = files.iter().take(MOST_FILES).cloned().collect::<Vec<_>>().join(", ");
    if files.len() > MOST_FILES { format!("{named} and {} more", files.len() - MOST_FILES) } else { named }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_papers_behind_what_is_not_met_stand_in_the_list_however_many_there_are() {
        let date = NaiveDate::from_ymd_opt(2025, 1, 1).unwrap();
        let line = |paper: &str| {
            let pile = Pile { first: date, last: date, count: 1, files: Vec::new(), papers: vec![paper.to_owned()] };
            (paper.to_owned(), pile)
        };
        let of = |most: usize, first: &[&str]| -> Vec<String> {
            kept(["a", "b", "c", "d", "e"].map(line).into(), most, first).into_iter().map(|(paper, _)| paper).collect()
        };
        assert_eq!(of(2, &[]), ["a", "b"]);
        assert_eq!(of(2, &["d"]), ["a", "d"]);
        assert_eq!(of(1, &["b", "e"]), ["b", "e"]);
        assert_eq!(of(9, &["e"]), ["a", "b", "c", "d", "e"]);
    }

    #[test]
    fn a_series_of_papers_runs_from_its_lowest_number_to_its_highest() {
        let date = NaiveDate::from_ymd_opt(2025, 1, 1).unwrap();
        let pile = || Pile { first: date, last: date, count: 1, files: Vec::new(), papers: Vec::new() };
        let of = |papers: &[&str]| -> Vec<String> {
            let piles = papers.iter().map(|paper| ((*paper).to_owned(), pile())).collect();
            shorten(piles).into_iter().map(|(words, _)| words).collect()
        };
        assert_eq!(of(&["ticket W1290", "ticket W1270", "ticket W1380"]), ["ticket W1270 to W1380"]);
        assert_eq!(of(&["certificate C-2207", "certificate C-2208"]), ["certificate C-2207 to C-2208"]);
        assert_eq!(of(&["sheet 24-9", "sheet 24-10", "sheet 25-1"]), ["sheet 24-9 to 25-1"]);
        assert_eq!(of(&["blue book"]), ["blue book"]);
        assert_eq!(
            of(&["b.xlsx, East, row 4", "b.xlsx, East, row 9", "b.xlsx, West, row 4"]),
            ["b.xlsx, 2 tabs: East to West"]
        );
        assert_eq!(of(&["b.xlsx, Jan, row 4", "book, row 9", "b.xlsx, Jan, row 7"]), ["book, row 9", "b.xlsx, Jan"]);
    }
}
