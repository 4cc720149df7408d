//! The days of discharge: a calendar of each outfall, and a row for each day on which water left.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{Datelike, NaiveDate};

use crate::balance::{Basis as Bits, DailySeries, Node, Selector, StoreSeries, Watch};
use crate::facility::model::{DischargeKind, PlaceId, PlaceKind};
use crate::page::document::{Calendar, CalendarMonth, Cell, Column, DayMark, Document, Table, Text, figures};
use crate::records::{Look, Sample};
use crate::report::inspection::about::{Case, basis, day, month};
use crate::report::inspection::page_one::forbids;
use crate::report::units;
use crate::rules::{Finding, FindingKind, Outcome};

/// Most days in the report's tables of all outfalls together, and the least for each; all stand in the annex.
const MOST_DAYS: usize = 90;
const LEAST_DAYS: usize = 10;
/// Most days of one outfall.
const MOST_OF_ONE: usize = 45;
/// Most months on one calendar.
const MOST_MONTHS: usize = 24;
/// Most days without a look that are listed beside the calendar; of more the annex has the list.
const FEW_UNSEEN: usize = 20;
/// Most runs of days in one sentence.
const MOST_RUNS: usize = 200;

/// Writes the section.
pub fn write(case: &Case, doc: &mut Document) {
    let outfalls = outfalls(case);
    if outfalls.is_empty() {
        return;
    }
    doc.heading(2, "The days of discharge");
    let most = most_of_each(outfalls.len());
    for id in outfalls {
        one(case, id, most, doc);
    }
}

/// Days on which water was seen to leave by an outfall or was sampled there, where the ledger moves none there on most of them: how much left is
/// not known, whatever the ledger has.
pub fn seen_unbooked(case: &Case, id: PlaceId) -> Option<usize> {
    let looks = case.timeline.looks.iter().any(|look| look.at == id && look.flowing);
    if !looks && !case.timeline.samples.iter().any(|sample| sample.at == id) {
        return None;
    }
    let outfall = Outfall::of(case, id);
    let seen: Vec<NaiveDate> = outfall.dates().filter(|date| outfall.seen_or_sampled(*date)).collect();
    let without = seen.iter().filter(|date| outfall.moved(**date).is_none()).count();
    (without * 2 > seen.len()).then_some(seen.len())
}

/// Days on which water was seen to leave by an outfall, or was sampled there, and the ledger moves none.
pub fn days_without_volume(case: &Case, id: PlaceId) -> usize {
    let outfall = Outfall::of(case, id);
    outfall.dates().filter(|date| outfall.lacks_volume(*date)).count()
}

fn most_of_each(outfalls: usize) -> usize {
    (MOST_DAYS / outfalls.max(1)).clamp(LEAST_DAYS, MOST_OF_ONE)
}

