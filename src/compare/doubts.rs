//! Why the computation is not believed about a limit: the log, the samples and the inspection report beside what is computed at
//! its point.

use std::collections::BTreeMap;

use chrono::{Datelike, NaiveDate};

use crate::compare::figures::plain;
use crate::compare::predicted::Predicted;
use crate::compare::service::leads_to;
use crate::compare::{Against, Computed, Measure};
use crate::facility::model::{Facility, PlaceId};
use crate::rules::{Limit, Outcome, Subject};

/// Why the computation is not believed about a limit.
#[derive(Debug, Clone, PartialEq)]
pub struct Doubt {
    /// The limit.
    pub limit: String,
    /// Why, in words.
    pub why: String,
    /// Whether it decides nothing either way; else only that a limit is kept is not believed.
    pub decides_nothing: bool,
    /// Whether far too little is computed: then nothing says that an option which changes it keeps the limit.
    pub is_too_low: bool,
    /// How many times what is computed was logged, where most is missing; 1 where nothing is.
    pub times: f64,
    /// How many m³ a day more were metered than are computed, in the month in which most is missing.
    pub more_m3: f64,
}

impl Doubt {
    /// Whether it speaks whatever the figure.
    pub(super) fn is_strong(&self) -> bool {
        self.decides_nothing || self.is_too_low
    }

    /// Whether it says that too little is computed for a figure: far too little, or so much that what the log has more would carry
    /// the figure over its bound.
    pub(super) fn says_too_low(&self, of: &Predicted) -> bool {
        self.is_too_low || of.past.is_some_and(|past| past.carried_over(self.times, self.more_m3))
    }

    /// Whether it speaks of a figure.
    pub(super) fn speaks_of(&self, of: &Predicted) -> bool {
        self.decides_nothing || self.says_too_low(of)
    }
}

/// What is left of a limit's outcome where the computation is doubted.
pub fn believed(of: &Predicted, doubt: Option<&Doubt>) -> Option<Outcome> {
    Some(match (of.outcome?, doubt) {
        (Outcome::PredictedWithin, Some(doubt)) if doubt.speaks_of(of) => Outcome::Undecided,
        (Outcome::PredictedOutside, Some(doubt)) if doubt.decides_nothing => Outcome::Undecided,
        (outcome, _) => outcome,
    })
}

/// Which of the site's limits the computation is not believed about. It decides nothing where what a limit rests on is computed
/// at over double the log at its point on average, or the inspection report (limits by name) has kept what is computed outside. It
/// is too low where under half is computed, on average, in some month or of the highest sample, or the report has exceeded what is
/// computed within. Of less, what is missing counts only where it would carry a figure over its bound.
pub fn doubts(stands: &Computed, log: &[Against], recorded: &[(String, Outcome)]) -> Vec<Doubt> {
    let limits = stands.alternative.rules.iter().flat_map(|rules| &rules.limits);
    let of = |limit: &Limit| {
        let here: Vec<&Against> = at_its_point(&stands.alternative.facility, limit, log).collect();
        let solids = here.iter().filter(|of| of.measure == Measure::Solids);
        let missed = solids.filter_map(|of| most_missed(of)).max_by(|a, b| a.0.total_cmp(&b.0));
        let off = here.iter().find_map(|of| far_off(of));
        let other = the_other_way(stands, recorded, &limit.name);
        let too_high = |of: &(bool, String)| of.0.then(|| of.1.clone());
        let too_low = |of: &(bool, String)| (!of.0).then(|| of.1.clone());
        let nothing = off.as_ref().and_then(too_high).or_else(|| other.as_ref().and_then(too_high));
        let low = off.as_ref().and_then(too_low).or_else(|| other.as_ref().and_then(too_low));
        let times = missed.as_ref().map_or(1.0, |(times, _)| *times);
        let more = more_metered(stands, limit, log);
        let more_m3 = more.as_ref().map_or(0.0, |(more, _)| *more);
        let month = missed.or(more).map(|(_, words)| words);
        Some(Doubt {
            limit: limit.name.clone(),
            decides_nothing: nothing.is_some(),
            is_too_low: low.is_some() || times > FAR_OFF,
            times,
            more_m3,
            why: nothing.or(low).or(month)?,
        })
    };
    limits.filter_map(of).collect()
}

/// What is logged of what a limit rests on, at its point.
fn at_its_point<'a>(facility: &'a Facility, limit: &'a Limit, log: &'a [Against]) -> impl Iterator<Item = &'a Against> {
    let is_solids =
        |of: &str| ["total suspended solids", "suspended solids", "tss"].contains(&of.to_lowercase().as_str());
    let measure = match &limit.subject {
        Subject::Parameter(of) | Subject::Load(of) | Subject::Removal(of, _) if is_solids(of) => Some(Measure::Solids),
        Subject::Events => Some(Measure::Events),
        _ => None,
    };
    log.iter().filter(move |of| {
        let place = facility.get(of.at).filter(|place| limit.at_text.ends_with(place.name.as_str()));
        Some(of.measure) == measure && place.is_some()
    })
}

