//! The data used: each record source with its gaps, the weather, each repair.

use crate::balance::Node;
use crate::page::document::{Cell, Column, Document, Table, Text, figures};
use crate::records;
use crate::records::MeteredWay;
use crate::report::inspection::about::{Case, day, trace};
use crate::report::units;

/// Most gaps named for one source; the rest are counted.
const MOST_GAPS: usize = 3;

/// Writes the section.
pub fn write(case: &Case, doc: &mut Document) {
    doc.heading(2, "Data used, gaps and repairs");
    sources(case, doc);
    meters_against_one_another(case, doc);
    weather(case, doc);
    repairs(case, doc);
    if !case.warnings.is_empty() {
        doc.heading(3, "Remarks on the files");
        doc.list(case.warnings.iter().map(Text::from).collect());
    }
    if !case.remarks.is_empty() {
        doc.heading(3, "Remarks on the computation");
        doc.list(case.remarks.iter().map(Text::from).collect());
    }
}

fn sources(case: &Case, doc: &mut Document) {
    if case.timeline.sources.is_empty() {
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
    for source in &case.timeline.sources {
        let mut gaps: Vec<String> =
            source.gaps.iter().take(MOST_GAPS).map(|(first, days)| format!("{}, {days}", day(*first))).collect();
        if source.gaps.len() > MOST_GAPS {
            gaps.push(format!("{} more", source.gaps.len() - MOST_GAPS));
        }
        table.row(vec![
            Cell::words(source.name.clone()),
            Cell::words(day(source.first)),
            Cell::words(day(source.last)),
            Cell::number(source.count as f64, 0),
            if gaps.is_empty() { Cell::words("none") } else { Cell::words(gaps.join("; ")) },
            Cell::number(source.repairs as f64, 0),
        ]);
    }
    table.note("A gap is a stretch much longer than this source's usual step. A blank is not a nought: it is a gap.");
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
    doc.paragraph("Snow is left out: rain counts on the day it was read, and melt is not followed.");
}

fn repairs(case: &Case, doc: &mut Document) {
    doc.heading(3, "Repairs");
    if case.timeline.repairs.is_empty() {
        doc.paragraph("No record had to be repaired.");
        return;
    }
    doc.paragraph("Each place where a record could not be used as it stands, and what was done. Nothing was filled in without a line here.");
    let mut table = Table::new(vec![Column::words("What was found, and what was done")]);
    for repair in &case.timeline.repairs {
        table.traced(vec![Cell::words(repair.sentence.clone())], trace(&repair.place));
    }
    doc.table(table);
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
    let mut table = Table::new(vec![
        Column::words("Meter"),
        Column::figures("As read", unit.name),
        Column::figures("If all balances closed", unit.name),
        Column::figures("Adjustment over its own spread", ""),
    ])
    .caption("Meters held against one another");
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
