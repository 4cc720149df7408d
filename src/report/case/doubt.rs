//! The case's doubts: what drives the answer, whether the computation repeats the log, what is left out.

use crate::compare::{Against, LEAST_FOR_RANKS, Measure};
use crate::page::document::{Basis, Cell, Chart, Column, Document, Hue, Mark, Panel, Series, Table, Text, figures};
use crate::report::case::page::first_capital;
use crate::report::case::{AS_IS, ComparedCase, digits, middle_run, one_form, shown, three, units as case_units};
use crate::report::inspection::about::{day, month};
use crate::report::units::{self, Unit};

/// What drives the answer.
pub fn drivers(case: &ComparedCase<'_>, doc: &mut Document) {
    doc.heading(2, "What the answer depends on most");
    let (draws, of) = (case.study.runs_that_count().len(), case.study.draws.len().saturating_sub(1));
    if draws < LEAST_FOR_RANKS && of > 0 {
        doc.paragraph(too_few_to_rank(draws, of));
        return;
    }
    let draws = match draws {
        all if all == of => format!("{} draws", figures::number(of as f64, 0)),
        some => format!(
            "the {} of {} draws that count by what is on file",
            figures::number(some as f64, 0),
            figures::number(of as f64, 0)
        ),
    };
    doc.paragraph(format!(
        "How the difference in money goes with each range over {draws} (rank correlation, Spearman): 1 means that more of it \
         always makes the option dearer, −1 cheaper. What could be chance with so many draws is left out."
    ));
    let mut table =
        Table::new(vec![Column::words("Range"), Column::words("As typed"), Column::figures("Goes with", "")])
            .caption("What drives the answer")
            .wide();
    for (option, list) in (1..).zip(case.drivers) {
        table.group(Text::new().bold(case.name(option)));
        if list.is_empty() {
            table.row(vec![Cell::words("no range stands out")]);
        }
        for driver in list.iter().take(6) {
            table.row(vec![
                Cell::words(driver.key.clone()),
                Cell::words(one_form(&driver.text)),
                Cell::number(driver.rank, 2),
            ]);
        }
    }
    doc.table(table);
}

/// Why nothing is told of what drives the answer, and how many draws would tell it, in whole hundreds.
fn too_few_to_rank(draws: usize, of: usize) -> String {
    let number = |value: usize| figures::number(value as f64, 0);
    let more = match draws {
        0 => String::new(),
        some => format!(" Give --draws {} or more.", ((of * LEAST_FOR_RANKS).div_ceil(some).next_multiple_of(100))),
    };
    let of = match draws == of {
        true => format!("{} draws are", number(of)),
        false => format!("{} of {} draws count by what is on file, which is", number(draws), number(of)),
    };
    format!(
        "Not told: {of} too few to tell which range the difference in money goes with ({LEAST_FOR_RANKS} are needed).{more}"
    )
}

fn unit_of(case: &ComparedCase<'_>, measure: Measure) -> Unit {
    match measure {
        Measure::Events => Unit { name: "", per_si: 1.0, digits: 0 },
        Measure::WashWater | Measure::Water => case_units(case).water,
        Measure::Level => units::level(case.system()),
        Measure::Holding => units::volume(case.system()),
        Measure::Solids => Unit { name: "mg/L", per_si: 1000.0, digits: 0 },
    }
}

/// Rows of the short table on page 1.
const SHORT: usize = 4;

