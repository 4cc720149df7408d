//! What a yes rests on that nobody has shown: solids that hardly anybody sampled, and washes that a proposal alone describes. The money
//! is made again with other solids and with more washes, in the middle of the ranges.

use std::collections::BTreeSet;

use chrono::Datelike;

use crate::balance::Draw;
use crate::compare::break_even::{Knob, WIDEST, changed, is_washed_alike, washed_so_often};
use crate::compare::doubts::{furthest, is_of_solids, not_kept};
use crate::compare::prices::Prices;
use crate::compare::study::compute;
use crate::compare::{Against, Alternative, Asked, Computed, HARDLY, Kind, Measure, Study};
use crate::facility::model::{Filter, PlaceId, PlaceKind};
use crate::told::Problems;

/// In so many months at least solids must have been sampled for the computation to be held against them (common practice, no source).
const LEAST_MONTHS: usize = 4;

/// Solids sampled at a place, beside what is computed there.
#[derive(Debug, Clone, PartialEq)]
pub struct Sampled {
    /// Where.
    pub at: PlaceId,
    /// In how many months.
    pub months: BTreeSet<(i32, u32)>,
    /// How many times what is computed was sampled at the most and at the least, and where that is; none where nowhere.
    pub ends: [Option<(f64, String)>; 2],
}

impl Sampled {
    fn of(log: &Against) -> Self {
        let months = log.pairs.iter().map(|(day, ..)| (day.year(), day.month())).collect();
        Self { at: log.at, months, ends: [furthest(log, true), furthest(log, false)] }
    }

    /// All that was sampled, by place.
    pub(super) fn all(log: &[Against]) -> Vec<Self> {
        log.iter().filter(|of| of.measure == Measure::Solids).map(Self::of).collect()
    }
}

/// What an option's money more than the site's comes to, in the middle of the ranges.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Tried {
    /// With so many times the solids that come in.
    solids: Vec<(f64, f64)>,
    /// With a filter that only the proposal describes washed ten times as often, or as often as the site washes now.
    washed: Vec<(String, f64)>,
}

fn filters(of: &Alternative) -> impl Iterator<Item = (&str, &Filter)> {
    of.facility.places.iter().filter_map(|place| match &place.kind {
        PlaceKind::Filter(filter) => Some((place.name.as_str(), filter.as_ref())),
        _ => None,
    })
}

fn within_reach(times: f64) -> f64 {
    times.clamp(1.0 / WIDEST, WIDEST)
}

