//! Years of weather: spills, size against spills, what if; other shapes.

use crate::page::document::figures::number;
use crate::page::document::{Basis, Cell, Chart, Column, Document, Hue, Mark, Panel, Series, Table};
use crate::report::basin::page::{self, cleaned_out_sooner, governs, two};
use crate::report::basin::{BasinCase, cells, counted, few, money, percent, round, slope, standing, to_type};
use crate::report::case::page::first_capital;
use crate::report::inspection::about::day;
use crate::sizing::{Answer, Basin, Case, Check, Comes, Duty, ONE_SPELL_DAYS, Outcome, Simulated};

/// Spills listed.
const MOST_SPILLS: usize = 20;
/// Where the sizes of the same depth and proportions stand one by one.
const IN_THE_ANNEX: &str =
    "Which duties each of them fails, and by how much, is in the annex under “Size against duties”.";
/// Depths that differ by a smaller share are the same.
const ALIKE: f64 = 0.01;

/// Writes the section.
pub(super) fn write(case: &BasinCase, answer: &Answer, doc: &mut Document) {
    doc.heading(2, "Years of weather");
    doc.paragraph(format!(
        "The whole site was run day by day from {} to {} with this pond in it, its sludge store full all the time, as on the day \
         before a clean-out. No meter, log or level reading is used; ranges stand at their middle.",
        day(case.period.0),
        day(case.period.1)
    ));
    doc.table(came_to(case, answer));
    spills(case, answer, doc);
    curve(case, answer, doc);
    what_if(case, answer, doc);
}

/// What the years did, of the pond and of the present one as it is run now.
fn came_to(case: &BasinCase, answer: &Answer) -> Table {
    let units = case.units();
    let run = &answer.run;
    let foot_m = case.study.demands.hold_foot_m(&answer.found.basin);
    let now = case.study.standing.as_ref().map(|of| &of.now).filter(|_| !case.not_built);
    let mut columns = vec![Column::words("In the run"), Column::words("Came to")];
    if now.is_some() {
        columns.push(Column::words("Present pond"));
    }
    let mut table = Table::new(columns).caption("What the years did");
    let rate = |of: &Simulated| match of.spill.interval() {
        Some((low, high)) => format!("{} ({} to {})", few(of.spill.a_year()), two(low), two(high)),
        None => few(of.spill.a_year()),
    };
    let share = |of: &Simulated| of.share_kept().map_or_else(|| "–".to_owned(), percent);
    let known = |text: String| Cell::known(text, Basis::Computed);
    {
        let mut both = |what: &str, value: &dyn Fn(&Simulated) -> String| {
            let mut cells = vec![Cell::words(what), known(value(run))];
            cells.extend(now.map(|now| known(value(now))));
            table.row(cells);
        };
        let any = |of: fn(&Simulated) -> f64| of(run) > 0.0 || now.is_some_and(|now| of(now) > 0.0);
        both("Spills a year, and the 95 % interval", &rate);
        if run.spill.spills > run.spill.spells {
            both(&format!("Wet spells that spilled, parted by {ONE_SPELL_DAYS} days or more"), &|of| {
                number(f64::from(of.spill.spells), 0)
            });
        }
        both("Days with a spill", &|of| number(of.spill.spill_days as f64, 0));
        both("Longest spill", &|of| counted(of.spill.longest_days as f64, "day"));
        both("Most spilled in a day", &|of| units.m3(of.spill.most_in_a_day_m3));
        both("Spilled in all", &|of| units.m3(of.spill.spilled_m3));
        both("Water that came to the pond", &|of| units.m3(of.inflow_m3));
        both("Of that, rain on the pond itself", &|of| units.m3(of.rain_m3));
        both("Of that, runoff, and what spilled into it from upstream", &|of| units.m3(of.runoff_m3));
        if any(|of| of.filled_m3) {
            let supply = standing::supply(case).unwrap_or_else(|| "a supply".to_owned());
            both(&format!("Of that, filled in by {supply}"), &|of| units.m3(of.filled_m3));
        }
        if any(|of| of.let_out_m3) {
            both("Let out before it could spill (where to: page 1)", &|of| units.m3(of.let_out_m3));
        }
        both(
            if any(|of| of.let_out_m3) {
                "Of rain, runoff and spills from upstream, what neither spilled nor was let out, if all that left so was theirs"
            } else {
                "Of rain, runoff and spills from upstream, what did not spill, if all that spilled was theirs"
            },
            &share,
        );
        if !case.study.basics.uses.is_empty() {
            both("Days on which a use that draws from it ran short", &|of| number(of.shortage_days as f64, 0));
            if any(|of| of.short_m3) {
                both("What was lacking on these days in all", &|of| units.m3(of.short_m3));
                both("These days by month", &|of| by_month(&of.short_in));
            }
        }
    }
    let mut row = |what: &str, value: String| {
        let mut cells = vec![Cell::words(what), known(value)];
        cells.extend(now.map(|_| Cell::nothing()));
        table.row(cells);
    };
    if case.study.demands.duties.storm.is_some() {
        row(
            &match standing::storm_fits_nowhere(&answer.held()) {
                true => "Days that closed too high for the storm, which fits from no level".to_owned(),
                false => format!("Days that closed above {}, too high for the storm", units.m(answer.normal_m)),
            },
            number(run.storm_room_lacking_days as f64, 0),
        );
    }
    if case.study.demands.duties.hold.is_some() {
        row("Times that something to hold came", number(run.hold.wanted as f64, 0));
        row(
            &match standing::held_fits_nowhere(&answer.held()) {
                true => "Of these, there was no room for it at the close of the day before".to_owned(),
                false => {
                    format!("Of these, its room above {} was taken at the close of the day before", units.m(foot_m))
                }
            },
            number(run.hold.lacking as f64, 0),
        );
    }
    if run.unknown_days > 0 {
        row("Days whose rain is not known, taken as dry", number(run.unknown_days as f64, 0));
    }
    if let Some(years) = answer.clean_out_years() {
        row("The sludge store is full after", counted(years, "year"));
    }
    table.note("A spill shorter than a step of the run can be missed.");
    if now.is_some() {
        table.note("The present pond too has its sludge store full; it is run at its own levels, without the drawdown that is asked for. A dash: not asked of it.");
    }
    table
}

