//! The normal distribution: share below a value, and the value below which a share lies.

/// Share of a standard normal distribution below `z`. Hart's rational form as given by West (2005), Wilmott May
/// 2005:70-76 (from memory; compared with an independent error function, within 1e-14). NaN for NaN.
pub fn share_below(z: f64) -> f64 {
    let size = z.abs();
    let tail = if size.is_nan() {
        f64::NAN
    } else if size > 37.0 {
        0.0
    } else {
        let density = (-0.5 * size * size).exp();
        if size < 7.071_067_811_865_47 {
            let top = polynomial(
                size,
                &[
                    3.526_249_659_989_11e-2,
                    0.700_383_064_443_688,
                    6.373_962_203_531_65,
                    33.912_866_078_383,
                    112.079_291_497_871,
                    221.213_596_169_931,
                    220.206_867_912_376,
                ],
            );
            let bottom = polynomial(
                size,
                &[
                    8.838_834_764_831_84e-2,
                    1.755_667_163_182_64,
                    16.064_177_579_207,
                    86.780_732_202_946_1,
                    296.564_248_779_674,
                    637.333_633_378_831,
                    793.826_512_519_948,
                    440.413_735_824_752,
                ],
            );
            density * top / bottom
        } else {
            let fraction = size + 1.0 / (size + 2.0 / (size + 3.0 / (size + 4.0 / (size + 0.65))));
            density / fraction / 2.506_628_274_631
        }
    };
    if z > 0.0 { 1.0 - tail } else { tail }
}

/// The standard normal value below which a share `p` lies. Wichura (1988), Algorithm AS 241. Infinite at 0 and 1,
/// NaN outside.
pub fn value_at_share(p: f64) -> f64 {
    if !(0.0..=1.0).contains(&p) {
        return f64::NAN;
    }
    let q = p - 0.5;
    if q.abs() <= 0.425 {
        let r = 0.180_625 - q * q;
        return q * polynomial(r, &CENTRE_TOP) / polynomial(r, &CENTRE_BOTTOM);
    }
    let edge = if q < 0.0 { p } else { 1.0 - p };
    if edge <= 0.0 {
        return f64::INFINITY.copysign(q);
    }
    let r = (-edge.ln()).sqrt();
    let size = if r <= 5.0 {
        polynomial(r - 1.6, &MIDDLE_TOP) / polynomial(r - 1.6, &MIDDLE_BOTTOM)
    } else {
        polynomial(r - 5.0, &TAIL_TOP) / polynomial(r - 5.0, &TAIL_BOTTOM)
    };
    size.copysign(q)
}

/// Density of the standard normal distribution at `z`.
pub fn density(z: f64) -> f64 {
    (-0.5 * z * z).exp() / (2.0 * std::f64::consts::PI).sqrt()
}

/// Coefficients from the highest power down.
fn polynomial(x: f64, coefficients: &[f64]) -> f64 {
    coefficients.iter().fold(0.0, |sum, c| sum * x + c)
}

const CENTRE_TOP: [f64; 8] = [
    2_509.080_928_730_122_7,
    33_430.575_583_588_13,
    67_265.770_927_008_7,
    45_921.953_931_549_87,
    13_731.693_765_509_46,
    1_971.590_950_306_551_3,
    133.141_667_891_784_38,
    3.387_132_872_796_366_5,
];
const CENTRE_BOTTOM: [f64; 8] = [
    5_226.495_278_852_854,
    28_729.085_735_721_943,
    39_307.895_800_092_71,
    21_213.794_301_586_597,
    5_394.196_021_424_751,
    687.187_007_492_057_9,
    42.313_330_701_600_91,
    1.0,
];
const MIDDLE_TOP: [f64; 8] = [
    0.000_774_545_014_278_341_4,
    0.022_723_844_989_269_184,
    0.241_780_725_177_450_6,
    1.270_458_252_452_368_4,
    3.647_848_324_763_204_5,
    5.769_497_221_460_691,
    4.630_337_846_156_546,
    1.423_437_110_749_683_5,
];
const MIDDLE_BOTTOM: [f64; 8] = [
    1.050_750_071_644_416_9e-9,
    0.000_547_593_808_499_534_5,
    0.015_198_666_563_616_457,
    0.148_103_976_427_480_08,
    0.689_767_334_985_1,
    1.676_384_830_183_803_8,
    2.053_191_626_637_759,
    1.0,
];
const TAIL_TOP: [f64; 8] = [
    2.010_334_399_292_288_1e-7,
    2.711_555_568_743_487_6e-5,
    0.001_242_660_947_388_078_4,
    0.026_532_189_526_576_124,
    0.296_560_571_828_504_87,
    1.784_826_539_917_291_3,
    5.463_784_911_164_114,
    6.657_904_643_501_103,
];
const TAIL_BOTTOM: [f64; 8] = [
    2.044_263_103_389_939_7e-15,
    1.421_511_758_316_446e-7,
    1.846_318_317_510_054_8e-5,
    0.000_786_869_131_145_613_3,
    0.014_875_361_290_850_615,
    0.136_929_880_922_735_8,
    0.599_832_206_555_888,
    1.0,
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_and_values_disagreeing_would_misplace_every_percentile() {
        // Standard normal table, Φ(1.96) = 0.9750 and Φ(−3) = 0.00135 (any printed table).
        assert!((share_below(1.96) - 0.975_002_1).abs() < 1e-7);
        assert!((share_below(-3.0) - 0.001_349_898).abs() < 1e-9);
        assert!((value_at_share(0.9) - 1.281_551_565_544_600_4).abs() < 1e-14);
        for step in -60..=60 {
            let z = f64::from(step) / 10.0;
            let back = value_at_share(share_below(z));
            // Near z = +6 the share itself is stored to 1e-16 only.
            assert!((back - z).abs() < 3e-8, "{z} came back as {back}");
        }
    }

    #[test]
    fn input_that_is_no_share_gives_no_value() {
        assert!(value_at_share(-0.1).is_nan() && value_at_share(f64::NAN).is_nan());
        assert_eq!(value_at_share(0.0), f64::NEG_INFINITY);
        assert_eq!(value_at_share(1.0), f64::INFINITY);
        assert!(share_below(f64::NAN).is_nan());
        assert_eq!(share_below(100.0), 1.0);
    }
}
