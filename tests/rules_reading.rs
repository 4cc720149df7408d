//! Reading a rules file: every word of the shape, every problem at once with its line, and each limit read back.

#![cfg(test)]

mod rules_support;

use std::path::Path;

use bywash::facility;
use bywash::files::Sources;
use bywash::rules;
use bywash::told::{Problems, print};
use rules_support::{COUNTING, read_rules};

fn told(limits: &str) -> String {
    let (rules, told) = read_rules(&format!("{COUNTING}limits:\n{limits}"));
    assert!(rules.is_none() == told.contains("error"), "{told}");
    told
}

fn says(limits: &str, words: &[&str]) {
    let told = told(limits);
    let flat = told.split_whitespace().collect::<Vec<_>>().join(" ");
    for word in words {
        assert!(flat.contains(word), "`{word}` is not in:\n{told}");
    }
}

const TSS: &str = "  TSS:\n    at: Outfall 1\n    parameter: TSS\n    statistic: daily maximum\n    at most: 60 mg/L\n";

#[test]
fn the_empty_file_at_the_top_reads_without_a_problem() {
    let text = std::fs::read_to_string("rules/empty-rules.yaml").unwrap();
    let text = text.replace("midnight to midnight", "7 am to 7 am");
    let (rules, told) = read_rules(&text);
    assert!(rules.is_some_and(|rules| rules.limits.is_empty()), "{told}");
    // What the test's own facility lacks (its evaporation) is told of that file, not of this one.
    assert!(!told.contains("error") && !told.contains("rules.yaml"), "{told}");
}

/// The commented limits of the empty file are right as soon as the marks before them are taken away.
#[test]
fn the_examples_in_the_empty_file_read_once_they_are_uncommented() {
    let text = std::fs::read_to_string("rules/empty-rules.yaml").unwrap();
    let mut out = String::new();
    for line in text.lines() {
        if line.starts_with("limits: {}") {
            out += "limits:\n";
            continue;
        }
        let bare = line.strip_prefix("  # ").filter(|rest| {
            let key = rest.trim_start();
            !key.starts_with('#') && !key.starts_with("Take") && (key.contains(": ") || key.ends_with(':'))
        });
        match bare {
            Some(rest) => {
                out += "  ";
                out += rest;
            }
            None => out += line,
        }
        out.push('\n');
    }
    let out = out.replace("midnight to midnight", "7 am to 7 am").replace("Storage pond below", "Pond below");
    let (rules, told) = read_rules(&out);
    let rules = rules.unwrap_or_else(|| panic!("{told}\n{out}"));
    assert_eq!(rules.limits.len(), 3, "{out}");
    assert!(rules.limits[0].sample.is_some() && !rules.limits[0].only_when.is_empty());
    assert!(rules.limits[1].except.is_some());
    assert!(rules.limits[2].monthly_load.is_some());
    assert_eq!(rules.notices.tiers.len(), 1);
}

#[test]
fn the_demonstrations_rules_read_and_each_limit_is_one_sentence() {
    let folder = Path::new("demo-facility");
    let mut sources = Sources::new(folder);
    let mut problems = Problems::new();
    let facility = facility::read(folder, &mut sources, &mut problems).unwrap();
    let (path, place) = facility.rules.clone().unwrap();
    let rules = rules::read(&path, Some(&place), &facility, &mut sources, &problems);
    let rules = rules.unwrap_or_else(|| panic!("{}", print(&problems, &sources, false)));
    let sentences = rules::sentences(&rules);
    assert_eq!(sentences.len(), rules.limits.len() + 3);
    let all: Vec<&str> = sentences.iter().map(|(_, sentence)| sentence.as_str()).collect();
    assert!(
        all[0].starts_with("TSS, highest day: at Outfall 1, the daily maximum of total suspended solids must be at most 60 mg/L. One grab sample is due once a month with a discharge."),
        "{}",
        all[0]
    );
    assert!(all.iter().any(|line| line.contains("every reading of pH must be 6.0 to 9.0")), "{all:#?}");
    assert!(
        all.iter().any(|line| line.contains(
            "except when more than 2.4 in of rain falls in some 24 h and the level was below 8 ft before it"
        )),
        "{all:#?}"
    );
}