/// The log beside the computation in short, what is furthest off first.
pub fn in_short(case: &ComparedCase<'_>, doc: &mut Document) {
    // Where all results are below detection each is as near to what is computed as it can be.
    let near = |of: &Against| if of.pairs.is_empty() { of.as_near_as_can_be() } else { of.clone() };
    let mut off: Vec<(f64, Against)> =
        case.log.iter().map(near).filter_map(|of| Some((how_far_off(&of)?, of))).collect();
    if off.is_empty() {
        doc.paragraph(match case.study.on_file.looked.is_empty() {
            true => "The computation was never checked against this site: there are no records to hold it against.",
            false => "Nothing but looks is on file to hold the computation against.",
        });
        return;
    }
    // Freeboard is the level again, upside down; sludge is sounded too seldom to tell.
    off.retain(|(_, of)| !of.what.starts_with("freeboard") && !of.what.starts_with("sludge"));
    // A meter under which a yes stands is told, however much else is further off.
    let is_condition = |of: &Against| case.study.on_file.meters_off.iter().any(|meter| meter.what == of.what);
    off.sort_by(|a, b| is_condition(&b.1).cmp(&is_condition(&a.1)).then(b.0.total_cmp(&a.0)));
    let shown = SHORT.max(off.iter().filter(|(_, of)| is_condition(of)).count() + SHORT / 2);
    let left = off.len().saturating_sub(shown);
    let mut table = Table::new(vec![
        Column::words("On file and computed, same days"),
        Column::words("On file"),
        Column::words("Computed"),
        Column::words("That is"),
    ]);
    off.truncate(shown);
    off.sort_by(|a, b| b.0.total_cmp(&a.0));
    for (_, of) in &off {
        let (unit, mean) = short_unit(case, of.measure);
        let n = of.pairs.len() as f64;
        let sum = |value: fn(&(chrono::NaiveDate, f64, f64)) -> f64| of.pairs.iter().map(value).sum::<f64>();
        let (logged, computed) = (sum(|pair| pair.1), sum(|pair| pair.2));
        let (logged, computed) = if mean { (logged / n, computed / n) } else { (logged, computed) };
        let figure = |si: f64| {
            let value = unit.of(si);
            let counts = of.measure == Measure::Events;
            let (value, digits) = if counts { (value, 0) } else { (three(value), digits(three(value)).min(1)) };
            figures::with_unit(value, digits, unit.name)
        };
        let is_here = |known: &&Against| (&known.what, known.at, known.measure) == (&of.what, of.at, of.measure);
        let below = case.log.iter().find(is_here).filter(|known| known.pairs.is_empty()).map(|known| &known.below);
        let detected = below.map(|below| below.iter().map(|(_, from, _)| *from).fold(0.0, f64::max));
        let name = if below.is_some() {
            format!("{}, all {} below detection", first_capital(&of.what), figures::number(n, 0))
        } else if mean {
            format!("{}, mean of {}", first_capital(&of.what), figures::number(n, 0))
        } else {
            first_capital(&of.what)
        };
        let basis = match of.measure {
            Measure::Solids => Basis::Sampled,
            _ => Basis::Metered,
        };
        table.row(vec![
            Cell::words(name),
            Cell::known(detected.map_or_else(|| figure(logged), |from| format!("below {}", figure(from))), basis),
            Cell::known(figure(computed), Basis::Computed),
            Cell::words(match off_words(of, unit, logged, computed) {
                words if below.is_none() => words,
                words if words == "the same" => "as it may be".to_owned(),
                words => format!("at least {words}"),
            }),
        ]);
    }
    let more = if left > 0 { format!(" {left} more lie nearer (annex).") } else { String::new() };
    table.note(format!(
        "Every option is computed without meters, logs and samples, so that all are measured alike; the inspection report follows \
         them and has other figures. Computed here: the run in the middle of every range.{more}"
    ));
    doc.table(table);
}

/// Share by which the computation misses the log, on average; of a level in its own spread, which is small.
fn how_far_off(of: &Against) -> Option<f64> {
    let (bias, logged) = (of.bias()?, of.mean_logged()?);
    (logged.abs() > 0.0).then(|| (bias / logged).abs())
}

/// The unit of a measure in short, and whether its mean is told and not its sum.
fn short_unit(case: &ComparedCase<'_>, measure: Measure) -> (Unit, bool) {
    match measure {
        Measure::Events => (AS_IS, false),
        Measure::WashWater | Measure::Water => (units::volume(case.system()), false),
        _ => (unit_of(case, measure), true),
    }
}

