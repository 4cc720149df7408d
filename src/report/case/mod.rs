//! The case document: what each proposal comes to against the site as it stands.

pub(in crate::report) mod annex;
pub mod at_log;
pub mod beside;
pub mod doubt;
mod filters;
mod hours;
pub mod json;
pub mod limits;
pub mod money;
pub mod page;
mod picture;
pub mod tables;
mod turns;
pub mod verdict;

pub use annex::annex;

use chrono::NaiveDate;

pub use crate::compare::three;
use crate::compare::{Against, AtLog, BreakEven, Cell, Computed, Driver, Fit, Recorded, Study};
use crate::facility::model::{Facility, Paper, UnitSystem};
use crate::files::FileRead;
use crate::page::document;
use crate::page::document::{Document, Text, figures};
use crate::records::Timeline;
use crate::report::case::{
    doubt as compare_doubt, money as compare_money, page as compare_page, tables as compare_tables,
};
use crate::report::inspection::about::day;
use crate::report::letterhead::Letterhead;
use crate::report::units::{self, Unit};
use crate::weather::DailyWeather;

/// Everything the case document is made from.
#[derive(Debug, Clone, Copy)]
pub struct ComparedCase<'a> {
    /// The options, computed.
    pub study: &'a Study,
    /// The site as it stands.
    pub facility: &'a Facility,
    /// Its records.
    pub timeline: &'a Timeline,
    /// The weather of all options.
    pub weather: &'a DailyWeather,
    /// Logged against computed.
    pub log: &'a [Against],
    /// How the inspection report has each limit of the site as it stands, from meters, logs and samples.
    pub recorded: &'a [Recorded],
    /// Break-evens of each option but the first.
    pub break_evens: &'a [Vec<BreakEven>],
    /// What drives the answer for each option but the first.
    pub drivers: &'a [Vec<Driver>],
    /// The money with the filters washing as logged, where the ranges do not explain the log.
    pub at_log: Option<&'a AtLog>,
    /// A fit to the log, if one was asked for.
    pub fit: Option<&'a Fit>,
    /// The day of the last record.
    pub as_of: NaiveDate,
    /// The permitting authority, if there is a rules file.
    pub authority: Option<&'a str>,
    /// The files read.
    pub files: &'a [FileRead],
    /// SHA-256 over all of them.
    pub digest: &'a str,
    /// Warnings in words.
    pub warnings: &'a [String],
    /// The user's letterhead.
    pub letterhead: &'a Letterhead,
}

impl ComparedCase<'_> {
    /// The user's system of units.
    pub fn system(&self) -> UnitSystem {
        self.facility.system
    }

    /// An option's name.
    pub fn name(&self, option: usize) -> &str {
        self.study.options.get(option).map_or("", |of| &of.alternative.name)
    }

    /// A short name for the head of a column.
    pub fn short(&self, option: usize) -> String {
        let Some(of) = self.study.options.get(option) else {
            return String::new();
        };
        if option == 0 {
            return "As it stands".to_owned();
        }
        let tuned = |of: &&Computed| of.alternative.tuned;
        if tuned(&of) && self.study.options.iter().filter(tuned).count() == 1 {
            return "Tuned".to_owned();
        }
        let name = &of.alternative.name;
        match name.split_once(" in place of ") {
            Some((what, _)) => what.to_owned(),
            None => name.clone(),
        }
    }

    /// Indices of all options.
    pub fn options(&self) -> std::ops::Range<usize> {
        0..self.study.options.len()
    }
}

/// Kilowatt-hours and hours and pieces as they are.
pub const AS_IS: Unit = Unit { name: "", per_si: 1.0, digits: 0 };

/// Digits after the mark that a figure of this size needs: three figures in all, none from 100 on.
pub fn digits(value: f64) -> u8 {
    let size = value.abs();
    if size >= 99.95 || size == 0.0 {
        0
    } else if size >= 9.995 {
        1
    } else {
        2
    }
}

