//! The basin document: page 1 answers how big, what governs and how sure; the rest shows why.

mod annex;
mod cells;
mod closing;
mod drawing;
mod duties;
mod earth;
mod json;
mod levels;
mod no_pond;
mod page;
mod rooms;
mod smaller;
mod solids;
mod standing;
mod this;
mod tried;
mod units;
mod years;

use chrono::NaiveDate;

use crate::compare::Against;
use crate::facility::model::{Facility, Paper, PlaceId};
use crate::files::FileRead;
use crate::page::document::Document;
use crate::page::document::figures::{number, with_unit};
use crate::report::inspection::about::day;
use crate::report::picture;
use crate::report::units::{FOOT_M, GALLON_M3};
use crate::sizing::{Basin, Measure, Outcome, Study, Why};
use crate::weather::DailyWeather;
use units::Units;

pub use annex::annex;
pub use json::json;
pub use tried::of_sizes;

/// Years below which a record of weather is called short: an engineer asks for ten at least, better 20 to 30 (common
/// practice, no source).
pub const FEW_YEARS: f64 = 10.0;

/// What a basin document is made from.
#[derive(Debug, Clone, Copy)]
pub struct BasinCase<'a> {
    /// The question and how it came out.
    pub study: &'a Study,
    /// The facility, with the pond in it.
    pub facility: &'a Facility,
    /// The pond.
    pub pond: PlaceId,
    /// Whether the pond is not in the facility as it stands.
    pub not_built: bool,
    /// The weather of the years.
    pub weather: &'a DailyWeather,
    /// First and last day of the years.
    pub period: (NaiveDate, NaiveDate),
    /// The site as it stands, run without its readings; none where no level of the pond was read.
    pub present: Option<picture::Site<'a>>,
    /// Levels of the pond as it stands, read and computed without the readings.
    pub log: &'a [Against],
    /// The files read.
    pub files: &'a [FileRead],
    /// SHA-256 over all of them.
    pub digest: &'a str,
    /// Problems told that are not errors, in words.
    pub warnings: &'a [String],
}

impl<'a> BasinCase<'a> {
    /// The pond's name.
    pub fn name(&self) -> &'a str {
        self.facility.get(self.pond).map_or("", |place| &place.name)
    }

    /// Years with rain on file.
    pub fn years(&self) -> f64 {
        let basics = &self.study.basics;
        crate::compare::years_of_days(basics.days.saturating_sub(basics.unknown_days) as f64)
    }

    pub(crate) fn units(&self) -> Units {
        Units::of(self.facility.system)
    }
}

/// Four significant digits: no pond is known better.
pub(crate) fn round(value: f64) -> f64 {
    if value == 0.0 || !value.is_finite() {
        return value;
    }
    let scale = 10f64.powf(3.0 - value.abs().log10().floor());
    (value * scale).round() / scale
}

/// A number with about three digits, for rates and shares; a whole one without its noughts.
pub(crate) fn few(value: f64) -> String {
    let size = value.abs();
    let digits = if size >= 100.0 || (value - value.round()).abs() < 1e-9 {
        0
    } else if size >= 10.0 {
        1
    } else {
        2
    };
    number(value, digits)
}

pub(crate) fn percent(share: f64) -> String {
    let value = share * 100.0;
    with_unit(value, u8::from(!(10.0..=99.0).contains(&value)), "%")
}

/// Money to three digits and the nearest whole unit.
pub(crate) fn money(case: &BasinCase, amount: f64) -> Option<String> {
    let prices = case.study.demands.duties.prices.as_ref()?;
    let scale = 10f64.powf((amount.abs().max(1.0).log10().floor() - 2.0).max(0.0));
    Some(with_unit((amount / scale).round() * scale, 0, &prices.money))
}

