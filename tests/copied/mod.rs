//! The demonstration in a folder of its own, so that a test may break it.

use std::path::{Path, PathBuf};

/// The demonstration and its rules without the outputs that are kept beside them; tells where the site is.
pub fn demo_in(folder: &Path) -> PathBuf {
    copy(Path::new("demo-facility"), &folder.join("demo-facility"));
    copy(Path::new("rules"), &folder.join("rules"));
    folder.join("demo-facility")
}

/// A folder with all in it but documents and pictures.
fn copy(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap() {
        let path = entry.unwrap().path();
        let target = to.join(path.file_name().unwrap());
        if path.is_dir() {
            copy(&path, &target);
        } else if path.extension().is_none_or(|ending| ending != "pdf" && ending != "png" && ending != "html") {
            std::fs::copy(&path, &target).unwrap();
        }
    }
}
