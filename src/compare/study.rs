//! Options side by side: the same weather, the same draws, the same service; figures, money and outcomes of each, and
//! what each is more or less than the site as it stands.

use std::sync::Arc;

use chrono::NaiveDate;
use rayon::prelude::*;

use crate::balance::{DailySeries, Draw, Run, Watch};
use crate::compare::bill::{self, Category, Part, Priced};
use crate::compare::brought::{self, Brought};
use crate::compare::doubts::Doubt;
use crate::compare::figures::{Cell, Paired, difference, known_sum, sum};
use crate::compare::log::{Against, LogPlan};
use crate::compare::on_file::OnFile;
use crate::compare::outcomes;
use crate::compare::paid;
use crate::compare::predicted::Predicted;
use crate::compare::prices::Prices;
use crate::compare::pumps::Pump;
use crate::compare::quantity::{self, Hauled, Kind, Quantities};
use crate::compare::repeated::{self, Repeated};
use crate::compare::runs::{self, Shared};
use crate::compare::tried::{Sampled, Tried};
use crate::compare::{Alternative, money, service};
use crate::records::Timeline;
use crate::rules;
use crate::rules::{Drawn, LimitPlan};
use crate::told::Problems;
use crate::weather::DailyWeather;

/// Draws on which outcomes rest: the first of the members.
pub const OUTCOME_DRAWS: u64 = 200;

/// The seed of the members.
pub const SEED: u64 = 1;

/// The fewest draws that a verdict rests on where anything is a range (common practice, no source).
pub const LEAST_DRAWS: usize = 20;

/// How many days a period may be off whole years and still stand for a year's round (common practice, no source).
const WHOLE_YEARS_WITHIN: f64 = 7.0;

/// From this share of draws on a saving or a cost is told as such (common practice, no source).
pub const AGREED: f64 = 0.95;

/// A difference in money under this share of what the site costs anyhow is called hardly any (common practice, no source).
pub const HARDLY: f64 = 0.01;

/// One option, computed.
#[derive(Debug, Clone)]
pub struct Computed {
    /// The option.
    pub alternative: Alternative,
    /// Its single run, the parcels of its ledger forgotten.
    pub run: Arc<Run>,
    /// What that run brings to each filter and use, by its place.
    pub(super) brought: Arc<[Brought]>,
    /// What is counted.
    pub quantities: Quantities,
    /// Amounts a year: by run (the single run first), then by quantity.
    pub amounts: Vec<Vec<f64>>,
    /// The parts of its bill.
    pub parts: Vec<Part>,
    /// Its limits, as the rules predict them.
    pub limits: Vec<Predicted>,
}

/// What is compared, and by what.
#[derive(Debug, Clone)]
pub struct Study {
    /// The site as it stands first, then the others in the order given.
    pub options: Vec<Computed>,
    /// Prices.
    pub prices: Prices,
    /// First and last day.
    pub period: (NaiveDate, NaiveDate),
    /// How many years the period counts for.
    pub years: f64,
    /// Which run each index is: the single run first.
    pub draws: Vec<Draw>,
    /// How each option but the first serves the uses against the first.
    pub service: Vec<service::Served>,
    /// How well the draws repeat the log of the site as it stands.
    pub repeated: Repeated,
    /// Limits about which the computation is not believed; none before [`Study::doubted_by`].
    pub doubts: Vec<Doubt>,
    /// Solids sampled on the site as it stands; none before [`Study::doubted_by`].
    pub sampled: Vec<Sampled>,
    /// Each option's money with other solids and washes; none before [`Study::try_money`].
    pub tried: Vec<Tried>,
    /// What is on file of washes and limits; nothing before [`Study::doubted_by`].
    pub on_file: OnFile,
}

/// Told of each run done: how many more.
pub type Tick<'a> = &'a (dyn Fn(u64) + Sync);

/// An option with its runs done, and its limits not yet judged.
struct Ran {
    computed: Computed,
    plans: Vec<LimitPlan>,
    /// How each limit came out in each of the first members.
    drawn: Vec<Vec<Drawn>>,
    /// What was logged beside what was computed, by run.
    logged: Vec<Vec<Against>>,
}

