//! Published minimum wash rates and durations, as data with their source. They are printed beside the user's own
//! figures; none is a default.

use crate::science::Standing;
use uom::si::f64::Velocity;
use uom::si::velocity::meter_per_second;

/// A figure that a rule or a text states.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PublishedFigure {
    /// Short name.
    pub id: &'static str,
    /// What it says.
    pub name: &'static str,
    /// The figure.
    pub value: f64,
    /// Its unit.
    pub unit: &'static str,
    /// Where it stands.
    pub source: &'static str,
    /// How well the source is known.
    pub standing: Standing,
}

const TEN_STATES: &str =
    "Recommended Standards for Water Works (Great Lakes-Upper Mississippi River Board) 4.3.1, drinking-water plants";

const HANDBOOK: &str = "environmental-engineering handbook chapter 7.33 on filtration (web copy)";

/// Wash rates, durations, head losses and air for granular beds.
pub static PUBLISHED_FIGURES: &[PublishedFigure] = &[
    PublishedFigure {
        id: "backwash_rate_min",
        name: "least wash rate of a sand bed",
        value: 15.0,
        unit: "gpm/ft2",
        source: TEN_STATES,
        standing: Standing::FromMemory,
    },
    PublishedFigure {
        id: "backwash_rate_recommended",
        name: "wash rate recommended, or 50 % expansion",
        value: 20.0,
        unit: "gpm/ft2",
        source: TEN_STATES,
        standing: Standing::FromMemory,
    },
    PublishedFigure {
        id: "backwash_duration_min",
        name: "least duration of a wash at the design rate, one filter",
        value: 15.0,
        unit: "min",
        source: TEN_STATES,
        standing: Standing::FromMemory,
    },
    PublishedFigure {
        id: "backwash_rate_min_anthracite_or_GAC",
        name: "least wash rate of anthracite or granular carbon",
        value: 10.0,
        unit: "gpm/ft2",
        source: TEN_STATES,
        standing: Standing::FromMemory,
    },
    PublishedFigure {
        id: "backwash_rate_with_air_scour_max",
        name: "most wash rate while air scour runs",
        value: 8.0,
        unit: "gpm/ft2",
        source: "Wisconsin Admin. Code NR 811.49(1)(i)8",
        standing: Standing::Seen,
    },
    PublishedFigure {
        id: "backwash_supply_min_time",
        name: "least duration that the wash water store lasts at 15 gpm/ft2",
        value: 7.0,
        unit: "min",
        source: HANDBOOK,
        standing: Standing::Seen,
    },
    PublishedFigure {
        id: "terminal_head_loss",
        name: "head loss at which a run is ended, with air scour",
        value: 10.0,
        unit: "ft",
        source: HANDBOOK,
        standing: Standing::Seen,
    },
    PublishedFigure {
        id: "terminal_head_loss_without_air_scour",
        name: "head loss at which a run is ended without air scour, against mudballs",
        value: 5.0,
        unit: "ft",
        source: HANDBOOK,
        standing: Standing::Seen,
    },
    PublishedFigure {
        id: "air_scour_rate_min",
        name: "least air scour",
        value: 2.0,
        unit: "scfm/ft2",
        source: "Wisconsin Admin. Code NR 811.49",
        standing: Standing::Seen,
    },
    PublishedFigure {
        id: "air_scour_rate_max",
        name: "most air scour",
        value: 5.0,
        unit: "scfm/ft2",
        source: "Wisconsin Admin. Code NR 811.49",
        standing: Standing::Seen,
    },
];

/// Wash rate that was paired with a filtration rate in trials of drip-irrigation sand beds of 200 mm (m/h, m/h):
/// Duran-Ros and others (2024), Agriculture 14(9):1570, abstract seen.
pub static WASH_RATES_BY_FILTRATION: &[(f64, f64)] = &[(30.0, 45.0), (60.0, 75.0)];

/// A wash rate from its figure in US gallons per minute on a square foot; exact factors.
pub fn gallons_per_minute_per_square_foot(figure: f64) -> Velocity {
    Velocity::new::<meter_per_second>(figure * 3.785_411_784e-3 / 60.0 / 0.092_903_04)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fifteen_gallons_a_minute_on_a_square_foot_is_36_67_metres_an_hour() {
        // Exact: 231 in³, 12 in; the trade prints 36.7 m/h.
        let rate = gallons_per_minute_per_square_foot(15.0).get::<meter_per_second>() * 3600.0;
        assert!((rate - 36.671_25).abs() < 1e-9);
    }
}
