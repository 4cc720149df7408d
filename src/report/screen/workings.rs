//! Each limit's windows with arithmetic, records and papers.

use crate::page::document::Basis;
use crate::page::html::{WorkedWindow, Working};
use crate::report::inspection::about::{Case, day, said, trace};
use crate::report::inspection::page_one::basis_of;
use crate::report::inspection::paper_trail::dials;
use crate::rules::{Finding, FindingKind, WindowFinding};

/// The workings of all limits.
pub fn workings(case: &Case) -> Vec<Working> {
    let limits = case.findings.iter().filter(|finding| finding.kind == FindingKind::Limit);
    limits.filter(|finding| !finding.windows.is_empty()).map(|finding| working(case, finding)).collect()
}

fn working(case: &Case, finding: &Finding) -> Working {
    let quoted = finding.words.as_ref().map_or_else(String::new, |words| format!("“{}” ", words.trim()));
    let typed = finding.place.as_ref().map_or_else(String::new, |place| format!("({})", trace(place)));
    let limit =
        finding.limit.as_ref().map_or_else(String::new, |limit| format!("{}: {}. ", finding.at, said(&limit.text)));
    // What one comes for is the worst, then what else is wrong or not shown; those of one outcome stand in their order.
    let mut windows: Vec<&WindowFinding> = finding.windows.iter().collect();
    windows.sort_by_key(|window| (Some(&window.label) != finding.worst_when.as_ref(), window.outcome));
    Working {
        anchor: finding.id.clone(),
        title: format!("{}: {}", finding.name, finding.outcome),
        words: format!("{quoted}{limit}{typed}"),
        windows: windows.into_iter().map(|one| window(case, one)).collect(),
    }
}

fn window(case: &Case, window: &WindowFinding) -> WorkedWindow {
    let known = window.figure.as_ref().map(basis_of);
    let evidence = window.evidence.iter().map(|one| {
        let place = one.place.as_ref().map(trace).unwrap_or_default();
        [day(one.day), said(&one.text), place, one.paper.clone().unwrap_or_default()]
    });
    // What a record says by itself is no arithmetic.
    let is_the_record = |line: &str| window.evidence.iter().any(|one| one.text == line);
    let arithmetic = window.arithmetic.iter().filter(|line| !is_the_record(line)).map(|line| said(line));
    WorkedWindow {
        label: window.label.clone(),
        outcome: window.outcome.to_string(),
        figure: window.figure.as_ref().map(|figure| said(&figure.text)).unwrap_or_default(),
        basis: known.map_or("", Basis::word).to_owned(),
        arithmetic: dials(case, &window.evidence).into_iter().chain(arithmetic).collect(),
        evidence: evidence.collect(),
        missing: window.missing.iter().map(|missing| missing.sentence.clone()).collect(),
    }
}
