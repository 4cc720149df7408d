//! The pond found as it would be built: its sides and levels as they are printed, typed into the facility file.
//!
//! What a site sends to a pond is worked out with a pond in place, and a search must begin with some pond. The one that it
//! finds may be sent a little more; and what is printed is rounded. So it is held as typed, as `--this` would, in both
//! systems of units; and where it then misses a duty, the search is made anew with what that pond is sent, or without that
//! shape.
//!
//! Sides are rounded up, and then each is tried rounded down: it stays so where the pond does its duties with it. A shape is
//! given up only where none of these roundings does them.

use super::operated::Typing;
use super::*;
use crate::facility::model::UnitSystem;
use crate::sizing::basin::printed_level_m;
use crate::sizing::site::{typed_fill_level_m, typed_in};

/// The search is made anew so often at the most.
const MOST_ANEW: usize = 12;
/// Of these, so often with what the pond found last is sent by itself.
const MOST_OWN: usize = 3;

/// A pond found with the sizes that are typed for it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AsTyped {
    /// In feet.
    pub us: Basin,
    /// In metres.
    pub metric: Basin,
}

impl AsTyped {
    /// A pond with the sizes that it has.
    pub fn as_it_is(basin: Basin) -> Self {
        Self { us: basin, metric: basin }
    }

    /// In one system of units.
    pub fn of(&self, system: UnitSystem) -> Basin {
        match system {
            UnitSystem::Us => self.us,
            UnitSystem::Metric => self.metric,
        }
    }
}

/// A pond chosen, with what it was chosen by.
pub(super) struct Chosen {
    pub found: Found,
    /// With the sizes that are typed.
    pub typed: AsTyped,
    /// Whether it was looked for among ponds that their run keeps.
    pub keeps: bool,
    /// Whether its run keeps all that it asks for.
    pub is_kept: bool,
    /// The grid it was found in.
    pub grid: Grid,
    /// What the site sends to it.
    pub demands: Demands,
    pub basics: Basics,
    /// What it misses once it is typed as printed; nothing but where no other pond is there.
    pub missed_as_typed: Vec<Check>,
}

/// What the search needs beside a runner.
#[derive(Clone, Copy)]
pub(super) struct Asked<'a> {
    pub site: Site<'a>,
    pub pond: &'a Pond,
    pub grid: &'a Grid,
    pub finer: Option<&'a Grid>,
    pub timeline: &'a Timeline,
    pub candidates: &'a Candidates<'a>,
    pub uses: &'a [PlaceId],
    pub known: &'a Known,
}

