//! Arithmetic of a meter's register: steps between readings, rollover, exchange; exact, in the register's own counts.

use chrono::NaiveDateTime;

use crate::quantity::Decimal;

/// What a register showed.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Dial {
    /// When it was read.
    pub at: NaiveDateTime,
    /// What it showed.
    pub shows: Decimal,
    /// The register that its unit says it is of: how many exchanges went before it.
    pub of: Option<usize>,
}

/// A meter's register.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Register {
    /// It passes zero at 10^digits.
    pub digits: u32,
    /// What one count of it is, in counts of the first one.
    pub one: f64,
}

/// A register that was exchanged somewhere between two moments.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Exchange {
    /// Not before this.
    pub earliest: NaiveDateTime,
    /// Not after this.
    pub latest: NaiveDateTime,
    /// What the old register showed when it was taken out.
    pub old_read: Decimal,
    /// What the new one showed when it was put in.
    pub new_read: Decimal,
    /// The new one.
    pub register: Register,
}

/// What a meter counted from one reading to the next.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Step {
    /// Index of the reading that began it.
    pub before: usize,
    /// Index of the reading that ended it.
    pub after: usize,
    /// The counts of the register that ended it, and of those before that count alike.
    pub counts: Decimal,
    /// The register that ended it: how many exchanges went before.
    pub register: usize,
    /// The counts of earlier registers that count otherwise.
    pub earlier: Vec<(usize, Decimal)>,
    /// Whether the register passed zero on the way.
    pub rolled_over: bool,
    /// Indices of the exchanges that lie in it.
    pub exchanges: Vec<usize>,
}

/// What can't be right.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Trouble {
    /// A reading has more digits than the register.
    TooLong {
        /// Index of the reading.
        reading: usize,
    },
    /// The register went back, and a rollover would be implausibly much.
    Backwards {
        /// Index of the earlier reading.
        before: usize,
        /// Index of the later one.
        after: usize,
        /// What a rollover would make of it, in counts.
        rolled: Decimal,
    },
    /// An exchange does not fit the readings around it.
    ExchangeDoesNotFit {
        /// Index of the exchange.
        exchange: usize,
        /// Index of the reading before it.
        before: usize,
        /// Index of the reading after it.
        after: usize,
    },
}

/// How much more than ever before a step through zero may be and still be taken for a rollover. Common practice, no
/// source: a leak or a dry week triples the use of water, a mistyped digit moves it by the size of the register.
const MOST_TIMES_BEFORE: f64 = 3.0;

/// Share of the register that a step through zero may be when there are too few steps to compare with.
const MOST_OF_REGISTER: f64 = 0.1;

/// Steps needed before their rate says what is usual.
const STEPS_TO_COMPARE: usize = 3;

