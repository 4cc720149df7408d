//! The findings and totals as JSON, for scripts.
//!
//! `schema_version` changes when a key changes its meaning or goes; keys may be added without it.

use serde_json::{Map, Value, json};

use crate::balance::{Account, Amount};
use crate::facility::model::PlaceKind;
use crate::report::inspection;
use crate::report::inspection::about::Case;
use crate::report::inspection::water_year::{NOTHING_COMPARED, compares, rain_is_not_known};
use crate::rules::{Evidence, Figure, Finding, Missing, WindowFinding};

/// Version of the shape of [`findings`].
pub const SCHEMA_VERSION: u32 = 1;

/// Everything a script needs: period, balance, places, findings.
pub fn findings(case: &Case) -> Value {
    json!({
        "schema_version": SCHEMA_VERSION,
        "program": format!("bywash {}", env!("CARGO_PKG_VERSION")),
        "facility": case.facility.name,
        "permit": case.permit.map(|permit| json!({
            "authority": permit.authority,
            "permit": permit.permit,
            "rules": permit.file,
        })),
        "period": { "from": case.period.0.to_string(), "to": case.period.1.to_string() },
        "as_of": case.as_of.to_string(),
        "working_copy": inspection::is_working_copy(case),
        "digest": case.digest,
        "draws": case.draws,
        "balance": balance(case),
        "places": places(case),
        "findings": case.findings.iter().map(finding).collect::<Vec<_>>(),
        "repairs": case.timeline.repairs.iter().map(|repair| json!({
            "file": repair.place.file.as_ref(),
            "line": repair.place.line,
            "sentence": repair.sentence,
        })).collect::<Vec<_>>(),
        "assumptions": case.assumptions.iter().map(|assumption| json!({
            "what": assumption.what,
            "value": assumption.value,
            "place": assumption.place,
            "source": assumption.source,
        })).collect::<Vec<_>>(),
        "worklist": case.worklist.iter().map(|(what, effect)| json!({
            "what": what, "effect": effect,
        })).collect::<Vec<_>>(),
        "files": case.files.iter().map(|file| json!({
            "path": file.name.as_ref(), "bytes": file.bytes, "sha256": file.sha256,
        })).collect::<Vec<_>>(),
    })
}

fn amount(of: &Amount) -> Value {
    json!({
        "water_m3": of.water_m3,
        "water_basis": of.water_basis.to_string(),
        "solids_kg": of.solids_kg,
        "solids_basis": of.solids_basis.to_string(),
        "days": of.days,
    })
}

fn account(case: &Case, account: &Account) -> Value {
    let lines = |list: &[(crate::balance::Node, Amount)]| {
        let mut map = Map::new();
        for (node, of) in list {
            map.insert(case.ledger.label(*node), amount(of));
        }
        Value::Object(map)
    };
    json!({
        "came_in": lines(&account.came_in),
        "went_out": lines(&account.went_out),
        "total_in_m3": account.total_in_m3(),
        "stores_gain_m3": account.stores_gain_m3,
        "stores_gain_kg": account.stores_gain_kg,
        "unaccounted_m3": unaccounted(account),
        "unaccounted_in_m3": account.unaccounted_in_m3,
        "unaccounted_out_m3": account.unaccounted_out_m3,
        "closure_m3": account.closure_m3,
    })
}

/// What is unaccounted, m³; null where no reading met a computed figure.
fn unaccounted(account: &Account) -> Option<f64> {
    compares(account).then(|| account.unaccounted_m3())
}

fn balance(case: &Case) -> Value {
    let year = case.ledger.account(case.period.0, case.period.1);
    let mut seasons = Vec::new();
    for (name, from, to) in inspection::balance::seasons(case) {
        let mut row = json!({
            "season": name.split(',').next().unwrap_or_default(),
            "from": from.to_string(),
            "to": to.to_string(),
        });
        merge(&mut row, account(case, &case.ledger.account(from, to)));
        seasons.push(row);
    }
    let months: Vec<Value> = case
        .months()
        .into_iter()
        .map(|(from, to)| {
            let mut row = json!({ "from": from.to_string(), "to": to.to_string() });
            merge(&mut row, account(case, &case.ledger.account(from, to)));
            row
        })
        .collect();
    let worst = case.ledger.residuals().of_all;
    let mut out = json!({
        "permit_year": account(case, &year),
        "seasons": seasons,
        "months": months,
        "largest_residual": case.ledger.residuals().of_water.map_or(0.0, |r| r.amount.abs()),
        "largest_residual_unit": "m3",
        "closed": worst.is_some(),
        "unaccounted": unaccounted(&year),
        "unaccounted_unit": "m3",
        "unaccounted_note": (!compares(&year)).then_some(NOTHING_COMPARED),
        "rain_note": rain_is_not_known(case).then_some("no rain is on file: what it brought is not known"),
    });
    if let Some(residual) = worst {
        merge(
            &mut out,
            json!({ "largest_residual_at": {
                "place": case.ledger.label(residual.node),
                "date": residual.date.to_string(),
                "amount": residual.amount,
                "tolerance": residual.tolerance,
            }}),
        );
    }
    out
}

fn merge(into: &mut Value, from: Value) {
    if let (Value::Object(into), Value::Object(from)) = (into, from) {
        into.extend(from);
    }
}

