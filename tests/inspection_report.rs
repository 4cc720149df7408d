//! The inspection report of the demonstration, held against the record files it was made from.

#![cfg(test)]
#![cfg(feature = "xlsx")]

mod weir_site;

use std::collections::BTreeMap;
use std::path::Path;

use assert_cmd::Command;
use bywash::page::pdf::read_back;
use calamine::{Data, Reader, Xlsx, open_workbook};
use weir_site::{weir_site, with_limits};

type Rows = Vec<Vec<String>>;

/// The tables of a report, by the names of their sheets, and how many pages it takes.
fn report(site: &str, more: &[&str], dir: &Path) -> (BTreeMap<String, Rows>, usize) {
    let (pdf, tables) = (dir.join("out.pdf"), dir.join("out.xlsx"));
    let args = ["report", site, "--draws", "20", "-o"];
    let mut command = Command::cargo_bin("bywash").expect("the program is built");
    command.args(args).arg(&pdf).arg("--tables").arg(&tables).args(more).assert().success();
    let pages = lopdf::Document::load(&pdf).expect("a sound PDF").get_pages().len();
    let mut book: Xlsx<_> = open_workbook(&tables).expect("a sound workbook");
    let text = |cell: &Data| match cell {
        Data::Float(value) => value.to_string(),
        other => other.to_string(),
    };
    let sheets = book
        .worksheets()
        .into_iter()
        .map(|(name, range)| (name, range.rows().map(|row| row.iter().map(text).collect()).collect()))
        .collect();
    (sheets, pages)
}

/// The words of a report, page after page, with plain spaces.
fn words(site: &str, more: &[&str], dir: &Path) -> Vec<String> {
    let pdf = dir.join("words.pdf");
    let args = ["report", site, "--draws", "20", "-o"];
    Command::cargo_bin("bywash").unwrap().args(args).arg(&pdf).args(more).assert().success();
    words_of(&pdf)
}

/// The words of a PDF that is made already.
fn words_of(pdf: &Path) -> Vec<String> {
    let read = read_back(&std::fs::read(pdf).unwrap()).expect("a PDF");
    let plain = |line: String| line.replace('\u{202f}', "").replace('\u{a0}', " ");
    read.pages.into_iter().map(|lines| plain(lines.join(" "))).collect()
}

/// The rows of a record file as their cells.
fn records(file: &str) -> Vec<csv::StringRecord> {
    let mut reader = csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .from_path(format!("demo-facility/records/{file}"))
        .expect("a record file");
    reader.records().map(|row| row.expect("a whole row")).collect()
}

/// Digits without what groups them.
fn plain(text: &str) -> String {
    text.chars().filter(|c| !matches!(c, '\u{202f}' | '\u{a0}' | ',')).collect()
}

#[test]
fn the_demonstration_takes_sixteen_pages_at_most_and_a_site_without_records_four() {
    let dir = tempfile::tempdir().unwrap();
    assert!(report("demo-facility", &[], dir.path()).1 <= 16);
    assert!(report("demo-facility", &["--paper", "a4", "--units", "metric"], dir.path()).1 <= 16);
    let site = dir.path().join("site");
    Command::cargo_bin("bywash").unwrap().arg("new").arg(&site).assert().success();
    assert_eq!(report(site.to_str().unwrap(), &["--as-of", "2025-11-01"], dir.path()).1, 4);
}

#[test]
fn a_metered_figure_has_the_dials_of_both_ends_as_they_stand_in_the_record() {
    let dir = tempfile::tempdir().unwrap();
    let (sheets, _) = report("demo-facility", &[], dir.path());
    let dials: Vec<i64> = records("meters.csv")
        .iter()
        .filter(|row| &row[1] == "M1 well" && &row[2] == "reading")
        .map(|row| row[4].parse().unwrap())
        .collect();
    let (first, last) = (dials[0], dials[dials.len() - 1]);
    let rows = &sheets["Limits met by the records"];
    let row = rows.iter().find(|row| row[0].starts_with("Well, permit year")).unwrap();
    let words = plain(&row.join(" "));
    for wanted in [first.to_string(), last.to_string(), (last - first).to_string()] {
        assert!(words.contains(&wanted), "{wanted}: {words}");
    }
}

