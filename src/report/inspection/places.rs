//! Wash and effluent volumes and solids by place, with charts.

use crate::balance::{Amount, Basis as Bits, DailySeries, Node, PlaceTotals, Purpose, Selector, Watch};
use crate::facility::kinds::Through;
use crate::facility::model::{DischargeKind, PlaceId, PlaceKind};
use crate::page::document::{Basis, Cell, Chart, Column, Document, Hue, Mark, Panel, Series, Table, figures};
use crate::report::inspection::about::{Case, Steps, basis, month, with_key};
use crate::report::inspection::balance;
use crate::report::inspection::days::{days_with_water, days_without_volume, seen_unbooked};
use crate::report::inspection::discharged::rain_and_discharge;
use crate::report::inspection::known::{Known, at_least};
use crate::report::inspection::limit_lines::{Charted, of_a_day};
use crate::report::inspection::meters::washes_of;
use crate::report::inspection::sampled::{beside, is_weighed, missed, why_not_shown};
use crate::report::units;
use crate::told::many;

/// Writes the section.
pub fn write(case: &Case, doc: &mut Document) {
    doc.heading(2, "Wash water and effluent by place");
    filters(case, doc);
    for what in [&WASH, &REJECT] {
        if let Some(table) = by_step(case, what, &case.steps()) {
            doc.table(table);
        }
        flow_chart(case, what, doc);
    }
    discharges(case, doc);
    rain_and_discharge(case, doc);
}

/// Wash water by month, for the annex, where the report has years.
pub fn every_month(case: &Case, doc: &mut Document) {
    if !case.steps().are_years() {
        return;
    }
    let rows = case.months().into_iter().map(|(from, to)| (month(from), from, to)).collect();
    let months = Steps { word: "month", head: "Month", rows };
    let tables: Vec<Table> = [&WASH, &REJECT].into_iter().filter_map(|what| by_step(case, what, &months)).collect();
    if !tables.is_empty() {
        doc.heading(2, "Wash water by month");
        for table in tables {
            doc.table(table);
        }
    }
}

/// What flows from a filter beside what it passes on.
struct Aside {
    /// At the head of a sentence, and within one.
    words: [&'static str; 2],
    purposes: &'static [Purpose],
}

const WASH: Aside = Aside {
    words: ["Wash and rinse water", "wash and rinse water"],
    purposes: &[Purpose::WashWater, Purpose::RinseWater],
};

const REJECT: Aside = Aside { words: ["Reject", "reject"], purposes: &[Purpose::Reject] };

pub(super) fn ids<'a>(case: &Case<'a>, wanted: impl Fn(&PlaceKind) -> bool) -> Vec<PlaceId> {
    case.facility.places.iter().enumerate().filter(|(_, place)| wanted(&place.kind)).map(|(i, _)| PlaceId(i)).collect()
}

/// Filters in file order.
pub fn filter_ids(case: &Case) -> Vec<PlaceId> {
    ids(case, |kind| matches!(kind, PlaceKind::Filter(_)))
}

/// Discharge points in file order.
pub fn discharge_ids(case: &Case) -> Vec<PlaceId> {
    ids(case, |kind| matches!(kind, PlaceKind::DischargePoint(_)))
}

/// A cell of an SI amount, or the words `not shown` where it depends on something not known.
fn cell(value: f64, unit: units::Unit, of: Bits) -> Cell {
    known_as((unit.of(value), unit.digits), of)
}

/// A cell of a figure and its digits.
fn known_as((value, digits): (f64, u8), of: Bits) -> Cell {
    match basis(of) {
        _ if of.has(Bits::UNKNOWN) => Cell::words("not shown"),
        Some(known) => Cell::figure(value, digits, known),
        None => Cell::nothing(),
    }
}

fn word(of: Bits) -> String {
    if of.has(Bits::UNKNOWN) {
        "not known".to_owned()
    } else {
        basis(of).map_or(String::new(), |known| known.word().to_owned())
    }
}