impl Study {
    /// Makes the money of every option that saves again with other solids and more washes, at the prices of the options.
    ///
    /// # Errors
    /// What makes a balance impossible on the way, with its place in the file.
    pub fn try_money(&mut self, asked: &Asked<'_>, prices: &Prices) -> Result<(), Problems> {
        let Some(first) = self.options.first() else { return Ok(()) };
        let shared = asked.shared();
        let once = |of: &Alternative| compute(of, &first.alternative, prices, &shared, 0, &|_| {});
        let more = |before: &Computed, of: &Computed| {
            let options = vec![before.clone(), of.clone()];
            let pair = Self { options, prices: self.prices.clone(), draws: vec![Draw::MIDDLE], ..self.empty() };
            pair.present_more(1, 0).single()
        };
        let mut sites: Vec<(f64, Computed)> = Vec::new();
        let mut all = vec![Tried::default()];
        for (option, of) in self.options.iter().enumerate().skip(1) {
            let mut tried = Tried::default();
            if self.present_more(option, 0).single().is_some_and(|more| more < 0.0) {
                let sampled =
                    self.sampled_of(option).flat_map(|of| of.ends.iter().flatten()).map(|of| within_reach(of.0));
                for times in sampled.chain([1.0 / WIDEST, WIDEST]) {
                    let again = |of: &Alternative| {
                        changed(&Knob::Solids, times, of, &first.alternative).map(|of| once(&of)).transpose()
                    };
                    if !sites.iter().any(|(known, _)| *known == times)
                        && let Some(site) = again(&first.alternative)?
                    {
                        sites.push((times, site));
                    }
                    let site = sites.iter().find(|(known, _)| *known == times);
                    if let (Some((_, site)), Some(of)) = (site, again(&of.alternative)?)
                        && let Some(more) = more(site, &of)
                    {
                        tried.solids.push((times, more));
                    }
                }
                let site = once(&first.alternative)?;
                for (name, often) in self.only_proposed(option) {
                    if let Some(oftener) = washed_so_often(&of.alternative, &name, often)
                        && let Some(more) = more(&site, &once(&oftener)?)
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
        self.sampled.iter().filter(move |of| self.turns_on_solids(of.at, option, 0))
    }

    /// Why samples let nothing be told of an option's money: with solids as at an end of what was sampled it saves nothing.
    pub(super) fn turned_by_samples(&self, option: usize) -> Vec<String> {
        let Some(tried) = self.tried.get(option) else { return Vec::new() };
        let at = |times: f64| tried.solids.iter().find(|of| of.0 == within_reach(times)).map(|of| of.1);
        let ends = self.sampled_of(option).flat_map(|of| of.ends.iter().flatten());
        let turned = ends.filter(|(times, _)| at(*times).is_some_and(|more| more >= 0.0));
        turned.map(|(_, words)| format!("its money turns on the solids, and {words}")).collect()
    }

    /// What an option comes to more with solids as at the sample or month that is furthest over the computation, and which that is; none
    /// where that is not far off.
    pub fn at_the_most_sampled(&self, option: usize) -> Option<(&str, f64)> {
        let ends = self.sampled_of(option).filter_map(|of| of.ends.first()?.as_ref());
        let (times, words) = ends.filter(|of| of.0 > 2.0).max_by(|a, b| a.0.total_cmp(&b.0))?;
        let tried = self.tried.get(option)?.solids.iter().find(|of| of.0 == within_reach(*times))?;
        Some((words.as_str(), tried.1))
    }

    /// What a yes rests on that nobody has shown: `the washes of Lean sand are as the proposal says`.
    pub(super) fn rests_on(&self, option: usize) -> Vec<String> {
        let Some(tried) = self.tried.get(option) else { return Vec::new() };
        let anyhow = self.known_present(0).spread().map_or(0.0, |of| of.median.abs());
        let washed = tried.washed.iter().filter(|(_, more)| *more > -HARDLY * anyhow);
        let mut out: Vec<String> =
            washed.map(|(name, _)| format!("the washes of {name} are as the proposal says")).collect();
        let few = |months: usize| match months {
            _ if months >= LEAST_MONTHS => None,
            0 => Some("nobody sampled them".to_owned()),
            1 => Some("sampled in 1 month alone".to_owned()),
            n => Some(format!("sampled in {n} months alone")),
        };
        let limits = out.len();
        for (at, months) in self.limits_on_solids(option) {
            let words = few(months).map(|few| format!("the solids at {at} are as computed ({few})"));
            out.extend(words.filter(|words| !out.contains(words)));
        }
        let turns = tried.solids.iter().any(|(_, more)| *more >= 0.0);
        let months: BTreeSet<_> = self.sampled_of(option).flat_map(|of| &of.months).collect();
        if out.len() == limits && turns {
            out.extend(few(months.len()).map(|few| format!("the solids are as computed ({few})")));
        }
        out
    }

    /// Points of limits on solids that an option comes nearer to and is taken to keep, and in how many months each was sampled.
    fn limits_on_solids(&self, option: usize) -> Vec<(String, usize)> {
        let (Some(first), Some(of)) = (self.options.first(), self.options.get(option)) else { return Vec::new() };
        let rules = of.alternative.rules.iter().flat_map(|rules| &rules.limits);
        let nearer = |name: &str| {
            let find = |of: &Computed| of.limits.iter().find(|limit| limit.name == name).cloned();
            let (with, was) = (find(of), find(first));
            with.is_some_and(|with| {
                let doubt = self.doubts.iter().find(|doubt| doubt.limit == name);
                let kept = with.outcome.is_some() && with.past.is_some() && not_kept(&with, doubt) < 1.0;
                kept && was.is_none_or(|was| with.is_further_than(&was))
            })
        };
        let facility = &of.alternative.facility;
        rules
            .filter(|limit| is_of_solids(limit) && nearer(&limit.name))
            .filter_map(|limit| {
                let place = facility.places.iter().find(|place| limit.at_text.ends_with(place.name.as_str()))?;
                let at = first.alternative.facility.find(&place.name);
                let months: BTreeSet<_> =
                    self.sampled.iter().filter(|of| Some(of.at) == at).flat_map(|of| &of.months).collect();
                Some((place.name.clone(), months.len()))
            })
            .collect()
    }
}
