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

/// What all constituents of a stage share; room for `N` cells.
pub(crate) struct Shared<const L: usize, const N: usize> {
    cells: usize,
    lambda: V<L>,
    u: V<L>,
    b_0: V<L>,
    /// b_1 … b_n.
    b: [V<L>; N],
    /// e^(−b₀Λ).
    decay_0: V<L>,
    /// w_ij by i, then j, cells from 0, without e^(−b₀Λ) … included.
    w: [[V<L>; N]; N],
    /// V_b·Π b_l/l for l below j.
    inflow_factor: [V<L>; N],
    tau: V<L>,
}

/// What constituents of one settling velocity share in a stage.
pub(crate) struct Settling<const L: usize, const N: usize> {
    /// e^(−sΛ).
    settle: V<L>,
    /// What each cell holds at the end of a unit of inflow.
    inflow: [V<L>; N],
    /// What of the mass that leaves a cell goes on; the rest has settled.
    onward: [V<L>; N],
    /// 1 where something flows on or settles; where nothing does, what rounding takes stays.
    leaves: [V<L>; N],
}

impl<const L: usize, const N: usize> Shared<L, N> {
    /// Prepares a stage for a store of `cells` cells (1 to `N`).
    #[cfg_attr(not(debug_assertions), inline(always))]
    pub fn new(stage: &Stage<L>, cells: usize) -> Self {
        let n = cells.clamp(1, N);
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
        let series =
            tau * 2.0 / sum * (((((z2 * (1.0 / 9.0) + 1.0 / 7.0) * z2) + 1.0 / 5.0) * z2 + 1.0 / 3.0) * z2 + 1.0);
        let rho = vb / va;
        let small = z.abs().lt(V::splat(0.02));
        let lambda = if (!small).any() {
            small.pick(series, tau * rho.ln() / small.pick(V::splat(1.0), difference))
        } else {
            series
        };
        let u = tau / va;
        let slope = stage.out_m3 - stage.in_m3;
        let b_0 = (stage.in_m3 * nf).pos();
        let decay_0 = (-(b_0 * lambda)).exp();
        let mut b = [V::zero(); N];
        let mut inflow_factor = [V::zero(); N];
        let mut factor = vb;
        for j in 0..n {
            b[j] = (stage.in_m3 * nf + slope * ((j + 1) as f64)).pos();
            inflow_factor[j] = factor;
            factor = factor * b[j] * (1.0 / ((j + 1) as f64));
        }
        let mut w = [[V::zero(); N]; N];
        let mut rho_i = V::splat(1.0);
        for (i, row) in w.iter_mut().enumerate().take(n) {
            rho_i = rho_i * rho;
            let mut weight = decay_0 * rho_i;
            for (j, slot) in row.iter_mut().enumerate().take(n).skip(i) {
                *slot = weight;
                // From cell j to the next: times b_(j+1)·u/(j − i + 1), cells counted from 0.
                weight = weight * b[j] * u * (1.0 / ((j - i + 1) as f64));
            }
        }
        Self { cells: n, lambda, u, b_0, b, decay_0, w, inflow_factor, tau }
    }

    /// Cells of the store.
    #[cfg_attr(not(debug_assertions), inline(always))]
    pub fn cells(&self) -> usize {
        self.cells
    }

    /// For constituents that settle: `s` is settling velocity × area, m³ for a whole step.
    #[cfg_attr(not(debug_assertions), inline(always))]
    pub fn settling(&self, s: V<L>) -> Settling<L, N> {
        // What e⁻⁴⁰ leaves is below the rounding of what was there.
        let path = s * self.lambda;
        let some_stay = path.lt(V::splat(40.0));
        let mut settle = V::zero();
        if some_stay.any() {
            settle = some_stay.pick((-path).exp(), settle);
        }
        self.rates(s, settle, false)
    }

    /// For constituents that do not.
    #[cfg_attr(not(debug_assertions), inline(always))]
    pub fn staying(&self) -> Settling<L, N> {
        self.rates(V::zero(), V::splat(1.0), true)
    }