fn filters(case: &Case, doc: &mut Document) {
    let filters = filter_ids(case);
    if filters.is_empty() {
        return;
    }
    let (volume, mass) = (units::volume(case.facility.system), units::mass(case.facility.system));
    let rejects = filters.iter().any(|id| {
        matches!(case.facility.get(*id).map(|place| &place.kind), Some(PlaceKind::Filter(f)) if f.kind.reject().is_some())
    });
    let mut columns = vec![
        Column::words("Filter"),
        Column::words("Kind"),
        Column::figures("Water to it", volume.name),
        Column::figures("Washes", ""),
        Column::figures("Changes", ""),
        Column::figures("Wash and rinse water", volume.name),
    ];
    if rejects {
        columns.push(Column::figures("Reject", volume.name));
    }
    columns.extend([Column::figures("Solids caught", mass.name), Column::figures("Standing or washing", "h")]);
    let mut table = Table::new(columns).caption("What each filter did").wide();
    let sent = sent(case, &REJECT);
    for id in filters.iter().copied() {
        let Some(place) = case.facility.get(id) else {
            continue;
        };
        let PlaceKind::Filter(filter) = &place.kind else {
            continue;
        };
        let totals: PlaceTotals = case.ledger.place_totals(id, case.period.0, case.period.1);
        // What came to be filtered: neither what it was washed with, nor what no record accounts for.
        let came = case.ledger.amount(case.period.0, case.period.1, |way| {
            way.to == Node::Place(id)
                && way.from != Node::Unaccounted
                && !matches!(way.purpose, Purpose::WashSupply | Purpose::Spray)
        });
        let counted = totals.events_basis;
        let count = |n: u32| match basis(counted) {
            Some(known) if n > 0 => Cell::figure(f64::from(n), 0, known),
            _ => Cell::nothing(),
        };
        let aside = |amount: &Amount| {
            if amount.water_m3 > 0.0 || amount.water_basis.has(Bits::UNKNOWN) {
                cell(amount.water_m3, volume, amount.water_basis)
            } else {
                Cell::nothing()
            }
        };
        let mut cells = vec![
            Cell::words(place.name.clone()),
            Cell::words(filter.kind.words()),
            cell(came.water_m3, volume, came.water_basis),
            match washes_of(case, id).filter(|_| totals.washes == 0) {
                Some(counted) => Cell::figure(counted, 0, Basis::Metered),
                None => count(totals.washes),
            },
            count(totals.changes),
            aside(&totals.wash_water),
        ];
        if rejects {
            let sent = sent.iter().find(|(of, _)| *of == id);
            let lacks = totals.reject.water_basis.has(Bits::UNKNOWN);
            cells.push(match sent.filter(|_| lacks) {
                // The days that are known, as by month.
                Some((_, series)) => Known::between(series, case.period.0, case.period.1).cell(volume),
                None => aside(&totals.reject),
            });
        }
        cells.extend([
            cell(totals.solids_caught_kg, mass, totals.solids_caught_basis),
            if totals.minutes > 0.0 { Cell::number(totals.minutes / 60.0, 0) } else { Cell::nothing() },
        ]);
        table.row(cells);
    }
    table.note(
        "A wash or change is counted whole, on the day it happens; what is left of a filter run is carried to the next day. \
         The first minutes after each wash give poorer filtrate (ripening), which is not in these figures.",
    );
    if let Some(words) = one_change(case, &filters) {
        table.note(words);
    }
    doc.table(table);
}

/// How many pieces a change takes: `One change takes: Floor bags 1 bag, Fine house 4 elements.`
fn one_change(case: &Case, filters: &[PlaceId]) -> Option<String> {
    let words: Vec<String> = filters
        .iter()
        .filter_map(|id| match &case.facility.get(*id)?.kind {
            PlaceKind::Filter(filter) => match filter.kind.through() {
                Through::Pieces { each, number, .. } => {
                    Some(format!("{} {number} {each}{}", case.name(*id), if number == 1 { "" } else { "s" }))
                }
                _ => None,
            },
            _ => None,
        })
        .collect();
    (!words.is_empty()).then(|| format!("One change takes: {}.", words.join(", ")))
}

/// What each filter that sends such water sent, day by day.
fn sent(case: &Case, what: &Aside) -> Vec<(PlaceId, DailySeries)> {
    filter_ids(case)
        .into_iter()
        .filter_map(|id| {
            let of = |purpose: &Purpose| {
                case.ledger.series(&Watch::Water(Selector::from(Node::Place(id)).purpose(*purpose)))
            };
            let (first, more) = what.purposes.split_first()?;
            let mut series = of(first);
            for more in more.iter().map(of) {
                for (i, (value, of)) in more.values.iter().zip(&more.basis).enumerate() {
                    if let (Some(v), Some(b)) = (series.values.get_mut(i), series.basis.get_mut(i)) {
                        *v += value;
                        *b = b.or(*of);
                    }
                }
            }
            series.values.iter().any(|v| *v > 0.0).then_some((id, series))
        })
        .collect()
}

