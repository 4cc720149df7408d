//! How many whole washes (or changes) a filter makes in one step, and what it then holds.
//!
//! Time runs from 0 to `days`, the length of the step; all rates are per day. One function per form of the rule.

/// What decides when a filter is washed.
#[derive(Debug, Clone)]
pub struct Rule {
    /// Solids held at which it is washed, kg; infinite where nothing says.
    pub load_kg: f64,
    /// Share of what is held that one wash removes.
    pub removes: f64,
    /// Water of one event, m³.
    pub event_m3: f64,
    /// Whether the event's water is the filter's own filtrate.
    pub own: bool,
    /// Interval of each clock-like trigger, days of the step's own clock (running hours are turned into days before).
    pub clocks_per_day: Vec<f64>,
    /// Volume of each throughput trigger, m³.
    pub throughputs_m3: Vec<f64>,
    /// The most events a step has time for.
    pub at_most: f64,
    /// An event at the start of the step, whatever the triggers say.
    pub scheduled: bool,
}

/// How far each trigger has come: clocks first, then throughputs.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Progress {
    /// Solids held, kg.
    pub held_kg: f64,
    /// Shares of the way to each clock trigger.
    pub clocks: Vec<f64>,
    /// Shares of the way to each throughput trigger.
    pub throughputs: Vec<f64>,
}

/// What one step did.
#[derive(Debug, Clone, PartialEq)]
pub struct Washed {
    /// Whole events.
    pub count: f64,
    /// Gross water through the filter, m³.
    pub gross_m3: f64,
    /// Net water behind it, m³.
    pub net_m3: f64,
    /// Progress at the end; `held_kg` by the caught solids that were assumed for the count.
    pub end: Progress,
    /// Distance of the decisive quotient from the next whole number: below 1e-9 a count is a tie.
    pub tie: f64,
}

/// Net water wanted: the filter takes what it needs on top (engine rule 5.1 to 5.3).
/// `caught_kg_m3` is what it catches from one cubic metre of gross flow.
pub fn for_net(rule: &Rule, before: &Progress, net_m3: f64, caught_kg_m3: f64, days: f64) -> Washed {
    count(rule, before, net_m3, caught_kg_m3, days, rule.own, false)
}

/// Gross water given: washes come out of it (5.4).
pub fn for_gross(rule: &Rule, before: &Progress, gross_m3: f64, caught_kg_m3: f64, days: f64) -> Washed {
    count(rule, before, gross_m3, caught_kg_m3, days, false, rule.own)
}

fn count(
    rule: &Rule,
    before: &Progress,
    flow_m3: f64,
    caught_kg_m3: f64,
    days: f64,
    refeeds: bool,
    takes_from_flow: bool,
) -> Washed {
    let refed_m3 = if refeeds { rule.event_m3 } else { 0.0 };
    let mut at_most = rule.at_most;
    let mut tie = f64::INFINITY;
    if takes_from_flow && rule.event_m3 > 0.0 {
        let fits = flow_m3 / rule.event_m3;
        if fits.floor() < at_most {
            tie = (fits - fits.round()).abs();
        }
        at_most = at_most.min(fits.floor());
    }
    // A scheduled event comes at the start, before anything else.
    if rule.scheduled && at_most >= 1.0 {
        let after = after_an_event(rule, before, caught_kg_m3, refed_m3);
        let mut washed = triggered(rule, &after, flow_m3, caught_kg_m3, days, refed_m3, at_most - 1.0);
        washed.count += 1.0;
        washed.gross_m3 += refed_m3;
        washed.tie = washed.tie.min(tie);
        return with_net(washed, rule, flow_m3, takes_from_flow);
    }
    let mut washed = triggered(rule, before, flow_m3, caught_kg_m3, days, refed_m3, at_most);
    washed.tie = washed.tie.min(tie);
    with_net(washed, rule, flow_m3, takes_from_flow)
}

fn with_net(mut washed: Washed, rule: &Rule, flow_m3: f64, takes_from_flow: bool) -> Washed {
    washed.net_m3 = if takes_from_flow { flow_m3 - washed.count * rule.event_m3 } else { flow_m3 };
    washed
}

/// Progress just after an event that came before anything flowed.
fn after_an_event(rule: &Rule, before: &Progress, caught_kg_m3: f64, refed_m3: f64) -> Progress {
    Progress {
        held_kg: (1.0 - rule.removes) * before.held_kg + caught_kg_m3 * refed_m3,
        clocks: vec![0.0; before.clocks.len()],
        throughputs: rule.throughputs_m3.iter().map(|limit| refed_m3 / limit).collect(),
    }
}

