//! The only room that touches the disk: bounded read, YAML tree with places, atomic write.

mod given;

pub use given::Given;
