//! Outputs and hostile folders as a user meets them: no input is lost, nothing is passed over, a broken pipe is no crash.

#![cfg(test)]

use std::path::{Path, PathBuf};
use std::process::Stdio;

use assert_cmd::Command;

fn bywash() -> Command {
    Command::cargo_bin("bywash").unwrap()
}

/// A small site of a kind that this test may break.
fn site(dir: &Path) -> PathBuf {
    let site = dir.join("site");
    bywash().arg("new").arg(&site).assert().success();
    site
}

fn err_of(command: &mut Command) -> (i32, String) {
    let out = command.output().unwrap();
    (out.status.code().unwrap(), String::from_utf8(out.stderr).unwrap())
}

#[test]
fn no_output_takes_the_place_of_an_input_or_of_another_output() {
    let dir = tempfile::tempdir().unwrap();
    let site = site(dir.path());
    let before = |name: &str| std::fs::read(site.join(name)).unwrap();
    let kept = ["facility.yaml", "rain.csv", "prices.yaml", "records/lab.csv"].map(|name| (name, before(name)));
    for (command, target, says) in [
        (["report", "-o"], "facility.yaml", "one of the files this is made from"),
        (["report", "--tables"], "records/lab.csv", "one of the files this is made from"),
        (["report", "-o"], "prices.yaml", "is not a PDF"),
        (["ledger", "-o"], "rain.csv", "one of the files this is made from"),
        (["compare", "-o"], "facility.yaml", "one of the files this is made from"),
    ] {
        let mut line = bywash();
        line.current_dir(&site).args([command[0], ".", command[1], target]);
        let (status, err) = err_of(&mut line);
        assert!(status == 1 && err.contains(says) && err.contains(target), "{command:?}: {status} {err}");
    }
    let sheet = ["log-sheet", ".", "--month", "2026-03", "-o", "facility.yaml"];
    let (status, err) = err_of(bywash().current_dir(&site).args(sheet));
    assert!(status == 1 && err.contains("one of the files this is made from"), "{err}");
    let (status, err) = err_of(bywash().current_dir(&site).args(["report", ".", "-o", "a.pdf", "--tables", "./a.pdf"]));
    assert!(status == 1 && err.contains("two outputs"), "{err}");
    for (name, bytes) in kept {
        assert_eq!(before(name), bytes, "{name} is as it was");
    }
    assert!(!site.join("a.pdf").exists());
}

#[test]
#[cfg(unix)]
fn what_is_not_read_of_the_records_folder_is_noted_once_each() {
    let dir = tempfile::tempdir().unwrap();
    let site = site(dir.path());
    let records = site.join("records");
    std::fs::create_dir(records.join("old")).unwrap();
    std::os::unix::fs::symlink("/nowhere/at/all.csv", records.join("lent.csv")).unwrap();
    let _pipe = std::os::unix::net::UnixListener::bind(records.join("pipe.csv")).unwrap();
    for name in ["wash.xls", "pond.ods", "notes.txt", "scan-1.jpg", "scan-2.jpg", "gone.csv.map.yaml"] {
        std::fs::write(records.join(name), "x").unwrap();
    }
    std::fs::write(site.join("lab-2025.csv"), "date,place,what,value\n").unwrap();
    let (status, err) = err_of(bywash().args(["check", "--quiet", "--all"]).arg(&site));
    assert_eq!(status, 0, "{err}");
    for name in ["old", "lent.csv", "pipe.csv", "wash.xls", "pond.ods", "notes.txt", "scan-1.jpg", "gone.csv.map.yaml"]
    {
        assert_eq!(err.matches(&format!("--> records/{name}")).count(), 1, "{name}: {err}");
    }
    assert!(!err.contains("--> records/scan-2.jpg") && err.contains("--> lab-2025.csv"), "{err}");
}

#[test]
fn a_stray_quote_is_an_error_and_never_a_shorter_record() {
    let dir = tempfile::tempdir().unwrap();
    let site = site(dir.path());
    let lab = site.join("records/lab.csv");
    let text = std::fs::read_to_string(&lab).unwrap();
    std::fs::write(&lab, format!("{text}2025-03-02,Outfall 1,sample,pH,\"7.1,,,,,,\n")).unwrap();
    let (status, err) = err_of(bywash().arg("check").arg(&site));
    assert!(status == 1 && err.contains("this quote is not closed on its line"), "{err}");
}

