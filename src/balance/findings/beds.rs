//! What washes of media beds show: whether the flow lifts the bed, whether its pump is large enough, and what the other
//! vessels take meanwhile.

use std::collections::BTreeSet;
use std::ops::{Add, Mul};

use uom::si::f64::{MassDensity, ThermodynamicTemperature, Velocity};
use uom::si::mass_density::kilogram_per_cubic_meter;
use uom::si::thermodynamic_temperature::degree_celsius;

use crate::balance::findings::said::Said;
use crate::balance::findings::{FacilityFinding, FindingKind};
use crate::balance::{FilterSeries, Ledger};
use crate::facility::kinds::MediaLayer;
use crate::facility::model::{Facility, Filter, PlaceKind, WashWater};
use crate::files::Given;
use crate::filters::{Bed, wash_against_sand};
use crate::science::hydraulics::{gallons_per_minute_per_square_foot, least_fluidising_rate};
use crate::science::particles::Grain;
use crate::science::water::{Water, standard_gravity};

/// Least wash rates, gpm/ft2, with where they stand.
const OF_SAND: (f64, &str) = (15.0, "environmental-engineering handbook, chapter 7.33, on drinking-water filters");
const OF_LIGHT_MEDIA: (f64, &str) =
    (10.0, "Recommended Standards for Water Works 4.3.1, from memory, not checked against the text");

/// Densities of the grains of common media where none is typed, kg/m³: common practice, no source.
fn usual_density(kind: &str) -> Option<f64> {
    let word = kind.to_ascii_lowercase();
    let of = |part: &str| word.contains(part);
    if of("glass") {
        Some(2500.0)
    } else if of("anthracite") {
        Some(1500.0)
    } else if of("garnet") {
        Some(4000.0)
    } else if of("sand") || of("gravel") || of("quartz") {
        Some(2650.0)
    } else {
        None
    }
}

fn is_light(layer: &MediaLayer) -> bool {
    let word = layer.kind.to_ascii_lowercase();
    word.contains("anthracite") || word.contains("carbon")
}

/// The middle of what was given.
pub(super) fn middle<Q: Copy + Add<Output = Q> + Mul<f64, Output = Q>>(given: &Given<Q>) -> Option<Q> {
    given.ends().map(|(low, high)| (low + high) * 0.5)
}

/// Vessels and layers of a bed; none for the other kinds.
pub(crate) fn bed_of(filter: &Filter) -> Option<(Bed, &[MediaLayer])> {
    let bed = filter.kind.media_bed()?;
    let diameter = middle(bed.diameter)?;
    Some((Bed { vessels: bed.vessels, diameter }, bed.media))
}

/// Wash flow of the layers against sand: the layer that needs most.
fn times_sand(media: &[MediaLayer]) -> f64 {
    wash_against_sand(media.iter().map(|layer| layer.wash_flow_times.as_ref().and_then(middle).map(|t| t.value)))
}

/// Flow of the wash of one vessel or body while it runs, m³/s; a flux is that of sand, over the vessel's area.
pub(crate) fn wash_rate_m3_s(filter: &Filter) -> Option<f64> {
    let wash = filter.wash.as_ref()?;
    let by_flux = || {
        let (bed, media) = bed_of(filter)?;
        let flux = wash.flux.as_ref().and_then(middle)?;
        Some(flux.value * times_sand(media) * bed.area_of_one().value)
    };
    wash.rate.as_ref().and_then(middle).map(|rate| rate.value).or_else(by_flux).filter(|rate| *rate > 0.0)
}

fn m_h(velocity_m_s: f64) -> f64 {
    velocity_m_s * 3600.0
}

fn washed_on(series: &FilterSeries) -> Vec<usize> {
    series.events.iter().enumerate().filter(|(_, events)| **events > 0).map(|(day, _)| day).collect()
}

/// Findings about every media bed, and a note where a layer's density is not typed and not usual.
pub(super) fn beds(
    facility: &Facility,
    ledger: &Ledger,
    water_c: &[f64],
    findings: &mut Vec<FacilityFinding>,
    notes: &mut Vec<String>,
) {
    for series in ledger.filters() {
        let Some(place) = facility.get(series.place) else {
            continue;
        };
        let PlaceKind::Filter(filter) = &place.kind else {
            continue;
        };
        let (Some((bed, media)), Some(rate)) = (bed_of(filter), wash_rate_m3_s(filter)) else {
            continue;
        };
        let area = bed.area_of_one().value;
        if area <= 0.0 {
            continue;
        }
        let washed = washed_on(series);
        let said = Said(facility.system);
        let mut put = |kind, sentence, days, amount| {
            findings.push(FacilityFinding { place: series.place, kind, sentence, days, amount });
        };
        if let Some((sentence, flux)) = pump(said, &place.name, media, rate / area) {
            put(FindingKind::WashPumpTooSmall, sentence, Vec::new(), flux);
        }
        if let Some((sentence, days, most)) =
            fluidisation(said, &place.name, media, rate / area, &washed, water_c, notes)
        {
            put(FindingKind::BelowFluidisation, sentence, days, most);
        }
        if let Some((sentence, days, most)) = sisters(said, &place.name, filter, &bed, rate, series, &washed) {
            put(FindingKind::SisterFlux, sentence, days, most);
        }
    }
}

