//! What the report says, chapter by chapter. A chapter is one file and one line in [`CHAPTERS`].

pub mod about;
pub mod balance;
pub(crate) mod beside;
pub mod closing;
pub mod data;
pub mod days;
pub mod diagram;
pub(crate) mod discharged;
pub mod duties;
pub mod every_window;
pub mod json;
pub(crate) mod known;
pub(crate) mod lacking;
pub(crate) mod late;
pub(crate) mod limit_lines;
pub(crate) mod limit_rows;
pub mod limits;
pub(crate) mod limits_bare;
pub mod meters;
pub mod page_one;
pub(crate) mod paper_trail;
pub mod papers;
pub mod places;
pub mod ponds;
pub(crate) mod rain_days;
pub mod rows;
pub(crate) mod runs;
pub mod sampled;
pub mod unaccounted;
pub mod unasked;
pub mod water_year;

use chrono::{Datelike, Months};

use crate::page::document::{Block, Document};
use crate::report::inspection::about::Case;
use crate::report::letterhead::{LETTERHEAD_FILE, Stands};

/// A chapter: what it is called in this list, whether a new page begins before it, and what writes it.
pub struct Chapter {
    /// Its name.
    pub name: &'static str,
    /// Whether it begins on a new page.
    pub new_page: bool,
    /// What writes it.
    pub write: fn(&Case, &mut Document),
}

const fn chapter(name: &'static str, new_page: bool, write: fn(&Case, &mut Document)) -> Chapter {
    Chapter { name, new_page, write }
}

/// Every chapter of the inspection report, in order: what is handed over. None can be left out.
pub const CHAPTERS: &[Chapter] = &[
    chapter("page one", false, page_one::write),
    // Most pictures take nearly a sheet: what flows on fills the rest of it, and would leave it half blank before it.
    chapter("picture", true, diagram::write),
    chapter("own words, first", false, |case, doc| own_words(case, doc, Stands::AfterTheFirstPage)),
    chapter("papers", false, papers::write),
    chapter("days of discharge", false, days::write),
    chapter("limits", false, limits::write),
    chapter("duties", false, duties::write),
    chapter("water", false, balance::write),
    chapter("unaccounted", false, unaccounted::write),
    chapter("places", false, places::write),
    chapter("ponds", false, ponds::write),
    chapter("data", false, data::write),
    chapter("computed and sampled", false, sampled::write),
    chapter("what was assumed", false, closing::what_was_assumed),
    chapter("own words, last", false, |case, doc| own_words(case, doc, Stands::AtTheEnd)),
    chapter("glossary", false, closing::glossary),
    chapter("cautions in short", false, closing::cautions_in_short),
    chapter("signature", false, closing::signature),
];

/// The chapters where nothing is on file for the period: what to find out first, and what was typed.
pub const WITHOUT_RECORDS: &[Chapter] = &[
    chapter("page one", false, page_one::write),
    chapter("picture", true, diagram::write),
    chapter("what to find out first", true, closing::worklist),
    chapter("what was typed", false, closing::what_was_typed),
    chapter("cautions in short", false, closing::cautions_in_short),
    chapter("signature", false, closing::signature),
];

/// Every chapter of the annex: what stands behind the report, for whoever goes through it line by line.
pub const ANNEX: &[Chapter] = &[
    chapter("every window", false, every_window::write),
    chapter("results that no limit asks for", false, unasked::write),
    chapter("results below detection", false, unasked::below_detection),
    chapter("every day of discharge", false, days::all),
    chapter("dials of the meters", false, meters::write),
    chapter("rain of each day", false, rain_days::write),
    chapter("seasons", false, balance::by_season),
    chapter("months", false, balance::by_month),
    chapter("wash water by month", false, places::every_month),
    chapter("solids by month", false, discharged::solids_by_month),
    chapter("facility", false, closing::facility),
    chapter("assumptions", false, closing::assumptions),
    chapter("repairs", false, data::every_repair),
    chapter("methods", false, closing::methods),
    chapter("files", false, closing::files),
    chapter("cautions", false, closing::cautions),
];

/// The user's own paragraphs that stand at a place.
fn own_words(case: &Case, doc: &mut Document, stands: Stands) {
    for paragraph in case.letterhead.paragraphs.iter().filter(|paragraph| paragraph.stands == stands) {
        doc.heading(2, paragraph.heading.clone());
        doc.traced(paragraph.text.as_str(), LETTERHEAD_FILE);
    }
}

/// The inspection report: what is handed over.
pub fn inspection(case: &Case) -> Document {
    let title = if is_permit_year(case) { "Permit-year record" } else { "Record of a part of a permit year" };
    let title = if case.permit.is_none() || spans_years(case) { "Record of water and solids" } else { title };
    written(case, title, if has_records(case) { CHAPTERS } else { WITHOUT_RECORDS })
}

/// Its annex: every window, every assumption, every method.
pub fn annex(case: &Case) -> Document {
    let mut doc = written(case, "Annex to the record", ANNEX);
    doc.blocks.insert(0, Block::Contents);
    doc
}

fn written(case: &Case, title: &str, chapters: &[Chapter]) -> Document {
    let as_of = format!("{}, as of {}", case.period_words(), about::day(case.as_of));
    let mut doc = Document::new(title, case.facility.name.clone(), as_of);
    doc.digest = case.digest.to_owned();
    doc.dated = Some(case.as_of);
    doc.paper = match case.facility.paper {
        crate::facility::model::Paper::Letter => crate::page::document::Paper::Letter,
        crate::facility::model::Paper::A4 => crate::page::document::Paper::A4,
    };
    doc.working_copy = is_working_copy(case);
    for chapter in chapters {
        if chapter.new_page {
            doc.page_break();
        }
        (chapter.write)(case, &mut doc);
    }
    doc
}

/// Whether the period is a year of the permit, from its first day to its last.
fn is_permit_year(case: &Case) -> bool {
    let Some(starts) = case.permit.map(|permit| permit.year_starts) else { return false };
    let (from, to) = case.period;
    starts.in_year(from.year()) == Some(from) && to.succ_opt() == starts.in_year(from.year() + 1)
}

/// Whether the period is longer than a year.
fn spans_years(case: &Case) -> bool {
    let (from, to) = case.period;
    from.checked_add_months(Months::new(12)).is_some_and(|year| year <= to)
}

/// Whether anything is on file for the period.
pub(crate) fn has_records(case: &Case) -> bool {
    let (from, to) = case.period;
    case.timeline.observations.iter().any(|observation| from <= observation.day && observation.day <= to)
}

/// Whether data are incomplete: there is no permit, no record in the period or none to its end, or rain has gaps.
pub fn is_working_copy(case: &Case) -> bool {
    let (from, to) = case.period;
    let rain_has_gaps = from
        .iter_days()
        .take_while(|day| *day <= to)
        .any(|day| case.weather.rain_on(day).is_none_or(|rain| rain.depth_mm.is_none()));
    case.permit.is_none()
        || !has_records(case)
        || case.timeline.last_day.is_none_or(|last| last < to)
        || rain_has_gaps && case.facility.weather.rain.is_some()
        || case.letterhead.has_placeholders()
}
