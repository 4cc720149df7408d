//! What is on file of the site as it stands, and what is not: how long its washes were written down, which limits the records have
//! exceeded, and in which months water came to a place.

use std::collections::BTreeSet;

use chrono::{Datelike, NaiveDate};

use crate::balance::{Node, Selector, Watch};
use crate::compare::{Against, Computed, Looked, Measure, MeterOff, Study};
use crate::facility::model::{Facility, PlaceId, PlaceKind};
use crate::rules::Outcome;

/// For so many months at least washes must have been written down for the computation to be held against them (common practice, no
/// source).
const LEAST_MONTHS: usize = 3;

/// Water that is none, m³ a day.
const NO_WATER_M3: f64 = 1e-6;

/// A month.
pub(super) type Month = (i32, u32);

/// How the inspection report has a limit as the site stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Recorded {
    /// The limit.
    pub limit: String,
    /// How it comes out.
    pub outcome: Outcome,
    /// The least that the worst figure on file can be, in the limit's unit; none where none was measured.
    pub worst: Option<f64>,
}

impl Recorded {
    /// Whether measured data break it.
    pub fn is_exceeded(&self) -> bool {
        self.outcome.is_exceeded()
    }
}

/// What is on file of a site's washes and limits.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct OnFile {
    /// Filters whose washes were written down, and metered, in too few months, and in how many.
    pub hardly_logged: Vec<(PlaceId, usize)>,
    /// Limits that the inspection report has exceeded as the site stands.
    pub exceeded: Vec<String>,
    /// Looks at points of discharge beside what is computed there.
    pub looked: Vec<Looked>,
    /// Meters of water that are far off what is computed.
    pub meters_off: Vec<MeterOff>,
}

impl OnFile {
    pub(super) fn of(facility: &Facility, log: &[Against], recorded: &[Recorded], looked: &[Looked]) -> Self {
        Self {
            looked: looked.to_vec(),
            meters_off: MeterOff::all(facility, log),
            hardly_logged: hardly_logged(facility, log),
            exceeded: recorded.iter().filter(|of| of.is_exceeded()).map(|of| of.limit.clone()).collect(),
        }
    }
}

/// Filters that are washed and whose washes are neither logged nor metered in [`LEAST_MONTHS`], and in how many they are.
fn hardly_logged(facility: &Facility, log: &[Against]) -> Vec<(PlaceId, usize)> {
    let washed = facility.places.iter().enumerate().filter_map(|(index, place)| match &place.kind {
        PlaceKind::Filter(filter) => filter.wash.as_ref().map(|_| PlaceId(index)),
        _ => None,
    });
    let months = |id: PlaceId| {
        let of = log.iter().filter(|of| of.at == id && matches!(of.measure, Measure::Events | Measure::WashWater));
        let months = of.map(|of| of.pairs.iter().map(|(day, ..)| month(*day)).collect::<BTreeSet<_>>().len());
        months.max().unwrap_or(0)
    };
    washed.map(|id| (id, months(id))).filter(|(_, months)| *months < LEAST_MONTHS).collect()
}

/// What is asked of filters whose washes nobody logged or metered, where prices are on file; in one line, none where there are none.
pub fn ask_for_a_log(facility: &Facility, log: &[Against]) -> Option<String> {
    let none = hardly_logged(facility, log).into_iter().filter(|(_, months)| *months == 0);
    let names: Vec<&str> = none.filter_map(|(id, _)| Some(facility.get(id)?.name.as_str())).collect();
    (!names.is_empty()).then(|| {
        format!(
            "{}: prices are on file and no washes, neither in a log nor by a meter of the wash water, so that `bywash compare` takes them \
             as computed: write them down for {LEAST_MONTHS} months or more",
            names.join(", ")
        )
    })
}

fn month(day: NaiveDate) -> Month {
    (day.year(), day.month())
}

/// Months in which water is computed to come to a place, or to leave it where it is no point of discharge.
pub(super) fn months_of_water(of: &Computed, at: PlaceId) -> BTreeSet<Month> {
    let facility = &of.alternative.facility;
    let series = of.run.ledger.series(&Watch::Water(stream_at(facility, at)));
    let wet = series.values.iter().enumerate().filter(|(_, m3)| **m3 > NO_WATER_M3);
    wet.map(|(day, _)| month(series.date(day))).collect()
}

