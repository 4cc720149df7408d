//! Page 1, which suffices by itself: outcomes worst first, what is overdue, due and not shown, the year's water, who
//! decides.

use chrono::NaiveDate;

use crate::balance::FindingKind as Shortage;
use crate::facility::model::PlaceKind;
use crate::page::document::{Basis, Block, Document, OutcomeForm, Text};
use crate::report::cautions;
use crate::report::inspection::about::{Case, day, file_name, measured, said};
use crate::report::inspection::has_records;
use crate::report::inspection::lacking::told_once;
use crate::report::inspection::late;
use crate::report::inspection::limit_rows::{self, forbids};
use crate::report::inspection::water_year;
use crate::report::letterhead::Stands;
use crate::rules::{Figure, Finding, FindingKind, Missing, Outcome, Provenance, Subject};
use crate::told::{many, named};

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
                Some(who) => typed_by(file_name(&permit.file), who, case.as_of),
                None => format!("{}, not said who typed it", file_name(&permit.file)),
            };
            doc.permit_line("Rules", typed);
        }
        None => {
            doc.permit_line("Permit", "no rules file: nothing was held against a limit");
        }
    }
}

/// `rules.yaml, typed by A. Hand, 2 Feb 2024, after the day as of which this report judges`.
fn typed_by(file: &str, who: &str, as_of: NaiveDate) -> String {
    let by = if who.trim_start().to_lowercase().starts_with("for ") { "typed" } else { "typed by" };
    let later = dates_in(who).into_iter().any(|typed| typed > as_of);
    let later = if later {
        format!("; typed after {}, the day as of which this report judges", day(as_of))
    } else {
        String::new()
    };
    format!("{file}, {by} {who}{later}")
}

