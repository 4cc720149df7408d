//! From the unit of a record to the unit of a limit, exactly.

use uom::si::area::square_meter;
use uom::si::f64::Area;

use crate::files::Given;
use crate::quantity::{Dimension, Exact, Unit, meter_unit, units};
use crate::rules::{Bound, Interval, LoadFactor, Number};

impl From<Exact> for Number {
    fn from(exact: Exact) -> Self {
        Self::quotient(exact.numerator, exact.denominator)
    }
}

/// The factor of a unit to SI.
pub(crate) fn factor(unit: &Unit) -> Number {
    Number::from(unit.factor())
}

/// A typed number in one unit as a number in another; none where they measure different things. Two numbers without a
/// unit (a pH, a count) are the same.
pub(crate) fn between(number: Number, from: Option<&Unit>, to: Option<&Unit>) -> Option<Number> {
    match (from, to) {
        (None, None) => Some(number),
        (Some(from), Some(to)) if from.dimension == to.dimension => {
            let hundredth = |offset: i128| Number::quotient(offset, 100);
            let si = number.plus(hundredth(from.offset_hundredths)).times(factor(from));
            Some(si.over(factor(to))?.minus(hundredth(to.offset_hundredths)))
        }
        _ => None,
    }
}

/// Words that say that a parameter has no unit.
const NO_UNIT: [&str; 6] = ["", "su", "s.u.", "ph", "standard units", "-"];

/// The unit of a record, as written: none for a number without one; an error for a word that is no unit.
pub(crate) fn written_unit(text: Option<&str>) -> Result<Option<Unit>, String> {
    let text = text.unwrap_or("").trim();
    if NO_UNIT.iter().any(|none| none.eq_ignore_ascii_case(text)) {
        return Ok(None);
    }
    units::named(text).map(Some).ok_or_else(|| text.to_owned())
}

/// Cubic metres of a count of a unit that a meter counts in; none where either is not understood.
pub(crate) fn counted_m3(counts: &str, unit: &str) -> Option<Number> {
    let unit = meter_unit(unit).ok()?;
    Some(Number::parse(counts)?.times(Number::from(unit.multiplier)).times(factor(&unit.unit)))
}

const SECONDS_A_DAY: Number = Number::whole(86_400);

/// What a volume (m³) or a mass (kg) moved over days is in the limit's unit: a volume, an amount a day, a depth on an
/// area, a mass, a mass on an area. None where the limit's unit is none of these or the area is missing.
pub(crate) fn amount_factor(bound: &Bound, area: Option<&Given<Area>>) -> Option<Interval> {
    let unit = bound.unit.as_ref()?;
    let plain = Number::whole(1).over(factor(unit))?;
    let on_area = || {
        let (low, high) = area?.ends()?;
        let per = |area: Area| Number::computed(area.get::<square_meter>()).settled();
        Some(Interval::between(plain.over(per(high))?, plain.over(per(low))?))
    };
    let per_day = |factor: Interval| factor.scaled(Number::whole(1).over(SECONDS_A_DAY).unwrap_or(Number::ZERO));
    match unit.dimension {
        Dimension::Volume | Dimension::Mass => Some(Interval::exactly(plain)),
        Dimension::Flow | Dimension::MassRate => Some(per_day(Interval::exactly(plain))),
        Dimension::Length | Dimension::ArealMass => on_area(),
        Dimension::Speed => on_area().map(per_day),
        _ => None,
    }
}

/// From SI concentration (kg/m³) × volume (m³) to kg, under the permit's factor. mg/L × million gallons × 8.34 stands
/// for the exact 8.345404: it is the user's choice, and the finding says which was taken.
pub(crate) fn load_factor(rule: LoadFactor) -> Number {
    match rule {
        LoadFactor::Exact => Number::whole(1),
        LoadFactor::Rule834 => {
            // kg in one mg/L × 1e6 gal, exactly 3.785411784; and what 8.34 lb are.
            let exact = Number::quotient(3_785_411_784, 1_000_000_000);
            let printed = Number::quotient(834, 100).times(factor(&units::LB_1));
            printed.over(exact).unwrap_or(Number::whole(1))
        }
    }
}

#[cfg(test)]
mod tests {
    use approx::assert_relative_eq;

    use super::*;

    fn n(text: &str) -> Number {
        Number::parse(text).unwrap()
    }

    fn pounds(mg_l: &str, mgd: &str, rule: LoadFactor) -> f64 {
        let concentration = between(n(mg_l), Some(&units::MG_L), Some(&units::KG_M3)).unwrap();
        let volume = n(mgd).times(factor(&units::MIL_GAL));
        let mass = concentration.times(volume).times(load_factor(rule));
        mass.over(factor(&units::LB_1)).unwrap().to_f64()
    }

    /// P073, P075, P076, P078: printed exercises of mg/L × MGD × 8.34.
    #[test]
    fn a_load_by_the_permits_8_34_is_what_operators_work_out() {
        for (mg_l, mgd, expected) in
            [("15", "1.5", 187.65), ("275", "6.34", 14540.79), ("350", "6.34", 18506.46), ("210", "1.55", 2714.67)]
        {
            assert_relative_eq!(pounds(mg_l, mgd, LoadFactor::Rule834), expected, max_relative = 2e-4);
        }
        assert_relative_eq!(pounds("15", "1.5", LoadFactor::Rule834), 187.65, max_relative = 1e-14);
    }

    /// P079 (exact factor), and 25 mg/L in 20,000 gal a day: 4.17 lb, 1.89 kg.
    #[test]
    fn an_exact_load_differs_from_8_34_in_the_fourth_digit() {
        assert_relative_eq!(pounds("30", "0.05", LoadFactor::Exact), 12.518106678, max_relative = 1e-9);
        assert_relative_eq!(pounds("25", "0.02", LoadFactor::Exact), 4.17, max_relative = 1e-3);
    }

    #[test]
    fn units_convert_exactly_and_only_among_their_own_kind() {
        assert_eq!(between(n("50"), Some(&units::UG_L), Some(&units::MG_L)), Some(n("0.05")));
        assert_eq!(between(n("68"), Some(&units::F), Some(&units::C)), Some(n("20")));
        assert_eq!(between(n("20"), Some(&units::NTU), Some(&units::MG_L)), None);
        assert_eq!(between(n("6.1"), None, None), Some(n("6.1")));
        assert_eq!(counted_m3("15040", "gal").unwrap().over(factor(&units::GAL_1)), Some(n("15040")));
        assert_eq!(counted_m3("15", "100 ft3").unwrap().over(factor(&units::FT_3)), Some(n("1500")));
        assert!(written_unit(Some("mg/l")).unwrap().is_some());
        assert!(written_unit(Some("s.u.")).unwrap().is_none());
        assert!(written_unit(Some("furlongs")).is_err());
    }
}
