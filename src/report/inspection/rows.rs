//! The rows of the records by where they stand.

use std::collections::HashMap;

use crate::records::{MeterSpan, Observation, Timeline};
use crate::told::Place;

/// The rows of the records by where they stand, so that a year of readings is not searched for each figure.
#[derive(Debug, Default)]
pub struct Rows {
    /// Index into [`Timeline::meter_spans`] by the closing reading.
    spans: HashMap<Place, usize>,
    /// Index into [`Timeline::observations`].
    seen: HashMap<Place, usize>,
}

impl Rows {
    /// The rows of a timeline; of two at one place the first.
    pub fn of(timeline: &Timeline) -> Self {
        let mut rows = Self::default();
        for (at, span) in timeline.meter_spans.iter().enumerate() {
            rows.spans.entry(span.after.place.clone()).or_insert(at);
        }
        for (at, seen) in timeline.observations.iter().enumerate() {
            rows.seen.entry(seen.source.place.clone()).or_insert(at);
        }
        rows
    }

    /// What a meter counted up to the reading that stands at this place.
    pub fn span_closed_at<'a>(&self, timeline: &'a Timeline, place: &Place) -> Option<&'a MeterSpan> {
        timeline.meter_spans.get(*self.spans.get(place)?)
    }

    /// What was typed at this place.
    pub fn seen_at<'a>(&self, timeline: &'a Timeline, place: &Place) -> Option<&'a Observation> {
        timeline.observations.get(*self.seen.get(place)?)
    }
}