#[test]
fn all_problems_are_told_in_one_pass_each_with_its_line() {
    let limits = "  A:\n    at: Outfal 1\n    parameter: TSS\n    statistic: daily maxmum\n    at most: 60\n  B:\n    att: Outfall 1\n    at: Outfall 1\n    parameter: water\n    statistic: daily total\n    at most: 60 mg/L\n";
    says(
        limits,
        &[
            "there is no place `Outfal 1`",
            "did you mean `Outfall 1`?",
            "did you mean `daily maximum`?",
            "`60` has no unit",
            "`att` is not known",
            "`B`: water is a volume, a flow or a depth on an area",
            "rules.yaml:16",
            "rules.yaml:21",
        ],
    );
}

#[test]
fn two_limits_that_claim_the_same_days_with_different_bounds_are_shown_together() {
    let other = TSS.replace("TSS:", "TSS again:").replace("60 mg/L", "50 mg/L");
    says(
        &format!("{TSS}{other}"),
        &["`TSS` (at most 60 mg/L) and `TSS again` (at most 50 mg/L) claim the same thing on the same days"],
    );
    // The same bound, another season, another version or a lower bound is no conflict.
    for change in ["at most: 60 mg/L", "at least: 1 mg/L"] {
        let other = TSS.replace("TSS:", "TSS again:").replace("at most: 60 mg/L", change);
        assert!(!told(&format!("{TSS}{other}")).contains("claim"), "{change}");
    }
    let summer = format!("{}    in season: 1 Jun to 30 Sep\n", TSS);
    let winter = format!("{}    in season: 1 Oct to 31 May\n", TSS.replace("TSS:", "TSS winter:").replace("60", "50"));
    assert!(!told(&format!("{summer}{winter}")).contains("claim"));
    let overlapping = winter.replace("1 Oct", "30 Sep");
    assert!(told(&format!("{summer}{overlapping}")).contains("claim"));
    let interim = format!("{}    in force: until 31 Mar 2025\n", TSS);
    let last = format!("{}    in force: from 1 Apr 2025\n", TSS.replace("TSS:", "TSS final:").replace("60", "50"));
    assert!(!told(&format!("{interim}{last}")).contains("claim"));
    assert!(told(&format!("{interim}{}", last.replace("1 Apr", "31 Mar"))).contains("claim"));
}

/// Seven limits that clash make 21 pairs: one problem names them all.
#[test]
fn limits_that_all_clash_are_one_problem() {
    let limits: String = (1..=7)
        .map(|at| TSS.replace("TSS:", &format!("TSS {at}:")).replace("60 mg/L", &format!("{} mg/L", 60 + at)))
        .collect();
    let flat = |limits: &str| told(limits).split_whitespace().collect::<Vec<_>>().join(" ");
    let told = flat(&limits);
    assert_eq!(told.matches("claim the same thing").count(), 1, "{told}");
    assert!(told.contains("`TSS 1` (at most 61 mg/L), `TSS 2` (at most 62 mg/L)"), "{told}");
    assert!(told.contains("and `TSS 7` (at most 67 mg/L) claim the same thing on the same days"), "{told}");
    // Spring and summer each clash with the year, and not with one another.
    let year = TSS.replace("TSS:", "Year:");
    let part = |name: &str, mg: &str, days: &str| {
        format!("{}    in season: {days}\n", TSS.replace("TSS:", name).replace("60 mg/L", mg))
    };
    let parts = [part("Spring:", "50 mg/L", "1 Mar to 31 May"), part("Summer:", "40 mg/L", "1 Jun to 31 Aug")].concat();
    let told = flat(&format!("{year}{parts}"));
    assert_eq!(told.matches("claim the same thing").count(), 2, "{told}");
}

#[test]
fn a_permits_day_that_is_not_the_facilitys_is_an_error() {
    let text = format!("{}limits:\n{TSS}", COUNTING.replace("7 am to 7 am", "midnight to midnight"));
    let (rules, told) = read_rules(&text);
    assert!(rules.is_none());
    assert!(told.contains("the permit's day starts at 00:00, and the facility's at 07:00"), "{told}");
}

