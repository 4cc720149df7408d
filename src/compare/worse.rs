//! Limits by which an option comes out worse than another, and in what words.

use std::borrow::Borrow;

use crate::compare::doubts::{Doubt, believed, doubts, not_kept};
use crate::compare::figures::plain;
use crate::compare::on_file::OnFile;
use crate::compare::outcomes::NOTHING_FLOWS;
use crate::compare::predicted::Predicted;
use crate::compare::tried::Sampled;
use crate::compare::{Against, Study};
use crate::rules::Outcome;

/// By how much larger a share of the draws an option is outside of a limit for it to be worse by it (common practice, no source).
const CLEARLY: f64 = 0.05;

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
    /// Whether it is predicted outside, the other is not or not so far, and that is borne out.
    pub fn is_outside(&self) -> bool {
        is_borne_out(&self.with, self.was.as_ref(), self.doubt.as_ref())
    }

    fn comes_out_outside(&self) -> bool {
        outside(Some(&self.with)) && !outside(self.was.as_ref())
    }

    /// The share of the other's draws outside.
    pub fn was_outside(&self) -> Option<f64> {
        self.was.as_ref()?.share_outside
    }

    /// How the other comes out, as far as it is believed.
    pub fn was_outcome(&self) -> Option<Outcome> {
        believed(self.was.as_ref()?, self.doubt.as_ref())
    }

    /// In words, its figures in a form: `predicted outside of Sewer solids, day (at most 900 mg/L: 4560 mg/L), undecided as it stands`.
    pub fn words(&self, form: &dyn Fn(&str) -> String) -> String {
        let name = &self.with.name;
        let (bound, figure) = (form(&self.with.bound), form(&self.with.figure));
        let was = self.was.as_ref().filter(|was| was.outcome.is_some());
        if self.is_outside() {
            if self.comes_out_outside() {
                let was = self.was_outcome().map_or("not computed", Outcome::words);
                return format!("predicted outside of {name} ({bound}: {figure}), {was} as it stands");
            }
            let was = was.map_or("", |was| was.figure.as_str());
            return format!("further outside of {name} ({bound}) at {figure}, {} as it stands", form(was));
        }
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
                format!("{comes_out}; {}", form(&by_the_band(&self.with, doubt)))
            }
            _ => format!(
                "outside of {name} in {} of the draws, in {} as it stands",
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

/// Whether a limit comes out worse than another: predicted outside where the other is not, outside in clearly more of the draws, or
/// further with the other and not believed to be kept.
fn is_worse(with: &Predicted, was: Option<&Predicted>, doubt: Option<&Doubt>) -> bool {
    let share = |of: &Predicted| of.share_outside.unwrap_or(0.0);
    let oftener = share(with) - was.map_or(0.0, share) > CLEARLY;
    let is_told = with.outcome.is_some() && with.figure != NOTHING_FLOWS;
    let moves = was.is_none_or(|was| with.is_further_than(was));
    let nobody_knows = outside(was)
        && outside(Some(with))
        && !is_borne_out(with, was, doubt)
        && doubt.is_none_or(|doubt| !doubt.decides_nothing);
    outside(Some(with)) && !outside(was)
        || oftener
        || nobody_knows
        || is_told && moves && not_kept(with, doubt) > CLEARLY
}

/// Whether a limit that is predicted outside is so by what is on file too: by the least that was sampled, or as the records have it
/// exceeded where it comes out no better than another that is predicted outside.
fn is_borne_out(with: &Predicted, was: Option<&Predicted>, doubt: Option<&Doubt>) -> bool {
    let as_recorded = |was: &Predicted| outside(Some(with)) && outside(Some(was)) && !was.is_further_than(with);
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

/// Limits that an option is predicted outside of as the other is, where that is borne out: not mended.
pub fn outside_of_both<'a>(of: &'a [Predicted], than: &[Predicted], doubts: &[Doubt]) -> Vec<&'a Predicted> {
    of.iter()
        .filter(|with| {
            let doubt = doubts.iter().find(|doubt| doubt.limit == with.name);
            let was = than.iter().find(|was| was.name == with.name);
            outside(was) && is_borne_out(with, was, doubt)
        })
        .collect()
}

