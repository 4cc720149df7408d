//! How each duty was worked out.

use crate::page::document::figures::{number, with_unit};
use crate::page::document::{Basis, Cell, Column, Document, Table, Text};
use crate::report::basin::earth::ground_words;
use crate::report::basin::{BasinCase, cells, counted, figure, floor_words, percent, round, standing};
use crate::report::case::page::first_capital;
use crate::report::inspection::about::day;
use crate::sizing::{
    ANEW_DAYS, Answer, Basin, DRY_DAY_MM, Demands, Duties, LEAST_SPILL_M3, Measure, Outcome, PoolRange, StaysUnder,
    StormFrom,
};

/// Writes the section.
pub(super) fn write(case: &BasinCase, answer: Option<&Answer>, doc: &mut Document) {
    doc.heading(2, "The duties, worked out");
    let duties = &case.study.demands.duties;
    let mut rows: Vec<(&str, String)> = Vec::new();
    plot(case, duties, &mut rows);
    settle(case, duties, answer, &mut rows);
    through(case, duties, answer, &mut rows);
    rows.extend(cells::forebay(case, duties, answer).map(|words| ("Forebay", words)));
    clean_out(case, duties, answer, &mut rows);
    hold(case, duties, answer, &mut rows);
    storm(case, duties, answer, &mut rows);
    weather(case, duties, &mut rows);
    if let Some(duty) = &duties.spillway {
        let basin = answer.map(|answer| &answer.found.basin);
        rows.push(("Emergency spillway", cells::spillway(case, duty, basin)));
    }
    doc.definitions(rows.into_iter().map(|(term, text)| (term, Text::from(text))));
    if let Some(peak) = &case.study.basics.peak {
        let units = case.units();
        let mut table = Table::new(vec![
            Column::words("From"),
            Column::words("What"),
            Column::figures("At its peak", units.flow.0),
        ])
        .caption("The computed peak: everything at once");
        for part in &peak.parts {
            table.row(vec![
                Cell::words(part.from.clone()),
                Cell::words(part.what),
                Cell::figure(part.m3_s * units.flow.1, 0, Basis::Computed),
            ]);
        }
        let demands = &case.study.demands;
        let rain_m_s = demands.needs.peak_rain_m_s;
        let on_it = answer.map(|answer| &answer.found.basin).filter(|_| rain_m_s > 0.0);
        if let Some(basin) = on_it {
            table.row(vec![
                Cell::words(format!("{} itself", case.name())),
                Cell::words(format!("rain on the {} within its bank top", units.m2(basin.crest_area_m2()))),
                Cell::figure(rain_m_s * basin.crest_area_m2() * units.flow.1, 0, Basis::Computed),
            ]);
        }
        table.sum(vec![
            Cell::words("Sum"),
            Cell::words(""),
            Cell::figure(
                on_it.map_or(peak.m3_s(), |basin| demands.peak_m3_s(basin)) * units.flow.1,
                0,
                Basis::Computed,
            ),
        ]);
        let typed = duties.settle.as_ref().and_then(|settle| settle.rain_at_peak.as_ref());
        let rain = match typed {
            Some(rain) => Some(format!(
                "Rain at the peak: {}, as typed; how seldom it rains so hard is not said. “What if” has it twice as hard.",
                rain.text
            )),
            None => (rain_m_s > 0.0).then(|| {
                format!(
                    "Rain on the pond itself: that of the wettest day, {}, spread over 24 h.",
                    units.rain(rain_m_s * 86_400.0)
                )
            }),
        };
        if let Some(words) = rain {
            table.note(words);
        }
        if rain_m_s > 0.0 {
            table.note(if on_it.is_some() {
                "Rain is taken to fall on all that lies within the bank top, more than the water surface: on the safe side."
            } else {
                "Rain on the pond itself comes to it, over all that lies within the bank top: more for a larger shape."
            });
        }
        for left in &peak.left_out {
            table.note(format!("Left out: {left}."));
        }
        table.note("Uses return at their running rate, filters wash one vessel at a time but all filters at once, pumps run, full stores upstream pass on what they get.");
        doc.table(table);
    }
    if !case.study.basics.drained.is_empty() {
        drained(case, doc);
    }
}