/// A figure of three digits; a whole one without its noughts.
pub fn shown(value: f64) -> String {
    let value = three(value);
    if value == value.round() { figures::number(value, 0) } else { figures::number(value, digits(value)) }
}

/// A share of a figure by which its ends may differ and still be no range (common practice, no source).
const NO_RANGE: f64 = 0.005;

/// `12 300 (9 100 to 15 600)`: the middle of the members and where nine in ten of them lie; the words `not compared`
/// where something is missing.
pub fn spread(cell: &Cell, unit: Unit) -> String {
    spread_to(cell, unit, alike)
}

/// The same of two digits: of sums over years to come, and of solids, no more is known.
pub fn roughly(cell: &Cell, unit: Unit) -> String {
    spread_to(cell, unit, rough)
}

fn spread_to(cell: &Cell, unit: Unit, words: fn(f64, f64, f64) -> (String, String, String)) -> String {
    match cell.spread() {
        None => "not compared".to_owned(),
        Some(of) => {
            let (low, median, high) = (unit.of(of.low), unit.of(of.median), unit.of(of.high));
            let (low, middle, high) = words(low, median, high);
            // Ends that print as next to the middle tell nothing.
            if low == high || (of.high - of.low).abs() < NO_RANGE * of.median.abs() {
                middle
            } else {
                // One break alone, before the range.
                format!("{middle} ({low}{}to{}{high})", figures::TIE, figures::TIE)
            }
        }
    }
}

/// Three figures with the digits that the largest of them needs.
fn alike(low: f64, middle: f64, high: f64) -> (String, String, String) {
    let largest = low.abs().max(middle.abs()).max(high.abs());
    let d = digits(three(largest));
    let whole = [low, middle, high].iter().all(|v| (v - v.round()).abs() < 1e-9);
    let words = |v: f64| figures::number(three(v), if whole { 0 } else { d });
    (words(low), words(middle), words(high))
}

