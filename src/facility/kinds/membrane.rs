//! Membrane (microfiltration, ultrafiltration, reverse osmosis): what does not pass flows off all the time it runs, as reject.

use serde_json::Value as Json;
use uom::si::f64::Ratio;

use super::{Declared, InFile, Kind, OfTheFeed, Opening, Reject, Sheds, Through};
use crate::facility::read::Reader;
use crate::facility::read::filter_keys::AnyFilter;
use crate::facility::read::keys;
use crate::facility::sentences::Speaker;
use crate::files::schema::{Defs, any_case, any_of, needs};
use crate::files::shapes::Quantity;
use crate::files::{Declares, Given, Keyed, Map, declare};
use crate::quantity::kind;

/// A membrane.
#[derive(Debug, Clone)]
pub struct Membrane {
    /// Its reject.
    pub reject: Reject,
}

declare! {
    /// A membrane: microfiltration, ultrafiltration, reverse osmosis.
    Keys, "membrane" with AnyFilter also parts_its_feed;
    RECOVERY = may "recovery": Quantity<kind::Share>, "75 % to 85 %", "The share of what comes to it that passes, as permeate";
    REJECTS = may "rejects": Quantity<kind::Share>, "20 %", "The share that flows off as reject, in place of the recovery";
    REJECT_TO = must "reject to": keys::Outflow, "Town sewer", "Where the reject goes";
    DISSOLVED = may "dissolved held back": Quantity<kind::Share>, "95 %",
        "The share of what is dissolved that it keeps out of the permeate";
}

/// It says how it parts what comes.
fn parts_its_feed(_: &mut Defs) -> Json {
    any_of([Keys::RECOVERY.word, Keys::REJECTS.word].map(|word| needs(word, &any_case(word))))
}

impl InFile for Membrane {
    const DECLARED: Declared = Declared {
        words: "membrane",
        opening: Opening::Typed,
        in_place_of_stops: None,
        uses_up: None,
        needs_pump: true,
    };

    const KEYS: &'static Map = Keys::MAP;

    const MEANT_BY: &'static [&'static str] =
        &["microfiltration", "ultrafiltration", "nanofiltration", "reverse osmosis"];

    fn read(reader: &mut Reader<'_, '_>) -> Option<Self> {
        let recovery = reader.map.get(&Keys::RECOVERY);
        let rejects = reader.map.get(&Keys::REJECTS);
        let to = reader.map.get(&Keys::REJECT_TO);
        let to = reader.outflow(&to);
        let held_back = reader.map.get(&Keys::DISSOLVED).quantity::<kind::Share>();
        let of_the_feed = match (recovery.is_there(), rejects.is_there()) {
            (true, true) => {
                rejects.refuse(
                    "`recovery` and `rejects` say the same: what does not pass is rejected",
                    "keep one of them",
                );
                None
            }
            (false, false) => reader.map.needs(&Keys::RECOVERY).quantity::<kind::Share>().map(OfTheFeed::Passes),
            (true, false) => share(&recovery, |least, _| least > 0.0).map(OfTheFeed::Passes),
            (false, true) => share(&rejects, |_, most| most < 1.0).map(OfTheFeed::Rejected),
        };
        Some(Self { reject: Reject { of_the_feed: of_the_feed?, to: to?, dissolved_held_back: held_back } })
    }

    fn sentence(&self, say: &Speaker<'_>) -> String {
        let parts = match &self.reject.of_the_feed {
            OfTheFeed::Passes(share) => format!("{} of what comes to it passes, and the rest", share.text),
            OfTheFeed::Rejected(share) => format!("{} of what comes to it", share.text),
        };
        let dissolved = self.reject.dissolved_held_back.as_ref().map_or_else(
            || "what it does with what is dissolved is not said".to_owned(),
            |share| format!("it holds back {} of what is dissolved", share.text),
        );
        format!(
            "; {parts} flows off as reject all the time it runs and goes to {}; {dissolved}",
            say.out(&self.reject.to)
        )
    }
}

/// A share that lets something pass.
fn share(field: &Keyed<'_, Quantity<kind::Share>>, passes: impl Fn(f64, f64) -> bool) -> Option<Given<Ratio>> {
    let share = field.quantity::<kind::Share>()?;
    if share.ends().is_some_and(|(least, most)| !passes(least.value, most.value)) {
        field.refuse("nothing would pass", "a membrane passes part of what comes to it: `recovery: 75 %`");
        return None;
    }
    Some(share)
}

impl Kind for Membrane {
    fn sheds(&self) -> Sheds<'_> {
        Sheds::Reject(&self.reject)
    }

    fn through(&self) -> Through<'_> {
        Through::NotSaid
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::facility::kinds::trial;

    fn membrane(lines: &str) -> String {
        format!(
            "{{kind: membrane, opening: 0.05 um, stops: {{bigger than the opening: 99 %}}, {lines}, takes from: Town, reject to: Pond}}"
        )
    }

    #[test]
    fn a_membrane_says_what_passes_or_what_it_rejects() {
        let (filter, sentence) = trial::filter(&membrane("recovery: 75 % to 85 %"));
        assert!(matches!(filter.kind.sheds(), Sheds::Reject(_)));
        assert!(
            sentence.contains("75 % to 85 % of what comes to it passes, and the rest flows off as reject"),
            "{sentence}"
        );
        assert!(sentence.contains("what is dissolved is not said"), "{sentence}");
        let (_, sentence) = trial::filter(&membrane("rejects: 20 %, dissolved held back: 0 %"));
        assert!(
            sentence.contains("20 % of what comes to it flows off as reject all the time it runs and goes to Pond"),
            "{sentence}"
        );
        assert!(sentence.contains("it holds back 0 % of what is dissolved"), "{sentence}");
    }

    #[test]
    fn the_process_in_place_of_the_kind_is_answered_with_the_kind() {
        let told = trial::problems("{kind: Reverse osmosis, recovery: 75 %, takes from: Town}");
        assert!(told.contains("reverse osmosis is done by a membrane"), "{told}");
    }

    #[test]
    fn it_is_told_what_is_missing_and_what_cannot_be() {
        for (lines, said) in [
            ("handles at most: 20 gpm", "has no `recovery`"),
            ("recovery: 80 %, rejects: 20 %", "say the same"),
            ("recovery: 0 %", "nothing would pass"),
            ("rejects: 90 % to 100 %", "nothing would pass"),
        ] {
            let told = trial::problems(&membrane(lines));
            assert!(told.contains(said), "{told}");
        }
    }
}
