//! Every input that the fuzzer's corpus keeps and every one that it found, with some changes of each: what `tests/fuzz/run`
//! does for hours, for a few seconds.

#![cfg(test)]
#![cfg(feature = "xlsx")]

#[path = "fuzz/src/lib.rs"]
mod fuzz;

use std::path::PathBuf;

/// The inputs of a folder, by name.
fn inputs(folder: PathBuf) -> Vec<(String, Vec<u8>)> {
    let Ok(entries) = std::fs::read_dir(folder) else {
        return Vec::new();
    };
    let mut paths: Vec<PathBuf> = entries.map(|entry| entry.unwrap().path()).collect();
    paths.sort();
    paths.into_iter().map(|path| (path.display().to_string(), std::fs::read(&path).unwrap())).collect()
}

fn run(target: &str, mutants: u64) {
    let (_, function) = fuzz::TARGETS.into_iter().find(|(name, _)| *name == target).unwrap();
    let kept = inputs(fuzz::top().join("tests/fuzz/corpus").join(target));
    assert!(kept.len() > 5, "{target} has hardly any corpus: {}", kept.len());
    let found = inputs(fuzz::top().join("tests/fuzz/finds").join(target));
    let mut whole = 0;
    for (name, bytes) in kept.iter().chain(&found) {
        eprintln!("{name}");
        whole += usize::from(function(bytes));
        for draw in 0..mutants {
            let changed = fuzz::mutant(bytes, if target == "sheet" { 2 } else { 1 }, draw);
            eprintln!("{name}, change {draw}");
            function(&changed);
        }
    }
    let all = kept.len() + found.len();
    eprintln!("{all} inputs of {target}, {} of them finds; {whole} come to the end", found.len());
    // Inputs that are all refused at the door try nothing behind it.
    assert!(whole * 10 > all, "of {all} inputs of {target} {whole} come to the end");
}

#[test]
fn values() {
    run("quantities", 20);
}

#[test]
fn files() {
    run("yaml", 8);
}

#[test]
fn sheets() {
    run("sheet", 4);
}

// Its bytes are no text: the changes are in them.
#[test]
fn folders() {
    run("folder", 0);
}

#[test]
fn the_corpus_is_small() {
    let mut files = 0;
    let mut bytes = 0;
    for kept in ["corpus", "finds"] {
        for (target, _) in fuzz::TARGETS {
            let inputs = inputs(fuzz::top().join("tests/fuzz").join(kept).join(target));
            files += inputs.len();
            bytes += inputs.iter().map(|(_, bytes)| bytes.len()).sum::<usize>();
        }
    }
    assert!(files <= 240 && bytes <= 300_000, "{files} files, {bytes} bytes");
}
