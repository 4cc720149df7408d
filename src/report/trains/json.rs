//! The search as JSON, for scripts. SI units and the money of the prices file.

use serde_json::{Map, Value, json};

use crate::compare::search::{Fate, Figures, Measure};
use crate::report::trains::TrainsCase;

/// Version of the shape of [`found`].
pub const SCHEMA_VERSION: u32 = 1;

fn key(measure: Measure) -> &'static str {
    match measure {
        Measure::Cost => "costs_more_worth_today",
        Measure::WashWater => "wash_water_m3",
        Measure::Labour => "labour_h",
        Measure::Landfill => "wet_waste_kg",
    }
}

fn figures(of: &Figures) -> Value {
    let mut out = Map::new();
    for measure in Measure::ALL {
        let cell = of.cell(measure);
        let value = match cell.spread() {
            _ if measure == Measure::Cost && !of.no_money.is_empty() => json!({ "not_compared": of.no_money }),
            Some(spread) => json!({ "p05": spread.low, "median": spread.median, "p95": spread.high }),
            None => json!({ "not_compared": cell.missing }),
        };
        out.insert(key(measure).to_owned(), value);
    }
    out.insert("undecided".to_owned(), json!(of.undecided));
    let open: Vec<String> = of.open.iter().map(|of| of.words(&str::to_owned)).collect();
    out.insert("not_decided".to_owned(), json!(open));
    out.insert("stays_outside_of".to_owned(), json!(of.stays));
    out.insert("but".to_owned(), json!(of.but));
    out.insert("only_if_nobody_has_shown".to_owned(), json!(of.only_if));
    let outside: Vec<&str> = of.outside.iter().map(|limit| limit.name.as_str()).collect();
    out.insert("predicted_outside".to_owned(), json!(outside));
    Value::Object(out)
}

/// Everything a script needs.
pub fn found(case: &TrainsCase<'_>) -> Value {
    let found = case.found;
    let trains: Vec<Value> = found
        .trains
        .iter()
        .map(|train| {
            let units = train.stages.iter().filter_map(|at| case.search.units.get(*at));
            let stages: Vec<&str> = units.map(|unit| unit.name.as_str()).collect();
            let (became, why) = match &train.fate {
                Fate::Refused(why) => ("refused", json!([why])),
                Fate::Apart(_, why) => ("apart", json!(why)),
                Fate::Unbeaten(_) => ("not beaten", json!([])),
                Fate::Beaten(_, by) => {
                    let by = by.and_then(|by| found.trains.get(by)).map_or("as it stands", |by| by.name.as_str());
                    ("beaten", json!([format!("by: {by}")]))
                }
            };
            json!({
                "stages": stages, "became": became, "why": why,
                "figures": train.fate.figures().map(figures),
            })
        })
        .collect();
    let study = case.case.study;
    json!({
        "schema_version": SCHEMA_VERSION,
        "program": format!("bywash {}", env!("CARGO_PKG_VERSION")),
        "facility": case.case.facility.name,
        "period": { "from": study.period.0.to_string(), "to": study.period.1.to_string() },
        "draws": study.draws.len().saturating_sub(1),
        "money": study.prices.money,
        "years_compared": study.prices.years,
        "digest": case.case.digest,
        "in_place_of": case.search.in_place_of(),
        "held_by": found.measures.iter().map(|measure| key(*measure)).collect::<Vec<_>>(),
        "not_by_money": found.not_by_money,
        "left_out": found.cut,
        "as_it_stands": figures(&found.stands),
        "records_show": case.case.recorded.iter().map(|of| json!({
            "limit": of.limit, "outcome": of.outcome.words(),
        })).collect::<Vec<_>>(),
        "as_it_stands_beaten_by": found.stands_beaten_by.and_then(|at| found.trains.get(at)).map(|train| &train.name),
        "trains": trains,
    })
}
