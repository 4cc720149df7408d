//! Charts and diagrams on the page.

use crate::page::calendar;
use crate::page::charts;
use crate::page::diagram;
use crate::page::document::{Drawing, Figure, Text};
use crate::page::draw::{Area, SLATE, Type, at};
use crate::page::pdf::compose::{Composer, LINE, SMALL, SMALL_LINE};
use crate::page::pond;

/// Room for the caption below a figure, and the gap above it.
const BELOW: f32 = 3.0 * LINE + 6.0;

impl<'a> Composer<'a> {
    /// Height of the first part of a figure with its caption.
    pub fn figure_height(&mut self, figure: &'a Figure) -> f32 {
        let page = self.grid.bottom - self.grid.top;
        let height = match &figure.drawing {
            Drawing::Chart(chart) => {
                charts::split(chart, page - 3.0 * LINE).first().map_or(0.0, |part| charts::height(&charts::lower(part)))
            }
            Drawing::Diagram(drawn) => self.sheets(drawn).first().map_or(0.0, |sheet| sheet.height),
            Drawing::Calendar(drawn) => calendar::height(drawn),
            Drawing::Pond(ponds) => pond::height(ponds, self.grid.right - self.grid.left),
        };
        height + BELOW
    }

    /// Sets a figure with its caption.
    pub fn figure(&mut self, figure: &'a Figure) {
        let mut last = None;
        match &figure.drawing {
            Drawing::Chart(chart) => {
                let frame = charts::Frame {
                    axis: self.grid.left,
                    left: self.grid.body(),
                    right: self.grid.column(11) - 9.0,
                    end: self.grid.right,
                };
                let page = self.grid.bottom - self.grid.top - 3.0 * LINE;
                for (i, part) in charts::split(chart, page).iter().enumerate() {
                    self.skip(6.0);
                    // A chart that is a little too tall for what is left of the page is drawn lower in place of on the next.
                    let room = self.grid.bottom - self.y - 3.0 * LINE;
                    let lower = charts::lower(part);
                    let fits_lower = charts::height(part) > room && charts::height(&lower) <= room;
                    let part = if fits_lower { &lower } else { part };
                    let height = charts::height(part);
                    self.need(height + 3.0 * LINE);
                    let top = self.y;
                    last = Some(self.begin_figure(figure, height, i));
                    charts::draw(&mut self.record, part, &frame, top);
                    self.record.close();
                    self.y += height;
                }
            }
            Drawing::Diagram(drawn) => {
                let (left, right) = (self.grid.left, self.grid.right);
                let sheets = self.sheets(drawn);
                for (i, sheet) in sheets.iter().enumerate() {
                    self.skip(6.0);
                    self.need(sheet.height + 3.0 * LINE);
                    if let Some(title) = &sheet.title {
                        self.record.open("P");
                        let words = Text::new().bold(title.clone());
                        self.flow(&words, Type::plain(SMALL), left, right - left, LINE);
                        self.record.close();
                    }
                    let top = self.y;
                    last = Some(self.begin_figure(figure, sheet.height, i));
                    diagram::draw(&mut self.record, sheet, left, top);
                    self.record.close();
                    self.y += sheet.height;
                    self.notes(&sheet.notes, left, right - left);
                }
            }
            Drawing::Calendar(_) | Drawing::Pond(_) => {
                let (left, width) = (self.grid.left, self.grid.right - self.grid.left);
                let height = self.figure_height(figure) - BELOW;
                self.skip(6.0);
                self.need(height + 3.0 * LINE);
                let top = self.y;
                last = Some(self.begin_figure(figure, height, 0));
                match &figure.drawing {
                    Drawing::Calendar(drawn) => calendar::draw(&mut self.record, drawn, (left, top), width),
                    Drawing::Pond(ponds) => pond::draw(&mut self.record, ponds, at(left, top), width),
                    Drawing::Chart(_) | Drawing::Diagram(_) => {}
                }
                self.record.close();
                self.y += height;
            }
        }
        let (body, width) = match figure.drawing {
            Drawing::Chart(_) => (self.grid.body(), self.grid.body_width()),
            Drawing::Diagram(_) | Drawing::Calendar(_) | Drawing::Pond(_) => {
                (self.grid.left, self.grid.right - self.grid.left)
            }
        };
        self.y += 4.0;
        let mut caption = Text::from(&figure.caption);
        if let Some(folio) = &figure.folio {
            caption = caption.plain(format!("  ({folio})"));
        }
        // The caption belongs to the last part of the figure.
        if let Some(element) = last {
            self.record.reopen(element);
        }
        self.record.open("Caption");
        let kind = Type::plain(SMALL).colour(SLATE);
        self.flow(&caption, kind, body, width, SMALL_LINE);
        self.record.close();
        if last.is_some() {
            self.record.close();
        }
        self.y += 9.0;
    }

    fn begin_figure(&mut self, figure: &Figure, height: f32, part: usize) -> usize {
        let index = self.record.open("Figure");
        let bounds = Area { x: self.grid.left, y: self.y, width: self.grid.right - self.grid.left, height };
        let sheet = self.record.sheet();
        if let Some(element) = self.record.elements.get_mut(index) {
            element.alt = Some(if part == 0 { figure.alt.clone() } else { format!("{} (continued)", figure.alt) });
            element.bounds = Some((sheet, bounds));
        }
        index
    }
}
