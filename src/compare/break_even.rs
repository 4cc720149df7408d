//! Break-evens: at what value of one thing, all others in the middle of their ranges, an option costs the same as the
//! site as it stands. Found by bisection on the model itself.

use rayon::prelude::*;

use crate::balance::Draw;
use crate::compare::on_file::OnFile;
use crate::compare::prices::{Price, Prices};
use crate::compare::repeated::Repeated;
use crate::compare::study::costed;
use crate::compare::{Alternative, Asked, Cell, Computed, Study, bill, quantity};
use crate::facility::kinds::Sheds;
use crate::facility::model::{Cadence, Concentrations, DischargeKind, Filter, PlaceKind, Trigger};
use crate::told::Problems;

/// The widest factors looked at, each way.
pub const WIDEST: f64 = 10.0;

/// Steps from 1 to the widest factor on the way out.
const STEPS: i32 = 4;

/// One thing that is varied.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Knob {
    /// Solids in all water that comes in, in both options.
    Solids,
    /// How long what a filter uses up lasts.
    Life(String),
    /// How often a filter of the site as it stands is washed or changed, in every option that keeps it.
    Washes(String),
    /// What one piece costs.
    Piece(String),
    /// A sewer's price of water.
    Sewer(String),
    /// A price by its name.
    Price(String),
}

/// A break-even.
#[derive(Debug, Clone, PartialEq)]
pub struct BreakEven {
    /// What is varied.
    pub what: String,
    /// Its value as typed.
    pub typed: String,
    /// The factor on it at which the difference is nought; none within ten times less or more.
    pub factor: Option<f64>,
    /// The value at that factor.
    pub value: Option<String>,
    /// The difference in present value at a tenth, as typed, and at ten times.
    pub at: [f64; 3],
}

impl BreakEven {
    /// Whether the difference in money does not go with it at all.
    pub fn changes_nothing(&self) -> bool {
        let [low, here, high] = self.at;
        let same = |end: f64| end.is_nan() || (end - here).abs() <= 1e-9 * here.abs().max(1.0);
        same(low) && same(high)
    }
}

/// The break-evens of an option against the site as it stands; none where their difference in money is not known.
///
/// # Errors
/// What makes a balance impossible on the way, with its place in the file.
pub fn break_evens(study: &Study, asked: &Asked<'_>, option: usize) -> Result<Vec<BreakEven>, Problems> {
    let (Some(before), Some(of)) = (study.options.first(), study.options.get(option)) else {
        return Ok(Vec::new());
    };
    let more = study.present_more(option, 0);
    // Where nothing differs there is nothing to turn round.
    if !more.is_whole() || more.is_nought() {
        return Ok(Vec::new());
    }
    // What turns a verdict stands where the verdict does: at the median of the draws that count by the log, not in the middle
    // of ranges that the log narrows.
    let moved = match (&study.repeated.weights, more.spread(), more.single()) {
        (Some(_), Some(range), Some(middle)) => range.median - middle,
        _ => 0.0,
    };
    let found: Vec<Result<BreakEven, Problems>> = knobs(study, of, before)
        .par_iter()
        .map(|knob| {
            let mut difference = |factor: f64| -> Result<Option<f64>, Problems> {
                match knob {
                    // A price needs no run anew, so it is varied in every draw that counts.
                    Knob::Piece(_) | Knob::Sewer(_) | Knob::Price(_) if study.repeated.weights.is_some() => {
                        Ok(median_at(knob, factor, study, before, of))
                    }
                    _ => Ok(difference(knob, factor, study, asked, before, of)?.map(|more| more + moved)),
                }
            };
            let found = search(&mut difference)?;
            let (what, typed, value) = words(knob, study, of, before, found.0);
            Ok(BreakEven { what, typed, factor: found.0, value, at: found.1 })
        })
        .collect();
    found.into_iter().collect()
}

