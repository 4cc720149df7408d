//! Page 1: outcomes worst first, what is not shown and what would show it, what must be done by when, the year's water,
//! who decides.

use crate::page::document::{Basis, Document, OutcomeForm, OutcomeRow, OutcomeTable, Strip, Text};
use crate::report::cautions;
use crate::report::inspection::about::{Case, day, measured};
use crate::report::inspection::lacking::told_once;
use crate::report::inspection::water_year;
use crate::rules::{Finding, FindingKind, Outcome, Provenance};

/// Most rows of "what is not shown" and of duties on page 1; the rest stand in their own sections, and page 1 says so.
const MOST_LINES: usize = 9;

/// Writes page 1.
pub fn write(case: &Case, doc: &mut Document) {
    head(case, doc);
    outcomes(case, doc);
    not_shown(case, doc);
    duties(case, doc);
    water_year::write(case, doc);
}

/// `the Lower Dorrel Water Authority`: an authority's name inside a sentence.
fn sentence_name(authority: &str) -> String {
    let lower = authority.to_lowercase();
    if lower.starts_with("the ") || case_is_possessive(&lower) {
        authority.to_owned()
    } else {
        format!("the {authority}")
    }
}

fn case_is_possessive(lower: &str) -> bool {
    lower.contains("'s ") || lower.contains("’s ")
}

fn head(case: &Case, doc: &mut Document) {
    if !case.letterhead.lines.is_empty() {
        doc.permit_line("From", case.letterhead.lines.join(", "));
    }
    match case.permit {
        Some(permit) => {
            doc.permit_line("Permit", format!("{}, {}", permit.permit, permit.authority));
            let typed = match &permit.typed_by {
                Some(who) => format!("{}, typed by {who}", permit.file),
                None => format!("{}, not said who typed it", permit.file),
            };
            doc.permit_line("Rules", typed);
        }
        None => {
            doc.permit_line("Permit", "no rules file: nothing was held against a limit");
        }
    }
    doc.permit_line("As of", day(case.as_of));
}

/// The form of an outcome in the table of limits.
pub fn form(outcome: Outcome) -> OutcomeForm {
    match outcome {
        Outcome::Met | Outcome::Done | Outcome::NothingDue => OutcomeForm::Met,
        Outcome::Exceeded => OutcomeForm::Exceeded,
        Outcome::BelowMinimum => OutcomeForm::BelowMinimum,
        Outcome::OutsideRange => OutcomeForm::OutsideRange,
        Outcome::NotShown | Outcome::Overdue | Outcome::Due => OutcomeForm::NotShown,
        Outcome::NoDischarge => OutcomeForm::NoDischarge,
        Outcome::NotInForce => OutcomeForm::NotInForce,
        Outcome::NotEvaluable => OutcomeForm::NotEvaluable,
        Outcome::PredictedWithin => OutcomeForm::PredictedWithin,
        Outcome::PredictedOutside => OutcomeForm::PredictedOutside,
        Outcome::Undecided => OutcomeForm::Undecided,
    }
}

fn limits<'a>(case: &Case<'a>) -> impl Iterator<Item = &'a Finding> + use<'a> {
    case.findings.iter().filter(|finding| finding.kind == FindingKind::Limit)
}

/// `12 limits: 1 exceeded, 2 not shown, 8 met, 1 no discharge.`
pub fn count_sentence(case: &Case) -> String {
    let mut order: Vec<(Outcome, usize)> = Vec::new();
    for finding in limits(case) {
        match order.iter_mut().find(|(outcome, _)| *outcome == finding.outcome) {
            Some((_, count)) => *count += 1,
            None => order.push((finding.outcome, 1)),
        }
    }
    order.sort();
    let total: usize = order.iter().map(|(_, count)| count).sum();
    if total == 0 {
        return "No limit was typed, so nothing was judged.".to_owned();
    }
    let parts: Vec<String> = order.iter().map(|(outcome, count)| format!("{count} {outcome}")).collect();
    let noun = if total == 1 { "limit" } else { "limits" };
    format!("{total} {noun}: {}.", parts.join(", "))
}

