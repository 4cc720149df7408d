//! What a column holds, by its heading, its values and the facility's own names.

use crate::facility::kinds;
use crate::facility::model::{Facility, PlaceKind};
use crate::quantity::{
    Cell, Decimal, DecimalMark, Dimension, cell, counted_unit, known_parameter, parameter_as_written, parameter_of,
    units,
};
use crate::records::fronts::points_lost;
use crate::records::sheet::column_units::{needs_unit, units_for, units_seen, values_have_units};
use crate::records::sheet::headings::{PARAMETERS, tokens, without_unit};
use crate::records::sheet::mapping::{Column, without_braces};
use crate::records::sheet::offers::{like_names, offered};
use crate::records::sheet::said::flag_meant;
use crate::records::words::{What, flows};

/// What a column was guessed to hold.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Guess {
    /// This.
    Column(Column),
    /// The time of day of each row.
    Time,
    /// One of these, each as it would stand in the mapping file.
    Unsure(String, Vec<String>),
    /// Nothing is known of it.
    Unknown,
}

/// A column as it stands in the sheet.
pub(crate) struct Seen<'a> {
    pub heading: &'a str,
    pub values: Vec<&'a str>,
    pub mark: DecimalMark,
    /// Whether another column names the place of each row.
    pub row_has_place: bool,
    /// Whether the sheet is the facility's rain file.
    pub in_rain_file: bool,
}

/// Which place the words of a cell stand for: its name, or the tail of one discharge point's name alone (`001` of
/// `Outfall 001`, `1` of `Outfall 1`; a well 1 is not meant by it).
pub(crate) fn place_meant(facility: &Facility, cell: &str) -> Option<String> {
    let mut names = facility.places.iter().map(|place| place.name.as_str());
    if let Some(name) = names.find(|name| name.eq_ignore_ascii_case(cell.trim())) {
        return Some(name.to_string());
    }
    let tail = |words: &[String]| -> Vec<String> {
        words
            .iter()
            .map(|word| word.trim_start_matches(['#', '0']).to_string())
            .filter(|word| !word.is_empty())
            .collect()
    };
    let said = tail(&tokens(cell));
    let points = facility.places.iter().filter(|place| matches!(place.kind, PlaceKind::DischargePoint(_)));
    let mut meant =
        points.map(|place| place.name.as_str()).filter(|name| !said.is_empty() && tail(&tokens(name)).ends_with(&said));
    let first = meant.next()?;
    meant.next().is_none().then(|| first.to_string())
}

/// The place of each row, where a column's cells name places; `None` for any other column. Cells that stand for no place
/// are given apart.
pub(crate) fn places_of_rows(facility: &Facility, heading: &str, values: &[&str]) -> Option<(Column, Vec<String>)> {
    const WORDS: [&str; 10] =
        ["outfall", "outfalls", "place", "location", "site", "station", "point", "where", "source", "discharge"];
    let cells: std::collections::BTreeSet<&str> =
        values.iter().copied().filter(|value| cell(value, DecimalMark::Point) != Ok(Cell::Same)).collect();
    let is_named = cells.iter().all(|cell| facility.find(cell).is_some());
    let says_so = tokens(heading).iter().any(|token| WORDS.contains(&token.as_str())) && tokens(heading).len() <= 3;
    let meant: Vec<(&str, Option<String>)> = cells.iter().map(|cell| (*cell, place_meant(facility, cell))).collect();
    if cells.is_empty() || !(is_named || says_so && meant.iter().any(|(_, name)| name.is_some())) {
        return None;
    }
    let mut names = std::collections::BTreeMap::new();
    let mut open = Vec::new();
    for (cell, name) in meant {
        match name {
            Some(name) if name == cell => {}
            Some(name) => {
                names.insert(cell.to_string(), name);
            }
            None => open.push(cell.to_string()),
        }
    }
    Some((Column::Place(names), open))
}

