//! Limits by which an option comes out worse than another, and in what words.

use std::borrow::Borrow;

use crate::compare::doubts::{Doubt, believed, doubts, not_kept};
use crate::compare::figures::plain;
use crate::compare::on_file::{OnFile, Recorded};
use crate::compare::outcomes::NOTHING_FLOWS;
use crate::compare::predicted::Predicted;
use crate::compare::tried::Sampled;
use crate::compare::{Against, Looked, Study};
use crate::rules::Outcome;

/// In how large a share of the draws an option that comes clearly nearer to a limit may not be kept and still be no worse by it (common
/// practice, no source).
const CLEARLY: f64 = 0.05;

/// The same of one that comes hardly nearer (common practice, no source).
const HALF: f64 = 0.5;

/// A limit by which an option comes out worse than another, or is not shown to come out no worse.
#[derive(Debug, Clone, PartialEq)]
pub struct Worse {
    /// Its prediction with the option.
    pub with: Predicted,
    /// How the other comes out.
    pub was: Option<Predicted>,
    /// Why its prediction is not believed, where it is not.
    pub doubt: Option<Doubt>,
}

impl Worse {
    /// Whether it is predicted outside, the other is not or not about so far, and that is borne out.
    pub fn is_outside(&self) -> bool {
        let was = self.was.as_ref();
        is_borne_out(&self.with, was, self.doubt.as_ref()) && is_far(&self.with, was)
    }

    fn comes_out_outside(&self) -> bool {
        outside(Some(&self.with)) && !outside(self.was.as_ref())
    }

    /// The share of the other's draws outside.
    pub fn was_outside(&self) -> Option<f64> {
        self.was.as_ref()?.share_outside
    }

    /// How the other comes out, by its records where they have it exceeded, else as far as it is believed.
    pub fn was_outcome(&self) -> Option<Outcome> {
        if self.doubt.as_ref().is_some_and(|doubt| doubt.is_exceeded) {
            return Some(Outcome::Exceeded);
        }
        believed(self.was.as_ref()?, self.doubt.as_ref())
    }

    /// In words, its figures in a form: `predicted outside of Sewer solids, day (at most 900 mg/L: 4560 mg/L), undecided as it stands`.
    pub fn words(&self, form: &dyn Fn(&str) -> String) -> String {
        let name = &self.with.name;
        let (bound, figure) = (form(&self.with.bound), form(&self.with.figure));
        let was = self.was.as_ref().filter(|was| was.outcome.is_some());
        if self.is_outside() {
            if self.comes_out_outside() {
                let was = match self.was_outcome() {
                    Some(Outcome::Exceeded) => "exceeded by its records",
                    other => other.map_or("not computed", Outcome::words),
                };
                return format!("predicted outside of {name} ({bound}: {figure}), {was} as it stands");
            }
            let was = was.map_or("", |was| was.figure.as_str());
            if !outside(Some(&self.with)) {
                return format!(
                    "further outside of {name} ({bound}), which the records have exceeded: computed at {figure}, {} as it stands",
                    form(was)
                );
            }
            return format!("further outside of {name} ({bound}) at {figure}, {} as it stands", form(was));
        }
        let exceeded = match self.doubt.as_ref().is_some_and(|doubt| doubt.is_exceeded) {
            true => ", where the records have it exceeded",
            false => "",
        };
        let comes_out = format!("{name} ({bound}) comes out at {figure}");
        match &self.doubt {
            Some(doubt) if doubt.decides_nothing => {
                let was = was.map_or_else(|| "not computed".to_owned(), |was| format!("at {}", form(&was.figure)));
                format!("{comes_out}, {was} as it stands, but the records have it kept")
            }
            Some(doubt) if doubt.is_too_low && !outside(Some(&self.with)) => {
                format!("{comes_out}, but the records have it exceeded as it stands")
            }
            Some(doubt) if self.is_left_by_the_band(doubt) => {
                let stands =
                    was.map_or_else(String::new, |was| format!(", {} as it stands{exceeded}", form(&was.figure)));
                format!("{comes_out}{stands}; {}", form(&by_the_band(&self.with, doubt)))
            }
            _ => format!(
                "outside of {name} in {} of the draws, in {} as it stands{exceeded}",
                of_draws(self.with.share_outside),
                of_draws(self.was_outside())
            ),
        }
    }

