//! Unaccounted by place: where meters, levels and logs differ from the balance, largest first, and what would explain it.

use std::collections::BTreeMap;

use crate::balance::{Basis as Bits, Node};
use crate::facility::model::{Meter, PlaceId, PlaceKind};
use crate::page::document::{Cell, Column, Document, Table, figures};
use crate::report::inspection::about::{Case, basis};
use crate::report::inspection::water_year::rain_is_not_known;
use crate::report::units;

/// Most places in the table; the others are summed.
const MOST_PLACES: usize = 12;

/// The anchor of the section.
pub const ANCHOR: &str = "unaccounted by place";

/// The share of the nets of all places from which it is nearly all at one place.
const NEARLY_ALL: f64 = 0.75;

/// Whether the section tells of any place.
pub fn is_told(case: &Case) -> bool {
    !told(case).is_empty()
}

/// The place at which nearly all of the net is, if there is one.
pub fn mostly_at<'a>(case: &Case<'a>) -> Option<&'a str> {
    let found = told(case);
    let size = |sum: &Sum| (sum.missing - sum.turned_up).abs();
    let all: f64 = found.iter().map(|(_, sum)| size(sum)).sum();
    let (id, most) = found.iter().max_by(|a, b| size(&a.1).total_cmp(&size(&b.1)))?;
    let known = found.iter().all(|(_, sum)| !sum.known.has(Bits::UNKNOWN));
    (known && all > 0.0 && size(most) >= NEARLY_ALL * all).then(|| case.name(*id))
}

/// The places of which something is told, the largest first.
fn told(case: &Case) -> Vec<(PlaceId, Sum)> {
    let mut found = by_place(case);
    let unit = units::volume(case.facility.system);
    found.retain(|(_, sum)| unit.of(sum.missing.max(sum.turned_up)) >= 0.5);
    found.sort_by(|a, b| (b.1.missing + b.1.turned_up).total_cmp(&(a.1.missing + a.1.turned_up)));
    found
}

/// Writes the section; nothing where no reading met a computed figure.
pub fn write(case: &Case, doc: &mut Document) {
    let found = told(case);
    let unit = units::volume(case.facility.system);
    if found.is_empty() {
        return;
    }
    doc.anchored(3, "Unaccounted by place", ANCHOR);
    let mut table = Table::new(vec![
        Column::words("Place"),
        Column::figures("Short", unit.name),
        Column::figures("Over", unit.name),
        Column::figures("Net", unit.name),
        Column::words("What would explain it"),
    ])
    .caption("The largest first")
    .wide();
    let cells = |sum: &Sum| {
        let cell = |m3: f64| match basis(sum.known) {
            None if sum.known.has(Bits::UNKNOWN) => Cell::words("not shown"),
            Some(known) if unit.of(m3.abs()) >= 0.5 * 10_f64.powi(-i32::from(unit.digits)) => {
                Cell::figure(unit.of(m3), unit.digits, known)
            }
            _ => Cell::nothing(),
        };
        [cell(sum.missing), cell(sum.turned_up), cell(sum.missing - sum.turned_up)]
    };
    let shown: Vec<(&str, &Sum, &str)> =
        found.iter().take(MOST_PLACES).map(|(id, sum)| (case.name(*id), sum, explained(case, *id))).collect();
    // What would explain each of several stands once below.
    let common = shown.first().map(|(.., why)| *why).filter(|why| shown.iter().all(|(.., other)| other == why));
    let common = common.filter(|_| shown.len() > 1);
    for (name, sum, why) in &shown {
        let [short, over, net] = cells(sum);
        let why = if common.is_some() { "" } else { *why };
        table.row(vec![Cell::words(*name), short, over, net, Cell::words(why)]);
    }
    let mut all = Sum::default();
    for (_, sum) in &found {
        all.add(sum.missing, sum.turned_up, sum.known);
    }
    let [short, over, net] = cells(&all);
    table.sum(vec![Cell::words("All places"), short, over, net, Cell::words("")]);
    if let Some(why) = common {
        table.note(format!("What would explain each: {why}."));
        table.without_empty_columns();
    }
    if found.len() > MOST_PLACES {
        table.note(format!("{} more places, each smaller than these, are in the total.", found.len() - MOST_PLACES));
    }
    let account = case.ledger.account(case.period.0, case.period.1);
    // What depends on something not known is no figure elsewhere, and no part of a share here.
    let known = account.came_in.iter().filter(|(_, amount)| !amount.water_basis.has(Bits::UNKNOWN));
    let came_in: f64 = known.map(|(_, amount)| amount.water_m3).sum();
    let net = (all.missing - all.turned_up).abs();
    if net > 0.05 * came_in && came_in > 0.0 {
        let unknown = account.came_in.iter().any(|(_, amount)| amount.water_basis.has(Bits::UNKNOWN));
        let known = if unknown || rain_is_not_known(case) { "is known to have come in" } else { "came in" };
        table.note(format!(
            "Net, {} % of what {known} is unaccounted: computed figures of this report can be off by as much, and a look at \
             meters and assumptions comes first (above 5 %; common practice).",
            figures::number(100.0 * net / came_in, 0)
        ));
    }
    table.note(
        "Short: the balance has water that no record shows. Over: a record shows water that the balance does not have. From \
         day to day one often follows the other, so the net, which the year's water prints, hides a part of both.",
    );
    doc.table(table);
}

