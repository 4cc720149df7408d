//! Washes and changes as they were logged.

use chrono::NaiveDate;

use super::clock::{DAY, start_of};
use super::counts::{Amounts, Channel, Piece};
use crate::facility::model::{Facility, PlaceId};
use crate::records::Timeline;
use crate::rules::Number;
use crate::rules::measure::readings::evidence;
use crate::rules::window::windows::{days_label, later};

/// What filters' logs count of washes, or of changes, by the end of a day, a channel a filter. A log kept by date covers
/// whole days.
pub(crate) fn wash_log(
    filters: &[PlaceId],
    changes: bool,
    facility: &Facility,
    timeline: &Timeline,
    as_of: NaiveDate,
) -> Amounts {
    let channels = filters
        .iter()
        .map(|filter| {
            let name = facility.get(*filter).map_or("", |site| site.name.as_str());
            let mut pieces: Vec<(Piece, bool)> = timeline
                .washes
                .iter()
                .filter(|count| count.filter == *filter && count.changes == changes)
                .filter_map(|count| {
                    let last = later(count.first_day, count.days.saturating_sub(1));
                    if last > as_of {
                        return None;
                    }
                    let what = if count.changes { "changes" } else { "washes" };
                    let text = format!("{} {what} over {}", count.count, days_label(count.first_day, last));
                    let time = (start_of(count.first_day), start_of(last) + DAY);
                    let piece = Piece {
                        outer: time,
                        inner: time,
                        amount: Number::whole(i128::from(count.count)),
                        text: text.clone(),
                        evidence: vec![evidence(last, text, &count.source)],
                        known_on: last,
                        carried: false,
                    };
                    Some((piece, false))
                })
                .collect();
            pieces.sort_by_key(|(piece, _)| piece.outer);
            Channel::new(format!("the log of {name}"), pieces, true)
        })
        .collect();
    Amounts { channels }
}
