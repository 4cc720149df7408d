//! The annex: how it was run, every figure behind a chart, assumptions, methods, rules of thumb, files, cautions.

use crate::balance::Assumption;
use crate::page::document::figures::number;
use crate::page::document::{Basis, Block, Cell, Column, Document, Table, Text};
use crate::report::basin::{BasinCase, begun, few, title, years};
use crate::report::cautions;
use crate::report::inspection::about::day;
use crate::report::inspection::closing;
use crate::science;
use crate::sizing::{Answer, Asks, HandRule, Measure, ONE_SPELL_DAYS, Outcome, WARM_UP_DAYS};

/// Methods that the figures rest on.
const METHODS: &[&str] = &[
    "pond-prismoid",
    "water-density",
    "water-viscosity",
    "settling-velocity",
    "settling-ferguson-church",
    "overflow-rate",
    "settling-tanks-in-series",
    "horizontal-velocity",
    "sludge-volume",
    "runoff-coefficient",
    "runoff-curve-number",
    "peak-rational",
    "peak-graphical",
    "basin-area-rule",
    "basin-volume-rule",
    "poisson-interval",
];

/// The method of an emergency spillway's crest.
const OF_A_CREST: &str = "weir-broad-crested";

/// The annex.
pub fn annex(case: &BasinCase) -> Document {
    let mut doc = begun(case, format!("{}. Annex", title(case)));
    doc.push(Block::Contents);
    if let Outcome::Pond(answer) | Outcome::This(answer, _) = &case.study.outcome {
        how_it_was_run(case, answer, &mut doc);
        years::curve_table(case, answer, &mut doc);
        rules_of_thumb(case, answer, &mut doc);
    }
    assumptions(case, &mut doc);
    method_list(case, &mut doc);
    files(case, &mut doc);
    doc.heading(2, "Cautions");
    let mut text = vec![Text::from(
        "This is a computation to talk over with an engineer. It is not a design for construction: nothing may be dug, raised or lined from it.",
    )];
    text.extend(cautions::STANDING.text.iter().map(|text| Text::from(*text)));
    doc.caution(cautions::STANDING.head, text);
    for danger in cautions::DANGERS {
        doc.caution(danger.head, danger.text.iter().map(|text| Text::from(*text)).collect());
    }
    doc
}

fn how_it_was_run(case: &BasinCase, answer: &Answer, doc: &mut Document) {
    let units = case.units();
    doc.heading(2, "How it was run");
    let start = if case.study.basics.days >= WARM_UP_DAYS {
        "The first year is run once beforehand and not counted, so that the level at the start matters little"
            .to_owned()
    } else {
        format!("It starts at the level to keep, {} above the floor", units.m(answer.normal_m))
    };
    doc.paragraph(format!(
        "The whole site was run day by day from {} to {} with the pond found in it, as it would be on the day before a clean-out: \
         the sludge store full all the time. What settles in the run, here and in every other pond of the site, is taken out on the \
         first of each month, so that it does not pile up on top of that. {start}. No meter, log or level reading is used; ranges \
         stand at their middle. {} Spills parted by \
         fewer than {} days are taken as one wet spell: the interval of spills a year goes by spells, widened by how many spills \
         each had.",
        day(case.period.0),
        day(case.period.1),
        if matches!(case.study.outcome, Outcome::This(..)) {
            "Levels up to which it is filled, or at which a pump works, are as typed, above its floor, also where another shape is tried."
        } else {
            "A level up to which the present pond is filled is carried to another size as the volume that it keeps over the settling \
             pool there, but none of the storm's room; levels at which a pump works keep their distance below the spill level."
        },
        ONE_SPELL_DAYS
    ));
    if let Outcome::This(..) = case.study.outcome {
        return;
    }
    let grid = &case.study.grid;
    doc.paragraph(format!(
        "{} depths, {} lengths and {} widths fit the plot, {}. {} shapes and boxes of shapes were looked at and {} run over the years; {}.",
        number(grid.depths_m.len() as f64, 0),
        number(grid.lengths_m.len() as f64, 0),
        number(grid.widths_m.len() as f64, 0),
        in_steps(case),
        number(answer.found.boxes as f64, 0),
        number(answer.found.simulated as f64, 0),
        if !answer.found.proved {
            "the search was ended before every smaller shape was ruled out, so a slightly smaller one may do it too"
        } else if case.study.is_taken_between() {
            "every smaller shape was ruled out, on what is taken for it (see the methods), so a slightly smaller one may do it too"
        } else {
            "every smaller shape was ruled out"
        }
    ));
}

