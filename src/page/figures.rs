//! The drawings of a document as SVG files, by the code that draws them on its pages.

use crate::page::document::{Block, Document, Drawing};
use crate::page::draw::{Area, Canvas, SvgCanvas, WHITE, at};
use crate::page::{calendar, charts, diagram, pond};

/// Width of a drawing, and the height that a sheet of a picture may take.
const SHEET: (f32, f32) = (495.0, 585.0);

/// Each drawing of a document: the name of its file, and the file. The site's picture is `picture.svg`, with a number
/// where it has several sheets.
pub fn svgs(document: &Document) -> Vec<(String, String)> {
    let (width, most) = SHEET;
    let mut files = Vec::new();
    let mut counts = [0; 4];
    let mut name = |kind: usize| {
        counts[kind] += 1;
        let word = ["picture", "chart", "calendar", "ponds"][kind];
        if kind == 0 && counts[kind] == 1 { "picture.svg".to_owned() } else { format!("{word}-{}.svg", counts[kind]) }
    };
    for block in &document.blocks {
        let Block::Figure(figure) = block else { continue };
        match &figure.drawing {
            Drawing::Diagram(drawn) => {
                for sheet in diagram::sheets(drawn, width, most) {
                    let title =
                        sheet.title.as_ref().map_or(figure.alt.clone(), |title| format!("{title}. {}", figure.alt));
                    let mut canvas = SvgCanvas::new(width, sheet.height, &title);
                    // The gaps that ways leave are white, so what lies behind the drawing must be too.
                    canvas.block(Area { x: 0.0, y: 0.0, width, height: sheet.height }, WHITE);
                    diagram::draw(&mut canvas, &sheet, 0.0, 0.0);
                    files.push((name(0), canvas.finish()));
                }
            }
            Drawing::Chart(chart) => {
                let mut canvas = SvgCanvas::new(width, charts::height(chart), &figure.alt);
                charts::draw(&mut canvas, chart, &charts::Frame::alone(width), 0.0);
                files.push((name(1), canvas.finish()));
            }
            Drawing::Calendar(drawn) => {
                let mut canvas = SvgCanvas::new(width, calendar::height(drawn), &figure.alt);
                calendar::draw(&mut canvas, drawn, (0.0, 0.0), width);
                files.push((name(2), canvas.finish()));
            }
            Drawing::Pond(drawn) => {
                let mut canvas = SvgCanvas::new(width, pond::height(drawn, width), &figure.alt);
                pond::draw(&mut canvas, drawn, at(0.0, 0.0), width);
                files.push((name(3), canvas.finish()));
            }
        }
    }
    files
}
