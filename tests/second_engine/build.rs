//! Builds places directly in the checked model, for tests.

use std::path::PathBuf;
use std::sync::Arc;

use bywash::facility::model::*;
use bywash::files::Given;
use bywash::quantity::{Range, Stated};
use bywash::records::{MeterSpan, Source};
use bywash::told::Place;
use bywash::weather::{DailyWeather, RainDay};
use chrono::{NaiveDate, NaiveTime};
use uom::si::f64::*;

pub fn nowhere() -> Place {
    Place::line(&Arc::from("facility.yaml"), 1)
}

pub fn given_range<Q: Copy>(low: Q, high: Q) -> Given<Q> {
    Given { stated: Stated::Known(Range { low, high }), text: String::new(), place: nowhere(), key: String::new() }
}

pub fn exactly<Q: Copy>(value: Q) -> Given<Q> {
    given_range(value, value)
}

macro_rules! maker {
    ($name:ident, $quantity:ty, $unit:path) => {
        pub fn $name(value: f64) -> Given<$quantity> {
            exactly(<$quantity>::new::<$unit>(value))
        }
    };
}

maker!(ratio, Ratio, uom::si::ratio::ratio);
maker!(metres, Length, uom::si::length::meter);
maker!(micrometres, Length, uom::si::length::micrometer);
maker!(square_metres, Area, uom::si::area::square_meter);
maker!(cubic_metres, Volume, uom::si::volume::cubic_meter);
maker!(kilograms, Mass, uom::si::mass::kilogram);
maker!(kilograms_m3, MassDensity, uom::si::mass_density::kilogram_per_cubic_meter);

pub fn m3_a_day(value: f64) -> Given<VolumeRate> {
    exactly(VolumeRate::new::<uom::si::volume_rate::cubic_meter_per_second>(value / 86_400.0))
}

pub fn kg_a_day(value: f64) -> Given<MassRate> {
    exactly(MassRate::new::<uom::si::mass_rate::kilogram_per_second>(value / 86_400.0))
}

pub fn metres_a_day(value: f64) -> Given<Velocity> {
    exactly(Velocity::new::<uom::si::velocity::meter_per_second>(value / 86_400.0))
}

pub fn hours(value: f64) -> Given<Time> {
    exactly(Time::new::<uom::si::time::second>(value * 3600.0))
}

pub fn kilograms_m2(value: f64) -> Given<ArealMassDensity> {
    exactly(
        Length::new::<uom::si::length::meter>(value)
            * MassDensity::new::<uom::si::mass_density::kilogram_per_cubic_meter>(1.0),
    )
}

pub fn to(place: PlaceId) -> Outflow {
    Outflow::InOrder(vec![Step { to: place, place: nowhere(), at_most: None }])
}

pub fn source() -> Source {
    Source { place: nowhere(), paper: None, received: None, who: None, note: None }
}

pub fn day(n: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(2024, 11, n).expect("a date")
}

/// A facility with nothing in it.
pub fn empty() -> Facility {
    Facility {
        name: "Test".into(),
        place: nowhere(),
        directory: PathBuf::new(),
        system: UnitSystem::Metric,
        paper: Paper::A4,
        rules: None,
        records: None,
        day_starts: NaiveTime::from_hms_opt(0, 0, 0).expect("a time"),
        day_bears_its_end: false,
        period: None,
        steps_per_day: StepsPerDay::Exactly(1),
        seasons: Vec::new(),
        elevation: None,
        latitude: None,
        weather: Weather { rain: None, temperatures: None, evaporation: None, water_temperature: None },
        solids: Vec::new(),
        dissolved: Vec::new(),
        meters: Vec::new(),
        places: Vec::new(),
        hold_sample_for: None,
        picture: Vec::new(),
    }
}

pub fn place(facility: &mut Facility, name: &str, kind: PlaceKind) -> PlaceId {
    facility.places.push(SitePlace { name: name.into(), place: nowhere(), kind });
    PlaceId(facility.places.len() - 1)
}