fn knobs(study: &Study, of: &Computed, before: &Computed) -> Vec<Knob> {
    let mut knobs = vec![Knob::Solids];
    for alternative in [&of.alternative, &before.alternative] {
        for place in &alternative.facility.places {
            let PlaceKind::Filter(_) = &place.kind else {
                continue;
            };
            let id = alternative.old_name(&place.name);
            let used = |of: &Computed| of.parts.iter().any(|part| is_used_up(part, id));
            if used(of) || used(before) {
                for knob in [Knob::Life(place.name.clone()), Knob::Piece(place.name.clone())] {
                    if !knobs.contains(&knob) {
                        knobs.push(knob);
                    }
                }
            }
        }
    }
    let washed = before.quantities.list.iter().filter(|of| of.kind == quantity::Kind::Washes && of.missing.is_none());
    // What stands in a filter's place with washes of its own does not wash as that filter does.
    let has_its_own = |name: &str| {
        let places = of.alternative.facility.places.iter();
        places
            .filter(|place| place.name != name && of.alternative.old_name(&place.name) == name)
            .any(|place| matches!(&place.kind, PlaceKind::Filter(filter) if filter.wash.is_some()))
    };
    knobs.extend(washed.filter(|of| !has_its_own(&of.name)).map(|of| Knob::Washes(of.name.clone())));
    knobs.retain(|knob| match knob {
        Knob::Life(name) | Knob::Piece(name) => {
            filter_named(name, of, before).is_some_and(|filter| filter.kind.declared().uses_up.is_some())
        }
        _ => true,
    });
    for place in &before.alternative.facility.places {
        let PlaceKind::DischargePoint(point) = &place.kind else {
            continue;
        };
        if point.kind != DischargeKind::Sewer {
            continue;
        }
        let tariff = study.prices.tariffs.iter().find(|t| t.place == place.name);
        if tariff.is_some_and(|tariff| tariff.water.is_some()) {
            knobs.push(Knob::Sewer(place.name.clone()));
        } else if tariff.is_none() && study.prices.price(&place.name).is_some() {
            knobs.push(Knob::Price(place.name.clone()));
        }
    }
    for name in ["labour", "power"] {
        if study.prices.price(name).is_some() {
            knobs.push(Knob::Price(name.to_owned()));
        }
    }
    knobs
}

fn is_used_up(part: &bill::Part, id: &str) -> bool {
    part.category == bill::Category::UsedUp && part.id == id
}

/// A filter by its name, of an option or of the site as it stands.
fn filter_named<'a>(name: &str, of: &'a Computed, before: &'a Computed) -> Option<&'a Filter> {
    [of, before].into_iter().find_map(|of| {
        let facility = &of.alternative.facility;
        match &facility.get(facility.find(name)?)?.kind {
            PlaceKind::Filter(filter) => Some(filter.as_ref()),
            _ => None,
        }
    })
}

/// The nearest factor to 1 at which the sign changes, and the differences at a tenth, at 1 and at ten times.
fn search(
    difference: &mut impl FnMut(f64) -> Result<Option<f64>, Problems>,
) -> Result<(Option<f64>, [f64; 3]), Problems> {
    let Some(here) = difference(1.0)? else {
        return Ok((None, [f64::NAN; 3]));
    };
    let mut ends = [f64::NAN, here, f64::NAN];
    if here == 0.0 {
        return Ok((Some(1.0), ends));
    }
    let mut found: Option<(f64, f64)> = None;
    let step = |n: i32| WIDEST.powf(f64::from(n) / f64::from(STEPS));
    for n in 1..=STEPS {
        for (side, sign) in [(0, -1), (2, 1)] {
            let (inner, outer) = (step(sign * (n - 1)), step(sign * n));
            let Some(value) = difference(outer)? else {
                continue;
            };
            if let Some(end) = ends.get_mut(side) {
                *end = value;
            }
            if found.is_none() && value.signum() != here.signum() {
                found = Some((inner, outer));
            }
        }
    }
    let Some((mut inner, mut outer)) = found else {
        return Ok((None, ends));
    };
    // A step of the walk halved ten times: within a two-thousandth.
    for _ in 0..10 {
        let middle = (inner * outer).sqrt();
        match difference(middle)? {
            Some(value) if value.signum() == here.signum() => inner = middle,
            Some(_) => outer = middle,
            None => break,
        }
    }
    Ok((Some((inner * outer).sqrt()), ends))
}

fn difference(
    knob: &Knob,
    factor: f64,
    study: &Study,
    asked: &Asked<'_>,
    before: &Computed,
    of: &Computed,
) -> Result<Option<f64>, Problems> {
    let prices = with_prices(knob, factor, &study.prices);
    let before = with(knob, factor, asked, &prices, before, before)?;
    let of = with(knob, factor, asked, &prices, of, &before)?;
    let study = Study { options: vec![before, of], prices, draws: vec![Draw::MIDDLE], ..study.empty() };
    Ok(study.present_more(1, 0).single())
}