fn by_step(case: &Case, what: &Aside, steps: &Steps) -> Option<Table> {
    let washing = sent(case, what);
    if washing.is_empty() {
        return None;
    }
    let volume = units::volume(case.facility.system);
    let mut columns = vec![Column::words(steps.head)];
    for (id, _) in &washing {
        columns.push(Column::figures(case.name(*id), ""));
    }
    // Of one filter there is no sum.
    let several = washing.len() > 1;
    if several {
        columns.push(Column::figures("All", ""));
    }
    let mut table = Table::new(columns).caption(format!("{} by {}, {}", what.words[0], steps.word, volume.name)).wide();
    let (from, to) = case.period;
    // Of one row the sum is that row.
    let rows = if steps.rows.len() > 1 { steps.rows.as_slice() } else { &[] };
    for (name, from, to) in rows.iter().cloned().chain([("Whole period".to_owned(), from, to)]) {
        let mut cells = vec![Cell::words(name.as_str())];
        let mut all = Known::default();
        for (_, series) in &washing {
            let known = Known::between(series, from, to);
            all.add(known);
            cells.push(known.cell(volume));
        }
        if several {
            cells.push(all.cell(volume));
        }
        if name == "Whole period" {
            table.sum(cells);
        } else {
            table.row(cells);
        }
    }
    Some(table)
}

pub(super) fn between(series: &DailySeries, from: chrono::NaiveDate, to: chrono::NaiveDate) -> (f64, Bits) {
    let mut sum = (0.0, Bits::default());
    for (i, (value, of)) in series.values.iter().zip(&series.basis).enumerate() {
        let date = series.date(i);
        if from <= date && date <= to {
            sum = (sum.0 + value, sum.1.or(*of));
        }
    }
    let days = usize::try_from((to - from).num_days() + 1).unwrap_or(0);
    (sum.0, sum.1.of_total(days))
}

pub(super) fn chart(case: &Case) -> (Chart, usize) {
    let days = case.ledger.days_between(case.period.0, case.period.1).len();
    let mut chart = Chart::over_days(case.period.0, days);
    for (name, from, to) in balance::seasons(case) {
        let index = |date: chrono::NaiveDate| usize::try_from((date - case.period.0).num_days()).unwrap_or(0);
        let short = name.split(',').next().unwrap_or("").to_owned();
        chart = chart.season(short, index(from), index(to));
    }
    (chart, days)
}

/// Values of the period's days, in a unit; none where they are not known.
pub(super) fn values(case: &Case, series: &DailySeries, unit: units::Unit) -> Vec<Option<f64>> {
    case.ledger
        .days_between(case.period.0, case.period.1)
        .map(|day| {
            let known = !series.basis.get(day).copied().unwrap_or_default().has(Bits::UNKNOWN);
            series.values.get(day).filter(|_| known).map(|v| unit.of(*v))
        })
        .collect()
}

pub(super) fn overall(series: &DailySeries) -> Basis {
    basis(series.basis.iter().fold(Bits::default(), |a, b| a.or(*b))).unwrap_or(Basis::Computed)
}

/// The values of the period's days by how each is known, what most days have first.
fn by_basis(case: &Case, series: &DailySeries, values: &[Option<f64>]) -> Vec<(Basis, Vec<Option<f64>>)> {
    let mut out: Vec<(Basis, Vec<Option<f64>>)> = Vec::new();
    for (i, day) in case.ledger.days_between(case.period.0, case.period.1).enumerate() {
        let Some(value) = values.get(i).copied().flatten() else { continue };
        let known = series.basis.get(day).and_then(|of| basis(*of)).unwrap_or(Basis::Computed);
        // A day without water is of no kind of its own.
        let of = out.iter().position(|(other, _)| *other == known);
        let at = match of {
            Some(at) => at,
            None if value == 0.0 => continue,
            None => {
                out.push((known, vec![None; values.len()]));
                out.len() - 1
            }
        };
        if let Some(slot) = out.get_mut(at).and_then(|(_, held)| held.get_mut(i)) {
            *slot = Some(value);
        }
    }
    out.sort_by_key(|(_, held)| std::cmp::Reverse(held.iter().flatten().count()));
    out
}

