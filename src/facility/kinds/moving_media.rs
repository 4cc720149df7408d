//! Moving media: a roll of cloth winds on as it loads up, or by its least advance, and carries the solids away wet.

use super::{Counted, Declared, InFile, Kind, Opening, Pieces, Roll, Sheds, Through};
use crate::facility::model::Outflow;
use crate::facility::read::filter_keys::AnyFilter;
use crate::facility::read::keys;
use crate::facility::read::{Reader, above_zero};
use crate::facility::sentences::Speaker;
use crate::files::shapes::{Quantity, Words};
use crate::files::{Declares, Field, Map, Of, declare, words};
use crate::quantity::kind;

/// A roll of cloth in the water.
#[derive(Debug, Clone)]
pub struct MovingMedia {
    /// The roll.
    pub roll: Roll,
    /// Where drip goes.
    pub drip_to: Option<Outflow>,
}

declare! {
    /// A roll of cloth that moves on.
    Keys, "moving media" with AnyFilter;
    RUNS_OUT = must "when it runs out": Words<RunsOutWords>, "passes unfiltered",
        "What happens when the roll is used up";
    ROLL = must "roll": Of<RollKeys>, "{length: 1000 ft, width: 40 in, dry weight: 30 g/m2, holds: 80 g/m2}",
        "The roll";
    DRIP = may "drip to": keys::Outflow, "Settling pond", "Where it drips to";
}

declare! {
    /// A roll of cloth.
    RollKeys, "roll";
    LENGTH = must "length": Quantity<kind::Length>, "1000 ft", "Its length";
    WIDTH = must "width": Quantity<kind::Length>, "40 in", "Its width";
    DRY = must "dry weight": Quantity<kind::ArealMass>, "30 g/m2", "Its weight when dry";
    HOLDS = must "holds": Quantity<kind::ArealMass>, "80 g/m2", "The solids that it holds";
    AT_LEAST = may "at least": Quantity<kind::DepthRate>, "6 ft/day", "How far it moves in a day at least";
    WET = may "wet weight": Quantity<kind::TimesDry>, "5 times dry", "Its weight when wet";
}

words! {
    /// What happens when a roll is used up.
    RunsOutWords: bool, "passes unfiltered" => true, "a new roll at once" => false;
}

impl InFile for MovingMedia {
    const DECLARED: Declared = Declared {
        words: "moving media",
        opening: Opening::Typed,
        in_place_of_stops: None,
        uses_up: Some(Pieces { one: "roll", many: "rolls", counted: Counted::ByLength }),
        needs_pump: true,
    };

    const KEYS: &'static Map = Keys::MAP;

    fn read(reader: &mut Reader<'_, '_>) -> Option<Self> {
        let passes =
            reader.map.get(&Keys::RUNS_OUT).one_of(&[("passes unfiltered", true), ("a new roll at once", false)]);
        let roll = roll(&reader.map.get(&Keys::ROLL), passes.is_none_or(|said| said.value));
        let drip = reader.map.get(&Keys::DRIP);
        let drip_to = reader.outflow(&drip);
        Some(Self { roll: roll?, drip_to })
    }

    fn sentence(&self, _: &Speaker<'_>) -> String {
        let roll = &self.roll;
        format!(
            ", on rolls of {} by {}, {} dry{}, that hold {}{}; when one runs out {}",
            roll.length.text,
            roll.width.text,
            roll.dry_weight.text,
            roll.wet_weight_times.as_ref().map(|times| format!(" and {} when wet", times.text)).unwrap_or_default(),
            roll.holds.text,
            roll.at_least.as_ref().map(|least| format!(", moving at least {}", least.text)).unwrap_or_default(),
            if roll.passes_unfiltered { "water passes unfiltered" } else { "a new one is put on at once" }
        )
    }
}

fn roll(field: &Field<'_>, passes_unfiltered: bool) -> Option<Roll> {
    let mut map = field.fields()?;
    let length = above_zero(&map.get(&RollKeys::LENGTH), |field| field.quantity::<kind::Length>());
    let width = above_zero(&map.get(&RollKeys::WIDTH), |field| field.quantity::<kind::Length>());
    let dry_weight = map.get(&RollKeys::DRY).quantity::<kind::ArealMass>();
    let holds = above_zero(&map.get(&RollKeys::HOLDS), |field| field.quantity::<kind::ArealMass>());
    let at_least = map.get(&RollKeys::AT_LEAST).quantity::<kind::DepthRate>();
    let wet_weight_times = map.get(&RollKeys::WET).quantity::<kind::TimesDry>();
    map.finish();
    Some(Roll {
        length: length?,
        width: width?,
        dry_weight: dry_weight?,
        holds: holds?,
        at_least,
        wet_weight_times,
        passes_unfiltered,
    })
}

impl Kind for MovingMedia {
    fn sheds(&self) -> Sheds<'_> {
        Sheds::Roll { roll: &self.roll, drip_to: self.drip_to.as_ref() }
    }

    fn through(&self) -> Through<'_> {
        Through::NotSaid
    }

    fn last_longer(&mut self, times: f64) {
        self.roll.holds.scale(times);
        if let Some(least) = &mut self.roll.at_least {
            least.scale(1.0 / times);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::facility::kinds::trial;

    #[test]
    fn its_own_keys_are_those_that_are_read() {
        trial::keys_are_read("{kind: moving media, roll: {?}}", RollKeys::MAP);
    }

    #[test]
    fn a_roll_that_lasts_twice_as_long_holds_twice_as_much_and_creeps_half_as_fast() {
        let (mut filter, _) = trial::filter(
            "{kind: moving media, opening: 30 um, stops: {all solids: 50 %}, takes from: Town, spent media to: Skip, \
             roll: {length: 1000 ft, width: 40 in, dry weight: 30 g/m2, holds: 80 g/m2, at least: 3 m/day}, \
             when it runs out: passes unfiltered}",
        );
        filter.kind.last_longer(2.0);
        let Sheds::Roll { roll, .. } = filter.kind.sheds() else { panic!("a roll") };
        // 0.16 kg/m² and 1.5 m in 86 400 s.
        assert!((roll.holds.ends().unwrap().0.value - 0.16).abs() < 1e-15);
        let least = roll.at_least.as_ref().unwrap().ends().unwrap().0.value;
        assert!((least * 86_400.0 - 1.5).abs() < 1e-12);
    }
}
