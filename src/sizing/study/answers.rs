//! What a study answers: the least pond with its cases, or what cannot be met.

use super::*;

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

pub(super) fn answer(
    runner: &Runner,
    grid: &Grid,
    fine: Grid,
    coarse: Found,
    found: Found,
    basics: &Basics,
    timeline: &Timeline,
) -> Result<Answer, Problems> {
    let demands = runner.demands;
    let basin = found.basin;
    let stack = demands.stack(&basin);
    let mut ran = runner.simulate(&[Version::of(basin)])?.into_iter();
    let (run, daily) = ran.next().unwrap_or_default();
    let mut checks = demands.fixed(&basin);
    checks.extend(demands.over_years(&run));
    let smaller = runner.smaller(&fine, &basin)?;
    let listed = listed(runner, grid)?;
    let curve_shapes: Vec<Basin> = CURVE
        .iter()
        .map(|times| Basin { length_m: basin.length_m * times, width_m: basin.width_m * times, ..basin })
        .filter(|shape| shape.shape().is_some() && demands.stack(shape).pool_top_m < shape.depth_m)
        .collect();
    let curve = curve_shapes.iter().copied().zip(runner.runs(&curve_shapes)?).collect();
    let cases = cases(runner, &basin, &run, basics, timeline)?;
    let drained_m2 = basics.drained.iter().map(|one| one.share * one.area_m2).sum();
    Ok(Answer {
        layers: stack.layers(&basin, demands.storm_from_m(&basin)),
        normal_m: demands.normal_m(&basin),
        sludge_m3_a_year: demands.sludge_m3_a_year(&basin),
        spills: events(&daily, runner.site.period.0, demands.duties.spills.as_ref().map_or(1, |duty| duty.apart_days)),
        rules: hand_rules(
            &basin,
            drained_m2,
            demands.needs.peak_m3_s,
            demands.needs.settling_m_s,
            demands.duties.clean_out.is_some().then_some(stack.sludge_m3),
        ),
        cost: demands.cost(&basin),
        found,
        coarse,
        fine,
        stack,
        checks,
        run,
        smaller,
        listed,
        curve,
        cases,
    })
}

pub(super) fn events(daily_m3: &[f64], first: NaiveDate, apart: u32) -> Vec<Spill> {
    let mut spills: Vec<(usize, usize, f64)> = Vec::new();
    for (day, amount) in daily_m3.iter().enumerate().filter(|(_, amount)| **amount >= LEAST_SPILL_M3) {
        match spills.last_mut() {
            Some((_, last, sum)) if day - *last <= apart as usize => {
                *last = day;
                *sum += amount;
            }
            _ => spills.push((day, day, *amount)),
        }
    }
    spills
        .into_iter()
        .filter_map(|(from, to, m3)| {
            Some(Spill { first: first.checked_add_days(Days::new(from as u64))?, days: to - from + 1, m3 })
        })
        .collect()
}

pub(super) fn listed(runner: &Runner, grid: &Grid) -> Result<Vec<Listed>, Problems> {
    let demands = runner.demands;
    let fixed = |basin: &Basin| demands.fixed(basin).iter().all(Check::is_met);
    let objective = |basin: &Basin| demands.objective(basin);
    let mut shapes =
        least_by_depth(grid, MOST_LISTED, &objective, &fixed, &mut |basins: &[Basin]| runner.passes(basins))?;
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
                .map(|one| Smaller { word: "", shape: one.and_then(|basin| Some((basin, checks.next()?))) })
                .collect();
            Listed { basin, governs: governing(&smaller) }
        })
        .collect())
}

