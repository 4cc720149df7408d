//! What findings tell of weeks, lines of the rules file, dry looks, typed amounts and ways to count.

#![cfg(test)]

mod rules_support;

use bywash::rules::{self, Finding, FindingKind, Outcome};
use rules_support::{COUNTING, Site, d, look, sample};

const LIMIT: &str = "  TSS:\n    at: Outfall 1\n    parameter: TSS\n    statistic: monthly average\n    at most: 30 mg/L\n    sample: {how often: once a month with a discharge}\n";
const NOTICES: &str = "notices:\n  over a limit: {call within: 24 h of knowing, write within: 5 days of knowing}\n  monthly report due: 28th of the next month\n  checked once a permit year: [M1 out]\n";
const MARCH: (&str, &str) = ("2025-03-01", "2025-03-31");

fn of_kind(site: &Site, kind: FindingKind) -> Vec<Finding> {
    site.judge().into_iter().filter(|finding| finding.kind == kind).collect()
}

/// Where the permit does not say when its week starts, a limit and its duty go by one week. In the 12 weeks from Sunday 29 December
/// to Saturday 22 March the freeboard was never read; weeks from another day would be 13 up to the 28th.
#[test]
fn a_limit_and_its_duty_count_by_one_week_where_the_permit_does_not_say_when_it_starts() {
    let limit = "  Freeboard:\n    at: Pond\n    parameter: freeboard\n    statistic: every reading\n    at least: 2 ft\n    sample: {how often: once a week}\n";
    for last in 22..=28 {
        let last = format!("2025-03-{last}");
        let text = format!("{COUNTING}limits:\n{limit}").replace("week starts: Sunday", "week starts: not said");
        let site = Site::with(&text, "", "date,rain,unit\n", ("2025-01-01", &last));
        let duty = of_kind(&site, FindingKind::Monitoring);
        let duty = duty.iter().find(|finding| finding.outcome == Outcome::Overdue).expect("weeks without a reading");
        assert_eq!(site.limit("Freeboard").how_many, duty.how_many, "{last}");
    }
    // Read on each Saturday, no week from Sunday lacks one; weeks from another day may: that is told, as the worst.
    let rows: String = ["2025-01-04", "2025-01-11", "2025-01-18", "2025-01-25"]
        .iter()
        .map(|day| format!("{day},Pond,freeboard,,3,ft,,,,,\n"))
        .collect();
    let text = format!("{COUNTING}limits:\n{limit}").replace("week starts: Sunday", "week starts: not said");
    let site = Site::with(&text, &rows, "date,rain,unit\n", ("2025-01-01", "2025-01-31"));
    let duty = of_kind(&site, FindingKind::Monitoring);
    let lacks = duty.iter().find(|finding| finding.outcome == Outcome::Overdue).expect("the worst of all weeks");
    assert_eq!(site.limit("Freeboard").how_many, lacks.how_many);
}

/// Every duty, notice, report and check says where it was typed.
#[test]
fn every_duty_and_notice_has_the_line_of_the_rules_file_it_comes_from() {
    let text = format!("{COUNTING}limits:\n{LIMIT}{NOTICES}");
    // Two slips over the limit on average.
    let slips = sample("2025-03-03", "Outfall 1", "TSS", "30", "mg/L")
        + &sample("2025-03-14", "Outfall 1", "TSS", "46", "mg/L");
    let mut site = Site::with(&text, &slips, "date,rain,unit\n", MARCH);
    site.as_of = d("2025-11-25");
    let line_of = |words: &str| text.lines().position(|line| line.contains(words)).unwrap() + 1;
    let found = of_kind(&site, FindingKind::Notice).into_iter().chain(of_kind(&site, FindingKind::Monitoring));
    let found: Vec<(String, usize)> = found
        .map(|finding| {
            let kind = finding.id.split(' ').next().unwrap_or_default().to_owned();
            (kind, finding.place.map_or(0, |place| place.line as usize))
        })
        .collect();
    for (kind, words) in [
        ("notice", "over a limit:"),
        ("report", "monthly report due"),
        ("duty", "sample: {"),
        ("check", "checked once"),
    ] {
        assert!(found.contains(&(kind.to_owned(), line_of(words))), "{kind}: {found:?}");
    }
    assert!(found.iter().all(|(_, line)| *line > 0), "{found:?}");
}

