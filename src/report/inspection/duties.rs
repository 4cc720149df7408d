//! Duties and notices: samples, looks and readings due, calls, letters and reports.

use crate::page::document::{Cell, Column, Document, Table};
use crate::report::inspection::about::{Case, day, said, trace};
use crate::report::inspection::lacking::{told_once, windows_of};
use crate::report::inspection::page_one::{alike, gathered, overdue_words};
use crate::report::inspection::paper_trail::papers;
use crate::rules::{Finding, FindingKind, Outcome};

/// Most missing things named for one duty; the limit's own section names all.
const MOST_MISSING: usize = 2;
/// Most sentences of a notice: when it was known and due, and what else.
const MOST_OF_A_NOTICE: usize = 2;
/// Most overdue notices about one thing that stand by themselves.
const FEW: usize = 3;

/// Writes the section: the permit's duties first, the holder's own routines apart.
pub fn write(case: &Case, doc: &mut Document) {
    let of = |kinds: &[FindingKind]| -> Vec<&Finding> {
        case.findings.iter().filter(|finding| kinds.contains(&finding.kind)).collect()
    };
    let permit = of(&[FindingKind::Notice, FindingKind::Monitoring]);
    let own = of(&[FindingKind::Routine]);
    if permit.is_empty() && own.is_empty() {
        return;
    }
    doc.heading(2, "Duties and notices");
    doc.paragraph(format!(
        "Judged as of {}.{} A duty to sample or to call is separate from the limit itself: a month without its sample is a \
         gap even where nothing was over.",
        day(case.as_of),
        if case.as_of > case.period.1 {
            format!(" What fell due to be sampled, read or looked at after {} is not in this report.", day(case.period.1))
        } else {
            String::new()
        }
    ));
    let says = case.permit.is_some_and(|head| head.counts.iter().any(|words| words == "the week starts on: not said"));
    let weekly = permit.iter().any(|finding| finding.how_many.ends_with("weeks"));
    if says && weekly {
        doc.paragraph(
            "The permit does not say on which day a week starts: a duty is counted by the same weeks as its limit; where \
             only weeks from another day lack something, by those.",
        );
    }
    if case.facility.day_bears_its_end && permit.iter().any(|finding| finding.kind == FindingKind::Notice) {
        doc.paragraph(
            "A limit's days bear the date on which they end, so that what was seen before the day's start is of the date before: \
             a notice counts from the date on which it was known, by the calendar.",
        );
    }
    if let Some(permit) = case.permit.filter(|_| permit.iter().any(|finding| is_overdue(finding))) {
        doc.paragraph(format!(
            "What is overdue stands first: a call or a letter that is not on file goes to {} without waiting for this report.",
            permit.authority
        ));
    }
    let silent = without_notice(case);
    if !silent.is_empty() {
        doc.paragraph(format!(
            "No call or letter is asked for, by the rules file, where these are not met: {}.",
            silent.join("; ")
        ));
    }
    if !permit.is_empty() {
        doc.table(table(case, "What the permit asks", &permit));
    }
    if !own.is_empty() {
        doc.table(table(case, "The holder's own routines, as the facility file says them", &own));
    }
}

/// The limits that were not met and of which no notice is due.
fn without_notice<'a>(case: &Case<'a>) -> Vec<&'a str> {
    let told = |name: &str| {
        let notices = case.findings.iter().filter(|finding| finding.kind == FindingKind::Notice);
        notices.filter_map(|finding| finding.about.as_ref()).any(|(about, _)| about == name)
    };
    let limits =
        case.findings.iter().filter(|finding| finding.kind == FindingKind::Limit && finding.outcome.is_exceeded());
    limits.map(|finding| finding.name.as_str()).filter(|name| !told(name)).collect()
}

fn table(case: &Case, caption: &str, findings: &[&Finding]) -> Table {
    let mut table = Table::new(vec![
        Column::words("Duty").wide(140.0),
        Column::words("Outcome"),
        Column::words("Due"),
        Column::words("What is on file, and what is missing"),
    ])
    .caption(caption)
    .wide();
    let (mut overdue, others): (Vec<&Finding>, Vec<&Finding>) =
        findings.iter().partition(|finding| is_overdue(finding));
    overdue.sort_by_key(|finding| finding.due);
    // Many of one thing are one line.
    let mut alone: Vec<&Finding> = Vec::new();
    for group in gathered(overdue) {
        if group.len() <= FEW {
            alone.extend(group);
            continue;
        }
        let first = group.iter().filter_map(|finding| finding.due).min();
        table.row(vec![
            Cell::words(format!(
                "{}{}",
                group.first().and_then(|of| of.about.as_ref()).map_or("", |(what, _)| what.as_str()),
                lines(&group)
            )),
            Cell::words("overdue"),
            first.map_or_else(Cell::nothing, |due| Cell::words(day(due))),
            Cell::words(overdue_words(&group, false)),
        ]);
    }
    // What comes due stands together, the nearest first; then what has gaps, what came late, and what is done.
    let (mut due, mut others): (Vec<&Finding>, Vec<&Finding>) =
        others.into_iter().partition(|finding| finding.outcome == Outcome::Due && finding.due.is_some());
    due.sort_by_key(|finding| finding.due);
    others.sort_by_key(|finding| match (finding.outcome, finding.kind) {
        (Outcome::Done, FindingKind::Notice) if finding.is_late => 1,
        (Outcome::Done, _) => 2,
        _ => 0,
    });
    let ordered = alone.into_iter().chain(due).chain(others).collect();
    // What is the same of several places stands once.
    for group in alike(ordered, |finding| row(case, finding).split_off(1)) {
        let Some(first) = group.first() else { continue };
        let mut cells = row(case, first);
        if let (2.., Some((what, _)), Some(name)) = (group.len(), &first.about, cells.first_mut()) {
            let at: Vec<&str> = group.iter().filter_map(|one| Some(one.about.as_ref()?.1.as_str())).collect();
            let line = lines(&group);
            if at.len() <= FEW {
                *name = Cell::words(format!("{what}, at {}{line}", at.join(", ")));
            } else {
                *name = Cell::words(format!("{what}, at {} places{line}", at.len()));
                if let Some(words) = cells.last_mut() {
                    *words = Cell::words(format!("{} At {}.", words.text(), at.join(", ")));
                }
            }
        }
        table.row(cells);
    }
    table
}