/// The dates that words have in them: `2 Feb 2024`, `2 February 2024`, `2024-02-02`.
fn dates_in(words: &str) -> Vec<NaiveDate> {
    let words: Vec<&str> =
        words.split_whitespace().map(|word| word.trim_matches(|c: char| !c.is_alphanumeric())).collect();
    let long = words.windows(3).filter_map(|three| {
        let text = three.join(" ");
        ["%d %b %Y", "%d %B %Y"].iter().find_map(|of| NaiveDate::parse_from_str(&text, of).ok())
    });
    let short = words.iter().filter_map(|word| NaiveDate::parse_from_str(word, "%Y-%m-%d").ok());
    long.chain(short).collect()
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
pub fn counted(findings: &[&Finding]) -> String {
    let mut order: Vec<(Outcome, usize)> = Vec::new();
    for finding in findings {
        match order.iter_mut().find(|(outcome, _)| *outcome == finding.outcome) {
            Some((_, count)) => *count += 1,
            None => order.push((finding.outcome, 1)),
        }
    }
    order.sort();
    // A limit that is exceeded, one below its minimum and one outside its range are not met, each in its own words.
    let over: Vec<(Outcome, usize)> = order.iter().copied().filter(|(outcome, _)| outcome.is_exceeded()).collect();
    order.retain(|(outcome, _)| !outcome.is_exceeded());
    let not_met = match over.as_slice() {
        [] => None,
        [(outcome, count)] => Some(format!("{count} {outcome}")),
        many => Some(format!("{} not met", many.iter().map(|(_, count)| count).sum::<usize>())),
    };
    let parts = not_met.into_iter().chain(order.into_iter().map(|(outcome, count)| format!("{count} {outcome}")));
    parts.collect::<Vec<_>>().join(", ")
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

fn outcomes(case: &Case, doc: &mut Document) {
    doc.heading(3, count_sentence(case));
    let mut table = limit_rows::table(case, &limits(case).collect::<Vec<_>>());
    if table.rows.iter().any(|row| row.strip.is_some()) {
        table.notes.push(Text::from(
            "Margin: hatched is not allowed; a filled square was measured, an open one computed, a bar is its range.",
        ));
    }
    if !table.rows.is_empty() {
        doc.outcomes(table);
    }
}

/// How a judged figure is known.
pub fn basis_of(figure: &Figure) -> Basis {
    match figure.provenance {
        Provenance::Measured => measured(&figure.unit),
        Provenance::Computed => Basis::Computed,
    }
}

/// What is overdue, what comes due, what is not shown, and what can't be had any more.
fn to_do(case: &Case, doc: &mut Document) {
    let mut rows: Vec<(String, Text)> = Vec::new();
    let mut shorter = overdue(case, &mut rows);
    if let Some(late) = late::told(case) {
        shorter.push((late.clone(), Text::new()));
        rows.push(("Late".to_owned(), late));
    }
    coming(case, &mut rows);
    predicted(case, &mut rows);
    not_shown(case, &mut rows);
    not_said(case, &mut rows);
    gaps(case, &mut rows);
    not_enough(case, &mut rows);
    own_words(case, &mut rows);
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
    // Where page 1 has no room for them, in fewer words.
    if let Some(Block::Margin(rows)) = doc.blocks.last_mut() {
        for row in rows {
            row.shorter = shorter.iter().find(|(full, _)| *full == row.text).map(|(_, few)| few.clone());
        }
    }
}

/// What is overdue, and what of it can be said in fewer words: a few by themselves, those about one thing together.
fn overdue(case: &Case, rows: &mut Vec<(String, Text)>) -> Vec<(Text, Text)> {
    let mut shorter: Vec<(Text, Text)> = Vec::new();
    let mut due: Vec<&Finding> = of(case, FindingKind::Notice, Outcome::Overdue).collect();
    due.sort_by_key(|finding| finding.due);
    let groups = gathered(due);
    if groups.len() <= FEW_OVERDUE {
        rows.extend(groups.iter().map(|alike| ("Overdue".to_owned(), overdue_words(alike, true))));
        return shorter;
    }
    // Of many, a line for each kind; what is neither a notice of a limit nor a report stands by itself.
    let (limits, others): (Vec<Vec<&Finding>>, Vec<Vec<&Finding>>) =
        groups.into_iter().partition(|alike| alike.iter().all(|finding| finding.id.starts_with("notice")));
    let (reports, others): (Vec<Vec<&Finding>>, Vec<Vec<&Finding>>) =
        others.into_iter().partition(|alike| alike.iter().all(|finding| finding.id.starts_with("report")));
    for (kind, groups) in [("of limits exceeded", limits), ("to be sent every month", reports)] {
        if let [alike] = groups.as_slice() {
            rows.push(("Overdue".to_owned(), overdue_words(alike, true)));
            continue;
        }
        let count = groups.iter().map(Vec::len).sum::<usize>();
        let Some(first) = groups.iter().flatten().filter_map(|finding| finding.due).min() else { continue };
        let names: Vec<&str> = groups.iter().flatten().filter_map(|one| Some(one.about.as_ref()?.0.as_str())).collect();
        let is_listed = has_records(case);
        let names = each_once(names);
        let names = [names.join("; "), named(&names)]
            .map(|names| if kind.starts_with("of") { format!(" ({names})") } else { String::new() });
        let what = many(count, if kind.starts_with("of") { "notice" } else { "report" });
        let [text, few] = names.map(|names| {
            Text::new().bold(format!("{what} {kind}{names}. ")).plain(format!(
                "The first was due on {}{}.",
                day(first),
                if is_listed { "; all stand under “Duties and notices”" } else { "" }
            ))
        });
        if few != text {
            shorter.push((text.clone(), few));
        }
        rows.push(("Overdue".to_owned(), text));
    }
    rows.extend(others.iter().map(|alike| ("Overdue".to_owned(), overdue_words(alike, true))));
    shorter
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
            // One more takes no more room than the words that count it.
            let most = if windows.len() == MOST_WINDOWS + 1 { windows.len() } else { MOST_WINDOWS };
            let shown = windows.iter().take(most).copied().collect::<Vec<_>>().join(", ");
            let more = match windows.len().saturating_sub(most) {
                0 => String::new(),
                more => format!(" and {more} more"),
            };
            let due = first.due.map_or_else(String::new, |due| format!(" The first was due on {}.", day(due)));
            // Of a report there is nothing but itself; of a limit exceeded a call and a letter.
            let lack = if first.id.starts_with("report") { "not on file" } else { "with something not on file" };
            let count = alike.len();
            if by_name {
                Text::new().bold(format!("{what}, {shown}{more}: ")).plain(format!("{count} {lack}.{due}"))
            } else {
                Text::from(format!("{count} {lack}: {shown}{more}."))
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
    let groups = alike(due, |finding| (finding.due, finding.outcome));
    let shown = groups.iter().take(MOST_LINES).filter_map(|group| Some((group.first()?.due?, duty_words(group))));
    let words: Vec<String> = shown
        .collect::<Vec<_>>()
        .chunk_by(|one, next| one.0 == next.0)
        .filter_map(|day_s| {
            let duties: Vec<&str> = day_s.iter().map(|(_, duty)| duty.as_str()).collect();
            Some(format!("{}: {}", day(day_s.first()?.0), duties.join("; ")))
        })
        .collect();
    if !words.is_empty() {
        let more = match groups.len().saturating_sub(MOST_LINES) {
            0 => String::new(),
            more => format!("; {more} more{}", under_duties(case)),
        };
        rows.push(("Comes due".to_owned(), Text::from(format!("{}{more}.", words.join(". ")))));
    }
}

/// What is computed to be outside its limit, where nothing is on file of it.
fn predicted(case: &Case, rows: &mut Vec<(String, Text)>) {
    let outside: Vec<&Finding> = limits(case).filter(|one| one.outcome == Outcome::PredictedOutside).collect();
    let words: Vec<String> = outside
        .iter()
        .take(MOST_LINES)
        .map(|finding| {
            let figure = finding.figure.as_ref().map_or_else(String::new, |figure| format!(" {}", said(&figure.text)));
            let when = finding.worst_when.as_ref().map_or_else(String::new, |when| format!(", {when}"));
            let says = finding.limit.as_ref().map_or_else(|| "none".to_owned(), |limit| said(&limit.text));
            format!("{}:{figure}{when}, the permit says {says}", finding.name)
        })
        .collect();
    if !words.is_empty() {
        let more = match outside.len().saturating_sub(MOST_LINES) {
            0 => String::new(),
            more => format!("; and {more} more"),
        };
        let text = format!("Outside by the computation, and no record of it: {}{more}.", words.join("; "));
        rows.push(("Predicted".to_owned(), Text::from(text)));
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
                let (count, verb) =
                    if many == 3 { ("One".to_owned(), "stands") } else { ((many - 2).to_string(), "stand") };
                format!(" {count} more of what is missing {verb} where the limit does.")
            }
        };
        let text = Text::new().bold(format!("{}: ", named(&names))).plain(said(&first)).plain(rest);
        rows.push(("Not shown".to_owned(), text));
    }
    if more > 0 {
        rows.push((
            "Not shown".to_owned(),
            Text::from(format!("And {more} more{}.", if has_records(case) { ", each under its limit" } else { "" })),
        ));
    }
}

/// Where the other duties stand: nowhere in a report without records.
fn under_duties(case: &Case) -> &'static str {
    if has_records(case) { " under “Duties and notices”" } else { "" }
}