#[test]
fn the_terms_of_a_computed_limit_add_up_to_its_figure() {
    let dir = tempfile::tempdir().unwrap();
    let (sheets, _) = report("demo-facility", &[], dir.path());
    let limits = &sheets["Limits"];
    let flow = limits.iter().find(|row| row[0] == "Outfall flow").unwrap();
    let (_, rows) = sheets.iter().find(|(name, _)| name.starts_with("Outfall 1 on ")).unwrap();
    let figures: Vec<f64> = rows[1..].iter().map(|row| row[1].parse().unwrap()).collect();
    let (total, terms) = figures.split_last().unwrap();
    assert!((terms.iter().sum::<f64>() - total).abs() < 1e-6 * total, "{figures:?}");
    // The limit's own figure has three digits.
    let printed: f64 = plain(flow[2].split(" gal").next().unwrap()).parse().unwrap();
    assert!((printed - total).abs() <= 0.005 * total, "{printed} and {total}");
}

#[test]
fn every_look_of_the_record_is_on_the_calendar_and_flowing_days_are_rows() {
    let dir = tempfile::tempdir().unwrap();
    let (sheets, _) = report("demo-facility", &[], dir.path());
    let looks = records("looks.csv");
    let seen = |state: &str| {
        looks.iter().filter(|row| &row[1] == "Outfall 1" && &row[2] == "look" && &row[4] == state).count()
    };
    let calendar: Vec<&String> = sheets["Outfall 1"][1..].iter().flat_map(|row| &row[1..32]).collect();
    let marked = |words: &str| calendar.iter().filter(|cell| cell.starts_with(words)).count();
    assert_eq!(marked("flowing"), seen("flowing"));
    assert_eq!(marked("dry"), seen("dry"));
    assert_eq!(calendar.iter().filter(|cell| !cell.is_empty()).count(), 365);
    let rows = &sheets["Outfall 1 days seen flowing"];
    assert_eq!(rows.iter().filter(|row| row[1] == "flowing").count(), seen("flowing"));
}

#[test]
fn a_load_that_samples_contradict_is_not_shown_and_an_unread_day_is_no_largest_day() {
    let dir = tempfile::tempdir().unwrap();
    let (sheets, _) = report("demo-facility", &[], dir.path());
    let compared = &sheets["Recorded and computed"];
    let times: f64 = compared
        .iter()
        .find(|row| row[0] == "suspended solids at Outfall 1")
        .and_then(|row| row.last().unwrap().parse().ok())
        .unwrap();
    let left = &sheets["What left the site"];
    let of = |name: &str| left.iter().find(|row| row[0] == name).unwrap().join(" ");
    assert_eq!(of("Outfall 1").contains("not shown"), !(0.5..=2.0).contains(&times));
    // The sewer's meter is not read at weekends.
    assert!(
        of("Town sewer").contains("at least 1 733") || of("Town sewer").contains("at least 1\u{202f}733"),
        "{}",
        of("Town sewer")
    );
}

fn copied(from: &str, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap().map(Result::unwrap).filter(|entry| entry.path().is_file()) {
        std::fs::copy(entry.path(), to.join(entry.file_name())).unwrap();
    }
}

