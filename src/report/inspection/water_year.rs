//! The year's water: what came in, what went out, what is unaccounted, and whether the entries close.

use crate::balance::{Account, Amount, Node};
use crate::facility::model::{DischargeKind, PlaceKind};
use crate::page::document::{AccountLine, Basis, Document, Text, WaterAccount, figures};
use crate::report::inspection::about::{Case, basis};
use crate::report::units;

/// Writes the account.
pub fn write(case: &Case, doc: &mut Document) {
    doc.heading(2, "The year's water");
    let (account, totals) = account(case);
    doc.water(account);
    if let Some(words) = washes(case) {
        doc.paragraph(words);
    }
    if totals.unaccounted_m3().abs() > 0.05 * totals.total_in_m3() {
        doc.paragraph(
            "More than 5 % of what came in is unaccounted (common practice asks for a look at meters and assumptions \
             from there on). It changes no outcome; it says how far the computed figures can be trusted.",
        );
    }
}

/// The account of the period and the totals behind it.
pub fn account(case: &Case) -> (WaterAccount, Account) {
    let totals = case.ledger.account(case.period.0, case.period.1);
    let unit = units::large_volume(case.facility.system);
    let mut out = WaterAccount { unit: unit.name.to_owned(), digits: unit.digits.min(2), ..WaterAccount::default() };
    let line = |name: String, amount: &Amount| {
        AccountLine::new(name, unit.of(amount.water_m3), basis(amount.water_basis).unwrap_or(Basis::Assumed))
    };
    for (node, amount) in &totals.came_in {
        if amount.water_m3 > 0.0 {
            out.came_in.push(line(came_in_name(case, *node), amount));
        }
    }
    if rain_is_not_known(case) {
        out.came_in.push(line(came_in_name(case, Node::Rain), &Amount::default()).not_known());
        out.notes.push(Text::from(
            "No rain is on file for these days: what it brought is not known, and the totals leave it out.",
        ));
    }
    let mut hauled = Amount::default();
    for (node, amount) in &totals.went_out {
        if is_hauled(case, *node) {
            hauled.water_m3 += amount.water_m3;
            hauled.water_basis = hauled.water_basis.or(amount.water_basis);
        } else if amount.water_m3 > 0.0 {
            out.went_out.push(line(went_out_name(case, *node, amount), amount));
        }
    }
    if unit.of(hauled.water_m3) >= 0.5 * 10_f64.powi(-i32::from(out.digits)) {
        out.went_out.push(line("Hauled away".to_owned(), &hauled));
    }
    let gain = totals.stores_gain_m3;
    let gain_line = |name: &str, m3: f64| AccountLine::new(name, unit.of(m3), Basis::Computed);
    if gain >= 0.0 {
        out.went_out.push(gain_line("Ponds and tanks fuller at the end", gain));
    } else {
        out.came_in.push(gain_line("Ponds and tanks emptier at the end", -gain));
    }
    let unaccounted = totals.unaccounted_m3();
    let share = if totals.total_in_m3() > 0.0 { 100.0 * unaccounted.abs() / totals.total_in_m3() } else { 0.0 };
    let side = if unaccounted >= 0.0 { &mut out.went_out } else { &mut out.came_in };
    side.push(if compares(&totals) {
        let name = format!("Unaccounted ({} of what came in)", percent(share));
        AccountLine::unaccounted(name, unit.of(unaccounted.abs()))
    } else {
        AccountLine::unaccounted(format!("Unaccounted ({NOTHING_COMPARED})"), 0.0).not_known()
    });
    out.total_in = out.came_in.iter().map(|line| line.amount).sum();
    out.total_out = out.went_out.iter().map(|line| line.amount).sum();
    out.residual = residual(case);
    out.notes.push(Text::from(if compares(&totals) {
        "Every entry balances: that shows the sums are right. Only the unaccounted line shows how well the meters and our \
         assumptions agree."
    } else {
        "Every entry balances: that shows the sums are right, and no more. No reading of a meter, level or wash of these \
         days could be held against a computed figure, so nothing shows how well our assumptions agree with the site."
    }));
    if totals.unaccounted_in_m3 > 0.0 && totals.unaccounted_out_m3 > 0.0 {
        out.notes.push(Text::from(format!(
            "Unaccounted is the difference of {} that went missing and {} that turned up.",
            figures::with_unit(unit.of(totals.unaccounted_out_m3), out.digits, unit.name),
            figures::with_unit(unit.of(totals.unaccounted_in_m3), out.digits, unit.name),
        )));
    }
    (out, totals)
}

