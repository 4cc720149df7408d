//! The value of a key, read as what the key expects.

use chrono::{NaiveDate, NaiveTime};

use super::field::short;
use super::fields::same_word;
use super::{Field, Given, Said};
use crate::quantity as q;
use crate::quantity::{ByMonth, DateRange, Exact, HowOften, Kind, MONTH_NAMES, Misread, Stated, Weekdays};
use crate::told::is_unprintable;
use crate::told::{Problem, nearest};

impl<'a> Field<'a> {
    /// An amount, a range or `not known`, in a unit that the kind `K` allows.
    pub fn quantity<K: Kind>(&self) -> Option<Given<K::Value>> {
        self.parse(K::WHAT, K::EXAMPLE, q::stated::<K>).map(|said| Given {
            stated: said.value,
            text: said.text,
            place: said.place,
            key: said.key,
        })
    }

    /// An amount or a range that must be known.
    pub fn known<K: Kind>(&self) -> Option<Given<K::Value>> {
        let given = self.quantity::<K>()?;
        if given.is_not_known() {
            self.refuse(
                format!("`{}` must be known", self.last_key()),
                format!("write {}, such as {}", K::WHAT, K::EXAMPLE),
            );
            return None;
        }
        Some(given)
    }

    /// Free text, trimmed and not empty.
    pub fn text(&self) -> Option<Said<String>> {
        self.parse("a text", "a few words", |text| {
            let text = text.trim();
            if text.is_empty() {
                Err(Misread::new("nothing is written here"))
            } else if text.chars().any(|c| is_unprintable(c) && !matches!(c, '\n' | '\t')) {
                Err(Misread::new("this text has a sign that can't be seen")
                    .hint("type it again, without controls or marks that turn the direction of writing"))
            } else {
                Ok(text.to_string())
            }
        })
    }

    /// A name of the user's own, matched exactly after trimming.
    pub fn name(&self) -> Option<Said<String>> {
        self.parse("a name", "Storage pond", |text| {
            let text = text.trim();
            if text.is_empty() {
                Err(Misread::new("nothing is written here").hint("write a name"))
            } else if text.chars().any(is_unprintable) {
                Err(Misread::new("this name has a sign that can't be seen")
                    .hint("type it again, without line ends, controls or marks that turn the direction of writing"))
            } else {
                Ok(text.to_string())
            }
        })
    }

    /// A whole number without a unit, at least `least` and at most `most`.
    pub fn count(&self, least: u64, most: u64) -> Option<Said<u64>> {
        self.parse("a count", "4", |text| {
            let value = q::count(text)?;
            if value < least || value > most {
                return Err(Misread::new(format!("{value} is not from {least} to {most}"))
                    .hint(format!("write a whole number from {least} to {most}")));
            }
            Ok(value)
        })
    }

    /// A number without a unit, exactly.
    pub fn number(&self) -> Option<Said<Exact>> {
        self.parse("a plain number", "1.05", q::number)
    }

    /// A number or a range of numbers without a unit, not below zero: as a quantity without dimension.
    pub fn factor(&self) -> Option<Given<uom::si::f64::Ratio>> {
        let ratio = |exact: Exact| uom::si::f64::Ratio::new::<uom::si::ratio::ratio>(exact.to_f64());
        let said = self.parse("a plain number", "1.05", |text| {
            if q::says_not_known(text) {
                return Ok(Stated::NotKnown);
            }
            let parts = crate::quantity::ends_of_numbers(text)?;
            if parts.0.is_negative() || parts.1.is_negative() {
                return Err(Misread::new("a number below zero can't be meant here"));
            }
            Ok(Stated::Known(q::Range { low: ratio(parts.0), high: ratio(parts.1) }))
        })?;
        Some(Given { stated: said.value, text: said.text, place: said.place, key: said.key })
    }

    /// `3 to 1`, as the first over the second.
    pub fn ratio(&self) -> Option<Given<uom::si::f64::Ratio>> {
        let said =
            self.parse(
                "a ratio",
                "3 to 1",
                |text| {
                    if q::says_not_known(text) { Ok(None) } else { q::ratio(text).map(Some) }
                },
            )?;
        let stated = match said.value {
            None => Stated::NotKnown,
            Some(exact) => {
                Stated::Known(q::Range::exactly(uom::si::f64::Ratio::new::<uom::si::ratio::ratio>(exact.to_f64())))
            }
        };
        Some(Given { stated, text: said.text, place: said.place, key: said.key })
    }

    /// A date.
    pub fn date(&self) -> Option<Said<NaiveDate>> {
        self.parse("a date", "2024-05-03", q::date)
    }

    /// A stretch of days, of given years or of every year.
    pub fn date_range(&self) -> Option<Said<DateRange>> {
        self.parse("a stretch of days", "15 Apr to 15 Oct", q::date_range)
    }

    /// A time of day.
    pub fn clock(&self) -> Option<Said<NaiveTime>> {
        self.parse("a time of day", "7 am", q::clock)
    }

