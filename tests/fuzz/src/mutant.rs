//! Changes that keep the shape of a text: lines taken out, said twice, moved; values, words and cells exchanged for others of
//! the same text or for those that a reader is likely to stumble over.

/// Values that a reader is likely to stumble over.
const VALUES: [&str; 64] = [
    "not known",
    "not said",
    "0 %",
    "100 %",
    "0 gal",
    "1e308 ft",
    "-1 gpm",
    "1/16 in",
    "2 1/4 ft",
    "6 ft 3 in",
    "10 um to 5 um",
    "5 um",
    "999999999999999999 gal",
    "0.000000000000000001 m3",
    "1000 m3",
    "0 min",
    "24 h",
    "0 h/day",
    "24 h/day",
    "1 in/month",
    "Jan to Dec",
    "29 Feb",
    "29 Feb to 28 Feb",
    "31 Dec to 1 Jan",
    "2024-02-29",
    "2025-03-01 24:00",
    "00:00",
    "7 am",
    "noon",
    "1 Jan 2025 to 31 Dec 2124",
    "every working day",
    "every 3660 days",
    "once a month with a discharge",
    "every discharge",
    "Mon to Sun",
    "daily maximum",
    "monthly average",
    "permit year total",
    "no discharge",
    "geometric mean",
    "every reading",
    "water",
    "pH",
    "TSS",
    "freeboard",
    "<0.5",
    ">2400",
    "T",
    "same",
    "lost",
    "out",
    "dry",
    "flowing",
    "{}",
    "[]",
    "{a: b}",
    "the rest",
    "\"\"",
    "1,234",
    "1.234,5",
    "\u{2212}3",
    "yes",
    "x10 gal",
    "100 ft3",
];

/// Numbers drawn one after another (splitmix64).
struct Drawn(u64);

impl Drawn {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    fn below(&mut self, most: usize) -> usize {
        if most == 0 { 0 } else { (self.next() % most as u64) as usize }
    }
}

/// The input with its text changed: the leading `head` bytes, which choose, stay. The same `draw` gives the same.
pub fn mutant(bytes: &[u8], head: usize, draw: u64) -> Vec<u8> {
    let (head, rest) = bytes.split_at(head.min(bytes.len()));
    let text = String::from_utf8_lossy(rest);
    let mut lines: Vec<String> = text.split('\n').map(str::to_owned).collect();
    let mut drawn = Drawn(draw);
    for _ in 0..=drawn.below(3) {
        change(&mut lines, &mut drawn);
    }
    let mut out = head.to_vec();
    out.extend_from_slice(lines.join("\n").as_bytes());
    out
}

fn change(lines: &mut Vec<String>, drawn: &mut Drawn) {
    if lines.is_empty() {
        lines.push(String::new());
    }
    let at = drawn.below(lines.len());
    let other = drawn.below(lines.len());
    let from = lines[other].clone();
    match drawn.below(11) {
        0 => {
            lines.remove(at);
        }
        1 => lines.insert(other, lines[at].clone()),
        2 => lines.swap(at, other),
        3 => lines[at].insert_str(0, "  "),
        4 => lines[at] = lines[at].strip_prefix("  ").unwrap_or(&lines[at]).to_owned(),
        // A value for one that is hard, or for that of another line.
        5 => with_value(&mut lines[at], VALUES[drawn.below(VALUES.len())]),
        6 => {
            let value = from.split_once(": ").map_or("", |(_, value)| value).to_owned();
            with_value(&mut lines[at], &value);
        }
        // A word, or a cell, likewise.
        7 | 8 => {
            let mark = if lines[at].matches(',').count() > 2 && drawn.below(2) == 0 { ',' } else { ' ' };
            let mut words: Vec<&str> = lines[at].split(mark).collect();
            let others: Vec<&str> = from.split(mark).collect();
            let place = drawn.below(words.len());
            words[place] =
                if drawn.below(2) == 0 { others[drawn.below(others.len())] } else { VALUES[drawn.below(VALUES.len())] };
            lines[at] = words.join(&mark.to_string());
        }
        9 => {
            let digit = char::from(b'0' + drawn.below(10) as u8);
            let places: Vec<usize> =
                lines[at].char_indices().filter(|(_, c)| c.is_ascii_digit()).map(|(at, _)| at).collect();
            if let Some(place) = places.get(drawn.below(places.len())) {
                lines[at].replace_range(*place..*place + 1, &digit.to_string());
            }
        }
        _ => {
            let end = (at + 1 + drawn.below(5)).min(lines.len());
            lines.drain(at..end);
        }
    }
}

fn with_value(line: &mut String, value: &str) {
    if let Some((key, _)) = line.split_once(": ") {
        *line = format!("{key}: {value}");
    }
}
