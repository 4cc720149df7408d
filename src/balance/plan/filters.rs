//! Filters: from what the user says of each to what the day step counts.

mod capture;
mod media;

use uom::si::f64::{Mass, Ratio, Time, Volume};
use uom::si::mass::kilogram;
use uom::si::ratio::ratio;
use uom::si::time::{day, second};
use uom::si::volume::cubic_meter;

use crate::balance::at::{OutletAt, Param, WayAt};
use crate::balance::plan::build::{Builder, DAY_S};
use crate::balance::plan::pull::source_of;
use crate::balance::plan::users::running_share;
use crate::balance::plan::{FilterPlan, NO_LIMIT, RejectPlan, Removal, RollPlan, Source};
use crate::balance::{Node, Purpose};
use crate::facility::kinds::{DrumRinse, OfTheFeed, Reject, Roll, Sheds, Sprayed};
use crate::facility::model::{Cadence, Capture as Stops, Filter, PlaceId, PlaceKind, Trigger, Wash, WashWater};
use crate::filters::{
    Bed, Cloth, Continuous, Events, OneChange, OneWash, Rejecting, Rinse, RinseTime, Winding, least_load, screenings,
};
use crate::quantity::ByMonth;
use crate::science::particles::{Capture, CaptureCurve};
use capture::capture;
use media::against_sand;

/// Most events in a step where nothing says how long one takes.
const MOST_EVENTS: f64 = 10_000.0;

pub(crate) fn filters(b: &mut Builder<'_>) {
    for (index, place) in b.facility().places.iter().enumerate() {
        if let PlaceKind::Filter(filter) = &place.kind {
            let before = b.sampler.unknowns();
            let mut plan = one(b, PlaceId(index), filter);
            // Shares stopped have a mark of their own, and motors move no water.
            plan.unknown_wash =
                b.sampler.unknown_since(before, &["/ stops", "/ opening", "/ motor", "/ dissolved held back"]);
            b.plan.filters.push(plan);
        }
    }
}

/// Part of the day in which water flows through a place: the longest among what takes from it or flows to it; the whole
/// day where one of them does not say. A float valve counts only where nothing else does.
pub(crate) fn running(b: &mut Builder<'_>, place: PlaceId, depth: usize) -> f64 {
    if depth > 12 {
        return 1.0;
    }
    let facility = b.facility();
    let Some(PlaceKind::Filter(filter)) = facility.get(place).map(|p| &p.kind) else {
        return 1.0;
    };
    let mut longest: Option<f64> = None;
    let mut feed = |share: f64| longest = Some(longest.map_or(share, |l: f64| l.max(share)));
    let pull = !filter.takes_from.is_empty();
    for (index, other) in facility.places.iter().enumerate() {
        let id = PlaceId(index);
        match &other.kind {
            PlaceKind::Use(u) => {
                let meant = if pull {
                    u.takes_from.contains(&place)
                } else {
                    u.goes_to.as_ref().is_some_and(|to| to.targets().contains(&place))
                };
                if meant {
                    feed(running_share(b, u.runs.as_ref()).unwrap_or(1.0));
                }
            }
            PlaceKind::Transfer(t) => {
                let meant = if pull { t.takes_from.contains(&place) } else { t.goes_to.targets().contains(&place) };
                if meant {
                    feed(running_share(b, t.runs.as_ref()).unwrap_or(1.0));
                }
            }
            PlaceKind::Filter(f) => {
                let meant = if pull {
                    f.takes_from.contains(&place)
                } else {
                    f.goes_to.iter().chain(&f.above_that).any(|to| to.targets().contains(&place))
                };
                if meant && id != place {
                    let share = running(b, id, depth + 1);
                    feed(share);
                }
            }
            PlaceKind::Catchment(c) if !pull && c.goes_to.targets().contains(&place) => feed(1.0),
            PlaceKind::Tank(t) if !pull => {
                let to = t
                    .overflows_to
                    .iter()
                    .chain(t.pumped_out.iter().map(|p| &p.to))
                    .any(|to| to.targets().contains(&place));
                if to {
                    feed(1.0);
                }
            }
            PlaceKind::Pond(p) if !pull => {
                let to = p
                    .spills_to
                    .iter()
                    .chain(p.pumped_out.iter().map(|p| &p.to))
                    .any(|to| to.targets().contains(&place));
                if to {
                    feed(1.0);
                }
            }
            _ => {}
        }
    }
    longest.unwrap_or(1.0)
}

