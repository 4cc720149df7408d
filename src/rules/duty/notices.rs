//! Calls, letters and monthly reports: due from the day something was known, judged as of a given day.

use chrono::{Datelike, Duration, Months, NaiveDate, NaiveDateTime, NaiveTime, Weekday};

use crate::records::{Act, Observation};
use crate::rules::duty::acts::{month_named, names_itself, names_what, names_when};
use crate::rules::duty::checks;
use crate::rules::judge::Exceeded;
use crate::rules::judge::case::Case;
use crate::rules::measure::readings::evidence;
use crate::rules::window::windows::{Window, day_label, later, month_end, month_label, month_start};
use crate::rules::{Evidence, Finding, FindingKind, Missing, Outcome};
use crate::told::Place;

/// Findings on every notice and report due.
pub(crate) fn findings(case: &Case<'_>, exceeded: &[Exceeded]) -> Vec<Finding> {
    let mut out = over_a_limit(case, exceeded);
    out.extend(monthly_reports(case));
    out.extend(checks::findings(case));
    out
}

pub(super) fn started(id: String, name: String, at: String, outcome: Outcome) -> Finding {
    Finding::new(id, FindingKind::Notice, name, at, outcome)
}

/// Windows of one limit that overlap (rolling ones) are one event.
fn events(exceeded: &[Exceeded]) -> Vec<Exceeded> {
    let mut out: Vec<Exceeded> = Vec::new();
    for window in exceeded {
        match out.last_mut() {
            Some(last) if last.limit == window.limit && window.window.from <= last.window.to => {
                let to = last.window.to.max(window.window.to);
                if to != last.window.to {
                    last.window = Window::new(last.window.from, to);
                }
                last.known_on = last.known_on.min(window.known_on);
            }
            _ => out.push(window.clone()),
        }
    }
    out
}

/// One thing to do about one event.
struct Step {
    what: &'static str,
    due: NaiveDate,
    done: Option<(NaiveDate, Evidence)>,
    /// On its last day, by the clock: until when it was due, and when it was made after that.
    past: Option<(NaiveDateTime, NaiveDateTime)>,
}

impl Step {
    fn is_open(&self) -> bool {
        self.done.is_none()
    }

    fn is_late(&self) -> bool {
        self.past.is_some() || self.done.as_ref().is_some_and(|(on, _)| *on > self.due)
    }

    fn sentence(&self, as_of: NaiveDate) -> String {
        let name = self.what;
        match &self.done {
            None if as_of <= self.due => format!("{name} due by {}.", day_label(self.due)),
            None => format!("{name} due by {}: not on file.", day_label(self.due)),
            Some((on, _)) if *on > self.due => {
                format!(
                    "{name} due by {}: made on {}, late by {}.",
                    day_label(self.due),
                    day_label(*on),
                    days_late(self.due, *on)
                )
            }
            Some((on, _)) => match self.past {
                Some((until, made)) => format!(
                    "{name} due by {}, {}: made on {}, {}, late by {} h.",
                    day_label(until.date()),
                    until.format("%H:%M"),
                    day_label(*on),
                    made.format("%H:%M"),
                    ((made - until).num_minutes() + 59) / 60
                ),
                None => format!("{name} due by {}: made on {}.", day_label(self.due), day_label(*on)),
            },
        }
    }
}

fn days_late(due: NaiveDate, done: NaiveDate) -> String {
    crate::rules::judge::no_discharge::day_count(usize::try_from((done - due).num_days()).unwrap_or(0))
}

/// What an act says of itself: its note, what it was made to, its value.
fn told_of(act: &Act) -> String {
    [Some(act.name.as_str()), act.source.note.as_deref(), act.value.as_deref()]
        .into_iter()
        .flatten()
        .collect::<Vec<_>>()
        .join(", ")
}

/// Calls, letters and reports of a kind that can answer an event: made on or after the day on which it was known.
fn made_since<'a>(case: &'a Case<'_>, what: &str, event: &Exceeded) -> Vec<&'a Act> {
    let report = if what == "letter" { "report sent" } else { "" };
    case.timeline
        .acts
        .iter()
        .filter(|act| act.what == what || act.what == report)
        .filter(|act| event.known_on <= act.day && act.day <= case.as_of)
        .collect()
}

