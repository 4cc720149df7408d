//! Reads a site: facility, rules, records, weather; then the run and its findings.

use std::fmt::Write as _;
use std::io::{IsTerminal, Write as _};
use std::path::{Path, PathBuf};

use chrono::{Datelike, Days, NaiveDate};
use clap::ValueEnum;

use crate::balance;
use crate::balance::{Draw, Run};
use crate::cli::{Stop, unmet, unread};
use crate::facility;
use crate::facility::model::{Facility, Paper, UnitSystem};
use crate::files::Sources;
use crate::quantity;
use crate::quantity::{DayOfYear, MOST_DAYS, days_of, too_long};
use crate::records;
use crate::records::Timeline;
use crate::report::letterhead;
use crate::report::letterhead::Letterhead;
use crate::rules;
use crate::rules::RulesFile;
use crate::told;
use crate::told::{Place, Problem, Problems};
use crate::weather;
use crate::weather::DailyWeather;

/// What every command that reads a site takes.
#[derive(Debug, Clone, clap::Args)]
pub struct SiteArgs {
    /// The site's folder, with its facility.yaml
    #[arg(value_name = "DIR")]
    pub dir: PathBuf,
    /// First and last day, such as "1 Nov 2024 to 31 Oct 2025"; a month or a year
    #[arg(long, value_name = "DATES")]
    pub period: Option<String>,
    /// The day on which duties are judged [default: the last day on record]
    #[arg(long, value_name = "DATE")]
    pub as_of: Option<String>,
    /// Units and sheet.
    #[command(flatten)]
    pub dress: DressArgs,
    /// Show every problem, and not a screen of them
    #[arg(long)]
    pub all: bool,
}

/// In what units and on what sheet a document is printed.
#[derive(Debug, Clone, Copy, clap::Args)]
pub struct DressArgs {
    /// The system of units to print in, in place of what the facility file says
    #[arg(long, value_enum, value_name = "SYSTEM")]
    pub units: Option<UnitsAsked>,
    /// The sheet to print on, in place of what the facility file says
    #[arg(long, value_enum, value_name = "SHEET")]
    pub paper: Option<PaperAsked>,
}

/// A system of units named on the command line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum UnitsAsked {
    /// Gallons, feet, acres, pounds
    Us,
    /// Cubic metres, metres, hectares, kilograms
    Metric,
}

/// A sheet named on the command line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum PaperAsked {
    /// 8.5 by 11 inches
    Letter,
    /// 210 by 297 mm
    A4,
}

impl DressArgs {
    /// The facility with the units and the sheet that the command line asks for.
    pub fn put_on(self, facility: &mut Facility) {
        if let Some(units) = self.units {
            facility.system = match units {
                UnitsAsked::Us => UnitSystem::Us,
                UnitsAsked::Metric => UnitSystem::Metric,
            };
        }
        if let Some(paper) = self.paper {
            facility.paper = match paper {
                PaperAsked::Letter => Paper::Letter,
                PaperAsked::A4 => Paper::A4,
            };
        }
    }
}

/// A site as read.
#[derive(Debug)]
pub struct Site {
    /// Every file read.
    pub sources: Sources,
    /// Problems that are not errors.
    pub problems: Problems,
    /// The facility.
    pub facility: Facility,
    /// The rules, if there is a rules file.
    pub rules: Option<RulesFile>,
    /// The records.
    pub timeline: Timeline,
    /// The weather.
    pub weather: DailyWeather,
    /// For a period that begins after the day of what stands `at the start`: that day, and the weather from it on.
    pub before: Option<(NaiveDate, DailyWeather)>,
    /// First and last day.
    pub period: (NaiveDate, NaiveDate),
    /// The day on which duties are judged.
    pub as_of: NaiveDate,
    /// Letterhead and paragraphs of the user's own.
    pub letterhead: Letterhead,
}

/// The most draws of an ensemble.
const MOST_DRAWS: i64 = 100_000;

/// A number of draws as typed on the command line.
pub fn draws() -> clap::builder::RangedI64ValueParser<u32> {
    clap::value_parser!(u32).range(0..=MOST_DRAWS)
}

/// Prints problems on stderr: every one, or a screen of them.
pub fn tell(problems: &Problems, sources: &Sources, all: bool) {
    if !problems.is_empty() {
        let colour = std::io::stderr().is_terminal();
        to_stderr(&if all {
            told::print(problems, sources, colour)
        } else {
            told::print_short(problems, sources, colour, "; --all shows the rest")
        });
    }
}

/// Reads a site; problems that are errors are printed, all at once.
///
/// # Errors
/// When anything could not be read as it must be.
pub fn site(args: &SiteArgs) -> Result<Site, Stop> {
    site_and(args, &|_, _, _| ())
}

