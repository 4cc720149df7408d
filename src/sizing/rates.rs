//! The rate of a drawdown that nobody typed: no slower than frees the storm's room in time, and as much faster as it takes
//! for a shape to do its duties.
//!
//! Tied to the storm's volume alone, the rate would fall with an easier storm or a longer time, and a pond that a real
//! wet spell keeps full would lack its room for longer: an easier duty would ask for a larger pond, or for one that no plot
//! has. So rates are steps that hang on nothing but themselves, of which a shape may have each that is fast enough.

use super::{Basin, Demands, Duty, Simulated};
use crate::sizing::Comes;

/// Steps of rates to each tenfold: the series R40 of preferred numbers (ISO 3).
const STEPS: f64 = 40.0;
/// No rate is tried that would empty the pond sooner than this, s, unless the room is to be free sooner (common practice, no
/// source).
const EMPTIES_S: f64 = 86_400.0;

/// The so-many-th step, m³/s.
pub(super) fn step_m3_s(step: i32) -> f64 {
    10f64.powf(f64::from(step) / STEPS)
}

/// The least step that is no slower than a rate; none for no rate.
fn step_of(m3_s: f64) -> Option<i32> {
    (m3_s > 0.0 && m3_s.is_finite()).then(|| (m3_s.log10() * STEPS - 1e-9).ceil() as i32)
}

/// What a run at one rate lacks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Wants {
    /// Room, which a faster drawdown frees sooner.
    pub faster: bool,
    /// Water to use, of which a slower one leaves more.
    pub slower: bool,
}

impl Wants {
    /// Whether it lacks nothing that turns on the rate.
    pub fn nothing(self) -> bool {
        !self.faster && !self.slower
    }
}

impl Demands {
    /// The rate that just frees the storm's room in time, m³/s.
    pub fn in_time_m3_s(&self, basin: &Basin) -> Option<f64> {
        let drawdown = self.duties.storm.as_ref()?.drawdown.as_ref()?;
        Some(self.stack(basin).storm_m3 / (drawdown.within_h * 3600.0))
    }

    /// Rate at which water is let out before a storm, m³/s: as typed; else the one chosen, or where none is, the least step
    /// that frees the storm's room in time.
    pub fn drawdown_m3_s(&self, basin: &Basin) -> Option<f64> {
        let in_time = self.in_time_m3_s(basin)?;
        let typed = self.duties.storm.as_ref()?.drawdown.as_ref()?.rate.as_ref().map(|rate| rate.si);
        Some(typed.unwrap_or_else(|| {
            let least = step_of(in_time).map_or(0.0, step_m3_s);
            self.rate_m3_s.map_or(least, |chosen| chosen.max(least))
        }))
    }

    /// First and last step among which the rate of a shape may be chosen; none where it is typed or chosen already.
    pub(super) fn rate_steps(&self, basin: &Basin) -> Option<(i32, i32)> {
        let drawdown = self.duties.storm.as_ref()?.drawdown.as_ref()?;
        if drawdown.rate.is_some() || self.rate_m3_s.is_some() {
            return None;
        }
        let from = step_of(self.in_time_m3_s(basin)?)?;
        let to = step_of(basin.capacity_m3() / EMPTIES_S).map_or(from, |step| step.max(from));
        Some((from, to))
    }

    /// What a run of a shape lacks that turns on the rate: for duties that a shape is refused for, or `kept`, for all.
    pub(super) fn wants(&self, run: &Simulated, kept: bool) -> Wants {
        let fails = |comes: Comes| comes == Comes::NotDone || kept && comes == Comes::NotKept;
        let mut wants = Wants { faster: (kept || self.terms.keeps) && self.hold_is_taken(run), slower: false };
        for check in self.over_years(run).iter().filter(|check| fails(check.comes)) {
            match check.duty {
                Duty::Shortage => wants.slower = true,
                _ => wants.faster = true,
            }
        }
        wants
    }
}
