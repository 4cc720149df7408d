//! What is missing, told once for all windows that lack the same thing.

use chrono::NaiveDate;

use crate::rules::Missing;

/// Most windows named in one sentence; the others are counted.
const MOST_NAMED: usize = 4;

/// `No reading of Weir covers 1-2 Jul 2023.`: what is said, and of which days.
fn uncovered(sentence: &str) -> Option<(&str, &str)> {
    let (said, days) = sentence.strip_suffix('.')?.rsplit_once(COVERS)?;
    said.starts_with("No reading of ").then_some((said, days))
}

const COVERS: &str = " covers ";

/// Splits `Nov 2024: no result on file.` into its window, the words between and what is said of it.
fn parts(sentence: &str) -> Option<(&str, &'static str, &str)> {
    if let Some((said, days)) = uncovered(sentence) {
        return Some((days, COVERS, said));
    }
    [": ", " has ", " had "]
        .into_iter()
        .filter_map(|between| {
            let (window, said) = sentence.split_once(between)?;
            Some((window, between, said))
        })
        .min_by_key(|(window, ..)| window.len())
}

/// Windows of which the same is said are named together, in the order in which they came; of many the first few.
pub(crate) fn told_once(missing: &[Missing]) -> Vec<Missing> {
    told(missing, MOST_NAMED)
}

/// The same with every window named.
pub(crate) fn told_in_full(missing: &[Missing]) -> Vec<Missing> {
    told(missing, usize::MAX)
}

/// The windows of what is not told one by one, in words: `Apr 2015 to Dec 2015`.
pub(crate) fn windows_of(missing: &[Missing]) -> Option<String> {
    let windows: Option<Vec<Lacks>> = missing.iter().map(|one| Some((parts(&one.sentence)?.0, one.of))).collect();
    windows.map(|windows| runs(&windows).join(", "))
}

/// Lines that say the same of several days, once: `5 Jun 2023 and 6 Jun 2023: the most rain …`.
pub(crate) fn same_said(lines: &[String]) -> Vec<String> {
    let one = |line: &String| Missing { of: None, paper: None, sentence: line.clone(), would_show: None };
    let dated = |line: &String| {
        let (before, _) = line.split_once(": ").unwrap_or_default();
        NaiveDate::parse_from_str(before, "%d %b %Y").is_ok()
    };
    if !lines.iter().all(dated) {
        return lines.to_vec();
    }
    told_in_full(&lines.iter().map(one).collect::<Vec<_>>()).into_iter().map(|missing| missing.sentence).collect()
}

fn told(missing: &[Missing], most: usize) -> Vec<Missing> {
    let mut groups: Vec<(Vec<Lacks>, &Missing)> = Vec::new();
    for one in missing {
        let Some((window, between, said)) = parts(&one.sentence) else {
            groups.push((Vec::new(), one));
            continue;
        };
        // The days that a reading lacks are those of its sentence, and not of the window.
        let of = one.of.filter(|_| between != COVERS);
        let alike = groups.iter_mut().find(|(windows, first)| {
            !windows.is_empty()
                && first.would_show == one.would_show
                && parts(&first.sentence).is_some_and(|(_, how, what)| (how, what) == (between, said))
        });
        match alike {
            Some((windows, _)) => windows.push((window, of)),
            None => groups.push((vec![(window, of)], one)),
        }
    }
    groups
        .into_iter()
        .map(|(windows, first)| match (parts(&first.sentence), windows.len()) {
            (Some((_, between, said)), 2..) => Missing {
                of: None,
                paper: None,
                sentence: together(&windows, between, said, most),
                would_show: first.would_show.clone(),
            },
            _ => first.clone(),
        })
        .map(|one| Missing { sentence: begun(one.sentence), ..one })
        .collect()
}

/// How the label of a week begins.
const WEEK: &str = "week of ";

/// A sentence that begins with a window's label has a capital.
fn begun(sentence: String) -> String {
    if sentence.starts_with("week") { sentence.replacen('w', "W", 1) } else { sentence }
}

/// A window by its label, and its days where they are known.
type Lacks<'a> = (&'a str, Option<(NaiveDate, NaiveDate)>);

