//! What reaches discharge points against what they take: over a day, and at the moment a wash or a pump runs.

use crate::balance::findings::beds::{middle, wash_rate_m3_s};
use crate::balance::findings::said::Said;
use crate::balance::findings::{FacilityFinding, FindingKind};
use crate::balance::{Ledger, Node, Purpose, Selector, Watch};
use crate::facility::model::{Facility, Filter, Outflow, PlaceId, PlaceKind, PumpedOut};

/// Less over a bank in a day is what rounding leaves, m³.
const A_SPILL_M3: f64 = 1e-6;

/// Findings about every point that says what it takes.
pub(super) fn outlets(facility: &Facility, ledger: &Ledger, findings: &mut Vec<FacilityFinding>) {
    for (index, place) in facility.places.iter().enumerate() {
        let PlaceKind::DischargePoint(point) = &place.kind else {
            continue;
        };
        let Some((_, most)) = point.takes_at_most.as_ref().and_then(|g| g.ends()) else {
            continue;
        };
        let said = Said(facility.system);
        let point = PlaceId(index);
        round_the_clock(said, point, &place.name, most.value, ledger, findings);
        at_a_moment(facility, point, &place.name, most.value, ledger, findings);
    }
}

/// A day's flow against the most it takes round the clock: over that, the rate was over whatever the hours.
fn round_the_clock(
    said: Said,
    point: PlaceId,
    name: &str,
    most_m3_s: f64,
    ledger: &Ledger,
    findings: &mut Vec<FacilityFinding>,
) {
    let most_m3_d = most_m3_s * 86_400.0;
    let series = ledger.series(&Watch::Water(Selector::to(Node::Place(point))));
    let days: Vec<usize> =
        series.values.iter().enumerate().filter(|(_, v)| **v > most_m3_d * (1.0 + 1e-9)).map(|(day, _)| day).collect();
    if !days.is_empty() {
        let amount = series.values.iter().copied().fold(0.0, f64::max);
        findings.push(FacilityFinding {
            place: point,
            kind: FindingKind::SewerRate,
            sentence: format!(
                "more flowed to {name} in a day ({} at most) than it takes round the clock ({})",
                said.volume(amount),
                said.volume(most_m3_d)
            ),
            days,
            amount,
        });
    }
}

/// Something that runs at a rate of its own.
struct Runs {
    words: String,
    from: PlaceId,
    purpose: Purpose,
    rate_m3_s: f64,
    /// How long one run lasts, s, where that is known.
    lasts_s: Option<f64>,
}

fn goes_to(to: &Outflow, point: PlaceId) -> bool {
    to.targets().contains(&point)
}

fn washes(id: PlaceId, name: &str, filter: &Filter, point: PlaceId) -> Option<Runs> {
    if let Some(rinse) = filter.kind.rinse() {
        return goes_to(&rinse.to, point).then(|| middle(&rinse.flow)).flatten().map(|flow| Runs {
            words: format!("the rinse of {name}"),
            from: id,
            purpose: Purpose::RinseWater,
            rate_m3_s: flow.value,
            lasts_s: None,
        });
    }
    if let Some(reject) = filter.kind.reject() {
        let (least, most) = reject.share()?;
        let feed = middle(filter.handles_at_most.as_ref()?)?;
        return goes_to(&reject.to, point).then(|| Runs {
            words: format!("the reject of {name}"),
            from: id,
            purpose: Purpose::Reject,
            rate_m3_s: feed.value * f64::midpoint(least, most),
            lasts_s: None,
        });
    }
    let wash = filter.wash.as_ref().filter(|wash| goes_to(&wash.to, point))?;
    let seconds = |time| middle(time).map(|t: uom::si::f64::Time| t.value);
    let washing = wash_rate_m3_s(filter).map(|rate| {
        let lasts = wash.lasts.as_ref().and_then(seconds);
        (rate, lasts.map(|s| s * f64::from(wash.vessels.max(1))))
    });
    let rinsing = wash.rinse.as_ref().and_then(|(rate, time)| {
        let rate = middle(rate)?.value;
        let lasts = seconds(time).map(|s| s * f64::from(wash.vessels.max(1)));
        Some((rate, lasts))
    });
    let (rate_m3_s, lasts_s) = match (washing, rinsing) {
        (Some(wash), Some(rinse)) if rinse.0 > wash.0 => rinse,
        (Some(wash), _) => wash,
        (None, rinse) => rinse?,
    };
    Some(Runs { words: format!("a wash of {name}"), from: id, purpose: Purpose::WashWater, rate_m3_s, lasts_s })
}

