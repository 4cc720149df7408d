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
    ran_on(folder, "log.csv", more, replies)
}

fn ran_on(folder: &tempfile::TempDir, sheet: &str, more: &[&str], replies: &[&str]) -> (u8, Told) {
    #[derive(clap::Parser)]
    struct Line {
        #[command(flatten)]
        args: Args,
    }
    let file = folder.path().join("records").join(sheet).display().to_string();
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

/// A place that can't be read and one that names nothing are told; the sheet is read by the names, and its mapping is written
/// where nothing of it may be of what can't be read.
#[test]
fn a_sheet_is_read_beside_a_facility_with_errors() {
    for (from, to) in
        [("spills to: Outfall", "spills to: Outfal"), ("depth: 10 ft", "depth: 10 gal"), ("day starts: 7 am\n", "")]
    {
        let folder = site(CLEAR);
        std::fs::write(folder.path().join("facility.yaml"), FACILITY.replace(from, to)).unwrap();
        let (code, told) = ran(&folder, &[], &[]);
        assert_eq!(code, 1, "{}", told.err);
        assert!(told.err.contains("error: "), "{}", told.err);
        // A pond that can't be read is not offered for its level.
        let asked = told.err.contains("column C `Pond level (ft)`");
        assert!(asked || told.out.contains("2025-07-12  M1 well reading 2000"), "{from}\n{}\n{}", told.out, told.err);
        assert!(asked || told.out.contains("Wrote records/log.csv.map.yaml"), "{}", told.out);
        assert_eq!(folder.path().join("records/log.csv.map.yaml").exists(), !asked);
    }
    let folder = site(&CLEAR.replace("Pond level (ft)", "Lagoon"));
    let wrong = FACILITY.replace("spills to: Outfall", "spills to: Outfal");
    std::fs::write(folder.path().join("facility.yaml"), wrong).unwrap();
    let (code, told) = ran(&folder, &[], &[]);
    assert_eq!(code, 1, "{}", told.err);
    assert!(told.out.contains("Nothing was written: facility.yaml has the errors told here"), "{}", told.out);
    assert!(!folder.path().join("records/log.csv.map.yaml").exists());
    assert!(ran(&folder, &["--column", "Lagoon=not read"], &[]).1.out.contains("Wrote records"));
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

const RAIN: &str = "weather:\n  rain: {file: $, read at: 7 am, belongs to: the day that ended, a reading may cover: several days}\n  pond evaporation: {rest: 2 in/month}\n";

/// The days of a site whose rain stands in a file, read through `sheet` with these flags where there are any.
fn rain_by_day(name: &str, text: &str, flags: Option<&[&str]>) -> Vec<(Option<f64>, bool)> {
    let folder = site("Date,Well meter\n2025-07-11,1000\n2025-07-12,2000\n2025-07-13,3000\n");
    std::fs::remove_file(folder.path().join("records/log.csv")).unwrap();
    std::fs::write(folder.path().join("records/a.csv"), "date,place,what,value\n").unwrap();
    std::fs::write(folder.path().join("facility.yaml"), FACILITY.replace("weather: {}\n", &RAIN.replace('$', name)))
        .unwrap();
    std::fs::write(folder.path().join(name), text).unwrap();
    if let Some(flags) = flags {
        let file = folder.path().join(name).display().to_string();
        let line = ["sheet", file.as_str()].into_iter().chain(flags.iter().copied());
        #[derive(clap::Parser)]
        struct Line {
            #[command(flatten)]
            args: Args,
        }
        let args = <Line as clap::Parser>::try_parse_from(line).unwrap().args;
        let mut told = Told::default();
        assert_eq!(work(&args, &mut |_| None, &mut told), 0, "{}{}", told.out, told.err);
    }
    let days = crate::cli::load::period_of("2025-07-10 to 2025-07-18").unwrap();
    let asked = crate::cli::load::Asked { period: Some(days), as_of: None };
    let read = crate::cli::load::read(folder.path(), &asked, &|_, _, _| ());
    let site = read.unwrap_or_else(|unread| panic!("{name}: {:#?}", unread.problems.in_order()));
    let back = crate::weather::read_back(&site.facility, &site.weather).unwrap();
    assert!(back.contains(&format!("({name}, read at 07:00, each reading for the day that had ended): ")), "{back}");
    assert!(back.contains(" of 9 days known, the wettest 2025-07-14 with 1.00 in"), "{back}");
    site.weather.rain.iter().map(|day| (day.depth_mm.map(|mm| (mm * 1000.0).round()), day.measured)).collect()
}

/// One gauge, written four ways: 0.5 in, a trace, dry, out of order, 1 in, two mornings left out, 0.3 in of three days.
/// 0.5 in = 12.7 mm, 1 in = 25.4 mm, 0.3 in = 7.62 mm.
#[test]
fn a_gauge_is_the_same_rain_through_every_door() {
    let plain = "date,rain (in)\n2025-07-11,0.50\n2025-07-12,T\n2025-07-13,0\n2025-07-14,out\n2025-07-15,1.00\n2025-07-18,0.30\n2025-07-19,0\n";
    let by_plain = rain_by_day("rain.csv", plain, None);
    let depths: Vec<Option<f64>> = by_plain.iter().map(|day| day.0).collect();
    assert_eq!(
        depths,
        [
            Some(12_700.0),
            Some(0.0),
            Some(0.0),
            None,
            Some(25_400.0),
            Some(2540.0),
            Some(2540.0),
            Some(2540.0),
            Some(0.0)
        ]
    );
    let month_first = "Date,Rain (in)\n7/11/2025,0.50\n7/12/2025,T\n7/13/2025,0\n7/14/2025,M\n7/15/2025,1.00\n7/18/2025,0.30\n7/19/2025,0\n";
    assert_eq!(rain_by_day("rain.csv", month_first, None), by_plain, "the order is settled by the column");
    assert_eq!(rain_by_day("rain.csv", month_first, Some(&[])), by_plain, "by a mapping");
    let station = "STATION,DATE,PRCP,MFLAG\nX1,2025-07-11,127,\nX1,2025-07-12,0,T\nX1,2025-07-13,0,\nX1,2025-07-14,-9999,M\nX1,2025-07-15,254,\nX1,2025-07-16,0,S\nX1,2025-07-17,0,S\nX1,2025-07-18,76.2,A\nX1,2025-07-19,0,\n";
    let flags = ["--column", "PRCP=what: rain, unit: tenths of mm"];
    assert_eq!(rain_by_day("station.csv", station, Some(&flags)), by_plain, "a station's tenths of mm and flags");
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
        rows_tell_of: None,
        tab_year: None,
        tails: None,
        inches: None,
        points: None,
        lost_points: None,
        sums: None,
        void: Vec::new(),
        about: Vec::new(),
        missing: Vec::new(),
        look: Vec::new(),
        nd_means: Vec::new(),
        column: Vec::new(),
        dry_run: false,
    };
    let mut told = Told::default();
    assert_eq!(work(&args, &mut |_| None, &mut told), 1);
    assert!(told.err.contains("not in the folder of records"), "{}", told.err);
}

/// A book of letters as plain text: how many lines are not read, and how one is written so that it is.
#[test]
fn a_book_of_letters_in_plain_text_is_told_how_its_lines_are_kept() {
    let folder = site(CLEAR);
    let path = folder.path().join("records/letters.txt");
    std::fs::write(&path, "Water Office, calls and post\n30.01. 8:40 rang: 001 over\n\n3.02. letter to that\n")
        .unwrap();
    let (code, told) = ran_on(&folder, "letters.txt", &[], &[]);
    assert_eq!(code, 1, "{}", told.err);
    let flat = told.err.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(flat.contains("none of its 3 lines is read"), "{flat}");
    assert!(flat.contains("2025-04-02 09:10,Outfall 1,call,letters.txt line 3,TSS month average"), "{flat}");
}

/// A word that is none, or a place that is none, is told once and with what would be right; a mapping with it is not written.
#[test]
fn a_column_that_can_t_be_followed_is_told_once_and_nothing_is_written() {
    let of_rows = CLEAR.replace("Pond level (ft)", "Fills");
    let folder = site(&of_rows);
    let (code, told) = ran(&folder, &["--column", "Fills=place: M1 well, what: floods"], &[]);
    assert_eq!(code, 2, "{}", told.err);
    assert_eq!(told.err.matches("`floods` is not a word for what was recorded").count(), 1, "{}", told.err);
    assert!(told.err.contains("write one of: reading, head, amount, exchanged, washes"), "{}", told.err);
    let (code, told) = ran(&folder, &["--column", "Fills=place: M1 wel, what: amount, unit: gal"], &[]);
    assert_eq!(code, 1, "{}", told.err);
    assert_eq!(
        told.err.matches("there is no `M1 wel` in the facility; did you mean `M1 well`?").count(),
        1,
        "{}",
        told.err
    );
    assert_eq!(told.err.matches("error").count(), 1, "{}", told.err);
    assert!(!folder.path().join("records/log.csv.map.yaml").exists());
}

/// What counts cover is kept from one run to the next, also where no column counted anything when it was said.
#[test]
fn what_counts_cover_is_asked_once() {
    let folder = site("Date,Well meter,Fills\n2025-07-11,1000,4\n2025-07-14,2000,3\n2025-07-15,3000,5\n");
    let (code, told) = ran(&folder, &["--column", "Fills=not read", "--counts", "since the last row"], &[]);
    assert_eq!(code, 0, "{}", told.err);
    let (code, told) = ran(&folder, &["--column", "Fills=place: M1 well, what: amount, unit: gal"], &[]);
    assert_eq!(code, 0, "{}", told.err);
    let mapping = std::fs::read_to_string(folder.path().join("records/log.csv.map.yaml")).unwrap();
    assert!(mapping.contains("what: amount, unit: gal, counts: since the last row}"), "{mapping}");
    assert!(!mapping.contains("\ncounts:"), "{mapping}");
}

/// Of the names that share its word none is meant before the others: it is asked with all else, and not passed over.
#[test]
fn a_column_of_numbers_like_several_names_is_asked_about_and_one_like_none_is_not() {
    let folder = site(
        "Date,Well meter,Sewer (m3),Boxes,Sewer hand\n2025-07-11,1000,40,3,AB\n2025-07-12,2000,41,5,CD\n2025-07-13,3000,45,4,AB\n",
    );
    let with = FACILITY
        .replace("supplies:", "  Sewer meter: {from: Pond, to: Town sewer, counts in: m3, digits: 5}\nsupplies:")
        .replace("discharge points:\n", "discharge points:\n  Town sewer: {kind: sewer}\n");
    std::fs::write(folder.path().join("facility.yaml"), with).unwrap();
    let (code, told) = ran(&folder, &["--dry-run"], &[]);
    assert_eq!(code, 1, "{}\n{}", told.out, told.err);
    assert!(told.err.contains("it holds numbers, and is like the names Sewer meter, Town sewer"), "{}", told.err);
    assert!(told.err.contains("--column 'Sewer (m3)=place: Sewer meter, what: reading"), "{}", told.err);
    assert!(told.err.contains("--column 'Sewer (m3)=not read'"), "{}", told.err);
    assert!(!told.err.contains("Boxes") && !told.err.contains("Sewer hand"), "{}", told.err);
}
