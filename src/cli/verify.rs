//! `verify`: makes a document again from a site's files and holds it against the one that was handed over.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use clap::CommandFactory;

use crate::cli::asked::may_run;
use crate::cli::load;
use crate::cli::{Done, Line, Stop};
use crate::files::Sources;
use crate::page::document::{Made, Part};
use crate::page::html;
use crate::page::pdf::{ReadBack, read_back};

use crate::told::{Problems, many};

/// Most pages, files or lines that are told one by one.
const MOST_TOLD: usize = 6;
/// Most letters of a line that is shown.
const MOST_LETTERS: usize = 60;

/// The names of documents made again.
const MAIN: &str = "main.pdf";
const ANNEX: &str = "annex.pdf";
const PAGE: &str = "page.html";

/// What `verify` is told.
#[derive(Debug, Clone, clap::Args)]
#[command(
    before_help = "Example:\n    bywash verify demo-facility/report.pdf demo-facility",
    after_help = "Exit status: 0 it is, to the last byte; 3 it is not: what differs is told; 1 it could not be told."
)]
pub struct Args {
    /// The report, case, basin or annex (PDF), a page (HTML), the findings (JSON) or the ledger (CSV)
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
    /// The site's folder
    #[arg(value_name = "DIR")]
    pub dir: PathBuf,
}

/// A document to look at.
struct Given {
    bytes: Vec<u8>,
    kind: Kind,
    made: Made,
}

enum Kind {
    Pdf(ReadBack),
    Page,
    Json,
    Ledger,
}

/// Holds a document against the site.
///
/// # Errors
/// When it differs, or when either can't be read.
pub fn run(args: &Args) -> Done {
    let name = args.file.display().to_string();
    let given = given(&args.file)?;
    let again = made_again(&given, &args.dir)?;
    let folder = if args.dir == Path::new(".") { "this folder".to_owned() } else { args.dir.display().to_string() };
    if given.bytes == again {
        let files = many(given.made.files.len(), "file");
        let read = if given.made.files.is_empty() { "the files".to_owned() } else { format!("the {files}") };
        return load::words_to_stdout(&format!(
            "Yes: to the last byte, {name} is what bywash makes of {read} in {folder}.\n"
        ));
    }
    let mut words = format!("No: {name} is not what bywash makes of {folder}.\n");
    for line in differences(&given, &again) {
        load::wrapped(&mut words, &line);
    }
    load::words_to_stdout(&words)?;
    Err(Stop::FailOn)
}

fn given(path: &Path) -> Result<Given, Stop> {
    let name = path.display();
    if !path.exists() {
        return Err(Stop::Could(format!("there is no file {name}")));
    }
    let (folder, file) = (path.parent().unwrap_or(Path::new("")), path.file_name().unwrap_or_default());
    let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
    let (mut sources, problems) = (Sources::new(folder), Problems::new());
    let Some(bytes) = sources.bytes(&file.to_string_lossy(), None, &problems) else {
        load::tell(&problems, &sources, true);
        return Err(Stop::Could(String::new()));
    };
    let bytes = bytes.to_vec();
    let silent =
        || Stop::Could(format!("{name} does not say how it was made: it is not from bywash, or that was taken out"));
    if bytes.starts_with(b"%PDF") {
        let read = read_back(&bytes).map_err(|error| Stop::Could(format!("{name} can't be read as a PDF: {error}")))?;
        let made = read.made.clone().ok_or_else(silent)?;
        return Ok(Given { bytes, kind: Kind::Pdf(read), made });
    }
    if bytes.starts_with(html::MARK.as_bytes()) {
        let made = html::made(&String::from_utf8_lossy(&bytes)).ok_or_else(silent)?;
        return Ok(Given { bytes, kind: Kind::Page, made });
    }
    if let Ok(json) = serde_json::from_slice::<serde_json::Value>(&bytes) {
        let made = json.get("made").cloned().and_then(|made| serde_json::from_value(made).ok()).ok_or_else(silent)?;
        return Ok(Given { bytes, kind: Kind::Json, made });
    }
    let made = of_a_ledger(&bytes).ok_or_else(|| {
        Stop::Could(format!(
            "{name} is no PDF, page, JSON or ledger (CSV) that bywash makes; a workbook can't be held against a site"
        ))
    })?;
    Ok(Given { bytes, kind: Kind::Ledger, made })
}

