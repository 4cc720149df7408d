//! A pond that a supply fills and an outlet draws down: whose room is free, and how fast the outlet has to be.

use bywash::facility::model::UnitSystem;
use bywash::report::basin::{BasinCase, annex, document};
use bywash::sizing::{Change, Comes, Duty, typed_fill_level_m};

use super::*;

pub(super) const HELD: &str = "\
pond: Basin
plot: {longest: 75 m, widest: 40 m, deepest: 3 m, steepest side: 2 to 1, length to width at least: 2 to 1, bank all round: 2 m}
freeboard: 0.5 m
settling pool: 0.4 m
hold: {first rain: 5 mm}
storm: {every: 10 years, lasting: 24 h, from: the normal level, drawdown: {by: outlet, within: 12 h, to: Ditch, down to: the foot of what is held}}
storm depths: {source: table of the county, depths: [{every: 10 years, lasting: 24 h, depth: 30 mm}]}
least: volume
cost: {dug: 8 EUR per m3, lined: 12 EUR per m2}
";

fn this(facility: &str, duties: &str) -> (Study, Vec<Change>) {
    let dir = tempfile::tempdir().unwrap();
    site(dir.path(), facility, duties);
    let study = half_year(dir.path(), true);
    let Outcome::This(_, changes) = &study.outcome else { panic!() };
    let changes = changes.clone();
    (study, changes)
}

fn comes(study: &Study, duty: Duty) -> Comes {
    let Outcome::This(answer, _) = &study.outcome else { panic!() };
    answer.checks.iter().find(|check| check.duty == duty).unwrap().comes
}

/// The well fills up to half a metre over the foot of what is held, and the outlet takes more in a day than it gives.
#[test]
fn room_that_a_well_fills_again_is_not_free_and_nothing_printed_leaves_it_so() {
    let filled = |m: f64| FACILITY.replace("up to: 0.8 m", &format!("up to: {m:.3} m"));
    let (study, _) = this(&filled(0.5), HELD);
    let Outcome::This(answer, _) = &study.outcome else { panic!() };
    let foot_m = study.demands.hold_foot_m(&answer.found.basin);
    assert!(foot_m > 0.6 && !answer.run.filled_into_hold, "{foot_m}");
    let (study, changes) = this(&filled(foot_m + 0.02), HELD);
    assert_eq!(comes(&study, Duty::Hold), Comes::NotKept);
    assert!(changes.iter().any(|change| change.what == "filled up to" && change.amount.is_some()), "{changes:#?}");
    for held in changes.iter().filter_map(|change| change.with.as_ref()) {
        assert!(!held.run.filled_into_hold, "{held:#?}");
    }
    // A shape that is searched for is not filled so high, nor with the level that is typed for it.
    let dir = tempfile::tempdir().unwrap();
    site(dir.path(), &filled(1.9), HELD);
    let study = half_year(dir.path(), false);
    let Outcome::Pond(answer) = &study.outcome else { panic!() };
    let (facility, ..) = read(dir.path());
    let pond = facility.find("Basin").unwrap();
    for (system, typed) in [(UnitSystem::Us, answer.typed.us), (UnitSystem::Metric, answer.typed.metric)] {
        let m = typed_fill_level_m(&facility, pond, &study.demands, (&answer.found.basin, &typed), system).unwrap();
        assert!(m <= study.demands.hold_foot_m(&typed) + 1e-9, "{m} in {system:?}");
    }
    assert!(!answer.run.filled_into_hold && answer.run.hold.lacking == 0);
}

