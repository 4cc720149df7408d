//! Which tests reach a mutant, and whether one of them fails with it.

use crate::Outcome;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::fs;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

/// Runs every test of some programs alone, and writes into `reach.tsv` how long it takes and which mutants it asks for. A program with
/// words behind it (`path:balance::,rules::`) gives only the tests that begin with one of them. What is there already stays.
pub fn reach(at: &Path, programs: &[&str]) -> Outcome<()> {
    let table = at.join("reach.tsv");
    let mut done = fs::read_to_string(&table).unwrap_or_default();
    let known: BTreeSet<String> = done.lines().filter_map(|l| l.split('\t').next()).map(str::to_owned).collect();
    let seen = at.join("seen");
    for program in programs {
        let (path, only) = program.split_once('=').unwrap_or((program, ""));
        let only: Vec<&str> = only.split(',').filter(|w| !w.is_empty()).collect();
        let listed =
            Command::new(path).args(["--list", "--format", "terse"]).output().map_err(|e| format!("{path}: {e}"))?;
        for name in String::from_utf8_lossy(&listed.stdout).lines().filter_map(|l| l.strip_suffix(": test")) {
            let key = format!("{path} {name}");
            if known.contains(&key) || !(only.is_empty() || only.iter().any(|w| name.starts_with(w))) {
                continue;
            }
            drop(fs::remove_dir_all(&seen));
            fs::create_dir_all(&seen).map_err(|e| e.to_string())?;
            let started = Instant::now();
            let passed = run(path, &[name], Some(&seen), None, Duration::from_secs(900))? == Some(true);
            let took = started.elapsed().as_secs_f64();
            let mut ids = BTreeSet::new();
            for file in fs::read_dir(&seen).map_err(|e| e.to_string())?.flatten() {
                let text = fs::read_to_string(file.path()).unwrap_or_default();
                ids.extend(text.split(' ').filter_map(|id| id.parse::<usize>().ok()));
            }
            let ids: Vec<String> = ids.iter().map(usize::to_string).collect();
            let _ = writeln!(done, "{key}\t{}\t{took:.3}\t{}", if passed { "passed" } else { "failed" }, ids.join(" "));
            if !passed {
                eprintln!("{name} fails without a mutant, and is left out");
            }
        }
        fs::write(&table, &done).map_err(|e| e.to_string())?;
    }
    Ok(())
}

/// Whether the tests pass; nothing when they did not end in time.
fn run(
    program: &str,
    tests: &[&str],
    seen: Option<&Path>,
    mutant: Option<usize>,
    most: Duration,
) -> Outcome<Option<bool>> {
    // What a mutant lets grow without end is stopped.
    let mut command = Command::new("bash");
    command.args(["-c", "ulimit -v 12000000; exec \"$0\" \"$@\"", program]).args(tests).arg("--exact");
    command
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .env_remove("MUTANT")
        .env_remove("MUTANTS_SEEN");
    if let Some(seen) = seen {
        command.env("MUTANTS_SEEN", seen);
    }
    if let Some(mutant) = mutant {
        command.env("MUTANT", mutant.to_string());
    }
    use std::os::unix::process::CommandExt;
    let mut child = command.process_group(0).spawn().map_err(|e| format!("{program}: {e}"))?;
    let started = Instant::now();
    let mut pause = 2;
    loop {
        if let Some(status) = child.try_wait().map_err(|e| e.to_string())? {
            return Ok(Some(status.success()));
        }
        if started.elapsed() > most {
            end(&mut child);
            return Ok(None);
        }
        std::thread::sleep(Duration::from_millis(pause));
        pause = (pause * 2).min(50);
    }
}

/// Ends a program and those it started.
fn end(child: &mut Child) {
    drop(Command::new("kill").args(["-9", "--", &format!("-{}", child.id())]).status());
    drop(child.wait());
}

struct Test<'a> {
    program: &'a str,
    name: &'a str,
    took: f64,
    reaches: BTreeSet<usize>,
}

