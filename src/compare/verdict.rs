//! What a comparison comes to, and what it asks for.

use crate::compare::figures::Cell;
use crate::compare::quantity::Kind;
use crate::compare::study::{AGREED, HARDLY, Study};
use crate::compare::worse::Worse;

/// What a comparison comes to.
#[derive(Debug, Clone, PartialEq)]
pub enum Verdict {
    /// There is none: why.
    None(Vec<String>),
    /// It costs the same in every draw.
    Same,
    /// Its money differs by less than [`crate::compare::HARDLY`] of what the site costs anyhow, in nearly every draw; the share in which it
    /// saves.
    Hardly(f64),
    /// It saves money in nearly every draw; the share.
    Saves(f64),
    /// It costs more in nearly every draw; the share in which it saves.
    Costs(f64),
    /// The ranges do not decide; the share in which it saves.
    Open(f64),
    /// It comes out worse by limits, whatever it costs: which, and what it comes to in money.
    Worse(Vec<Worse>, Box<Verdict>),
}

impl Verdict {
    /// What it comes to in money alone.
    pub fn in_money(&self) -> &Self {
        match self {
            Self::Worse(_, money) => money,
            other => other,
        }
    }

    /// The limits by which it comes out worse.
    pub fn worse(&self) -> &[Worse] {
        match self {
            Self::Worse(limits, _) => limits,
            _ => &[],
        }
    }
}

/// Kinds of figures that a verdict asks for.
pub const COMPARED: [Kind; 15] = [
    Kind::CameIn,
    Kind::WentOut,
    Kind::Fuller,
    Kind::SolidsIn,
    Kind::SolidsOut,
    Kind::SolidsHeld,
    Kind::Washes,
    Kind::WashWater,
    Kind::Changes,
    Kind::UsedUp,
    Kind::WetWaste,
    Kind::Sludge,
    Kind::Labour,
    Kind::Downtime,
    Kind::Energy,
];

impl Study {
    /// What the money comes to, if the period, the draws, the log and the service bear a verdict.
    pub(super) fn verdict_in_money(&self, option: usize, than: usize) -> Verdict {
        // What gives less is told before what is only not known.
        let served = || self.service.iter().filter(|of| of.option == option || (of.option == than && than != 0));
        let mut why: Vec<String> = served().flat_map(|of| of.differences.iter().cloned()).collect();
        if self.tuned().is_none() {
            why.push("no proposal says `tuned: yes`, so the existing site was not compared at its best".to_owned());
        }
        for kind in COMPARED {
            for reason in self.more(option, than, kind).missing {
                if !why.contains(&reason) {
                    why.push(reason);
                }
            }
        }
        let money = self.present_more(option, than);
        why.extend(self.too_little(&money));
        for reason in &money.missing {
            if !why.contains(reason) {
                why.push(reason.clone());
            }
        }
        why.extend(self.weak_washes(option, than));
        if !money.is_nought() {
            why.extend(self.off_the_log(option, than));
        }
        if than == 0 && why.is_empty() {
            why.extend(self.turned_by_samples(option));
        }
        let found = self.by_sum(&money, than);
        // Nothing that could be found out of the service makes a yes of what costs more.
        let not_known: Vec<String> = served().flat_map(|of| of.unknown.iter().cloned()).collect();
        if why.is_empty() && (not_known.is_empty() || matches!(found, Verdict::Costs(_))) {
            return found;
        }
        Verdict::None([not_known, why].concat())
    }

    /// What a sum comes to by itself.
    fn by_sum(&self, money: &Cell, than: usize) -> Verdict {
        if money.is_nought() {
            return Verdict::Same;
        }
        let share = money.share_below_nought().unwrap_or(0.0);
        let anyhow = self.known_present(than).spread().map_or(0.0, |of| of.median.abs());
        let is_small = money.spread().is_some_and(|of| of.low.abs().max(of.high.abs()) < HARDLY * anyhow);
        if is_small {
            Verdict::Hardly(share)
        } else if share >= AGREED {
            Verdict::Saves(share)
        } else if share <= 1.0 - AGREED {
            Verdict::Costs(share)
        } else {
            Verdict::Open(share)
        }
    }
}