fn pump(id: PlaceId, name: &str, pump: Option<&PumpedOut>, point: PlaceId) -> Option<Runs> {
    let pump = pump.filter(|pump| goes_to(&pump.to, point))?;
    Some(Runs {
        words: format!("the pump of {name}"),
        from: id,
        purpose: Purpose::PumpedOut,
        rate_m3_s: middle(&pump.rate)?.value,
        lasts_s: None,
    })
}

/// What runs to a point at a rate above what it takes, on the days on which its water came there.
fn at_a_moment(
    facility: &Facility,
    point: PlaceId,
    name: &str,
    most_m3_s: f64,
    ledger: &Ledger,
    findings: &mut Vec<FacilityFinding>,
) {
    let said = Said(facility.system);
    let mut days = std::collections::BTreeSet::new();
    let mut words = Vec::new();
    let mut most = 0.0_f64;
    for (index, place) in facility.places.iter().enumerate() {
        let id = PlaceId(index);
        let runs = match &place.kind {
            PlaceKind::Filter(filter) => washes(id, &place.name, filter, point),
            PlaceKind::Tank(tank) => pump(id, &place.name, tank.pumped_out.as_ref(), point),
            PlaceKind::Pond(pond) => pump(id, &place.name, pond.pumped_out.as_ref(), point),
            _ => None,
        };
        let Some(runs) = runs.filter(|runs| runs.rate_m3_s > most_m3_s * (1.0 + 1e-9)) else {
            continue;
        };
        let came = ledger.series(&Watch::Water(Selector {
            from: Some(Node::Place(runs.from)),
            to: Some(Node::Place(point)),
            purpose: Some(runs.purpose),
        }));
        let of: Vec<usize> =
            came.values.iter().enumerate().filter(|(_, water)| **water > 1e-9).map(|(day, _)| day).collect();
        if of.is_empty() {
            continue;
        }
        days.extend(of);
        most = most.max(runs.rate_m3_s * 3600.0);
        let hold = runs.lasts_s.map_or_else(String::new, |s| {
            format!(" (to hold it back takes room for {})", said.volume((runs.rate_m3_s - most_m3_s) * s))
        });
        words.push(format!("{} at {}{hold}", runs.words, said.flow(runs.rate_m3_s * 3600.0)));
    }
    if !words.is_empty() {
        findings.push(FacilityFinding {
            place: point,
            kind: FindingKind::SewerPeak,
            sentence: format!(
                "{name} takes at most {}; to it runs {}",
                said.flow(most_m3_s * 3600.0),
                words.join(", ")
            ),
            days: days.into_iter().collect(),
            amount: most,
        });
    }
}

/// Ponds and tanks that ran over and of which nothing says where to: that water is unaccounted, and nobody looks for it unless told.
pub(super) fn without(facility: &Facility, ledger: &Ledger, findings: &mut Vec<FacilityFinding>) {
    for (index, place) in facility.places.iter().enumerate() {
        let key = match &place.kind {
            PlaceKind::Pond(pond) if pond.spills_to.is_none() => "spills to",
            PlaceKind::Tank(tank) if tank.overflows_to.is_none() => "overflows to",
            _ => continue,
        };
        let id = PlaceId(index);
        let over = Selector { from: Some(Node::Place(id)), to: Some(Node::Unaccounted), purpose: Some(Purpose::Spill) };
        let series = ledger.series(&Watch::Water(over));
        let days: Vec<usize> =
            series.values.iter().enumerate().filter(|(_, m3)| **m3 > A_SPILL_M3).map(|(day, _)| day).collect();
        if days.is_empty() {
            continue;
        }
        let sum: f64 = series.values.iter().sum();
        let most = series.values.iter().copied().fold(0.0, f64::max);
        let said = Said(facility.system);
        let on = if days.len() == 1 { "a day".to_owned() } else { format!("{} days", days.len()) };
        findings.push(FacilityFinding {
            place: id,
            kind: FindingKind::NoOutlet,
            sentence: format!(
                "{} ran over on {on} by computation and has no outlet: {} in all, at most {} in a day, went nobody knows where and \
                 stands as unaccounted; say where it runs with `{key}`",
                place.name,
                said.volume(sum),
                said.volume(most)
            ),
            days,
            amount: most,
        });
    }
}
