//! A pond that stands or is drawn, held against the duties, and the least of each change that would make it do them.

use super::answers::answer_of;
use super::operated::{Operation, Part, Typing, up};
use super::*;
use crate::facility::model::PondShape;
use crate::sizing::site::shape_of;
use crate::sizing::{Figure, Lie, SpillwayDuty};

/// Sizes of a change that are tried side by side; between the last that fails and the first that does, as many again.
const TRIED: u32 = 16;
/// A bank is raised, and a floor lowered, by so much at the most, m.
const MOST_HIGHER_M: f64 = 3.2;
/// A crest is made wider by so many times its width at the most.
const MOST_WIDER: f64 = 4.0;
/// A pond is made longer by so much of its length at the most.
const MOST_LONGER: f64 = 1.6;
/// Shares are tried in steps of one per cent.
const SHARE_STEP: f64 = 0.01;

/// What is changed, and how much of it is needed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Amount {
    /// m.
    Length(f64),
    /// m³/s.
    Flow(f64),
    /// A share.
    Share(f64),
    /// A level to type, m above the floor of the pond as it is described.
    Level(f64),
    /// What is typed.
    Typed(&'static str),
}

/// The least of one change with which every duty is done.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    /// `the bank and the spill level higher by`.
    pub what: &'static str,
    /// How much; none where no amount tried does it.
    pub amount: Option<Amount>,
    /// What is changed beside it.
    pub beside: Vec<Part>,
    /// What is moved, m³, where earth is.
    pub earth_m3: Option<f64>,
    /// What that costs at the prices typed.
    pub cost: Option<f64>,
    /// The shape with it, where it changes.
    pub shape: Option<Basin>,
    /// The pond with it, held against every duty.
    pub with: Option<Held>,
}

/// The pond that stands, beside the least one.
#[derive(Debug, Clone, PartialEq)]
pub struct Standing {
    /// Each duty as it comes out with it, with the drawdown that is asked for.
    pub checks: Vec<Check>,
    /// What the years do to it as it is run now: at its own levels, without a drawdown that it does not have.
    pub now: Simulated,
    /// Ways to run it with which it does every duty; none looked for where its shape alone fails one.
    pub cures: Option<Vec<Change>>,
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
    let (mut demands, basics) = demands(site, &duties, pond, basin, &timeline, &problems, None)?;
    demands.terms.stands = true;
    let uses = drawing_uses(site, &duties)?;
    let reference = with_basin(site.facility, site.pond, &demands, &Version::of(basin));
    let candidates = candidates(&reference, site.weather, &timeline, site.period)?;
    let unknown_days = basics.unknown_days;
    let runner = Runner {
        site,
        demands: &demands,
        candidates: &candidates,
        uses: &uses,
        unknown_days,
        refused: &[],
        known: None,
    };
    let paced = Demands { rate_m3_s: runner.suited(&basin)?.0, ..demands.clone() };
    let runner = Runner { demands: &paced, ..runner };
    progress("trying what could be otherwise");
    let found = Found { basin, boxes: 0, simulated: 1, proved: true };
    let answer = answer_of(&runner, &grid, found, &basics, &timeline)?;
    let changes = if answer.checks.iter().all(does) {
        Vec::new()
    } else {
        progress("looking for what would make it do its duties");
        Changes { runner: &runner, basin: &basin, base: basin, timeline: &timeline }.all(&answer)?
    };
    let outcome = Outcome::This(Box::new(answer), changes);
    let tried = tried((&runner, &runner), &grid, &outcome)?;
    Ok(Study { demands: paced, basics, grid, outcome, tried, standing: None })
}

