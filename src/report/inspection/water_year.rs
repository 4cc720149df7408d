//! The year's water: what came in, what went out, what is unaccounted, and whether the entries close.

use chrono::{Months, NaiveDate};

use crate::balance::{self, Account, Amount, Node, Purpose, Selector, StoreSeries, Watch};
use crate::facility::model::{DischargeKind, PlaceId, PlaceKind, SitePlace};
use crate::page::document::{AccountLine, Basis, Document, Text, WaterAccount, figures, is_open};
use crate::report::inspection::about::{Case, basis, month};
use crate::report::inspection::days::{days_with_water, days_without_volume, seen_unbooked};
use crate::report::inspection::known::{Known, WaysOut};
use crate::report::inspection::meters;
use crate::report::inspection::places::{discharge_ids, together};
use crate::report::inspection::sampled::missed;
use crate::report::inspection::unaccounted::{self, is_told, mostly_at};
use crate::report::units;
use crate::told::{many, named};

/// Writes the account, with a last note of the caller's below it.
pub fn write(case: &Case, last: Text, doc: &mut Document) {
    let (mut account, _) = account(case);
    let year =
        case.period.0.checked_add_months(Months::new(12)).and_then(|next| next.pred_opt()) == Some(case.period.1);
    account.caption = Some(if year { "The year's water" } else { "The period's water" }.to_owned());
    let left = left(case);
    account.brief = left.clone().unwrap_or_default();
    let mut words: Vec<String> = left.into_iter().collect();
    words.extend(washes(case));
    words.extend(reject(case));
    words.extend(solids(case));
    if !words.is_empty() {
        account.notes.push(Text::from(words.join(" ")));
    }
    account.notes.push(last);
    doc.water(account);
}

/// What left the site in all, what is not in it, and days seen flowing without a volume.
fn left(case: &Case) -> Option<String> {
    let ways = WaysOut::of(case);
    if ways.is_empty() {
        return None;
    }
    let unit = case.large_volume();
    let left = ways.between(case.period.0, case.period.1);
    let points = discharge_ids(case).into_iter().filter(|id| !is_hauled(case, Node::Place(*id)));
    let of_each: Vec<(PlaceId, usize)> =
        points.map(|id| (id, days_without_volume(case, id))).filter(|of| of.1 > 0).collect();
    let unbooked: usize = of_each.iter().map(|of| of.1).sum();
    let days = match of_each.as_slice() {
        [] | [_] => many(unbooked, "day"),
        several => {
            let each: Vec<String> = several.iter().map(|(id, days)| format!("{days} at {}", case.name(*id))).collect();
            format!("{} ({})", many(unbooked, "day"), each.join(", "))
        }
    };
    let have = if unbooked == 1 { "has" } else { "have" };
    let known = Known { lacks: left.known.lacks || unbooked > 0, ..left.known };
    let amount = known.words(units::Unit { digits: unit.digits.min(2), ..unit });
    Some(match (amount, left.lacking(), unbooked) {
        (None, _, 0) => "What left the site is not known.".to_owned(),
        (None, _, _) => format!("What left the site is not known: {days} seen flowing or sampled {have} no volume."),
        (Some(amount), None, 0) => format!("Left the site: {amount}."),
        (Some(amount), Some(lacking), 0) => format!("Left the site: {amount}, without {lacking}."),
        (Some(amount), None, _) => {
            format!(
                "Left the site: {amount}, not counting {days} seen flowing or sampled, of which no volume is known."
            )
        }
        (Some(amount), Some(lacking), _) => {
            format!("Left the site: {amount}, without {lacking}; {days} seen flowing or sampled {have} no volume.")
        }
    })
}

/// Most outfalls whose solids stand on page 1.
const MOST_OUTFALLS: usize = 2;

