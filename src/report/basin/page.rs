//! Page 1: how big, what governs, and how far to believe it.

use crate::compare::Measure as Logged;
use crate::page::document::figures::number;
use crate::page::document::{Basis, Cell, Column, Document, Table, Text};
use crate::report::basin::cells::NO_SIZE;
use crate::report::basin::smaller::{one_or_other, one_smaller};
use crate::report::basin::this::in_words;
use crate::report::basin::units::Units;
use crate::report::basin::{
    BasinCase, FEW_YEARS, counted, drawing, earth, few, figure, figure_to, floor_words, money, over_banks_words, rooms,
    sizes, slope, solids, standing, to_type, years,
};
use crate::report::case::page::first_capital;
use crate::sizing::{Answer, Basin, Case, Check, Comes, Duty, Held, Measure, StormDuty, StormFrom};

/// A level computed so much of the pond's depth too high or too low, on average, is far off (common practice, no source).
const FAR_OFF: f64 = 0.1;
/// A floor narrower than this is told of (common practice, no source), m.
const NARROW_FLOOR_M: f64 = 2.0;
/// A fill level nearer than this over the lowest level of the pumps is told of (common practice, no source), m.
const NARROW_BAND_M: f64 = 0.1;
/// Digits more than usual at most.
const MOST_MORE: u8 = 4;

/// Writes page 1.
pub(super) fn write(case: &BasinCase, answer: &Answer, doc: &mut Document) {
    let units = case.units();
    let basin = &answer.found.basin;
    doc.heading(2, "How big");
    let not_kept: Vec<&str> = answer.not_kept().map(|check| check.duty.words()).collect();
    let text = match not_kept.is_empty() {
        true => Text::new(),
        false => Text::new().bold("No pond was found on this plot that does all its duties. ").plain(format!(
            "Over the years none of a coarse choice of sizes keeps what is asked to {}. The least that does the others: ",
            not_kept.join(", to ")
        )),
    };
    let mut text = text
        .bold(format!("{} at the spill level. ", sizes(case, basin)))
        .plain(format!("It holds {} below that level", units.m3(basin.capacity_m3())));
    text = text.plain(match drawing::times_present(case, basin) {
        Some(words) => format!(": {words}. "),
        None => ". ".to_owned(),
    });
    let cost = answer.cost.and_then(|cost| money(case, cost));
    doc.paragraph(text.plain(format!(
        "Its sides are {}, its floor is {}, its bank top is {} above the spill level, and over the banks it takes {}{}. {}, \
         and {} would be lined{}.{}",
        slope(basin.slope),
        floor_words(case, basin),
        units.typed_m(basin.freeboard_m),
        over_banks_words(case, basin),
        plot_left(case, basin),
        earth::in_words(case, basin)
            .unwrap_or_else(|| format!("Up to the bank top {} are dug", units.earth(basin.dug_m3()))),
        units.m2(basin.lined_m2()),
        cost.map_or_else(String::new, |cost| format!(
            ", about {cost} at {}{}{}",
            prices(case, basin),
            case.study.demands.duties.prices.as_ref().and_then(|prices| prices.by.as_ref()).map_or_else(String::new, |by| format!(" ({by})")),
            if case.not_built { "" } else { ", as if no pond were there" }
        )),
        standing::carried(case, basin)
    )));
    for remark in remarks(case, answer) {
        doc.paragraph(remark);
    }
    doc.paragraph(rests_on(case, answer));
    standing::present_pond(case, doc);
    doc.heading(2, "What governs");
    doc.paragraph(Text::new().bold(governs(&answer.governs())).plain(one_smaller(units, answer)));
    doc.table(duties_table(case, &answer.checks, Some(&answer.held())));
    if answer.not_kept().next().is_some() {
        doc.heading(2, "What would have it kept");
        doc.list(cures(units, answer));
    }
    doc.heading(2, "How far to believe it");
    doc.definitions(doubts(case, answer));
    who_decides(doc);
}

