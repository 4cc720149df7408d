//! Meters: spans, days, rollover, exchange, multipliers.

use approx::assert_relative_eq;

use super::fixture::{BEDS, date, facility, good_rows, read_rows, told};
use crate::facility::model::PlaceId;

const GALLON_M3: f64 = 3.785_411_784e-3;

/// 427,920 − 412,880 = 15,040 gal over the days of the 11th, 12th and 13th: the reading at 07:00 on the 14th closes the
/// 13th.
#[test]
fn a_reading_over_a_weekend_is_one_span_of_three_days() {
    let timeline = good_rows(
        "2025-07-11 07:00,M3 wash,reading,,412880,gal,,wash sheet 28,,JM,\n\
         2025-07-14 07:00,M3 wash,reading,,427920,gal,,wash sheet 28,,JM,three days since the last\n",
    );
    let [span] = &timeline.meter_spans[..] else { panic!("{:?}", timeline.meter_spans) };
    assert_eq!((span.first_day, span.days, span.on_the_day), (date("2025-07-11"), 3, true));
    assert_eq!((span.counts.as_str(), span.unit.as_str()), ("15040", "gal"));
    assert_relative_eq!(span.volume_m3, 15_040.0 * GALLON_M3, max_relative = 1e-14);
    assert_eq!(span.before.as_ref().unwrap().place.line, 2);
    assert_eq!(span.after.paper.as_deref(), Some("wash sheet 28"));
    let days = timeline.meter_days(&facility(), 2, date("2025-07-10"), 5);
    assert!(days[0].is_none() && days[4].is_none());
    for day in days[1..4].iter().map(|day| day.as_ref().unwrap()) {
        assert!(!day.metered);
        assert_eq!(day.low_m3, 0.0);
        assert_relative_eq!(day.middle_m3, 15_040.0 / 3.0 * GALLON_M3, max_relative = 1e-12);
        assert_relative_eq!(day.high_m3, 15_040.0 * GALLON_M3, max_relative = 1e-12);
    }
}

#[test]
fn a_reading_every_morning_is_metered_day_by_day() {
    let timeline =
        good_rows("2025-07-11 07:00,M3 wash,reading,,1000,,,,,,\n2025-07-12 07:00,M3 wash,reading,,3000,,,,,,\n");
    let day = timeline.meter_days(&facility(), 2, date("2025-07-11"), 1).remove(0).unwrap();
    assert!(day.metered);
    assert_eq!((day.low_m3, day.high_m3), (day.middle_m3, day.middle_m3));
    assert_relative_eq!(day.middle_m3, 2000.0 * GALLON_M3, max_relative = 1e-14);
}

/// Read at noon: the day of the 12th (07:00 to 07:00) is met by two spans of 2,400 and 4,800 gal and lies within
/// neither: from 0 to 7,200 gal; evenly 5/24 × 2,400 + 19/24 × 4,800 = 500 + 3,800 = 4,300.
#[test]
fn readings_off_the_day_s_start_keep_the_day_as_an_interval() {
    let timeline = good_rows(
        "2025-07-11 12:00,M3 wash,reading,,1000,,,,,,\n2025-07-12 12:00,M3 wash,reading,,3400,,,,,,\n2025-07-13 12:00,M3 wash,reading,,8200,,,,,,\n",
    );
    assert!(timeline.meter_spans.iter().all(|span| !span.on_the_day && span.days == 2));
    let day = timeline.meter_days(&facility(), 2, date("2025-07-12"), 1).remove(0).unwrap();
    assert!(!day.metered);
    assert_relative_eq!(day.low_m3, 0.0);
    assert_relative_eq!(day.middle_m3, 4300.0 * GALLON_M3, max_relative = 1e-12);
    assert_relative_eq!(day.high_m3, 7200.0 * GALLON_M3, max_relative = 1e-12);
}

#[test]
fn a_reading_ten_minutes_late_still_closes_the_day_and_that_is_told() {
    let timeline =
        good_rows("2025-07-11 06:55,M3 wash,reading,,1000,,,,,,\n2025-07-12 07:10,M3 wash,reading,,3000,,,,,,\n");
    assert!(timeline.meter_spans[0].on_the_day);
    assert_eq!((timeline.meter_spans[0].first_day, timeline.meter_spans[0].days), (date("2025-07-11"), 1));
    assert!(timeline.repairs.iter().any(|repair| { repair.sentence.contains("2 readings taken within 30 minutes") }));
}

