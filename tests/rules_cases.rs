//! Mistakes people make by hand, each as a numeric case with the answer that the rules must give.

#![cfg(test)]

mod rules_support;

use bywash::balance::Basis;
use bywash::rules::{Drawn, FindingKind, LimitPlan, Outcome};
use rules_support::{COUNTING, FACILITY, HEAD, Site, d, look, outcome, reading, sample, samples};

const MARCH: (&str, &str) = ("2025-03-01", "2025-03-31");

fn tss(statistic: &str, bound: &str, more: &str) -> String {
    format!(
        "  TSS:\n    at: Outfall 1\n    parameter: total suspended solids\n    statistic: {statistic}\n    {bound}\n    sample: {{how often: once a month}}\n{more}"
    )
}

fn water(statistic: &str, at: &str, bound: &str) -> String {
    format!("  Water:\n    at: {at}\n    parameter: water\n    statistic: {statistic}\n    {bound}\n")
}

/// Daily readings of a meter at the day's start, from a first dial value and the volume of each day.
fn dial(meter: &str, first: &str, volumes: &[u32]) -> String {
    let mut value = 1000;
    let mut out = reading(first, meter, "1000");
    for (at, volume) in volumes.iter().enumerate() {
        value += volume;
        let day = d(first) + chrono::Days::new(at as u64 + 1);
        out.push_str(&reading(&day.to_string(), meter, &value.to_string()));
    }
    out
}

/// Text cells skipped: the average of 12, "<5", "<5" is not 12.
#[test]
fn results_below_detection_count_in_the_average_as_the_permit_says() {
    let rows = samples("TSS", "mg/L", &[("2025-03-03", "12"), ("2025-03-10", "<5"), ("2025-03-17", "<5")]);
    for (counts, expected) in [("zero", 4.0), ("detection limit", 22.0 / 3.0), ("half", 17.0 / 3.0)] {
        let more = format!("    below detection counts as: {counts}\n");
        let site = Site::new(&tss("monthly average", "at most: 30 mg/L", &more), &rows, MARCH);
        let finding = site.limit("TSS");
        assert_eq!(finding.outcome, Outcome::Met);
        assert!((finding.figure.unwrap().value.unwrap() - expected).abs() < 1e-12, "{counts}");
    }
}

#[test]
fn where_the_permit_does_not_say_what_below_detection_counts_as_both_answers_are_printed() {
    let rows = samples("TSS", "mg/L", &[("2025-03-03", "12"), ("2025-03-10", "<5"), ("2025-03-17", "<5")]);
    let more = "    below detection counts as: not said\n";
    let site = Site::new(&tss("monthly average", "at most: 6 mg/L", more), &rows, MARCH);
    let finding = site.limit("TSS");
    // (12 + 0 + 0)/3 = 4, (12 + 2.5 + 2.5)/3 = 5.67, (12 + 5 + 5)/3 = 7.33: the worst stands, the nearest other is told.
    assert_eq!(finding.outcome, Outcome::Exceeded);
    let written = finding.windows[0].arithmetic.join("\n");
    assert!(written.contains("4 to 7.33 mg/L (counted as 7.33"), "{written}");
    assert_eq!(finding.other_answer, Some(("a result below detection counts as zero".to_owned(), Outcome::Met)));
}

/// (71 + 0)/2 = 35.5: what the permit counts as zero makes one number of the mean, and no range.
#[test]
fn a_mean_is_one_number_where_the_permit_says_what_below_detection_counts_as() {
    let rows = samples("TSS", "mg/L", &[("2025-03-03", "71"), ("2025-03-10", "<2")]);
    let said = "    below detection counts as: zero\n";
    let finding = Site::new(&tss("monthly average", "at most: 30 mg/L", said), &rows, MARCH).limit("TSS");
    assert_eq!(finding.figure.as_ref().unwrap().text, "35.5 mg/L");
    let written = finding.windows[0].arithmetic.join("\n");
    assert!(written.contains("(71 + 0 for <2) ÷ 2 = 35.5 mg/L") && !written.contains(" to "), "{written}");
    assert!(!written.contains("in full"), "over either way: {written}");
    // (71 + 2)/2 = 36.5 is over 36, and the permit's own way is not.
    let between = Site::new(&tss("monthly average", "at most: 36 mg/L", said), &rows, MARCH).limit("TSS");
    let written = between.windows[0].arithmetic.join("\n");
    assert!(written.ends_with("= 35.5 mg/L; 36.5 mg/L with results below detection in full"), "{written}");
    let half = "    below detection counts as: half\n";
    let between = Site::new(&tss("monthly average", "at most: 36 mg/L", half), &rows, MARCH).limit("TSS");
    let written = between.windows[0].arithmetic.join("\n");
    let both = "(71 + 1 for <2) ÷ 2 = 36 mg/L; 35.5 mg/L with results below detection as zero, 36.5 mg/L in full";
    assert!(written.ends_with(both), "{written}");
    let open = "    below detection counts as: not said\n";
    let finding = Site::new(&tss("monthly average", "at most: 30 mg/L", open), &rows, MARCH).limit("TSS");
    assert_eq!(finding.figure.as_ref().unwrap().text, "35.5 to 36.5 mg/L");
}

/// (71 + 2)/2 = 36.5 is over 36, and (71 + 0)/2 = 35.5 is not: with a week's result missing neither is shown, and both the
/// mean on file and the line at which the least data is said are told.
#[test]
fn a_mean_on_file_that_is_over_is_told_where_results_are_missing() {
    let rows = samples("TSS", "mg/L", &[("2025-03-03", "71"), ("2025-03-10", "<2")]);
    let limit = "  TSS:\n    at: Outfall 1\n    parameter: TSS\n    statistic: monthly average\n    at most: 36 mg/L\n    sample: {how often: once a week}\n    below detection counts as: detection limit\n    least data: not said\n";
    let finding = Site::new(limit, &rows, MARCH).limit("TSS");
    assert_eq!(finding.outcome, Outcome::NotShown);
    let told = finding.sentences.join("\n");
    assert!(told.contains("the mean of the 2 results on file is 36.5 mg/L, over the limit, at most 36 mg/L"), "{told}");
    assert!(told.contains("`least data` is not said (rules.yaml:") && told.contains("the sample duty"), "{told}");
    let said = limit.replace("not said", "2 samples");
    let finding = Site::new(&said, &rows, MARCH).limit("TSS");
    assert_eq!(finding.outcome, Outcome::Exceeded);
    assert!(!finding.sentences.join("\n").contains("least data"));
}

#[test]
fn a_detection_limit_above_the_limit_is_not_shown_and_not_a_pass() {
    let rows = samples("TSS", "mg/L", &[("2025-03-03", "<5")]);
    for statistic in ["every reading", "daily maximum", "monthly maximum"] {
        let site = Site::new(&tss(statistic, "at most: 4 mg/L", ""), &rows, MARCH);
        assert_eq!(outcome(&site, "TSS"), Outcome::NotShown, "{statistic}");
    }
    // An average follows what the permit counts below detection: here zero.
    let mean = Site::new(&tss("monthly average", "at most: 4 mg/L", ""), &rows, MARCH);
    assert_eq!(outcome(&mean, "TSS"), Outcome::Met);
    let site = Site::new(&tss("every reading", "at most: 5 mg/L", ""), &rows, MARCH);
    assert_eq!(outcome(&site, "TSS"), Outcome::Met);
}