impl Asked<'_> {
    /// The least pond that does its duties as it is found and as it is typed; none where no pond does them as found.
    /// What the site sends is that of the pond found; and more where it is sent more as it is typed.
    pub fn least(
        &self,
        mut demands: Demands,
        mut basics: Basics,
        progress: &dyn Fn(&str),
    ) -> Result<Result<Chosen, Demands>, Problems> {
        let mut refused: Vec<Basin> = Vec::new();
        let mut first_refused: Option<Chosen> = None;
        // With what the largest pond is sent a first one is found, and with what that is sent the least.
        let turns = |duties: &Duties| duties.clean_out.is_some() || duties.forebay.is_some() || duties.hold.is_some();
        let first = if turns(&demands.duties) { self.choose(&demands, &basics, &[], (true, &|_| {}))? } else { None };
        if let Some(first) = first {
            (demands.needs, basics) = self.sent_to(&demands, &basics, first.found.basin)?;
            self.known.is_sent_less();
        }
        let mut own = Some(MOST_OWN);
        for _ in 0..MOST_ANEW {
            let Some(Choice { found, keeps, is_kept, mut rate_m3_s, grid }) =
                self.choose(&demands, &basics, &refused, (false, progress))?
            else {
                break;
            };
            // Its sludge store and what is held are its own, whatever the plot, where it is the least with them too.
            if let Some(times) = own {
                let (its, of_its) = self.sent_to(&demands, &basics, found.basin)?;
                if its != demands.needs {
                    let with_its = Demands { needs: its, ..demands.clone() };
                    let rate = self.stays_least(&with_its, &of_its, (&found.basin, &grid), (keeps, is_kept))?;
                    let is_more = at_least(&demands.needs, &with_its.needs, &found.basin, demands.cells);
                    match (rate, times) {
                        (Some(rate), _) => (demands.needs, basics, rate_m3_s) = (with_its.needs, of_its, rate),
                        (None, 0) if is_more == demands.needs => {}
                        // It goes round without coming to one: the more of both.
                        (None, 0) => {
                            (demands.needs, basics, own) = (is_more, of_its, None);
                            continue;
                        }
                        (None, times) => {
                            (demands.needs, basics, own) = (with_its.needs, of_its, Some(times - 1));
                            self.known.is_sent_less();
                            continue;
                        }
                    }
                }
                own = None;
            }
            let terms = Terms { keeps, ..demands.terms };
            let of = Demands { terms, rate_m3_s, ..demands.clone() };
            let runner = self.runner(&of, &basics, &refused);
            let to_type = ToType::of(&runner, &grid, (self.timeline, &basics.assumptions), &found.basin)?;
            let (us, metric) = to_type.both(first_refused.is_none())?;
            let missed_as_typed: Vec<Check> = us.missed.iter().chain(&metric.missed).copied().collect();
            let typed = AsTyped { us: us.basin, metric: metric.basin };
            let holds = missed_as_typed.is_empty();
            let chosen =
                Chosen { found, typed, keeps, is_kept, grid, demands: of, basics: basics.clone(), missed_as_typed };
            if holds {
                return Ok(Ok(chosen));
            }
            let (more, of_more) = [us, metric].into_iter().fold((demands.needs.clone(), None), |(needs, of), held| {
                let more = at_least(&needs, &held.needs, &found.basin, demands.cells);
                let of = if more == needs { of } else { Some(held.basics) };
                (more, of)
            });
            match of_more {
                Some(its) => {
                    demands.needs = more;
                    basics = its;
                    refused.clear();
                    first_refused = None;
                }
                None => {
                    refused.push(found.basin);
                    first_refused.get_or_insert(chosen);
                }
            }
        }
        Ok(first_refused.ok_or(demands))
    }

    /// Whether a pond found is the least with what it is itself sent: it does its duties with that, and no size smaller does.
    /// Then the rate of its drawdown.
    fn stays_least(
        &self,
        demands: &Demands,
        basics: &Basics,
        (basin, grid): (&Basin, &Grid),
        (keeps, is_kept): (bool, bool),
    ) -> Result<Option<Option<f64>>, Problems> {
        let demands = &Demands { terms: Terms { keeps, ..demands.terms }, ..demands.clone() };
        let runner = self.runner(demands, basics, &[]);
        let done = |checks: &[Check]| checks.iter().all(Check::is_met);
        let (rate_m3_s, still_kept) = runner.suited(basin)?;
        let does = runner.checks(std::slice::from_ref(basin))?.iter().all(|checks| done(checks));
        if !does || still_kept != is_kept {
            return Ok(None);
        }
        let smaller = runner.smaller(grid, basin)?;
        let less = smaller.iter().filter_map(|one| one.shape.as_ref()).any(|(_, checks)| done(checks));
        Ok((!less).then_some(rate_m3_s))
    }

    /// What the site sends to a pond, with that pond in place.
    fn sent_to(&self, demands: &Demands, basics: &Basics, basin: Basin) -> Result<(Needs, Basics), Problems> {
        let taken = Some(basics.assumptions.as_slice());
        let problems = Problems::new();
        let (of, basics) =
            super::demands(self.site, &demands.duties, self.pond, basin, self.timeline, &problems, taken)?;
        Ok((of.needs, basics))
    }

    fn runner<'b>(&'b self, demands: &'b Demands, basics: &Basics, refused: &'b [Basin]) -> Runner<'b> {
        Runner {
            site: self.site,
            demands,
            candidates: self.candidates,
            uses: self.uses,
            unknown_days: basics.unknown_days,
            refused,
            known: Some(self.known),
        }
    }

    /// Where a pond takes a faster drawdown than frees the storm's room in time: the least pond without it.
    pub fn in_time(&self, chosen: &Chosen, progress: &dyn Fn(&str)) -> Result<Option<InTime>, Problems> {
        // As slow as each shape may have it.
        let slow = Demands {
            rate_m3_s: Some(0.0),
            terms: Terms { keeps: false, ..chosen.demands.terms },
            ..chosen.demands.clone()
        };
        let basin = &chosen.found.basin;
        let (now, in_time) = (chosen.demands.drawdown_m3_s(basin), slow.drawdown_m3_s(basin));
        let Some(m3_s) = in_time.filter(|in_time| now.is_some_and(|now| now > *in_time)) else { return Ok(None) };
        let choice = self.choose(&slow, &chosen.basics, &[], (false, progress))?;
        Ok(Some(InTime { m3_s, least: choice.filter(|of| of.is_kept).map(|of| of.found.basin) }))
    }

    /// The least shape, whether it was looked for among those that their run keeps, and its grid; `quick`, one that is nearly
    /// the least.
    fn choose(
        &self,
        demands: &Demands,
        basics: &Basics,
        refused: &[Basin],
        (quick, progress): (bool, &dyn Fn(&str)),
    ) -> Result<Option<Choice>, Problems> {
        let runner = self.runner(demands, basics, refused);
        let mut grid = self.grid;
        let mut found = runner.least(grid, quick)?;
        if let (None, Some(finer)) = (found, self.finer) {
            progress("looking closer, before saying that none fits");
            grid = finer;
            found = runner.least(grid, quick)?;
        }
        let Some(found) = found else { return Ok(None) };
        let (rate_m3_s, is_kept) = runner.suited(&found.basin)?;
        let as_found = Choice { found, keeps: false, is_kept, rate_m3_s, grid: grid.clone() };
        if is_kept {
            return Ok(Some(as_found));
        }
        // Of ponds that do the rest, one that its run keeps so; else the least of them, with what would make it.
        let of_kept = Demands { terms: Terms { keeps: true, ..demands.terms }, ..demands.clone() };
        let keeper = self.runner(&of_kept, basics, refused);
        progress("looking for a pond that its run keeps as asked");
        // A coarse choice shows whether to look at all: where none of it is kept, each size would be run for nothing.
        let kept = match keeper.least(&grid.thin(COARSE_KEPT), quick)? {
            Some(_) => keeper.least(grid, quick)?,
            None => None,
        };
        let Some(found) = kept else { return Ok(Some(as_found)) };
        let rate_m3_s = keeper.suited(&found.basin)?.0;
        Ok(Some(Choice { found, keeps: true, is_kept: true, rate_m3_s, grid: grid.clone() }))
    }
}