fn row(case: &Case, finding: &Finding) -> Vec<Cell> {
    // What else is on file, and does not answer, is told by `explain`.
    let most = if finding.kind == FindingKind::Notice { MOST_OF_A_NOTICE } else { usize::MAX };
    // The second sentence of an overdue call says where it goes, which stands once above the table.
    let addressed = is_overdue(finding) && finding.about.is_some();
    let due = finding.due.map(|due| format!("Due {}.", day(due)));
    let sentences = finding.sentences.iter().filter(|sentence| Some(*sentence) != due.as_ref());
    let told = sentences.enumerate().filter(|(at, _)| !addressed || *at != 1).map(|(_, sentence)| sentence);
    let mut words: Vec<String> = told.take(most).map(|sentence| in_time(&said(sentence))).collect();
    if words.is_empty() && !finding.how_many.is_empty() {
        words.push(format!("{}.", finding.how_many));
    }
    let all = told_once(&finding.missing);
    for missing in all.iter().take(MOST_MISSING) {
        // A sentence that says it already is enough.
        if !words.iter().any(|known| known.contains(missing.sentence.trim_end_matches('.'))) {
            words.push(missing.sentence.clone());
        }
    }
    if all.len() > MOST_MISSING {
        let rest = all.get(MOST_MISSING..).unwrap_or_default();
        let of = windows_of(rest).map_or_else(String::new, |windows| format!(", of {windows}"));
        words.push(format!("{} more like these{of}.", rest.len()));
    }
    for sentence in &mut words {
        *sentence = capital(sentence);
    }
    // The papers of samples, readings and looks stand with their limits.
    let papers = papers(case, &finding.evidence);
    if finding.kind == FindingKind::Notice && !papers.is_empty() {
        words.push(format!("On paper: {papers}."));
    }
    vec![
        Cell::words(format!("{}{}", finding.name, lines(&[finding]))),
        Cell::words(outcome(finding)),
        finding.due.map_or_else(Cell::nothing, |due| Cell::words(day(due))),
        Cell::words(words.join(" ")),
    ]
}

/// A sentence with a capital at its beginning.
fn capital(sentence: &str) -> String {
    let mut letters = sentence.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// Where the duty was typed, after its name: ` (rules.yaml 84)`, of several the first and the last line.
fn lines(findings: &[&Finding]) -> String {
    let mut places: Vec<_> = findings.iter().filter_map(|finding| finding.place.as_ref()).collect();
    places.sort_by_key(|place| place.line);
    match places.as_slice() {
        [] => String::new(),
        [first, .., last] if first.line != last.line => format!(" ({} to {})", trace(first), last.line),
        [first, ..] => format!(" ({})", trace(first)),
    }
}

/// Many that were sent in time are counted: `11 sent in time: the first Jan 2025 on 14 Feb 2025, the last …`.
fn in_time(sentence: &str) -> String {
    let Some(list) = sentence.strip_prefix("Sent in time: ") else { return sentence.to_owned() };
    let sent: Vec<&str> = list.trim_end_matches('.').split(", ").collect();
    match sent.as_slice() {
        [first, .., last] if sent.len() > FEW => {
            format!("{} sent in time: the first {first}, the last {last}.", sent.len())
        }
        _ => sentence.to_owned(),
    }
}

/// A sample that was not taken is a gap; a letter that was not written is overdue and can still be written.
fn outcome(finding: &Finding) -> &'static str {
    match (finding.kind, finding.outcome) {
        (FindingKind::Monitoring | FindingKind::Routine, Outcome::Overdue) => "gaps",
        (FindingKind::Notice, Outcome::Done) if finding.is_late => "done late",
        (_, outcome) => outcome.words(),
    }
}

/// A notice that can still be made.
fn is_overdue(finding: &Finding) -> bool {
    finding.kind == FindingKind::Notice && finding.outcome == Outcome::Overdue
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::NaiveDate;

    #[test]
    fn a_notice_of_which_anything_came_late_is_done_late() {
        let finding = |is_late: bool| {
            let notice = Finding::new("n".into(), FindingKind::Notice, "Zinc".into(), "Ditch".into(), Outcome::Done);
            Finding { is_late, due: NaiveDate::from_ymd_opt(2024, 1, 13), ..notice }
        };
        assert_eq!(outcome(&finding(true)), "done late");
        assert_eq!(outcome(&finding(false)), "done");
    }

    #[test]
    fn many_reports_that_were_sent_in_time_are_counted() {
        let few = "Sent in time: Jan 2025 on 3 Feb 2025, Mar 2025 on 3 Apr 2025.";
        assert_eq!(in_time(few), few);
        assert_eq!(
            in_time("Sent in time: Jan on 3 Feb, Feb on 3 Mar, Mar on 3 Apr, May on 3 Jun."),
            "4 sent in time: the first Jan on 3 Feb, the last May on 3 Jun."
        );
        assert_eq!(in_time("Due 3 Feb."), "Due 3 Feb.");
    }
}
