//! What a sheet's keeper says once of his habits, and what may not change a reading.

use proptest::prelude::*;

use super::fixture::facility;
use super::sheets::through;
use crate::files::Sources;
use crate::records::Timeline;
use crate::records::sheet::{About, Answers, Grid, Habit, Habits, apply, column_on_a_line, draft};
use crate::told::Problems;

fn answers(habits: &[(Habit, &str)], columns: &[(&str, &str)]) -> Answers {
    let mut said = Habits::default();
    for (habit, words) in habits {
        said.say(*habit, words).unwrap();
    }
    let columns = columns.iter().map(|(name, text)| ((*name).to_owned(), column_on_a_line(text).unwrap())).collect();
    Answers { habits: said, columns, time: chrono::NaiveTime::from_hms_opt(7, 0, 0), ..Answers::default() }
}

/// Day and value of each observation of a kind.
fn values(timeline: &Timeline, what: &str) -> Vec<(String, String)> {
    let rows = timeline.observations.iter().filter(|row| row.what == what);
    rows.map(|row| (row.date.to_string(), row.value.clone())).collect()
}

fn asked(name: &str, text: &str, answers: &Answers) -> Vec<About> {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join(name), text).unwrap();
    let grid = Grid::open(name, None, &mut Sources::new(folder.path()), &Problems::new()).unwrap();
    draft(&facility(), &grid, name, answers).questions.into_iter().map(|question| question.about).collect()
}

const WASHES: (&str, &str) = ("Sand washes", "place: Sand beds, what: washes");

/// 7 March 2025 is a Friday. The line of three days has the dial of Monday and the washes and the water of all three.
#[test]
fn a_row_of_several_days_is_said_once_and_counts_for_each_of_them() {
    let text = "Day,M3 wash,Sand washes\n6,1000,2\n7,2000,3\n3 (Sat-Mon),4400,9\n11,5000,1\n12,5600,2\n13,6000,1\n";
    let name = "March 2025.csv";
    let columns = [WASHES];
    let open = asked(name, text, &answers(&[], &columns));
    assert!(open.contains(&About::Habit(Habit::RowsTellOf)), "{open:?}");
    let mut said = answers(&[(Habit::RowsTellOf, "their own day")], &columns);
    said.counts = Some(None);
    let went = through(&facility(), name, text.as_bytes(), &said);
    let dials = values(&went.timeline, "reading");
    assert!(dials.contains(&("2025-03-10".into(), "4400".into())), "{dials:?}");
    let washes: Vec<_> =
        went.timeline.washes.iter().map(|wash| (wash.first_day.to_string(), wash.days, wash.count)).collect();
    assert!(washes.contains(&("2025-03-08".into(), 3, 9)) && washes.contains(&("2025-03-07".into(), 1, 3)));
    // Read the morning after, the three days are Friday to Sunday, and each other row is of the day before.
    let text = text.replace("3 (Sat-Mon)", "3 (Fri-Sun)");
    said.habits.say(Habit::RowsTellOf, "the day before").unwrap();
    let went = through(&facility(), name, text.as_bytes(), &said);
    let washes: Vec<_> =
        went.timeline.washes.iter().map(|wash| (wash.first_day.to_string(), wash.days, wash.count)).collect();
    assert!(
        washes.contains(&("2025-03-07".into(), 3, 9)) && washes.contains(&("2025-03-06".into(), 1, 3)),
        "{washes:?}"
    );
    assert!(values(&went.timeline, "reading").contains(&("2025-03-10".into(), "4400".into())));
}

