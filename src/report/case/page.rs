//! Page 1 of the case: the answer for each proposal, with its doubt, for whoever must decide.

use crate::compare::prices::RateIs;
use crate::compare::{Answer, Cell, Kind, Measure, Paired, Verdict};
use crate::facility::model::{DischargeKind, PlaceKind};
use crate::page::document::{Document, Text, figures};
use crate::report::case::at_log;
use crate::report::case::beside::Beside;
use crate::report::case::limits as compare_limits;
use crate::report::case::money::{bought, paid_back};
use crate::report::case::verdict::{against, answer_row, verdict_words};
use crate::report::case::{AS_IS, ComparedCase, digits, one_form, shown, three, units};
use crate::report::cautions;
use crate::told::path_in_words;

/// Writes page 1.
pub fn write(case: &ComparedCase<'_>, doc: &mut Document) {
    head(case, doc);
    doc.heading(2, "The answer");
    match no_verdict(case) {
        Some(text) => doc.paragraph(text),
        None => doc.definitions(answers(case)),
    };
    if let Some(text) = compare_limits::page_one(case) {
        doc.paragraph(text);
    }
    side_by_side(case, doc);
    doc.heading(2, "How far to believe it");
    crate::report::case::doubt::in_short(case, doc);
    let mut rows = at_log::rows(case);
    rows.extend(at_log::seen(case));
    rows.extend(doubts(case));
    doc.definitions(rows);
    let short = cautions::short(&match case.authority {
        Some(authority) if !authority.to_lowercase().starts_with("the ") => {
            format!("the {authority}")
        }
        Some(authority) => authority.to_owned(),
        None => "the permitting authority".to_owned(),
    });
    doc.margin(vec![("Who decides".to_owned(), Text::from(short))]);
}

fn head(case: &ComparedCase<'_>, doc: &mut Document) {
    let prices = &case.study.prices;
    let draws = case.study.draws.len().saturating_sub(1);
    doc.permit_line(
        "Compared",
        format!(
            "{} with the site as it stands: same weather, same water to the uses, {} draws",
            counted(case.study.options.len().saturating_sub(1), "proposal"),
            figures::number(draws as f64, 0)
        ),
    );
    let (all, invented) = crate::report::case::money::invented(case);
    let mut words = format!(
        "{}, {} over {} years at {}",
        prices.place.file,
        prices.money,
        prices.years,
        rate_words(prices.discount)
    );
    words.push_str(match prices.rate_is {
        Some(RateIs::Real) => " (real)",
        Some(RateIs::Nominal) => " (nominal)",
        None => " (not said whether real or nominal)",
    });
    if !prices.rises.text.is_empty() {
        words.push_str(&format!(", prices rising a year: {}", prices.rises.text.join(", ")));
    }
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
    if n == 1 { format!("1 {word}") } else { format!("{n} {word}s") }
}

/// Why there is no verdict for any option, told once; none where there is one for some.
fn no_verdict(case: &ComparedCase<'_>) -> Option<Text> {
    const MOST: usize = 4;
    let mut reasons: Vec<String> = Vec::new();
    for option in case.options().skip(1) {
        // What breaks a limit is told in a line of its own.
        let Verdict::None(why) = case.study.verdict(option, 0) else { return None };
        // A no is told as one.
        if case.study.answer(option) == Answer::No {
            return None;
        }
        for why in why {
            // Told of all of them at once, `it` has to be named.
            let why = match why.strip_prefix("it ") {
                Some(rest) => format!("{} {rest}", case.short(option)),
                None => why,
            };
            if !reasons.contains(&why) {
                reasons.push(why);
            }
        }
    }
    let pump = reasons.iter().any(|reason| reason.starts_with("no pump"));
    let more = reasons.len().saturating_sub(MOST);
    let told: Vec<String> = reasons.iter().take(MOST).map(|reason| format!("{}.", first_capital(reason))).collect();
    let mut text = Text::new().bold("No verdict yet for any of them. ").plain(told.join(" "));
    if pump {
        text = text.plain(" (Pumps are typed under `pumps` in prices.yaml; `head: 0 ft` where water runs by itself.)");
    }
    if more > 0 {
        text = text.plain(format!(" And {more} more."));
    }
    Some(text)
}

/// The verdict of each option; those of which the same is said, together.
fn answers(case: &ComparedCase<'_>) -> Vec<(String, Text)> {
    let mut rows: Vec<(String, Text)> = Vec::new();
    for option in case.options().skip(1) {
        let (name, text) = (case.short(option), answer(case, option));
        match rows.iter_mut().find(|(_, known)| *known == text) {
            Some((names, _)) => *names = format!("{names}; {name}"),
            None => rows.push((name, text)),
        }
    }
    rows
}

