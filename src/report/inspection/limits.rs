//! Each limit, worst first: the permit's words, the outcome, what is over or not shown with its arithmetic and paper; the
//! limits that are shown, a line each.

use std::collections::BTreeSet;

use crate::balance::{Node, Selector, TraceLine, Watch};
use crate::facility::model::{Meter, PlaceId, PlaceKind};
use crate::page::document::{Basis, Cell, Column, Document, Row, Table, Text};
use crate::quantity::{counted_unit, molar_masses, month_name, parameter_name};
use crate::records::Sample;
use crate::report::inspection::about::{Case, basis, day, said, trace};
use crate::report::inspection::beside;
use crate::report::inspection::lacking::{same_said, told_in_full, windows_of};
use crate::report::inspection::limit_rows::{forbids, is_nought, time_and_again};
use crate::report::inspection::limits_bare;
use crate::report::inspection::page_one::basis_of;
use crate::report::inspection::paper_trail::{dials, papers};
use crate::report::units;
use crate::rules::{Finding, FindingKind, Outcome, Provenance, WindowFinding};
use crate::told::Place;

/// Most windows of one limit that are printed; the others are counted, and stand in the annex.
const MOST_WINDOWS: usize = 20;
/// Most sentences of what one limit lacks, and how many stand where there are more.
const MOST_LACKING: usize = 6;
const FEW_LACKING: usize = 3;
/// Most windows that were within, printed under a limit that is not shown.
const FEW_WITHIN: usize = 3;

/// Writes the section.
pub fn write(case: &Case, doc: &mut Document) {
    let limits: Vec<&Finding> = case.findings.iter().filter(|finding| finding.kind == FindingKind::Limit).collect();
    if limits.is_empty() {
        return;
    }
    let (shown, mut open): (Vec<&Finding>, Vec<&Finding>) = limits.into_iter().partition(|finding| is_shown(finding));
    doc.heading(2, "Each limit, the worst outcomes first");
    if let Some(permit) = case.permit {
        let starts = case.facility.day_starts.format("%-H:%M");
        let year = permit.year_starts;
        let bears = if case.facility.day_bears_its_end { " and bears the date on which it ends" } else { "" };
        let mut counts = vec![
            format!("a day runs from {starts} to {starts}{bears}"),
            format!("years and quarters run from {} {}", year.day, month_name(year.month)),
        ];
        counts.extend(permit.counts.iter().cloned());
        doc.paragraph(said(&format!("How the permit counts, as typed: {}.", counts.join("; "))));
    }
    let (mut said, mut lacked) = (None, None);
    let alike = limits_bare::taken(&mut open);
    for finding in open {
        one(case, finding, &mut said, doc);
        lacking(finding, &mut lacked, doc);
    }
    for group in alike {
        limits_bare::write(&group, doc);
    }
    met(case, &shown, doc);
}

/// Whether the records settle the limit. One that was not in force, or can't be evaluated, has a section of its own.
fn is_shown(finding: &Finding) -> bool {
    matches!(finding.outcome, Outcome::Met | Outcome::NoDischarge)
}

/// What was told of the limit before, and its name.
type Before<'a> = Option<(&'a str, Vec<String>)>;

fn one<'a>(case: &Case, finding: &'a Finding, before: &mut Before<'a>, doc: &mut Document) {
    doc.anchored(3, format!("{}: {}", finding.name, finding.outcome), finding.id.clone());
    let mut text = Text::new();
    if let Some(words) = &finding.words {
        text = text.italic(format!("“{}” ", words.trim()));
    }
    text = text.plain(status(finding));
    doc.traced(text, finding.place.as_ref().map(trace).unwrap_or_default());
    let mut table = windows(case, finding);
    let told = finding.sentences.iter().filter(|it| !stands_in(finding, it));
    let told: Vec<String> = told.map(|it| format!("{}.", it.trim_end_matches('.'))).collect();
    match before {
        _ if told.is_empty() => {}
        Some((name, known)) if *known == told && told.len() > 1 => {
            doc.paragraph(format!("What is said under “{name}” holds here too."));
        }
        _ => {
            doc.paragraph(said(&told.join(" ")));
            *before = Some((finding.name.as_str(), told));
        }
    }
    if let Some((turns_on, outcome)) = &finding.other_answer {
        doc.paragraph(format!(
            "The permit does not say all of how this counts: if {turns_on}, the outcome would be {outcome}."
        ));
    }
    if !table.rows.is_empty() {
        if let Some(words) = calibrations(case, &[finding]) {
            table.note(words);
        }
        doc.table(table);
    }
    if let Some(terms) = terms(case, finding) {
        doc.table(terms);
    }
    if let Some(words) = beside::off_the_bank(case, finding) {
        doc.paragraph(words);
    }
}

