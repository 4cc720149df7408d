//! Limits by which an option comes out worse, held by laws and by hand.

#![cfg(test)]

use super::*;
use crate::compare::predicted::Past;
use crate::compare::{Answer, Verdict};
use proptest::prelude::*;
use std::slice::from_ref;

fn past(figures: &[f64], upper: f64) -> Past {
    Past {
        worst: figures[0],
        middle: {
            let mut all = figures.to_vec();
            all.sort_by(f64::total_cmp);
            all[(all.len() - 1) / 2]
        },
        draws: figures.to_vec(),
        windows: Vec::new(),
        upper: Some(upper),
        lower: None,
        per_m3: None,
        is_removal: false,
        unit: "mg/L".to_owned(),
    }
}

fn limit(outcome: Outcome, figure: &str) -> Predicted {
    Predicted {
        name: "Solids".to_owned(),
        bound: "at most 500 mg/L".to_owned(),
        outcome: Some(outcome),
        share_outside: Some(if outcome == Outcome::PredictedOutside { 1.0 } else { 0.0 }),
        figure: figure.to_owned(),
        past: figure.split(' ').next().and_then(|worst| worst.parse().ok()).map(|worst| past(&[worst], 500.0)),
    }
}

/// A limit of an option with these figures in the draws.
fn drawn(figures: &[f64], upper: f64) -> Predicted {
    let over = figures.iter().filter(|figure| **figure > upper).count();
    let outcome = match over {
        0 => Outcome::PredictedWithin,
        all if all == figures.len() => Outcome::PredictedOutside,
        _ => Outcome::Undecided,
    };
    Predicted {
        share_outside: Some(over as f64 / figures.len() as f64),
        past: Some(past(figures, upper)),
        ..limit(outcome, &format!("{} mg/L", figures[0]))
    }
}

/// So many times what is computed was sampled, at least and at most.
pub(crate) fn band(low: f64, high: f64) -> Doubt {
    Doubt {
        limit: "Solids".to_owned(),
        why: "on 12 Aug 2014 510 mg/L sampled, 140 computed".to_owned(),
        ends: Vec::new(),
        decides_nothing: false,
        is_too_low: false,
        is_exceeded: false,
        low,
        high,
        more: 0.0,
        less: 0.0,
        seasons: crate::compare::Seasons::new(),
        floor: 0.0,
        more_m3: 0.0,
        how: "sampled",
    }
}

fn words_of(with: &Predicted, was: &Predicted, doubt: &Doubt) -> Vec<(bool, String)> {
    let found = worse(from_ref(with), from_ref(was), from_ref(doubt));
    found.iter().map(|of| (of.is_outside(), of.words(&str::to_owned))).collect()
}

/// At 3.6 times what is computed 389 mg/L are 1400: over 500 and under 5000, and 155 mg/L are 558.
#[test]
fn what_was_sampled_more_says_how_far_a_limit_must_be_to_be_kept() {
    let (stands, option) = (drawn(&[155.0], 500.0), drawn(&[389.0], 500.0));
    let told = words_of(&option, &stands, &band(1.0, 3.6));
    let words = "Solids (at most 500 mg/L) comes out at 389 mg/L, 155 mg/L as it stands; by what was sampled it may be up to \
                 1400 mg/L";
    assert_eq!(told, [(false, words.to_owned())]);
    // Where nothing moves or nothing flows, and where samples are repeated, it is no worse.
    assert_eq!(words_of(&stands, &stands, &band(1.0, 3.6)), []);
    assert_eq!(words_of(&limit(Outcome::PredictedWithin, NOTHING_FLOWS), &stands, &band(1.0, 3.6)), []);
    assert_eq!(worse(from_ref(&option), from_ref(&stands), &[]), []);
    let far = [drawn(&[389.0], 5000.0), drawn(&[155.0], 5000.0)];
    assert_eq!(words_of(&far[0], &far[1], &band(1.0, 3.6)), []);
    assert_eq!(believed(&far[0], Some(&band(1.0, 3.6))), Some(Outcome::PredictedWithin));
    // Sampled where nothing is computed, no limit is far enough.
    let told = words_of(&far[0], &far[1], &band(1.0, f64::INFINITY));
    assert!(told[0].1.ends_with("something was sampled where nothing is computed"), "{told:?}");
}

