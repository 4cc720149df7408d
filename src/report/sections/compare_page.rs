//! Page 1 of the case: the answer for each proposal, with its doubt, for whoever must decide.

use crate::compare::{Kind, Spread, Verdict};
use crate::report::cautions;
use crate::report::document::{Cell, Column, Document, Table, Text, figures};
use crate::report::sections::compare::{AS_IS, ComparedCase, shown, spread, units};
use crate::report::units::Unit;
use crate::rules::Outcome;

/// Writes page 1.
pub fn write(case: &ComparedCase<'_>, doc: &mut Document) {
    head(case, doc);
    doc.heading(2, "The answer");
    let rows: Vec<(String, Text)> = case
        .options()
        .skip(1)
        .map(|option| (case.short(option), answer(case, option)))
        .collect();
    doc.definitions(rows);
    if case.study.options.iter().any(|of| !of.limits.is_empty())
        && case
            .options()
            .skip(1)
            .all(|option| limits_words(case, option).is_none())
    {
        doc.paragraph(
            "No limit of the permit is predicted to come out otherwise than as it stands.",
        );
    }
    side_by_side(case, doc);
    doc.heading(2, "How far to believe it");
    doc.definitions(doubts(case));
    let short = cautions::short(&match case.authority {
        Some(authority) if !authority.to_lowercase().starts_with("the ") => {
            format!("the {authority}")
        }
        Some(authority) => authority.to_owned(),
        None => "the permitting authority".to_owned(),
    });
    doc.paragraph(Text::new().bold("Who decides. ").plain(short));
}

fn head(case: &ComparedCase<'_>, doc: &mut Document) {
    let prices = &case.study.prices;
    let draws = case.study.draws.len().saturating_sub(1);
    doc.permit_line(
        "Compared",
        format!(
            "{} with the site as it stands: same weather, same water to the uses, {} draws from the ranges typed",
            counted(case.study.options.len().saturating_sub(1), "proposal"),
            figures::number(draws as f64, 0)
        ),
    );
    let (all, invented) = crate::report::sections::compare_money::invented(case);
    let mut words = format!(
        "{}, {} over {} years at {}",
        prices.place.file,
        prices.money,
        prices.years,
        rate_words(prices.discount)
    );
    if invented > 0 {
        words.push_str(&format!("; {invented} of {all} are invented"));
    }
    doc.permit_line("Prices", words);
}

/// `5 %`, `4 % to 6 %`.
pub fn rate_words((low, high): (f64, f64)) -> String {
    if low == high {
        format!("{} %", shown(low * 100.0))
    } else {
        format!("{} % to {} %", shown(low * 100.0), shown(high * 100.0))
    }
}

fn counted(n: usize, word: &str) -> String {
    if n == 1 {
        format!("1 {word}")
    } else {
        format!("{n} {word}s")
    }
}

/// The verdict of an option in words, bold first.
fn answer(case: &ComparedCase<'_>, option: usize) -> Text {
    let study = case.study;
    let tuned = study.tuned();
    let mut text = verdict_words(case, option, 0);
    if let Some(tuned) = tuned.filter(|tuned| *tuned != option)
        && !matches!(study.verdict(option, 0), Verdict::None(_))
    {
        text = text.plain(format!(" Against tuned: {}.", against(case, option, tuned)));
    }
    if let Some(words) = limits_words(case, option) {
        text = text.plain(format!(" {words}"));
    }
    text
}

/// The words of an option's verdict against another.
pub fn verdict_words(case: &ComparedCase<'_>, option: usize, than: usize) -> Text {
    let study = case.study;
    let years = study.prices.years;
    let money = study.present_more(option, than);
    let range = money.spread();
    match study.verdict(option, than) {
        Verdict::None(why) => {
            let mut text = Text::new().bold("No verdict. ");
            for reason in why.iter().take(3) {
                text = text.plain(format!("{}. ", first_capital(reason)));
            }
            if why.len() > 3 {
                text = text.plain(format!("And {} more.", why.len() - 3));
            }
            text
        }
        Verdict::Same => Text::new().bold("It costs the same in every draw."),
        Verdict::Saves(share) => Text::new().bold("Yes: it saves money. ").plain(format!(
            "{} over {years} years, worth today, in {} of the draws.",
            amount(case, range, true),
            percent(share)
        )),
        Verdict::Costs(share) => Text::new().bold("No: it costs more. ").plain(format!(
            "{} more over {years} years, worth today; it saves in {} of the draws.",
            amount(case, range, false),
            percent(share)
        )),
        Verdict::Open(share) => Text::new()
            .bold("Not decided by what is known. ")
            .plain(format!(
                "It saves in {} of the draws: {} over {years} years, worth today.",
                percent(share),
                range.map_or_else(String::new, |range| between(case, range)),
            )),
    }
}