/// `Outfall 1, at most 30 mg/L; worst 37.5 mg/L (Mar 2025); 5 of 12 months on file.`
fn status(finding: &Finding) -> String {
    let mut words = finding.at.clone();
    if let Some(limit) = &finding.limit {
        words.push_str(&format!(", {}", said(&limit.text)));
    }
    if let Some(figure) = &finding.figure {
        words.push_str(&format!("; worst {}", said(&figure.text)));
        if let Some(when) = finding.worst_when.as_ref().filter(|_| !is_nought(finding)) {
            words.push_str(&format!(" ({})", time_and_again(finding).unwrap_or_else(|| when.clone())));
        }
    }
    if !finding.how_many.is_empty() {
        words.push_str(&format!("; {}", finding.how_many));
    }
    words + "."
}

/// Whether a sentence is the arithmetic of a window, which the table prints.
fn stands_in(finding: &Finding, sentence: &str) -> bool {
    let lines = || finding.windows.iter().filter(|window| is_printed(window)).flat_map(|window| &window.arithmetic);
    lines().any(|line| sentence.ends_with(&format!("{}.", line.trim_end_matches('.'))))
}

/// Whether a window may stand in the table with its arithmetic.
fn is_printed(window: &WindowFinding) -> bool {
    tells(window) || window.figure.is_some()
}

/// Whether a window is over, or has something on file that does not decide.
pub fn tells(window: &WindowFinding) -> bool {
    window.outcome.is_exceeded()
        || window.outcome == Outcome::NotShown && (window.figure.is_some() || !window.arithmetic.is_empty())
}

fn windows(case: &Case, finding: &Finding) -> Table {
    let mut table = Table::new(vec![
        Column::words("When"),
        Column::words("Outcome"),
        Column::words("Figure"),
        Column::words("How it comes about"),
        Column::words("Paper"),
    ])
    .wide();
    let mut within: Vec<&WindowFinding> = finding
        .windows
        .iter()
        .filter(|window| window.figure.is_some() && matches!(window.outcome, Outcome::Met | Outcome::NoDischarge))
        // Nothing, of which nothing was read or sampled, is no reading within the limit.
        .filter(|window| window.n > 0 || window.figure.as_ref().is_some_and(|figure| figure.high != 0.0))
        .collect();
    nearest_first(finding, &mut within);
    // Days on which nothing flowed are no near ones.
    if within.first().and_then(|near| near.figure.as_ref()).is_some_and(|figure| figure.high == 0.0) {
        within.clear();
    }
    // What is over comes before what is not decided, each in the order of days.
    let (sure, open): (Vec<&WindowFinding>, Vec<&WindowFinding>) =
        finding.windows.iter().filter(|window| tells(window)).partition(|window| window.outcome.is_exceeded());
    let over: Vec<&WindowFinding> = sure.into_iter().chain(open).collect();
    let left = over.len().saturating_sub(MOST_WINDOWS);
    let few = within.len().min(FEW_WITHIN);
    let (near, rest) = within.split_at(few);
    for window in over.into_iter().take(MOST_WINDOWS).chain(near.iter().copied()) {
        let mut cells = row(case, finding, window);
        // A meter that moved over several days tells of one of them.
        if forbids(finding)
            && window.figure.is_none()
            && window.n == 1
            && window.from < window.to
            && let Some(cell) = cells.get_mut(2)
        {
            *cell = Cell::words("at least 1 day");
        }
        table.row(cells);
    }
    if left > 0 {
        table.note(format!("{left} more that are over or not decided: in the annex."));
    }
    if !rest.is_empty() {
        let of_figure = |window: Option<&&WindowFinding>| window.map(|window| room(finding, window));
        let as_near = if of_figure(near.last()) == of_figure(rest.first()) { ", some of them as near" } else { "" };
        table.note(format!(
            "The {few} nearest to the limit; {} more within it {} in the annex{as_near}.",
            rest.len(),
            if rest.len() == 1 { "is" } else { "are" }
        ));
    }
    table.without_empty_columns();
    table
}