#[test]
fn weekdays_that_contradict_the_dates_around_are_an_error() {
    let text = "Day,M3 wash\n6,1000\n7,2000\n3 (Sun-Tue),4400\n11,5000\n12,5600\n13,6000\n";
    let folder = tempfile::tempdir().unwrap();
    let problems = Problems::new();
    std::fs::write(folder.path().join("March 2025.csv"), text).unwrap();
    let grid = Grid::open("March 2025.csv", None, &mut Sources::new(folder.path()), &problems).unwrap();
    let draft = draft(&facility(), &grid, "March 2025.csv", &answers(&[(Habit::RowsTellOf, "their own day")], &[]));
    apply(&grid, &draft.mapping, &problems);
    let told: Vec<String> = problems.in_order().iter().map(|problem| problem.to_string_line()).collect();
    assert!(told.len() == 1 && told[0].contains("`3 (Sun-Tue)`: no days between the rows around it"), "{told:#?}");
}

#[test]
fn the_tail_of_a_dial_takes_the_front_of_the_reading_before_where_that_was_said() {
    let text = "Date,M1 well\n2025-03-03,86.472\n2025-03-04,.513\n2025-03-05,\"\"\"\"\n2025-03-06,86.640\n2025-03-07,86.65\n2025-03-08,.7\n";
    assert_eq!(asked("a.csv", text, &answers(&[], &[])), [About::Habit(Habit::Tails)]);
    let went = through(&facility(), "a.csv", text.as_bytes(), &answers(&[(Habit::Tails, "of the reading above")], &[]));
    let counts: Vec<String> = went.timeline.meter_spans.iter().map(|span| span.counts.clone()).collect();
    assert_eq!(counts, ["0.041", "0.000", "0.127", "0.010", "0.05"]);
}

/// 1.10 that became 1.1, 2-3 that became a date, a fraction of an inch, a ditto below it.
#[test]
fn feet_and_inches_that_a_spreadsheet_changed_are_read_as_they_were_written() {
    let text = "Date,Settling pond level\n3/3/2025,1.1\n3/4/2025,2025-02-03\n3/5/2025,1' 9 1/2\"\n3/6/2025,\"\"\"\"\n3/17/2025,1-11\n";
    let text = text.replace("1' 9 1/2\"", "\"1' 9 1/2\"\"\"");
    let columns = [("Settling pond level", "place: Settling pond, what: level, unit: ft-in")];
    assert_eq!(asked("a.csv", &text, &answers(&[], &columns)), [About::Habit(Habit::Inches)]);
    let said = answers(&[(Habit::Inches, ".1 is 10 in")], &columns);
    let went = through(&facility(), "a.csv", text.as_bytes(), &said);
    let inches: Vec<&str> = went.timeline.levels.iter().map(|level| level.value.as_str()).collect();
    assert_eq!(inches, ["22", "27", "21.5", "21.5", "23"]);
    assert!(went.told.iter().any(|line| line.contains("2025-02-03, are read month first: 2-3")), "{:?}", went.told);
}

#[test]
fn centimetres_and_metres_in_one_column_are_told_apart_by_their_size_and_that_is_told() {
    let text = "Date;Settling pond level\n2025-03-03;3,1\n2025-03-04;311\n2025-03-05;62 cm\n2025-03-06;3\n";
    let columns = [("Settling pond level", "place: Settling pond, what: level, unit: cm or m")];
    let said = Answers { mark: Some(crate::quantity::DecimalMark::Comma), ..answers(&[], &columns) };
    let folder_rows = super::fixture::read_files(
        &facility(),
        &[("a.csv", text.as_bytes()), ("a.csv.map.yaml", mapping_of(text, &said).as_bytes())],
    );
    let metres: Vec<f64> = folder_rows.0.levels.iter().map(|level| level.value_si).collect();
    assert_eq!(metres, [3.1, 3.11, 0.62, 3.0]);
    let told = "a number of 10 or more is read as cm (1 value), a smaller one as m (2 values)";
    assert!(folder_rows.0.repairs.iter().any(|repair| repair.sentence.contains(told)), "{:?}", folder_rows.0.repairs);
}

fn mapping_of(text: &str, answers: &Answers) -> String {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("a.csv"), text).unwrap();
    let grid = Grid::open("a.csv", None, &mut Sources::new(folder.path()), &Problems::new()).unwrap();
    draft(&facility(), &grid, "a.csv", answers).mapping.to_yaml()
}

