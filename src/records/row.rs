//! A row of records in one form, whether it was typed in long form or stands in a mapped sheet.

use std::sync::Arc;

use chrono::{Duration, NaiveDate, NaiveDateTime};

use crate::facility::model::Meter;
use crate::quantity::{Cell, DayStart, DecimalMark, Stamp};
use crate::records::lost::says_lost;
use crate::records::words::What;
use crate::records::{Qualifier, Source};
use crate::told::Place;

/// A text with its place.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Text {
    pub text: String,
    pub place: Place,
}

impl Text {
    /// Whether nothing but spaces was written.
    pub fn is_blank(&self) -> bool {
        self.text.trim().is_empty()
    }
}

/// One observation as typed; names are not looked up yet.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Row {
    /// The file it stands in.
    pub origin: Arc<str>,
    pub stamp: Stamp,
    pub stamp_place: Place,
    pub name: Text,
    pub what: Text,
    pub parameter: Option<Text>,
    pub value: Text,
    pub unit: Option<Text>,
    pub qualifier: Option<Text>,
    pub paper: Option<String>,
    pub received: Option<NaiveDate>,
    pub who: Option<String>,
    pub note: Option<String>,
    pub mark: DecimalMark,
    /// A sheet's column may say so for all its rows; a note says it for one.
    pub since_the_last: Option<SinceTheLast>,
    /// The first and last day that a count, an amount or a rain tells of, where they are not its own.
    pub covers: Option<(NaiveDate, NaiveDate)>,
    /// How a dial is written.
    pub written: Written,
    /// Somebody said that no row is lost before this one, however long ago the last is.
    pub gap_is_meant: bool,
}

/// How a dial is written, as the keeper of its sheet says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) enum Written {
    /// As it shows.
    #[default]
    AsShown,
    /// Only the figures behind the mark.
    Tail,
    /// With a point that parts thousands, where the readings beside it are as large.
    PointOfThousands,
    /// Without its point, where those beside it show that it has one.
    PointMayBeLost,
    /// As it shows, and somebody said so.
    AsMeant,
}

/// What a count or an amount goes back to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum SinceTheLast {
    /// The last count or amount of the same thing.
    Entry,
    /// The last reading of the meter, or count, whichever is later.
    Reading,
}

impl SinceTheLast {
    /// What a note says.
    pub fn in_note(note: &str) -> Option<Self> {
        let note = note.to_lowercase();
        if !note.contains("since") || !(note.contains("last") || note.contains("previous")) {
            return None;
        }
        Some(if note.contains("reading") { Self::Reading } else { Self::Entry })
    }
}

/// What a row is about, once its name is looked up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) enum Subject {
    /// Index into `Facility::meters`.
    Meter(usize),
    /// Index into `Facility::places`.
    Place(usize),
    /// A name that need not be one of the facility's: an instrument, the authority, a gauge.
    Free,
}

/// A row with its words understood.
#[derive(Debug, Clone)]
pub(crate) struct Entry {
    pub what: What,
    pub subject: Subject,
    /// The facility day.
    pub day: NaiveDate,
    /// When, with the day's start for a time that was not written.
    pub at: NaiveDateTime,
    pub cell: Cell,
    pub qualifier: Qualifier,
    pub row: Row,
}

impl Entry {
    /// Who says so.
    pub fn source(&self) -> Source {
        Source {
            place: self.place(),
            paper: self.row.paper.clone(),
            received: self.row.received,
            who: self.row.who.clone(),
            note: self.row.note.clone(),
        }
    }

    /// Where it stands: its value, or its date where it has none.
    pub fn place(&self) -> Place {
        if self.row.value.is_blank() { self.row.stamp_place.clone() } else { self.row.value.place.clone() }
    }

    /// Whether it has a value, or a word for one.
    pub fn says_something(&self) -> bool {
        !matches!(self.cell, Cell::Blank | Cell::Missing(_))
    }

    /// Whether it counts since something earlier, by its column or its note.
    pub fn since_the_last(&self) -> Option<SinceTheLast> {
        self.row.since_the_last.or_else(|| self.row.note.as_deref().and_then(SinceTheLast::in_note))
    }

    /// Where a later count "since the last" begins: at a reading or at the end of what this one covers.
    pub fn closes_at(&self, day: DayStart) -> NaiveDateTime {
        let for_its_day = matches!(self.what, What::Amount | What::Washes | What::Changed)
            && self.since_the_last().is_none()
            && !says_lost(self);
        let last = self.row.covers.map_or(self.day, |(_, last)| last);
        if for_its_day { day.start_of(last) + Duration::days(1) } else { self.at }
    }

    /// Whether the hour of a reading is on file: written beside it, or the meter's own.
    pub fn hour_is_known(&self, meter: &Meter) -> bool {
        self.row.stamp.time.is_some() || meter.read_at.is_some()
    }

    /// Its unit as written, in its own column or behind the value.
    pub fn unit(&self) -> Option<(String, Place)> {
        if let Some(unit) = self.row.unit.as_ref().filter(|unit| !unit.is_blank()) {
            return Some((unit.text.trim().to_string(), unit.place.clone()));
        }
        match &self.cell {
            Cell::Number { behind, .. } if !behind.is_empty() => Some((behind.clone(), self.row.value.place.clone())),
            _ => None,
        }
    }
}
