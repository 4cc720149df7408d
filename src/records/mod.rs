//! Sheets and slips become one timeline; repairs are listed.
//!
//! [`read`] reads every table in the facility's folder of records, in order of name: long form
//! (`date, place, what, …`) as it is, any other sheet by the mapping file beside it. What it can't understand is told,
//! all of it at once; what it repairs or takes for granted is listed in [`Timeline::repairs`].

mod amounts;
mod contradict;
mod counted_as;
mod daily;
mod dates;
mod dials;
mod feet;
mod fronts;
mod gather;
mod heads;
mod long;
mod lost;
mod meters;
mod observed;
mod plausible;
mod read_back;
mod reconcile;
mod row;
pub(crate) mod sheet;
mod standing;
mod summary;
mod timeline;
mod totaliser;
mod unlikely;
mod washes;
mod words;

#[cfg(test)]
pub(crate) mod tests;

pub use crate::weather::{Repair, SourceSummary};
pub use daily::{MeterDay, WashDay};
pub use read_back::read_back;
pub use reconcile::{METER_SHARE, MeteredWay, ReconciledMeter, Reconciliation, reconcile};
pub use timeline::{
    Act, Level, LevelKind, Look, MeterSpan, Observation, Qualifier, Sample, Source, Timeline, WashCount,
};
pub(crate) use unlikely::off_the_bank;

use crate::facility::model::Facility;
use crate::files::{Sources, mapping_of};
use crate::quantity::{DecimalMark, parameter_as_written};
use crate::told::{Place, Problem, Problems};
use row::{Entry, Row};

/// Reads the facility's folder of records. A facility without one has an empty timeline.
pub fn read(facility: &Facility, sources: &mut Sources, problems: &Problems) -> Timeline {
    read_without(facility, &[], sources, problems)
}

/// Reads the records for a case in which places or meters of these names were removed: their records do not apply, and
/// that is listed as a repair.
pub fn read_without(facility: &Facility, removed: &[String], sources: &mut Sources, problems: &Problems) -> Timeline {
    let mut rows = Vec::new();
    if let Some((folder, asked_at)) = &facility.records {
        if sources.is_folder(folder) {
            rows = rows_of_folder(folder, asked_at, sources, problems);
        } else {
            problems.add(
                Problem::error(asked_at, format!("there is no folder `{folder}`"))
                    .hint("records are read from this folder, beside the facility's file"),
            );
        }
    }
    // A rain file with a mapping is a sheet like any other.
    if let Some(rain) = &facility.weather.rain
        && sources.exists(&mapping_of(&rain.file))
    {
        let folder = facility.records.as_ref().map(|(folder, _)| format!("{}/", Sources::name_of(folder)));
        if !folder.is_some_and(|folder| Sources::name_of(&rain.file).starts_with(&folder)) {
            rows.extend(sheet::rows(&rain.file, &rain.place, sources, problems));
        }
    }
    timeline_of(facility, rows, removed, problems)
}

fn rows_of_folder(folder: &str, asked_at: &Place, sources: &mut Sources, problems: &Problems) -> Vec<Row> {
    let mut names = match sources.list(folder, &["csv", "xlsx"]) {
        Ok(names) => names,
        Err(cause) => {
            problems.add(
                Problem::error(asked_at, format!("the folder `{folder}` can't be listed: {cause}"))
                    .hint("look at who may read it"),
            );
            return Vec::new();
        }
    };
    // Files that a spreadsheet program keeps beside an open workbook.
    names.retain(|name| !name.rsplit('/').next().unwrap_or(name).starts_with("~$"));
    names.sort();
    let mut rows = Vec::new();
    for name in names {
        if sources.exists(&sheet::Mapping::file_of(&name)) {
            rows.extend(sheet::rows(&name, asked_at, sources, problems));
        } else if name.to_lowercase().ends_with(".xlsx") {
            problems.add(
                Problem::error(&Place::file(&name), "this workbook has no mapping file, so it is not read")
                    .hint(format!("run: bywash sheet \"{name}\"")),
            );
        } else if let Some(source) = sources.text(&name, Some(asked_at), problems) {
            rows.extend(long::rows(&source, problems));
        }
    }
    rows
}

/// The timeline of rows that were read.
pub(crate) fn timeline_of(facility: &Facility, rows: Vec<Row>, removed: &[String], problems: &Problems) -> Timeline {
    let (entries, mut repairs) = gather::entries(facility, rows, removed, problems);
    let mut metered = meters::spans(facility, &entries, &mut repairs, problems);
    let washes = washes::counts(facility, &entries, &mut repairs, problems);
    let samples = observed::samples(&entries, &mut repairs, problems);
    let levels = observed::levels(facility, &entries, &mut repairs, problems);
    let mut looks = observed::looks(&entries, &mut repairs, problems);
    looks.append(&mut metered.seen);
    looks.sort_by(|a, b| (a.day, a.time, &a.source.place).cmp(&(b.day, b.time, &b.source.place)));
    let rain = observed::rain(&entries, &mut repairs, problems);
    let acts = observed::acts(&entries);
    standing::leave_out(facility, &mut metered, &looks, &samples, &mut repairs, problems);
    meters::amounts_beside(facility, &mut metered, &mut repairs);
    let meter_spans = metered.spans;
    repairs.sort_by(|a, b| (&a.place, &a.sentence).cmp(&(&b.place, &b.sentence)));
    let sources = summary::sources(&entries, &repairs);
    unlikely::results(facility, &samples, problems);
    unlikely::levels(facility, &levels, problems);
    unlikely::meters(facility, &meter_spans, problems);
    contradict::dry_samples(facility, &samples, &looks, problems);
    let told = contradict::counts_since(&entries, problems);
    unlikely::washes(facility, &washes, &told, problems);
    let last_day = entries.iter().map(|entry| entry.row.stamp.date).max();
    Timeline {
        observations: entries.iter().map(observation).collect(),
        meter_spans,
        washes,
        samples,
        levels,
        looks,
        rain,
        acts,
        repairs,
        sources,
        last_day,
    }
}

fn observation(entry: &Entry) -> Observation {
    Observation {
        day: entry.day,
        date: entry.row.stamp.date,
        time: entry.row.stamp.time,
        name: entry.row.name.text.trim().to_string(),
        what: entry.what.words().to_string(),
        parameter: entry
            .row
            .parameter
            .as_ref()
            .filter(|text| !text.is_blank())
            .map(|text| parameter_as_written(&text.text)),
        value: entry.row.value.text.trim().to_string(),
        digits: match entry.row.mark {
            DecimalMark::Point => entry.row.value.text.trim().replace(',', ""),
            DecimalMark::Comma => entry.row.value.text.trim().replace('.', "").replace(',', "."),
        },
        unit: entry.unit().map(|(unit, _)| unit),
        qualifier: entry.qualifier,
        source: entry.source(),
    }
}
