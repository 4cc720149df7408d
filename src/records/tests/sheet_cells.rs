//! What cells of a sheet stand for, said once; two tables below one another; units of headings.

use super::fixture::{facility, read_files};
use super::sheets::{Through, through};
use crate::files::Sources;
use crate::quantity::DateOrder;
use crate::records::sheet::{About, Answers, Cells, Grid, Habit, Habits, Mapping, column_on_a_line, draft};
use crate::told::Problems;

fn answers(cells: Cells, columns: &[(&str, &str)]) -> Answers {
    let columns = columns.iter().map(|(name, text)| ((*name).to_owned(), column_on_a_line(text).unwrap())).collect();
    Answers { cells, columns, dates: Some(DateOrder::DayFirst), ..Answers::default() }
}

fn said(say: impl FnOnce(&mut Cells)) -> Cells {
    let mut cells = Cells::default();
    say(&mut cells);
    cells
}

fn asked(text: &str, answers: &Answers) -> Vec<String> {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("a.csv"), text).unwrap();
    let grid = Grid::open("a.csv", None, &mut Sources::new(folder.path()), &Problems::new()).unwrap();
    draft(&facility(), &grid, "a.csv", answers).questions.into_iter().map(|question| question.text).collect()
}

/// Day, value and unit of each sample of a parameter.
fn samples<'a>(went: &'a Through, parameter: &str) -> Vec<(String, &'a str, &'a str)> {
    let of_it = went.timeline.samples.iter().filter(|sample| sample.parameter == parameter);
    let text = |held: &'a Option<String>| held.as_deref().unwrap_or("");
    of_it.map(|sample| (sample.day.to_string(), text(&sample.value), text(&sample.unit))).collect()
}

const RAIN: &str = "Date,Rain (mm),M1 well (gal)\n2025-02-07,0,100\n2025-02-08,-888,110\n2025-02-09,-888,120\n2025-02-10,1.6,130\n2025-02-11,-777,140\n2025-02-12,0,150\n";

#[test]
fn a_code_for_rain_that_is_not_known_is_asked_once_and_is_never_rain() {
    let open = asked(RAIN, &Answers::default());
    assert_eq!(open.len(), 2, "{open:?}");
    assert!(open.iter().any(|text| text.starts_with("`-888` in a column of rain")), "{open:?}");
    let cells = said(|cells| {
        cells.say_missing("-888=in a later total").unwrap();
        cells.say_missing("-777").unwrap();
    });
    let went = through(&facility(), "a.csv", RAIN.as_bytes(), &answers(cells, &[]));
    let rain: Vec<(String, f64, bool, bool)> = went
        .timeline
        .rain
        .iter()
        .map(|read| (read.stamp.date.to_string(), (read.depth_mm * 10.0).round() / 10.0, read.out, read.total))
        .collect();
    let expected = [
        ("2025-02-07", 0.0, false, false),
        ("2025-02-10", 1.6, false, true),
        ("2025-02-11", 0.0, true, false),
        ("2025-02-12", 0.0, false, false),
    ];
    assert_eq!(rain, expected.map(|(day, mm, out, total)| (day.to_owned(), mm, out, total)));
}

#[test]
fn words_of_a_look_are_said_once_for_the_sheet_and_stay_in_its_note() {
    let text = "Date,Outfall 1 flowing?\n2025-05-24,n\n2025-05-25,\"silt fan 3/4, dry now\"\n2025-05-26,did not get there\n2025-05-27,y\n";
    let open = asked(text, &Answers::default());
    assert_eq!(open.len(), 2, "{open:?}");
    let cells = said(|cells| {
        cells.say_look("Silt fan 3/4, dry now=dry").unwrap();
        cells.say_look("did not get there=not said").unwrap();
    });
    let went = through(&facility(), "a.csv", text.as_bytes(), &answers(cells, &[]));
    let looks: Vec<(String, bool)> =
        went.timeline.looks.iter().map(|look| (look.day.to_string(), look.flowing)).collect();
    let expected = [("2025-05-24", false), ("2025-05-25", false), ("2025-05-27", true)];
    assert_eq!(looks, expected.map(|(day, flowing)| (day.to_owned(), flowing)));
    let note = went.timeline.looks[1].source.note.as_deref();
    assert_eq!(note, Some("as written: silt fan 3/4, dry now"));
}

const SLIPS: &str = "Lab results\n\
    Sample;Place;taken;received;reported;TSS mg/l;pH;Nitrate mg/l NO3\n\
    K1;Outfall 1;14.01.2025;15.01.2025;22.01.2025;12;7,4;31\n\
    K2;Outfall 1;30.01.2025;30.01.2025;05.02.2025;ND (6);7,2;ND\n\
    K3;Outfall 1;11.03.2025;12.03.2025;18.03.2025;8;7,6;52\n\
    Nursery;2nd half 2025, new form;;;;;;\n\
    Sample;Place;received;taken;reported;pH;TSS mg/l;NO3-N mg/l\n\
    K4;Outfall 1;21.07.2025;20.07.2025;28.07.2025;7,0;96;\n\
    K5;Outfall 1;10.09.2025;09.09.2025;16.09.2025;8,2;180;6,4\n";