/// Whatever rate is typed, the cure is the slowest that holds by the run: a step less does not.
#[test]
fn the_drawdown_that_does_it_is_the_least_whatever_is_typed() {
    let facility = FACILITY.replace("    filled from: {from: Well, up to: 0.8 m}\n", "");
    let with =
        |rate: f64| HELD.replace("within: 12 h, to: Ditch", &format!("within: 120 h, rate: {rate:.1} m3/h, to: Ditch"));
    let least = |rate: f64| {
        let (_, changes) = this(&facility, &with(rate));
        let of = changes.iter().find(|change| change.what == "the drawdown’s `rate:` at");
        let Some(Amount::Flow(m3_s)) = of.and_then(|change| change.amount) else { panic!("{rate}: {changes:#?}") };
        m3_s * 3600.0
    };
    let cure = least(0.5);
    assert_relative_eq!(least(1.5), cure, max_relative = 1e-9);
    let does = |rate: f64| {
        let (study, _) = this(&facility, &with(rate));
        let Outcome::This(answer, _) = &study.outcome else { panic!() };
        answer.checks.iter().all(|check| matches!(check.comes, Comes::Done | Comes::TooFewYears))
    };
    assert!(does(cure), "{cure}");
    assert!(!does(cure - if cure > 20.0 { 1.0 } else { 0.1 }), "{cure}");
}

/// A bank raised by h on level ground: as wide on top, outside as steep as inside, with its corners. By Pappus and Guldin the
/// section h × (b + s h) goes once round at its middle, s h + b / 2 out from the crest.
#[test]
fn a_raised_bank_is_heaped_with_its_outer_side_and_its_corners() {
    let facility = FACILITY.replace("    filled from: {from: Well, up to: 0.8 m}\n", "");
    let (_, changes) = this(&facility, &HELD.replace("depth: 30 mm", "depth: 70 mm"));
    let raised = changes.iter().find(|change| change.what.starts_with("bank and spill level")).unwrap();
    let Some(Amount::Length(h)) = raised.amount else { panic!("{changes:#?}") };
    // Crest 32 × 17 m inside, bank 2 m wide, sides 2 to 1.
    let out = 2.0 * h + 1.0;
    let heaped = h * (2.0 + 2.0 * h) * (2.0 * (32.0 + 17.0) + 8.0 * out);
    assert_relative_eq!(raised.earth_m3.unwrap(), heaped, max_relative = 1e-9);
}

/// Everything that the document of a site says.
fn said(facility: &str, duties: &str, this: bool) -> String {
    documents(facility, duties, this).0
}

/// Everything that the document and its annex say, and the study that they are of.
pub(super) fn documents(facility: &str, duties: &str, this: bool) -> (String, String, Study) {
    let dir = tempfile::tempdir().unwrap();
    site(dir.path(), facility, duties);
    let study = half_year(dir.path(), this);
    let (facility, weather, period, _) = read(dir.path());
    let case = BasinCase {
        study: &study,
        facility: &facility,
        pond: facility.find("Basin").unwrap(),
        not_built: false,
        weather: &weather,
        period,
        present: None,
        log: &[],
        files: &[],
        digest: "",
        warnings: &[],
    };
    let words = |doc: bywash::page::document::Document| {
        format!("{}\n{:?}", doc.title, doc.blocks).replace("\\u{a0}", " ").replace("\\u{202f}", " ")
    };
    (words(document(&case)), words(annex(&case)), study)
}

/// 0.2 m³/s over 4 m with 1.6 stands 0.0992 m high: of 0.5 m over a crest at 0.3 m, 0.1008 m are left and 0.3 m asked.
#[test]
fn a_refusal_for_the_spillway_alone_says_what_is_lacking_and_what_mends_it() {
    let duties = include_str!("../basin_site/cells-and-earth.yaml")
        .replace("spill level: 0.1 m, wide", "spill level: 0.3 m, wide");
    let duties = format!("{duties}steps: {{depth: 0.5 m, length: 10 m, width: 5 m}}\n");
    let said = said(FACILITY, &duties, false);
    for words in ["It fails by the same whatever the shape.", "0.20 m short", "`freeboard: 0.70 m` mends it"] {
        assert!(said.contains(words), "{words}: {said}");
    }
    assert!(!said.contains("was ruled out") && !said.contains("(c)"), "{said}");
}

