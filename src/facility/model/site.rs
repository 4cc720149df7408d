//! The facility as a whole: settings, weather, solids, meters.

use std::path::PathBuf;

use chrono::{Datelike, NaiveDate, NaiveTime};
use uom::si::f64::{Angle, Length, MassDensity, Ratio, ThermodynamicTemperature, Time, Velocity};

use crate::facility::model::{PlaceId, SitePlace, Weir};
use crate::files::Given;
use crate::quantity::{ByMonth, DaySpan, DayStart, Range, Stated, Unit};
use crate::told::Place;

/// A facility, checked: names resolve, ways end somewhere, no loop within a day.
#[derive(Debug, Clone)]
pub struct Facility {
    /// Its name.
    pub name: String,
    /// The file it was read from.
    pub place: Place,
    /// The directory of the facility file; other paths are read from it.
    pub directory: PathBuf,
    /// Units of the report.
    pub system: UnitSystem,
    /// Paper of the report.
    pub paper: Paper,
    /// The rules file, as typed, and where.
    pub rules: Option<(String, Place)>,
    /// The folder of records, as typed, and where.
    pub records: Option<(String, Place)>,
    /// The clock time at which a day starts.
    pub day_starts: NaiveTime,
    /// Whether a day bears the date on which it ends, and not the one on which it starts.
    pub day_bears_its_end: bool,
    /// The period typed: first and last day. Else the last permit year that the records cover.
    pub period: Option<(NaiveDate, NaiveDate)>,
    /// Steps per day: forced or as needed.
    pub steps_per_day: StepsPerDay,
    /// Named date ranges.
    pub seasons: Vec<Season>,
    /// Height above sea level.
    pub elevation: Option<Given<Length>>,
    /// Latitude, north positive.
    pub latitude: Option<Given<Angle>>,
    /// Where weather comes from.
    pub weather: Weather,
    /// Kinds of solids, in file order.
    pub solids: Vec<SolidsKind>,
    /// Dissolved constituents that are followed.
    pub dissolved: Vec<Dissolved>,
    /// Meters, in file order.
    pub meters: Vec<Meter>,
    /// All places, in file order; `PlaceId` is the index.
    pub places: Vec<SitePlace>,
    /// How long a sample is held between samples, if the user says so.
    pub hold_sample_for: Option<Given<Time>>,
    /// How the site's picture is laid out: rows of names from the top, each from the left.
    pub picture: Vec<Vec<String>>,
}

impl Facility {
    /// When a day starts, and the date it bears.
    pub fn day(&self) -> DayStart {
        DayStart { time: self.day_starts, bears_its_end: self.day_bears_its_end }
    }

    /// A place by its number, if there is one.
    pub fn get(&self, id: PlaceId) -> Option<&SitePlace> {
        self.places.get(id.0)
    }

    /// The number of a place by its exact name.
    pub fn find(&self, name: &str) -> Option<PlaceId> {
        self.places.iter().position(|place| place.name == name).map(PlaceId)
    }

    /// A season by its name.
    pub fn season(&self, name: &str) -> Option<&Season> {
        self.seasons.iter().find(|season| season.name == name)
    }
}

/// Units in which the report speaks.
pub use crate::quantity::System as UnitSystem;

/// Paper of the report.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Paper {
    /// 8.5 × 11 in.
    Letter,
    /// 210 × 297 mm.
    A4,
}

/// Steps per day of the engine.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StepsPerDay {
    /// The least of 1, 2, 4, 8, 24 that keeps drawn tanks from starving.
    AsNeeded,
    /// Forced by the user: one of 1, 2, 4, 8, 24.
    Exactly(u32),
}

/// A named date range; it may cross New Year.
#[derive(Debug, Clone, PartialEq)]
pub struct Season {
    /// Its name.
    pub name: String,
    /// Its days.
    pub days: DaySpan,
    /// Where it was typed.
    pub place: Place,
}

