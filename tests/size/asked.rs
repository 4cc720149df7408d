//! What is asked around a pond, and what its document says of it: a range of settling pools, its own sludge store, a lesser
//! storm, a gauge read at another hour, a title.

use bywash::sizing::LESS_STORM;

use super::*;

/// What the document of a half year says, and the study that it is of.
fn told(facility: &str, duties: &str, this: bool) -> (String, Study) {
    let (document, _, study) = run::documents(facility, duties, this);
    (document, study)
}

fn without_a_well() -> String {
    // A pond found may be shallower than the present one stands at the start.
    FACILITY
        .replace("at the start: {level: 1 m}", "at the start: {level: 0.4 m}")
        .replace("    filled from: {from: Well, up to: 0.8 m}\n", "")
}

const PLOT: &str = "\
pond: Basin
plot: {longest: 75 m, widest: 40 m, deepest: 3 m, steepest side: 2 to 1, length to width at least: 2 to 1, bank all round: 2 m}
freeboard: 0.5 m
";

const STORM: &str =
    "storm depths: {source: table of the county, depths: [{every: 10 years, lasting: 24 h, depth: 40 mm}]}\n";

/// Of a range the depth of pool is taken that each depth, typed by itself, shows to be the best.
#[test]
fn of_a_range_of_settling_pools_the_one_is_taken_with_which_the_pond_is_the_least() {
    let asked = |pool: &str, least: &str| {
        let duties = format!(
            "{PLOT}settling pool: {pool}\ndetention: {{at least: 24 h, flow: 10 m3/h}}\nclean out: {{no oftener than every: 3 years, dry \
             solids: 10 %}}\nleast: {least}\ncost: {{dug: 8 EUR \
             per m3, lined: 12 EUR per m2}}\nsteps: {{depth: 0.25 m, length: 3 m, width: 2 m}}\n"
        );
        let (document, study) = told(&without_a_well(), &duties, false);
        let objective = match &study.outcome {
            // One that misses a duty once it is typed is taken only where no depth has another.
            Outcome::Pond(answer) if answer.missed_as_typed.is_empty() => study.demands.objective(&answer.found.basin),
            _ => f64::INFINITY,
        };
        (objective, study.demands.pool_m, document)
    };
    let least = "volume";
    let (found, pool_m, document) = asked("0.4 m to 0.62 m", least);
    assert!(document.contains("Its settling pool is "), "{document}");
    // Every tenth of a metre and quarter of a foot, and both ends.
    let quarter = 0.0762;
    let mut depths = vec![0.4, 0.5, 0.6, 0.62];
    depths.extend([6, 7, 8].map(|count| f64::from(count) * quarter));
    let each: Vec<(f64, f64)> = depths.iter().map(|m| (asked(&format!("{m} m"), least).0, *m)).collect();
    let best = each.iter().map(|(objective, _)| *objective).fold(f64::INFINITY, f64::min);
    assert!(best.is_finite() && each.iter().any(|(objective, _)| *objective > best), "{each:?}");
    assert!((found / best - 1.0).abs() < 1e-9, "{found} at {pool_m}, {best} of {each:?}");
    assert!(each.iter().any(|(objective, m)| *objective <= best * (1.0 + 1e-9) && (m - pool_m).abs() < 1e-9));
    // A wider range is an easier question.
    assert!(asked("0.38 m to 0.64 m", least).0 <= found * (1.0 + 1e-9));
}

/// What the site sends to a pond found is what it sends to that pond: its store is the same on every plot, and with `--this`.
#[test]
fn one_pond_has_one_sludge_store_whatever_is_asked_around_it() {
    let store = |study: &Study| match &study.outcome {
        Outcome::Pond(answer) | Outcome::This(answer, _) => (answer.found.basin, answer.stack.sludge_m3),
        Outcome::None(_) => panic!("no pond"),
    };
    let duties = |plot: &str, more: &str| {
        format!(
            "{}settling pool: 0.4 m\nhold: {{return water: 1 day}}\nclean out: {{no oftener than every: 6 years, dry solids: 10 %}}\n\
             {more}least: volume\nsteps: {{depth: 0.5 m, length: 6 m, width: 3 m}}\n",
            PLOT.replace("longest: 75 m, widest: 40 m", plot)
        )
    };
    let (mut same, mut sludge) = (0, 0.0);
    for hours in ["10 h", "30 h"] {
        let detention = format!("detention: {{at least: {hours}, flow: 10 m3/h}}\n");
        let (basin, m3) = store(&told(&without_a_well(), &duties("longest: 75 m, widest: 40 m", &detention), false).1);
        let shape = format!(
            "shape: {{length: {} m, width: {} m, depth: {} m, side slope: 2 to 1",
            basin.length_m, basin.width_m, basin.depth_m
        );
        let built =
            without_a_well().replace("shape: {length: 30 m, width: 15 m, depth: 2 m, side slope: 2 to 1", &shape);
        let (_, stands) = store(&told(&built, &duties("longest: 75 m, widest: 40 m", &detention), true).1);
        assert_relative_eq!(m3, stands, max_relative = 1e-9);
        for plot in ["longest: 110 m, widest: 60 m", "longest: 150 m, widest: 100 m"] {
            let (other, its) = store(&told(&without_a_well(), &duties(plot, &detention), false).1);
            assert!(other.capacity_m3() <= basin.capacity_m3() + 1e-9);
            if other == basin {
                assert_relative_eq!(its, m3, max_relative = 1e-9);
                same += 1;
            }
        }
        sludge += m3;
    }
    assert!(same > 0 && sludge > 0.0, "{same}, {sludge}");
}

