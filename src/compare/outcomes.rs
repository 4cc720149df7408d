//! How an option's limits would come out: computed for every option, so never more than predicted.

use chrono::{Datelike, NaiveDate};

use crate::balance::{Basis, DailySeries, Run};
use crate::compare::figures::plain;
use crate::compare::runs::Shared;
use crate::compare::{Against, Alternative, Cell, Computed, Measure, Study};
use crate::facility::model::Facility;
use crate::rules;
use crate::rules::{Drawn, Finding, Limit, LimitPlan, Outcome, Subject};

/// A limit's prediction.
#[derive(Debug, Clone, PartialEq)]
pub struct Predicted {
    /// Its name.
    pub name: String,
    /// Its bound as printed.
    pub bound: String,
    /// Predicted within, predicted outside or undecided; none where nothing is computed for it.
    pub outcome: Option<Outcome>,
    /// The share of draws outside.
    pub share_outside: Option<f64>,
    /// The worst figure with its range, in the limit's unit; why there is none, where nothing is computed.
    pub figure: String,
}

/// By how much larger a share of the draws an option is outside of a limit for it to be worse by it (common practice, no source).
const CLEARLY: f64 = 0.05;

/// What is said where no water comes to a limit's point in any run.
const NOTHING_FLOWS: &str = "nothing flows";

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
    /// Whether it is predicted outside, the other is not, and that is believed.
    pub fn is_outside(&self) -> bool {
        self.comes_out_outside() && !self.doubt.as_ref().is_some_and(|of| of.decides_nothing)
    }

    fn comes_out_outside(&self) -> bool {
        self.with.outcome == Some(Outcome::PredictedOutside) && !outside(self.was.as_ref())
    }

    /// The share of the other's draws outside.
    pub fn was_outside(&self) -> Option<f64> {
        self.was.as_ref()?.share_outside
    }

    /// How the other comes out, as far as it is believed.
    pub fn was_outcome(&self) -> Option<Outcome> {
        believed(self.was.as_ref()?.outcome?, self.doubt.as_ref())
    }

    /// In words, its figures in a form: `predicted outside of Sewer solids, day (at most 900 mg/L: 4560 mg/L), undecided as it stands`.
    pub fn words(&self, form: &dyn Fn(&str) -> String) -> String {
        let name = &self.with.name;
        let (bound, figure) = (form(&self.with.bound), form(&self.with.figure));
        let share = |share: Option<f64>| match share.unwrap_or(0.0) {
            none if none <= 0.0 => "none".to_owned(),
            all if all >= 1.0 => "all".to_owned(),
            some => format!("{} %", plain((100.0 * some).clamp(1.0, 99.0), 0)),
        };
        match &self.doubt {
            Some(doubt) if doubt.decides_nothing => {
                let was = self.was.as_ref().filter(|was| was.outcome.is_some());
                let was = was.map_or_else(|| "not computed".to_owned(), |was| format!("at {}", form(&was.figure)));
                format!("{name} ({bound}) comes out at {figure}, {was} as it stands, but {}", doubt.why)
            }
            _ if self.comes_out_outside() => {
                let was = self.was_outcome().map_or("not computed", Outcome::words);
                format!("predicted outside of {name} ({bound}: {figure}), {was} as it stands")
            }
            _ if oftener(&self.with, self.was.as_ref()) => format!(
                "outside of {name} in {} of the draws, in {} as it stands",
                share(self.with.share_outside),
                share(self.was_outside())
            ),
            Some(doubt) => format!("{name} ({bound}) comes out at {figure}, but {}", doubt.why),
            None => name.clone(),
        }
    }
}

/// Why the computation is not believed about a limit.
#[derive(Debug, Clone, PartialEq)]
pub struct Doubt {
    /// The limit.
    pub limit: String,
    /// Why, in words.
    pub why: String,
    /// Whether it decides nothing either way; else only that a limit is kept is not believed.
    pub decides_nothing: bool,
    /// Whether samples are over double what is computed: then nothing says that an option which changes it keeps the limit.
    pub is_too_low: bool,
}