/// The verdict of an option in words, bold first.
fn answer(case: &ComparedCase<'_>, option: usize) -> Text {
    let study = case.study;
    let tuned = study.tuned();
    let mut text = verdict_words(case, option);
    let tuned_name = tuned.map_or_else(String::new, |tuned| case.short(tuned));
    if let Some(tuned) = tuned.filter(|tuned| *tuned != option && !study.changes_nothing(option))
        && !matches!(study.verdict(option, 0).in_money(), Verdict::None(_))
    {
        // Where the tuned site has no verdict itself, its own line says why, once.
        let words = match study.verdict(tuned, 0).in_money() {
            Verdict::None(_) => "no verdict, as that has none itself".to_owned(),
            _ => against(case, option, tuned),
        };
        text = text.plain(format!(" Against {}: {words}.", tuned_name.to_lowercase_first()));
    }
    if let Some(words) = compare_limits::changes(case, option) {
        text = text.plain(format!(" {words}"));
    }
    text
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
    chars.next().map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}

/// What a decider weighs first, a row each; the rest stands on the pages that follow.
fn side_by_side(case: &ComparedCase<'_>, doc: &mut Document) {
    let study = case.study;
    let units = units(case);
    let money = &study.prices.money;
    let left_out = study.left_out_of_known();
    let mark = if left_out.is_empty() { "" } else { " (a)" };
    let each = |of: &dyn Fn(usize) -> Cell| case.options().skip(1).map(of).collect::<Vec<_>>();
    let mut rows = Beside::new(case, 0.5).brief();
    let (name, cells) = answer_row(case);
    rows.words(name, cells);
    let limits: Vec<Option<String>> = case.options().map(|option| compare_limits::counted(case, option)).collect();
    if limits.iter().any(Option::is_some) {
        let cells = limits.into_iter().map(|words| words.unwrap_or_else(|| "not computed".to_owned())).collect();
        rows.words("Limits, predicted", cells);
    }
    if let Some(cells) = paid_back(case) {
        rows.words("Paid back", cells);
    }
    rows.line(
        format!("{} years, {money}{mark}", study.prices.years),
        AS_IS,
        study.known_present(0),
        each(&|o| study.present_more(o, 0)),
    );
    rows.roughly();
    if let Some(at_log) = case.at_log {
        let cell = |value: Option<f64>| Cell {
            values: vec![value.unwrap_or(0.0); study.runs()],
            missing: if value.is_none() { vec!["the money at the log is not known".to_owned()] } else { Vec::new() },
            ..Cell::default()
        };
        let more = at_log.more.iter().map(|more| cell(*more)).collect();
        rows.line(format!("The same, washed as logged, {money}"), AS_IS, cell(at_log.now), more);
        rows.roughly();
    }
    bought(case, &mut rows, &format!(", {money}"));
    rows.line(
        format!("To run, {money} a year{mark}"),
        AS_IS,
        study.known_running(0),
        each(&|o| study.running_more(o, 0)),
    );
    rows.roughly();
    rows.line(
        format!("Wash water, {}", units.water.name),
        units.water,
        study.known_total(0, Kind::WashWater),
        each(&|o| study.more(o, 0, Kind::WashWater)),
    );
    let supplies = supplies(case);
    rows.paired(format!("Water drawn, {}", units.water.name), units.water, |o| {
        named(case, o, Kind::CameIn, |id| supplies.iter().any(|s| s == id))
    });
    for name in discharges(case) {
        for (what, kind, unit) in [("Water", Kind::WentOut, units.water), ("Solids", Kind::SolidsOut, units.mass)] {
            rows.paired(format!("{what} to {name}, {}", unit.name), unit, |o| named(case, o, kind, |id| id == name));
            rows.roughly();
        }
    }
    let (table, mut notes) = rows.table("", "Side by side, a year");
    if !left_out.is_empty() {
        notes.push("(a) Without what is not known and the same in every option (see “Money”).".to_owned());
    }
    notes.insert(
        0,
        "Medians of the draws, money at today’s worth; nine draws in ten lie in the range in brackets. All is computed.".to_owned(),
    );
    notes.extend(at_log::made_to_repeat(case));
    notes.extend(solids_not_shown(case));
    match table {
        Some(mut table) => {
            table.note(notes.join(" "));
            doc.table(table);
        }
        None => {
            doc.paragraph(notes.join(" "));
        }
    }
}