/// What the column holds.
pub(crate) fn guess(facility: &Facility, seen: &Seen) -> Guess {
    let (bare, unit) = without_unit(seen.heading);
    let tokens = tokens(&bare);
    if let Some(side) = side_column(&tokens) {
        return side;
    }
    // A laboratory's number of the bottle: of rows that name their place, `Sample` is the slip.
    let is_number = |value: &&str| value.contains(|c: char| c.is_ascii_digit()) && value.contains(char::is_alphabetic);
    if seen.row_has_place && matches!(tokens.as_slice(), [one] if one == "sample") && seen.values.iter().all(is_number)
    {
        return Guess::Column(Column::Paper);
    }
    if tokens.iter().any(|token| token.ends_with("flag") || token.ends_with("flags"))
        && seen.values.iter().all(|value| flag_meant(value, &Default::default()).is_some())
    {
        return Guess::Column(Column::Flag(Default::default()));
    }
    let unknown: std::collections::BTreeSet<&str> =
        seen.values.iter().copied().filter(|value| flag_meant(value, &Default::default()).is_none()).collect();
    let is_flag =
        |token: &str| matches!(token, "flag") || seen.in_rain_file && matches!(token, "q" | "qc" | "quality" | "code");
    if !unknown.is_empty()
        && matches!(tokens.as_slice(), [one] if is_flag(one))
        && seen.values.iter().all(|flag| flag.len() <= 3)
    {
        let mut means = ["in a later total", "out", "trace", "total", "as written"];
        if unknown.len() > 1 {
            // Of several codes most are of figures that hold.
            means.rotate_right(1);
        }
        let all = |word: &str| unknown.iter().map(|flag| ((*flag).to_string(), word.to_string())).collect();
        let options = means.map(|word| inner(&Column::Flag(all(word))));
        let flags: Vec<String> = unknown.iter().map(|flag| format!("`{flag}`")).collect();
        return Guess::Unsure(
            format!(
                "what does {} say of the rain? The notes of the file tell; each may be one of: {}",
                flags.join(", "),
                means.join(", ")
            ),
            options.into_iter().chain(["not read".to_string()]).collect(),
        );
    }
    let named = named(facility, &tokens);
    let rest: Vec<&str> = match &named {
        Some((_, used)) => {
            // `PONDS Settling`: the plural of a name's word says no more than the name.
            let is_used = |token: &str| used.iter().any(|word| word == token || token.strip_suffix('s') == Some(word));
            tokens.iter().map(String::as_str).filter(|token| !is_used(token)).collect()
        }
        None => tokens.iter().map(String::as_str).collect(),
    };
    // Of a meter that is a weir the head is written down.
    let is_weir = matches!(&named, Some((Named::Meter(name), _))
        if facility.meters.iter().any(|meter| meter.weir.is_some() && meter.name == *name));
    let what =
        is_weir.then_some((What::Head, None)).or_else(|| what_of(&rest, unit.as_deref(), seen)).or_else(
            || match &named {
                Some((Named::Meter(_), _)) => counting(seen),
                Some((name @ Named::Place(kind, _), _)) if rest.is_empty() => match kind {
                    Kind::Filter if only_changes(facility, &name.text()) => Some((What::Changed, None)),
                    Kind::Filter => Some((What::Washes, None)),
                    Kind::Pond => Some((What::Level, None)),
                    Kind::Point if says_flow(seen) => Some((What::Look, None)),
                    _ => None,
                },
                _ => None,
            },
        );
    // `Nitrate mg/l NO3` counts another thing than nitrate-nitrogen.
    let substance = unit.as_deref().and_then(counted_unit);
    let Some((what, parameter)) = what else {
        return match named {
            None if seen.in_rain_file && counting(seen).is_some() && !all_alike(seen) => {
                let units = units_for(What::Rain).iter().map(|unit| format!("what: rain, unit: {unit}"));
                let options = match &unit {
                    Some(unit) => vec![format!("what: rain, unit: {unit}")],
                    None => units.collect(),
                };
                Guess::Unsure("is it the rain?".into(), options.into_iter().chain(["not read".to_string()]).collect())
            }
            None => like_names(facility, &tokens, unit.as_deref(), seen),
            Some((name, _)) => {
                let options = offered(facility, &name, unit.as_deref());
                let name = name.text();
                Guess::Unsure(format!("it names {name}, and does not say what was recorded"), options)
            }
        };
    };
    let wanted = kind_for(what);
    let candidates: Vec<String> = match (&named, wanted) {
        (_, None) => vec![String::new()],
        (Some((name, _)), Some(wanted)) if wanted.fits(name) => vec![name.text()],
        (None, Some(_)) if seen.row_has_place => vec![String::new()],
        (_, Some(wanted)) => nearest_of(that_do(facility, what, wanted.all(facility)), &tokens),
    };
    let column = |place: &str| Column::Values {
        place: place.to_string(),
        what: what.words().to_string(),
        parameter: parameter.clone(),
        unit: unit.clone(),
        since: None,
    };
    let lacks_unit = unit.is_none() && needs_unit(what, parameter.as_deref()) && !values_have_units(what, seen);
    let in_units = |place: &str, count: usize| -> Vec<String> {
        let units = units_seen(what, seen);
        let units = units.iter().take(count);
        let with = |held: &str| match column(place) {
            Column::Values { place, what, parameter, .. } => {
                inner(&Column::Values { place, what, parameter, unit: Some(held.to_string()), since: None })
            }
            other => inner(&other),
        };
        units.map(|unit| with(unit)).collect()
    };
    let [place] = candidates.as_slice() else {
        let option = |place: &String| if lacks_unit { in_units(place, 2) } else { vec![inner(&column(place))] };
        let options = candidates.iter().flat_map(option).chain(["not read".to_string()]).collect();
        let and_unit = if lacks_unit { ", nor its unit" } else { "" };
        return Guess::Unsure(format!("it says {}, and does not say of which place{and_unit}", what.words()), options);
    };
    if let Some((counted, of)) = substance.and_then(|held| Some((held.clone(), parameter_of(held.substance)?))) {
        let as_sample = |parameter: &str, unit: String| {
            inner(&Column::Values {
                place: place.clone(),
                what: what.words().to_string(),
                parameter: Some(parameter.to_owned()),
                unit: Some(unit),
                since: None,
            })
        };
        let bare = parameter.clone().unwrap_or_default();
        let options = [
            as_sample(of, format!("{} as {}", counted.unit, counted.substance)),
            as_sample(&bare, counted.unit.clone()),
            "not read".to_string(),
        ];
        let why = format!(
            "it counts {}: is it held against {of}, and turned into it, or against {bare} as it stands?",
            counted.substance
        );
        return Guess::Unsure(why, options.to_vec());
    }
    if lacks_unit {
        let options = in_units(place, usize::MAX).into_iter().chain(["not read".to_string()]).collect();
        let article = if what.words().starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" };
        let why = format!("{article} {} needs its unit, and the heading names none", what.words());
        return Guess::Unsure(why, options);
    }
    Guess::Column(column(place))
}

