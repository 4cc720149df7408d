//! Cartridge filter: elements changed together; a change drains the housing.

use super::{Counted, Declared, InFile, Kind, Opening, Pieces, Sheds, Through};
use crate::facility::read::Reader;
use crate::facility::read::filter_keys::Changed;
use crate::facility::sentences::Speaker;
use crate::files::shapes::Count;
use crate::files::{Declares, Map, declare};

/// Cartridges in their housing.
#[derive(Debug, Clone)]
pub struct Cartridge {
    /// Elements changed together.
    pub elements: u32,
}

declare! {
    /// Cartridges.
    Keys, "cartridge" with Changed;
    ELEMENTS = must "elements": Count<1, 1000>, "6", "How many elements there are";
}

impl InFile for Cartridge {
    const DECLARED: Declared = Declared {
        words: "cartridge",
        opening: Opening::Typed,
        in_place_of_stops: None,
        uses_up: Some(Pieces { one: "cartridge", many: "cartridges", counted: Counted::AtChanges }),
        needs_pump: true,
    };

    const KEYS: &'static Map = Keys::MAP;

    fn read(reader: &mut Reader<'_, '_>) -> Option<Self> {
        let field = reader.map.get(&Keys::ELEMENTS);
        let elements = reader.number(&field, 1);
        reader.changes();
        Some(Self { elements: elements? })
    }

    fn sentence(&self, _: &Speaker<'_>) -> String {
        format!(", with {} elements", self.elements)
    }
}

impl Kind for Cartridge {
    fn sheds(&self) -> Sheds<'_> {
        Sheds::Change { pieces: self.elements, dry_weight: None }
    }

    fn through(&self) -> Through<'_> {
        Through::Pieces { each: "element", which: "", number: self.elements.max(1) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::facility::kinds::trial;

    #[test]
    fn all_elements_are_changed_together() {
        let (filter, sentence) = trial::filter(
            "{kind: cartridge, opening: 10 um, elements: 6, stops: {bigger than the opening: 95 %}, \
             changed: {every: 60 days}, takes from: Town, spent media to: Skip}",
        );
        assert!(matches!(filter.kind.sheds(), Sheds::Change { pieces: 6, dry_weight: None }));
        assert!(sentence.contains("with 6 elements"), "{sentence}");
    }
}
