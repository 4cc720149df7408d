//! Gaps in what is to be sampled, and notices and reports with their clocks.

#![cfg(test)]

mod rules_support;

use bywash::balance::Basis;
use bywash::rules::{Finding, FindingKind, Outcome};
use rules_support::{COUNTING, FACILITY, HEAD, Site, d, look, read_rules, sample};

const LIMIT: &str = "  TSS:\n    at: Outfall 1\n    parameter: TSS\n    statistic: monthly average\n    at most: 30 mg/L\n    sample: {how often: once a month with a discharge}\n";
const NOTICES: &str = "notices:\n  over a limit: {call within: 24 h of knowing, write within: 5 days of knowing}\n  monthly report due: 28th of the next month\n  keep records: 3 years\n";
const MARCH: (&str, &str) = ("2025-03-01", "2025-03-31");

fn site(records: &str, as_of: &str) -> Site {
    let text = format!("{COUNTING}limits:\n{LIMIT}{NOTICES}");
    let mut site = Site::with(&text, records, "date,rain,unit\n", MARCH);
    site.as_of = d(as_of);
    site
}

fn of_kind(site: &Site, kind: FindingKind) -> Vec<Finding> {
    site.judge().into_iter().filter(|finding| finding.kind == kind).collect()
}

fn notice(site: &Site) -> Finding {
    of_kind(site, FindingKind::Notice).into_iter().find(|finding| finding.id.starts_with("notice")).expect("a notice")
}

/// Two slips over the limit on average, both in hand before the month closed.
fn over() -> String {
    let slip = |day: &str, value: &str, received: &str| {
        format!("{day} 09:00,Outfall 1,sample,TSS,{value},mg/L,,slip,{received},,\n")
    };
    slip("2025-03-03", "30", "2025-03-10") + &slip("2025-03-14", "46", "2025-03-24")
}

fn act(day: &str, what: &str, note: &str) -> String {
    format!("{day},Outfall 1,{what},,,,,,,,{note}\n")
}

#[test]
fn the_clock_of_a_monthly_average_starts_when_the_month_is_closed_and_every_slip_is_in_hand() {
    let finding = notice(&site(&over(), "2025-11-25"));
    assert_eq!(finding.outcome, Outcome::Overdue);
    assert_eq!(finding.due, Some(d("2025-04-01")));
    let line = &finding.sentences[0];
    assert!(line.contains("Known on 31 Mar 2025"), "{line}");
    assert!(line.contains("Call due by 1 Apr 2025: not on file."), "{line}");
    assert!(line.contains("Letter due by 5 Apr 2025: not on file."), "{line}");
    let late_slip = over().replace("2025-03-24", "2025-04-10");
    assert_eq!(notice(&site(&late_slip, "2025-11-25")).due, Some(d("2025-04-11")));
}

#[test]
fn a_notice_is_judged_as_of_the_day_given_and_by_what_is_on_file() {
    assert_eq!(notice(&site(&over(), "2025-04-01")).outcome, Outcome::Due);
    assert_eq!(notice(&site(&over(), "2025-04-02")).outcome, Outcome::Overdue);
    let call = over() + &act("2025-04-01", "call", "TSS March");
    assert_eq!(notice(&site(&call, "2025-04-05")).outcome, Outcome::Due, "the letter is still to come");
    assert_eq!(notice(&site(&call, "2025-04-06")).outcome, Outcome::Overdue);
    let both = call + &act("2025-04-04", "letter", "TSS of March 2025");
    let done = notice(&site(&both, "2025-11-25"));
    assert_eq!((done.outcome, done.how_many.as_str()), (Outcome::Done, "2 of 2 on file"));
    let late = over() + &act("2025-04-03", "call", "TSS Mar") + &act("2025-04-09", "letter", "TSS 2025-03");
    let finding = notice(&site(&late, "2025-11-25"));
    assert_eq!(finding.outcome, Outcome::Done);
    assert!(finding.sentences[0].contains("made on 3 Apr 2025, late"), "{:?}", finding.sentences);
    assert!(finding.sentences[0].contains("made on 9 Apr 2025, late"), "{:?}", finding.sentences);
}

