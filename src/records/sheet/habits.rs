//! Habits of a sheet that only its keeper knows, each said once for all its rows: what a row of several days tells of, a tab
//! that was dated in the year before, dials of which only the tail is written, feet and inches that a spreadsheet changed.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use crate::files::Fields;
use crate::quantity::{Cell, DateOrder, Decimal, DecimalMark, System, cell};
use crate::records::feet::{in_column_of_feet_and_inches, says_feet_and_inches};
use crate::records::fronts::points_lost;
use crate::records::row::Written;
use crate::records::sheet::draft::{About, Question, data};
use crate::records::sheet::grid::{Grid, GridRow, Tab};
use crate::records::sheet::layout::Layout;
use crate::records::sheet::mapping::{Column, Mapping, Table};
use crate::records::sheet::said::is_total;
use crate::records::sheet::tab_dates::{is_of_another_year, span_of, stamp_of};

/// A habit that is asked about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Habit {
    RowsTellOf,
    TabYear,
    Tails,
    Inches,
    Points,
    LostPoints,
    Sums,
}

macro_rules! said {
    ($(#[$doc:meta])* $name:ident { $($(#[$of:meta])* $variant:ident = $words:literal),+ $(,)? }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        pub(crate) enum $name { $($(#[$of])* $variant),+ }

        impl $name {
            const WORDS: &'static [(&'static str, Self)] = &[$(($words, Self::$variant)),+];

            fn words(self) -> &'static str {
                Self::WORDS.iter().find(|(_, held)| *held == self).map_or("", |(words, _)| words)
            }

            fn named(text: &str) -> Option<Self> {
                let text = text.trim();
                Self::WORDS.iter().find(|(words, _)| words.eq_ignore_ascii_case(text)).map(|(_, held)| *held)
            }
        }
    };
}

said! {
    /// The days that a row tells of: of several, the last bears the date, or the day after does.
    RowsTellOf {
        /// `3 (Sat-Mon)` was read on Monday, and Monday is the last of its days.
        TheirOwnDay = "their own day",
        /// `3 (Fri-Sun)` was read on Monday, and an amount without more words is of the day before its row.
        TheDayBefore = "the day before",
    }
}

said! {
    /// Dates more than half a year from their tab's month.
    TabYear { OfTheTab = "of the tab", AsWritten = "as written" }
}

said! {
    /// `.513` in a column of dials.
    Tails { OfTheReadingAbove = "of the reading above", AsWritten = "as written" }
}

said! {
    /// `1.1` in a column of feet and inches: a spreadsheet makes it of 1.10 as well.
    Inches {
        /// All of them were 1.10.
        Ten = ".1 is 10 in",
        /// None was.
        One = ".1 is 1 in",
        /// Level and freeboard beside one another add up to the bank, and that tells.
        AsTheLevelSays = "as the level beside it says",
    }
}

said! {
    /// The point of a number of the workbook, `31.208`, where decimals have a comma.
    Points { OfThousands = "of thousands", OfDecimals = "of decimals" }
}

said! {
    /// `250501` in a column of dials like 25043.4.
    LostPoints { PutBack = "put back", AsWritten = "as written" }
}

said! {
    /// `9+8+8` in a column of counts or amounts.
    Sums { Add = "add", NotRead = "not read" }
}

/// What was said of them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) struct Habits {
    pub rows_tell_of: Option<RowsTellOf>,
    pub tab_year: Option<TabYear>,
    pub tails: Option<Tails>,
    pub inches: Option<Inches>,
    pub points: Option<Points>,
    pub lost_points: Option<LostPoints>,
    pub sums: Option<Sums>,
    /// The order in which a spreadsheet took feet and inches for day and month; not asked.
    pub lengths: Option<DateOrder>,
}

impl Habit {
    /// All that are asked about.
    pub const ALL: [Self; 7] =
        [Self::RowsTellOf, Self::TabYear, Self::Tails, Self::Inches, Self::Points, Self::LostPoints, Self::Sums];

