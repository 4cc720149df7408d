//! Test solids: what share of a slug of each size in front of the filters would come through to a use.
//!
//! A slug stands in the water of every pond and of whatever runs off or comes back from a use, and in that of a supply that
//! brings solids. Filters stop their share by size as typed, at the widest opening of the year; water that passes a filter by
//! carries all of it; waters mix by their year's volumes in the single run.

use uom::si::f64::{Length, Ratio};

use crate::balance::{Node, Purpose};
use crate::compare::Computed;
use crate::facility::model::{Capture, CaptureRow, Facility, Filter, PlaceId, PlaceKind};
use crate::files::Given;
use crate::quantity::ByMonth;
use crate::science::particles::SizeClasses;

/// Rounds after which waters that go round have mixed.
const ROUNDS: usize = 200;

/// The ways of an option that carry water through filters to the uses.
#[derive(Debug)]
pub(super) struct Trains<'a> {
    of: &'a Computed,
    facility: &'a Facility,
    sizes_m: Vec<f64>,
    /// Ways of water between places: from, to, whether it passes the filter it comes from by, m³.
    ways: Vec<(PlaceId, PlaceId, bool, f64)>,
}

impl<'a> Trains<'a> {
    /// Those of an option; sizes are the middles of the classes coarser than the target.
    pub(super) fn new(of: &'a Computed, target_m: f64) -> Self {
        let (facility, ledger) = (&of.alternative.facility, &of.run.ledger);
        let upper = ledger.shape().class_upper_m.iter().map(|m| Length::new::<uom::si::length::meter>(*m)).collect();
        let classes = SizeClasses::new(upper).unwrap_or_default();
        let sizes_m =
            classes.representative_sizes().into_iter().map(|size| size.value).filter(|m| *m > target_m).collect();
        let mut ways = Vec::new();
        for (at, way) in ledger.ways().each() {
            // Water that washes a filter does not pass through it.
            if let (Node::Place(from), Node::Place(to)) = (way.from, way.to)
                && !matches!(way.purpose, Purpose::WashSupply | Purpose::Spray)
            {
                let water: f64 = (0..ledger.days()).map(|day| ledger.water(day, at)).sum();
                let by = !matches!(way.purpose, Purpose::Water | Purpose::TopUp);
                ways.push((from, to, by, water));
            }
        }
        Self { of, facility, sizes_m, ways }
    }

    /// The sizes of the slugs, m.
    pub(super) fn sizes_m(&self) -> &[f64] {
        &self.sizes_m
    }

    /// The share of each slug that comes through to a use; an error where what a filter stops is not known.
    pub(super) fn passed(&self, to: PlaceId) -> Result<Vec<f64>, PlaceId> {
        let before = self.before(to);
        self.sizes_m.iter().map(|size| self.share(to, *size, &before)).collect()
    }

    /// Solids coarser than the target that reach a use or a filter on the way to it, kg/m³: the most of them.
    pub(super) fn arrives(&self, to: PlaceId) -> f64 {
        let before = self.before(to);
        let filters = before.iter().filter(|id| matches!(self.kind(**id), Some(PlaceKind::Filter(_))));
        filters.chain([&to]).map(|id| self.of.coarse_kg_m3(*id)).fold(0.0, f64::max)
    }

    fn kind(&self, id: PlaceId) -> Option<&PlaceKind> {
        self.facility.get(id).map(|place| &place.kind)
    }

    /// Filters, tanks and transfers that a use's water has come through since it stood where a slug stands.
    fn before(&self, to: PlaceId) -> Vec<PlaceId> {
        let mut seen = Vec::new();
        let mut ahead = vec![to];
        while let Some(at) = ahead.pop() {
            for (from, _, _, water) in self.ways.iter().filter(|way| way.1 == at) {
                let passes = matches!(
                    self.kind(*from),
                    Some(PlaceKind::Filter(_) | PlaceKind::Tank(_) | PlaceKind::Transfer(_))
                );
                if *water > 0.0 && passes && !seen.contains(from) {
                    seen.push(*from);
                    ahead.push(*from);
                }
            }
        }
        seen
    }

