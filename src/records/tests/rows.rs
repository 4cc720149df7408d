//! Rows: words, names, dates, duplicates, samples, levels, looks, acts.

use super::fixture::{OUTFALL, date, facility, good_rows, read_files, read_rows, told};
use crate::facility::model::PlaceId;
use crate::records::{LevelKind, Qualifier};

const EXAMPLE: &str = "# remarks are left out
date,place,what,parameter,value,unit,qualifier,paper,received,who,note
2025-07-11 07:00,M3 wash,reading,,412880,gal,,wash sheet 28,,JM,
2025-07-14 07:00,M3 wash,reading,,427920,gal,,wash sheet 28,,JM,three days since the last
2025-07-14,Sand beds,washes,,9,,,wash sheet 28,,JM,since the last reading
2025-03-14 09:40,Outfall 1,sample,total suspended solids,47,mg/L,,slip 2025-031,2025-03-21,RQ,
2025-03-14 09:40,Outfall 1,sample,settleable solids,0.1,mL/L,<,slip 2025-031,2025-03-21,RQ,
2025-08-12 07:00,Outfall 1,look,,flowing,,,pond sheet 33,,JM,
2025-08-14 07:00,Outfall 1,look,,dry,,,pond sheet 33,,JM,
2025-08-11 07:00,Storage pond,level,,6.6,ft,,pond sheet 33,,JM,
2025-09-26,Outfall 1,report sent,,,,,letter book 41,,RQ,monthly report for August 2025
";

#[test]
fn a_file_in_long_form_gives_every_kind_of_observation() {
    let (timeline, problems) = read_files(&facility(), &[("records.csv", EXAMPLE.as_bytes())]);
    assert!(problems.is_empty(), "{:#?}", problems.in_order());
    assert_eq!(timeline.observations.len(), 9);
    assert_eq!(timeline.meter_spans.len(), 1);
    assert_eq!(timeline.samples.len(), 2);
    let tss = &timeline.samples[1];
    let settleable = &timeline.samples[0];
    let (tss, settleable) =
        if tss.parameter == "total suspended solids" { (tss, settleable) } else { (settleable, tss) };
    assert_eq!((tss.value.as_deref(), tss.unit.as_deref(), tss.qualifier), (Some("47"), Some("mg/L"), Qualifier::None));
    assert_eq!(tss.source.received, Some(date("2025-03-21")));
    assert_eq!(tss.source.paper.as_deref(), Some("slip 2025-031"));
    assert_eq!((settleable.value.as_deref(), settleable.qualifier), (Some("0.1"), Qualifier::Below));
    assert_eq!(timeline.looks.iter().map(|look| look.flowing).collect::<Vec<_>>(), [true, false]);
    let level = &timeline.levels[0];
    assert_eq!(level.kind, LevelKind::Level);
    // 6.6 ft × 0.3048 m = 2.01168 m.
    assert!((level.value_si - 2.01168).abs() < 1e-12);
    assert_eq!((timeline.acts[0].what.as_str(), timeline.acts[0].name.as_str()), ("report sent", "Outfall 1"));
    assert_eq!(timeline.last_day, Some(date("2025-09-26")));
    let names: Vec<&str> = timeline.sources.iter().map(|source| source.name.as_str()).collect();
    assert!(names.contains(&"M3 wash, reading") && names.contains(&"Outfall 1, settleable solids"), "{names:?}");
}

#[test]
fn the_order_of_columns_and_of_files_changes_nothing() {
    let swapped = "what,value,unit,date,place\nreading,3000,gal,2025-07-12,M3 wash\n";
    let first = "date,place,what,value,unit\n2025-07-11,M3 wash,reading,1000,gal\n";
    let (timeline, problems) = read_files(&facility(), &[("b.csv", first.as_bytes()), ("a.csv", swapped.as_bytes())]);
    assert!(problems.is_empty());
    assert_eq!(timeline.meter_spans[0].counts, "2000");
}

