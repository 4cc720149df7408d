//! `verify`: a document is what bywash makes of a site's files, or it says what differs. Whatever is changed, in the
//! document or in the files, is found.

#![cfg(test)]

mod copied;

use std::path::{Path, PathBuf};

use assert_cmd::Command;
use lopdf::content::Content;

fn bywash(args: &[&str], at: &Path) -> std::process::Output {
    Command::cargo_bin("bywash").unwrap().args(args).current_dir(at).output().unwrap()
}

/// The demonstration and its rules in a folder of its own.
fn site() -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    copied::demo_in(folder.path());
    let at = folder.path().to_path_buf();
    (folder, at)
}

fn made(args: &[&str], at: &Path) {
    let output = bywash(args, at);
    assert!(output.status.success(), "{args:?}: {}", String::from_utf8_lossy(&output.stderr));
}

/// The exit status of `verify` and what it says.
fn verified(file: &str, at: &Path) -> (i32, String) {
    let output = bywash(&["verify", file, "demo-facility"], at);
    let said = String::from_utf8(output.stdout).unwrap() + &String::from_utf8_lossy(&output.stderr);
    (output.status.code().unwrap(), said.split_whitespace().collect::<Vec<_>>().join(" "))
}

#[test]
fn every_document_is_what_it_was_made_of_wherever_it_was_asked_for() {
    let (_folder, at) = site();
    made(&["report", "demo-facility", "-o", "a.pdf", "--draws", "5", "--units", "metric", "--paper", "a4"], &at);
    let within = at.join("demo-facility");
    made(&["report", ".", "-o", "../b.pdf", "--period", "2025-03", "--draws", "0"], &within);
    let case =
        ["compare", ".", "-o", "../c.pdf", "--with", "proposals/bags.yaml", "--draws", "0", "--page", "../c.html"];
    made(&case, &within);
    made(&["page", ".", "-o", "../a.html", "--draws", "0"], &within);
    for file in ["a.pdf", "a-annex.pdf", "b.pdf", "c.pdf", "c-annex.pdf", "a.html", "c.html"] {
        let (status, said) = verified(file, &at);
        assert_eq!((status, said.starts_with("Yes")), (0, true), "{file}: {said}");
    }
    let page = std::fs::read_to_string(at.join("a.html")).unwrap();
    std::fs::write(at.join("a.html"), page.replacen("37.5 mg/L", "27.5 mg/L", 1)).unwrap();
    let (status, said) = verified("a.html", &at);
    assert_eq!(status, 3, "{said}");
    assert!(said.contains("no file of the site has changed since") && said.contains("27.5 mg/L"), "{said}");
    for (file, args) in [
        ("findings.json", &["report", "demo-facility", "--json", "--draws", "5"][..]),
        ("ledger.csv", &["ledger", "demo-facility", "--period", "2025-02"]),
    ] {
        let output = bywash(args, &at);
        std::fs::write(at.join(file), &output.stdout).unwrap();
        let (status, said) = verified(file, &at);
        assert_eq!((status, said.starts_with("Yes")), (0, true), "{file}: {said}");
        let text = String::from_utf8(output.stdout).unwrap();
        let digit = text.rfind(|c: char| c.is_ascii_digit()).unwrap();
        let other = if &text[digit..=digit] == "7" { "8" } else { "7" };
        std::fs::write(at.join(file), format!("{}{other}{}", &text[..digit], &text[digit + 1..])).unwrap();
        let (status, said) = verified(file, &at);
        assert_ne!(status, 0, "{file}: {said}");
    }
}

/// Takes the words that a page shows first out of it, as somebody would who paints over a figure.
fn without_words(bytes: &[u8], page: u32) -> Vec<u8> {
    let mut file = lopdf::Document::load_mem(bytes).unwrap();
    let id = *file.get_pages().get(&page).unwrap();
    let mut content = Content::decode(&file.get_page_content(id)).unwrap();
    let shows = |operator: &str| operator == "Tj" || operator == "TJ";
    let at = content.operations.iter().position(|operation| shows(&operation.operator)).unwrap();
    content.operations.remove(at);
    file.change_page_content(id, content.encode().unwrap()).unwrap();
    let mut out = Vec::new();
    file.save_to(&mut out).unwrap();
    out
}

#[test]
fn an_edited_page_a_changed_file_and_any_other_byte_are_found() {
    let (_folder, at) = site();
    made(&["report", "demo-facility", "-o", "r.pdf", "--draws", "0"], &at);
    let bytes = std::fs::read(at.join("r.pdf")).unwrap();

    std::fs::write(at.join("edited.pdf"), without_words(&bytes, 5)).unwrap();
    let (status, said) = verified("edited.pdf", &at);
    assert_eq!(status, 3, "{said}");
    assert!(said.contains("no file of the site has changed since"), "{said}");
    assert!(said.contains("Page 5: it says") && !said.contains("Page 4:") && !said.contains("Page 6:"), "{said}");

    // A byte anywhere: never yes.
    for step in 1..6 {
        let mut other = bytes.clone();
        let place = bytes.len() * step / 6;
        other[place] ^= 0x10;
        std::fs::write(at.join("other.pdf"), &other).unwrap();
        let (status, said) = verified("other.pdf", &at);
        assert_ne!(status, 0, "byte {place}: {said}");
    }
    let mut longer = bytes.clone();
    longer.extend(b"\n");
    std::fs::write(at.join("longer.pdf"), &longer).unwrap();
    assert_eq!(verified("longer.pdf", &at).0, 3);

    let lab = at.join("demo-facility/records/lab.csv");
    let text = std::fs::read_to_string(&lab).unwrap();
    std::fs::write(&lab, text.replacen("46", "47", 1)).unwrap();
    let (status, said) = verified("r.pdf", &at);
    assert_eq!(status, 3, "{said}");
    assert!(said.contains("records/lab.csv has changed since it was made."), "{said}");
}

#[test]
fn what_is_no_document_of_bywash_or_no_site_is_said() {
    let (_folder, at) = site();
    for (file, words) in [
        ("demo-facility/rain.csv", "is no PDF, page, JSON or ledger"),
        ("none.pdf", "there is no file none.pdf"),
        ("demo-facility/facility.yaml", "is no PDF, page, JSON or ledger"),
    ] {
        let (status, said) = verified(file, &at);
        assert_eq!(status, 1, "{said}");
        assert!(said.contains(words), "{said}");
    }
    std::fs::write(at.join("other.json"), "{\"made\": 1}").unwrap();
    assert!(verified("other.json", &at).1.contains("does not say how it was made"));
    // A document that names another command than those that make one is not run.
    // and none is run that would write anything else.
    for asked in [r#""new", "--yes""#, r#""report", "--tables=taken.xlsx""#, r#""report", "-otaken.pdf""#] {
        let forged =
            format!(r#"{{"made": {{"bywash": "0.1.0", "asked": [{asked}], "part": "findings", "files": {{}}}}}}"#);
        std::fs::write(at.join("forged.json"), forged).unwrap();
        let (status, said) = verified("forged.json", &at);
        assert_eq!(status, 1, "{said}");
        assert!(said.contains("makes no such document"), "{said}");
        assert!(!at.join("taken.xlsx").exists() && !at.join("taken.pdf").exists());
    }
}
