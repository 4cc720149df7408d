//! The basin's answer as JSON, in SI.

use serde_json::{Value, json};

use crate::report::basin::BasinCase;
use crate::sizing::{
    Amount, Answer, Asks, Basin, Change, Check, Comes, Duty, Measure, Outcome, Quantity, Simulated, Study,
};

/// The answer: lengths in m, areas in m², volumes in m³, flows in m³/s.
pub fn json(case: &BasinCase) -> Value {
    let demands = &case.study.demands;
    let head = json!({
        "facility": case.facility.name,
        "pond": case.name(),
        "not_built": case.not_built,
        "duties_file": demands.duties.file,
        "least": demands.duties.least.words(),
        "first_day": case.period.0.to_string(),
        "last_day": case.period.1.to_string(),
        "years": case.years(),
        "days_with_unknown_rain": case.study.basics.unknown_days,
        "digest": case.digest,
        "caution": "An estimate from the user's own figures; not a design for construction.",
    });
    let rest = match &case.study.outcome {
        Outcome::Pond(answer) => of_answer(case.study, answer),
        Outcome::This(answer, changes) => {
            let mut all = of_answer(case.study, answer);
            all["changes"] = changes.iter().map(one_change).collect();
            all
        }
        Outcome::None(impossible) => json!({
            "found": false,
            "best_of_each_duty": impossible.best.iter().map(|(check, basin)| json!({
                "check": one_check(check),
                "shape": shape(basin),
            })).collect::<Vec<_>>(),
            "nearest": impossible.nearest.as_ref().map(|(basin, all)| json!({
                "shape": shape(basin),
                "duties": checks(all),
            })),
        }),
    };
    let mut whole = head;
    if let (Some(into), Value::Object(more)) = (whole.as_object_mut(), rest) {
        into.extend(more);
    }
    whole
}

