//! The days of discharge: a calendar of each outfall, and a row for each day on which water left.

mod disagree;
mod judged;
mod weirs;

use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};

use chrono::{Datelike, NaiveDate};

use crate::balance::{Basis as Bits, DailySeries, Node, Selector, StoreSeries, Watch, WayAt};
use crate::facility::model::{DischargeKind, PlaceId, PlaceKind};
use crate::page::document::{Calendar, CalendarMonth, Cell, Column, DayMark, Document, Table, Text};
use crate::records::{Look, Sample, Source};
use crate::report::inspection::about::{Case, basis, day, month};
use crate::report::inspection::days::weirs::weirs;
use crate::report::inspection::known::Known;
use crate::report::inspection::runs::runs_text;
use crate::report::units::{self, Figured};
use crate::told::many;

/// Most days in the report's tables of all outfalls together, and the least for each; all stand in the annex.
const MOST_DAYS: usize = 90;
const LEAST_DAYS: usize = 10;
/// Most days of one outfall.
const MOST_OF_ONE: usize = 45;
/// Most months on one calendar.
const MOST_MONTHS: usize = 24;
/// Most months of which calendars are drawn; of a longer period the last of them.
const MOST_DRAWN: usize = 60;
/// Most days without a look that are listed beside the calendar; of more the annex has the list.
const FEW_UNSEEN: usize = 20;
/// Days that were looked at, of many, for which a table does without a calendar.
const FEW_SEEN: usize = 5;

/// Writes the section.
pub fn write(case: &Case, doc: &mut Document) {
    let outfalls = outfalls(case);
    if outfalls.is_empty() {
        return;
    }
    doc.heading(2, "The days of discharge");
    let outfalls: Vec<Outfall> = outfalls.into_iter().map(|id| Outfall::of(case, id)).collect();
    let most = most_of_each(&outfalls);
    for outfall in &outfalls {
        one(outfall, most, doc);
    }
}

/// Days on which water was seen to leave by an outfall or was sampled there, where the ledger moves none there on most of them: how much left is
/// not known, whatever the ledger has.
pub fn seen_unbooked(case: &Case, id: PlaceId) -> Option<usize> {
    let looks = case.timeline.looks.iter().any(|look| look.at == id && look.flowing);
    if !looks && !case.timeline.samples.iter().any(|sample| sample.at == id) {
        return None;
    }
    Outfall::of(case, id).seen_unbooked()
}

/// The days on which water left by an outfall at which somebody looks, as its table counts them; none at a sewer or a haulier.
pub fn days_with_water(case: &Case, id: PlaceId) -> Option<usize> {
    outfalls(case).contains(&id).then(|| {
        let outfall = Outfall::of(case, id);
        outfall.dates().filter(|date| outfall.had_water(*date)).count()
    })
}

/// Days on which water was seen to leave by an outfall, or was sampled there, and the ledger moves none.
pub fn days_without_volume(case: &Case, id: PlaceId) -> usize {
    let outfall = Outfall::of(case, id);
    outfall.dates().filter(|date| outfall.lacks_volume(*date)).count()
}

/// How many days of each stand in the report: those with few leave their room to the others.
fn most_of_each(outfalls: &[Outfall]) -> usize {
    share(&outfalls.iter().map(|outfall| outfall.left().len()).collect::<Vec<_>>())
}

fn share(days: &[usize]) -> usize {
    let used = |most: usize| days.iter().map(|days| most.min(*days)).sum::<usize>();
    (LEAST_DAYS..=MOST_OF_ONE).rev().find(|most| used(*most) <= MOST_DAYS).unwrap_or(LEAST_DAYS)
}

/// Every day on which water left, for the annex, where the report did not hold them all.
pub fn all(case: &Case, doc: &mut Document) {
    let outfalls: Vec<Outfall> = outfalls(case).into_iter().map(|id| Outfall::of(case, id)).collect();
    let most = most_of_each(&outfalls);
    let is_long = |outfall: &&Outfall| outfall.left().len() > most || outfall.unseen().len() > FEW_UNSEEN;
    let long: Vec<&Outfall> = outfalls.iter().filter(is_long).collect();
    if long.is_empty() {
        return;
    }
    let any = long.iter().any(|outfall| outfall.left().len() > most);
    doc.heading(2, if any { "All days of discharge and without a look" } else { "Every day without a look" });
    for outfall in long {
        let unseen = outfall.unseen();
        if unseen.len() > FEW_UNSEEN {
            doc.paragraph(format!(
                "{}, no look on file on {} days: {}.",
                outfall.name(),
                unseen.len(),
                runs_text(&unseen)
            ));
        }
        if outfall.left().len() > most {
            doc.table(outfall.table(usize::MAX));
            disagree::write(outfall, doc);
        }
    }
}

