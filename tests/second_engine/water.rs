//! Density and viscosity of fresh water at atmospheric pressure, and how fast a grain sinks in it.

/// Standard gravity, m/s² (3rd General Conference on Weights and Measures, 1901).
const GRAVITY: f64 = 9.806_65;

/// Density of water, kg/m³, between 0 and 40 °C.
///
/// Tanaka, Girard, Davis, Peuto and Bignell, "Recommended table for the density of water between 0 °C and 40 °C based on
/// recent experimental reports", Metrologia 38 (2001) 301–309, equation 1: the form of Thiesen with five constants, which
/// are taken from a later source that cites it.
pub fn density_kg_m3(celsius: f64) -> f64 {
    const A1: f64 = -3.983_035;
    const A2: f64 = 301.797;
    const A3: f64 = 522_528.9;
    const A4: f64 = 69.348_81;
    const A5: f64 = 999.974_950;
    let above = celsius + A1;
    A5 * (1.0 - above * above * (celsius + A2) / (A3 * (celsius + A4)))
}

/// Dynamic viscosity of water, Pa·s, between −20 and 110 °C.
///
/// IAPWS SR6-08, "Supplementary release on properties of liquid water at 0.1 MPa", after Pátek, Hrubý, Klomfar,
/// Součková and Harvey, J. Phys. Chem. Ref. Data 38 (2009) 21–29: four powers of T/300 K, in µPa·s. The constants are
/// taken from a later source that cites it.
pub fn viscosity_pa_s(celsius: f64) -> f64 {
    let reduced = (celsius + 273.15) / 300.0;
    let terms = [(280.68, -1.9), (511.45, -7.7), (61.131, -19.6), (0.459_03, -40.0)];
    1e-6 * terms.iter().map(|(a, b)| a * reduced.powf(*b)).sum::<f64>()
}

/// Settling velocity of a natural grain in still water, m/s; none for what is no denser than the water.
///
/// Ferguson and Church, "A simple universal equation for grain settling velocity", J. Sediment. Res. 74 (2004) 933–937:
/// w = R·g·D² / (C₁·ν + √(0.75·C₂·R·g·D³)). C₁ = 18 is Stokes' limit; C₂ = 1.0 is for natural grains by sieve diameter.
/// That this is the default, with these constants, is decided in DEVELOPERS.md ("Physics"). The
/// equation is as the check values quote it.
pub fn settling_velocity_m_s(size_m: f64, density: f64, celsius: f64) -> f64 {
    const C1: f64 = 18.0;
    const C2: f64 = 1.0;
    let water = density_kg_m3(celsius);
    let submerged = (density - water) / water;
    if submerged <= 0.0 {
        return 0.0;
    }
    let kinematic = viscosity_pa_s(celsius) / water;
    let pull = submerged * GRAVITY;
    pull * size_m.powi(2) / (C1 * kinematic + (0.75 * C2 * pull * size_m.powi(3)).sqrt())
}

/// Values by the international equation of state and viscosity formulation (rows W001 to W022 of the check values).
#[test]
fn water_is_as_dense_and_as_thick_as_the_international_tables_say() {
    for (celsius, expected) in
        [(0.0, 999.843085504), (5.0, 999.966633545), (20.0, 998.207150468), (40.0, 992.216352873)]
    {
        let density = density_kg_m3(celsius);
        assert!((density / expected - 1.0).abs() < 2e-6, "{celsius} °C: {density}");
    }
    for (celsius, expected) in
        [(1.0, 0.00173102128553), (15.0, 0.00113756755925), (25.0, 0.000890022489078), (40.0, 0.000652728726577)]
    {
        let viscosity = viscosity_pa_s(celsius);
        assert!((viscosity / expected - 1.0).abs() < 0.002, "{celsius} °C: {viscosity}");
    }
}

/// Domain notes, settling ponds: at 15 °C 10 µm of quartz settles 0.079 mm/s, 10 µm of peat at 1.05 0.0024 mm/s.
#[test]
fn quartz_settles_thirty_times_as_fast_as_peat_of_its_size() {
    for (density, expected, digits) in [(2650.0, 0.079e-3, 0.0005e-3), (1050.0, 0.0024e-3, 5e-8)] {
        let velocity = settling_velocity_m_s(10e-6, density, 15.0);
        assert!((velocity - expected).abs() <= digits, "{density}: {velocity}");
    }
    assert_eq!(settling_velocity_m_s(1e-3, 998.0, 15.0), 0.0);
}
