//! Every reader of a value. The first byte says which; the rest is the text.

use std::fmt::Debug;

use bywash::quantity::{self as q, Cell, DateOrder, DateRange, DecimalMark, Kind, Span, System, kind};
use chrono::{Datelike as _, NaiveDate};

/// A range of the kind `K`, and what it is shown as.
fn quantity<K: Kind>(text: &str) {
    let read = q::stated::<K>(text);
    if read.is_ok() {
        assert_eq!(read, q::stated::<K>(&format!(" {text}\u{2009}")), "spaces around it say nothing");
    }
    match read {
        Err(refusal) => assert!(!refusal.message.is_empty()),
        Ok(stated) => {
            let Some(range) = stated.known() else {
                return;
            };
            let (low, high) = (K::to_si(range.low), K::to_si(range.high));
            assert!(low.is_finite() && high.is_finite() && low <= high, "{low} to {high}");
            for system in [System::Us, System::Metric] {
                let shown = q::show_range::<K>(range, system);
                // More digits than any number may have: nobody can type it back.
                if longest_number(&shown) > q::MOST_DIGITS {
                    continue;
                }
                // Rounding may carry a figure past the bounds of its kind, and nowhere else.
                match q::range::<K>(&shown) {
                    Err(refusal) => assert!(refusal.message.contains("can't be"), "{shown}: {refusal}"),
                    Ok(again) => {
                        let (of, with) = (K::to_si(again.low), K::to_si(range.low));
                        let near = |a: f64, b: f64| (a - b).abs() <= 6e-3 * b.abs().max(a.abs()) + 1e-300;
                        let is_degree = K::WHAT == kind::Temperature::WHAT;
                        assert!(is_degree || near(of, with), "{shown}: {of} and {with}");
                        let (of, with) = (K::to_si(again.high), K::to_si(range.high));
                        assert!(is_degree || near(of, with), "{shown}: {of} and {with}");
                    }
                }
            }
        }
    }
}

fn longest_number(text: &str) -> usize {
    let numbers = text.split(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ',')));
    numbers.map(|number| number.bytes().filter(u8::is_ascii_digit).count()).max().unwrap_or(0)
}

type Reader = fn(&str);

/// A reader for each kind of quantity.
const QUANTITIES: [Reader; 34] = [
    quantity::<kind::Length>,
    quantity::<kind::Level>,
    quantity::<kind::Size>,
    quantity::<kind::RainDepth>,
    quantity::<kind::Area>,
    quantity::<kind::Volume>,
    quantity::<kind::Flow>,
    quantity::<kind::DailyVolume>,
    quantity::<kind::DepthRate>,
    quantity::<kind::WaterLoss>,
    quantity::<kind::MonthlyDepth>,
    quantity::<kind::Flux>,
    quantity::<kind::Speed>,
    quantity::<kind::Concentration>,
    quantity::<kind::Density>,
    quantity::<kind::Share>,
    quantity::<kind::Percent>,
    quantity::<kind::Content>,
    quantity::<kind::Settleable>,
    quantity::<kind::ArealMass>,
    quantity::<kind::MassRate>,
    quantity::<kind::Mass>,
    quantity::<kind::Temperature>,
    quantity::<kind::Time>,
    quantity::<kind::Radiation>,
    quantity::<kind::Power>,
    quantity::<kind::Energy>,
    quantity::<kind::Conductivity>,
    quantity::<kind::Turbidity>,
    quantity::<kind::Organisms>,
    quantity::<kind::PartOfDay>,
    quantity::<kind::Multiple>,
    quantity::<kind::TimesDry>,
    quantity::<kind::Latitude>,
];

/// Readers of everything else.
const OTHERS: [Reader; 22] = [
    |text| cell(text, DecimalMark::Point),
    |text| cell(text, DecimalMark::Comma),
    |text| stamp(text, DateOrder::YearFirst),
    |text| stamp(text, DateOrder::DayFirst),
    |text| stamp(text, DateOrder::MonthFirst),
    date,
    date_range,
    months,
    weekdays,
    clock,
    span,
    often,
    number,
    meter_unit,
    parameter,
    order,
    decimal,
    unit,
    |text| {
        let _ = (q::yes_or_no(text), q::times_a_day(text), q::says_not_known(text), q::not_thousands(text));
    },
    day_of_year,
    deadline,
    printed,
];

