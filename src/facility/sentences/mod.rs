//! Every place read back as one sentence that a second person can sign off.

mod filters;
mod settings;

use crate::facility::model::{
    Catchment, Concentrations, DischargePoint, Facility, FillRule, GroundBefore, HeadStands, Outflow, PlaceId,
    PlaceKind, Pond, PondShape, PumpedOut, Rating, RunoffRule, SitePlace, StartState, Tank, Transfer, Use, UseAmount,
    Weir, When,
};
use crate::files::Given;
use crate::quantity::{HowOften, Stretch};
use crate::told::Place;

/// One sentence for each setting, place and meter, in file order, with where it was typed. Figures are as typed.
pub fn sentences(facility: &Facility) -> Vec<(Place, String)> {
    let speaker = Speaker { facility };
    let mut out: Vec<(Place, String)> =
        facility.places.iter().map(|site| (site.place.clone(), speaker.place(site))).collect();
    for meter in &facility.meters {
        let what = meter.what.as_deref().unwrap_or("water");
        if let Some(weir) = &meter.weir {
            let (equation, source) = weir.rating.words();
            let over = match &weir.rating {
                Rating::Shape(shape) => over(shape),
                Rating::Typed { .. } => "a weir".to_owned(),
            };
            let days = match weir.stands {
                HeadStands::UntilTheNext => "its day and every day until the next reading",
                HeadStands::ThatDay => "its day, and a day without one not known",
                HeadStands::TheDayBefore => "the day before it, and a day without one not known",
            };
            out.push((
                meter.place.clone(),
                full(format!(
                    "{} is the head over {over}: the {what} from {} to {} is computed from it by {equation}, {source}, each \
                     reading standing for {days}",
                    meter.name,
                    speaker.name(meter.from),
                    speaker.name(meter.to),
                )),
            ));
            continue;
        }
        let mut text = format!(
            "{} counts the {what} from {} to {}, in {}, on {} digits",
            meter.name,
            speaker.name(meter.from),
            speaker.name(meter.to),
            meter.counts_in,
            meter.digits
        );
        for exchange in &meter.exchanged {
            text.push_str(&format!(
                "; exchanged on {}, when the old one read {} and the new one {}",
                exchange.on, exchange.old_read, exchange.new_read
            ));
            if let Some((unit, _)) = &exchange.counts_in {
                text.push_str(&format!(", which counts in {unit}"));
            }
            if let Some(digits) = exchange.digits {
                text.push_str(&format!(", on {digits} digits"));
            }
        }
        out.push((meter.place.clone(), full(text)));
    }
    out.extend(settings::sentences(facility));
    out.sort_by_key(|(place, _)| (place.line, place.column));
    out
}

fn full(text: String) -> String {
    let mut text = text;
    text.push('.');
    text
}

/// Says the names of places and the ways between them.
pub(super) struct Speaker<'a> {
    facility: &'a Facility,
}

