//! A filter's turn: what it catches of what arrived, and where everything goes.

use bywash::balance::{Node, Purpose};
use bywash::facility::model::{FilterKind, PlaceId};

use super::filters::{self, Pass, Question};
use super::given;
use super::load::Load;
use super::pull::Pulled;
use super::step::Step;

impl Step<'_, '_> {
    pub fn filter_turn(&mut self, place: PlaceId, pulled: &Pulled) {
        let filter = self.site.filter(place).expect("a filter");
        let pull = self.site.is_pull_filter(place);
        let (mut arrived, mut hours) = self.take_arrivals(place);
        if pull {
            hours = if arrived.water > 0.0 {
                self.site.line_hours(place)
            } else {
                0.0
            };
        } else if arrived.water > 0.0 {
            hours = self.site.push_hours(place);
        }
        if !pull {
            arrived = self.over_capacity(place, arrived, hours);
        }
        let gross = arrived.water;

        let mut caught = arrived.only_solids();
        for (mass, share) in caught.solids.iter_mut().zip(&self.eta[&place]) {
            *mass *= share;
        }
        let pass = match pulled.passes.get(&place) {
            Some(pass) if pull => pass.clone(),
            _ => {
                let question = Question {
                    filter,
                    before: &self.state.filters[&place],
                    caught_kg_m3: if gross > 0.0 {
                        caught.solids_kg() / gross
                    } else {
                        0.0
                    },
                    days: self.days,
                    hours,
                    log: self.today.logs.get(&place).copied().unwrap_or_default(),
                };
                filters::for_gross(&question, gross)
            }
        };
        if pass.unfiltered > 0.0 {
            caught = caught.times(1.0 - pass.unfiltered);
        }
        let mut filtrate = arrived.clone();
        for (mass, gone) in filtrate.solids.iter_mut().zip(&caught.solids) {
            *mass = (*mass - gone).max(0.0);
        }
        if filters::has_events(filter) {
            *self.out.washes.entry(place).or_insert(0.0) += pass.count;
            let tie = self.out.ties.entry(place).or_insert(f64::INFINITY);
            *tie = tie.min(pass.tie);
        }
        let mut pass = pass;
        if gross <= 0.0 {
            // Solids that arrive without water: what is caught stays (or leaves at once), the rest goes on.
            pass.caught_kg = caught.solids_kg();
            pass.held_end_kg = pass.held_end_kg.map(|held| held + pass.caught_kg);
        }
        let removed = self.removed(place, &pass, &caught);
        let mut side = filtrate.at_same_concentration(pass.side);
        side.add(&self.clean_side_water(place, &pass));
        self.side_goes(place, side, removed, hours);

        // A meter before it may have brought more than the line was asked for.
        let passes = if pull {
            (gross - pass.side).max(0.0)
        } else {
            pass.net
        };
        let mut net = filtrate.at_same_concentration(passes);
        if gross <= 0.0 {
            net = filtrate.only_solids();
        }
        if let Some(hosed) = self.hosed.remove(&place) {
            match &filter.kind {
                FilterKind::GravityScreen {
                    hosed_down: Some(hose),
                } => {
                    self.send(place, &hose.to, Purpose::Spray, &hosed, 24.0);
                }
                _ => net.add(&hosed),
            }
        }
        if pull {
            let mut taken = 0.0;
            for ((from, to), amount) in &pulled.given {
                let metered = self.today.meter(place, *to, Purpose::Water).unwrap_or(0.0);
                if *from == place && (*amount > 0.0 || metered > 0.0) {
                    let purpose = if self.site.is_store(*to) {
                        Purpose::TopUp
                    } else {
                        Purpose::Water
                    };
                    let mut load = net.at_same_concentration(*amount);
                    if let Some(metered) = self.today.meter(place, *to, purpose) {
                        // A meter stands: what the line could not give comes from unaccounted.
                        let lack = net.at_same_concentration((metered - amount).max(0.0));
                        self.out.book(
                            Node::Unaccounted,
                            Node::Place(place),
                            Purpose::Unaccounted,
                            &lack,
                        );
                        load.add(&lack);
                        load.water = load.water.max(metered);
                    }
                    self.out
                        .book(Node::Place(place), Node::Place(*to), purpose, &load);
                    self.arrive(*to, load, hours);
                    taken += amount;
                }
            }
            let surplus = net.water - taken;
            if surplus > 1e-12 * net.water {
                // A meter counted more into the line than anybody on it asked for.
                let load = net.at_same_concentration(surplus);
                self.out.book(
                    Node::Place(place),
                    Node::Unaccounted,
                    Purpose::Unaccounted,
                    &load,
                );
            }
        } else if let Some(to) = &filter.goes_to {
            self.send(place, to, Purpose::Water, &net, hours);
        }
        let state = self.state.filters.get_mut(&place).expect("a filter");
        if filters::has_events(filter) {
            state.progress = pass.progress.clone();
        }
        if let FilterKind::MovingMedia { roll, .. } = &filter.kind {
            state.roll_left_m -= pass.advance_m;
            if self
                .today
                .logs
                .get(&place)
                .is_some_and(|log| log.count.unwrap_or(0) > 0)
            {
                state.roll_left_m = given::m(&roll.length);
            }
            while !roll.passes_unfiltered && state.roll_left_m < 0.0 {
                state.roll_left_m += given::m(&roll.length);
            }
        }
    }

