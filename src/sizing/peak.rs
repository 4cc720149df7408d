//! The peak flow through the pond, worked out from what the facility says of each thing that runs to it.
//!
//! All at once: every use returns at its running rate, every filter washes one vessel, every pump runs, and what runs
//! into a full tank or pond upstream runs out of it. Rates are instantaneous, not means of a day.

use uom::si::area::square_meter;
use uom::si::f64::{Area, Length, Ratio, Time, VolumeRate};
use uom::si::length::meter;
use uom::si::ratio::ratio;
use uom::si::time::second;
use uom::si::volume_rate::cubic_meter_per_second;

use crate::facility::model::{Facility, Filter, Outflow, PlaceId, PlaceKind, Use, UseAmount};
use crate::facility::{Carries, Graph};
use crate::files::Given;
use crate::science::hydrology::{CurveNumber, RainfallType, graphical_peak, runoff_depth};

use super::drainage::{Drained, LAMBDA};

const DAY_S: f64 = 86_400.0;

/// One part of a peak flow.
#[derive(Debug, Clone, PartialEq)]
pub struct PeakPart {
    /// The place it comes from.
    pub from: String,
    /// What it is: `return water`, `wash water`, `runoff`.
    pub what: &'static str,
    /// m³/s.
    pub m3_s: f64,
}

/// A peak flow and what could not be counted in it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Peak {
    /// Its parts.
    pub parts: Vec<PeakPart>,
    /// What is left out, and why.
    pub left_out: Vec<String>,
}

impl Peak {
    /// The sum, m³/s.
    pub fn m3_s(&self) -> f64 {
        self.parts.iter().map(|part| part.m3_s).sum()
    }
}

fn high(given: &Given<VolumeRate>) -> Option<f64> {
    given.ends().map(|(_, high)| high.value)
}

/// What runs to a place in dry weather, all at once; runoff is added by [`runoff`].
pub fn dry_weather(facility: &Facility, to: PlaceId) -> Peak {
    let graph = Graph::of(facility);
    let mut peak = Peak::default();
    into(facility, &graph, to, &mut Vec::new(), &mut peak);
    peak
}

/// How much of the rain runs off ground with a curve number at the peak.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum OffCurves {
    /// The rational method with this share of the rain.
    Share(f64),
    /// The rational method with the share of a storm of this depth, m, that runs off by the curve number.
    ShareOfStorm(f64),
    /// The graphical method: rain of 24 h, m, time of concentration, s, and distribution.
    Graphical(f64, f64, RainfallType),
}

impl OffCurves {
    /// Peak of an area, m³/s, while it rains at a rate.
    fn rate_m3_s(self, area_m2: f64, number: CurveNumber, rain_m_s: f64) -> f64 {
        match self {
            Self::Share(share) => share * rain_m_s * area_m2,
            Self::ShareOfStorm(storm_m) => {
                let runoff = runoff_depth(Length::new::<meter>(storm_m), number, Ratio::new::<ratio>(LAMBDA)).value;
                runoff.get::<meter>() / storm_m * rain_m_s * area_m2
            }
            Self::Graphical(rain_m, seconds, kind) => graphical_peak(
                Length::new::<meter>(rain_m),
                number,
                Area::new::<square_meter>(area_m2),
                Time::new::<second>(seconds),
                kind,
            )
            .value
            .get::<cubic_meter_per_second>(),
        }
    }

    /// `runoff (rational)`, `runoff (graphical)`.
    fn words(self) -> &'static str {
        match self {
            Self::Share(_) => "runoff, curve number (rational, share typed)",
            Self::ShareOfStorm(_) => "runoff, curve number (rational)",
            Self::Graphical(..) => "runoff, curve number (graphical)",
        }
    }
}

/// Adds runoff: of ground with a share that runs off and of open water at a steady rate of rain, of ground with a curve
/// number as told. Whether there is such ground and nothing tells.
pub fn runoff(peak: &mut Peak, drained: &[Drained], rain_m_s: f64, off_curves: Option<OffCurves>) -> bool {
    let mut untold = false;
    for one in drained {
        let steady = one.rate_m3_s(rain_m_s);
        if steady > 0.0 {
            peak.parts.push(PeakPart { from: one.name.clone(), what: "runoff (rational)", m3_s: steady });
        }
        let mut curved = 0.0;
        for (area, number) in one.curves() {
            match off_curves {
                Some(how) => curved += how.rate_m3_s(area, number, rain_m_s),
                None => untold = true,
            }
        }
        if let Some(how) = off_curves.filter(|_| curved > 0.0) {
            peak.parts.push(PeakPart { from: one.name.clone(), what: how.words(), m3_s: curved });
        }
    }
    untold
}

