//! Random facilities with random weather and a few random records, valid by construction: no flow comes back to
//! where it started within a day, and everything has somewhere to go.
//!
//! Push filters and stores stand in one line; a flow goes only to what stands further down it or to a discharge
//! point. What draws may draw from anywhere. The order of the file is shuffled.

use bywash::facility::model::*;
use bywash::quantity::{ByMonth, DayOfYear, DaySpan, Weekdays};
use bywash::records::Timeline;
use bywash::weather::DailyWeather;
use chrono::NaiveDate;

use super::build::*;
use super::filter_maker::FilterMaker;
use super::happenings::{records, weather};
use super::random::Rng;

/// A facility with what it needs to run.
pub struct Case {
    pub facility: Facility,
    pub weather: DailyWeather,
    pub timeline: Timeline,
    pub first: NaiveDate,
    pub days: usize,
}

/// Numbers of the places of one case.
#[derive(Debug, Clone, Default)]
pub struct Cast {
    pub supplies: Vec<PlaceId>,
    pub catchments: Vec<PlaceId>,
    pub uses: Vec<PlaceId>,
    pub transfers: Vec<PlaceId>,
    pub pull: Vec<PlaceId>,
    /// Push filters and stores, upstream first.
    pub line: Vec<PlaceId>,
    pub stores: Vec<PlaceId>,
    pub ponds: Vec<PlaceId>,
    pub discharges: Vec<PlaceId>,
}

impl Cast {
    /// Where a flow of the place at this position of the line may go (`None`: from above the line).
    pub fn below(&self, position: Option<usize>) -> Vec<PlaceId> {
        let from = position.map_or(0, |p| p + 1);
        self.line.iter().skip(from).chain(&self.discharges).copied().collect()
    }

    /// What can be drawn from.
    pub fn sources(&self) -> Vec<PlaceId> {
        self.supplies.iter().chain(&self.stores).copied().collect()
    }
}

pub fn first_day() -> NaiveDate {
    NaiveDate::from_ymd_opt(2024, 10, 20).expect("a date")
}

/// From this seed on a filter may be a membrane; below it the facilities are those of before there were any.
pub const WITH_MEMBRANES: u64 = 1000;

