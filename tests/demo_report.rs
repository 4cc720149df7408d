//! The demonstration's report and page that lie in the repository are those the program makes.

#![cfg(test)]

use assert_cmd::Command;

#[test]
fn the_demonstrations_report_is_not_stale() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("report.pdf");
    Command::cargo_bin("bywash").unwrap().args(["report", "demo-facility", "-o"]).arg(&path).assert().success();
    let (made, kept) = (std::fs::read(&path).unwrap(), std::fs::read("demo-facility/report.pdf").unwrap());
    assert!(
        made == kept,
        "demo-facility/report.pdf is stale: run `cargo run --release -- report demo-facility`, look at it, and commit it \
         with its picture (DEVELOPERS.md says how)"
    );
}

#[test]
fn the_demonstrations_page_is_not_stale() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("page.html");
    Command::cargo_bin("bywash").unwrap().args(["page", "demo-facility", "-o"]).arg(&path).assert().success();
    let (made, kept) = (std::fs::read(&path).unwrap(), std::fs::read("demo-facility/page.html").unwrap());
    assert!(
        made == kept,
        "demo-facility/page.html is stale: run `cargo run --release -- page demo-facility`, look at it, and commit it with its \
         picture (DEVELOPERS.md says how)"
    );
}

#[test]
fn a_second_run_gives_the_same_bytes() {
    let dir = tempfile::tempdir().unwrap();
    let mut made = Vec::new();
    for name in ["a.pdf", "b.pdf"] {
        let path = dir.path().join(name);
        Command::cargo_bin("bywash")
            .unwrap()
            .args(["report", "demo-facility", "--draws", "10", "-o"])
            .arg(&path)
            .assert()
            .success();
        made.push(std::fs::read(&path).unwrap());
    }
    assert!(made[0] == made[1]);
}
