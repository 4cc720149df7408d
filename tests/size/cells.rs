//! Forebay, emergency spillway and earth of a pond that stands.

use super::*;

/// The yard's basin with ground, forebay and spillway, its sizes all typed.
const CELLS_AND_EARTH: &str = include_str!("../basin_site/cells-and-earth.yaml");

/// A pond that stands, 30 × 15 m at the spill level, 2 m deep, sides 2 to 1, 0.5 m of freeboard: every figure by hand.
#[test]
fn forebay_spillway_and_earth_of_a_pond_that_stands_are_arithmetic_by_hand() {
    let dir = tempfile::tempdir().unwrap();
    site(dir.path(), FACILITY, CELLS_AND_EARTH);
    let pdf = dir.path().join("this.pdf");
    let (this, told) =
        size(dir.path(), &["--this", "Basin", "--period", "1 Nov 2012 to 31 Dec 2012", "-o", pdf.to_str().unwrap()]);
    assert!(fs::read(&pdf).unwrap().starts_with(b"%PDF-"), "{told}");
    // Spillway: 0.2 m³/s over 4 m with 1.6: H = (0.2 / 6.4)^(2/3) = 0.0992 m; 0.5 − 0.1 − 0.0992 m are left.
    let head = (0.2_f64 / 6.4).powf(2.0 / 3.0);
    assert_relative_eq!(number(&this, "/emergency_spillway/head_m"), head, max_relative = 1e-9);
    assert_relative_eq!(number(&this, "/emergency_spillway/freeboard_left_m"), 0.4 - head, max_relative = 1e-9);
    let freeboard = duty(&this, "keep freeboard over the emergency spillway");
    assert_eq!((freeboard["comes_out"].as_str(), number(freeboard, "/asked")), (Some("does it"), 0.3));
    // Earth: the ground 1.9 m above the floor of 22 × 7 m; there the pond is 29.6 × 14.6 m, half-way 25.8 × 10.8 m.
    let cut = 1.9 / 6.0 * (22.0 * 7.0 + 4.0 * 25.8 * 10.8 + 29.6 * 14.6);
    assert_relative_eq!(number(&this, "/earth/cut_m3"), cut, max_relative = 1e-9);
    // Bank top 32 × 17 m inside, 36 × 21 m outside; on the ground 39.6 × 24.6 m. 0.6 m of each, by the frustum's formula.
    let outer = 0.6 / 6.0 * (36.0 * 21.0 + 4.0 * 37.8 * 22.8 + 39.6 * 24.6);
    let inner = 0.6 / 6.0 * (29.6 * 14.6 + 4.0 * 30.8 * 15.8 + 32.0 * 17.0);
    assert_relative_eq!(number(&this, "/earth/fill_m3"), outer - inner, max_relative = 1e-9);
    let left = cut - (outer - inner) / 0.8;
    assert!(left > 0.0);
    assert_relative_eq!(number(&this, "/earth/hauled_loose_m3"), 1.25 * left, max_relative = 1e-9);
    assert_eq!(number(&this, "/earth/brought_loose_m3"), 0.0);
    assert_relative_eq!(number(&this, "/pond_found/over_banks_m/0"), 39.6, max_relative = 1e-12);
    let lined = number(&this, "/pond_found/lined_m2");
    let cost = 8.0 * cut + 5.0 * (outer - inner) + 9.0 * 1.25 * left + 12.0 * lined;
    assert_relative_eq!(number(&this, "/cost"), cost, max_relative = 1e-9);
    // Each price with how much of it there is; together they are the cost.
    let parts = this["cost_of"].as_array().unwrap();
    let by_hand =
        [("dug", cut, 8.0), ("banked", outer - inner, 5.0), ("hauled", 1.25 * left, 9.0), ("lined", lined, 12.0)];
    assert_eq!(parts.len(), by_hand.len(), "{parts:#?}");
    for (part, (what, many, price)) in parts.iter().zip(by_hand) {
        assert_eq!(part["what"], what);
        assert_relative_eq!(number(part, "/quantity"), many, max_relative = 1e-9);
        assert_relative_eq!(number(part, "/comes_to"), price * many, max_relative = 1e-9);
    }
    // Up to the bank top it holds more than is cut of the ground: 22 × 7 m, half-way 27 × 12 m, 32 × 17 m at 2.5 m.
    let to_the_top = 2.5 / 6.0 * (22.0 * 7.0 + 4.0 * 27.0 * 12.0 + 32.0 * 17.0);
    assert_relative_eq!(number(&this, "/pond_found/cut_m3"), cut, max_relative = 1e-9);
    assert_relative_eq!(number(&this, "/pond_found/volume_up_to_bank_top_m3"), to_the_top, max_relative = 1e-9);
    // Forebay: the pool is 0.4 m deep, 23.6 × 8.6 m at its top: half-way 22.8 × 7.8 m, floor 22 × 7 m.
    let pool = 0.4 / 6.0 * (22.0 * 7.0 + 4.0 * 22.8 * 7.8 + 23.6 * 8.6);
    assert_relative_eq!(number(&this, "/forebay/volume_m3"), 0.2 * pool, max_relative = 1e-6);
    // Behind the end's slope, 0.8 m long, the section is 0.4 × 7.8 m; under it a wedge of Σ (8.6 − 2u·2)(…): by the length.
    let length = number(&this, "/forebay/length_m");
    let wedge: f64 = (0..1000)
        .map(|k| {
            let here = (f64::from(k) + 0.5) * 0.8 / 1000.0;
            let deep = here / 2.0;
            (8.6 * deep - 2.0 * deep * deep) * 0.8 / 1000.0
        })
        .sum();
    assert_relative_eq!(wedge + (length - 0.8) * 0.4 * 7.8, 0.2 * pool, max_relative = 1e-5);
    // One stirred tank at 120 m³/h, falling at 0.2718 mm/s.
    let a = 0.2718e-3 * length * 8.6 / (120.0 / 3600.0);
    assert_relative_eq!(number(&this, "/forebay/share_settled"), a / (1.0 + a), max_relative = 2e-3);
    assert_eq!(duty(&this, "have a forebay as large as asked")["comes_out"], "does it");

    // A crest 0.2 m higher leaves 0.2 m less, and what would make it is told: no less than the 0.0992 m that are lacking.
    site(dir.path(), FACILITY, &CELLS_AND_EARTH.replace("spill level: 0.1 m, wide", "spill level: 0.3 m, wide"));
    let (this, _) = size(dir.path(), &["--this", "Basin", "--period", "1 Nov 2012 to 30 Nov 2012"]);
    let freeboard = duty(&this, "keep freeboard over the emergency spillway");
    assert_eq!(freeboard["comes_out"], "does not");
    let lacking = 0.3 - number(freeboard, "/has");
    assert_relative_eq!(lacking, 0.1 + head, max_relative = 1e-9);
    let change = |what: &str| {
        let all = this["changes"].as_array().unwrap();
        number(all.iter().find(|one| one["change"] == what).unwrap_or_else(|| panic!("{what}: {all:#?}")), "/amount")
    };
    for what in ["bank alone higher by", "crest of the emergency spillway lower by"] {
        let amount = change(what);
        assert!(amount >= lacking - 1e-9 && amount < lacking + 0.02, "{what}: {amount} for {lacking}");
    }
}
