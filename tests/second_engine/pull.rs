//! Who asks for how much, who gets how much, and what leaves the stores for it (A to E of a step).

use std::collections::{BTreeMap, BTreeSet};

use bywash::balance::{Node, Purpose};
use bywash::facility::kinds::{FilterKind, GravityScreen, MicroscreenDrum, VibratingScreen};
use bywash::facility::model::{PlaceId, PlaceKind, WashWater};

use super::filters::{self, Pass, Question};
use super::given;
use super::step::{A_FLOW_M3, Step};

/// A request at a supply or store.
#[derive(Debug, Clone, Copy)]
struct Ask {
    rank: u32,
    by: Taker,
    amount: f64,
}

/// Who asks: something that takes water, or a filter's clean wash water.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Taker {
    Line(PlaceId),
    Wash(PlaceId),
    /// The hose or the spray of a screen.
    Hose(PlaceId),
}

/// What the pull lines got.
#[derive(Debug, Clone, Default)]
pub struct Pulled {
    /// Water granted by supplies and stores, m³.
    pub grants: BTreeMap<(PlaceId, Taker), f64>,
    /// What each taker asked a filter for, net.
    pub asked: BTreeMap<(PlaceId, PlaceId), f64>,
    /// What each filter gives each taker, net.
    pub given: BTreeMap<(PlaceId, PlaceId), f64>,
    /// How the step goes through each pull filter.
    pub passes: BTreeMap<PlaceId, Pass>,
    /// What meters say of draws, from supplies, stores and filters.
    pub metered: BTreeMap<(PlaceId, Taker), f64>,
}

impl Pulled {
    /// Whether a meter sits on a pull filter's inlet or on what it gives.
    pub fn measured(&self, filter: PlaceId) -> bool {
        self.metered.keys().any(|(from, by)| *from == filter || *by == Taker::Line(filter))
    }

    /// Whether meters say all that a filter takes in.
    fn all_metered(&self, filter: PlaceId, sources: &[PlaceId]) -> bool {
        sources.iter().all(|from| self.metered.contains_key(&(*from, Taker::Line(filter))))
    }

    fn metered_to(&self, taker: PlaceId) -> f64 {
        granted_to(&self.metered, Taker::Line(taker))
    }
}

impl Step<'_, '_> {
    /// Net water wanted by uses, transfers and stores filled through a filter.
    fn wants(&self) -> BTreeMap<PlaceId, f64> {
        let mut wants = BTreeMap::new();
        for id in self.site.ids() {
            let want = match self.site.kind(id) {
                PlaceKind::Use(of) if self.holds(&of.when) => given::demand(&of.amount) * self.days,
                PlaceKind::Transfer(of) if self.holds(&of.when) => given::demand(&of.amount) * self.days,
                PlaceKind::Use(_) | PlaceKind::Transfer(_) => 0.0,
                _ => match self.site.fill_rule(id) {
                    Some(rule) if rule.from.iter().any(|from| self.site.is_filter(*from)) => {
                        if rule.when.as_ref().is_none_or(|when| self.holds(when)) {
                            (self.fill_volume(id) - self.state.stores[&id].volume).max(0.0)
                        } else {
                            0.0
                        }
                    }
                    _ => continue,
                },
            };
            wants.insert(id, want);
        }
        wants
    }

    /// Concentration that counts at the inlet of a pull filter, kg/m³ by parcel: the first source's at opening.
    fn counted_inlet(&self, filter: PlaceId) -> Vec<f64> {
        let Some(source) = self.site.sources(filter).first().copied() else {
            return Vec::new();
        };
        if self.site.is_filter(source) {
            let caught = &self.eta[&source];
            self.counted_inlet(source).iter().zip(caught).map(|(c, e)| c * (1.0 - e)).collect()
        } else {
            self.opening[&source].solids.clone()
        }
    }

