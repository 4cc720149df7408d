//! A made site as the files that a user would write.

use std::fmt::Write as _;

use super::days::{DAY, Day, clock, in_words, iso, month_name};
use super::given::{
    Belongs, Below, Bound, Carry, Counting, Divisor, Duty, Least, Limit, Mark, OfYear, Parameter, Several, Site, Spot,
    Statistic, Stretch, Way, Weighting, When, Window,
};

pub struct Files {
    pub facility: String,
    pub rules: String,
    pub records: String,
    pub rain: String,
}

pub fn files(site: &Site) -> Files {
    Files { facility: facility(site), rules: rules(site), records: records(site), rain: super::write_rain::rain(site) }
}

fn starts(site: &Site) -> &'static str {
    if site.day_start == 0 { "midnight" } else { "7 am" }
}

fn facility(site: &Site) -> String {
    let start = starts(site);
    let mut out = format!(
        "name: Site\nreport in: metric units\npaper: A4\nrules: rules.yaml\nrecords: records\nday starts: {start}\nweather:\n  pond evaporation: {{Jan to Dec: 50 mm/month}}\n  rain: {{file: rain.csv, read at: {start}, belongs to: the day that ended, a reading may cover: several days}}\nmeters:\n"
    );
    let ways = || site.outfalls.iter().flat_map(|outfall| outfall.ways.iter().map(move |way| (outfall, way)));
    for (outfall, way) in ways() {
        let exchanged = new_meter(way).map_or_else(String::new, |new| {
            let (old, on) = (new.old_read, iso(new.on));
            format!(", exchanged: [{{on: {on}, old read: {old}, new read: 3, counts in: m3, digits: 6}}]")
        });
        let counts = if exchanged.is_empty() { "m3" } else { "0.1 m3" };
        let _ = writeln!(
            out,
            "  {}: {{from: {}, to: {}, counts in: {counts}, digits: 7{exchanged}}}",
            way.meter, way.tank, outfall.name
        );
    }
    out.push_str("supplies:\n  Well: {gives at most: 40 m3/h}\ntanks:\n");
    for (outfall, way) in ways() {
        let _ = writeln!(
            out,
            "  {}: {{holds: 30 m3, at the start: {{holding: 1 m3}}, filled from: {{from: Well, up to: 2 m3}}, overflows to: {}}}",
            way.tank, outfall.name
        );
    }
    out.push_str("ponds:\n  Pond:\n    shape: {length: 60 m, width: 40 m, depth: 3 m, side slope: 3 to 1, measured at: spill level}\n    freeboard above spill: 1 m\n    at the start: {level: 1 m}\n    filled from: {from: Well, up to: 2 m}\n    spills to: Field\ndischarge points:\n");
    for outfall in &site.outfalls {
        let _ = writeln!(out, "  {}: {{kind: surface water, into: Brook}}", outfall.name);
    }
    out.push_str("  Field: {kind: land, area: 2 ha}\n");
    out
}

/// A meter that took another's place on the day of its first reading.
struct NewMeter {
    from: usize,
    on: Day,
    /// Tenths of m³: half of what passed until the new one's first reading was counted by the old one.
    old_read: i64,
}

fn new_meter(way: &Way) -> Option<NewMeter> {
    let from = way.new_from?;
    let (before, (when, dial)) = (way.readings.get(from.checked_sub(1)?)?.1, way.readings.get(from)?);
    let on = match when {
        When::Date(day) => *day,
        When::At(minute) => minute.div_euclid(DAY),
    };
    Some(NewMeter { from, on, old_read: 10 * (before + (dial - before) / 2) })
}

const WEEKDAYS: [&str; 7] = ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"];

fn or_not_said<T>(said: Option<T>, words: impl Fn(T) -> String) -> String {
    said.map_or_else(|| "not said".into(), words)
}

fn below(of: Below) -> String {
    match of {
        Below::Zero => "zero".into(),
        Below::Half => "half".into(),
        Below::Limit => "detection limit".into(),
        Below::Number(number) => number.text(),
    }
}

