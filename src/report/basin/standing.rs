//! How the pond is run: levels that are not kept, water that is let out, and figures that nobody typed.

use uom::si::f64::Length;
use uom::si::length::{meter, millimeter};

use crate::facility::model::{DischargeKind, PlaceId, PlaceKind, Pond};
use crate::files::Given;
use crate::page::document::figures::number;
use crate::page::document::{Document, Table, Text};
use crate::report::basin::page::{lacks, of_days};
use crate::report::basin::this::in_words;
use crate::report::basin::{BasinCase, counted, figure, percent, to_type};
use crate::report::case::page::first_capital;
use crate::sizing::{
    Answer, Basin, Check, Comes, DRAWDOWN_STARTS_OVER_M, Duty, Held, LESS_STORM, LayerKind, Measure, Standing,
    typed_fill_level_m,
};

/// Water that took less than this share of a room is not told of.
const LEAST_TOLD: f64 = 0.01;

fn pond<'a>(case: &BasinCase<'a>) -> Option<&'a Pond> {
    match &case.facility.get(case.pond)?.kind {
        PlaceKind::Pond(pond) => Some(pond),
        _ => None,
    }
}

/// The level up to which a shape is filled on purpose, m above its floor, as it is to be typed with it.
pub(super) fn filled_m(case: &BasinCase, basin: &Basin) -> Option<f64> {
    let printed = to_type(case, basin);
    typed_fill_level_m(case.facility, case.pond, &case.study.demands, (basin, &printed), case.facility.system)
}

/// Levels that were typed for the present pond and carried to another shape, which does not do its duties without them.
pub(super) fn carried(case: &BasinCase, basin: &Basin) -> String {
    let (units, demands) = (case.units(), &case.study.demands);
    let Some(pond) = pond(case) else { return String::new() };
    // Beside each, what is typed for the pond as described.
    let mut is_new = false;
    let mut beside = |m: f64, typed: Option<(Option<f64>, &str)>| match typed {
        Some((Some(typed_m), _)) if units.m(typed_m) == units.m(m) => format!("{} (as typed)", units.m(m)),
        Some((_, text)) => {
            is_new = true;
            format!("{} ({text} is typed now)", units.m(m))
        }
        None => {
            is_new = true;
            units.m(m)
        }
    };
    let level = |given: &Given<Length>| given.ends().map(|(low, high)| 0.5 * (low + high).get::<meter>());
    let fill = pond.filled_from.as_ref().and_then(|fill| match (&fill.up_to_level, &fill.up_to_volume) {
        (Some(given), _) => Some((level(given), given.text.as_str())),
        (None, Some(given)) => Some((None, given.text.as_str())),
        (None, None) => None,
    });
    let filled = filled_m(case, basin).map(|m| format!("filled up to {}", beside(m, fill)));
    // A pool that is the facility's own lowest pump level stays as it is typed there.
    let pump = pond.lowest_pump_level.as_ref().filter(|_| demands.duties.pool.is_some());
    let layers = demands.layers(basin);
    let pool = layers.iter().find(|layer| layer.kind == LayerKind::Pool).zip(pump);
    let drawn = pool.map(|(pool, pump)| {
        format!("drawn from no lower than {}", beside(pool.to_m, Some((level(pump), pump.text.as_str()))))
    });
    let levels: Vec<String> = filled.into_iter().chain(drawn).collect();
    if levels.is_empty() {
        return String::new();
    }
    let typed = match (is_new, levels.len()) {
        (false, _) => "",
        (true, 1) => ": type this level with its shape",
        (true, _) => ": type these levels with its shape",
    };
    format!(" Above its floor it is run {}{typed}.", levels.join(" and "))
}

/// How little lies between the level up to which a supply fills the pond found and the lowest that uses draw from it, where
/// that is less than so much; with the supply.
pub(super) fn narrow_band(case: &BasinCase, answer: &Answer, least_m: f64) -> Option<(f64, String)> {
    let filled_m = filled_m(case, &answer.found.basin).filter(|_| !case.study.basics.uses.is_empty())?;
    let pool_m = answer.layers.iter().find(|layer| layer.kind == LayerKind::Pool)?.to_m;
    let between_m = filled_m - pool_m;
    (between_m < least_m).then_some((between_m.max(0.0), supply(case)?))
}