pub(super) fn cases(
    runner: &Runner,
    basin: &Basin,
    run: &Simulated,
    basics: &Basics,
    timeline: &Timeline,
) -> Result<Vec<Case>, Problems> {
    let demands = runner.demands;
    let weather_fails = |run: &Simulated| -> Vec<Duty> {
        demands.over_years(run).iter().filter(|check| !check.is_met()).map(|check| check.duty).collect()
    };
    let mut cases = vec![Case {
        what: "as sized",
        run: Some(*run),
        settled: settled(demands, basin, demands.needs.peak_m3_s),
        clean_out_years: years(demands, basin, 1.0),
        fails: Vec::new(),
    }];
    let facility = with_basin(runner.site.facility, runner.site.pond, demands, &Version::of(*basin));
    let with_rain = |what: &'static str, times: f64| -> Result<Case, Problems> {
        let mut weather = runner.site.weather.clone();
        for day in &mut weather.rain {
            day.depth_mm = day.depth_mm.map(|mm| mm * times);
        }
        let candidates = candidates(&facility, &weather, timeline, runner.site.period)?;
        let other = Runner { candidates: &candidates, ..*runner };
        let run = other.runs(&[*basin])?.first().copied().unwrap_or_default();
        Ok(Case { what, run: Some(run), settled: None, clean_out_years: None, fails: weather_fails(&run) })
    };
    let (more, less) = rayon::join(|| with_rain("rain 20 % more", 1.2), || with_rain("rain 20 % less", 0.8));
    cases.extend([more?, less?]);
    let of = Version::of(*basin);
    let versions = [
        ("seepage 30 % more", Version { seepage_times: 1.3, ..of }),
        ("seepage 30 % less", Version { seepage_times: 0.7, ..of }),
        ("sludge store empty", Version { sludge: SludgeStore::Empty, ..of }),
        ("one clean-out left out", Version { sludge: SludgeStore::Twice, ..of }),
    ];
    let runs = runner.simulate(&versions.map(|(_, version)| version))?;
    for ((what, version), (run, _)) in versions.into_iter().zip(runs) {
        if version.sludge != SludgeStore::Full && demands.stack(basin).sludge_m3 <= 0.0 {
            continue;
        }
        cases.push(Case { what, run: Some(run), settled: None, clean_out_years: None, fails: weather_fails(&run) });
    }
    if demands.duties.clean_out.is_some() {
        for (what, times) in [("solids 25 % more", 1.25), ("solids 25 % less", 0.75)] {
            // The store is made for the solids as typed: more of them are a clean-out sooner, and no duty broken.
            cases.push(Case {
                what,
                run: None,
                settled: None,
                clean_out_years: years(demands, basin, times),
                fails: Vec::new(),
            });
        }
    }
    if let (Some(settle), Some((_, rate))) = (&demands.duties.settle, &basics.stuck_wash) {
        let share = settled(demands, basin, demands.needs.peak_m3_s + rate);
        let fails = if share.is_some_and(|share| share < settle.share.si) { vec![Duty::Settle] } else { Vec::new() };
        cases.push(Case { what: "a filter stuck in wash", run: None, settled: share, clean_out_years: None, fails });
    }
    Ok(cases)
}

pub(super) fn settled(demands: &Demands, basin: &Basin, flow_m3_s: f64) -> Option<f64> {
    demands.duties.settle.as_ref()?;
    let stack = demands.stack(basin);
    let area = basin.area_m2(stack.pool_top_m.min(basin.depth_m));
    Some(crate::sizing::needs::share_settled(area, flow_m3_s, demands.needs.settling_m_s, demands.cells))
}

/// Years until the store made for the solids as typed is full of so many times as many.
pub(super) fn years(demands: &Demands, basin: &Basin, times: f64) -> Option<f64> {
    demands.duties.clean_out.as_ref()?;
    let rate = times * demands.sludge_m3_a_year(basin);
    (rate > 0.0).then(|| demands.stack(basin).sludge_m3 / rate)
}

pub(super) fn impossible(grid: &Grid, demands: &Demands, runner: &Runner) -> Result<Impossible, Problems> {
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
    // What weather asks for is best done by the shape with the most room, or the widest of that depth.
    if demands.needs_weather()
        && let Some(most) = largest(grid)
    {
        let run = runner.runs(&[most])?.into_iter().next().unwrap_or_default();
        keep_best(&mut best, demands.over_years(&run), &most);
    }
    let nearest = match nearest {
        Some((.., basin)) => {
            let checks = runner.checks(&[basin])?.into_iter().next().unwrap_or_default();
            Some((basin, checks))
        }
        None => None,
    };
    Ok(Impossible { shapes: all.len(), best, nearest })
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
