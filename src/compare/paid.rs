//! What is paid beside what is counted: bought once and again when its life is over, or paid each month or year; and how
//! prices rise.

use super::keys::{Both, PaidOnce as Once, Regular as RegularKeys, Rise};
use crate::balance::Draw;
use crate::compare::bill::{self, Category};
use crate::compare::prices::{Per, Price, Prices, price, years};
use crate::compare::{Alternative, Cell, Study, money};
use crate::files::{Field, Fields, Said};
use crate::quantity::{Misread, number};

/// Something bought once.
#[derive(Debug, Clone, PartialEq)]
pub struct PaidOnce {
    /// What it is.
    pub what: String,
    /// Its price.
    pub price: Price,
    /// How long it lasts, in years.
    pub lasts_years: f64,
    /// After how many years it is bought first: 0 for now.
    pub first_years: f64,
    /// The place without which it is not bought.
    pub of: Option<Said<String>>,
}

/// Something paid each month or year.
#[derive(Debug, Clone, PartialEq)]
pub struct Regular {
    /// What it is.
    pub what: String,
    /// Its price, of a month or a year.
    pub price: Price,
    /// The place without which it is not paid.
    pub of: Option<Said<String>>,
}

impl Regular {
    /// How often it is paid in a year.
    pub fn times(&self) -> f64 {
        if self.price.per == Per::Month { 12.0 } else { 1.0 }
    }
}

/// How prices rise, as shares a year.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Rises {
    /// Of every kind that has none of its own, and of what is bought.
    pub all: f64,
    /// Of kinds of cost.
    pub of: Vec<(Category, f64)>,
    /// As typed, in order.
    pub text: Vec<String>,
}

impl Rises {
    /// How a kind of cost rises.
    pub fn of(&self, category: Category) -> f64 {
        self.of.iter().find(|(known, _)| *known == category).map_or(self.all, |(_, share)| *share)
    }
}

/// The rate at which steady prices are worth as much as rising ones at the rate given.
pub fn against(rate: f64, rises: f64) -> f64 {
    (1.0 + rate) / (1.0 + rises) - 1.0
}

/// Reads what is bought once, under any key. What is wrong is told.
pub(super) fn once(field: &Field<'_>) -> Vec<PaidOnce> {
    field.named().into_iter().filter_map(|(what, field)| bought(what.value, &field)).collect()
}

/// Reads one thing that is bought once. What is wrong is told.
pub(super) fn bought(what: String, field: &Field<'_>) -> Option<PaidOnce> {
    let mut fields = field.map::<Once>()?;
    let price_field = fields.get(&Once::PRICE);
    let asked = price(&mut fields, &Once::PRICE);
    let lasts_field = fields.get(&Once::LASTS);
    let lasts = lasts_field.read().map(|said| (years(&said.value), said.text));
    let first_years = fields.read(&Once::FIRST).map_or(0.0, |said| years(&said.value));
    let of = fields.get(&Once::OF).name();
    fields.finish();
    if let Some((_, text)) = lasts.as_ref().filter(|(years, _)| *years < 1.0 / 12.0) {
        lasts_field.refuse(
            format!("`{text}` lasts no time at all"),
            "how long until it has to be bought again: a month or more, such as 15 years",
        );
        return None;
    }
    let asked = asked?;
    if asked.per != Per::Once && asked.per != Per::Each {
        price_field.refuse(
            format!("`{}` is not the price of something bought once", asked.text),
            format!(
                "write the whole price without `per`, such as 11000 USD; what is paid each month or year stands under `{}`",
                Both::REGULARLY.word
            ),
        );
        return None;
    }
    Some(PaidOnce { what, price: asked, lasts_years: lasts?.0, first_years, of })
}

/// Reads what is paid each month or year. What is wrong is told.
pub(super) fn regularly(field: &Field<'_>) -> Vec<Regular> {
    let mut out = Vec::new();
    for (what, field) in field.named() {
        let Some(mut fields) = field.map::<RegularKeys>() else { continue };
        let price_field = fields.get(&RegularKeys::PRICE);
        let asked = price(&mut fields, &RegularKeys::PRICE);
        let of = fields.get(&RegularKeys::OF).name();
        fields.finish();
        let Some(asked) = asked else { continue };
        if matches!(asked.per, Per::Month | Per::Year) {
            out.push(Regular { what: what.value, price: asked, of });
        } else {
            price_field.refuse(
                format!("`{}` is not paid each month or year", asked.text),
                "write it like 38 USD per month or 900 USD per year; what is bought once stands under `pays once`",
            );
        }
    }
    out
}

