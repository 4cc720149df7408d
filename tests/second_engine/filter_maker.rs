//! Random filters of all kinds.

use bywash::facility::kinds::*;
use bywash::facility::model::*;
use chrono::NaiveTime;

use super::build::*;
use super::generator::{Cast, by_month, outflow};
use super::random::Rng;

pub struct FilterMaker<'a> {
    pub rng: &'a mut Rng,
    pub cast: &'a Cast,
    /// Whether a filter may be a membrane.
    pub membranes: bool,
}

impl FilterMaker<'_> {
    /// Sources of each pull filter: a supply or store, two of them, or a pull filter before it in the list.
    pub fn pull_sources(&mut self) -> Vec<Vec<PlaceId>> {
        let direct = self.cast.sources();
        let mut all: Vec<Vec<PlaceId>> = Vec::new();
        for i in 0..self.cast.pull.len() {
            let mut sources = vec![self.rng.pick(&direct)];
            if i > 0 && self.rng.chance(0.3) {
                sources = vec![self.cast.pull[self.rng.whole(0, i - 1)]];
            } else if self.rng.chance(0.2) {
                let second = self.rng.pick(&direct);
                if second != sources[0] {
                    sources.push(second);
                }
            }
            all.push(sources);
        }
        all
    }

    pub fn pull_filter(&mut self, takes_from: Vec<PlaceId>) -> PlaceKind {
        let which = if self.membranes {
            self.rng.pick(&[2, 3, 4, 5, 6, 7, 8, 9])
        } else {
            self.rng.pick(&[2, 3, 4, 5, 6, 7, 9])
        };
        let mut filter = self.filter(which, &self.cast.below(None));
        filter.takes_from = takes_from;
        filter.turn = self.rng.whole(1, 3) as u32;
        PlaceKind::Filter(Box::new(filter))
    }

    pub fn push_filter(&mut self, position: usize) -> PlaceKind {
        let which = if self.membranes { self.rng.whole(0, 9) } else { self.rng.pick(&[0, 1, 2, 3, 4, 5, 6, 7, 9]) };
        let below = self.cast.below(Some(position));
        let mut filter = self.filter(which, &below);
        filter.goes_to = Some(outflow(self.rng, &below));
        if self.rng.chance(0.5) {
            filter.handles_at_most = Some(m3_a_day(self.rng.between(20.0, 300.0)));
            filter.above_that = Some(outflow(self.rng, &below));
        }
        PlaceKind::Filter(Box::new(filter))
    }

    fn with(&mut self) -> WashWater {
        if self.rng.chance(0.3) { WashWater::From(self.rng.pick(&self.cast.sources())) } else { WashWater::OwnFiltered }
    }

    fn filter(&mut self, which: usize, below: &[PlaceId]) -> Filter {
        let opening = self.opening();
        let stops = self.stops(opening.is_some());
        let bin = self.rng.pick(&self.cast.discharges);
        let mut filter = Filter {
            kind: FilterKind::Bag(Bag { housings: 1, working_at_once: 1, bag_dry_weight: None }),
            stops,
            opening,
            handles_at_most: None,
            above_that: None,
            takes_from: Vec::new(),
            turn: 1,
            goes_to: None,
            wash: None,
            change: None,
            screenings: None,
            spent_media_to: None,
            stands_still: None,
            motor: None,
        };
        match which {
            0 => {
                let hosed_down = self.rng.chance(0.5).then(|| HoseDown {
                    flow: m3_a_day(self.rng.between(20.0, 60.0)),
                    lasts: hours(self.rng.between(0.05, 0.3)),
                    times_a_day: ratio(self.rng.whole(1, 3) as f64),
                    with: self.rng.pick(&self.cast.sources()),
                    to: outflow(self.rng, below),
                });
                filter.kind = FilterKind::GravityScreen(GravityScreen { hosed_down });
                filter.screenings = Some(self.screenings(below, bin));
            }
            1 => {
                let decks = if self.rng.chance(0.5) {
                    [300.0, 100.0]
                        .iter()
                        .map(|um| Deck { opening: micrometres(*um), stops: self.at_opening() })
                        .collect()
                } else {
                    Vec::new()
                };
                let spray = self.rng.chance(0.5).then(|| Spray {
                    flow: m3_a_day(self.rng.between(2.0, 20.0)),
                    part_of_the_time: ratio(self.rng.between(0.1, 1.0)),
                    with: self.rng.pick(&self.cast.sources()),
                });
                filter.kind = FilterKind::VibratingScreen(VibratingScreen { decks, spray });
                filter.screenings = Some(self.screenings(below, bin));
            }
            2 => {
                let bodies = self.rng.whole(1, 2) as u32;
                filter.kind = FilterKind::PressureScreen(PressureScreen { in_line: bodies, self_cleaning: true });
                filter.wash = Some(self.wash(bodies, 0.5, below, true));
            }
            3 => {
                let vessels = self.rng.whole(1, 4) as u32;
                filter.kind = FilterKind::ShallowMediaBed(ShallowMediaBed {
                    vessels,
                    diameter: metres(self.rng.between(0.9, 1.5)),
                    media: self.media(),
                });
                filter.wash = Some(self.wash(vessels, 1.5, below, false));
            }
            4 => {
                let vessels = self.rng.whole(1, 3) as u32;
                filter.kind = FilterKind::DeepMediaBed(DeepMediaBed {
                    vessels,
                    diameter: metres(self.rng.between(1.0, 2.2)),
                    media: self.media(),
                    air_scour: self.rng.chance(0.5).then(|| hours(0.05)),
                });
                filter.wash = Some(self.wash(vessels, 3.0, below, false));
            }
            5 => {
                filter.change = Some(self.change(below));
                filter.spent_media_to = Some(bin);
            }
            6 => {
                filter.kind = FilterKind::Cartridge(Cartridge { elements: 6 });
                filter.change = Some(self.change(below));
                filter.spent_media_to = Some(bin);
            }
            7 => {
                let always = self.rng.whole(0, 2);
                filter.kind = FilterKind::MicroscreenDrum(MicroscreenDrum {
                    mesh_area: None,
                    rinse: DrumRinse {
                        flow: m3_a_day(self.rng.between(1.0, 6.0)),
                        cake_at_full_time: (always == 0).then(|| kg_a_day(self.rng.between(1.0, 40.0))),
                        part_of_the_time: (always == 1).then(|| ratio(self.rng.between(0.1, 1.0))),
                        with: self.with(),
                        to: outflow(self.rng, below),
                    },
                });
            }
            8 => {
                filter.kind = FilterKind::Membrane(Membrane {
                    reject: Reject {
                        of_the_feed: if self.rng.chance(0.5) {
                            OfTheFeed::Passes(ratio(self.rng.between(0.5, 0.95)))
                        } else {
                            OfTheFeed::Rejected(ratio(self.rng.between(0.05, 0.5)))
                        },
                        to: outflow(self.rng, below),
                        dissolved_held_back: self.rng.chance(0.7).then(|| ratio(self.rng.between(0.0, 1.0))),
                    },
                });
            }
            _ => {
                filter.kind = FilterKind::MovingMedia(MovingMedia {
                    roll: Roll {
                        length: metres(self.rng.between(100.0, 2000.0)),
                        width: metres(self.rng.between(0.5, 1.5)),
                        dry_weight: kilograms_m2(self.rng.between(0.02, 0.05)),
                        holds: kilograms_m2(self.rng.between(0.05, 0.5)),
                        at_least: self.rng.chance(0.6).then(|| metres_a_day(self.rng.between(0.2, 1.5))),
                        wet_weight_times: self.rng.chance(0.7).then(|| ratio(self.rng.between(2.0, 6.0))),
                        passes_unfiltered: self.rng.chance(0.5),
                    },
                    drip_to: self.rng.chance(0.5).then(|| outflow(self.rng, below)),
                });
                filter.spent_media_to = Some(bin);
            }
        }
        filter
    }

    fn opening(&mut self) -> Option<ByMonthOpening> {
        let one = micrometres(self.rng.between(3.0, 500.0));
        let other = if self.rng.chance(0.2) { micrometres(self.rng.between(3.0, 500.0)) } else { one.clone() };
        Some(by_month(self.rng, one, other))
    }

    fn at_opening(&mut self) -> Capture {
        Capture::AtOpening {
            bigger: ratio(self.rng.between(0.5, 1.0)),
            smaller: self.rng.chance(0.3).then(|| ratio(self.rng.between(0.0, 0.3))),
        }
    }

    fn stops(&mut self, has_opening: bool) -> Capture {
        match self.rng.whole(0, 9) {
            0 => Capture::NotKnown,
            1 | 2 => Capture::AllSolids(ratio(self.rng.between(0.1, 0.9))),
            3 | 4 => Capture::Table(
                [(100.0, 0.9), (50.0, 0.6), (20.0, 0.3), (5.0, 0.05)]
                    .iter()
                    .map(|(um, share)| CaptureRow {
                        size: micrometres(um * self.rng.between(0.8, 1.2)),
                        share: ratio(share * self.rng.between(0.5, 1.0)),
                    })
                    .collect(),
            ),
            _ if has_opening => self.at_opening(),
            _ => Capture::AllSolids(ratio(self.rng.between(0.1, 0.9))),
        }
    }

    fn screenings(&mut self, below: &[PlaceId], bin: PlaceId) -> Screenings {
        Screenings {
            dry_solids: ratio(self.rng.between(0.08, 0.3)),
            to: bin,
            drains_back_to: self.rng.chance(0.5).then(|| self.rng.pick(below)),
        }
    }

    fn triggers(&mut self, solids: bool, slow: f64) -> Vec<Trigger> {
        let mut triggers = Vec::new();
        if solids {
            triggers.push(Trigger::Solids(kilograms(self.rng.between(0.8, 8.0))));
        }
        if self.rng.chance(0.5) {
            triggers.push(Trigger::Clock(hours(slow * self.rng.between(7.0, 90.0))));
        }
        if self.rng.chance(0.3) {
            triggers.push(Trigger::RunningHours(hours(slow * self.rng.between(4.0, 60.0))));
        }
        if self.rng.chance(0.3) || triggers.is_empty() {
            triggers.push(Trigger::Throughput(cubic_metres(slow * self.rng.between(20.0, 300.0))));
        }
        triggers
    }

    fn cadence(&mut self, solids: bool, slow: f64) -> Cadence {
        let clock = |hour: usize| NaiveTime::from_hms_opt(hour as u32, 0, 0).expect("a time");
        Cadence {
            by_log: false,
            triggers: self.triggers(solids, slow),
            at: self.rng.chance(0.25).then(|| clock(self.rng.whole(0, 23))),
            never_between: self.rng.chance(0.25).then(|| (clock(self.rng.whole(16, 23)), clock(self.rng.whole(0, 9)))),
        }
    }

    /// None, or one or two layers that may hold more and need less flow than sand.
    fn media(&mut self) -> Vec<MediaLayer> {
        (0..self.rng.whole(0, 2))
            .map(|_| MediaLayer {
                kind: "crushed glass".into(),
                depth: metres(self.rng.between(0.2, 0.6)),
                grains: None,
                voids: None,
                density: None,
                load_held_times: self.rng.chance(0.5).then(|| ratio(self.rng.between(0.8, 1.3))),
                wash_flow_times: self.rng.chance(0.5).then(|| ratio(self.rng.between(0.7, 1.1))),
            })
            .collect()
    }

    fn wash(&mut self, vessels: u32, minutes: f64, below: &[PlaceId], solids: bool) -> Wash {
        let cadence = self.cadence(solids, 1.0);
        let measured = self.rng.chance(0.2);
        let by_flux = !measured && !solids && self.rng.chance(0.3);
        Wash {
            cadence,
            rate: (!measured && !by_flux).then(|| m3_a_day(self.rng.between(100.0, 700.0))),
            flux: by_flux.then(|| metres_a_day(self.rng.between(80.0, 400.0))),
            lasts: (!measured).then(|| hours(minutes / 60.0)),
            vessels,
            volume: measured.then(|| cubic_metres(self.rng.between(0.1, 1.5))),
            rinse: (!measured && !solids && self.rng.chance(0.4))
                .then(|| (m3_a_day(self.rng.between(50.0, 300.0)), hours(0.5 / 60.0))),
            drained: self.rng.chance(0.3).then(|| cubic_metres(self.rng.between(0.05, 0.5))),
            with: self.with(),
            to: outflow(self.rng, below),
            holds_before: (!solids).then(|| kilograms_m2(self.rng.between(0.5, 5.0))),
            removes: self.rng.chance(0.5).then(|| ratio(self.rng.between(0.7, 1.0))),
        }
    }

    fn change(&mut self, below: &[PlaceId]) -> Change {
        let drains = self.rng.chance(0.7);
        Change {
            cadence: self.cadence(true, 5.0),
            lasts: self.rng.chance(0.5).then(|| hours(self.rng.between(0.05, 0.5))),
            drains: drains.then(|| cubic_metres(self.rng.between(0.01, 0.1))),
            to: drains.then(|| outflow(self.rng, below)),
        }
    }
}

type ByMonthOpening = bywash::quantity::ByMonth<bywash::files::Given<uom::si::f64::Length>>;