/// Reads a text as what the first byte says.
pub fn quantities(bytes: &[u8]) -> bool {
    let Some((choice, rest)) = super::chosen(bytes) else {
        return false;
    };
    let Ok(text) = std::str::from_utf8(rest) else {
        return false;
    };
    let all = QUANTITIES.iter().chain(&OTHERS);
    let count = QUANTITIES.len() + OTHERS.len();
    if let Some(read) = all.into_iter().nth(usize::from(choice) % count) {
        read(text);
    }
    true
}

/// What a reader says of how its value is written must read as the same value.
fn same<T: PartialEq + Debug, E: Debug>(written: &str, read: impl Fn(&str) -> Result<T, E>, value: &T) {
    match read(written) {
        Ok(again) => assert_eq!(again, *value, "{written}"),
        Err(refusal) => panic!("{written} is refused, and was read: {refusal:?}"),
    }
}

/// Whether a date has the four digits of a year that everybody writes.
fn is_usual(date: NaiveDate) -> bool {
    (1000..=9999).contains(&date.year())
}

fn cell(text: &str, mark: DecimalMark) {
    let Ok(Cell::Number { value, .. }) = q::cell(text, mark) else {
        return;
    };
    assert!(value.to_f64().is_finite());
    let written = match mark {
        DecimalMark::Point => value.to_string(),
        DecimalMark::Comma => value.to_string().replace('.', ","),
    };
    // `1.204` under a decimal comma is 1204, and so a number with three places may be refused as doubtful, never misread.
    if let Ok(again) = q::cell(&written, mark) {
        match again {
            Cell::Number { value: again, .. } => assert_eq!(again, value, "{written}"),
            other => panic!("{written} is {other:?}"),
        }
    }
}

fn stamp(text: &str, order: DateOrder) {
    for year in [None, Some(2025)] {
        let Ok(read) = q::stamp(text, order, year) else {
            continue;
        };
        if is_usual(read.date) {
            let time = read.time.map(|time| format!(" {}", time.format("%H:%M:%S"))).unwrap_or_default();
            same(&format!("{}{time}", read.date), |text| q::stamp(text, order, None), &read);
        }
    }
}

fn date(text: &str) {
    let _ = (q::weekday(text), q::month(text));
    if let Ok((date, time)) = q::date_and_maybe_time(text)
        && is_usual(date)
    {
        let written = match time {
            Some(time) => format!("{date}T{}", time.format("%H:%M:%S")),
            None => date.to_string(),
        };
        same(&written, q::date_and_maybe_time, &(date, time));
        let named = date.format("%-d %b %Y").to_string();
        same(&named, q::date, &date);
    }
    let _ = q::date_and_time(text);
}

fn date_range(text: &str) {
    match q::date_range(text) {
        Err(refusal) => assert!(!refusal.message.is_empty()),
        Ok(DateRange::Dates { first, last }) => {
            assert!(first <= last, "{first} to {last}");
            if is_usual(first) && is_usual(last) {
                same(&format!("{first} to {last}"), q::date_range, &DateRange::Dates { first, last });
            }
            assert!(!q::too_long((first, last)).is_empty() && q::days_of((first, last)) > 0);
        }
        Ok(DateRange::Yearly(span)) => {
            let of = |day: q::DayOfYear| format!("{} {}", day.day, q::month_name(day.month));
            let written = format!("{} to {}", of(span.from), of(span.to));
            same(&written, q::date_range, &DateRange::Yearly(span));
        }
    }
}

fn months(text: &str) {
    if let Ok(set) = q::months(text) {
        let count = set.has.iter().filter(|has| **has).count();
        assert!((1..=12).contains(&count));
    }
}