/// Whether an act names what was over, and when.
fn answers(act: &Act, (event, dates): (&Exceeded, &[NaiveDate]), case: &Case<'_>) -> (bool, bool) {
    let told = told_of(act);
    // A month's report that says "no discharge" is no letter about one: it must name the limit or its parameter.
    let is_report = act.what == "report sent";
    let what = case
        .rules
        .limits
        .get(event.limit)
        .is_some_and(|limit| if is_report { names_itself(&told, limit) } else { names_what(&told, limit) });
    let when = |window: &Window| names_when(&told, window, &event.evidence);
    (what, when(&event.window) || dates.iter().any(|date| when(&Window::new(*date, *date))))
}

/// Whether a note that does not name this event's limit says what it is about all the same: another event, or another limit.
fn is_about_another(act: &Act, event: &Exceeded, events: &[Exceeded], case: &Case<'_>) -> bool {
    let told = told_of(act);
    let others = case.rules.limits.iter().enumerate().filter(|(at, _)| *at != event.limit);
    others.into_iter().any(|(_, limit)| names_itself(&told, limit))
        || events.iter().any(|other| answers(act, (other, &dates_seen(case, other)), case) == (true, true))
}

/// Dates by the calendar of looks and samples whose day, which turns at another hour, bears another date: whoever rings or
/// writes says the day on which it was seen.
fn dates_seen(case: &Case<'_>, event: &Exceeded) -> Vec<NaiveDate> {
    let places: Vec<&Place> = event.evidence.iter().filter_map(|shown| shown.place.as_ref()).collect();
    let within = |day: NaiveDate| event.window.from <= day && day <= event.window.to;
    let seen =
        case.timeline.observations.iter().filter(|row| row.date != row.day && within(row.day) && !within(row.date));
    seen.filter(|row| ["look", "sample"].contains(&row.what.as_str()) && places.contains(&&row.source.place))
        .map(|row| row.date)
        .collect()
}

/// Until when a call was due by the clock, and when it was made, where it was made after that: only where the hour of both
/// is on file.
fn by_the_clock(case: &Case<'_>, event: &Exceeded, call: &Act, hours: u32) -> Option<(NaiveDateTime, NaiveDateTime)> {
    let places: Vec<&Place> = event.evidence.iter().filter_map(|shown| shown.place.as_ref()).collect();
    let that_day = case.timeline.observations.iter().filter(|row| row.date == event.known_on);
    let hour = |row: &Observation| {
        let meter = || case.facility.meters.iter().find(|meter| meter.name.eq_ignore_ascii_case(&row.name));
        // A result is known when it is received, and that has no hour.
        row.time.or_else(|| meter()?.read_at).filter(|_| row.source.received.is_none())
    };
    // The last of them, where several together made it known.
    let times: Option<Vec<NaiveTime>> = that_day.filter(|row| places.contains(&&row.source.place)).map(hour).collect();
    let until = event.known_on.and_time(times?.into_iter().max()?) + Duration::hours(i64::from(hours));
    let made = call.day.and_time(call.time?);
    (made > until).then_some((until, made))
}

/// Acts of one kind whose notes leave the same unsaid.
fn unclear_acts(what: &str, days: &[NaiveDate], lacks: &str) -> String {
    const MOST_NAMED: usize = 3;
    if let [day] = days {
        return format!("A {what} on {} is on file; its note does not say {lacks}.", day_label(*day));
    }
    let (named, more) = days.split_at(days.len().min(MOST_NAMED));
    let named: Vec<String> = named.iter().map(|day| day_label(*day)).collect();
    let more = match more.len() {
        0 => String::new(),
        more => format!(" and on {more} more days"),
    };
    format!("Of a {what} each on {}{more} the note does not say {lacks}.", named.join(", "))
}