#[test]
fn a_limit_that_cannot_be_judged_says_what_it_lacks() {
    let of = |statistic: &str, rest: &str| format!("  X:\n    at: Outfall 1\n    statistic: {statistic}\n{rest}");
    for (limit, words) in [
        (of("percent removal", "    parameter: TSS\n    at least: 85 %\n"), "percent removal needs the first point"),
        (
            of("percentile", "    parameter: TSS\n    at most: 30 mg/L\n"),
            "a percentile needs the permit's table of allowances",
        ),
        (of("time of day", ""), "no clock hours"),
        (of("rate", "    at most: 60 gal\n"), "a rate is a flow"),
        (of("duration", "    at most: 60 gal\n"), "a duration is a time in a day"),
        (of("daily maximum", "    at most: 60 mg/L\n"), "no parameter"),
        (of("daily maximum", "    parameter: TSS\n"), "`X` has no bound"),
        (of("every reading", "    parameter: freeboard\n    at least: 2 ft\n"), "is no pond or tank"),
        (of("weekly total", "    parameter: water\n    at most: 2 in\n"), "needs the area of Outfall 1"),
        (of("monthly average", "    parameter: pH\n    at most: 9\n"), "pH is not averaged"),
        (
            of("daily maximum", "    parameter: TSS\n    at least: 60 mg/L\n    at most: 30 mg/L\n"),
            "the upper bound is below the lower",
        ),
        (of("no discharge", "    except: {rain over: 2.4 mg/L, in any: 24 h}\n"), "does not fit here"),
        (
            of("daily maximum", "    parameter: TSS\n    at most: 30 mg/L\n    in season: 1 Jun 2025 to 30 Sep 2025\n"),
            "a season is of every year",
        ),
    ] {
        says(&limit, &[words]);
    }
}

#[test]
fn every_switch_of_the_counting_section_can_be_said_otherwise_by_a_limit() {
    use bywash::rules::{
        BetweenLevels, Divisor, DryLook, LeastData, LoadFactor, Number, Several, Substitute, Switch, Weighting,
    };
    let limits = "  Mean:\n    at: Outfall 1\n    parameter: TSS\n    statistic: monthly average\n    at most: 30 mg/L\n    several samples in a day: highest\n    below detection counts as: half\n    average divides by: calendar days\n    weighting: flow-weighted\n    rounding: half even to 2 significant digits\n    least data: 3 samples\n    a dry look covers: the days since the last dry look\n    between detection and quantitation counts as: zero\n    quantitation level: 5 mg/L\n    detection limit: 2 mg/L\n  Load:\n    at: Outfall 1\n    parameter: TSS\n    statistic: monthly total\n    at most: 30 lb\n    load factor: 8.34\n    detection limit: 2 mg/L\n  Coliform:\n    at: Outfall 1\n    parameter: E. coli\n    statistic: monthly geometric mean\n    at most: 126 per 100 mL\n    below detection in a geometric mean counts as: 1\n  Dry:\n    at: Outfall 1\n    statistic: no discharge\n    except: {rain over: 2.4 in, in any: 24 h, and before it: {Pond below: 7 ft}}\n    a level reading holds for: 3 days\n";
    let (rules, told) = read_rules(&format!("{COUNTING}limits:\n{limits}"));
    let rules = rules.unwrap_or_else(|| panic!("{told}"));
    let [mean, load, coliform, dry] = rules.limits.as_slice() else {
        panic!("four limits");
    };
    let counting = mean.counting;
    assert_eq!(counting.several, Switch::Is(Several::Highest));
    assert_eq!(counting.below_detection, Switch::Is(Substitute::Half));
    assert_eq!(counting.divisor, Switch::Is(Divisor::CalendarDays));
    assert_eq!(counting.weighting, Switch::Is(Weighting::FlowWeighted));
    assert_eq!(counting.least_data, Switch::Is(LeastData::Count(3)));
    assert_eq!(counting.dry_look, Switch::Is(DryLook::SinceTheLastDryLook));
    assert_eq!(counting.between_levels, BetweenLevels::Zero);
    assert_eq!(load.counting.load_factor, LoadFactor::Rule834);
    assert_eq!(coliform.counting.below_detection_geometric, Some(Substitute::Number(Number::whole(1))));
    assert_eq!(dry.counting.level_holds_days, 3);
    let level = |level: Option<(Number, _)>| level.map(|(number, _)| number);
    assert_eq!(level(mean.quantitation), Some(Number::whole(5)));
    assert_eq!(level(mean.detection), Some(Number::whole(2)));
    assert_eq!(level(load.detection), Some(Number::whole(2)));
}