/// A kind of solids of nearly one size: all of it in one class.
pub fn one_size(name: &str, size_um: f64, density_kg_m3: f64) -> SolidsKind {
    SolidsKind {
        name: name.into(),
        place: nowhere(),
        density: Some(kilograms_m3(density_kg_m3)),
        floats: false,
        half_finer: micrometres(size_um),
        nine_tenths_finer: micrometres(size_um),
        holds: Vec::new(),
    }
}

pub fn supply() -> PlaceKind {
    PlaceKind::Supply(Supply { gives_at_most: None, when: None, brings: Vec::new() })
}

pub fn discharge() -> PlaceKind {
    PlaceKind::DischargePoint(DischargePoint {
        kind: DischargeKind::SurfaceWater,
        into: None,
        looked_at: None,
        takes_at_most: None,
        area: None,
        holds: None,
        weir: None,
    })
}

pub fn tank(holds_m3: f64, lowest_m3: f64, holding_m3: f64, over: PlaceId) -> Tank {
    Tank {
        holds: cubic_metres(holds_m3),
        lowest: Some(cubic_metres(lowest_m3)),
        at_the_start: StartState { holding: Some(cubic_metres(holding_m3)), level: None, solids: Vec::new() },
        filled_from: None,
        pumped_out: None,
        emptied_by: None,
        overflows_to: Some(to(over)),
    }
}

pub fn a_use(amount_m3_d: f64, returns: f64, from: PlaceId, turn: u32, back: PlaceId) -> Use {
    Use {
        kind: UseKind::Drip,
        amount: UseAmount::PerDay(m3_a_day(amount_m3_d)),
        when: When::default(),
        returns: ratio(returns),
        picks_up: Vec::new(),
        feed_added: Vec::new(),
        takes_from: vec![from],
        turn,
        runs: None,
        goes_to: Some(to(back)),
    }
}

/// A pond with straight sides in area: `area0` at the floor, `area1` at the spill level.
pub fn pond(depth: f64, area0: f64, area1: f64, cells: u32, holding_m3: f64, over: PlaceId) -> Pond {
    let row = |level, area| LevelRow { level: metres(level), area: square_metres(area) };
    Pond {
        shape: PondShape::Table { rows: vec![row(0.0, area0), row(depth, area1)], spill_level: metres(depth) },
        freeboard_above_spill: None,
        lowest_pump_level: None,
        cells,
        seepage: None,
        sludge: None,
        at_the_start: StartState { holding: Some(cubic_metres(holding_m3)), level: None, solids: Vec::new() },
        filled_from: None,
        pumped_out: None,
        spills_to: Some(to(over)),
    }
}

/// Dry days without evaporation from 1 November 2024 (the day before included).
pub fn dry_weather(days: usize) -> DailyWeather {
    let dry = RainDay { depth_mm: Some(0.0), low_mm: 0.0, high_mm: 0.0, measured: true };
    DailyWeather {
        first_day: day(1),
        rain: vec![dry; days],
        rain_before: Vec::new(),
        readings: Vec::new(),
        evaporation_m: vec![Some(0.0); days],
        evaporation_method: None,
        water_temperature_c: vec![Some(15.0); days],
        repairs: Vec::new(),
        sources: Vec::new(),
    }
}

/// What a meter counted from a day of November 2024.
pub fn span(meter: usize, first: u32, days: u32, volume_m3: f64) -> MeterSpan {
    let from = day(first).and_hms_opt(0, 0, 0).expect("a time");
    MeterSpan {
        meter,
        from,
        to: from + chrono::Duration::days(i64::from(days)),
        first_day: day(first),
        days,
        hours_known: (true, true),
        on_the_day: true,
        volume_m3,
        counts: volume_m3.to_string(),
        unit: "m3".into(),
        before: None,
        after: source(),
        head: None,
        carried: false,
    }
}