/// An option with one thing varied: run again where the run depends on it, else priced again.
fn with(
    knob: &Knob,
    factor: f64,
    asked: &Asked<'_>,
    prices: &Prices,
    of: &Computed,
    before: &Computed,
) -> Result<Computed, Problems> {
    let changed = changed(knob, factor, &of.alternative, &before.alternative);
    match changed {
        Some(alternative) => costed(&alternative, &before.alternative, prices, &asked.shared()),
        None => {
            let of = Computed { amounts: of.amounts.iter().take(1).cloned().collect(), ..of.clone() };
            Ok(at_price(knob, factor, &of, prices))
        }
    }
}

/// The median over the draws of what an option costs more with a price varied.
fn median_at(knob: &Knob, factor: f64, study: &Study, before: &Computed, of: &Computed) -> Option<f64> {
    let prices = with_prices(knob, factor, &study.prices);
    let options = [before, of].map(|of| at_price(knob, factor, of, &prices)).to_vec();
    let (draws, repeated) = (study.draws.clone(), study.repeated.clone());
    let study = Study { options, prices, draws, repeated, ..study.empty() };
    study.present_more(1, 0).spread().map(|of| of.median)
}

/// An option as it was run, billed at other prices.
fn at_price(knob: &Knob, factor: f64, of: &Computed, prices: &Prices) -> Computed {
    let mut out = Computed { limits: Vec::new(), ..of.clone() };
    if let Knob::Piece(name) = knob {
        for (_, price) in out.alternative.used_up.iter_mut().filter(|(known, _)| known == name) {
            *price = scaled_price(price, factor);
        }
    }
    out.parts = bill::parts(&out.alternative, &out.quantities, prices);
    out
}

/// An option with one thing varied, where the run depends on it. `before` is the site as it stands.
pub(super) fn changed(knob: &Knob, factor: f64, of: &Alternative, before: &Alternative) -> Option<Alternative> {
    let mut out = of.clone();
    out.rules = None;
    match knob {
        Knob::Solids => {
            let kinds: Vec<String> = out.facility.solids.iter().map(|k| k.name.clone()).collect();
            let scale = |list: &mut Concentrations| {
                for (name, given) in list {
                    if kinds.iter().any(|kind| kind.eq_ignore_ascii_case(name)) {
                        given.scale(factor);
                    }
                }
            };
            for place in &mut out.facility.places {
                match &mut place.kind {
                    PlaceKind::Supply(of) => scale(&mut of.brings),
                    PlaceKind::Catchment(of) => scale(&mut of.solids),
                    PlaceKind::Use(of) => scale(&mut of.picks_up),
                    _ => {}
                }
            }
            Some(out)
        }
        Knob::Life(name) => {
            let filter = filter_in(&mut out, name)?;
            if let Some(change) = &mut filter.change {
                stretch(&mut change.cadence, factor, |_| true);
            }
            filter.kind.last_longer(factor);
            Some(out)
        }
        Knob::Washes(name) => {
            let mut before = before.clone();
            let known = filter_in(&mut before, name)?;
            let filter = washed_as(&mut out, name, known)?;
            // What a filter holds is a belief; a clock that a proposal sets anew is a decision, and stays.
            let pairs = [
                (filter.wash.as_mut().map(|of| &mut of.cadence), known.wash.as_ref().map(|of| &of.cadence)),
                (filter.change.as_mut().map(|of| &mut of.cadence), known.change.as_ref().map(|of| &of.cadence)),
            ];
            for (cadence, known) in pairs.into_iter().filter_map(|(of, known)| Some((of?, known?))) {
                stretch(cadence, 1.0 / factor, |trigger| {
                    matches!(trigger, Trigger::Solids(_))
                        || known.triggers.iter().any(|of| text_of(of) == text_of(trigger))
                });
            }
            if let Some(holds) = filter.wash.as_mut().and_then(|wash| wash.holds_before.as_mut()) {
                holds.scale(1.0 / factor);
            }
            filter.kind.last_longer(1.0 / factor);
            Some(out)
        }
        Knob::Piece(_) | Knob::Sewer(_) | Knob::Price(_) => None,
    }
}

