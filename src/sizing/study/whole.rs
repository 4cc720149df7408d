//! A question from its first figure to its answer.

use super::answers::{answer, impossible};
use super::pools::at_the_best_pool;
use super::tried::tried;
use super::typed::{Asked, Chosen};
use super::*;

/// Answers the question. `progress` is told what is being done.
///
/// # Errors
/// What is wrong in the files for this question, or makes a balance impossible.
pub fn study(site: Site, duties: Duties, progress: &dyn Fn(&str)) -> Result<Study, Problems> {
    let duties = at_the_best_pool(site, duties, progress)?;
    begun(site, &duties, progress, |asked, demands, basics| whole(asked, demands, basics, progress))
}

/// Sets a question up, and goes on with it.
pub(super) fn begun<T>(
    site: Site,
    duties: &Duties,
    progress: &dyn Fn(&str),
    then: impl FnOnce(&Asked, Demands, Basics) -> Result<T, Problems>,
) -> Result<T, Problems> {
    let problems = Problems::new();
    let Some(grid) = Grid::of(duties, false, &problems) else {
        return Err(problems);
    };
    let Some(pond) = pond_of(site.facility, site.pond) else {
        problems.add(Problem::error(&site.facility.place, "the place to be sized is no pond"));
        return Err(problems);
    };
    let timeline = records(site.facility, site.period);
    progress("running the site over the years of weather");
    let Some(largest) = grid.largest() else {
        problems.add(
            Problem::error(&duties.plot.steepest.place, "no pond of any size fits this plot: its sides meet before they reach a floor, or it is too short for its width")
                .hint("look at `steepest side`, `length to width at least` and the steps"),
        );
        return Err(problems);
    };
    let (demands, basics) = demands(site, duties, pond, largest, &timeline, &problems, None)?;
    let uses = drawing_uses(site, duties)?;
    let reference = with_basin(site.facility, site.pond, &demands, &Version::of(largest));
    let candidates = candidates(&reference, site.weather, &timeline, site.period)?;
    let finer = Grid::of(duties, true, &problems);
    let known = Known::default();
    let asked = Asked {
        site,
        pond,
        grid: &grid,
        finer: finer.as_ref(),
        timeline: &timeline,
        candidates: &candidates,
        uses: &uses,
        known: &known,
    };
    let done = then(&asked, demands, basics)?;
    if problems.has_errors() { Err(problems) } else { Ok(done) }
}

fn whole(asked: &Asked, demands: Demands, basics: Basics, progress: &dyn Fn(&str)) -> Result<Study, Problems> {
    let Asked { site, pond, grid, timeline, candidates, uses, known, .. } = *asked;
    let standing = this::standing_checks(site, &demands.duties.at_the_least_pool(), pond, timeline, uses)?;
    progress("searching for the least shape");
    let unknown_days = basics.unknown_days;
    let chosen = asked.least(demands, basics.clone(), progress)?;
    let runner_of =
        |demands| Runner { site, demands, candidates, uses, unknown_days, refused: &[], known: Some(known) };
    let chosen = match chosen {
        Ok(chosen) => chosen,
        Err(demands) => {
            let runner = runner_of(&demands);
            let outcome = Outcome::None(Box::new(impossible(grid, &demands, &runner)?));
            let tried = tried((&runner, &runner), grid, &outcome)?;
            return Ok(Study { tried, demands, basics, grid: grid.clone(), outcome, standing });
        }
    };
    let in_time = asked.in_time(&chosen, progress)?;
    let Chosen { found, typed, keeps, grid, demands, basics, missed_as_typed, .. } = chosen;
    let runner = runner_of(&demands);
    let free = Demands { rate_m3_s: None, ..demands.clone() };
    let free = runner_of(&free);
    progress("trying what could be otherwise");
    let answer = Answer { in_time, ..answer((&runner, &free), &grid, found, &basics, timeline)? };
    let cures = if !keeps && answer.not_kept().next().is_some() {
        progress("looking for what would have it kept");
        let base = asked.grid.largest().unwrap_or(answer.found.basin);
        let changes = Changes { runner: &runner, basin: &answer.found.basin, base, timeline };
        let mut cures = changes.operations()?;
        cures.extend(changes.drawdown()?.filter(|change| change.amount.is_some()));
        cures
    } else {
        Vec::new()
    };
    let outcome = Outcome::Pond(Box::new(Answer { typed, cures, missed_as_typed, ..answer }));
    let tried = tried((&runner, &free), &grid, &outcome)?;
    Ok(Study { demands, basics, grid, outcome, tried, standing })
}
