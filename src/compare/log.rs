//! Does it repeat the log? What the records say against what the computation gives without them.

use chrono::{Datelike, NaiveDate};

use crate::balance::{DailySeries, Ledger, Node, Purpose, Selector, Watch};
use crate::facility::model::{Facility, Meter, PlaceId, PlaceKind};
use crate::records::{LevelKind, Qualifier, Timeline};

/// What a comparison is of; its unit in SI.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Measure {
    /// Washes or changes, counted by month.
    Events,
    /// Wash water, m³ by month.
    WashWater,
    /// Other metered water, m³ by month.
    Water,
    /// A level, freeboard or sludge depth, m.
    Level,
    /// A volume held, m³.
    Holding,
    /// Suspended solids of a sample, kg/m³.
    Solids,
}

/// One thing logged and computed.
#[derive(Debug, Clone, PartialEq)]
pub struct Against {
    /// What: `washes of Sand beds`.
    pub what: String,
    /// The place or the meter's start it is of.
    pub at: PlaceId,
    /// Its measure.
    pub measure: Measure,
    /// Which level, where it is one.
    pub level: Option<LevelKind>,
    /// First day of the month (or the day), logged, computed.
    pub pairs: Vec<(NaiveDate, f64, f64)>,
    /// Results below detection: the day, where detection begins, computed.
    pub below: Vec<(NaiveDate, f64, f64)>,
    /// Records that could not be compared: nothing flowed in the computation that day.
    pub left_out: usize,
}

impl Against {
    /// The same with results below detection among the others, each as a figure.
    fn with_below(&self, figure: impl Fn(f64, f64) -> f64) -> Self {
        let taken = self.below.iter().map(|(day, limit, computed)| (*day, figure(*limit, *computed), *computed));
        let mut pairs: Vec<_> = self.pairs.iter().copied().chain(taken).collect();
        pairs.sort_by_key(|pair| pair.0);
        Self { pairs, below: Vec::new(), ..self.clone() }
    }

    /// The same with results below detection as much as they can be, or as nothing where more is computed than they can be; where that is not
    /// so they agree, and take nothing off what is computed.
    pub(super) fn at_an_end(&self, is_most: bool) -> Self {
        self.with_below(|limit, computed| match is_most {
            true => limit,
            false if computed > limit => 0.0,
            false => computed,
        })
    }

    /// The same with results below detection as near to what is computed as they can be: what then is off is so whatever they are.
    pub fn as_near_as_can_be(&self) -> Self {
        self.with_below(f64::min)
    }

    /// The same with the records that are meant alone.
    pub(super) fn only(&self, is_meant: impl Fn(&(NaiveDate, f64, f64)) -> bool) -> Self {
        let of = |all: &[(NaiveDate, f64, f64)]| all.iter().copied().filter(|pair| is_meant(pair)).collect();
        Self { pairs: of(&self.pairs), below: of(&self.below), ..self.clone() }
    }

    /// The mean of computed less logged.
    pub fn bias(&self) -> Option<f64> {
        let n = self.pairs.len();
        (n > 0).then(|| self.pairs.iter().map(|(_, l, c)| c - l).sum::<f64>() / n as f64)
    }

    /// The standard deviation of computed less logged about its mean.
    pub fn scatter(&self) -> Option<f64> {
        let n = self.pairs.len();
        let bias = self.bias()?;
        (n > 1).then(|| {
            let sum: f64 = self.pairs.iter().map(|(_, l, c)| (c - l - bias) * (c - l - bias)).sum();
            (sum / (n as f64 - 1.0)).sqrt()
        })
    }

    /// The mean of what was logged.
    pub fn mean_logged(&self) -> Option<f64> {
        let n = self.pairs.len();
        (n > 0).then(|| self.pairs.iter().map(|(_, l, _)| l).sum::<f64>() / n as f64)
    }

