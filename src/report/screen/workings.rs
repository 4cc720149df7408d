//! Each limit's windows with arithmetic, records and papers.

use crate::page::document::Basis;
use crate::page::html::{WorkedWindow, Working};
use crate::report::inspection::about::{Case, day, said, trace};
use crate::report::inspection::page_one::basis_of;
use crate::rules::{Finding, FindingKind, WindowFinding};

/// The workings of all limits.
pub fn workings(case: &Case) -> Vec<Working> {
    let limits = case.findings.iter().filter(|finding| finding.kind == FindingKind::Limit);
    limits.filter(|finding| !finding.windows.is_empty()).map(working).collect()
}

fn working(finding: &Finding) -> Working {
    let quoted = finding.words.as_ref().map_or_else(String::new, |words| format!("“{}” ", words.trim()));
    let typed = finding.place.as_ref().map_or_else(String::new, |place| format!("({})", trace(place)));
    let limit =
        finding.limit.as_ref().map_or_else(String::new, |limit| format!("{}: {}. ", finding.at, said(&limit.text)));
    Working {
        anchor: finding.id.clone(),
        title: format!("{}: {}", finding.name, finding.outcome),
        words: format!("{quoted}{limit}{typed}"),
        windows: finding.windows.iter().map(window).collect(),
    }
}

fn window(window: &WindowFinding) -> WorkedWindow {
    let known = window.figure.as_ref().map(basis_of);
    let evidence = window.evidence.iter().map(|one| {
        let place = one.place.as_ref().map(trace).unwrap_or_default();
        [day(one.day), said(&one.text), place, one.paper.clone().unwrap_or_default()]
    });
    WorkedWindow {
        label: window.label.clone(),
        outcome: window.outcome.to_string(),
        figure: window.figure.as_ref().map(|figure| said(&figure.text)).unwrap_or_default(),
        basis: known.map_or("", Basis::word).to_owned(),
        arithmetic: window.arithmetic.iter().map(|line| said(line)).collect(),
        evidence: evidence.collect(),
        missing: window.missing.iter().map(|missing| missing.sentence.clone()).collect(),
    }
}