/// A ledger says only from which day to which it goes.
fn of_a_ledger(bytes: &[u8]) -> Option<Made> {
    let text = std::str::from_utf8(bytes).ok()?;
    let mut days = text.lines().skip(1).filter_map(|line| line.split(',').next());
    let first = days.next()?.to_owned();
    let period = format!("--period={first} to {}", days.last().unwrap_or(&first));
    let is_ledger = text.starts_with("date,") && load::period_of(period.strip_prefix("--period=")?).is_ok();
    is_ledger.then(|| Made {
        bywash: env!("CARGO_PKG_VERSION").to_owned(),
        asked: vec!["ledger".to_owned(), period],
        part: Part::Main,
        files: std::collections::BTreeMap::new(),
    })
}

/// The same document, made by this program from the site's files as they are now.
fn made_again(given: &Given, dir: &Path) -> Result<Vec<u8>, Stop> {
    let made = &given.made;
    let [command, flags @ ..] = made.asked.as_slice() else {
        return Err(Stop::Could("the document does not say which command made it".to_owned()));
    };
    let known = ["report", "page", "compare", "size", "ledger"].contains(&command.as_str());
    let command_line = Line::command();
    let of = command_line.find_subcommand(command).filter(|of| known && may_run(of, flags));
    if of.is_none() {
        let said = made.asked.join(" ");
        return Err(Stop::Could(format!("the document says that `{said}` made it, which makes no such document")));
    }
    let folder = tempfile::tempdir()?;
    let [main, annex, page] = [MAIN, ANNEX, PAGE].map(|name| folder.path().join(name));
    let mut again = Command::new(std::env::current_exe()?);
    again.arg(command).arg(dir).args(flags.iter().map(|flag| in_the_folder(flag, dir)));
    match given.kind {
        Kind::Page if command == "page" => again.arg("--output").arg(&page),
        Kind::Page => again.arg("--page").arg(&page).arg("--output").arg(&main).arg("--annex").arg(&annex),
        Kind::Pdf(_) => again.arg("--output").arg(&main).arg("--annex").arg(&annex),
        Kind::Json => again.arg("--json"),
        Kind::Ledger => &mut again,
    };
    let output = again.stdin(Stdio::null()).output()?;
    if !output.status.success() {
        load::to_stderr(&String::from_utf8_lossy(&output.stderr));
        return Err(Stop::Could(format!("the document can't be made again from {}: see above", dir.display())));
    }
    let name = match (&given.kind, made.part) {
        (Kind::Pdf(_), Part::Annex) => ANNEX,
        (Kind::Pdf(_), _) => MAIN,
        (Kind::Page, _) => PAGE,
        _ => return Ok(output.stdout),
    };
    let read = Sources::new(folder.path()).bytes(name, None, &Problems::new());
    read.map(|bytes| bytes.to_vec()).ok_or_else(|| Stop::Could("the document made again can't be read".to_owned()))
}

/// A flag whose value is a file in the site's folder names it from here.
fn in_the_folder(flag: &str, dir: &Path) -> String {
    match flag.split_once('=') {
        Some((name @ ("--with" | "--duties"), file)) if dir.join(file).is_file() => {
            format!("{name}={}", dir.join(file).display())
        }
        _ => flag.to_owned(),
    }
}

/// What differs: the program, its files, then the pages or lines.
fn differences(given: &Given, again: &[u8]) -> Vec<String> {
    let mut told = Vec::new();
    let version = env!("CARGO_PKG_VERSION");
    if given.made.bywash != version {
        told.push(format!(
            "It says that bywash {} made it; this is {version}, which may print it otherwise.",
            given.made.bywash
        ));
    }
    match &given.kind {
        Kind::Pdf(was) => {
            let Ok(now) = read_back(again) else { return told };
            tell_files(&given.made, now.made.as_ref(), &mut told);
            tell_pages(&was.pages, &now.pages, &mut told);
        }
        Kind::Page => {
            let (was, now) = (String::from_utf8_lossy(&given.bytes), String::from_utf8_lossy(again));
            tell_files(&given.made, html::made(&now).as_ref(), &mut told);
            tell_lines(&html::words(&was), &html::words(&now), &mut told);
        }
        Kind::Json => {
            let ((was, _), (now, made)) = (findings(&given.bytes), findings(again));
            tell_files(&given.made, made.as_ref(), &mut told);
            tell_lines(&was, &now, &mut told);
        }
        Kind::Ledger => tell_lines(&lines(&given.bytes), &lines(again), &mut told),
    }
    told
}