#[test]
fn an_unweighted_mean_is_not_the_flow_weighted_one() {
    let mut rows = samples("TSS", "mg/L", &[("2025-03-03", "200"), ("2025-03-04", "20")]);
    // 10 m³ and 90 m³ would need a metric meter; the ratio of 1 to 9 is what matters.
    rows += &dial("M1 out", "2025-03-03", &[1000, 9000]);
    let weighted =
        Site::new(&tss("monthly average", "at most: 40 mg/L", "    weighting: flow-weighted\n"), &rows, MARCH);
    let finding = weighted.limit("TSS");
    assert_eq!((finding.outcome, finding.figure.unwrap().text.as_str()), (Outcome::Met, "38 mg/L"));
    let plain = Site::new(&tss("monthly average", "at most: 40 mg/L", ""), &rows, MARCH).limit("TSS");
    assert_eq!((plain.outcome, plain.figure.unwrap().text.as_str()), (Outcome::Exceeded, "110 mg/L"));
    let without = samples("TSS", "mg/L", &[("2025-03-03", "20"), ("2025-03-04", "20")]);
    let site =
        Site::new(&tss("monthly average", "at most: 40 mg/L", "    weighting: flow-weighted\n"), &without, MARCH);
    assert_eq!(outcome(&site, "TSS"), Outcome::NotShown, "a weight that is missing is no weight of one");
}

#[test]
fn comparing_the_daily_maximum_with_the_monthly_limit_is_a_false_alarm() {
    let rows = samples(
        "TSS",
        "mg/L",
        &[("2025-03-03", "10"), ("2025-03-10", "10"), ("2025-03-17", "10"), ("2025-03-24", "58")],
    );
    assert_eq!(outcome(&Site::new(&tss("daily maximum", "at most: 60 mg/L", ""), &rows, MARCH), "TSS"), Outcome::Met);
    let month = Site::new(&tss("monthly average", "at most: 30 mg/L", ""), &rows, MARCH).limit("TSS");
    assert_eq!((month.outcome, month.figure.unwrap().text.as_str()), (Outcome::Met, "22 mg/L"));
}

#[test]
fn thirty_one_on_every_day_of_january_breaks_the_month_and_counts_by_the_rule_typed() {
    let rows: String =
        (1..=31).map(|day| sample(&format!("2025-01-{day:02}"), "Outfall 1", "TSS", "31", "mg/L")).collect();
    let period = ("2025-01-01", "2025-01-31");
    assert_eq!(outcome(&Site::new(&tss("daily maximum", "at most: 60 mg/L", ""), &rows, period), "TSS"), Outcome::Met);
    for (rule, count) in [("one for every day", "31."), ("one for each average or reading", "1.")] {
        let text = format!(
            "{COUNTING}limits:\n{}notices:\n  count of violations: {rule}\n",
            tss("monthly average", "at most: 30 mg/L", "")
        );
        let finding = Site::with(&text, &rows, "date,rain,unit\n", period).limit("TSS");
        assert_eq!(finding.outcome, Outcome::Exceeded);
        assert!(
            finding.sentences.iter().any(|line| line.starts_with("Count under the rule") && line.ends_with(count)),
            "{:?}",
            finding.sentences
        );
    }
}

/// A year's water of 2023/24 (366 days) that is over by March is over once, or on every day of it that has come.
#[test]
fn a_total_that_is_over_before_its_year_ends_counts_no_day_that_has_not_come() {
    let volumes = [1000; 152];
    let rows = dial("M1 out", "2023-11-01", &volumes);
    let limits = water("permit year total", "Outfall 1", "at most: 100000 gal");
    for (to, days) in [("2024-03-31", 152), ("2024-10-31", 366)] {
        let finding = Site::new(&limits, &rows, ("2023-11-01", to)).limit("Water");
        assert_eq!(finding.outcome, Outcome::Exceeded);
        let words = format!("one for each total makes 1, one for every day that it is of makes {days}.");
        assert!(finding.sentences.iter().any(|told| told.ends_with(&words)), "{:?}", finding.sentences);
    }
}

/// Four days on which two meters to one place were read are four days, not eight.
#[test]
fn days_on_which_several_meters_were_read_count_once() {
    let limits = water("daily total", "Field", "at most: 100000 gal");
    let other = FACILITY
        .replace("  M4 field:", "  M5 pond: {from: Pond, to: Field, counts in: gal, digits: 6}\n  M4 field:")
        .replace(
            "    spills to: Outfall 1\n",
            "    pumped out: {to: Field, rate: 188 gpm, starts at: 9 ft, stops at: 8 ft}\n    spills to: Outfall 1\n",
        );
    let rows =
        [dial("M4 field", "2025-03-01", &[10, 20, 30, 40]), dial("M5 pond", "2025-03-01", &[5, 5, 5, 5])].concat();
    let folder = tempfile::tempdir().unwrap();
    let write = |name: &str, text: &str| std::fs::write(folder.path().join(name), text).unwrap();
    std::fs::create_dir(folder.path().join("records")).unwrap();
    write("facility.yaml", &other);
    write("rules.yaml", &format!("{COUNTING}limits:\n{limits}"));
    write("rain.csv", "date,rain,unit\n");
    write("records/records.csv", &format!("{HEAD}{rows}"));
    let finding = Site::of(folder.path(), ("2025-03-01", "2025-03-04")).limit("Water");
    assert_eq!((finding.outcome, finding.how_many.as_str()), (Outcome::Met, "4 days"));
    assert_eq!(finding.figure.unwrap().text, "45 gal");
}

#[test]
fn rounding_first_or_last_is_a_matter_of_what_the_permit_says() {
    let rows = samples("TSS", "mg/L", &[("2025-03-03", "30.4")]);
    let of = |rounding: &str, rows: &str| {
        Site::new(&tss("daily maximum", "at most: 30 mg/L", &format!("    rounding: {rounding}\n")), rows, MARCH)
            .limit("TSS")
    };
    assert_eq!(of("not rounded", &rows).outcome, Outcome::Exceeded);
    assert_eq!(of("half up to 2 significant digits", &rows).outcome, Outcome::Met);
    let half = samples("TSS", "mg/L", &[("2025-03-03", "30.5")]);
    assert_eq!(of("half up to the limit's digits", &half).outcome, Outcome::Exceeded);
    assert_eq!(of("half even to a whole number", &half).outcome, Outcome::Met);
    // Rounding that is not said is none, and no other is tried.
    let open = of("not said", &rows);
    assert_eq!(open.outcome, Outcome::Exceeded);
    assert_eq!(open.other_answer, None);
}

