//! What meters and looks tell of the water of an outfall on some days.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};

use super::days::{Day, Minute};
use super::exact::{End, Known, Rat};
use super::given::{Limit, Mark, Site, Spot, When};

/// The volume between two consecutive readings, each of which may be known by its date only.
#[derive(Clone, Copy, Debug)]
pub struct Span {
    pub from: (Minute, Minute),
    pub to: (Minute, Minute),
    /// The same at the very times on file.
    pub raw: ((Minute, Minute), (Minute, Minute)),
    pub volume: i64,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State {
    Dry,
    Flow,
    Unknown,
}

/// The water of one outfall, as one limit sees it.
pub struct Water<'a> {
    site: &'a Site,
    /// Spans by way.
    ways: Vec<Vec<Span>>,
    dry: BTreeSet<Day>,
    flowing: BTreeSet<Day>,
    /// When water was seen or sampled: from when to when it may have been.
    seen: Vec<(Minute, Minute)>,
    sampled: BTreeSet<Day>,
    states: RefCell<BTreeMap<Day, State>>,
}

impl<'a> Water<'a> {
    pub fn of(site: &'a Site, limit: &Limit, outfall: usize) -> Self {
        let end = site.start_of(site.as_of + 1);
        let read = site.outfalls[outfall].ways.iter().map(|way| {
            way.readings
                .windows(2)
                .map(|pair| Span {
                    from: site.reading_time(pair[0].0),
                    to: site.reading_time(pair[1].0),
                    raw: (site.raw_time(pair[0].0), site.raw_time(pair[1].0)),
                    volume: pair[1].1 - pair[0].1,
                })
                .collect::<Vec<Span>>()
        });
        // Amounts stand where no reading covers their day, and in the place of spans that are not believed.
        let with_amounts = |ways: Vec<Vec<Span>>| -> Vec<Vec<Span>> {
            let of = ways.into_iter().zip(&site.outfalls[outfall].ways);
            of.map(|(spans, way)| with_amounts(site, spans, &way.amounts)).collect()
        };
        let ways = with_amounts(believed(with_amounts(read.collect()), &sights(site, outfall)));
        let ways = ways.into_iter().map(|way| way.into_iter().filter(|span| span.to.1 <= end).collect());
        let mut water = Self {
            site,
            ways: ways.collect(),
            dry: BTreeSet::new(),
            flowing: BTreeSet::new(),
            seen: Vec::new(),
            sampled: BTreeSet::new(),
            states: RefCell::default(),
        };
        let looks = site.looks.iter().filter(|look| look.outfall == outfall && site.is_evidence(look.when));
        let mut last: Option<Day> = None;
        let mut seen_dry = BTreeSet::new();
        let flowing = looks.clone().filter(|look| look.flowing);
        water.seen = flowing.map(|look| hours(site, look.when)).collect();
        let mut looks: Vec<(Day, bool)> = looks.map(|look| (site.day_of(look.when), look.flowing)).collect();
        looks.sort_unstable();
        for (day, flowing) in looks {
            if flowing {
                water.flowing.insert(day);
                last = None;
                continue;
            }
            // A look that saw water in between says that not all days since the last dry one were dry.
            let first = match last {
                Some(last) if limit.counting.look_since_the_last => last + 1,
                _ => day,
            };
            seen_dry.extend(first.min(day)..=day);
            last = Some(day);
        }
        for sample in &site.samples {
            let here = sample.spot == Spot::Outfall(outfall);
            let taken = sample.mark != Mark::Void;
            if here && taken && site.is_evidence(sample.when) {
                water.seen.push(hours(site, sample.when));
                water.sampled.insert(site.day_of(sample.when));
            }
        }
        // What was measured above zero stands, and so does what was seen.
        let counted = |day: &Day| {
            let spans = water.ways.iter().flatten();
            spans.filter(|span| span.volume > 0).any(|span| water.days_touched(span) == [*day])
        };
        let kept: BTreeSet<Day> = seen_dry
            .into_iter()
            .filter(|day| !counted(day))
            .filter(|day| !water.flowing.contains(day) && !water.sampled.contains(day))
            .collect();
        // A span above zero all of whose days were looked at and found dry: on none of them is the look enough.
        let doubted: BTreeSet<Day> = water
            .ways
            .iter()
            .flatten()
            .filter(|span| span.volume > 0)
            .map(|span| water.days_touched(span))
            .filter(|days| days.iter().all(|day| kept.contains(day)))
            .flatten()
            .collect();
        water.dry = kept.difference(&doubted).copied().collect();
        water
    }

