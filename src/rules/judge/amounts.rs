//! Water and counts held against a limit: what each day, or each window, can have had.

use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;

use crate::rules::judge::amount_means::average;
use crate::rules::judge::evaluate::{Figured, Held, Judged, Judgement, decided, runs, without_figure};
use crate::rules::judge::lacking::uncounted;
use crate::rules::judge::scene::Scene;
use crate::rules::judge::text;
use crate::rules::measure::convert::amount_factor;
use crate::rules::measure::readings::area;
use crate::rules::measure::{Amounts, Flow, Stretch, Sum, day_number, day_of_number, days_touched, stretches_of};
use crate::rules::window::statistics::Fold;
use crate::rules::window::windows::{Window, after, days_label, each_day};
use crate::rules::{Bound, Counted, Evidence, Interval, Limit, Missing, Number, Outcome, Subject};
use crate::told::many;

/// The amounts of a limit with the factor to its unit.
pub(crate) struct Water<'a> {
    /// The limit and what is on file.
    pub scene: &'a Scene<'a>,
    /// What was counted, way by way.
    pub amounts: Amounts,
    /// To the limit's unit.
    pub factor: Interval,
}

impl<'a> Water<'a> {
    fn of(scene: &'a Scene<'a>) -> Option<Self> {
        let events = scene.limit.subject == Subject::Events;
        Some(Self {
            scene,
            amounts: if events { scene.washes.clone() } else { scene.flows.water() },
            factor: if events {
                Interval::exactly(Number::whole(1))
            } else {
                amount_factor(&scene.limit.bound, area(&scene.limit.at, scene.case.facility))?
            },
        })
    }

    /// The time of days: whole, or of the clock hours that the limit is for.
    fn time(&self, days: &[NaiveDate]) -> Vec<Stretch> {
        stretches_of(days.iter().copied(), self.scene.limit.only_between, self.scene.case.facility.day())
    }

    /// What days can have had, in the limit's unit.
    pub fn over(&self, days: &[NaiveDate]) -> Sum<'_> {
        let sum = self.amounts.over(&self.time(days));
        Sum { value: sum.value.times(self.factor), ..sum }
    }

    /// What is known of a day: of water by all that shows it, of a log by what it counts.
    pub fn flow_on(&self, day: i64) -> Flow {
        let channels = &self.amounts.channels;
        if self.scene.limit.subject != Subject::Events {
            return self.scene.flows.on(day_of_number(day));
        }
        if channels.iter().any(|log| log.flowed(day)) {
            Flow::Flowing
        } else if channels.iter().all(|log| log.is_dry(day)) {
            Flow::Dry
        } else {
            Flow::NotKnown
        }
    }

    fn in_unit(&self, amount: Number) -> Interval {
        Interval::exactly(amount).times(self.factor)
    }

    /// The largest mean of a day over whole days that follow one another, in the limit's unit.
    fn largest_mean(&self, days: &[NaiveDate]) -> Option<(Interval, (NaiveDate, NaiveDate))> {
        // Within clock hours a span says nothing of a mean by day.
        if self.scene.limit.only_between.is_some() {
            return None;
        }
        runs(days)
            .into_iter()
            .filter_map(|(from, to)| {
                let (mean, run) = self.amounts.largest_mean(day_number(from), day_number(to))?;
                Some((self.in_unit(mean), (day_of_number(run.0), day_of_number(run.1))))
            })
            .reduce(|a, b| if b.0.low.compare(a.0.low).is_gt() { b } else { a })
    }
}

fn evidence_of(sum: &Sum<'_>) -> Vec<Evidence> {
    sum.parts.iter().flat_map(|(piece, _)| piece.evidence.clone()).collect()
}

/// How much was counted, and how many spans of it are longer than a day. Where all are days, several meters that were read on
/// one count it once.
fn on_file(sum: &Sum<'_>) -> (usize, usize) {
    let days = || sum.parts.iter().filter(|(piece, _)| !piece.carried).map(|(piece, _)| piece.days());
    match days().filter(|(first, last)| first != last).count() {
        0 => (days().collect::<BTreeSet<_>>().len(), 0),
        long => (days().count(), long),
    }
}

