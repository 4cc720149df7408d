//! What cells of a sheet stand for, said once for all of them: codes for a value that is missing, words of a look, results
//! that were not detected.

use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;

use crate::files::{Field, Fields};
use crate::quantity::{Cell, CellSign, DecimalMark, cell, parameter_name, units};
use crate::records::row::Row;
use crate::records::sheet::draft::{About, Question, data};
use crate::records::sheet::grid::{GridRow, Tab};
use crate::records::sheet::layout::{Layout, look};
use crate::records::sheet::mapping::{Column, Mapping, Table, always_quoted, quoted};
use crate::records::sheet::said::{FLAG_WORDS, flag_meant};
use crate::records::sheet::tab_dates::span_of;
use crate::records::sheet::values::BLANK;
use crate::records::words::{flows, says_not_detected};
use crate::told::{Place, Problem, Problems};

/// What was said of them.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) struct Cells {
    /// Codes of a rain file: `-888`, and what each says of the rain.
    pub missing: BTreeMap<String, String>,
    /// Words of a look, lower case: `silt fan, dry now`, and what each says.
    pub looks: BTreeMap<String, String>,
    /// What a result that was not detected is below, by parameter; blank for every other.
    pub not_detected: BTreeMap<String, String>,
    /// Slips all of whose results are void.
    pub void: BTreeSet<String>,
    /// What calls and letters of a date are about, where they do not say it: `2023-04-15` and `15 Apr 2023`.
    pub about: BTreeMap<String, String>,
}

/// Between the words of a look and the one place at which they say it.
const AT: &str = " at ";

/// The look that says nothing of the water.
const NOT_SAID: &str = "not said";

/// What a code may say: the words of a flag, but for those that leave the value.
fn code_words() -> impl Iterator<Item = &'static str> {
    FLAG_WORDS.into_iter().map(|(word, _)| word).filter(|word| matches!(*word, "out" | "in a later total"))
}

impl Cells {
    /// Takes `-888`, or `-888=in a later total`.
    ///
    /// # Errors
    /// When it is no code, or says nothing of the rain.
    pub fn say_missing(&mut self, text: &str) -> Result<(), String> {
        let (code, means) = text.split_once('=').unwrap_or((text, "out"));
        let (code, means) = (code.trim(), means.trim());
        let means = if means.eq_ignore_ascii_case("not known") { "out" } else { means };
        let Some(word) = code_words().find(|word| word.eq_ignore_ascii_case(means)) else {
            return Err("write the code, like -888, or -888=in a later total where the next reading has it".into());
        };
        if code.is_empty() {
            return Err("write the code, like -888".into());
        }
        self.missing.insert(code.to_owned(), word.to_owned());
        Ok(())
    }

    /// Takes `silt fan, dry now=dry`.
    ///
    /// # Errors
    /// When what stands behind the sign says neither flowing, dry nor `not said`.
    pub fn say_look(&mut self, text: &str) -> Result<(), String> {
        let said = text.rsplit_once('=').map(|(words, means)| (plain(words), plain(means)));
        let known = said.filter(|(words, means)| !words.is_empty() && (flows(means).is_some() || means == NOT_SAID));
        let (words, means) =
            known.ok_or("write the words and what they say: \"only a puddle=dry\", flowing, or not said")?;
        self.looks.insert(words, means);
        Ok(())
    }

    /// Takes `<0.05 mg/L`, or `nitrate-N <0.05 mg/L` for one parameter.
    ///
    /// # Errors
    /// When no limit stands there.
    pub fn say_not_detected(&mut self, text: &str) -> Result<(), String> {
        let at = text.find('<').ok_or("write what it is below: \"<0.05 mg/L\", or \"nitrate-N <0.05 mg/L\"")?;
        let (parameter, limit) = text.split_at(at);
        let parameter = parameter.trim().trim_end_matches(['=', ':']).trim();
        limit_of(limit)?;
        let parameter = if parameter.is_empty() { String::new() } else { parameter_name(parameter) };
        self.not_detected.insert(parameter, limit.trim().to_owned());
        Ok(())
    }