    /// The question put to a pull filter.
    fn question(&self, filter: PlaceId) -> Question<'_> {
        let caught = self.counted_inlet(filter).iter().zip(&self.eta[&filter]).map(|(c, e)| c * e).sum();
        Question {
            filter: self.site.filter(filter).expect("a filter"),
            before: &self.state.filters[&filter],
            caught_kg_m3: caught,
            days: self.days,
            hours: self.site.line_hours(filter),
            roll_left_m: self.state.filters[&filter].roll_left_m,
            starts_day: self.starts_day,
            log: self.today.logs.get(&filter).copied().unwrap_or_default(),
        }
    }

    /// C and D: needs, requests, grants.
    pub fn pull(&mut self) -> Pulled {
        let site = self.site;
        let wants = self.wants();
        let leaves_first = site.filters_leaves_first();
        let mut pulled = Pulled::default();
        let mut unmet = wants.clone();
        let mut left: BTreeMap<PlaceId, f64> = self.limit_left.clone();
        for (id, store) in &self.state.stores {
            left.insert(*id, store.drawable_m3());
        }
        self.force_metered(&mut pulled, &mut left);
        for (leaf, amount) in &mut unmet {
            let straight: f64 = self
                .site
                .fill_rule(*leaf)
                .map_or(&[][..], |rule| &rule.from)
                .iter()
                .filter(|from| !self.site.is_filter(**from))
                .filter_map(|from| self.today.meter(*from, *leaf, Purpose::TopUp))
                .sum();
            *amount = (*amount - pulled.metered_to(*leaf) - straight).max(0.0);
        }

        for round in 0..4 {
            let mut asks: BTreeMap<PlaceId, Vec<Ask>> = BTreeMap::new();
            for (leaf, amount) in &unmet {
                let Some(source) = site.sources(*leaf).get(round).copied() else {
                    continue;
                };
                if let Some(metered) = pulled.metered.get(&(source, Taker::Line(*leaf))) {
                    if site.is_filter(source) {
                        pulled.asked.insert((source, *leaf), *metered);
                    }
                    continue;
                }
                if *amount <= 0.0 {
                    continue;
                }
                if site.is_filter(source) {
                    *pulled.asked.entry((source, *leaf)).or_insert(0.0) += amount;
                } else {
                    let ask = Ask { rank: site.turn(*leaf), by: Taker::Line(*leaf), amount: *amount };
                    asks.entry(source).or_default().push(ask);
                }
            }
            let mut wanted = BTreeMap::new();
            for filter in &leaves_first {
                let need: f64 = sum_for(&pulled.asked, *filter);
                let sources = site.sources(*filter);
                let by_meters = pulled.all_metered(*filter, &sources);
                let pass = if by_meters {
                    // Meters say what comes: counted by that from the start.
                    filters::for_gross(&self.question(*filter), pulled.metered_to(*filter))
                } else {
                    filters::for_net(&self.question(*filter), need)
                };
                let source = sources[round.min(sources.len() - 1)];
                let key = (source, Taker::Line(*filter));
                let others: f64 = pulled.metered_to(*filter)
                    + pulled
                        .grants
                        .iter()
                        .filter(|(by, _)| by.1 == Taker::Line(*filter) && !pulled.metered.contains_key(by))
                        .map(|(_, amount)| amount)
                        .sum::<f64>();
                if let Some(metered) = pulled.metered.get(&key) {
                    if site.is_filter(source) {
                        pulled.asked.insert((source, *filter), *metered);
                    }
                } else if site.is_filter(source) {
                    pulled.asked.insert((source, *filter), (pass.gross - others).max(0.0));
                } else if pass.gross > others {
                    let ask = Ask { rank: site.turn(*filter), by: Taker::Line(*filter), amount: pass.gross - others };
                    asks.entry(source).or_default().push(ask);
                }
                let by = Taker::Wash(*filter);
                // A meter before it may have brought more than was asked for: that went through too, and washes count it.
                let passed: f64 = pulled.given.iter().filter(|((from, _), _)| from == filter).map(|(_, v)| v).sum();
                let clean = if passed > need && !by_meters {
                    filters::for_net(&self.question(*filter), passed).clean
                } else {
                    pass.clean
                };
                let lacks = clean - granted_to(&pulled.grants, by);
                if let Some(from) = self.clean_wash_from(*filter)
                    && lacks > 1e-12 * clean
                    && !pulled.metered.contains_key(&(from, by))
                {
                    asks.entry(from).or_default().push(Ask { rank: 0, by, amount: lacks });
                }
                wanted.insert(*filter, pass);
            }
            if round == 0 {
                for (filter, from, amount) in self.hoses() {
                    let needed = wanted.get(&filter).is_none_or(|pass| pass.gross > 0.0);
                    let by = Taker::Hose(filter);
                    if needed && !pulled.metered.contains_key(&(from, by)) {
                        let ask = Ask { rank: 0, by, amount };
                        asks.entry(from).or_default().push(ask);
                    }
                }
            }
            grant(&asks, &mut left, &mut pulled.grants);
            self.deliver(&leaves_first, &wanted, &mut pulled);
            for (leaf, want) in &wants {
                let got = granted_to(&pulled.grants, Taker::Line(*leaf))
                    + pulled.given.iter().filter(|((_, to), _)| to == leaf).map(|(_, v)| v).sum::<f64>();
                let lacks = want - got;
                unmet.insert(*leaf, if lacks > 1e-12 * want { lacks } else { 0.0 });
            }
        }
        self.give_back_unused(&leaves_first, &mut pulled, &mut left);
        for (leaf, lacks) in &unmet {
            if *lacks > 0.0 {
                *self.out.short.entry(*leaf).or_insert(0.0) += lacks;
            }
        }
        for (place, limit) in &mut self.limit_left {
            *limit = left[place];
        }
        pulled
    }

    /// Only grants that are used are drawn: a filter that is short may wash less often and then has water to spare.
    fn give_back_unused(&self, leaves_first: &[PlaceId], pulled: &mut Pulled, left: &mut BTreeMap<PlaceId, f64>) {
        let mut wanted: BTreeMap<PlaceId, Pass> = pulled.passes.clone();
        for filter in leaves_first {
            let pass = pulled.passes[filter].clone();
            let taken: f64 = pulled.given.iter().filter(|((from, _), _)| from == filter).map(|(_, v)| v).sum();
            let spare = pass.net - taken;
            if spare <= 1e-12 * pass.net {
                continue;
            }
            let mut back = spare;
            for source in self.site.sources(*filter).into_iter().rev() {
                let key = (source, Taker::Line(*filter));
                if pulled.metered.contains_key(&key) {
                    continue;
                }
                let had = if self.site.is_filter(source) {
                    pulled.given.get_mut(&(source, *filter))
                } else {
                    pulled.grants.get_mut(&key)
                };
                if let Some(had) = had {
                    let less = back.min(*had);
                    *had -= less;
                    back -= less;
                    if let Some(room) = left.get_mut(&source) {
                        *room += less;
                    }
                }
            }
            let gross = pass.gross - spare + back;
            let mut again = filters::for_gross(&self.question(*filter), gross);
            if again.count != pass.count {
                again = pass.clone();
                again.gross = gross;
            }
            again.net = taken + back;
            wanted.insert(*filter, again);
        }
        pulled.passes = wanted;
        // Clean water is for washes that are made, a spray runs while water flows.
        for ((source, by), granted) in &mut pulled.grants {
            if pulled.metered.contains_key(&(*source, *by)) {
                continue;
            }
            let used = match by {
                Taker::Wash(filter) => granted.min(pulled.passes[filter].clean),
                Taker::Hose(filter) if pulled.passes.get(filter).is_some_and(|pass| pass.gross <= A_FLOW_M3) => 0.0,
                _ => continue,
            };
            if let Some(room) = left.get_mut(source) {
                *room += *granted - used;
            }
            *granted = used;
        }
    }

    /// Water for hoses and sprays: known beforehand, so asked for with the clean wash water.
    fn hoses(&self) -> Vec<(PlaceId, PlaceId, f64)> {
        let mut all = Vec::new();
        for id in self.site.ids() {
            match self.site.filter(id).map(|filter| &filter.kind) {
                Some(FilterKind::GravityScreen(GravityScreen { hosed_down: Some(hose) })) => {
                    let day = given::m3_d(&hose.flow) * given::days(&hose.lasts) * given::share(&hose.times_a_day);
                    all.push((id, hose.with, day * self.days));
                }
                Some(FilterKind::VibratingScreen(VibratingScreen { spray: Some(spray), .. }))
                    if self.site.is_pull_filter(id) =>
                {
                    let day = given::m3_d(&spray.flow) * given::share(&spray.part_of_the_time);
                    let part = self.site.line_hours(id) / 24.0;
                    all.push((id, spray.with, day * part * self.days));
                }
                _ => {}
            }
        }
        all.retain(|(.., amount)| *amount > 0.0);
        all
    }

    /// The place whose clean water washes or rinses a filter, or sprays it.
    pub fn clean_wash_from(&self, id: PlaceId) -> Option<PlaceId> {
        let filter = self.site.filter(id)?;
        let with = match &filter.kind {
            FilterKind::MicroscreenDrum(MicroscreenDrum { rinse, .. }) => rinse.with,
            _ => filter.wash.as_ref()?.with,
        };
        match with {
            WashWater::From(place) => Some(place),
            WashWater::OwnFiltered => None,
        }
    }

    /// Metered draws are taken as read, and set aside before anybody is granted anything.
    fn force_metered(&self, pulled: &mut Pulled, left: &mut BTreeMap<PlaceId, f64>) {
        for taker in self.site.ids() {
            let purpose = if self.site.is_store(taker) { Purpose::TopUp } else { Purpose::Water };
            for source in self.site.sources(taker) {
                if let Some(metered) = self.today.meter(source, taker, purpose) {
                    pulled.metered.insert((source, Taker::Line(taker)), metered);
                }
            }
            if self.site.is_pull_filter(taker)
                && let Some(from) = self.clean_wash_from(taker)
                && let Some(metered) = self.today.meter(from, taker, Purpose::WashSupply)
            {
                pulled.metered.insert((from, Taker::Wash(taker)), metered);
            }
        }
        for (filter, from, _) in self.hoses() {
            if let Some(metered) = self.today.meter(from, filter, Purpose::Spray) {
                pulled.metered.insert((from, Taker::Hose(filter)), metered);
            }
        }
        for ((source, by), metered) in &pulled.metered {
            if !self.site.is_filter(*source) {
                pulled.grants.insert((*source, *by), *metered);
                *left.entry(*source).or_insert(f64::INFINITY) -= metered;
            }
        }
        for amount in left.values_mut() {
            *amount = amount.max(0.0);
        }
    }

    /// What each pull filter makes of what it was granted, from the source towards the uses.
    fn deliver(&self, leaves_first: &[PlaceId], wanted: &BTreeMap<PlaceId, Pass>, pulled: &mut Pulled) {
        pulled.given.clear();
        for filter in leaves_first.iter().rev() {
            let gross = granted_to(&pulled.grants, Taker::Line(*filter))
                + pulled.given.iter().filter(|((_, to), _)| to == filter).map(|(_, v)| v).sum::<f64>();
            let want = &wanted[filter];
            let other = (gross - want.gross).abs() > 1e-12 * want.gross
                || pulled.all_metered(*filter, &self.site.sources(*filter));
            let pass = if other { filters::for_gross(&self.question(*filter), gross) } else { want.clone() };
            let forced_in = pulled.metered.keys().any(|(_, by)| *by == Taker::Line(*filter));
            let mut left = pass.net;
            let takers: Vec<(u32, PlaceId, f64)> = pulled
                .asked
                .iter()
                .filter(|((from, _), _)| from == filter)
                .map(|((_, to), amount)| (self.site.turn(*to), *to, *amount))
                .collect();
            for (_, to, _) in &takers {
                if let Some(metered) = pulled.metered.get(&(*filter, Taker::Line(*to))) {
                    pulled.given.insert((*filter, *to), *metered);
                    left = (left - metered).max(0.0);
                }
            }
            let ranks: BTreeSet<u32> = takers.iter().map(|(rank, ..)| *rank).collect();
            let asks =
                |to: &PlaceId, amount: f64| amount > 0.0 && !pulled.metered.contains_key(&(*filter, Taker::Line(*to)));
            let last = takers.iter().filter(|(_, to, amount)| asks(to, *amount)).map(|(rank, ..)| *rank).max();
            for rank in &ranks {
                let here: Vec<(PlaceId, f64)> = takers
                    .iter()
                    .filter(|(r, to, _)| r == rank && !pulled.metered.contains_key(&(*filter, Taker::Line(*to))))
                    .map(|(_, to, amount)| (*to, *amount))
                    .collect();
                let total: f64 = here.iter().map(|(_, amount)| amount).sum();
                // More than was asked for comes by a meter only, and goes to the last.
                let takes_all = other && forced_in && Some(*rank) == last;
                let share = if total > left || (takes_all && total > 0.0) { left / total } else { 1.0 };
                for (to, amount) in here {
                    pulled.given.insert((*filter, to), amount * share);
                }
                left = (left - total * share).max(0.0);
            }
            pulled.passes.insert(*filter, pass);
        }
    }

    /// E: what was granted leaves the stores and supplies; water arrives where it was drawn to.
    pub fn draw(&mut self, pulled: &Pulled) {
        for source in self.site.ids().collect::<Vec<_>>() {
            let used: Vec<(Taker, f64)> = pulled
                .grants
                .iter()
                .filter(|((from, _), _)| *from == source)
                .map(|((_, by), amount)| (*by, *amount))
                .filter(|(_, amount)| *amount > 0.0)
                .collect();
            let total: f64 = used.iter().map(|(_, amount)| amount).sum();
            if total <= 0.0 {
                continue;
            }
            if used.iter().any(|(by, _)| pulled.metered.contains_key(&(source, *by))) {
                self.supply_lack(source, total);
            }
            let drawn = match self.state.stores.get_mut(&source) {
                Some(store) => store.draw(total),
                None => self.opening[&source].at_same_concentration(total),
            };
            for (by, amount) in used {
                let mut load = drawn.times(amount / total);
                load.water = amount;
                match by {
                    Taker::Line(to) => {
                        self.out.book(Node::Place(source), Node::Place(to), Purpose::Water, &load);
                        self.arrive(to, load, self.site.line_hours(to));
                    }
                    Taker::Hose(to) => {
                        self.out.book(Node::Place(source), Node::Place(to), Purpose::Spray, &load);
                        self.hosed.entry(to).or_default().add(&load);
                    }
                    Taker::Wash(to) => {
                        self.out.book(Node::Place(source), Node::Place(to), Purpose::WashSupply, &load);
                        self.wash_water.entry(to).or_default().add(&load);
                    }
                }
            }
        }
    }
}

