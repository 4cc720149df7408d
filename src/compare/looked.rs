//! What somebody saw, or a meter counted, beside the water that is computed: looks at a point of discharge, and meters of water. A yes that
//! turns on that water stands under the condition that it is as computed.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use crate::balance::{Ledger, Node, Selector, Watch};
use crate::compare::figures::plain;
use crate::compare::{Against, Measure, Predicted, Study};
use crate::facility::model::{Facility, PlaceId, PlaceKind};
use crate::records::Timeline;
use crate::rules::{Limit, Subject};

/// Water that is none, m³ a day.
const NO_WATER_M3: f64 = 1e-6;

/// From this share on metered water is far off what is computed (common practice, no source).
const FAR: f64 = 0.2;

/// Looks at a point of discharge, by days: what was seen beside what is computed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Looked {
    /// The point.
    pub at: PlaceId,
    /// Its name.
    pub name: String,
    /// Days with water computed on which nobody saw any.
    pub dry: usize,
    /// Days with water computed on which somebody saw some.
    pub wet: usize,
    /// Days with none computed on which somebody saw some.
    pub not_computed: usize,
}

/// Looks at the points of discharge of a site beside a run of it.
pub fn looked(facility: &Facility, timeline: &Timeline, ledger: &Ledger) -> Vec<Looked> {
    let mut out = Vec::new();
    for (index, place) in facility.places.iter().enumerate() {
        let at = PlaceId(index);
        if !matches!(place.kind, PlaceKind::DischargePoint(_)) {
            continue;
        }
        let mut days: BTreeMap<NaiveDate, bool> = BTreeMap::new();
        for look in timeline.looks.iter().filter(|look| look.at == at) {
            *days.entry(look.day).or_default() |= look.flowing;
        }
        let series = ledger.series(&Watch::Water(Selector::to(Node::Place(at))));
        let mut of = Looked { at, name: place.name.clone(), dry: 0, wet: 0, not_computed: 0 };
        for (day, seen) in days {
            let Some((m3, _)) = series.on(day) else { continue };
            match (m3 > NO_WATER_M3, seen) {
                (true, false) => of.dry += 1,
                (true, true) => of.wet += 1,
                (false, true) => of.not_computed += 1,
                (false, false) => {}
            }
        }
        if of.dry + of.wet + of.not_computed > 0 {
            out.push(of);
        }
    }
    out
}

impl Looked {
    /// Whether looks speak against what is computed: it was dry more often than not, or water was seen on days without any.
    pub fn is_against(&self) -> bool {
        self.dry > self.wet || self.not_computed > 0
    }

    /// The share of the days looked at with water computed on which there was some; none where no look is of such a day.
    pub(super) fn share_wet(&self) -> Option<f64> {
        let all = self.dry + self.wet;
        (all > 0).then(|| self.wet as f64 / all as f64)
    }

    /// `on 7 of 9 days with water computed on which somebody looked it was dry`, and water seen on days without any.
    pub fn words(&self) -> String {
        let days = |n: usize| if n == 1 { "1 day".to_owned() } else { format!("{n} days") };
        let all = self.dry + self.wet;
        let dry = match self.dry {
            0 => None,
            n if n == all => {
                Some(format!("on all {} with water computed on which somebody looked it was dry", days(n)))
            }
            n => Some(format!("on {n} of {} with water computed on which somebody looked it was dry", days(all))),
        };
        let dry = dry.map(|words| words.replace("on all 1 day with", "on the 1 day with"));
        let more =
            (self.not_computed > 0).then(|| format!("on {} without any computed it was seen", days(self.not_computed)));
        dry.into_iter().chain(more).collect::<Vec<_>>().join(", and ")
    }
}

/// A meter of water that is far off what is computed over the spans that it counted.
#[derive(Debug, Clone, PartialEq)]
pub struct MeterOff {
    /// `meter M1`.
    pub what: String,
    /// From where to where it counts.
    pub ways: [PlaceId; 2],
    /// What it counted and what is computed, m³.
    pub sums: (f64, f64),
}

