//! The data used: each record source with its gaps, the weather, each repair.

use std::collections::HashMap;

use crate::balance::Node;
use crate::page::document::{Cell, Column, Document, Table, Text, figures};
use crate::records;
use crate::records::MeteredWay;
use crate::report::inspection::about::{Case, day, said, trace};
use crate::report::inspection::unasked;
use crate::report::units;
use crate::told::shape;

/// Most gaps named for one source; the rest are counted.
const MOST_GAPS: usize = 3;
/// Most kinds of repair in the report; all repairs stand in the annex.
const MOST_REPAIRS: usize = 25;

/// Writes the section.
pub fn write(case: &Case, doc: &mut Document) {
    doc.heading(2, "Data used, gaps and repairs");
    sources(case, doc);
    let words: Vec<String> = unasked::how_many(case).into_iter().chain(unasked::how_many_below(case)).collect();
    if !words.is_empty() {
        doc.paragraph(words.join(" "));
    }
    calibrations(case, doc);
    meters_against_one_another(case, doc);
    weather(case, doc);
    repairs(case, doc);
    let remarks = grouped(case.warnings.iter().chain(case.remarks).map(|words| (words.as_str(), String::new())));
    if !remarks.is_empty() {
        doc.heading(3, "Remarks");
        doc.list(remarks.into_iter().map(|group| Text::from(said(&as_sentence(&group.words())))).collect());
    }
}

/// A remark as a sentence: where it stands comes last, and what it quotes stands in quotation marks.
fn as_sentence(remark: &str) -> String {
    let (place, words) = match remark.split_once(": ") {
        Some((place, words)) if !place.contains(' ') && place.contains(':') => (Some(place), words),
        _ => (None, remark),
    };
    let mut opens = true;
    let mut out = String::new();
    for (at, c) in words.chars().enumerate() {
        match c {
            '`' => {
                out.push(if opens { '“' } else { '”' });
                opens = !opens;
            }
            c if at == 0 => out.extend(c.to_uppercase()),
            c => out.push(c),
        }
    }
    let Some(place) = place else { return out };
    match out.split_once(". ") {
        Some((first, rest)) => format!("{first} ({place}). {rest}"),
        None => format!("{} ({place}).", out.trim_end_matches('.')),
    }
}

/// Sentences that differ in figures and in what is quoted alone.
struct Group {
    first: String,
    first_at: String,
    count: usize,
}

impl Group {
    /// The first, and how many more there are like it.
    fn words(&self) -> String {
        match self.count {
            0 | 1 => self.first.clone(),
            2 => format!("{} One more like it.", self.first),
            many => format!("{} {} more like it.", self.first, many - 1),
        }
    }
}

fn grouped<'a>(sentences: impl Iterator<Item = (&'a str, String)>) -> Vec<Group> {
    let mut groups: Vec<Group> = Vec::new();
    let mut known: HashMap<String, usize> = HashMap::new();
    for (sentence, at) in sentences {
        let index = *known.entry(shape(sentence)).or_insert_with(|| {
            let first = if sentence.ends_with('.') { sentence.to_owned() } else { format!("{sentence}.") };
            groups.push(Group { first, first_at: at, count: 0 });
            groups.len() - 1
        });
        if let Some(group) = groups.get_mut(index) {
            group.count += 1;
        }
    }
    groups
}

/// Calibrations, with what their remarks say.
fn calibrations(case: &Case, doc: &mut Document) {
    let mut table =
        Table::new(vec![Column::words("Meter"), Column::words("Day"), Column::words("Remark"), Column::words("Paper")])
            .caption("Calibrations on file");
    for act in case.timeline.acts.iter().filter(|act| act.what == "calibration") {
        table.row(vec![
            Cell::words(act.name.clone()),
            Cell::words(day(act.day)),
            Cell::words(act.source.note.clone().unwrap_or_default()),
            Cell::words(act.source.paper.clone().unwrap_or_default()),
        ]);
    }
    if !table.rows.is_empty() {
        table.note("A remark is the holder's own; the ledger takes each meter as it was read.");
        doc.table(table);
    }
}

