//! What a log and a filter's lines say that does not go together: washes by the clock while no water flows, and washes logged by
//! another unit than the facility file's.

use uom::si::f64::Time;

use crate::balance::{GoverningTrigger, Ledger};
use crate::compare::figures::plain;
use crate::compare::log::{Against, Measure};
use crate::facility::model::{Facility, Filter, PlaceId, PlaceKind, Trigger};
use crate::files::Given;

/// How near to a whole number of vessels a ratio has to be (common practice, no source).
const NEAR: f64 = 0.15;

fn filters(facility: &Facility) -> impl Iterator<Item = (PlaceId, &str, &Filter)> {
    facility.places.iter().enumerate().filter_map(|(index, place)| match &place.kind {
        PlaceKind::Filter(filter) => Some((PlaceId(index), place.name.as_str(), filter.as_ref())),
        _ => None,
    })
}

/// The clock that sets off a filter's washes or changes; none where it has none.
fn clock_of(filter: &Filter) -> Option<&Given<Time>> {
    let cadences = filter.wash.iter().map(|of| &of.cadence).chain(filter.change.iter().map(|of| &of.cadence));
    cadences.flat_map(|of| of.triggers.iter()).find_map(|trigger| match trigger {
        Trigger::Clock(every) => Some(every),
        _ => None,
    })
}

/// Washes or changes before which no water came since the one before, where a clock sets them off: how many, and the line that would
/// count running hours. None where there are none.
pub(super) fn by_the_clock(ledger: &Ledger, id: PlaceId, filter: &Filter) -> Option<(u32, String)> {
    let clock = clock_of(filter)?;
    let did = ledger.filter(id)?;
    let (mut idle, mut since) = (0, 0.0);
    for (events, water) in did.events.iter().zip(&did.net_m3) {
        since += water;
        if *events > 0 {
            idle += if since > 0.0 { 0 } else { *events };
            since = 0.0;
        }
    }
    // A wash draws water of its own through a filter: what it passes on is what it runs for.
    let running: Vec<f64> =
        did.running_h.iter().zip(&did.net_m3).filter(|(_, net)| **net > 0.0).map(|(hours, _)| *hours).collect();
    if idle == 0 || running.is_empty() {
        return None;
    }
    // As many hours with water as pass in that time on days with water.
    let share = running.iter().sum::<f64>() / running.len() as f64 / 24.0;
    let (low, high) = every_hours(clock.ends()?, share);
    let hours = if low == high { low } else { format!("{low} to {high}") };
    let key = clock.key.rsplit(" / ").next().unwrap_or("every");
    Some((idle, format!("`{key}: {hours} running hours` in place of `{key}: {}`", clock.text)))
}

/// The clock that sets off nearly all washes or changes of a filter in the computation: its hours in the middle, and its line. None where
/// something else sets them off.
pub(super) fn set_off_by_a_clock(ledger: &Ledger, id: PlaceId, filter: &Filter) -> Option<(f64, String)> {
    /// Nearly all of them (common practice, no source).
    const NEARLY_ALL: f64 = 0.95;
    let clock = clock_of(filter)?;
    let did = ledger.filter(id)?;
    let by = |is_meant: &dyn Fn(Option<GoverningTrigger>) -> bool| -> u32 {
        did.events.iter().zip(&did.trigger).filter(|(_, trigger)| is_meant(**trigger)).map(|(events, _)| *events).sum()
    };
    let (all, set_off) = (by(&|_| true), by(&|trigger| trigger == Some(GoverningTrigger::Clock)));
    let (low, high) = clock.ends()?;
    let line = format!("`{}: {}`", clock.key.rsplit(" / ").next().unwrap_or("every"), clock.text);
    (all > 0 && f64::from(set_off) >= NEARLY_ALL * f64::from(all))
        .then(|| (0.5 * (low.value + high.value) / 3600.0, line))
}

fn every_hours((low, high): (uom::si::f64::Time, uom::si::f64::Time), share: f64) -> (String, String) {
    let one = |time: uom::si::f64::Time| plain((time.value / 3600.0 * share).max(1.0), 0);
    (one(low), one(high))
}

/// Whether clearly fewer washes or changes of a filter were logged than are computed; not where nobody logged any.
pub fn fewer_logged(log: &[Against], id: PlaceId) -> bool {
    /// So many times as many are clearly more (common practice, no source).
    const CLEARLY: f64 = 1.25;
    let of = log.iter().find(|of| of.at == id && of.measure == Measure::Events);
    of.is_some_and(|of| {
        let (logged, computed) = of.pairs.iter().fold((0.0, 0.0), |(l, c), pair| (l + pair.1, c + pair.2));
        logged * CLEARLY < computed
    })
}

/// What is told of each filter meant that washes or is changed by the clock while nothing flows, in the computation without records.
pub fn idle_washes(facility: &Facility, ledger: &Ledger, is_meant: &dyn Fn(PlaceId, &str) -> bool) -> Vec<String> {
    let told = filters(facility).filter(|(id, name, _)| is_meant(*id, name)).filter_map(|(id, name, filter)| {
        let (idle, write) = by_the_clock(ledger, id, filter)?;
        let (word, done) = if filter.wash.is_some() { ("washes", "it is washed") } else { ("changes", "it is changed") };
        Some(format!(
            "{name}: in the computation {idle} {word} are by the clock with no water since the one before; if {done} only \
             while it runs, write {write}"
        ))
    });
    told.collect()
}

/// What is asked of each filter whose log and meter together say that its vessels were counted one by one.
pub fn logged_by_vessel(facility: &Facility, log: &[Against]) -> Vec<String> {
    let sums = |id: PlaceId, measure: Measure| {
        let of = log.iter().find(|of| of.at == id && of.measure == measure)?;
        let (logged, computed) = of.pairs.iter().fold((0.0, 0.0), |sum, pair| (sum.0 + pair.1, sum.1 + pair.2));
        (logged > 0.0 && computed > 0.0).then_some((logged, computed))
    };
    let asked = filters(facility).filter_map(|(id, name, filter)| {
        let vessels = filter.wash.as_ref()?.vessels;
        let (events, water) = (sums(id, Measure::Events)?, sums(id, Measure::WashWater)?);
        let (logged, computed) = (water.0 / events.0, water.1 / events.1);
        let times = computed / logged;
        if vessels < 2 || (times / f64::from(vessels) - 1.0).abs() > NEAR {
            return None;
        }
        Some(format!(
            "{name}: {} washes logged and {} m3 metered are {} m3 a wash, and one wash takes {} m3 by its lines, {} times that, as if \
             each of its {vessels} vessels was counted: is it so? Then write the washes of all {vessels} as one",
            plain(events.0, 0),
            plain(water.0, 0),
            plain(logged, 1),
            plain(computed, 1),
            plain(times, 1)
        ))
    });
    asked.collect()
}