#[test]
fn a_name_that_steers_a_terminal_is_refused_and_letters_outside_the_fonts_are_noted_once() {
    let dir = tempfile::tempdir().unwrap();
    let site = site(dir.path());
    let file = site.join("facility.yaml");
    let text = std::fs::read_to_string(&file).unwrap();
    let named = |name: &str| {
        text.lines().map(|line| if line.starts_with("name:") { name } else { line }).collect::<Vec<_>>().join("\n")
    };
    std::fs::write(&file, named("name: \"Growers \u{202e}drac\"")).unwrap();
    let (status, err) = err_of(bywash().arg("check").arg(&site));
    assert!(status == 1 && err.contains("a sign that can't be seen") && !err.contains('\u{202e}'), "{err}");

    std::fs::write(&file, named("name: Γλάστρες, Теплица, \u{6e29}\u{5ba4}")).unwrap();
    let (status, err) = err_of(bywash().args(["check", "--quiet", "--all"]).arg(&site));
    assert_eq!((status, err.matches("the report's fonts have no").count()), (0, 1), "{err}");
    assert!(err.contains("have no `\u{6e29}\u{5ba4}`"), "{err}");
}

#[test]
fn periods_and_draws_beyond_bounds_are_refused_and_never_cut() {
    let dir = tempfile::tempdir().unwrap();
    let site = site(dir.path());
    let (status, err) = err_of(bywash().args(["ledger", "--period", "1 Jan 1900 to 31 Dec 2050"]).arg(&site));
    assert!(status == 1 && err.contains("more than a hundred years"), "{err}");
    let (status, err) = err_of(bywash().args(["report", "--draws", "100001"]).arg(&site));
    assert!(status == 2 && err.contains("100000"), "{err}");
}

#[test]
fn a_folder_alone_makes_its_report_and_a_month_is_a_period() {
    let dir = tempfile::tempdir().unwrap();
    let site = site(dir.path());
    bywash().arg(&site).assert().success();
    assert!(std::fs::read(site.join("report.pdf")).unwrap().starts_with(b"%PDF-"));
    let days = |period: &str| {
        let out = bywash().args(["report", "--json", "--draws", "2", "--period", period]).arg(&site).output().unwrap();
        let value: serde_json::Value = serde_json::from_slice(&out.stdout).unwrap();
        (value["period"]["from"].clone(), value["period"]["to"].clone())
    };
    for period in ["March 2025", "2025-03", "1 Mar 2025 to 31 Mar 2025"] {
        assert_eq!(days(period), ("2025-03-01".into(), "2025-03-31".into()), "{period}");
    }
    assert_eq!(days("2025"), ("2025-01-01".into(), "2025-12-31".into()));
}

#[test]
#[cfg(target_os = "linux")]
fn a_reader_that_goes_away_or_a_full_disk_is_no_crash() {
    let dir = tempfile::tempdir().unwrap();
    let site = site(dir.path());
    let program = assert_cmd::cargo::cargo_bin("bywash");
    let full = || Stdio::from(std::fs::OpenOptions::new().write(true).open("/dev/full").unwrap());
    for command in ["check", "ledger"] {
        let mut child = std::process::Command::new(&program)
            .arg(command)
            .arg(&site)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        drop(child.stdout.take());
        let out = child.wait_with_output().unwrap();
        assert!(!String::from_utf8_lossy(&out.stderr).contains("panicked"), "{command}");
        let out = std::process::Command::new(&program).arg(command).arg(&site).stdout(full()).output().unwrap();
        let err = String::from_utf8_lossy(&out.stderr);
        assert!(
            out.status.code() == Some(1) && err.contains("standard output could not be written"),
            "{command}: {err}"
        );
        // With nobody to tell, the work is done all the same.
        let out = std::process::Command::new(&program).arg(command).arg(&site).stderr(full()).output().unwrap();
        assert_eq!(out.status.code(), Some(0), "{command}");
    }
    for line in [["schema", "rules"], ["completions", "bash"]] {
        let out = std::process::Command::new(&program).args(line).stdout(full()).output().unwrap();
        let err = String::from_utf8_lossy(&out.stderr);
        assert!(out.status.code() == Some(1) && !err.contains("panicked"), "{line:?}: {err}");
    }
    let (status, err) = err_of(bywash().arg("report").arg(&site).args(["-o", "/dev/full"]));
    assert!(status == 1 && err.contains("/dev/full"), "{err}");
}