impl Ran {
    /// The option with its limits judged by the members that count.
    fn judged(self, shared: &Shared<'_>, weights: Option<&[f64]>) -> Computed {
        let counts = |member: usize| weights.is_none_or(|of| of.get(member + 1).is_none_or(|w| *w > 0.0));
        let drawn: Vec<Vec<Drawn>> =
            self.drawn.into_iter().enumerate().filter(|(member, _)| counts(*member)).map(|(_, of)| of).collect();
        let of = &self.computed;
        let limits = outcomes::predicted(&of.alternative, &of.run, shared, &self.plans, &drawn);
        Computed { limits, ..self.computed }
    }
}

/// Computes one option over the single run and `count` members.
///
/// # Errors
/// What makes its balance impossible, with its place in the file.
pub fn compute(
    alternative: &Alternative,
    before: &Alternative,
    prices: &Prices,
    shared: &Shared<'_>,
    count: u64,
    tick: Tick<'_>,
) -> Result<Computed, Problems> {
    Ok(ran(alternative, before, prices, shared, (count, None), tick)?.judged(shared, None))
}

/// What an option costs over the single run alone: its limits are not judged, and of its run no day is kept.
///
/// # Errors
/// As [`compute`].
pub(super) fn costed(
    alternative: &Alternative,
    before: &Alternative,
    prices: &Prices,
    shared: &Shared<'_>,
) -> Result<Computed, Problems> {
    let mut of = ran(alternative, before, prices, shared, (0, None), &|_| {})?.computed;
    if let Some(run) = Arc::get_mut(&mut of.run) {
        run.ledger = run.ledger.without_days();
    }
    Ok(of)
}

/// Where `of` has no such series yet, puts it there; its index.
fn position_or_put(of: &mut Vec<Watch>, watch: &Watch) -> usize {
    of.iter().position(|known| known == watch).unwrap_or_else(|| {
        of.push(watch.clone());
        of.len() - 1
    })
}

fn ran(
    alternative: &Alternative,
    before: &Alternative,
    prices: &Prices,
    shared: &Shared<'_>,
    (count, log): (u64, Option<&Timeline>),
    tick: Tick<'_>,
) -> Result<Ran, Problems> {
    let mut run = runs::single(&alternative.facility, shared)?;
    tick(1);
    let brought = brought::brought(&alternative.facility, &run.ledger, prices.service.target_m);
    run.ledger.forget_parcels();
    let mut quantities = quantity::quantities(
        alternative,
        &run.ledger,
        (&bill::bases(alternative, prices), &prices.spent),
        runs::not_known(&run, shared.weather).as_deref(),
    );
    bill::add_labour(&mut quantities, alternative, before, prices);
    let typed: Vec<&Pump> = alternative.pumps.iter().chain(&prices.pumps).collect();
    quantity::pumps(&mut quantities, (alternative, before), &run.ledger, &typed, prices.service.within);
    let parts = bill::parts(alternative, &quantities, prices);
    let years = quantity::years(shared.period);
    let plans: Vec<LimitPlan> = alternative.rules.as_ref().map_or_else(Vec::new, |rules| {
        rules::plans(rules, &alternative.facility, shared.timeline, Some(shared.weather), shared.period)
    });
    let log = log.map_or_else(LogPlan::default, |log| {
        LogPlan::new(&alternative.facility, log, &run.ledger, shared.period).only(repeated::weighs)
    });
    // One list of series for all: the quantities' first, then what the limits look at beside them, then what was logged.
    let mut watches: Vec<Watch> = quantities.watches.clone();
    let mut at = |list: &[Watch]| list.iter().map(|watch| position_or_put(&mut watches, watch)).collect::<Vec<usize>>();
    let of_limits: Vec<Vec<usize>> = plans.iter().map(|plan| at(&plan.watches)).collect();
    let of_log = at(&log.watches);
    let pick = |series: &[DailySeries]| of_log.iter().filter_map(|at| series.get(*at).cloned()).collect::<Vec<_>>();
    let series: Vec<DailySeries> = watches.iter().map(|watch| run.ledger.series(watch)).collect();
    let mut amounts = vec![quantities.amounts(&Draw::MIDDLE, &series, years)];
    let mut logged = vec![log.against(&pick(&series))];
    let members = runs::members(&alternative.facility, shared, 0..count, &watches, |member, series| {
        let draw = Draw::member(shared.seed, member);
        let of = quantities.amounts(&draw, series, years);
        let outcomes: Vec<Drawn> = if member < OUTCOME_DRAWS {
            plans
                .iter()
                .zip(&of_limits)
                .map(|(plan, at)| {
                    let series: Vec<&DailySeries> = at.iter().filter_map(|at| series.get(*at)).collect();
                    plan.drawn(&series)
                })
                .collect()
        } else {
            Vec::new()
        };
        tick(1);
        (of, outcomes, log.against(&pick(series)))
    })?;
    let mut drawn = Vec::new();
    for (of, outcomes, against) in members {
        amounts.push(of);
        logged.push(against);
        if !outcomes.is_empty() {
            drawn.push(outcomes);
        }
    }
    let run = Arc::new(run);
    let alternative = alternative.clone();
    let computed = Computed { alternative, run, brought, quantities, amounts, parts, limits: Vec::new() };
    Ok(Ran { computed, plans, drawn, logged })
}

