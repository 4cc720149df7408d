//! The pond run otherwise: a lower fill, a faster drawdown, one that empties what is held too; each tried by a run.

use super::this::{Changes, Varied};
use super::*;
use crate::facility::model::UnitSystem;
use crate::files::Said;
use crate::sizing::site::{filled_to_m, typed_fill_m, with_fill};
use crate::sizing::{Drawdown, Figure, StormFrom};

/// A drawdown is tried at so many times its rate, slow ones first.
const FASTER: [f64; 10] = [1.1, 1.2, 1.35, 1.5, 1.75, 2.0, 2.5, 3.0, 4.0, 6.0];
/// The same beside a change of shape.
const FASTER_BESIDE: [f64; 2] = [1.5, 3.0];

/// Hours in which a drawdown that is not there yet frees the storm's room, slow ones first, and what is typed for it.
const WITHIN: [(f64, &str); 10] = [
    (240.0, "within: 240 h"),
    (168.0, "within: 168 h"),
    (120.0, "within: 120 h"),
    (96.0, "within: 96 h"),
    (72.0, "within: 72 h"),
    (48.0, "within: 48 h"),
    (36.0, "within: 36 h"),
    (24.0, "within: 24 h"),
    (12.0, "within: 12 h"),
    (6.0, "within: 6 h"),
];

/// A part of a change.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Part {
    /// `the drawdown’s `rate:` at`.
    pub what: &'static str,
    /// How much.
    pub amount: Amount,
}

/// How a pond is run otherwise.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct Operation {
    /// Filled on purpose no higher than the foot of what is held.
    pub fill: bool,
    /// The drawdown goes on to that foot.
    pub empties: bool,
    /// The drawdown at so many times its rate.
    pub faster: Option<f64>,
}

impl Operation {
    /// All there are, those that change the least first.
    pub fn all(beside: bool) -> Vec<Self> {
        let faster = if beside { FASTER_BESIDE.as_slice() } else { FASTER.as_slice() };
        let mut all: Vec<Self> = Vec::new();
        for (fill, empties) in [(false, false), (true, false), (false, true), (true, true)] {
            all.push(Self { fill, empties, faster: None });
            all.extend(faster.iter().map(|times| Self { fill, empties, faster: Some(*times) }));
        }
        all.sort_by_key(|one| one.count());
        all
    }

    /// How many things it changes.
    pub fn count(&self) -> usize {
        usize::from(self.fill) + usize::from(self.empties) + usize::from(self.faster.is_some())
    }
}

/// Steps in which a reader would type a figure, in SI.
#[derive(Debug, Clone, Copy)]
pub(super) struct Typing {
    /// Levels and short lengths, m.
    pub short_m: f64,
    /// Lengths of a pond, m.
    pub long_m: f64,
    /// Flows, m³/s.
    pub flow_m3_s: f64,
}

impl Typing {
    pub fn of(system: UnitSystem) -> Self {
        const FOOT_M: f64 = 0.3048;
        const GALLON_A_MINUTE: f64 = 0.003_785_411_784 / 60.0;
        match system {
            UnitSystem::Us => Self { short_m: 0.1 * FOOT_M, long_m: FOOT_M, flow_m3_s: GALLON_A_MINUTE },
            UnitSystem::Metric => Self { short_m: 0.05, long_m: 0.5, flow_m3_s: 0.5 / 3600.0 },
        }
    }
}

/// The next whole step up.
pub(super) fn up(value: f64, step: f64) -> f64 {
    (value / step - 1e-9).ceil() * step
}

