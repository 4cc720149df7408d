//! Results that no limit asks for: on file all the same, and nothing on file is left out.

use std::collections::HashSet;

use crate::page::document::{Cell, Column, Document, Table};
use crate::quantity::parameter_as_written;
use crate::records::{Qualifier, Sample};
use crate::report::inspection::about::{Case, day, trace};
use crate::told::{Place, many};

/// Most results printed.
const MOST: usize = 300;

/// Writes the section; nothing where every result is held against a limit.
pub fn write(case: &Case, doc: &mut Document) {
    let samples = samples(case);
    if samples.is_empty() {
        return;
    }
    doc.heading(2, "Results that no limit asks for");
    let mut table = Table::new(vec![
        Column::words("Day"),
        Column::words("Place"),
        Column::words("Parameter"),
        Column::words("Result"),
        Column::words("Paper"),
    ]);
    for sample in samples.iter().take(MOST) {
        let at = case.facility.get(sample.at).map_or("", |place| place.name.as_str());
        table.traced(
            vec![
                Cell::words(day(sample.day)),
                Cell::words(at),
                Cell::words(parameter_as_written(&sample.parameter)),
                Cell::words(result(sample)),
                sample.source.paper.as_ref().map_or_else(Cell::nothing, |paper| Cell::words(paper.clone())),
            ],
            trace(&sample.source.place),
        );
    }
    if samples.len() > MOST {
        table.note(format!("{} more stand in the record files.", samples.len() - MOST));
    }
    doc.table(table);
}

/// How many there are, for the report itself: `12 results on file that no limit asks for stand in the annex.`
pub fn how_many(case: &Case) -> Option<String> {
    let n = samples(case).len();
    let stand = if n == 1 { "stands" } else { "stand" };
    (n > 0).then(|| format!("{} that no limit asks for {stand} in the annex.", many(n, "result")))
}

/// Results of the period that stand behind no finding, in order.
fn samples<'a>(case: &Case<'a>) -> Vec<&'a Sample> {
    let used: HashSet<&Place> = case
        .findings
        .iter()
        .flat_map(|finding| finding.evidence.iter().chain(finding.windows.iter().flat_map(|window| &window.evidence)))
        .filter_map(|evidence| evidence.place.as_ref())
        .collect();
    let (from, to) = case.period;
    case.timeline
        .samples
        .iter()
        .filter(|sample| from <= sample.day && sample.day <= to && !used.contains(&sample.source.place))
        .collect()
}

/// A result as it was typed.
fn result(sample: &Sample) -> String {
    let Some(value) = &sample.value else { return "lost or void".to_owned() };
    let sign = match sample.qualifier {
        Qualifier::None => "",
        Qualifier::Below => "<",
        Qualifier::Above => ">",
        Qualifier::Estimated => "about ",
    };
    format!("{sign}{value} {}", sample.unit.as_deref().unwrap_or("")).trim_end().to_owned()
}
