//! Loads that a permit works out by months: the mean of a month's results times the month's flow, added up.

#![cfg(test)]

mod rules_support;

use bywash::rules::{Finding, FindingKind, Outcome};
use rules_support::{COUNTING, Site, read_rules};

const YEAR: (&str, &str) = ("2024-11-01", "2025-10-31");

/// Nothing to 1 March, 100,000 gal in March, 200,000 gal in April, nothing after it.
const METER: &str = "2024-11-01 07:00,M1 out,reading,,0,gal,,,,,\n2025-03-01 07:00,M1 out,reading,,0,gal,,,,,\n\
    2025-04-01 07:00,M1 out,reading,,100000,gal,,,,,\n2025-05-01 07:00,M1 out,reading,,300000,gal,,,,,\n\
    2025-11-01 07:00,M1 out,reading,,300000,gal,,,,,\n";

fn limit(at_most: &str, more: &str) -> String {
    format!(
        "{COUNTING}limits:\n  P:\n    at: Outfall 1\n    parameter: total phosphorus\n    statistic: permit year total\n    \
         at most: {at_most} lb\n    load factor: 8.34\n    load of a month: the mean of its results times its flow\n{more}"
    )
}

fn slip(day: &str, value: &str) -> String {
    format!("{day} 09:00,Outfall 1,sample,total phosphorus,{value},mg/L,,slip,,,\n")
}

fn found(rules: &str, slips: &str) -> Finding {
    let mut site = Site::with(rules, &format!("{METER}{slips}"), "date,rain,unit\n", YEAR);
    site.as_of = rules_support::d("2025-12-01");
    site.judge().into_iter().find(|finding| finding.kind == FindingKind::Limit).expect("the limit")
}

const LAST: &str = "    a month without a result: the last result before it\n";
const MEAN: &str = "    a month without a result: the mean of the last month before it\n";

/// March: (0.4 + 0.6) ÷ 2 × 0.1 Mgal × 8.34 = 0.417 lb. April takes 0.6 mg/L: 0.6 × 0.2 × 8.34 = 1.0008 lb; or the mean of
/// March: 0.5 × 0.2 × 8.34 = 0.834 lb.
#[test]
fn a_month_s_mean_goes_with_its_flow_and_a_month_without_a_result_takes_what_the_permit_says() {
    let slips = slip("2025-03-04", "0.4") + &slip("2025-03-18", "0.6");
    for (carry, sum, under) in [(LAST, "1.4178", "1.4177"), (MEAN, "1.251", "1.2509")] {
        assert_eq!(found(&limit(sum, carry), &slips).outcome, Outcome::Met, "{sum}");
        assert_eq!(found(&limit(under, carry), &slips).outcome, Outcome::Exceeded, "{under}");
    }
    // Where the permit says nothing of April, March alone can show it over.
    assert_eq!(found(&limit("0.4169", ""), &slips).outcome, Outcome::Exceeded);
    let open = found(&limit("5", ""), &slips);
    assert_eq!(open.outcome, Outcome::NotShown);
    assert!(open.missing.iter().any(|one| one.sentence.contains("Apr 2025")), "{:?}", open.missing);
}

/// Below 0.2 counts as zero: (0.4 + 0) ÷ 2 × 0.1 × 8.34 = 0.1668 lb, and April takes the last result, zero.
#[test]
fn a_result_below_detection_counts_in_the_mean_as_the_permit_says() {
    let slips = slip("2025-03-04", "0.4") + &slip("2025-03-18", "<0.2");
    assert_eq!(found(&limit("0.1668", LAST), &slips).outcome, Outcome::Met);
    assert_eq!(found(&limit("0.1667", LAST), &slips).outcome, Outcome::Exceeded);
}

/// Water over a month's edge may be either month's: 100,000 gal of mean 0.4 or 1.2 mg/L, 0.3336 to 1.0008 lb.
#[test]
fn water_over_the_edge_of_a_month_leaves_the_load_between_both() {
    let meter = "2024-11-01 07:00,M1 out,reading,,0,gal,,,,,\n2025-03-20 07:00,M1 out,reading,,0,gal,,,,,\n\
        2025-04-10 07:00,M1 out,reading,,100000,gal,,,,,\n2025-11-01 07:00,M1 out,reading,,100000,gal,,,,,\n";
    let slips = slip("2025-03-25", "0.4") + &slip("2025-04-05", "1.2");
    let outcome = |bound: &str| {
        let mut site = Site::with(&limit(bound, LAST), &format!("{meter}{slips}"), "date,rain,unit\n", YEAR);
        site.as_of = rules_support::d("2025-12-01");
        site.judge().into_iter().find(|finding| finding.kind == FindingKind::Limit).expect("the limit").outcome
    };
    // Each month may have had all of it, and neither is told of the other: at most 0.3336 + 1.0008 lb.
    assert_eq!(outcome("1.3344"), Outcome::Met);
    assert_eq!(outcome("0.5"), Outcome::NotShown);
}

#[test]
fn months_are_of_loads_that_are_added_up_over_months_or_a_year() {
    let rules = limit("5", LAST);
    for (from, to) in [("permit year total", "weekly total"), ("permit year total", "permit year average")] {
        let (_, told) = read_rules(&rules.replace(from, to));
        assert!(told.contains("`load of a month` does nothing for"), "{told}");
    }
    let (_, told) = read_rules(&rules.replace("    load of a month: the mean of its results times its flow\n", ""));
    assert!(told.contains("`a month without a result` does nothing for"), "{told}");
}
