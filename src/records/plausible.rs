//! Records that cannot be true: a level above the bank, a pH of 71, a freeboard below zero.
//!
//! Such a figure is an error and drives neither the ledger nor a limit: what it should have been stands on the sheet,
//! and only a person can look there.

use crate::facility::model::{Facility, PlaceId, PlaceKind, Pond, PondShape};
use crate::files::Given;
use crate::quantity::Decimal;
use crate::records::LevelKind;
use crate::records::row::Entry;
use crate::told::{Place, Problem, Problems};
use uom::si::f64::Length;

/// What can be done about a figure that cannot be true.
const CORRECT_IT: &str = "correct it from the sheet; if nobody can say any more, write `void` for the value: \
     it then counts as not read";

/// Where the bank's top is not typed, no more than this many depths of the pond are believed.
const DEPTHS_BELIEVED: f64 = 2.0;

/// Metres by which a figure may pass a bound: gauges are read to the centimetre.
const READ_TO_M: f64 = 0.01;

/// A depth or a volume as recorded, with the units' size.
pub(crate) struct Recorded<'a> {
    pub kind: LevelKind,
    pub value: Decimal,
    pub unit: &'a str,
    /// The value in m or m³.
    pub si: f64,
    /// One unit in m or m³.
    pub one: f64,
}

impl Recorded<'_> {
    fn in_unit(&self, si: f64) -> String {
        let size = si / self.one;
        format!("{} {}", (size * 100.0).round() / 100.0, self.unit)
    }
}

/// Tells a level, freeboard, depth of sludge or volume held that the pond or tank cannot show. True if it can.
pub(crate) fn believes(
    facility: &Facility,
    at: PlaceId,
    entry: &Entry,
    recorded: &Recorded<'_>,
    problems: &Problems,
) -> bool {
    let Some(site) = facility.get(at) else {
        return true;
    };
    let wrong = match &site.kind {
        PlaceKind::Pond(pond) => pond_cannot(&site.name, pond, recorded),
        _ if recorded.value.is_negative() => Some(("nothing holds less than nothing".to_string(), site.place.clone())),
        _ => None,
    };
    let Some((why, typed)) = wrong else {
        return true;
    };
    problems.add(
        Problem::error(
            &entry.place(),
            format!("a {} of {} {} cannot be: {why}", entry.what.words(), recorded.value, recorded.unit),
        )
        .related(&typed, "typed here")
        .hint(CORRECT_IT),
    );
    false
}

fn ends(given: &Given<Length>) -> Option<(f64, f64)> {
    given.ends().map(|(low, high)| (low.value, high.value))
}

/// Why a pond cannot show this, and where what it is held against was typed.
fn pond_cannot(name: &str, pond: &Pond, recorded: &Recorded<'_>) -> Option<(String, Place)> {
    let (floor, spill, typed) = match &pond.shape {
        PondShape::Prismoid { depth, .. } => (0.0, ends(depth)?.1, &depth.place),
        PondShape::Table { rows, spill_level } => {
            let floor = rows.first().and_then(|row| ends(&row.level))?.0;
            (floor, ends(spill_level)?.1, &spill_level.place)
        }
    };
    let bank = pond.freeboard_above_spill.as_ref().and_then(|given| Some((spill + ends(given)?.1, &given.place)));
    let (top, top_typed) = bank.unwrap_or((floor + DEPTHS_BELIEVED * (spill - floor), typed));
    let top_words = |what: &str| match bank {
        Some(_) => format!("the bank of {name} ends at {what}"),
        None => format!("{name} spills at {}", recorded.in_unit(spill)),
    };
    let wrong = match recorded.kind {
        LevelKind::Level if recorded.si < floor - READ_TO_M => {
            (format!("the floor of {name} is at {}", recorded.in_unit(floor)), typed)
        }
        LevelKind::Level if recorded.si > top + READ_TO_M => (top_words(&recorded.in_unit(top)), top_typed),
        LevelKind::Freeboard if recorded.value.is_negative() => {
            ("a freeboard is the height of the bank above the water; with none left it is 0".to_string(), top_typed)
        }
        LevelKind::Freeboard if recorded.si > top - floor + READ_TO_M => (
            match bank {
                Some(_) => {
                    format!("from the bank's top to the floor of {name} there are {}", recorded.in_unit(top - floor))
                }
                None => format!("{name} is {} deep", recorded.in_unit(spill - floor)),
            },
            top_typed,
        ),
        LevelKind::SludgeDepth if recorded.si > top - floor + READ_TO_M => {
            (top_words(&recorded.in_unit(top)), top_typed)
        }
        LevelKind::SludgeDepth | LevelKind::Holding if recorded.value.is_negative() => {
            ("nothing holds less than nothing".to_string(), typed)
        }
        _ => return None,
    };
    Some((wrong.0, wrong.1.clone()))
}

/// Tells a result that no laboratory can have found. True if one can.
pub(crate) fn believes_result(entry: &Entry, parameter: &str, value: Decimal, problems: &Problems) -> bool {
    let is_ph = parameter.split(|c: char| !c.is_alphanumeric()).any(|word| word.eq_ignore_ascii_case("pH"));
    let per_volume = entry.unit().is_some_and(|(unit, _)| unit.contains('/'));
    let why = if is_ph && (value.is_negative() || value > Decimal::whole(14)) {
        "a pH lies from 0 to 14"
    } else if per_volume && value.is_negative() {
        "nothing is in water in less than no amount"
    } else {
        return true;
    };
    let shown = if is_ph { "pH" } else { parameter };
    problems.add(Problem::error(&entry.place(), format!("a {shown} of {value} cannot be: {why}")).hint(CORRECT_IT));
    false
}