#[test]
fn what_depends_on_a_value_that_is_not_known_is_no_figure_in_any_table() {
    let dir = tempfile::tempdir().unwrap();
    let site = dir.path().join("demo-facility");
    copied("demo-facility", &site);
    copied("demo-facility/records", &site.join("records"));
    copied("rules", &dir.path().join("rules"));
    let path = site.join("facility.yaml");
    let text = std::fs::read_to_string(&path).unwrap();
    std::fs::write(&path, text.replace("runs off: 50 % to 70 %", "runs off: not known")).unwrap();
    let (sheets, _) = report(site.to_str().unwrap(), &[], dir.path());
    // Both ponds take the yard's runoff, and one spills to the outfall.
    let of = |sheet: &str, name: &str| sheets[sheet].iter().find(|row| row[0] == name).unwrap().clone();
    for pond in ["Settling pond", "Storage pond"] {
        assert!(of("Pond levels over the period", pond).contains(&"not shown".to_owned()), "{pond}");
    }
    assert!(of("What left the site", "Outfall 1").contains(&"not shown".to_owned()));
    let ways = &sheets["Ways of the water"];
    let spill = ways.iter().find(|row| row[0] == "Storage pond" && row[1] == "Outfall 1").unwrap();
    assert!(spill.contains(&"?".to_owned()), "{spill:?}");
    // What meters count is known all the same.
    assert!(of("What left the site", "Town sewer").contains(&"metered".to_owned()));
}

/// What seeps from ponds, or evaporates, is never nought because nobody knows it.
#[test]
fn what_ponds_lose_is_not_shown_where_it_is_not_known() {
    let dir = tempfile::tempdir().unwrap();
    let site = dir.path().join("demo-facility");
    copied("demo-facility", &site);
    copied("demo-facility/records", &site.join("records"));
    copied("rules", &dir.path().join("rules"));
    let path = site.join("facility.yaml");
    let text = std::fs::read_to_string(&path).unwrap();
    let lost = |text: &str| -> [Vec<String>; 2] {
        std::fs::write(&path, text).unwrap();
        let (sheets, _) = report(site.to_str().unwrap(), &[], dir.path());
        let rows = &sheets["Water balance by month"];
        let head = rows.iter().find(|row| row[0] == "Month").expect("a heading");
        ["Evaporated", "Seeped"].map(|name| {
            let at = head.iter().position(|cell| cell.starts_with(name)).unwrap();
            rows.iter().filter(|row| row[0] == "Mar 2025" || row[0] == "In all").map(|row| row[at].clone()).collect()
        })
    };
    let unknown = vec!["?".to_owned(); 2];
    let figure = |cells: &[String]| {
        cells.len() == 2 && cells.iter().all(|cell| plain(cell).parse::<f64>().is_ok_and(|m3| m3 > 0.0))
    };
    let [evaporated, seeped] = lost(&text);
    assert!(figure(&evaporated) && figure(&seeped), "{evaporated:?} {seeped:?}");
    let seeps = ["seepage: 0.04 in/day to 0.06 in/day", "seepage: 0.04 in/day to 0.08 in/day"];
    assert!(seeps.iter().all(|of| text.contains(of)));
    let not_known = seeps.iter().fold(text.clone(), |text, of| text.replace(of, "seepage: not known"));
    assert_eq!(lost(&not_known)[1], unknown);
    // The months of it stand on a line and the one after.
    let evaporation = text.lines().position(|line| line.trim_start().starts_with("pond evaporation:")).unwrap();
    let none: Vec<&str> = text
        .lines()
        .enumerate()
        .filter(|(at, _)| !(evaporation..evaporation + 2).contains(at))
        .map(|(_, l)| l)
        .collect();
    let none = none.join("\n");
    assert_eq!(lost(&none)[0], unknown);
    let path = dir.path().join("ledger.csv");
    let mut command = Command::cargo_bin("bywash").unwrap();
    command.arg("ledger").arg(&site).arg("-o").arg(&path).assert().success();
    let mut ledger = csv::Reader::from_path(&path).unwrap();
    let rows: Vec<csv::StringRecord> = ledger.records().map(|row| row.unwrap()).collect();
    let evaporated: Vec<&csv::StringRecord> = rows.iter().filter(|row| &row[3] == "evaporation").collect();
    assert!(!evaporated.is_empty());
    assert!(evaporated.iter().all(|row| row[4].is_empty() && &row[6] == "unknown"), "{evaporated:?}");
}

