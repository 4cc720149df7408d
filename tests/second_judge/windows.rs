//! Which windows a limit is judged in, and the days of each.

use super::days::{Day, date, day, first_of_month, last_of_month, leap, month_of, months_on, weekday};
use super::given::{Belongs, Limit, OfYear, Said, Site, Window};

#[derive(Clone, Debug)]
pub struct Stretch {
    /// The days judged.
    pub days: Vec<Day>,
    /// Its first and last day, weekdays aside.
    pub first: Day,
    pub last: Day,
    /// Lies in force and in season as it must.
    pub evaluable: bool,
}

pub fn in_force(site: &Site, limit: &Limit, day: Day) -> bool {
    let within =
        |from: Option<Day>, to: Option<Day>| from.is_none_or(|from| from <= day) && to.is_none_or(|to| day <= to);
    let file = site.in_force.is_none_or(|(from, to)| from <= day && day <= to);
    file && within(limit.in_force.0, limit.in_force.1)
}

fn of_year_in(of: OfYear, year: i64) -> OfYear {
    if of == (2, 29) && !leap(year) { (2, 28) } else { of }
}

pub fn in_season(limit: &Limit, at: Day) -> bool {
    let (year, month, of_month) = date(at);
    let season = limit.season.is_none_or(|(from, to)| {
        let (from, to, now) = (of_year_in(from, year), of_year_in(to, year), (month, of_month));
        if from <= to { from <= now && now <= to } else { now >= from || now <= to }
    });
    let months = limit
        .months
        .is_none_or(|(from, to)| if from <= to { from <= month && month <= to } else { month >= from || month <= to });
    season && months
}

pub fn chosen(limit: &Limit, day: Day) -> bool {
    limit.weekdays.is_none_or(|(from, to)| {
        let now = weekday(day);
        if from <= to { from <= now && now <= to } else { now >= from || now <= to }
    })
}

fn year_start(site: &Site, at: Day) -> Day {
    let (year, month, of_month) = date(at);
    let (m, d) = site.year_starts;
    if (month, of_month) >= (m, d) { day(year, m, d) } else { day(year - 1, m, d) }
}

/// A week over a month's edge is whole the one month's or the other's: its days where the edge is also the season's.
fn week_days(limit: &Limit, first: Day, belongs: Belongs) -> Vec<Day> {
    let days: Vec<Day> = (first..first + 7).collect();
    let last = first + 6;
    let inside = |day: &Day| in_season(limit, *day);
    if month_of(first) != month_of(last) {
        let edge = last_of_month(month_of(first));
        if in_season(limit, edge) != in_season(limit, edge + 1) {
            let of_first = match belongs {
                Belongs::Starts => true,
                Belongs::Ends => false,
                Belongs::Most => edge - first + 1 > 3,
            };
            let side = if of_first { edge } else { edge + 1 };
            return if in_season(limit, side) { days } else { Vec::new() };
        }
    }
    days.into_iter().filter(|day| inside(day)).collect()
}

/// The windows listed: every one that shares a day with the period and has begun.
pub fn listed(site: &Site, limit: &Limit, said: &Said) -> Vec<Stretch> {
    let (from, to) = site.period;
    let near = || (from - 800)..=(to + 800);
    let whole: Vec<(Vec<Day>, bool)> = match limit.statistic.window() {
        Window::Day => (from..=to).filter(|d| in_season(limit, *d)).map(|d| (vec![d], true)).collect(),
        Window::Week => ((from - 7)..=to)
            .filter(|d| weekday(*d) == said.week_starts)
            .map(|d| (week_days(limit, d, said.belongs), true))
            .collect(),
        Window::Month => {
            let mut months = vec![month_of(from)];
            while last_of_month(months[months.len() - 1]) < to {
                months.push(months_on(months[months.len() - 1], 1));
            }
            let days_of = |m| first_of_month(m)..=last_of_month(m);
            months
                .into_iter()
                .map(|m| {
                    let days = days_of(m).filter(|d| in_season(limit, *d)).collect();
                    (days, true)
                })
                .collect()
        }
        Window::Season => {
            let mut runs: Vec<Vec<Day>> = Vec::new();
            for d in near().filter(|d| in_season(limit, *d)) {
                match runs.last_mut() {
                    Some(run) if run[run.len() - 1] + 1 == d => run.push(d),
                    _ => runs.push(vec![d]),
                }
            }
            runs.into_iter().map(|run| (run, true)).collect()
        }
        Window::Year => {
            let mut starts: Vec<Day> = near().map(|d| year_start(site, d)).collect();
            starts.dedup();
            starts
                .windows(2)
                .map(|pair| {
                    let days = (pair[0]..pair[1]).filter(|d| in_season(limit, *d));
                    (days.collect(), true)
                })
                .collect()
        }
        Window::Rolling(n) => (from..=to)
            .map(|last| ((last - n + 1..=last).collect::<Vec<Day>>(), last))
            .map(|(days, last)| {
                let whole = days.iter().all(|d| in_season(limit, *d) && in_force(site, limit, *d));
                if whole || (in_season(limit, last) && in_force(site, limit, last)) {
                    (days, whole)
                } else {
                    (Vec::new(), whole)
                }
            })
            .collect(),
        Window::TwelveMonths => {
            let mut month = month_of(from);
            let mut windows = Vec::new();
            while first_of_month(month) <= to {
                let first = first_of_month(months_on(month, -11));
                let days: Vec<Day> = (first..=last_of_month(month)).collect();
                let whole = days.iter().all(|d| in_force(site, limit, *d) && in_season(limit, *d));
                if days.iter().rev().take(28).any(|d| in_force(site, limit, *d)) {
                    windows.push((days, whole));
                }
                month = months_on(month, 1);
            }
            windows
        }
    };
    let by_last_day = matches!(limit.statistic.window(), Window::Rolling(_) | Window::TwelveMonths);
    let mut out = Vec::new();
    for (days, evaluable) in whole {
        let cut: Vec<Day> = days.into_iter().filter(|d| by_last_day || in_force(site, limit, *d)).collect();
        let (Some(begins), Some(last)) = (cut.first().copied(), cut.last().copied()) else {
            continue;
        };
        let judged: Vec<Day> = cut.iter().copied().filter(|d| chosen(limit, *d)).collect();
        let Some(first) = judged.first().copied() else {
            continue;
        };
        let lists = if by_last_day {
            last <= site.as_of
        } else {
            cut.iter().any(|d| from <= *d && *d <= to) && first <= site.as_of
        };
        if lists {
            out.push(Stretch { days: judged, first: begins, last, evaluable });
        }
    }
    out
}
