//! Everything a report is made from, gathered once.

use chrono::NaiveDate;

use crate::balance::{Ledger, Run};
use crate::facility::model::Facility;
use crate::records::Timeline;
use crate::rules::Finding;
use crate::weather::DailyWeather;

/// The head of the permit, as typed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PermitHead {
    /// The authority.
    pub authority: String,
    /// The permit's number.
    pub permit: String,
    /// The rules file, as the user knows it.
    pub file: String,
    /// Who typed it and who checked it.
    pub typed_by: Option<String>,
    /// What the permit says of violations and how they are counted, of keeping records, as typed.
    pub other_words: Vec<(String, String)>,
}

/// A file that was read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FileRead {
    /// Its path as the user knows it.
    pub path: String,
    /// Its size in bytes.
    pub bytes: u64,
    /// Its SHA-256 in hexadecimal.
    pub sha256: String,
}

/// Everything a report is made from.
#[derive(Debug, Clone, Copy)]
pub struct Case<'a> {
    /// The facility.
    pub facility: &'a Facility,
    /// The permit, if there is a rules file.
    pub permit: Option<&'a PermitHead>,
    /// The records.
    pub timeline: &'a Timeline,
    /// The weather.
    pub weather: &'a DailyWeather,
    /// The single run, at the middle of every range.
    pub run: &'a Run,
    /// What the records show of each limit and duty, worst first.
    pub findings: &'a [Finding],
    /// First and last day.
    pub period: (NaiveDate, NaiveDate),
    /// The day on which duties are judged.
    pub as_of: NaiveDate,
    /// The files read, in order of reading.
    pub files: &'a [FileRead],
    /// SHA-256 over all of them.
    pub digest: &'a str,
    /// Draws behind predicted outcomes.
    pub draws: usize,
    /// Problems told that are not errors, in words.
    pub warnings: &'a [String],
}

impl<'a> Case<'a> {
    /// The ledger of the single run.
    pub fn ledger(&self) -> &'a Ledger {
        &self.run.ledger
    }

    /// How the period reads: `1 Nov 2024 to 31 Oct 2025`.
    pub fn period_words(&self) -> String {
        format!("{} to {}", day(self.period.0), day(self.period.1))
    }

    /// The authority in running words.
    pub fn authority(&self) -> &'a str {
        match self.permit {
            Some(permit) => &permit.authority,
            None => "the permitting authority",
        }
    }
}

/// `14 Mar 2025`.
pub fn day(date: NaiveDate) -> String {
    date.format("%-d %b %Y").to_string()
}

/// `Mar 2025`.
pub fn month(date: NaiveDate) -> String {
    date.format("%b %Y").to_string()
}
