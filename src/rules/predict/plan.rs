//! A limit made ready to be evaluated on computed daily series: the same folds and decision as for records.

use std::borrow::Borrow;

use chrono::{Datelike, NaiveDate};

use crate::balance::{DailySeries, Ledger, Watch};
use crate::facility::model::{Facility, PlaceId};
use crate::quantity::parameter_name;
use crate::records::{LevelKind, Timeline};
use crate::rules::judge::scene::allowed_divisors;
use crate::rules::measure::DUST_M3;
use crate::rules::measure::convert::{amount_factor, factor, load_factor};
use crate::rules::measure::points::{places, selectors};
use crate::rules::measure::readings::area;
use crate::rules::measure::storm::Storms;
use crate::rules::window::decide::{Side, margin, side};
use crate::rules::window::statistics::{Fold, Shape};
use crate::rules::window::windows::{Calendar, Cuts, WindowKind, each_day, listed};
use crate::rules::{Counted, Except, Interval, Limit, Matters, Number, Point, RulesFile, Subject};
use crate::weather::DailyWeather;

/// A limit with all that its evaluation on a computed run needs.
#[derive(Debug, Clone)]
pub struct LimitPlan {
    /// The limit's index in the rules file.
    pub index: usize,
    /// The limit.
    pub limit: Limit,
    /// The daily series it is evaluated on, in the order [`LimitPlan::drawn`] takes them.
    pub watches: Vec<Watch>,
    /// The days judged.
    pub span: (NaiveDate, NaiveDate),
    /// The way to count: the first where the permit does not say.
    pub counted: Counted,
    windows: Vec<PlannedWindow>,
    water_series: usize,
    to_limit: Option<Interval>,
    excused: Vec<StormDay>,
}

/// A window that a run can tell of: its first and last day, and its days under the limit.
#[derive(Debug, Clone, PartialEq)]
struct PlannedWindow {
    ends: (NaiveDate, NaiveDate),
    days: Vec<NaiveDate>,
}

/// What excuses a discharge of one day, as far as rain tells; the level before the storm comes from each run.
#[derive(Debug, Clone, Copy, PartialEq)]
struct StormDay {
    day: NaiveDate,
    storm: Option<bool>,
    began: Option<NaiveDate>,
}

/// A window's days, its figure, and what it is held against where that is not the bound.
type WindowFigure = ((NaiveDate, NaiveDate), Interval, Option<Number>);

/// How a limit came out in one computed run.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawn {
    /// The worst figure, in the limit's unit (for `no discharge`: days); none where nothing was computed.
    pub worst: Option<f64>,
    /// Whether it is outside the limit; none where even the computed run does not tell (a storm that is not known).
    pub outside: Option<bool>,
    /// First and last day of the window of the worst figure.
    pub when: Option<(NaiveDate, NaiveDate)>,
    /// The figure of each window by its first and last day, in order.
    pub windows: Vec<((NaiveDate, NaiveDate), f64)>,
}

/// Which switches can change a limit's figure, whatever is on file.
pub(crate) fn matters(limit: &Limit) -> Matters {
    let sampled = matches!(limit.subject, Subject::Parameter(_) | Subject::Load(_) | Subject::Removal(..));
    let weekly = limit.statistic.window == WindowKind::Week;
    Matters {
        several: sampled && limit.statistic.by_day,
        below_detection: sampled && limit.statistic.substitutes,
        divisors: if limit.statistic.divides { allowed_divisors(limit) } else { Vec::new() },
        weighting: limit.statistic.divides && matches!(limit.subject, Subject::Parameter(_)),
        week: weekly || limit.sample.as_ref().is_some_and(|duty| duty.how_often.is_by_week()),
        straddling: weekly && !(limit.holds.seasons.is_empty() && limit.holds.months.is_empty()),
    }
}

/// The first way to count: what the permit says, and the first answer to what it does not.
pub(crate) fn first_way(limit: &Limit) -> Option<Counted> {
    let divisors = matters(limit).divisors.into_iter().take(1).collect();
    let only = Matters { divisors, ..Matters::default() };
    let said = limit.counting.divisor.is();
    let applies = said.is_none_or(|said| matters(limit).divisors.contains(&said));
    let only = if applies { Matters::default() } else { only };
    limit.counting.ways(&only, limit.bound.places).into_iter().next()
}

/// The days of a period on which a limit's version is in force; none where they don't meet.
pub(crate) fn span_of(
    rules: &RulesFile,
    limit: &Limit,
    period: (NaiveDate, NaiveDate),
) -> Option<(NaiveDate, NaiveDate)> {
    let (mut from, mut to) = period;
    if let Some((first, last)) = rules.in_force {
        from = from.max(first);
        to = to.min(last);
    }
    if let Some((first, last)) = limit.holds.dates {
        from = first.map_or(from, |first| from.max(first));
        to = last.map_or(to, |last| to.min(last));
    }
    (from <= to && each_day(from, to).any(|day| limit.holds.on(day))).then_some((from, to))
}

