//! Deep media bed, of any diameter: washed for minutes, often rinsed to waste, sometimes with clean water.

use uom::si::f64::{Length, Time};

use super::bed::{self, NO_OPENING};
use super::{Declared, InFile, Kind, MediaBed, MediaLayer, Sheds, Through};
use crate::facility::read::Reader;
use crate::facility::read::filter_keys::Bed;
use crate::facility::sentences::Speaker;
use crate::files::shapes::Quantity;
use crate::files::{Declares, Given, Map, Of, declare};
use crate::quantity::kind;

/// A deep media bed.
#[derive(Debug, Clone)]
pub struct DeepMediaBed {
    /// Vessels.
    pub vessels: u32,
    /// Diameter of one.
    pub diameter: Given<Length>,
    /// Layers, top first.
    pub media: Vec<MediaLayer>,
    /// Air scour before a wash.
    pub air_scour: Option<Given<Time>>,
}

declare! {
    /// A deep bed of media.
    Keys, "deep media bed" with Bed;
    AIR = may "air scour": Of<AirScourKeys>, "{lasts: 3 min}", "Air before the wash";
}

declare! {
    /// Air before a wash.
    AirScourKeys, "air scour";
    LASTS = must "lasts": Quantity<kind::Time>, "3 min", "How long it lasts";
}

impl InFile for DeepMediaBed {
    const DECLARED: Declared = Declared {
        words: "deep media bed",
        opening: NO_OPENING,
        in_place_of_stops: None,
        uses_up: None,
        needs_pump: true,
    };

    const KEYS: &'static Map = Keys::MAP;

    fn read(reader: &mut Reader<'_, '_>) -> Option<Self> {
        let bed = bed::read(reader);
        let air_scour = reader.map.get(&Keys::AIR).fields().and_then(|mut scour| {
            let lasts = scour.get(&AirScourKeys::LASTS).quantity::<kind::Time>();
            scour.finish();
            lasts
        });
        bed.washes(reader);
        Some(Self { vessels: bed.vessels?, diameter: bed.diameter?, media: bed.media?, air_scour })
    }

    fn sentence(&self, _: &Speaker<'_>) -> String {
        let scour =
            self.air_scour.as_ref().map(|scour| format!(", scoured with air for {}", scour.text)).unwrap_or_default();
        format!("{}{scour}", bed::sentence(self.bed()))
    }
}

impl DeepMediaBed {
    fn bed(&self) -> MediaBed<'_> {
        MediaBed { vessels: self.vessels, diameter: &self.diameter, media: &self.media }
    }
}

impl Kind for DeepMediaBed {
    fn sheds(&self) -> Sheds<'_> {
        Sheds::Wash { scour: self.air_scour.as_ref().map(|scour| (scour, self.vessels)) }
    }

    fn through(&self) -> Through<'_> {
        Through::Bed(self.bed())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::facility::kinds::trial;

    #[test]
    fn its_own_keys_are_those_that_are_read() {
        trial::keys_are_read("{kind: deep media bed, air scour: {?}}", AirScourKeys::MAP);
    }

    #[test]
    fn a_scour_with_air_is_read_and_takes_no_water() {
        let (filter, sentence) = trial::filter(
            "{kind: deep media bed, vessels: 2, diameter: 80 in, media: [{kind: silica sand, depth: 36 in, grains: 0.9 mm}], \
             takes from: Town, washes: {every: 3 days}, air scour: {lasts: 3 min}, stops: not known, \
             one wash: {rate: 520 gpm, lasts: 8 min, each: vessel}, rinse to waste: {rate: 300 gpm, lasts: 5 min}, \
             washed with: its own filtered water, wash water to: Pond}",
        );
        let Sheds::Wash { scour: Some((scour, vessels)) } = filter.kind.sheds() else { panic!("a scour") };
        assert_eq!((scour.text.as_str(), vessels), ("3 min", 2));
        assert!(sentence.contains("36 in of silica sand, grains of 0.9 mm, scoured with air for 3 min"), "{sentence}");
    }
}