/// Whether the pond that stands does the duties for which a least one is looked for, and whether running it otherwise is enough.
pub(super) fn present_pond(case: &BasinCase, doc: &mut Document) {
    let Some(of) = case.study.standing.as_ref().filter(|_| !case.not_built) else { return };
    let units = case.units();
    // The spillway's freeboard is an illustration, and no duty that is counted.
    let counted: Vec<&Check> = of.checks.iter().filter(|check| check.duty != Duty::Spillway).collect();
    let which = |comes: Comes| -> Vec<String> {
        let of = counted.iter().filter(|check| check.comes == comes);
        of.map(|check| match lacks(units, check) {
            Some(by) => format!("{}, {by}", check.duty.words()),
            None => check.duty.words().to_owned(),
        })
        .collect()
    };
    let (not_done, not_kept) = (which(Comes::NotDone), which(Comes::NotKept));
    let failing = not_done.len() + not_kept.len();
    let what = format!("`bywash size … --this \"{}\"`", case.name());
    if failing == 0 {
        let few = if which(Comes::TooFewYears).is_empty() { "" } else { ", as far as so few years show" };
        let text = Text::new().bold("The present pond does these duties");
        doc.paragraph(text.plain(format!("{few}; {what} holds it against each.{}", now(case, of))));
        return;
    }
    let listed: Vec<String> = [("not done", not_done), ("not kept as it is run", not_kept)]
        .into_iter()
        .filter(|(_, which)| !which.is_empty())
        .map(|(how, which)| {
            format!("{how}: {}", which.join(if which.iter().any(|of| of.contains(", ")) { "; " } else { ", " }))
        })
        .collect();
    let run_otherwise = match of.cures.as_deref() {
        Some([cure, ..]) => {
            format!("It does them all when run so: {}. {what} tells what else would", in_words(units, cure))
        }
        Some([]) => format!("No other level or rate of drawdown that was tried mends that; {what} tells what would"),
        None => format!("No other level or pump mends that, with the settling pool as typed; {what} tells what would"),
    };
    doc.paragraph(
        Text::new()
            .bold(format!("The present pond does {} of these {} duties", counted.len() - failing, counted.len()))
            .plain(format!(" ({}). {run_otherwise}.{}", listed.join("; "), now(case, of))),
    );
}

/// ` Run as now it spills 2 330 000 gal and leaves nobody short.`
fn now(case: &BasinCase, of: &Standing) -> String {
    let (units, run) = (case.units(), &of.now);
    let mut parts = vec![match run.spill.spilled_m3 {
        m3 if m3 > 0.0 => format!("spills {}", units.m3(m3)),
        _ => "never spills".to_owned(),
    }];
    if run.let_out_m3 > 0.0 {
        parts.push(format!("has {} let out", units.m3(run.let_out_m3)));
    }
    if !case.study.basics.uses.is_empty() {
        parts.push(match run.shortage_days {
            0 => "leaves nobody short".to_owned(),
            days => format!("leaves a use short on {}", counted(days as f64, "day")),
        });
    }
    let asked = case.study.demands.duties.storm.as_ref().is_some_and(|storm| storm.drawdown.is_some());
    format!(" Run as now{} it {}.", if asked { ", without that drawdown," } else { "" }, parts.join(" and "))
}

/// `A pump let out 38 650 m³ to Mill ditch, a surface water: that did not spill, and left all the same.`
pub(super) fn let_out(case: &BasinCase, answer: &Answer) -> Option<String> {
    let m3 = answer.run.let_out_m3;
    if m3 <= 0.0 {
        return None;
    }
    let drawdown = case.study.demands.duties.storm.as_ref().and_then(|storm| storm.drawdown.as_ref());
    let to: Vec<PlaceId> = match drawdown {
        Some(drawdown) => case.facility.find(&drawdown.to.value).into_iter().collect(),
        None => pond(case)?.pumped_out.as_ref()?.to.targets(),
    };
    let places: Vec<_> = to.iter().filter_map(|id| case.facility.get(*id)).collect();
    let names: Vec<&str> = places.iter().map(|place| place.name.as_str()).collect();
    let water = |kind: &PlaceKind| matches!(kind, PlaceKind::DischargePoint(point) if point.kind == DischargeKind::SurfaceWater);
    let leaves = places.iter().any(|place| water(&place.kind));
    let by = match drawdown {
        Some(drawdown) if drawdown.by == "outlet" => "an outlet",
        _ => "a pump",
    };
    let no_limit = if leaves { " No limit on that was checked." } else { "" };
    let filled_in = filled_and_let_out(case, answer).map_or_else(String::new, |words| format!(" {words}"));
    Some(format!(
        "{} let out {} ({} of all that came) to {}{} in the run.{no_limit}{filled_in}",
        if answer.run.spill.spills == 0 { first_capital(by) } else { format!("Beside the spills {by}") },
        case.units().m3(m3),
        percent(m3 / answer.run.inflow_m3.max(m3)),
        names.join(" and "),
        match (leaves, names.len()) {
            (false, _) => "",
            (true, 1) => ", a surface water,",
            (true, _) => ", a surface water among them,",
        }
    ))
}

