//! The diagram of the facility, drawn from the ledger's ways.

use std::collections::BTreeMap;

use crate::balance::{Amount, Node, Purpose, WayAt};
use crate::facility::model::PlaceKind;
use crate::page::document::{Basis, Carries, Cue, Diagram, DiagramPlace, Document, OutsideName, Side, Way, figures};
use crate::report::inspection::about::{Case, basis};
use crate::report::units;

/// Writes the diagram.
pub fn write(case: &Case, doc: &mut Document) {
    doc.heading(2, "The facility and where its water goes");
    let diagram = diagram(case);
    let unit = units::large_volume(case.facility.system);
    let alt = alt(&diagram);
    doc.diagram(
        diagram,
        alt,
        format!(
            "Figures are {} over the period; upright metered, italic computed, [in brackets] assumed. A short bar at the \
             start of a way means that the far end draws. Not a survey.",
            unit.name
        ),
    );
}

fn alt(diagram: &Diagram) -> String {
    let ways: Vec<String> = diagram.ways.iter().map(|way| format!("{} to {}", way.from, way.to)).collect();
    format!("Diagram of {} places and {} ways: {}.", diagram.places.len(), ways.len(), ways.join("; "))
}

fn carries(purpose: Purpose) -> Carries {
    match purpose {
        Purpose::WashWater | Purpose::RinseWater | Purpose::DrainDown | Purpose::Drip => Carries::WashWater,
        Purpose::Screenings | Purpose::SpentMedia | Purpose::Settled | Purpose::CleanOut | Purpose::Liquor => {
            Carries::Solids
        }
        Purpose::Spill | Purpose::Bypass => Carries::Spill,
        _ => Carries::Water,
    }
}

/// The diagram: places in file order, ways that carried something.
pub fn diagram(case: &Case) -> Diagram {
    let mut drawing = Diagram::default();
    let unit = units::large_volume(case.facility.system);
    let (from, to) = case.period;
    for (i, place) in case.facility.places.iter().enumerate() {
        let id = crate::facility::model::PlaceId(i);
        let (kind, cue) = match &place.kind {
            PlaceKind::Supply(_) => {
                drawing.outside.push(OutsideName::new(place.name.clone(), Side::Left));
                continue;
            }
            PlaceKind::DischargePoint(point) => {
                let side = if point.kind == crate::facility::model::DischargeKind::HauledAway {
                    Side::Foot
                } else {
                    Side::Right
                };
                drawing.outside.push(OutsideName::new(place.name.clone(), side));
                continue;
            }
            PlaceKind::Catchment(_) => ("rain falls on", Cue::Plain),
            PlaceKind::Use(one) => (one.kind.words(), Cue::Plain),
            PlaceKind::Transfer(_) => ("transfer", Cue::Plain),
            PlaceKind::Filter(filter) => (filter.kind.words(), Cue::Filter),
            PlaceKind::Tank(_) => ("tank", Cue::Store),
            PlaceKind::Pond(_) => ("pond", Cue::Store),
        };
        let mut drawn = DiagramPlace::new(kind, place.name.clone()).cue(cue);
        if let PlaceKind::Filter(_) = place.kind {
            let totals = case.ledger.place_totals(id, from, to);
            let known = basis(totals.events_basis).unwrap_or(Basis::Computed);
            if totals.washes > 0 {
                drawn = drawn.figure(format!("{} washes", figures::number(f64::from(totals.washes), 0)), known);
            } else if totals.changes > 0 {
                drawn = drawn.figure(format!("{} changes", figures::number(f64::from(totals.changes), 0)), known);
            }
        }
        drawing.places.push(drawn);
    }
    let outside = [
        (Node::Rain, "Rain", Side::Top),
        (Node::Evaporation, "Evaporation", Side::Top),
        (Node::Seepage, "Seepage", Side::Foot),
        (Node::Crop, "Crop", Side::Foot),
    ];
    let mut ways: BTreeMap<(String, String, Carries), (Amount, bool)> = BTreeMap::new();
    for (index, way) in case.ledger.ways().each() {
        let drawable = |node: Node| matches!(node, Node::Place(_)) || outside.iter().any(|(known, ..)| *known == node);
        if !drawable(way.from) || !drawable(way.to) || !moved(case, index) {
            continue;
        }
        let amount = case.ledger.amount(from, to, |other| other == way);
        let name = |node: Node| case.ledger.label(node);
        let draws = matches!(way.purpose, Purpose::Water | Purpose::TopUp | Purpose::WashSupply | Purpose::Spray)
            && is_store_or_supply(case, way.from);
        let entry = ways.entry((name(way.from), name(way.to), carries(way.purpose))).or_default();
        entry.0.water_m3 += amount.water_m3;
        entry.0.solids_kg += amount.solids_kg;
        entry.0.water_basis = entry.0.water_basis.or(amount.water_basis);
        entry.1 |= draws;
    }
    for (node, _, side) in outside {
        let name = case.ledger.label(node);
        if ways.keys().any(|(a, b, _)| *a == name || *b == name) {
            drawing.outside.push(OutsideName::new(name, side));
        }
    }
    for ((a, b, what), (amount, draws)) in ways {
        let mut way = Way::new(a, b).carries(what);
        if draws {
            way = way.drawn();
        }
        let shown = unit.of(amount.water_m3);
        if shown >= 0.5 * 10_f64.powi(-i32::from(unit.digits)) {
            way = way.figure(
                figures::number(shown, unit.digits.min(2)),
                basis(amount.water_basis).unwrap_or(Basis::Assumed),
            );
        }
        drawing.ways.push(way);
    }
    drawing
}

fn moved(case: &Case, way: WayAt) -> bool {
    case.ledger
        .days_between(case.period.0, case.period.1)
        .any(|day| case.ledger.water(day, way) > 0.0 || case.ledger.solids(day, way) > 0.0)
}

fn is_store_or_supply(case: &Case, node: Node) -> bool {
    let Node::Place(id) = node else { return false };
    matches!(
        case.facility.get(id).map(|place| &place.kind),
        Some(PlaceKind::Supply(_) | PlaceKind::Tank(_) | PlaceKind::Pond(_))
    )
}
