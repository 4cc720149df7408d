//! One stage of a store's day, exact for a volume that is linear in time: n equal cells in series, settling,
//! through-flow.
//!
//! With `dt = V dτ` the cells obey `dm_j/dτ = b_{j−1} m_{j−1} − (b_j + s) m_j` with constant coefficients, b linear in
//! j: a pure birth process, whose solution is closed. One exponential for each constituent; the weights between cells
//! are shared by all. Mass is exact by construction whatever the rounding, because each cell's close is capped by what
//! it holds and receives and the rest is passed on.

use crate::balance::lanes::V;

/// Most cells a store may have.
pub(crate) const MAX_CELLS: usize = 10;

/// Volumes and flows of a stage. Flows are m³ for a whole step; `tau` is the stage's part of the step.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Stage<const L: usize> {
    pub tau: V<L>,
    pub from_m3: V<L>,
    pub to_m3: V<L>,
    pub in_m3: V<L>,
    pub out_m3: V<L>,
}

/// What all constituents of a stage share.
pub(crate) struct Shared<const L: usize> {
    cells: usize,
    lambda: V<L>,
    u: V<L>,
    /// b_0 … b_n.
    b: [V<L>; MAX_CELLS + 1],
    /// e^(−b₀Λ).
    decay_0: V<L>,
    /// w_ij at `i * cells + j`, cells from 0, without e^(−b₀Λ) … included.
    w: [V<L>; MAX_CELLS * MAX_CELLS],
    /// V_b·Π b_l/l for l below j.
    inflow_factor: [V<L>; MAX_CELLS],
    tau: V<L>,
}

impl<const L: usize> Shared<L> {
    /// Prepares a stage for a store of `cells` cells (1 to [`MAX_CELLS`]).
    #[cfg_attr(not(debug_assertions), inline(always))]
    pub fn new(stage: &Stage<L>, cells: usize) -> Self {
        let n = cells.clamp(1, MAX_CELLS);
        let nf = n as f64;
        let tau = stage.tau;
        // Keeps an empty store's divisions finite; inside this stage only.
        let pad = (stage.from_m3 + stage.to_m3) * 1e-12 + 1e-9;
        let va = stage.from_m3 + pad;
        let vb = stage.to_m3 + pad;
        let difference = vb - va;
        let sum = vb + va;
        let z = difference / sum;
        let z2 = z * z;
        let series = tau * 2.0 / sum
            * (((((z2 * (1.0 / 9.0) + 1.0 / 7.0) * z2) + 1.0 / 5.0) * z2 + 1.0 / 3.0) * z2 + 1.0);
        let rho = vb / va;
        let small = z.abs().lt(V::splat(0.02));
        let lambda = if small.any() && !(!small).any() {
            series
        } else {
            small.pick(
                series,
                tau * rho.ln() / small.pick(V::splat(1.0), difference),
            )
        };
        let u = tau / va;
        let mut b = [V::zero(); MAX_CELLS + 1];
        let slope = stage.out_m3 - stage.in_m3;
        for (j, b_j) in b.iter_mut().enumerate().take(n + 1) {
            *b_j = (stage.in_m3 * nf + slope * (j as f64)).pos();
        }
        let decay_0 = (-(b[0] * lambda)).exp();
        let mut w = [V::zero(); MAX_CELLS * MAX_CELLS];
        let mut inflow_factor = [V::zero(); MAX_CELLS];
        let mut rho_i = V::splat(1.0);
        for i in 0..n {
            rho_i = rho_i * rho;
            let mut weight = decay_0 * rho_i;
            for j in i..n {
                w[i * n + j] = weight;
                // From cell j to the next: times b_(j+1)·u/(j − i + 1), cells counted from 0.
                weight = weight * b[j + 1] * u * (1.0 / ((j - i + 1) as f64));
            }
        }
        let mut factor = vb;
        for (j, slot) in inflow_factor.iter_mut().enumerate().take(n) {
            *slot = factor;
            factor = factor * b[j + 1] * (1.0 / ((j + 1) as f64));
        }
        Self {
            cells: n,
            lambda,
            u,
            b,
            decay_0,
            w,
            inflow_factor,
            tau,
        }
    }

