//! What a yes rests on that nobody has shown: solids that hardly anybody sampled, and washes that a proposal alone describes. The money
//! is made again with other solids and with more washes, in the middle of the ranges.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{Datelike, NaiveDate};

use crate::balance::Draw;
use crate::compare::break_even::{Knob, WIDEST, changed, is_washed_alike, washed_so_often};
use crate::compare::doubts::{FAR_OFF, furthest, is_of_solids, not_kept};
use crate::compare::figures::{plain, three};
use crate::compare::on_file::{Month, in_months, months_of_water, more_comes};
use crate::compare::prices::Prices;
use crate::compare::study::{compute, costed};
use crate::compare::{Against, Alternative, Asked, Computed, HARDLY, Kind, Measure, Study};
use crate::facility::model::{Facility, Filter, PlaceId, PlaceKind};
use crate::rules::Limit;
use crate::told::Problems;

/// In so many months at least solids must have been sampled for the computation to be held against them (common practice, no source).
const LEAST_MONTHS: usize = 4;

/// In so many months of water without a sample nobody knows what it had (common practice, no source).
const MONTHS_MISSING: usize = 3;

/// The widest factors, each way, at which the money is made again where a month's means have them (common practice, no source).
pub const MOST_TIMES: f64 = 20.0;

/// Solids sampled at a place, beside what is computed there.
#[derive(Debug, Clone, PartialEq)]
pub struct Sampled {
    /// Where.
    pub at: PlaceId,
    /// In which months with a figure.
    pub months: BTreeSet<(i32, u32)>,
    /// In which months below detection.
    pub below: BTreeSet<(i32, u32)>,
    /// How many times what is computed was sampled at the most and at the least, and where that is; none where nowhere.
    pub ends: [Option<(f64, String)>; 2],
    /// The same by the means of all samples of a month and of what is computed on their days.
    pub means: [Option<(f64, String)>; 2],
}

impl Sampled {
    fn of(log: &Against) -> Self {
        let months = |of: &[(NaiveDate, f64, f64)]| of.iter().map(|(day, ..)| (day.year(), day.month())).collect();
        // Money turns on a result below detection where that is so however little it is below.
        let near = &log.as_near_as_can_be();
        Self {
            at: log.at,
            months: months(&log.pairs),
            below: months(&log.below),
            ends: [furthest(near, true), furthest(near, false)],
            means: months_means(near),
        }
    }

    /// With how many times the solids the money is made again, those of a month's means first.
    fn all_times(&self) -> impl Iterator<Item = f64> {
        let means = self.means.iter().flatten().map(|of| as_means(of.0));
        means.chain(self.ends.iter().flatten().map(|of| within_reach(of.0)))
    }

    /// All that was sampled, by place.
    pub(super) fn all(log: &[Against]) -> Vec<Self> {
        log.iter().filter(|of| of.measure == Measure::Solids).map(Self::of).collect()
    }
}

/// By which month's means most and least was sampled beside what is computed on the same days; of months in which nothing is computed
/// no times can be told.
fn months_means(log: &Against) -> [Option<(f64, String)>; 2] {
    let mut months: BTreeMap<Month, (NaiveDate, f64, f64, f64)> = BTreeMap::new();
    for (day, logged, computed) in &log.pairs {
        let (_, n, l, c) = months.entry((day.year(), day.month())).or_insert((*day, 0.0, 0.0, 0.0));
        (*n, *l, *c) = (*n + 1.0, *l + logged, *c + computed);
    }
    let all: Vec<(f64, String)> = months
        .into_values()
        .filter(|(.., computed)| *computed > 0.0)
        .map(|(day, n, logged, computed)| {
            let (l, c) = (three(1000.0 * logged / n), three(1000.0 * computed / n));
            let means = if n > 1.0 { format!(", means of {n} samples") } else { String::new() };
            let at = log.what.strip_prefix("suspended solids ").unwrap_or(&log.what);
            let when = day.format("%b %Y");
            let words = format!("{at} in {when} {} mg/L sampled, {} computed{means}", short(l), short(c));
            (logged / computed, words)
        })
        .collect();
    let most = all.iter().max_by(|a, b| a.0.total_cmp(&b.0)).cloned();
    [most, all.into_iter().min_by(|a, b| a.0.total_cmp(&b.0))]
}

