//! What drains to the pond, and what of a given rain runs off it.

use uom::si::f64::{Area, Length, Ratio};
use uom::si::length::meter;
use uom::si::ratio::ratio;

use crate::facility::model::{Facility, Outflow, Part, PlaceId, PlaceKind, Pond, PondShape, RunoffRule};
use crate::files::Given;
use crate::science::hydrology::{CurveNumber, runoff_by_coefficient, runoff_depth};
use crate::told::{Problem, Problems};

/// λ of the curve number's initial abstraction in design use.
pub(super) const LAMBDA: f64 = 0.2;

/// A surface that drains to the pond.
#[derive(Debug, Clone, PartialEq)]
pub struct Drained {
    /// The catchment, or a pond upstream that is taken as full.
    pub name: String,
    /// Its area, m².
    pub area_m2: f64,
    /// Share of its runoff that gets to the pond.
    pub share: f64,
    /// Runoff rule of each part: area m², and what runs off; none for open water, where all of it does.
    parts: Vec<(f64, Option<Rule>)>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Rule {
    Share { runs_off: f64, soaked_m: f64 },
    Curve(f64),
}

impl Drained {
    /// What gets to the pond from a depth of rain, m³.
    pub fn runoff_m3(&self, rain_m: f64) -> f64 {
        let rain = Length::new::<meter>(rain_m);
        let depth_of = |rule: &Option<Rule>| match rule {
            None => rain_m,
            Some(Rule::Share { runs_off, soaked_m }) => {
                runoff_by_coefficient(rain, Ratio::new::<ratio>(*runs_off), Length::new::<meter>(*soaked_m))
                    .value
                    .get::<meter>()
            }
            Some(Rule::Curve(number)) => CurveNumber::new(*number)
                .map_or(0.0, |number| runoff_depth(rain, number, Ratio::new::<ratio>(LAMBDA)).value.get::<meter>()),
        };
        self.share * self.parts.iter().map(|(area, rule)| area * depth_of(rule)).sum::<f64>()
    }

    /// Runoff while it rains at a steady rate, m³/s, of what has a share that runs off and of open water: the rational
    /// method, on ground that is wet already.
    pub fn rate_m3_s(&self, rain_m_s: f64) -> f64 {
        let share_of = |rule: &Option<Rule>| match rule {
            None => 1.0,
            Some(Rule::Share { runs_off, .. }) => *runs_off,
            Some(Rule::Curve(_)) => 0.0,
        };
        self.share * rain_m_s * self.parts.iter().map(|(area, rule)| area * share_of(rule)).sum::<f64>()
    }

    /// Its parts with a curve number: area (m²) that counts for the pond, and the number.
    pub fn curves(&self) -> impl Iterator<Item = (f64, CurveNumber)> + '_ {
        self.parts.iter().filter_map(|(area, rule)| match rule {
            Some(Rule::Curve(number)) => Some((self.share * area, CurveNumber::new(*number)?)),
            _ => None,
        })
    }

    /// The same with every curve number so much higher, 98 at the most: paved ground (TR-55, table 2-2).
    #[must_use]
    pub fn with_curves_higher(&self, more: f64) -> Self {
        let mut other = self.clone();
        for (_, rule) in &mut other.parts {
            if let Some(Rule::Curve(number)) = rule {
                *number = higher_curve(*number, more);
            }
        }
        other
    }
}

/// A curve number so much higher, no higher than paved ground unless it was.
pub(super) fn higher_curve(number: f64, more: f64) -> f64 {
    (number + more).min(number.max(98.0))
}