/// With a slow pump a storm of 30 mm keeps the pond lower than one of 24 mm, and that spills once more.
#[test]
fn a_lesser_storm_that_keeps_the_pond_fuller_is_told_where_it_spills_oftener() {
    let duties = |mm: f64, from: &str| {
        format!(
            "{PLOT}settling pool: 0.4 m\nstorm: {{every: 10 years, lasting: 24 h, from: {from}, drawdown: {{by: pump, within: 300 h, rate: \
             3 m3/h, to: Ditch}}}}\n{}spills: {{no oftener than: 60 a year}}\nleast: volume\nsteps: {{depth: 2.9 m, length: 60 m, width: \
             25 m}}\n",
            STORM.replace("40 mm", &format!("{mm} mm"))
        )
    };
    let facility = without_a_well().replace("amount: 60 m3/day", "amount: 20 m3/day");
    let (document, study) = told(&facility, &duties(30.0, "the normal level"), false);
    let (_, lesser) = told(&facility, &duties(0.8 * 30.0, "the normal level"), false);
    let (Outcome::Pond(answer), Outcome::Pond(lesser)) = (&study.outcome, &lesser.outcome) else { panic!() };
    assert_eq!(answer.found.basin, lesser.found.basin);
    assert!(lesser.run.spill.spills > answer.run.spill.spills, "{:?} {:?}", lesser.run.spill, answer.run.spill);
    let case = answer.cases.iter().find(|one| one.what == LESS_STORM).expect("the lesser storm");
    assert_eq!(case.run.unwrap().spill, lesser.run.spill);
    assert!(document.contains("The level that is kept is the storm’s own"), "{document}");
    assert!(document.contains("no lower one was tried"), "{document}");
    // With a level of its own it stays, and nothing is told.
    let below = format!("{:.2} m below the spill level", answer.found.basin.depth_m - answer.normal_m + 0.01);
    let (document, study) = told(&facility, &duties(30.0, &below), false);
    let Outcome::Pond(answer) = &study.outcome else { panic!() };
    assert!(answer.cases.iter().all(|one| one.what != LESS_STORM));
    assert!(!document.contains("storm’s own"));
}

/// 55.9 mm, the largest reading, off a hectare with curve number 80: S = 63.5 mm, (55.9 − 12.7)² / (55.9 + 50.8) = 17.5 mm. In
/// days that begin at 1 am a reading of 7 am is a quarter of one and three quarters of the other: 0.0 mm and 9.2 mm.
#[test]
fn a_gauge_read_at_another_hour_than_the_days_begin_is_told_on_page_1_where_a_curve_number_meets_it() {
    let curved = without_a_well()
        .replace("    runs off: 70 % to 80 %\n    first rain soaked up: 1 mm to 2 mm\n", "    curve number: 80\n");
    let duties = format!(
        "{PLOT}settling pool: 0.4 m\nspills: {{no oftener than: 60 a year}}\nleast: volume\nsteps: {{depth: 1 m, length: 20 m, width: 10 m}}\n"
    );
    let early = |facility: &str| facility.replace("day starts: 7 am", "day starts: 1 am");
    let said = |facility: &str| told(facility, &duties, false).0;
    let is_told = said(&early(&curved));
    assert!(is_told.contains("55.9 mm, 92 m³ would run off and not the 175 m³ of one day"), "{is_told}");
    for facility in [curved, early(&without_a_well())] {
        assert!(!said(&facility).contains("a reading is shared by the hour"));
    }
}

#[test]
fn a_document_is_titled_least_pond_only_where_there_is_one_that_does_every_duty() {
    let duties = |hours: f64| {
        format!(
            "{PLOT}settling pool: 0.4 m\ndetention: {{at least: {hours} h, flow: 10 m3/h}}\nleast: volume\nsteps: {{depth: 1 m, length: 20 \
             m, width: 10 m}}\n"
        )
    };
    let (found, _) = told(FACILITY, &duties(2.0), false);
    let (none, study) = told(FACILITY, &duties(2000.0), false);
    assert!(matches!(study.outcome, Outcome::None(_)));
    assert!(found.starts_with("Least pond: Basin\n"), "{found}");
    assert!(none.starts_with("No pond on this plot does every duty: Basin\n"), "{none}");
    // What is carried to another size stands beside what is typed now.
    let said = found;
    assert!(said.contains(" (0.8 m is typed now)") || said.contains("0.80 m (as typed)"), "{said}");
    assert!(said.contains("drawn from no lower than 0.40 m (as typed)"), "{said}");
}
