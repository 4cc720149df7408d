//! What the basin document says when no pond on the plot does what is asked.

use crate::page::document::figures::with_unit;
use crate::page::document::{Basis, Cell, Column, Document, Table, Text};
use crate::report::basin::page::{asked, digits_apart, place_of, who_decides};
use crate::report::basin::{BasinCase, figure, figure_to, percent, rooms, sizes, standing};
use crate::report::case::page::first_capital;
use crate::sizing::{Basin, Check, Comes, Duty, Impossible, Measure, Steps};

/// Writes page 1.
pub(super) fn write(case: &BasinCase, impossible: &Impossible, doc: &mut Document) {
    let units = case.units();
    let own = |check: &Check, basin: &Basin| rooms::own(check, &case.study.demands.stack(basin));
    let best: Vec<(Check, Basin)> = impossible.best.iter().map(|(check, basin)| (own(check, basin), *basin)).collect();
    let hopeless: Vec<&(Check, Basin)> = best.iter().filter(|(check, _)| !check.is_met()).collect();
    doc.heading(2, "How big");
    doc.paragraph(
        Text::new()
            .bold("No pond on this plot does all its duties.")
            .bold(match hopeless.as_slice() {
                [] => String::new(),
                [(check, _)] => format!(" One duty refuses every shape by itself: {}.", check.duty.words()),
                many => {
                    let which: Vec<&str> = many.iter().map(|(check, _)| check.duty.words()).collect();
                    format!(" {} duties refuse every shape, each by itself: {}.", many.len(), which.join("; "))
                }
            })
            .plain(match case.study.demands.duties.steps == Steps::default() {
                _ if same_for_all(&hopeless) => " It fails by the same whatever the shape.",
                true => " Every shape that fits it was ruled out, in steps of a few tenths of a per cent.",
                false => " Every shape of the steps typed that fits it was ruled out.",
            })
            .plain(if case.study.is_taken_between() && !same_for_all(&hopeless) {
                " Over the years that is taken of shapes between two nearly equal ones that both fail; they were not each run."
            } else {
                ""
            }),
    );
    standing::present_pond(case, doc);
    doc.heading(2, "What stands in the way");
    if hopeless.is_empty() {
        doc.paragraph(
            "Each duty can be done by some shape, but no shape does all of them at once: what one needs takes the room of another.",
        );
    }
    for (check, basin) in &hopeless {
        doc.paragraph(
            Text::new()
                .bold(format!("{}: ", first_capital(check.duty.words())))
                .plain(short_by(case, check))
                .plain(best_shape(case, check.duty, basin)),
        );
    }
    let mut table = Table::new(vec![
        Column::words("Duty"),
        Column::words("Asked"),
        Column::words("The best any shape gives"),
        Column::words("Comes out"),
    ])
    .caption("Each duty by itself");
    for (check, _) in &best {
        table.traced(
            vec![
                Cell::words(first_capital(check.duty.words())),
                Cell::words(asked_as_typed(case, check)),
                Cell::known(
                    match check.measure {
                        Measure::Volume => rooms::there_is(units, check),
                        _ => figure(units, check.measure, check.has),
                    },
                    Basis::Computed,
                ),
                Cell::known(
                    match check.comes {
                        Comes::Done | Comes::TooFewYears => "can be done",
                        Comes::NotKept => "the run does not keep it",
                        Comes::NotDone => "cannot be done",
                    },
                    Basis::Computed,
                ),
            ],
            place_of(case, check.duty),
        );
    }
    doc.table(table);
    if let Some((basin, checks)) = impossible.nearest.as_ref().filter(|(_, checks)| comes_near(checks)) {
        doc.heading(2, "The shape that comes nearest");
        let fails: Vec<String> = checks
            .iter()
            .filter(|check| !check.is_met())
            .map(|check| own(check, basin))
            .map(|check| format!("{}: {}", first_capital(check.duty.words()), short_by(case, &check)))
            .collect();
        doc.paragraph(format!("{}. {}", sizes(case, basin), fails.join(" ")));
    }
    doc.heading(2, "What would help");
    // What the nearest shape fails, and what no shape does.
    let mut failing: Vec<&Check> = hopeless.iter().map(|(check, _)| check).collect();
    for check in impossible.nearest.iter().flat_map(|(_, checks)| checks) {
        if !check.is_met() && failing.iter().all(|known| known.duty != check.duty) {
            failing.push(check);
        }
    }
    doc.list(
        failing
            .iter()
            .map(|check| Text::new().bold(format!("{}: ", first_capital(check.duty.words()))).plain(lever(case, check)))
            .collect(),
    );
    who_decides(doc);
}

/// Whether a shape that fails some duties is worth being shown: it does most of them.
pub(super) fn comes_near(checks: &[Check]) -> bool {
    2 * checks.iter().filter(|check| !check.is_met()).count() < checks.len()
}

/// The shape that does a duty best, where it is one that could be dug for the others.
fn best_shape(case: &BasinCase, duty: Duty, basin: &Basin) -> String {
    let checks = case.study.demands.fixed(basin);
    let others: Vec<&str> =
        checks.iter().filter(|check| check.duty != duty && !check.is_met()).map(|check| check.duty.fails()).collect();
    match (duty, others.as_slice()) {
        // The same whatever the shape.
        (Duty::Spillway, _) => String::new(),
        (_, []) => format!(" That is with the best shape for it, {}.", sizes(case, basin)),
        (_, others) => {
            format!(" None works: even the shape that is best for this does no better, and {}.", others.join(", "))
        }
    }
}

