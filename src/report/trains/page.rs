//! Page 1: the trains to choose from, which no other beats, drawn and in a table, with how far to believe it.

use crate::compare::prices::RateIs;
use crate::compare::search::{Fate, Figures, Measure};
use crate::compare::{AGREED, HARDLY, three};
use crate::page::document::{Basis, Cell, Chart, Column, Document, Hue, Mark, Panel, Series, Table, Text, figures};
use crate::report::case::at_log;
use crate::report::case::limits as compare_limits;
use crate::report::case::one_form;
use crate::report::case::page::{first_capital, rate_words};
use crate::report::case::tables::counted_dry;
use crate::report::cautions;
use crate::report::trains::{TrainsCase, pretty};

/// The most trains in the table of the first page.
const MOST: usize = 14;

/// Writes it.
pub fn write(case: &TrainsCase<'_>, doc: &mut Document) {
    head(case, doc);
    doc.heading(2, "Which trains to choose from");
    doc.paragraph(answer(case));
    if counts(case).compared() > 0 {
        picture(case, doc);
        table(case, doc);
    }
    doc.heading(2, "How far to believe it");
    doc.definitions(doubts(case));
    let short = cautions::short(&match case.case.authority {
        Some(authority) if !authority.to_lowercase().starts_with("the ") => format!("the {authority}"),
        Some(authority) => authority.to_owned(),
        None => "the permitting authority".to_owned(),
    });
    doc.margin(vec![("Who decides".to_owned(), Text::from(short))]);
}

fn counted(n: usize, word: &str) -> String {
    if n == 1 { format!("1 {word}") } else { format!("{n} {word}s") }
}

/// How many trains were refused, stand apart, and are beaten.
struct Counts {
    refused: usize,
    apart: usize,
    beaten: usize,
    unbeaten: usize,
}

impl Counts {
    fn compared(&self) -> usize {
        self.beaten + self.unbeaten
    }
}

fn counts(case: &TrainsCase<'_>) -> Counts {
    let of = |is: fn(&Fate) -> bool| case.found.trains.iter().filter(|train| is(&train.fate)).count();
    Counts {
        refused: of(|fate| matches!(fate, Fate::Refused(_))) - case.found.cut,
        apart: of(|fate| matches!(fate, Fate::Apart(..))),
        beaten: of(|fate| matches!(fate, Fate::Beaten(..))),
        unbeaten: of(|fate| matches!(fate, Fate::Unbeaten(_))),
    }
}

fn head(case: &TrainsCase<'_>, doc: &mut Document) {
    let n = counts(case);
    let ran = n.apart + n.beaten + n.unbeaten;
    let draws = case.case.study.draws.len().saturating_sub(1);
    doc.permit_line(
        "Tried",
        format!(
            "{} in place of {}: {} refused beforehand, {ran} run{}; same weather, {} draws",
            counted(case.found.trains.len(), "train"),
            case.search.in_place_of().join(", "),
            n.refused,
            if case.found.cut > 0 {
                format!(", {} left out by `trains at most`", case.found.cut)
            } else {
                String::new()
            },
            figures::number(draws as f64, 0),
        ),
    );
    let prices = &case.case.study.prices;
    let rate_is = match prices.rate_is {
        Some(RateIs::Real) => " (real)",
        Some(RateIs::Nominal) => " (nominal)",
        None => " (not said whether real or nominal)",
    };
    doc.permit_line(
        "Prices",
        format!(
            "{} and {}, {} over {} years at {}{rate_is}",
            prices.place.file,
            case.search.stages.place.file,
            prices.money,
            prices.years,
            rate_words(prices.discount)
        ),
    );
}

/// What is held against what, in words: `cost, wash water, labour and wet waste`.
fn measure_words(measures: &[Measure]) -> String {
    let words: Vec<&str> = measures
        .iter()
        .map(|measure| match measure {
            Measure::Cost => "cost",
            Measure::WashWater => "wash water",
            Measure::Labour => "labour",
            Measure::Landfill => "wet waste",
        })
        .collect();
    match words.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} and {last}", rest.join(", ")),
        _ => words.concat(),
    }
}

