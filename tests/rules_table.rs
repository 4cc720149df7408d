//! Every statistic against every outcome it can have: one condition changed alone turns the outcome.

#![cfg(test)]

mod rules_support;

use bywash::balance::Basis;
use bywash::rules::window::statistics;
use bywash::rules::{Drawn, FindingKind, LimitPlan, Outcome};
use chrono::Months;
use rules_support::{Site, d, look, reading, sample};

const YEAR: (&str, &str) = ("2024-11-01", "2025-10-31");

/// Statistics of samples that an upper limit may have, on a year with one sample a month.
const SAMPLED: [&str; 18] = [
    "every reading",
    "instantaneous maximum",
    "daily maximum",
    "daily average",
    "weekly average",
    "weekly maximum",
    "monthly average",
    "monthly maximum",
    "rolling 40 days average",
    "season average",
    "season maximum",
    "permit year average",
    "permit year maximum",
    "12-month rolling average",
    "weekly geometric mean",
    "monthly geometric mean",
    "rolling 40 days geometric mean",
    "percentile",
];
const LEAST: [&str; 3] = ["instantaneous minimum", "daily minimum", "monthly minimum"];
const TOTALS: [&str; 7] = [
    "daily total",
    "weekly total",
    "monthly total",
    "rolling 7 days total",
    "season total",
    "permit year total",
    "12-month rolling total",
];
const APART: [&str; 5] = ["percent removal", "rate", "duration", "time of day", "no discharge"];

#[test]
fn the_table_has_a_row_for_every_statistic() {
    let mut in_table: Vec<&str> = SAMPLED
        .iter()
        .chain(&LEAST)
        .chain(&TOTALS)
        .chain(&APART)
        .map(|words| statistics::named(words).unwrap_or_else(|| panic!("{words}")).0.words)
        .collect();
    let mut all: Vec<&str> = statistics::ALL.iter().map(|statistic| statistic.words).collect();
    in_table.sort_unstable();
    all.sort_unstable();
    assert_eq!(in_table, all);
}

/// What a statistic needs beside: a season of the whole year, and a day from which a window that reaches back is in force.
fn its_own(statistic: &str, more: &str) -> String {
    let season = if statistic.starts_with("season") { "    in season: 1 Nov to 31 Oct\n" } else { "" };
    let reaches_back = statistic.starts_with("rolling") || statistic.starts_with("12-month");
    let in_force = if reaches_back && !more.contains("in force") { "    in force: from 1 Nov 2024\n" } else { "" };
    format!("{season}{in_force}")
}

fn sampled(statistic: &str, bound: &str, more: &str) -> String {
    let own = its_own(statistic, more);
    let allowance = if statistic == "percentile" { "    allowance: {1 to 20: 0}\n" } else { "" };
    format!(
        "  X:\n    at: Outfall 1\n    parameter: TSS\n    statistic: {statistic}\n    {bound}\n    sample: {{how often: once a month}}\n{allowance}{own}{more}"
    )
}

/// One sample on the 10th of each month of the year, `last` in the last month (none: not taken).
fn monthly(value: &str, last: Option<&str>) -> String {
    let first = d("2024-11-10");
    (0..12u32)
        .filter_map(|month| {
            let day = first.checked_add_months(Months::new(month)).unwrap();
            let value = if month == 11 { last? } else { value };
            Some(sample(&day.to_string(), "Outfall 1", "TSS", value, "mg/L"))
        })
        .collect()
}

fn of(limit: &str, records: &str, period: (&str, &str)) -> Outcome {
    Site::new(limit, records, period).limit("X").outcome
}