fn plot(case: &BasinCase, duties: &Duties, rows: &mut Vec<(&str, String)>) {
    let plot = &duties.plot;
    let units = case.units();
    let mut words = format!(
        "{} by {} over the banks, {} deep at most, sides no steeper than {}, freeboard {}",
        units.typed_m(plot.longest.si),
        units.typed_m(plot.widest.si),
        units.typed_m(plot.deepest.si),
        plot.steepest.text,
        units.typed_m(duties.freeboard.si)
    );
    if let Some(ratio) = &plot.length_to_width {
        words.push_str(&format!(", length to width at least {}", ratio.text));
    }
    if let Some(floor) = &plot.floor {
        words.push_str(&format!(", floor at least {}", floor.text));
    }
    match &plot.bank {
        Some(bank) => words.push_str(&format!(", bank top {} wide all round.", units.typed_m(bank.si))),
        None => words.push_str(". No width was given for the banks: the plot ends at the bank top's inner edge."),
    }
    if let Some(ground) = &duties.ground {
        words.push_str(&format!(
            " {}, with banks {} outside.",
            first_capital(&ground_words(ground)),
            ground.outer.text
        ));
    }
    let [depth, length, width] = case.study.grid.most_m;
    words.push_str(&format!(
        " That leaves {} by {} of water and {} of depth. Only the steepest side is tried: it gives the most room for the ground.",
        units.tape(length),
        units.tape(width),
        units.typed_m(depth)
    ));
    if let Some(basin) =
        case.study.tried.iter().find(|of| of.why.contains(&crate::sizing::Why::Itself)).map(|of| of.held.basin)
    {
        words.push_str(&format!(" Its floor is {}.", floor_words(case, &basin)));
        if let Some(over_m) = basin.ground_m().map(|ground| basin.depth_m - ground).filter(|over| *over > 0.005) {
            words.push_str(&format!(
                " The spill level is {} above the ground: water of the yard gets in over a ramp or by a pump, which is not part of this.",
                units.typed_m(over_m)
            ));
        }
    }
    rows.push(("The plot", words));
}

fn settle(case: &BasinCase, duties: &Duties, answer: Option<&Answer>, rows: &mut Vec<(&str, String)>) {
    let Some(settle) = &duties.settle else { return };
    let units = case.units();
    let needs = &case.study.demands.needs;
    let flow = match (&settle.flow, &settle.flow_source) {
        (Some(flow), Some(source)) => format!("{} ({source})", units.flow(flow.si)),
        (Some(flow), None) => units.flow(flow.si),
        (None, _) => format!("the computed peak{}, taken apart below", peak_words(case, answer)),
    };
    let mut words = format!(
        "A particle of {} that weighs {} falls, in water of {}, at {} mm/s (Ferguson and Church). At least {} of it is to settle at {flow}.",
        settle.particle.text.replace("um", "µm"),
        settle.density.text,
        units.warmth(settle.temperature.si),
        with_three(needs.settling_m_s * 1000.0),
        settle.share.text
    );
    if let Some(answer) = answer {
        let basin = &answer.found.basin;
        let area = basin.area_m2(answer.stack.pool_top_m.min(basin.depth_m));
        let rate = case.study.demands.peak_m3_s(basin) / area;
        words.push_str(&format!(
            " At the top of the settling pool, where the water surface is least, it is {}: an overflow rate of {}. With {} \
             stirred cell{} in series, 1 − (1 + w A/(n Q))^(−n) comes to {}.",
            units.m2(area),
            crate::report::basin::rate(units, rate, 0),
            case.study.demands.cells,
            if case.study.demands.cells == 1 { "" } else { "s" },
            answer.checks.first().map_or_else(String::new, |check| percent(check.has))
        ));
    }
    words.push_str(" Density decides: 10 µm quartz falls some thirty times as fast as wet peat of that size.");
    rows.push(("Settle", words));
}

