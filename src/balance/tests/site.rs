//! A small builder of facilities for tests.

use std::path::PathBuf;

use chrono::{NaiveDate, NaiveDateTime, NaiveTime};
use uom::si::area::square_meter;
use uom::si::f64::{Area, Length, Mass, MassDensity, Ratio, Velocity, Volume, VolumeRate};

use uom::si::mass::kilogram;
use uom::si::mass_density::{gram_per_cubic_meter, kilogram_per_cubic_meter};
use uom::si::ratio::ratio;

use uom::si::velocity::meter_per_second;
use uom::si::volume::cubic_meter;
use uom::si::volume_rate::cubic_meter_per_second;

use crate::balance::{Draw, Run, run, run_since};
use crate::facility::kinds::{FilterKind, PressureScreen};
use crate::facility::model::*;
use crate::files::Given;
use crate::quantity::{Range, Stated};
use crate::records::{Level, LevelKind, MeterSpan, Qualifier, Sample, Source, Timeline, WashCount};
use crate::told::Place;
use crate::weather::{DailyWeather, RainDay};

pub fn first_day() -> NaiveDate {
    NaiveDate::from_ymd_opt(2025, 1, 1).unwrap()
}

pub fn given<Q: Copy>(low: Q, high: Q, key: &str) -> Given<Q> {
    Given {
        stated: Stated::Known(Range { low, high }),
        text: String::new(),
        place: Place::file("test"),
        key: key.to_owned(),
    }
}

pub fn g<Q: Copy>(value: Q) -> Given<Q> {
    given(value, value, "x")
}

pub fn m3(v: f64) -> Volume {
    Volume::new::<cubic_meter>(v)
}
pub fn m3_d(v: f64) -> VolumeRate {
    VolumeRate::new::<cubic_meter_per_second>(v / 86_400.0)
}
pub fn m(v: f64) -> Length {
    Length::new::<uom::si::length::meter>(v)
}
pub fn um(v: f64) -> Length {
    Length::new::<uom::si::length::micrometer>(v)
}
pub fn mm(v: f64) -> Length {
    Length::new::<uom::si::length::millimeter>(v)
}
pub fn m2(v: f64) -> Area {
    Area::new::<square_meter>(v)
}
pub fn kg(v: f64) -> Mass {
    Mass::new::<kilogram>(v)
}
pub fn part(v: f64) -> Ratio {
    Ratio::new::<ratio>(v)
}
pub fn mg_l(v: f64) -> MassDensity {
    MassDensity::new::<gram_per_cubic_meter>(v)
}
pub fn m_d(v: f64) -> Velocity {
    Velocity::new::<meter_per_second>(v / 86_400.0)
}

/// A facility under construction.
pub struct Site {
    pub facility: Facility,
    pub timeline: Timeline,
    pub rain_mm: Vec<f64>,
    pub evaporation_mm: f64,
    pub temperature_c: f64,
}

impl Site {
    pub fn new() -> Self {
        Self {
            facility: Facility {
                name: "test".into(),
                place: Place::file("test"),
                directory: PathBuf::new(),
                system: UnitSystem::Metric,
                paper: Paper::A4,
                rules: None,
                records: None,
                day_starts: NaiveTime::from_hms_opt(7, 0, 0).unwrap(),
                day_bears_its_end: false,
                period: None,
                steps_per_day: StepsPerDay::AsNeeded,
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
            },
            timeline: Timeline::default(),
            rain_mm: Vec::new(),
            evaporation_mm: 0.0,
            temperature_c: 15.0,
        }
    }

    /// A kind of solids; floats unless it has a density.
    pub fn solids(&mut self, name: &str, density: Option<f64>, half_um: f64, nine_um: f64) -> &mut Self {
        self.facility.solids.push(SolidsKind {
            name: name.into(),
            place: Place::file("test"),
            density: density.map(|d| g(MassDensity::new::<kilogram_per_cubic_meter>(d))),
            floats: density.is_none(),
            half_finer: g(um(half_um)),
            nine_tenths_finer: g(um(nine_um)),
            holds: Vec::new(),
        });
        self
    }