/// Windows by how near their figure is to the limit.
fn nearest_first(finding: &Finding, windows: &mut [&WindowFinding]) {
    // Of two that are as near, one that is known comes before one that is below what could be measured.
    let known = |window: &WindowFinding| window.figure.as_ref().is_some_and(|figure| figure.low == figure.high);
    windows.sort_by(|a, b| room(finding, a).total_cmp(&room(finding, b)).then_with(|| known(b).cmp(&known(a))));
}

/// How far a window's figure is inside the limit.
fn room(finding: &Finding, window: &WindowFinding) -> f64 {
    let ends = finding.limit.as_ref().map_or((None, None), |limit| (limit.at_least, limit.at_most));
    let figure = window.figure.as_ref();
    let above = figure.zip(ends.0).map_or(f64::INFINITY, |(figure, least)| figure.low - least);
    let below = figure.zip(ends.1).map_or(f64::INFINITY, |(figure, most)| most - figure.high);
    above.min(below)
}

fn row(case: &Case, finding: &Finding, window: &WindowFinding) -> Vec<Cell> {
    let figure = match &window.figure {
        None => Cell::nothing(),
        Some(figure) => Cell::known(said(&figure.text), basis_of(figure)),
    };
    vec![
        Cell::words(window.label.clone()),
        Cell::words(window.outcome.words()),
        figure,
        Cell::words(explained(case, finding, window)),
        Cell::words(papers(case, &window.evidence)),
    ]
}

/// How a window's figure comes about, and what is told beside it.
fn explained(case: &Case, finding: &Finding, window: &WindowFinding) -> String {
    let mut words = beside::told(case, finding, window);
    words.extend(Some(arithmetic(case, window)).filter(|words| !words.is_empty()));
    words.join("; ")
}

/// The arithmetic of a window, with the dials where a meter counted; of a single result nothing but its figure.
fn arithmetic(case: &Case, window: &WindowFinding) -> String {
    if let Some(dials) = dials(case, &window.evidence) {
        return dials;
    }
    // A day of discharge that is met was excused, and why has to be told.
    let is_excused = window.figure.as_ref().is_some_and(|figure| figure.unit == "days");
    if window.n == 1 && window.outcome == Outcome::Met && !is_excused {
        return String::new();
    }
    let converted = converted(case, window);
    let words: Vec<String> = same_said(&window.arithmetic)
        .iter()
        .filter(|line| converted.is_some() || !is_the_figure(window, line))
        .map(|line| without_label(&said(line.trim_end_matches('.')), &said(&window.label)))
        .collect();
    words.into_iter().chain(converted).collect::<Vec<_>>().join("; ")
}

/// A line without the window that its row begins with: `F1: 10 034 gal`, and not `… over 9 Mar 2022` seven times.
pub fn without_label(line: &str, label: &str) -> String {
    let over = format!(" over {label}");
    match line.split_once(&over) {
        Some((before, after)) if !after.starts_with(|c: char| c.is_alphanumeric() || c == '-') => {
            format!("{before}{after}")
        }
        _ => line.to_owned(),
    }
}

/// Whether a line of one result or reading says no more than its figure: `pH 8.6`, `0.58 m`.
fn is_the_figure(window: &WindowFinding, line: &str) -> bool {
    let figure = window.figure.as_ref().map(|figure| said(&figure.text).to_lowercase());
    let line = said(line).to_lowercase();
    let line = line.strip_prefix("1 sample: ").map_or_else(|| line.clone(), str::to_owned);
    let plain = !line.contains(['×', '÷', '=', '+', ':', ';', '(']);
    window.n == 1 && plain && figure.is_some_and(|figure| line.ends_with(&figure))
}

/// How a single result was turned into what its limit counts: `52 mg/L NO3 on the slip, times 14.0067/62.0049`.
fn converted(case: &Case, window: &WindowFinding) -> Option<String> {
    let place = window.evidence.first()?.place.as_ref()?;
    let line = window.arithmetic.first()?;
    let is_of = |sample: &&Sample| {
        sample.source.place == *place && sample.value.as_ref().is_some_and(|value| line.contains(value.as_str()))
    };
    let sample = case.timeline.samples.iter().find(is_of)?;
    case.timeline.observations.iter().filter(|seen| seen.source.place == *place).find_map(|seen| {
        let unit = seen.unit.as_deref()?;
        let substance = counted_unit(unit)?.substance;
        let (element, whole) =
            molar_masses(&sample.parameter, substance).filter(|(element, whole)| element != whole)?;
        let parameter = seen.parameter.as_deref().unwrap_or(&sample.parameter);
        (parameter_name(parameter) == parameter_name(&sample.parameter))
            .then(|| format!("{} {unit} on the slip, times {element}/{whole}", seen.value))
    })
}

