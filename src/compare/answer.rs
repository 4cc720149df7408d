//! Whether an option is an answer: a yes, a no, or what lies between, in one word for all pages.

use crate::compare::verdict::Verdict;
use crate::compare::worse::{Worse, stays_outside_words};
use crate::compare::{Predicted, Study};
use crate::rules::Outcome;

/// What is said of an option that saves and stays outside of a limit in every draw.
pub const PAYS_ONLY: &str = "pays, but does not comply";

/// What an option is as an answer, the unkindest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Answer {
    /// No: it breaks a limit that the site as it stands keeps or is nearer to, serves the uses otherwise, costs more or gains nothing.
    No,
    /// It is outside of a limit in every draw, about as far as the site as it stands or less far; whether it pays.
    DoesNotComply(bool),
    /// What is known does not decide it.
    NotDecided,
    /// Yes, with something behind it.
    YesIf,
    /// Yes.
    Yes,
}

impl Answer {
    /// What a limit has to say before money is asked: a no, or what stays outside.
    pub(super) fn by_limits(worse: &[Worse], stays: bool, behind: bool, money: &Verdict, serves: bool) -> Self {
        if worse.iter().any(Worse::is_outside) || !serves {
            return Self::No;
        }
        match money {
            Verdict::Same | Verdict::Hardly(_) | Verdict::Costs(_) => Self::No,
            _ if stays => Self::DoesNotComply(matches!(money, Verdict::Saves(_))),
            Verdict::Saves(_) if worse.is_empty() => {
                if behind {
                    Self::YesIf
                } else {
                    Self::Yes
                }
            }
            _ => Self::NotDecided,
        }
    }
}

impl Study {
    /// What the comparison of an option with another comes to: what breaks a limit is never worth its money.
    pub fn verdict(&self, option: usize, than: usize) -> Verdict {
        // What is the same is so whatever is known of it.
        if than == 0 && self.changes_nothing(option) {
            return Verdict::Same;
        }
        let money = self.verdict_in_money(option, than);
        let worse = self.worse_limits(option, than);
        if worse.is_empty() { money } else { Verdict::Worse(worse, Box::new(money)) }
    }

    /// What an option is as an answer against the site as it stands.
    pub fn answer(&self, option: usize) -> Answer {
        let verdict = self.verdict(option, 0);
        let behind = !self.nearly_kept(option, 0).is_empty() || self.takes_for_granted(option).is_some();
        let stays = !self.stays_outside(option, 0).is_empty();
        Answer::by_limits(verdict.worse(), stays, behind, verdict.in_money(), self.not_served(option).is_empty())
    }

    /// Why the uses are served otherwise with an option than as the site stands; empty where alike.
    pub fn not_served(&self, option: usize) -> Vec<&str> {
        let of = self.service.iter().filter(|of| of.option == option);
        of.flat_map(|of| &of.differences).map(String::as_str).collect()
    }

    /// `stays outside of Sewer flow (at most 2 m3: 7.4 m3), as the site is by its records`, the figures in a form; none where it stays
    /// outside of nothing.
    pub fn stays_words(&self, option: usize, than: usize, form: &dyn Fn(&Predicted) -> String) -> Option<String> {
        let limits = self.stays_outside(option, than);
        let is_on_record = |of: &&Predicted| than == 0 && self.on_file.exceeded.contains(&of.name);
        let (recorded, computed): (Vec<_>, Vec<_>) = limits.into_iter().partition(is_on_record);
        let was = |of: &Predicted| self.options.get(than)?.limits.iter().find(|was| was.name == of.name);
        let is_outside_too =
            |of: &&Predicted| was(of).is_some_and(|was| was.outcome == Some(Outcome::PredictedOutside));
        let (both, alone): (Vec<_>, Vec<_>) = computed.into_iter().partition(is_outside_too);
        let names = |of: &[&Predicted]| of.iter().map(|of| form(of)).collect::<Vec<_>>();
        let other = if than == 0 { "the site" } else { "that" };
        let mut told: Vec<String> = Vec::new();
        if !recorded.is_empty() {
            told.push(stays_outside_words(&names(&recorded)));
        }
        if !both.is_empty() {
            told.push(format!("stays outside of {}, as {other} is", names(&both).join(" and of ")));
        }
        told.extend(alone.into_iter().map(|of| {
            let figure = was(of).map_or("", |was| was.figure.as_str());
            format!("comes out just outside of {}, about as far as {other} at {figure}", form(of))
        }));
        (!told.is_empty()).then(|| told.join(", and "))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_pays_and_does_not_comply_is_less_than_not_decided_and_more_than_no() {
        let kindness = [Answer::No, Answer::DoesNotComply(false), Answer::DoesNotComply(true), Answer::NotDecided];
        assert!(kindness.is_sorted() && Answer::NotDecided < Answer::YesIf && Answer::YesIf < Answer::Yes);
        let of = |stays, money: &Verdict| Answer::by_limits(&[], stays, true, money, true);
        assert_eq!(of(true, &Verdict::Saves(1.0)), Answer::DoesNotComply(true));
        assert_eq!(of(true, &Verdict::Open(0.5)), Answer::DoesNotComply(false));
        assert_eq!(of(true, &Verdict::Costs(0.0)), Answer::No);
        assert_eq!(of(false, &Verdict::Saves(1.0)), Answer::YesIf);
        assert_eq!(Answer::by_limits(&[], true, false, &Verdict::Saves(1.0), false), Answer::No);
    }
}
