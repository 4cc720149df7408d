//! The rows of page 1's table of limits: those that say something first, those of which as little is known together.

use crate::page::document::{Basis, OutcomeRow, OutcomeTable, Strip};
use crate::report::inspection::about::{Case, said};
use crate::report::inspection::has_records;
use crate::report::inspection::page_one::{basis_of, counted, form};
use crate::rules::{Finding, Judged, Outcome, days_label};

/// Most rows on page 1; the other limits share a line.
const MOST_ROWS: usize = 13;
/// Most letters of that line: it is no second table.
const MOST_LETTERS: usize = 104;

/// The table of limits.
pub fn table(case: &Case, limits: &[&Finding]) -> OutcomeTable {
    let groups = groups(limits);
    let most = if groups.len() > MOST_ROWS { MOST_ROWS - 1 } else { MOST_ROWS };
    let (shown, rest) = groups.split_at(most.min(groups.len()));
    let rest: Vec<&Finding> = rest.iter().flatten().copied().collect();
    OutcomeTable {
        rows: shown.iter().filter_map(|group| of_group(case, group)).collect(),
        more: (!rest.is_empty()).then(|| (more(&rest), rest.iter().map(|finding| finding.id.clone()).collect())),
        ..OutcomeTable::default()
    }
}

/// What says something comes first: not met, then outside or undecided by the computation, then not shown with something on
/// file. Where there are more limits than rows, those of which nothing is known under the same bound stand together.
fn groups<'a>(limits: &[&'a Finding]) -> Vec<Vec<&'a Finding>> {
    let is_bare = |finding: &Finding| {
        finding.outcome == Outcome::NotShown && finding.figure.is_none() && finding.beside.is_none()
    };
    let rank = |finding: &Finding| match finding.outcome {
        outcome if outcome.is_exceeded() => 0,
        Outcome::PredictedOutside => 1,
        Outcome::Undecided => 2,
        Outcome::NotShown if finding.beside.is_some() => 3,
        Outcome::NotShown if !is_bare(finding) => 4,
        Outcome::NotShown => 5,
        _ => 6,
    };
    let mut ordered = limits.to_vec();
    ordered.sort_by_key(|finding| rank(finding));
    let key = |finding: &Finding| {
        let bound = finding.limit.as_ref().map(|limit| limit.text.clone());
        is_bare(finding).then(|| (bound, finding.how_many.clone()))
    };
    let mut groups: Vec<Vec<&Finding>> = Vec::new();
    for finding in ordered {
        let of = key(finding).filter(|_| limits.len() > MOST_ROWS);
        let alike = |group: &&mut Vec<&Finding>| of.is_some() && group.first().is_some_and(|first| key(first) == of);
        match groups.iter_mut().find(alike) {
            Some(group) => group.push(finding),
            None => groups.push(vec![finding]),
        }
    }
    groups
}

/// The limits that have no row of their own, by name where they fit on a line: `3 more: Sewer pH not shown; A / B met`.
fn more(rest: &[&Finding]) -> String {
    let by_outcome = rest.chunk_by(|a, b| a.outcome == b.outcome).map(|alike| {
        let names: Vec<&str> = alike.iter().map(|finding| finding.name.as_str()).collect();
        format!("{} {}", names.join(" / "), alike.first().map_or("", |finding| finding.outcome.words()))
    });
    let named = format!("{} more: {}", rest.len(), by_outcome.collect::<Vec<_>>().join("; "));
    if named.chars().count() <= MOST_LETTERS { named } else { format!("{} more: {}", rest.len(), counted(rest)) }
}

