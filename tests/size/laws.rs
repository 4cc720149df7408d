//! Laws of the least pond over weather, on invented sites.

use super::*;
use crate::typed::Dice;

/// The study of a site from 20 November 2012 on.
fn study(dir: &Path, last: NaiveDate) -> (Study, Facility, bywash::weather::DailyWeather, (NaiveDate, NaiveDate)) {
    let (facility, weather, _, duties) = read(dir);
    let pond = facility.find("Basin").unwrap();
    let period = (day(2012, 11, 20), last);
    let at = Site { facility: &facility, pond, weather: &weather, period };
    let study = sizing::study(at, duties, &|_| {}).unwrap_or_else(|told| panic!("{:?}", told.in_order()));
    (study, facility, weather, period)
}

fn day(year: i32, month: u32, day: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(year, month, day).unwrap()
}

/// Every shape of the grid, run by itself over the days and held against spills and shortage: the least that does them.
pub(super) fn least_of_every_shape(
    study: &Study,
    (facility, pond): (&Facility, bywash::facility::model::PlaceId),
    weather: &bywash::weather::DailyWeather,
    period: (NaiveDate, NaiveDate),
) -> Option<Basin> {
    let apart = study.demands.duties.spills.as_ref().map_or(1, |duty| duty.apart_days);
    let every: Vec<Basin> = study.grid.plans().into_iter().flatten().collect();
    let versions: Vec<Facility> =
        every.iter().map(|basin| sizing::with_basin(facility, pond, &study.demands, &Version::of(*basin))).collect();
    let records = sizing::records(facility, period);
    let candidates = Candidates::new(&versions[0], weather, &records, period).unwrap();
    let spill = [Seen::Water(Selector::from(Node::Place(pond)).purpose(Purpose::Spill))];
    let runs = candidates.run(&versions, &spill, &sizing::uses_of(facility, pond)).unwrap();
    let does = |(basin, run): &(&Basin, &bywash::balance::CandidateRun)| {
        let simulated = Simulated {
            spill: SpillRecord::of(&run.series[0], run.series[0].len(), apart),
            shortage_days: run.short_days,
            ..Simulated::default()
        };
        study.demands.fixed(basin).iter().chain(&study.demands.over_years(&simulated)).all(Check::is_met)
    };
    every
        .iter()
        .zip(&runs)
        .filter(does)
        .map(|(basin, _)| basin)
        .min_by(|a, b| {
            let key = |basin: &Basin| {
                [study.demands.objective(basin), basin.capacity_m3(), basin.footprint_m2(), basin.depth_m]
            };
            key(a).iter().zip(key(b)).map(|(x, y)| x.total_cmp(&y)).find(|order| order.is_ne()).unwrap()
        })
        .copied()
}

/// So many sites are tried; more of them with `BYWASH_SITES`.
fn sites(usual: usize) -> usize {
    std::env::var("BYWASH_SITES").ok().and_then(|sites| sites.parse().ok()).unwrap_or(usual)
}

/// An invented yard, its well filling the basin up to a level or not at all.
fn yard(dice: &mut Dice) -> String {
    FACILITY
        .replace("area: 1.0 ha", &format!("area: {:.2} ha", dice.between(0.3, 1.5)))
        .replace("amount: 60 m3/day", &format!("amount: {:.0} m3/day", dice.between(5.0, 90.0)))
        .replace("gives at most: 2 m3/h", &format!("gives at most: {:.1} m3/h", dice.between(0.5, 6.0)))
        .replace("depth: 2 m, side", &format!("depth: {:.1} m, side", dice.between(1.6, 2.6)))
}

fn steps(dice: &mut Dice) -> String {
    format!(
        "steps: {{depth: {:.3} m, length: {:.3} m, width: {:.3} m}}\n",
        dice.between(0.3, 0.6),
        dice.between(6.0, 11.0),
        dice.between(3.0, 6.0)
    )
}

#[test]
fn of_invented_sites_no_shape_of_the_grid_is_less_and_does_its_duties_over_the_days() {
    let dir = tempfile::tempdir().unwrap();
    let (mut dice, mut ponds) = (Dice(2026), 0);
    for at in 0..sites(12) {
        let mut facility = yard(&mut dice);
        if dice.between(0.0, 1.0) < 0.3 {
            facility = facility.replace("    filled from: {from: Well, up to: 0.8 m}\n", "");
        }
        let duties = format!(
            "pond: Basin\nplot: {{longest: 75 m, widest: 40 m, deepest: 3 m, steepest side: {}, length to width at least: {}, \
             bank all round: 2 m}}\nfreeboard: 0.5 m\nsettling pool: 0.4 m\nspills: {{no oftener than: {:.0} a year, lasting at most: \
             {:.0} days}}\nshortage: {{at most: {:.0} days a year}}\n{}\ncost: {{dug: 8 EUR per m3, lined: 12 EUR per m2}}\n{}",
            dice.one_of(&["2 to 1", "1.5 to 1", "3 to 1"]),
            dice.one_of(&["2 to 1", "1.2 to 1"]),
            dice.between(8.0, 60.0),
            dice.between(2.0, 20.0),
            dice.between(20.0, 300.0),
            dice.one_of(&["least: volume", "least: footprint", "least: cost"]),
            steps(&mut dice)
        );
        site(dir.path(), &facility, &duties);
        let (study, facility, weather, period) = study(dir.path(), day(2012, 12, 31));
        let pond = facility.find("Basin").unwrap();
        let least = least_of_every_shape(&study, (&facility, pond), &weather, period);
        let found = match &study.outcome {
            Outcome::Pond(answer) => Some(answer.found.basin),
            _ => None,
        };
        // What no shape of these steps does may be done by one of finer steps.
        if least.is_some() || found.is_none() {
            assert_eq!(found, least, "site {at}\n{duties}");
        }
        ponds += usize::from(found.is_some());
    }
    println!("{ponds} ponds");
    assert!(2 * ponds > sites(12), "{ponds}");
}