    /// Spans between readings at the very times on file, of what was read by the day of judgement.
    pub fn raw_spans(&self) -> Vec<Span> {
        self.ways.iter().flatten().map(|span| Span { from: span.raw.0, to: span.raw.1, ..*span }).collect()
    }

    fn days_touched(&self, span: &Span) -> Vec<Day> {
        (self.site.day_at(span.from.0)..=self.site.day_at(span.to.1 - 1)).collect()
    }

    fn inside(&self, span: &Span, days: &[Day]) -> bool {
        self.days_touched(span).iter().all(|day| among(days, *day))
    }

    /// Whether spans of a way that follow one another cover all of a day for certain.
    fn covers(&self, way: &[Span], day: Day) -> bool {
        way.chunk_by(|span, next| span.to == next.from).any(|run| {
            run[0].from.1 <= self.site.start_of(day) && self.site.start_of(day + 1) <= run[run.len() - 1].to.0
        })
    }

    /// Whether spans cover all of a day on each way.
    pub fn metered(&self, day: Day) -> bool {
        self.ways.iter().all(|way| self.covers(way, day))
    }

    fn way_total(&self, way: &[Span], days: &[Day]) -> Known {
        let mut sum = Known::zero();
        let (first, last) = (days[0], days[days.len() - 1]);
        let ends = (self.site.start_of(first), self.site.start_of(last + 1));
        for span in way.iter().filter(|s| s.from.0 < ends.1 && s.to.1 > ends.0) {
            let volume = Rat::whole(span.volume);
            let touched = self.days_touched(span);
            if self.inside(span, days) {
                sum = sum.plus(Known::point(volume));
            } else if touched.iter().any(|day| among(days, *day) && !self.dry.contains(day)) {
                sum = sum.plus(Known::between(End::ZERO, End::At(volume)));
            }
        }
        let all_known = days.iter().all(|day| self.dry.contains(day) || self.covers(way, *day));
        if !all_known {
            sum = sum.plus(Known::up_from_zero());
        }
        sum
    }

    /// The water of all ways together on these days.
    pub fn total(&self, days: &[Day]) -> Known {
        let ways: Vec<Known> = self.ways.iter().map(|way| self.way_total(way, days)).collect();
        Known::sum(&ways)
    }

    /// What spans inside these days add up to: a volume that is certain of them.
    pub fn sure(&self, days: &[Day]) -> i64 {
        self.ways.iter().flatten().filter(|span| self.inside(span, days)).map(|span| span.volume).sum()
    }

    pub fn state(&self, day: Day) -> State {
        if let Some(state) = self.states.borrow().get(&day) {
            return *state;
        }
        let state = self.worked_out(day);
        self.states.borrow_mut().insert(day, state);
        state
    }

    fn worked_out(&self, day: Day) -> State {
        if self.sure(&[day]) > 0 || self.flowing.contains(&day) || self.sampled.contains(&day) {
            State::Flow
        } else if self.total(&[day]).hi == End::ZERO {
            State::Dry
        } else {
            State::Unknown
        }
    }

    /// When water flowed on a day, as far as it is known: each time from when to when it may have been.
    pub fn flows(&self, day: Day) -> Vec<(Minute, Minute)> {
        let (from, to) = (self.site.start_of(day), self.site.start_of(day + 1));
        let spans = self.ways.iter().flatten();
        let metered =
            spans.filter(|span| span.volume > 0 && self.inside(span, &[day])).map(|span| (span.from.0, span.to.1 - 1));
        let seen = self.seen.iter().copied();
        seen.filter(|(a, _)| from <= *a && *a < to).chain(metered).collect()
    }

    pub fn ways(&self) -> &[Vec<Span>] {
        &self.ways
    }

    pub fn is_dry(&self, day: Day) -> bool {
        self.dry.contains(&day)
    }

    /// Whether water was seen or sampled between two times.
    pub fn seen_flowing(&self, between: (Minute, Minute)) -> bool {
        let within = |seen: &&(Minute, Minute)| between.0 <= seen.0 && seen.1 < between.1;
        self.seen.iter().any(|seen| within(&seen))
    }