/// Known on 31 March; the call is due on 1 April, the letter five days after the call, which was made on 3 April.
#[test]
fn a_letter_s_days_may_run_from_the_call() {
    let of_call = |records: &str, as_of: &str| {
        let text = format!("{COUNTING}limits:\n{LIMIT}{NOTICES}").replace("5 days of knowing", "5 days of the call");
        let mut site = Site::with(&text, records, "date,rain,unit\n", MARCH);
        site.as_of = d(as_of);
        notice(&site)
    };
    let none = of_call(&over(), "2025-11-25");
    assert!(none.sentences[0].contains("Letter due by 6 Apr 2025: not on file."), "{:?}", none.sentences);
    let called = over() + &act("2025-04-03", "call", "TSS March");
    assert!(of_call(&called, "2025-11-25").sentences[0].contains("Letter due by 8 Apr 2025: not on file."));
    assert_eq!(of_call(&called, "2025-04-08").outcome, Outcome::Due);
    let both = called + &act("2025-04-08", "letter", "TSS of March 2025");
    let done = of_call(&both, "2025-11-25");
    assert_eq!(done.outcome, Outcome::Done);
    assert!(done.sentences[0].contains("Letter due by 8 Apr 2025: made on 8 Apr 2025."), "{:?}", done.sentences);
}

#[test]
fn a_limit_that_asks_for_no_call_has_none_overdue_and_a_report_s_sunday_may_move() {
    let text = format!("{COUNTING}limits:\n{LIMIT}{NOTICES}");
    let with = |text: &str, records: &str, as_of: &str| {
        let mut site = Site::with(text, records, "date,rain,unit\n", MARCH);
        site.as_of = d(as_of);
        of_kind(&site, FindingKind::Notice)
    };
    let exempt = text.replace("    sample:", "    call and letter: not asked for\n    sample:");
    assert!(with(&text, &over(), "2025-11-25").iter().any(|finding| finding.id.starts_with("notice")));
    assert!(with(&exempt, &over(), "2025-11-25").iter().all(|finding| !finding.id.starts_with("notice")));
    // 27 April 2025 is a Sunday.
    let sunday = text.replace("28th", "27th");
    let sent = act("2025-04-28", "report sent", "monthly report for March 2025");
    let late = |text: &str| {
        let found = with(text, &sent, "2025-05-02");
        let report = found.into_iter().find(|finding| finding.name == "Monthly report for Mar 2025");
        assert!(report.as_ref().is_none_or(|report| report.is_late), "sent on the 28th, due on the 27th");
        report.map(|finding| finding.sentences)
    };
    assert!(late(&sunday).unwrap()[0].contains("unless the permit moves a day that falls on a Sunday"));
    let stays = sunday.replace("  keep records", "  a report due on a weekend: stays\n  keep records");
    assert!(late(&stays).unwrap()[0].ends_with("sent 28 Apr 2025, late by 1 day."));
    assert_eq!(late(&stays.replace("stays", "is due on Monday")), None);
}

const SHUT: &str = "  Shut:\n    at: Outfall 1\n    statistic: no discharge\n";

fn looked(at: &str) -> String {
    format!("{at},Outfall 1,look,,flowing,,,,,,\n")
}

fn shut(records: &str) -> Finding {
    let text = format!("{COUNTING}limits:\n{SHUT}{NOTICES}");
    let mut site = Site::with(&text, records, "date,rain,unit\n", MARCH);
    site.as_of = d("2025-11-25");
    notice(&site)
}

/// A month's report that says there was no discharge is no letter about one.
#[test]
fn a_report_answers_for_a_letter_only_where_it_names_the_limit() {
    let seen = looked("2025-03-14 09:00");
    let report = |note: &str| shut(&(seen.clone() + &act("2025-03-18", "report sent", note))).sentences[0].clone();
    assert!(report("monthly report for March 2025 (no discharge)").contains("Letter due by 19 Mar 2025: not on file."));
    assert!(report("on Shut of 14 March 2025").contains("Letter due by 19 Mar 2025: made on 18 Mar 2025."));
    let letter = shut(&(seen.clone() + &act("2025-03-18", "letter", "discharge of 14 March")));
    assert!(letter.sentences[0].contains("made on 18 Mar 2025."), "{:?}", letter.sentences);
}

/// Who rings goes by the calendar: at six in the morning the meters' day, from 7 to 7, is still that of the day before.
/// What was written down later was known later.
#[test]
fn a_call_has_the_date_of_the_calendar_and_a_look_that_came_later_was_known_then() {
    let seen = looked("2025-03-14 09:00");
    let call = act("2025-03-15 06:00", "call", "discharge of 14 March");
    let finding = shut(&(seen.clone() + &call));
    assert!(finding.sentences[0].contains("Call due by 15 Mar 2025: made on 15 Mar 2025."), "{:?}", finding.sentences);
    let early = shut(&looked("2025-03-15 06:00"));
    assert!(early.sentences[0].starts_with("Known on 15 Mar 2025."), "{:?}", early.sentences);
    let later = shut("2025-03-14 09:00,Outfall 1,look,,flowing,,,,2025-03-20,,\n");
    assert!(later.sentences[0].starts_with("Known on 20 Mar 2025."), "{:?}", later.sentences);
}