/// Tries the mutants whose names hold one of the words, in an order that looks random and is always the same, until the seconds are over.
/// `results.tsv` says of each what came of it; those that it knows to be found are not tried again.
pub fn attempt(at: &Path, seconds: f64, words: &[&str]) -> Outcome<()> {
    let started = Instant::now();
    let reach = fs::read_to_string(at.join("reach.tsv")).map_err(|e| format!("reach.tsv: {e}"))?;
    let mut tests = Vec::new();
    for line in reach.lines() {
        let [key, "passed", took, ids] = line.split('\t').collect::<Vec<_>>()[..] else { continue };
        let Some((program, name)) = key.split_once(' ') else { continue };
        let reaches = ids.split(' ').filter_map(|id| id.parse().ok()).collect();
        tests.push(Test { program, name, took: took.parse().unwrap_or(1.0), reaches });
    }
    tests.sort_by(|a, b| a.took.total_cmp(&b.took));
    let table = at.join("results.tsv");
    let mut done: BTreeMap<usize, (String, usize)> = BTreeMap::new();
    for line in fs::read_to_string(&table).unwrap_or_default().lines() {
        let fields: Vec<&str> = line.split('\t').collect();
        let [id, what, by, ..] = fields[..] else { continue };
        if let Ok(id) = id.parse() {
            done.insert(id, (what.to_owned(), by.parse().unwrap_or_default()));
        }
    }
    let listed = fs::read_to_string(at.join("mutants.tsv")).map_err(|e| format!("mutants.tsv: {e}"))?;
    let mut mutants: Vec<(usize, &str)> = Vec::new();
    for line in listed.lines() {
        let [id, "built", _, name] = line.split('\t').collect::<Vec<_>>()[..] else { continue };
        if let Ok(id) = id.parse()
            && (words.is_empty() || words.iter().any(|w| name.contains(w)))
        {
            mutants.push((id, name));
        }
    }
    mutants.sort_by_key(|(id, _)| (*id as u64 + 1).wrapping_mul(0x9e37_79b9_7f4a_7c15));
    for (id, name) in mutants {
        let left = seconds - started.elapsed().as_secs_f64();
        if left < 0.0 {
            break;
        }
        let reaching: Vec<&Test> = tests.iter().filter(|t| t.reaches.contains(&id)).collect();
        if let Some((what, by)) = done.get(&id)
            && (what == "found" || what == "endless" || *by >= reaching.len())
        {
            continue;
        }
        let begun = Instant::now();
        let what = outcome(id, &reaching)?;
        let line = format!("{id}\t{what}\t{}\t{:.1}\t{name}\n", reaching.len(), begun.elapsed().as_secs_f64());
        let mut all = fs::OpenOptions::new().create(true).append(true).open(&table).map_err(|e| e.to_string())?;
        std::io::Write::write_all(&mut all, line.as_bytes()).map_err(|e| e.to_string())?;
    }
    Ok(())
}

/// What comes of a mutant with the tests that reach it, the quickest first, some of them at a time.
fn outcome(id: usize, reaching: &[&Test]) -> Outcome<&'static str> {
    if reaching.is_empty() {
        return Ok("unreached");
    }
    let mut rest = reaching;
    let mut at_once = 0.3;
    while !rest.is_empty() {
        let mut sum = 0.0;
        let count = rest.iter().take_while(|t| {
            sum += t.took;
            sum <= at_once
        });
        let (now, later) = rest.split_at(count.count().max(1));
        let mut by: BTreeMap<&str, Vec<&Test>> = BTreeMap::new();
        for test in now {
            by.entry(test.program).or_default().push(test);
        }
        for (program, of) in by {
            let names: Vec<&str> = of.iter().map(|t| t.name).collect();
            let most = Duration::from_secs_f64(20.0 + 8.0 * of.iter().map(|t| t.took).sum::<f64>());
            match run(program, &names, None, Some(id), most)? {
                Some(true) => {}
                Some(false) => return Ok("found"),
                None => return Ok("endless"),
            }
        }
        rest = later;
        at_once *= 3.0;
    }
    Ok("missed")
}