/// 6-digit register of m³: 999,950 → 000,130 is 180 m³ and not −999,820.
#[test]
fn meter_rollover_counts_180_and_is_listed_as_a_repair() {
    let timeline = good_rows(
        "2025-03-01,M5 sewer,reading,,999400,m3,,,,,\n2025-03-02,M5 sewer,reading,,999600,m3,,,,,\n2025-03-03,M5 sewer,reading,,999780,m3,,,,,\n2025-03-04,M5 sewer,reading,,999950,m3,,,,,\n2025-03-05,M5 sewer,reading,,000130,m3,,,,,\n",
    );
    let last = timeline.meter_spans.last().unwrap();
    assert_eq!(last.counts, "180");
    assert_relative_eq!(last.volume_m3, 180.0);
    let told: Vec<&str> = timeline.repairs.iter().map(|repair| repair.sentence.as_str()).collect();
    assert!(
        told.contains(&"M5 sewer rolled over between 999950 (2025-03-04) and 130 (2025-03-05): 180 counts of m3"),
        "{told:?}"
    );
}

#[test]
fn a_meter_that_goes_back_names_both_lines() {
    let told = told(
        "2025-03-01,M5 sewer,reading,,503100,,,,,,\n2025-03-02,M5 sewer,reading,,503280,,,,,,\n2025-03-03,M5 sewer,reading,,503460,,,,,,\n2025-03-04,M5 sewer,reading,,503640,,,,,,\n2025-03-05,M5 sewer,reading,,12,,,,,,\n",
    );
    assert_eq!(told.len(), 1, "{told:?}");
    assert!(told[0].starts_with("6:30: M5 sewer goes back, from 503640 to 12 [5: 503640 on 2025-03-04]"), "{told:?}");
    assert!(told[0].contains("exchanged, `503640 to 0`"), "{told:?}");
}

/// 884,210 − 884,000 = 210 on the old one, 95 − 12 = 83 on the new one: 293 counts of 10 gal.
#[test]
fn an_exchange_among_the_records_counts_both_registers() {
    let timeline = good_rows(
        "2025-03-10,M4 loop,reading,,884000,,,,,,\n2025-03-11,M4 loop,exchanged,,884210 to 12,,,,,,\n2025-03-12,M4 loop,reading,,95,,,,,,\n",
    );
    assert_eq!(timeline.meter_spans[0].counts, "293");
    assert_relative_eq!(timeline.meter_spans[0].volume_m3, 2930.0 * GALLON_M3, max_relative = 1e-14);
    assert!(timeline.repairs.iter().any(|repair| repair.sentence.starts_with("M4 loop was exchanged between")));
}

/// The new dial in another unit than the meter counts in: taken as it stands, ten times too little or too much; and of which
/// of the two dials the unit is, nobody says.
#[test]
fn an_exchange_in_another_unit_than_the_dial_s_is_refused_unless_it_says_what_the_new_one_counts_in() {
    let told = told("2025-03-10,M4 loop,reading,,884000,,,,,,\n2025-03-11,M4 loop,exchanged,,884210 to 12,m3,,,,,\n");
    assert!(told[0].contains("`m3` is not what M4 loop counts in"), "{told:?}");
    assert!(told[0].contains("write `884210 to 12, counts in m3`"), "{told:?}");
}