/// Each day of the period on its own; days that only a span over several of them tells of are listed together.
pub(crate) fn days(scene: &Scene<'_>, counted: &Counted) -> Judged {
    let mut out = Judged::default();
    let Some(water) = Water::of(scene) else {
        return out;
    };
    let limit = scene.limit;
    let days = scene.days();
    let all = water.over(&days);
    (out.readings, out.long) = on_file(&all);
    let mut groups: Vec<Group> = Vec::new();
    let mut missing: BTreeMap<Vec<(String, bool)>, Vec<NaiveDate>> = BTreeMap::new();
    for day in &days {
        let sum = water.over(&[*day]);
        let nobody_read = sum.parts.iter().all(|(piece, _)| piece.carried);
        if nobody_read && !sum.missing.is_empty() && !is_over(sum.value, counted, &limit.bound) {
            let ways = sum.missing.iter().map(|(name, counted, _)| ((*name).to_owned(), *counted)).collect();
            missing.entry(ways).or_default().push(*day);
            continue;
        }
        let spans: Vec<(i64, i64)> = sum
            .parts
            .iter()
            .map(|(piece, _)| piece.outer)
            .filter(|outer| days_touched(*outer).0 != days_touched(*outer).1)
            .collect();
        let bare = sum.parts.is_empty();
        let alike = sum.missing.is_empty() && (bare || spans.len() == sum.parts.len());
        match groups.last_mut() {
            Some(last)
                if alike
                    && (last.alike, last.bare, &last.spans) == (alike, bare, &spans)
                    && last.days.last().is_some_and(|last| after(*last) == *day) =>
            {
                last.days.push(*day);
            }
            _ => groups.push(Group { days: vec![*day], spans, bare, alike }),
        }
    }
    for of in &groups {
        out.windows.push(group(&water, counted, of));
    }
    // What is sure of a run of days without being sure of one of them, where no group tells it alone.
    if let (Some((mean, (from, to))), Some((bound, within))) = (water.largest_mean(&days), limit.bound.upper()) {
        let side = mean.low.rounded_against(counted.rounding, bound);
        let over = side.is_gt() || (side.is_eq() && !within);
        let told = out.windows.iter().any(|window| {
            window.finding.outcome.is_exceeded() && window.finding.from <= to && window.finding.to >= from
        });
        if over && !told {
            out.windows.push(one_of_these(&water, counted, mean, from, to));
        }
    }
    for (ways, days) in missing {
        for (from, to) in runs(&days) {
            let run: Vec<NaiveDate> = each_day(from, to).collect();
            let lacks: Vec<(&str, bool, Vec<NaiveDate>)> =
                ways.iter().map(|(name, counted)| (name.as_str(), *counted, run.clone())).collect();
            out.windows.push(without_figure(
                Window::new(from, to),
                Outcome::NotShown,
                uncounted(&lacks, water.scene.case.as_of),
            ));
        }
    }
    out
}

/// Whether the least that a value can be is over its bound.
fn is_over(value: Interval, counted: &Counted, bound: &Bound) -> bool {
    bound.upper().is_some_and(|(bound, within)| {
        let side = value.low.rounded_against(counted.rounding, bound);
        side.is_gt() || (side.is_eq() && !within)
    })
}

/// What a sum has of days for which the reading before stands, in the limit's unit, and what it is without: `of which 21 days by the
/// reading before: 12 gal, 3,988 gal without`.
fn of_carried(water: &Water<'_>, sum: &Sum<'_>) -> Option<String> {
    let carried = || sum.parts.iter().filter(|(piece, _)| piece.carried);
    let days: BTreeSet<(i64, i64)> = carried().map(|(piece, _)| piece.days()).collect();
    let amount = carried().fold(Number::ZERO, |all, (piece, _)| all.plus(piece.amount));
    let amount = water.in_unit(amount).low;
    let figure = |value| text::figure(&Interval::exactly(value), &water.scene.limit.bound, false);
    (!days.is_empty()).then(|| {
        let without =
            if amount.is_zero() { String::new() } else { format!(", {} without", figure(sum.value.low.minus(amount))) };
        format!("of which {} by the reading before: {}{without}", many(days.len(), "day"), figure(amount))
    })
}

/// The figure of a sum of which nothing lacks but days for which the reading before stands is what it comes to with them: the words beside
/// it tell how much that is, and its outcome takes it for a least.
fn with_carried(sum: &Sum<'_>, judgement: &mut Judgement, limit: &Limit) {
    let carried: BTreeSet<i64> =
        sum.parts.iter().filter(|(piece, _)| piece.carried).map(|(piece, _)| piece.days().0).collect();
    let all = sum.missing.iter().flat_map(|(_, _, days)| days).all(|day| carried.contains(&day_number(*day)));
    if let Some(figure) = judgement.finding.figure.as_mut().filter(|_| all && !carried.is_empty()) {
        figure.text = text::figure(&Interval::exactly(sum.value.low), &limit.bound, false);
    }
}

