//! Totals over a stretch of days: what came in from outside, what went out, and what each place did.

use chrono::NaiveDate;

use crate::balance::at::WayAt;
use crate::balance::{Basis, Ledger, Node, Purpose, Way};
use crate::facility::model::PlaceId;

/// An amount of water and solids with their bases.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Amount {
    /// Water, m³.
    pub water_m3: f64,
    /// Basis of the water.
    pub water_basis: Basis,
    /// Solids, kg.
    pub solids_kg: f64,
    /// Basis of the solids.
    pub solids_basis: Basis,
    /// Days on which water moved.
    pub days: u32,
}

/// What crossed the facility's line between two dates, by outside node.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Account {
    /// From outside, in order of the nodes; unaccounted is not among them.
    pub came_in: Vec<(Node, Amount)>,
    /// To outside.
    pub went_out: Vec<(Node, Amount)>,
    /// Water that meters or levels show and the balance does not, m³.
    pub unaccounted_in_m3: f64,
    /// Water that the balance shows and meters or levels do not, m³.
    pub unaccounted_out_m3: f64,
    /// What stores hold more at the end than at the start, m³.
    pub stores_gain_m3: f64,
    /// Solids that stores and filters hold more, kg.
    pub stores_gain_kg: f64,
    /// Came in − went out − gain, m³: nought within rounding.
    pub closure_m3: f64,
}

impl Account {
    /// Everything that came in, unaccounted left out, m³.
    pub fn total_in_m3(&self) -> f64 {
        self.came_in.iter().map(|(_, amount)| amount.water_m3).sum()
    }

    /// Net unaccounted, m³: positive where more went missing than turned up.
    pub fn unaccounted_m3(&self) -> f64 {
        self.unaccounted_out_m3 - self.unaccounted_in_m3
    }
}

/// What one place did between two dates.
#[derive(Debug, Clone, PartialEq)]
pub struct PlaceTotals {
    /// The place.
    pub place: PlaceId,
    /// Everything that came to it.
    pub came: Amount,
    /// Everything that left it.
    pub left: Amount,
    /// Whole washes.
    pub washes: u32,
    /// Whole changes of bags, cartridges or rolls.
    pub changes: u32,
    /// Basis of the count of washes or changes.
    pub events_basis: Basis,
    /// Wash and rinse water it sent away.
    pub wash_water: Amount,
    /// Reject it sent away.
    pub reject: Amount,
    /// Solids it caught, kg: sent away with wash water, screenings and spent media, or still held.
    pub solids_caught_kg: f64,
    /// Basis of the solids caught.
    pub solids_caught_basis: Basis,
    /// Minutes it spent washing or being changed.
    pub minutes: f64,
}

/// Purposes by which a filter gives up what it caught.
const GIVES_UP: [Purpose; 8] = [
    Purpose::WashWater,
    Purpose::RinseWater,
    Purpose::Reject,
    Purpose::Screenings,
    Purpose::Liquor,
    Purpose::SpentMedia,
    Purpose::DrainDown,
    Purpose::Drip,
];

impl Ledger {
    /// Indices of the days between two dates, both belonging to it, that the ledger covers.
    pub fn days_between(&self, from: NaiveDate, to: NaiveDate) -> std::ops::Range<usize> {
        let index = |date: NaiveDate| usize::try_from((date - self.first_day()).num_days().max(0)).unwrap_or(0);
        let start = index(from).min(self.days());
        let end = if to < self.first_day() { start } else { (index(to) + 1).min(self.days()) };
        start..end.max(start)
    }

    /// Water and solids over the ways that `wanted` accepts.
    pub fn amount(&self, from: NaiveDate, to: NaiveDate, wanted: impl Fn(&Way) -> bool) -> Amount {
        let ways: Vec<WayAt> = self.ways().each().filter(|(_, way)| wanted(way)).map(|(at, _)| at).collect();
        let mut sum = Amount::default();
        for day in self.days_between(from, to) {
            let mut moved = false;
            for &way in &ways {
                let (water, solids) = (self.water(day, way), self.solids(day, way));
                moved |= water > 0.0;
                sum.water_m3 += water;
                sum.solids_kg += solids;
                sum.water_basis = sum.water_basis.or(self.water_basis(day, way));
                sum.solids_basis = sum.solids_basis.or(self.solids_basis(day, way));
            }
            sum.days += u32::from(moved);
        }
        let days = self.days_between(from, to).len();
        sum.water_basis = sum.water_basis.of_total(days);
        sum.solids_basis = sum.solids_basis.of_total(days);
        sum
    }