/// A shape found.
struct Choice {
    found: Found,
    /// Whether it was looked for among those that their run keeps.
    keeps: bool,
    /// Whether its run keeps all that it asks for.
    is_kept: bool,
    /// The rate of its drawdown, m³/s, where it has one.
    rate_m3_s: Option<f64>,
    grid: Grid,
}

/// A shape found, to be typed.
struct ToType<'a> {
    runner: &'a Runner<'a>,
    grid: &'a Grid,
    timeline: &'a Timeline,
    /// What the run takes without a record.
    taken: &'a [Assumption],
    basin: &'a Basin,
    /// How it came out as it was found.
    as_found: Vec<Check>,
}

/// How a shape comes out once it is typed.
struct HeldAsTyped {
    basin: Basin,
    /// Duties that it did as found and does not do as typed.
    missed: Vec<Check>,
    /// What the site then sends, and what that was worked out from.
    needs: Needs,
    basics: Basics,
}

fn does(check: &Check) -> bool {
    matches!(check.comes, Comes::Done | Comes::TooFewYears)
}

impl<'a> ToType<'a> {
    fn of(
        runner: &'a Runner,
        grid: &'a Grid,
        (timeline, taken): (&'a Timeline, &'a [Assumption]),
        basin: &'a Basin,
    ) -> Result<Self, Problems> {
        let as_found = runner.checks(std::slice::from_ref(basin))?.into_iter().next().unwrap_or_default();
        Ok(Self { runner, grid, timeline, taken, basin, as_found })
    }

    /// The shape as it is typed in both systems. Unless all of it is asked for, no rounding of one is looked for where none
    /// of the other does: such a shape is refused.
    fn both(&self, all: bool) -> Result<(HeldAsTyped, HeldAsTyped), Problems> {
        let up = |system: UnitSystem| self.held(system, self.basin.printed(system), true);
        let (us, metric) = rayon::join(|| up(UnitSystem::Us), || up(UnitSystem::Metric));
        let (us, metric) = (us?, metric?);
        if all {
            let (us, metric) =
                rayon::join(|| self.least(UnitSystem::Us, us), || self.least(UnitSystem::Metric, metric));
            return Ok((us?, metric?));
        }
        if !us.missed.is_empty() || metric.missed.is_empty() {
            let us = self.least(UnitSystem::Us, us)?;
            let metric = if us.missed.is_empty() { self.least(UnitSystem::Metric, metric)? } else { metric };
            return Ok((us, metric));
        }
        let metric = self.least(UnitSystem::Metric, metric)?;
        let us = if metric.missed.is_empty() { self.least(UnitSystem::Us, us)? } else { us };
        Ok((us, metric))
    }