/// What asks no less of a pond: a supply that fills it higher, an outlet that is slower, more of the same weather, more to
/// be held, a larger storm, more freeboard, a smaller plot.
#[test]
fn what_asks_no_less_never_gives_a_smaller_pond() {
    let dir = tempfile::tempdir().unwrap();
    let (mut dice, mut ponds) = (Dice(11), 0);
    for at in 0..sites(4) {
        let facility = yard(&mut dice);
        let rate = dice.between(15.0, 40.0);
        let duties = format!(
            "pond: Basin\nplot: {{longest: 75 m, widest: 40 m, deepest: 3 m, steepest side: 2 to 1, length to width at least: 2 to \
             1, bank all round: 2 m}}\nfreeboard: 0.5 m\nsettling pool: 0.4 m\nhold: {{return water: 1 day, first rain: 5 \
             mm}}\nstorm: {{every: 10 years, lasting: 24 h, from: the normal level, drawdown: {{by: outlet, within: 48 h, rate: \
             {rate:.1} m3/h, to: Ditch, down to: the foot of what is held}}}}\nstorm depths: {{source: table of the county, depths: \
             [{{every: 10 years, lasting: 24 h, depth: {:.0} mm}}]}}\nleast: volume\n{}",
            dice.between(20.0, 45.0),
            steps(&mut dice)
        );
        let least = |facility: &str, duties: &str, last: NaiveDate| {
            site(dir.path(), facility, duties);
            match study(dir.path(), last).0.outcome {
                Outcome::Pond(answer) if answer.not_kept().next().is_none() => answer.found.basin.capacity_m3(),
                _ => f64::INFINITY,
            }
        };
        let new_year = day(2012, 12, 31);
        let now = least(&facility, &duties, new_year);
        ponds += usize::from(now.is_finite());
        let filled = |m: &str| facility.replace("up to: 0.8 m", &format!("up to: {m}"));
        let asks = |from: &str, to: &str| {
            assert!(duties.contains(from), "{from}: {duties}");
            duties.replace(from, to)
        };
        let slower = asks(&format!("rate: {rate:.1}"), &format!("rate: {:.1}", 0.7 * rate));
        for (what, facility, duties, last) in [
            ("filled higher", &filled("1.1 m"), &duties, new_year),
            ("filled to the top", &filled("1.5 m"), &duties, new_year),
            ("a slower outlet", &facility, &slower, new_year),
            ("more of the weather", &facility, &duties, day(2013, 2, 15)),
            ("more return water", &facility, &asks("return water: 1 day", "return water: 2 days"), new_year),
            ("more of the first rain", &facility, &asks("first rain: 5 mm", "first rain: 9 mm"), new_year),
            ("more freeboard", &facility, &asks("freeboard: 0.5 m", "freeboard: 0.7 m"), new_year),
            ("a smaller plot", &facility, &asks("longest: 75 m", "longest: 52 m"), new_year),
        ] {
            let more = least(facility, duties, last);
            assert!(more >= now - 1e-9, "site {at}, {what}: {more} after {now}\n{facility}\n{duties}");
        }
    }
    println!("{ponds} ponds");
    assert!(ponds > 0);
}

