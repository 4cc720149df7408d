//! The case's money: costs a year by kind, differences, year by year, prices and who told them.

use crate::compare::prices::Price;
use crate::compare::{Category, money, rate};
use crate::page::document::{Basis, Cell, Chart, Column, Document, Hue, Mark, Panel, Series, Table};
use crate::report::case::page::{LowerFirst, first_capital, gathered, percent, rate_words};
use crate::report::case::tables::{columns, others};
use crate::report::case::verdict::verdict_words;
use crate::report::case::{AS_IS, ComparedCase, spread, three};
use crate::report::inspection::about::day;

/// Every price that the options use, each once, with what it is for.
fn used(case: &ComparedCase<'_>) -> Vec<(String, Price)> {
    let prices = &case.study.prices;
    let mut out: Vec<(String, Price)> = Vec::new();
    let mut put = |name: String, price: &Price| {
        if !out.iter().any(|(_, known)| known.place == price.place) {
            out.push((name, price.clone()));
        }
    };
    for (name, price) in &prices.prices {
        put(name.clone(), price);
    }
    for tariff in &prices.tariffs {
        for price in tariff.prices() {
            let last = price.key.rsplit(" / ").next().unwrap_or_default();
            let last = if last == "price" { "surcharge" } else { last };
            put(format!("{}, {last}", tariff.place), price);
        }
    }
    for (name, price) in &prices.used_up {
        put(format!("{name}, each"), price);
    }
    for of in &case.study.options {
        for (name, price) in &of.alternative.used_up {
            put(format!("{name}, each"), price);
        }
        for paid in &of.alternative.pays_once {
            put(format!("{} (lasts {} years)", paid.what, three(paid.lasts_years)), &paid.price);
        }
    }
    out
}

/// How many prices there are, and how many say that they are invented.
pub fn invented(case: &ComparedCase<'_>) -> (usize, usize) {
    let all = used(case);
    let invented = all
        .iter()
        .filter(|(_, price)| price.by.as_ref().is_some_and(|by| by.to_lowercase().contains("invented")))
        .count();
    (all.len(), invented)
}

/// Costs a year by kind.
pub fn costs(case: &ComparedCase<'_>, doc: &mut Document) {
    let prices = &case.study.prices;
    doc.heading(2, "Money");
    doc.paragraph(format!(
        "What an option costs to run each year, at today's prices, and what it buys once and again when its life is over, \
         brought to its worth today at {} over {} years; what is left of a life at the end counts back. Prices are drawn from \
         their ranges with the same draws in every option.",
        rate_words(prices.discount),
        prices.years
    ));
    let mut table = Table::new(columns(case, &format!("{} a year", prices.money)))
        .caption(format!("Costs a year, {}", prices.money))
        .wide();
    for category in Category::ALL {
        let cells: Vec<_> = case.options().map(|option| case.study.known_cost(option, category)).collect();
        if cells.iter().all(|cell| cell.is_whole() && cell.values.iter().all(|v| *v == 0.0)) {
            continue;
        }
        let mut row = vec![Cell::words(category.words())];
        row.extend(cells.iter().map(|cell| Cell::words(spread(cell, AS_IS))));
        table.row(row);
    }
    let mut row = vec![Cell::words("All, to run")];
    row.extend(case.options().map(|option| Cell::words(spread(&case.study.known_running(option), AS_IS))));
    table.sum(row);
    for (words, cell) in [("Bought, worth today", 0), ("All, worth today", 1)] {
        let mut row = vec![Cell::words(words)];
        row.extend(case.options().map(|option| {
            let of = if cell == 0 { case.study.capital(option) } else { case.study.known_present(option) };
            Cell::words(spread(&of, AS_IS))
        }));
        table.row(row);
    }
    table.note("The median of the draws, and in brackets where nine in ten of them lie. Medians do not add up.");
    let mut reasons: Vec<String> = Vec::new();
    for option in case.options() {
        for why in case.study.known_present(option).missing {
            if !reasons.contains(&why) {
                reasons.push(why);
            }
        }
    }
    for why in reasons {
        table.note(format!("Not compared: {why}."));
    }
    let left_out = case.study.left_out_of_known();
    if !left_out.is_empty() {
        table.note(format!("Left out, as it is the same in every option: {}.", gathered(&left_out)));
    }
    doc.table(table);
}

