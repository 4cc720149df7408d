//! Windows of time over which statistics are taken: days, the permit's weeks, months, seasons, permit years, rolling.

use chrono::{Datelike, Days, Months, NaiveDate, Weekday};

use crate::quantity::{DayOfYear, DaySpan, Stretch, month_name};
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
        Self { label: days_label(from, to), from, to }
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
    day.checked_add_days(Days::new(u64::from(days))).unwrap_or(NaiveDate::MAX)
}

/// So many days earlier.
pub fn earlier(day: NaiveDate, days: u32) -> NaiveDate {
    day.checked_sub_days(Days::new(u64::from(days))).unwrap_or(NaiveDate::MIN)
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
    month_start(day).checked_add_months(Months::new(1)).map_or(day, before)
}

/// First day of the permit year that a day lies in.
pub fn year_start(day: NaiveDate, starts: DayOfYear) -> NaiveDate {
    let this = starts.in_year(day.year()).unwrap_or(day);
    if this <= day { this } else { starts.in_year(day.year() - 1).unwrap_or(day) }
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
            let edge = |quarter: u32| start.checked_add_months(Months::new(3 * quarter)).unwrap_or(day);
            let quarter = (1..4).filter(|quarter| edge(*quarter) <= day).count() as u32;
            let end = if quarter == 3 { next_year_start(start, calendar.year_starts) } else { edge(quarter + 1) };
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

/// What cuts the windows of a limit: the days in force, and its season.
pub struct Cuts<'a> {
    /// Whether the permit and this version of the limit are in force on a day.
    pub in_force: &'a dyn Fn(NaiveDate) -> bool,
    /// Whether a day lies in the limit's seasons and months; weekdays choose days within a window and cut none.
    pub in_season: &'a dyn Fn(NaiveDate) -> bool,
}

/// A window that is listed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Listed {
    /// The window, on its days in force and in season.
    pub window: Window,
    /// The window as the calendar has it.
    pub whole: Window,
    /// Its days in force and in season, in order.
    pub days: Vec<NaiveDate>,
    /// Whether it can be evaluated: rolling and twelve-month windows must lie in force and in season whole.
    pub evaluable: bool,
}

/// The windows of a statistic that share a day with a period and have begun by a day of judgement; rolling and
/// twelve-month windows by their last day, which must have ended. A window is whole, whatever the period: only days in
/// force, and days in season within a month or year, cut it.
pub fn listed(
    kind: WindowKind,
    period: (NaiveDate, NaiveDate),
    as_of: NaiveDate,
    rolling_days: u32,
    seasons: &[DaySpan],
    cuts: &Cuts<'_>,
    calendar: &Calendar,
) -> Vec<Listed> {
    let (first, last) = (period.0, period.1.min(as_of));
    if first > last {
        return Vec::new();
    }
    let span = (first, last);
    let whole: Vec<Window> = match kind {
        WindowKind::Reading | WindowKind::Day => each_day(first, last).map(|day| Window::new(day, day)).collect(),
        WindowKind::Week => stretches(span, Stretch::Week, calendar),
        WindowKind::Month => stretches(span, Stretch::Month, calendar),
        WindowKind::PermitYear => stretches(span, Stretch::Year, calendar),
        WindowKind::Season => season_runs(span, seasons, cuts.in_season),
        WindowKind::Rolling => {
            each_day(first, last).map(|end| Window::new(earlier(end, rolling_days.saturating_sub(1)), end)).collect()
        }
        WindowKind::TwelveMonths => stretches(period, Stretch::Month, calendar)
            .into_iter()
            .filter(|month| month.to <= as_of)
            .filter_map(|month| {
                let from = month.from.checked_sub_months(Months::new(11))?;
                Some(Window::new(from, month.to))
            })
            .collect(),
    };
    whole
        .into_iter()
        .filter_map(|whole| cut(kind, whole, cuts, calendar))
        .filter(|listed| {
            let by_last_day = matches!(kind, WindowKind::Rolling | WindowKind::TwelveMonths);
            let shares = |day: &NaiveDate| first <= *day && *day <= last;
            by_last_day || listed.days.iter().any(shares)
        })
        .collect()
}