fn of_group(case: &Case, group: &[&Finding]) -> Option<OutcomeRow> {
    let mut row = row(case, group.first()?);
    if group.len() > 1 {
        row.limit = format!("{} and {} more", row.limit, group.len() - 1);
    }
    Some(row)
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
    if let (None, Some((figure, _))) = (&finding.figure, &finding.beside) {
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
    row.when = match (&finding.figure, &finding.beside) {
        (None, Some((_, Some(when)))) => when.clone(),
        _ => when(case, finding),
    };
    if let Some((worst, when)) = with_a_single_day(finding) {
        (row.worst, row.when) = (worst, when);
    }
    row.how_many.clone_from(&finding.how_many);
    row.anchor = has_records(case).then(|| finding.id.clone());
    row
}

/// Where the worst is of several days of which none is told apart, the worst that is sure of one day beside it: `10.88 m3; 10.91 to
/// 21.82 m3` and `27 Jun 2025; 28-29 Jun 2025`.
fn with_a_single_day(finding: &Finding) -> Option<(String, String)> {
    let over = || finding.windows.iter().filter(|window| window.outcome.is_exceeded());
    let span = over().find(|window| Some(&window.label) == finding.worst_when.as_ref())?;
    let worst = finding.figure.as_ref().filter(|worst| worst.low < worst.high && span.from < span.to)?;
    let (day, figure) = over()
        .filter(|window| window.from == window.to)
        .filter_map(|window| Some((window, window.figure.as_ref()?)))
        .filter(|(_, figure)| figure.low == figure.high)
        .max_by(|a, b| a.1.high.total_cmp(&b.1.high))?;
    Some((said(&format!("{}; {}", figure.text, worst.text)), format!("{}; {}", day.label, span.label)))
}

/// The bound under the head “Allowed”: a most by its figure alone.
fn bound(limit: &Judged) -> String {
    let words = said(&limit.text);
    match (limit.at_least, words.strip_prefix("at most ")) {
        (None, Some(figure)) => figure.to_owned(),
        _ => words,
    }
}

/// Where nothing may leave, and something did time and again: from the first of the days to the last.
pub fn time_and_again(finding: &Finding) -> Option<String> {
    let alike = || finding.windows.iter().filter(|window| window.outcome == finding.outcome && window.figure.is_some());
    let (from, to) = (alike().map(|one| one.from).min()?, alike().map(|one| one.to).max()?);
    (forbids(finding) && alike().count() > 1).then(|| days_label(from, to))
}

/// Whether a limit has no bound: nothing may leave.
pub fn forbids(finding: &Finding) -> bool {
    finding.limit.as_ref().is_some_and(|limit| limit.at_most.is_none() && limit.at_least.is_none())
}

/// When it was worst; a window as long as the period is not repeated, and nought has no day.
fn when(case: &Case, finding: &Finding) -> String {
    if is_nought(finding) {
        return String::new();
    }
    if let Some(days) = time_and_again(finding) {
        return days;
    }
    let whole = finding
        .windows
        .iter()
        .any(|window| Some(&window.label) == finding.worst_when.as_ref() && (window.from, window.to) == case.period);
    if whole { "whole period".to_owned() } else { finding.worst_when.clone().unwrap_or_default() }
}

/// Whether the worst of a most is nothing at all: every day has it, and the first of them is no worst one.
pub fn is_nought(finding: &Finding) -> bool {
    let most = finding.limit.as_ref().is_some_and(|limit| limit.at_least.is_none());
    most && finding.figure.as_ref().is_some_and(|figure| figure.low == 0.0 && figure.high == 0.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::inspection::limits_bare::tests::a_limit;
    use crate::rules::Figure;

    fn ids(groups: &[Vec<&Finding>]) -> Vec<String> {
        let id = |of: &Vec<&Finding>| of.iter().map(|finding| finding.id.as_str()).collect::<Vec<_>>().join(" ");
        groups.iter().map(id).collect()
    }

    #[test]
    fn what_says_something_comes_before_what_is_not_shown_and_the_bare_stand_together() {
        use Outcome::{Exceeded, Met, NotShown, PredictedOutside, Undecided};
        let mut all = vec![a_limit("over", Exceeded)];
        all.extend((1..=12).map(|n| a_limit(&format!("n{n}"), NotShown)));
        all.extend([a_limit("outside", PredictedOutside), a_limit("open", Undecided), a_limit("met", Met)]);
        let limits: Vec<&Finding> = all.iter().collect();
        let wanted = ["over", "outside", "open", "n1 n2 n3 n4 n5 n6 n7 n8 n9 n10 n11 n12", "met"];
        assert_eq!(ids(&groups(&limits)), wanted);
        // One that the ledger has outside its limit says something, and stands by itself before those.
        let figure = Figure {
            low: 1.5,
            high: 1.5,
            value: Some(1.5),
            unit: "ft".to_owned(),
            text: "1.5 ft".to_owned(),
            provenance: crate::rules::Provenance::Computed,
        };
        let outside = Finding { beside: Some((figure, None)), ..a_limit("pond", NotShown) };
        let with: Vec<&Finding> = limits.iter().copied().chain([&outside]).collect();
        let wanted = ["over", "outside", "open", "pond", "n1 n2 n3 n4 n5 n6 n7 n8 n9 n10 n11 n12", "met"];
        assert_eq!(ids(&groups(&with)), wanted);
        // Where each has room it has a row of its own.
        assert_eq!(ids(&groups(&limits[..4])), ["over", "n1", "n2", "n3"]);
    }

    #[test]
    fn beside_a_worst_of_several_days_stands_the_worst_that_is_sure_of_one() {
        use crate::rules::{Provenance, WindowFinding};
        let date = |day| chrono::NaiveDate::from_ymd_opt(2025, 6, day).unwrap();
        let figure = |low: f64, high: f64, text: &str| Figure {
            low,
            high,
            value: None,
            unit: "m3".to_owned(),
            text: text.to_owned(),
            provenance: Provenance::Measured,
        };
        let window = |from, to, label: &str, figure: Figure| WindowFinding {
            label: label.to_owned(),
            from: date(from),
            to: date(to),
            outcome: Outcome::Exceeded,
            figure: Some(figure),
            n: 1,
            needed: None,
            arithmetic: Vec::new(),
            evidence: Vec::new(),
            missing: Vec::new(),
        };
        let span = window(28, 29, "28-29 Jun", figure(10.91, 21.82, "10.91 to 21.82 m3"));
        let day = window(27, 27, "27 Jun", figure(10.88, 10.88, "10.88 m3"));
        let mut limit = a_limit("Sewer", Outcome::Exceeded);
        limit.figure.clone_from(&span.figure);
        limit.worst_when = Some(span.label.clone());
        limit.windows = vec![span.clone()];
        assert_eq!(with_a_single_day(&limit), None);
        limit.windows = vec![day, span];
        let wanted = ("10.88 m3; 10.91 to 21.82 m3".to_owned(), "27 Jun; 28-29 Jun".to_owned());
        assert_eq!(with_a_single_day(&limit), Some(wanted));
    }

    #[test]
    fn limits_without_a_row_are_named_where_they_fit() {
        use Outcome::{Met, NotShown};
        let all = [a_limit("Sewer pH", NotShown), a_limit("A", Met), a_limit("B", Met)];
        let rest: Vec<&Finding> = all.iter().collect();
        assert_eq!(more(&rest), "3 more: Sewer pH not shown; A / B met");
        let long = [a_limit(&"x".repeat(120), Met)];
        assert_eq!(more(&long.iter().collect::<Vec<_>>()), "1 more: 1 met");
    }
}
