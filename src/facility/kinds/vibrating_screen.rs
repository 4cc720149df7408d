//! Vibrating screen: decks one above the other shed what they stop to a bin. It does not wash, but its screenings carry
//! liquor, and its spray rejoins the filtered water.

use super::{Deck, Declared, InFile, Kind, Opening, Sheds, Spray, Sprayed, Through};
use crate::facility::read::filter_keys::{AnyFilter, Capture};
use crate::facility::read::{Reader, above_zero, stops};
use crate::facility::sentences::Speaker;
use crate::files::shapes::{ListOf, Name, Quantity};
use crate::files::{Declares, Field, Map, Of, declare};
use crate::quantity::kind;
use crate::told::Problem;

/// A vibrating screen with one or more decks.
#[derive(Debug, Clone)]
pub struct VibratingScreen {
    /// Decks in order; empty when `opening` and `stops` describe one.
    pub decks: Vec<Deck>,
    /// A spray that rejoins the filtered water.
    pub spray: Option<Spray>,
}

declare! {
    /// A screen that shakes.
    Keys, "vibrating screen" with AnyFilter;
    DECKS = may "decks": ListOf<Of<DeckKeys>>, "[{opening: 300 um, stops: {bigger than the opening: 95 %}}]",
        "Its decks, the coarse one first";
    SPRAY = may "spray": Of<SprayKeys>, "{flow: 2 gpm, part of the time: 25 %, with: Town water}",
        "The spray that keeps it clean";
}

declare! {
    /// A deck of a screen.
    DeckKeys, "deck";
    OPENING = must "opening": Quantity<kind::Size>, "300 um", "Its opening";
    STOPS = must "stops": Capture, "{bigger than the opening: 95 %}", "What it stops";
}

declare! {
    /// A spray.
    SprayKeys, "spray";
    FLOW = must "flow": Quantity<kind::Flow>, "2 gpm", "The spray's flow";
    PART = must "part of the time": Quantity<kind::Share>, "25 %", "The part of the time that it runs";
    WITH = must "with": Name, "Town water", "The water";
}

impl InFile for VibratingScreen {
    const DECLARED: Declared = Declared {
        words: "vibrating screen",
        opening: Opening::Typed,
        in_place_of_stops: Some("decks"),
        uses_up: None,
        needs_pump: true,
    };

    const KEYS: &'static Map = Keys::MAP;

    fn read(reader: &mut Reader<'_, '_>) -> Option<Self> {
        let deck_field = reader.map.get(&Keys::DECKS);
        let decks: Option<Vec<Deck>> = deck_field.list().iter().map(deck).collect();
        if deck_field.is_there() && reader.stops_said {
            reader.map.problems().add(
                Problem::error(&deck_field.key_place, "the decks are described twice")
                    .hint("keep `decks`, or `opening` with `stops` for a single deck"),
            );
        }
        let sprayed = reader.map.get(&Keys::SPRAY);
        let spray = spray(reader, &sprayed);
        Some(Self { decks: decks?, spray })
    }

    fn sentence(&self, say: &Speaker<'_>) -> String {
        let Some(spray) = &self.spray else {
            return String::new();
        };
        format!(
            ", sprayed {} of the time at {} with water from {}",
            spray.part_of_the_time.text,
            spray.flow.text,
            say.name(spray.with)
        )
    }
}

fn deck(field: &Field<'_>) -> Option<Deck> {
    let mut map = field.fields()?;
    let opening = above_zero(&map.get(&DeckKeys::OPENING), |field| field.quantity::<kind::Size>());
    let stops = stops(&map.get(&DeckKeys::STOPS), true);
    map.finish();
    Some(Deck { opening: opening?, stops: stops? })
}

fn spray<'a>(reader: &Reader<'_, 'a>, field: &Field<'a>) -> Option<Spray> {
    let mut map = field.fields()?;
    let flow = map.get(&SprayKeys::FLOW).quantity::<kind::Flow>();
    let part = map.get(&SprayKeys::PART).quantity::<kind::Share>();
    let with = reader.store_or_supply(&map.get(&SprayKeys::WITH));
    map.finish();
    Some(Spray { flow: flow?, part_of_the_time: part?, with: with? })
}

impl Kind for VibratingScreen {
    fn sheds(&self) -> Sheds<'_> {
        Sheds::Screenings
    }

    fn through(&self) -> Through<'_> {
        Through::NotSaid
    }

    fn sprayed(&self) -> Sprayed<'_> {
        self.spray.as_ref().map_or(Sprayed::Not, Sprayed::InService)
    }

    fn decks(&self) -> &[Deck] {
        &self.decks
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::facility::kinds::trial;

    const DECKS: &str =
        "decks: [{opening: 300 um, stops: {bigger than the opening: 95 %}}, {opening: 100 um, stops: not known}]";

    #[test]
    fn its_own_keys_are_those_that_are_read() {
        trial::keys_are_read("{kind: vibrating screen, spray: {?}}", SprayKeys::MAP);
        trial::keys_are_read("{kind: vibrating screen, decks: [{?}]}", DeckKeys::MAP);
    }

    #[test]
    fn decks_stand_in_place_of_an_opening_and_a_share() {
        let (filter, sentence) = trial::filter(&format!("{{kind: vibrating screen, {DECKS}, goes to: Pond}}"));
        assert_eq!(filter.kind.decks().len(), 2);
        assert!(sentence.contains("a deck of 300 um that stops 95 %"), "{sentence}");
    }

    #[test]
    fn decks_beside_an_opening_are_told_as_said_twice() {
        let told = trial::problems(&format!("{{kind: vibrating screen, opening: 90 um, {DECKS}, goes to: Pond}}"));
        assert!(told.contains("the decks are described twice"), "{told}");
    }
}
