//! What becomes of the site's own solids, of which a particle that was named says nothing.

use crate::compare::years_of_days;
use crate::page::document::figures::{number, with_unit};
use crate::report::basin::BasinCase;
use crate::sizing::Answer;

/// `Of the site’s own solids 32 to 36 % settle in it`: with the water surface where it is least, and
/// where it is most.
pub(super) fn kept(case: &BasinCase, answer: &Answer) -> Option<String> {
    let (demands, basin) = (&case.study.demands, &answer.found.basin);
    let came = &demands.needs.sludge;
    let kg = came.dry_kg_a_year();
    if kg <= 0.0 {
        return None;
    }
    let shares = [demands.settling_area_m2(basin), basin.area_m2(basin.depth_m)]
        .map(|area_m2| came.settled_kg_a_year(area_m2, demands.cells) / kg);
    let m3_a_year = answer.run.inflow_m3 / years_of_days(answer.run.spill.days as f64);
    let left = (m3_a_year > 0.0).then(|| {
        let [most, least] = shares.map(|share| 1000.0 * kg * (1.0 - share) / m3_a_year);
        format!(", and {} stay in the water (computed, no proof of any limit)", between(least, most, "mg/L"))
    });
    let [low, high] = shares;
    Some(format!(
        "Of the site’s own solids {} settle in it{}.",
        between(100.0 * low, 100.0 * high, "%"),
        left.unwrap_or_default()
    ))
}

/// `32 to 36 %`; one figure where both print alike.
fn between(low: f64, high: f64, unit: &str) -> String {
    let digits = u8::from(high < 10.0);
    if number(low, digits) == number(high, digits) {
        return with_unit(high, digits, unit);
    }
    format!("{} to {}", number(low, digits), with_unit(high, digits, unit))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_figures_that_print_alike_are_one() {
        assert_eq!(between(32.2, 35.6, "%"), "32 to 36\u{a0}%");
        assert_eq!(between(35.6, 36.2, "%"), "36\u{a0}%");
        assert_eq!(between(4.25, 9.5, "mg/L"), "4.2 to 9.5\u{a0}mg/L");
    }
}
