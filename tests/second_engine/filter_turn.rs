//! A filter's turn: what it catches of what arrived, and where everything goes.

use bywash::balance::{Node, Purpose};
use bywash::facility::kinds::{FilterKind, GravityScreen, Membrane, MicroscreenDrum, MovingMedia, VibratingScreen};
use bywash::facility::model::PlaceId;

use super::filters::{self, Pass, Question};
use super::given;
use super::load::Load;
use super::pull::Pulled;
use super::step::{A_FLOW_M3, Step, speaks};

impl Step<'_, '_> {
    pub fn filter_turn(&mut self, place: PlaceId, pulled: &Pulled) {
        let filter = self.site.filter(place).expect("a filter");
        let pull = self.site.is_pull_filter(place);
        let (mut arrived, _) = self.take_arrivals(place);
        let hours = if pull { self.site.line_hours(place) } else { self.site.push_hours(place) };
        if !pull {
            arrived = self.over_capacity(place, arrived, hours);
        }
        let gross = arrived.water;

        let mut caught = arrived.only_solids();
        for (mass, share) in caught.solids.iter_mut().zip(&self.eta[&place]) {
            *mass *= share;
        }
        let planned = pulled.passes.get(&place).filter(|_| pull);
        let pass = match planned {
            Some(pass) if filters::has_events(filter) => pass.clone(),
            _ => {
                let question = Question {
                    roll_left_m: self.state.filters[&place].roll_left_m,
                    filter,
                    before: &self.state.filters[&place],
                    caught_kg_m3: if gross > 0.0 { caught.solids_kg() / gross } else { 0.0 },
                    days: self.days,
                    starts_day: self.starts_day,
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
        let flows = gross > A_FLOW_M3;
        if gross <= 0.0 {
            // Solids that arrive without water: what is caught stays (or leaves at once), the rest goes on.
            pass.caught_kg = caught.solids_kg();
            pass.held_end_kg = pass.held_end_kg.map(|held| held + pass.caught_kg);
        }
        let removed = self.removed(place, &pass, &caught);
        let taken: f64 = pulled.given.iter().filter(|((from, _), _)| *from == place).map(|(_, amount)| amount).sum();
        if pull && !pulled.measured(place) {
            // What does not pass on has washed.
            let sprayed = match &filter.kind {
                FilterKind::VibratingScreen(_) => self.hosed.get(&place).map_or(0.0, |load| load.water),
                _ => 0.0,
            };
            pass.side = (gross + sprayed - taken).max(0.0);
        }
        pass.side = pass.side.min(gross);
        let part = |water: f64| {
            let mut part = if flows { filtrate.at_same_concentration(water) } else { self.site.nothing() };
            part.water = water;
            part
        };
        let mut side = part(pass.side);
        side.add(&self.clean_side_water(place, &pass));

        // A meter before it may have brought more than the line was asked for.
        let passes = if pull { (gross - pass.side).max(0.0) } else { pass.net };
        let mut net = part(passes);
        if !flows {
            // Without a flow everything that is not caught goes on.
            net = filtrate.clone();
            net.water = passes;
        } else if let FilterKind::Membrane(Membrane { reject }) = &filter.kind {
            // What is dissolved and does not pass goes the other way.
            let back = reject.dissolved_held_back.as_ref().map_or(0.0, given::share);
            for (passed, turned) in net.dissolved.iter_mut().zip(&mut side.dissolved) {
                *turned += *passed * back;
                *passed *= 1.0 - back;
            }
        }
        self.side_goes(place, side, removed, hours);
        if let FilterKind::VibratingScreen(VibratingScreen { spray: Some(spray), .. }) = &filter.kind
            && !pull
        {
            let volume = given::m3_d(&spray.flow) * given::share(&spray.part_of_the_time) * hours / 24.0 * self.days;
            let load = match self.today.meter(spray.with, place, Purpose::Spray) {
                Some(metered) => self.draw_metered(spray.with, metered),
                None if gross > A_FLOW_M3 => self.draw_now(spray.with, volume),
                None => self.site.nothing(),
            };
            self.out.book(Node::Place(spray.with), Node::Place(place), Purpose::Spray, &load);
            net.add(&load);
        }
        let hosed = self.hosed.remove(&place);
        let is_hose = matches!(&filter.kind, FilterKind::GravityScreen(GravityScreen { hosed_down: Some(_) }));
        // A meter may have counted though no water came.
        if let Some(hosed) = hosed.or_else(|| is_hose.then(|| self.site.nothing())) {
            match &filter.kind {
                FilterKind::GravityScreen(GravityScreen { hosed_down: Some(hose) }) => {
                    self.send(place, &hose.to, Purpose::Spray, &hosed, 24.0);
                }
                _ => net.add(&hosed),
            }
        }
        if pull {
            // A meter stands: what the line could not give, or gave more, is unaccounted.
            let balance = net.water - taken;
            let tells = speaks(&net, -balance);
            let (here, other) = (Node::Place(place), Node::Unaccounted);
            if balance.abs() > 1e-12 * (gross + taken) {
                // What comes where nothing flows comes clean.
                let mut load = self.site.nothing();
                if tells {
                    load = net.at_same_concentration(balance.abs());
                }
                load.water = balance.abs();
                let (from, to) = if balance > 0.0 { (here, other) } else { (other, here) };
                self.out.book(from, to, Purpose::Unaccounted, &load);
            }
            if !tells {
                net.water = taken;
            }
            for ((from, to), amount) in &pulled.given {
                if *from != place {
                    continue;
                }
                let purpose = if self.site.is_store(*to) { Purpose::TopUp } else { Purpose::Water };
                let load = net.at_same_concentration(*amount);
                let load = self.sampled(place, *to, purpose, load);
                self.out.book(Node::Place(place), Node::Place(*to), purpose, &load);
                self.arrive(*to, load, hours);
            }
        } else if let Some(to) = &filter.goes_to {
            self.send(place, to, Purpose::Water, &net, hours);
        }
        let state = self.state.filters.get_mut(&place).expect("a filter");
        if filters::has_events(filter) {
            state.progress = pass.progress.clone();
            if pass.count > 0.0 {
                state.days_since = 0.0;
            }
        }
        if let FilterKind::MovingMedia(MovingMedia { roll, .. }) = &filter.kind {
            state.roll_left_m =
                (state.roll_left_m - pass.advance_m).max(if roll.passes_unfiltered { 0.0 } else { f64::NEG_INFINITY });
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
            // A meter may have counted all the same.
            let none = self.site.nothing();
            self.send(place, past, Purpose::Bypass, &none, hours);
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
        let goes = if pass.count > 0.0 { by_count.min(total) } else { 0.0 };
        let share = if total > 0.0 { goes / total } else { 0.0 };
        for ((held, caught), out) in state.held.iter_mut().zip(&caught.solids).zip(&mut removed.solids) {
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
            return self.wash_water.remove(&place).unwrap_or_else(|| self.site.nothing());
        }
        let load = match self.today.meter(from, place, Purpose::WashSupply) {
            Some(metered) => self.draw_metered(from, metered),
            None => self.draw_now(from, pass.clean),
        };
        self.out.book(Node::Place(from), Node::Place(place), Purpose::WashSupply, &load);
        load
    }

    /// Where the side stream and the removed solids go, by kind.
    fn side_goes(&mut self, place: PlaceId, side: Load, removed: Load, hours: f64) {
        let filter = self.site.filter(place).expect("a filter");
        let one = |to: PlaceId| given::to_one(to);
        let mut both = side.clone();
        both.add(&removed);
        match &filter.kind {
            FilterKind::PressureScreen(_) | FilterKind::ShallowMediaBed(_) | FilterKind::DeepMediaBed(_) => {
                if let Some(wash) = &filter.wash {
                    self.send(place, &wash.to, Purpose::WashWater, &both, hours);
                }
            }
            FilterKind::MicroscreenDrum(MicroscreenDrum { rinse, .. }) => {
                self.send(place, &rinse.to, Purpose::RinseWater, &both, hours);
            }
            FilterKind::Membrane(Membrane { reject }) => {
                self.send(place, &reject.to, Purpose::Reject, &both, hours);
            }
            FilterKind::Bag(_) | FilterKind::Cartridge(_) => {
                if let Some(to) = filter.change.as_ref().and_then(|change| change.to.as_ref()) {
                    self.send(place, to, Purpose::DrainDown, &side, hours);
                }
                if let Some(to) = filter.spent_media_to {
                    self.send(place, &one(to), Purpose::SpentMedia, &removed, hours);
                }
            }
            FilterKind::GravityScreen(_) | FilterKind::VibratingScreen(_) => {
                if let Some(screenings) = &filter.screenings {
                    match screenings.drains_back_to {
                        Some(back) => {
                            self.send(place, &one(screenings.to), Purpose::Screenings, &removed, hours);
                            self.send(place, &one(back), Purpose::Liquor, &side, hours);
                        }
                        None => self.send(place, &one(screenings.to), Purpose::Screenings, &both, hours),
                    }
                }
            }
            FilterKind::MovingMedia(MovingMedia { drip_to, .. }) => match drip_to {
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

    /// A metered draw at this moment, as read: what the store lacks comes into it first.
    pub fn draw_metered(&mut self, from: PlaceId, metered: f64) -> Load {
        if self.state.stores.contains_key(&from) {
            self.supply_lack(from, metered);
            let store = self.state.stores.get_mut(&from).expect("a store");
            return store.draw(metered);
        }
        let limit = self.limit_left.get(&from).copied().unwrap_or(f64::INFINITY);
        self.limit_left.insert(from, (limit - metered).max(0.0));
        self.opening[&from].at_same_concentration(metered)
    }

    /// What a store lacks of a metered draw comes from unaccounted, at its mean concentration.
    pub fn supply_lack(&mut self, from: PlaceId, drawn: f64) {
        let Some(store) = self.state.stores.get_mut(&from) else {
            return;
        };
        let lack = drawn - store.volume;
        if lack <= 0.0 {
            return;
        }
        let mut lacking = self.site.nothing();
        lacking.water = lack;
        if speaks(&store.content(), lack) {
            lacking = store.content().at_same_concentration(lack);
            store.take_mean(-lack);
        }
        if store.volume < drawn {
            store.volume = drawn;
        }
        self.out.book(Node::Unaccounted, Node::Place(from), Purpose::Unaccounted, &lacking);
    }

    /// Water drawn at this moment: from a supply's limit left, or from a store at opening before its turn and at
    /// closing after it.
    pub fn draw_now(&mut self, from: PlaceId, wanted: f64) -> Load {
        if let Some(store) = self.state.stores.get_mut(&from) {
            return store.draw(wanted.min(store.drawable_m3()));
        }
        let limit = self.limit_left.get(&from).copied().unwrap_or(f64::INFINITY);
        let given = wanted.min(limit);
        self.limit_left.insert(from, limit - given);
        self.opening.get(&from).map_or_else(|| self.site.nothing(), |one| one.at_same_concentration(given))
    }
}
