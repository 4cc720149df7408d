//! What one filter does with a step's water: how much of it washes the filter, what it catches and lets go.

use std::f64::consts::PI;

use bywash::facility::kinds::{
    DeepMediaBed, FilterKind, MediaLayer, Membrane, MicroscreenDrum, MovingMedia, OfTheFeed, ShallowMediaBed,
};
use bywash::facility::model::{Cadence, Filter, Trigger, WashWater};

use super::given;
use super::step::A_FLOW_M3;
use super::wash::{self, Progress, Rule, Washed};

/// State of one filter.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct FilterState {
    /// Solids held, by parcel, kg.
    pub held: Vec<f64>,
    /// Progress of clock and throughput triggers (its `held_kg` is not used).
    pub progress: Progress,
    /// What is left of the roll, m.
    pub roll_left_m: f64,
    /// Days that have ended since the last event, or since the start.
    pub days_since: f64,
}

/// How a step went through a filter, in water and in counted solids.
#[derive(Debug, Clone, Default)]
pub struct Pass {
    /// Gross water taken in, m³.
    pub gross: f64,
    /// Net water passed on, m³.
    pub net: f64,
    /// Its own water that leaves on the side: wash, rinse, drain-down, with screenings or spent media, m³.
    pub side: f64,
    /// Clean water from elsewhere that leaves on the side, m³.
    pub clean: f64,
    /// Events.
    pub count: f64,
    /// Solids held at the end, by the caught solids that the count went by; none where all that is caught leaves.
    pub held_end_kg: Option<f64>,
    /// Caught, as the count went by, kg.
    pub caught_kg: f64,
    /// Progress of the triggers at the end.
    pub progress: Progress,
    /// Advance of a roll, m.
    pub advance_m: f64,
    /// Share of the flow that went past an empty roll.
    pub unfiltered: f64,
    /// Distance from a tie.
    pub tie: f64,
}

/// A log for the step: events, and the volume of a meter or the minutes where they say more.
#[derive(Debug, Clone, Copy, Default)]
pub struct Log {
    pub count: Option<u32>,
    pub minutes: Option<f64>,
    pub metered_m3: Option<f64>,
}

/// What a filter is asked in a step.
#[derive(Debug, Clone)]
pub struct Question<'a> {
    pub filter: &'a Filter,
    pub before: &'a FilterState,
    /// Caught from each cubic metre of gross flow, kg/m³.
    pub caught_kg_m3: f64,
    /// Length of the step, days.
    pub days: f64,
    /// Hours of flow in a day.
    pub hours: f64,
    /// What is left of a roll, m.
    pub roll_left_m: f64,
    /// Whether the step begins a day.
    pub starts_day: bool,
    pub log: Log,
}

impl Question<'_> {
    /// The same question; without flow no hour runs.
    fn running(&self, flow: f64) -> Self {
        let hours = if flow > A_FLOW_M3 { self.hours } else { 0.0 };
        Self { hours, ..self.clone() }
    }
}

/// Whether its side water is its own filtered water.
pub fn own_water(filter: &Filter) -> bool {
    match &filter.kind {
        FilterKind::MicroscreenDrum(MicroscreenDrum { rinse, .. }) => rinse.with == WashWater::OwnFiltered,
        _ => filter.wash.as_ref().is_none_or(|wash| wash.with == WashWater::OwnFiltered),
    }
}

/// Whether it works by whole events.
pub fn has_events(filter: &Filter) -> bool {
    matches!(
        filter.kind,
        FilterKind::PressureScreen(_)
            | FilterKind::ShallowMediaBed(_)
            | FilterKind::DeepMediaBed(_)
            | FilterKind::Bag(_)
            | FilterKind::Cartridge(_)
    )
}

/// Area of all vessels of a bed, m².
fn bed_m2(filter: &Filter) -> Option<f64> {
    match &filter.kind {
        FilterKind::ShallowMediaBed(ShallowMediaBed { vessels, diameter, .. })
        | FilterKind::DeepMediaBed(DeepMediaBed { vessels, diameter, .. }) => {
            Some(f64::from(*vessels) * PI / 4.0 * given::m(diameter).powi(2))
        }
        _ => None,
    }
}

/// Water of one event, m³.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct EventWater {
    /// What washes: its own filtered water, or clean water from elsewhere.
    pub washing: f64,
    /// First filtrate rinsed to waste and what is drained: always the filter's own.
    pub wasted: f64,
}

impl EventWater {
    /// The part that is the filter's own water.
    fn own_m3(self, filter: &Filter) -> f64 {
        self.wasted + if own_water(filter) { self.washing } else { 0.0 }
    }

    /// The part that is clean water from elsewhere.
    fn clean_m3(self, filter: &Filter) -> f64 {
        if own_water(filter) { 0.0 } else { self.washing }
    }
}

