//! One reading of anything, in the unit it is held against, and what records say of it.

use chrono::{NaiveDate, NaiveTime};
use uom::si::f64::Area;

use crate::facility::model::{Facility, PlaceKind};
use crate::files::Given;
use crate::quantity::DayStart;
use crate::records::Source;
use crate::rules::measure::points::places;
use crate::rules::{Evidence, Interval, Point};

/// One reading: a day's value, or one over several days.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// First day it covers.
    pub first: NaiveDate,
    /// Last day it covers.
    pub last: NaiveDate,
    /// Its value in the limit's unit.
    pub value: Interval,
    /// As printed: `47 mg/L`.
    pub text: String,
    /// Records it rests on.
    pub evidence: Vec<Evidence>,
    /// The day on which it was known: received, or read.
    pub known_on: NaiveDate,
    /// Whether it is one result below or above what could be measured.
    pub censored: bool,
    /// Whether it is a mean of several results, in which results below detection count as the permit says.
    pub is_mean: bool,
}

pub(crate) fn evidence(day: NaiveDate, text: String, source: &Source) -> Evidence {
    Evidence { day, text, place: Some(source.place.clone()), paper: source.paper.clone() }
}

/// The date on which a result was known: received, else taken, by the calendar where its hour is written.
pub(crate) fn known_on(day: NaiveDate, hour: Option<NaiveTime>, starts: DayStart, source: &Source) -> NaiveDate {
    let date = hour.map_or(day, |hour| starts.date_of(day, hour));
    source.received.map_or(date, |received| received.max(date))
}

/// The field's area of a point, where it is one discharge point with an area.
pub(crate) fn area<'a>(point: &Point, facility: &'a Facility) -> Option<&'a Given<Area>> {
    match places(point).as_slice() {
        [one] => match facility.get(*one).map(|place| &place.kind) {
            Some(PlaceKind::DischargePoint(point)) => point.area.as_ref(),
            _ => None,
        },
        _ => None,
    }
}