/// `Pumping 289 300 gal at 176 gpm takes 27 h (33 h with what is held); at most 48 h is asked`.
pub(super) fn drawdown_takes(case: &BasinCase, basin: &Basin, rate_m3_s: Option<f64>) -> Option<String> {
    let (units, demands) = (case.units(), &case.study.demands);
    let drawdown = demands.duties.storm.as_ref()?.drawdown.as_ref()?;
    let rate = rate_m3_s.filter(|rate| *rate > 0.0)?;
    let storm_m3 = demands.stack(basin).storm_m3;
    let hours = |m3: f64| figure(units, Measure::Hours, m3 / rate / 3600.0);
    let with_held = drawdown.empties_hold.then(|| {
        let m3 = basin.capacity_m3() - basin.volume_m3(demands.drawn_down_to_m(basin));
        format!(" ({} with what is held)", hours(m3))
    });
    Some(format!(
        "{} {} at {} takes {}{}; at most {} is asked",
        if drawdown.by == "pump" { "Pumping" } else { "Letting out" },
        units.m3(storm_m3),
        units.flow_up(rate),
        hours(storm_m3),
        with_held.unwrap_or_default(),
        figure(units, Measure::Hours, drawdown.within_h)
    ))
}

/// What a drawdown faster than frees the storm's room in time saves: a pond that costs ground, or one that is not there.
pub(super) fn faster_saves(case: &BasinCase, answer: &Answer) -> Option<String> {
    let (units, in_time) = (case.units(), answer.in_time?);
    let drawdown = case.study.demands.duties.storm.as_ref()?.drawdown.as_ref()?;
    let now = units.flow_up(answer.drawdown_m3_s?);
    let (is, without) = (answer.found.basin.capacity_m3(), in_time.least.map(|basin| basin.capacity_m3()));
    let words = match without {
        Some(m3) if m3 > is => {
            format!("the least pond would hold {}, {} more", units.m3(m3), percent(m3 / is - 1.0))
        }
        Some(m3) => format!("the least pond would hold {}", units.m3(m3)),
        None => "no pond of a coarse choice of sizes would be kept as asked".to_owned(),
    };
    Some(format!(
        "It takes a drawdown of {now}, where {} would free the storm’s room in {}: with no faster one, {words}. Type `rate:` for \
         another.",
        units.flow_up(in_time.m3_s),
        drawdown.text
    ))
}

/// What depth of the settling pool was chosen from a range; without one, that a deeper may do with less.
pub(super) fn deeper_pool(case: &BasinCase, answer: &Answer) -> Option<String> {
    let (units, demands) = (case.units(), &case.study.demands);
    if let Some(range) = &demands.duties.pool_range {
        return Some(format!(
            "Its settling pool is {} deep: of {} that depth gives the least {}.",
            units.m(demands.pool_m),
            range.text,
            demands.duties.least.words()
        ));
    }
    (answer.governs().contains(&Duty::Detention) && demands.needs.is_drawn).then(|| {
        let deeper = |times: f64| units.typed_m(times * demands.pool_m);
        format!(
            "Water that is kept long enough is counted in the settling pool alone, which is as deep as typed: with a deeper one a \
             smaller or cheaper pond may do. Type a range, such as `settling pool: {} to {}`, and the best of it is looked for.",
            deeper(1.0),
            deeper(3.0)
        )
    })
}

/// Where a lesser storm, whose level kept lies higher, lets the pond spill oftener.
pub(super) fn lesser_storm_spills(case: &BasinCase, answer: &Answer) -> Option<String> {
    let (units, basin) = (case.units(), &answer.found.basin);
    let lesser = answer.cases.iter().find(|one| one.what == LESS_STORM)?.run?;
    let a_year = |run: &crate::sizing::Simulated| figure(units, Measure::TimesAYear, run.spill.a_year());
    Some(format!(
        "The level that is kept is the storm’s own: with a storm 20 % less deep this pond would be kept fuller and spill {}, not {}. \
         Typed by itself, as `from: {} below the spill level`, it stays whatever the storm.",
        a_year(&lesser),
        a_year(&answer.run),
        units.m(basin.depth_m - answer.normal_m)
    ))
}