/// ` of 216 m³/h`, with the rain on the pond found; else that is said.
fn peak_words(case: &BasinCase, answer: Option<&Answer>) -> String {
    let (units, demands) = (case.units(), &case.study.demands);
    match answer {
        Some(answer) => format!(" of {}", units.flow(demands.peak_m3_s(&answer.found.basin))),
        None if demands.needs.peak_rain_m_s > 0.0 => {
            format!(" of {} and the rain on the pond itself", units.flow(demands.needs.peak_m3_s))
        }
        None => format!(" of {}", units.flow(demands.needs.peak_m3_s)),
    }
}

/// A flow that a duty is asked at: of a shape, or but for the rain on it.
fn flow_asked(case: &BasinCase, answer: Option<&Answer>, alone: f64, of: fn(&Demands, &Basin) -> f64) -> String {
    case.units().flow(answer.map_or(alone, |answer| of(&case.study.demands, &answer.found.basin)))
}

/// The settling pool, the overflow rate and how long the water stays.
fn through(case: &BasinCase, duties: &Duties, answer: Option<&Answer>, rows: &mut Vec<(&str, String)>) {
    let units = case.units();
    let demands = &case.study.demands;
    let needs = &demands.needs;
    if demands.pool_m > 0.0 {
        let mut words =
            format!("{} of water that stays over the sludge; nothing is drawn from it", units.typed_m(demands.pool_m));
        if duties.pool.is_none() {
            words.push_str(" (the lowest pump level of the facility file)");
        }
        if let Some(range) = &duties.pool_range {
            words.push_str(&pool_chosen(case, range));
        }
        if let Some(answer) = answer {
            let stack = &answer.stack;
            if stack.pool_top_m - stack.sludge_top_m > demands.pool_m + 1e-9 {
                words.push_str(", and more up to the lowest level that its pumps draw from");
            }
            words.push_str(&format!(
                ": {}, up to {} above the floor",
                units.m3(stack.pool_top_m3 - stack.lost_m3()),
                units.m(stack.pool_top_m)
            ));
        }
        rows.push(("Settling pool", words + "."));
    }
    let of_settle = |typed: bool| if typed { "" } else { ", the flow of what is to settle" };
    if let Some(duty) = &duties.overflow_rate {
        let mut words = format!(
            "At most {} at {}{}",
            duty.most.text,
            flow_asked(case, answer, needs.overflow_m3_s, Demands::overflow_m3_s),
            of_settle(duty.flow.is_some())
        );
        if let Some(answer) = answer {
            let area = demands.settling_area_m2(&answer.found.basin);
            words.push_str(&format!(
                ", over the {} of water surface at the top of the settling pool, where it is least: {}",
                units.m2(area),
                crate::report::basin::rate(units, demands.overflow_m3_s(&answer.found.basin) / area, 0)
            ));
        }
        rows.push(("Overflow rate", words + "."));
    }
    if let Some(duty) = &duties.detention {
        let mut words = format!(
            "At least {} at {}{}",
            duty.text,
            flow_asked(case, answer, needs.detained_m3_s, Demands::detained_m3_s),
            of_settle(duty.flow.is_some())
        );
        if let Some(answer) = answer {
            let basin = &answer.found.basin;
            let (sure_h, full_h) = demands.stays_h(basin);
            let water = |hours: f64| units.m3(hours * 3600.0 * demands.detained_m3_s(basin));
            let hours = |hours: f64| figure(units, Measure::HoursAtLeast, hours);
            let (from_m, to_m, under) = demands.stays_between_m(basin);
            let to = match under {
                StaysUnder::LowestPumpLevel => {
                    "the level down to which it may be drawn: what may be drawn is not counted on, as a wet pond goes by its \
                     permanent pool (EPA/600/R-04/121B, from memory)"
                }
                StaysUnder::PumpStops => "the level at which its pump stops: what that takes out is not counted on",
                StaysUnder::Rooms => match (&duties.hold, &duties.storm) {
                    (Some(_), Some(_)) => {
                        "the foot of the room of what is to be held and of the storm, which must stand empty for them"
                    }
                    (Some(_), None) => "the foot of the room of what is to be held, which must stand empty for it",
                    _ => "the foot of the room of the storm, which must stand empty for it",
                },
                StaysUnder::Spill => "the spill level",
            };
            let from = if from_m > 0.0 {
                format!("the sludge, {} above the floor", units.m(from_m))
            } else {
                "the floor".to_owned()
            };
            words.push_str(&format!(
                ": the {} from {from}, up to {}, {to}, stay {}",
                water(sure_h),
                units.m(to_m),
                hours(sure_h)
            ));
            if under != StaysUnder::Spill {
                words.push_str(&format!(". Up to the spill level {} would stay {}", water(full_h), hours(full_h)));
            }
        }
        rows.push(("Detention", words + ". It is volume over flow: what passes straight through stays less long."));
    }
}

