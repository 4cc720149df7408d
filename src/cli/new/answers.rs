//! What `new` asks, as a file that can be given again.

use std::fmt::Write as _;

use serde_json::Value as Json;

use crate::facility::kinds::FilterKind;
use crate::files::schema::{Defs, document, one_of_words};
use crate::files::shapes::{Clock, Name, Named, OneOrMore, Quantity, Text, Words};
use crate::files::{Fields, Reads, Said, Shape, Source, WordList, declare, yaml};
use crate::quantity::kind;
use crate::records::sheet::quoted;
use crate::told::{Problem, Problems};

declare! {
    /// What is on a site, answered in a few lines: `bywash new FOLDER --from answers.yaml` makes its files.
    File, "answers";
    NAME = may "name": Text, "Name of your nursery", "The site's name";
    UNITS = may "units": Words<Systems>, "US units", "The units of the report";
    DAY_STARTS = may "day starts": Clock, "7 am", "The hour at which gauge and meters are read";
    YARD = may "yard": Quantity<kind::Area>, "5 acre", "Ground that rain runs off from; leave it out if there is none";
    ROOFS = may "roofs": Quantity<kind::Area>, "1.5 acre", "Roofs whose rain is caught";
    SUPPLIES = may "supplies": OneOrMore<Name>, "[Well, Town water]", "Where water comes from, in the order it is used";
    USES = may "uses": Named<Words<Uses>>, "{Overhead yard: overhead, Floors: flood floor}", "What the water is used for";
    FILTERS = may "filters": Named<Filters>, "{Screen: vibrating screen, Beds: shallow media bed}",
        "Filters, in the order in which water runs through them";
    TANKS = may "tanks": OneOrMore<Name>, "Return tank", "Tanks and sumps";
    PONDS = may "ponds": OneOrMore<Name>, "[Settling pond, Storage pond]", "Ponds, the one that fills first at the front";
    OUTFALLS = may "outfalls": OneOrMore<Name>, "[Outfall 001, Outfall 002]", "Where water leaves to a stream or ditch";
    SEWER = may "sewer": Name, "Town sewer", "The sewer, if there is one";
    METERS = may "meters": Named<Name>, "{M1 well: Well, M2 wash: Beds}",
        "Meters, each with the supply, filter, outfall or sewer whose water it counts";
}

/// The systems of units.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Systems;

impl WordList for Systems {
    type Out = bool;
    fn words() -> Vec<(&'static str, bool)> {
        vec![("US units", false), ("US", false), ("metric units", true), ("metric", true)]
    }
}

/// The kinds of use.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Uses;

impl WordList for Uses {
    type Out = &'static str;
    fn words() -> Vec<(&'static str, &'static str)> {
        ["overhead", "flood floor", "bench", "drip", "mist", "washdown"].map(|word| (word, word)).to_vec()
    }
}

/// The kinds of filter.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Filters;

fn filter_words() -> Vec<(&'static str, &'static str)> {
    FilterKind::ALL.iter().map(|kind| (kind.words, kind.words)).collect()
}

impl Shape for Filters {
    fn schema(_: &mut Defs) -> Json {
        one_of_words(filter_words().into_iter().map(|(word, _)| word))
    }
}

impl Reads for Filters {
    type Out = Said<&'static str>;
    fn read(field: &crate::files::Field<'_>) -> Option<Self::Out> {
        field.one_of(&filter_words())
    }
}

/// A name with the kind, or the name, that it goes with.
pub(super) type Pairs = Vec<(String, String)>;

/// The answers.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Answers {
    pub name: String,
    pub metric: bool,
    pub day_starts: String,
    /// As typed, `not known` too; none where there is no such ground.
    pub yard: Option<String>,
    pub roofs: Option<String>,
    pub supplies: Vec<String>,
    pub uses: Pairs,
    pub filters: Pairs,
    pub tanks: Vec<String>,
    pub ponds: Vec<String>,
    pub outfalls: Vec<String>,
    pub sewer: Option<String>,
    pub meters: Pairs,
}

/// The JSON Schema of the file.
pub fn schema() -> Json {
    document::<File>("Answers: what is on a site, in a few lines")
}

impl Answers {
    /// Reads an answers file. What is wrong is told.
    pub fn read(source: &Source, problems: &Problems) -> Option<Self> {
        let answers = Self::read_some(source, problems)?;
        if answers.has_no_place() {
            problems.add(
                Problem::error(&crate::told::Place::file(&source.name), "these answers name no place")
                    .hint("say at least where water comes from, such as `supplies: Well`, and what it is used for"),
            );
            return None;
        }
        Some(answers)
    }

    fn has_no_place(&self) -> bool {
        let lists = [&self.supplies, &self.tanks, &self.ponds, &self.outfalls];
        let ground = self.yard.is_some() || self.roofs.is_some() || self.sewer.is_some();
        !ground && lists.iter().all(|list| list.is_empty()) && self.uses.is_empty() && self.filters.is_empty()
    }

