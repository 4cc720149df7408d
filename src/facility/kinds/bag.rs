//! Bag filter: holds what it stops until its bags are changed; a change drains the housing.

use uom::si::f64::Mass;

use super::{Counted, Declared, InFile, Kind, Opening, Pieces, Sheds, Through};
use crate::facility::read::Reader;
use crate::facility::read::filter_keys::Changed;
use crate::facility::sentences::Speaker;
use crate::files::shapes::{Count, Quantity, Text};
use crate::files::{Declares, Given, Map, Of, declare};
use crate::quantity::kind;

/// Bags in their housings.
#[derive(Debug, Clone)]
pub struct Bag {
    /// Housings.
    pub housings: u32,
    /// Housings that work at once.
    pub working_at_once: u32,
    /// Dry weight of one bag.
    pub bag_dry_weight: Option<Given<Mass>>,
}

declare! {
    /// Bags.
    Keys, "bag" with Changed;
    HOUSINGS = must "housings": Count<1, 1000>, "2", "How many housings there are";
    WORKING = may "working at once": Count<1, 1000>, "1", "How many of them work at once";
    BAG = may "bag": Of<OneBagKeys>, "{dry weight: 200 g}", "One bag";
}

declare! {
    /// One bag.
    OneBagKeys, "one bag";
    DRY = may "dry weight": Quantity<kind::Mass>, "200 g", "Its weight when dry";
    PRICE = may "price": Text, "prices.yaml", "The file that tells its price";
}

impl InFile for Bag {
    const DECLARED: Declared = Declared {
        words: "bag",
        opening: Opening::Typed,
        in_place_of_stops: None,
        uses_up: Some(Pieces { one: "bag", many: "bags", counted: Counted::AtChanges }),
        needs_pump: true,
    };

    const KEYS: &'static Map = Keys::MAP;

    fn read(reader: &mut Reader<'_, '_>) -> Option<Self> {
        let field = reader.map.get(&Keys::HOUSINGS);
        let housings = reader.number(&field, 1);
        let working_field = reader.map.get(&Keys::WORKING);
        let working = reader.number(&working_field, housings.unwrap_or(1));
        if let (Some(working), Some(housings)) = (working, housings)
            && working > housings
        {
            working_field.refuse(
                format!("{working} can't work at once where there are {housings} housings"),
                "look at both counts",
            );
        }
        let mut bag_dry_weight = None;
        if let Some(mut bag) = reader.map.get(&Keys::BAG).fields() {
            bag_dry_weight = bag.get(&OneBagKeys::DRY).quantity::<kind::Mass>();
            bag.get(&OneBagKeys::PRICE).text();
            bag.finish();
        }
        reader.changes();
        Some(Self { housings: housings?, working_at_once: working?, bag_dry_weight })
    }

    fn sentence(&self, _: &Speaker<'_>) -> String {
        let bag =
            self.bag_dry_weight.as_ref().map(|weight| format!(", a dry bag of {}", weight.text)).unwrap_or_default();
        format!(", {} of {} housings at work{bag}", self.working_at_once, self.housings)
    }
}

impl Kind for Bag {
    /// A change clears all that the filter holds, so every bag at work is changed with the others.
    fn sheds(&self) -> Sheds<'_> {
        Sheds::Change { pieces: self.working_at_once.max(1), dry_weight: self.bag_dry_weight.as_ref() }
    }

    fn through(&self) -> Through<'_> {
        Through::Pieces { each: "bag", which: " at work", number: self.working_at_once.max(1) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::facility::kinds::trial;

    fn bags(working: u32) -> String {
        format!(
            "{{kind: bag, opening: 20 um, housings: 3, working at once: {working}, stops: {{bigger than the opening: 80 %}}, \
             changed: {{after: 2.5 lb of solids}}, bag: {{dry weight: 200 g}}, takes from: Town, spent media to: Skip}}"
        )
    }

    #[test]
    fn its_own_keys_are_those_that_are_read() {
        trial::keys_are_read("{kind: bag, bag: {?}}", OneBagKeys::MAP);
    }

    #[test]
    fn a_change_is_of_the_bags_at_work_and_not_of_all_housings() {
        let (filter, sentence) = trial::filter(&bags(2));
        assert!(matches!(filter.kind.sheds(), Sheds::Change { pieces: 2, dry_weight: Some(_) }));
        assert!(sentence.contains("2 of 3 housings at work, a dry bag of 200 g"), "{sentence}");
    }

    #[test]
    fn more_bags_at_work_than_housings_are_refused() {
        let told = trial::problems(&bags(4));
        assert!(told.contains("4 can't work at once where there are 3 housings"), "{told}");
    }
}
