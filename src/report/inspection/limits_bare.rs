//! Limits of which nothing is on file and that lack the same: one table for all of them.

use crate::page::document::{Cell, Column, Document, Table, Text};
use crate::report::inspection::about::{said, trace};
use crate::report::inspection::lacking::told_in_full;
use crate::report::inspection::limits::tells;
use crate::rules::{Finding, Outcome};

/// Fewest limits that share a table; fewer stand by themselves.
const FEWEST: usize = 3;

/// Whether nothing is told of a limit but what is missing.
fn is_bare(finding: &Finding) -> bool {
    finding.outcome == Outcome::NotShown
        && finding.figure.is_none()
        && finding.other_answer.is_none()
        && finding.sentences.is_empty()
        && !finding.missing.is_empty()
        && !finding.windows.iter().any(tells)
}

/// All that a limit lacks, in words.
pub fn lacks(finding: &Finding) -> Vec<String> {
    let all = told_in_full(&finding.missing).into_iter();
    all.map(|missing| format!("{} {}", missing.sentence, missing.would_show.unwrap_or_default()).trim().to_owned())
        .collect()
}

/// Takes from the limits those that share a table: groups of at least three that lack the same, in the order of their first.
pub fn taken<'a>(limits: &mut Vec<&'a Finding>) -> Vec<Vec<&'a Finding>> {
    let mut groups: Vec<(Vec<String>, Vec<&Finding>)> = Vec::new();
    for finding in limits.iter().filter(|finding| is_bare(finding)) {
        let all = lacks(finding);
        match groups.iter_mut().find(|(known, _)| *known == all) {
            Some((_, group)) => group.push(finding),
            None => groups.push((all, vec![finding])),
        }
    }
    let groups: Vec<Vec<&Finding>> =
        groups.into_iter().map(|(_, group)| group).filter(|group| group.len() >= FEWEST).collect();
    limits.retain(|finding| !groups.iter().flatten().any(|one| one.id == finding.id));
    groups
}

/// Writes a group: a row for each limit, and what all of them lack.
pub fn write(group: &[&Finding], doc: &mut Document) {
    let Some(first) = group.first() else { return };
    let anchors = group.iter().map(|finding| finding.id.clone()).collect();
    doc.anchored_all(3, format!("{} limits of which nothing is on file: not shown", group.len()), anchors);
    let mut table = Table::new(vec![
        Column::words("Limit"),
        Column::words("Where, and what the permit says"),
        Column::words("On file"),
    ]);
    for finding in group {
        let bound = finding.limit.as_ref().map_or_else(String::new, |limit| format!(", {}", said(&limit.text)));
        let mut says = Text::from(format!("{}{bound}", finding.at));
        if let Some(words) = &finding.words {
            says = says.italic(format!(" “{}”", words.trim()));
        }
        table.traced(
            vec![Cell::words(finding.name.clone()), Cell::words(says), Cell::words(finding.how_many.clone())],
            finding.place.as_ref().map(trace).unwrap_or_default(),
        );
    }
    doc.table(table);
    doc.list(lacks(first).iter().map(|words| Text::from(said(words))).collect());
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use crate::rules::{FindingKind, Missing};

    #[test]
    fn three_limits_that_lack_the_same_share_a_table_and_two_do_not() {
        let limit = |id: &str, lacks: &str| {
            let missing = Missing { of: None, paper: None, sentence: lacks.to_owned(), would_show: None };
            Finding { missing: vec![missing], ..a_limit(id, Outcome::NotShown) }
        };
        let all = [limit("a", "x."), limit("b", "x."), limit("c", "x."), limit("d", "y."), limit("e", "y.")];
        let mut limits: Vec<&Finding> = all.iter().collect();
        let groups = taken(&mut limits);
        let ids = |of: &[&Finding]| of.iter().map(|finding| finding.id.clone()).collect::<Vec<_>>().join(" ");
        assert_eq!(groups.iter().map(|group| ids(group)).collect::<Vec<_>>(), ["a b c"]);
        assert_eq!(ids(&limits), "d e");
    }

    /// A limit of which nothing is said but how it came out.
    pub(crate) fn a_limit(id: &str, outcome: Outcome) -> Finding {
        Finding::new(id.to_owned(), FindingKind::Limit, id.to_owned(), String::new(), outcome)
    }
}