fn over_a_limit(case: &Case<'_>, exceeded: &[Exceeded]) -> Vec<Finding> {
    let notices = &case.rules.notices;
    let Some((text, place)) = &notices.over_a_limit else {
        return Vec::new();
    };
    let events = events(exceeded);
    // One call may speak of several events.
    let find = |what: &str, event: &Exceeded, dates: &[NaiveDate]| {
        made_since(case, what, event).into_iter().find(|act| answers(act, (event, dates), case) == (true, true))
    };
    let shown = |what: &str, act: &Act| (act.day, evidence(act.day, what.to_owned(), &act.source));
    let mut out = Vec::new();
    for event in &events {
        let Some(limit) = case.rules.limits.get(event.limit) else {
            continue;
        };
        if event.known_on > case.as_of || !limit.asks_for_notice {
            continue;
        }
        let dates = dates_seen(case, event);
        let mut steps = Vec::new();
        if let Some(hours) = notices.call_within_h {
            let due = later(event.known_on, hours.div_ceil(24));
            let call = find("call", event, &dates);
            let past = call.filter(|act| act.day == due).and_then(|act| by_the_clock(case, event, act, hours));
            steps.push(Step { what: "Call", due, done: call.map(|act| shown("call", act)), past });
        }
        if let Some(days) = notices.write_within_days {
            // Where no call is on file, the days run from when it was due.
            let call = steps.first().map(|call: &Step| call.done.as_ref().map_or(call.due, |(on, _)| *on));
            let since = call.filter(|_| notices.write_from_the_call).unwrap_or(event.known_on);
            let due = later(since, days);
            let letter = find("letter", event, &dates).map(|act| shown("letter", act));
            steps.push(Step { what: "Letter", due, done: letter, past: None });
        }
        let open: Vec<&Step> = steps.iter().filter(|step| step.is_open()).collect();
        let outcome = if open.iter().any(|step| step.due < case.as_of) {
            Outcome::Overdue
        } else if open.is_empty() {
            Outcome::Done
        } else {
            Outcome::Due
        };
        let name = format!("{}, {}", limit.name, event.window.label);
        let mut finding = started(format!("notice / {name}"), name, limit.at_text.clone(), outcome);
        finding.about = Some((limit.name.clone(), event.window.label.clone()));
        finding.place = Some(place.clone());
        finding.words = Some(text.clone());
        finding.is_late = steps.iter().any(Step::is_late);
        finding.due = open.iter().map(|step| step.due).min().or(steps.iter().map(|step| step.due).max());
        let closed = if event.known_on == event.window.to && event.window.from != event.window.to {
            format!("Known on {}, the last of the days it covers.", day_label(event.known_on))
        } else {
            format!("Known on {}.", day_label(event.known_on))
        };
        finding.sentences.push(format!(
            "{closed} {}",
            steps.iter().map(|step| step.sentence(case.as_of)).collect::<Vec<_>>().join(" ")
        ));
        if outcome == Outcome::Overdue {
            let missing: Vec<String> =
                open.iter().filter(|step| step.due < case.as_of).map(|step| step.what.to_lowercase()).collect();
            finding.sentences.push(format!(
                "What is missing: the {} to {}. Do not wait for this report.",
                missing.join(" and the "),
                case.rules.authority
            ));
        }
        for step in &open {
            let what = step.what.to_lowercase();
            finding.missing.push(Missing { of: None, paper: None,
                sentence: step.sentence(case.as_of),
                would_show: Some(format!(
                    "A record of the {what}, whose note names the limit or the parameter, and the day, the month or the paper.",
                )),
            });
            let mut unclear: Vec<((&str, &str), Vec<NaiveDate>)> = Vec::new();
            for act in made_since(case, &what, event) {
                let lacks = match answers(act, (event, &dates), case) {
                    (false, _) if is_about_another(act, event, &events, case) => continue,
                    // A month's report is about its month, and answers for a letter only where it names the limit.
                    (false, _) if act.what == "report sent" => continue,
                    (false, false) => "what about, nor of when",
                    (false, true) => "what about",
                    (true, false) => "of when",
                    (true, true) => continue,
                };
                let key = (act.what.as_str(), lacks);
                match unclear.iter_mut().find(|(other, _)| *other == key) {
                    Some((_, days)) => days.push(act.day),
                    None => unclear.push((key, vec![act.day])),
                }
            }
            for ((what, lacks), days) in unclear {
                let line = unclear_acts(what, &days, lacks);
                if !finding.sentences.contains(&line) {
                    finding.sentences.push(line);
                }
            }
        }
        finding.dates = steps.iter().map(|step| step.due).collect();
        finding.n = steps.len() - open.len();
        finding.how_many = format!("{} of {} on file", finding.n, steps.len());
        finding.evidence = event.evidence.clone();
        finding.evidence.extend(steps.into_iter().filter_map(|step| step.done.map(|(_, evidence)| evidence)));
        out.push(finding);
    }
    out
}

/// The day on which a month's report is due; `moves` from a weekend to Monday.
fn due_day(month: NaiveDate, day: u32, moves: bool) -> NaiveDate {
    let next = month_start(month).checked_add_months(Months::new(1)).unwrap_or(month);
    let due = next.with_day(day).unwrap_or_else(|| month_end(next));
    match due.weekday() {
        Weekday::Sat if moves => later(due, 2),
        Weekday::Sun if moves => later(due, 1),
        _ => due,
    }
}

