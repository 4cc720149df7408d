//! The site's picture, from the ledger of the period.

use crate::page::document::{Diagram, Document};
use crate::report::inspection::about::Case;
use crate::report::picture::{Site, picture};
use crate::report::units;

/// Writes the picture.
pub fn write(case: &Case, doc: &mut Document) {
    doc.heading(2, "The facility and where its water goes");
    let drawing = diagram(case);
    let words = drawing.words();
    let mut caption = format!("Figures are {} over the period", drawing.unit);
    if drawing.ways.iter().any(|way| way.carries == crate::page::document::Carries::Solids && way.figure.is_some()) {
        caption.push_str(&format!(", of solids {} of dry solids", units::mass(case.facility.system).name));
    }
    caption.push_str(". Not a survey.");
    doc.diagram(drawing, words, caption);
}

/// The picture of the case.
pub fn diagram(case: &Case) -> Diagram {
    picture(Site { facility: case.facility, ledger: case.ledger, period: case.period })
}
