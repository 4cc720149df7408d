//! A sheet as somebody kept it: drafted a mapping, read by it, drafted again. The first two bytes say what kind of file it is
//! and how questions are answered; the rest is the file.

use std::io::{Cursor, Write as _};
use std::path::{Path, PathBuf};

use bywash::cli::sheet::{Args, quietly};
use bywash::facility;
use bywash::files::{Sources, mapping_of};
use bywash::quantity::{DateOrder, DecimalMark};
use bywash::records;
use bywash::told::{Problems, print};
use chrono::NaiveTime;

/// A site with something of each kind to write about.
pub(super) const SITE: &str = "\
name: Fernholt Yard
report in: US units
paper: letter
records: records
day starts: 7 am
period: 1 May 2025 to 31 May 2025
weather:
  rain: {file: rain.csv, read at: 7 am, belongs to: the day that ended, a reading may cover: several days}
  water temperature: {Jan to Dec: 10 C}
solids:
  silt: {density: 2.65 times water, half finer than: 20 um, nine tenths finer than: 90 um}
meters:
  M1 well: {from: Well, to: Pond, counts in: gal, digits: 7}
  M2 wash: {from: Beds, to: Ditch, what: wash water, counts in: x10 gal, digits: 6}
supplies:
  Well: {gives at most: 19 gpm}
uses:
  Yard:
    kind: overhead
    area: 1 acre
    depth: 0.3 in/day
    returns: 0 %
    takes from: Beds
    runs: 8 h/day
    goes to: Ditch
filters:
  Beds:
    kind: shallow media bed
    vessels: 2
    diameter: 36 in
    media: [{kind: silica sand, depth: 15 in, grains: 0.9 mm, voids: 42 %}]
    takes from: Pond
    washes: {by: log, or every: 12 h}
    one wash: {rate: 106 gpm, lasts: 3 min, each: vessel}
    washed with: its own filtered water
    wash water to: Ditch
    holds before a wash: 0.3 lb/ft2
    one wash removes: 90 %
    stops: {100 um: 95 %, 10 um: 15 %}
ponds:
  Pond:
    shape: {length: 100 ft, width: 50 ft, depth: 6 ft, side slope: 2 to 1, measured at: spill level}
    freeboard above spill: 1.5 ft
    seepage: 0.04 in/day
    at the start: {level: 4 ft}
    filled from: {from: Well, up to: 5 ft}
    spills to: Ditch
discharge points:
  Ditch: {kind: surface water, into: Fern Water}
";

thread_local! {
    static FOLDER: tempfile::TempDir = folder();
}

fn folder() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::create_dir(folder.path().join("records")).expect("a folder");
    std::fs::write(folder.path().join("facility.yaml"), SITE).expect("a file");
    folder
}

/// A workbook around the parts in `bytes`, which stand between marks of a line with `---` alone: sheet, shared texts, styles,
/// a second sheet. Without a part of its own each is a plain one.
fn workbook(bytes: &[u8]) -> Vec<u8> {
    let text = String::from_utf8_lossy(bytes);
    let mut parts = text.split("\n---\n");
    let mut part = |head: &str, foot: &str, usual: &str| {
        let own = parts.next().unwrap_or(usual);
        if own.starts_with("<?xml") {
            own.to_owned()
        } else {
            format!("<?xml version=\"1.0\" encoding=\"UTF-8\"?>{head}{own}{foot}")
        }
    };
    const MAIN: &str = "http://schemas.openxmlformats.org/spreadsheetml/2006/main";
    let head = format!("<worksheet xmlns=\"{MAIN}\"><sheetData>");
    let sheet = part(&head, "</sheetData></worksheet>", "");
    let shared = part(
        &format!("<sst xmlns=\"{MAIN}\">"),
        "</sst>",
        "<si><t>Date</t></si><si><t>M1 well</t></si><si><t>Pond ft</t></si>",
    );
    let styles = part(
        &format!("<styleSheet xmlns=\"{MAIN}\">"),
        "</styleSheet>",
        "<cellXfs count=\"2\"><xf numFmtId=\"0\"/><xf numFmtId=\"14\"/></cellXfs>",
    );
    let second = part(&head, "</sheetData></worksheet>", "");
    let files = [
        (
            "[Content_Types].xml",
            "<?xml version=\"1.0\"?><Types xmlns=\"http://schemas.openxmlformats.org/package/2006/content-types\"/>".to_owned(),
        ),
        (
            "xl/workbook.xml",
            format!(
                "<?xml version=\"1.0\"?><workbook xmlns=\"{MAIN}\" xmlns:r=\"http://schemas.openxmlformats.org/officeDocument/2006/relationships\"><sheets><sheet name=\"May\" sheetId=\"1\" r:id=\"rId1\"/><sheet name=\"June 2025\" sheetId=\"2\" r:id=\"rId2\"/></sheets></workbook>"
            ),
        ),
        (
            "xl/_rels/workbook.xml.rels",
            "<?xml version=\"1.0\"?><Relationships xmlns=\"http://schemas.openxmlformats.org/package/2006/relationships\"><Relationship Id=\"rId1\" Type=\"http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet\" Target=\"worksheets/sheet1.xml\"/><Relationship Id=\"rId2\" Type=\"http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet\" Target=\"worksheets/sheet2.xml\"/></Relationships>".to_owned(),
        ),
        ("xl/worksheets/sheet1.xml", sheet),
        ("xl/sharedStrings.xml", shared),
        ("xl/styles.xml", styles),
        ("xl/worksheets/sheet2.xml", second),
    ];
    let mut zip = zip::ZipWriter::new(Cursor::new(Vec::new()));
    let plain = zip::write::SimpleFileOptions::default().compression_method(zip::CompressionMethod::Stored);
    for (name, text) in files {
        zip.start_file(name, plain).expect("a part");
        zip.write_all(text.as_bytes()).expect("a part");
    }
    zip.finish().expect("a workbook").into_inner()
}