    #[cfg_attr(not(debug_assertions), inline(always))]
    fn rates(&self, s: V<L>, settle: V<L>, stays: bool) -> Settling<L, N> {
        let n = self.cells;
        let one = V::splat(1.0);
        let decay = self.decay_0 * settle;
        // J_1 = (1 − e^(−xΛ))/x with x = b₀ + s.
        let x = self.b_0 + s;
        let y = x * self.lambda;
        let series = self.lambda * (((y * (1.0 / 120.0) - 1.0 / 24.0) * y + 1.0 / 6.0) * y * y + (y * -0.5 + 1.0));
        let small = y.lt(V::splat(1e-3));
        let closed = (one - decay) / small.pick(one, x);
        let mut integral = small.pick(series, closed);
        let mut u_power = one;
        let mut inflow = [V::zero(); N];
        let mut onward = [V::zero(); N];
        let mut leaves = [V::zero(); N];
        for j in 0..n {
            inflow[j] = integral * self.inflow_factor[j];
            let rate = self.b[j];
            // 1/(b + s), and 0 where nothing flows or settles.
            let moves = (rate + s).gt(V::zero());
            let inverse = moves.pick(one / moves.pick(rate + s, one), V::zero());
            leaves[j] = moves.pick(one, V::zero());
            onward[j] = if stays { rate.gt(V::zero()).pick(one, V::zero()) } else { (rate * inverse).min(one) };
            if j + 1 < n {
                u_power = u_power * self.u;
                integral = (integral * ((j + 1) as f64) - u_power * decay).pos() * inverse;
            }
        }
        Settling { settle, inflow, onward, leaves }
    }

    /// Carries one constituent through the stage. `cells` are the masses (kg), `inflow` the mass that comes in over a
    /// whole step. Returns (left with the outflow, settled).
    #[cfg_attr(not(debug_assertions), inline(always))]
    pub fn carry(&self, rates: &Settling<L, N>, cells: &mut [V<L>], inflow: V<L>) -> (V<L>, V<L>) {
        let n = self.cells;
        let mut after = [V::zero(); N];
        for (j, slot) in after.iter_mut().enumerate().take(n) {
            let mut sum = V::zero();
            for (cell, row) in cells.iter().zip(&self.w).take(j + 1) {
                sum += *cell * row[j];
            }
            *slot = sum * rates.settle + inflow * rates.inflow[j];
        }
        let mut incoming = inflow * self.tau;
        let mut settled = V::zero();
        for j in 0..n {
            let available = incoming + cells[j];
            let removed = (available - after[j]).pos() * rates.leaves[j];
            cells[j] = available - removed;
            let onward = removed * rates.onward[j];
            settled += removed - onward;
            incoming = onward;
        }
        (incoming, settled)
    }
}

/// A draw out of a store from its outlet end; what remains is cut into equal cells again.
pub(crate) struct Drawing<const L: usize> {
    cells: usize,
    share: V<L>,
    /// How much of old cell i new cell j takes over, by j and then i up to j.
    overlap: [V<L>; MAX_CELLS * (MAX_CELLS + 1) / 2],
}

impl<const L: usize> Drawing<L> {
    /// A draw of a share of what a store of so many cells holds.
    #[cfg_attr(not(debug_assertions), inline(always))]
    pub fn new(share: V<L>, cells: usize) -> Self {
        let mut drawing =
            Self { cells: cells.clamp(1, MAX_CELLS), share, overlap: [V::zero(); MAX_CELLS * (MAX_CELLS + 1) / 2] };
        let keep = V::splat(1.0) - share;
        let mut at = 0;
        for j in 0..drawing.cells {
            // New cell j covers old positions from j·keep to (j + 1)·keep, in cells.
            let from = keep * (j as f64);
            let to = keep * ((j + 1) as f64);
            for i in 0..=j {
                drawing.overlap[at] = (to.min(V::splat((i + 1) as f64)) - from.max(V::splat(i as f64))).pos();
                at += 1;
            }
        }
        drawing
    }