/// A look at 9 am was known at 9: a call within 24 hours is late at ten the next day, where both hours are on file.
#[test]
fn a_call_on_its_last_day_is_judged_by_the_clock_where_both_hours_are_on_file() {
    let said = |seen: &str, call: &str| {
        let rows = looked(seen) + &act(call, "call", "discharge of 14 March");
        let found = shut(&rows);
        assert_eq!(found.is_late, found.sentences[0].contains(", late by "), "{:?}", found.sentences);
        found.sentences[0].clone()
    };
    let late = said("2025-03-14 09:00", "2025-03-15 10:30");
    assert!(late.contains("Call due by 15 Mar 2025, 09:00: made on 15 Mar 2025, 10:30, late by 2 h."), "{late}");
    for (seen, call) in [
        ("2025-03-14 09:00", "2025-03-15 09:00"),
        ("2025-03-14 09:00", "2025-03-15"),
        ("2025-03-14", "2025-03-15 10:30"),
    ] {
        let told = said(seen, call);
        assert!(told.contains("Call due by 15 Mar 2025: made on 15 Mar 2025."), "{told}");
    }
}

/// The day runs from 7 to 7. What is seen at six on 15 March is of 14 March, and a letter about it says the 15th; where the
/// day bears the date of its end, what is seen at three on the 14th is of the 15th, and the letter says the 14th.
#[test]
fn a_letter_may_name_the_date_on_which_it_was_seen() {
    let start = |letter: &str| {
        let rows = looked("2025-03-15 06:00") + &act("2025-03-17", "letter", &format!("discharge of {letter}"));
        shut(&rows).sentences[0].contains("made on 17 Mar 2025.")
    };
    assert!(start("15 March") && start("14 March") && !start("13 March") && !start("16 March"));
    let end = |seen: &str, letter: &str| {
        let folder = tempfile::tempdir().unwrap();
        let write = |name: &str, text: &str| std::fs::write(folder.path().join(name), text).unwrap();
        std::fs::create_dir(folder.path().join("records")).unwrap();
        let day = "day starts: 7 am\na day bears: the date it ends on\n";
        write("facility.yaml", &FACILITY.replace("day starts: 7 am\n", day));
        write("rules.yaml", &format!("{COUNTING}limits:\n{SHUT}{NOTICES}"));
        write("rain.csv", "date,rain,unit\n");
        let act = act("2025-03-17", "letter", &format!("discharge of {letter}"));
        write("records/records.csv", &format!("{HEAD}{}{act}", looked(seen)));
        let mut site = Site::of(folder.path(), MARCH);
        site.as_of = d("2025-11-25");
        notice(&site).sentences[0].contains("made on 17 Mar 2025.")
    };
    assert!(end("2025-03-14 15:00", "14 March") && end("2025-03-14 15:00", "15 March"));
    assert!(!end("2025-03-14 15:00", "13 March") && !end("2025-03-14 06:00", "13 March"));
}

/// A call that names another limit says what it is about, and is not told as one that says nothing; one that says nothing is.
#[test]
fn a_note_that_is_about_another_limit_is_not_called_unclear() {
    let other = "  pH:\n    at: Outfall 1\n    parameter: pH\n    statistic: every reading\n    at least: 6.0\n";
    let text = format!("{COUNTING}limits:\n{LIMIT}{other}{NOTICES}")
        .replace("statistic: monthly average", "statistic: daily maximum");
    let told = |note: &str| {
        let rows = "2025-03-14 09:00,Outfall 1,sample,TSS,71,mg/L,,3478,2025-03-20,,\n".to_owned();
        let mut site = Site::with(&text, &(rows + &act("2025-03-20", "call", note)), "date,rain,unit\n", MARCH);
        site.as_of = d("2025-11-25");
        notice(&site).sentences.join(" ")
    };
    assert!(told("rang as agreed").contains("its note does not say what about"), "{}", told("rang as agreed"));
    let of_another = told("pH of 2 March");
    assert!(!of_another.contains("does not say"), "{of_another}");
    assert!(of_another.contains("Call due by 21 Mar 2025: not on file."), "{of_another}");
}

