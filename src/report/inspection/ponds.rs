//! Ponds: levels with spill and freeboard, what they can still take, sludge and the clean-out to come.

use chrono::NaiveDate;

use crate::balance;
use crate::balance::StoreSeries;
use crate::facility::model::{PlaceKind, SludgeState};
use crate::page::document::{Basis, Cell, Chart, Column, Document, Hue, Mark, Panel, Series, Table, figures};
use crate::records::{Level, LevelKind};
use crate::report::inspection::about::{Case, day};
use crate::report::inspection::balance as months;
use crate::report::inspection::limit_lines::of_a_level;
use crate::report::inspection::places::together;
use crate::report::units;

/// Writes the section.
pub fn write(case: &Case, doc: &mut Document) {
    let ponds: Vec<&StoreSeries> = case.ledger.stores().iter().filter(|store| store.is_pond).collect();
    if ponds.is_empty() {
        return;
    }
    doc.heading(2, "Ponds");
    summary(case, &ponds, doc);
    let (unknown, known): (Vec<&StoreSeries>, Vec<&StoreSeries>) =
        ponds.iter().copied().partition(|pond| is_unknown(case, pond));
    for pond in unknown {
        let name = case.name(pond.place);
        doc.paragraph(format!(
            "The level of {name} between its readings depends on something that is not known, and is not drawn."
        ));
    }
    let still = known.iter().filter_map(|pond| Some((case.name(pond.place), stood_still(case, pond)?)));
    for (how, names) in together(still) {
        let each = if names.len() > 1 { "each " } else { "" };
        doc.paragraph(format!("{} {each}stood {how}.", names.join(", ")));
    }
    for pond in known.iter().filter(|pond| stood_still(case, pond).is_none()) {
        chart(case, pond, doc);
    }
    sludge(case, &ponds, doc);
}

fn summary(case: &Case, ponds: &[&StoreSeries], doc: &mut Document) {
    let level = units::level(case.facility.system);
    let volume = case.large_volume();
    let mut table = Table::new(vec![
        Column::words("Pond"),
        Column::figures("Spill level", level.name),
        Column::figures("Lowest at a day's close", level.name),
        Column::figures("Highest level", level.name),
        Column::figures("Least freeboard", level.name),
        Column::figures("Days at the spill level", ""),
        Column::figures("Could still take, least", volume.name),
        Column::figures("Days read", ""),
    ])
    .caption("Pond levels over the period")
    .wide();
    let mut reads = false;
    for pond in ponds {
        let low = pond.level_m.iter().copied().fold(f64::INFINITY, f64::min);
        let high = pond.level_m.iter().copied().fold(0.0, f64::max);
        let free = pond.freeboard_m.iter().copied().fold(f64::INFINITY, f64::min);
        let left = pond.spill_left_m3.iter().copied().fold(f64::INFINITY, f64::min);
        let full = pond.spill_left_m3.iter().filter(|left| **left < 1e-6).count();
        let mut read: Vec<NaiveDate> = case
            .timeline
            .levels
            .iter()
            .filter(|of| of.at == pond.place && matches!(of.kind, LevelKind::Level | LevelKind::Freeboard))
            .map(|of| of.day)
            .filter(|day| case.period.0 <= *day && *day <= case.period.1)
            .collect();
        read.sort_unstable();
        read.dedup();
        let unknown = is_unknown(case, pond);
        let seen = |kind: LevelKind| readings(case, pond, kind);
        // Of a gauge and a freeboard read together the gauge goes into the ledger; the least that was read stands here all the same.
        let least_read = readings(case, pond, LevelKind::Freeboard).into_iter().min_by(f64::total_cmp);
        let of_freeboard = least_read
            .filter(|read| unknown || level.of(*read) + 0.5 * 10f64.powi(-i32::from(level.digits)) < level.of(free));
        reads |= of_freeboard.is_some();
        // Where the computation has none, the readings by themselves are all that is known.
        let of_readings = |m: Option<f64>| {
            m.map_or_else(
                || Cell::words("not shown"),
                |m| Cell::known(format!("{} read", figures::number(level.of(m), level.digits)), Basis::Metered),
            )
        };
        let least = |values: Vec<f64>| values.into_iter().min_by(f64::total_cmp);
        let most = |values: Vec<f64>| values.into_iter().max_by(f64::total_cmp);
        let figure = |value: f64, unit: units::Unit| {
            if unknown {
                return Cell::words("not shown");
            }
            if value.is_finite() { Cell::figure(unit.of(value), unit.digits, Basis::Computed) } else { Cell::nothing() }
        };
        table.row(vec![
            Cell::words(case.name(pond.place)),
            pond.spill_level_m.map_or_else(Cell::nothing, |m| Cell::number(level.of(m), level.digits)),
            if unknown { of_readings(least(seen(LevelKind::Level))) } else { figure(low, level) },
            if unknown { of_readings(most(seen(LevelKind::Level))) } else { figure(high, level) },
            if unknown || of_freeboard.is_some() { of_readings(of_freeboard) } else { figure(free, level) },
            if unknown { Cell::words("not shown") } else { Cell::figure(full as f64, 0, Basis::Computed) },
            figure(left, volume),
            Cell::number(read.len() as f64, 0),
        ]);
    }
    if ponds.iter().any(|pond| !is_unknown(case, pond)) {
        table.note(
            "Levels are above the floor at the close of each day, computed and set to the reading where there is one.",
        );
    }
    if ponds.iter().any(|pond| is_unknown(case, pond)) {
        table.note("“Read”: of the readings alone; between them the level depends on something that is not known.");
    } else if reads {
        table.note("“Read”: a freeboard was read that is less than the level read with it, or computed, leaves below the bank top.");
    }
    doc.table(table);
}

