//! Settings of the whole site read back: its day, period, seasons, weather, solids.

use crate::facility::model::{
    Evaporation, Facility, OpenWaterLoss, ReadingBelongs, SolidsKind, StationEquation, StepsPerDay, WaterTemperature,
};
use crate::facility::sentences::full;
use crate::quantity::{ByMonth, DayOfYear, month_name};
use crate::told::Place;

/// One sentence for each setting, with where it was typed.
pub(super) fn sentences(facility: &Facility) -> Vec<(Place, String)> {
    let mut out = vec![(facility.place.clone(), full(whole(facility)))];
    for season in &facility.seasons {
        let (from, to) = (day(season.days.from), day(season.days.to));
        out.push((season.place.clone(), full(format!("The season `{}` is {from} to {to}", season.name))));
    }
    out.extend(weather(facility));
    for kind in &facility.solids {
        out.push((kind.place.clone(), full(solids(kind))));
    }
    for dissolved in &facility.dissolved {
        let measured = dissolved.one_ms_per_cm.as_ref().map_or_else(String::new, |one| {
            format!(", measured as electrical conductivity: one mS/cm is {}", one.text)
        });
        let text = format!("{} travels with the water{measured}", dissolved.name);
        out.push((dissolved.place.clone(), full(text)));
    }
    out
}

fn day(day: DayOfYear) -> String {
    format!("{} {}", day.day, month_name(day.month))
}

fn whole(facility: &Facility) -> String {
    let mut text = format!("{}: a day starts at {}", facility.name, facility.day_starts.format("%H:%M"));
    if facility.day_bears_its_end {
        text.push_str(" and bears the date on which it ends");
    }
    if let Some((first, last)) = facility.period {
        let days = (last - first).num_days() + 1;
        text.push_str(&format!("; the period is {first} to {last}, {days} days"));
    }
    if let StepsPerDay::Exactly(steps) = facility.steps_per_day {
        text.push_str(&format!("; {steps} steps a day"));
    }
    if let Some(elevation) = &facility.elevation {
        text.push_str(&format!("; {} above the sea", elevation.text));
    }
    if let Some(latitude) = &facility.latitude {
        text.push_str(&format!("; at {}", latitude.text));
    }
    if let Some(hold) = &facility.hold_sample_for {
        text.push_str(&format!("; a sample is held for {}", hold.text));
    }
    text
}

fn weather(facility: &Facility) -> Vec<(Place, String)> {
    let weather = &facility.weather;
    let mut out = Vec::new();
    if let Some(rain) = &weather.rain {
        let belongs = match rain.belongs {
            ReadingBelongs::DayThatEnded => "the day that ended",
            ReadingBelongs::ThatDay => "the day on whose date it stands",
        };
        let cover = if rain.may_cover_several_days { "several days" } else { "one day" };
        let starts = facility.day().time;
        let shared = if rain.read_at == starts {
            String::new()
        } else {
            format!("; our days start at {}, so that it is shared by the hour over two of them", starts.format("%H:%M"))
        };
        let text = format!(
            "Rain is in {}, read at {}; a reading is of {belongs} and may cover {cover}{shared}",
            rain.file,
            rain.read_at.format("%H:%M")
        );
        out.push((rain.place.clone(), full(text)));
    }
    if let Some((file, place)) = &weather.temperatures {
        out.push((place.clone(), full(format!("Air temperatures are in {file}"))));
    }
    match &weather.evaporation {
        Some(Evaporation::Months(months)) => {
            let text = |loss: &OpenWaterLoss| match loss {
                OpenWaterLoss::InADay(given) => given.text.clone(),
                OpenWaterLoss::InAMonth(given) => given.text.clone(),
            };
            let place = match months.0.first() {
                Some(OpenWaterLoss::InADay(given)) => given.place.clone(),
                Some(OpenWaterLoss::InAMonth(given)) => given.place.clone(),
                None => facility.place.clone(),
            };
            out.push((place, full(format!("Ponds lose to the air {}", by_month(months, &text)))));
        }
        Some(Evaporation::Pan { file, place, times }) => {
            let text = format!("Ponds lose to the air {} times the pan in {file}", times.text);
            out.push((place.clone(), full(text)));
        }
        Some(Evaporation::FromStation { file, place, by, times }) => {
            let by = match by {
                StationEquation::PenmanOpenWater => "Penman's equation for open water",
                StationEquation::PenmanMonteith => "Penman and Monteith's equation",
            };
            let text = format!("Ponds lose to the air {} times {by} from {file}", times.text);
            out.push((place.clone(), full(text)));
        }
        Some(Evaporation::FromTemperatures { place, times }) => {
            let text = format!("Ponds lose to the air {} times what temperatures say", times.text);
            out.push((place.clone(), full(text)));
        }
        None => {}
    }
    match &weather.water_temperature {
        Some(WaterTemperature::Months(months)) => {
            let place = months.0.first().map_or(&facility.place, |given| &given.place);
            let text = by_month(months, &|given| given.text.clone());
            out.push((place.clone(), full(format!("The water is at {text}"))));
        }
        Some(WaterTemperature::File(file, place)) => {
            out.push((place.clone(), full(format!("Temperatures of the water are in {file}"))));
        }
        None => {}
    }
    out
}

/// `43 F from Nov to Feb, 54 F from Mar to May`: months that follow one another and say the same stand together.
pub(super) fn by_month<T>(months: &ByMonth<T>, text: &dyn Fn(&T) -> String) -> String {
    let texts: Vec<String> = months.0.iter().map(text).collect();
    let month = |at: usize| month_name(at as u32 % 12 + 1);
    // A run that crosses New Year begins where its text begins.
    let begins = (0..12).find(|at| texts.get(*at) != texts.get((at + 11) % 12));
    let Some(begins) = begins else {
        return format!("{} all year", texts.first().map_or("", String::as_str));
    };
    let mut runs: Vec<(usize, usize)> = Vec::new();
    for at in begins..begins + 12 {
        match runs.last_mut() {
            Some((_, last)) if texts.get(*last % 12) == texts.get(at % 12) => *last = at,
            _ => runs.push((at, at)),
        }
    }
    let said = runs.iter().map(|(first, last)| {
        let text = texts.get(first % 12).map_or("", String::as_str);
        if first == last {
            format!("{text} in {}", month(*first))
        } else {
            format!("{text} from {} to {}", month(*first), month(*last))
        }
    });
    said.collect::<Vec<_>>().join(", ")
}

fn solids(kind: &SolidsKind) -> String {
    let weight = match &kind.density {
        _ if kind.floats => "float".to_owned(),
        Some(density) => format!("weigh {}", density.text),
        None => "have no density".to_owned(),
    };
    let holds = kind.holds.iter().map(|(name, content)| format!("; they hold {} of {name}", content.text));
    format!(
        "Grains of {} {weight}; half of the mass is finer than {}, nine tenths finer than {}{}",
        kind.name,
        kind.half_finer.text,
        kind.nine_tenths_finer.text,
        holds.collect::<String>()
    )
}
