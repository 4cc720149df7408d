//! The annex: the stages that were allowed, every train that was run with its figures, every one that was not and why.

use crate::compare::search::{Fate, Measure, Unit};
use crate::page::document::{Basis, Cell, Column, Document, Table};
use crate::report::case::annex::closing_chapters;
use crate::report::case::{begun, one_form, shown};
use crate::report::trains::{TrainsCase, pretty};

/// The annex.
pub fn annex(case: &TrainsCase<'_>) -> Document {
    let mut doc = begun(&case.case, "Which train. Annex");
    how(case, &mut doc);
    stages(case, &mut doc);
    ran(case, &mut doc);
    refused(case, &mut doc);
    if let Some(first) = case.case.study.options.first() {
        closing_chapters(&case.case, &first.run, &mut doc);
    }
    doc
}

fn how(case: &TrainsCase<'_>, doc: &mut Document) {
    let stages = &case.search.stages;
    doc.heading(2, "How the trains are built and held against one another");
    let finer = stages.finer_text.as_ref().map_or_else(
        || "finer than the one before".to_owned(),
        |text| format!("finer than the one before by {text} or more"),
    );
    doc.paragraph(format!(
        "Every kind in every size, and as many side by side as is allowed, is put in place of {}: alone, and behind others up to {} \
         one after another, source first, each {finer}. What can be told beforehand is: whether wash water has somewhere to go, whether a \
         limit allows any, what share of test solids is kept back, and whether a stage takes the solids that would come to it, by the \
         site’s computed year and what is typed of the stages before it.",
        case.search.in_place_of().join(", "),
        stages.most_stages,
    ));
    doc.paragraph(
        "All others are run as proposals are: the same weather, the same draws, no record driving any of them, the same bill and the \
         same limits. A limit on the wash water of a filter that goes is held against all wash, rinse and reject water of the train. \
         A train that serves a use otherwise than the site does now, or is predicted outside of a limit, stands apart with its \
         reason; so does one with a figure that is not known. A limit that every train that was run and the site itself are predicted \
         outside of sets none apart: no train mends it. A train that a limit leaves not decided is held against the others, and for it \
         none drops out that may be an answer; for one that does not comply none that does or may.",
    );
}

fn stages(case: &TrainsCase<'_>, doc: &mut Document) {
    doc.heading(2, "Stages that were allowed");
    let mut table = Table::new(vec![
        Column::words("Stage"),
        Column::words("Bought, and lasts"),
        Column::words("A piece used up"),
        Column::words("Takes at most"),
        Column::words("Figures from"),
    ])
    .caption("Stages that were allowed")
    .wide();
    for unit in &case.search.units {
        let times = if unit.count > 1 { format!("{} times ", unit.count) } else { String::new() };
        let bought = |unit: &Unit| {
            let paid = unit.pays_once.as_ref()?;
            Some(format!("{times}{}; {} years", one_form(&paid.price.text), shown(paid.lasts_years)))
        };
        let bought = bought(unit).unwrap_or_else(|| {
            if unit.lines.is_none() { "stays as it stands".to_owned() } else { "nothing typed".to_owned() }
        });
        table.row(vec![
            Cell::words(pretty(&unit.name)),
            Cell::words(bought),
            Cell::words(unit.used_up.as_ref().map_or_else(String::new, |price| one_form(&price.text))),
            Cell::words(unit.takes.as_ref().map_or_else(String::new, |(_, text)| text.clone())),
            Cell::words(unit.figures_from.clone()),
        ]);
    }
    table.note("(2): so many side by side. A stage with nothing typed costs nothing to buy in these figures.");
    table.without_empty_columns();
    doc.table(table);
}

/// What became of a train that was run, in words.
fn became(case: &TrainsCase<'_>, fate: &Fate) -> String {
    let open = fate.figures().map_or(&[][..], |of| of.open.as_slice());
    let mut open: String = open.iter().map(|of| format!("; not decided: {}", of.words(&one_form))).collect();
    if let Some(of) = fate.figures() {
        open.extend(of.but.iter().map(|but| format!("; but {but}")));
        open.extend(of.only_if.iter().map(|granted| format!("; only if {granted}")));
    }
    let became = match fate {
        Fate::Unbeaten(_) | Fate::Refused(_) => "to choose from".to_owned(),
        Fate::Beaten(_, None) => "drops out: the site as it stands is better".to_owned(),
        Fate::Beaten(_, Some(by)) => {
            let number = case.found.trains.get(*by).and_then(|train| case.number(train));
            number.map_or_else(|| "drops out".to_owned(), |number| format!("drops out: {number} is better"))
        }
        Fate::Apart(_, why) => pretty(&why.join("; ")),
    };
    became + &open
}

fn ran(case: &TrainsCase<'_>, doc: &mut Document) {
    doc.heading(2, "Every train that was run");
    // Where the log contradicts the computation, or money is not known, no sum is printed that would be taken for an answer.
    let measures = &case.found.measures;
    let mut columns = vec![Column::words("No."), Column::words("Stages, source first")];
    for measure in measures {
        columns.push(Column::words(format!("{}, {}", TrainsCase::head(*measure), case.unit_words(*measure))));
    }
    columns.push(Column::words("What became of it"));
    let mut table = Table::new(columns).caption("Every train that was run").wide();
    let rank = |fate: &Fate| match fate {
        Fate::Unbeaten(_) => 0,
        Fate::Beaten(..) => 1,
        Fate::Apart(..) | Fate::Refused(_) => 2,
    };
    let mut all: Vec<_> = case.found.trains.iter().filter(|train| train.fate.figures().is_some()).collect();
    let number = |train: &crate::compare::search::Train| case.number(train);
    all.sort_by_key(|train| (rank(&train.fate), number(train)));
    for train in all {
        let Some(of) = train.fate.figures() else { continue };
        let no_money = !of.no_money.is_empty();
        let mut row = vec![
            Cell::words(number(train).map_or_else(String::new, |n| n.to_string())),
            Cell::words(pretty(&train.name)),
        ];
        row.extend(measures.iter().map(|measure| {
            if *measure == Measure::Cost && no_money {
                Cell::words("not compared")
            } else {
                Cell::known(case.shown(of, *measure), Basis::Computed)
            }
        }));
        row.push(Cell::words(became(case, &train.fate)));
        table.row(row);
    }
    if table.rows.is_empty() {
        doc.paragraph("None.");
    } else {
        doc.table(table);
    }
}

fn refused(case: &TrainsCase<'_>, doc: &mut Document) {
    doc.heading(2, "Every train that was not run, and why");
    let mut table = Table::new(vec![Column::words("Stages, source first"), Column::words("Why")])
        .caption("Every train that was not run")
        .wide();
    for train in &case.found.trains {
        if let Fate::Refused(why) = &train.fate {
            table.row(vec![Cell::words(pretty(&train.name)), Cell::words(pretty(why))]);
        }
    }
    if table.rows.is_empty() {
        doc.paragraph("None.");
    } else {
        doc.table(table);
    }
}