    /// The key of the mapping file; with dashes, the flag.
    pub fn key(self) -> &'static str {
        match self {
            Self::RowsTellOf => "rows tell of",
            Self::TabYear => "tab year",
            Self::Tails => "tails",
            Self::Inches => "inches",
            Self::Points => "points",
            Self::LostPoints => "lost points",
            Self::Sums => "sums",
        }
    }

    /// The answers, the likeliest first.
    pub fn options(self) -> Vec<&'static str> {
        fn of<T>(words: &[(&'static str, T)]) -> Vec<&'static str> {
            words.iter().map(|(words, _)| *words).collect()
        }
        match self {
            Self::RowsTellOf => of(RowsTellOf::WORDS),
            Self::TabYear => of(TabYear::WORDS),
            Self::Tails => of(Tails::WORDS),
            Self::Inches => of(Inches::WORDS),
            Self::Points => of(Points::WORDS),
            Self::LostPoints => of(LostPoints::WORDS),
            Self::Sums => of(Sums::WORDS),
        }
    }

    pub(super) fn question(self, text: String) -> Question {
        let options = self.options();
        let flag = format!("--{} \"{}\"", self.key().replace(' ', "-"), options.first().unwrap_or(&""));
        Question { about: About::Habit(self), text, options: options.into_iter().map(str::to_owned).collect(), flag }
    }
}

impl Habits {
    /// Takes an answer.
    ///
    /// # Errors
    /// When the words are none of the answers.
    pub fn say(&mut self, habit: Habit, words: &str) -> Result<(), String> {
        let known = match habit {
            Habit::RowsTellOf => RowsTellOf::named(words).map(|said| self.rows_tell_of = Some(said)),
            Habit::TabYear => TabYear::named(words).map(|said| self.tab_year = Some(said)),
            Habit::Tails => Tails::named(words).map(|said| self.tails = Some(said)),
            Habit::Inches => Inches::named(words).map(|said| self.inches = Some(said)),
            Habit::Points => Points::named(words).map(|said| self.points = Some(said)),
            Habit::LostPoints => LostPoints::named(words).map(|said| self.lost_points = Some(said)),
            Habit::Sums => Sums::named(words).map(|said| self.sums = Some(said)),
        };
        known.ok_or_else(|| format!("write \"{}\"", habit.options().join("\" or \"")))
    }

    /// These, and where nothing was said, those before.
    pub fn over(self, before: Self) -> Self {
        Self {
            rows_tell_of: self.rows_tell_of.or(before.rows_tell_of),
            tab_year: self.tab_year.or(before.tab_year),
            tails: self.tails.or(before.tails),
            inches: self.inches.or(before.inches),
            points: self.points.or(before.points),
            lost_points: self.lost_points.or(before.lost_points),
            sums: self.sums.or(before.sums),
            lengths: self.lengths.or(before.lengths),
        }
    }

    /// As they stand in a mapping file.
    pub fn read(file: &mut Fields) -> Self {
        let mut habits = Self {
            rows_tell_of: file.may(Habit::RowsTellOf.key()).one_of(RowsTellOf::WORDS).map(|said| said.value),
            tab_year: file.may(Habit::TabYear.key()).one_of(TabYear::WORDS).map(|said| said.value),
            tails: file.may(Habit::Tails.key()).one_of(Tails::WORDS).map(|said| said.value),
            inches: file.may(Habit::Inches.key()).one_of(Inches::WORDS).map(|said| said.value),
            points: file.may(Habit::Points.key()).one_of(Points::WORDS).map(|said| said.value),
            lost_points: file.may(Habit::LostPoints.key()).one_of(LostPoints::WORDS).map(|said| said.value),
            sums: file.may(Habit::Sums.key()).one_of(Sums::WORDS).map(|said| said.value),
            lengths: None,
        };
        habits.lengths = file
            .may(LENGTHS)
            .one_of(&[("month first", DateOrder::MonthFirst), ("day first", DateOrder::DayFirst)])
            .map(|said| said.value);
        habits
    }

    /// Their lines in a mapping file.
    pub fn lines(&self) -> Vec<String> {
        let said = [
            (Habit::RowsTellOf.key(), self.rows_tell_of.map(RowsTellOf::words)),
            (Habit::TabYear.key(), self.tab_year.map(TabYear::words)),
            (Habit::Tails.key(), self.tails.map(Tails::words)),
            (Habit::Inches.key(), self.inches.map(Inches::words)),
            (Habit::Points.key(), self.points.map(Points::words)),
            (Habit::LostPoints.key(), self.lost_points.map(LostPoints::words)),
            (Habit::Sums.key(), self.sums.map(Sums::words)),
            (LENGTHS, self.lengths.map(|order| order.words())),
        ];
        said.into_iter().filter_map(|(key, words)| Some(format!("{key}: \"{}\"", words?))).collect()
    }

    /// A cell of a column of feet and inches as its keeper wrote it, where the spreadsheet made something else of it.
    pub fn length(&self, text: &str) -> Option<String> {
        if let Some((month, day)) = made_a_date(text) {
            let (feet, inches) = match self.lengths? {
                DateOrder::DayFirst => (day, month),
                DateOrder::MonthFirst | DateOrder::YearFirst => (month, day),
            };
            return Some(format!("{feet}-{inches}"));
        }
        let feet = point_one(text)?;
        match self.inches? {
            Inches::Ten => Some(format!("{feet}-10")),
            Inches::One => Some(format!("{feet}-1")),
            Inches::AsTheLevelSays => None,
        }
    }

    /// The cells like `1.1` of a tab that the level or the freeboard beside them tells, by row and column: the two add up
    /// to what they mostly add up to with 1 in or with 10 in, and not with the other.
    pub fn told_by_the_level(&self, tab: &Tab, table: &Table) -> BTreeMap<(u32, usize), String> {
        let mut told = BTreeMap::new();
        if self.inches != Some(Inches::AsTheLevelSays) {
            return told;
        }
        let of = |wanted: &'static str| {
            table.columns.iter().filter_map(move |(at, column)| match column {
                Column::Values { place, what, unit, .. }
                    if what.eq_ignore_ascii_case(wanted) && says_feet_and_inches(unit.as_deref()) =>
                {
                    Some((*at, place.as_str()))
                }
                _ => None,
            })
        };
        for (level, place) in of("level") {
            let Some((freeboard, _)) = of("freeboard").find(|(_, other)| *other == place) else { continue };
            let (mut above, mut pairs) = ((None, None), Vec::new());
            for row in tab.rows.iter().filter(|row| row.number > table.heading_row && !is_total(row)) {
                above = (self.depth(row.cell(level), above.0), self.depth(row.cell(freeboard), above.1));
                pairs.push((row, above));
            }
            let known = |pair: (Option<Depth>, Option<Depth>)| Some(pair.0?.inches()? + pair.1?.inches()?);
            let mut sums: Vec<f64> = pairs.iter().filter_map(|(_, pair)| known(*pair)).collect();
            sums.sort_unstable_by(f64::total_cmp);
            let Some(usual) = sums.get(sums.len() / 2).copied().filter(|_| sums.len() >= LEAST_PAIRS) else { continue };
            for (row, (of_level, of_freeboard)) in pairs {
                for (at, other) in [(level, of_freeboard), (freeboard, of_level)] {
                    let (Some(feet), Some(Depth::Inches(beside))) = (point_one(row.cell(at)), other) else { continue };
                    let fits = |inches: u32| (f64::from(feet * 12 + inches) + beside - usual).abs() <= NEAR_INCHES;
                    let inches = match (fits(1), fits(10)) {
                        (true, false) => 1,
                        (false, true) => 10,
                        _ => continue,
                    };
                    told.insert((row.number, at), format!("{feet}-{inches}"));
                }
            }
        }
        told
    }

    /// A depth of a cell; what stands above it where it is a ditto mark.
    fn depth(&self, text: &str, above: Option<Depth>) -> Option<Depth> {
        if cell(text, DecimalMark::Point) == Ok(Cell::Same) {
            return above;
        }
        if point_one(text).is_some() {
            return Some(Depth::Open);
        }
        let text = self.length(text).unwrap_or_else(|| text.to_owned());
        in_column_of_feet_and_inches(&text).ok().map(|inches| Depth::Inches(inches.to_f64()))
    }

    /// How a cell of a dial's column is written.
    pub fn written(&self, text: &str, is_native: bool) -> Written {
        if self.tails == Some(Tails::OfTheReadingAbove) && !is_native && tail(text) {
            Written::Tail
        } else if self.points == Some(Points::OfThousands) && is_native && text.contains('.') {
            Written::PointOfThousands
        } else {
            match self.lost_points {
                Some(LostPoints::PutBack) if !text.contains(['.', ',']) => Written::PointMayBeLost,
                Some(LostPoints::AsWritten) => Written::AsMeant,
                _ => Written::AsShown,
            }
        }
    }
}