    /// Whether it is what the log has less or more that leaves it open.
    fn is_left_by_the_band(&self, doubt: &Doubt) -> bool {
        let raw = self.with.share_outside.unwrap_or(0.0);
        outside(Some(&self.with))
            || not_kept(&self.with, Some(doubt)) > raw && raw - self.was_outside().unwrap_or(0.0) <= CLEARLY
    }
}

/// `none`, `all`, `3 %`.
fn of_draws(share: Option<f64>) -> String {
    match share.unwrap_or(0.0) {
        none if none <= 0.0 => "none".to_owned(),
        all if all >= 1.0 => "all".to_owned(),
        some => format!("{} %", plain((100.0 * some).clamp(1.0, 99.0), 0)),
    }
}

/// `by what was sampled it may be up to 1720 mg/L`, as far as it goes against what is computed.
fn by_the_band(of: &Predicted, doubt: &Doubt) -> String {
    let Some(past) = &of.past else { return String::new() };
    let (low, high) = past.range(doubt);
    let word = if past.is_removal { "sampled" } else { doubt.how };
    let shown = |value: f64| {
        let step = if value.abs() > 0.0 { 10_f64.powf(value.abs().log10().floor() - 1.0) } else { 1.0 };
        plain((value / step).round() * step, if step >= 1.0 { 0 } else { 2 })
    };
    let may = match of.outcome {
        _ if low.is_infinite() || high.is_infinite() => {
            return format!("something was {word} where nothing is computed");
        }
        Some(Outcome::PredictedOutside) if past.upper.is_some() => format!("as little as {}", shown(low)),
        Some(Outcome::PredictedOutside) => format!("up to {}", shown(high)),
        Some(Outcome::PredictedWithin) if past.upper.is_some() => format!("up to {}", shown(high)),
        Some(Outcome::PredictedWithin) => format!("as little as {}", shown(low)),
        _ => format!("{} to {}", shown(low), shown(high)),
    };
    format!("by what was {word} it may be {may} {}", past.unit).trim_end().to_owned()
}

fn outside(of: Option<&Predicted>) -> bool {
    of.is_some_and(|of| of.outcome == Some(Outcome::PredictedOutside))
}

/// Whether an option's figure is not about as far as another's; so it is where the other has none.
fn is_far(with: &Predicted, was: Option<&Predicted>) -> bool {
    was.is_none_or(|was| with.is_far_further_than(was))
}

/// Whether a limit comes out worse than another: outside by what is on file too and not about as far as that, or not known to be outside
/// where it is predicted so, or nearer and not believed to be kept in more of the draws than so near a figure may be. How near it comes goes
/// by no bound, and the rest only grows with a stricter one: so no limit is told more kindly for being stricter.
fn is_worse(with: &Predicted, was: Option<&Predicted>, doubt: Option<&Doubt>) -> bool {
    if is_borne_out(with, was, doubt) {
        return is_far(with, was);
    }
    let nobody_knows = outside(Some(with)) && outside(was) && doubt.is_none_or(|doubt| !doubt.decides_nothing);
    let is_told = with.outcome.is_some() && with.figure != NOTHING_FLOWS;
    let may_be_outside = match was {
        Some(was) if !with.is_nearer_than(was) => 1.0,
        Some(was) if !with.is_further_than(was) => HALF,
        _ => CLEARLY,
    };
    nobody_knows || is_told && not_kept(with, doubt) > may_be_outside
}