/// A result that a later slip prints again was known with the first.
#[test]
fn a_result_that_is_repeated_was_known_with_its_first_slip() {
    let text = format!("{COUNTING}limits:\n{LIMIT}{NOTICES}")
        .replace("statistic: monthly average", "statistic: daily maximum");
    let known = |rows: &str| {
        let mut site = Site::with(&text, rows, "date,rain,unit\n", MARCH);
        site.as_of = d("2025-11-25");
        notice(&site).sentences[0].clone()
    };
    let row = |value: &str, slip: &str, received: &str| {
        format!("2025-03-14 09:00,Outfall 1,sample,TSS,{value},mg/L,,{slip},{received},,\n")
    };
    let twice = row("71", "3478", "2025-03-20") + &row("71", "3478R", "2025-03-24");
    assert!(known(&twice).starts_with("Known on 20 Mar 2025."), "{}", known(&twice));
    let other_way = row("71", "3478R", "2025-03-24") + &row("71", "3478", "2025-03-20");
    assert!(known(&other_way).starts_with("Known on 20 Mar 2025."), "{}", known(&other_way));
    let two = row("71", "3478", "2025-03-20") + &row("75", "3479", "2025-03-24").replace("09:00", "10:00");
    assert!(known(&two).starts_with("Known on 24 Mar 2025."), "{}", known(&two));
}

/// The bank top stands 12.5 ft above the floor: a level of 11 ft leaves 1.5 ft.
#[test]
fn a_level_that_leaves_too_little_freeboard_keeps_the_limit_from_being_met() {
    let text = format!(
        "{COUNTING}limits:\n  Freeboard:\n    at: Pond\n    parameter: freeboard\n    statistic: every reading\n    at least: 2 ft\n    sample: {{how often: once a month}}\n"
    );
    let outcome = |rows: &str| {
        let site = Site::with(&text, rows, "date,rain,unit\n", MARCH);
        let found = site.judge().into_iter().find(|finding| finding.name == "Freeboard").unwrap();
        (found.outcome, found.sentences.join(" "))
    };
    let read = "2025-03-10 09:00,Pond,freeboard,,3.1,ft,,,,,\n";
    let level = |ft: &str, day: &str| format!("{day} 09:00,Pond,level,,{ft},ft,,,,,\n");
    assert_eq!(outcome(read).0, Outcome::Met);
    assert_eq!(outcome(&(read.to_owned() + &level("10.4", "2025-03-20"))).0, Outcome::Met);
    let (low, told) = outcome(&(read.to_owned() + &level("11", "2025-03-20")));
    assert!(low == Outcome::NotShown && told.contains("20 Mar 2025 (11 ft)"), "{low:?} {told}");
    assert_eq!(
        outcome(&(read.to_owned() + &level("11", "2025-03-10"))).0,
        Outcome::Met,
        "the freeboard itself was read"
    );
}

/// A meter that stood from 3 to 4 March beside water: what was typed for that day counts, and the limit says so.
#[test]
fn a_limit_says_which_amounts_were_typed_in_place_of_readings() {
    let text = format!(
        "{COUNTING}limits:\n  Flow:\n    at: Outfall 1\n    parameter: water\n    statistic: daily total\n    at most: 5000 gal\n"
    );
    let read = |day: &str, shows: &str| format!("{day} 07:00,M1 out,reading,,{shows},,,,,,\n");
    let rows = read("2025-03-02", "1000")
        + &read("2025-03-03", "1500")
        + &read("2025-03-04", "1500")
        + &read("2025-03-05", "2100")
        + &looked("2025-03-03 12:00")
        + "2025-03-03,M1 out,amount,,410,gal,estimated,letter,,,\n";
    let told = |rows: &str| {
        let site = Site::with(&text, rows, "date,rain,unit\n", MARCH);
        site.judge().into_iter().find(|finding| finding.name == "Flow").unwrap().sentences.join(" ")
    };
    assert!(
        told(&rows).contains("M1 out: 1 amount typed, and not read off it: 410 gal for 3 Mar 2025."),
        "{}",
        told(&rows)
    );
    let read_alone = rows.replace("2025-03-03,M1 out,amount,,410,gal,estimated,letter,,,\n", "");
    assert!(!told(&read_alone).contains("typed"), "{}", told(&read_alone));
}

#[test]
fn no_notice_is_due_where_nothing_was_over() {
    let rows = over().replace(",46,", ",30,");
    let found = of_kind(&site(&rows, "2025-11-25"), FindingKind::Notice);
    assert!(found.iter().all(|finding| !finding.id.starts_with("notice")), "{found:?}");
}