fn sentences(reasons: &[String]) -> String {
    const TOLD: usize = 3;
    let told: Vec<String> = reasons.iter().take(TOLD).map(|why| format!("{}.", first_capital(why))).collect();
    let more = reasons.len().saturating_sub(TOLD);
    let rest = if more > 0 { format!(" And {more} more.") } else { String::new() };
    format!("{}{rest}", told.join(" "))
}

fn answer(case: &TrainsCase<'_>) -> Text {
    let found = case.found;
    let n = counts(case);
    let mut text = Text::new();
    let compared = n.compared();
    if compared == 0 {
        text = text.bold("No train is left to compare. ");
        let off: Vec<String> = found
            .trains
            .iter()
            .find_map(|train| match &train.fate {
                Fate::Apart(of, _) if !of.off_the_samples.is_empty() => Some(of.off_the_samples.clone()),
                _ => None,
            })
            .unwrap_or_default();
        if !off.is_empty() {
            text = text.plain(format!("Money, hours, waste and wash water rest on the solids. {} ", sentences(&off)));
        }
    } else {
        let stands = match found.stands_beaten_by.and_then(|at| found.trains.get(at)) {
            Some(train) => format!(
                "The site as it stands drops out: train {} is no worse in any of these and better in one.",
                case.number(train).unwrap_or(0)
            ),
            None => found.stands.lacks(&found.measures).map_or_else(
                || "To leave the site as it stands is among them.".to_owned(),
                |why| format!("The site as it stands is not held against them: {why}."),
            ),
        };
        text = text
            .bold(format!(
                "{} of {} {} left to choose from. ",
                n.unbeaten,
                counted(compared, "train"),
                if n.unbeaten == 1 { "is" } else { "are" }
            ))
            .plain(format!(
                "{stands} A train drops out where another, or the site as it stands, is no worse in {} and better in one of them: \
                 middles of the draws, to three digits. ",
                measure_words(&found.measures)
            ));
    }
    let open = not_decided(case);
    for words in open.iter().take(MOST_AS_GOOD) {
        text = text.bold(format!("{words} "));
    }
    if open.len() > MOST_AS_GOOD {
        text = text.plain("The annex has the others that are not decided. ");
    }
    if case.unbeaten().iter().any(|(_, of)| !of.open.is_empty()) {
        text = text.plain("For a train that is not decided none drops out that may be an answer. ");
    }
    let hardly = as_good_but_for(case);
    let more = hardly.len().saturating_sub(MOST_AS_GOOD);
    for words in hardly.iter().take(MOST_AS_GOOD) {
        text = text.bold(format!("{words} "));
    }
    if more > 0 {
        text = text.plain(format!("And {more} more like it. "));
    }
    if !found.not_by_money.is_empty() {
        text = text.bold("They are not ranked by money. ").plain(format!("{} ", sentences(&found.not_by_money)));
    }
    if let Some(words) = counted_dry(&found.hauled).filter(|_| found.hauled.is_mixed()) {
        text = text.bold("They are not ranked by waste. ").plain(format!("{words} "));
    }
    if n.apart > 0 {
        text = text.plain(format!(
            "{} run and {} no answer ({}). ",
            if n.apart == 1 { "1 more was".to_owned() } else { format!("{} more were", n.apart) },
            if n.apart == 1 { "is" } else { "are" },
            apart_words(case)
        ));
    }
    if case.found.cut > 0 {
        text = text.bold(format!(
            "{} not run, since `trains at most` says {}. ",
            if case.found.cut == 1 { "1 train was".to_owned() } else { format!("{} trains were", case.found.cut) },
            case.search.stages.most_trains
        ));
    }
    text.plain("The annex has every train and why it is not here.")
}

