//! What the places need to know of the weather. Rain may stand among the records instead, so a lack is a warning.

use super::Checked;
use crate::facility::model::{Evaporation, PlaceKind, SitePlace};
use crate::told::Problem;

/// What was typed of the weather and of what settles.
pub(in crate::facility) struct Typed<'a> {
    pub(in crate::facility) has_rain: bool,
    pub(in crate::facility) has_water_temperature: bool,
    pub(in crate::facility) has_latitude: bool,
    pub(in crate::facility) has_settling_solids: bool,
    pub(in crate::facility) evaporation: Option<&'a Evaporation>,
    /// Whether every key of the weather could be read: else what seems to be missing may only be unread.
    pub(in crate::facility) is_whole: bool,
}

/// Rain, evaporation and water temperature are asked after where something depends on them.
pub(super) fn all(checked: &Checked, typed: &Typed) {
    if !typed.is_whole {
        return;
    }
    let first = |fits: fn(&PlaceKind) -> bool| checked.read().map(|(_, site)| site).find(|site| fits(&site.kind));
    let lacks = |site: &SitePlace, message: String, hint: &str| {
        checked.problems.add(Problem::warning(&site.place, message).hint(hint));
    };
    if let Some(site) = first(|kind| matches!(kind, PlaceKind::Catchment(_) | PlaceKind::Pond(_)))
        && !typed.has_rain
    {
        lacks(
            site,
            format!(
                "rain falls on `{}`, and no rain file is given: without rain among the records, what depends on it is not shown",
                site.name
            ),
            "write `rain: {file: rain.csv, read at: 7 am, belongs to: the day that ended}` under `weather`",
        );
    }
    if let Some(site) = first(|kind| matches!(kind, PlaceKind::Pond(_))) {
        if typed.evaporation.is_none() {
            lacks(
                site,
                format!(
                    "`{}` loses water to the air, and no evaporation is given: what depends on it is not shown",
                    site.name
                ),
                "write `pond evaporation: {Nov to Feb: 1.0 in/month, rest: 4 in/month}` under `weather`",
            );
        }
        if typed.has_settling_solids && !typed.has_water_temperature {
            lacks(
                site,
                format!(
                    "solids settle in `{}` by the temperature of its water, and none is given: what settles is computed for 15 °C",
                    site.name
                ),
                "write `water temperature: {Nov to Feb: 42 F, rest: 60 F}` under `weather`",
            );
        }
    }
    if let Some(Evaporation::FromTemperatures { place, .. }) = typed.evaporation
        && !typed.has_latitude
    {
        checked.problems.add(
            Problem::error(place, "evaporation from temperatures depends on the latitude, and none is given")
                .hint("write `latitude: 44.6 N`"),
        );
    }
}
