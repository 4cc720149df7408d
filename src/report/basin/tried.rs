//! The sizes that were run, one by one, in the words of the document.

use crate::page::document::{Basis, Cell, Column, Document, Table, Text};
use crate::page::html::{SizeMark, SizeStop, Sizes};
use crate::report::basin::drawing::{drawn_beside, present_m3};
use crate::report::basin::page::{comes_out, duties_table, gives, governs};
use crate::report::basin::smaller::fine_step;
use crate::report::basin::this::in_words;
use crate::report::basin::{BasinCase, counted, few, money, rooms, sizes};
use crate::report::case::page::first_capital;
use crate::sizing::{Check, Comes, Duty, Held, Outcome, Tried, Why};

/// A group of sizes that one may want to see by itself.
struct Group {
    words: &'static str,
    has: fn(&Why) -> bool,
}

const ALL: Group = Group { words: "all, by volume", has: |_| true };
/// The groups; what a pond found or given has no other sizes of is left out.
const GROUPS: [Group; 5] = [
    Group { words: "as deep, larger and smaller in plan", has: |why| matches!(why, Why::SameDepth(_)) },
    Group {
        words: "the same plan, shallower and deeper",
        has: |why| matches!(why, Why::SamePlan | Why::Smaller("shallower", _)),
    },
    Group { words: "the least of other depths", has: |why| matches!(why, Why::LeastOfDepth(_)) },
    Group { words: "one step smaller each way", has: |why| matches!(why, Why::Smaller(..)) },
    Group { words: "with the least of each change that makes it", has: |why| matches!(why, Why::Change(_)) },
];

/// The sizes for the slider; none where there is nothing to choose among.
pub fn of_sizes(case: &BasinCase) -> Option<Sizes> {
    let tried = &case.study.tried;
    let is_itself = |of: &Tried| of.why.contains(&Why::Itself) || of.why.contains(&Why::Nearest);
    let at = tried.iter().position(is_itself)?;
    let there = |group: &&Group| tried.iter().any(|of| of.why.iter().any(group.has));
    let groups: Vec<&Group> = std::iter::once(&ALL).chain(GROUPS.iter().filter(there)).collect();
    let stops: Vec<SizeStop> = tried
        .iter()
        .map(|of| SizeStop {
            name: format!("{}: {}", why(case, of), case.units().m3(of.held.basin.capacity_m3())),
            words: told(case, of),
            choices: groups
                .iter()
                .enumerate()
                .filter(|(_, group)| is_itself(of) || of.why.iter().any(group.has))
                .map(|(at, _)| at)
                .collect(),
            m3: of.held.basin.capacity_m3(),
            blocks: blocks(case, of, tried.get(at).filter(|itself| *itself != of)),
            duties: duties(case, &of.held),
        })
        .collect();
    (stops.len() > 1).then(|| Sizes {
        itself: itself(case).to_owned(),
        at,
        about: format!(
            "Each stop of the slider is a size that was run over {} of weather and held against every duty. Only sizes that were \
             computed are shown; nothing is interpolated between them. They are estimates, as the pond is that the document is about.",
            counted(case.years(), "year")
        ),
        choices: groups.iter().map(|group| group.words.to_owned()).collect(),
        marks: marks(case, at, &stops),
        stops,
        note: "Computed, none of it measured. Each room is the duty’s own, over all that must lie under it.".to_owned(),
    })
}

/// What the slider begins at.
fn itself(case: &BasinCase) -> &'static str {
    match case.study.outcome {
        Outcome::Pond(_) => "The pond found",
        Outcome::This(..) => "This pond",
        Outcome::None(_) => "The shape that comes nearest",
    }
}

/// Why a size is among them: `One step narrower (0.82 ft)`.
fn why(case: &BasinCase, tried: &Tried) -> String {
    let units = case.units();
    let is_step = tried.why.iter().any(|why| matches!(why, Why::Smaller(..)));
    let words: Vec<String> = tried
        .why
        .iter()
        .filter(|why| !(is_step && **why == Why::SamePlan))
        .map(|why| match why {
            Why::Itself | Why::Nearest => itself(case).to_owned(),
            Why::Smaller(word, step_m) => format!("one step {word} ({})", fine_step(units, *step_m)),
            Why::SameDepth(times) => format!("as deep, {} times as long and as wide", few(*times)),
            Why::SamePlan => same_plan(case, &tried.held),
            Why::LeastOfDepth(_) => "the least of its depth, from a coarse choice of sizes".to_owned(),
            Why::BestFor(duty) => format!("of all shapes the best to {}", duty.words()),
            Why::Change(change) => in_words(units, change),
        })
        .collect();
    first_capital(&words.join("; "))
}

/// `the same plan, 1.6 ft deeper`.
fn same_plan(case: &BasinCase, held: &Held) -> String {
    let itself = case.study.tried.iter().find(|of| of.why.contains(&Why::Itself));
    let deeper = itself.map_or(0.0, |itself| held.basin.depth_m - itself.held.basin.depth_m);
    let word = if deeper > 0.0 { "deeper" } else { "shallower" };
    format!("the same plan, {} {word}", case.units().m(deeper.abs()))
}

/// Duties by how they come out.
fn with(held: &Held, comes: Comes) -> Vec<&Check> {
    held.checks.iter().filter(|check| check.comes == comes && check.duty != Duty::Spillway).collect()
}

