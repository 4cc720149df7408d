//! Windows of time over which statistics are taken: days, the permit's weeks, months, seasons, permit years, rolling.

use chrono::{Datelike, Days, Months, NaiveDate, Weekday};

use crate::quantity::{DayOfYear, DaySpan, Stretch};
use crate::rules::Straddling;

/// The shape of a statistic's windows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum WindowKind {
    /// Each reading, or each stretch that readings can't be told apart in.
    Reading,
    /// Each day.
    Day,
    /// Each of the permit's weeks.
    Week,
    /// Each calendar month.
    Month,
    /// Each run of the limit's season in a year; the permit year where the limit has none.
    Season,
    /// Each permit year.
    PermitYear,
    /// So many days ending on each day.
    Rolling,
    /// Twelve whole months ending with each month.
    TwelveMonths,
}

/// One window; both days belong.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Window {
    /// As printed: `Mar 2025`.
    pub label: String,
    /// First day.
    pub from: NaiveDate,
    /// Last day.
    pub to: NaiveDate,
}

impl Window {
    /// A window with its own label.
    pub fn new(from: NaiveDate, to: NaiveDate) -> Self {
        Self {
            label: days_label(from, to),
            from,
            to,
        }
    }

    /// Whether a day belongs.
    pub fn contains(&self, day: NaiveDate) -> bool {
        self.from <= day && day <= self.to
    }

    /// How many days it has.
    pub fn days(&self) -> usize {
        usize::try_from((self.to - self.from).num_days() + 1).unwrap_or(0)
    }
}

/// What windows are cut by.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Calendar {
    /// First day of the week.
    pub week_starts: Weekday,
    /// Which side owns a week over the edge.
    pub straddling: Straddling,
    /// First day of the permit year.
    pub year_starts: DayOfYear,
}

/// The day before; the same day at the end of the calendar.
pub fn before(day: NaiveDate) -> NaiveDate {
    day.pred_opt().unwrap_or(day)
}

/// The day after; the same day at the end of the calendar.
pub fn after(day: NaiveDate) -> NaiveDate {
    day.succ_opt().unwrap_or(day)
}

/// So many days later.
pub fn later(day: NaiveDate, days: u32) -> NaiveDate {
    day.checked_add_days(Days::new(u64::from(days)))
        .unwrap_or(NaiveDate::MAX)
}

/// So many days earlier.
pub fn earlier(day: NaiveDate, days: u32) -> NaiveDate {
    day.checked_sub_days(Days::new(u64::from(days)))
        .unwrap_or(NaiveDate::MIN)
}

/// Each day from, to.
pub fn each_day(from: NaiveDate, to: NaiveDate) -> impl Iterator<Item = NaiveDate> {
    from.iter_days().take_while(move |day| *day <= to)
}

/// First day of a month.
pub fn month_start(day: NaiveDate) -> NaiveDate {
    day.with_day(1).unwrap_or(day)
}

/// Last day of a month.
pub fn month_end(day: NaiveDate) -> NaiveDate {
    month_start(day)
        .checked_add_months(Months::new(1))
        .map_or(day, before)
}

/// First day of the permit year that a day lies in.
pub fn year_start(day: NaiveDate, starts: DayOfYear) -> NaiveDate {
    let this = starts.in_year(day.year()).unwrap_or(day);
    if this <= day {
        this
    } else {
        starts.in_year(day.year() - 1).unwrap_or(day)
    }
}

fn next_year_start(start: NaiveDate, starts: DayOfYear) -> NaiveDate {
    starts.in_year(start.year() + 1).unwrap_or(start)
}

/// First day of the week that a day lies in.
pub fn week_start(day: NaiveDate, starts: Weekday) -> NaiveDate {
    let back = (7 + day.weekday().num_days_from_monday() - starts.num_days_from_monday()) % 7;
    earlier(day, back)
}

/// The stretch of the calendar that a day lies in: quarters are counted from the permit year's start.
pub fn stretch(day: NaiveDate, each: Stretch, calendar: &Calendar) -> Window {
    let (from, to) = match each {
        Stretch::Day => (day, day),
        Stretch::Week => {
            let from = week_start(day, calendar.week_starts);
            (from, later(from, 6))
        }
        Stretch::Month => (month_start(day), month_end(day)),
        Stretch::Quarter => {
            let start = year_start(day, calendar.year_starts);
            let edge = |quarter: u32| {
                start
                    .checked_add_months(Months::new(3 * quarter))
                    .unwrap_or(day)
            };
            let quarter = (1..4).filter(|quarter| edge(*quarter) <= day).count() as u32;
            let end = if quarter == 3 {
                next_year_start(start, calendar.year_starts)
            } else {
                edge(quarter + 1)
            };
            (edge(quarter), before(end))
        }
        Stretch::Year => {
            let start = year_start(day, calendar.year_starts);
            (start, before(next_year_start(start, calendar.year_starts)))
        }
    };
    let mut window = Window::new(from, to);
    if each == Stretch::Week {
        window.label = week_label(from);
    }
    window
}

