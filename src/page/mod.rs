//! A typesetter: document, draw, charts, diagram, and what writes them out (PDF, HTML, terminal, tables). It knows no water.

pub mod calendar;
pub mod charts;
pub mod diagram;
pub mod document;
pub mod draw;
pub mod figures;
pub mod fonts;
pub mod html;
pub mod pdf;
pub mod pond;
pub mod tables;
pub mod terminal;
