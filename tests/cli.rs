//! The program as a user meets it: exit status, what goes where, and the demonstration end to end.

#![cfg(test)]

mod copied;

use std::path::Path;

use assert_cmd::Command;

fn bywash() -> Command {
    Command::cargo_bin("bywash").unwrap()
}

fn json_of(args: &[&str]) -> serde_json::Value {
    let output = bywash().args(args).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    serde_json::from_slice(&output.stdout).unwrap()
}

#[test]
fn a_wrong_command_line_ends_with_two_and_help_with_nought() {
    bywash().arg("rapport").assert().code(2);
    bywash().args(["report"]).assert().code(2);
    let help = bywash().arg("--help").assert().code(0);
    let text = String::from_utf8_lossy(&help.get_output().stdout).into_owned();
    assert!(text.starts_with("Example:"), "help shows an example first: {text}");
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
}

#[test]
fn a_folder_without_a_facility_ends_with_one_and_says_what_is_missing() {
    let dir = tempfile::tempdir().unwrap();
    let out = bywash().arg("report").arg(dir.path()).assert().code(1);
    let err = String::from_utf8_lossy(&out.get_output().stderr).into_owned();
    assert!(err.contains("facility.yaml"), "{err}");
    assert!(out.get_output().stdout.is_empty());
}

#[test]
fn json_goes_to_stdout_alone_and_holds_what_scripts_rely_on() {
    let value = json_of(&["report", "demo-facility", "--json", "--draws", "4"]);
    for key in ["schema_version", "period", "balance", "places", "findings"] {
        assert!(!value[key].is_null(), "{key} is missing");
    }
    assert!(value["balance"]["closed"].as_bool().unwrap());
    assert!(value["balance"]["largest_residual"].as_f64().unwrap() < 1e-6);
    assert!(value["balance"]["unaccounted"].is_number());
    assert_eq!(value["balance"]["months"].as_array().unwrap().len(), 12);
    let words = [
        "met",
        "exceeded",
        "below minimum",
        "outside range",
        "not shown",
        "no discharge",
        "not in force",
        "predicted within",
        "predicted outside",
        "undecided",
    ];
    for finding in value["findings"].as_array().unwrap() {
        for key in ["id", "kind", "outcome", "n", "dates", "evidence"] {
            assert!(!finding[key].is_null(), "{key} is missing in {finding}");
        }
        if finding["kind"] == "limit" {
            assert!(words.contains(&finding["outcome"].as_str().unwrap()), "{finding}");
        }
    }
}

/// What the story of the demonstration is written to show.
#[test]
fn the_demonstration_shows_each_outcome_its_story_tells() {
    let value = json_of(&["report", "demo-facility", "--json", "--draws", "20"]);
    let outcomes: Vec<(String, String)> = value["findings"]
        .as_array()
        .unwrap()
        .iter()
        .map(|finding| (finding["kind"].as_str().unwrap().to_owned(), finding["outcome"].as_str().unwrap().to_owned()))
        .collect();
    for outcome in ["exceeded", "met", "not shown", "no discharge"] {
        assert!(outcomes.contains(&("limit".to_owned(), outcome.to_owned())), "no limit is {outcome}");
    }
    assert!(outcomes.iter().any(|(kind, outcome)| kind == "limit" && outcome.starts_with("predicted")));
    assert!(outcomes.contains(&("notice".to_owned(), "overdue".to_owned())));
    let repairs = value["repairs"].to_string();
    assert!(repairs.contains("rolled over"), "a meter rolled over: {repairs}");
}

#[test]
fn a_computed_figure_is_never_met() {
    let value = json_of(&["report", "demo-facility", "--json", "--draws", "4"]);
    for finding in value["findings"].as_array().unwrap() {
        let judged = ["met", "exceeded", "below minimum", "outside range"];
        if judged.contains(&finding["outcome"].as_str().unwrap()) && finding["kind"] == "limit" {
            assert_eq!(finding["figure"]["measured"], true, "{finding}");
        }
    }
}

#[test]
fn without_records_nothing_is_met_and_the_report_is_a_working_copy() {
    let dir = tempfile::tempdir().unwrap();
    let site = copied::demo_in(dir.path());
    std::fs::remove_dir_all(site.join("records")).unwrap();
    std::fs::create_dir(site.join("records")).unwrap();
    let value = json_of(&["report", site.to_str().unwrap(), "--json", "--draws", "4"]);
    assert_eq!(value["working_copy"], true);
    for finding in value["findings"].as_array().unwrap() {
        assert_ne!(finding["outcome"], "met", "{finding}");
        assert_ne!(finding["outcome"], "no discharge", "{finding}");
    }
}