#[test]
fn an_upper_limit_on_samples_turns_on_value_missing_sample_detection_dry_looks_and_dates() {
    for statistic in SAMPLED {
        let limit = sampled(statistic, "at most: 30 mg/L", "");
        let judged = |records: &str| of(&limit, records, YEAR);
        // A season or a year is one window, and a single value moves its mean: all values are changed together.
        assert_eq!(judged(&monthly("30", Some("30"))), Outcome::Met, "{statistic}: equality meets at most");
        assert_eq!(judged(&monthly("30.1", Some("30.1"))), Outcome::Exceeded, "{statistic}: over");
        assert_eq!(judged(&monthly("30", None)), Outcome::NotShown, "{statistic}: one sample is not on file");
        assert_eq!(judged(&monthly("30.1", None)), Outcome::Exceeded, "{statistic}: over outranks missing");
        let strict = sampled(statistic, "below: 30 mg/L", "");
        if statistic != "percentile" {
            assert_eq!(
                of(&strict, &monthly("30", Some("30")), YEAR),
                Outcome::Exceeded,
                "{statistic}: equality breaks below"
            );
        }
        let in_force = sampled(statistic, "at most: 30 mg/L", "    in force: from 1 Nov 2025\n");
        assert_eq!(
            of(&in_force, &monthly("31", Some("31")), YEAR),
            Outcome::NotInForce,
            "{statistic}: not yet in force"
        );
        let dry: String =
            (0..365).map(|day| look(&(d("2024-11-01") + chrono::Days::new(day)).to_string(), "dry")).collect();
        assert_eq!(judged(&dry), Outcome::NoDischarge, "{statistic}: every day shown dry");
        let one_day_open = dry.replacen(&look("2025-03-14", "dry"), "", 1);
        assert_eq!(judged(&one_day_open), Outcome::NotShown, "{statistic}: one day without a look");
    }
}

#[test]
fn a_result_below_a_detection_limit_over_the_limit_turns_on_what_it_counts_as_only_in_means() {
    for statistic in SAMPLED {
        let (about, _) = statistics::named(statistic).unwrap();
        let of_rule = |counts: &str| {
            let key = if about.is_geometric {
                "below detection in a geometric mean counts as"
            } else {
                "below detection counts as"
            };
            let more = if about.by_day { format!("    {key}: {counts}\n") } else { String::new() };
            of(&sampled(statistic, "at most: 30 mg/L", &more), &monthly("<40", Some("<40")), YEAR)
        };
        if about.substitutes || statistic == "daily average" {
            assert_eq!(of_rule("1"), Outcome::Met, "{statistic}");
            assert_eq!(of_rule("detection limit"), Outcome::Exceeded, "{statistic}");
        } else {
            assert_eq!(of_rule("zero"), Outcome::NotShown, "{statistic}: a single day's value is no average");
        }
        if about.is_geometric {
            assert_eq!(of_rule("zero"), Outcome::NotShown, "{statistic}: a geometric mean can't take zero");
        }
    }
}

#[test]
fn a_lower_limit_is_below_minimum_and_a_range_is_outside() {
    for statistic in LEAST {
        let limit = sampled(statistic, "at least: 5 mg/L", "");
        assert_eq!(of(&limit, &monthly("5", Some("5")), YEAR), Outcome::Met, "{statistic}: equality meets at least");
        assert_eq!(of(&limit, &monthly("5", Some("4.9")), YEAR), Outcome::BelowMinimum, "{statistic}");
        assert_eq!(of(&limit, &monthly("5", None), YEAR), Outcome::NotShown, "{statistic}: missing");
        assert_eq!(
            of(&limit, &monthly("4.9", None), YEAR),
            Outcome::BelowMinimum,
            "{statistic}: below outranks missing"
        );
        let strict = sampled(statistic, "above: 5 mg/L", "");
        assert_eq!(
            of(&strict, &monthly("5", Some("5")), YEAR),
            Outcome::BelowMinimum,
            "{statistic}: equality breaks above"
        );
    }
    for statistic in ["every reading", "daily maximum", "monthly average", "permit year average"] {
        let limit = sampled(statistic, "at least: 5 mg/L\n    at most: 30 mg/L", "");
        assert_eq!(of(&limit, &monthly("10", Some("10")), YEAR), Outcome::Met, "{statistic}");
        assert_eq!(of(&limit, &monthly("31", Some("31")), YEAR), Outcome::OutsideRange, "{statistic}");
        assert_eq!(of(&limit, &monthly("4", Some("4")), YEAR), Outcome::OutsideRange, "{statistic}");
    }
}

