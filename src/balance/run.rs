//! One run: the whole ledger of a facility over a period.

use chrono::{Datelike, Days, NaiveDate};

use crate::balance::book::Book;
use crate::balance::findings::FacilityFinding;
use crate::balance::plan::{self, Assumption, Compiled, Draw, Input};
use crate::balance::step::{Engine, Forcing};
use crate::balance::{BoundRider, Ledger, Shape};
use crate::facility::model::{Facility, PlaceKind};
use crate::quantity::days_of;
use crate::records::Timeline;
use crate::science::ponds;
use crate::told::{Problem, Problems};
use crate::weather::DailyWeather;

/// Temperature of the water where nothing says, °C.
pub(crate) const WATER_C: f64 = 15.0;

/// A run and what belongs to it.
#[derive(Debug, Clone)]
pub struct Run {
    /// The ledger.
    pub ledger: Ledger,
    /// What a reader should know about how the run was made.
    pub notes: Vec<String>,
    /// Every value used that no record gave, by key.
    pub assumptions: Vec<Assumption>,
    /// Steps per day that were used.
    pub steps_per_day: u32,
    /// What the run shows about the facility itself.
    pub findings: Vec<FacilityFinding>,
    /// Which run it is.
    pub draw: Draw,
}

/// The weather of each day of a run, in the step's terms.
pub(crate) fn forcings(weather: &DailyWeather, first: NaiveDate, days: usize) -> Vec<Forcing> {
    (0..days)
        .map(|day| {
            let date = first.checked_add_days(Days::new(day as u64)).unwrap_or(first);
            let index = index_of(weather, date);
            let rain_m = |date: NaiveDate| {
                weather.depth_mm_on(date).filter(|mm| mm.is_finite() && *mm > 0.0).map_or(0.0, |mm| mm / 1000.0)
            };
            let evaporation_m = index
                .and_then(|i| weather.evaporation_m.get(i).copied().flatten())
                .filter(|e| e.is_finite() && *e > 0.0)
                .unwrap_or(0.0);
            let temperature = index
                .and_then(|i| weather.water_temperature_c.get(i).copied().flatten())
                .filter(|t| t.is_finite())
                .unwrap_or(WATER_C)
                .clamp(0.0, 40.0);
            let degree = (temperature.floor() as usize).min(39);
            Forcing {
                day,
                month: date.month0() as usize % 12,
                rain_m: rain_m(date),
                rain_before_m: date.pred_opt().map_or(0.0, rain_m),
                rain_five_m: (1..=5)
                    .map(|before| {
                        date.checked_sub_days(Days::new(before))
                            .and_then(|d| weather.depth_mm_on(d))
                            .map_or(f64::NAN, |mm| mm.max(0.0) / 1000.0)
                    })
                    .sum(),
                evaporation_m,
                degree,
                part_of_degree: temperature - degree as f64,
            }
        })
        .collect()
}

/// The place of a day in the weather.
pub(crate) fn index_of(weather: &DailyWeather, date: NaiveDate) -> Option<usize> {
    usize::try_from((date - weather.first_day).num_days()).ok().filter(|i| *i < weather.rain.len())
}

/// Runs a facility over a period (both days belonging to it), with one draw.
///
/// # Errors
/// What makes a balance impossible (each with its place in the facility's file), or a ledger that does not balance,
/// which would be an error of this program.
pub fn run(
    facility: &Facility,
    weather: &DailyWeather,
    timeline: &Timeline,
    period: (NaiveDate, NaiveDate),
    draw: &Draw,
) -> Result<Run, Problems> {
    run_since(facility, weather, timeline, period.0, period, draw)
}

