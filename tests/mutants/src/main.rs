//! Puts mutants into a copy of the tree, all of them into one build, and tries each with the tests that reach it. `../run` says how.

mod attempt;
mod place;
mod weave;

use std::path::Path;

pub type Outcome<T> = Result<T, String>;

fn main() -> Outcome<()> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    match arguments.iter().map(String::as_str).collect::<Vec<_>>().as_slice() {
        ["weave", list, tree] => weave::weave(Path::new(list), Path::new(tree)),
        ["reach", at, programs @ ..] => attempt::reach(Path::new(at), programs),
        ["try", at, seconds, words @ ..] => {
            attempt::attempt(Path::new(at), seconds.parse().map_err(|e| format!("{seconds}: {e}"))?, words)
        }
        _ => Err("weave LIST TREE | reach FOLDER PROGRAM... | try FOLDER SECONDS [WORD...]".into()),
    }
}
