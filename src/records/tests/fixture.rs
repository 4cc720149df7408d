//! A small invented facility and a way to read records typed in a test.

use std::path::PathBuf;
use std::sync::Arc;

use chrono::{NaiveDate, NaiveTime};
use uom::si::f64::{Length, Ratio, Volume, VolumeRate};
use uom::si::length::foot;
use uom::si::ratio::ratio;
use uom::si::volume::cubic_meter;
use uom::si::volume_rate::cubic_meter_per_second;

use crate::facility::kinds::{FilterKind, ShallowMediaBed};
use crate::facility::model::{
    Capture, DischargeKind, DischargePoint, Facility, Filter, Meter, Outflow, Paper, PlaceId, PlaceKind, Pond,
    PondShape, SitePlace, StartState, StepsPerDay, Supply, Tank, UnitSystem, Weather,
};
use crate::files::{Given, Sources};
use crate::quantity::{Range, Stated, meter_unit};
use crate::records::Timeline;
use crate::told::{Place, Problems};

pub(crate) fn date(text: &str) -> NaiveDate {
    NaiveDate::parse_from_str(text, "%Y-%m-%d").unwrap()
}

fn place() -> Place {
    Place::line(&Arc::from("facility.yaml"), 1)
}

fn given<Q: Copy>(value: Q) -> Given<Q> {
    Given { stated: Stated::Known(Range::exactly(value)), text: String::new(), place: place(), key: String::new() }
}

fn site(name: &str, kind: PlaceKind) -> SitePlace {
    SitePlace { name: name.into(), place: place(), kind }
}

fn supply(gpm: Option<f64>) -> PlaceKind {
    PlaceKind::Supply(Supply {
        gives_at_most: gpm.map(|gpm| given(VolumeRate::new::<cubic_meter_per_second>(gpm * 3.785_411_784e-3 / 60.0))),
        when: None,
        brings: Vec::new(),
    })
}

fn pond() -> PlaceKind {
    PlaceKind::Pond(Box::new(Pond {
        shape: PondShape::Prismoid {
            length: given(Length::new::<foot>(250.0)),
            width: given(Length::new::<foot>(200.0)),
            depth: given(Length::new::<foot>(10.0)),
            side_slope: given(Ratio::new::<ratio>(3.0)),
        },
        freeboard_above_spill: None,
        lowest_pump_level: None,
        cells: 1,
        seepage: None,
        sludge: None,
        at_the_start: StartState::default(),
        filled_from: None,
        pumped_out: None,
        spills_to: None,
    }))
}

fn tank() -> PlaceKind {
    PlaceKind::Tank(Box::new(Tank {
        holds: given(Volume::new::<cubic_meter>(34.0)),
        lowest: None,
        at_the_start: StartState::default(),
        filled_from: None,
        pumped_out: None,
        emptied_by: None,
        overflows_to: None,
    }))
}

fn beds(goes_to: PlaceId) -> PlaceKind {
    PlaceKind::Filter(Box::new(Filter {
        kind: FilterKind::ShallowMediaBed(ShallowMediaBed {
            vessels: 4,
            diameter: given(Length::new::<foot>(4.0)),
            media: Vec::new(),
        }),
        stops: Capture::NotKnown,
        opening: None,
        handles_at_most: None,
        above_that: None,
        takes_from: Vec::new(),
        turn: 1,
        goes_to: Some(Outflow::InOrder(vec![crate::facility::model::Step {
            to: goes_to,
            place: place(),
            at_most: None,
        }])),
        wash: None,
        change: None,
        screenings: None,
        spent_media_to: None,
        stands_still: None,
        motor: None,
    }))
}

fn meter(name: &str, from: usize, to: usize, counts_in: &str, digits: u32) -> Meter {
    Meter {
        name: name.into(),
        place: place(),
        from: PlaceId(from),
        to: PlaceId(to),
        what: None,
        counts_in: counts_in.into(),
        one_count_m3: meter_unit(counts_in).unwrap().cubic_metres(),
        digits,
        read_at: None,
        exchanged: Vec::new(),
        off_by: None,
        weir: None,
    }
}

pub(crate) const STORAGE: usize = 2;
pub(crate) const BEDS: usize = 4;
pub(crate) const OUTFALL: usize = 5;

/// Two supplies, two ponds, a bed, an outfall, a tank; meters M1 well (gal, 7 digits), M2 town (100 ft3, 6), M3 wash
/// (gal, 6), M4 loop (x10 gal, 6), M5 sewer (m3, 6). The day starts at 7 am.
pub(crate) fn facility() -> Facility {
    let point = |kind| {
        PlaceKind::DischargePoint(DischargePoint {
            kind,
            into: None,
            looked_at: None,
            takes_at_most: None,
            area: None,
            holds: None,
            weir: None,
        })
    };
    Facility {
        name: "Test nursery".into(),
        place: place(),
        directory: PathBuf::new(),
        system: UnitSystem::Us,
        paper: Paper::Letter,
        rules: None,
        records: Some(("records".into(), place())),
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
        meters: vec![
            meter("M1 well", 0, STORAGE, "gal", 7),
            meter("M2 town", 1, 3, "100 ft3", 6),
            meter("M3 wash", BEDS, 3, "gal", 6),
            meter("M4 loop", STORAGE, 3, "x10 gal", 6),
            meter("M5 sewer", 3, OUTFALL, "m3", 6),
        ],
        places: vec![
            site("Well", supply(Some(180.0))),
            site("Town water", supply(None)),
            site("Storage pond", pond()),
            site("Settling pond", pond()),
            site("Sand beds", beds(PlaceId(STORAGE))),
            site("Outfall 1", point(DischargeKind::SurfaceWater)),
            site("Return tank", tank()),
        ],
        hold_sample_for: None,
        picture: Vec::new(),
    }
}

/// What stands in a folder of records: file names and their text.
pub(crate) fn read_files(facility: &Facility, files: &[(&str, &[u8])]) -> (Timeline, Problems) {
    let folder = tempfile::tempdir().unwrap();
    std::fs::create_dir(folder.path().join("records")).unwrap();
    for (name, bytes) in files {
        std::fs::write(folder.path().join("records").join(name), bytes).unwrap();
    }
    let mut sources = Sources::new(folder.path());
    let problems = Problems::new();
    let timeline = crate::records::read(facility, &mut sources, &problems);
    (timeline, problems)
}

/// Rows in long form under the full heading.
pub(crate) fn read_rows(facility: &Facility, rows: &str) -> (Timeline, Problems) {
    let text = format!("date,place,what,parameter,value,unit,qualifier,paper,received,who,note\n{rows}");
    read_files(facility, &[("records.csv", text.as_bytes())])
}

/// The same, where nothing may be wrong.
pub(crate) fn good_rows(rows: &str) -> Timeline {
    let (timeline, problems) = read_rows(&facility(), rows);
    assert!(problems.is_empty(), "{:#?}", problems.in_order());
    timeline
}

/// The problems of rows, each as `line: message` with its hint behind.
pub(crate) fn told(rows: &str) -> Vec<String> {
    let (_, problems) = read_rows(&facility(), rows);
    problems
        .in_order()
        .into_iter()
        .map(|problem| {
            let related: String =
                problem.related.iter().map(|(place, words)| format!(" [{}: {words}]", place.line)).collect();
            format!(
                "{}:{}: {}{related} | {}",
                problem.place.line,
                problem.place.column,
                problem.message,
                problem.hint.unwrap_or_default()
            )
        })
        .collect()
}