fn outcomes(case: &Case, doc: &mut Document) {
    doc.heading(2, "The permit's limits and what our records show");
    doc.paragraph(Text::new().bold(count_sentence(case)));
    let mut table = OutcomeTable::default();
    let mut marks = Marks::default();
    for finding in limits(case) {
        let mut row = OutcomeRow::new(
            finding.name.clone(),
            form(finding.outcome),
            finding.limit.as_ref().map(|limit| limit.text.clone()).unwrap_or_default(),
        );
        if let Some(figure) = &finding.figure {
            row.worst.clone_from(&figure.text);
            row.basis = Some(match figure.provenance {
                Provenance::Measured => measured(&figure.unit),
                Provenance::Computed => Basis::Computed,
            });
        }
        row.margin = finding.margin.clone().unwrap_or_default();
        row.strip = finding.strip.map(|strip| Strip {
            limit: strip.limit,
            worst: strip.worst,
            low: Some(strip.low),
            high: Some(strip.high),
            is_minimum: strip.is_minimum,
            measured: row.basis.is_none_or(Basis::is_measured),
        });
        row.when = finding.worst_when.clone().unwrap_or_default();
        row.how_many.clone_from(&finding.how_many);
        row.anchor = Some(finding.id.clone());
        if needs_note(finding)
            && let Some(sentence) = finding.sentences.first()
        {
            row.mark = Some(marks.add(sentence, &mut table));
        }
        if let Some((turns_on, outcome)) = &finding.other_answer {
            let note = format!("{}: the permit does not say; if {turns_on}, it would be {outcome}.", finding.name);
            row.mark = Some(marks.add(&note, &mut table));
        }
        table.rows.push(row);
    }
    let who_decides = Text::new().bold("Who decides. ").plain(cautions::short(&sentence_name(case.authority())));
    if table.rows.is_empty() {
        doc.paragraph(who_decides);
    } else {
        table.notes.push(who_decides);
        doc.outcomes(table);
    }
}

/// A met limit that rests on an argument (its worst figure is known only between two ends), and every prediction,
/// explain themselves under the table; what is not shown has a chapter of its own.
fn needs_note(finding: &Finding) -> bool {
    match finding.outcome {
        Outcome::PredictedWithin | Outcome::PredictedOutside | Outcome::Undecided => true,
        Outcome::Met => {
            finding.figure.as_ref().is_some_and(|figure| figure.low < figure.high && finding.limit_is_one_sided())
        }
        _ => false,
    }
}

/// Hands out the marks (a), (b) … of notes; a note that stands already keeps its mark.
#[derive(Default)]
struct Marks(Vec<String>);

impl Marks {
    fn add(&mut self, note: &str, table: &mut OutcomeTable) -> String {
        let at = match self.0.iter().position(|known| known == note) {
            Some(at) => at,
            None => {
                self.0.push(note.to_owned());
                self.0.len() - 1
            }
        };
        let mark = u8::try_from(at)
            .ok()
            .filter(|at| *at < 26)
            .map_or_else(|| format!("a{at}"), |at| char::from(b'a' + at).to_string());
        if table.notes.len() < self.0.len() {
            table.notes.push(Text::from(format!("({mark}) {note}")));
        }
        mark
    }
}

fn not_shown(case: &Case, doc: &mut Document) {
    let mut rows: Vec<(String, Text)> = Vec::new();
    let mut more = 0;
    for finding in case.findings.iter().filter(|finding| {
        matches!(finding.outcome, Outcome::NotShown | Outcome::Undecided) && finding.kind != FindingKind::Facility
    }) {
        if rows.len() == MOST_LINES {
            more += 1;
            continue;
        }
        rows.push((finding.name.clone(), Text::from(why_not_shown(finding))));
    }
    if rows.is_empty() {
        return;
    }
    doc.heading(2, "What is not shown, and what would show it");
    doc.definitions(rows);
    if more > 0 {
        doc.paragraph(format!("And {more} more under “Each limit, with its evidence”."));
    }
}

