//! The basin document: page 1 answers how big, what governs and how sure; the rest shows why.

pub(crate) mod closing;
pub(crate) mod duties;
pub(crate) mod json;
mod no_pond;
mod smaller;
pub(crate) mod years;

use chrono::NaiveDate;

use crate::facility::model::{Facility, Paper, PlaceId, UnitSystem};
use crate::files::FileRead;
use crate::page::document::figures::{number, with_unit};
use crate::page::document::{Basis, Cell, Column, Document, Table, Text};
use crate::report::basin::{closing as basin_closing, duties as basin_duties, years as basin_years};
use crate::report::case::page::first_capital;
use crate::report::case::three;
use crate::report::inspection::about::day;
use crate::sizing::{Answer, Basin, Case, Check, Duty, Impossible, Measure, Outcome, Study};
use crate::weather::DailyWeather;
use no_pond::{no_pond, who_decides};
use smaller::{one_or_other, one_smaller};

pub use crate::report::basin::json::json;

/// Years below which a record of weather is called short: an engineer asks for ten at least, better 20 to 30 (common
/// practice, no source).
pub const FEW_YEARS: f64 = 10.0;

/// What a basin document is made from.
#[derive(Debug, Clone, Copy)]
pub struct BasinCase<'a> {
    /// The question and how it came out.
    pub study: &'a Study,
    /// The facility, with the pond in it.
    pub facility: &'a Facility,
    /// The pond.
    pub pond: PlaceId,
    /// Whether the pond is not in the facility as it stands.
    pub not_built: bool,
    /// The weather of the years.
    pub weather: &'a DailyWeather,
    /// First and last day of the years.
    pub period: (NaiveDate, NaiveDate),
    /// The files read.
    pub files: &'a [FileRead],
    /// SHA-256 over all of them.
    pub digest: &'a str,
    /// Problems told that are not errors, in words.
    pub warnings: &'a [String],
}

impl<'a> BasinCase<'a> {
    /// The pond's name.
    pub fn name(&self) -> &'a str {
        self.facility.get(self.pond).map_or("", |place| &place.name)
    }

    /// Years of weather.
    pub fn years(&self) -> f64 {
        crate::compare::years_of_days(self.study.basics.days as f64)
    }

    pub(crate) fn units(&self) -> Units {
        Units::of(self.facility.system)
    }
}