    /// Weekdays: a text, or a list of texts.
    pub fn weekdays(&self) -> Option<Said<Weekdays>> {
        if !self.is_list() {
            return self.parse("days of the week", "Mon to Sat", q::weekdays);
        }
        let mut set = Weekdays([false; 7]);
        let mut texts = Vec::new();
        for item in self.list() {
            let said = item.parse("days of the week", "Mon to Sat", q::weekdays)?;
            for (slot, has) in set.0.iter_mut().zip(said.value.0) {
                *slot |= has;
            }
            texts.push(said.text);
        }
        Some(Said { value: set, text: texts.join(", "), place: self.place(), key: self.key.clone() })
    }

    /// A span of time.
    pub fn span(&self) -> Option<Said<q::Span>> {
        self.parse("a length of time", "24 h", q::span)
    }

    /// A deadline.
    pub fn deadline(&self) -> Option<Said<q::Deadline>> {
        self.parse("a deadline", "24 h of knowing", q::deadline)
    }

    /// How often something is done.
    pub fn how_often(&self) -> Option<Said<HowOften>> {
        self.parse("how often", "once a week", q::how_often)
    }

    /// `yes` or `no`.
    pub fn yes_or_no(&self) -> Option<Said<bool>> {
        self.parse("yes or no", "yes", q::yes_or_no)
    }

    /// One of a list of words, in any case.
    pub fn one_of<T: Clone>(&self, words: &[(&str, T)]) -> Option<Said<T>> {
        let said = self.which_of(&words.iter().map(|(word, _)| *word).collect::<Vec<_>>())?;
        let (_, value) = words.get(said.value)?;
        Some(Said { value: value.clone(), text: said.text, place: said.place, key: said.key })
    }

    /// Which of these words is written, by its place among them.
    fn which_of(&self, words: &[&str]) -> Option<Said<usize>> {
        let known = words.iter().map(|word| format!("`{word}`")).collect::<Vec<_>>().join(", ");
        let example = words.first().copied().unwrap_or_default();
        self.parse(&format!("one of {known}"), example, |text| {
            if let Some(at) = words.iter().position(|word| same_word(text, word)) {
                return Ok(at);
            }
            let near = nearest(text, words.iter().copied());
            Err(Misread::new(format!("`{}` is not known here", short(text))).hint(match near {
                Some(near) => format!("did you mean `{near}`? known here: {known}"),
                None => format!("known here: {known}"),
            }))
        })
    }

    /// A map of months (`Nov to Feb: …, rest: …`) with each month exactly once, or one value for all; `read` reads each
    /// value.
    pub fn by_month<T: Clone>(&self, read: impl Fn(&Field<'a>) -> Option<T>) -> Option<ByMonth<T>> {
        self.node()?;
        if !self.is_map() {
            let one = read(self)?;
            return Some(ByMonth(std::array::from_fn(|_| one.clone())));
        }
        let mut slots: [Option<T>; 12] = std::array::from_fn(|_| None);
        let mut said: [bool; 12] = [false; 12];
        let mut rest = None;
        let mut whole = true;
        for (name, field) in self.named_at_most(13) {
            let value = read(&field);
            whole &= value.is_some();
            if same_word(&name.value, "rest") || same_word(&name.value, "the rest") {
                rest = Some((value, name));
                continue;
            }
            match q::months(&name.value) {
                Ok(months) => {
                    for (at, _) in months.has.iter().enumerate().filter(|(_, has)| **has) {
                        if said.get(at).copied().unwrap_or(false) {
                            let month = MONTH_NAMES.get(at).copied().unwrap_or_default();
                            self.problems().add(
                                Problem::error(&name.place, format!("{month} is given twice"))
                                    .hint("give each month once"),
                            );
                            whole = false;
                        }
                        if let (Some(flag), Some(slot)) = (said.get_mut(at), slots.get_mut(at)) {
                            *flag = true;
                            slot.clone_from(&value);
                        }
                    }
                }
                Err(misread) => {
                    self.problems().add(Problem::misread(&name.place, misread));
                    whole = false;
                }
            }
        }
        if let Some((value, name)) = rest {
            if said.iter().all(|given| *given) {
                self.problems().add(Problem::error(&name.place, "no month is left for `rest`").hint("take it out"));
                whole = false;
            }
            for (flag, slot) in said.iter_mut().zip(slots.iter_mut()).filter(|(flag, _)| !**flag) {
                *flag = true;
                slot.clone_from(&value);
            }
        }
        let lacking: Vec<&str> =
            MONTH_NAMES.iter().zip(said).filter(|(_, given)| !given).map(|(month, _)| *month).collect();
        if whole && !lacking.is_empty() {
            self.problems().add(
                Problem::error(
                    &self.key_place,
                    format!("`{}` says nothing of {}", self.last_key(), lacking.join(", ")),
                )
                .hint("give each month once; `rest` stands for the others"),
            );
            return None;
        }
        let values: Vec<T> = slots.into_iter().flatten().collect();
        if whole { values.try_into().ok().map(ByMonth) } else { None }
    }
}
