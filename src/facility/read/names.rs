//! The names of all places, taken in before anything is resolved.

use super::keys::Sections;
use crate::facility::model::PlaceId;
use crate::files::{Field, Fields};
use crate::told::{Place, Problem, Problems, nearest};

/// The part of the file that a place stands in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Section {
    Supply,
    Catchment,
    Use,
    Transfer,
    Filter,
    Tank,
    Pond,
    DischargePoint,
}

impl Section {
    /// `a supply`.
    pub(super) fn a(self) -> &'static str {
        match self {
            Self::Supply => "a supply",
            Self::Catchment => "a catchment",
            Self::Use => "a use",
            Self::Transfer => "a transfer",
            Self::Filter => "a filter",
            Self::Tank => "a tank",
            Self::Pond => "a pond",
            Self::DischargePoint => "a discharge point",
        }
    }
}

/// One place, named but not yet read.
pub(super) struct Named<'a> {
    pub(super) name: String,
    pub(super) place: Place,
    pub(super) section: Section,
    pub(super) field: Field<'a>,
}

/// All places in file order; the index is the number of the place.
pub(super) struct Names<'a> {
    pub(super) all: Vec<Named<'a>>,
    problems: &'a Problems,
}

/// The most places of one section.
const MOST_PLACES: usize = 500;

/// Names that mean something else in a value.
const TAKEN: [&str; 5] = ["not known", "not said", "the rest", "rest", "its own filtered water"];

impl<'a> Names<'a> {
    /// Takes in every name of every section; equal names are told with both lines.
    pub(super) fn take(file: &mut Fields<'a>, problems: &'a Problems) -> Self {
        let mut all: Vec<Named<'a>> = Vec::new();
        let sections = [
            (Section::Supply, file.get(&Sections::SUPPLIES).field()),
            (Section::Catchment, file.get(&Sections::CATCHMENTS).field()),
            (Section::Use, file.get(&Sections::USES).field()),
            (Section::Transfer, file.get(&Sections::TRANSFERS).field()),
            (Section::Filter, file.get(&Sections::FILTERS).field()),
            (Section::Tank, file.get(&Sections::TANKS).field()),
            (Section::Pond, file.get(&Sections::PONDS).field()),
            (Section::DischargePoint, file.get(&Sections::DISCHARGE_POINTS).field()),
        ];
        for (section, field) in sections {
            for (name, field) in field.named_at_most(MOST_PLACES) {
                all.push(Named { name: name.value, place: name.place, section, field });
            }
        }
        all.sort_by_key(|named| (named.place.line, named.place.column));
        for (at, named) in all.iter().enumerate() {
            if TAKEN.iter().any(|word| word.eq_ignore_ascii_case(&named.name)) {
                problems.add(
                    Problem::error(
                        &named.place,
                        format!("`{}` has a meaning of its own and can't be a name", named.name),
                    )
                    .hint("choose another name"),
                );
            }
            let earlier = all.iter().take(at).find(|other| loose(&other.name) == loose(&named.name));
            if let Some(other) = earlier {
                let message = if other.name == named.name {
                    format!(
                        "`{}` is {} here and {} on line {}",
                        named.name,
                        named.section.a(),
                        other.section.a(),
                        other.place.line
                    )
                } else {
                    format!(
                        "`{}` and `{}` on line {} are too alike to tell apart",
                        named.name, other.name, other.place.line
                    )
                };
                problems.add(
                    Problem::error(&named.place, message)
                        .hint("each place has a name of its own; rename one")
                        .related(&other.place, "the other one"),
                );
            }
        }
        Self { all, problems }
    }

    pub(super) fn get(&self, id: PlaceId) -> Option<&Named<'a>> {
        self.all.get(id.0)
    }

    pub(super) fn section(&self, id: PlaceId) -> Option<Section> {
        self.get(id).map(|named| named.section)
    }

    /// The place that a field names; an unknown name is told with the nearest one.
    pub(super) fn resolve(&self, field: &Field<'a>) -> Option<PlaceId> {
        let said = field.name()?;
        self.find(&said.value, &said.place)
    }

    /// The place of a name typed at `place`.
    pub(super) fn find(&self, name: &str, place: &Place) -> Option<PlaceId> {
        let mut found = self.all.iter().enumerate().filter(|(_, named)| named.name == name).map(|(at, _)| PlaceId(at));
        if let Some(id) = found.next() {
            // A name that two places bear has been told; which of them is meant can't be known.
            return if found.next().is_none() { Some(id) } else { None };
        }
        let shown: String = name.chars().take(60).collect();
        let mut problem = Problem::error(place, format!("there is no place called `{shown}`"));
        problem = match nearest(name, self.all.iter().map(|named| named.name.as_str())) {
            Some(near) => {
                let line = self.all.iter().find(|named| named.name == near).map_or(0, |named| named.place.line);
                problem.hint(format!("did you mean `{near}` (line {line})? names are matched exactly"))
            }
            None => problem.hint("name a place of this file, exactly as it is written there"),
        };
        self.problems.add(problem);
        None
    }
}

fn loose(name: &str) -> String {
    name.chars().filter(|c| !c.is_whitespace()).flat_map(char::to_lowercase).collect()
}