/// What was metered more than is computed of what comes to the point of a limit on a day's water, m³ a day of the month in which
/// most is missing: wash water of filters before it, and what is metered on its way there.
fn more_metered(stands: &Computed, limit: &Limit, log: &[Against]) -> Option<(f64, String)> {
    let facility = &stands.alternative.facility;
    if limit.subject != Subject::Water || !limit.statistic.is_of_single_days() {
        return None;
    }
    let at = facility.places.iter().position(|place| limit.at_text.ends_with(place.name.as_str())).map(PlaceId)?;
    let ends_there = |of: &Against| {
        let meters = facility.meters.iter().filter(|meter| of.what.ends_with(meter.name.as_str()));
        meters.into_iter().any(|meter| (meter.from, meter.to) == (of.at, at))
    };
    let of = |measure: Measure| log.iter().filter(move |of| of.measure == measure);
    let washes = month_missing_most(of(Measure::WashWater).filter(|of| leads_to(&stands.run.ledger, of.at, at)));
    let metered = month_missing_most(of(Measure::Water).filter(|of| ends_there(of)));
    washes.into_iter().chain(metered).max_by(|a, b| a.0.total_cmp(&b.0))
}

/// How much more of several streams was metered together than is computed, m³ a day of the month in which most is missing, and of
/// which most; none where no more was.
fn month_missing_most<'a>(log: impl Iterator<Item = &'a Against>) -> Option<(f64, String)> {
    /// Days of a month.
    const MONTH: f64 = 30.0;
    /// A stream with what was metered and what is computed of it.
    type Stream<'a> = (&'a Against, f64, f64);
    let mut months: BTreeMap<(i32, u32), Vec<Stream<'a>>> = BTreeMap::new();
    for of in log {
        for (day, logged, computed) in &of.pairs {
            months.entry((day.year(), day.month())).or_default().push((of, *logged, *computed));
        }
    }
    let more = |streams: &[Stream<'a>]| streams.iter().map(|(_, l, c)| l - c).sum::<f64>() / MONTH;
    let ((year, month), streams) = months.into_iter().max_by(|a, b| more(&a.1).total_cmp(&more(&b.1)))?;
    let (of, logged, computed) = streams.iter().max_by(|a, b| (a.1 - a.2).total_cmp(&(b.1 - b.2)))?;
    let day = NaiveDate::from_ymd_opt(year, month, 1)?.format("%b %Y");
    let times = if *computed > 0.0 { format!("{} times", plain(logged / computed, 1)) } else { "more than".to_owned() };
    let more = more(&streams);
    (more > 0.0).then(|| (more, format!("in {day} {} has {times} what is computed", of.what)))
}

/// Whether it is computed too high, in words too; none where it is neither too high nor too low.
fn far_off(of: &Against) -> Option<(bool, String)> {
    let times = of.times().filter(|_| of.is_far_off())?;
    let word = if times < 1.0 { "low" } else { "high" };
    Some((times > 1.0, format!("{} are computed {} % too {word}", of.what, plain(100.0 * (times - 1.0).abs(), 0))))
}

/// Whether the computation is outside where the inspection report has a limit kept, in words too; none where both have it one way.
fn the_other_way(stands: &Computed, recorded: &[(String, Outcome)], name: &str) -> Option<(bool, String)> {
    let here = stands.limits.iter().find(|limit| limit.name == name)?.outcome?;
    let report = recorded.iter().find(|(known, _)| known == name)?.1;
    let kept = is_kept(here)?;
    (kept != is_kept(report)?).then(|| {
        let words = format!(
            "the inspection report, which follows meters and logs, has it {}, and the computation without them {}",
            report.words(),
            if kept { "within" } else { "outside" }
        );
        (!kept, words)
    })
}

/// Whether an outcome says that a limit is kept, or that it is not; none where it says neither.
fn is_kept(outcome: Outcome) -> Option<bool> {
    match outcome {
        Outcome::Met | Outcome::PredictedWithin => Some(true),
        Outcome::Exceeded | Outcome::BelowMinimum | Outcome::OutsideRange | Outcome::PredictedOutside => Some(false),
        _ => None,
    }
}

/// So many times what is computed is far off (common practice, no source).
const FAR_OFF: f64 = 2.0;

