//! What could be otherwise, what the present pond does now, and what is said of them.

use bywash::sizing::{Duty, Measure};

use super::run::{HELD, documents};
use super::*;

const UNFILLED: &str = "    filled from: {from: Well, up to: 0.8 m}\n";

/// Steps so wide that a search takes no time.
fn coarse(duties: &str) -> String {
    format!("{duties}steps: {{depth: 0.4 m, length: 8 m, width: 4 m}}\n")
}

/// Runoff of 80 % of a hectare after 1 mm, and the rain on all within the bank top.
fn storm_m3(basin: &Basin, mm: f64) -> f64 {
    10_000.0 * 0.8 * (mm - 1.0) / 1000.0 + mm / 1000.0 * (basin.length_m + 2.0) * (basin.width_m + 2.0)
}

/// The same outlet lets 36 mm out in so much more than 12 h as it has a rate for 30 mm; and the level kept for them is lower.
#[test]
fn a_deeper_storm_is_run_with_the_level_it_leaves_and_with_the_outlet_that_there_is() {
    let facility = FACILITY.replace(UNFILLED, "");
    let (said, _, study) =
        documents(&facility, &coarse(&format!("{HELD}shortage: {{at most: 300 days a year}}\n")), false);
    let Outcome::Pond(answer) = &study.outcome else { panic!() };
    let basin = &answer.found.basin;
    let case = answer.cases.iter().find(|one| one.what == "storm 20 % deeper").unwrap();
    let late = case.fails.iter().find(|check| check.duty == Duty::Drawdown).expect("too late");
    let rate = answer.drawdown_m3_s.unwrap();
    assert_relative_eq!(late.has, storm_m3(basin, 36.0) / rate / 3600.0, max_relative = 1e-9);
    assert!(late.has > 12.0 && late.measure == Measure::Hours, "{late:?}");
    // Less stays to be used where more room is kept free.
    let (as_sized, deeper) = (answer.cases[0].run.unwrap(), case.run.expect("run over the years"));
    assert!(deeper.shortage_days >= as_sized.shortage_days && deeper.let_out_m3 > as_sized.let_out_m3, "{deeper:?}");
    assert!(said.contains("frees the storm’s room too late ("), "{said}");
    // Of a storm that is larger by its ground the same holds.
    let curved = facility
        .replace("    runs off: 70 % to 80 %\n    first rain soaked up: 1 mm to 2 mm\n", "    curve number: 85\n");
    let (_, _, study) = documents(&curved, &coarse(HELD), false);
    let Outcome::Pond(answer) = &study.outcome else { panic!() };
    let case = answer.cases.iter().find(|one| one.what == "curve numbers 5 higher").unwrap();
    assert!(case.fails.iter().any(|check| check.duty == Duty::Drawdown), "{case:?}");
}

/// Room that is free as sized and found taken in a case breaks what is to be held there, whatever else is done.
#[test]
fn a_case_in_which_what_is_to_be_held_finds_no_room_does_not_do_every_duty() {
    let mut told = 0;
    for mm in ["5 mm", "8 mm", "12 mm"] {
        let duties = coarse(&HELD.replace("first rain: 5 mm", &format!("first rain: {mm}")));
        let (_, _, study) = documents(FACILITY, &duties, false);
        let Outcome::Pond(answer) = &study.outcome else { continue };
        if answer.run.hold.lacking > 0 || answer.not_kept().next().is_some() {
            continue;
        }
        for one in &answer.cases {
            let Some(run) = one.run.filter(|run| run.hold.lacking > 0) else { continue };
            told += 1;
            assert!(one.fails.iter().any(|check| check.duty == Duty::Hold), "{}: {run:?}", one.what);
        }
    }
    assert!(told > 0, "no case takes the room");
}