    fn share(&self, to: PlaceId, size_m: f64, before: &[PlaceId]) -> Result<f64, PlaceId> {
        let mut let_through = vec![1.0; self.facility.places.len()];
        for id in before {
            if let Some(PlaceKind::Filter(filter)) = self.kind(*id)
                && let Some(slot) = let_through.get_mut(id.0)
            {
                *slot = 1.0 - stopped_at(filter, size_m).ok_or(*id)?;
            }
        }
        // What stands in the water of each place, from 1 everywhere until waters that go round have mixed.
        let mut share: Vec<f64> = self.facility.places.iter().map(|place| at_the_start(&place.kind)).collect();
        let mixed = |share: &[f64], at: PlaceId| -> f64 {
            let (mut water, mut slug) = (0.0, 0.0);
            for (from, _, by, m3) in self.ways.iter().filter(|way| way.1 == at) {
                let through = if *by { 1.0 } else { let_through.get(from.0).copied().unwrap_or(1.0) };
                water += m3;
                slug += m3 * through * share.get(from.0).copied().unwrap_or(1.0);
            }
            if water > 0.0 { slug / water } else { 1.0 }
        };
        for _ in 0..ROUNDS {
            for id in before {
                let now = mixed(&share, *id);
                if let Some(slot) = share.get_mut(id.0) {
                    *slot = now;
                }
            }
        }
        Ok(mixed(&share, to))
    }
}

/// What stands in a place's water as it leaves there.
fn at_the_start(kind: &PlaceKind) -> f64 {
    match kind {
        PlaceKind::Supply(of) if of.brings.is_empty() => 0.0,
        _ => 1.0,
    }
}

/// The middle of a range, or nothing where it is not known.
fn middle<Q: Copy + std::ops::Add<Output = Q> + std::ops::Mul<f64, Output = Q>>(given: &Given<Q>) -> Option<Q> {
    given.ends().map(|(low, high)| (low + high) * 0.5)
}

/// The share of solids of one size that a filter stops, in the middle of what is typed.
pub(super) fn stopped_at(filter: &Filter, size_m: f64) -> Option<f64> {
    let decks = filter.kind.decks();
    if !decks.is_empty() {
        let passed: Option<f64> =
            decks.iter().map(|deck| Some(1.0 - by_rule(&deck.stops, Some(&deck.opening), size_m)?)).product();
        return Some(1.0 - passed?);
    }
    let widest = filter.opening.as_ref().and_then(widest);
    by_rule(&filter.stops, widest, size_m)
}

/// The widest opening of the year.
fn widest(opening: &ByMonth<Given<Length>>) -> Option<&Given<Length>> {
    let at = |given: &Given<Length>| middle(given).map_or(f64::INFINITY, |m| m.value);
    opening.0.iter().max_by(|a, b| at(a).total_cmp(&at(b)))
}

fn by_rule(stops: &Capture, opening: Option<&Given<Length>>, size_m: f64) -> Option<f64> {
    let share = |given: &Given<Ratio>| middle(given).map(|of| of.value.clamp(0.0, 1.0));
    match stops {
        Capture::NotKnown => None,
        Capture::AllSolids(all) => share(all),
        Capture::AtOpening { bigger, smaller } => {
            if size_m > middle(opening?)?.value {
                share(bigger)
            } else {
                smaller.as_ref().map_or(Some(0.0), share)
            }
        }
        Capture::Table(rows) => table(rows, size_m),
    }
}

/// Between the rows of a table in proportion in log size; beyond its ends as at the end.
fn table(rows: &[CaptureRow], size_m: f64) -> Option<f64> {
    let mut points: Vec<(f64, f64)> = rows
        .iter()
        .map(|row| Some((middle(&row.size)?.value.ln(), middle(&row.share)?.value.clamp(0.0, 1.0))))
        .collect::<Option<_>>()?;
    points.sort_by(|a, b| a.0.total_cmp(&b.0));
    let at = size_m.ln();
    let above = points.partition_point(|point| point.0 < at);
    match (above.checked_sub(1).and_then(|below| points.get(below)), points.get(above)) {
        (Some(low), Some(high)) => Some(low.1 + (at - low.0) / (high.0 - low.0) * (high.1 - low.1)),
        (Some(end), None) | (None, Some(end)) => Some(end.1),
        (None, None) => None,
    }
}
