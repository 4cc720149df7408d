//! The site's picture, from the ledger of the period.

use crate::page::document::{Diagram, Document};
use crate::report::inspection::about::Case;
use crate::report::inspection::water_year::rain_is_not_known;
use crate::report::picture::{Site, caption, picture};

/// Writes the picture.
pub fn write(case: &Case, doc: &mut Document) {
    doc.heading(2, "The facility and where its water goes");
    let drawing = diagram(case);
    let (words, mut caption) = (drawing.words(), caption(&drawing, case.facility.system));
    if rain_is_not_known(case) {
        caption.push_str(" No rain is on file: what it brought and moved is not known (?), and ways without a figure are thin for that alone.");
    }
    doc.diagram(drawing, words, caption);
}

/// The picture of the case.
pub fn diagram(case: &Case) -> Diagram {
    picture(Site { facility: case.facility, ledger: case.ledger, period: case.period })
}