/// At 0.54 times what is computed 462 mg/L are 249, and 1000 are 540.
#[test]
fn outside_is_told_only_where_it_is_so_at_the_least_that_was_sampled() {
    let stands = drawn(&[155.0], 400.0);
    let told = words_of(&drawn(&[462.0], 400.0), &stands, &band(0.54, 2.9));
    let words = "Solids (at most 500 mg/L) comes out at 462 mg/L, 155 mg/L as it stands; by what was sampled it may be as little \
                 as 250 mg/L";
    assert_eq!(told, [(false, words.to_owned())]);
    assert!(words_of(&drawn(&[1000.0], 400.0), &stands, &band(0.54, 2.9))[0].0);
    // One draw that may be kept is enough.
    assert!(!words_of(&drawn(&[1000.0, 700.0], 400.0), &stands, &band(0.54, 2.9))[0].0);
}

/// 90 % kept back let 10 % through; at 1.6 times that, 84 % are kept back: under 85 %.
#[test]
fn of_a_share_that_is_kept_back_what_comes_through_is_what_was_sampled() {
    let of = |kept: f64| {
        let past =
            Past { upper: None, lower: Some(85.0), is_removal: true, unit: "%".to_owned(), ..past(&[kept], 0.0) };
        Predicted { past: Some(past), ..limit(Outcome::PredictedWithin, &format!("{kept} %")) }
    };
    let told = words_of(&of(90.0), &of(95.0), &band(1.0, 1.6));
    assert!(told[0].1.ends_with("it may be as little as 84 %"), "{told:?}");
    assert_eq!(words_of(&of(92.0), &of(95.0), &band(1.0, 1.6)), []);
}

/// 31 mg/L sampled where 5 are computed: 260 may be 286, over 280 and under 300, and nothing is under the 31.
#[test]
fn what_was_sampled_far_below_the_figure_adds_to_it() {
    let band = Doubt { more: 26.0, floor: 31.0, ..band(1.0, 1.0) };
    let worse = |figure: f64, upper: f64| {
        worse(from_ref(&drawn(&[figure], upper)), from_ref(&drawn(&[figure / 2.0], upper)), from_ref(&band)).len()
    };
    assert_eq!((worse(260.0, 280.0), worse(260.0, 300.0)), (1, 0));
    assert_eq!((worse(4.0, 30.5), worse(4.0, 31.5)), (1, 0));
}

/// The site is within in the computation and its records are not: no option that stays as it is comes within by itself.
#[test]
fn what_the_records_have_exceeded_stands_behind_a_yes_until_it_is_shown_to_come_within() {
    let exceeded = ["Solids".to_owned()];
    let told = |with: &Predicted, was: &Predicted, doubts: &[Doubt]| {
        stands_behind(from_ref(with), from_ref(was), doubts, &exceeded)
    };
    let words = ["not shown to come within Solids, which the records have exceeded"];
    let site = drawn(&[9.0, 11.0], 10.0);
    assert_eq!(told(&site, &site, &[]), words);
    let too_low = Doubt { is_too_low: true, ..band(1.0, 1.0) };
    assert_eq!(told(&drawn(&[5.0], 10.0), &drawn(&[5.0], 10.0), &[too_low]), words);
    // Computed outside as the records have it, and within with the option: mended.
    assert!(told(&drawn(&[5.0], 10.0), &drawn(&[12.0], 10.0), &[]).is_empty());
    // Outside in every draw it is told in plain type.
    assert!(told(&drawn(&[12.0], 10.0), &drawn(&[12.0], 10.0), &[]).is_empty());
    assert!(stands_behind(from_ref(&site), from_ref(&site), &[], &[]).is_empty());
}