/// What is said of weeks, once for all limits.
fn weeks(of: &Counting) -> String {
    let week = or_not_said(of.week_starts, |d| WEEKDAYS[d as usize].into());
    let belongs = or_not_said(of.belongs, |b| {
        match b {
            Belongs::Starts => "the month it starts in",
            Belongs::Ends => "the month it ends in",
            Belongs::Most => "the month with most of its days",
        }
        .into()
    });
    format!("  week starts: {week}\n  a week over the edge of a month belongs to: {belongs}\n")
}

/// The switches, as lines further in by `indent`.
fn counting(of: &Counting, indent: &str, average: &str) -> String {
    let several = or_not_said(of.several, |s| {
        match s {
            Several::Average => "average",
            Several::Highest => "highest",
            Several::Lowest => "lowest",
        }
        .into()
    });
    let divisor = or_not_said(of.divisor, |d| {
        match d {
            Divisor::Sampled => "days sampled",
            Divisor::Discharge => "days with a discharge",
            Divisor::Calendar => "calendar days",
        }
        .into()
    });
    let weighting = or_not_said(of.weighting, |w| {
        match w {
            Weighting::Arithmetic => "arithmetic",
            Weighting::Flow => "flow-weighted",
        }
        .into()
    });
    let least = or_not_said(of.least, |l| match l {
        Least::Count(n) => format!("{n} samples"),
        Least::TheDuty => "the sample duty".into(),
        Least::EveryDischarge => "every day with a discharge".into(),
    });
    let look = if of.look_since_the_last { "the days since the last dry look" } else { "that day" };
    let mut lines = vec![
        format!("several samples in a day: {several}"),
        format!("below detection counts as: {}", or_not_said(of.below, below)),
        format!("{average}: {divisor}"),
        format!("weighting: {weighting}"),
        format!("least data: {least}"),
        format!("a dry look covers: {look}"),
    ];
    if let Some(number) = of.below_geometric {
        lines.push(format!("below detection in a geometric mean counts as: {}", number.text()));
    }
    lines.iter().map(|line| format!("{indent}{line}\n")).collect()
}

fn of_year(of: OfYear) -> String {
    format!("{} {}", of.1, month_name(of.0))
}

fn window(of: Window) -> String {
    match of {
        Window::Day => "daily".into(),
        Window::Week => "weekly".into(),
        Window::Month => "monthly".into(),
        Window::Season => "season".into(),
        Window::Year => "permit year".into(),
        Window::Rolling(n) => format!("rolling {n} days"),
        Window::TwelveMonths => "12-month rolling".into(),
    }
}

pub fn statistic(of: &Statistic) -> String {
    match of {
        Statistic::EveryReading => "every reading".into(),
        Statistic::DailyMaximum => "daily maximum".into(),
        Statistic::DailyMinimum => "daily minimum".into(),
        Statistic::Maximum(w) => format!("{} maximum", window(*w)),
        Statistic::Average(w) => format!("{} average", window(*w)),
        Statistic::Total(w) => format!("{} total", window(*w)),
        Statistic::GeometricMean(w) => format!("{} geometric mean", window(*w)),
        Statistic::Percentile(_) => "percentile".into(),
        Statistic::Removal => "percent removal".into(),
        Statistic::NoDischarge => "no discharge".into(),
        Statistic::TimeOfDay(..) => "time of day".into(),
        Statistic::Rate => "rate".into(),
    }
}

/// How often something is due.
pub fn duty(of: Duty) -> String {
    let often = match of.stretch {
        Stretch::Day => "once a day".into(),
        Stretch::Week => "once a week".into(),
        Stretch::Month => "once a month".into(),
        Stretch::Quarter => "once a quarter".into(),
        Stretch::Days(n) => format!("every {n} days"),
    };
    let with = if of.with_a_discharge { " with a discharge" } else { "" };
    format!("{often}{with}")
}

fn bound(of: Bound, at: &str, strict: &str, unit: &str) -> String {
    of.map_or_else(String::new, |(number, is_strict)| {
        let key = if is_strict { strict } else { at };
        format!("    {key}: {}{unit}\n", number.text())
    })
}

