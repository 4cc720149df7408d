//! Runs of a shape at the rates that its drawdown may have.

use super::*;
use crate::sizing::rates::{Wants, step_m3_s};

/// A shape, with the rate at which its drawdown lets water out, m³/s, where it has one.
pub(super) type AtRate = (Basin, Option<f64>);

/// A shape run at a rate that suits it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Paced {
    /// What years of weather did at that rate.
    pub run: Simulated,
    /// The rate, m³/s, where there is a drawdown.
    pub rate_m3_s: Option<f64>,
    /// Whether it then does what turns on the years.
    pub does: bool,
}

/// A shape whose rate is looked for: steps that free too little, and those that free enough.
struct Sought {
    at: usize,
    basin: Basin,
    lacks: i32,
    frees: i32,
}

impl Runner<'_> {
    /// Each shape at the slowest drawdown with which it does what it may be refused for, or `kept`, all that its run is to
    /// keep; where no rate does, at the slowest. Unless the `slowest` is asked for, any rate that does it is taken.
    ///
    /// That a faster drawdown never leaves less room, and never more to use, is taken.
    pub(super) fn paced(&self, basins: &[Basin], kept: bool, slowest: bool) -> Result<Vec<Paced>, Problems> {
        let demands = self.demands;
        let wants = |run: &Simulated| demands.wants(run, kept);
        let slow: Vec<AtRate> = basins.iter().map(|basin| (*basin, demands.drawdown_m3_s(basin))).collect();
        let mut all: Vec<Paced> = slow
            .iter()
            .zip(self.runs_at(&slow)?)
            .map(|((_, rate), run)| Paced { run, rate_m3_s: *rate, does: wants(&run).nothing() })
            .collect();
        let mut sought: Vec<Sought> = basins
            .iter()
            .zip(&all)
            .enumerate()
            .filter(|(_, (_, paced))| wants(&paced.run) == Wants { faster: true, slower: false })
            .filter_map(|(at, (basin, _))| {
                let (lacks, frees) = demands.rate_steps(basin).filter(|(first, last)| last > first)?;
                Some(Sought { at, basin: *basin, lacks, frees })
            })
            .collect();
        // The fastest first: where it frees too little, no rate does.
        let runs = self.runs_at(&sought.iter().map(|of| (of.basin, Some(step_m3_s(of.frees)))).collect::<Vec<_>>())?;
        let mut runs = runs.into_iter();
        sought.retain(|of| {
            let run = runs.next().unwrap_or_default();
            let lacks = wants(&run);
            if lacks.nothing()
                && let Some(paced) = all.get_mut(of.at)
            {
                *paced = Paced { run, rate_m3_s: Some(step_m3_s(of.frees)), does: true };
            }
            !lacks.faster && (slowest || lacks.slower)
        });
        while !sought.is_empty() {
            let middle = |of: &Sought| of.lacks + (of.frees - of.lacks) / 2;
            sought.retain(|of| of.frees - of.lacks > 1);
            let at: Vec<AtRate> = sought.iter().map(|of| (of.basin, Some(step_m3_s(middle(of))))).collect();
            let runs = self.runs_at(&at)?;
            for (of, run) in sought.iter_mut().zip(runs) {
                let (step, lacks) = (middle(of), wants(&run));
                if lacks.faster {
                    of.lacks = step;
                    continue;
                }
                of.frees = step;
                if lacks.nothing()
                    && let Some(paced) = all.get_mut(of.at)
                {
                    *paced = Paced { run, rate_m3_s: Some(step_m3_s(step)), does: true };
                }
            }
            if !slowest {
                sought.retain(|of| all.get(of.at).is_some_and(|paced| !paced.does));
            }
        }
        Ok(all)
    }

    /// A shape at the rate that suits it best: one with which its run keeps all, else one with which it is not refused.
    pub(super) fn best_paced(&self, basins: &[Basin]) -> Result<Vec<Paced>, Problems> {
        if basins.iter().all(|basin| self.demands.rate_steps(basin).is_none()) {
            return self.paced(basins, true, true);
        }
        let mut all = self.paced(basins, true, true)?;
        let rest: Vec<usize> = (0..all.len()).filter(|at| all.get(*at).is_some_and(|paced| !paced.does)).collect();
        let shapes: Vec<Basin> = rest.iter().filter_map(|at| basins.get(*at)).copied().collect();
        for (at, paced) in rest.into_iter().zip(self.paced(&shapes, false, true)?) {
            if let Some(held) = all.get_mut(at) {
                *held = Paced { does: false, ..paced };
            }
        }
        Ok(all)
    }

    /// Runs of shapes, each at its rate.
    pub(super) fn runs_at(&self, at: &[AtRate]) -> Result<Vec<Simulated>, Problems> {
        let known = |at: &AtRate| self.known.and_then(|known| known.run(self.demands, at));
        let mut runs: Vec<Option<Simulated>> = at.iter().map(known).collect();
        let unknown: Vec<AtRate> = at.iter().zip(&runs).filter(|(_, run)| run.is_none()).map(|(at, _)| *at).collect();
        if unknown.is_empty() {
            return Ok(runs.into_iter().flatten().collect());
        }
        let versions: Vec<Version> =
            unknown.iter().map(|(basin, rate_m3_s)| Version { rate_m3_s: *rate_m3_s, ..Version::of(*basin) }).collect();
        let ran: Vec<Simulated> = self.simulate(&versions)?.into_iter().map(|(run, _)| run).collect();
        if let Some(known) = self.known {
            known.learn(self.demands, &unknown, &ran);
        }
        let mut ran = ran.into_iter();
        runs.iter_mut().filter(|run| run.is_none()).for_each(|run| *run = ran.next());
        Ok(runs.into_iter().flatten().collect())
    }

    /// Runs of shapes at the rate of the demands.
    pub(super) fn runs(&self, basins: &[Basin]) -> Result<Vec<Simulated>, Problems> {
        self.runs_at(&basins.iter().map(|basin| (*basin, self.demands.drawdown_m3_s(basin))).collect::<Vec<_>>())
    }
}