/// How far apart the sizes are.
fn in_steps(case: &BasinCase) -> String {
    let steps = &case.study.demands.duties.steps;
    let typed: Vec<String> = [("depth", &steps.depth), ("length", &steps.length), ("width", &steps.width)]
        .into_iter()
        .filter_map(|(name, step)| Some(format!("{} of {name}", step.as_ref()?.text)))
        .collect();
    let rest = "about a hundredth apart (round in metres, the same for every plot and every system of units)";
    match typed.len() {
        0 => rest.to_owned(),
        3 => format!("in the steps typed: {}", typed.join(", ")),
        _ => format!("in the steps typed: {}; the rest {rest}", typed.join(", ")),
    }
}

fn assumptions(case: &BasinCase, doc: &mut Document) {
    let basics = &case.study.basics;
    doc.heading(2, "Assumptions");
    doc.paragraph(format!(
        "Values that are ranges, not known, or were taken because nothing was typed; all else stands as typed in the facility \
         file, and no record enters. A range stands at its middle in the run, and at the end that asks more of the pond in the \
         volumes. Each day of the run is taken in {} step{}; levels, spills and shortage are told by days.",
        basics.steps_per_day,
        if basics.steps_per_day == 1 { "" } else { "s" }
    ));
    let mut table = Table::new(vec![Column::words("What"), Column::words("Value"), Column::words("Source")])
        .caption("Assumptions")
        .wide();
    // The sludge of the pond that is sized is in its shape, and none of it is taken for want of a word.
    let own_sludge = format!("ponds / {} / sludge", case.name());
    let told = |one: &&Assumption| (one.is_range || one.is_unknown || one.place.is_none()) && one.key != own_sludge;
    for one in basics.assumptions.iter().filter(told) {
        table.traced(
            vec![Cell::words(one.key.clone()), Cell::words(one.text.clone()), Cell::words(one.source)],
            one.place.as_ref().map(ToString::to_string).unwrap_or_else(|| "not typed".to_owned()),
        );
    }
    doc.table(table);
    for repair in &case.weather.repairs {
        doc.traced(repair.sentence.clone(), repair.place.to_string());
    }
}

fn method_list(case: &BasinCase, doc: &mut Document) {
    doc.heading(2, "Methods and sources");
    if let Outcome::Pond(_) = case.study.outcome {
        doc.paragraph(
            "The least shape is found by branch and bound: shapes are looked at in order of what is to be least, and a whole box of \
             shapes is left out where its best corner fails a duty that needs no weather, or where, of nearly equal plans, both the \
             largest and the smallest at their deepest, run over the years, fail one that does. Taken for that: no plan between \
             them does it.",
        );
    }
    let drawdown = case.study.demands.duties.storm.as_ref().and_then(|storm| storm.drawdown.as_ref());
    if drawdown.is_some_and(|drawdown| drawdown.rate.is_none()) {
        doc.paragraph(
            "The rate of a drawdown that was not typed is a step of the series R40 of preferred numbers (ISO 3): each shape has the \
             slowest with which it does its duties, from what frees the storm’s room in time up to what empties the pond in a day. \
             Taken for that: a faster one never leaves less room, nor more to use.",
        );
    }
    let crest = case.study.demands.duties.spillway.as_ref().map(|_| &OF_A_CREST);
    let used = METHODS.iter().filter(|id| is_used(case, id));
    for method in used.chain(crest).filter_map(|id| science::find(id)) {
        closing::method_record(method, doc);
    }
}

