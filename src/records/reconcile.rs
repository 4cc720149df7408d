//! Redundant meters held against one another: a side table. The ledger books meters as they were read.

use chrono::NaiveDate;

use crate::facility::model::{Facility, PlaceId, PlaceKind};
use crate::records::Timeline;
use crate::science::numerics::least_squares;
use crate::science::numerics::least_squares::LeastSquaresError;

/// A way on which water moves, as the facility's plan has it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MeteredWay {
    /// Where it starts.
    pub from: PlaceId,
    /// Where it ends.
    pub to: PlaceId,
    /// What moves on it: `water`, `wash water`.
    pub what: String,
}

/// A meter in the side table.
#[derive(Debug, Clone, PartialEq)]
pub struct ReconciledMeter {
    /// Index into `Facility::meters`.
    pub meter: usize,
    /// As read over the days that all of them cover, m³.
    pub read_m3: f64,
    /// As it would be if all balances closed, m³.
    pub reconciled_m3: f64,
    /// The adjustment over its own standard deviation.
    pub adjustment: f64,
    /// Whether that is beyond ±3: the meter, or one that stands beside it, is suspect.
    pub suspect: bool,
}

/// The side table of redundant meters.
#[derive(Debug, Clone, PartialEq)]
pub struct Reconciliation {
    /// The days that all its meters cover.
    pub days: usize,
    /// The places whose every way has a meter.
    pub places: Vec<PlaceId>,
    /// What each of them was off by, in less out, m³.
    pub imbalances_m3: Vec<f64>,
    /// The meters.
    pub meters: Vec<ReconciledMeter>,
}

/// Standard deviation of a meter's total, as a share of it, where `off by` does not say. Common practice, no source: utility meters are kept within
/// 2 % when new, and old ones read low.
pub const METER_SHARE: f64 = 0.02;

/// An adjustment beyond this many standard deviations makes a meter suspect.
const SUSPECT: f64 = 3.0;

/// Holds meters against one another wherever every way of a place that keeps no water has one, over the days from
/// `first` that all of them cover. None where there is no such place, or no such day.
///
/// # Errors
/// When the balances contradict one another so that nothing can be reconciled.
pub fn reconcile(
    facility: &Facility,
    timeline: &Timeline,
    ways: &[MeteredWay],
    first: NaiveDate,
    days: usize,
) -> Result<Option<Reconciliation>, LeastSquaresError> {
    let meter_on = |way: &MeteredWay| {
        facility.meters.iter().position(|meter| {
            meter.from == way.from && meter.to == way.to && meter.what.as_ref().is_none_or(|what| *what == way.what)
        })
    };
    // One meter without a word of what moves can't stand for two ways between the same places.
    let alone = |way: &MeteredWay, meter: usize| {
        facility.meters.get(meter).is_some_and(|meter| meter.what.is_some())
            || ways.iter().filter(|other| other.from == way.from && other.to == way.to).count() == 1
    };
    let mut balances: Vec<(PlaceId, Vec<(usize, f64)>)> = Vec::new();
    for (index, site) in facility.places.iter().enumerate() {
        let id = PlaceId(index);
        if !matches!(site.kind, PlaceKind::Filter(_) | PlaceKind::Transfer(_)) {
            continue;
        }
        let touching: Vec<&MeteredWay> = ways.iter().filter(|way| way.from == id || way.to == id).collect();
        let terms: Option<Vec<(usize, f64)>> = touching
            .iter()
            .map(|way| {
                let meter = meter_on(way).filter(|meter| alone(way, *meter))?;
                Some((meter, if way.to == id { 1.0 } else { -1.0 }))
            })
            .collect();
        if let Some(terms) = terms.filter(|terms| terms.len() >= 2) {
            balances.push((id, terms));
        }
    }
    let mut used: Vec<usize> = balances.iter().flat_map(|(_, terms)| terms.iter().map(|(meter, _)| *meter)).collect();
    used.sort_unstable();
    used.dedup();
    let series: Vec<_> = used.iter().map(|meter| timeline.meter_days(facility, *meter, first, days)).collect();
    let shared: Vec<usize> =
        (0..days).filter(|day| series.iter().all(|days| days.get(*day).is_some_and(Option::is_some))).collect();
    if balances.is_empty() || shared.is_empty() {
        return Ok(None);
    }
    let read: Vec<f64> = series
        .iter()
        .map(|days| {
            shared.iter().filter_map(|day| days.get(*day).and_then(Option::as_ref)).map(|day| day.middle_m3).sum()
        })
        .collect();
    // A meter that counted nothing still may be off by a little.
    let share = |meter: usize| {
        let typed = facility.meters.get(meter).and_then(|m| m.off_by.as_ref());
        typed.and_then(|given| given.ends()).map_or(METER_SHARE, |(low, high)| 0.5 * (low + high).value)
    };
    let deviations: Vec<f64> =
        used.iter().zip(&read).map(|(meter, total): (&usize, &f64)| (total * share(*meter)).max(1e-6)).collect();
    let rows: Vec<Vec<f64>> = balances
        .iter()
        .map(|(_, terms)| {
            used.iter()
                .map(|meter| terms.iter().filter(|(term, _)| term == meter).map(|(_, sign)| sign).sum())
                .collect()
        })
        .collect();
    let solved = least_squares::reconcile(&read, &deviations, &rows)?;
    let meters = used
        .iter()
        .zip(&read)
        .zip(solved.flows.iter().zip(&solved.standardised_adjustments))
        .map(|((meter, read), (flow, adjustment))| ReconciledMeter {
            meter: *meter,
            read_m3: *read,
            reconciled_m3: *flow,
            adjustment: *adjustment,
            suspect: adjustment.abs() > SUSPECT,
        })
        .collect();
    Ok(Some(Reconciliation {
        days: shared.len(),
        places: balances.into_iter().map(|(place, _)| place).collect(),
        imbalances_m3: solved.imbalances,
        meters,
    }))
}