#[test]
fn a_mean_ph_of_seven_hides_two_readings_outside() {
    let rows = samples("pH", "", &[("2025-03-03", "5.0"), ("2025-03-10", "9.5")]);
    let limit = "  pH:\n    at: Outfall 1\n    parameter: pH\n    statistic: every reading\n    at least: 6.0\n    at most: 9.0\n    sample: {how often: once a month}\n";
    let finding = Site::new(limit, &rows, MARCH).limit("pH");
    assert_eq!(finding.outcome, Outcome::OutsideRange);
    assert_eq!(finding.windows.iter().filter(|window| window.outcome == Outcome::OutsideRange).count(), 2);
    assert_eq!(finding.figure.unwrap().text, "5.0 to 9.5");
    let ends = samples("pH", "", &[("2025-03-03", "6.0"), ("2025-03-10", "9.0")]);
    assert_eq!(outcome(&Site::new(limit, &ends, MARCH), "pH"), Outcome::Met, "both ends belong to the range");
}

#[test]
fn a_mean_of_weekly_means_is_not_the_monthly_average() {
    let rows = samples(
        "TSS",
        "mg/L",
        &[("2025-03-03", "8"), ("2025-03-04", "12"), ("2025-03-05", "9"), ("2025-03-06", "11"), ("2025-03-10", "60")],
    );
    let finding = Site::new(&tss("monthly average", "at most: 30 mg/L", ""), &rows, MARCH).limit("TSS");
    assert_eq!((finding.outcome, finding.figure.unwrap().text.as_str()), (Outcome::Met, "20 mg/L"));
}

#[test]
fn days_without_flow_belong_in_the_divisor_only_where_the_permit_says_so() {
    // Three days of 40,000 gal in a month of 30 days.
    let mut volumes = vec![0; 30];
    for day in [3, 4, 5] {
        volumes[day] = 40_000;
    }
    let rows = dial("M1 out", "2025-04-01", &volumes);
    let period = ("2025-04-01", "2025-04-30");
    for (divides, expected) in
        [("days with a discharge", "40,000 gal"), ("calendar days", "4,000 gal"), ("days sampled", "4,000 gal")]
    {
        let limit = format!(
            "{}    average divides by: {divides}\n",
            water("monthly average", "Outfall 1", "at most: 39000 gal")
        );
        let finding = Site::new(&limit, &rows, period).limit("Water");
        assert_eq!(finding.figure.unwrap().text, expected, "{divides}");
        assert_eq!(finding.outcome == Outcome::Exceeded, divides == "days with a discharge");
    }
    let limit =
        format!("{}    average divides by: not said\n", water("monthly average", "Outfall 1", "at most: 39000 gal"));
    let open = Site::new(&limit, &rows, period).limit("Water");
    assert_eq!(open.outcome, Outcome::Exceeded);
    assert_eq!(open.other_answer.expect("both answers").1, Outcome::Met);
}

#[test]
fn the_29_february_is_a_day_of_the_divisor() {
    // 7,320 over the year: 20 a day in a leap year, 20.05 in another, against 20.
    for (year, days, expected) in [(2024, 366, Outcome::Met), (2025, 365, Outcome::Exceeded)] {
        let mut volumes = vec![20; days];
        volumes[0] += 7_320 - 20 * days as u32;
        let rows = dial("M1 out", &format!("{year}-01-01"), &volumes);
        let text = format!(
            "{}limits:\n{}    average divides by: calendar days\n",
            COUNTING.replace("1 Nov", "1 Jan"),
            water("permit year average", "Outfall 1", "at most: 20.0 gal/day")
        );
        let period = (format!("{year}-01-01"), format!("{year}-12-31"));
        let site = Site::with(&text, &rows, "date,rain,unit\n", (&period.0, &period.1));
        assert_eq!(outcome(&site, "Water"), expected, "{year}");
    }
}

#[test]
fn an_average_over_the_year_hides_the_peak_that_a_daily_limit_finds() {
    // 300 days of 4 events and 65 of 14, each 1,508 gal: the mean is under the limit, the peak twice over it.
    let volumes: Vec<u32> = (0..365).map(|day| if day < 300 { 4 * 1_508 } else { 14 * 1_508 }).collect();
    let rows = dial("M1 out", "2024-11-01", &volumes);
    let period = ("2024-11-01", "2025-10-31");
    let mean = Site::new(&water("permit year average", "Outfall 1", "at most: 10567 gal"), &rows, period);
    assert_eq!(outcome(&mean, "Water"), Outcome::Met);
    let peak = Site::new(&water("daily total", "Outfall 1", "at most: 10567 gal"), &rows, period).limit("Water");
    assert_eq!((peak.outcome, peak.figure.unwrap().text.as_str()), (Outcome::Exceeded, "21,112 gal"));
}

#[test]
fn a_month_without_a_sample_does_not_average_to_zero() {
    let rows = samples("TSS", "mg/L", &[("2025-03-03", "10")]);
    let site = Site::new(&tss("monthly average", "at most: 30 mg/L", ""), &rows, ("2025-03-01", "2025-04-30"));
    let finding = site.limit("TSS");
    assert_eq!(finding.outcome, Outcome::NotShown);
    assert_eq!(finding.how_many, "1 of 2 months");
    assert_eq!(finding.windows[0].outcome, Outcome::Met);
    assert_eq!(finding.windows[1].outcome, Outcome::NotShown);
}

#[test]
fn a_daily_volume_within_its_limit_says_nothing_of_the_rate() {
    let rows = dial("M3 sewer", "2025-03-01", &[1_508; 31]);
    let volume = Site::new(&water("daily total", "Town sewer", "at most: 5000 gal"), &rows, MARCH);
    assert_eq!(outcome(&volume, "Water"), Outcome::Met);
    let rate = "  Rate:\n    at: Town sewer\n    parameter: water\n    statistic: rate\n    at most: 100 gpm\n";
    let measured = Site::new(rate, &rows, MARCH).limit("Rate");
    assert_eq!(measured.outcome, Outcome::PredictedOutside, "a mean rate of 1 gpm shows no peak; the pump does");
    assert!(measured.sentences.iter().any(|line| line.contains("188 gpm")), "{:?}", measured.sentences);
    let typed = Site::new(rate, "", MARCH).limit("Rate");
    assert_eq!(typed.outcome, Outcome::PredictedOutside, "the pump alone gives 188 gpm");
    // 300 000 gal a day is 208 gpm at some moment at least: the pump typed at 188 gpm is not the truth.
    let rows = dial("M3 sewer", "2025-03-01", &[300_000; 3]);
    let faster = Site::new(&rate.replace("100 gpm", "400 gpm"), &rows, MARCH).limit("Rate");
    assert_eq!(faster.outcome, Outcome::NotShown, "{:?}", faster.sentences);
}

/// 48 in across is π/4·16 = 12.566 ft²: 15 gpm on each is 188.5 gpm at any moment of the wash.
#[test]
fn a_wash_typed_as_a_flux_runs_at_that_flux_over_one_vessel() {
    let of = |most: &str| {
        let folder = tempfile::tempdir().expect("a folder");
        let write = |name: &str, text: &str| {
            std::fs::write(folder.path().join(name), text).expect("a file");
        };
        write(
            "facility.yaml",
            &FACILITY
                .replace("rate: 188 gpm, lasts: 2 min, each: vessel", "rate: 15 gpm/ft2, lasts: 2 min, each: vessel"),
        );
        write(
            "rules.yaml",
            &format!(
                "{COUNTING}limits:\n  Rate:\n    at: {{wash water of: Sand beds}}\n    parameter: water\n    statistic: rate\n    at most: {most}\n"
            ),
        );
        write("rain.csv", "date,rain,unit\n");
        std::fs::create_dir(folder.path().join("records")).expect("a folder");
        write("records/records.csv", HEAD);
        Site::of(folder.path(), MARCH).limit("Rate")
    };
    assert_eq!(of("188 gpm").outcome, Outcome::PredictedOutside);
    assert_eq!(of("189 gpm").outcome, Outcome::PredictedWithin);
}