/// Whether a limit is outside by what is on file too: predicted so at the least that was sampled, or as the records have it exceeded, where it
/// comes out no better than another that is predicted outside, or by far further than another, whatever is predicted.
fn is_borne_out(with: &Predicted, was: Option<&Predicted>, doubt: Option<&Doubt>) -> bool {
    let is_told = with.outcome.is_some() && with.figure != NOTHING_FLOWS;
    let as_recorded = |was: &Predicted| {
        outside(Some(with)) && outside(Some(was)) && !was.is_further_than(with)
            || is_told && with.past.is_some() && was.past.is_some() && with.is_far_further_than(was)
    };
    believed(with, doubt) == Some(Outcome::PredictedOutside)
        || doubt.is_some_and(|doubt| doubt.is_exceeded) && was.is_some_and(as_recorded)
}

/// Limits by which an option comes out worse than another, or is not shown to come out no worse, or, as that, is predicted outside of and
/// nobody knows whether it is. Those that are predicted outside come first.
pub fn worse(of: &[Predicted], than: &[Predicted], doubts: &[Doubt]) -> Vec<Worse> {
    let mut out: Vec<Worse> = of
        .iter()
        .filter_map(|with| {
            let was = than.iter().find(|other| other.name == with.name);
            let doubt = doubts.iter().find(|doubt| doubt.limit == with.name);
            let of = || Worse { with: with.clone(), was: was.cloned(), doubt: doubt.cloned() };
            is_worse(with, was, doubt).then(of)
        })
        .collect();
    out.sort_by_key(|of| !of.is_outside());
    out
}

/// Limits that an option is predicted outside of, about as far as the other or less far, where that is borne out: not mended.
pub fn stays_outside<'a>(of: &'a [Predicted], than: &[Predicted], doubts: &[Doubt]) -> Vec<&'a Predicted> {
    of.iter()
        .filter(|with| {
            let doubt = doubts.iter().find(|doubt| doubt.limit == with.name);
            let was = than.iter().find(|was| was.name == with.name);
            is_borne_out(with, was, doubt) && !is_far(with, was)
        })
        .collect()
}

/// Limits by which an option comes out no worse, and which all the same it is outside of, or may be, in some draws, and comes nearer to
/// than the other: `outside of Sewer solids in 3 % of the draws`.
fn nearly_kept(of: &[Predicted], than: &[Predicted], doubts: &[Doubt]) -> Vec<String> {
    let mut told: Vec<String> = worse(of, than, doubts).into_iter().map(|of| of.with.name).collect();
    told.extend(stays_outside(of, than, doubts).into_iter().map(|of| of.name.clone()));
    let limits = of.iter().filter(|with| !told.contains(&with.name));
    let words = |with: &Predicted| {
        let doubt = doubts.iter().find(|doubt| doubt.limit == with.name);
        let was = than.iter().find(|other| other.name == with.name);
        let share = not_kept(with, doubt);
        let is_more = share > 0.0 && was.is_none_or(|was| with.moves_nearer(was)) && with.outcome.is_some();
        let more = doubt.filter(|_| share > with.share_outside.unwrap_or(0.0));
        let may = more.map_or_else(String::new, |doubt| format!(", by what was {},", doubt.how));
        let stands = was.map(|was| not_kept(was, doubt)).filter(|share| *share > 0.0);
        let stands = stands.map_or_else(String::new, |share| format!(", as it stands in {}", of_draws(Some(share))));
        is_more.then(|| format!("outside of {}{may} in {} of the draws{stands}", with.name, of_draws(Some(share))))
    };
    limits.filter_map(words).collect()
}

/// Whether an option's figure is shown to come within a limit that the records have exceeded as the site stands.
fn is_shown_within(with: &Predicted, doubt: Option<&Doubt>) -> bool {
    with.figure == NOTHING_FLOWS || believed(with, doubt) == Some(Outcome::PredictedWithin)
}

