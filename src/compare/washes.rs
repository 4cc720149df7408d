//! Whether a wash can clean its bed at all, and what a verdict takes for granted of a wash that a proposal cuts: the share
//! that one wash removes is typed, and goes with neither its length nor its rate.

use std::ops::{Add, Mul};

use crate::balance::{FindingKind, bed_of, wash_rate_m3_s};
use crate::compare::{Alternative, Computed, Study, service};
use crate::facility::model::{Filter, PlaceKind, UnitSystem, Wash};
use crate::files::Given;
use crate::quantity::significant;

/// Voids of a bed where none are typed (common practice, no source).
const USUAL_VOIDS: f64 = 0.40;

/// A share by which a wash may be shorter or slower and still be the same wash.
const ALIKE: f64 = 0.001;

/// Cubic metres of a US gallon (NIST Handbook 44, exact).
const GALLON_M3: f64 = 0.003_785_411_784;

fn middle<Q: Copy + Add<Output = Q> + Mul<f64, Output = Q>>(given: Option<&Given<Q>>) -> Option<Q> {
    given?.ends().map(|(low, high)| (low + high) * 0.5)
}

fn filters(of: &Alternative) -> impl Iterator<Item = (&str, &Filter)> {
    of.facility.places.iter().filter_map(|place| match &place.kind {
        PlaceKind::Filter(filter) => Some((place.name.as_str(), filter.as_ref())),
        _ => None,
    })
}

/// Water of one wash of one vessel, m³.
fn one_wash_m3(filter: &Filter, wash: &Wash) -> Option<f64> {
    match middle(wash.volume.as_ref()) {
        Some(whole) => Some(whole.value / f64::from(wash.vessels.max(1))),
        None => Some(wash_rate_m3_s(filter)? * middle(wash.lasts.as_ref())?.value),
    }
}

/// Water in the bed of one vessel: depth by voids by area, m³.
fn in_the_bed_m3(filter: &Filter) -> Option<f64> {
    let (bed, media) = bed_of(filter)?;
    let mut depth_of_water = 0.0;
    for layer in media {
        depth_of_water +=
            middle(Some(&layer.depth))?.value * middle(layer.voids.as_ref()).map_or(USUAL_VOIDS, |voids| voids.value);
    }
    Some(depth_of_water * bed.area_of_one().value)
}

/// A small volume in the user's units.
pub(super) fn volume(system: UnitSystem, m3: f64) -> String {
    let (value, name) = match system {
        UnitSystem::Us => (m3 / GALLON_M3, "gal"),
        UnitSystem::Metric => (m3 * 1000.0, "L"),
    };
    format!("{} {name}", significant(value, 3).replace(',', "\u{202f}"))
}

/// Why the washes of an option can't be taken to clean: a rate that does not lift the bed, or less water than stands in it.
pub(super) fn too_weak(of: &Computed) -> Vec<String> {
    let findings = of.run.findings.iter().filter(|finding| finding.kind == FindingKind::BelowFluidisation);
    let mut why: Vec<String> = findings.map(|finding| finding.sentence.clone()).collect();
    for (name, filter) in filters(&of.alternative) {
        let Some(wash) = &filter.wash else { continue };
        if let (Some(gives), Some(holds)) = (one_wash_m3(filter, wash), in_the_bed_m3(filter))
            && gives < holds * (1.0 - ALIKE)
        {
            let system = of.alternative.facility.system;
            why.push(format!(
                "a wash of {name} gives {} for each vessel, and {} stand in the voids of its bed: it does not even replace \
                 the water there once",
                volume(system, gives),
                volume(system, holds),
            ));
        }
    }
    why
}

impl Study {
    /// Why no verdict rests on the washes of two options, nor on those of the site as it stands.
    pub(super) fn weak_washes(&self, option: usize, than: usize) -> Vec<String> {
        let mut why: Vec<String> = Vec::new();
        let mut at = vec![0, than, option];
        at.dedup();
        for index in at {
            for sentence in self.options.get(index).map(too_weak).unwrap_or_default() {
                // What the site does as it stands is told once.
                if !why.iter().any(|known| known.ends_with(&sentence)) {
                    why.push(if index == 0 { format!("as the site stands, {sentence}") } else { sentence });
                }
            }
        }
        why
    }

    /// What an option's figures take for granted of a wash that it makes shorter or slower than the site's as it stands, without
    /// typing what such a wash removes: `a wash of Sand beds of 2 min still removes 90 %`.
    pub fn takes_for_granted(&self, option: usize) -> Option<String> {
        self.granted(option, false)
    }

    /// The same at other prices than typed: washes that nobody logged, whether or not anything turns on them as typed.
    pub fn takes_for_granted_at_any_price(&self, option: usize) -> Option<String> {
        self.granted(option, true)
    }

    fn granted(&self, option: usize, at_any_price: bool) -> Option<String> {
        let (before, of) = (&self.options.first()?.alternative, &self.options.get(option)?.alternative);
        let all: Vec<String> = filters(of)
            .filter_map(|(name, filter)| {
                let old = of.old_name(name);
                let (_, known) = filters(before).find(|(known, _)| *known == old)?;
                cut(name, (filter, known), of.file.as_deref())
            })
            .chain(service::runs_out(self, option))
            .chain(self.rests_on(option, at_any_price))
            .chain(self.off_the_water(option))
            .collect();
        (!all.is_empty()).then(|| all.join(" and "))
    }
}

/// What a filter's wash takes for granted against the one it had.
fn cut(name: &str, (filter, known): (&Filter, &Filter), file: Option<&str>) -> Option<String> {
    let (wash, was) = (filter.wash.as_ref()?, known.wash.as_ref()?);
    let typed = wash.removes.as_ref().is_some_and(|share| Some(share.place.file.as_ref()) == file);
    if typed || filter.kind.words() != known.kind.words() {
        return None;
    }
    let less = |now: Option<f64>, then: Option<f64>| matches!((now, then), (Some(now), Some(then)) if now < then * (1.0 - ALIKE));
    let lasts = |wash: &Wash| middle(wash.lasts.as_ref()).map(|time| time.value);
    let mut words = String::new();
    if less(lasts(wash), lasts(was)) {
        words.push_str(&format!(" of {}", wash.lasts.as_ref().map_or("", |given| &given.text)));
    }
    if less(wash_rate_m3_s(filter), wash_rate_m3_s(known)) {
        let rate = wash.rate.as_ref().map(|given| &given.text).or(wash.flux.as_ref().map(|given| &given.text));
        words.push_str(&format!(" at {}", rate.map_or("", |text| text)));
    }
    if words.is_empty() && less(one_wash_m3(filter, wash), one_wash_m3(known, was)) {
        words.push_str(&match &wash.volume {
            Some(volume) => format!(" of {}", volume.text),
            None => " with less water".to_owned(),
        });
    }
    let removes = wash.removes.as_ref().map_or("all that it holds", |share| &share.text);
    (!words.is_empty()).then(|| format!("a wash of {name}{words} still removes {removes}"))
}