/// `31 % too many`, `0.1 ft too much`.
fn off_words(of: &Against, unit: Unit, logged: f64, computed: f64) -> String {
    let more = computed > logged;
    if of.measure == Measure::Level {
        let off = figures::with_unit(unit.of((computed - logged).abs()), unit.digits, unit.name);
        return format!("{off} too {}", if more { "high" } else { "low" });
    }
    let share = 100.0 * (computed / logged - 1.0).abs();
    let word = match (of.measure, more) {
        (Measure::Events, true) => "too many",
        (Measure::Events, false) => "too few",
        (_, true) => "too much",
        (_, false) => "too little",
    };
    if share < 0.5 { "the same".to_owned() } else { format!("{}{}% {word}", figures::number(share, 0), figures::TIE) }
}

/// Does it repeat the log?
pub fn log(case: &ComparedCase<'_>, doc: &mut Document) {
    doc.heading(2, "Does it repeat the log?");
    if case.log.is_empty() {
        doc.paragraph("There are no records of this site, so the computation was never checked against this site.");
        return;
    }
    doc.paragraph(format!(
        "The site as it stands, computed without its records, against what the records say. Bias is the mean of computed less \
         logged; scatter is how far single figures lie about that mean (standard deviation). Only days that were logged count.{}",
        middle_run(case)
    ));
    let mut table = Table::new(vec![
        Column::words("What"),
        Column::words("Unit"),
        Column::figures("Figures", ""),
        Column::figures("Mean logged", ""),
        Column::figures("Bias", ""),
        Column::figures("Scatter", ""),
        Column::words("Note"),
    ])
    .caption("Logged against computed")
    .wide();
    for of in case.log {
        let unit = unit_of(case, of.measure);
        let each = match of.measure {
            Measure::Events | Measure::WashWater | Measure::Water => "a month",
            _ => "a reading",
        };
        let cell = |value: Option<f64>| match value {
            Some(value) => Cell::number(unit.of(value), 1),
            None => Cell::nothing(),
        };
        table.row(vec![
            Cell::words(first_capital(&of.what)),
            Cell::words(format!("{} {each}", unit.name).trim().to_owned()),
            Cell::number(of.pairs.len() as f64, 0),
            cell(of.mean_logged()),
            cell(of.bias()),
            cell(of.scatter()),
            Cell::words(match of.left_out {
                0 => String::new(),
                n => format!("{n} with no flow computed"),
            }),
        ]);
    }
    doc.table(table);
    let washes = |of: &Against| matches!(of.measure, Measure::Events | Measure::WashWater);
    monthly(case, "Washes and wash water by month, logged and computed", &washes, doc);
    monthly(case, "Metered water by month, as metered and computed", &|of| of.measure == Measure::Water, doc);
    samples(case, doc);
    chart(case, doc);
}

fn monthly(case: &ComparedCase<'_>, caption: &str, is_meant: &dyn Fn(&Against) -> bool, doc: &mut Document) {
    let of: Vec<&Against> = case.log.iter().filter(|of| is_meant(of)).take(4).collect();
    if of.is_empty() {
        return;
    }
    let mut columns = vec![Column::words("Month")];
    for of in &of {
        let unit = unit_of(case, of.measure);
        columns.push(Column::figures(format!("{}: logged", first_capital(&of.what)), unit.name));
        columns.push(Column::figures("computed", unit.name));
    }
    let mut table = Table::new(columns).caption(caption).wide();
    let mut months: Vec<chrono::NaiveDate> = of.iter().flat_map(|of| of.pairs.iter().map(|(day, _, _)| *day)).collect();
    months.sort();
    months.dedup_by_key(|day| month(*day));
    for at in months {
        let mut cells = vec![Cell::words(month(at))];
        for of in &of {
            let unit = unit_of(case, of.measure);
            let pair = of.pairs.iter().find(|(day, _, _)| month(*day) == month(at));
            match pair {
                Some((_, logged, computed)) => {
                    cells.push(Cell::figure(unit.of(*logged), 0, Basis::Metered));
                    cells.push(Cell::figure(unit.of(*computed), 0, Basis::Computed));
                }
                None => cells.extend([Cell::nothing(), Cell::nothing()]),
            }
        }
        table.row(cells);
    }
    doc.table(table);
}