/// 1,526 and 152.6 m³ are one: (462,375 − 460,849) × 0.1 + (94 − 3) × 1 = 152.6 + 91 = 243.6 m³ over the exchange.
#[test]
fn a_meter_counts_in_another_unit_from_its_exchange_on() {
    let mut site = facility();
    let meter = &mut site.meters[4];
    (meter.counts_in, meter.one_count_m3) = ("0.1 m3".into(), 0.1);
    let rows = "2025-03-10,M5 sewer,reading,,460000,,,,,,\n2025-03-11,M5 sewer,reading,,460849,0.1 m3,,,,,\n\
                2025-03-12,M5 sewer,exchanged,,\"462375 to 3, counts in m3\",,,,,,\n\
                2025-03-13,M5 sewer,reading,,94,,,,,,\n2025-03-14,M5 sewer,reading,,165,m3,,,,,\n";
    let (timeline, problems) = read_rows(&site, rows);
    assert!(problems.is_empty(), "{:#?}", problems.in_order());
    let spans: Vec<(&str, &str, f64)> =
        timeline.meter_spans.iter().map(|span| (span.counts.as_str(), span.unit.as_str(), span.volume_m3)).collect();
    let [one, over, after] = spans.as_slice() else { panic!("{spans:?}") };
    assert_eq!((one.0, one.1), ("849", "0.1 m3"));
    assert_eq!((over.0, over.1), ("243.6", "m3"));
    assert_eq!((after.0, after.1), ("71", "m3"));
    assert_relative_eq!(one.2 + over.2 + after.2, 84.9 + 243.6 + 71.0, max_relative = 1e-12);
    let told: Vec<&str> = timeline.repairs.iter().map(|repair| repair.sentence.as_str()).collect();
    let expected = "M5 sewer was exchanged between 460849 (2025-03-11) and 94 (2025-03-13); the old one came out at 462375, \
                    counting in 0.1 m3, the new one went in at 3, counting in m3: 243.6 counts of m3";
    assert!(told.contains(&expected), "{told:#?}");
    // After the exchange the old unit is refused, and the same where the facility's file tells the exchange.
    let rows = rows.replace("165,m3", "165,0.1 m3");
    let (_, problems) = read_rows(&site, &rows);
    let told: Vec<String> = problems.in_order().iter().map(|problem| problem.message.clone()).collect();
    assert_eq!(told, ["`0.1 m3` is not what M5 sewer counts in on 2025-03-14"]);
}

/// The eye was iced for two days; its dial stood, water was seen, and a bucket measured 36 and 18 m³.
#[test]
fn amounts_typed_for_days_on_which_a_meter_stood_beside_water_are_used_once() {
    let rows = "2025-01-21 07:00,M5 sewer,reading,,600,,,,,,\n2025-01-22 07:00,M5 sewer,reading,,650,,,,,,\n\
                2025-01-23 07:00,M5 sewer,reading,,650,,,,,,\n2025-01-24 07:00,M5 sewer,reading,,650,,,,,,\n\
                2025-01-25 07:00,M5 sewer,reading,,700,,,,,,\n\
                2025-01-22 12:00,Outfall 1,look,,flowing,,,,,,\n2025-01-23 12:00,Outfall 1,look,,flowing,,,,,,\n\
                2025-01-22,M5 sewer,amount,,36,m3,estimated,letter,,,\n2025-01-23,M5 sewer,amount,,18,m3,estimated,letter,,,\n\
                2025-01-24,M5 sewer,amount,,49,m3,estimated,letter,,,\n";
    let timeline = good_rows(rows);
    let volume: f64 = timeline.meter_spans.iter().map(|span| span.volume_m3).sum();
    // 50 before, 36 and 18 from the bucket, 50 by the dial on the 24th, where the amount is not counted too.
    assert_relative_eq!(volume, 50.0 + 36.0 + 18.0 + 50.0, max_relative = 1e-12);
    let told: Vec<&str> = timeline.repairs.iter().map(|repair| repair.sentence.as_str()).collect();
    let used = "M5 sewer: 2 amounts typed for days from 2025-01-22 to 2025-01-23 on which it counted nothing while water was \
                seen: used in its place";
    assert!(told.contains(&used), "{told:#?}");
    assert!(told.iter().any(|told| told.contains("1 amount typed for days that its readings cover too")), "{told:#?}");
    // Without a look nobody saw water: the dial says that nothing passed.
    let dry: String = rows.lines().filter(|line| !line.contains("look")).map(|line| format!("{line}\n")).collect();
    let volume: f64 = good_rows(&dry).meter_spans.iter().map(|span| span.volume_m3).sum();
    assert_relative_eq!(volume, 100.0, max_relative = 1e-12);
}

