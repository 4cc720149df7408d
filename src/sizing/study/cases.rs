//! What could be otherwise: the pond found, with one thing of the site changed at a time.

use super::answers::years;
use super::*;
use uom::si::f64::Ratio;
use uom::si::ratio::ratio;

use crate::facility::model::RunoffRule;
use crate::files::Given;
use crate::quantity::{Range, Stated};
use crate::sizing::StormFrom;
use crate::sizing::demands::Measure;
use crate::sizing::drainage::higher_curve;
use crate::sizing::needs::share_settled;
use crate::sizing::study::demanded::off_curves;

/// Curve numbers are so much higher.
const CURVE_HIGHER: f64 = 5.0;
/// Water is so much colder, K.
const COLDER_K: f64 = 5.0;
/// Sides are so much flatter, run over rise.
const FLATTER: f64 = 0.5;

/// The storm is so many times as deep.
const LESS: f64 = 0.8;
/// The case of a lesser storm.
pub const LESS_STORM: &str = "storm 20 % less deep, and the level kept with it";

/// The cases in the order they are printed in.
pub(super) fn cases(
    runner: &Runner,
    basin: &Basin,
    run: &Simulated,
    basics: &Basics,
    timeline: &Timeline,
) -> Result<Vec<Case>, Problems> {
    let demands = runner.demands;
    let settles = demands.duties.settle.is_some();
    let mut cases = vec![Case {
        what: "as sized",
        run: Some(*run),
        settled: settles.then(|| demands.settled(basin)),
        clean_out_years: years(demands, basin, 1.0),
        fails: Vec::new(),
    }];
    let other = Otherwise { runner, basin, sized: run, timeline };
    let weather = |what: &'static str, rain: f64, evaporation: f64| other.weather(what, rain, evaporation);
    let ((more, less), (wet, dry)) = rayon::join(
        || rayon::join(|| weather("rain 20 % more", 1.2, 1.0), || weather("rain 20 % less", 0.8, 1.0)),
        || rayon::join(|| weather("evaporation 20 % less", 1.0, 0.8), || weather("evaporation 20 % more", 1.0, 1.2)),
    );
    cases.extend([more?, less?, wet?, dry?]);
    cases.extend(other.curves(basics)?);
    if demands.duties.storm.is_some() {
        cases.push(other.storm(basics, "storm 20 % deeper", 1.2)?);
        cases.extend(other.lesser_storm(basics, run)?);
    }
    cases.extend(other.flatter()?);
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
        let mut fails = other.fails_over_years(demands, basin, &run);
        // Left out, a clean-out comes half as often as the store is made for.
        if version.sludge == SludgeStore::Twice {
            fails.insert(0, lacking_store(demands, basin, 2.0));
        }
        cases.push(Case { what, run: Some(run), settled: None, clean_out_years: None, fails });
    }
    if let Some(duty) = &demands.duties.clean_out {
        for (what, times) in [("solids 25 % more", 1.25), ("solids 25 % less", 0.75)] {
            let clean_out_years = years(demands, basin, times);
            let sooner = clean_out_years.is_some_and(|years| years < duty.every_years - 1e-9);
            let mut fails = if sooner { vec![lacking_store(demands, basin, times)] } else { Vec::new() };
            fails.extend(forebay_sooner(demands, basin, times));
            cases.push(Case { what, run: None, settled: None, clean_out_years, fails });
        }
    }
    if settles {
        cases.push(other.colder());
    }
    cases.extend(harder_rain(demands, basin, &basics.drained));
    if let Some((_, rate)) = &basics.stuck_wash {
        cases.extend(stuck_in_wash(demands, basin, *rate));
    }
    Ok(cases)
}

/// Every flow that a duty is held at, so much more; none where no duty is held at a flow.
fn stuck_in_wash(demands: &Demands, basin: &Basin, more_m3_s: f64) -> Option<Case> {
    let mut demands = demands.clone();
    for flow in [&mut demands.needs.peak_m3_s, &mut demands.needs.overflow_m3_s, &mut demands.needs.detained_m3_s] {
        *flow += more_m3_s;
    }
    at_flow("a filter stuck in wash", &demands, basin)
}