/// The most sentences of trains that are beaten within what the draws can tell apart.
const MOST_AS_GOOD: usize = 4;

/// Trains that are beaten as far as the draws can tell them apart: better than another in nothing that nearly all draws bear out, and worse
/// in something, or, where nothing is borne out either way, dearer. `Train 4 is as good as train 2 but for cost: 10 500 EUR more.`
fn as_good_but_for(case: &TrainsCase<'_>) -> Vec<String> {
    let trains = case.unbeaten();
    let study = case.case.study;
    let anyhow = study.known_present(0).spread().map_or(0.0, |of| of.median.abs());
    let less = |a: &Figures, b: &Figures, measure: Measure| {
        let (ours, theirs) = (a.cell(measure), b.cell(measure));
        let values = ours.values.iter().zip(&theirs.values).map(|(a, b)| a - b).collect();
        crate::compare::Cell { values, ..ours }
    };
    // By how much the middle of one is less than that of another, where that is more than hardly anything.
    let middle = |of: &Figures, measure: Measure| of.cell(measure).spread().map_or(0.0, |of| of.median);
    let by = |a: &Figures, b: &Figures, measure: Measure| -> Option<f64> {
        let there_is = if measure == Measure::Cost { anyhow } else { middle(b, measure).abs() };
        let by = middle(b, measure) - middle(a, measure);
        (by > HARDLY * there_is).then_some(by)
    };
    let surely = |a: &Figures, b: &Figures| {
        case.found.measures.iter().any(|measure| {
            by(a, b, *measure).is_some()
                && less(a, b, *measure).share_below_nought().is_some_and(|share| share >= AGREED)
        })
    };
    let dearer = |of: &Figures, than: &Figures| {
        case.found.measures.contains(&Measure::Cost) && by(than, of, Measure::Cost).is_some()
    };
    let mut out = Vec::new();
    for (at, (_, of)) in trains.iter().enumerate() {
        let better = trains.iter().enumerate().find(|(other, (_, than))| {
            *other != at && than.open.is_empty() && !surely(of, than) && (surely(than, of) || dearer(of, than))
        });
        let Some((other, (_, than))) = better else { continue };
        let for_what: Vec<String> = case
            .found
            .measures
            .iter()
            .filter_map(|measure| {
                let more = case.unit(*measure).of(by(than, of, *measure)?);
                let unit = match measure {
                    Measure::Cost => study.prices.money.clone(),
                    other => case.unit_words(*other),
                };
                Some(format!("{} ({} more)", measure_words(&[*measure]), figures::with_unit(three(more), 0, &unit)))
            })
            .collect();
        out.push(format!(
            "As far as the draws can tell, train {} is as good as train {} but for {}.",
            at + 1,
            other + 1,
            for_what.join(", ")
        ));
    }
    out
}

/// Why trains stand apart, by kind of reason, most first.
fn apart_words(case: &TrainsCase<'_>) -> String {
    let mut kinds: Vec<(&str, usize)> = Vec::new();
    for train in &case.found.trains {
        let Fate::Apart(of, _) = &train.fate else { continue };
        let outside = of.outside.iter().any(|limit| !case.found.outside_anyhow.contains(&limit.name));
        let kind = if !of.off_the_samples.is_empty() {
            "computed with solids that are far off the samples"
        } else if !of.differences.is_empty() {
            "not serving the uses as the site does now"
        } else if !of.service_unknown.is_empty() {
            "not known to serve the uses as the site does now"
        } else if outside {
            "predicted outside of a limit"
        } else {
            "with figures that are not compared"
        };
        match kinds.iter_mut().find(|known| known.0 == kind) {
            Some(known) => known.1 += 1,
            None => kinds.push((kind, 1)),
        }
    }
    kinds.sort_by_key(|kind| std::cmp::Reverse(kind.1));
    kinds.iter().map(|(kind, n)| format!("{kind}: {n}")).collect::<Vec<_>>().join(", ")
}

