//! The small cases that the rules of judging are written with, by hand.

use super::days::{Day, day};
use super::duty::Kept;
use super::exact::Rat;
use super::given::{
    Belongs, Below, Counting, Divisor, Duty, Except, Level, Limit, Look, Mark, Outfall, Parameter, Rain, Sample,
    Several, Site, Spot, Statistic, Stretch, Way, Weighting, When, Window,
};
use super::judge::{Verdict, duty_kept, judge};
use super::outcome::{Judged, Outcome};

fn counting() -> Counting {
    Counting {
        week_starts: Some(6),
        belongs: Some(Belongs::Starts),
        several: Some(Several::Average),
        below: Some(Below::Zero),
        below_geometric: None,
        divisor: Some(Divisor::Sampled),
        weighting: Some(Weighting::Arithmetic),
        least: None,
        look_since_the_last: false,
    }
}

fn way(name: &str) -> Way {
    Way {
        meter: format!("M{name}"),
        tank: format!("Tank {name}"),
        readings: Vec::new(),
        amounts: Vec::new(),
        new_from: None,
    }
}

fn site(period: (Day, Day), ways: usize, outfalls: usize) -> Site {
    let outfall = |n: usize| Outfall {
        name: format!("Outfall {}", n + 1),
        ways: (0..ways).map(|w| way(&format!("{n}{w}"))).collect(),
    };
    Site {
        day_start: 7 * 60,
        year_starts: (1, 1),
        in_force: None,
        outfalls: (0..outfalls).map(outfall).collect(),
        samples: Vec::new(),
        looks: Vec::new(),
        levels: Vec::new(),
        rain: Vec::new(),
        limits: Vec::new(),
        period,
        as_of: period.1,
    }
}

fn limit(parameter: Parameter, statistic: Statistic) -> Limit {
    Limit {
        name: "L".into(),
        at: if parameter == Parameter::Freeboard { Vec::new() } else { vec![0] },
        parameter,
        statistic,
        upper: None,
        lower: None,
        season: None,
        months: None,
        weekdays: None,
        in_force: (None, None),
        duty: None,
        except: None,
        counting: counting(),
        by_month: None,
    }
}

fn at_most(parameter: Parameter, statistic: Statistic, bound: Rat) -> Limit {
    Limit { upper: Some((bound, false)), ..limit(parameter, statistic) }
}

/// A meter read at the start of each of these days: how much since the reading before.
fn metered(site: &mut Site, outfall: usize, way: usize, from: Day, volumes: &[i64]) {
    let mut dial = 0;
    let mut readings = vec![(When::At(site.start_of(from)), dial)];
    for (on, volume) in (1..).zip(volumes) {
        dial += volume;
        readings.push((When::At(site.start_of(from + on)), dial));
    }
    site.outfalls[outfall].ways[way].readings = readings;
}

fn sampled(site: &mut Site, outfall: usize, day: Day, mark: Mark, value: i64) {
    let hour = 9 * 60 + site.samples.len() as i64;
    site.samples.push(Sample {
        spot: Spot::Outfall(outfall),
        when: When::At(day * 1440 + hour),
        parameter: Parameter::Solids,
        mark,
        value: Rat::whole(value),
    });
}

fn worst(verdict: &Verdict) -> Judged {
    let worst = verdict.windows.iter().max_by_key(|window| window.outcome);
    worst.expect("a window").clone()
}

fn figure(verdict: &Verdict) -> (f64, f64) {
    let figure = worst(verdict).figure.expect("a figure");
    (figure.lo, figure.hi)
}

fn comes_to(site: &Site, limit: &Limit, outcome: Outcome) -> Verdict {
    let verdict = judge(site, limit);
    assert_eq!(verdict.outcome, outcome, "{verdict:#?}");
    verdict
}

#[test]
fn j1_an_open_months_total_is_over_as_soon_as_what_is_metered_is() {
    let first = day(2025, 3, 1);
    for (daily, outcome, so_far) in [(10, Outcome::NotShown, 140.0), (20, Outcome::Exceeded, 280.0)] {
        let mut site = site((first, day(2025, 3, 14)), 1, 1);
        metered(&mut site, 0, 0, first, &[daily; 14]);
        let limit = at_most(Parameter::Water, Statistic::Total(Window::Month), Rat::whole(200));
        let verdict = comes_to(&site, &limit, outcome);
        assert_eq!(figure(&verdict).0, so_far);
    }
}