fn kind_words(kind: &PlaceKind) -> &'static str {
    match kind {
        PlaceKind::Supply(_) => "supply",
        PlaceKind::Catchment(_) => "catchment",
        PlaceKind::Use(one) => one.kind.words(),
        PlaceKind::Transfer(_) => "transfer",
        PlaceKind::Filter(filter) => filter.kind.words(),
        PlaceKind::Tank(_) => "tank",
        PlaceKind::Pond(_) => "pond",
        PlaceKind::DischargePoint(point) => point.kind.words(),
    }
}

fn places(case: &Case) -> Value {
    let mut out = Map::new();
    for (i, place) in case.facility.places.iter().enumerate() {
        let id = crate::facility::model::PlaceId(i);
        let totals = case.ledger.place_totals(id, case.period.0, case.period.1);
        let mut row = json!({
            "kind": kind_words(&place.kind),
            "came": amount(&totals.came),
            "left": amount(&totals.left),
            "washes": totals.washes,
            "changes": totals.changes,
            "wash_water_m3": totals.wash_water.water_m3,
            "wash_water_basis": totals.wash_water.water_basis.to_string(),
            "wash_water_solids_kg": totals.wash_water.solids_kg,
            "solids_caught_kg": if totals.solids_caught_basis.has(crate::balance::Basis::UNKNOWN) {
                Value::Null
            } else {
                json!(totals.solids_caught_kg)
            },
            "solids_caught_basis": totals.solids_caught_basis.to_string(),
            "minutes_standing": totals.minutes,
        });
        if matches!(&place.kind, PlaceKind::Filter(filter) if filter.kind.reject().is_some()) {
            merge(&mut row, json!({"reject": amount(&totals.reject)}));
        }
        if let Some(store) = case.ledger.store(id) {
            merge(
                &mut row,
                json!({
                    "opening_m3": store.opening_m3,
                    "closing_m3": store.volume_m3.last(),
                    "highest_level_m": most(&store.level_m),
                    "least_freeboard_m": least(&store.freeboard_m),
                    "least_spill_left_m3": least(&store.spill_left_m3),
                    "sludge_depth_m": store.sludge_depth_m.last(),
                }),
            );
        }
        out.insert(place.name.clone(), row);
    }
    Value::Object(out)
}

fn most(values: &[f64]) -> Option<f64> {
    values.iter().copied().reduce(f64::max)
}

fn least(values: &[f64]) -> Option<f64> {
    values.iter().copied().reduce(f64::min)
}

/// A finite number, or null: infinity (something is missing) has no number.
fn finite(value: f64) -> Value {
    if value.is_finite() { json!(value) } else { Value::Null }
}

fn figure(of: &Figure) -> Value {
    json!({
        "low": finite(of.low),
        "high": finite(of.high),
        "value": of.value.map_or(Value::Null, finite),
        "unit": of.unit,
        "text": of.text,
        "measured": of.provenance == crate::rules::Provenance::Measured,
    })
}

fn evidence(of: &Evidence) -> Value {
    json!({
        "date": of.day.to_string(),
        "text": of.text,
        "file": of.place.as_ref().map(|place| place.file.to_string()),
        "line": of.place.as_ref().map(|place| place.line),
        "paper": of.paper,
    })
}

fn missing(of: &Missing) -> Value {
    json!({ "what": of.sentence, "would_show": of.would_show })
}

fn window(of: &WindowFinding) -> Value {
    json!({
        "window": of.label,
        "from": of.from.to_string(),
        "to": of.to.to_string(),
        "outcome": of.outcome.words(),
        "figure": of.figure.as_ref().map(figure),
        "n": of.n,
        "needed": of.needed,
        "arithmetic": of.arithmetic,
        "evidence": of.evidence.iter().map(evidence).collect::<Vec<_>>(),
        "missing": of.missing.iter().map(missing).collect::<Vec<_>>(),
    })
}

/// One finding.
pub fn finding(of: &Finding) -> Value {
    json!({
        "id": of.id,
        "kind": of.kind.word(),
        "name": of.name,
        "at": of.at,
        "outcome": of.outcome.words(),
        "other_answer": of.other_answer.as_ref().map(|(turns_on, outcome)| json!({
            "turns_on": turns_on, "outcome": outcome.words(),
        })),
        "words": of.words,
        "file": of.place.as_ref().map(|place| place.file.to_string()),
        "line": of.place.as_ref().map(|place| place.line),
        "figure": of.figure.as_ref().map(figure),
        "limit": of.limit.as_ref().map(|limit| json!({
            "text": limit.text,
            "at_most": limit.at_most,
            "at_least": limit.at_least,
            "unit": limit.unit,
        })),
        "margin": of.margin_value.map_or(Value::Null, finite),
        "margin_text": of.margin,
        "worst_when": of.worst_when,
        "n": of.n,
        "how_many": of.how_many,
        "dates": of.dates.iter().map(ToString::to_string).collect::<Vec<_>>(),
        "due": of.due.map(|due| due.to_string()),
        "share_outside": of.share_outside,
        "windows": of.windows.iter().map(window).collect::<Vec<_>>(),
        "sentences": of.sentences,
        "likelihood": of.likelihood,
        "missing": of.missing.iter().map(missing).collect::<Vec<_>>(),
        "evidence": of.evidence.iter().map(evidence).collect::<Vec<_>>(),
    })
}
