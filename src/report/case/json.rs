//! The comparison as JSON, for scripts. SI units and the money of the prices file.

use serde_json::{Map, Value, json};

use crate::compare::{COMPARED, Category, Cell, Kind, Verdict};
use crate::report::case::ComparedCase;
use crate::report::case::limits as compare_limits;
use crate::report::case::verdict::in_a_word;

/// Version of the shape of [`compared`].
pub const SCHEMA_VERSION: u32 = 1;

fn cell(of: &Cell) -> Value {
    match (of.single(), of.spread()) {
        (Some(single), Some(spread)) => json!({
            "middle_run": single,
            "p05": spread.low,
            "median": spread.median,
            "p95": spread.high,
        }),
        _ => json!({ "not_compared": of.missing }),
    }
}

/// The key of a kind, with its unit.
fn key(kind: Kind) -> &'static str {
    match kind {
        Kind::CameIn => "came_in_m3",
        Kind::WentOut => "went_out_m3",
        Kind::Fuller => "stores_gain_m3",
        Kind::SolidsIn => "solids_in_kg",
        Kind::SolidsOut => "solids_out_kg",
        Kind::SolidsHeld => "solids_held_kg",
        Kind::Washes => "washes",
        Kind::WashWater => "wash_water_m3",
        Kind::Changes => "changes",
        Kind::UsedUp => "used_up",
        Kind::TakenOut => "solids_taken_out_kg",
        Kind::WetWaste => "wet_waste_kg",
        Kind::Sludge => "wet_sludge_kg",
        Kind::Labour => "labour_h",
        Kind::Downtime => "washing_or_changed_h",
        Kind::Energy => "energy_kwh",
        Kind::Served => "served_m3",
        Kind::Peak => "peak_m3_d",
        Kind::Strong => "over_base_kg",
    }
}

fn cost_key(category: Category) -> &'static str {
    match category {
        Category::Supply => "supply",
        Category::Sewer => "sewer",
        Category::Hauling => "hauling",
        Category::Sludge => "sludge",
        Category::UsedUp => "used_up",
        Category::Labour => "labour",
        Category::Power => "power",
        Category::Regular => "paid_regularly",
    }
}

fn verdict(of: &Verdict) -> Value {
    match of {
        Verdict::None(why) => json!({ "verdict": "none", "why": why }),
        Verdict::Same => json!({ "verdict": "same" }),
        Verdict::Hardly(share) => json!({ "verdict": "hardly differs", "share_of_draws": share }),
        Verdict::Saves(share) => json!({ "verdict": "saves", "share_of_draws": share }),
        Verdict::Costs(share) => json!({ "verdict": "costs more", "share_of_draws": share }),
        Verdict::Open(share) => json!({ "verdict": "not decided", "share_of_draws": share }),
        Verdict::Worse(limits, money) => json!({
            "verdict": "worse by a limit",
            "limits": limits.iter().map(|of| json!({
                "name": of.with.name,
                "predicted": of.with.outcome.map(crate::rules::Outcome::words),
                "as_it_stands": of.was_outcome().map(crate::rules::Outcome::words),
                "share_of_draws_outside": of.with.share_outside,
                "share_as_it_stands": of.was_outside(),
                "is_outside": of.is_outside(),
                "words": of.words(&str::to_owned),
            })).collect::<Vec<_>>(),
            "in_money": verdict(money),
        }),
    }
}

/// Everything a script needs.
pub fn compared(case: &ComparedCase<'_>) -> Value {
    let study = case.study;
    let options: Vec<Value> = case.options().map(|option| one(case, option)).collect();
    json!({
        "schema_version": SCHEMA_VERSION,
        "program": format!("bywash {}", env!("CARGO_PKG_VERSION")),
        "facility": case.facility.name,
        "period": { "from": study.period.0.to_string(), "to": study.period.1.to_string() },
        "years_in_period": study.years,
        "draws": study.draws.len().saturating_sub(1),
        "money": study.prices.money,
        "years_compared": study.prices.years,
        "digest": case.digest,
        "options": options,
        "yardstick": study.tuned().map(|tuned| case.name(tuned)),
        "records_show": case.recorded.iter().map(|of| json!({
            "limit": of.limit, "outcome": of.outcome.words(),
        })).collect::<Vec<_>>(),
        "against_log": case.log.iter().map(|of| json!({
            "what": of.what,
            "figures": of.pairs.len(),
            "bias_si": of.bias(),
            "scatter_si": of.scatter(),
            "mean_logged_si": of.mean_logged(),
            "pairs": of.pairs.iter().map(|(day, logged, computed)| json!({
                "from": day.to_string(), "logged_si": logged, "computed_si": computed,
            })).collect::<Vec<_>>(),
            "below_detection": of.below.iter().map(|(day, limit, computed)| json!({
                "on": day.to_string(), "below_si": limit, "computed_si": computed,
            })).collect::<Vec<_>>(),
        })).collect::<Vec<_>>(),
        "repeats_the_log": {
            "draws_that_do": study.repeated.repeating,
            "as_good_as": study.repeated.effective,
            "weighed_and_kept_out": study.repeated.split.map(|((a, b), (c, d))| [a, b, c, d].map(|day| day.to_string())),
            "weights": study.repeated.weights.as_ref().map(|of| of.iter().skip(1).collect::<Vec<_>>()),
            "things": study.repeated.things.iter().map(|thing| json!({
                "what": thing.what,
                "logged_si": thing.whole.first().map(|pair| pair.0),
                "computed_si": thing.whole.iter().map(|pair| pair.1).collect::<Vec<_>>(),
                "explained": thing.explained,
                "holds_in_the_period_kept_out": thing.holds,
                "below_detection_alone": thing.below_alone,
            })).collect::<Vec<_>>(),
        },
        "at_the_log": case.at_log.map(|of| json!({
            "made_to_repeat": of.made.iter().map(|(what, logged, computed)| json!({
                "what": what, "logged": logged, "computed": computed,
            })).collect::<Vec<_>>(),
            "worth_today_more": of.more,
        })),
        "fit": case.fit.map(|fit| json!({
            "values": fit.values.iter().map(|value| json!({
                "key": value.key, "typed": value.typed, "fits_best": value.value,
                "as_good": value.pinned.as_ref().map(|(low, high)| json!([low, high])),
                "at_the_end_of_its_range": value.at_end,
            })).collect::<Vec<_>>(),
            "fitted_error": { "middle": fit.fitted_error.0, "fitted": fit.fitted_error.1 },
            "tested_error": { "middle": fit.tested_error.0, "fitted": fit.tested_error.1 },
        })),
        "files": case.files.iter().map(|file| json!({
            "path": file.name.as_ref(), "bytes": file.bytes, "sha256": file.sha256,
        })).collect::<Vec<_>>(),
    })
}