/// All stretches that touch a span of days, in order.
pub fn stretches(span: (NaiveDate, NaiveDate), each: Stretch, calendar: &Calendar) -> Vec<Window> {
    let mut out = Vec::new();
    let mut day = span.0;
    while day <= span.1 {
        let window = stretch(day, each, calendar);
        day = after(window.to);
        let end = window.to;
        out.push(window);
        if day <= end {
            break;
        }
    }
    out
}

/// The windows of a statistic that belong to a span of days. Weeks over the edge belong by the permit's rule; months,
/// seasons and years are cut to the span and so judged on the days in force; rolling windows end in the span and may
/// begin before it, but not before `earliest`, the first day that can be looked at.
pub fn windows(
    kind: WindowKind,
    span: (NaiveDate, NaiveDate),
    rolling_days: u32,
    seasons: &[DaySpan],
    earliest: NaiveDate,
    calendar: &Calendar,
) -> Vec<Window> {
    let (first, last) = span;
    if first > last {
        return Vec::new();
    }
    let cut = |windows: Vec<Window>| -> Vec<Window> {
        windows
            .into_iter()
            .map(|window| {
                let (from, to) = (window.from.max(first), window.to.min(last));
                if (from, to) == (window.from, window.to) {
                    window
                } else {
                    Window::new(from, to)
                }
            })
            .collect()
    };
    match kind {
        WindowKind::Reading => vec![Window::new(first, last)],
        WindowKind::Day => each_day(first, last)
            .map(|day| Window::new(day, day))
            .collect(),
        WindowKind::Week => stretches(span, Stretch::Week, calendar)
            .into_iter()
            .filter(|week| owned(week, span, calendar.straddling))
            .collect(),
        WindowKind::Month => cut(stretches(span, Stretch::Month, calendar)),
        WindowKind::PermitYear => cut(stretches(span, Stretch::Year, calendar)),
        WindowKind::Season if seasons.is_empty() => cut(stretches(span, Stretch::Year, calendar)),
        WindowKind::Season => season_runs(span, seasons),
        WindowKind::Rolling => each_day(first, last)
            .map(|end| Window::new(earlier(end, rolling_days.saturating_sub(1)), end))
            .filter(|window| window.from >= earliest)
            .collect(),
        WindowKind::TwelveMonths => stretches(span, Stretch::Month, calendar)
            .into_iter()
            .filter(|month| month.to <= last)
            .filter_map(|month| {
                let from = month.from.checked_sub_months(Months::new(11))?;
                (from >= earliest).then(|| Window::new(from, month.to))
            })
            .collect(),
    }
}

/// Whether a week belongs to a span, by the permit's rule for weeks over the edge.
fn owned(week: &Window, span: (NaiveDate, NaiveDate), rule: Straddling) -> bool {
    let inside = |day: NaiveDate| span.0 <= day && day <= span.1;
    match rule {
        Straddling::WhereItStarts => inside(week.from),
        Straddling::WhereItEnds => inside(week.to),
        Straddling::WhereMostDaysAre => {
            each_day(week.from, week.to)
                .filter(|day| inside(*day))
                .count()
                >= 4
        }
    }
}

fn season_runs(span: (NaiveDate, NaiveDate), seasons: &[DaySpan]) -> Vec<Window> {
    let mut out: Vec<Window> = Vec::new();
    let mut open: Option<NaiveDate> = None;
    for day in each_day(span.0, span.1) {
        let inside = seasons.iter().any(|season| season.contains(day));
        match (inside, open) {
            (true, None) => open = Some(day),
            (false, Some(from)) => {
                out.push(Window::new(from, before(day)));
                open = None;
            }
            _ => {}
        }
    }
    if let Some(from) = open {
        out.push(Window::new(from, span.1));
    }
    out
}

const MONTHS: [&str; 12] = [
    "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec",
];

fn month_name(day: NaiveDate) -> &'static str {
    MONTHS.get(day.month0() as usize).copied().unwrap_or("")
}

/// `14 Mar 2025`.
pub fn day_label(day: NaiveDate) -> String {
    format!("{} {} {}", day.day(), month_name(day), day.year())
}

/// `Mar 2025`.
pub fn month_label(day: NaiveDate) -> String {
    format!("{} {}", month_name(day), day.year())
}

/// `week of 9 Mar 2025`.
pub fn week_label(from: NaiveDate) -> String {
    format!("week of {}", day_label(from))
}

