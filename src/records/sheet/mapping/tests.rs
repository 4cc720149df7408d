//! A mapping as its file.

use super::*;
use crate::records::sheet::habits::{Inches, LostPoints, Points, RowsTellOf, Sums, TabYear, Tails};

fn sample() -> Mapping {
    Mapping {
        sheet: "wash sheet 2025.xlsx".into(),
        tables: vec![Table {
            tabs: vec!["Mar".into(), "Apr, cold \"side\"".into()],
            heading_row: 4,
            last_row: Some(40),
            date: 0,
            order: Dates::Order(DateOrder::MonthFirst),
            year: Some(2025),
            time_column: Some(1),
            time: NaiveTime::from_hms_opt(7, 0, 0),
            mark: DecimalMark::Comma,
            columns: vec![
                (
                    2,
                    Column::Values {
                        place: "M3 wash".into(),
                        what: "washes".into(),
                        parameter: None,
                        unit: Some("100 ft3".into()),
                        since: Some(SinceTheLast::Entry),
                    },
                ),
                (
                    3,
                    Column::Values {
                        place: "Pond #1".into(),
                        what: "sample".into(),
                        parameter: Some("nitrate N, total".into()),
                        unit: Some("mg/L".into()),
                        since: None,
                    },
                ),
                (4, Column::Act([("visit".to_owned(), "not read".to_owned())].into())),
                (5, Column::About),
                (6, Column::To),
                (27, Column::NotRead),
            ],
        }],
        lost: Some(vec![(NaiveDate::from_ymd_opt(2025, 2, 1).unwrap(), NaiveDate::from_ymd_opt(2025, 2, 28).unwrap())]),
        counts: Some(Some(SinceTheLast::Entry)),
        habits: Habits {
            rows_tell_of: Some(RowsTellOf::TheDayBefore),
            tab_year: Some(TabYear::OfTheTab),
            tails: Some(Tails::OfTheReadingAbove),
            inches: Some(Inches::Ten),
            points: Some(Points::OfThousands),
            lost_points: Some(LostPoints::PutBack),
            sums: Some(Sums::Add),
            lengths: Some(DateOrder::MonthFirst),
        },
        cells: Cells {
            missing: [("-888".into(), "in a later total".into())].into(),
            looks: [("silt fan 3/4, dry now".into(), "dry".into())].into(),
            not_detected: [("nitrate-nitrogen".into(), "<0.05 mg/L".into()), (String::new(), "<5".into())].into(),
            void: ["B23-0495".to_owned()].into(),
            about: [("2025-04-15".into(), "14 Apr 2025".into())].into(),
        },
        rows: [("Mar 2025-03-01".to_string(), "1e307000".to_string())].into(),
    }
}

#[test]
fn remarks_of_the_user_stay_when_the_sheet_is_looked_at_again() {
    let before = sample();
    let text = before.to_yaml().replace("tables:", "tables:   # the blue clipboard") + "# asked EH on Monday\n";
    let grown = Mapping { rows: [("Mar 2025-03-02".to_string(), "2e".to_string())].into(), ..before.clone() };
    let again = grown.to_yaml_over(&text, &before);
    let problems = Problems::new();
    assert_eq!(Mapping::read(&Source::new("a.map.yaml", &again), &problems).unwrap(), grown);
    assert!(again.contains("tables:   # the blue clipboard\n") && again.contains("# asked EH on Monday\n"), "{again}");
    assert!(!again.contains("Mar 2025-03-01") && again.matches(ROWS_REMARK).count() == 1, "{again}");

    let other = Mapping { sheet: "other.xlsx".into(), ..grown };
    let again = other.to_yaml_over(&text, &before);
    assert_eq!(Mapping::read(&Source::new("a.map.yaml", &again), &problems).unwrap(), other);
    assert!(again.contains("the blue clipboard") && again.contains("# asked EH on Monday\n"), "{again}");
}

#[test]
fn a_mapping_reads_back_as_it_was_written() {
    let mapping = sample();
    let problems = Problems::new();
    let source = Source::new("a.map.yaml", &mapping.to_yaml());
    let read = Mapping::read(&source, &problems);
    assert!(problems.is_empty(), "{}\n{:#?}", mapping.to_yaml(), problems.in_order());
    assert_eq!(read.unwrap(), mapping);
}

#[test]
fn a_mapping_edited_by_hand_is_told_all_that_is_wrong() {
    let text =
        sample().to_yaml().replace("order: month first", "order: month frist").replace("AB: not read", "1: not raed");
    let problems = Problems::new();
    assert!(Mapping::read(&Source::new("a.map.yaml", &text), &problems).is_none());
    assert_eq!(problems.len(), 2, "{:#?}", problems.in_order());
}

#[test]
fn a_column_can_be_told_on_one_line() {
    assert_eq!(column_on_a_line("not read"), Ok(Column::NotRead));
    assert!(matches!(column_on_a_line("place: M3 wash, what: reading"), Ok(Column::Values { .. })));
    assert!(column_on_a_line("place: M3 wash").is_err());
    assert!(
        column_on_a_line("place: M3 wash, what: floods").is_err_and(|told| told.contains("write one of: reading,"))
    );
    // Its places may stand in another column.
    assert!(column_on_a_line("what: reading").is_ok());
    let names = Column::Place([("001".to_string(), "Outfall 1".to_string())].into());
    assert_eq!(column_on_a_line(&names.text()), Ok(names));
    assert_eq!(column_on_a_line("place"), Ok(Column::Place(BTreeMap::new())));
}
