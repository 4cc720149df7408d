//! The case's money: costs a year by kind, differences, year by year, prices and who told them.

use crate::compare::prices::Price;
use crate::compare::{Category, Cell as CostCell, Kind, Study, Verdict, money, rate};
use crate::page::document::{Basis, Cell, Chart, Column, Document, Hue, Mark, Panel, Series, Table};
use crate::report::case::beside::Beside;
use crate::report::case::page::{first_capital, gathered, percent, rate_words};
use crate::report::case::verdict::{answer_row, marked, refused_for, signed, with_money};
use crate::report::case::{AS_IS, ComparedCase, one_form, three};
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
    for paid in &prices.renews {
        put(format!("{} (lasts {} years)", paid.what, three(paid.lasts_years)), &paid.price);
    }
    for paid in &prices.pays_regularly {
        put(paid.what.clone(), &paid.price);
    }
    for of in &case.study.options {
        for (name, price) in &of.alternative.used_up {
            put(format!("{name}, each"), price);
        }
        for paid in &of.alternative.pays_once {
            put(format!("{} (lasts {} years)", paid.what, three(paid.lasts_years)), &paid.price);
        }
        for paid in &of.alternative.pays_regularly {
            put(paid.what.clone(), &paid.price);
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
    let study = case.study;
    let money = &prices.money;
    let each = |of: &dyn Fn(usize) -> crate::compare::Cell| case.options().skip(1).map(of).collect::<Vec<_>>();
    let mut rows = Beside::new(case, 0.5);
    let (name, cells) = answer_row(case);
    rows.words(name, cells);
    for category in Category::ALL {
        let now = study.known_cost(0, category);
        rows.line(category.words(), AS_IS, now, each(&|option| study.cost_more(option, 0, category)));
    }
    rows.sum("All, to run", AS_IS, study.known_running(0), each(&|option| study.running_more(option, 0)));
    bought(case, &mut rows, "");
    rows.line("Bought, worth today", AS_IS, study.capital(0), each(&|option| study.capital_more(option, 0)));
    rows.line("All, worth today", AS_IS, study.known_present(0), each(&|option| study.present_more(option, 0)));
    let (table, notes) = rows.table(&format!("{money} a year"), format!("Costs a year, {money}"));
    let Some(mut table) = table else {
        doc.paragraph(notes.join(" "));
        return;
    };
    let saves: Vec<Option<f64>> =
        case.options().skip(1).map(|option| study.present_more(option, 0).share_below_nought()).collect();
    if saves.iter().any(Option::is_some) {
        let mut row = vec![Cell::words("Draws in which it saves"), Cell::nothing()];
        row.extend((1..).zip(&saves).map(|(option, share)| match (refused_for(case, option), share) {
            (Some(why), _) => Cell::words(format!("no ({why})")),
            (None, None) => Cell::words("not compared"),
            (None, Some(share)) => Cell::words(match study.verdict(option, 0).in_money() {
                Verdict::None(_) => format!("{}, no verdict", percent(*share)),
                _ => percent(*share),
            }),
        }));
        table.row(row);
    }
    table.note(format!(
        "The median of the draws, and in brackets where nine in ten of them lie; medians do not add up. Worth today: what is run \
         and bought, and bought again when its life is over, over {} years at {}; what is left of a life at the end counts back. \
         Prices are drawn from their ranges, the same in every option. {}",
        prices.years,
        rate_words(prices.discount),
        notes.join(" ")
    ));
    if case.options().any(|option| refused_for(case, option).is_some()) {
        table.note(
            "No (limit), no (service): with it a limit is predicted to be broken, or the uses are not served as they are now; what it saves buys \
             something else.",
        );
    }
    let left_out = study.left_out_of_known();
    if !left_out.is_empty() {
        table.note(format!("Left out, as it is the same in every option: {}.", gathered(&left_out)));
    }
    doc.table(table);
}

/// What is paid at the start, and what comes back of it at the end, `unit` behind their names.
pub fn bought(case: &ComparedCase<'_>, rows: &mut Beside<'_>, unit: &str) {
    let study = case.study;
    let each = |of: &dyn Fn(usize) -> CostCell| case.options().skip(1).map(of).collect::<Vec<_>>();
    rows.line(
        format!("Paid at the start{unit}"),
        AS_IS,
        study.bought_in(0, 0),
        each(&|option| study.start_more(option, 0)),
    );
    let name = match case.options().any(|option| study.buys_later(option)) {
        true => "Bought later, less what is left at the end, worth today".to_owned(),
        false => format!("What is left of it after {} years, worth today", study.prices.years),
    };
    rows.line(format!("{name}{unit}"), AS_IS, study.later(0), each(&|option| study.later_more(option, 0)));
}

/// By when each option has paid back what it pays more at the start; none where none pays more.
pub fn paid_back(case: &ComparedCase<'_>) -> Option<Vec<String>> {
    let study = case.study;
    let pays_more = |option: usize| typical(&study.start_more(option, 0)).is_some_and(|more| more > 0.5);
    let is_known = |option: usize| study.present_more(option, 0).is_whole();
    let words = |option: usize| match pays_back(case, option) {
        _ if option == 0 || !pays_more(option) => "–".to_owned(),
        _ if !is_known(option) => "not compared".to_owned(),
        Some(year) => format!("in year {year}"),
        None => format!("not in {} years", study.prices.years),
    };
    case.options().skip(1).any(pays_more).then(|| case.options().map(words).collect())
}

/// What each option has cost up to each year, worth today, in the middle of every range; none where its cost is not known.
fn paid_up_to(case: &ComparedCase<'_>) -> Vec<Vec<Option<f64>>> {
    let study = case.study;
    let Some(draw) = study.draws.first() else { return Vec::new() };
    let discount = rate(&study.prices, draw);
    case.options()
        .map(|option| {
            let mut sum = Some(0.0);
            let paid = paid_each_year(case, option);
            (0_u32..)
                .zip(paid)
                .map(|(year, paid)| {
                    sum = sum
                        .zip(paid)
                        .map(|(sum, paid)| sum + paid * money::present_worth_factor(discount, f64::from(year)));
                    sum
                })
                .collect()
        })
        .collect()
}

/// A figure as it stands for all draws: their median, as in the tables; that of the middle run where there are no draws.
pub(super) fn typical(cell: &CostCell) -> Option<f64> {
    cell.spread().map(|of| of.median)
}

/// What [`typical`] figures are, in words.
pub(super) fn typical_words(study: &Study) -> &'static str {
    match study.repeated.weights {
        Some(_) => "by the medians of the draws that count by what is on file",
        None if study.draws.len() > 1 => "by the medians of the draws",
        None => "one run in the middle of every range",
    }
}