/// How the depth of the settling pool was chosen from a range.
fn pool_chosen(case: &BasinCase, range: &PoolRange) -> String {
    let depths = number(range.depths_m().len() as f64, 0);
    match case.study.outcome {
        Outcome::This(..) => format!(" (the least of {}, as a pond that stands is asked for no more)", range.text),
        Outcome::Pond(_) => format!(
            " (chosen from {}: of {depths} depths the one with the least {} by the same search)",
            range.text,
            case.study.demands.duties.least.words()
        ),
        Outcome::None(_) => format!(" (none of {depths} depths of {} gives a pond; this is the least)", range.text),
    }
}

fn with_three(value: f64) -> String {
    let digits = if value >= 10.0 {
        1
    } else if value >= 1.0 {
        2
    } else if value >= 0.1 {
        3
    } else {
        4
    };
    number(value, digits)
}

fn clean_out(case: &BasinCase, duties: &Duties, answer: Option<&Answer>, rows: &mut Vec<(&str, String)>) {
    let Some(duty) = &duties.clean_out else {
        return;
    };
    let units = case.units();
    let basics = &case.study.basics;
    let (share, typed) = basics.dry_share;
    let mut words = format!(
        "Cleaned out every {} at the soonest. {} of dry solids come to the pond in a mean year of the run. ",
        duty.text,
        with_unit(round(basics.solids_kg_a_year * units.mass.1), 0, units.mass.0)
    );
    if let Some(answer) = answer {
        words.push_str(&format!(
            "What settles of them each day, over the {} of water surface at the spill level, where most settles, at that day's mean flow and the mean temperature of the water, makes {} of wet sludge a year at {} dry solids{}: a store of {}. ",
            units.m2(answer.found.basin.area_m2(answer.found.basin.depth_m)),
            units.m3(answer.sludge_m3_a_year),
            percent(share),
            if typed { "" } else { " (common practice, no source)" },
            units.m3(answer.stack.sludge_m3)
        ));
    }
    words.push_str("Sludge settles together with time, which is left out: sound it with a pole.");
    rows.push(("Clean out", words));
}

