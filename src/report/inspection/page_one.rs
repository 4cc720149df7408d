//! Page 1, which suffices by itself: outcomes worst first, what is overdue, due and not shown, the year's water, who
//! decides.

use crate::facility::model::PlaceKind;
use crate::page::document::{Basis, Document, OutcomeForm, OutcomeRow, OutcomeTable, Strip, Text};
use crate::report::cautions;
use crate::report::inspection::about::{Case, day, file_name, measured, said};
use crate::report::inspection::has_records;
use crate::report::inspection::lacking::told_once;
use crate::report::inspection::water_year;
use crate::rules::{Figure, Finding, FindingKind, Judged, Missing, Outcome, Provenance};
use crate::told::{many, named};

/// Most limits on page 1; the others are counted.
const MOST_LIMITS: usize = 13;
/// Most lines of one kind on page 1; the rest stand in their own sections, and page 1 says so.
const MOST_LINES: usize = 4;
/// Most overdue things that stand by themselves.
const FEW_OVERDUE: usize = 2;
/// Most windows named in one line.
const MOST_WINDOWS: usize = 12;
/// Most places named in one line.
const MOST_NAMES: usize = 3;

/// Writes page 1: it suffices by itself.
pub fn write(case: &Case, doc: &mut Document) {
    head(case, doc);
    outcomes(case, doc);
    to_do(case, doc);
    let who_decides = Text::new().bold("Who decides. ").plain(cautions::short(&sentence_name(case.authority())));
    water_year::write(case, who_decides, doc);
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
            let waters = receiving_waters(case);
            let to = if waters.is_empty() { String::new() } else { format!("; discharges into {}", waters.join(", ")) };
            doc.permit_line("Permit", format!("{}, {}{to}", permit.permit, permit.authority));
            let typed = match &permit.typed_by {
                Some(who) => format!("{}, typed by {who}", file_name(&permit.file)),
                None => format!("{}, not said who typed it", file_name(&permit.file)),
            };
            doc.permit_line("Rules", typed);
        }
        None => {
            doc.permit_line("Permit", "no rules file: nothing was held against a limit");
        }
    }
}

/// The waters that the site's outfalls run into, each once.
fn receiving_waters<'a>(case: &Case<'a>) -> Vec<&'a str> {
    let mut waters: Vec<&str> = Vec::new();
    for place in &case.facility.places {
        if let PlaceKind::DischargePoint(point) = &place.kind
            && let Some(water) = point.into.as_deref()
            && !waters.contains(&water)
        {
            waters.push(water);
        }
    }
    waters
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

/// `1 exceeded, 2 not shown, 8 met`, worst first.
fn counted(findings: &[&Finding]) -> String {
    let mut order: Vec<(Outcome, usize)> = Vec::new();
    for finding in findings {
        match order.iter_mut().find(|(outcome, _)| *outcome == finding.outcome) {
            Some((_, count)) => *count += 1,
            None => order.push((finding.outcome, 1)),
        }
    }
    order.sort();
    let parts: Vec<String> = order.iter().map(|(outcome, count)| format!("{count} {outcome}")).collect();
    parts.join(", ")
}

/// `12 limits: 1 exceeded, 2 not shown, 8 met, 1 no discharge.`
pub fn count_sentence(case: &Case) -> String {
    let all: Vec<&Finding> = limits(case).collect();
    match all.len() {
        0 => "No limit was typed, so nothing was judged.".to_owned(),
        1 => format!("1 limit: {}.", counted(&all)),
        total => format!("{total} limits: {}.", counted(&all)),
    }
}

/// How many limits have a row of their own: the line that counts the others takes the place of one.
fn most_limits(case: &Case) -> usize {
    if limits(case).count() > MOST_LIMITS { MOST_LIMITS - 1 } else { MOST_LIMITS }
}

/// What the rows that did not fit came out as: `4 more: 3 met, 1 no discharge`.
fn more(case: &Case) -> Option<(String, String)> {
    let rest: Vec<&Finding> = limits(case).skip(most_limits(case)).collect();
    let first = rest.first()?;
    Some((format!("{} more: {}", rest.len(), counted(&rest)), first.id.clone()))
}

fn outcomes(case: &Case, doc: &mut Document) {
    doc.heading(3, count_sentence(case));
    let mut table = OutcomeTable { more: more(case), ..OutcomeTable::default() };
    for finding in limits(case).take(most_limits(case)) {
        table.rows.push(row(case, finding));
    }
    if table.rows.iter().any(|row| row.strip.is_some()) {
        table.notes.push(Text::from(
            "Margin: hatched is not allowed; a filled square was measured, an open one computed, a bar is its range.",
        ));
    }
    if !table.rows.is_empty() {
        doc.outcomes(table);
    }
}

