//! How an option's limits would come out: computed for every option, so never more than predicted.

use chrono::NaiveDate;

use crate::balance::{Basis, DailySeries, Run};
use crate::compare::doubts::{Doubt, believed, doubts};
use crate::compare::figures::plain;
use crate::compare::predicted::{Past, Predicted};
use crate::compare::runs::Shared;
use crate::compare::{Against, Alternative, Cell, Study};
use crate::rules;
use crate::rules::{Drawn, Finding, LimitPlan, Outcome, Subject};

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
    /// Whether it is predicted outside, the other is not or not so far, and that is believed.
    pub fn is_outside(&self) -> bool {
        (self.comes_out_outside() || self.goes_further()) && !self.doubt.as_ref().is_some_and(|of| of.decides_nothing)
    }

    fn goes_further(&self) -> bool {
        further_outside(&self.with, self.was.as_ref())
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
        believed(self.was.as_ref()?, self.doubt.as_ref())
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
            _ if self.goes_further() => {
                let was = self.was.as_ref().map_or("", |was| was.figure.as_str());
                format!("further outside of {name} ({bound}) at {figure}, {} as it stands", form(was))
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

fn outside(of: Option<&Predicted>) -> bool {
    of.is_some_and(|of| of.outcome == Some(Outcome::PredictedOutside))
}

fn further_outside(with: &Predicted, was: Option<&Predicted>) -> bool {
    outside(Some(with)) && outside(was) && was.is_some_and(|was| with.is_further_than(was))
}

fn oftener(with: &Predicted, was: Option<&Predicted>) -> bool {
    let was = was.and_then(|of| of.share_outside).unwrap_or(0.0);
    with.share_outside.is_some_and(|share| share - was > CLEARLY)
}

/// Limits by which an option comes out worse than another: it is predicted outside of one and the other is not or not so far, it is
/// outside in clearly more of the draws, or it comes out further where too little is computed to say that it is kept. Those that
/// are predicted outside come first.
pub fn worse(of: &[Predicted], than: &[Predicted], doubts: &[Doubt]) -> Vec<Worse> {
    let mut out: Vec<Worse> = of
        .iter()
        .filter_map(|with| {
            let was = than.iter().find(|other| other.name == with.name);
            let doubt = doubts.iter().find(|doubt| doubt.limit == with.name && doubt.speaks_of(with));
            let is_worse = outside(Some(with)) && !outside(was) || oftener(with, was) || further_outside(with, was);
            let is_told = with.outcome.is_some() && !outside(Some(with)) && with.figure != NOTHING_FLOWS;
            let moves = was.is_none_or(|was| with.is_further_than(was));
            let not_shown = is_told && moves && doubt.is_some_and(|doubt| doubt.says_too_low(with));
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
            let is_outside = |of: &Predicted| believed(of, doubt) == Some(Outcome::PredictedOutside);
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
                past: None,
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
                past: None,
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
        past: Some(Past {
            worst: at,
            per_m3: per_m3(plan, &series, at),
            upper: plan.limit.bound.upper().map(|(bound, _)| bound.to_f64()),
            lower: plan.limit.bound.lower().map(|(bound, _)| bound.to_f64()),
        }),
    })
}

/// The units of a limit on a day's water in a cubic metre, by the worst day's figure and the most that came on a day.
fn per_m3(plan: &LimitPlan, series: &[DailySeries], worst: f64) -> Option<f64> {
    if plan.limit.subject != Subject::Water || !plan.limit.statistic.is_of_single_days() {
        return None;
    }
    let on = |date: NaiveDate| series.iter().filter_map(|series| series.on(date)).map(|(m3, _)| m3).sum::<f64>();
    let most = plan.span.0.iter_days().take_while(|date| *date <= plan.span.1).map(on).fold(0.0, f64::max);
    (most > 0.0).then(|| worst / most)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::slice::from_ref;

    fn limit(outcome: Outcome, figure: &str) -> Predicted {
        Predicted {
            name: "Solids".to_owned(),
            bound: "at most 500 mg/L".to_owned(),
            outcome: Some(outcome),
            share_outside: Some(if outcome == Outcome::PredictedOutside { 1.0 } else { 0.0 }),
            figure: figure.to_owned(),
            past: figure.split(' ').next().and_then(|worst| worst.parse().ok()).map(|worst| Past {
                worst,
                upper: Some(500.0),
                lower: None,
                per_m3: None,
            }),
        }
    }

    fn doubt(decides_nothing: bool) -> Doubt {
        let why = "on 12 Aug 2014 510 mg/L sampled, 140 computed".to_owned();
        Doubt {
            limit: "Solids".to_owned(),
            why,
            decides_nothing,
            is_too_low: !decides_nothing,
            times: 510.0 / 140.0,
            more_m3: 0.0,
        }
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

    /// Winters computed at three times the samples, a summer at a third of them: the mean decides nothing, and the summer still shows no
    /// option to keep the limit.
    #[test]
    fn what_is_too_high_on_average_and_too_low_in_a_month_shows_nothing_to_be_kept() {
        let (stands, option) =
            (limit(Outcome::PredictedWithin, "155 mg/L"), limit(Outcome::PredictedWithin, "389 mg/L"));
        let both = Doubt { is_too_low: true, ..doubt(true) };
        let found = worse(from_ref(&option), from_ref(&stands), from_ref(&both));
        assert_eq!(found.iter().map(Worse::is_outside).collect::<Vec<_>>(), [false]);
    }

    /// By 1.7 times what is computed, 193 mg/L are 328: over 260, which 143 as it stands are not (243).
    #[test]
    fn what_is_missed_speaks_where_it_would_carry_a_figure_over() {
        let of = |figure: &str| Predicted {
            past: figure.split(' ').next().and_then(|of| of.parse().ok()).map(|worst| Past {
                worst,
                upper: Some(260.0),
                lower: None,
                per_m3: None,
            }),
            ..limit(Outcome::PredictedWithin, figure)
        };
        let missed = Doubt { decides_nothing: false, is_too_low: false, times: 1.7, ..doubt(false) };
        let (stands, option) = (of("143 mg/L"), of("193 mg/L"));
        let worse = |with: &Predicted, was: &Predicted| worse(from_ref(with), from_ref(was), from_ref(&missed)).len();
        assert_eq!((worse(&option, &stands), worse(&of("150 mg/L"), &stands), worse(&stands, &option)), (1, 0, 0));
        assert_eq!(believed(&option, Some(&missed)), Some(Outcome::Undecided));
        assert_eq!(believed(&stands, Some(&missed)), Some(Outcome::PredictedWithin));
    }

    /// 440 gal a day more were metered in a summer month: 1440 are then 1880, over 1800, which 1310 as it stands are not.
    #[test]
    fn what_was_metered_more_in_a_month_speaks_of_a_days_water() {
        const GAL_A_M3: f64 = 1.0 / 0.003_785_411_784;
        let of = |worst: f64| Predicted {
            past: Some(Past { worst, upper: Some(1800.0), lower: None, per_m3: Some(GAL_A_M3) }),
            ..limit(Outcome::PredictedWithin, &format!("{worst} gal"))
        };
        let more =
            Doubt { decides_nothing: false, is_too_low: false, times: 1.0, more_m3: 440.0 / GAL_A_M3, ..doubt(false) };
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
            past: Some(Past { worst, upper: None, lower: Some(85.0), per_m3: None }),
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
