//! Why the computation is not believed about a limit: the log, the samples and the inspection report beside what is computed at
//! its point.

use std::collections::BTreeMap;

use chrono::{Datelike, NaiveDate};

use crate::compare::figures::plain;
use crate::compare::on_file::Recorded;
use crate::compare::predicted::Predicted;
use crate::compare::season::{Seasons, seasons};
use crate::compare::service::leads_to;
use crate::compare::{Against, Computed, Looked, Measure};
use crate::facility::model::{Facility, PlaceId};
use crate::rules::{Limit, Outcome, Subject};

/// Why the computation is not believed about a limit, and how far: what is logged at its point as a band about what is computed.
#[derive(Debug, Clone, PartialEq)]
pub struct Doubt {
    /// The limit.
    pub limit: String,
    /// Why, in words: what is furthest off.
    pub why: String,
    /// What of the log has most and least beside what is computed, in words.
    pub ends: Vec<String>,
    /// Whether it decides nothing either way: the inspection report has kept what is computed outside.
    pub decides_nothing: bool,
    /// Whether too little is computed, whatever the band: the inspection report has exceeded what is computed within.
    pub is_too_low: bool,
    /// Whether the inspection report has it exceeded as the site stands.
    pub is_exceeded: bool,
    /// How many times what is computed was logged, where least is there; 1 where nowhere less is.
    pub low: f64,
    /// The same where most is missing; 1 where nothing is.
    pub high: f64,
    /// How much more was sampled than is computed where what is computed lies far below the site's own figure, in the limit's unit; nought
    /// where nowhere more is.
    pub more: f64,
    /// The same of what is computed more than sampled.
    pub less: f64,
    /// The least by season, where that was sampled; see [`Seasons`].
    pub seasons: Seasons,
    /// The most that was sampled there.
    pub floor: f64,
    /// How many m³ a day more were metered than are computed, in the month in which most is missing.
    pub more_m3: f64,
    /// How it is known: `sampled`, `logged`, `metered`.
    pub how: &'static str,
}

impl Doubt {
    /// Whether the inspection report has it the other way.
    pub fn is_of_the_report(&self) -> bool {
        self.decides_nothing || self.is_too_low
    }

    /// Whether less was logged than is computed.
    fn is_less(&self) -> bool {
        self.low < 1.0 || self.less > 0.0
    }

    /// Whether what is computed is far off, whatever the figure.
    pub(super) fn is_strong(&self) -> bool {
        self.is_of_the_report() || self.high > FAR_OFF || self.low * FAR_OFF < 1.0
    }
}

/// What is left of a limit's outcome where the computation is doubted: within is believed where it is so at the most that was
/// logged, outside where it is so at the least.
pub fn believed(of: &Predicted, doubt: Option<&Doubt>) -> Option<Outcome> {
    let (outcome, Some(doubt)) = (of.outcome?, doubt) else { return of.outcome };
    let past = of.past.as_ref();
    let is_believed = match outcome {
        Outcome::PredictedWithin => !doubt.is_of_the_report() && past.is_none_or(|past| past.may_be_past(doubt) <= 0.0),
        // What the records have kept is outside only where it is so by the least that was sampled, which has them in it.
        Outcome::PredictedOutside if doubt.decides_nothing => {
            doubt.is_less() && past.is_some_and(|past| past.is_past(doubt) >= 1.0)
        }
        Outcome::PredictedOutside => past.is_none_or(|past| past.is_past(doubt) >= 1.0 || !doubt.is_less()),
        _ => true,
    };
    Some(if is_believed { outcome } else { Outcome::Undecided })
}

/// The share of draws in which a limit is not believed to be kept.
pub(super) fn not_kept(of: &Predicted, doubt: Option<&Doubt>) -> f64 {
    let share = of.share_outside.unwrap_or(0.0);
    match (of.outcome, doubt, &of.past) {
        (None, ..) => 0.0,
        (_, Some(doubt), _) if doubt.is_of_the_report() => 1.0,
        (_, Some(doubt), Some(past)) => past.may_be_past(doubt).max(share),
        _ => share,
    }
}

