use super::*;
use crate::files::{Source, yaml};
use crate::science::hydrology::RainfallType;
use crate::sizing::Terms;
use crate::sizing::{Basin, Demands, Needs};
use approx::assert_relative_eq;

#[test]
fn a_slope_the_wrong_way_round_is_asked_about_and_a_colon_is_read() {
    let plot = |side: &str| {
        duties(&format!(
            "plot: {{longest: 20 m, widest: 8 m, deepest: 2 m, steepest side: {side}}}\nfreeboard: 0.3 m\nleast: volume\nclean out: {{no oftener than every: 8 years}}\n"
        ))
    };
    for side in ["3:1", "3 to 1", "6 to 2"] {
        assert_relative_eq!(plot(side).0.unwrap().plot.steepest.si, 3.0);
    }
    let (read, told) = plot("1 to 3");
    assert_eq!(read, None);
    assert!(told[0].contains("is `1 to 3` meant the other way round?"), "{told:?}");
    assert!(told[0].ends_with("write 3 to 1, or, if it is meant, 0.333 to 1"), "{told:?}");
    // So much to one is meant as it stands.
    assert_relative_eq!(plot("0.5 to 1").0.unwrap().plot.steepest.si, 0.5);
}

#[test]
fn a_storm_reads_with_what_frees_its_room() {
    let text = WHOLE.replace(
        "from: the normal level}",
        "from: the run's own levels, room on at least: 95 %, drawdown: {by: pump, within: 2 days, to: Ditch, rate: 100 gpm}}",
    );
    let (read, told) = duties(&text);
    assert_eq!(told, Vec::<String>::new());
    let storm = read.unwrap().storm.unwrap();
    assert_eq!((&storm.from, storm.room_on.as_ref().unwrap().si), (&StormFrom::Run, 0.95));
    let drawdown = storm.drawdown.unwrap();
    assert_eq!((drawdown.by, drawdown.within_h, drawdown.to.value.as_str()), ("pump", 48.0, "Ditch"));
}

#[test]
fn a_peak_of_curve_number_ground_goes_by_one_method() {
    let with = |more: &str| {
        duties(&WHOLE.replace(
            "flow: 620 gpm, flow from: both pumps",
            &format!("flow: the computed peak, rain at the peak: 1 in/h, {more}"),
        ))
    };
    let peak = |more: &str| with(more).0.and_then(|read| read.settle).and_then(|settle| settle.curve_peak);
    assert!(matches!(peak("runs off at the peak: 45 %"), Some(CurvePeak::Share(share)) if share.si == 0.45));
    let graphical = peak("time of concentration: 20 min, rainfall type: ia");
    assert!(matches!(graphical, Some(CurvePeak::Graphical(time, RainfallType::IA)) if time.si == 1200.0));
    for (more, told) in [
        ("time of concentration: 20 min", "needs the type of rainfall"),
        ("rainfall type: II", "needs the time of concentration"),
        ("runs off at the peak: 45 %, time of concentration: 20 min, rainfall type: II", "two methods"),
    ] {
        assert!(with(more).1.iter().any(|line| line.contains(told)), "{more}: {:?}", with(more).1);
    }
}

#[test]
fn a_fence_and_the_way_to_it_are_part_of_what_it_costs() {
    let with = |more: &str| duties(&WHOLE.replace("lined: 9 USD per m2}", &format!("lined: 9 USD per m2{more}}}")));
    let (read, told) = with(", fence: 12 USD per ft, access: 5000 USD");
    assert_eq!(told, Vec::<String>::new());
    let basin =
        Basin { length_m: 30.0, width_m: 14.0, depth_m: 2.0, slope: 0.0, freeboard_m: 0.5, bank_m: 3.0, lie: None };
    let cost = |read: Option<Duties>| {
        Demands {
            duties: read.unwrap(),
            needs: Needs::default(),
            pool_m: 0.0,
            cells: 1,
            terms: Terms::default(),
            rate_m3_s: None,
        }
        .cost(&basin)
        .unwrap()
    };
    // 36 × 20 m over the banks: 112 m of fence at 12 USD a foot of 0.3048 m.
    assert_relative_eq!(cost(read) - cost(with("").0), 112.0 * 12.0 / 0.3048 + 5000.0, max_relative = 1e-9);
    assert!(with(", access: 5000 EUR").1[0].contains("priced in different money"));
}

