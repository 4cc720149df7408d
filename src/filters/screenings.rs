//! Screens that let what they stop slide or shake off to a bin: it carries liquor.

use uom::si::f64::Volume;
use uom::si::volume::cubic_meter;

use crate::filters::Continuous;

/// What screenings take with them in a day; `dry_share` is the share of the wet screenings that is dry solids, 0 where nothing says.
pub fn screenings(dry_share: f64) -> Continuous {
    Continuous {
        water_m3_per_kg: liquor_m3_per_kg(dry_share),
        least: Volume::new::<cubic_meter>(0.0),
        greatest: Volume::new::<cubic_meter>(f64::INFINITY),
    }
}

/// Water that leaves with drained screenings, m³ for each kg of dry solids: wet mass over dry mass, less the solids,
/// over the density of water. A dry share of 0 (not known) gives no water.
fn liquor_m3_per_kg(dry_share: f64) -> f64 {
    if dry_share > 0.0 && dry_share < 1.0 { (1.0 / dry_share - 1.0) / 1000.0 } else { 0.0 }
}

/// Share stopped by decks in series: what the first passes meets the second.
pub fn in_series(decks: &[Vec<f64>]) -> Vec<f64> {
    let classes = decks.iter().map(Vec::len).max().unwrap_or(0);
    (0..classes)
        .map(|class| 1.0 - decks.iter().map(|deck| 1.0 - deck.get(class).copied().unwrap_or(0.0)).product::<f64>())
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_kilogram_at_two_per_cent_is_fifty_kilograms_wet() {
        assert!((liquor_m3_per_kg(0.02) - 0.049).abs() < 1e-15);
        assert!((liquor_m3_per_kg(0.05) - 0.019).abs() < 1e-15);
        assert_eq!(liquor_m3_per_kg(0.0), 0.0);
    }

    #[test]
    fn screenings_take_their_liquor_and_no_more_at_any_load() {
        let day = screenings(0.02);
        assert!((day.water_m3_per_kg - 0.049).abs() < 1e-15);
        assert_eq!(day.least, Volume::default());
        assert_eq!(day.greatest.get::<cubic_meter>(), f64::INFINITY);
    }

    #[test]
    fn a_second_deck_sees_only_what_the_first_passes() {
        let both = in_series(&[vec![0.0, 0.9], vec![0.5, 0.5]]);
        assert!((both[0] - 0.5).abs() < 1e-15);
        assert!((both[1] - 0.95).abs() < 1e-15);
    }
}