    /// What crossed the facility's line between two dates.
    pub fn account(&self, from: NaiveDate, to: NaiveDate) -> Account {
        let mut outside: Vec<Node> = self
            .ways()
            .iter()
            .flat_map(|way| [way.from, way.to])
            .filter(|node| self.is_outside(*node) && *node != Node::Unaccounted)
            .collect();
        outside.sort();
        outside.dedup();
        let inside = |node: Node| !self.is_outside(node);
        let mut account = Account::default();
        for node in outside {
            let came = self.amount(from, to, |way| way.from == node && inside(way.to));
            if came.water_m3 > 0.0 || came.solids_kg > 0.0 {
                account.came_in.push((node, came));
            }
            let went = self.amount(from, to, |way| way.to == node && inside(way.from));
            // What is not known is no nought: a pond loses to air and ground whether or not it is told how much.
            let lost = matches!(node, Node::Evaporation | Node::Seepage) && went.water_basis.has(Basis::UNKNOWN);
            if went.water_m3 > 0.0 || went.solids_kg > 0.0 || lost {
                account.went_out.push((node, went));
            }
        }
        let unaccounted_in = self.amount(from, to, |way| way.from == Node::Unaccounted && inside(way.to));
        let unaccounted_out = self.amount(from, to, |way| way.to == Node::Unaccounted && inside(way.from));
        account.unaccounted_in_m3 = unaccounted_in.water_m3;
        account.unaccounted_out_m3 = unaccounted_out.water_m3;
        let days = self.days_between(from, to);
        for held in self.held() {
            account.stores_gain_m3 += held.water(days.end) - held.water(days.start);
            account.stores_gain_kg +=
                held.solids(days.end).iter().sum::<f64>() - held.solids(days.start).iter().sum::<f64>();
        }
        let out: f64 = account.went_out.iter().map(|(_, a)| a.water_m3).sum();
        account.closure_m3 = account.total_in_m3() + account.unaccounted_in_m3
            - out
            - account.unaccounted_out_m3
            - account.stores_gain_m3;
        account
    }

    /// What one place did between two dates.
    pub fn place_totals(&self, place: PlaceId, from: NaiveDate, to: NaiveDate) -> PlaceTotals {
        let node = Node::Place(place);
        let days = self.days_between(from, to);
        let (mut washes, mut changes, mut minutes) = (0, 0, 0.0);
        let mut events_basis = Basis::default();
        if let Some(filter) = self.filter(place) {
            let events: u32 = filter.events[days.clone()].iter().sum();
            events_basis =
                filter.basis[days.clone()].iter().fold(events_basis, |all, day| all.or(*day)).of_total(days.len());
            if filter.changes {
                changes = events;
            } else {
                washes = events;
            }
            minutes = filter.minutes[days.clone()].iter().sum();
        }
        let gives_up = |way: &Way| way.from == node && GIVES_UP.contains(&way.purpose);
        let given_up = self.amount(from, to, gives_up);
        let brought =
            self.amount(from, to, |way| way.to == node && matches!(way.purpose, Purpose::WashSupply | Purpose::Spray));
        let held = self.held_at(node).map_or(0.0, |held| {
            held.solids(days.end).iter().sum::<f64>() - held.solids(days.start).iter().sum::<f64>()
        });
        let is_filter = self.filter(place).is_some();
        PlaceTotals {
            place,
            came: self.amount(from, to, |way| way.to == node),
            left: self.amount(from, to, |way| way.from == node),
            washes,
            changes,
            events_basis,
            wash_water: self.amount(from, to, |way| {
                way.from == node && matches!(way.purpose, Purpose::WashWater | Purpose::RinseWater)
            }),
            reject: self.amount(from, to, |way| way.from == node && way.purpose == Purpose::Reject),
            solids_caught_kg: if is_filter { given_up.solids_kg + held - brought.solids_kg } else { 0.0 },
            solids_caught_basis: given_up.solids_basis,
            minutes,
        }
    }
}