#[test]
fn what_is_said_of_rooms_and_levels_is_there() {
    // 2 384 m³ of storm run off to a pond of 583 m³.
    let facility = FACILITY.replace("    filled from: {from: Well, up to: 0.8 m}\n", "");
    let nowhere = said(&facility, &HELD.replace("depth: 30 mm", "depth: 300 mm"), true);
    assert!(nowhere.contains("Under the storm, which fits from no level, there is no room for"), "{nowhere}");
    assert!(!nowhere.contains("above 0.00 m"), "{nowhere}");
    // Nothing draws from it but the pump before storms, which stops higher.
    let undrawn =
        facility.replace("takes from: Basin", "takes from: Well").replace("    lowest pump level: 0.4 m\n", "");
    let pumped = said(&undrawn, &HELD.replace("by: outlet", "by: pump"), true);
    assert!(pumped.contains("top of settling pool") && !pumped.contains("lowest pump level"), "{pumped}");
    // A pond that is sized says where the present one is held against its duties.
    let sized = said(&facility, HELD, false);
    assert!(sized.contains("`bywash size … --this \\\"Basin\\\"`"), "{sized}");
    assert!(sized.contains("The present pond does "), "{sized}");
    assert!(!sized.contains("The annex"), "{sized}");
}

/// Ten cubic metres a day for the benches, of which 35 % come back; wash water beside it.
fn with_a_filter(takes_from: &str, washes_to: &str) -> String {
    let filter = format!(
        "filters:
  Sand:
    kind: shallow media bed
    vessels: 2
    diameter: 1 m
    media: [{{kind: silica sand, depth: 400 mm, grains: 0.9 mm, voids: 42 %}}]
    takes from: {takes_from}
    washes: {{by: log, or every: 24 h}}
    one wash: {{rate: 12 m3/h, lasts: 10 min, each: vessel}}
    washed with: its own filtered water
    wash water to: {washes_to}
    one wash removes: 90 %
    stops: {{100 um: 95 %, 30 um: 50 %, 5 um: 5 %}}
tanks:
  Sump: {{holds: 3 m3, at the start: {{holding: 3 m3}}, overflows to: Basin}}
  Header: {{holds: 30 m3, at the start: {{holding: 30 m3}}, filled from: {{from: Basin, up to: 30 m3}}, overflows to: Ditch}}
ponds:
"
    );
    FACILITY
        .replace("amount: 60 m3/day", "amount: 10 m3/day")
        .replace("takes from: Basin", "takes from: Sand")
        .replace("ponds:\n", &filter)
}

/// Wash water that was drawn from the pond fills nothing on the day that it comes back, straight or over a tank.
#[test]
fn wash_water_that_circulates_is_not_held_by_whichever_way_it_comes_back() {
    let duties =
        HELD.replace("hold: {first rain: 5 mm}", "hold: {return water: 1 day, wash water: 1 day, first rain: 5 mm}");
    let held = |takes_from: &str, washes_to: &str| {
        let (study, _) = this(&with_a_filter(takes_from, washes_to), &duties);
        let most = |of: Option<bywash::sizing::Greatest>| of.map_or(0.0, |most| most.m3);
        (most(study.basics.returned), most(study.basics.washed))
    };
    // Two vessels of 2 m³ a day.
    for (takes_from, washes_to) in [("Basin", "Basin"), ("Basin", "Sump"), ("Header", "Basin"), ("Header", "Sump")] {
        let (returned, washed) = held(takes_from, washes_to);
        assert_relative_eq!(returned, 3.5, max_relative = 1e-6);
        assert!(washed < 1e-9, "{takes_from} to {washes_to}: {washed}");
    }
    // The well's water comes anew.
    let (returned, washed) = held("Well", "Basin");
    assert_relative_eq!(returned, 3.5, max_relative = 1e-6);
    assert_relative_eq!(washed, 4.0, max_relative = 1e-6);
    let (returned, _) = held("Well", "Sump");
    assert_relative_eq!(returned, 7.5, max_relative = 1e-6);
}