fn row(case: &Case, finding: &Finding) -> OutcomeRow {
    let mut row = OutcomeRow::new(
        finding.name.clone(),
        form(finding.outcome),
        finding.limit.as_ref().map_or_else(String::new, bound),
    );
    if let Some(figure) = &finding.figure {
        row.worst = said(&figure.text);
        row.basis = Some(basis_of(figure));
    }
    row.margin = finding.margin.as_deref().map(said).unwrap_or_default();
    row.strip = finding.strip.map(|strip| Strip {
        limit: strip.limit,
        worst: strip.worst,
        low: Some(strip.low),
        high: Some(strip.high),
        is_minimum: strip.is_minimum,
        measured: row.basis.is_none_or(Basis::is_measured),
    });
    row.when = when(case, finding);
    row.how_many.clone_from(&finding.how_many);
    row.anchor = has_records(case).then(|| finding.id.clone());
    row
}

/// The bound under the head “Allowed”: a most by its figure alone.
fn bound(limit: &Judged) -> String {
    let words = said(&limit.text);
    match (limit.at_least, words.strip_prefix("at most ")) {
        (None, Some(figure)) => figure.to_owned(),
        _ => words,
    }
}

/// When it was worst; a window as long as the period is not repeated.
fn when(case: &Case, finding: &Finding) -> String {
    let whole = finding
        .windows
        .iter()
        .any(|window| Some(&window.label) == finding.worst_when.as_ref() && (window.from, window.to) == case.period);
    if whole { "whole period".to_owned() } else { finding.worst_when.clone().unwrap_or_default() }
}

/// How a judged figure is known.
pub fn basis_of(figure: &Figure) -> Basis {
    match figure.provenance {
        Provenance::Measured => measured(&figure.unit),
        Provenance::Computed => Basis::Computed,
    }
}

/// What is overdue, what comes due, what is not shown, and what can't be made up.
fn to_do(case: &Case, doc: &mut Document) {
    let mut rows: Vec<(String, Text)> = Vec::new();
    overdue(case, &mut rows);
    coming(case, &mut rows);
    not_shown(case, &mut rows);
    not_said(case, &mut rows);
    gaps(case, &mut rows);
    if rows.is_empty() {
        return;
    }
    doc.heading(3, "What is overdue, due and not shown");
    // A term stands once, beside the first of its lines.
    let mut last = String::new();
    for (term, _) in &mut rows {
        if *term == last {
            term.clear();
        } else {
            last.clone_from(term);
        }
    }
    doc.margin(rows);
}

/// What is overdue: a few by themselves, those about one thing together.
fn overdue(case: &Case, rows: &mut Vec<(String, Text)>) {
    let mut due: Vec<&Finding> = of(case, FindingKind::Notice, Outcome::Overdue).collect();
    due.sort_by_key(|finding| finding.due);
    let groups = gathered(due);
    if groups.len() <= FEW_OVERDUE {
        rows.extend(groups.iter().map(|alike| ("Overdue".to_owned(), overdue_words(alike, true))));
        return;
    }
    // Of many, a line for each kind; what is neither a notice of a limit nor a report stands by itself.
    let (limits, others): (Vec<Vec<&Finding>>, Vec<Vec<&Finding>>) =
        groups.into_iter().partition(|alike| alike.iter().all(|finding| finding.id.starts_with("notice")));
    let (reports, others): (Vec<Vec<&Finding>>, Vec<Vec<&Finding>>) =
        others.into_iter().partition(|alike| alike.iter().all(|finding| finding.id.starts_with("report")));
    for (kind, groups) in [("of limits exceeded", limits), ("to be sent every month", reports)] {
        let count = groups.iter().map(Vec::len).sum::<usize>();
        let Some(first) = groups.iter().flatten().filter_map(|finding| finding.due).min() else { continue };
        let names: Vec<&str> = groups.iter().flatten().filter_map(|one| Some(one.about.as_ref()?.0.as_str())).collect();
        let names = if kind.starts_with("of") { format!(" ({})", named(&each_once(names))) } else { String::new() };
        let what = many(count, if kind.starts_with("of") { "notice" } else { "report" });
        let text = Text::new()
            .bold(format!("{what} {kind}{names}. "))
            .plain(format!("The first was due on {}; all stand under “Duties and notices”.", day(first)));
        rows.push(("Overdue".to_owned(), text));
    }
    rows.extend(others.iter().map(|alike| ("Overdue".to_owned(), overdue_words(alike, true))));
}