fn duties(text: &str) -> (Option<Duties>, Vec<String>) {
    let problems = Problems::new();
    let source = Source::new("basin.yaml", text);
    let read = yaml::tree(&source, &problems).and_then(|tree| read(&tree, &problems));
    let told = problems
        .in_order()
        .into_iter()
        .map(|problem| format!("{} | {}", problem.to_string_line(), problem.hint.unwrap_or_default()))
        .collect();
    (read, told)
}

const WHOLE: &str = "\
pond: Settling pond
plot: {longest: 200 ft, widest: 80 ft, deepest: 8 ft, steepest side: 3 to 1, length to width at least: 2 to 1, bank all round: 6 ft}
freeboard: 1.5 ft
settling pool: 2 ft
settle: {particle: 20 um, density: 2.65 times water, water temperature: 43 F, at least: 80 %, flow: 620 gpm, flow from: both pumps}
hold: {return water: 2 days, wash water: 1 day, first rain: 0.5 in}
storm: {every: 25 years, lasting: 24 h, from: the normal level}
storm depths: {source: county sheet, depths: [{every: 25 years, lasting: 24 h, depth: 3.4 in}, {every: 2 years, lasting: 24 h, depth: 2 in}]}
spills: {no oftener than: once in 5 years}
clean out: {no oftener than every: 8 years, dry solids: 8 %}
shortage: {at most: 5 days a year}
least: cost
cost: {dug: 6 USD per yd3, lined: 9 USD per m2}
steps: {depth: 0.5 ft, length: 10 ft, width: 5 ft}
";

#[test]
fn every_duty_reads_with_its_unit_and_its_place() {
    let (read, told) = duties(WHOLE);
    assert_eq!(told, Vec::<String>::new());
    let read = read.unwrap();
    assert_relative_eq!(read.plot.longest.si, 60.96);
    assert_relative_eq!(read.plot.length_to_width.as_ref().unwrap().si, 2.0);
    let settle = read.settle.unwrap();
    assert_relative_eq!(settle.particle.si, 20e-6, max_relative = 1e-12);
    assert_relative_eq!(settle.density.si, 2650.0);
    // 620 US gallons (231 cubic inches each) a minute.
    assert_relative_eq!(settle.flow.unwrap().si, 620.0 * 3.785_411_784e-3 / 60.0, max_relative = 1e-12);
    assert_relative_eq!(read.storm.as_ref().unwrap().storm.depth.si, 3.4 * 0.0254, max_relative = 1e-12);
    assert_eq!(read.storm.unwrap().place.line, 7);
    assert_relative_eq!(read.spills.unwrap().a_year, 0.2);
    assert_relative_eq!(read.clean_out.unwrap().every_years, 8.0);
    assert_relative_eq!(read.shortage.unwrap().days_a_year, 5.0);
    // A cubic yard is 0.764 554 857 984 m³.
    assert_relative_eq!(read.prices.unwrap().dug, 6.0 / 0.764_554_857_984);
}

#[test]
fn all_mistakes_of_a_duties_file_are_told_in_one_pass_with_what_to_write() {
    let (read, told) = duties(
        "\
plot: {longest: 200, widest: 80 ft, deepest: 8 ft to 9 ft, steepest side: 3 to 1}
freeboard: 1.5 ft
settle: {particle: 20 um, density: 2.65 times water, water temperature: 43 F, at least: 100 %, flow: 620 gpm}
storm: {every: 25 years, lasting: 24 h, from: halfway}
storm depths: {source: county sheet, depths: [{every: 10 years, lasting: 24 h, depth: 3.4 in}]}
spills: {no oftener than: rarely}
least: cost
free board: 2 ft
",
    );
    assert_eq!(read, None);
    let whole = told.join("\n");
    for part in [
        "basin.yaml:1: a number without its unit; expected a length | units allowed here: in, ft, yd, mm, cm or m",
        "basin.yaml:1: a design needs one figure here, not a range | take the end that asks more of the pond",
        "basin.yaml:3: no pond settles all of it",
        "basin.yaml:3: `settle` has no `flow from`",
        "basin.yaml:4: this is not a level that a storm can find | write `the normal level`",
        "has no storm of every 25 years lasting 24 h | it has: every 10 years lasting 24 h; depths between rows are not guessed",
        "basin.yaml:6: `rarely` does not say how often | write it like once in 5 years",
        "basin.yaml:7: the least cost is asked for",
        "basin.yaml:8: `free board` is not known in this file",
    ] {
        assert!(whole.contains(part), "{part}\n---\n{whole}");
    }
}

