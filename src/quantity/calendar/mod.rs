//! Days, words for dates, spans of time.

pub(crate) mod day_start;
pub(crate) mod days;
pub(crate) mod order;
pub(crate) mod spans;
pub(crate) mod stamp;
pub(crate) mod words;
