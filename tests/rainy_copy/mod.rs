//! A made-up site in a folder of its own with a year of open rain (`tests/data/README.md`), so that a test may vary it.

use std::path::{Path, PathBuf};

use tempfile::TempDir;

/// Some files of a folder, with the rain of 2012; tells where the site is.
pub fn rainy_copy(from: &str, names: &[&str]) -> (TempDir, PathBuf) {
    let temporary = tempfile::tempdir().unwrap();
    let dir = temporary.path().join("site");
    std::fs::create_dir_all(dir.join("proposals")).unwrap();
    for name in names {
        std::fs::copy(Path::new(from).join(name), dir.join(name)).unwrap();
    }
    let text = std::fs::read_to_string("tests/data/daily-weather.csv").unwrap();
    let mut rain = String::from("date,rain,unit\n");
    for line in text.lines().filter(|line| line.starts_with("2012-")) {
        let mut cells = line.split(',');
        rain.push_str(&format!("{},{},mm\n", cells.next().unwrap(), cells.next().unwrap()));
    }
    std::fs::write(dir.join("rain.csv"), rain).unwrap();
    (temporary, dir)
}