#[test]
fn a_reading_over_three_days_under_the_limit_for_one_shows_that_no_day_was_over() {
    let three = |total: &str| {
        format!("{}{}", reading("2025-03-07", "M2 wash", "1000"), reading("2025-03-10", "M2 wash", total))
    };
    let of = |total: &str| {
        Site::new(
            &water("daily total", "{wash water of: Sand beds}", "at most: 16000 gal"),
            &three(total),
            ("2025-03-07", "2025-03-09"),
        )
        .limit("Water")
    };
    let under = of("16040");
    assert_eq!((under.outcome, under.figure.unwrap().text.as_str()), (Outcome::Met, "up to 15,040 gal"));
    assert_eq!(under.margin.as_deref(), Some("at least 960 gal under"));
    let open = of("21000");
    assert_eq!(open.outcome, Outcome::NotShown);
    assert!(open.missing[0].would_show.as_ref().unwrap().contains("the beginning and the end of each day"));
    assert_eq!(of("50000").outcome, Outcome::Exceeded, "49,000 over three days: some day had 16,333 or more");
    assert_eq!(of("49000").outcome, Outcome::NotShown, "48,000 over three days: 16,000 each is possible");
}

/// The amount of the 4th ends at 7 am of the 5th; the dial was read on the 5th at an hour that nobody wrote down, so what flowed
/// before it on that day was counted by nobody. Read at 7 am, the dial covers that day too.
#[test]
fn the_hours_between_an_amount_and_a_reading_without_its_hour_are_not_known() {
    let fifth = |when: &str| {
        let row = |date: &str, what: &str, value: &str| format!("{date},M1 out,{what},,{value},gal,,,,,\n");
        let rows = row("2025-03-04", "amount", "100")
            + &row(&format!("2025-03-05{when}"), "reading", "1000")
            + &row("2025-03-12 07:00", "reading", "1200");
        let limit = water("daily total", "Outfall 1", "at most: 5000 gal");
        let finding = Site::new(&limit, &rows, ("2025-03-04", "2025-03-11")).limit("Water");
        let of = |day| finding.windows.iter().find(|window| window.from <= day && day <= window.to).expect("the day");
        let day = |day: &str| of(d(day)).outcome;
        [day("2025-03-04"), day("2025-03-05"), day("2025-03-06")]
    };
    assert_eq!(fifth(" 07:00"), [Outcome::Met; 3]);
    assert_eq!(fifth(""), [Outcome::Met, Outcome::NotShown, Outcome::Met]);
}

#[test]
fn a_month_with_28_metered_days_of_31_is_not_shown_but_exceeded_if_the_part_alone_is_over() {
    let rows = dial("M1 out", "2025-03-01", &[100; 28]);
    let mut site = Site::new(&water("monthly total", "Outfall 1", "at most: 3000 gal"), &rows, MARCH);
    site.spills(&[("2025-03-30", 0.1)], Basis::COMPUTED);
    let finding = site.limit("Water");
    assert_eq!(finding.outcome, Outcome::NotShown);
    assert!(finding.missing[0].sentence.contains("29-31 Mar 2025"), "{:?}", finding.missing);
    let part = Site::new(&water("monthly total", "Outfall 1", "at most: 2799 gal"), &rows, MARCH).limit("Water");
    assert_eq!((part.outcome, part.figure.unwrap().text.as_str()), (Outcome::Exceeded, "at least 2,800 gal"));
}

#[test]
fn rain_over_two_gauge_readings_does_not_tell_how_much_fell_in_any_24_hours() {
    let limit = "  Dry season:\n    at: Outfall 1\n    statistic: no discharge\n    in season: 1 Jun to 30 Sep\n    except: {rain over: 2.4 in, in any: 24 h, and before it: {Pond below: 7 ft}, and after it: 1 day}\n";
    let text = format!("{COUNTING}limits:\n{limit}");
    let mut rain = String::from("date,rain,unit\n");
    for day in 1..=20 {
        let depth = match day {
            12 => "1.4",
            13 => "1.5",
            _ => "0",
        };
        rain += &format!("2025-08-{day:02},{depth},in\n");
    }
    let period = ("2025-08-02", "2025-08-18");
    let all = |flowing: &[u32]| -> String {
        (2..=18)
            .map(|day| look(&format!("2025-08-{day:02}"), if flowing.contains(&day) { "flowing" } else { "dry" }))
            .collect()
    };
    let level = |feet: &str| format!("2025-08-11 07:00,Pond,level,,{feet},ft,,,,,\n");
    let of = |records: String, rain: &str| Site::with(&text, &records, rain, period).limit("Dry season");
    let open = of(all(&[12, 13]) + &level("6.6"), &rain);
    assert_eq!(open.outcome, Outcome::NotShown);
    assert!(open.sentences[0].contains("somewhere from 1.5 in to 2.9 in"), "{:?}", open.sentences);
    assert_eq!(open.figure.unwrap().text, "2 days");
    assert_eq!(of(all(&[12, 13]) + &level("7.2"), &rain).outcome, Outcome::Exceeded, "the pond was not drawn down");
    let heavy = rain.replace("2025-08-13,1.5", "2025-08-13,2.6");
    let excused = of(all(&[12, 13]) + &level("6.6"), &heavy);
    assert_eq!(excused.outcome, Outcome::Met, "excused, and every other day dry");
    assert!(excused.sentences.iter().any(|line| line.contains("excused by a storm")), "{:?}", excused.sentences);
    assert_eq!(of(all(&[12, 13]), &heavy).outcome, Outcome::NotShown, "no level before the storm is on file");
    let light = rain.replace("2025-08-13,1.5", "2025-08-13,0.5");
    assert_eq!(
        of(all(&[12, 13]) + &level("6.6"), &light).outcome,
        Outcome::Exceeded,
        "a wet day is not a storm of that size"
    );
    let gap = of(all(&[]).replace(&look("2025-08-09", "dry"), ""), &rain);
    assert_eq!(gap.outcome, Outcome::NotShown, "a day without a look is no proof of a dry outfall");
    assert!(gap.missing[0].sentence.contains("9 Aug 2025"), "{:?}", gap.missing);
    assert_eq!(of(all(&[]), &rain).outcome, Outcome::NoDischarge);
}

