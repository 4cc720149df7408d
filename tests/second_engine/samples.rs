//! Samples: what they fix, on which days, and what becomes of the difference (rule 3.4).

use bywash::balance::{Node, Purpose};
use bywash::facility::model::{Concentrations, Facility, PlaceId, PlaceKind};
use bywash::records::{Qualifier, Sample};
use chrono::NaiveDate;

use super::given;
use super::load::Load;
use super::site::Site;
use super::step::Step;

/// What was looked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum What {
    Solids,
    Kind(usize),
    Dissolved(usize),
}

/// A concentration that counts on a day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sampled {
    pub at: PlaceId,
    pub what: What,
    pub kg_m3: f64,
}

fn what(facility: &Facility, parameter: &str) -> Option<What> {
    if ["total suspended solids", "suspended solids", "tss"].contains(&parameter) {
        return Some(What::Solids);
    }
    let kind = facility.solids.iter().position(|k| k.name == parameter);
    let dissolved = || facility.dissolved.iter().position(|d| d.name.to_lowercase() == parameter);
    kind.map(What::Kind).or_else(|| dissolved().map(What::Dissolved))
}

/// mg/L alone: the random samples are all typed in it.
fn kg_m3(sample: &Sample) -> Option<f64> {
    if !matches!(sample.qualifier, Qualifier::None | Qualifier::Estimated) {
        return None;
    }
    let value: f64 = sample.value.as_ref()?.parse().ok()?;
    Some(value / 1000.0)
}

/// All that is known of a day from samples: the mean of that day's, or of the last day that had one, so many days long as
/// samples are held.
pub fn on(site: &Site, date: NaiveDate) -> Vec<Sampled> {
    let held_days = site.facility.hold_sample_for.as_ref().map_or(0.0, given::days).floor() as i64;
    // With the day and the place in the list of the first that counts, as the later of two wins.
    let mut all: Vec<(NaiveDate, usize, Sampled)> = Vec::new();
    for sample in &site.timeline.samples {
        let Some(what) = what(site.facility, &sample.parameter) else {
            continue;
        };
        if kg_m3(sample).is_none() || all.iter().any(|(.., of)| (of.at, of.what) == (sample.at, what)) {
            continue;
        }
        let of_this = |other: &&Sample| {
            other.at == sample.at
                && self::what(site.facility, &other.parameter) == Some(what)
                && kg_m3(other).is_some()
                && other.day >= site.first
                && other.day <= date
        };
        let Some(last) = site.timeline.samples.iter().filter(of_this).map(|other| other.day).max() else {
            continue;
        };
        if (date - last).num_days() > held_days {
            continue;
        }
        let values: Vec<f64> =
            site.timeline.samples.iter().filter(of_this).filter(|other| other.day == last).filter_map(kg_m3).collect();
        let mut list = site.timeline.samples.iter();
        let index = list.position(|other| of_this(&other) && other.day == last).unwrap_or(0);
        all.push((
            last,
            index,
            Sampled { at: sample.at, what, kg_m3: values.iter().sum::<f64>() / values.len() as f64 },
        ));
    }
    all.sort_by_key(|(day, index, _)| (*day, *index));
    all.into_iter().map(|(.., of)| of).collect()
}

/// The first kind of the file that occurs anywhere: named in a concentration, or lying in sludge.
fn occurs(facility: &Facility, kind: usize) -> bool {
    let named = |of: &Concentrations| of.iter().any(|(name, _)| *name == facility.solids[kind].name);
    let settles = |k: usize| !facility.solids[k].floats && facility.solids[k].density.is_some();
    let in_sludge = (0..facility.solids.len()).find(|k| settles(*k)) == Some(kind);
    facility.places.iter().any(|place| match &place.kind {
        PlaceKind::Supply(of) => named(&of.brings),
        PlaceKind::Catchment(of) => named(&of.solids),
        PlaceKind::Use(of) => named(&of.picks_up),
        PlaceKind::Tank(of) => named(&of.at_the_start.solids),
        PlaceKind::Pond(of) => named(&of.at_the_start.solids) || (of.sludge.is_some() && in_sludge),
        _ => false,
    })
}

/// A load with what a sample says in place of what it had: the split stays; where there was nothing, the spread of the
/// first kind that occurs.
pub fn replaced(site: &Site, load: &Load, sampled: &Sampled) -> Load {
    let wanted = load.water * sampled.kg_m3;
    let mut load = load.clone();
    if let What::Dissolved(c) = sampled.what {
        load.dissolved[c] = wanted;
        return load;
    }
    let meant = |kind: usize| match sampled.what {
        What::Kind(only) => kind == only,
        _ => true,
    };
    let there: f64 =
        load.solids.iter().zip(&site.parcels).filter(|(_, (parcel, _))| meant(parcel.kind)).map(|(mass, _)| mass).sum();
    let first = (0..site.facility.solids.len()).find(|k| meant(*k) && occurs(site.facility, *k));
    for (mass, (parcel, share)) in load.solids.iter_mut().zip(&site.parcels) {
        if !meant(parcel.kind) {
            continue;
        }
        if there > 1e-9 * wanted {
            *mass *= wanted / there;
        } else if first.is_some() {
            // The trace that was there is in what the sample says.
            *mass = if Some(parcel.kind) == first { wanted * share } else { 0.0 };
        }
    }
    load
}

impl Step<'_, '_> {
    /// Puts what samples say in place of what a flow was computed to carry; the difference is unaccounted at the place it
    /// comes from.
    pub fn sampled(&mut self, from: PlaceId, to: PlaceId, purpose: Purpose, load: Load) -> Load {
        let at_the_end = matches!(self.site.kind(to), PlaceKind::DischargePoint(_));
        let flows_out =
            matches!(purpose, Purpose::Return | Purpose::Runoff | Purpose::Spill | Purpose::PumpedOut | Purpose::Water);
        let water = !matches!(purpose, Purpose::Screenings | Purpose::SpentMedia);
        let mut load = load;
        for sampled in self.today.samples.clone() {
            let here = sampled.at == from && flows_out;
            let there = sampled.at == to && at_the_end && water;
            if !(here || there) {
                continue;
            }
            let new = replaced(self.site, &load, &sampled);
            let (mut lost, mut found) = (self.site.nothing(), self.site.nothing());
            let parts = |lost: &mut [f64], found: &mut [f64], old: &[f64], new: &[f64]| {
                for i in 0..old.len() {
                    lost[i] = (old[i] - new[i]).max(0.0);
                    found[i] = (new[i] - old[i]).max(0.0);
                }
            };
            parts(&mut lost.solids, &mut found.solids, &load.solids, &new.solids);
            parts(&mut lost.dissolved, &mut found.dissolved, &load.dissolved, &new.dissolved);
            let (place, other) = (Node::Place(from), Node::Unaccounted);
            self.out.book(place, other, Purpose::Unaccounted, &lost);
            self.out.book(other, place, Purpose::Unaccounted, &found);
            load = new;
        }
        load
    }
}
