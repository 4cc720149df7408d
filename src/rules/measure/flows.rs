//! The ways of a limit's point, and what meters, looks and samples show of water on them, day by day.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{NaiveDate, NaiveTime};

use super::clock::{DAY, Stretch, day_number, moment_of, snapped_moment, start_of};
use super::counts::{Amounts, Channel, Piece};
use crate::balance::{Ledger, Purpose, Watch};
use crate::facility::model::{Facility, PlaceId, PlaceKind};
use crate::facility::{Carries, Graph};
use crate::quantity::DayStart;
use crate::records::{MeterSpan, Timeline};
use crate::rules::measure::convert::counted_m3;
use crate::rules::measure::points::{places, selectors};
use crate::rules::measure::readings::{evidence, known_on};
use crate::rules::window::windows::{days_label, later};
use crate::rules::{DryLook, Evidence, HEAD_FIGURES, Number, Point, Tie};

/// What is known of one day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(crate) enum Flow {
    /// Shown by a meter, a look or a sample.
    Flowing,
    /// Shown by meters or looks on every way.
    Dry,
    /// Neither: no proof of no discharge. What is computed shows nothing.
    NotKnown,
}

/// Water seen or counted within a day, and when as far as it is known.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Seen {
    /// The time within which it was; none where only the day is known.
    pub when: Option<Stretch>,
    /// The date on which it was known.
    pub known_on: NaiveDate,
    /// What shows it.
    pub evidence: Vec<Evidence>,
}

#[derive(Debug, Clone, Default, PartialEq)]
struct Looked {
    flowing: Vec<Seen>,
    dry: Vec<Evidence>,
}

/// One place of a point.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct PlaceFlows {
    /// The place.
    pub place: PlaceId,
    /// The water on its ways, m³.
    pub water: Amounts,
    looks: BTreeMap<i64, Looked>,
    sampled: BTreeMap<i64, Vec<Seen>>,
}

/// All places of a point.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Flows {
    /// One for each place of a list; one for any other point.
    pub of: Vec<PlaceFlows>,
    /// Meters that speak for the point, by index into `Facility::meters`, and whether every way has one.
    pub meters: Vec<usize>,
    /// Whether every way has a meter.
    pub all_metered: bool,
    computed: BTreeSet<i64>,
}

/// Water below this in a day, m³, is the computation's dust and not a discharge: a thimble.
pub(crate) const DUST_M3: f64 = 1e-6;

/// The words of a file that a purpose of the ledger goes by.
fn carried(purpose: Purpose, carries: Carries) -> bool {
    match purpose {
        Purpose::Water => matches!(carries, Carries::Drawn | Carries::Passed),
        Purpose::TopUp => carries == Carries::TopUp,
        Purpose::Return => carries == Carries::Return,
        Purpose::Runoff => carries == Carries::Runoff,
        Purpose::Spill => carries == Carries::Spill,
        Purpose::PumpedOut => carries == Carries::PumpedOut,
        Purpose::WashWater => carries == Carries::WashWater,
        Purpose::RinseWater => carries == Carries::RinseWater,
        Purpose::Reject => carries == Carries::Reject,
        Purpose::WashSupply => carries == Carries::WashSupply,
        Purpose::Spray => matches!(carries, Carries::SpraySupply | Carries::HosedDown),
        Purpose::Screenings => carries == Carries::Screenings,
        Purpose::Liquor => carries == Carries::Liquor,
        Purpose::DrainDown => carries == Carries::DrainDown,
        Purpose::SpentMedia => carries == Carries::SpentMedia,
        Purpose::Bypass => carries == Carries::Bypass,
        Purpose::Drip => carries == Carries::Drip,
        Purpose::Hauled => carries == Carries::Hauled,
        _ => false,
    }
}

/// A way into a point: where it starts and ends, and what it carries; nothing for what has no pipe, such as rain.
type WayOf = Option<(PlaceId, PlaceId, Carries)>;

/// Whether a point is one way to a place to which others lead: water seen there does not tell by which it came, and a dry
/// look speaks for all of them.
fn is_one_of_several(point: &Point, graph: &Graph) -> bool {
    match point {
        Point::Way(from, to) => {
            graph.ways_between(*from, *to).next().is_some() && graph.ways_to(*to).any(|way| way.from != *from)
        }
        _ => false,
    }
}