pub(crate) fn calendar(rules: &RulesFile, counted: &Counted) -> Calendar {
    Calendar { week_starts: counted.week_starts, straddling: counted.straddling, year_starts: rules.permit_year_starts }
}

/// The series of mass of a parameter that the ledger follows over a limit's ways: none where it follows none.
fn mass_watches(parameter: &str, limit: &Limit, facility: &Facility) -> Vec<Watch> {
    let selectors = selectors(&limit.at, facility);
    let mut out = Vec::new();
    for selector in selectors {
        if parameter == "total suspended solids" {
            out.push(Watch::Solids(selector));
            continue;
        }
        if let Some(kind) = facility.solids.iter().position(|kind| parameter_name(&kind.name) == parameter) {
            out.push(Watch::SolidsOfKind(selector, kind));
        }
        if let Some(index) = facility.dissolved.iter().position(|of| parameter_name(&of.name) == parameter) {
            out.push(Watch::Dissolved(selector, index));
        }
        // What solids hold goes by the name that the facility's file has for it.
        let held = facility
            .solids
            .iter()
            .flat_map(|kind| &kind.holds)
            .map(|(name, _)| name)
            .find(|name| parameter_name(name) == parameter);
        if let Some(name) = held {
            out.push(Watch::Bound(selector, name.clone()));
        }
    }
    out
}

fn one_place(limit: &Limit) -> Option<PlaceId> {
    match places(&limit.at).as_slice() {
        [one] => Some(*one),
        _ => None,
    }
}

/// The daily series a limit is evaluated on in a computed run: water first, then masses; none where nothing is computed
/// for it (a pH, a rate at a moment).
pub(crate) fn watches(limit: &Limit, facility: &Facility) -> (Vec<Watch>, usize) {
    let water: Vec<Watch> = selectors(&limit.at, facility).into_iter().map(Watch::Water).collect();
    let count = water.len();
    match &limit.subject {
        Subject::Water => (water, count),
        Subject::Discharge => {
            let mut all = water;
            if let Some(before) = limit.except.as_ref().and_then(|except| except.before_it.as_ref()) {
                all.push(Watch::Level(before.store));
            }
            (all, count)
        }
        Subject::Parameter(parameter) | Subject::Load(parameter) => {
            let mass = mass_watches(parameter, limit, facility);
            if mass.is_empty() {
                return (Vec::new(), 0);
            }
            let mut all = water;
            all.extend(mass);
            (all, count)
        }
        Subject::Stage(kind) => {
            let watch = one_place(limit).map(|place| match kind {
                LevelKind::Level => Watch::Level(place),
                LevelKind::Freeboard => Watch::Freeboard(place),
                LevelKind::SludgeDepth => Watch::SludgeDepth(place),
                LevelKind::Holding => Watch::Volume(place),
            });
            (watch.into_iter().collect(), 0)
        }
        Subject::Events => (one_place(limit).map(Watch::Events).into_iter().collect(), 0),
        Subject::Hours => match limit.at {
            Point::Of(_, filter) => (vec![Watch::Minutes(filter)], 0),
            // Of several nobody knows which run at once.
            Point::Streams(_) => (one_place(limit).map(Watch::Minutes).into_iter().collect(), 0),
            _ => (Vec::new(), 0),
        },
        Subject::Rate | Subject::Removal(..) | Subject::ClockWindow => (Vec::new(), 0),
    }
}

/// Every daily series that predictions of a rules file need, each once, in file order.
pub fn watched(rules: &RulesFile, facility: &Facility) -> Vec<Watch> {
    let mut out: Vec<Watch> = Vec::new();
    for limit in &rules.limits {
        for watch in watches(limit, facility).0 {
            if !out.contains(&watch) {
                out.push(watch);
            }
        }
    }
    out
}

/// A plan for each limit that is in force in the period and for which something is computed. The storms that excuse a
/// discharge are worked out once; levels before them come from each run.
pub fn plans(
    rules: &RulesFile,
    facility: &Facility,
    timeline: &Timeline,
    weather: Option<&DailyWeather>,
    period: (NaiveDate, NaiveDate),
) -> Vec<LimitPlan> {
    (0..rules.limits.len()).filter_map(|index| plan(index, rules, facility, timeline, weather, period)).collect()
}