impl Speaker<'_> {
    pub(super) fn name(&self, id: PlaceId) -> &str {
        self.facility.get(id).map_or("?", |site| site.name.as_str())
    }

    fn place(&self, site: &SitePlace) -> String {
        let said = match &site.kind {
            PlaceKind::Supply(supply) => {
                let mut text = match &supply.gives_at_most {
                    Some(most) => format!("is a supply and gives at most {}", most.text),
                    None => "is a supply without a limit".to_string(),
                };
                if let Some(when) = &supply.when {
                    text.push_str(&Self::when(when));
                }
                text.push_str(&carrying("; its water brings", &supply.brings));
                text
            }
            PlaceKind::Catchment(catchment) => self.catchment(catchment),
            PlaceKind::Use(a_use) => self.a_use(a_use),
            PlaceKind::Transfer(transfer) => self.transfer(transfer),
            PlaceKind::Filter(filter) => self.filter(filter),
            PlaceKind::Tank(tank) => self.tank(tank),
            PlaceKind::Pond(pond) => self.pond(pond),
            PlaceKind::DischargePoint(point) => discharge(point),
        };
        full(format!("{} {said}", site.name))
    }

    fn names(&self, ids: &[PlaceId]) -> String {
        ids.iter().map(|id| self.name(*id)).collect::<Vec<_>>().join(", then ")
    }

    pub(super) fn out(&self, to: &Outflow) -> String {
        match to {
            Outflow::InOrder(steps) => steps
                .iter()
                .map(|step| match &step.at_most {
                    Some(most) => format!("{} (at most {})", self.name(step.to), most.text),
                    None => self.name(step.to).to_string(),
                })
                .collect::<Vec<_>>()
                .join(", and above that to "),
            Outflow::Shares { shares, .. } => shares
                .iter()
                .map(|share| {
                    let part = share.share.as_ref().map_or("the rest", |share| share.text.as_str());
                    let most =
                        share.at_most.as_ref().map(|most| format!(", at most {}", most.text)).unwrap_or_default();
                    format!("{} ({part}{most})", self.name(share.to))
                })
                .collect::<Vec<_>>()
                .join(" and "),
        }
    }

    fn when(when: &When) -> String {
        let mut text = String::new();
        if let Some((season, _)) = &when.season {
            text.push_str(&format!(", in the season `{season}`"));
        }
        if let Some(span) = &when.days_of_year {
            text.push_str(&format!(
                ", from {}/{} to {}/{} (month/day) of each year",
                span.from.month, span.from.day, span.to.month, span.to.day
            ));
        }
        if let Some((first, last)) = &when.dates {
            text.push_str(&format!(", from {first} to {last}"));
        }
        if let Some(days) = &when.days {
            const NAMES: [&str; 7] = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"];
            let listed: Vec<&str> = NAMES.iter().zip(days.0).filter(|(_, has)| *has).map(|(name, _)| *name).collect();
            text.push_str(&format!(", on {}", listed.join(", ")));
        }
        if let Some(rain) = &when.not_when_rain_over {
            text.push_str(&format!(", but not when the day just ended had more than {} of rain", rain.text));
        }
        text
    }

    fn catchment(&self, catchment: &Catchment) -> String {
        let parts: Vec<String> = catchment
            .parts
            .iter()
            .map(|part| {
                let rule = match &part.runoff {
                    RunoffRule::Share { runs_off, first_soaked_up } => match first_soaked_up {
                        Some(first) => {
                            format!("{} of the rain runs off, once {} is soaked up each day", runs_off.text, first.text)
                        }
                        None => format!("{} of the rain runs off", runs_off.text),
                    },
                    RunoffRule::CurveNumber(number) => {
                        let ground = match part.ground {
                            GroundBefore::Average => "",
                            GroundBefore::Dry => " of dry ground",
                            GroundBefore::Wet => " of wet ground",
                            GroundBefore::ByRain => ", the ground as wet as the rain of the five days before says",
                        };
                        format!("rain runs off by curve number {}{ground}", number.text)
                    }
                };
                if catchment.parts.len() > 1 {
                    format!("{} ({}): {rule}", part.name, part.area.text)
                } else {
                    format!("on {} {rule}", part.area.text)
                }
            })
            .collect();
        format!(
            "is rained on: {}; it goes to {}{}",
            parts.join("; "),
            self.out(&catchment.goes_to),
            carrying(", carrying", &catchment.solids)
        )
    }

    fn amount(amount: &UseAmount) -> String {
        match amount {
            UseAmount::PerDay(volume) => volume.text.clone(),
            UseAmount::DepthPerDay { area, depth } => format!("{} on {}", depth.text, area.text),
            UseAmount::Floods { area, depth, floods_a_day, zones } => {
                let parts = if *zones > 1 { format!(" in {zones} zones") } else { String::new() };
                format!("{} floods a day of {} on {}{parts}", floods_a_day.text, depth.text, area.text)
            }
        }
    }

    fn a_use(&self, a_use: &Use) -> String {
        let runs = a_use.runs.as_ref().map(|runs| format!(", flowing {}", runs.text)).unwrap_or_default();
        let feed = carrying("; feed adds", &a_use.feed_added);
        let back = match &a_use.goes_to {
            Some(to) => format!(
                "; {} comes back and goes to {}{}",
                a_use.returns.text,
                self.out(to),
                carrying(", with", &a_use.picks_up)
            ),
            None => "; nothing comes back".to_string(),
        };
        format!(
            "({}) takes {} from {}{}{}{runs}{feed}{back}",
            a_use.kind.words(),
            Self::amount(&a_use.amount),
            self.names(&a_use.takes_from),
            in_turn(a_use.turn),
            Self::when(&a_use.when)
        )
    }

    fn transfer(&self, transfer: &Transfer) -> String {
        let runs = transfer.runs.as_ref().map(|runs| format!(", flowing {}", runs.text)).unwrap_or_default();
        format!(
            "moves {} from {} to {}{}{runs}",
            Self::amount(&transfer.amount),
            self.names(&transfer.takes_from),
            self.out(&transfer.goes_to),
            Self::when(&transfer.when)
        )
    }

    fn fill(&self, fill: &FillRule) -> String {
        let to = fill
            .up_to_volume
            .as_ref()
            .map(|v| v.text.as_str())
            .or(fill.up_to_level.as_ref().map(|l| l.text.as_str()))
            .unwrap_or("?");
        let when = fill.when.as_ref().map(Self::when).unwrap_or_default();
        format!("; filled from {} up to {to}{when}", self.names(&fill.from))
    }

    fn pump(&self, pump: &PumpedOut) -> String {
        let when = pump.when.as_ref().map(Self::when).unwrap_or_default();
        let running = if pump.running_at_the_start { ", running at the start" } else { "" };
        format!(
            "; pumped out to {} at {}, from {} down to {}{when}{running}",
            self.out(&pump.to),
            pump.rate.text,
            text_of(&pump.starts_at_volume).or(text_of(&pump.starts_at_level)).unwrap_or_default(),
            text_of(&pump.stops_at_volume).or(text_of(&pump.stops_at_level)).unwrap_or_default()
        )
    }

    fn tank(&self, tank: &Tank) -> String {
        let mut text = format!("is a tank that holds {}{}", tank.holds.text, start(&tank.at_the_start));
        if let Some(lowest) = &tank.lowest {
            text.push_str(&format!("; nothing is drawn below {}", lowest.text));
        }
        if let Some(fill) = &tank.filled_from {
            text.push_str(&self.fill(fill));
        }
        if let Some(pump) = &tank.pumped_out {
            text.push_str(&self.pump(pump));
        }
        if let Some(tanker) = &tank.emptied_by {
            let log = if tanker.by_log { " as logged" } else { "" };
            let at =
                tanker.when_holding.as_ref().map(|at| format!(", else when it holds {}", at.text)).unwrap_or_default();
            let down = tanker.down_to.as_ref().map(|down| format!(", down to {}", down.text)).unwrap_or_default();
            text.push_str(&format!("; a tanker hauls it to {}{log}{at}{down}", self.name(tanker.to)));
        }
        match &tank.overflows_to {
            Some(to) => text.push_str(&format!("; it overflows to {}", self.out(to))),
            None => text.push_str("; it has no overflow"),
        }
        text
    }

    fn pond(&self, pond: &Pond) -> String {
        let shape = match &pond.shape {
            PondShape::Prismoid { length, width, depth, side_slope } => {
                format!(
                    "is a pond of {} by {} at the spill level, {} deep, sides {}",
                    length.text, width.text, depth.text, side_slope.text
                )
            }
            PondShape::Table { rows, spill_level } => format!(
                "is a pond by a table of levels ({}) that spills at {}",
                rows.iter()
                    .map(|row| format!("{} at {}", row.area.text, row.level.text))
                    .collect::<Vec<_>>()
                    .join(", "),
                spill_level.text
            ),
        };
        let mut text = format!("{shape}{}", start(&pond.at_the_start));
        if pond.cells > 1 {
            text.push_str(&format!("; as {} cells in series", pond.cells));
        }
        if let Some(freeboard) = &pond.freeboard_above_spill {
            text.push_str(&format!("; its bank stands {} above the spill level", freeboard.text));
        }
        if let Some(lowest) = &pond.lowest_pump_level {
            text.push_str(&format!("; no pump draws below {}", lowest.text));
        }
        if let Some(seepage) = &pond.seepage {
            text.push_str(&format!("; it seeps {}", seepage.text));
        }
        if let Some(sludge) = &pond.sludge {
            let clean =
                sludge.clean_out_at.as_ref().map(|at| format!(", cleaned out at {}", at.text)).unwrap_or_default();
            let on = sludge.measured_on.map(|day| format!(" on {day}")).unwrap_or_default();
            text.push_str(&format!("; sludge {} deep{on} ({} dry){clean}", sludge.depth.text, sludge.dry_solids.text));
        }
        if let Some(fill) = &pond.filled_from {
            text.push_str(&self.fill(fill));
        }
        if let Some(pump) = &pond.pumped_out {
            text.push_str(&self.pump(pump));
        }
        match &pond.spills_to {
            Some(to) => text.push_str(&format!("; it spills to {}", self.out(to))),
            None => text.push_str("; it has no outlet"),
        }
        text
    }
}