/// Events that the triggers set off.
fn triggered(
    rule: &Rule,
    before: &Progress,
    flow_m3: f64,
    caught_kg_m3: f64,
    days: f64,
    refed_m3: f64,
    at_most: f64,
) -> Washed {
    let q = 1.0 - rule.removes;
    let flow_m3_d = flow_m3 / days;

    // From "now" to the first event, and from one event to the next, in days; infinite when a trigger never comes.
    let mut first = f64::INFINITY;
    let mut cycle = f64::INFINITY;
    let solids_per_day = caught_kg_m3 * flow_m3_d / rule.load_kg;
    first = first.min(until(1.0 - before.held_kg / rule.load_kg, solids_per_day));
    let after = q + caught_kg_m3 * refed_m3 / rule.load_kg;
    // A wash that takes up as much as it clears is due again at once.
    let mut locked = after >= 1.0;
    if solids_per_day > 0.0 {
        cycle = cycle.min((1.0 - after) / solids_per_day);
    }
    for (rate, done) in rule.clocks_per_day.iter().zip(&before.clocks) {
        first = first.min(until(1.0 - done, *rate));
        if *rate > 0.0 {
            cycle = cycle.min(1.0 / rate);
        }
    }
    for (limit_m3, done) in rule.throughputs_m3.iter().zip(&before.throughputs) {
        let rate = flow_m3_d / limit_m3;
        first = first.min(until(1.0 - done, rate));
        locked |= refed_m3 / limit_m3 >= 1.0;
        if rate > 0.0 {
            cycle = cycle.min((1.0 - refed_m3 / limit_m3) / rate);
        }
    }
    if locked {
        cycle = 0.0;
    }
    let first = first.max(0.0);
    let cycle = cycle.max(1e-9 * days);

    let mut events = 0.0;
    let mut tie = (first / days - 1.0).abs();
    if first / days <= 1.0 + 1e-9 {
        let more = (days - first).max(0.0) / cycle;
        events = 1.0 + (more + 1e-9).floor();
        tie = tie.min((more + 1e-9 - (more + 1e-9).round()).abs());
    }
    events = events.min(at_most);
    if locked {
        // No more than the water passed on could make.
        let fits = if refed_m3 > 0.0 { flow_m3 / refed_m3 } else { 1.0 };
        tie = tie.min((fits - fits.round()).abs());
        events = events.min(fits.floor().max(1.0));
    }
    Count { flow_m3, caught_kg_m3, days, refed_m3, events, first, cycle, tie }.end(rule, before)
}

/// Days until what remains of the way to an event is gone; what is due is due though nothing flows.
fn until(remains: f64, rate: f64) -> f64 {
    if remains <= 0.0 {
        0.0
    } else if rate > 0.0 {
        remains / rate
    } else {
        f64::INFINITY
    }
}

/// A count with what the end of the step needs to know.
struct Count {
    flow_m3: f64,
    caught_kg_m3: f64,
    days: f64,
    refed_m3: f64,
    events: f64,
    first: f64,
    cycle: f64,
    tie: f64,
}

impl Count {
    fn end(&self, rule: &Rule, before: &Progress) -> Washed {
        let flow_m3_d = self.flow_m3 / self.days;
        let q = 1.0 - rule.removes;
        let mut end = before.clone();
        if self.events == 0.0 {
            end.held_kg += self.caught_kg_m3 * self.flow_m3;
            for (x, rate) in end.clocks.iter_mut().zip(&rule.clocks_per_day) {
                *x += rate * self.days;
            }
            for (x, limit) in end.throughputs.iter_mut().zip(&rule.throughputs_m3) {
                *x += self.flow_m3 / limit;
            }
        } else {
            let cycle = if self.events > 1.0 { self.cycle } else { 0.0 };
            let rest = self.days - self.first - (self.events - 1.0) * cycle;
            let at_first = before.held_kg + self.caught_kg_m3 * flow_m3_d * self.first;
            let each = self.caught_kg_m3 * (self.refed_m3 + flow_m3_d * cycle);
            let at_last = held_before_event(self.events, q, at_first, each);
            end.held_kg = (q * at_last + self.caught_kg_m3 * (self.refed_m3 + flow_m3_d * rest)).max(0.0);
            for (x, rate) in end.clocks.iter_mut().zip(&rule.clocks_per_day) {
                *x = (rate * rest).max(0.0);
            }
            for (x, limit) in end.throughputs.iter_mut().zip(&rule.throughputs_m3) {
                *x = ((self.refed_m3 + flow_m3_d * rest) / limit).max(0.0);
            }
        }
        Washed {
            count: self.events,
            gross_m3: self.flow_m3 + self.events * self.refed_m3,
            net_m3: self.flow_m3,
            end,
            tie: self.tie,
        }
    }
}

/// Held just before the last of `events` events, event after event.
fn held_before_event(events: f64, q: f64, at_first: f64, each: f64) -> f64 {
    let mut held = at_first;
    let mut done = 1.0;
    while done < events {
        held = q * held + each;
        done += 1.0;
    }
    held
}

/// Events logged: after each of the first k of k+1 equal spans of the step (3.5).
pub fn logged(before_kg: f64, caught_kg: f64, removes: f64, events: u32) -> f64 {
    let q = 1.0 - removes;
    let span_kg = caught_kg / f64::from(events + 1);
    let mut held = before_kg;
    for _ in 0..events {
        held = q * (held + span_kg);
    }
    held + span_kg
}
