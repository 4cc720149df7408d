//! What the report says, chapter by chapter. A chapter is one file and one line in [`CHAPTERS`].

pub mod about;
pub mod balance;
pub mod closing;
pub mod data;
pub mod diagram;
pub mod duties;
pub mod json;
pub(crate) mod lacking;
pub mod limits;
pub mod page_one;
pub mod papers;
pub mod places;
pub mod ponds;
pub mod water_year;

use crate::page::document::Document;
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

/// Every chapter of the inspection report, in order. None can be left out.
pub const CHAPTERS: &[Chapter] = &[
    chapter("page one", false, page_one::write),
    chapter("papers", true, papers::write),
    chapter("own words, first", false, |case, doc| own_words(case, doc, Stands::AfterTheFirstPage)),
    chapter("diagram", true, diagram::write),
    chapter("data", true, data::write),
    chapter("balance", true, balance::write),
    chapter("places", true, places::write),
    chapter("ponds", true, ponds::write),
    chapter("limits", true, limits::write),
    chapter("duties", false, duties::write),
    chapter("facility", false, closing::facility),
    chapter("assumptions", true, closing::assumptions),
    chapter("worklist", false, closing::worklist),
    chapter("methods", true, closing::methods),
    chapter("files", false, closing::files),
    chapter("glossary", false, closing::glossary),
    chapter("own words, last", false, |case, doc| own_words(case, doc, Stands::AtTheEnd)),
    chapter("cautions", true, closing::cautions),
    chapter("signature", false, closing::signature),
];

/// The user's own paragraphs that stand at a place.
fn own_words(case: &Case, doc: &mut Document, stands: Stands) {
    for paragraph in case.letterhead.paragraphs.iter().filter(|paragraph| paragraph.stands == stands) {
        doc.heading(2, paragraph.heading.clone());
        doc.traced(paragraph.text.as_str(), LETTERHEAD_FILE);
    }
}

/// The inspection report.
pub fn inspection(case: &Case) -> Document {
    let mut doc = Document::new("Permit-year record", case.facility.name.clone(), case.period_words());
    doc.digest = case.digest.to_owned();
    doc.dated = Some(case.as_of);
    doc.paper = match case.facility.paper {
        crate::facility::model::Paper::Letter => crate::page::document::Paper::Letter,
        crate::facility::model::Paper::A4 => crate::page::document::Paper::A4,
    };
    doc.working_copy = is_working_copy(case);
    for chapter in CHAPTERS {
        if chapter.new_page {
            doc.page_break();
        }
        (chapter.write)(case, &mut doc);
    }
    doc
}

/// Whether data are incomplete: there is no permit, no record in the period or none to its end, or rain has gaps.
pub fn is_working_copy(case: &Case) -> bool {
    let (from, to) = case.period;
    let recorded =
        case.timeline.observations.iter().any(|observation| from <= observation.day && observation.day <= to);
    let rain_has_gaps = from
        .iter_days()
        .take_while(|day| *day <= to)
        .any(|day| case.weather.rain_on(day).is_none_or(|rain| rain.depth_mm.is_none()));
    case.permit.is_none()
        || !recorded
        || case.timeline.last_day.is_none_or(|last| last < to)
        || rain_has_gaps && case.facility.weather.rain.is_some()
}