struct Triggers {
    load: Option<Mass>,
    clock_d: f64,
    running_d: f64,
    throughput_m3: f64,
    schedule_days: f64,
    available_d: f64,
}

fn triggers(b: &mut Builder<'_>, cadence: Option<&Cadence>, running: f64) -> Triggers {
    let mut t = Triggers {
        load: None,
        clock_d: 0.0,
        running_d: 0.0,
        throughput_m3: 0.0,
        schedule_days: 0.0,
        available_d: running,
    };
    let Some(cadence) = cadence else { return t };
    let least = |now: f64, new: f64| if now > 0.0 { now.min(new) } else { new };
    for trigger in &cadence.triggers {
        match trigger {
            Trigger::Clock(time) => t.clock_d = least(t.clock_d, b.sampler.value(time) / DAY_S),
            Trigger::RunningHours(time) => {
                t.running_d = least(t.running_d, b.sampler.value(time) / DAY_S);
            }
            Trigger::Throughput(volume) => {
                t.throughput_m3 = least(t.throughput_m3, b.sampler.value(volume));
            }
            Trigger::Solids(mass) => {
                let drawn = b.sampler.drawn(mass);
                if !drawn.unknown {
                    let new = Mass::new::<kilogram>(drawn.value);
                    t.load = Some(match t.load {
                        Some(old) if old < new => old,
                        _ => new,
                    });
                }
            }
        }
    }
    if cadence.at.is_some() {
        // A time of day with an interval: whole days between scheduled events; alone: each day.
        t.schedule_days = if t.clock_d > 0.0 { t.clock_d.round().max(1.0) } else { 1.0 };
        t.clock_d = 0.0;
    }
    if let Some((from, to)) = cadence.never_between {
        let seconds = (to - from).num_seconds().rem_euclid(86_400);
        t.available_d = t.available_d.min(1.0 - seconds as f64 / DAY_S).max(0.0);
    }
    t
}

fn one_wash(b: &mut Builder<'_>, wash: &Wash, area_of_one_m2: f64, standing: f64) -> OneWash {
    let vessels = f64::from(wash.vessels.max(1));
    let lasts = b.sampler.maybe(wash.lasts.as_ref()).unwrap_or(0.0);
    let rate = if let Some(rate) = &wash.rate {
        b.sampler.value(rate)
    } else if let Some(flux) = &wash.flux {
        b.sampler.value(flux) * area_of_one_m2
    } else {
        0.0
    };
    let wash_m3 = match &wash.volume {
        Some(volume) => b.sampler.value(volume),
        None => vessels * rate * lasts,
    };
    // A measured volume is that of the whole event, its rinse and what is drained with it.
    let measured = wash.volume.is_some();
    let (rinse_m3, rinse_s) = match &wash.rinse {
        Some((rate, time)) => {
            let (rate, time) = (b.sampler.value(rate), b.sampler.value(time));
            (if measured { 0.0 } else { vessels * rate * time }, time)
        }
        None => (0.0, 0.0),
    };
    let drained = b.sampler.maybe(wash.drained.as_ref()).unwrap_or(0.0);
    let drained = if measured { 0.0 } else { drained };
    let removes = wash.removes.as_ref().map(|g| b.sampler.drawn(g)).filter(|d| !d.unknown).map_or(1.0, |d| d.value);
    OneWash {
        wash_water: Volume::new::<cubic_meter>(wash_m3),
        rinse_water: Volume::new::<cubic_meter>(rinse_m3),
        drained: Volume::new::<cubic_meter>(drained),
        own: wash.with == WashWater::OwnFiltered,
        lasts: Time::new::<second>(vessels * (lasts + rinse_s) + standing),
        removes,
    }
}

/// What a filter does in a day.
enum Behaviour {
    /// Holds solids until a whole wash or change.
    Events(Events),
    /// Sheds what it catches as it goes, with some water.
    Continuous(Continuous),
    /// Turns part of its feed back; whether what it does with what is dissolved is not known.
    Reject(Rejecting, bool),
    /// Winds on a roll of media that carries the solids away.
    Roll { winding: Winding, passes_unfiltered: bool },
}