    /// Carries one constituent through the stage. `cells` are the masses (kg), `inflow` the mass that comes in over a
    /// whole step, `s` its settling velocity × area (m³ for a whole step). Returns (left with the outflow, settled).
    #[cfg_attr(not(debug_assertions), inline(always))]
    pub fn carry(&self, cells: &mut [V<L>], inflow: V<L>, s: V<L>) -> (V<L>, V<L>) {
        let n = self.cells;
        let settle = (-(s * self.lambda)).exp();
        let decay = self.decay_0 * settle;
        let m_rate = inflow;
        // J_1 = (1 − e^(−xΛ))/x with x = b₀ + s.
        let x = self.b[0] + s;
        let y = x * self.lambda;
        let series = self.lambda
            * (((y * (1.0 / 120.0) - 1.0 / 24.0) * y + 1.0 / 6.0) * y * y + (y * -0.5 + 1.0));
        let small = y.lt(V::splat(1e-3));
        let closed = (V::splat(1.0) - decay) / small.pick(V::splat(1.0), x);
        let mut integral = small.pick(series, closed);
        let mut u_power = V::splat(1.0);
        let mut after = [V::zero(); MAX_CELLS];
        for (j, slot) in after.iter_mut().enumerate().take(n) {
            let mut sum = V::zero();
            for (i, m) in cells.iter().enumerate().take(j + 1) {
                sum += *m * self.w[i * n + j];
            }
            *slot = sum * settle + m_rate * integral * self.inflow_factor[j];
            if j + 1 < n {
                u_power = u_power * self.u;
                let rate = self.b[j + 1] + s;
                let next = integral * ((j + 1) as f64) - u_power * decay;
                integral = next.pos().over(rate);
            }
        }
        let mut incoming = inflow * self.tau;
        let mut settled = V::zero();
        for j in 0..n {
            let available = incoming + cells[j];
            let rate = self.b[j + 1];
            let total = rate + s;
            // Where nothing flows on and nothing settles, what rounding takes stays.
            let leaves = total.gt(V::zero());
            let removed = leaves.pick((available - after[j]).pos(), V::zero());
            cells[j] = available - removed;
            let onward = removed * rate.over(total);
            settled += removed - onward;
            incoming = onward;
        }
        (incoming, settled)
    }
}

