//! The sites whose files are misspelt, each copied to a folder of its own.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use crate::tokens::names_in;

/// A site: its files by their path within the copy.
#[derive(Debug, Clone)]
pub struct Site {
    pub name: &'static str,
    /// The site's own folder within the copy.
    folder: &'static str,
    files: Vec<(String, String)>,
    /// Files of which every token is changed.
    changed: Vec<String>,
}

fn read(path: &Path) -> String {
    fs::read_to_string(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

fn files_of(folder: &Path, under: &str, out: &mut Vec<(String, String)>) {
    let mut names: Vec<PathBuf> =
        fs::read_dir(folder).expect("a folder").map(|entry| entry.expect("an entry").path()).collect();
    names.sort();
    for path in names {
        let name = format!("{under}/{}", path.file_name().expect("a name").to_string_lossy());
        if path.is_dir() {
            files_of(&path, &name, out);
        } else if path.extension().is_some_and(|end| end == "csv" || end == "yaml") {
            out.push((name, read(&path)));
        }
    }
}

/// The demonstration.
pub fn demonstration() -> Site {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut files = Vec::new();
    files_of(&root.join("demo-facility"), "demo-facility", &mut files);
    files.push(("rules/sallowfen.yaml".to_owned(), read(&root.join("rules/sallowfen.yaml"))));
    Site::new("demo", "demo-facility", files)
}

/// A facility of the tests, with the rules and records beside this file.
pub fn of_the_tests(name: &'static str) -> Site {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut files = Vec::new();
    files_of(&root.join("tests/typos/sites").join(name), "site", &mut files);
    let facility = read(&root.join("tests/facilities").join(name).join("facility.yaml"));
    let facility = facility.replace("../rules/harrowmead.yaml", "rules.yaml");
    files.push(("site/facility.yaml".to_owned(), facility));
    Site::new(name, "site", files)
}

impl Site {
    fn new(name: &'static str, folder: &'static str, files: Vec<(String, String)>) -> Self {
        let changed = |file: &String| {
            file.ends_with("facility.yaml")
                || file.contains("rules")
                || file.contains("/records/")
                || file.ends_with("rain.csv")
        };
        let changed = files.iter().map(|(file, _)| file.clone()).filter(changed).collect();
        Self { name, folder, files, changed }
    }

    /// Files that are changed, with their text.
    pub fn changed(&self) -> impl Iterator<Item = (&str, &str)> {
        self.files
            .iter()
            .filter(|(file, _)| self.changed.contains(file))
            .map(|(file, text)| (file.as_str(), text.as_str()))
    }

    /// Every name that the facility and the rules define.
    pub fn names(&self) -> BTreeSet<String> {
        let yaml = self.changed().filter(|(file, _)| file.ends_with(".yaml"));
        yaml.flat_map(|(_, text)| names_in(text)).collect()
    }

    /// A copy on disk.
    pub fn copy(&self) -> Copy {
        let folder = tempfile::tempdir().expect("a folder");
        for (file, text) in &self.files {
            let path = folder.path().join(file);
            fs::create_dir_all(path.parent().expect("a parent")).expect("a folder");
            fs::write(path, text).expect("a file");
        }
        Copy { own: folder.path().join(self.folder), folder }
    }
}

/// A site's copy on disk, gone when it is dropped.
pub struct Copy {
    folder: tempfile::TempDir,
    own: PathBuf,
}

impl Copy {
    /// The site's own folder.
    pub fn folder(&self) -> &Path {
        &self.own
    }

    /// Puts another text in a file.
    pub fn put(&self, file: &str, text: &str) {
        fs::write(self.folder.path().join(file), text).expect("a file");
    }
}
