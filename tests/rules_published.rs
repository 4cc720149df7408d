//! Definitions that rules and permits print, each with its source, held against the room.

#![cfg(test)]

mod rules_support;

use bywash::rules::{Finding, Outcome};
use rules_support::{COUNTING, Site, look, samples};

const MARCH: (&str, &str) = ("2025-03-01", "2025-03-31");

fn of(parameter: &str, statistic: &str, bound: &str, more: &str, rows: &str) -> Finding {
    let limit = format!(
        "  X:\n    at: Outfall 1\n    parameter: {parameter}\n    statistic: {statistic}\n    {bound}\n    sample: {{how often: once a month}}\n{more}"
    );
    Site::new(&limit, rows, MARCH).limit("X")
}

fn value(finding: &Finding) -> f64 {
    finding.windows[0].figure.as_ref().and_then(|figure| figure.value).expect("a value")
}

/// P061: 40 CFR 122.2, "average monthly discharge limitation": the sum of all daily discharges measured over the number
/// of daily discharges measured. Two samples of one day are one daily discharge first.
#[test]
fn the_monthly_average_divides_by_daily_discharges_measured() {
    let rows = samples("TSS", "mg/L", &[("2025-03-03", "10"), ("2025-03-17", "50")])
        + &samples("TSS", "mg/L", &[("2025-03-03", "30")]).replace("09:00", "15:00");
    let finding = of("TSS", "monthly average", "at most: 30 mg/L", "", &rows);
    assert_eq!(value(&finding), 35.0, "not 30, the mean of three samples, and not 70 over 31 days");
    assert_eq!(finding.windows[0].n, 2);
}

/// 40 CFR 122.2, "daily discharge", against a standard provision of California: the average over the day, or the greatest
/// of it.
#[test]
fn several_samples_in_a_day_are_their_average_or_their_highest_as_the_permit_says() {
    let rows = samples("TSS", "mg/L", &[("2025-03-03", "50")])
        + &samples("TSS", "mg/L", &[("2025-03-03", "70")]).replace("09:00", "15:00");
    let with = |rule: &str| {
        of("TSS", "daily maximum", "at most: 60 mg/L", &format!("    several samples in a day: {rule}\n"), &rows)
    };
    assert_eq!(with("average").outcome, Outcome::Met);
    assert_eq!(with("highest").outcome, Outcome::Exceeded);
    let open = with("not said");
    assert_eq!(open.outcome, Outcome::Exceeded);
    assert_eq!(open.other_answer, Some(("several samples in a day count by their average".to_owned(), Outcome::Met)));
}

/// 40 CFR 133.102: 30 mg/L over 30 days and 45 over 7 (P042, P043); a test fixture, no rule for a nursery.
#[test]
fn thirty_and_seven_day_averages_of_secondary_treatment() {
    let rows = samples(
        "TSS",
        "mg/L",
        &[("2025-03-03", "20"), ("2025-03-10", "20"), ("2025-03-17", "20"), ("2025-03-24", "46")],
    );
    assert_eq!(of("TSS", "monthly average", "at most: 30 mg/L", "", &rows).outcome, Outcome::Met);
    let week = of("TSS", "weekly average", "at most: 45 mg/L", "", &rows);
    assert_eq!((week.outcome, week.worst_when.as_deref()), (Outcome::Exceeded, Some("week of 23 Mar 2025")));
    let even = rows.replace(",46,", ",45,");
    assert_eq!(of("TSS", "weekly average", "at most: 45 mg/L", "", &even).outcome, Outcome::Met);
}

/// A federal region's permits: below the minimum level counts zero: 1, 2 and below it make 1 (quoted in a dictionary of
/// contract law, the permits not named).
#[test]
fn below_the_minimum_level_counts_zero_where_the_permit_says_so() {
    let rows = samples("copper", "mg/L", &[("2025-03-03", "1"), ("2025-03-10", "2"), ("2025-03-17", "<0.5")]);
    let finding = of("copper", "monthly average", "at most: 1 mg/L", "    below detection counts as: zero\n", &rows);
    assert_eq!((value(&finding), finding.outcome), (1.0, Outcome::Met));
    // A measured value under the level counts zero too.
    let measured = rows.replace(",0.5,mg/L,<,", ",0.4,mg/L,,");
    let more = "    quantitation level: 0.5 mg/L\n    between detection and quantitation counts as: zero\n";
    let finding = of("copper", "monthly average", "at most: 1 mg/L", more, &measured);
    assert_eq!((value(&finding), finding.outcome), (1.0, Outcome::Met));
}