fn limit(site: &Site, of: &Limit) -> String {
    let names: Vec<&str> = of.at.iter().map(|place| site.outfalls[*place].name.as_str()).collect();
    let at = match names.as_slice() {
        [] => "Pond".into(),
        [one] => (*one).to_owned(),
        several => format!("[{}]", several.join(", ")),
    };
    let mut out = format!("  {}:\n    at: {at}\n    statistic: {}\n", of.name, statistic(&of.statistic));
    let (parameter, unit) = match of.parameter {
        Parameter::Solids => ("TSS", " mg/L"),
        Parameter::Load => ("TSS", " kg"),
        Parameter::Ph => ("pH", ""),
        Parameter::Water => ("water", " m3"),
        Parameter::Freeboard => ("freeboard", " m"),
    };
    let unit = match of.statistic {
        Statistic::Removal => " %",
        Statistic::Rate => " m3/h",
        _ => unit,
    };
    if of.statistic != Statistic::NoDischarge {
        let _ = writeln!(out, "    parameter: {parameter}");
    }
    out += &bound(of.upper, "at most", "below", unit);
    out += &bound(of.lower, "at least", "above", unit);
    if let Statistic::Percentile(table) = &of.statistic {
        let rows: Vec<String> = table.iter().map(|(from, to, may)| format!("{from} to {to}: {may}")).collect();
        let _ = writeln!(out, "    allowance: {{{}}}", rows.join(", "));
    }
    if of.statistic == Statistic::Removal {
        let _ = writeln!(out, "    between here and: {}", site.outfalls[0].ways[0].tank);
    }
    if let Statistic::TimeOfDay(from, to) = of.statistic {
        let _ = writeln!(out, "    only between: {} to {}", clock(from), clock(to));
    }
    if let Some((from, to)) = of.season {
        let _ = writeln!(out, "    in season: {} to {}", of_year(from), of_year(to));
    }
    if let Some((from, to)) = of.months {
        let _ = writeln!(out, "    months: {} to {}", month_name(from), month_name(to));
    }
    if let Some((from, to)) = of.weekdays {
        let (from, to) = (WEEKDAYS[from as usize], WEEKDAYS[to as usize]);
        let _ = writeln!(out, "    days: {} to {}", &from[..3], &to[..3]);
    }
    match of.in_force {
        (None, None) => {}
        (Some(from), None) => {
            let _ = writeln!(out, "    in force: from {}", in_words(from));
        }
        (None, Some(to)) => {
            let _ = writeln!(out, "    in force: until {}", in_words(to));
        }
        (Some(from), Some(to)) => {
            let _ = writeln!(out, "    in force: {} to {}", in_words(from), in_words(to));
        }
    }
    if let Some(of) = of.duty {
        let _ = writeln!(out, "    sample: {{how often: {}}}", duty(of));
    }
    if let Some(except) = &of.except {
        let mut parts =
            vec![format!("rain over: {} mm", except.over_mm.text()), format!("in any: {} h", except.in_hours)];
        if let Some(mark) = except.below_m {
            parts.push(format!("and before it: {{Pond below: {} m}}", mark.text()));
        }
        if let Some(days) = except.after_days {
            parts.push(format!("and after it: {days} days"));
        }
        let _ = writeln!(out, "    except: {{{}}}", parts.join(", "));
        if except.below_m.is_some() {
            let _ = writeln!(out, "    a level reading holds for: {} days", except.holds_days);
        }
    }
    if let Some(carry) = of.by_month {
        out += "    load of a month: the mean of its results times its flow\n";
        out += match carry {
            Carry::NotSaid => "",
            Carry::LastResult => "    a month without a result: the last result before it\n",
            Carry::LastMean => "    a month without a result: the mean of the last month before it\n",
        };
    }
    let all = counting(&of.counting, "    ", "average divides by");
    all.lines().filter(|line| is_used(of, line.trim())).fold(out, |out, line| out + line + "\n")
}

