//! What a column may hold whose heading names a place or a meter, or is like their names, and says no more.

use crate::facility::model::Facility;
use crate::quantity::{Dimension, units};
use crate::records::sheet::column_units::{needs_unit, units_for};
use crate::records::sheet::mapping::Column;
use crate::records::sheet::meaning::{Guess, Kind, Named, Seen, all_names, counting, inner, what_word};
use crate::records::words::What;

/// A column of numbers whose heading shares a word with several names is asked about, and not passed over.
pub(super) fn like_names(facility: &Facility, heading: &[String], unit: Option<&str>, seen: &Seen) -> Guess {
    let of_its_own = |word: &&String| word.len() > 3 && what_word(word).is_none();
    let names = all_names(facility)
        .into_iter()
        .filter(|(_, words)| heading.iter().filter(of_its_own).any(|word| words.contains(word)));
    let names: Vec<Named> = names.map(|(name, _)| name).collect();
    let mut options: Vec<String> = Vec::new();
    for option in names.iter().flat_map(|name| offered(facility, name, unit)).filter(|option| option != "not read") {
        if !options.contains(&option) {
            options.push(option);
        }
    }
    if options.is_empty() || counting(seen).is_none() {
        return Guess::Unknown;
    }
    options.push("not read".to_owned());
    let named: Vec<String> = names.iter().map(Named::text).collect();
    Guess::Unsure(
        format!("it holds numbers, and is like the names {}: is it of one of them?", named.join(", ")),
        options,
    )
}

/// What a column that names this may hold: readings of the meters there first.
pub(super) fn offered(facility: &Facility, name: &Named, unit: Option<&str>) -> Vec<String> {
    let place = facility.find(&name.text()).filter(|_| matches!(name, Named::Place(..)));
    let here = facility.meters.iter().filter(|meter| place.is_some_and(|at| meter.from == at || meter.to == at));
    let meters = here.map(|meter| Named::Meter(meter.name.clone()));
    let names: Vec<Named> = meters.chain([name.clone()]).collect();
    let column = |name: &Named, what: What| Column::Values {
        place: name.text(),
        what: what.words().to_string(),
        parameter: None,
        unit: needs_unit(what, None)
            .then(|| unit.or_else(|| units_for(what).first().copied()).map(str::to_string))
            .flatten(),
        since: None,
    };
    let fits = |what: What| unit.and_then(units::named).is_none_or(|unit| measured_in(what, unit.dimension));
    let of = |name: &Named| match name {
        Named::Meter(name) if facility.meters.iter().any(|meter| meter.weir.is_some() && meter.name == *name) => {
            &[What::Head]
        }
        name => asked_of(name),
    };
    let options = names
        .iter()
        .flat_map(|name| of(name).iter().filter(|what| fits(**what)).map(|what| inner(&column(name, *what))));
    options.chain(["not read".to_string()]).collect()
}

/// Whether values of this may be in a unit of a dimension.
fn measured_in(what: What, dimension: Dimension) -> bool {
    match what {
        What::Reading | What::Amount | What::Holding => dimension == Dimension::Volume,
        What::Head | What::Level | What::Freeboard | What::SludgeDepth | What::Rain => dimension == Dimension::Length,
        _ => false,
    }
}

/// What may be recorded of a meter or of a place, as it is offered.
fn asked_of(name: &Named) -> &'static [What] {
    match name {
        Named::Meter(_) => &[What::Reading, What::Amount],
        Named::Place(Kind::Filter, _) => &[What::Washes, What::Changed],
        Named::Place(Kind::Pond, _) => &[What::Level, What::Freeboard, What::SludgeDepth],
        Named::Place(Kind::Tank, _) => &[What::Holding],
        Named::Place(Kind::Point, _) => &[What::Look],
        Named::Place(Kind::Other, _) => &[],
    }
}
