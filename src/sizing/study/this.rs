//! A pond that stands or is drawn, held against the duties, and the least of each change that would make it do them.

use super::answers::answer_of;
use super::*;
use crate::facility::model::PondShape;
use crate::files::Said;
use crate::sizing::site::shape_of;
use crate::sizing::{Drawdown, Figure, Lie, SpillwayDuty, StormFrom};

/// Sizes of a change that are tried side by side; between the last that fails and the first that does, as many again.
const TRIED: u32 = 16;
/// A bank is raised, and a floor lowered, by so much at the most, m.
const MOST_HIGHER_M: f64 = 3.2;
/// A crest is made wider by so many times its width at the most.
const MOST_WIDER: f64 = 4.0;
/// A pond is made longer by so much of its length at the most.
const MOST_LONGER: f64 = 1.6;
/// Hours in which a drawdown frees the storm's room, slow ones first.
const DRAWDOWN_H: [f64; 10] = [240.0, 168.0, 120.0, 96.0, 72.0, 48.0, 36.0, 24.0, 12.0, 6.0];

/// What is changed, and how much of it is needed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Amount {
    /// m.
    Length(f64),
    /// m³/s.
    Flow(f64),
    /// A share.
    Share(f64),
}

/// The least of one change with which every duty is done.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    /// `the bank and the spill level higher by`.
    pub what: &'static str,
    /// How much; none where no amount tried does it.
    pub amount: Option<Amount>,
    /// What is moved, m³, where earth is.
    pub earth_m3: Option<f64>,
    /// What that costs at the prices typed.
    pub cost: Option<f64>,
    /// The shape with it, where it changes.
    pub shape: Option<Basin>,
    /// The pond with it, held against every duty.
    pub with: Option<Held>,
}

/// Holds the pond of a site, as it stands or is drawn, against the duties.
///
/// # Errors
/// What is wrong in the files for this question, or makes a balance impossible.
pub fn study_this(site: Site, duties: Duties, progress: &dyn Fn(&str)) -> Result<Study, Problems> {
    let problems = Problems::new();
    let Some(grid) = Grid::of(&duties, false, &problems) else {
        return Err(problems);
    };
    let standing = pond_of(site.facility, site.pond).and_then(|pond| Some((pond, standing(pond, &duties)?)));
    let Some((pond, basin)) = standing else {
        let place = site.facility.get(site.pond).map_or(&site.facility.place, |place| &place.place);
        problems.add(
            Problem::error(
                place,
                "only a pond with a length, a width, a depth and a side slope can be held against duties",
            )
            .hint("write its `shape` with the length and width nearest to it"),
        );
        return Err(problems);
    };
    if let Some(ground) = duties.ground.as_ref().filter(|ground| ground.over_top_m(basin.freeboard_m) > 1e-9) {
        problems.add(
            Problem::error(&ground.place, "the ground would lie over this pond’s bank top, and run into it")
                .hint("its freeboard stands in the facility file; say the ground's level from the bank top"),
        );
        return Err(problems);
    }
    let timeline = records(site.facility, site.period);
    progress("running the site over the years of weather");
    let (demands, basics) = demands(site, &duties, pond, basin, &timeline, &problems)?;
    let uses = drawing_uses(site, &duties)?;
    let reference = with_basin(site.facility, site.pond, &demands, &Version::of(basin));
    let candidates = candidates(&reference, site.weather, &timeline, site.period)?;
    let runner =
        Runner { site, demands: &demands, candidates: &candidates, uses: &uses, unknown_days: basics.unknown_days };
    progress("trying what could be otherwise");
    let found = Found { basin, boxes: 0, simulated: 1, proved: true };
    let answer = answer_of(&runner, &grid, found, &basics, &timeline)?;
    let changes = if answer.checks.iter().all(does) {
        Vec::new()
    } else {
        progress("looking for what would make it do its duties");
        Changes { runner: &runner, basin: &basin, timeline: &timeline }.all(&answer)?
    };
    let outcome = Outcome::This(Box::new(answer), changes);
    let tried = tried(&runner, &grid, &outcome)?;
    Ok(Study { demands, basics, grid, outcome, tried })
}

