//! On which days something flowed: shown by meters, looks and samples, or only computed.

use chrono::NaiveDate;

use crate::balance::{Ledger, Watch};
use crate::facility::model::{Facility, PlaceId};
use crate::records::Timeline;
use crate::rules::metered::volumes;
use crate::rules::points::{meters_on, places, selectors};
use crate::rules::readings::evidence;
use crate::rules::windows::{after, each_day};
use crate::rules::{DryLook, Evidence, Point};

/// What is known of one day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Flow {
    /// Shown by a meter, a look or a sample.
    Flowing,
    /// Shown by a meter or a look.
    Dry,
    /// The ledger's computation has water there: reason to ask, never proof.
    Computed,
    /// No record, and nothing computed: no proof of no discharge.
    NotKnown,
}

/// One day of a point.
#[derive(Debug, Clone, PartialEq)]
pub struct DayFlow {
    /// What is known.
    pub flow: Flow,
    /// What shows it.
    pub evidence: Vec<Evidence>,
}

/// The days of a point.
#[derive(Debug, Clone, PartialEq)]
pub struct DischargeDays {
    first: NaiveDate,
    days: Vec<DayFlow>,
}

/// Water below this in a day, m³, is the computation's dust and not a discharge: a thimble.
pub(crate) const DUST_M3: f64 = 1e-6;

impl DischargeDays {
    /// What is known of each day of a span.
    pub fn of(
        point: &Point,
        span: (NaiveDate, NaiveDate),
        dry_look: DryLook,
        facility: &Facility,
        timeline: &Timeline,
        ledger: Option<&Ledger>,
    ) -> Self {
        let mut days = Self::not_known(span);
        let places = match point {
            Point::Places(places) if places.len() > 1 => places.clone(),
            _ => {
                days.fill(point, dry_look, facility, timeline, ledger);
                return days;
            }
        };
        let each: Vec<Self> = places
            .iter()
            .map(|place| {
                Self::of(
                    &Point::Places(vec![*place]),
                    span,
                    dry_look,
                    facility,
                    timeline,
                    ledger,
                )
            })
            .collect();
        for (at, day) in days.days.iter_mut().enumerate() {
            let of: Vec<&DayFlow> = each.iter().filter_map(|days| days.days.get(at)).collect();
            let any = |flow: Flow| of.iter().any(|day| day.flow == flow);
            day.flow = if any(Flow::Flowing) {
                Flow::Flowing
            } else if any(Flow::Computed) {
                Flow::Computed
            } else if any(Flow::NotKnown) {
                Flow::NotKnown
            } else {
                Flow::Dry
            };
            day.evidence = of.iter().flat_map(|day| day.evidence.clone()).collect();
        }
        days
    }

    /// Nothing known of any day.
    pub fn not_known(span: (NaiveDate, NaiveDate)) -> Self {
        let nothing = DayFlow {
            flow: Flow::NotKnown,
            evidence: Vec::new(),
        };
        Self {
            first: span.0,
            days: each_day(span.0, span.1).map(|_| nothing.clone()).collect(),
        }
    }

    fn fill(
        &mut self,
        point: &Point,
        dry_look: DryLook,
        facility: &Facility,
        timeline: &Timeline,
        ledger: Option<&Ledger>,
    ) {
        if let Some(ledger) = ledger {
            for selector in selectors(point, facility) {
                let series = ledger.series(&Watch::Water(selector));
                for (at, volume) in series.values.iter().enumerate() {
                    if *volume > DUST_M3 {
                        self.set(series.date(at), Flow::Computed, Vec::new());
                    }
                }
            }
        }
        self.see_meters(point, facility, timeline, ledger);
        let at = places(point);
        self.see_looks(&at, dry_look, timeline);
        for sample in timeline
            .samples
            .iter()
            .filter(|sample| at.contains(&sample.at) && sample.value.is_some())
        {
            let text = format!("a sample was taken ({})", sample.parameter);
            self.set(
                sample.day,
                Flow::Flowing,
                vec![evidence(sample.day, text, &sample.source)],
            );
        }
    }

    fn see_meters(
        &mut self,
        point: &Point,
        facility: &Facility,
        timeline: &Timeline,
        ledger: Option<&Ledger>,
    ) {
        let meters = meters_on(point, facility, ledger);
        if meters.meters.is_empty() {
            return;
        }
        let spans = volumes(&meters, facility, timeline);
        for (at, day) in self.days.iter_mut().enumerate() {
            let date =
                crate::rules::windows::later(self.first, u32::try_from(at).unwrap_or(u32::MAX));
            let touching: Vec<_> = spans.iter().filter(|span| span.covers(date)).collect();
            let shown = || {
                touching
                    .iter()
                    .flat_map(|span| span.evidence.clone())
                    .collect::<Vec<_>>()
            };
            if touching
                .iter()
                .any(|span| span.days() == 1 && !span.value.low.is_zero())
            {
                *day = DayFlow {
                    flow: Flow::Flowing,
                    evidence: shown(),
                };
            } else if meters.complete
                && touching.len() >= meters.meters.len()
                && touching.iter().all(|span| span.value.high.is_zero())
            {
                *day = DayFlow {
                    flow: Flow::Dry,
                    evidence: shown(),
                };
            }
        }
    }

    fn see_looks(&mut self, at: &[PlaceId], dry_look: DryLook, timeline: &Timeline) {
        let looks: Vec<_> = timeline
            .looks
            .iter()
            .filter(|look| at.contains(&look.at))
            .collect();
        let mut last_dry: Option<NaiveDate> = None;
        for look in &looks {
            let text = if look.flowing {
                "looked at: flowing"
            } else {
                "looked at: dry"
            };
            let shown = vec![evidence(look.day, text.to_owned(), &look.source)];
            if look.flowing {
                self.set(look.day, Flow::Flowing, shown);
                last_dry = None;
                continue;
            }
            if self.on(look.day) != Flow::Flowing {
                self.set(look.day, Flow::Dry, shown.clone());
            }
            if let (DryLook::SinceTheLastDryLook, Some(last)) = (dry_look, last_dry) {
                for day in each_day(after(last), look.day) {
                    if self.on(day) == Flow::NotKnown {
                        self.set(day, Flow::Dry, shown.clone());
                    }
                }
            }
            last_dry = Some(look.day);
        }
    }

    fn set(&mut self, date: NaiveDate, flow: Flow, mut evidence: Vec<Evidence>) {
        let index = usize::try_from((date - self.first).num_days()).ok();
        if let Some(day) = index.and_then(|index| self.days.get_mut(index)) {
            if day.flow == flow {
                day.evidence.append(&mut evidence);
            } else {
                *day = DayFlow { flow, evidence };
            }
        }
    }

    /// What is known of a date; outside the span, nothing.
    pub fn on(&self, date: NaiveDate) -> Flow {
        self.day(date).map_or(Flow::NotKnown, |day| day.flow)
    }

    /// A day with what shows it.
    pub fn day(&self, date: NaiveDate) -> Option<&DayFlow> {
        self.days
            .get(usize::try_from((date - self.first).num_days()).ok()?)
    }

    /// Days from, to on which something flowed, shown or computed.
    pub fn discharging(&self, from: NaiveDate, to: NaiveDate) -> Vec<NaiveDate> {
        each_day(from, to)
            .filter(|day| matches!(self.on(*day), Flow::Flowing | Flow::Computed))
            .collect()
    }

    /// Whether every day from, to is shown dry.
    pub fn all_dry(&self, from: NaiveDate, to: NaiveDate) -> bool {
        each_day(from, to).all(|day| self.on(day) == Flow::Dry)
    }
}