/// Takes a draw of `drawn_m3` out of a store of `volume_m3` from its outlet end; what remains is cut into n equal cells
/// again. Cells and share drawn are handled for one constituent; returns the mass drawn.
#[cfg_attr(not(debug_assertions), inline(always))]
pub(crate) fn draw<const L: usize>(cells: &mut [V<L>], share: V<L>) -> V<L> {
    let n = cells.len().min(MAX_CELLS);
    let keep = V::splat(1.0) - share;
    if n == 1 {
        let taken = cells[0] * share;
        cells[0] -= taken;
        return taken;
    }
    let mut total = V::zero();
    for m in cells.iter() {
        total += *m;
    }
    let mut after = [V::zero(); MAX_CELLS];
    let mut left = V::zero();
    for (j, slot) in after.iter_mut().enumerate().take(n) {
        // New cell j covers old positions from j·keep to (j + 1)·keep, in cells.
        let from = keep * (j as f64);
        let to = keep * ((j + 1) as f64);
        for (i, m) in cells.iter().enumerate().take(j + 1) {
            let overlap = (to.min(V::splat((i + 1) as f64)) - from.max(V::splat(i as f64))).pos();
            *slot += *m * overlap;
        }
        left += *slot;
    }
    let taken = (total - left).pos();
    // Where nothing was drawn, rounding in the overlaps must not move mass.
    let moved = share.gt(V::zero());
    for (cell, new) in cells.iter_mut().zip(after) {
        *cell = moved.pick(new, *cell);
    }
    moved.pick(taken, V::zero())
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn run(stage: Stage<1>, cells: &mut [V<1>], inflow: f64, s: f64) -> (f64, f64) {
        let shared = Shared::new(&stage, cells.len());
        let (out, settled) = shared.carry(cells, V([inflow]), V([s]));
        (out.0[0], settled.0[0])
    }

    fn stage(tau: f64, va: f64, vb: f64, qin: f64, qout: f64) -> Stage<1> {
        Stage {
            tau: V([tau]),
            from_m3: V([va]),
            to_m3: V([vb]),
            in_m3: V([qin]),
            out_m3: V([qout]),
        }
    }

    #[test]
    fn micro_case_5_a_clean_pond_fills_with_solids_as_the_exact_solution_does() {
        let mut cells = [V([0.0]); 2];
        let (out, _) = run(
            stage(1.0, 300.0, 300.0, 100.0, 100.0),
            &mut cells,
            10.0,
            200.0,
        );
        assert_relative_eq!(cells[0].0[0], 5.523_021_464, max_relative = 1e-9);
        assert_relative_eq!(cells[1].0[0], 1.443_525_041, max_relative = 1e-9);
        assert_relative_eq!(out, 0.397_482_113, max_relative = 2e-9);
        let mut last = (0.0, 0.0);
        for _ in 0..400 {
            last = run(
                stage(1.0, 300.0, 300.0, 100.0, 100.0),
                &mut cells,
                10.0,
                200.0,
            );
        }
        assert_relative_eq!(last.1, 7.5, max_relative = 1e-9);
        assert_relative_eq!(last.0 / 100.0, 0.025, max_relative = 1e-9);
        let mut still = [V([3.0]); 2];
        run(stage(1.0, 300.0, 300.0, 0.0, 0.0), &mut still, 0.0, 150.0);
        assert_relative_eq!(
            still[0].0[0] + still[1].0[0],
            3.639_183_959,
            max_relative = 1e-9
        );
    }

    #[test]
    fn micro_case_6_a_filling_pond_keeps_the_same_mass_in_one_cell_or_three() {
        for n in [1, 3] {
            let mut cells = vec![V([1.0 / f64::from(n)]); n as usize];
            let (out, settled) = run(
                stage(1.0, 200.0, 800.0, 600.0, 0.0),
                &mut cells,
                60.0,
                100.0,
            );
            let left: f64 = cells.iter().map(|c| c.0[0]).sum();
            assert_relative_eq!(left, 55.758_834_4, max_relative = 1e-8);
            assert_relative_eq!(settled, 5.241_165_63, max_relative = 1e-8);
            assert_eq!(out, 0.0);
            if n == 3 {
                assert_relative_eq!(cells[2].0[0], 10.343_879_1, max_relative = 1e-8);
            }
        }
    }

    /// Fourth-order Runge–Kutta on the cells themselves, for comparison.
    fn runge_kutta(s: &Stage<1>, cells: &[f64], inflow: f64, v_s: f64, steps: usize) -> Vec<f64> {
        let n = cells.len();
        let (tau, va, vb) = (s.tau.0[0], s.from_m3.0[0], s.to_m3.0[0]);
        let (qin, qout) = (s.in_m3.0[0], s.out_m3.0[0]);
        let rate = |t: f64, m: &[f64]| -> Vec<f64> {
            let v = va + (vb - va) * t / tau;
            let mut into = inflow;
            (0..n)
                .map(|j| {
                    let q = qin + (qout - qin) * ((j + 1) as f64) / (n as f64);
                    let out = q * m[j] * (n as f64) / v;
                    let d = into - out - v_s * m[j] / v;
                    into = out;
                    d
                })
                .collect()
        };
        let h = tau / steps as f64;
        let mut m = cells.to_vec();
        let along = |m: &[f64], k: &[f64], f: f64| -> Vec<f64> {
            m.iter().zip(k).map(|(a, b)| a + f * b).collect()
        };
        for step in 0..steps {
            let t = step as f64 * h;
            let k1 = rate(t, &m);
            let k2 = rate(t + h / 2.0, &along(&m, &k1, h / 2.0));
            let k3 = rate(t + h / 2.0, &along(&m, &k2, h / 2.0));
            let k4 = rate(t + h, &along(&m, &k3, h));
            for j in 0..n {
                m[j] += h / 6.0 * (k1[j] + 2.0 * k2[j] + 2.0 * k3[j] + k4[j]);
            }
        }
        m
    }

    #[test]
    fn the_stage_agrees_with_fine_integration() {
        for n in [1, 2, 3, 5] {
            for (va, vb, qin, qout, s) in [
                (300.0, 300.0, 100.0, 100.0, 200.0),
                (200.0, 800.0, 600.0, 0.0, 100.0),
                (800.0, 200.0, 0.0, 600.0, 50.0),
                (500.0, 520.0, 320.0, 300.0, 0.0),
                (100.0, 90.0, 300.0, 310.0, 400.0),
            ] {
                let stage = stage(0.6, va, va + 0.6 * (qin - qout), qin, qout);
                let _ = vb;
                let start: Vec<f64> = (0..n).map(|i| 1.0 + i as f64).collect();
                let mut cells: Vec<V<1>> = start.iter().map(|m| V([*m])).collect();
                run(stage, &mut cells, 7.0, s);
                let fine = runge_kutta(&stage, &start, 7.0, s, 4000);
                for (ours, theirs) in cells.iter().zip(&fine) {
                    assert!(
                        (ours.0[0] - theirs).abs() < 1e-9,
                        "{n} cells: {ours:?} {theirs}"
                    );
                }
            }
        }
    }

    #[test]
    fn extremes_neither_lose_mass_nor_go_negative() {
        let mut seed = 1_u64;
        let mut next = || {
            seed = seed
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            (seed >> 11) as f64 / (1_u64 << 53) as f64
        };
        for _ in 0..20_000 {
            let n = 1 + (next() * 6.0) as usize;
            let big = |x: f64| {
                if x < 0.2 {
                    0.0
                } else {
                    10f64.powf(x * 12.0 - 6.0)
                }
            };
            let va = big(next());
            let qin = big(next());
            let qout = big(next()).min(va + qin);
            let s = big(next());
            let stage = stage(1.0, va, (va + qin - qout).max(0.0), qin, qout);
            let inflow = if qin > 0.0 { big(next()) } else { 0.0 };
            let mut cells: Vec<V<1>> = (0..n).map(|_| V([big(next())])).collect();
            let before: f64 = cells.iter().map(|c| c.0[0]).sum::<f64>() + inflow;
            let (out, settled) = run(stage, &mut cells, inflow, s);
            let after: f64 = cells.iter().map(|c| c.0[0]).sum::<f64>() + out + settled;
            assert!(
                (before - after).abs() <= 1e-14 * before,
                "{before} {after} {n}"
            );
            assert!(out >= 0.0 && settled >= 0.0 && cells.iter().all(|c| c.0[0] >= 0.0));
        }
    }

    #[test]
    fn a_draw_leaves_equal_cells_and_takes_from_the_outlet_end() {
        // Cells of 10 m³ holding 3, 2 and 1 kg; 15 m³ drawn: the last cell, and half of the middle one.
        let mut cells = [V([3.0]), V([2.0]), V([1.0])];
        let taken = draw(&mut cells, V([0.5]));
        assert_relative_eq!(taken.0[0], 2.0, max_relative = 1e-12);
        assert_relative_eq!(cells[0].0[0], 1.5, max_relative = 1e-12);
        assert_relative_eq!(cells[1].0[0], 1.5, max_relative = 1e-12);
        assert_relative_eq!(cells[2].0[0], 1.0, max_relative = 1e-12);
    }
}
