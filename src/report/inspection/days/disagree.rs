//! Looks, samples, meters and the computation of a discharge point that do not agree.

use chrono::NaiveDate;

use crate::balance::Basis as Bits;
use crate::page::document::{Document, Text, figures};
use crate::report::inspection::about::day;
use crate::report::inspection::beside::dial_of_day;
use crate::report::inspection::days::Outfall;
use crate::report::inspection::runs::first_few;
use crate::report::units;

/// Most letters of a pond's name at the head of a column; a longer one would make the head taller than many a table.
const MOST_LETTERS: usize = 24;

/// What stands above the levels of the pond that spills to an outfall.
pub(super) fn level_head(pond: &str) -> String {
    let pond = if pond.chars().count() > MOST_LETTERS { "Its pond" } else { pond };
    format!("{pond} at the day's opening")
}

/// Looks and the computation that do not agree are told.
pub(super) fn write(outfall: &Outfall, doc: &mut Document) {
    let volume = units::volume(outfall.case.facility.system);
    let mut told: Vec<Text> = Vec::new();
    let dry: Vec<(NaiveDate, f64)> = outfall
        .dates()
        .filter(|date| outfall.looked(*date) == Some(false))
        .filter_map(|date| Some((date, outfall.moved(date)?.0)))
        .collect();
    let (metered, computed): (Vec<_>, Vec<_>) = dry.into_iter().partition(|(date, _)| outfall.is_metered(*date));
    let by = [
        (metered, "though the meter counted water", "the meter for the whole day"),
        (computed, "though water left by the computation", "the computation for the whole day, and it may be wrong"),
    ];
    for (days, though, holds) in by {
        let words: Vec<String> = days
            .iter()
            .map(|(date, m3)| {
                let (value, digits) = outfall.figured.of(volume, *m3);
                let dial = dial_of_day(outfall.case, outfall.id, *date)
                    .map_or_else(String::new, |dial| format!(", dial {dial}"));
                format!("{} ({}{dial})", day(*date), figures::with_unit(value, digits, volume.name))
            })
            .collect();
        if !words.is_empty() {
            told.push(Text::from(format!(
                "Looked dry, {though}: {}. A look holds for its moment; {holds}.",
                first_few(&words)
            )));
        }
    }
    let (flowing, sampled): (Vec<NaiveDate>, Vec<NaiveDate>) = outfall
        .dates()
        .filter(|date| outfall.lacks_volume(*date))
        .partition(|date| outfall.looked(*date) == Some(true));
    let nothing: Vec<String> = outfall
        .dates()
        .filter(|date| outfall.seen_or_sampled(*date) && outfall.moved(*date).is_none() && outfall.is_counted(*date))
        .map(|date| match dial_of_day(outfall.case, outfall.id, date) {
            Some(dial) => format!("{} (dial {dial})", day(date)),
            None => day(date),
        })
        .collect();
    if !nothing.is_empty() {
        told.push(Text::from(format!(
            "Seen flowing or sampled, though the meter counted nothing: {}. The meter stands for the volume: what passed was less \
             than it counts, and is in its next count.",
            first_few(&nothing)
        )));
    }
    // What would move may depend on what is not known: then nothing was computed that a look could contradict.
    let unknown = outfall.water.basis.iter().any(|of| of.has(Bits::UNKNOWN));
    let moves = if unknown { "what the ledger moves is not known" } else { "the computation moves no water" };
    for (days, how, what) in [(flowing, "Looked flowing", "look"), (sampled, "Sampled", "sample")] {
        if !days.is_empty() {
            told.push(Text::from(format!(
                "{how}, though {moves}: {}. The {what} stands: that day's volume is not known.",
                first_few(&days.into_iter().map(day).collect::<Vec<_>>())
            )));
        }
    }
    // Days of which the same is said stand together.
    let mut alike: Vec<(String, Vec<String>)> = Vec::new();
    for (when, words) in outfall.storms() {
        match alike.iter_mut().find(|(known, _)| *known == words) {
            Some((_, days)) => days.push(when),
            None => alike.push((words, vec![when])),
        }
    }
    told.extend(alike.iter().map(|(words, days)| Text::from(format!("{}: {words}.", first_few(days)))));
    if !told.is_empty() {
        doc.list(told);
    }
}