/// Findings line by line, without their fingerprint, and how they were made.
fn findings(bytes: &[u8]) -> (Vec<String>, Option<Made>) {
    let mut all: serde_json::Value = serde_json::from_slice(bytes).unwrap_or_default();
    let made = all.get_mut("made").map(serde_json::Value::take).and_then(|made| serde_json::from_value(made).ok());
    if let Some(digest) = all.get_mut("digest") {
        digest.take();
    }
    (lines(&serde_json::to_vec_pretty(&all).unwrap_or_default()), made)
}

fn lines(bytes: &[u8]) -> Vec<String> {
    String::from_utf8_lossy(bytes).lines().map(str::to_owned).collect()
}

/// The files that have another content than the document says, that it does not name, and that are not read any more.
fn tell_files(was: &Made, now: Option<&Made>, told: &mut Vec<String>) {
    let Some(now) = now else { return };
    let mut files = Vec::new();
    for (name, sha256) in &was.files {
        match now.files.get(name) {
            None => files.push(format!("{name} was read when it was made, and is not there now.")),
            Some(other) if other != sha256 => files.push(format!("{name} has changed since it was made.")),
            Some(_) => {}
        }
    }
    files.extend(
        now.files
            .keys()
            .filter(|name| !was.files.contains_key(*name))
            .map(|name| format!("{name} was not there when it was made.")),
    );
    if files.is_empty() {
        told.push(
            "By what it says of its own making no file of the site has changed since: the document itself has."
                .to_owned(),
        );
    }
    let more = files.len().saturating_sub(MOST_TOLD);
    told.extend(files.into_iter().take(MOST_TOLD));
    if more > 0 {
        told.push(format!("{more} more of its files."));
    }
}

fn tell_pages(was: &[Vec<String>], now: &[Vec<String>], told: &mut Vec<String>) {
    if was.len() != now.len() {
        told.push(format!("It has {}; made now it has {}.", many(was.len(), "page"), many(now.len(), "page")));
    }
    let most = if was.len() == now.len() { MOST_TOLD } else { 1 };
    let differ: Vec<usize> = (0..was.len().min(now.len())).filter(|page| was.get(*page) != now.get(*page)).collect();
    for page in differ.iter().take(most) {
        let empty = Vec::new();
        let (was, now) = (was.get(*page).unwrap_or(&empty), now.get(*page).unwrap_or(&empty));
        told.push(format!("Page {}: {}", page + 1, first_difference(was, now)));
    }
    if differ.len() > most {
        told.push(format!("{} more of its pages differ.", differ.len() - most));
    }
    if differ.is_empty() && was.len() == now.len() {
        told.push(
            "The words of every page are the same: drawings differ, or the file was saved anew or added to by another program."
                .to_owned(),
        );
    }
}

fn tell_lines(was: &[String], now: &[String], told: &mut Vec<String>) {
    let at = (0..was.len().max(now.len())).find(|at| was.get(*at) != now.get(*at));
    match at {
        Some(at) => {
            let (was, now) = (was.get(at..).unwrap_or_default(), now.get(at..).unwrap_or_default());
            told.push(format!("Line {}: {}", at + 1, first_difference(was, now)));
        }
        None => told.push("What it says is the same, and is not set in the same way.".to_owned()),
    }
}

/// The first line of two texts that is not the same in both.
fn first_difference(was: &[String], now: &[String]) -> String {
    let at = (0..was.len().max(now.len())).find(|at| was.get(*at) != now.get(*at)).unwrap_or(0);
    let (was, now) = (was.get(at).map_or("", String::as_str), now.get(at).map_or("", String::as_str));
    // From where the two part, with a little of what stands before.
    let same = was.chars().zip(now.chars()).take_while(|(a, b)| a == b).count();
    let from = same.saturating_sub(MOST_LETTERS / 3);
    let shown = |text: &str| {
        let cut: String = text.chars().skip(from).take(MOST_LETTERS).collect();
        if cut.trim().is_empty() { "nothing".to_owned() } else { format!("`{}`", cut.trim()) }
    };
    format!("it says {}; made now it says {}.", shown(was), shown(now))
}