/// Solids that left by each outfall, in one sentence; where samples contradict the computation, no load.
fn solids(case: &Case) -> Option<String> {
    let mass = units::mass(case.facility.system);
    let mut words: Vec<(&str, String)> = Vec::new();
    for (at, place) in case.facility.places.iter().enumerate() {
        let id = PlaceId(at);
        let PlaceKind::DischargePoint(point) = &place.kind else { continue };
        if matches!(point.kind, DischargeKind::HauledAway | DischargeKind::Sewer) {
            continue;
        }
        let to = Selector::to(Node::Place(id));
        let amount = case.ledger.amount(case.period.0, case.period.1, |way| to.matches(way));
        let Some(known) = basis(amount.solids_basis).filter(|_| amount.solids_kg > 0.0) else { continue };
        if seen_unbooked(case, id).is_some() {
            let why = "not shown, seen flowing or sampled when the computation moves no water";
            words.push((&place.name, why.to_owned()));
            continue;
        }
        let how_much = match missed(case, id) {
            Some(_) => "not shown, samples contradict the computation".to_owned(),
            None => {
                let figure = figures::with_unit(mass.of(amount.solids_kg), mass.digits, mass.name);
                format!("{figure} ({})", known.word())
            }
        };
        words.push((&place.name, how_much));
    }
    // Outfalls of which the same is said are named together.
    let mut words: Vec<String> = together(words.into_iter())
        .into_iter()
        .map(|(how_much, names)| format!("{}: {how_much}", named(&names)))
        .collect();
    let more = words.len().saturating_sub(MOST_OUTFALLS);
    words.truncate(MOST_OUTFALLS);
    let more = if more > 0 { format!("; {more} more under “What left the site”") } else { String::new() };
    (!words.is_empty()).then(|| format!("Solids by outfall: {}{more}.", words.join("; ")))
}

/// The account of the period and the totals behind it.
pub fn account(case: &Case) -> (WaterAccount, Account) {
    let totals = case.ledger.account(case.period.0, case.period.1);
    let unit = case.large_volume();
    let mut out = WaterAccount { unit: unit.name.to_owned(), digits: unit.digits.min(2), ..WaterAccount::default() };
    // What depends on something that is not known is no figure, here as in the months.
    let line = |name: String, amount: &Amount| {
        let line =
            AccountLine::new(name, unit.of(amount.water_m3), basis(amount.water_basis).unwrap_or(Basis::Assumed));
        if amount.water_basis.has(balance::Basis::UNKNOWN) { line.not_known() } else { line }
    };
    for (node, amount) in &totals.came_in {
        if amount.water_m3 > 0.0 {
            out.came_in.push(line(came_in_name(case, *node), amount));
        }
    }
    if rain_is_not_known(case) {
        out.came_in.push(line(came_in_name(case, Node::Rain), &Amount::default()).not_known());
        out.notes.push(Text::from("No rain is on file for this period: what it brought is not known."));
    }
    let mut hauled = Amount::default();
    let mut ponds = Amount::default();
    for (node, amount) in &totals.went_out {
        if matches!(node, Node::Evaporation | Node::Seepage) {
            ponds.water_m3 += amount.water_m3;
            ponds.water_basis = ponds.water_basis.or(amount.water_basis);
        } else if is_hauled(case, *node) {
            hauled.water_m3 += amount.water_m3;
            hauled.water_basis = hauled.water_basis.or(amount.water_basis);
        } else if amount.water_m3 > 0.0 && !matches!(node, Node::Place(id) if seen_unbooked(case, *id).is_some()) {
            let name = went_out_name(case, *node, amount);
            out.went_out.push(match left_by(case, *node) {
                // The days that are known stand here as under "What left the site".
                Some(known) if known.lacks && unit.of(known.sum) >= 0.5 * 10_f64.powi(-i32::from(out.digits)) => {
                    AccountLine::new(name, unit.of(known.sum), basis(known.of).unwrap_or(Basis::Assumed))
                        .lacking(!amount.water_basis.has(balance::Basis::UNKNOWN))
                }
                Some(known) if known.lacks => AccountLine::new(name, 0.0, Basis::Assumed).not_known(),
                _ => line(name, amount),
            });
        }
    }
    // Outfalls seen flowing, or sampled, when the ledger moves nothing there: what left by them is not known.
    let mut unbooked: Vec<&str> = Vec::new();
    // An outfall to which nothing is booked only because something is not known is not passed over.
    for (at, place) in case.facility.places.iter().enumerate() {
        let node = Node::Place(PlaceId(at));
        let booked = totals.went_out.iter().any(|(other, amount)| *other == node && amount.water_m3 > 0.0);
        if seen_unbooked(case, PlaceId(at)).is_some() {
            unbooked.push(&place.name);
            continue;
        }
        if booked || is_hauled(case, node) || !matches!(place.kind, PlaceKind::DischargePoint(_)) {
            continue;
        }
        let amount = case.ledger.amount(case.period.0, case.period.1, |way| way.to == node);
        if amount.water_basis.has(balance::Basis::UNKNOWN) {
            out.went_out.push(line(place.name.clone(), &amount));
        }
    }
    if ponds.water_m3 > 0.0 || ponds.water_basis.has(balance::Basis::UNKNOWN) {
        out.went_out.push(line("Evaporated and seeped from ponds".to_owned(), &ponds));
    }
    if unit.of(hauled.water_m3) >= 0.5 * 10_f64.powi(-i32::from(out.digits)) {
        out.went_out.push(line("Hauled away".to_owned(), &hauled));
    }
    let gain = totals.stores_gain_m3;
    let open = |out: &WaterAccount| is_open(&out.came_in) || is_open(&out.went_out);
    if !unbooked.is_empty() {
        let names = match unbooked.as_slice() {
            [first, .., last] if unbooked.len() > 2 => format!("{first} to {last}, seen or sampled"),
            few => format!("{}, seen or sampled", few.join(", ")),
        };
        out.went_out.push(AccountLine::new(names, 0.0, Basis::Computed).not_known());
    }
    let unknown = out.came_in.iter().chain(&out.went_out).any(|line| !line.known);
    let gain_line = |name: &str, m3: f64| {
        let line = AccountLine::new(name, unit.of(m3), Basis::Computed);
        if gain_is_known(case, case.period.0, case.period.1) { line } else { line.not_known() }
    };
    if gain >= 0.0 {
        out.went_out.push(gain_line("Ponds and tanks fuller at the end", gain));
    } else {
        out.came_in.push(gain_line("Ponds and tanks emptier at the end", -gain));
    }
    let unaccounted = totals.unaccounted_m3();
    let share = if totals.total_in_m3() > 0.0 { 100.0 * unaccounted.abs() / totals.total_in_m3() } else { 0.0 };
    let side = if unaccounted >= 0.0 { &mut out.went_out } else { &mut out.came_in };
    side.push(if compares(&totals) {
        // What is not known is in it, and a share of what came in would pass for one of all that did.
        let of =
            if unknown { "with what is not known".to_owned() } else { format!("{} of what came in", percent(share)) };
        let mostly = mostly_at(case);
        let most = mostly.map_or_else(String::new, |place| format!(", most at {place}"));
        let told_at = is_told(case).then(|| unaccounted::ANCHOR.to_owned());
        let name = format!("Unaccounted, net ({of}){most}");
        AccountLine { told_at, ..AccountLine::unaccounted(name, unit.of(unaccounted.abs())) }
    } else {
        AccountLine::unaccounted(format!("Unaccounted: {NOTHING_COMPARED}"), 0.0).not_known()
    });
    out.total_in = out.came_in.iter().map(|line| line.amount).sum();
    out.total_out = out.went_out.iter().map(|line| line.amount).sum();
    // Totals that are not shown close nothing.
    out.residual = residual(case).filter(|_| !open(&out));
    if !adds_up(&out.came_in, out.total_in, out.digits) || !adds_up(&out.went_out, out.total_out, out.digits) {
        out.residual = out.residual.map(|words| format!("{words}; lines add up to totals within rounding"));
    }
    (out, totals)
}