/// What the user said of a column, with the unit of its heading where it needs one and none was said.
pub(crate) fn with_unit_of(column: &Column, heading: &str) -> Column {
    let mut column = column.clone();
    if let Column::Values { what, parameter, unit: unit @ None, .. } = &mut column
        && What::named(what).is_some_and(|what| needs_unit(what, parameter.as_deref()))
    {
        *unit = without_unit(heading).1;
    }
    column
}

/// Whether of a filter something is changed, and nothing washed.
fn only_changes(facility: &Facility, name: &str) -> bool {
    let place = facility.find(name).and_then(|id| facility.get(id));
    matches!(place.map(|place| &place.kind), Some(PlaceKind::Filter(filter)) if filter.wash.is_none() && filter.change.is_some())
}

/// Of several filters those that are washed, or of which something is changed, where there are any: others have none to count.
fn that_do(facility: &Facility, what: What, all: Vec<String>) -> Vec<String> {
    let does = |name: &String| {
        let place = facility.find(name).and_then(|id| facility.get(id));
        let Some(PlaceKind::Filter(filter)) = place.map(|place| &place.kind) else {
            return true;
        };
        match what {
            What::Washes | What::WashMinutes => filter.wash.is_some(),
            What::Changed => filter.kind.declared().uses_up.is_some(),
            _ => true,
        }
    };
    let some: Vec<String> = all.iter().filter(|name| does(name)).cloned().collect();
    if some.is_empty() { all } else { some }
}