/// What stands behind a yes: limits that the records have exceeded and that it is not shown to come within, and see [`nearly_kept`].
pub(super) fn stands_behind(
    of: &[Predicted],
    than: &[Predicted],
    doubts: &[Doubt],
    exceeded: &[String],
) -> Vec<String> {
    let doubt = |of: &Predicted| doubts.iter().find(|doubt| doubt.limit == of.name);
    let mut told: Vec<String> = worse(of, than, doubts).into_iter().map(|of| of.with.name).collect();
    told.extend(stays_outside(of, than, doubts).into_iter().map(|of| of.name.clone()));
    let stays = of.iter().filter(|with| {
        exceeded.contains(&with.name)
            && with.outcome.is_some()
            && !told.contains(&with.name)
            && !is_shown_within(with, doubt(with))
    });
    let stays: Vec<&str> = stays.map(|with| with.name.as_str()).collect();
    let others: Vec<Predicted> = of.iter().filter(|of| !stays.contains(&of.name.as_str())).cloned().collect();
    let mut out = nearly_kept(&others, than, doubts);
    if !stays.is_empty() {
        out.push(format!("not shown to come within {}, which the records have exceeded", stays.join(" and ")));
    }
    out
}

/// `stays outside of Sewer flow, as the site is by its records`.
pub(super) fn stays_outside_words<S: Borrow<str>>(limits: &[S]) -> String {
    format!("stays outside of {}, as the site is by its records", limits.join(" and of "))
}

impl Study {
    /// Limits that stand behind a yes: see `stands_behind`, and what of them is not judged.
    pub fn nearly_kept(&self, option: usize, than: usize) -> Vec<String> {
        let exceeded = if than == 0 { &self.on_file.exceeded[..] } else { &[] };
        match (self.options.get(option), self.options.get(than)) {
            _ if than == 0 && self.changes_nothing(option) => Vec::new(),
            (Some(of), Some(other)) => {
                let asked = if than == 0 { self.not_judged(option) } else { Vec::new() };
                let mut behind = stands_behind(&of.limits, &other.limits, &self.doubts, exceeded);
                behind.extend(asked);
                behind
            }
            _ => Vec::new(),
        }
    }

    /// Limits that an option stays outside of, as another is.
    pub fn stays_outside(&self, option: usize, than: usize) -> Vec<&Predicted> {
        match (self.options.get(option), self.options.get(than)) {
            (Some(of), Some(than)) => stays_outside(&of.limits, &than.limits, &self.doubts),
            _ => Vec::new(),
        }
    }

    /// Limits by which an option comes out worse than another: of proposals and of trains alike.
    pub fn worse_limits(&self, option: usize, than: usize) -> Vec<Worse> {
        match (self.options.get(option), self.options.get(than)) {
            _ if than == 0 && self.changes_nothing(option) => Vec::new(),
            (Some(of), Some(than)) => worse(&of.limits, &than.limits, &self.doubts),
            _ => Vec::new(),
        }
    }

    /// Why the computation is not believed about a limit, whatever its figure.
    pub fn doubt(&self, limit: &str) -> Option<&Doubt> {
        self.doubts.iter().find(|doubt| doubt.limit == limit && doubt.is_strong())
    }

    /// What is left of a prediction where the computation is doubted.
    pub fn believed(&self, of: &Predicted) -> Option<Outcome> {
        believed(of, self.doubts.iter().find(|doubt| doubt.limit == of.name))
    }

    /// Holds the study against the log, the looks, and how the inspection report has each limit.
    pub fn doubted_by(&mut self, log: &[Against], recorded: &[Recorded], looked: &[Looked]) {
        self.doubts = self.options.first().map_or_else(Vec::new, |stands| doubts(stands, (log, looked), recorded));
        self.sampled = Sampled::all(log);
        let facility = self.options.first().map(|of| &of.alternative.facility);
        self.on_file = facility.map_or_else(OnFile::default, |facility| OnFile::of(facility, log, recorded, looked));
    }
}

#[cfg(test)]
pub(crate) mod tests;