fn spills(case: &BasinCase, answer: &Answer, doc: &mut Document) {
    if answer.spills.is_empty() {
        doc.paragraph("It never spilled in the run. That is not proof that it never will: see the interval.");
        return;
    }
    let units = case.units();
    let mut largest = answer.spills.clone();
    largest.sort_by(|a, b| b.m3.total_cmp(&a.m3).then(a.first.cmp(&b.first)));
    largest.truncate(MOST_SPILLS);
    largest.sort_by_key(|spill| spill.first);
    let mut table = Table::new(vec![
        Column::words("Began"),
        Column::figures("Days", ""),
        Column::figures("Spilled", units.volume.0),
    ])
    .caption("Spills");
    for spill in &largest {
        table.row(vec![
            Cell::words(day(spill.first)),
            Cell::figure(spill.days as f64, 0, Basis::Computed),
            Cell::figure(round(spill.m3 * units.volume.1), 0, Basis::Computed),
        ]);
    }
    let all = |days: usize, m3: f64| {
        vec![
            Cell::words("In all"),
            Cell::figure(days as f64, 0, Basis::Computed),
            Cell::figure(round(m3 * units.volume.1), 0, Basis::Computed),
        ]
    };
    let spills = &answer.spills;
    table.sum(all(spills.iter().map(|spill| spill.days).sum(), spills.iter().map(|spill| spill.m3).sum()));
    if spills.len() > largest.len() {
        table.note(format!("The {} largest of {}; the sum is of all.", largest.len(), spills.len()));
    }
    doc.table(table);
}

fn curve(case: &BasinCase, answer: &Answer, doc: &mut Document) {
    if answer.curve.len() < 2 {
        return;
    }
    let units = case.units();
    if answer.curve.iter().all(|(_, run)| run.spill.spills == 0) {
        let mut held: Vec<f64> = answer.curve.iter().map(|(basin, _)| basin.capacity_m3()).collect();
        held.sort_by(f64::total_cmp);
        if let [least, .., most] = held.as_slice() {
            let (least, most) = (units.m3(*least), units.m3(*most));
            doc.paragraph(format!(
                "Nor did any size of the same depth and proportions, from {least} to {most}. {IN_THE_ANNEX}"
            ));
        }
        return;
    }
    let volumes: Vec<f64> = answer.curve.iter().map(|(basin, _)| basin.capacity_m3() * units.volume.1).collect();
    let names = volume_names(&volumes);
    let mut series = Series::new(
        "spills a year",
        Mark::Points,
        Hue::Pool,
        Basis::Computed,
        answer.curve.iter().map(|(_, run)| Some(run.spill.a_year())).collect(),
    );
    series.ranges = answer.curve.iter().map(|(_, run)| run.spill.interval()).collect();
    let mut panel = Panel::new("Spills", "a year").series(series);
    if let Some(duty) = &case.study.demands.duties.spills {
        panel = panel.limit(duty.a_year, format!("asked: at most {} a year", few(duty.a_year)));
    }
    panel.lines = 9;
    let found = answer.found.basin.capacity_m3();
    doc.chart(
        Chart::over_classes(names).panel(panel),
        format!(
            "Spills a year against volume for ponds of the same depth and proportions, from {} to {} a year; {} holds {}.",
            answer.curve.first().map_or_else(String::new, |(_, run)| few(run.spill.a_year())),
            answer.curve.last().map_or_else(String::new, |(_, run)| few(run.spill.a_year())),
            pond_words(case),
            units.m3(found)
        ),
        format!(
            "Size against spills: the same depth and proportions, smaller, and larger as far as the plot goes. Volumes below the spill level in thousands (k) or millions (M) of {}; bars are 95 % intervals. {} holds {}. {IN_THE_ANNEX}",
            units.volume.0,
            first_capital(pond_words(case)),
            units.m3(found)
        ),
    );
}