/// The case of a seed.
pub fn case(seed: u64, days: usize) -> Case {
    let mut rng = Rng::new(seed);
    let cast = cast(&mut rng);
    let mut facility = empty();
    facility.steps_per_day = StepsPerDay::Exactly(rng.pick(&[1, 1, 1, 2, 4]));
    facility.seasons = vec![Season {
        name: "growing".into(),
        days: DaySpan { from: DayOfYear { month: 4, day: 15 }, to: DayOfYear { month: 10, day: 15 } },
        place: nowhere(),
    }];
    facility.solids = solids(&mut rng);
    if rng.chance(0.5) {
        facility.dissolved.push(Dissolved { name: "nitrate N".into(), place: nowhere(), one_ms_per_cm: None });
    }
    let mut kinds: Vec<(PlaceId, String, PlaceKind)> = Vec::new();
    let brings = |rng: &mut Rng, most: f64, facility: &Facility| -> Concentrations {
        let mut all = Vec::new();
        for kind in &facility.solids {
            if rng.chance(0.5) {
                let low = rng.between(0.0, most);
                let q = |v: f64| kilograms_m3(v).ends().expect("known").0;
                all.push((kind.name.clone(), given_range(q(low), q(low * rng.between(1.0, 1.5)))));
            }
        }
        for one in &facility.dissolved {
            if rng.chance(0.5) {
                all.push((one.name.clone(), kilograms_m3(rng.between(0.0, 0.2))));
            }
        }
        all
    };
    for (i, id) in cast.discharges.iter().enumerate() {
        kinds.push((*id, format!("Discharge {i}"), discharge()));
    }
    for (i, id) in cast.supplies.iter().enumerate() {
        let kind = PlaceKind::Supply(Supply {
            gives_at_most: rng.chance(0.7).then(|| m3_a_day(rng.between(20.0, 400.0))),
            when: rng.chance(0.2).then(|| when(&mut rng)),
            brings: brings(&mut rng, 0.05, &facility),
        });
        kinds.push((*id, format!("Supply {i}"), kind));
    }
    for (i, id) in cast.catchments.iter().enumerate() {
        let kind = PlaceKind::Catchment(Catchment {
            parts: (0..rng.whole(1, 2)).map(|n| part(&mut rng, n)).collect(),
            solids: brings(&mut rng, 0.4, &facility).into_iter().filter(|(name, _)| name != "nitrate N").collect(),
            goes_to: outflow(&mut rng, &cast.below(None)),
        });
        kinds.push((*id, format!("Catchment {i}"), kind));
    }
    let mut maker = FilterMaker { rng: &mut rng, cast: &cast, membranes: seed >= WITH_MEMBRANES };
    let pull_sources = maker.pull_sources();
    for (i, id) in cast.pull.iter().enumerate() {
        kinds.push((*id, format!("Pull filter {i}"), maker.pull_filter(pull_sources[i].clone())));
    }
    for (position, id) in cast.line.iter().enumerate() {
        if cast.stores.contains(id) {
            continue;
        }
        kinds.push((*id, format!("Push filter {position}"), maker.push_filter(position)));
    }
    let takers = takers(&mut rng, &cast, &pull_sources);
    for (i, id) in cast.uses.iter().enumerate() {
        let mut of = a_use(rng.between(2.0, 80.0), rng.between(0.0, 0.95), takers[i][0], rng.whole(1, 3) as u32, *id);
        of.amount = amount(&mut rng);
        of.when = if rng.chance(0.4) { when(&mut rng) } else { When::default() };
        of.picks_up = brings(&mut rng, 0.3, &facility).into_iter().filter(|(name, _)| name != "nitrate N").collect();
        if !facility.dissolved.is_empty() && rng.chance(0.5) {
            of.feed_added = vec![("nitrate N".into(), kilograms_m3(rng.between(0.0, 0.2)))];
        }
        of.takes_from = takers[i].clone();
        of.runs = rng.chance(0.4).then(|| hours(rng.between(2.0, 20.0)));
        of.goes_to = Some(outflow(&mut rng, &cast.below(None)));
        kinds.push((*id, format!("Use {i}"), PlaceKind::Use(of)));
    }
    for (i, id) in cast.transfers.iter().enumerate() {
        let of = Transfer {
            amount: amount(&mut rng),
            when: if rng.chance(0.3) { when(&mut rng) } else { When::default() },
            takes_from: takers[cast.uses.len() + i].clone(),
            turn: rng.whole(1, 3) as u32,
            runs: rng.chance(0.3).then(|| hours(rng.between(2.0, 20.0))),
            goes_to: outflow(&mut rng, &cast.below(None)),
        };
        kinds.push((*id, format!("Transfer {i}"), PlaceKind::Transfer(of)));
    }
    for (position, id) in cast.line.iter().enumerate() {
        if cast.stores.contains(id) {
            let start = brings(&mut rng, 0.1, &facility);
            kinds.push((*id, format!("Store {position}"), store(&mut rng, &cast, position, *id, start)));
        }
    }
    kinds.sort_by_key(|(id, ..)| *id);
    for (_, name, kind) in kinds {
        place(&mut facility, &name, kind);
    }
    let weather = weather(&mut rng, days);
    facility.hold_sample_for = rng.chance(0.5).then(|| hours(24.0 * rng.whole(1, 30) as f64));
    let timeline = records(&mut rng, &mut facility, &cast, days);
    Case { facility, weather, timeline, first: first_day(), days }
}

