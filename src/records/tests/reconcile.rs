//! Redundant meters.

use approx::assert_relative_eq;

use super::fixture::{BEDS, STORAGE, facility, read_rows};
use crate::facility::model::{Facility, PlaceId};
use crate::records::{MeteredWay, Timeline, reconcile};

/// The beds take from the storage pond (M4) and give to the tank (M5) and, as wash water, to the settling pond (M3).
fn metered_beds() -> Facility {
    let mut facility = facility();
    for (meter, from, to) in [(3, STORAGE, BEDS), (4, BEDS, 6)] {
        facility.meters[meter].from = PlaceId(from);
        facility.meters[meter].to = PlaceId(to);
        facility.meters[meter].counts_in = "m3".into();
        facility.meters[meter].one_count_m3 = 1.0;
    }
    facility.meters[2].counts_in = "m3".into();
    facility.meters[2].one_count_m3 = 1.0;
    facility
}

fn ways() -> Vec<MeteredWay> {
    [(STORAGE, BEDS), (BEDS, 6), (BEDS, 3)]
        .map(|(from, to)| MeteredWay { from: PlaceId(from), to: PlaceId(to), what: "water".into() })
        .to_vec()
}

fn timeline(facility: &Facility, beds_out: u32) -> Timeline {
    let rows = format!(
        "2025-07-11,M4 loop,reading,,0,,,,,,\n2025-07-12,M4 loop,reading,,100,,,,,,\n2025-07-11,M5 sewer,reading,,0,,,,,,\n2025-07-12,M5 sewer,reading,,{beds_out},,,,,,\n2025-07-11,M3 wash,reading,,0,,,,,,\n2025-07-12,M3 wash,reading,,37,,,,,,\n"
    );
    let (timeline, problems) = read_rows(facility, &rows);
    assert!(problems.is_empty(), "{:?}", problems.in_order());
    timeline
}

/// 100 in, 60 and 37 out: 3 m³ too many come in. At 2 % the variances are 4, 1.44 and 0.5476, 5.9876 in all; each meter
/// takes its share of the 3: 100 − 3·4/5.9876 = 97.99586, 60 + 3·1.44/5.9876 = 60.72149, 37 + 3·0.5476/5.9876 = 37.27437.
/// Each adjustment is 3/√5.9876 = 1.22601 of its standard deviations.
#[test]
fn three_meters_around_a_filter_share_their_difference_by_their_variances() {
    let facility = metered_beds();
    let first = super::fixture::date("2025-07-11");
    let table = reconcile(&facility, &timeline(&facility, 60), &ways(), first, 1).unwrap().unwrap();
    assert_eq!((table.days, table.places.as_slice()), (1, &[PlaceId(BEDS)][..]));
    assert_relative_eq!(table.imbalances_m3[0], 3.0, max_relative = 1e-12);
    let by_meter = |meter| table.meters.iter().find(|row| row.meter == meter).unwrap();
    for (meter, flow) in [(3, 97.995_858), (4, 60.721_491), (2, 37.274_367)] {
        assert_relative_eq!(by_meter(meter).reconciled_m3, flow, max_relative = 1e-7);
        assert_relative_eq!(by_meter(meter).adjustment.abs(), 1.226_01, max_relative = 1e-5);
        assert!(!by_meter(meter).suspect);
    }
}

#[test]
fn a_meter_far_off_is_suspect_and_a_way_without_a_meter_reconciles_nothing() {
    let facility = metered_beds();
    let first = super::fixture::date("2025-07-11");
    let table = reconcile(&facility, &timeline(&facility, 30), &ways(), first, 1).unwrap().unwrap();
    assert!(table.meters.iter().any(|row| row.suspect));
    let mut more = ways();
    more.push(MeteredWay { from: PlaceId(BEDS), to: PlaceId(OUTSIDE), what: "bypass".into() });
    assert_eq!(reconcile(&facility, &timeline(&facility, 60), &more, first, 1), Ok(None));
}

const OUTSIDE: usize = super::fixture::OUTFALL;
