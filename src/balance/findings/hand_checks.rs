//! What a textbook says by hand of the same ponds, beds, drums, bags and floods: printed beside the ledger, used for
//! nothing in it.

use uom::si::f64::{Area, Length, MassDensity, Ratio, ThermodynamicTemperature, Time, Velocity, Volume, VolumeRate};
use uom::si::length::meter;
use uom::si::mass_density::kilogram_per_cubic_meter;
use uom::si::ratio::ratio;
use uom::si::thermodynamic_temperature::degree_celsius;
use uom::si::time::day as days;
use uom::si::volume::cubic_meter;
use uom::si::volume_rate::cubic_meter_per_second;

use crate::balance::findings::beds::{bed_of, grain_of, middle, wash_rate_m3_s};
use crate::balance::findings::said::Said;
use crate::balance::findings::{FacilityFinding, FindingKind};
use crate::balance::{FilterSeries, Ledger, Node, Purpose, Selector, StoreSeries, Watch};
use crate::facility::kinds::{MediaLayer, Through};
use crate::facility::model::{Facility, Filter, PlaceId, PlaceKind, Pond, PondShape, Use, UseAmount};
use crate::science::hydraulics::{
    BedLayer, WashedBed, carman, ergun, expansion_of_bed, kozeny_carman, least_fluidising_rate,
};
use crate::science::particles::{SizeClasses, settling_velocity};
use crate::science::ponds::{
    Basin, ScourTerms, brune_dendy, brune_gill, detention_time, exponential, hazen, heinemann, horizontal_velocity,
    overflow_rate, quiescent, scour_velocity, tanks_in_series,
};
use crate::science::water::{Water, standard_gravity};

/// Everything by hand, each as a finding of its place.
pub(super) fn hand_checks(facility: &Facility, ledger: &Ledger, water_c: &[f64], findings: &mut Vec<FacilityFinding>) {
    let said = Said(facility.system);
    for (index, place) in facility.places.iter().enumerate() {
        let id = PlaceId(index);
        let sentence = match &place.kind {
            PlaceKind::Pond(of) => {
                ledger.store(id).and_then(|series| pond(facility, ledger, id, &place.name, of, series, water_c))
            }
            PlaceKind::Filter(of) => {
                ledger.filter(id).and_then(|series| filter(said, &place.name, of, series, water_c))
            }
            PlaceKind::Use(of) => flood(said, &place.name, of),
            _ => None,
        };
        if let Some(sentence) = sentence {
            findings.push(FacilityFinding {
                place: id,
                kind: FindingKind::ByHand,
                sentence,
                days: Vec::new(),
                amount: 0.0,
            });
        }
    }
}

fn greatest(values: impl IntoIterator<Item = f64>) -> Option<(usize, f64)> {
    values
        .into_iter()
        .enumerate()
        .filter(|(_, v)| v.is_finite())
        .max_by(|a, b| a.1.total_cmp(&b.1))
        .filter(|(_, v)| *v > 1e-9)
}

fn celsius(degrees: f64) -> ThermodynamicTemperature {
    ThermodynamicTemperature::new::<degree_celsius>(degrees)
}

fn flow(m3_d: f64) -> VolumeRate {
    VolumeRate::new::<cubic_meter_per_second>(m3_d / 86_400.0)
}

/// A class of solids that came in: how much, how fast it settles, its size and density.
struct Came {
    kg: f64,
    settles: Velocity,
    size: Length,
    density: MassDensity,
}

fn came_in(facility: &Facility, ledger: &Ledger, pond: PlaceId, at: f64) -> Vec<Came> {
    let ways = ledger.select(&Selector::to(Node::Place(pond)));
    let sizes = SizeClasses::default().representative_sizes();
    let mut all = Vec::new();
    for (p, parcel) in ledger.parcels().iter().enumerate() {
        let kg: f64 = ways
            .iter()
            .flat_map(|way| (0..ledger.days()).map(move |day| (day, *way)))
            .map(|(day, way)| ledger.solids_by_parcel(day, way)[p])
            .sum();
        let kind = &facility.solids[parcel.kind];
        let size = sizes[parcel.class];
        let density = kind.density.as_ref().and_then(middle);
        let density = density.unwrap_or_else(|| MassDensity::new::<kilogram_per_cubic_meter>(0.0));
        let floats = kind.floats || kind.density.is_none();
        let settles = if floats { Velocity::default() } else { settling_velocity(size, density, celsius(at)).value };
        all.push(Came { kg, settles, size, density });
    }
    all
}

/// Share removed of all that came, each class by its own velocity, in percent.
fn removed(came: &[Came], by: impl Fn(Velocity) -> Ratio) -> Option<f64> {
    let all: f64 = came.iter().map(|c| c.kg).sum();
    let caught: f64 = came
        .iter()
        .map(|c| {
            let share = by(c.settles).get::<ratio>();
            c.kg * if share.is_finite() { share } else { 0.0 }
        })
        .sum();
    (all > 1e-9).then(|| 100.0 * caught / all)
}