/// Where the permit does not say how to count, and the answers differ: the worst of them is the outcome.
fn not_said(case: &Case, rows: &mut Vec<(String, Text)>) {
    let differs = limits(case).filter_map(|finding| Some((finding, finding.other_answer.as_ref()?)));
    for (finding, (turns_on, outcome)) in differs.take(MOST_LINES) {
        let text = Text::new().bold(format!("{}: ", finding.name));
        rows.push(("Not said".to_owned(), text.plain(said(&format!("if {turns_on}, it would be {outcome}.")))));
    }
}

/// A sample or reading that was not taken can't be had any more: told in one line where no limit above lacks it.
fn gaps(case: &Case, rows: &mut Vec<(String, Text)>) {
    let told = |finding: &Finding| {
        finding.windows.iter().flat_map(|window| &window.missing).all(|missing| {
            limits(case).any(|limit| limit.missing.iter().any(|known| known.sentence == missing.sentence))
        })
    };
    let (elsewhere, gaps): (Vec<&Finding>, Vec<&Finding>) =
        of(case, FindingKind::Monitoring, Outcome::Overdue).partition(|finding| told(finding));
    let gaps: Vec<String> = alike(gaps, |finding| finding.how_many.clone())
        .iter()
        .filter_map(|group| {
            let each = if group.len() > 1 { " each" } else { "" };
            Some(format!("{} ({}{each})", duty_words(group), group.first()?.how_many))
        })
        .collect();
    let more = match elsewhere.len() {
        0 => String::new(),
        more => format!(" {more} more{}.", under_duties(case)),
    };
    if !gaps.is_empty() {
        rows.push((
            "Gaps".to_owned(),
            Text::from(format!("Not on file, and too late to get: {}.{more}", gaps.join("; "))),
        ));
    } else if !more.is_empty() {
        let under = if has_records(case) { ", under “Duties and notices”" } else { "" };
        let words = format!("{} with gaps{under}.", told_duties(elsewhere.len()));
        rows.push(("Gaps".to_owned(), Text::from(words)));
    }
}