/// Where it surely rained enough, what is open is how long the storm went on, and the sentence says so.
#[test]
fn a_day_that_hangs_on_how_long_a_sure_storm_lasted_says_so() {
    let limit = "  Closed:\n    at: Outfall 1\n    statistic: no discharge\n    except: {rain over: 2.0 in, in any: 24 h, and after it: 2 days}\n";
    let text = format!("{COUNTING}limits:\n{limit}");
    let mut rain = String::from("date,rain,unit\n");
    for day in 1..=20 {
        // A reading of 7 am is of the day that ended: these are of the 11th and the 12th.
        let depth = match day {
            12 => "2.66",
            13 => "0.41",
            _ => "0",
        };
        rain += &format!("2025-08-{day:02},{depth},in\n");
    }
    let looks = |flowing: u32| -> String {
        (2..=18).map(|day| look(&format!("2025-08-{day:02}"), if day == flowing { "flowing" } else { "dry" })).collect()
    };
    let of = |flowing| Site::with(&text, &looks(flowing), &rain, ("2025-08-02", "2025-08-18")).limit("Closed");
    let open = of(14);
    assert_eq!(open.outcome, Outcome::NotShown);
    let told = &open.missing[0].sentence;
    assert!(told.contains("surely fell by 11 Aug 2025") && told.contains("went on to 12 Aug 2025"), "{told}");
    assert_eq!(of(13).outcome, Outcome::Met, "the second day after the storm that is sure");
    assert_eq!(of(15).outcome, Outcome::Exceeded, "after the last day that any reading can excuse");
}

/// A count of what is over is a least one where something is not decided.
#[test]
fn what_is_over_is_counted_at_least_where_something_is_open() {
    let over = |rows: &str| {
        let site = Site::new(&water("daily total", "Outfall 1", "at most: 90 gal"), rows, MARCH);
        let sentences = site.limit("Water").sentences;
        sentences.into_iter().find(|line| line.starts_with("Over ")).unwrap()
    };
    let daily = dial("M1 out", "2025-03-01", &[100, 10, 10]);
    assert_eq!(over(&daily), "Over at least 1 time.", "the rest of March is not metered");
}

#[test]
fn a_computed_spill_is_a_reason_to_ask_and_never_an_exceedance() {
    let limit = "  Shut:\n    at: Outfall 1\n    statistic: no discharge\n";
    let looks: String = (1..=30).map(|day| look(&format!("2025-03-{day:02}"), "dry")).collect();
    let mut site = Site::new(limit, &looks, MARCH);
    site.spills(&[("2025-03-31", 50.0)], Basis::COMPUTED);
    let finding = site.limit("Shut");
    assert_eq!(finding.outcome, Outcome::NotShown);
    assert!(
        finding.missing[0].sentence.contains("31 Mar 2025 had water leaving by our computation"),
        "{:?}",
        finding.missing
    );
}

/// Draws of a limit: the share given outside.
fn draws(outside: usize, of: usize) -> impl Fn(&LimitPlan) -> Vec<Drawn> {
    move |_| {
        (0..of)
            .map(|at| Drawn { worst: Some(1.0), outside: Some(at < outside), when: None, windows: Vec::new() })
            .collect()
    }
}

#[test]
fn a_computed_figure_is_predicted_only_where_every_draw_agrees_and_never_met() {
    let mut site = Site::new(&water("daily total", "Outfall 1", "at most: 250000 gal"), "", MARCH);
    site.spills(&[("2025-03-14", 700.0)], Basis::COMPUTED);
    let of = |outside: usize| {
        let findings = site.judge_with(&draws(outside, 200));
        findings.into_iter().find(|finding| finding.kind == FindingKind::Limit).unwrap()
    };
    assert_eq!(of(0).outcome, Outcome::PredictedWithin);
    assert_eq!(of(200).outcome, Outcome::PredictedOutside);
    let some = of(1);
    assert_eq!((some.outcome, some.share_outside), (Outcome::Undecided, Some(0.005)));
    assert_eq!(site.judge()[0].outcome, Outcome::Undecided, "the middle run alone decides nothing");
}

#[test]
fn a_figure_that_rests_on_something_not_known_is_not_shown() {
    let mut site = Site::new(&water("daily total", "Outfall 1", "at most: 250000 gal"), "", MARCH);
    site.spills(&[("2025-03-14", 700.0)], Basis::COMPUTED.or(Basis::UNKNOWN));
    let finding = &site.judge_with(&draws(0, 200))[0];
    assert_eq!(finding.outcome, Outcome::NotShown);
    assert!(finding.figure.is_none());
}

#[test]
fn a_computed_run_is_evaluated_by_the_same_folds_as_records() {
    let mut site = Site::new(&water("monthly total", "Outfall 1", "at most: 1000 gal"), "", MARCH);
    // Exactly 1,000 gal over two days, then a little more.
    let gal = 0.003_785_411_784;
    site.spills(&[("2025-03-14", 600.0 * gal), ("2025-03-15", 400.0 * gal)], Basis::COMPUTED);
    let drawn = |site: &Site| {
        let plans = bywash::rules::plans(&site.rules, &site.facility, &site.timeline, Some(&site.weather), site.period);
        let ledger = site.ledger.as_ref().unwrap();
        plans[0].drawn(&plans[0].series(ledger))
    };
    let at = drawn(&site);
    assert_eq!(at.outside, Some(false), "the last bits of a computation don't decide: {at:?}");
    assert!((at.worst.unwrap() - 1000.0).abs() < 1e-9);
    site.spills(&[("2025-03-14", 600.0 * gal), ("2025-03-15", 400.001 * gal)], Basis::COMPUTED);
    assert_eq!(drawn(&site).outside, Some(true));
}

#[test]
fn a_limit_that_says_estimate_accepted_changes_the_wording_and_not_the_outcome() {
    let base = water("daily total", "Outfall 1", "at most: 250000 gal");
    for (limit, accepted) in [(base.clone(), false), (format!("{base}    estimate: accepted\n"), true)] {
        let mut site = Site::new(&limit, "", MARCH);
        site.spills(&[("2025-03-14", 700.0)], Basis::COMPUTED);
        let finding = &site.judge_with(&draws(0, 200))[0];
        assert_eq!(finding.outcome, Outcome::PredictedWithin);
        assert_eq!(finding.sentences.iter().any(|line| line.contains("accepts an estimate")), accepted);
    }
}

#[test]
fn depth_on_land_is_worked_out_on_the_fields_area() {
    // 2 in on 2 acres are 108,617.1 gal: 7 days of 15,516 gal are under it, of 15,517 over.
    let of = |volume: u32| {
        let rows = dial("M4 field", "2025-03-02", &[volume; 7]);
        Site::new(&water("weekly total", "Field", "at most: 2 in"), &rows, ("2025-03-02", "2025-03-08"))
            .limit("Water")
            .outcome
    };
    assert_eq!(of(7_758), Outcome::Met);
    assert_eq!(of(15_516), Outcome::Met);
    assert_eq!(of(15_517), Outcome::Exceeded);
}

#[test]
fn a_composite_can_show_that_a_moment_was_over_and_never_that_none_was() {
    let row = |value: &str| format!("2025-03-03 09:00,Outfall 1,sample,TSS,{value},mg/L,,,,,composite\n");
    let of = |statistic: &str, value: &str| {
        outcome(&Site::new(&tss(statistic, "at most: 60 mg/L", ""), &row(value), MARCH), "TSS")
    };
    assert_eq!(of("instantaneous maximum", "61"), Outcome::Exceeded);
    assert_eq!(of("instantaneous maximum", "20"), Outcome::NotShown);
    assert_eq!(of("daily maximum", "20"), Outcome::Met);
}