/// Where weather comes from.
#[derive(Debug, Clone)]
pub struct Weather {
    /// Daily rain.
    pub rain: Option<RainFile>,
    /// Daily least and greatest air temperature: file as typed, and where.
    pub temperatures: Option<(String, Place)>,
    /// Evaporation from open water.
    pub evaporation: Option<Evaporation>,
    /// Temperature of the water.
    pub water_temperature: Option<WaterTemperature>,
}

/// The rain gauge's file and habits.
#[derive(Debug, Clone)]
pub struct RainFile {
    /// File as typed.
    pub file: String,
    /// Where it was typed.
    pub place: Place,
    /// When the gauge is read.
    pub read_at: NaiveTime,
    /// Which day a reading belongs to.
    pub belongs: ReadingBelongs,
    /// Whether a reading may cover several days.
    pub may_cover_several_days: bool,
}

/// Which day a daily reading belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ReadingBelongs {
    /// The day that ended when the reading was taken.
    DayThatEnded,
    /// The day on whose date it was written.
    ThatDay,
}

/// Evaporation from open water.
#[derive(Debug, Clone)]
pub enum Evaporation {
    /// A depth for each month of the year.
    Months(Box<ByMonth<OpenWaterLoss>>),
    /// A pan's file, times a coefficient.
    Pan {
        /// File as typed.
        file: String,
        /// Where it was typed.
        place: Place,
        /// The pan coefficient.
        times: Given<Ratio>,
    },
    /// A weather station's file, by one of two equations, times a coefficient.
    FromStation {
        /// File as typed.
        file: String,
        /// Where it was typed.
        place: Place,
        /// Which equation.
        by: StationEquation,
        /// The coefficient: from reference evapotranspiration to open water, or 1 for open water.
        times: Given<Ratio>,
    },
    /// Hargreaves from daily temperatures, times a coefficient for open water.
    FromTemperatures {
        /// Where it was typed.
        place: Place,
        /// The open-water coefficient.
        times: Given<Ratio>,
    },
}

/// How evaporation follows from a station's temperatures, humidity, wind and radiation.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StationEquation {
    /// Penman, open water, wind function of 1956.
    PenmanOpenWater,
    /// Penman and Monteith, reference evapotranspiration.
    PenmanMonteith,
}

/// What open water loses in a month of the year.
#[derive(Debug, Clone, PartialEq)]
pub enum OpenWaterLoss {
    /// So much each day.
    InADay(Given<Velocity>),
    /// So much in the month, spread evenly over that month's days.
    InAMonth(Given<Length>),
}

impl OpenWaterLoss {
    /// The loss as a rate on a day of its month; the text and place stay those of what was typed.
    pub fn on(&self, date: NaiveDate) -> Given<Velocity> {
        match self {
            Self::InADay(given) => given.clone(),
            Self::InAMonth(given) => {
                let days = Time::new::<uom::si::time::day>(f64::from(date.num_days_in_month()));
                Given {
                    stated: match given.stated.known() {
                        Some(depth) => Stated::Known(Range { low: depth.low / days, high: depth.high / days }),
                        None => Stated::NotKnown,
                    },
                    text: given.text.clone(),
                    place: given.place.clone(),
                    key: given.key.clone(),
                }
            }
        }
    }
}

/// Temperature of the water.
#[derive(Debug, Clone)]
pub enum WaterTemperature {
    /// One for each month.
    Months(Box<ByMonth<Given<ThermodynamicTemperature>>>),
    /// A file of daily temperatures, as typed, and where.
    File(String, Place),
}

/// A kind of solids. Its size spread is lognormal through two points.
#[derive(Debug, Clone)]
pub struct SolidsKind {
    /// Its name.
    pub name: String,
    /// Where it was typed.
    pub place: Place,
    /// Density of the grains; none for what floats.
    pub density: Option<Given<MassDensity>>,
    /// Whether it floats: no settling.
    pub floats: bool,
    /// Half of the mass is finer than this.
    pub half_finer: Given<Length>,
    /// Nine tenths of the mass is finer than this.
    pub nine_tenths_finer: Given<Length>,
    /// Constituents bound to it: name and content, kg/kg.
    pub holds: Vec<(String, Given<Ratio>)>,
}

