//! The money of each option with the site's filters washing as logged, where the ranges can't explain the log: what says
//! when such a filter is washed or changed is stretched until the site as it stands repeats its count, and every option
//! that keeps the filter keeps the stretch.

use crate::balance::Draw;
use crate::compare::break_even::{Knob, changed, is_washed_alike};
use crate::compare::log::Measure;
use crate::compare::runs;
use crate::compare::study::costed;
use crate::compare::{Alternative, Asked, Cell, Computed, Study, against_log};
use crate::facility::model::PlaceKind;
use crate::told::Problems;

/// The widest stretch looked at, each way.
const WIDEST: f64 = 20.0;

/// Halvings of the stretch: within a thousandth.
const HALVINGS: u32 = 12;

/// The money of every option but the first with the filters washing as logged: the medians of the draws, moved as the run in the
/// middle of the ranges moves.
#[derive(Debug, Clone, PartialEq)]
pub struct AtLog {
    /// What was made to repeat the log: `washes of Sand beds`, logged and as computed.
    pub made: Vec<(String, f64, f64)>,
    /// What the site as it stands then costs over the years; none where it is not known.
    pub now: Option<f64>,
    /// What each option but the first then costs more over the years; none where it is not known.
    pub more: Vec<Option<f64>>,
}

/// Computes it; nothing where every count that was logged is explained, or none can be reached.
///
/// # Errors
/// What makes a balance impossible on the way, with its place in the file.
pub fn at_log(study: &Study, asked: &Asked<'_>) -> Result<Option<AtLog>, Problems> {
    let Some(first) = study.options.first() else { return Ok(None) };
    let shared = asked.shared();
    let mut knobs: Vec<(Knob, f64)> = Vec::new();
    let mut made = Vec::new();
    let of = |measure: Measure| study.repeated.things.iter().filter(move |of| of.measure == measure);
    // Wash water alone tells of washes where none are counted.
    let metered = of(Measure::WashWater).filter(|water| !of(Measure::Events).any(|washes| washes.at == water.at));
    for thing in of(Measure::Events).chain(metered).filter(|thing| !thing.repeats(0)) {
        let Some(place) = first.alternative.facility.get(thing.at) else { continue };
        if !matches!(place.kind, PlaceKind::Filter(_)) {
            continue;
        }
        let knob = Knob::Washes(place.name.clone());
        let (logged, computed) = thing.whole.first().copied().unwrap_or_default();
        let count = |times: f64| -> Result<f64, Problems> {
            let Some(of) = with_all(&[(knob.clone(), times)], &first.alternative, &first.alternative) else {
                return Ok(computed);
            };
            let run = runs::single(&of.facility, &shared)?;
            let all = against_log(&of.facility, asked.log, &run.ledger, asked.period);
            let this = all.iter().find(|of| of.what == thing.what && of.measure == thing.measure);
            Ok(this.map_or(computed, |of| of.pairs.iter().map(|pair| pair.2).sum()))
        };
        if let Some(times) = stretch(logged, computed, &count)? {
            knobs.push((knob, times));
            made.push((thing.what.clone(), logged, computed));
        }
    }
    if knobs.is_empty() {
        return Ok(None);
    }
    let again = |of: &Alternative| -> Result<_, Problems> {
        let of = with_all(&knobs, of, &first.alternative).unwrap_or_else(|| of.clone());
        costed(&of, &first.alternative, &study.prices, &shared)
    };
    // All of them, so that what is known of the site's costs is what it is without.
    let options: Vec<Computed> = study.options.iter().map(|of| again(&of.alternative)).collect::<Result<_, _>>()?;
    let logged = Study { options, prices: study.prices.clone(), draws: vec![Draw::MIDDLE], ..study.empty() };
    let now = moved(&study.known_present(0), &logged.known_present(0));
    let more = (1..).zip(study.options.iter().skip(1)).map(|(option, of)| {
        // The old at the log beside a new one that is not would be no comparison.
        let own = knobs.iter().any(|(knob, _)| washes_by_its_own_rule(knob, &of.alternative, &first.alternative));
        if own { None } else { moved(&study.present_more(option, 0), &logged.present_more(option, 0)) }
    });
    let more = more.collect();
    Ok(Some(AtLog { made, now, more }))
}

/// The median of the draws, moved by what the washes change in the middle of the ranges: so nothing but the washes is otherwise.
fn moved(as_computed: &Cell, as_logged: &Cell) -> Option<f64> {
    Some(as_computed.spread()?.median + as_logged.single()? - as_computed.single()?)
}

/// Whether what stands in a filter's place is washed too, by another rule: then the log of the old tells nothing of it.
fn washes_by_its_own_rule(knob: &Knob, of: &Alternative, before: &Alternative) -> bool {
    let Knob::Washes(name) = knob else { return false };
    let filter = |of: &Alternative, is: &dyn Fn(&str) -> bool| {
        of.facility.places.iter().filter(|place| is(&place.name)).find_map(|place| match &place.kind {
            PlaceKind::Filter(filter) => Some(filter.clone()),
            _ => None,
        })
    };
    let (known, new) = (filter(before, &|of| of == name), filter(of, &|new| new != name && of.old_name(new) == name));
    known
        .zip(new)
        .is_some_and(|(known, new)| known.wash.is_some() && new.wash.is_some() && !is_washed_alike(&known, &new))
}

/// How many times as many washes repeat the count that was logged; none where no stretch does.
fn stretch(logged: f64, computed: f64, count: &dyn Fn(f64) -> Result<f64, Problems>) -> Result<Option<f64>, Problems> {
    let more = logged > computed;
    let (mut near, mut far) = (1.0, if more { WIDEST } else { 1.0 / WIDEST });
    let beyond = |count: f64| if more { count >= logged } else { count <= logged };
    if !beyond(count(far)?) {
        return Ok(None);
    }
    for _ in 0..HALVINGS {
        let middle = f64::sqrt(near * far);
        if beyond(count(middle)?) { far = middle } else { near = middle }
    }
    Ok(Some(far))
}

fn with_all(knobs: &[(Knob, f64)], of: &Alternative, before: &Alternative) -> Option<Alternative> {
    knobs.iter().fold(None, |done, (knob, times)| {
        let next = changed(knob, *times, done.as_ref().unwrap_or(of), before);
        next.or(done)
    })
}
