//! The prices file: what things cost, by whom told and when; tariffs with base and surcharge; labour minutes.

use chrono::NaiveDate;
use uom::si::f64::{Mass, Ratio};

use super::keys::{self, Both, File, PriceLine, Priced, Surcharge, Told, UsedUp};
use crate::balance::Draw;
use crate::compare::paid::{self, PaidOnce, Regular, Rises};
use crate::compare::pumps::{self, Pump};
use crate::files::schema::document;
use crate::files::yaml::Node;
use crate::files::{AnyKey, Declares, Field, Fields, Given, Key, Said};
use crate::quantity::{HowOften, Misread, Span, Stretch, ends_of_numbers, number};
use crate::told::{Place, Problems};

/// What a price is for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Per {
    /// So many cubic metres.
    Volume(f64),
    /// So many kilograms.
    Mass(f64),
    /// A kilowatt-hour.
    KilowattHour,
    /// An hour.
    Hour,
    /// A month.
    Month,
    /// A year.
    Year,
    /// One piece.
    Each,
    /// The whole thing, once.
    Once,
}

/// A price, or a range of prices, with who told it and when.
#[derive(Debug, Clone, PartialEq)]
pub struct Price {
    /// The lower end, in the file's money.
    pub low: f64,
    /// The upper end.
    pub high: f64,
    /// What it is for.
    pub per: Per,
    /// The money it is in.
    pub money: String,
    /// As typed.
    pub text: String,
    /// Who told it.
    pub by: Option<String>,
    /// When.
    pub on: Option<NaiveDate>,
    /// Where it was typed.
    pub place: Place,
    /// The keys that lead to it: names it as a variable in draws.
    pub key: String,
}

impl Price {
    /// The price in a run: the middle of its range, or a member's draw.
    pub fn drawn(&self, draw: &Draw) -> f64 {
        if self.low == self.high {
            return self.low;
        }
        self.at(draw.uniform(&self.key))
    }

    /// What one unit (a cubic metre, a kilogram, a piece) costs at such a price.
    pub fn of_one(&self, price: f64) -> f64 {
        match self.per {
            Per::Volume(amount) | Per::Mass(amount) => price / amount,
            Per::KilowattHour | Per::Hour | Per::Month | Per::Year | Per::Each | Per::Once => price,
        }
    }

    /// The price at a share of its range: 0.5 for the middle.
    pub fn at(&self, share: f64) -> f64 {
        self.low + share * (self.high - self.low)
    }
}

/// A tariff of a place that takes water: a base a month, a price for water, a surcharge on what is stronger than a base.
#[derive(Debug, Clone, PartialEq)]
pub struct Tariff {
    /// The place.
    pub place: String,
    /// Where its name was typed.
    pub said_at: Place,
    /// Paid each month, whatever flows.
    pub base: Option<Price>,
    /// For the water.
    pub water: Option<Price>,
    /// Parameter, concentration over which it is paid (mg/L), and the price of the mass above.
    pub surcharge: Option<(String, f64, Price)>,
    /// The day of the month on which the bill's month begins.
    pub month_begins: u32,
}

impl Tariff {
    /// Its prices.
    pub fn prices(&self) -> impl Iterator<Item = &Price> {
        self.base.iter().chain(&self.water).chain(self.surcharge.iter().map(|(_, _, price)| price))
    }
}

/// Whether a discount rate leaves inflation out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RateIs {
    /// It does: prices stay those of today.
    Real,
    /// It holds inflation: prices rise.
    Nominal,
}

/// What spent pieces weigh when they are hauled.
#[derive(Debug, Clone)]
pub struct Spent {
    /// Dry weight of one without what it holds.
    pub dry: Option<Given<Mass>>,
    /// Share of water in what is hauled.
    pub water: Option<Given<Ratio>>,
}