/// Three digits, as they are.
fn short(value: f64) -> String {
    let words = plain(value, if value < 10.0 { 2 } else { usize::from(value < 100.0) });
    if words.contains('.') { words.trim_end_matches('0').trim_end_matches('.').to_owned() } else { words }
}

/// What an option's money more than the site's comes to, in the middle of the ranges.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Tried {
    /// Which samples are of the water of filters that the option changes.
    sampled: Vec<usize>,
    /// Whether it saves as computed; else nothing is tried.
    saves: bool,
    /// With so many times the solids that come in.
    solids: Vec<(f64, f64)>,
    /// With a filter that only the proposal describes washed ten times as often, or as often as the site washes now.
    washed: Vec<(String, f64)>,
    /// Filters whose washes hardly anybody logged and on whose number the answer turns.
    pub(super) turns_on_washes: Vec<PlaceId>,
}

fn filters(of: &Alternative) -> impl Iterator<Item = (&str, &Filter)> {
    of.facility.places.iter().filter_map(|place| match &place.kind {
        PlaceKind::Filter(filter) => Some((place.name.as_str(), filter.as_ref())),
        _ => None,
    })
}

/// As far as single samples and what nobody sampled are tried.
fn within_reach(times: f64) -> f64 {
    times.clamp(1.0 / WIDEST, WIDEST)
}

/// As far as a month's means are tried.
fn as_means(times: f64) -> f64 {
    times.clamp(1.0 / MOST_TIMES, MOST_TIMES)
}

/// How few samples there are.
enum Few {
    /// None.
    Never,
    /// None but below detection.
    Below,
    /// Of so many months alone.
    Months(usize),
    /// None in these months.
    Not(String),
}

/// The place that a limit is on, by its words.
fn place_of(limit: &Limit, facility: &Facility) -> Option<(String, PlaceId)> {
    let at = facility.places.iter().position(|place| limit.at_text.ends_with(place.name.as_str()))?;
    Some((facility.places.get(at)?.name.clone(), PlaceId(at)))
}

/// An option's money with as many solids as a month's samples have.
#[derive(Debug, Clone, PartialEq)]
pub struct AsSampled {
    /// How many times what is computed was sampled.
    pub sampled: f64,
    /// With how many times the solids the money was made again.
    pub tried: f64,
    /// What it then comes to more.
    pub more: f64,
    /// Which samples these are.
    pub samples: String,
}

