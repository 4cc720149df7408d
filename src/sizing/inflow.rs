//! What came to the pond over the years of weather, day by day: the base that volumes and sludge are taken from.

use crate::compare::years_of_days;
use uom::si::f64::{Length, Mass, MassDensity, Ratio, ThermodynamicTemperature};
use uom::si::mass::kilogram;
use uom::si::mass_density::kilogram_per_cubic_meter;
use uom::si::ratio::ratio;
use uom::si::thermodynamic_temperature::degree_celsius;
use uom::si::velocity::meter_per_second;
use uom::si::volume::cubic_meter;

use crate::balance::{Candidates, Node, Purpose, Seen, Selector};
use crate::facility::model::{Facility, PlaceId};
use crate::science::particles::{SizeClasses, settling_velocity};
use crate::science::ponds::Sludge;
use crate::told::Problems;
use crate::weather::DailyWeather;

use super::circulating::{Around, circulating};
use super::needs::{SludgeBin, SludgeInflow};

const DAY_S: f64 = 86_400.0;
/// Groups of days of like flow.
const BINS: usize = 200;
/// A day with less rain than this, mm, counts as without rain: most of it is soaked up.
pub const DRY_DAY_MM: f64 = 1.0;
/// Temperature of the water where nothing says, °C: that of the day step.
const WATER_C: f64 = 15.0;

/// Purposes of wash water and what goes with it.
pub(super) const WASH: [Purpose; 5] =
    [Purpose::WashWater, Purpose::RinseWater, Purpose::Reject, Purpose::DrainDown, Purpose::Spray];

/// Daily sums of what came to the pond.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Inflow {
    /// All water but rain on the pond and its own top-up, m³.
    pub water_m3: Vec<f64>,
    /// Wash water, m³, but that of filters that draw from this pond.
    pub wash_m3: Vec<f64>,
    /// Runoff straight from catchments, m³.
    pub runoff_m3: Vec<f64>,
    /// Everything else that other places sent, m³, but wash water drawn from this pond that came back over them the same day.
    pub returned_m3: Vec<f64>,
    /// Solids of each parcel, kg.
    pub solids_kg: Vec<Vec<f64>>,
    /// Days without rain, with one before them.
    pub dry: Vec<bool>,
}

/// A greatest total over so many days.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Greatest {
    /// m³.
    pub m3: f64,
    /// Its first day, counted from 0.
    pub day: usize,
    /// Whether only days without rain were looked at.
    pub dry_only: bool,
}