/// Behaviour of a filter, and the rate of its wash (m³/min of one vessel at work).
fn behaviour(b: &mut Builder<'_>, filter: &Filter, load: Option<Mass>, running: f64) -> (Behaviour, f64) {
    let standing = b.sampler.maybe(filter.stands_still.as_ref()).unwrap_or(0.0);
    let nothing = OneWash {
        wash_water: Volume::new::<cubic_meter>(0.0),
        rinse_water: Volume::new::<cubic_meter>(0.0),
        drained: Volume::new::<cubic_meter>(0.0),
        own: true,
        lasts: Time::new::<second>(standing),
        removes: 1.0,
    };
    let bed =
        filter.kind.media_bed().map(|bed| Bed { vessels: bed.vessels, diameter: b.sampler.quantity(bed.diameter) });
    let (load_times, wash_times) = against_sand(b, filter);
    // What a flux is multiplied by to give a flow.
    let area_of_one = bed.map_or(0.0, |bed| bed.area_of_one().value) * wash_times;
    let wash = filter.wash.as_ref().map_or(nothing, |wash| one_wash(b, wash, area_of_one, standing));
    let holds_before = filter
        .wash
        .as_ref()
        .and_then(|w| w.holds_before.as_ref())
        .filter(|g| !g.is_not_known())
        .map(|g| b.sampler.quantity(g) * load_times);
    let per_minute = filter.wash.as_ref().map_or(0.0, |w| {
        let rate = match (&w.rate, &w.flux) {
            (Some(rate), _) => b.sampler.value(rate),
            (None, Some(flux)) => b.sampler.value(flux) * area_of_one,
            (None, None) => 0.0,
        };
        rate * 60.0
    });
    let dry_share = filter.screenings.as_ref().map_or(0.0, |s| b.sampler.value(&s.dry_solids));
    let (drained, lasts) = filter.change.as_ref().map_or((0.0, standing), |c| {
        (
            b.sampler.maybe(c.drains.as_ref()).unwrap_or(0.0),
            b.sampler.maybe(c.lasts.as_ref()).unwrap_or(0.0).max(standing),
        )
    });
    let behaviour = match filter.kind.sheds() {
        Sheds::Screenings => Behaviour::Continuous(screenings(dry_share)),
        Sheds::Wash { scour } => {
            let wash = match scour {
                Some((of_one, bodies)) => wash.after_scour(b.sampler.quantity(of_one), bodies),
                None => wash,
            };
            // The lesser load governs where the whole filter's and that on the bed's area are both typed.
            let on_area = bed.zip(holds_before).map(|(bed, load)| load * bed.area());
            Behaviour::Events(wash.events(least_load(on_area, load)))
        }
        Sheds::Change { .. } => {
            let change = OneChange { drained: Volume::new::<cubic_meter>(drained), lasts: Time::new::<second>(lasts) };
            Behaviour::Events(change.events(load))
        }
        Sheds::Rinse(rinse) => Behaviour::Continuous(rinsed(b, rinse, running)),
        Sheds::Reject(reject) => rejecting(b, reject),
        Sheds::Roll { roll, .. } => {
            Behaviour::Roll { winding: winding(b, roll), passes_unfiltered: roll.passes_unfiltered }
        }
    };
    (behaviour, per_minute)
}

fn rinsed(b: &mut Builder<'_>, rinse: &DrumRinse, running: f64) -> Continuous {
    let when = if let Some(part) = &rinse.part_of_the_time {
        RinseTime::PartOfTheTime(b.sampler.value(part))
    } else if let Some(cake) = &rinse.cake_at_full_time {
        RinseTime::ByLevel(b.sampler.quantity(cake))
    } else {
        RinseTime::Always
    };
    Rinse { flow: b.sampler.quantity(&rinse.flow), when, running: Time::new::<day>(running) }.in_a_day()
}

fn rejecting(b: &mut Builder<'_>, reject: &Reject) -> Behaviour {
    let held_back = reject.dissolved_held_back.as_ref().map(|share| b.sampler.drawn(share)).filter(|d| !d.unknown);
    let dissolved = Ratio::new::<ratio>(held_back.map_or(0.0, |d| d.value));
    let rejecting = match &reject.of_the_feed {
        OfTheFeed::Passes(share) => Rejecting::at_recovery(b.sampler.quantity(share), dissolved),
        OfTheFeed::Rejected(share) => {
            Rejecting { of_the_feed: b.sampler.quantity(share), dissolved_held_back: dissolved }
        }
    };
    Behaviour::Reject(rejecting, held_back.is_none())
}