/// What is said where one run stands beside tables that go by draws which count differently; empty where they count alike.
pub fn middle_run(case: &ComparedCase<'_>) -> &'static str {
    match case.study.repeated.weights {
        Some(_) => {
            " This is one run in the middle of every range, whatever it repeats of what is on file; the tables of money, solids and work are \
             medians of the draws that count, and have other figures."
        }
        None => "",
    }
}

/// Three figures of two digits each, down to a tenth of the largest one's last.
fn rough(low: f64, middle: f64, high: f64) -> (String, String, String) {
    let largest = low.abs().max(middle.abs()).max(high.abs());
    if largest == 0.0 || !largest.is_finite() {
        return alike(low, middle, high);
    }
    let digits = (1.0 - two(largest).abs().log10().floor()).clamp(0.0, 2.0) as u8;
    let words = |v: f64| figures::number(two(v), digits);
    (words(low), words(middle), words(high))
}

/// A figure rounded to two digits.
pub fn two(value: f64) -> f64 {
    if value == 0.0 || !value.is_finite() {
        return value;
    }
    let step = 10_f64.powf(value.abs().log10().floor() - 1.0);
    (value / step).round() * step
}

/// Units of the document by kind of figure.
#[derive(Debug, Clone, Copy)]
pub struct Units {
    /// Water of a year.
    pub water: Unit,
    /// Solids.
    pub mass: Unit,
}

/// Units of the user's system; water in thousands of gallons, so that a year's wash water and a year's rain both print.
pub fn units(case: &ComparedCase<'_>) -> Units {
    let water = match case.system() {
        UnitSystem::Us => {
            Unit { name: "thousand gal", per_si: units::volume(UnitSystem::Us).per_si / 1000.0, digits: 0 }
        }
        UnitSystem::Metric => Unit { name: "m³", per_si: 1.0, digits: 0 },
    };
    Units { water, mass: units::mass(case.system()) }
}

/// A document of this case with its head, and nothing in it yet.
pub(in crate::report) fn begun(case: &ComparedCase<'_>, title: &str) -> Document {
    let period = case.study.period;
    let mut doc = Document::new(title, case.facility.name.clone(), format!("{} to {}", day(period.0), day(period.1)));
    case.digest.clone_into(&mut doc.digest);
    doc.dated = Some(case.as_of);
    doc.paper = match case.facility.paper {
        Paper::Letter => document::Paper::Letter,
        Paper::A4 => document::Paper::A4,
    };
    doc
}

/// The case document.
pub fn document(case: &ComparedCase<'_>) -> Document {
    let mut doc = begun(case, "What each proposal comes to");
    compare_page::write(case, &mut doc);
    doc.page_break();
    compare_tables::options(case, &mut doc);
    doc.caution(
        "Whoever changes filters, pumps and ponds",
        vec![Text::from(
            "Lock out power and vent pressure before a lid, a clamp or a drive is opened. Nobody enters a sump, a tank or a vessel without \
             a permit to enter, a tested atmosphere and somebody outside. Ponds drown people, and the crust on sludge does not \
             bear. The annex has the cautions in full.",
        )],
    );
    picture::write(case, &mut doc);
    compare_money::costs(case, &mut doc);
    compare_money::over_the_years(case, &mut doc);
    compare_tables::solids(case, &mut doc);
    compare_tables::work(case, &mut doc);
    filters::filters(case, &mut doc);
    compare_tables::outcomes(case, &mut doc);
    turns::break_evens(case, &mut doc);
    compare_doubt::fit(case, &mut doc);
    compare_money::prices(case, &mut doc);
    compare_doubt::left_out(case, &mut doc);
    doc
}

/// Typed words with their figures in the document's own form: groups of three, no commas in them, `µm` for `um`.
pub fn one_form(words: &str) -> String {
    let letters: Vec<char> = words.chars().collect();
    let is_digit = |at: usize| letters.get(at).is_some_and(char::is_ascii_digit);
    let mut out = String::new();
    let mut at = 0;
    while let Some(letter) = letters.get(at) {
        let begins = letter.is_ascii_digit() && (at == 0 || !(is_digit(at - 1) || letters.get(at - 1) == Some(&'.')));
        if !begins {
            out.push(*letter);
            at += 1;
            continue;
        }
        let mut whole = String::new();
        while let Some(letter) = letters.get(at) {
            let groups = *letter == ',' && (1..=3).all(|more| is_digit(at + more)) && !is_digit(at + 4);
            if letter.is_ascii_digit() {
                whole.push(*letter);
            } else if !groups {
                break;
            }
            at += 1;
        }
        let count = whole.len();
        for (i, digit) in whole.chars().enumerate() {
            if i > 0 && (count - i).is_multiple_of(3) {
                out.push(figures::THIN);
            }
            out.push(digit);
        }
    }
    microns(&out)
}

/// `25 um` as `25 µm`.
fn microns(words: &str) -> String {
    let is_unit = |word: &str| word.trim_end_matches([',', ';', ':', '.', ')']) == "um";
    let one = |word: &str| if is_unit(word) { word.replacen("um", "µm", 1) } else { word.to_owned() };
    words.split(' ').map(one).collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn typed_figures_take_the_one_form_for_thousands() {
        let plain = |words: &str| one_form(words).replace(figures::THIN, "_");
        assert_eq!(plain("7500 to 11000 USD"), "7_500 to 11_000 USD");
        assert_eq!(plain("at most 500,000 gal"), "at most 500_000 gal");
        assert_eq!(plain("8.50 to 13 USD per 1,000,000 gal"), "8.50 to 13 USD per 1_000_000 gal");
        assert_eq!(plain("0.12345, 6789"), "0.12345, 6_789");
        assert_eq!(plain("opening 25 um; 100 um 95 %, umbels (5 um)"), "opening 25 µm; 100 µm 95 %, umbels (5 µm)");
    }
}