/// Windows that follow one another, from the first to the last of them: `Jan 2015 to Dec 2015`.
fn runs(windows: &[Lacks]) -> Vec<String> {
    let follows =
        |a: &Lacks, b: &Lacks| a.1.zip(b.1).is_some_and(|((_, last), (first, _))| last.succ_opt() == Some(first));
    windows
        .chunk_by(follows)
        .flat_map(|run| match run {
            [(first, _), .., (last, _)] if run.len() > 2 => vec![format!("{first} to {last}")],
            few => few.iter().map(|(label, _)| (*label).to_owned()).collect(),
        })
        .collect()
}

fn together(windows: &[Lacks], between: &str, said: &str, most: usize) -> String {
    let mut windows = runs(windows);
    // Of several weeks the word stands once.
    let weeks = windows.len() > 1 && windows.iter().all(|window| window.starts_with(WEEK));
    if weeks {
        windows = windows.iter().map(|window| window.replace(WEEK, "")).collect();
    }
    // One more takes no more room than the words that count it.
    let named = if windows.len() == most.saturating_add(1) { windows.len() } else { windows.len().min(most) };
    let (named, more) = windows.split_at(named);
    let names = match (named, more.len()) {
        ([one], 0) => one.clone(),
        ([most @ .., last], 0) => format!("{} and {last}", most.join(", ")),
        (named, more) => format!("{} and {more} more", named.join(", ")),
    };
    let names = if weeks { format!("weeks of {names}") } else { names };
    if between == COVERS {
        return format!("{said}{COVERS}{names}.");
    }
    let between = if between == " has " { " have " } else { between };
    format!("{names}{between}{said}")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn missing(sentences: &[&str]) -> Vec<Missing> {
        sentences
            .iter()
            .map(|sentence| Missing { of: None, paper: None, sentence: (*sentence).to_owned(), would_show: None })
            .collect()
    }

    fn sentences(sentences: &[&str]) -> Vec<String> {
        told_once(&missing(sentences)).into_iter().map(|missing| missing.sentence).collect()
    }

    #[test]
    fn the_days_that_readings_of_one_meter_lack_are_told_in_one_sentence() {
        let lacks = ["No reading of Weir covers 14-15 Jan 2023.", "No reading of Weir covers 2-3 Sep 2023."];
        let other = "No reading of Dial covers 4 May 2023.";
        let told = sentences(&[lacks[0], lacks[1], other]);
        assert_eq!(told, ["No reading of Weir covers 14-15 Jan 2023 and 2-3 Sep 2023.", other]);
    }

    #[test]
    fn what_is_said_of_several_days_is_said_once() {
        let of = |lines: &[&str]| same_said(&lines.iter().map(|line| (*line).to_owned()).collect::<Vec<_>>());
        assert_eq!(
            of(&["5 Jun 2023: 1 in of rain", "6 Jun 2023: 1 in of rain"]),
            ["5 Jun 2023 and 6 Jun 2023: 1 in of rain"]
        );
        assert_eq!(of(&["001 meter: 2", "002 meter: 2"]), ["001 meter: 2", "002 meter: 2"]);
    }

    #[test]
    fn windows_that_lack_the_same_are_named_together() {
        assert_eq!(
            sentences(&[
                "Nov 2024: no result on file.",
                "week of 22 Dec 2024 has no reading on file.",
                "Dec 2024: no result on file.",
                "Feb 2025: 1 of 2 results on file.",
                "week of 29 Dec 2024 has no reading on file.",
            ]),
            [
                "Nov 2024 and Dec 2024: no result on file.",
                "Weeks of 22 Dec 2024 and 29 Dec 2024 have no reading on file.",
                "Feb 2025: 1 of 2 results on file.",
            ]
        );
        let day = |month| NaiveDate::from_ymd_opt(2015, month, 1).unwrap();
        let months: Vec<Missing> = (1..=11)
            .filter(|month| ![5, 8].contains(month))
            .map(|month| Missing {
                of: Some((day(month), day(month + 1).pred_opt().unwrap())),
                sentence: format!("{}: no result on file.", day(month).format("%b %Y")),
                would_show: None,
                paper: None,
            })
            .collect();
        assert_eq!(
            told_once(&months).first().unwrap().sentence,
            "Jan 2015 to Apr 2015, Jun 2015, Jul 2015 and Sep 2015 to Nov 2015: no result on file."
        );
        assert_eq!(sentences(&["A: x.", "B: x.", "C: x.", "D: x.", "E: x."]), ["A, B, C, D and E: x."]);
        assert_eq!(sentences(&["A: x.", "B: x.", "C: x.", "D: x.", "E: x.", "F: x."]), ["A, B, C, D and 2 more: x."]);
    }
}