impl Changes<'_> {
    /// A shape run otherwise, with what is typed for it; none where there is nothing to change so.
    pub(super) fn operated(
        &self,
        demands: &Demands,
        version: Version,
        operation: Operation,
    ) -> Option<(Varied, Vec<Part>)> {
        let site = &self.runner.site;
        let typing = Typing::of(site.facility.system);
        let basin = &version.basin;
        let mut varied = demands.clone();
        let mut parts = Vec::new();
        if operation.empties || operation.faster.is_some() {
            let holds = varied.duties.hold.is_some();
            let rate = varied.drawdown_m3_s(basin)?;
            let drawdown = varied.duties.storm.as_mut()?.drawdown.as_mut()?;
            if let Some(times) = operation.faster {
                let si = up(rate * times, typing.flow_m3_s);
                let place = drawdown.place.clone();
                drawdown.rate = Some(Figure { si, text: String::new(), place });
                parts.push(Part { what: "the drawdown’s `rate:` at", amount: Amount::Flow(si) });
            }
            if operation.empties {
                if drawdown.empties_hold || !holds {
                    return None;
                }
                drawdown.empties_hold = true;
                let amount = Amount::Typed("down to: the foot of what is held");
                parts.push(Part { what: "the drawdown typed", amount });
            }
        }
        let mut fill_m = None;
        if operation.fill {
            let foot_m = varied.duties.hold.as_ref().map(|_| varied.hold_foot_m(basin))?;
            let now_m = filled_to_m(site.facility, site.pond, &varied, basin)?;
            if now_m <= foot_m {
                return None;
            }
            let typed = typed_fill_m(site.facility, site.pond, &varied, basin, foot_m)?;
            let typed = (typed / typing.short_m + 1e-9).floor() * typing.short_m;
            fill_m = (typed > 0.0).then_some(typed);
            parts.push(Part { what: "filled up to", amount: Amount::Level(fill_m?) });
        }
        Some((Varied { demands: varied, version, fill_m }, parts))
    }

    /// What the pond does when it is run otherwise, the fewest things at a time that make it do every duty.
    pub(super) fn operations(&self) -> Result<Vec<Change>, Problems> {
        let mut found: Vec<(Operation, Change)> = Vec::new();
        for operation in Operation::all(false).into_iter().filter(|one| one.count() > 0) {
            // A slower drawdown that does is enough, and so are fewer changes.
            let enough = |known: &Operation| {
                let same = (known.fill, known.empties) == (operation.fill, operation.empties);
                known.count() < operation.count() || (same && known.faster.is_some())
            };
            if found.iter().any(|(known, _)| enough(known)) {
                continue;
            }
            let version = Version::of(*self.basin);
            let Some((varied, mut parts)) = self.operated(self.runner.demands, version, operation) else { continue };
            if self.makes_it(&varied)?.is_none() {
                continue;
            }
            let (Some(with), false) = (self.verified(&varied)?, parts.is_empty()) else { continue };
            let first = parts.remove(0);
            let change = Self::kept(first.what, Some((first.amount, with)));
            found.push((operation, Change { beside: parts, ..change }));
        }
        Ok(found.into_iter().map(|(_, change)| change).collect())
    }

    /// A pump or an outlet that frees the storm's room, where none is typed: by itself, on to the foot of what is held, and
    /// with a lower fill, whichever needs the fewest things. None where no storm is asked for, or there is nowhere to lead
    /// its water to.
    pub(super) fn drawdown(&self) -> Result<Option<Change>, Problems> {
        let (demands, site) = (self.runner.demands, self.runner.site);
        let pond = pond_of(site.facility, site.pond);
        let to = pond.and_then(|pond| pond.spills_to.as_ref()).and_then(|out| out.targets().first().copied());
        let Some((storm, to)) = demands.duties.storm.as_ref().zip(to.and_then(|to| site.facility.get(to))) else {
            return Ok(None);
        };
        if storm.drawdown.is_some() || pond.is_some_and(|pond| pond.pumped_out.is_some()) {
            return Ok(None);
        }
        // From a level of its own, the pump works as far as that; the run's own levels have none.
        let what = match storm.from {
            StormFrom::Run => "a pump or outlet that draws down before storms, of",
            _ => "a pump or outlet that keeps the level, of",
        };
        let with_drawdown = |(within_h, text): (f64, &str)| {
            let mut demands = demands.clone();
            let mut storm = storm.clone();
            storm.drawdown = Some(Drawdown {
                by: "pump",
                within_h,
                text: text.trim_start_matches("within: ").to_owned(),
                to: Said {
                    value: to.name.clone(),
                    text: to.name.clone(),
                    place: storm.place.clone(),
                    key: String::new(),
                },
                rate: None,
                empties_hold: false,
                place: storm.place.clone(),
            });
            demands.duties.storm = Some(storm);
            demands
        };
        // The run's ways are fixed when it is compiled, and this one is not among them yet: compiled anew, once.
        let version = Version::of(*self.basin);
        let reference = with_basin(site.facility, site.pond, &with_drawdown(WITHIN[0]), &version);
        let compiled = candidates(&reference, site.weather, self.timeline, site.period)?;
        let with_pump = Changes { runner: &Runner { candidates: &compiled, known: None, ..*self.runner }, ..*self };
        for (fill, empties) in [(false, false), (false, true), (true, false), (true, true)] {
            for within in WITHIN {
                let demands = with_drawdown(within);
                let operation = Operation { fill, empties, faster: None };
                let Some((varied, mut beside)) = with_pump.operated(&demands, version, operation) else { break };
                if with_pump.makes_it(&varied)?.is_none() {
                    continue;
                }
                let Some(with) = with_pump.verified(&varied)? else { continue };
                let rate = varied.demands.drawdown_m3_s(self.basin).unwrap_or_default();
                beside.insert(0, Part { what: "the drawdown typed", amount: Amount::Typed(within.1) });
                let change = Self::kept(what, Some((Amount::Flow(rate), with)));
                return Ok(Some(Change { beside, ..change }));
            }
        }
        Ok(Some(Self::kept(what, None)))
    }

    /// The facility with what a change types into it.
    pub(super) fn facility_of(&self, varied: &Varied) -> Option<Facility> {
        let site = &self.runner.site;
        varied.fill_m.map(|m| with_fill(site.facility, site.pond, m))
    }

    /// The pond with a change, if it does every duty with all that the site sends worked out anew, as it would be if the
    /// change were typed.
    pub(super) fn verified(&self, varied: &Varied) -> Result<Option<Held>, Problems> {
        let anew = self.anew(varied)?;
        self.makes_it(&Varied { demands: anew, ..varied.clone() })
    }

    /// What the site sends to a change, worked out anew.
    pub(super) fn anew(&self, varied: &Varied) -> Result<Demands, Problems> {
        let facility = self.facility_of(varied);
        let facility = facility.as_ref().unwrap_or(self.runner.site.facility);
        let site = Site { facility, ..self.runner.site };
        let Some(pond) = pond_of(facility, site.pond) else { return Ok(varied.demands.clone()) };
        let base = if varied.demands.terms.stands { varied.version.basin } else { self.base };
        let found = demands(site, &varied.demands.duties, pond, base, self.timeline, &Problems::new())?;
        Ok(Demands { terms: varied.demands.terms, ..found.0 })
    }
}