/// Days of which the same spans over several days tell, or of which nothing was counted and nothing is missing.
struct Group {
    days: Vec<NaiveDate>,
    spans: Vec<(i64, i64)>,
    bare: bool,
    /// Whether nothing was counted within one of the days alone.
    alike: bool,
}

/// Days that the same spans tell of: one day, or several of which none is told apart.
fn group(water: &Water<'_>, counted: &Counted, of: &Group) -> Judgement {
    let limit = water.scene.limit;
    let (days, single) = (of.days.as_slice(), of.spans.is_empty());
    let sum = water.over(days.get(..1).unwrap_or_default());
    let (first, last) = (days.first().copied().unwrap_or_default(), days.last().copied().unwrap_or_default());
    let all = water.over(days);
    let n = Number::count(days.len());
    let mut value = sum.value;
    if !single {
        if let Some((mean, _)) = water.largest_mean(days) {
            value.low = value.low.or_more(mean.low);
        }
        // Of a least bound: some day had the even share at most.
        if limit.bound.upper().is_none()
            && let Some(share) = all.value.high.over(n)
        {
            value.high = value.high.or_less(share);
        }
        value.counted = None;
    }
    let window = Window::new(first, last);
    let mut arithmetic: Vec<String> = sum.parts.iter().map(|(piece, _)| piece.text.clone()).collect();
    if !single {
        let least = text::figure(&Interval::exactly(value.low), &limit.bound, false);
        arithmetic.push(if value.low.is_zero() {
            format!(
                "over more than a day: no day had more than {}",
                text::figure(&Interval::exactly(value.high), &limit.bound, false)
            )
        } else {
            format!(
                "over {} days: some day had {least} or more, and no day more than {}",
                days.len(),
                text::figure(&Interval::exactly(value.high), &limit.bound, false)
            )
        });
    }
    let mut missing = uncounted(&sum.missing, water.scene.case.as_of);
    let figured = Figured {
        n: sum.parts.len(),
        arithmetic,
        // Where nothing was counted, looks show that nothing left.
        evidence: if of.bare && limit.subject != Subject::Events {
            days.iter().flat_map(|day| water.scene.flows.shown_on(*day)).collect()
        } else {
            evidence_of(&sum)
        },
        known_on: sum.parts.iter().map(|(piece, _)| piece.known_on).max(),
        over_on: sum.parts.iter().map(|(piece, _)| piece.known_on).max(),
        ..Figured::of(value)
    };
    if !single && missing.is_empty() {
        missing.push(Missing {
            of: None,
            paper: None,
            sentence: format!(
                "{}: one reading covers more than a day, and the limit is for one.",
                days_label(first, last)
            ),
            would_show: Some("A reading at the beginning and the end of each day would have settled it.".to_owned()),
        });
        // It hinders only where the spans leave both sides open.
        let mut judgement = decided(limit, figured, held(counted, window, Vec::new()));
        if judgement.finding.outcome == Outcome::NotShown {
            judgement.finding.missing = missing;
        }
        if judgement.finding.outcome == Outcome::Met && limit.bound.upper().is_some() {
            let most = Interval::between(Number::ZERO, value.high);
            if let Some(figure) = &mut judgement.finding.figure {
                figure.text = text::figure(&most, &limit.bound, false);
            }
        }
        return judgement;
    }
    decided(limit, figured, held(counted, window, missing))
}

fn held(counted: &Counted, window: Window, missing: Vec<Missing>) -> Held<'_> {
    Held { missing, ..Held::of(window, counted) }
}

/// A run of days of which one is surely over, and none is known to be.
fn one_of_these(water: &Water<'_>, counted: &Counted, mean: Interval, from: NaiveDate, to: NaiveDate) -> Judgement {
    let limit = water.scene.limit;
    let days: Vec<NaiveDate> = each_day(from, to).collect();
    let all = water.over(&days);
    let figured = Figured {
        n: all.parts.len(),
        arithmetic: vec![format!(
            "what was read inside {} makes {} a day: one of these days had that much or more",
            days_label(from, to),
            text::figure(&Interval::exactly(mean.low), &limit.bound, false)
        )],
        evidence: evidence_of(&all),
        known_on: all.parts.iter().map(|(piece, _)| piece.known_on).max(),
        over_on: all.parts.iter().map(|(piece, _)| piece.known_on).max(),
        ..Figured::of(Interval::between(mean.low, all.value.high))
    };
    decided(limit, figured, held(counted, Window::new(from, to), Vec::new()))
}