/// A key that a statistic does not use is refused with what uses it, and never dropped.
#[test]
fn a_key_that_a_statistic_does_not_use_is_refused() {
    let of = |statistic: &str, more: &str| {
        let parameter = if statistic == "no discharge" {
            ""
        } else if statistic.ends_with("total") {
            "    parameter: water\n    at most: 100 gal\n"
        } else {
            "    parameter: TSS\n    at most: 30 mg/L\n"
        };
        let (rules, told) = read_rules(&format!(
            "{COUNTING}limits:\n  X:\n    at: Outfall 1\n    statistic: {statistic}\n{parameter}    {more}\n"
        ));
        (rules.is_some(), told)
    };
    for (statistic, more) in [
        ("daily maximum", "except: {rain over: 2.4 in, in any: 24 h}"),
        ("daily maximum", "allowance: {1 to 4: 1}"),
        ("daily maximum", "only between: 10 pm to 6 am"),
        ("monthly average", "between here and: Pond"),
        ("daily total", "several samples in a day: highest"),
        ("daily total", "least data: 3 samples"),
        ("daily maximum", "average divides by: days sampled"),
        ("monthly average", "load factor: 8.34"),
        ("no discharge", "at most: 30 gal"),
        ("no discharge", "rounding: not rounded"),
    ] {
        let (read, told) = of(statistic, more);
        let key = more.split(':').next().unwrap();
        assert!(!read, "{statistic}: {more}");
        assert!(told.contains(&format!("`{key}` does nothing")), "{told}");
    }
    for (statistic, more, words) in [
        ("season total", "estimate: accepted", "needs its season"),
        ("season average", "estimate: accepted", "needs its season"),
    ] {
        let (read, told) = of(statistic, more);
        assert!(!read && told.contains(words), "{told}");
    }
    assert!(of("daily total", "only between: 10 pm to 6 am").0);
    assert!(of("season total", "months: Nov to Feb").0);
}

#[test]
fn points_are_places_groups_and_ways() {
    for (at, words) in [
        ("Outfall 1", "Outfall 1"),
        ("[Outfall 1, Town sewer]", "Outfall 1 + Town sewer"),
        ("{wash water of: Sand beds}", "wash water of Sand beds"),
        ("{water into: Pond}", "water into Pond"),
        ("{water out of: Well}", "water out of Well"),
        ("{from: Pond, to: Outfall 1}", "from Pond to Outfall 1"),
    ] {
        let limit =
            format!("  X:\n    at: {at}\n    parameter: water\n    statistic: daily total\n    at most: 60 gal\n");
        let (rules, told) = read_rules(&format!("{COUNTING}limits:\n{limit}"));
        assert_eq!(rules.unwrap_or_else(|| panic!("{told}")).limits[0].at_text, words);
    }
    says(
        "  X:\n    at: {washwater of: Sand beds}\n    parameter: water\n    statistic: daily total\n    at most: 60 gal\n",
        &["did you mean `wash water of`?"],
    );
}

#[test]
fn text_that_is_no_rules_file_is_told_and_never_a_crash() {
    for text in [
        "",
        "limits",
        "- a\n- b\n",
        "{}",
        "limits: {A: {}}",
        "limits:\n  A: [1, 2]\n",
        "a: b: c",
        "notices: 3\nlimits: 4\n",
    ] {
        let (rules, told) = read_rules(text);
        assert!(rules.is_none(), "{text}");
        assert!(told.contains("error"), "{text}: {told}");
    }
}

proptest::proptest! {
    #![proptest_config(proptest::test_runner::Config { cases: 60, ..Default::default() })]
    #[test]
    fn no_value_in_any_key_of_a_limit_makes_it_crash(key in 0usize..22, value in "[ -~]{0,24}") {
        const KEYS: [&str; 22] = [
            "at", "parameter", "statistic", "at most", "at least", "sample", "in season", "months", "days", "in force",
            "only when", "except", "allowance", "only between", "between here and", "quantitation level", "rounding",
            "least data", "weighting", "stage", "estimate", "a level reading holds for",
        ];
        let limit = format!("{TSS}    {}: {value}\n", KEYS[key]);
        let _ = read_rules(&format!("{COUNTING}limits:\n{limit}"));
    }
}