/// `from 1 200 USD less to 3 400 USD more`.
fn between(case: &ComparedCase<'_>, range: Spread) -> String {
    let one = |value: f64| {
        if value < 0.0 {
            format!("{} less", with_money(case, -value))
        } else {
            format!("{} more", with_money(case, value))
        }
    };
    format!("from {} to {}", one(range.low), one(range.high))
}

/// `52 300 USD (41 000 to 60 000)`; savings with their sign turned.
fn amount(case: &ComparedCase<'_>, range: Option<Spread>, saved: bool) -> String {
    let Some(range) = range else {
        return "not compared".to_owned();
    };
    let (low, middle, high) = if saved {
        (-range.high, -range.median, -range.low)
    } else {
        (range.low, range.median, range.high)
    };
    if low == high {
        return with_money(case, middle);
    }
    format!(
        "{} ({} to {})",
        with_money(case, middle),
        shown(low),
        shown(high)
    )
}

/// A sum of money of three digits with its name.
pub fn with_money(case: &ComparedCase<'_>, value: f64) -> String {
    format!(
        "{}{}{}",
        shown(value),
        figures::TIE,
        case.study.prices.money
    )
}

fn against(case: &ComparedCase<'_>, option: usize, than: usize) -> String {
    let study = case.study;
    let median = study
        .present_more(option, than)
        .spread()
        .map_or(0.0, |range| range.median);
    match study.verdict(option, than) {
        Verdict::None(why) => format!("no verdict ({})", why.first().cloned().unwrap_or_default()),
        Verdict::Same => "the same".to_owned(),
        Verdict::Saves(_) => format!("it saves {}", with_money(case, -median)),
        Verdict::Costs(_) => format!("it costs {} more", with_money(case, median)),
        Verdict::Open(share) => format!("not decided; it saves in {} of the draws", percent(share)),
    }
}

/// A share of draws; never `100 %` or `0 %` unless it is all of them or none.
pub fn percent(share: f64) -> String {
    let tie = figures::TIE;
    if share >= 1.0 {
        "all".to_owned()
    } else if share <= 0.0 {
        "none".to_owned()
    } else if share > 0.99 {
        format!("over 99{tie}%")
    } else if share < 0.01 {
        format!("under 1{tie}%")
    } else {
        format!("{}{tie}%", figures::number(share * 100.0, 0))
    }
}

/// A sentence's first letter as a capital.
pub fn first_capital(words: &str) -> String {
    let mut chars = words.chars();
    chars.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(chars).collect()
    })
}

/// How the limits' predictions change, if they do.
fn limits_words(case: &ComparedCase<'_>, option: usize) -> Option<String> {
    let (before, of) = (case.study.options.first()?, case.study.options.get(option)?);
    let mut parts = Vec::new();
    for limit in &before.limits {
        let words = |outcome: Option<Outcome>| outcome.map_or("not computed", Outcome::words);
        match of.limits.iter().find(|other| other.name == limit.name) {
            Some(now) if now.outcome != limit.outcome => parts.push(format!(
                "{} goes from {} to {}",
                limit.name,
                words(limit.outcome),
                words(now.outcome)
            )),
            _ => {}
        }
    }
    if before.limits.is_empty() {
        return None;
    }
    if parts.is_empty() {
        return None;
    }
    let more = parts.len().saturating_sub(2);
    parts.truncate(2);
    let mut words = format!("Limits: {}", parts.join("; "));
    if more > 0 {
        words.push_str(&format!("; {more} more"));
    }
    Some(format!("{words}."))
}

