//! Outputs: written beside their target and moved into place, so that a file is whole or not there.

use std::borrow::Cow;
use std::io::{Read, Write};
use std::path::{Component, Path, PathBuf};

use super::Sources;

/// An output that could not be written.
#[derive(Debug, thiserror::Error)]
pub enum WriteError {
    /// The path leads out of the folder that outputs belong in.
    #[error("`{0}` would be written outside the facility's folder")]
    Outside(String),
    /// The target was read as an input.
    #[error("`{0}` is one of the files this is made from; nothing was written. Name another file for the output")]
    Input(String),
    /// Two outputs have one target.
    #[error("two outputs would go to `{0}`; nothing was written. Name two files")]
    Twice(String),
    /// Something else stands at the target.
    #[error("`{path}` is there already and is not {kind}; nothing was written. Name another file, or move that one")]
    Foreign {
        /// The target.
        path: String,
        /// What the output is.
        kind: &'static str,
    },
    /// The disk refused.
    #[error("`{path}` could not be written: {cause}")]
    Disk {
        /// The target.
        path: String,
        /// What the disk said.
        cause: std::io::Error,
    },
}

/// Words as a cell of CSV: what a spreadsheet would take for a formula gets an apostrophe in front. A number keeps its
/// sign.
pub fn inert(words: &str) -> Cow<'_, str> {
    let is_formula =
        words.starts_with(['=', '@', '\t', '\r']) || (words.starts_with(['+', '-']) && words.parse::<f64>().is_err());
    if is_formula { Cow::Owned(format!("'{words}")) } else { Cow::Borrowed(words) }
}

/// How the name of an output begins while it is being written; one that is left was left by a run that was stopped.
pub const UNFINISHED: &str = ".bywash-unfinished-";

/// What an output holds: known by its first bytes, so that a file of another kind is never replaced.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Content {
    /// A PDF (ISO 32000: `%PDF-`).
    Pdf,
    /// A workbook: a ZIP file.
    Workbook,
    /// A ledger: its heading.
    Ledger,
    /// A drawing (SVG), as this program writes it.
    Drawing,
    /// A page (HTML), as this program writes it.
    Page,
}

impl Content {
    const fn begins(self) -> &'static [u8] {
        match self {
            Self::Pdf => b"%PDF-",
            Self::Workbook => b"PK",
            Self::Ledger => b"date,from,to,purpose,",
            Self::Drawing => b"<svg xmlns=",
            Self::Page => b"<!doctype html>\n<!-- made by bywash page -->",
        }
    }

    const fn words(self) -> &'static str {
        match self {
            Self::Pdf => "a PDF",
            Self::Workbook => "a workbook",
            Self::Ledger => "a ledger",
            Self::Drawing => "a drawing",
            Self::Page => "a page",
        }
    }
}

/// Looks at targets before the work begins: none may be a file that was read, none may be another's, and what stands
/// there already must be an older output of the same kind (or empty, or no file at all).
///
/// # Errors
/// For the first target that is not so.
pub fn check_targets(targets: &[(&Path, Content)], sources: &Sources) -> Result<(), WriteError> {
    let shown = |path: &Path| path.display().to_string();
    for (at, (path, content)) in targets.iter().enumerate() {
        if sources.has_read(path) {
            return Err(WriteError::Input(shown(path)));
        }
        if targets.iter().take(at).any(|(other, _)| is_one_file(path, other)) {
            return Err(WriteError::Twice(shown(path)));
        }
        if !std::fs::metadata(path).is_ok_and(|about| about.is_file() && about.len() > 0) {
            continue;
        }
        let begins = content.begins();
        let mut found = Vec::new();
        let read = std::fs::File::open(path).and_then(|file| file.take(begins.len() as u64).read_to_end(&mut found));
        if read.is_err() || found != begins {
            return Err(WriteError::Foreign { path: shown(path), kind: content.words() });
        }
    }
    Ok(())
}

/// Whether two paths are one file, there already or not: through links of any kind, or by folder and name.
pub(super) fn is_one_file(a: &Path, b: &Path) -> bool {
    same_file::is_same_file(a, b).unwrap_or_else(|_| match (whole(a), whole(b)) {
        (Some(a), Some(b)) => a == b,
        _ => a == b,
    })
}

/// A path whose folder is followed to its end.
fn whole(path: &Path) -> Option<PathBuf> {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    Some(folder.canonicalize().ok()?.join(path.file_name()?))
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
    take_away_unfinished(folder);
    // What is told names the target; the file beside it is nothing to the user.
    let unnamed = |cause: std::io::Error| refuse(cause.kind().into());
    let mut file = tempfile::Builder::new().prefix(UNFINISHED).tempfile_in(folder).map_err(unnamed)?;
    // Held while it is written, so that another run knows it for unfinished and not for left.
    let _ = file.as_file().try_lock();
    file.as_file_mut().write_all(bytes).map_err(refuse)?;
    file.as_file().sync_all().map_err(refuse)?;
    readable_by_usual_rules(file.path(), target).map_err(refuse)?;
    file.persist(target).map_err(|failed| refuse(failed.error))?;
    Ok(())
}

