//! Washes of a day in closed form: whole events, no loop over events.
//!
//! Symbols: S solids held (kg), L load at the trigger, ε share that an event removes, q = 1 − ε, V_e the filter's own
//! water per event, γ solids caught per m³ filtered, N net water needed, F gross water.

use crate::balance::lanes::{M, V};
use crate::balance::step::flow::A_FLOW_M3;

/// Progress of the triggers other than solids: clock, running hours, throughput (each 0 to 1), and days since the last
/// scheduled wash.
pub(crate) const CLOCK: usize = 0;
pub(crate) const RUNNING: usize = 1;
pub(crate) const THROUGHPUT: usize = 2;
pub(crate) const SCHEDULE: usize = 3;
/// How many progress figures a filter keeps.
pub(crate) const PROGRESSES: usize = 4;

/// Which trigger governed, as a number in a lane; 0 is none.
pub(crate) const BY_SOLIDS: f64 = 1.0;
pub(crate) const BY_CLOCK: f64 = 2.0;
pub(crate) const BY_RUNNING: f64 = 3.0;
pub(crate) const BY_THROUGHPUT: f64 = 4.0;
pub(crate) const BY_SCHEDULE: f64 = 5.0;
pub(crate) const BY_LOG: f64 = 6.0;

/// Keeps divisors above zero; far below any flow or load of a facility.
const TINY: f64 = 1e-250;

/// A filter as the wash count sees it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Washing<const L: usize> {
    /// 1/L; 0 when the solids held set off nothing.
    pub per_load: V<L>,
    /// q.
    pub keeps: V<L>,
    /// Whether q is 0 in all lanes.
    pub clears_all: bool,
    /// V_e taken from the filter's own water, m³.
    pub own_m3: V<L>,
    /// Clock progress in the step.
    pub clock_rate: V<L>,
    /// Running-hours progress in the step while water flows.
    pub running_rate: V<L>,
    /// 1/m³ of the throughput trigger; 0 for none.
    pub per_throughput: V<L>,
    /// Days between scheduled washes; 0 for none.
    pub schedule_days: V<L>,
    /// Whether this is the first step of the day.
    pub starts_day: bool,
    /// Most events for which there is time in the step.
    pub most: V<L>,
}

/// What a filter holds and how far its triggers have come.
#[derive(Debug, Clone, Copy)]
pub(crate) struct WashState<const L: usize> {
    pub held_kg: V<L>,
    pub progress: [V<L>; PROGRESSES],
}

/// What a step's washes come to.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Washed<const L: usize> {
    /// Events.
    pub count: V<L>,
    /// Events that came due without time for them.
    pub carried: V<L>,
    /// 1 where a wash takes up as much as it clears.
    pub locked: V<L>,
    /// Gross water, m³.
    pub gross_m3: V<L>,
    /// Solids removed by the events, kg.
    pub removed_kg: V<L>,
    /// Held at the end, kg.
    pub held_kg: V<L>,
    pub progress: [V<L>; PROGRESSES],
    /// What governed.
    pub trigger: V<L>,
}

impl<const L: usize> Default for Washed<L> {
    fn default() -> Self {
        Self {
            count: V::zero(),
            carried: V::zero(),
            locked: V::zero(),
            gross_m3: V::zero(),
            removed_kg: V::zero(),
            held_kg: V::zero(),
            progress: [V::zero(); PROGRESSES],
            trigger: V::zero(),
        }
    }
}

/// q to a whole power from 0 to 16383, by squaring.
#[cfg_attr(not(debug_assertions), inline(always))]
fn power<const L: usize>(q: V<L>, exponent: V<L>) -> V<L> {
    let mut result = V::splat(1.0);
    let mut square = q;
    let mut rest = exponent;
    for _ in 0..14 {
        if !rest.gt(V::zero()).any() {
            break;
        }
        let half = (rest * 0.5).floor();
        let odd = (rest - half * 2.0).gt(V::splat(0.5));
        result = odd.pick(result * square, result);
        square = square * square;
        rest = half;
    }
    result
}

