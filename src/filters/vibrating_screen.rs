//! Vibrating screen: decks one above the other shed what they stop to a bin. It does not wash, but its screenings carry
//! liquor, and its spray rejoins the filtered water.

use uom::si::f64::Volume;
use uom::si::volume::cubic_meter;

use crate::filters::{Behaviour, Continuous, liquor_m3_per_kg};

/// A vibrating screen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VibratingScreen {
    /// Share of the wet screenings that is dry solids; 0 where nothing says.
    pub dry_share: f64,
}

impl VibratingScreen {
    /// What it does in a day.
    pub fn behaviour(&self) -> Behaviour {
        Behaviour::Continuous(Continuous {
            water_m3_per_kg: liquor_m3_per_kg(self.dry_share),
            least: Volume::new::<cubic_meter>(0.0),
            greatest: Volume::new::<cubic_meter>(f64::INFINITY),
        })
    }

    /// Share stopped by decks in series: what the first passes meets the second.
    pub fn in_series(decks: &[Vec<f64>]) -> Vec<f64> {
        let classes = decks.iter().map(Vec::len).max().unwrap_or(0);
        (0..classes)
            .map(|class| 1.0 - decks.iter().map(|deck| 1.0 - deck.get(class).copied().unwrap_or(0.0)).product::<f64>())
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_second_deck_sees_only_what_the_first_passes() {
        let both = VibratingScreen::in_series(&[vec![0.0, 0.9], vec![0.5, 0.5]]);
        assert!((both[0] - 0.5).abs() < 1e-15);
        assert!((both[1] - 0.95).abs() < 1e-15);
    }
}