/// Where the permit says what a dry look covers, no more of its words are asked for.
#[test]
fn words_on_what_a_dry_look_covers_are_asked_for_only_where_there_are_none() {
    let limit = "  Dry:\n    at: Outfall 1\n    statistic: no discharge\n";
    let asks = |counting: &str| {
        let text = format!("{counting}limits:\n{limit}");
        let site = Site::with(&text, &look("2025-03-01", "dry"), "date,rain,unit\n", MARCH);
        site.limit("Dry").missing.iter().filter_map(|missing| missing.would_show.clone()).collect::<Vec<_>>().join(" ")
    };
    assert_eq!(asks(COUNTING), "A look on each day, or a meter.");
    let silent = COUNTING.replace("a dry look covers: that day", "a dry look covers: not said");
    assert!(asks(&silent).contains("what a dry look covers"), "{}", asks(&silent));
}

/// An amount that was typed for a day without a reading belongs to the water that it is of, and to no concentration.
#[test]
fn amounts_that_were_typed_are_told_under_water_alone() {
    let limits = "  Flow:\n    at: Outfall 1\n    parameter: water\n    statistic: daily total\n    at most: 9000 gal\n  TSS:\n    at: Outfall 1\n    parameter: TSS\n    statistic: every sample\n    at most: 30 mg/L\n";
    let reading = |day: &str, dial: &str| format!("{day} 07:00,M1 out,reading,,{dial},gal,,,,,\n");
    let rows = reading("2025-03-01", "100")
        + &reading("2025-03-02", "200")
        + "2025-03-03,M1 out,amount,,150,gal,,,,,\n"
        + &sample("2025-03-01", "Outfall 1", "TSS", "12", "mg/L");
    let site = Site::new(limits, &rows, MARCH);
    let tells =
        |name: &str| site.limit(name).sentences.iter().any(|words| words.contains("typed, and not read off it"));
    assert!(tells("Flow"), "{:?}", site.limit("Flow").sentences);
    assert!(!tells("TSS"), "{:?}", site.limit("TSS").sentences);
}

/// What one limit counts otherwise is told with its name, and nothing twice.
#[test]
fn what_a_limit_counts_otherwise_is_told_beside_what_holds_for_all() {
    let other = "  Settleable:\n    at: Outfall 1\n    parameter: settleable solids\n    statistic: monthly average\n    at most: 0.2 mL/L\n    least data: 1 sample\n";
    let third = LIMIT.replace("TSS", "BOD");
    let site = Site::new(&format!("{LIMIT}{third}{other}"), "", MARCH);
    let told = rules::counting_of_all(&site.rules);
    assert!(told.contains(&"least data: not said, 1 result (Settleable)".to_owned()), "{told:?}");
    assert_eq!(told.iter().filter(|words| words.starts_with("least data")).count(), 1, "{told:?}");
}

/// A dial that moved between two readings a day or more apart shows water, and not on which of the days: with days seen
/// flowing there were at least those.
#[test]
fn days_seen_flowing_are_counted_beside_what_a_meter_shows_of_several_days() {
    let limit = "  Dry:\n    at: Outfall 1\n    statistic: no discharge\n";
    let reading = |day: &str, dial: &str| format!("{day} 07:00,M1 out,reading,,{dial},gal,,,,,\n");
    let looks = look("2025-03-20", "flowing") + &look("2025-03-21", "flowing");
    let dials = reading("2025-03-01", "100") + &reading("2025-03-04", "900");
    let figure = |rows: &str| Site::new(limit, rows, MARCH).limit("Dry").figure.map(|figure| figure.text);
    assert_eq!(figure(&looks).as_deref(), Some("2 days"));
    assert_eq!(figure(&(dials + &looks)).as_deref(), Some("at least 2 days in all"));
}