/// The ways of water of one place of a point, each once.
fn ways(point: &Point, place: PlaceId, facility: &Facility, graph: &Graph) -> Vec<WayOf> {
    let kind = facility.get(place).map(|site| &site.kind);
    let from_it = || graph.ways_from(place).collect::<Vec<_>>();
    let to_it = || graph.ways_to(place).collect::<Vec<_>>();
    let piped = match point {
        Point::Places(_) if matches!(kind, Some(PlaceKind::Supply(_))) => from_it(),
        Point::Places(_) | Point::Into(_) => to_it(),
        Point::Of(purpose, _) => from_it().into_iter().filter(|way| carried(*purpose, way.carries)).collect(),
        Point::Streams(streams) => {
            let meant = |carries| streams.iter().any(|(purpose, of)| *of == place && carried(*purpose, carries));
            from_it().into_iter().filter(|way| meant(way.carries)).collect()
        }
        Point::OutOf(_) => from_it(),
        Point::Way(from, to) => graph.ways_between(*from, *to).collect(),
    };
    let mut out: Vec<WayOf> = Vec::new();
    for way in piped {
        let one = Some((way.from, way.to, way.carries));
        // What is named is meant, screenings too; of water in general, water alone.
        if (way.carries.is_metered() || matches!(point, Point::Of(..) | Point::Streams(_))) && !out.contains(&one) {
            out.push(one);
        }
    }
    let unpiped = match point {
        Point::Into(_) => matches!(kind, Some(PlaceKind::Pond(_))),
        Point::OutOf(_) => matches!(kind, Some(PlaceKind::Pond(_) | PlaceKind::Use(_))),
        _ => false,
    };
    // A point that nothing is said to reach may still be reached.
    if unpiped || out.is_empty() {
        out.push(None);
    }
    out
}

/// Meters on a way, in file order. One without `what` speaks only where the way carries nothing else.
fn meters_on(way: WayOf, facility: &Facility, graph: &Graph) -> Vec<usize> {
    let Some((from, to, carries)) = way else {
        return Vec::new();
    };
    let alone = graph.ways_between(from, to).all(|other| other.carries.words() == carries.words());
    facility
        .meters
        .iter()
        .enumerate()
        .filter(|(_, meter)| (meter.from, meter.to) == (from, to))
        .filter(|(_, meter)| match &meter.what {
            Some(what) => what.trim().eq_ignore_ascii_case(carries.words()),
            None => alone,
        })
        .map(|(index, _)| index)
        .collect()
}

/// What a meter counted between two readings, exactly, m³.
pub(crate) fn span_m3(span: &MeterSpan) -> Number {
    counted_m3(&span.counts, &span.unit).unwrap_or_else(|| Number::computed(span.volume_m3))
}

/// Whether water of a point is worked out from heads over a weir.
pub(crate) fn is_off_a_weir(point: &Point, facility: &Facility) -> bool {
    let weirs = || facility.meters.iter().filter(|meter| meter.weir.is_some());
    if weirs().next().is_none() {
        return false;
    }
    let graph = Graph::of(facility);
    let all = places(point).into_iter().flat_map(|place| ways(point, place, facility, &graph));
    let on_them = all.flat_map(|way| meters_on(way, facility, &graph));
    on_them.filter_map(|meter| facility.meters.get(meter)).any(|meter| meter.weir.is_some())
}

/// A meter's span as it is printed and where it stands; of a head's amount one figure more than it bears, as it is a term of others.
pub(crate) fn span_evidence(span: &MeterSpan, facility: &Facility) -> Evidence {
    let name = facility.meters.get(span.meter).map_or("", |meter| meter.name.as_str());
    let fewer = |counts: Number| match &span.head {
        Some(_) => counts.to_significant(HEAD_FIGURES + 1, Tie::HalfUp),
        None => counts,
    };
    let counts = Number::parse(&span.counts).map_or_else(|| span.counts.clone(), |counts| fewer(counts).in_full(6));
    let last = later(span.first_day, span.days.saturating_sub(1));
    let how = if span.carried { "by the reading before," } else { "from" };
    let from = span.head.as_ref().map_or_else(String::new, |head| format!(" {how} {head} over the weir"));
    let text = format!("{name}: {counts} {} over {}{from}", span.unit, days_label(span.first_day, last));
    evidence(last, text, &span.after)
}