/// Which of the site's limits the computation is not believed about, and how far.
pub fn doubts(stands: &Computed, (log, looked): (&[Against], &[Looked]), recorded: &[Recorded]) -> Vec<Doubt> {
    let limits = stands.alternative.rules.iter().flat_map(|rules| &rules.limits);
    let of = |limit: &Limit| {
        let here: Vec<&Against> = at_its_point(&stands.alternative.facility, limit, log).collect();
        let figure = sites_figure(stands, limit);
        let near: Vec<Against> = here.iter().map(|of| beside(of, figure, true)).collect();
        let recorded_more = more_recorded(stands, recorded, &limit.name);
        let sampled_more = near.iter().filter_map(|of| furthest(of, true));
        let high = sampled_more.max_by(|a, b| a.0.total_cmp(&b.0));
        // What was sampled is among what is recorded, and tells its day.
        let is_more = |of: &(f64, String)| high.as_ref().is_none_or(|sampled| of.0 > ALIKE * sampled.0);
        let high = recorded_more.clone().filter(is_more).or(high);
        let low = near.iter().filter_map(|of| furthest(of, false)).chain(seen_less(limit, looked));
        let low = low.min_by(|a, b| a.0.total_cmp(&b.0));
        let far: Vec<Against> = here.iter().map(|of| beside(of, figure, false)).collect();
        let apart =
            |over: bool| far.iter().filter_map(|of| furthest_apart(of, over)).max_by(|a, b| a.by.total_cmp(&b.by));
        let (above, below) = (apart(true), apart(false));
        let by = |of: &Option<Apart>| of.as_ref().map_or(0.0, |of| of.by);
        let more = more_metered(stands, limit, log);
        let off = here.iter().find_map(|of| far_off(&of.as_near_as_can_be()));
        let report = the_other_way(stands, recorded, &limit.name);
        let words = |of: &Option<(f64, String)>| of.as_ref().map(|(_, words)| words.clone());
        let factor = |of: &Option<(f64, String)>| of.as_ref().map_or(1.0, |(factor, _)| *factor);
        let further = if factor(&high) * factor(&low) >= 1.0 { [&high, &low] } else { [&low, &high] };
        let why = off.or(report.as_ref().map(|(_, words)| words.clone()));
        // What is carried less far at every figure from the site's own on explains nothing.
        let told = |of: &Option<Apart>, times: f64| {
            let carried = figure.unwrap_or(0.0) * (times - 1.0).abs();
            of.as_ref().filter(|of| of.by > carried).map(|of| of.words.clone())
        };
        let ends = [words(&high), told(&above, factor(&high)), words(&more), words(&low), told(&below, factor(&low))];
        let ends: Vec<String> = ends.into_iter().flatten().collect();
        Some(Doubt {
            limit: limit.name.clone(),
            why: why.or(words(&more)).or(further.into_iter().find_map(words)).or(ends.first().cloned())?,
            decides_nothing: report.as_ref().is_some_and(|(too_high, _)| *too_high),
            is_too_low: report.as_ref().is_some_and(|(too_high, _)| !too_high) && recorded_more.is_none(),
            is_exceeded: recorded.iter().any(|of| of.limit == limit.name && of.is_exceeded()),
            low: factor(&low),
            high: factor(&high),
            more: by(&above),
            less: by(&below),
            seasons: seasons(&here, figure),
            floor: above.as_ref().map_or(0.0, |of| of.floor),
            more_m3: more.as_ref().map_or(0.0, |(more, _)| *more),
            how: match here.first().map(|of| of.measure) {
                Some(Measure::Solids) => "sampled",
                Some(_) => "logged",
                None if recorded_more.is_some() => "recorded",
                None if limit.subject == Subject::Discharge => "seen",
                None => "metered",
            },
            ends,
        })
    };
    limits.filter_map(of).collect()
}