/// Limits by which an option comes out no worse, and which all the same it is outside of, or may be, in some draws, and comes nearer to
/// than the other: `outside of Sewer solids in 3 % of the draws`.
fn nearly_kept(of: &[Predicted], than: &[Predicted], doubts: &[Doubt]) -> Vec<String> {
    let mut told: Vec<String> = worse(of, than, doubts).into_iter().map(|of| of.with.name).collect();
    told.extend(outside_of_both(of, than, doubts).into_iter().map(|of| of.name.clone()));
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
    told.extend(outside_of_both(of, than, doubts).into_iter().map(|of| of.name.clone()));
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
    /// Limits that stand behind a yes: see `stands_behind`.
    pub fn nearly_kept(&self, option: usize, than: usize) -> Vec<String> {
        let exceeded = if than == 0 { &self.on_file.exceeded[..] } else { &[] };
        match (self.options.get(option), self.options.get(than)) {
            (Some(of), Some(than)) => stands_behind(&of.limits, &than.limits, &self.doubts, exceeded),
            _ => Vec::new(),
        }
    }

    /// Limits that an option stays outside of, as another is.
    pub fn stays_outside(&self, option: usize, than: usize) -> Vec<&Predicted> {
        match (self.options.get(option), self.options.get(than)) {
            (Some(of), Some(than)) => outside_of_both(&of.limits, &than.limits, &self.doubts),
            _ => Vec::new(),
        }
    }

    /// Limits by which an option comes out worse than another: of proposals and of trains alike.
    pub fn worse_limits(&self, option: usize, than: usize) -> Vec<Worse> {
        match (self.options.get(option), self.options.get(than)) {
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

    /// Holds the study against the log, and against how the inspection report has each limit.
    pub fn doubted_by(&mut self, log: &[Against], recorded: &[(String, Outcome)]) {
        self.doubts = self.options.first().map_or_else(Vec::new, |stands| doubts(stands, log, recorded));
        self.sampled = Sampled::all(log);
        let facility = self.options.first().map(|of| &of.alternative.facility);
        self.on_file = facility.map_or_else(OnFile::default, |facility| OnFile::of(facility, log, recorded));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::compare::predicted::Past;
    use crate::compare::{Answer, Verdict};
    use proptest::prelude::*;
    use std::slice::from_ref;

    fn past(figures: &[f64], upper: f64) -> Past {
        Past {
            worst: figures[0],
            draws: figures.to_vec(),
            windows: Vec::new(),
            upper: Some(upper),
            lower: None,
            per_m3: None,
            is_removal: false,
            unit: "mg/L".to_owned(),
        }
    }

    fn limit(outcome: Outcome, figure: &str) -> Predicted {
        Predicted {
            name: "Solids".to_owned(),
            bound: "at most 500 mg/L".to_owned(),
            outcome: Some(outcome),
            share_outside: Some(if outcome == Outcome::PredictedOutside { 1.0 } else { 0.0 }),
            figure: figure.to_owned(),
            past: figure.split(' ').next().and_then(|worst| worst.parse().ok()).map(|worst| past(&[worst], 500.0)),
        }
    }

    /// A limit of an option with these figures in the draws.
    fn drawn(figures: &[f64], upper: f64) -> Predicted {
        let over = figures.iter().filter(|figure| **figure > upper).count();
        let outcome = match over {
            0 => Outcome::PredictedWithin,
            all if all == figures.len() => Outcome::PredictedOutside,
            _ => Outcome::Undecided,
        };
        Predicted {
            share_outside: Some(over as f64 / figures.len() as f64),
            past: Some(past(figures, upper)),
            ..limit(outcome, &format!("{} mg/L", figures[0]))
        }
    }

    /// So many times what is computed was sampled, at least and at most.
    fn band(low: f64, high: f64) -> Doubt {
        Doubt {
            limit: "Solids".to_owned(),
            why: "on 12 Aug 2014 510 mg/L sampled, 140 computed".to_owned(),
            ends: Vec::new(),
            decides_nothing: false,
            is_too_low: false,
            is_exceeded: false,
            low,
            high,
            more: 0.0,
            less: 0.0,
            seasons: crate::compare::Seasons::new(),
            floor: 0.0,
            more_m3: 0.0,
            how: "sampled",
        }
    }

    fn words_of(with: &Predicted, was: &Predicted, doubt: &Doubt) -> Vec<(bool, String)> {
        let found = worse(from_ref(with), from_ref(was), from_ref(doubt));
        found.iter().map(|of| (of.is_outside(), of.words(&str::to_owned))).collect()
    }

    /// At 3.6 times what is computed 389 mg/L are 1400: over 500 and under 5000, and 155 mg/L are 558.
    #[test]
    fn what_was_sampled_more_says_how_far_a_limit_must_be_to_be_kept() {
        let (stands, option) = (drawn(&[155.0], 500.0), drawn(&[389.0], 500.0));
        let told = words_of(&option, &stands, &band(1.0, 3.6));
        let words = "Solids (at most 500 mg/L) comes out at 389 mg/L; by what was sampled it may be up to 1400 mg/L";
        assert_eq!(told, [(false, words.to_owned())]);
        // Where nothing moves or nothing flows, and where samples are repeated, it is no worse.
        assert_eq!(words_of(&stands, &stands, &band(1.0, 3.6)), []);
        assert_eq!(words_of(&limit(Outcome::PredictedWithin, NOTHING_FLOWS), &stands, &band(1.0, 3.6)), []);
        assert_eq!(worse(from_ref(&option), from_ref(&stands), &[]), []);
        let far = [drawn(&[389.0], 5000.0), drawn(&[155.0], 5000.0)];
        assert_eq!(words_of(&far[0], &far[1], &band(1.0, 3.6)), []);
        assert_eq!(believed(&far[0], Some(&band(1.0, 3.6))), Some(Outcome::PredictedWithin));
        // Sampled where nothing is computed, no limit is far enough.
        let told = words_of(&far[0], &far[1], &band(1.0, f64::INFINITY));
        assert!(told[0].1.ends_with("something was sampled where nothing is computed"), "{told:?}");
    }

    /// At 0.54 times what is computed 462 mg/L are 249, and 1000 are 540.
    #[test]
    fn outside_is_told_only_where_it_is_so_at_the_least_that_was_sampled() {
        let stands = drawn(&[155.0], 400.0);
        let told = words_of(&drawn(&[462.0], 400.0), &stands, &band(0.54, 2.9));
        let words =
            "Solids (at most 500 mg/L) comes out at 462 mg/L; by what was sampled it may be as little as 250 mg/L";
        assert_eq!(told, [(false, words.to_owned())]);
        assert!(words_of(&drawn(&[1000.0], 400.0), &stands, &band(0.54, 2.9))[0].0);
        // One draw that may be kept is enough.
        assert!(!words_of(&drawn(&[1000.0, 700.0], 400.0), &stands, &band(0.54, 2.9))[0].0);
    }

    /// 90 % kept back let 10 % through; at 1.6 times that, 84 % are kept back: under 85 %.
    #[test]
    fn of_a_share_that_is_kept_back_what_comes_through_is_what_was_sampled() {
        let of = |kept: f64| {
            let past =
                Past { upper: None, lower: Some(85.0), is_removal: true, unit: "%".to_owned(), ..past(&[kept], 0.0) };
            Predicted { past: Some(past), ..limit(Outcome::PredictedWithin, &format!("{kept} %")) }
        };
        let told = words_of(&of(90.0), &of(95.0), &band(1.0, 1.6));
        assert!(told[0].1.ends_with("it may be as little as 84 %"), "{told:?}");
        assert_eq!(words_of(&of(92.0), &of(95.0), &band(1.0, 1.6)), []);
    }

    /// 31 mg/L sampled where 5 are computed: 260 may be 286, over 280 and under 300, and nothing is under the 31.
    #[test]
    fn what_was_sampled_far_below_the_figure_adds_to_it() {
        let band = Doubt { more: 26.0, floor: 31.0, ..band(1.0, 1.0) };
        let worse = |figure: f64, upper: f64| {
            worse(from_ref(&drawn(&[figure], upper)), from_ref(&drawn(&[figure / 2.0], upper)), from_ref(&band)).len()
        };
        assert_eq!((worse(260.0, 280.0), worse(260.0, 300.0)), (1, 0));
        assert_eq!((worse(4.0, 30.5), worse(4.0, 31.5)), (1, 0));
    }

    /// The site is within in the computation and its records are not: no option that stays as it is comes within by itself.
    #[test]
    fn what_the_records_have_exceeded_stands_behind_a_yes_until_it_is_shown_to_come_within() {
        let exceeded = ["Solids".to_owned()];
        let told = |with: &Predicted, was: &Predicted, doubts: &[Doubt]| {
            stands_behind(from_ref(with), from_ref(was), doubts, &exceeded)
        };
        let words = ["not shown to come within Solids, which the records have exceeded"];
        let site = drawn(&[9.0, 11.0], 10.0);
        assert_eq!(told(&site, &site, &[]), words);
        let too_low = Doubt { is_too_low: true, ..band(1.0, 1.0) };
        assert_eq!(told(&drawn(&[5.0], 10.0), &drawn(&[5.0], 10.0), &[too_low]), words);
        // Computed outside as the records have it, and within with the option: mended.
        assert!(told(&drawn(&[5.0], 10.0), &drawn(&[12.0], 10.0), &[]).is_empty());
        // Outside in every draw it is told in plain type.
        assert!(told(&drawn(&[12.0], 10.0), &drawn(&[12.0], 10.0), &[]).is_empty());
        assert!(stands_behind(from_ref(&site), from_ref(&site), &[], &[]).is_empty());
    }

    proptest! {
        /// A stricter limit, through and below what the records have, a figure nearer to it, and samples that are further off never
        /// give a kinder verdict.
        #[test]
        fn nothing_that_is_worse_is_kinder(
            site in 50.0_f64..500.0,
            figures in prop::collection::vec(1.0_f64..1.6, 1..30),
            times in prop_oneof![Just(1.0_f64), 1.05_f64..3.0, 0.3_f64..0.95],
            share in 0.0_f64..1.0,
            upper in 60.0_f64..3000.0,
            (low, high) in (0.2_f64..1.0, 1.0_f64..4.0),
            by in 1.0_f64..2.0,
        ) {
            // The highest that is on file lies in the band, which is made of what is on file.
            let recorded = site * (low + share * (high - low));
            // The site's draws spread as the option's do, which lies clearly nearer to its bound.
            let all = |times: f64| figures.iter().map(|of| of * site * times).collect::<Vec<f64>>();
            let kind = |times: f64, upper: f64, band: &Doubt| -> Answer {
                let (with, was) = (drawn(&all(times), upper), drawn(&all(1.0), upper));
                let is_over = recorded > upper;
                let band = &Doubt {
                    is_too_low: is_over && !outside(Some(&was)),
                    decides_nothing: !is_over && outside(Some(&was)),
                    is_exceeded: is_over,
                    ..band.clone()
                };
                let exceeded = if is_over { vec!["Solids".to_owned()] } else { Vec::new() };
                let (with, was) = (from_ref(&with), from_ref(&was));
                let found = worse(with, was, from_ref(band));
                let stays = !outside_of_both(with, was, from_ref(band)).is_empty();
                let behind = !stands_behind(with, was, from_ref(band), &exceeded).is_empty();
                Answer::by_limits(&found, stays, behind, &Verdict::Saves(1.0), true)
            };
            let of = band(low, high);
            let here = kind(times, upper, &of);
            prop_assert!(kind(times, upper / by, &of) <= here, "stricter");
            prop_assert!(kind(times * by, upper, &of) <= here, "nearer");
            // A wider band never makes anything firmer: a yes no yes, a no no no.
            let wider = kind(times, upper, &band(low / by, high * by));
            let open = Answer::NotDecided;
            let is_no_firmer = if here < open { here <= wider && wider <= open } else { open <= wider && wider <= here };
            prop_assert!(is_no_firmer, "{here:?} became {wider:?}");
        }
    }

    /// Winters computed at three times the samples, a summer at a third of them: neither yes nor no.
    #[test]
    fn what_the_report_has_the_other_way_decides_nothing() {
        let (stands, option) = (drawn(&[155.0], 5000.0), drawn(&[389.0], 5000.0));
        let exceeded = Doubt { is_too_low: true, ..band(1.0, 1.0) };
        assert_eq!(words_of(&option, &stands, &exceeded).len(), 1);
        assert_eq!(believed(&option, Some(&exceeded)), Some(Outcome::Undecided));
        let (stands, option) = (drawn(&[155.0], 100.0), drawn(&[389.0], 100.0));
        let kept = Doubt { decides_nothing: true, ..band(1.0, 1.0) };
        let told = words_of(&option, &stands, &kept);
        assert!(
            !told[0].0
                && told[0].1.contains("comes out at 389 mg/L, at 155 mg/L as it stands, but the records have it kept"),
            "{told:?}"
        );
        // Exceeded and computed outside agree.
        assert!(words_of(&option, &stands, &exceeded)[0].0);
    }

    /// One draw of 33 is outside, and none as it stands: no worse, and told.
    #[test]
    fn a_few_draws_outside_stand_behind_the_yes() {
        let draws = |last: f64| [vec![150.0; 32], vec![last]].concat();
        let (stands, option) = (drawn(&draws(150.0), 160.0), drawn(&draws(161.0), 160.0));
        let of = |doubts: &[Doubt]| nearly_kept(from_ref(&option), from_ref(&stands), doubts);
        assert_eq!(worse(from_ref(&option), from_ref(&stands), &[]), []);
        assert_eq!(of(&[]), ["outside of Solids in 3 % of the draws"]);
        assert_eq!(nearly_kept(from_ref(&stands), from_ref(&stands), &[]), Vec::<String>::new());
        // At the most that was sampled one draw of 33 more.
        let (stands, option) = (drawn(&draws(150.0), 180.0), drawn(&draws(170.0), 180.0));
        let told = nearly_kept(from_ref(&option), from_ref(&stands), &[band(1.0, 1.1)]);
        assert_eq!(told, ["outside of Solids, by what was sampled, in 3 % of the draws"]);
    }

    /// 440 gal a day more were metered in a summer month: 1440 are then 1880, over 1800, which 1310 as it stands are not.
    #[test]
    fn what_was_metered_more_in_a_month_speaks_of_a_days_water() {
        const GAL_A_M3: f64 = 1.0 / 0.003_785_411_784;
        let of = |worst: f64| Predicted {
            past: Some(Past { per_m3: Some(GAL_A_M3), ..past(&[worst], 1800.0) }),
            ..limit(Outcome::PredictedWithin, &format!("{worst} gal"))
        };
        let more = Doubt { more_m3: 440.0 / GAL_A_M3, ..band(1.0, 1.0) };
        let worse = |with: f64| worse(from_ref(&of(with)), from_ref(&of(1310.0)), from_ref(&more)).len();
        assert_eq!((worse(1440.0), worse(1350.0)), (1, 0));
    }

    #[test]
    fn who_is_outside_and_goes_further_is_worse() {
        let (stands, option) =
            (limit(Outcome::PredictedOutside, "620 mg/L"), limit(Outcome::PredictedOutside, "1860 mg/L"));
        let found = worse(from_ref(&option), from_ref(&stands), &[]);
        assert!(found[0].is_outside());
        assert_eq!(
            found[0].words(&str::to_owned),
            "further outside of Solids (at most 500 mg/L) at 1860 mg/L, 620 mg/L as it stands"
        );
        // Below a least bound further is less.
        let least = |outcome, figure: &str, worst| Predicted {
            past: Some(Past { upper: None, lower: Some(85.0), is_removal: true, ..past(&[worst], 0.0) }),
            ..limit(outcome, figure)
        };
        let (stands, option) =
            (least(Outcome::PredictedOutside, "80 %", 80.0), least(Outcome::PredictedOutside, "60 %", 60.0));
        assert_eq!(worse(from_ref(&option), from_ref(&stands), &[]).len(), 1);
        assert_eq!(worse(from_ref(&stands), from_ref(&option), &[]), []);
    }

    #[test]
    fn what_is_outside_as_before_is_no_worse_and_is_told() {
        let (stands, option) =
            (limit(Outcome::PredictedOutside, "620 mg/L"), limit(Outcome::PredictedOutside, "610 mg/L"));
        let of = |doubts: &[Doubt]| outside_of_both(from_ref(&option), from_ref(&stands), doubts).len();
        assert_eq!(worse(from_ref(&option), from_ref(&stands), &[]), []);
        // Outside at the least that was sampled too it is outside; where that would be kept, it is not told.
        assert_eq!((of(&[]), of(&[band(0.9, 4.0)]), of(&[band(0.5, 1.0)])), (1, 1, 0));
        // Then nobody knows; where the records have it exceeded, it is as the site is.
        let unknown = worse(from_ref(&option), from_ref(&stands), &[band(0.5, 1.0)]);
        assert!(unknown.len() == 1 && !unknown[0].is_outside(), "{unknown:?}");
        let exceeded = Doubt { is_exceeded: true, ..band(0.5, 1.0) };
        let as_it_is = |of: &Predicted| {
            let stays = outside_of_both(from_ref(of), from_ref(&stands), from_ref(&exceeded)).len();
            (stays, worse(from_ref(of), from_ref(&stands), from_ref(&exceeded)).len())
        };
        // 610 are clearly less than 620, and 618 are not.
        let hardly_less = limit(Outcome::PredictedOutside, "618 mg/L");
        assert_eq!((as_it_is(&option), as_it_is(&hardly_less)), ((0, 1), (1, 0)));
        let mended = limit(Outcome::PredictedWithin, "100 mg/L");
        assert!(outside_of_both(from_ref(&mended), from_ref(&stands), &[]).is_empty());
    }
}