#[test]
fn strokes_of_a_tally_are_counted() {
    let text = "Date,Sand washes\n2025-03-03,II\n2025-03-04,I\n2025-03-05,3\n2025-03-06,IIII\n";
    let went = through(&facility(), "a.csv", text.as_bytes(), &answers(&[], &[WASHES]));
    assert_eq!(went.timeline.washes.iter().map(|wash| wash.count).collect::<Vec<_>>(), [2, 1, 3, 4]);
}

/// A January tab whose first days carry last year's year, as a spreadsheet gives it to dates typed in December.
#[test]
fn a_tab_dated_in_the_year_before_is_asked_about_once() {
    use rust_xlsxwriter::Workbook;
    let mut book = Workbook::new();
    let sheet = book.add_worksheet().set_name("JAN 25").unwrap();
    for (row, (day, dial)) in [
        ("Date", "M3 wash"),
        ("2024-01-02", "1000"),
        ("2024-01-03", "2000"),
        ("2025-01-04", "3000"),
        ("2025-01-06", "4000"),
    ]
    .into_iter()
    .enumerate()
    {
        sheet.write(row as u32, 0, day).unwrap();
        sheet.write(row as u32, 1, dial).unwrap();
    }
    let bytes = book.save_to_buffer().unwrap();
    let went = through(&facility(), "a.xlsx", &bytes, &answers(&[(Habit::TabYear, "of the tab")], &[]));
    assert_eq!(went.questions, [About::Habit(Habit::TabYear)]);
    let days: Vec<String> = values(&went.timeline, "reading").into_iter().map(|(day, _)| day).collect();
    assert_eq!(days, ["2025-01-02", "2025-01-03", "2025-01-04", "2025-01-06"]);
}

/// How a date may be written beside others of its month.
const WAYS: [&str; 7] = ["%Y-%m-%d", "%-m/%-d/%Y", "%-m/%-d", "%-d %b", "%a %-d %b %Y", "%-d", "%-d %a"];

/// A sheet of March 2025: its rows, its columns in an order, its dates in one way, as one table or two side by side.
fn written(dials: &[u32], order: &[usize], way: &str, halves: bool) -> String {
    let first = super::fixture::date("2025-03-03");
    let cells = |at: usize| {
        let day = (first + chrono::Days::new(at as u64)).format(way).to_string();
        let all = [day, dials[at].to_string(), (dials[at] % 7).to_string(), format!("{}.{}", 3 + at / 10, at % 10)];
        order.iter().map(|column| all[*column].clone()).collect::<Vec<_>>().join(",")
    };
    let names = ["Date", "M3 wash", "Sand washes", "Settling pond level (ft)"];
    let heading = order.iter().map(|column| names[*column]).collect::<Vec<_>>().join(",");
    let middle = dials.len() / 2;
    let lines: Vec<String> = if halves {
        let side = |at: usize| if at < dials.len() { cells(at) } else { ",,,".to_owned() };
        let left = |at: usize| if at < middle { cells(at) } else { ",,,".to_owned() };
        (0..dials.len() - middle).map(|at| format!("{},,{}", left(at), side(at + middle))).collect()
    } else {
        (0..dials.len()).map(cells).collect()
    };
    let heading = if halves { format!("{heading},,{heading}") } else { heading };
    format!("{heading}\n{}\n", lines.join("\n"))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    /// The order of columns, the way dates are written and a sheet laid out in two halves are no part of what it says.
    #[test]
    fn how_a_sheet_is_laid_out_changes_no_reading(
        steps in proptest::collection::vec(300_u32..600, 12..20),
        order in Just(vec![0_usize, 1, 2, 3]).prop_shuffle(),
        way in 0..WAYS.len(),
        halves: bool,
    ) {
        let dials: Vec<u32> = steps.iter().scan(40_000, |dial, step| { *dial += step; Some(*dial) }).collect();
        let mut said = answers(&[], &[WASHES]);
        said.dates = Some(crate::quantity::DateOrder::MonthFirst);
        said.counts = Some(None);
        let read = |text: &str| {
            let went = through(&facility(), "March 2025.csv", text.as_bytes(), &said);
            let rows = went.timeline.observations;
            let mut rows: Vec<_> = rows.into_iter().map(|row| (row.date, row.name, row.what, row.value, row.unit)).collect();
            rows.sort();
            rows
        };
        let plain = read(&written(&dials, &[0, 1, 2, 3], WAYS[0], false));
        prop_assert_eq!(plain.len(), 3 * dials.len());
        let other = written(&dials, &order, WAYS[way], halves);
        prop_assert_eq!(read(&other), plain, "{}", other);
    }
}

