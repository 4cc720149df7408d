//! The permit's own lines on charts.

use crate::balance::Purpose;
use crate::facility::model::PlaceId;
use crate::page::document::{Panel, figures};
use crate::records::LevelKind;
use crate::report::inspection::about::{Case, said};
use crate::report::units;
use crate::rules::{Limit, Point, Subject};

/// What a chart is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Charted {
    /// The daily wash water of a filter.
    WashWater(PlaceId),
    /// The daily water into a place.
    WaterInto(PlaceId),
}

fn is_of(limit: &Limit, charted: Charted) -> bool {
    match (&limit.at, charted) {
        (Point::Of(Purpose::WashWater | Purpose::RinseWater | Purpose::Reject, id), Charted::WashWater(of)) => {
            *id == of
        }
        (Point::Places(ids), Charted::WaterInto(of)) => *ids == [of],
        (Point::Into(id), Charted::WaterInto(of)) => *id == of,
        _ => false,
    }
}

/// The panel with the bound of each limit on a day of what it shows: `at most 8 000 gal, Wash water`.
pub fn of_a_day(case: &Case, mut panel: Panel, charted: Charted, unit: units::Unit) -> Panel {
    let on_a_day =
        |limit: &&Limit| limit.subject == Subject::Water && limit.statistic.is_each() && is_of(limit, charted);
    for limit in case.limits.iter().filter(on_a_day) {
        if let Some((bound, _)) = limit.bound.upper()
            && let Some(of) = limit.bound.unit
        {
            let value = unit.of(of.to_si_f64(bound.to_f64()));
            // The permit's words, and where the chart is in another unit the figure in its own.
            let figure = figures::with_unit(value, unit.digits, unit.name);
            let same = (unit.of(of.to_si_f64(1.0)) - 1.0).abs() < 1e-9;
            let own = if same { String::new() } else { format!(" ({figure})") };
            panel = panel.limit(value, format!("{}{own}, {}", said(&limit.bound.text), limit.name));
        }
    }
    panel
}

/// The panel of a pond's level with the permit's marks on it: least freeboard below the bank top, most and least level, the
/// level below which a storm excuses a spill.
pub fn of_a_level(case: &Case, mut panel: Panel, pond: PlaceId, bank_top_m: Option<f64>) -> Panel {
    let unit = units::level(case.facility.system);
    for limit in case.limits {
        let here = matches!(&limit.at, Point::Places(ids) if ids.contains(&pond));
        let (upper, lower) = (limit.bound.upper(), limit.bound.lower());
        let si = |bound: Option<(crate::rules::Number, bool)>| {
            bound.zip(limit.bound.unit).map(|((bound, _), of)| of.to_si_f64(bound.to_f64()))
        };
        let words = format!("{}, {}", said(&limit.bound.text), limit.name);
        match (&limit.subject, si(upper), si(lower)) {
            (Subject::Stage(LevelKind::Freeboard), _, Some(least)) if here => {
                if let Some(top) = bank_top_m {
                    panel = panel.limit(unit.of(top - least), words);
                }
            }
            (Subject::Stage(LevelKind::Level), most, least) if here => {
                for bound in most.into_iter().chain(least) {
                    panel = panel.limit(unit.of(bound), words.clone());
                }
            }
            _ => {}
        }
        if let Some(before) = limit.except.as_ref().and_then(|except| except.before_it.as_ref())
            && before.store == pond
        {
            panel = panel.limit(unit.of(before.below_m.to_f64()), format!("below {}, {}", before.text, limit.name));
        }
    }
    panel
}