/// All that is missing; where the limit before lacks the same, one line says so. Of many sentences that differ in their
/// days alone the first few are told, and which windows the others are of.
fn lacking<'a>(finding: &'a Finding, before: &mut Before<'a>, doc: &mut Document) {
    let mut missing = told_in_full(&finding.missing);
    let rest = if missing.len() > MOST_LACKING { missing.split_off(FEW_LACKING) } else { Vec::new() };
    let mut all: Vec<String> = missing
        .into_iter()
        .map(|missing| format!("{} {}", missing.sentence, missing.would_show.unwrap_or_default()).trim().to_owned())
        .collect();
    if all.is_empty() {
        return;
    }
    if !rest.is_empty() {
        let of = windows_of(&rest).map_or_else(String::new, |windows| format!(", of {windows}"));
        all.push(format!("{} more like these{of}: each stands in the annex.", rest.len()));
    }
    match before {
        Some((name, known)) if *known == all => {
            doc.list(vec![Text::from(format!("What is missing is the same as under “{name}”."))]);
        }
        _ => {
            doc.list(all.iter().map(|words| Text::from(said(words))).collect());
            *before = Some((finding.name.as_str(), all));
        }
    }
}

/// The limits that are shown, a line each.
fn met(case: &Case, shown: &[&Finding], doc: &mut Document) {
    if shown.is_empty() {
        return;
    }
    let anchors = shown.iter().map(|finding| finding.id.clone()).collect();
    doc.anchored_all(3, "Limits met by the records", anchors);
    let mut table = Table::new(vec![
        Column::words("Limit").wide(88.0),
        Column::words("Worst, and what the permit says").wide(88.0),
        Column::words("When").wide(58.0),
        Column::words("How it is shown").wide(136.0),
        Column::words("Paper").wide(88.0),
    ])
    .wide();
    for finding in shown {
        let worst = finding.windows.iter().find(|window| finding.worst_when.as_ref() == Some(&window.label));
        let worst = worst.or(finding.windows.first());
        let how = worst.map_or_else(String::new, |window| explained(case, finding, window));
        let how = [how, finding.how_many.clone()].into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>();
        let mut figure = Text::new();
        if let Some(of) = &finding.figure {
            figure = figure.figure(said(&of.text), basis_of(of)).plain("; ");
        }
        let says = finding.limit.as_ref().map_or_else(|| "none".to_owned(), |limit| said(&limit.text));
        let cells = vec![
            Cell::words(Text::new().bold(finding.name.clone()).plain(format!(": {}; {}", finding.outcome, finding.at))),
            Cell::words(figure.plain(format!("permit: {says}"))),
            Cell::words(finding.worst_when.clone().unwrap_or_default()),
            Cell::words(said(&how.join("; "))),
            Cell::words(worst.map_or_else(String::new, |window| papers(case, &window.evidence))),
        ];
        table.rows.push(Row::new(cells).anchor(finding.id.clone()));
    }
    // What else is told of them, each thing once: readings that cover several days, results that can't be used.
    let mut told: Vec<(Vec<&str>, &str)> = Vec::new();
    for finding in shown {
        for sentence in finding.sentences.iter().filter(|sentence| !stands_in(finding, sentence)) {
            match told.iter_mut().find(|(_, known)| known == sentence) {
                Some((names, _)) => names.push(&finding.name),
                None => told.push((vec![&finding.name], sentence)),
            }
        }
    }
    for (names, sentence) in told {
        table.note(said(&format!("{}: {sentence}", names.join("; "))));
    }
    if let Some(words) = calibrations(case, shown) {
        table.note(words);
    }
    doc.table(table);
}