fn filter_in<'a>(of: &'a mut Alternative, name: &str) -> Option<&'a mut Filter> {
    match &mut of.facility.places.iter_mut().find(|place| place.name == *name)?.kind {
        PlaceKind::Filter(filter) => Some(filter),
        _ => None,
    }
}

/// The filter itself, or what replaces it and is washed or changed by the same rule.
fn washed_as<'a>(of: &'a mut Alternative, name: &str, known: &Filter) -> Option<&'a mut Filter> {
    let stands = of.facility.places.iter().any(|place| place.name == name);
    let at = of.facility.places.iter().position(|place| match &place.kind {
        PlaceKind::Filter(_) if stands => place.name == name,
        PlaceKind::Filter(filter) => of.old_name(&place.name) == name && is_washed_alike(filter, known),
        _ => false,
    })?;
    match &mut of.facility.places.get_mut(at)?.kind {
        PlaceKind::Filter(filter) => Some(filter),
        _ => None,
    }
}

/// An option with a filter washed so many times as often.
pub(super) fn washed_so_often(of: &Alternative, name: &str, times: f64) -> Option<Alternative> {
    let mut out = Alternative { rules: None, ..of.clone() };
    let wash = filter_in(&mut out, name)?.wash.as_mut()?;
    stretch(&mut wash.cadence, 1.0 / times, |_| true);
    if let Some(holds) = &mut wash.holds_before {
        holds.scale(1.0 / times);
    }
    Some(out)
}

/// Whether two filters are washed or changed by the same lines.
pub(super) fn is_washed_alike(a: &Filter, b: &Filter) -> bool {
    let rule = |of: &Filter| {
        let cadences = of.wash.iter().map(|of| &of.cadence).chain(of.change.iter().map(|of| &of.cadence));
        let triggers: Vec<String> = cadences.flat_map(|of| &of.triggers).map(|of| text_of(of).to_owned()).collect();
        let holds = of.wash.as_ref().and_then(|wash| wash.holds_before.as_ref()).map(|holds| holds.text.clone());
        (of.kind.words(), triggers, holds)
    };
    rule(a) == rule(b)
}

/// Makes a filter's washes or changes so many times as rare, as far as the triggers meant set them off.
fn stretch(cadence: &mut Cadence, times: f64, is_meant: impl Fn(&Trigger) -> bool) {
    for trigger in cadence.triggers.iter_mut().filter(|trigger| is_meant(trigger)) {
        match trigger {
            Trigger::Clock(given) | Trigger::RunningHours(given) => given.scale(times),
            Trigger::Solids(given) => given.scale(times),
            Trigger::Throughput(given) => given.scale(times),
        }
    }
}

fn scaled_price(price: &Price, factor: f64) -> Price {
    Price { low: price.low * factor, high: price.high * factor, ..price.clone() }
}

fn with_prices(knob: &Knob, factor: f64, prices: &Prices) -> Prices {
    let mut prices = prices.clone();
    match knob {
        Knob::Piece(name) => {
            for (known, price) in &mut prices.used_up {
                if known == name {
                    *price = scaled_price(price, factor);
                }
            }
        }
        Knob::Sewer(place) => {
            for tariff in &mut prices.tariffs {
                if tariff.place == *place
                    && let Some(water) = &mut tariff.water
                {
                    *water = scaled_price(water, factor);
                }
            }
        }
        Knob::Price(name) => {
            for (known, price) in &mut prices.prices {
                if known.eq_ignore_ascii_case(name) {
                    *price = scaled_price(price, factor);
                }
            }
        }
        Knob::Solids | Knob::Life(_) | Knob::Washes(_) => {}
    }
    prices
}