/// Where the pounds that go out are not shown to be so, as samples there have clearly more or less than is computed.
fn solids_not_shown(case: &ComparedCase<'_>) -> Vec<String> {
    let places = discharges(case);
    let things = case.study.repeated.things.iter().filter(|of| of.measure == Measure::Solids && !of.explained);
    things
        .filter_map(|of| {
            let name = places.iter().find(|name| of.what.ends_with(name.as_str()))?;
            let (sampled, computed) = of.whole.first()?;
            Some(format!(
                "Solids to {name} are no figure to go by: samples there have {} mg/L on average, and {} are computed on the same days.",
                in_mg_l(*sampled),
                in_mg_l(*computed)
            ))
        })
        .collect()
}

/// kg/m³ as mg/L, as the table below has it.
fn in_mg_l(kg_m3: f64) -> String {
    let value = three(1000.0 * kg_m3);
    if value == value.round() { shown(value) } else { figures::number(value, digits(value).min(1)) }
}

/// An option's figures of a kind over the places that are meant.
fn named(case: &ComparedCase<'_>, option: usize, kind: Kind, is_meant: impl Fn(&str) -> bool) -> Vec<Paired> {
    case.study.paired(option, kind).into_iter().filter(|of| is_meant(&of.id)).collect()
}

/// Reasons in one line; those that begin alike are told together.
pub fn gathered(reasons: &[String]) -> String {
    const PUMP: &str = "no pump is typed for the water to ";
    let places: Vec<&str> = reasons.iter().filter_map(|reason| reason.strip_prefix(PUMP)).collect();
    let mut out: Vec<String> = reasons.iter().filter(|reason| !reason.starts_with(PUMP)).cloned().collect();
    if !places.is_empty() {
        out.push(format!("{PUMP}{}", places.join(", ")));
    }
    out.join("; ")
}

/// Supplies of the site as it stands.
fn supplies(case: &ComparedCase<'_>) -> Vec<String> {
    case.facility
        .places
        .iter()
        .filter(|place| matches!(place.kind, PlaceKind::Supply(_)))
        .map(|place| place.name.clone())
        .collect()
}

/// Discharge points to surface water that some option sends solids to.
fn discharges(case: &ComparedCase<'_>) -> Vec<String> {
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
        .map(|place| place.name.clone())
        .collect()
}

fn doubts(case: &ComparedCase<'_>) -> Vec<(String, Text)> {
    let mut rows = Vec::new();
    let mut turning = Vec::new();
    for (option, evens) in (1..).zip(case.break_evens) {
        let mut near: Vec<_> = evens
            .iter()
            .filter_map(|even| Some((even, even.factor?)))
            .filter(|(even, factor)| (0.5..=2.0).contains(factor) && !even.changes_nothing())
            .collect();
        // The smallest change that turns the answer round comes first, whichever way it goes.
        near.sort_by(|a, b| a.1.ln().abs().total_cmp(&b.1.ln().abs()));
        let near: Vec<String> = near
            .into_iter()
            .take(2)
            .map(|(even, _)| {
                let value = one_form(&even.value.clone().unwrap_or_default());
                let what = even.what.to_lowercase_first();
                match (what.split_once(' '), what.strip_prefix("life of ").and_then(|of| of.split_once(", "))) {
                    (Some(("solids", _)), _) => value.replace("what is typed", "the solids everywhere on the site"),
                    (_, Some((piece, name))) => format!("{piece} of {name} that lasts {value}"),
                    (Some(("washes", _)), _) => format!("{what} of {value} ({})", one_form(&even.typed)),
                    _ => format!("a {what} of {value} (typed: {})", one_form(&even.typed)),
                }
            })
            .collect();
        if !near.is_empty() {
            turning.push(format!("{} would cost the same as now at {}", case.short(option), near.join(", or at ")));
        }
    }
    if turning.is_empty() {
        if case.break_evens.iter().any(|evens| !evens.is_empty()) {
            rows.push((
                "What turns it".to_owned(),
                Text::from("Nothing that was varied turns an answer round at half or double of what is typed."),
            ));
        }
    } else {
        rows.push(("What turns it".to_owned(), Text::from(format!("{}.", turning.join("; ")))));
    }
    let driven: Vec<String> = (1..)
        .zip(case.drivers)
        .filter(|(option, _)| case.study.tuned() != Some(*option))
        .filter_map(|(option, list)| Some(format!("{}: {}", case.short(option), key_words(&list.first()?.key))))
        .collect();
    if !driven.is_empty() {
        rows.push(("It rests most on".to_owned(), Text::from(format!("{}.", driven.join("; ")))));
    }
    if case.study.prices.rate_is == Some(RateIs::Nominal) && case.study.prices.rises.text.is_empty() {
        rows.push((
            "The rate".to_owned(),
            Text::from(
                "It is nominal, and no price rises: what is run in later years counts too little. Type `prices rise`, or a real rate.",
            ),
        ));
    }
    let free: Vec<String> =
        case.options().skip(1).filter(|option| buys_nothing(case, *option)).map(|o| case.short(o)).collect();
    if !free.is_empty() {
        rows.push((
            "Buys nothing".to_owned(),
            Text::from(format!(
                "{}: new on the site, and nothing is listed under `pays once` or `pays regularly`.",
                free.join(", ")
            )),
        ));
    }
    let open = without_capacity(case);
    if !open.is_empty() {
        rows.push((
            "Not looked at".to_owned(),
            Text::from(format!(
                "How much {} can pass at once: no `handles at most` is typed, so that any flow goes through in these figures.",
                open.join(", ")
            )),
        ));
    }
    let hardly = hardly_changed(case);
    if !hardly.is_empty() {
        rows.push((
            "Hardly used up".to_owned(),
            Text::from(format!(
                "{}: changed less than twice a year in the computation. It follows grit, not slime and algae; if you change them \
                 oftener, say so (`changed: {{…, or every: 14 days}}`) before you believe the answer.",
                hardly.join(", ")
            )),
        ));
    }
    if case.study.options.iter().all(|of| of.limits.is_empty()) {
        rows.push((
            "The limits".to_owned(),
            Text::from("There is no rules file, so no option was held against a limit."),
        ));
    }
    rows
}