/// Whether the lines as printed add up to the total as printed.
fn adds_up(lines: &[AccountLine], total: f64, digits: u8) -> bool {
    let scale = 10_f64.powi(i32::from(digits));
    let printed: f64 = lines.iter().map(|line| (line.amount * scale).round()).sum();
    (printed - (total * scale).round()).abs() < 0.5
}

/// What it shows that every entry balances, and what it does not.
pub fn what_balancing_shows(case: &Case) -> &'static str {
    let totals = case.ledger.account(case.period.0, case.period.1);
    let all = totals.came_in.iter().chain(&totals.went_out);
    if rain_is_not_known(case) || all.into_iter().any(|(_, amount)| amount.water_basis.has(balance::Basis::UNKNOWN)) {
        "What is not shown depends on something that is not known, so these months do not add up as printed, and what is \
         unaccounted has that in it."
    } else if compares(&totals) {
        "Every entry balances: the sums are right. Only what is unaccounted shows how well meters and assumptions agree."
    } else {
        "Every entry balances: the sums are right, and no more is shown. No reading of a meter, level or wash of these days \
         could be held against a computed figure, so nothing shows how well our assumptions agree with the site."
    }
}

/// What stands for the share that is unaccounted where no reading met a computed figure.
pub const NOTHING_COMPARED: &str = "no readings to compare with";

/// Whether what every store held is known at both ends of some days: by a reading, or because nothing that is not known went into it.
pub fn gain_is_known(case: &Case, from: NaiveDate, to: NaiveDate) -> bool {
    let days = case.ledger.days_between(from, to);
    let ends: Vec<usize> = [days.start, days.end].into_iter().filter_map(|day| day.checked_sub(1)).collect();
    let known = |store: &StoreSeries| {
        ends.iter().all(|day| store.basis.get(*day).is_none_or(|of| !of.has(balance::Basis::UNKNOWN)))
    };
    case.ledger.stores().iter().all(known)
}