/// Water of one event. A measured volume is that of the whole event.
pub fn event_water(filter: &Filter) -> EventWater {
    let Some(wash) = &filter.wash else {
        let drains = filter.change.as_ref().and_then(|change| change.drains.as_ref()).map_or(0.0, given::m3);
        return EventWater { washing: 0.0, wasted: drains };
    };
    if let Some(volume) = &wash.volume {
        return EventWater { washing: given::m3(volume), wasted: 0.0 };
    }
    let vessels = f64::from(wash.vessels);
    let one_vessel_m2 = match &filter.kind {
        FilterKind::ShallowMediaBed(ShallowMediaBed { diameter, .. })
        | FilterKind::DeepMediaBed(DeepMediaBed { diameter, .. }) => PI / 4.0 * given::m(diameter).powi(2),
        _ => 0.0,
    };
    let rate = wash.rate.as_ref().map_or(0.0, given::m3_d)
        + wash.flux.as_ref().map_or(0.0, |flux| given::m_d(flux) * one_vessel_m2 * flux_against_sand(filter));
    let rinsing = wash.rinse.as_ref().map_or(0.0, |(rate, time)| given::m3_d(rate) * given::days(time));
    EventWater {
        washing: vessels * rate * wash.lasts.as_ref().map_or(0.0, given::days),
        wasted: vessels * rinsing + wash.drained.as_ref().map_or(0.0, given::m3),
    }
}

/// Length of one whole event, days.
fn cycle_days(filter: &Filter) -> f64 {
    let still = filter.stands_still.as_ref().map_or(0.0, given::days);
    if let Some(wash) = &filter.wash {
        let each = wash.lasts.as_ref().map_or(0.0, given::days)
            + wash.rinse.as_ref().map_or(0.0, |(_, time)| given::days(time));
        let scour = match &filter.kind {
            FilterKind::DeepMediaBed(DeepMediaBed { air_scour: Some(time), .. }) => given::days(time),
            _ => 0.0,
        };
        return f64::from(wash.vessels) * (each + scour) + still;
    }
    filter.change.as_ref().and_then(|change| change.lasts.as_ref()).map_or(0.0, given::days).max(still)
}

fn cadence(filter: &Filter) -> Option<&Cadence> {
    filter.wash.as_ref().map(|wash| &wash.cadence).or(filter.change.as_ref().map(|change| &change.cadence))
}

/// The rule of a filter that works by events.
pub fn rule(filter: &Filter, hours: f64) -> Rule {
    let mut rule = Rule {
        load_kg: f64::INFINITY,
        removes: 1.0,
        event_m3: event_water(filter).own_m3(filter),
        own: true,
        clocks_per_day: Vec::new(),
        throughputs_m3: Vec::new(),
        at_most: f64::INFINITY,
        scheduled: false,
    };
    if let Some(wash) = &filter.wash {
        if let (Some(load), Some(area)) = (&wash.holds_before, bed_m2(filter)) {
            rule.load_kg = given::kg_m2(load) * area * load_against_sand(filter);
        }
        if let Some(removes) = &wash.removes {
            rule.removes = given::share(removes);
        }
    }
    let by_schedule = cadence(filter).is_some_and(|cadence| cadence.at.is_some());
    for trigger in cadence(filter).map_or(&[][..], |cadence| &cadence.triggers) {
        match trigger {
            Trigger::Clock(_) if by_schedule => {}
            Trigger::Clock(time) => rule.clocks_per_day.push(1.0 / given::days(time)),
            Trigger::RunningHours(time) => rule.clocks_per_day.push(hours / 24.0 / given::days(time)),
            Trigger::Solids(mass) => rule.load_kg = rule.load_kg.min(given::kg(mass)),
            Trigger::Throughput(volume) => rule.throughputs_m3.push(given::m3(volume)),
        }
    }
    rule
}

/// Days between scheduled events, where a time of day is typed: the clock interval in whole days, each day without one.
fn schedule_days(filter: &Filter) -> Option<f64> {
    let cadence = cadence(filter)?;
    cadence.at?;
    let clock = cadence
        .triggers
        .iter()
        .filter_map(|trigger| match trigger {
            Trigger::Clock(time) => Some(given::days(time)),
            _ => None,
        })
        .fold(f64::INFINITY, f64::min);
    Some(if clock.is_finite() { clock.round().max(1.0) } else { 1.0 })
}

/// Whether a scheduled event is due in this step.
fn due(question: &Question) -> bool {
    question.starts_day && schedule_days(question.filter).is_some_and(|days| question.before.days_since + 1e-9 >= days)
}