/// `, which leaves 73.6 ft by 0.4 ft of the plot`: of the figures as they are printed.
fn plot_left(case: &BasinCase, basin: &Basin) -> String {
    let (units, plot) = (case.units(), &case.study.demands.duties.plot);
    let (long, wide) = to_type(case, basin).over_banks_m();
    let left = |plot_m: f64, over_m: f64| units.tape_left(plot_m, over_m);
    format!(", which leaves {} by {} of the plot", left(plot.longest.si, long), left(plot.widest.si, wide))
}

/// What somebody who digs it should know of the shape.
fn remarks(case: &BasinCase, answer: &Answer) -> Vec<String> {
    let (units, basin) = (case.units(), &answer.found.basin);
    let mut all = Vec::new();
    if case.study.demands.duties.plot.floor.is_none() && basin.floor_m() < NARROW_FLOOR_M {
        all.push(format!(
            "A floor narrower than {} is hard to build and to clean out (common practice, no source): `floor at least: …` under \
             `plot` keeps it wider.",
            units.tape(NARROW_FLOOR_M)
        ));
    }
    if let Some((between_m, supply)) = standing::narrow_band(case, answer, NARROW_BAND_M) {
        let comes = match answer.run.shortage_days {
            0 => format!("what is drawn comes from {supply} as it is asked for"),
            days => format!(
                "the run, in which what is drawn in {} h is taken from what stood there at their opening, comes up short on {days} days in \
                 all, and does not show whether {supply} would give it as it is asked for{}",
                few(24.0 / f64::from(case.study.basics.steps_per_day.max(1))),
                if case.study.basics.steps_per_day < 24 {
                    " (`steps per day: 24` in the facility file looks closer)"
                } else {
                    ""
                }
            ),
        };
        all.push(format!(
            "It is filled only {} higher than it is drawn from: {comes}. A float and a pump need more between them (common practice, no \
             source).",
            units.m(between_m)
        ));
    }
    all.extend(standing::deeper_pool(case, answer));
    all.extend(standing::faster_saves(case, answer));
    all.extend(standing::lesser_storm_spills(case, answer));
    if !answer.missed_as_typed.is_empty() {
        let fails: Vec<&str> = answer.missed_as_typed.iter().map(|check| check.duty.fails()).collect();
        all.push(format!("With its sizes rounded as they stand here it {}.", fails.join(" and ")));
    }
    all
}

/// Ways to run the pond found with which it does every duty.
fn cures(units: Units, answer: &Answer) -> Vec<Text> {
    if answer.cures.is_empty() {
        return vec![Text::from(
            "Nothing that was tried does: a fill no higher than the foot of what is held, a drawdown, ten times as fast as frees \
             the storm’s room in time where one is typed, one that goes on to that foot, by themselves and together.",
        )];
    }
    answer
        .cures
        .iter()
        .map(|cure| {
            Text::new().bold(format!("{}. ", first_capital(&in_words(units, cure)))).plain(
                "So typed and run over the years, this pond does every duty; sized again with it, a smaller one may.",
            )
        })
        .collect()
}

/// The prices that its cost is made of, as they were typed.
fn prices(case: &BasinCase, basin: &Basin) -> String {
    let parts = case.study.demands.cost_parts(basin);
    let words: Vec<String> = parts.iter().map(|part| format!("{} {}", earth::signs(&part.price), part.what)).collect();
    match words.as_slice() {
        [] => "the prices typed".to_owned(),
        [one] => one.clone(),
        [rest @ .., last] => format!("{} and {last}", rest.join(", ")),
    }
}

/// Who decides, and that nothing may be dug from this.
pub(super) fn who_decides(doc: &mut Document) {
    let words = "Do not dig from this: it is the holder's own estimate, no design, permit decision or legal advice. Ground, banks, \
                 spillway, groundwater and who lives below were not looked at. A licensed engineer, the permitting authority and \
                 local codes decide.";
    doc.margin(vec![("Who decides".to_owned(), Text::from(words))]);
}

/// `Contain the storm.`
pub(super) fn governs(duties: &[Duty]) -> String {
    match duties {
        [] => "No duty, but the plot's own rules".to_owned(),
        [one] => first_capital(one.words()),
        [one, rest @ ..] => {
            let rest: Vec<&str> = rest.iter().map(|duty| duty.words()).collect();
            format!("{}; then: {}", first_capital(one.words()), rest.join(", "))
        }
    }
}

