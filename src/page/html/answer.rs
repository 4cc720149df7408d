//! A comparison that answers anew when a price or a life is moved: what each price makes of the difference in each draw, as
//! figures for the script, and the sliders.

use maud::{Markup, html};
use serde_json::{Value, json};

/// A price that can be moved.
#[derive(Debug, Clone, PartialEq)]
pub struct MovedPrice {
    /// What leads to it in the files.
    pub key: String,
    /// What it is of.
    pub name: String,
    /// As typed.
    pub typed: String,
    /// The middle of its range.
    pub middle: f64,
    /// Its unit: `USD per h`.
    pub unit: String,
}

/// A life that can be moved.
#[derive(Debug, Clone, PartialEq)]
pub struct MovedLife {
    /// What lives.
    pub name: String,
    /// How long, as typed, in years.
    pub years: f64,
}

/// Something bought now, and again each time its life is over.
#[derive(Debug, Clone, PartialEq)]
pub struct Bought {
    /// Which price.
    pub price: usize,
    /// Which life.
    pub life: usize,
    /// After how many years it is bought first; none where that is a whole life of it.
    pub first: Option<f64>,
    /// 1 for what an option buys, −1 for what it spares.
    pub sign: f64,
    /// Its price in each run.
    pub values: Vec<f64>,
}

/// What makes up an amount of money, worth today, in each run: the single run first, then the draws.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct MadeUp {
    /// What each price makes of it by what is paid each year; empty where it makes nothing.
    pub running: Vec<Vec<f64>>,
    /// What is bought.
    pub once: Vec<Bought>,
    /// What no price that can be moved makes; empty where there is nothing.
    pub fixed: Vec<f64>,
}

/// An option against the first.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct AnswerOption {
    /// Its name.
    pub name: String,
    /// Why there is no verdict, whatever the prices.
    pub none: Vec<String>,
    /// What limits say to it, whatever the prices; empty where it comes out worse by none.
    pub limits: String,
    /// What its verdict takes for granted; empty where nothing.
    pub only_if: String,
    /// The same at other prices than typed.
    pub only_if_moved: String,
    /// What stands behind its yes: limits that it is outside of in some draws, or is not shown to come within; empty where nothing does.
    pub but: String,
    /// Of what limits it stays outside in every draw, whatever the prices; empty where of none.
    pub stays: String,
    /// What it costs more.
    pub more: MadeUp,
}

/// All options.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Answer {
    /// The money.
    pub money: String,
    /// Years over which it is counted.
    pub years: u32,
    /// From this share of draws on a saving is told as one.
    pub agreed: f64,
    /// A difference under this share of what is paid anyhow is hardly any.
    pub hardly: f64,
    /// The discount rate of what is bought, less how prices rise, in each run.
    pub rates: Vec<f64>,
    /// How much each run counts; empty where all count alike.
    pub weights: Vec<f64>,
    /// Prices.
    pub prices: Vec<MovedPrice>,
    /// Lives.
    pub lives: Vec<MovedLife>,
    /// What is paid anyhow.
    pub anyhow: MadeUp,
    /// The options but the first.
    pub options: Vec<AnswerOption>,
}

/// Nine figures: a verdict turns on no more.
fn short(values: &[f64]) -> Vec<Value> {
    let nine = |value: &f64| format!("{value:.8e}").parse::<f64>().unwrap_or(*value);
    values.iter().map(|value| if *value == 0.0 { json!(0) } else { json!(nine(value)) }).collect()
}

fn made_up(of: &MadeUp) -> Value {
    let once = of.once.iter().map(|one| json!([one.price, one.life, one.sign, short(&one.values), one.first]));
    json!([
        of.running.iter().map(|values| short(values)).collect::<Vec<_>>(),
        once.collect::<Vec<_>>(),
        short(&of.fixed)
    ])
}

impl Answer {
    /// All of it for the script.
    pub fn json(&self) -> Value {
        json!({
            "money": self.money, "years": self.years, "agreed": self.agreed, "hardly": self.hardly,
            "rates": short(&self.rates), "weights": self.weights,
            "prices": self.prices.iter().map(|one| json!([one.name, one.middle, one.unit])).collect::<Vec<_>>(),
            "lives": self.lives.iter().map(|one| json!([one.name, one.years])).collect::<Vec<_>>(),
            "anyhow": made_up(&self.anyhow),
            "options": self.options.iter().map(|of| json!([of.name, of.none, made_up(&of.more), of.only_if, of.limits, of.but, of.stays, of.only_if_moved])).collect::<Vec<_>>(),
        })
    }

    /// Why options have no verdict, each reason once with the options it is of.
    fn reasons(&self) -> Vec<(Vec<&str>, &str)> {
        let mut all: Vec<(Vec<&str>, &str)> = Vec::new();
        for of in &self.options {
            for why in &of.none {
                match all.iter_mut().find(|(_, known)| known == why) {
                    Some((options, _)) => options.push(&of.name),
                    None => all.push((vec![&of.name], why)),
                }
            }
        }
        all
    }

    /// The sliders and the table that the script fills.
    pub fn controls(&self) -> Markup {
        html! {
            section #answer.answer aria-labelledby="answer-head" {
                h2 #answer-head { "At other prices and lives" }
                p {
                    "Money is linear in prices once quantities are drawn: the answer below is worked out again in every draw as a price \
                     or a life is moved. What is caught, used up and hauled stays as it was computed."
                }
                p #answer-words role="status" {}
                div.scroll tabindex="0" role="region" aria-label="The answer at these prices" {
                    table {
                        caption { "Present value of what each costs more over " (self.years) " years, " (self.money) }
                        thead { tr {
                            @for head in ["Option", "Answer"] { th scope="col" { (head) } }
                            @for head in ["A twentieth below", "Half below", "A twentieth above", "Saves in"] { th.n scope="col" { (head) } }
                        } }
                        tbody #answer-rows {}
                    }
                }
                @let reasons = self.reasons();
                @if !reasons.is_empty() {
                    p { "No verdict, whatever the prices:" }
                    ul { @for (options, why) in &reasons { li { strong { (options.join(", ")) } ": " (why) } } }
                }
                div.sliders {
                    @for (at, price) in self.prices.iter().enumerate() {
                        (slider("price", at, &price.name, &price.typed))
                    }
                    @for (at, life) in self.lives.iter().enumerate() {
                        (slider("life", at, &format!("Life of: {}", life.name), &format!("{} years", life.years)))
                    }
                }
                p { button type="button" #as-typed { "All as typed" } }
                details.behind { summary { "At which price each costs the same, the others as they stand above" }
                    div.scroll tabindex="0" role="region" aria-label="Break-evens" { table {
                        caption { "Break-evens, in the middle of all ranges; none: not within ten times less or more than typed" }
                        thead { tr { th scope="col" { "Price" } @for of in &self.options { th scope="col" { (of.name) } } } }
                        tbody #answer-evens {}
                    } }
                }
            }
        }
    }
}

/// From a tenth to ten times, even in proportion.
fn slider(kind: &str, at: usize, name: &str, typed: &str) -> Markup {
    let id = format!("{kind}-{at}");
    html! {
        div {
            label for=(id) { (name) " " span.small { "(typed: " (typed) ")" } }
            input id=(id) data-kind=(kind) data-at=(at) type="range" min="-1" max="1" step="0.01" value="0";
            output for=(id) {}
        }
    }
}