/// Names of which the same is said together, in the order of the first of each.
pub fn together<N>(said: impl Iterator<Item = (N, String)>) -> Vec<(String, Vec<N>)> {
    let mut groups: Vec<(String, Vec<N>)> = Vec::new();
    for (name, words) in said {
        match groups.iter_mut().find(|(known, _)| *known == words) {
            Some((_, names)) => names.push(name),
            None => groups.push((words, vec![name])),
        }
    }
    groups
}

/// Whether a series prints the same on each of its days, all of them known: a sentence tells it better than a chart.
fn is_constant(values: &[Option<f64>], digits: u8) -> bool {
    let (low, high) =
        values.iter().flatten().fold((f64::INFINITY, 0.0), |(low, high): (f64, f64), v| (low.min(*v), high.max(*v)));
    values.iter().all(Option::is_some) && figures::number(low, digits) == figures::number(high, digits)
}

fn flow_chart(case: &Case, what: &Aside, doc: &mut Document) {
    let [head, within] = what.words;
    let volume = units::volume(case.facility.system);
    let (same, moving): (Vec<_>, Vec<_>) = sent(case, what)
        .into_iter()
        .map(|(id, series)| (id, values(case, &series, volume), series))
        .partition(|(_, values, _)| is_constant(values, volume.digits));
    let each = same.iter().map(|(id, values, _)| {
        let each = values.iter().flatten().copied().next().unwrap_or(0.0);
        (case.name(*id), figures::with_unit(each, volume.digits, volume.name))
    });
    for (figure, names) in together(each) {
        let each = if names.len() > 1 { " each" } else { "" };
        doc.paragraph(format!("{}: {figure} of {within}{each} on every day.", names.join(", ")));
    }
    for (part, group) in moving.chunks(4).enumerate() {
        let (mut chart, _) = chart(case);
        let mut alts = Vec::new();
        for ((id, values, known), hue) in group.iter().zip(Hue::ALL) {
            let name = case.name(*id);
            let most = values.iter().flatten().copied().fold(0.0, f64::max);
            alts.push(format!("{name}: at most {} in a day", figures::with_unit(most, volume.digits, volume.name)));
            let mut panel = Panel::new(format!("{head}, {name}"), format!("{} a day", volume.name));
            // Each day as it is known: days that no reading covers do not make the others computed.
            for (i, (basis, values)) in by_basis(case, known, values).into_iter().enumerate() {
                let name = if i == 0 { name } else { "" };
                panel = panel.series(Series::new(name, Mark::Bars, hue, basis, values));
            }
            chart = chart.panel(of_a_day(case, panel, Charted::WashWater(*id), volume));
        }
        let shared = group.iter().any(|(.., series)| overall(series) == Basis::Assumed);
        let caption = format!(
            "{head} by filter{}{}",
            if part > 0 { ", continued" } else { "" },
            if shared { "; a count over several days is shared out over them evenly" } else { "" }
        );
        let caption = with_key(&caption, &chart);
        doc.chart(chart, format!("Daily {within} by filter. {}.", alts.join("; ")), caption);
    }
}

