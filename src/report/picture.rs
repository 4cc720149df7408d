//! The site's picture from a facility and its ledger: every way that the file knows, with what went along it.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use crate::balance::{self, Amount, Ledger, Node, Purpose};
use crate::facility::model::{Facility, PlaceId, PlaceKind, UnitSystem, UseAmount};
use crate::facility::{self, Graph};
use crate::files::Given;
use crate::page::document::{
    Basis, Carries, Change, Cue, Diagram, DiagramPlace, NOT_KNOWN, OutsideName, Side, Sign, Way, figures,
};
use crate::report::inspection::about::basis;
use crate::report::units::{self, Unit};

/// What is drawn: a facility, its ledger and the days.
#[derive(Debug, Clone, Copy)]
pub struct Site<'a> {
    /// The facility.
    pub facility: &'a Facility,
    /// What moved.
    pub ledger: &'a Ledger,
    /// First and last day.
    pub period: (NaiveDate, NaiveDate),
}

/// The picture of a site: places in the order of the file, all ways, and at each place what comes and goes without one.
pub fn picture(site: Site<'_>) -> Diagram {
    let mut ways = ways(site);
    let unit = unit(site, &ways);
    let mut drawing = Diagram { unit: unit.name.to_owned(), rows: site.facility.picture.clone(), ..Diagram::default() };
    for (i, place) in site.facility.places.iter().enumerate() {
        let name = place.name.clone();
        match &place.kind {
            PlaceKind::Supply(_) => drawing.outside.push(OutsideName::new(name, Side::Left)),
            PlaceKind::DischargePoint(_) => drawing.outside.push(OutsideName::new(name, Side::Right)),
            kind => drawing.places.push(drawn(site, PlaceId(i), name, kind, unit)),
        }
    }
    let name = |id: PlaceId| site.facility.get(id).map_or_else(String::new, |place| place.name.clone());
    for ((from, to, carries), moved) in std::mem::take(&mut ways) {
        let mut way = Way::new(name(from), name(to)).carries(carries);
        if moved.draws && holds_water(site, from) {
            way = way.drawn();
        }
        drawing.ways.push(with_figure(way, site, &moved.amount, unit));
    }
    drawing
}

/// The sentence below a picture.
pub fn caption(drawing: &Diagram, system: UnitSystem) -> String {
    let solids = drawing.ways.iter().any(|way| way.carries == Carries::Solids && way.figure.is_some());
    let mass = if solids { format!(", of solids {} of dry solids", units::mass(system).name) } else { String::new() };
    format!("Figures are {} over the period{mass}. Not a survey.", drawing.unit)
}

/// The picture of what is proposed: the site as it would be, with the places that are taken out still on it, and a word at
/// each place that is put in, taken out or altered. Places stay under their names.
pub fn picture_of_change(now: Site<'_>, proposed: Site<'_>, altered: &[String]) -> Diagram {
    changed(picture(now), picture(proposed), altered)
}

fn changed(before: Diagram, mut drawing: Diagram, altered: &[String]) -> Diagram {
    for place in &mut drawing.places {
        if !before.places.iter().any(|other| other.id == place.id) {
            place.change = Some(Change::PutIn);
        } else if altered.contains(&place.name) {
            place.change = Some(Change::Altered);
        }
    }
    let is_there = |drawing: &Diagram, id: &String| {
        drawing.places.iter().any(|place| place.id == *id) || drawing.outside.iter().any(|name| name.id == *id)
    };
    let kept = drawing.clone();
    for mut place in before.places.into_iter().filter(|place| !is_there(&kept, &place.id)) {
        place.change = Some(Change::TakenOut);
        (place.figure, place.marks) = (None, Vec::new());
        drawing.places.push(place);
    }
    for mut way in before.ways {
        let lost = !is_there(&kept, &way.from) || !is_there(&kept, &way.to);
        if lost && is_there(&drawing, &way.from) && is_there(&drawing, &way.to) {
            // Nothing flows there any more.
            (way.figure, way.volume) = (None, None);
            drawing.ways.push(way);
        }
    }
    drawing
}

/// What went along all ways of one kind between two places.
#[derive(Debug, Clone, Copy, Default)]
struct Moved {
    amount: Amount,
    draws: bool,
}

type Ways = BTreeMap<(PlaceId, PlaceId, Carries), Moved>;