fn of_answer(study: &Study, answer: &Answer) -> Value {
    json!({
        // Whether every duty is done as far as the years can show; else it is the least that does the others, or one that stands.
        "found": answer.held().does_all(),
        "what_would_have_it_kept": answer.cures.iter().map(one_change).collect::<Vec<_>>(),
        "pond_found": shape(&answer.found.basin),
        "cost": answer.cost,
        "cost_of": study.demands.cost_parts(&answer.found.basin).iter().map(|part| {
            let (many, unit) = match part.quantity {
                Quantity::Earth(m3) => (json!(m3), "m3"),
                Quantity::Area(m2) => (json!(m2), "m2"),
                Quantity::Length(m) => (json!(m), "m"),
                Quantity::Whole => (Value::Null, ""),
            };
            json!({ "what": part.what, "quantity": many, "unit": unit, "price": part.price, "comes_to": part.comes_to })
        }).collect::<Vec<_>>(),
        "earth": study.demands.earth(&answer.found.basin).map(|earth| json!({
            "cut_m3": earth.cut_m3,
            "fill_m3": earth.fill_m3,
            "cut_that_the_fill_takes_m3": earth.takes_m3,
            "hauled_loose_m3": earth.hauled_m3,
            "brought_loose_m3": earth.brought_m3,
            "ground_above_floor_m": answer.found.basin.ground_m(),
            "balanced_below_bank_top_m": study
                .demands
                .duties
                .ground
                .as_ref()
                .and_then(|ground| ground.balanced_below_top_m(&answer.found.basin)),
        })),
        "governs": words(&answer.governs()),
        "duties": checks(&answer.checks),
        "one_step_smaller": answer.smaller.iter().map(|one| json!({
            "which": one.word,
            "shape": one.shape.as_ref().map(|(basin, _)| shape(basin)),
            "fails": one.shape.as_ref().map(|(_, all)| {
                words(&all.iter().filter(|check| !check.is_met()).map(|check| check.duty).collect::<Vec<_>>())
            }),
        })).collect::<Vec<_>>(),
        "forebay": study.demands.forebay(&answer.found.basin).map(|held| json!({
            "length_m": held.length_m,
            "water_surface_m2": held.area_m2(),
            "volume_m3": held.volume_m3,
            "share_of_pool": held.share,
            "top_m": held.top_m,
            "berm_m3": answer.stack.berm_m3,
            "sludge_m3_a_year": held.sludge_m3_a_year,
            "share_of_solids_kept": held.kept,
            "share_settled": held.settled,
            "years_to_clean_out": held.years,
        })),
        "emergency_spillway": study.demands.duties.spillway.as_ref().map(|duty| {
            let over = duty.over(&answer.found.basin);
            json!({
                "crest_m": over.crest_m,
                "head_m": over.head_m,
                "water_m": over.water_m(),
                "freeboard_left_m": over.left_m,
                "flow_m3_s": duty.flow.si,
                "flow_from": duty.flow_source,
                "coefficient_us": duty.coefficient.0,
                "caution": "an illustration of a level; sizes no spillway",
            })
        }),
        "layers": answer.layers.iter().map(|layer| json!({
            "layer": layer.kind.words(),
            "from_m": layer.from_m,
            "to_m": layer.to_m,
            "volume_m3": layer.volume_m3,
            "fits": layer.fits,
        })).collect::<Vec<_>>(),
        "normal_level_m": answer.normal_m,
        "sludge_m3_a_year": answer.sludge_m3_a_year,
        "years_to_clean_out": answer.clean_out_years(),
        "over_the_years": run(&answer.run),
        "spills": answer.spills.iter().map(|spill| json!({
            "first_day": spill.first.to_string(),
            "days": spill.days,
            "m3": spill.m3,
        })).collect::<Vec<_>>(),
        "size_against_spills": answer.curve.iter().map(|(basin, ran)| json!({
            "shape": shape(basin),
            "over_the_years": run(ran),
        })).collect::<Vec<_>>(),
        "what_if": answer.cases.iter().map(|one| json!({
            "case": one.what,
            "over_the_years": one.run.as_ref().map(run),
            "share_settled": one.settled,
            "years_to_clean_out": one.clean_out_years,
            "fails": words(&one.fails.iter().map(|check| check.duty).collect::<Vec<_>>()),
            "fails_by": checks(&one.fails),
        })).collect::<Vec<_>>(),
        "other_shapes": answer.listed.iter().map(|one| json!({
            "shape": shape(&one.basin),
            "governs": words(&one.governs),
        })).collect::<Vec<_>>(),
        "hand_rules": answer.rules.iter().map(|rule| {
            let (kind, asks) = match rule.asks {
                Asks::Volume(value) => ("volume_m3", value),
                Asks::Area(value) => ("area_m2", value),
                Asks::LengthToWidth(value) => ("length_to_width", value),
            };
            json!({
                "rule": rule.rule,
                "of": kind,
                "comes_to": asks,
                "this_pond": rule.has,
                "source": rule.source,
                "standing": rule.standing.words(),
            })
        }).collect::<Vec<_>>(),
        "advice": answer.advice.iter().map(|one| json!({
            "what": one.what,
            "unit": unit(one.measure),
            "usual_at_most": one.usual,
            "has": one.has,
        })).collect::<Vec<_>>(),
        "settling_pool_m": study.demands.pool_m,
        "design_flow_m3_s": study.demands.peak_m3_s(&answer.found.basin),
        "detention_counted_between_m": study.demands.duties.detention.as_ref().map(|_| {
            let (from_m, to_m, _) = study.demands.stays_between_m(&answer.found.basin);
            [from_m, to_m]
        }),
        "drawdown_m3_s": answer.drawdown_m3_s,
        "drawdown_in_time": answer.in_time.map(|of| json!({ "m3_s": of.m3_s, "least_pond": of.least.as_ref().map(shape) })),
        "present_pond": study.standing.as_ref().map(|of| json!({
            "duties": checks(&of.checks),
            "as_run_now": run(&of.now),
            "run_otherwise_does_all": of.cures.as_ref().map(|cures| cures.iter().map(one_change).collect::<Vec<_>>()),
        })),
        "boxes_looked_at": answer.found.boxes,
        "shapes_run": answer.found.simulated,
        "smaller_ruled_out": answer.found.proved && !study.is_taken_between(),
    })
}