/// Discharge points at which somebody looks or water runs off by itself: not the sewer, not the haulier.
fn outfalls(case: &Case) -> Vec<PlaceId> {
    let is_one = |kind: &PlaceKind| match kind {
        PlaceKind::DischargePoint(point) => !matches!(point.kind, DischargeKind::HauledAway | DischargeKind::Sewer),
        _ => false,
    };
    case.facility
        .places
        .iter()
        .enumerate()
        .filter(|(_, place)| is_one(&place.kind))
        .map(|(at, _)| PlaceId(at))
        .collect()
}

/// What is known of one outfall, day by day.
struct Outfall<'a> {
    case: &'a Case<'a>,
    id: PlaceId,
    looks: BTreeMap<NaiveDate, Vec<&'a Look>>,
    samples: BTreeMap<NaiveDate, Vec<&'a Sample>>,
    water: DailySeries,
    /// The ways that end here.
    ways: Vec<WayAt>,
    /// The pond that spills here.
    pond: Option<&'a StoreSeries>,
    /// The days of which a weir tells, by the place before it.
    weirs: Vec<(PlaceId, BTreeSet<NaiveDate>)>,
    /// What was read of each day by a meter or a weir before it.
    read: BTreeMap<NaiveDate, &'a Source>,
    figured: Figured,
}

impl<'a> Outfall<'a> {
    fn of(case: &'a Case<'a>, id: PlaceId) -> Self {
        let inside = |date: NaiveDate| case.period.0 <= date && date <= case.period.1;
        let mut looks: BTreeMap<NaiveDate, Vec<&Look>> = BTreeMap::new();
        for look in case.timeline.looks.iter().filter(|look| look.at == id && inside(look.day)) {
            looks.entry(look.day).or_default().push(look);
        }
        let mut samples: BTreeMap<NaiveDate, Vec<&Sample>> = BTreeMap::new();
        for sample in case.timeline.samples.iter().filter(|sample| sample.at == id && inside(sample.day)) {
            samples.entry(sample.day).or_default().push(sample);
        }
        let to = Selector::to(Node::Place(id));
        let pond = case.ledger.ways().iter().filter(|way| to.matches(way)).find_map(|way| match way.from {
            Node::Place(from) => case.ledger.store(from).filter(|store| store.is_pond),
            _ => None,
        });
        let here = |meter: usize| case.facility.meters.get(meter).is_some_and(|meter| meter.to == id);
        let spans = case.timeline.meter_spans.iter().filter(|span| !span.carried && span.days == 1 && here(span.meter));
        Self {
            case,
            id,
            looks,
            samples,
            water: case.ledger.series(&Watch::Water(to)),
            ways: case.ledger.select(&to),
            pond,
            weirs: weirs(case, id),
            read: spans.map(|span| (span.first_day, &span.after)).collect(),
            figured: case.figured(id),
        }
    }