/// Every way of the file, whether or not anything went along it.
fn ways(site: Site<'_>) -> Ways {
    let mut ways = Ways::new();
    for way in Graph::of(site.facility).ways() {
        let moved = ways.entry((way.from, way.to, of_way(way.carries))).or_default();
        moved.draws |= !way.carries.is_flow();
    }
    let (from, to) = site.period;
    for way in site.ledger.ways().iter() {
        let (Node::Place(a), Node::Place(b)) = (way.from, way.to) else { continue };
        let amount = site.ledger.amount(from, to, |other| other == way);
        let unknown = amount.water_basis.has(balance::Basis::UNKNOWN);
        if amount.water_m3 <= 0.0 && amount.solids_kg <= 0.0 && !unknown {
            continue;
        }
        let moved = ways.entry((a, b, of_entry(way.purpose))).or_default();
        moved.amount.water_m3 += amount.water_m3;
        moved.amount.solids_kg += amount.solids_kg;
        moved.amount.water_basis = moved.amount.water_basis.or(amount.water_basis);
        moved.amount.solids_basis = moved.amount.solids_basis.or(amount.solids_basis);
    }
    ways
}

fn of_way(carries: facility::Carries) -> Carries {
    use facility::Carries as Way;
    match carries {
        Way::WashWater | Way::RinseWater | Way::Reject | Way::DrainDown | Way::Drip | Way::HosedDown => {
            Carries::WashWater
        }
        Way::Screenings | Way::SpentMedia | Way::Liquor => Carries::Solids,
        Way::Spill | Way::Bypass => Carries::Spill,
        Way::Drawn | Way::TopUp | Way::Runoff | Way::Return | Way::Passed => Carries::Water,
        Way::PumpedOut | Way::WashSupply | Way::SpraySupply | Way::Hauled => Carries::Water,
    }
}

/// The pattern that an entry of a purpose is drawn in.
pub(crate) fn of_entry(purpose: Purpose) -> Carries {
    match purpose {
        Purpose::WashWater | Purpose::RinseWater | Purpose::Reject | Purpose::DrainDown | Purpose::Drip => {
            Carries::WashWater
        }
        Purpose::Screenings | Purpose::SpentMedia | Purpose::Settled | Purpose::CleanOut | Purpose::Liquor => {
            Carries::Solids
        }
        Purpose::Spill | Purpose::Bypass => Carries::Spill,
        _ => Carries::Water,
    }
}

/// The unit of the picture: the large one unless everything is small in it.
fn unit(site: Site<'_>, ways: &Ways) -> Unit {
    let most = ways.values().map(|moved| moved.amount.water_m3).fold(0.0, f64::max);
    let large = units::large_volume(site.facility.system);
    if large.of(most) >= 0.2 {
        Unit { digits: large.digits.min(2), ..large }
    } else {
        units::volume(site.facility.system)
    }
}

/// A volume in the picture's unit; one that would be printed as nought, in the small unit with its name.
fn volume(site: Site<'_>, m3: f64, unit: Unit) -> String {
    let shown = unit.of(m3);
    if shown >= 0.5 * 10_f64.powi(-i32::from(unit.digits)) {
        return figures::number(shown, unit.digits);
    }
    let small = units::volume(site.facility.system);
    // Two figures: this little is never known better.
    let step = 10_f64.powf((small.of(m3).log10().floor() - 1.0).max(0.0));
    figures::with_unit((small.of(m3) / step).round() * step, 0, small.name)
}

fn with_figure(way: Way, site: Site<'_>, amount: &Amount, unit: Unit) -> Way {
    let mass = units::mass(site.facility.system);
    if way.carries == Carries::Solids && mass.of(amount.solids_kg) >= 0.5 {
        let Some(known) = basis(amount.solids_basis) else { return way.figure(NOT_KNOWN, Basis::Computed) };
        let text = figures::with_unit(mass.of(amount.solids_kg), 0, mass.name);
        return way.volume(unit.of(amount.water_m3)).figure(text, known);
    }
    if amount.water_basis.has(balance::Basis::UNKNOWN) {
        return way.figure(NOT_KNOWN, Basis::Computed);
    }
    if amount.water_m3 <= 0.0 {
        return if amount.solids_kg > 0.0 { way.volume(0.0) } else { way };
    }
    let known = basis(amount.water_basis).unwrap_or(Basis::Assumed);
    way.volume(unit.of(amount.water_m3)).figure(volume(site, amount.water_m3, unit), known)
}

