//! From the facility file to the model: every key read, every name resolved, all problems at once.

pub(super) mod filter_keys;
mod filters;
mod flows;
pub(super) mod keys;
#[cfg(test)]
mod keys_tests;
mod meter_keys;
mod names;
mod places;
mod site;
mod stores;
mod washes;
mod weirs;

use std::path::Path;

use crate::facility::check;
use crate::facility::model::{Facility, PlaceKind, SitePlace, Supply, UnitSystem};
use crate::files::schema::{Defs, document};
use crate::files::{Declares, Fields, Sources, yaml};
use crate::told::{Place, Problem, Problems};
pub(super) use filters::{Reader, stops};
use flows::Context;
use keys::{File, Sections};
use names::{Names, Section};
pub(super) use places::{above_zero, times_a_day};

/// The name of the file that describes a facility.
pub const FACILITY_FILE: &str = "facility.yaml";

/// What is told when a reader gives up without a reason.
const NO_REASON: &str = "this facility could not be put together, and no reason was found";

/// The JSON Schema of a facility file.
pub fn schema() -> serde_json::Value {
    document::<File>("Facility: what is on the site and where the water goes")
}

/// The schema of a section of places, meters or solids; none where there is no such section.
pub(crate) fn section_schema(section: &str, defs: &mut Defs) -> Option<serde_json::Value> {
    let key = Sections::MAP.keys.iter().find(|key| key.word() == section)?;
    Some(key.schema(defs))
}

/// Reads and checks the facility described by `facility.yaml` in a folder. `None` when there is any error; all are in
/// `problems`.
///
/// `sources` must be of the same folder.
pub fn read(directory: &Path, sources: &mut Sources, problems: &mut Problems) -> Option<Facility> {
    let before = problems.errors();
    let tree = tree(directory, sources, problems)?;
    let facility = from_tree(&tree, directory, problems);
    if problems.errors() > before { None } else { facility }
}

/// The tree of a folder's `facility.yaml`, as typed.
pub fn tree(directory: &Path, sources: &mut Sources, problems: &Problems) -> Option<yaml::Node> {
    if !sources.is_folder(".") {
        let name = directory.display().to_string();
        problems.add(
            Problem::error(&Place::file(&name), "there is no such folder")
                .hint("give the folder that holds facility.yaml"),
        );
        return None;
    }
    if !sources.exists(FACILITY_FILE) {
        let others = sources.list("", &["yaml", "yml"]).unwrap_or_default();
        let hint = if others.is_empty() {
            "each facility has a folder of its own with a file of this name; `new` writes a starter".to_string()
        } else {
            format!(
                "the folder holds {}; if one of these describes the facility, name it {FACILITY_FILE}",
                others.join(", ")
            )
        };
        problems.add(
            Problem::error(&Place::file(FACILITY_FILE), format!("there is no {FACILITY_FILE} in this folder"))
                .hint(hint),
        );
        return None;
    }
    let source = sources.text(FACILITY_FILE, None, problems)?;
    yaml::tree(&source, problems)
}

/// Checks the tree of a facility file and makes the model of it. `None` when there is any error.
pub fn from_tree(tree: &yaml::Node, directory: &Path, problems: &Problems) -> Option<Facility> {
    let before = problems.errors();
    let facility = model_of(tree, directory, Errors::Refuse, problems);
    if problems.errors() > before {
        return None;
    }
    if facility.is_none() {
        // No reader should give up without a word; should one do so, the file is not taken as sound.
        problems.add(Problem::error(&tree.place, NO_REASON).hint("please report this as a fault of the program"));
    }
    facility
}

/// The facility as far as its file can be read, for what needs its names alone: a place that can't be read has its name and
/// nothing else. What is wrong is told where it is read for good.
pub(crate) fn names_of(directory: &Path, sources: &mut Sources) -> Option<Facility> {
    let problems = Problems::new();
    let tree = tree(directory, sources, &problems)?;
    model_of(&tree, directory, Errors::StandIn, &problems)
}

/// What comes of a place that can't be read.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Errors {
    Refuse,
    StandIn,
}