/// Every day on which water left, for the annex, where the report did not hold them all.
pub fn all(case: &Case, doc: &mut Document) {
    let outfalls: Vec<Outfall> = outfalls(case).into_iter().map(|id| Outfall::of(case, id)).collect();
    let most = most_of_each(outfalls.len());
    let is_long = |outfall: &&Outfall| outfall.left().len() > most || outfall.unseen().len() > FEW_UNSEEN;
    let long: Vec<&Outfall> = outfalls.iter().filter(is_long).collect();
    if long.is_empty() {
        return;
    }
    let any = long.iter().any(|outfall| outfall.left().len() > most);
    doc.heading(
        2,
        if any { "Every day of discharge, and every day without a look" } else { "Every day without a look" },
    );
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
    /// The pond that spills here.
    pond: Option<&'a StoreSeries>,
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
        Self { case, id, looks, samples, water: case.ledger.series(&Watch::Water(to)), pond }
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
        self.seen_or_sampled(date) && self.moved(date).is_none()
    }

    /// Water that the ledger moved on a day, with its basis: all that a meter counted, and what was computed if it would
    /// print as more than nothing.
    fn moved(&self, date: NaiveDate) -> Option<(f64, Bits)> {
        let unit = units::volume(self.case.facility.system);
        let least = 0.5 * 10_f64.powi(-i32::from(unit.digits));
        self.water.on(date).filter(|(m3, _)| *m3 > 0.0 && (unit.of(*m3) >= least || self.is_metered(date)))
    }

    /// Whether every way to the outfall was metered on a day by itself: one that was not may have run.
    fn is_metered(&self, date: NaiveDate) -> bool {
        let ledger = self.case.ledger;
        let ways = ledger.select(&Selector::to(Node::Place(self.id)));
        let Some(day) = ledger.day_of(date) else { return false };
        !ways.is_empty()
            && ways.iter().all(|way| {
                let of = ledger.water_basis(day, *way);
                of.has(Bits::METERED) && of.is_measured()
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

    fn days_marked(&self, wanted: DayMark) -> Vec<NaiveDate> {
        self.dates().filter(|date| self.mark(*date) == wanted).collect()
    }

    fn calendars(&self) -> Vec<Calendar> {
        let mut months: Vec<CalendarMonth> = Vec::new();
        for (from, to) in self.case.months() {
            let mut days = vec![(DayMark::Outside, false); from.day0() as usize];
            for date in from.iter_days().take_while(|date| *date <= to) {
                days.push((self.mark(date), self.samples.contains_key(&date)));
            }
            months.push(CalendarMonth { name: month(from), days });
        }
        months.chunks(MOST_MONTHS).map(|months| Calendar { months: months.to_vec() }).collect()
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
            columns.push(Column::figures(format!("{pond} that morning"), level.name));
        }
        columns.push(Column::words("Sampled"));
        columns.push(Column::words("Paper"));
        let mut table = Table::new(columns)
            .caption(format!("{}: days seen flowing, computed to flow, or sampled", self.name()))
            .wide();
        let left = self.left();
        // Where not all fit, those on which water left come first.
        let (water, others): (Vec<NaiveDate>, Vec<NaiveDate>) =
            left.iter().partition(|date| self.seen_or_sampled(**date) || self.moved(**date).is_some());
        let mut printed: Vec<NaiveDate> = water.into_iter().chain(others).take(most).collect();
        printed.sort();
        let months =
            |days: &[NaiveDate]| days.iter().map(|day| (day.year(), day.month())).collect::<BTreeSet<_>>().len();
        let several = months(&printed) > 1;
        for some in printed.chunk_by(|a, b| (a.year(), a.month()) == (b.year(), b.month())) {
            some.iter().for_each(|date| {
                table.row(self.row(*date));
            });
            let (Some(first), true) = (some.first(), several && some.len() > 1) else { continue };
            let same = |date: &&NaiveDate| (date.year(), date.month()) == (first.year(), first.month());
            if let Some(cells) = self.sum_of(left.iter().filter(same), &month(*first)) {
                table.sum(cells);
            }
        }
        let of = |wanted: DayMark| left.iter().filter(|date| self.mark(**date) == wanted).count();
        let metered = self.dates().any(|date| self.is_metered(date));
        let counts = [
            (of(DayMark::Flowing), if metered { "seen or metered flowing" } else { "seen flowing" }),
            (of(DayMark::ComputedOnly), "computed alone"),
            (of(DayMark::Dry), "looked at and dry"),
            (of(DayMark::NotSeen), "sampled, with no look on file"),
        ];
        let counts: Vec<String> =
            counts.iter().filter(|(count, _)| *count > 0).map(|(count, words)| format!("{count} {words}")).collect();
        table.note(format!("Of these {} days: {}.", left.len(), counts.join(", ")));
        if left.len() > most {
            table.note(format!("{most} of {} days; all of them stand in the annex.", left.len()));
        }
        let unknown = left.iter().filter(|date| self.lacks_volume(**date)).count();
        if let Some(cells) = self.sum_of(left.iter(), "In all") {
            table.sum(cells);
            if unknown > 0 {
                let days = if unknown == 1 { "1 day".to_owned() } else { format!("{unknown} days") };
                table.note(format!(
                    "The total lacks what left on {days} seen flowing or sampled of which no volume is known."
                ));
            }
        }
        table
    }

    /// What left on some days together; none where no figure is known of any.
    fn sum_of<'d>(&self, days: impl Iterator<Item = &'d NaiveDate>, of: &str) -> Option<Vec<Cell>> {
        let volume = units::volume(self.case.facility.system);
        let moved: Vec<(f64, Bits)> = days.filter_map(|date| self.moved(*date)).collect();
        let (m3, bits) = moved.iter().fold((0.0, Bits::default()), |sum, one| (sum.0 + one.0, sum.1.or(one.1)));
        let days = if moved.len() == 1 { "1 day".to_owned() } else { format!("{} days", moved.len()) };
        let known = basis(bits).filter(|_| !moved.is_empty())?;
        let water = Cell::figure(volume.of(m3), volume.digits, known);
        Some(vec![Cell::words(format!("{of}, {days}")), Cell::words(""), water])
    }

    fn row(&self, date: NaiveDate) -> Vec<Cell> {
        let system = self.case.facility.system;
        let (volume, rain, level) = (units::volume(system), units::rain(system), units::level(system));
        let water = match self.moved(date) {
            Some((m3, of)) => match basis(of) {
                Some(known) => Cell::figure(volume.of(m3), volume.digits, known),
                None => Cell::words("not known"),
            },
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
                None => "not looked",
            }),
            water,
            fell.map_or_else(|| Cell::words("not known"), |mm| Cell::number(rain.of(mm), rain.digits)),
        ];
        if let Some(pond) = self.pond {
            cells.push(self.level_that_morning(pond, date, level));
        }
        let samples = self.samples.get(&date).map_or(&[][..], Vec::as_slice);
        cells.push(Cell::words(sampled(samples)));
        let mut papers: Vec<&str> = Vec::new();
        let looks = self.looks.get(&date).into_iter().flatten().map(|look| &look.source);
        for source in looks.chain(samples.iter().map(|sample| &sample.source)) {
            let paper = source.paper.as_deref().unwrap_or("no number on file");
            if !papers.contains(&paper) {
                papers.push(paper);
            }
        }
        cells.push(Cell::words(papers.join(", ")));
        cells
    }

    /// The level as read on the day, else as computed for the close of the day before.
    fn level_that_morning(&self, pond: &StoreSeries, date: NaiveDate, unit: units::Unit) -> Cell {
        let Some(before) = self.case.ledger.day_of(date).and_then(|day| day.checked_sub(1)) else {
            return Cell::nothing();
        };
        let of = pond.basis.get(before).copied().unwrap_or_default();
        let Some(known) = basis(of) else { return Cell::words("not known") };
        pond.level_m.get(before).map_or_else(Cell::nothing, |m| Cell::figure(unit.of(*m), unit.digits, known))
    }

    /// What limits that allow no discharge say of single days: excused by a storm, not shown, or broken.
    fn storms(&self) -> Vec<(NaiveDate, String)> {
        let here =
            |finding: &&Finding| finding.kind == FindingKind::Limit && finding.at == self.name() && forbids(finding);
        let mut out = Vec::new();
        for finding in self.case.findings.iter().filter(here) {
            for window in finding.windows.iter().filter(|window| window.from == window.to && window.n > 0) {
                let words = match window.outcome {
                    Outcome::Met => "excused by the storm",
                    Outcome::NoDischarge => continue,
                    other => other.words(),
                };
                out.push((window.from, format!("{}: {words}", finding.name)));
            }
        }
        out.sort_by_key(|(date, _)| *date);
        out
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

fn one(case: &Case, id: PlaceId, most: usize, doc: &mut Document) {
    let outfall = Outfall::of(case, id);
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
    match unseen.len() {
        0 => {}
        1..=FEW_UNSEEN => text = text.plain(format!(" Not looked at on {}: {}.", unseen.len(), runs_text(&unseen))),
        many => {
            let computed = outfall.days_marked(DayMark::ComputedOnly).len();
            let among = match computed {
                0 => "the dots of the calendar".to_owned(),
                _ => format!(
                    "{} dots of the calendar, and {computed} days hatched, on which water is computed to have left",
                    many - computed
                ),
            };
            text = text.plain(format!(" Not looked at on {many}: {among}; the annex lists them."));
        }
    }
    doc.paragraph(text);
    let name = outfall.name();
    for calendar in outfall.calendars() {
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
    disagree(&outfall, doc);
}

/// Looks and the computation that do not agree are told.
fn disagree(outfall: &Outfall, doc: &mut Document) {
    let volume = units::volume(outfall.case.facility.system);
    let mut told: Vec<Text> = Vec::new();
    let dry: Vec<String> = outfall
        .dates()
        .filter(|date| outfall.looked(*date) == Some(false))
        .filter_map(|date| {
            let (m3, _) = outfall.moved(date)?;
            Some(format!("{} ({})", day(date), figures::with_unit(volume.of(m3), volume.digits, volume.name)))
        })
        .collect();
    if !dry.is_empty() {
        told.push(Text::from(format!(
            "Looked dry, though water left by the computation: {}. A look holds for its moment; the computation for the \
             whole day, and it may be wrong.",
            first_few(&dry)
        )));
    }
    let (flowing, sampled): (Vec<NaiveDate>, Vec<NaiveDate>) = outfall
        .dates()
        .filter(|date| outfall.lacks_volume(*date))
        .partition(|date| outfall.looked(*date) == Some(true));
    for (days, how, what) in [(flowing, "Looked flowing", "look"), (sampled, "Sampled", "sample")] {
        if !days.is_empty() {
            told.push(Text::from(format!(
                "{how}, though the computation moves no water: {}. The {what} stands: that day's volume is not known.",
                first_few(&days.into_iter().map(day).collect::<Vec<_>>())
            )));
        }
    }
    for (date, words) in outfall.storms() {
        told.push(Text::from(format!("{}: {words}.", day(date))));
    }
    if !told.is_empty() {
        doc.list(told);
    }
}

fn first_few(words: &[String]) -> String {
    match words.len() {
        0..=12 => words.join(", "),
        many => format!("{} and {} more", words.get(..12).unwrap_or_default().join(", "), many - 12),
    }
}

/// Days as runs: `2-3 Nov, 9-10 Nov 2024`; the year stands where it changes.
fn runs_text(days: &[NaiveDate]) -> String {
    let mut runs: Vec<(NaiveDate, NaiveDate)> = Vec::new();
    for date in days {
        match runs.last_mut() {
            Some((_, to)) if to.succ_opt() == Some(*date) => *to = *date,
            _ => runs.push((*date, *date)),
        }
    }
    let many = runs.len();
    let mut words: Vec<String> = Vec::new();
    for (at, (from, to)) in runs.iter().enumerate().take(MOST_RUNS) {
        let ends_year = runs.get(at + 1).is_none_or(|(next, _)| next.year() != to.year()) || at + 1 == MOST_RUNS;
        let ends_month = ends_year || runs.get(at + 1).is_none_or(|(next, _)| next.month() != to.month());
        let mut text = if from == to {
            from.format("%-d").to_string()
        } else if (from.month(), from.year()) == (to.month(), to.year()) {
            format!("{}–{}", from.format("%-d"), to.format("%-d"))
        } else {
            format!("{}–{}", from.format("%-d %b"), to.format("%-d"))
        };
        if ends_month {
            text.push_str(&to.format(" %b").to_string());
        }
        if ends_year {
            text.push_str(&to.format(" %Y").to_string());
        }
        words.push(text);
    }
    if many > MOST_RUNS {
        words.push(format!("and {} more stretches", many - MOST_RUNS));
    }
    words.join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_are_told_as_runs_with_month_and_year_where_they_change() {
        let date = |y, m, d| NaiveDate::from_ymd_opt(y, m, d).unwrap();
        let days = [
            date(2024, 11, 2),
            date(2024, 11, 3),
            date(2024, 11, 9),
            date(2024, 12, 31),
            date(2025, 1, 1),
            date(2025, 3, 4),
        ];
        assert_eq!(runs_text(&days), "2–3, 9 Nov, 31 Dec–1 Jan, 4 Mar 2025");
    }
}
