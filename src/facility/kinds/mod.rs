//! The kinds of filter. One file holds all that is particular to a kind: its words, what it declares, how it is read and read
//! back, how it behaves, its tests. The other rooms ask for its answers ([`Kind`], [`Declared`]) and never which kind it is.
//!
//! A new kind is a file beside these and a line in the list below.

mod answers;
mod bed;
#[cfg(test)]
mod trial;

use std::ops::{Deref, DerefMut};

pub use answers::{
    Counted, Deck, Declared, DrumRinse, HoseDown, Kind, MediaBed, MediaLayer, OfTheFeed, Opening, Pieces, Reject, Roll,
    Sheds, Spray, Sprayed, Through,
};

use crate::facility::read::Reader;
use crate::facility::sentences::Speaker;
use crate::files::Map;

/// A kind as the facility file has it.
pub(super) trait InFile: Sized {
    /// What holds for every filter of the kind.
    const DECLARED: Declared;

    /// The keys that this kind has in the file.
    const KEYS: &'static Map;

    /// Words of the trade for what it does, that stand where its kind should.
    const MEANT_BY: &'static [&'static str] = &[];

    /// Reads what only this kind has, with its washes or changes; all problems are told, none stops the reading.
    fn read(reader: &mut Reader<'_, '_>) -> Option<Self>;

    /// What only this kind has, as part of the filter's sentence: begins with a comma, or empty.
    fn sentence(&self, say: &Speaker<'_>) -> String;
}

/// A kind's words and how it is read.
pub(super) type Row = (Declared, fn(&mut Reader<'_, '_>) -> Option<FilterKind>);

/// Makes of the one list of kinds: their modules, the enum, the table of the reader, and who answers.
macro_rules! kinds {
    ($($file:ident::$Kind:ident,)+) => {
        $(mod $file;)+
        $(pub use $file::$Kind;)+

        /// Which kind a filter is, with what only that kind has. Its answers are those of [`Kind`].
        #[derive(Debug, Clone)]
        pub enum FilterKind {
            $(#[doc = concat!("See [`", stringify!($Kind), "`].")] $Kind($Kind),)+
        }

        /// The words of each kind, and its keys.
        pub(super) const KEYS: &[(&str, &Map)] = &[$(($Kind::DECLARED.words, $Kind::KEYS),)+];

        /// What is typed where a kind is meant.
        pub(super) const MEANT: &[(&str, &[&str])] = &[$(($Kind::DECLARED.words, $Kind::MEANT_BY),)+];

        impl FilterKind {
            /// What each kind declares, in the order in which a message lists them.
            pub const ALL: &'static [Declared] = &[$($Kind::DECLARED,)+];

            pub(super) const READ: &'static [Row] =
                &[$(($Kind::DECLARED, |reader| $Kind::read(reader).map(Self::$Kind)),)+];

            /// What every filter of this kind has.
            pub fn declared(&self) -> &'static Declared {
                match self {
                    $(Self::$Kind(_) => &$Kind::DECLARED,)+
                }
            }

            pub(super) fn sentence(&self, say: &Speaker<'_>) -> String {
                match self {
                    $(Self::$Kind(kind) => kind.sentence(say),)+
                }
            }
        }

        impl Deref for FilterKind {
            type Target = dyn Kind;

            fn deref(&self) -> &Self::Target {
                match self {
                    $(Self::$Kind(kind) => kind,)+
                }
            }
        }

        impl DerefMut for FilterKind {
            fn deref_mut(&mut self) -> &mut Self::Target {
                match self {
                    $(Self::$Kind(kind) => kind,)+
                }
            }
        }
    };
}

kinds! {
    gravity_screen::GravityScreen,
    vibrating_screen::VibratingScreen,
    pressure_screen::PressureScreen,
    moving_media::MovingMedia,
    microscreen_drum::MicroscreenDrum,
    bag::Bag,
    shallow_media_bed::ShallowMediaBed,
    deep_media_bed::DeepMediaBed,
    cartridge::Cartridge,
    membrane::Membrane,
}

impl FilterKind {
    /// The words of the file for this kind.
    pub fn words(&self) -> &'static str {
        self.declared().words
    }
}

/// What the kinds use up, each once, by the letters of its word.
pub fn pieces() -> Vec<Pieces> {
    let mut all: Vec<Pieces> = FilterKind::ALL.iter().filter_map(|kind| kind.uses_up).collect();
    all.sort_by_key(|pieces| pieces.many);
    all.dedup();
    all
}

/// The key under which a kind of filter says where its wash, rinse or reject water goes; none for what sends none away.
pub fn wash_water_key(kind: &str) -> Option<&'static str> {
    let (_, map) = KEYS.iter().find(|(words, _)| words.eq_ignore_ascii_case(kind))?;
    let all = map.all();
    all.iter().map(|key| key.word()).find(|word| ["wash water to", "rinse water to", "reject to"].contains(word))
}

/// The words for several pieces of those that are changed whole: `bags`, `cartridges`.
pub fn changed_pieces() -> Vec<&'static str> {
    pieces().into_iter().filter(|pieces| pieces.counted == Counted::AtChanges).map(|pieces| pieces.many).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::facility::read::filter_keys::{
        AgainstSand, Cadence, Layer, OneChange, OneWash, RinseToWaste, Screenings,
    };
    use crate::files::Declares;

    /// What `schema` prints of a kind is what its reader asks for.
    #[test]
    fn the_keys_of_a_kind_are_those_that_its_reader_knows() {
        for (kind, map) in KEYS {
            trial::keys_are_read(&format!("{{kind: {kind}, ?}}"), map);
        }
    }

    #[test]
    fn keys_that_kinds_share_are_those_that_their_readers_know() {
        for (filter, map) in [
            ("{kind: bag, screenings: {?}}", Screenings::MAP),
            ("{kind: pressure screen, washes: {?}}", Cadence::MAP),
            ("{kind: pressure screen, one wash: {?}}", OneWash::MAP),
            ("{kind: shallow media bed, rinse to waste: {?}}", RinseToWaste::MAP),
            ("{kind: bag, changed: {?}}", Cadence::MAP),
            ("{kind: cartridge, changed: {?}}", Cadence::MAP),
            ("{kind: bag, one change: {?}}", OneChange::MAP),
            ("{kind: deep media bed, media: [{?}]}", Layer::MAP),
            ("{kind: deep media bed, media: [{compared with sand: {?}}]}", AgainstSand::MAP),
        ] {
            trial::keys_are_read(filter, map);
        }
    }

    #[test]
    fn no_two_kinds_have_the_same_words() {
        let mut words: Vec<&str> = FilterKind::ALL.iter().map(|kind| kind.words).collect();
        words.sort_unstable();
        assert!(words.windows(2).all(|pair| pair[0] != pair[1]), "{words:?}");
    }
}