/// A meter read every morning of the year: 100 gal each day, `extra` more on one day, not read in the last days.
fn metered(extra: u32, days: u64) -> String {
    let mut value = 1000;
    let mut out = reading("2024-11-01", "M1 out", "1000");
    for day in 0..days {
        value += 100 + if day == 150 { extra } else { 0 };
        out.push_str(&reading(&(d("2024-11-02") + chrono::Days::new(day)).to_string(), "M1 out", &value.to_string()));
    }
    out
}

fn water(statistic: &str, most: u32, more: &str) -> String {
    let own = its_own(statistic, more);
    format!(
        "  X:\n    at: Outfall 1\n    parameter: water\n    statistic: {statistic}\n    at most: {most} gal\n{own}{more}"
    )
}

/// Days of the longest window of a total on that year.
fn most_days(statistic: &str) -> u32 {
    match statistic {
        "daily total" => 1,
        "weekly total" | "rolling 7 days total" => 7,
        "monthly total" => 31,
        _ => 365,
    }
}

#[test]
fn a_limit_on_a_total_turns_on_one_gallon_and_on_one_day_without_a_reading() {
    for statistic in TOTALS {
        let days = most_days(statistic);
        let judged = |most: u32, records: &str| of(&water(statistic, most, ""), records, YEAR);
        let all = metered(0, 365);
        // Weeks that straddle the year's end reach beyond the readings: the last week is not whole.
        let whole = if statistic == "weekly total" { Outcome::NotShown } else { Outcome::Met };
        assert_eq!(judged(days * 100, &all), whole, "{statistic}: equality");
        assert_eq!(judged(days * 100 - 1, &all), Outcome::Exceeded, "{statistic}: one gallon over");
        assert_eq!(judged(days * 100, &metered(0, 362)), Outcome::NotShown, "{statistic}: three days not read");
        assert_eq!(judged(days * 100, &metered(400, 362)), Outcome::Exceeded, "{statistic}: the part alone is over");
        let later = water(statistic, 1, "    in force: from 1 Nov 2025\n");
        assert_eq!(of(&later, &all, YEAR), Outcome::NotInForce, "{statistic}");
    }
}

#[test]
fn a_total_without_a_meter_is_only_predicted() {
    let gal = 0.003_785_411_784;
    for statistic in TOTALS {
        let mut site = Site::new(&water(statistic, 1000, ""), "", YEAR);
        for (spill, within) in [(1000.0, true), (1000.1, false)] {
            site.spills(&[("2025-03-14", spill * gal)], Basis::COMPUTED);
            let judged = |members: &(dyn Fn(&LimitPlan) -> Vec<Drawn> + Sync)| {
                let findings = site.judge_with(members);
                findings.into_iter().find(|finding| finding.kind == FindingKind::Limit).unwrap().outcome
            };
            let ledger = site.ledger.clone().unwrap();
            let same = |plan: &LimitPlan| vec![plan.drawn(&plan.series(&ledger)); 3];
            let expected = if within { Outcome::PredictedWithin } else { Outcome::PredictedOutside };
            assert_eq!(judged(&same), expected, "{statistic} {spill}");
            let mixed = |plan: &LimitPlan| {
                let mut draws = same(plan);
                draws[0].outside = draws[0].outside.map(|outside| !outside);
                draws
            };
            assert_eq!(judged(&mixed), Outcome::Undecided, "{statistic}: one draw of three differs");
        }
    }
}