/// A figure of a check with so many digits more than usual.
pub(crate) fn figure_to(units: Units, measure: Measure, value: f64, more: u8) -> String {
    if more == 0 {
        return figure(units, measure, value);
    }
    match measure {
        Measure::Share => with_unit(value * 100.0, more, "%"),
        Measure::Volume => with_unit(value * units.volume.1, more - 1, units.volume.0),
        Measure::TimesAYear => format!("{} a year", number(value, 2 + more)),
        Measure::DaysAYear => format!("{} days a year", number(value, 2 + more)),
        Measure::Days => format!("{} days", number(value, more)),
        Measure::Hours | Measure::HoursAtLeast => with_unit(value, 1 + more, "h"),
        Measure::YearsAtLeast => format!("{} years", number(value, 2 + more)),
        Measure::HeightAtLeast => with_unit(value * units.length.1, 2 + more, units.length.0),
        Measure::Speed => rate(units, value, more),
    }
}

/// Flow over surface as the reader's trade writes it.
pub(crate) fn rate(units: Units, m_s: f64, more: u8) -> String {
    const GPD_A_FT2: f64 = FOOT_M * FOOT_M * 86_400.0 / GALLON_M3;
    match units.length.0 {
        "ft" => with_unit(m_s * GPD_A_FT2, more, "gpd/ft²"),
        _ => with_unit(m_s * 1000.0, 3 + more, "mm/s"),
    }
}

/// A figure of a check in words.
pub(crate) fn figure(units: Units, measure: Measure, value: f64) -> String {
    match measure {
        Measure::Share => percent(value),
        Measure::Volume => units.m3(value),
        Measure::TimesAYear if value == 0.0 => "none".to_owned(),
        Measure::TimesAYear if value < 1.0 => format!("once in {}", counted(round(1.0 / value), "year")),
        Measure::TimesAYear => format!("{} a year", few(value)),
        Measure::DaysAYear if value == 0.0 => "no day".to_owned(),
        Measure::DaysAYear => format!("{} a year", counted(value, "day")),
        Measure::Days => counted(value.round(), "day"),
        Measure::Hours | Measure::HoursAtLeast => with_unit(value, if value < 9.95 { 1 } else { 0 }, "h"),
        Measure::YearsAtLeast if !value.is_finite() => "never".to_owned(),
        Measure::YearsAtLeast => counted(round(value), "year"),
        Measure::HeightAtLeast => units.m(value),
        Measure::Speed if value < 1e-3 => rate(units, value, 0),
        Measure::Speed => with_unit(value * 1000.0, 1, "mm/s"),
    }
}

/// A document of this case with its head, and nothing in it yet.
fn begun(case: &BasinCase, title: String) -> Document {
    let mut doc = Document::new(
        title,
        case.facility.name.clone(),
        format!("weather of {} to {}", day(case.period.0), day(case.period.1)),
    );
    doc.digest = case.digest.to_owned();
    doc.dated = Some(case.period.1);
    doc.paper = match case.facility.paper {
        Paper::Letter => crate::page::document::Paper::Letter,
        Paper::A4 => crate::page::document::Paper::A4,
    };
    doc
}

/// `Least pond: Storage pond`; never where none was found.
fn title(case: &BasinCase) -> String {
    match case.study.outcome {
        Outcome::This(..) => format!("This pond: {}", case.name()),
        Outcome::Pond(ref answer) if answer.not_kept().next().is_some() => {
            format!("No pond found that does every duty: {}", case.name())
        }
        Outcome::None(_) => format!("No pond on this plot does every duty: {}", case.name()),
        Outcome::Pond(_) => format!("Least pond: {}", case.name()),
    }
}