fn one_change(change: &Change) -> Value {
    let (amount, unit) = change.amount.map_or((Value::Null, ""), one_amount);
    json!({
        "change": change.what,
        "amount": amount,
        "unit": unit,
        "with": change.beside.iter().map(|part| {
            let (amount, unit) = one_amount(part.amount);
            json!({ "change": part.what, "amount": amount, "unit": unit })
        }).collect::<Vec<_>>(),
        "earth_m3": change.earth_m3,
        "cost": change.cost,
        "shape": change.shape.as_ref().map(shape),
    })
}

fn words(duties: &[Duty]) -> Vec<&'static str> {
    duties.iter().map(|duty| duty.words()).collect()
}

fn shape(basin: &Basin) -> Value {
    let (long, wide) = basin.over_banks_m();
    json!({
        "length_m": basin.length_m,
        "width_m": basin.width_m,
        "depth_m": basin.depth_m,
        "side_slope": basin.slope,
        "freeboard_m": basin.freeboard_m,
        "volume_m3": basin.capacity_m3(),
        "water_surface_m2": basin.area_m2(basin.depth_m),
        "volume_up_to_bank_top_m3": basin.dug_m3(),
        "cut_m3": basin.cut_m3(),
        "lined_m2": basin.lined_m2(),
        "over_banks_m": [long, wide],
    })
}

fn one_amount(amount: Amount) -> (Value, &'static str) {
    match amount {
        Amount::Length(value) | Amount::Level(value) => (json!(value), "m"),
        Amount::Flow(value) => (json!(value), "m3/s"),
        Amount::Share(value) => (json!(value), "share"),
        Amount::Typed(words) => (json!(words), "as typed"),
    }
}

fn checks(all: &[Check]) -> Vec<Value> {
    all.iter().map(one_check).collect()
}

fn unit(measure: Measure) -> &'static str {
    match measure {
        Measure::Share => "share",
        Measure::Volume => "m3",
        Measure::TimesAYear => "a year",
        Measure::DaysAYear => "days a year",
        Measure::Days => "days",
        Measure::Hours | Measure::HoursAtLeast => "h",
        Measure::YearsAtLeast => "years",
        Measure::HeightAtLeast => "m",
        Measure::Speed => "m/s",
    }
}

fn one_check(check: &Check) -> Value {
    json!({
        "duty": check.duty.words(),
        "unit": unit(check.measure),
        "asked": check.asked,
        "has": check.has,
        "does_it": check.comes == Comes::Done,
        "comes_out": match check.comes {
            Comes::Done => "does it",
            Comes::NotDone => "does not",
            Comes::TooFewYears => "not shown",
            Comes::NotKept => "not kept",
        },
    })
}

fn run(ran: &Simulated) -> Value {
    json!({
        "days": ran.spill.days,
        "days_with_rain_on_file": ran.spill.known_days,
        "spills": ran.spill.spills,
        "runs_of_days_with_a_spill": ran.spill.runs,
        "wet_spells_with_a_spill": ran.spill.spells,
        "spills_a_year": ran.spill.a_year(),
        "interval_95": ran.spill.interval().map(|(low, high)| [low, high]),
        "days_with_a_spill": ran.spill.spill_days,
        "longest_spill_days": ran.spill.longest_days,
        "spilled_m3": ran.spill.spilled_m3,
        "inflow_m3": ran.inflow_m3,
        "rain_on_the_pond_m3": ran.rain_m3,
        "runoff_m3": ran.runoff_m3,
        "let_out_m3": ran.let_out_m3,
        "share_neither_spilled_nor_let_out": ran.share_kept(),
        "days_short": ran.shortage_days,
        "short_m3": ran.short_m3,
        "days_short_by_month": ran.short_in,
        "filled_by_a_supply_m3": ran.filled_m3,
        "days_without_room_for_the_storm": ran.storm_room_lacking_days,
        "longest_without_room_for_the_storm_days": ran.longest_lacking_days,
        "times_something_to_hold_came": ran.hold.wanted,
        "times_its_room_was_taken": ran.hold.lacking,
    })
}
