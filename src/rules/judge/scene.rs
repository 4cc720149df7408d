//! What a limit is judged on, worked out once for all ways to count: its days, its water, its samples.

use std::cell::RefCell;
use std::collections::BTreeMap;

use chrono::{Datelike, NaiveDate};

use crate::quantity::units;
use crate::rules::judge::case::Case;
use crate::rules::measure::conditions;
use crate::rules::measure::points::places;
use crate::rules::measure::readings::Reading;
use crate::rules::measure::storm::Storms;
use crate::rules::measure::{Amounts, Flows, Refused, Sampled, levels, rates, samples, wash_log};
use crate::rules::window::statistics::{Fold, Shape};
use crate::rules::window::windows::{Calendar, Cuts, Listed, WindowKind, each_day, listed};
use crate::rules::{Counted, Divisor, DryLook, Limit, Matters, Subject, Switch, Weighting};

/// A limit with everything on file that bears on it.
pub(crate) struct Scene<'a> {
    /// The limit.
    pub limit: &'a Limit,
    /// The case.
    pub case: &'a Case<'a>,
    /// Water on its ways, looks and samples there.
    pub flows: Flows,
    /// Results at each of its places, in the limit's unit (of loads and removals in kg/m³).
    pub values: Vec<Vec<Sampled>>,
    /// Results at the first point of a removal, in kg/m³.
    pub entering: Vec<Sampled>,
    /// Washes or changes logged.
    pub washes: Amounts,
    /// Rates read and metered.
    pub rates: Vec<Reading>,
    /// Results that can't be used, and why.
    pub refused: Vec<Refused>,
    /// Storms that excuse a discharge.
    pub storms: Option<Storms>,
    conditions: RefCell<BTreeMap<NaiveDate, Option<bool>>>,
}

impl<'a> Scene<'a> {
    /// Gathers it.
    pub fn new(limit: &'a Limit, case: &'a Case<'a>) -> Self {
        let as_of = case.as_of;
        let dry_look = limit.counting.dry_look.is().unwrap_or(DryLook::ThatDay);
        let mut flows = Flows::of(&limit.at, dry_look, case.facility, case.timeline, case.ledger, as_of);
        if limit.bound.lower().is_some() && !matches!(limit.subject, Subject::Discharge) {
            flows.forget_carried();
        }
        let mut refused = Vec::new();
        let found = |parameter: &str, place, unit, refused: &mut Vec<Refused>| {
            samples(limit, case, parameter, place, unit, refused)
        };
        let at = places(&limit.at);
        let mut values = Vec::new();
        let mut entering = Vec::new();
        match &limit.subject {
            Subject::Parameter(parameter) => {
                let unit = limit.bound.unit.as_ref();
                values = at.iter().map(|place| found(parameter, *place, unit, &mut refused)).collect();
            }
            Subject::Load(parameter) => {
                values = at.iter().map(|place| found(parameter, *place, Some(&units::KG_M3), &mut refused)).collect();
            }
            Subject::Removal(parameter, first) => {
                values = at.iter().map(|place| found(parameter, *place, Some(&units::KG_M3), &mut refused)).collect();
                entering = found(parameter, *first, Some(&units::KG_M3), &mut refused);
            }
            Subject::Stage(kind) => {
                values =
                    at.iter().map(|place| levels(limit, *kind, *place, case.facility, case.timeline, as_of)).collect();
            }
            _ => {}
        }
        let rates =
            if limit.subject == Subject::Rate { rates(limit, case, &flows.meters, &mut refused) } else { Vec::new() };
        let washes = if limit.subject == Subject::Events {
            let name = limit.parameter.as_deref().unwrap_or_default();
            let changes = name.trim().eq_ignore_ascii_case("changes");
            wash_log(&at, changes, case.facility, case.timeline, as_of)
        } else {
            Amounts::default()
        };
        let storms = limit.except.as_ref().filter(|_| limit.subject == Subject::Discharge).map(|except| {
            Storms::of(except, limit.counting.level_holds_days, case.facility, case.timeline, case.weather, as_of)
        });
        Self { limit, case, flows, values, entering, washes, rates, refused, storms, conditions: RefCell::default() }
    }

    /// Whether the permit and this version of the limit are in force.
    pub fn in_force(&self, day: NaiveDate) -> bool {
        in_force(self.limit, self.case, day)
    }

    /// Whether a day lies in the limit's seasons and months.
    pub fn in_season(&self, day: NaiveDate) -> bool {
        self.limit.holds.in_season(day)
    }

    /// Whether a day is one of the limit's weekdays.
    pub fn on_weekday(&self, day: NaiveDate) -> bool {
        let days = self.limit.holds.weekdays;
        days.is_none_or(|days| days.contains(day.weekday()))
    }

    /// The days of a listed window that are under the limit, as far as is known.
    pub fn days_of(&self, window: &Listed) -> Vec<NaiveDate> {
        let days = window.days.iter().copied();
        days.filter(|day| self.condition(*day) != Some(false) && self.on_weekday(*day)).collect()
    }