/// What the answer rests on, in a sentence that stands beside it.
fn rests_on(case: &BasinCase, answer: &Answer) -> Text {
    let spill = &answer.run.spill;
    let years = case.years();
    let rests = format!("{} of weather, with {}", counted(years, "year"), counted(f64::from(spill.spills), "spill"));
    let may = spill.interval().map_or_else(String::new, |(low, high)| {
        format!("; by chance alone the true rate may be anything from {} to {} spills a year", two(low), two(high))
    });
    let text = if years < FEW_YEARS {
        Text::new()
            .bold("Not yet to be built on: ")
            .plain(format!("it rests on {rests}{may}. Engineers ask for 10 years or more (common practice)."))
    } else {
        Text::from(format!("It rests on {rests}{may}."))
    };
    let text = match standing::let_out(case, answer) {
        Some(words) => text.bold(format!(" {words}")),
        None => text,
    };
    let text = match solids::kept(case, answer) {
        Some(words) => text.plain(format!(" {words}")),
        None => text,
    };
    let not_kept = answer.checks.iter().any(|check| check.duty == Duty::Storm && check.comes == Comes::NotKept);
    if not_kept { text.bold(" The storm is not contained as the run keeps this pond (a).") } else { text }
}

/// `on 82 of 366 days`.
pub(super) fn of_days(days: usize, of: usize) -> String {
    if days == 0 {
        "on no day".to_owned()
    } else if days >= of {
        "on every day".to_owned()
    } else {
        format!("on {} of {} days", number(days as f64, 0), number(of as f64, 0))
    }
}

/// A rate with two digits.
pub(super) fn two(value: f64) -> String {
    number(
        value,
        match value.abs() {
            size if size >= 9.95 || size == 0.0 => 0,
            size if size >= 0.995 => 1,
            _ => 2,
        },
    )
}

/// What the particle is, and what running short is, where a duty speaks of it.
fn terms(case: &BasinCase) -> Option<String> {
    let duties = &case.study.demands.duties;
    let mut words = Vec::new();
    if let Some(settle) = &duties.settle {
        let size = settle.particle.text.replace("um", "µm");
        words.push(format!("The particle: {size}, {}.", settle.density.text));
    }
    if duties.shortage.is_some() {
        words.push(format!("Short: {} gets less than it asks for.", one_or_other(&case.study.basics.uses)));
    }
    (!words.is_empty()).then(|| words.join(" "))
}

/// The duties: what each asks, and what the pond gives.
pub(super) fn duties_table(case: &BasinCase, checks: &[Check], held: Option<&Held>) -> Table {
    let units = case.units();
    let mut table = Table::new(vec![
        Column::words("Duty"),
        Column::words("Asked"),
        Column::words("This pond"),
        Column::words("Comes out"),
    ])
    .caption("The duties");
    for check in checks {
        let check = &held.map_or(*check, |held| rooms::own(check, &held.stack));
        table.traced(
            vec![
                Cell::words(first_capital(check.duty.words())),
                Cell::words(asked(units, check)),
                Cell::known(
                    match held.filter(|_| check.duty == Duty::Spills).map_or(0.0, |held| held.run.let_out_m3) {
                        m3 if m3 > 0.0 => format!("{}; {} let out", gives(units, check, held), units.m3(m3)),
                        _ => gives(units, check, held),
                    },
                    Basis::Computed,
                ),
                Cell::known(
                    // Notes (a) and (c) take a run.
                    comes_out(units, check, held.is_some() || check.comes == Comes::TooFewYears),
                    Basis::Computed,
                ),
            ],
            place_of(case, check.duty),
        );
    }
    if let Some(words) = terms(case) {
        table.note(words);
    }
    if let Some(words) = held.and_then(|held| standing::drawdown_takes(case, &held.basin, held.drawdown_m3_s)) {
        table.note(format!("{words}."));
    }
    for check in checks {
        if let Some(from) = standing::comes_from(case, check) {
            table.note(format!("{}: what is asked is {from}.", first_capital(check.duty.words())));
        }
    }
    let any = |comes| checks.iter().any(|check| check.comes == comes);
    if let Some(held) = held {
        standing::notes(case, checks, held, &mut table);
    }
    if any(Comes::TooFewYears) {
        table.note(format!(
            "(b) {} of rain can’t show it: so few do not hold as much as one of what is allowed.",
            counted(case.years(), "year")
        ));
    }
    if let Some(held) = held {
        for one in held.advice.iter().filter(|one| one.has > one.usual) {
            table.note(format!(
                "Advice, no duty (nobody typed it): {} comes to {}; {} at most is usual (common practice, no source).",
                one.what,
                figure(units, one.measure, one.has),
                figure(units, one.measure, one.usual)
            ));
        }
    }
    if any_spillway(checks) {
        table.note(format!("Emergency spillway: {}", NO_SIZE.replacen("An", "an", 1)));
    }
    let volumes = checks.iter().any(|check| check.measure == Measure::Volume);
    let rooms = match held.filter(|_| volumes) {
        Some(held) => rooms::together(case, held),
        None if volumes => "Room is asked for with everything that lies under it. ".to_owned(),
        None => String::new(),
    };
    table.note(format!("{rooms}All is computed, none measured."));
    table
}