fn cast(rng: &mut Rng) -> Cast {
    let stores = rng.whole(1, 4);
    let ponds = rng.whole(0, stores.min(2));
    let (uses, transfers) = (rng.whole(1, 4), rng.whole(0, 2));
    // Every pull filter serves somebody: there are no more of them than of uses and transfers.
    let pull = rng.whole(0, 4).min(uses + transfers);
    let counts = [rng.whole(1, 2), rng.whole(0, 2), uses, transfers, pull, rng.whole(0, 4), rng.whole(1, 3)];
    let total = counts.iter().sum::<usize>() + stores;
    let mut ids: Vec<PlaceId> = (0..total).map(PlaceId).collect();
    rng.shuffle(&mut ids);
    let mut take = |n: usize| ids.split_off(ids.len() - n);
    let mut cast = Cast {
        supplies: take(counts[0]),
        catchments: take(counts[1]),
        uses: take(counts[2]),
        transfers: take(counts[3]),
        pull: take(counts[4]),
        line: take(counts[5]),
        discharges: take(counts[6]),
        stores: take(stores),
        ponds: Vec::new(),
    };
    cast.ponds = cast.stores.iter().take(ponds).copied().collect();
    cast.line.extend(&cast.stores);
    rng.shuffle(&mut cast.line);
    cast
}

fn solids(rng: &mut Rng) -> Vec<SolidsKind> {
    let mut kinds = Vec::new();
    for name in ["silt", "peat", "perlite"].iter().take(rng.whole(1, 3)) {
        let half = rng.between(5.0, 300.0);
        let mut kind = one_size(name, half, rng.between(1010.0, 2650.0));
        kind.nine_tenths_finer = micrometres(half * rng.between(1.2, 8.0));
        if *name == "perlite" {
            kind.density = None;
            kind.floats = true;
        }
        kinds.push(kind);
    }
    kinds
}

fn when(rng: &mut Rng) -> When {
    let mut when = When::default();
    match rng.whole(0, 3) {
        0 => when.season = Some(("growing".into(), nowhere())),
        1 => when.days = Some(Weekdays(std::array::from_fn(|_| rng.chance(0.7)))),
        2 => when.not_when_rain_over = Some(metres(rng.between(0.0, 0.01))),
        _ => {
            when.days_of_year = Some(DaySpan {
                from: DayOfYear { month: rng.whole(1, 12) as u32, day: rng.whole(1, 28) as u32 },
                to: DayOfYear { month: rng.whole(1, 12) as u32, day: rng.whole(1, 28) as u32 },
            });
        }
    }
    when
}

fn amount(rng: &mut Rng) -> UseAmount {
    match rng.whole(0, 2) {
        0 => UseAmount::PerDay(m3_a_day(rng.between(1.0, 90.0))),
        1 => UseAmount::DepthPerDay {
            area: square_metres(rng.between(200.0, 6000.0)),
            depth: metres_a_day(rng.between(0.001, 0.013)),
        },
        _ => UseAmount::Floods {
            area: square_metres(rng.between(200.0, 2000.0)),
            depth: metres(rng.between(0.01, 0.03)),
            floods_a_day: ratio(rng.whole(1, 3) as f64),
            zones: rng.whole(1, 6) as u32,
        },
    }
}

fn part(rng: &mut Rng, n: usize) -> Part {
    let runoff = if rng.chance(0.6) {
        RunoffRule::Share {
            runs_off: ratio(rng.between(0.3, 1.0)),
            first_soaked_up: rng.chance(0.5).then(|| metres(rng.between(0.0, 0.005))),
        }
    } else {
        RunoffRule::CurveNumber(ratio(rng.between(30.0, 100.0)))
    };
    let ground = match runoff {
        RunoffRule::CurveNumber(_) => {
            rng.pick(&[GroundBefore::Average, GroundBefore::Dry, GroundBefore::Wet, GroundBefore::ByRain])
        }
        RunoffRule::Share { .. } => GroundBefore::Average,
    };
    Part { name: format!("part {n}"), area: square_metres(rng.between(500.0, 20_000.0)), runoff, ground }
}

