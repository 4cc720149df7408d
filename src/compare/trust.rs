//! What of the log an option's money turns on, why it bears no verdict, and which range to look at.

use crate::balance::Ledger;
use crate::compare::Study;
use crate::compare::drivers::{correlation, ranks};
use crate::compare::figures::plain;
use crate::compare::idle::{by_the_clock, set_off_by_a_clock};
use crate::compare::log::Measure;
use crate::compare::quantity::Kind;
use crate::compare::repeated::Thing;
use crate::compare::service::leads_to;
use crate::compare::study::LEAST_DRAWS;
use crate::compare::washes::volume;
use crate::facility::model::{Filter, PlaceId, PlaceKind, Trigger};
use crate::told::path_in_words;

/// What is counted of a filter that its washes and changes show in.
const OF_FILTERS: [Kind; 5] = [Kind::Washes, Kind::Changes, Kind::WashWater, Kind::UsedUp, Kind::Downtime];

/// The least rank correlation of a range that is named as what moves a figure most.
const LEAST_RANK: f64 = 0.5;

/// A share of a filter's figures by which an option may differ and still leave it as it is.
const ALIKE: f64 = 0.01;

/// So many times as much is another amount: what counts may be off and still repeat (common practice, no source).
const APART: f64 = 1.25;

/// The most draws that are advised.
const MOST_DRAWS: f64 = 100_000.0;

impl Study {
    /// Why the log lets nothing be told of an option against another; empty where it does not stand in the way.
    pub fn off_the_log(&self, option: usize, than: usize) -> Vec<String> {
        let of = &self.repeated;
        let mut why: Vec<String> = Vec::new();
        let meant: Vec<&Thing> = of.things.iter().filter(|thing| self.turns_on(thing, option, than)).collect();
        let members = self.draws.len().saturating_sub(1);
        if of.apart && !meant.is_empty() {
            why.push(format!(
                "each figure of the {} is repeated by some draws, all of them together by {} of {members}: look at what the \
                 washes and the solids have in common",
                of.held_against(),
                of.repeating
            ));
            return why;
        }
        // Metered wash water says again what the count of washes says.
        let counted =
            |at: PlaceId| meant.iter().any(|of| of.at == at && of.measure == Measure::Events && !of.explained);
        let once = |thing: &&&Thing| thing.measure != Measure::WashWater || !counted(thing.at);
        for thing in meant.iter().filter(|thing| !thing.explained).filter(once) {
            why.push(format!("{}; {}", self.off_words(thing), self.where_to_look(thing)));
        }
        for thing in meant.iter().filter(|thing| thing.explained && !thing.holds) {
            let end = of.split.map(|(weighed, _)| weighed.1.format("%b %Y").to_string()).unwrap_or_default();
            why.push(format!(
                "the draws that repeat {} up to {end} do not repeat the {} after it",
                thing.what,
                of.held_against()
            ));
        }
        if of.weights.is_some() && of.effective < LEAST_DRAWS as f64 && meant.iter().any(|thing| thing.explained) {
            let more = (members as f64 * LEAST_DRAWS as f64 / of.effective / 1000.0).ceil() * 1000.0;
            why.push(format!(
                "so few of {members} draws repeat the {} that they count for {}: give --draws {}, or narrow the ranges",
                of.held_against(),
                plain(of.effective, 0),
                more.min(MOST_DRAWS)
            ));
        }
        why
    }

    /// What an option is computed with that is far off the samples; empty where nothing is.
    pub fn off_the_samples(&self, option: usize, than: usize) -> Vec<String> {
        let off = self.repeated.things.iter().filter(|of| of.measure == Measure::Solids && !of.explained);
        off.filter(|of| self.turns_on(of, option, than)).map(|of| self.off_words(of)).collect()
    }

    /// Whether some option's money turns on what no draw repeats.
    pub fn is_off_the_log(&self) -> bool {
        let options = || (1..self.options.len()).filter(|option| !self.changes_nothing(*option));
        self.repeated.things.iter().any(|of| !of.explained && options().any(|option| self.turns_on(of, option, 0)))
    }