/// The plan of one limit.
pub(crate) fn plan(
    index: usize,
    rules: &RulesFile,
    facility: &Facility,
    timeline: &Timeline,
    weather: Option<&DailyWeather>,
    period: (NaiveDate, NaiveDate),
) -> Option<LimitPlan> {
    let limit = rules.limits.get(index)?;
    let (watches, water_series) = watches(limit, facility);
    if watches.is_empty() {
        return None;
    }
    let span = span_of(rules, limit, period)?;
    let counted = first_way(limit)?;
    let in_force = |day: NaiveDate| {
        rules.in_force.is_none_or(|(first, last)| first <= day && day <= last) && limit.holds.in_dates(day)
    };
    // A run tells only of windows that lie in it whole.
    let windows = listed(
        limit.statistic.window,
        period,
        period.1,
        limit.days,
        &limit.holds.seasons,
        &Cuts { in_force: &in_force, in_season: &|day| limit.holds.in_season(day) },
        &calendar(rules, &counted),
    )
    .into_iter()
    .filter(|of| of.evaluable && of.window.from >= period.0 && of.window.to <= period.1)
    .map(|of| PlannedWindow {
        ends: (of.window.from, of.window.to),
        days: of
            .days
            .into_iter()
            .filter(|day| limit.holds.weekdays.is_none_or(|on| on.contains(day.weekday())))
            .collect(),
    })
    .filter(|of| !of.days.is_empty())
    .collect();
    let to_limit = match limit.subject {
        Subject::Water => amount_factor(&limit.bound, area(&limit.at, facility)),
        Subject::Load(_) => amount_factor(&limit.bound, area(&limit.at, facility))
            .map(|to| to.scaled(load_factor(limit.counting.load_factor))),
        Subject::Parameter(_) | Subject::Stage(_) => {
            Some(Interval::exactly(Number::whole(1).over(factor(limit.bound.unit.as_ref()?))?))
        }
        Subject::Hours => Some(Interval::exactly(match limit.bound.unit?.dimension {
            crate::quantity::Dimension::PartOfDay => {
                Number::quotient(1, 1440).over(factor(limit.bound.unit.as_ref()?))?
            }
            _ => Number::whole(60).over(factor(limit.bound.unit.as_ref()?))?,
        })),
        _ => Some(Interval::exactly(Number::whole(1))),
    };
    let excused = match &limit.except {
        Some(except) if limit.subject == Subject::Discharge => {
            let rain_alone = Except { before_it: None, ..except.clone() };
            let storms =
                Storms::of(&rain_alone, limit.counting.level_holds_days, facility, timeline, weather, NaiveDate::MAX);
            each_day(span.0, span.1)
                .map(|day| {
                    let of = storms.excuse(day, None);
                    StormDay { day, storm: of.holds, began: of.storm_began }
                })
                .collect()
        }
        _ => Vec::new(),
    };
    Some(LimitPlan { index, limit: limit.clone(), watches, span, counted, windows, water_series, to_limit, excused })
}

impl LimitPlan {
    /// The series of a ledger in the order of [`LimitPlan::watches`].
    pub fn series(&self, ledger: &Ledger) -> Vec<DailySeries> {
        self.watches.iter().map(|watch| ledger.series(watch)).collect()
    }

    /// What a run computes for each of its days, in the limit's unit; none on a day without a value, such as the
    /// concentration of no water.
    fn values(&self, series: &[&DailySeries]) -> Vec<Option<f64>> {
        let Some(first) = series.first() else {
            return Vec::new();
        };
        let sum = |of: &[&DailySeries], day: usize| -> f64 {
            of.iter().map(|series| series.values.get(day).copied().unwrap_or(0.0)).sum()
        };
        let (water, rest) = series.split_at(self.water_series.min(series.len()));
        let scale = self.to_limit.map_or(1.0, |to| to.high.to_f64());
        (0..first.values.len())
            .map(|day| match self.limit.subject {
                Subject::Water | Subject::Discharge => Some(sum(water, day) * scale),
                Subject::Parameter(_) => {
                    let volume = sum(water, day);
                    (volume > DUST_M3).then(|| sum(rest, day) / volume * scale)
                }
                _ => Some(sum(rest, day) * scale),
            })
            .collect()
    }