/// Labour beside the minutes that a filter's own lines give.
#[derive(Debug, Clone, PartialEq)]
pub struct Labour {
    /// The place.
    pub place: String,
    /// Where its name was typed.
    pub said_at: Place,
    /// Minutes of one check, and checks a year.
    pub checks: Option<(f64, f64)>,
    /// Minutes to put on a new roll.
    pub new_roll: Option<f64>,
}

/// The prices file.
#[derive(Debug, Clone)]
pub struct Prices {
    /// The money: `USD`.
    pub money: String,
    /// Years over which options are compared.
    pub years: u32,
    /// Discount rate, as a share; a range is one draw.
    pub discount: (f64, f64),
    /// Prices by name, in file order.
    pub prices: Vec<(String, Price)>,
    /// Tariffs.
    pub tariffs: Vec<Tariff>,
    /// What a change uses, by the filter's name.
    pub used_up: Vec<(String, Price)>,
    /// What spent pieces weigh, by the filter's name.
    pub spent: Vec<(String, Spent)>,
    /// Labour minutes.
    pub labour: Vec<Labour>,
    /// Pumps.
    pub pumps: Vec<Pump>,
    /// What the site as it stands buys anyhow.
    pub renews: Vec<PaidOnce>,
    /// What is paid each month or year.
    pub pays_regularly: Vec<Regular>,
    /// How prices rise.
    pub rises: Rises,
    /// Whether the discount rate leaves inflation out; none where it is not said.
    pub rate_is: Option<RateIs>,
    /// What every option has to give alike.
    pub service: Service,
    /// Where the file was read from.
    pub place: Place,
}

/// What every option has to give alike. The middle of a run is compared: a difference over these blocks a verdict.
#[derive(Debug, Clone, PartialEq)]
pub struct Service {
    /// Coarser solids than this are to be kept from the uses, m; none where it is not typed.
    pub target_m: Option<f64>,
    /// The target size as typed.
    pub target_text: String,
    /// How much more of them, kg/m³ of the water to a use, is taken as the same.
    pub most_kg_m3: f64,
    /// Test solids: so much of each size coarser than the target in front of the filters, kg/m³; none where it is not typed.
    pub test_kg_m3: Option<f64>,
    /// The same as typed.
    pub test_text: String,
    /// How far the year's water to a use and its largest day may differ, as a share.
    pub within: f64,
}

impl Default for Service {
    fn default() -> Self {
        Self {
            target_m: None,
            target_text: String::new(),
            most_kg_m3: 0.001,
            test_kg_m3: None,
            test_text: String::new(),
            within: 0.01,
        }
    }
}

impl Prices {
    /// A price by its name, any case.
    pub fn price(&self, name: &str) -> Option<&Price> {
        self.prices.iter().find(|(known, _)| known.eq_ignore_ascii_case(name)).map(|(_, price)| price)
    }
}

/// The JSON Schema of a prices file.
pub fn schema() -> serde_json::Value {
    document::<File>("Prices: what things cost")
}