/// Twice 10 mm/h: each part that is runoff, and what falls on the pond, comes twice; what the benches return does not.
#[test]
fn rain_twice_as_hard_at_the_peak_is_in_all_of_its_runoff_and_in_nothing_else() {
    let settle = "settle: {particle: 20 um, density: 2.65 times water, water temperature: 10 C, at least: 20 %, flow: the computed \
                  peak, rain at the peak: 10 mm/h}\ncells: 2\n";
    let floor = HELD.replace("bank all round: 2 m}", "bank all round: 2 m, floor at least: 4 m}");
    let (said, _, study) = documents(FACILITY, &coarse(&format!("{floor}{settle}")), false);
    let Outcome::Pond(answer) = &study.outcome else { panic!() };
    let basin = &answer.found.basin;
    let parts = &study.basics.peak.as_ref().unwrap().parts;
    let sum = |runoff: bool| {
        parts.iter().filter(|part| part.what.starts_with("runoff") == runoff).map(|part| part.m3_s).sum::<f64>()
    };
    assert!(sum(true) > 0.0 && sum(false) > 0.0, "{parts:?}");
    let crest_m2 = (basin.length_m + 2.0) * (basin.width_m + 2.0);
    let flow_m3_s = sum(false) + 2.0 * sum(true) + 2.0 * 0.010 / 3600.0 * crest_m2;
    let area_m2 = basin.area_m2(answer.stack.pool_top_m);
    let settled = 1.0 - (1.0 + study.demands.needs.settling_m_s * area_m2 / (2.0 * flow_m3_s)).powi(-2);
    let case = answer.cases.iter().find(|one| one.what == "rain at the peak twice as hard").unwrap();
    assert_relative_eq!(case.settled.unwrap(), settled, max_relative = 1e-9);
    assert!(said.contains("rain at the peak twice as hard") && said.contains("sides 2.5 to 1"), "{said}");
    // A flow that was typed has no rain in it.
    let typed = settle.replace("the computed peak, rain at the peak: 10 mm/h", "100 m3/h, flow from: pump curve");
    let (_, _, study) = documents(FACILITY, &coarse(&format!("{HELD}{typed}")), false);
    let Outcome::Pond(answer) = &study.outcome else { panic!() };
    assert!(answer.cases.iter().all(|one| one.what != "rain at the peak twice as hard"));
}

/// A well that fills into the room of what is held: filled less high, the present pond does it all. A storm that no level leaves
/// room for is no matter of levels.
#[test]
fn whether_the_present_pond_need_only_be_run_otherwise_is_said_in_words() {
    let filled = FACILITY.replace("up to: 0.8 m", "up to: 1.6 m");
    let (said, _, study) = documents(&filled, &coarse(HELD), false);
    let standing = study.standing.as_ref().unwrap();
    let cure = &standing.cures.as_ref().expect("looked for")[0];
    assert_eq!(cure.what, "filled up to", "{cure:?}");
    assert!(said.contains("It does them all when run so: filled up to "), "{said}");
    // As it is run now it has no outlet before storms: nothing is let out, and more spills over than with it.
    assert_eq!(standing.now.let_out_m3, 0.0);
    assert!(
        standing.now.spill.spilled_m3 > 0.0 && said.contains(" Run as now, without that drawdown, it spills "),
        "{said}"
    );
    assert!(said.contains("\"Present pond\""), "{said}");
    let (said, _, study) = documents(&filled, &coarse(&HELD.replace("depth: 30 mm", "depth: 70 mm")), false);
    assert_eq!(study.standing.as_ref().unwrap().cures, None);
    assert!(said.contains("No other level or pump mends that"), "{said}");
}

/// Of the site's own silt so much settles as each day's flow leaves it time for: at least over the settling pool's top, at most
/// over the spill level. And a method that no figure rests on is not listed.
#[test]
fn page_1_says_what_becomes_of_the_sites_own_solids_and_the_annex_only_the_methods_used() {
    let duties = coarse(&format!("{HELD}clean out: {{no oftener than every: 3 years, dry solids: 10 %}}\n"));
    let (said, annex, study) = documents(FACILITY, &duties, false);
    let Outcome::Pond(answer) = &study.outcome else { panic!() };
    let (sludge, basin) = (&study.demands.needs.sludge, &answer.found.basin);
    let share = |area_m2: f64| {
        let (mut settled, mut came) = (0.0, 0.0);
        for bin in &sludge.bins {
            for (kg, w) in bin.kg_a_year.iter().zip(&sludge.settling_m_s) {
                came += kg;
                settled += kg * (1.0 - 1.0 / (1.0 + w * area_m2 / bin.flow_m3_s));
            }
        }
        settled / came
    };
    let (low, high) = (share(basin.area_m2(answer.stack.pool_top_m)), share(basin.area_m2(basin.depth_m)));
    let words = format!("{:.0} to {:.0} % settle in it", 100.0 * low, 100.0 * high);
    let alike = format!(" {:.0} % settle in it", 100.0 * high);
    assert!(said.contains(&words) || said.contains(&alike), "{words}: {said}");
    for unused in ["Storm runoff, curve number", "Horizontal velocity", "graphical method", "rational method"] {
        assert!(!annex.contains(unused), "{unused}: {annex}");
    }
    assert!(annex.contains("Volume of sludge and days to clean-out"), "{annex}");
}
