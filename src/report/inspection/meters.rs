//! What each dial showed at both ends of the period, and the washes that a counter counted.

use crate::facility::model::{Meter, PlaceId, PlaceKind};
use crate::page::document::{Basis, Cell, Column, Document, Table, figures};
use crate::report::inspection::about::Case;
use crate::report::inspection::limits;
use crate::report::inspection::paper_trail::{IN_THE_ANNEX, over};
use crate::report::units;

/// Writes the table of dials; nothing where no meter has a dial on file.
pub fn write(case: &Case, doc: &mut Document) {
    let volume = units::volume(case.facility.system);
    let mut table = Table::new(vec![
        Column::words("Meter").wide(80.0),
        Column::words("Way").wide(100.0),
        Column::words("Dial at both ends of the period"),
        Column::figures("Counted", volume.name),
    ])
    .wide();
    for (index, meter) in case.facility.meters.iter().enumerate() {
        let Some((spans, words)) = over(case, index, case.period) else { continue };
        let m3 = spans.iter().map(|span| span.volume_m3).sum::<f64>();
        table.row(vec![
            Cell::words(meter.name.as_str()),
            Cell::words(format!("{} to {}", case.name(meter.from), case.name(meter.to))),
            Cell::words(words.replace(IN_THE_ANNEX, "")),
            Cell::figure(volume.of(m3), volume.digits, Basis::Metered),
        ]);
    }
    if table.rows.is_empty() {
        return;
    }
    doc.heading(2, "Dials of the meters");
    doc.table(table);
    for index in 0..case.facility.meters.len() {
        by_step(case, index, doc);
    }
}

/// What a dial showed at both ends of each month or year, as far as it was read, with its calibration.
fn by_step(case: &Case, index: usize, doc: &mut Document) {
    let (volume, steps) = (units::volume(case.facility.system), case.steps());
    let Some(meter) = case.facility.meters.get(index) else { return };
    let mut table = Table::new(vec![
        Column::words(steps.head),
        Column::words("Dial at its first and last reading"),
        Column::figures("Counted", volume.name),
    ])
    .caption(format!("{}, by {}", meter.name, steps.word));
    for (name, from, to) in steps.rows {
        let Some((spans, words)) = over(case, index, (from, to)) else { continue };
        let m3 = spans.iter().map(|span| span.volume_m3).sum::<f64>();
        table.row(vec![
            Cell::words(name),
            Cell::words(words.replace(IN_THE_ANNEX, "")),
            Cell::figure(volume.of(m3), volume.digits, Basis::Metered),
        ]);
    }
    if table.rows.len() > 1 {
        table.note(format!(
            "A span between two readings counts in the month in which it begins; “Water by month” shares it out over its days. {}. As it \
             was read.",
            limits::calibrated(case, meter)
        ));
        doc.table(table);
    }
}

/// The meters that count the water of a filter's washes by so much a count, which is no power of ten: counters of washes or hours.
fn counters<'a>(case: &Case<'a>) -> impl Iterator<Item = (&'a Meter, f64)> + use<'a> {
    let case = *case;
    case.facility.meters.iter().enumerate().filter_map(move |(index, meter)| {
        matches!(case.facility.get(meter.from).map(|place| &place.kind), Some(PlaceKind::Filter(_))).then_some(())?;
        count_of(&meter.counts_in)?;
        meter.exchanged.iter().all(|exchange| exchange.counts_in.is_none()).then_some(())?;
        let (spans, _) = over(&case, index, case.period)?;
        let m3 = spans.iter().map(|span| span.volume_m3).sum::<f64>();
        Some((meter, (m3 / meter.one_count_m3).round()))
    })
}

/// What one count is of, where it is no plain unit nor a power of ten of one: `60 L` of `x60 L`.
fn count_of(counts_in: &str) -> Option<&str> {
    let of = counts_in.trim().trim_start_matches(['x', '×']).trim_start();
    let number = of.split(|c: char| !c.is_ascii_digit() && c != '.').next()?;
    let plain = number.chars().filter(|c| *c != '.' && *c != '0').collect::<String>();
    (!number.is_empty() && plain != "1").then_some(of)
}

/// Whether a meter's count is one wash of its filter, as typed.
fn counts_washes(case: &Case, meter: &Meter) -> bool {
    let Some(PlaceKind::Filter(filter)) = case.facility.get(meter.from).map(|place| &place.kind) else { return false };
    let one = filter.wash.as_ref().and_then(|wash| wash.volume.as_ref()).and_then(|volume| volume.ends());
    one.is_some_and(|(low, high)| {
        let is_one = |m3: f64| (m3 / meter.one_count_m3 - 1.0).abs() < 1e-6;
        is_one(low.value) && is_one(high.value)
    })
}

/// The washes of a filter that its meter counted; none where none counts washes.
pub fn washes_of(case: &Case, filter: PlaceId) -> Option<f64> {
    counters(case).find(|(meter, _)| meter.from == filter && counts_washes(case, meter)).map(|(_, count)| count)
}

/// What counters counted in place of a log of washes: `washes counted: Drum 1 5 201`, `Drum counter 6 038 × 60 L`.
pub fn counted(case: &Case) -> Option<String> {
    let (washes, others): (Vec<_>, Vec<_>) = counters(case).partition(|(meter, _)| counts_washes(case, meter));
    let washes: Vec<String> = washes
        .iter()
        .map(|(meter, count)| format!("{} {}", case.name(meter.from), figures::number(*count, 0)))
        .collect();
    let others = others.iter().filter_map(|(meter, count)| {
        Some(format!("{} {} × {}", meter.name, figures::number(*count, 0), count_of(&meter.counts_in)?))
    });
    let washes = (!washes.is_empty()).then(|| format!("washes counted: {}", washes.join(", ")));
    let all: Vec<String> = washes.into_iter().chain(others).collect();
    (!all.is_empty()).then(|| all.join("; "))
}

#[cfg(test)]
mod tests {
    use super::count_of;

    #[test]
    fn a_count_of_sixty_litres_is_told_and_ten_gallons_are_a_dial_s_own() {
        assert_eq!((count_of("x60 L"), count_of("45 gal")), (Some("60 L"), Some("45 gal")));
        for plain in ["gal", "x10 gal", "100 ft3", "x0.1 m3", "m3", "1000 gal"] {
            assert_eq!(count_of(plain), None, "{plain}");
        }
    }
}