#[test]
fn all_problems_are_told_at_once_with_their_places_and_what_was_meant() {
    let told = told(
        "2025-07-11,M3 wsah,reading,,412880,gal,,,,,\n11/7/2025,M3 wash,reading,,1,gal,,,,,\n2025-07-12,Sand beds,wahses,,9,,,,,,\n2025-07-12,Sand beds,reading,,9,,,,,,\n2025-07-12,Outfall 1,look,,wet,,,,,,\n2025-07-12,Storage pond,level,,\"6,6\",ft,,,,,\n2025-07-12,Outfall 1,sample,TSS,47,,,,,,\n",
    );
    assert_eq!(told.len(), 7, "{told:#?}");
    assert!(
        told[0].starts_with("2:12: there is no `M3 wsah` in the facility")
            && told[0].ends_with("did you mean `M3 wash`?")
    );
    assert!(told[1].starts_with("3:1: dates like `11/7/2025` could mean two days"));
    assert!(told[2].ends_with("did you mean `washes`?"));
    assert!(told[3].contains("`Sand beds` is not a meter"));
    assert!(told[4].contains("write flowing or dry"));
    assert!(told[5].contains("not grouped in threes"));
    assert!(told[6].contains("without its unit"));
}

#[test]
fn the_same_row_twice_is_kept_once_and_two_values_for_one_moment_are_told() {
    let (timeline, problems) = read_rows(
        &facility(),
        "2025-07-11 07:00,M3 wash,reading,,1000,gal,,,,,\n2025-07-11 07:00,M3 wash,reading,,\"1,000\",gal,,,,,\n2025-07-12 07:00,M3 wash,reading,,3000,gal,,,,,\n2025-07-12 07:00,M3 wash,reading,,3100,gal,,,,,\n",
    );
    assert_eq!(timeline.meter_spans.len(), 1);
    assert!(timeline.repairs.iter().any(|repair| repair.sentence.contains("typed twice with the same value")));
    let [problem] = &problems.in_order()[..] else { panic!() };
    assert_eq!(problem.message, "two values for M3 wash, reading, at one time: 3000 gal and 3100 gal");
    assert_eq!((problem.place.line, problem.related[0].0.line), (5, 4));
}

#[test]
fn several_samples_of_one_day_are_all_kept() {
    let timeline = good_rows(
        "2025-07-11,Outfall 1,sample,TSS,12,mg/L,,slip 1,,,\n2025-07-11,Outfall 1,sample,TSS,12,mg/L,,slip 2,,,\n2025-07-11,Outfall 1,sample,TSS,<5,mg/L,,slip 3,,,composite\n",
    );
    assert_eq!(timeline.samples.len(), 3);
    assert_eq!(timeline.samples[2].kind.as_deref(), Some("composite"));
}

/// The mean of 12, <5 and <5 lies between 4.0 and 7.3; leaving the text cells out would make it 12.
#[test]
fn text_cells_below_a_limit_are_not_skipped() {
    let timeline = good_rows(
        "2025-07-11,Outfall 1,sample,TSS,12,mg/L,,a,,,\n2025-07-12,Outfall 1,sample,TSS,<5,mg/L,,b,,,\n2025-07-13,Outfall 1,sample,TSS,5,mg/L,<,c,,,\n",
    );
    let values: Vec<_> = timeline.samples.iter().map(|sample| (sample.value.as_deref(), sample.qualifier)).collect();
    assert_eq!(values, [(Some("12"), Qualifier::None), (Some("5"), Qualifier::Below), (Some("5"), Qualifier::Below)]);
}

#[test]
fn a_blank_result_is_neither_zero_nor_a_pass() {
    let timeline = good_rows(
        "2025-07-11,Outfall 1,sample,TSS,,mg/L,,slip 1,,,\n2025-07-12,Outfall 1,sample,TSS,lost,,,slip 2,,,\n",
    );
    let [lost] = &timeline.samples[..] else { panic!("{:?}", timeline.samples) };
    assert_eq!((lost.value.as_deref(), lost.day), (None, date("2025-07-12")));
    assert_eq!(timeline.repairs.len(), 2);
    assert!(told("2025-07-11,Outfall 1,sample,TSS,ND,mg/L,,,,,\n")[0].contains("without the limit it is below"));
}

#[test]
fn a_dash_on_a_slip_says_that_no_sample_was_taken_and_not_that_one_was_lost() {
    let timeline = good_rows(
        "2025-07-11,Outfall 1,sample,TSS,-,mg/L,,slip 1,,,\n2025-07-12,Outfall 1,sample,TSS,n/a,,,slip 2,,,\n2025-07-13,Outfall 1,sample,TSS,void,,,slip 3,,,\n",
    );
    let days: Vec<_> = timeline.samples.iter().map(|sample| sample.day).collect();
    assert_eq!(days, [date("2025-07-13")], "only a void sample was taken");
    let told: Vec<_> = timeline.repairs.iter().map(|repair| repair.sentence.as_str()).collect();
    assert_eq!(
        told,
        [
            "Outfall 1, tss: 2 rows without a value, the first of 2025-07-11: no sample was taken; it is not zero",
            "Outfall 1, tss, 2025-07-13: the result is void; it is not zero and counts for nothing",
        ]
    );
}