/// Filters that only a proposal has and of which nobody typed how much they can pass at once.
fn without_capacity(case: &ComparedCase<'_>) -> Vec<String> {
    let Some((first, options)) = case.study.options.split_first() else { return Vec::new() };
    let mut out: Vec<String> = Vec::new();
    for of in options {
        for place in &of.alternative.facility.places {
            let is_known = first.alternative.facility.find(&place.name).is_some()
                || of.alternative.only_renamed.contains(&place.name);
            let is_open = matches!(&place.kind, PlaceKind::Filter(filter) if filter.handles_at_most.is_none());
            if is_open && !is_known && !out.contains(&place.name) {
                out.push(place.name.clone());
            }
        }
    }
    out
}

/// Whether an option has something that the site has not, and pays for none of it.
fn buys_nothing(case: &ComparedCase<'_>, option: usize) -> bool {
    let (Some(first), Some(of)) = (case.study.options.first(), case.study.options.get(option)) else { return false };
    let of = &of.alternative;
    let known = |name: &str| first.alternative.facility.places.iter().any(|place| place.name == name);
    let new = of.facility.places.iter().any(|place| !known(&place.name) && !of.only_renamed.contains(&place.name));
    new && of.pays_once.is_empty() && of.pays_regularly.is_empty()
}

/// A key of a file in words: `the price of Cloth roll`, `Container yard: solids, yard silt`.
fn key_words(key: &str) -> String {
    let parts: Vec<&str> = key.split(" / ").collect();
    match parts.as_slice() {
        [_, name, "price"] => format!("the price of {name}"),
        _ => path_in_words(key),
    }
}

/// Filters, of the site as it stands too, whose bags, cartridges or rolls are hardly ever changed in some option.
fn hardly_changed(case: &ComparedCase<'_>) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    for of in &case.study.options {
        for (at, quantity) in of.quantities.list.iter().enumerate() {
            if quantity.kind != Kind::Changes || quantity.missing.is_some() {
                continue;
            }
            let often = of.amounts.iter().any(|run| run.get(at).is_some_and(|changes| *changes >= 2.0));
            if !often && !out.contains(&quantity.name) {
                out.push(quantity.name.clone());
            }
        }
    }
    out
}

/// A sentence's first letter as a small one.
pub trait LowerFirst {
    /// The words with a small first letter.
    fn to_lowercase_first(&self) -> String;
}

impl LowerFirst for str {
    fn to_lowercase_first(&self) -> String {
        let mut chars = self.chars();
        chars.next().map_or_else(String::new, |first| first.to_lowercase().chain(chars).collect())
    }
}