/// A way out to one place, to a list in order, or by shares.
pub fn outflow(rng: &mut Rng, among: &[PlaceId]) -> Outflow {
    let mut some = among.to_vec();
    rng.shuffle(&mut some);
    some.truncate(rng.pick(&[1, 1, 1, 2, 3]));
    if some.len() == 1 || rng.chance(0.5) {
        let last = some.len() - 1;
        return Outflow::InOrder(
            some.iter()
                .enumerate()
                .map(|(i, to)| Step {
                    to: *to,
                    place: nowhere(),
                    at_most: (i < last).then(|| m3_a_day(rng.between(1.0, 80.0))),
                })
                .collect(),
        );
    }
    let n = some.len() as f64;
    let rest = rng.whole(0, some.len() - 1);
    let shares = some
        .iter()
        .enumerate()
        .map(|(i, to)| Share {
            to: *to,
            place: nowhere(),
            share: (i != rest).then(|| ratio(rng.between(0.1, 0.9 / n))),
            at_most: (i != rest && rng.chance(0.5)).then(|| m3_a_day(rng.between(1.0, 80.0))),
        })
        .collect();
    Outflow::Shares { shares, rest }
}

/// Sources of each use, then of each transfer: pull filters are served first.
fn takers(rng: &mut Rng, cast: &Cast, pull_sources: &[Vec<PlaceId>]) -> Vec<Vec<PlaceId>> {
    let n = cast.uses.len() + cast.transfers.len();
    let direct = cast.sources();
    let mut takers: Vec<Vec<PlaceId>> = Vec::new();
    for i in 0..n {
        let first = match cast.pull.get(i) {
            Some(filter) => *filter,
            None if !cast.pull.is_empty() && rng.chance(0.3) => rng.pick(&cast.pull),
            None => rng.pick(&direct),
        };
        let mut sources = vec![first];
        if rng.chance(0.3) && chain_is_single(first, cast, pull_sources) {
            let second = rng.pick(&direct);
            if second != first {
                sources.push(second);
            }
        }
        takers.push(sources);
    }
    takers
}

/// Whether everything from a pull filter up to its source has one source only.
fn chain_is_single(from: PlaceId, cast: &Cast, pull_sources: &[Vec<PlaceId>]) -> bool {
    let mut at = from;
    while let Some(i) = cast.pull.iter().position(|filter| *filter == at) {
        if pull_sources[i].len() > 1 {
            return false;
        }
        at = pull_sources[i][0];
    }
    true
}