/// Words for a due day on a weekend, answered by the next working day: many permits move it, and the rules don't say.
fn unless_moved(due: NaiveDate, sent: NaiveDate, said: Option<bool>) -> String {
    if said.is_some() {
        return String::new();
    }
    let (weekday, monday) = match due.weekday() {
        Weekday::Sat => ("Saturday", later(due, 2)),
        Weekday::Sun => ("Sunday", later(due, 1)),
        _ => return String::new(),
    };
    if sent > monday {
        return String::new();
    }
    format!(", unless the permit moves a day that falls on a {weekday}")
}

/// The act that sent a month's report: one whose note names the month, else one of the month after without such a note.
fn sent<'a>(month: NaiveDate, case: &'a Case<'_>) -> Option<&'a Act> {
    let acts = || case.timeline.acts.iter().filter(|act| act.what == "report sent" && act.day <= case.as_of);
    let named = |act: &&Act| act.source.note.as_deref().and_then(month_named);
    acts().find(|act| named(act) == Some(month)).or_else(|| {
        let next = month.checked_add_months(Months::new(1))?;
        acts().find(|act| named(act).is_none() && act.day >= next && act.day <= month_end(next))
    })
}

fn monthly_reports(case: &Case<'_>) -> Vec<Finding> {
    let Some((day, place)) = &case.rules.notices.monthly_report else {
        return Vec::new();
    };
    let mut out = Vec::new();
    let mut on_time: Vec<(NaiveDate, &Act)> = Vec::new();
    let (first, last) = case.rules.in_force.unwrap_or(case.period);
    let mut month = month_start(case.period.0.max(first));
    while month <= month_start(case.as_of).min(last) {
        let due = due_day(month, *day, case.rules.notices.due_on_a_weekend == Some(true));
        let name = format!("Monthly report for {}", month_label(month));
        match sent(month, case) {
            Some(act) if act.day <= due => on_time.push((month, act)),
            Some(act) => {
                let mut finding = started(format!("report / {name}"), name, String::new(), Outcome::Done);
                finding.place = Some(place.clone());
                finding.due = Some(due);
                finding.is_late = true;
                finding.sentences.push(format!(
                    "Due {}, sent {}, late by {}{}.",
                    day_label(due),
                    day_label(act.day),
                    days_late(due, act.day),
                    unless_moved(due, act.day, case.rules.notices.due_on_a_weekend)
                ));
                finding.evidence.push(evidence(act.day, "report sent".to_owned(), &act.source));
                out.push(finding);
            }
            None => {
                let outcome = if due < case.as_of { Outcome::Overdue } else { Outcome::Due };
                let mut finding = started(format!("report / {name}"), name, String::new(), outcome);
                finding.about = Some(("Monthly report".to_owned(), month_label(month)));
                finding.place = Some(place.clone());
                finding.due = Some(due);
                finding.dates.push(due);
                finding.sentences.push(if outcome == Outcome::Overdue {
                    format!("Due {}, not on file as sent.", day_label(due))
                } else {
                    format!("Due {}.", day_label(due))
                });
                out.push(finding);
            }
        }
        let Some(next) = month.checked_add_months(Months::new(1)) else {
            break;
        };
        month = next;
    }
    if !on_time.is_empty() {
        let mut finding =
            started("report / on file".to_owned(), "Monthly reports on file".to_owned(), String::new(), Outcome::Done);
        finding.place = Some(place.clone());
        finding.n = on_time.len();
        finding.how_many = format!("{} sent in time", on_time.len());
        finding.sentences.push(format!(
            "Sent in time: {}.",
            on_time
                .iter()
                .map(|(month, act)| format!("{} on {}", month_label(*month), day_label(act.day)))
                .collect::<Vec<_>>()
                .join(", ")
        ));
        finding.evidence =
            on_time.iter().map(|(_, act)| evidence(act.day, "report sent".to_owned(), &act.source)).collect();
        out.push(finding);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_report_due_on_the_31st_is_due_on_the_last_day_of_a_short_month() {
        let august = NaiveDate::from_ymd_opt(2025, 8, 1).unwrap();
        assert_eq!(due_day(august, 31, false), NaiveDate::from_ymd_opt(2025, 9, 30).unwrap());
        // 28 September 2025 is a Sunday.
        assert_eq!(due_day(august, 28, false), NaiveDate::from_ymd_opt(2025, 9, 28).unwrap());
        assert_eq!(due_day(august, 28, true), NaiveDate::from_ymd_opt(2025, 9, 29).unwrap());
    }
}