/// Sampled solids one by one, the last of them where there are many.
fn samples(case: &ComparedCase<'_>, doc: &mut Document) {
    const MOST: usize = 24;
    let unit = unit_of(case, Measure::Solids);
    let mut all: Vec<(chrono::NaiveDate, &str, f64, f64, bool)> = case
        .log
        .iter()
        .filter(|of| of.measure == Measure::Solids)
        .flat_map(|of| {
            let told = |is_below| {
                let what = of.what.as_str();
                move |(date, logged, computed): &(chrono::NaiveDate, f64, f64)| {
                    (*date, what, *logged, *computed, is_below)
                }
            };
            of.pairs.iter().map(told(false)).chain(of.below.iter().map(told(true)))
        })
        .collect();
    if all.is_empty() {
        return;
    }
    all.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.cmp(b.1)));
    let left_out = all.len().saturating_sub(MOST);
    let mut table = Table::new(vec![
        Column::words("Sampled on"),
        Column::words("What"),
        Column::figures("Sampled", unit.name),
        Column::figures("Computed", unit.name),
    ])
    .caption("Sampled solids, and computed for the same day")
    .wide();
    for (date, what, logged, computed, is_below) in all.into_iter().skip(left_out) {
        table.row(vec![
            Cell::words(day(date)),
            Cell::words(first_capital(what)),
            if is_below {
                Cell::known(format!("below {}", figures::number(unit.of(logged), 0)), Basis::Sampled)
            } else {
                Cell::figure(unit.of(logged), 0, Basis::Sampled)
            },
            Cell::figure(unit.of(computed), 0, Basis::Computed),
        ]);
    }
    if left_out > 0 {
        table.note(format!("{left_out} earlier ones are left out here; they are in the bias above."));
    }
    doc.table(table);
}

fn chart(case: &ComparedCase<'_>, doc: &mut Document) {
    let period = case.study.period;
    let days = usize::try_from((period.1 - period.0).num_days() + 1).unwrap_or(0);
    let mut chart = Chart::over_days(period.0, days);
    let mut names = Vec::new();
    for of in case
        .log
        .iter()
        .filter(|of| of.measure == Measure::Level && of.pairs.len() > 5)
        // Freeboard is the level again, upside down.
        .filter(|of| {
            of.what.strip_prefix("freeboard of ").is_none_or(|place| {
                let level = format!("level of {place}");
                !case.log.iter().any(|other| other.what == level)
            })
        })
        // A level that hardly moves makes no chart.
        .filter(|of| {
            let all = || of.pairs.iter().flat_map(|(_, l, c)| [*l, *c]);
            all().fold(f64::NEG_INFINITY, f64::max) - all().fold(f64::INFINITY, f64::min) > 0.05
        })
        .take(3)
    {
        let unit = unit_of(case, of.measure);
        let mut logged = vec![None; days];
        let mut computed = vec![None; days];
        for (date, l, c) in &of.pairs {
            if let Ok(at) = usize::try_from((*date - period.0).num_days()) {
                if let Some(slot) = logged.get_mut(at) {
                    *slot = Some(unit.of(*l));
                }
                if let Some(slot) = computed.get_mut(at) {
                    *slot = Some(unit.of(*c));
                }
            }
        }
        names.push(of.what.clone());
        chart = chart.panel(
            Panel::new(first_capital(&of.what), unit.name)
                .fitted()
                .series(Series::new("read", Mark::Points, Hue::Loam, Basis::Metered, logged))
                .series(Series::new("computed", Mark::Points, Hue::Pool, Basis::Computed, computed)),
        );
    }
    if names.is_empty() {
        return;
    }
    let words = names.join(", ");
    doc.chart(
        chart,
        format!("Points of {words} as read and as computed on the same days."),
        format!("{}: read (filled) and computed (open).", first_capital(&words)),
    );
}

