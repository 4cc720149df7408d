//! Parcels of solids and what filters catch of them.

use bywash::balance::Parcel;
use bywash::facility::kinds::{FilterKind, VibratingScreen};
use bywash::facility::model::{Capture, Concentrations, Facility, Filter};
use chrono::NaiveDate;

use super::given;
use super::grains;

/// Upper ends of the size classes, µm.
pub const EDGES_UM: [f64; 8] = [2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 300.0, 1000.0];

/// Lower and upper end of a class, µm; the first starts at 0.
pub fn ends_um(class: usize) -> (f64, f64) {
    (if class == 0 { 0.0 } else { EDGES_UM[class - 1] }, EDGES_UM[class])
}

/// The representative size of a class, µm: √(lo·hi), the first 1 µm.
pub fn size_um(class: usize) -> f64 {
    let (low, high) = ends_um(class);
    if class == 0 { 1.0 } else { (low * high).sqrt() }
}

/// The parcels that any kind of the facility has, by kind, then class.
pub fn parcels(facility: &Facility) -> Vec<(Parcel, f64)> {
    let mut all = Vec::new();
    for (kind, of) in facility.solids.iter().enumerate() {
        for (class, share) in grains::class_shares(of).into_iter().enumerate() {
            if share > 0.0 {
                all.push((Parcel { kind, class }, share));
            }
        }
    }
    all
}

/// Concentrations typed by kind or constituent, as solids by parcel and dissolved, kg/m³.
pub fn concentrations(facility: &Facility, parcels: &[(Parcel, f64)], typed: &Concentrations) -> (Vec<f64>, Vec<f64>) {
    let of =
        |name: &str| -> f64 { typed.iter().filter(|(n, _)| n == name).map(|(_, value)| given::kg_m3(value)).sum() };
    let solids = parcels.iter().map(|(p, share)| of(&facility.solids[p.kind].name) * share).collect();
    let dissolved = facility.dissolved.iter().map(|d| of(&d.name)).collect();
    (solids, dissolved)
}

/// Share caught of each parcel on a date.
pub fn capture(filter: &Filter, parcels: &[(Parcel, f64)], date: NaiveDate) -> Vec<f64> {
    let opening_um = filter.opening.as_ref().map(|by_month| given::m(by_month.on(date)) * 1e6);
    parcels
        .iter()
        .map(|(parcel, _)| match &filter.kind {
            FilterKind::VibratingScreen(VibratingScreen { decks, .. }) if !decks.is_empty() => {
                let passed: f64 = decks
                    .iter()
                    .map(|deck| 1.0 - caught(&deck.stops, Some(given::m(&deck.opening) * 1e6), parcel.class))
                    .product();
                1.0 - passed
            }
            _ => caught(&filter.stops, opening_um, parcel.class),
        })
        .collect()
}

fn caught(stops: &Capture, opening_um: Option<f64>, class: usize) -> f64 {
    match stops {
        Capture::NotKnown => 0.0,
        Capture::AllSolids(share) => given::share(share),
        Capture::AtOpening { bigger, smaller } => {
            let bigger = given::share(bigger);
            let smaller = smaller.as_ref().map_or(0.0, given::share);
            let above = share_above(opening_um.unwrap_or(0.0), class);
            above * bigger + (1.0 - above) * smaller
        }
        Capture::Table(rows) => grains::table_capture(rows, class),
    }
}

/// Share of a class above an opening, split in log size.
fn share_above(opening_um: f64, class: usize) -> f64 {
    let (low, high) = ends_um(class);
    if opening_um <= low {
        1.0
    } else if opening_um >= high {
        0.0
    } else {
        let low = if class == 0 { size_um(0) * size_um(0) / high } else { low };
        ((high / opening_um).ln() / (high / low).ln()).clamp(0.0, 1.0)
    }
}