/// What the limit is on file as, at a bound: exceeded by what was recorded or kept, the site computed outside or not. What was recorded is in the
/// band.
fn on_file(band: &Doubt, recorded: f64, upper: f64, was: &Predicted) -> (Doubt, Vec<String>) {
    let is_over = recorded > upper;
    let of = Doubt { decides_nothing: !is_over && outside(Some(was)), is_exceeded: is_over, ..band.clone() };
    (of, if is_over { vec!["Solids".to_owned()] } else { Vec::new() })
}

/// The answer of an option with these figures in the draws against a site with those, at a limit.
fn kind(option: &[f64], site: &[f64], upper: f64, (of, recorded): (&Doubt, f64), money: &Verdict) -> Answer {
    let (with, was) = (drawn(option, upper), drawn(site, upper));
    let (band, exceeded) = on_file(of, recorded, upper, &was);
    let (with, was, band) = (from_ref(&with), from_ref(&was), from_ref(&band));
    let found = worse(with, was, band);
    let stays = !stays_outside(with, was, band).is_empty();
    let behind = !stands_behind(with, was, band, &exceeded).is_empty();
    Answer::by_limits(&found, stays, behind, money, true)
}

proptest! {
    /// Swept finely past everything that is computed or sampled, a stricter limit is never told more kindly, whatever the option's draws are
    /// beside the site's, nearer by a hair or by half, wider or narrower.
    #[test]
    fn a_stricter_limit_is_never_told_more_kindly(
        site in 50.0_f64..500.0,
        spread in prop_oneof![Just(0.0_f64), 0.001_f64..0.02, 0.02_f64..0.6],
        parts in prop::collection::vec(0.0_f64..1.0, 1..25),
        times in prop_oneof![Just(1.0_f64), 0.985_f64..1.015, 0.9_f64..1.1, 0.3_f64..3.0],
        wider in prop_oneof![Just(1.0_f64), 0.5_f64..2.0],
        is_sampled in any::<bool>(),
        share in 0.0_f64..1.0,
        (low, high) in (0.2_f64..1.0, 1.0_f64..4.0),
        money in prop_oneof![Just(Verdict::Saves(1.0)), Just(Verdict::Costs(0.0)), Just(Verdict::Open(0.5))],
    ) {
        let (low, high) = if is_sampled { (low, high) } else { (1.0, 1.0) };
        let stands: Vec<f64> = parts.iter().map(|of| site * (1.0 + spread * of)).collect();
        let option: Vec<f64> = parts.iter().map(|of| site * times * (1.0 + spread * wider * of)).collect();
        // The highest that is on file lies in the band, which is made of what is on file.
        let recorded = stands[0] * (low + share * (high - low));
        let of = band(low, high);
        let all = || stands.iter().chain(&option).flat_map(|of| [*of, of * low, of * high]).chain([recorded]);
        let (least, most) = all().fold((f64::INFINITY, 0.0_f64), |(a, b), of| (a.min(of), b.max(of)));
        let mut bounds: Vec<f64> = (0..=200).map(|n| least * 0.95 + (most * 1.05 - least * 0.95) * f64::from(n) / 200.0).collect();
        // And just beside each figure, where the shares move.
        bounds.extend(all().flat_map(|of| [of * (1.0 - 1e-6), of * (1.0 + 1e-6)]));
        bounds.sort_by(f64::total_cmp);
        let told = |upper: f64| kind(&option, &stands, upper, (&of, recorded), &money);
        let mut stricter = (0.0, Answer::No);
        for upper in bounds {
            let here = told(upper);
            prop_assert!(stricter.1 <= here, "{:?} at {}, {here:?} at {upper}", stricter.1, stricter.0);
            stricter = (upper, here);
        }
    }

    /// A figure nearer to its limit, and samples that are further off, never give a kinder verdict.
    #[test]
    fn nothing_that_is_worse_is_kinder(
        site in 50.0_f64..500.0,
        figures in prop::collection::vec(1.0_f64..1.6, 1..30),
        times in prop_oneof![Just(1.0_f64), 0.98_f64..1.02, 0.3_f64..3.0],
        share in 0.0_f64..1.0,
        upper in 60.0_f64..3000.0,
        (low, high) in (0.2_f64..1.0, 1.0_f64..4.0),
        by in 1.0_f64..2.0,
    ) {
        let all = |times: f64| figures.iter().map(|of| of * site * times).collect::<Vec<f64>>();
        let recorded = site * (low + share * (high - low));
        let of = |times: f64, band: &Doubt| kind(&all(times), &all(1.0), upper, (band, recorded), &Verdict::Saves(1.0));
        let here = of(times, &band(low, high));
        prop_assert!(of(times * by, &band(low, high)) <= here, "nearer");
        // A wider band never makes anything firmer: a yes no yes, a no no no.
        let wider = of(times, &band(low / by, high * by));
        let open = Answer::NotDecided;
        let is_no_firmer = if here < open { here <= wider && wider <= open } else { open <= wider && wider <= here };
        prop_assert!(is_no_firmer, "{here:?} became {wider:?}");
    }
}