fn middle(case: &TrainsCase<'_>, of: &Figures, measure: Measure) -> Option<f64> {
    Some(case.unit(measure).of(of.cell(measure).spread()?.median))
}

fn picture(case: &TrainsCase<'_>, doc: &mut Document) {
    let trains = case.unbeaten();
    let Some((across, up)) = case.found.measures.split_first() else { return };
    if trains.is_empty() {
        return;
    }
    let at = |of: &Figures| middle(case, of, *across).unwrap_or(0.0);
    let mut things: Vec<(String, f64)> =
        trains.iter().enumerate().map(|(n, (_, of))| (mark(n + 1, of), at(of))).collect();
    things.push(("now".to_owned(), at(&case.found.stands)));
    let quantity = match across {
        Measure::Cost => format!("Costs more than now over {} years, worth today", case.case.study.prices.years),
        other => TrainsCase::head(*other).to_owned(),
    };
    let mut chart = Chart::over_amounts(quantity, case.unit_words(*across), things);
    for measure in up {
        let mut of_trains: Vec<Option<f64>> = trains.iter().map(|(_, of)| middle(case, of, *measure)).collect();
        let mut now = vec![None; of_trains.len()];
        of_trains.push(None);
        let known = case.found.stands.lacks(&case.found.measures).is_none();
        now.push(middle(case, &case.found.stands, *measure).filter(|_| known));
        let mut panel = Panel::new(TrainsCase::head(*measure), case.unit_words(*measure))
            .series(Series::new("", Mark::Points, Hue::Loam, Basis::Computed, of_trains))
            .series(Series::new("", Mark::Points, Hue::Clay, Basis::Computed, now));
        panel.lines = 7;
        chart = chart.panel(panel);
    }
    let alt = format!(
        "{} and the site as it stands by {}; the table below has the figures.",
        counted(trains.len(), "train"),
        measure_words(&case.found.measures)
    );
    let any = |is: fn(&Figures) -> bool| trains.iter().any(|(_, of)| is(of));
    let mut open = String::new();
    if any(|of| !of.open.is_empty() || !of.but.is_empty()) {
        open.push_str(" With a question mark: not decided by a limit, or not in all draws.");
    }
    if any(|of| !of.stays.is_empty()) {
        open.push_str(" With an exclamation mark: does not comply, whether it pays or not (see “No train mends”).");
    }
    if any(|of| of.only_if.is_some()) {
        open.push_str(" With a star: only if what nobody has shown is so.");
    }
    let caption = format!(
        "Trains to choose from, by their numbers in the table, and the site as it stands (now): all computed. Left and low is \
         good.{open}"
    );
    doc.chart(chart, alt, caption);
}

/// A train's number, with an exclamation mark where it stays outside of a limit in every draw, a question mark where a limit leaves it not
/// decided, in all draws or in some, and a star where it takes for granted what nobody has shown.
fn mark(number: usize, of: &Figures) -> String {
    let stays = if of.stays.is_empty() { "" } else { "!" };
    let open = if of.open.is_empty() && of.but.is_empty() { "" } else { "?" };
    let star = if of.only_if.is_some() { "*" } else { "" };
    format!("{number}{stays}{open}{star}")
}

/// Trains in the list of which something is told, by what it is: `train 1`, `trains 1, 3`.
fn of_whom(case: &TrainsCase<'_>, told: &dyn Fn(&Figures) -> Option<String>) -> Vec<(String, String)> {
    let mut out: Vec<(String, Vec<String>)> = Vec::new();
    for (at, (_, of)) in case.unbeaten().into_iter().enumerate() {
        let (Some(words), number) = (told(of), (at + 1).to_string()) else { continue };
        match out.iter_mut().find(|(known, _)| *known == words) {
            Some((_, numbers)) => numbers.push(number),
            None => out.push((words, vec![number])),
        }
    }
    let whom = |of: &[String]| format!("train{} {}", if of.len() == 1 { "" } else { "s" }, of.join(", "));
    out.into_iter().map(|(words, numbers)| (whom(&numbers), words)).collect()
}

