//! The rules file: from what the user typed to checked rules, all problems at once.

mod at;
mod bound;
mod conflicts;
mod counting;
mod exceptions;
mod limit;
mod notices;
mod unused;

use chrono::NaiveTime;

use crate::facility::model::Facility;
use crate::files::{Field, Fields, Sources, yaml};
use crate::quantity::{DateRange, DayOfYear, day_of_year};
use crate::rules::{Counting, RulesFile};
use crate::told::{Place, Problem, Problems};

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
    let fields = Fields::of_file(tree, problems)?;
    let rules = file(fields, &Place::file(&tree.place.file), facility)?;
    (problems.errors() == errors).then_some(rules)
}

fn optional_text(field: &Field<'_>) -> Option<String> {
    if field.says_not_said() { None } else { field.text().map(|said| said.value) }
}

fn file(mut fields: Fields<'_>, place: &Place, facility: &Facility) -> Option<RulesFile> {
    let authority = fields.must("authority", "authority: the board that issued the permit").text();
    let permit = fields.must("permit", "permit: its number").text();
    let holder = optional_text(&fields.may("holder"));
    let in_force = in_force(&fields.may("in force"));
    let year =
        fields.must("permit year starts", "permit year starts: 1 Nov").parse("a day of the year", "1 Nov", day_of_year);
    let typed_by = optional_text(&fields.may("typed by"));
    let counts = fields
        .must("how this permit counts", "how this permit counts: {day: midnight to midnight, rounding: not said}");
    let counting = match counts.fields() {
        Some(mut map) => {
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
    for (name, field) in fields.must("limits", "limits: with a name for each limit and its lines below").named() {
        if let Some(limit) = limit::read(&name.value, &name.place, &field, &counting, facility) {
            limits.push(limit);
        }
    }
    conflicts::tell(&limits, fields.problems());
    let notices = notices::read(&fields.may("notices"));
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

fn in_force(field: &Field<'_>) -> Option<(chrono::NaiveDate, chrono::NaiveDate)> {
    if field.says_not_said() {
        return None;
    }
    match field.date_range()?.value {
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