/// What a gauge that is read at another hour than the days begin takes off the runoff of ground with a curve number.
pub(super) fn shared_readings(case: &BasinCase) -> Option<String> {
    let (units, basics) = (case.units(), &case.study.basics);
    let gauge = case.facility.weather.rain.as_ref()?;
    let starts = case.facility.day().time;
    let curved = basics.drained.iter().any(|one| one.curves().next().is_some());
    let largest_mm = case.weather.readings.iter().map(|reading| reading.depth_mm).fold(0.0, f64::max);
    if !curved || gauge.read_at == starts || largest_mm <= 0.0 {
        return None;
    }
    let later = (gauge.read_at - starts).num_minutes().rem_euclid(24 * 60) as f64 / (24.0 * 60.0);
    let rain_m = Length::new::<millimeter>(largest_mm).get::<meter>();
    let runoff = |part: f64| basics.drained.iter().map(|one| one.runoff_m3(part * rain_m)).sum::<f64>();
    let (shared, whole) = (units.m3(runoff(later) + runoff(1.0 - later)), units.m3(runoff(1.0)));
    (shared != whole).then(|| {
        format!(
            " The gauge is read at {}, and the days of the run begin at {}: a reading is shared by the hour over two of them, from \
             which less runs off ground with a curve number. Of the largest on file, {}, {shared} would run off and not the {whole} \
             of one day, so spills may be too few: `day starts:` at the gauge’s hour keeps each reading whole.",
            gauge.read_at.format("%H:%M"),
            starts.format("%H:%M"),
            units.rain(rain_m)
        )
    })
}

/// `57 000 m³ of what is let out was filled in by Borehole on the same day: fill no higher than 1.34 m.`
fn filled_and_let_out(case: &BasinCase, answer: &Answer) -> Option<String> {
    let (units, demands, basin) = (case.units(), &case.study.demands, &answer.found.basin);
    demands.drawdown_m3_s(basin)?;
    let down_to_m = demands.drawn_down_to_m(basin);
    let m3 = answer.run.filled_and_let_out_m3;
    let above = filled_m(case, basin)? > down_to_m + DRAWDOWN_STARTS_OVER_M;
    (above && m3 > 0.0).then_some(())?;
    Some(format!(
        "{} of what is let out was filled in by {} on the same day: fill no higher than {}.",
        units.m3(m3),
        supply(case)?,
        units.m_below(down_to_m)
    ))
}

/// Notes under the duties: why a level is not kept.
pub(super) fn notes(case: &BasinCase, checks: &[Check], held: &Held, table: &mut Table) {
    let not_kept = |of: fn(Duty) -> bool| checks.iter().any(|check| check.comes == Comes::NotKept && of(check.duty));
    if not_kept(|duty| duty != Duty::Hold) {
        table.note(format!("(a) {}", storm_not_kept(case, held)));
    }
    if not_kept(|duty| duty == Duty::Hold) {
        table.note(format!("(c) {}", hold_not_kept(case, held)));
    }
}

/// Whether the storm fits from no level at all, with nothing held under it but sludge and settling pool.
pub(super) fn storm_fits_nowhere(held: &Held) -> bool {
    held.stack.storm_m3 > held.basin.capacity_m3() - held.stack.pool_top_m3
}

/// Whether the storm and what is held do not fit over the settling pool together.
pub(super) fn held_fits_nowhere(held: &Held) -> bool {
    let asked = held.stack.storm_m3 + held.stack.wash_m3 + held.stack.reuse_m3;
    asked > held.basin.capacity_m3() - held.stack.pool_top_m3
}

fn storm_not_kept(case: &BasinCase, held: &Held) -> String {
    let units = case.units();
    if storm_fits_nowhere(held) {
        let over_m3 = (held.basin.capacity_m3() - held.stack.pool_top_m3).max(0.0);
        return format!(
            "The storm does not fit from any level: it brings {}, and over the settling pool the pond holds {}. The run keeps {}.",
            units.m3(held.stack.storm_m3),
            units.m3(over_m3),
            units.m(held.normal_m)
        );
    }
    let drawdown = case.study.demands.duties.storm.as_ref().and_then(|storm| storm.drawdown.as_ref());
    if held.run.filled_into_storm && drawdown.is_some() {
        let filled = supply(case).zip(filled_m(case, &held.basin));
        let filled = filled.map_or_else(String::new, |(name, m)| format!("; {name} fills it up to {}", units.m(m)));
        return format!(
            "The storm fits only from {} or lower{filled}, and that it is let out again by the day’s close does not make that \
             room free: fill no higher than {}.",
            units.m(held.normal_m),
            units.m_below(case.study.demands.drawn_down_to_m(&held.basin))
        );
    }
    let why = match drawdown {
        Some(_) => format!(
            "The drawdown does not keep up: without room for {} on end.",
            counted(held.run.longest_lacking_days as f64, "day")
        ),
        None => "To have it kept, type what lets water out: `drawdown: {by: pump, within: 48 h, to: …}`.".to_owned(),
    };
    format!(
        "The storm fits only from {} or lower; {} of the run it stood higher at the day’s close. {why}",
        units.m(held.normal_m),
        of_days(held.run.storm_room_lacking_days, held.run.spill.days)
    )
}