    /// Computed over logged, on average; none where nothing was logged above nought.
    pub fn times(&self) -> Option<f64> {
        let logged = self.mean_logged().filter(|logged| *logged > 0.0)?;
        Some(1.0 + self.bias()? / logged)
    }

    /// Whether what is computed decides nothing: under half or over double what was logged (common practice, no source).
    pub fn is_far_off(&self) -> bool {
        self.times().is_some_and(|times| !(0.5..=2.0).contains(&times))
    }

    /// The same between two dates, months counted by their first day.
    #[must_use]
    pub fn between(&self, from: NaiveDate, to: NaiveDate) -> Self {
        self.only(|(day, ..)| from <= *day && *day <= to)
    }
}

/// What is logged of a site, and the series of a run that it is held against: the same for one run and for many.
#[derive(Debug, Clone, Default)]
pub struct LogPlan {
    /// The series, each once.
    pub watches: Vec<Watch>,
    things: Vec<Thing>,
}

/// One thing logged.
#[derive(Debug, Clone)]
struct Thing {
    what: String,
    at: PlaceId,
    measure: Measure,
    level: Option<LevelKind>,
    /// Index of the day in the period, the day of the record, and its value.
    logged: Vec<(usize, NaiveDate, f64)>,
    /// The same of results below detection, with where that begins.
    below: Vec<(usize, NaiveDate, f64)>,
    /// Whether the days of a month are added up.
    by_month: bool,
    computed: Held,
}

/// What a thing logged is held against: indices of series.
#[derive(Debug, Clone, Copy)]
enum Held {
    /// One series.
    Series(usize),
    /// Solids over water, both without what goes into the sludge.
    Strength { solids: [usize; 2], water: [usize; 2] },
}

/// Everything logged that the computation can be held against. Empty: never checked against this site.
pub fn against_log(
    facility: &Facility,
    timeline: &Timeline,
    ledger: &Ledger,
    period: (NaiveDate, NaiveDate),
) -> Vec<Against> {
    let plan = LogPlan::new(facility, timeline, ledger, period);
    let series: Vec<DailySeries> = plan.watches.iter().map(|watch| ledger.series(watch)).collect();
    plan.against(&series)
}

impl LogPlan {
    /// What the records of a period tell that a run can be held against; `ledger` is that of any run of the site.
    pub fn new(facility: &Facility, timeline: &Timeline, ledger: &Ledger, period: (NaiveDate, NaiveDate)) -> Self {
        let days = ledger.days();
        let mut plan = Self::default();
        for (index, place) in facility.places.iter().enumerate() {
            if !matches!(place.kind, PlaceKind::Filter(_)) {
                continue;
            }
            let id = PlaceId(index);
            for changes in [false, true] {
                let logged = timeline.wash_days(id, changes, period.0, days);
                let values = logged.iter().map(|day| day.as_ref().map(|day| f64::from(day.count)));
                let word = if changes { "changes" } else { "washes" };
                let what = format!("{word} of {}", place.name);
                plan.monthly((what, id), Measure::Events, Watch::Events(id), period.0, values);
            }
        }
        for (index, meter) in facility.meters.iter().enumerate() {
            let Some((selector, measure)) = way_of(meter, ledger) else {
                continue;
            };
            let days = timeline.meter_days(facility, index, period.0, days);
            let values = days.into_iter().map(|day| day.map(|day| day.middle_m3));
            let what = format!("meter {}", meter.name);
            plan.monthly((what, meter.from), measure, Watch::Water(selector), period.0, values);
        }
        plan.levels(facility, timeline, ledger);
        plan.samples(facility, timeline, ledger);
        plan
    }

