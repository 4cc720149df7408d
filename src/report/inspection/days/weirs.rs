//! Days of which a weir tells.

use std::collections::BTreeSet;

use chrono::NaiveDate;

use crate::facility::model::PlaceId;
use crate::report::inspection::about::Case;

/// The days of the period of which a weir before an outfall tells, each by itself, by the place before it.
pub fn weirs(case: &Case, id: PlaceId) -> Vec<(PlaceId, BTreeSet<NaiveDate>)> {
    let (from, to) = case.period;
    let days = usize::try_from((to - from).num_days() + 1).unwrap_or(0);
    let here = case.facility.meters.iter().enumerate().filter(|(_, meter)| meter.to == id && meter.weir.is_some());
    here.map(|(index, meter)| {
        let read = case.timeline.meter_days(case.facility, index, from, days);
        let told = from.iter_days().zip(read).filter(|(_, day)| day.as_ref().is_some_and(|day| day.metered));
        (meter.from, told.map(|(date, _)| date).collect())
    })
    .collect()
}