#[test]
fn a_monthly_report_is_overdue_due_or_on_file_by_the_month_its_note_names() {
    let reports = |records: &str, as_of: &str| -> Vec<(String, Outcome)> {
        of_kind(&site(records, as_of), FindingKind::Notice)
            .into_iter()
            .filter(|finding| finding.id.starts_with("report"))
            .map(|finding| (finding.name, finding.outcome))
            .collect()
    };
    let march = "Monthly report for Mar 2025".to_owned();
    assert_eq!(reports("", "2025-04-28")[0], (march.clone(), Outcome::Due), "the 28th itself is in time");
    assert_eq!(reports("", "2025-04-29")[0], (march.clone(), Outcome::Overdue));
    let sent = act("2025-04-26", "report sent", "monthly report for March 2025");
    assert!(reports(&sent, "2025-04-29").contains(&("Monthly reports on file".to_owned(), Outcome::Done)));
    assert!(reports(&sent, "2025-04-29").iter().all(|(name, _)| *name != march));
    let other = act("2025-04-26", "report sent", "monthly report for February 2025");
    assert!(reports(&other, "2025-04-29").contains(&(march.clone(), Outcome::Overdue)));
    let late = act("2025-05-02", "report sent", "monthly report for March 2025");
    assert!(reports(&late, "2025-05-10").contains(&(march, Outcome::Done)));
}

#[test]
fn a_month_with_a_discharge_and_no_sample_is_a_gap_of_its_own() {
    let duty = |records: &str| -> Finding {
        of_kind(&site(records, "2025-04-30"), FindingKind::Monitoring).into_iter().next().expect("the duty")
    };
    assert_eq!(duty(&look("2025-03-05", "flowing")).outcome, Outcome::Overdue);
    // A dry look on one day leaves the others not known; dry on each of them nothing was due.
    assert_eq!(duty(&look("2025-03-05", "dry")).outcome, Outcome::NotShown);
    let dry: String = (d("2025-03-01").iter_days()).take(61).map(|day| look(&day.to_string(), "dry")).collect();
    assert_eq!(duty(&dry).outcome, Outcome::NothingDue);
    let sampled = sample("2025-03-05", "Outfall 1", "TSS", "10", "mg/L");
    assert_eq!(duty(&sampled).how_many, "1 of 1 month");
    let mut computed = site("", "2025-04-30");
    computed.spills(&[("2025-03-09", 5.0)], Basis::COMPUTED);
    let finding = of_kind(&computed, FindingKind::Monitoring).into_iter().next().unwrap();
    // What is computed shows no discharge.
    assert_eq!(finding.outcome, Outcome::NotShown);
    assert!(
        finding.missing[0].sentence.contains("it is not known whether there was a discharge"),
        "{:?}",
        finding.missing
    );
}

#[test]
fn a_weekly_freeboard_that_was_not_read_cannot_be_made_up_and_the_running_week_is_due() {
    let limit = "  Freeboard:\n    at: Pond\n    parameter: freeboard\n    statistic: every reading\n    at least: 2 ft\n    sample: {how often: once a week}\n";
    let rows: String = ["2025-03-02", "2025-03-09", "2025-03-23"]
        .iter()
        .map(|day| format!("{day} 07:00,Pond,freeboard,,2.1,ft,,,,,\n"))
        .collect();
    let text = format!("{COUNTING}limits:\n{limit}");
    let mut site = Site::with(&text, &rows, "date,rain,unit\n", ("2025-03-02", "2025-03-29"));
    let finding = site.limit("Freeboard");
    assert_eq!((finding.outcome, finding.how_many.as_str()), (Outcome::NotShown, "3 of 4 weeks"));
    assert_eq!((finding.figure.unwrap().text.as_str(), finding.margin.as_deref()), ("2.1 ft", Some("0.1 ft inside")));
    assert_eq!(finding.missing[0].sentence, "week of 16 Mar 2025 has no reading on file.");
    assert_eq!(finding.missing[0].would_show.as_deref(), Some(bywash::rules::TOO_LATE));
    site.as_of = d("2025-04-02");
    let due =
        of_kind(&site, FindingKind::Monitoring).into_iter().find(|finding| finding.outcome == Outcome::Due).unwrap();
    assert_eq!(due.due, Some(d("2025-04-05")));
}

