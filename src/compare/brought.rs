//! What the single run of an option brings to each filter and use by the size of its solids, read before the ledger forgets that.

use std::sync::Arc;

use uom::si::f64::Length;
use uom::si::length::meter;

use crate::balance::{Ledger, Node, Purpose, Selector};
use crate::compare::Computed;
use crate::facility::model::{Facility, PlaceId, PlaceKind};
use crate::science::particles::SizeClasses;

/// What comes to a place.
#[derive(Debug, Clone, Default)]
pub(super) struct Brought {
    /// Solids coarser than the target size in the water that is drawn for it, kg/m³; nought where no size is typed.
    pub coarse_kg_m3: f64,
    /// Water that comes to it and does not wash it, m³.
    pub water_m3: f64,
    /// Sizes, m, and the mass of each in that water, kg.
    pub solids: Vec<(f64, f64)>,
}

impl Computed {
    /// Solids coarser than the target size in the water drawn for a filter or a use, kg/m³.
    pub(super) fn coarse_kg_m3(&self, place: PlaceId) -> f64 {
        self.brought.get(place.0).map_or(0.0, |of| of.coarse_kg_m3)
    }
}

/// What comes to each filter and use, by its place; nothing to any other.
pub(super) fn brought(facility: &Facility, ledger: &Ledger, target_m: Option<f64>) -> Arc<[Brought]> {
    let upper = ledger.shape().class_upper_m.iter().map(|m| Length::new::<meter>(*m)).collect();
    let classes = SizeClasses::new(upper).ok();
    let of = |(index, kind): (usize, &PlaceKind)| match kind {
        PlaceKind::Filter(_) | PlaceKind::Use(_) => {
            let mut of = to(PlaceId(index), ledger, classes.as_ref());
            of.coarse_kg_m3 = target_m.zip(classes.as_ref()).map_or(0.0, |(target_m, classes)| {
                let drawn = Selector::to(Node::Place(PlaceId(index))).purpose(Purpose::Water);
                coarser(ledger, drawn, classes, target_m)
            });
            of
        }
        _ => Brought::default(),
    };
    facility.places.iter().map(|place| &place.kind).enumerate().map(of).collect()
}

fn to(place: PlaceId, ledger: &Ledger, classes: Option<&SizeClasses>) -> Brought {
    let sizes = classes.map(|classes| classes.representative_sizes()).unwrap_or_default();
    let solids = sizes.into_iter().map(|size| (size.value, 0.0)).collect();
    let mut out = Brought { coarse_kg_m3: 0.0, water_m3: 0.0, solids };
    for way in ledger.select(&Selector::to(Node::Place(place))) {
        // Water that washes it does not run through it.
        if matches!(ledger.ways()[way].purpose, Purpose::WashSupply | Purpose::Spray) {
            continue;
        }
        for day in 0..ledger.days() {
            out.water_m3 += ledger.water(day, way);
            for (mass, parcel) in ledger.solids_by_parcel(day, way).iter().zip(ledger.parcels()) {
                if let Some(slot) = out.solids.get_mut(parcel.class) {
                    slot.1 += mass;
                }
            }
        }
    }
    out
}

/// Solids coarser than a size in the water of ways, kg/m³. A class that the size cuts is shared out as the filters do.
fn coarser(ledger: &Ledger, selector: Selector, classes: &SizeClasses, target_m: f64) -> f64 {
    let shares = classes.coarser_than(Length::new::<meter>(target_m));
    let ways = ledger.select(&selector);
    let (mut water, mut coarse) = (0.0, 0.0);
    for day in 0..ledger.days() {
        for way in &ways {
            water += ledger.water(day, *way);
            for (mass, parcel) in ledger.solids_by_parcel(day, *way).iter().zip(ledger.parcels()) {
                coarse += mass * shares.get(parcel.class).copied().unwrap_or(0.0);
            }
        }
    }
    if water > 0.0 { coarse / water } else { 0.0 }
}
