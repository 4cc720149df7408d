//! Slips of the finger: each token of a site's files misspelt, dropped, doubled or taken for another, and what the
//! program says of it. No outcome may change without a word.
//!
//! A run of the tests takes a few changes of each kind, always the same ones. All of them, some tens of thousands:
//!
//! ```text
//! BYWASH_TYPOS=all cargo test --release --test typos -- --nocapture
//! ```
//!
//! A number in place of `all` takes so many of each kind; `BYWASH_TYPOS_FILE=lab.csv` only files of that name.
//! Every change with what became of it is written to `typos-SITE.txt` in the target folder's `tmp`.

#![cfg(test)]

#[path = "typos/answers.rs"]
mod answers;
#[path = "typos/class.rs"]
mod class;
#[path = "typos/sites.rs"]
mod sites;
#[path = "typos/slips.rs"]
mod slips;
#[path = "typos/table.rs"]
mod table;
#[path = "typos/tokens.rs"]
mod tokens;

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

use class::Class;
use sites::Site;
use slips::{Slip, applied, hash, slips};
use table::{Told, reasons, table};

/// How many changes of a kind, of a sort of token, in a file, a usual run takes.
const A_FEW: usize = 2;

/// The changes of a site: all, or a few of each kind.
fn changes(site: &Site) -> Vec<(String, Slip)> {
    let names = site.names();
    let every = std::env::var("BYWASH_TYPOS").ok();
    let few = match every.as_deref() {
        Some("all") => usize::MAX,
        Some(number) => number.parse().unwrap_or(A_FEW),
        None => A_FEW,
    };
    let mut out = Vec::new();
    let only = std::env::var("BYWASH_TYPOS_FILE").unwrap_or_default();
    for (file, text) in site.changed().filter(|(file, _)| file.ends_with(&only)) {
        let mut by_kind: BTreeMap<_, Vec<Slip>> = BTreeMap::new();
        for slip in slips(text, &tokens::tokens(file, text, &names)) {
            by_kind.entry((slip.sort, slip.kind)).or_default().push(slip);
        }
        for mut of_kind in by_kind.into_values() {
            of_kind.sort_by_key(|slip| hash(&format!("{} {}", slip.was, slip.now.concat())));
            of_kind.truncate(few);
            out.extend(of_kind.into_iter().map(|slip| (file.to_owned(), slip)));
        }
    }
    out
}

/// What becomes of each change.
fn told(site: &Site) -> Vec<Told> {
    let texts: BTreeMap<&str, &str> = site.changed().collect();
    let before = class::came(site.copy().folder()).unwrap_or_else(|errors| {
        panic!("{} as it stands: {}", site.name, errors.join("\n"));
    });
    let changes = changes(site);
    let next = AtomicUsize::new(0);
    let out = Mutex::new(Vec::new());
    let workers = std::thread::available_parallelism().map_or(1, usize::from);
    std::thread::scope(|scope| {
        for _ in 0..workers {
            scope.spawn(|| {
                let copy = site.copy();
                while let Some((file, slip)) = changes.get(next.fetch_add(1, Ordering::Relaxed)) {
                    let text = texts[file.as_str()];
                    copy.put(file, &applied(text, slip));
                    let (class, words) = class::class(&before, copy.folder(), slip);
                    copy.put(file, text);
                    let told = Told { file: file.clone(), slip: slip.clone(), class, words };
                    out.lock().expect("no worker broke").push(told);
                }
            });
        }
    });
    let mut all = out.into_inner().expect("no worker broke");
    all.sort_by_key(Told::line);
    all
}

fn no_outcome_changes_unseen(site: &Site) {
    let all = told(site);
    println!("{}\n{}", site.name, table(&all));
    let lines: Vec<String> = all.iter().map(Told::line).collect();
    let list = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("typos-{}.txt", site.name));
    std::fs::write(list, lines.join("\n")).expect("a list of all changes");
    let reasons = reasons();
    for reason in &reasons {
        let covered = all.iter().filter(|told| told.class == Class::Figure && reason.covers(told));
        match covered.count() {
            0 => {}
            count => println!("{count} figures unseen: {reason}"),
        }
    }
    let unseen: Vec<String> = all
        .iter()
        .filter(|told| match told.class {
            Class::Outcome | Class::Panic => true,
            Class::Figure => !reasons.iter().any(|reason| reason.covers(told)),
            _ => false,
        })
        .map(Told::line)
        .collect();
    assert!(unseen.is_empty(), "{} unseen:\n{}", unseen.len(), unseen.join("\n"));
}

#[test]
fn a_slip_in_the_demonstration_changes_no_outcome_without_a_word() {
    no_outcome_changes_unseen(&sites::demonstration());
}

#[test]
fn a_slip_in_a_nursery_of_every_kind_changes_no_outcome_without_a_word() {
    no_outcome_changes_unseen(&sites::of_the_tests("harrowmead"));
}

#[test]
fn a_slip_in_a_small_nursery_changes_no_outcome_without_a_word() {
    no_outcome_changes_unseen(&sites::of_the_tests("quillmere"));
}
