use super::*;
use proptest::prelude::*;
use std::convert::Infallible;

fn grid() -> Grid {
    let sizes = |step: f64, count: u32| (1..=count).map(|k| f64::from(k) * step).collect::<Vec<_>>();
    Grid {
        depths_m: sizes(0.5, 6),
        lengths_m: sizes(4.0, 10),
        widths_m: sizes(4.0, 8),
        most_m: [3.0, 40.0, 32.0],
        length_to_width: 1.5,
        floor_m: 0.0,
        common: Basin {
            length_m: 0.0,
            width_m: 0.0,
            depth_m: 0.0,
            slope: 1.5,
            freeboard_m: 0.3,
            bank_m: 0.0,
            lie: None,
        },
    }
}

const ALL: Passed = Passed { larger_is_better: true, other: true };
const NONE: Passed = Passed { larger_is_better: false, other: true };

fn weather<E>(passes: Passes<'_, E>) -> Option<Weather<'_, E>> {
    Some(Weather { passes, before: None, larger_may_be_worse: false, most: 4_000 })
}

/// Every shape of the grid held against both kinds of duty.
fn brute(
    grid: &Grid,
    objective: &dyn Fn(&Basin) -> f64,
    fixed: Fixed<'_>,
    weather: &dyn Fn(&Basin) -> bool,
) -> Option<Basin> {
    grid.plans()
        .into_iter()
        .flatten()
        .filter(|basin| fixed(&Corners::of(*basin)) && weather(basin))
        .min_by(|a, b| compare(&key(a, objective), &key(b, objective)))
}

proptest! {
    /// The weather's duty is made up: a volume that grows with the surface, as rain on the pond does, by less than the pond
    /// is deep, as the search says it may rely on.
    #[test]
    fn the_search_finds_what_holding_every_shape_of_the_grid_against_the_duties_finds(
        area in 20.0f64..600.0,
        store in 1.0f64..900.0,
        rain in 0.0f64..0.25,
        lost in 0.0f64..2.0,
        worse in any::<bool>(),
        which in 0u32..3,
    ) {
        let grid = grid();
        let objective: Box<dyn Fn(&Basin) -> f64> = match which {
            0 => Box::new(|basin| basin.capacity_m3()),
            1 => Box::new(|basin| basin.footprint_m2()),
            _ => Box::new(|basin| 6.0 * basin.dug_m3() + 9.0 * basin.lined_m2()),
        };
        let fixed = |corners: &Corners| corners.surface.area_m2(0.5) >= area;
        let spills = |basin: &Basin| basin.capacity_m3() >= store + rain * basin.crest_area_m2();
        // What is lost from the surface may well be more than a shallow pond holds: a larger one is then worse.
        let short = |basin: &Basin| !worse || basin.capacity_m3() >= 0.5 * store + lost * basin.area_m2(basin.depth_m);
        let weather = |basin: &Basin| spills(basin) && short(basin);
        let mut passes = |basins: &[Basin]| {
            let passed = |basin: &Basin| Passed { larger_is_better: spills(basin), other: short(basin) };
            Ok::<_, Infallible>(basins.iter().map(passed).collect())
        };
        let asked = Weather { passes: &mut passes, before: None, larger_may_be_worse: worse, most: 4_000 };
        let found = least(&grid, Aim::rising(&*objective), &fixed, Some(asked)).unwrap();
        prop_assert_eq!(found.map(|found| found.basin), brute(&grid, &*objective, &fixed, &weather));
    }
}

#[test]
fn shapes_that_no_simulation_need_touch_are_not_simulated() {
    let sizes = |step: f64, count: u32| (1..=count).map(|k| f64::from(k) * step).collect::<Vec<_>>();
    let grid = Grid { depths_m: sizes(0.05, 60), lengths_m: sizes(0.5, 80), widths_m: sizes(0.5, 64), ..grid() };
    let mut asked = 0;
    let mut passes = |basins: &[Basin]| {
        asked += basins.len();
        Ok::<_, Infallible>(vec![ALL; basins.len()])
    };
    let found =
        least(&grid, Aim::rising(&|basin| basin.capacity_m3()), &|_| true, weather(&mut passes)).unwrap().unwrap();
    assert_eq!(found.simulated, asked);
    let all = grid.plans().into_iter().flatten().count();
    assert!(all > 50_000 && asked < 400, "{asked} of {all}");
    // Where no duty turns on weather nothing is run.
    let without =
        least::<Infallible>(&grid, Aim::rising(&|basin| basin.capacity_m3()), &|_| true, None).unwrap().unwrap();
    assert_eq!((without.basin, without.simulated), (found.basin, 0));
}

#[test]
fn no_shape_is_made_up_when_none_does_its_duty() {
    let grid = grid();
    let mut none = |basins: &[Basin]| Ok::<_, Infallible>(vec![NONE; basins.len()]);
    assert_eq!(least(&grid, Aim::rising(&|basin| basin.capacity_m3()), &|_| true, weather(&mut none)).unwrap(), None);
    let mut fails = |_: &[Basin]| Err("the engine stopped");
    assert!(least(&grid, Aim::rising(&|basin| basin.capacity_m3()), &|_| true, weather(&mut fails)).is_err());
}

#[test]
fn the_list_by_depth_has_one_shape_a_depth_and_each_does_its_duty() {
    let grid = grid();
    let weather = |basin: &Basin| basin.capacity_m3() >= 300.0;
    let mut passes = |basins: &[Basin]| {
        let passed = |basin: &Basin| Passed { larger_is_better: weather(basin), other: true };
        Ok::<_, Infallible>(basins.iter().map(passed).collect())
    };
    let list = least_by_depth(&grid, 5, &|basin| basin.capacity_m3(), &|_| true, &mut passes).unwrap();
    assert!((3..=5).contains(&list.len()), "{list:?}");
    // Of each depth it is the least that does its duty.
    for one in &list {
        let least = grid
            .plans()
            .into_iter()
            .flatten()
            .filter(|basin| basin.depth_m == one.depth_m && weather(basin))
            .map(|basin| basin.capacity_m3())
            .fold(f64::INFINITY, f64::min);
        assert_eq!(one.capacity_m3(), least);
    }
    assert!(list.windows(2).all(|pair| pair[0].depth_m < pair[1].depth_m));
    assert!(list.iter().all(weather));
}

#[test]
fn of_a_long_list_the_first_the_last_and_those_evenly_between_are_kept() {
    let of = |count: usize, most: usize| crate::sizing::columns::spread((0..count).collect::<Vec<_>>(), most);
    assert_eq!(of(10, 4), [0, 3, 6, 9]);
    assert_eq!(of(5, 2), [0, 4]);
    assert_eq!(of(9, 5), [0, 2, 4, 6, 8]);
    assert_eq!(of(3, 3), [0, 1, 2]);
    assert_eq!(of(3, 8), [0, 1, 2]);
}