fn model_of(tree: &yaml::Node, directory: &Path, errors: Errors, problems: &Problems) -> Option<Facility> {
    let mut file = Fields::of::<File>(tree, problems)?;
    let settings = site::settings(&mut file);
    let context = Context {
        names: Names::take(&mut file, problems),
        seasons: settings.seasons.iter().map(|season| season.name.clone()).collect(),
        solids: settings.solids.iter().map(|kind| kind.name.clone()).collect(),
        dissolved: settings.dissolved.iter().map(|kind| kind.name.clone()).collect(),
        problems,
    };
    let kinds: Vec<Option<PlaceKind>> = context
        .names
        .all
        .iter()
        .map(|named| match named.section {
            Section::Supply => places::supply(&context, &named.field).map(PlaceKind::Supply),
            Section::Catchment => places::catchment(&context, &named.name, &named.field).map(PlaceKind::Catchment),
            Section::Use => places::a_use(&context, &named.field).map(PlaceKind::Use),
            Section::Transfer => places::transfer(&context, &named.field).map(PlaceKind::Transfer),
            Section::Filter => {
                filters::filter(&context, &named.field).map(|filter| PlaceKind::Filter(Box::new(filter)))
            }
            Section::Tank => stores::tank(&context, &named.field).map(|tank| PlaceKind::Tank(Box::new(tank))),
            Section::Pond => stores::pond(&context, &named.field).map(|pond| PlaceKind::Pond(Box::new(pond))),
            Section::DischargePoint => places::discharge_point(&named.field).map(PlaceKind::DischargePoint),
        })
        .collect();
    let picture = site::picture(&context.names, &file.get(&File::PICTURE));
    let meters = site::meters(&context, &file.get(&Sections::METERS), settings.system, problems);
    if context.names.all.is_empty() {
        problems.add(
            Problem::error(&tree.place, "this facility has no place in it")
                .hint("begin with where water comes from (`supplies`), what it is used for (`uses`) and where it ends (`discharge points`)"),
        );
    }
    let file_place = Place::file(&tree.place.file);
    file.finish();
    let drafts: Vec<Option<SitePlace>> = context
        .names
        .all
        .iter()
        .zip(kinds)
        .map(|(named, kind)| kind.map(|kind| SitePlace { name: named.name.clone(), place: named.place.clone(), kind }))
        .collect();
    let typed = check::Typed {
        has_rain: settings.weather.rain.is_some(),
        has_water_temperature: settings.weather.water_temperature.is_some(),
        has_latitude: settings.latitude.is_some(),
        has_settling_solids: settings.solids.iter().any(|kind| !kind.floats),
        evaporation: settings.weather.evaporation.as_ref(),
        is_whole: settings.weather_is_whole,
    };
    check::all(&drafts, &meters, &typed, problems);
    let stand_in = errors == Errors::StandIn;
    let places: Option<Vec<SitePlace>> = drafts
        .into_iter()
        .zip(&context.names.all)
        .map(|(draft, named)| {
            draft.or_else(|| {
                let nothing = Supply { gives_at_most: None, when: None, brings: Vec::new() };
                let (name, place) = (named.name.clone(), named.place.clone());
                stand_in.then_some(SitePlace { name, place, kind: PlaceKind::Supply(nothing) })
            })
        })
        .collect();
    Some(Facility {
        name: settings.name.or_else(|| stand_in.then(String::new))?,
        place: file_place,
        directory: directory.to_path_buf(),
        system: settings.system.or_else(|| stand_in.then_some(UnitSystem::Us))?,
        paper: settings.paper,
        rules: settings.rules,
        records: settings.records,
        day_starts: settings.day_starts.or_else(|| stand_in.then_some(chrono::NaiveTime::MIN))?,
        day_bears_its_end: settings.day_bears_its_end,
        period: settings.period,
        steps_per_day: settings.steps_per_day,
        seasons: settings.seasons,
        elevation: settings.elevation,
        latitude: settings.latitude,
        weather: settings.weather,
        solids: settings.solids,
        dissolved: settings.dissolved,
        meters,
        places: places?,
        hold_sample_for: settings.hold_sample_for,
        picture,
    })
}