/// A look is a record, and the ledger a computation: where water was seen to leave on days on which the ledger moves none,
/// no figure of it is printed and no limit on it comes out as within.
#[test]
fn days_seen_flowing_that_the_ledger_does_not_have_leave_no_flow_predicted_within() {
    let outcome = |flowing: &[&str], sampled: &[&str]| {
        let dir = tempfile::tempdir().unwrap();
        let site = dir.path().join("demo-facility");
        copied("demo-facility", &site);
        copied("demo-facility/records", &site.join("records"));
        copied("rules", &dir.path().join("rules"));
        let path = site.join("records/looks.csv");
        let text = std::fs::read_to_string(&path).unwrap();
        let head = text.lines().next().unwrap().to_owned();
        let of = |line: &&str| line.contains(",Outfall 1,");
        let others: Vec<&str> = text.lines().skip(1).filter(|line| !of(line)).collect();
        let looks = flowing.iter().map(|day| format!("{day},Outfall 1,look,,flowing,,,,,,"));
        let rows: Vec<String> =
            std::iter::once(head).chain(others.into_iter().map(str::to_owned)).chain(looks).collect();
        std::fs::write(&path, rows.join("\n") + "\n").unwrap();
        let path = site.join("records/lab.csv");
        let mut lab = std::fs::read_to_string(&path).unwrap();
        for day in sampled {
            lab.push_str(&format!("{day} 10:00,Outfall 1,sample,total suspended solids,12,mg/L,,slip,{day},,grab\n"));
        }
        std::fs::write(&path, lab).unwrap();
        let (sheets, _) = report(site.to_str().unwrap(), &[], dir.path());
        let flow = sheets["Limits"].iter().find(|row| row[0] == "Outfall flow").unwrap().join(" ");
        let left = sheets["What left the site"].iter().find(|row| row[0] == "Outfall 1").unwrap().join(" ");
        (flow, left)
    };
    // On 14 March the pond spilled by the ledger too, as on the days of the six samples on file; in November it stood far
    // below its spill level.
    let november: Vec<String> = (14..=22).map(|day| format!("2024-11-{day}")).collect();
    let november: Vec<&str> = november.iter().map(String::as_str).collect();
    let (flow, left) = outcome(&["2025-03-14", "2025-03-31"], &[]);
    assert!(flow.contains("predicted within") && left.contains("computed"), "{flow}\n{left}");
    for (flowing, sampled) in [(&november[..], &[][..]), (&["2025-03-14"][..], &november[..])] {
        let (flow, left) = outcome(flowing, sampled);
        assert!(flow.contains("not shown") && left.contains("not known"), "{flow}\n{left}");
    }
}

#[test]
fn days_read_off_a_weir_are_metered_and_a_month_whose_days_are_not_listed_keeps_its_total() {
    let dir = tempfile::tempdir().unwrap();
    // Three inches on 31, 19 and 5 days, and nothing over the weir on the others.
    let head =
        |month, day| Some(if month == 1 || month == 2 && day <= 19 || month == 3 && day <= 5 { "3" } else { "0" });
    let site = weir_site(dir.path(), head, &[], "");
    let (sheets, _) = report(&site, &[], dir.path());
    let (_, days) = sheets.iter().find(|(name, _)| name.starts_with("Ditch, day by day")).unwrap();
    let calendar: Vec<&String> = days[1..].iter().flat_map(|row| &row[1..32]).collect();
    let marked = |words: &str| calendar.iter().filter(|cell| cell.starts_with(words)).count();
    assert_eq!((marked("flowing"), marked("dry"), marked("not looked")), (55, 35, 0));
    let rows = &sheets["Ditch days seen flowing"];
    assert_eq!(rows.iter().filter(|row| row[1] == "weir read").count(), 45);
    // 2.5 × 0.25^2.5 = 0.078125 cfs is 6,750 ft3 a day; a cubic foot is 1728/231 gallons.
    let day = 6750.0 * 1728.0 / 231.0;
    // A head bears three figures.
    let about = |text: &str, days: f64| {
        let gallons: f64 = plain(text).parse().unwrap();
        let last = 10_f64.powf((days * day).log10().floor() - 2.0);
        assert!((gallons - days * day).abs() <= 0.5 * last && gallons % last < 1e-6, "{text} {days}");
    };
    for (month, of) in [("Jan 2025", 31.0), ("Feb 2025", 19.0), ("Mar 2025", 5.0)] {
        about(&days.iter().find(|row| row[0] == month).unwrap()[32], of);
    }
    let all = rows.iter().find(|row| row[0] == "In all, 55 days, 45 listed").unwrap_or_else(|| panic!("{rows:?}"));
    about(&all[2], 55.0);
}