    /// What is over a push filter's capacity goes past it; the rest comes back.
    fn over_capacity(&mut self, place: PlaceId, arrived: Load, hours: f64) -> Load {
        let filter = self.site.filter(place).expect("a filter");
        let (Some(most), Some(past)) = (&filter.handles_at_most, &filter.above_that) else {
            return arrived;
        };
        let most = given::m3_d(most) * self.days * hours / 24.0;
        if arrived.water <= most {
            return arrived;
        }
        let over = arrived.at_same_concentration(arrived.water - most);
        let rest = arrived.at_same_concentration(most);
        self.send(place, past, Purpose::Bypass, &over, hours);
        rest
    }

    /// Solids that leave with events (or at once), over parcels in proportion to held and caught; books what stays.
    fn removed(&mut self, place: PlaceId, pass: &Pass, caught: &Load) -> Load {
        let state = self.state.filters.get_mut(&place).expect("a filter");
        let mut removed = caught.clone();
        let Some(held_end) = pass.held_end_kg else {
            return removed;
        };
        let before: f64 = state.held.iter().sum();
        let total = before + caught.solids_kg();
        let by_count = (before + pass.caught_kg - held_end).max(0.0);
        let goes = if pass.count > 0.0 {
            by_count.min(total)
        } else {
            0.0
        };
        let share = if total > 0.0 { goes / total } else { 0.0 };
        for ((held, caught), out) in state
            .held
            .iter_mut()
            .zip(&caught.solids)
            .zip(&mut removed.solids)
        {
            *out = (*held + caught) * share;
            *held = *held + caught - *out;
        }
        removed
    }

    /// Clean water for the side stream of a filter that is not washed with its own.
    fn clean_side_water(&mut self, place: PlaceId, pass: &Pass) -> Load {
        let Some(from) = self.clean_wash_from(place) else {
            return self.site.nothing();
        };
        if self.site.is_pull_filter(place) {
            return self
                .wash_water
                .remove(&place)
                .unwrap_or_else(|| self.site.nothing());
        }
        let load = self.draw_now(from, pass.clean);
        self.out.book(
            Node::Place(from),
            Node::Place(place),
            Purpose::WashSupply,
            &load,
        );
        load
    }

    /// Where the side stream and the removed solids go, by kind.
    fn side_goes(&mut self, place: PlaceId, side: Load, removed: Load, hours: f64) {
        let filter = self.site.filter(place).expect("a filter");
        let one = |to: PlaceId| given::to_one(to);
        let mut both = side.clone();
        both.add(&removed);
        match &filter.kind {
            FilterKind::PressureScreen { .. }
            | FilterKind::ShallowMediaBed { .. }
            | FilterKind::DeepMediaBed { .. } => {
                if let Some(wash) = &filter.wash {
                    self.send(place, &wash.to, Purpose::WashWater, &both, hours);
                }
            }
            FilterKind::MicroscreenDrum { rinse, .. } => {
                self.send(place, &rinse.to, Purpose::RinseWater, &both, hours);
            }
            FilterKind::Bag { .. } | FilterKind::Cartridge { .. } => {
                if let Some(to) = filter.change.as_ref().and_then(|change| change.to.as_ref()) {
                    self.send(place, to, Purpose::DrainDown, &side, hours);
                }
                if let Some(to) = filter.spent_media_to {
                    self.send(place, &one(to), Purpose::SpentMedia, &removed, hours);
                }
            }
            FilterKind::GravityScreen { .. } | FilterKind::VibratingScreen { .. } => {
                if let Some(screenings) = &filter.screenings {
                    match screenings.drains_back_to {
                        Some(back) => {
                            self.send(
                                place,
                                &one(screenings.to),
                                Purpose::Screenings,
                                &removed,
                                hours,
                            );
                            self.send(place, &one(back), Purpose::Liquor, &side, hours);
                        }
                        None => self.send(
                            place,
                            &one(screenings.to),
                            Purpose::Screenings,
                            &both,
                            hours,
                        ),
                    }
                }
            }
            FilterKind::MovingMedia { drip_to, .. } => match drip_to {
                Some(to) => {
                    self.send(place, to, Purpose::Drip, &side, hours);
                    if let Some(to) = filter.spent_media_to {
                        self.send(place, &one(to), Purpose::SpentMedia, &removed, hours);
                    }
                }
                None => {
                    if let Some(to) = filter.spent_media_to {
                        self.send(place, &one(to), Purpose::SpentMedia, &both, hours);
                    }
                }
            },
        }
    }

    /// Water drawn at this moment: from a supply's limit left, or from a store at opening before its turn and at
    /// closing after it.
    pub fn draw_now(&mut self, from: PlaceId, wanted: f64) -> Load {
        if let Some(store) = self.state.stores.get_mut(&from) {
            let most = (store.volume - store.dead_m3()).max(0.0);
            return store.draw(wanted.min(most));
        }
        let limit = self.limit_left.get(&from).copied().unwrap_or(f64::INFINITY);
        let given = wanted.min(limit);
        self.limit_left.insert(from, limit - given);
        self.opening.get(&from).map_or_else(
            || self.site.nothing(),
            |one| one.at_same_concentration(given),
        )
    }
}