/// A dial that is read at the day's turn on a Sunday closes Saturday's day: the week that ends with the Saturday was not read.
#[test]
fn a_dial_was_read_in_the_week_of_the_date_on_its_sheet() {
    let limit = "  Sewer:\n    at: Town sewer\n    parameter: water\n    statistic: daily total\n    at most: 9000 gal\n    \
                 sample: {how often: once a week}\n";
    let rows: String = [("02", 100), ("09", 800), ("15", 1500), ("23", 2400), ("30", 3000)]
        .iter()
        .map(|(day, dial)| format!("2025-03-{day} 07:00,M3 sewer,reading,,{dial},,,,,,\n"))
        .collect();
    let text = format!("{COUNTING}limits:\n{limit}");
    let mut site = Site::with(&text, &rows, "date,rain,unit\n", ("2025-03-02", "2025-03-29"));
    site.as_of = d("2025-04-05");
    let duties = of_kind(&site, FindingKind::Monitoring);
    let weekly = duties.iter().find(|finding| finding.outcome == Outcome::Overdue).expect("a week without a reading");
    assert_eq!(weekly.how_many, "3 of 4 weeks");
    assert_eq!(weekly.missing[0].sentence, "week of 16 Mar 2025 has no reading on file.");
}

#[test]
fn findings_come_worst_first_and_in_the_permits_order_within_one_outcome() {
    let limits = format!(
        "{LIMIT}{}{}",
        LIMIT.replace("TSS:", "A day:").replace("monthly average", "daily maximum").replace("30 mg/L", "60 mg/L"),
        LIMIT.replace("TSS:", "B day:").replace("monthly average", "every reading").replace("30 mg/L", "61 mg/L")
    );
    let site = Site::new(&limits, &over(), MARCH);
    let names: Vec<(String, Outcome)> = site
        .judge()
        .into_iter()
        .filter(|finding| finding.kind == FindingKind::Limit)
        .map(|finding| (finding.name, finding.outcome))
        .collect();
    let expected = [("TSS", Outcome::Exceeded), ("A day", Outcome::Met), ("B day", Outcome::Met)];
    assert_eq!(names, expected.map(|(name, outcome)| (name.to_owned(), outcome)));
}

#[test]
fn an_exceedance_carries_its_line_paper_arithmetic_and_margin() {
    let finding = site(&over(), "2025-04-01").limit("TSS");
    assert_eq!(finding.margin.as_deref(), Some("8 mg/L over"));
    assert_eq!(finding.margin_value, Some(-8.0));
    assert_eq!(finding.windows[0].arithmetic[0], "(30 + 46) ÷ 2 = 38 mg/L");
    assert_eq!(finding.windows[0].label, "Mar 2025");
    let evidence = &finding.evidence[1];
    assert_eq!(evidence.paper.as_deref(), Some("slip"));
    assert_eq!(evidence.place.as_ref().unwrap().to_string(), "records/records.csv:3");
    assert_eq!(finding.how_many, "2 samples");
    assert_eq!(finding.dates, [d("2025-03-01")]);
    let strip = finding.strip.unwrap();
    assert_eq!((strip.limit, strip.worst, strip.is_minimum), (30.0, 38.0, false));
}

#[test]
fn severity_tiers_count_measurements_over_a_multiple_in_the_last_months() {
    let tiers = "notices:\n  severity tiers:\n    chronic: {measurements over: 1 times the limit, share at least: 66 %, in: 6 months}\n    technical: {measurements at or over: 1.4 times the limit, share at least: 33 %, in: 6 months}\n";
    let limit = LIMIT.replace("statistic: monthly average", "statistic: daily maximum");
    let text = format!("{COUNTING}limits:\n{limit}{tiers}");
    let rows: String = [("2025-03-03", "42"), ("2025-03-10", "31"), ("2025-03-17", "30")]
        .iter()
        .map(|(day, value)| sample(day, "Outfall 1", "TSS", value, "mg/L"))
        .collect();
    let finding = Site::with(&text, &rows, "date,rain,unit\n", MARCH).limit("TSS");
    let line = |name: &str| finding.sentences.iter().find(|line| line.starts_with(name)).unwrap().clone();
    // 30 is not over 30; 42 equals 1.4 times 30 and counts for the technical tier.
    assert!(
        line("chronic").contains("2 of 3 measurements") && line("chronic").ends_with("so it applies."),
        "{}",
        line("chronic")
    );
    assert!(
        line("technical").contains("1 of 3 measurements") && line("technical").ends_with("so it applies."),
        "{}",
        line("technical")
    );
}