    /// Whether an option's difference goes with what was logged: the filter does otherwise in it, or, of solids, a filter
    /// does that shares its water.
    pub fn turns_on(&self, thing: &Thing, option: usize, than: usize) -> bool {
        let differ: Vec<PlaceId> = self.filters_that_differ(option, than);
        if thing.measure != Measure::Solids {
            return differ.contains(&thing.at);
        }
        self.turns_on_solids(thing.at, option, than)
    }

    /// Whether an option's difference goes with solids at a place: a filter does otherwise in it that shares its water.
    pub(super) fn turns_on_solids(&self, at: PlaceId, option: usize, than: usize) -> bool {
        let Some(first) = self.options.first() else { return false };
        let differ = self.filters_that_differ(option, than);
        differ.is_empty() || differ.iter().any(|filter| share_water(&first.run.ledger, at, *filter))
    }

    /// Filters of the site as it stands that are washed or changed otherwise in one option than in another, or are gone.
    pub(super) fn filters_that_differ(&self, option: usize, than: usize) -> Vec<PlaceId> {
        let Some(first) = self.options.first() else { return Vec::new() };
        let of = |option: usize, id: &str| -> Vec<Vec<f64>> {
            OF_FILTERS
                .iter()
                .flat_map(|kind| self.paired(option, *kind))
                .filter(|paired| paired.id == id)
                .map(|paired| paired.values)
                .collect()
        };
        let kind = |option: usize, id: &str| {
            let of = &self.options.get(option)?.alternative;
            let place = of.facility.places.iter().find(|place| of.old_name(&place.name) == id)?;
            match &place.kind {
                PlaceKind::Filter(filter) => Some(filter.kind.words()),
                _ => None,
            }
        };
        let places = first.alternative.facility.places.iter().enumerate();
        places
            .filter(|(_, place)| matches!(place.kind, PlaceKind::Filter(_)))
            .filter(|(_, place)| {
                let name = place.name.as_str();
                kind(option, name) != kind(than, name) || !alike(&of(option, name), &of(than, name))
            })
            .map(|(index, _)| PlaceId(index))
            .collect()
    }

    /// `730 washes of Sand beds computed (700 to 760 in the draws), 205 logged, which no draw repeats`.
    pub fn off_words(&self, thing: &Thing) -> String {
        let members = self.draws.len().saturating_sub(1);
        let (logged, computed) = thing.whole.first().copied().unwrap_or_default();
        let figures = if thing.measure == Measure::Events {
            let all = thing.whole.iter().skip(1).map(|pair| pair.1);
            let (low, high) = all.fold((computed, computed), |(low, high), c| (low.min(c), high.max(c)));
            let range = if plain(low, 0) == plain(high, 0) {
                String::new()
            } else {
                format!(" ({} to {} in the draws)", plain(low, 0), plain(high, 0))
            };
            format!("{} {} computed{range}, {} logged", plain(computed, 0), thing.what, plain(logged, 0))
        } else {
            let off = computed / logged - 1.0;
            let word = if off > 0.0 { "high" } else { "low" };
            format!("{} computed {} % too {word}", thing.what, plain(100.0 * off.abs(), 0))
        };
        let draws = match thing.repeated_by {
            _ if members < 2 => String::new(),
            0 => ", which no draw repeats".to_owned(),
            n => format!(", which {n} of {members} draws come near"),
        };
        format!("{figures}{draws}")
    }

    /// Whether clearly fewer washes or changes of a filter were logged than are computed.
    fn done_too_often(&self, thing: &Thing) -> bool {
        let counted = self.repeated.things.iter().find(|of| of.at == thing.at && of.measure == Measure::Events);
        let fewer = |of: &Thing| of.whole.first().is_some_and(|(logged, computed)| logged < computed) && !of.explained;
        counted.is_some_and(fewer)
    }