/// All draws of an option are outside and one of the site's is not, while its highest are lower; the records have it kept. Found by the law.
#[test]
fn narrower_draws_that_all_lie_outside_are_no_more_kindly_told_at_a_stricter_limit() {
    let (site, option) = ([50.0, 59.2], [50.2, 54.8]);
    let of = |upper: f64| kind(&option, &site, upper, (&band(0.2, 1.0), 10.0), &Verdict::Saves(1.0));
    assert_eq!((of(49.9), of(50.1), of(60.0)), (Answer::NotDecided, Answer::NotDecided, Answer::Yes));
}

/// 6.9 mg/L as it stands and at most 6: what is at 7.0 is about as far as what is at 6.9, and 7.3 are not.
#[test]
fn two_options_about_as_far_outside_are_of_one_class() {
    let site = [6.8, 6.9, 7.0];
    let of = |option: &[f64]| kind(option, &site, 6.0, (&band(1.0, 1.0), 6.9), &Verdict::Saves(1.0));
    assert_eq!(of(&site), Answer::DoesNotComply(true));
    assert_eq!(of(&[6.9, 7.0, 7.1]), Answer::DoesNotComply(true));
    assert_eq!(of(&[7.2, 7.3, 7.4]), Answer::No);
}

/// The records have 950 of at most 900, and 570 are computed: 790 are further outside, 560 are as the site is.
#[test]
fn what_goes_by_far_further_than_a_site_whose_records_are_outside_is_a_no() {
    let exceeded = Doubt { is_exceeded: true, ..band(0.9, 950.0 / 570.0) };
    let told = words_of(&drawn(&[790.0], 900.0), &drawn(&[570.0], 900.0), &exceeded);
    let words = "further outside of Solids (at most 500 mg/L), which the records have exceeded: computed at 790 mg/L, 570 mg/L as it \
                 stands";
    assert_eq!(told, [(true, words.to_owned())]);
    // By 2 %: not decided, and not told as if the site kept it.
    let told = words_of(&drawn(&[582.0], 900.0), &drawn(&[570.0], 900.0), &exceeded);
    assert!(!told[0].0 && told[0].1.contains("570 mg/L as it stands, where the records have it exceeded;"), "{told:?}");
    assert_eq!(words_of(&drawn(&[560.0], 900.0), &drawn(&[570.0], 900.0), &exceeded), []);
    // Outside in every draw where it is undecided as it stands: exceeded, not undecided.
    let told = words_of(&drawn(&[2000.0], 900.0), &drawn(&[950.0, 850.0], 900.0), &exceeded);
    assert!(told[0].1.ends_with("exceeded by its records as it stands"), "{told:?}");
}

