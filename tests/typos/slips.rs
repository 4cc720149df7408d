//! What a slip of the finger makes of a token.

use std::collections::{BTreeMap, BTreeSet};

use crate::tokens::{Sort, Token};

/// One change of one file.
#[derive(Debug, Clone)]
pub struct Slip {
    /// The kind of change, as the table prints it.
    pub kind: &'static str,
    pub sort: Sort,
    /// Line of the file, from 0.
    pub line: usize,
    /// The line as it was.
    pub was: String,
    /// What stands in its place: none where it is struck, two where it is doubled.
    pub now: Vec<String>,
}

/// Stable, and even over short texts.
pub fn hash(text: &str) -> u64 {
    text.bytes().fold(0xcbf2_9ce4_8422_2325, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3)) >> 7
}

/// Units that are taken for one another.
const UNITS: [&[&str]; 12] = [
    &["mg/L", "g/L", "ug/L"],
    &["mL/L", "mg/L"],
    &["m3", "L", "gal"],
    &["gal", "kgal", "L"],
    &["gal/day", "gal/h", "m3/day"],
    &["gpm", "gph", "L/s"],
    &["x10 gal", "gal", "x100 gal"],
    &["100 ft3", "ft3", "m3"],
    &["ft", "in", "m"],
    &["in", "ft", "mm"],
    &["um", "mm"],
    &["acre", "ft2", "ha"],
];

fn units_beside(unit: &str) -> Vec<&'static str> {
    let more: &[&str] = match unit {
        "h" => &["min", "day"],
        "min" => &["h", "s"],
        "in/day" => &["in/month", "mm/day"],
        "in/month" => &["in/day", "mm/month"],
        "h/day" => &["min/day"],
        "F" => &["C"],
        "lb" | "lb of solids" => &["kg", "oz"],
        "kW" => &["W"],
        "lb/ft2" => &["kg/m2"],
        "ft2" => &["m2", "acre"],
        "kg" => &["g", "lb"],
        "kg/day" => &["g/day", "lb/day"],
        "m" => &["cm", "ft"],
        "mm" => &["cm", "in"],
        "%" => &[""],
        "m3/day" => &["m3/h", "L/day"],
        _ => &[],
    };
    let mut out: Vec<&str> = UNITS
        .iter()
        .filter(|row| row.first() == Some(&unit))
        .flat_map(|row| row.iter().copied().skip(1))
        .chain(more.iter().copied())
        .collect();
    out.dedup();
    out
}

/// Letters dropped, doubled, swapped: each at one place of the word.
fn misspelt(text: &str, at: u64) -> Vec<(&'static str, String)> {
    let letters: Vec<char> = text.chars().collect();
    let places: Vec<usize> = (0..letters.len()).filter(|i| letters[*i].is_alphabetic()).collect();
    let Some(place) = places.get((at % places.len().max(1) as u64) as usize).copied() else {
        return Vec::new();
    };
    let mut out = Vec::new();
    let mut less = letters.clone();
    less.remove(place);
    out.push(("letter dropped", less.into_iter().collect::<String>()));
    let mut more = letters.clone();
    more.insert(place, letters[place]);
    out.push(("letter doubled", more.into_iter().collect()));
    let swap = places
        .iter()
        .copied()
        .cycle()
        .skip((at % places.len() as u64) as usize)
        .take(places.len())
        .find(|i| letters.get(i + 1).is_some_and(|next| *next != letters[*i]));
    if let Some(swap) = swap {
        let mut other = letters;
        other.swap(swap, swap + 1);
        out.push(("letters swapped", other.into_iter().collect()));
    }
    out
}

/// Each digit dropped, doubled, swapped with the next; the decimal point moved, lost, a comma; the sign.
fn misnumbered(text: &str) -> Vec<(&'static str, String)> {
    let signs: Vec<char> = text.chars().collect();
    let of = |signs: &[char]| signs.iter().collect::<String>();
    let mut out = Vec::new();
    for (at, sign) in signs.iter().enumerate() {
        if sign.is_ascii_digit() {
            let mut less = signs.clone();
            less.remove(at);
            out.push(("digit dropped", of(&less)));
            let mut more = signs.clone();
            more.insert(at, *sign);
            out.push(("digit doubled", of(&more)));
            if signs.get(at + 1).is_some_and(|next| next.is_ascii_digit() && next != sign) {
                let mut other = signs.clone();
                other.swap(at, at + 1);
                out.push(("digits swapped", of(&other)));
            }
        }
        if *sign == '.' {
            let mut lost = signs.clone();
            lost.remove(at);
            out.push(("point lost", of(&lost)));
            let mut comma = signs.clone();
            comma[at] = ',';
            out.push(("decimal comma", of(&comma)));
        }
    }
    if !text.contains('.') && signs.len() >= 2 {
        let (head, tail) = text.split_at(text.len() - 1);
        out.push(("point set", format!("{head}.{tail}")));
    }
    out.push(("sign", format!("-{text}")));
    out.retain(|(_, now)| now != text && !now.is_empty());
    out.sort();
    out.dedup();
    out
}

