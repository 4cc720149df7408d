//! Scratch screen: pads of felt that hold what they stop until they are changed. No grower has one: it is made up to prove
//! that a new kind is this file and one line of the list.

use uom::si::f64::Mass;

use super::{Counted, Declared, InFile, Kind, Opening, Pieces, Sheds, Through};
use crate::facility::read::Reader;
use crate::facility::read::filter_keys::Changed;
use crate::facility::sentences::Speaker;
use crate::files::shapes::{Count, Quantity};
use crate::files::{Declares, Given, Map, declare};
use crate::quantity::kind;

/// A scratch screen.
#[derive(Debug, Clone)]
pub struct ScratchScreen {
    /// Pads side by side, changed together.
    pub pads: u32,
    /// Dry weight of one pad.
    pub pad_dry_weight: Option<Given<Mass>>,
}

declare! {
    /// Pads of felt.
    Keys, "scratch screen" with Changed;
    PADS = must "pads": Count<1, 1000>, "4", "How many pads there are";
    WEIGHS = may "one pad weighs": Quantity<kind::Mass>, "200 g", "The dry weight of one";
}

impl InFile for ScratchScreen {
    const DECLARED: Declared = Declared {
        words: "scratch screen",
        opening: Opening::Typed,
        in_place_of_stops: None,
        uses_up: Some(Pieces { one: "pad", many: "pads", counted: Counted::AtChanges }),
        needs_pump: false,
    };

    const KEYS: &'static Map = Keys::MAP;

    fn read(reader: &mut Reader<'_, '_>) -> Option<Self> {
        let field = reader.map.get(&Keys::PADS);
        let pads = reader.number(&field, 1);
        let pad_dry_weight = reader.map.get(&Keys::WEIGHS).quantity::<kind::Mass>();
        reader.changes();
        Some(Self { pads: pads?, pad_dry_weight })
    }

    fn sentence(&self, _: &Speaker<'_>) -> String {
        format!(", with {} pads of felt", self.pads)
    }
}

impl Kind for ScratchScreen {
    fn sheds(&self) -> Sheds<'_> {
        Sheds::Change { pieces: self.pads, dry_weight: self.pad_dry_weight.as_ref() }
    }

    fn through(&self) -> Through<'_> {
        Through::Pieces { each: "pad", which: "", number: self.pads }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::facility::kinds::trial;

    #[test]
    fn all_pads_are_changed_together() {
        let (filter, sentence) = trial::filter(
            "{kind: scratch screen, opening: 40 um, pads: 4, one pad weighs: 90 g, stops: {all solids: 50 %}, \
             changed: {after: 1 kg of solids}, takes from: Town, spent media to: Skip}",
        );
        assert!(matches!(filter.kind.sheds(), Sheds::Change { pieces: 4, dry_weight: Some(_) }));
        assert!(sentence.contains("is a filter (scratch screen) with an opening of 40 um"), "{sentence}");
        assert!(sentence.contains("with 4 pads of felt"), "{sentence}");
    }
}