fn any_spillway(checks: &[Check]) -> bool {
    checks.iter().any(|check| check.duty == Duty::Spillway)
}

/// How a duty comes out, and by how much it fails. `noted` says that notes below tell the rest.
pub(super) fn comes_out(units: Units, check: &Check, noted: bool) -> String {
    let note = |words: &str, sign: &str| if noted { format!("{words} ({sign})") } else { words.to_owned() };
    if check.duty == Duty::Spillway {
        return match (check.comes, lacks(units, check)) {
            (Comes::Done, _) => "no less (illustration)".to_owned(),
            (_, Some(by)) => format!("{by} (illustration)"),
            (_, None) => "less (illustration)".to_owned(),
        };
    }
    match check.comes {
        Comes::Done => "does it".to_owned(),
        Comes::NotDone => match lacks(units, check) {
            Some(by) => format!("does not: {by}"),
            None => "does not".to_owned(),
        },
        Comes::NotKept if check.duty == Duty::Hold => note("not kept", "c"),
        Comes::NotKept => note("not kept", "a"),
        Comes::TooFewYears => note("not shown", "b"),
    }
}

/// By how much a duty is failed; none where that prints as nothing, or where it is no lack of size that fails it: room that
/// is there and stands full when it is wanted.
pub(super) fn lacks(units: Units, check: &Check) -> Option<String> {
    let is_there = if check.measure.is_at_least() { check.has >= check.asked } else { check.has <= check.asked };
    if is_there {
        return None;
    }
    let by = (check.asked - check.has).abs();
    // As many digits as it takes for the two to differ.
    let more = digits_apart(units, check);
    let figure = |units: Units, measure: Measure, by: f64| figure_to(units, measure, by, more);
    let words = match check.measure {
        Measure::Share if more > 0 => {
            format!("{} short", figure(units, Measure::Share, by).replace('%', "percentage points"))
        }
        Measure::Share => format!("{} percentage points short", few(100.0 * by)),
        Measure::TimesAYear => format!("{} a year too many", few(by)),
        Measure::DaysAYear => format!("{} a year too many", counted(by, "day")),
        Measure::Days | Measure::Hours => format!("{} too long", figure(units, check.measure, by)),
        Measure::YearsAtLeast => format!("{} too soon", figure(units, check.measure, by)),
        Measure::Volume | Measure::HoursAtLeast | Measure::HeightAtLeast => {
            format!("{} short", figure(units, check.measure, by))
        }
        Measure::Speed => format!("{} too fast", figure(units, check.measure, by)),
    };
    (by.is_finite() && words.contains(|sign: char| ('1'..='9').contains(&sign))).then_some(words)
}

/// What a pond gives; of a room that fits, from which level to which it lies.
pub(super) fn gives(units: Units, check: &Check, held: Option<&Held>) -> String {
    let lies = held.filter(|_| check.is_met()).and_then(|held| rooms::lies_between_m(check.duty, held));
    match lies {
        Some((from_m, to_m)) => format!("{}, {} to {}", units.m3(check.asked), units.m_bare(from_m), units.m(to_m)),
        None => rooms::there_is(units, check),
    }
}