fn sources(case: &Case, doc: &mut Document) {
    if case.timeline.sources.is_empty() && case.weather.sources.is_empty() {
        doc.paragraph(
            "There are no records. Every figure in this report is computed from the facility file and the weather; none \
             was ever checked against this site.",
        );
        return;
    }
    let mut table = Table::new(vec![
        Column::words("Record"),
        Column::words("First"),
        Column::words("Last"),
        Column::figures("Lines", ""),
        Column::words("Longest gaps (first day, days)"),
        Column::figures("Repairs", ""),
    ])
    .caption("Record sources")
    .wide();
    // The gauge's file is read as records too: one record, and one row.
    let is_gauge = |name: &str, (first, last, count)| {
        name == "rain" && case.weather.sources.iter().any(|of| (of.first, of.last, of.count) == (first, last, count))
    };
    // Where nothing was repaired, a column of noughts says so no better than the words below.
    let repaired = case.timeline.sources.iter().chain(&case.weather.sources).any(|of| of.repairs > 0);
    let records = case.timeline.sources.iter();
    let records = records.filter(|of| !is_gauge(&of.name, (of.first, of.last, of.count)));
    for source in records.chain(&case.weather.sources) {
        let mut gaps: Vec<String> =
            source.gaps.iter().take(MOST_GAPS).map(|(first, days)| format!("{}, {days}", day(*first))).collect();
        if source.gaps.len() > MOST_GAPS {
            gaps.push(format!("{} more", source.gaps.len() - MOST_GAPS));
        }
        table.row(vec![
            Cell::words(if source.name == "rain gauge" { "Rain gauge" } else { source.name.as_str() }),
            Cell::words(day(source.first)),
            Cell::words(day(source.last)),
            Cell::number(source.count as f64, 0),
            if gaps.is_empty() { Cell::words("none") } else { Cell::words(gaps.join("; ")) },
            if repaired { Cell::number(source.repairs as f64, 0) } else { Cell::words("") },
        ]);
    }
    table.without_empty_columns();
    table.note("A gap is a stretch much longer than this source's usual step. A blank is a gap, not a zero.");
    if case.facility.day_bears_its_end {
        table.note("First and last are dates as they were written; a limit's days bear the date on which they end.");
    }
    doc.table(table);
}

fn weather(case: &Case, doc: &mut Document) {
    doc.heading(3, "Weather");
    let unit = units::rain(case.facility.system);
    let (mut total, mut gaps, mut spread) = (0.0, 0, 0);
    for date in case.period.0.iter_days().take_while(|date| *date <= case.period.1) {
        let index = usize::try_from((date - case.weather.first_day).num_days()).ok();
        match index.and_then(|index| case.weather.rain.get(index)) {
            Some(rain) => match rain.depth_mm {
                Some(depth) => {
                    total += depth;
                    spread += usize::from(!rain.measured);
                }
                None => gaps += 1,
            },
            None => gaps += 1,
        }
    }
    let mut words =
        format!("Rain over the period: {}.", figures::with_unit(unit.of(total), unit.digits.min(1), unit.name));
    if spread > 0 {
        words.push_str(&format!(
            " {spread} days are a share of a reading that covers several days or straddles the permit's day; their split is assumed."
        ));
    }
    if gaps > 0 {
        words.push_str(&format!(
            " {gaps} days have no reading; they were computed with no rain, and what depends on them is uncertain."
        ));
    }
    doc.paragraph(words);
    if let Some(method) = &case.weather.evaporation_method {
        doc.paragraph(format!("Evaporation from open water: {method}."));
    }
    doc.paragraph("Snow is left out: melt is not followed.");
}

fn repairs(case: &Case, doc: &mut Document) {
    doc.heading(3, "Repairs");
    let groups = grouped(all_repairs(case));
    if groups.is_empty() {
        doc.paragraph("No record had to be repaired.");
        return;
    }
    let mut table = Table::new(vec![
        Column::words("Where a record could not be used as it stands, and what was done"),
        Column::figures("Times, of this kind", ""),
    ]);
    let several = groups.iter().any(|group| group.count > 1);
    for group in groups.iter().take(MOST_REPAIRS) {
        let times = if several { Cell::number(group.count as f64, 0) } else { Cell::words("") };
        table.traced(vec![Cell::words(said(&group.first)), times], group.first_at.clone());
    }
    table.without_empty_columns();
    if groups.len() > MOST_REPAIRS {
        table.note(format!("{} more kinds; all of them stand in the annex.", groups.len() - MOST_REPAIRS));
    }
    doc.table(table);
}

