//! What is around the program moves no result: language, time zone, clock, threads, environment, folder, the order and
//! the dates of files. Every output is the same to the byte.

#![cfg(test)]

mod copied;

use std::path::{Path, PathBuf};
use std::process::Command;

/// Commands and the files they write; what goes to the terminal is compared as well.
const COMMANDS: [(&[&str], &[&str]); 6] = [
    (&["report", "--draws", "8", "-o", "a.pdf", "--annex", "b.pdf"], &["a.pdf", "b.pdf"]),
    (&["report", "--draws", "8", "-o", "a.pdf", "--json"], &["a.pdf"]),
    (&["page", "--draws", "8", "-o", "a.html"], &["a.html"]),
    (&["ledger", "-o", "e.csv"], &["e.csv"]),
    (&["check"], &[]),
    (&["explain", "Storage pond", "--on", "2025-03-14"], &[]),
];

/// All that the commands give in a site's folder.
fn given(site: &Path, dress: &dyn Fn(&mut Command)) -> Vec<(String, Vec<u8>)> {
    let mut all = Vec::new();
    for (words, files) in COMMANDS {
        let mut command = Command::new(env!("CARGO_BIN_EXE_bywash"));
        command.current_dir(site).arg(words[0]).arg(".").args(&words[1..]);
        dress(&mut command);
        let out = command.output().unwrap();
        let told = String::from_utf8_lossy(&out.stderr).into_owned();
        assert!(out.status.success(), "{words:?}: {told}");
        all.push((format!("{words:?} on stdout"), out.stdout));
        all.push((format!("{words:?} on stderr"), out.stderr));
        for file in files {
            all.push((format!("{file} of {words:?}"), std::fs::read(site.join(file)).unwrap()));
            std::fs::remove_file(site.join(file)).unwrap();
        }
    }
    all
}

fn is_same(what: &str, plain: &[(String, Vec<u8>)], other: &[(String, Vec<u8>)]) {
    for ((name, one), (_, two)) in plain.iter().zip(other) {
        assert!(one == two, "{name} is another with {what}");
    }
}

/// The library that gives a program another clock, where it is installed.
fn other_clock() -> Option<PathBuf> {
    let libraries =
        ["/usr/lib/x86_64-linux-gnu/faketime/libfaketime.so.1", "/usr/lib/aarch64-linux-gnu/faketime/libfaketime.so.1"];
    libraries.iter().map(PathBuf::from).find(|library| library.exists())
}

#[test]
fn what_is_around_the_program_moves_no_byte() {
    let folder = tempfile::tempdir().unwrap();
    let site = copied::demo_in(folder.path());
    let plain = given(&site, &|_| ());
    let same = |what: &str, dress: &dyn Fn(&mut Command)| is_same(what, &plain, &given(&site, dress));

    same("no environment at all", &|command| {
        command.env_clear();
    });
    same("another language", &|command| {
        command.env("LC_ALL", "tr_TR.UTF-8").env("LANG", "de_DE.UTF-8").env("LANGUAGE", "ar");
    });
    for zone in ["Pacific/Kiritimati", "America/Adak", "not a zone"] {
        same(zone, &|command| {
            command.env("TZ", zone);
        });
    }
    for threads in ["1", "7"] {
        same("other threads", &|command| {
            command.env("RAYON_NUM_THREADS", threads);
        });
    }
    same("names of other programs' settings", &|command| {
        for name in [
            "HOME",
            "TMPDIR",
            "COLUMNS",
            "TERM",
            "NO_COLOR",
            "CLICOLOR_FORCE",
            "SOURCE_DATE_EPOCH",
            "EDITOR",
            "RUST_LOG",
            "BYWASH",
            "BYWASH_DRAWS",
        ] {
            command.env(name, "7");
        }
    });
    match other_clock() {
        // Never so early that the records lie in days to come.
        Some(library) => {
            for day in ["2027-01-01 00:00:00", "2028-02-29 23:59:59", "2051-07-04 12:00:00"] {
                same(day, &|command| {
                    command.env("LD_PRELOAD", &library).env("FAKETIME", day);
                });
            }
        }
        None => eprintln!("note: libfaketime is not here; THE CLOCK IS NOT TRIED"),
    }
}

/// The same files written in another order, with other dates, in a folder of another name.
#[test]
fn neither_the_order_nor_the_dates_of_files_nor_their_folder_move_a_byte() {
    let folder = tempfile::tempdir().unwrap();
    let plain = given(&copied::demo_in(folder.path()), &|_| ());
    let other = folder.path().join("a name with spaces and ümlauts/deeper");
    let mut files = Vec::new();
    fn walk(at: &Path, files: &mut Vec<PathBuf>) {
        for entry in std::fs::read_dir(at).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() { walk(&path, files) } else { files.push(path) }
        }
    }
    walk(&folder.path().join("demo-facility"), &mut files);
    walk(&folder.path().join("rules"), &mut files);
    files.sort();
    for (n, file) in files.iter().rev().enumerate() {
        let target = other.join(file.strip_prefix(folder.path()).unwrap());
        std::fs::create_dir_all(target.parent().unwrap()).unwrap();
        std::fs::copy(file, &target).unwrap();
        let then = std::time::SystemTime::UNIX_EPOCH + std::time::Duration::from_secs(86_400 * n as u64);
        std::fs::File::options().write(true).open(&target).unwrap().set_modified(then).unwrap();
    }
    is_same("another folder", &plain, &given(&other.join("demo-facility"), &|_| ()));
}