/// What a drawdown takes: 30 mm of storm less 1 mm off 80 % of a hectare, and on the 32 × 17 m within the bank top.
#[test]
fn how_long_a_drawdown_takes_stands_on_page_1_and_in_a_row_of_its_own_beside_what_is_asked() {
    let storm: f64 = 10_000.0 * 0.8 * 0.029 + 0.03 * 32.0 * 17.0;
    let typed = HELD.replace("within: 12 h", &format!("within: 12 h, rate: {:.3} m3/h", storm / 8.0));
    let said = said(FACILITY, &typed, true);
    let words = format!("Letting out {storm:.0} m³ at 31.0 m³/h takes 8.0 h (");
    assert!(said.contains("; at most 12 h is asked"), "{said}");
    assert_eq!(said.matches(words.trim_end_matches("31.0 m³/h takes 8.0 h (")).count(), 2, "{words}: {said}");
    assert_eq!(said.matches(" takes 8.0 h (").count(), 2, "{said}");
    assert!(!said.contains("free again within"), "{said}");
}

/// A filter stuck in wash brings 12 m³/h beside the 120 m³/h that a duty is asked at: the water stays 120/132 as long.
#[test]
fn a_filter_stuck_in_wash_is_held_against_every_duty_of_a_flow() {
    let stuck = |hours: f64| {
        let duties = format!("{HELD}detention: {{at least: {hours:.6} h, flow: 120 m3/h}}\n");
        let (study, _) = this(&with_a_filter("Well", "Basin"), &duties);
        let Outcome::This(answer, _) = &study.outcome else { panic!() };
        let stays = answer.checks.iter().find(|check| check.duty == Duty::Detention).unwrap().has;
        let case = answer.cases.iter().find(|one| one.what == "a filter stuck in wash").expect("stuck");
        (stays, case.fails.clone())
    };
    let (stays, fails) = stuck(0.01);
    assert!(stays > 0.02 && fails.is_empty(), "{fails:?}");
    assert!(stuck(0.9 * stays).1.is_empty());
    let (_, fails) = stuck(0.95 * stays);
    assert_eq!(fails.iter().map(|check| check.duty).collect::<Vec<_>>(), [Duty::Detention]);
    assert_relative_eq!(fails[0].has, stays * 120.0 / 132.0, max_relative = 1e-9);
}

/// `75 m` after some words.
fn metres(words: &str, after: &str) -> f64 {
    let at = words.find(after).unwrap_or_else(|| panic!("{after}: {words}")) + after.len();
    words[at..].split(' ').next().unwrap().parse().unwrap()
}

#[test]
fn page_1_says_what_the_plot_has_left_each_price_and_what_is_loose() {
    let duties = include_str!("../basin_site/cells-and-earth.yaml");
    let duties = format!("{duties}steps: {{depth: 0.5 m, length: 10 m, width: 5 m}}\n");
    let (said, annex, study) = documents(FACILITY, &duties, false);
    let Outcome::Pond(answer) = &study.outcome else { panic!() };
    let (long, wide) = (metres(&said, "over the banks it takes "), metres(&said, "which leaves "));
    assert!((75.0 - long - wide).abs() < 1e-6, "{long} and {wide} of 75 m");
    for words in [
        " loose are lacking and brought",
        ", which take ",
        "8 EUR per m³ dug, 5 EUR per m³ banked, 22 EUR per m³ brought and 12 EUR per m² lined",
        "What it costs",
        "in the annex under “Size against duties”",
    ] {
        assert!(said.contains(words), "{words}: {said}");
    }
    assert!(answer.curve.len() > 1 && annex.contains("Times as long and wide"));
}