#[test]
fn a_load_is_the_concentration_times_the_flow_of_the_same_day() {
    // 15 mg/L in 1.5 million gallons by 8.34: 187.65 lb (P073).
    let rows = samples("TSS", "mg/L", &[("2025-03-03", "15")]) + &dial("M1 out", "2025-03-03", &[1_500_000]);
    let of = |bound: &str, more: &str| {
        Site::new(&tss("daily maximum", bound, more), &rows, ("2025-03-03", "2025-03-03")).limit("TSS")
    };
    let printed = of("at most: 187.65 lb/day", "    load factor: 8.34\n");
    assert_eq!((printed.outcome, printed.figure.unwrap().text.as_str()), (Outcome::Met, "187.65 lb/day"));
    let exact = of("at most: 187.65 lb/day", "");
    assert_eq!(exact.outcome, Outcome::Exceeded, "the exact factor is 0.065 % higher");
    assert!(exact.sentences.iter().any(|line| line.contains("exact factors")));
    let unmetered = Site::new(
        &tss("daily maximum", "at most: 1 lb/day", ""),
        &samples("TSS", "mg/L", &[("2025-03-03", "15")]),
        MARCH,
    );
    assert_eq!(outcome(&unmetered, "TSS"), Outcome::NotShown);
}

/// 40 CFR 133.101(j), 133.102: from 30-day averages; 85 % is met by exactly 85 (P051, P052).
#[test]
fn percent_removal_comes_from_the_averages_of_both_points() {
    let limit = "  Removal:\n    at: Outfall 1\n    between here and: Pond\n    parameter: TSS\n    statistic: percent removal\n    at least: 85 %\n    sample: {how often: once a month}\n";
    let of = |entering: [&str; 2], leaving: [&str; 2]| {
        let mut rows = String::new();
        for (day, (value_in, value_out)) in ["2025-03-03", "2025-03-10"].iter().zip(entering.iter().zip(leaving)) {
            rows += &sample(day, "Pond", "TSS", value_in, "mg/L");
            rows += &sample(day, "Outfall 1", "TSS", value_out, "mg/L");
        }
        Site::new(limit, &rows, MARCH).limit("Removal")
    };
    let met = of(["100", "300"], ["40", "20"]);
    assert_eq!((met.outcome, met.figure.unwrap().text.as_str()), (Outcome::Met, "85 %"));
    // Daily removals of 60 % and 93.3 % have a mean of 76.7 %.
    assert_eq!(of(["150", "150"], ["24", "24"]).outcome, Outcome::BelowMinimum);
    assert_eq!(of(["<1", "<1"], ["<1", "<1"]).outcome, Outcome::NotShown);
}

#[test]
fn a_percentile_is_judged_by_the_permits_own_table() {
    let limit = "  P95:\n    at: Outfall 1\n    parameter: TSS\n    statistic: percentile\n    at most: 30 mg/L\n    allowance: {4 to 7: 1, 8 to 16: 2}\n    least data: 1 samples\n";
    let of = |over: usize, months: usize| {
        let rows: String = (0..months)
            .map(|month| {
                sample(
                    &format!("2025-{:02}-03", month + 1),
                    "Outfall 1",
                    "TSS",
                    if month < over { "31" } else { "10" },
                    "mg/L",
                )
            })
            .collect();
        let text = format!("{}limits:\n{limit}", COUNTING.replace("1 Nov", "1 Jan"));
        Site::with(&text, &rows, "date,rain,unit\n", ("2025-01-01", "2025-12-31")).limit("P95").outcome
    };
    assert_eq!(of(1, 6), Outcome::Met);
    assert_eq!(of(2, 6), Outcome::Exceeded);
    assert_eq!(of(2, 9), Outcome::Met);
    assert_eq!(of(0, 3), Outcome::NotShown, "the table has no row for three samples");
}

#[test]
fn a_rolling_window_is_judged_on_every_day_with_a_full_window() {
    let limit = tss("rolling 30 days average", "at most: 30 mg/L", "    least data: 2 samples\n");
    let rows = samples("TSS", "mg/L", &[("2025-03-20", "10"), ("2025-04-10", "40"), ("2025-04-18", "40")]);
    let site = Site::new(&limit, &rows, ("2025-03-01", "2025-04-30"));
    let finding = site.limit("TSS");
    // From 20 April (22 March to 20 April) on only the two of 40 lie in the window.
    assert_eq!(finding.outcome, Outcome::Exceeded);
    assert_eq!(finding.dates[0], d("2025-03-21"));
    assert_eq!(finding.figure.unwrap().text, "40 mg/L");
}

#[test]
fn nothing_flowed_is_shown_by_looks_and_differs_from_nothing_written_down() {
    let limit = "  TSS:\n    at: Outfall 1\n    parameter: TSS\n    statistic: daily maximum\n    at most: 60 mg/L\n    sample: {how often: once a month with a discharge}\n";
    let looks: String = (1..=31).map(|day| look(&format!("2025-03-{day:02}"), "dry")).collect();
    assert_eq!(outcome(&Site::new(limit, &looks, MARCH), "TSS"), Outcome::NoDischarge);
    assert_eq!(outcome(&Site::new(limit, "", MARCH), "TSS"), Outcome::NotShown);
}

#[test]
fn a_discharge_without_a_sample_is_not_shown_where_the_permit_says_no_least_data() {
    let limit = "  pH:\n    at: Outfall 1\n    parameter: pH\n    statistic: every reading\n    at least: 6.0\n    at most: 9.0\n";
    let rows = samples("pH", "", &[("2025-03-03", "7.0")]);
    let dry: String = (1..=31).filter(|day| *day != 3).map(|day| look(&format!("2025-03-{day:02}"), "dry")).collect();
    let seen = rows.clone() + &dry;
    assert_eq!(outcome(&Site::new(limit, &seen, MARCH), "pH"), Outcome::Met);
    // Days of which nothing is known may have had a discharge.
    assert_eq!(outcome(&Site::new(limit, &rows, MARCH), "pH"), Outcome::NotShown);
    let flowing = seen.replacen(&look("2025-03-05", "dry"), &look("2025-03-05", "flowing"), 1);
    let finding = Site::new(limit, &flowing, MARCH).limit("pH");
    assert_eq!(finding.outcome, Outcome::NotShown);
    assert!(
        finding.missing[0].sentence.contains("5 Mar 2025 had a discharge and no result on file"),
        "{:?}",
        finding.missing
    );
}

#[test]
fn a_limit_in_season_does_not_judge_other_days_and_a_version_ends_on_its_day() {
    let rows = samples("TSS", "mg/L", &[("2025-03-14", "90"), ("2025-06-10", "10")]);
    let season = "    in season: growing\n";
    let limit = tss("daily maximum", "at most: 60 mg/L", season).replace("once a month", "once a quarter");
    assert_eq!(outcome(&Site::new(&limit, &rows, ("2025-05-01", "2025-07-31")), "TSS"), Outcome::Met);
    let interim = tss("daily maximum", "at most: 100 mg/L", "    in force: until 31 Mar 2025\n    stage: interim\n");
    let last = tss("daily maximum", "at most: 60 mg/L", "    in force: from 1 Apr 2025\n    stage: final\n")
        .replace("  TSS:", "  TSS final:");
    let site = Site::new(&format!("{interim}{last}"), &rows, ("2025-03-01", "2025-03-31"));
    assert_eq!(outcome(&site, "TSS"), Outcome::Met);
    assert_eq!(outcome(&site, "TSS final"), Outcome::NotInForce);
}

