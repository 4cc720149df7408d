//! A folder that is new: it appears with all its files or not at all, and nothing that stands there is touched.

use std::io;
use std::path::{Component, Path};

/// A new folder that could not be made.
#[derive(Debug, thiserror::Error)]
pub enum NewFolderError {
    /// Something stands at the path already.
    #[error("`{folder}` holds `{first}` already; nothing was written. Name a folder that does not exist yet")]
    NotEmpty {
        /// The folder.
        folder: String,
        /// The first name in it, by alphabet.
        first: String,
    },
    /// The path is a file, or ends in nothing that can be a folder's name.
    #[error("`{0}` is not a folder that can be made; nothing was written")]
    NotAFolder(String),
    /// The disk refused.
    #[error("`{folder}` could not be made: {cause}")]
    Disk {
        /// The folder.
        folder: String,
        /// What the disk said.
        cause: io::Error,
    },
}

/// Makes `folder` with these files (names from the folder, with `/`). They are written into a folder beside it, which
/// then takes its name; an empty folder may stand there, anything else is left as it is.
///
/// # Errors
/// When something stands there already, a name leads out of the folder, or the disk refuses.
pub fn make_new_folder(folder: &Path, files: &[(&str, &[u8])]) -> Result<(), NewFolderError> {
    let shown = || folder.display().to_string();
    let refuse = |cause: io::Error| NewFolderError::Disk { folder: shown(), cause };
    if folder.file_name().is_none() || folder.is_file() {
        return Err(NewFolderError::NotAFolder(shown()));
    }
    if folder.is_dir() {
        refuse_if_used(folder)?;
    }
    let parent = match folder.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    };
    std::fs::create_dir_all(parent).map_err(refuse)?;
    let beside = tempfile::Builder::new().prefix(".new-").tempdir_in(parent).map_err(refuse)?;
    let inside = beside.path().join("folder");
    std::fs::create_dir(&inside).map_err(refuse)?;
    for (name, bytes) in files {
        let relative = Path::new(name);
        if !relative.components().all(|part| matches!(part, Component::Normal(_))) {
            return Err(NewFolderError::NotAFolder((*name).to_string()));
        }
        let path = inside.join(relative);
        if let Some(parent) = path.parent() {
            std::fs::create_dir_all(parent).map_err(refuse)?;
        }
        std::fs::write(&path, bytes).map_err(refuse)?;
    }
    if folder.is_dir() {
        // Only an empty folder can be taken away; if somebody filled it meanwhile this fails and nothing is lost.
        std::fs::remove_dir(folder).map_err(refuse)?;
    }
    std::fs::rename(&inside, folder).map_err(refuse)
}

fn refuse_if_used(folder: &Path) -> Result<(), NewFolderError> {
    let shown = folder.display().to_string();
    let entries = std::fs::read_dir(folder).map_err(|cause| NewFolderError::Disk { folder: shown.clone(), cause })?;
    let first = entries.flatten().map(|entry| entry.file_name().to_string_lossy().into_owned()).min();
    match first {
        None => Ok(()),
        Some(first) => Err(NewFolderError::NotEmpty { folder: shown, first }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_folder_that_holds_something_is_left_as_it_is() {
        let parent = tempfile::tempdir().unwrap();
        let folder = parent.path().join("mine");
        std::fs::create_dir(&folder).unwrap();
        std::fs::write(folder.join("facility.yaml"), "years of work").unwrap();
        let told = make_new_folder(&folder, &[("facility.yaml", b"new")]).unwrap_err();
        assert!(told.to_string().contains("`facility.yaml` already"), "{told}");
        assert_eq!(std::fs::read_to_string(folder.join("facility.yaml")).unwrap(), "years of work");
        assert_eq!(std::fs::read_dir(parent.path()).unwrap().count(), 1);
    }

    #[test]
    fn a_bad_name_leaves_no_half_of_a_folder() {
        let parent = tempfile::tempdir().unwrap();
        let folder = parent.path().join("mine");
        assert!(make_new_folder(&folder, &[("a.yaml", b"a"), ("../b.yaml", b"b")]).is_err());
        assert_eq!(std::fs::read_dir(parent.path()).unwrap().count(), 0);
        assert!(make_new_folder(&parent.path().join(".."), &[]).is_err());
    }

    #[test]
    fn a_missing_or_empty_folder_gets_all_its_files() {
        let parent = tempfile::tempdir().unwrap();
        for name in ["fresh", "deep/er", "empty"] {
            let folder = parent.path().join(name);
            if name == "empty" {
                std::fs::create_dir(&folder).unwrap();
            }
            make_new_folder(&folder, &[("a.yaml", b"a"), ("records/b.csv", b"b")]).unwrap();
            assert_eq!(std::fs::read(folder.join("records/b.csv")).unwrap(), b"b");
        }
    }
}