/// More hours to free the storm's room ask for no larger pond: the drawdown is as fast as it takes, and what a slower one would
/// ask for is said.
#[test]
fn a_drawdown_that_nobody_typed_is_as_fast_as_its_pond_needs_and_that_is_said() {
    let asked = |within: &str| {
        let drawdown = format!("room on at least: 90 %, drawdown: {{by: pump, within: {within}, to: Ditch, down");
        let duties = HELD.replace("drawdown: {by: outlet, within: 12 h, to: Ditch, down", &drawdown);
        let duties = duties.replace("depth: 30 mm", "depth: 25 mm");
        format!(
            "{duties}detention: {{at least: 2 h, flow: 36 m3/h}}\nsteps: {{depth: 0.4 m, length: 8 m, width: 4 m}}\n"
        )
    };
    let (said, _, study) = documents(FACILITY, &asked("96 h"), false);
    let Outcome::Pond(answer) = &study.outcome else { panic!() };
    let (m3, in_time) = (answer.found.basin.capacity_m3(), answer.in_time.unwrap());
    assert!(answer.drawdown_m3_s.unwrap() > in_time.m3_s);
    assert!(in_time.least.unwrap().capacity_m3() > 1.1 * m3, "{in_time:?} after {m3}");
    for words in ["It takes a drawdown of ", "would free the storm’s room in 96 h", "the least pond would hold "] {
        assert!(said.contains(words), "{words}: {said}");
    }
    // The benches draw it down to 0.4 m: that water is not counted on.
    assert!(said.contains("up to 0.40 m, the level down to which it may be drawn"), "{said}");
    let (.., sooner) = documents(FACILITY, &asked("48 h"), false);
    let Outcome::Pond(sooner) = &sooner.outcome else { panic!() };
    assert!(m3 <= sooner.found.basin.capacity_m3());
    // Typed, it is that rate and no other.
    let rate_m3_h = in_time.m3_s * 3600.0;
    let typed = asked("96 h").replace("within: 96 h", &format!("within: 96 h, rate: {rate_m3_h:.4} m3/h"));
    let (said, _, typed) = documents(FACILITY, &typed, false);
    let Outcome::Pond(answer) = &typed.outcome else { panic!() };
    assert!(answer.found.basin.capacity_m3() > 1.1 * m3 && !said.contains("It takes a drawdown of "), "{said}");
}

/// 10 mm/h fall on all within the bank top and run through with the rest.
#[test]
fn rain_on_the_pond_is_part_of_the_computed_peak_and_of_its_table() {
    let settle = "settle: {particle: 20 um, density: 2.65 times water, water temperature: 10 C, at least: 20 %, flow: the computed \
                  peak, rain at the peak: 10 mm/h}\noverflow rate: {at most: 2 mm/s}\ncells: 2\nsteps: {depth: 0.4 m, length: 8 m, \
                  width: 4 m}\n";
    let (said, _, study) = documents(FACILITY, &format!("{HELD}{settle}"), false);
    let Outcome::Pond(answer) = &study.outcome else { panic!() };
    let basin = &answer.found.basin;
    let crest_m2 = (basin.length_m + 2.0) * (basin.width_m + 2.0);
    let flow_m3_s = study.basics.peak.as_ref().unwrap().m3_s() + 0.010 / 3600.0 * crest_m2;
    let area_m2 = basin.area_m2(answer.stack.pool_top_m);
    let has = |duty: Duty| answer.checks.iter().find(|check| check.duty == duty).unwrap().has;
    assert_relative_eq!(has(Duty::OverflowRate), flow_m3_s / area_m2, max_relative = 1e-9);
    let settled = 1.0 - (1.0 + study.demands.needs.settling_m_s * area_m2 / (2.0 * flow_m3_s)).powi(-2);
    assert_relative_eq!(has(Duty::Settle), settled, max_relative = 1e-9);
    assert!(said.contains("Basin itself") && said.contains("m² within its bank top"), "{said}");
    assert!(!said.contains("Left out: rain on the pond"), "{said}");
}
