//! The depth of the settling pool, where it may be any of a range: the one with which the pond is the least.
//!
//! A deeper pool lets water stay longer and gives what settles more surface; it takes room from all that lies over it, and
//! stands the higher the more sludge lies under it. So nothing that is known of one depth rules another out, and each is
//! searched by itself.

use super::whole::begun;
use super::*;

/// How a depth comes out, the better the less: what it misses, whether its run keeps it, and what is to be least.
type Rank = (bool, bool, f64);

/// The duties with the depth of the pool with which the pond is the least; as they are where one depth is typed, and with
/// the least of the range where none gives a pond.
pub(super) fn at_the_best_pool(site: Site, duties: Duties, progress: &dyn Fn(&str)) -> Result<Duties, Problems> {
    if duties.pool_range.is_none() {
        return Ok(duties);
    }
    let quiet = |_: &str| {};
    let mut best: Option<(Rank, Duties)> = None;
    for duties in duties.at_each_pool() {
        progress("searching with another depth of the settling pool");
        let rank = begun(site, &duties, &quiet, |asked, demands, basics| {
            Ok(asked.least(demands, basics, &quiet)?.ok().map(|chosen| {
                let least = chosen.demands.objective(&chosen.found.basin);
                (!chosen.missed_as_typed.is_empty(), !chosen.is_kept, least)
            }))
        })?;
        let Some(rank) = rank else { continue };
        let is_better = |(held, _): &(Rank, Duties)| {
            (rank.0, rank.1).cmp(&(held.0, held.1)).then(rank.2.total_cmp(&held.2)).is_lt()
        };
        if best.as_ref().is_none_or(is_better) {
            best = Some((rank, duties));
        }
    }
    Ok(best.map_or_else(|| duties.at_the_least_pool(), |(_, duties)| duties))
}