    /// Takes one constituent's part out of its cells; returns the mass drawn.
    #[cfg_attr(not(debug_assertions), inline(always))]
    pub fn take(&self, cells: &mut [V<L>]) -> V<L> {
        let n = self.cells;
        if n == 1 {
            let taken = cells[0] * self.share;
            cells[0] -= taken;
            return taken;
        }
        let mut total = V::zero();
        for m in cells.iter() {
            total += *m;
        }
        // Where nothing was drawn, rounding in the overlaps must not move mass.
        let moved = self.share.gt(V::zero());
        let mut left = V::zero();
        // From the last cell back: a new cell takes from old ones up to its own place.
        for j in (0..n).rev() {
            let weights = &self.overlap[j * (j + 1) / 2..];
            let mut new = V::zero();
            for i in 0..=j {
                new += cells[i] * weights[i];
            }
            left += new;
            cells[j] = moved.pick(new, cells[j]);
        }
        moved.pick((total - left).pos(), V::zero())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn run(stage: Stage<1>, cells: &mut [V<1>], inflow: f64, s: f64) -> (f64, f64) {
        let shared = Shared::<1, MAX_CELLS>::new(&stage, cells.len());
        let rates = if s > 0.0 { shared.settling(V([s])) } else { shared.staying() };
        let (out, settled) = shared.carry(&rates, cells, V([inflow]));
        (out.0[0], settled.0[0])
    }

    fn stage(tau: f64, va: f64, vb: f64, qin: f64, qout: f64) -> Stage<1> {
        Stage { tau: V([tau]), from_m3: V([va]), to_m3: V([vb]), in_m3: V([qin]), out_m3: V([qout]) }
    }

    #[test]
    fn micro_case_5_a_clean_pond_fills_with_solids_as_the_exact_solution_does() {
        let mut cells = [V([0.0]); 2];
        let (out, _) = run(stage(1.0, 300.0, 300.0, 100.0, 100.0), &mut cells, 10.0, 200.0);
        assert_relative_eq!(cells[0].0[0], 5.523_021_464, max_relative = 1e-9);
        assert_relative_eq!(cells[1].0[0], 1.443_525_041, max_relative = 1e-9);
        assert_relative_eq!(out, 0.397_482_113, max_relative = 2e-9);
        let mut last = (0.0, 0.0);
        for _ in 0..400 {
            last = run(stage(1.0, 300.0, 300.0, 100.0, 100.0), &mut cells, 10.0, 200.0);
        }
        assert_relative_eq!(last.1, 7.5, max_relative = 1e-9);
        assert_relative_eq!(last.0 / 100.0, 0.025, max_relative = 1e-9);
        let mut still = [V([3.0]); 2];
        run(stage(1.0, 300.0, 300.0, 0.0, 0.0), &mut still, 0.0, 150.0);
        assert_relative_eq!(still[0].0[0] + still[1].0[0], 3.639_183_959, max_relative = 1e-9);
    }

    #[test]
    fn micro_case_6_a_filling_pond_keeps_the_same_mass_in_one_cell_or_three() {
        for n in [1, 3] {
            let mut cells = vec![V([1.0 / f64::from(n)]); n as usize];
            let (out, settled) = run(stage(1.0, 200.0, 800.0, 600.0, 0.0), &mut cells, 60.0, 100.0);
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
        let along = |m: &[f64], k: &[f64], f: f64| -> Vec<f64> { m.iter().zip(k).map(|(a, b)| a + f * b).collect() };
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
                    assert!((ours.0[0] - theirs).abs() < 1e-9, "{n} cells: {ours:?} {theirs}");
                }
            }
        }
    }

    #[test]
    fn extremes_neither_lose_mass_nor_go_negative() {
        let mut seed = 1_u64;
        let mut next = || {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (seed >> 11) as f64 / (1_u64 << 53) as f64
        };
        for _ in 0..20_000 {
            let n = 1 + (next() * 6.0) as usize;
            let big = |x: f64| {
                if x < 0.2 { 0.0 } else { 10f64.powf(x * 12.0 - 6.0) }
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
            assert!((before - after).abs() <= 1e-14 * before, "{before} {after} {n}");
            assert!(out >= 0.0 && settled >= 0.0 && cells.iter().all(|c| c.0[0] >= 0.0));
        }
    }

    #[test]
    fn a_draw_leaves_equal_cells_and_takes_from_the_outlet_end() {
        // Cells of 10 m³ holding 3, 2 and 1 kg; 15 m³ drawn: the last cell, and half of the middle one.
        let mut cells = [V([3.0]), V([2.0]), V([1.0])];
        let taken = Drawing::new(V([0.5]), cells.len()).take(&mut cells);
        assert_relative_eq!(taken.0[0], 2.0, max_relative = 1e-12);
        assert_relative_eq!(cells[0].0[0], 1.5, max_relative = 1e-12);
        assert_relative_eq!(cells[1].0[0], 1.5, max_relative = 1e-12);
        assert_relative_eq!(cells[2].0[0], 1.0, max_relative = 1e-12);
    }
}
