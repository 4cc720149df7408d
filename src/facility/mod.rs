//! What the user says exists: from the file to a checked model and its graph.
//!
//! [`read`] takes a folder's `facility.yaml` to a [`model::Facility`], with all problems at once; [`from_tree`] does the
//! same for a tree that was changed after reading (a proposal). What is particular to one kind of filter stands in [`kinds`]. [`Graph`] has the ways between places and the order in
//! which a day's water passes them; [`sentences`] reads every place back so that a second person can sign it off.

mod check;
mod graph;
pub mod kinds;
pub mod model;
mod read;
mod sentences;
pub mod weirs;

pub use graph::{Carries, Graph, Line, Way};
pub use read::{FACILITY_FILE, from_tree, read, schema, tree};
pub(crate) use read::{names_of, section_schema};
pub use sentences::sentences;
