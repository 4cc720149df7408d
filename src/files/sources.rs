//! Every file that was read: its path as the user knows it, text, size and SHA-256.

use std::fs::File;
use std::io::Read;
use std::path::{Component, Path, PathBuf};
use std::sync::Arc;

use sha2::{Digest, Sha256};

use crate::told::{Lines, Place, Problem, Problems};

/// The largest file that is read, in bytes.
pub const MOST_BYTES: u64 = 64 * 1024 * 1024;

/// A text file that was read.
#[derive(Debug)]
pub struct Source {
    /// The path as the user knows it, from the facility's directory, with `/`.
    pub name: Arc<str>,
    /// The text: byte-order mark taken off, line ends as `\n`.
    pub text: String,
    line_starts: Vec<usize>,
}

impl Source {
    /// A source from text that is already here (tests, text from standard input).
    pub fn new(name: &str, text: &str) -> Self {
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let text = if text.contains('\r') { text.replace("\r\n", "\n").replace('\r', "\n") } else { text.to_string() };
        let line_starts = std::iter::once(0).chain(text.match_indices('\n').map(|(at, _)| at + 1)).collect();
        Self { name: Arc::from(name), text, line_starts }
    }

    /// A line counted from 1, without its end.
    pub fn line(&self, line: u32) -> Option<&str> {
        let at = (line as usize).checked_sub(1)?;
        let from = *self.line_starts.get(at)?;
        let to = self.line_starts.get(at + 1).map_or(self.text.len(), |next| next - 1);
        self.text.get(from..to)
    }

    /// The byte at which a line counted from 1 starts.
    pub fn line_start(&self, line: u32) -> Option<usize> {
        self.line_starts.get((line as usize).checked_sub(1)?).copied()
    }

    /// The place of a stretch of bytes; only its part on the first line counts.
    pub fn place(&self, from: usize, to: usize) -> Place {
        let line = self.line_starts.partition_point(|start| *start <= from).max(1);
        let start = self.line_starts.get(line - 1).copied().unwrap_or(0);
        let column = self.text.get(start..from).map_or(0, |text| text.chars().count());
        let shown = self.text.get(from..to).unwrap_or_default();
        let length = shown.lines().next().unwrap_or_default().chars().count();
        let small = |number: usize| u32::try_from(number).unwrap_or(u32::MAX);
        Place {
            file: Arc::clone(&self.name),
            line: small(line),
            column: small(column + 1),
            length: small(length.max(1)),
        }
    }
}

/// What the report lists of a file that was read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FileRead {
    /// The path as the user knows it.
    pub name: Arc<str>,
    /// Size in bytes, as on disk.
    pub bytes: u64,
    /// SHA-256 of the bytes, in small hexadecimal letters.
    pub sha256: String,
}

/// Something in a folder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// Its name in the folder; what is no text in it is replaced.
    pub name: String,
    /// What it is, at the end of links.
    pub kind: EntryKind,
}

/// What something in a folder is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EntryKind {
    /// An ordinary file.
    File,
    /// A folder.
    Folder,
    /// A pipe, a device or a socket.
    NoFile,
    /// A link to what is not there.
    LeadsNowhere,
    /// Its name is not UTF-8.
    NameIsNoText,
}

/// Whether a name leads to nothing: it, or a folder on its way, is not there.
fn leads_nowhere(cause: &std::io::Error) -> bool {
    use std::io::ErrorKind::{InvalidFilename, InvalidInput, NotADirectory, NotFound};
    matches!(cause.kind(), NotFound | NotADirectory | InvalidFilename | InvalidInput)
}

/// The files read for one facility. Paths are taken from its directory.
#[derive(Debug)]
pub struct Sources {
    directory: PathBuf,
    read: Vec<(FileRead, PathBuf, Contents)>,
}

#[derive(Debug, Clone)]
enum Contents {
    Text(Arc<Source>),
    Bytes(Arc<[u8]>),
}

