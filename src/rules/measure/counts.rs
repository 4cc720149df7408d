//! Amounts that meters or logs counted between two moments, way by way, and what they allow a window to have had.

use std::collections::BTreeSet;

use chrono::NaiveDate;

use super::clock::{DAY, Stretch, day_of_number, days_touched, is_inside, meets, without};
use crate::rules::{Evidence, Interval, Number};

/// What was counted between two readings.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Piece {
    /// The time outside of which none of it was.
    pub outer: Stretch,
    /// The time that it surely covers; empty (end before start) where hours are not known.
    pub inner: Stretch,
    /// The amount.
    pub amount: Number,
    /// As printed.
    pub text: String,
    /// Records behind it.
    pub evidence: Vec<Evidence>,
    /// The day on which it was read.
    pub known_on: NaiveDate,
    /// Whether nobody read it: a day for which the reading before stands, as typed. It counts as a least amount and covers nothing, so
    /// that it can make a limit exceeded and never met.
    pub carried: bool,
}

impl Piece {
    /// First and last day that it touches.
    pub fn days(&self) -> (i64, i64) {
        days_touched(self.outer)
    }
}

/// One way, or one log, with what was counted on it.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct Channel {
    /// As printed: `Pond to Outfall 1`.
    pub name: String,
    /// Pieces in order.
    pub pieces: Vec<Piece>,
    /// Time that was counted, joined, in order.
    pub covered: Vec<Stretch>,
    /// Days on which it is known to have carried nothing, and that nothing counted contradicts.
    pub dry: BTreeSet<i64>,
    /// Whether it has a meter or a log at all.
    pub counted: bool,
}

impl Channel {
    /// A channel of its pieces, `covered` worked out. `meets_next` tells that a piece ends at the reading at which the
    /// next begins, whatever its hour.
    pub fn new(name: String, pieces: Vec<(Piece, bool)>, counted: bool) -> Self {
        let mut covered: Vec<Stretch> = Vec::new();
        let mut open: Option<Stretch> = None;
        for (piece, meets_last) in &pieces {
            open = Some(match open {
                Some(run) if *meets_last => (run.0, piece.inner.1),
                Some(run) => {
                    covered.push(run);
                    piece.inner
                }
                None => piece.inner,
            });
        }
        covered.extend(open);
        // What hours that are not known, or a reading carried on, leave is no time.
        covered.retain(|run| run.0 < run.1);
        covered.sort_unstable();
        let mut joined: Vec<Stretch> = Vec::new();
        for run in covered {
            match joined.last_mut() {
                Some(last) if last.1 >= run.0 => last.1 = last.1.max(run.1),
                _ => joined.push(run),
            }
        }
        Self {
            name,
            pieces: pieces.into_iter().map(|(piece, _)| piece).collect(),
            covered: joined,
            dry: BTreeSet::new(),
            counted,
        }
    }

    /// The pieces that share time with a stretch.
    pub fn touching(&self, stretch: Stretch) -> impl Iterator<Item = &Piece> {
        // Pieces follow one another; where hours are not known two may share a day.
        let from = self.pieces.partition_point(|piece| piece.outer.1 <= stretch.0);
        self.pieces
            .iter()
            .skip(from.saturating_sub(1))
            .take_while(move |piece| piece.outer.0 < stretch.1 + DAY)
            .filter(move |piece| piece.outer.1 > stretch.0 && piece.outer.0 < stretch.1)
    }

    /// The time in which a piece can have been: without days known to be dry, unless it then has none.
    pub fn support(&self, piece: &Piece) -> Vec<Stretch> {
        let (first, last) = piece.days();
        let dry: Vec<Stretch> = self.dry.range(first..=last).map(|day| (day * DAY, (day + 1) * DAY)).collect();
        if dry.is_empty() {
            return vec![piece.outer];
        }
        let rest = without(piece.outer, &dry);
        if rest.is_empty() { vec![piece.outer] } else { rest }
    }

    /// Whether a whole day is counted.
    pub fn covers(&self, day: i64) -> bool {
        is_inside((day * DAY, (day + 1) * DAY), &self.covered)
    }

    /// Whether a day is known to have had nothing: a look, or a count of nothing over all of it.
    pub fn is_dry(&self, day: i64) -> bool {
        self.dry.contains(&day)
            || (self.covers(day) && self.touching((day * DAY, (day + 1) * DAY)).all(|piece| piece.amount.is_zero()))
    }

    /// Whether something was surely counted within a day, or stands for it by the reading before.
    pub fn flowed(&self, day: i64) -> bool {
        self.moved(day).next().is_some()
    }

    /// Whether something was surely counted within a day.
    pub fn counted_on(&self, day: i64) -> bool {
        self.moved(day).any(|piece| !piece.carried)
    }

    fn moved(&self, day: i64) -> impl Iterator<Item = &Piece> {
        let within = self.touching((day * DAY, (day + 1) * DAY));
        within.filter(move |piece| !piece.amount.is_zero() && piece.days() == (day, day))
    }
}