/// Those names that share a word of their own with the heading, if there are any; else all.
fn nearest_of(all: Vec<String>, heading: &[String]) -> Vec<String> {
    let shares = |name: &String| {
        // `Beds washes` is of the Media bed.
        let is_in = |word: &str| heading.iter().any(|own| own == word || own.strip_suffix('s') == Some(word));
        tokens(name).iter().any(|word| word.len() > 2 && what_word(word).is_none() && is_in(word))
    };
    let some: Vec<String> = all.iter().filter(|name| shares(name)).cloned().collect();
    if some.is_empty() { all } else { some }
}

/// A column as it is told after `--column`, without its braces.
pub(crate) fn inner(column: &Column) -> String {
    without_braces(&column.text()).to_string()
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    Filter,
    Pond,
    Tank,
    Point,
    Other,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Named {
    Meter(String),
    Place(Kind, String),
}

impl Named {
    pub(super) fn text(&self) -> String {
        match self {
            Self::Meter(name) | Self::Place(_, name) => name.clone(),
        }
    }
}

#[derive(Debug, Clone, Copy)]
enum Wanted {
    Meter,
    Filter,
    Pond,
    Tank,
    Point,
}

impl Wanted {
    fn fits(self, name: &Named) -> bool {
        match (self, name) {
            (Self::Meter, Named::Meter(_)) => true,
            (Self::Filter, Named::Place(kind, _)) => *kind == Kind::Filter,
            (Self::Pond, Named::Place(kind, _)) => matches!(kind, Kind::Pond | Kind::Tank),
            (Self::Tank, Named::Place(kind, _)) => *kind == Kind::Tank,
            // A sample may be taken anywhere.
            (Self::Point, Named::Place(..)) => true,
            _ => false,
        }
    }

    fn all(self, facility: &Facility) -> Vec<String> {
        if matches!(self, Self::Meter) {
            return facility.meters.iter().map(|meter| meter.name.clone()).collect();
        }
        let fits = |kind: &PlaceKind| match self {
            Self::Filter => matches!(kind, PlaceKind::Filter(_)),
            Self::Pond => matches!(kind, PlaceKind::Pond(_)),
            Self::Tank => matches!(kind, PlaceKind::Tank(_)),
            Self::Point => matches!(kind, PlaceKind::DischargePoint(point)
                if point.kind != crate::facility::model::DischargeKind::HauledAway),
            Self::Meter => false,
        };
        facility.places.iter().filter(|site| fits(&site.kind)).map(|site| site.name.clone()).collect()
    }
}

fn kind_for(what: What) -> Option<Wanted> {
    match what {
        What::Reading | What::Head | What::Amount => Some(Wanted::Meter),
        What::Washes | What::WashMinutes | What::Changed => Some(Wanted::Filter),
        What::Level | What::Freeboard | What::SludgeDepth => Some(Wanted::Pond),
        What::Holding => Some(Wanted::Tank),
        What::Look | What::Sample => Some(Wanted::Point),
        _ => None,
    }
}

/// `Lab no`, `Sample #`, `Report number`.
fn is_number_of_a_slip(tokens: &[String]) -> bool {
    matches!(tokens, [of, number] if matches!(of.as_str(), "lab" | "laboratory" | "sample" | "report" | "certificate" | "slip")
        && matches!(number.as_str(), "no" | "nr" | "number" | "#" | "id"))
}

fn side_column(tokens: &[String]) -> Option<Guess> {
    let is = |words: &[&str]| tokens.len() <= 2 && tokens.iter().any(|token| words.contains(&token.as_str()));
    if is(&["initials", "init", "initial", "operator", "who", "signed"]) || tokens == ["by"] || tokens == ["read", "by"]
    {
        Some(Guess::Column(Column::Who))
    } else if is(&["note", "notes", "remark", "remarks", "comment", "comments"]) {
        Some(Guess::Column(Column::Note))
    } else if is(&["slip", "paper"]) || is_number_of_a_slip(tokens) {
        Some(Guess::Column(Column::Paper))
    } else if is(&["received", "recd", "reported"]) || tokens == ["rec", "d"] || tokens == ["date", "received"] {
        Some(Guess::Column(Column::Received))
    } else if tokens == ["time"] || tokens == ["time", "read"] || tokens == ["clock"] {
        Some(Guess::Time)
    } else {
        None
    }
}

/// The facility's name that stands in the heading, and the words of it: the longest whole name, else the one name
/// whose first word (`M3`) or one word of its own stands there alone.
fn named(facility: &Facility, heading: &[String]) -> Option<(Named, Vec<String>)> {
    let all = all_names(facility);
    // All its words stand there, in whatever order (`Well M1`); of two as long a meter comes before its place.
    let mut whole: Option<&(Named, Vec<String>)> = None;
    for one in all.iter().filter(|(_, words)| !words.is_empty() && words.iter().all(|word| heading.contains(word))) {
        if whole.is_none_or(|(_, held)| one.1.len() > held.len()) {
            whole = Some(one);
        }
    }
    if let Some(found) = whole {
        return Some(found.clone());
    }
    let first: Vec<&(Named, Vec<String>)> = all
        .iter()
        .filter(|(_, words)| {
            words.first().is_some_and(|word| heading.contains(word) && word.chars().any(|c| c.is_ascii_digit()))
        })
        .collect();
    if let [(name, words)] = first.as_slice() {
        return Some((name.clone(), words.clone()));
    }
    // A word that only one name has: `storage` in `Storage level`.
    let mut own: Vec<&(Named, Vec<String>)> = Vec::new();
    for word in heading.iter().filter(|word| word.len() > 3 && what_word(word).is_none()) {
        let having: Vec<&(Named, Vec<String>)> = all.iter().filter(|(_, words)| words.contains(word)).collect();
        if let [one] = having.as_slice()
            && !own.contains(one)
        {
            own.push(one);
        }
    }
    match own.as_slice() {
        [(name, words)] => Some((name.clone(), words.clone())),
        _ => None,
    }
}

/// Every name of the facility with its words, meters first.
pub(super) fn all_names(facility: &Facility) -> Vec<(Named, Vec<String>)> {
    let meters = facility.meters.iter().map(|meter| (Named::Meter(meter.name.clone()), tokens(&meter.name)));
    let places = facility.places.iter().map(|site| {
        let kind = match site.kind {
            PlaceKind::Filter(_) => Kind::Filter,
            PlaceKind::Pond(_) => Kind::Pond,
            PlaceKind::Tank(_) => Kind::Tank,
            PlaceKind::DischargePoint(_) => Kind::Point,
            _ => Kind::Other,
        };
        (Named::Place(kind, site.name.clone()), tokens(&site.name))
    });
    meters.chain(places).collect()
}

pub(super) fn what_word(word: &str) -> Option<What> {
    Some(match word {
        "reading" | "readings" | "meter" | "mtr" | "register" | "dial" | "totaliser" | "totalizer" | "index" => {
            What::Reading
        }
        "amount" | "used" | "pumped" | "volume" | "usage" => What::Amount,
        "wash" | "washes" | "backwash" | "backwashes" | "flushes" | "rinses" => What::Washes,
        "changed" | "changes" => What::Changed,
        pieces if kinds::changed_pieces().contains(&pieces) => What::Changed,
        "freeboard" => What::Freeboard,
        "sludge" => What::SludgeDepth,
        "level" | "stage" | "gauge" => What::Level,
        "holding" => What::Holding,
        "rain" | "rainfall" | "precipitation" | "precip" | "prcp" => What::Rain,
        "look" | "flowing" | "discharge" | "discharging" => What::Look,
        _ => return None,
    })
}

fn what_of(rest: &[&str], unit: Option<&str>, seen: &Seen) -> Option<(What, Option<String>)> {
    // A usual writing of a parameter, or whatever is told in mg/L.
    let said = rest.join(" ");
    let is_dissolved_or_carried = unit.and_then(units::named).is_some_and(|unit| {
        matches!(unit.dimension, Dimension::MassDensity | Dimension::VolumeShare | Dimension::Turbidity)
    });
    let by_a_word = PARAMETERS.iter().any(|(word, _)| rest.contains(word));
    if !rest.is_empty() && !by_a_word && (known_parameter(&said).is_some() || is_dissolved_or_carried) {
        let parameter = known_parameter(&said).map_or_else(|| parameter_as_written(&said), str::to_owned);
        return Some((What::Sample, Some(parameter)));
    }
    for (word, name) in PARAMETERS {
        if rest.contains(&word) {
            let parameter = name.map_or_else(|| parameter_as_written(&rest.join(" ")), str::to_string);
            return Some((What::Sample, Some(parameter)));
        }
    }
    let found: Vec<What> = rest.iter().filter_map(|word| what_word(word)).collect();
    let has = |what: What| found.contains(&what);
    let minutes = rest.iter().any(|word| matches!(*word, "min" | "mins" | "minutes" | "duration"));
    let what = if has(What::Washes) && minutes {
        What::WashMinutes
    } else if has(What::Washes) && has(What::Reading) {
        // `wash meter`, `backwash totaliser`: a dial.
        What::Reading
    } else if has(What::SludgeDepth) {
        What::SludgeDepth
    } else if has(What::Rain) {
        What::Rain
    } else if has(What::Look) || (found.is_empty() && says_flow(seen)) {
        What::Look
    } else {
        *found.first()?
    };
    Some((what, None))
}

/// Whether a column repeats one value: the number of a station.
fn all_alike(seen: &Seen) -> bool {
    seen.values.len() > 1 && seen.values.windows(2).all(|pair| pair.first() == pair.last())
}

/// Whether most values say that something flowed or was dry.
fn says_flow(seen: &Seen) -> bool {
    let said = seen.values.iter().filter(|value| flows(&value.trim().to_lowercase()).is_some()).count();
    said > 0 && said * 2 > seen.values.len()
}

/// So large is what stands unchanged on every row and is taken for a dial. Common practice, no source.
const LEAST_DIAL: i64 = 1000;

/// A dial only ever goes up (but for one rollover or exchange); amounts go up and down.
pub(super) fn counting(seen: &Seen) -> Option<(What, Option<String>)> {
    let values: Vec<Decimal> = seen
        .values
        .iter()
        // A tail says nothing of the dial's front.
        .filter(|value| !value.starts_with(['.', ',']))
        .filter_map(|value| match cell(value, seen.mark) {
            Ok(Cell::Number { value, .. }) => Some(value),
            _ => None,
        })
        .collect();
    if values.len() < 3 {
        return None;
    }
    // A dial that lost its point on some lines is one nevertheless.
    let mut values = values;
    for (at, with_point) in points_lost(&values) {
        if let Some(value) = values.get_mut(at) {
            *value = with_point;
        }
    }
    // A dial that stood all the time; amounts that are all alike are hardly so large.
    let stands = values.windows(2).all(|pair| pair.first() == pair.last());
    if stands && values.first().is_some_and(|value| *value >= Decimal::whole(LEAST_DIAL)) {
        return Some((What::Reading, None));
    }
    let falls = values.windows(2).filter(|pair| pair.last() < pair.first()).count();
    if falls <= 1 + values.len() / 100 && values.first() < values.last() || falls == 1 {
        Some((What::Reading, None))
    } else {
        Some((What::Amount, None))
    }
}
