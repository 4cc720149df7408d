//! Records that may be true and are hardly meant: each is asked about, and `checked` says that somebody looked.

use super::fixture::{facility, good_rows, told};

/// Rows of one kind, a week apart from 6 Jan 2025, each with its value and note.
fn weekly(kind: &str, values: &[(&str, &str)]) -> String {
    let first = chrono::NaiveDate::from_ymd_opt(2025, 1, 6).unwrap();
    values
        .iter()
        .zip(first.iter_weeks())
        .map(|((value, note), day)| {
            let row = kind.replace('$', value);
            format!("{day} 07:00,{row},,,,,{note}\n")
        })
        .collect()
}

fn plain<'a>(values: &[&'a str]) -> Vec<(&'a str, &'a str)> {
    values.iter().map(|value| (*value, "")).collect()
}

#[test]
fn a_result_a_thousand_times_the_others_is_asked_about_until_somebody_looked() {
    let grams = "2025-03-10,Outfall 1,sample,TSS,46,g/L,,,,,\n";
    let rows = weekly("Outfall 1,sample,TSS,$,mg/L", &plain(&["18", "22", "29"]));
    let asked = told(&format!("{rows}{grams}"));
    assert_eq!(asked.len(), 1, "{asked:?}");
    assert!(asked[0].contains("46 g/L is 8 times larger than every other result"), "{asked:?}");
    let looked = grams.replace(",,,,,\n", ",,,,,checked with the laboratory\n");
    good_rows(&format!("{rows}{looked}"));
}

#[test]
fn a_unit_that_nobody_knows_is_asked_about_with_the_nearest() {
    let asked = told("2025-03-10,Outfall 1,sample,TSS,46,gm/L,,,,,\n");
    assert_eq!(asked.len(), 1, "{asked:?}");
    assert!(asked[0].contains("`gm/L` is not a unit that is known"), "{asked:?}");
    assert!(asked[0].contains("did you mean `mg/L` or `g/L`?"), "{asked:?}");
}

#[test]
fn a_meter_that_counts_three_times_as_much_as_ever_is_asked_about() {
    let rows = weekly("M3 wash,reading,,$,gal", &plain(&["1000", "2000", "3100", "4000", "8900"]));
    let asked = told(&rows);
    assert_eq!(asked.len(), 1, "{asked:?}");
    assert!(
        asked[0].contains("M3 wash counted 4900 gal from 2025-01-27 to 2025-02-03: more than 3 times"),
        "{asked:?}"
    );
}

/// 180 gpm are 259,200 gal a day, 1,814,400 a week.
#[test]
fn a_meter_that_counts_more_than_its_supply_gives_is_asked_about() {
    let asked = told(&weekly("M1 well,reading,,$,gal", &plain(&["0", "2100000"])));
    assert!(asked.iter().any(|line| line.contains("more than Well can give")), "{asked:?}");
}

#[test]
fn a_level_that_leaves_both_its_neighbours_is_asked_about() {
    let levels = ["6.6", "6.8", "6.9", "7.1", "1.7", "7.2", "7.4"];
    let asked = told(&weekly("Settling pond,level,,$,ft", &plain(&levels)));
    assert_eq!(asked.len(), 1, "{asked:?}");
    assert!(asked[0].contains("a level of 1.7 ft leaves the readings beside it"), "{asked:?}");
}

#[test]
fn a_count_that_alone_does_not_say_since_when_is_asked_about() {
    let since = "since the last line";
    let mut values = vec![("3", since); 12];
    values[7].1 = "since the lst line";
    let asked = told(&weekly("Sand beds,washes,,$,", &values));
    assert_eq!(asked.len(), 1, "{asked:?}");
    assert!(asked[0].contains("taken for its own day alone"), "{asked:?}");
}

#[test]
fn a_sample_of_an_outfall_that_was_dry_that_day_is_asked_about() {
    let asked =
        told("2025-03-10 08:00,Outfall 1,sample,TSS,46,mg/L,,,,,\n2025-03-10 15:00,Outfall 1,look,,dry,,,,,,\n");
    assert_eq!(asked.len(), 1, "{asked:?}");
    assert!(asked[0].contains("the look of that day says dry [3: the look]"), "{asked:?}");
}

#[test]
fn a_year_off_by_one_in_a_sheet_is_asked_about_with_the_date_that_was_meant() {
    let days = ["09", "10", "11", "12", "13", "14", "15"];
    let mut rows: Vec<String> = days.iter().map(|day| format!("2024-12-{day},Outfall 1,look,,dry,,,,,,\n")).collect();
    rows[3] = rows[3].replace("2024", "2025");
    let asked = told(&rows.concat());
    assert_eq!(
        asked,
        [
            "5:1: 2025-12-12 is out of the sheet's order: it stands between 2024-12-11 and 2024-12-13 | was 2024-12-12 meant?"
        ]
    );
}

/// Letters after the looks of a whole winter begin with the winter again.
#[test]
fn one_thing_after_another_in_a_sheet_is_in_order() {
    let looks = weekly("Outfall 1,look,,$,", &plain(&["dry"; 9]));
    good_rows(&format!("{looks}2025-01-14,Outfall 1,call,,,,,,,,TSS\n2025-02-14,Outfall 1,call,,,,,,,,TSS\n"));
}

#[test]
fn a_slip_that_comes_a_year_after_its_sample_is_asked_about() {
    let asked = told("2025-03-10,Outfall 1,sample,TSS,46,mg/L,,slip 1,2026-03-17,,\n");
    assert!(asked[0].contains("the result came 372 days after"), "{asked:?}");
}

#[test]
fn a_call_about_a_place_that_is_nearly_named_right_is_asked_about() {
    let asked = told("2025-03-10,Outfal 1,call,,,,,,,,TSS\n");
    assert!(asked[0].contains("did you mean `Outfall 1`?"), "{asked:?}");
    good_rows("2025-03-10,the duty desk of the board,call,,,,,,,,TSS\n");
}

#[test]
fn every_thing_on_file_is_read_back_in_a_sentence() {
    let rows = weekly("Outfall 1,sample,TSS,$,mg/L", &[("18", "grab"), ("<5", "grab")]);
    let timeline =
        good_rows(&format!("{rows}2025-01-06,Outfall 1,look,,flowing,,,,,,\n2025-01-07,Outfall 1,look,,dry,,,,,,\n"));
    let told = crate::records::read_back(&facility(), &timeline);
    assert_eq!(
        told,
        [
            "Outfall 1, total suspended solids (mg/L, grab): 18 on 2025-01-06, <5 on 2025-01-13",
            "Outfall 1, looks: 2025-01-06 to 2025-01-07, flowing on 2025-01-06; read without a time",
        ]
    );
}