#[test]
fn a_peak_in_other_words_is_answered_with_the_words_to_write_and_with_nothing_else() {
    let (_, told) = duties(
        "plot: {longest: 20 m, widest: 8 m, deepest: 2 m, steepest side: 2 to 1}\nfreeboard: 0.3 m\nleast: volume\n\
         settle: {particle: 20 um, density: 2.65 times water, water temperature: 5 C, at least: 80 %, flow: the peak, rain at the peak: 20 mm/h}\n",
    );
    assert_eq!(
        told,
        ["basin.yaml:4: this is not a flow | write a flow with its unit, like 620 gpm, or: the computed peak"]
    );
}

#[test]
fn a_file_without_a_duty_is_refused_and_not_answered_with_the_smallest_puddle() {
    let (read, told) = duties(
        "plot: {longest: 20 m, widest: 8 m, deepest: 2 m, steepest side: 2 to 1}\nfreeboard: 0.3 m\nleast: volume\n",
    );
    assert_eq!(read, None);
    assert!(told.iter().any(|line| line.contains("no duty is given")), "{told:?}");
}

#[test]
fn how_often_is_read_as_people_say_it() {
    for (text, a_year) in [
        ("once in 5 years", 0.2),
        ("twice in 10 years", 0.2),
        ("3 in 10 years", 0.3),
        ("3 times in 10 years", 0.3),
        ("0.5 a year", 0.5),
        ("2 per year", 2.0),
        ("never", 0.0),
    ] {
        assert_relative_eq!(often(text).unwrap(), a_year);
    }
    for text in ["", "often", "once", "once in 0 years", "-1 a year", "1e9 a year"] {
        assert!(often(text).is_err(), "{text}");
    }
    let told = format!("{:?}", often("twice in a year").unwrap_err());
    assert!(told.contains("write `twice a year`"), "{told}");
}

#[test]
fn the_ground_is_said_from_the_bank_top_or_the_spill_level() {
    let with = |level: &str| {
        duties(&WHOLE.replace(
            "freeboard: 1.5 ft\n",
            &format!("freeboard: 1.5 ft\nground: {{level: {level}, outer side: 3 to 1, shrinks: 15 %}}\n"),
        ))
    };
    for (level, below_top_ft) in [
        ("2 ft below the bank top", 2.0),
        ("level with the spill level", 1.5),
        ("Level with the bank top", 0.0),
        ("1 ft above the spill level", 0.5),
        ("6 in below spill level", 2.0),
    ] {
        let (read, told) = with(level);
        assert_eq!(told.len(), 1, "{told:?}");
        assert!(told[0].contains("leaves out earth that has no price: `banked`, `hauled`, `brought`"), "{told:?}");
        let lie = read.unwrap().ground.unwrap().lie(1.5 * 0.3048);
        assert_relative_eq!(lie.below_top_m, below_top_ft * 0.3048, epsilon = 1e-12);
        assert_relative_eq!(lie.outer_slope, 3.0);
    }
    for (level, told) in [
        ("2 ft above the spill level", "over the bank top"),
        ("1 ft above the bank top", "over the bank top"),
        ("2 ft below the floor", "does not say how high the ground lies"),
        ("1 ft to 2 ft below the bank top", "not a range"),
    ] {
        assert!(with(level).1[0].contains(told), "{level}: {:?}", with(level).1);
    }
}
