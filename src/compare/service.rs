//! Equal service: the same water to each use, the same largest day, the same coarse solids kept from it: of what the
//! computation brings, and of test solids, since a computed pond may settle all that would put a filter to the test.

use crate::balance::{Ledger, Node, Way};
use crate::compare::figures::plain;
use crate::compare::quantity::Kind;
use crate::compare::test_solids::Trains;
use crate::compare::{Computed, Study};
use crate::facility::model::{PlaceId, PlaceKind};

/// The share of its running hours in which more water may pass a filter unfiltered than now and still serve alike (common practice,
/// no source).
const UNFILTERED: f64 = 0.01;

/// How an option serves the uses against the site as it stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Served {
    /// The option.
    pub option: usize,
    /// A line for each use and each thing looked at.
    pub lines: Vec<Line>,
    /// What differs by more than is taken as the same, in words; any of them is a no.
    pub differences: Vec<String>,
    /// What was not compared, and why: then nobody knows whether it serves alike.
    pub unknown: Vec<String>,
}

/// What is looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum What {
    /// The year's water, m³.
    Water,
    /// The largest day's water, m³.
    Peak,
    /// Solids coarser than the target size in its water, kg/m³, in the single run.
    Coarse,
    /// What comes through of the test solids, kg/m³, at the size at which the option lets most more through.
    Test,
}

/// One use and one thing looked at.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// The use.
    pub name: String,
    /// What.
    pub what: What,
    /// As it stands, single run.
    pub before: f64,
    /// With the option, single run.
    pub after: f64,
    /// The largest difference over all runs: a share for water, kg/m³ for solids.
    pub worst: f64,
    /// Whether it is taken as the same.
    pub alike: bool,
    /// Of test solids: their size, m; else nought.
    pub size_m: f64,
}

/// Holds every option but the first against the first.
pub fn served(study: &Study) -> Vec<Served> {
    (1..study.options.len()).map(|option| one(study, option)).collect()
}

fn one(study: &Study, option: usize) -> Served {
    let rule = &study.prices.service;
    let mut lines = Vec::new();
    let (mut differences, mut unknown) = (Vec::new(), Vec::new());
    for (kind, what, words) in
        [(Kind::Served, What::Water, "the year's water"), (Kind::Peak, What::Peak, "the largest day's water")]
    {
        let ours = study.paired(option, kind);
        for before in study.paired(0, kind) {
            let Some(after) = ours.iter().find(|of| of.id == before.id) else {
                differences.push(format!("{} is not served at all", before.id));
                continue;
            };
            let mut worst = 0.0_f64;
            for (a, b) in after.values.iter().zip(&before.values) {
                let apart = if *b > 0.0 {
                    a / b - 1.0
                } else if *a > 0.0 {
                    1.0
                } else {
                    0.0
                };
                if apart.abs() > worst.abs() {
                    worst = apart;
                }
            }
            let alike = worst.abs() <= rule.within;
            if !alike {
                differences.push(format!(
                    "it does not serve {} alike: {words} differs by up to {} %",
                    before.id,
                    plain(worst * 100.0, 1)
                ));
            }
            lines.push(Line {
                name: before.id.clone(),
                what,
                before: before.values.first().copied().unwrap_or(0.0),
                after: after.values.first().copied().unwrap_or(0.0),
                worst,
                alike,
                size_m: 0.0,
            });
        }
    }
    passed_more_unfiltered(study, option, &mut differences);
    match rule.target_m {
        None => unknown.push(
            "no target size is typed (prices.yaml, `equal service: {target size: 50 um}`), so what reaches the uses was \
             not compared"
                .to_owned(),
        ),
        Some(target) => coarse(study, option, target, &mut lines, (&mut differences, &mut unknown)),
    }
    Served { option, lines, differences, unknown }
}

/// Uses to which an option lets water pass a filter unfiltered in clearly more hours than the site as it stands does.
fn passed_more_unfiltered(study: &Study, option: usize, differences: &mut Vec<String>) {
    let (Some(first), Some(of)) = (study.options.first(), study.options.get(option)) else {
        return;
    };
    let (before, after) = (unfiltered(first), unfiltered(of));
    // What several uses have alike is told once.
    let mut told: Vec<(String, Vec<&str>)> = Vec::new();
    for (index, place) in of.alternative.facility.places.iter().enumerate() {
        let id = PlaceId(index);
        let name = of.alternative.old_name(&place.name);
        let was = first.alternative.facility.find(name);
        let (PlaceKind::Use(_), Some(was)) = (&place.kind, was) else { continue };
        let on_the_way = before.iter().filter(|past| leads_to(&first.run.ledger, past.filter, was));
        let now = on_the_way.map(|past| past.hours).fold(0.0, f64::max);
        for past in after.iter().filter(|past| leads_to(&of.run.ledger, past.filter, id)) {
            if past.hours - now > UNFILTERED * past.running_h {
                let words = format!("{}, {} h as it stands", past.words, plain(now, 0));
                match told.iter_mut().find(|(known, _)| *known == words) {
                    Some((_, uses)) => uses.push(name),
                    None => told.push((words, vec![name])),
                }
            }
        }
    }
    let words = |(words, uses): (String, Vec<&str>)| format!("it does not serve {} alike: {words}", uses.join(", "));
    differences.extend(told.into_iter().map(words));
}