fn each_once(names: Vec<&str>) -> Vec<&str> {
    let mut once: Vec<&str> = Vec::new();
    for name in names {
        if !once.contains(&name) {
            once.push(name);
        }
    }
    once
}

/// One overdue notice in words, or several about one thing; by name where it does not stand beside.
pub fn overdue_words(alike: &[&Finding], by_name: bool) -> Text {
    let Some(first) = alike.first() else { return Text::new() };
    match (&first.about, alike.len()) {
        (Some((what, _)), 2..) => {
            let windows: Vec<&str> =
                alike.iter().filter_map(|finding| finding.about.as_ref()).map(|(_, window)| window.as_str()).collect();
            let shown = windows.iter().take(MOST_WINDOWS).copied().collect::<Vec<_>>().join(", ");
            let more = match windows.len().saturating_sub(MOST_WINDOWS) {
                0 => String::new(),
                more => format!(" and {more} more"),
            };
            let due = first.due.map_or_else(String::new, |due| format!(" The first was due on {}.", day(due)));
            if by_name {
                Text::new()
                    .bold(format!("{what}, {shown}{more}: "))
                    .plain(format!("{}, each with something not on file.{due}", alike.len()))
            } else {
                Text::from(format!("{} with something not on file: {shown}{more}.", alike.len()))
            }
        }
        _ => Text::new().bold(format!("{}. ", first.name.trim_end_matches('.'))).plain(first.what_is_missing()),
    }
}

/// What comes due, in one line, the first day first.
fn coming(case: &Case, rows: &mut Vec<(String, Text)>) {
    let mut due: Vec<&Finding> = of(case, FindingKind::Notice, Outcome::Due)
        .chain(of(case, FindingKind::Monitoring, Outcome::Due))
        .filter(|finding| finding.due.is_some())
        .collect();
    due.sort_by_key(|finding| finding.due);
    let words: Vec<String> = alike(due, |finding| (finding.due, finding.outcome))
        .iter()
        .take(MOST_LINES)
        .filter_map(|group| Some(format!("{}: {}", group.first()?.due.map(day)?, duty_words(group))))
        .collect();
    if !words.is_empty() {
        rows.push(("Comes due".to_owned(), Text::from(format!("{}.", words.join("; ")))));
    }
}

/// What is not shown: limits that lack the same thing are named together, and what one limit lacks stands in one line.
fn not_shown(case: &Case, rows: &mut Vec<(String, Text)>) {
    let open = limits(case).filter(|finding| matches!(finding.outcome, Outcome::NotShown | Outcome::Undecided));
    let mut lacking: Vec<(Vec<&str>, String)> = Vec::new();
    for finding in open {
        // The paper to look at stands with what is missing.
        let with_paper = |one: Missing| match &one.paper {
            Some(paper) => format!("{}; {paper} has other results.", one.sentence.trim_end_matches('.')),
            None => one.sentence,
        };
        let mut sentences: Vec<String> = told_once(&finding.missing).into_iter().map(with_paper).collect();
        if sentences.is_empty() {
            sentences.extend(finding.sentences.first().cloned());
        }
        // Where nothing may leave, that something did is not left to the table.
        let left: Vec<&str> = finding
            .windows
            .iter()
            .filter(|window| forbids(finding) && window.outcome == Outcome::NotShown && window.n > 0)
            .map(|window| window.label.as_str())
            .collect();
        if !left.is_empty() {
            sentences.insert(0, format!("Water left: {}; it is not shown whether that is excused.", left.join(", ")));
        }
        for sentence in sentences {
            match lacking.iter_mut().find(|(_, known)| *known == sentence) {
                Some((names, _)) => names.push(&finding.name),
                None => lacking.push((vec![&finding.name], sentence)),
            }
        }
    }
    let mut groups: Vec<(Vec<&str>, Vec<String>)> = Vec::new();
    for (names, sentence) in lacking {
        match groups.iter_mut().find(|(known, _)| *known == names) {
            Some((_, sentences)) => sentences.push(sentence),
            None => groups.push((names, vec![sentence])),
        }
    }
    let more = groups.len().saturating_sub(MOST_LINES);
    for (names, sentences) in groups.into_iter().take(MOST_LINES) {
        let first = sentences.iter().take(2).map(String::as_str).collect::<Vec<_>>().join(" ");
        let rest = match sentences.len() {
            0..=2 => String::new(),
            many => {
                format!(" {} more: see its section.", if many == 3 { "One".to_owned() } else { (many - 2).to_string() })
            }
        };
        let text = Text::new().bold(format!("{}: ", named(&names))).plain(said(&first)).plain(rest);
        rows.push(("Not shown".to_owned(), text));
    }
    if more > 0 {
        rows.push(("Not shown".to_owned(), Text::from(format!("And {more} more, each under its limit."))));
    }
}

