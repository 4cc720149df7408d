//! The sizes that were run, each held against every duty: what a page lets one choose among.

use super::*;

/// Depths of the pond's own plan that are run beside it, at the most.
const DEPTHS: usize = 9;

/// A shape held against every duty.
#[derive(Debug, Clone, PartialEq)]
pub struct Held {
    /// The shape.
    pub basin: Basin,
    /// Its layers.
    pub layers: Vec<Layer>,
    /// Their volumes.
    pub stack: Stack,
    /// The level kept in ordinary times, m above the floor.
    pub normal_m: f64,
    /// Every duty.
    pub checks: Vec<Check>,
    /// What nobody typed and an engineer looks at.
    pub advice: Vec<Advice>,
    /// What years of weather did.
    pub run: Simulated,
    /// What it costs at the prices typed.
    pub cost: Option<f64>,
    /// Rate at which water is let out before a storm, m³/s, where it is.
    pub drawdown_m3_s: Option<f64>,
}

impl Held {
    pub(super) fn of(demands: &Demands, basin: Basin, run: Simulated) -> Self {
        let stack = demands.stack(&basin);
        Self {
            basin,
            layers: demands.layers(&basin),
            stack,
            normal_m: demands.normal_m(&basin),
            checks: demands.checks(&basin, &run),
            advice: demands.advice(&basin, &run),
            run,
            cost: demands.cost(&basin),
            drawdown_m3_s: demands.drawdown_m3_s(&basin),
        }
    }

    /// Whether every duty is done as far as the years can show.
    pub fn does_all(&self) -> bool {
        self.checks.iter().all(|check| matches!(check.comes, Comes::Done | Comes::TooFewYears))
    }
}

/// Why a size was run.
#[derive(Debug, Clone, PartialEq)]
pub enum Why {
    /// It is the least pond, or the pond that stands or is drawn.
    Itself,
    /// One step smaller: `shallower`, m.
    Smaller(&'static str, f64),
    /// As deep, with the plan so many times as long and as wide.
    SameDepth(f64),
    /// The same plan at another depth.
    SamePlan,
    /// The least shape of its depth that does every duty, with what governs it.
    LeastOfDepth(Vec<Duty>),
    /// No shape does this duty better.
    BestFor(Duty),
    /// Of shapes that fail, it comes nearest to every duty.
    Nearest,
    /// The least of a change that makes the pond do its duties.
    Change(Box<Change>),
}

/// A size that was run.
#[derive(Debug, Clone, PartialEq)]
pub struct Tried {
    /// Why; several reasons may lead to one shape.
    pub why: Vec<Why>,
    /// How it came out.
    pub held: Held,
}

/// Every size that stands behind an outcome, the smallest first; those that were not run for it are `free` to have a rate of
/// their own.
pub(super) fn tried(
    (runner, free): (&Runner, &Runner),
    grid: &Grid,
    outcome: &Outcome,
) -> Result<Vec<Tried>, Problems> {
    let mut wanted: Vec<(Basin, Why)> = Vec::new();
    let mut ran: Vec<(Basin, Simulated)> = Vec::new();
    let mut changed = Vec::new();
    match outcome {
        Outcome::Pond(answer) => of_answer(runner, grid, answer, &mut wanted, &mut ran),
        Outcome::This(answer, changes) => {
            of_answer(runner, grid, answer, &mut wanted, &mut ran);
            for change in changes {
                if let Some(held) = &change.with {
                    changed.push(Tried { why: vec![Why::Change(Box::new(change.clone()))], held: held.clone() });
                }
            }
        }
        Outcome::None(impossible) => {
            wanted.extend(impossible.nearest.iter().map(|(basin, _)| (*basin, Why::Nearest)));
            wanted.extend(impossible.best.iter().map(|(check, basin)| (*basin, Why::BestFor(check.duty))));
        }
    }
    let mut shapes: Vec<(Basin, Vec<Why>)> = Vec::new();
    for (basin, why) in wanted {
        match shapes.iter_mut().find(|(known, _)| *known == basin) {
            Some((_, reasons)) => reasons.push(why),
            None => shapes.push((basin, vec![why])),
        }
    }
    let known = |basin: &Basin| ran.iter().find(|(other, _)| other == basin).map(|(_, run)| *run);
    let to_run: Vec<Basin> = shapes.iter().map(|(basin, _)| *basin).filter(|basin| known(basin).is_none()).collect();
    let mut runs = free.best_paced(&to_run)?.into_iter();
    let mut all = changed;
    for (basin, why) in shapes {
        let held = match (known(&basin), runs.as_slice().first().copied()) {
            (Some(run), _) => Held::of(runner.demands, basin, run),
            (None, paced) => {
                runs.next();
                let paced = paced.map_or((Simulated::default(), None), |paced| (paced.run, paced.rate_m3_s));
                Held { drawdown_m3_s: paced.1, ..Held::of(runner.demands, basin, paced.0) }
            }
        };
        all.push(Tried { why, held });
    }
    let size = |of: &Tried| (of.held.basin.capacity_m3(), of.held.basin.depth_m);
    all.sort_by(|a, b| size(a).0.total_cmp(&size(b).0).then(size(a).1.total_cmp(&size(b).1)));
    Ok(all)
}

fn of_answer(
    runner: &Runner,
    grid: &Grid,
    answer: &Answer,
    wanted: &mut Vec<(Basin, Why)>,
    ran: &mut Vec<(Basin, Simulated)>,
) {
    let basin = answer.found.basin;
    wanted.push((basin, Why::Itself));
    ran.push((basin, answer.run));
    let smaller = answer.smaller.iter().filter_map(|one| Some((one.shape.as_ref()?.0, one)));
    wanted.extend(smaller.map(|(shape, one)| (shape, Why::Smaller(one.word, one.step_m))));
    for (shape, run) in answer.curve.iter().filter(|(shape, _)| *shape != basin) {
        wanted.push((*shape, Why::SameDepth(shape.length_m / basin.length_m)));
        ran.push((*shape, *run));
    }
    let depths: Vec<Basin> = grid
        .depths_m
        .iter()
        .map(|depth| Basin { depth_m: *depth, ..basin })
        .filter(|shape| grid.fits(shape) && shape.shape().is_some() && *shape != basin)
        .filter(|shape| runner.demands.stack(shape).pool_top_m < shape.depth_m)
        .collect();
    wanted.extend(spread(depths, DEPTHS).into_iter().map(|shape| (shape, Why::SamePlan)));
    wanted.extend(answer.listed.iter().map(|one| (one.basin, Why::LeastOfDepth(one.governs.clone()))));
}