/// So many rows with both tell what level and freeboard add up to. Common practice, no source.
const LEAST_PAIRS: usize = 3;

/// So near is what a reading's rounding to the inch and a wave leave. Common practice, no source.
const NEAR_INCHES: f64 = 2.0;

/// A depth of a column of feet and inches: known, or `1.1`.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Depth {
    Inches(f64),
    Open,
}

impl Depth {
    fn inches(self) -> Option<f64> {
        match self {
            Self::Inches(inches) => Some(inches),
            Self::Open => None,
        }
    }
}

/// Where the spreadsheet's order of day and month stands in a mapping file.
const LENGTHS: &str = "lengths made dates";

/// The month and the day of a cell that is a date of the workbook.
fn made_a_date(text: &str) -> Option<(u32, u32)> {
    let date = chrono::NaiveDate::parse_from_str(text.trim(), "%Y-%m-%d").ok()?;
    Some((chrono::Datelike::month(&date), chrono::Datelike::day(&date)))
}

/// The feet of `1.1`.
fn point_one(text: &str) -> Option<u32> {
    let feet = text.trim().strip_suffix(".1")?;
    (feet.len() <= 2).then(|| feet.parse().ok()).flatten()
}

fn tail(text: &str) -> bool {
    let digits = text.trim().strip_prefix(['.', ',']).unwrap_or("");
    !digits.is_empty() && digits.bytes().all(|byte| byte.is_ascii_digit())
}

