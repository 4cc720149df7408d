//! Everything a report is made from, gathered once.

use chrono::NaiveDate;

use crate::balance;
use crate::balance::Ledger;
use crate::compare::Against;
use crate::facility::model::{Facility, PlaceId};
use crate::files::FileRead;
use crate::page::document::{Basis, Chart, Mark, figures};
use crate::quantity::DayOfYear;
use crate::records::Timeline;
use crate::report::inspection::rows::Rows;
use crate::report::letterhead::Letterhead;
use crate::report::units::{self, Figured, Unit};
use crate::rules::{Finding, Limit};
use crate::told::Place;
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
    /// The day on which its year starts.
    pub year_starts: DayOfYear,
    /// Who typed it and who checked it.
    pub typed_by: Option<String>,
    /// How its limits count, as typed.
    pub counts: Vec<String>,
}

/// A value that was taken without a record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Assumption {
    /// What it is.
    pub what: String,
    /// The value as typed, or as taken.
    pub value: String,
    /// Where it was typed; the words `not typed` for what the program took.
    pub place: String,
    /// Its source: `typed by the user`, or the method's, or `common practice, no source`.
    pub source: String,
}

/// Everything a report is made from.
#[derive(Debug, Clone, Copy)]
pub struct Case<'a> {
    /// The facility.
    pub facility: &'a Facility,
    /// The permit, if there is a rules file.
    pub permit: Option<&'a PermitHead>,
    /// The limits of its rules file, as typed.
    pub limits: &'a [Limit],
    /// The records.
    pub timeline: &'a Timeline,
    /// The records by where they stand.
    pub rows: &'a Rows,
    /// The weather.
    pub weather: &'a DailyWeather,
    /// The ledger of the single run, at the middle of every range.
    pub ledger: &'a Ledger,
    /// What was taken without a record.
    pub assumptions: &'a [Assumption],
    /// Remarks of the run, in words: steps per day, order of washing.
    pub remarks: &'a [String],
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
    /// What the records say against what the computation gives without them.
    pub against: &'a [Against],
    /// Draws behind predicted outcomes.
    pub draws: usize,
    /// Problems told that are not errors, in words.
    pub warnings: &'a [String],
    /// What to find out next, most useful first: what, and what it could change.
    pub worklist: &'a [(String, String)],
    /// Letterhead and paragraphs of the user's own.
    pub letterhead: &'a Letterhead,
    /// The unit of a year's water: [`large_volume`].
    pub large: Unit,
}

/// The unit of a year's water: the large one, unless all that came in is less than one of it.
pub fn large_volume(facility: &Facility, ledger: &Ledger, period: (NaiveDate, NaiveDate)) -> Unit {
    let large = units::large_volume(facility.system);
    let came = ledger.account(period.0, period.1).came_in;
    let came: f64 = came.iter().map(|(_, amount)| amount.water_m3).sum();
    if came > 0.0 && large.of(came) < 1.0 { Unit { digits: 0, ..units::volume(facility.system) } } else { large }
}

impl<'a> Case<'a> {
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

    /// How the water that reaches a place is figured: from the head over a weir, or otherwise.
    pub fn figured(&self, place: PlaceId) -> Figured {
        let weir = self.facility.meters.iter().any(|meter| meter.to == place && meter.weir.is_some());
        if weir { Figured::OffAWeir } else { Figured::Counted }
    }

    /// The unit of a year's water: the large one, unless all that came in is less than one of it.
    pub fn large_volume(&self) -> Unit {
        self.large
    }

    /// What tables of the period have a row for.
    pub fn steps(&self) -> Steps {
        let months = self.months();
        if months.len() <= MOST_MONTH_ROWS {
            let rows = months.into_iter().map(|(from, to)| (month(from), from, to)).collect();
            return Steps { word: "month", head: "Month", rows };
        }
        let starts = self.permit.map(|permit| permit.year_starts);
        Steps { word: "year", head: "Year", rows: years(self.period.0, self.period.1, starts) }
    }

    /// A place's name.
    pub fn name(&self, place: PlaceId) -> &'a str {
        self.facility.get(place).map_or("", |place| &place.name)
    }

    /// The first days of each month of the period, with the month's last day in it.
    pub fn months(&self) -> Vec<(NaiveDate, NaiveDate)> {
        months(self.period.0, self.period.1)
    }
}

/// Most months that tables of the report have a row for each of; a longer period has years, and the annex its months.
const MOST_MONTH_ROWS: usize = 24;

/// What tables of a period have a row for: its months or its years, by their names, cut to it.
pub struct Steps {
    /// In a sentence: `month`.
    pub word: &'static str,
    /// At the head of a column.
    pub head: &'static str,
    /// Name, first day, last day.
    pub rows: Vec<(String, NaiveDate, NaiveDate)>,
}

impl Steps {
    /// Whether a row is a year.
    pub fn are_years(&self) -> bool {
        self.word == "year"
    }
}