/// The units a basin is spoken of in.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Units {
    /// Lengths and levels: name, from m, digits.
    pub length: (&'static str, f64, u8),
    /// Water and ground: name, from m².
    pub area: (&'static str, f64),
    /// Water: name, from m³.
    pub volume: (&'static str, f64),
    /// What is dug: name, from m³.
    pub earth: (&'static str, f64),
    /// Flow: name, from m³/s.
    pub flow: (&'static str, f64),
    /// Dry mass: name, from kg.
    pub mass: (&'static str, f64),
    /// Drained ground: name, from m².
    pub ground: (&'static str, f64),
}

// NIST Handbook 44, appendix C: all exact.
const FOOT_M: f64 = 0.3048;
const GALLON_M3: f64 = 0.003_785_411_784;
const CUBIC_YARD_M3: f64 = 0.764_554_857_984;
const ACRE_M2: f64 = 4_046.856_422_4;
const POUND_KG: f64 = 0.453_592_37;

impl Units {
    fn of(system: UnitSystem) -> Self {
        match system {
            UnitSystem::Us => Self {
                length: ("ft", 1.0 / FOOT_M, 1),
                area: ("ft²", 1.0 / (FOOT_M * FOOT_M)),
                volume: ("gal", 1.0 / GALLON_M3),
                earth: ("yd³", 1.0 / CUBIC_YARD_M3),
                flow: ("gpm", 60.0 / GALLON_M3),
                mass: ("lb", 1.0 / POUND_KG),
                ground: ("acre", 1.0 / ACRE_M2),
            },
            UnitSystem::Metric => Self {
                length: ("m", 1.0, 2),
                area: ("m²", 1.0),
                volume: ("m³", 1.0),
                earth: ("m³", 1.0),
                flow: ("m³/h", 3600.0),
                mass: ("kg", 1.0),
                ground: ("ha", 1e-4),
            },
        }
    }

    pub fn m(self, si: f64) -> String {
        let (name, per, digits) = self.length;
        with_unit(si * per, digits, name)
    }

    pub fn m3(self, si: f64) -> String {
        with_unit(round(si * self.volume.1), 0, self.volume.0)
    }

    pub fn m2(self, si: f64) -> String {
        with_unit(round(si * self.area.1), 0, self.area.0)
    }

    /// A figure of a sentence, three digits.
    fn about(self, si: f64, (name, per): (&'static str, f64)) -> String {
        with_unit(three(si * per), 0, name)
    }

    pub fn flow(self, si: f64) -> String {
        let value = si * self.flow.1;
        with_unit(value, u8::from(value < 20.0), self.flow.0)
    }
}

/// Four significant digits: no pond is known better.
pub(crate) fn round(value: f64) -> f64 {
    if value == 0.0 || !value.is_finite() {
        return value;
    }
    let scale = 10f64.powf(3.0 - value.abs().log10().floor());
    (value * scale).round() / scale
}

/// A number with about three digits, for rates and shares; a whole one without its noughts.
pub(crate) fn few(value: f64) -> String {
    let size = value.abs();
    let digits = if size >= 100.0 || (value - value.round()).abs() < 1e-9 {
        0
    } else if size >= 10.0 {
        1
    } else {
        2
    };
    number(value, digits)
}

pub(crate) fn percent(share: f64) -> String {
    let value = share * 100.0;
    with_unit(value, u8::from(!(10.0..=99.0).contains(&value)), "%")
}

/// Money to three digits and the nearest whole unit.
pub(crate) fn money(case: &BasinCase, amount: f64) -> Option<String> {
    let prices = case.study.demands.duties.prices.as_ref()?;
    let scale = 10f64.powf((amount.abs().max(1.0).log10().floor() - 2.0).max(0.0));
    Some(with_unit((amount / scale).round() * scale, 0, &prices.money))
}

/// A figure of a check in words.
pub(crate) fn figure(units: Units, measure: Measure, value: f64) -> String {
    match measure {
        Measure::Share => percent(value),
        Measure::Volume => units.m3(value),
        Measure::TimesAYear if value == 0.0 => "none".to_owned(),
        Measure::TimesAYear => format!("{} a year", few(value)),
        Measure::DaysAYear if value == 0.0 => "no day".to_owned(),
        Measure::DaysAYear => format!("{} days a year", few(value)),
        Measure::Days => format!("{} days", number(value, 0)),
        Measure::Speed => with_unit(value * 1000.0, 1, "mm/s"),
    }
}

/// The document.
pub fn document(case: &BasinCase) -> Document {
    let mut doc = Document::new(
        format!("Least pond: {}", case.name()),
        case.facility.name.clone(),
        format!("weather of {} to {}", day(case.period.0), day(case.period.1)),
    );
    doc.digest = case.digest.to_owned();
    doc.dated = Some(case.period.1);
    doc.paper = match case.facility.paper {
        Paper::Letter => crate::page::document::Paper::Letter,
        Paper::A4 => crate::page::document::Paper::A4,
    };
    let duties = &case.study.demands.duties;
    doc.permit_line("Duties", format!("{}; the least {} is asked for", duties.file, duties.least.words()));
    doc.permit_line(
        "Pond",
        if case.not_built {
            "not built; described by a proposal".to_owned()
        } else {
            "in the facility file; sized anew here".to_owned()
        },
    );
    match &case.study.outcome {
        Outcome::Pond(answer) => {
            page_one(case, answer, &mut doc);
            doc.page_break();
            basin_duties::write(case, Some(answer), &mut doc);
            basin_duties::layers(case, answer, &mut doc);
            basin_years::write(case, answer, &mut doc);
            basin_years::shapes(case, answer, &mut doc);
        }
        Outcome::None(impossible) => {
            no_pond(case, impossible, &mut doc);
            doc.page_break();
            if let Some((_, checks)) = &impossible.nearest {
                doc.heading(2, "The shape that comes nearest, duty by duty");
                doc.table(duties_table(case, checks, None));
            }
            basin_duties::write(case, None, &mut doc);
        }
    }
    basin_closing::write(case, &mut doc);
    doc
}

/// `150 ft long, 60 ft wide, 6.5 ft deep`.
pub(crate) fn sizes(units: Units, basin: &Basin) -> String {
    format!("{} long, {} wide and {} deep", units.m(basin.length_m), units.m(basin.width_m), units.m(basin.depth_m))
}

fn page_one(case: &BasinCase, answer: &Answer, doc: &mut Document) {
    let units = case.units();
    let basin = &answer.found.basin;
    doc.heading(2, "How big");
    let cost = answer.cost.and_then(|cost| money(case, cost));
    doc.paragraph(Text::new().bold(format!("{} at the spill level", sizes(units, basin))).plain(format!(
        ", sides {} to 1, bank top {} above the spill level. It holds {} at the spill level, with {} of water surface. \
                 Up to the bank top {} are dug and {} would be lined{}. Over the banks it takes {} by {}.",
        few(basin.slope).trim_end_matches('0').trim_end_matches('.'),
        units.m(basin.freeboard_m),
        units.about(basin.capacity_m3(), units.volume),
        units.about(basin.area_m2(basin.depth_m), units.area),
        units.about(basin.dug_m3(), units.earth),
        units.about(basin.lined_m2(), units.area),
        cost.map_or_else(String::new, |cost| format!(", about {cost} at the prices typed")),
        units.m(basin.over_banks_m().0),
        units.m(basin.over_banks_m().1),
    )));
    doc.paragraph(rests_on(case, answer));
    doc.heading(2, "What governs");
    doc.paragraph(Text::new().bold(governs(&answer.governs())).plain(one_smaller(units, answer)));
    doc.table(duties_table(case, &answer.checks, Some(answer)));
    doc.heading(2, "How sure");
    doc.list(how_sure(case, answer));
    who_decides(doc);
}

/// `Contain the storm.`
pub(crate) fn governs(duties: &[Duty]) -> String {
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
    let so_many = |n: f64, word: &str| {
        let s = if n == 1.0 { "" } else { "s" };
        format!("{} {word}{s}", few(n))
    };
    let rests = format!("{} of weather, with {}", so_many(years, "year"), so_many(f64::from(spill.spills), "spill"));
    let may = spill.interval().map_or_else(String::new, |(low, high)| {
        format!("; by chance alone the true rate may be anything from {} to {} spills a year", two(low), two(high))
    });
    let text = if years < FEW_YEARS {
        Text::new().bold("Not yet to be built on: ").plain(format!("it rests on {rests}{may}."))
    } else {
        Text::from(format!("It rests on {rests}{may}."))
    };
    let lacking = answer.run.storm_room_lacking_days;
    // On more days than a few the storm would find the pond too full as a matter of course.
    if case.study.demands.duties.storm.is_none() || lacking * 10 <= spill.days {
        return text;
    }
    text.bold(" It holds the storm only if water is let out beforehand (a).")
}

/// `on 82 of 366 days`.
pub(crate) fn of_days(days: usize, of: usize) -> String {
    if days == 0 {
        "on no day".to_owned()
    } else if days >= of {
        "on every day".to_owned()
    } else {
        format!("on {} of {} days", number(days as f64, 0), number(of as f64, 0))
    }
}

/// A rate with two digits.
fn two(value: f64) -> String {
    number(
        value,
        match value.abs() {
            size if size >= 9.95 || size == 0.0 => 0,
            size if size >= 0.995 => 1,
            _ => 2,
        },
    )
}

pub(crate) fn duties_table(case: &BasinCase, checks: &[Check], answer: Option<&Answer>) -> Table {
    let units = case.units();
    let mut table = Table::new(vec![
        Column::words("Duty"),
        Column::words("Asked").right(),
        Column::words("This pond").right(),
        Column::words("Comes out"),
    ])
    .caption("The duties");
    let lacking = answer
        .filter(|_| case.study.demands.duties.storm.is_some())
        .filter(|answer| answer.run.storm_room_lacking_days > 0);
    let not_typed = case.study.demands.duties.spills.as_ref().is_some_and(|duty| !duty.longest_is_typed);
    for check in checks {
        table.traced(
            vec![
                Cell::words(first_capital(check.duty.words())),
                Cell::words(if check.duty == Duty::LongestSpill && not_typed {
                    format!("{} (b)", asked(units, check))
                } else {
                    asked(units, check)
                }),
                Cell::known(figure(units, check.measure, check.has), Basis::Computed),
                Cell::known(
                    if !check.is_met() {
                        "does not"
                    } else if check.duty == Duty::Storm && lacking.is_some() {
                        "if kept low (a)"
                    } else {
                        "does it"
                    },
                    Basis::Computed,
                ),
            ],
            place_of(case, check.duty),
        );
    }
    if let Some(answer) = lacking {
        table.note(format!(
            "(a) Only while the water is kept at {} or lower; {} of the run it stood higher at the day's close.",
            units.m(answer.normal_m),
            of_days(answer.run.storm_room_lacking_days, answer.run.spill.days)
        ));
    }
    if not_typed && checks.iter().any(|check| check.duty == Duty::LongestSpill) {
        table.note("(b) Not typed (`lasting at most`): taken, common practice, no source.");
    }
    table.note("A volume stands with everything under it. All of it is computed, none measured.");
    table
}

fn asked(units: Units, check: &Check) -> String {
    let figure = figure(units, check.measure, check.asked);
    match check.measure {
        Measure::Share => format!("at least {figure}"),
        Measure::Volume => format!("room for {figure}"),
        Measure::TimesAYear | Measure::DaysAYear | Measure::Days | Measure::Speed => {
            format!("at most {figure}")
        }
    }
}

fn place_of(case: &BasinCase, duty: Duty) -> String {
    let duties = &case.study.demands.duties;
    let place = match duty {
        Duty::Settle | Duty::Stir => duties.settle.as_ref().map(|one| &one.place),
        Duty::CleanOut => duties.clean_out.as_ref().map(|one| &one.place),
        Duty::Pool => duties.pool.as_ref().map(|one| &one.place),
        Duty::Hold => duties.hold.as_ref().map(|one| &one.place),
        Duty::Storm => duties.storm.as_ref().map(|one| &one.place),
        Duty::Spills | Duty::LongestSpill => duties.spills.as_ref().map(|one| &one.place),
        Duty::Shortage => duties.shortage.as_ref().map(|one| &one.place),
    };
    place.map(ToString::to_string).unwrap_or_default()
}

fn how_sure(case: &BasinCase, answer: &Answer) -> Vec<Text> {
    let spill = &answer.run.spill;
    let mut list = Vec::new();
    let years = case.years();
    let mut words = match spill.spill_days {
        0 => "It never spilled.".to_owned(),
        1 => "It spilled on 1 day in all.".to_owned(),
        days => format!("It spilled on {days} days in all."),
    };
    if spill.interval().is_some() {
        words.push_str(" The interval is the exact 95 % one, for independent spills and weather that stays the same.");
    }
    if years < FEW_YEARS {
        words.push_str(" Engineers ask for 10 years or more (common practice).");
    }
    list.push(Text::from(words));
    if case.study.basics.unknown_days > 0 {
        list.push(Text::from(format!(
            "{} the rain is not known; it was taken as none, so spills may be too few.",
            first_capital(&of_days(case.study.basics.unknown_days, case.study.basics.days))
        )));
    }
    let lacking = answer.run.storm_room_lacking_days;
    // On many days, that stands beside the answer already.
    if case.study.demands.duties.storm.is_some() && lacking * 10 <= spill.days && spill.days > 0 {
        list.push(Text::from(if lacking == 0 {
            "The room for the storm was free at the close of every day of the run.".to_owned()
        } else {
            "For the storm a pump or a low outlet must let water out beforehand (a).".to_owned()
        }));
    }
    let mut words = what_breaks(answer);
    for one in &answer.cases {
        if let Some(sooner) = cleaned_out_sooner(case, one) {
            words.push_str(&format!(" With {} {sooner}.", one.what));
        }
    }
    list.push(Text::from(words));
    list
}

/// `clean it out every 4 years`, where more sludge than was taken fills its store sooner than asked: the store is made
/// for what was taken, so that breaks no duty.
pub(crate) fn cleaned_out_sooner(case: &BasinCase, one: &Case) -> Option<String> {
    let asked = case.study.demands.duties.clean_out.as_ref()?.every_years;
    let years = one.clean_out_years.filter(|years| *years < asked - 1e-9)?;
    Some(format!("clean it out every {} years", few(years)))
}

/// What could be otherwise, and what it would break.
fn what_breaks(answer: &Answer) -> String {
    // Those that break alike are told together.
    let mut broken: Vec<(Vec<&str>, String)> = Vec::new();
    let failing = answer.cases.iter().filter(|one| !one.fails.is_empty());
    let mut many = 0;
    for one in failing {
        many += 1;
        let fails: Vec<&str> = one.fails.iter().map(|duty| duty.fails()).collect();
        let how = format!("it {}", fails.join(" and "));
        match broken.iter_mut().find(|(_, known)| *known == how) {
            Some((whats, _)) => whats.push(one.what),
            None => broken.push((vec![one.what], how)),
        }
    }
    let told: Vec<String> = broken.iter().map(|(whats, how)| format!("with {} {how}", one_or_other(whats))).collect();
    let tried = answer.cases.len().saturating_sub(1);
    match many {
        0 => {
            format!("Of {tried} things that could be otherwise none breaks a duty (see “What if”).")
        }
        1 => format!("Of {tried} things that could be otherwise (see “What if”) 1 breaks a duty: {}.", told.join("; ")),
        many => format!(
            "Of {tried} things that could be otherwise (see “What if”) {many} break a duty: {}.",
            told.join("; ")
        ),
    }
}