/// Washes for a net need of `net_m3`: the gross water covers the washes with it.
#[cfg_attr(not(debug_assertions), inline(always))]
pub(crate) fn for_net_need<const L: usize>(
    w: &Washing<L>,
    state: &WashState<L>,
    gamma: V<L>,
    net_m3: V<L>,
) -> Washed<L> {
    let mut washed = count(w, state, gamma, net_m3, w.own_m3, w.most);
    washed.gross_m3 = net_m3 + w.own_m3 * washed.count;
    washed
}

/// Washes when the gross water is given (a push line, or a short supply): what is left after them passes on.
#[cfg_attr(not(debug_assertions), inline(always))]
pub(crate) fn for_gross_given<const L: usize>(
    w: &Washing<L>,
    state: &WashState<L>,
    gamma: V<L>,
    gross_m3: V<L>,
) -> Washed<L> {
    let has_own = w.own_m3.gt(V::zero());
    let afford = has_own.pick((gross_m3 / has_own.pick(w.own_m3, V::splat(1.0))).floor(), w.most);
    let mut washed = count(w, state, gamma, gross_m3, V::zero(), w.most.min(afford));
    washed.gross_m3 = gross_m3;
    washed
}

/// How far a trigger comes in a step.
struct Progressed<const L: usize> {
    /// Where there were events, progress is from the last of them.
    events: M<L>,
    /// Part of the step after the last event.
    rest: V<L>,
}

impl<const L: usize> Progressed<L> {
    #[cfg_attr(not(debug_assertions), inline(always))]
    fn to(&self, before: V<L>, rate: V<L>, at_event: V<L>) -> V<L> {
        self.events.pick(at_event + rate * self.rest, before + rate).min(V::splat(1.0)).pos()
    }
}

/// The count for `flow` m³ that pass whatever happens, and `own` m³ more for each event.
#[cfg_attr(not(debug_assertions), inline(always))]
fn count<const L: usize>(
    w: &Washing<L>,
    state: &WashState<L>,
    gamma: V<L>,
    flow: V<L>,
    own: V<L>,
    most: V<L>,
) -> Washed<L> {
    let zero = V::zero();
    let one = V::splat(1.0);
    let q = w.keeps;
    let own_load = gamma * own;
    // A scheduled wash is an event at the day's start, before anything else.
    let due = if w.starts_day {
        w.schedule_days.gt(zero) & (state.progress[SCHEDULE] + 1e-9).ge(w.schedule_days) & most.ge(one)
    } else {
        M::all_or_none(false)
    };
    let scheduled = due.pick(one, zero);
    let held = due.pick(q * state.held_kg + own_load, state.held_kg);
    let clock_0 = due.pick(zero, state.progress[CLOCK]);
    let running_0 = due.pick(zero, state.progress[RUNNING]);
    let through_0 = due.pick(own * w.per_throughput, state.progress[THROUGHPUT]);
    let most = (most - scheduled).pos();

    let flowing = flow.gt(V::splat(A_FLOW_M3));
    let solids_rate = gamma * flow * w.per_load;
    let clock_rate = w.clock_rate;
    let running_rate = flowing.pick(w.running_rate, zero);
    let through_rate = flow * w.per_throughput;

    let solids_first = (one - held * w.per_load) / (solids_rate + TINY);
    let clock_first = (one - clock_0) / (clock_rate + TINY);
    let running_first = (one - running_0) / (running_rate + TINY);
    let through_first = (one - through_0) / (through_rate + TINY);
    let others_first = clock_first.min(running_first).min(through_first);
    let first = solids_first.min(others_first).pos();

    let after_event = q + own_load * w.per_load;
    let solids_span = (one - after_event) / (solids_rate + TINY);
    let clock_span = one / (clock_rate + TINY);
    let running_span = one / (running_rate + TINY);
    let through_span = (one - own * w.per_throughput) / (through_rate + TINY);
    let span = solids_span.min(clock_span).min(running_span).min(through_span).max(V::splat(1e-9));

    let any = first.le(V::splat(1.0 + 1e-9));
    let wanted = any.pick(one + (((one - first).pos()) / span + 1e-9).floor(), zero);
    // A wash that takes up as much as it clears is due again at once: no more of them than the water passed on washes.
    let locked = after_event.ge(one) | (own * w.per_throughput).ge(one);
    let fits = (flow.over(own)).floor().max(one);
    let k = wanted.min(locked.pick(most.min(fits), most));
    let events = k.gt(zero);

    let first = first.min(one);
    let at_first = held + gamma * flow * first;
    let q_power = if w.clears_all { k.gt(one).pick(zero, one) } else { power(q, (k - 1.0).pos()) };
    let gain = gamma * (own + flow * span.min(one));
    let geometric = if w.clears_all {
        one - q_power
    } else {
        let divisor = q.lt(one).pick(one - q, one);
        q.lt(one).pick((one - q_power) / divisor, (k - 1.0).pos())
    };
    let at_last = q_power * at_first + gain * geometric;
    let rest = (one - first - (k - 1.0).pos() * span.min(one)).pos();
    let end = events.pick((q * at_last + gamma * (own + flow * rest)).pos(), held + gamma * flow);

    let caught = gamma * (flow + own * (k + scheduled));
    let progressed = Progressed { events, rest };
    let earliest = solids_first.min(others_first);
    let mut argmin = V::splat(BY_THROUGHPUT);
    for (first_of, code) in [(running_first, BY_RUNNING), (clock_first, BY_CLOCK), (solids_first, BY_SOLIDS)] {
        argmin = first_of.le(earliest).pick(V::splat(code), argmin);
    }
    let trigger = events.pick(argmin, due.pick(V::splat(BY_SCHEDULE), zero));
    let washed_at_all = events | due;
    Washed {
        count: k + scheduled,
        carried: locked.pick(zero, wanted - k),
        locked: (events & locked).pick(one, zero),
        gross_m3: flow,
        removed_kg: washed_at_all.pick((state.held_kg + caught - end).pos(), zero),
        held_kg: end,
        progress: [
            progressed.to(clock_0, clock_rate, zero),
            progressed.to(running_0, running_rate, zero),
            progressed.to(through_0, through_rate, own * w.per_throughput),
            washed_at_all.pick(zero, state.progress[SCHEDULE]),
        ],
        trigger,
    }
}

