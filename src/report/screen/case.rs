//! The case as a page: the same document, and what each price makes of the answer in every draw.

use crate::compare::prices::Price;
use crate::compare::{AGREED, Cell, HARDLY, Priced, Study, Verdict, rate};
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
        for price in yearly.chain(of.alternative.pays_once.iter().map(|paid| &paid.price)) {
            if !all.iter().any(|known| known.key == price.key) {
                all.push(price);
            }
        }
    }
    all
}

/// What each price makes of the answer: a study at twice a price, less the study. Money is linear in each.
pub fn answer(study: &Study, name: &dyn Fn(usize) -> String) -> Answer {
    let prices = used(study);
    let doubled: Vec<Study> = prices
        .iter()
        .map(|price| study.at_prices(&|key| if key == price.key { 2.0 } else { 1.0 }, &|_, _| 1.0))
        .collect();
    let mut lives = Vec::new();
    let mut once_of = |option: usize, sign: f64| -> Vec<Bought> {
        let Some(of) = study.options.get(option) else { return Vec::new() };
        let bought = of.alternative.pays_once.iter().map(|paid| {
            lives.push(MovedLife { name: format!("{}, {}", of.alternative.name, paid.what), years: paid.lasts_years });
            Bought {
                price: prices.iter().position(|price| price.key == paid.price.key).unwrap_or(0),
                life: lives.len() - 1,
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
        none: match study.verdict(option, 0) {
            Verdict::None(why) => why,
            _ => Vec::new(),
        },
        more: MadeUp {
            running: running(study, &doubled, &|study| {
                (study.present_more(option, 0), less(&study.capital(option), &study.capital(0)))
            }),
            once: [once_of(option, 1.0), spared.clone()].concat(),
        },
    });
    let options = options.collect();
    Answer {
        money: study.prices.money.clone(),
        years: study.prices.years,
        agreed: AGREED,
        hardly: HARDLY,
        rates: study.draws.iter().map(|draw| rate(&study.prices, draw)).collect(),
        anyhow: MadeUp {
            running: running(study, &doubled, &|study| (study.known_present(0), study.capital(0).values)),
            once: anyhow,
        },
        prices: prices.iter().map(|price| moved(price)).collect(),
        lives,
        options,
    }
}

fn less(a: &Cell, b: &Cell) -> Vec<f64> {
    a.values.iter().zip(&b.values).map(|(a, b)| a - b).collect()
}

/// What each price makes by what is paid each year: of an amount worth today, without what is bought.
fn running(study: &Study, doubled: &[Study], amount: &dyn Fn(&Study) -> (Cell, Vec<f64>)) -> Vec<Vec<f64>> {
    let yearly = |study: &Study| -> Vec<f64> {
        let (whole, bought) = amount(study);
        whole.values.iter().zip(bought).map(|(whole, bought)| whole - bought).collect()
    };
    let here = yearly(study);
    let most = here.iter().fold(0.0_f64, |most, value| most.max(value.abs()));
    doubled
        .iter()
        .map(|study| {
            let made: Vec<f64> = yearly(study).iter().zip(&here).map(|(there, here)| there - here).collect();
            // The last bits of two large sums are nothing.
            if made.iter().all(|value| value.abs() <= 1e-12 * most) { Vec::new() } else { made }
        })
        .collect()
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