/// Who is served after whom, where it is not the first turn.
fn in_turn(turn: u32) -> String {
    match turn {
        0 | 1 => String::new(),
        later => format!(" in turn {later}"),
    }
}

fn text_of<Q>(given: &Option<Given<Q>>) -> Option<&str> {
    given.as_ref().map(|given| given.text.as_str())
}

fn carrying(lead: &str, what: &Concentrations) -> String {
    if what.is_empty() {
        return String::new();
    }
    let list: Vec<String> = what.iter().map(|(name, value)| format!("{name} at {}", value.text)).collect();
    format!("{lead} {}", list.join(" and "))
}

fn start(state: &StartState) -> String {
    let full = text_of(&state.holding).or(text_of(&state.level)).unwrap_or("not known");
    format!(", at the start {full}{}", carrying(" with", &state.solids))
}

fn how_often(often: HowOften) -> String {
    match often {
        HowOften::Every { days: 1 } => "every day".to_owned(),
        HowOften::Every { days } => format!("every {days} days"),
        HowOften::EveryWorkingDay => "every working day".to_owned(),
        HowOften::EveryDischarge => "at every discharge".to_owned(),
        HowOften::Times { times, each, with_a_discharge } => {
            let stretch = match each {
                Stretch::Day => "day",
                Stretch::Week => "week",
                Stretch::Month => "month",
                Stretch::Quarter => "quarter",
                Stretch::Year => "year",
            };
            let with = if with_a_discharge { " with a discharge" } else { "" };
            match times {
                1 => format!("once a {stretch}{with}"),
                more => format!("{more} times a {stretch}{with}"),
            }
        }
    }
}