/// The site's own worst figure of a limit on what solids a water has, mg/L; none of a limit on anything else.
fn sites_figure(stands: &Computed, limit: &Limit) -> Option<f64> {
    let is_strength = matches!(limit.subject, Subject::Parameter(_)) && is_of_solids(limit);
    let of = stands.limits.iter().find(|of| of.name == limit.name)?.past.as_ref()?;
    (is_strength && of.unit.eq_ignore_ascii_case("mg/L") && of.worst > 0.0).then_some(of.worst)
}

/// How many times the days with water computed at the point of a limit that allows none somebody saw some on, of the days on which somebody
/// looked, in words too; none where no look was dry.
fn seen_less(limit: &Limit, looked: &[Looked]) -> Option<(f64, String)> {
    let here = |of: &&Looked| of.dry > 0 && limit.at.arrives_at(of.at);
    let of = looked.iter().find(here).filter(|_| limit.subject == Subject::Discharge)?;
    Some((of.share_wet()?, of.words()))
}

/// What of a log has at least half of the site's own figure computed (common practice, no source), or what has less: the one says how
/// many times as much there may be, the other only how much more. Without a figure all is beside it.
pub(super) fn beside(of: &Against, figure: Option<f64>, is_near: bool) -> Against {
    let least = figure.map_or(f64::NEG_INFINITY, |figure| 0.5 * figure / MG_L);
    of.only(|(.., computed)| (*computed >= least) == is_near)
}

/// What is not so many times as much is the same.
const ALIKE: f64 = 1.01;

/// Milligrams a litre in a kilogram a cubic metre.
const MG_L: f64 = 1000.0;

/// What was sampled more (less) than is computed, by how much at the most, mg/L.
#[derive(Debug, PartialEq)]
pub(super) struct Apart {
    pub(super) by: f64,
    /// The most that was sampled where more was.
    floor: f64,
    words: String,
}

pub(super) fn furthest_apart(of: &Against, over: bool) -> Option<Apart> {
    let all = of.at_an_end(over);
    let off = |l: f64, c: f64| MG_L * if over { l - c } else { c - l };
    let off_that_way = || all.pairs.iter().filter(|(_, l, c)| off(*l, *c) > 0.0);
    let (day, l, c) = off_that_way().max_by(|a, b| off(a.1, a.2).total_cmp(&off(b.1, b.2)))?;
    Some(Apart {
        by: off(*l, *c),
        floor: off_that_way().map(|of| MG_L * of.1).fold(0.0, f64::max),
        words: format!(
            "on {} {} mg/L sampled, {} computed",
            day.format("%-d %b %Y"),
            sampled_words(of, *day, *l),
            plain(MG_L * c, 0)
        ),
    })
}

/// A sample in mg/L: `38`, or `below 5` where it is one below detection, taken as one of its ends.
fn sampled_words(of: &Against, day: NaiveDate, taken: f64) -> String {
    match of.below.iter().find(|(other, limit, _)| *other == day && (taken == *limit || taken == 0.0)) {
        Some((_, limit, _)) => format!("below {}", plain(MG_L * limit, 0)),
        None => plain(MG_L * taken, 0),
    }
}

/// Whether a limit is on suspended solids.
pub(super) fn is_of_solids(limit: &Limit) -> bool {
    let is_solids =
        |of: &str| ["total suspended solids", "suspended solids", "tss"].contains(&of.to_lowercase().as_str());
    matches!(&limit.subject, Subject::Parameter(of) | Subject::Load(of) | Subject::Removal(of, _) if is_solids(of))
}

/// What is logged of what a limit rests on, at its point.
fn at_its_point<'a>(facility: &'a Facility, limit: &'a Limit, log: &'a [Against]) -> impl Iterator<Item = &'a Against> {
    let measure = match &limit.subject {
        _ if is_of_solids(limit) => Some(Measure::Solids),
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
    let times = if *computed > 0.0 { format!("{} times", plain(logged / computed, 2)) } else { "more than".to_owned() };
    let more = more(&streams);
    (more > 0.0).then(|| (more, format!("in {day} {} has {times} what is computed", of.what)))
}

/// How far it is off on average, in words; none where it is not far off.
fn far_off(of: &Against) -> Option<String> {
    let times = of.times().filter(|_| of.is_far_off())?;
    let word = if times < 1.0 { "low" } else { "high" };
    Some(format!("{} are computed {} % too {word}", of.what, plain(100.0 * (times - 1.0).abs(), 0)))
}