fn layers(filter: &Filter) -> &[MediaLayer] {
    match &filter.kind {
        FilterKind::ShallowMediaBed(ShallowMediaBed { media, .. })
        | FilterKind::DeepMediaBed(DeepMediaBed { media, .. }) => media,
        _ => &[],
    }
}

/// What the layers hold against sand: by their depths.
fn load_against_sand(filter: &Filter) -> f64 {
    let (mut all, mut held) = (0.0, 0.0);
    for layer in layers(filter) {
        let depth = given::m(&layer.depth);
        all += depth;
        held += depth * layer.load_held_times.as_ref().map_or(1.0, given::share);
    }
    if all > 0.0 { held / all } else { 1.0 }
}

/// The flux that the layers need against sand: the greatest of them.
fn flux_against_sand(filter: &Filter) -> f64 {
    let most =
        layers(filter).iter().map(|layer| layer.wash_flow_times.as_ref().map_or(1.0, given::share)).fold(0.0, f64::max);
    if most > 0.0 { most } else { 1.0 }
}

fn start(question: &Question) -> Progress {
    Progress { held_kg: question.before.held.iter().sum(), ..question.before.progress.clone() }
}

/// The pass for a net need.
pub fn for_net(question: &Question, net: f64) -> Pass {
    let at_most = at_most(question);
    let asked = question;
    let question = &asked.running(net);
    if has_events(question.filter) {
        let mut rule = rule(question.filter, question.hours);
        rule.at_most = at_most;
        rule.scheduled = due(question);
        if let Some(count) = question.log.count {
            let waters = waters_m3(question, f64::from(count));
            // What washes flows too.
            let question = &asked.running(net + waters.0);
            rule = self::rule(question.filter, question.hours);
            return logged_pass(question, &rule, count, waters, net + waters.0, net);
        }
        let done = wash::for_net(&rule, &start(question), net, question.caught_kg_m3, question.days);
        let (side, clean) = waters_m3(question, done.count);
        return Pass { gross: net + side, side, clean, ..event_pass(question, &done) };
    }
    if net <= 0.0 {
        return side_pass(question, 0.0);
    }
    // What leaves on the side grows with the gross flow in straight pieces: step up until the net is right.
    let mut gross = net;
    for _ in 0..200 {
        let lacks = net - side_pass(question, gross).net;
        if lacks.abs() <= 1e-15 * net {
            break;
        }
        gross += lacks;
    }
    let mut pass = side_pass(question, gross);
    pass.net = net;
    pass
}

/// The pass for a given gross flow.
pub fn for_gross(question: &Question, gross: f64) -> Pass {
    let at_most = at_most(question);
    let question = &question.running(gross);
    if has_events(question.filter) {
        let mut rule = rule(question.filter, question.hours);
        rule.at_most = at_most;
        rule.scheduled = due(question);
        if let Some(count) = question.log.count {
            let (side, clean) = waters_m3(question, f64::from(count));
            let side = side.min(gross);
            return logged_pass(question, &rule, count, (side, clean), gross, gross - side);
        }
        let done = wash::for_gross(&rule, &start(question), gross, question.caught_kg_m3, question.days);
        let (side, clean) = waters_m3(question, done.count);
        let side = side.min(gross);
        return Pass { net: gross - side, side, clean, ..event_pass(question, &done) };
    }
    side_pass(question, gross)
}

/// The most events for which there is time: the hours of flow over the length of one. In a day of several steps, one
/// event always fits in a step.
fn at_most(question: &Question) -> f64 {
    let cycle = cycle_days(question.filter);
    if cycle <= 0.0 {
        // Where nothing says how long one takes.
        return (10_000.0 * question.days).floor();
    }
    let forbidden = cadence(question.filter)
        .and_then(|cadence| cadence.never_between)
        .map_or(0.0, |(from, to)| (to - from).num_seconds().rem_euclid(86_400) as f64 / given::SECONDS);
    let part = (question.hours / 24.0).min(1.0 - forbidden);
    let fit = (question.days * part / cycle).min(10_000.0 * question.days).floor();
    if question.days < 1.0 { fit.max(1.0) } else { fit }
}

/// Own and clean water of events: by the meter of the wash water, else by logged minutes, else by their count.
fn waters_m3(question: &Question, events: f64) -> (f64, f64) {
    let filter = question.filter;
    let one = event_water(filter);
    let one_vessel_m2 = match &filter.kind {
        FilterKind::ShallowMediaBed(ShallowMediaBed { diameter, .. })
        | FilterKind::DeepMediaBed(DeepMediaBed { diameter, .. }) => PI / 4.0 * given::m(diameter).powi(2),
        _ => 0.0,
    };
    let rate = filter.wash.as_ref().and_then(|wash| {
        let by_flux = |flux| given::m_d(flux) * one_vessel_m2 * flux_against_sand(filter);
        let rate = wash.rate.as_ref().map(given::m3_d);
        rate.or_else(|| wash.flux.as_ref().map(by_flux)).filter(|rate| *rate > 0.0)
    });
    let (own, clean) = (one.own_m3(filter) * events, one.clean_m3(filter) * events);
    let measured = question.log.metered_m3.or(match (question.log.minutes, rate) {
        (Some(minutes), Some(rate)) => Some(minutes / 1440.0 * rate),
        _ => None,
    });
    match measured {
        Some(all) if own_water(filter) => (all, 0.0),
        Some(all) => (own.min(all), (all - own).max(0.0)),
        None => (own, clean),
    }
}