/// Digits more than usual with which what a failed duty asks and what there is no longer look alike.
pub(super) fn digits_apart(units: Units, check: &Check) -> u8 {
    if check.comes != Comes::NotDone || !(check.asked - check.has).is_finite() {
        return 0;
    }
    let alike = |more: &u8| {
        figure_to(units, check.measure, check.asked, *more) == figure_to(units, check.measure, check.has, *more)
    };
    (0..=MOST_MORE).find(|more| !alike(more)).unwrap_or(MOST_MORE)
}

/// What a duty asks.
pub(super) fn asked(units: Units, check: &Check) -> String {
    let figure = figure_to(units, check.measure, check.asked, digits_apart(units, check));
    match check.measure {
        Measure::Days if check.duty == Duty::StormRoom => format!("lacking at most {figure} on end"),
        Measure::Share if check.duty == Duty::StormRoom && check.asked >= 1.0 => "on every day".to_owned(),
        Measure::Share if check.duty == Duty::StormRoom => format!("on at least {figure} of days"),
        Measure::Share if check.duty == Duty::Forebay => format!("at least {figure} of the pool"),
        Measure::Share => format!("at least {figure}"),
        Measure::Volume => format!("room for {figure}"),
        Measure::HoursAtLeast | Measure::YearsAtLeast | Measure::HeightAtLeast => format!("at least {figure}"),
        _ => format!("at most {figure}"),
    }
}

pub(super) fn place_of(case: &BasinCase, duty: Duty) -> String {
    let duties = &case.study.demands.duties;
    let place = match duty {
        Duty::Settle => duties.settle.as_ref().map(|one| &one.place),
        Duty::CleanOut => duties.clean_out.as_ref().map(|one| &one.place),
        Duty::Pool => duties.pool.as_ref().map(|one| &one.place),
        Duty::Hold => duties.hold.as_ref().map(|one| &one.place),
        Duty::OverflowRate => duties.overflow_rate.as_ref().map(|one| &one.place),
        Duty::Detention => duties.detention.as_ref().map(|one| &one.place),
        Duty::Storm | Duty::StormRoom | Duty::Drawdown => duties.storm.as_ref().map(|one| &one.place),
        Duty::Spills | Duty::LongestSpill => duties.spills.as_ref().map(|one| &one.place),
        Duty::Shortage => duties.shortage.as_ref().map(|one| &one.place),
        Duty::Forebay | Duty::ForebayCleanOut => duties.forebay.as_ref().map(|one| &one.place),
        Duty::Spillway => duties.spillway.as_ref().map(|one| &one.place),
    };
    place.map(ToString::to_string).unwrap_or_default()
}

/// What supports the answer and what undermines it.
pub(super) fn doubts(case: &BasinCase, answer: &Answer) -> Vec<(&'static str, Text)> {
    let spill = &answer.run.spill;
    let mut rows = vec![("The readings", log_words(case))];
    let mut words = match spill.spill_days {
        0 => "It never spilled in the run".to_owned(),
        days => format!("It spilled on {} in all", counted(days as f64, "day")),
    };
    if spill.interval().is_some() {
        words.push_str(if spill.spills > spill.spells {
            "; a range of its spills a year is the 95 % one by wet spells, for weather that stays the same"
        } else {
            "; a range of its spills a year is the exact 95 % one, for independent spills and weather that stays the same"
        });
    }
    words.push('.');
    if case.study.basics.unknown_days > 0 {
        words.push_str(&format!(
            " {} the rain is not known; it was taken as none, so spills may be too few.",
            first_capital(&of_days(case.study.basics.unknown_days, case.study.basics.days))
        ));
    }
    words.push_str(&standing::shared_readings(case).unwrap_or_default());
    rows.push(("The years", Text::from(words)));
    let told = |of: fn(Duty) -> bool| answer.checks.iter().any(|check| check.comes == Comes::NotKept && of(check.duty));
    let duties = &case.study.demands.duties;
    if duties.storm.is_some() && spill.days > 0 && !told(|duty| duty != Duty::Hold) {
        let lacking = of_days(answer.run.storm_room_lacking_days, spill.days);
        let drawn = |storm: &&StormDuty| storm.drawdown.is_some() && matches!(storm.from, StormFrom::Normal);
        let lower = duties.storm.as_ref().filter(drawn).map_or("", |_| {
            " The pond is the least of those drawn down to the storm’s own level: no lower one was tried, and one may allow a smaller pond \
             (`from` in the duties)."
        });
        rows.push(("The storm", Text::from(format!("Its room was lacking {lacking} of the run.{lower}"))));
    }
    if duties.hold.is_some() && spill.days > 0 && !told(|duty| duty == Duty::Hold) {
        let words = match answer.run.hold.wanted {
            0 => "Nothing to hold came on the days whose rain is known.".to_owned(),
            times => format!(
                "Its room was free at the close of the day before each time that something to hold came: {}.",
                counted(times as f64, "time")
            ),
        };
        rows.push(("To be held", Text::from(words)));
    }
    let words = what_breaks(case, answer);
    rows.push(("What if", Text::from(words)));
    rows
}

