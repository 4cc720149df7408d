//! What a day could cost: the same exact work (a filter's washes counted within the day, three cells of a pond settling eight
//! classes in closed form, spilling in the second part of a day) written by hand for one fixed chain of places, without a
//! plan, records, marks or a ledger.

/// Classes of solids, and cells of a pond.
const K: usize = 8;
const N: usize = 3;

/// Members side by side.
pub const LANES: usize = 8;

type A = [f64; LANES];

#[inline(always)]
fn map(f: impl Fn(usize) -> f64) -> A {
    let mut out = [0.0; LANES];
    for (l, out) in out.iter_mut().enumerate() {
        *out = f(l);
    }
    out
}

#[inline(always)]
fn most(a: f64, b: f64) -> f64 {
    if a > b { a } else { b }
}

#[inline(always)]
fn least(a: f64, b: f64) -> f64 {
    if a < b { a } else { b }
}

/// e^-y: to the nearest power of two, and eleven terms of the rest.
#[inline(always)]
fn exp_neg(y: f64) -> f64 {
    const MAGIC: f64 = 6_755_399_441_055_744.0;
    let y = least(y, 700.0);
    let t = MAGIC - y * std::f64::consts::LOG2_E;
    let n = t - MAGIC;
    let r = -y - n * 6.931_471_803_691_238e-1 - n * 1.908_214_929_270_587_7e-10;
    const TERMS: [f64; 11] = [
        1.0 / 3_628_800.0,
        1.0 / 362_880.0,
        1.0 / 40_320.0,
        1.0 / 5_040.0,
        1.0 / 720.0,
        1.0 / 120.0,
        1.0 / 24.0,
        1.0 / 6.0,
        0.5,
        1.0,
        1.0,
    ];
    let mut p = 1.0 / 39_916_800.0;
    for term in TERMS {
        p = p * r + term;
    }
    p * f64::from_bits(t.to_bits().wrapping_add(1023) << 52)
}

/// ln x of a positive x.
#[inline(always)]
fn ln(x: f64) -> f64 {
    let bits = x.to_bits();
    let exponent = bits.wrapping_sub(0x3fe6_a09e_667f_3bcd) & 0xfff0_0000_0000_0000;
    let mantissa = f64::from_bits(bits.wrapping_sub(exponent));
    let whole = f64::from_bits((exponent.cast_signed() >> 52).cast_unsigned().wrapping_add(0x4338_0000_0000_0000))
        - 6_755_399_441_055_744.0;
    let z = (mantissa - 1.0) / (mantissa + 1.0);
    let w = z * z;
    let odd = [17.0, 15.0, 13.0, 11.0, 9.0, 7.0, 5.0, 3.0, 1.0];
    let series = odd.iter().fold(1.0 / 19.0, |s, n| s * w + 1.0 / n);
    whole * std::f64::consts::LN_2 + 2.0 * z * series
}

struct Filter {
    held: [A; K],
    clock: A,
}

struct Pond {
    volume: A,
    mass: [[A; N]; K],
    sludge: [A; K],
}

/// A stretch of a pond's day.
struct Stretch<'a> {
    volume_from: &'a A,
    volume_to: &'a A,
    inflow: &'a A,
    outflow: &'a A,
    area: &'a A,
    lasts: &'a A,
}

