//! What a filter does, as part of its sentence.

use super::settings::by_month;
use super::{Speaker, in_turn};
use crate::facility::model::{Cadence, Capture, Filter, FilterKind, MediaLayer, Trigger, Wash, WashWater};
use crate::files::Given;
use crate::quantity::ByMonth;

impl Speaker<'_> {
    fn water(&self, with: WashWater) -> String {
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
        if let FilterKind::VibratingScreen { decks, .. } = &filter.kind {
            for deck in decks {
                text.push_str(&format!(", a deck of {} that stops {}", deck.opening.text, capture(&deck.stops)));
            }
        }
        if !matches!(&filter.kind, FilterKind::VibratingScreen { decks, .. } if !decks.is_empty()) {
            text.push_str(&format!(" that stops {}", capture(&filter.stops)));
        }
        text.push_str(&match &filter.kind {
            FilterKind::ShallowMediaBed { vessels, diameter, media } => {
                format!(", in {vessels} vessels of {}{}", diameter.text, layers(media))
            }
            FilterKind::DeepMediaBed { vessels, diameter, media, air_scour } => {
                let scour = air_scour
                    .as_ref()
                    .map(|scour| format!(", scoured with air for {}", scour.text))
                    .unwrap_or_default();
                format!(", in {vessels} vessels of {}{}{scour}", diameter.text, layers(media))
            }
            FilterKind::PressureScreen { in_line, self_cleaning } => {
                format!(", {in_line} in line, cleaned {}", if *self_cleaning { "by itself" } else { "by hand" })
            }
            FilterKind::Bag { housings, working_at_once, bag_dry_weight } => {
                let bag =
                    bag_dry_weight.as_ref().map(|weight| format!(", a dry bag of {}", weight.text)).unwrap_or_default();
                format!(", {working_at_once} of {housings} housings at work{bag}")
            }
            FilterKind::Cartridge { elements } => format!(", with {elements} elements"),
            FilterKind::MovingMedia { roll, .. } => format!(
                ", on rolls of {} by {}, {} dry{}, that hold {}{}; when one runs out {}",
                roll.length.text,
                roll.width.text,
                roll.dry_weight.text,
                roll.wet_weight_times.as_ref().map(|times| format!(" and {} when wet", times.text)).unwrap_or_default(),
                roll.holds.text,
                roll.at_least.as_ref().map(|least| format!(", moving at least {}", least.text)).unwrap_or_default(),
                if roll.passes_unfiltered { "water passes unfiltered" } else { "a new one is put on at once" }
            ),
            FilterKind::MicroscreenDrum { rinse, mesh_area } => {
                let mesh = mesh_area.as_ref().map(|area| format!(", {} of mesh", area.text)).unwrap_or_default();
                let how = match (&rinse.cake_at_full_time, &rinse.part_of_the_time) {
                    (Some(cake), _) => format!("by level (always on at {})", cake.text),
                    (None, Some(part)) => format!("{} of the time", part.text),
                    (None, None) => "always".to_string(),
                };
                format!(
                    "{mesh}, rinsed {how} at {} with {}, which goes to {}",
                    rinse.flow.text,
                    self.water(rinse.with),
                    self.out(&rinse.to)
                )
            }
            FilterKind::GravityScreen { hosed_down: Some(hose) } => format!(
                ", hosed down {} for {} at {} with water from {}, which goes to {}",
                hose.times_a_day.text,
                hose.lasts.text,
                hose.flow.text,
                self.name(hose.with),
                self.out(&hose.to)
            ),
            FilterKind::VibratingScreen { spray: Some(spray), .. } => {
                format!(
                    ", sprayed {} of the time at {} with water from {}",
                    spray.part_of_the_time.text,
                    spray.flow.text,
                    self.name(spray.with)
                )
            }
            _ => String::new(),
        });
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

/// A bed's layers, top first.
fn layers(media: &[MediaLayer]) -> String {
    let layer = |layer: &MediaLayer| {
        let mut text = format!("{} of {}", layer.depth.text, layer.kind);
        if let Some(grains) = &layer.grains {
            text.push_str(&format!(", grains of {}", grains.text));
        }
        if let Some(voids) = &layer.voids {
            text.push_str(&format!(", {} voids", voids.text));
        }
        let against = [("load", &layer.load_held_times), ("wash flow", &layer.wash_flow_times)];
        for (word, times) in against {
            if let Some(times) = times {
                text.push_str(&format!(", {word} {} sand's", times.text));
            }
        }
        text
    };
    let layers: Vec<String> = media.iter().map(layer).collect();
    if layers.is_empty() { String::new() } else { format!(", over {}", layers.join(" on ")) }
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