fn discharges(case: &Case, doc: &mut Document) {
    let points = discharge_ids(case);
    if points.is_empty() {
        return;
    }
    let (volume, mass) = (units::volume(case.facility.system), units::mass(case.facility.system));
    let mut columns = vec![
        Column::words("Discharge point"),
        Column::words("Kind"),
        Column::figures("Days", ""),
        Column::figures("Water", volume.name),
        Column::figures("Most in a day", volume.name),
        Column::figures("Solids", mass.name),
    ];
    let kinds: Vec<(usize, String)> =
        case.facility.solids.iter().enumerate().map(|(i, kind)| (i, kind.name.clone())).collect();
    if kinds.len() > 1 && kinds.len() <= 4 {
        for (_, name) in &kinds {
            columns.push(Column::figures(format!("of which {name}"), mass.name));
        }
    }
    let by_kind = columns.len() > 6;
    columns.push(Column::words("Basis of the water"));
    let mut table = Table::new(columns).caption("What left the site, by discharge point").wide();
    let mut alone = Vec::new();
    let mut without: Vec<(&str, usize, &str)> = Vec::new();
    for id in points {
        let Some(place) = case.facility.get(id) else {
            continue;
        };
        let PlaceKind::DischargePoint(point) = &place.kind else {
            continue;
        };
        let to = Selector::to(Node::Place(id));
        let amount = case.ledger.amount(case.period.0, case.period.1, |way| to.matches(way));
        let daily = case.ledger.series(&Watch::Water(to));
        let most = daily.values.iter().copied().fold(0.0, f64::max);
        // A reading over several days does not tell the largest of them.
        let shared_out = daily.basis.iter().any(|of| of.has(Bits::SHARED_OUT));
        let hauled = point.kind == DischargeKind::HauledAway;
        let unbooked = seen_unbooked(case, id);
        let figured = case.figured(id);
        let mut booked = Known::between(&daily, case.period.0, case.period.1);
        booked.lacks |= !hauled && days_without_volume(case, id) > 0;
        let water = |shown: Cell| if unbooked.is_some() { Cell::words("not known") } else { shown };
        let most = match (hauled, shared_out && amount.water_m3 > 0.0) {
            (true, _) => Cell::nothing(),
            // The mean of a span is no more than the largest of its days.
            (_, true) => {
                let (value, digits) = figured.of(volume, most);
                at_least(figures::number(value, digits), amount.water_basis)
            }
            // Of a day that was seen to flow no volume may be known, and it may be the largest.
            _ if booked.lacks && most > 0.0 && unbooked.is_none() => {
                let (value, digits) = figured.of(volume, most);
                at_least(figures::number(value, digits), amount.water_basis)
            }
            _ => water(known_as(figured.of(volume, most), amount.water_basis)),
        };
        let not_shown = missed(case, id).is_some() || unbooked.is_some();
        // Held against samples or weigh tickets, the computation's load is an estimate, whatever it is made of.
        let is_beside = beside(case, id).is_some();
        let solids = |kg: f64, of: Bits| match not_shown {
            true => Cell::words("not shown"),
            false => cell(kg, mass, if is_beside { of.or(Bits::ASSUMED) } else { of }),
        };
        if let Some(seen) = unbooked {
            without.push((&place.name, seen, why_no_volume(case, id, seen)));
        }
        let mut cells = vec![
            Cell::words(place.name.clone()),
            Cell::words(point.kind.words()),
            if hauled {
                Cell::nothing()
            } else {
                // Counted by looks and samples too: known, where the water is not.
                Cell::number(days_with_water(case, id).map_or(f64::from(amount.days), |days| days as f64), 0)
            },
            water(booked.cell_of(volume, figured)),
            most,
            solids(amount.solids_kg, amount.solids_basis),
        ];
        if by_kind {
            for (kind, _) in &kinds {
                let (kg, of) = case.ledger.total(&Watch::SolidsOfKind(to, *kind), case.period.0, case.period.1);
                cells.push(solids(kg, of));
            }
        }
        cells.push(Cell::words(word(amount.water_basis)));
        table.row(cells);
        if let Some(weir) = case.facility.meters.iter().find(|meter| meter.to == id && meter.weir.is_some()) {
            table.note(format!("Water to {}: computed from the head read over {}.", place.name, weir.name));
        }
        if let Some(why) = why_not_shown(case, id) {
            table.note(why);
        } else if let Some(words) = beside(case, id).filter(|_| amount.solids_kg > 0.0 && !not_shown) {
            table.note(words);
        } else if amount.solids_kg > 0.0 && !is_weighed(case, id) {
            alone.push(place.name.clone());
        }
    }
    for (why, of) in together(without.iter().map(|one| (one, one.2.to_owned()))) {
        let each: Vec<String> = of.iter().map(|(name, seen, _)| format!("{name} on {}", many(*seen, "day"))).collect();
        table.note(format!("Seen flowing or sampled: {}; {why}, so that how much left is not known.", each.join(", ")));
    }
    if !alone.is_empty() {
        table.note(format!(
            "Solids to {}: computed from what the facility file says the water brings; no sample and no weighing is on file.",
            alone.join(", ")
        ));
    }
    table
        .note("“Days” counts days on which water left by a meter or the computation, or was seen to leave or sampled.");
    doc.table(table);
}

/// Why the days on which an outfall was seen to flow have no volume: the ledger moves none there on most of them, or what
/// would move is not known.
fn why_no_volume(case: &Case, id: PlaceId, seen: usize) -> &'static str {
    let water = case.ledger.series(&Watch::Water(Selector::to(Node::Place(id))));
    match (water.basis.iter().any(|of| of.has(Bits::UNKNOWN)), seen) {
        (true, _) => "what the ledger moves there depends on what is not known",
        (false, 1) => "the computation moves no water there that day",
        (false, _) if days_without_volume(case, id) == seen => "the computation moves no water there on any of them",
        (false, _) => "the computation moves no water there on most of them",
    }
}
