//! Document, sections, charts, diagram, cautions; PDF, terminal, tables.

pub mod case;
pub mod cautions;
pub mod charts;
pub mod diagram;
pub mod document;
pub mod draw;
pub mod fonts;
pub mod glossary;
pub mod json;
mod lacking;
pub mod letterhead;
pub mod pdf;
pub mod sections;
pub mod tables;
pub mod terminal;
pub mod units;