fn side_by_side(case: &ComparedCase<'_>, doc: &mut Document) {
    let study = case.study;
    let units = units(case);
    doc.heading(2, "Side by side, a year");
    let mut columns = vec![Column::words("")];
    for option in case.options() {
        columns.push(Column::words(case.short(option)).right());
    }
    let mut table = Table::new(columns).wide();
    // Thousands, so that a figure with its range stands on one line.
    let thousand = Unit {
        per_si: 0.001,
        ..AS_IS
    };
    let mut row = |name: String, cells: Vec<String>| {
        let mut out = vec![Cell::words(name)];
        out.extend(cells.into_iter().map(Cell::words));
        table.row(out);
    };
    let money = &study.prices.money;
    let years = study.prices.years;
    let mark = if study.left_out_of_known().is_empty() {
        ""
    } else {
        " (a)"
    };
    row(
        format!("{years} years, 1000 {money}{mark}"),
        case.options()
            .map(|o| spread(&study.known_present(o), thousand))
            .collect(),
    );
    row(
        "   more than now".to_owned(),
        case.options()
            .map(|o| match o {
                0 => "–".to_owned(),
                o => spread(&study.present_more(o, 0), thousand),
            })
            .collect(),
    );
    row(
        "   saves in".to_owned(),
        case.options()
            .map(|o| match o {
                0 => "–".to_owned(),
                o => study
                    .present_more(o, 0)
                    .share_below_nought()
                    .map_or_else(|| "not compared".to_owned(), percent),
            })
            .collect(),
    );
    row(
        format!("Bought, 1000 {money}"),
        case.options()
            .map(|o| spread(&study.capital(o), thousand))
            .collect(),
    );
    row(
        format!("To run, 1000 {money}{mark}"),
        case.options()
            .map(|o| spread(&study.known_running(o), thousand))
            .collect(),
    );
    for (name, kind, unit) in [
        ("Washes", Kind::Washes, AS_IS),
        ("Bags, rolls", Kind::UsedUp, AS_IS),
        ("Wash water", Kind::WashWater, units.water),
        ("Labour, h", Kind::Labour, AS_IS),
    ] {
        let name = if unit.name.is_empty() {
            name.to_owned()
        } else {
            format!("{name}, {}", unit.name)
        };
        row(
            name,
            case.options()
                .map(|o| spread(&study.total(o, kind), unit))
                .collect(),
        );
    }
    for (name, node) in discharges(case) {
        row(
            format!("Solids, {name}, {}", units.mass.name),
            case.options()
                .map(|o| {
                    let paired: Vec<_> = study
                        .paired(o, Kind::SolidsOut)
                        .into_iter()
                        .filter(|of| of.id == node)
                        .collect();
                    let cell = crate::compare::Cell {
                        values: paired
                            .first()
                            .map_or_else(|| vec![0.0; study.runs()], |of| of.values.clone()),
                        missing: paired
                            .first()
                            .and_then(|of| of.missing.clone())
                            .into_iter()
                            .collect(),
                    };
                    spread(&cell, units.mass)
                })
                .collect(),
        );
    }
    if study.options.iter().any(|of| !of.limits.is_empty()) {
        row(
            "Limits (b)".to_owned(),
            study
                .options
                .iter()
                .map(|of| {
                    let count = |outcome| {
                        of.limits
                            .iter()
                            .filter(|limit| limit.outcome == Some(outcome))
                            .count()
                    };
                    format!(
                        "{}, {}, {}",
                        count(Outcome::PredictedWithin),
                        count(Outcome::Undecided),
                        count(Outcome::PredictedOutside)
                    )
                })
                .collect(),
        );
    }
    let mut notes: Vec<String> = Vec::new();
    let left_out = study.left_out_of_known();
    if !left_out.is_empty() {
        notes.push(format!(
            "(a) Without what is not known and the same in every option: {}.",
            left_out.join("; ")
        ));
    }
    if study.options.iter().any(|of| !of.limits.is_empty()) {
        notes.push("(b) Predicted within, undecided, outside.".to_owned());
    }
    if !notes.is_empty() {
        table.note(notes.join(" "));
    }
    table.note(
        "The middle of the draws, in brackets where nine in ten lie. All is computed, for the site as it stands too; nothing here is \
         a record.",
    );
    doc.table(table);
}

