//! The days behind the site's picture: what moved along each way, what each store held, what is on file; as short as JSON
//! can be.
//!
//! A series is one string: whole numbers in the unit's last digit to the base of 36, parted by commas; `a*12` stands for
//! twelve days of `a`, `~` for more than nothing that is printed as nought, `?` for what is not known. The letters of a
//! basis are packed the same way.

use std::collections::BTreeMap;

use chrono::{Datelike, NaiveDate};
use maud::{Markup, html};
use serde_json::{Value, json};

use crate::page::document::Carries;
use crate::page::html::anchors::Anchors;

/// The address of the picture by the day.
const SITE: &str = "site";

/// Where each month of some days begins, in hundredths of the slider, and its name: short up to a year or so, one letter up
/// to three, then years alone.
fn months(first: NaiveDate, count: usize) -> Vec<(String, String)> {
    const IN_SHORT: usize = 400;
    const BY_LETTER: usize = 1100;
    let days = first.iter_days().take(count).enumerate();
    let begins = days.filter(|(_, day)| day.day() == 1 && (count <= BY_LETTER || day.month() == 1));
    begins
        .map(|(at, day)| {
            let short = day.format("%b").to_string();
            let name = match count {
                _ if count <= IN_SHORT => short,
                _ if count <= BY_LETTER => short.chars().take(1).collect(),
                _ => day.format("%Y").to_string(),
            };
            (format!("{:.2}", at as f64 * 100.0 / count as f64), name)
        })
        .collect()
}

/// A unit: how many of its last digits make one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Scale {
    /// Its name.
    pub name: &'static str,
    /// Digits after the decimal mark.
    pub digits: u8,
}

/// A figure of a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Number {
    /// So many of the unit's last digit.
    Exact(i64),
    /// More than nothing, and printed as nought.
    Little,
    /// It depends on what is not known, and is not shown.
    NotShown,
}

impl Number {
    /// A figure in a unit, to its last digit.
    pub fn of(value: f64, digits: u8) -> Self {
        let scaled = (value * 10_f64.powi(i32::from(digits))).round();
        match scaled {
            _ if !value.is_finite() => Self::NotShown,
            0.0 if value > 0.0 => Self::Little,
            scaled => Self::Exact(scaled as i64),
        }
    }
}

/// A figure for each day, and a letter for how it is known: `m`, `s`, `c`, `a`; `-` where there is no entry.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Series {
    /// The figures.
    pub values: Vec<Number>,
    /// The letters; none where they are told elsewhere.
    pub basis: Vec<char>,
}

/// A way of the ledger.
#[derive(Debug, Clone)]
pub struct DayWay {
    /// Where it starts, by index into the names.
    pub from: usize,
    /// Where it ends.
    pub to: usize,
    /// What for.
    pub purpose: &'static str,
    /// The pattern it is drawn in, where it joins two places.
    pub carries: Carries,
    /// Water.
    pub water: Series,
    /// Solids.
    pub solids: Series,
}

/// A tank or a pond.
#[derive(Debug, Clone)]
pub struct DayStore {
    /// Which place.
    pub node: usize,
    /// The volume at which it spills.
    pub full: Number,
    /// The level at which it spills; none for a tank.
    pub spill_level: Option<Number>,
    /// Water at the close of each day.
    pub volume: Series,
    /// Level at the close of each day; none for a tank.
    pub level: Option<Series>,
}

/// A filter.
#[derive(Debug, Clone)]
pub struct DayFilter {
    /// Which place.
    pub node: usize,
    /// `wash` or `change`.
    pub word: &'static str,
    /// How many each day.
    pub events: Series,
    /// What set them off.
    pub causes: Vec<&'static str>,
}

/// File, line, number of the paper.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Paper {
    /// The file, by its name.
    pub file: String,
    /// The line.
    pub line: u32,
    /// The number of the sheet or slip.
    pub paper: Option<String>,
}

