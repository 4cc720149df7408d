//! What is tried with inputs that nobody thought of: each function takes any bytes and fails only where the library does
//! what it must never do. The fuzzer (`targets/`, nightly) finds inputs; `tests/corpus.rs` (stable) runs those that are kept.

mod folder;
mod mutant;
mod quantities;
mod sheet;
mod yaml;

pub use folder::folder;
pub use mutant::mutant;
pub use quantities::quantities;
pub use sheet::sheet;
pub use yaml::yaml;

use std::path::PathBuf;

/// A target's name and what it does with its input: whether it came to the end, and was not refused on its way.
pub type Target = (&'static str, fn(&[u8]) -> bool);

/// Every target.
pub const TARGETS: [Target; 4] = [("quantities", quantities), ("yaml", yaml), ("sheet", sheet), ("folder", folder)];

/// The top of the repository: the nearest folder above with the demonstration in it.
pub fn top() -> PathBuf {
    let here = PathBuf::from(env!("CARGO_MANIFEST_DIR"));
    let top = here.ancestors().find(|folder| folder.join("demo-facility").is_dir());
    top.map(PathBuf::from).expect("the repository is whole")
}

/// A file of the repository.
fn kept(name: &str) -> String {
    std::fs::read_to_string(top().join(name)).unwrap_or_else(|cause| panic!("{name}: {cause}"))
}

/// The first byte, which chooses, and the rest.
fn chosen(bytes: &[u8]) -> Option<(u8, &[u8])> {
    bytes.split_first().map(|(first, rest)| (*first, rest))
}

/// A file in memory, for messages.
struct One<'a>(&'a bywash::files::Source);

impl bywash::told::Lines for One<'_> {
    fn line(&self, file: &str, line: u32) -> Option<String> {
        (file == &*self.0.name).then(|| self.0.line(line).map(str::to_owned)).flatten()
    }
}

/// What is told is told whole, and fits a terminal.
fn fits(told: &str) {
    for line in told.lines() {
        assert!(line.chars().count() <= bywash::told::WIDTH, "too wide: {line}");
    }
}
