//! The pond run otherwise: a lower fill, a faster drawdown, one that empties what is held too; each tried by a run.

use super::this::{Changes, Varied};
use super::*;
use crate::facility::model::UnitSystem;
use crate::files::Said;
use crate::sizing::site::{filled_to_m, typed_fill_m, with_fill};
use crate::sizing::{Drawdown, Figure, StormFrom};

/// A drawdown is tried as fast as so many times the rate that frees the storm's room in time.
const FASTEST: f64 = 10.0;
/// Between a rate that holds and one that does not, so many are tried side by side.
const RATES: u32 = 3;
/// A rate that holds and does not once what the site sends is worked out anew is raised by so many steps at the most.
const RATES_MORE: u32 = 8;
/// Beside a change of shape a drawdown is tried at so many times its rate.
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

/// Whether it is filled less high, and whether what is held is emptied too; the fewest changes first.
const WAYS: [(bool, bool); 4] = [(false, false), (true, false), (false, true), (true, true)];

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
    /// The drawdown at another rate.
    pub faster: Option<Rate>,
}

/// Another rate of a drawdown.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Rate {
    /// So many times what it is.
    Times(f64),
    /// m³/s.
    At(f64),
}

impl Operation {
    /// All that are tried beside a change of shape, those that change the least first.
    pub fn beside() -> Vec<Self> {
        let mut all: Vec<Self> = Vec::new();
        for (fill, empties) in WAYS {
            all.push(Self { fill, empties, faster: None });
            all.extend(FASTER_BESIDE.map(|times| Self { fill, empties, faster: Some(Rate::Times(times)) }));
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
    /// The unit of flows, m³/s.
    pub flow_m3_s: f64,
}

impl Typing {
    pub fn of(system: UnitSystem) -> Self {
        const FOOT_M: f64 = 0.3048;
        const GALLON_A_MINUTE: f64 = 0.003_785_411_784 / 60.0;
        match system {
            UnitSystem::Us => Self { short_m: 0.1 * FOOT_M, long_m: FOOT_M, flow_m3_s: GALLON_A_MINUTE },
            UnitSystem::Metric => Self { short_m: 0.05, long_m: 0.5, flow_m3_s: 1.0 / 3600.0 },
        }
    }
}

impl Typing {
    /// Flows are printed to a tenth of the unit under this many of it, and to whole ones above.
    const TENTHS_UNDER: u32 = 20;

    /// The so-many-th flow that can be printed, m³/s.
    pub(super) fn flow(&self, count: u32) -> f64 {
        let tenths = 10 * Self::TENTHS_UNDER;
        let units = match count {
            count if count <= tenths => 0.1 * f64::from(count),
            count => f64::from(Self::TENTHS_UNDER + count - tenths),
        };
        units * self.flow_m3_s
    }

    /// The least flow that can be printed and is no less than this.
    pub(super) fn flow_up(&self, m3_s: f64) -> u32 {
        let units = m3_s / self.flow_m3_s;
        let under = f64::from(Self::TENTHS_UNDER);
        let count = if units <= under { 10.0 * units } else { 9.0 * under + units };
        (count - 1e-9).ceil().max(1.0) as u32
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
            if let Some(faster) = operation.faster {
                let si = match faster {
                    Rate::Times(times) => typing.flow(typing.flow_up(rate * times)),
                    Rate::At(m3_s) => m3_s,
                };
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
        let mut all: Vec<(usize, bool, (bool, bool))> = Vec::new();
        for (fill, empties) in WAYS {
            for faster in [false, true] {
                all.push((usize::from(fill) + usize::from(empties) + usize::from(faster), faster, (fill, empties)));
            }
        }
        all.sort_by_key(|(count, ..)| *count);
        let mut found: Vec<(usize, Change)> = Vec::new();
        for (count, faster, way) in all.into_iter().filter(|(count, ..)| *count > 0) {
            // Fewer changes are enough.
            if found.iter().any(|(known, _)| *known < count) {
                continue;
            }
            let made = match faster {
                true => self.at_the_least_rate(way)?,
                false => self.made_so(Operation { fill: way.0, empties: way.1, faster: None })?,
            };
            found.extend(made.map(|change| (count, change)));
        }
        Ok(found.into_iter().map(|(_, change)| change).collect())
    }

    /// The pond run so, if it does every duty, also once what the site sends is worked out anew.
    fn made_so(&self, operation: Operation) -> Result<Option<Change>, Problems> {
        let version = Version::of(*self.basin);
        let Some((varied, mut parts)) = self.operated(self.runner.demands, version, operation) else { return Ok(None) };
        if parts.is_empty() || self.makes_it(&varied)?.is_none() {
            return Ok(None);
        }
        let Some(with) = self.verified(&varied)? else { return Ok(None) };
        let first = parts.remove(0);
        let change = Self::kept(first.what, Some((first.amount, with)));
        Ok(Some(Change { beside: parts, ..change }))
    }

    /// The same at the slowest drawdown that does it, of rates that can be printed; whatever rate is typed.
    fn at_the_least_rate(&self, (fill, empties): (bool, bool)) -> Result<Option<Change>, Problems> {
        let demands = self.runner.demands;
        let Some(drawdown) = demands.duties.storm.as_ref().and_then(|storm| storm.drawdown.as_ref()) else {
            return Ok(None);
        };
        let typing = Typing::of(self.runner.site.facility.system);
        let in_time = demands.stack(self.basin).storm_m3 / (drawdown.within_h * 3600.0);
        let at = |count: u32| Operation { fill, empties, faster: Some(Rate::At(typing.flow(count))) };
        let does = |count: u32| match self.operated(demands, Version::of(*self.basin), at(count)) {
            Some((varied, _)) => self.makes_it(&varied).map(|held| held.is_some()),
            None => Ok(false),
        };
        // No slower one frees the room in time.
        let (mut fails, mut holds) = (typing.flow_up(in_time).saturating_sub(1), typing.flow_up(FASTEST * in_time));
        if holds <= fails || !does(holds)? {
            return Ok(None);
        }
        while holds - fails > 1 {
            let apart = (holds - fails).div_ceil(RATES + 1);
            let counts: Vec<u32> = (1..).map(|k| fails + k * apart).take_while(|count| *count < holds).collect();
            let done: Vec<bool> = counts.par_iter().map(|count| does(*count)).collect::<Result<_, _>>()?;
            match done.iter().position(|done| *done) {
                Some(first) => {
                    holds = counts.get(first).copied().unwrap_or(holds);
                    fails = first.checked_sub(1).and_then(|before| counts.get(before)).copied().unwrap_or(fails);
                }
                None => fails = counts.last().copied().unwrap_or(fails),
            }
        }
        for count in holds..=holds + RATES_MORE {
            if let Some(change) = self.made_so(at(count))? {
                return Ok(Some(change));
            }
        }
        Ok(None)
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
        let found = demands(site, &varied.demands.duties, pond, base, self.timeline, &Problems::new(), Some(&[]))?;
        Ok(Demands { terms: varied.demands.terms, rate_m3_s: varied.demands.rate_m3_s, ..found.0 })
    }
}