#[test]
fn removal_turns_on_either_point_and_on_a_missing_one() {
    let limit = "  X:\n    at: Outfall 1\n    between here and: Pond\n    parameter: TSS\n    statistic: percent removal\n    at least: 85 %\n    sample: {how often: once a month}\n";
    let rows = |entering: Option<&str>, leaving: Option<&str>| {
        let mut out = String::new();
        out.extend(entering.map(|value| sample("2025-03-10", "Pond", "TSS", value, "mg/L")));
        out.extend(leaving.map(|value| sample("2025-03-10", "Outfall 1", "TSS", value, "mg/L")));
        out
    };
    let judged = |entering, leaving| of(limit, &rows(entering, leaving), ("2025-03-01", "2025-03-31"));
    assert_eq!(judged(Some("200"), Some("30")), Outcome::Met);
    assert_eq!(judged(Some("200"), Some("30.1")), Outcome::BelowMinimum);
    assert_eq!(judged(Some("199"), Some("30")), Outcome::BelowMinimum);
    assert_eq!(judged(None, Some("30")), Outcome::NotShown);
    assert_eq!(judged(Some("200"), None), Outcome::NotShown);
}

#[test]
fn a_rate_turns_on_its_reading_and_a_mean_over_it_is_enough() {
    let limit = "  X:\n    at: Outfall 1\n    parameter: water\n    statistic: rate\n    at most: 60 gpm\n    sample: {how often: once a month}\n";
    let period = ("2025-03-01", "2025-03-31");
    let read = |value: &str| sample("2025-03-10", "Outfall 1", "flow", value, "gpm");
    assert_eq!(of(limit, &read("60"), period), Outcome::Met);
    assert_eq!(of(limit, &read("60.5"), period), Outcome::Exceeded);
    assert_eq!(of(limit, "", period), Outcome::NotShown);
    // 60 gpm over 24 h are 86,400 gal: one more has some moment over 60.
    let span = |total: u32| {
        reading("2025-03-10", "M1 out", "1000") + &reading("2025-03-11", "M1 out", &(1000 + total).to_string())
    };
    assert_eq!(of(limit, &span(86_401), period), Outcome::Exceeded);
    assert_eq!(of(limit, &span(86_400), period), Outcome::NotShown);
}

#[test]
fn a_duration_turns_on_logged_minutes_and_on_when_a_meter_moved() {
    let minutes = |most: &str, logged: &str| {
        let limit = format!(
            "  X:\n    at: {{wash water of: Sand beds}}\n    statistic: duration\n    at most: {most} min/day\n"
        );
        let rows =
            format!("2025-03-10,Sand beds,washes,,3,,,,,,\n2025-03-10,Sand beds,wash minutes,,{logged},min,,,,,\n");
        of(&limit, &rows, ("2025-03-10", "2025-03-10"))
    };
    assert_eq!(minutes("24", "24"), Outcome::Met);
    assert_eq!(minutes("23", "24"), Outcome::Exceeded);
    let hours = |most: &str, second: &str| {
        let limit = format!("  X:\n    at: Outfall 1\n    statistic: duration\n    at most: {most} h\n");
        let rows = format!(
            "2025-03-10 07:00,M1 out,reading,,1000,gal,,,,,\n2025-03-10 {second},M1 out,reading,,1200,gal,,,,,\n2025-03-11 07:00,M1 out,reading,,1200,gal,,,,,\n"
        );
        of(&limit, &rows, ("2025-03-10", "2025-03-10"))
    };
    assert_eq!(hours("2", "09:00"), Outcome::Met, "it moved within two hours");
    assert_eq!(hours("2", "09:01"), Outcome::NotShown, "it may have run for a minute more");
}