/// Rain at the peak twice as hard, in each flow that is worked out from it; none where none is.
fn harder_rain(demands: &Demands, basin: &Basin, drained: &[Drained]) -> Option<Case> {
    const TIMES: f64 = 2.0;
    let duties = &demands.duties;
    let settle = duties.settle.as_ref().filter(|settle| settle.flow.is_none())?;
    let rain_m_s = settle.rain_at_peak.as_ref()?.si;
    let runoff_m3_s = |rain_m_s: f64| {
        let mut of = Peak::default();
        peak::runoff(&mut of, drained, rain_m_s, off_curves(duties, settle));
        of.m3_s()
    };
    let more_m3_s = runoff_m3_s(TIMES * rain_m_s) - runoff_m3_s(rain_m_s);
    let mut demands = demands.clone();
    let needs = &mut demands.needs;
    // A flow that was typed has no rain in it.
    let worked = |duty: Option<bool>| duty == Some(true);
    for (is, flow, rain) in [
        (true, &mut needs.peak_m3_s, &mut needs.peak_rain_m_s),
        (
            worked(duties.overflow_rate.as_ref().map(|duty| duty.flow.is_none())),
            &mut needs.overflow_m3_s,
            &mut needs.overflow_rain_m_s,
        ),
        (
            worked(duties.detention.as_ref().map(|duty| duty.flow.is_none())),
            &mut needs.detained_m3_s,
            &mut needs.detained_rain_m_s,
        ),
    ] {
        if is {
            *flow += more_m3_s;
            *rain *= TIMES;
        }
    }
    at_flow("rain at the peak twice as hard", &demands, basin)
}

/// What is held at a flow, held anew; none where nothing is.
fn at_flow(what: &'static str, demands: &Demands, basin: &Basin) -> Option<Case> {
    let of_flow = |check: &Check| matches!(check.duty, Duty::Settle | Duty::OverflowRate | Duty::Detention);
    let checks: Vec<Check> = demands.fixed(basin).into_iter().filter(of_flow).collect();
    (!checks.is_empty()).then(|| Case {
        what,
        run: None,
        settled: demands.duties.settle.is_some().then(|| demands.settled(basin)),
        clean_out_years: None,
        fails: failing(&checks),
    })
}

/// The store of sludge, where so many times what it is made for is to go into it.
fn lacking_store(demands: &Demands, basin: &Basin, times: f64) -> Check {
    let store_m3 = demands.stack(basin).sludge_m3;
    Check::new(Duty::CleanOut, Measure::Volume, times * store_m3, store_m3)
}

/// The forebay's clean-outs, where so many times the solids fill it sooner than asked.
fn forebay_sooner(demands: &Demands, basin: &Basin, times: f64) -> Option<Check> {
    let (asked, _) = demands.duties.forebay.as_ref()?.every.as_ref()?;
    let years = demands.forebay(basin)?.years? / times;
    let check = Check::new(Duty::ForebayCleanOut, Measure::YearsAtLeast, *asked, years);
    (!check.is_met()).then_some(check)
}

fn failing(checks: &[Check]) -> Vec<Check> {
    checks.iter().filter(|check| !check.is_met()).copied().collect()
}

/// What a case is made from.
struct Otherwise<'a> {
    runner: &'a Runner<'a>,
    basin: &'a Basin,
    /// What the years did to it as it is sized.
    sized: &'a Simulated,
    timeline: &'a Timeline,
}