/// Reads the prices file; what is wrong is told.
pub fn read(tree: &Node, problems: &Problems) -> Option<Prices> {
    let mut file = Fields::of::<File>(tree, problems)?;
    let money = file.read(&File::MONEY);
    let field = file.get(&File::YEARS);
    let years = field.read().and_then(|said| {
        let years = self::years(&said.value);
        let whole = years.round();
        if (years - whole).abs() > 0.01 || !(1.0..=100.0).contains(&whole) {
            field.refuse(
                format!("`{}` is not 1 to 100 whole years", said.text),
                "options are compared over whole years, such as 10 years",
            );
            return None;
        }
        Some(whole as u32)
    });
    let discount = file.read(&File::DISCOUNT);
    let mut prices = Vec::new();
    let rate_is = file.read(&File::RATE_IS).map(|said| said.value);
    let rises = file.get(&File::RISES);
    let rises = rises.is_there().then(|| rises.open()).flatten().map_or_else(Rises::default, |mut fields| {
        let rises = paid::rises(&mut fields);
        fields.finish();
        rises
    });
    let renews = paid::once(&file.get(&File::RENEWS));
    let pays_regularly = paid::regularly(&file.get(&Both::REGULARLY));
    for (mut name, field) in file.get(&File::PRICES).named() {
        if name.value.eq_ignore_ascii_case("labor") {
            // The other spelling of the same thing.
            "labour".clone_into(&mut name.value);
        }
        prices.extend(priced::<PriceLine>(&field, &PriceLine::PRICE).map(|price| (name.value, price)));
    }
    let mut tariffs = Vec::new();
    for (name, field) in file.get(&File::TARIFFS).named() {
        tariffs.extend(tariff(name, &field));
    }
    let (used_up, spent) = used_up(&file.get(&Both::USED_UP));
    let mut labour = Vec::new();
    let minutes = [Both::LABOUR, Both::LABOR].map(|key| file.get(&key));
    for (name, field) in minutes.iter().flat_map(|field| field.named()) {
        labour.extend(labour_of(name, &field));
    }
    let pumps = pumps::read(&file.get(&Both::PUMPS));
    let service = service(&file.get(&File::SERVICE));
    file.finish();
    Some(Prices {
        money: money?.value,
        years: years?,
        discount: discount?.value,
        prices,
        tariffs,
        used_up,
        spent,
        labour,
        pumps,
        renews,
        pays_regularly,
        rises,
        rate_is,
        service,
        place: tree.place.clone(),
    })
}

/// What a change uses and what its spent pieces weigh, each by the filter's name.
type UsedUpAndSpent = (Vec<(String, Price)>, Vec<(String, Spent)>);

/// What a change uses and what it weighs when it is hauled, by the filter's name.
pub(super) fn used_up(field: &Field<'_>) -> UsedUpAndSpent {
    let (mut used_up, mut all_spent) = (Vec::new(), Vec::new());
    for (name, field) in field.named() {
        let Some((price, spent)) = piece(&field) else { continue };
        used_up.extend(price.map(|price| (name.value.clone(), price)));
        all_spent.push((name.value, spent));
    }
    (used_up, all_spent)
}

/// The price of one piece that is used up, and what it weighs when it is hauled.
pub(super) fn piece(field: &Field<'_>) -> Option<(Option<Price>, Spent)> {
    let mut fields = field.map::<UsedUp>()?;
    let asked = price(&mut fields, &UsedUp::PRICE);
    let spent = Spent { dry: fields.read(&UsedUp::DRY), water: fields.read(&UsedUp::MOIST) };
    fields.finish();
    if let Some((_, high)) = spent.water.as_ref().and_then(Given::ends).filter(|(_, high)| high.value > MOST_WATER) {
        field.refuse(
            format!("spent pieces of {} % water are hauled as water", high.value * 100.0),
            "the share of water in the weight that is hauled, such as 60 %",
        );
        return None;
    }
    Some((asked, spent))
}

/// The most water of what is hauled as spent pieces (common practice, no source).
const MOST_WATER: f64 = 0.98;

fn service(field: &Field<'_>) -> Service {
    let mut service = Service::default();
    let Some(mut fields) = field.map::<keys::Service>() else {
        return service;
    };
    if let Some(given) = fields.read(&keys::Service::TARGET) {
        service.target_m = given.ends().map(|(low, _)| low.value);
        service.target_text = given.text;
    }
    if let Some((low, _)) = fields.read(&keys::Service::ALIKE).and_then(|given| given.ends()) {
        service.most_kg_m3 = low.value;
    }
    if let Some(given) = fields.read(&keys::Service::TEST) {
        service.test_kg_m3 = given.ends().map(|(_, high)| high.value);
        service.test_text = given.text;
    }
    if let Some((low, _)) = fields.read(&keys::Service::WITHIN).and_then(|given| given.ends()) {
        service.within = low.value;
    }
    fields.finish();
    service
}