    fn name(&self) -> &'a str {
        self.case.name(self.id)
    }

    fn dates(&self) -> impl Iterator<Item = NaiveDate> + use<'a> {
        let (from, to) = self.case.period;
        from.iter_days().take_while(move |date| *date <= to)
    }

    /// What a look says of a day; flowing outranks dry.
    fn looked(&self, date: NaiveDate) -> Option<bool> {
        self.looks.get(&date).map(|looks| looks.iter().any(|look| look.flowing))
    }

    /// Whether a look or a sample shows that water left: a sample of nothing can't be taken.
    fn seen_or_sampled(&self, date: NaiveDate) -> bool {
        let sampled = |samples: &Vec<&Sample>| samples.iter().any(|sample| sample.value.is_some());
        self.looked(date) == Some(true) || self.samples.get(&date).is_some_and(sampled)
    }

    /// Whether water left, and the ledger moves none.
    fn lacks_volume(&self, date: NaiveDate) -> bool {
        self.seen_or_sampled(date) && self.moved(date).is_none() && !self.is_counted(date)
    }

    /// Whether water left by a look, a sample, a meter or the computation: one count of days for every page.
    fn had_water(&self, date: NaiveDate) -> bool {
        self.seen_or_sampled(date) || self.moved(date).is_some()
    }

    /// Whether meters counted every way to the outfall on a day, alone or with other days: where water was seen and they counted
    /// nothing, it was less than they count, and their next count has it. Limits take the meter too.
    fn is_counted(&self, date: NaiveDate) -> bool {
        let ledger = self.case.ledger;
        let Some(day) = ledger.day_of(date) else { return false };
        let counted = |of: Bits| of.has(Bits::METERED) && !of.has(Bits::UNKNOWN);
        !self.ways.is_empty() && self.ways.iter().all(|way| counted(ledger.water_basis(day, *way)))
    }

    /// Water that the ledger moved on a day, with its basis: all that a meter counted, and what was computed if it would
    /// print as more than nothing.
    fn moved(&self, date: NaiveDate) -> Option<(f64, Bits)> {
        let unit = units::volume(self.case.facility.system);
        let least = 0.5 * 10_f64.powi(-i32::from(unit.digits));
        self.water.on(date).filter(|(m3, _)| *m3 > 0.0 && (unit.of(*m3) >= least || self.is_metered(date)))
    }

    /// Whether every way to the outfall was metered on a day by itself, or read off a weir: one that was not may have run.
    fn is_metered(&self, date: NaiveDate) -> bool {
        let ledger = self.case.ledger;
        let Some(day) = ledger.day_of(date) else { return false };
        !self.ways.is_empty()
            && self.ways.iter().all(|way| {
                let of = ledger.water_basis(day, *way);
                let from = ledger.ways()[*way].from;
                let is_read = |(place, days): &(PlaceId, BTreeSet<NaiveDate>)| {
                    from == Node::Place(*place) && days.contains(&date)
                };
                of.has(Bits::METERED) && of.is_measured() || self.weirs.iter().any(is_read)
            })
    }

    fn mark(&self, date: NaiveDate) -> DayMark {
        let (metered, moves) = (self.is_metered(date), self.moved(date).is_some());
        match self.looked(date) {
            Some(true) => DayMark::Flowing,
            _ if metered && moves => DayMark::Flowing,
            Some(false) => DayMark::Dry,
            None if metered => DayMark::Dry,
            None if moves => DayMark::ComputedOnly,
            None => DayMark::NotSeen,
        }
    }

    /// The days on which water left by a look, a meter or the computation, or a sample was taken.
    fn left(&self) -> Vec<NaiveDate> {
        self.dates()
            .filter(|date| {
                self.looked(*date) == Some(true) || self.moved(*date).is_some() || self.samples.contains_key(date)
            })
            .collect()
    }

    /// The days of which no look and no meter tells.
    fn unseen(&self) -> Vec<NaiveDate> {
        self.dates().filter(|date| matches!(self.mark(*date), DayMark::NotSeen | DayMark::ComputedOnly)).collect()
    }

    /// How many days without a look only a reading before, carried on, tells of.
    fn carried(&self) -> usize {
        let here = |meter: usize| self.case.facility.meters.get(meter).is_some_and(|meter| meter.to == self.id);
        let spans = self.case.timeline.meter_spans.iter().filter(|span| span.carried && here(span.meter));
        let days: BTreeSet<NaiveDate> = spans.map(|span| span.first_day).collect();
        self.unseen().into_iter().filter(|date| days.contains(date)).count()
    }

    fn days_marked(&self, wanted: DayMark) -> Vec<NaiveDate> {
        self.dates().filter(|date| self.mark(*date) == wanted).collect()
    }

    fn calendars(&self) -> Vec<Calendar> {
        let all = self.case.months();
        // Decades of days are no calendar that anybody reads: the last two years stand for them.
        let first = if all.len() > MOST_DRAWN { all.len().saturating_sub(MOST_MONTHS) } else { 0 };
        let unbooked = self.seen_unbooked().is_some();
        let mut months: Vec<CalendarMonth> = Vec::new();
        for (from, to) in all.into_iter().skip(first) {
            let mut days = vec![(DayMark::Outside, false); from.day0() as usize];
            for date in from.iter_days().take_while(|date| *date <= to) {
                days.push((self.mark(date), self.samples.contains_key(&date)));
            }
            let days_with_water =
                from.iter_days().take_while(|date| *date <= to).filter(|date| self.had_water(*date)).count();
            let total = if unbooked { None } else { self.total(from, to) };
            months.push(CalendarMonth { name: month(from), days, days_with_water, total });
        }
        let totals = format!("left, {}", units::volume(self.case.facility.system).name);
        months.chunks(MOST_MONTHS).map(|months| Calendar { months: months.to_vec(), totals: totals.clone() }).collect()
    }

    /// Whether the period has more months than calendars are drawn of.
    fn spans_decades(&self) -> bool {
        self.case.months().len() > MOST_DRAWN
    }

    /// Days on which water was seen to leave or was sampled, where the ledger moves none on most of them.
    fn seen_unbooked(&self) -> Option<usize> {
        let seen: Vec<NaiveDate> = self.dates().filter(|date| self.seen_or_sampled(*date)).collect();
        let without = seen.iter().filter(|date| self.moved(**date).is_none()).count();
        (without * 2 > seen.len()).then_some(seen.len())
    }

    /// What left from a day to another, where water is booked.
    fn total(&self, from: NaiveDate, to: NaiveDate) -> Option<Cell> {
        let days: Vec<NaiveDate> = from.iter_days().take_while(|date| *date <= to).collect();
        let lacks = || days.iter().any(|date| self.lacks_volume(*date)).then(|| Cell::words("not known"));
        let known = self.known(&days, (from, to));
        known.map_or_else(lacks, |(_, known)| {
            Some(known.cell_of(units::volume(self.case.facility.system), self.figured))
        })
    }

    /// On how many of some days water left, and what is known of it from a day to another, of which a day's volume may be lacking;
    /// none where no figure is known of any.
    fn known(&self, days: &[NaiveDate], (from, to): (NaiveDate, NaiveDate)) -> Option<(Vec<NaiveDate>, Known)> {
        let with_water: Vec<NaiveDate> = days.iter().copied().filter(|date| self.had_water(*date)).collect();
        let mut known = Known::between(&self.water, from, to);
        known.lacks |= days.iter().any(|date| self.lacks_volume(*date));
        days.iter().any(|date| self.moved(*date).is_some()).then_some((with_water, known))
    }

    fn table(&self, most: usize) -> Table {
        let system = self.case.facility.system;
        let (volume, rain, level) = (units::volume(system), units::rain(system), units::level(system));
        let pond = self.pond.map(|pond| self.case.name(pond.place));
        let mut columns = vec![
            Column::words("Day"),
            Column::words("Look"),
            Column::figures("Water", volume.name),
            Column::figures("Rain, with the day before", rain.name),
        ];
        if let Some(pond) = pond {
            columns.push(Column::figures(disagree::level_head(pond), level.name));
        }
        columns.push(Column::words("Sampled"));
        columns.push(Column::words("Paper"));
        let mut table = Table::new(columns)
            .caption(format!("{}: days seen flowing, computed to flow, or sampled", self.name()))
            .wide();
        let left = self.left();
        // Where not all fit, those stand that a reader asks for: judged, seen or sampled, and with the most water.
        let judged: BTreeSet<NaiveDate> = self.judged_days();
        let rank = |date: &NaiveDate| {
            let moved = self.moved(*date).map_or(0.0, |(m3, _)| m3);
            (!judged.contains(date), !self.seen_or_sampled(*date), Reverse((moved * 1000.0) as u64))
        };
        let mut printed = left.clone();
        printed.sort_by_key(rank);
        printed.truncate(most);
        printed.sort();
        let unbooked = self.seen_unbooked().is_some();
        for date in &printed {
            table.row(self.row(*date));
        }
        let with_water: Vec<NaiveDate> = left.iter().copied().filter(|date| self.had_water(*date)).collect();
        let sampled = |date: &NaiveDate| self.samples.contains_key(date);
        let of = |wanted: DayMark| with_water.iter().filter(|date| self.mark(**date) == wanted).count();
        let sampled_unseen =
            |wanted: DayMark| with_water.iter().filter(|date| self.mark(**date) == wanted && sampled(date)).count();
        let metered = self.dates().any(|date| self.is_metered(date));
        let counts = [
            (of(DayMark::Flowing), if metered { "seen or metered flowing" } else { "seen flowing" }),
            (of(DayMark::ComputedOnly) - sampled_unseen(DayMark::ComputedOnly), "computed alone"),
            (of(DayMark::Dry), "looked at and dry"),
            (of(DayMark::NotSeen) + sampled_unseen(DayMark::ComputedOnly), "sampled, with no look on file"),
        ];
        let counts: Vec<String> =
            counts.iter().filter(|(count, _)| *count > 0).map(|(count, words)| format!("{count} {words}")).collect();
        if with_water.len() > 1 {
            table.note(format!("Of these {} days: {}.", with_water.len(), counts.join(", ")));
        }
        if left.len() > most {
            table.note(format!(
                "{most} of {} days: those that a limit turns on, seen or sampled first, then those with the most water; all of \
                 them stand in the annex.",
                left.len()
            ));
        }
        let unknown = left.iter().filter(|date| self.lacks_volume(**date)).count();
        let whole = self.sum_of(&left, &printed, "In all").filter(|_| !unbooked);
        if let Some(cells) = whole {
            table.sum(cells);
            if unknown > 0 {
                let days = many(unknown, "day");
                table.note(format!(
                    "The total lacks what left on {days} seen flowing or sampled of which no volume is known."
                ));
            }
            if !self.adds_up(&left) {
                table.note("Days and months add up to the total within rounding.");
            }
        }
        table
    }

    /// Whether the days as printed add up to the sum as printed.
    fn adds_up(&self, days: &[NaiveDate]) -> bool {
        let unit = units::volume(self.case.facility.system);
        let scale = 10_f64.powi(i32::from(unit.digits));
        let moved = || days.iter().filter_map(|date| self.moved(*date)).map(|(m3, _)| scale * unit.of(m3));
        let months = days.chunk_by(|a, b| (a.year(), a.month()) == (b.year(), b.month()));
        let of_months: f64 = months
            .map(|days| {
                days.iter().filter_map(|date| self.moved(*date)).map(|(m3, _)| scale * unit.of(m3)).sum::<f64>()
            })
            .map(f64::round)
            .sum();
        let whole = moved().sum::<f64>().round();
        let each: f64 = moved().map(f64::round).sum();
        self.figured == Figured::Counted && (each - whole).abs() < 0.5 && (of_months - whole).abs() < 0.5
    }

    /// What left on some days together, and how many of them are listed above.
    fn sum_of(&self, days: &[NaiveDate], listed: &[NaiveDate], of: &str) -> Option<Vec<Cell>> {
        let (with_water, known) = self.known(days, self.case.period)?;
        let shown = with_water.iter().filter(|date| listed.contains(date)).count();
        let above = if shown == with_water.len() { String::new() } else { format!(", {shown} listed") };
        let words = format!("{of}, {}{above}", many(with_water.len(), "day"));
        Some(vec![
            Cell::words(words),
            Cell::words(""),
            known.cell_of(units::volume(self.case.facility.system), self.figured),
        ])
    }

    fn row(&self, date: NaiveDate) -> Vec<Cell> {
        let system = self.case.facility.system;
        let (volume, rain, level) = (units::volume(system), units::rain(system), units::level(system));
        let water = match self.moved(date) {
            Some((m3, of)) => match basis(of) {
                Some(known) => {
                    let (value, digits) = self.figured.of(volume, m3);
                    Cell::figure(value, digits, known)
                }
                None => Cell::words("not known"),
            },
            None if self.seen_or_sampled(date) && self.is_counted(date) => Cell::words("none counted"),
            // A look or a sample stands above a computation that moved nothing.
            None if self.seen_or_sampled(date) => Cell::words("not known"),
            None => Cell::words("none"),
        };
        let fell = date
            .pred_opt()
            .and_then(|before| Some(self.case.weather.depth_mm_on(before)? + self.case.weather.depth_mm_on(date)?));
        let mut cells = vec![
            Cell::words(day(date)),
            Cell::words(match self.looked(date) {
                Some(true) => "flowing",
                Some(false) => "dry",
                None if self.weirs.iter().any(|(_, days)| days.contains(&date)) => "weir read",
                None if self.is_metered(date) => "metered",
                None => "not looked",
            }),
            water,
            fell.map_or_else(|| Cell::words("not known"), |mm| Cell::number(rain.of(mm), rain.digits)),
        ];
        if let Some(pond) = self.pond {
            cells.push(self.level_at_opening(pond, date, level));
        }
        let samples = self.samples.get(&date).map_or(&[][..], Vec::as_slice);
        cells.push(Cell::words(sampled(samples)));
        let mut papers: Vec<&str> = Vec::new();
        let looks = self.looks.get(&date).into_iter().flatten().map(|look| &look.source);
        let read = self.read.get(&date).copied();
        for source in looks.chain(read).chain(samples.iter().map(|sample| &sample.source)) {
            let paper = source.paper.as_deref().unwrap_or("no number on file");
            if !papers.contains(&paper) {
                papers.push(paper);
            }
        }
        // A tab's name may end with a blank, which is no part of a sentence.
        cells.push(Cell::words(papers.join(", ").replace(" ,", ",")));
        cells
    }

    /// The level at the close of the day before: what was read as the day began, whatever date the day bears.
    fn level_at_opening(&self, pond: &StoreSeries, date: NaiveDate, unit: units::Unit) -> Cell {
        let Some(before) = self.case.ledger.day_of(date).and_then(|day| day.checked_sub(1)) else {
            return Cell::nothing();
        };
        let of = pond.basis.get(before).copied().unwrap_or_default();
        let Some(known) = basis(of) else { return Cell::words("not known") };
        pond.level_m.get(before).map_or_else(Cell::nothing, |m| Cell::figure(unit.of(*m), unit.digits, known))
    }
}