#[test]
fn j2_the_period_lists_months_and_never_cuts_them() {
    let mut site = site((day(2025, 3, 10), day(2025, 4, 9)), 1, 1);
    sampled(&mut site, 0, day(2025, 3, 5), Mark::Is, 50);
    sampled(&mut site, 0, day(2025, 3, 20), Mark::Is, 20);
    let limit = at_most(Parameter::Solids, Statistic::Average(Window::Month), Rat::whole(30));
    let verdict = comes_to(&site, &limit, Outcome::Exceeded);
    assert_eq!(figure(&verdict), (35.0, 35.0));
    assert_eq!(verdict.windows[1].outcome, Outcome::NotShown);
}

#[test]
fn j3_a_way_that_is_never_read_leaves_the_upper_end_open() {
    let first = day(2025, 3, 1);
    for (bound, outcome) in [(150, Outcome::NotShown), (90, Outcome::Exceeded)] {
        let mut site = site((first, first), 2, 1);
        metered(&mut site, 0, 0, first, &[100]);
        let limit = at_most(Parameter::Water, Statistic::Total(Window::Day), Rat::whole(bound));
        comes_to(&site, &limit, outcome);
    }
}

#[test]
fn j4_a_span_of_three_days_is_certain_of_one_of_them() {
    let first = day(2025, 3, 1);
    for (bound, outcome) in [(29, Outcome::Exceeded), (40, Outcome::NotShown), (90, Outcome::Met)] {
        let mut site = site((first, first + 2), 1, 1);
        site.outfalls[0].ways[0].readings =
            vec![(When::At(site.start_of(first)), 0), (When::At(site.start_of(first + 3)), 90)];
        let limit = at_most(Parameter::Water, Statistic::Total(Window::Day), Rat::whole(bound));
        comes_to(&site, &limit, outcome);
    }
}

#[test]
fn j5_a_mean_with_a_value_above_what_was_measured_is_decided_by_its_low_end() {
    for (bound, outcome) in [(30, Outcome::NotShown), (16, Outcome::Exceeded)] {
        let mut site = site((day(2025, 3, 1), day(2025, 3, 31)), 1, 1);
        sampled(&mut site, 0, day(2025, 3, 5), Mark::Is, 10);
        sampled(&mut site, 0, day(2025, 3, 6), Mark::More, 24);
        let limit = at_most(Parameter::Solids, Statistic::Average(Window::Month), Rat::whole(bound));
        let verdict = comes_to(&site, &limit, outcome);
        assert_eq!(figure(&verdict), (17.0, f64::INFINITY));
    }
}

#[test]
fn j6_a_geometric_mean_equal_to_its_bound_is_not_over() {
    for (mark, value, bound) in [(Mark::Is, 410, 410), (Mark::Less, 10, 126)] {
        let mut site = site((day(2025, 3, 1), day(2025, 3, 31)), 1, 1);
        for on in 0..3 {
            sampled(&mut site, 0, day(2025, 3, 5) + on, mark, value);
        }
        let statistic = Statistic::GeometricMean(Window::Month);
        let mut limit = at_most(Parameter::Solids, statistic, Rat::whole(bound));
        limit.counting.least = Some(super::given::Least::Count(3));
        let verdict = comes_to(&site, &limit, Outcome::Met);
        assert!((figure(&verdict).1 - value as f64).abs() < 1e-9);
    }
}

#[test]
fn j7_loads_of_two_places_are_summed_and_concentrations_held_one_by_one() {
    let first = day(2025, 3, 1);
    let mut site = site((first, first), 1, 2);
    for (outfall, volume, value) in [(0, 100, 10), (1, 1000, 100)] {
        metered(&mut site, outfall, 0, first, &[volume]);
        sampled(&mut site, outfall, first, Mark::Is, value);
    }
    let both = |mut limit: Limit| {
        limit.at = vec![0, 1];
        limit
    };
    let load = both(at_most(Parameter::Load, Statistic::Total(Window::Day), Rat::whole(100)));
    let verdict = comes_to(&site, &load, Outcome::Exceeded);
    assert_eq!(figure(&verdict), (101.0, 101.0));
    let concentration = both(at_most(Parameter::Solids, Statistic::DailyMaximum, Rat::whole(60)));
    let verdict = comes_to(&site, &concentration, Outcome::Exceeded);
    assert_eq!(figure(&verdict), (100.0, 100.0));
}