/// Years of a span.
pub fn years(span: &Span) -> f64 {
    match span {
        Span::Seconds(seconds) => *seconds as f64 / (365.25 * 86_400.0),
        Span::Months(months) => f64::from(*months) / 12.0,
    }
}

pub(crate) fn priced<M: Declares>(field: &Field<'_>, key: &Key<Priced>) -> Option<Price> {
    let mut fields = field.map::<M>()?;
    let found = price(&mut fields, key);
    fields.finish();
    found
}

/// Reads a price of a map, and its `by` and `on`.
pub(crate) fn price(fields: &mut Fields<'_>, key: &Key<Priced>) -> Option<Price> {
    let price = plain(&fields.get(key), key);
    let by = fields.read(&Told::BY).map(|said| said.value);
    let on = fields.read(&Told::ON).map(|said| said.value);
    Some(Price { by, on, ..price? })
}

fn plain(field: &Field<'_>, key: &Key<Priced>) -> Option<Price> {
    let said = field.parse("a price", key.example(), parse)?;
    let (low, high, per, money) = said.value;
    Some(Price { low, high, per, money, text: said.text, by: None, on: None, place: said.place, key: said.key })
}

/// A price that must be for a certain thing; another is told.
fn for_one_of(price: Option<Price>, field: &Field<'_>, what: &str, is_meant: impl Fn(Per) -> bool) -> Option<Price> {
    let price = price?;
    if is_meant(price.per) {
        return Some(price);
    }
    field.refuse(
        format!("`{}` is not a price for {what}", price.text),
        format!(
            "a price for {what} is due here, such as {}",
            match what {
                "a volume" => "6.80 USD per 1000 gal or 1.80 EUR per m3",
                "a mass" => "0.42 USD per lb or 0.90 EUR per kg",
                _ => "38 USD per month",
            }
        ),
    );
    None
}

fn tariff(name: Said<String>, field: &Field<'_>) -> Option<Tariff> {
    let mut fields = field.map::<keys::Tariff>()?;
    let (base, water) = (fields.get(&keys::Tariff::BASE), fields.get(&keys::Tariff::WATER));
    let each_month = |per| matches!(per, Per::Month | Per::Year);
    let base = for_one_of(plain(&base, &keys::Tariff::BASE), &base, "a month or a year", each_month);
    let water =
        for_one_of(plain(&water, &keys::Tariff::WATER), &water, "a volume", |per| matches!(per, Per::Volume(_)));
    let month_begins = fields.read(&keys::Tariff::MONTH).and_then(|said| u32::try_from(said.value).ok()).unwrap_or(1);
    let surcharge = fields.get(&keys::Tariff::SURCHARGE);
    let surcharge = surcharge.is_there().then(|| {
        let mut inner = surcharge.open()?;
        let parameter = inner.read(&Surcharge::PARAMETER);
        let over = inner.read(&Surcharge::OVER);
        let field = inner.get(&Surcharge::PRICE);
        let price = for_one_of(plain(&field, &Surcharge::PRICE), &field, "a mass", |per| matches!(per, Per::Mass(_)));
        inner.finish();
        // kg/m³ to mg/L.
        let over = over?.ends()?.0.value * 1000.0;
        Some((parameter?.value, over, price?))
    });
    let by = fields.read(&Told::BY).map(|said| said.value);
    let on = fields.read(&Told::ON).map(|said| said.value);
    fields.finish();
    let said = |price: Price| Price { by: by.clone(), on, ..price };
    Some(Tariff {
        place: name.value,
        said_at: name.place,
        base: base.map(said),
        water: water.map(said),
        surcharge: surcharge.flatten().map(|(parameter, over, price)| (parameter, over, said(price))),
        month_begins,
    })
}