impl MeterOff {
    /// All of them.
    pub(super) fn all(facility: &Facility, log: &[Against]) -> Vec<Self> {
        let off = |of: &Against| {
            let sums = of.pairs.iter().fold((0.0, 0.0), |sum, pair| (sum.0 + pair.1, sum.1 + pair.2));
            let meter = facility.meters.iter().find(|meter| of.what == format!("meter {}", meter.name))?;
            let is_off = (sums.1 - sums.0).abs() > FAR * sums.0 + NO_WATER_M3;
            is_off.then(|| Self { what: of.what.clone(), ways: [meter.from, meter.to], sums })
        };
        log.iter().filter(|of| of.measure == Measure::Water).filter_map(off).collect()
    }

    /// `52 % less was metered`.
    fn words(&self) -> String {
        let (metered, computed) = self.sums;
        if computed <= NO_WATER_M3 {
            return "none is computed".to_owned();
        }
        let off = metered / computed - 1.0;
        let word = if off < 0.0 { "less" } else { "more" };
        format!("{} % {word} was metered", plain(100.0 * off.abs(), 0))
    }
}

impl Study {
    /// What a yes rests on of the water that somebody saw or metered otherwise than it is computed.
    pub(super) fn off_the_water(&self, option: usize) -> Vec<String> {
        let differ = self.filters_that_differ(option, 0);
        let metered = self.on_file.meters_off.iter().filter(|of| of.ways.iter().any(|at| differ.contains(at)));
        let metered = metered.map(|of| format!("the water at {} is as computed ({})", of.what, of.words()));
        let against = self.on_file.looked.iter().filter(|of| of.is_against() && self.turns_on_water(of, option));
        let seen = against.map(|of| format!("the water at {} is as computed ({})", of.name, of.words()));
        metered.chain(seen).collect()
    }

    /// Whether an option comes out otherwise than the site by a limit on the water, its days or what it carries at a point.
    fn turns_on_water(&self, at: &Looked, option: usize) -> bool {
        let (Some(first), Some(of)) = (self.options.first(), self.options.get(option)) else { return false };
        let limits = first.alternative.rules.iter().flat_map(|rules| &rules.limits);
        let find = |limits: &[Predicted], name: &str| limits.iter().find(|of| of.name == name).cloned();
        let mut moved = limits.filter(|limit| is_on(limit, at.at)).map(|limit| {
            let (with, was) = (find(&of.limits, &limit.name), find(&first.limits, &limit.name));
            with.zip(was).is_some_and(|(with, was)| with.moves_nearer(&was) || was.moves_nearer(&with))
        });
        moved.any(|moved| moved)
    }
}

/// Whether a limit is on how much water comes to a point, or when.
fn is_on(limit: &Limit, point: PlaceId) -> bool {
    let is_of_water = matches!(limit.subject, Subject::Discharge | Subject::Water | Subject::Load(_) | Subject::Hours);
    is_of_water && limit.at.arrives_at(point)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn looked(dry: usize, wet: usize, not_computed: usize) -> Looked {
        Looked { at: PlaceId(0), name: "Outfall".to_owned(), dry, wet, not_computed }
    }

    /// By the place itself: the name of one point may end with that of another.
    #[test]
    fn a_limit_is_on_the_point_its_water_arrives_at() {
        use crate::rules::Point;
        let (here, other) = (PlaceId(3), PlaceId(4));
        for at in
            [Point::Places(vec![here]), Point::Places(vec![other, here]), Point::Into(here), Point::Way(other, here)]
        {
            assert!(at.arrives_at(here), "{at:?}");
        }
        for at in [Point::Places(vec![other]), Point::OutOf(here), Point::Way(here, other)] {
            assert!(!at.arrives_at(here), "{at:?}");
        }
    }

    #[test]
    fn looks_are_told_by_their_days() {
        assert_eq!(looked(1, 0, 0).words(), "on the 1 day with water computed on which somebody looked it was dry");
        assert_eq!(looked(4, 0, 0).words(), "on all 4 days with water computed on which somebody looked it was dry");
        let both = "on 2 of 9 days with water computed on which somebody looked it was dry, and on 1 day without any computed it was seen";
        assert_eq!(looked(2, 7, 1).words(), both);
        assert!(!looked(2, 7, 0).is_against() && looked(2, 7, 1).is_against() && looked(1, 0, 0).is_against());
        assert_eq!((looked(3, 1, 0).share_wet(), looked(0, 0, 1).share_wet()), (Some(0.25), None));
    }
}
