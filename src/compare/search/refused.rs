//! Why a train is not run: what can be told of it before.

use crate::compare::brought::Brought;
use crate::compare::figures::plain;
use crate::compare::search::{KeepsBack, Unit, WashWater};
use crate::compare::test_solids::stopped_at;
use crate::compare::wash_limits::{WashLimit, sends_wash_water};
use crate::facility::model::Filter;

impl Brought {
    /// The mean concentration behind these filters, kg/m³; none where it is not known what one of them stops.
    fn behind(&self, filters: &[&Filter]) -> Option<f64> {
        let mut mass = 0.0;
        for (size, kg) in &self.solids {
            mass += kg * passed(filters, *size)?;
        }
        Some(if self.water_m3 > 0.0 { mass / self.water_m3 } else { 0.0 })
    }
}

/// The share of solids of one size that comes through filters one after another, by what is typed of each.
pub(super) fn passed(filters: &[&Filter], size_m: f64) -> Option<f64> {
    filters.iter().map(|filter| Some(1.0 - stopped_at(filter, size_m)?)).product()
}

/// What a train is held to before it is run.
#[derive(Debug)]
pub(super) struct Held<'a> {
    pub(super) wash_water: &'a WashWater,
    pub(super) wash_limits: &'a [WashLimit],
    pub(super) keeps_back: Option<&'a KeepsBack>,
    pub(super) incoming: &'a Brought,
}

/// Why a train is refused; none where it may be run.
pub(super) fn refused(train: &[(&Unit, &Filter)], held: &Held<'_>) -> Option<String> {
    let filters: Vec<&Filter> = train.iter().map(|(_, filter)| *filter).collect();
    if let Some((unit, _)) = train.iter().find(|(_, filter)| sends_wash_water(filter)) {
        if matches!(held.wash_water, WashWater::Nowhere) {
            return Some(format!("the wash water of {} has nowhere to go", unit.name));
        }
        if let Some(limit) = held.wash_limits.iter().find(|limit| limit.forbids) {
            return Some(format!("{} sends wash water away, and the limit {} allows none", unit.name, limit.name));
        }
    }
    if let Some(asked) = held.keeps_back {
        let size = asked.size_text.replace("um", "µm");
        match passed(&filters, asked.size_m) {
            None => return Some(format!("what it stops of {size} is not known")),
            // A share typed to the last digit is reached.
            Some(passed) if 1.0 - passed < asked.share - 1e-9 => {
                return Some(format!(
                    "it keeps back {} % of {size}, and {} % is asked for",
                    plain(100.0 * (1.0 - passed), 0),
                    plain(100.0 * asked.share, 0)
                ));
            }
            Some(_) => {}
        }
    }
    for (at, (unit, _)) in train.iter().enumerate() {
        let Some((most, text)) = &unit.takes else { continue };
        match held.incoming.behind(filters.get(..at).unwrap_or_default()) {
            None => return Some(format!("what comes to {} is not known", unit.name)),
            Some(comes) if comes > *most => {
                return Some(format!(
                    "{} mg/L would come to {}, which takes {text} at most",
                    plain(comes * 1000.0, 0),
                    unit.name
                ));
            }
            Some(_) => {}
        }
    }
    None
}
