//! Gravity screen: what it stops slides to a bin with its liquor; it is hosed down by hand.

use super::{Declared, HoseDown, InFile, Kind, Opening, Sheds, Sprayed, Through};
use crate::facility::read::filter_keys::{AnyFilter, TimesADay};
use crate::facility::read::keys::Outflow;
use crate::facility::read::{Reader, times_a_day};
use crate::facility::sentences::Speaker;
use crate::files::shapes::{Name, Quantity};
use crate::files::{Declares, Field, Map, Of, declare};
use crate::quantity::kind;

/// A gravity screen.
#[derive(Debug, Clone)]
pub struct GravityScreen {
    /// Hosing down.
    pub hosed_down: Option<HoseDown>,
}

declare! {
    /// A screen that water falls over.
    Keys, "gravity screen" with AnyFilter;
    HOSED = may "hosed down": Of<HoseKeys>, "{flow: 8 gpm, lasts: 5 min, times: 2 a day, with: Town water, goes to: Settling pond}",
        "How it is hosed down";
}

declare! {
    /// Hosing down.
    HoseKeys, "hosed down";
    FLOW = must "flow": Quantity<kind::Flow>, "8 gpm", "The hose's flow";
    LASTS = must "lasts": Quantity<kind::Time>, "5 min", "How long it lasts";
    TIMES = must "times": TimesADay, "2 a day", "How often in a day";
    WITH = must "with": Name, "Town water", "The water";
    GOES_TO = must "goes to": Outflow, "Settling pond", "Where it goes";
}

impl InFile for GravityScreen {
    const DECLARED: Declared = Declared {
        words: "gravity screen",
        opening: Opening::Typed,
        in_place_of_stops: None,
        uses_up: None,
        needs_pump: false,
    };

    const KEYS: &'static Map = Keys::MAP;

    fn read(reader: &mut Reader<'_, '_>) -> Option<Self> {
        let hosed = reader.map.get(&Keys::HOSED);
        Some(Self { hosed_down: hose(reader, &hosed) })
    }

    fn sentence(&self, say: &Speaker<'_>) -> String {
        let Some(hose) = &self.hosed_down else {
            return String::new();
        };
        format!(
            ", hosed down {} for {} at {} with water from {}, which goes to {}",
            hose.times_a_day.text,
            hose.lasts.text,
            hose.flow.text,
            say.name(hose.with),
            say.out(&hose.to)
        )
    }
}

fn hose<'a>(reader: &Reader<'_, 'a>, field: &Field<'a>) -> Option<HoseDown> {
    let mut map = field.fields()?;
    let flow = map.get(&HoseKeys::FLOW).quantity::<kind::Flow>();
    let lasts = map.get(&HoseKeys::LASTS).quantity::<kind::Time>();
    let times = times_a_day(&map.get(&HoseKeys::TIMES));
    let with = reader.store_or_supply(&map.get(&HoseKeys::WITH));
    let to = reader.outflow(&map.get(&HoseKeys::GOES_TO));
    map.finish();
    Some(HoseDown { flow: flow?, lasts: lasts?, times_a_day: times?, with: with?, to: to? })
}

impl Kind for GravityScreen {
    fn sheds(&self) -> Sheds<'_> {
        Sheds::Screenings
    }

    fn through(&self) -> Through<'_> {
        Through::NotSaid
    }

    fn sprayed(&self) -> Sprayed<'_> {
        self.hosed_down.as_ref().map_or(Sprayed::Not, Sprayed::ByHand)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::facility::kinds::trial;

    #[test]
    fn its_own_keys_are_those_that_are_read() {
        trial::keys_are_read("{kind: gravity screen, hosed down: {?}}", HoseKeys::MAP);
    }

    #[test]
    fn a_screen_without_a_hose_takes_no_water_of_its_own() {
        let lines = "kind: gravity screen, opening: 300 um, stops: {bigger than the opening: 85 %}, goes to: Pond";
        let (filter, _) = trial::filter(&format!("{{{lines}}}"));
        assert!(matches!(filter.kind.sprayed(), Sprayed::Not));
        let hose = "hosed down: {flow: 8 gpm, lasts: 5 min, times: 2 a day, with: Town, goes to: Pond}";
        let (filter, sentence) = trial::filter(&format!("{{{lines}, {hose}}}"));
        assert!(matches!(filter.kind.sprayed(), Sprayed::ByHand(_)));
        assert!(sentence.contains("hosed down 2 a day for 5 min at 8 gpm with water from Town"), "{sentence}");
    }
}