#[test]
fn a_time_of_day_turns_on_where_the_meters_readings_stand() {
    let limit = "  X:\n    at: Outfall 1\n    statistic: time of day\n    only between: 10 pm to 6 am\n";
    let judged = |readings: &[(&str, &str)]| {
        let rows: String =
            readings.iter().map(|(at, value)| format!("{at},M1 out,reading,,{value},gal,,,,,\n")).collect();
        of(limit, &rows, ("2025-03-10", "2025-03-10"))
    };
    let night = [
        ("2025-03-10 07:00", "1000"),
        ("2025-03-10 22:00", "1000"),
        ("2025-03-11 06:00", "1500"),
        ("2025-03-11 07:00", "1500"),
    ];
    assert_eq!(judged(&night), Outcome::Met);
    let by_day = [
        ("2025-03-10 07:00", "1000"),
        ("2025-03-10 22:00", "1001"),
        ("2025-03-11 06:00", "1500"),
        ("2025-03-11 07:00", "1500"),
    ];
    assert_eq!(judged(&by_day), Outcome::Exceeded);
    let over_the_edge = [
        ("2025-03-10 07:00", "1000"),
        ("2025-03-10 21:00", "1000"),
        ("2025-03-11 06:00", "1500"),
        ("2025-03-11 07:00", "1500"),
    ];
    assert_eq!(judged(&over_the_edge), Outcome::NotShown);
}

#[test]
fn no_discharge_turns_on_one_look_one_count_and_one_day() {
    let limit = "  X:\n    at: Outfall 1\n    statistic: no discharge\n    in season: 1 Mar to 5 Mar\n";
    let period = ("2025-03-01", "2025-03-31");
    let looks = |words: [&str; 5]| -> String {
        words
            .iter()
            .enumerate()
            .map(|(at, word)| if word.is_empty() { String::new() } else { look(&format!("2025-03-0{}", at + 1), word) })
            .collect()
    };
    assert_eq!(of(limit, &looks(["dry"; 5]), period), Outcome::NoDischarge);
    assert_eq!(of(limit, &looks(["dry", "dry", "flowing", "dry", "dry"]), period), Outcome::Exceeded);
    assert_eq!(of(limit, &looks(["dry", "dry", "", "dry", "dry"]), period), Outcome::NotShown);
    assert_eq!(
        of(limit, &looks(["dry", "", "flowing", "dry", "dry"]), period),
        Outcome::Exceeded,
        "over outranks missing"
    );
    let outside = looks(["dry"; 5]) + &look("2025-03-06", "flowing");
    assert_eq!(of(limit, &outside, period), Outcome::NoDischarge, "a discharge out of season");
    let since = limit.to_owned() + "    a dry look covers: the days since the last dry look\n";
    assert_eq!(of(&since, &looks(["dry", "dry", "", "dry", "dry"]), period), Outcome::NoDischarge);
    let open = limit.to_owned() + "    a dry look covers: not said\n";
    let finding = Site::new(&open, &looks(["dry", "dry", "", "dry", "dry"]), period).limit("X");
    assert_eq!(finding.outcome, Outcome::NotShown);
    assert_eq!(finding.other_answer, None, "what a dry look covers is that day where the permit does not say");
    let meter = |total: &str| reading("2025-03-01", "M1 out", "1000") + &reading("2025-03-06", "M1 out", total);
    assert_eq!(of(limit, &meter("1000"), period), Outcome::NoDischarge, "a meter that stood still");
    assert_eq!(of(limit, &meter("1001"), period), Outcome::Exceeded, "it moved on one of five days in season");
    let over_edge = reading("2025-03-04", "M1 out", "1000")
        + &reading("2025-03-07", "M1 out", "1001")
        + &looks(["dry", "dry", "dry", "", ""]);
    assert_eq!(of(limit, &over_edge, period), Outcome::NotShown, "it may have moved after the season");
}

#[test]
fn every_statistic_has_a_file_of_its_own() {
    let files = std::fs::read_dir("src/rules/window/statistics").unwrap().count();
    assert_eq!(files, statistics::ALL.len() + 2, "one file each, with `fold.rs` and `mod.rs`");
}