/// Years between two dates, cut to them: `2024`, or `2024/25` where they don't start with January.
fn years(from: NaiveDate, to: NaiveDate, starts: Option<DayOfYear>) -> Vec<(String, NaiveDate, NaiveDate)> {
    use chrono::Datelike;
    let start_in =
        |year: i32| starts.and_then(|starts| starts.in_year(year)).or_else(|| NaiveDate::from_ymd_opt(year, 1, 1));
    let mut years = Vec::new();
    let mut start = from;
    while start <= to {
        let next = (start.year()..=start.year() + 1).filter_map(start_in).find(|next| *next > start);
        let Some(next) = next else { break };
        let end = next.pred_opt().unwrap_or(to).min(to);
        // Named by the whole year that it lies in.
        let last = next.pred_opt().unwrap_or(end).year();
        let name = if (next.month(), next.day()) == (1, 1) {
            last.to_string()
        } else {
            format!("{}/{:02}", last - 1, last.rem_euclid(100))
        };
        years.push((name, start, end));
        start = next;
    }
    years
}

/// Months between two dates, cut to them.
pub fn months(from: NaiveDate, to: NaiveDate) -> Vec<(NaiveDate, NaiveDate)> {
    use chrono::{Datelike, Months};
    let mut months = Vec::new();
    let mut start = from;
    while start <= to {
        let next = start.with_day(1).and_then(|first| first.checked_add_months(Months::new(1)));
        let Some(next) = next else { break };
        let end = next.pred_opt().unwrap_or(to).min(to);
        months.push((start, end));
        start = next;
    }
    months
}

/// `14 Mar 2025`.
pub fn day(date: NaiveDate) -> String {
    date.format("%-d %b %Y").to_string()
}

/// `Mar 2025`.
pub fn month(date: NaiveDate) -> String {
    date.format("%b %Y").to_string()
}

/// A file without the folders that lead to it.
pub fn file_name(path: &str) -> &str {
    path.rsplit('/').next().unwrap_or(path)
}

/// A place in a file as the folio column prints it: `meters.csv 412`.
pub fn trace(place: &Place) -> String {
    // A tab's name may end with a blank, which is no part of a sentence.
    let name = file_name(&place.file).replace(" ,", ",");
    if place.line == 0 { name } else { format!("{name} {}", place.line) }
}

/// How a measured figure is known, by its unit: volumes, flows and levels are read off, everything else is sampled.
pub fn measured(unit: &str) -> Basis {
    let concentration = ["/L", "/l", "mL", "NTU", "mS", "uS", "/100"].iter().any(|mark| unit.contains(mark));
    if concentration || unit.trim().is_empty() { Basis::Sampled } else { Basis::Metered }
}

/// A judged sentence with its figures grouped as the report groups them: `346,000` becomes `346 000`. The permit's own
/// words are quoted as they stand and never come here.
pub fn said(words: &str) -> String {
    let letters: Vec<char> = with_traces(&with_dates(words)).chars().collect();
    let digit = |at: usize| letters.get(at).is_some_and(char::is_ascii_digit);
    letters
        .iter()
        .enumerate()
        .map(|(at, letter)| {
            let three = (at + 1..=at + 3).all(digit) && !digit(at + 4);
            if *letter == ',' && at > 0 && digit(at - 1) && three { figures::THIN } else { *letter }
        })
        .collect()
}

/// `(records/meters.csv:246)` as the folio column has it: `(meters.csv 246)`.
fn with_traces(words: &str) -> String {
    let one = |word: &str| {
        let bare = word.trim_start_matches('(').trim_end_matches([')', '.', ',', ';']);
        let (file, line) = bare.rsplit_once(':')?;
        let is_file = [".csv", ".yaml", ".xlsx", ".ods"].iter().any(|end| file.ends_with(end));
        let is_line = !line.is_empty() && line.chars().all(|c| c.is_ascii_digit());
        (is_file && is_line).then(|| word.replacen(bare, &format!("{} {line}", file_name(file)), 1))
    };
    if !words.contains(':') {
        return words.to_owned();
    }
    words.split(' ').map(|word| one(word).unwrap_or_else(|| word.to_owned())).collect::<Vec<_>>().join(" ")
}

/// `2025-05-07` as the report writes it: `7 May 2025`. In the name of a file it stays as it is.
fn with_dates(words: &str) -> String {
    const LONG: usize = "2025-05-07".len();
    let joined = |c: char| c.is_alphanumeric() || matches!(c, '-' | '_' | '/' | '.');
    let mut out = String::with_capacity(words.len());
    let mut rest = words;
    while let Some(first) = rest.chars().next() {
        let date = rest.get(..LONG).and_then(|text| NaiveDate::parse_from_str(text, "%Y-%m-%d").ok());
        let apart = !out.chars().next_back().is_some_and(joined)
            && !rest.get(LONG..).is_some_and(|after| {
                let mut after = after.chars();
                match after.next() {
                    Some('.') => after.next().is_some_and(char::is_alphanumeric),
                    next => next.is_some_and(joined),
                }
            });
        match date.filter(|_| apart) {
            Some(date) => {
                out.push_str(&day(date));
                rest = rest.get(LONG..).unwrap_or_default();
            }
            None => {
                out.push(first);
                rest = rest.get(first.len_utf8()..).unwrap_or_default();
            }
        }
    }
    out
}

