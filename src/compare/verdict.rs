//! What a comparison comes to, and what it asks for.

use crate::compare::quantity::Kind;
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