/// The steps between readings in order of time. `most_per_day`: the most that can pass in a day, in counts of the first
/// register, if known. A step through zero is taken modulo 10^digits where that is plausible; else it is a trouble and gives no
/// step.
pub(crate) fn steps(
    dials: &[Dial],
    exchanges: &[Exchange],
    first: Register,
    most_per_day: Option<f64>,
) -> (Vec<Step>, Vec<Trouble>) {
    let mut troubles = Vec::new();
    let registers: Vec<Register> =
        std::iter::once(first).chain(exchanges.iter().map(|exchange| exchange.register)).collect();
    let full = |register: usize| registers.get(register).and_then(|register| Decimal::ten_to(register.digits));
    let one = |register: usize| registers.get(register).map_or(1.0, |register| register.one);
    let Some(widest) = (0..registers.len()).filter_map(full).max() else {
        return (Vec::new(), troubles);
    };
    let fits = |dial: &Dial, most: Decimal| dial.shows < most && !dial.shows.is_negative();
    let any: Vec<usize> = (0..dials.len()).filter(|at| dials.get(*at).is_some_and(|dial| fits(dial, widest))).collect();
    let all_sides = sides(dials, &any, exchanges);
    // The register that each reading is of.
    let of: Vec<usize> = (0..dials.len())
        .map(|at| {
            let position = any.iter().position(|held| *held >= at).unwrap_or(any.len());
            all_sides.iter().filter(|first_new| **first_new <= position).count()
        })
        .collect();
    let of = |at: usize| of.get(at).copied().unwrap_or(0);
    let good: Vec<usize> = (0..dials.len())
        .filter(|index| {
            let dial = dials.get(*index);
            let fits = dial.zip(full(of(*index))).is_some_and(|(dial, most)| fits(dial, most));
            if !fits {
                troubles.push(Trouble::TooLong { reading: *index });
            }
            fits
        })
        .collect();
    let sides: Vec<usize> = (1..=exchanges.len())
        .map(|register| good.iter().position(|at| of(*at) >= register).unwrap_or(good.len()))
        .collect();
    let usual = usual_rate(dials, &good, &sides, &|position: usize| good.get(position).map_or(1.0, |at| one(of(*at))));
    let plausible = |rolled: Decimal, days: f64, register: usize| {
        let full = full(register).unwrap_or_default().to_f64();
        let rolled = rolled.to_f64();
        let days = days.max(1.0);
        let size = rolled * one(register);
        let by_supply = most_per_day.is_none_or(|most| size <= most * days * 1.05);
        let by_rate = match usual {
            Some(rate) => size <= MOST_TIMES_BEFORE * rate * days,
            None => most_per_day.is_some() || rolled <= MOST_OF_REGISTER * full,
        };
        by_supply && by_rate && rolled <= full / 2.0
    };
    // What one register counted between two of its own readings.
    let counted = |from: Decimal, to: Decimal, days: f64, register: usize| -> Result<(Decimal, bool), Decimal> {
        let step = to.minus(from).unwrap_or_default();
        if !step.is_negative() {
            return Ok((step, false));
        }
        let rolled = step.plus(full(register).unwrap_or_default()).unwrap_or_default();
        if plausible(rolled, days, register) { Ok((rolled, true)) } else { Err(rolled) }
    };
    let mut steps = Vec::new();
    for (position, pair) in good.windows(2).enumerate() {
        let [before, after] = *pair else { continue };
        let (Some(a), Some(b)) = (dials.get(before), dials.get(after)) else {
            continue;
        };
        let days = days_between(a.at, b.at);
        let between: Vec<usize> = sides
            .iter()
            .enumerate()
            .filter(|(_, first_new)| **first_new == position + 1)
            .map(|(index, _)| index)
            .collect();
        let mut from = a.shows;
        let mut total = Decimal::ZERO;
        let mut earlier = Vec::new();
        let mut register = of(before);
        let mut rolled_over = false;
        let mut failed = None;
        for index in &between {
            let Some(exchange) = exchanges.get(*index) else {
                continue;
            };
            match counted(from, exchange.old_read, days, register) {
                Ok((counts, rolled)) => {
                    total = total.plus(counts).unwrap_or(total);
                    rolled_over |= rolled;
                    from = exchange.new_read;
                    if one(index + 1) != one(register) {
                        earlier.push((register, total));
                        total = Decimal::ZERO;
                    }
                    register = index + 1;
                }
                Err(_) => {
                    failed = Some(Trouble::ExchangeDoesNotFit { exchange: *index, before, after });
                    break;
                }
            }
        }
        if failed.is_none() {
            match counted(from, b.shows, days, register) {
                Ok((counts, rolled)) => {
                    total = total.plus(counts).unwrap_or(total);
                    rolled_over |= rolled;
                }
                Err(rolled) => {
                    failed = Some(match between.last() {
                        Some(exchange) => Trouble::ExchangeDoesNotFit { exchange: *exchange, before, after },
                        None => Trouble::Backwards { before, after, rolled },
                    });
                }
            }
        }
        match failed {
            Some(trouble) => troubles.push(trouble),
            None => {
                steps.push(Step { before, after, counts: total, register, earlier, rolled_over, exchanges: between })
            }
        }
    }
    (steps, troubles)
}

