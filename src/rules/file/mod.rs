//! What the rules file says: model, how a permit counts, reading, reading back.

pub(crate) mod counting;
pub(crate) mod model;
pub(crate) mod read;
pub(crate) mod sentences;