/// What stands for the share that is unaccounted where no reading met a computed figure.
pub const NOTHING_COMPARED: &str = "no readings to compare with";

/// Whether any reading met a computed figure: what it differs by is booked as unaccounted, one way or the other, and
/// two independent figures do not agree to the last digit.
pub fn compares(totals: &Account) -> bool {
    totals.unaccounted_in_m3 > 0.0 || totals.unaccounted_out_m3 > 0.0
}

/// Whether there is something for rain to fall on, and no day's rain is on file.
pub fn rain_is_not_known(case: &Case) -> bool {
    case.weather.rain.iter().all(|day| day.depth_mm.is_none()) && rained_on_m2(case) > 0.0
}

fn percent(share: f64) -> String {
    if share > 0.0 && share < 1.0 {
        "less than 1 %".to_owned()
    } else {
        format!("{}{}%", figures::number(share, 0), figures::TIE)
    }
}

/// The largest residual in words, if the ledger was recomputed and closed.
pub fn residual(case: &Case) -> Option<String> {
    case.ledger.check_residuals().ok()?;
    let unit = units::volume(case.facility.system);
    let amount = case.ledger.largest_water_residual().map_or(0.0, |residual| residual.amount.abs());
    Some(format!("largest residual of a place and day {}", figures::with_unit(unit.of(amount), 1, unit.name)))
}

fn came_in_name(case: &Case, node: Node) -> String {
    match node {
        Node::Rain => {
            let acres = rained_on_m2(case);
            let unit = units::area(case.facility.system);
            format!("Rain, on {}", figures::with_unit(unit.of(acres), 1, unit.name))
        }
        other => case.ledger.label(other),
    }
}

fn rained_on_m2(case: &Case) -> f64 {
    case.facility
        .places
        .iter()
        .map(|place| match &place.kind {
            PlaceKind::Catchment(catchment) => catchment
                .parts
                .iter()
                .filter_map(|part| part.area.ends())
                .map(|(low, high)| 0.5 * (low.value + high.value))
                .sum::<f64>(),
            _ => 0.0,
        })
        .sum::<f64>()
        + case
            .ledger
            .stores()
            .iter()
            .filter(|store| store.is_pond)
            .map(|store| store.area_m2.iter().copied().fold(0.0, f64::max))
            .sum::<f64>()
}

fn went_out_name(case: &Case, node: Node, amount: &Amount) -> String {
    match node {
        Node::Crop => "Taken up by crops and dried off beds".to_owned(),
        Node::Retained => "Soaked into or dried off yards and roofs".to_owned(),
        Node::Evaporation => "Evaporated from ponds".to_owned(),
        Node::Seepage => "Seeped from ponds".to_owned(),
        other => {
            format!("{}, {} {}", case.ledger.label(other), amount.days, if amount.days == 1 { "day" } else { "days" })
        }
    }
}

fn is_hauled(case: &Case, node: Node) -> bool {
    let Node::Place(id) = node else { return false };
    matches!(
        case.facility.get(id).map(|place| &place.kind),
        Some(PlaceKind::DischargePoint(point)) if point.kind == DischargeKind::HauledAway
    )
}

/// One sentence on washes, if anything washes.
fn washes(case: &Case) -> Option<String> {
    let (mut events, mut water, mut known) = (0_u64, 0.0, crate::balance::Basis::default());
    for filter in case.ledger.filters() {
        let totals = case.ledger.place_totals(filter.place, case.period.0, case.period.1);
        events += u64::from(totals.washes);
        water += totals.wash_water.water_m3;
        known = known.or(totals.wash_water.water_basis);
    }
    if events == 0 && water <= 0.0 {
        return None;
    }
    let unit = units::large_volume(case.facility.system);
    let word = basis(known).map_or("not known", Basis::word);
    Some(format!(
        "Filter washes: {}; wash and rinse water {} ({word}).",
        figures::number(events as f64, 0),
        figures::with_unit(unit.of(water), unit.digits.min(2), unit.name),
    ))
}
