//! Charts: small multiples on one axis, one quantity each.

use chrono::NaiveDate;
use serde::{Serialize, Serializer};

use crate::page::document::Basis;

pub(crate) fn date_text<S: Serializer>(date: &NaiveDate, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.collect_str(date)
}

/// The shared axis along the foot.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Axis {
    /// A run of days; the value with index `i` is that of `first` plus `i` days.
    Days {
        /// The first day.
        #[serde(serialize_with = "date_text")]
        first: NaiveDate,
        /// How many days.
        count: usize,
    },
    /// Named classes, one value each.
    Classes(Vec<String>),
    /// Named things by how much each has of a quantity, as points alone: one quantity against another.
    Measured {
        /// The quantity along the foot.
        quantity: String,
        /// Its unit.
        unit: String,
        /// How much each thing has of it.
        places: Vec<f64>,
        /// What each is called: a short name, set beside its point.
        names: Vec<String>,
    },
}

impl Axis {
    /// How many values a series has.
    pub fn len(&self) -> usize {
        match self {
            Self::Days { count, .. } => *count,
            Self::Classes(names) => names.len(),
            Self::Measured { places, .. } => places.len(),
        }
    }

    /// The words of a place: the day as `2025-03-14`, or the class.
    pub fn name(&self, index: usize) -> String {
        match self {
            Self::Days { first, .. } => first
                .checked_add_days(chrono::Days::new(index as u64))
                .map_or_else(|| format!("day {}", index + 1), |day| day.to_string()),
            Self::Classes(names) | Self::Measured { names, .. } => names.get(index).cloned().unwrap_or_default(),
        }
    }

    /// Whether there is no place for a value.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }
}

/// How a series is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Mark {
    /// A line through the values, broken where one is missing.
    Line,
    /// A bar for each value; several bar series of a panel stand side by side.
    Bars,
    /// A bar for each value, on top of the stacked series before it.
    Stacked,
    /// A square for each value: filled when measured, open when computed.
    Points,
}

/// The place of a series in the palette; each has a colour, a line pattern and a hatch, so colour is never alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Hue {
    /// Series 1.
    Loam,
    /// Series 2.
    Damson,
    /// Series 3.
    Clay,
    /// Series 4.
    Pool,
    /// Series 5.
    Straw,
}

impl Hue {
    /// The five, in order; a chart with more series is split.
    pub const ALL: [Self; 5] = [Self::Loam, Self::Damson, Self::Clay, Self::Pool, Self::Straw];
}

/// A series of values.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Series {
    /// Its name, printed at its end.
    pub name: String,
    /// How it is drawn.
    pub mark: Mark,
    /// Its place in the palette.
    pub hue: Hue,
    /// How its values are known: metered fills are solid, computed ones hatched, assumed ones a dashed outline.
    pub basis: Basis,
    /// One value for each place on the axis; none where there is no value.
    pub values: Vec<Option<f64>>,
    /// The least and most each value may have been, where known; as long as `values`, or empty.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub ranges: Vec<Option<(f64, f64)>>,
}

impl Series {
    /// A series without ranges.
    pub fn new(name: impl Into<String>, mark: Mark, hue: Hue, basis: Basis, values: Vec<Option<f64>>) -> Self {
        Self { name: name.into(), mark, hue, basis, values, ranges: Vec::new() }
    }
}

/// A line across a panel with its words on it: a limit, a spill level, a freeboard.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LimitLine {
    /// Where it stands.
    pub value: f64,
    /// The words on it: `at most 30 mg/L, limit 4`.
    pub words: String,
}

/// A stretch of the axis, both ends counted in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Stretch {
    /// Index of its first place on the axis.
    pub first: usize,
    /// Index of its last place on the axis.
    pub last: usize,
}

/// A named season, bracketed above the panels.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Season {
    /// Its name.
    pub name: String,
    /// Where it lies.
    pub stretch: Stretch,
}

/// One quantity.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Panel {
    /// The quantity: `Discharge at Outfall 1`.
    pub quantity: String,
    /// Its unit.
    pub unit: String,
    /// Its series, at most five.
    pub series: Vec<Series>,
    /// Lines across it.
    pub limits: Vec<LimitLine>,
    /// Stretches with no record: ticks in a strip under the axis.
    pub missing: Vec<Stretch>,
    /// Whether the axis begins at nought; always so for bars.
    pub from_zero: bool,
    /// Its height in lines of 13 pt; six is usual.
    pub lines: u8,
}

impl Panel {
    /// An empty panel, six lines high, from nought.
    pub fn new(quantity: impl Into<String>, unit: impl Into<String>) -> Self {
        Self {
            quantity: quantity.into(),
            unit: unit.into(),
            series: Vec::new(),
            limits: Vec::new(),
            missing: Vec::new(),
            from_zero: true,
            lines: 6,
        }
    }

    /// The same panel with one more series.
    pub fn series(mut self, series: Series) -> Self {
        self.series.push(series);
        self
    }

    /// The same panel with a line across it.
    pub fn limit(mut self, value: f64, words: impl Into<String>) -> Self {
        self.limits.push(LimitLine { value, words: words.into() });
        self
    }

    /// The same panel with stretches that have no record.
    pub fn missing(mut self, stretches: Vec<Stretch>) -> Self {
        self.missing = stretches;
        self
    }

    /// The same panel with an axis fitted to its values.
    pub fn fitted(mut self) -> Self {
        self.from_zero = false;
        self
    }
}

/// A chart: panels over one axis.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Chart {
    /// The shared axis.
    pub axis: Axis,
    /// The panels, top to bottom.
    pub panels: Vec<Panel>,
    /// Seasons, bracketed above.
    pub seasons: Vec<Season>,
}

impl Chart {
    /// A chart over a run of days.
    pub fn over_days(first: NaiveDate, count: usize) -> Self {
        Self { axis: Axis::Days { first, count }, panels: Vec::new(), seasons: Vec::new() }
    }

    /// A chart over named classes.
    pub fn over_classes(names: Vec<String>) -> Self {
        Self { axis: Axis::Classes(names), panels: Vec::new(), seasons: Vec::new() }
    }

    /// A chart of named things by how much each has of a quantity.
    pub fn over_amounts(quantity: impl Into<String>, unit: impl Into<String>, things: Vec<(String, f64)>) -> Self {
        let (names, places) = things.into_iter().unzip();
        let axis = Axis::Measured { quantity: quantity.into(), unit: unit.into(), places, names };
        Self { axis, panels: Vec::new(), seasons: Vec::new() }
    }

    /// The same chart with one more panel below.
    pub fn panel(mut self, panel: Panel) -> Self {
        self.panels.push(panel);
        self
    }

    /// The same chart with a season bracketed above.
    pub fn season(mut self, name: impl Into<String>, first: usize, last: usize) -> Self {
        self.seasons.push(Season { name: name.into(), stretch: Stretch { first, last } });
        self
    }
}