fn discharge(point: &DischargePoint) -> String {
    let mut text = format!("is where water or solids leave: {}", point.kind.words());
    if let Some(into) = &point.into {
        text.push_str(&format!(", into {into}"));
    }
    if let Some(weir) = &point.weir {
        text.push_str(&format!(", over {}", over(weir)));
    }
    if let Some(often) = point.looked_at {
        text.push_str(&format!("; looked at {}", how_often(often)));
    }
    if let Some(most) = &point.takes_at_most {
        text.push_str(&format!("; it takes at most {}", most.text));
    }
    if let Some(area) = &point.area {
        text.push_str(&format!(", {}", area.text));
    }
    text
}

fn over(weir: &Weir) -> String {
    match weir {
        Weir::VNotch90 => "a V-notch weir of 90 degrees".to_owned(),
        Weir::VNotch60 => "a V-notch weir of 60 degrees".to_owned(),
        Weir::VNotch120 => "a V-notch weir of 120 degrees".to_owned(),
        Weir::Rectangular { width, .. } => format!("a rectangular weir of {}", width.text),
        Weir::BroadCrested { width, coefficient } => {
            let share = coefficient
                .as_ref()
                .map_or_else(|| "not typed, taken as 0.85 to 1".to_owned(), |share| share.text.clone());
            format!("a broad-crested weir of {} (coefficient {share})", width.text)
        }
    }
}