/// Washes as logged: `k` events, after each of the first k of k + 1 equal spans; `gross_m3` as it was.
#[cfg_attr(not(debug_assertions), inline(always))]
pub(crate) fn logged<const L: usize>(
    w: &Washing<L>,
    state: &WashState<L>,
    gamma: V<L>,
    gross_m3: V<L>,
    k: f64,
) -> Washed<L> {
    let zero = V::zero();
    let one = V::splat(1.0);
    let kv = V::splat(k);
    let caught = gamma * gross_m3;
    let q_power = power(w.keeps, kv);
    // Σ qⁱ for i = 0 … k.
    let sum = if w.clears_all {
        one
    } else {
        let divisor = w.keeps.lt(one).pick(one - w.keeps, one);
        w.keeps.lt(one).pick((one - q_power * w.keeps) / divisor, kv + 1.0)
    };
    let end = q_power * state.held_kg + caught / (kv + 1.0) * sum;
    let flowing = gross_m3.gt(V::splat(A_FLOW_M3));
    let rates = [w.clock_rate, flowing.pick(w.running_rate, zero), gross_m3 * w.per_throughput];
    let mut progress = state.progress;
    for (x, rate) in progress.iter_mut().zip(rates) {
        *x = if k > 0.0 { (rate / (kv + 1.0)).min(one) } else { (*x + rate).min(one) };
    }
    if k > 0.0 {
        progress[SCHEDULE] = zero;
    }
    Washed {
        count: kv,
        carried: zero,
        locked: zero,
        gross_m3,
        removed_kg: if k > 0.0 { (state.held_kg + caught - end).pos() } else { zero },
        held_kg: end,
        progress,
        trigger: if k > 0.0 { V::splat(BY_LOG) } else { zero },
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn plain(load: f64, keeps: f64, own: f64, clock: f64) -> Washing<1> {
        Washing {
            per_load: V([1.0 / load]),
            keeps: V([keeps]),
            clears_all: keeps == 0.0,
            own_m3: V([own]),
            clock_rate: V([clock]),
            running_rate: V([0.0]),
            per_throughput: V([0.0]),
            schedule_days: V([0.0]),
            starts_day: true,
            most: V([10_000.0]),
        }
    }

    fn state(held: f64, clock: f64) -> WashState<1> {
        WashState { held_kg: V([held]), progress: [V([clock]), V([0.0]), V([0.0]), V([0.0])] }
    }

    #[test]
    fn micro_case_2_four_washes_are_covered_by_the_gross_flow() {
        let washed = for_net_need(&plain(0.5, 0.0, 1.5, 0.0), &state(0.2, 0.0), V([0.02]), V([100.0]));
        assert_eq!(washed.count.0[0], 4.0);
        assert_relative_eq!(washed.gross_m3.0[0], 106.0, max_relative = 1e-9);
        assert_relative_eq!(washed.held_kg.0[0], 0.32, max_relative = 1e-9);
    }

    #[test]
    fn micro_case_3_fractions_of_a_wash_are_never_lost_at_midnight() {
        let w = plain(0.5, 0.0, 0.0, 0.0);
        let mut s = state(0.0, 0.0);
        let mut counts = Vec::new();
        for _ in 0..10 {
            let washed = for_net_need(&w, &s, V([0.3]), V([1.0]));
            counts.push(washed.count.0[0]);
            s = WashState { held_kg: washed.held_kg, progress: washed.progress };
        }
        assert_eq!(counts, [0.0, 1.0, 0.0, 1.0, 1.0, 0.0, 1.0, 0.0, 1.0, 1.0]);

        let w = plain(1.0, 0.1, 0.0, 0.7);
        let mut s = state(0.1, 0.5);
        let mut counts = Vec::new();
        for _ in 0..4 {
            let washed = for_net_need(&w, &s, V([0.4]), V([1.0]));
            counts.push(washed.count.0[0]);
            s = WashState { held_kg: washed.held_kg, progress: washed.progress };
        }
        assert_eq!(counts, [1.0, 0.0, 1.0, 1.0]);
        assert_relative_eq!(s.held_kg.0[0], 0.234_671_428_6, max_relative = 1e-9);
        assert_relative_eq!(s.progress[CLOCK].0[0], 0.3, max_relative = 1e-9);
    }

    #[test]
    fn micro_case_10_logged_washes_leave_what_equal_spans_leave() {
        // G = 2 kg: γ = 0.02 over 100 m³.
        let washed = logged(&plain(1.0, 0.1, 0.0, 0.0), &state(0.2, 0.0), V([0.02]), V([100.0]), 3.0);
        assert_relative_eq!(washed.held_kg.0[0], 0.5557, max_relative = 1e-9);
        assert_relative_eq!(washed.removed_kg.0[0], 1.6443, max_relative = 1e-9);
    }

    /// Event by event, for comparison.
    fn by_events(load: f64, keeps: f64, own: f64, gamma: f64, net: f64, held: f64) -> (u32, f64) {
        let (mut t, mut s, mut k) = (0.0, held, 0);
        loop {
            let wait = ((load - s) / (gamma * net)).max(0.0);
            if t + wait > 1.0 + 1e-9 || k > 5000 {
                return (k, s + gamma * net * (1.0 - t));
            }
            t += wait;
            s = keeps * load.max(s) + gamma * own;
            k += 1;
        }
    }

    #[test]
    fn the_closed_form_agrees_with_going_event_by_event() {
        let mut differ = 0;
        for i in 0..250_u32 {
            let f = |m: u32| f64::from((i * 7919 + m * 104_729) % 1000) / 1000.0;
            let (load, keeps, own) = (0.2 + f(1), 0.5 * f(2), 2.0 * f(3));
            let (gamma, net, held) = (0.001 + 0.05 * f(4), 10.0 + 200.0 * f(5), load * f(6));
            let washed = for_net_need(&plain(load, keeps, own, 0.0), &state(held, 0.0), V([gamma]), V([net]));
            if keeps + gamma * own / load >= 0.95 {
                continue;
            }
            let (k, end) = by_events(load, keeps, own, gamma, net, held);
            if f64::from(k) == washed.count.0[0] {
                assert_relative_eq!(washed.held_kg.0[0], end, max_relative = 1e-7);
            } else {
                differ += 1;
            }
        }
        assert!(differ <= 2, "{differ} of 250 differ");
    }
}
