//! What a window and a limit come to.

use super::days::Day;
use super::exact::{End, Known, Rat};
use super::given::{Bound, Limit};

/// In order of rank: the last outranks all others.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Outcome {
    NotInForce,
    NotEvaluable,
    NoDischarge,
    Met,
    NotShown,
    Exceeded,
}

/// Ends of a figure, and the value the permit counts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Figure {
    pub lo: f64,
    pub hi: f64,
    pub counted: Option<f64>,
}

fn end(of: End) -> f64 {
    match of {
        End::Below => f64::NEG_INFINITY,
        End::At(r) => r.to_f64(),
        End::Above => f64::INFINITY,
    }
}

impl Figure {
    pub fn of(known: Known) -> Self {
        Self { lo: end(known.lo), hi: end(known.hi), counted: known.counted.map(Rat::to_f64) }
    }
}

#[derive(Clone, Debug)]
pub struct Judged {
    pub from: Day,
    pub to: Day,
    pub outcome: Outcome,
    pub figure: Option<Figure>,
    /// Something certain of some day of a run, or of a stretch without its sample: no window of its own kind.
    pub aside: bool,
}

impl Judged {
    pub fn new(days: &[Day], outcome: Outcome, known: Option<Known>) -> Self {
        Self { from: days[0], to: days[days.len() - 1], outcome, figure: known.map(Figure::of), aside: false }
    }

    pub fn aside(from: Day, to: Day, outcome: Outcome) -> Self {
        Self {
            from,
            to,
            outcome,
            figure: None,
            // A stretch of one day is a day.
            aside: from < to,
        }
    }
}

/// How sure a window is.
#[derive(Clone, Copy, Debug)]
pub struct Grounds {
    /// Its last day has not ended.
    pub open: bool,
    /// The figure can no longer come down, or (of a lowest) up.
    pub stays: bool,
    /// The least data are reached.
    pub enough: bool,
    /// What the permit counts for a value below detection may decide.
    pub counts: bool,
}

pub fn over(lo: End, upper: Bound) -> bool {
    upper.is_some_and(|(u, strict)| lo > End::At(u) || (strict && lo == End::At(u)))
}

pub fn under(hi: End, lower: Bound) -> bool {
    lower.is_some_and(|(l, strict)| hi < End::At(l) || (strict && hi == End::At(l)))
}

/// The order of section 4: over for certain, too little data, within for certain, the counted figure, not shown.
pub fn decide(limit: &Limit, known: &Known, grounds: Grounds) -> Outcome {
    if grounds.open {
        // Only what stays: a total or highest over. What is under a least bound may still rise.
        let settled = grounds.stays && over(known.lo, limit.upper);
        return if settled { Outcome::Exceeded } else { Outcome::NotShown };
    }
    if over(known.lo, limit.upper) || under(known.hi, limit.lower) {
        return Outcome::Exceeded;
    }
    if !grounds.enough {
        return Outcome::NotShown;
    }
    let above = !over(known.hi, limit.upper);
    let below = !under(known.lo, limit.lower);
    if above && below {
        return Outcome::Met;
    }
    match known.counted.filter(|_| grounds.counts) {
        Some(figure) => {
            let figure = End::At(figure);
            if over(figure, limit.upper) || under(figure, limit.lower) { Outcome::Exceeded } else { Outcome::Met }
        }
        None => Outcome::NotShown,
    }
}
