//! The inspection report of the demonstration, held against the record files it was made from.

#![cfg(test)]
#![cfg(feature = "xlsx")]

use std::collections::BTreeMap;
use std::path::Path;

use assert_cmd::Command;
use calamine::{Data, Reader, Xlsx, open_workbook};

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
    let calendar: Vec<&String> = sheets["Outfall 1"][1..].iter().flat_map(|row| &row[1..]).collect();
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