    pub fn dissolved(&mut self, name: &str) -> &mut Self {
        self.facility.dissolved.push(Dissolved { name: name.into(), place: Place::file("test"), one_ms_per_cm: None });
        self
    }

    pub fn add(&mut self, name: &str, kind: PlaceKind) -> PlaceId {
        self.facility.places.push(SitePlace { name: name.into(), place: Place::file("test"), kind });
        PlaceId(self.facility.places.len() - 1)
    }

    pub fn supply(&mut self, name: &str, most_m3_d: Option<f64>, brings: &[(&str, f64)]) -> PlaceId {
        self.add(
            name,
            PlaceKind::Supply(Supply {
                gives_at_most: most_m3_d.map(|v| g(m3_d(v))),
                when: None,
                brings: concentrations(brings),
            }),
        )
    }

    pub fn outside(&mut self, name: &str) -> PlaceId {
        self.add(
            name,
            PlaceKind::DischargePoint(DischargePoint {
                kind: DischargeKind::SurfaceWater,
                into: None,
                looked_at: None,
                takes_at_most: None,
                area: None,
                holds: None,
                weir: None,
            }),
        )
    }

    pub fn meter(&mut self, from: PlaceId, to: PlaceId, what: Option<&str>) -> usize {
        self.facility.meters.push(Meter {
            name: format!("M{}", self.facility.meters.len()),
            place: Place::file("test"),
            from,
            to,
            what: what.map(str::to_owned),
            counts_in: "m3".into(),
            one_count_m3: 1.0,
            digits: 6,
            read_at: None,
            exchanged: Vec::new(),
            off_by: None,
            weir: None,
        });
        self.facility.meters.len() - 1
    }

    /// What a meter counted on days from `day` on.
    pub fn counted(&mut self, meter: usize, day: i64, span: u32, volume_m3: f64) {
        let first = first_day() + chrono::Duration::days(day);
        let last = first + chrono::Duration::days(i64::from(span));
        let at = |date: NaiveDate| NaiveDateTime::new(date, self.facility.day_starts);
        self.timeline.meter_spans.push(MeterSpan {
            meter,
            from: at(first),
            to: at(last),
            first_day: first,
            days: span,
            hours_known: (true, true),
            on_the_day: true,
            volume_m3,
            counts: volume_m3.to_string(),
            unit: "m3".into(),
            before: None,
            after: source(),
            head: None,
            carried: false,
        });
    }

    pub fn level(&mut self, at: PlaceId, day: i64, kind: LevelKind, value_si: f64) {
        self.timeline.levels.push(Level {
            at,
            day: first_day() + chrono::Duration::days(day),
            time: None,
            kind,
            value_si,
            value: value_si.to_string(),
            unit: "m".into(),
            source: source(),
        });
    }

    pub fn washes(&mut self, filter: PlaceId, day: i64, count: u32) {
        self.timeline.washes.push(WashCount {
            filter,
            first_day: first_day() + chrono::Duration::days(day),
            days: 1,
            count,
            minutes: None,
            changes: false,
            source: source(),
        });
    }

    pub fn sample(&mut self, at: PlaceId, day: i64, parameter: &str, mg_l: f64) {
        self.timeline.samples.push(Sample {
            at,
            day: first_day() + chrono::Duration::days(day),
            time: None,
            parameter: parameter.into(),
            value: Some(mg_l.to_string()),
            unit: Some("mg/L".into()),
            qualifier: Qualifier::None,
            kind: None,
            source: source(),
        });
    }

    pub fn weather(&self, days: usize) -> DailyWeather {
        let mut weather = DailyWeather::nothing_known(first_day(), days);
        for (i, day) in weather.rain.iter_mut().enumerate() {
            let mm = self.rain_mm.get(i).copied().unwrap_or(0.0);
            *day = RainDay { depth_mm: Some(mm), low_mm: mm, high_mm: mm, measured: true };
        }
        weather.evaporation_m.fill(Some(self.evaporation_mm / 1000.0));
        weather.water_temperature_c.fill(Some(self.temperature_c));
        weather
    }