/// Discharge points to surface water or land that some option sends solids to: name as printed, and what pairs it.
fn discharges(case: &ComparedCase<'_>) -> Vec<(String, String)> {
    use crate::facility::model::{DischargeKind, PlaceKind};
    case.facility
        .places
        .iter()
        .filter(|place| {
            matches!(&place.kind, PlaceKind::DischargePoint(point)
                if point.kind == DischargeKind::SurfaceWater)
        })
        .filter(|place| {
            case.options().any(|o| {
                case.study
                    .paired(o, Kind::SolidsOut)
                    .iter()
                    .any(|of| of.id == place.name && of.values.iter().any(|v| *v > 0.0))
            })
        })
        .map(|place| (place.name.clone(), place.name.clone()))
        .collect()
}

fn doubts(case: &ComparedCase<'_>) -> Vec<(String, Text)> {
    let mut rows = Vec::new();
    rows.push((
        "The log".to_owned(),
        Text::from(crate::report::sections::compare_doubt::log_words(case)),
    ));
    let mut turning = Vec::new();
    for (option, evens) in (1..).zip(case.break_evens) {
        let near: Vec<String> = evens
            .iter()
            .filter_map(|even| Some((even, even.factor?)))
            .filter(|(_, factor)| (0.5..=2.0).contains(factor))
            .take(2)
            .map(|(even, _)| {
                format!(
                    "{} of {}",
                    even.what.to_lowercase_first(),
                    even.value.clone().unwrap_or_default()
                )
            })
            .collect();
        if !near.is_empty() {
            turning.push(format!("{}: {}", case.short(option), near.join(", ")));
        }
    }
    if turning.is_empty() {
        if case.break_evens.iter().any(|evens| !evens.is_empty()) {
            rows.push((
                "Break-evens".to_owned(),
                Text::from(
                    "Nothing that was varied turns an answer round at half or double of what is typed.",
                ),
            ));
        }
    } else {
        rows.push((
            "Turns round at".to_owned(),
            Text::from(format!("{}.", turning.join("; "))),
        ));
    }
    let driven: Vec<String> = (1..)
        .zip(case.drivers)
        .filter(|(option, _)| case.study.tuned() != Some(*option))
        .filter_map(|(option, list)| {
            let first = list.first()?;
            let key = first
                .key
                .split_once(" / ")
                .map_or(first.key.as_str(), |(_, rest)| rest);
            Some(format!(
                "{}: {}",
                case.short(option),
                key.trim_end_matches(" / price")
            ))
        })
        .collect();
    if !driven.is_empty() {
        rows.push((
            "Most depends on".to_owned(),
            Text::from(format!("{}.", driven.join("; "))),
        ));
    }
    let never = never_changed(case);
    if !never.is_empty() {
        rows.push((
            "Never changed".to_owned(),
            Text::from(format!(
                "{}: nothing coarse enough is followed (slime and algae are not).",
                never.join(", ")
            )),
        ));
    }
    rows
}

/// Filters of proposals whose bags, cartridges or rolls are not changed once.
fn never_changed(case: &ComparedCase<'_>) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    for option in case.options().skip(1) {
        let Some(of) = case.study.options.get(option) else {
            continue;
        };
        for paired in case.study.paired(option, Kind::Changes) {
            if paired.values.iter().any(|v| *v > 0.0) {
                continue;
            }
            if let Some((new, _)) = of
                .alternative
                .renamed
                .iter()
                .find(|(_, old)| *old == paired.id)
                && !out.contains(new)
            {
                out.push(new.clone());
            }
        }
    }
    out
}

trait LowerFirst {
    fn to_lowercase_first(&self) -> String;
}

impl LowerFirst for String {
    fn to_lowercase_first(&self) -> String {
        let mut chars = self.chars();
        chars.next().map_or_else(String::new, |first| {
            first.to_lowercase().chain(chars).collect()
        })
    }
}