/// Differences in money, with their ranges, against the site as it stands and against it tuned.
pub fn differences(case: &ComparedCase<'_>, doc: &mut Document) {
    let study = case.study;
    let unit = &study.prices.money;
    let mut table = Table::new(others(case, &format!("More than as it stands, {unit} a year")))
        .caption(format!("Differences in money, {unit}"))
        .wide();
    for category in Category::ALL {
        let cells: Vec<_> = case.options().skip(1).map(|option| study.cost_more(option, 0, category)).collect();
        // Less than half a unit of money in every option is nothing.
        let hardly =
            |cell: &crate::compare::Cell| cell.spread().is_some_and(|of| of.low.abs().max(of.high.abs()) < 0.5);
        if cells.iter().all(hardly) {
            continue;
        }
        let mut row = vec![Cell::words(category.words())];
        row.extend(cells.iter().map(|cell| Cell::words(spread(cell, AS_IS))));
        table.row(row);
    }
    let mut row = vec![Cell::words("All, to run")];
    row.extend(case.options().skip(1).map(|option| Cell::words(spread(&study.running_more(option, 0), AS_IS))));
    table.sum(row);
    let mut row = vec![Cell::words("All, worth today")];
    row.extend(case.options().skip(1).map(|option| Cell::words(spread(&study.present_more(option, 0), AS_IS))));
    table.row(row);
    let mut row = vec![Cell::words("Draws in which it saves")];
    row.extend(case.options().skip(1).map(|option| {
        Cell::words(
            study.present_more(option, 0).share_below_nought().map_or_else(|| "not compared".to_owned(), percent),
        )
    }));
    table.row(row);
    if let Some(tuned) = study.tuned() {
        let mut row =
            vec![Cell::words(format!("All, worth today, more than {}", case.short(tuned).to_lowercase_first()))];
        row.extend(case.options().skip(1).map(|option| {
            Cell::words(if option == tuned {
                "–".to_owned()
            } else {
                spread(&study.present_more(option, tuned), AS_IS)
            })
        }));
        table.row(row);
    }
    doc.table(table);
    for option in case.options().skip(1) {
        let mut text = crate::page::document::Text::new().bold(format!("{}: ", case.name(option)));
        text.runs.extend(verdict_words(case, option, 0).runs);
        doc.paragraph(text);
    }
}

/// Money by year, middle of the ranges.
pub fn by_year(case: &ComparedCase<'_>, doc: &mut Document) {
    let study = case.study;
    let years = study.prices.years;
    let Some(draw) = study.draws.first() else {
        return;
    };
    let discount = rate(&study.prices, draw);
    let mut columns = vec![Column::words("Year")];
    for option in case.options() {
        columns.push(Column::figures(case.short(option), study.prices.money.clone()));
    }
    let mut table = Table::new(columns)
        .caption(format!("Paid by year, {}, one run in the middle of every range, not discounted", study.prices.money))
        .wide();
    let mut running = Vec::new();
    for option in case.options() {
        running.push(study.known_running(option).single());
    }
    let mut sums: Vec<Vec<Option<f64>>> = vec![Vec::new(); study.options.len()];
    for year in 0..=years {
        let mut row = vec![Cell::words(if year == 0 { "at the start".to_owned() } else { year.to_string() })];
        for ((option, a_year), sums) in study.options.iter().zip(&running).zip(&mut sums) {
            let bought: f64 = option
                .alternative
                .pays_once
                .iter()
                .map(|paid| {
                    let price = paid.price.drawn(draw);
                    (0..)
                        .map(|time| f64::from(time) * paid.lasts_years)
                        .take_while(|at| *at < f64::from(years) - 1e-9 && paid.lasts_years > 0.0)
                        .filter(|at| at.ceil() as u32 == year)
                        .count() as f64
                        * price
                })
                .sum();
            let paid = a_year.map(|a_year| bought + if year == 0 { 0.0 } else { a_year });
            row.push(match paid {
                None => Cell::words("not compared"),
                Some(paid) => Cell::figure(three(paid), 0, Basis::Computed),
            });
            let before = sums.last().copied().unwrap_or(Some(0.0));
            sums.push(
                before
                    .zip(paid)
                    .map(|(before, paid)| before + paid * money::present_worth_factor(discount, f64::from(year))),
            );
        }
        table.row(row);
    }
    table.note("What is left of a life at the end is not in this table; it is in the worth today.");
    doc.table(table);
    let mut chart = Chart::over_classes(
        (0..=years).map(|year| if year == 0 { "start".to_owned() } else { year.to_string() }).collect(),
    );
    let mut panel = Panel::new("Paid up to each year, worth today", study.prices.money.clone());
    for ((option, sums), hue) in case.options().zip(sums).zip(Hue::ALL) {
        panel = panel.series(Series::new(case.short(option), Mark::Line, hue, Basis::Computed, sums));
    }
    chart = chart.panel(panel);
    let ends: Vec<String> = case
        .options()
        .filter_map(|option| {
            let value = study.known_present(option).single()?;
            Some(format!("{} {}", case.short(option), crate::report::case::verdict::with_money(case, value)))
        })
        .collect();
    doc.chart(
        chart,
        format!("Lines of what is paid up to each year by option. In all, worth today: {}.", ends.join(", ")),
        "What each option has cost up to each year, in the middle of every range, worth today.",
    );
}