    /// Whether water was seen or sampled on a day, at an hour that is not on file.
    pub fn seen_by_date(&self, day: Day) -> bool {
        let whole = hours(self.site, When::Date(day));
        self.seen.contains(&whole)
    }

    /// Whether any meter here has a span on file.
    pub fn has_flows(&self) -> bool {
        self.ways.iter().any(|way| !way.is_empty())
    }

    /// Runs of days that hold a span of more than one day.
    pub fn runs(&self) -> Vec<(Day, Day)> {
        let spans = self.ways.iter().flatten().filter(|span| span.volume > 0);
        spans.map(|span| self.days_touched(span)).map(|days| (days[0], days[days.len() - 1])).collect()
    }
}

/// The spans of a way and those amounts of its days that no span overlaps; a reading of a date alone stands at that day's
/// start.
fn with_amounts(site: &Site, mut spans: Vec<Span>, amounts: &[(Day, i64)]) -> Vec<Span> {
    for (day, volume) in amounts {
        let (from, to) = (site.start_of(*day), site.start_of(*day + 1));
        if spans.iter().all(|span| to <= span.from.0 || span.to.0 <= from) {
            let (from, to) = ((from, from), (to, to));
            spans.push(Span { from, to, raw: (from, to), volume: *volume });
        }
    }
    spans.sort_by_key(|span| (span.from.0, span.to.0));
    spans
}

/// Whatever shows water at an outfall, known by the day of judgement or not.
fn sights(site: &Site, outfall: usize) -> Vec<(Minute, Minute)> {
    let looks = site.looks.iter().filter(|look| look.outfall == outfall && look.flowing).map(|look| look.when);
    let taken = site.samples.iter().filter(|s| s.spot == Spot::Outfall(outfall) && s.mark != Mark::Void);
    looks.chain(taken.map(|sample| sample.when)).map(|when| hours(site, when)).collect()
}

/// The spans without those of meters that stood while water was seen: where on every way what was surely counted before,
/// at and after the time is nothing, the meters are not believed for the spans that may hold it.
fn believed(mut ways: Vec<Vec<Span>>, sights: &[(Minute, Minute)]) -> Vec<Vec<Span>> {
    let mut refused: Vec<BTreeSet<usize>> = vec![BTreeSet::new(); ways.len()];
    for (a, b) in sights {
        let here: Option<Vec<Vec<usize>>> = ways.iter().map(|way| still_at(way, (*a, *b))).collect();
        for (way, spans) in here.into_iter().flatten().enumerate() {
            refused[way].extend(spans);
        }
    }
    for (way, refused) in ways.iter_mut().zip(&refused) {
        let mut at = 0;
        way.retain(|_| {
            at += 1;
            !refused.contains(&(at - 1))
        });
    }
    ways
}

/// The spans of a way that may hold a time, if they and their neighbours counted nothing from before until after it.
fn still_at(way: &[Span], (a, b): (Minute, Minute)) -> Option<Vec<usize>> {
    // A minute is surrounded; the minutes of a day are covered from the first to the last.
    let by_date = a != b;
    let starts = |span: &Span| if by_date { span.from.1 <= a } else { span.from.1 < a };
    let ends = |span: &Span| b < span.to.0;
    let first = way.iter().rposition(starts)?;
    let last = way.iter().position(ends)?;
    // The least run of spans from one that surely begins before to one that surely ends after.
    let held = way.get(first.min(last)..=last.max(first))?;
    if held.iter().any(|span| span.volume > 0) {
        return None;
    }
    let far = if by_date { b + 1 } else { b };
    let touches = |span: &Span| span.from.0 <= far && a <= span.to.1;
    let mut out: Vec<usize> = (0..way.len()).filter(|at| touches(&way[*at]) && way[*at].volume == 0).collect();
    // Only those that hang together with the run, without one in between that moved.
    let (low, high) = (first.min(last), first.max(last));
    out.retain(|at| {
        let (from, to) = ((*at).min(low), (*at).max(high));
        way[from..=to].iter().all(|span| span.volume == 0)
    });
    Some(out)
}

/// The first and the last minute that a time may be.
fn hours(site: &Site, when: When) -> (Minute, Minute) {
    match when {
        When::Date(day) => (site.start_of(day), site.start_of(day + 1) - 1),
        When::At(minute) => (minute, minute),
    }
}

/// Whether a day is one of these, which are in order.
fn among(days: &[Day], day: Day) -> bool {
    days.binary_search(&day).is_ok()
}
