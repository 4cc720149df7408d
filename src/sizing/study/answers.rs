//! What a study answers: the least pond with its cases, or what cannot be met.

use super::cases::cases;
use super::paced::AtRate;
use super::*;
use crate::sizing::rates::step_m3_s;

/// Plans that what no shape does over the years is looked for in, times the largest.
const WEATHER_PLANS: [f64; 6] = [1.0, 0.9, 0.75, 0.6, 0.45, 0.3];

/// One year with its ledger: what it assumed, and whether the solids that come to the pond are known.
pub(super) fn first_year(
    site: Site,
    facility: &Facility,
    timeline: &Timeline,
) -> Result<(Vec<Assumption>, bool), Problems> {
    let end = site.period.0.checked_add_days(Days::new(365)).unwrap_or(site.period.1).min(site.period.1);
    let run = balance::run(facility, site.weather, timeline, (site.period.0, end), &Draw::MIDDLE)?;
    let to = Selector::to(Node::Place(site.pond));
    let unknown = run
        .ledger
        .select(&to)
        .into_iter()
        .any(|way| (0..run.ledger.days()).any(|day| run.ledger.solids_basis(day, way).has(Basis::UNKNOWN)));
    Ok((run.assumptions, unknown))
}

/// The least pond with what stands beside it: other shapes are `free` to have a rate of their own.
pub(super) fn answer(
    (runner, free): (&Runner, &Runner),
    grid: &Grid,
    found: Found,
    basics: &Basics,
    timeline: &Timeline,
) -> Result<Answer, Problems> {
    let smaller = free.smaller(grid, &found.basin)?;
    let listed = listed(free, &grid.thin(COARSE))?;
    Ok(Answer { smaller, listed, ..answer_of(runner, grid, found, basics, timeline)? })
}

/// A shape with what stands beside it, but for other shapes.
pub(super) fn answer_of(
    runner: &Runner,
    grid: &Grid,
    found: Found,
    basics: &Basics,
    timeline: &Timeline,
) -> Result<Answer, Problems> {
    let demands = runner.demands;
    let basin = found.basin;
    let stack = demands.stack(&basin);
    let mut ran = runner.simulate(&[Version::of(basin)])?.into_iter();
    let (run, daily) = ran.next().unwrap_or_default();
    let curve_shapes: Vec<Basin> = CURVE
        .iter()
        .map(|times| Basin { length_m: basin.length_m * times, width_m: basin.width_m * times, ..basin })
        .filter(|shape| grid.fits(shape) && shape.shape().is_some())
        .filter(|shape| demands.stack(shape).pool_top_m < shape.depth_m)
        .collect();
    let curve = curve_shapes.iter().copied().zip(runner.runs(&curve_shapes)?).collect();
    let drained_m2 = basics.drained.iter().map(|one| one.share * one.area_m2).sum();
    Ok(Answer {
        layers: demands.layers(&basin),
        normal_m: demands.normal_m(&basin),
        sludge_m3_a_year: demands.sludge_m3_a_year(&basin),
        spills: events(&daily, runner.site.period.0, demands.duties.spills.as_ref().map_or(1, |duty| duty.apart_days)),
        rules: hand_rules(
            &basin,
            drained_m2,
            demands.peak_m3_s(&basin),
            demands.needs.settling_m_s,
            Counted {
                settling_m2: demands.settling_area_m2(&basin),
                stays_m3: demands.sure_water_m3(&basin),
                sludge_m3: demands.duties.clean_out.is_some().then_some(stack.sludge_m3),
            },
        ),
        cost: demands.cost(&basin),
        checks: demands.checks(&basin, &run),
        advice: demands.advice(&basin, &run),
        drawdown_m3_s: demands.drawdown_m3_s(&basin),
        in_time: None,
        typed: AsTyped::as_it_is(basin),
        cures: Vec::new(),
        missed_as_typed: Vec::new(),
        smaller: Vec::new(),
        listed: Vec::new(),
        cases: cases(runner, &basin, &run, basics, timeline)?,
        found,
        stack,
        run,
        curve,
    })
}

pub(super) fn events(daily_m3: &[f64], first: NaiveDate, apart: u32) -> Vec<Spill> {
    SpillRun::of(daily_m3, apart)
        .into_iter()
        .filter_map(|run| {
            Some(Spill { first: first.checked_add_days(Days::new(run.first as u64))?, days: run.days(), m3: run.m3 })
        })
        .collect()
}