/// What was done to records and to the weather, with where.
fn all_repairs<'a>(case: &'a Case) -> impl Iterator<Item = (&'a str, String)> {
    let records = case.timeline.repairs.iter().map(|repair| (repair.sentence.as_str(), trace(&repair.place)));
    records.chain(case.weather.repairs.iter().map(|repair| (repair.sentence.as_str(), trace(&repair.place))))
}

/// Each repair by itself, for the annex.
pub fn every_repair(case: &Case, doc: &mut Document) {
    let mut table = Table::new(vec![Column::words("What was found, and what was done")]);
    for (sentence, at) in all_repairs(case) {
        table.traced(vec![Cell::words(said(sentence))], at);
    }
    if !table.rows.is_empty() {
        doc.heading(2, "Every repair");
        doc.table(table);
    }
}

/// Meters held against one another where every way of a place has one: a side table, used for nothing else.
fn meters_against_one_another(case: &Case, doc: &mut Document) {
    let mut ways: Vec<MeteredWay> = Vec::new();
    for way in case.ledger.ways() {
        if let (Node::Place(from), Node::Place(to)) = (way.from, way.to) {
            ways.push(MeteredWay { from, to, what: way.purpose.words().to_owned() });
        }
    }
    let days = case.ledger.days_between(case.period.0, case.period.1).len();
    let found = records::reconcile(case.facility, case.timeline, &ways, case.period.0, days);
    let Ok(Some(found)) = found else { return };
    let unit = units::volume(case.facility.system);
    doc.heading(3, "Meters held against one another");
    // As printed none of them would be moved: a table of the same figures twice tells no more.
    if found.meters.iter().all(|meter| !meter.suspect && meter.adjustment.abs() < 0.05) {
        let name = |at: usize| case.facility.meters.get(at).map_or("", |meter| meter.name.as_str());
        let names: Vec<&str> = found.meters.iter().map(|meter| name(meter.meter)).collect();
        doc.paragraph(format!("As read they close every balance that they are all of: {}.", names.join(", ")));
        return;
    }
    let mut table = Table::new(vec![
        Column::words("Meter"),
        Column::figures("As read", unit.name),
        Column::figures("If all balances closed", unit.name),
        Column::figures("Adjustment over its own spread", ""),
    ]);
    for meter in &found.meters {
        let name = case.facility.meters.get(meter.meter).map_or("", |meter| meter.name.as_str());
        table.row(vec![
            Cell::words(if meter.suspect { format!("{name} (suspect, or one beside it)") } else { name.to_owned() }),
            Cell::number(unit.of(meter.read_m3), unit.digits),
            Cell::number(unit.of(meter.reconciled_m3), unit.digits),
            Cell::number(meter.adjustment, 1),
        ]);
    }
    table.note(
        "Weighted least squares; each meter is taken to be off by 2 % of its total (standard deviation; common practice, \
         no source) unless `off by` says otherwise. A side table: the ledger \
         and the rules use the meters as they were read.",
    );
    doc.table(table);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sentences_that_differ_in_figures_and_quotes_alone_are_one_group() {
        let told = ["Row 3: `x` taken as 1", "Row 14: `yy` taken as 20", "M1 rolled over"];
        let groups = grouped(told.iter().map(|words| (*words, String::new())));
        let words: Vec<String> = groups.iter().map(Group::words).collect();
        assert_eq!(words, ["Row 3: `x` taken as 1. One more like it.", "M1 rolled over."]);
        let told = ["A level of 9.6 ft", "A level of 10 ft", "A level of 10.5 ft", "A level of 3 in"];
        let groups = grouped(told.iter().map(|words| (*words, String::new())));
        assert_eq!(groups.iter().map(|group| group.count).collect::<Vec<_>>(), [3, 1]);
    }

    #[test]
    fn a_remark_is_a_sentence_with_its_line_at_the_end() {
        assert_eq!(
            as_sentence("records/ponds.csv:2: Pond, 1 Nov 2024: a level of 5.6 ft. 47 more like it."),
            "Pond, 1 Nov 2024: a level of 5.6 ft (records/ponds.csv:2). 47 more like it."
        );
        assert_eq!(
            as_sentence("facility.yaml:7: solids settle in `Pond`."),
            "Solids settle in “Pond” (facility.yaml:7)."
        );
        assert_eq!(as_sentence("no water temperature: 15 °C."), "No water temperature: 15 °C.");
    }
}