/// Reads how prices rise. What is wrong is told.
pub(super) fn rises(fields: &mut Fields<'_>) -> Rises {
    let mut out = Rises::default();
    for (key, category) in [
        (Rise::ALL, None),
        (Rise::SUPPLY, Some(Category::Supply)),
        (Rise::SEWER, Some(Category::Sewer)),
        (Rise::HAULING, Some(Category::Hauling)),
        (Rise::SLUDGE, Some(Category::Sludge)),
        (Rise::USED_UP, Some(Category::UsedUp)),
        (Rise::LABOUR, Some(Category::Labour)),
        (Rise::POWER, Some(Category::Power)),
        (Rise::REGULARLY, Some(Category::Regular)),
    ] {
        let Some(said) = fields.read(&key) else { continue };
        out.text.push(format!("{} {}", key.word, said.text));
        match category {
            None => out.all = said.value,
            Some(category) => out.of.push((category, said.value)),
        }
    }
    out
}

/// How much a price rises in a year, as a share.
pub(super) fn rise(text: &str) -> Result<f64, Misread> {
    let told =
        || Misread::new(format!("`{}` is not how much a price rises in a year", text.trim())).hint("write it like 2 %");
    let bare = text.trim().strip_suffix('%').ok_or_else(told)?.trim();
    let (sign, bare) = bare.strip_prefix(['-', '−']).map_or((1.0, bare), |rest| (-1.0, rest));
    let share = sign * number(bare)?.to_f64() / 100.0;
    if share.abs() <= MOST_RISE { Ok(share) } else { Err(told()) }
}

/// The most that a price is taken to rise or fall in a year (common practice, no source).
const MOST_RISE: f64 = 0.2;

impl Alternative {
    /// Whether a place stands in the option, itself or by what succeeds it.
    fn stands(&self, place: Option<&Said<String>>) -> bool {
        place.is_none_or(|said| self.is_there(&said.value) || self.heir_of(&said.value).is_some())
    }

    fn is_there(&self, name: &str) -> bool {
        self.facility.places.iter().any(|known| known.name == name)
    }

    /// What succeeds a place, where the place itself is there no longer.
    fn heir_of(&self, name: &str) -> Option<&str> {
        let (new, _) = self.heirs.iter().find(|(_, old)| old == name)?;
        (!self.is_there(name)).then_some(new)
    }

    /// Whether what the site pays for a place is paid in the option: the place stands there, or a successor of its kind for which
    /// nothing of the sort is typed.
    fn is_kept(&self, place: Option<&Said<String>>, is_typed: impl Fn(&str) -> bool) -> bool {
        let Some(said) = place else { return true };
        self.is_there(&said.value) || self.heir_of(&said.value).is_some_and(|heir| !is_typed(heir))
    }

    fn keeps_renewal(&self, prices: &Prices, paid: &PaidOnce) -> bool {
        self.is_kept(paid.of.as_ref(), |heir| {
            let is_of = |one: &PaidOnce| one.of.as_ref().is_some_and(|of| of.value == heir);
            let typed = |one: &PaidOnce| one.what == paid.what || (is_of(one) && one.first_years > 0.0);
            self.pays_once.iter().any(typed) || prices.renews.iter().any(is_of)
        })
    }

    fn keeps_regular(&self, prices: &Prices, paid: &Regular) -> bool {
        self.is_kept(paid.of.as_ref(), |heir| {
            let is_of = |one: &Regular| one.of.as_ref().is_some_and(|of| of.value == heir);
            let typed = |one: &Regular| one.what == paid.what || is_of(one);
            self.pays_regularly.iter().any(typed) || prices.pays_regularly.iter().any(is_of)
        })
    }