#[test]
fn a_tier_whose_gauge_is_missing_is_not_shown() {
    let tier = "    only when: {flow: {at: Outfall 1, parameter: river flow, below: 10 cfs}}\n";
    let limit = tss("daily maximum", "at most: 60 mg/L", tier);
    let sampled = samples("TSS", "mg/L", &[("2025-03-14", "90")]);
    let gauge = |flow: &str| sampled.clone() + &sample("2025-03-14", "Outfall 1", "river flow", flow, "cfs");
    assert_eq!(outcome(&Site::new(&limit, &gauge("9"), MARCH), "TSS"), Outcome::Exceeded);
    assert_ne!(
        outcome(&Site::new(&limit, &gauge("10"), MARCH), "TSS"),
        Outcome::Exceeded,
        "the tier ends below 10 cfs"
    );
    let missing = Site::new(&limit, &sampled, MARCH).limit("TSS");
    assert_eq!(missing.outcome, Outcome::NotShown);
    assert!(missing.missing.iter().any(|missing| missing.sentence.contains("river flow")), "{:?}", missing.missing);
}

#[test]
fn a_samples_kind_that_the_permit_does_not_ask_for_does_not_count() {
    let limit = tss("daily maximum", "at most: 60 mg/L", "").replace("{how often", "{kind: grab, how often");
    let row = |note: &str| format!("2025-03-03 09:00,Outfall 1,sample,TSS,20,mg/L,,,,,{note}\n");
    assert_eq!(outcome(&Site::new(&limit, &row("grab"), MARCH), "TSS"), Outcome::Met);
    assert_eq!(outcome(&Site::new(&limit, &row("composite"), MARCH), "TSS"), Outcome::NotShown);
}

#[test]
fn washes_over_a_count_and_hours_of_washing_are_judged_from_the_log() {
    let limits = "  Washes:\n    at: Sand beds\n    parameter: washes\n    statistic: daily total\n    at most: 3\n  Minutes:\n    at: {wash water of: Sand beds}\n    statistic: duration\n    at most: 30 min/day\n";
    let rows: String = ["2025-03-01", "2025-03-02"]
        .iter()
        .zip(["3", "4"])
        .map(|(day, count)| format!("{day},Sand beds,washes,,{count},,,,,,\n"))
        .collect();
    let site = Site::new(limits, &rows, ("2025-03-01", "2025-03-02"));
    let finding = site.limit("Washes");
    assert_eq!((finding.outcome, finding.figure.unwrap().text.as_str()), (Outcome::Exceeded, "4"));
}

/// 12, <5 and <5 lie between (12 + 0 + 0)/3 = 4 and (12 + 5 + 5)/3 = 7.333; where no word of the permit makes it one of
/// them, every answer is tried and the worst stands.
#[test]
fn micro_case_12_a_mean_with_non_detects_is_an_interval_and_is_met_only_when_all_of_it_is() {
    let rows = samples("TSS", "mg/L", &[("2025-03-03", "12"), ("2025-03-10", "<5"), ("2025-03-17", "<5")]);
    let of = |most: &str| {
        let more = "    below detection counts as: not said\n";
        Site::new(&tss("monthly average", &format!("at most: {most} mg/L"), more), &rows, MARCH).limit("TSS")
    };
    for (most, outcome) in
        [("3.9", Outcome::Exceeded), ("4", Outcome::Exceeded), ("7.33", Outcome::Exceeded), ("7.34", Outcome::Met)]
    {
        assert_eq!(of(most).outcome, outcome, "{most}");
    }
    let figure = of("6").figure.unwrap();
    assert_eq!(figure.text, "4 to 7.33 mg/L");
}

/// The mean of 30.4 and 30.5 is 30.45 exactly: 30.5 to one decimal by half up, 30.4 by half even.
#[test]
fn micro_case_12_a_mean_of_30_45_rounds_up_or_to_even_as_the_permit_says() {
    let rows = samples("TSS", "mg/L", &[("2025-03-03", "30.4"), ("2025-03-10", "30.5")]);
    let of = |rounding: &str| {
        let more = format!("    rounding: {rounding}\n");
        outcome(&Site::new(&tss("monthly average", "at most: 30.4 mg/L", &more), &rows, MARCH), "TSS")
    };
    assert_eq!(of("half up to 1 decimal"), Outcome::Exceeded);
    assert_eq!(of("half even to 1 decimal"), Outcome::Met);
    assert_eq!(of("not rounded"), Outcome::Exceeded);
}

/// Four samples of mean 20 against 30, one a month: 15.7 of 100 months (worked beside the code); 95 of 100 stay within
/// 20·exp(1.64485·0.554513 − 0.153742) = 42.7.
#[test]
fn how_likely_the_next_month_is_over_is_told_beside_and_decides_nothing() {
    let rows = samples(
        "TSS",
        "mg/L",
        &[("2025-03-03", "10"), ("2025-04-10", "30"), ("2025-05-17", "20"), ("2025-06-17", "20")],
    );
    let site = Site::new(&tss("monthly average", "at most: 30 mg/L", ""), &rows, ("2025-03-01", "2025-06-30"));
    let finding = site.limit("TSS");
    assert_eq!(finding.outcome, Outcome::Met);
    let told = finding.likelihood.expect("a likelihood");
    assert!(told.contains("in about 16 of 100 months") && told.contains("42.7 mg/L"), "{told}");
}

/// 0.5 ft over a V-notch of 90 degrees is 2.49·0.5^2.48 = 0.44632 ft3/s = 200.3 gpm.
#[test]
fn a_head_read_over_a_weir_is_a_flow_at_that_moment() {
    let of = |most: &str, head: &str| {
        let folder = tempfile::tempdir().expect("a folder");
        let write = |name: &str, text: &str| {
            std::fs::write(folder.path().join(name), text).expect("a file");
        };
        write(
            "facility.yaml",
            &FACILITY.replace(
                "Outfall 1: {kind: surface water, into: Dorrel Brook}",
                "Outfall 1: {kind: surface water, into: Dorrel Brook, weir: {shape: V-notch of 90 degrees}}",
            ),
        );
        write(
            "rules.yaml",
            &format!(
                "{COUNTING}limits:\n  Rate:\n    at: Outfall 1\n    parameter: water\n    statistic: rate\n    at most: {most}\n"
            ),
        );
        write("rain.csv", "date,rain,unit\n");
        std::fs::create_dir(folder.path().join("records")).expect("a folder");
        let row = format!("2025-03-05 09:00,Outfall 1,sample,head,{head},ft,,,,,\n");
        write("records/records.csv", &format!("{HEAD}{row}"));
        Site::of(folder.path(), MARCH).limit("Rate")
    };
    assert_eq!(of("200 gpm", "0.5").outcome, Outcome::Exceeded);
    let within = of("201 gpm", "0.5");
    assert!(!within.outcome.is_exceeded(), "{:?}", within.outcome);
    let refused = of("201 gpm", "0.05");
    assert!(refused.sentences.join(" ").contains("outside what the weir's equation"), "{:?}", refused.sentences);
}