fn weekdays(text: &str) {
    const NAMES: [&str; 7] = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"];
    if let Ok(set) = q::weekdays(text) {
        let named: Vec<&str> = NAMES.iter().zip(set.0).filter(|(_, has)| *has).map(|(name, _)| *name).collect();
        assert!(!named.is_empty(), "no day at all");
        same(&named.join(", "), q::weekdays, &set);
    }
}

fn clock(text: &str) {
    if let Ok(time) = q::clock(text) {
        same(&time.format("%H:%M:%S").to_string(), q::clock, &time);
    }
    let _ = q::clock_range(text);
}

fn span(text: &str) {
    if let Ok(span) = q::span(text) {
        let written = match span {
            Span::Seconds(seconds) => format!("{seconds} s"),
            Span::Months(months) => format!("{months} months"),
        };
        same(&written, q::span, &span);
    }
}

fn often(text: &str) {
    match q::how_often(text) {
        Ok(q::HowOften::Every { days }) => {
            same(&format!("every {days} days"), q::how_often, &q::HowOften::Every { days })
        }
        Ok(q::HowOften::Times { times, .. }) => assert!(times > 0),
        _ => {}
    }
}

fn deadline(text: &str) {
    if let Ok(q::Deadline::DayOfNextMonth(day)) = q::deadline(text) {
        assert!((1..=31).contains(&day));
    }
}

fn number(text: &str) {
    if let Ok(read) = q::number(text) {
        assert!(read.denominator > 0 && read.to_f64().is_finite());
    }
    if let Ok((low, high)) = q::ends_of_numbers(text) {
        assert!(low.to_f64() <= high.to_f64());
    }
    if let Ok(count) = q::count(text) {
        same(&count.to_string(), q::count, &count);
    }
    if let Ok(ratio) = q::ratio(text) {
        assert!(ratio.denominator > 0 && ratio.to_f64().is_finite());
    }
}

fn meter_unit(text: &str) {
    if let Ok(unit) = q::meter_unit(text) {
        let one = unit.cubic_metres();
        assert!(one.is_finite() && one > 0.0, "{one}");
    }
}

fn parameter(text: &str) {
    let name = q::parameter_name(text);
    assert_eq!(q::parameter_name(&name), name);
    let written = q::parameter_as_written(text);
    assert_eq!(q::parameter_as_written(&written), written);
}

fn order(text: &str) {
    let column: Vec<_> = text.lines().filter_map(q::two_numbers).collect();
    let _ = q::order_of(&[column]).or_asked("date");
    let (heading, _) = q::order_in_heading(text);
    assert!(heading.len() <= text.len());
}

fn decimal(text: &str) {
    if let Some(value) = q::Decimal::parse(text) {
        assert_eq!(q::Decimal::parse(&value.to_string()), Some(value));
        assert!(value.to_f64().is_finite());
        let _ = (value.plus(value), value.minus(value), value.times(value), value.as_whole());
    }
}

fn unit(text: &str) {
    if let Some(unit) = q::units::named(text) {
        assert!(unit.is_named(unit.name));
    }
    let _ = (q::unit(text, &q::Expected::of::<kind::Volume>()), q::units_meant(text, kind::Flow::UNITS));
}

fn day_of_year(text: &str) {
    if let Ok(day) = q::day_of_year(text) {
        same(&format!("{} {}", day.day, q::month_name(day.month)), q::day_of_year, &day);
        assert!(day.in_year(2024).is_some() && day.in_year(2025).is_some());
    }
}

/// Numbers as they are printed: eight bytes are one, whatever it is.
fn printed(text: &str) {
    let mut eight = [0; 8];
    for (to, from) in eight.iter_mut().zip(text.bytes()) {
        *to = from;
    }
    let value = f64::from_le_bytes(eight);
    let shown = q::significant(value, 3);
    assert!(!shown.is_empty() && !q::decimals(value, 2).is_empty());
    if value.is_finite() {
        let plain = shown.replace(',', "").replace('\u{2212}', "-");
        let read: f64 = plain.parse().unwrap_or_else(|_| panic!("{shown} is no number"));
        assert!((read - value).abs() <= 6e-3 * value.abs(), "{value} is printed {shown}");
    }
}
