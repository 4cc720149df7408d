//! Outputs: written beside their target and moved into place, so that a file is whole or not there.

use std::io::Write;
use std::path::{Component, Path, PathBuf};

/// An output that could not be written.
#[derive(Debug, thiserror::Error)]
pub enum WriteError {
    /// The path leads out of the folder that outputs belong in.
    #[error("`{0}` would be written outside the facility's folder")]
    Outside(String),
    /// The disk refused.
    #[error("`{path}` could not be written: {cause}")]
    Disk {
        /// The target.
        path: String,
        /// What the disk said.
        cause: std::io::Error,
    },
}

/// Writes a whole file at once: the bytes go to a file beside the target, which then takes the target's name. If
/// anything fails, what stood at the target is untouched. A link's file is written, not the link; what is no file (a
/// device such as `/dev/null`, a pipe) is written to and never replaced.
///
/// # Errors
/// When the folder is missing or the disk refuses.
pub fn write_whole(target: &Path, bytes: &[u8]) -> Result<(), WriteError> {
    let refuse = |cause: std::io::Error| WriteError::Disk { path: target.display().to_string(), cause };
    if std::fs::metadata(target).is_ok_and(|about| !about.is_file() && !about.is_dir()) {
        return std::fs::OpenOptions::new()
            .write(true)
            .open(target)
            .and_then(|mut to| to.write_all(bytes))
            .map_err(refuse);
    }
    let target = &std::fs::canonicalize(target).unwrap_or_else(|_| target.to_path_buf());
    let folder = match target.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    };
    let mut file = tempfile::NamedTempFile::new_in(folder).map_err(refuse)?;
    file.write_all(bytes).map_err(refuse)?;
    file.as_file().sync_all().map_err(refuse)?;
    readable_by_usual_rules(file.path(), target).map_err(refuse)?;
    file.persist(target).map_err(|failed| refuse(failed.error))?;
    Ok(())
}

/// A temporary file is private; the output gets the permissions it replaces, or those of an ordinary new file.
#[cfg(unix)]
fn readable_by_usual_rules(path: &Path, target: &Path) -> std::io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    let mode = match std::fs::metadata(target) {
        Ok(about) => about.permissions().mode(),
        Err(_) => 0o644,
    };
    std::fs::set_permissions(path, std::fs::Permissions::from_mode(mode))
}

#[cfg(not(unix))]
fn readable_by_usual_rules(_: &Path, _: &Path) -> std::io::Result<()> {
    Ok(())
}

/// The folder that outputs go to. Nothing outside it is written.
#[derive(Debug, Clone)]
pub struct Outputs {
    folder: PathBuf,
}

impl Outputs {
    /// Outputs into `folder`.
    pub fn new(folder: &Path) -> Self {
        Self { folder: folder.to_path_buf() }
    }

    /// Where a name would be written.
    ///
    /// # Errors
    /// When the name is empty, absolute or leads out of the folder.
    pub fn path(&self, name: &str) -> Result<PathBuf, WriteError> {
        let relative = Path::new(name);
        let inside = !name.is_empty()
            && relative.components().all(|part| matches!(part, Component::Normal(_) | Component::CurDir));
        if inside { Ok(self.folder.join(relative)) } else { Err(WriteError::Outside(name.to_string())) }
    }

    /// Writes a file under the folder, making the folders on the way. Gives its path.
    ///
    /// # Errors
    /// When the name leads out of the folder, also through a link, or the disk refuses.
    pub fn write(&self, name: &str, bytes: &[u8]) -> Result<PathBuf, WriteError> {
        let path = self.path(name)?;
        let refuse = |cause: std::io::Error| WriteError::Disk { path: name.to_string(), cause };
        let parent = path.parent().unwrap_or(&self.folder);
        std::fs::create_dir_all(parent).map_err(refuse)?;
        let (root, real) = (self.folder.canonicalize().map_err(refuse)?, parent.canonicalize().map_err(refuse)?);
        if !real.starts_with(&root) {
            return Err(WriteError::Outside(name.to_string()));
        }
        write_whole(&path, bytes)?;
        Ok(path)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[cfg(unix)]
    #[test]
    fn what_is_no_file_is_never_replaced_and_a_link_stays_a_link() {
        use std::os::unix::fs::FileTypeExt;
        let folder = tempfile::tempdir().unwrap();
        let socket = folder.path().join("socket");
        let _listener = std::os::unix::net::UnixListener::bind(&socket).unwrap();
        assert!(write_whole(&socket, b"x").is_err());
        assert!(std::fs::metadata(&socket).unwrap().file_type().is_socket());

        let (file, link) = (folder.path().join("file"), folder.path().join("link"));
        std::fs::write(&file, b"old").unwrap();
        std::os::unix::fs::symlink(&file, &link).unwrap();
        write_whole(&link, b"new").unwrap();
        assert_eq!(std::fs::read(&file).unwrap(), b"new");
        assert!(std::fs::symlink_metadata(&link).unwrap().is_symlink());
    }

    #[test]
    fn an_output_is_replaced_whole_and_leaves_nothing_beside_it() {
        let folder = tempfile::tempdir().unwrap();
        let outputs = Outputs::new(folder.path());
        outputs.write("out/report.pdf", b"first").unwrap();
        outputs.write("out/report.pdf", b"second").unwrap();
        let names: Vec<_> =
            std::fs::read_dir(folder.path().join("out")).unwrap().flatten().map(|e| e.file_name()).collect();
        assert_eq!(names, ["report.pdf"]);
        assert_eq!(std::fs::read(folder.path().join("out/report.pdf")).unwrap(), b"second");
    }

    #[test]
    fn nothing_outside_the_folder_is_written() {
        let folder = tempfile::tempdir().unwrap();
        let inner = folder.path().join("facility");
        std::fs::create_dir(&inner).unwrap();
        let outputs = Outputs::new(&inner);
        for name in ["../escaped.txt", "/escaped.txt", "a/../../escaped.txt", ""] {
            assert!(matches!(outputs.write(name, b"x"), Err(WriteError::Outside(_))), "{name}");
        }
        assert!(!folder.path().join("escaped.txt").exists());
    }
}