/// The fit, if one was asked for.
pub fn fit(case: &ComparedCase<'_>, doc: &mut Document) {
    let Some(fit) = case.fit else { return };
    doc.heading(2, "Unknowns fitted to the log");
    doc.paragraph(format!(
        "Fitted on {} to {} to {} monthly counts of washes, volumes of wash water and levels, each kind by its own scatter; tested \
         on {} to {}. “As good” lets the other values give way and takes errors as independent: levels that err together for \
         weeks pin less than it says. Draws count by the log in any case; the comparison does not use \
         the fitted values: page 1 has the lines that take them over.",
        day(fit.fit_on.0),
        day(fit.fit_on.1),
        figures::number(fit.figures as f64, 0),
        day(fit.test_on.0),
        day(fit.test_on.1),
    ));
    let mut table = Table::new(vec![
        Column::words("Value"),
        Column::words("Range typed"),
        Column::words("Fits best"),
        Column::words("As good (95 %, the others fitted anew)"),
    ])
    .caption("Values fitted to the log")
    .wide();
    for value in &fit.values {
        table.row(vec![
            Cell::words(value.key.clone()),
            Cell::words(value.typed.clone()),
            Cell::words(value.value.clone()),
            Cell::words(match &value.pinned {
                _ if value.at_end => "at the end of the range typed: the true value may lie outside".to_owned(),
                Some((low, high)) => format!("{low} to {high}"),
                None => "not pinned: most of the range fits as well".to_owned(),
            }),
        ]);
    }
    doc.table(table);
    let share = |value: f64| format!("{} %", shown(value * 100.0));
    let mut table = Table::new(vec![
        Column::words("Typical error (root mean square, of the mean logged)"),
        Column::words("Middle of the ranges").right(),
        Column::words("Fitted").right(),
    ]);
    for (words, (before, after)) in
        [("On the period fitted", fit.fitted_error), ("On the period tested", fit.tested_error)]
    {
        table.row(vec![Cell::words(words), Cell::words(share(before)), Cell::words(share(after))]);
    }
    doc.table(table);
    fitted_beside(case, &fit.tested, doc);
}

/// What was logged and metered in the period tested beside what is computed with the fitted values, water meters too, to which nothing is
/// fitted.
fn fitted_beside(case: &ComparedCase<'_>, tested: &[Against], doc: &mut Document) {
    let mut table = Table::new(vec![
        Column::words("On file in the period tested, and computed with the fitted values"),
        Column::words("On file"),
        Column::words("Computed"),
        Column::words("That is"),
    ])
    .caption("On file in the period tested, and computed with the fitted values");
    for of in tested.iter().filter(|of| matches!(of.measure, Measure::Events | Measure::WashWater | Measure::Water)) {
        let (unit, _) = short_unit(case, of.measure);
        let sums = of.pairs.iter().fold((0.0, 0.0), |sum, pair| (sum.0 + pair.1, sum.1 + pair.2));
        let figure = |si: f64| {
            let value = if of.measure == Measure::Events { unit.of(si) } else { three(unit.of(si)) };
            figures::with_unit(value, 0, unit.name)
        };
        table.row(vec![
            Cell::words(first_capital(&of.what)),
            Cell::known(figure(sums.0), Basis::Metered),
            Cell::known(figure(sums.1), Basis::Computed),
            Cell::words(if sums.0 > 0.0 { off_words(of, unit, sums.0, sums.1) } else { String::new() }),
        ]);
    }
    if !table.rows.is_empty() {
        doc.table(table);
    }
}

/// What is not in it.
pub fn left_out(case: &ComparedCase<'_>, doc: &mut Document) {
    doc.heading(2, "What is not in it");
    doc.list(
        [
            "Pressure that a clogging filter loses: a pump lifts to the head typed, whatever the filter's state. Pumps and motors that are not typed, where they are the same in every option.",
            "What the existing filters cost to keep up and to renew, where prices.yaml does not list it, and what they fetch when sold.",
            "Water in spent pieces where no `water when hauled` is typed; waste is taken as heavy as water.",
            "The crop: what grit, fines or standing still do to plants and nozzles.",
            "Poorer filtrate in the first minutes after a wash or a change.",
            "Permits, buildings, roads, and whatever else a proposal asks for and does not list among what is bought once.",
            "Rain of other years: the answer is for the weather of the period.",
        ]
        .into_iter()
        .map(Text::from)
        .collect(),
    );
    if case.study.tuned().is_none() {
        doc.paragraph("No proposal says `tuned: yes`. Until the existing site has been compared at its best, there is no verdict.");
    }
}