/// The time of a span: outside of which none of it was, and which it surely covers.
pub(crate) fn span_time(span: &MeterSpan, starts: DayStart) -> (Stretch, Stretch) {
    let end = |at, known: bool| {
        let moment = snapped_moment(at, starts);
        if known {
            (moment, moment)
        } else {
            // Some time of the day of that name; the moment stands at the hour that its date begins or ends it with.
            let day = moment_of(at, starts).div_euclid(DAY) * DAY - if starts.bears_its_end { DAY } else { 0 };
            (day, day + DAY)
        }
    };
    let from = end(span.from, span.hours_known.0);
    let to = end(span.to, span.hours_known.1);
    if from.0 >= to.1 {
        // Two readings within the half hour that counts as the day's start.
        let raw = |at| moment_of(at, starts);
        return ((raw(span.from), raw(span.to)), (raw(span.from), raw(span.to)));
    }
    ((from.0, to.1), (from.1, to.0))
}

/// Whether a span begins with the reading that ended the one before. An amount that ends where a date begins on which the meter was
/// read at an hour that is not known leaves the hours between.
fn goes_on(last: &MeterSpan, next: &MeterSpan) -> bool {
    last.to == next.from && last.hours_known.1 == next.hours_known.0 && !last.carried && !next.carried
}

fn pieces(meter: usize, facility: &Facility, timeline: &Timeline, until: i64) -> Vec<(Piece, bool)> {
    let mut out: Vec<(Piece, bool)> = Vec::new();
    let mut last: Option<&MeterSpan> = None;
    for span in timeline.meter_spans.iter().filter(|span| span.meter == meter) {
        let (outer, inner) = span_time(span, facility.day());
        if outer.1 > until {
            continue;
        }
        let shown = span_evidence(span, facility);
        out.push((
            Piece {
                outer,
                inner: if span.carried { (outer.1, outer.0) } else { inner },
                amount: span_m3(span),
                text: shown.text.clone(),
                evidence: vec![shown],
                known_on: span.to.date(),
                carried: span.carried,
            },
            last.is_some_and(|last| goes_on(last, span)),
        ));
        last = Some(span);
    }
    out
}

impl Flows {
    /// What is on file of a point by the end of a day.
    pub fn of(
        point: &Point,
        dry_look: DryLook,
        facility: &Facility,
        timeline: &Timeline,
        ledger: Option<&Ledger>,
        as_of: NaiveDate,
    ) -> Self {
        let graph = Graph::of(facility);
        let until = start_of(as_of) + DAY;
        let mut of = Vec::new();
        let mut meters = Vec::new();
        let mut all_metered = true;
        for place in places(point) {
            let mut channels = Vec::new();
            for way in ways(point, place, facility, &graph) {
                let on_it = meters_on(way, facility, &graph);
                // Of several meters on one way, the first that was ever read.
                let meter = on_it
                    .iter()
                    .find(|meter| timeline.meter_spans.iter().any(|s| s.meter == **meter))
                    .or(on_it.first());
                let name = way.map_or_else(
                    || "what comes without a pipe".to_owned(),
                    |(from, to, carries)| {
                        let name = |id| facility.get(id).map_or("", |site| site.name.as_str());
                        match on_it.first().and_then(|meter| facility.meters.get(*meter)) {
                            Some(meter) => meter.name.clone(),
                            None => {
                                format!("{} from {} to {}", carries.words(), name(from), name(to))
                            }
                        }
                    },
                );
                all_metered &= meter.is_some();
                meters.extend(meter.copied().filter(|meter| !meters.contains(meter)));
                let pieces = meter.map_or_else(Vec::new, |meter| pieces(*meter, facility, timeline, until));
                channels.push(Channel::new(name, pieces, meter.is_some()));
            }
            let mut flows = PlaceFlows::of(place, channels, dry_look, facility, timeline, as_of);
            if is_one_of_several(point, &graph) {
                flows.forget_seen();
            }
            of.push(flows);
        }
        let mut computed = BTreeSet::new();
        if let Some(ledger) = ledger {
            for selector in selectors(point, facility) {
                let series = ledger.series(&Watch::Water(selector));
                for (at, volume) in series.values.iter().enumerate() {
                    if *volume > DUST_M3 {
                        computed.insert(day_number(series.date(at)));
                    }
                }
            }
        }
        Self { of, meters, all_metered, computed }
    }

