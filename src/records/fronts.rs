//! Dials of which a part is written, or whose point parts thousands, as the keeper of their sheet says.

use crate::facility::model::Meter;
use crate::quantity::Decimal;
use crate::records::Repair;
use crate::records::row::{Entry, Written};
use crate::told::many;

/// What is told of tails.
pub(super) const TAIL: &str = "written as the tail of the dial, the front being that of the reading before";

/// What is told of points.
pub(super) const THOUSANDS: &str = "with a point read as one of thousands, as large as those beside";

/// So many times as large is the reading beside one whose point parts thousands: a dial may begin anew at a tenth of it.
const TIMES: i64 = 100;

/// A dial whose front is that of the reading before it; none where its tail went back.
pub(super) fn with_front(before: Decimal, tail: Decimal) -> Option<Decimal> {
    let shows = before.floor()?.plus(tail)?;
    (shows >= before).then_some(shows)
}

/// The readings whose point parts thousands, by their place, with what they show: those that are a hundredth or less of the
/// nearest reading without such a point, before them or else after.
pub(super) fn of_thousands(dials: &[(&Entry, Decimal)]) -> Vec<(usize, Decimal)> {
    let is_plain = |at: &usize| dials.get(*at).is_some_and(|(entry, _)| entry.row.written != Written::PointOfThousands);
    (0..dials.len())
        .filter(|at| !is_plain(at))
        .filter_map(|at| {
            let beside = (0..at).rev().find(is_plain).or_else(|| (at + 1..dials.len()).find(is_plain))?;
            let (beside, shows) = (dials.get(beside)?.1, dials.get(at)?.1);
            let is_small = shows.times(Decimal::whole(TIMES))? <= beside;
            Some((at, shows.times(Decimal::whole(1000))?)).filter(|_| is_small)
        })
        .collect()
}

/// That readings of a meter were read in a way of their own, in one sentence.
pub(super) fn told(meter: &Meter, entries: &[&Entry], how: &str) -> Option<Repair> {
    let first = entries.first()?;
    let count = many(entries.len(), "reading");
    Some(Repair {
        place: first.place(),
        sentence: format!("{}: {count} {how}; the first of {}", meter.name, first.row.stamp.date),
    })
}