    /// Evaluates the limit's statistic on a computed run's series, given in the order of [`LimitPlan::watches`].
    pub fn drawn<S: Borrow<DailySeries>>(&self, series: &[S]) -> Drawn {
        let series: Vec<&DailySeries> = series.iter().map(Borrow::borrow).collect();
        let Some(first_day) = series.first().map(|series| series.first_day) else {
            return self.worst(Vec::new());
        };
        let values = self.values(&series);
        let on = |day: NaiveDate| -> Option<f64> {
            let at = usize::try_from((day - first_day).num_days()).ok()?;
            values.get(at).copied().flatten()
        };
        let held = || {
            each_day(self.span.0, self.span.1)
                .filter(|day| self.limit.holds.on(*day))
                .filter_map(|day| Some((day, on(day)?)))
        };
        if self.limit.subject == Subject::Discharge {
            return self.drawn_discharge(held(), series.get(self.water_series).copied());
        }
        let exactly = |value: f64| Interval::exactly(Number::computed(value));
        let mut figures: Vec<WindowFigure> = Vec::with_capacity(self.windows.len());
        match self.limit.statistic.shape {
            Shape::Window(fold) => {
                let mut inside: Vec<f64> = Vec::new();
                for window in &self.windows {
                    inside.clear();
                    inside.extend(window.days.iter().filter_map(|day| on(*day)));
                    let figure = fold.of_run(&inside, window.days.len(), self.counted.divisor, &self.limit.bound);
                    let Some(figure) = figure else { continue };
                    let allowed = (fold == Fold::Allowance).then(|| self.allowed(inside.len())).flatten();
                    if fold == Fold::Allowance && allowed.is_none() {
                        continue;
                    }
                    figures.push((window.ends, exactly(figure), allowed));
                }
            }
            Shape::Each => {
                figures.extend(held().map(|(day, value)| ((day, day), exactly(value), None)));
            }
            Shape::ByItself => {}
        }
        self.worst(figures)
    }

    /// How many of so many values may be over.
    fn allowed(&self, n: usize) -> Option<Number> {
        let n = u32::try_from(n).ok()?;
        self.limit
            .allowance
            .iter()
            .find(|(from, to, _)| *from <= n && n <= *to)
            .map(|(_, _, allowed)| Number::whole(i128::from(*allowed)))
    }

    fn worst(&self, windows: Vec<WindowFigure>) -> Drawn {
        let mut worst: Option<(Number, Number, (NaiveDate, NaiveDate))> = None;
        let mut outside = false;
        let mut open = false;
        for (window, value, against) in &windows {
            let allowed = against.map(|allowed| crate::rules::Bound::plain(Some(allowed), None));
            let bound = allowed.as_ref().unwrap_or(&self.limit.bound);
            match side(value, bound, self.counted.rounding, self.limit.statistic.substitutes) {
                Side::Over | Side::Under => outside = true,
                Side::Open => open = true,
                Side::Within => {}
            }
            let figure = value.counted.unwrap_or(value.high);
            if let Some(margin) = margin(figure, bound)
                && worst.as_ref().is_none_or(|(least, _, _)| margin.compare(*least).is_lt())
            {
                worst = Some((margin, figure, *window));
            }
        }
        Drawn {
            worst: worst.as_ref().map(|(_, figure, _)| figure.to_f64()),
            outside: match (outside, open, windows.is_empty()) {
                (true, _, _) => Some(true),
                (_, true, _) | (_, _, true) => None,
                _ => Some(false),
            },
            when: worst.map(|(_, _, window)| window),
            windows: windows
                .into_iter()
                .map(|(window, value, _)| (window, value.counted.unwrap_or(value.high).to_f64()))
                .collect(),
        }
    }

    fn drawn_discharge(&self, held: impl Iterator<Item = (NaiveDate, f64)>, level: Option<&DailySeries>) -> Drawn {
        let mut days = Vec::new();
        let mut open = false;
        for (day, volume) in held {
            if volume <= DUST_M3 {
                continue;
            }
            match self.excused_in_run(day, level) {
                Some(true) => continue,
                Some(false) => {}
                None => open = true,
            }
            days.push(((day, day), volume));
        }
        Drawn {
            worst: Some(days.len() as f64),
            outside: match (days.is_empty(), open) {
                (true, _) => Some(false),
                (false, true) => None,
                (false, false) => Some(true),
            },
            when: days.first().map(|(window, _)| *window),
            windows: days,
        }
    }

    /// Whether a storm and the run's own level before it excuse a discharge; none where rain does not tell.
    fn excused_in_run(&self, day: NaiveDate, level: Option<&DailySeries>) -> Option<bool> {
        let Some(of) = self.excused.iter().find(|of| of.day == day) else {
            return Some(false);
        };
        if of.storm == Some(false) {
            return Some(false);
        }
        let before = self.limit.except.as_ref().and_then(|except| except.before_it.as_ref());
        let drawn_down = match (before, of.began, level) {
            (None, _, _) => Some(true),
            (Some(before), Some(began), Some(level)) => level
                .on(crate::rules::window::windows::before(began))
                .map(|(value, _)| Number::computed(value).against(before.below_m).is_lt()),
            _ => None,
        };
        match (of.storm, drawn_down) {
            (_, Some(false)) => Some(false),
            (Some(true), Some(true)) => Some(true),
            _ => None,
        }
    }
}
