//! The table of what became of the changes, and the reasons why some can't be seen.

use std::collections::BTreeMap;
use std::fmt;
use std::fmt::Write as _;

use crate::class::Class;
use crate::slips::Slip;

/// One change and what became of it.
#[derive(Debug, Clone)]
pub struct Told {
    pub file: String,
    pub slip: Slip,
    pub class: Class,
    /// The message, the sentence, or what changed.
    pub words: String,
}

impl Told {
    pub fn line(&self) -> String {
        format!(
            "{} | {} | {}:{} | {} | `{}` -> `{}` | {}",
            self.class.word(),
            self.slip.kind,
            self.file,
            self.slip.line + 1,
            self.slip.sort,
            self.slip.was.trim(),
            self.slip.now.join(" // ").trim(),
            self.words
        )
    }
}

/// Kind of change × kind of token × file, by class.
pub fn table(all: &[Told]) -> String {
    let mut rows: BTreeMap<(String, String, &str), BTreeMap<Class, usize>> = BTreeMap::new();
    for told in all {
        let row = (told.file.clone(), told.slip.sort.to_string(), told.slip.kind);
        *rows.entry(row).or_default().entry(told.class).or_default() += 1;
    }
    let mut out = format!("{:<34} {:<10} {:<22}", "file", "token", "change");
    for class in Class::ALL {
        let _ = write!(out, "{:>10}", class.word());
    }
    out.push('\n');
    let mut totals: BTreeMap<Class, usize> = BTreeMap::new();
    for ((file, sort, kind), counts) in &rows {
        let _ = write!(out, "{file:<34} {sort:<10} {kind:<22}");
        for class in Class::ALL {
            let count = counts.get(&class).copied().unwrap_or(0);
            *totals.entry(class).or_default() += count;
            let _ = write!(out, "{:>10}", if count == 0 { ".".to_owned() } else { count.to_string() });
        }
        out.push('\n');
    }
    let _ = write!(out, "{:<68}", format!("all {} changes", all.len()));
    for class in Class::ALL {
        let _ = write!(out, "{:>10}", totals.get(&class).copied().unwrap_or(0));
    }
    out.push('\n');
    out
}

/// Why a figure changes unseen: which changes, of what, in which files.
#[derive(Debug)]
pub struct Reason {
    file: String,
    sorts: Vec<String>,
    kinds: Vec<String>,
    text: String,
}

/// The reasons beside this file: `file | tokens | changes | reason`; a list is parted by commas, `any` is any.
pub fn reasons() -> Vec<Reason> {
    let list = |text: &str| text.split(',').map(|word| word.trim().to_owned()).collect();
    include_str!("reasons.txt")
        .lines()
        .filter(|line| !line.starts_with('#') && !line.trim().is_empty())
        .map(|line| {
            let parts: Vec<&str> = line.split('|').map(str::trim).collect();
            let [file, sorts, kinds, text] = parts.as_slice() else {
                panic!("`{line}` is not: file | tokens | changes | reason");
            };
            Reason { file: (*file).to_owned(), sorts: list(sorts), kinds: list(kinds), text: (*text).to_owned() }
        })
        .collect()
}

impl fmt::Display for Reason {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}, {}: {}", self.file, self.sorts.join(", "), self.text)
    }
}

impl Reason {
    pub fn covers(&self, told: &Told) -> bool {
        let among = |list: &[String], word: &str| list.iter().any(|held| held == "any" || held == word);
        told.file.ends_with(&self.file)
            && among(&self.sorts, &told.slip.sort.to_string())
            && among(&self.kinds, told.slip.kind)
    }
}
