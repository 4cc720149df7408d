//! The same study at other prices and lives: quantities stay as they were drawn, and only the bill is made again.

use crate::compare::prices::Price;
use crate::compare::{Computed, Study, bill};

impl Study {
    /// The study with each price times a factor (by the price's key) and each life of what is bought once times a factor
    /// (by the option's name and what is bought; of what the site renews, no name).
    pub fn at_prices(&self, price: &dyn Fn(&str) -> f64, life: &dyn Fn(&str, &str) -> f64) -> Self {
        let scale = |one: &mut Price| {
            let factor = price(&one.key);
            (one.low, one.high) = (one.low * factor, one.high * factor);
        };
        let mut prices = self.prices.clone();
        prices.prices.iter_mut().chain(&mut prices.used_up).for_each(|(_, one)| scale(one));
        for tariff in &mut prices.tariffs {
            let surcharge = tariff.surcharge.iter_mut().map(|(_, _, one)| one);
            tariff.base.iter_mut().chain(&mut tariff.water).chain(surcharge).for_each(scale);
        }
        for paid in &mut prices.renews {
            scale(&mut paid.price);
            paid.lasts_years *= life("", &paid.what);
        }
        prices.pays_regularly.iter_mut().for_each(|paid| scale(&mut paid.price));
        let options = self.options.iter().map(|of| {
            let mut alternative = of.alternative.clone();
            alternative.used_up.iter_mut().for_each(|(_, one)| scale(one));
            for paid in &mut alternative.pays_once {
                scale(&mut paid.price);
                paid.lasts_years *= life(&alternative.name, &paid.what);
            }
            alternative.pays_regularly.iter_mut().for_each(|paid| scale(&mut paid.price));
            let parts = bill::parts(&alternative, &of.quantities, &prices);
            Computed { alternative, parts, ..of.clone() }
        });
        let (draws, service, repeated) = (self.draws.clone(), self.service.clone(), self.repeated.clone());
        let (doubts, sampled, tried) = (self.doubts.clone(), self.sampled.clone(), self.tried.clone());
        Self { options: options.collect(), prices, draws, service, repeated, doubts, sampled, tried, ..*self }
    }
}