/// A station's year: months down, days across, in hundredths of an inch, `*` for what a later total has.
#[test]
fn rain_with_its_days_across_is_a_reading_of_each_day() {
    let days = |values: &[(usize, &str)], most: usize| -> String {
        let of = |day: usize| values.iter().find(|(at, _)| *at == day).map_or("0", |(_, value)| value);
        (1..=31).map(|day| if day > most { "---".into() } else { of(day).to_owned() }).collect::<Vec<_>>().join(",")
    };
    let heading = (1..=31).map(|day| format!("{day:02}")).collect::<Vec<_>>().join(",");
    let text = format!(
        "STN 0882,precip 1/100 inch\nYYYY-MM,{heading},MTOT\n2023-01,{},92\n2023-02,{},24\n",
        days(&[(5, "12"), (17, "T"), (28, "*"), (29, "*"), (30, "80A")], 31),
        days(&[(3, "M"), (7, "19"), (8, "5")], 28),
    );
    let unit = ("rain", "what: rain, unit: hundredths of in");
    assert_eq!(asked("rain.csv", &text, &answers(&[], &[unit])), [About::Column("flag".into())]);
    let said = answers(&[], &[unit, ("flag", "flag of the row: {\"*\": in a later total}")]);
    let went = through(&facility(), "rain.csv", text.as_bytes(), &said);
    let read: Vec<_> = went.timeline.rain.iter().map(|of| (of.stamp.date.to_string(), of.depth_mm, of.total)).collect();
    // 31 days less two that a later total has; 28 days of February, one of them out.
    assert_eq!(read.len(), 29 + 28);
    let of =
        |date: &str| read.iter().find(|(day, ..)| day == date).map(|(_, mm, total)| ((mm * 100.0).round(), *total));
    // 12 × 0.254 mm; 80 × 0.254 mm for three days.
    assert_eq!((of("2023-01-05"), of("2023-01-30")), (Some((305.0, false)), Some((2032.0, true))));
    assert_eq!((of("2023-01-28"), of("2023-02-07")), (None, Some((483.0, false))));
    assert!(went.timeline.rain.iter().any(|of| of.out && of.stamp.date.to_string() == "2023-02-03"));
    assert!(went.told.iter().any(|line| line.contains("days stand across")), "{:?}", went.told);
}

#[test]
fn a_log_turned_over_is_read_as_its_days() {
    let days = |of: &dyn Fn(u32) -> String| (1..=31).map(of).collect::<Vec<_>>().join(",");
    let text = format!(
        "May 2025 (ran out of the long forms)\nday,{}\nM3 wash,{}\nSettling pond level (ft),{}\n",
        days(&|day| day.to_string()),
        days(&|day| (1000 + 10 * day).to_string()),
        days(&|day| if day % 7 == 0 { String::new() } else { "3.5".into() }),
    );
    let went = through(&facility(), "log.csv", text.as_bytes(), &answers(&[], &[]));
    let dials = values(&went.timeline, "reading");
    assert_eq!(dials.len(), 31);
    assert_eq!(dials.last(), Some(&("2025-05-31".into(), "1310".into())));
    assert_eq!(values(&went.timeline, "level").len(), 27);
    let place = &went.timeline.levels.last().unwrap().source.place;
    assert_eq!((place.line, place.column > 1), (4, true), "{place:?}");
}

