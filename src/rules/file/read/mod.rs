//! The rules file: from what the user typed to checked rules, all problems at once.

mod at;
mod bound;
mod conflicts;
mod counting;
mod exceptions;
mod keys;
mod limit;
mod notices;
mod unused;

use chrono::NaiveTime;

use crate::facility::model::Facility;
use crate::files::schema::document;
use crate::files::shapes::{DateRange as Days, OrNotSaid};
use crate::files::{Fields, Keyed, Sources, yaml};
use crate::quantity::{DateRange, DayOfYear};
use crate::rules::{Counting, RulesFile};
use crate::told::{Place, Problem, Problems};
use keys::File;

/// Reads a rules file by its path from the facility's directory; `asked_at` is where the path was typed. Problems are
/// told to `problems`; none is given back where an error makes the rules unusable.
pub fn read(
    path: &str,
    asked_at: Option<&Place>,
    facility: &Facility,
    sources: &mut Sources,
    problems: &Problems,
) -> Option<RulesFile> {
    let errors = problems.errors();
    let source = sources.text(path, asked_at, problems)?;
    let tree = yaml::tree(&source, problems)?;
    let rules = from_tree(&tree, facility, problems)?;
    (problems.errors() == errors).then_some(rules)
}

/// Reads the tree of a rules file, as typed or with limits taken out. None where an error makes the rules unusable.
pub fn from_tree(tree: &yaml::Node, facility: &Facility, problems: &Problems) -> Option<RulesFile> {
    let errors = problems.errors();
    let fields = Fields::of::<keys::File>(tree, problems)?;
    let rules = file(fields, &Place::file(&tree.place.file), facility)?;
    (problems.errors() == errors).then_some(rules)
}

/// The JSON Schema of a rules file.
pub fn schema() -> serde_json::Value {
    document::<keys::File>("Rules: what your permit says")
}

fn file(mut fields: Fields<'_>, place: &Place, facility: &Facility) -> Option<RulesFile> {
    let authority = fields.read(&File::AUTHORITY);
    let permit = fields.read(&File::PERMIT);
    let holder = fields.read(&File::HOLDER).map(|said| said.value);
    let in_force = in_force(&fields.get(&File::IN_FORCE));
    let year = fields.read(&File::PERMIT_YEAR_STARTS);
    let typed_by = fields.read(&File::TYPED_BY).map(|said| said.value);
    let counts = fields.get(&File::COUNTS);
    let mut least_at = counts.is_there().then(|| counts.key_place.clone());
    let counting = match counts.open() {
        Some(mut map) => {
            least_at = map.typed(keys::Counting::LEAST_DATA).map(|field| field.key_place).or(least_at);
            let counting = counting::read(&mut map, Counting::default(), true);
            if let Some(starts) = counting.day_starts {
                same_day(starts, facility, &map.place, map.problems());
            }
            map.finish();
            counting
        }
        None => Counting::default(),
    };
    let mut limits = Vec::new();
    for (name, field) in fields.get(&File::LIMITS).named() {
        if let Some(mut limit) = limit::read(&name.value, &name.place, &field, &counting, facility) {
            limit.least_data_at = limit.least_data_at.or_else(|| least_at.clone());
            limits.push(limit);
        }
    }
    conflicts::tell(&limits, fields.problems());
    let notices = notices::read(&fields.get(&File::NOTICES), facility);
    fields.finish();
    Some(RulesFile {
        place: place.clone(),
        authority: authority?.value,
        permit: permit?.value,
        holder,
        in_force,
        permit_year_starts: year.map_or(DayOfYear { month: 1, day: 1 }, |said| said.value),
        typed_by,
        counting,
        limits,
        notices,
    })
}

fn in_force(field: &Keyed<'_, OrNotSaid<Days>>) -> Option<(chrono::NaiveDate, chrono::NaiveDate)> {
    match field.read()?.value {
        DateRange::Dates { first, last } => Some((first, last)),
        DateRange::Yearly(_) => {
            field.refuse("the years are missing", "write it like 1 Nov 2023 to 31 Oct 2028");
            None
        }
    }
}

/// The permit's day and the facility's must be the same: records are cut by the one, limits by the other.
fn same_day(starts: NaiveTime, facility: &Facility, place: &Place, problems: &Problems) {
    if starts != facility.day_starts {
        let show = |time: NaiveTime| time.format("%H:%M").to_string();
        problems.add(
            Problem::error(
                place,
                format!(
                    "the permit's day starts at {}, and the facility's at {}",
                    show(starts),
                    show(facility.day_starts)
                ),
            )
            .hint("they must be the same: change `day starts` in the facility file, or `day` here")
            .related(&facility.place, "the facility file"),
        );
    }
}