/// Takes away what runs left that were stopped while they wrote: such a file is held by nobody.
fn take_away_unfinished(folder: &Path) {
    let Ok(entries) = std::fs::read_dir(folder) else { return };
    for entry in entries.flatten() {
        let is_left = entry.file_name().to_string_lossy().starts_with(UNFINISHED)
            && std::fs::File::open(entry.path()).is_ok_and(|file| file.try_lock().is_ok());
        if is_left {
            let _ = std::fs::remove_file(entry.path());
        }
    }
}

/// A temporary file is private; the output gets the permissions it replaces, or those of an ordinary new file.
#[cfg(unix)]
fn readable_by_usual_rules(path: &Path, target: &Path) -> std::io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    let mode = match std::fs::metadata(target) {
        Ok(about) => about.permissions().mode(),
        // An ordinary new file tells what the user's mask leaves.
        Err(_) => {
            let folder = path.parent().unwrap_or(Path::new("."));
            let fresh = tempfile::Builder::new()
                .prefix(UNFINISHED)
                .permissions(std::fs::Permissions::from_mode(0o666))
                .tempfile_in(folder)?;
            fresh.as_file().metadata()?.permissions().mode()
        }
    };
    std::fs::set_permissions(path, std::fs::Permissions::from_mode(mode & 0o777))
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

    /// The files with an ending that stand in the folder already; the folder itself where it is none.
    pub fn there(&self, ending: &str) -> Vec<PathBuf> {
        match std::fs::read_dir(&self.folder) {
            Ok(entries) => {
                let paths = entries.flatten().map(|entry| entry.path());
                paths.filter(|path| path.extension().is_some_and(|kind| kind.eq_ignore_ascii_case(ending))).collect()
            }
            Err(_) if self.folder.exists() => vec![self.folder.clone()],
            Err(_) => Vec::new(),
        }
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
        // A run that was killed left this; another is being written now.
        std::fs::write(folder.path().join("out").join(format!("{UNFINISHED}a")), b"half").unwrap();
        let now = std::fs::File::create(folder.path().join("out").join(format!("{UNFINISHED}b"))).unwrap();
        now.try_lock().unwrap();
        outputs.write("out/report.pdf", b"second").unwrap();
        let names: Vec<_> =
            std::fs::read_dir(folder.path().join("out")).unwrap().flatten().map(|e| e.file_name()).collect();
        assert_eq!(names.len(), 2, "{names:?}");
        assert!(!folder.path().join("out").join(format!("{UNFINISHED}a")).exists());
        assert_eq!(std::fs::read(folder.path().join("out/report.pdf")).unwrap(), b"second");
    }

    #[test]
    fn an_output_never_takes_the_place_of_an_input_another_output_or_another_kind_of_file() {
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        std::fs::write(at("lab.csv"), "date\n").unwrap();
        std::fs::hard_link(at("lab.csv"), at("other.csv")).unwrap();
        std::fs::write(at("prices.yaml"), "water: 1\n").unwrap();
        std::fs::write(at("old.pdf"), "%PDF-1.7").unwrap();
        let mut sources = Sources::new(folder.path());
        sources.text("lab.csv", None, &crate::told::Problems::new()).unwrap();
        let refused = |targets: &[(&str, Content)]| {
            let paths: Vec<_> = targets.iter().map(|(name, content)| (at(name), *content)).collect();
            let targets: Vec<_> = paths.iter().map(|(path, content)| (path.as_path(), *content)).collect();
            check_targets(&targets, &sources).err()
        };
        for name in ["lab.csv", "./lab.csv", "other.csv"] {
            assert!(matches!(refused(&[(name, Content::Ledger)]), Some(WriteError::Input(_))), "{name}");
        }
        let twice = [("new.pdf", Content::Pdf), ("./new.pdf", Content::Workbook)];
        assert!(matches!(refused(&twice), Some(WriteError::Twice(_))));
        assert!(matches!(refused(&[("prices.yaml", Content::Pdf)]), Some(WriteError::Foreign { .. })));
        assert!(refused(&[("old.pdf", Content::Pdf), ("new.xlsx", Content::Workbook)]).is_none());
    }

    #[test]
    fn a_name_is_no_formula_and_a_number_stays_one() {
        for (words, cell) in [
            ("=1+1", "'=1+1"),
            ("-2+3", "'-2+3"),
            ("+cmd", "'+cmd"),
            ("@a", "'@a"),
            ("\t=1", "'\t=1"),
            ("-2.5", "-2.5"),
            ("Well", "Well"),
        ] {
            assert_eq!(inert(words), cell);
        }
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
