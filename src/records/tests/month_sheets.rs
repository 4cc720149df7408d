//! Month sheets as they are kept: tabs without a year, days of the month, spans of days, dials carried forward, feet and inches.

use rust_xlsxwriter::Workbook;

use super::fixture::{facility, read_files};
use super::sheets::through;
use crate::files::Sources;
use crate::records::sheet::{Answers, Grid, Mapping, apply, column_on_a_line, draft};
use crate::told::Problems;

/// Tabs named by their months over a new year: two name their year, the others lie between; days, `10/1` and a fraction
/// that a spreadsheet made a date of in another column.
#[test]
fn tabs_over_a_new_year_take_their_years_from_one_another_and_days_stay_days() {
    let mut book = Workbook::new();
    for (tab, name) in ["OCT 24", "Nov", "Dec ", "JAN 25"].into_iter().enumerate() {
        let sheet = book.add_worksheet().set_name(name).unwrap();
        for (column, heading) in ["Date", "M3 wash", "Remark"].into_iter().enumerate() {
            sheet.write(0, column as u16, heading).unwrap();
        }
        for day in 1..=6_u32 {
            if name == "OCT 24" && day == 2 {
                sheet.write(day, 0, "10/2").unwrap();
            } else {
                sheet.write(day, 0, day).unwrap();
            }
            sheet.write(day, 1, 1000 * (tab as u32 * 10 + day)).unwrap();
        }
        sheet.write(3, 2, "4 Jan").unwrap();
        sheet.write(4, 2, "2 Jan").unwrap();
    }
    let answers =
        Answers { columns: vec![("Remark".into(), column_on_a_line("not read").unwrap())], ..Answers::default() };
    let went = through(&facility(), "a.xlsx", &book.save_to_buffer().unwrap(), &answers);
    let days: Vec<String> = went.timeline.observations.iter().map(|row| row.date.to_string()).collect();
    for day in ["2024-10-02", "2024-11-01", "2024-12-06", "2025-01-06"] {
        assert!(days.iter().any(|one| one == day), "{day}: {days:?}");
    }
    assert_eq!(days.len(), 24);
}

#[test]
fn a_span_of_days_is_no_day_of_the_month_and_dials_carried_forward_are_told() {
    let text = "Date,M3 wash,M1 well\nfwd,1000,5000\n1,2000,6000\n2,3000,7000\n3 (Sat-Mon),4000,8000\n5,5000,9000\n6,6000,9500\n7,7000,9900\n";
    let problems = Problems::new();
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("Aug 2025.csv"), text).unwrap();
    let grid = Grid::open("Aug 2025.csv", None, &mut Sources::new(folder.path()), &problems).unwrap();
    let draft = draft(&facility(), &grid, "Aug 2025.csv", &Answers::default());
    apply(&grid, &draft.mapping, &problems);
    let told: Vec<String> = problems.in_order().iter().map(|problem| problem.to_string_line()).collect();
    assert!(told.iter().any(|line| line.contains("`fwd` is not a date")), "{told:#?}");
    assert!(told.iter().any(|line| line.contains("`3 (Sat-Mon)` is a span of days, and no date")), "{told:#?}");
    assert_eq!(told.len(), 2, "{told:#?}");
}

#[test]
fn a_column_said_without_its_place_is_asked_about_unless_its_rows_name_theirs() {
    let said = || column_on_a_line("what: sample, parameter: total suspended solids, unit: mg/L");
    let answers = Answers { columns: vec![("Solids".into(), said().unwrap())], ..Answers::default() };
    for (text, asked) in [
        ("Date,Outfall,Solids\n2025-03-14,001,22\n2025-03-28,001,18\n", 0),
        ("Date,Solids\n2025-03-14,22\n2025-03-28,18\n", 1),
    ] {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("lab.csv"), text).unwrap();
        let grid = Grid::open("lab.csv", None, &mut Sources::new(folder.path()), &Problems::new()).unwrap();
        let questions = draft(&facility(), &grid, "lab.csv", &answers).questions;
        assert_eq!(questions.len(), asked, "{questions:#?}");
    }
}

/// Days that begin a month sheet stand before marks like 2-3 in a column behind them, ditto marks among them.
#[test]
fn feet_and_inches_behind_the_days_of_a_month_are_no_dates() {
    let text = "Day,Pond level\n2,10-6\n3,\"\"\"\"\n4,10-8\n6,10-9\n9,10-11\n10,11-0\n";
    let column = "place: Settling pond, what: level, unit: ft-in";
    let column = column_on_a_line(column).unwrap();
    let answers = Answers {
        columns: vec![("Pond level".into(), column)],
        time: chrono::NaiveTime::from_hms_opt(7, 0, 0),
        ..Answers::default()
    };
    let folder = tempfile::tempdir().unwrap();
    let problems = Problems::new();
    std::fs::write(folder.path().join("June 2025.csv"), text.as_bytes()).unwrap();
    let grid = Grid::open("June 2025.csv", None, &mut Sources::new(folder.path()), &problems).unwrap();
    let draft = draft(&facility(), &grid, "June 2025.csv", &answers);
    assert_eq!(draft.questions, []);
    let yaml = draft.mapping.to_yaml();
    let files = [("June 2025.csv", text.as_bytes()), (&Mapping::file_of("June 2025.csv"), yaml.as_bytes())];
    let (timeline, problems) = read_files(&facility(), &files);
    assert!(problems.is_empty(), "{:#?}", problems.in_order());
    let inches: Vec<(String, String)> = timeline
        .levels
        .iter()
        .map(|level| (level.day.to_string(), format!("{} {}", level.value, level.unit)))
        .collect();
    let said = |day: &str, inches: &str| (format!("2025-06-{day}"), format!("{inches} in"));
    assert_eq!(
        inches,
        [
            said("02", "126"),
            said("03", "126"),
            said("04", "128"),
            said("06", "129"),
            said("09", "131"),
            said("10", "132")
        ]
    );
}
