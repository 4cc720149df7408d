//! The only room that touches the disk: bounded read, YAML tree with places, tables, atomic write.
//!
//! [`Sources`] reads files and remembers them; [`yaml::tree`] makes a tree in which every value has its place;
//! [`Fields`] reads a map by its keys and tells all problems at once; [`Sheet`] reads a table; [`Outputs`] writes.
//! A quantity that was read is a [`Given`], anything else a [`Said`]. Our own files' keys are declared (see [`declared`])
//! and read by [`Fields::get`] and [`Fields::read`]; [`schema`] prints what is declared.
//!
//! ```
//! use bywash::told::Problems;
//! use bywash::files::{Fields, Source, yaml};
//! use bywash::quantity::kind;
//!
//! let problems = Problems::new();
//! // From a folder: Sources::new(folder).text("rules.yaml", None, &problems)
//! let source = Source::new("rules.yaml", "limits:\n  Flow:\n    at most: 250000 gal\n    atx: Outfall 1\n    in season: 1 Jun to 30 Sep\n");
//! let tree = yaml::tree(&source, &problems).expect("it is YAML");
//! let mut file = Fields::of_file(&tree, &problems).expect("it is a map");
//! for (name, field) in file.must("limits", "{Flow: {at most: 250000 gal}}").named() {
//!     let Some(mut limit) = field.fields() else { continue };
//!     let at_most = limit.must("at most", "250000 gal").quantity::<kind::Volume>();      // Option<Given<Volume>>
//!     let season = limit.may("in season").date_range();                                 // Option<Said<DateRange>>
//!     let at = limit.may("at").name();                                                  // missing: None, no problem
//!     assert_eq!((name.value.as_str(), at_most.is_some(), season.is_some(), at), ("Flow", true, true, None));
//!     limit.finish();                                                                   // tells of `atx`
//! }
//! file.finish();
//! let told = problems.in_order();
//! assert_eq!(told[0].to_string_line(), "rules.yaml:4: `atx` is not known in `Flow`");
//! ```
//!
//! Other readers of a [`Field`]: `text`, `count(least, most)`, `number`, `factor`, `ratio`, `date`, `clock`, `weekdays`,
//! `span`, `deadline`, `how_often`, `yes_or_no`, `one_of(&[("word", value)])`, `by_month(|f| …)`, `list`,
//! `one_or_more`, `fields`, `named`, and `parse(what, example, parser)` for anything else. `says_not_said()` and
//! `says_not_known()` ask first.

#[cfg(test)]
mod asked;
pub mod declared;
mod field;
mod fields;
mod given;
mod new_folder;
mod quotes;
mod said;
pub mod schema;
pub mod shapes;
mod sheet;
mod sources;
mod traps;
mod typed;
mod write;
pub mod yaml;
#[cfg(test)]
mod yaml_tests;

#[cfg(test)]
pub(crate) use asked::never_asked;
pub(crate) use declared::declare;
pub use declared::{AnyKey, Declares, Key, Keyed, Map, Of, Reads, Shape};
pub use field::Field;
pub use fields::Fields;
pub use given::Given;
pub use new_folder::{NewFolderError, make_new_folder};
pub use said::Said;
pub use shapes::WordList;
pub(crate) use shapes::{parsed, words};
pub use sheet::{MOST_COLUMNS, MOST_LETTERS, MOST_ROWS, Row, Sheet, place as cell_place, rows};
pub use sources::{Entry, EntryKind, FileRead, MOST_BYTES, Source, Sources, fingerprint, mapping_of, sha256};
pub use write::{Content, Outputs, UNFINISHED, WriteError, check_targets, inert, write_whole};
