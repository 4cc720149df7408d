//! The site's picture, from the ledger of the period.

use crate::page::document::{Basis, Carries, Diagram, Document, DrawnFigure, NOT_KNOWN};
use crate::report::inspection::about::Case;
use crate::report::inspection::days::{days_without_volume, seen_unbooked};
use crate::report::inspection::places::discharge_ids;
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

/// The picture of the case. Where water was seen to leave of which no volume is known, the figure is a least, or not known.
pub fn diagram(case: &Case) -> Diagram {
    let mut drawing = picture(Site { facility: case.facility, ledger: case.ledger, period: case.period });
    for id in discharge_ids(case) {
        let unbooked = seen_unbooked(case, id).is_some();
        if !unbooked && days_without_volume(case, id) == 0 {
            continue;
        }
        for way in drawing.ways.iter_mut().filter(|way| way.to == case.name(id) && way.carries != Carries::Solids) {
            match &mut way.figure {
                Some(figure) if !unbooked && figure.text != NOT_KNOWN => {
                    figure.text = format!("\u{2265} {}", figure.text)
                }
                figure if unbooked => *figure = Some(DrawnFigure::new(NOT_KNOWN, Basis::Computed)),
                _ => {}
            }
        }
    }
    drawing
}
