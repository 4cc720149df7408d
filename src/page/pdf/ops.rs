//! Shapes as drawing operations of the PDF library.

use std::collections::BTreeMap;

use printpdf::{
    Color, DictItem, FontId, LinePoint, Op, PaintMode, PdfFontHandle, Polygon, PolygonRing, Pt, Rgb, TextItem,
    WindingOrder,
};

use crate::page::document::Style;
use crate::page::draw::{Colour, Pen, Point};
use crate::page::pdf::record::{Record, Shape, Sheet};

/// The name of a cut in the file: tag of a subset, family, cut.
pub fn font_name(style: Style) -> &'static str {
    match style {
        Style::Plain => "BYWREG+NotoSans-Regular",
        Style::Bold => "BYWBLD+NotoSans-Bold",
        Style::Italic => "BYWITA+NotoSans-Italic",
    }
}

struct Ops {
    height: f32,
    ops: Vec<Op>,
    fill: Option<Colour>,
    stroke: Option<Colour>,
    width: Option<f32>,
    dash: Option<&'static [f32]>,
}

/// Coordinates to a hundredth of a point: finer shows nowhere and makes the file half as long again.
fn r(value: f32) -> f32 {
    (value * 100.0).round() / 100.0
}

fn colour(colour: Colour) -> Color {
    let part = |v: u8| (f32::from(v) / 255.0 * 1000.0).round() / 1000.0;
    Color::Rgb(Rgb { r: part(colour.0), g: part(colour.1), b: part(colour.2), icc_profile: None })
}

impl Ops {
    fn point(&self, point: &Point) -> printpdf::Point {
        printpdf::Point { x: Pt(r(point.x)), y: Pt(r(self.height - point.y)) }
    }

    fn path(&self, points: &[Point]) -> Vec<LinePoint> {
        points.iter().map(|point| LinePoint { p: self.point(point), bezier: false }).collect()
    }

    fn pen(&mut self, pen: &Pen) {
        if self.stroke != Some(pen.colour) {
            self.ops.push(Op::SetOutlineColor { col: colour(pen.colour) });
            self.stroke = Some(pen.colour);
        }
        if self.width != Some(pen.width) {
            self.ops.push(Op::SetOutlineThickness { pt: Pt(r(pen.width)) });
            self.width = Some(pen.width);
        }
        if self.dash != Some(pen.dash) {
            self.ops.push(Op::SetLineDashPattern { dash: printpdf::LineDashPattern::new(0.0, pen.dash) });
            self.dash = Some(pen.dash);
        }
    }

    fn filled(&mut self, with: Colour) {
        if self.fill != Some(with) {
            self.ops.push(Op::SetFillColor { col: colour(with) });
            self.fill = Some(with);
        }
    }

    fn shape(&mut self, shape: &Shape) {
        match shape {
            Shape::Line(points, pen) => {
                self.pen(pen);
                let points = self.path(points);
                self.ops.push(Op::DrawLine { line: printpdf::Line { points, is_closed: false } });
            }
            Shape::Fill(points, with) => {
                self.filled(*with);
                let points = self.path(points);
                self.ops.push(Op::DrawPolygon {
                    polygon: Polygon {
                        rings: vec![PolygonRing { points }],
                        mode: PaintMode::Fill,
                        winding_order: WindingOrder::NonZero,
                    },
                });
            }
            Shape::Words(start, words, kind) => {
                self.filled(kind.colour);
                let pos = self.point(start);
                self.ops.extend([
                    Op::StartTextSection,
                    Op::SetFont {
                        font: PdfFontHandle::External(FontId(font_name(kind.style).to_owned())),
                        size: Pt(kind.size),
                    },
                    Op::SetTextCursor { pos },
                    Op::ShowText { items: vec![TextItem::Text(words.clone())] },
                    Op::EndTextSection,
                ]);
            }
        }
    }
}

/// Every letter that stands on any sheet, by cut, in the order in which each stands last: the library keeps the last letter of a glyph.
pub fn of_letters(record: &Record) -> Vec<Op> {
    let mut last: BTreeMap<(&'static str, char), usize> = BTreeMap::new();
    let shapes = record.sheets.iter().flat_map(|sheet| {
        let marked = sheet.marks.iter().flat_map(|(_, shapes)| shapes);
        sheet.under.iter().chain(marked)
    });
    let words = shapes.filter_map(|shape| match shape {
        Shape::Words(_, words, kind) => Some((font_name(kind.style), words)),
        Shape::Line(..) | Shape::Fill(..) => None,
    });
    for (place, (cut, words)) in words.enumerate() {
        for letter in words.chars() {
            last.insert((cut, letter), place);
        }
    }
    let mut letters: Vec<_> = last.into_iter().collect();
    letters.sort_by_key(|((cut, _), place)| (*cut, *place));
    let shown = letters.into_iter().flat_map(|((cut, letter), _)| {
        let font = PdfFontHandle::External(FontId(cut.to_owned()));
        let items = vec![TextItem::Text(letter.to_string())];
        [Op::SetFont { font, size: Pt(1.0) }, Op::ShowText { items }]
    });
    shown.collect()
}

/// The operations of a sheet: what carries no meaning first, then each stretch of content with its number.
pub fn of_sheet(record: &Record, sheet: &Sheet) -> Vec<Op> {
    let mut ops = Ops { height: record.height, ops: Vec::new(), fill: None, stroke: None, width: None, dash: None };
    if !sheet.under.is_empty() {
        ops.ops.push(Op::BeginMarkedContent { tag: "Artifact".to_owned() });
        for shape in &sheet.under {
            ops.shape(shape);
        }
        ops.ops.push(Op::EndMarkedContent);
    }
    for (number, (element, shapes)) in sheet.marks.iter().enumerate() {
        let tag = record.elements.get(*element).map_or("P", |e| e.tag);
        let number = i64::try_from(number).unwrap_or(i64::MAX);
        ops.ops.push(Op::BeginMarkedContentWithProperties {
            tag: tag.to_owned(),
            properties: DictItem::Dict { map: BTreeMap::from([("MCID".to_owned(), DictItem::Int(number))]) },
        });
        for shape in shapes {
            ops.shape(shape);
        }
        ops.ops.push(Op::EndMarkedContent);
    }
    ops.ops
}