/// Whether any reading met a computed figure: what it differs by is booked as unaccounted, one way or the other, and
/// two independent figures do not agree to the last digit.
pub fn compares(totals: &Account) -> bool {
    totals.unaccounted_in_m3 > 0.0 || totals.unaccounted_out_m3 > 0.0
}

/// Whether there is something for rain to fall on, and no day's rain is on file.
pub fn rain_is_not_known(case: &Case) -> bool {
    case.weather.rain.iter().all(|day| day.depth_mm.is_none()) && is_rained_on(case)
}

fn percent(share: f64) -> String {
    if share > 0.0 && share < 1.0 {
        "less than 1 %".to_owned()
    } else {
        format!("{}{}%", figures::number(share, 0), figures::TIE)
    }
}

/// The largest residual in words, as the ledger was checked from its entries.
pub fn residual(case: &Case) -> Option<String> {
    let unit = units::volume(case.facility.system);
    let amount = unit.of(case.ledger.residuals().of_water?.amount.abs());
    // Up to the next tenth: what is printed holds.
    let within = ((amount * 10.0).ceil() / 10.0).max(0.1);
    let what = match compares(&case.ledger.account(case.period.0, case.period.1)) {
        true => "what came, went, stayed and is unaccounted agree",
        false => "what came, what went and what stayed agree",
    };
    Some(format!("At every place and on every day, {what} within {}", figures::with_unit(within, 1, unit.name)))
}

fn came_in_name(case: &Case, node: Node) -> String {
    match node {
        Node::Rain => {
            let area = rained_on_m2(case);
            let unit = units::area(case.facility.system);
            if area > 0.0 {
                let digits = if unit.of(area) < 10.0 { 2 } else { 1 };
                format!("Rain, on {}", figures::with_unit(unit.of(area), digits, unit.name))
            } else {
                "Rain".to_owned()
            }
        }
        other => case.ledger.label(other),
    }
}

/// The area that rain is multiplied with, catchments and ponds to their banks: what it brought over how deep it fell.
fn rained_on_m2(case: &Case) -> f64 {
    let brought = case.ledger.amount(case.period.0, case.period.1, |way| way.from == Node::Rain).water_m3;
    let depth_mm: f64 = case
        .period
        .0
        .iter_days()
        .take_while(|date| *date <= case.period.1)
        .filter_map(|date| case.weather.rain_on(date).and_then(|rain| rain.depth_mm))
        .sum();
    if depth_mm > 0.0 { brought / (depth_mm / 1000.0) } else { 0.0 }
}

/// Whether there is ground or a pond for rain to fall on.
fn is_rained_on(case: &Case) -> bool {
    case.facility.places.iter().any(|place| matches!(place.kind, PlaceKind::Catchment(_) | PlaceKind::Pond(_)))
}

/// What left by an outfall, of which days may lack; none of what is no outfall.
fn left_by(case: &Case, node: Node) -> Option<Known> {
    let Node::Place(id) = node else { return None };
    discharge_ids(case).contains(&id).then(|| {
        let series = case.ledger.series(&Watch::Water(Selector::to(node)));
        let mut known = Known::between(&series, case.period.0, case.period.1);
        known.lacks |= days_without_volume(case, id) > 0;
        known
    })
}

fn went_out_name(case: &Case, node: Node, amount: &Amount) -> String {
    match node {
        Node::Crop => "Taken up by crops and dried off beds".to_owned(),
        Node::Retained => "Soaked into or dried off yards and roofs".to_owned(),
        other => {
            let days = match other {
                Node::Place(id) => days_with_water(case, id),
                _ => None,
            };
            // Of a sewer's days none is known where its water is not.
            let known = days.is_some() || !amount.water_basis.has(balance::Basis::UNKNOWN);
            let days = days.unwrap_or(usize::try_from(amount.days).unwrap_or(0));
            let days = if known { format!(", {}", many(days, "day")) } else { String::new() };
            format!("{}{days}", case.ledger.label(other))
        }
    }
}

/// Whether it is hauled away and does not flow.
pub fn is_hauled(case: &Case, node: Node) -> bool {
    let Node::Place(id) = node else { return false };
    matches!(
        case.facility.get(id).map(|place| &place.kind),
        Some(PlaceKind::DischargePoint(point)) if point.kind == DischargeKind::HauledAway
    )
}