fn pond(
    facility: &Facility,
    ledger: &Ledger,
    id: PlaceId,
    name: &str,
    of: &Pond,
    series: &StoreSeries,
    water_c: &[f64],
) -> Option<String> {
    let into = ledger.series(&Watch::Water(Selector::to(Node::Place(id))));
    let rain =
        ledger.series(&Watch::Water(Selector { from: Some(Node::Rain), to: Some(Node::Place(id)), purpose: None }));
    let inflow: Vec<f64> = into.values.iter().zip(&rain.values).map(|(all, rain)| (all - rain).max(0.0)).collect();
    let (day, busiest) = greatest(inflow.iter().copied())?;
    let at = |values: &[f64]| values[day];
    let (area_m2, volume, sludge) = (at(&series.area_m2), at(&series.volume_m3), at(&series.sludge_m3));
    if area_m2 <= 0.0 {
        return None;
    }
    let degrees = water_c[day];
    let basin = Basin { area: Area::new::<uom::si::area::square_meter>(area_m2), flow: flow(busiest) };
    let said = Said(facility.system);
    let rate = overflow_rate(basin).value.value * 1000.0;
    let mut words = format!(
        "by hand, {name} on its busiest day ({}; {} over {}, {}): overflow rate {rate:.4} mm/s",
        ledger.date(day).format("%-d %b %Y"),
        said.volume(busiest),
        said.area(area_m2),
        said.temperature(degrees)
    );
    let stays =
        detention_time(Volume::new::<cubic_meter>(volume + sludge), Volume::new::<cubic_meter>(sludge), flow(busiest));
    words.push_str(&format!(", {:.1} days in what sludge leaves", stays.value.get::<days>()));
    let came = came_in(facility, ledger, id, degrees);
    let depth = Length::new::<meter>((volume / area_m2).max(1e-6));
    let cells = of.cells.max(1);
    let ideal = removed(&came, |v| hazen(basin, v).value);
    let mixed = removed(&came, |v| tanks_in_series(basin, v, cells).value);
    let stirred = removed(&came, |v| exponential(basin, v).value);
    let still = removed(&came, |v| quiescent(v, Time::new::<days>(1.0), depth).value);
    if let (Some(ideal), Some(mixed), Some(stirred), Some(still)) = (ideal, mixed, stirred, still) {
        words.push_str(&format!(
            "; of the period's solids at that flow an ideal basin keeps {ideal:.0} %, {} {mixed:.0} %, one stirred over its depth {stirred:.0} %, a day of still water {still:.0} %",
            if cells == 1 { "one stirred cell".to_owned() } else { format!("{cells} stirred cells") },
        ));
    }
    let solids = |selector| -> f64 { ledger.series(&Watch::Solids(selector)).values.iter().sum() };
    let (all, kept) = (
        solids(Selector::to(Node::Place(id))),
        solids(Selector { from: Some(Node::Place(id)), to: Some(Node::Sludge(id)), purpose: Some(Purpose::Settled) }),
    );
    if all > 1e-9 {
        words.push_str(&format!("; the ledger {:.0} % over the period", 100.0 * kept / all));
    }
    let year: f64 = inflow.iter().sum::<f64>() / inflow.len().max(1) as f64 * 365.25;
    let over_year = Ratio::new::<ratio>(series.spill_volume_m3 / year.max(1e-9));
    let curves =
        [brune_gill, brune_dendy, heinemann].map(|curve| 100.0 * curve(over_year).value.get::<ratio>().clamp(0.0, 1.0));
    words.push_str(&format!(
        "; three curves made for reservoirs {:.0} % to {:.0} %, by volume over a year's inflow ({:.3})",
        curves.into_iter().fold(f64::INFINITY, f64::min),
        curves.into_iter().fold(0.0, f64::max),
        over_year.get::<ratio>(),
    ));
    if let PondShape::Prismoid { width, .. } = &of.shape
        && let Some(width) = middle(width)
    {
        let along = horizontal_velocity(flow(busiest), width, depth).value;
        words.push_str(&format!("; water moves at {:.2} mm/s", along.value * 1000.0));
        let water = Water::at(celsius(degrees)).value;
        // The lightest grains that settle are lifted first.
        let lifts = came
            .iter()
            .filter(|c| c.kg > 0.0 && c.settles.value > 0.0)
            .map(|c| {
                scour_velocity(&ScourTerms {
                    diameter: c.size,
                    particle_density: c.density,
                    water_density: water.density,
                    stickiness: 0.04,
                    friction: 0.025,
                    gravity: standard_gravity(),
                })
                .value
                .value
            })
            .filter(|v| v.is_finite())
            .reduce(f64::min);
        if let Some(lifts) = lifts {
            words.push_str(&format!(", and {:.1} mm/s lifts the smallest that settled", lifts * 1000.0));
        }
    }
    words.push_str(" (Hazen, Camp, Fair and Geyer, Brune, Gill, Dendy, Heinemann)");
    Some(words)
}