/// For each exchange the position (in `good`) of the first reading of the new register. A reading taken on the day of
/// the exchange is the register's that its unit says, else the old one's if it fits between the reading before and what the
/// old one showed at the end.
fn sides(dials: &[Dial], good: &[usize], exchanges: &[Exchange]) -> Vec<usize> {
    exchanges
        .iter()
        .enumerate()
        .map(|(number, exchange)| {
            let mut first_new = 0;
            let mut last_old: Option<Decimal> = None;
            for (position, index) in good.iter().enumerate() {
                let Some(dial) = dials.get(*index) else {
                    continue;
                };
                let old = if dial.at < exchange.earliest {
                    true
                } else if dial.at > exchange.latest {
                    false
                } else if let Some(register) = dial.of {
                    register <= number
                } else {
                    last_old.is_none_or(|value| value <= dial.shows) && dial.shows <= exchange.old_read
                };
                if !old {
                    break;
                }
                last_old = Some(dial.shows);
                first_new = position + 1;
            }
            first_new
        })
        .collect()
}

/// The largest daily rate among steps that neither go back nor contain an exchange, if there are enough of them; in counts of
/// the first register.
fn usual_rate(dials: &[Dial], good: &[usize], sides: &[usize], one: &dyn Fn(usize) -> f64) -> Option<f64> {
    let mut rates = Vec::new();
    for (position, pair) in good.windows(2).enumerate() {
        let [before, after] = *pair else { continue };
        let (Some(a), Some(b)) = (dials.get(before), dials.get(after)) else {
            continue;
        };
        let step = b.shows.minus(a.shows).unwrap_or_default();
        if !step.is_negative() && !sides.contains(&(position + 1)) {
            rates.push(step.to_f64() * one(position) / days_between(a.at, b.at).max(1.0));
        }
    }
    (rates.len() >= STEPS_TO_COMPARE).then(|| rates.into_iter().fold(0.0, f64::max))
}

fn days_between(from: NaiveDateTime, to: NaiveDateTime) -> f64 {
    (to - from).num_minutes() as f64 / 1440.0
}

#[cfg(test)]
mod tests {
    use super::*;

    fn dial(day: u32, shows: &str) -> Dial {
        Dial {
            at: chrono::NaiveDate::from_ymd_opt(2025, 3, day).unwrap().and_hms_opt(7, 0, 0).unwrap(),
            shows: Decimal::parse(shows).unwrap(),
            of: None,
        }
    }

    const SIX: Register = Register { digits: 6, one: 1.0 };

    fn on(day: u32, old: &str, new: &str) -> Exchange {
        let date = chrono::NaiveDate::from_ymd_opt(2025, 3, day).unwrap();
        Exchange {
            earliest: date.and_hms_opt(0, 0, 0).unwrap(),
            latest: date.and_hms_opt(23, 59, 59).unwrap(),
            old_read: Decimal::parse(old).unwrap(),
            new_read: Decimal::parse(new).unwrap(),
            register: SIX,
        }
    }

    fn counts(steps: &[Step]) -> Vec<String> {
        steps.iter().map(|step| step.counts.to_string()).collect()
    }

    /// 1,000,000 − 999,950 + 130 = 180.
    #[test]
    fn a_six_digit_register_that_passes_zero_counts_180_and_not_minus_999820() {
        let dials = [dial(1, "999400"), dial(2, "999590"), dial(3, "999770"), dial(4, "999950"), dial(5, "000130")];
        let (steps, troubles) = steps(&dials, &[], SIX, None);
        assert_eq!(counts(&steps), ["190", "180", "180", "180"]);
        assert!(steps.last().unwrap().rolled_over);
        assert!(troubles.is_empty());
    }

    /// The old one went from 884,000 to 884,210 and the new one from 12 to 95: 210 + 83 = 293.
    #[test]
    fn an_exchanged_meter_counts_both_its_registers() {
        let dials = [dial(10, "884000"), dial(12, "95")];
        let (steps, troubles) = steps(&dials, &[on(11, "884210", "12")], SIX, None);
        assert_eq!(counts(&steps), ["293"]);
        assert_eq!(steps[0].exchanges, [0]);
        assert!(troubles.is_empty());
    }