/// `TSS` and the like are the permit's words: results are counted, and their slip stands beside them.
fn sampled(samples: &[&Sample]) -> String {
    match samples.len() {
        0 => String::new(),
        1 => samples.iter().map(|sample| sample.parameter.clone()).collect(),
        many => format!("{many} results"),
    }
}

fn one(outfall: &Outfall, most: usize, doc: &mut Document) {
    let (case, id) = (outfall.case, outfall.id);
    let days = outfall.dates().count();
    let (flowing, dry) = (outfall.days_marked(DayMark::Flowing), outfall.days_marked(DayMark::Dry));
    let unseen = outfall.unseen();
    let into = match &case.facility.places.get(id.0).map(|place| &place.kind) {
        Some(PlaceKind::DischargePoint(point)) => point.into.as_ref().map(|water| format!(" into {water}")),
        _ => None,
    };
    doc.heading(3, format!("{}{}", outfall.name(), into.unwrap_or_default()));
    let seen = days - unseen.len();
    if seen == 0 && outfall.left().is_empty() {
        doc.paragraph(format!("Nobody looked on any of {days} days, and the computation moved no water there."));
        return;
    }
    let metered = outfall.dates().any(|date| outfall.is_metered(date));
    let how = if metered { "Looked at or metered" } else { "Looked at" };
    let words = format!("{how} on {seen} of {days} days: flowing on {}, dry on {}.", flowing.len(), dry.len());
    if unseen.is_empty() && outfall.left().is_empty() {
        doc.paragraph(words);
        return;
    }
    let mut text = Text::from(words);
    // Where next to nobody looked, the table has all that a calendar would show.
    let computed = outfall.days_marked(DayMark::ComputedOnly).len();
    let drawn = computed > 0 || seen > FEW_SEEN || unseen.len() <= FEW_UNSEEN;
    match unseen.len() {
        0 => {}
        1..=FEW_UNSEEN => text = text.plain(format!(" Not looked at on {}: {}.", unseen.len(), runs_text(&unseen))),
        more => {
            let among = match computed {
                0 if drawn => ": dots in the calendar; the".to_owned(),
                0 => "; the".to_owned(),
                _ => format!(
                    ": hatched in the calendar are {computed} on which water is computed to have left, the others are dots; the"
                ),
            };
            text = text.plain(format!(" Not looked at on {more}{among} annex lists them."));
        }
    }
    let carried = outfall.carried();
    if carried > 0 {
        text = text.plain(format!(
            " For {} of {} the reading before stands, as typed: nobody read, and what is printed for {} is assumed.",
            if carried == unseen.len() { "each".to_owned() } else { carried.to_string() },
            if unseen.len() == 1 { "that day" } else { "these days" },
            if carried == 1 { "it" } else { "them" }
        ));
    }
    if drawn && outfall.spans_decades() {
        text = text.plain(format!(" The calendar is of the last {MOST_MONTHS} months."));
    }
    doc.paragraph(text);
    let name = outfall.name();
    for calendar in outfall.calendars().into_iter().filter(|_| drawn) {
        let alt = format!(
            "Calendar of {name}: {} days flowing, {} dry, {} not seen.",
            flowing.len(),
            dry.len(),
            unseen.len()
        );
        doc.calendar(
            calendar,
            alt,
            format!("{name}, day by day: flowing or dry by {}", if metered { "a look or a meter" } else { "a look" }),
        );
    }
    if !outfall.left().is_empty() {
        doc.table(outfall.table(most));
    }
    disagree::write(outfall, doc);
}

#[cfg(test)]
mod tests {
    use super::share;

    #[test]
    fn outfalls_with_few_days_leave_their_room_to_those_with_many() {
        // 1 + 2 + 43 + 43 are 89, and one more of each would be 91.
        assert_eq!(share(&[1, 2, 67, 116]), 43);
        assert_eq!((share(&[30]), share(&[90]), share(&[100; 12])), (45, 45, 10));
    }
}