/// What is left of a limit's outcome where the computation is doubted.
pub fn believed(outcome: Outcome, doubt: Option<&Doubt>) -> Option<Outcome> {
    Some(match (outcome, doubt) {
        (Outcome::PredictedWithin, Some(_)) => Outcome::Undecided,
        (Outcome::PredictedOutside, Some(doubt)) if doubt.decides_nothing => Outcome::Undecided,
        (outcome, _) => outcome,
    })
}

/// Which of the site's limits the computation is not believed about: what a limit rests on is far off the log at its point on
/// average, the inspection report (limits by name) has it the other way, or the samples of some month, or the highest of all,
/// are over double what is computed.
pub fn doubts(stands: &Computed, log: &[Against], recorded: &[(String, Outcome)]) -> Vec<Doubt> {
    let limits = stands.alternative.rules.iter().flat_map(|rules| &rules.limits);
    let of = |limit: &Limit| {
        let here: Vec<&Against> = at_its_point(&stands.alternative.facility, limit, log).collect();
        let low = here.iter().filter(|of| of.measure == Measure::Solids).find_map(|of| too_low(of));
        let off = here.iter().find_map(|of| far_off(of)).or_else(|| the_other_way(stands, recorded, &limit.name));
        let (decides_nothing, is_too_low) = (off.is_some(), low.is_some());
        Some(Doubt { limit: limit.name.clone(), why: off.or(low)?, decides_nothing, is_too_low })
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

fn far_off(of: &Against) -> Option<String> {
    let times = of.times().filter(|_| of.is_far_off())?;
    let word = if times < 1.0 { "low" } else { "high" };
    Some(format!("{} are computed {} % too {word}", of.what, plain(100.0 * (times - 1.0).abs(), 0)))
}

fn the_other_way(stands: &Computed, recorded: &[(String, Outcome)], name: &str) -> Option<String> {
    let here = stands.limits.iter().find(|limit| limit.name == name)?.outcome?;
    let report = recorded.iter().find(|(known, _)| known == name)?.1;
    let kept = is_kept(here)?;
    (kept != is_kept(report)?).then(|| {
        format!(
            "the inspection report, which follows meters and logs, has it {}, and the computation without them {}",
            report.words(),
            if kept { "within" } else { "outside" }
        )
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

/// Where less than half of what was sampled is computed: of the highest sample, or else of a month's mean.
fn too_low(of: &Against) -> Option<String> {
    let (highest, ..) = of.pairs.iter().copied().map(|pair| (pair, pair.1)).max_by(|a, b| a.1.total_cmp(&b.1))?;
    let told = |when: String, logged: f64, computed: f64| {
        let mg_l = |value: f64| plain(1000.0 * value, 0);
        format!("{when} {} mg/L sampled, {} computed", mg_l(logged), mg_l(computed))
    };
    let is_low = |logged: f64, computed: f64| computed < 0.5 * logged;
    if is_low(highest.1, highest.2) {
        return Some(told(format!("on {}", highest.0.format("%-d %b %Y")), highest.1, highest.2));
    }
    let mut months: Vec<(NaiveDate, f64, f64, f64)> = Vec::new();
    for (day, logged, computed) in &of.pairs {
        match months.iter_mut().find(|of| (of.0.year(), of.0.month()) == (day.year(), day.month())) {
            Some((_, n, l, c)) => (*n, *l, *c) = (*n + 1.0, *l + logged, *c + computed),
            None => months.push((*day, 1.0, *logged, *computed)),
        }
    }
    let low = months.into_iter().filter(|(_, _, logged, computed)| is_low(*logged, *computed));
    // The one in which most is missing.
    let worst = low.max_by(|a, b| ((a.2 - a.3) / a.1).total_cmp(&((b.2 - b.3) / b.1)));
    worst.map(|(day, n, logged, computed)| told(format!("in {}", day.format("%b %Y")), logged / n, computed / n))
}

fn outside(of: Option<&Predicted>) -> bool {
    of.is_some_and(|of| of.outcome == Some(Outcome::PredictedOutside))
}

fn oftener(with: &Predicted, was: Option<&Predicted>) -> bool {
    let was = was.and_then(|of| of.share_outside).unwrap_or(0.0);
    with.share_outside.is_some_and(|share| share - was > CLEARLY)
}

/// Limits by which an option comes out worse than another: it is predicted outside of one and the other is not, it is outside in
/// clearly more of the draws, or it comes out otherwise where too little is computed to say that it is kept. Those that are
/// predicted outside come first.
pub fn worse(of: &[Predicted], than: &[Predicted], doubts: &[Doubt]) -> Vec<Worse> {
    let mut out: Vec<Worse> = of
        .iter()
        .filter_map(|with| {
            let was = than.iter().find(|other| other.name == with.name);
            let doubt = doubts.iter().find(|doubt| doubt.limit == with.name);
            let is_worse = outside(Some(with)) && !outside(was) || oftener(with, was);
            let is_told = with.outcome.is_some() && !outside(Some(with)) && with.figure != NOTHING_FLOWS;
            let moves = was.is_none_or(|was| was.figure != with.figure || was.share_outside != with.share_outside);
            let not_shown = is_told && moves && doubt.is_some_and(|doubt| doubt.is_too_low);
            (is_worse || not_shown).then(|| Worse { with: with.clone(), was: was.cloned(), doubt: doubt.cloned() })
        })
        .collect();
    out.sort_by_key(|of| !of.is_outside());
    out
}

/// Limits that an option is predicted outside of as the other is, where that is believed: no worse, and not mended.
pub fn outside_of_both<'a>(of: &'a [Predicted], than: &[Predicted], doubts: &[Doubt]) -> Vec<&'a Predicted> {
    of.iter()
        .filter(|with| {
            let doubt = doubts.iter().find(|doubt| doubt.limit == with.name);
            let is_outside = |of: &Predicted| {
                of.outcome.and_then(|outcome| believed(outcome, doubt)) == Some(Outcome::PredictedOutside)
            };
            is_outside(with) && than.iter().any(|was| was.name == with.name && is_outside(was))
        })
        .collect()
}

impl Study {
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

    /// Why the computation is not believed about a limit.
    pub fn doubt(&self, limit: &str) -> Option<&Doubt> {
        self.doubts.iter().find(|doubt| doubt.limit == limit)
    }

    /// Holds the study against the log, and against how the inspection report has each limit.
    pub fn doubted_by(&mut self, log: &[Against], recorded: &[(String, Outcome)]) {
        self.doubts = self.options.first().map_or_else(Vec::new, |stands| doubts(stands, log, recorded));
    }
}

/// Predicts every limit of an option from its single run and the first members.
pub(crate) fn predicted(
    of: &Alternative,
    run: &Run,
    shared: &Shared<'_>,
    plans: &[LimitPlan],
    drawn: &[Vec<Drawn>],
) -> Vec<Predicted> {
    let Some(rules) = &of.rules else {
        return Vec::new();
    };
    let of_plan = |plan: &LimitPlan| -> Vec<Drawn> {
        match plans.iter().position(|known| known.index == plan.index) {
            Some(at) => drawn.iter().filter_map(|of| of.get(at).cloned()).collect(),
            None => Vec::new(),
        }
    };
    // A rate at a moment is judged by what is typed of pumps: the rules know how.
    let findings: Vec<Finding> = rules::judge(&rules::Case {
        facility: &of.facility,
        rules,
        timeline: shared.timeline,
        weather: Some(shared.weather),
        ledger: Some(&run.ledger),
        period: shared.period,
        as_of: shared.period.1,
        predict: &of_plan,
    });
    rules
        .limits
        .iter()
        .enumerate()
        .map(|(index, limit)| {
            let nothing = |why: &str| Predicted {
                name: limit.name.clone(),
                bound: limit.bound.text.clone(),
                outcome: None,
                share_outside: None,
                figure: why.to_owned(),
            };
            if let Some(plan) = plans.iter().find(|plan| plan.index == index) {
                return from_plan(plan, run, &of_plan(plan)).unwrap_or_else(nothing);
            }
            let id = format!("limit / {}", limit.name);
            match findings.iter().find(|finding| finding.id == id) {
                Some(finding)
                    if matches!(
                        finding.outcome,
                        Outcome::PredictedWithin | Outcome::PredictedOutside | Outcome::Undecided
                    ) =>
                {
                    Predicted {
                        outcome: Some(finding.outcome),
                        share_outside: finding.share_outside,
                        ..nothing(finding.figure.as_ref().map_or("", |figure| &figure.text))
                    }
                }
                _ => nothing("the ledger does not follow it"),
            }
        })
        .collect()
}

fn from_plan(plan: &LimitPlan, run: &Run, drawn: &[Drawn]) -> Result<Predicted, &'static str> {
    let series: Vec<DailySeries> = plan.series(&run.ledger);
    let unknown = series.iter().any(|series| {
        series.basis.iter().enumerate().any(|(day, basis)| {
            let date = series.date(day);
            plan.span.0 <= date && date <= plan.span.1 && basis.has(Basis::UNKNOWN)
        })
    });
    if unknown {
        return Err("it rests on something that is not known");
    }
    let middle = plan.drawn(&series);
    let is_days = plan.limit.subject == Subject::Discharge;
    let worst = Cell {
        values: middle.worst.into_iter().chain(drawn.iter().filter_map(|of| of.worst)).collect(),
        ..Cell::default()
    };
    let outside: Vec<Option<bool>> =
        if drawn.is_empty() { vec![middle.outside] } else { drawn.iter().map(|of| of.outside).collect() };
    let over = outside.iter().filter(|of| **of == Some(true)).count();
    let share = over as f64 / outside.len().max(1) as f64;
    let outcome = if drawn.is_empty() {
        // One run alone decides nothing.
        Outcome::Undecided
    } else if outside.iter().all(|of| *of == Some(false)) {
        Outcome::PredictedWithin
    } else if over == outside.len() {
        Outcome::PredictedOutside
    } else {
        Outcome::Undecided
    };
    if worst.values.is_empty() {
        // Nothing flowed in any run: nothing could be over.
        return match outcome {
            Outcome::PredictedWithin => Ok(Predicted {
                name: plan.limit.name.clone(),
                bound: plan.limit.bound.text.clone(),
                outcome: Some(outcome),
                share_outside: Some(0.0),
                figure: NOTHING_FLOWS.to_owned(),
            }),
            _ => Err("nothing flows in the computation"),
        };
    }
    let low = worst.values.iter().copied().fold(f64::INFINITY, f64::min);
    let high = worst.values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let at = worst.values.first().copied().unwrap_or(0.0);
    let digits = if is_days || high.abs() >= 100.0 {
        0
    } else if high.abs() >= 10.0 {
        1
    } else {
        2
    };
    let round = |value: f64| -> String {
        let step = if value.abs() >= 1000.0 { 10_f64.powf(value.abs().log10().floor() - 2.0) } else { 1.0 };
        if digits == 0 { plain((value / step).round() * step, 0) } else { plain(value, digits) }
    };
    let (low, middle, high) = (round(low), round(at), round(high));
    let unit = match (is_days, middle.as_str()) {
        (true, "1") => "day",
        (true, _) => "days",
        (false, _) => plan.limit.bound.unit_text.as_str(),
    };
    let figure = if low == high { format!("{middle} {unit}") } else { format!("{middle} {unit} ({low} to {high})") };
    Ok(Predicted {
        name: plan.limit.name.clone(),
        bound: plan.limit.bound.text.clone(),
        outcome: Some(outcome),
        share_outside: Some(share),
        figure: figure.trim().to_owned(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::facility::model::PlaceId;
    use std::slice::from_ref;

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

    fn limit(outcome: Outcome, figure: &str) -> Predicted {
        Predicted {
            name: "Solids".to_owned(),
            bound: "at most 500 mg/L".to_owned(),
            outcome: Some(outcome),
            share_outside: Some(if outcome == Outcome::PredictedOutside { 1.0 } else { 0.0 }),
            figure: figure.to_owned(),
        }
    }

    fn doubt(decides_nothing: bool) -> Doubt {
        let why = "on 12 Aug 2014 510 mg/L sampled, 140 computed".to_owned();
        Doubt { limit: "Solids".to_owned(), why, decides_nothing, is_too_low: !decides_nothing }
    }

    #[test]
    fn a_summer_computed_too_low_shows_though_the_mean_passes() {
        // Winter too high, summer too low: 580 sampled and 390 computed in all, which is not under half.
        let of = samples(&[(1, 12, 70.0, 250.0), (8, 12, 510.0, 140.0)]);
        assert!(!of.is_far_off());
        assert_eq!(too_low(&of).unwrap(), "on 12 Aug 2014 510 mg/L sampled, 140 computed");
    }

    #[test]
    fn a_month_computed_too_low_shows_beside_a_highest_sample_that_is_not() {
        let of = samples(&[(1, 12, 500.0, 400.0), (8, 2, 200.0, 90.0), (8, 12, 300.0, 140.0)]);
        assert_eq!(too_low(&of).unwrap(), "in Aug 2014 250 mg/L sampled, 115 computed");
        // One sample of the month is under half, all of the month are just half and are not under it.
        assert_eq!(too_low(&samples(&[(1, 12, 500.0, 400.0), (8, 2, 200.0, 90.0), (8, 12, 300.0, 160.0)])), None);
        // Over double is no bar.
        assert_eq!(too_low(&samples(&[(1, 12, 70.0, 250.0)])), None);
    }

    #[test]
    fn what_is_computed_too_low_shows_no_option_to_keep_a_limit() {
        let (stands, option) =
            (limit(Outcome::PredictedWithin, "155 mg/L"), limit(Outcome::PredictedWithin, "389 mg/L"));
        let of = |with: &Predicted, doubts: &[Doubt]| worse(from_ref(with), from_ref(&stands), doubts);
        let found = of(&option, &[doubt(false)]);
        let [one] = found.as_slice() else { panic!("{found:?}") };
        assert!(!one.is_outside());
        assert_eq!(
            one.words(&str::to_owned),
            "Solids (at most 500 mg/L) comes out at 389 mg/L, but on 12 Aug 2014 510 mg/L sampled, 140 computed"
        );
        // Where nothing moves or nothing flows, and where samples are repeated, it is no worse.
        assert_eq!(of(&stands, &[doubt(false)]), []);
        assert_eq!(of(&limit(Outcome::PredictedWithin, NOTHING_FLOWS), &[doubt(false)]), []);
        assert_eq!(of(&option, &[]), []);
    }

    #[test]
    fn what_is_outside_as_before_is_no_worse_and_is_told() {
        let (stands, option) =
            (limit(Outcome::PredictedOutside, "620 mg/L"), limit(Outcome::PredictedOutside, "610 mg/L"));
        let of = |doubts: &[Doubt]| outside_of_both(from_ref(&option), from_ref(&stands), doubts).len();
        assert_eq!(worse(from_ref(&option), from_ref(&stands), &[]), []);
        // Computed too low and outside all the same is outside; computed off the log decides nothing.
        assert_eq!((of(&[]), of(&[doubt(false)]), of(&[doubt(true)])), (1, 1, 0));
        let mended = limit(Outcome::PredictedWithin, "100 mg/L");
        assert!(outside_of_both(from_ref(&mended), from_ref(&stands), &[]).is_empty());
    }

    #[test]
    fn outside_although_computed_too_low_is_outside_and_computed_off_the_log_is_not() {
        let (stands, option) =
            (limit(Outcome::PredictedWithin, "155 mg/L"), limit(Outcome::PredictedOutside, "620 mg/L"));
        let of = |doubt: Doubt| worse(from_ref(&option), from_ref(&stands), &[doubt]).remove(0);
        assert!(of(doubt(false)).is_outside());
        let words = of(doubt(false)).words(&str::to_owned);
        assert_eq!(words, "predicted outside of Solids (at most 500 mg/L: 620 mg/L), undecided as it stands");
        assert!(!of(doubt(true)).is_outside());
        let words = of(doubt(true)).words(&str::to_owned);
        assert!(
            words.starts_with("Solids (at most 500 mg/L) comes out at 620 mg/L, at 155 mg/L as it stands, but on"),
            "{words}"
        );
    }
}