#[test]
fn what_left_is_a_least_where_days_are_not_known_in_months_and_in_all() {
    let dir = tempfile::tempdir().unwrap();
    // The weir is read in January alone, and a day of March has no rain on file.
    let head = |month, day| (month == 1).then_some(if day <= 10 { "3" } else { "0" });
    let site = weir_site(dir.path(), head, &["2025-03-04"], "");
    let (sheets, _) = report(&site, &[], dir.path());
    let months = &sheets["Water balance by month"];
    let head = months.iter().find(|row| row[0] == "Month").expect("a heading");
    let at = head.iter().position(|cell| cell.starts_with("Left the site")).unwrap();
    let of = |name: &str| months.iter().find(|row| row[0] == name).unwrap()[at].clone();
    let january: f64 = of("Jan 2025").parse().unwrap();
    // Ten days of 6,750 ft3.
    assert!((january - 67_500.0 * 1728.0 / 231.0 / 1e6).abs() < 0.001, "{january}");
    assert_eq!(of("In all"), format!("≥\u{a0}{january:.3}"));
    let left = sheets["What left the site"].iter().find(|row| row[0] == "Ditch").unwrap();
    assert!(left.iter().any(|cell| plain(cell).starts_with("at least 505000")), "{left:?}");
}

/// The ditch has a meter, and no weir.
fn with_a_dial(site: &str) {
    let path = Path::new(site).join("facility.yaml");
    let text = std::fs::read_to_string(&path).unwrap();
    let meter = "  Ditch meter: {from: Pond, to: Ditch, counts in: gal, digits: 6, read at: 7 am, exchanged: [{on: 2025-02-10, old read: 900, new read: 5}]}";
    let lines: Vec<&str> =
        text.lines().map(|line| if line.starts_with("  Ditch weir:") { meter } else { line }).collect();
    std::fs::write(&path, lines.join("\n") + "\n").unwrap();
}

/// A dial that was exchanged is written out stretch by stretch, so that its year can be added up on paper.
#[test]
fn a_dial_that_was_exchanged_is_written_out_stretch_by_stretch() {
    let dir = tempfile::tempdir().unwrap();
    let rows = "2025-01-01 07:00,Ditch meter,reading,,100,gal,,,,,\n2025-02-05 07:00,Ditch meter,reading,,700,gal,,,,,\n\
                2025-02-10 07:00,Ditch meter,reading,,5,gal,,,,,\n2025-04-01 07:00,Ditch meter,reading,,1005,gal,,,,,\n";
    let site = weir_site(dir.path(), |_, _| None, &[], rows);
    with_a_dial(&site);
    let path = Path::new(&site).join("rules.yaml");
    let rules = std::fs::read_to_string(&path).unwrap();
    std::fs::write(&path, rules.replace("daily total", "permit year total")).unwrap();
    let (sheets, _) = report(&site, &[], dir.path());
    let all = plain(&sheets.values().flatten().flatten().cloned().collect::<Vec<_>>().join(" "));
    // 900 - 100 and 1,005 - 5.
    let wanted = "100to900(gal)800gal;5to1005(gal)1000gal;together1800gal";
    assert!(all.replace(char::is_whitespace, "").contains(wanted), "{all}");
}

const FREEBOARD: &str = "  Freeboard: {words: \"1 foot, read weekly\", at: Pond, parameter: freeboard, statistic: every reading, at least: 1 ft, sample: {how often: once a week}}\n";

