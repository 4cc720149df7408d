//! What a filter does, as part of its sentence; what only its kind has is said by the kind.

use super::settings::by_month;
use super::{Speaker, in_turn};
use crate::facility::model::{Cadence, Capture, Filter, Trigger, Wash, WashWater};
use crate::files::Given;
use crate::quantity::ByMonth;

impl Speaker<'_> {
    /// Which water washes.
    pub(in crate::facility) fn water(&self, with: WashWater) -> String {
        match with {
            WashWater::OwnFiltered => "its own filtered water".to_string(),
            WashWater::From(place) => format!("water from {}", self.name(place)),
        }
    }

    fn wash(&self, wash: &Wash) -> String {
        let one = match (&wash.volume, &wash.rate, &wash.flux, &wash.lasts) {
            (Some(volume), ..) => format!("{} a wash", volume.text),
            (None, rate, flux, Some(lasts)) => {
                let rate = rate
                    .as_ref()
                    .map(|rate| rate.text.as_str())
                    .or(flux.as_ref().map(|flux| flux.text.as_str()))
                    .unwrap_or("not known");
                let each = if wash.vessels > 1 { format!(" for each of {}", wash.vessels) } else { String::new() };
                format!("{rate} for {}{each}", lasts.text)
            }
            _ => "an amount not known".to_string(),
        };
        let rinse = wash
            .rinse
            .as_ref()
            .map(|(rate, lasts)| format!(", then {} for {} to waste", rate.text, lasts.text))
            .unwrap_or_default();
        let drained = wash.drained.as_ref().map(|drained| format!(", {} drained", drained.text)).unwrap_or_default();
        let holds = wash
            .holds_before
            .as_ref()
            .map(|holds| format!("; it holds {} before a wash", holds.text))
            .unwrap_or_default();
        let removes =
            wash.removes.as_ref().map(|removes| format!("; a wash removes {}", removes.text)).unwrap_or_default();
        format!(
            "; washed {} with {}, {one}{rinse}{drained}; wash water goes to {}{holds}{removes}",
            cadence(&wash.cadence),
            self.water(wash.with),
            self.out(&wash.to)
        )
    }

    pub(super) fn filter(&self, filter: &Filter) -> String {
        let mut text = format!("is a filter ({})", filter.kind.words());
        if let Some(opening) = &filter.opening {
            text.push_str(&format!(" with an opening of {}", months(opening)));
        }
        let decks = filter.kind.decks();
        for deck in decks {
            text.push_str(&format!(", a deck of {} that stops {}", deck.opening.text, capture(&deck.stops)));
        }
        if decks.is_empty() {
            text.push_str(&format!(" that stops {}", capture(&filter.stops)));
        }
        text.push_str(&filter.kind.sentence(self));
        if !filter.takes_from.is_empty() {
            text.push_str(&format!("; it draws from {}{}", self.names(&filter.takes_from), in_turn(filter.turn)));
        }
        if let Some(to) = &filter.goes_to {
            text.push_str(&format!("; what flows through it goes to {}", self.out(to)));
        }
        if let Some(most) = &filter.handles_at_most {
            let over = filter
                .above_that
                .as_ref()
                .map(|to| format!(", above that it goes to {}", self.out(to)))
                .unwrap_or_default();
            text.push_str(&format!("; it handles at most {}{over}", most.text));
        }
        if let Some(wash) = &filter.wash {
            text.push_str(&self.wash(wash));
            let layers = filter.kind.media_bed().map_or(&[][..], |bed| bed.media);
            let lowers = layers.iter().any(|layer| layer.wash_flow_times.is_some());
            if let Some(rate) = wash.rate.as_ref().filter(|_| lowers) {
                text.push_str(&format!(
                    "; its `wash flow` takes nothing off {}, only off a rate on the bed's area, like 15 gpm/ft2",
                    rate.text
                ));
            }
        }
        if let Some(change) = &filter.change {
            text.push_str(&format!("; changed {}", cadence(&change.cadence)));
            if let Some(lasts) = &change.lasts {
                text.push_str(&format!(", in {}", lasts.text));
            }
            if let (Some(drains), Some(to)) = (&change.drains, &change.to) {
                text.push_str(&format!(", when {} drains to {}", drains.text, self.out(to)));
            }
        }
        if let Some(screenings) = &filter.screenings {
            text.push_str(&format!(
                "; screenings ({} dry) go to {}{}",
                screenings.dry_solids.text,
                self.name(screenings.to),
                screenings
                    .drains_back_to
                    .map(|to| format!(", and drain back to {}", self.name(to)))
                    .unwrap_or_default()
            ));
        }
        if let Some(still) = &filter.stands_still {
            text.push_str(&format!("; it stands still for {}", still.text));
        }
        if let Some(motor) = &filter.motor {
            text.push_str(&format!("; its motor is {}", motor.text));
        }
        if let Some(spent) = filter.spent_media_to {
            text.push_str(&format!("; spent media go to {}", self.name(spent)));
        }
        text
    }
}

/// One text where all months say the same.
fn months<Q>(opening: &ByMonth<Given<Q>>) -> String {
    let by_month = by_month(opening, &|given| given.text.clone());
    match by_month.strip_suffix(" all year") {
        Some(text) => text.to_owned(),
        None => by_month,
    }
}

fn capture(capture: &Capture) -> String {
    match capture {
        Capture::NotKnown => "a share not known".to_string(),
        Capture::AtOpening { bigger, smaller } => {
            let small =
                smaller.as_ref().map(|small| format!(" and {} of what is smaller", small.text)).unwrap_or_default();
            format!("{} of what is bigger than the opening{small}", bigger.text)
        }
        Capture::Table(rows) => {
            rows.iter().map(|row| format!("{} at {}", row.share.text, row.size.text)).collect::<Vec<_>>().join(", ")
        }
        Capture::AllSolids(share) => format!("{} of all solids", share.text),
    }
}

fn cadence(cadence: &Cadence) -> String {
    let mut parts: Vec<String> = Vec::new();
    if cadence.by_log {
        parts.push("as logged".to_string());
    }
    for trigger in &cadence.triggers {
        parts.push(match trigger {
            Trigger::Clock(time) => format!("every {}", time.text),
            Trigger::RunningHours(time) => format!("every {} of running", time.text),
            Trigger::Solids(mass) => format!("after {}", mass.text),
            Trigger::Throughput(volume) => format!("after {}", volume.text),
        });
    }
    if let Some(at) = cadence.at {
        parts.push(format!("at {}", at.format("%H:%M")));
    }
    let mut text = parts.join(", or ");
    if let Some((from, to)) = cadence.never_between {
        text.push_str(&format!(" (never between {} and {})", from.format("%H:%M"), to.format("%H:%M")));
    }
    text
}