fn holds_water(site: Site<'_>, id: PlaceId) -> bool {
    let kind = site.facility.get(id).map(|place| &place.kind);
    matches!(kind, Some(PlaceKind::Supply(_) | PlaceKind::Tank(_) | PlaceKind::Pond(_)))
}

fn drawn(site: Site<'_>, id: PlaceId, name: String, kind: &PlaceKind, unit: Unit) -> DiagramPlace {
    let (words, size, cue) = match kind {
        PlaceKind::Catchment(catchment) => {
            let areas: Vec<f64> =
                catchment.parts.iter().filter_map(|part| one(&part.area)).map(|area| area.value).collect();
            let whole = areas.len() == catchment.parts.len();
            let area = whole.then(|| size(areas.iter().sum(), units::area(site.facility.system)));
            ("catchment", area, Cue::Plain)
        }
        PlaceKind::Use(one) => (one.kind.words(), area(site, &one.amount), Cue::Plain),
        PlaceKind::Filter(filter) => (filter.kind.words(), None, Cue::Filter),
        PlaceKind::Tank(tank) => {
            let holds = one(&tank.holds).map(|volume| size(volume.value, units::volume(site.facility.system)));
            ("tank", holds, Cue::Store)
        }
        PlaceKind::Pond(_) => ("pond", None, Cue::Store),
        PlaceKind::Transfer(_) | PlaceKind::Supply(_) | PlaceKind::DischargePoint(_) => ("transfer", None, Cue::Plain),
    };
    let mut place = DiagramPlace::new(words, name).cue(cue);
    place.size = size;
    if let Some((text, known)) = figure(site, id, kind, unit) {
        place = place.figure(text, known);
    }
    let (from, to) = site.period;
    let here = Node::Place(id);
    let shown = |m3: f64| unit.of(m3).abs() >= 0.5 * 10_f64.powi(-i32::from(unit.digits));
    for (other, sign, words) in [
        (Node::Rain, Sign::Rain, "rain"),
        (Node::Evaporation, Sign::Up, "evaporated"),
        (Node::Crop, Sign::Up, "taken up by crops"),
        (Node::Seepage, Sign::Down, "seeped away"),
        (Node::Retained, Sign::Down, "soaked in"),
    ] {
        let amount = site
            .ledger
            .amount(from, to, |way| (way.from == other && way.to == here) || (way.from == here && way.to == other));
        if amount.water_basis.has(balance::Basis::UNKNOWN) {
            place = place.mark(sign, words, NOT_KNOWN, Basis::Computed);
        } else if shown(amount.water_m3) {
            let known = basis(amount.water_basis).unwrap_or(Basis::Assumed);
            place = place.mark(sign, words, figures::number(unit.of(amount.water_m3), unit.digits), known);
        }
    }
    // With its sludge, as in the tables: one net for a place.
    let at = |node: Node| node == here || node == Node::Sludge(id);
    let came = site.ledger.amount(from, to, |way| way.from == Node::Unaccounted && at(way.to));
    let went = site.ledger.amount(from, to, |way| at(way.from) && way.to == Node::Unaccounted);
    // As in the tables: short where the balance has water that no record shows.
    let missing = went.water_m3 - came.water_m3;
    if shown(missing) {
        let plus = if missing > 0.0 { "+" } else { "" };
        let text = format!("{plus}{}", figures::number(unit.of(missing), unit.digits));
        let known = basis(came.water_basis.or(went.water_basis)).unwrap_or(Basis::Computed);
        place = place.mark(Sign::Unaccounted, "unaccounted for (+ short, \u{2212} over)", text, known);
    }
    place
}

/// A value that is typed as one, and not as a range.
fn one<Q: Copy + PartialEq>(given: &Given<Q>) -> Option<Q> {
    given.ends().filter(|(low, high)| low == high).map(|(low, _)| low)
}

/// A size in the report's unit, without noughts at its end.
fn size(si: f64, unit: Unit) -> String {
    let number = figures::number(unit.of(si), unit.digits);
    let short = if number.contains('.') { number.trim_end_matches('0').trim_end_matches('.') } else { &number };
    format!("{short} {}", unit.name)
}

fn area(site: Site<'_>, amount: &UseAmount) -> Option<String> {
    match amount {
        UseAmount::DepthPerDay { area, .. } | UseAmount::Floods { area, .. } => {
            one(area).map(|area| size(area.value, units::area(site.facility.system)))
        }
        UseAmount::PerDay(_) => None,
    }
}