/// What each window can have had in all, in the mean, at most or at least.
pub(crate) fn windows(scene: &Scene<'_>, counted: &Counted, fold: Fold) -> Judged {
    let mut out = Judged::default();
    let Some(water) = Water::of(scene) else {
        return out;
    };
    let period: Vec<NaiveDate> = scene.days();
    let sum = water.over(&period);
    (out.readings, out.long) = on_file(&sum);
    for listed in scene.windows(counted) {
        if !listed.evaluable {
            out.not_evaluable += 1;
            continue;
        }
        let days = scene.days_of(&listed);
        if days.is_empty() {
            continue;
        }
        let closed = listed.window.to <= scene.case.as_of;
        let (figured, missing) = figure(&water, counted, fold, &days);
        let mut judgement = decided(
            scene.limit,
            figured,
            Held { closed, fold: Some(fold), missing, ..Held::of(listed.window.clone(), counted) },
        );
        if fold == Fold::Total {
            with_carried(&water.over(&days), &mut judgement, scene.limit);
        }
        out.windows.push(judgement);
    }
    out
}

fn figure(water: &Water<'_>, counted: &Counted, fold: Fold, days: &[NaiveDate]) -> (Figured, Vec<Missing>) {
    let bound = &water.scene.limit.bound;
    let sum = water.over(days);
    let mut out = Figured {
        n: sum.parts.iter().filter(|(piece, _)| !piece.carried).count(),
        evidence: evidence_of(&sum),
        known_on: sum.parts.iter().map(|(piece, _)| piece.known_on).max(),
        ..Figured::of(sum.value)
    };
    let mut missing = uncounted(&sum.missing, water.scene.case.as_of);
    match fold {
        Fold::Average => average(water, counted, days, &sum, &mut out, &mut missing),
        Fold::Highest | Fold::Lowest => {
            let each: Vec<Interval> = days.iter().map(|day| water.over(&[*day]).value).collect();
            let join = if fold == Fold::Highest { Interval::or_more } else { Interval::or_less };
            out.value = each.into_iter().reduce(join).unwrap_or_else(Interval::missing);
            if fold == Fold::Highest
                && let Some((mean, _)) = water.largest_mean(days)
            {
                out.value.low = out.value.low.or_more(mean.low);
            }
            if fold == Fold::Lowest
                && let Some(share) = sum.value.high.over(Number::count(days.len()))
            {
                out.value.high = out.value.high.or_less(share);
            }
            let word = if fold == Fold::Highest { "highest" } else { "lowest" };
            out.arithmetic.push(format!("{word} of {} days: {}", days.len(), text::figure(&out.value, bound, false)));
        }
        _ => {
            out.over_on = over_on(water, &sum, counted);
            let in_unit = sum.parts.iter().map(|(_, part)| part.times(water.factor));
            let parts: Vec<Interval> = in_unit.map(|part| text::term(&part, bound.figures)).collect();
            let carried = of_carried(water, &sum).map_or_else(String::new, |words| format!(", {words}"));
            let rest = if sum.missing.is_empty() { "" } else { " + what is missing" };
            let terms = if parts.is_empty() { "nothing counted".to_owned() } else { text::terms(&parts, " + ") };
            out.arithmetic.push(format!("{terms}{rest} = {}{carried}", text::figure(&sum.value, bound, false)));
        }
    }
    (out, missing)
}

/// The day on which what was read first made a sum surely over its bound.
fn over_on(water: &Water<'_>, sum: &Sum<'_>, counted: &Counted) -> Option<NaiveDate> {
    let (bound, within) = water.scene.limit.bound.upper()?;
    let mut parts: Vec<(NaiveDate, Number)> =
        sum.parts.iter().map(|(piece, part)| (piece.known_on, part.low)).collect();
    parts.sort_by_key(|(day, _)| *day);
    let mut total = Interval::exactly(Number::ZERO);
    for (day, amount) in parts {
        total = total.plus(Interval::exactly(amount));
        let side = total.times(water.factor).low.rounded_against(counted.rounding, bound);
        if side.is_gt() || (side.is_eq() && !within) {
            return Some(day);
        }
    }
    None
}