/// Whether a limit has no bound: nothing may leave.
pub fn forbids(finding: &Finding) -> bool {
    finding.limit.as_ref().is_some_and(|limit| limit.at_most.is_none() && limit.at_least.is_none())
}

/// Where the permit does not say how to count, and the answers differ: the worst of them is the outcome.
fn not_said(case: &Case, rows: &mut Vec<(String, Text)>) {
    let differs = limits(case).filter_map(|finding| Some((finding, finding.other_answer.as_ref()?)));
    for (finding, (turns_on, outcome)) in differs.take(MOST_LINES) {
        let text = Text::new().bold(format!("{}: ", finding.name));
        rows.push(("Not said".to_owned(), text.plain(said(&format!("if {turns_on}, it would be {outcome}.")))));
    }
}

/// A sample or reading that was not taken can't be made up: told in one line where no limit above lacks it.
fn gaps(case: &Case, rows: &mut Vec<(String, Text)>) {
    let told = |finding: &Finding| {
        finding.windows.iter().flat_map(|window| &window.missing).all(|missing| {
            limits(case).any(|limit| limit.missing.iter().any(|known| known.sentence == missing.sentence))
        })
    };
    let gaps = of(case, FindingKind::Monitoring, Outcome::Overdue).filter(|finding| !told(finding)).collect();
    let gaps: Vec<String> = alike(gaps, |finding| finding.how_many.clone())
        .iter()
        .filter_map(|group| {
            let each = if group.len() > 1 { " each" } else { "" };
            Some(format!("{} ({}{each})", duty_words(group), group.first()?.how_many))
        })
        .collect();
    if !gaps.is_empty() {
        rows.push(("Gaps".to_owned(), Text::from(format!("Not to be made up now: {}.", gaps.join("; ")))));
    }
}

/// What is due at several places in the same way, together: in the order of the first of each.
pub fn alike<K: PartialEq>(findings: Vec<&Finding>, key: impl Fn(&Finding) -> K) -> Vec<Vec<&Finding>> {
    let mut groups: Vec<Vec<&Finding>> = Vec::new();
    let what = |finding: &Finding| {
        let about = finding.about.as_ref().filter(|_| finding.kind != FindingKind::Notice)?;
        Some((finding.kind, about.0.clone(), key(finding)))
    };
    for finding in findings {
        let of = what(finding);
        let is_of = |group: &&mut Vec<&Finding>| of.is_some() && group.first().is_some_and(|first| what(first) == of);
        match groups.iter_mut().find(is_of) {
            Some(group) => group.push(finding),
            None => groups.push(vec![finding]),
        }
    }
    groups
}

/// `Reading of freeboard, once a week, at 14 places`: one duty, or one at several places.
fn duty_words(group: &[&Finding]) -> String {
    match group {
        [Finding { about: Some((what, _)), .. }, _, ..] => {
            let places: Vec<&str> =
                group.iter().filter_map(|finding| finding.about.as_ref()).map(|(_, at)| at.as_str()).collect();
            match places.len() {
                0..=MOST_NAMES => format!("{what}, at {}", places.join(", ")),
                many => format!("{what}, at {many} places"),
            }
        }
        [one, ..] => one.name.clone(),
        [] => String::new(),
    }
}

fn of<'a>(case: &Case<'a>, kind: FindingKind, outcome: Outcome) -> impl Iterator<Item = &'a Finding> + use<'a> {
    case.findings.iter().filter(move |finding| finding.kind == kind && finding.outcome == outcome)
}

/// Overdue notices about one thing together, in the order of the first of each.
pub fn gathered(due: Vec<&Finding>) -> Vec<Vec<&Finding>> {
    let mut groups: Vec<Vec<&Finding>> = Vec::new();
    let what = |finding: &Finding| finding.about.as_ref().map(|(what, _)| what.clone());
    for finding in due {
        let alike = groups
            .iter_mut()
            .find(|group| group.first().is_some_and(|first| what(first).is_some() && what(first) == what(finding)));
        match alike {
            Some(group) => group.push(finding),
            None => groups.push(vec![finding]),
        }
    }
    groups
}
