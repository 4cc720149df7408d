//! The annex of the case: every option's water and solids in full, service, all that was varied, the log, assumptions,
//! methods, files, cautions.

use crate::balance::Run;
use crate::page::document::{Block, Document};
use crate::report::case::{ComparedCase, begun, doubt, money, picture, tables, turns};
use crate::report::inspection::about::{Assumption, Case, large_volume, said};
use crate::report::inspection::closing;
use crate::report::inspection::rows::Rows;
use crate::science;

/// Methods of the case beside those of the ledger.
const METHODS: &[&str] = &["pump-energy", "present-worth", "weighted-draws", "rank-correlation"];

/// The annex.
pub fn annex(case: &ComparedCase<'_>) -> Document {
    let mut doc = begun(case, "What each proposal comes to. Annex");
    doc.push(Block::Contents);
    tables::how_compared(&mut doc);
    tables::all_passed_over(case, &mut doc);
    picture::of_altered(case, &mut doc);
    tables::service(case, &mut doc);
    tables::accounts(case, &mut doc);
    money::by_year(case, &mut doc);
    money::pumps(case, &mut doc);
    turns::every_break_even(case, &mut doc);
    doubt::drivers(case, &mut doc);
    doubt::log(case, &mut doc);
    if let Some(first) = case.study.options.first() {
        closing_chapters(case, &first.run, &mut doc);
    }
    doc
}

/// Values that may be doubted: ranges, what is not known, what was taken because nothing was typed, and all of a proposal.
fn assumptions(case: &ComparedCase<'_>) -> Vec<Assumption> {
    let mut assumptions: Vec<Assumption> = Vec::new();
    for of in &case.study.options {
        let of_site = of.alternative.file.is_none();
        for assumption in of.run.assumptions.iter().filter(|one| {
            // What is typed as one figure in the facility file stands there; the list is for what may be doubted.
            let typed_by = one.place.as_ref().map(|place| place.file.to_string());
            one.is_range || one.is_unknown || one.place.is_none() || (!of_site && typed_by == of.alternative.file)
        }) {
            let place = assumption.place.as_ref().map_or_else(|| "not typed".to_owned(), ToString::to_string);
            let mut what = assumption.key.clone();
            if let Some(file) = &of.alternative.file
                && place.starts_with(file.as_str())
            {
                for (new, old) in &of.alternative.renamed {
                    what = what.replace(&format!(" / {old}"), &format!(" / {new}"));
                }
            }
            if !assumptions.iter().any(|known| known.what == what && known.place == place) {
                assumptions.push(Assumption {
                    what,
                    value: said(&assumption.text),
                    place,
                    source: assumption.source.to_owned(),
                });
            }
        }
    }
    assumptions
}

/// The chapters that the inspection report closes with, on the single run of the site as it stands.
pub(in crate::report) fn closing_chapters(case: &ComparedCase<'_>, run: &Run, doc: &mut Document) {
    let assumptions = assumptions(case);
    let of = Case {
        against: &[],
        limits: &[],
        facility: case.facility,
        permit: None,
        timeline: case.timeline,
        rows: &Rows::of(case.timeline),
        weather: case.weather,
        ledger: &run.ledger,
        assumptions: &assumptions,
        remarks: &run.notes,
        findings: &[],
        period: case.study.period,
        as_of: case.as_of,
        files: case.files,
        digest: case.digest,
        draws: case.study.draws.len().saturating_sub(1),
        warnings: case.warnings,
        worklist: &[],
        letterhead: case.letterhead,
        large: large_volume(case.facility, &run.ledger, case.study.period),
    };
    doc.page_break();
    closing::assumptions(&of, doc);
    doc.paragraph(
        "Listed are ranges, what is not known, what was taken because nothing was typed, and every value of a proposal. All else \
         stands as one figure in the facility file.",
    );
    closing::methods(&of, doc);
    for id in METHODS {
        if let Some(method) = science::find(id) {
            closing::method_record(method, doc);
        }
    }
    closing::files(&of, doc);
    doc.page_break();
    closing::cautions(&of, doc);
    closing::signature(&of, doc);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_method_misspelt_in_the_list_would_be_left_out_unseen() {
        for id in METHODS {
            assert!(science::find(id).is_some(), "{id}");
        }
    }
}