fn into(facility: &Facility, graph: &Graph, to: PlaceId, on_the_way: &mut Vec<PlaceId>, peak: &mut Peak) {
    if on_the_way.contains(&to) {
        return;
    }
    on_the_way.push(to);
    for way in graph.ways_to(to) {
        let Some(from) = facility.get(way.from) else {
            continue;
        };
        let mut add = |what: &'static str, rate: Option<f64>| match rate {
            Some(m3_s) if m3_s > 0.0 => peak.parts.push(PeakPart { from: from.name.clone(), what, m3_s }),
            Some(_) => {}
            None => peak.left_out.push(format!("{} of {}: its rate is not known", what, from.name)),
        };
        match (way.carries, &from.kind) {
            (Carries::Return, PlaceKind::Use(one)) => {
                add("return water", return_rate(one).map(|rate| rate * part_to(one.goes_to.as_ref(), to)));
            }
            (Carries::WashWater, PlaceKind::Filter(filter)) => {
                add(
                    "wash water",
                    wash_rate(filter).map(|rate| rate * part_to(filter.wash.as_ref().map(|w| &w.to), to)),
                );
            }
            (Carries::RinseWater, PlaceKind::Filter(filter)) => {
                if let Some(rinse) = filter.kind.rinse() {
                    add("rinse water", high(&rinse.flow).map(|rate| rate * part_to(Some(&rinse.to), to)));
                }
            }
            // A membrane's reject is part of what comes to it, at no more than it handles.
            (Carries::Reject, PlaceKind::Filter(filter)) => {
                let rate = reject_rate(filter);
                add("reject", rate.map(|rate| rate * part_to(filter.kind.flows_off_to(), to)));
            }
            (Carries::PumpedOut, PlaceKind::Tank(tank)) => {
                if let Some(pump) = &tank.pumped_out {
                    add("pumped", high(&pump.rate).map(|rate| rate * part_to(Some(&pump.to), to)));
                }
            }
            (Carries::PumpedOut, PlaceKind::Pond(pond)) => {
                if let Some(pump) = &pond.pumped_out {
                    add("pumped", high(&pump.rate).map(|rate| rate * part_to(Some(&pump.to), to)));
                }
            }
            (Carries::Passed, PlaceKind::Transfer(transfer)) => {
                let rate = rate_of(&transfer.amount, transfer.runs.as_ref());
                add("transfer", rate.map(|rate| rate * part_to(Some(&transfer.goes_to), to)));
            }
            // What a filter on a push line or a full store is given, it passes on; past a filter goes what is over its
            // capacity. Counting the whole for each way is the safe side.
            (Carries::Passed | Carries::Bypass | Carries::Spill, _) => {
                let before = peak.parts.len();
                into(facility, graph, way.from, on_the_way, peak);
                if let PlaceKind::Filter(filter) = &from.kind {
                    cut(peak, before, way.carries, filter);
                }
            }
            _ => {}
        }
    }
    on_the_way.pop();
}

/// Cuts what passed through a filter to its capacity, or what went past it to the excess.
fn cut(peak: &mut Peak, before: usize, carries: Carries, filter: &Filter) {
    let Some(most) = filter.handles_at_most.as_ref().and_then(high) else {
        return;
    };
    let sum: f64 = peak.parts.iter().skip(before).map(|part| part.m3_s).sum();
    if sum.is_nan() || sum <= 0.0 {
        return;
    }
    let keep = match carries {
        Carries::Bypass => (sum - most).max(0.0),
        _ => sum.min(most),
    };
    for part in peak.parts.iter_mut().skip(before) {
        part.m3_s *= keep / sum;
    }
    peak.parts.retain(|part| part.m3_s > 0.0);
}

/// The part of an outflow that goes straight to a place; all of it where a list is tried in order.
fn part_to(out: Option<&Outflow>, to: PlaceId) -> f64 {
    let Some(out) = out else { return 1.0 };
    match out {
        Outflow::InOrder(_) => 1.0,
        Outflow::Shares { shares, .. } => {
            let of = |given: &Given<Ratio>| given.ends().map_or(0.0, |(_, high)| high.value);
            let typed: f64 = shares.iter().filter_map(|share| share.share.as_ref()).map(of).sum();
            shares
                .iter()
                .filter(|share| share.to == to)
                .map(|share| share.share.as_ref().map_or((1.0 - typed).max(0.0), of))
                .sum()
        }
    }
}

fn return_rate(one: &Use) -> Option<f64> {
    let share = one.returns.ends()?.1.value;
    Some(share * rate_of(&one.amount, one.runs.as_ref())?)
}

/// The rate while it runs: the day's amount over its running time.
fn rate_of(amount: &UseAmount, runs: Option<&Given<Time>>) -> Option<f64> {
    let a_day = match amount {
        UseAmount::PerDay(given) => high(given)? * DAY_S,
        UseAmount::DepthPerDay { area, depth } => area.ends()?.1.value * depth.ends()?.1.value * DAY_S,
        UseAmount::Floods { area, depth, floods_a_day, .. } => {
            area.ends()?.1.value * depth.ends()?.1.value * floods_a_day.ends()?.1.value
        }
    };
    let runs_s = runs.and_then(Given::ends).map_or(DAY_S, |(low, _)| low.value);
    (runs_s > 0.0).then(|| a_day / runs_s)
}

/// The rate of a wash: one vessel at a time.
/// What a membrane turns back at the most that it handles.
fn reject_rate(filter: &Filter) -> Option<f64> {
    let (_, share) = filter.kind.reject()?.share()?;
    filter.handles_at_most.as_ref().and_then(high).map(|most| most * share)
}

pub(super) fn wash_rate(filter: &Filter) -> Option<f64> {
    let wash = filter.wash.as_ref()?;
    if let Some(rate) = wash.rate.as_ref().and_then(high) {
        return Some(rate);
    }
    let lasts = wash.lasts.as_ref().and_then(Given::ends).map(|(low, _)| low.value);
    let area = filter
        .kind
        .media_bed()
        .and_then(|bed| bed.diameter.ends().map(|(_, high)| std::f64::consts::FRAC_PI_4 * high.value * high.value));
    let flux = wash.flux.as_ref().and_then(Given::ends).map(|(_, high)| high.value);
    if let (Some(flux), Some(area)) = (flux, area) {
        return Some(flux * area);
    }
    let volume = wash.volume.as_ref().and_then(Given::ends).map(|(_, high)| high.value)?;
    let seconds = lasts? * f64::from(wash.vessels.max(1));
    (seconds > 0.0).then(|| volume / seconds)
}
