//! Keys that are declared once: a reader fetches a value through its declaration, and `schema` prints from the same.
//!
//! ```text
//! declare! {
//!     /// What is due of the sludge.
//!     Sludge, "sludge";
//!     DEPTH = must "depth": Quantity<kind::Length>, "0.8 ft", "How deep it lies";
//!     MEASURED_ON = may "measured on": Date, "2024-10-16", "The day of the sounding";
//! }
//!
//! let mut map = field.map::<Sludge>()?;
//! let depth = map.read(&Sludge::DEPTH);          // Option<Given<Length>>
//! let measured = map.read(&Sludge::MEASURED_ON); // Option<Said<NaiveDate>>
//! map.finish();
//! ```

use std::marker::PhantomData;
use std::ops::Deref;

use serde_json::Value as Json;

use super::schema::Defs;
use super::yaml::Node;
use super::{Field, Fields};
use crate::told::Problems;

/// What the value of a key looks like.
pub trait Shape {
    /// Its JSON Schema: never narrower than what its reader takes.
    fn schema(defs: &mut Defs) -> Json;
}

/// A value that reads by itself, without knowing of the rest of the file.
pub trait Reads: Shape {
    /// What it becomes.
    type Out;
    /// Reads it; what is wrong is told.
    fn read(field: &Field<'_>) -> Option<Self::Out>;
}

/// A key of a map: its word, whether it must be there, what it holds, an example and what it is for.
#[derive(Debug, Clone, Copy)]
pub struct Key<V> {
    /// As it is written.
    pub word: &'static str,
    must: bool,
    example: &'static str,
    help: &'static str,
    value: PhantomData<fn() -> V>,
}

impl<V> Key<V> {
    /// A key that may be missing, or that only other keys make necessary.
    pub const fn may(word: &'static str, example: &'static str, help: &'static str) -> Self {
        Self { word, must: false, example, help, value: PhantomData }
    }

    /// A key that must be there.
    pub const fn must(word: &'static str, example: &'static str, help: &'static str) -> Self {
        Self { word, must: true, example, help, value: PhantomData }
    }
}

impl<V> AsRef<str> for Key<V> {
    fn as_ref(&self) -> &str {
        self.word
    }
}

/// A key whatever it holds, as a map lists it.
pub trait AnyKey: Sync {
    /// As it is written.
    fn word(&self) -> &'static str;
    /// Whether it must be there.
    fn must(&self) -> bool;
    /// A value that is right.
    fn example(&self) -> &'static str;
    /// What it is for, in a line.
    fn help(&self) -> &'static str;
    /// The JSON Schema of its value.
    fn schema(&self, defs: &mut Defs) -> Json;
}

/// An example without its key: some hints show both.
fn value_alone(word: &str, example: &'static str) -> &'static str {
    example.strip_prefix(word).and_then(|rest| rest.strip_prefix(": ")).unwrap_or(example)
}

impl<V: Shape> AnyKey for Key<V> {
    fn word(&self) -> &'static str {
        self.word
    }

    fn must(&self) -> bool {
        self.must
    }

    fn example(&self) -> &'static str {
        value_alone(self.word, self.example)
    }

    fn help(&self) -> &'static str {
        self.help
    }

    fn schema(&self, defs: &mut Defs) -> Json {
        V::schema(defs)
    }
}

/// All keys of a map.
#[derive(Clone, Copy)]
pub struct Map {
    /// What the map is, in a word or two: names its part of the schema.
    pub name: &'static str,
    /// What it says, in a line.
    pub help: &'static str,
    /// Its own keys.
    pub keys: &'static [&'static dyn AnyKey],
    /// Maps whose keys it has as well.
    pub includes: &'static [&'static Map],
    /// What its schema holds beside its keys.
    pub also: Option<fn(&mut Defs) -> Json>,
}

impl Map {
    /// Every key, those it includes last.
    pub fn all(&self) -> Vec<&'static dyn AnyKey> {
        let included = self.includes.iter().flat_map(|map| map.all());
        self.keys.iter().copied().chain(included).collect()
    }
}

impl std::fmt::Debug for Map {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Map").field("name", &self.name).finish_non_exhaustive()
    }
}

/// A map whose keys are declared.
pub trait Declares: 'static {
    /// Its keys.
    const MAP: &'static Map;
}

