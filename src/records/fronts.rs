//! Dials of which a part is written, or whose point parts thousands, as the keeper of their sheet says.

use crate::facility::model::Meter;
use crate::quantity::Decimal;
use crate::records::Repair;
use crate::records::row::{Entry, Written};
use crate::records::unlikely::is_checked;
use crate::told::{Problem, Problems, many};

/// What is told of tails.
pub(super) const TAIL: &str = "written as the tail of the dial, the front being that of the reading before";

/// What is told of points.
pub(super) const THOUSANDS: &str = "with a point read as one of thousands, as large as those beside";

/// What is told of points that were lost.
pub(super) const POINTS: &str = "without its point, ten times or more what stands beside it; the point put back";

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
            let thousands = shows.times(Decimal::whole(1000))?;
            let whole = thousands.floor().filter(|whole| *whole == thousands);
            Some((at, whole.unwrap_or(thousands))).filter(|_| is_small)
        })
        .collect()
}

/// A reading so many times the one before it may have lost its point. Common practice, no source.
const LOST_POINT_TIMES: i64 = 5;

/// The readings that have lost their point, by their place among all, with what they show: whole ones far above the reading
/// before them, which run on from it once the point stands where the others have it.
pub(crate) fn points_lost(shown: &[Decimal]) -> Vec<(usize, Decimal)> {
    let mut found = Vec::new();
    let mut last: Option<Decimal> = None;
    let mut places = shown.iter().map(|shows| shows.places()).find(|places| *places > 0).unwrap_or(0);
    for (at, shows) in shown.iter().enumerate() {
        if shows.places() > 0 {
            places = shows.places();
        }
        let put_back = || {
            let before = last.filter(|before| places > 0 && shows.places() == 0 && *before > Decimal::ZERO)?;
            let with_point =
                Decimal::parse(&format!("0.{}1", "0".repeat(usize::try_from(places).ok()? - 1)))?.times(*shows)?;
            let runs_on = before <= with_point && with_point <= before.times(Decimal::whole(2))?;
            (*shows > before.times(Decimal::whole(LOST_POINT_TIMES))? && runs_on).then_some(with_point)
        };
        let put_back = put_back();
        found.extend(put_back.map(|with_point| (at, with_point)));
        last = Some(put_back.unwrap_or(*shows));
    }
    found
}

/// Asks about readings that may have lost their point.
pub(super) fn ask_points(meter: &Meter, dials: &[(&Entry, Decimal)], points: &[(usize, Decimal)], problems: &Problems) {
    let of = |at: &usize| dials.get(*at).map(|(entry, shows)| (*entry, shows));
    let mut open = points.iter().filter_map(|(at, with_point)| Some((of(at)?, with_point)));
    let Some(((entry, shows), with_point)) =
        open.find(|((entry, _), _)| entry.row.written == Written::AsShown && !is_checked(&entry.source()))
    else {
        return;
    };
    let more = match points.len() {
        1 => String::new(),
        count => format!("; {} likewise", many(count - 1, "more reading")),
    };
    problems.add(
        Problem::warning(&entry.place(), format!("{}: has {shows} lost its point? It would run on as {with_point}{more}", meter.name))
            .hint("write it with its point; for a sheet `bywash sheet FILE --lost-points \"put back\"`; if it is right, write `checked` in its note"),
    );
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

#[cfg(test)]
mod tests {
    use super::points_lost;
    use crate::quantity::Decimal;

    /// 25,050.1 after 24,837.5, and the 26,222.6 that kept its point between two that did not.
    #[test]
    fn a_whole_reading_ten_times_the_one_before_has_lost_its_point() {
        let shown = ["24830.1", "24837.5", "250501", "252049", "26222.6", "263440", "27519", "28071.4"];
        let shown: Vec<Decimal> = shown.iter().map(|text| Decimal::parse(text).unwrap()).collect();
        let found: Vec<(usize, String)> =
            points_lost(&shown).into_iter().map(|(at, shows)| (at, shows.to_string())).collect();
        let expected = [(2, "25050.1"), (3, "25204.9"), (5, "26344.0")].map(|(at, text)| (at, text.to_owned()));
        assert_eq!(found, expected);
        // Whole dials have no point to lose, however far they jump.
        let whole: Vec<Decimal> = ["100", "2000", "2500"].iter().map(|text| Decimal::parse(text).unwrap()).collect();
        assert_eq!(points_lost(&whole), []);
    }
}
