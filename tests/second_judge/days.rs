//! Days as whole numbers since 1 January 1970, and the calendar on them.

pub type Day = i64;
/// Minutes on the wall's clock since the start of 1 January 1970.
pub type Minute = i64;

pub const DAY: Minute = 24 * 60;

/// Year, month and day of the month.
pub type Date = (i64, i64, i64);

pub fn leap(year: i64) -> bool {
    (year % 4 == 0 && year % 100 != 0) || year % 400 == 0
}

pub fn month_length(year: i64, month: i64) -> i64 {
    match month {
        2 if leap(year) => 29,
        2 => 28,
        4 | 6 | 9 | 11 => 30,
        _ => 31,
    }
}

pub fn day(year: i64, month: i64, of_month: i64) -> Day {
    let mut days = 0;
    for y in 1970..year {
        days += if leap(y) { 366 } else { 365 };
    }
    for m in 1..month {
        days += month_length(year, m);
    }
    days + of_month - 1
}

pub fn date(day: Day) -> Date {
    let (mut rest, mut year, mut month) = (day, 1970, 1);
    loop {
        let length = if leap(year) { 366 } else { 365 };
        if rest < length {
            break;
        }
        rest -= length;
        year += 1;
    }
    while rest >= month_length(year, month) {
        rest -= month_length(year, month);
        month += 1;
    }
    (year, month, rest + 1)
}

/// 0 is a Monday.
pub fn weekday(day: Day) -> i64 {
    (day + 3).rem_euclid(7)
}

pub fn month_of(day: Day) -> (i64, i64) {
    let (year, month, _) = date(day);
    (year, month)
}

pub fn first_of_month(of: (i64, i64)) -> Day {
    day(of.0, of.1, 1)
}

pub fn last_of_month(of: (i64, i64)) -> Day {
    day(of.0, of.1, month_length(of.0, of.1))
}

/// The month so many months later, or earlier.
pub fn months_on(of: (i64, i64), by: i64) -> (i64, i64) {
    let all = of.0 * 12 + of.1 - 1 + by;
    (all.div_euclid(12), all.rem_euclid(12) + 1)
}

const MONTHS: [&str; 12] = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];

pub fn month_name(month: i64) -> &'static str {
    MONTHS[month as usize - 1]
}

pub fn iso(day: Day) -> String {
    let (y, m, d) = date(day);
    format!("{y:04}-{m:02}-{d:02}")
}

pub fn in_words(day: Day) -> String {
    let (y, m, d) = date(day);
    format!("{d} {} {y}", month_name(m))
}

pub fn clock(minute: Minute) -> String {
    let of_day = minute.rem_euclid(DAY);
    format!("{:02}:{:02}", of_day / 60, of_day % 60)
}
