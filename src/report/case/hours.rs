//! What hours of work were typed, so that those of a year can be made again by hand.

use crate::compare::prices::Labour;
use crate::facility::model::PlaceKind;
use crate::page::document::figures;
use crate::report::case::{ComparedCase, one_form, shown};

/// The minutes and how often, by place, of all options, each once; none where nothing is typed.
pub fn typed(case: &ComparedCase<'_>) -> Option<String> {
    let mut told: Vec<String> = Vec::new();
    for of in case.study.options.iter().map(|of| &of.alternative) {
        for place in &of.facility.places {
            let names = of.names_for_prices(&place.name);
            let is_of = |line: &&Labour| names.contains(&line.place.as_str());
            let line = of.labour.iter().chain(&case.study.prices.labour).find(is_of);
            let mut parts: Vec<String> = line.map(of_line).unwrap_or_default();
            if let PlaceKind::Filter(filter) = &place.kind {
                let lasts = filter.change.as_ref().and_then(|change| change.lasts.as_ref());
                parts.extend(lasts.map(|lasts| format!("{} a change", one_form(&lasts.text))));
                // Nobody stands by a wash.
                let is_washed = filter.wash.is_some() && !parts.is_empty();
                parts.extend(is_washed.then(|| "nothing for a wash".to_owned()));
            }
            let words = format!("{}, {}", place.name, parts.join(" and "));
            if !parts.is_empty() && !told.contains(&words) {
                told.push(words);
            }
        }
    }
    (!told.is_empty()).then(|| format!("Hours of labour, as typed: {}.", told.join("; ")))
}

fn of_line(line: &Labour) -> Vec<String> {
    let min = |minutes: f64| format!("{}{}min", shown(minutes), figures::TIE);
    let checks = line.checks.map(|(minutes, times)| {
        format!("{} a check, {} checks a year", min(minutes), figures::number(times.round(), 0))
    });
    checks.into_iter().chain(line.new_roll.map(|minutes| format!("{} a new roll", min(minutes)))).collect()
}