/// A meter with its calibration on file, or with the rating of its weir.
pub fn calibrated(case: &Case, meter: &Meter) -> String {
    if let Some(weir) = &meter.weir {
        let (equation, source) = weir.rating.words();
        return format!("{}, computed from the head over its weir by {equation}, {source}", meter.name);
    }
    let acts = case.timeline.acts.iter().filter(|act| act.what == "calibration" && act.name == meter.name);
    match acts.max_by_key(|act| act.day) {
        Some(act) => {
            let note = act.source.note.as_deref().map_or_else(String::new, |note| format!(": {note}"));
            format!("{}, calibrated {}{note}", meter.name, day(act.day))
        }
        None => format!("{}, no calibration on file", meter.name),
    }
}

/// The meters behind limits that are shown, with what their calibrations on file say.
fn calibrations(case: &Case, shown: &[&Finding]) -> Option<String> {
    let evidence = shown.iter().flat_map(|finding| &finding.windows).flat_map(|window| &window.evidence);
    let places: BTreeSet<&Place> = evidence.filter_map(|one| one.place.as_ref()).collect();
    let spans = case.timeline.meter_spans.iter().filter(|span| places.contains(&span.after.place));
    let behind: BTreeSet<usize> = spans.map(|span| span.meter).collect();
    let words: Vec<String> =
        behind.iter().filter_map(|at| case.facility.meters.get(*at)).map(|meter| calibrated(case, meter)).collect();
    (!words.is_empty())
        .then(|| format!("Behind these figures: {}. A meter counts here as it was read.", words.join(" | ")))
}

/// A discharge point by its name.
fn discharge_point(case: &Case, name: &str) -> Option<PlaceId> {
    case.facility
        .places
        .iter()
        .position(|place| place.name == name && matches!(place.kind, PlaceKind::DischargePoint(_)))
        .map(PlaceId)
}

/// The worst day of a computed flow, term by term: what the place before the outfall held, what came, what went.
fn terms(case: &Case, finding: &Finding) -> Option<Table> {
    if finding.figure.as_ref()?.provenance != Provenance::Computed {
        return None;
    }
    let point = Node::Place(discharge_point(case, &finding.at)?);
    let series = case.ledger.series(&Watch::Water(Selector::to(point)));
    let worst = case.ledger.days_between(case.period.0, case.period.1).max_by(|a, b| {
        series.values.get(*a).partial_cmp(&series.values.get(*b)).unwrap_or(std::cmp::Ordering::Equal)
    })?;
    let date = case.ledger.date(worst);
    if Some(day(date)) != finding.worst_when {
        return None;
    }
    let into = case.ledger.trace(point, worst);
    let came = into.lines.iter().filter(|line| line.comes_in).max_by(|a, b| a.water_m3.total_cmp(&b.water_m3))?;
    // Where several places give to it, no one of them makes up its figure.
    let from = came.way.from;
    if into.lines.iter().any(|line| line.comes_in && line.way.from != from && line.water_m3 > 0.0) {
        return None;
    }
    let holds = case.ledger.held_at(from).is_some();
    let of_day = case.ledger.trace(from, worst);
    let unit = units::volume(case.facility.system);
    let name = case.ledger.label(from);
    let mut table = Table::new(vec![Column::words("Term"), Column::figures("Water", unit.name)])
        .caption(format!("{} on {}, computed, term by term", case.ledger.label(point), day(date)))
        .whole();
    let mut sum = 0.0;
    let mut add = |words: String, m3: f64, known: Basis| {
        let value = unit.of(m3);
        sum += (value * 10f64.powi(i32::from(unit.digits))).round();
        table.row(vec![Cell::words(words), Cell::figure(value, unit.digits, known)]);
    };
    if holds {
        add(format!("{name} held at the day's opening"), of_day.opening_m3, Basis::Computed);
    }
    for line in of_day.lines.iter().filter(|line| line.way.to != point && line.water_m3 > 0.0) {
        let sign = if line.comes_in { 1.0 } else { -1.0 };
        add(words_of(case, line), sign * line.water_m3, basis(line.water_basis).unwrap_or(Basis::Computed));
    }
    if holds {
        add(format!("{name} held at the day's close"), -of_day.closing_m3, Basis::Computed);
    }
    let to_point = of_day.lines.iter().filter(|line| !line.comes_in && line.way.to == point);
    let total = unit.of(to_point.map(|line| line.water_m3).sum());
    table.sum(vec![
        Cell::words(format!("Left over, to {}", case.ledger.label(point))),
        Cell::figure(total, unit.digits, Basis::Computed),
    ]);
    if (sum - (total * 10f64.powi(i32::from(unit.digits))).round()).abs() > 0.5 {
        table.note("The terms add up to the total within rounding.");
    }
    Some(table)
}