/// `out 650`: 50 until there; then 40 of an amount; from the new one's 3 on 20 m³.
#[test]
fn a_dial_told_as_out_and_as_new_closes_and_opens_what_was_metered() {
    let mut site = facility();
    site.meters[4].exchanged.push(crate::facility::model::MeterExchange {
        on: date("2025-03-14"),
        old_read: 650.0,
        new_read: 3.0,
        counts_in: None,
        digits: None,
        place: crate::told::Place::file("facility.yaml"),
    });
    let rows = "2025-03-11 07:00,M5 sewer,reading,,600,,,,,,\n2025-03-12 07:00,M5 sewer,reading,,out 650,,,,,,\n\
                2025-03-13 07:00,M5 sewer,reading,,-,,,,,,\n2025-03-14 07:00,M5 sewer,reading,,new 00003,,,,,,\n\
                2025-03-15 07:00,M5 sewer,reading,,00023,,,,,,\n2025-03-12,M5 sewer,amount,,40,m3,estimated,,,,\n";
    let (timeline, problems) = read_rows(&site, rows);
    assert!(problems.is_empty(), "{:#?}", problems.in_order());
    let spans: Vec<&str> = timeline.meter_spans.iter().map(|span| span.counts.as_str()).collect();
    assert_eq!(spans, ["50", "40", "20"]);
    // An exchange that nobody told is asked for.
    let told = told(rows);
    assert!(told.iter().any(|told| told.contains("`new 00003` says that M5 sewer was exchanged")), "{told:#?}");
}

/// 24,837.5, then 250501 for 25,050.1: told the first time, though it fits the register.
#[test]
fn a_dial_that_lost_its_point_is_asked_about() {
    let told = told(
        "2025-03-01,M5 sewer,reading,,2483.1,,,,,,\n2025-03-02,M5 sewer,reading,,2483.6,,,,,,\n2025-03-03,M5 sewer,reading,,24840,,,,,,\n2025-03-04,M5 sewer,reading,,2484.5,,,,,,\n",
    );
    let expected = "has 24840 lost its point? It would run on as 2484.0";
    assert!(told.iter().any(|told| told.contains(expected)), "{told:#?}");
}

/// 3 counts of 100 ft³ = 300 × 0.028316846592 m³.
#[test]
fn a_count_of_a_hundred_cubic_feet_is_not_one_cubic_foot() {
    let timeline =
        good_rows("2025-03-10,M2 town,reading,,001200,,,,,,\n2025-03-11,M2 town,reading,,001203,100 ft3,,,,,\n");
    assert_relative_eq!(timeline.meter_spans[0].volume_m3, 300.0 * 0.028_316_846_592, max_relative = 1e-14);
}

#[test]
fn a_reading_in_another_unit_than_the_dial_s_is_refused() {
    let told = told("2025-03-10,M4 loop,reading,,412880,gal,,,,,\n");
    assert!(told[0].contains("`gal` is not what M4 loop counts in [1: it counts in x10 gal]"), "{told:?}");
}

/// 40 gpm for 3 min is 120 gal: an amount is typed as a volume, and a flow in its place is refused rather than read as
/// one of them.
#[test]
fn gallons_a_minute_and_gallons_an_hour_cannot_be_typed_as_an_amount() {
    for unit in ["gpm", "gph"] {
        let told = told(&format!("2025-03-10,M3 wash,amount,,40,{unit},,,,,\n"));
        assert!(told[0].contains("measures a flow"), "{told:?}");
    }
    let timeline = good_rows("2025-03-10,M3 wash,amount,,120,gal,,,,,\n");
    // 120 × 3.785411784 L = 454.2 L.
    assert_relative_eq!(timeline.meter_spans[0].volume_m3, 0.454_249_414_08, max_relative = 1e-12);
}

/// 500 gal is 1.893 m³ if US and 2.273 if imperial.
#[test]
fn imperial_gallons_are_refused_by_name_and_gal_is_us() {
    assert!(told("2025-03-10,M3 wash,amount,,500,imp gal,,,,,\n")[0].contains("imperial gallons are not read"));
    let timeline = good_rows("2025-03-10,M3 wash,amount,,500,gal,,,,,\n");
    assert_relative_eq!(timeline.meter_spans[0].volume_m3, 1.892_705_892, max_relative = 1e-12);
}

#[test]
fn off_is_an_amount_of_zero_and_a_blank_is_not() {
    let timeline = good_rows("2025-03-10,M3 wash,amount,,off,,,,,,\n2025-03-11,M3 wash,amount,,,gal,,,,,\n");
    assert_eq!(timeline.meter_spans.len(), 1);
    assert_eq!(timeline.meter_spans[0].volume_m3, 0.0);
    let days = timeline.meter_days(&facility(), 2, date("2025-03-10"), 2);
    assert!(days[0].as_ref().unwrap().metered && days[1].is_none());
    assert!(timeline.repairs.iter().any(|repair| repair.sentence.contains("it is not zero")));
}

