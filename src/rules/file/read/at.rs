//! Where a limit holds: a place, several, or a way named by what flows.

use super::keys::Way;
use crate::balance::Purpose;
use crate::facility::Graph;
use crate::facility::model::{Facility, PlaceId};
use crate::files::Field;
use crate::quantity::nearest;
use crate::rules::Point;
use crate::told::{Problem, Severity};

/// Purposes that a limit may name: the words of the ledger.
const PURPOSES: [Purpose; 15] = [
    Purpose::WashWater,
    Purpose::RinseWater,
    Purpose::Reject,
    Purpose::WashSupply,
    Purpose::Spray,
    Purpose::DrainDown,
    Purpose::Bypass,
    Purpose::Drip,
    Purpose::Spill,
    Purpose::PumpedOut,
    Purpose::Return,
    Purpose::Runoff,
    Purpose::Screenings,
    Purpose::SpentMedia,
    Purpose::Hauled,
];

/// Every key that names a point by what flows there: `wash water of`, `water into`.
pub(super) fn words() -> impl Iterator<Item = String> {
    let of = PURPOSES.iter().map(|purpose| format!("{} of", purpose.words()));
    of.chain(["water into", "water out of"].map(str::to_owned))
}

/// A place by its own name, told with the nearest where there is none.
pub(crate) fn place(field: &Field<'_>, facility: &Facility) -> Option<(PlaceId, String)> {
    let name = field.name()?;
    match facility.find(&name.value) {
        Some(id) => Some((id, name.value)),
        None => {
            let near = nearest(&name.value, facility.places.iter().map(|place| place.name.as_str()));
            let hint = near.map_or_else(
                || "write a place's own name, as in the facility file".to_owned(),
                |near| format!("did you mean `{near}`?"),
            );
            field.refuse(format!("there is no place `{}`", name.value), hint);
            None
        }
    }
}

/// The point of a limit and its words.
pub(crate) fn read(field: &Field<'_>, facility: &Facility) -> Option<(Point, String)> {
    if field.is_list() {
        let mut ids = Vec::new();
        let mut names = Vec::new();
        for item in field.list() {
            let (id, name) = place(&item, facility)?;
            ids.push(id);
            names.push(name);
        }
        if ids.is_empty() {
            field.refuse("an empty list of places", "write one or more names");
            return None;
        }
        return Some((Point::Places(ids), names.join(" + ")));
    }
    if !field.is_map() {
        let (id, name) = place(field, facility)?;
        return Some((Point::Places(vec![id]), name));
    }
    let mut map = field.fields()?;
    if map.has(Way::FROM) || map.has(Way::TO) {
        let mut map = field.map::<Way>()?;
        let from = place(&map.get(&Way::FROM), facility);
        let to = place(&map.get(&Way::TO), facility);
        map.finish();
        let ((from, from_name), (to, to_name)) = (from?, to?);
        if Graph::of(facility).ways_between(from, to).next().is_none() {
            let what = format!("nothing goes from {from_name} to {to_name} by the facility file");
            field.problems().add(Problem::warning(&field.place(), what).hint(format!(
                "whatever is seen at {to_name} is then held against this limit; name a way that is there, or what flows, as in \
                 {{wash water of: a filter}}"
            )));
        }
        let graph = Graph::of(facility);
        if graph.ways_between(from, to).next().is_some() && graph.ways_to(to).any(|way| way.from != from) {
            let what = format!("other water comes to {to_name} than from {from_name}");
            field.problems().add(Problem::new(Severity::Note, &field.place(), what).hint(format!(
                "a look or sample at {to_name} that shows water does not tell which it was, and shows nothing of this limit; a \
                 meter on the way does"
            )));
        }
        return Some((Point::Way(from, to), format!("from {from_name} to {to_name}")));
    }
    let mut out = None;
    for (key, value) in map.rest() {
        let words = key.value.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase();
        let Some((id, name)) = place(&value, facility) else {
            continue;
        };
        let point = match words.as_str() {
            "water into" => Some(Point::Into(id)),
            "water out of" => Some(Point::OutOf(id)),
            other => other
                .strip_suffix(" of")
                .and_then(|purpose| PURPOSES.into_iter().find(|known| known.words() == purpose))
                .map(|purpose| Point::Of(purpose, id)),
        };
        match point {
            Some(point) if out.is_none() => out = Some((point, format!("{words} {name}"))),
            Some(_) => value.refuse("two points in one `at`", "write a list of places, or one point"),
            None => {
                let known: Vec<String> = self::words().collect();
                let near = nearest(&words, known.iter().map(String::as_str));
                value.refuse(
                    format!("`{}` is not known here", key.value),
                    match near {
                        Some(near) => format!("did you mean `{near}`?"),
                        None => "write it like {wash water of: Sand beds}, {water into: Pond}, {from: Sump, to: Sewer}"
                            .to_owned(),
                    },
                );
            }
        }
    }
    if out.is_none() && field.problems().errors() == 0 {
        field.refuse("no point in this `at`", "write a place's name, or {wash water of: a filter}");
    }
    out
}