    /// The shape with the least sizes that can be typed for it and that it does its duties with, from all of them rounded
    /// up; those where no rounding does them.
    fn least(&self, system: UnitSystem, mut held: HeldAsTyped) -> Result<HeldAsTyped, Problems> {
        let needs = &self.runner.demands.needs;
        // Where more is sent than was taken, another pond is to be found first.
        let is_sent_more = at_least(needs, &held.needs, self.basin, self.runner.demands.cells) != *needs;
        if !held.missed.is_empty() && is_sent_more {
            return Ok(held);
        }
        // Where it is less deep its settling pool is larger, so that a side may be rounded down that could not be before.
        loop {
            let before = held.basin;
            for side in SIDES {
                let Some(less) = self.rounded_down(&held.basin, side, system) else { continue };
                // What is sent stays that of the sizes rounded up, whatever more is rounded down.
                if self.held(system, less, false)?.missed.is_empty() {
                    held = HeldAsTyped { basin: less, missed: Vec::new(), ..held };
                }
            }
            if held.basin == before {
                return Ok(held);
            }
        }
    }

    /// A shape with one side rounded down; none where it is no smaller then, or breaks a rule of the plot.
    fn rounded_down(&self, typed: &Basin, side: Side, system: UnitSystem) -> Option<Basin> {
        let mut less = *typed;
        side(&mut less, &self.basin.rounded_down(system));
        let fits = less.shape().is_some()
            && (self.grid.is_long_enough(less.length_m, less.width_m)
                || !self.grid.is_long_enough(typed.length_m, typed.width_m))
            && self.grid.is_wide_enough(less.depth_m, less.length_m, less.width_m);
        // Levels typed with it lie no higher than its spill level.
        let (site, demands) = (&self.runner.site, self.runner.demands);
        let filled_m = typed_fill_level_m(site.facility, site.pond, demands, (self.basin, &less), system);
        let pool_m = printed_level_m(system, demands.stack(self.basin).pool_top_m);
        let under = filled_m.into_iter().chain([pool_m]).all(|m| m <= less.depth_m + 1e-9);
        (less != *typed && fits && under).then_some(less)
    }

    /// A shape as it is typed. Unless all of them are asked for, one duty that is missed is enough.
    fn held(&self, system: UnitSystem, printed: Basin, all: bool) -> Result<HeldAsTyped, Problems> {
        let runner = self.runner;
        let facility = typed_in(runner.site.facility, runner.site.pond, runner.demands, (self.basin, &printed), system);
        let site = Site { facility: &facility, ..runner.site };
        let Some(pond) = pond_of(&facility, site.pond) else {
            let problems = Problems::new();
            problems.add(Problem::error(&facility.place, "the place to be sized is no pond"));
            return Err(problems);
        };
        let (own, basics) =
            demands(site, &runner.demands.duties, pond, printed, self.timeline, &Problems::new(), Some(self.taken))?;
        // A rate is typed as it is printed, no slower.
        let typing = Typing::of(system);
        let rate_m3_s = runner.demands.rate_m3_s.map(|rate| typing.flow(typing.flow_up(rate)));
        let own = Demands { terms: Terms { stands: true, keeps: false }, rate_m3_s, ..own };
        let did = |duty: Duty| self.as_found.iter().any(|check| check.duty == duty && does(check));
        let is_missed = |check: &Check| !does(check) && did(check.duty);
        let mut missed: Vec<Check> = own.fixed(&printed).into_iter().filter(is_missed).collect();
        if all || missed.is_empty() {
            let checks = Runner { site, demands: &own, known: None, ..*runner }.checks(&[printed])?;
            missed = checks.into_iter().flatten().filter(is_missed).collect();
        }
        Ok(HeldAsTyped { basin: printed, missed, needs: own.needs, basics })
    }
}

/// Takes one size of another shape.
type Side = fn(&mut Basin, &Basin);
/// The sizes that are rounded, in the order in which less of each is tried.
const SIDES: [Side; 3] = [
    |of, other| of.length_m = other.length_m,
    |of, other| of.width_m = other.width_m,
    |of, other| of.depth_m = other.depth_m,
];

/// Of what two ponds are sent, the more.
fn at_least(one: &Needs, other: &Needs, basin: &Basin, cells: u32) -> Needs {
    let sludge = |needs: &Needs| needs.sludge.wet_m3_a_year(basin.area_m2(basin.depth_m), cells);
    Needs {
        wash_m3: one.wash_m3.max(other.wash_m3),
        return_m3: one.return_m3.max(other.return_m3),
        peak_m3_s: one.peak_m3_s.max(other.peak_m3_s),
        overflow_m3_s: one.overflow_m3_s.max(other.overflow_m3_s),
        detained_m3_s: one.detained_m3_s.max(other.detained_m3_s),
        sludge: if sludge(other) > sludge(one) { other.sludge.clone() } else { one.sludge.clone() },
        ..one.clone()
    }
}
