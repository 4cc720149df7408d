//! The words of a verdict: what an option costs more or saves, with its range, and why there is no verdict where there is
//! none.

use crate::compare::{Answer, AsSampled, HARDLY, PAYS_ONLY, Predicted, Spread, Verdict, Worse};
use crate::page::document::{Text, figures};
use crate::report::case::money::pays_back;
use crate::report::case::page::{first_capital, percent};
use crate::report::case::{ComparedCase, one_form, shown};

/// The words of an option's verdict against the site as it stands: what breaks a limit, or is not served, stands before its money.
pub fn verdict_words(case: &ComparedCase<'_>, option: usize) -> Text {
    let study = case.study;
    if study.changes_nothing(option) {
        let is_tuned = study.options.get(option).is_some_and(|of| of.alternative.tuned);
        let tuned = " It says `tuned: yes` all the same, so the site was compared at its best only if there is nothing to better.";
        return Text::new().bold("It changes nothing: ").plain(format!(
            "water, solids, money and limits are those of the site as it stands, in every draw.{}",
            if is_tuned { tuned } else { "" }
        ));
    }
    let found = study.verdict(option, 0);
    let money = found.in_money();
    let stays =
        study.stays_words(option, 0, &|of| format!("{} ({}: {})", of.name, one_form(&of.bound), one_form(&of.figure)));
    let limits: Vec<String> = found.worse().iter().map(|of| of.words(&one_form)).collect();
    let not_served = study.not_served(option);
    let answer = study.answer(option);
    let mut reasons = limits.clone();
    let lead = match answer {
        Answer::No if found.worse().iter().any(Worse::is_outside) || !not_served.is_empty() => {
            let (outside, open): (Vec<&Worse>, Vec<&Worse>) = found.worse().iter().partition(|of| of.is_outside());
            let words = |of: &[&Worse]| of.iter().map(|of| of.words(&one_form)).collect::<Vec<_>>();
            reasons = words(&outside);
            reasons.extend(served_otherwise(&not_served));
            // What is not known is no reason, and stands behind those.
            reasons.extend(words(&open).into_iter().take(1).map(|of| format!("not decided: {of}")));
            reasons.extend(words(&open).into_iter().skip(1));
            "No"
        }
        Answer::DoesNotComply(pays) => {
            let open =
                if reasons.is_empty() { String::new() } else { format!("; not decided: {}", reasons.join("; ")) };
            let behind: String = study.nearly_kept(option, 0).iter().map(|of| format!("; {of}")).collect();
            reasons = vec![format!("it {}{behind}{open}", stays.clone().unwrap_or_default())];
            if pays { PAYS_ONLY } else { "does not comply" }
        }
        Answer::NotDecided if !reasons.is_empty() => "Not decided",
        _ => {
            let text = money_words(case, option, true);
            let text = match stays {
                Some(stays) => text.plain(format!(" It {stays}.")),
                None => text,
            };
            // Money says no, and what is not known of limits stands behind it.
            return match limits.as_slice() {
                [] => text,
                limits => text.plain(format!(" Besides, it is not known to keep its limits: {}.", limits.join("; "))),
            };
        }
    };
    if let (Answer::No, Some(stays)) = (answer, &stays) {
        let told = |of: &Predicted| found.worse().iter().any(|worse| worse.with.name == of.name);
        if study.stays_outside(option, 0).into_iter().any(|of| !told(of)) {
            reasons.push(format!("it {stays}"));
        }
    }
    let text = Text::new().bold(format!("{}: {}. ", first_capital(lead), reasons.join("; ")));
    let money = match money {
        // A no needs no second reason for which its money is not told.
        Verdict::None(_) if answer == Answer::No => return text,
        Verdict::None(why) => Text::new().plain(format!("Nor is its money told: {}.", why_none(why))),
        _ => money_words(case, option, false),
    };
    let lead = match found.in_money() {
        Verdict::None(_) => "",
        _ if matches!(answer, Answer::DoesNotComply(true)) => "",
        _ => "In money alone: ",
    };
    let mut words: String = money.runs.into_iter().map(|run| run.text).collect();
    if lead.is_empty() {
        words = first_capital(&words);
    }
    text.plain(format!("{lead}{words}"))
}