macro_rules! kernel {
    ($(#[$how:meta])* $name:ident) => {
        pub mod $name {
            use super::*;

            /// A year of `filters` and `ponds` in a row, with `water` flowing in each day; gives a figure that hangs on all of it.
            $(#[$how])*
            pub fn year(filters: usize, ponds: usize, water: f64) -> f64 {
                let settling = [0.01, 0.05, 0.3, 1.0, 5.0, 20.0, 80.0, 400.0];
                let share = |f: usize, k: usize| 1.0 / (1.0 + (20.0 / (1.0 + k as f64 * 5.0 + f as f64)).powi(2));
                let shares: Vec<[f64; K]> = (0..filters).map(|f| std::array::from_fn(|k| share(f, k))).collect();
                let mut chain: Vec<Filter> =
                    (0..filters).map(|_| Filter { held: [[0.0; LANES]; K], clock: [0.0; LANES] }).collect();
                let fresh = || Pond { volume: [1000.0; LANES], mass: [[[1.0; LANES]; N]; K], sludge: [[0.0; LANES]; K] };
                let mut basins: Vec<Pond> = (0..ponds).map(|_| fresh()).collect();
                let mut left = [0.0; LANES];
                for day in 0..365 {
                    let rain = f64::from(day * 7919 % 13) * 1e-4;
                    let mut flow = [water; LANES];
                    let mut mass = [[1.0; LANES]; K];
                    for (filter, shares) in chain.iter_mut().zip(&shares) {
                        filter_day(filter, shares, &mut flow, &mut mass, &mut left);
                    }
                    for pond in &mut basins {
                        pond_day(pond, rain, &settling, &mut flow, &mut mass, &mut left);
                    }
                }
                basins.iter().map(|pond| pond.volume[0] + pond.sludge[3][LANES - 1] + pond.mass[2][N - 1][0]).sum::<f64>()
                    + left[0] * 1e-9
            }

            $(#[$how])*
            fn filter_day(filter: &mut Filter, shares: &[f64; K], flow: &mut A, mass: &mut [A; K], left: &mut A) {
                let (capacity, wash, day_of_clock) = (3.0, 1.7, 0.3);
                let (mut caught, mut before) = ([0.0; LANES], [0.0; LANES]);
                for k in 0..K {
                    for l in 0..LANES {
                        let stopped = mass[k][l] * shares[k];
                        mass[k][l] -= stopped;
                        caught[l] += stopped;
                        before[l] += filter.held[k][l];
                        filter.held[k][l] += stopped;
                    }
                }
                let mut kept = [0.0; LANES];
                for l in 0..LANES {
                    let per_day = most(caught[l] / capacity, 1e-12);
                    let of_wash = caught[l] / most(flow[l], 1e-9) * wash;
                    let by_load = most(1.0 - before[l] / capacity, 0.0) / per_day;
                    let by_clock = (1.0 - filter.clock[l]) / day_of_clock;
                    let first = most(least(by_load, by_clock), 0.0);
                    let each = most(least((1.0 - of_wash / capacity) / per_day, 1.0 / day_of_clock), 1e-3);
                    let more = ((1.0 - first) / each + 1e-9).floor() + 1.0;
                    let washes = if first < 1.0 + 1e-15 { more } else { 0.0 };
                    let rest = (1.0 - first - (washes - 1.0) * each) * day_of_clock;
                    filter.clock[l] = if washes < 0.5 { filter.clock[l] + day_of_clock } else { rest };
                    let held = before[l] + caught[l];
                    kept[l] = 1.0 - least(washes * capacity, held) / most(held, 1e-300);
                    let used = least(washes * wash, flow[l]);
                    flow[l] -= used;
                    left[l] += used;
                }
                for k in 0..K {
                    for l in 0..LANES {
                        filter.held[k][l] *= kept[l];
                    }
                }
            }

            $(#[$how])*
            fn settle(pond: &mut Pond, of: &Stretch, settling: &[f64; K], mass: &[A; K], out: &mut [A; K]) {
                let cells = N as f64;
                let time = map(|l| {
                    let (a, b) = (of.volume_from[l] + 1e-9, of.volume_to[l] + 1e-9);
                    let d = b - a;
                    let z = d / (a + b);
                    let z2 = z * z;
                    let near = 2.0 / (a + b) * (1.0 + z2 * (1.0 / 3.0 + z2 * (0.2 + z2 * (1.0 / 7.0 + z2 / 9.0))));
                    let far = ln(b / a) / if most(d, -d) > 1e-300 { d } else { 1.0 };
                    of.lasts[l] * if most(z, -z) < 2e-2 { near } else { far }
                });
                let mut through = [[0.0; LANES]; N + 1];
                for (i, through) in through.iter_mut().enumerate() {
                    *through = map(|l| most(0.0, cells * of.inflow[l] + i as f64 * (of.outflow[l] - of.inflow[l])));
                }
                let per_volume = map(|l| of.lasts[l] / (of.volume_from[l] + 1e-9));
                let grown = map(|l| (of.volume_to[l] + 1e-9) / (of.volume_from[l] + 1e-9));
                let flushed = map(|l| exp_neg(through[0][l] * time[l]));
                let mut weights = [[[0.0; LANES]; N]; N];
                for i in 0..N {
                    for l in 0..LANES {
                        let mut weight = flushed[l];
                        for _ in 0..=i {
                            weight *= grown[l];
                        }
                        for j in i..N {
                            weights[i][j][l] = weight;
                            weight *= through[j + 1][l] * per_volume[l] / (j + 1 - i) as f64;
                        }
                    }
                }
                let per_stretch = map(|l| 1.0 / most(of.lasts[l], 1e-300));
                for k in 0..K {
                    let speed = map(|l| of.area[l] * settling[k]);
                    let settled = map(|l| exp_neg(speed[l] * time[l]));
                    let both = map(|l| flushed[l] * settled[l]);
                    let mut rates = [[0.0; LANES]; N + 1];
                    for (rates, through) in rates.iter_mut().zip(&through) {
                        *rates = map(|l| 1.0 / most(through[l] + speed[l], 1e-300));
                    }
                    let old = pond.mass[k];
                    let mut fed = map(|l| {
                        let x = (through[0][l] + speed[l]) * time[l];
                        let series = time[l] * (1.0 - x * (0.5 - x * (1.0 / 6.0 - x * (1.0 / 24.0 - x * (1.0 / 120.0)))));
                        if x < 1e-3 { series } else { (1.0 - both[l]) * rates[0][l] }
                    });
                    let mut into = mass[k];
                    let mut factor = map(|l| into[l] * per_stretch[l] * (of.volume_to[l] + 1e-9));
                    let mut power = [1.0; LANES];
                    let mut fallen = [0.0; LANES];
                    for j in 0..N {
                        if j > 0 {
                            for l in 0..LANES {
                                power[l] *= per_volume[l];
                                fed[l] = most(fed[l] * j as f64 - power[l] * both[l], 0.0) * rates[j][l];
                                factor[l] = factor[l] * through[j][l] * (1.0 / j as f64);
                            }
                        }
                        let mut kept = [0.0; LANES];
                        for i in 0..=j {
                            for l in 0..LANES {
                                kept[l] += old[i][l] * weights[i][j][l];
                            }
                        }
                        for l in 0..LANES {
                            let kept = kept[l] * settled[l] + factor[l] * fed[l];
                            let all = into[l] + old[j][l];
                            let rest = most(all - kept, 0.0);
                            let passed = rest * through[j + 1][l] * rates[j + 1][l];
                            pond.mass[k][j][l] = all - rest;
                            fallen[l] += rest - passed;
                            into[l] = passed;
                        }
                    }
                    for l in 0..LANES {
                        pond.sludge[k][l] += fallen[l];
                        out[k][l] += into[l];
                    }
                }
            }

            $(#[$how])*
            fn pond_day(pond: &mut Pond, rain: f64, settling: &[f64; K], flow: &mut A, mass: &mut [A; K], left: &mut A) {
                let area = |v: f64| {
                    (250_000.0 + 200.0 * v + 100.0 * most(v - 400.0, 0.0) + 50.0 * most(v - 900.0, 0.0)).sqrt()
                };
                let drawn = map(|l| least(0.1 * pond.volume[l], 30.0));
                let mut moved = [[[0.0; LANES]; N]; N];
                for (i, row) in moved.iter_mut().enumerate() {
                    for (j, part) in row.iter_mut().enumerate() {
                        for l in 0..LANES {
                            let cell = pond.volume[l] / N as f64;
                            let after = (pond.volume[l] - drawn[l]) / N as f64;
                            let x = j as f64 * cell;
                            let upto = |edge: f64| least(most(edge - x, 0.0), cell);
                            part[l] = (upto((i + 1) as f64 * after) - upto(i as f64 * after)) / most(cell, 1e-9);
                        }
                    }
                }
                for k in 0..K {
                    let old = pond.mass[k];
                    for i in 0..N {
                        for l in 0..LANES {
                            let kept = moved[i][0][l] * old[0][l] + moved[i][1][l] * old[1][l] + moved[i][2][l] * old[2][l];
                            left[l] += (old[i][l] - kept) * 1e-12;
                            pond.mass[k][i][l] = kept;
                        }
                    }
                }
                let [mut from, mut turn, mut to, mut end, mut wet, mut first, mut second, mut spill] = [[0.0; LANES]; 8];
                for l in 0..LANES {
                    let start = pond.volume[l] - drawn[l];
                    let middle = most(0.0, start + 0.5 * (flow[l] + (rain - 0.004) * area(start)));
                    wet[l] = area(middle);
                    let weather = most((rain - 0.004) * wet[l], -(start + flow[l]));
                    let full = start + flow[l] + weather;
                    spill[l] = most(0.0, full - 1500.0);
                    end[l] = full - spill[l];
                    let after = if weather > 0.0 {
                        least(0.5 * weather, 0.5 * end[l])
                    } else {
                        weather - most(0.5 * weather, -0.5 * start)
                    };
                    from[l] = start + weather - after;
                    to[l] = end[l] - after;
                    let filled = least(1.0, most(0.0, (to[l] - from[l]) / most(flow[l], 1e-12)));
                    first[l] = if spill[l] > 0.0 { filled } else { 1.0 };
                    second[l] = 1.0 - first[l];
                    turn[l] = if spill[l] > 0.0 { from[l] + flow[l] * first[l] } else { to[l] };
                }
                let mut out = [[0.0; LANES]; K];
                let of_part = |part: &A| -> [A; K] { std::array::from_fn(|k| map(|l| mass[k][l] * part[l])) };
                let filling = Stretch {
                    volume_from: &from,
                    volume_to: &turn,
                    inflow: flow,
                    outflow: &[0.0; LANES],
                    area: &wet,
                    lasts: &first,
                };
                settle(pond, &filling, settling, &of_part(&first), &mut out);
                if spill.iter().any(|spill| *spill > 0.0) {
                    let rate = map(|l| spill[l] / most(second[l], 1e-12));
                    let spilling = Stretch {
                        volume_from: &turn,
                        volume_to: &to,
                        inflow: flow,
                        outflow: &rate,
                        area: &wet,
                        lasts: &second,
                    };
                    settle(pond, &spilling, settling, &of_part(&second), &mut out);
                }
                for l in 0..LANES {
                    pond.volume[l] = end[l];
                    flow[l] = spill[l] + 2.0;
                    left[l] += spill[l] + drawn[l];
                }
                *mass = out;
            }
        }
    };
}

kernel!(plain);
#[cfg(target_arch = "x86_64")]
kernel!(
    #[target_feature(enable = "avx2")]
    avx2
);
