//! What draws say of a limit where no record does.

pub(crate) mod plan;
pub(crate) mod predicted;