    pub fn period(&self, days: i64) -> (NaiveDate, NaiveDate) {
        (first_day(), first_day() + chrono::Duration::days(days - 1))
    }

    pub fn run(&self, days: i64) -> Run {
        self.run_as(days, &Draw::MIDDLE)
    }

    /// Run from the first day, booked from the day of a number on.
    pub fn run_since(&self, booked: i64, days: i64) -> Run {
        let (first, last) = self.period(days);
        run_since(
            &self.facility,
            &self.weather(usize::try_from(days).unwrap()),
            &self.timeline,
            first,
            (first + chrono::Duration::days(booked), last),
            &Draw::MIDDLE,
        )
        .unwrap_or_else(|problems| panic!("{:?}", problems.in_order()))
    }

    pub fn run_as(&self, days: i64, draw: &Draw) -> Run {
        run(&self.facility, &self.weather(usize::try_from(days).unwrap()), &self.timeline, self.period(days), draw)
            .unwrap_or_else(|problems| panic!("{:?}", problems.in_order()))
    }
}

pub fn source() -> Source {
    Source { place: Place::file("test"), paper: None, received: None, who: None, note: None }
}

pub fn concentrations(of: &[(&str, f64)]) -> Concentrations {
    of.iter().map(|(name, value)| ((*name).to_owned(), g(mg_l(*value)))).collect()
}

pub fn to(place: PlaceId) -> Outflow {
    Outflow::InOrder(vec![Step { place: Place::file("test"), to: place, at_most: None }])
}

pub fn tank(holds: f64, lowest: f64, holding: f64, overflows_to: Option<PlaceId>) -> Tank {
    Tank {
        holds: g(m3(holds)),
        lowest: Some(g(m3(lowest))),
        at_the_start: StartState { holding: Some(g(m3(holding))), level: None, solids: Vec::new() },
        filled_from: None,
        pumped_out: None,
        emptied_by: None,
        overflows_to: overflows_to.map(to),
    }
}

pub fn user(demand_m3_d: f64, returns: f64, takes_from: &[PlaceId], goes_to: Option<PlaceId>) -> Use {
    Use {
        kind: UseKind::Washdown,
        amount: UseAmount::PerDay(g(m3_d(demand_m3_d))),
        when: When::default(),
        returns: g(part(returns)),
        picks_up: Vec::new(),
        feed_added: Vec::new(),
        takes_from: takes_from.to_vec(),
        turn: 1,
        runs: None,
        goes_to: goes_to.map(to),
    }
}

pub fn filter(kind: FilterKind) -> Filter {
    Filter {
        kind,
        stops: Capture::AllSolids(g(part(1.0))),
        opening: None,
        handles_at_most: None,
        above_that: None,
        takes_from: Vec::new(),
        turn: 1,
        goes_to: None,
        wash: None,
        change: None,
        screenings: None,
        spent_media_to: None,
        stands_still: None,
        motor: None,
    }
}

/// A pressure screen washed at a load, with so much water.
pub fn screen(load_kg: f64, wash_m3: f64, with: WashWater, wash_to: PlaceId) -> Filter {
    Filter {
        wash: Some(Wash {
            cadence: Cadence {
                by_log: true,
                triggers: vec![Trigger::Solids(g(kg(load_kg)))],
                at: None,
                never_between: None,
            },
            rate: None,
            flux: None,
            lasts: None,
            vessels: 1,
            volume: Some(g(m3(wash_m3))),
            rinse: None,
            drained: None,
            with,
            to: to(wash_to),
            holds_before: None,
            removes: None,
        }),
        ..filter(FilterKind::PressureScreen(PressureScreen { in_line: 1, self_cleaning: true }))
    }
}