/// The same, run from an earlier day (that of what is typed `at the start`) and booked from the first day of the period:
/// stores open with what records and the days before left in them. `weather` covers the days before too.
///
/// # Errors
/// As [`run`].
pub fn run_since(
    facility: &Facility,
    weather: &DailyWeather,
    timeline: &Timeline,
    since: NaiveDate,
    period: (NaiveDate, NaiveDate),
    draw: &Draw,
) -> Result<Run, Problems> {
    let since = since.min(period.0);
    let all = Input { facility, timeline, first_day: since, days: days_of((since, period.1)), middle: None };
    let input = Input { facility, timeline, first_day: period.0, days: days_of(period), middle: None };
    let lead = all.days - input.days;
    let compiled = plan::compile(all, draw)?;
    let forcings = forcings(weather, since, all.days);
    let mut book = Book::new(&input, &compiled, weather, lead);
    let mut engine = Engine::<1>::new(&compiled.plan, [compiled.plan.params.as_slice()]);
    for (at, (forcing, records)) in forcings.iter().zip(&compiled.records).enumerate() {
        if at == lead {
            book.opening(&engine);
        }
        engine.run_day(forcing, records);
        match at.checked_sub(lead) {
            Some(day) => book.day(day, &engine, &compiled),
            None => book.day_before(at, &compiled),
        }
    }
    if forcings.len() <= lead {
        book.opening(&engine);
    }
    let mut ledger = book.ledger;
    ledger.memos.sort_by_key(|memo| (memo.day, memo.place, memo.kind));
    ledger.check().map_err(|error| {
        let problems = Problems::new();
        problems.add(Problem::error(&facility.place, error.to_string()));
        problems
    })?;
    let mut notes = compiled.notes.clone();
    notes.extend(book.notes);
    let water_c: Vec<f64> = forcings.iter().skip(lead).map(|f| f.degree as f64 + f.part_of_degree).collect();
    let findings = book.gather.finish(facility, &compiled.plan, &ledger, &water_c, &mut notes);
    Ok(Run {
        findings,
        ledger,
        notes,
        assumptions: compiled.assumptions.clone(),
        steps_per_day: compiled.plan.steps_per_day,
        draw: *draw,
    })
}

/// The shape of a ledger.
pub(crate) fn shape(input: &Input<'_>, compiled: &Compiled) -> Shape {
    let facility = input.facility;
    Shape {
        first_day: input.first_day,
        days: input.days,
        place_names: facility.places.iter().map(|p| p.name.clone()).collect(),
        outside: facility
            .places
            .iter()
            .map(|p| matches!(p.kind, PlaceKind::Supply(_) | PlaceKind::DischargePoint(_)))
            .collect(),
        ways: compiled.plan.edges.iter().map(|e| e.way).collect(),
        kind_names: facility.solids.iter().map(|k| k.name.clone()).collect(),
        class_upper_m: compiled.class_upper_m.clone(),
        parcels: compiled.plan.parcels.clone(),
        dissolved_names: facility.dissolved.iter().map(|d| d.name.clone()).collect(),
        bound: compiled.bound.clone(),
    }
}

/// Content of solids-bound riders, drawn.
pub(crate) fn bound_riders(
    facility: &Facility,
    mut value: impl FnMut(&crate::files::Given<uom::si::f64::Ratio>) -> (f64, bool),
) -> Vec<BoundRider> {
    facility
        .solids
        .iter()
        .enumerate()
        .flat_map(|(kind, solids)| solids.holds.iter().map(move |(name, given)| (kind, name, given)))
        .map(|(kind, name, given)| {
            let (content, unknown) = value(given);
            BoundRider { name: name.clone(), kind, content, unknown }
        })
        .collect()
}

/// Level, area and the rest of a pond from its volumes.
pub(crate) struct PondLevels<'a> {
    pub shape: &'a ponds::Shape,
}

impl PondLevels<'_> {
    /// Level of a total volume (sludge with it), m.
    pub fn level_m(&self, total_m3: f64) -> f64 {
        let volume = uom::si::f64::Volume::new::<uom::si::volume::cubic_meter>(total_m3);
        self.shape.level_at(volume).value.value
    }

    /// Water surface at a level, m².
    pub fn area_m2(&self, level_m: f64) -> f64 {
        let level = uom::si::f64::Length::new::<uom::si::length::meter>(level_m);
        self.shape.area_at(level).value.value
    }

    /// The floor, m.
    pub fn floor_m(&self) -> f64 {
        self.shape.lowest_level().value
    }
}
