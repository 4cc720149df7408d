//! Shares of each parcel that a filter stops, by month.

use super::*;
use crate::balance::at::At;
use crate::filters::in_series;

/// Shares stopped of each class by one rule and opening, and whether they are not known.
pub(super) fn stopped(
    b: &mut Builder<'_>,
    stops: &Stops,
    opening: Option<uom::si::f64::Length>,
    opening_unknown: bool,
) -> (Vec<f64>, bool) {
    let classes = b.classes.clone();
    let nothing = vec![0.0; classes.count()];
    match stops {
        Stops::NotKnown => (nothing, true),
        Stops::AtOpening { bigger, smaller } => {
            let big = b.sampler.drawn(bigger);
            let small = smaller.as_ref().map(|s| b.sampler.drawn(s));
            let unknown = big.unknown || small.is_some_and(|s| s.unknown) || opening_unknown;
            let Some(opening) = opening else {
                return (nothing, true);
            };
            let small = small.map_or(0.0, |s| s.value);
            let shares = classes
                .coarser_than(opening)
                .into_iter()
                .map(|coarser| (coarser * big.value + (1.0 - coarser) * small).clamp(0.0, 1.0))
                .collect();
            (shares, unknown)
        }
        Stops::Table(rows) => {
            let mut unknown = false;
            let points = rows
                .iter()
                .map(|row| {
                    // The two go by one key, and the list of assumptions keeps the first: the share is what is assumed.
                    let (share, size) = (b.sampler.drawn(&row.share), b.sampler.drawn(&row.size));
                    unknown |= size.unknown || share.unknown;
                    (b.sampler.quantity(&row.size), uom::si::f64::Ratio::new::<ratio>(share.value))
                })
                .collect();
            let capture = Capture::by(CaptureCurve::Table(points)).by_class(&classes);
            (capture.shares, unknown)
        }
        Stops::AllSolids(share) => {
            let drawn = b.sampler.drawn(share);
            (vec![drawn.value.clamp(0.0, 1.0); classes.count()], drawn.unknown)
        }
    }
}

pub(super) fn by_parcel(b: &mut Builder<'_>, shares: &[f64]) -> Param {
    let values: Vec<f64> = b.plan.parcels.iter().map(|parcel| shares[parcel.class]).collect();
    b.ps(values)
}

/// Shares stopped by parcel, a set for each month.
pub(super) fn capture(b: &mut Builder<'_>, filter: &Filter) -> ([Param; 12], bool) {
    let decks = filter.kind.decks();
    if !decks.is_empty() {
        let mut unknown = false;
        let shares: Vec<Vec<f64>> = decks
            .iter()
            .map(|deck| {
                let opening = b.sampler.drawn(&deck.opening);
                let size = b.sampler.quantity(&deck.opening);
                let (shares, not_known) = stopped(b, &deck.stops, Some(size), opening.unknown);
                unknown |= not_known;
                shares
            })
            .collect();
        let both = in_series(&shares);
        return ([by_parcel(b, &both); 12], unknown);
    }
    match &filter.opening {
        None => {
            let (shares, unknown) = stopped(b, &filter.stops, None, false);
            ([by_parcel(b, &shares); 12], unknown)
        }
        Some(ByMonth(months)) => {
            let mut unknown = false;
            let mut sets: Vec<(f64, Param)> = Vec::new();
            let mut eta = [Param::nth(0); 12];
            for (slot, opening) in eta.iter_mut().zip(months) {
                let drawn = b.sampler.drawn(opening);
                let size = b.sampler.quantity(opening);
                // One set for months of one opening.
                let known = sets.iter().find(|(at, _)| at.to_bits() == drawn.value.to_bits());
                *slot = if let Some((_, set)) = known {
                    *set
                } else {
                    let (shares, not_known) = stopped(b, &filter.stops, Some(size), drawn.unknown);
                    unknown |= not_known;
                    let set = by_parcel(b, &shares);
                    sets.push((drawn.value, set));
                    set
                };
            }
            (eta, unknown)
        }
    }
}
