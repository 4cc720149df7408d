//! The pond found as it would be built: its sides and levels as they are printed, typed into the facility file.
//!
//! What a site sends to a pond is worked out with a pond in place, and a search must begin with some pond. The one that it
//! finds may be sent a little more; and what is printed is rounded. So it is held as typed, as `--this` would, in both
//! systems of units, so that both print the same pond; and where it then misses a duty, the search is made anew with what
//! that pond is sent, or without that shape.

use super::*;
use crate::facility::model::UnitSystem;
use crate::sizing::site::typed_in;

/// The search is made anew so often at the most.
const MOST_ANEW: usize = 12;

/// A pond chosen, with what it was chosen by.
pub(super) struct Chosen {
    pub found: Found,
    /// Whether it was looked for among ponds that their run keeps.
    pub keeps: bool,
    /// The grid it was found in.
    pub grid: Grid,
    /// What the site sends to it.
    pub demands: Demands,
    pub basics: Basics,
    /// What it misses once it is typed as printed; nothing but where no other pond is there.
    pub missed_as_typed: Vec<Check>,
}

/// What the search needs beside a runner.
pub(super) struct Asked<'a> {
    pub site: Site<'a>,
    pub grid: &'a Grid,
    pub finer: Option<&'a Grid>,
    pub timeline: &'a Timeline,
    pub candidates: &'a Candidates<'a>,
    pub uses: &'a [PlaceId],
}

impl Asked<'_> {
    /// The least pond that does its duties as it is found and as it is typed; none where no pond does them as found.
    /// What the site sends is first that of the largest pond, and more where a pond found is sent more.
    pub fn least(
        &self,
        mut demands: Demands,
        mut basics: Basics,
        progress: &dyn Fn(&str),
    ) -> Result<Result<Chosen, Demands>, Problems> {
        let mut refused: Vec<Basin> = Vec::new();
        let mut first_refused: Option<Chosen> = None;
        for _ in 0..MOST_ANEW {
            let Some((found, keeps, grid)) = self.choose(&demands, &basics, &refused, progress)? else {
                break;
            };
            let terms = Terms { keeps, ..demands.terms };
            let of = Demands { terms, ..demands.clone() };
            let runner = self.runner(&of, &basics, &refused);
            let typed = as_typed(&runner, self.timeline, &found.basin)?;
            let missed_as_typed = typed.missed;
            let holds = missed_as_typed.is_empty();
            let chosen = Chosen { found, keeps, grid, demands: of, basics: basics.clone(), missed_as_typed };
            if holds {
                return Ok(Ok(chosen));
            }
            let (more, of_more) =
                typed.asks.into_iter().fold((demands.needs.clone(), None), |(needs, of), (own, its)| {
                    let more = at_least(&needs, &own, &found.basin, demands.cells);
                    let of = if more == needs { of } else { Some(its) };
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

    fn runner<'b>(&'b self, demands: &'b Demands, basics: &Basics, refused: &'b [Basin]) -> Runner<'b> {
        Runner {
            site: self.site,
            demands,
            candidates: self.candidates,
            uses: self.uses,
            unknown_days: basics.unknown_days,
            refused,
        }
    }

    /// The least shape, whether it was looked for among those that their run keeps, and its grid.
    fn choose(
        &self,
        demands: &Demands,
        basics: &Basics,
        refused: &[Basin],
        progress: &dyn Fn(&str),
    ) -> Result<Option<(Found, bool, Grid)>, Problems> {
        let runner = self.runner(demands, basics, refused);
        let mut grid = self.grid;
        let mut found = runner.least(grid)?;
        if let (None, Some(finer)) = (found, self.finer) {
            progress("looking closer, before saying that none fits");
            grid = finer;
            found = runner.least(grid)?;
        }
        let Some(found) = found else { return Ok(None) };
        if runner.keeps(&found.basin)? {
            return Ok(Some((found, false, grid.clone())));
        }
        // Of ponds that do the rest, one that its run keeps so; else the least of them, with what would make it.
        let of_kept = Demands { terms: Terms { keeps: true, ..demands.terms }, ..demands.clone() };
        let keeper = self.runner(&of_kept, basics, refused);
        progress("looking for a pond that its run keeps as asked");
        // A coarse choice shows whether to look at all: where none of it is kept, each size would be run for nothing.
        let kept = match keeper.least(&grid.thin(COARSE_KEPT))? {
            Some(_) => keeper.least(grid)?,
            None => None,
        };
        Ok(Some((kept.unwrap_or(found), kept.is_some(), grid.clone())))
    }
}

/// How a shape comes out once it is typed.
struct AsTyped {
    /// Duties that it did as found and does not do as typed.
    missed: Vec<Check>,
    /// What the site then sends, and what that was worked out from.
    asks: Vec<(Needs, Basics)>,
}

fn as_typed(runner: &Runner, timeline: &Timeline, basin: &Basin) -> Result<AsTyped, Problems> {
    let does = |check: &Check| matches!(check.comes, Comes::Done | Comes::TooFewYears);
    let as_found = runner.checks(std::slice::from_ref(basin))?.into_iter().next().unwrap_or_default();
    let mut all = AsTyped { missed: Vec::new(), asks: Vec::new() };
    let mut held: Vec<Basin> = Vec::new();
    for system in [UnitSystem::Us, UnitSystem::Metric] {
        let printed = basin.printed(system);
        // Sides that are round in one system are the same pond in both.
        if held.contains(&printed) {
            continue;
        }
        held.push(printed);
        let facility = typed_in(runner.site.facility, runner.site.pond, runner.demands, basin, system);
        let site = Site { facility: &facility, ..runner.site };
        let Some(pond) = pond_of(&facility, site.pond) else { continue };
        let (own, basics) = demands(site, &runner.demands.duties, pond, printed, timeline, &Problems::new())?;
        let own = Demands { terms: Terms { stands: true, keeps: false }, ..own };
        let checks = Runner { site, demands: &own, ..*runner }.checks(&[printed])?;
        let did = |duty: Duty| as_found.iter().any(|check| check.duty == duty && does(check));
        let missed = checks.into_iter().flatten().filter(|check| !does(check) && did(check.duty));
        all.missed.extend(missed);
        all.asks.push((own.needs, basics));
    }
    Ok(all)
}

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