fn storm(over_mm: i64, below_m: Option<i64>, after_days: i64) -> Limit {
    Limit {
        except: Some(Except {
            over_mm: Rat::whole(over_mm),
            in_hours: 24,
            below_m: below_m.map(Rat::whole),
            after_days: Some(after_days),
            holds_days: 7,
        }),
        ..limit(Parameter::Solids, Statistic::NoDischarge)
    }
}

/// Hourly rain from the start of the first day to the end of the last: 5 mm in each hour between the two.
fn hourly(site: &mut Site, days: (Day, Day), wet: (i64, i64)) {
    let (mut from, to) = (days.0 * 1440, (days.1 + 1) * 1440);
    while from < to {
        let depth = if wet.0 <= from && from < wet.1 { 5 } else { 0 };
        site.rain.push(Rain { from, to: from + 60, depth: Rat::whole(depth) });
        from += 60;
    }
}

fn seen_flowing(site: &mut Site, at: i64) {
    site.looks.push(Look { outfall: 0, when: When::At(at), flowing: true });
}

#[test]
fn j8_a_storm_goes_on_after_midnight_and_excuses_no_day_after_it_unless_typed() {
    let ninth = day(2025, 6, 9);
    for (on, hour, after, outcome) in
        [(ninth, 20, 0, Outcome::Met), (ninth + 2, 9, 0, Outcome::Exceeded), (ninth + 2, 9, 1, Outcome::Met)]
    {
        let mut site = site((on, on), 1, 1);
        site.day_start = 0;
        site.as_of = ninth + 5;
        hourly(&mut site, (ninth - 5, ninth + 5), (ninth * 1440 + 18 * 60, (ninth + 1) * 1440 + 6 * 60));
        seen_flowing(&mut site, on * 1440 + hour * 60);
        comes_to(&site, &storm(50, None, after), outcome);
    }
}

#[test]
fn j9_the_last_level_before_a_storm_decides() {
    let fifteenth = day(2025, 6, 15);
    let mut site = site((fifteenth, fifteenth), 1, 1);
    site.day_start = 0;
    site.as_of = fifteenth + 3;
    let begins = fifteenth * 1440 + 3 * 60;
    hourly(&mut site, (fifteenth - 5, fifteenth + 3), (begins, begins + 18 * 60));
    seen_flowing(&mut site, fifteenth * 1440 + 12 * 60);
    for (on, value) in [(fifteenth - 6, 10), (fifteenth - 1, 25)] {
        site.levels.push(Level { when: When::Date(on), freeboard: false, value: Rat::tenths(value) });
    }
    comes_to(&site, &storm(50, Some(2), 0), Outcome::Exceeded);
    site.levels.pop();
    comes_to(&site, &storm(50, Some(2), 0), Outcome::Met);
}

#[test]
fn j10_a_value_equal_to_a_bound_that_must_be_undercut_breaks_it() {
    let mut site = site((day(2025, 1, 1), day(2025, 12, 31)), 1, 1);
    for (month, value) in [(1, 15), (2, 20), (3, 20), (4, 25)] {
        sampled(&mut site, 0, day(2025, month, 5), Mark::Is, value);
    }
    let mut limit = limit(Parameter::Solids, Statistic::Percentile(vec![(4, 7, 1)]));
    limit.upper = Some((Rat::whole(20), true));
    comes_to(&site, &limit, Outcome::Exceeded);
}

#[test]
fn j11_every_run_of_so_many_days_needs_its_sample() {
    let first = day(2025, 3, 1);
    for (on, expected) in [(&[1, 11, 20][..], Kept::Done), (&[1, 20][..], Kept::Missed)] {
        let mut site = site((first, day(2025, 3, 20)), 1, 1);
        for on in on {
            sampled(&mut site, 0, day(2025, 3, *on), Mark::Is, 7);
        }
        let mut limit = at_most(Parameter::Solids, Statistic::EveryReading, Rat::whole(9));
        limit.in_force = (Some(first), None);
        limit.duty = Some(Duty { stretch: Stretch::Days(10), with_a_discharge: false });
        assert_eq!(duty_kept(&site, &limit, Some(0)), Some(expected));
    }
}