/// The one figure of a place: washes or changes of a filter, what a pond holds more or less at the end.
fn figure(site: Site<'_>, id: PlaceId, kind: &PlaceKind, unit: Unit) -> Option<(String, Basis)> {
    let (from, to) = site.period;
    if let PlaceKind::Filter(filter) = kind {
        let totals = site.ledger.place_totals(id, from, to);
        if filter.kind.reject().is_some() {
            let known = basis(totals.reject.water_basis).filter(|_| totals.reject.water_m3 > 0.0)?;
            return Some((format!("{} rejected", volume(site, totals.reject.water_m3, unit)), known));
        }
        let (count, word) = if totals.washes > 0 { (totals.washes, "wash") } else { (totals.changes, "change") };
        let ending = match (count, word) {
            (1, _) => "",
            (_, "wash") => "es",
            _ => "s",
        };
        let text = format!("{} {word}{ending}", figures::number(f64::from(count), 0));
        return basis(totals.events_basis).filter(|_| count > 0).map(|known| (text, known));
    }
    let store = site.ledger.store(id).filter(|store| store.is_pond)?;
    let days = site.ledger.days_between(from, to);
    let last = days.end.checked_sub(1)?;
    // What is not known at either end leaves no difference.
    let at_start = days.start.checked_sub(1).and_then(|day| store.basis.get(day));
    if at_start.is_some_and(|of| of.has(balance::Basis::UNKNOWN)) {
        return None;
    }
    // With the water in its sludge, so that what comes and goes at the box adds up.
    let held = [Node::Place(id), Node::Sludge(id)].into_iter().filter_map(|node| site.ledger.held_at(node));
    let gain: f64 = held.map(|held| held.water(days.end) - held.water(days.start)).sum();
    if unit.of(gain).abs() < 0.5 * 10_f64.powi(-i32::from(unit.digits)) {
        return None;
    }
    let word = if gain > 0.0 { "more" } else { "less" };
    let known = basis(*store.basis.get(last)?)?;
    Some((format!("{} {word} in it", figures::number(unit.of(gain.abs()), unit.digits)), known))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drawing(places: &[&str], ways: &[(&str, &str)]) -> Diagram {
        Diagram {
            places: places.iter().map(|name| DiagramPlace::new("tank", *name)).collect(),
            outside: vec![OutsideName::new("Well", Side::Left)],
            ways: ways.iter().map(|(a, b)| Way::new(*a, *b).volume(1.0).figure("1", Basis::Metered)).collect(),
            ..Diagram::default()
        }
    }

    #[test]
    fn a_proposal_shows_what_is_put_in_taken_out_and_altered() {
        let before = drawing(&["Pond", "Bags", "Tank"], &[("Well", "Pond"), ("Pond", "Bags"), ("Bags", "Tank")]);
        let after = drawing(&["Pond", "Drum", "Tank"], &[("Well", "Pond"), ("Pond", "Drum"), ("Drum", "Tank")]);
        let drawn = changed(before, after, &["Tank".to_owned()]);
        let told: Vec<(&str, Option<Change>)> =
            drawn.places.iter().map(|place| (place.name.as_str(), place.change)).collect();
        let wanted = [
            ("Pond", None),
            ("Drum", Some(Change::PutIn)),
            ("Tank", Some(Change::Altered)),
            ("Bags", Some(Change::TakenOut)),
        ];
        assert_eq!(told, wanted);
        let still: Vec<&Way> = drawn.ways.iter().filter(|way| way.volume.is_none()).collect();
        let ends: Vec<(&str, &str)> = still.iter().map(|way| (way.from.as_str(), way.to.as_str())).collect();
        assert_eq!(ends, [("Pond", "Bags"), ("Bags", "Tank")], "the ways of what is taken out carry nothing");
        assert!(
            drawn.ways.iter().any(|way| way.from == "Well" && way.volume.is_some()),
            "and the others what they carry"
        );
    }

    #[test]
    fn a_size_has_no_noughts_at_its_end() {
        use crate::quantity::System;
        // An acre is 4046.8564224 m2, a gallon 231 cubic inches (NIST Handbook 44, appendix C).
        assert_eq!(size(6.5 * 4_046.856_422_4, units::area(System::Us)), "6.5 acre");
        assert_eq!(size(30_000.0, units::area(System::Metric)), "3 ha");
        assert_eq!(size(1800.0 * 231.0 * 0.0254_f64.powi(3), units::volume(System::Us)), "1\u{202f}800 gal");
    }
}