/// Samples have half more: all are within 11.5 as computed, and four draws in five outside of it by the samples, with the site as with the
/// option. A tenth more on the limit is told no less kindly.
#[test]
fn hardly_nearer_is_no_yes_where_most_draws_are_outside_by_what_was_sampled() {
    let site = [7.6, 7.7, 7.8, 7.9, 8.0];
    let by = |times: f64| site.map(|of| of * times);
    let of = |option: [f64; 5], upper: f64| kind(&option, &site, upper, (&band(1.0, 1.5), 8.0), &Verdict::Saves(1.0));
    assert_eq!((of(by(1.005), 11.5), of(by(1.005), 11.6)), (Answer::NotDecided, Answer::NotDecided));
    // Two of five: a yes with the share behind it where it comes hardly nearer, none where it comes clearly nearer.
    assert_eq!((of(by(1.005), 11.9), of(by(1.02), 11.95)), (Answer::YesIf, Answer::NotDecided));
    assert_eq!((of(site, 11.5), of(by(1.005), 12.1)), (Answer::Yes, Answer::Yes));
}

/// Winters computed at three times the samples, a summer at a third of them: neither yes nor no.
#[test]
fn what_the_report_has_the_other_way_decides_nothing() {
    let (stands, option) = (drawn(&[155.0], 5000.0), drawn(&[389.0], 5000.0));
    let exceeded = Doubt { is_too_low: true, ..band(1.0, 1.0) };
    assert_eq!(words_of(&option, &stands, &exceeded).len(), 1);
    assert_eq!(believed(&option, Some(&exceeded)), Some(Outcome::Undecided));
    let (stands, option) = (drawn(&[155.0], 100.0), drawn(&[389.0], 100.0));
    let kept = Doubt { decides_nothing: true, ..band(1.0, 1.0) };
    let told = words_of(&option, &stands, &kept);
    assert!(
        !told[0].0
            && told[0].1.contains("comes out at 389 mg/L, at 155 mg/L as it stands, but the records have it kept"),
        "{told:?}"
    );
    // Exceeded and computed outside agree.
    assert!(words_of(&option, &stands, &exceeded)[0].0);
}

/// One draw of 33 is outside, and none as it stands: no worse, and told.
#[test]
fn a_few_draws_outside_stand_behind_the_yes() {
    let draws = |last: f64| [vec![150.0; 32], vec![last]].concat();
    let (stands, option) = (drawn(&draws(150.0), 160.0), drawn(&draws(161.0), 160.0));
    let of = |doubts: &[Doubt]| nearly_kept(from_ref(&option), from_ref(&stands), doubts);
    assert_eq!(worse(from_ref(&option), from_ref(&stands), &[]), []);
    assert_eq!(of(&[]), ["outside of Solids in 3 % of the draws"]);
    assert_eq!(nearly_kept(from_ref(&stands), from_ref(&stands), &[]), Vec::<String>::new());
    // At the most that was sampled one draw of 33 more.
    let (stands, option) = (drawn(&draws(150.0), 180.0), drawn(&draws(170.0), 180.0));
    let told = nearly_kept(from_ref(&option), from_ref(&stands), &[band(1.0, 1.1)]);
    assert_eq!(told, ["outside of Solids, by what was sampled, in 3 % of the draws"]);
}

/// 440 gal a day more were metered in a summer month: 1440 are then 1880, over 1800, which 1310 as it stands are not.
#[test]
fn what_was_metered_more_in_a_month_speaks_of_a_days_water() {
    const GAL_A_M3: f64 = 1.0 / 0.003_785_411_784;
    let of = |worst: f64| Predicted {
        past: Some(Past { per_m3: Some(GAL_A_M3), ..past(&[worst], 1800.0) }),
        ..limit(Outcome::PredictedWithin, &format!("{worst} gal"))
    };
    let more = Doubt { more_m3: 440.0 / GAL_A_M3, ..band(1.0, 1.0) };
    let worse = |with: f64| worse(from_ref(&of(with)), from_ref(&of(1310.0)), from_ref(&more)).len();
    assert_eq!((worse(1440.0), worse(1350.0)), (1, 0));
}