/// Three inches over the weir on each day of January: 50,493.5 gal a day, over 40,000.
fn flowing_in_january(month: u32, _: u32) -> Option<&'static str> {
    Some(if month == 1 { "3" } else { "0" })
}

#[test]
fn a_dry_look_stands_beside_what_a_meter_counted_and_days_add_up_within_rounding() {
    let dir = tempfile::tempdir().unwrap();
    let site = weir_site(dir.path(), flowing_in_january, &[], "2025-01-02 15:00,Ditch,look,,dry,,,,,,\n");
    let (sheets, _) = report(&site, &[], dir.path());
    let all = words_of(&dir.path().join("out.pdf")).join(" ");
    let told = "Looked dry, though the meter counted water: 2 Jan 2025 (50500 gal)";
    assert!(all.contains(told), "{all}");
    // 31 days of 50,500 gal as printed are less than the 1,570,000 of them together.
    assert!(all.contains("Days and months add up to the total within rounding."), "{all}");
    let gauge = |row: &&Vec<String>| row[0].to_lowercase().contains("rain");
    assert_eq!(sheets["Record sources"].iter().filter(gauge).count(), 1, "one gauge, one row");
}

#[test]
fn what_asks_for_no_notice_is_named_duties_have_their_line_and_a_chart_both_units_of_a_limit() {
    let dir = tempfile::tempdir().unwrap();
    let site = weir_site(dir.path(), flowing_in_january, &[], "");
    let rules = with_limits(&site, FREEBOARD).replace("60000 gal", "40000 gal");
    std::fs::write(Path::new(&site).join("rules.yaml"), &rules).unwrap();
    let all = words(&site, &["--units", "metric"], dir.path()).join(" ");
    let silent = "No call or letter is asked for, by the rules file, where these are not met: Flow.";
    assert!(all.contains(silent), "{all}");
    // 40,000 gal are 151.4 m3.
    assert!(all.contains("at most 40000 gal (151.4 m³), Flow"), "{all}");
    let line = rules.lines().position(|line| line.contains("Freeboard:")).unwrap() + 1;
    let (sheets, _) = report(&site, &[], dir.path());
    let duties = &sheets["What the permit asks"];
    assert!(duties[1..].iter().all(|row| row[0].ends_with(&format!(" (rules.yaml {line})"))), "{duties:?}");
}

/// Without evaporation the pond's level is not known between readings, nor what it spills on days without a head.
#[test]
fn what_is_not_known_is_called_so_in_looks_ponds_months_and_balance() {
    let dir = tempfile::tempdir().unwrap();
    let rows = "2025-02-03 07:00,Pond,level,,3.5,ft,,,,,\n2025-02-03 07:00,Pond,freeboard,,2.5,ft,,,,,\n\
                2025-02-10 15:00,Ditch,look,,flowing,,,,,,\n";
    let site = weir_site(dir.path(), |month, _| (month == 1).then_some("0"), &[], rows);
    let path = Path::new(&site).join("rain.csv");
    let rain = std::fs::read_to_string(&path).unwrap().replace("2025-01-20,0,in", "2025-01-20,1,in");
    std::fs::write(&path, rain).unwrap();
    let path = Path::new(&site).join("facility.yaml");
    let text = std::fs::read_to_string(&path).unwrap();
    let lines: Vec<&str> = text.lines().filter(|line| !line.contains("pond evaporation")).collect();
    std::fs::write(&path, lines.join("\n") + "\n").unwrap();
    let (sheets, _) = report(&site, &[], dir.path());
    let all = words_of(&dir.path().join("out.pdf")).join(" ");
    for told in [
        "Looked flowing, though what the ledger moves is not known: 10 Feb 2025",
        "bar lacks what is not known of ",
        "What is not shown depends on something that is not known, so these months do not add up as printed",
    ] {
        assert!(all.contains(told), "{told}: {all}");
    }
    assert!(!all.contains("Every entry balances"), "{all}");
    let pond = sheets["Pond levels over the period"][1..].iter().find(|row| row[0] == "Pond").unwrap();
    assert!(pond.contains(&"3.5 read".to_owned()) && pond.contains(&"2.5 read".to_owned()), "{pond:?}");
}