#[test]
fn a_heading_that_counts_by_hundreds_over_a_meter_in_gallons_is_asked_about() {
    let text = "Date,M1 well (x100)\n2025-03-03,1000\n2025-03-04,1010\n2025-03-05,1020\n";
    assert_eq!(asked("a.csv", text, &answers(&[], &[])), [About::Column("M1 well (x100)".into())]);
    let said = answers(&[], &[("M1 well (x100)", "place: M1 well, what: reading, unit: gal")]);
    assert_eq!(asked("a.csv", text, &said), []);
    assert_eq!(asked("a.csv", &text.replace("M1 well (x100)", "M4 loop (x10)"), &answers(&[], &[])), []);
}

/// The bank is at 14 ft: 12-2 and 1-10, 11-11 and 2-1, 12-1 and 1-11.
#[test]
fn one_tenth_of_a_foot_is_one_inch_or_ten_as_the_level_beside_it_says() {
    let text = "Date,Staff,FB\n2025-03-03,12-2,1-10\n2025-03-04,12-2,1.1\n2025-03-05,11-11,2.1\n2025-03-06,12-0,2-0\n\
        2025-03-07,\"\"\"\",24\"\"\n2025-03-08,12-1,1-11\n2025-03-09,11-5,1.1\n";
    let text = text.replace("24\"\"", "\"24\"\"\"");
    let columns = [
        ("Staff", "place: Settling pond, what: level, unit: ft-in"),
        ("FB", "place: Settling pond, what: freeboard, unit: ft-in"),
    ];
    let said = answers(&[(Habit::Inches, "as the level beside it says")], &columns);
    let folder = tempfile::tempdir().unwrap();
    let problems = Problems::new();
    std::fs::write(folder.path().join("a.csv"), &text).unwrap();
    let grid = Grid::open("a.csv", None, &mut Sources::new(folder.path()), &problems).unwrap();
    let rows = apply(&grid, &draft(&facility(), &grid, "a.csv", &said).mapping, &problems).rows;
    let read: Vec<&str> =
        rows.iter().filter(|row| row.what.text == "freeboard").map(|row| row.value.text.as_str()).collect();
    // The last fits neither, and stays as it is, to be asked about.
    assert_eq!(read, ["1-10", "1-10", "2-1", "2-0", "24\"", "1-11", "1.1"]);
}

/// A workbook typed with points for thousands keeps 31.208 as a number, and shows it beside 31208 and 31550.
#[test]
fn a_point_of_thousands_is_asked_about_and_read_by_the_readings_beside_it() {
    use rust_xlsxwriter::Workbook;
    let mut book = Workbook::new();
    let sheet = book.add_worksheet();
    sheet.write(0, 0, "Date").unwrap();
    sheet.write(0, 1, "M1 well").unwrap();
    sheet.write(0, 2, "M5 sewer").unwrap();
    let dials = [31.208, 31_208.0, 31.617, 31.807, 31_900.0];
    for (row, dial) in (1..).zip(dials) {
        sheet.write(row, 0, format!("2025-03-{row:02}")).unwrap();
        sheet.write(row, 1, dial).unwrap();
        sheet.write(row, 2, format!("1.02{row},35")).unwrap();
    }
    let bytes = book.save_to_buffer().unwrap();
    let went = through(&facility(), "a.xlsx", &bytes, &answers(&[(Habit::Points, "of thousands")], &[]));
    assert!(went.questions.contains(&About::Habit(Habit::Points)), "{:?}", went.questions);
    let counts: Vec<String> = went.timeline.spans_of(0).map(|(_, span)| span.counts.clone()).collect();
    assert_eq!(counts, ["0", "409", "190", "93"]);
    assert!(
        went.timeline
            .repairs
            .iter()
            .any(|one| one.sentence.contains("3 readings with a point read as one of thousands"))
    );
}