/// The name of the file that says how a sheet is read, beside it.
pub fn mapping_of(sheet: &str) -> String {
    format!("{sheet}.map.yaml")
}

impl Sources {
    /// None read yet; `directory` is the facility's.
    pub fn new(directory: &Path) -> Self {
        Self { directory: directory.to_path_buf(), read: Vec::new() }
    }

    /// The facility's directory.
    pub fn directory(&self) -> &Path {
        &self.directory
    }

    /// The files read so far, by name.
    pub fn files_read(&self) -> Vec<FileRead> {
        let mut files: Vec<FileRead> = self.read.iter().map(|(file, _, _)| file.clone()).collect();
        files.sort_by(|a, b| a.name.cmp(&b.name));
        files
    }

    /// The text files read so far.
    pub fn texts(&self) -> impl Iterator<Item = &Source> {
        self.read.iter().filter_map(|(_, _, contents)| match contents {
            Contents::Text(source) => Some(&**source),
            Contents::Bytes(_) => None,
        })
    }

    /// Whether a path, as typed on the command line, is one of the files read, by whatever name or link.
    pub fn has_read(&self, path: &Path) -> bool {
        self.read.iter().any(|(_, held, _)| super::write::is_one_file(path, held))
    }

    /// The name that a path has for the user: parts joined by `/`, `.` and inner `..` taken out.
    pub fn name_of(path: &str) -> String {
        let mut parts: Vec<String> = Vec::new();
        let mut root = "";
        for part in Path::new(&path.replace('\\', "/")).components() {
            match part {
                Component::ParentDir if parts.last().is_some_and(|last| last != "..") => {
                    parts.pop();
                }
                Component::RootDir => root = "/",
                Component::CurDir => {}
                other => parts.push(other.as_os_str().to_string_lossy().into_owned()),
            }
        }
        format!("{root}{}", parts.join("/"))
    }

    /// Whether a file or folder is there. What can't be looked at is there: reading it then tells why not.
    pub fn exists(&self, name: &str) -> bool {
        std::fs::metadata(self.directory.join(name)).map_or_else(|cause| !leads_nowhere(&cause), |_| true)
    }

    /// Whether a folder is there. What can't be looked at is there: listing it, or reading in it, then tells why not.
    pub fn is_folder(&self, name: &str) -> bool {
        let about = std::fs::metadata(self.directory.join(name));
        about.map_or_else(|cause| !leads_nowhere(&cause), |about| about.is_dir())
    }

    /// What stands in a folder, by name.
    ///
    /// # Errors
    /// When the folder can't be listed to its end, or something in it can't be looked at.
    pub fn entries(&self, folder: &str) -> std::io::Result<Vec<Entry>> {
        let mut entries = Vec::new();
        for entry in std::fs::read_dir(self.directory.join(folder))? {
            let entry = entry?;
            let kind = match std::fs::metadata(entry.path()) {
                _ if entry.file_name().to_str().is_none() => EntryKind::NameIsNoText,
                Ok(about) if about.is_dir() => EntryKind::Folder,
                Ok(about) if about.is_file() => EntryKind::File,
                Ok(_) => EntryKind::NoFile,
                Err(cause) if leads_nowhere(&cause) => EntryKind::LeadsNowhere,
                Err(cause) => {
                    let name = entry.file_name().to_string_lossy().into_owned();
                    return Err(std::io::Error::new(cause.kind(), format!("{name}: {cause}")));
                }
            };
            entries.push(Entry { name: entry.file_name().to_string_lossy().into_owned(), kind });
        }
        entries.sort_by(|a, b| a.name.cmp(&b.name));
        Ok(entries)
    }