#[test]
fn two_sources_for_one_meter_are_told_and_not_added() {
    let timeline = good_rows(
        "2025-07-11,M3 wash,reading,,1000,,,,,,\n2025-07-12,M3 wash,reading,,3000,,,,,,\n2025-07-11,M3 wash,amount,,1990,gal,,,,,\n",
    );
    assert_eq!(timeline.meter_spans.len(), 1);
    assert!(timeline.repairs.iter().any(|repair| repair.sentence.contains("two sources for one thing")));
}

/// 5,000 gal from the 12th on, of which readings cover the 12th alone: the days that are then not known are named.
#[test]
fn an_amount_that_readings_cover_in_part_names_the_days_that_are_lost() {
    let amount = |rows: &str| {
        let text = "2025-07-11,M3 wash,reading,,1000,,,,,,\n2025-07-12,M3 wash,reading,,,,,,,,\n2025-07-13,M3 wash,reading,,3000,,,,,,\n";
        let timeline = good_rows(&format!("{text}{rows}"));
        assert_eq!(timeline.meter_spans.len(), 1);
        timeline.repairs.iter().map(|repair| repair.sentence.clone()).collect::<Vec<_>>().join("\n")
    };
    let told = amount("2025-07-12,M3 wash,amount,,990,gal,,,,,\n");
    assert!(told.contains("two sources for one thing") && !told.contains("then not known"), "{told}");
    let told = amount(
        "2025-07-11,M3 wash,amount,,10,gal,,,,,\n2025-07-15,M3 wash,amount,,5000,gal,,,,,since the last count\n",
    );
    assert!(told.contains("days that no reading covers (2025-07-13 to 2025-07-14) is then not known"), "{told}");
}

/// 9 washes since the reading on the 11th: the 11th, 12th and 13th, three a day if even.
#[test]
fn washes_since_the_last_reading_cover_the_days_since_it() {
    let timeline = good_rows(
        "2025-07-11 07:00,M3 wash,reading,,412880,gal,,,,JM,\n2025-07-14 07:00,M3 wash,reading,,427920,gal,,,,JM,\n2025-07-14,Sand beds,washes,,9,,,wash sheet 28,,JM,since the last reading\n2025-07-14,Sand beds,wash minutes,,72,min,,,,,\n",
    );
    let [wash] = &timeline.washes[..] else { panic!("{:?}", timeline.washes) };
    assert_eq!((wash.first_day, wash.days, wash.count, wash.minutes), (date("2025-07-11"), 3, 9, Some(72.0)));
    let days = timeline.wash_days(PlaceId(BEDS), false, date("2025-07-11"), 4);
    let shares: Vec<_> =
        days.iter().map(|day| day.as_ref().map(|day| (day.count, day.low, day.high, day.logged))).collect();
    assert_eq!(shares, [Some((3, 0, 9, false)), Some((3, 0, 9, false)), Some((3, 0, 9, false)), None]);
}

#[test]
fn a_count_split_over_days_sums_up_to_the_count() {
    let timeline = good_rows(
        "2025-07-10,Sand beds,washes,,2,,,,,,\n2025-07-14,Sand beds,washes,,10,,,,,,since the last\n2025-07-15,Sand beds,washes,,0,,,,,,\n",
    );
    let days = timeline.wash_days(PlaceId(BEDS), false, date("2025-07-10"), 6);
    let counts: Vec<u32> = days.iter().flatten().map(|day| day.count).collect();
    // The 10th holds its own 2; 10 washes on the 11th, 12th and 13th split as 3, 3 and 4.
    assert_eq!(counts, [2, 3, 3, 4, 0]);
    assert_eq!(days[5].as_ref().map(|day| (day.count, day.logged)), Some((0, true)));
    assert!(days[4].is_none(), "the 14th itself was not logged");
}