/// What an option pays at the start and each year, as [`typical`] costs are, not discounted: what the site as it stands pays, and what the
/// option pays more, so that both are the figures of the table of costs.
fn paid_each_year(case: &ComparedCase<'_>, option: usize) -> Vec<Option<f64>> {
    let study = case.study;
    let now = a_year(
        study,
        &study.known_running(0),
        |category| study.known_cost(0, category),
        |year| study.bought_in(0, year),
    );
    if option == 0 {
        return now;
    }
    let more = a_year(
        study,
        &study.running_more(option, 0),
        |category| study.cost_more(option, 0, category),
        |year| study.bought_in(option, year).less(&study.bought_in(0, year)),
    );
    now.into_iter().zip(more).map(|(now, more)| Some(now? + more?)).collect()
}

/// By year what is run and what is bought. Medians of kinds do not add up to that of them all: what is over rises as all prices do.
fn a_year(
    study: &Study,
    running: &CostCell,
    cost: impl Fn(Category) -> CostCell,
    bought: impl Fn(u32) -> CostCell,
) -> Vec<Option<f64>> {
    let rises = &study.prices.rises;
    let kinds: Option<Vec<(f64, f64)>> =
        Category::ALL.iter().map(|category| Some((typical(&cost(*category))?, rises.of(*category)))).collect();
    let all = typical(running).zip(kinds).map(|(all, mut kinds)| {
        let over = all - kinds.iter().map(|(amount, _)| amount).sum::<f64>();
        kinds.push((over, rises.all));
        kinds
    });
    let run = |year: u32| -> Option<f64> {
        let kinds = all.as_ref()?.iter();
        Some(if year == 0 { 0.0 } else { kinds.map(|(amount, rises)| amount * (1.0 + rises).powi(year as i32)).sum() })
    };
    (0..=study.prices.years).map(|year| Some(typical(&bought(year))? + run(year)?)).collect()
}

