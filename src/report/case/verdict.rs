//! The words of a verdict: what an option costs more or saves, with its range, and why there is no verdict where there is
//! none.

use crate::compare::{HARDLY, Spread, Verdict, Worse};
use crate::page::document::{Text, figures};
use crate::report::case::money::pays_back;
use crate::report::case::page::{first_capital, percent};
use crate::report::case::{ComparedCase, one_form, shown};

/// The words of an option's verdict against another: what breaks a limit stands before its money.
pub fn verdict_words(case: &ComparedCase<'_>, option: usize, than: usize) -> Text {
    let found = case.study.verdict(option, than);
    match found.worse() {
        [] => {
            let text = money_words(case, option, than, true);
            match (found.in_money(), stays_outside(case, option, than)) {
                (Verdict::Saves(_), Some(limits)) => {
                    let other = if than == 0 { "the site" } else { "that" };
                    text.plain(format!(" It stays outside of {limits}, as {other} is."))
                }
                _ => text,
            }
        }
        limits => {
            let no = limits.iter().any(Worse::is_outside);
            let told: Vec<String> = limits.iter().map(|of| of.words(&one_form)).collect();
            let text = Text::new().bold(format!("{}: {}. ", if no { "No" } else { "Not decided" }, told.join("; ")));
            let money = money_words(case, option, than, false);
            let lead = if matches!(found.in_money(), Verdict::None(_)) { "Besides: " } else { "In money alone: " };
            money.runs.into_iter().fold(text.plain(lead), |text, run| text.plain(run.text))
        }
    }
}

/// The limits that an option is predicted outside of as the other is: its money says nothing of them.
fn stays_outside(case: &ComparedCase<'_>, option: usize, than: usize) -> Option<String> {
    let limits = case.study.stays_outside(option, than);
    let told = limits.iter().map(|of| format!("{} ({}: {})", of.name, one_form(&of.bound), one_form(&of.figure)));
    (!limits.is_empty()).then(|| told.collect::<Vec<_>>().join("; "))
}

