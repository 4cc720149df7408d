//! Water that stands in equal cells in series: drawing from it, and one stage of a day with settling (rule 7.2, 7.4).

/// Takes `drawn_m3` from the outlet end of the cells and cuts what remains into equal cells again.
/// Returns the mass drawn.
pub fn draw(cells_kg: &mut [f64], volume_m3: f64, drawn_m3: f64) -> f64 {
    if drawn_m3 <= 0.0 || volume_m3 <= 0.0 {
        return 0.0;
    }
    let n = cells_kg.len();
    let total: f64 = cells_kg.iter().sum();
    let share = (1.0 - drawn_m3 / volume_m3).clamp(0.0, 1.0);
    if share == 0.0 {
        cells_kg.fill(0.0);
        return total;
    }
    let old = cells_kg.to_vec();
    for (j, cell) in cells_kg.iter_mut().enumerate() {
        // New cell j stands where this stretch of the old cells stood, counted in old cells from the inlet.
        let from = j as f64 * share;
        let to = (j + 1) as f64 * share;
        *cell = 0.0;
        for (i, mass) in old.iter().enumerate() {
            let overlap = (to.min((i + 1) as f64) - from.max(i as f64)).max(0.0);
            *cell += mass * overlap;
        }
    }
    if n == 1 {
        return total * (1.0 - share);
    }
    (total - cells_kg.iter().sum::<f64>()).max(0.0)
}

/// One stage: the volume runs evenly from `start_m3` to `end_m3` in `days`.
#[derive(Debug, Clone, Copy)]
pub struct Stage {
    /// Length, days.
    pub days: f64,
    /// Volume at its start.
    pub start_m3: f64,
    /// Volume at its end.
    pub end_m3: f64,
    /// Inflow, m³/d.
    pub in_m3_d: f64,
    /// Outflow, m³/d.
    pub out_m3_d: f64,
}

/// What one stage does to one parcel; the cells are changed in place.
#[derive(Debug, Clone, Copy, Default)]
pub struct Passed {
    /// Left with the outflow, kg.
    pub out_kg: f64,
    /// Settled (or seeped), kg.
    pub settled_kg: f64,
}

impl Stage {
    /// Runs the stage for one parcel: `settles_m3_d` is settling velocity × area, `feed_kg_d` what arrives.
    pub fn run(&self, cells_kg: &mut [f64], settles_m3_d: f64, feed_kg_d: f64) -> Passed {
        let n = cells_kg.len();
        let extra = 1e-9 + 1e-12 * (self.start_m3 + self.end_m3);
        let va = self.start_m3 + extra;
        let vb = self.end_m3 + extra;
        let s = settles_m3_d;
        let lambda = time_over_volume(self.days, va, vb);
        let b = |j: usize| n as f64 * self.in_m3_d + j as f64 * (self.out_m3_d - self.in_m3_d);
        let rho = vb / va;
        let u = self.days / va;

        // J[j], j from 1
        let x = (b(0) + s) * lambda;
        let mut feed_factor = vec![0.0; n + 1];
        for j in 1..=n {
            feed_factor[j] = if j == 1 {
                if x == 0.0 { lambda } else { -(-x).exp_m1() / (b(0) + s) }
            } else if b(j - 1) + s == 0.0 {
                0.0
            } else {
                ((j - 1) as f64 * feed_factor[j - 1] - u.powi(j as i32 - 1) * (-x).exp()).max(0.0) / (b(j - 1) + s)
            };
        }
        let mut wanted = vec![0.0; n];
        for j in 1..=n {
            let mut from_cells = 0.0;
            for i in 1..=j {
                let mut w = (-b(0) * lambda).exp() * rho.powi(i as i32);
                for l in i..j {
                    w *= b(l) * u / (l - i + 1) as f64;
                }
                from_cells += cells_kg[i - 1] * w;
            }
            let mut from_feed = feed_kg_d * vb * feed_factor[j];
            for l in 1..j {
                from_feed *= b(l) / l as f64;
            }
            wanted[j - 1] = (-s * lambda).exp() * from_cells + from_feed;
        }
        let mut arrives = feed_kg_d * self.days;
        let mut settled = 0.0;
        for j in 1..=n {
            let had = arrives + cells_kg[j - 1];
            let removed = if b(j) + s > 0.0 { (had - wanted[j - 1]).max(0.0) } else { 0.0 };
            cells_kg[j - 1] = had - removed;
            let out = if b(j) + s > 0.0 { removed * (b(j) / (b(j) + s)) } else { 0.0 };
            settled += removed - out;
            arrives = out;
        }
        Passed { out_kg: arrives, settled_kg: settled }
    }
}

/// Λ: the integral of dt/V over a stage.
fn time_over_volume(days: f64, va: f64, vb: f64) -> f64 {
    let z = (vb - va) / (vb + va);
    if z.abs() < 0.02 {
        2.0 * days / (va + vb) * (1.0 + z.powi(2) / 3.0 + z.powi(4) / 5.0 + z.powi(6) / 7.0 + z.powi(8) / 9.0)
    } else {
        days * (vb / va).ln() / (vb - va)
    }
}

/// What climate, outlets and spill make of a day: up to two stages.
#[derive(Debug, Clone, Copy)]
pub struct WaterDay {
    /// Length of the step, days.
    pub days: f64,
    /// Volume after draws.
    pub start_m3: f64,
    /// Inflow, m³.
    pub inflow_m3: f64,
    /// Rain less evaporation and seepage, m³.
    pub climate_m3: f64,
    /// Pumped out and hauled, m³.
    pub pumped_m3: f64,
    /// Spilt, m³.
    pub spilt_m3: f64,
}

impl WaterDay {
    /// Volume at the end.
    pub fn end_m3(&self) -> f64 {
        self.start_m3 + self.inflow_m3 + self.climate_m3 - self.pumped_m3 - self.spilt_m3
    }

    /// The stages of rule 7.3 with the share of each stage's outflow that is pumped.
    pub fn stages(&self) -> Vec<(Stage, f64)> {
        let v1 = self.end_m3().max(0.0);
        let c = self.climate_m3;
        let post = if c > 0.0 { (0.5 * c).min(0.5 * v1) } else { c - (0.5 * c).max(-0.5 * self.start_m3) };
        let va = (self.start_m3 + c - post).max(0.0);
        let vb = (v1 - post).max(0.0);
        let i = self.inflow_m3 / self.days;
        let p = self.pumped_m3 / self.days;
        let one = |days: f64, from: f64, to: f64, spill: f64| {
            let out = p + spill;
            let pumped_share = if out > 0.0 { p / out } else { 0.0 };
            (Stage { days, start_m3: from, end_m3: to, in_m3_d: i, out_m3_d: out }, pumped_share)
        };
        if self.spilt_m3 <= 0.0 {
            return vec![one(self.days, va, vb, 0.0)];
        }
        let mut filling = if i > p { ((vb - va) / (i - p)).clamp(0.0, self.days) } else { 0.0 };
        if self.days - filling <= 1e-12 * self.days {
            filling = 0.0;
        }
        if filling == 0.0 {
            return vec![one(self.days, va, vb, self.spilt_m3 / self.days)];
        }
        let rest = self.days - filling;
        vec![one(filling, va, vb, 0.0), one(rest, vb, vb, self.spilt_m3 / rest)]
    }
}