/// The pond that stands, held against the duties and as it is run now; none where its shape or its ground is not one that can be held.
pub(super) fn standing_checks(
    site: Site,
    duties: &Duties,
    pond: &Pond,
    timeline: &Timeline,
    uses: &[PlaceId],
) -> Result<Option<Standing>, Problems> {
    let buried = |basin: &Basin| duties.ground.as_ref().is_some_and(|of| of.over_top_m(basin.freeboard_m) > 1e-9);
    let Some(basin) = standing(pond, duties).filter(|basin| !buried(basin)) else { return Ok(None) };
    let (mut demands, basics) = demands(site, duties, pond, basin, timeline, &Problems::new(), Some(&[]))?;
    demands.terms.stands = true;
    let reference = with_basin(site.facility, site.pond, &demands, &Version::of(basin));
    let candidates = candidates(&reference, site.weather, timeline, site.period)?;
    let runner = Runner {
        site,
        demands: &demands,
        candidates: &candidates,
        uses,
        unknown_days: basics.unknown_days,
        refused: &[],
        known: None,
    };
    let Some(paced) = runner.best_paced(&[basin])?.pop() else { return Ok(None) };
    let checks = demands.checks(&basin, &paced.run);
    let at_rate = Demands { rate_m3_s: paced.rate_m3_s, ..demands.clone() };
    // A faster drawdown is one of the ways; all else that needs no years turns on the shape.
    let by_shape = |check: &Check| check.duty != Duty::Drawdown && !check.is_met();
    let cures = if checks.iter().all(does) || demands.fixed(&basin).iter().any(by_shape) {
        None
    } else {
        let runner = Runner { demands: &at_rate, ..runner };
        let changes = Changes { runner: &runner, basin: &basin, base: basin, timeline };
        let mut cures = changes.operations()?;
        cures.extend(changes.drawdown()?.filter(|change| change.amount.is_some()));
        Some(cures)
    };
    let mut now = demands.clone();
    if let Some(storm) = &mut now.duties.storm {
        storm.drawdown = None;
    }
    let version = Version::of(basin);
    // Ways of the site are fixed when it is compiled, and the drawdown's is not among these.
    let reference = with_basin(site.facility, site.pond, &now, &version);
    let compiled = super::candidates(&reference, site.weather, timeline, site.period)?;
    let runs = Runner { demands: &now, candidates: &compiled, ..runner }.simulate(&[version])?;
    let now = runs.into_iter().next().unwrap_or_default().0;
    Ok(Some(Standing { checks, now, cures }))
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

/// A bank that is raised with the spill level.
const RAISED: &str = "bank and spill level higher by";

/// A way of changing a shape, with the most of it and its steps.
struct Reshaping<'a> {
    what: &'static str,
    most: f64,
    step: f64,
    shape: &'a (dyn Fn(f64) -> Basin + Sync),
}

/// Looks for what would make a pond do its duties.
pub(super) struct Changes<'a> {
    pub runner: &'a Runner<'a>,
    pub basin: &'a Basin,
    /// The shape with which what the site sends is worked out, where the pond does not stand.
    pub base: Basin,
    pub timeline: &'a Timeline,
}

/// A change of one size: the duties' figures with it, what is run, and a level up to which it is filled that is typed.
#[derive(Clone)]
pub(super) struct Varied {
    pub demands: Demands,
    pub version: Version,
    pub fill_m: Option<f64>,
}

impl Varied {
    fn of(demands: Demands, version: Version) -> Self {
        Self { demands, version, fill_m: None }
    }
}

/// A change of a size, of demands as they are worked out.
type OfSize<'a> = &'a (dyn Fn(&Demands, f64) -> Option<Varied> + Sync);

