//! Charts of what left the site: rain above each outfall's water by the day, and solids by month.

use crate::balance::{Basis as Bits, Node, Selector, Watch};
use crate::facility::model::{DischargeKind, PlaceId, PlaceKind};
use crate::page::document::{Basis, Chart, Document, Hue, Mark, Panel, Series, Stretch, figures};
use crate::report::inspection::about::{Case, month, with_key};
use crate::report::inspection::limit_lines::{Charted, of_a_day};
use crate::report::inspection::places::{between, chart, discharge_ids, ids, overall, values};
use crate::report::inspection::sampled::missed;
use crate::report::units;

/// Solids by month, for the annex.
pub fn solids_by_month(case: &Case, doc: &mut Document) {
    if discharge_ids(case).is_empty() {
        return;
    }
    doc.heading(2, "Solids by month");
    solids_chart(case, doc);
}

/// Outfalls to which something ran off: a sewer takes its share every day, and its table says how much.
fn water_points(case: &Case) -> Vec<PlaceId> {
    let points = ids(
        case,
        |kind| matches!(kind, PlaceKind::DischargePoint(point) if !matches!(point.kind, DischargeKind::HauledAway | DischargeKind::Sewer)),
    );
    let sum =
        |id: &PlaceId| case.ledger.series(&Watch::Water(Selector::to(Node::Place(*id)))).values.iter().sum::<f64>();
    let mut sums: Vec<(PlaceId, f64)> = points.iter().map(|id| (*id, sum(id))).filter(|(_, sum)| *sum > 0.0).collect();
    sums.sort_by(|a, b| b.1.total_cmp(&a.1));
    sums.into_iter().map(|(id, _)| id).collect()
}

/// Most outfalls that are drawn below the rain.
const MOST_CHARTED: usize = 3;

/// Rain above what left by the outfalls.
pub fn rain_and_discharge(case: &Case, doc: &mut Document) {
    let points = water_points(case);
    if points.is_empty() {
        return;
    }
    let (rain, volume) = (units::rain(case.facility.system), units::volume(case.facility.system));
    let (mut chart, _) = chart(case);
    let offset = (case.period.0 - case.weather.first_day).num_days();
    let days = case.ledger.days_between(case.period.0, case.period.1).len();
    let depths: Vec<Option<f64>> = (0..days)
        .map(|day| {
            let index = usize::try_from(offset + i64::try_from(day).ok()?).ok()?;
            case.weather.rain.get(index).and_then(|day| day.depth_mm).map(|mm| rain.of(mm))
        })
        .collect();
    let missing = stretches(&depths);
    if depths.iter().any(|depth| depth.is_some_and(|mm| mm > 0.0)) {
        let mut panel = Panel::new("Rain", format!("{}/day", rain.name))
            .series(Series::new("Rain", Mark::Bars, Hue::Pool, Basis::Metered, depths))
            .missing(missing);
        panel.lines = 5;
        chart = chart.panel(panel);
    }
    let mut alts = Vec::new();
    for (id, hue) in points.iter().take(MOST_CHARTED).zip(Hue::ALL) {
        let name = case.name(*id);
        let series = case.ledger.series(&Watch::Water(Selector::to(Node::Place(*id))));
        let total: f64 = series.values.iter().sum();
        alts.push(format!("{name}: {} in all", figures::with_unit(volume.of(total), volume.digits, volume.name)));
        let panel = Panel::new(format!("To {name}"), format!("{} a day", volume.name)).series(Series::new(
            name,
            Mark::Bars,
            hue,
            overall(&series),
            values(case, &series, volume),
        ));
        chart = chart.panel(of_a_day(case, panel, Charted::WaterInto(*id), volume));
    }
    let which = if points.len() > MOST_CHARTED {
        format!("Rain and discharge, of the {MOST_CHARTED} outfalls with most water")
    } else {
        "Rain and discharge".to_owned()
    };
    let caption = with_key(&which, &chart);
    doc.chart(chart, format!("Daily rain above daily discharge. {}.", alts.join("; ")), caption);
}

/// Unbroken stretches without a value.
fn stretches(values: &[Option<f64>]) -> Vec<Stretch> {
    let mut out: Vec<Stretch> = Vec::new();
    for (i, value) in values.iter().enumerate() {
        if value.is_some() {
            continue;
        }
        match out.last_mut() {
            Some(stretch) if stretch.last + 1 == i => stretch.last = i,
            _ => out.push(Stretch { first: i, last: i }),
        }
    }
    out
}

fn solids_chart(case: &Case, doc: &mut Document) {
    let mass = units::mass(case.facility.system);
    let months = case.months();
    let names: Vec<String> = months.iter().map(|(from, _)| month(*from)).collect();
    let mut chart = Chart::over_classes(names);
    let mut alts = Vec::new();
    for (id, hue) in discharge_ids(case).into_iter().zip(Hue::ALL) {
        let watch = Watch::Solids(Selector::to(Node::Place(id)));
        let series = case.ledger.series(&watch);
        if missed(case, id).is_some() || !series.values.iter().any(|v| *v > 0.0) {
            continue;
        }
        let by_month: Vec<Option<f64>> = months
            .iter()
            .map(|(from, to)| {
                let (kg, of) = between(&series, *from, *to);
                (!of.has(Bits::UNKNOWN)).then(|| mass.of(kg))
            })
            .collect();
        if by_month.iter().all(Option::is_none) {
            continue;
        }
        let name = case.name(id);
        alts.push(name.to_owned());
        chart =
            chart.panel(Panel::new(format!("Solids to {name}"), format!("{} a month", mass.name)).series(Series::new(
                name,
                Mark::Bars,
                hue,
                overall(&series),
                by_month,
            )));
    }
    if alts.is_empty() {
        doc.paragraph("Solids to the discharge points depend on something that is not known, or samples contradict them: they are not shown.");
        return;
    }
    let caption = with_key("Solids to each discharge point, by month", &chart);
    doc.chart(chart, format!("Solids by month to {}.", alts.join(", ")), caption);
}