/// What a comparison is asked for.
#[derive(Debug, Clone, Copy)]
pub struct Asked<'a> {
    /// The site as it stands first, then the others.
    pub options: &'a [Alternative],
    /// Prices.
    pub prices: &'a Prices,
    /// The weather.
    pub weather: &'a DailyWeather,
    /// The records; none of them drives an option.
    pub timeline: &'a Timeline,
    /// All records: what the site as it stands is held against.
    pub log: &'a Timeline,
    /// First and last day.
    pub period: (NaiveDate, NaiveDate),
    /// Members beside the single run.
    pub draws: u64,
}

impl<'a> Asked<'a> {
    /// What every option shares.
    pub fn shared(&self) -> Shared<'a> {
        Shared { weather: self.weather, timeline: self.timeline, period: self.period, seed: SEED }
    }
}

/// Computes every option on the same weather and the same draws.
///
/// # Errors
/// What makes a balance impossible, with its place in the file.
pub fn study(asked: &Asked<'_>, tick: Tick<'_>) -> Result<Study, Problems> {
    let shared = asked.shared();
    let mut options = Vec::new();
    let mut repeated = Repeated::default();
    if let Some(before) = asked.options.first() {
        for (at, option) in asked.options.iter().enumerate() {
            let log = (at == 0).then_some(asked.log);
            let ran = ran(option, before, asked.prices, &shared, (asked.draws, log), tick)?;
            if at == 0 {
                repeated = repeated::repeated(&ran.logged);
            }
            options.push(ran.judged(&shared, repeated.weights.as_deref()));
        }
    }
    let mut draws = vec![Draw::MIDDLE];
    draws.extend((0..asked.draws).map(|member| Draw::member(SEED, member)));
    let mut study = Study {
        options,
        prices: asked.prices.clone(),
        period: asked.period,
        years: quantity::years(asked.period),
        draws,
        service: Vec::new(),
        repeated,
        doubts: Vec::new(),
        sampled: Vec::new(),
        tried: Vec::new(),
        on_file: OnFile::default(),
    };
    study.service = service::served(&study);
    Ok(study)
}

/// One more option beside the first of a study, at prices of its own: on the same weather, draws and weights.
///
/// # Errors
/// What makes its balance impossible, with its place in the file.
pub(super) fn beside(
    stands: &Study,
    option: &Alternative,
    prices: &Prices,
    asked: &Asked<'_>,
    tick: Tick<'_>,
) -> Result<Study, Problems> {
    let shared = asked.shared();
    let mut options: Vec<Computed> = stands.options.first().cloned().into_iter().collect();
    if let Some(before) = stands.options.first() {
        let ran = ran(option, &before.alternative, prices, &shared, (asked.draws, None), tick)?;
        options.push(ran.judged(&shared, stands.repeated.weights.as_deref()));
    }
    let mut study = Study { options, service: Vec::new(), ..stands.clone() };
    study.service = service::served(&study);
    Ok(study)
}

impl Study {
    /// Runs: the single one and the members.
    pub fn runs(&self) -> usize {
        self.draws.len()
    }