/// What the pond is called that the document is about.
fn pond_words(case: &BasinCase) -> &'static str {
    match case.study.outcome {
        Outcome::This(..) => "this pond",
        _ => "the pond found",
    }
}

/// Volumes in thousands or millions, with as many digits as it takes to tell them apart.
fn volume_names(volumes: &[f64]) -> Vec<String> {
    let named = |more: u8| -> Vec<String> {
        let name = |value: &f64| {
            if *value >= 1e6 {
                format!("{} M", number(value / 1e6, 2 + more))
            } else {
                format!("{} k", number(value / 1e3, u8::from(*value < 1e4) + more))
            }
        };
        volumes.iter().map(name).collect()
    };
    let apart = |names: &Vec<String>| names.windows(2).all(|pair| matches!(pair, [a, b] if a != b));
    (0..=2).map(named).find(apart).unwrap_or_else(|| named(2))
}

/// Size against spills, figure by figure.
pub(super) fn curve_table(case: &BasinCase, answer: &Answer, doc: &mut Document) {
    let units = case.units();
    let spilled = answer.curve.iter().any(|(_, run)| run.spill.spills > 0);
    let draws = !case.study.basics.uses.is_empty();
    let mut columns = vec![
        Column::figures("Times as long and wide", ""),
        Column::figures("Volume", units.volume.0),
        Column::figures("Length", units.length.0),
        Column::figures("Width", units.length.0),
    ];
    if spilled {
        columns.push(Column::figures("Spills a year", ""));
        columns.push(Column::words("95 % interval"));
        columns.push(Column::figures("Longest spill", "days"));
    }
    if draws {
        columns.push(Column::figures("Days short a year", ""));
    }
    columns.push(Column::figures("Rain and runoff that did not leave so", "%"));
    columns.push(Column::words("Fails"));
    let mut table = Table::new(columns).caption("Size against duties").wide();
    for (basin, run) in &answer.curve {
        // The sizes as they stand elsewhere.
        let typed = to_type(case, basin);
        let mut cells = vec![
            Cell::number(basin.length_m / answer.found.basin.length_m, 2),
            Cell::number(round(basin.capacity_m3() * units.volume.1), 0),
            Cell::number(typed.length_m * units.length.1, units.side_digits()),
            Cell::number(typed.width_m * units.length.1, units.side_digits()),
        ];
        if spilled {
            cells.push(Cell::figure(run.spill.a_year(), 2, Basis::Computed));
            cells.push(Cell::known(
                run.spill.interval().map_or_else(String::new, |(low, high)| format!("{} to {}", two(low), two(high))),
                Basis::Computed,
            ));
            cells.push(Cell::figure(run.spill.longest_days as f64, 0, Basis::Computed));
        }
        if draws {
            cells.push(Cell::figure(run.shortage_a_year(), 0, Basis::Computed));
        }
        cells
            .push(run.share_kept().map_or_else(Cell::nothing, |share| Cell::figure(share * 100.0, 1, Basis::Computed)));
        cells.push(Cell::words(failed(case, basin, run)));
        table.row(cells);
    }
    if !spilled {
        let interval = answer.run.spill.interval().map_or_else(String::new, |(low, high)| {
            format!(" (95 % interval of each: {} to {} a year)", two(low), two(high))
        });
        table.note(format!("None of these sizes spilled in the run{interval}."));
    }
    table.note(
        "What did not leave so neither spilled nor was let out; runoff is with what spilled into it from upstream. What does not fit the \
         plot is left out.",
    );
    doc.table(table);
}

