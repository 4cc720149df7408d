//! Heads over a weir: the volume of a day, how long a reading stands, what is not known; letters of a sheet.

use chrono::NaiveDate;

use super::fixture::{OUTFALL, facility, read_rows};
use crate::facility::model::{Facility, HeadStands, MeterWeir, Rating, Weir};
use crate::quantity::units::named;
use crate::records::read_back;

/// The meter M5 as a weir with the permit's own rating, Q = 2.5 H^2.5 in cfs and ft, on the way to the outfall.
fn weir(stands: HeadStands) -> Facility {
    let (flow_in, head_in) = (named("cfs").unwrap(), named("ft").unwrap());
    over(Rating::Typed { coefficient: 2.5, exponent: 2.5, flow_in, head_in }, stands)
}

fn over(rating: Rating, stands: HeadStands) -> Facility {
    let mut facility = facility();
    let meter = &mut facility.meters[4];
    meter.name = "Notch".into();
    meter.weir = Some(MeterWeir { rating, stands });
    (meter.counts_in, meter.one_count_m3) = ("gal".into(), 3.785_411_784e-3);
    facility
}

/// Day and whole gallons.
fn days(facility: &Facility, rows: &str) -> (Vec<(String, i64)>, Vec<String>) {
    let (timeline, problems) = read_rows(facility, rows);
    assert!(!problems.has_errors(), "{:#?}", problems.in_order());
    let gallons = |counts: &str| counts.parse::<f64>().unwrap().round() as i64;
    let spans = timeline.meter_spans.iter().map(|span| (span.first_day.to_string(), gallons(&span.counts)));
    (spans.collect(), timeline.repairs.into_iter().map(|repair| repair.sentence).collect())
}

fn said(days: &[(&str, i64)]) -> Vec<(String, i64)> {
    days.iter().map(|(day, gallons)| ((*day).to_owned(), *gallons)).collect()
}

/// By hand: one cfs is 646,317 gal a day. 3 in are 0.25 ft and 0.25^2.5 = 1/32: 2.5 / 32 × 646,317 = 50,494 gal. 1/4 in is
/// 1/48 ft: 2.5 × 0.0000626472 × 646,317 = 101 gal; 2 1/4 in, 0.1875 ft: 2.5 × 0.0152233 × 646,317 = 24,597.
#[test]
fn a_head_a_day_becomes_that_day_s_volume_and_a_day_without_one_stays_not_known() {
    let (spans, told) = days(
        &weir(HeadStands::ThatDay),
        "2023-04-04,Notch,head,,3,in,,,,,\n2023-04-05,Notch,head,,1/4,in,,,,,\n2023-04-06,Notch,head,,dry,,,,,,\n\
         2023-04-08,Notch,reading,,2 1/4 in,,,,,,\n2023-04-09,Notch,head,,,in,,,,,\n2023-04-10,Notch,head,,<1/4,in,,,,,\n",
    );
    let expected = [("2023-04-04", 50_494), ("2023-04-05", 101), ("2023-04-06", 0), ("2023-04-08", 24_597)];
    assert_eq!(spans, said(&expected));
    assert!(told.iter().any(|line| line.contains("without a head") && line.contains("2023-04-09")), "{told:?}");
    assert!(told.iter().any(|line| line.contains("tells no head") && line.contains("`<1/4`")), "{told:?}");
}

#[test]
fn a_reading_may_stand_until_the_next_or_for_the_day_before() {
    let rows = "2023-04-04,Notch,head,,3,in,,,,,\n2023-04-07,Notch,head,,0,in,,,,,\n";
    let (spans, told) = days(&weir(HeadStands::UntilTheNext), rows);
    let three = [("2023-04-04", 50_494), ("2023-04-05", 50_494), ("2023-04-06", 50_494), ("2023-04-07", 0)];
    assert_eq!(spans, said(&three));
    let (timeline, _) = read_rows(&weir(HeadStands::UntilTheNext), rows);
    let carried: Vec<bool> = timeline.meter_spans.iter().map(|span| span.carried).collect();
    assert_eq!(carried, [false, true, true, false]);
    let day = NaiveDate::from_ymd_opt(2023, 4, 4).unwrap();
    let read = timeline.meter_days(&weir(HeadStands::UntilTheNext), timeline.meter_spans[0].meter, day, 4);
    let metered: Vec<bool> = read.into_iter().map(|day| day.unwrap().metered).collect();
    assert_eq!(metered, [true, false, false, true]);
    assert!(told.iter().any(|line| line.contains("2 days without a reading of their own")), "{told:?}");
    let (spans, _) = days(&weir(HeadStands::TheDayBefore), rows);
    assert_eq!(spans, said(&[("2023-04-03", 50_494), ("2023-04-06", 0)]));
    // A weir that nobody reads any more does not run on.
    let rows = "2023-04-04,Notch,head,,3,in,,,,,\n2023-07-07,Notch,head,,0,in,,,,,\n";
    assert_eq!(days(&weir(HeadStands::UntilTheNext), rows).0.len(), 2);
}

/// 1 in is 0.083 ft, below the 0.2 ft from which the equation was tried; 6 in: 2.49 × 0.5^2.48 = 0.446319 cfs, 288,463 gal.
#[test]
fn a_head_outside_the_equation_s_range_shows_water_and_no_amount() {
    let facility = over(Rating::Shape(Weir::VNotch90), HeadStands::ThatDay);
    let rows = "2023-04-04,Notch,head,,1,in,,,,,\n2023-04-05,Notch,head,,6,in,,,,,\n";
    let (spans, told) = days(&facility, rows);
    assert_eq!(spans, said(&[("2023-04-05", 288_463)]));
    assert!(told.iter().any(|line| line.contains("water passed, and how much is not known")), "{told:?}");
    let (timeline, _) = read_rows(&facility, rows);
    let [look] = &timeline.looks[..] else { panic!("{:?}", timeline.looks) };
    assert!(look.flowing && look.at.0 == OUTFALL);
}

#[test]
fn two_heads_for_a_day_or_one_without_its_unit_are_refused() {
    let facility = weir(HeadStands::ThatDay);
    let told = |rows: &str| -> Vec<String> {
        read_rows(&facility, rows).1.in_order().into_iter().map(|problem| problem.message).collect()
    };
    let two = told("2023-04-04 07:00,Notch,head,,3,in,,,,,\n2023-04-04 16:00,Notch,head,,4,in,,,,,\n");
    assert_eq!(two, ["two heads of Notch for 2023-04-04"]);
    assert_eq!(told("2023-04-04,Notch,head,,3,,,,,,\n"), ["a head without its unit"]);
}

#[test]
fn a_weir_is_read_back_with_one_day_by_which_the_rest_may_be_worked() {
    let facility = weir(HeadStands::ThatDay);
    let (timeline, _) = read_rows(&facility, "2023-04-03,Notch,head,,0,in,,,,,\n2023-04-04,Notch,head,,3,in,,,,,\n");
    let line = read_back(&facility, &timeline).into_iter().find(|line| line.starts_with("Notch")).unwrap();
    assert!(
        line.contains("computed from the head of 2 days") && line.contains("3 in on 2023-04-04: 50494 gal"),
        "{line}"
    );
}