    /// Without the days for which a reading before stands: they can make no least amount met.
    pub fn forget_carried(&mut self) {
        self.of.iter_mut().for_each(|place| place.water.forget_carried());
    }

    /// What is known of a day: a discharge at any of the places, nothing at all of them.
    pub fn on(&self, day: NaiveDate) -> Flow {
        let each: Vec<Flow> = self.of.iter().map(|place| place.on(day)).collect();
        if each.contains(&Flow::Flowing) {
            Flow::Flowing
        } else if each.contains(&Flow::NotKnown) {
            Flow::NotKnown
        } else {
            Flow::Dry
        }
    }

    /// Whether the ledger computes water on a day of which nothing is known: reason to ask, never proof.
    pub fn computed_on(&self, day: NaiveDate) -> bool {
        self.computed.contains(&day_number(day))
    }

    /// The same for one of its places.
    pub fn at(&self, place: usize) -> Self {
        Self { of: self.of.get(place).cloned().into_iter().collect(), ..self.clone() }
    }

    /// All ways of all places together.
    pub fn water(&self) -> Amounts {
        Amounts { channels: self.of.iter().flat_map(|place| place.water.channels.clone()).collect() }
    }

    /// What shows a day's flow, or that there was none.
    pub fn shown_on(&self, day: NaiveDate) -> Vec<Evidence> {
        self.of.iter().flat_map(|place| place.shown_on(day)).collect()
    }

    /// Everything that shows water within a day.
    pub fn seen_on(&self, day: NaiveDate) -> Vec<Seen> {
        self.of.iter().flat_map(|place| place.seen_on(day)).collect()
    }

    /// Every look that saw water and every sample, by day.
    pub fn looks_and_samples(&self) -> Vec<(i64, Seen)> {
        let mut out = Vec::new();
        for place in &self.of {
            for (day, looked) in &place.looks {
                out.extend(looked.flowing.iter().map(|seen| (*day, seen.clone())));
            }
            for (day, sampled) in &place.sampled {
                out.extend(sampled.iter().map(|seen| (*day, seen.clone())));
            }
        }
        out
    }
}

impl PlaceFlows {
    fn of(
        place: PlaceId,
        channels: Vec<Channel>,
        dry_look: DryLook,
        facility: &Facility,
        timeline: &Timeline,
        as_of: NaiveDate,
    ) -> Self {
        let mut out = Self { place, water: Amounts { channels }, looks: BTreeMap::new(), sampled: BTreeMap::new() };
        let at = |day: NaiveDate, time: Option<NaiveTime>| {
            let moment = moment_in(day, time?, facility.day());
            Some((moment, moment))
        };
        for look in &timeline.looks {
            if look.at != place || look.day > as_of {
                continue;
            }
            let looked = out.looks.entry(day_number(look.day)).or_default();
            let word = if look.flowing { "flowing" } else { "dry" };
            let shown = evidence(look.day, format!("looked at: {word}"), &look.source);
            if look.flowing {
                looked.flowing.push(Seen {
                    when: at(look.day, look.time),
                    known_on: known_on(look.day, look.time, facility.day(), &look.source),
                    evidence: vec![shown],
                });
            } else {
                looked.dry.push(shown);
            }
        }
        for sample in &timeline.samples {
            if sample.at != place || sample.day > as_of || sample.value.is_none() {
                continue;
            }
            let text = format!("a sample was taken ({})", sample.parameter);
            out.sampled.entry(day_number(sample.day)).or_default().push(Seen {
                when: at(sample.day, sample.time),
                // Who took it saw the water.
                known_on: sample.time.map_or(sample.day, |time| facility.day().date_of(sample.day, time)),
                evidence: vec![evidence(sample.day, text, &sample.source)],
            });
        }
        let dry = out.dry_days(dry_look);
        for channel in &mut out.water.channels {
            // Who looked knows better than the reading before.
            channel.pieces.retain(|piece| !(piece.carried && dry.contains(&piece.days().0)));
            channel.dry = dry.clone();
        }
        out
    }