/// What a site sends is worked out anew for a change so often, until it does its duties with it.
const ANEW: usize = 4;

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
        let typing = Typing::of(self.runner.site.facility.system);
        let ways = [
            Reshaping { what: RAISED, most: MOST_HIGHER_M, step: typing.short_m, shape: &raised },
            Reshaping { what: "floor lower by", most: MOST_HIGHER_M, step: typing.short_m, shape: &deeper },
            Reshaping { what: "longer by", most: MOST_LONGER * basin.length_m, step: typing.long_m, shape: &longer },
        ];
        let mut changes = Vec::new();
        for way in &ways {
            let change = self.reshaped(way.what, way.most, way.step, way.shape)?;
            changes.push(if way.what == RAISED { self.heaped(change) } else { change });
        }
        changes.extend(self.operations()?);
        changes.extend(self.spillway(answer)?);
        changes.extend(self.drawdown()?);
        changes.extend(self.smaller_catchment()?);
        changes.extend(self.first_stage(answer)?);
        if changes.iter().all(|change| change.amount.is_none()) {
            changes.extend(self.together(answer, &ways)?);
        }
        Ok(changes)
    }

    /// Whether a shape goes on the plot as typed, or is no larger than the pond that stands.
    fn is_on_plot(&self, basin: &Basin) -> bool {
        let plot = &self.runner.demands.duties.plot;
        let ((long, wide), (longest, widest)) = (basin.over_banks_m(), self.basin.over_banks_m());
        let fits = |is: f64, typed: f64, stands: f64| is <= typed.max(stands) * (1.0 + 1e-9);
        fits(long, plot.longest.si, longest)
            && fits(wide, plot.widest.si, widest)
            && fits(basin.depth_m, plot.deepest.si, self.basin.depth_m)
            && basin.floor_m() >= plot.floor.as_ref().map_or(0.0, |least| least.si).min(self.basin.floor_m()) - 1e-9
    }

    /// The pond with a change, if it then does every duty.
    pub(super) fn makes_it(&self, varied: &Varied) -> Result<Option<Held>, Problems> {
        let (demands, basin) = (&varied.demands, &varied.version.basin);
        if !self.is_on_plot(basin) {
            return Ok(None);
        }
        // The spillway's freeboard counts here as well.
        if !demands.fixed(basin).iter().all(Check::is_met) {
            return Ok(None);
        }
        let facility = self.facility_of(varied);
        let site = Site { facility: facility.as_ref().unwrap_or(self.runner.site.facility), ..self.runner.site };
        let runner = Runner { demands, site, known: None, ..*self.runner };
        let run = runner.simulate(&[varied.version])?.into_iter().next().unwrap_or_default().0;
        Ok(Some(Held::of(demands, *basin, run)).filter(Held::does_all))
    }

    /// The least size of a change, up to a most and in steps that a reader would type, that makes it: sixteen are tried,
    /// then those between two.
    fn least(&self, demands: &Demands, most: f64, step: f64, change: OfSize) -> Result<Option<(f64, Held)>, Problems> {
        let (mut from, mut to) = (0, (most / step + 1e-9).floor() as u32);
        let mut found = None;
        let size = |count: u32| f64::from(count) * step;
        // The most that goes on the plot is tried too, whatever steps come before it.
        let goes_on_plot =
            |count: u32| change(demands, size(count)).is_some_and(|varied| self.is_on_plot(&varied.version.basin));
        while to > from && !goes_on_plot(to) {
            to -= 1;
        }
        while to > from {
            let apart = (to - from).div_ceil(TRIED);
            let mut counts: Vec<u32> = (1..).map(|k| from + k * apart).take_while(|count| *count < to).collect();
            counts.push(to);
            let tried: Vec<(u32, Varied)> =
                counts.into_iter().map_while(|count| Some((count, change(demands, size(count))?))).collect();
            let makes_it = |(count, varied): &(u32, Varied)| match self.makes_it(varied) {
                Ok(held) => held.map(|held| Ok((*count, held))),
                Err(told) => Some(Err(told)),
            };
            let Some((count, held)) =
                tried.par_iter().map(makes_it).find_first(Option::is_some).flatten().transpose()?
            else {
                break;
            };
            found = Some((size(count), held));
            if apart == 1 {
                break;
            }
            // The last before it that does not.
            (from, to) = (
                tried.iter().map(|(tried, _)| *tried).take_while(|tried| *tried < count).last().unwrap_or(from),
                count,
            );
        }
        Ok(found)
    }

    /// The same, with what the site sends worked out anew for the size that is found.
    fn least_anew(&self, most: f64, step: f64, change: OfSize) -> Result<Option<(f64, Held)>, Problems> {
        let mut demands = self.runner.demands.clone();
        for _ in 0..ANEW {
            let Some((size, _)) = self.least(&demands, most, step, change)? else { return Ok(None) };
            let Some(varied) = change(&demands, size) else { return Ok(None) };
            let anew = self.anew(&varied)?;
            // What is typed for the change is typed for this size.
            let base = Demands { duties: self.runner.demands.duties.clone(), ..anew };
            let Some(typed) = change(&base, size) else { return Ok(None) };
            if let Some(held) = self.makes_it(&typed)? {
                return Ok(Some((size, held)));
            }
            demands = base;
        }
        Ok(None)
    }

    fn reshaped(
        &self,
        what: &'static str,
        most: f64,
        step: f64,
        shape: &(dyn Fn(f64) -> Basin + Sync),
    ) -> Result<Change, Problems> {
        let change = |demands: &Demands, size: f64| {
            let basin = shape(size);
            basin.shape().is_some().then(|| Varied::of(demands.clone(), Version::of(basin)))
        };
        let found = self.least_anew(most, step, &change)?;
        Ok(self.change_of_shape(what, found, Vec::new()))
    }

    fn change_of_shape(&self, what: &'static str, found: Option<(f64, Held)>, beside: Vec<Part>) -> Change {
        let demands = self.runner.demands;
        let (size, with) = found.unzip();
        let made = with.as_ref().map(|held| held.basin);
        Change {
            what,
            amount: size.map(Amount::Length),
            beside,
            earth_m3: made.map(|made| {
                let (cut_m3, fill_m3) = demands.moved_between_m3(self.basin, &made);
                cut_m3 + fill_m3
            }),
            cost: made.and_then(|made| demands.cost_between(self.basin, &made)),
            shape: made,
            with,
        }
    }

    /// A change of shape with the pond run otherwise, and with the bank as high as the spillway asks: for each way of
    /// changing the shape the fewest things beside it.
    fn together(&self, answer: &Answer, ways: &[Reshaping]) -> Result<Vec<Change>, Problems> {
        let typing = Typing::of(self.runner.site.facility.system);
        let short_m = answer.checks.iter().find(|check| check.duty == Duty::Spillway && !does(check));
        let bank_m = short_m.map_or(0.0, |check| up(check.asked - check.has, typing.short_m));
        let mut all = Vec::new();
        for way in ways {
            for operation in Operation::beside() {
                if operation.count() == 0 && bank_m <= 0.0 {
                    continue;
                }
                let basin_of = |size: f64| {
                    let basin = (way.shape)(size);
                    let lie = basin.lie.map(|lie| Lie { below_top_m: lie.below_top_m + bank_m, ..lie });
                    Basin { freeboard_m: basin.freeboard_m + bank_m, lie, ..basin }
                };
                let operated = |demands: &Demands, size: f64| {
                    let basin = basin_of(size);
                    basin.shape()?;
                    self.operated(demands, Version::of(basin), operation)
                };
                let change = |demands: &Demands, size: f64| Some(operated(demands, size)?.0);
                let Some((size, held)) = self.least_anew(way.most, way.step, &change)? else { continue };
                let mut beside = Vec::new();
                if bank_m > 0.0 {
                    beside.push(Part { what: "bank alone higher by", amount: Amount::Length(bank_m) });
                }
                // The figures that were run with it.
                let with = Demands { duties: self.runner.demands.duties.clone(), ..self.sent_to(&held)? };
                beside.extend(operated(&with, size).map(|(_, parts)| parts).unwrap_or_default());
                all.push(self.change_of_shape(way.what, Some((size, held)), beside));
                break;
            }
        }
        Ok(all)
    }

    /// What the site sends to a shape.
    fn sent_to(&self, held: &Held) -> Result<Demands, Problems> {
        self.anew(&Varied::of(self.runner.demands.clone(), Version::of(held.basin)))
    }

    /// A higher bank over the same spill level, a wider crest or a lower one; none where the spillway keeps what is asked.
    fn spillway(&self, answer: &Answer) -> Result<Vec<Change>, Problems> {
        let demands = self.runner.demands;
        let fails = answer.checks.iter().any(|check| check.duty == Duty::Spillway && !does(check));
        let Some(duty) = demands.duties.spillway.as_ref().filter(|_| fails) else { return Ok(Vec::new()) };
        let basin = *self.basin;
        let typing = Typing::of(self.runner.site.facility.system);
        let bank = |h: f64| Basin {
            freeboard_m: basin.freeboard_m + h,
            lie: basin.lie.map(|lie| Lie { below_top_m: lie.below_top_m + h, ..lie }),
            ..basin
        };
        let mut changes =
            vec![self.heaped(self.reshaped("bank alone higher by", MOST_HIGHER_M, typing.short_m, &bank)?)];
        let with = |demands: &Demands, spillway: SpillwayDuty| {
            let mut demands = demands.clone();
            demands.duties.spillway = Some(spillway);
            Some(Varied::of(demands, Version::of(basin)))
        };
        let of = |si: f64, figure: &Figure| Figure { si, ..figure.clone() };
        let wider = |demands: &Demands, more: f64| {
            with(demands, SpillwayDuty { wide: of(duty.wide.si + more, &duty.wide), ..duty.clone() })
        };
        let lower = |demands: &Demands, less: f64| {
            with(demands, SpillwayDuty { crest: of(duty.crest.si - less, &duty.crest), ..duty.clone() })
        };
        let found = self.least(demands, MOST_WIDER * duty.wide.si, typing.short_m, &wider)?;
        changes.push(Self::kept("emergency spillway wider by", found.map(|(m, held)| (Amount::Length(m), held))));
        let found = self.least(demands, duty.crest.si, 0.2 * typing.short_m, &lower)?;
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
        // As wide on top as now; outside as steep as inside, where nothing else was typed.
        let Some(shape) = change.with.as_ref().map(|held| held.basin) else { return change };
        let outer_slope = self.runner.demands.duties.ground.as_ref().map_or(basin.slope, |ground| ground.outer.si);
        let heaped = Basin { lie: Some(Lie { below_top_m: h, outer_slope }), ..shape }.fill_m3();
        let cost = self.runner.demands.duties.prices.as_ref().map(|prices| {
            let lined = change.shape.map_or(0.0, |shape| shape.lined_m2() - basin.lined_m2());
            prices.dug * heaped + prices.lined * lined
        });
        Change { earth_m3: Some(heaped), cost, ..change }
    }

    /// A change that leaves the shape as it is.
    pub(super) fn kept(what: &'static str, found: Option<(Amount, Held)>) -> Change {
        let (amount, with) = found.unzip();
        Change { what, amount, beside: Vec::new(), earth_m3: None, cost: None, shape: None, with }
    }

    /// Less ground that drains to it.
    fn smaller_catchment(&self) -> Result<Option<Change>, Problems> {
        let demands = self.runner.demands;
        if demands.needs.storm_runoff_m3 <= 0.0 && demands.needs.first_rain_runoff_m3 <= 0.0 && !demands.needs_weather()
        {
            return Ok(None);
        }
        let change = |demands: &Demands, less: f64| {
            let times = 1.0 - less;
            let mut demands = demands.clone();
            demands.needs.storm_runoff_m3 *= times;
            demands.needs.first_rain_runoff_m3 *= times;
            demands.needs.drained_m2 *= times;
            Some(Varied::of(demands, Version { catchment_times: times, ..Version::of(*self.basin) }))
        };
        let found = self.least(demands, 0.96, SHARE_STEP, &change)?.map(|(share, with)| (Amount::Share(share), with));
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
        let change = |demands: &Demands, share: f64| {
            let mut demands = demands.clone();
            for bin in &mut demands.needs.sludge.bins {
                bin.kg_a_year.iter_mut().for_each(|kg| *kg *= 1.0 - share);
            }
            // What the stage lets by is to settle here as far as the whole asks.
            if let Some(settle) = &mut demands.duties.settle {
                settle.share.si = (1.0 - (1.0 - settle.share.si) / (1.0 - share)).max(0.0);
            }
            Some(Varied::of(demands, Version::of(*self.basin)))
        };
        let found = self.least(demands, 0.96, SHARE_STEP, &change)?.map(|(share, with)| (Amount::Share(share), with));
        Ok(Some(Self::kept("a first stage before it that stops, of the solids and of the particle,", found)))
    }
}