#[test]
fn who_is_outside_and_goes_further_is_worse() {
    let (stands, option) =
        (limit(Outcome::PredictedOutside, "620 mg/L"), limit(Outcome::PredictedOutside, "1860 mg/L"));
    let found = worse(from_ref(&option), from_ref(&stands), &[]);
    assert!(found[0].is_outside());
    assert_eq!(
        found[0].words(&str::to_owned),
        "further outside of Solids (at most 500 mg/L) at 1860 mg/L, 620 mg/L as it stands"
    );
    // Below a least bound further is less.
    let least = |outcome, figure: &str, worst| Predicted {
        past: Some(Past { upper: None, lower: Some(85.0), is_removal: true, ..past(&[worst], 0.0) }),
        ..limit(outcome, figure)
    };
    let (stands, option) =
        (least(Outcome::PredictedOutside, "80 %", 80.0), least(Outcome::PredictedOutside, "60 %", 60.0));
    assert_eq!(worse(from_ref(&option), from_ref(&stands), &[]).len(), 1);
    assert_eq!(worse(from_ref(&stands), from_ref(&option), &[]), []);
}

#[test]
fn what_is_outside_as_before_is_no_worse_and_is_told() {
    let (stands, option) = (limit(Outcome::PredictedOutside, "620 mg/L"), limit(Outcome::PredictedOutside, "610 mg/L"));
    let of = |doubts: &[Doubt]| stays_outside(from_ref(&option), from_ref(&stands), doubts).len();
    assert_eq!(worse(from_ref(&option), from_ref(&stands), &[]), []);
    // Outside at the least that was sampled too it is outside; where that would be kept, it is not told.
    assert_eq!((of(&[]), of(&[band(0.9, 4.0)]), of(&[band(0.5, 1.0)])), (1, 1, 0));
    // Then nobody knows; where the records have it exceeded, it is as the site is.
    let unknown = worse(from_ref(&option), from_ref(&stands), &[band(0.5, 1.0)]);
    assert!(unknown.len() == 1 && !unknown[0].is_outside(), "{unknown:?}");
    let exceeded = Doubt { is_exceeded: true, ..band(0.5, 1.0) };
    let as_it_is = |of: &Predicted| {
        let stays = stays_outside(from_ref(of), from_ref(&stands), from_ref(&exceeded)).len();
        (stays, worse(from_ref(of), from_ref(&stands), from_ref(&exceeded)).len())
    };
    // 610 are clearly less than 620, and 618 are not.
    let hardly_less = limit(Outcome::PredictedOutside, "618 mg/L");
    assert_eq!((as_it_is(&option), as_it_is(&hardly_less)), ((0, 1), (1, 0)));
    let mended = limit(Outcome::PredictedWithin, "100 mg/L");
    assert!(stays_outside(from_ref(&mended), from_ref(&stands), &[]).is_empty());
}

#[test]
fn shares_of_draws_outside_are_told_of_both() {
    let (stands, option) =
        (drawn(&[100.0, 100.0, 100.0, 100.0, 600.0], 500.0), drawn(&[700.0, 700.0, 700.0, 700.0, 100.0], 500.0));
    let found = worse(from_ref(&option), from_ref(&stands), &[]);
    assert_eq!(found[0].was_outside(), Some(0.2));
    assert_eq!(found[0].words(&str::to_owned), "outside of Solids in 80 % of the draws, in 20 % as it stands");
    let alone = worse(from_ref(&option), &[], &[]);
    assert!(alone.iter().all(|of| of.was_outside().is_none()));
}