    /// Takes the number of a slip.
    ///
    /// # Errors
    /// When nothing is written.
    pub fn say_void(&mut self, text: &str) -> Result<(), String> {
        let slip = text.trim();
        if slip.is_empty() {
            return Err("write the number of the slip as it stands in the sheet".into());
        }
        self.void.insert(slip.to_owned());
        Ok(())
    }

    /// Takes `2023-04-15=15 Apr 2023`: the date of a call or letter, and the day, month or limit that it is about.
    ///
    /// # Errors
    /// When no date stands before the sign, or nothing behind it.
    pub fn say_about(&mut self, text: &str) -> Result<(), String> {
        let said = text.split_once('=').map(|(date, about)| (date.trim(), about.trim()));
        let known = said.filter(|(date, about)| date.parse::<NaiveDate>().is_ok() && !about.is_empty());
        let (date, about) = known
            .ok_or("write the date of the letter and what it is about: \"2023-04-15=14 Apr 2023\", or =not said")?;
        self.about.insert(date.to_owned(), about.to_owned());
        Ok(())
    }

    /// What was said of the calls and letters of a date; blank where nobody knows it.
    pub fn about(&self, date: NaiveDate) -> Option<&str> {
        self.about.get(&date.to_string()).map(|about| if about == NOT_SAID { "" } else { about })
    }

    /// Whether all results of a slip were said to be void.
    pub fn is_void(&self, slip: &str) -> bool {
        self.void.iter().any(|held| held.eq_ignore_ascii_case(slip.trim()))
    }

    /// These, and what was said before of others.
    pub fn over(self, before: &Self) -> Self {
        let over = |now: BTreeMap<String, String>, before: &BTreeMap<String, String>| {
            before.iter().map(|(key, means)| (key.clone(), means.clone())).chain(now).collect()
        };
        Self {
            missing: over(self.missing, &before.missing),
            looks: over(self.looks, &before.looks),
            not_detected: over(self.not_detected, &before.not_detected),
            about: over(self.about, &before.about),
            void: self.void.into_iter().chain(before.void.iter().cloned()).collect(),
        }
    }

    /// As they stand in a mapping file.
    pub fn read(file: &mut Fields) -> Self {
        let mut cells = Self::default();
        let mut take = |field: &Field, say: &mut dyn FnMut(&mut Self, &str) -> Result<(), String>, sign: &str| {
            for (key, value) in field.named() {
                let Some(said) = value.text() else { continue };
                if let Err(message) = say(&mut cells, &format!("{}{sign}{}", key.value, said.value)) {
                    value.refuse(format!("`{}` does not say what is meant", said.value), message);
                }
            }
        };
        take(&file.may(MISSING), &mut Self::say_missing, "=");
        take(&file.may(LOOKS), &mut Self::say_look, "=");
        take(&file.may(ABOUT), &mut Self::say_about, "=");
        let field = file.may(NOT_DETECTED);
        match field.plain_text() {
            Some(text) => {
                if let Err(message) = cells.say_not_detected(text) {
                    field.refuse(format!("`{text}` does not say what is meant"), message);
                }
            }
            None => {
                let any = |text: &str| text.replace(EVERY_OTHER, "");
                take(&field, &mut |cells, text| cells.say_not_detected(&any(text)), " ");
            }
        }
        for slip in file.may(VOID).one_or_more() {
            if let Some(text) = slip.text()
                && let Err(message) = cells.say_void(&text.value)
            {
                slip.refuse("no slip is named".to_owned(), message);
            }
        }
        cells
    }

    /// Their lines in a mapping file.
    pub fn lines(&self) -> Vec<String> {
        let map = |key: &str, all: &BTreeMap<String, String>| {
            let pair = |(one, means): (&String, &String)| {
                let one = if one.is_empty() { EVERY_OTHER } else { one };
                format!("{}: {}", always_quoted(one), quoted(means))
            };
            let pairs: Vec<String> = all.iter().map(pair).collect();
            (!all.is_empty()).then(|| format!("{key}: {{{}}}", pairs.join(", ")))
        };
        let all =
            [(MISSING, &self.missing), (LOOKS, &self.looks), (NOT_DETECTED, &self.not_detected), (ABOUT, &self.about)];
        let slips: Vec<String> = self.void.iter().map(|slip| always_quoted(slip)).collect();
        let void = (!slips.is_empty()).then(|| format!("{VOID}: [{}]", slips.join(", ")));
        all.into_iter().filter_map(|(key, held)| map(key, held)).chain(void).collect()
    }