/// What would have to be otherwise for a duty that is failed, and by how much where that follows from the figures.
fn lever(case: &BasinCase, check: &Check) -> String {
    let units = case.units();
    let over = with_unit((check.has / check.asked - 1.0) * 100.0, 0, "%");
    match check.duty {
        Duty::OverflowRate => format!(
            "it is {over} too fast. So much more water surface is lacking, or the flow is to be evened out to {} of what it is.",
            percent(check.asked / check.has)
        ),
        Duty::Detention => format!(
            "the water stays {}. {}, or a flow evened out to {} of what it is.",
            figure(units, check.measure, check.has),
            if case.study.demands.needs.is_drawn {
                "A larger plot, or a deeper settling pool, which nothing draws from"
            } else {
                "A larger or deeper plot, less sludge kept"
            },
            percent(check.has / check.asked)
        ),
        Duty::StormRoom => format!(
            "it comes to {}. Digging deeper hardly helps: what draws the water down between storms does (`drawdown`).",
            figure(units, check.measure, check.has)
        ),
        Duty::Drawdown => {
            format!("it takes {}. A faster pump or outlet, or more time.", figure(units, check.measure, check.has))
        }
        Duty::Settle => format!(
            "{} settles. More water surface (a larger plot), more cells in series, or a flow evened out upstream.",
            percent(check.has)
        ),
        Duty::CleanOut => format!(
            "{} more room, more frequent clean-outs, or less solids sent to it.",
            units.m3(check.asked - check.has)
        ),
        Duty::Pool => format!(
            "{} more room under what the storm needs: a larger or deeper plot, or a shallower settling pool.",
            units.m3(check.asked - check.has)
        ),
        Duty::Hold => format!(
            "{} more room: a larger or deeper plot, fewer days to hold, or wash water sent elsewhere.",
            units.m3(check.asked - check.has)
        ),
        Duty::Storm => format!(
            "{} more room: a larger or deeper plot, steeper sides where the ground allows them, a lower freeboard, a lower \
             level before the storm, or less ground that drains to it.",
            units.m3(check.asked - check.has)
        ),
        Duty::Spills | Duty::LongestSpill => format!(
            "it comes to {}. A larger or deeper plot, more of its water used again, or a pump that draws it down.",
            figure(units, check.measure, check.has)
        ),
        Duty::Forebay => format!(
            "it may take {} of the pool. A larger plot or a deeper settling pool; or a forebay outside of this pond, which the \
             facility file describes as a pond of its own.",
            percent(check.has)
        ),
        Duty::ForebayCleanOut => format!(
            "it fills in {}. A larger share (`at most`), a deeper settling pool, or solids held back before it.",
            figure(units, check.measure, check.has)
        ),
        Duty::Spillway => format!(
            "`freeboard: {}` mends it, which lacks {}, if the rest still fits the plot; or a lower or a wider crest. A licensed \
             engineer designs it.",
            units.m_above(case.study.demands.duties.freeboard.si + check.asked - check.has),
            units.m_above(check.asked - check.has)
        ),
        Duty::Shortage => format!(
            "it comes to {}. A larger or deeper plot, more water led to it, or another supply for dry spells.",
            figure(units, check.measure, check.has)
        ),
    }
}

/// Whether the only duty that refuses every shape is the same for all of them.
fn same_for_all(hopeless: &[&(Check, Basin)]) -> bool {
    matches!(hopeless, [(check, _)] if check.duty == Duty::Spillway)
}

/// What a duty asks, as it was typed: what runoff asks of a forebay is another share of each shape.
fn asked_as_typed(case: &BasinCase, check: &Check) -> String {
    let units = case.units();
    let Some(duty) = case.study.demands.duties.forebay.as_ref().filter(|_| check.duty == Duty::Forebay) else {
        return asked(units, check);
    };
    let share = duty.share.as_ref().map(|figure| format!("at least {} of the pool", figure.text));
    let runoff = duty.runoff.as_ref().map(|figure| format!("{} of runoff", units.rain(figure.si)));
    share.into_iter().chain(runoff).collect::<Vec<_>>().join(" and ")
}

/// `needs 1 200 m³ and has 900 m³: 300 m³ short.`
fn short_by(case: &BasinCase, check: &Check) -> String {
    let units = case.units();
    let asked = figure(units, check.measure, check.asked);
    let has = figure(units, check.measure, check.has);
    match check.measure {
        Measure::Volume => {
            format!(
                "room for {asked} is asked, over all that must lie under it; {} is there: {} short.",
                rooms::there_is(units, check),
                units.m3(check.asked - check.has)
            )
        }
        Measure::Share if check.duty == Duty::Settle => format!("at least {asked} is asked, {has} settles."),
        Measure::Share if check.duty == Duty::Forebay => {
            format!("{} is asked, {has} is the most it may take.", asked_as_typed(case, check))
        }
        Measure::Share => format!("at least {asked} of the days is asked, it comes to {has}."),
        Measure::HeightAtLeast => format!(
            "at least {asked} is asked, it comes to {}: {} short.",
            figure_to(units, check.measure, check.has, digits_apart(units, check)),
            units.m_above(check.asked - check.has)
        ),
        Measure::HoursAtLeast | Measure::YearsAtLeast => format!("at least {asked} is asked, it comes to {has}."),
        _ => format!("at most {asked} is asked, it comes to {has}."),
    }
}
