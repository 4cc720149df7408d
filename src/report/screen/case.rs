//! The case as a page: the same document, and what each price makes of the answer in every draw.

use crate::compare::prices::Price;
use crate::compare::{AGREED, Cell, HARDLY, Priced, Study, Verdict, Worse, rate_of_purchases};
use crate::page::html::{Answer, AnswerOption, Bought, MadeUp, MovedLife, MovedPrice, Page};
use crate::report::case::{self, ComparedCase};

/// The page of a case.
pub fn page(case: &ComparedCase<'_>) -> Page {
    Page {
        document: Some(case::document(case)),
        annex: Some(case::annex(case)),
        answer: Some(answer(case.study, &|option| case.short(option))),
        ..Page::default()
    }
}

/// The prices that any option's bill uses, each once.
fn used(study: &Study) -> Vec<&Price> {
    let mut all: Vec<&Price> = Vec::new();
    for of in &study.options {
        let yearly = of.parts.iter().filter_map(|part| match &part.priced {
            Priced::At(price, _) => Some(price),
            Priced::Missing(_) => None,
        });
        for price in yearly.chain(of.alternative.bought(&study.prices).map(|(paid, _)| &paid.price)) {
            if !all.iter().any(|known| known.key == price.key) {
                all.push(price);
            }
        }
    }
    all
}

/// `no: worse by Sewer solids, day`; empty where there is no such limit.
fn limits(worse: &[Worse]) -> String {
    let names: Vec<&str> = worse.iter().map(|of| of.with.name.as_str()).collect();
    match worse {
        [] => String::new(),
        _ if worse.iter().any(Worse::is_outside) => format!("no: worse by {}", names.join(", ")),
        _ => format!("not decided by {}", names.join(", ")),
    }
}

/// What each price makes of the answer: a study at twice a price, less the study. Money is linear in each.
pub fn answer(study: &Study, name: &dyn Fn(usize) -> String) -> Answer {
    let prices = used(study);
    let doubled: Vec<Study> = prices
        .iter()
        .map(|price| study.at_prices(&|key| if key == price.key { 2.0 } else { 1.0 }, &|_, _| 1.0))
        .collect();
    let mut lives: Vec<MovedLife> = Vec::new();
    let mut once_of = |option: usize, sign: f64| -> Vec<Bought> {
        let Some(of) = study.options.get(option) else { return Vec::new() };
        let bought = of.alternative.bought(&study.prices).map(|(paid, first_years)| {
            // What the site renews lives as long in every option.
            let own = of.alternative.pays_once.iter().any(|one| one.what == paid.what);
            let name = if own { format!("{}, {}", of.alternative.name, paid.what) } else { paid.what.clone() };
            let known = lives.iter().position(|life| life.name == name);
            let life = known.unwrap_or_else(|| {
                lives.push(MovedLife { name, years: paid.lasts_years });
                lives.len() - 1
            });
            Bought {
                price: prices.iter().position(|price| price.key == paid.price.key).unwrap_or(0),
                life,
                first: (first_years == paid.first_years || first_years != paid.lasts_years).then_some(first_years),
                sign,
                values: study.draws.iter().map(|draw| paid.price.drawn(draw)).collect(),
            }
        });
        bought.collect()
    };
    let spared = once_of(0, -1.0);
    let anyhow: Vec<Bought> = spared.iter().map(|one| Bought { sign: 1.0, ..one.clone() }).collect();
    let options = (1..study.options.len()).map(|option| AnswerOption {
        name: name(option),
        none: match study.verdict(option, 0).in_money() {
            Verdict::None(why) => why.clone(),
            _ => Vec::new(),
        },
        limits: limits(&study.worse_limits(option, 0)),
        only_if: study.takes_for_granted(option).unwrap_or_default(),
        only_if_moved: study.takes_for_granted_at_any_price(option).unwrap_or_default(),
        but: study.nearly_kept(option, 0).join(" and "),
        stays: study.stays_words(option, 0, &|of| of.name.clone()).unwrap_or_default(),
        more: made_up(
            study,
            &doubled,
            &|study| (study.present_more(option, 0), study.capital_more(option, 0).values),
            [once_of(option, 1.0), spared.clone()].concat(),
        ),
    });
    let options = options.collect();
    Answer {
        money: study.prices.money.clone(),
        years: study.prices.years,
        agreed: AGREED,
        hardly: HARDLY,
        rates: study.draws.iter().map(|draw| rate_of_purchases(&study.prices, draw)).collect(),
        weights: study.repeated.weights.as_ref().map_or_else(Vec::new, |weights| weights.to_vec()),
        anyhow: made_up(study, &doubled, &|study| (study.known_present(0), study.capital(0).values), anyhow),
        prices: prices.iter().map(|price| moved(price)).collect(),
        lives,
        options,
    }
}

/// What each price makes by what is paid each year, what is bought, and what is left that no price makes.
fn made_up(study: &Study, doubled: &[Study], amount: &dyn Fn(&Study) -> (Cell, Vec<f64>), once: Vec<Bought>) -> MadeUp {
    let yearly = |study: &Study| -> Vec<f64> {
        let (whole, bought) = amount(study);
        whole.values.iter().zip(bought).map(|(whole, bought)| whole - bought).collect()
    };
    let here = yearly(study);
    let most = here.iter().fold(0.0_f64, |most, value| most.max(value.abs()));
    // The last bits of two large sums are nothing.
    let is_nothing = |values: &[f64]| values.iter().all(|value| value.abs() <= 1e-12 * most);
    let mut fixed = here.clone();
    let running = doubled
        .iter()
        .map(|study| {
            let made: Vec<f64> = yearly(study).iter().zip(&here).map(|(there, here)| there - here).collect();
            fixed.iter_mut().zip(&made).for_each(|(left, made)| *left -= made);
            if is_nothing(&made) { Vec::new() } else { made }
        })
        .collect();
    if is_nothing(&fixed) {
        fixed.clear();
    }
    MadeUp { running, once, fixed }
}

/// `tariffs / Town sewer / water` is Town sewer, water: the file's own words, without what every price has.
fn name_of(key: &str) -> String {
    let parts: Vec<&str> = key.split(" / ").skip(1).filter(|part| *part != "price").collect();
    if parts.is_empty() { key.to_owned() } else { parts.join(", ") }
}

fn moved(price: &Price) -> MovedPrice {
    let unit = price.text.split_whitespace().skip_while(|word| word.parse::<f64>().is_ok() || *word == "to");
    MovedPrice {
        key: price.key.clone(),
        name: name_of(&price.key),
        typed: price.text.clone(),
        middle: price.at(0.5),
        unit: unit.collect::<Vec<_>>().join(" "),
    }
}