fn words_of(case: &Case, line: &TraceLine) -> String {
    match (line.way.from, line.way.to) {
        (Node::Rain, _) => return "rain on it".to_owned(),
        (_, Node::Evaporation) => return "evaporated".to_owned(),
        (_, Node::Seepage) => return "seeped".to_owned(),
        (_, Node::Retained) => return "soaked in".to_owned(),
        _ => {}
    }
    let other = if line.comes_in { line.way.from } else { line.way.to };
    let way = if line.comes_in { "from" } else { "to" };
    format!("{way} {}: {}", case.ledger.label(other), line.way.purpose.words())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::inspection::limits_bare::tests::a_limit;
    use crate::rules::{Figure, Judged};
    use chrono::NaiveDate;

    fn at_most(most: f64, unit: &str, figure: Option<Figure>) -> Finding {
        let limit = Judged {
            text: format!("at most {most} {unit}"),
            at_most: Some(most),
            at_least: None,
            unit: unit.to_owned(),
        };
        Finding { limit: Some(limit), figure, ..a_limit("Limit", Outcome::NotShown) }
    }

    fn window(low: f64, high: f64, text: &str) -> WindowFinding {
        let day = NaiveDate::from_ymd_opt(2025, 3, 1).unwrap();
        let figure = Figure {
            low,
            high,
            value: Some(high),
            unit: String::new(),
            text: text.to_owned(),
            provenance: Provenance::Measured,
        };
        WindowFinding {
            label: text.to_owned(),
            from: day,
            to: day,
            outcome: Outcome::Met,
            figure: Some(figure),
            n: 1,
            needed: None,
            arithmetic: Vec::new(),
            evidence: Vec::new(),
            missing: Vec::new(),
        }
    }

    #[test]
    fn of_results_as_near_to_the_limit_the_known_come_before_those_below_detection() {
        let all = [window(0.0, 0.1, "below 0.1 mL/L"), window(0.1, 0.1, "0.1 mL/L"), window(0.15, 0.15, "0.15 mL/L")];
        let mut near: Vec<&WindowFinding> = all.iter().collect();
        nearest_first(&at_most(0.2, "mL/L", None), &mut near);
        let labels: Vec<&str> = near.iter().map(|window| window.label.as_str()).collect();
        assert_eq!(labels, ["0.15 mL/L", "0.1 mL/L", "below 0.1 mL/L"]);
    }

    #[test]
    fn nothing_at_all_is_of_no_day() {
        let worst = |gallons: f64| {
            let figure = window(gallons, gallons, &format!("{gallons} gal")).figure;
            let when = Some("1 Jan 2025".to_owned());
            status(&Finding { worst_when: when, ..at_most(500.0, "gal", figure) })
        };
        assert!(worst(3.0).contains("worst 3 gal (1 Jan 2025)"), "{}", worst(3.0));
        assert!(worst(0.0).contains("worst 0 gal") && !worst(0.0).contains("1 Jan"), "{}", worst(0.0));
    }

    #[test]
    fn a_row_s_arithmetic_does_not_repeat_the_day_that_it_begins_with() {
        assert_eq!(without_label("F1: 10 034 gal over 9 Mar 2022", "9 Mar 2022"), "F1: 10 034 gal");
        assert_eq!(
            without_label("W: 9 gal over 9 Mar 2022 from 2 in over the weir", "9 Mar 2022"),
            "W: 9 gal from 2 in over the weir"
        );
        assert_eq!(without_label("F1: 9 gal over 9-11 Mar 2022", "9 Mar 2022"), "F1: 9 gal over 9-11 Mar 2022");
    }

    #[test]
    fn how_a_single_reading_comes_about_is_not_its_figure_once_more() {
        let reading = window(0.58, 0.58, "0.58 m");
        assert!(is_the_figure(&reading, "0.58 m") && is_the_figure(&reading, "freeboard 0.58 m"));
        assert!(is_the_figure(&reading, "1 sample: 0.58 m") && !is_the_figure(&reading, "2 samples: 0.58 m"));
        assert!(!is_the_figure(&reading, "7.75 in") && !is_the_figure(&reading, "(0.56 + 0.60) ÷ 2 = 0.58 m"));
    }
}