    /// The names of the files in a folder that end in one of `endings` (without the dot, any case), sorted; hidden ones are left out.
    ///
    /// # Errors
    /// When the folder can't be listed to its end.
    pub fn list(&self, folder: &str, endings: &[&str]) -> std::io::Result<Vec<String>> {
        let is_wanted = |entry: &Entry| {
            entry.kind == EntryKind::File
                && !entry.name.starts_with('.')
                && Path::new(&entry.name)
                    .extension()
                    .is_some_and(|end| endings.iter().any(|other| end.eq_ignore_ascii_case(other)))
        };
        let within = |name: String| {
            if folder.is_empty() || folder == "." { name } else { Self::name_of(&format!("{folder}/{name}")) }
        };
        Ok(self.entries(folder)?.into_iter().filter(is_wanted).map(|entry| within(entry.name)).collect())
    }

    /// Reads a text file. A file that is not there, too large or not UTF-8 is told at `asked_at`, where its name was
    /// typed (else at the file).
    pub fn text(&mut self, name: &str, asked_at: Option<&Place>, problems: &Problems) -> Option<Arc<Source>> {
        let path = self.directory.join(name);
        let name = Self::name_of(name);
        if let Some(Contents::Text(source)) = self.held(&path) {
            return Some(source);
        }
        let bytes = self.bounded(&path, &name, asked_at, problems)?;
        let text = match std::str::from_utf8(&bytes) {
            Ok(text) => text,
            Err(wrong) => {
                let head = bytes.get(..wrong.valid_up_to()).unwrap_or_default();
                let lines = head.iter().filter(|byte| **byte == b'\n').count();
                let mut place = Place::file(&name);
                place.line = u32::try_from(lines + 1).unwrap_or(u32::MAX);
                problems.add(
                    Problem::error(&place, "this line is not UTF-8 text")
                        .hint("save the file again as UTF-8 (\"CSV UTF-8\" in spreadsheet programs)"),
                );
                return None;
            }
        };
        let source = Arc::new(Source::new(&name, text));
        self.keep(&name, path, &bytes, Contents::Text(Arc::clone(&source)));
        Some(source)
    }

    /// Reads a file that is not text (a workbook).
    pub fn bytes(&mut self, name: &str, asked_at: Option<&Place>, problems: &Problems) -> Option<Arc<[u8]>> {
        let path = self.directory.join(name);
        let name = Self::name_of(name);
        if let Some(Contents::Bytes(bytes)) = self.held(&path) {
            return Some(bytes);
        }
        let bytes = self.bounded(&path, &name, asked_at, problems)?;
        let shared: Arc<[u8]> = Arc::from(bytes.as_slice());
        self.keep(&name, path, &bytes, Contents::Bytes(Arc::clone(&shared)));
        Some(shared)
    }

    fn held(&self, path: &Path) -> Option<Contents> {
        self.read.iter().find(|(_, held, _)| held == path).map(|(_, _, contents)| contents.clone())
    }

    fn keep(&mut self, name: &str, path: PathBuf, bytes: &[u8], contents: Contents) {
        let file = FileRead { name: Arc::from(name), bytes: bytes.len() as u64, sha256: sha256(bytes) };
        self.read.push((file, path, contents));
    }

    fn bounded(&self, path: &Path, name: &str, asked_at: Option<&Place>, problems: &Problems) -> Option<Vec<u8>> {
        let at = asked_at.cloned().unwrap_or_else(|| Place::file(name));
        let tell = |message: String, hint: &str| {
            problems.add(Problem::error(&at, message).hint(hint));
        };
        if path.is_dir() {
            tell(format!("`{name}` is a folder, and a file is expected"), "write the path of a file");
            return None;
        }
        // Looked at before it is opened: opening a pipe would wait for somebody to write to it.
        if std::fs::metadata(path).is_ok_and(|about| !about.is_file()) {
            tell(format!("`{name}` is not an ordinary file"), "write the path of a file");
            return None;
        }
        let file = match File::open(path) {
            Ok(file) => file,
            Err(wrong) if wrong.kind() == std::io::ErrorKind::NotFound => {
                let near = self.near_file(path);
                let hint = match near {
                    Some(near) => {
                        format!("did you mean `{near}`? a path is read from the facility's folder")
                    }
                    None => "a path is read from the facility's folder".to_string(),
                };
                tell(format!("there is no file `{name}`"), &hint);
                return None;
            }
            Err(wrong) => {
                tell(format!("`{name}` can't be opened: {wrong}"), "look at who may read it");
                return None;
            }
        };
        let mut bytes = Vec::new();
        if let Err(wrong) = file.take(MOST_BYTES + 1).read_to_end(&mut bytes) {
            tell(format!("`{name}` can't be read: {wrong}"), "look at the disk it is on");
            return None;
        }
        if bytes.len() as u64 > MOST_BYTES {
            tell(format!("`{name}` is larger than {} MB", MOST_BYTES / 1024 / 1024), "split it into smaller files");
            return None;
        }
        Some(bytes)
    }