/// How many times the site's own worst figure the worst on file is, where that is more, in words too. What is not recorded may be worse still,
/// so that it says nothing where it is less.
fn more_recorded(stands: &Computed, recorded: &[Recorded], name: &str) -> Option<(f64, String)> {
    let on_file = recorded.iter().find(|of| of.limit == name)?.worst?;
    let past = stands.limits.iter().find(|of| of.name == name)?.past.as_ref()?;
    past.upper.filter(|_| !past.is_removal)?;
    let words = || format!("the records have {} times what is computed", plain(on_file / past.worst, 2));
    (past.worst > 0.0 && on_file > past.worst).then(|| (on_file / past.worst, words()))
}

/// Whether the computation is outside where the inspection report has a limit kept, in words too; it is not where the report has it
/// exceeded and not every draw is outside; none where both have it one way.
fn the_other_way(stands: &Computed, recorded: &[Recorded], name: &str) -> Option<(bool, String)> {
    let here = stands.limits.iter().find(|limit| limit.name == name)?.outcome?;
    let recorded = recorded.iter().find(|of| of.limit == name)?;
    let report = recorded.outcome;
    let kept = is_kept(here).or(recorded.is_exceeded().then_some(true))?;
    (kept != is_kept(report)?).then(|| {
        let words = format!(
            "the inspection report, which follows meters and logs, has it {}, and the computation without them {}",
            report.words(),
            match is_kept(here) {
                Some(true) => "within",
                Some(false) => "outside",
                None => "undecided",
            }
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
pub(super) const FAR_OFF: f64 = 2.0;

/// How many times what is computed was logged where it is furthest off one way, and where: of a month's samples with more (less)
/// than is computed their mean, and of all such the highest sampled (computed). Those with more and those with less are held apart, so
/// that where samples scatter both ends speak, and one that lies beyond an end never draws either in. None where none is off that way.
pub(super) fn furthest(of: &Against, over: bool) -> Option<(f64, String)> {
    let all = of.at_an_end(over);
    let off: Vec<_> = all.pairs.iter().copied().filter(|(_, l, c)| if over { l > c } else { l < c }).collect();
    let times = |logged: f64, computed: f64| if computed > 0.0 { logged / computed } else { f64::INFINITY };
    let is_solids = of.measure == Measure::Solids;
    let figure = |value: f64| if is_solids { plain(MG_L * value, 0) } else { plain(value, 0) };
    let told = |when: String, logged: String, (l, c): (f64, f64)| {
        let verb = if is_solids { "mg/L sampled" } else { "logged" };
        (times(l, c), format!("{when} {logged} {verb}, {} computed", figure(c)))
    };
    let key = |of: &&(NaiveDate, f64, f64)| if over { of.1 } else { of.2 };
    let of_one = off.iter().max_by(|a, b| key(a).total_cmp(&key(b))).filter(|_| is_solids);
    let of_one = of_one
        .map(|(day, l, c)| told(format!("on {}", day.format("%-d %b %Y")), sampled_words(of, *day, *l), (*l, *c)));
    let mut months: BTreeMap<(i32, u32), (NaiveDate, f64, f64, f64)> = BTreeMap::new();
    for (day, logged, computed) in &off {
        let (_, n, l, c) = months.entry((day.year(), day.month())).or_insert((*day, 0.0, 0.0, 0.0));
        (*n, *l, *c) = (*n + 1.0, *l + logged, *c + computed);
    }
    let of_months = months.into_values().map(|(day, n, l, c)| {
        let is_of_month = |other: &NaiveDate| (other.year(), other.month()) == (day.year(), day.month());
        let is_off = |limit: f64, c: f64| if over { limit > c } else { limit < c };
        let below = of.below.iter().filter(|(other, limit, c)| is_of_month(other) && is_off(*limit, *c));
        let below: Vec<f64> = below.map(|(_, limit, _)| *limit).collect();
        let all = all.pairs.iter().filter(|(other, ..)| is_of_month(other)).count();
        let n = if is_solids { n } else { 1.0 };
        let (l, c) = (l / n, c / n);
        let is_all_below = below.len() == n as usize;
        let logged = match below.iter().copied().reduce(f64::max).filter(|_| is_all_below) {
            Some(limit) => format!("below {}", figure(limit)),
            None => figure(l),
        };
        let (times, words) = told(format!("in {}", day.format("%b %Y")), logged, (l, c));
        let which = if over { "more" } else { "less" };
        let mixed = is_solids && (n as usize) < all;
        let mixed = mixed.then(|| format!("the {n} of {all} samples with {which}"));
        let taken = if over { "as that limit" } else { "as nought" };
        let below =
            (!below.is_empty() && !is_all_below).then(|| format!("{} below detection taken {taken}", below.len()));
        let notes: Vec<String> = mixed.into_iter().chain(below).collect();
        (times, if notes.is_empty() { words } else { format!("{words} ({})", notes.join(", ")) })
    });
    let all = of_months.chain(of_one);
    if over { all.max_by(|a, b| a.0.total_cmp(&b.0)) } else { all.min_by(|a, b| a.0.total_cmp(&b.0)) }
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Samples and what is computed of them, mg/L, in months of 2014.
    pub(in crate::compare) fn samples(of: &[(u32, u32, f64, f64)]) -> Against {
        let day = |month, day| NaiveDate::from_ymd_opt(2014, month, day).unwrap();
        Against {
            what: "suspended solids at Sewer".to_owned(),
            at: PlaceId(0),
            measure: Measure::Solids,
            level: None,
            pairs: of.iter().map(|(m, d, l, c)| (day(*m, *d), l / 1000.0, c / 1000.0)).collect(),
            below: Vec::new(),
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
        assert_eq!(words, "in Aug 2014 meter M2 has 1.50 times what is computed");
        // Less metered than computed in every month is nothing missed.
        let over = Against { pairs: vec![(both[0].pairs[0].0, 100.0, 400.0)], ..both[0].clone() };
        assert_eq!(month_missing_most([over].iter()), None);
    }

    #[test]
    fn a_summer_computed_too_low_shows_though_the_mean_passes() {
        // Winter too high, summer too low: 580 sampled and 390 computed in all, which is not under half.
        let of = samples(&[(1, 12, 70.0, 250.0), (8, 12, 510.0, 140.0)]);
        assert!(!of.is_far_off());
        assert_eq!(furthest(&of, true).unwrap().1, "on 12 Aug 2014 510 mg/L sampled, 140 computed");
    }

    proptest! {
        /// A sample beyond either end of the band widens it, and draws in neither end.
        #[test]
        fn a_sample_that_is_off_draws_in_no_end(
            of in prop::collection::vec((1_u32..13, 1_u32..28, 10.0_f64..900.0, 10.0_f64..900.0), 0..30),
            (month, day, computed, beyond, over) in (1_u32..13, 1_u32..28, 10.0_f64..900.0, 1.01_f64..4.0, any::<bool>()),
        ) {
            let ends = |of: &Against| [false, true].map(|over| furthest(of, over).map_or(1.0, |(times, _)| times));
            let [low, high] = ends(&samples(&of));
            let logged = computed * if over { high * beyond } else { low / beyond };
            let more: Vec<_> = of.iter().copied().chain([(month, day, logged, computed)]).collect();
            let [low_then, high_then] = ends(&samples(&more));
            prop_assert!(low_then <= low * (1.0 + 1e-12) && high_then >= high * (1.0 - 1e-12));
        }
    }

    /// At 155 mg/L as it stands 510 of 140 says 3.6 times as much, and 31 of 5 says 26 mg/L more: 389 are 1 400 by the one and 260 are 286
    /// by the other.
    #[test]
    fn what_lies_far_below_the_sites_figure_is_carried_by_how_much_and_not_by_how_many_times() {
        let of = samples(&[(8, 12, 510.0, 140.0), (2, 3, 31.0, 5.0), (3, 3, 2.0, 40.0), (4, 3, 20.0, 0.0)]);
        let (near, far) = (beside(&of, Some(155.0), true), beside(&of, Some(155.0), false));
        let (times, words) = furthest(&near, true).unwrap();
        assert!((389.0 * times - 1417.0).abs() < 1.0, "{times}");
        assert_eq!(words, "on 12 Aug 2014 510 mg/L sampled, 140 computed");
        let apart = furthest_apart(&far, true).unwrap();
        assert!((apart.by - 26.0).abs() < 1e-9 && (apart.floor - 31.0).abs() < 1e-9, "{apart:?}");
        assert_eq!(apart.words, "on 3 Feb 2014 31 mg/L sampled, 5 computed");
        assert!((furthest_apart(&far, false).unwrap().by - 38.0).abs() < 1e-9);
        // Just at half of it the sample is beside it; with no figure all are.
        assert_eq!(beside(&samples(&[(8, 12, 510.0, 77.5)]), Some(155.0), true).pairs.len(), 1);
        assert_eq!(beside(&of, None, true).pairs.len(), 4);
    }

    proptest! {
        /// A sample that carries a figure beyond an end moves that end of every figure outwards or leaves it.
        #[test]
        fn a_sample_more_that_is_off_is_never_firmer_about_any_figure(
            of in prop::collection::vec((1_u32..13, 1_u32..28, 1.0_f64..900.0, 0.0_f64..900.0), 0..30),
            (month, day, sampled, computed) in (1_u32..13, 1_u32..28, 0.0_f64..3000.0, 0.0_f64..900.0),
            (site, at, other) in (20.0_f64..600.0, 20.0_f64..2000.0, 20.0_f64..2000.0),
        ) {
            let ends = |of: &Against, figure: f64| {
                let times = |over| furthest(&beside(of, Some(site), true), over).map_or(1.0, |(times, _)| times);
                let apart = |over| furthest_apart(&beside(of, Some(site), false), over);
                let above = apart(true).map_or(figure, |of| (figure + of.by).max(of.floor));
                let below = apart(false).map_or(figure, |of| (figure - of.by).max(0.0));
                ((figure * times(false)).min(below), (figure * times(true)).max(above))
            };
            let alone = ends(&samples(&[(month, day, sampled, computed)]), at);
            let before = samples(&of);
            let after = samples(&of.iter().copied().chain([(month, day, sampled, computed)]).collect::<Vec<_>>());
            let (was, now) = (ends(&before, other), ends(&after, other));
            if alone.1 > ends(&before, at).1 {
                prop_assert!(now.1 >= was.1 * (1.0 - 1e-12), "{was:?} {now:?}");
            }
            if alone.0 < ends(&before, at).0 {
                prop_assert!(now.0 <= was.0 * (1.0 + 1e-12), "{was:?} {now:?}");
            }
        }
    }

    #[test]
    fn samples_of_other_months_that_are_less_say_how_little_it_may_be() {
        // Of February both are under: 150 of 250; of August one, by a fifth.
        let of = samples(&[(2, 2, 100.0, 130.0), (2, 12, 50.0, 120.0), (8, 2, 400.0, 500.0), (8, 12, 700.0, 140.0)]);
        let (low, words) = furthest(&of, false).unwrap();
        assert!((low - 0.6).abs() < 1e-12);
        assert_eq!(words, "in Feb 2014 75 mg/L sampled, 125 computed");
        let (high, words) = furthest(&of, true).unwrap();
        assert!((high - 5.0).abs() < 1e-12);
        assert_eq!(words, "on 12 Aug 2014 700 mg/L sampled, 140 computed");
        // Something sampled where nothing is computed: so many times as much as one likes.
        assert_eq!(furthest(&samples(&[(2, 2, 100.0, 0.0)]), true).map(|of| of.0), Some(f64::INFINITY));
    }

    /// Below 5 mg/L where 3 are computed may be 5 or nothing; where 40 are computed it is less by 35 at the least and nothing more.
    #[test]
    fn a_result_below_detection_lies_between_nought_and_where_that_begins() {
        let of = |computed: f64| Against { below: samples(&[(2, 3, 5.0, computed)]).pairs, ..samples(&[]) };
        let (high, words) = furthest(&of(3.0), true).unwrap();
        assert!((high - 5.0 / 3.0).abs() < 1e-12);
        assert_eq!(words, "on 3 Feb 2014 below 5 mg/L sampled, 3 computed");
        assert_eq!(furthest(&of(40.0), true), None);
        assert_eq!(furthest(&of(40.0), false).map(|of| of.0), Some(0.0));
        // Where it agrees it takes nothing off.
        assert_eq!(furthest(&of(3.0), false), None);
        // A figure and a result below detection of one month: 20 and nothing, of 30 and 40.
        let both = Against { pairs: samples(&[(2, 20, 20.0, 30.0)]).pairs, ..of(40.0) };
        assert_eq!(furthest(&both, false).unwrap().1, "on 3 Feb 2014 below 5 mg/L sampled, 40 computed");
        let high = Against { pairs: samples(&[(2, 20, 20.0, 10.0)]).pairs, ..of(3.0) };
        let words = "in Feb 2014 12 mg/L sampled, 6 computed (1 below detection taken as that limit)";
        let month =
            furthest(&Against { pairs: samples(&[(2, 20, 20.0, 10.0), (3, 1, 19.0, 18.0)]).pairs, ..high }, true);
        assert!(month.is_some_and(|of| of.1 == words || of.1.starts_with("on 20 Feb")), "{words}");
        // As near as can be 3 agree, and 40 are 35 too many.
        let near = |computed: f64| of(computed).as_near_as_can_be().pairs[0].1 * MG_L;
        assert!((near(3.0) - 3.0).abs() < 1e-9 && (near(40.0) - 5.0).abs() < 1e-9);
    }

    #[test]
    fn a_month_computed_too_low_shows_beside_a_highest_sample_that_is_not() {
        let of = samples(&[(1, 12, 500.0, 400.0), (8, 2, 200.0, 90.0), (8, 12, 300.0, 140.0)]);
        assert_eq!(furthest(&of, true).unwrap().1, "in Aug 2014 250 mg/L sampled, 115 computed");
        // One sample of the month is under half, all of the month are just half and are not under it.
        let half = furthest(&samples(&[(1, 12, 500.0, 400.0), (8, 2, 200.0, 90.0), (8, 12, 300.0, 160.0)]), true);
        assert_eq!(half, Some((2.0, "in Aug 2014 250 mg/L sampled, 125 computed".to_owned())));
        // More computed than sampled is nothing missed.
        assert_eq!(furthest(&samples(&[(1, 12, 70.0, 250.0)]), true), None);
    }

    /// 9 m³ more is ten times what is computed, 20 m³ more a quarter: the month and the stream with most m³ more are told.
    #[test]
    fn what_is_missed_is_told_by_water_and_not_by_how_many_times() {
        let day = |month| NaiveDate::from_ymd_opt(2014, month, 1).unwrap();
        let stream = |what: &str, pairs: Vec<(NaiveDate, f64, f64)>| Against {
            what: what.to_owned(),
            measure: Measure::WashWater,
            pairs,
            ..samples(&[])
        };
        let of = [
            stream("meter M1", vec![(day(5), 10.0, 1.0), (day(6), 10.0, 1.0)]),
            stream("meter M2", vec![(day(5), 5.0, 5.0), (day(6), 100.0, 80.0)]),
        ];
        let (more, words) = month_missing_most(of.iter()).unwrap();
        assert!((more - 29.0 / 30.0).abs() < 1e-12, "{more}");
        assert_eq!(words, "in Jun 2014 meter M2 has 1.25 times what is computed");
        // Where none is computed there is no number of times, and where both are the same nothing is missed.
        let none = stream("meter M1", vec![(day(5), 6.0, 0.0)]);
        assert_eq!(month_missing_most([none].iter()).unwrap().1, "in May 2014 meter M1 has more than what is computed");
        assert_eq!(month_missing_most([stream("meter M1", vec![(day(5), 7.0, 7.0)])].iter()), None);
    }
}