fn winding(b: &mut Builder<'_>, roll: &Roll) -> Winding {
    Cloth {
        length: b.sampler.quantity(&roll.length),
        width: b.sampler.quantity(&roll.width),
        dry_weight: b.sampler.quantity(&roll.dry_weight),
        holds: b.sampler.quantity(&roll.holds),
        least: roll.at_least.as_ref().map(|rate| b.sampler.quantity(rate)).unwrap_or_default() * Time::new::<day>(1.0),
        wet_over_dry: b.sampler.maybe(roll.wet_weight_times.as_ref()).unwrap_or(1.0),
    }
    .in_a_day()
}

fn one(b: &mut Builder<'_>, id: PlaceId, filter: &Filter) -> FilterPlan {
    let here = Node::Place(id);
    let pull = !filter.takes_from.is_empty();
    let running = running(b, id, 0);
    let (eta, unknown_eta) = capture(b, filter);
    let cadence = filter.wash.as_ref().map(|w| &w.cadence).or(filter.change.as_ref().map(|c| &c.cadence));
    let t = triggers(b, cadence, running);
    let (behaviour, per_minute) = behaviour(b, filter, t.load, running);
    let (mut roll_plan, mut reject) = (None, None);
    let (removal, events, continuous) = match behaviour {
        Behaviour::Events(events) => (Removal::Events, events, Continuous::default()),
        Behaviour::Continuous(continuous) => (Removal::Continuous, Events::default(), continuous),
        Behaviour::Reject(of, unknown_dissolved) => {
            // Not known gives 0: no recovery at all would ask for water without end.
            let share = of.of_the_feed.get::<ratio>();
            reject = Some(RejectPlan {
                share: b.p(if share < 1.0 { share } else { 0.0 }),
                dissolved: b.p(of.dissolved_held_back.get::<ratio>()),
                unknown_dissolved,
            });
            (Removal::Continuous, Events::default(), Continuous::default())
        }
        Behaviour::Roll { winding, passes_unfiltered } => {
            roll_plan = Some(RollPlan {
                length_m: b.p(winding.length.value),
                m_per_kg: b.p(winding.m_per_kg),
                least_m_d: b.p(winding.least.value),
                passes_unfiltered,
                by_log: b.input.timeline.washes.iter().any(|w| w.filter == id && w.changes),
            });
            (Removal::Continuous, Events::default(), wet_roll(&winding))
        }
    };
    // Where waste water goes, and what carries the solids away.
    let (waste, solids_with_waste, solids_to) = disposal(b, id, filter);
    let clean_from = match (filter.kind.rinse(), &filter.wash) {
        (Some(rinse), _) => rinse.with,
        (None, Some(wash)) => wash.with,
        (None, None) => WashWater::OwnFiltered,
    };
    let clean = match clean_from {
        WashWater::OwnFiltered => None,
        WashWater::From(place) => source_of(b, place)
            .map(|source: Source| (b.edge(Node::Place(place), here, Purpose::WashSupply, false), source)),
    };
    let (mut spray, mut hose) = (None, None);
    match filter.kind.sprayed() {
        Sprayed::Not => {}
        Sprayed::InService(sprayed) => {
            let flow = b.sampler.value(&sprayed.flow) * DAY_S;
            let part = b.sampler.value(&sprayed.part_of_the_time);
            let edge = b.edge(Node::Place(sprayed.with), here, Purpose::Spray, false);
            let volume = b.p(flow * part * running);
            spray = source_of(b, sprayed.with).map(|source| (edge, volume, source));
        }
        Sprayed::ByHand(hosed) => {
            let volume =
                b.sampler.value(&hosed.flow) * b.sampler.value(&hosed.lasts) * b.sampler.value(&hosed.times_a_day);
            let edge = b.edge(Node::Place(hosed.with), here, Purpose::Spray, false);
            let outlet = b.outlet(id, &hosed.to, Purpose::Spray);
            hose = Some((edge, outlet, b.p(volume)));
        }
    }
    let capacity = filter
        .handles_at_most
        .as_ref()
        .map(|g| b.sampler.drawn(g))
        .filter(|d| !d.unknown)
        .map_or(NO_LIMIT, |d| d.value * DAY_S * running);
    let bypass = filter.above_that.as_ref().map(|to| b.outlet(id, to, Purpose::Bypass));
    let net = filter.goes_to.as_ref().filter(|_| !pull).map(|to| b.outlet(id, to, Purpose::Water));
    let over = |value: f64| if value > 0.0 { 1.0 / value } else { 0.0 };
    let cycle_d = events.lasts.get::<day>();
    let most = if cycle_d > 0.0 { (t.available_d / cycle_d).min(MOST_EVENTS) } else { MOST_EVENTS };
    let load = events.load.map_or(0.0, |l| l.get::<kilogram>());
    let clears_all = !matches!(filter.wash.as_ref().map(|w| &w.removes), Some(Some(_)))
        || events.keeps == 0.0 && b.sampler.draw.member.is_none();
    FilterPlan {
        place: id,
        pull,
        removal,
        eta,
        unknown_eta,
        unknown_wash: false,
        running: b.p(running),
        most_m3_d: b.p(capacity),
        bypass,
        per_load: b.p(over(load)),
        keeps: b.p(events.keeps),
        clears_all,
        own_m3: b.p(events.own_water.value),
        clean_m3: b.p(events.clean_water.value),
        clock_d: b.p(over(t.clock_d)),
        running_d: b.p(over(t.running_d)),
        per_throughput: b.p(over(t.throughput_m3)),
        schedule_days: b.p(t.schedule_days),
        most_events_d: b.p(most),
        minutes: b.p(events.lasts.value / 60.0),
        m3_per_minute: b.p(per_minute),
        own_water: clean.is_none(),
        changes: filter.change.is_some() || roll_plan.is_some(),
        water_per_kg: b.p(continuous.water_m3_per_kg),
        least_m3_d: b.p(continuous.least.value),
        greatest_m3_d: b.p(continuous.greatest.value.min(NO_LIMIT)),
        reject,
        waste,
        solids_with_waste,
        solids_to,
        roll: roll_plan,
        net,
        children: Vec::new(),
        inlets: Vec::new(),
        spray,
        hose,
        clean,
        first: None,
    }
}