impl Inflow {
    /// Runs the facility and sums what came to the pond.
    ///
    /// # Errors
    /// What makes the balance impossible.
    pub fn of(
        candidates: &Candidates,
        facility: &Facility,
        pond: PlaceId,
        weather: &DailyWeather,
        first: chrono::NaiveDate,
    ) -> Result<Self, Problems> {
        let to = Selector::to(Node::Place(pond));
        let mut seen = vec![
            Seen::Water(to),
            Seen::Water(to.purpose(Purpose::Rain)),
            Seen::Water(to.purpose(Purpose::TopUp)),
            Seen::Water(to.purpose(Purpose::Unaccounted)),
            Seen::Water(to.purpose(Purpose::Runoff)),
        ];
        seen.extend(WASH.iter().map(|purpose| Seen::Water(to.purpose(*purpose))));
        let wash_sums = seen.len();
        // What filters draw from this pond and wash back into it fills nothing.
        for id in circulating(facility, pond) {
            let back = Selector::between(Node::Place(id), Node::Place(pond));
            seen.extend(WASH.iter().map(|purpose| Seen::Water(back.purpose(*purpose))));
        }
        let around = Around::of(facility, pond);
        let around_sums = seen.len();
        seen.extend(around.iter().flat_map(Around::seen));
        let water_sums = seen.len();
        seen.extend((0..candidates.parcels().len()).map(|parcel| Seen::Parcel(to, parcel)));
        let mut runs = candidates.run(std::slice::from_ref(facility), &seen, &[])?;
        let Some(run) = runs.pop() else {
            return Ok(Self::default());
        };
        let mut series = run.series.into_iter();
        let mut next = || series.next().unwrap_or_default();
        let (all, rain, top_up, lost, runoff_m3) = (next(), next(), next(), next(), next());
        let washes: Vec<Vec<f64>> = (5..wash_sums).map(|_| next()).collect();
        let back: Vec<Vec<f64>> = (wash_sums..around_sums).map(|_| next()).collect();
        let over: Vec<Vec<f64>> = (around_sums..water_sums).map(|_| next()).collect();
        let came_back = around.as_ref().map(|around| around.came_back(&over)).unwrap_or_default();
        let solids_kg: Vec<Vec<f64>> = series.collect();
        let days = all.len();
        let at = |series: &[f64], day: usize| series.get(day).copied().unwrap_or(0.0);
        let water_m3: Vec<f64> =
            (0..days).map(|d| (at(&all, d) - at(&rain, d) - at(&top_up, d) - at(&lost, d)).max(0.0)).collect();
        let sum = |of: &[Vec<f64>], d: usize| of.iter().map(|series| at(series, d)).sum::<f64>();
        let wash_m3: Vec<f64> = (0..days).map(|d| (sum(&washes, d) - sum(&back, d)).max(0.0)).collect();
        let returned_m3: Vec<f64> = (0..days)
            .map(|d| (at(&water_m3, d) - sum(&washes, d) - at(&runoff_m3, d) - at(&came_back, d)).max(0.0))
            .collect();
        let wet = |date: Option<chrono::NaiveDate>| {
            date.and_then(|date| weather.rain_on(date))
                .is_some_and(|rain| rain.depth_mm.is_none_or(|mm| mm >= DRY_DAY_MM))
        };
        let dry = (0..days)
            .map(|d| {
                let date = first.checked_add_days(chrono::Days::new(d as u64));
                !wet(date) && !wet(date.and_then(|date| date.pred_opt()))
            })
            .collect();
        Ok(Self { water_m3, wash_m3, runoff_m3, returned_m3, solids_kg, dry })
    }

    /// Years.
    pub fn years(&self) -> f64 {
        years_of_days(self.water_m3.len() as f64)
    }

    /// The most wash water in so many days together.
    pub fn most_wash(&self, days: u32) -> Option<Greatest> {
        greatest(&self.wash_m3, days as usize, &|_| true).map(|(m3, day)| Greatest { m3, day, dry_only: false })
    }

    /// The most return water in so many days without rain together; in any days where there is no such stretch.
    pub fn most_returned(&self, days: u32) -> Option<Greatest> {
        let dry = |day: usize| self.dry.get(day).copied().unwrap_or(false);
        let found = greatest(&self.returned_m3, days as usize, &dry).map(|found| (found, true));
        found
            .or_else(|| greatest(&self.returned_m3, days as usize, &|_| true).map(|found| (found, false)))
            .map(|((m3, day), dry_only)| Greatest { m3, day, dry_only })
    }

    /// The day with the most runoff: day and m³.
    pub fn most_runoff(&self) -> Option<(usize, f64)> {
        greatest(&self.runoff_m3, 1, &|_| true).map(|(m3, day)| (day, m3))
    }

    /// Solids by flow, with what sludge they make at a dry share.
    pub fn sludge(
        &self,
        candidates: &Candidates,
        facility: &Facility,
        weather: &DailyWeather,
        dry_share: f64,
    ) -> SludgeInflow {
        let known: Vec<f64> = weather.water_temperature_c.iter().copied().flatten().filter(|t| t.is_finite()).collect();
        let celsius = if known.is_empty() { WATER_C } else { known.iter().sum::<f64>() / known.len() as f64 };
        let water = ThermodynamicTemperature::new::<degree_celsius>(celsius);
        let sizes = SizeClasses::default().representative_sizes();
        let (mut settling_m_s, mut wet_m3_per_kg) = (Vec::new(), Vec::new());
        for parcel in candidates.parcels() {
            let kind = facility.solids.get(parcel.kind);
            let density = kind
                .filter(|kind| !kind.floats)
                .and_then(|kind| kind.density.as_ref())
                .and_then(|given| given.ends())
                .map(|(low, high)| 0.5 * (low + high));
            let size = sizes.get(parcel.class).copied().unwrap_or(Length::new::<uom::si::length::meter>(0.0));
            settling_m_s.push(
                density.map_or(0.0, |density| settling_velocity(size, density, water).value.get::<meter_per_second>()),
            );
            let density = density.unwrap_or(MassDensity::new::<kilogram_per_cubic_meter>(1000.0));
            let sludge = Sludge {
                solids_share: Ratio::new::<ratio>(dry_share),
                solids_density: density,
                water_density: MassDensity::new::<kilogram_per_cubic_meter>(1000.0),
            };
            wet_m3_per_kg.push(sludge.volume(Mass::new::<kilogram>(1.0)).value.get::<cubic_meter>());
        }
        SludgeInflow { bins: self.bins(), settling_m_s, wet_m3_per_kg, ..SludgeInflow::default() }
    }