pub(crate) fn labour_of(name: Said<String>, field: &Field<'_>) -> Option<Labour> {
    let mut fields = field.map::<keys::Labour>()?;
    let check = fields.read(&keys::Labour::CHECK);
    let often = fields.read(&keys::Labour::OFTEN);
    let roll = fields.read(&keys::Labour::ROLL);
    fields.finish();
    let minutes = |span: &Span| match span {
        Span::Seconds(seconds) => *seconds as f64 / 60.0,
        Span::Months(_) => 0.0,
    };
    let checks = match (check, often) {
        (Some(check), Some(often)) => Some((minutes(&check.value), a_year(&often.value))),
        _ => None,
    };
    Some(Labour { place: name.value, said_at: name.place, checks, new_roll: roll.map(|roll| minutes(&roll.value)) })
}

/// Times a year.
fn a_year(often: &HowOften) -> f64 {
    match often {
        HowOften::Times { times, each, .. } => {
            f64::from(*times)
                * match each {
                    Stretch::Day => 365.25,
                    Stretch::Week => 365.25 / 7.0,
                    Stretch::Month => 12.0,
                    Stretch::Quarter => 4.0,
                    Stretch::Year => 1.0,
                }
        }
        HowOften::Every { days } => 365.25 / f64::from((*days).max(1)),
        HowOften::EveryWorkingDay => 365.25 * 5.0 / 7.0,
        HowOften::EveryDischarge => 0.0,
    }
}

pub(super) fn percent_ends(text: &str) -> Result<(f64, f64), Misread> {
    let bare = text.trim().trim_end_matches('%').trim().replace(" % to", " to");
    if !text.trim().ends_with('%') {
        return Err(Misread::new("a discount rate is a percentage").hint("write it like 5 %"));
    }
    let (low, high) = ends_of_numbers(&bare)?;
    let (low, high) = (low.to_f64(), high.to_f64());
    if low < 0.0 || high > MOST_DISCOUNT {
        return Err(Misread::new(format!("a discount rate of `{}` is not one that money is lent at", text.trim()))
            .hint(format!("it is for a year, and lies from 0 % to {MOST_DISCOUNT} %: write it like 5 %")));
    }
    Ok((low / 100.0, high / 100.0))
}

/// The highest yearly discount rate that is taken, % (common practice, no source).
const MOST_DISCOUNT: f64 = 50.0;

const GALLON_M3: f64 = 0.003_785_411_784;
const CUBIC_FOOT_M3: f64 = 0.028_316_846_592;
const POUND_KG: f64 = 0.453_592_37;