/// A row of the records.
#[derive(Debug, Clone)]
pub struct DayRecord {
    /// Which day; it may lie before or after the days.
    pub day: i64,
    /// The place or meter, as written.
    pub name: String,
    /// What it says: `total suspended solids 47 mg/L`.
    pub words: String,
    /// `look`, `sample` or `other`: how it is marked along the days.
    pub mark: &'static str,
    /// Where it stands.
    pub paper: Paper,
    /// Who wrote it and what is noted.
    pub note: String,
}

/// What a meter counted between two readings.
#[derive(Debug, Clone)]
pub struct DaySpan {
    /// The meter.
    pub meter: String,
    /// Where its way starts and ends.
    pub ends: (usize, usize),
    /// First day, and how many.
    pub days: (i64, u32),
    /// What it counted, as on the dial.
    pub words: String,
    /// The reading before, where there is one.
    pub before: Option<Paper>,
    /// The reading after.
    pub after: Paper,
}

/// A day worth a jump.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Jump {
    /// What kind: `Worst day of a limit`.
    pub group: &'static str,
    /// Its words.
    pub words: String,
    /// The day.
    pub day: usize,
}

/// The days behind the picture.
#[derive(Debug, Clone)]
pub struct Days {
    /// The first.
    pub first: NaiveDate,
    /// How many.
    pub count: usize,
    /// Unit of water.
    pub volume: Scale,
    /// Unit of figures on the picture: its name and how many of `volume` make one.
    pub drawn: (&'static str, f64),
    /// Unit of solids.
    pub mass: Scale,
    /// Unit of levels.
    pub level: Scale,
    /// Unit of rain.
    pub rain_unit: Scale,
    /// Names of places and of what lies outside.
    pub nodes: Vec<String>,
    /// How many of them, the first, are places.
    pub places: usize,
    /// What a sign's words stand for, by index into the names.
    pub signs: Vec<(&'static str, usize)>,
    /// The ways of the ledger.
    pub ways: Vec<DayWay>,
    /// Tanks and ponds.
    pub stores: Vec<DayStore>,
    /// Filters.
    pub filters: Vec<DayFilter>,
    /// What a place held at the opening of the first day and at the close of each.
    pub held: Vec<(usize, Series)>,
    /// Rain.
    pub rain: Series,
    /// What is on file.
    pub records: Vec<DayRecord>,
    /// What meters counted.
    pub spans: Vec<DaySpan>,
    /// Days worth a jump.
    pub jumps: Vec<Jump>,
    /// The places by which water leaves that no truck and no sewer takes.
    pub leaves: Vec<usize>,
    /// The sewers.
    pub sewers: Vec<usize>,
    /// Why the solids of a place are not shown.
    pub not_shown: BTreeMap<usize, String>,
}

/// A way of the picture: its address, its number and its words.
#[derive(Debug, Clone)]
pub struct WayKey {
    /// Its address.
    pub name: String,
    /// Its number among the ways of the picture.
    pub number: usize,
    /// `Well to Storage pond, water`.
    pub words: String,
    carries: Carries,
    ends: (usize, usize),
    /// The ledger's ways in it.
    ways: Vec<usize>,
}

impl WayKey {
    /// The class that its pattern goes by.
    pub fn class(&self) -> &'static str {
        match self.carries {
            Carries::Water => "water",
            Carries::WashWater => "wash",
            Carries::Solids => "solids",
            Carries::Spill => "spill",
        }
    }
}

/// The days with addresses for places and ways.
#[derive(Debug)]
pub struct Named<'a> {
    days: &'a Days,
    places: Vec<String>,
    bands: Vec<WayKey>,
}