/// The counter was not read on the 11th, so the 6 of the 12th are since the 10th.
#[test]
fn a_count_since_the_last_goes_back_over_a_row_on_which_nothing_was_read() {
    let timeline = good_rows(
        "2025-07-10 07:00,Sand beds,washes,,2,,,,,,since the last\n2025-07-11 07:00,Sand beds,washes,,,,,,,,since the last\n2025-07-12 07:00,Sand beds,washes,,6,,,,,,since the last\n2025-07-12 07:00,Sand beds,wash minutes,,48,,,,,,\n2025-07-10 07:00,Sand beds,wash minutes,,16,,,,,,\n",
    );
    let [wash] = &timeline.washes[..] else { panic!("{:?}", timeline.washes) };
    assert_eq!((wash.first_day, wash.days, wash.count, wash.minutes), (date("2025-07-10"), 2, 6, Some(48.0)));
}

/// A meter that is out counts nothing while water may pass: what passed until it is read again is not zero.
#[test]
fn what_passes_a_meter_that_is_out_is_not_known() {
    let timeline = good_rows(
        "2025-07-11 07:00,M3 wash,reading,,1000,,,,,,\n2025-07-12 07:00,M3 wash,reading,,3000,,,,,,\n\
         2025-07-13 07:00,M3 wash,reading,,out,,,,,,\n2025-07-14 07:00,M3 wash,reading,,3000,,,,,,\n\
         2025-07-15 07:00,M3 wash,reading,,3500,,,,,,\n",
    );
    let counts: Vec<&str> = timeline.meter_spans.iter().map(|span| span.counts.as_str()).collect();
    assert_eq!(counts, ["2000", "500"]);
    let days = timeline.meter_days(&facility(), 2, date("2025-07-12"), 2);
    assert!(days.iter().all(Option::is_none), "{days:?}");
    assert!(timeline.repairs.iter().any(|repair| repair.sentence.contains("was not counted and is not known")));
}

/// A meter that counts nothing while water is seen is not believed: told once for all its spans, and none where it moved.
#[test]
fn a_meter_that_stands_while_water_is_seen_is_not_believed() {
    let rows = |last: &str, seen: &str| {
        format!(
            "2025-07-11 07:00,M5 sewer,reading,,100,,,,,,\n2025-07-12 07:00,M5 sewer,reading,,100,,,,,,\n\
             2025-07-13 07:00,M5 sewer,reading,,{last},,,,,,\n{seen}"
        )
    };
    let flowing = |at: &str| format!("{at},Outfall 1,look,,flowing,,,,,,\n");
    let both = format!("{}{}", flowing("2025-07-11 09:00"), flowing("2025-07-12 09:00"));
    let stood = told(&rows("100", &both));
    assert_eq!(stood.len(), 1, "{stood:#?}");
    assert!(stood[0].contains("Outfall 1 was seen flowing on 2025-07-11, and `M5 sewer` counted nothing"), "{stood:?}");
    assert!(stood[0].contains("; 1 more span likewise"), "{stood:?}");
    assert!(told(&rows("110", &both))[0].contains("seen flowing on 2025-07-11, and"));

    let believed = |text: &str| {
        let (timeline, _) = read_rows(&facility(), text);
        timeline.meter_spans.iter().map(|span| span.from.date().to_string()).collect::<Vec<_>>()
    };
    assert_eq!(believed(&rows("100", "")), ["2025-07-11", "2025-07-12"]);
    assert_eq!(believed(&rows("110", &flowing("2025-07-11 09:00"))), ["2025-07-12"]);
    // At the very minute of a reading either span may be the one that stood.
    assert_eq!(believed(&rows("100", &flowing("2025-07-12 07:00"))).len(), 0);
    assert_eq!(believed(&rows("110", &flowing("2025-07-12 07:00"))).len(), 2);
    // A day whose hour is not on file is counted from its start to its end before the meter is doubted.
    assert_eq!(believed(&rows("100", &flowing("2025-07-12"))).len(), 0);
    assert_eq!(believed(&rows("110", &flowing("2025-07-12"))).len(), 2);
    // Before the first reading and after the last nothing was counted.
    assert_eq!(believed(&rows("100", &flowing("2025-07-13 07:00"))).len(), 2);
    // Somebody looked at the meter as well.
    assert_eq!(
        believed(&rows("100", "2025-07-11 09:00,Outfall 1,look,,flowing,,,,,,a trickle; meter checked\n")).len(),
        2
    );
    // A sample is water too.
    assert_eq!(believed(&rows("100", "2025-07-11 09:00,Outfall 1,sample,TSS,12,mg/L,,,,,\n")), ["2025-07-12"]);
}