    /// What a code of a rain column says of the rain.
    pub fn code(&self, text: &str) -> Option<&str> {
        self.missing.get(text.trim()).map(String::as_str)
    }

    /// What a look's words were said to say at a place: `blank at Outfall 2` goes before `blank`.
    pub fn look(&self, text: &str, place: &str) -> Option<&str> {
        let here = || self.looks.get(&format!("{}{AT}{}", plain(text), plain(place)));
        here().or_else(|| self.looks.get(&plain(text))).map(String::as_str)
    }

    /// Places of which it was said alone what a cell without a word means.
    pub fn blank_at(&self) -> impl Iterator<Item = &str> {
        self.looks.keys().filter_map(|words| words.strip_prefix(BLANK)?.strip_prefix(AT))
    }

    /// What a result that was not detected is below, with its unit where that was said.
    pub fn below(&self, text: &str, parameter: Option<&str>) -> Option<(String, Option<String>)> {
        if !says_not_detected(&plain(text)) {
            return None;
        }
        let of_it = parameter.and_then(|parameter| self.not_detected.get(&parameter_name(parameter)));
        limit_of(of_it.or_else(|| self.not_detected.get(""))?).ok()
    }
}

const MISSING: &str = "missing";
const LOOKS: &str = "looks";
const NOT_DETECTED: &str = "not detected";
const VOID: &str = "void";
const ABOUT: &str = "letters about";
const EVERY_OTHER: &str = "every other";

fn plain(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase()
}

/// `<0.05` and its unit, of `<0.05 mg/L`.
fn limit_of(text: &str) -> Result<(String, Option<String>), String> {
    match cell(text, DecimalMark::Point) {
        Ok(Cell::Number { value, sign: CellSign::Below, behind }) => {
            if !behind.is_empty() && units::named(&behind).is_none() {
                return Err(format!("`{behind}` is not a unit that is known"));
            }
            Ok((format!("<{value}"), Some(behind).filter(|unit| !unit.is_empty())))
        }
        _ => Err("write what it is below with a decimal point, like <0.05 mg/L".into()),
    }
}

/// Asks what the cells of a sheet leave open.
pub(super) fn look_for(found: &[(&Tab, Layout)], mapping: &Mapping, questions: &mut Vec<Question>) {
    let mut open = Open::default();
    for (tab, layout) in found {
        let is_of = |table: &&Table| {
            layout.heading_row == table.heading_row && (tab.name.is_empty() || table.tabs.contains(&tab.name))
        };
        for table in mapping.tables.iter().filter(is_of) {
            let is_dated = |row: &&GridRow| {
                let text = row.cell(layout.date);
                look(text).is_some() || span_of(text, table).is_some()
            };
            for row in data(tab, layout).filter(is_dated) {
                open.look(row, table, &mapping.cells);
            }
        }
    }
    for code in &open.codes {
        let options: Vec<String> = code_words().map(|word| format!("{code}={word}")).collect();
        let first = options.first().cloned().unwrap_or_default();
        questions.push(Question {
            about: About::Missing,
            text: format!(
                "`{code}` in a column of rain: the notes of the file say what it stands for; was it not known, or is it in a \
                 later total?"
            ),
            options,
            flag: format!("--missing \"{first}\""),
        });
    }
    for words in &open.looks {
        let options: Vec<String> =
            ["flowing", "dry", NOT_SAID].iter().map(|means| format!("{words}={means}")).collect();
        let first = options.first().cloned().unwrap_or_default();
        questions.push(Question {
            about: About::Look,
            text: format!("`{words}` in a column of looks or heads: did water flow?"),
            options,
            flag: format!("--look \"{first}\""),
        });
    }
    for (parameter, text) in &open.not_detected {
        questions.push(Question {
            about: About::NotDetected,
            text: format!("{parameter}: `{text}` without the limit it is below: what can the laboratory find?"),
            options: Vec::new(),
            flag: format!("--nd-means \"{parameter} <0.05 mg/L\""),
        });
    }
}

#[derive(Default)]
struct Open {
    codes: BTreeSet<String>,
    looks: BTreeSet<String>,
    not_detected: BTreeMap<String, String>,
}

