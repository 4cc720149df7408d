//! What a comparison comes to, and what it asks for.

use crate::compare::quantity::Kind;

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