/// Tells the problems of further files; the facility where it could be read.
pub type Further<'a> = &'a dyn Fn(Option<&Facility>, &mut Sources, &Problems);

/// Reads a site, and lets further files tell their problems with the others.
///
/// # Errors
/// When anything could not be read as it must be.
pub fn site_and(args: &SiteArgs, further: Further<'_>) -> Result<Site, Stop> {
    let mut site = read(&args.dir, &asked(args)?, further).map_err(|unread| {
        tell(&unread.problems, &unread.sources, args.all);
        Stop::Could(String::new())
    })?;
    args.dress.put_on(&mut site.facility);
    Ok(site)
}

/// What a command line asks of a site.
///
/// # Errors
/// When a date is none.
pub fn asked(args: &SiteArgs) -> Result<Asked, Stop> {
    Ok(Asked {
        period: args.period.as_deref().map(period_of).transpose()?,
        as_of: args.as_of.as_deref().map(|text| date_of("--as-of", text)).transpose()?,
    })
}

/// What is asked of a site on the command line, in place of what its files say.
#[derive(Debug, Clone, Copy, Default)]
pub struct Asked {
    /// First and last day.
    pub period: Option<(NaiveDate, NaiveDate)>,
    /// The day on which duties are judged.
    pub as_of: Option<NaiveDate>,
}

/// A site that could not be read as it must be.
#[derive(Debug)]
pub struct Unread {
    /// Every file read.
    pub sources: Sources,
    /// What is wrong, some of it errors.
    pub problems: Problems,
}

/// Reads a site and prints nothing.
///
/// # Errors
/// When anything could not be read as it must be: with all that is wrong.
pub fn read(dir: &Path, asked: &Asked, further: Further<'_>) -> Result<Site, Box<Unread>> {
    let mut sources = Sources::new(dir);
    let mut problems = Problems::new();
    let read = parts(dir, asked, &mut sources, &mut problems);
    let letterhead = letterhead::read(&mut sources, &problems);
    let facility = match &read {
        Some((facility, ..)) => Some(facility.clone()),
        // Whatever else could not be read, the facility may have been.
        None => facility::read(dir, &mut sources, &mut Problems::new()),
    };
    further(facility.as_ref(), &mut sources, &problems);
    unread::tell_letters(&sources, &problems);
    match read {
        Some((facility, rules, timeline, weather, period, as_of)) if !problems.has_errors() => {
            let before = before(&facility, &timeline, period, &mut sources);
            Ok(Site { sources, problems, facility, rules, timeline, weather, before, period, as_of, letterhead })
        }
        _ => Err(Box::new(Unread { sources, problems })),
    }
}

type Parts = (Facility, Option<RulesFile>, Timeline, DailyWeather, (NaiveDate, NaiveDate), NaiveDate);

fn parts(dir: &Path, asked: &Asked, sources: &mut Sources, problems: &mut Problems) -> Option<Parts> {
    let facility = facility::read(dir, sources, problems)?;
    let rules = match &facility.rules {
        None => None,
        Some((path, place)) => rules::read(path, Some(place), &facility, sources, problems),
    };
    let timeline = records::read(&facility, sources, problems);
    let starts = rules.as_ref().map(|rules| rules.permit_year_starts);
    let period = asked.period.or(facility.period).or_else(|| covered_year(&timeline, starts));
    let Some(period) = period else {
        problems.add(
            Problem::error(
                &Place::file(facility::FACILITY_FILE),
                "no period is given, and there are no records to take it from",
            )
            .hint("write `period: 1 Nov 2024 to 31 Oct 2025` in the facility file, or give --period"),
        );
        return None;
    };
    let since = facility.period.map_or(period.0, |(first, _)| first.min(period.0));
    if days_of((since, period.1)) > MOST_DAYS {
        let place = Place::file(facility::FACILITY_FILE);
        problems.add(
            Problem::error(&place, too_long((since, period.1)))
                .hint("what stands `at the start` counts from the first day of the file's period; take a later one"),
        );
        return None;
    }
    let weather = weather::read(&facility, period, &timeline.rain, sources, problems);
    unread::tell(&facility, sources, problems);
    if let Some(rules) = &rules {
        unmet::tell_names(&facility, rules, &timeline, problems);
        unmet::tell_clean_out(&facility, rules, problems);
    }
    if let Some(as_of) = asked.as_of {
        unmet::tell_later(&timeline, as_of, problems);
    }
    let as_of = asked.as_of.or(timeline.last_day).unwrap_or(period.1);
    Some((facility, rules, timeline, weather, period, as_of))
}

