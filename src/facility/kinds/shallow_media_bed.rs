//! Shallow media bed: vessels washed one after another.

use uom::si::f64::Length;

use super::bed::{self, NO_OPENING};
use super::{Declared, InFile, Kind, MediaBed, MediaLayer, Sheds, Through};
use crate::facility::read::Reader;
use crate::facility::read::filter_keys::Bed;
use crate::facility::sentences::Speaker;
use crate::files::{Declares, Given, Map, declare};

/// A shallow media bed.
#[derive(Debug, Clone)]
pub struct ShallowMediaBed {
    /// Vessels.
    pub vessels: u32,
    /// Diameter of one.
    pub diameter: Given<Length>,
    /// Layers, top first.
    pub media: Vec<MediaLayer>,
}

declare! {
    /// A shallow bed of media.
    Keys, "shallow media bed" with Bed;
}

impl InFile for ShallowMediaBed {
    const DECLARED: Declared = Declared {
        words: "shallow media bed",
        opening: NO_OPENING,
        in_place_of_stops: None,
        uses_up: None,
        needs_pump: true,
    };

    const KEYS: &'static Map = Keys::MAP;

    fn read(reader: &mut Reader<'_, '_>) -> Option<Self> {
        let bed = bed::read(reader);
        bed.washes(reader);
        Some(Self { vessels: bed.vessels?, diameter: bed.diameter?, media: bed.media? })
    }

    fn sentence(&self, _: &Speaker<'_>) -> String {
        bed::sentence(self.bed())
    }
}

impl ShallowMediaBed {
    fn bed(&self) -> MediaBed<'_> {
        MediaBed { vessels: self.vessels, diameter: &self.diameter, media: &self.media }
    }
}

impl Kind for ShallowMediaBed {
    fn sheds(&self) -> Sheds<'_> {
        Sheds::Wash { scour: None }
    }

    fn through(&self) -> Through<'_> {
        Through::Bed(self.bed())
    }
}

#[cfg(test)]
mod tests {
    use crate::facility::kinds::trial;

    const BED: &str = "kind: shallow media bed, vessels: 3, diameter: 36 in, takes from: Town, \
        washes: {every: 24 h}, one wash: {rate: 106 gpm, lasts: 3 min, each: vessel}, stops: not known, \
        washed with: its own filtered water, wash water to: Pond";

    #[test]
    fn vessels_are_washed_one_after_another_over_the_layers_typed() {
        let media = "media: [{kind: crushed glass, depth: 15 in, compared with sand: {wash flow: 0.8 times}}]";
        let (filter, sentence) = trial::filter(&format!("{{{BED}, {media}}}"));
        assert_eq!(filter.wash.as_ref().unwrap().vessels, 3);
        assert_eq!(filter.kind.media_bed().unwrap().vessels, 3);
        assert!(
            sentence.contains("in 3 vessels of 36 in, over 15 in of crushed glass, wash flow 0.8 times sand's"),
            "{sentence}"
        );
    }

    #[test]
    fn a_flow_against_sand_is_told_to_take_nothing_off_a_rate_of_the_whole_vessel() {
        let media = "media: [{kind: crushed glass, depth: 15 in, compared with sand: {wash flow: 0.8 times}}]";
        let said = |bed: &str, media: &str| trial::filter(&format!("{{{bed}, {media}}}")).1;
        assert!(said(BED, media).contains("its `wash flow` takes nothing off 106 gpm"), "{}", said(BED, media));
        assert!(!said(&BED.replace("106 gpm", "15 gpm/ft2"), media).contains("takes nothing off"));
        assert!(!said(BED, "media: [{kind: silica sand, depth: 15 in}]").contains("takes nothing off"));
    }

    #[test]
    fn a_bed_without_media_or_with_an_opening_is_told() {
        let told = trial::problems(&format!("{{{BED}, media: []}}"));
        assert!(told.contains("a bed without media"), "{told}");
        let told = trial::problems(&format!("{{{BED}, opening: 50 um, media: [{{kind: silica sand, depth: 15 in}}]}}"));
        assert!(told.contains("a media bed has no opening"), "{told}");
    }
}