/// Places that had not what they need by the computation: water asked for and not there, filters that cannot keep up.
fn not_enough(case: &Case, rows: &mut Vec<(String, Text)>) {
    if water_year::rain_is_not_known(case) {
        return;
    }
    // Of each kind the place with the most days, and how many others there are.
    let words: Vec<String> = [Shortage::CannotKeepUp, Shortage::WashLock, Shortage::Shortfall]
        .into_iter()
        .filter_map(|kind| {
            let found = of(case, FindingKind::Facility, Outcome::NotShown).filter(|one| one.id.ends_with(kind.words()));
            let found: Vec<&Finding> = found.collect();
            let worst = found.iter().rev().max_by_key(|one| one.n)?;
            let sentence = worst.sentences.first()?.trim_end_matches('.');
            Some(match found.len() - 1 {
                0 => sentence.to_owned(),
                others => format!("{sentence} (and so {})", many(others, "other place")),
            })
        })
        .collect();
    if words.is_empty() {
        return;
    }
    rows.push(("Not enough".to_owned(), Text::from(format!("By the computation: {}.", words.join("; ")))));
}

/// Where the holder's own paragraphs say something of a limit, page 1 says which.
fn own_words(case: &Case, rows: &mut Vec<(String, Text)>) {
    for paragraph in &case.letterhead.paragraphs {
        let words = format!("{} {}", paragraph.heading, paragraph.text);
        let names: Vec<&str> = limits(case)
            .filter(|finding| finding.outcome != Outcome::Met && is_told_of(&words, case, finding))
            .map(|finding| finding.name.as_str())
            .collect();
        if names.is_empty() {
            continue;
        }
        let of = if names.len() > MOST_NAMES { format!("{} limits", names.len()) } else { names.join(", ") };
        let stands = match paragraph.stands {
            Stands::AfterTheFirstPage => "after this page",
            Stands::AtTheEnd => "at the end",
        };
        let text = format!("“{}”, {stands}, has words of the holder's own on {of}.", paragraph.heading);
        rows.push(("Own words".to_owned(), Text::from(text)));
    }
}

/// Whether words name a limit, or what it is of.
fn is_told_of(words: &str, case: &Case, finding: &Finding) -> bool {
    let limit = case.limits.iter().find(|limit| Some(&limit.place) == finding.place.as_ref());
    let of = limit.and_then(|limit| match &limit.subject {
        Subject::Parameter(name) | Subject::Load(name) | Subject::Removal(name, _) => Some(name.as_str()),
        _ => None,
    });
    let words = words.to_lowercase();
    let named = |name: &str| {
        let name = name.to_lowercase();
        let whole = |at: usize| {
            let ends = |c: Option<char>| !c.is_some_and(char::is_alphanumeric);
            ends(words.get(..at).and_then(|before| before.chars().next_back()))
                && ends(words.get(at + name.len()..).and_then(|after| after.chars().next()))
        };
        name.len() > 1 && words.match_indices(name.as_str()).any(|(at, _)| whole(at))
    };
    // `total phosphorus` is told of by `phosphorus`.
    named(&finding.name) || of.is_some_and(|of| named(of) || of.split_once("total ").is_some_and(|(_, of)| named(of)))
}

/// `1 duty`, `3 duties`.
fn told_duties(count: usize) -> String {
    if count == 1 { "1 duty".to_owned() } else { format!("{count} duties") }
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rules_typed_after_the_day_of_the_report_are_told_and_for_somebody_is_not_by_them() {
        let as_of = NaiveDate::from_ymd_opt(2024, 1, 26).unwrap();
        assert_eq!(
            typed_by("rules.yaml", "A. Hand, 2 Feb 2024", as_of),
            "rules.yaml, typed by A. Hand, 2 Feb 2024; typed after 26 Jan 2024, the day as of which this report judges"
        );
        assert_eq!(typed_by("r.yaml", "for A. Hand, 2024-01-02", as_of), "r.yaml, typed for A. Hand, 2024-01-02");
    }
}