/// Instructions of Oregon: between detection and quantitation the detection value counts; in a geometric mean half of the
/// detection limit (quoted by a third party).
#[test]
fn between_detection_and_quantitation_the_detection_value_counts_where_the_permit_says_so() {
    let rows = samples("copper", "mg/L", &[("2025-03-03", "4"), ("2025-03-10", "8"), ("2025-03-17", "<2")]);
    let more = "    detection limit: 2 mg/L\n    quantitation level: 5 mg/L\n    between detection and quantitation counts as: detection limit\n    below detection counts as: zero\n";
    let finding = of("copper", "monthly average", "at most: 30 mg/L", more, &rows);
    assert_eq!(value(&finding), 10.0 / 3.0, "(2 + 8 + 0) / 3");
    let geometric = of(
        "copper",
        "monthly geometric mean",
        "at most: 30 mg/L",
        "    below detection in a geometric mean counts as: half\n",
        &rows,
    );
    assert!((value(&geometric) - (4.0f64 * 8.0 * 1.0).cbrt()).abs() < 1e-12);
}

/// Questions and answers of New York: where `<` and `>` meet in one calculation `>` prevails, except for minimum limits.
/// The program's own rule is stricter: what is above a number has no counted value, so only what is sure decides.
#[test]
fn where_below_and_above_meet_the_figure_is_not_less_than_what_was_counted() {
    let rows = samples("coliform", "per 100 mL", &[("2025-03-03", "<2"), ("2025-03-10", ">1600")]);
    let more = "    below detection counts as: detection limit\n";
    let finding = of("coliform", "monthly average", "at most: 799 per 100 mL", more, &rows);
    assert_eq!(finding.outcome, Outcome::Exceeded, "(0 + 1600) / 2 is over, and what was not counted only adds");
    let open = of("coliform", "monthly average", "at most: 800 per 100 mL", more, &rows);
    assert_eq!(open.outcome, Outcome::NotShown);
    let figure = finding.windows[0].figure.clone().unwrap();
    assert!(figure.high.is_infinite(), "{figure:?}");
}

/// P055: four samples of a state's calculation sheet, 110.67 per 100 mL.
#[test]
fn a_geometric_mean_of_a_month_is_the_fourth_root() {
    let rows = samples(
        "coliform",
        "per 100 mL",
        &[("2025-03-03", "50"), ("2025-03-10", "100"), ("2025-03-17", "150"), ("2025-03-24", "200")],
    );
    let finding = of("coliform", "monthly geometric mean", "at most: 200 per 100 mL", "", &rows);
    assert!((value(&finding) - 110.668_191_97).abs() < 1e-7);
    assert_eq!(finding.outcome, Outcome::Met);
}

/// England's practice: no discharge on the planned date is no breach; and wood products, 40 CFR 429.171: 0.2 mL/L at all
/// times, pH 6 to 9.
#[test]
fn a_dry_outfall_breaks_no_limit_and_at_all_times_means_every_reading() {
    let dry: String = (1..=31).map(|day| look(&format!("2025-03-{day:02}"), "dry")).collect();
    assert_eq!(of("settleable solids", "at all times", "at most: 0.2 mL/L", "", &dry).outcome, Outcome::NoDischarge);
    let rows = samples("settleable solids", "mL/L", &[("2025-03-03", "<0.1"), ("2025-03-10", "0.2")]);
    assert_eq!(of("settleable solids", "at all times", "at most: 0.2 mL/L", "", &rows).outcome, Outcome::Met);
    let one = samples("settleable solids", "mL/L", &[("2025-03-03", "<0.1"), ("2025-03-10", "0.3")]);
    assert_eq!(of("settleable solids", "at all times", "at most: 0.2 mL/L", "", &one).outcome, Outcome::Exceeded);
}

/// Ordinances of sewers: a monthly average over counts once for every day of that month, or once (two cities differ).
#[test]
fn two_cities_count_the_same_month_differently() {
    let rows = samples("TSS", "mg/L", &[("2025-03-03", "31")]);
    for (rule, count) in [("one for every day", "31."), ("one for each average or reading", "1.")] {
        let text = format!(
            "{COUNTING}limits:\n  X:\n    at: Outfall 1\n    parameter: TSS\n    statistic: monthly average\n    at most: 30 mg/L\nnotices:\n  count of violations: {rule}\n"
        );
        let finding = Site::with(&text, &rows, "date,rain,unit\n", MARCH).limit("X");
        assert!(
            finding
                .sentences
                .iter()
                .any(|line| line.starts_with("Count under the rule typed") && line.ends_with(count)),
            "{:?}",
            finding.sentences
        );
    }
}