/// The year by whose end an option has paid less than the site as it stands, worth today and in the middle of every range, where
/// it has paid more at the start; none where it never does.
pub fn pays_back(case: &ComparedCase<'_>, option: usize) -> Option<usize> {
    let all = paid_up_to(case);
    let (now, ours) = (all.first()?, all.get(option)?);
    let more: Vec<f64> = ours.iter().zip(now).map(|(ours, now)| Some((*ours)? - (*now)?)).collect::<Option<_>>()?;
    let last_above = more.iter().rposition(|more| *more > 0.0)?;
    (*more.first()? > 0.0 && last_above + 1 < more.len()).then_some(last_above + 1)
}

/// A line that stays within this part of the chart's height tells nothing and is told in words.
const FLAT: f64 = 0.025;

/// How much more each option has cost up to each year than the site as it stands.
pub fn over_the_years(case: &ComparedCase<'_>, doc: &mut Document) {
    let study = case.study;
    let years = study.prices.years;
    let all = paid_up_to(case);
    let Some((now, others)) = all.split_first() else { return };
    let more: Vec<(usize, Vec<f64>)> = (1..)
        .zip(others)
        .filter_map(|(option, sums)| {
            let more: Option<Vec<f64>> = sums.iter().zip(now).map(|(sum, now)| Some((*sum)? - (*now)?)).collect();
            Some((option, more?))
        })
        .collect();
    let largest = more.iter().flat_map(|(_, more)| more).fold(0.0_f64, |most, value| most.max(value.abs()));
    if largest < 1.0 {
        return;
    }
    let size = |more: &[f64]| more.iter().fold(0.0_f64, |most, value| most.max(value.abs()));
    let (mut drawn, mut told): (Vec<_>, Vec<_>) = more.iter().partition(|(_, more)| size(more) >= FLAT * largest);
    if drawn.len() > Hue::ALL.len() {
        told.extend(drawn.split_off(Hue::ALL.len()));
    }
    let mut panel = Panel::new("Paid more than as it stands, up to each year, worth today", study.prices.money.clone());
    for ((option, more), hue) in drawn.iter().zip(Hue::ALL) {
        let values = more.iter().map(|value| Some(*value)).collect();
        let name = match marked(case, *option) {
            Some(words) => format!("{}: {words}", case.short(*option)),
            None => case.short(*option),
        };
        panel = panel.series(Series::new(name, Mark::Line, hue, Basis::Computed, values));
    }
    panel.lines = 9;
    let names = (0..=years).map(|year| if year == 0 { "start".to_owned() } else { year.to_string() }).collect();
    let ends: Vec<String> = drawn
        .iter()
        .filter_map(|(option, more)| Some(format!("{} {}", case.short(*option), with_money(case, *more.last()?))))
        .collect();
    let mut caption = format!(
        "What each option has cost more than the site as it stands up to each year, {}, worth today. What is left of a life at the \
         end is not in it; it counts back in the worth today above.",
        typical_words(study)
    );
    let told: Vec<String> = told
        .iter()
        .map(|(option, more)| {
            let name = case.short(*option);
            match more.last().filter(|last| last.abs() >= 0.5) {
                Some(last) => format!("{name}, in the last year {}", signed(case, *last)),
                None => format!("{name}, which costs the same"),
            }
        })
        .collect();
    if !told.is_empty() {
        caption.push_str(&format!(" Not drawn beside the others: {}.", told.join("; ")));
    }
    doc.chart(
        Chart::over_classes(names).panel(panel),
        format!("Lines of what is paid more than as it stands up to each year. In the last year: {}.", ends.join(", ")),
        caption,
    );
}