#[test]
fn where_nothing_was_read_no_share_is_called_unaccounted_and_rain_without_a_gauge_is_not_known() {
    let dir = tempfile::tempdir().unwrap();
    let site = copied::demo_in(dir.path());
    for entry in std::fs::read_dir(site.join("records")).unwrap() {
        std::fs::remove_file(entry.unwrap().path()).unwrap();
    }
    let rain = site.join("rain.csv");
    let heading: String = std::fs::read_to_string(&rain)
        .unwrap()
        .lines()
        .filter(|line| !line.starts_with(char::is_numeric))
        .map(|line| format!("{line}\n"))
        .collect();
    std::fs::write(&rain, heading).unwrap();
    let pdf = dir.path().join("report.pdf");
    let out = bywash().args(["report", "--json", "--draws", "0"]).arg(&site).output().unwrap();
    let value: serde_json::Value = serde_json::from_slice(&out.stdout).unwrap();
    assert!(value["balance"]["unaccounted"].is_null());
    assert_eq!(value["balance"]["unaccounted_note"], "no readings to compare with");
    assert!(value["balance"]["rain_note"].is_string());
    let out = bywash().args(["report", "--draws", "0"]).arg(&site).arg("-o").arg(&pdf).output().unwrap();
    let told = String::from_utf8_lossy(&out.stderr).into_owned();
    for (line, words) in [("UNACCOUNTED", "NO READINGS TO COMPARE WITH"), ("Rain ", "not known")] {
        assert!(told.lines().any(|has| has.contains(line) && has.contains(words)), "{line}: {told}");
    }
    assert!(!told.contains("0 % of what came in"), "{told}");
}

#[test]
fn what_depends_on_a_value_that_is_not_known_is_no_figure_on_page_one() {
    let dir = tempfile::tempdir().unwrap();
    let site = copied::demo_in(dir.path());
    let path = site.join("facility.yaml");
    let text = std::fs::read_to_string(&path).unwrap();
    let unknown = text.replace("runs off: 50 % to 70 %", "runs off: not known");
    assert_ne!(text, unknown);
    std::fs::write(&path, unknown).unwrap();
    let pdf = dir.path().join("report.pdf");
    let out = bywash().args(["report", "--draws", "0"]).arg(&site).arg("-o").arg(&pdf).output().unwrap();
    let told = String::from_utf8_lossy(&out.stderr).into_owned();
    let has =
        |name: &str, words: &str| told.lines().any(|line| line.trim_start().starts_with(name) && line.contains(words));
    // The yard's runoff spills to the outfall; the well's meter knows nothing of it.
    for (name, words) in [("Outfall 1, ", "not known"), ("Well  ", "3.61"), ("Total", "≥")] {
        assert!(has(name, words), "{name} {words}: {told}");
    }
}

#[test]
fn the_ledger_has_the_columns_scripts_rely_on_and_its_entries_balance() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("ledger.csv");
    bywash().args(["ledger", "demo-facility", "-o"]).arg(&path).assert().code(0);
    let text = std::fs::read_to_string(&path).unwrap();
    let by_its_other_name = bywash().args(["balance", "demo-facility"]).output().unwrap();
    assert!(by_its_other_name.stdout == text.as_bytes(), "`balance` is the same command");
    let head = text.lines().next().unwrap();
    assert!(head.replace(' ', "").starts_with("date,from,to,purpose,water_m3,solids_kg,basis"), "{head}");
    // The rain that a roof caught leaves it the same day: a catchment holds nothing.
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let (mut came, mut left) = (0.0, 0.0);
    for row in reader.records() {
        let row = row.unwrap();
        let water: f64 = row[4].parse().unwrap();
        assert!(water >= 0.0 && water.is_finite());
        if &row[2] == "Greenhouse roofs" {
            came += water;
        }
        if &row[1] == "Greenhouse roofs" {
            left += water;
        }
    }
    assert!(came > 1000.0, "{came}");
    assert!((came - left).abs() < 1e-6 * came, "{came} came, {left} left");
}

#[test]
fn fail_on_ends_with_three_when_a_limit_is_exceeded() {
    bywash().args(["report", "demo-facility", "--json", "--draws", "0", "--fail-on", "exceeded"]).assert().code(3);
}

#[test]
fn a_summary_and_a_check_fit_eighty_columns() {
    let dir = tempfile::tempdir().unwrap();
    let out =
        bywash().args(["report", "demo-facility", "--draws", "0", "-o"]).arg(dir.path().join("r.pdf")).assert().code(0);
    assert!(out.get_output().stdout.is_empty(), "stdout is for data");
    let check = bywash().args(["check", "demo-facility"]).assert().code(0);
    for bytes in [&out.get_output().stderr, &check.get_output().stdout] {
        let text = String::from_utf8_lossy(bytes).into_owned();
        for line in text.lines().filter(|line| !line.contains("report is in")) {
            assert!(line.chars().count() <= 80, "{line}");
        }
    }
}