fn logged_pass(question: &Question, rule: &Rule, count: u32, (side, clean): (f64, f64), gross: f64, net: f64) -> Pass {
    let caught = question.caught_kg_m3 * gross;
    let before: f64 = question.before.held.iter().sum();
    let mut progress = question.before.progress.clone();
    let rest = if count > 0 { 1.0 / f64::from(count + 1) } else { 1.0 };
    for (x, rate) in progress.clocks.iter_mut().zip(&rule.clocks_per_day) {
        *x = if count > 0 { 0.0 } else { *x } + rate * question.days * rest;
    }
    for (x, limit) in progress.throughputs.iter_mut().zip(&rule.throughputs_m3) {
        *x = if count > 0 { 0.0 } else { *x } + gross / limit * rest;
    }
    Pass {
        gross,
        net,
        side,
        clean,
        count: f64::from(count),
        held_end_kg: Some(wash::logged(before, caught, rule.removes, count)),
        caught_kg: caught,
        progress,
        tie: f64::INFINITY,
        ..Pass::default()
    }
}

fn event_pass(question: &Question, done: &Washed) -> Pass {
    Pass {
        gross: done.gross_m3,
        net: done.net_m3,
        count: done.count,
        held_end_kg: Some(done.end.held_kg),
        caught_kg: question.caught_kg_m3 * done.gross_m3,
        progress: done.end.clone(),
        tie: done.tie,
        ..Pass::default()
    }
}

/// Filters without events: what is caught leaves at once.
fn side_pass(question: &Question, gross: f64) -> Pass {
    let caught = question.caught_kg_m3 * gross;
    let running_days = question.days * question.hours / 24.0;
    let mut pass = Pass { gross, caught_kg: caught, tie: f64::INFINITY, ..Pass::default() };
    match &question.filter.kind {
        FilterKind::MicroscreenDrum(MicroscreenDrum { rinse, .. }) => {
            let part = if gross <= A_FLOW_M3 {
                0.0
            } else if let Some(cake) = &rinse.cake_at_full_time {
                (caught / (given::kg_d(cake) * running_days)).min(1.0)
            } else {
                rinse.part_of_the_time.as_ref().map_or(1.0, given::share)
            };
            let water = given::m3_d(&rinse.flow) * running_days * part;
            if rinse.with == WashWater::OwnFiltered {
                pass.side = water;
            } else {
                pass.clean = water;
            }
        }
        // The reject flows as long as the membrane runs: as its meter says, else its share of what comes.
        FilterKind::Membrane(Membrane { reject }) => {
            let rejected = match &reject.of_the_feed {
                OfTheFeed::Passes(share) => 1.0 - given::share(share),
                OfTheFeed::Rejected(share) => given::share(share),
            };
            if gross > A_FLOW_M3 {
                pass.side = question.log.metered_m3.unwrap_or(rejected * gross);
            }
        }
        FilterKind::MovingMedia(MovingMedia { roll, .. }) => {
            let width = given::m(&roll.width);
            let least = roll.at_least.as_ref().map_or(0.0, given::m_d) * question.days;
            let wanted =
                if gross > A_FLOW_M3 { (caught / (given::kg_m2(&roll.holds) * width)).max(least) } else { 0.0 };
            pass.advance_m = wanted;
            if roll.passes_unfiltered && wanted > question.roll_left_m {
                pass.advance_m = question.roll_left_m;
                pass.unfiltered = 1.0 - question.roll_left_m / wanted;
            }
            let wet = roll.wet_weight_times.as_ref().map_or(1.0, given::share);
            pass.side = pass.advance_m * width * given::kg_m2(&roll.dry_weight) * (wet - 1.0) / 1000.0;
        }
        FilterKind::GravityScreen(_) | FilterKind::VibratingScreen(_) => {
            if let Some(screenings) = &question.filter.screenings
                && gross > A_FLOW_M3
            {
                pass.side = caught * (1.0 / given::share(&screenings.dry_solids) - 1.0) / 1000.0;
            }
        }
        _ => {}
    }
    pass.side = pass.side.min(gross);
    pass.net = gross - pass.side;
    pass
}
