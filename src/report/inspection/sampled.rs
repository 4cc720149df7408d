//! Computed against recorded: each thing on file beside what the computation gives without it.

use chrono::NaiveDate;

use crate::balance::{Node, Selector};
use crate::compare::{Against, Measure};
use crate::facility::model::{DischargeKind, PlaceId, PlaceKind};
use crate::page::document::{Basis, Cell, Column, Document, Table, figures};
use crate::quantity::{Dimension, parameter_name, units};
use crate::records::Qualifier;
use crate::report::inspection::about::{Case, day};
use crate::report::units as shown_in;

/// Most sample days printed.
const MOST_SAMPLES: usize = 30;

/// Writes the section; nothing where nothing is on file.
pub fn write(case: &Case, doc: &mut Document) {
    if case.against.is_empty() {
        return;
    }
    let before = doc.blocks.len();
    doc.heading(2, "Computed against recorded");
    doc.paragraph(
        "The same days computed once more without meters, logs, levels and samples, and held against them: how near the \
         assumptions come on their own. The figures elsewhere in this report use the records; weigh tickets are only held \
         against the computation.",
    );
    let mut table = Table::new(vec![
        Column::words("What"),
        Column::figures("Compared", ""),
        Column::figures("Recorded", ""),
        Column::figures("Computed", ""),
        Column::words("Unit, and mean of what"),
        Column::figures("Computed to recorded", ""),
    ])
    .caption("Recorded and computed, on average")
    .wide();
    let (none, some): (Vec<&Against>, Vec<&Against>) = case.against.iter().partition(|of| is_not_computed(of));
    for of in some {
        table.rows.extend(row(case, of).map(crate::page::document::Row::new));
    }
    for row in waste(case) {
        table.row(row);
    }
    if !none.is_empty() {
        let names: Vec<&str> = none.iter().map(|of| of.what.as_str()).collect();
        let words = format!(
            "On file, and nothing is computed to hold it against, because what moves it is not typed or not known: {}.",
            names.join("; ")
        );
        if table.rows.is_empty() {
            doc.paragraph(words);
        } else {
            table.note(words);
        }
    }
    if !table.rows.is_empty() {
        doc.table(table);
    }
    sample_days(case, doc);
    // A heading with nothing to show is no section.
    if doc.blocks.len() == before + 2 {
        doc.blocks.truncate(before);
    }
}

/// Whether something is on file, and the computation has next to nothing of it: it would be printed as 0.00 of it.
fn is_not_computed(of: &Against) -> bool {
    let recorded: f64 = of.pairs.iter().map(|(_, recorded, _)| recorded).sum();
    let computed: f64 = of.pairs.iter().map(|(.., computed)| computed).sum();
    recorded > 0.0 && computed < 0.005 * recorded
}

/// Unit of a measure, its digits, and what one pair stands for.
fn unit_of(case: &Case, measure: Measure) -> (shown_in::Unit, &'static str) {
    let system = case.facility.system;
    match measure {
        Measure::Events => (shown_in::Unit { name: "", per_si: 1.0, digits: 1 }, "a month"),
        Measure::WashWater | Measure::Water => (shown_in::volume(system), "a month"),
        Measure::Level => (shown_in::level(system), "a reading"),
        Measure::Holding => (shown_in::volume(system), "a reading"),
        Measure::Solids => (shown_in::Unit { name: "mg/L", per_si: 1000.0, digits: 1 }, "a sample"),
    }
}

fn row(case: &Case, of: &Against) -> Option<Vec<Cell>> {
    let (unit, each) = unit_of(case, of.measure);
    let (recorded, computed) = means(of)?;
    let known = if of.measure == Measure::Solids { Basis::Sampled } else { Basis::Metered };
    let words = if unit.name.is_empty() { each.to_owned() } else { format!("{}, {each}", unit.name) };
    Some(vec![
        Cell::words(of.what.clone()),
        Cell::number(of.pairs.len() as f64, 0),
        Cell::figure(unit.of(recorded), unit.digits, known),
        Cell::figure(unit.of(computed), unit.digits, Basis::Computed),
        Cell::words(words),
        of.times().map_or_else(Cell::nothing, |times| Cell::number(times, 2)),
    ])
}

/// Means of what was recorded and of what was computed.
fn means(of: &Against) -> Option<(f64, f64)> {
    let recorded = of.mean_logged()?;
    Some((recorded, recorded + of.bias()?))
}