/// A site without records has no sections to turn to; what is computed to be outside is told on page 1 all the same.
#[test]
fn without_records_page_1_tells_what_is_predicted_outside_and_names_no_pages() {
    let dir = tempfile::tempdir().unwrap();
    let site = weir_site(dir.path(), |_, _| None, &[], "");
    std::fs::remove_file(Path::new(&site).join("records/weir.csv")).unwrap();
    let path = Path::new(&site).join("rain.csv");
    let rain = std::fs::read_to_string(&path).unwrap().replace("2025-02-10,0,in", "2025-02-10,8,in");
    std::fs::write(&path, rain).unwrap();
    let pages = words(&site, &[], dir.path());
    assert!(pages[0].contains("Outside by the computation, and no record of it: Flow:"), "{}", pages[0]);
    assert!(!pages[0].contains(" Page "), "{}", pages[0]);
    let with_records = weir_site(&dir.path().join("more"), flowing_in_january, &[], "");
    assert!(words(&with_records, &[], dir.path())[0].contains(" Page "));
}

/// Samples and weigh tickets stand beside the solids that they are of; what a filter was given is what came to be filtered.
#[test]
fn solids_stand_beside_samples_and_tickets_and_a_filter_is_given_what_came_to_it() {
    let dir = tempfile::tempdir().unwrap();
    let (sheets, _) = report("demo-facility", &[], dir.path());
    let all = words_of(&dir.path().join("out.pdf")).join(" ");
    for told in ["Solids to Town sewer: 4 samples have", "Solids to Screenings bin: 7 weigh tickets have"] {
        assert!(all.contains(told), "{told}");
    }
    // What they contradict is an estimate wherever it stands: in brackets, with the reason below.
    assert_eq!(all.matches("A load from it is an estimate, and may be off by as much.").count(), 2);
    let left = &sheets["What left the site"];
    let at = left[0].iter().position(|head| head.starts_with("Solids")).unwrap();
    for point in ["Town sewer", "Screenings bin"] {
        let load = &left.iter().find(|row| row[0] == point).unwrap()[at];
        let load = plain(load).parse::<f64>().unwrap().round();
        assert!(all.contains(&format!("[{load}]")), "{point}: {load}");
    }
    // Page 1 counts the duties with gaps that it does not name.
    let gaps = sheets["What the permit asks"].iter().filter(|row| row[1] == "gaps").count();
    assert!(all.contains(&format!("{gaps} duties with gaps, under “Duties and notices”.")), "{gaps}");
    let path = dir.path().join("ledger.csv");
    Command::cargo_bin("bywash").unwrap().args(["ledger", "demo-facility", "-o"]).arg(&path).assert().success();
    let mut ledger = csv::Reader::from_path(&path).unwrap();
    let head = ledger.headers().unwrap().clone();
    let at =
        |name: &str| head.iter().position(|word| word.starts_with(name)).unwrap_or_else(|| panic!("{name}: {head:?}"));
    let (to, what, water) = (at("to"), at("purpose"), at("water_m3"));
    let rows: Vec<csv::StringRecord> = ledger.records().map(|row| row.unwrap()).collect();
    for row in &sheets["What each filter did"][1..] {
        let Ok(given) = plain(&row[2]).parse::<f64>() else { continue };
        let came = rows.iter().filter(|entry| entry[to] == row[0] && !["wash supply", "spray"].contains(&&entry[what]));
        let m3: f64 =
            came.filter(|entry| &entry[1] != "unaccounted").filter_map(|entry| entry[water].parse::<f64>().ok()).sum();
        let gallons = m3 / 0.003_785_411_784;
        assert!((gallons - given).abs() <= 1e-3 * given, "{}: {given} and {gallons}", row[0]);
    }
}

