//! Rows on permit statistics, results below a limit, and reconciled meters.

use super::row::{DAY, POUND, Row};
use bywash::science::numerics::censored;
use bywash::science::numerics::censored::LabResult;
use bywash::science::numerics::least_squares::{Reconciled, reconcile};
use bywash::science::numerics::permit_statistics as limits;
use uom::si::f64::{MassConcentration, MassRate};
use uom::si::mass_concentration::kilogram_per_cubic_meter;
use uom::si::mass_rate::kilogram_per_second;

fn results(row: &Row) -> Vec<LabResult> {
    let below = row.list("cen");
    row.list("x").into_iter().zip(below).map(|(value, below)| LabResult { value, below: below != 0.0 }).collect()
}

fn reconciled(row: &Row) -> Reconciled {
    let deviations = row.list("s");
    // The standard deviations do not depend on the readings.
    let readings = if row.has("y") { row.list("y") } else { vec![0.0; deviations.len()] };
    let balances: Vec<Vec<f64>> = row.list("A").chunks(deviations.len()).map(<[f64]>::to_vec).collect();
    reconcile(&readings, &deviations, &balances).expect("balances that hold")
}

fn milligrams_per_litre(row: &Row, key: &str) -> MassConcentration {
    MassConcentration::new::<kilogram_per_cubic_meter>(row.number(key) * 1e-3)
}

fn pounds_a_day(load: MassRate) -> f64 {
    load.get::<kilogram_per_second>() * DAY / POUND
}

pub fn value(row: &Row) -> Option<f64> {
    let (cv, share) = (|| row.number("CV"), || row.number("p"));
    match row.quantity.as_str() {
        "tsd_acute_wla_multiplier" => limits::acute_allocation_multiplier(cv(), share()),
        "tsd_chronic_wla_multiplier" => limits::chronic_allocation_multiplier(cv(), share()),
        "tsd_mdl_multiplier" => limits::daily_maximum_multiplier(cv(), share()),
        "tsd_aml_multiplier" => limits::monthly_average_multiplier(cv(), share(), row.whole("n")),
        "reasonable_potential_multiplier" => {
            limits::reasonable_potential_multiplier(row.whole("n"), cv(), row.number("conf"), row.number("upper"))
        }
        "weekly_from_monthly_multiplier" => limits::weekly_from_monthly_multiplier(cv(), row.whole("n")),
        "percent_removal" => limits::percent_removal(row.number("inp"), row.number("out")),
        "arithmetic_mean" => limits::arithmetic_mean(&row.list("x")),
        "geometric_mean" => limits::geometric_mean(&row.list("x")),
        "load_lb_per_day" => Some(pounds_a_day(limits::load_by_834(milligrams_per_litre(row, "conc"), row.flow("Q")))),
        "load_lb_per_day_exact" => Some(pounds_a_day(limits::load(milligrams_per_litre(row, "conc"), row.flow("Q")))),
        "mean_nondetect_substitution" => censored::mean_with_substitution(&results(row), row.number("factor")),
        "ros_mean" => censored::order_statistics(&results(row)).map(|summary| summary.mean),
        "ros_median" => censored::order_statistics(&results(row)).map(|summary| summary.median),
        "ros_sd" => censored::order_statistics(&results(row)).map(|summary| summary.standard_deviation),
        "km_mean" => censored::kaplan_meier_mean(&results(row)),
        "mle_lognormal_mean" => censored::lognormal_likelihood_mean(&results(row)),
        "reconcile_wls" => reconciled(row).flows.get(row.whole("k") as usize).copied(),
        "reconcile_chi2" => Some(reconciled(row).chi_square),
        "reconciled_sd" => reconciled(row).standard_deviations.get(row.whole("k") as usize).copied(),
        _ => None,
    }
}