/// The load at a discharge point can't be shown: samples there, and the computation without them misses them by more than
/// half to double. The means of both, kg/m³, and how many samples.
pub fn missed(case: &Case, id: PlaceId) -> Option<(f64, f64, usize)> {
    let of = case.against.iter().find(|of| of.measure == Measure::Solids && of.at == id && of.is_far_off())?;
    means(of).map(|(sampled, computed)| (sampled, computed, of.pairs.len()))
}

/// Why the solids of a discharge point are not shown.
pub fn why_not_shown(case: &Case, id: PlaceId) -> Option<String> {
    let (sampled, computed, n) = missed(case, id)?;
    let figure = |kg_m3: f64| figures::with_unit(1000.0 * kg_m3, 1, "mg/L");
    let has = if computed > 0.0 { figure(computed) } else { "none".to_owned() };
    let have = if n == 1 { "1 sample has".to_owned() } else { format!("{n} samples have") };
    let average = if n == 1 { "" } else { " on average" };
    Some(format!(
        "Solids to {}: {have} {}{average} where the computation without them has {has}; a load from it is not shown.",
        case.name(id),
        figure(sampled),
    ))
}

/// What stands beside the solids of a discharge point that are shown: the samples there, the weigh tickets; none where neither is on
/// file.
pub fn beside(case: &Case, id: PlaceId) -> Option<String> {
    let of = case.against.iter().find(|of| of.measure == Measure::Solids && of.at == id);
    let sampled = of.and_then(|of| Some((means(of)?, of.pairs.len()))).map(|((sampled, computed), n)| {
        let figure = |kg_m3: f64| figures::with_unit(1000.0 * kg_m3, 1, "mg/L");
        let have = if n == 1 { "1 sample has".to_owned() } else { format!("{n} samples have") };
        let average = if n == 1 { "" } else { " on average" };
        format!("{have} {}{average} where the computation without them has {}", figure(sampled), figure(computed))
    });
    let tickets = tickets(case, id);
    let weighed = (!tickets.is_empty()).then(|| {
        let mass = shown_in::mass(case.facility.system);
        let figure = |kg: f64| figures::with_unit(mass.of(kg), mass.digits, mass.name);
        let have = if tickets.len() == 1 {
            "1 weigh ticket has".to_owned()
        } else {
            format!("{} weigh tickets have", tickets.len())
        };
        let (computed, is_wet) = hauled_kg(case, id);
        let how = if is_wet { "" } else { " dry; how wet it goes is not computed" };
        format!("{have} {} wet where the computation has {}{how}", figure(tickets.iter().sum()), figure(computed))
    });
    let may_be_off = sampled.is_some() || hauled_kg(case, id).1;
    let words: Vec<String> = sampled.into_iter().chain(weighed).collect();
    (!words.is_empty()).then(|| {
        let words = words.join("; ");
        let off = if may_be_off { ", and may be off by as much" } else { "" };
        format!("Solids to {}: {words}. A load from it is an estimate{off}.", case.name(id))
    })
}

/// What the ledger took to a place in the period, kg, and whether with its water: a tonne a cubic metre to well within what a
/// weighbridge shows.
fn hauled_kg(case: &Case, id: PlaceId) -> (f64, bool) {
    let to = Selector::to(Node::Place(id));
    let amount = case.ledger.amount(case.period.0, case.period.1, |way| to.matches(way));
    (1000.0 * amount.water_m3 + amount.solids_kg, amount.water_m3 > 0.0)
}

/// Whether samples or weigh tickets of a discharge point are on file to hold its solids against.
pub fn is_weighed(case: &Case, id: PlaceId) -> bool {
    case.against.iter().any(|of| of.measure == Measure::Solids && of.at == id) || !tickets(case, id).is_empty()
}

/// The weights hauled from a place in the period, by ticket, kg.
fn tickets(case: &Case, id: PlaceId) -> Vec<f64> {
    let of_place = case.timeline.acts.iter().filter(|act| act.what == "hauled" && act.name == case.name(id));
    of_place
        .filter(|act| case.period.0 <= act.day && act.day <= case.period.1)
        .filter_map(|act| weight_kg(act.value.as_deref()?, act.unit.as_deref()?))
        .collect()
}