/// A dissolved constituent that is followed.
#[derive(Debug, Clone)]
pub struct Dissolved {
    /// Its name.
    pub name: String,
    /// Where it was typed.
    pub place: Place,
    /// `electrical conductivity`, where it is measured as that: mass concentration for one siemens per metre times 0.1
    /// (one mS/cm).
    pub one_ms_per_cm: Option<Given<MassDensity>>,
}

/// Concentrations by kind of solids or dissolved constituent: name and value.
pub type Concentrations = Vec<(String, Given<MassDensity>)>;

/// A meter on a way between two places.
#[derive(Debug, Clone)]
pub struct Meter {
    /// Its name.
    pub name: String,
    /// Where it was typed.
    pub place: Place,
    /// Where the way starts.
    pub from: PlaceId,
    /// Where it ends.
    pub to: PlaceId,
    /// `wash water`, `water` …: which of the ways between the two, if it was typed.
    pub what: Option<String>,
    /// The unit of one count of the register, as typed: `gal`, `100 ft3`, `x10 gal`.
    pub counts_in: String,
    /// Volume of one count, m³.
    pub one_count_m3: f64,
    /// Digits of the register: it rolls over at 10^digits.
    pub digits: u32,
    /// When it is read, for readings that were written down with their date only.
    pub read_at: Option<NaiveTime>,
    /// Exchanges, in order of date.
    pub exchanged: Vec<MeterExchange>,
    /// Standard deviation of its total as a share of it, where typed.
    pub off_by: Option<Given<Ratio>>,
    /// The weir whose head is read in its place: what passed is computed from it.
    pub weir: Option<MeterWeir>,
}

/// A weir whose head is written down: how a head becomes a volume.
#[derive(Debug, Clone)]
pub struct MeterWeir {
    /// Its equation.
    pub rating: Rating,
    /// How long a reading stands.
    pub stands: HeadStands,
}

/// What turns a head into a flow.
#[derive(Debug, Clone)]
pub enum Rating {
    /// The equation of a weir of this shape.
    Shape(Weir),
    /// A coefficient and an exponent as typed: flow = coefficient × head^exponent.
    Typed {
        /// The coefficient.
        coefficient: f64,
        /// The exponent.
        exponent: f64,
        /// The unit of the flow.
        flow_in: Unit,
        /// The unit of the head.
        head_in: Unit,
    },
}

/// How long a head that was read stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HeadStands {
    /// For the day that bears its date.
    ThatDay,
    /// For the day before it: of a weir read in the morning, where the day ends then and bears the date it starts on.
    TheDayBefore,
    /// For its day and each day after it without a reading, until the next.
    UntilTheNext,
}

impl HeadStands {
    /// The words of the file.
    pub fn words(self) -> &'static str {
        match self {
            Self::ThatDay => "that day",
            Self::TheDayBefore => "the day before",
            Self::UntilTheNext => "until the next reading",
        }
    }
}

impl Meter {
    /// What the meter that hangs there now counts in, after every exchange typed.
    pub fn counts_in_now(&self) -> &str {
        let last = self.exchanged.iter().rev().find_map(|exchange| exchange.counts_in.as_ref());
        last.map_or(&self.counts_in, |(unit, _)| unit)
    }
}

/// A meter that was exchanged.
#[derive(Debug, Clone, PartialEq)]
pub struct MeterExchange {
    /// The day.
    pub on: NaiveDate,
    /// What the old one read when it was taken out.
    pub old_read: f64,
    /// What the new one read when it was put in.
    pub new_read: f64,
    /// What the new one counts in, and the volume of one count, m³, where it is not what the old one did.
    pub counts_in: Option<(String, f64)>,
    /// The digits of the new one's register, where they are others.
    pub digits: Option<u32>,
    /// Where it was typed.
    pub place: Place,
}