#[test]
fn milligrams_and_micrograms_must_be_said() {
    assert!(told("2025-07-11,Outfall 1,sample,copper,12,,,,,,\n")[0].contains("mg/L and ug/L differ a thousandfold"));
    assert_eq!(good_rows("2025-07-11,Outfall 1,sample,pH,6.8,,,,,,\n").samples[0].parameter, "pH");
}

#[test]
fn a_result_received_before_it_was_taken_is_told() {
    assert!(told("2025-03-14,Outfall 1,sample,TSS,47,mg/L,,,2025-03-04,,\n")[0].contains("before it was taken"));
}

#[test]
fn a_look_before_the_day_starts_belongs_to_the_day_before() {
    let timeline = good_rows("2025-08-14 06:30,Outfall 1,look,,dry,,,,,,\n2025-08-14,Outfall 1,look,,dry,,,,,,\n");
    let days: Vec<_> = timeline.looks.iter().map(|look| look.day).collect();
    assert_eq!(days, [date("2025-08-13"), date("2025-08-14")]);
    assert_eq!(timeline.looks[0].at, PlaceId(OUTFALL));
}

#[test]
fn same_repeats_what_stands_above_and_is_told() {
    let timeline =
        good_rows("2025-08-11,Storage pond,level,,6.6,ft,,,,,\n2025-08-12,Storage pond,level,,same,ft,,,,,\n");
    assert_eq!(timeline.levels[1].value, "6.6");
    assert!(timeline.repairs.iter().any(|repair| { repair.sentence.contains("taken as what stands above it, 6.6") }));
    assert!(told("2025-08-12,Storage pond,level,,same,ft,,,,,\n")[0].contains("nothing above it to repeat"));
}

#[test]
fn records_of_a_place_that_was_removed_do_not_apply() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::create_dir(folder.path().join("records")).unwrap();
    std::fs::write(folder.path().join("records/a.csv"), "date,place,what,value,unit\n2025-07-11,Old drum,washes,9,\n")
        .unwrap();
    let mut sources = crate::files::Sources::new(folder.path());
    let problems = crate::told::Problems::new();
    let timeline = crate::records::read_without(&facility(), &["Old drum".into()], &mut sources, &problems);
    assert!(problems.is_empty() && timeline.observations.is_empty());
    assert_eq!(timeline.repairs[0].sentence, "Old drum is not there in this case: 1 record left out");
}

#[test]
fn a_table_that_is_not_records_says_so_and_names_the_command() {
    let (_, problems) = read_files(&facility(), &[("log.csv", b"day,gal\n1,2\n")]);
    let told = problems.in_order();
    let wrong = told.iter().find(|problem| problem.message.contains("not a table of records")).unwrap();
    assert!(wrong.hint.as_deref().unwrap().contains("bywash sheet \"records/log.csv\""));
}

#[test]
fn a_column_that_is_not_known_is_told_and_not_silently_dropped() {
    let (timeline, problems) = read_files(
        &facility(),
        &[("a.csv", b"date,place,what,value,unit,vlaue\n2025-07-11,M3 wash,reading,5,gal,7\n")],
    );
    assert_eq!(timeline.observations.len(), 1);
    assert!(problems.in_order()[0].message.contains("`vlaue` is not read"));
    assert!(!problems.has_errors());
}

#[test]
fn a_mistyped_year_is_told_before_it_decides_what_is_overdue() {
    let rows = "2025-07-11,Outfall 1,look,,dry,,,,,,\n2025-07-12,Outfall 1,look,,dry,,,,,,\n2025-07-13,Outfall 1,look,,dry,,,,,,\n2025-07-14,Outfall 1,look,,dry,,,,,,\n2052-07-15,Outfall 1,look,,dry,,,,,,\n";
    let (_, problems) = read_rows(&facility(), rows);
    let told = problems.in_order();
    assert_eq!(told.len(), 1, "{told:?}");
    assert_eq!(
        (told[0].place.line, told[0].message.as_str()),
        (6, "2052-07-15 is more than a year from all other records")
    );
    assert!(!problems.has_errors());
}