/// Whether a figure of this document rests on a method.
fn is_used(case: &BasinCase, id: &str) -> bool {
    let (duties, basics) = (&case.study.demands.duties, &case.study.basics);
    let answer = match &case.study.outcome {
        Outcome::Pond(answer) | Outcome::This(answer, _) => Some(answer),
        Outcome::None(_) => None,
    };
    let peaks = |how: &str| basics.peak.iter().flat_map(|peak| &peak.parts).any(|part| part.what.contains(how));
    let curves = || basics.drained.iter().any(|one| one.curves().next().is_some());
    match id {
        "runoff-curve-number" => curves(),
        "peak-rational" => peaks("rational"),
        "peak-graphical" => peaks("graphical"),
        "settling-ferguson-church" | "settling-tanks-in-series" => {
            duties.settle.is_some() || duties.clean_out.is_some() || duties.forebay.is_some()
        }
        "overflow-rate" => duties.settle.is_some() || duties.overflow_rate.is_some(),
        // Told where it is over what is usual.
        "horizontal-velocity" => answer
            .is_some_and(|answer| answer.advice.iter().any(|one| one.measure == Measure::Speed && one.has > one.usual)),
        "sludge-volume" => duties.clean_out.is_some() || duties.forebay.is_some(),
        "basin-area-rule" | "basin-volume-rule" => answer.is_some_and(|answer| !answer.rules.is_empty()),
        "poisson-interval" => answer.is_some(),
        _ => true,
    }
}

/// Rules of thumb of single jurisdictions, held beside the pond found.
fn rules_of_thumb(case: &BasinCase, answer: &Answer, doc: &mut Document) {
    let units = case.units();
    doc.heading(2, "Rules of thumb of single jurisdictions");
    let less = answer.rules.iter().filter(|rule| is_less(rule)).count();
    doc.paragraph(format!(
        "Rules of thumb from other places and purposes, held beside this pond: it is less than {less} of these {}. They are not duties \
         here; a pond far from them is a question for the engineer. Water surface is that at the top of the settling pool and detention that of the \
         water over the sludge that is sure to be there, as the duties count them; of the first rule it is the whole pond.",
        answer.rules.len()
    ));
    let mut table = Table::new(vec![
        Column::words("Rule"),
        Column::words("Comes to"),
        Column::words("This pond"),
        Column::words("Is"),
        Column::words("Source"),
    ])
    .caption("Rules of thumb")
    .wide();
    for rule in &answer.rules {
        let (asks, has) = match rule.asks {
            Asks::Volume(m3) => (units.m3(m3), units.m3(rule.has)),
            Asks::Area(m2) => (units.m2(m2), units.m2(rule.has)),
            Asks::LengthToWidth(ratio) => (format!("{} to 1", few(ratio)), format!("{} to 1", few(rule.has))),
        };
        let is = if is_less(rule) { "less" } else { "no less" };
        table.row(vec![
            Cell::words(rule.rule),
            Cell::known(asks, Basis::Computed),
            Cell::known(has, Basis::Computed),
            Cell::known(is, Basis::Computed),
            Cell::words(Text::from(format!("{} ({})", rule.source, rule.standing.words()))),
        ]);
    }
    doc.table(table);
}

/// Whether the pond is less than a rule comes to.
fn is_less(rule: &HandRule) -> bool {
    let (Asks::Volume(asks) | Asks::Area(asks) | Asks::LengthToWidth(asks)) = rule.asks;
    rule.has < asks * (1.0 - 1e-9)
}

fn files(case: &BasinCase, doc: &mut Document) {
    closing::files_table(case.files, case.digest, doc);
    if !case.warnings.is_empty() {
        doc.heading(3, "Told while reading");
        doc.list(case.warnings.iter().map(Text::from).collect());
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_method_misspelt_in_the_list_would_be_left_out_unseen() {
        for id in METHODS.iter().chain([&OF_A_CREST]) {
            assert!(science::find(id).is_some(), "{id}");
        }
    }
}