fn hold(case: &BasinCase, duties: &Duties, answer: Option<&Answer>, rows: &mut Vec<(&str, String)>) {
    let Some(hold) = &duties.hold else { return };
    let units = case.units();
    let needs = &case.study.demands.needs;
    let basics = &case.study.basics;
    let date = |day_number: usize| {
        case.period.0.checked_add_days(chrono::Days::new(day_number as u64)).map(day).unwrap_or_default()
    };
    let mut words = String::new();
    if let (Some(days), Some(most)) = (&hold.return_days, &basics.returned) {
        words.push_str(&format!(
            "Return water of {}: the most in the run is {}, beginning on {}{}. ",
            counted(f64::from(days.value), "day"),
            units.m3(most.m3),
            date(most.day),
            if most.dry_only {
                " (days without rain; what other places send that is neither wash water nor runoff)"
            } else {
                " (no such stretch is without rain)"
            }
        ));
    } else if hold.return_days.is_some() {
        words.push_str("No return water came in the run. ");
    }
    if let (Some(days), Some(most)) = (&hold.wash_days, &basics.washed) {
        words.push_str(&format!(
            "Wash water of {}: the most in the run is {}, beginning on {}. ",
            counted(f64::from(days.value), "day"),
            units.m3(most.m3),
            date(most.day)
        ));
    }
    for straight in [true, false] {
        let of = basics.circulating.iter().filter(|(_, is)| *is == straight);
        let names: Vec<String> = of.map(|(name, _)| name.clone()).collect();
        if !names.is_empty() {
            words.push_str(&format!(
                "Wash water of {} only comes back to the pond that it was drawn from{}. ",
                and(&names),
                if straight {
                    ", and is not counted"
                } else {
                    ", over another place: what comes on the day that it was drawn is not counted, what comes later is, as return water"
                }
            ));
        }
    }
    if let Some(rain) = &hold.first_rain {
        words.push_str(&format!(
            "First rain of {}: {} runs off what drains to the pond{}.",
            units.rain(rain.si),
            units.m3(needs.first_rain_runoff_m3),
            answer.map_or_else(String::new, |answer| format!(
                ", and {} falls on the pond itself",
                units.m3(needs.first_rain_m * answer.found.basin.crest_area_m2())
            ))
        ));
    }
    words.push_str(&format!(
        " Its room lies right under that of the storm, or under the spill level where no storm is asked for, and is wanted at the \
         close of the day before something to hold comes: before the first day with {} of rain after one without, and before \
         each stretch of return or wash water as long as is to be held. More of the same rain or stretch is no new one, and days \
         whose rain is not known want nothing.",
        units.rain(DRY_DAY_MM / 1000.0)
    ));
    rows.push(("Hold", words));
}

fn storm(case: &BasinCase, duties: &Duties, answer: Option<&Answer>, rows: &mut Vec<(&str, String)>) {
    let Some(duty) = &duties.storm else { return };
    let units = case.units();
    let needs = &case.study.demands.needs;
    let from = match &duty.from {
        StormFrom::Normal => {
            "the level to keep: the highest from which it still fits, with everything under it already there".to_owned()
        }
        StormFrom::Run => "whatever level the run has on each day".to_owned(),
        StormFrom::BelowSpill(depth) => format!("{} below the spill level", units.typed_m(depth.si)),
    };
    let mut words = format!(
        "Once in {} years, lasting {} h: {} of rain, by {}. It finds the pond at {from}. {} runs off what drains to the pond",
        duty.storm.every_years,
        duty.storm.lasting_h,
        units.rain(duty.storm.depth.si),
        duty.source,
        units.m3(needs.storm_runoff_m3)
    );
    if let Some(answer) = answer {
        words.push_str(&format!(
            ", and {} falls on the pond itself",
            units.m3(needs.storm_m * answer.found.basin.crest_area_m2())
        ));
    }
    words.push_str(". Nothing is let out while it lasts.");
    let mut drawn = None;
    if let (Some(drawdown), Some(rate)) = (&duty.drawdown, answer.and_then(|answer| answer.drawdown_m3_s)) {
        let takes = answer.and_then(|answer| standing::drawdown_takes(case, &answer.found.basin, answer.drawdown_m3_s));
        // First what it takes: the first two lines of a row are never parted by the foot of a sheet.
        let mut draws = takes.map_or_else(String::new, |words| format!("{words}. "));
        draws.push_str(&format!(
            "Between storms {} lets water out to {} at {}{} down to {}; the run keeps this, and its uses do without that water.",
            if drawdown.by == "pump" { "a pump" } else { "an outlet" },
            drawdown.to.value,
            units.flow_up(rate),
            match (&drawdown.rate, answer.and_then(|answer| answer.in_time)) {
                (Some(_), _) => "",
                (None, None) => " (worked out from the time, and rounded up by 6 % at the most)",
                (None, Some(_)) => " (worked out: the slowest with which this pond does its duties)",
            },
            if drawdown.empties_hold {
                "the foot of what is held (`down to`), and so empties that too"
            } else {
                "the level from which the storm fits"
            },
        ));
        if drawdown.by == "outlet" {
            draws.push_str(
                " The outlet is taken at that one rate, as a pump is: that the flow of a gravity outlet falls with the water \
                 over it is not modelled.",
            );
        }
        drawn = Some(draws);
    }
    words.push_str(" An exemption for a larger storm is the permit's to give, and asks for proof that this room was free beforehand.");
    rows.push(("Storm", words));
    rows.extend(drawn.map(|words| ("Drawdown", words)));
}