/// The pond as it is described, with the bank of the plot.
fn standing(pond: &Pond, duties: &Duties) -> Option<Basin> {
    let PondShape::Prismoid { length, width, depth, side_slope } = &pond.shape else { return None };
    shape_of(pond)?;
    let middle = |ends: Option<(f64, f64)>| ends.map(|(low, high)| 0.5 * (low + high));
    let metres = |given: &crate::files::Given<Length>| middle(given.ends().map(|(a, b)| (a.value, b.value)));
    let freeboard = pond.freeboard_above_spill.as_ref().and_then(metres).unwrap_or(duties.freeboard.si);
    Some(Basin {
        length_m: metres(length)?,
        width_m: metres(width)?,
        depth_m: metres(depth)?,
        slope: middle(side_slope.ends().map(|(a, b)| (a.value, b.value)))?,
        freeboard_m: freeboard,
        bank_m: duties.plot.bank.as_ref().map_or(0.0, |figure| figure.si),
        lie: duties.ground.as_ref().map(|ground| ground.lie(freeboard)),
    })
}

/// Whether a duty is done as far as the years can show.
fn does(check: &Check) -> bool {
    matches!(check.comes, Comes::Done | Comes::TooFewYears)
}

struct Changes<'a> {
    runner: &'a Runner<'a>,
    basin: &'a Basin,
    timeline: &'a Timeline,
}

/// A change of one size: the duties' figures with it, and what is run.
type Varied = (Demands, Version);