fn one(case: &ComparedCase<'_>, option: usize) -> Value {
    let study = case.study;
    let mut totals = Map::new();
    let mut more = Map::new();
    for kind in COMPARED {
        totals.insert(key(kind).to_owned(), cell(&study.total(option, kind)));
        if option > 0 {
            more.insert(key(kind).to_owned(), cell(&study.more(option, 0, kind)));
        }
    }
    let mut places = Map::new();
    let mut costs = Map::new();
    for category in Category::ALL {
        costs.insert(cost_key(category).to_owned(), cell(&study.cost(option, category)));
    }
    let of = study.options.get(option);
    if let Some(of) = of {
        let amounts = of.amounts.first();
        for (at, quantity) in of.quantities.list.iter().enumerate() {
            let entry = places.entry(key(quantity.kind).to_owned()).or_insert_with(|| Value::Object(Map::new()));
            if let Value::Object(entry) = entry {
                let value = match &quantity.missing {
                    Some(why) => json!({ "not_compared": why }),
                    None => json!(amounts.and_then(|run| run.get(at))),
                };
                let name = if quantity.id.contains(", ") { quantity.id.clone() } else { quantity.name.clone() };
                entry.insert(name, value);
            }
        }
    }
    json!({
        "name": case.name(option),
        "file": of.and_then(|of| of.alternative.file.clone()),
        "tuned": of.is_some_and(|of| of.alternative.tuned),
        "a_year": totals,
        "a_year_by_place": places,
        "waste_counted_dry": study.hauled(option).dry,
        "costs_a_year": costs,
        "running_a_year": cell(&study.running(option)),
        "known_running_a_year": cell(&study.known_running(option)),
        "known_worth_today": cell(&study.known_present(option)),
        "bought_worth_today": cell(&study.capital(option)),
        "worth_today": cell(&study.present(option)),
        "more_than_as_it_stands": (option > 0).then(|| json!({
            "a_year": more,
            "running_a_year": cell(&study.running_more(option, 0)),
            "worth_today": cell(&study.present_more(option, 0)),
            "share_of_draws_that_save": study.present_more(option, 0).share_below_nought(),
        })),
        "verdict": (option > 0).then(|| verdict(&study.verdict(option, 0))),
        "an_answer": (option > 0).then(|| in_a_word(case, option)),
        "stays_outside_of": study.stays_outside(option, 0).iter().map(|of| &of.name).collect::<Vec<_>>(),
        "but": study.nearly_kept(option, 0),
        "only_if_nobody_has_shown": study.takes_for_granted(option),
        "limits": of.map(|of| of.limits.iter().map(|limit| json!({
            "name": limit.name,
            "outcome": compare_limits::outcome(case, limit).map_or("not computed", crate::rules::Outcome::words),
            "as_computed_alone": compare_limits::as_computed(case, limit),
            "far_off_the_log": study.doubt(&limit.name).map(|doubt| &doubt.why),
            "times_computed": study.doubts.iter().find(|doubt| doubt.limit == limit.name).map(|doubt| json!({
                "least_logged": doubt.low, "most_logged": doubt.high.is_finite().then_some(doubt.high),
                "m3_a_day_more": doubt.more_m3,
            })),
            "figure": limit.figure,
            "share_outside": limit.share_outside,
        })).collect::<Vec<_>>()),
        "limits_that_apply_no_longer": of.map(|of| of.alternative.limits_gone.clone()),
        "limits_not_judged": study.not_judged(option),
        "break_evens": option.checked_sub(1).and_then(|at| case.break_evens.get(at)).map(|list| {
            list.iter().map(|even| json!({
                "what": even.what, "typed": even.typed, "factor": even.factor, "value": even.value,
            })).collect::<Vec<_>>()
        }),
        "drivers": option.checked_sub(1).and_then(|at| case.drivers.get(at)).map(|list| {
            list.iter().map(|driver| json!({
                "key": driver.key, "typed": driver.text, "rank_correlation": driver.rank,
            })).collect::<Vec<_>>()
        }),
    })
}