/// One sentence on the reject of membranes, if there are any.
fn reject(case: &Case) -> Option<String> {
    let is_membrane =
        |place: &&SitePlace| matches!(&place.kind, PlaceKind::Filter(filter) if filter.kind.reject().is_some());
    case.facility.places.iter().find(is_membrane)?;
    let (from, to) = case.period;
    let known = Known::between(&case.ledger.series(&Watch::Water(REJECT)), from, to);
    let unit = case.large_volume();
    let Some(figure) = known.words(units::Unit { digits: unit.digits.min(2), ..unit }) else {
        return Some("Reject is not shown: it depends on what is not known.".to_owned());
    };
    let word = basis(known.of).map_or(String::new(), |known| format!(" {}", known.word()));
    let months = months_lacking(case, REJECT);
    let without = if months.is_empty() { String::new() } else { format!(", without days of {}", months.join(" and ")) };
    Some(format!("Membranes rejected {figure}{word}{without}."))
}

const REJECT: Selector = Selector { from: None, to: None, purpose: Some(Purpose::Reject) };

/// Most months named.
const MOST_MONTHS: usize = 6;

/// The months on days of which an amount is not known.
fn months_lacking(case: &Case, of: Selector) -> Vec<String> {
    let series = case.ledger.series(&Watch::Water(of));
    let lacks = case.months().into_iter().filter(|(from, to)| Known::between(&series, *from, *to).lacks);
    let mut names: Vec<String> = lacks.map(|(from, _)| month(from)).collect();
    if names.len() > MOST_MONTHS {
        let more = names.split_off(MOST_MONTHS).len();
        names.push(format!("{} more", many(more, "month")));
    }
    names
}

/// One sentence on washes, if anything washes.
fn washes(case: &Case) -> Option<String> {
    let mut events = 0_u64;
    let mut uncounted = false;
    // By how they are known: a filter with a log or a meter is not drawn down by one without.
    let mut by_word: Vec<(&str, f64)> = Vec::new();
    for filter in case.ledger.filters() {
        let totals = case.ledger.place_totals(filter.place, case.period.0, case.period.1);
        events += u64::from(totals.washes);
        let washes = |place: &SitePlace| matches!(&place.kind, PlaceKind::Filter(filter) if filter.wash.is_some());
        uncounted |= totals.washes == 0
            && totals.wash_water.water_m3 > 0.0
            && case.facility.get(filter.place).is_some_and(washes);
        let water = totals.wash_water.water_m3;
        if totals.wash_water.water_basis.has(balance::Basis::UNKNOWN) {
            return Some("Wash and rinse water is not shown: it depends on what is not known.".to_owned());
        }
        if water <= 0.0 {
            continue;
        }
        // Day by day: one that no reading covers does not make a year of readings computed.
        for purpose in [Purpose::WashWater, Purpose::RinseWater] {
            let from = Some(Node::Place(filter.place));
            let series = case.ledger.series(&Watch::Water(Selector { from, to: None, purpose: Some(purpose) }));
            for day in case.ledger.days_between(case.period.0, case.period.1) {
                let of = series
                    .values
                    .get(day)
                    .copied()
                    .zip(series.basis.get(day).and_then(|of| basis(of.of_total(series.values.len()))));
                let Some((water, known)) = of.filter(|(water, _)| *water > 0.0) else { continue };
                let word = known.word();
                match by_word.iter_mut().find(|(other, _)| *other == word) {
                    Some((_, sum)) => *sum += water,
                    None => by_word.push((word, water)),
                }
            }
        }
    }
    // What rounds to nothing is no part worth a word.
    let printed = |m3: f64| case.large_volume().of(m3) >= 0.005;
    if by_word.iter().any(|(_, m3)| printed(*m3)) {
        by_word.retain(|(_, m3)| printed(*m3));
    }
    if events == 0 && by_word.is_empty() {
        return None;
    }
    let unit = case.large_volume();
    let water: Vec<String> = by_word
        .iter()
        .map(|(word, m3)| format!("{} {word}", figures::with_unit(unit.of(*m3), unit.digits.min(2), unit.name)))
        .collect();
    let water = if water.is_empty() { "none".to_owned() } else { water.join(", ") };
    // A meter on wash water counts no washes, and none counted is not none.
    Some(match (events, uncounted) {
        (0, _) => {
            let counted = meters::counted(case).unwrap_or_else(|| "no count of washes is on file".to_owned());
            format!("Wash and rinse water {water}; {counted}.")
        }
        (_, true) => {
            format!("Filter washes counted: {}; wash and rinse water {water}.", figures::number(events as f64, 0))
        }
        (_, false) => format!("Filter washes: {}; wash and rinse water {water}.", figures::number(events as f64, 0)),
    })
}