    /// What is bought in the option: by the proposal, and what the site renews anyhow; with the years until it is bought first. Of
    /// what is new that is a whole life of it.
    pub fn bought<'a>(&'a self, prices: &'a Prices) -> impl Iterator<Item = (&'a PaidOnce, f64)> {
        let own =
            self.pays_once.iter().filter(|paid| self.stands(paid.of.as_ref())).map(|paid| (paid, paid.first_years));
        let renewed = prices.renews.iter().filter(|paid| self.keeps_renewal(prices, paid));
        own.chain(renewed.map(|paid| {
            let is_new = paid.of.as_ref().is_some_and(|of| !self.is_there(&of.value));
            (paid, if is_new { paid.lasts_years } else { paid.first_years })
        }))
    }

    /// What is paid each month or year in the option.
    pub fn regularly<'a>(&'a self, prices: &'a Prices) -> impl Iterator<Item = &'a Regular> {
        let own = self.pays_regularly.iter().filter(|paid| self.stands(paid.of.as_ref()));
        own.chain(prices.pays_regularly.iter().filter(|paid| self.keeps_regular(prices, paid)))
    }

    /// What prices.yaml says of what is gone and passes over to its successor: the successor, what it succeeds, and the lines.
    pub fn passed_over(&self, prices: &Prices) -> Vec<(&str, &str, Vec<String>)> {
        let all = self.heirs.iter().filter_map(|(new, old)| {
            let of = |place: &Option<Said<String>>| place.as_ref().is_some_and(|said| said.value == *old);
            let pumps = prices.pumps.iter().filter(|pump| {
                let typed = self.pumps.iter().chain(&prices.pumps);
                pump.names(old) && !typed.filter(|one| one.lifts == pump.lifts).any(|one| one.names(new))
            });
            let regular = self.regularly(prices).filter(|paid| of(&paid.of)).map(|paid| paid.what.clone());
            let renewed = self.bought(prices).filter(|(paid, _)| of(&paid.of)).map(|(paid, _)| paid.what.clone());
            let lines: Vec<String> = pumps.map(|pump| pump.name.clone()).chain(regular).chain(renewed).collect();
            (!lines.is_empty()).then_some((new.as_str(), old.as_str(), lines))
        });
        all.collect()
    }
}

/// The discount rate of what is bought, less how prices rise, in a run.
pub fn rate_of_purchases(prices: &Prices, draw: &Draw) -> f64 {
    against(bill::rate(prices, draw), prices.rises.all)
}

/// Present value of what an option buys, in a run.
pub fn capital(of: &Alternative, prices: &Prices, draw: &Draw) -> f64 {
    let rate = rate_of_purchases(prices, draw);
    of.bought(prices)
        .map(|(paid, first_years)| {
            money::capital(paid.price.drawn(draw), first_years, paid.lasts_years, rate, prices.years)
        })
        .sum()
}

/// How often something is bought in a year: in year 0 at the start, in the others up to their end.
fn times_in(year: u32, first_years: f64, lasts_years: f64, years: u32) -> usize {
    let all = (0..).map(|time| first_years + f64::from(time) * lasts_years);
    let within =
        all.take_while(|at| *at < f64::from(years) - 1e-9).take(if lasts_years > 0.0 { usize::MAX } else { 1 });
    within.filter(|at| at.ceil() as u32 == year).count()
}

impl Study {
    /// What an option pays for things in a year, not discounted: in year 0 at the start.
    pub fn bought_in(&self, option: usize, year: u32) -> Cell {
        let rises = (1.0 + self.prices.rises.all).powi(year as i32);
        let bought = |draw: &Draw| -> f64 {
            let all = self.options.get(option).into_iter().flat_map(|of| of.alternative.bought(&self.prices));
            let price = |(paid, first): (&PaidOnce, f64)| {
                let times = times_in(year, first, paid.lasts_years, self.prices.years);
                times as f64 * paid.price.drawn(draw) * rises
            };
            all.map(price).sum()
        };
        self.counted(Cell { values: self.draws.iter().map(bought).collect(), ..Cell::default() })
    }

    /// What an option pays for things at the start more than another.
    pub fn start_more(&self, option: usize, than: usize) -> Cell {
        self.bought_in(option, 0).less(&self.bought_in(than, 0))
    }

    /// What an option buys later, less what is left of a life at the end, worth today.
    pub fn later(&self, option: usize) -> Cell {
        self.capital(option).less(&self.bought_in(option, 0))
    }

    /// The same of an option more than of another.
    pub fn later_more(&self, option: usize, than: usize) -> Cell {
        self.later(option).less(&self.later(than))
    }

    /// Whether an option buys anything after the start.
    pub fn buys_later(&self, option: usize) -> bool {
        (1..=self.prices.years).any(|year| !self.bought_in(option, year).is_nought())
    }
}