    /// What was logged beside what a run gives: `series` are those of [`LogPlan::watches`], in their order.
    pub fn against(&self, series: &[DailySeries]) -> Vec<Against> {
        let at = |index: usize, day: usize| series.get(index).and_then(|of| of.values.get(day)).copied().unwrap_or(0.0);
        let mut out = Vec::new();
        for thing in &self.things {
            let mut pairs: Vec<(NaiveDate, f64, f64)> = Vec::new();
            let mut left_out = 0;
            let computed_on = |day: usize| match thing.computed {
                Held::Series(of) => Some(at(of, day)),
                Held::Strength { solids: [solids, settled], water: [water, with_it] } => {
                    let water = at(water, day) - at(with_it, day);
                    (water > 1e-6).then(|| (at(solids, day) - at(settled, day)) / water)
                }
            };
            let below = thing.below.iter().filter_map(|(day, date, limit)| Some((*date, *limit, computed_on(*day)?)));
            let below: Vec<_> = below.collect();
            left_out += thing.below.len() - below.len();
            for (day, date, logged) in &thing.logged {
                let Some(computed) = computed_on(*day) else {
                    left_out += 1;
                    continue;
                };
                match pairs.last_mut() {
                    Some((first, l, c))
                        if thing.by_month && (first.year(), first.month()) == (date.year(), date.month()) =>
                    {
                        *l += logged;
                        *c += computed;
                    }
                    _ => pairs.push((*date, *logged, computed)),
                }
            }
            out.push(Against {
                what: thing.what.clone(),
                at: thing.at,
                measure: thing.measure,
                level: thing.level,
                pairs,
                below,
                left_out,
            });
        }
        out
    }

    /// The same with those measures alone.
    #[must_use]
    pub fn only(&self, is_meant: impl Fn(Measure) -> bool) -> Self {
        let mut out = Self::default();
        for thing in self.things.iter().filter(|thing| is_meant(thing.measure)) {
            let mut again = |at: usize| self.watches.get(at).map_or(0, |watch| out.watch(watch.clone()));
            let computed = match thing.computed {
                Held::Series(at) => Held::Series(again(at)),
                Held::Strength { solids, water } => {
                    Held::Strength { solids: solids.map(&mut again), water: water.map(&mut again) }
                }
            };
            out.things.push(Thing { computed, ..thing.clone() });
        }
        out
    }

    fn watch(&mut self, watch: Watch) -> usize {
        match self.watches.iter().position(|known| *known == watch) {
            Some(at) => at,
            None => {
                self.watches.push(watch);
                self.watches.len() - 1
            }
        }
    }

    /// Month by month over the days that were logged; nothing where nothing was.
    fn monthly(
        &mut self,
        (what, at): (String, PlaceId),
        measure: Measure,
        watch: Watch,
        first: NaiveDate,
        values: impl Iterator<Item = Option<f64>>,
    ) {
        let logged: Vec<(usize, NaiveDate, f64)> = values
            .enumerate()
            .zip(first.iter_days())
            .filter_map(|((day, value), date)| Some((day, date, value?)))
            .collect();
        if !logged.is_empty() {
            let computed = Held::Series(self.watch(watch));
            self.things.push(Thing {
                what,
                at,
                measure,
                level: None,
                logged,
                below: Vec::new(),
                by_month: true,
                computed,
            });
        }
    }

    fn put(
        &mut self,
        (what, at): (String, PlaceId),
        (measure, level): (Measure, Option<LevelKind>),
        computed: Held,
        (logged, is_below): ((usize, NaiveDate, f64), bool),
    ) {
        let known = self.things.iter().position(|of| of.what == what && of.measure == measure);
        let at_index = known.unwrap_or_else(|| {
            let (logged, below) = (Vec::new(), Vec::new());
            self.things.push(Thing { what, at, measure, level, logged, below, by_month: false, computed });
            self.things.len() - 1
        });
        if let Some(thing) = self.things.get_mut(at_index) {
            let list = if is_below { &mut thing.below } else { &mut thing.logged };
            list.push(logged);
        }
    }