/// The document.
pub fn document(case: &BasinCase) -> Document {
    let mut doc = begun(case, title(case));
    let duties = &case.study.demands.duties;
    let this = matches!(case.study.outcome, Outcome::This(..));
    doc.permit_line(
        "Duties",
        if this {
            duties.file.clone()
        } else {
            format!("{}; the least {} is asked for", duties.file, duties.least.words())
        },
    );
    doc.permit_line(
        "Pond",
        if this {
            if case.not_built { "drawn in a proposal" } else { "as it stands in the facility file" }.to_owned()
        } else if case.not_built {
            "not built; described by a proposal".to_owned()
        } else {
            "in the facility file; sized anew here, from bare ground".to_owned()
        },
    );
    match &case.study.outcome {
        Outcome::Pond(answer) => {
            page::write(case, answer, &mut doc);
            doc.page_break();
            // Tables that go on over a sheet's end before a drawing that does not: no sheet stays half blank before it.
            levels::write(case, answer, &mut doc);
            drawing::write(case, answer, &mut doc);
            earth::write(case, &answer.found.basin, &mut doc);
            earth::cost(case, &answer.found.basin, &mut doc);
            years::write(case, answer, &mut doc);
            years::shapes(case, answer, &mut doc);
            duties::write(case, Some(answer), &mut doc);
        }
        Outcome::This(answer, changes) => {
            this::write(case, answer, changes, &mut doc);
            doc.page_break();
            levels::write(case, answer, &mut doc);
            drawing::write(case, answer, &mut doc);
            earth::write(case, &answer.found.basin, &mut doc);
            years::write(case, answer, &mut doc);
            duties::write(case, Some(answer), &mut doc);
        }
        Outcome::None(impossible) => {
            no_pond::write(case, impossible, &mut doc);
            doc.page_break();
            if let Some((_, checks)) = impossible.nearest.as_ref().filter(|(_, checks)| no_pond::comes_near(checks)) {
                doc.heading(2, "The shape that comes nearest, duty by duty");
                // Its run says what notes tell.
                let nearest = case.study.tried.iter().find(|of| of.why.contains(&Why::Nearest));
                doc.table(page::duties_table(case, checks, nearest.map(|of| &of.held)));
            }
            duties::write(case, None, &mut doc);
        }
    }
    closing::write(&mut doc);
    // Last, since a picture that takes most of a sheet leaves what is left of the one before it blank.
    if !matches!(case.study.outcome, Outcome::None(_)) {
        drawing::where_it_stands(case, &mut doc);
    }
    doc
}

/// A shape with the sizes that are to be typed; a pond that stands is as it was typed.
pub(crate) fn to_type(case: &BasinCase, basin: &Basin) -> Basin {
    let system = case.facility.system;
    match &case.study.outcome {
        Outcome::This(..) => *basin,
        Outcome::Pond(answer) if answer.found.basin == *basin => answer.typed.of(system),
        _ => basin.printed(system),
    }
}

/// `150 ft long, 60 ft wide and 6.5 ft deep`: as they are to be typed, or of a pond that stands as they were.
pub(crate) fn sizes(case: &BasinCase, basin: &Basin) -> String {
    let units = case.units();
    let basin = to_type(case, basin);
    let of = |m: f64| units.typed_m(m);
    format!("{} long, {} wide and {} deep", of(basin.length_m), of(basin.width_m), of(basin.depth_m))
}

/// `149.6 ft by 32.8 ft`: the floor of a pond of the sizes that are to be typed.
pub(crate) fn floor_words(case: &BasinCase, basin: &Basin) -> String {
    let (units, basin) = (case.units(), to_type(case, basin));
    let inward = 2.0 * basin.slope * basin.depth_m;
    format!("{} by {}", units.tape(basin.length_m - inward), units.tape(basin.width_m - inward))
}

/// `246.4 ft by 129.6 ft`: what a pond of the sizes that are to be typed takes over its banks.
pub(crate) fn over_banks_words(case: &BasinCase, basin: &Basin) -> String {
    let (units, (long, wide)) = (case.units(), to_type(case, basin).over_banks_m());
    format!("{} by {}", units.tape(long), units.tape(wide))
}

/// `3 to 1`.
pub(crate) fn slope(run_over_rise: f64) -> String {
    let text = number(run_over_rise, 2);
    format!("{} to 1", text.trim_end_matches('0').trim_end_matches('.'))
}

/// `1 day`, `4 days`.
pub(crate) fn counted(n: f64, word: &str) -> String {
    let s = if n == 1.0 { "" } else { "s" };
    format!("{} {word}{s}", few(n))
}