/// What was read of a pond in the period, m.
fn readings(case: &Case, pond: &StoreSeries, kind: LevelKind) -> Vec<f64> {
    let inside = |day: NaiveDate| case.period.0 <= day && day <= case.period.1;
    let of_pond = case.timeline.levels.iter().filter(|of| of.at == pond.place && of.kind == kind && inside(of.day));
    of_pond.map(|of| of.value_si).collect()
}

/// Whether what the pond holds depends, on any day of the period, on something that is not known.
fn is_unknown(case: &Case, pond: &StoreSeries) -> bool {
    case.ledger
        .days_between(case.period.0, case.period.1)
        .any(|day| pond.basis.get(day).is_some_and(|of| of.has(balance::Basis::UNKNOWN)))
}

/// Share of the days of a level that is a sentence and no chart.
const STILL: f64 = 0.95;

/// How a level stood that hardly moved, on almost all of its days: a sentence and no chart.
fn stood_still(case: &Case, pond: &StoreSeries) -> Option<String> {
    let low = pond.level_m.iter().copied().fold(f64::INFINITY, f64::min);
    let high = pond.level_m.iter().copied().fold(0.0, f64::max);
    let level = units::level(case.facility.system);
    let figure = |m: f64| figures::with_unit(level.of(m), level.digits, level.name);
    let spill = pond.spill_level_m.map_or_else(String::new, |m| format!("; it spills at {}", figure(m)));
    if pond.level_m.is_empty() {
        return None;
    }
    if high - low <= 0.05 * high {
        let between = if figure(low) == figure(high) {
            format!("at {}", figure(high))
        } else {
            format!("between {} and {}", figure(low), figure(high))
        };
        return Some(format!("{between} on every day, by the computation{spill}"));
    }
    let days = pond.level_m.len();
    let at_top = pond.level_m.iter().filter(|m| high - **m <= 0.05 * high).count();
    let is_read = case.timeline.levels.iter().any(|of| of.at == pond.place);
    (at_top as f64 >= STILL * days as f64 && !is_read).then(|| {
        format!(
            "within 5 % of {} on {at_top} of {days} days and lowest at {}, by the computation{spill}",
            figure(high),
            figure(low)
        )
    })
}

fn chart(case: &Case, pond: &StoreSeries, doc: &mut Document) {
    let level = units::level(case.facility.system);
    let name = case.name(pond.place);
    let range = case.ledger.days_between(case.period.0, case.period.1);
    let values: Vec<Option<f64>> = range.clone().map(|day| pond.level_m.get(day).map(|m| level.of(*m))).collect();
    let mut read: Vec<Option<f64>> = vec![None; values.len()];
    for observed in &case.timeline.levels {
        if observed.at != pond.place || observed.kind != LevelKind::Level {
            continue;
        }
        let index = usize::try_from((observed.day - case.period.0).num_days());
        if let Ok(index) = index
            && let Some(slot) = read.get_mut(index)
        {
            *slot = Some(level.of(observed.value_si));
        }
    }
    let mut panel = Panel::new(format!("Level of {name}"), level.name).series(Series::new(
        "computed",
        Mark::Line,
        Hue::Pool,
        Basis::Computed,
        values,
    ));
    if read.iter().any(Option::is_some) {
        panel = panel.series(Series::new("read", Mark::Points, Hue::Loam, Basis::Metered, read));
    }
    if let Some(spill) = pond.spill_level_m {
        panel = panel.limit(level.of(spill), "spill level");
        if let Some(freeboard) = pond.freeboard_above_spill_m {
            panel = panel.limit(level.of(spill + freeboard), "bank top");
        }
    }
    let bank_top = pond.spill_level_m.zip(pond.freeboard_above_spill_m).map(|(spill, above)| spill + above);
    panel = of_a_level(case, panel, pond.place, bank_top);
    panel.lines = 9;
    let mut drawing = Chart::over_days(case.period.0, range.len()).panel(panel.fitted());
    for (season, from, to) in months::seasons(case) {
        let index = |date: NaiveDate| usize::try_from((date - case.period.0).num_days()).unwrap_or(0);
        let short = season.split(',').next().unwrap_or("").to_owned();
        drawing = drawing.season(short, index(from), index(to));
    }
    let high = pond.level_m.iter().copied().fold(0.0, f64::max);
    doc.chart(
        drawing,
        format!(
            "Level of {name} day by day; highest {}.",
            figures::with_unit(level.of(high), level.digits, level.name)
        ),
        format!("Level of {name}, with its spill level, its bank top and the permit's marks"),
    );
}