impl Study {
    /// Makes the money of every option that saves again with other solids and more washes, at the prices of the options.
    ///
    /// # Errors
    /// What makes a balance impossible on the way, with its place in the file.
    pub fn try_money(&mut self, asked: &Asked<'_>, prices: &Prices) -> Result<(), Problems> {
        let Some(first) = self.options.first() else { return Ok(()) };
        let shared = asked.shared();
        let once = |of: &Alternative, prices: &Prices| costed(of, &first.alternative, prices, &shared);
        let judged = |of: &Alternative, prices: &Prices| compute(of, &first.alternative, prices, &shared, 0, &|_| {});
        let with_solids = |of: &Alternative, prices: &Prices, times: f64| {
            changed(&Knob::Solids, times, of, &first.alternative).map(|of| once(&of, prices)).transpose()
        };
        let more = |before: &Computed, of: &Computed| {
            let amounts = before.amounts.iter().take(1).cloned().collect();
            let options = vec![Computed { amounts, ..before.clone() }, of.clone()];
            let pair = Self { options, prices: self.prices.clone(), draws: vec![Draw::MIDDLE], ..self.empty() };
            pair.present_more(1, 0).single()
        };
        let mut sites: Vec<(f64, Computed)> = Vec::new();
        let mut all = vec![Tried::default()];
        for (option, of) in self.options.iter().enumerate().skip(1) {
            let saves = self.present_more(option, 0).single().is_some_and(|more| more < 0.0);
            let turns = |at: &usize| self.sampled.get(*at).is_some_and(|of| self.turns_on_solids(of.at, option, 0));
            let sampled = (0..self.sampled.len()).filter(|at| saves && turns(at)).collect();
            let turns_on_washes =
                self.turns_on_washes(option, &|of, at| judged(of, if at == 0 { &self.prices } else { prices }), &more)?;
            let mut tried = Tried { saves, sampled, turns_on_washes, ..Tried::default() };
            if saves {
                let sampled = tried.sampled.iter().filter_map(|at| self.sampled.get(*at));
                let ends: Vec<f64> = sampled.flat_map(Sampled::all_times).collect();
                for times in ends.into_iter().chain([1.0 / WIDEST, WIDEST]) {
                    if !sites.iter().any(|(known, _)| *known == times)
                        && let Some(site) = with_solids(&first.alternative, &self.prices, times)?
                    {
                        sites.push((times, site));
                    }
                    let site = sites.iter().find(|(known, _)| *known == times);
                    if let (Some((_, site)), Some(of)) = (site, with_solids(&of.alternative, prices, times)?)
                        && let Some(more) = more(site, &of)
                    {
                        tried.solids.push((times, more));
                    }
                }
                for (name, often) in self.only_proposed(option) {
                    if let Some(oftener) = washed_so_often(&of.alternative, &name, often)
                        && let Some(more) = more(first, &once(&oftener, prices)?)
                    {
                        tried.washed.push((name, more));
                    }
                }
            }
            all.push(tried);
        }
        self.tried = all;
        Ok(())
    }

    /// Filters whose washes only the proposal describes, and how many times as often they are tried.
    fn only_proposed(&self, option: usize) -> Vec<(String, f64)> {
        let (Some(first), Some(of)) = (self.options.first(), self.options.get(option)) else { return Vec::new() };
        let washes = |option: usize| {
            let all = self.paired(option, Kind::Washes).into_iter();
            all.map(|of| (of.id, of.values.first().copied().unwrap_or(0.0))).collect::<Vec<_>>()
        };
        let (now, then) = (washes(0), washes(option));
        let most = now.iter().map(|of| of.1).fold(0.0, f64::max);
        filters(&of.alternative)
            .filter(|(_, filter)| filter.wash.is_some())
            .filter(|(name, filter)| {
                !filters(&first.alternative).any(|(known, was)| known == *name && is_washed_alike(filter, was))
            })
            .map(|(name, _)| {
                let own = then.iter().find(|(id, _)| id == of.alternative.old_name(name)).map_or(0.0, |of| of.1);
                (name.to_owned(), if own > 0.0 { f64::max(WIDEST, most / own) } else { WIDEST })
            })
            .collect()
    }

    /// What was sampled of the water of filters that an option changes.
    fn sampled_of(&self, option: usize) -> impl Iterator<Item = &Sampled> {
        let at = self.tried.get(option).map_or(&[][..], |tried| &tried.sampled);
        at.iter().filter_map(|at| self.sampled.get(*at))
    }

    /// What an option comes to more with so many times the solids, in the middle of the ranges.
    fn with_solids(&self, option: usize, times: f64) -> Option<f64> {
        let tried = &self.tried.get(option)?.solids;
        tried.iter().find(|of| of.0 == times).map(|of| of.1)
    }