/// The wash flow on the vessel's area against the least that is published for its media, times the medium's own figure.
fn pump(said: Said, name: &str, media: &[MediaLayer], flux: f64) -> Option<(String, f64)> {
    let (least, source) = if !media.is_empty() && media.iter().all(is_light) { OF_LIGHT_MEDIA } else { OF_SAND };
    let times = times_sand(media);
    let needed = gallons_per_minute_per_square_foot(least).value * times;
    // Pumps are rated in round figures: 188 gpm on 12.57 ft2 is meant to be 15.
    if flux >= needed * 0.99 {
        return None;
    }
    let of_sand =
        if (times - 1.0).abs() > 1e-9 { format!(", times {times:.2} for its media as typed") } else { String::new() };
    Some((
        format!(
            "the wash of {name} gives {} on one vessel; {} is the least ({source}{of_sand}): the pump is too small for the bed, and the cleaning that is counted may not happen",
            said.flux(flux),
            said.flux(needed),
        ),
        m_h(flux),
    ))
}

/// Size and density of a layer's grains; none where one of them is not known.
pub(super) fn grain_of(layer: &MediaLayer) -> Option<Grain> {
    let density = layer.density.as_ref().and_then(middle).map(|d| d.value).or_else(|| usual_density(&layer.kind))?;
    Some(Grain {
        diameter: layer.grains.as_ref().and_then(middle)?,
        density: MassDensity::new::<kilogram_per_cubic_meter>(density),
    })
}

/// The least flux that lifts a layer in water of a temperature, m/s; none where its grains or density are not known.
fn lifts_m_s(layer: &MediaLayer, celsius: f64) -> Option<f64> {
    let grain = grain_of(layer)?;
    let water = Water::at(ThermodynamicTemperature::new::<degree_celsius>(celsius)).value;
    let rate: Velocity = least_fluidising_rate(grain, water, standard_gravity()).value;
    rate.value.is_finite().then_some(rate.value)
}

fn fluidisation(
    said: Said,
    name: &str,
    media: &[MediaLayer],
    flux: f64,
    washed: &[usize],
    water_c: &[f64],
    notes: &mut Vec<String>,
) -> Option<(String, Vec<usize>, f64)> {
    let mut days = BTreeSet::new();
    let mut worst: Option<(f64, &MediaLayer, f64)> = None;
    // Gravel under a bed carries it, and is not meant to be lifted.
    let carries = |layer: &&MediaLayer| media.len() > 1 && layer.kind.to_ascii_lowercase().contains("gravel");
    for layer in media.iter().filter(|layer| !carries(layer)) {
        if layer.grains.is_some() && lifts_m_s(layer, 15.0).is_none() {
            notes.push(format!(
                "{name}: the density of {} is not typed, so whether a wash lifts it is not judged",
                layer.kind
            ));
        }
        for &day in washed {
            let celsius = water_c[day];
            let Some(needed) = lifts_m_s(layer, celsius) else {
                break;
            };
            if flux < needed * (1.0 - 1e-9) {
                days.insert(day);
                if worst.is_none_or(|(most, ..)| needed > most) {
                    worst = Some((needed, layer, celsius));
                }
            }
        }
    }
    let (needed, layer, celsius) = worst?;
    let density = if layer.density.is_some() {
        ""
    } else {
        ", with the usual density of such grains (common practice, no source)"
    };
    Some((
        format!(
            "the wash of {name}, {}, does not lift its {}: grains of the typed size need {} in water of {} (Wen and Yu{density}), coarser ones more",
            said.flux(flux),
            layer.kind,
            said.flux(needed),
            said.temperature(celsius),
        ),
        days.into_iter().collect(),
        m_h(needed),
    ))
}

/// Flux on the vessels that go on filtering while one is washed: (Q + q·A)/((n − 1)·A) where they also give its water.
fn sisters(
    said: Said,
    name: &str,
    filter: &Filter,
    bed: &Bed,
    rate: f64,
    series: &FilterSeries,
    washed: &[usize],
) -> Option<(String, Vec<usize>, f64)> {
    if bed.vessels < 2 {
        return None;
    }
    let own = filter.wash.as_ref().is_some_and(|wash| wash.with == WashWater::OwnFiltered);
    let pull = !filter.takes_from.is_empty();
    let area = bed.area_of_one().value;
    let handles = filter.handles_at_most.as_ref().and_then(middle).map(|most| most.value / bed.area().value);
    let mut most = (0.0_f64, 0.0);
    let mut over = Vec::new();
    for &day in washed {
        let at = |of: &[f64]| of[day];
        let seconds = at(&series.running_h) * 3600.0;
        if seconds <= 0.0 {
            continue;
        }
        // A push filter takes what comes whatever it does; a pull filter goes on giving what is asked for.
        let flow = if pull {
            let wash = if own { rate } else { 0.0 };
            at(&series.net_m3) / seconds + wash
        } else {
            at(&series.gross_m3) / seconds
        };
        let flux = flow / (f64::from(bed.vessels - 1) * area);
        let before = at(&series.gross_m3) / seconds / bed.area().value;
        if flux > most.0 {
            most = (flux, before);
        }
        if handles.is_some_and(|handles| flux > handles * (1.0 + 1e-9)) {
            over.push(day);
        }
    }
    let (flux, before) = most;
    if flux <= 0.0 {
        return None;
    }
    let others = match bed.vessels {
        2 => "the other one filters".to_owned(),
        n => format!("the other {} filter", n - 1),
    };
    let figures = format!(
        "while one vessel of {name} is washed, {others} at up to {}, where all filter at {}",
        said.flux(flux),
        said.flux(before),
    );
    match handles {
        None => Some((figures, Vec::new(), m_h(flux))),
        Some(_) if over.is_empty() => None,
        Some(handles) => {
            Some((format!("{figures}; what it handles at most is {}", said.flux(handles)), over, m_h(flux)))
        }
    }
}