pub(super) fn listed(runner: &Runner, grid: &Grid) -> Result<Vec<Listed>, Problems> {
    let demands = runner.demands;
    let fixed = |basin: &Basin| demands.fixed(basin).iter().all(Check::is_met);
    let objective = |basin: &Basin| demands.objective(basin);
    let passes = &mut |basins: &[Basin]| {
        if demands.weather_may_refuse() {
            runner.passes(basins)
        } else {
            Ok(vec![Passed { larger_is_better: true, other: true }; basins.len()])
        }
    };
    let mut shapes = least_by_depth(grid, MOST_LISTED, &objective, &fixed, passes)?;
    shapes.sort_by(|a, b| objective(a).total_cmp(&objective(b)));
    let near: Vec<Vec<Option<Basin>>> =
        shapes.iter().map(|basin| neighbours(grid, basin).into_iter().map(|one| one.basin).collect()).collect();
    let all: Vec<Basin> = near.iter().flatten().copied().flatten().collect();
    let mut checks = runner.checks(&all)?.into_iter();
    Ok(shapes
        .into_iter()
        .zip(near)
        .map(|(basin, near)| {
            let smaller: Vec<Smaller> = near
                .into_iter()
                .map(|one| Smaller {
                    word: "",
                    step_m: 0.0,
                    shape: one.and_then(|basin| Some((basin, checks.next()?))),
                })
                .collect();
            Listed { basin, governs: governing(&smaller) }
        })
        .collect())
}

/// Years until the store made for the solids as typed is full of so many times as many.
pub(super) fn years(demands: &Demands, basin: &Basin, times: f64) -> Option<f64> {
    demands.duties.clean_out.as_ref()?;
    let rate = times * demands.sludge_m3_a_year(basin);
    (rate > 0.0).then(|| demands.stack(basin).sludge_m3 / rate)
}

pub(super) fn impossible(grid: &Grid, demands: &Demands, runner: &Runner) -> Result<Impossible, Problems> {
    let grid = &grid.thin(COARSE);
    let all: Vec<Basin> = grid.plans().into_iter().flatten().collect();
    let mut best: Vec<(Check, Basin)> = Vec::new();
    let mut nearest: Option<(f64, usize, Basin)> = None;
    for basin in &all {
        let checks = demands.fixed(basin);
        let least = checks.iter().map(|check| check.done().min(1.0)).fold(1.0, f64::min);
        let failing = checks.iter().filter(|check| !check.is_met()).count();
        let better = nearest.as_ref().is_none_or(|(held, fails, other)| {
            let order = fails
                .cmp(&failing)
                .then(least.total_cmp(held))
                .then(basin.capacity_m3().total_cmp(&other.capacity_m3()));
            order.is_gt()
        });
        if better {
            nearest = Some((least, failing, *basin));
        }
        keep_best(&mut best, checks, basin);
    }
    // What weather asks for is done best by the shape with the most room, or by one with less surface.
    if demands.needs_weather()
        && let Some(most) = grid.largest()
    {
        let plan = |part: f64| Basin { length_m: most.length_m * part, width_m: most.width_m * part, ..most };
        let tried: Vec<Basin> =
            WEATHER_PLANS.iter().map(|part| plan(*part)).filter(|basin| basin.shape().is_some()).collect();
        // Each at the slowest drawdown and at the fastest.
        let slow = tried.iter().map(|basin| (*basin, demands.drawdown_m3_s(basin)));
        let fast = tried.iter().filter_map(|basin| Some((*basin, Some(step_m3_s(demands.rate_steps(basin)?.1)))));
        let at: Vec<AtRate> = slow.chain(fast).collect();
        for ((basin, _), run) in at.iter().zip(runner.runs_at(&at)?) {
            keep_best(&mut best, demands.over_years(&run), basin);
        }
    }
    let nearest = match nearest {
        Some((.., basin)) => {
            let checks = runner.checks(&[basin])?.into_iter().next().unwrap_or_default();
            Some((basin, checks))
        }
        None => None,
    };
    Ok(Impossible { best, nearest })
}

pub(super) fn keep_best(best: &mut Vec<(Check, Basin)>, checks: Vec<Check>, basin: &Basin) {
    for check in checks {
        match best.iter_mut().find(|(held, _)| held.duty == check.duty) {
            Some(held) if check.done() > held.0.done() => *held = (check, *basin),
            Some(_) => {}
            None => best.push((check, *basin)),
        }
    }
}
