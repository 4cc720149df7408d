//! The case document: what each proposal comes to against the site as it stands.

pub mod doubt;
pub mod json;
pub mod limits;
pub mod money;
pub mod page;
pub mod tables;
pub mod verdict;

use chrono::NaiveDate;

use crate::balance::Run;
use crate::compare::{Against, BreakEven, Cell, Computed, Driver, Fit, Study};
use crate::facility::model::{Facility, Paper, UnitSystem};
use crate::files::FileRead;
use crate::page::document;
use crate::page::document::{Document, figures};
use crate::records::Timeline;
use crate::report::case::{
    doubt as compare_doubt, money as compare_money, page as compare_page, tables as compare_tables,
};
use crate::report::inspection::about::{Assumption, Case, day};
use crate::report::inspection::closing;
use crate::report::letterhead::Letterhead;
use crate::report::units::{self, Unit};
use crate::rules::Outcome;
use crate::science;
use crate::weather::DailyWeather;

/// Methods of the case beside those of the ledger.
const METHODS: &[&str] = &["pump-energy", "present-worth", "rank-correlation"];

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
    /// What the records show of each limit, for the site as it stands.
    pub recorded: &'a [(String, Outcome)],
    /// Break-evens of each option but the first.
    pub break_evens: &'a [Vec<BreakEven>],
    /// What drives the answer for each option but the first.
    pub drivers: &'a [Vec<Driver>],
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

/// The money of the prices file as a unit: whole units.
pub fn money(case: &ComparedCase<'_>) -> MoneyUnit {
    MoneyUnit(case.study.prices.money.clone())
}

/// The name of the money.
#[derive(Debug, Clone)]
pub struct MoneyUnit(pub String);

/// Kilowatt-hours and hours and pieces as they are.
pub const AS_IS: Unit = Unit { name: "", per_si: 1.0, digits: 0 };

/// A figure rounded to three digits.
pub fn three(value: f64) -> f64 {
    if value == 0.0 || !value.is_finite() {
        return value;
    }
    let most = value.abs().log10().floor() as i32 - 2;
    if most >= 0 {
        let step = 10_f64.powi(most);
        (value / step).round() * step
    } else {
        let step = 10_f64.powi(-most);
        (value * step).round() / step
    }
}

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

/// `12 300 (9 100 to 15 600)`: the middle of the members and where nine in ten of them lie; the words `not compared`
/// where something is missing.
pub fn spread(cell: &Cell, unit: Unit) -> String {
    match cell.spread() {
        None => "not compared".to_owned(),
        Some(of) => {
            let (low, median, high) = (unit.of(of.low), unit.of(of.median), unit.of(of.high));
            let (low, middle, high) = alike(low, median, high);
            if low == high {
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
        UnitSystem::Us => Unit { name: "1000 gal", per_si: units::volume(UnitSystem::Us).per_si / 1000.0, digits: 0 },
        UnitSystem::Metric => Unit { name: "m³", per_si: 1.0, digits: 0 },
    };
    Units { water, mass: units::mass(case.system()) }
}

/// The case document.
pub fn document(case: &ComparedCase<'_>) -> Document {
    let period = case.study.period;
    let mut doc = Document::new(
        "What each proposal comes to",
        case.facility.name.clone(),
        format!("{} to {}", day(period.0), day(period.1)),
    );
    case.digest.clone_into(&mut doc.digest);
    doc.dated = Some(case.as_of);
    doc.paper = match case.facility.paper {
        Paper::Letter => document::Paper::Letter,
        Paper::A4 => document::Paper::A4,
    };
    compare_page::write(case, &mut doc);
    doc.page_break();
    compare_tables::options(case, &mut doc);
    compare_tables::service(case, &mut doc);
    compare_tables::water(case, &mut doc);
    compare_tables::solids(case, &mut doc);
    compare_tables::filters(case, &mut doc);
    compare_tables::work(case, &mut doc);
    compare_money::costs(case, &mut doc);
    compare_money::differences(case, &mut doc);
    compare_money::by_year(case, &mut doc);
    compare_tables::outcomes(case, &mut doc);
    compare_doubt::break_evens(case, &mut doc);
    compare_doubt::drivers(case, &mut doc);
    compare_doubt::log(case, &mut doc);
    compare_doubt::fit(case, &mut doc);
    compare_money::prices(case, &mut doc);
    compare_doubt::left_out(case, &mut doc);
    if let Some(first) = case.study.options.first() {
        closing_chapters(case, &first.run, &mut doc);
    }
    doc
}

/// The chapters that the inspection report closes with, on the single run of the site as it stands.
fn closing_chapters(case: &ComparedCase<'_>, run: &Run, doc: &mut Document) {
    let mut assumptions: Vec<Assumption> = Vec::new();
    for of in &case.study.options {
        let of_site = of.alternative.file.is_none();
        for assumption in of.run.assumptions.iter().filter(|one| {
            // What is typed as one figure in the facility file stands there; the list is for what may be doubted.
            let typed_by = one.place.as_ref().map(|place| place.file.to_string());
            one.is_range || one.is_unknown || one.place.is_none() || (!of_site && typed_by == of.alternative.file)
        }) {
            let place = assumption.place.as_ref().map_or_else(|| "not typed".to_owned(), ToString::to_string);
            let mut what = assumption.key.clone();
            if let Some(file) = &of.alternative.file
                && place.starts_with(file.as_str())
            {
                for (new, old) in &of.alternative.renamed {
                    what = what.replace(&format!(" / {old}"), &format!(" / {new}"));
                }
            }
            if !assumptions.iter().any(|known| known.what == what && known.place == place) {
                assumptions.push(Assumption {
                    what,
                    value: assumption.text.clone(),
                    place,
                    source: assumption.source.to_owned(),
                });
            }
        }
    }
    let of = Case {
        against: &[],
        limits: &[],
        facility: case.facility,
        permit: None,
        timeline: case.timeline,
        weather: case.weather,
        ledger: &run.ledger,
        assumptions: &assumptions,
        remarks: &run.notes,
        findings: &[],
        period: case.study.period,
        as_of: case.as_of,
        files: case.files,
        digest: case.digest,
        draws: case.study.draws.len().saturating_sub(1).min(200),
        warnings: case.warnings,
        worklist: &[],
        letterhead: case.letterhead,
    };
    doc.page_break();
    closing::assumptions(&of, doc);
    doc.paragraph(
        "Listed are ranges, what is not known, what was taken because nothing was typed, and every value of a proposal. All else \
         stands as one figure in the facility file.",
    );
    doc.page_break();
    closing::methods(&of, doc);
    for id in METHODS {
        if let Some(method) = science::find(id) {
            closing::method_record(method, doc);
        }
    }
    closing::files(&of, doc);
    doc.page_break();
    closing::cautions(&of, doc);
    closing::signature(&of, doc);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_method_misspelt_in_the_list_would_be_left_out_unseen() {
        for id in METHODS {
            assert!(science::find(id).is_some(), "{id}");
        }
    }
}