/// Money by year, middle of the ranges.
pub fn by_year(case: &ComparedCase<'_>, doc: &mut Document) {
    let study = case.study;
    let paid: Vec<Vec<Option<f64>>> = case.options().map(|option| paid_each_year(case, option)).collect();
    if paid.iter().flatten().all(Option::is_none) {
        return;
    }
    doc.heading(2, "Money by year");
    let mut columns = vec![Column::words("Year")];
    for option in case.options() {
        columns.push(Column::figures(case.short(option), study.prices.money.clone()));
    }
    let mut table = Table::new(columns)
        .caption(format!("Paid by year, {}, {}, not discounted", study.prices.money, typical_words(study)))
        .wide();
    // Years that are alike stand in one row.
    let year = |at: usize| paid.iter().map(|of| of.get(at).copied().flatten()).collect::<Vec<_>>();
    let last = study.prices.years as usize;
    let mut first = 0;
    while first <= last {
        let cells = year(first);
        let mut to = first;
        while to < last && year(to + 1) == cells {
            to += 1;
        }
        let name = match (first, to) {
            (0, 0) => "at the start".to_owned(),
            (first, to) if first == to => first.to_string(),
            (first, to) => format!("{first} to {to}, each"),
        };
        let mut row = vec![Cell::words(name)];
        row.extend(cells.into_iter().map(|paid| match paid {
            None => Cell::words("not compared"),
            Some(paid) => Cell::figure(three(paid), 0, Basis::Computed),
        }));
        table.row(row);
        first = to + 1;
    }
    table.note("What is left of a life at the end is not in this table; it is in the worth today.");
    doc.table(table);
}

/// Prices, who told them and when.
pub fn prices(case: &ComparedCase<'_>, doc: &mut Document) {
    doc.heading(2, "Prices, who told them, and when");
    let (all, invented) = invented(case);
    let mut table =
        Table::new(vec![Column::words("What"), Column::words("Price"), Column::words("Told by"), Column::words("On")])
            .caption("Prices")
            .wide();
    for (name, price) in used(case) {
        table.traced(
            vec![
                Cell::words(first_capital(&name)),
                Cell::words(format!("{}{}", one_form(&price.text), threshold(case, &price))),
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
    if invented > 0 {
        table.note(format!(
            "{invented} of {all} prices say that they are invented. A saving that rests on them is an example, not an offer."
        ));
    }
    doc.table(table);
    let parts: Vec<&[crate::compare::Part]> = case.study.options.iter().map(|of| of.parts.as_slice()).collect();
    let unused = crate::compare::unused(&case.study.prices, &parts);
    if !unused.is_empty() {
        doc.paragraph(format!("Typed and used by no option (a place misspelt?): {}.", unused.join(", ")));
    }
}

/// Over what a surcharge is paid, and whether it is anywhere: `, over 300 mg/L: none in any option`; empty of other prices.
fn threshold(case: &ComparedCase<'_>, price: &Price) -> String {
    let mut tariffs = case.study.prices.tariffs.iter();
    let of =
        tariffs.find_map(|of| of.surcharge.as_ref().filter(|(.., known)| known.place == price.place).map(|s| (of, s)));
    let Some((tariff, (_, over, _))) = of else { return String::new() };
    let all =
        || case.options().flat_map(|option| case.study.paired(option, Kind::Strong)).filter(|of| of.id == tariff.place);
    let is_none = all().count() > 0 && all().all(|of| of.missing.is_none() && of.values.iter().all(|kg| *kg <= 0.0));
    let none = if is_none { ": none in any option" } else { "" };
    format!(", over {} mg/L{none}", three(*over))
}

/// Pumps as typed.
pub fn pumps(case: &ComparedCase<'_>, doc: &mut Document) {
    let study = case.study;
    let all: Vec<_> = study.options.iter().flat_map(|of| &of.alternative.pumps).chain(&study.prices.pumps).collect();
    if all.is_empty() {
        return;
    }
    doc.heading(2, "Pumps as typed");
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
                Cell::words(one_form(&pump.head.text)),
                Cell::words(pump.efficiency.text.clone()),
                Cell::words(pump.by.clone().unwrap_or_else(|| "not said".to_owned())),
                Cell::words(pump.on.map_or_else(|| "not said".to_owned(), day)),
            ],
            pump.head.place.to_string(),
        );
    }
    doc.table(table);
}