fn args(file: PathBuf, directory: &Path, choice: u8) -> Args {
    Args {
        file,
        directory: Some(directory.to_path_buf()),
        dates: match choice >> 2 & 3 {
            0 => None,
            1 => Some(DateOrder::DayFirst),
            2 => Some(DateOrder::MonthFirst),
            _ => Some(DateOrder::YearFirst),
        },
        year: (choice & 0x10 != 0).then_some(2025),
        decimal_mark: (choice & 0x20 != 0).then_some(DecimalMark::Comma),
        time: (choice & 0x40 != 0).then(|| NaiveTime::from_hms_opt(7, 0, 0)).flatten(),
        counts: (choice & 0x80 != 0).then(|| "since the last row".to_owned()),
        lost: Vec::new(),
        rows_tell_of: None,
        tab_year: None,
        tails: None,
        inches: None,
        points: None,
        lost_points: None,
        sums: None,
        void: Vec::new(),
        about: Vec::new(),
        missing: if choice & 0xc == 0xc { vec!["-888".to_owned()] } else { Vec::new() },
        look: if choice & 0x14 == 0x14 { vec!["only a puddle=dry".to_owned()] } else { Vec::new() },
        nd_means: if choice & 0x24 == 0x24 { vec!["<0.05 mg/L".to_owned()] } else { Vec::new() },
        column: Vec::new(),
        dry_run: false,
    }
}

/// Reads a sheet, twice.
pub fn sheet(bytes: &[u8]) -> bool {
    let [choice, answers, rest @ ..] = bytes else {
        return false;
    };
    FOLDER.with(|folder| one(folder.path(), *choice, *answers, rest))
}

fn one(folder: &Path, choice: u8, answers: u8, rest: &[u8]) -> bool {
    let (name, bytes) = match choice & 3 {
        0 | 1 => ("records/kept.csv", rest.to_vec()),
        2 => ("records/kept.xlsx", workbook(rest)),
        _ => ("records/kept.xlsx", rest.to_vec()),
    };
    let (file, mapping) = (folder.join(name), folder.join(mapping_of(name)));
    for old in ["records/kept.csv", "records/kept.xlsx"] {
        let _ = (std::fs::remove_file(folder.join(old)), std::fs::remove_file(folder.join(mapping_of(old))));
    }
    std::fs::write(&file, bytes).expect("a file");
    let mut asked = 0;
    let mut answer = |question: &str, options: &[String]| {
        assert!(!question.is_empty());
        asked += 1;
        // What is asked for ever is not answered for ever.
        (asked < 12).then_some(())?;
        let at = (usize::from(answers) + asked).checked_rem(options.len().max(1))?;
        options.get(at).cloned().or_else(|| Some("Pond, level".to_owned()))
    };
    let (code, _, told) = quietly(&args(file.clone(), folder, choice), &mut answer);
    if code != 0 {
        assert!(!told.trim().is_empty(), "it failed without a word");
        assert!(told.is_empty() || !mapping.exists() || code == 1);
        if !mapping.exists() {
            return false;
        }
    }
    let written = std::fs::read(&mapping).expect("a mapping that was written");
    // Without answers the mapping is followed: the same rows, and not a byte of it changes.
    let (again, out, told_again) = quietly(&args(file, folder, 0), &mut |_, _| None);
    assert_eq!(again, code, "{told}\nand again\n{told_again}");
    let kept = std::fs::read(&mapping).expect("a mapping that was written");
    assert_eq!(String::from_utf8_lossy(&kept), String::from_utf8_lossy(&written), "{out}");
    // What `sheet` took is what every command reads.
    let mut sources = Sources::new(folder);
    let mut problems = Problems::new();
    let facility = facility::read(folder, &mut sources, &mut problems).expect("the site is sound");
    let timeline = records::read(&facility, &mut sources, &problems);
    let told = print(&problems, &sources, false);
    super::fits(&told);
    assert_eq!(problems.has_errors(), code != 0, "{told}");
    records::read_back(&facility, &timeline);
    code == 0
}