/// What a window can have had.
#[derive(Debug, Clone)]
pub(crate) struct Sum<'a> {
    /// Least and most, in the unit of the pieces.
    pub value: Interval,
    /// The pieces that touch it, with what each can have added.
    pub parts: Vec<(&'a Piece, Interval)>,
    /// Time without a count, by way: its name, whether anything counts there at all, and the days.
    pub missing: Vec<(&'a str, bool, Vec<NaiveDate>)>,
}

/// Amounts on all ways of a limit.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct Amounts {
    /// The ways.
    pub channels: Vec<Channel>,
}

impl Amounts {
    /// What the time of a window (in order, apart) can have had: a piece inside counts whole, one over its edge from
    /// nothing to all; time that nothing counted has no upper end.
    pub fn over(&self, time: &[Stretch]) -> Sum<'_> {
        let mut out = Sum { value: Interval::exactly(Number::ZERO), parts: Vec::new(), missing: Vec::new() };
        let (Some(first), Some(last)) = (time.first(), time.last()) else {
            return out;
        };
        for channel in &self.channels {
            for piece in channel.touching((first.0, last.1)) {
                if !meets(piece.outer, time) {
                    continue;
                }
                let part = if is_inside(piece.outer, time) {
                    Interval::exactly(piece.amount)
                } else if channel.support(piece).iter().any(|part| meets(*part, time)) {
                    Interval::between(Number::ZERO, piece.amount)
                } else {
                    continue;
                };
                out.value = out.value.plus(part);
                out.parts.push((piece, part));
            }
            let dry: Vec<Stretch> = channel
                .dry
                .range(super::clock::day_at(first.0)..=super::clock::day_at(last.1))
                .map(|day| (day * DAY, (day + 1) * DAY))
                .collect();
            let mut open: BTreeSet<i64> = BTreeSet::new();
            for stretch in time {
                for rest in without(*stretch, &channel.covered) {
                    for bare in without(rest, &dry) {
                        let (from, to) = days_touched(bare);
                        open.extend(from..=to);
                    }
                }
            }
            if !open.is_empty() {
                out.value = out.value.plus(Interval::missing());
                out.missing.push((
                    channel.name.as_str(),
                    channel.counted,
                    open.into_iter().map(day_of_number).collect(),
                ));
            }
        }
        out
    }

    /// Without the days for which a reading before stands.
    pub fn forget_carried(&mut self) {
        self.channels.iter_mut().for_each(|channel| channel.pieces.retain(|piece| !piece.carried));
    }

    /// What a day can have had.
    pub fn on(&self, day: i64) -> Sum<'_> {
        self.over(&[(day * DAY, (day + 1) * DAY)])
    }

    /// Whether every way was counted over a whole day, and not only looked at.
    pub fn counted_on(&self, day: i64) -> bool {
        !self.channels.is_empty() && self.channels.iter().all(|channel| channel.covers(day))
    }

    /// The run of whole days, among days that follow one another, whose pieces inside make the largest mean of a day:
    /// what its largest day had at least. Single days are left out: they are what they are.
    pub fn largest_mean(&self, first: i64, last: i64) -> Option<(Number, (i64, i64))> {
        let mut pieces: Vec<(i64, i64, Number)> = self
            .channels
            .iter()
            .flat_map(|channel| channel.touching((first * DAY, (last + 1) * DAY)))
            .filter(|piece| !piece.amount.is_zero())
            .map(|piece| (piece.days().0, piece.days().1, piece.amount))
            .filter(|(from, to, _)| *from >= first && *to <= last)
            .collect();
        pieces.sort_by_key(|(from, to, _)| (*from, *to));
        let mut best: Option<(Number, (i64, i64))> = None;
        // A run is best cut where no piece crosses, so that runs are looked for among pieces that hang together.
        let mut at = 0;
        while at < pieces.len() {
            let mut end = pieces.get(at).map_or(0, |piece| piece.1);
            let mut next = at + 1;
            while pieces.get(next).is_some_and(|piece| piece.0 <= end) {
                end = end.max(pieces.get(next).map_or(end, |piece| piece.1));
                next += 1;
            }
            let group = pieces.get(at..next).unwrap_or_default();
            for (index, (from, _, _)) in group.iter().enumerate() {
                let mut ends: Vec<(i64, Number)> = group
                    .iter()
                    .skip(index)
                    .filter(|piece| piece.0 >= *from)
                    .take(LONGEST_RUN)
                    .map(|piece| (piece.1, piece.2))
                    .collect();
                ends.sort_by_key(|(to, _)| *to);
                let mut sum = Number::ZERO;
                for (place, (to, amount)) in ends.iter().enumerate() {
                    sum = sum.plus(*amount);
                    let whole = ends.get(place + 1).is_none_or(|after| after.0 > *to);
                    if !whole || to == from {
                        continue;
                    }
                    let days = Number::whole(i128::from(to - from + 1));
                    let Some(mean) = sum.over(days) else { continue };
                    if best.as_ref().is_none_or(|(most, _)| mean.compare(*most).is_gt()) {
                        best = Some((mean, (*from, *to)));
                    }
                }
            }
            at = next;
        }
        best
    }
}