/// 31 × 14.0067 / 62.0049 = 7.003, 52 × the same = 11.747.
#[test]
fn two_blocks_of_a_laboratory_s_file_have_their_own_columns_and_results_counted_as_nitrate_are_turned() {
    let open = asked(SLIPS, &answers(Cells::default(), &[("Sample", "paper")]));
    assert_eq!(open.len(), 1, "{open:#?}");
    assert!(open[0].contains("it counts NO3: is it held against nitrate-nitrogen"), "{open:?}");
    let nitrate = ("Nitrate mg/l NO3", "what: sample, parameter: nitrate-nitrogen, unit: mg/L as NO3");
    let open = asked(SLIPS, &answers(Cells::default(), &[("Sample", "paper"), nitrate]));
    assert!(open.len() == 1 && open[0].contains("`ND` without the limit it is below"), "{open:?}");
    let cells = said(|cells| cells.say_not_detected("nitrate-N <0.5 mg/L").unwrap());
    let went = through(&facility(), "a.csv", SLIPS.as_bytes(), &answers(cells, &[("Sample", "paper"), nitrate]));
    let text = |all: &[(&str, &str, &str)]| -> Vec<(String, String, String)> {
        all.iter().map(|(a, b, c)| ((*a).into(), (*b).into(), (*c).into())).collect()
    };
    let of = |parameter: &str| -> Vec<(String, String, String)> {
        samples(&went, parameter).into_iter().map(|(a, b, c)| (a, b.to_owned(), c.to_lowercase())).collect()
    };
    assert_eq!(
        of("total suspended solids"),
        text(&[
            ("2025-01-14", "12", "mg/l"),
            ("2025-01-30", "6", "mg/l"),
            ("2025-03-11", "8", "mg/l"),
            ("2025-07-20", "96", "mg/l"),
            ("2025-09-09", "180", "mg/l"),
        ])
    );
    let nitrate: Vec<(String, String)> = went
        .timeline
        .samples
        .iter()
        .filter(|sample| crate::quantity::parameter_name(&sample.parameter) == "nitrate-nitrogen")
        .map(|sample| (sample.day.to_string(), sample.value.clone().unwrap()))
        .collect();
    let expected = [("2025-01-14", "7.003"), ("2025-01-30", "0.5"), ("2025-03-11", "11.75"), ("2025-09-09", "6.4")];
    assert_eq!(nitrate, expected.map(|(day, value)| (day.to_owned(), value.to_owned())));
    let received: Vec<String> = went
        .timeline
        .samples
        .iter()
        .filter(|sample| sample.parameter == "pH")
        .map(|sample| sample.source.received.unwrap().to_string())
        .collect();
    assert_eq!(received, ["2025-01-22", "2025-02-05", "2025-03-18", "2025-07-28", "2025-09-16"]);
    let told: Vec<&str> = went.timeline.repairs.iter().map(|repair| repair.sentence.as_str()).collect();
    let turned = "Outfall 1, nitrate-nitrogen: 2 results counted as NO3, the first of 2025-01-14: times 14.0067/62.0049 (molar masses)";
    assert!(told.contains(&turned), "{told:#?}");
}

/// 2483.1 and 2483.6, then 24840 and 24852: 2484.0 and 2485.2.
#[test]
fn points_that_were_lost_in_a_column_are_asked_about_once_and_put_back() {
    let text =
        "Date,M5 sewer\n2025-03-01,2483.1\n2025-03-02,2483.6\n2025-03-03,24840\n2025-03-04,24852\n2025-03-05,2486.0\n";
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("a.csv"), text).unwrap();
    let grid = Grid::open("a.csv", None, &mut Sources::new(folder.path()), &Problems::new()).unwrap();
    let drafted = draft(&facility(), &grid, "a.csv", &Answers::default());
    let about: Vec<About> = drafted.questions.iter().map(|question| question.about.clone()).collect();
    assert_eq!(about, [About::Habit(Habit::LostPoints)], "{:?}", drafted.questions);
    let mut habits = Habits::default();
    habits.say(Habit::LostPoints, "put back").unwrap();
    let went = through(&facility(), "a.csv", text.as_bytes(), &Answers { habits, ..Answers::default() });
    let counts: Vec<&str> = went.timeline.meter_spans.iter().map(|span| span.counts.as_str()).collect();
    assert_eq!(counts, ["0.5", "0.4", "1.2", "0.8"]);
    // As written it is a jump and a step back, and the step back is told.
    habits.say(Habit::LostPoints, "as written").unwrap();
    let mapping = draft(&facility(), &grid, "a.csv", &Answers { habits, ..Answers::default() }).mapping;
    let (name, yaml) = (Mapping::file_of("a.csv"), mapping.to_yaml());
    let (_, problems) = read_files(&facility(), &[("a.csv", text.as_bytes()), (&name, yaml.as_bytes())]);
    let told: Vec<String> = problems.in_order().iter().map(|problem| problem.message.clone()).collect();
    assert!(told.iter().any(|told| told.contains("M5 sewer goes back, from 24852 to 2486")), "{told:?}");
    assert!(!told.iter().any(|told| told.contains("lost its point")), "{told:?}");
}