/// Trains in the list that a limit leaves not decided, or that may be outside of one in few draws, and why.
fn not_decided(case: &TrainsCase<'_>) -> Vec<String> {
    let all = |words: Vec<String>| (!words.is_empty()).then(|| words.join("; "));
    let open = of_whom(case, &|of| all(of.open.iter().map(|of| of.words(&one_form)).collect()));
    let but = of_whom(case, &|of| all(of.but.clone()).filter(|_| of.open.is_empty()));
    let open = open.into_iter().map(|(whom, words)| format!("Not decided: {whom}: {words}."));
    open.chain(but.into_iter().map(|(whom, words)| format!("{}: {words}.", first_capital(&whom)))).collect()
}

fn table(case: &TrainsCase<'_>, doc: &mut Document) {
    let found = case.found;
    let mut columns = vec![Column::words("No."), Column::words("Stages, source first")];
    for measure in &found.measures {
        let unit = case.unit_words(*measure);
        columns.push(Column::words(format!("{}, {unit}", TrainsCase::head(*measure))));
    }
    columns.push(Column::words("Not decided, by limit"));
    let figures_of = |of: &Figures| -> Vec<Cell> {
        let figure = |measure: &Measure| Cell::known(case.shown(of, *measure), Basis::Computed);
        let mut undecided: Vec<&str> = of.open.iter().map(|of| of.with.name.as_str()).collect();
        for limit in of.undecided.iter().filter(|limit| !found.stands.undecided.contains(limit)) {
            if !undecided.contains(&limit.as_str()) {
                undecided.push(limit);
            }
        }
        let undecided = undecided.join(", ");
        found.measures.iter().map(figure).chain([Cell::words(undecided)]).collect()
    };
    let mut table = Table::new(columns).caption("Trains to choose from, and the site as it stands").wide();
    let mut now = vec![Cell::words("now"), Cell::words(case.search.in_place_of().join(", then "))];
    now.extend(figures_of(&found.stands));
    table.row(now);
    let trains = case.unbeaten();
    for (n, (train, of)) in trains.iter().enumerate().take(MOST) {
        let mut row = vec![Cell::words(mark(n + 1, of)), Cell::words(pretty(&train.name))];
        row.extend(figures_of(of));
        table.row(row);
    }
    if trains.len() > MOST {
        table.note(format!("{} more to choose from stand in the annex.", trains.len() - MOST));
    }
    let money = if found.measures.contains(&Measure::Cost) {
        format!(" Money is over {} years, worth today; below nought a train saves.", case.case.study.prices.years)
    } else {
        String::new()
    };
    table.note(format!(
        "Middle of the draws, and where nine in ten of them lie. Water, labour and waste are those of the whole site. (2): so many \
         side by side.{money}"
    ));
    if let Some(words) = counted_dry(&found.hauled).filter(|_| !found.hauled.is_mixed()) {
        table.note(words);
    }
    table.without_empty_columns();
    doc.table(table);
}