fn why_not_shown(finding: &Finding) -> String {
    let mut words = Vec::new();
    let all = told_once(&finding.missing);
    for missing in all.iter().take(2) {
        words.push(missing.sentence.clone());
        if let Some(show) = &missing.would_show {
            words.push(show.clone());
        }
    }
    if all.len() > 2 {
        words.push(format!("{} more like these.", all.len() - 2));
    }
    if words.is_empty() {
        words.extend(finding.sentences.first().cloned());
    }
    words.join(" ")
}

fn duties(case: &Case, doc: &mut Document) {
    let mut rows: Vec<(String, Text)> = Vec::new();
    let of =
        |finding: &&Finding, kind: FindingKind, outcome: Outcome| finding.kind == kind && finding.outcome == outcome;
    let mut due: Vec<&Finding> = case
        .findings
        .iter()
        .filter(|finding| {
            of(finding, FindingKind::Notice, Outcome::Overdue)
                || of(finding, FindingKind::Notice, Outcome::Due)
                || of(finding, FindingKind::Monitoring, Outcome::Due)
        })
        .collect();
    // A sample or reading that was not taken cannot be made up: a gap, told in one line here and in full further on.
    let gaps: Vec<&str> = case
        .findings
        .iter()
        .filter(|finding| of(finding, FindingKind::Monitoring, Outcome::Overdue))
        .map(|finding| finding.name.as_str())
        .collect();
    due.sort_by_key(|finding| (finding.outcome, finding.due));
    let due = gathered(due);
    let more = due.len().saturating_sub(MOST_LINES);
    for alike in due.into_iter().take(MOST_LINES) {
        let Some(finding) = alike.first() else {
            continue;
        };
        if alike.len() > 2 {
            let names: Vec<&str> =
                alike.iter().map(|finding| finding.name.rsplit(" for ").next().unwrap_or_default()).collect();
            rows.push((
                "Overdue".to_owned(),
                Text::from(format!("{}s, none on file as sent: {}.", stem(finding), names.join(", "))),
            ));
            continue;
        }
        for finding in alike {
            rows.push(duty_row(finding));
        }
    }
    if !gaps.is_empty() {
        rows.push((
            "Gaps".to_owned(),
            Text::from(format!(
                "Not all on file, and not to be made up now: {}. See “Duties and notices”.",
                gaps.join("; ")
            )),
        ));
    }
    if rows.is_empty() {
        return;
    }
    doc.heading(2, "What the permit asks us to do");
    doc.definitions(rows);
    if more > 0 {
        doc.paragraph(format!("And {more} more under “Duties and notices”."));
    }
}

/// What a notice is about, without its month: `Monthly report`.
fn stem(finding: &Finding) -> &str {
    finding.name.split(" for ").next().unwrap_or(&finding.name)
}

/// Overdue notices of one kind together, in the order of the first of each.
fn gathered(due: Vec<&Finding>) -> Vec<Vec<&Finding>> {
    let mut groups: Vec<Vec<&Finding>> = Vec::new();
    for finding in due {
        let alike = groups.iter_mut().find(|group| {
            group.first().is_some_and(|first| {
                finding.name.contains(" for ")
                    && first.outcome == Outcome::Overdue
                    && finding.outcome == Outcome::Overdue
                    && stem(first) == stem(finding)
            })
        });
        match alike {
            Some(group) => group.push(finding),
            None => groups.push(vec![finding]),
        }
    }
    groups
}

fn duty_row(finding: &Finding) -> (String, Text) {
    let term = match (finding.outcome, finding.due) {
        (Outcome::Overdue, _) => "Overdue".to_owned(),
        (_, Some(date)) => format!("By {}", day(date)),
        (_, None) => "Due".to_owned(),
    };
    let mut words = vec![format!("{}.", finding.name.trim_end_matches('.'))];
    words.extend(finding.sentences.iter().take(2).cloned());
    (term, Text::from(words.join(" ")))
}
