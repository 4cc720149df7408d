//! Document, sections, charts, diagram, cautions; PDF, terminal, tables.

pub mod document;