    /// Days grouped by flow; the flow of a group is the mean of its days weighed by their solids.
    fn bins(&self) -> Vec<SludgeBin> {
        let years = self.years();
        let mut days: Vec<usize> = (0..self.water_m3.len()).collect();
        let flow = |day: &usize| self.water_m3.get(*day).copied().unwrap_or(0.0);
        days.sort_by(|a, b| flow(a).total_cmp(&flow(b)).then(a.cmp(b)));
        let size = days.len().div_ceil(BINS).max(1);
        days.chunks(size)
            .map(|group| {
                let kg: Vec<f64> = self
                    .solids_kg
                    .iter()
                    .map(|parcel| group.iter().map(|day| parcel.get(*day).copied().unwrap_or(0.0)).sum())
                    .collect();
                let total: f64 = kg.iter().sum();
                let of_day =
                    |day: &usize| -> f64 { self.solids_kg.iter().map(|p| p.get(*day).copied().unwrap_or(0.0)).sum() };
                let mean = if total > 0.0 {
                    group.iter().map(|day| flow(day) * of_day(day)).sum::<f64>() / total
                } else {
                    0.0
                };
                SludgeBin { flow_m3_s: mean / DAY_S, kg_a_year: kg.into_iter().map(|kg| kg / years).collect() }
            })
            .filter(|bin| bin.kg_a_year.iter().any(|kg| *kg > 0.0))
            .collect()
    }
}

/// The greatest total of `days` days on end of which every one counts, and its first day.
fn greatest(series: &[f64], days: usize, counts: &dyn Fn(usize) -> bool) -> Option<(f64, usize)> {
    let mut best: Option<(f64, usize)> = None;
    let mut run = 0usize;
    for end in 0..series.len() {
        run = if counts(end) { run + 1 } else { 0 };
        if run < days || days == 0 {
            continue;
        }
        let first = end + 1 - days;
        let sum: f64 = series.get(first..=end).unwrap_or(&[]).iter().sum();
        if best.is_none_or(|(most, _)| sum > most) {
            best = Some((sum, first));
        }
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_greatest_stretch_is_one_on_end_and_of_days_that_count() {
        let series = [1.0, 9.0, 9.0, 2.0, 3.0, 3.0];
        assert_eq!(greatest(&series, 2, &|_| true), Some((18.0, 1)));
        assert_eq!(greatest(&series, 2, &|day| day != 1), Some((11.0, 2)));
        assert_eq!(greatest(&series, 7, &|_| true), None);
        assert_eq!(greatest(&series, 0, &|_| true), None);
    }

    #[test]
    fn a_group_of_days_stands_at_the_flow_that_carries_its_solids() {
        let inflow =
            Inflow { water_m3: vec![86_400.0, 3.0 * 86_400.0], solids_kg: vec![vec![10.0, 30.0]], ..Inflow::default() };
        // Two days are two groups; each at its own flow.
        let bins = inflow.bins();
        assert_eq!(bins.len(), 2);
        assert!((bins[1].flow_m3_s - 3.0).abs() < 1e-12);
        assert!((bins.iter().map(|bin| bin.kg_a_year[0]).sum::<f64>() - 40.0 * 365.25 / 2.0).abs() < 1e-9);
    }
}