/// A number of the workbook with a point in a column of dials of which another is a hundred times as large.
fn point_of_thousands(tab: &Tab, layout: &Layout, table: &Table) -> Option<String> {
    let dials = table.columns.iter().filter_map(|(at, column)| match column {
        Column::Values { what, .. } if what.eq_ignore_ascii_case("reading") => Some(*at),
        _ => None,
    });
    dials.into_iter().find_map(|at| {
        let number = |row: &GridRow| {
            let mark = if row.is_native(at) { DecimalMark::Point } else { table.mark };
            match cell(row.cell(at), mark) {
                Ok(Cell::Number { value, .. }) => Some(value.to_f64()),
                _ => None,
            }
        };
        let most = data(tab, layout).filter_map(number).fold(0.0, f64::max);
        let small = |row: &&GridRow| number(row).is_some_and(|value| value > 0.0 && value * 100.0 <= most);
        let pointed = data(tab, layout).filter(|row| row.is_native(at) && row.cell(at).contains('.'));
        pointed.into_iter().find(small).map(|row| row.cell(at).to_owned())
    })
}

/// A dial that has lost its point, of those of one meter from tab to tab.
fn point_lost(found: &[(&Tab, Layout)], mapping: &Mapping) -> Option<String> {
    let mut dials: BTreeMap<&str, (Vec<Decimal>, Vec<&str>)> = BTreeMap::new();
    for (tab, layout) in found {
        let is_of = |table: &&Table| {
            layout.heading_row == table.heading_row && (tab.name.is_empty() || table.tabs.contains(&tab.name))
        };
        for table in mapping.tables.iter().filter(is_of) {
            for row in data(tab, layout) {
                for (at, column) in &table.columns {
                    let Column::Values { place, what, .. } = column else { continue };
                    let mark = if row.is_native(*at) { DecimalMark::Point } else { table.mark };
                    // Its point may part thousands: that is asked for itself.
                    if table.mark == DecimalMark::Comma && row.is_native(*at) && row.cell(*at).contains('.') {
                        continue;
                    }
                    if what.eq_ignore_ascii_case("reading")
                        && let Ok(Cell::Number { value, .. }) = cell(row.cell(*at), mark)
                    {
                        let (values, texts) = dials.entry(place).or_default();
                        values.push(value);
                        texts.push(row.cell(*at));
                    }
                }
            }
        }
    }
    dials.values().find_map(|(values, texts)| {
        points_lost(values).first().and_then(|(at, _)| texts.get(*at)).map(|text| (*text).to_owned())
    })
}