fn sample_days(case: &Case, doc: &mut Document) {
    let mut days: Vec<(NaiveDate, PlaceId, f64, f64)> = case
        .against
        .iter()
        .filter(|of| of.measure == Measure::Solids && !is_not_computed(of))
        .flat_map(|of| of.pairs.iter().map(|(day, sampled, computed)| (*day, of.at, *sampled, *computed)))
        .collect();
    if days.is_empty() {
        return;
    }
    days.sort_by_key(|(day, id, ..)| (*id, *day));
    let mut places: Vec<PlaceId> = days.iter().map(|(_, id, ..)| *id).collect();
    places.dedup();
    let mut table = Table::new(vec![
        Column::words("Where"),
        Column::words("Day"),
        Column::figures("Sampled", "mg/L"),
        Column::figures("Computed", "mg/L"),
        Column::words("Paper"),
    ])
    .caption("Suspended solids, sampled and computed on the same day");
    let many = days.len();
    for (date, id, sampled, computed) in days.into_iter().take(MOST_SAMPLES) {
        table.row(vec![
            Cell::words(case.name(id)),
            Cell::words(day(date)),
            Cell::figure(1000.0 * sampled, 0, Basis::Sampled),
            Cell::figure(1000.0 * computed, 0, Basis::Computed),
            Cell::words(slip(case, id, date)),
        ]);
    }
    if many > MOST_SAMPLES {
        table.note(format!("{} more samples; they are in the record files.", many - MOST_SAMPLES));
    }
    for id in places {
        if let Some(words) = below_detection(case, id) {
            table.note(words);
        }
    }
    doc.table(table);
}

/// Results of suspended solids below detection at a place have no figure to hold a computed one against: a mean without them is
/// too high.
fn below_detection(case: &Case, id: PlaceId) -> Option<String> {
    let below = case.timeline.samples.iter().filter(|sample| {
        sample.qualifier == Qualifier::Below
            && parameter_name(&sample.parameter) == parameter_name("TSS")
            && sample.at == id
            && case.period.0 <= sample.day
            && sample.day <= case.period.1
    });
    let results = match below.count() {
        0 => return None,
        1 => "1 result below detection is".to_owned(),
        n => format!("{n} results below detection are"),
    };
    Some(format!("{}: {results} not among these; with them, what was sampled is lower on average.", case.name(id)))
}

fn slip(case: &Case, id: PlaceId, date: NaiveDate) -> String {
    let of = case.timeline.samples.iter().find(|sample| sample.at == id && sample.day == date);
    of.and_then(|sample| sample.source.paper.clone()).unwrap_or_default()
}

/// Weigh tickets against what the ledger took there.
fn waste(case: &Case) -> Vec<Vec<Cell>> {
    let mass = shown_in::mass(case.facility.system);
    let mut rows = Vec::new();
    for (index, place) in case.facility.places.iter().enumerate() {
        let PlaceKind::DischargePoint(point) = &place.kind else { continue };
        if point.kind != DischargeKind::HauledAway {
            continue;
        }
        let tickets = tickets(case, PlaceId(index));
        if tickets.is_empty() {
            continue;
        }
        let (computed, is_wet) = hauled_kg(case, PlaceId(index));
        let how = if is_wet { "wet" } else { "weighed wet, computed dry" };
        let weighed: f64 = tickets.iter().sum();
        rows.push(vec![
            Cell::words(format!("weigh tickets of {}", place.name)),
            Cell::number(tickets.len() as f64, 0),
            Cell::figure(mass.of(weighed), mass.digits, Basis::Metered),
            Cell::figure(mass.of(computed), mass.digits, Basis::Computed),
            Cell::words(format!("{}, {how}, over the period", mass.name)),
            if weighed > 0.0 && is_wet { Cell::number(computed / weighed, 2) } else { Cell::nothing() },
        ]);
    }
    rows
}

/// A weight as typed on a ticket; none for a volume.
fn weight_kg(value: &str, unit: &str) -> Option<f64> {
    let number: f64 = value.trim().replace(',', "").parse().ok()?;
    units::named(unit).filter(|unit| unit.dimension == Dimension::Mass).map(|unit| unit.to_si_f64(number))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Thirteen rows of nought beside what was read would tell of an assumption that nobody made.
    #[test]
    fn what_the_computation_has_nothing_of_is_no_row_of_noughts() {
        let day = NaiveDate::from_ymd_opt(2025, 3, 1).unwrap();
        let of = |pairs: &[(f64, f64)]| Against {
            what: "meter Well".to_owned(),
            at: PlaceId(0),
            measure: Measure::Water,
            level: None,
            pairs: pairs.iter().map(|(recorded, computed)| (day, *recorded, *computed)).collect(),
            below: Vec::new(),
            left_out: 0,
        };
        assert!(is_not_computed(&of(&[(30.0, 0.0), (0.0, 0.0)])));
        assert!(!is_not_computed(&of(&[(30.0, 0.0), (30.0, 4.0)])));
        assert!(is_not_computed(&of(&[(548951.0, 42.0)])), "0.00 as printed");
        assert!(!is_not_computed(&of(&[(0.0, 0.0)])), "nothing on either side is compared");
    }
}