fn filter(said: Said, name: &str, of: &Filter, series: &FilterSeries, water_c: &[f64]) -> Option<String> {
    let rates = series.gross_m3.iter().zip(&series.running_h).map(|(m3, h)| if *h > 0.0 { m3 / h } else { 0.0 });
    let (day, m3_h) = greatest(rates)?;
    match of.kind.through() {
        Through::NotSaid => None,
        Through::Mesh(mesh) => {
            let area = middle(mesh)?.value;
            (area > 0.0).then(|| {
                format!(
                    "by hand, {name} passes up to {} through {} of mesh",
                    said.flux(m3_h / 3600.0 / area),
                    said.area(area)
                )
            })
        }
        Through::Pieces { each, which, number } => {
            Some(format!("by hand, each {each} of {name}{which} passes up to {}", said.flow(m3_h / f64::from(number))))
        }
        Through::Bed(_) => {
            let degrees = water_c[day];
            bed(said, name, of, m3_h, degrees)
        }
    }
}

/// Head lost through clean media, and what the wash does to each layer.
fn bed(said: Said, name: &str, of: &Filter, m3_h: f64, degrees: f64) -> Option<String> {
    let (bed, media) = bed_of(of)?;
    let area = bed.area().value;
    if area <= 0.0 {
        return None;
    }
    let water = Water::at(celsius(degrees)).value;
    let rate = Velocity::new::<uom::si::velocity::meter_per_second>(m3_h / 3600.0 / area);
    let mut words = format!("by hand, {name} filters at up to {}", said.flux(rate.value));
    let layers: Vec<BedLayer> = media.iter().filter_map(layer_of).collect();
    if !media.is_empty() && layers.len() == media.len() {
        let head = |by: &dyn Fn(BedLayer) -> f64| -> f64 {
            let pascals: f64 = layers.iter().map(|layer| by(*layer)).sum();
            pascals / (water.density.value * standard_gravity().value)
        };
        let heads = [
            head(&|l| ergun(l, rate, water).value.value),
            head(&|l| carman(l, rate, water).value.value),
            head(&|l| kozeny_carman(l, Ratio::new::<ratio>(1.0), rate, water, 180.0).value.value),
        ];
        words.push_str(&format!(
            "; clean media lose {} of head by three formulas (Ergun; Carman; Kozeny and Carman, 180, for spheres)",
            said.lengths(heads.into_iter().fold(f64::INFINITY, f64::min), heads.into_iter().fold(0.0, f64::max)),
        ));
    }
    if let Some(wash) = wash_rate_m3_s(of) {
        let flux = Velocity::new::<uom::si::velocity::meter_per_second>(wash / bed.area_of_one().value);
        for layer in media {
            let Some(grain) = grain_of(layer) else {
                continue;
            };
            let lifts = least_fluidising_rate(grain, water, standard_gravity()).value.value;
            words.push_str(&format!(
                "; {} is lifted at {} in water of {} (Wen and Yu)",
                layer.kind,
                said.flux(lifts),
                said.temperature(degrees)
            ));
            if let Some(voids) = layer.voids.as_ref().and_then(middle) {
                let grows = expansion_of_bed(WashedBed { grain, porosity: voids }, flux, water);
                let percent = 100.0 * grows.value.get::<ratio>();
                if grows.within && percent < 0.5 {
                    words.push_str(", though by Richardson and Zaki it does not yet expand in its wash");
                } else if grows.within {
                    words.push_str(&format!(" and expands by {percent:.0} % in its wash (Richardson and Zaki)"));
                }
            }
        }
    }
    Some(words)
}

fn layer_of(layer: &MediaLayer) -> Option<BedLayer> {
    Some(BedLayer {
        grain: layer.grains.as_ref().and_then(middle)?,
        porosity: layer.voids.as_ref().and_then(middle)?,
        depth: middle(&layer.depth)?,
    })
}

fn flood(said: Said, name: &str, of: &Use) -> Option<String> {
    let UseAmount::Floods { area, depth, floods_a_day, zones } = &of.amount else {
        return None;
    };
    let one = middle(area)?.value * middle(depth)?.value / f64::from((*zones).max(1));
    let times = middle(floods_a_day)?.value * f64::from((*zones).max(1));
    Some(format!(
        "by hand, one flood of one of the {zones} zones of {name} takes {}, {times:.0} times a day",
        said.volume(one)
    ))
}