impl Days {
    /// Gives places and ways their addresses.
    pub fn named(&self, anchors: &mut Anchors) -> Named<'_> {
        let places: Vec<String> = self.nodes.iter().map(|name| anchors.new_name("place-", name)).collect();
        let mut bands: Vec<WayKey> = Vec::new();
        for (number, way) in self.ways.iter().enumerate() {
            let ends = (way.from, way.to);
            match bands.iter_mut().find(|band| band.ends == ends && band.carries == way.carries) {
                Some(band) => band.ways.push(number),
                None => {
                    let name = |node: usize| self.nodes.get(node).map_or("", String::as_str);
                    let words = format!("{} to {}, {}", name(way.from), name(way.to), way.carries.words());
                    bands.push(WayKey {
                        name: anchors.new_name("way-", &words),
                        number: bands.len(),
                        words,
                        carries: way.carries,
                        ends,
                        ways: vec![number],
                    });
                }
            }
        }
        Named { days: self, places, bands }
    }
}

impl Named<'_> {
    /// A place's address and number, by its name in the picture.
    pub fn place(&self, id: &str) -> Option<(&str, usize)> {
        let node = self.days.nodes.iter().take(self.days.places).position(|name| name == id)?;
        Some((self.places.get(node)?, node))
    }

    /// A way of the picture by its ends.
    pub fn band(&self, from: &str, to: &str, carries: Carries) -> Option<&WayKey> {
        let ends = (self.place(from)?.1, self.place(to)?.1);
        self.bands.iter().find(|band| band.ends == ends && band.carries == carries)
    }

    /// Where words lead that are a place's name, a day or a month and nothing else.
    pub fn target(&self, words: &str) -> Option<String> {
        if let Some((name, _)) = self.place(words) {
            return Some(name.to_owned());
        }
        let day = NaiveDate::parse_from_str(words, "%d %b %Y")
            .or_else(|_| NaiveDate::parse_from_str(&format!("1 {words}"), "%d %b %Y"))
            .ok()?;
        // A month that the days begin within opens on their first day.
        let same_month = (day.year(), day.month()) == (self.days.first.year(), self.days.first.month());
        let day = if same_month { day.max(self.days.first) } else { day };
        let at = usize::try_from((day - self.days.first).num_days()).ok()?;
        (at < self.days.count).then(|| format!("{SITE}@{day}"))
    }

    /// What moves the picture.
    pub fn controls(&self) -> Markup {
        let groups = self.days.jumps.iter().map(|jump| jump.group).fold(Vec::new(), |mut groups: Vec<&str>, group| {
            if !groups.contains(&group) {
                groups.push(group);
            }
            groups
        });
        let last = self.days.count.saturating_sub(1);
        html! {
            section #(SITE).days aria-label="The site by the day" {
                p.on-screen {
                    "Move the slider to see one day; open a place or a way to see its entries. What you see has an address that can be \
                     mailed."
                }
                div.slider {
                    label for="day" { "Day" }
                    input #day type="range" min="0" max=(last) value="0" step="1" aria-describedby="day-words";
                    svg.months aria-hidden="true" {
                        @for (share, name) in months(self.days.first, self.days.count) {
                            text x={ (share) "%" } y="10" { (name) }
                        }
                    }
                    svg #along viewBox={ "0 0 " (self.days.count) " 30" } preserveAspectRatio="none" aria-hidden="true" {}
                    p.small.along-key aria-hidden="true" {
                        span.key-rain {} " rain " span.key-left {} " left the site " span.key-sample {} " sample " span.key-look {} " look"
                    }
                }
                div.buttons {
                    button type="button" data-step="-1" { "Day before" }
                    button type="button" data-step="1" { "Day after" }
                    button type="button" #play aria-pressed="false" { "Play" }
                    button type="button" #whole aria-pressed="true" { "Whole period" }
                    @if !self.days.jumps.is_empty() {
                        label for="jump" { "Go to" }
                        select #jump {
                            option value="" { "a day …" }
                            @for group in groups {
                                optgroup label=(group) {
                                    @for jump in self.days.jumps.iter().filter(|jump| jump.group == group) {
                                        option value=(jump.day) { (jump.words) }
                                    }
                                }
                            }
                        }
                    }
                }
                p #day-words role="status" {}
            }
        }
    }

    /// Where a place, a way or the day itself opens.
    pub fn opened(&self) -> Markup {
        html! { section #opened aria-label="What is opened" tabindex="-1" {} }
    }

    /// All of it for the script.
    pub fn json(&self) -> Value {
        let days = self.days;
        let (mut files, mut texts) = (Texts::default(), Texts::default());
        let records: Vec<Value> = days
            .records
            .iter()
            .map(|record| {
                let marks = ["other", "look", "sample"];
                let mark = marks.iter().position(|mark| *mark == record.mark).unwrap_or(0);
                let of = &record.paper;
                let number = of.paper.as_deref().unwrap_or("");
                let [name, words, number, note] =
                    [&record.name, &record.words, number, &record.note].map(|text| texts.at(text));
                json!([record.day, name, words, mark, files.at(&of.file), of.line, number, note])
            })
            .collect();
        // By meter, since a reading mostly ends one span and begins the next: 0 stands for the reading before.
        let same_meter = |a: &DaySpan, b: &DaySpan| a.meter == b.meter && a.ends == b.ends;
        let spans: Vec<Value> = days
            .spans
            .chunk_by(same_meter)
            .filter_map(|spans| Some((spans.first()?, spans)))
            .map(|(first, spans)| {
                let mut paper =
                    |of: &Paper| json!([files.at(&of.file), of.line, texts.at(of.paper.as_deref().unwrap_or(""))]);
                let mut ended: Option<&Paper> = None;
                let list: Vec<Value> = spans
                    .iter()
                    .map(|span| {
                        let before = match &span.before {
                            Some(before) if ended == Some(before) => json!(0),
                            before => json!(before.as_ref().map(&mut paper)),
                        };
                        ended = Some(&span.after);
                        json!([span.days.0, span.days.1, span.words, before, paper(&span.after)])
                    })
                    .collect();
                json!([first.meter, first.ends.0, first.ends.1, list])
            })
            .collect();
        let scale = |scale: Scale| json!([scale.name, scale.digits]);
        json!({
            "first": days.first.to_string(),
            "count": days.count,
            "site": SITE,
            "volume": scale(days.volume),
            "drawn": [days.drawn.0, days.drawn.1],
            "mass": scale(days.mass),
            "level": scale(days.level),
            "rainUnit": scale(days.rain_unit),
            "nodes": days.nodes,
            "ids": self.places,
            "places": days.places,
            "signs": days.signs.iter().map(|(words, node)| (*words, json!(node))).collect::<BTreeMap<_, _>>(),
            "ways": days.ways.iter().map(|way| json!([
                way.from, way.to, way.purpose,
                packed(&way.water), letters(&way.water), packed(&way.solids), letters(&way.solids)
            ])).collect::<Vec<_>>(),
            "bands": self.bands.iter().map(|band| json!([band.name, band.words, band.class(), band.ways])).collect::<Vec<_>>(),
            "stores": days.stores.iter().map(|store| json!([
                store.node, token(store.full), store.spill_level.map(token),
                packed(&store.volume), letters(&store.volume), store.level.as_ref().map(packed)
            ])).collect::<Vec<_>>(),
            "filters": days.filters.iter().map(|filter| json!([
                filter.node, filter.word, packed(&filter.events), letters(&filter.events), runs(filter.causes.iter().copied())
            ])).collect::<Vec<_>>(),
            "held": days.held.iter().map(|(node, series)| json!([node, packed(series)])).collect::<Vec<_>>(),
            "rain": packed(&days.rain),
            "rainBasis": letters(&days.rain),
            "records": records,
            "spans": spans,
            "files": files.all,
            "texts": texts.all,
            "leaves": days.leaves,
            "sewers": days.sewers,
            "notShown": days.not_shown,
        })
    }
}