/// Declares a map and its keys; see the head of this file.
macro_rules! declare {
    ($(#[doc = $doc:literal])+ $name:ident, $words:literal $(with $more:ident)? $(also $also:ident)?;
     $($key:ident = $need:ident $word:literal: $value:ty, $example:literal, $help:literal;)*) => {
        $(#[doc = $doc])+
        #[derive(Debug, Clone, Copy)]
        pub(crate) struct $name;

        impl $name {
            $(#[doc = $help] pub(crate) const $key: $crate::files::Key<$value> =
                $crate::files::Key::$need($word, $example, $help);)*
        }

        impl $crate::files::Declares for $name {
            const MAP: &'static $crate::files::Map = &$crate::files::Map {
                name: $words,
                help: concat!($($doc),+),
                keys: &[$(&$name::$key),*],
                includes: &[$(<$more as $crate::files::Declares>::MAP)?],
                also: $crate::files::declare!(@also $($also)?),
            };
        }
    };
    (@also $also:ident) => { Some($also) };
    (@also) => { None };
}
pub(crate) use declare;

/// The value of a declared key.
#[derive(Debug, Clone)]
pub struct Keyed<'a, V> {
    field: Field<'a>,
    value: PhantomData<fn() -> V>,
}

impl<'a, V> Keyed<'a, V> {
    fn new(field: Field<'a>) -> Self {
        Self { field, value: PhantomData }
    }
}

impl<'a, V> Deref for Keyed<'a, V> {
    type Target = Field<'a>;

    fn deref(&self) -> &Field<'a> {
        &self.field
    }
}

impl<'a, V> Keyed<'a, V> {
    /// The field, whatever it holds.
    pub fn field(&self) -> Field<'a> {
        self.field.clone()
    }
}

impl<V: Reads> Keyed<'_, V> {
    /// The value, as its declaration reads it.
    pub fn read(&self) -> Option<V::Out> {
        V::read(&self.field)
    }
}

impl<'a, M: Declares> Keyed<'a, Of<M>> {
    /// The map, with its declared keys.
    pub fn open(&self) -> Option<Fields<'a>> {
        self.field.map::<M>()
    }
}

impl<'a> Fields<'a> {
    /// The map that a whole file is, with the keys that `M` declares.
    pub fn of<M: Declares>(node: &'a Node, problems: &'a Problems) -> Option<Self> {
        Field::new(node, String::new(), node.place.clone(), problems).map::<M>()
    }

    /// A declared key.
    pub fn get<V: Shape>(&mut self, key: &Key<V>) -> Keyed<'a, V> {
        self.is_declared(key.word);
        Keyed::new(if key.must { self.must(key.word, key.example) } else { self.may(key.word) })
    }

    /// The value of a declared key.
    pub fn read<V: Reads>(&mut self, key: &Key<V>) -> Option<V::Out> {
        self.get(key).read()
    }

    /// A declared key that what else was typed makes necessary.
    pub fn needs<V: Shape>(&mut self, key: &Key<V>) -> Keyed<'a, V> {
        self.is_declared(key.word);
        Keyed::new(self.must(key.word, key.example))
    }

    /// That the map declares a key which is read.
    fn is_declared(&self, word: &'static str) {
        if let Some(map) = self.declared {
            debug_assert!(map.all().iter().any(|key| key.word() == word), "`{word}` is not declared in `{}`", map.name);
            #[cfg(test)]
            super::asked::note(map.name, word);
        }
    }
}

impl<'a> Field<'a> {
    /// The map that the value is, with the keys that `M` declares.
    pub fn map<M: Declares>(&self) -> Option<Fields<'a>> {
        let mut fields = self.fields()?;
        fields.declared = Some(M::MAP);
        Some(fields)
    }

    /// The map that the value is, if it is one and has this key; nothing is told otherwise.
    pub fn map_with<M: Declares>(&self, key: impl AsRef<str>) -> Option<Fields<'a>> {
        if !self.is_map() {
            return None;
        }
        self.map::<M>().filter(|map| map.has(key))
    }
}

/// A map whose keys `M` declares.
#[derive(Debug, Clone, Copy)]
pub struct Of<M>(PhantomData<fn() -> M>);

impl<M: Declares> Shape for Of<M> {
    fn schema(defs: &mut Defs) -> Json {
        defs.map(M::MAP)
    }
}