/// The permit year runs from 1 November: a check in October is of the year before.
#[test]
fn a_meter_is_checked_once_in_each_permit_year_and_a_calibration_of_its_name_answers_it() {
    let checked = |rows: &str, as_of: &str| -> Vec<(String, Outcome)> {
        let text =
            format!("{COUNTING}limits:\n{LIMIT}notices:\n  checked once a permit year: [M1 out, Backflow preventer]\n");
        let mut site = Site::with(&text, rows, "date,rain,unit\n", MARCH);
        site.as_of = d(as_of);
        let all = of_kind(&site, FindingKind::Notice).into_iter().filter(|finding| finding.id.starts_with("check"));
        all.map(|finding| (finding.name, finding.outcome)).collect()
    };
    let rows = "2024-10-30,M1 out,calibration,,,,,,,,early\n2025-05-14,backflow preventer,calibration,,,,,,,,tag on\n";
    let of = |meter: Outcome, preventer: Outcome| {
        let name = |of: &str| format!("Check of {of}, 1 Nov 2024 to 31 Oct 2025");
        let mut both = vec![(name("M1 out"), meter), (name("Backflow preventer"), preventer)];
        both.sort_by_key(|(_, outcome)| *outcome);
        both
    };
    assert_eq!(checked(rows, "2025-04-01"), of(Outcome::Due, Outcome::Due));
    assert_eq!(checked(rows, "2025-11-01"), of(Outcome::Overdue, Outcome::Done));
}

/// After half an inch within a day the outfall is looked at within 24 h: on that day or the next. A day whose rain nobody read
/// is not known, and never a day without.
#[test]
fn an_outfall_is_looked_at_after_rain_and_a_day_without_a_gauge_is_not_known() {
    let text = format!(
        "{COUNTING}limits:\n{LIMIT}notices:\n  looked at after rain: {{Outfall 1: {{rain at least: 0.5 in, within: 24 h}}}}\n"
    );
    let rain = |depths: &[&str]| {
        let rows = depths.iter().enumerate().filter(|(_, depth)| !depth.is_empty());
        // The gauge is read at seven as the day ends that the reading is of.
        let row = |(at, depth): (usize, &&str)| format!("2025-03-{:02} 07:00,{depth},in\n", at + 2);
        format!("date,rain,unit\n{}", rows.map(row).collect::<String>())
    };
    let of = |depths: &[&str], looks: &[&str], as_of: &str| {
        let rows: String = looks.iter().map(|day| look(day, "dry")).collect();
        let last = format!("2025-03-{:02}", depths.len());
        let mut site = Site::with(&text, &rows, &rain(depths), ("2025-03-01", &last));
        site.as_of = d(as_of);
        let found = of_kind(&site, FindingKind::Monitoring);
        found.into_iter().filter(|finding| finding.name.contains("after 0.5 in of rain")).collect::<Vec<_>>()
    };
    let dry = ["0", "0.49", "0"];
    let late = "2025-04-10";
    let one = |all: Vec<Finding>| {
        assert_eq!(all.len(), 1, "{all:#?}");
        (all[0].outcome, all[0].how_many.clone())
    };
    assert_eq!(one(of(&dry, &[], late)), (Outcome::NothingDue, "none due".to_owned()));
    let wet = ["0", "0.5", "0", "0.75", "0"];
    assert_eq!(one(of(&wet, &["2025-03-03", "2025-03-05"], late)), (Outcome::Done, "2 of 2 days".to_owned()));
    // One on the day of the rain alone may have been before it.
    let that_day = of(&wet, &["2025-03-03", "2025-03-04"], late);
    assert_eq!((that_day[0].outcome, that_day[0].how_many.as_str()), (Outcome::NotShown, "1 of 1 day"));
    let words = "4 Mar 2025: 0.5 in of rain or more; the look at Outfall 1 that day may have been before it, and none is on file for \
                 the day after.";
    assert_eq!(that_day[0].missing[0].sentence, words);
    // A look two days after does not answer it.
    let missed = of(&wet, &["2025-03-04", "2025-03-05"], late);
    assert_eq!((missed[0].outcome, missed[0].how_many.as_str()), (Outcome::Overdue, "1 of 2 days"));
    let words = "2 Mar 2025: 0.5 in of rain or more, and no look at Outfall 1 on that day or the day after.";
    assert_eq!(missed[0].missing[0].sentence, words);
    // One reading of 3 and 4 March: it may have been due on either, unless somebody looked; less than that over both is no
    // such day, and days behind the last reading may be.
    assert_eq!(one(of(&["0", "0", "", "0.4", "0"], &[], late)).0, Outcome::NothingDue);
    let unread = of(&["0", "0", "", ""], &[], late);
    assert_eq!(unread[0].outcome, Outcome::NotShown, "{unread:#?}");
    let gap = ["0", "0", "", "0.6", "0"];
    let open = of(&gap, &[], late);
    assert_eq!(open[0].outcome, Outcome::NotShown, "{open:#?}");
    assert!(
        open[0].missing[0].sentence.contains("3-4 Mar 2025: whether 0.5 in fell within a day is not on file"),
        "{open:#?}"
    );
    assert_eq!(one(of(&gap, &["2025-03-04", "2025-03-05"], late)).0, Outcome::Done);
    // The day after has not ended.
    let now = of(&["0", "0.6"], &[], "2025-03-03");
    let told: Vec<_> = now.iter().map(|finding| (finding.outcome, finding.due)).collect();
    assert_eq!(told, [(Outcome::Due, Some(d("2025-03-03"))), (Outcome::NothingDue, None)]);
    let over = of(&["0", "0.6"], &[], "2025-03-04");
    assert_eq!(over[0].outcome, Outcome::Overdue);
}