fn sludge(case: &Case, ponds: &[&StoreSeries], doc: &mut Document) {
    let level = units::level(case.facility.system);
    let volume = units::volume(case.facility.system);
    let mut table = Table::new(vec![
        Column::words("Pond"),
        Column::figures("Sludge at the start", level.name),
        Column::figures("Sludge at the end", level.name),
        Column::words("Sounded, and computed that day"),
        Column::figures("Wet sludge at the end", volume.name),
        Column::figures("Clean out at", level.name),
    ])
    .caption("Sludge")
    .wide();
    for pond in ponds {
        let Some(state) = sludge_state(case, pond) else {
            continue;
        };
        let (Some(first), Some(last)) = (pond.sludge_depth_m.first(), pond.sludge_depth_m.last()) else {
            continue;
        };
        let clean_out = state
            .clean_out_at
            .as_ref()
            .and_then(crate::files::Given::ends)
            .map(|(low, high)| 0.5 * (low.value + high.value));
        let unknown = is_unknown(case, pond);
        let figure = |value: f64, digits: u8| {
            if unknown { Cell::words("not shown") } else { Cell::figure(value, digits, Basis::Computed) }
        };
        table.row(vec![
            Cell::words(case.name(pond.place)),
            figure(level.of(*first), 2),
            figure(level.of(*last), 2),
            sounded(case, pond, level),
            figure(volume.of(pond.sludge_m3.last().copied().unwrap_or(0.0)), 0),
            clean_out.map_or_else(Cell::nothing, |m| Cell::number(level.of(m), 1)),
        ]);
    }
    if !table.rows.is_empty() {
        table.note(
            "Computed from the solids that settled, at the dry share typed. Sludge consolidates with time, so a sounding with \
             a pole or disc settles it.",
        );
        if ponds.iter().any(|pond| soundings(case, pond).next().is_some()) {
            table.note(
                "In brackets after a sounding: computed without any sounding. All else goes on from what was sounded.",
            );
        }
        doc.table(table);
    }
}

/// The soundings of the period.
fn soundings<'a>(case: &Case<'a>, pond: &StoreSeries) -> impl Iterator<Item = &'a Level> {
    let (period, place) = (case.period, pond.place);
    let inside = move |day: NaiveDate| period.0 <= day && day <= period.1;
    let levels = &case.timeline.levels;
    levels.iter().filter(move |of| of.at == place && of.kind == LevelKind::SludgeDepth && inside(of.day))
}

/// Each sounding of the period beside what was computed for its day: `6 May 2025 0.9 (0.95)`.
fn sounded(case: &Case, pond: &StoreSeries, level: units::Unit) -> Cell {
    let words: Vec<String> = soundings(case, pond)
        .map(|of| {
            let computed = case
                .against
                .iter()
                .filter(|against| against.at == pond.place && against.level == Some(LevelKind::SludgeDepth))
                .flat_map(|against| &against.pairs)
                .find(|(day, ..)| *day == of.day)
                .map_or_else(String::new, |(.., computed)| format!(" ({})", figures::number(level.of(*computed), 2)));
            format!("{}: {}{computed}", day(of.day), figures::number(level.of(of.value_si), 2))
        })
        .collect();
    if words.is_empty() { Cell::words("never") } else { Cell::words(words.join(", ")) }
}

fn sludge_state<'a>(case: &Case<'a>, pond: &StoreSeries) -> Option<&'a SludgeState> {
    match &case.facility.get(pond.place)?.kind {
        PlaceKind::Pond(one) => one.sludge.as_ref(),
        _ => None,
    }
}