    /// Reads answers of which more may follow.
    pub fn read_some(source: &Source, problems: &Problems) -> Option<Self> {
        let tree = yaml::tree(source, problems)?;
        let mut file = Fields::of::<File>(&tree, problems)?;
        let name = file.read(&File::NAME).map_or_else(|| "Name of your nursery".to_owned(), |said| said.value);
        let metric = file.read(&File::UNITS).is_some_and(|said| said.value);
        let hour = file.read(&File::DAY_STARTS).map(|said| said.value.format("%H:%M").to_string());
        let mut area = |key: &crate::files::Key<Quantity<kind::Area>>| {
            let given = file.read(key)?;
            // No ground is as good as none.
            let none = given.ends().is_some_and(|(_, most)| most.value <= 0.0);
            (!none).then_some(given.text)
        };
        let (yard, roofs) = (area(&File::YARD), area(&File::ROOFS));
        let mut seen: Vec<(String, crate::told::Place)> = Vec::new();
        let mut own = |said: Said<String>| -> String {
            let plain: String =
                said.value.chars().filter(|c| !c.is_whitespace()).flat_map(char::to_lowercase).collect();
            match seen.iter().find(|(other, _)| *other == plain) {
                Some((_, place)) => problems.add(
                    Problem::error(&said.place, format!("`{}` is named twice", said.value))
                        .related(place, "the other one")
                        .hint("each place has a name of its own"),
                ),
                None => seen.push((plain, said.place.clone())),
            }
            said.value
        };
        let mut names = |field: crate::files::Field<'_>| -> Vec<String> {
            field.one_or_more().iter().filter_map(crate::files::Field::name).map(&mut own).collect()
        };
        let supplies = names(file.get(&File::SUPPLIES).field());
        let (tanks, ponds) = (names(file.get(&File::TANKS).field()), names(file.get(&File::PONDS).field()));
        let outfalls = names(file.get(&File::OUTFALLS).field());
        let sewer = file.get(&File::SEWER).field();
        let sewer = if sewer.is_there() { sewer.name().map(&mut own) } else { None };
        let uses: Pairs = file
            .get(&File::USES)
            .named()
            .into_iter()
            .filter_map(|(name, kind)| Some((own(name), kind.one_of(&Uses::words())?.value.to_owned())))
            .collect();
        let filters: Pairs = file
            .get(&File::FILTERS)
            .named()
            .into_iter()
            .filter_map(|(name, kind)| Some((own(name), kind.one_of(&filter_words())?.value.to_owned())))
            .collect();
        let meters: Vec<(String, Said<String>)> = file
            .get(&File::METERS)
            .named()
            .into_iter()
            .filter_map(|(name, of)| Some((name.value, of.name()?)))
            .collect();
        file.finish();
        let known = supplies.iter().chain(&tanks).chain(&ponds).chain(&outfalls).chain(&sewer);
        let known: Vec<&String> = known.chain(filters.iter().map(|(name, _)| name)).collect();
        for (_, of) in meters.iter().filter(|(_, of)| !known.contains(&&of.value)) {
            problems.add(
                Problem::error(&of.place, format!("there is no `{}` among these answers", of.value))
                    .hint("name a supply, filter, tank, pond, outfall or sewer of this file"),
            );
        }
        let meters = meters.into_iter().map(|(name, of)| (name, of.value)).collect();
        let day_starts = hour.unwrap_or_else(|| "07:00".to_owned());
        let answers = Self {
            name,
            metric,
            day_starts,
            yard,
            roofs,
            supplies,
            uses,
            filters,
            tanks,
            ponds,
            outfalls,
            sewer,
            meters,
        };
        (!problems.has_errors()).then_some(answers)
    }

    /// The answers as their file.
    pub fn to_yaml(&self) -> String {
        let mut out = String::from(
            "# yaml-language-server: $schema=.schema/answers.json\n\
             # What was answered when this folder was made. Change it and run  bywash new OTHER-FOLDER --from answers.yaml\n",
        );
        let mut line = |key: &str, value: String| {
            let _ = writeln!(out, "{key}: {value}");
        };
        let list =
            |names: &[String]| format!("[{}]", names.iter().map(|name| quoted(name)).collect::<Vec<_>>().join(", "));
        let pairs = |pairs: &Pairs| {
            let pairs: Vec<String> = pairs.iter().map(|(a, b)| format!("{}: {}", quoted(a), quoted(b))).collect();
            format!("{{{}}}", pairs.join(", "))
        };
        line("name", quoted(&self.name));
        line("units", if self.metric { "metric units" } else { "US units" }.to_owned());
        line("day starts", format!("\"{}\"", self.day_starts));
        for (key, area) in [("yard", &self.yard), ("roofs", &self.roofs)] {
            if let Some(area) = area {
                line(key, area.clone());
            }
        }
        for (key, names) in
            [("supplies", &self.supplies), ("tanks", &self.tanks), ("ponds", &self.ponds), ("outfalls", &self.outfalls)]
        {
            if !names.is_empty() {
                line(key, list(names));
            }
        }
        if let Some(sewer) = &self.sewer {
            line("sewer", quoted(sewer));
        }
        for (key, held) in [("uses", &self.uses), ("filters", &self.filters), ("meters", &self.meters)] {
            if !held.is_empty() {
                line(key, pairs(held));
            }
        }
        out
    }
}