    /// Tenths of m³ until the 11th, whole m³ from then: (462,375 − 460,849) tenths and 94 − 3 whole ones.
    #[test]
    fn a_new_register_that_counts_otherwise_keeps_its_counts_apart() {
        let mut exchange = on(11, "462375", "3");
        exchange.register = Register { digits: 5, one: 10.0 };
        let dials = [dial(9, "460000"), dial(10, "460849"), dial(12, "94"), dial(13, "165")];
        let (all, troubles) = steps(&dials, &[exchange.clone()], SIX, None);
        assert_eq!(counts(&all), ["849", "91", "71"]);
        assert_eq!(all[1].earlier, [(0, Decimal::parse("1526").unwrap())]);
        assert_eq!((all[0].register, all[1].register, all[2].register), (0, 1, 1));
        assert!(troubles.is_empty());
        // Six figures fit the old one and not the new one.
        let (_, troubles) = steps(&[dial(10, "460849"), dial(12, "100094")], &[exchange], SIX, None);
        assert_eq!(troubles, [Trouble::TooLong { reading: 1 }]);
    }

    /// On the day itself the unit says which of the two was read.
    #[test]
    fn a_reading_in_the_new_one_s_unit_is_of_the_new_one() {
        let mut exchange = on(11, "900", "100");
        exchange.register = Register { digits: 6, one: 10.0 };
        let mut dials = [dial(10, "120"), dial(11, "150"), dial(12, "160")];
        assert_eq!(steps(&dials, &[exchange.clone()], SIX, None).0[0].register, 0);
        dials[1].of = Some(1);
        let (all, _) = steps(&dials, &[exchange], SIX, None);
        assert_eq!((all[0].register, counts(&all)), (1, vec!["50".to_owned(), "10".to_owned()]));
    }

    #[test]
    fn a_swap_without_a_record_is_not_taken_for_a_rollover() {
        let dials = [dial(1, "503100"), dial(2, "503280"), dial(3, "503460"), dial(4, "503640"), dial(5, "000012")];
        let (steps, troubles) = steps(&dials, &[], SIX, None);
        assert_eq!(steps.len(), 3);
        assert_eq!(troubles, [Trouble::Backwards { before: 3, after: 4, rolled: Decimal::parse("496372").unwrap() }]);
    }

    #[test]
    fn a_reading_on_the_day_of_an_exchange_belongs_to_the_register_it_fits() {
        // Read in the morning before the exchange, then the new one two days later: 210 + (95 − 12) = 293 in all.
        let old_first = [dial(10, "884000"), dial(11, "884100"), dial(13, "95")];
        let (first, none) = steps(&old_first, &[on(11, "884210", "12")], SIX, None);
        assert_eq!(counts(&first), ["100", "193"]);
        assert!(none.is_empty());
        // Read in the evening after it: 210 + (40 − 12) = 238, then 55.
        let new_first = [dial(10, "884000"), dial(11, "40"), dial(13, "95")];
        let (second, none) = steps(&new_first, &[on(11, "884210", "12")], SIX, None);
        assert_eq!(counts(&second), ["238", "55"]);
        assert!(none.is_empty());
    }

    #[test]
    fn a_reading_with_a_digit_too_many_is_told_and_left_out() {
        let dials = [dial(1, "412880"), dial(2, "4128950"), dial(3, "412990")];
        let (steps, troubles) = steps(&dials, &[], SIX, None);
        assert_eq!(counts(&steps), ["110"]);
        assert_eq!(troubles, [Trouble::TooLong { reading: 1 }]);
    }

    #[test]
    fn two_digits_swapped_are_a_trouble_and_not_a_million_gallons() {
        let dials = [dial(1, "412000"), dial(2, "417000"), dial(3, "422000"), dial(4, "427920"), dial(5, "423790")];
        let (steps, troubles) = steps(&dials, &[], SIX, None);
        assert_eq!(steps.len(), 3);
        assert_eq!(troubles.len(), 1);
    }

    #[test]
    fn a_supply_that_could_not_give_it_makes_a_rollover_implausible() {
        let dials = [dial(1, "950000"), dial(2, "10000")];
        assert_eq!(steps(&dials, &[], SIX, Some(100_000.0)).0.len(), 1);
        assert_eq!(steps(&dials, &[], SIX, Some(20_000.0)).1.len(), 1);
    }
}
