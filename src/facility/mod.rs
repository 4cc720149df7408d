//! What the user says exists: from the file to a checked model and its graph.

mod check;
pub mod model;
mod read;

pub use read::{FACILITY_FILE, read};