/// What the cells of a sheet leave open, asked; what is taken for granted is told.
pub(super) fn look_for(
    grid: &Grid,
    found: &[(&Tab, Layout)],
    system: System,
    order: DateOrder,
    mapping: &mut Mapping,
    (questions, told): (&mut Vec<Question>, &mut Vec<String>),
) {
    let mut seen = Open::default();
    for table in &mapping.tables {
        let of_table = |tab: &Tab, layout: &Layout| {
            layout.date == table.date && (tab.name.is_empty() || table.tabs.contains(&tab.name))
        };
        for (tab, layout) in found.iter().filter(|(tab, layout)| of_table(tab, layout)) {
            seen.look(grid, tab, layout, table);
        }
    }
    let habits = &mut mapping.habits;
    if let (Some(text), None) = (&seen.span, habits.rows_tell_of) {
        questions.push(Habit::RowsTellOf.question(format!(
            "`{text}` stands for several days and was read once: does a row tell of the days up to its own, the last of \
             them, or was it read on the day after them?"
        )));
    }
    if let (Some((tab, text)), None) = (&seen.other_year, habits.tab_year) {
        questions.push(Habit::TabYear.question(format!(
            "tab {} has {} as `{text}`, far from its month: is it of the tab's year?",
            tab.trim(),
            crate::told::many(seen.of_other_year, "date")
        )));
    }
    if let (Some(text), None) = (&seen.tail, habits.tails) {
        questions.push(Habit::Tails.question(format!("is `{text}` the tail of a dial whose front did not change?")));
    }
    if let (Some(text), None) = (&seen.point_one, habits.inches) {
        questions.push(Habit::Inches.question(format!("is `{text}` in a column of feet and inches 10 in or 1 in?")));
    }
    if let (Some(text), None) = (&seen.point, habits.points) {
        questions.push(Habit::Points.question(format!(
            "`{text}` is a number of the workbook in a column of dials a hundred times as large: is its point one of \
             thousands?"
        )));
    }
    if let (Some(text), None) = (point_lost(found, mapping), mapping.habits.lost_points) {
        questions.push(
            Habit::LostPoints
                .question(format!("`{text}` is ten times or more what the dials beside it show: is its point lost?")),
        );
    }
    let habits = &mut mapping.habits;
    if let Some(text) = &seen.made_a_date {
        let order = match (order, system) {
            (DateOrder::MonthFirst, _) | (DateOrder::YearFirst, System::Us) => DateOrder::MonthFirst,
            _ => DateOrder::DayFirst,
        };
        habits.lengths = Some(order);
        let mut line = format!("{} of feet and inches", crate::told::many(seen.dates_made, "cell"));
        let _ = write!(line, " that the spreadsheet made dates, like {text}, are read {}", order.words());
        if let Some(read) = habits.length(text) {
            let _ = write!(line, ": {read}");
        }
        told.push(line);
    }
}

/// What is open in a sheet: an example of each, and how many.
#[derive(Default)]
struct Open {
    span: Option<String>,
    other_year: Option<(String, String)>,
    of_other_year: usize,
    tail: Option<String>,
    point_one: Option<String>,
    point: Option<String>,
    made_a_date: Option<String>,
    dates_made: usize,
}

impl Open {
    fn look(&mut self, grid: &Grid, tab: &Tab, layout: &Layout, table: &Table) {
        if table.mark == DecimalMark::Comma && self.point.is_none() {
            self.point = point_of_thousands(tab, layout, table);
        }
        for row in data(tab, layout) {
            let text = row.cell(table.date);
            if self.span.is_none() && span_of(text, table).is_some() {
                self.span = Some(text.to_owned());
            }
            if let Ok(stamp) = stamp_of(text, table, &tab.name, None)
                && is_of_another_year(stamp.date, grid, &tab.name)
            {
                self.of_other_year += 1;
                self.other_year.get_or_insert_with(|| (tab.name.clone(), text.to_owned()));
            }
            for (at, column) in &table.columns {
                let Column::Values { what, unit, .. } = column else { continue };
                let text = row.cell(*at);
                if what.eq_ignore_ascii_case("reading") && tail(text) && !row.is_native(*at) {
                    self.tail.get_or_insert_with(|| text.to_owned());
                }
                if says_feet_and_inches(unit.as_deref()) {
                    if point_one(text).is_some() {
                        self.point_one.get_or_insert_with(|| text.to_owned());
                    }
                    if made_a_date(text).is_some() {
                        self.dates_made += 1;
                        self.made_a_date.get_or_insert_with(|| text.to_owned());
                    }
                }
            }
        }
    }
}