    /// The figures of an option of one kind, pair by pair.
    pub fn paired(&self, option: usize, kind: Kind) -> Vec<Paired> {
        let Some(of) = self.options.get(option) else {
            return Vec::new();
        };
        of.quantities
            .list
            .iter()
            .enumerate()
            .filter(|(_, quantity)| quantity.kind == kind)
            .map(|(at, quantity)| Paired {
                id: quantity.id.clone(),
                values: of.amounts.iter().map(|run| run.get(at).copied().unwrap_or(0.0)).collect(),
                missing: quantity.missing.clone(),
                alike_within: quantity.alike_within,
            })
            .collect()
    }

    /// The costs of an option of one kind a year, pair by pair.
    pub fn costs(&self, option: usize, category: Category) -> Vec<Paired> {
        let Some(of) = self.options.get(option) else {
            return Vec::new();
        };
        of.parts
            .iter()
            .filter(|part| part.category == category)
            .map(|part| {
                let values: Vec<f64> = (&self.draws, &of.amounts)
                    .into_par_iter()
                    .with_min_len(1_000)
                    .map(|(draw, amounts)| part.cost(draw, amounts))
                    .collect();
                let not_counted = part
                    .quantity
                    .and_then(|at| of.quantities.list.get(at))
                    .and_then(|quantity| quantity.missing.clone());
                let not_priced = match &part.priced {
                    Priced::Missing(why) if values.iter().any(|v| *v != 0.0) => Some(why.clone()),
                    _ => None,
                };
                Paired {
                    id: part.id.clone(),
                    values,
                    missing: not_counted.or(not_priced),
                    alike_within: part
                        .quantity
                        .and_then(|at| of.quantities.list.get(at))
                        .map_or(0.0, |quantity| quantity.alike_within),
                }
            })
            .collect()
    }

    /// A cell whose runs count by how well they repeat the log.
    pub fn counted(&self, cell: Cell) -> Cell {
        Cell { weights: self.repeated.weights.clone(), ..cell }
    }

    /// A total of an option a year.
    pub fn total(&self, option: usize, kind: Kind) -> Cell {
        self.counted(sum(&self.paired(option, kind), self.runs()))
    }

    /// A total of an option a year without what is not known and the same in every option.
    pub fn known_total(&self, option: usize, kind: Kind) -> Cell {
        let all: Vec<Vec<Paired>> = (0..self.options.len()).map(|option| self.paired(option, kind)).collect();
        self.counted(known_sum(&all, option, self.runs()))
    }

    /// A cost of an option a year without what is not known and the same in every option.
    pub fn known_cost(&self, option: usize, category: Category) -> Cell {
        let all: Vec<Vec<Paired>> = (0..self.options.len()).map(|option| self.costs(option, category)).collect();
        self.counted(known_sum(&all, option, self.runs()))
    }

    /// All that is known of what an option costs a year to run: see [`Study::known_cost`].
    pub fn known_running(&self, option: usize) -> Cell {
        self.added(Category::ALL.map(|category| self.known_cost(option, category)))
    }

    /// Present value of all that is known of what an option costs: see [`Study::known_cost`].
    pub fn known_present(&self, option: usize) -> Cell {
        self.to_present(|category| self.known_cost(option, category), &self.capital(option))
    }

    /// Why the known costs are not all costs: what is not known, and the same in every option.
    pub fn left_out_of_known(&self) -> Vec<String> {
        let mut out = Vec::new();
        for option in 0..self.options.len() {
            let all = self.present(option).missing;
            let known = self.known_present(option).missing;
            for why in all {
                if !known.contains(&why) && !out.contains(&why) {
                    out.push(why);
                }
            }
        }
        out
    }

    /// How the spent pieces of an option are counted that are hauled.
    pub fn hauled(&self, option: usize) -> Hauled {
        let mut all = Hauled::default();
        let of = self.options.get(option).map_or(&[][..], |of| of.quantities.list.as_slice());
        of.iter().for_each(|quantity| all.add(&quantity.hauled));
        all
    }

    /// What an option has more than another of a kind.
    pub fn more(&self, option: usize, than: usize, kind: Kind) -> Cell {
        self.counted(difference(&self.paired(option, kind), &self.paired(than, kind), self.runs()))
    }

    /// A cost of an option a year.
    pub fn cost(&self, option: usize, category: Category) -> Cell {
        self.counted(sum(&self.costs(option, category), self.runs()))
    }

    /// What an option costs more a year than another.
    pub fn cost_more(&self, option: usize, than: usize, category: Category) -> Cell {
        self.counted(difference(&self.costs(option, category), &self.costs(than, category), self.runs()))
    }

