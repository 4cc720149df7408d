//! What must hold whatever is typed.

use proptest::prelude::*;

use super::fixture::{date, facility, read_files};
use crate::files::Sources;
use crate::quantity::stamp;
use crate::quantity::{DateOrder, Decimal, DecimalMark, cell};
use crate::records::sheet::{Answers, Grid, Mapping, apply, draft};
use crate::told::Problems;
use crate::weather::{Stretch, spread};

/// A cell as people type it, or anything at all.
fn typed() -> impl Strategy<Value = String> {
    prop_oneof![
        prop::sample::select(vec![
            "",
            "2025-07-11",
            "2025-07-11 07:00",
            "7/12/2025",
            "12.7.2025",
            "6/7",
            "30 Feb 2025",
            "M3 wash",
            "M1 well",
            "Sand beds",
            "Storage pond",
            "Outfall 1",
            "reading",
            "amount",
            "washes",
            "wash minutes",
            "level",
            "look",
            "rain",
            "sample",
            "exchanged",
            "report sent",
            "1,204 ",
            "412880",
            "999999",
            "0",
            "-5",
            "<5",
            "T",
            "same",
            "\"",
            "off",
            "dry",
            "flowing",
            "n/a",
            "gal",
            "ft",
            "in",
            "mg/L",
            "x10 gal",
            "since the last reading",
            "5 to 6",
            "total",
            "Date",
            "99999999999999999999",
            "1e9",
            "\u{feff}",
            "é",
        ])
        .prop_map(str::to_string),
        "[ -~]{0,12}",
        "\\PC{0,6}",
    ]
}

fn csv(rows: &[Vec<String>]) -> String {
    rows.iter()
        .map(|row| row.iter().map(|cell| format!("\"{}\"", cell.replace('"', "\"\""))).collect::<Vec<_>>().join(","))
        .collect::<Vec<_>>()
        .join("\n")
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn no_row_of_records_breaks_the_reading(rows in prop::collection::vec(prop::collection::vec(typed(), 11), 0..12)) {
        let text = format!("date,place,what,parameter,value,unit,qualifier,paper,received,who,note\n{}", csv(&rows));
        let facility = facility();
        let (timeline, _) = read_files(&facility, &[("a.csv", text.as_bytes())]);
        for meter in 0..facility.meters.len() {
            let _ = timeline.meter_days(&facility, meter, date("2025-07-01"), 40);
        }
    }

    #[test]
    fn no_sheet_breaks_the_draft_and_a_draft_reads_back(rows in prop::collection::vec(prop::collection::vec(typed(), 1..7), 0..14)) {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("a.csv"), csv(&rows)).unwrap();
        let problems = Problems::new();
        if let Some(grid) = Grid::open("a.csv", None, &mut Sources::new(folder.path()), &problems) {
            let drafted = draft(&facility(), &grid, "a.csv", &Answers::default());
            apply(&grid, &drafted.mapping, &problems);
            if !drafted.mapping.tables.is_empty() {
                let told = Problems::new();
                let source = crate::files::Source::new("a.csv.map.yaml", &drafted.mapping.to_yaml());
                prop_assert_eq!(Mapping::read(&source, &told), Some(drafted.mapping), "{:?}", told.in_order());
            }
        }
    }

    #[test]
    fn no_text_breaks_a_cell_or_a_date(text in "\\PC{0,16}") {
        for mark in [DecimalMark::Point, DecimalMark::Comma] {
            let _ = cell(&text, mark);
        }
        for order in [DateOrder::YearFirst, DateOrder::DayFirst, DateOrder::MonthFirst] {
            let _ = stamp(&text, order, Some(2025));
        }
    }

    #[test]
    fn a_decimal_comes_back_from_its_own_text(units in -999_999_999_i64..999_999_999, places in 0_usize..9) {
        let sign = if units < 0 { "-" } else { "" };
        let digits = format!("{:0>width$}", units.unsigned_abs(), width = places + 1);
        let (whole, part) = digits.split_at(digits.len() - places);
        let text = if places == 0 { format!("{sign}{whole}") } else { format!("{sign}{whole}.{part}") };
        prop_assert_eq!(Decimal::parse(&text).unwrap().to_string(), text);
    }

    #[test]
    fn what_is_spread_over_days_sums_up_and_lies_between_its_bounds(
        steps in prop::collection::vec((1_i64..4000, 0.0_f64..1e4), 1..20),
        start in 0_i64..1440,
    ) {
        let first = date("2025-07-01");
        let mut at = first.and_hms_opt(0, 0, 0).unwrap() + chrono::Duration::minutes(start);
        let mut stretches = Vec::new();
        for (minutes, amount) in steps {
            let to = at + chrono::Duration::minutes(minutes);
            stretches.push(Stretch { from: at, to, amount });
            at = to;
        }
        let total: f64 = stretches.iter().map(|stretch| stretch.amount).sum();
        let days = spread(&stretches, first - chrono::Duration::days(1), 80, chrono::NaiveTime::from_hms_opt(7, 0, 0).unwrap().into());
        let known: f64 = days.iter().filter_map(|day| day.middle).sum();
        prop_assert!(known <= total + 1e-6);
        for day in &days {
            if let Some(middle) = day.middle {
                prop_assert!(day.low <= middle + 1e-9 && middle <= day.high + 1e-9);
                prop_assert!(!day.measured || day.low == day.high);
            }
        }
    }
}
