//! What the timeline says of each day: volumes by meter with their bounds, washes by filter.

use chrono::{Duration, NaiveDate, NaiveDateTime, NaiveTime};

use crate::facility::model::{Facility, PlaceId};
use crate::records::{MeterSpan, Timeline, WashCount};
use crate::weather::{Stretch, snapped, spread};

/// What a meter says of one day, m³.
#[derive(Debug, Clone, PartialEq)]
pub struct MeterDay {
    /// The least the readings allow.
    pub low_m3: f64,
    /// The day's volume, or its even share of a reading that spans days.
    pub middle_m3: f64,
    /// The most the readings allow.
    pub high_m3: f64,
    /// Whether the day was read by itself (metered); else the middle is an even split, or goes by the reading before (assumed).
    pub metered: bool,
    /// The spans it comes from: indices into `Timeline::meter_spans`.
    pub spans: Vec<usize>,
}

/// What a wash log says of one day.
#[derive(Debug, Clone, PartialEq)]
pub struct WashDay {
    /// The washes of the day, or their share of a count that covers days: whole, summing up to the count.
    pub count: u32,
    /// The least the log allows.
    pub low: u32,
    /// The most the log allows.
    pub high: u32,
    /// Minutes washed, with the same split, where logged.
    pub minutes: Option<f64>,
    /// Whether the count was of this day alone; else the split is assumed.
    pub logged: bool,
    /// The counts it comes from: indices into `Timeline::washes`.
    pub counts: Vec<usize>,
}

impl Timeline {
    /// The spans of one meter, with their indices into `meter_spans`, in order of time.
    pub fn spans_of(&self, meter: usize) -> impl Iterator<Item = (usize, &MeterSpan)> {
        self.meter_spans.iter().enumerate().filter(move |(_, span)| span.meter == meter)
    }

    /// What a meter says of each of `days` facility days from `first`; none where a part of the day was not metered.
    /// An even split over the days of a span is assumed, and its bounds are 0 and the whole span.
    pub fn meter_days(
        &self,
        facility: &Facility,
        meter: usize,
        first: NaiveDate,
        days: usize,
    ) -> Vec<Option<MeterDay>> {
        let starts = facility.day_starts;
        let stretches: Vec<(usize, Stretch)> =
            self.spans_of(meter).map(|(index, span)| (index, stretch(span, starts))).collect();
        let plain: Vec<Stretch> = stretches.iter().map(|(_, stretch)| *stretch).collect();
        let bounds = spread(&plain, first, days, facility.day());
        let mut day_start = facility.day().start_of(first);
        let mut out = Vec::with_capacity(bounds.len());
        for bound in bounds {
            let day_end = day_start + Duration::days(1);
            out.push(bound.middle.map(|middle_m3| {
                let spans = touching(&stretches, day_start, day_end);
                let carried = |index: &usize| self.meter_spans.get(*index).is_some_and(|span| span.carried);
                MeterDay {
                    low_m3: bound.low,
                    middle_m3,
                    high_m3: bound.high,
                    metered: bound.measured && !spans.iter().any(carried),
                    spans,
                }
            }));
            day_start = day_end;
        }
        out
    }

    /// What the log says of the washes (or, with `changes`, of the changes) of a filter on each of `days` days from
    /// `first`; none where nothing was logged, which is not zero.
    pub fn wash_days(&self, filter: PlaceId, changes: bool, first: NaiveDate, days: usize) -> Vec<Option<WashDay>> {
        let mut out: Vec<Option<WashDay>> = vec![None; days];
        let of_filter = |wash: &WashCount| wash.filter == filter && wash.changes == changes;
        for (index, wash) in self.washes.iter().enumerate().filter(|(_, wash)| of_filter(wash)) {
            let span = u64::from(wash.days.max(1));
            for part in 0..span {
                let day = wash.first_day + Duration::days(i64::try_from(part).unwrap_or(0));
                let Ok(at) = usize::try_from((day - first).num_days()) else {
                    continue;
                };
                let Some(slot) = out.get_mut(at) else {
                    continue;
                };
                let up_to = |parts: u64| u64::from(wash.count) * parts / span;
                let count = u32::try_from(up_to(part + 1) - up_to(part)).unwrap_or(0);
                let alone = span == 1;
                let held = slot.get_or_insert_with(|| WashDay {
                    count: 0,
                    low: 0,
                    high: 0,
                    minutes: None,
                    logged: true,
                    counts: Vec::new(),
                });
                held.count = held.count.saturating_add(count);
                held.low = held.low.saturating_add(if alone { wash.count } else { 0 });
                held.high = held.high.saturating_add(wash.count);
                held.logged &= alone;
                if let Some(minutes) = wash.minutes {
                    held.minutes = Some(held.minutes.unwrap_or(0.0) + minutes / span as f64);
                }
                held.counts.push(index);
            }
        }
        out
    }
}

/// The stretch of a span, its ends moved to a day's start that lies within the half hour.
fn stretch(span: &MeterSpan, day_starts: NaiveTime) -> Stretch {
    Stretch { from: snapped(span.from, day_starts).0, to: snapped(span.to, day_starts).0, amount: span.volume_m3 }
}

fn touching(stretches: &[(usize, Stretch)], start: NaiveDateTime, end: NaiveDateTime) -> Vec<usize> {
    let first = stretches.partition_point(|(_, stretch)| stretch.to <= start);
    stretches
        .get(first..)
        .unwrap_or_default()
        .iter()
        .take_while(|(_, stretch)| stretch.from < end)
        .map(|(index, _)| *index)
        .collect()
}