/// `5.40 USD per 1000 gal`, `8.50 to 13 USD each`, `11000 USD`.
fn parse(text: &str) -> Result<(f64, f64, Per, String), Misread> {
    const LIKE: &str = "write it like 5.40 USD per 1000 gal, 24 to 28 USD per h, 8.50 USD each, or 11000 USD";
    let refuse = |what: &str| Misread::new(format!("{what} in `{}`", text.trim())).hint(LIKE.to_owned());
    if let Some(sign) = text.chars().find(|c| "$€£¥".contains(*c)) {
        return Err(refuse(&format!(
            "the money is a word after the amount (such as USD or EUR), not the sign {sign},"
        )));
    }
    if text.trim().eq_ignore_ascii_case("not known") {
        return Err(Misread::new("a price that is not known is no price").hint(
            "leave the line out: what it would cost is then not compared, and the case says so; or give a range",
        ));
    }
    let words: Vec<&str> = text.split_whitespace().collect();
    let money = words
        .iter()
        .position(|word| word.chars().all(char::is_alphabetic) && *word != "to")
        .filter(|at| *at > 0)
        .ok_or_else(|| {
            let told = refuse("there is no amount with its money after it (such as 5.40 USD)");
            // `{price: 0,28 EUR}` ends at the comma: what is left of it is a bare number.
            let is_cut = text.trim().bytes().all(|byte| byte.is_ascii_digit());
            if is_cut || text.contains(',') {
                told.hint(format!(
                    "the decimal mark is a point: 0.28, not 0,28 (in braces a comma begins the next key); {LIKE}"
                ))
            } else {
                told
            }
        })?;
    let amounts = words.get(..money).unwrap_or_default().join(" ");
    let is_range = words.get(..money).is_some_and(|words| words.contains(&"to"));
    if words.get(..money).is_some_and(|words| words.iter().any(|word| parts_thousands(word))) {
        return Err(Misread::new(format!("three noughts behind the point in `{}` may part thousands", text.trim()))
            .hint("write 14000 EUR for thousands, or 14 EUR"));
    }
    let (low, high) = if is_range {
        ends_of_numbers(&amounts).map(|(low, high)| (low.to_f64(), high.to_f64()))?
    } else {
        number(&amounts).map(|one| (one.to_f64(), one.to_f64()))?
    };
    if low < 0.0 || high < low {
        return Err(refuse("the low price comes first, and none is below 0"));
    }
    let rest = words.get(money + 1..).unwrap_or_default();
    let per = match rest {
        [] => Per::Once,
        ["each"] => Per::Each,
        ["per", unit @ ..] => {
            let (count, unit) = match unit {
                [unit] => (1.0, *unit),
                [count, unit] => (number(count)?.to_f64(), *unit),
                _ => return Err(refuse("what the price is for is not understood")),
            };
            match unit {
                "gal" | "gallon" | "gallons" => Per::Volume(count * GALLON_M3),
                "m3" | "m³" => Per::Volume(count),
                "L" | "l" => Per::Volume(count / 1000.0),
                "ft3" | "ft³" => Per::Volume(count * CUBIC_FOOT_M3),
                "yd3" | "yd³" => Per::Volume(count * 27.0 * CUBIC_FOOT_M3),
                "lb" => Per::Mass(count * POUND_KG),
                "kg" => Per::Mass(count),
                "ton" => Per::Mass(count * 2000.0 * POUND_KG),
                "tonne" | "t" => Per::Mass(count * 1000.0),
                "kWh" if count == 1.0 => Per::KilowattHour,
                "h" | "hour" if count == 1.0 => Per::Hour,
                "month" if count == 1.0 => Per::Month,
                "year" if count == 1.0 => Per::Year,
                _ => {
                    return Err(refuse(&format!("`{unit}` is no unit of a price")).hint(format!(
                        "units of a price: gal, ft3, yd3, L, m3, lb, ton, kg, tonne, kWh, h, month, year, each; {LIKE}"
                    )));
                }
            }
        }
        _ => return Err(refuse("what the price is for is not understood")),
    };
    let money = words.get(money).copied().unwrap_or_default().to_owned();
    Ok((low, high, per, money))
}

/// `14.000`: fourteen, or fourteen thousand.
fn parts_thousands(word: &str) -> bool {
    word.split_once('.').is_some_and(|(whole, rest)| rest == "000" && !whole.is_empty() && whole != "0")
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn a_price_reads_with_its_range_and_what_it_is_for() {
        let usd = || "USD".to_owned();
        assert_eq!(parse("11000 USD").unwrap(), (11000.0, 11000.0, Per::Once, usd()));
        assert_eq!(parse("8.50 to 13 USD each").unwrap(), (8.5, 13.0, Per::Each, usd()));
        let (low, high, per, _) = parse("5.40 USD per 1000 gal").unwrap();
        assert_eq!((low, high), (5.4, 5.4));
        let Per::Volume(m3) = per else { panic!("{per:?}") };
        assert_relative_eq!(m3, 3.785_411_784, epsilon = 1e-12);
        assert!(parse("13 to 8 USD each").is_err());
        assert!(parse("5.40").is_err());
        assert!(parse("5.40 USD per furlong").is_err());
        assert!(parse("$5.40").is_err());
        assert!(parse("USD 5.40").is_err());
        // 27 ft3 are a cubic yard: 0.764554857984 m3 (NIST Handbook 44, appendix C).
        let (_, _, per, _) = parse("30 USD per yd3").unwrap();
        let Per::Volume(m3) = per else { panic!("{per:?}") };
        assert_relative_eq!(m3, 0.764_554_857_984, epsilon = 1e-12);
    }
}
