//! Whether an option is an answer: a yes, a no, or what lies between, in one word for all pages.

use crate::compare::verdict::Verdict;
use crate::compare::worse::{Worse, stays_outside_words};
use crate::compare::{Predicted, Study};

/// What is said of an option that saves and stays outside of a limit in every draw.
pub const PAYS_ONLY: &str = "pays, but does not comply";

/// What an option is as an answer, the unkindest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Answer {
    /// No: it breaks a limit that the site as it stands keeps or is nearer to, serves the uses otherwise, costs more or gains nothing.
    No,
    /// It stays outside of a limit in every draw, as the site as it stands is; whether it pays.
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
            Verdict::Same | Verdict::Hardly(_) | Verdict::Costs(_) if worse.is_empty() || stays => Self::No,
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
        let names = |of: &[&Predicted]| of.iter().map(|of| form(of)).collect::<Vec<_>>();
        let computed_words = |names: &[String]| {
            let other = if than == 0 { "the site" } else { "that" };
            format!("stays outside of {}, as {other} is", names.join(" and of "))
        };
        let told: Vec<String> = [
            (!recorded.is_empty()).then(|| stays_outside_words(&names(&recorded))),
            (!computed.is_empty()).then(|| computed_words(&names(&computed))),
        ]
        .into_iter()
        .flatten()
        .collect();
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