fn coarse(
    study: &Study,
    option: usize,
    target_m: f64,
    lines: &mut Vec<Line>,
    (differences, unknown): (&mut Vec<String>, &mut Vec<String>),
) {
    let rule = &study.prices.service;
    let (Some(first), Some(of)) = (study.options.first(), study.options.get(option)) else {
        return;
    };
    let (trains_before, trains) = (Trains::new(first, target_m), Trains::new(of, target_m));
    for (index, place) in first.alternative.facility.places.iter().enumerate() {
        if !matches!(place.kind, PlaceKind::Use(_)) {
            continue;
        }
        let after =
            of.alternative.facility.places.iter().position(|other| of.alternative.old_name(&other.name) == place.name);
        let Some(after) = after else { continue };
        let (id, id_after) = (PlaceId(index), PlaceId(after));
        let (before, after) = (first.coarse_kg_m3(id), of.coarse_kg_m3(id_after));
        let mut alike = after - before <= rule.most_kg_m3;
        if !alike {
            differences.push(format!(
                "it does not serve {} alike: {} mg/L of solids coarser than {} reach it, {} as it stands",
                place.name,
                plain(after * 1000.0, 1),
                rule.target_text,
                plain(before * 1000.0, 1),
            ));
        }
        let name = place.name.clone();
        lines.push(Line { name, what: What::Coarse, before, after, worst: after - before, alike, size_m: 0.0 });
        let (Ok(passed_before), Ok(passed)) = (trains_before.passed(id), trains.passed(id_after)) else {
            unknown.push(format!("what a filter before {} stops is not known", place.name));
            continue;
        };
        // The size at which it lets most more through than the site as it stands; never mind where there is none.
        let more = passed.iter().zip(&passed_before).zip(trains.sizes_m()).map(|((a, b), size)| (a - b, *a, *b, *size));
        let worst = more.max_by(|x, y| x.0.total_cmp(&y.0));
        let Some((more, passed, passed_before, size)) = worst.filter(|worst| worst.0 > 1e-9) else { continue };
        let arrives = trains_before.arrives(id).max(trains.arrives(id_after));
        let um = plain(size * 1e6, 0);
        match rule.test_kg_m3 {
            None if arrives <= rule.most_kg_m3 => unknown.push(format!(
                "it lets {} % of solids of {um} µm through to {}, {} % as it stands, and next to nothing coarser than {} \
                 reaches its filters in the computation, so nothing was put to the test: state what may come (prices.yaml, \
                 `equal service: {{test solids: 5 mg/L}}`)",
                plain(100.0 * passed, 0),
                place.name,
                plain(100.0 * passed_before, 0),
                rule.target_text,
            )),
            None => {}
            Some(slug) => {
                alike = more * slug <= rule.most_kg_m3;
                if !alike {
                    differences.push(format!(
                        "it does not serve {} alike: of test solids of {um} µm, {} in front of the filters, {} mg/L come through, {} as \
                         it stands",
                        place.name,
                        rule.test_text,
                        plain(passed * slug * 1000.0, 1),
                        plain(passed_before * slug * 1000.0, 1),
                    ));
                }
                let (before, after) = (passed_before * slug, passed * slug);
                let (name, worst) = (place.name.clone(), more * slug);
                lines.push(Line { name, what: What::Test, before, after, worst, alike, size_m: size });
            }
        }
    }
}

/// A filter past which water went unfiltered.
struct Past {
    filter: PlaceId,
    hours: f64,
    /// Hours in which it ran.
    running_h: f64,
    words: String,
}

/// Filters past which water went unfiltered in the single run, as what they filter with had run out.
fn unfiltered(of: &Computed) -> Vec<Past> {
    let ledger = &of.run.ledger;
    let all = of.alternative.facility.places.iter().enumerate().filter_map(|(index, place)| {
        let filter = PlaceId(index);
        let series = ledger.filter(filter)?;
        let days = match series.unfiltered_h.iter().filter(|hours| **hours > 0.0).count() {
            0 => return None,
            1 => "1 day".to_owned(),
            days => format!("{days} days"),
        };
        let hours: f64 = series.unfiltered_h.iter().sum();
        let words = format!(
            "on {days} {} ran out, and water passed it unfiltered until the day was over, {} h in all",
            place.name,
            plain(hours, 0)
        );
        Some(Past { filter, hours, running_h: series.running_h.iter().sum(), words })
    });
    all.collect()
}

/// Filters past which an option lets water unfiltered in more hours than the site as it stands does, in words.
pub(super) fn runs_out(study: &Study, option: usize) -> Vec<String> {
    let (Some(first), Some(of)) = (study.options.first(), study.options.get(option)) else {
        return Vec::new();
    };
    let before = unfiltered(first);
    let name = |of: &Computed, past: &Past| {
        of.alternative.facility.get(past.filter).map_or_else(String::new, |place| place.name.clone())
    };
    let more = |past: &Past| {
        let here = name(of, past);
        let old = of.alternative.old_name(&here);
        let was = before.iter().find(|known| name(first, known) == old).map_or(0.0, |known| known.hours);
        (past.hours > was)
            .then(|| format!("{here} is changed before it runs out ({} h unfiltered)", plain(past.hours, 0)))
    };
    unfiltered(of).iter().filter_map(more).collect()
}

/// Whether water from one place can come to another.
pub(super) fn leads_to(ledger: &Ledger, from: PlaceId, to: PlaceId) -> bool {
    let mut seen = vec![Node::Place(from)];
    let mut at = 0;
    while let Some(node) = seen.get(at).copied() {
        at += 1;
        for Way { from, to, .. } in ledger.ways() {
            if *from == node && !seen.contains(to) {
                seen.push(*to);
            }
        }
    }
    seen.contains(&Node::Place(to))
}

/// What is told of filters past which water went unfiltered, also where the uses are served alike.
pub fn passed_unfiltered(of: &Computed) -> Vec<String> {
    unfiltered(of).into_iter().map(|past| past.words).collect()
}
