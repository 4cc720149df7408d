//! Records of the water room: density and viscosity.

use crate::science::{Method, Standing};

/// All records of this file.
pub static ALL: &[&Method] = &[&DENSITY, &DYNAMIC_VISCOSITY, &VISCOSITY_R12_08, &VISCOSITY_VOGEL];

/// Density of water by temperature.
pub static DENSITY: Method = Method {
    id: "water-density",
    name: "Density of water (Tanaka and others, CIPM)",
    equation: "ρ = 999.974950 (1 − (t − 3.983035)² (t + 301.797)/(522528.9 (t + 69.34881)))",
    symbols: &[("ρ", "density of air-free water at one atmosphere", "kg/m³"), ("t", "temperature", "°C")],
    valid_range: "0 to 40 °C",
    outside: "water temperature outside 0 to 40 °C: the density is the equation's own answer, not checked there",
    source: "Tanaka and others (2001), Metrologia 38:301-309, recommended by the CIPM; coefficients seen in public documentation; compared with IAPWS-95 from 0 to 40 °C (agrees within 2e-6)",
    standing: Standing::SeenElsewhere,
};

/// Viscosity of water by temperature.
pub static DYNAMIC_VISCOSITY: Method = Method {
    id: "water-viscosity",
    name: "Viscosity of liquid water at 0.1 MPa (IAPWS supplementary release)",
    equation: "µ = 1e-6 (280.68 θ^(−1.9) + 511.45 θ^(−7.7) + 61.131 θ^(−19.6) + 0.45903 θ^(−40)), θ = T/300",
    symbols: &[("µ", "dynamic viscosity", "Pa·s"), ("T", "absolute temperature", "K")],
    valid_range: "0 to 40 °C",
    outside: "water temperature outside 0 to 40 °C: the viscosity is the equation's own answer, not checked there",
    source: "Pátek and others (2009), J. Phys. Chem. Ref. Data 38:21-29 (IAPWS SR6-08); coefficients seen in public code that cites it; compared with IAPWS R12-08 from 0 to 40 °C (agrees within 0.1 %)",
    standing: Standing::SeenElsewhere,
};

/// The full viscosity formulation in density and temperature.
pub static VISCOSITY_R12_08: Method = Method {
    id: "water-viscosity-iapws-r12-08",
    name: "Viscosity of water by density and temperature (IAPWS R12-08)",
    equation: "µ = 1e-6 · 100 √θ / Σ(i) H(i)/θ^i · exp(δ Σ(i) (1/θ − 1)^i Σ(j) H(i,j) (δ − 1)^j), θ = T/647.096, δ = ρ/322",
    symbols: &[
        ("µ", "dynamic viscosity, critical enhancement left out", "Pa·s"),
        ("T", "absolute temperature", "K"),
        ("ρ", "density", "kg/m³"),
        ("H(i), H(i,j)", "coefficients of the release's tables 1 and 2", "-"),
    ],
    valid_range: "liquid water, 0 to 100 °C, density 900 to 1,200 kg/m³",
    outside: "state outside liquid water of 0 to 100 °C: the viscosity is the equation's own answer",
    source: "IAPWS R12-08 (2008), tables 1 and 2; compared with its verification table 4 to ten digits",
    standing: Standing::FromMemory,
};

/// A short fit often printed in handbooks.
pub static VISCOSITY_VOGEL: Method = Method {
    id: "water-viscosity-vogel",
    name: "Viscosity of water, Vogel-type fit",
    equation: "µ = 2.414e-5 · 10^(247.8/(T − 140))",
    symbols: &[("µ", "dynamic viscosity", "Pa·s"), ("T", "absolute temperature", "K")],
    valid_range: "0 to 100 °C; misses measured values by up to 0.7 %",
    outside: "water temperature outside 0 to 100 °C: the viscosity is the fit's own answer",
    source: "fit seen on a public page of engineering properties; kept to read older calculations, not used by the ledger",
    standing: Standing::Seen,
};