fn doubts(case: &TrainsCase<'_>) -> Vec<(String, Text)> {
    let found = case.found;
    let mut rows: Vec<(String, Text)> = vec![(
        "It is a model".to_owned(),
        Text::from(
            "Every figure is computed from what is typed, also of the site as it stands; none is metered, and none shows that a \
             limit is met. A train that looks good here is worth a trial with your water, and a case of its own: write it into \
             proposals/ and compare it.",
        ),
    )];
    if let Some(words) = compare_limits::recorded(&case.case) {
        rows.push(("The records".to_owned(), Text::from(words)));
    }
    let either = of_whom(case, &|of| {
        let money = of.cell(Measure::Cost).spread().filter(|_| found.measures.contains(&Measure::Cost))?;
        (money.low < 0.0 && money.high > 0.0).then(String::new)
    });
    if let Some((whom, _)) = either.first() {
        rows.push((
            "Money either way".to_owned(),
            Text::from(format!(
                "With {whom} the draws lie on both sides of nought: ranked by the middle, and not decided."
            )),
        ));
    }
    let granted: Vec<String> = of_whom(case, &|of| of.only_if.clone())
        .into_iter()
        .take(MOST_AS_GOOD)
        .map(|(whom, words)| format!("{}: if {words}.", first_capital(&whom)))
        .collect();
    if !granted.is_empty() {
        rows.push(("Nobody has shown".to_owned(), Text::from(granted.join(" "))));
    }
    rows.extend(at_log::rows(&case.case).into_iter().filter(|_| found.not_by_money.is_empty()));
    rows.extend(at_log::seen(&case.case));
    let own: Vec<String> = typical(case);
    if !own.is_empty() {
        rows.push((
            "Typical figures".to_owned(),
            Text::from(format!(
                "{} {} on common practice, without a source: ask the maker.",
                pretty(&own.join(", ")),
                if own.len() == 1 { "rests" } else { "rest" }
            )),
        ));
    }
    if let Some(asked) = &case.search.keeps_back {
        let whose =
            if case.search.stages.keeps_back.is_some() { "asked for in stages.yaml" } else { "as the site does now" };
        rows.push((
            "How fine".to_owned(),
            Text::from(format!(
                "Each train that was run keeps back {} % or more of solids of {}, by what is typed of its stages: {whose}.",
                figures::number(100.0 * asked.share, 0),
                asked.size_text.replace("um", "µm")
            )),
        ));
    }
    let left_out = found.stands.left_out();
    if !left_out.is_empty() && counts(case).compared() > 0 {
        rows.push((
            "Left out".to_owned(),
            Text::from(format!("Not known, and the same in every train that is compared: {}.", left_out.join("; "))),
        ));
    }
    if !found.outside_anyhow.is_empty() {
        let exceeded = &case.case.study.on_file.exceeded;
        let recorded = found.outside_anyhow.iter().all(|name| exceeded.contains(name));
        rows.push((
            "No train mends".to_owned(),
            Text::from(format!(
                "{}: predicted outside with every train that was run, and as the site stands{}. None of them complies.",
                found.outside_anyhow.join(", "),
                if recorded { " by its records too" } else { "" }
            )),
        ));
    }
    if !found.stands.undecided.is_empty() {
        rows.push((
            "Undecided anyhow".to_owned(),
            Text::from(format!("{}: undecided as the site stands.", found.stands.undecided.join(", "))),
        ));
    }
    rows.push((
        "Not looked at".to_owned(),
        Text::from(
            format!(
                "Room, pressure at the far end, slime, algae and how a stage ages{}. Only the kinds and sizes in stages.yaml were tried.",
                match without_capacity(case).as_slice() {
                    [] => String::new(),
                    kinds => format!(
                        ", and how much {} can pass at once, as no `handles at most` is typed: any flow goes through in these figures",
                        pretty(&kinds.join(", "))
                    ),
                }
            ),
        ),
    ));
    rows
}

/// Kinds of which nobody typed how much they can pass at once.
fn without_capacity(case: &TrainsCase<'_>) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    for unit in &case.search.stages.units {
        if case.search.has_no_capacity(&unit.name) && !out.contains(&unit.kind) {
            out.push(unit.kind.clone());
        }
    }
    out
}

/// Kinds whose figures are common practice.
fn typical(case: &TrainsCase<'_>) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    for unit in &case.search.stages.units {
        if unit.figures_from.to_lowercase().contains("common practice") && !out.contains(&unit.kind) {
            out.push(unit.kind.clone());
        }
    }
    out
}