/// Whether a switch does something for a limit: one that does nothing is refused where it is typed.
fn is_used(of: &Limit, line: &str) -> bool {
    let sampled = matches!(of.parameter, Parameter::Solids | Parameter::Load | Parameter::Ph)
        && of.statistic != Statistic::NoDischarge;
    let level = of.parameter == Parameter::Freeboard && of.statistic != Statistic::NoDischarge;
    let by_day = !matches!(of.statistic, Statistic::EveryReading | Statistic::NoDischarge | Statistic::Percentile(_));
    let average = matches!(of.statistic, Statistic::Average(_));
    let key = line.split_once(':').map_or(line, |(key, _)| key);
    match key {
        "several samples in a day" => by_day && (sampled || level),
        "below detection counts as" => by_day && sampled,
        "average divides by" => average,
        "weighting" => average && matches!(of.parameter, Parameter::Solids | Parameter::Ph),
        "least data" => sampled || level,
        "a dry look covers" => !level,
        "below detection in a geometric mean counts as" => {
            matches!(of.statistic, Statistic::GeometricMean(_))
        }
        _ => true,
    }
}

fn rules(site: &Site) -> String {
    let start = starts(site);
    let mut out = String::from("authority: Water Board\npermit: T-1\n");
    if let Some((from, to)) = site.in_force {
        let _ = writeln!(out, "in force: {} to {}", in_words(from), in_words(to));
    }
    let _ = writeln!(out, "permit year starts: {}", of_year(site.year_starts));
    let _ = write!(
        out,
        "how this permit counts:\n  day: {start} to {start}\n  rounding: not rounded\n{}limits:\n",
        weeks(&site.limits[0].counting)
    );
    for of in &site.limits {
        out += &limit(site, of);
    }
    out
}

fn time(when: When) -> String {
    match when {
        When::Date(day) => iso(day),
        When::At(minute) => format!("{} {}", iso(minute.div_euclid(1440)), clock(minute)),
    }
}

fn row(when: When, place: &str, what: &str, parameter: &str, value: &str, unit: &str, mark: &str) -> String {
    format!("{},{place},{what},{parameter},{value},{unit},{mark},,,,\n", time(when))
}

fn records(site: &Site) -> String {
    let mut out = String::from("date,place,what,parameter,value,unit,qualifier,paper,received,who,note\n");
    for outfall in &site.outfalls {
        for way in &outfall.ways {
            let new = new_meter(way);
            for (at, (when, dial)) in way.readings.iter().enumerate() {
                let (shows, unit) = match &new {
                    Some(new) if at < new.from => (dial * 10, "0.1 m3"),
                    Some(new) => (dial - new.old_read / 10 + 3, "m3"),
                    None => (*dial, "m3"),
                };
                out += &row(*when, &way.meter, "reading", "", &shows.to_string(), unit, "");
            }
            for (day, amount) in &way.amounts {
                out += &row(When::Date(*day), &way.meter, "amount", "", &amount.to_string(), "m3", "");
            }
        }
    }
    for sample in &site.samples {
        let place = match sample.spot {
            Spot::Outfall(n) => &site.outfalls[n].name,
            Spot::Upstream => &site.outfalls[0].ways[0].tank,
        };
        let (parameter, unit) = match sample.parameter {
            Parameter::Ph => ("pH", ""),
            _ => ("TSS", "mg/L"),
        };
        let (value, mark) = match sample.mark {
            Mark::Is => (sample.value.text(), ""),
            Mark::Less => (sample.value.text(), "<"),
            Mark::More => (sample.value.text(), ">"),
            Mark::Void => ("void".into(), ""),
        };
        out += &row(sample.when, place, "sample", parameter, &value, unit, mark);
    }
    for look in &site.looks {
        let seen = if look.flowing { "flowing" } else { "dry" };
        out += &row(look.when, &site.outfalls[look.outfall].name, "look", "", seen, "", "");
    }
    for level in &site.levels {
        let what = if level.freeboard { "freeboard" } else { "level" };
        out += &row(level.when, "Pond", what, "", &level.value.text(), "m", "");
    }
    out
}