    /// Why samples let nothing be told of an option's money: with solids as at an end of what was sampled it saves nothing.
    pub(super) fn turned_by_samples(&self, option: usize) -> Vec<String> {
        let turns = |times: f64| self.with_solids(option, times).is_some_and(|more| more >= 0.0);
        let words = |of: &Sampled| {
            let means = of.means.iter().map(|of| of.as_ref().filter(|of| turns(as_means(of.0))));
            let ends = of.ends.iter().map(|of| of.as_ref().filter(|of| turns(within_reach(of.0))));
            means.zip(ends).filter_map(|(mean, end)| Some(mean.or(end)?.1.clone())).collect::<Vec<_>>()
        };
        self.sampled_of(option)
            .flat_map(words)
            .map(|words| format!("its money turns on the solids, and {words}"))
            .collect()
    }

    /// An option's money where a month's samples are far off on average: where most was sampled first, then where least was.
    pub fn as_sampled(&self, option: usize) -> Vec<AsSampled> {
        let end = |at: usize| self.sampled_of(option).filter_map(move |of| of.means.get(at)?.as_ref());
        let most = end(0).max_by(|a, b| a.0.total_cmp(&b.0)).filter(|of| of.0 > FAR_OFF);
        let least = end(1).min_by(|a, b| a.0.total_cmp(&b.0)).filter(|of| of.0 * FAR_OFF < 1.0);
        let told = |(sampled, samples): &(f64, String)| {
            let tried = as_means(*sampled);
            let more = self.with_solids(option, tried)?;
            Some(AsSampled { sampled: *sampled, tried, more, samples: samples.clone() })
        };
        most.into_iter().chain(least).filter_map(told).collect()
    }

    /// What a yes rests on that nobody has shown: `the washes of Lean sand are as the proposal says`.
    pub(super) fn rests_on(&self, option: usize, at_any_price: bool) -> Vec<String> {
        let Some(tried) = self.tried.get(option) else { return Vec::new() };
        let anyhow = self.known_present(0).spread().map_or(0.0, |of| of.median.abs());
        let washed = tried.washed.iter().filter(|(_, more)| *more > -HARDLY * anyhow);
        let mut out: Vec<String> =
            washed.map(|(name, _)| format!("the washes of {name} are as the proposal says")).collect();
        let limits = out.len();
        let is_yes = tried.saves && self.worse_limits(option, 0).is_empty();
        let mut unknown: Vec<(String, Vec<String>)> = Vec::new();
        for (at, place) in self.limits_on_solids(option).into_iter().filter(|_| is_yes) {
            let Some(when) = self.not_sampled(&[place], true) else { continue };
            match unknown.iter_mut().find(|of| of.0 == when) {
                Some((_, places)) if places.contains(&at) => {}
                Some((_, places)) => places.push(at),
                None => unknown.push((when, vec![at])),
            }
        }
        let words = |(when, places): (String, Vec<String>)| {
            format!("the solids at {} are as computed{when}", places.join(" and at "))
        };
        out.extend(unknown.into_iter().map(words));
        let turns = tried.solids.iter().any(|(_, more)| *more >= 0.0);
        let places: Vec<PlaceId> = self.sampled_of(option).map(|of| of.at).collect();
        if out.len() == limits && turns {
            out.extend(self.not_sampled(&places, false).map(|when| format!("the solids are as computed{when}")));
        }
        out.splice(0..0, self.washes_not_logged(option, at_any_price));
        out
    }

    /// When nobody sampled the solids at places, in words: ` (no slip has a figure of them)`, ` from May to Sep, when nobody sampled`; none where
    /// samples are of enough months.
    fn not_sampled(&self, at: &[PlaceId], is_of_a_limit: bool) -> Option<String> {
        Some(match self.few_sampled(at, is_of_a_limit)? {
            Few::Below => " (every slip has them below detection)".to_owned(),
            Few::Never => " (no slip has a figure of them)".to_owned(),
            Few::Months(1) => " (sampled in 1 month alone)".to_owned(),
            Few::Months(n) => format!(" (sampled in {n} months alone)"),
            Few::Not(when) => format!(" {when}, when nobody sampled"),
        })
    }