#[test]
fn explain_follows_a_limit_to_its_papers_and_a_place_to_its_entries() {
    let value = json_of(&["report", "demo-facility", "--json", "--draws", "0"]);
    let over = value["findings"].as_array().unwrap().iter().find(|finding| finding["outcome"] == "exceeded").unwrap();
    let name = over["name"].as_str().unwrap();
    let out = bywash().args(["explain", "demo-facility", name, "--draws", "0"]).assert().code(0);
    let text = String::from_utf8_lossy(&out.get_output().stdout).into_owned();
    assert!(text.contains("records/lab.csv:"), "{text}");
    let out = bywash().args(["explain", "demo-facility", "Settling pond", "--on", "2025-03-14"]).assert().code(0);
    let text = String::from_utf8_lossy(&out.get_output().stdout).into_owned();
    assert!(text.contains("held at the end"), "{text}");
    for (part, says) in [
        ("TSS", "total suspended solids\n"),
        ("M1", "M1 well, from Well"),
        ("geometric monthly", "monthly geometric mean\n"),
        ("settling-ferg", "source: "),
    ] {
        let out = bywash().args(["explain", "demo-facility", part, "--draws", "0"]).assert().code(0);
        let told = String::from_utf8_lossy(&out.get_output().stdout).into_owned();
        assert!(told.contains(says), "{part}: {told}");
    }
    let out = bywash().args(["explain", "demo-facility", "pond", "--draws", "0"]).assert().code(1);
    let told = String::from_utf8_lossy(&out.get_output().stderr).into_owned();
    assert!(
        told.contains("may mean") && told.contains("\n  \"Settling pond\"\n") && told.lines().count() <= 10,
        "{told}"
    );
    let out = bywash().args(["explain", "demo-facility", "Setling pond", "--draws", "0"]).assert().code(1);
    let err = String::from_utf8_lossy(&out.get_output().stderr).into_owned();
    assert!(err.contains("did you mean `Settling pond`?"), "{err}");
}

#[test]
fn check_tells_what_is_wrong_in_prices_proposals_and_duties_with_the_rest() {
    let dir = tempfile::tempdir().unwrap();
    let site = copied::demo_in(dir.path());
    let told = |site: &Path| {
        let out = bywash().args(["check", "--quiet"]).arg(site).output().unwrap();
        (out.status.code(), String::from_utf8_lossy(&out.stderr).into_owned())
    };
    assert_eq!(told(&site), (Some(0), String::new()));
    let add = |file: &str, line: &str| {
        let path = site.join(file);
        let text = std::fs::read_to_string(&path).unwrap();
        std::fs::write(&path, format!("{text}\n{line}\n")).unwrap();
    };
    add("prices.yaml", "prise: 4");
    add("proposals/tuned.yaml", "remoove: [Sand beds]");
    add("basin.yaml", "dutys: 3");
    add("stages.yaml", "stagges: 3");
    let broken = |err: &str| {
        for file in ["prices.yaml", "proposals/tuned.yaml", "basin.yaml", "stages.yaml"] {
            assert!(err.contains(&format!("--> {file}:")), "{file}: {err}");
        }
    };
    let (status, err) = told(&site);
    assert_eq!(status, Some(1));
    broken(&err);
    // A mistake in the facility keeps none of them back.
    add("facility.yaml", "pounds: 3");
    let (status, err) = told(&site);
    assert_eq!(status, Some(1));
    broken(&err);
    assert!(err.contains("--> facility.yaml:"), "{err}");
}

/// The starter's ways to change it and its duties are of the starter's own places.
#[test]
fn a_starter_s_file_that_nobody_touched_is_no_error_on_a_site_with_other_names() {
    let dir = tempfile::tempdir().unwrap();
    let site = dir.path().join("site");
    bywash().args(["new", "--yes"]).arg(&site).assert().success();
    let rename = |file: &str| {
        let text = std::fs::read_to_string(site.join(file)).unwrap();
        std::fs::write(site.join(file), text.replace("Settling pond", "Lower pond")).unwrap();
    };
    let records = ["meters", "washes", "lab", "ponds", "looks", "letters"].map(|name| format!("records/{name}.csv"));
    ["facility.yaml", "rules.yaml", "letterhead.yaml"].into_iter().for_each(rename);
    records.iter().for_each(|file| rename(file));
    let told = || {
        let out = bywash().args(["check", "--quiet"]).arg(&site).output().unwrap();
        (out.status.code(), String::from_utf8_lossy(&out.stderr).into_owned())
    };
    let (status, err) = told();
    assert_eq!(status, Some(0), "{err}");
    assert!(err.contains("--> basin.yaml") && err.contains("it is"), "{err}");
    // One that was touched is the user's, and told.
    let basin = site.join("basin.yaml");
    let text = std::fs::read_to_string(&basin).unwrap();
    std::fs::write(&basin, format!("{text}# mine\n")).unwrap();
    let (status, err) = told();
    assert_eq!(status, Some(1), "{err}");
}