fn hold_not_kept(case: &BasinCase, held: &Held) -> String {
    let units = case.units();
    let run = &held.run.hold;
    let m3 = held.stack.wash_m3 + held.stack.reuse_m3;
    let by = &run.taken_by;
    let mut took: Vec<(f64, String)> = [
        (by.runoff, "rain and runoff".to_owned()),
        (by.supply, supply(case).unwrap_or_else(|| "a supply".to_owned())),
        (by.returned, "return water".to_owned()),
        (by.wash, "wash water".to_owned()),
    ]
    .into_iter()
    .map(|(m3, name)| (m3 / by.all(), name))
    .filter(|(share, _)| *share >= LEAST_TOLD)
    .collect();
    took.sort_by(|a, b| b.0.total_cmp(&a.0));
    let took: Vec<String> = match took.as_slice() {
        [(_, all)] => vec![all.clone()],
        several => several.iter().map(|(share, name)| format!("{name} ({})", percent(*share))).collect(),
    };
    let foot_m = case.study.demands.hold_foot_m(&held.basin);
    let nowhere = held_fits_nowhere(held);
    let filled = filled_m(case, &held.basin)
        .filter(|_| held.run.filled_into_hold && !nowhere)
        .zip(supply(case))
        .map_or_else(String::new, |(m, name)| {
            format!(
                " {} fills it on purpose, up to {}: fill no higher than {}.",
                first_capital(&name),
                units.m(m),
                units.m_below(foot_m)
            )
        });
    let lies = match (nowhere, storm_fits_nowhere(held)) {
        (true, true) => format!("Under the storm, which fits from no level, there is no room for {}", units.m3(m3)),
        (true, false) => format!("Under the storm there is no room for {} over the settling pool", units.m3(m3)),
        (false, _) => format!("The room for {} lies above {}", units.m3(m3), units.m(foot_m)),
    };
    if run.lacking == 0 {
        return format!(
            "{lies}. What a supply fills is not free, though it is let out again by the day’s close.{filled}"
        );
    }
    format!(
        "{lies}; {} of {} times that something to hold came, it was taken at the close of the day before. \
         What came while it was taken: {}.{filled}",
        number(run.lacking as f64, 0),
        number(run.wanted as f64, 0),
        if took.is_empty() { "next to nothing".to_owned() } else { took.join(", ") },
    )
}

/// What fills the pond on purpose.
pub(super) fn supply(case: &BasinCase) -> Option<String> {
    let from = &pond(case)?.filled_from.as_ref()?.from;
    let names: Vec<&str> = from.iter().filter_map(|id| case.facility.get(*id)).map(|of| of.name.as_str()).collect();
    Some(names.join(" and "))
}

/// Where a figure that is asked comes from, where nobody typed it.
pub(super) fn comes_from(case: &BasinCase, check: &Check) -> Option<String> {
    let duties = &case.study.demands.duties;
    match check.duty {
        Duty::StormRoom => {
            let storm = duties.storm.as_ref().filter(|storm| storm.room_on.is_none())?;
            Some(format!(
                "the drawdown’s {}, and a day, levels being those at a day’s close",
                storm.drawdown.as_ref()?.text
            ))
        }
        Duty::Forebay => {
            let duty = duties.forebay.as_ref()?;
            let share = duty.share.as_ref().map_or(0.0, |figure| figure.si);
            let runoff = duty.runoff.as_ref().filter(|_| check.asked > share + 1e-9)?;
            Some(format!("{} of runoff", case.units().rain(runoff.si)))
        }
        Duty::Pool if duties.pool.is_none() => {
            let typed = pond(case)?.lowest_pump_level.as_ref()?.ends()?;
            let level = case.units().typed_m((0.5 * (typed.0 + typed.1)).get::<meter>());
            Some(format!("the facility’s lowest pump level, {level}"))
        }
        _ => None,
    }
}