/// `11-14 Jul 2025`, `Mar 2025` for a whole month, `30 Jun to 2 Jul 2025`.
pub fn days_label(from: NaiveDate, to: NaiveDate) -> String {
    if from == to {
        return day_label(from);
    }
    if from == month_start(from) && to == month_end(from) {
        return month_label(from);
    }
    if (from.year(), from.month()) == (to.year(), to.month()) {
        return format!("{}-{}", from.day(), day_label(to));
    }
    if from.year() == to.year() {
        return format!("{} {} to {}", from.day(), month_name(from), day_label(to));
    }
    format!("{} to {}", day_label(from), day_label(to))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn d(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    fn calendar() -> Calendar {
        Calendar {
            week_starts: Weekday::Sun,
            straddling: Straddling::WhereItStarts,
            year_starts: DayOfYear { month: 11, day: 1 },
        }
    }

    fn cut(kind: WindowKind, from: &str, to: &str, days: u32) -> Vec<Window> {
        windows(kind, (d(from), d(to)), days, &[], d(from), &calendar())
    }

    #[test]
    fn a_rolling_window_is_not_a_calendar_month_and_its_first_29_days_are_not_evaluable() {
        let rolling = cut(WindowKind::Rolling, "2025-01-01", "2025-03-01", 30);
        assert_eq!(
            (rolling[0].from, rolling[0].to),
            (d("2025-01-01"), d("2025-01-30"))
        );
        assert_eq!(rolling.len(), 31);
        assert!(rolling.iter().all(|window| window.days() == 30));
    }

    #[test]
    fn twelve_months_are_whole_and_there_is_none_before_the_twelfth() {
        let rolling = cut(WindowKind::TwelveMonths, "2024-11-01", "2025-12-31", 0);
        assert_eq!(rolling.len(), 3);
        assert_eq!(
            (rolling[0].from, rolling[0].to),
            (d("2024-11-01"), d("2025-10-31"))
        );
    }

    #[test]
    fn a_week_over_the_edge_belongs_where_the_permit_says() {
        let span = (d("2025-03-01"), d("2025-03-31"));
        for (rule, first, last) in [
            (Straddling::WhereItStarts, "2025-03-02", "2025-03-30"),
            (Straddling::WhereItEnds, "2025-02-23", "2025-03-23"),
            (Straddling::WhereMostDaysAre, "2025-03-02", "2025-03-23"),
        ] {
            let calendar = Calendar {
                straddling: rule,
                ..calendar()
            };
            let weeks = windows(WindowKind::Week, span, 0, &[], span.0, &calendar);
            assert_eq!(
                (weeks.first().unwrap().from, weeks.last().unwrap().from),
                (d(first), d(last)),
                "{rule:?}"
            );
        }
    }

    #[test]
    fn a_permit_year_from_the_29_february_starts_on_the_28th_in_other_years() {
        let starts = DayOfYear { month: 2, day: 29 };
        assert_eq!(year_start(d("2025-02-27"), starts), d("2024-02-29"));
        assert_eq!(year_start(d("2025-02-28"), starts), d("2025-02-28"));
    }

    #[test]
    fn a_season_over_new_year_is_one_window_and_a_cut_one_is_flagged_by_its_days() {
        let winter = DaySpan {
            from: DayOfYear { month: 11, day: 15 },
            to: DayOfYear { month: 2, day: 10 },
        };
        let runs = windows(
            WindowKind::Season,
            (d("2024-11-01"), d("2025-10-31")),
            0,
            &[winter],
            d("2024-11-01"),
            &calendar(),
        );
        assert_eq!(runs.len(), 1);
        assert_eq!(
            (runs[0].from, runs[0].to),
            (d("2024-11-15"), d("2025-02-10"))
        );
    }

    #[test]
    fn quarters_are_counted_from_the_permit_year() {
        let quarter = stretch(d("2025-03-14"), Stretch::Quarter, &calendar());
        assert_eq!(
            (quarter.from, quarter.to),
            (d("2025-02-01"), d("2025-04-30"))
        );
        let last = stretch(d("2025-10-31"), Stretch::Quarter, &calendar());
        assert_eq!((last.from, last.to), (d("2025-08-01"), d("2025-10-31")));
    }

    #[test]
    fn months_and_years_cut_by_the_span_are_judged_on_the_days_in_force() {
        let months = cut(WindowKind::Month, "2025-01-20", "2025-02-28", 0);
        assert_eq!(
            (months[0].label.as_str(), months[0].days()),
            ("20-31 Jan 2025", 12)
        );
        assert_eq!(
            (months[1].label.as_str(), months[1].days()),
            ("Feb 2025", 28)
        );
        let week = stretch(d("2025-03-14"), Stretch::Week, &calendar());
        assert_eq!(week.label, "week of 9 Mar 2025");
    }
}