impl Otherwise<'_> {
    fn over_years(&self, what: &'static str, run: Simulated) -> Case {
        let fails = self.fails_over_years(self.runner.demands, self.basin, &run);
        Case { what, run: Some(run), settled: None, clean_out_years: None, fails }
    }

    /// What turns on the years and fails, or is no longer kept where the pond as sized keeps it.
    fn fails_over_years(&self, demands: &Demands, basin: &Basin, run: &Simulated) -> Vec<Check> {
        let mut fails = failing(&demands.over_years(run));
        let not_kept = |all: &[Check], duty: Duty| all.iter().any(|of| of.duty == duty && of.comes != Comes::Done);
        let (now, as_sized) = (demands.checks(basin, run), self.runner.demands.checks(self.basin, self.sized));
        for check in now.iter().filter(|check| matches!(check.duty, Duty::Hold | Duty::StormRoom)) {
            let known = fails.iter().any(|of| of.duty == check.duty);
            let fits = !matches!(check.measure, Measure::Volume) || check.has >= check.asked;
            if fits && !known && check.comes != Comes::Done && !not_kept(&as_sized, check.duty) {
                fails.push(Check { comes: Comes::NotDone, ..*check });
            }
        }
        fails
    }

    /// Of another facility or weather.
    fn run(&self, facility: &Facility, weather: &DailyWeather, demands: &Demands) -> Result<Simulated, Problems> {
        let site = Site { facility, weather, ..self.runner.site };
        // What is dug and bought stays: a drawdown is as fast as it is, whatever more is asked of it.
        let version = Version { rate_m3_s: self.rate_m3_s(), ..Version::of(*self.basin) };
        let reference = with_basin(facility, site.pond, demands, &version);
        let candidates = candidates(&reference, weather, self.timeline, site.period)?;
        let runner = Runner { candidates: &candidates, site, demands, known: None, ..*self.runner };
        Ok(runner.simulate(&[version])?.first().map(|(run, _)| *run).unwrap_or_default())
    }

    /// How fast its drawdown is, m³/s.
    fn rate_m3_s(&self) -> Option<f64> {
        self.runner.demands.drawdown_m3_s(self.basin)
    }

    /// A larger storm, with the levels kept so much lower for it: the years with these, and the storm itself.
    fn of_storm(&self, what: &'static str, facility: &Facility, demands: &Demands) -> Result<Case, Problems> {
        let run = self.run(facility, self.runner.site.weather, demands)?;
        let mut fails = failing(&demands.fixed(self.basin));
        let storm = demands.duties.storm.as_ref();
        if let Some(drawdown) = storm.and_then(|storm| storm.drawdown.as_ref()).filter(|one| one.rate.is_none())
            && let Some(rate) = self.rate_m3_s().filter(|rate| *rate > 0.0)
        {
            let hours = demands.stack(self.basin).storm_m3 / rate / 3600.0;
            fails.extend(failing(&[Check::new(Duty::Drawdown, Measure::Hours, drawdown.within_h, hours)]));
        }
        for check in self.fails_over_years(demands, self.basin, &run) {
            if fails.iter().all(|known| known.duty != check.duty) {
                fails.push(check);
            }
        }
        Ok(Case { what, run: Some(run), settled: None, clean_out_years: None, fails })
    }

    fn weather(&self, what: &'static str, rain: f64, evaporation: f64) -> Result<Case, Problems> {
        let mut weather = self.runner.site.weather.clone();
        for day in &mut weather.rain {
            day.depth_mm = day.depth_mm.map(|mm| mm * rain);
        }
        for depth in &mut weather.evaporation_m {
            *depth = depth.map(|m| m * evaporation);
        }
        Ok(self.over_years(what, self.run(self.runner.site.facility, &weather, self.runner.demands)?))
    }

    /// With every curve number higher, in the years and in the storm; none where no ground has one.
    fn curves(&self, basics: &Basics) -> Result<Option<Case>, Problems> {
        if basics.drained.iter().all(|one| one.curves().next().is_none()) {
            return Ok(None);
        }
        let mut facility = self.runner.site.facility.clone();
        for place in &mut facility.places {
            let PlaceKind::Catchment(catchment) = &mut place.kind else { continue };
            for part in &mut catchment.parts {
                if let RunoffRule::CurveNumber(number) = &mut part.runoff {
                    raise(number);
                }
            }
        }
        let mut demands = self.runner.demands.clone();
        let runoff = |rain_m: f64| {
            basics.drained.iter().map(|one| one.with_curves_higher(CURVE_HIGHER).runoff_m3(rain_m)).sum::<f64>()
        };
        demands.needs.storm_runoff_m3 = runoff(demands.needs.storm_m);
        demands.needs.first_rain_runoff_m3 = runoff(demands.needs.first_rain_m);
        Ok(Some(self.of_storm("curve numbers 5 higher", &facility, &demands)?))
    }

    /// What is demanded with a storm so many times as deep.
    fn with_storm(&self, basics: &Basics, times: f64) -> Demands {
        let mut demands = self.runner.demands.clone();
        let deep_m = demands.needs.storm_m * times;
        demands.needs.storm_m = deep_m;
        demands.needs.storm_runoff_m3 = basics.drained.iter().map(|one| one.runoff_m3(deep_m)).sum();
        demands
    }

    /// A lesser storm, where spills are asked and the level kept is the storm's own: kept fuller, the pond may spill oftener.
    /// None where it does not.
    fn lesser_storm(&self, basics: &Basics, run: &Simulated) -> Result<Option<Case>, Problems> {
        let duties = &self.runner.demands.duties;
        let own = duties.storm.as_ref().is_some_and(|storm| !matches!(storm.from, StormFrom::BelowSpill(_)));
        if !own || duties.spills.is_none() {
            return Ok(None);
        }
        let demands = self.with_storm(basics, LESS);
        let runner = Runner { demands: &demands, known: None, ..*self.runner };
        let lesser = runner.runs(&[*self.basin])?.first().copied().unwrap_or_default();
        let fails = failing(&demands.over_years(&lesser));
        let oftener = lesser.spill.a_year() > run.spill.a_year();
        Ok(oftener.then_some(Case { what: LESS_STORM, run: Some(lesser), settled: None, clean_out_years: None, fails }))
    }

    fn storm(&self, basics: &Basics, what: &'static str, times: f64) -> Result<Case, Problems> {
        self.of_storm(what, self.runner.site.facility, &self.with_storm(basics, times))
    }

    /// Dug to the same length, width and depth with flatter sides; none where they would meet.
    fn flatter(&self) -> Result<Option<Case>, Problems> {
        let basin = Basin { slope: self.basin.slope + FLATTER, ..*self.basin };
        if basin.shape().is_none() {
            return Ok(None);
        }
        let run = self.runner.runs(&[basin])?.first().copied().unwrap_or_default();
        let mut fails = failing(&self.runner.demands.checks(&basin, &run));
        for check in self.fails_over_years(self.runner.demands, &basin, &run) {
            if fails.iter().all(|known| known.duty != check.duty) {
                fails.push(check);
            }
        }
        Ok(Some(Case { what: "sides 0.5 to 1 flatter", run: Some(run), settled: None, clean_out_years: None, fails }))
    }

    fn colder(&self) -> Case {
        let demands = self.runner.demands;
        let held = demands.duties.settle.as_ref().map(|settle| {
            // Water does not get colder than it freezes.
            let kelvin_now = settle.temperature.si;
            let cold = settling_m_s(settle, (kelvin_now - COLDER_K).max(FREEZING_K.min(kelvin_now)));
            let area = demands.settling_area_m2(self.basin);
            let share = share_settled(area, demands.peak_m3_s(self.basin), cold, demands.cells);
            Check::new(Duty::Settle, Measure::Share, settle.share.si, share)
        });
        let fails = failing(held.as_slice());
        Case {
            what: "water 5 °C colder",
            run: None,
            settled: held.map(|check| check.has),
            clean_out_years: None,
            fails,
        }
    }
}

fn raise(number: &mut Given<Ratio>) {
    if let Some(range) = number.stated.known() {
        let higher = |one: Ratio| Ratio::new::<ratio>(higher_curve(one.get::<ratio>(), CURVE_HIGHER));
        number.stated = Stated::Known(Range { low: higher(range.low), high: higher(range.high) });
    }
}
