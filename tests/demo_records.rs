//! The demonstration facility's own records and weather are read without a problem.

#![cfg(test)]

use std::path::Path;

use bywash::files::Sources;
use bywash::told::{Problems, print};
use bywash::{facility, records, weather};

#[test]
fn the_demonstration_s_records_and_weather_are_read_without_a_problem() {
    let directory = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-facility");
    let mut sources = Sources::new(&directory);
    let mut problems = Problems::new();
    let facility = facility::read(&directory, &mut sources, &mut problems).expect("the facility is read");
    let timeline = records::read(&facility, &mut sources, &problems);
    let period = facility.period.expect("it has a period");
    let weather = weather::read(&facility, period, &timeline.rain, &mut sources, &problems);
    assert!(problems.is_empty(), "{}", print(&problems, &sources, false));
    // Every meter that is listed was read, and a dial's last reading less its first is the sum of its spans unless it
    // rolled over or was exchanged, which is then among the repairs.
    for (index, meter) in facility.meters.iter().enumerate() {
        let dials: Vec<i64> = timeline
            .observations
            .iter()
            .filter(|row| row.name == meter.name && row.what == "reading")
            .map(|row| row.value.parse().expect("a whole number"))
            .collect();
        let counted: i64 =
            timeline.spans_of(index).map(|(_, span)| span.counts.parse::<i64>().expect("a whole number")).sum();
        let (first, last) = (dials.first().expect("it was read"), dials.last().expect("it was read"));
        let told = timeline.repairs.iter().any(|repair| {
            repair.sentence.starts_with(&format!("{} rolled", meter.name))
                || repair.sentence.starts_with(&format!("{} was exchanged", meter.name))
        });
        assert!(counted >= 0);
        assert!(counted == last - first || told, "{}", meter.name);
    }
    let days = usize::try_from((period.1 - period.0).num_days() + 1).expect("a period");
    assert_eq!(weather.days(), days);
    for (day, rain) in weather.rain.iter().enumerate() {
        let middle = rain.depth_mm.unwrap_or(0.0);
        assert!(rain.low_mm <= middle + 1e-9 && middle <= rain.high_mm + 1e-9, "day {day}");
    }
    assert!(weather.evaporation_m.iter().all(Option::is_some));
    assert!(weather.water_temperature_c.iter().all(Option::is_some));
}
