//! The pages of the README for its three users: their commands, run as they stand.

#![cfg(test)]

use std::fmt::Write as _;
use std::path::Path;
use std::process::Command;

/// The commands of each page: indented lines under the heading.
fn pages() -> Vec<String> {
    let readme = std::fs::read_to_string("README.md").unwrap();
    let section = readme.split("\n## ").find(|part| part.starts_with("From nothing to your document")).unwrap();
    let mut pages: Vec<String> = Vec::new();
    let mut inside = false;
    for line in section.lines() {
        match line.strip_prefix("    ") {
            Some(command) => {
                if !inside {
                    pages.push(String::new());
                }
                let _ = writeln!(pages.last_mut().unwrap(), "{command}");
                inside = true;
            }
            None => inside = false,
        }
    }
    pages
}

/// A clipboard of fifteen mornings and two years of rain, as their users bring them.
fn papers(folder: &Path) {
    let mut clipboard = String::from("MORNING ROUND 2025,,\nDate,M1 well,Storage pond level (ft)\n");
    for day in 1..16 {
        let _ =
            writeln!(clipboard, "3/{day}/2025,{},{}", 100_000 + 4_000 * day, if day == 4 { "5 1/4" } else { "5.2" });
    }
    clipboard.push_str("tot,60000,\n");
    std::fs::write(folder.join("clipboard.csv"), clipboard).unwrap();
    let mut rain = String::from("date,rain,unit\n");
    let first = chrono::NaiveDate::from_ymd_opt(2023, 1, 1).unwrap();
    for (at, day) in first.iter_days().take(731).enumerate() {
        let _ = writeln!(rain, "{day},{},in", if at % 6 == 0 { "0.5" } else { "0" });
    }
    std::fs::write(folder.join("years-of-rain.csv"), rain).unwrap();
}

#[test]
fn each_user_comes_from_nothing_to_a_document_by_the_commands_of_the_readme() {
    let pages = pages();
    assert_eq!(pages.len(), 3, "{pages:#?}");
    let program = Path::new(env!("CARGO_BIN_EXE_bywash")).parent().unwrap();
    let path = format!("{}:{}", program.display(), std::env::var("PATH").unwrap_or_default());
    for page in &pages {
        // Unoptimised, 200 draws take minutes.
        let page = &if cfg!(debug_assertions) {
            page.replace("compare client", "compare client --draws 2")
        } else {
            page.clone()
        };
        let folder = tempfile::tempdir().unwrap();
        papers(folder.path());
        let run =
            Command::new("sh").args(["-e", "-c", page]).current_dir(folder.path()).env("PATH", &path).output().unwrap();
        assert!(
            run.status.success(),
            "{page}\n{}{}",
            String::from_utf8_lossy(&run.stdout),
            String::from_utf8_lossy(&run.stderr)
        );
        let document = page.split_whitespace().find(|word| word.ends_with(".pdf")).unwrap();
        let bytes = std::fs::read(folder.path().join(document)).unwrap();
        assert!(bytes.starts_with(b"%PDF") && bytes.len() > 10_000, "{document}");
    }
}
