//! A site read and judged, and what became of a slip in it.

use std::collections::{BTreeMap, BTreeSet};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;

use bywash::cli::{check, compare, judged, load, size};
use bywash::rules::Finding;
use bywash::told::Severity;

use crate::slips::Slip;
use crate::tokens::Sort;

/// What became of a change.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Class {
    /// Told as an error: nothing is worked out.
    Refused,
    /// Told as a warning.
    Warned,
    /// The sentences that read the site back say it.
    ToldBack,
    /// No figure and no outcome changes.
    Harmless,
    /// A figure changes, and nothing says so.
    Figure,
    /// An outcome changes, and nothing says so.
    Outcome,
    /// The program broke.
    Panic,
}

impl Class {
    pub const ALL: [Self; 7] =
        [Self::Refused, Self::Warned, Self::ToldBack, Self::Harmless, Self::Figure, Self::Outcome, Self::Panic];

    pub fn word(self) -> &'static str {
        match self {
            Self::Refused => "refused",
            Self::Warned => "warned",
            Self::ToldBack => "told back",
            Self::Harmless => "harmless",
            Self::Figure => "FIGURE",
            Self::Outcome => "OUTCOME",
            Self::Panic => "PANIC",
        }
    }
}

/// What a site says and how it comes out.
#[derive(Debug, Clone, PartialEq)]
pub struct Came {
    /// Warnings, without their lines.
    warnings: BTreeSet<String>,
    /// Sentences that read it back.
    told: BTreeSet<String>,
    /// How many lines each source has.
    counted: Vec<String>,
    /// What is still open, as `check` lists it.
    open: BTreeSet<String>,
    outcomes: BTreeMap<String, String>,
    figures: BTreeMap<String, Vec<String>>,
}

/// Figures without the numbers of lines that stand behind a file's name.
fn without_lines(text: &str) -> String {
    let mut out = String::new();
    let mut rest = text;
    while let Some(at) = rest.find([':']) {
        let (head, tail) = rest.split_at(at + 1);
        out.push_str(head);
        let names_file = head.ends_with(".csv:") || head.ends_with(".yaml:");
        rest = if names_file { tail.trim_start_matches(|c: char| c.is_ascii_digit()) } else { tail };
    }
    out + rest
}

fn figures_of(finding: &Finding) -> Vec<String> {
    let mut out = vec![format!(
        "{} | {:?} | {:?} | {}",
        finding.outcome,
        finding.figure.as_ref().map(|figure| &figure.text),
        finding.worst_when,
        finding.how_many
    )];
    out.extend(finding.windows.iter().map(|window| {
        let figure = window.figure.as_ref().map(|figure| &figure.text);
        format!("{} {} {figure:?}", window.label, window.outcome)
    }));
    out
}

/// Reads a site as `check` does and judges it, without draws. The errors where it can't be read.
pub fn came(folder: &Path) -> Result<Came, Vec<String>> {
    let further = |facility: Option<&bywash::facility::model::Facility>,
                   sources: &mut bywash::files::Sources,
                   problems: &bywash::told::Problems| {
        compare::tell_problems(folder, facility, sources, problems);
        size::tell_problems(folder, sources, problems);
    };
    let site = load::read(folder, &load::Asked::default(), &further).map_err(|unread| {
        let all = unread.problems.in_order();
        let errors = all.into_iter().filter(|problem| problem.severity == Severity::Error);
        errors.map(|problem| problem.to_string_line()).collect::<Vec<_>>()
    })?;
    let judged = judged::judge(&site, 0).map_err(|_| vec!["no run".to_owned()])?;
    let back = check::read_back(&site);
    let sentences = back.site.into_iter().chain(back.permit).map(|(_, sentence)| sentence);
    let repairs = site.timeline.repairs.iter().chain(&site.weather.repairs);
    let told = sentences.chain(back.records).chain(repairs.map(|repair| without_lines(&repair.sentence))).collect();
    let ledger = &judged.run.ledger;
    let ways = ledger.ways().each().map(|(index, way)| {
        let total: f64 = (0..ledger.days()).map(|day| ledger.water(day, index)).sum();
        let solids: f64 = (0..ledger.days()).map(|day| ledger.solids(day, index)).sum();
        let name = format!("{} to {}, {:?}", ledger.label(way.from), ledger.label(way.to), way.purpose);
        (name, vec![format!("{total:.5e} m3, {solids:.5e} kg")])
    });
    let figures = judged.findings.iter().map(|finding| (finding.id.clone(), figures_of(finding))).chain(ways).collect();
    let outcomes = judged.findings.iter().map(|finding| {
        let other = finding.other_answer.as_ref().map(|(_, outcome)| *outcome);
        (finding.id.clone(), format!("{} {other:?}", finding.outcome))
    });
    Ok(Came {
        warnings: site.problems.in_order().into_iter().map(|problem| without_lines(&problem.message)).collect(),
        told,
        counted: back.sources,
        open: check::still_open(&site, &judged).into_iter().collect(),
        outcomes: outcomes.collect(),
        figures,
    })
}

impl Came {
    /// The findings whose outcome differs.
    fn turned(&self, other: &Self) -> Vec<String> {
        let ids: BTreeSet<&String> = self.outcomes.keys().chain(other.outcomes.keys()).collect();
        ids.into_iter().filter(|id| self.outcomes.get(*id) != other.outcomes.get(*id)).cloned().collect()
    }

    fn moved(&self, other: &Self) -> Vec<String> {
        let ids: BTreeSet<&String> = self.figures.keys().chain(other.figures.keys()).collect();
        ids.into_iter().filter(|id| self.figures.get(*id) != other.figures.get(*id)).cloned().collect()
    }
}

/// What became of a slip, and in a few words of what.
pub fn class(before: &Came, folder: &Path, slip: &Slip) -> (Class, String) {
    let Ok(read) = catch_unwind(AssertUnwindSafe(|| came(folder))) else {
        return (Class::Panic, String::new());
    };
    let now = match read {
        Err(errors) => return (Class::Refused, errors.join(" / ")),
        Ok(now) => now,
    };
    if let Some(warning) = now.warnings.difference(&before.warnings).next() {
        return (Class::Warned, warning.clone());
    }
    let turned = before.turned(&now);
    let moved = before.moved(&now);
    if turned.is_empty() && moved.is_empty() {
        return (Class::Harmless, String::new());
    }
    if let Some(sentence) = now.told.symmetric_difference(&before.told).next() {
        return (Class::ToldBack, sentence.clone());
    }
    if slip.sort == Sort::Line && now.counted != before.counted {
        return (Class::ToldBack, "how many lines there are".to_owned());
    }
    // What is not shown any more, and why, stands in what is still open.
    let shown = |id: &String| {
        let name = id.rsplit(" / ").next().unwrap_or(id);
        now.open.difference(&before.open).any(|line| line.starts_with(name))
    };
    if !turned.is_empty() && turned.iter().all(shown) {
        return (Class::ToldBack, turned.join("; "));
    }
    if turned.is_empty() {
        (Class::Figure, moved.join("; "))
    } else {
        let how: Vec<String> = turned
            .iter()
            .map(|id| format!("{id}: {:?} -> {:?}", before.outcomes.get(id), now.outcomes.get(id)))
            .collect();
        (Class::Outcome, how.join("; "))
    }
}
