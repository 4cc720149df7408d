//! The kinds of value that a declared key may hold, each with its reader and its schema.

use std::marker::PhantomData;

use chrono::{NaiveDate, NaiveTime};
use serde_json::{Value as Json, json};
use uom::si::f64::Ratio as Share;

use super::declared::{Reads, Shape};
use super::schema::{
    Defs, NUMBER, any_case, any_of, list_of, named, one_of_words, text_like, text_or_number_like,
    units as units_template,
};
use super::{Field, Given, Said};
use crate::quantity::{
    self as q, ByMonth, DateRange as Days, Deadline, Exact, HowOften, Kind, Weekdays as Week, units,
};

/// Declares a kind of value that is text of a form of its own, with its parser.
macro_rules! parsed {
    ($($(#[doc = $doc:literal])+ $name:ident: $out:ty, $what:literal, $example:literal, $parser:path, $schema:expr;)*) => {$(
        $(#[doc = $doc])+
        #[derive(Debug, Clone, Copy)]
        pub(crate) struct $name;

        impl $crate::files::Shape for $name {
            fn schema(_: &mut $crate::files::schema::Defs) -> serde_json::Value {
                $schema
            }
        }

        impl $crate::files::Reads for $name {
            type Out = $crate::files::Said<$out>;
            fn read(field: &$crate::files::Field<'_>) -> Option<Self::Out> {
                field.parse($what, $example, $parser)
            }
        }
    )*};
}
pub(crate) use parsed;

/// Declares lists of words, each with what it stands for.
macro_rules! words {
    ($($(#[doc = $doc:literal])+ $name:ident: $out:ty, $($word:expr => $value:expr),+;)*) => {$(
        $(#[doc = $doc])+
        #[derive(Debug, Clone, Copy)]
        pub(crate) struct $name;

        impl $crate::files::WordList for $name {
            type Out = $out;
            fn words() -> Vec<(&'static str, $out)> {
                vec![$(($word, $value)),+]
            }
        }
    )*};
}
pub(crate) use words;

/// Words that a key takes, and what each stands for.
pub trait WordList {
    /// What a word stands for.
    type Out: Clone;
    /// Every word, those meaning the same too.
    fn words() -> Vec<(&'static str, Self::Out)>;
}

/// One of the words of a list, in any case.
#[derive(Debug, Clone, Copy)]
pub struct Words<W>(PhantomData<fn() -> W>);

impl<W: WordList> Shape for Words<W> {
    fn schema(_: &mut Defs) -> Json {
        let words = W::words();
        one_of_words(words.iter().map(|(word, _)| *word))
    }
}

impl<W: WordList> Reads for Words<W> {
    type Out = Said<W::Out>;
    fn read(field: &Field<'_>) -> Option<Self::Out> {
        field.one_of(&W::words())
    }
}

/// An amount, a range or `not known`.
#[derive(Debug, Clone, Copy)]
pub struct Quantity<K>(PhantomData<fn() -> K>);

/// An amount or a range that must be known.
#[derive(Debug, Clone, Copy)]
pub struct Known<K>(PhantomData<fn() -> K>);

/// A template for an amount or a range in units of a kind.
pub(crate) fn amount_template(allowed: &[q::Unit]) -> String {
    // `6 ft 3 in`.
    let feet = if allowed.contains(&units::FT) && allowed.contains(&units::IN) {
        format!(r"(?:{NUMBER}\s*(?:{})[\s,-]*)?", units_template(&[units::FT]))
    } else {
        String::new()
    };
    format!(r"(?:{NUMBER}[\s\S]*\sto )?{feet}{NUMBER}\s*(?:{})", units_template(allowed))
}

fn amount<K: Kind>(defs: &mut Defs, may_be_unknown: bool) -> Json {
    amount_in(defs, K::UNITS, K::WHAT, K::EXAMPLE, may_be_unknown)
}

fn amount_in(defs: &mut Defs, units: &[q::Unit], what: &str, example: &str, may_be_unknown: bool) -> Json {
    let amount = amount_template(units);
    let template = if may_be_unknown { format!("not known|{amount}") } else { amount };
    let unknown = if may_be_unknown { ", or: not known" } else { "" };
    let mut schema = text_like(&template);
    let said = format!("{what} in {}, or a range of two{unknown}", q::names(units));
    if let Some(schema) = schema.as_object_mut() {
        schema.insert("patternErrorMessage".to_owned(), json!(format!("write {said}: {example}")));
        schema.insert("description".to_owned(), json!(said));
    }
    let name = what.trim_start_matches("a ").trim_start_matches("an ");
    defs.part(&if may_be_unknown { name.to_owned() } else { format!("{name}, known") }, schema)
}

impl<K: Kind> Shape for Quantity<K> {
    fn schema(defs: &mut Defs) -> Json {
        amount::<K>(defs, true)
    }
}

impl<K: Kind> Reads for Quantity<K> {
    type Out = Given<K::Value>;
    fn read(field: &Field<'_>) -> Option<Self::Out> {
        field.quantity::<K>()
    }
}

impl<K: Kind> Shape for Known<K> {
    fn schema(defs: &mut Defs) -> Json {
        amount::<K>(defs, false)
    }
}

impl<K: Kind> Reads for Known<K> {
    type Out = Given<K::Value>;
    fn read(field: &Field<'_>) -> Option<Self::Out> {
        field.known::<K>()
    }
}

/// A whole number without a unit.
#[derive(Debug, Clone, Copy)]
pub struct Count<const LEAST: u64, const MOST: u64>;

impl<const LEAST: u64, const MOST: u64> Shape for Count<LEAST, MOST> {
    fn schema(_: &mut Defs) -> Json {
        let number = json!({"type": "integer", "minimum": LEAST, "maximum": MOST});
        any_of([number, text_like(NUMBER)])
    }
}

impl<const LEAST: u64, const MOST: u64> Reads for Count<LEAST, MOST> {
    type Out = Said<u64>;
    fn read(field: &Field<'_>) -> Option<Self::Out> {
        field.count(LEAST, MOST)
    }
}

/// Declares a kind of value that a method of [`Field`] reads.
macro_rules! plain {
    ($($(#[doc = $doc:literal])+ $name:ident: $out:ty, $read:ident, $schema:expr;)*) => {$(
        $(#[doc = $doc])+
        #[derive(Debug, Clone, Copy)]
        pub struct $name;

        impl Shape for $name {
            fn schema(defs: &mut Defs) -> Json {
                defs.part(stringify!($read), $schema)
            }
        }

        impl Reads for $name {
            type Out = $out;
            fn read(field: &Field<'_>) -> Option<$out> {
                field.$read()
            }
        }
    )*};
}

plain! {
    /// Free text.
    Text: Said<String>, text, any_text();
    /// A name of the user's own.
    Name: Said<String>, name, any_text();
    /// A number without a unit.
    Number: Said<Exact>, number, text_or_number_like(NUMBER);
    /// A number or a range of numbers without a unit, not below zero.
    Factor: Given<Share>, factor, any_of([json!({"type": "number", "minimum": 0}), text_like(&factor_template())]);
    /// `3 to 1`.
    Ratio: Given<Share>, ratio, text_like(&format!(r"{NUMBER}(?: to |\s*:\s*){NUMBER}|not known"));
    /// A date.
    Date: Said<NaiveDate>, date, text_like(&format!("{ISO_DAY}|{WORDED_DAY}"));
    /// A stretch of days, of given years or of every year.
    DateRange: Said<Days>, date_range, text_or_number_like(&days_template());
    /// A time of day.
    Clock: Said<NaiveTime>, clock, text_like(&clock_template());
    /// A length of time.
    Span: Said<q::Span>, span, text_like(&span_template());
    /// What is due after something is known, or on a day of the next month.
    Due: Said<Deadline>, deadline, text_like(&deadline_template());
    /// How often something is done.
    Often: Said<HowOften>, how_often, text_like(&often_template());
    /// `yes` or `no`.
    YesOrNo: Said<bool>, yes_or_no, one_of_words(["yes", "no"].into_iter());
    /// Days of the week: a text, or a list of texts.
    Weekdays: Said<Week>, weekdays, {
        let text = text_like(r"[\s,]*(?:mon|tue|wed|thu|fri|sat|sun|every|working|dai|and )[a-zA-Z,.\s]*");
        any_of([text.clone(), list_of(text)])
    };
}

/// Whatever is written: an editor takes `12` and `true` for something else than text.
fn any_text() -> Json {
    json!({"type": ["string", "number", "boolean"], "pattern": r"\S"})
}

const ISO_DAY: &str = r"\d{1,4}-\d{1,4}-\d{1,4}";
const MONTH: &str = r"(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-zA-Z]*\.*";
/// `3 May 2024` or `May 3, 2024`, with or without the year.
const WORDED_DAY: &str = concat!(
    r"[\s,]*(?:\d{1,4}[\s,]+(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-zA-Z]*\.*",
    r"|(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-zA-Z]*\.*[\s,]+\d{1,4})(?:[\s,]+\d{4})?[\s,]*"
);

/// A template for a stretch of days.
pub(crate) fn days_template() -> String {
    let gap = r"[\s,-]";
    let month_or_year = format!(r"{gap}*(?:\d{{4}}(?:{gap}+(?:\d{{1,4}}|{MONTH}))?|{MONTH}{gap}+\d{{4}}){gap}*");
    format!("(?:{ISO_DAY}|{WORDED_DAY}) to (?:{ISO_DAY}|{WORDED_DAY})|{month_or_year}")
}

/// A template for one day of a year or of every year.
pub(crate) fn day_template() -> String {
    format!("{ISO_DAY}|{WORDED_DAY}")
}

/// A template for a month or several.
pub(crate) fn months_template() -> String {
    format!("{MONTH}(?: to {MONTH})?")
}

/// A template for a time of day.
pub(crate) fn clock_template() -> String {
    let figures = r"\d[\d\s.]*";
    format!(
        r"[\s.]*(?:{figures}(?::[\s.]*{figures}){{1,2}}(?:[aApP][\s.]*[mM][\s.]*)?|{figures}[aApP][\s.]*[mM][\s.]*|(?:1[\s.]*2[\s.]*)?(?:noon|midnight)[\s.]*)"
    )
}

/// A template for a number or a range of numbers.
fn factor_template() -> String {
    format!("{NUMBER}(?: to {NUMBER})?|not known")
}

/// A template for a length of time.
pub(crate) fn span_template() -> String {
    let clocked = units_template(&[units::S, units::MIN, units::H, units::DAY_1, units::WEEK]);
    format!(r"(?:{NUMBER}\s*)?(?:{clocked}|months?|quarters?|years?|yrs?)")
}

fn deadline_template() -> String {
    let span = span_template();
    format!(r"before (?:{span})|(?:{span}) of (?:knowing|the call)|\d+(?:st|nd|rd|th)? of the next month")
}

fn often_template() -> String {
    let span = span_template();
    format!(
        r"every (?:working day|discharge|{span})|(?:once|twice|\d+(?: times?)?) (?:a|per|each) (?:day|week|month|quarter|year)(?: with a discharge)?|(?:daily|weekly|monthly|quarterly|yearly|annual|annually)(?: with a discharge)?|twice[ -](?:monthly|weekly)"
    )
}

/// A value, or `not said`.
#[derive(Debug, Clone, Copy)]
pub struct OrNotSaid<V>(PhantomData<fn() -> V>);

impl<V: Shape> Shape for OrNotSaid<V> {
    fn schema(defs: &mut Defs) -> Json {
        let not_said = defs.part("not said", one_of_words(std::iter::once("not said")));
        any_of([V::schema(defs), not_said])
    }
}

impl<V: Reads> Reads for OrNotSaid<V> {
    type Out = V::Out;
    /// None where it is not said, without complaint.
    fn read(field: &Field<'_>) -> Option<V::Out> {
        if field.says_not_said() { None } else { V::read(field) }
    }
}

/// One or the other.
#[derive(Debug, Clone, Copy)]
pub struct Either<A, B>(PhantomData<fn() -> (A, B)>);

impl<A: Shape, B: Shape> Shape for Either<A, B> {
    fn schema(defs: &mut Defs) -> Json {
        any_of([A::schema(defs), B::schema(defs)])
    }
}

/// A list of values.
#[derive(Debug, Clone, Copy)]
pub struct ListOf<V>(PhantomData<fn() -> V>);

impl<V: Shape> Shape for ListOf<V> {
    fn schema(defs: &mut Defs) -> Json {
        list_of(V::schema(defs))
    }
}

/// A value, or a list of such.
#[derive(Debug, Clone, Copy)]
pub struct OneOrMore<V>(PhantomData<fn() -> V>);

impl<V: Shape> Shape for OneOrMore<V> {
    fn schema(defs: &mut Defs) -> Json {
        let one = V::schema(defs);
        any_of([one.clone(), list_of(one)])
    }
}

/// A map of the user's own names, each to a value.
#[derive(Debug, Clone, Copy)]
pub struct Named<V>(PhantomData<fn() -> V>);

impl<V: Shape> Shape for Named<V> {
    fn schema(defs: &mut Defs) -> Json {
        named(V::schema(defs))
    }
}

/// One value for all months, or a map of months.
#[derive(Debug, Clone, Copy)]
pub struct Monthly<V>(PhantomData<fn() -> V>);

impl<V: Shape> Shape for Monthly<V> {
    fn schema(defs: &mut Defs) -> Json {
        let one = V::schema(defs);
        let months = json!({
            "type": "object",
            "propertyNames": {"pattern": any_case(&format!("{}|rest|the rest", months_template()))},
            "additionalProperties": one,
        });
        any_of([one, months])
    }
}

impl<V: Reads> Reads for Monthly<V>
where
    V::Out: Clone,
{
    type Out = ByMonth<V::Out>;
    fn read(field: &Field<'_>) -> Option<Self::Out> {
        field.by_month(|field| V::read(field))
    }
}

/// Anything at all: the reader hands it on.
#[derive(Debug, Clone, Copy)]
pub struct Anything;

impl Shape for Anything {
    fn schema(_: &mut Defs) -> Json {
        json!({})
    }
}
