//! Each system call that fails, and a kill at each: whatever was there stays whole, inputs are the same bytes, and a
//! run that ends well gave all it gives. The calls are failed by `strace` (Linux); where it is not installed nothing is
//! tried, and that is said.
//!
//! Every ninth call is tried; `BYWASH_FAULTS=all cargo test --release --test faults` tries each.

#![cfg(test)]

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// Calls that reach files and terminals, and the errors that each is given.
const CALLS: [(&str, &[&str]); 10] = [
    ("openat", &["EACCES", "EMFILE"]),
    ("read", &["EIO"]),
    ("pread64", &["EIO"]),
    ("getdents64", &["EIO"]),
    ("statx", &["EACCES"]),
    ("readlink", &["EIO"]),
    ("write", &["ENOSPC"]),
    ("fsync", &["EIO"]),
    ("rename", &["EACCES"]),
    ("fchmod", &["EPERM"]),
];
/// Commands, and the outputs of each.
const COMMANDS: [(&[&str], &[&str]); 5] = [
    (
        &["sheet", "records/clip.csv", ".", "--time", "7:00", "--column", "Stor ft=place: Storage pond, what: level"],
        &["records/clip.csv.map.yaml"],
    ),
    (&["ledger", ".", "-o", "ledger.csv"], &["ledger.csv"]),
    (&["report", ".", "--draws", "0", "-o", "a.pdf", "--annex", "b.pdf"], &["a.pdf", "b.pdf"]),
    (&["page", ".", "--draws", "0", "-o", "a.html"], &["a.html"]),
    (&["check", "."], &[]),
];

fn bywash() -> PathBuf {
    PathBuf::from(env!("CARGO_BIN_EXE_bywash"))
}

/// Files of a folder and of those in it.
fn files(at: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let mut found = BTreeMap::new();
    for entry in std::fs::read_dir(at).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            found.extend(files(&path));
        } else {
            found.insert(path.clone(), std::fs::read(&path).unwrap());
        }
    }
    found
}

/// Puts a folder back to what it held.
fn put_back(at: &Path, held: &BTreeMap<PathBuf, Vec<u8>>) {
    for path in files(at).into_keys() {
        if !held.contains_key(&path) {
            std::fs::remove_file(path).unwrap();
        }
    }
    for (path, bytes) in held {
        if !std::fs::read(path).is_ok_and(|now| now == *bytes) {
            std::fs::write(path, bytes).unwrap();
        }
    }
}

/// Runs a command with the n-th call of a kind failed or killed; whether there was an n-th.
fn run(site: &Path, words: &[&str], inject: &str) -> (Output, bool) {
    let log = site.with_extension("calls");
    let out = Command::new("strace")
        .current_dir(site)
        .args(["-f", "-qq", "-o"])
        .arg(&log)
        .args(["-e", inject])
        .arg(bywash())
        .args(words)
        .env("RAYON_NUM_THREADS", "1")
        .output()
        .unwrap();
    let calls = std::fs::read_to_string(&log).unwrap_or_default();
    (out, calls.contains("(INJECTED)") || calls.contains("killed by SIGKILL"))
}

/// A small site with a clipboard sheet, rules, outputs of before and lines that were typed since.
fn site(folder: &Path) -> PathBuf {
    let site = folder.join("site");
    let new = Command::new(bywash()).arg("new").arg(&site).output().unwrap();
    assert!(new.status.success());
    std::fs::write(site.join("records/clip.csv"), "Date,Stor ft\n2025-05-01,4.1\n2025-05-02,4.2\n").unwrap();
    for (words, _) in COMMANDS {
        let out = Command::new(bywash()).current_dir(&site).args(words).output().unwrap();
        assert!(out.status.success(), "{words:?}: {}", String::from_utf8_lossy(&out.stderr));
    }
    let file = site.join("facility.yaml");
    let text = std::fs::read_to_string(&file).unwrap();
    let changed = text.replacen("name: ", "name: New ", 1);
    assert_ne!(text, changed);
    std::fs::write(&file, changed).unwrap();
    site
}

#[test]
#[cfg(target_os = "linux")]
fn a_call_that_fails_and_a_kill_lose_nothing_and_never_pass_unseen() {
    if Command::new("strace").arg("-V").output().is_err() {
        eprintln!("note: strace is not here; NO CALL IS FAILED");
        return;
    }
    let every = if std::env::var("BYWASH_FAULTS").is_ok_and(|asked| asked == "all") { 1 } else { 9 };
    let folder = tempfile::tempdir().unwrap();
    let site = site(folder.path());
    let before = files(&site);
    let mut wrong = Vec::new();
    let mut tried = 0;
    for (at, (words, outputs)) in COMMANDS.iter().enumerate() {
        let out = Command::new(bywash()).current_dir(&site).args(*words).output().unwrap();
        assert!(out.status.success());
        let told = (out.stdout, out.stderr);
        let after = files(&site);
        put_back(&site, &before);
        for (call, errors) in CALLS {
            let faults = errors.iter().map(|error| format!("error={error}"));
            for fault in faults.chain(["signal=KILL".to_owned()]) {
                let mut n = 1 + at % every;
                loop {
                    let (out, was) = run(&site, words, &format!("inject={call}:{fault}:when={n}"));
                    if !was {
                        break;
                    }
                    tried += 1;
                    let now = files(&site);
                    let mut say = |what: &str| {
                        let err = String::from_utf8_lossy(&out.stderr);
                        let err: String = err.chars().take(300).collect();
                        let call = last_call(&site);
                        wrong.push(format!("{} {call} {fault} at {n}: {what}\n    {call}\n    {err}", words[0]));
                    };
                    for (path, bytes) in &before {
                        let is_output = outputs.iter().any(|output| site.join(output) == *path);
                        let held = now.get(path);
                        if held != Some(bytes) && !(is_output && held == after.get(path)) {
                            say(&format!("{} is another", path.display()));
                        }
                    }
                    let err = String::from_utf8_lossy(&out.stderr);
                    match out.status.code() {
                        Some(0) => {
                            let whole = outputs
                                .iter()
                                .all(|output| now.get(&site.join(output)) == after.get(&site.join(output)));
                            // What can't be written to a terminal is nobody's loss where nobody reads it.
                            let is_told = call == "write" || (out.stdout == told.0 && out.stderr == told.1);
                            if !whole || !is_told {
                                say("ended well without all that it gives");
                            }
                        }
                        Some(code) => {
                            if code == 101 || err.contains("panicked") {
                                say("panicked");
                            } else if err.trim().is_empty() && call != "write" {
                                say("failed without a word");
                            }
                        }
                        None if fault == "signal=KILL" => {}
                        None => say("ended by a signal"),
                    }
                    put_back(&site, &before);
                    n += every;
                }
            }
        }
        // A run after all of them leaves nothing unfinished behind.
        let out = Command::new(bywash()).current_dir(&site).args(*words).output().unwrap();
        assert!(out.status.success());
        assert_eq!(files(&site), after, "{words:?}");
        put_back(&site, &before);
    }
    eprintln!("{tried} calls failed or killed at");
    assert!(tried > 100, "hardly any call was failed: {tried}");
    assert!(wrong.is_empty(), "{} of {tried}:\n{}", wrong.len(), wrong.join("\n"));
}

/// The call that was failed, as the log has it.
fn last_call(site: &Path) -> String {
    let log = std::fs::read_to_string(site.with_extension("calls")).unwrap_or_default();
    log.lines().find(|line| line.contains("INJECTED")).or(log.lines().last()).unwrap_or("").chars().take(160).collect()
}