/// The duties that a size does not do, each with by how much.
fn failed(case: &BasinCase, basin: &Basin, run: &Simulated) -> String {
    let units = case.units();
    let checks = case.study.demands.checks(basin, run);
    let lacking = checks.iter().filter(|check| matches!(check.comes, Comes::NotDone | Comes::NotKept));
    let words: Vec<String> = lacking
        .map(|check| match check.comes {
            Comes::NotKept => format!("not kept: {}", check.duty.words()),
            _ => match page::lacks(units, check) {
                Some(by) => format!("{}, {by}", check.duty.fails()),
                None => check.duty.fails().to_owned(),
            },
        })
        .collect();
    if words.is_empty() { "none".to_owned() } else { words.join("; ") }
}

fn what_if(case: &BasinCase, answer: &Answer, doc: &mut Document) {
    doc.heading(2, "What if");
    let mut table = Table::new(vec![
        Column::words("What is otherwise"),
        Column::figures("Spills a year", ""),
        Column::figures("Longest spill", "days"),
        Column::figures("Days short a year", ""),
        Column::words("Comes out"),
    ])
    .caption(format!("{}, with one thing otherwise at a time", first_capital(pond_words(case))))
    .wide();
    for one in &answer.cases {
        let figure = |value: Option<f64>, digits: u8| {
            value.map_or_else(Cell::nothing, |value| Cell::figure(value, digits, Basis::Computed))
        };
        table.row(vec![
            Cell::words(otherwise(case, answer, one)),
            figure(one.run.map(|run| run.spill.a_year()), 1),
            figure(one.run.map(|run| run.spill.longest_days as f64), 0),
            figure(one.run.map(|run| run.shortage_a_year()), 0),
            Cell::words(comes_out(case, answer, one)),
        ]);
    }
    if answer.cases.iter().any(|one| one.run.is_none()) {
        table.note("A dash: what is otherwise does not touch it.");
    }
    if answer.cases.iter().any(|one| one.what == "storm 20 % deeper") {
        table.note("A deeper storm is run with the levels so much lower that it fits, and the same drawdown.");
    }
    if answer.cases.iter().any(|one| one.what == "a filter stuck in wash") {
        table.note("Stuck in wash: every flow that settling, overflow rate and detention are held at is so much more.");
    }
    if let Some((name, rate)) = &case.study.basics.stuck_wash {
        let basin = &answer.found.basin;
        let room = basin.capacity_m3() - basin.volume_m3(answer.normal_m);
        // What it draws from this very pond only comes back.
        if room > 0.0 && *rate > 0.0 && case.study.basics.circulating.iter().all(|(back, _)| back != name) {
            table.note(format!(
                "If {name} sticks in wash with the pond at the level to keep, {} an hour fill the room below the spill level in {} h, with nothing else running in.",
                case.units().m3(rate * 3600.0),
                few(room / (rate * 3600.0))
            ));
        }
    }
    doc.table(table);
}

/// `May 3, Jun 20`.
fn by_month(days: &[u32; 12]) -> String {
    const MONTHS: [&str; 12] = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
    let words: Vec<String> =
        MONTHS.iter().zip(days).filter(|(_, days)| **days > 0).map(|(month, days)| format!("{month} {days}")).collect();
    if words.is_empty() { "none".to_owned() } else { words.join(", ") }
}

/// What is otherwise, in the reader's units.
pub(super) fn otherwise(case: &BasinCase, answer: &Answer, one: &Case) -> String {
    match (one.what, &case.study.basics.stuck_wash) {
        ("a filter stuck in wash", Some((name, rate))) => {
            format!("{name} stuck in wash, {} more", case.units().flow(*rate))
        }
        ("sides 0.5 to 1 flatter", _) => format!("sides {}", slope(answer.found.basin.slope + 0.5)),
        ("water 5 °C colder", _) => format!("water {} colder", case.units().warmer(5.0)),
        (what, _) => what.to_owned(),
    }
}

/// What is broken, and by how much.
fn fails_by(case: &BasinCase, check: &Check) -> String {
    let by = match check.duty {
        Duty::ForebayCleanOut => Some(format!("every {}", cells::interval(check.has))),
        _ => page::lacks(case.units(), check),
    };
    by.map_or_else(|| check.duty.fails().to_owned(), |by| format!("{} ({by})", check.duty.fails()))
}