impl Open {
    fn look(&mut self, row: &GridRow, table: &Table, cells: &Cells) {
        for (at, column) in &table.columns {
            let Column::Values { place, what, parameter, .. } = column else { continue };
            let text = row.cell(*at);
            let mark = if row.is_native(*at) { DecimalMark::Point } else { table.mark };
            let read = cell(text, mark);
            if what.eq_ignore_ascii_case("rain") {
                let is_code = matches!(&read, Ok(number @ Cell::Number { value, .. })
                    if value.is_negative() && !crate::weather::is_known_code(number));
                if is_code && cells.code(text).is_none() && !is_flagged(row, table) {
                    self.codes.insert(text.to_owned());
                }
            } else if says_flow(what) {
                let is_open = matches!(&read, Ok(Cell::Word(word)) if flows(word).is_none());
                if is_open && cells.look(text, place).is_none() {
                    self.looks.insert(plain(text));
                }
            } else if what.eq_ignore_ascii_case("sample")
                && says_not_detected(&plain(text))
                && cells.below(text, parameter.as_deref()).is_none()
            {
                let name = parameter.as_deref().unwrap_or_default().to_owned();
                self.not_detected.entry(name).or_insert_with(|| text.to_owned());
            }
        }
    }
}

/// Tells of a place at which a cell without a word was said to mean something, and of which the sheet has no looks.
pub(super) fn tell_blank_nowhere(mapping: &Mapping, rows: &[Row], file: &str, problems: &Problems) {
    let columns = mapping.tables.iter().flat_map(|table| &table.columns).filter_map(|(_, column)| match column {
        Column::Values { place, what, .. } if says_flow(what) => Some(place.as_str()),
        _ => None,
    });
    let rows = rows.iter().filter(|row| says_flow(&row.what.text)).map(|row| row.name.text.as_str());
    let places: BTreeSet<&str> = columns.chain(rows).filter(|place| !place.is_empty()).collect();
    let known = |name: &str| places.iter().any(|place| place.trim().to_lowercase() == name);
    for name in mapping.cells.blank_at().filter(|name| !known(name)) {
        let all: Vec<String> = places.iter().map(|place| format!("`{place}`")).collect();
        problems.add(
            Problem::error(
                &Place::file(&Mapping::file_of(file)),
                format!("`blank at {name}`: the sheet has no looks of a place of that name"),
            )
            .hint(format!("its looks are of {}", all.join(", "))),
        );
    }
}

/// Whether a column's words say that water flowed: looks, and the head over a weir.
pub(super) fn says_flow(what: &str) -> bool {
    what.eq_ignore_ascii_case("look") || what.eq_ignore_ascii_case("head")
}

/// Whether the row's flag says that its figure is no depth.
fn is_flagged(row: &GridRow, table: &Table) -> bool {
    table.columns.iter().any(|(at, column)| match column {
        Column::Flag(names) => matches!(flag_meant(row.cell(*at), names), Some("out" | "in a later total")),
        _ => false,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_cells_stand_for_is_said_once() {
        let mut cells = Cells::default();
        cells.say_missing("-888=in a later total").unwrap();
        cells.say_missing("-99").unwrap();
        assert_eq!(
            (cells.code("-888"), cells.code("-99"), cells.code("-5")),
            (Some("in a later total"), Some("out"), None)
        );
        cells.say_look("Silt fan 3/4, dry now=dry").unwrap();
        assert_eq!(cells.look("silt fan  3/4, dry now", "002"), Some("dry"));
        assert!(cells.say_look("puddle=perhaps").is_err() && cells.say_look("puddle").is_err());
        cells.say_not_detected("NO3-N <0.1 mg/L").unwrap();
        cells.say_not_detected("<5").unwrap();
        let unit = Some("mg/L".to_owned());
        assert_eq!(cells.below("ND", Some("nitrate n")), Some(("<0.1".into(), unit)));
        assert_eq!(cells.below("nd", Some("TSS")), Some(("<5".into(), None)));
        assert_eq!(cells.below("12", Some("TSS")), None);
        for wrong in ["0.05 mg/L", "<five", "TSS <5 mg/lb"] {
            assert!(cells.say_not_detected(wrong).is_err(), "{wrong}");
        }
    }
}
