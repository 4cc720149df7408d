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
    /// Records that could not be compared: nothing flowed in the computation that day.
    pub left_out: usize,
}

impl Against {
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
        Self {
            pairs: self.pairs.iter().copied().filter(|(day, _, _)| from <= *day && *day <= to).collect(),
            ..self.clone()
        }
    }
}

/// Everything logged that the computation can be held against. Empty: never checked against this site.
pub fn against_log(
    facility: &Facility,
    timeline: &Timeline,
    ledger: &Ledger,
    period: (NaiveDate, NaiveDate),
) -> Vec<Against> {
    let days = ledger.days();
    let mut out = Vec::new();
    for (index, place) in facility.places.iter().enumerate() {
        if !matches!(place.kind, PlaceKind::Filter(_)) {
            continue;
        }
        let id = PlaceId(index);
        let computed = ledger.series(&Watch::Events(id));
        for changes in [false, true] {
            let logged = timeline.wash_days(id, changes, period.0, days);
            let values: Vec<Option<f64>> =
                logged.iter().map(|day| day.as_ref().map(|day| f64::from(day.count))).collect();
            let word = if changes { "changes" } else { "washes" };
            out.extend(monthly((format!("{word} of {}", place.name), id), Measure::Events, &values, &computed));
        }
    }
    for (index, meter) in facility.meters.iter().enumerate() {
        let Some((selector, measure)) = way_of(meter, ledger) else {
            continue;
        };
        let logged: Vec<Option<f64>> = timeline
            .meter_days(facility, index, period.0, days)
            .into_iter()
            .map(|day| day.map(|day| day.middle_m3))
            .collect();
        let computed = ledger.series(&Watch::Water(selector));
        out.extend(monthly((format!("meter {}", meter.name), meter.from), measure, &logged, &computed));
    }
    levels(facility, timeline, ledger, &mut out);
    samples(facility, timeline, ledger, &mut out);
    out
}

/// Month by month over the days that were logged; none where nothing was.
fn monthly(
    (what, at): (String, PlaceId),
    measure: Measure,
    logged: &[Option<f64>],
    computed: &DailySeries,
) -> Option<Against> {
    let mut pairs: Vec<(NaiveDate, f64, f64)> = Vec::new();
    for (day, (logged, computed_value)) in logged.iter().zip(&computed.values).enumerate() {
        let Some(logged) = logged else { continue };
        let date = computed.date(day);
        match pairs.last_mut() {
            Some((first, l, c)) if (first.year(), first.month()) == (date.year(), date.month()) => {
                *l += logged;
                *c += computed_value;
            }
            _ => pairs.push((date, *logged, *computed_value)),
        }
    }
    (!pairs.is_empty()).then_some(Against { what, at, measure, level: None, pairs, left_out: 0 })
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
    let measure =
        if matches!(purpose, Purpose::WashWater | Purpose::RinseWater) { Measure::WashWater } else { Measure::Water };
    Some((between.purpose(*purpose), measure))
}

fn put(
    out: &mut Vec<Against>,
    (what, at): (String, PlaceId),
    (measure, level): (Measure, Option<LevelKind>),
    pair: Option<(NaiveDate, f64, f64)>,
) {
    let index = match out.iter().position(|of| of.what == what && of.measure == measure) {
        Some(index) => index,
        None => {
            out.push(Against { what, at, measure, level, pairs: Vec::new(), left_out: 0 });
            out.len() - 1
        }
    };
    if let Some(of) = out.get_mut(index) {
        match pair {
            Some(pair) => of.pairs.push(pair),
            None => of.left_out += 1,
        }
    }
}

fn levels(facility: &Facility, timeline: &Timeline, ledger: &Ledger, out: &mut Vec<Against>) {
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
        let day = if level.time == Some(facility.day_starts) { level.day.pred_opt() } else { Some(level.day) };
        let series = ledger.series(&watch);
        if let Some((computed, _)) = day.and_then(|day| series.on(day)) {
            put(
                out,
                (format!("{word} of {}", place.name), level.at),
                (measure, Some(level.kind)),
                Some((level.day, level.value_si, computed)),
            );
        }
    }
}

fn samples(facility: &Facility, timeline: &Timeline, ledger: &Ledger, out: &mut Vec<Against>) {
    for sample in &timeline.samples {
        let is_solids = ["total suspended solids", "suspended solids", "tss"]
            .iter()
            .any(|known| known.eq_ignore_ascii_case(sample.parameter.trim()));
        let unit = sample.unit.as_deref().unwrap_or("mg/L").trim();
        let value: Option<f64> = sample.value.as_ref().and_then(|v| v.trim().parse().ok());
        let (Some(value), Some(place), true) = (value, facility.get(sample.at), is_solids) else {
            continue;
        };
        if !unit.eq_ignore_ascii_case("mg/L") || matches!(sample.qualifier, Qualifier::Below | Qualifier::Above) {
            continue;
        }
        let Some(day) = ledger.day_of(sample.day) else {
            continue;
        };
        let selector = match place.kind {
            PlaceKind::DischargePoint(_) => Selector::to(Node::Place(sample.at)),
            _ => Selector::from(Node::Place(sample.at)),
        };
        let (mut water, mut solids) = (0.0, 0.0);
        for way in ledger.select(&selector) {
            let into_sludge = matches!(ledger.ways()[way].to, Node::Sludge(_));
            if !into_sludge {
                water += ledger.water(day, way);
                solids += ledger.solids(day, way);
            }
        }
        let pair = (water > 1e-6).then(|| (sample.day, value / 1000.0, solids / water));
        put(out, (format!("suspended solids at {}", place.name), sample.at), (Measure::Solids, None), pair);
    }
}
