//! What the site sends to the pond: what a shape is held against.

use std::collections::HashMap;
use std::sync::{Mutex, PoisonError};

use uom::si::area::square_meter;
use uom::si::f64::{Area, Velocity, VolumeRate};
use uom::si::ratio::ratio;
use uom::si::velocity::meter_per_second;
use uom::si::volume_rate::cubic_meter_per_second;

use crate::science::ponds::{Basin as Water, tanks_in_series};

use super::PumpStops;

/// Solids that come to the pond on days of like flow.
#[derive(Debug, Clone, PartialEq)]
pub struct SludgeBin {
    /// Flow of such a day, m³/s.
    pub flow_m3_s: f64,
    /// Solids that come on such days, kg a year, by parcel.
    pub kg_a_year: Vec<f64>,
}

/// Solids that come to the pond, by flow and parcel.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct SludgeInflow {
    /// By flow.
    pub bins: Vec<SludgeBin>,
    /// Settling velocity of each parcel, m/s; nothing for what floats.
    pub settling_m_s: Vec<f64>,
    /// Wet sludge that a kilogram of each parcel makes, m³.
    pub wet_m3_per_kg: Vec<f64>,
    /// Worked out already.
    pub(super) known: Known,
}

/// Wet sludge a year by water area (m², bit by bit) and cells, as it was worked out: each shape asks for that of its plan
/// many times. It is no part of what comes to the pond; a copy begins with none, so that what is changed in it counts.
#[derive(Debug, Default)]
pub(super) struct Known(Mutex<HashMap<(u64, u32), f64>>);

impl Clone for Known {
    fn clone(&self) -> Self {
        Self::default()
    }
}

impl PartialEq for Known {
    fn eq(&self, _: &Self) -> bool {
        true
    }
}

impl SludgeInflow {
    /// Wet sludge a year in a pond of a water area and so many cells, m³: what settles on each day at that day's mean
    /// flow, by tanks in series.
    pub fn wet_m3_a_year(&self, area_m2: f64, cells: u32) -> f64 {
        if self.bins.is_empty() {
            return 0.0;
        }
        let mut known = self.known.0.lock().unwrap_or_else(PoisonError::into_inner);
        *known.entry((area_m2.to_bits(), cells)).or_insert_with(|| self.settled_wet_m3_a_year(area_m2, cells))
    }

    fn settled_wet_m3_a_year(&self, area_m2: f64, cells: u32) -> f64 {
        let mut sum = 0.0;
        for bin in &self.bins {
            let parcels = bin.kg_a_year.iter().zip(&self.settling_m_s).zip(&self.wet_m3_per_kg);
            for ((kg, settling), wet) in parcels {
                sum += kg * wet * share_settled(area_m2, bin.flow_m3_s, *settling, cells);
            }
        }
        sum
    }

    /// Dry solids that settle in a year in a water area with so many cells, kg.
    pub fn settled_kg_a_year(&self, area_m2: f64, cells: u32) -> f64 {
        let of = |bin: &SludgeBin| {
            let parcels = bin.kg_a_year.iter().zip(&self.settling_m_s);
            parcels.map(|(kg, settling)| kg * share_settled(area_m2, bin.flow_m3_s, *settling, cells)).sum::<f64>()
        };
        self.bins.iter().map(of).sum()
    }

    /// Dry solids that come in a year, kg.
    pub fn dry_kg_a_year(&self) -> f64 {
        self.bins.iter().flat_map(|bin| &bin.kg_a_year).sum()
    }
}

/// Share of a particle that settles in steady flow, by stirred tanks in series; all of it in still water.
pub fn share_settled(area_m2: f64, flow_m3_s: f64, settling_m_s: f64, cells: u32) -> f64 {
    if flow_m3_s <= 0.0 {
        return if settling_m_s > 0.0 { 1.0 } else { 0.0 };
    }
    let water =
        Water { area: Area::new::<square_meter>(area_m2), flow: VolumeRate::new::<cubic_meter_per_second>(flow_m3_s) };
    let share = tanks_in_series(water, Velocity::new::<meter_per_second>(settling_m_s), cells.max(1));
    share.value.get::<ratio>()
}

/// What the site sends to the pond. What a duty does not ask for is nothing.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Needs {
    /// Wash water to be held, m³.
    pub wash_m3: f64,
    /// Return water to be held, m³.
    pub return_m3: f64,
    /// First rain, m.
    pub first_rain_m: f64,
    /// Runoff of the first rain from what drains to the pond, m³.
    pub first_rain_runoff_m3: f64,
    /// Depth of the storm, m.
    pub storm_m: f64,
    /// Runoff of the storm from what drains to the pond, m³.
    pub storm_runoff_m3: f64,
    /// Ground that drains to the pond, by the share of its water that gets there, m².
    pub drained_m2: f64,
    /// Design flow through the pond, m³/s, but for the rain on the pond itself.
    pub peak_m3_s: f64,
    /// Rain on the pond in that flow, m/s; nothing where the flow was typed.
    pub peak_rain_m_s: f64,
    /// Flow that an overflow rate is asked at, m³/s, but for the rain on the pond itself.
    pub overflow_m3_s: f64,
    /// Rain on the pond in that flow, m/s.
    pub overflow_rain_m_s: f64,
    /// Flow that a time of detention is asked at, m³/s, but for the rain on the pond itself.
    pub detained_m3_s: f64,
    /// Rain on the pond in that flow, m/s.
    pub detained_rain_m_s: f64,
    /// Whether something draws it down to the settling pool.
    pub is_drawn: bool,
    /// Lowest level that its pumps draw from, as the facility file has it, m above the floor; 0 where it has none.
    pub lowest_pump_m: f64,
    /// Where a pump that empties it on level stops.
    pub pump_stops: Option<PumpStops>,
    /// Settling velocity of the particle named, m/s.
    pub settling_m_s: f64,
    /// Solids that come to the pond.
    pub sludge: SludgeInflow,
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn sludge_of_a_year_is_what_settles_at_each_days_own_flow() {
        // One cell: R = wA/Q / (1 + wA/Q). 100 m², 1e-4 m/s: 0.01 m³/s gives 1/2, 0.03 m³/s gives 1/4.
        let inflow = SludgeInflow {
            bins: vec![
                SludgeBin { flow_m3_s: 0.01, kg_a_year: vec![1000.0, 50.0] },
                SludgeBin { flow_m3_s: 0.03, kg_a_year: vec![400.0, 0.0] },
            ],
            settling_m_s: vec![1e-4, 0.0],
            wet_m3_per_kg: vec![0.01, 0.01],
            ..SludgeInflow::default()
        };
        assert_relative_eq!(inflow.wet_m3_a_year(100.0, 1), 0.01 * (500.0 + 100.0), max_relative = 1e-12);
        assert_relative_eq!(inflow.dry_kg_a_year(), 1450.0);
    }

    #[test]
    fn still_water_settles_what_sinks_and_nothing_that_floats() {
        assert_eq!(share_settled(10.0, 0.0, 1e-6, 2), 1.0);
        assert_eq!(share_settled(10.0, 0.0, 0.0, 2), 0.0);
    }
}