/// A duty more, asked beside the others, never gives a smaller pond; and one that is eased never a larger.
#[test]
fn a_duty_more_never_gives_a_smaller_pond() {
    let dir = tempfile::tempdir().unwrap();
    let (mut dice, mut ponds) = (Dice(29), 0);
    for at in 0..sites(5) {
        let mut facility = yard(&mut dice);
        if dice.between(0.0, 1.0) < 0.6 {
            facility = facility.replace("    filled from: {from: Well, up to: 0.8 m}\n", "");
        }
        let a_year = dice.between(3.0, 12.0);
        let spills = |more: &str| format!("spills: {{no oftener than: {a_year:.1} a year{more}}}\n");
        let tail = steps(&mut dice);
        let least = |duties: &str| {
            let duties = format!(
                "pond: Basin\nplot: {{longest: 110 m, widest: 60 m, deepest: 3 m, steepest side: 2 to 1, length to width at least: 2 \
                 to 1, bank all round: 2 m}}\nfreeboard: 0.5 m\nsettling pool: 0.4 m\nleast: volume\n{duties}{tail}"
            );
            site(dir.path(), &facility, &duties);
            match study(dir.path(), day(2013, 3, 31)).0.outcome {
                Outcome::Pond(answer) => answer.found.basin.capacity_m3(),
                _ => f64::INFINITY,
            }
        };
        let now = least(&spills(""));
        ponds += usize::from(now.is_finite());
        let days = dice.between(8.0, 40.0);
        let mut eased = now;
        for days in [400.0, days, 0.5 * days, 2.0] {
            let more = least(&spills(&format!(", lasting at most: {days:.0} days")));
            assert!(more >= eased - 1e-9, "site {at}, lasting {days:.0}: {more} after {eased}\n{facility}\n{tail}");
            eased = more;
        }
        for beside in [
            format!("shortage: {{at most: {:.0} days a year}}\n", dice.between(20.0, 200.0)),
            "detention: {at least: 20 h, flow: 10 m3/h}\n".to_owned(),
            "clean out: {no oftener than every: 4 years, dry solids: 10 %}\n".to_owned(),
        ] {
            let more = least(&(spills("") + &beside));
            assert!(more >= now - 1e-9, "site {at}, {beside}: {more} after {now}\n{facility}\n{tail}");
        }
    }
    println!("{ponds} ponds");
    assert!(2 * ponds > sites(5), "{ponds}");
}

/// A drawdown whose rate nobody typed: a lesser storm and more hours to free its room are easier, and never ask for a larger
/// pond nor for one that no plot has.
#[test]
fn a_lesser_storm_or_more_hours_never_give_a_larger_pond_nor_none() {
    let dir = tempfile::tempdir().unwrap();
    let (mut dice, mut ponds) = (Dice(5), 0);
    for at in 0..sites(8) {
        let mut facility = yard(&mut dice);
        if dice.between(0.0, 1.0) < 0.5 {
            facility = facility.replace("    filled from: {from: Well, up to: 0.8 m}\n", "");
        }
        let below = dice.between(0.0, 1.0) < 0.3;
        let from = if below { "0.7 m below the spill level" } else { "the normal level" };
        // With the level it is drawn down to set by the storm, a lesser storm leaves it fuller: spills are not asked for then.
        let spills = if below { "spills: {no oftener than: 15 a year, lasting at most: 20 days}\n" } else { "" };
        let (hold, down) =
            if below { ("", "") } else { ("hold: {first rain: 5 mm}\n", ", down to: the foot of what is held") };
        let room = dice.one_of(&["", "room on at least: 90 %, "]).to_owned();
        let shortage = dice.one_of(&["", "shortage: {at most: 150 days a year}\n"]).to_owned();
        let tail = steps(&mut dice);
        let duties = |depth_mm: f64, within_h: f64| {
            format!(
                "pond: Basin\nplot: {{longest: 75 m, widest: 40 m, deepest: 3 m, steepest side: 2 to 1, length to width at least: 2 \
                 to 1, bank all round: 2 m}}\nfreeboard: 0.5 m\nsettling pool: 0.4 m\n{hold}storm: {{every: 10 years, lasting: 24 h, \
                 from: {from}, {room}drawdown: {{by: pump, within: {within_h:.2} h, to: Ditch{down}}}}}\nstorm depths: {{source: table \
                 of the county, depths: [{{every: 10 years, lasting: 24 h, depth: {depth_mm:.2} mm}}]}}\n{spills}{shortage}least: \
                 volume\n{tail}"
            )
        };
        let least = |depth_mm: f64, within_h: f64| {
            site(dir.path(), &facility, &duties(depth_mm, within_h));
            match study(dir.path(), day(2012, 12, 31)).0.outcome {
                Outcome::Pond(answer) if answer.not_kept().next().is_none() => answer.found.basin.capacity_m3(),
                _ => f64::INFINITY,
            }
        };
        let (depth_mm, within_h) = (dice.between(15.0, 50.0), dice.between(24.0, 70.0));
        let now = least(depth_mm, within_h);
        ponds += usize::from(now.is_finite());
        let (less, more) = (dice.between(0.5, 1.0), dice.between(1.0, 2.0));
        // And just over the edge of a day.
        let edge_h = 24.0 * (within_h / 24.0).ceil();
        for (depth_mm, within_h) in [
            (depth_mm * less, within_h),
            (depth_mm, within_h * more),
            (depth_mm * less, within_h * more),
            (depth_mm, edge_h),
        ] {
            let easier = least(depth_mm, within_h);
            assert!(
                easier <= now + 1e-9,
                "site {at}: {easier} after {now} with {depth_mm} mm in {within_h} h\n{facility}\n{}",
                duties(depth_mm, within_h)
            );
        }
    }
    println!("{ponds} ponds");
    assert!(2 * ponds > sites(8), "{ponds}");
}
