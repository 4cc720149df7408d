//! `new`: writes the starter files into a new folder.

use std::path::PathBuf;
use std::process::ExitCode;

use clap::{Args as ClapArgs, ValueEnum};

use crate::cli::load;
use crate::cli::schema::Of;
use crate::files::make_new_folder;

/// What `new` is told.
#[derive(Debug, Clone, ClapArgs)]
#[command(
    about = "Write starter files into a new folder",
    before_help = "Example:  bywash new my-nursery\n\
                   Then change the lines marked `change me` in my-nursery/facility.yaml and run  bywash check my-nursery",
    after_help = "Nothing is overwritten: the folder must not exist yet, or be empty."
)]
pub struct Args {
    /// The folder to make
    #[arg(value_name = "FOLDER")]
    pub folder: PathBuf,
}

/// The starter files: name in the new folder, and content.
pub const STARTERS: &[(&str, &str)] = &[
    ("README.md", include_str!("../../templates/README.md")),
    ("facility.yaml", include_str!("../../templates/facility.yaml")),
    ("filters-to-copy.yaml", include_str!("../../templates/filters-to-copy.yaml")),
    ("rules.yaml", include_str!("../../templates/rules.yaml")),
    ("basin.yaml", include_str!("../../templates/basin.yaml")),
    ("prices.yaml", include_str!("../../templates/prices.yaml")),
    ("proposals/tuned.yaml", include_str!("../../templates/proposals/tuned.yaml")),
    ("proposals/bags.yaml", include_str!("../../templates/proposals/bags.yaml")),
    ("empty-rules.yaml", include_str!("../../rules/empty-rules.yaml")),
    ("letterhead.yaml", include_str!("../../templates/letterhead.yaml")),
    ("rain.csv", include_str!("../../templates/rain.csv")),
    ("records/meters.csv", include_str!("../../templates/records/meters.csv")),
    ("records/washes.csv", include_str!("../../templates/records/washes.csv")),
    ("records/lab.csv", include_str!("../../templates/records/lab.csv")),
    ("records/ponds.csv", include_str!("../../templates/records/ponds.csv")),
    ("records/looks.csv", include_str!("../../templates/records/looks.csv")),
    ("records/letters.csv", include_str!("../../templates/records/letters.csv")),
];

/// The folder of the schemas, which the starter files name in their first lines.
const SCHEMAS: &str = ".schema";

/// The schemas: name in the new folder, and content.
fn schemas() -> Vec<(String, String)> {
    Of::value_variants().iter().map(|file| (format!("{SCHEMAS}/{}.json", file.name()), file.printed())).collect()
}

/// Makes the folder, says on standard error what stands in it, and gives 0, or 1 when it could not.
pub fn run(args: &Args) -> ExitCode {
    let schemas = schemas();
    let starters = STARTERS.iter().map(|(name, text)| (*name, text.as_bytes()));
    let files: Vec<(&str, &[u8])> =
        starters.chain(schemas.iter().map(|(name, text)| (name.as_str(), text.as_bytes()))).collect();
    match make_new_folder(&args.folder, &files) {
        Ok(()) => {
            let names: String = STARTERS.iter().map(|(name, _)| format!("  {name}\n")).collect();
            load::to_stderr(&format!(
                "Made {}:\n{names}  {SCHEMAS} (for editors that check YAML as you type)\n\
                 Begin with README.md; change the lines marked `change me`.\n",
                args.folder.display()
            ));
            ExitCode::SUCCESS
        }
        Err(cause) => {
            load::to_stderr(&format!("error: {cause}.\n"));
            ExitCode::from(1)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_file_of_the_templates_folder_is_a_starter() {
        let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("templates");
        let mut found: Vec<String> = Vec::new();
        for folder in ["", "proposals", "records"] {
            for entry in std::fs::read_dir(root.join(folder)).unwrap().flatten() {
                if entry.path().is_file() {
                    let name = entry.file_name().to_string_lossy().into_owned();
                    found.push(if folder.is_empty() { name } else { format!("{folder}/{name}") });
                }
            }
        }
        found.push("empty-rules.yaml".to_string());
        found.sort();
        let mut listed: Vec<&str> = STARTERS.iter().map(|(name, _)| *name).collect();
        listed.sort_unstable();
        assert_eq!(found, listed);
    }

    #[test]
    fn a_starter_that_names_a_schema_names_one_that_is_written_beside_it() {
        let written: Vec<String> = schemas().into_iter().map(|(name, _)| name).collect();
        let mut named: Vec<String> = Vec::new();
        for (name, text) in STARTERS {
            let Some(path) = text.lines().next().and_then(|line| line.strip_prefix("# yaml-language-server: $schema="))
            else {
                continue;
            };
            let depth = name.matches('/').count();
            let path = path.strip_prefix(&"../".repeat(depth)).unwrap_or_else(|| panic!("{name}: {path}"));
            assert!(written.iter().any(|written| written == path), "{name}: {path}");
            named.push(path.to_owned());
        }
        named.sort_unstable();
        named.dedup();
        assert_eq!(named.len(), written.len(), "each schema is named by a starter: {named:?}");
    }
}