#[derive(Default)]
struct Sum {
    missing: f64,
    turned_up: f64,
    known: Bits,
}

impl Sum {
    fn add(&mut self, missing: f64, turned_up: f64, known: Bits) {
        self.missing += missing;
        self.turned_up += turned_up;
        self.known = self.known.or(known);
    }
}

fn by_place(case: &Case) -> Vec<(PlaceId, Sum)> {
    let mut sums: BTreeMap<PlaceId, Sum> = BTreeMap::new();
    let of = |node: Node| match node {
        Node::Place(id) | Node::Sludge(id) => Some(id),
        _ => None,
    };
    for way in case.ledger.ways() {
        let (place, out) = match (of(way.from), of(way.to)) {
            (Some(id), None) if way.to == Node::Unaccounted => (id, true),
            (None, Some(id)) if way.from == Node::Unaccounted => (id, false),
            _ => continue,
        };
        let amount = case.ledger.amount(case.period.0, case.period.1, |other| other == way);
        if amount.water_m3 > 0.0 {
            let (missing, turned_up) = if out { (amount.water_m3, 0.0) } else { (0.0, amount.water_m3) };
            sums.entry(place).or_default().add(missing, turned_up, amount.water_basis);
        }
    }
    sums.into_iter().collect()
}

/// What a grower would look at first.
fn explained(case: &Case, id: PlaceId) -> &'static str {
    match case.facility.get(id).map(|place| &place.kind) {
        Some(PlaceKind::Pond(_)) => {
            "level readings against rain, yards' runoff, evaporation and seepage; the gauge's datum"
        }
        Some(PlaceKind::Tank(_)) => "what was pumped or overflowed against what came; its level switch",
        Some(PlaceKind::Filter(_)) if !is_wash_on_file(case, id) => {
            "the meters on its ways in and out against one another; uses behind it whose water is not known"
        }
        Some(PlaceKind::Filter(_)) => "logged or metered wash water against the wash as typed: rate, minutes, vessels",
        Some(PlaceKind::Use(_)) => "metered water against the demand as typed: depth, area, days of watering",
        Some(PlaceKind::Supply(_)) => "its meter against what was drawn elsewhere; calibration, dial unit",
        Some(PlaceKind::Catchment(_)) => "runoff as typed: area, share that runs off, first rain soaked up",
        Some(PlaceKind::DischargePoint(_)) => "its meter or samples against what the place before it gave",
        _ => "a meter against the flows around it",
    }
}

/// Whether washes of a filter were logged, or their water metered.
fn is_wash_on_file(case: &Case, id: PlaceId) -> bool {
    let is_metered = |meter: &Meter| meter.from == id && meter.what.as_ref().is_some_and(|what| what.contains("wash"));
    case.timeline.washes.iter().any(|count| count.filter == id) || case.facility.meters.iter().any(is_metered)
}