/// A head of 1 ft over a weir of the permit's own 1 cfs for 1 ft is 86,400 ft3 a day = 646,317 gal (231 in3 a gallon). Of three days the middle
/// one was not read and has the flow of the day before: the total is over by it alone, and says so. A head bears three figures: 646,000 gal of
/// the day that was not read, and 2 × 646,317 = 1,292,634 as 1,290,000 gal without it.
#[test]
fn a_total_that_is_over_by_a_reading_carried_on_says_what_it_is_without() {
    let folder = tempfile::tempdir().expect("a folder");
    let write = |name: &str, text: &str| std::fs::write(folder.path().join(name), text).expect("a file");
    write(
        "facility.yaml",
        &FACILITY.replace(
            "to: Outfall 1, counts in: gal, digits: 7}",
            "to: Outfall 1, read at: 7 am, weir: {coefficient: 1, exponent: 1.5, flow in: cfs, head in: ft, a reading stands for: until the next reading}}",
        ),
    );
    let limit = water("monthly total", "Outfall 1", "at most: 1900000 gal");
    write("rules.yaml", &format!("{COUNTING}limits:\n{limit}"));
    write("rain.csv", "date,rain,unit\n");
    std::fs::create_dir(folder.path().join("records")).expect("a folder");
    let dry: String = (4..=31).map(|day| look(&format!("2025-03-{day:02}"), "dry")).collect();
    let heads: String =
        ["01", "03"].iter().map(|day| format!("2025-03-{day} 07:00,M1 out,head,,1,ft,,,,,\n")).collect();
    write("records/records.csv", &format!("{HEAD}{heads}{dry}"));
    let finding = Site::of(folder.path(), MARCH).limit("Water");
    assert_eq!(finding.outcome, Outcome::Exceeded, "{finding:#?}");
    let arithmetic = finding.windows[0].arithmetic.join(" ");
    let words = "of which 1 day by the reading before: 646,000 gal, 1,290,000 gal without";
    assert!(arithmetic.contains(words), "{arithmetic}");
}

/// Two ways lead to Outfall 1. Water seen there may be the other's: it breaks no limit on one of them, and keeps its day from
/// being dry; a dry look speaks for both.
#[test]
fn water_seen_where_several_ways_end_tells_nothing_of_one_of_them() {
    let rules = format!(
        "{COUNTING}limits:\n  Yard shut:\n    at: {{from: Overhead yard, to: Outfall 1}}\n    statistic: no discharge\n  Outfall shut:\n    at: Outfall 1\n    statistic: no discharge\n"
    );
    let outcomes = |word: &str| {
        let folder = tempfile::tempdir().unwrap();
        let write = |name: &str, text: &str| std::fs::write(folder.path().join(name), text).unwrap();
        write("facility.yaml", &FACILITY.replace("goes to: Pond", "goes to: Outfall 1"));
        write("rules.yaml", &rules);
        write("rain.csv", "date,rain,unit\n");
        std::fs::create_dir(folder.path().join("records")).unwrap();
        let looks: String =
            (1..=31).map(|day| look(&format!("2025-03-{day:02}"), if day == 14 { word } else { "dry" })).collect();
        write("records/records.csv", &format!("{HEAD}{looks}"));
        let site = Site::of(folder.path(), ("2025-03-01", "2025-03-31"));
        [outcome(&site, "Yard shut"), outcome(&site, "Outfall shut")]
    };
    assert_eq!(outcomes("flowing"), [Outcome::NotShown, Outcome::Exceeded]);
    assert_eq!(outcomes("dry"), [Outcome::NoDischarge, Outcome::NoDischarge]);
}

/// A span over three days, the first of them looked at and dry: what was not there is shown by the look, and it is named.
#[test]
fn a_day_that_a_dry_look_takes_out_of_a_span_names_the_look() {
    let rows = reading("2025-03-01", "M1 out", "1000")
        + &look("2025-03-01", "dry")
        + &reading("2025-03-04", "M1 out", "1026")
        + &look("2025-03-04", "dry");
    let site = Site::new(&water("daily total", "Outfall 1", "at most: 9000 gal"), &rows, ("2025-03-01", "2025-03-03"));
    let finding = site.limit("Water");
    let first = finding.windows.iter().find(|window| window.to == d("2025-03-01")).expect("the first day");
    assert_eq!(first.outcome, Outcome::Met);
    assert!(first.evidence.iter().any(|shown| shown.text == "looked at: dry"), "{:?}", first.evidence);
}

/// The day's totals of March are 100, 200, … 3,100 gal: the highest is that of the 31st, the lowest that of the 1st. Where one reading covers
/// the first ten days, some day of them had a tenth of it or more, and some day a tenth or less, whatever the others had.
#[test]
fn the_highest_and_the_lowest_day_of_a_month_are_those_of_its_days() {
    let volumes: Vec<u32> = (1..=31).map(|day| 100 * day).collect();
    let rows = dial("M1 out", "2025-03-01", &volumes);
    let of = |statistic: &str, bound: &str, rows: &str| {
        let finding = Site::new(&water(statistic, "Outfall 1", bound), rows, MARCH).limit("Water");
        (finding.outcome, finding.figure.and_then(|figure| figure.value))
    };
    assert_eq!(of("monthly maximum", "at most: 3100 gal", &rows), (Outcome::Met, Some(3100.0)));
    assert_eq!(of("monthly maximum", "at most: 3099 gal", &rows), (Outcome::Exceeded, Some(3100.0)));
    assert_eq!(of("monthly minimum", "at least: 100 gal", &rows), (Outcome::Met, Some(100.0)));
    assert_eq!(of("monthly minimum", "at least: 101 gal", &rows), (Outcome::BelowMinimum, Some(100.0)));

    // 5,000 gal from the 1st to the 10th in one reading, then 400 gal a day.
    let long = {
        let mut rows = reading("2025-03-01", "M1 out", "1000") + &reading("2025-03-11", "M1 out", "6000");
        for day in 12..=31 {
            rows += &reading(&format!("2025-03-{day}"), "M1 out", &(6000 + 400 * (day - 11)).to_string());
        }
        rows + &reading("2025-04-01", "M1 out", &(6000 + 400 * 21).to_string())
    };
    assert_eq!(of("monthly maximum", "at most: 499 gal", &long).0, Outcome::Exceeded);
    assert_eq!(of("monthly maximum", "at most: 501 gal", &long).0, Outcome::NotShown);
    assert_eq!(of("monthly maximum", "at most: 5000 gal", &long).0, Outcome::Met);
    // 3,100 gal in all of March: some day had 100 or less.
    let whole = reading("2025-03-01", "M1 out", "1000") + &reading("2025-04-01", "M1 out", "4100");
    assert_eq!(of("monthly minimum", "at least: 101 gal", &whole).0, Outcome::BelowMinimum);
    assert_eq!(of("monthly minimum", "at least: 99 gal", &whole).0, Outcome::NotShown);
}