/// Figures of a text that have a unit and more decimals than it allows: gallons are whole from ten up; else there are two
/// decimals of units and tens, one of hundreds and more, and four of what is below one. What is quoted is left out.
fn too_fine(text: &str) -> Vec<String> {
    let quoted = |(at, part): (usize, &str)| {
        if at == 0 { part.to_owned() } else { part.split_once('”').map_or("", |(_, rest)| rest).to_owned() }
    };
    let text: String = text.split('“').enumerate().map(quoted).collect();
    let words: Vec<&str> =
        text.split_whitespace().map(|word| word.trim_matches(['(', ')', '[', ']', ',', ';', ':'])).collect();
    let decimals = |word: &str| -> Option<(usize, usize)> {
        let (whole, part) = word.trim_start_matches(['≥', '<', '−', '-']).split_once('.')?;
        let digits = |text: &str| !text.is_empty() && text.chars().all(|c| c.is_ascii_digit());
        (digits(whole) && digits(part)).then_some((if whole == "0" { 0 } else { whole.len() }, part.len()))
    };
    let most = |unit: &str, whole: usize| match (unit, whole) {
        ("gal" | "gallons", 2..) => Some(0),
        ("million", _) => Some(3),
        (
            "gal" | "gallons" | "mg/L" | "mg/l" | "mL/L" | "ug/L" | "m³" | "m3" | "ft" | "m" | "in" | "mm" | "lb"
            | "kg",
            whole,
        ) => Some(match whole {
            0 => 4,
            1 | 2 => 2,
            _ => 1,
        }),
        _ => None,
    };
    let fine = words.iter().enumerate().filter_map(|(at, word)| {
        let (whole, part) = decimals(word)?;
        // `6.44 to 19.31 m3` has one unit.
        let unit = if words.get(at + 1) == Some(&"to") { words.get(at + 3)? } else { words.get(at + 1)? };
        most(unit.trim_end_matches('.'), whole).filter(|most| part > *most).map(|_| format!("{word} {unit}"))
    });
    fine.collect()
}

#[test]
fn no_figure_has_more_digits_than_its_unit_allows() {
    let law = |text: &str| too_fine(text).join(", ");
    assert_eq!(law("up to 17.1 gal, 7.003 mg/L, 9163.75 to 73310 gal"), "17.1 gal, 7.003 mg/L, 9163.75 gal");
    assert_eq!(law("“7.003 mg/L” 7.00 mg/L, 0.646 ft, 4360.3 m³, 3.61 million gal, 1.234 times"), "");
    let dir = tempfile::tempdir().unwrap();
    // 600 gal over 35 days.
    let rows = "2025-01-01 07:00,Ditch meter,reading,,100,gal,,,,,\n2025-02-05 07:00,Ditch meter,reading,,700,gal,,,,,\n\
                2025-02-10 07:00,Ditch meter,reading,,5,gal,,,,,\n2025-04-01 07:00,Ditch meter,reading,,1005,gal,,,,,\n";
    let spans = weir_site(dir.path(), |_, _| None, &[], rows);
    with_a_dial(&spans);
    let rules = with_limits(&spans, "").replace("at most: 60000 gal", "at most: 200 gal");
    std::fs::write(Path::new(&spans).join("rules.yaml"), rules).unwrap();
    let all = words(&spans, &[], dir.path()).join(" ");
    assert!(all.contains("17 to 600 gal"), "{all}");
    let weir =
        weir_site(&dir.path().join("weir"), flowing_in_january, &[], "2025-02-03,Pond,freeboard,,7.75,in,,,,,\n");
    with_limits(&weir, FREEBOARD);
    for (site, units) in
        [(spans.as_str(), "us"), (&spans, "metric"), (&weir, "us"), (&weir, "metric"), ("demo-facility", "us")]
    {
        let text = words(site, &["--units", units], dir.path()).join(" ");
        assert_eq!(law(&text), "", "{site} in {units}");
    }
}