    /// Takes back what was seen and sampled.
    fn forget_seen(&mut self) {
        self.looks.values_mut().for_each(|looked| looked.flowing.clear());
        self.sampled.clear();
    }

    /// The days that dry looks cover, without those on which water was counted or seen after all.
    fn dry_days(&self, dry_look: DryLook) -> BTreeSet<i64> {
        let mut out = BTreeSet::new();
        let mut last_dry: Option<i64> = None;
        for (day, looked) in &self.looks {
            if !looked.flowing.is_empty() {
                last_dry = None;
                continue;
            }
            out.insert(*day);
            if let (DryLook::SinceTheLastDryLook, Some(last)) = (dry_look, last_dry) {
                out.extend(last + 1..*day);
            }
            last_dry = Some(*day);
        }
        out.retain(|day| {
            !self.sampled.contains_key(day) && !self.water.channels.iter().any(|channel| channel.counted_on(*day))
        });
        // Where looks leave a span that moved no day at all, what was counted stands and the looks do not.
        let pieces = self.water.channels.iter().flat_map(|way| &way.pieces);
        let denied: Vec<(i64, i64)> = pieces
            .filter(|piece| !piece.amount.is_zero() && !piece.carried)
            .map(Piece::days)
            .filter(|(first, last)| (*first..=*last).all(|day| out.contains(&day)))
            .collect();
        out.retain(|day| !denied.iter().any(|(first, last)| first <= day && day <= last));
        out
    }

    /// What is known of a day.
    pub fn on(&self, day: NaiveDate) -> Flow {
        let day = day_number(day);
        let seen = self.looks.get(&day).is_some_and(|looked| !looked.flowing.is_empty());
        let channels = &self.water.channels;
        if seen || self.sampled.contains_key(&day) || channels.iter().any(|channel| channel.flowed(day)) {
            Flow::Flowing
        } else if channels.iter().all(|channel| channel.is_dry(day)) {
            Flow::Dry
        } else {
            Flow::NotKnown
        }
    }

    fn shown_on(&self, day: NaiveDate) -> Vec<Evidence> {
        let number = day_number(day);
        let mut out = Vec::new();
        for channel in &self.water.channels {
            for piece in channel.touching((number * DAY, (number + 1) * DAY)) {
                out.extend(piece.evidence.iter().cloned());
            }
        }
        if let Some(looked) = self.looks.get(&number) {
            out.extend(looked.flowing.iter().flat_map(|seen| seen.evidence.clone()));
            out.extend(looked.dry.iter().cloned());
        }
        for seen in self.sampled.get(&number).into_iter().flatten() {
            out.extend(seen.evidence.iter().cloned());
        }
        out
    }

    fn seen_on(&self, day: NaiveDate) -> Vec<Seen> {
        let number = day_number(day);
        let mut out = Vec::new();
        for channel in &self.water.channels {
            for piece in channel.touching((number * DAY, (number + 1) * DAY)) {
                if !piece.amount.is_zero() && piece.days() == (number, number) {
                    out.push(Seen {
                        when: Some(piece.outer),
                        known_on: piece.known_on,
                        evidence: piece.evidence.clone(),
                    });
                }
            }
        }
        if let Some(looked) = self.looks.get(&number) {
            out.extend(looked.flowing.iter().cloned());
        }
        out.extend(self.sampled.get(&number).into_iter().flatten().cloned());
        out
    }
}

/// A clock's time within one of the permit's days.
pub(crate) fn moment_in(day: NaiveDate, time: NaiveTime, starts: DayStart) -> i64 {
    let from_start = moment_of(day.and_time(time), starts) - start_of(day);
    // What is seen as a day ends is of it where the day bears that date.
    start_of(day)
        + match from_start.rem_euclid(DAY) {
            0 if starts.bears_its_end => DAY,
            within => within,
        }
}

/// Ways without a meter, for a sentence.
pub(crate) fn channels_text(names: &[&str]) -> String {
    match names {
        [one] => (*one).to_owned(),
        [first, second] => format!("{first} and {second}"),
        [first, rest @ ..] => format!("{first} and {} more", rest.len()),
        [] => String::new(),
    }
}