/// Everything that drains to a pond: catchments directly, through filters, and through tanks and ponds taken as full, and
/// the surfaces of ponds upstream. A range is taken at the end that sends more. What is not known is told.
pub fn drained(facility: &Facility, pond: PlaceId, problems: &Problems) -> Vec<Drained> {
    let mut all = Vec::new();
    for (index, place) in facility.places.iter().enumerate() {
        match &place.kind {
            PlaceKind::Catchment(catchment) => {
                let share = share_along(facility, &catchment.goes_to, pond, 0);
                if share > 0.0 {
                    let parts: Vec<(f64, Option<Rule>)> =
                        catchment.parts.iter().filter_map(|part| rule_of(part, problems)).collect();
                    all.push(Drained {
                        name: place.name.clone(),
                        area_m2: parts.iter().map(|(area, _)| area).sum(),
                        share,
                        parts,
                    });
                }
            }
            PlaceKind::Pond(upstream) if PlaceId(index) != pond => {
                let share = upstream.spills_to.as_ref().map_or(0.0, |out| share_along(facility, out, pond, 0));
                if share > 0.0 {
                    let area = crest_area_m2(upstream);
                    all.push(Drained { name: place.name.clone(), area_m2: area, share, parts: vec![(area, None)] });
                }
            }
            _ => {}
        }
    }
    all
}

/// Share of an outflow that gets to a place in the same day. In a list tried in order, all of it may: limits do not hold
/// in a storm.
pub(super) fn share_along(facility: &Facility, out: &Outflow, to: PlaceId, depth: usize) -> f64 {
    // No longer path than there are places.
    if depth > facility.places.len() {
        return 0.0;
    }
    match out {
        Outflow::InOrder(steps) => {
            let mut most: f64 = 0.0;
            for step in steps {
                most = most.max(reach(facility, step.to, to, depth + 1));
                if step.at_most.is_none() {
                    break;
                }
            }
            most
        }
        Outflow::Shares { shares, .. } => {
            let typed: f64 = shares.iter().filter_map(|share| share.share.as_ref()).map(share_high).sum();
            shares
                .iter()
                .map(|share| {
                    let part = share.share.as_ref().map_or((1.0 - typed).max(0.0), share_high);
                    part * reach(facility, share.to, to, depth + 1)
                })
                .sum::<f64>()
                .min(1.0)
        }
    }
}

fn reach(facility: &Facility, from: PlaceId, to: PlaceId, depth: usize) -> f64 {
    if from == to {
        return 1.0;
    }
    let out = match facility.get(from).map(|place| &place.kind) {
        Some(PlaceKind::Filter(filter)) => filter.goes_to.as_ref(),
        Some(PlaceKind::Tank(tank)) => tank.overflows_to.as_ref(),
        Some(PlaceKind::Pond(pond)) => pond.spills_to.as_ref(),
        _ => None,
    };
    out.map_or(0.0, |out| share_along(facility, out, to, depth))
}

fn rule_of(part: &Part, problems: &Problems) -> Option<(f64, Option<Rule>)> {
    let area = known::<Area>(&part.area, problems)?.1;
    let rule = match &part.runoff {
        RunoffRule::Share { runs_off, first_soaked_up } => Rule::Share {
            runs_off: known(runs_off, problems)?.1.value,
            soaked_m: match first_soaked_up {
                Some(given) => known(given, problems)?.0.value,
                None => 0.0,
            },
        },
        RunoffRule::CurveNumber(number) => Rule::Curve(known(number, problems)?.1.value),
    };
    Some((area.value, Some(rule)))
}

pub(super) fn known<Q: Copy>(given: &Given<Q>, problems: &Problems) -> Option<(Q, Q)> {
    let ends = given.ends();
    if ends.is_none() {
        let key = given.key.rsplit(" / ").next().unwrap_or_default();
        problems.add(
            Problem::error(&given.place, format!("`{key}` is not known, and the size of the pond turns on it"))
                .hint("write a figure, or a range: the end that asks more of the pond is used"),
        );
    }
    ends
}

fn crest_area_m2(pond: &Pond) -> f64 {
    let top = |given: &Given<Length>| given.ends().map_or(0.0, |(_, high)| high.value);
    match &pond.shape {
        PondShape::Prismoid { length, width, side_slope, .. } => {
            let freeboard = pond.freeboard_above_spill.as_ref().map_or(0.0, top);
            let slope = side_slope.ends().map_or(0.0, |(_, high)| high.value);
            let more = 2.0 * slope * freeboard;
            (top(length) + more) * (top(width) + more)
        }
        PondShape::Table { rows, .. } => {
            rows.last().and_then(|row| row.area.ends()).map_or(0.0, |(_, high)| high.value)
        }
    }
}

fn share_high(given: &Given<Ratio>) -> f64 {
    given.ends().map_or(0.0, |(_, high)| high.value)
}