    /// All that an option costs a year to run.
    pub fn running(&self, option: usize) -> Cell {
        self.added(Category::ALL.map(|category| self.cost(option, category)))
    }

    /// What an option costs more a year to run than another.
    pub fn running_more(&self, option: usize, than: usize) -> Cell {
        self.added(Category::ALL.map(|category| self.cost_more(option, than, category)))
    }

    fn added(&self, cells: impl IntoIterator<Item = Cell>) -> Cell {
        let mut all = self.counted(Cell { values: vec![0.0; self.runs()], ..Cell::default() });
        for cell in cells {
            for (to, from) in all.values.iter_mut().zip(&cell.values) {
                *to += from;
            }
            for why in cell.missing {
                if !all.missing.contains(&why) {
                    all.missing.push(why);
                }
            }
        }
        all
    }

    /// Present value of what an option buys, with what is bought again.
    pub fn capital(&self, option: usize) -> Cell {
        let values = match self.options.get(option) {
            Some(of) => self.draws.iter().map(|draw| paid::capital(&of.alternative, &self.prices, draw)).collect(),
            None => vec![0.0; self.runs()],
        };
        self.counted(Cell { values, ..Cell::default() })
    }

    /// What an option buys more than another, worth today.
    pub fn capital_more(&self, option: usize, than: usize) -> Cell {
        self.capital(option).less(&self.capital(than))
    }

    /// Present value of costs a year, each kind with its own rise, and of what is bought.
    fn to_present(&self, a_year: impl Fn(Category) -> Cell, bought: &Cell) -> Cell {
        let mut all = bought.clone();
        for category in Category::ALL {
            let cell = a_year(category);
            for ((to, a_year), draw) in all.values.iter_mut().zip(&cell.values).zip(&self.draws) {
                let rate = paid::against(bill::rate(&self.prices, draw), self.prices.rises.of(category));
                *to += a_year * money::annuity_factor(rate, self.prices.years);
            }
            for why in cell.missing {
                if !all.missing.contains(&why) {
                    all.missing.push(why);
                }
            }
        }
        all
    }

    /// Present value of all that an option costs over the years compared.
    pub fn present(&self, option: usize) -> Cell {
        self.to_present(|category| self.cost(option, category), &self.capital(option))
    }

    /// Present value of what an option costs more than another: below nought it saves.
    pub fn present_more(&self, option: usize, than: usize) -> Cell {
        self.to_present(|category| self.cost_more(option, than, category), &self.capital_more(option, than))
    }

    /// The option that is the existing site at its best, if one of them is: of several, the one that costs least, before those that come
    /// out worse by a limit.
    pub fn tuned(&self) -> Option<usize> {
        let all: Vec<usize> =
            (0..self.options.len()).filter(|at| self.options.get(*at).is_some_and(|of| of.alternative.tuned)).collect();
        if all.len() < 2 {
            return all.first().copied();
        }
        let more = |option: usize| self.present_more(option, 0).spread().map_or(f64::INFINITY, |of| of.median);
        all.into_iter()
            .map(|option| (option, !self.worse_limits(option, 0).is_empty(), more(option)))
            .min_by(|a, b| a.1.cmp(&b.1).then(a.2.total_cmp(&b.2)))
            .map(|(option, ..)| option)
    }

    /// Why the period or the draws bear no verdict, if they do not.
    pub(super) fn too_little(&self, money: &Cell) -> Vec<String> {
        let mut why = Vec::new();
        let days = (self.period.1 - self.period.0).num_days() as f64 + 1.0;
        let whole = (days / 365.25).round();
        if whole < 1.0 || (days - whole * 365.25).abs() > WHOLE_YEARS_WITHIN {
            why.push(format!(
                "the period has {days:.0} days, which is not whole years: its season would be multiplied into {} years (type \
                 another `period`, or give --period)",
                self.prices.years
            ));
        }
        let first = money.values.first();
        let members = self.draws.len().saturating_sub(1);
        if members < LEAST_DRAWS && money.values.iter().any(|value| Some(value) != first) {
            why.push(format!("{members} draws are too few to tell a range: give --draws {LEAST_DRAWS} or more"));
        }
        why
    }
}