    /// Where the meter has another amount for each wash that was logged than one wash takes by its lines, the log or what one wash takes is
    /// off, and not what sets a wash off.
    fn log_and_meter_apart(&self, thing: &Thing) -> Option<String> {
        let of = |measure: Measure| {
            let found = self.repeated.things.iter().find(|of| of.at == thing.at && of.measure == measure)?;
            found.whole.first().copied().filter(|(logged, computed)| *logged > 0.0 && *computed > 0.0)
        };
        let (events, water) = (of(Measure::Events)?, of(Measure::WashWater)?);
        let (metered, by_its_lines) = (water.0 / events.0, water.1 / events.1);
        let is_apart = metered * APART < by_its_lines || metered > APART * by_its_lines;
        let system = self.options.first()?.alternative.facility.system;
        (thing.measure == Measure::Events && is_apart).then(|| {
            format!(
                "{} were metered for each wash logged, and one wash takes {} by its lines: see whether each wash is in the log, once, \
                 and how long one lasts",
                volume(system, metered),
                volume(system, by_its_lines)
            )
        })
    }

    /// Where a clock sets off what is computed and more were logged, its line is what is off: no load makes a clock go faster.
    fn off_the_clock(&self, thing: &Thing) -> Option<String> {
        let first = self.options.first().filter(|_| thing.measure == Measure::Events)?;
        let PlaceKind::Filter(filter) = &first.alternative.facility.get(thing.at)?.kind else { return None };
        let (hours, line) = set_off_by_a_clock(&first.run.ledger, thing.at, filter)?;
        let (logged, computed) = thing.whole.first().copied().filter(|(logged, _)| *logged > 0.0)?;
        // The log alone may have each of them twice.
        self.repeated.things.iter().find(|of| of.at == thing.at && of.measure == Measure::WashWater)?;
        let every = plain(hours * computed / logged, 1);
        let rest = cadence(filter, false);
        let rest = match rest.is_empty() {
            true => String::new(),
            false => format!(", then at {}", rest.join(", ")),
        };
        Some(format!(
            "its {line} sets them off in the computation, and by log and meter there is one every {} h: look at {}{rest}",
            every.strip_suffix(".0").unwrap_or(&every),
            if rest.is_empty() { "that line" } else { "that line first" }
        ))
    }

    /// Which range or line to look at where the ranges can't explain what was logged.
    fn where_to_look(&self, thing: &Thing) -> String {
        let Some(first) = self.options.first() else { return String::new() };
        if let Some(words) = self.log_and_meter_apart(thing) {
            return words;
        }
        let more_computed = self.done_too_often(thing);
        if let Some(words) = self.off_the_clock(thing).filter(|_| !more_computed) {
            return words;
        }
        if thing.measure == Measure::Events
            && more_computed
            && let Some(PlaceKind::Filter(filter)) = first.alternative.facility.get(thing.at).map(|place| &place.kind)
            && let Some((idle, write)) = by_the_clock(&first.run.ledger, thing.at, filter)
        {
            let word = if filter.wash.is_some() { "washes" } else { "changes" };
            return format!(
                "{idle} of the {word} are by the clock with no water since the one before: if it is so only while it runs, write {write}"
            );
        }
        // Where the counts agree it is what one wash takes that is off.
        let counts_agree = thing.measure == Measure::WashWater
            && self.repeated.things.iter().any(|of| of.at == thing.at && of.measure == Measure::Events && of.explained);
        let computed: Vec<f64> = thing.whole.iter().skip(1).map(|pair| pair.1).collect();
        let (low, high) = computed.iter().fold((f64::INFINITY, 0.0_f64), |(low, high), c| (low.min(*c), high.max(*c)));
        let moves = first
            .run
            .assumptions
            .iter()
            .filter(|one| one.is_range)
            .map(|one| {
                let drawn: Vec<f64> = self.draws.iter().skip(1).map(|draw| draw.uniform(&one.key)).collect();
                (correlation(&ranks(&drawn), &ranks(&computed)).abs(), one)
            })
            .max_by(|a, b| a.0.total_cmp(&b.0));
        // What so many draws could show by chance moves nothing, nor does what hardly moves at all.
        if let Some((rank, one)) = moves.filter(|_| !counts_agree && high - low > ALIKE * high)
            && rank > f64::max(LEAST_RANK, 3.0 / (computed.len().max(1) as f64).sqrt())
        {
            return format!(
                "look at the range of {} ({}), which moves it most and is too narrow",
                path_in_words(&one.key),
                one.text
            );
        }
        let lines: Vec<String> = match first.alternative.facility.get(thing.at).map(|place| &place.kind) {
            Some(PlaceKind::Filter(filter)) if thing.measure == Measure::WashWater => one_wash(filter),
            Some(PlaceKind::Filter(filter)) => cadence(filter, more_computed),
            _ => Vec::new(),
        };
        let is_counted = self.repeated.things.iter().any(|of| of.at == thing.at && of.measure == Measure::Events);
        if thing.measure == Measure::WashWater && !is_counted && !lines.is_empty() {
            return format!(
                "nobody logged its washes, so it may be their number or what one takes: log them, and look at its {}",
                lines.join(", ")
            );
        }
        if thing.measure == Measure::Events && lines.is_empty() {
            return "look at the log, and at what sets them off".to_owned();
        }
        if lines.is_empty() {
            return "look at what each source brings, and at the sizes and densities of the solids".to_owned();
        }
        let is_by_load = match first.alternative.facility.get(thing.at).map(|place| &place.kind) {
            Some(PlaceKind::Filter(filter)) => !cadence(filter, false).is_empty(),
            _ => true,
        };
        let solids = if thing.measure == Measure::Events && is_by_load { ", at the solids that reach it" } else { "" };
        let lines = match lines.split_last() {
            Some((last, rest)) if !rest.is_empty() => format!("{} and {last}", rest.join(", ")),
            _ => lines.join(", "),
        };
        format!("look at its {lines}{solids}, and type ranges")
    }
}

