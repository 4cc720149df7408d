//! The command on small invented sites.

use super::*;

const FACILITY: &str = "name: Test nursery
report in: US units
paper: letter
records: records
day starts: 7 am
weather: {}
meters:
  M1 well: {from: Well, to: Pond, counts in: gal, digits: 7}
supplies:
  Well: {gives at most: 180 gpm}
ponds:
  Pond:
    shape: {length: 250 ft, width: 200 ft, depth: 10 ft, side slope: 3 to 1, measured at: spill level}
    freeboard above spill: 1.5 ft
    at the start: {level: 6.4 ft}
    filled from: {from: Well, up to: 8 ft}
    spills to: Outfall
discharge points:
  Outfall: {kind: surface water}
";

fn site(sheet: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    std::fs::create_dir(folder.path().join("records")).unwrap();
    std::fs::write(folder.path().join("facility.yaml"), FACILITY).unwrap();
    std::fs::write(folder.path().join("records/log.csv"), sheet).unwrap();
    folder
}

fn ran(folder: &tempfile::TempDir, more: &[&str], replies: &[&str]) -> (u8, Told) {
    #[derive(clap::Parser)]
    struct Line {
        #[command(flatten)]
        args: Args,
    }
    let file = folder.path().join("records/log.csv").display().to_string();
    let line = ["sheet", file.as_str()].into_iter().chain(more.iter().copied());
    let args = <Line as clap::Parser>::try_parse_from(line).unwrap().args;
    let mut replies = replies.iter();
    let mut ask = |_: &Question| replies.next().map(|reply| (*reply).to_string());
    let mut told = Told::default();
    let code = work(&args, &mut ask, &mut told);
    (code, told)
}

const CLEAR: &str =
    "Date,Well meter,Pond level (ft)\n2025-07-11,1000,6.4\n2025-07-12,2000,6.5\n2025-07-13,3000,6.3\ntotal,2000,\n";

#[test]
fn a_clear_sheet_gets_its_mapping_and_stays_as_it_was() {
    let folder = site(CLEAR);
    let (code, told) = ran(&folder, &[], &[]);
    assert_eq!(code, 0, "{}", told.err);
    assert!(told.out.contains("2025-07-12  M1 well reading 2000; Pond level 6.5 ft"), "{}", told.out);
    assert!(told.out.contains("records/log.csv:5  a total: total | 2000"), "{}", told.out);
    let mapping = std::fs::read_to_string(folder.path().join("records/log.csv.map.yaml")).unwrap();
    assert!(mapping.contains("  B: {place: M1 well, what: reading}"), "{mapping}");
    assert_eq!(std::fs::read_to_string(folder.path().join("records/log.csv")).unwrap(), CLEAR);
}

#[test]
fn a_second_run_lists_what_is_new_changed_and_gone() {
    let folder = site(CLEAR);
    assert_eq!(ran(&folder, &[], &[]).0, 0);
    let later = CLEAR.replace("2025-07-13,3000,6.3", "2025-07-14,3000,6.3").replace(",6.5", ",6.6");
    std::fs::write(folder.path().join("records/log.csv"), later).unwrap();
    let (code, told) = ran(&folder, &[], &[]);
    assert_eq!(code, 0, "{}", told.err);
    for line in ["Rows new (1): 2025-07-14", "Rows changed (1): 2025-07-12", "Rows gone (1): 2025-07-13"] {
        assert!(told.out.contains(line), "{}", told.out);
    }
    assert!(ran(&folder, &[], &[]).1.out.contains("No row is new, changed or gone"));
}

const UNCLEAR: &str = "Date,Well meter,Pond level\n3/4/2025,1000,6.4\n5/6/2025,2000,6.5\n";

#[test]
fn without_a_terminal_each_question_names_the_flag_that_answers_it() {
    let folder = site(UNCLEAR);
    let (code, told) = ran(&folder, &[], &[]);
    assert_eq!(code, 1);
    assert!(told.err.contains("answer it with  --dates \"day first\""), "{}", told.err);
    assert!(told.err.contains("--column 'Pond level=place: Pond, what: level, unit: ft'"), "{}", told.err);
    assert!(!folder.path().join("records/log.csv.map.yaml").exists());
    let flags = ["--dates", "month first", "--column", "Pond level=place: Pond, what: level, unit: ft"];
    let (code, told) = ran(&folder, &flags, &[]);
    assert_eq!(code, 0, "{}", told.err);
    assert!(told.out.contains("2025-03-04  M1 well reading 1000; Pond level 6.4 ft"), "{}", told.out);
}

#[test]
fn on_a_terminal_a_number_or_words_answer() {
    let folder = site(UNCLEAR);
    let (code, told) = ran(&folder, &[], &["2", "1"]);
    assert_eq!(code, 0, "{}", told.err);
    assert!(told.out.contains("2025-05-06"), "{}", told.out);
}

#[test]
fn a_dry_run_writes_nothing() {
    let folder = site(CLEAR);
    assert_eq!(ran(&folder, &["--dry-run"], &[]).0, 0);
    assert!(!folder.path().join("records/log.csv.map.yaml").exists());
}

#[test]
fn a_sheet_outside_the_folder_of_records_is_refused_with_where_it_belongs() {
    let folder = site(CLEAR);
    std::fs::write(folder.path().join("other.csv"), CLEAR).unwrap();
    let args = Args {
        file: folder.path().join("other.csv"),
        directory: Some(folder.path().to_path_buf()),
        dates: None,
        year: None,
        decimal_mark: None,
        time: None,
        counts: None,
        lost: Vec::new(),
        column: Vec::new(),
        dry_run: false,
    };
    let mut told = Told::default();
    assert_eq!(work(&args, &mut |_| None, &mut told), 1);
    assert!(told.err.contains("not in the folder of records"), "{}", told.err);
}