/// The row of a table of duties that is none of those counted.
pub(super) fn uncounted(checks: &[Check]) -> &'static str {
    match checks.iter().any(|check| check.duty == Duty::Spillway) {
        true => " (the emergency spillway, an illustration, not counted)",
        false => "",
    }
}

/// `It does every duty.`
fn verdict(held: &Held) -> String {
    let (fails, not_kept) = (with(held, Comes::NotDone), with(held, Comes::NotKept));
    let mut words = match fails.as_slice() {
        [] if not_kept.is_empty() && with(held, Comes::TooFewYears).is_empty() => "It does every duty".to_owned(),
        [] if not_kept.is_empty() => "It does every duty as far as so few years show".to_owned(),
        [] => "It fails no duty".to_owned(),
        fails => {
            let ways: Vec<&str> = fails.iter().map(|check| check.duty.fails()).collect();
            let all = held.checks.iter().filter(|check| check.duty != Duty::Spillway).count();
            format!("It fails {} of {all} duties{}: it {}", fails.len(), uncounted(&held.checks), ways.join(", "))
        }
    };
    if !not_kept.is_empty() {
        let ways: Vec<&str> = not_kept.iter().map(|check| check.duty.words()).collect();
        let more = if fails.is_empty() { "" } else { " more" };
        words.push_str(&format!("; {}{more} not kept: {}", not_kept.len(), ways.join(", ")));
    }
    let spillway = held.checks.iter().find(|check| check.duty == Duty::Spillway && check.comes == Comes::NotDone);
    if let Some(check) = spillway {
        words.push_str(&format!("; by the illustration it {}", check.duty.fails()));
    }
    words + "."
}

/// What it holds and costs.
fn measures(case: &BasinCase, held: &Held) -> String {
    let cost = held.cost.and_then(|cost| money(case, cost)).map_or_else(String::new, |cost| format!("; about {cost}"));
    format!("holds {} below the spill level{cost}", case.units().m3(held.basin.capacity_m3()))
}

/// What is told when the slider comes to it.
fn told(case: &BasinCase, tried: &Tried) -> String {
    let held = &tried.held;
    format!("{}: {}; {}. {}", why(case, tried), sizes(case, &held.basin), measures(case, held), verdict(held))
}

/// What governs it, where that was looked for.
fn governing(case: &BasinCase, tried: &Tried) -> Option<Vec<Duty>> {
    tried.why.iter().find_map(|why| match (why, &case.study.outcome) {
        (Why::Itself, Outcome::Pond(answer)) => Some(answer.governs()),
        (Why::LeastOfDepth(duties), _) => Some(duties.clone()),
        _ => None,
    })
}

/// What stands below the slider: the same table of duties as in the document, and the drawing.
fn blocks(case: &BasinCase, tried: &Tried, beside: Option<&Tried>) -> Vec<crate::page::document::Block> {
    let held = &tried.held;
    let mut doc = Document::new(String::new(), String::new(), String::new());
    doc.paragraph(
        Text::new()
            .bold(format!("{}. ", why(case, tried)))
            .plain(format!("{} at the spill level; {}. ", sizes(case, &held.basin), measures(case, held)))
            .bold(verdict(held)),
    );
    if let Some(duties) = governing(case, tried) {
        doc.paragraph(Text::new().bold("What governs: ").plain(format!("{}.", governs(&duties))));
    }
    for why in &tried.why {
        if let Why::Change(change) = why {
            let earth = change.earth_m3.map(|m3| format!("Earth moved: {}", case.units().earth(m3)));
            let cost = change.cost.and_then(|cost| money(case, cost)).map(|cost| format!("cost of the change: {cost}"));
            let words: Vec<String> = earth.into_iter().chain(cost).collect();
            if !words.is_empty() {
                doc.paragraph(format!("{}.", first_capital(&words.join("; "))));
            }
        }
    }
    doc.table(duties_table(case, &held.checks, Some(held)));
    drawn_beside(case, itself(case), held, beside.map(|of| &of.held), &mut doc);
    doc.blocks
}

/// The ponds marked on the slider: the one that it begins at and, where that is another, the present one.
fn marks(case: &BasinCase, at: usize, stops: &[SizeStop]) -> Vec<SizeMark> {
    let words = itself(case);
    let begins = SizeMark { words: words.to_owned(), at: Some(at), m3: stops.get(at).map_or(0.0, |stop| stop.m3) };
    let present = present_m3(case).filter(|_| !matches!(case.study.outcome, Outcome::This(..)));
    let present =
        present.map(|m3| SizeMark { words: format!("The present pond: {}", case.units().m3(m3)), at: None, m3 });
    std::iter::once(begins).chain(present).collect()
}

/// Each duty of a size, and how it comes out.
fn duties(case: &BasinCase, held: &Held) -> Table {
    let units = case.units();
    let columns = vec![Column::words("Duty"), Column::words("It gives"), Column::words("Comes out")];
    let mut table = Table::new(columns);
    for check in &held.checks {
        let check = rooms::own(check, &held.stack);
        table.row(vec![
            Cell::words(first_capital(check.duty.words())),
            Cell::known(gives(units, &check, Some(held)), Basis::Computed),
            Cell::known(comes_out(units, &check, false), Basis::Computed),
        ]);
    }
    table
}