/// Prices, who told them and when.
pub fn prices(case: &ComparedCase<'_>, doc: &mut Document) {
    doc.heading(2, "Prices, who told them, and when");
    let (all, invented) = invented(case);
    if invented > 0 {
        doc.paragraph(format!(
            "{invented} of {all} prices say that they are invented. A saving that rests on them is an example, not an offer."
        ));
    }
    let mut table =
        Table::new(vec![Column::words("What"), Column::words("Price"), Column::words("Told by"), Column::words("On")])
            .caption("Prices")
            .wide();
    for (name, price) in used(case) {
        table.traced(
            vec![
                Cell::words(first_capital(&name)),
                Cell::words(price.text.clone()),
                Cell::words(price.by.clone().unwrap_or_else(|| "not said".to_owned())),
                Cell::words(price.on.map_or_else(|| "not said".to_owned(), day)),
            ],
            price.place.to_string(),
        );
    }
    table.row(vec![
        Cell::words("Discount rate"),
        Cell::words(rate_words(case.study.prices.discount)),
        Cell::words("not said"),
        Cell::words("not said"),
    ]);
    doc.table(table);
    pumps(case, doc);
    let parts: Vec<&[crate::compare::Part]> = case.study.options.iter().map(|of| of.parts.as_slice()).collect();
    let unused = crate::compare::unused(&case.study.prices, &parts);
    if !unused.is_empty() {
        doc.paragraph(format!("Typed and used by no option (a place misspelt?): {}.", unused.join(", ")));
    }
}

/// Pumps as typed.
fn pumps(case: &ComparedCase<'_>, doc: &mut Document) {
    let study = case.study;
    let all: Vec<_> = study.options.iter().flat_map(|of| &of.alternative.pumps).chain(&study.prices.pumps).collect();
    if all.is_empty() {
        return;
    }
    let mut table = Table::new(vec![
        Column::words("Pump"),
        Column::words("Lifts"),
        Column::words("Head"),
        Column::words("Efficiency"),
        Column::words("Told by"),
        Column::words("On"),
    ])
    .caption("Pumps")
    .wide();
    for pump in all {
        let places: Vec<&str> = pump.places.iter().map(|said| said.value.as_str()).collect();
        table.traced(
            vec![
                Cell::words(pump.name.clone()),
                Cell::words(format!("{} {}", pump.lifts.words(), places.join(", "))),
                Cell::words(pump.head.text.clone()),
                Cell::words(pump.efficiency.text.clone()),
                Cell::words(pump.by.clone().unwrap_or_else(|| "not said".to_owned())),
                Cell::words(pump.on.map_or_else(|| "not said".to_owned(), day)),
            ],
            pump.head.place.to_string(),
        );
    }
    doc.table(table);
}