/// A period as typed on the command line.
///
/// # Errors
/// When it is not two dates with their years, in order.
pub fn period_of(text: &str) -> Result<(NaiveDate, NaiveDate), Stop> {
    match quantity::date_range(text) {
        Ok(quantity::DateRange::Dates { first, last }) if first <= last && days_of((first, last)) > MOST_DAYS => {
            Err(Stop::Could(format!("--period: {}", too_long((first, last)))))
        }
        Ok(quantity::DateRange::Dates { first, last }) if first <= last => Ok((first, last)),
        Ok(_) => Err(Stop::Could(format!("--period: `{text}` needs its years, such as \"1 Nov 2024 to 31 Oct 2025\""))),
        Err(wrong) => Err(Stop::Could(format!("--period: {wrong}"))),
    }
}

fn date_of(flag: &str, text: &str) -> Result<NaiveDate, Stop> {
    quantity::date(text).map_err(|wrong| Stop::Could(format!("{flag}: {wrong}")))
}

/// The last whole permit year that the records cover, else the one in which they end.
fn covered_year(timeline: &Timeline, starts: Option<DayOfYear>) -> Option<(NaiveDate, NaiveDate)> {
    let starts = starts.unwrap_or(DayOfYear { month: 1, day: 1 });
    let last = timeline.last_day?;
    let year_of = |year: i32| {
        let from = starts.in_year(year)?;
        let to = starts.in_year(year + 1)?.checked_sub_days(Days::new(1))?;
        Some((from, to))
    };
    let mut year = year_of(last.year())?;
    if year.0 > last {
        year = year_of(last.year() - 1)?;
    }
    if year.1 > last {
        let before = year_of(year.0.year() - 1)?;
        let first = timeline.observations.iter().map(|o| o.day).min()?;
        if first <= before.0 {
            return Some(before);
        }
    }
    Some(year)
}

/// The days before a period that begins later than the day for which the facility's file says what stores hold `at the
/// start`: stores of the period open with what those days left.
fn before(
    facility: &Facility,
    timeline: &Timeline,
    period: (NaiveDate, NaiveDate),
    sources: &mut Sources,
) -> Option<(NaiveDate, DailyWeather)> {
    let since = facility.period.map(|(first, _)| first)?;
    if since >= period.0 {
        return None;
    }
    // What is wrong in the files was told when they were read for the period.
    let told = Problems::new();
    let days = (since, period.1);
    let weather = weather::read(facility, days, &timeline.rain, sources, &told);
    Some((since, weather))
}

/// The single run of a site: the middle of every range.
///
/// # Errors
/// When the ledger can't be computed or does not close.
pub fn run(site: &Site) -> Result<Run, Stop> {
    let (since, weather) = match &site.before {
        Some((since, weather)) => (*since, weather),
        None => (site.period.0, &site.weather),
    };
    let run = balance::run_since(&site.facility, weather, &site.timeline, since, site.period, &Draw::MIDDLE);
    match run {
        Ok(mut run) => {
            run.ledger.forget_parcels();
            Ok(run)
        }
        Err(problems) => {
            tell(&problems, &site.sources, false);
            Err(Stop::Could(String::new()))
        }
    }
}

/// Text to stderr. Where stderr is closed or full there is nobody to tell, and the work goes on.
pub fn to_stderr(text: &str) {
    let _ = std::io::stderr().write_all(text.as_bytes());
}

/// Text to stdout; a closed pipe ends quietly.
///
/// # Errors
/// When stdout can't be written.
pub fn to_stdout(bytes: &[u8]) -> Result<(), Stop> {
    let mut out = std::io::stdout().lock();
    match out.write_all(bytes).and_then(|()| out.flush()) {
        Err(error) if error.kind() != std::io::ErrorKind::BrokenPipe => {
            Err(Stop::Could(format!("standard output could not be written to the end: {error}")))
        }
        _ => Ok(()),
    }
}

/// Words for people to stdout: what would steer a terminal is replaced.
///
/// # Errors
/// When stdout can't be written.
pub fn words_to_stdout(text: &str) -> Result<(), Stop> {
    let safe: String =
        text.chars().map(|c| if told::is_unprintable(c) && c != '\n' { '\u{fffd}' } else { c }).collect();
    to_stdout(safe.as_bytes())
}

/// Columns of the terminal that a line takes at most.
const COLUMNS: usize = 80;

/// A sentence wrapped to 80 columns, its first line two columns in, the others four.
pub fn wrapped(out: &mut String, sentence: &str) {
    let mut line = String::from("  ");
    let mut empty = true;
    for word in sentence.split_whitespace() {
        if !empty && line.chars().count() + 1 + word.chars().count() > COLUMNS {
            let _ = writeln!(out, "{line}");
            line = String::from("    ");
            empty = true;
        }
        if !empty {
            line.push(' ');
        }
        line.push_str(word);
        empty = false;
    }
    if !empty {
        let _ = writeln!(out, "{line}");
    }
}
