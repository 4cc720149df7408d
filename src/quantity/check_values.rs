//! Published conversions, by id. Definitions: NIST HB 44 appendix C and SP 811 appendix B (1 gal = 231 in³,
//! 1 in = 25.4 mm, 1 lb = 0.45359237 kg); expected figures computed from these in exact arithmetic unless said.

use super::number::Exact;
use super::{Unit, units as u};
use approx::assert_relative_eq;

fn convert(id: &str, value: f64, from: Unit, to: Unit, expected: f64, tolerance: f64) {
    assert_eq!(from.dimension, to.dimension, "{id}");
    let got = to.from_si(from.to_si_f64(value));
    assert!(
        (got - expected).abs() <= tolerance * expected.abs().max(f64::MIN_POSITIVE),
        "{id}: {got} is not {expected}"
    );
}

#[test]
fn conversions_agree_with_the_published_ones() {
    convert("U001", 1.0, u::GAL_1, u::L, 3.785411784, 1e-9);
    // SP 811 prints 6.309 020 E-05; from memory, not checked against the text.
    convert("U003", 1.0, u::GPM, u::M3_S, 6.30901964e-05, 1e-6);
    convert("U004", 1.0, u::ACRE_FT, u::M_3, 1233.48183755, 1e-9);
    convert("U006", 1.0, u::ACRE_IN, u::M_3, 102.790153129, 1e-9);
    convert("U007", 1.0, u::ACRE_FT, u::GAL_1, 325851.428571, 1e-9);
    // From memory, not checked against the text; exact by definition.
    convert("U009", 1.0, u::LB_1, u::KG, 0.45359237, 1e-9);
    // Also printed in a world factbook's table of conversions: 4,046.856 422 4.
    convert("U010", 1.0, u::ACRE_1, u::M_2, 4046.8564224, 1e-9);
    convert("U012", 1.0, u::MGD, u::M3_S, 0.0438126363889, 1e-9);
    convert("U013", 1.0, u::MGD, u::GPM, 694.444444444, 1e-9);
    convert("U015", 1.0, u::CFS, u::L_S, 28.316846592, 1e-9);
    convert("U016", 1.0, u::FT_3, u::GAL_1, 7.48051948052, 1e-9);
    convert("U018", 15.0, u::GPM_FT2, u::M_H, 36.67125, 1e-9);
    convert("U025", 1.0, u::M_3, u::GAL_1, 264.172052358, 1e-9);
    // Florida Geological Survey SP 31, conversion table.
    convert("U027", 1.0, u::IN, u::MM, 25.4, 1e-9);
    convert("U028", 1000.0, u::GAL_DAY, u::L_DAY, 3785.411784, 1e-9);
    convert("U030", -40.0, u::F, u::C, -40.0, 1e-9);
}

#[test]
fn products_of_units_agree_with_the_published_ones() {
    let one = |unit: Unit| unit.to_si(Exact::whole(1));
    let u019 = one(u::IN) * one(u::FT_2);
    assert_relative_eq!(u::GAL_1.from_si(u019), 0.623376623377, max_relative = 1e-9);
    let u021 = one(u::MG_L) * one(u::MGD);
    assert_relative_eq!(u::LB_DAY.from_si(u021), 8.34540445196, max_relative = 1e-9);
    // U022: 1 mm on 1 ha is 10 m³.
    assert_relative_eq!(25.4 * one(u::MM) * one(u::HA), 254.0, max_relative = 1e-9);
    let u024 = one(u::GAL_1) / one(u::ACRE_1);
    assert_relative_eq!(u024 * one(u::HA) / one(u::L), 9.35395622896, max_relative = 1e-9);
}

#[test]
fn factors_are_exact_not_rounded() {
    // 231 in³ and 43 560 ft² in whole numbers of 25.4 mm and 0.3048 m.
    assert_eq!(231_i128 * 254 * 254 * 254, 3_785_411_784);
    assert_eq!(43_560_i128 * 3048 * 3048, 404_685_642_240);
    assert_eq!(3048_i128 * 3048 * 3048, 28_316_846_592);
}