/// A station that is read at midnight records 0.5 in on 3 March, which the facility's days, from 7 to 7, would split.
#[test]
fn the_day_of_rain_is_that_of_the_gauge() {
    let found = |looks: &[&str]| {
        let folder = tempfile::tempdir().unwrap();
        let write = |name: &str, text: &str| std::fs::write(folder.path().join(name), text).unwrap();
        std::fs::create_dir(folder.path().join("records")).unwrap();
        write(
            "facility.yaml",
            &FACILITY
                .replace("read at: 7 am, belongs to: the day that ended", "read at: midnight, belongs to: that day"),
        );
        let duty = "notices:\n  looked at after rain: {Outfall 1: {rain at least: 0.5 in, within: 24 h}}\n";
        write("rules.yaml", &format!("{COUNTING}limits:\n{LIMIT}{duty}"));
        let days: String =
            (1..=10).map(|day| format!("2025-03-{day:02},{},in\n", if day == 3 { "0.5" } else { "0.3" })).collect();
        write("rain.csv", &format!("date,rain,unit\n{days}"));
        let rows: String = looks.iter().map(|day| looked(day)).collect();
        write("records/records.csv", &format!("{HEAD}{rows}"));
        let mut site = Site::of(folder.path(), ("2025-03-02", "2025-03-08"));
        site.as_of = d("2025-04-10");
        let all = of_kind(&site, FindingKind::Monitoring);
        let finding = all.into_iter().find(|finding| finding.name.contains("after 0.5 in of rain")).unwrap();
        (finding.outcome, finding.dates)
    };
    assert_eq!(found(&[]), (Outcome::Overdue, vec![d("2025-03-03")]));
    // Six in the morning of the 5th is no day after, whatever day the meters count it to.
    assert_eq!(found(&["2025-03-05 06:00"]).0, Outcome::Overdue);
    assert_eq!(found(&["2025-03-04 23:00"]).0, Outcome::Done);
}

#[test]
fn a_look_after_rain_is_read_back_and_refused_where_it_cannot_be_judged() {
    let told = |after: &str| {
        let (rules, told) =
            read_rules(&format!("{COUNTING}limits:\n{LIMIT}notices:\n  looked at after rain: {{{after}}}\n"));
        (rules, told.split_whitespace().collect::<Vec<_>>().join(" "))
    };
    for (after, words) in [
        ("Outfal 1: {rain at least: 0.5 in, within: 24 h}", "there is no discharge point `Outfal 1`"),
        ("Outfall 1: {rain at least: 0.5 in}", "`Outfall 1` has no `within`"),
        ("Outfall 1: {rain at least: 0.5, within: 24 h}", "`0.5` does not fit here"),
        ("Outfall 1: {rain at least: 0.5 in, within: 2 months}", "hours or days are expected"),
    ] {
        let (rules, told) = told(after);
        assert!(rules.is_none() && told.contains(words), "{told}");
    }
    let (rules, _) = told("Outfall 1: {rain at least: 0.5 in, within: 24 h}");
    let lines = bywash::rules::sentences(&rules.unwrap());
    let words = "Outfall 1 is looked at within 24 h of 0.5 in of rain or more within a day of the gauge: a look on the day after";
    assert!(lines.iter().any(|(_, line)| line.contains(words)), "{lines:#?}");
}