fn weather(case: &BasinCase, duties: &Duties, rows: &mut Vec<(&str, String)>) {
    if let Some(duty) = &duties.spills {
        rows.push((
            "Spills",
            format!(
                "At most {}, held against {}. A spill is over after {} without one; less than {} a day is no spill. One counts \
                 once for each {ANEW_DAYS} days on which it spills, or part of them, whatever else is asked (common practice, no source): \
                 else a pond that never stops spilling would have spilled once.{}",
                figure(case.units(), Measure::TimesAYear, duty.a_year),
                match duty.judged_on {
                    crate::sizing::SpillsJudgedOn::TheCount => "the count of the run",
                    crate::sizing::SpillsJudgedOn::TheUpperEnd => "the upper end of the 95 % interval",
                },
                counted(f64::from(duty.apart_days), "day"),
                with_unit(
                    LEAST_SPILL_M3 * case.units().volume.1,
                    if case.units().volume.1 > 1.0 { 2 } else { 3 },
                    case.units().volume.0
                ),
                duty.longest_days.map_or_else(String::new, |days| format!(
                    " None may last longer than {}, first to last.",
                    counted(f64::from(days), "day")
                ))
            ),
        ));
    }
    if let Some(duty) = &duties.shortage {
        rows.push((
            "Shortage",
            format!(
                "{}: what draws from it may get less than it asks for on {} a year at most.",
                and(&case.study.basics.uses),
                counted(duty.days_a_year, "day")
            ),
        ));
    }
}

/// `a`, `a and b`, `a, b and c`.
fn and(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [rest @ .., last] => format!("{} and {last}", rest.join(", ")),
    }
}

fn drained(case: &BasinCase, doc: &mut Document) {
    let units = case.units();
    let needs = &case.study.demands.needs;
    let mut columns = vec![
        Column::words("Drains to the pond"),
        Column::figures("Area", units.ground.0),
        Column::figures("Share that gets there", "%"),
    ];
    if needs.first_rain_m > 0.0 {
        columns.push(Column::figures("Runoff of the first rain", units.volume.0));
    }
    if needs.storm_m > 0.0 {
        columns.push(Column::figures("Runoff of the storm", units.volume.0));
    }
    let mut table = Table::new(columns).caption("What drains to the pond");
    for one in &case.study.basics.drained {
        let mut cells = vec![
            Cell::words(one.name.clone()),
            Cell::number(one.area_m2 * units.ground.1, 2),
            Cell::number(one.share * 100.0, 0),
        ];
        for rain in [needs.first_rain_m, needs.storm_m].into_iter().filter(|rain| *rain > 0.0) {
            cells.push(Cell::figure(round(one.runoff_m3(rain) * units.volume.1), 0, Basis::Computed));
        }
        table.row(cells);
    }
    table.note("A range of what runs off is taken at its high end, what is soaked up first at its low end. Tanks and ponds upstream are taken as full, with the rain on their surface.");
    doc.table(table);
}