fn cut(kind: WindowKind, whole: Window, cuts: &Cuts<'_>, calendar: &Calendar) -> Option<Listed> {
    let (first, last) = (whole.from, whole.to);
    let all = || each_day(first, last);
    if matches!(kind, WindowKind::Rolling | WindowKind::TwelveMonths) {
        let evaluable = all().all(|day| (cuts.in_force)(day) && (cuts.in_season)(day));
        let touched = match kind {
            WindowKind::TwelveMonths => all().any(|day| (cuts.in_force)(day)),
            _ => (cuts.in_force)(whole.to) && (cuts.in_season)(whole.to),
        };
        return (evaluable || touched).then(|| Listed {
            window: whole.clone(),
            days: all().collect(),
            whole,
            evaluable,
        });
    }
    let week_whole = kind == WindowKind::Week && {
        let owner = owner_of(&whole, calendar.straddling);
        match week_at_an_edge(&whole, cuts.in_season) {
            Some(()) if !(cuts.in_season)(owner) => return None,
            Some(()) => true,
            None => false,
        }
    };
    let days: Vec<NaiveDate> =
        all().filter(|day| (cuts.in_force)(*day) && (week_whole || (cuts.in_season)(*day))).collect();
    let (from, to) = (*days.first()?, *days.last()?);
    let window = if (from, to) == (whole.from, whole.to) { whole.clone() } else { Window::new(from, to) };
    Some(Listed { window, whole, days, evaluable: true })
}

/// Whether a week's days in season are just those of one of the two months that it lies in: then it belongs, whole, to
/// the month that the permit names.
fn week_at_an_edge(week: &Window, in_season: &dyn Fn(NaiveDate) -> bool) -> Option<()> {
    if week.from.month() == week.to.month() {
        return None;
    }
    let first = (in_season)(week.from);
    let same = |day: NaiveDate| day.month() == week.from.month();
    let alike = each_day(week.from, week.to).all(|day| (in_season)(day) == (first == same(day)));
    alike.then_some(())
}

/// A day of the month that owns a week.
fn owner_of(week: &Window, rule: Straddling) -> NaiveDate {
    match rule {
        Straddling::WhereItStarts => week.from,
        Straddling::WhereItEnds => week.to,
        Straddling::WhereMostDaysAre => later(week.from, 3),
    }
}

/// Runs of days in season that share a day with a span, each whole; a season begins anew on its first day.
fn season_runs(
    span: (NaiveDate, NaiveDate),
    seasons: &[DaySpan],
    in_season: &dyn Fn(NaiveDate) -> bool,
) -> Vec<Window> {
    const A_YEAR: u32 = 366;
    let begins =
        |day: NaiveDate| seasons.iter().any(|season| (season.from.month, season.from.day) == (day.month(), day.day()));
    let mut out: Vec<Window> = Vec::new();
    let mut open: Option<NaiveDate> = None;
    let mut close = |from: NaiveDate, to: NaiveDate| {
        if from <= span.1 && to >= span.0 {
            out.push(Window::new(from, to));
        }
    };
    let last = later(span.1, A_YEAR);
    for day in each_day(earlier(span.0, A_YEAR), last) {
        let inside = in_season(day);
        if let Some(from) = open
            && (!inside || begins(day))
        {
            close(from, before(day));
            open = None;
        }
        if inside && open.is_none() {
            open = Some(day);
        }
    }
    if let Some(from) = open {
        close(from, last);
    }
    out
}

/// `14 Mar 2025`.
pub fn day_label(day: NaiveDate) -> String {
    format!("{} {} {}", day.day(), month_name(day.month()), day.year())
}