/// Why an option is no answer, whatever it saves; none where it may be one.
pub fn refused_for(case: &ComparedCase<'_>, option: usize) -> Option<&'static str> {
    let limit = case.study.worse_limits(option, 0).iter().any(Worse::is_outside);
    let service = case.study.service.iter().any(|of| of.option == option && !of.differences.is_empty());
    match (limit, service) {
        (true, true) => Some("limit, service"),
        (true, false) => Some("limit"),
        (false, true) => Some("service"),
        (false, false) => None,
    }
}

/// A row that says of each option whether it is an answer; the site as it stands has none.
pub fn answer_row(case: &ComparedCase<'_>) -> (String, Vec<String>) {
    let cells = case.options().map(|option| if option == 0 { "–".to_owned() } else { in_a_word(case, option) });
    ("An answer".to_owned(), cells.collect())
}

/// `yes`, `no (limit)`, `not decided`.
pub fn in_a_word(case: &ComparedCase<'_>, option: usize) -> String {
    if let Some(why) = refused_for(case, option) {
        return format!("no ({why})");
    }
    match case.study.verdict(option, 0) {
        Verdict::Worse(..) => "not decided (limit)",
        Verdict::None(_) | Verdict::Open(_) => "not decided",
        Verdict::Same | Verdict::Hardly(_) => "no (no gain)",
        Verdict::Saves(_) => {
            let but = stays_outside(case, option, 0).is_some() || !case.study.nearly_kept(option, 0).is_empty();
            match (but, case.study.takes_for_granted(option).is_some()) {
                (true, true) => "yes, if; but (limit)",
                (true, false) => "yes, but (limit)",
                (false, true) => "yes, if",
                (false, false) => "yes",
            }
        }
        Verdict::Costs(_) => "no (cost)",
    }
    .to_owned()
}

/// What an option comes to in money; `is_all` says that no limit stands against it.
fn money_words(case: &ComparedCase<'_>, option: usize, than: usize, is_all: bool) -> Text {
    let study = case.study;
    let years = study.prices.years;
    let money = study.present_more(option, than);
    let range = money.spread();
    let verdict = study.verdict(option, than);
    let found = verdict.in_money().clone();
    let granted = study.takes_for_granted(option).filter(|_| !matches!(found, Verdict::None(_) | Verdict::Same));
    let only_if = granted.as_ref().filter(|_| matches!(found, Verdict::Saves(_)));
    let is_said = only_if.is_some();
    let text = match found {
        Verdict::None(why) => {
            let mut text = Text::new().bold("No verdict. ");
            for reason in why.iter().take(3) {
                text = text.plain(format!("{}. ", first_capital(reason)));
            }
            if why.iter().take(3).any(|reason| reason.starts_with("no pump")) {
                text = text.plain("(Type it under `pumps` in prices.yaml; `head: 0 ft` where water runs by itself.) ");
            }
            if why.len() > 3 {
                text = text.plain(format!("And {} more.", why.len() - 3));
            }
            text
        }
        Verdict::Same => Text::new().bold("It costs the same in every draw."),
        Verdict::Hardly(_) => Text::new().bold("Hardly any difference in money. ").plain(format!(
            "{} over {years} years, worth today: less than {} % of what the site costs anyhow.",
            match range {
                Some(of) if of.low >= 0.0 => format!("It costs {} more{}", middle(case, range), ends(range, false)),
                Some(of) if of.high <= 0.0 => format!("It saves {}{}", middle(case, range), ends(range, true)),
                Some(of) => first_capital(&between(case, of)),
                None => String::new(),
            },
            shown(HARDLY * 100.0),
        )),
        Verdict::Saves(share) => Text::new()
            .bold({
                let but = study.nearly_kept(option, than);
                let but = if but.is_empty() { String::new() } else { format!(", but {}", but.join(" and ")) };
                match only_if {
                    Some(granted) if is_all => {
                        format!("Yes{but}, if {granted}, which nobody has shown: it saves {}", middle(case, range))
                    }
                    Some(granted) => format!("if {granted}, which nobody has shown, it saves {}", middle(case, range)),
                    None if is_all => format!("Yes{but}: it saves {}", middle(case, range)),
                    None => format!("it saves {}", middle(case, range)),
                }
            })
            .plain(format!(
                "{} over {years} years, worth today; it saves in {} of the draws.{}{}",
                ends(range, true),
                percent(share),
                with_the_most_sampled(case, option, range).filter(|_| than == 0).unwrap_or_default(),
                pays_back(case, option)
                    .filter(|_| than == 0)
                    .map_or_else(String::new, |year| format!(" What it pays at the start is back in year {year}."))
            )),
        Verdict::Costs(share) => Text::new()
            .bold(format!("{}it costs {} more", if is_all { "No: " } else { "" }, middle(case, range)))
            .plain(format!(
                "{} over {years} years, worth today; it saves in {} of the draws.",
                ends(range, false),
                percent(share)
            )),
        Verdict::Worse(..) => Text::new(),
        Verdict::Open(share) => Text::new().bold("Not decided by what is known. ").plain(format!(
            "It saves in {} of the draws: {} over {years} years, worth today.",
            percent(share),
            range.map_or_else(String::new, |range| between(case, range)),
        )),
    };
    match granted.filter(|_| !is_said) {
        Some(granted) => text.plain(format!(" All that only if {granted}, which nobody has shown.")),
        None => text,
    }
}

/// What it saves with solids as at the furthest sample, where that is another sum.
fn with_the_most_sampled(case: &ComparedCase<'_>, option: usize, range: Option<Spread>) -> Option<String> {
    let (words, more) = case.study.at_the_most_sampled(option)?;
    let saved = with_money(case, -more);
    (saved != middle(case, range)).then(|| format!(" With solids as {words}, all year, it saves {saved}."))
}

/// `from 1 200 USD less to 3 400 USD more`.
fn between(case: &ComparedCase<'_>, range: Spread) -> String {
    // What is next to nothing beside the other end is nothing.
    let most = range.low.abs().max(range.high.abs());
    let one = |value: f64| {
        if value.abs() < 0.01 * most { "the same".to_owned() } else { signed(case, value) }
    };
    format!("from {} to {}", one(range.low), one(range.high))
}

/// `1 200 USD less`.
pub fn signed(case: &ComparedCase<'_>, value: f64) -> String {
    format!("{} {}", with_money(case, value.abs()), if value < 0.0 { "less" } else { "more" })
}

/// `52 000 USD`, whichever way it goes.
fn middle(case: &ComparedCase<'_>, range: Option<Spread>) -> String {
    with_money(case, range.map_or(0.0, |of| of.median.abs()))
}

/// ` (41 000 to 60 000)`; savings with their sign turned; nothing where the ends are one.
fn ends(range: Option<Spread>, saved: bool) -> String {
    let Some(range) = range.filter(|of| of.low < of.high) else {
        return String::new();
    };
    let (low, high) = if saved { (-range.high, -range.low) } else { (range.low, range.high) };
    let (low, high) = (two(low), two(high));
    if low == high { String::new() } else { format!(" ({low}{tie}to{tie}{high})", tie = figures::TIE) }
}

/// A figure of two digits: no sum over years to come is known better.
fn two(value: f64) -> String {
    if value == 0.0 || !value.is_finite() {
        return shown(value);
    }
    let step = 10_f64.powf(value.abs().log10().floor() - 1.0);
    shown((value / step).round() * step)
}

/// A sum of money of two digits with its name.
pub fn with_money(case: &ComparedCase<'_>, value: f64) -> String {
    format!("{}{}{}", two(value), figures::TIE, case.study.prices.money)
}

/// An option against another, in few words.
pub fn against(case: &ComparedCase<'_>, option: usize, than: usize) -> String {
    let study = case.study;
    let median = study.present_more(option, than).spread().map_or(0.0, |range| range.median);
    let verdict = study.verdict(option, than);
    let words = match verdict.in_money().clone() {
        Verdict::Worse(..) => String::new(),
        Verdict::None(why) => return format!("no verdict ({})", why.first().cloned().unwrap_or_default()),
        Verdict::Same => "the same".to_owned(),
        Verdict::Hardly(_) => format!("hardly any difference ({})", signed(case, median)),
        Verdict::Saves(_) => format!("{} less", with_money(case, -median)),
        Verdict::Costs(_) => format!("{} more", with_money(case, median)),
        Verdict::Open(share) => format!("not decided; it saves in {} of the draws", percent(share)),
    };
    let words = match study.takes_for_granted(than) {
        Some(_) => format!("{words}, if that holds what it rests on"),
        None => words,
    };
    // What is worse than the site as it stands too has been told.
    let told: Vec<String> = study.worse_limits(option, 0).into_iter().map(|of| of.with.name).collect();
    let names: Vec<&str> = verdict
        .worse()
        .iter()
        .map(|of| of.with.name.as_str())
        .filter(|name| !told.iter().any(|of| of == name))
        .collect();
    if names.is_empty() { words } else { format!("{words}, and worse by {}", names.join(", ")) }
}