/// How many times what is computed was sampled, of the highest sample or of a month's mean, and which; none where no more was sampled.
/// Of months that are far off the one in which most is missing is told.
fn most_missed(of: &Against) -> Option<(f64, String)> {
    let (highest, ..) = of.pairs.iter().copied().map(|pair| (pair, pair.1)).max_by(|a, b| a.1.total_cmp(&b.1))?;
    let times = |logged: f64, computed: f64| if computed > 0.0 { logged / computed } else { f64::INFINITY };
    let told = |when: String, logged: f64, computed: f64| {
        let mg_l = |value: f64| plain(1000.0 * value, 0);
        (times(logged, computed), format!("{when} {} mg/L sampled, {} computed", mg_l(logged), mg_l(computed)))
    };
    let of_highest = told(format!("on {}", highest.0.format("%-d %b %Y")), highest.1, highest.2);
    if of_highest.0 > FAR_OFF {
        return Some(of_highest);
    }
    let mut months: Vec<(NaiveDate, f64, f64, f64)> = Vec::new();
    for (day, logged, computed) in &of.pairs {
        match months.iter_mut().find(|of| (of.0.year(), of.0.month()) == (day.year(), day.month())) {
            Some((_, n, l, c)) => (*n, *l, *c) = (*n + 1.0, *l + logged, *c + computed),
            None => months.push((*day, 1.0, *logged, *computed)),
        }
    }
    let far = |of: &(NaiveDate, f64, f64, f64)| times(of.2, of.3) > FAR_OFF;
    let any = months.iter().any(far);
    let key = |of: &(NaiveDate, f64, f64, f64)| if any { (of.2 - of.3) / of.1 } else { times(of.2, of.3) };
    let worst = months.iter().filter(|of| !any || far(of)).max_by(|a, b| key(a).total_cmp(&key(b)));
    let of_months = worst.map(|(day, n, l, c)| told(format!("in {}", day.format("%b %Y")), l / n, c / n));
    let all = [Some(of_highest), of_months].into_iter().flatten();
    all.filter(|(times, _)| *times > 1.0).max_by(|a, b| a.0.total_cmp(&b.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Samples and what is computed of them, mg/L, in months of 2014.
    fn samples(of: &[(u32, u32, f64, f64)]) -> Against {
        let day = |month, day| NaiveDate::from_ymd_opt(2014, month, day).unwrap();
        Against {
            what: "suspended solids at Sewer".to_owned(),
            at: PlaceId(0),
            measure: Measure::Solids,
            level: None,
            pairs: of.iter().map(|(m, d, l, c)| (day(*m, *d), l / 1000.0, c / 1000.0)).collect(),
            left_out: 0,
        }
    }

    /// Of two streams each 6 m³ a day short in August, 12 are missing; what is over in January does not make up for it.
    #[test]
    fn streams_that_come_together_are_missed_together() {
        let stream = |what: &str, summer: f64| {
            let day = |month| NaiveDate::from_ymd_opt(2014, month, 1).unwrap();
            let pairs = vec![(day(1), 100.0, 400.0), (day(8), summer + 180.0, summer)];
            Against { what: what.to_owned(), measure: Measure::WashWater, pairs, ..samples(&[]) }
        };
        let both = [stream("meter M1", 90.0), stream("meter M2", 360.0)];
        let (more, words) = month_missing_most(both.iter()).unwrap();
        assert!((more - 12.0).abs() < 1e-9, "{more}");
        assert_eq!(words, "in Aug 2014 meter M2 has 1.5 times what is computed");
        // Less metered than computed in every month is nothing missed.
        let over = Against { pairs: vec![(both[0].pairs[0].0, 100.0, 400.0)], ..both[0].clone() };
        assert_eq!(month_missing_most([over].iter()), None);
    }

    #[test]
    fn a_summer_computed_too_low_shows_though_the_mean_passes() {
        // Winter too high, summer too low: 580 sampled and 390 computed in all, which is not under half.
        let of = samples(&[(1, 12, 70.0, 250.0), (8, 12, 510.0, 140.0)]);
        assert!(!of.is_far_off());
        assert_eq!(most_missed(&of).unwrap().1, "on 12 Aug 2014 510 mg/L sampled, 140 computed");
    }

    #[test]
    fn a_month_computed_too_low_shows_beside_a_highest_sample_that_is_not() {
        let of = samples(&[(1, 12, 500.0, 400.0), (8, 2, 200.0, 90.0), (8, 12, 300.0, 140.0)]);
        assert_eq!(most_missed(&of).unwrap().1, "in Aug 2014 250 mg/L sampled, 115 computed");
        // One sample of the month is under half, all of the month are just half and are not under it.
        let half = most_missed(&samples(&[(1, 12, 500.0, 400.0), (8, 2, 200.0, 90.0), (8, 12, 300.0, 160.0)]));
        assert_eq!(half, Some((2.0, "in Aug 2014 250 mg/L sampled, 125 computed".to_owned())));
        // More computed than sampled is nothing missed.
        assert_eq!(most_missed(&samples(&[(1, 12, 70.0, 250.0)])), None);
    }
}