/// `Mar 2025`.
pub fn month_label(day: NaiveDate) -> String {
    format!("{} {}", month_name(day.month()), day.year())
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
        return format!("{} {} to {}", from.day(), month_name(from.month()), day_label(to));
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

    fn whole(kind: WindowKind, from: &str, to: &str, as_of: &str, days: u32) -> Vec<Listed> {
        let cuts = Cuts { in_force: &|day| day >= d("2024-11-01"), in_season: &|_| true };
        listed(kind, (d(from), d(to)), d(as_of), days, &[], &cuts, &calendar())
    }

    fn ends(of: &Listed) -> (NaiveDate, NaiveDate) {
        (of.window.from, of.window.to)
    }

    /// A window that shares a day with the period is whole, whatever the period; one not begun is not listed.
    #[test]
    fn the_period_chooses_which_windows_are_listed_and_not_what_is_in_them() {
        let months = whole(WindowKind::Month, "2025-03-15", "2025-05-14", "2025-04-14", 0);
        assert_eq!(
            months.iter().map(ends).collect::<Vec<_>>(),
            [(d("2025-03-01"), d("2025-03-31")), (d("2025-04-01"), d("2025-04-30"))]
        );
    }

    /// In force from 1 November: windows of 30 days that begin before it can't be evaluated.
    #[test]
    fn a_rolling_window_ends_in_the_period_and_must_lie_in_force_whole() {
        let rolling = whole(WindowKind::Rolling, "2024-11-01", "2024-12-31", "2024-12-31", 30);
        let (can_be, can_not): (Vec<Listed>, Vec<Listed>) = rolling.into_iter().partition(|of| of.evaluable);
        assert_eq!((can_be.len(), can_not.len()), (32, 29));
        assert_eq!(ends(&can_be[0]), (d("2024-11-01"), d("2024-11-30")));
        assert!(can_be.iter().all(|of| of.window.days() == 30));
    }

    #[test]
    fn twelve_months_are_whole_and_there_is_none_before_the_twelfth() {
        let year = whole(WindowKind::TwelveMonths, "2024-11-01", "2025-12-31", "2025-12-31", 0);
        let can_be: Vec<&Listed> = year.iter().filter(|of| of.evaluable).collect();
        assert_eq!(can_be.len(), 3);
        assert_eq!(ends(can_be[0]), (d("2024-11-01"), d("2025-10-31")));
    }

    /// J16: the week of 26 January to 1 February against a limit that holds in January.
    #[test]
    fn a_week_over_the_edge_belongs_whole_where_the_permit_says() {
        for (rule, is_january) in
            [(Straddling::WhereItStarts, true), (Straddling::WhereItEnds, false), (Straddling::WhereMostDaysAre, true)]
        {
            let calendar = Calendar { straddling: rule, ..calendar() };
            let cuts = Cuts { in_force: &|_| true, in_season: &|day| day.month() == 1 };
            let span = (d("2025-01-26"), d("2025-02-01"));
            let weeks = listed(WindowKind::Week, span, span.1, 0, &[], &cuts, &calendar);
            let expected: Vec<(NaiveDate, NaiveDate)> = is_january.then_some(span).into_iter().collect();
            assert_eq!(weeks.iter().map(ends).collect::<Vec<_>>(), expected, "{rule:?}");
        }
    }

    #[test]
    fn a_permit_year_from_the_29_february_starts_on_the_28th_in_other_years() {
        let starts = DayOfYear { month: 2, day: 29 };
        assert_eq!(year_start(d("2025-02-27"), starts), d("2024-02-29"));
        assert_eq!(year_start(d("2025-02-28"), starts), d("2025-02-28"));
    }

    #[test]
    fn a_season_over_new_year_is_one_window_even_where_the_period_is_only_a_part_of_it() {
        let winter = DaySpan { from: DayOfYear { month: 11, day: 15 }, to: DayOfYear { month: 2, day: 10 } };
        let cuts = Cuts { in_force: &|_| true, in_season: &|day| winter.contains(day) };
        let span = (d("2025-01-01"), d("2025-10-31"));
        let runs = listed(WindowKind::Season, span, span.1, 0, &[winter], &cuts, &calendar());
        assert_eq!(runs.iter().map(ends).collect::<Vec<_>>(), [(d("2024-11-15"), d("2025-02-10"))]);
    }

    #[test]
    fn quarters_are_counted_from_the_permit_year() {
        let quarter = stretch(d("2025-03-14"), Stretch::Quarter, &calendar());
        assert_eq!((quarter.from, quarter.to), (d("2025-02-01"), d("2025-04-30")));
        let last = stretch(d("2025-10-31"), Stretch::Quarter, &calendar());
        assert_eq!((last.from, last.to), (d("2025-08-01"), d("2025-10-31")));
    }

    #[test]
    fn only_days_in_force_cut_a_month_and_it_says_so() {
        let months = whole(WindowKind::Month, "2024-10-20", "2024-12-31", "2024-12-31", 0);
        assert_eq!(months[0].window.label, "Nov 2024");
        let cuts = Cuts { in_force: &|day| day >= d("2025-01-20"), in_season: &|_| true };
        let span = (d("2025-01-01"), d("2025-02-28"));
        let cut = listed(WindowKind::Month, span, span.1, 0, &[], &cuts, &calendar());
        assert_eq!((cut[0].window.label.as_str(), cut[0].days.len()), ("20-31 Jan 2025", 12));
        let week = stretch(d("2025-03-14"), Stretch::Week, &calendar());
        assert_eq!(week.label, "week of 9 Mar 2025");
    }
}