fn wet_roll(roll: &Winding) -> Continuous {
    Continuous {
        water_m3_per_kg: roll.m_per_kg * roll.water_m3_per_m,
        least: Volume::new::<cubic_meter>(roll.least.value * roll.water_m3_per_m),
        greatest: Volume::new::<cubic_meter>(f64::INFINITY),
    }
}

/// Where waste water goes (an outlet), whether the solids go with it, and else by which edge.
fn disposal(b: &mut Builder<'_>, id: PlaceId, filter: &Filter) -> (Option<OutletAt>, bool, Option<WayAt>) {
    let here = Node::Place(id);
    let away = |b: &mut Builder<'_>, to: Option<PlaceId>, purpose: Purpose| {
        let node = to.map_or(Node::CleanedOut, Node::Place);
        Some(b.edge(here, node, purpose, true))
    };
    match filter.kind.sheds() {
        Sheds::Rinse(rinse) => (Some(b.outlet(id, &rinse.to, Purpose::RinseWater)), true, None),
        Sheds::Reject(reject) => (Some(b.outlet(id, &reject.to, Purpose::Reject)), true, None),
        Sheds::Roll { drip_to, .. } => {
            let drip = drip_to.map(|to| b.outlet(id, to, Purpose::Drip));
            (drip, false, away(b, filter.spent_media_to, Purpose::SpentMedia))
        }
        Sheds::Screenings => {
            let (to, drains) = filter.screenings.as_ref().map_or((None, None), |s| (Some(s.to), s.drains_back_to));
            let liquor = drains.map(|place| b.outlet_to(id, Node::Place(place), Purpose::Liquor));
            (liquor, false, away(b, to, Purpose::Screenings))
        }
        Sheds::Wash { .. } | Sheds::Change { .. } => {
            if let Some(wash) = &filter.wash {
                return (Some(b.outlet(id, &wash.to, Purpose::WashWater)), true, None);
            }
            let drain =
                filter.change.as_ref().and_then(|c| c.to.as_ref()).map(|to| b.outlet(id, to, Purpose::DrainDown));
            (drain, false, away(b, filter.spent_media_to, Purpose::SpentMedia))
        }
    }
}