fn store(rng: &mut Rng, cast: &Cast, position: usize, id: PlaceId, start: Concentrations) -> PlaceKind {
    let others: Vec<PlaceId> = cast.sources().into_iter().filter(|other| *other != id).collect();
    let below = cast.below(Some(position));
    let fill_from = (rng.chance(0.4) && !others.is_empty()).then(|| {
        let mut from = vec![rng.pick(&others)];
        while rng.chance(0.4) && from.len() < 3 {
            let more = rng.pick(&others);
            if !from.contains(&more) {
                from.push(more);
            }
        }
        from
    });
    let fill_when = rng.chance(0.2).then(|| when(rng));
    let pumped = rng.chance(0.3);
    if !cast.ponds.contains(&id) {
        let holds = rng.between(20.0, 300.0);
        let mut of = tank(holds, holds * rng.between(0.0, 0.1), holds * rng.between(0.2, 1.0), below[0]);
        of.overflows_to = Some(outflow(rng, &below));
        of.at_the_start.solids = start;
        of.filled_from = fill_from.map(|from| FillRule {
            from,
            up_to_volume: Some(cubic_metres(holds * rng.between(0.4, 1.0))),
            up_to_level: None,
            place: nowhere(),
            when: fill_when,
        });
        if pumped {
            let stop = rng.between(0.1, 0.5);
            of.pumped_out = Some(pump(rng, &below, |of| {
                of.starts_at_volume = Some(cubic_metres(holds * (stop + 0.3)));
                of.stops_at_volume = Some(cubic_metres(holds * stop));
            }));
        } else if rng.chance(0.3) {
            of.emptied_by = Some(TankerRule {
                to: rng.pick(&cast.discharges),
                by_log: rng.chance(0.5),
                when_holding: Some(cubic_metres(holds * 0.8)),
                down_to: Some(cubic_metres(holds * rng.between(0.0, 0.3))),
                place: nowhere(),
            });
        }
        return PlaceKind::Tank(Box::new(of));
    }
    let depth = rng.between(1.0, 4.0);
    let mut of =
        pond(depth, rng.between(100.0, 800.0), rng.between(900.0, 3000.0), rng.whole(1, 4) as u32, 0.0, below[0]);
    if rng.chance(0.4) {
        let slope = rng.between(0.0, 3.0);
        of.shape = PondShape::Prismoid {
            length: metres(2.0 * slope * depth + rng.between(10.0, 50.0)),
            width: metres(2.0 * slope * depth + rng.between(5.0, 20.0)),
            depth: metres(depth),
            side_slope: ratio(slope),
        };
    } else if rng.chance(0.5) {
        let row = |level, area| LevelRow { level: metres(level), area: square_metres(area) };
        of.shape = PondShape::Table {
            rows: vec![row(0.0, 200.0), row(0.4 * depth, 700.0), row(depth, 1500.0), row(1.3 * depth, 1900.0)],
            spill_level: metres(depth),
        };
    }
    of.spills_to = Some(outflow(rng, &below));
    of.freeboard_above_spill = rng.chance(0.7).then(|| metres(rng.between(0.1, 0.8)));
    of.lowest_pump_level = rng.chance(0.7).then(|| metres(depth * rng.between(0.05, 0.3)));
    of.seepage = rng.chance(0.7).then(|| metres_a_day(rng.between(0.0, 0.004)));
    of.sludge = rng.chance(0.6).then(|| SludgeState {
        depth: metres(depth * rng.between(0.0, 0.15)),
        measured_on: None,
        dry_solids: ratio(rng.between(0.03, 0.3)),
        clean_out_at: None,
    });
    of.at_the_start = StartState { holding: None, level: Some(metres(depth * rng.between(0.2, 1.0))), solids: start };
    of.filled_from = fill_from.map(|from| FillRule {
        from,
        up_to_volume: None,
        up_to_level: Some(metres(depth * rng.between(0.4, 1.0))),
        place: nowhere(),
        when: fill_when,
    });
    if pumped {
        let stop = rng.between(0.3, 0.6);
        of.pumped_out = Some(pump(rng, &below, |of| {
            of.starts_at_level = Some(metres(depth * (stop + 0.3)));
            of.stops_at_level = Some(metres(depth * stop));
        }));
    }
    PlaceKind::Pond(Box::new(of))
}

fn pump(rng: &mut Rng, below: &[PlaceId], levels: impl FnOnce(&mut PumpedOut)) -> PumpedOut {
    let mut of = PumpedOut {
        to: outflow(rng, below),
        rate: m3_a_day(rng.between(20.0, 500.0)),
        starts_at_volume: None,
        starts_at_level: None,
        stops_at_volume: None,
        stops_at_level: None,
        running_at_the_start: rng.chance(0.3),
        when: rng.chance(0.2).then(|| when(rng)),
        place: nowhere(),
    };
    levels(&mut of);
    of
}

/// A value for each month, one of two.
pub fn by_month<T: Clone>(rng: &mut Rng, one: T, other: T) -> ByMonth<T> {
    ByMonth(std::array::from_fn(|_| if rng.chance(0.5) { one.clone() } else { other.clone() }))
}