    /// Whether the tier's conditions hold on a day; none where that is not on file.
    pub fn condition(&self, day: NaiveDate) -> Option<bool> {
        if self.limit.only_when.is_empty() {
            return Some(true);
        }
        *self.conditions.borrow_mut().entry(day).or_insert_with(|| {
            conditions::hold(&self.limit.only_when, day, self.case.facility, self.case.timeline, self.case.weather)
        })
    }

    /// Whether a day is under the limit, as far as is known.
    pub fn holds(&self, day: NaiveDate) -> bool {
        self.in_force(day) && self.limit.holds.on(day) && self.condition(day) != Some(false)
    }

    /// The days of the period that are under the limit and have ended by the day of judgement.
    pub fn days(&self) -> Vec<NaiveDate> {
        let (from, to) = self.case.period;
        each_day(from, to.min(self.case.as_of)).filter(|day| self.holds(*day)).collect()
    }

    /// Whether the limit was in force on any day of the period.
    pub fn ever_in_force(&self) -> bool {
        let (from, to) = self.case.period;
        each_day(from, to).any(|day| self.in_force(day) && self.limit.holds.on(day))
    }

    /// Weeks and years under one way to count.
    pub fn calendar(&self, counted: &Counted) -> Calendar {
        crate::rules::predict::plan::calendar(self.case.rules, counted)
    }

    /// The windows listed under one way to count.
    pub fn windows(&self, counted: &Counted) -> Vec<Listed> {
        // A week has begun for a limit for some weekdays with the first of these.
        let cut = !matches!(self.limit.statistic.window, WindowKind::Rolling | WindowKind::TwelveMonths);
        let begun = |day: &NaiveDate| *day <= self.case.as_of && self.on_weekday(*day);
        listed(
            self.limit.statistic.window,
            self.case.period,
            self.case.as_of,
            self.limit.days,
            &self.limit.holds.seasons,
            &Cuts { in_force: &|day| self.in_force(day), in_season: &|day| self.in_season(day) },
            &self.calendar(counted),
        )
        .into_iter()
        .filter(|window| !cut || window.days.iter().any(begun))
        .collect()
    }

    /// Which switches can change what is judged, given what is on file.
    pub fn matters(&self) -> Matters {
        let limit = self.limit;
        let sampled = matches!(limit.subject, Subject::Parameter(_) | Subject::Load(_) | Subject::Removal(..));
        let level = matches!(limit.subject, Subject::Stage(_));
        let all = || self.values.iter().chain([&self.entering]);
        let several = (sampled || level)
            && limit.statistic.by_day
            && all().any(|of| {
                of.windows(2).any(|two| match two {
                    [a, b] => a.day == b.day,
                    _ => false,
                })
            });
        let below_detection = sampled && all().any(|of| of.iter().any(Sampled::is_below));
        let divides = limit.statistic.divides;
        let divisors = if divides { allowed_divisors(limit) } else { Vec::new() };
        let has_flows = self.flows.of.iter().any(|of| of.water.channels.iter().any(|c| !c.pieces.is_empty()));
        let weekly_duty = limit.sample.as_ref().is_some_and(|duty| duty.how_often.is_by_week());
        let weekly = limit.statistic.window == WindowKind::Week;
        Matters {
            several,
            below_detection,
            divisors,
            weighting: divides && matches!(limit.subject, Subject::Parameter(_)) && has_flows,
            week: weekly || weekly_duty,
            straddling: weekly && !(limit.holds.seasons.is_empty() && limit.holds.months.is_empty()),
        }
    }

    /// Whether places are judged each by itself: a concentration or a level that is not weighed by flow.
    pub fn place_by_place(&self, counted: &Counted) -> bool {
        self.values.len() > 1
            && match self.limit.subject {
                Subject::Parameter(_) => counted.weighting != Weighting::FlowWeighted,
                Subject::Stage(_) | Subject::Removal(..) => true,
                _ => false,
            }
    }
}

/// The divisors that apply to a limit: calendar days to water and loads only, unless typed at the limit itself; days with
/// a discharge to what is discharged.
pub(crate) fn allowed_divisors(limit: &Limit) -> Vec<Divisor> {
    let typed_here = limit.counting.divisor_of_limit && limit.counting.divisor == Switch::Is(Divisor::CalendarDays);
    match limit.subject {
        Subject::Water | Subject::Load(_) | Subject::Events => Divisor::ALL.to_vec(),
        Subject::Stage(_) if typed_here => vec![Divisor::CalendarDays],
        Subject::Stage(_) => vec![Divisor::DaysSampled],
        _ if typed_here => Divisor::ALL.to_vec(),
        _ => vec![Divisor::DaysSampled, Divisor::DaysWithDischarge],
    }
}

/// Whether the permit and a version of a limit are in force on a day.
pub(crate) fn in_force(limit: &Limit, case: &Case<'_>, day: NaiveDate) -> bool {
    case.rules.in_force.is_none_or(|(first, last)| first <= day && day <= last) && limit.holds.in_dates(day)
}

/// Whether a statistic divides or folds samples, so that a typed number of them is asked for.
pub(crate) fn counts_samples(limit: &Limit) -> bool {
    matches!(limit.statistic.shape, Shape::Window(Fold::Average | Fold::Geometric | Fold::Allowance | Fold::Removal))
}
