//! Pressure screen: holds what it stops until a body is flushed, by itself or by hand.

use super::{Declared, InFile, Kind, Opening, Sheds, Through};
use crate::facility::read::Reader;
use crate::facility::read::filter_keys::Washed;
use crate::facility::sentences::Speaker;
use crate::files::shapes::{Count, Words};
use crate::files::{Declares, Map, declare, words};

/// A pressure screen.
#[derive(Debug, Clone)]
pub struct PressureScreen {
    /// Bodies in line.
    pub in_line: u32,
    /// Whether it cleans itself.
    pub self_cleaning: bool,
}

declare! {
    /// A screen under pressure.
    Keys, "pressure screen" with Washed;
    IN_LINE = may "in line": Count<1, 1000>, "1", "How many bodies there are";
    CLEANED = must "cleaned": Words<CleanedWords>, "by itself", "Who cleans it";
}

words! {
    /// Who cleans a screen.
    CleanedWords: bool, "by itself" => true, "by hand" => false;
}

impl InFile for PressureScreen {
    const DECLARED: Declared = Declared {
        words: "pressure screen",
        opening: Opening::Typed,
        in_place_of_stops: None,
        uses_up: None,
        needs_pump: true,
    };

    const KEYS: &'static Map = Keys::MAP;

    fn read(reader: &mut Reader<'_, '_>) -> Option<Self> {
        let bodies = reader.map.get(&Keys::IN_LINE);
        let in_line = reader.number(&bodies, 1);
        let cleaned = reader.map.get(&Keys::CLEANED).one_of(&[("by itself", true), ("by hand", false)]);
        reader.washes("body", in_line.unwrap_or(1));
        Some(Self { in_line: in_line?, self_cleaning: cleaned?.value })
    }

    fn sentence(&self, _: &Speaker<'_>) -> String {
        format!(", {} in line, cleaned {}", self.in_line, if self.self_cleaning { "by itself" } else { "by hand" })
    }
}

impl Kind for PressureScreen {
    fn sheds(&self) -> Sheds<'_> {
        Sheds::Wash { scour: None }
    }

    fn through(&self) -> Through<'_> {
        Through::NotSaid
    }
}

#[cfg(test)]
mod tests {
    use crate::facility::kinds::trial;

    #[test]
    fn bodies_in_line_are_flushed_one_after_another() {
        let (filter, sentence) = trial::filter(
            "{kind: pressure screen, opening: 100 um, in line: 2, cleaned: by itself, stops: {bigger than the opening: 90 %}, \
             washes: {every: 6 running hours}, one wash: {rate: 60 gpm, lasts: 20 s, each: body}, \
             washed with: its own filtered water, wash water to: Pond, takes from: Town}",
        );
        assert_eq!(filter.wash.unwrap().vessels, 2);
        assert!(sentence.contains("2 in line, cleaned by itself"), "{sentence}");
    }
}