fn misdated(text: &str) -> Vec<(&'static str, String)> {
    let mut out = Vec::new();
    let iso: Vec<&str> = text.split('-').collect();
    if let [year, month, day] = iso.as_slice() {
        if let Ok(number) = year.parse::<i32>() {
            out.push(("year off by one", format!("{}-{month}-{day}", number + 1)));
            out.push(("year off by one", format!("{}-{month}-{day}", number - 1)));
        }
        if month != day {
            out.push(("day and month swapped", format!("{year}-{day}-{month}")));
        }
        if let Ok(number) = month.parse::<u32>() {
            out.push(("month off by one", format!("{year}-{:02}-{day}", number + 1)));
            out.push(("month off by one", format!("{year}-{:02}-{day}", number - 1)));
        }
        if let Ok(number) = day.parse::<u32>() {
            out.push(("day off by one", format!("{year}-{month}-{:02}", number + 1)));
            out.push(("day off by one", format!("{year}-{month}-{:02}", number - 1)));
        }
        let mut turned: Vec<char> = day.chars().collect();
        turned.reverse();
        out.push(("digits swapped", format!("{year}-{month}-{}", turned.iter().collect::<String>())));
    } else {
        let words: Vec<&str> = text.split(' ').collect();
        let joined = |day: &str, rest: &[&str]| {
            let mut all = vec![day];
            all.extend(rest);
            all.join(" ")
        };
        if let Some((day, rest)) = words.split_first() {
            if let Ok(number) = day.parse::<u32>() {
                out.push(("day off by one", joined(&(number + 1).to_string(), rest)));
                out.push(("digit doubled", joined(&format!("{day}{}", &day[..1]), rest)));
            }
            if let [month, year] = rest
                && let Ok(number) = year.parse::<i32>()
            {
                out.push(("year off by one", format!("{day} {month} {}", number + 1)));
                out.push(("year off by one", format!("{day} {month} {}", number - 1)));
            }
            if let Some(month) = rest.first() {
                let other = if *month == "Jun" { "Jan" } else { "Jun" };
                let mut with = rest.to_vec();
                with[0] = other;
                out.push(("month off", joined(day, &with)));
            }
        }
    }
    out.retain(|(_, now)| now != text);
    out
}

/// Every slip of a file's tokens.
pub fn slips(text: &str, tokens: &[Token]) -> Vec<Slip> {
    let lines: Vec<&str> = text.lines().collect();
    let mut by_sort: BTreeMap<Sort, BTreeSet<&str>> = BTreeMap::new();
    for token in tokens {
        by_sort.entry(token.sort).or_default().insert(&token.text);
    }
    let mut out = Vec::new();
    for token in tokens {
        let Some(line) = lines.get(token.line) else {
            continue;
        };
        let at = hash(&format!("{} {} {}", token.line, token.from, token.text));
        let mut put = |kind: &'static str, text: &str| {
            let now = format!("{}{text}{}", &line[..token.from], &line[token.to..]);
            if now != *line {
                out.push(Slip { kind, sort: token.sort, line: token.line, was: (*line).to_owned(), now: vec![now] });
            }
        };
        let others = || {
            let all: Vec<&str> =
                by_sort.get(&token.sort).into_iter().flatten().copied().filter(|other| *other != token.text).collect();
            let count = all.len().max(1);
            let first = all.get((at % count as u64) as usize).copied();
            let second = all.get(((at >> 9) % count as u64) as usize).copied();
            first.into_iter().chain(second.filter(|other| Some(*other) != first))
        };
        match token.sort {
            Sort::Key | Sort::Name | Sort::Word | Sort::What | Sort::Parameter | Sort::Heading => {
                for (kind, now) in misspelt(&token.text, at) {
                    put(kind, &now);
                }
                put("dropped", "");
                put("word doubled", &format!("{0} {0}", token.text));
                for other in others() {
                    put("another of its kind", other);
                }
            }
            Sort::Remark => {
                for (kind, now) in misspelt(&token.text, at) {
                    put(kind, &now);
                }
                put("dropped", "");
            }
            Sort::Unit => {
                for (kind, now) in misspelt(&token.text, at) {
                    put(kind, &now);
                }
                put("dropped", "");
                for other in units_beside(&token.text) {
                    put("another unit", other);
                }
            }
            Sort::Number => {
                for (kind, now) in misnumbered(&token.text) {
                    put(kind, &now);
                }
                put("dropped", "");
            }
            Sort::Date => {
                for (kind, now) in misdated(&token.text) {
                    put(kind, &now);
                }
                put("dropped", "");
            }
            Sort::Time => {
                for (kind, now) in misnumbered(&token.text) {
                    put(kind, &now);
                }
                put("dropped", "");
            }
            Sort::Line => {
                for (kind, now) in [("dropped", Vec::new()), ("doubled", vec![(*line).to_owned(), (*line).to_owned()])]
                {
                    out.push(Slip { kind, sort: Sort::Line, line: token.line, was: (*line).to_owned(), now });
                }
            }
        }
    }
    out
}

/// The file with the slip in it.
pub fn applied(text: &str, slip: &Slip) -> String {
    let mut out = String::with_capacity(text.len() + 80);
    for (at, line) in text.lines().enumerate() {
        if at == slip.line {
            for now in &slip.now {
                out.push_str(now);
                out.push('\n');
            }
        } else {
            out.push_str(line);
            out.push('\n');
        }
    }
    out
}