/// A chart's caption with what its fills mean, those that are drawn: `filled is metered or sampled, hatched computed`.
pub fn with_key(caption: &str, chart: &Chart) -> String {
    let drawn = |wanted: fn(Basis) -> bool| {
        let mut bars = chart.panels.iter().flat_map(|panel| &panel.series);
        bars.any(|of| matches!(of.mark, Mark::Bars | Mark::Stacked) && wanted(of.basis))
    };
    let meanings = [
        (drawn(Basis::is_measured), "filled is metered or sampled"),
        (drawn(|of| of == Basis::Computed), "hatched is computed"),
        (drawn(|of| of == Basis::Assumed), "an outline is assumed"),
    ];
    let words: Vec<&str> = meanings.iter().filter(|(is_drawn, _)| *is_drawn).map(|(_, words)| *words).collect();
    if words.is_empty() { caption.to_owned() } else { format!("{caption}; {}", words.join(", ")) }
}

/// The word a report prints for the basis of a ledger figure; none where nothing fed it or it is unknown.
pub fn basis(of: balance::Basis) -> Option<Basis> {
    if of.has(balance::Basis::UNKNOWN) {
        None
    } else if of.has(balance::Basis::ASSUMED) || of.has(balance::Basis::SHARED_OUT) {
        Some(Basis::Assumed)
    } else if of.has(balance::Basis::COMPUTED) {
        Some(Basis::Computed)
    } else if of.has(balance::Basis::SAMPLED) {
        Some(Basis::Sampled)
    } else if of.has(balance::Basis::METERED) {
        Some(Basis::Metered)
    } else {
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn thousands_are_grouped_in_one_way_and_lists_of_figures_stay_lists() {
        assert_eq!(said("4,129 gal of 1,234,567 gal"), "4\u{202f}129 gal of 1\u{202f}234\u{202f}567 gal");
        assert_eq!(said("slips 4,12,300 and 5,1000"), "slips 4,12\u{202f}300 and 5,1000");
        assert_eq!(said("Nov, 2024; 3, 400"), "Nov, 2024; 3, 400");
    }

    #[test]
    fn where_a_line_stands_is_told_as_beside_the_text() {
        assert_eq!(
            said("typed twice (records/meters.csv:246 and records/meters.csv:247); kept once. At 7:00: 3"),
            "typed twice (meters.csv 246 and meters.csv 247); kept once. At 7:00: 3"
        );
    }

    #[test]
    fn dates_are_written_in_one_way_and_names_of_files_stay() {
        assert_eq!(said("on 2025-05-07, (2025-06-01) and 2025-06-02."), "on 7 May 2025, (1 Jun 2025) and 2 Jun 2025.");
        let names = "looks-2025-05-07.csv, 2025-05-07.csv, 2025-13-01";
        assert_eq!(said(names), names);
    }

    #[test]
    fn years_start_as_the_permit_s_do_and_are_cut_to_the_period() {
        let date = |y, m, d| NaiveDate::from_ymd_opt(y, m, d).unwrap();
        let named = |years: Vec<(String, NaiveDate, NaiveDate)>| {
            years.into_iter().map(|(name, from, to)| format!("{name}: {from} {to}")).collect::<Vec<_>>()
        };
        let november = DayOfYear { month: 11, day: 1 };
        assert_eq!(
            named(years(date(2013, 11, 1), date(2015, 3, 5), Some(november))),
            ["2013/14: 2013-11-01 2014-10-31", "2014/15: 2014-11-01 2015-03-05"]
        );
        assert_eq!(
            named(years(date(2013, 2, 1), date(2014, 12, 31), None)),
            ["2013: 2013-02-01 2013-12-31", "2014: 2014-01-01 2014-12-31"]
        );
        assert_eq!(
            named(years(date(2024, 10, 31), date(2024, 10, 31), Some(november))),
            ["2023/24: 2024-10-31 2024-10-31"]
        );
    }

    #[test]
    fn a_permit_year_has_twelve_months_and_a_cut_period_has_cut_months() {
        let date = |y, m, d| NaiveDate::from_ymd_opt(y, m, d).unwrap();
        assert_eq!(months(date(2024, 11, 1), date(2025, 10, 31)).len(), 12);
        assert_eq!(
            months(date(2024, 2, 10), date(2024, 3, 5)),
            vec![(date(2024, 2, 10), date(2024, 2, 29)), (date(2024, 3, 1), date(2024, 3, 5))]
        );
    }
}