/// Runs of more pieces than this are not looked at for their mean: a shorter one inside does nearly as well.
const LONGEST_RUN: usize = 400;

#[cfg(test)]
mod tests {
    use super::*;

    fn n(value: i128) -> Number {
        Number::whole(value)
    }

    fn piece(from: i64, to: i64, amount: i128) -> Piece {
        Piece {
            outer: (from, to),
            inner: (from, to),
            amount: n(amount),
            text: String::new(),
            evidence: Vec::new(),
            known_on: NaiveDate::MIN,
            carried: false,
        }
    }

    fn channel(pieces: &[(i64, i64, i128)]) -> Channel {
        let pieces = pieces.iter().map(|(from, to, amount)| (piece(*from, *to, *amount), false)).collect();
        Channel::new("a to b".to_owned(), pieces, true)
    }

    fn ends(sum: &Sum<'_>) -> (f64, f64) {
        (sum.value.low.to_f64(), sum.value.high.to_f64())
    }

    /// One span of three days, 90: each day 0 to 90, the largest at least 30 (J4 of the rules as written down).
    #[test]
    fn a_span_over_three_days_bounds_a_day_and_their_mean() {
        let amounts = Amounts { channels: vec![channel(&[(0, 3 * DAY, 90)])] };
        assert_eq!(ends(&amounts.on(1)), (0.0, 90.0));
        assert_eq!(amounts.largest_mean(0, 2), Some((n(30), (0, 2))));
        assert_eq!(amounts.largest_mean(0, 1), None);
        assert_eq!(ends(&amounts.over(&[(0, 3 * DAY)])), (90.0, 90.0));
    }

    /// Two ways, 100 on one, the other never read: at least 100, no upper end (J3).
    #[test]
    fn coverage_is_asked_of_each_way() {
        let amounts = Amounts { channels: vec![channel(&[(0, DAY, 100)]), Channel::default()] };
        assert_eq!(ends(&amounts.on(0)), (100.0, f64::INFINITY));
        assert_eq!(amounts.on(0).missing.len(), 1);
    }

    /// A first reading at noon covers the afternoon only; a day looked at and found dry is nothing.
    #[test]
    fn a_first_reading_at_noon_does_not_cover_the_morning() {
        let mut way = channel(&[(DAY / 2, DAY, 5), (DAY, 2 * DAY, 7)]);
        way.dry.insert(5);
        let amounts = Amounts { channels: vec![way] };
        assert_eq!(ends(&amounts.on(0)), (5.0, f64::INFINITY));
        assert_eq!(ends(&amounts.on(1)), (7.0, 7.0));
        assert_eq!(ends(&amounts.on(5)), (0.0, 0.0));
    }

    /// A day for which the reading before stands covers nothing: 7 at least, and no day without water, whatever was read before it.
    #[test]
    fn a_reading_carried_on_is_a_least_and_never_dry() {
        let carried = |amount| (Piece { carried: true, inner: (2 * DAY, DAY), ..piece(DAY, 2 * DAY, amount) }, false);
        for (amount, flows) in [(7, true), (0, false)] {
            let pieces = vec![(piece(0, DAY, amount), false), carried(amount), (piece(2 * DAY, 3 * DAY, 0), false)];
            let way = Channel::new("a to b".to_owned(), pieces, true);
            assert!(way.covers(0) && !way.covers(1) && way.covers(2));
            assert!(!way.is_dry(1) && way.is_dry(2));
            assert_eq!((way.flowed(1), way.counted_on(1)), (flows, false));
            let amounts = Amounts { channels: vec![way] };
            assert_eq!(ends(&amounts.on(1)), (amount as f64, f64::INFINITY));
            assert_eq!(ends(&amounts.over(&[(0, 3 * DAY)])), (2.0 * amount as f64, f64::INFINITY));
            let mut read = amounts;
            read.forget_carried();
            assert_eq!(ends(&read.on(1)), (0.0, f64::INFINITY));
        }
    }

    /// A span of days 0 to 2 with day 0 looked at and dry: none of it was on day 0.
    #[test]
    fn nothing_of_a_span_was_on_a_day_seen_dry() {
        let mut way = channel(&[(0, 3 * DAY, 90)]);
        way.dry.insert(0);
        let amounts = Amounts { channels: vec![way] };
        assert_eq!(ends(&amounts.on(0)), (0.0, 0.0));
        assert_eq!(ends(&amounts.over(&[(DAY, 3 * DAY)])), (0.0, 90.0));
    }
}
