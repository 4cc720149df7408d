//! Document, sections, charts, diagram, cautions; PDF, terminal, tables.

pub mod case;
pub mod cautions;
pub mod document;
pub mod glossary;
pub mod json;
pub mod sections;
pub mod units;