impl Changes<'_> {
    fn all(&self, answer: &Answer) -> Result<Vec<Change>, Problems> {
        let basin = *self.basin;
        let raised = |h: f64| Basin {
            length_m: basin.length_m + 2.0 * basin.slope * h,
            width_m: basin.width_m + 2.0 * basin.slope * h,
            depth_m: basin.depth_m + h,
            lie: basin.lie.map(|lie| Lie { below_top_m: lie.below_top_m + h, ..lie }),
            ..basin
        };
        let deeper = |d: f64| Basin { depth_m: basin.depth_m + d, ..basin };
        let longer = |x: f64| Basin { length_m: basin.length_m + x, ..basin };
        let mut changes = vec![
            self.heaped(self.reshaped("bank and spill level higher by", MOST_HIGHER_M, &raised)?),
            self.reshaped("floor lower by", MOST_HIGHER_M, &deeper)?,
            self.reshaped("longer by", MOST_LONGER * basin.length_m, &longer)?,
        ];
        changes.extend(self.spillway(answer)?);
        changes.extend(self.drawdown()?);
        changes.extend(self.smaller_catchment()?);
        changes.extend(self.first_stage(answer)?);
        Ok(changes)
    }

    /// The pond with a change, if it then does every duty.
    fn makes_it(&self, (demands, version): &Varied) -> Result<Option<Held>, Problems> {
        let runner = Runner { demands, ..*self.runner };
        let run = runner.simulate(&[*version])?.into_iter().next().unwrap_or_default().0;
        Ok(Some(Held::of(demands, version.basin, run)).filter(Held::does_all))
    }

    /// The least size of a change, up to a most, that makes it: sixteen are tried, then sixteen between two.
    fn least(&self, most: f64, change: &dyn Fn(f64) -> Option<Varied>) -> Result<Option<(f64, Held)>, Problems> {
        let (mut from, mut to) = (0.0, most);
        let mut found = None;
        for _ in 0..2 {
            let sizes: Vec<f64> = (1..=TRIED).map(|k| from + (to - from) * f64::from(k) / f64::from(TRIED)).collect();
            let mut first = None;
            for (at, size) in sizes.iter().enumerate() {
                let Some(tried) = change(*size) else { break };
                if let Some(held) = self.makes_it(&tried)? {
                    let before = at.checked_sub(1).and_then(|at| sizes.get(at)).copied().unwrap_or(from);
                    first = Some((before, *size, held));
                    break;
                }
            }
            let Some((before, size, held)) = first else { break };
            found = Some((size, held));
            (from, to) = (before, size);
        }
        Ok(found)
    }

    fn reshaped(&self, what: &'static str, most: f64, shape: &dyn Fn(f64) -> Basin) -> Result<Change, Problems> {
        let demands = self.runner.demands;
        let change = |size: f64| {
            let basin = shape(size);
            basin.shape().is_some().then(|| (demands.clone(), Version::of(basin)))
        };
        let (size, with) = self.least(most, &change)?.unzip();
        let made = size.map(shape);
        Ok(Change {
            what,
            amount: size.map(Amount::Length),
            earth_m3: made.map(|made| {
                let (cut_m3, fill_m3) = demands.moved_between_m3(self.basin, &made);
                cut_m3 + fill_m3
            }),
            cost: made.and_then(|made| demands.cost_between(self.basin, &made)),
            shape: made,
            with,
        })
    }

    /// A higher bank over the same spill level, a wider crest or a lower one; none where the spillway keeps what is asked.
    fn spillway(&self, answer: &Answer) -> Result<Vec<Change>, Problems> {
        let demands = self.runner.demands;
        let fails = answer.checks.iter().any(|check| check.duty == Duty::Spillway && !does(check));
        let Some(duty) = demands.duties.spillway.as_ref().filter(|_| fails) else { return Ok(Vec::new()) };
        let basin = *self.basin;
        let bank = |h: f64| Basin {
            freeboard_m: basin.freeboard_m + h,
            lie: basin.lie.map(|lie| Lie { below_top_m: lie.below_top_m + h, ..lie }),
            ..basin
        };
        let mut changes = vec![self.heaped(self.reshaped("bank alone higher by", MOST_HIGHER_M, &bank)?)];
        let with = |spillway: SpillwayDuty| {
            let mut demands = demands.clone();
            demands.duties.spillway = Some(spillway);
            Some((demands, Version::of(basin)))
        };
        let of = |si: f64, figure: &Figure| Figure { si, ..figure.clone() };
        let wider = |more: f64| with(SpillwayDuty { wide: of(duty.wide.si + more, &duty.wide), ..duty.clone() });
        let lower = |less: f64| with(SpillwayDuty { crest: of(duty.crest.si - less, &duty.crest), ..duty.clone() });
        let found = self.least(MOST_WIDER * duty.wide.si, &wider)?;
        changes.push(Self::kept("emergency spillway wider by", found.map(|(m, held)| (Amount::Length(m), held))));
        let found = self.least(duty.crest.si, &lower)?;
        changes.push(Self::kept(
            "crest of the emergency spillway lower by",
            found.map(|(m, held)| (Amount::Length(m), held)),
        ));
        Ok(changes)
    }

    /// On a bank that is raised, earth is heaped and not dug. Where the ground is known the fill is worked out already.
    fn heaped(&self, change: Change) -> Change {
        let basin = self.basin;
        let (None, Some(Amount::Length(h))) = (basin.lie, change.amount) else { return change };
        let (length, width) = basin.crest_m();
        let heaped = 2.0 * (length + width) * h * (basin.bank_m + basin.slope * h);
        let cost = self.runner.demands.duties.prices.as_ref().map(|prices| {
            let lined = change.shape.map_or(0.0, |shape| shape.lined_m2() - basin.lined_m2());
            prices.dug * heaped + prices.lined * lined
        });
        Change { earth_m3: Some(heaped), cost, ..change }
    }

    /// A change that leaves the shape as it is.
    fn kept(what: &'static str, found: Option<(Amount, Held)>) -> Change {
        let (amount, with) = found.unzip();
        Change { what, amount, earth_m3: None, cost: None, shape: None, with }
    }

    /// A pump or an outlet that frees the storm's room; none where no storm is asked for, or nowhere is there to lead it to.
    fn drawdown(&self) -> Result<Option<Change>, Problems> {
        let demands = self.runner.demands;
        let facility = self.runner.site.facility;
        let pond = pond_of(facility, self.runner.site.pond);
        let to = pond.and_then(|pond| pond.spills_to.as_ref()).and_then(|out| out.targets().first().copied());
        let Some((storm, to)) = demands.duties.storm.as_ref().zip(to.and_then(|to| facility.get(to))) else {
            return Ok(None);
        };
        if storm.drawdown.is_some() || pond.is_some_and(|pond| pond.pumped_out.is_some()) {
            return Ok(None);
        }
        let mut found = None;
        // A way that is not there yet is compiled anew, once.
        let mut compiled: Option<Candidates<'_>> = None;
        for within_h in DRAWDOWN_H {
            let mut storm = storm.clone();
            storm.drawdown = Some(Drawdown {
                by: "pump",
                within_h,
                text: format!("{within_h} h"),
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
            let mut tried = demands.clone();
            tried.duties.storm = Some(storm);
            let tried = (tried, Version::of(*self.basin));
            let candidates = match compiled.take() {
                Some(known) => known,
                None => {
                    let site = self.runner.site;
                    let reference = with_basin(site.facility, site.pond, &tried.0, &tried.1);
                    candidates(&reference, site.weather, self.timeline, site.period)?
                }
            };
            let with_pump = Changes { runner: &Runner { candidates: &candidates, ..*self.runner }, ..*self };
            let with = with_pump.makes_it(&tried)?;
            compiled = Some(candidates);
            if let Some(with) = with {
                found = tried.0.drawdown_m3_s(self.basin).map(|rate| (rate, with));
                break;
            }
        }
        // From a level of its own, the pump works as far as that; the run's own levels have none.
        let what = match storm.from {
            StormFrom::Run => "a pump or outlet that draws down before storms, of",
            _ => "a pump or outlet that keeps the level, of",
        };
        Ok(Some(Self::kept(what, found.map(|(rate, with)| (Amount::Flow(rate), with)))))
    }

    /// Less ground that drains to it.
    fn smaller_catchment(&self) -> Result<Option<Change>, Problems> {
        let demands = self.runner.demands;
        if demands.needs.storm_runoff_m3 <= 0.0 && demands.needs.first_rain_runoff_m3 <= 0.0 && !demands.needs_weather()
        {
            return Ok(None);
        }
        let change = |less: f64| {
            let times = 1.0 - less;
            let mut demands = demands.clone();
            demands.needs.storm_runoff_m3 *= times;
            demands.needs.first_rain_runoff_m3 *= times;
            demands.needs.drained_m2 *= times;
            Some((demands, Version { catchment_times: times, ..Version::of(*self.basin) }))
        };
        let found = self.least(0.96, &change)?.map(|(share, with)| (Amount::Share(share), with));
        Ok(Some(Self::kept("less ground that drains to it, by", found)))
    }

    /// A stage before it that keeps solids back; none where nothing turns on solids.
    fn first_stage(&self, answer: &Answer) -> Result<Option<Change>, Problems> {
        let turns = |check: &Check| {
            matches!(check.duty, Duty::Settle | Duty::CleanOut | Duty::Pool | Duty::ForebayCleanOut) && !does(check)
        };
        if !answer.checks.iter().any(turns) {
            return Ok(None);
        }
        let demands = self.runner.demands;
        let change = |share: f64| {
            let mut demands = demands.clone();
            for bin in &mut demands.needs.sludge.bins {
                bin.kg_a_year.iter_mut().for_each(|kg| *kg *= 1.0 - share);
            }
            // What the stage lets by is to settle here as far as the whole asks.
            if let Some(settle) = &mut demands.duties.settle {
                settle.share.si = (1.0 - (1.0 - settle.share.si) / (1.0 - share)).max(0.0);
            }
            Some((demands, Version::of(*self.basin)))
        };
        let found = self.least(0.96, &change)?.map(|(share, with)| (Amount::Share(share), with));
        Ok(Some(Self::kept("a first stage before it that stops, of the solids and of the particle,", found)))
    }
}