    fn levels(&mut self, facility: &Facility, timeline: &Timeline, ledger: &Ledger) {
        for level in &timeline.levels {
            let Some(place) = facility.get(level.at) else {
                continue;
            };
            let (watch, word, measure) = match level.kind {
                LevelKind::Level => (Watch::Level(level.at), "level", Measure::Level),
                LevelKind::Freeboard => (Watch::Freeboard(level.at), "freeboard", Measure::Level),
                LevelKind::SludgeDepth => (Watch::SludgeDepth(level.at), "sludge depth", Measure::Level),
                LevelKind::Holding => (Watch::Volume(level.at), "volume held", Measure::Holding),
            };
            // What is written at the day's start is the close of the day before.
            let closes = level.time == Some(facility.day_starts) && !facility.day_bears_its_end;
            let day = if closes { level.day.pred_opt() } else { Some(level.day) };
            if let Some(day) = day.and_then(|day| ledger.day_of(day))
                && ledger.series(&watch).values.len() > day
            {
                let computed = Held::Series(self.watch(watch));
                let what = (format!("{word} of {}", place.name), level.at);
                self.put(what, (measure, Some(level.kind)), computed, ((day, level.day, level.value_si), false));
            }
        }
    }

    fn samples(&mut self, facility: &Facility, timeline: &Timeline, ledger: &Ledger) {
        for sample in &timeline.samples {
            let is_solids = ["total suspended solids", "suspended solids", "tss"]
                .iter()
                .any(|known| known.eq_ignore_ascii_case(sample.parameter.trim()));
            let unit = sample.unit.as_deref().unwrap_or("mg/L").trim();
            let value: Option<f64> = sample.value.as_ref().and_then(|v| v.trim().parse().ok());
            let (Some(value), Some(place), true) = (value, facility.get(sample.at), is_solids) else {
                continue;
            };
            if !unit.eq_ignore_ascii_case("mg/L") || sample.qualifier == Qualifier::Above {
                continue;
            }
            let Some(day) = ledger.day_of(sample.day) else {
                continue;
            };
            let node = Node::Place(sample.at);
            let selector = match place.kind {
                PlaceKind::DischargePoint(_) => Selector::to(node),
                _ => Selector::from(node),
            };
            let settled = Selector { from: Some(node), to: Some(Node::Sludge(sample.at)), purpose: None };
            let computed = Held::Strength {
                solids: [selector, settled].map(|of| self.watch(Watch::Solids(of))),
                water: [selector, settled].map(|of| self.watch(Watch::Water(of))),
            };
            let what = (format!("suspended solids at {}", place.name), sample.at);
            let is_below = sample.qualifier == Qualifier::Below;
            self.put(what, (Measure::Solids, None), computed, ((day, sample.day, value / 1000.0), is_below));
        }
    }
}

/// The way a meter reads: the one its line names, else water, else a top-up, else whatever there is.
fn way_of(meter: &Meter, ledger: &Ledger) -> Option<(Selector, Measure)> {
    let between = Selector { from: Some(Node::Place(meter.from)), to: Some(Node::Place(meter.to)), purpose: None };
    let purposes: Vec<Purpose> = ledger.select(&between).iter().map(|way| ledger.ways()[*way].purpose).collect();
    let named = meter.what.as_ref().filter(|what| !what.trim().eq_ignore_ascii_case("water"));
    let purpose = match named {
        Some(what) => purposes.iter().find(|p| p.words().eq_ignore_ascii_case(what.trim())),
        None => purposes
            .iter()
            .find(|p| **p == Purpose::Water)
            .or_else(|| purposes.iter().find(|p| **p == Purpose::TopUp))
            .or_else(|| purposes.first()),
    }?;
    let measure = if matches!(purpose, Purpose::WashWater | Purpose::RinseWater | Purpose::Reject) {
        Measure::WashWater
    } else {
        Measure::Water
    };
    Some((between.purpose(*purpose), measure))
}