/// Why the uses are not served alike, each use named once: `it does not serve Benches alike: …; …`.
fn served_otherwise(why: &[&str]) -> Vec<String> {
    let mut told: Vec<(&str, Vec<&str>)> = Vec::new();
    for words in why {
        let (who, what) = words.split_once(": ").unwrap_or((words, ""));
        match told.iter_mut().find(|(known, _)| *known == who) {
            Some((_, all)) => all.push(what),
            None => told.push((who, vec![what])),
        }
    }
    let one = |(who, all): (&str, Vec<&str>)| match all.join(", and ") {
        none if none.is_empty() => who.to_owned(),
        all => format!("{who}: {all}"),
    };
    told.into_iter().map(one).collect()
}

/// Why an option is no answer, whatever it saves; none where it may be one.
pub fn refused_for(case: &ComparedCase<'_>, option: usize) -> Option<&'static str> {
    let limit = case.study.worse_limits(option, 0).iter().any(Worse::is_outside);
    let service = !case.study.not_served(option).is_empty();
    match (limit, service) {
        (true, true) => Some("limit, service"),
        (true, false) => Some("limit"),
        (false, true) => Some("service"),
        (false, false) => None,
    }
}

/// What stands beside an option's money wherever that is told: why it is no answer, or that it does not comply.
pub fn marked(case: &ComparedCase<'_>, option: usize) -> Option<String> {
    match (refused_for(case, option), case.study.answer(option)) {
        (Some(why), _) => Some(format!("no ({why})")),
        (None, Answer::DoesNotComply(_)) => Some("does not comply".to_owned()),
        _ => None,
    }
}

/// A row that says of each option whether it is an answer; the site as it stands has none.
pub fn answer_row(case: &ComparedCase<'_>) -> (String, Vec<String>) {
    let cells = case.options().map(|option| if option == 0 { "–".to_owned() } else { in_a_word(case, option) });
    ("An answer".to_owned(), cells.collect())
}

/// `yes`, `no (limit)`, `not decided`.
pub fn in_a_word(case: &ComparedCase<'_>, option: usize) -> String {
    let study = case.study;
    let verdict = study.verdict(option, 0);
    let words = match study.answer(option) {
        _ if study.changes_nothing(option) => "changes nothing",
        Answer::No => match (refused_for(case, option), verdict.in_money()) {
            (Some(why), _) => return format!("no ({why})"),
            (None, Verdict::Costs(_)) => "no (cost)",
            (None, _) => "no (no gain)",
        },
        Answer::DoesNotComply(true) => PAYS_ONLY,
        Answer::DoesNotComply(false) => "does not comply",
        Answer::NotDecided if !verdict.worse().is_empty() => "not decided (limit)",
        Answer::NotDecided => "not decided",
        Answer::YesIf => match (!study.nearly_kept(option, 0).is_empty(), study.takes_for_granted(option).is_some()) {
            (true, true) => "yes, if; but (limit)",
            (true, false) => "yes, but (limit)",
            _ => "yes, if",
        },
        Answer::Yes => "yes",
    };
    words.to_owned()
}

/// Why there is no verdict in money, the first reasons as sentences but for the last full stop.
fn why_none(why: &[String]) -> String {
    const MOST: usize = 3;
    let mut told: Vec<String> = why.iter().take(MOST).cloned().collect();
    if told.iter().any(|reason| reason.starts_with("no pump")) {
        told.push("type pumps under `pumps` in prices.yaml, `head: 0 ft` where water runs by itself".to_owned());
    }
    if why.len() > MOST {
        told.push(format!("and {} more", why.len() - MOST));
    }
    told.join("; ")
}

/// What an option comes to in money against the site as it stands; `is_all` says that no limit stands against it.
fn money_words(case: &ComparedCase<'_>, option: usize, is_all: bool) -> Text {
    let study = case.study;
    let years = study.prices.years;
    let money = study.present_more(option, 0);
    let range = money.spread();
    let verdict = study.verdict(option, 0);
    let found = verdict.in_money().clone();
    let granted = study.takes_for_granted(option).filter(|_| !matches!(found, Verdict::None(_) | Verdict::Same));
    let only_if = granted.as_ref().filter(|_| matches!(found, Verdict::Saves(_)));
    let is_said = only_if.is_some();
    let text = match found {
        Verdict::None(why) => Text::new().bold("No verdict. ").plain(format!("{}. ", first_capital(&why_none(&why)))),
        Verdict::Same => Text::new().bold("It costs the same in every draw."),
        Verdict::Hardly(_) => Text::new().bold("Hardly any difference in money. ").plain(format!(
            "{} over {years} years, worth today: less than {} % of what the site costs anyhow.",
            match range {
                Some(of) if is_nothing(of.low) && is_nothing(of.high) => "It costs the same".to_owned(),
                Some(of) if of.low >= 0.0 => format!("It costs {} more{}", middle(case, range), ends(range, false)),
                Some(of) if of.high <= 0.0 => format!("It saves {}{}", middle(case, range), ends(range, true)),
                Some(of) => first_capital(&between(case, of)),
                None => String::new(),
            },
            shown(HARDLY * 100.0),
        )),
        Verdict::Saves(share) => {
            let but = study.nearly_kept(option, 0);
            let but = if but.is_empty() { String::new() } else { format!(", but {}", but.join(" and ")) };
            let saves = format!("it saves {}", middle(case, range));
            let back = pays_back(case, option).map(|year| format!("what it pays at the start is back in year {year}"));
            // When it is back goes by the solids as computed, so it stands first.
            let more: Vec<String> = back.into_iter().chain(as_sampled(case, option, range)).collect();
            // What follows stands under the same condition.
            let so = if is_said && !more.is_empty() { "on that condition " } else { "" };
            let more = match first_capital(&format!("{so}{}", more.join("; "))) {
                none if none.is_empty() => none,
                words => format!(" {words}."),
            };
            Text::new()
                .bold(match only_if {
                    Some(granted) if is_all => format!("Yes{but}, if {granted}, which nobody has shown: {saves}"),
                    Some(granted) => format!("if {granted}, which nobody has shown, {saves}"),
                    None if is_all => format!("Yes{but}: {saves}"),
                    None => saves,
                })
                .plain(format!(
                    "{} over {years} years, worth today; it saves in {} of the draws.{more}",
                    ends(range, true),
                    percent(share),
                ))
        }
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
        Some(granted) => text.plain(format!(" All this holds only if {granted}, which nobody has shown.")),
        None => text,
    }
}

/// What it saves with as many solids as a month's samples have on average, where that is far off and over a tenth another sum.
fn as_sampled(case: &ComparedCase<'_>, option: usize, range: Option<Spread>) -> Vec<String> {
    const ANOTHER: f64 = 0.1;
    let Some(median) = range.map(|of| of.median) else { return Vec::new() };
    let all = case.study.as_sampled(option).into_iter();
    all.filter(|of| (of.more - median).abs() > ANOTHER * median.abs())
        .map(|of| {
            let money = with_money(case, of.more.abs());
            let verb = if of.more < 0.0 { "saves" } else { "costs" };
            format!("with {} it {verb} {money}", with_times(&of))
        })
        .collect()
}

/// `14 times the solids everywhere on the site (…)`, with `, the most that is tried (sampled: 31 times, …)`.
fn with_times(of: &AsSampled) -> String {
    let words = format!("{} times the solids everywhere on the site", two_digits(of.tried));
    if of.tried == of.sampled {
        return format!("{words} ({})", of.samples);
    }
    let end = if of.tried < 1.0 { "the least" } else { "the most" };
    format!("{words}, {end} that is tried (sampled: {} times, {})", two_digits(of.sampled), of.samples)
}

/// A factor of two digits: `0.31`, `6.6`, `10`.
fn two_digits(times: f64) -> String {
    let digits = if times < 0.995 { 2 } else { u8::from(times < 9.95) };
    figures::number(times, digits)
}

/// Whether a sum prints as nought.
fn is_nothing(value: f64) -> bool {
    value.abs() < 0.005
}

/// `from 1 200 USD less to 3 400 USD more`.
fn between(case: &ComparedCase<'_>, range: Spread) -> String {
    // What is next to nothing beside the other end is nothing.
    let most = range.low.abs().max(range.high.abs());
    if is_nothing(most) {
        return "the same".to_owned();
    }
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
    shown(super::two(value))
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
        Verdict::Hardly(_) if is_nothing(median) => "hardly any difference".to_owned(),
        Verdict::Hardly(_) => format!("hardly any difference ({})", signed(case, median)),
        Verdict::Saves(_) => format!("{} less", with_money(case, -median)),
        Verdict::Costs(_) => format!("{} more", with_money(case, median)),
        Verdict::Open(share) => format!("not decided; it saves in {} of the draws", percent(share)),
    };
    let words = match study.takes_for_granted(than) {
        Some(_) => format!("{words}, where its condition holds"),
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
