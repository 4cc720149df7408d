//! The exact stage against fine integration of the same cells, and what must hold whatever the numbers.

use super::random::Rng;
use super::stage::{Stage, draw};

/// Masses and outflow after `steps` steps of fourth-order Runge-Kutta, cell by cell.
fn integrated(stage: &Stage, cells: &[f64], settles: f64, feed: f64, steps: usize) -> (Vec<f64>, f64) {
    let n = cells.len();
    let h = stage.days / steps as f64;
    let flow = |j: usize| stage.in_m3_d + (stage.out_m3_d - stage.in_m3_d) * j as f64 / n as f64;
    let rate = |t: f64, m: &[f64]| -> Vec<f64> {
        let cell_m3 = (stage.start_m3 + (stage.end_m3 - stage.start_m3) * t / stage.days) / n as f64;
        (0..n)
            .map(|j| {
                let arrives = if j == 0 { feed } else { flow(j) * m[j - 1] / cell_m3 };
                arrives - (flow(j + 1) + settles / n as f64) * m[j] / cell_m3
            })
            .chain(std::iter::once(flow(n) * m[n - 1] / cell_m3))
            .collect()
    };
    let mut y: Vec<f64> = cells.iter().copied().chain(std::iter::once(0.0)).collect();
    for i in 0..steps {
        let t = i as f64 * h;
        let shifted = |k: &[f64], by: f64| -> Vec<f64> { y.iter().zip(k).map(|(a, b)| a + by * b).collect() };
        let k1 = rate(t, &y);
        let k2 = rate(t + 0.5 * h, &shifted(&k1, 0.5 * h));
        let k3 = rate(t + 0.5 * h, &shifted(&k2, 0.5 * h));
        let k4 = rate(t + h, &shifted(&k3, h));
        for j in 0..=n {
            y[j] += h / 6.0 * (k1[j] + 2.0 * k2[j] + 2.0 * k3[j] + k4[j]);
        }
    }
    let out = y[n];
    y.truncate(n);
    (y, out)
}

#[test]
fn the_exact_stage_is_what_fine_integration_comes_to() {
    let mut rng = Rng::new(11);
    for n in [1, 2, 3, 5] {
        for _ in 0..9 {
            let start = rng.between(50.0, 1000.0);
            let inflow = rng.between(0.0, 500.0);
            let out = rng.between(0.0, start * 0.8);
            let stage =
                Stage { days: 1.0, start_m3: start, end_m3: start + inflow - out, in_m3_d: inflow, out_m3_d: out };
            let cells: Vec<f64> = (0..n).map(|_| rng.between(0.0, 5.0)).collect();
            let (settles, feed) = (rng.between(0.0, 300.0), rng.between(0.0, 30.0));
            let (fine, fine_out) = integrated(&stage, &cells, settles, feed, 4000);
            let mut ours = cells.clone();
            let passed = stage.run(&mut ours, settles, feed);
            // The stage adds a billionth of a cubic metre to the volumes, so that it may start or end empty.
            let through = feed + cells.iter().sum::<f64>();
            for (a, b) in ours.iter().zip(&fine) {
                assert!((a - b).abs() <= 1e-9 * through, "{stage:?} {cells:?}: {ours:?} and {fine:?}");
            }
            assert!((passed.out_kg - fine_out).abs() <= 1e-9 * through, "{stage:?}");
        }
    }
}

#[test]
fn no_stage_makes_or_loses_mass_or_leaves_less_than_none() {
    let mut rng = Rng::new(12);
    for _ in 0..20_000 {
        let n = rng.whole(1, 5);
        let mut extreme = |most: f64| {
            if rng.chance(0.2) { 0.0 } else { 10_f64.powf(rng.between(-9.0, most)) }
        };
        let (start, end) = (extreme(5.0), extreme(5.0));
        let days = 1.0;
        let inflow = (end - start).max(0.0) + extreme(4.0);
        let stage =
            Stage { days, start_m3: start, end_m3: end, in_m3_d: inflow, out_m3_d: (inflow - (end - start)).max(0.0) };
        let (settles, feed) = (extreme(5.0), extreme(3.0));
        let mut cells: Vec<f64> = (0..n).map(|_| extreme(3.0)).collect();
        let before = cells.iter().sum::<f64>() + feed * days;
        let passed = stage.run(&mut cells, settles, feed);
        let after = cells.iter().sum::<f64>() + passed.out_kg + passed.settled_kg;
        assert!((after - before).abs() <= 1e-14 * before, "{stage:?} {settles} {feed}: {before} {after}");
        assert!(
            cells.iter().all(|m| *m >= 0.0 && m.is_finite())
                && passed.out_kg >= 0.0
                && passed.settled_kg >= -1e-15 * before,
            "{stage:?} {settles} {feed}: {cells:?} {passed:?}"
        );
    }
}

#[test]
fn a_draw_takes_the_water_nearest_the_outlet_and_no_more_mass_than_there_is() {
    let mut cells = [1.0, 2.0, 3.0];
    // Half of 90 m³: the last cell whole and half of the one before it.
    let drawn = draw(&mut cells, 90.0, 45.0);
    assert!((drawn - 4.0).abs() < 1e-14);
    for (cell, expected) in cells.iter().zip([0.5, 0.5, 1.0]) {
        assert!((cell - expected).abs() < 1e-14, "{cells:?}");
    }
}
