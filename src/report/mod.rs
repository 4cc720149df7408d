//! Document, sections, charts, diagram, cautions; PDF, terminal, tables.