fn stream_at(facility: &Facility, at: PlaceId) -> Selector {
    match facility.get(at).map(|place| &place.kind) {
        Some(PlaceKind::DischargePoint(_)) | None => Selector::to(Node::Place(at)),
        Some(_) => Selector::from(Node::Place(at)),
    }
}

/// Whether by over a hundredth more water or solids come to a place in one run than in another (common practice, no source).
pub(super) fn more_comes(of: &Computed, than: &Computed, place: &str) -> bool {
    const CLEARLY: f64 = 1.01;
    let sums = |of: &Computed| {
        let facility = &of.alternative.facility;
        let at = PlaceId(facility.places.iter().position(|known| known.name == place)?);
        let sum = |watch: Watch| of.run.ledger.series(&watch).values.iter().sum::<f64>();
        let stream = stream_at(facility, at);
        Some([sum(Watch::Water(stream)), sum(Watch::Solids(stream))])
    };
    match (sums(of), sums(than)) {
        (Some(of), Some(than)) => of.iter().zip(than).any(|(of, than)| *of > CLEARLY * than + NO_WATER_M3),
        (of, than) => of.is_some() != than.is_some(),
    }
}

/// `from May to Sep`, of months among others, in order; how many of them, where they lie scattered.
pub(super) fn in_months(these: &BTreeSet<Month>, all: &BTreeSet<Month>) -> String {
    /// The most ranges of months that are told one by one.
    const MOST_RANGES: usize = 2;
    let index = |(year, month): Month| year * 12 + month as i32 - 1;
    let mut ranges: Vec<(Month, Month)> = Vec::new();
    for this in these {
        match ranges.last_mut() {
            Some((_, last)) if index(*this) == index(*last) + 1 => *last = *this,
            _ => ranges.push((*this, *this)),
        }
    }
    if ranges.len() > MOST_RANGES {
        return format!("in {} of {} months", these.len(), all.len());
    }
    let many_years = all.iter().map(|of| of.0).collect::<BTreeSet<_>>().len() > 1;
    let name = |(year, month): Month| {
        let day = NaiveDate::from_ymd_opt(year, month, 1);
        day.map_or_else(String::new, |day| day.format(if many_years { "%b %Y" } else { "%b" }).to_string())
    };
    let told = ranges.into_iter().map(|(first, last)| match first == last {
        true => format!("in {}", name(first)),
        false => format!("from {} to {}", name(first), name(last)),
    });
    told.collect::<Vec<_>>().join(" and ")
}

impl Study {
    /// Filters whose washes an option changes and nobody wrote down: `the washes of Gravel beds are as computed (nobody logged them)`.
    pub(super) fn washes_not_logged(&self, option: usize, at_any_price: bool) -> Vec<String> {
        let Some(first) = self.options.first().filter(|_| !self.on_file.hardly_logged.is_empty()) else {
            return Vec::new();
        };
        let differ = self.filters_that_differ(option, 0);
        // What was tried and changes nothing is no condition.
        let turns = |at: &PlaceId| {
            at_any_price || self.tried.get(option).is_none_or(|tried| tried.turns_on_washes.contains(at))
        };
        let hardly = self.on_file.hardly_logged.iter();
        let told = hardly.filter(|(at, _)| differ.contains(at) && turns(at)).filter_map(|(at, months)| {
            let how = match months {
                0 => "nobody logged them".to_owned(),
                1 => "logged in 1 month alone".to_owned(),
                n => format!("logged in {n} months alone"),
            };
            let name = &first.alternative.facility.get(*at)?.name;
            Some(format!("the washes of {name} are as computed ({how})"))
        });
        told.collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn months_are_told_as_ranges_and_counted_where_they_are_scattered() {
        let of = |months: &[u32]| -> BTreeSet<Month> { months.iter().map(|month| (2014, *month)).collect() };
        let all = of(&[1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12]);
        assert_eq!(in_months(&of(&[5, 6, 7, 8, 9]), &all), "from May to Sep");
        assert_eq!(in_months(&of(&[2, 5, 6, 7]), &all), "in Feb and from May to Jul");
        assert_eq!(in_months(&of(&[2, 4, 6, 7]), &all), "in 4 of 12 months");
        let over: BTreeSet<Month> = [(2013, 11), (2013, 12), (2014, 1)].into();
        assert_eq!(in_months(&over, &over), "from Nov 2013 to Jan 2014");
    }
}