fn sum_for(asked: &BTreeMap<(PlaceId, PlaceId), f64>, filter: PlaceId) -> f64 {
    asked.iter().filter(|((from, _), _)| *from == filter).map(|(_, amount)| amount).sum()
}

fn granted_to(grants: &BTreeMap<(PlaceId, Taker), f64>, taker: Taker) -> f64 {
    grants.iter().filter(|((_, by), _)| *by == taker).map(|(_, amount)| amount).sum()
}

/// One round at every source, rank after rank; equal ranks share alike.
fn grant(
    asks: &BTreeMap<PlaceId, Vec<Ask>>,
    left: &mut BTreeMap<PlaceId, f64>,
    grants: &mut BTreeMap<(PlaceId, Taker), f64>,
) {
    for (source, asks) in asks {
        let room = left.entry(*source).or_insert(f64::INFINITY);
        let ranks: BTreeSet<u32> = asks.iter().map(|ask| ask.rank).collect();
        for rank in ranks {
            let of_rank: Vec<&Ask> = asks.iter().filter(|ask| ask.rank == rank).collect();
            let total: f64 = of_rank.iter().map(|ask| ask.amount).sum();
            let share = if total > *room { *room / total } else { 1.0 };
            for ask in of_rank {
                *grants.entry((*source, ask.by)).or_insert(0.0) += ask.amount * share;
            }
            *room = (*room - total * share).max(0.0);
        }
    }
}