/// Whether figures are as good as the same in every run.
fn alike(a: &[Vec<f64>], b: &[Vec<f64>]) -> bool {
    let near = |(a, b): (&f64, &f64)| (a - b).abs() <= ALIKE * a.abs().max(b.abs());
    a.len() == b.len() && a.iter().zip(b).all(|(a, b)| a.len() == b.len() && a.iter().zip(b).all(near))
}

/// Whether water from one place can come to the other, on the site.
fn share_water(ledger: &Ledger, a: PlaceId, b: PlaceId) -> bool {
    leads_to(ledger, a, b) || leads_to(ledger, b, a)
}

/// What says when a filter is washed or changed, as typed; a clock only where it may come too often.
fn cadence(filter: &Filter, too_often: bool) -> Vec<String> {
    let triggers =
        filter.wash.iter().map(|wash| &wash.cadence).chain(filter.change.iter().map(|change| &change.cadence));
    let mut out: Vec<String> = triggers
        .flat_map(|cadence| &cadence.triggers)
        .filter(|trigger| too_often || !matches!(trigger, Trigger::Clock(_) | Trigger::RunningHours(_)))
        .map(|trigger| match trigger {
            Trigger::Clock(of) | Trigger::RunningHours(of) => (&of.key, &of.text),
            Trigger::Solids(of) => (&of.key, &of.text),
            Trigger::Throughput(of) => (&of.key, &of.text),
        })
        .chain(filter.wash.iter().filter_map(|wash| wash.holds_before.as_ref()).map(|of| (&of.key, &of.text)))
        .map(|(key, text)| own_line(key, text))
        .collect();
    out.dedup();
    out
}

/// What says how much water a wash takes, as typed.
fn one_wash(filter: &Filter) -> Vec<String> {
    let Some(wash) = &filter.wash else { return Vec::new() };
    let mut out = Vec::new();
    let mut put = |key: &str, text: &str| out.push(own_line(key, text));
    wash.rate.iter().for_each(|of| put(&of.key, &of.text));
    wash.flux.iter().for_each(|of| put(&of.key, &of.text));
    wash.lasts.iter().for_each(|of| put(&of.key, &of.text));
    wash.volume.iter().for_each(|of| put(&of.key, &of.text));
    out
}

/// The last key of a line with its value: `or every: 12 h`.
fn own_line(key: &str, text: &str) -> String {
    format!("`{}: {text}`", key.rsplit(" / ").next().unwrap_or(key))
}