/// Whether the computation repeats the levels that were read.
fn log_words(case: &BasinCase) -> Text {
    if case.not_built {
        return Text::from("None: the pond is not built, so there is nothing to hold the computation against.");
    }
    let level = case.log.iter().filter(|of| of.measure == Logged::Level && !of.pairs.is_empty());
    let level = level.max_by_key(|of| (of.what.starts_with("level"), of.pairs.len()));
    let Some((of, bias)) = level.and_then(|of| Some((of, of.bias()?))) else {
        return Text::from(
            "None: no level of this pond is on file, so nothing shows whether the computation repeats it.",
        );
    };
    let units = case.units();
    let about = of.scatter().map_or_else(String::new, |scatter| format!(", give or take {}", units.m(scatter)));
    let mean = match units.m(bias.abs()) {
        words if words == units.m(0.0) => "as high as they were read, on average".to_owned(),
        words => format!("{words} too {} on average", if bias > 0.0 { "high" } else { "low" }),
    };
    let text = Text::from(format!(
        "{} of the present pond’s {}, held against that pond computed without them: {mean}{about}.",
        counted(of.pairs.len() as f64, "reading"),
        of.what.split(" of ").next().unwrap_or("level")
    ));
    let deep = drawing::present_depth_m(case).unwrap_or(0.0);
    if bias.abs() > FAR_OFF * deep && deep > 0.0 {
        return text.bold(" So far off, the computation must be mended before this pond means anything.");
    }
    text
}

/// `clean it out every 4 years`, where more sludge than was taken fills its store sooner than asked.
pub(super) fn cleaned_out_sooner(case: &BasinCase, one: &Case) -> Option<String> {
    let asked = case.study.demands.duties.clean_out.as_ref()?.every_years;
    let years = one.clean_out_years.filter(|years| *years < asked - 1e-9)?;
    Some(format!("clean it out every {} years", few(years)))
}

/// What could be otherwise, and which of it would break a duty that is done as it stands.
fn what_breaks(case: &BasinCase, answer: &Answer) -> String {
    let is_done = |duty: &Duty| !answer.checks.iter().any(|check| check.duty == *duty && check.comes == Comes::NotDone);
    let breaking: Vec<String> = answer
        .cases
        .iter()
        .filter(|one| one.fails.iter().any(|check| is_done(&check.duty)))
        .map(|one| years::otherwise(case, answer, one))
        .collect();
    let tried = answer.cases.len().saturating_sub(1);
    let duty = if answer.checks.iter().any(|check| check.comes == Comes::NotDone) { "another duty" } else { "a duty" };
    match breaking.as_slice() {
        [] => format!("Of {tried} things that could be otherwise none breaks {duty}."),
        [one] => format!("Of {tried} things that could be otherwise 1 breaks {duty}: {one}."),
        many => {
            let which = many.join(", ");
            format!(
                "Of {tried} things that could be otherwise {} break {duty}: {which}. The table says which duty.",
                many.len()
            )
        }
    }
}