    /// How few samples there are of a limit on solids, in words: `never sampled`; none where they are enough, and of limits on anything else.
    pub fn hardly_sampled(&self, limit: &str) -> Option<String> {
        let first = self.options.first()?;
        let limit = first.alternative.rules.iter().flat_map(|rules| &rules.limits).find(|of| of.name == limit)?;
        let (_, at) = place_of(limit, &first.alternative.facility).filter(|_| is_of_solids(limit))?;
        Some(match self.few_sampled(&[at], true)? {
            Few::Below => "sampled below detection alone".to_owned(),
            Few::Never => "never sampled".to_owned(),
            Few::Months(1) => "sampled in 1 month alone".to_owned(),
            Few::Months(n) => format!("sampled in {n} months alone"),
            Few::Not(when) => format!("not sampled {when}"),
        })
    }

    /// How few samples there are of places' solids; none where they are enough. A result below detection says how much there may be at the most,
    /// and of a sum that turns on how much there is nothing.
    fn few_sampled(&self, at: &[PlaceId], is_of_a_limit: bool) -> Option<Few> {
        let of = || self.sampled.iter().filter(|of| at.contains(&of.at));
        let below = of().flat_map(|of| of.below.iter().copied()).filter(|_| is_of_a_limit);
        let sampled: BTreeSet<Month> = of().flat_map(|of| of.months.iter().copied()).chain(below).collect();
        let wet: BTreeSet<Month> = self
            .options
            .first()
            .map_or_else(BTreeSet::new, |of| at.iter().flat_map(|at| months_of_water(of, *at)).collect());
        let missing: BTreeSet<Month> = wet.difference(&sampled).copied().collect();
        match sampled.len() {
            0 if of().any(|of| !of.below.is_empty()) => Some(Few::Below),
            0 => Some(Few::Never),
            n if n < LEAST_MONTHS => Some(Few::Months(n)),
            _ if missing.len() < MONTHS_MISSING => None,
            _ => Some(Few::Not(in_months(&missing, &wet))),
        }
    }

    /// Points of limits on solids that an option comes nearer to, or brings more to, and is taken to keep.
    fn limits_on_solids(&self, option: usize) -> Vec<(String, PlaceId)> {
        let (Some(first), Some(of)) = (self.options.first(), self.options.get(option)) else { return Vec::new() };
        let rules = of.alternative.rules.iter().flat_map(|rules| &rules.limits);
        let place = |limit: &Limit| place_of(limit, &first.alternative.facility);
        let nearer = |limit: &Limit| {
            let name = limit.name.as_str();
            let find = |of: &Computed| of.limits.iter().find(|limit| limit.name == name).cloned();
            let (with, was) = (find(of), find(first));
            with.is_some_and(|with| {
                let doubt = self.doubts.iter().find(|doubt| doubt.limit == name);
                let kept = with.outcome.is_some() && with.past.is_some() && not_kept(&with, doubt) < 1.0;
                let more = || place(limit).is_some_and(|(name, _)| more_comes(of, first, &name));
                kept && (was.is_none_or(|was| with.is_further_than(&was)) || more())
            })
        };
        rules.filter(|limit| is_of_solids(limit) && nearer(limit)).filter_map(place).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::compare::doubts::tests::samples;

    /// 510 and 300 of 140 and 160 are 405 of 150; what a day without a computed figure had is of no times.
    #[test]
    fn times_of_a_month_are_the_ratio_of_its_means_on_the_days_sampled() {
        let log = samples(&[(8, 2, 510.0, 140.0), (8, 12, 300.0, 160.0), (2, 3, 50.0, 100.0), (5, 3, 70.0, 0.0)]);
        let [most, least] = months_means(&log).map(Option::unwrap);
        assert!((most.0 - 2.7).abs() < 1e-9 && (least.0 - 0.5).abs() < 1e-9, "{most:?} {least:?}");
        assert_eq!(most.1, "at Sewer in Aug 2014 405 mg/L sampled, 150 computed, means of 2 samples");
        assert_eq!(least.1, "at Sewer in Feb 2014 50 mg/L sampled, 100 computed");
    }
}