/// What is varied, its value as typed, and its value at the break-even.
fn words(
    knob: &Knob,
    study: &Study,
    of: &Computed,
    before: &Computed,
    factor: Option<f64>,
) -> (String, String, Option<String>) {
    let prices = &study.prices;
    let times = |factor: f64| format!("{} times what is typed", figure(factor));
    let at_price = |price: Option<&Price>| -> (String, Option<String>) {
        let typed = price.map(|p| p.text.clone()).unwrap_or_default();
        let value = factor.zip(price).map(|(factor, price)| {
            let unit: Vec<&str> =
                price.text.split_whitespace().skip_while(|word| word.parse::<f64>().is_ok() || *word == "to").collect();
            format!("{} {}", figure(price.at(0.5) * factor), unit.join(" "))
        });
        (typed, value)
    };
    match knob {
        Knob::Solids => ("Solids in all water that comes in".to_owned(), "as typed".to_owned(), factor.map(times)),
        Knob::Life(name) => {
            let filter = filter_named(name, of, before);
            (
                format!("Life of a {}, {name}", filter.map_or("piece", piece)),
                filter.map(typed_life).unwrap_or_default(),
                factor.map(|factor| format!("{} times as long", figure(factor))),
            )
        }
        Knob::Washes(name) => {
            let at: Vec<usize> = (0..)
                .zip(&before.quantities.list)
                .filter(|(_, of)| of.kind == quantity::Kind::Washes && of.name == *name)
                .map(|(at, _)| at)
                .collect();
            let of_run = |run: &Vec<f64>| at.iter().filter_map(|at| run.get(*at)).sum::<f64>();
            let washes = Cell { values: before.amounts.iter().map(of_run).collect(), ..Cell::default() };
            let middle = washes.single().unwrap_or(0.0);
            // As for the money: by the log, where it weighs the draws.
            let computed = match &study.repeated.weights {
                Some(_) => study.counted(washes).spread().map_or(middle, |range| range.median),
                None => middle,
            };
            (
                format!("Washes of {name}"),
                format!("{} a year computed", whole(computed)),
                factor.map(|factor| format!("{} a year", whole(factor * computed))),
            )
        }
        Knob::Piece(name) => {
            let price = of
                .alternative
                .used_up
                .iter()
                .chain(&prices.used_up)
                .find(|(known, _)| known == name)
                .map(|(_, price)| price);
            let (typed, value) = at_price(price);
            let piece = filter_named(name, of, before).map_or("piece", piece);
            (format!("Price of a {piece}, {name}"), typed, value)
        }
        Knob::Sewer(place) => {
            let price = prices.tariffs.iter().find(|t| t.place == *place).and_then(|t| t.water.as_ref());
            let (typed, value) = at_price(price);
            (format!("Sewer fee for water, {place}"), typed, value)
        }
        Knob::Price(name) => {
            let (typed, value) = at_price(prices.price(name));
            (format!("Price of {name}"), typed, value)
        }
    }
}

/// The word for one piece of what a filter uses up.
fn piece(filter: &Filter) -> &'static str {
    filter.kind.declared().uses_up.map_or("piece", |pieces| pieces.one)
}

/// What says how long a piece lasts, as typed.
fn typed_life(filter: &Filter) -> String {
    match filter.kind.sheds() {
        Sheds::Roll { roll, .. } => format!("holds {}", roll.holds.text),
        Sheds::Change { .. } => filter
            .change
            .iter()
            .flat_map(|change| &change.cadence.triggers)
            .map(text_of)
            .collect::<Vec<_>>()
            .join(" or "),
        Sheds::Screenings | Sheds::Rinse(_) | Sheds::Reject(_) | Sheds::Wash { .. } => String::new(),
    }
}

fn text_of(trigger: &Trigger) -> &str {
    match trigger {
        Trigger::Clock(given) | Trigger::RunningHours(given) => &given.text,
        Trigger::Solids(given) => &given.text,
        Trigger::Throughput(given) => &given.text,
    }
}

/// A count; as a figure where there are few.
fn whole(value: f64) -> String {
    if value >= 10.0 { crate::compare::figures::plain(value, 0) } else { figure(value) }
}

/// A figure of three digits.
fn figure(value: f64) -> String {
    let digits = if value.abs() >= 100.0 {
        0
    } else if value.abs() >= 10.0 {
        1
    } else {
        2
    };
    crate::compare::figures::plain(value, digits)
}

impl Study {
    /// The same study without options: its prices, days and years.
    pub(super) fn empty(&self) -> Self {
        Self {
            options: Vec::new(),
            prices: self.prices.clone(),
            period: self.period,
            years: quantity::years(self.period),
            draws: Vec::new(),
            service: Vec::new(),
            repeated: Repeated::default(),
            doubts: Vec::new(),
            sampled: Vec::new(),
            tried: Vec::new(),
            on_file: OnFile::default(),
        }
    }
}
