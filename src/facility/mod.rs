//! What the user says exists: from the file to a checked model and its graph.

pub mod model;