#[test]
fn j12_a_total_follows_what_the_permit_counts_below_detection() {
    let first = day(2025, 3, 1);
    for (bound, outcome) in [(6, Outcome::Met), (1, Outcome::Exceeded)] {
        let mut site = site((first, day(2025, 3, 31)), 1, 1);
        let mut volumes = vec![0; 31];
        volumes[9] = 100;
        volumes[10] = 100;
        metered(&mut site, 0, 0, first, &volumes);
        for on in [9, 10] {
            sampled(&mut site, 0, first + on, Mark::Less, 5);
        }
        let statistic = Statistic::Total(Window::Month);
        let mut limit = at_most(Parameter::Load, statistic, Rat::tenths(bound));
        limit.counting.below = Some(Below::Number(Rat::whole(1)));
        let verdict = comes_to(&site, &limit, outcome);
        assert_eq!(worst(&verdict).figure.and_then(|f| f.counted), Some(0.2));
    }
}

#[test]
fn j13_the_worst_of_all_answers_stands() {
    let first = day(2025, 3, 1);
    let mut site = site((first, first), 1, 1);
    sampled(&mut site, 0, first, Mark::Is, 4);
    sampled(&mut site, 0, first, Mark::Is, 8);
    let mut limit = limit(Parameter::Solids, Statistic::DailyMinimum);
    limit.lower = Some((Rat::whole(5), false));
    comes_to(&site, &Limit { counting: counting(), ..limit.clone() }, Outcome::Met);
    limit.counting.several = None;
    let verdict = comes_to(&site, &limit, Outcome::Exceeded);
    assert_eq!(figure(&verdict), (4.0, 4.0));
}

#[test]
fn j16_a_week_over_a_months_edge_is_whole_the_one_months_or_the_others() {
    for (belongs, average) in [(Belongs::Starts, Some(40.0)), (Belongs::Ends, None), (Belongs::Most, Some(40.0))] {
        let mut site = site((day(2025, 1, 26), day(2025, 2, 1)), 1, 1);
        sampled(&mut site, 0, day(2025, 1, 30), Mark::Is, 20);
        sampled(&mut site, 0, day(2025, 2, 1), Mark::Is, 60);
        let statistic = Statistic::Average(Window::Week);
        let mut limit = at_most(Parameter::Solids, statistic, Rat::whole(30));
        limit.months = Some((1, 1));
        limit.counting.belongs = Some(belongs);
        let verdict = judge(&site, &limit);
        let found = verdict.windows.first().and_then(|window| window.figure);
        assert_eq!(found.map(|figure| figure.lo), average);
    }
}

#[test]
fn j17_a_permit_years_total_reaches_before_the_period() {
    let mut site = site((day(2025, 3, 1), day(2025, 12, 31)), 1, 1);
    metered(&mut site, 0, 0, day(2025, 1, 1), &[10; 365]);
    let limit = at_most(Parameter::Water, Statistic::Total(Window::Year), Rat::whole(3500));
    let verdict = comes_to(&site, &limit, Outcome::Exceeded);
    assert_eq!(figure(&verdict), (3650.0, 3650.0));
}

#[test]
fn j18_a_week_that_the_period_cuts_has_its_sample_wherever_in_it() {
    let mut site = site((day(2025, 3, 5), day(2025, 3, 15)), 1, 1);
    for on in [3, 10] {
        site.levels.push(Level {
            when: When::At(day(2025, 3, on) * 1440 + 9 * 60),
            freeboard: true,
            value: Rat::whole(3),
        });
    }
    let mut limit = limit(Parameter::Freeboard, Statistic::EveryReading);
    limit.lower = Some((Rat::whole(2), false));
    limit.duty = Some(Duty { stretch: Stretch::Week, with_a_discharge: false });
    comes_to(&site, &limit, Outcome::Met);
}
