//! Document, sections, charts, diagram, cautions; PDF, page, terminal, tables.

pub mod basin;
pub mod case;
pub mod cautions;
pub mod glossary;
pub mod inspection;
pub mod letterhead;
pub mod picture;
pub mod screen;
pub mod trains;
pub mod units;
