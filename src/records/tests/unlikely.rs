//! Records that cannot be true, and cells with more in them than one number.

use super::fixture::{facility, good_rows, read_rows, told};
use crate::facility::model::{Facility, PlaceKind};
use crate::files::Given;
use crate::quantity::{Range, Stated};
use uom::si::f64::Length;
use uom::si::length::foot;

/// The fixture's pond is 10 ft deep; with 2 ft of freeboard its bank ends at 12 ft.
fn with_a_bank() -> Facility {
    let mut facility = facility();
    for site in &mut facility.places {
        if let PlaceKind::Pond(pond) = &mut site.kind {
            pond.freeboard_above_spill = Some(Given {
                stated: Stated::Known(Range::exactly(Length::new::<foot>(2.0))),
                text: "2 ft".into(),
                place: site.place.clone(),
                key: String::new(),
            });
        }
    }
    facility
}

#[test]
fn a_level_over_the_bank_top_or_under_the_floor_drives_nothing_and_is_told_with_the_bound() {
    for (row, bound) in [
        ("Storage pond,level,,72,ft", "ends at 12 ft"),
        ("Storage pond,level,,-0.5,ft", "is at 0 ft"),
        ("Storage pond,level,,4,m", "ends at 3.66 m"),
        ("Storage pond,freeboard,,-3,ft", "it is 0"),
        ("Storage pond,freeboard,,12.5,ft", "there are 12 ft"),
        ("Storage pond,sludge depth,,13,ft", "ends at 12 ft"),
        ("Storage pond,sludge depth,,-1,ft", "less than nothing"),
    ] {
        let (timeline, problems) = read_rows(&with_a_bank(), &format!("2025-10-10,{row},,,,,\n"));
        assert!(timeline.levels.is_empty(), "{row}");
        let told: Vec<String> = problems.in_order().iter().map(|problem| problem.to_string_line()).collect();
        assert!(problems.has_errors(), "{row}");
        assert!(told.iter().any(|line| line.contains(bound)), "{row}: {told:?}");
    }
    for row in [
        "Storage pond,level,,12,ft",
        "Storage pond,level,,0,ft",
        "Storage pond,freeboard,,0,ft",
        "Storage pond,freeboard,,12,ft",
    ] {
        let (timeline, problems) = read_rows(&with_a_bank(), &format!("2025-10-10,{row},,,,,\n"));
        assert!(problems.is_empty(), "{row}: {:?}", problems.in_order());
        assert_eq!(timeline.levels.len(), 1, "{row}");
    }
}

#[test]
fn where_no_bank_top_is_typed_a_level_over_the_spill_is_believed_and_a_slipped_point_is_not() {
    assert_eq!(good_rows("2025-10-10,Storage pond,level,,10.4,ft,,,,,\n").levels.len(), 1);
    assert!(!told("2025-10-10,Storage pond,level,,72,ft,,,,,\n").is_empty());
}

#[test]
fn a_ph_over_14_is_an_error_and_is_held_against_no_limit() {
    for value in ["71", "-1", "14.1"] {
        let rows = format!("2025-10-10,Outfall 1,sample,pH,{value},,,slip 1,,,\n");
        let (timeline, problems) = read_rows(&facility(), &rows);
        assert!(problems.has_errors() && timeline.samples.is_empty(), "{value}");
    }
    assert_eq!(good_rows("2025-10-10,Outfall 1,sample,pH,14,,,slip 1,,,\n").samples.len(), 1);
    assert!(!told("2025-10-10,Outfall 1,sample,total phosphorus,-2,mg/L,,slip 1,,,\n").is_empty());
}

#[test]
fn feet_and_inches_are_both_read_and_the_reading_is_listed() {
    for (value, unit) in [("\"4'1\"\"\"", "ft"), ("4 ft 1 in", ""), ("4'1", "ft")] {
        let timeline = good_rows(&format!("2025-10-10,Storage pond,freeboard,,{value},{unit},,,,,\n"));
        // 49 in × 0.0254 m = 1.2446 m.
        let level = timeline.levels.first().unwrap();
        assert!((level.value_si - 1.2446).abs() < 1e-12, "{value}");
        assert!(timeline.repairs.iter().any(|repair| repair.sentence.contains("49 in")), "{value}");
    }
}

#[test]
fn a_sum_in_a_cell_is_asked_about() {
    for row in [
        "Sand beds,washes,,4 + 1,",
        "Sand beds,washes,,4-5,",
        "Sand beds,washes,,4'1,",
        "Storage pond,level,,4'1,m",
        "Outfall 1,sample,pH,7 to 8,",
    ] {
        assert!(!told(&format!("2025-10-30,{row},,,,,\n")).is_empty(), "{row}");
    }
}

/// A weekly log with a count of one day first: 9 on that day are no more than others have in a week, and 90 are.
#[test]
fn a_day_with_as_many_washes_as_a_week_of_others_is_not_asked_about() {
    let log = |first: u32| {
        let weeks = ["2025-07-14", "2025-07-21", "2025-07-28", "2025-08-04"];
        let rows = weeks.map(|day| format!("{day} 07:00,Sand beds,washes,,9,,,,,,since the last\n"));
        format!("2025-07-06,Sand beds,washes,,{first},,,,,,\n{}", rows.concat())
    };
    let asked = |first: u32| {
        let all = told(&log(first));
        all.iter().any(|words| words.contains("as many a day as ever else"))
    };
    assert!(!asked(9) && asked(90));
}

/// A row of the day before counts until that day ends, which is where a count since the last begins: it is there, and leaves no time.
#[test]
fn a_count_that_a_row_of_the_day_before_leaves_no_time_is_not_told_to_have_none_before_it() {
    for (name, word, unit) in [("Sand beds", "washes", ""), ("M3 wash", "amount", "gal")] {
        let rows =
            format!("2025-07-10,{name},{word},,2,{unit},,,,,\n2025-07-11,{name},{word},,3,{unit},,,,,since the last\n");
        let timeline = good_rows(&rows);
        let told: Vec<&str> = timeline.repairs.iter().map(|repair| repair.sentence.as_str()).collect();
        assert!(
            told.iter().any(|words| words.contains("the row of 2025-07-10 before it counts all of its own day")),
            "{told:?}"
        );
        assert!(!told.iter().any(|words| words.contains("none is on file")), "{told:?}");
    }
}