/// What a case breaks, or that it breaks nothing; and what it does beside that.
fn comes_out(case: &BasinCase, answer: &Answer, one: &Case) -> String {
    let mut parts: Vec<String> = one.fails.iter().map(|check| fails_by(case, check)).collect();
    let as_sized = one.run.is_some() && one.settled.is_some();
    // Cases look at what may change; a pond that stands may fail other duties all along.
    if parts.is_empty() && answer.checks.iter().any(|check| check.comes == Comes::NotDone) {
        parts.push(if as_sized { "fails what page 1 says" } else { "no other duty fails" }.to_owned());
    }
    if parts.is_empty() {
        let kept = |held: bool| {
            answer.checks.iter().all(|check| check.comes != Comes::NotKept || (check.duty == Duty::Hold) != held)
        };
        parts.push(
            match (kept(false), kept(true)) {
                (true, true) => "every duty done",
                (false, true) => "no duty fails; the storm not kept",
                (true, false) => "no duty fails; what is to be held not kept",
                (false, false) => "no duty fails; the storm and what is to be held not kept",
            }
            .to_owned(),
        );
    }
    if as_sized {
        return parts.join("; ");
    }
    if let Some(share) = one.settled {
        parts.push(format!("{} of the particle settles", percent(share)));
    }
    match (cleaned_out_sooner(case, one), one.clean_out_years) {
        (Some(sooner), _) => parts.push(sooner),
        (None, Some(years)) => parts.push(format!("sludge store full after {}", counted(years, "year"))),
        (None, None) => {}
    }
    parts.join("; ")
}

/// Other shapes that do their duties.
pub(super) fn shapes(case: &BasinCase, answer: &Answer, doc: &mut Document) {
    let units = case.units();
    doc.heading(2, "Other shapes that do it");
    // Of the depth of the pond found there is none less, whatever a coarse choice has.
    let found = answer.found.basin.depth_m;
    let others: Vec<_> = answer.listed.iter().filter(|one| (one.basin.depth_m / found - 1.0).abs() > ALIKE).collect();
    if others.is_empty() {
        doc.paragraph("None: on the coarse grid no other depth has a shape that does every duty.");
        return;
    }
    let priced = case.study.demands.duties.prices.is_some();
    let mut columns = vec![
        Column::words("Which"),
        Column::figures("Depth", units.length.0),
        Column::figures("Length", units.length.0),
        Column::figures("Width", units.length.0),
        Column::figures("Volume", units.volume.0),
        Column::figures("Ground", units.area.0),
    ];
    if priced {
        columns.push(Column::words("Cost").right());
    }
    columns.push(Column::words("Governs"));
    let mut table =
        Table::new(columns).caption("The pond found, and of a coarse choice the least of other depths").wide();
    let itself = (&answer.found.basin, "the pond found", answer.governs());
    let others = others.into_iter().map(|one| (&one.basin, "another depth", one.governs.clone()));
    for (basin, which, of) in std::iter::once(itself).chain(others) {
        let typed = to_type(case, basin);
        let length = |m: f64| Cell::number(m * units.length.1, units.side_digits());
        let mut cells = vec![
            Cell::words(which),
            Cell::number(typed.depth_m * units.length.1, 2),
            length(typed.length_m),
            length(typed.width_m),
            Cell::number(round(basin.capacity_m3() * units.volume.1), 0),
            Cell::number(round(basin.footprint_m2() * units.area.1), 0),
        ];
        if priced {
            let cost = case.study.demands.cost(basin).and_then(|cost| money(case, cost));
            cells.push(Cell::known(cost.unwrap_or_default(), Basis::Computed));
        }
        cells.push(Cell::words(governs(&of)));
        table.row(cells);
    }
    table.note(format!(
        "Other depths are from a coarse choice of sizes, least {} first; the pond found is {}, and of each depth a smaller one than here may do. Each does what that one does. What governs are the duties that fail one size smaller.",
        case.study.demands.duties.least.words(),
        if answer.found.proved { "the least" } else { "the least of those tried" }
    ));
    doc.table(table);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn volumes_along_an_axis_are_told_apart() {
        assert_eq!(volume_names(&[310.0, 480.0, 540.0, 690.0]), ["0.31 k", "0.48 k", "0.54 k", "0.69 k"]);
        assert_eq!(volume_names(&[99_000.0, 142_000.0, 1_110_000.0]), ["99 k", "142 k", "1.11 M"]);
        assert_eq!(volume_names(&[690.0, 690.0]), ["0.690 k", "0.690 k"]);
    }
}