    fn near_file(&self, path: &Path) -> Option<String> {
        let wanted = path.file_name()?.to_str()?;
        let entries = std::fs::read_dir(path.parent()?).ok()?;
        let mut names: Vec<String> =
            entries.flatten().filter_map(|entry| entry.file_name().into_string().ok()).collect();
        names.sort();
        crate::told::nearest(wanted, names.iter().map(String::as_str)).map(str::to_string)
    }
}

impl Lines for Sources {
    fn line(&self, file: &str, line: u32) -> Option<String> {
        self.read.iter().find_map(|(_, _, contents)| match contents {
            Contents::Text(source) if *source.name == *file => source.line(line).map(str::to_string),
            _ => None,
        })
    }
}

/// SHA-256 over all files that were read, in their order.
pub fn fingerprint(files: &[FileRead]) -> String {
    let all: String = files.iter().map(|file| format!("{} {}\n", file.sha256, file.name)).collect();
    sha256(all.as_bytes())
}

/// SHA-256 in small hexadecimal letters.
pub fn sha256(bytes: &[u8]) -> String {
    let mut text = String::with_capacity(64);
    for byte in Sha256::digest(bytes) {
        for half in [byte >> 4, byte & 15] {
            text.push(char::from_digit(u32::from(half), 16).unwrap_or('0'));
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_digest_is_the_published_one() {
        // FIPS 180-4 example: "abc".
        assert_eq!(sha256(b"abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    }

    #[test]
    fn byte_order_marks_and_line_ends_of_any_kind_leave_places_right() {
        let source = Source::new("a.yaml", "\u{feff}one\r\ntwo \u{b5}m\rthree");
        assert_eq!(source.line(2), Some("two \u{b5}m"));
        assert_eq!(source.line(3), Some("three"));
        assert_eq!(source.line(4), None);
        let at = source.text.find('m').unwrap();
        assert_eq!((source.place(at, at + 1).line, source.place(at, at + 1).column), (2, 6));
    }

    #[test]
    fn files_that_cannot_be_read_say_why() {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("latin.csv"), b"date\n2024,caf\xe9\n").unwrap();
        std::fs::write(folder.path().join("rain.csv"), b"date\n").unwrap();
        let mut sources = Sources::new(folder.path());
        let problems = Problems::new();
        assert!(sources.text("latin.csv", None, &problems).is_none());
        assert!(sources.text("rian.csv", None, &problems).is_none());
        assert!(sources.text(".", None, &problems).is_none());
        let told = problems.in_order();
        assert_eq!((told[0].place.line, told[0].message.as_str()), (2, "this line is not UTF-8 text"));
        assert!(told[1].hint.as_deref().unwrap().contains("did you mean `rain.csv`?"));
        assert!(sources.text("rain.csv", None, &problems).is_some());
        assert_eq!(sources.files_read().len(), 1);
        assert_eq!(sources.files_read()[0].bytes, 5);
    }

    #[test]
    fn a_name_is_what_the_user_would_write() {
        assert_eq!(Sources::name_of("./records/../rain.csv"), "rain.csv");
        assert_eq!(Sources::name_of("../rules/a.yaml"), "../rules/a.yaml");
    }
}