/// Words that come again and again, each once, by number.
#[derive(Default)]
struct Texts {
    all: Vec<String>,
    known: BTreeMap<String, usize>,
}

impl Texts {
    fn at(&mut self, text: &str) -> usize {
        if let Some(at) = self.known.get(text) {
            return *at;
        }
        self.known.insert(text.to_owned(), self.all.len());
        self.all.push(text.to_owned());
        self.all.len() - 1
    }
}

fn token(number: Number) -> String {
    match number {
        Number::Exact(value) => base36(value),
        Number::Little => "~".to_owned(),
        Number::NotShown => "?".to_owned(),
    }
}

/// A whole number to the base of 36.
fn base36(value: i64) -> String {
    let mut rest = value.unsigned_abs();
    let mut digits = Vec::new();
    loop {
        digits.push(char::from_digit((rest % 36) as u32, 36).unwrap_or('0'));
        rest /= 36;
        if rest == 0 {
            break;
        }
    }
    if value < 0 {
        digits.push('-');
    }
    digits.iter().rev().collect()
}

fn packed(series: &Series) -> String {
    runs(series.values.iter().map(|number| token(*number)))
}

fn letters(series: &Series) -> String {
    runs(series.basis.iter().map(char::to_string))
}

/// Words one after the other, equal ones together.
fn runs<T: AsRef<str> + PartialEq>(words: impl Iterator<Item = T>) -> String {
    let mut out = String::new();
    let mut write = |word: &T, times: usize| {
        if !out.is_empty() {
            out.push(',');
        }
        out.push_str(word.as_ref());
        if times > 1 {
            out.push_str(&format!("*{times}"));
        }
    };
    let mut held: Option<(T, usize)> = None;
    for word in words {
        held = match held {
            Some((known, times)) if known == word => Some((known, times + 1)),
            Some((known, times)) => {
                write(&known, times);
                Some((word, 1))
            }
            None => Some((word, 1)),
        };
    }
    if let Some((known, times)) = held {
        write(&known, times);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What the page's script does with a packed series.
    fn unpacked(text: &str) -> Vec<String> {
        let token = |word: &str| match word.split_once('*') {
            Some((word, times)) => vec![word.to_owned(); times.parse().unwrap()],
            None => vec![word.to_owned()],
        };
        text.split(',').flat_map(token).collect()
    }

    #[test]
    fn a_packed_series_reads_back_day_by_day() {
        let values = [0, 0, 0, 35, 36, -1_295, 123_456_789, 123_456_789].map(Number::Exact);
        let mut values = values.to_vec();
        values.extend([Number::Little, Number::NotShown, Number::NotShown]);
        let text = packed(&Series { values: values.clone(), basis: Vec::new() });
        let back: Vec<Number> = unpacked(&text)
            .iter()
            .map(|word| match word.as_str() {
                "~" => Number::Little,
                "?" => Number::NotShown,
                word => Number::Exact(i64::from_str_radix(word, 36).unwrap()),
            })
            .collect();
        assert_eq!(back, values);
        assert!(text.starts_with("0*3,z,10,"), "{text}");
    }

    #[test]
    fn what_is_printed_as_nought_is_not_nothing() {
        assert_eq!(Number::of(0.04, 1), Number::Little);
        assert_eq!(Number::of(0.0, 1), Number::Exact(0));
        assert_eq!(Number::of(f64::NAN, 1), Number::NotShown);
        assert_eq!(Number::of(12.34, 1), Number::Exact(123));
    }

    #[test]
    fn the_slider_has_every_month_of_a_year_and_years_alone_of_many() {
        let first = NaiveDate::from_ymd_opt(2024, 11, 1).unwrap();
        let names = |count| months(first, count).into_iter().map(|(_, name)| name).collect::<Vec<_>>().join(" ");
        assert_eq!(names(365), "Nov Dec Jan Feb Mar Apr May Jun Jul Aug Sep Oct");
        assert_eq!(names(730), "N D J F M A M J J A S O N D J F M A M J J A S O");
        assert_eq!(names(1461), "2025 2026 2027 2028");
        assert_eq!(months(first, 365)[1].0, "8.22", "30 of 365 days");
    }
}
